//! The one value of a record of few words, to be put right.

use bloomdue_core::ledger::body::{Body, Measured};

use super::{Problem, length_mm, whole};
use crate::formats::{self, Units};
use crate::{care, records as say};
use bloomdue_core::error::Field;

/// What the value is called, and whether it holds several lines; nothing for kinds without one value.
pub fn label(body: &Body) -> Option<(String, bool)> {
    match body {
        Body::Measure(measure) if measure.what == Measured::Weight => Some((say::value_g().to_owned(), false)),
        Body::Measure(_) => Some((say::value_length(), false)),
        Body::Count(_) => Some((say::value_n().to_owned(), false)),
        Body::Note(_) | Body::Nursery(_) | Body::BulbName(_) => Some((say::text().to_owned(), true)),
        _ => None,
    }
}

/// Which keyboard a phone shows for it.
pub fn keyboard(body: &Body) -> &'static str {
    match body {
        Body::Measure(measure) => care::measured_keyboard(measure.what),
        _ => "numeric",
    }
}

/// The value as it is typed.
pub fn typed(body: &Body) -> String {
    match body {
        Body::Measure(measure) => match (measure.g, measure.mm) {
            (Some(g), _) => g.to_string(),
            (None, Some(mm)) => formats::length_number(mm),
            (None, None) => String::new(),
        },
        Body::Count(count) => count.n.to_string(),
        Body::Note(note) => note.text.clone(),
        Body::Nursery(nursery) => nursery.name.clone(),
        Body::BulbName(named) => named.name.clone(),
        _ => String::new(),
    }
}

/// The record with another value.
///
/// # Errors
/// When it is no number where one is meant.
pub fn with(mut body: Body, text: &str) -> Result<Body, Problem> {
    match &mut body {
        Body::Measure(measure) if measure.what == Measured::Weight => measure.g = Some(whole(Field::Value, text)?),
        Body::Measure(measure) => {
            measure.mm = Some(length_mm(Field::Value, text)?);
            measure.mm_to = None;
        }
        Body::Count(count) => count.n = whole(Field::Value, text)?,
        Body::Note(note) => note.text = text.to_owned(),
        Body::Nursery(nursery) => nursery.name = text.to_owned(),
        Body::BulbName(named) => named.name = text.to_owned(),
        _ => {}
    }
    Ok(body)
}

/// What was typed while other units were chosen, as it would be typed now.
pub fn retyped(body: &Body, text: String, typed_in: Units) -> String {
    match body {
        Body::Measure(measure) if measure.what != Measured::Weight => formats::retyped_length(&text, typed_in),
        _ => text,
    }
}
