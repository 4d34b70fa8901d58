//! Where in the app one is: the part of the address after `#`, so that any folder of any host will do.

use super::{listen, window};
use leptos::prelude::*;
use wasm_bindgen::JsValue;
use web_sys::HashChangeEvent;

/// The current address without its `#`, such as `places/R7M2`; empty at the start.
pub(crate) fn current() -> String {
    let hash = window().location().hash().unwrap_or_default();
    hash.trim_start_matches('#')
        .trim_start_matches('/')
        .to_owned()
}

/// A signal that follows the address. Call once, at the root of the app.
pub(crate) fn follow() -> ReadSignal<String> {
    let (address, set_address) = signal(current());
    listen(&window(), "hashchange", move |_: HashChangeEvent| {
        let _ = set_address.try_set(current());
    });
    address
}

/// Goes to an address; the way back leads here.
pub(crate) fn go(address: &str) {
    // Refused only for texts no address can hold, and ours are made by `join`.
    let _ = window().location().set_hash(address);
}

/// Goes to an address in the place of this one; the way back leads past it.
pub(crate) fn go_instead(address: &str) {
    let location = window().location();
    let _ = location.replace(&format!("#{address}"));
}

/// Goes back to where one came from.
pub(crate) fn back() {
    if let Ok(history) = window().history() {
        let _ = history.back();
    }
}

/// Makes an address from its parts, whatever signs they hold.
pub(crate) fn join(parts: &[&str]) -> String {
    let parts: Vec<String> = parts
        .iter()
        .map(|part| String::from(js_sys::encode_uri_component(part)))
        .collect();
    parts.join("/")
}

/// Takes an address apart into what was given to [`join`].
pub(crate) fn parts(address: &str) -> Vec<String> {
    address
        .split('/')
        .filter(|part| !part.is_empty())
        .map(|part| {
            js_sys::decode_uri_component(part)
                .map_err(|_: JsValue| ())
                // Typed by hand and cut off in the middle of a sign: taken as it stands.
                .map_or_else(|()| part.to_owned(), String::from)
        })
        .collect()
}
