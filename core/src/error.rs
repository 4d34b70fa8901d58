//! The one error type of core: which field was refused, and why, as a code with arguments.
//!
//! Core has no sentence for a grower. The words crate says each [`Refusal`] in a person's language; screens ask an
//! error for its [`Field`] and nothing branches on text.

use std::fmt;

use crate::words::words;

pub use crate::refusal::Refusal;

/// The result of anything in core that can be refused.
pub type Result<T> = std::result::Result<T, Error>;

/// Why core refused something, and the field that it concerns where there is one.
///
/// # Examples
/// ```
/// use bloomdue_core::{error::{Error, Field, Refusal}, refusal::Missing};
/// let error = Error::new(Missing::NurseryName).at(Field::Name);
/// assert_eq!(error.field, Some(Field::Name));
/// assert_eq!(error.refusal, Refusal::Missing(Missing::NurseryName));
/// ```
#[derive(Clone, PartialEq, Eq)]
pub struct Error {
    /// The field beside which it stands; none for the whole form.
    pub field: Option<Field>,
    /// Why.
    pub refusal: Refusal,
}

impl Error {
    /// An error that concerns no single field.
    pub fn new(refusal: impl Into<Refusal>) -> Self {
        Self { field: None, refusal: refusal.into() }
    }

    /// The same error beside a field; whoever knows the form speaks last.
    #[must_use]
    pub fn at(self, field: Field) -> Self {
        Self { field: Some(field), ..self }
    }
}

impl fmt::Display for Error {
    /// For developers: the code and its arguments.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(field) = self.field {
            write!(f, "{}: ", field.word())?;
        }
        write!(f, "{:?}", self.refusal)
    }
}

impl fmt::Debug for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Error({self})")
    }
}

impl std::error::Error for Error {}

/// A field that a form can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, strum::IntoStaticStr, strum::VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Field {
    /// What a job is.
    Act,
    /// Days until a job.
    After,
    /// Bulbs that a plan may start.
    AtHand,
    /// Bulbs, or how many.
    Bulbs,
    /// Of what, or why.
    Cause,
    /// Circumference.
    Circumference,
    /// Damp or dry.
    Condition,
    /// A container.
    Container,
    /// Containers and how many each takes.
    Containers,
    /// Counts by group.
    Counts,
    /// When it happened.
    Date,
    /// When a job is told.
    During,
    /// Days until a job comes again.
    Every,
    /// What an inspection found.
    Findings,
    /// The day on which a try was finished.
    Finished,
    /// What a job waits for.
    From,
    /// Who is in which group.
    Groups,
    /// Height of a shoot.
    Height,
    /// Initials of a person.
    Initials,
    /// Latitude of the nursery.
    Latitude,
    /// Number of leaves.
    Leaves,
    /// A reading of light.
    Light,
    /// Days between looks.
    Looks,
    /// The lot.
    Lot,
    /// How many lots a plan makes.
    Lots,
    /// The mother of an offset.
    Mother,
    /// A name.
    Name,
    /// Names, one a line.
    Names,
    /// A note.
    Note,
    /// The number that was read or counted.
    Number,
    /// How many offsets each mother gave.
    Offsets,
    /// The grower's own name.
    Own,
    /// What a mix is made of.
    Parts,
    /// Where to.
    Place,
    /// The question of a trial.
    Question,
    /// Why.
    Reason,
    /// Weeks of rest.
    Rest,
    /// How many seasons are thought of.
    Seasons,
    /// From the rim down to the mix.
    Rim,
    /// By how much a mix settles.
    Settles,
    /// Share of the light kept out.
    Shade,
    /// Since when bulbs rest.
    Since,
    /// First day of a try.
    Start,
    /// How sure a plan has to be.
    Sure,
    /// The tag.
    Tag,
    /// A temperature.
    Temperature,
    /// The last day of some.
    To,
    /// Days that a job may be early or late.
    Tolerance,
    /// The groups that a trial compares.
    Treatments,
    /// To which day.
    Until,
    /// The value of a record that is put right.
    Value,
    /// How many are wanted.
    Wanted,
    /// Inner width of a container.
    Width,
    /// The due window.
    Window,
    /// A job in the grower's words.
    Words,
}

words!(Field);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::refusal::Missing;

    #[test]
    fn whoever_knows_the_form_names_the_field() {
        let error = Error::new(Missing::Day).at(Field::Date).at(Field::Finished);
        assert_eq!(error.field, Some(Field::Finished));
        assert_eq!(error.to_string(), "finished: Missing(Day)");
        assert_eq!(Field::AtHand.word(), "at-hand");
    }
}
