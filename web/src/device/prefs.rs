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

fn name(key: &str) -> String {
    format!("bloomdue {} {key}", folder())
}
