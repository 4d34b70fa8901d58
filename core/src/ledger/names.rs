//! Names and notes as they are shown: whatever a file says, no screen gets more than fits on a label or can be noted.
//!
//! What is recorded here is no longer than that ([`limits::NAME_CHARS`]); records of others are kept byte for byte, and
//! what is read from them is cut.

use super::body::Body;
use crate::limits;

/// The text, cut to the longest name with an ellipsis for the rest.
pub(crate) fn shown(mut text: String) -> String {
    let max = limits::NAME_CHARS.max as usize;
    // A text of no more bytes has no more characters.
    if text.len() > max && text.char_indices().nth(max).is_some() {
        let end = text.char_indices().nth(max - 1);
        text.truncate(end.map_or(0, |(at, _)| at));
        text.push('…');
    }
    text
}

/// A note, cut to the longest that can be recorded.
fn cut_note(text: &mut String) {
    let max = limits::NOTE_BYTES.max as usize;
    if text.len() > max {
        let end = (0..=max).rev().find(|at| text.is_char_boundary(*at));
        text.truncate(end.unwrap_or(0));
        text.push('…');
    }
}

fn cut(text: &mut String) {
    *text = shown(std::mem::take(text));
}

impl Body {
    /// The body with its names as they are shown.
    pub(super) fn with_names_cut(mut self) -> Self {
        match &mut self {
            Self::Nursery(nursery) => cut(&mut nursery.name),
            Self::Person(person) => {
                cut(&mut person.initials);
                cut(&mut person.name);
            }
            Self::Place(place) => {
                cut(&mut place.name);
                let covers = place.covers.iter_mut();
                covers.for_each(|cover| cut(&mut cover.what));
            }
            Self::Lot(lot) => {
                cut(&mut lot.name);
                cut(&mut lot.cultivar);
                cut(&mut lot.supplier);
                cut(&mut lot.grade);
            }
            Self::BulbName(named) => cut(&mut named.name),
            Self::Container(container) => cut(&mut container.name),
            Self::Recipe(recipe) => {
                cut(&mut recipe.name);
                recipe.parts.iter_mut().for_each(|part| cut(&mut part.what));
            }
            Self::Question(question) => {
                cut(&mut question.text);
                let factors = question.factors.iter_mut();
                factors.for_each(|factor| {
                    cut(&mut factor.name);
                    cut(&mut factor.unit);
                });
            }
            Self::Treatment(treatment) => {
                cut(&mut treatment.name);
                let levels = treatment.levels.iter_mut();
                levels.for_each(|level| {
                    cut(&mut level.factor);
                    cut(&mut level.text);
                });
            }
            Self::Note(note) => cut_note(&mut note.text),
            Self::Inspection(inspection) => inspection.note.iter_mut().for_each(cut_note),
            Self::Act(_, act) => act.note.iter_mut().for_each(cut_note),
            Self::DueWindow(window) => cut(&mut window.name),
            Self::Allotment(allotment) => allotment.cultivars.iter_mut().for_each(cut),
            Self::CarePlan(job) => {
                cut(&mut job.words);
                cut(&mut job.source);
            }
            Self::Forcing(forcing) => {
                cut(&mut forcing.name);
                cut(&mut forcing.treatment);
            }
            _ => {}
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::body::Note;

    #[test]
    fn a_name_is_cut_between_characters_and_a_short_one_stays() {
        let name = |n: usize| "ö".repeat(n);
        assert_eq!(shown(name(200)), name(200));
        assert_eq!(shown(name(201)), name(199) + "…");
        assert_eq!(shown("a".repeat(4_000_000)).chars().count(), 200);
        assert_eq!(shown(String::new()), "");
    }

    #[test]
    fn a_note_is_cut_between_characters_and_one_that_can_be_recorded_stays() {
        let read = |text: String| match Body::Note(Note { text }).with_names_cut() {
            Body::Note(note) => note.text,
            other => panic!("{other:?}"),
        };
        assert_eq!(read("a".repeat(4096)), "a".repeat(4096));
        assert_eq!(read("a".repeat(4097)), "a".repeat(4096) + "…");
        assert_eq!(read("a".to_owned() + &"ö".repeat(4000)), "a".to_owned() + &"ö".repeat(2047) + "…");
    }
}
