//! What the browser says of a failure, as what a person can do about it.

use bloomdue_words::told::StoreError;
use futures_channel::oneshot::Canceled;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::DomException;

use crate::device::{error_text, get};

/// The error behind a browser's exception.
pub(super) fn of(exception: &JsValue) -> StoreError {
    let name = match exception.dyn_ref::<DomException>() {
        Some(exception) => exception.name(),
        None => get(exception, "name").as_string().unwrap_or_default(),
    };
    match name.as_str() {
        // Some browsers say the second where the disk itself is full.
        "QuotaExceededError" | "DataError" => StoreError::Full,
        "VersionError" => StoreError::NewerVersion,
        "InvalidStateError" | "UnknownError" => StoreError::ConnectionLost,
        _ => StoreError::Other(error_text(exception)),
    }
}

/// The error behind one of idb's.
pub(super) fn of_idb(error: &idb::Error) -> StoreError {
    use idb::Error as E;
    match error {
        E::DomException(exception) => of(exception),
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
        | E::RequestResultNotFound(why) => of(why),
        other => StoreError::Other(other.to_string()),
    }
}

/// The same while a database is opened: a browser that will not open any keeps nothing.
pub(super) fn at_opening(error: &idb::Error) -> StoreError {
    match of_idb(error) {
        StoreError::ConnectionLost | StoreError::Other(_) => StoreError::NotOffered(error.to_string()),
        known => known,
    }
}

/// The browser let go of a request without saying how it ended.
pub(super) fn let_go(_: Canceled) -> StoreError {
    StoreError::Other("the browser let go of a request".to_owned())
}
