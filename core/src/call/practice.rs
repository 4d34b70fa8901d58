//! What there is to practise on: shoots of this nursery that were proved since and had their photo taken while nobody
//! knew. Nothing of practice is a record.

use bloomdue_draws::random::Random;

use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::ShootKind,
        id::{AttachmentHash, Id},
    },
    nursery::State,
    sketch::{Sketch, View, answer, answer_from_other_side, first_view},
};

use super::{characters::Character, key::Answered, past::known_on};

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
        for cycle in &bulb.cycles {
            for shoot in cycle.shoots.iter().filter(|shoot| shoot.kind != ShootKind::Unknown) {
                let known = known_on(ledger, cycle, shoot);
                let in_time = |day: Date| day >= shoot.since && known.is_some_and(|known| day < known);
                let Some(first) = bulb.photos.iter().find(|of| in_time(of.at.date())) else {
                    continue;
                };
                let taken_on = first.at.date();
                if cycle.shoots.iter().filter(|other| other.since <= taken_on).count() > 1 {
                    continue;
                }
                let (photo, media) = (first.photo.hash, first.photo.media.clone());
                all.push(Example { bulb: bulb.id, shoot: shoot.id, photo, media, taken_on, kind: shoot.kind });
            }
        }
    }
    shuffled(all, seed)
}

fn shuffled<T>(mut all: Vec<T>, seed: u64) -> Vec<T> {
    let n = all.len();
    Random::new(seed).some(&mut all, n);
    all
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
    shuffled(all, seed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    const PHOTO: &str = r#"photo {"hash":"HASH","media":"image/jpeg","n_bytes":1,"width_px":1,"height_px":1}"#;

    fn world(proved: &str) -> World {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1\n1 mia look b_1 sh_1/unknown/shoot");
        for on in [0, 2, 4, 9] {
            world.add(&format!("{on} mia json b_1 {}", PHOTO.replace("HASH", &format!("{on:064x}"))));
        }
        world.add(proved);
        world
    }

    #[test]
    fn the_first_photo_is_shown_that_was_taken_while_nobody_knew() {
        for proved in ["5 mia look b_1 sh_1/leaf/shoot", "5 mia proof b_1 sh_1 leaf"] {
            let world = world(proved);
            let found = examples(&world.ledger, &world.state(), 7);
            assert_eq!(found.len(), 1, "{proved}");
            assert_eq!((found[0].shoot, found[0].taken_on, found[0].kind), (id("sh_1"), day(2), ShootKind::Leaf));
        }
        // Known before the first photo of it: nothing is left to guess.
        let world = world("1 mia proof b_1 sh_1 leaf");
        assert_eq!(examples(&world.ledger, &world.state(), 7), []);
    }

    #[test]
    fn cards_show_every_answer_to_be_judged_by_eye_and_both_sides_alike() {
        let all = cards(3);
        assert_eq!(all.iter().filter(|card| card.is_stalk).count() * 2, all.len());
        assert_eq!(cards(3), all);
        assert_ne!(cards(4), all);
    }
}
