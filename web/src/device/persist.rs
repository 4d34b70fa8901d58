//! Whether the browser promises to keep what is stored, and how much room there is.

use super::{has, window};
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use web_sys::{StorageEstimate, StorageManager};

/// What the browser says about storage; a field is empty where it does not say.
#[derive(Clone, Copy, Default, PartialEq, Debug)]
pub(crate) struct Room {
    /// True when the browser will not clear the records by itself when space runs short.
    pub(crate) kept: Option<bool>,
    /// Bytes in use, records, photos and program together.
    pub(crate) used_bytes: Option<f64>,
    /// Bytes there may be in all.
    pub(crate) allowed_bytes: Option<f64>,
}

/// Asks how things stand, without changing anything.
pub(crate) async fn room() -> Room {
    let Some(storage) = storage() else {
        return Room::default();
    };
    let kept = match storage.persisted() {
        Ok(answer) => JsFuture::from(answer).await.ok(),
        Err(_) => None,
    };
    let estimate = match storage.estimate() {
        Ok(answer) => JsFuture::from(answer).await.ok(),
        Err(_) => None,
    };
    let estimate = estimate.map(|estimate| estimate.unchecked_into::<StorageEstimate>());
    Room {
        kept: kept.and_then(|kept| kept.as_bool()),
        used_bytes: estimate.as_ref().and_then(StorageEstimate::get_usage),
        allowed_bytes: estimate.as_ref().and_then(StorageEstimate::get_quota),
    }
}

/// Asks the browser to keep the records for good; call it inside a tap, after the first saved record.
///
/// The answer is what the browser decided; some ask the user, some decide by themselves.
pub(crate) async fn ask_to_keep() -> bool {
    let Some(storage) = storage() else {
        return false;
    };
    match storage.persist() {
        Ok(answer) => JsFuture::from(answer)
            .await
            .is_ok_and(|kept| kept.as_bool() == Some(true)),
        Err(_) => false,
    }
}

fn storage() -> Option<StorageManager> {
    let navigator = window().navigator();
    has(&navigator, "storage").then(|| navigator.storage())
}
