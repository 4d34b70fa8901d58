//! What can go wrong with storage, by what a person can do about it.

use bloomdue_core::error::Error;
use futures_channel::oneshot::Canceled;
use wasm_bindgen::{JsCast as _, JsValue};

/// Why something was not read or not saved. Nothing that was shown as saved is touched by any of these.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum StoreError {
    /// The device has no room left: free some, or hand over and take photos out.
    Full,
    /// The browser dropped the connection, and opening it again did not help: load the page again.
    ConnectionLost,
    /// A newer version of the app was used on this device: load the page again.
    NewerVersion,
    /// Another tab of an older version keeps the storage: close it.
    Blocked,
    /// Core refused.
    Refused(Error),
    /// What was read back is not what was written.
    NotReadBack,
    /// Anything else, by the browser's name for it.
    Other(String),
}

impl StoreError {
    /// The error behind a browser's exception.
    pub(crate) fn of(exception: &JsValue) -> Self {
        let text = exception
            .dyn_ref::<js_sys::Object>()
            .map_or_else(|| format!("{exception:?}"), |o| String::from(o.to_string()));
        Self::named(&text)
    }

    /// The error behind one of idb's.
    pub(crate) fn of_idb(error: &idb::Error) -> Self {
        Self::named(&error.to_string())
    }

    /// Browsers name their exceptions; their sentences differ and only tell one case apart.
    fn named(text: &str) -> Self {
        let has = |part: &str| text.contains(part);
        if has("QuotaExceededError") || has("Failed to write blobs") {
            Self::Full
        } else if has("VersionError") {
            Self::NewerVersion
        } else if has("InvalidStateError") || has("UnknownError") || has("Database server lost") {
            Self::ConnectionLost
        } else {
            Self::Other(text.to_owned())
        }
    }
}

impl From<Error> for StoreError {
    fn from(error: Error) -> Self {
        Self::Refused(error)
    }
}

impl From<Canceled> for StoreError {
    /// The browser let go of a request without saying how it ended.
    fn from(_: Canceled) -> Self {
        Self::Other("the browser let go of a request".to_owned())
    }
}

impl std::fmt::Display for StoreError {
    /// For logs and tests; sentences for growers live in `words`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Full => f.write_str("no room left on this device"),
            Self::ConnectionLost => f.write_str("the connection to storage was lost"),
            Self::NewerVersion => f.write_str("a newer version was used on this device"),
            Self::Blocked => f.write_str("another tab keeps the storage"),
            Self::Refused(why) => why.fmt(f),
            Self::NotReadBack => f.write_str("what was read back is not what was written"),
            Self::Other(name) => f.write_str(name),
        }
    }
}
