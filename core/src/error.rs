//! The one error type of core.
//!
//! An error is a sentence for a person: lower case, without a final stop, saying what was expected
//! and what to do. Callers show it, or the name of the field it belongs to; nothing branches on its text.

use std::fmt;

use crate::limits::Limit;

/// The result of anything in core that can be refused.
pub type Result<T> = std::result::Result<T, Error>;

/// Why core refused something, as a sentence, with the field it concerns where there is one.
///
/// # Examples
/// ```
/// let error = bloomdue_core::error::Error::new("a tag has at least two symbols; type the whole tag").at("tag");
/// assert_eq!(error.field(), Some("tag"));
/// assert_eq!(error.to_string(), "tag: a tag has at least two symbols; type the whole tag");
/// ```
#[derive(Clone, PartialEq, Eq)]
pub struct Error {
    kind: Kind,
    field: Option<String>,
}

/// What went wrong. Private, so that kinds can be added without breaking a caller.
#[derive(Clone, PartialEq, Eq)]
enum Kind {
    Said(String),
    OutOfBounds { limit: &'static Limit, value: i64 },
}

impl Error {
    /// An error that says `what`: lower case, no final stop, what was expected and what to do.
    pub fn new(what: impl Into<String>) -> Self {
        Self { kind: Kind::Said(what.into()), field: None }
    }

    /// A value outside one of the bounds in [`crate::limits`].
    pub(crate) fn out_of_bounds(limit: &'static Limit, value: i64) -> Self {
        Self { kind: Kind::OutOfBounds { limit, value }, field: None }
    }

    /// The same error with the name of the field it concerns; an outer name is put before an inner one (`body.mm`).
    #[must_use]
    pub fn at(mut self, field: impl AsRef<str>) -> Self {
        let outer = field.as_ref();
        self.field = Some(match self.field {
            Some(inner) => format!("{outer}.{inner}"),
            None => outer.to_owned(),
        });
        self
    }

    /// The field this error concerns, if one was named.
    pub fn field(&self) -> Option<&str> {
        self.field.as_deref()
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(field) = &self.field {
            write!(f, "{field}: ")?;
        }
        match &self.kind {
            Kind::Said(what) => f.write_str(what),
            Kind::OutOfBounds { limit, value } => write!(
                f,
                "{} must be from {} to {}{}, not {value}: {}",
                limit.name,
                limit.min,
                limit.max,
                Spaced(limit.unit),
                limit.reason
            ),
        }
    }
}

/// A unit with a space before it, or nothing for pure numbers.
struct Spaced(&'static str);

impl fmt::Display for Spaced {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return Ok(());
        }
        write!(f, " {}", self.0)
    }
}

impl fmt::Debug for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Error({self})")
    }
}

impl std::error::Error for Error {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outer_field_goes_before_the_inner_one() {
        let error = Error::new("expected a number; type digits only").at("mm").at("body");
        assert_eq!(error.field(), Some("body.mm"));
        assert_eq!(error.to_string(), "body.mm: expected a number; type digits only");
    }
}
