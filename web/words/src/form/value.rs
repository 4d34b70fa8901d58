//! The one value of a record of few words, to be put right.

use bloomdue_core::ledger::body::{Body, Measured};
use bloomdue_core::units;

use super::{Problem, refused, whole};
use crate::{common, records as say};
use bloomdue_core::error::Field;

/// What the value is called, and whether it holds several lines; nothing for kinds without one value.
pub fn label(body: &Body) -> Option<(&'static str, bool)> {
    match body {
        Body::Measure(measure) if measure.what == Measured::Weight => Some((say::value_g(), false)),
        Body::Measure(_) => Some((say::value_cm(), false)),
        Body::Count(_) => Some((say::value_n(), false)),
        Body::Note(_) | Body::Nursery(_) | Body::BulbName(_) => Some((say::text(), true)),
        _ => None,
    }
}

/// The value as it is typed.
pub fn typed(body: &Body) -> String {
    match body {
        Body::Measure(measure) => match (measure.g, measure.mm) {
            (Some(g), _) => g.to_string(),
            (None, Some(mm)) => common::cm_number(mm),
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
            measure.mm = Some(units::mm_of_cm(text).map_err(|why| refused(Field::Value, &why))?);
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
