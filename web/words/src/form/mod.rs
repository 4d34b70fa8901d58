//! What is typed into forms, read: as what core is asked to do, or as what is wrong, beside its field.

pub mod acts;
pub mod care_job;
pub mod label_sheet;
pub mod light;
pub mod new_bulbs;
pub mod potting;
#[cfg(test)]
mod tests;
pub mod trial;
pub mod value;
pub mod wish;

use std::str::FromStr;

use bloomdue_core::calendar::Date;
use bloomdue_core::error::{Error, Field};
use bloomdue_core::ledger::body::{Cover, PlaceKind};
use bloomdue_core::units;

use crate::route::Route;
use crate::told::NotRecorded;
use crate::{common, formats, places, refusals, start};

/// What is wrong with a form: the field core named, and the sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The field; none for the whole form.
    pub field: Option<Field>,
    /// The sentence.
    pub text: String,
    /// Where it is mended, when that is on another screen.
    pub mend: Option<Box<Route>>,
}

impl Problem {
    /// Beside a field.
    pub fn at(field: Field, text: impl Into<String>) -> Self {
        Self { field: Some(field), text: text.into(), mend: None }
    }

    /// Of the whole form.
    pub fn whole(text: impl Into<String>) -> Self {
        Self { field: None, text: text.into(), mend: None }
    }
}

impl From<&Error> for Problem {
    fn from(why: &Error) -> Self {
        Self { field: why.field, text: refusals::refused(why), mend: None }
    }
}

impl From<&NotRecorded> for Problem {
    fn from(why: &NotRecorded) -> Self {
        Self { field: why.field(), text: start::not_recorded(why), mend: start::mended_at(why).map(Box::new) }
    }
}

/// What core refused, beside a field.
pub fn refused(field: Field, why: &Error) -> Problem {
    Problem::at(field, refusals::refused(why))
}

/// A text, where one was typed.
pub fn filled(text: &str) -> Option<String> {
    (!text.trim().is_empty()).then(|| text.to_owned())
}

/// A day as a field of days holds it.
///
/// # Errors
/// `otherwise`, when none was chosen.
pub fn day(field: Field, text: &str, otherwise: &str) -> Result<Date, Problem> {
    text.parse().map_err(|_| Problem::at(field, otherwise))
}

/// A whole number.
///
/// # Errors
/// When it is none.
pub fn whole(field: Field, text: &str) -> Result<i64, Problem> {
    units::whole(text).map_err(|why| refused(field, &why))
}

/// A whole number that counts something.
///
/// # Errors
/// When it is none, or below zero.
pub fn number(field: Field, text: &str) -> Result<u32, Problem> {
    u32::try_from(whole(field, text)?).map_err(|_| Problem::at(field, common::digits_only()))
}

/// Tenths of what was typed.
///
/// # Errors
/// When it is no number or has more than one decimal.
pub fn tenths(field: Field, text: &str) -> Result<i64, Problem> {
    units::tenths(text).map_err(|why| refused(field, &why))
}

/// Digits and nothing else.
///
/// # Errors
/// When it is anything else or too large.
pub fn digits<T: FromStr>(field: Field, text: &str) -> Result<T, Problem> {
    text.trim().parse().map_err(|_| Problem::at(field, common::digits_only()))
}

/// A length typed in the unit of this device, in mm.
///
/// # Errors
/// When it is none.
pub fn length_mm(field: Field, text: &str) -> Result<i64, Problem> {
    units::mm_of(text, formats::units().length).map_err(|why| refused(field, &why))
}

/// A temperature typed in the unit of this device, in tenths of a degree Celsius.
///
/// # Errors
/// When it is none.
pub fn temperature_dc(field: Field, text: &str) -> Result<i64, Problem> {
    units::dc_of(text, formats::units().temperature).map_err(|why| refused(field, &why))
}

/// A height, in mm; nothing where none was typed.
///
/// # Errors
/// When it is no length.
pub fn height_mm(text: &str) -> Result<Option<u32>, Problem> {
    let Some(text) = filled(text) else {
        return Ok(None);
    };
    let mm = length_mm(Field::Height, &text)?;
    u32::try_from(mm).map(Some).map_err(|_| Problem::at(Field::Height, common::digits_only()))
}

/// What keeps light out of a place: its cloth, a structure, trees, and what else was said of it. Where no light comes in,
/// nothing does.
///
/// # Errors
/// As [`shade_percent`].
pub fn covers(kind: PlaceKind, layers: [&str; 3], more: &[Cover]) -> Result<Vec<Cover>, Problem> {
    if !kind.has_light() {
        return Ok(Vec::new());
    }
    let mut covers = Vec::new();
    for (what, typed) in places::LAYERS.iter().zip(layers) {
        let blocks = shade_percent(typed)?;
        covers.extend(blocks.map(|blocks_percent| Cover { what: (*what).to_owned(), blocks_percent }));
    }
    Ok(covers.into_iter().chain(more.iter().cloned()).collect())
}

/// The covers of a place as their fields hold them: cloth, structure, trees; and all others. What has no name of these is
/// cloth where it stands first.
pub fn layers(covers: &[Cover]) -> ([String; 3], Vec<Cover>) {
    let mut typed = [String::new(), String::new(), String::new()];
    let mut more = Vec::new();
    for (at, cover) in covers.iter().enumerate() {
        let known = places::LAYERS.iter().position(|what| *what == cover.what);
        match known.or((at == 0).then_some(0)).filter(|known| typed[*known].is_empty()) {
            Some(known) => typed[known] = cover.blocks_percent.to_string(),
            None => more.push(cover.clone()),
        }
    }
    (typed, more)
}

/// How much of the light a cover keeps out, with or without its sign; nothing where it keeps out none.
///
/// # Errors
/// When it is no whole number.
pub fn shade_percent(text: &str) -> Result<Option<u32>, Problem> {
    match text.trim() {
        "" | "0" => Ok(None),
        text => digits(Field::Shade, text.trim_end_matches('%')).map(Some),
    }
}

/// A latitude in tenths of a degree, south below zero; nothing where none was typed.
///
/// # Errors
/// When it is no number.
pub fn latitude_decideg(text: &str, south: bool) -> Result<Option<i64>, Problem> {
    let size = filled(text).map(|text| tenths(Field::Latitude, &text)).transpose()?;
    Ok(size.map(|size| if south { -size } else { size }))
}
