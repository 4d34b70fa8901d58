//! When the program itself fails: the panic goes to the error screen that the shell keeps ready.

use super::{get, window};
use js_sys::Function;
use wasm_bindgen::{JsCast as _, JsValue};

/// From here on a panic shows the shell's error screen. Nothing that was saved is touched by it.
pub(crate) fn install() {
    std::panic::set_hook(Box::new(|panic| show(&panic.to_string())));
}

/// Shows the error screen with what the program says; the page can only be reloaded after it.
pub(crate) fn show(message: &str) {
    let show = get(&window(), "bloomdueFailed");
    match show.dyn_into::<Function>() {
        // What a failing error screen throws is in the console already.
        Ok(show) => drop(show.call1(&JsValue::NULL, &JsValue::from_str(message))),
        Err(_) => web_sys::console::error_1(&JsValue::from_str(message)),
    }
}
