//! Keeps the screen on while somebody walks along a bench with wet hands.

use super::{document, get, listen, window};
use js_sys::{Function, Promise};
use std::cell::{Cell, RefCell};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Event, VisibilityState};

thread_local! {
    static WANTED: Cell<bool> = const { Cell::new(false) };
    static LISTENING: Cell<bool> = const { Cell::new(false) };
    static HELD: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// Keeps the screen on from here, also after the app was in the background; where the device
/// cannot, nothing happens and the screen darkens as usual.
pub(crate) fn hold() {
    WANTED.set(true);
    if !LISTENING.replace(true) {
        // The device takes the hold away whenever the page is hidden.
        listen(&document(), "visibilitychange", |_: Event| acquire());
    }
    acquire();
}

/// Lets the screen darken again.
pub(crate) fn release() {
    WANTED.set(false);
    if let Some(held) = HELD.take() {
        // Released already is just as well.
        drop(call(&held, "release", &JsValue::UNDEFINED));
    }
}

fn acquire() {
    let lock = get(&window().navigator(), "wakeLock");
    let visible = document().visibility_state() == VisibilityState::Visible;
    let held =
        HELD.with_borrow(|held| held.as_ref().is_some_and(|held| get(held, "released").as_bool() == Some(false)));
    if !WANTED.get() || !visible || held {
        return;
    }
    let Some(asked) = call(&lock, "request", &JsValue::from_str("screen")) else {
        return;
    };
    spawn_local(async move {
        // Refused when the battery is low; then the screen darkens as usual.
        let Ok(held) = JsFuture::from(asked).await else {
            return;
        };
        HELD.set(Some(held));
        if !WANTED.get() {
            release();
        }
    });
}

/// Calls a method that gives a promise; nothing where there is no such method. The bindings to this
/// part of the browser are still behind a switch that would change all others too.
fn call(object: &JsValue, method: &str, argument: &JsValue) -> Option<Promise> {
    let method: Function = get(object, method).dyn_into().ok()?;
    method.call1(object, argument).ok()?.dyn_into().ok()
}
