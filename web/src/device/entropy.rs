//! Random bytes from the device, for ids and for drawing lots.

use super::window;

/// Thirty-two bytes from the browser's cryptographic source.
pub(crate) fn bytes32() -> [u8; 32] {
    let mut bytes = [0u8; 32];
    let filled = window().crypto().is_ok_and(|crypto| crypto.get_random_values_with_u8_array(&mut bytes).is_ok());
    // Every browser that can run the program has this source; going on without it would make equal ids.
    assert!(filled, "this browser gives no random numbers");
    bytes
}
