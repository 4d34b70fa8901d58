//! How much each answer weighs: counts of shoots, weak ones from common practice to begin with, and the nursery's own
//! proved shoots on top.
//!
//! For each question the answers of stalks and those of leaves are two Dirichlet distributions, whose shares to begin
//! with are [`START`]; a shoot that was proved adds one to the answer that was given on it. For how many shoots the start
//! counts is learned too, question by question: where proofs bear it out it weighs on, where they speak against it they
//! soon overrule it (the Dirichlet-multinomial likelihood of the proofs on the grid [`START_SHOOTS`]; Good 1965, The
//! Estimation of Probabilities). What one answer is worth is the logarithm of the ratio of the two shares; how unsure
//! that is follows from the counts by the delta method (the variance of ln of a share p out of n is (1 − p) / (p n)).

use std::collections::BTreeMap;

use super::{
    characters::{Character, Choice},
    key::{Answered, LogOdds, Situation, added, moderated, weights_of, with_prior},
};
use crate::{
    evidence::special::ln_gamma,
    ledger::{body::ShootKind, id::Id},
};

/// For how many shoots of each kind common practice may count, each as likely to begin with; without any proof it is
/// their geometric mean, 32 (common practice, no source).
const START_SHOOTS: [f64; 7] = [4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0];

/// Proved shoots from which a single number is told: fewer leave it no better than a range.
pub const NUMBER_FROM_PROOFS: usize = 30;

/// Answer, permille of stalks, permille of leaves.
///
/// Common practice, no source: no count of young stalks and leaves by character was ever found. The numbers follow
/// the order that growers give the characters and are weak on purpose: the strongest single answer turns even odds
/// into about 4 in 5.
const START: &[(Choice, f64, f64)] = &[
    (Choice::Thick, 720.0, 300.0),
    (Choice::Thin, 280.0, 700.0),
    (Choice::Beside, 650.0, 350.0),
    (Choice::Middle, 350.0, 650.0),
    (Choice::BluntSpear, 620.0, 380.0),
    (Choice::RoundedTongue, 380.0, 620.0),
    (Choice::Oval, 620.0, 380.0),
    (Choice::Flat, 380.0, 620.0),
    (Choice::LineSeen, 400.0, 160.0),
    (Choice::NoLine, 600.0, 840.0),
    (Choice::AlongLeaves, 560.0, 440.0),
    (Choice::FacesLeaf, 440.0, 560.0),
    (Choice::Fast, 420.0, 100.0),
    (Choice::Middling, 360.0, 320.0),
    (Choice::Slow, 220.0, 580.0),
    (Choice::BeforeLeaves, 570.0, 430.0),
    (Choice::AfterLeaves, 430.0, 570.0),
    (Choice::Room, 560.0, 440.0),
    (Choice::Full, 440.0, 560.0),
];

/// By what power the ratio of a further answer of one group counts, before any proof: as its square root.
const START_POWER: f64 = 0.5;

/// The powers that are tried.
const POWERS: [f64; 11] = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];

/// The scales that are tried.
const SCALES: [f64; 12] = [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.4, 1.7, 2.0];

/// How far from 1 the scale is believed to be, as the spread of its logarithm (common practice, no source).
const SCALE_SPREAD: f64 = 0.6;

/// What one answer is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weight {
    /// ln of the share among stalks over the share among leaves: above 0 it speaks for a stalk.
    pub log_ratio: f64,
    /// The variance of that.
    pub variance: f64,
}

/// How often an answer was given, in shoots; not whole, because what is believed to begin with counts too.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Given {
    /// On stalks.
    pub on_stalks: f64,
    /// On leaves.
    pub on_leaves: f64,
}

/// A proved shoot with what was answered on it while nobody knew.
#[derive(Clone, Debug, PartialEq)]
pub struct Proved {
    /// The shoot.
    pub shoot: Id,
    /// Who called it.
    pub who: Id,
    /// What it was; [`ShootKind::Unknown`] teaches nothing.
    pub kind: ShootKind,
    /// Its height over the neck in mm when it was called, if measured.
    pub height_mm: Option<u32>,
    /// The answers.
    pub answers: Vec<Answered>,
}

/// All weights.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Answers given on proved shoots.
    proved: BTreeMap<Answered, Given>,
    /// For how many shoots of each kind the start counts.
    start_shoots: BTreeMap<Character, f64>,
    /// By what power the ratio of a further answer of one group counts, 0 to 1: 0 when answers of a group only repeat
    /// each other, 1 when each tells something of its own.
    pub power: f64,
    /// By what all answers together are multiplied, in log odds: below 1 where they were too bold.
    pub scale: f64,
    /// Proved shoots that it learned from.
    pub n_proved: usize,
}

impl Table {
    /// The weights of common practice, with nothing learned.
    pub fn start() -> Self {
        Self { proved: BTreeMap::new(), start_shoots: BTreeMap::new(), power: START_POWER, scale: 1.0, n_proved: 0 }
            .with_start_shoots()
    }

