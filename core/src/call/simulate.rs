//! Invented shoots: for tests of how the key learns, never for what a grower sees.

use bloomdue_draws::normal;
use bloomdue_draws::random::Random;

use super::{
    characters::{Character, Choice, Group},
    key::Answered,
    likelihood::{Proved, Table},
};
use crate::ledger::{
    body::ShootKind,
    id::{Ids, Noun},
};

/// How answers of the same group go together on one shoot, as the correlation of normal numbers behind them.
pub(super) const WITHIN_GROUPS: f64 = 0.6;

/// A world of shoots.
#[derive(Clone, Debug)]
pub(super) struct World {
    /// The share of stalks among shoots that are called.
    stalks: f64,
    shares: Vec<(Answered, f64, f64)>,
}

impl World {
    /// Where answers are given as often as a table says.
    pub(super) fn like(table: &Table) -> Self {
        let all = Character::ALL.iter().flat_map(|c| c.choices().iter().map(move |choice| (*c, *choice)));
        let row = |answered: Answered| {
            let (stalk, leaf) = table.shares(answered);
            (answered, stalk, leaf)
        };
        Self { stalks: 0.5, shares: all.map(row).collect() }
    }

    /// Where characters tell more or less than is believed: the shares of each question moved by a random power of
    /// their ratio, between `least` and `most`, by this seed.
    pub(super) fn other(table: &Table, least: f64, most: f64, seed: u64) -> Self {
        let mut world = Self::like(table);
        let mut random = Random::new(seed);
        for character in Character::ALL {
            let power = least + (most - least) * random.unit();
            let of = |(answered, _, _): &&mut (Answered, f64, f64)| answered.0 == *character;
            let mut sum = 0.0;
            for row in world.shares.iter_mut().filter(of) {
                row.1 = row.2 * (row.1 / row.2).powf(power);
                sum += row.1;
            }
            world.shares.iter_mut().filter(of).for_each(|row| row.1 /= sum);
        }
        world
    }

    fn answer(&self, character: Character, stalk: bool, at: f64) -> Choice {
        let choices = character.choices();
        let mut sum = 0.0;
        for (answered, on_stalks, on_leaves) in self.shares.iter().filter(|row| row.0.0 == character) {
            sum += if stalk { on_stalks } else { on_leaves };
            if at < sum {
                return answered.1;
            }
        }
        choices[choices.len() - 1]
    }
}

/// Shoots of a world, each with an answer to every question; within a group answers are correlated by
/// [`WITHIN_GROUPS`].
pub(super) fn shoots(world: &World, n: usize, seed: u64) -> Vec<Proved> {
    let mut random = Random::new(seed);
    let mut ids = Ids::new([7; 32]);
    let who = ids.draw(Noun::Person);
    let mut all = Vec::with_capacity(n);
    for _ in 0..n {
        let stalk = random.unit() < world.stalks;
        let mut shared: Option<(Group, f64)> = None;
        let mut answers = Vec::new();
        let mut characters = Character::ALL.to_vec();
        characters.sort_by_key(|character| character.group());
        for character in characters {
            let group = character.group();
            let common = match shared {
                Some((known, common)) if known == group => common,
                _ => normal::draw(&mut random),
            };
            shared = Some((group, common));
            let own = normal::draw(&mut random);
            let z = WITHIN_GROUPS.sqrt() * common + (1.0 - WITHIN_GROUPS).sqrt() * own;
            answers.push((character, world.answer(character, stalk, normal::upper(-z))));
        }
        let kind = if stalk { ShootKind::Scape } else { ShootKind::Leaf };
        all.push(Proved { shoot: ids.draw(Noun::Shoot), who, kind, height_mm: Some(120), answers });
    }
    all
}
