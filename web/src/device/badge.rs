//! The number at the app's icon, where the device shows one.

use js_sys::{Function, Reflect};
use wasm_bindgen::{JsCast as _, JsValue};

use super::{get, has, window};

/// Shows how many jobs there are, or nothing for none.
pub(crate) fn show(n_jobs: usize) {
    let navigator = window().navigator();
    let name = if n_jobs > 0 {
        "setAppBadge"
    } else {
        "clearAppBadge"
    };
    if !has(&navigator, name) {
        return;
    }
    if let Ok(set) = get(&navigator, name).dyn_into::<Function>() {
        // A device that refuses shows no number; that is all it means.
        let done = match n_jobs {
            0 => set.call0(&navigator),
            n => set.call1(&navigator, &JsValue::from_f64(n as f64)),
        };
        if let Ok(promise) = done
            && let Ok(catch) = Reflect::get(&promise, &JsValue::from_str("catch"))
            && let Ok(catch) = catch.dyn_into::<Function>()
        {
            let _ = catch.call1(&promise, &Function::new_no_args(""));
        }
    }
}