    /// The weights after these proved shoots; their order does not matter.
    ///
    /// The power of further answers and the scale of all are the means of their distribution on a grid, under a prior
    /// that holds them near what they start from; the chance of each shoot is taken from the table without that shoot, so
    /// that no answer is judged by what it taught.
    pub fn learned(proved: &[Proved]) -> Self {
        let mut table = Self::start();
        let mut proved: Vec<&Proved> = proved.iter().filter(|one| one.kind != ShootKind::Unknown).collect();
        // Sums of numbers that are not whole depend on their order in the last digit.
        proved.sort_by_key(|one| (one.shoot, one.who));
        for one in &proved {
            table.count(one, 1.0);
        }
        table.n_proved = proved.len();
        table = table.with_start_shoots();
        (table.power, table.scale) = table.power_and_scale(&proved);
        table
    }

    fn count(&mut self, one: &Proved, n: f64) {
        for answered in &one.answers {
            let given = self.proved.entry(*answered).or_default();
            match one.kind {
                ShootKind::Scape => given.on_stalks += n,
                ShootKind::Leaf => given.on_leaves += n,
                ShootKind::Unknown => {}
            }
        }
    }

    fn with_start_shoots(mut self) -> Self {
        let of = |character: &Character| (*character, self.start_shoots_of(*character));
        self.start_shoots = Character::ALL.iter().map(of).collect();
        self
    }

    /// The geometric mean of [`START_SHOOTS`] under the likelihood of what was proved.
    fn start_shoots_of(&self, character: Character) -> f64 {
        let known = |choice: &Choice| self.proved.get(&(character, *choice)).copied().unwrap_or_default();
        // ln of the Dirichlet-multinomial probability, but for what does not depend on how much the start counts.
        let ln_likelihood = |shoots: &f64| {
            let of = |started: fn(&Given) -> f64| {
                let n: f64 = character.choices().iter().map(|choice| started(&known(choice))).sum();
                let each = character.choices().iter().map(|choice| {
                    let start = started(&start_of(*choice)) * shoots;
                    ln_gamma(start + started(&known(choice))) - ln_gamma(start)
                });
                ln_gamma(*shoots) - ln_gamma(shoots + n) + each.sum::<f64>()
            };
            of(|given| given.on_stalks) + of(|given| given.on_leaves)
        };
        let scores = START_SHOOTS.map(|shoots| ln_likelihood(&shoots));
        let best = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let shares = scores.map(|score| (score - best).exp());
        let ln_mean = START_SHOOTS.iter().zip(shares).map(|(shoots, share)| share * shoots.ln()).sum::<f64>();
        (ln_mean / shares.iter().sum::<f64>()).exp()
    }

    fn power_and_scale(&self, proved: &[&Proved]) -> (f64, f64) {
        if proved.is_empty() {
            return (START_POWER, 1.0);
        }
        let mut without = self.clone();
        let weights: Vec<_> = proved
            .iter()
            .map(|one| {
                without.count(one, -1.0);
                let weights = weights_of(&without, one.height_mm, &one.answers);
                without.count(one, 1.0);
                weights
            })
            .collect();
        let mut found: Vec<(f64, f64, f64)> = Vec::with_capacity(POWERS.len() * SCALES.len());
        for power in POWERS {
            let odds: Vec<LogOdds> = weights.iter().map(|weights| added(power, weights)).collect();
            for scale in SCALES {
                let each = proved.iter().zip(&odds).map(|(one, odds)| {
                    let log_odds = moderated(with_prior(&Situation::default(), odds.times(scale)));
                    // ln of the chance of what it was, at even odds before any answer.
                    let against = if one.kind == ShootKind::Scape { -log_odds } else { log_odds };
                    -against.exp().ln_1p()
                });
                // Near nothing and near all are unlikely powers, as in a Beta(2, 2).
                let prior = (0.01 + power * (1.0 - power)).ln() - 0.5 * (scale.ln() / SCALE_SPREAD).powi(2);
                found.push((power, scale, each.sum::<f64>() + prior));
            }
        }
        let best = found.iter().map(|(.., score)| *score).fold(f64::NEG_INFINITY, f64::max);
        let shares: Vec<f64> = found.iter().map(|(.., score)| (score - best).exp()).collect();
        let sum: f64 = shares.iter().sum();
        let mean = |of: fn(&(f64, f64, f64)) -> f64| {
            found.iter().zip(&shares).map(|(one, share)| of(one) * share).sum::<f64>() / sum
        };
        (mean(|one| one.0), mean(|one| one.1))
    }

    /// How often an answer was given, with what is believed to begin with.
    pub fn given(&self, (character, choice): Answered) -> Given {
        let shoots = self.start_shoots.get(&character).copied().unwrap_or_default();
        let (start, proved) = (start_of(choice), self.proved.get(&(character, choice)).copied().unwrap_or_default());
        Given {
            on_stalks: shoots * start.on_stalks + proved.on_stalks,
            on_leaves: shoots * start.on_leaves + proved.on_leaves,
        }
    }

