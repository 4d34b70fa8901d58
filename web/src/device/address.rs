//! The part of the address after the `#`, where every screen has its place, and the browser's history of it.

use wasm_bindgen::JsValue;
use web_sys::{Event, ScrollRestoration};

use super::{listen as hear, window};

/// What stands after the `#`.
pub(crate) fn get() -> String {
    window().location().hash().unwrap_or_default().trim_start_matches('#').to_owned()
}

/// Goes to an address.
pub(crate) fn set(path: &str) {
    // Setting a hash fails on no page that the program runs in.
    let _ = window().location().set_hash(path);
}

/// Goes to an address in place of the present one, so that *back* does not return to a finished form.
pub(crate) fn replace(path: &str) {
    let Ok(history) = window().history() else {
        return;
    };
    let state = history.state().unwrap_or(JsValue::NULL);
    // The history takes any address of the page itself; its listeners are told as of a tap on a link.
    let _ = history.replace_state_with_url(&state, "", Some(&format!("#{path}")));
    if let Ok(event) = Event::new(CHANGED) {
        let _ = window().dispatch_event(&event);
    }
}

/// One step back.
pub(crate) fn back() {
    step(-1);
}

/// Steps in the history, back where negative.
pub(crate) fn step(n: i32) {
    if let Ok(history) = window().history() {
        let _ = history.go_with_delta(n);
    }
}

/// The number that the history keeps with the present address; none where the address is a new one.
pub(crate) fn number() -> Option<usize> {
    let state = window().history().ok()?.state().ok()?;
    let number = state.as_f64()?;
    (number >= 0.0 && number <= f64::from(u16::MAX)).then_some(number as usize)
}

/// Gives the present entry of the history an address, as if it had been opened by it.
pub(crate) fn name(path: &str, number: usize) {
    if let Ok(history) = window().history() {
        let state = JsValue::from_f64(number as f64);
        let _ = history.replace_state_with_url(&state, "", Some(&format!("#{path}")));
    }
}

/// Keeps a number with the present address.
pub(crate) fn set_number(number: usize) {
    if let Ok(history) = window().history() {
        let _ = history.replace_state_with_url(&JsValue::from_f64(number as f64), "", None);
    }
}

const CHANGED: &str = "hashchange";

/// Calls as soon as the address has changed, while the page still stands as it was left: a browser may scroll it before
/// [`listen`] hears of it.
pub(crate) fn listen_first(mut leaving: impl FnMut() + 'static) {
    hear(&window(), "popstate", move |_: Event| leaving());
}

/// Calls at every change of the address. How far a screen was scrolled is the app's to restore, which knows when it stands.
pub(crate) fn listen(mut changed: impl FnMut() + 'static) {
    if let Ok(history) = window().history() {
        let _ = history.set_scroll_restoration(ScrollRestoration::Manual);
    }
    hear(&window(), CHANGED, move |_: Event| changed());
}
