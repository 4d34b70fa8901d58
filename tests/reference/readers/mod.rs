//! One reader a method: takes a case's input through core and gives back what core said, under the file's field names.

use bloomdue_core::error::Error;
use serde_json::{Value, json};

use super::Keys;

mod calendar;
mod lots;
mod tags;

/// The key under which a refusal carries its reason.
pub(super) const REFUSED: &str = "cannot_say";

/// How one method is read.
pub(super) struct Reader {
    method: &'static str,
    /// From a case's input, and the whole file for what all cases share, to what core says.
    pub(super) run: fn(&Value, &Value) -> Value,
    /// Which fields have a tolerance of their own.
    pub(super) keys: Keys,
}

/// Every method that core has a counterpart for.
const READERS: &[Reader] = &[
    Reader {
        method: "tag_check_character",
        run: tags::tag,
        keys: &[],
    },
    Reader {
        method: "iso_week",
        run: calendar::iso_week,
        keys: &[],
    },
    Reader {
        method: "easter_sunday",
        run: calendar::easter,
        keys: &[],
    },
    Reader {
        method: "blocked_permuted_allocation",
        run: lots::invariants,
        keys: &[],
    },
    Reader {
        method: "lots_blocks_1",
        run: lots::blocks_1,
        keys: &[],
    },
];

/// The reader of a method.
pub(super) fn find(method: &str) -> Option<&'static Reader> {
    READERS.iter().find(|reader| reader.method == method)
}

/// A refusal, for comparison with `null`.
fn refused(reason: impl ToString) -> Value {
    json!({ REFUSED: reason.to_string() })
}

/// What core said, or its refusal.
fn said<T: Into<Value>>(answer: Result<T, Error>) -> Value {
    answer.map_or_else(refused, Into::into)
}

/// A list of counts in an input; empty when it is no such list.
fn counts(value: &Value) -> Vec<usize> {
    let items = value.as_array().map(Vec::as_slice).unwrap_or_default();
    items.iter().map_while(count).collect()
}

/// A count in an input.
fn count(value: &Value) -> Option<usize> {
    value.as_u64().and_then(|count| usize::try_from(count).ok())
}
