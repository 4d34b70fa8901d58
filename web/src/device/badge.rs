//! The number at the app's icon, where the device shows one.

use js_sys::{Function, Promise};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::{get, window};

/// Shows how many jobs there are, or nothing for none.
pub(crate) fn show(n_jobs: usize) {
    let navigator = window().navigator();
    let name = if n_jobs > 0 { "setAppBadge" } else { "clearAppBadge" };
    let Ok(set) = get(&navigator, name).dyn_into::<Function>() else {
        return;
    };
    let asked = match n_jobs {
        0 => set.call0(&navigator),
        n => set.call1(&navigator, &JsValue::from_f64(n as f64)),
    };
    if let Some(asked) = asked.ok().and_then(|asked| asked.dyn_into::<Promise>().ok()) {
        wasm_bindgen_futures::spawn_local(async move {
            // A device that refuses shows no number; that is all it means.
            let _ = JsFuture::from(asked).await;
        });
    }
}
