//! How safe the browser's storage is here, told as it is.

use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::StorageManager;

/// What the browser says of its storage. Nothing is said where it does not know.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct StorageState {
    /// Whether it promises not to clear this storage by itself.
    pub(crate) persisted: Option<bool>,
    /// Bytes in use.
    pub(crate) used_bytes: Option<u64>,
    /// Bytes that may be used.
    pub(crate) quota_bytes: Option<u64>,
}

/// The storage manager, where there is one: not on plain http, not in old browsers.
fn manager() -> Option<StorageManager> {
    let navigator = crate::device::window().navigator();
    let found = crate::device::get(&navigator, "storage");
    found.dyn_into().ok()
}

/// Asks the browser how it stands.
pub(crate) async fn storage_state() -> StorageState {
    let Some(manager) = manager() else {
        return StorageState::default();
    };
    let persisted = match manager.persisted() {
        Ok(asked) => JsFuture::from(asked).await.ok(),
        Err(_) => None,
    };
    let estimate = match manager.estimate() {
        Ok(asked) => JsFuture::from(asked).await.unwrap_or(JsValue::UNDEFINED),
        Err(_) => JsValue::UNDEFINED,
    };
    let bytes = |name: &str| {
        let found = estimate.is_object().then(|| crate::device::get(&estimate, name));
        found.and_then(|n| n.as_f64()).map(|n| n as u64)
    };
    StorageState {
        persisted: persisted.and_then(|answer| answer.as_bool()),
        used_bytes: bytes("usage"),
        quota_bytes: bytes("quota"),
    }
}

/// Asks the browser not to clear this storage by itself; best inside a tap, after the first save. Gives its answer.
pub(crate) async fn ask_to_persist() -> Option<bool> {
    let asked = manager()?.persist().ok()?;
    JsFuture::from(asked).await.ok()?.as_bool()
}
