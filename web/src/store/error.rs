//! What can go wrong with storage, by what a person can do about it.

use bloomdue_core::error::Error;
use futures_channel::oneshot::Canceled;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::DomException;

use crate::device::{error_text, get};

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
    /// This nursery was wiped in another tab.
    Wiped,
    /// The browser has cleared what was stored: what is in memory is all there is.
    Cleared,
    /// The browser opens no storage, in its own words: a private window, or storage switched off.
    NotOffered(String),
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
        let name = match exception.dyn_ref::<DomException>() {
            Some(exception) => exception.name(),
            None => get(exception, "name").as_string().unwrap_or_default(),
        };
        match name.as_str() {
            // Some browsers say the second where the disk itself is full.
            "QuotaExceededError" | "DataError" => Self::Full,
            "VersionError" => Self::NewerVersion,
            "InvalidStateError" | "UnknownError" => Self::ConnectionLost,
            _ => Self::Other(error_text(exception)),
        }
    }

    /// The error behind one of idb's.
    pub(crate) fn of_idb(error: &idb::Error) -> Self {
        use idb::Error as E;
        match error {
            E::DomException(exception) => Self::of(exception),
            E::IndexedDbOpenFailed(why)
            | E::IndexedDbDeleteFailed(why)
            | E::TransactionOpenFailed(why)
            | E::ObjectStoreNotFound(why)
            | E::KeyRangeCreateFailed(why)
            | E::GetFailed(why)
            | E::GetAllFailed(why)
            | E::GetAllKeysFailed(why)
            | E::UpdateFailed(why)
            | E::DeleteFailed(why)
            | E::RequestErrorNotFound(why)
            | E::RequestResultNotFound(why) => Self::of(why),
            other => Self::Other(other.to_string()),
        }
    }

    /// The same while a database is opened: a browser that will not open any keeps nothing.
    pub(crate) fn at_opening(error: &idb::Error) -> Self {
        match Self::of_idb(error) {
            Self::ConnectionLost | Self::Other(_) => Self::NotOffered(error.to_string()),
            known => known,
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
            Self::Wiped => f.write_str("the nursery was wiped in another tab"),
            Self::Cleared => f.write_str("the browser has cleared the storage"),
            Self::NotOffered(why) => write!(f, "the browser opens no storage: {why}"),
            Self::Refused(why) => why.fmt(f),
            Self::NotReadBack => f.write_str("what was read back is not what was written"),
            Self::Other(name) => f.write_str(name),
        }
    }
}
