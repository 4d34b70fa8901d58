//! The part of the address after the `#`, where every screen has its place.

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
    let _ = window().location().replace(&format!("#{path}"));
}

/// One step back.
pub(crate) fn back() {
    if let Ok(history) = window().history() {
        let _ = history.back();
    }
}

/// Calls at every change of the address.
pub(crate) fn listen(mut changed: impl FnMut() + 'static) {
    hear(&window(), "hashchange", move |_: web_sys::Event| changed());
}