    /// All shoots that a question was answered on, with what is believed to begin with.
    pub fn asked(&self, character: Character) -> Given {
        let sum = |sum: Given, choice: &Choice| {
            let given = self.given((character, *choice));
            Given { on_stalks: sum.on_stalks + given.on_stalks, on_leaves: sum.on_leaves + given.on_leaves }
        };
        character.choices().iter().fold(Given::default(), sum)
    }

    /// The shares of an answer among stalks and among leaves, each above 0.
    pub fn shares(&self, (character, choice): Answered) -> (f64, f64) {
        let (given, asked) = (self.given((character, choice)), self.asked(character));
        let share = |n: f64, of: f64| if of > 0.0 && n > 0.0 { n / of } else { 1.0 };
        (share(given.on_stalks, asked.on_stalks), share(given.on_leaves, asked.on_leaves))
    }

    /// What an answer is worth by itself.
    pub fn weight(&self, answered: Answered) -> Weight {
        let (stalk, leaf) = self.shares(answered);
        let given = self.given(answered);
        let variance = |share: f64, n: f64| if n > 0.0 { (1.0 - share) / n } else { 0.0 };
        Weight {
            log_ratio: (stalk / leaf).ln(),
            variance: variance(stalk, given.on_stalks) + variance(leaf, given.on_leaves),
        }
    }
}

/// The shares that common practice starts from.
fn start_of(choice: Choice) -> Given {
    let row = START.iter().find(|(known, ..)| *known == choice);
    row.map_or(Given::default(), |(_, stalks, leaves)| Given { on_stalks: stalks / 1000.0, on_leaves: leaves / 1000.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answers_of_every_question_share_all_stalks_and_all_leaves() {
        let table = Table::start();
        for character in Character::ALL {
            let asked = table.asked(*character);
            assert!((asked.on_stalks - 32.0).abs() < 1e-9, "{character:?} {asked:?}");
            assert!((asked.on_leaves - 32.0).abs() < 1e-9, "{character:?} {asked:?}");
        }
    }

    #[test]
    fn no_single_answer_weighs_more_than_five_to_one() {
        let table = Table::start();
        for character in Character::ALL {
            for choice in character.choices() {
                let ratio = table.weight((*character, *choice)).log_ratio.exp();
                assert!((0.2..=5.0).contains(&ratio), "{choice:?} {ratio}");
            }
        }
    }

    fn proved(n: u8, kind: ShootKind, answers: &[Answered]) -> Proved {
        let mut ids = crate::ledger::id::Ids::new([n; 32]);
        let (shoot, who) = (ids.draw(crate::ledger::id::Noun::Shoot), ids.draw(crate::ledger::id::Noun::Person));
        Proved { shoot, who, kind, height_mm: Some(120), answers: answers.to_vec() }
    }

    #[test]
    fn what_was_proved_adds_up_on_top_in_any_order_and_can_turn_an_answer_round() {
        let beside = (Character::Rise, Choice::Beside);
        let mut all: Vec<Proved> = (0..20).map(|n| proved(n, ShootKind::Leaf, &[beside])).collect();
        all.extend((20..40).map(|n| proved(n, ShootKind::Scape, &[(Character::Rise, Choice::Middle)])));
        let table = Table::learned(&all);
        assert!(Table::start().weight(beside).log_ratio > 0.0);
        assert!(table.weight(beside).log_ratio < 0.0, "{:?}", table.weight(beside));
        all.reverse();
        assert_eq!(Table::learned(&all), table);
        assert_eq!(table.n_proved, 40);
        assert!((table.power - START_POWER).abs() < 1e-9, "no shoot has two answers of one group");
    }

    #[test]
    fn answers_that_only_repeat_each_other_count_for_less_and_telling_ones_for_more() {
        let both = |thick| match thick {
            true => [(Character::Thickness, Choice::Thick), (Character::Outline, Choice::BluntSpear)],
            false => [(Character::Thickness, Choice::Thin), (Character::Outline, Choice::RoundedTongue)],
        };
        // Half of the stalks look like leaves and half of the leaves like stalks, in both answers at once.
        let repeating: Vec<Proved> = (0..60)
            .map(|n| proved(n, if n % 3 == 0 { ShootKind::Leaf } else { ShootKind::Scape }, &both(n % 2 == 0)))
            .collect();
        let telling: Vec<Proved> = (0..60)
            .map(|n| proved(n, if n % 2 == 0 { ShootKind::Scape } else { ShootKind::Leaf }, &both(n % 2 == 0)))
            .collect();
        let (less, more) = (Table::learned(&repeating).power, Table::learned(&telling).power);
        assert!(less < more && more > START_POWER, "{less} {more}");
    }
}
