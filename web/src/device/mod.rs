//! Everything that touches the browser beyond plain DOM events: one capability a file, each asked for
//! by trying, never by the browser's name (two exceptions are marked where they stand).

pub(crate) mod address;
pub(crate) mod badge;
pub(crate) mod camera;
pub(crate) mod clock;
pub(crate) mod draw;
pub(crate) mod entropy;
pub(crate) mod failure;
pub(crate) mod files;
pub(crate) mod install;
pub(crate) mod keys;
pub(crate) mod locale;
pub(crate) mod photo;
pub(crate) mod prefs;
pub(crate) mod screen;
pub(crate) mod shared;
pub(crate) mod update;
pub(crate) mod wake;
pub(crate) mod work;

use js_sys::Reflect;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::convert::FromWasmAbi;
use wasm_bindgen::{JsCast as _, JsValue};

/// The page's window. The app only ever starts where there is one.
pub(crate) fn window() -> web_sys::Window {
    leptos::prelude::window()
}

/// The folder that the app is served from, as a path. Storage is shared by everything on one origin, so the names of
/// ours carry it: two copies of the app in two folders never see each other's records.
pub(crate) fn folder() -> String {
    let path = window().location().pathname().unwrap_or_default();
    let end = path.rfind('/').map_or(0, |at| at + 1);
    path[..end].to_owned()
}

/// The page's document.
pub(crate) fn document() -> web_sys::Document {
    leptos::prelude::document()
}

/// True when an object has a property at all: how every optional capability is looked for.
pub(crate) fn has(object: &JsValue, name: &str) -> bool {
    Reflect::has(object, &JsValue::from_str(name)).unwrap_or(false)
}

/// A property's value, `undefined` when there is none.
pub(crate) fn get(object: &JsValue, name: &str) -> JsValue {
    Reflect::get(object, &JsValue::from_str(name)).unwrap_or(JsValue::UNDEFINED)
}

/// Calls `heard` at every such event for as long as the page lives.
pub(crate) fn listen<E>(target: &web_sys::EventTarget, event: &str, heard: impl FnMut(E) + 'static)
where
    E: FromWasmAbi + 'static,
{
    let heard = Closure::<dyn FnMut(E)>::new(heard);
    // Adding a listener only fails for targets that are none; there is nothing to undo.
    let _ = target.add_event_listener_with_callback(event, heard.as_ref().unchecked_ref());
    heard.forget();
}

/// What a browser's error says, for people.
pub(crate) fn error_text(error: &JsValue) -> String {
    let name = get(error, "name").as_string();
    let message = get(error, "message").as_string();
    match (name, message) {
        (Some(name), Some(message)) if message.is_empty() => name,
        (Some(name), Some(message)) => format!("{name}: {message}"),
        _ => error.as_string().unwrap_or_else(|| format!("{error:?}")),
    }
}
