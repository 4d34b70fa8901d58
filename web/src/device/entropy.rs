//! Randomness for ids and for drawing lots, from the browser's own generator.

use super::{error_text, window};

/// 32 fresh random bytes.
///
/// # Errors
///
/// In the browser's words, when it has no generator to offer; nothing may be recorded then.
pub(crate) fn random_bytes() -> Result<[u8; 32], String> {
    let mut bytes = [0; 32];
    window()
        .crypto()
        .and_then(|crypto| crypto.get_random_values_with_u8_array(&mut bytes))
        .map_err(|problem| error_text(&problem))?;
    Ok(bytes)
}
