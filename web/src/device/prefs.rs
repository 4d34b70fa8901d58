//! Small choices of this device that are no records: which nursery was open, who records here, light or dark.

use super::{folder, window};

/// A choice, if one was made and the browser keeps them.
pub(crate) fn get(key: &str) -> Option<String> {
    window().local_storage().ok().flatten()?.get_item(&name(key)).ok().flatten()
}

/// Keeps a choice. Where the browser keeps none, the next start asks again.
pub(crate) fn set(key: &str, value: &str) {
    if let Ok(Some(storage)) = window().local_storage() {
        let _ = storage.set_item(&name(key), value);
    }
}

/// Whether a choice is kept by this name in the browser's storage.
pub(crate) fn is_of(key: &str, stored: &str) -> bool {
    name(key) == stored
}

fn name(key: &str) -> String {
    format!("bloomdue {} {key}", folder())
}
