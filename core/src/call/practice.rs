//! What there is to practise on: shoots of this nursery that were proved since and had their photo taken while nobody
//! knew. Nothing of practice is a record.

use bloomdue_draws::random::Random;

use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Body, ShootKind},
        id::{AttachmentHash, Id},
    },
    nursery::State,
    sketch::{Sketch, View, answer, answer_from_other_side, first_view},
};

use super::{characters::Character, key::Answered};

/// One shoot to guess at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// Its bulb.
    pub bulb: Id,
    /// The shoot.
    pub shoot: Id,
    /// The first photo that was taken from the day it was first seen on.
    pub photo: AttachmentHash,
    /// Its media type.
    pub media: String,
    /// The day of the photo.
    pub taken_on: Date,
    /// What it became.
    pub kind: ShootKind,
}

/// All of them, in an order that the seed decides, so that nobody learns them by heart.
///
/// A bulb with more than one shoot by then is left out: a photo does not say which of them is meant.
pub fn examples(ledger: &Ledger, state: &State, seed: u64) -> Vec<Example> {
    let mut all = Vec::new();
    for bulb in state.bulbs.values() {
        let photos = photos_of(ledger, &state.register_of(bulb.id, "photo"));
        for cycle in &bulb.cycles {
            for shoot in cycle.shoots.iter().filter(|shoot| shoot.kind != ShootKind::Unknown) {
                // Before it was known by any look: the first that said so.
                let known = cycle.looks.iter().find(|seen| {
                    let mut of_it = seen.look.shoots.iter().filter(|known| known.id == shoot.id);
                    of_it.any(|known| known.kind == shoot.kind)
                });
                let known = known.map(|seen| seen.at.date());
                let in_time = |day: Date| day >= shoot.since && known.is_none_or(|known| day < known);
                let Some((taken_on, photo, media)) = photos.iter().find(|(day, ..)| in_time(*day)) else {
                    continue;
                };
                if cycle.shoots.iter().filter(|other| other.since <= *taken_on).count() > 1 {
                    continue;
                }
                all.push(Example {
                    bulb: bulb.id,
                    shoot: shoot.id,
                    photo: *photo,
                    media: media.clone(),
                    taken_on: *taken_on,
                    kind: shoot.kind,
                });
            }
        }
    }
    shuffle(&mut all, seed);
    all
}

/// Fisher and Yates.
fn shuffle<T>(all: &mut [T], seed: u64) {
    let mut random = Random::new(seed);
    for at in (1..all.len()).rev() {
        all.swap(at, random.below(at + 1));
    }
}

/// One drawing to guess at.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// The answer that it draws.
    pub answer: Answered,
    /// From where it is seen.
    pub view: View,
    /// The drawing.
    pub sketch: Sketch,
    /// Whether it speaks for a stalk.
    pub is_stalk: bool,
}

/// A drawing of every answer that speaks for one side, from each side that it shows on, shuffled. What the bulb's size may
/// bear and how fast a shoot grew are no matter of the eye.
pub fn cards(seed: u64) -> Vec<Card> {
    let by_eye = Character::ALL.iter().filter(|c| !matches!(c, Character::Growth | Character::Scapes));
    let mut all = Vec::new();
    for character in by_eye {
        let choices = character.choices();
        for (choice, is_stalk) in [(choices[0], true), (choices[choices.len() - 1], false)] {
            let first = (first_view(choice), answer(choice));
            for (view, sketch) in std::iter::once(first).chain(answer_from_other_side(choice)) {
                all.push(Card { answer: (*character, choice), view, sketch, is_stalk });
            }
        }
    }
    shuffle(&mut all, seed);
    all
}

/// The photos that stand of a bulb, by day.
fn photos_of(ledger: &Ledger, ids: &[Id]) -> Vec<(Date, AttachmentHash, String)> {
    let photos = ledger.in_force_of_all(ids);
    let photos = photos.iter().filter_map(|entry| match &entry.body {
        Body::Photo(photo) => Some((entry.envelope.happened.date(), photo.hash, photo.media.clone())),
        _ => None,
    });
    let mut photos: Vec<_> = photos.collect();
    photos.sort();
    photos
}
