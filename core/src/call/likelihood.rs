//! How much each answer weighs. The table is a value: `key/2` starts from [`Table::start`], and a table learned from
//! a nursery's own proofs can take its place.

use super::characters::{Character, Choice};

/// How often an answer is given on stalks and on leaves, each in permille.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    /// The answer.
    pub choice: Choice,
    /// Of a thousand stalks, how many get it.
    pub stalk_permille: u32,
    /// Of a thousand leaves, how many get it.
    pub leaf_permille: u32,
}

impl Weight {
    /// The likelihood ratio in permille: above 1000 speaks for a stalk.
    pub const fn ratio_permille(&self) -> u32 {
        self.stalk_permille * 1000 / self.leaf_permille
    }
}

/// All weights and what is held before any answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Chance of a stalk before any answer, in permille.
    pub prior_permille: u32,
    /// One weight an answer.
    pub weights: Vec<Weight>,
}

/// Answer, permille of stalks, permille of leaves.
///
/// Common practice, no source: no count of young stalks and leaves by character was ever found. The numbers follow
/// the order that growers give the characters and are weak on purpose, so that a handful of checked calls can
/// overrule them: the strongest single answer turns even odds into about 4 in 5.
const START: &[(Choice, u32, u32)] = &[
    (Choice::Thick, 720, 300),
    (Choice::Thin, 280, 700),
    (Choice::Beside, 650, 350),
    (Choice::Middle, 350, 650),
    (Choice::BluntSpear, 620, 380),
    (Choice::RoundedTongue, 380, 620),
    (Choice::LineSeen, 400, 160),
    (Choice::NoLine, 600, 840),
    (Choice::AlongLeaves, 560, 440),
    (Choice::FacesLeaf, 440, 560),
    (Choice::Fast, 420, 100),
    (Choice::Middling, 360, 320),
    (Choice::Slow, 220, 580),
    (Choice::BeforeLeaves, 570, 430),
    (Choice::AfterLeaves, 430, 570),
];

impl Table {
    /// The table that `key/2` starts from: even odds before any answer, and the weights of common practice.
    pub fn start() -> Self {
        let weight = |&(choice, stalk_permille, leaf_permille): &(Choice, u32, u32)| Weight {
            choice,
            stalk_permille,
            leaf_permille,
        };
        Self { prior_permille: 500, weights: START.iter().map(weight).collect() }
    }

    /// The weight of an answer; nothing for one that the table does not know, which then counts nothing.
    pub fn weight(&self, choice: Choice) -> Option<&Weight> {
        let fits = |weight: &&Weight| weight.choice == choice;
        let known = self.weights.iter().find(fits);
        known.filter(|weight| weight.stalk_permille > 0 && weight.leaf_permille > 0)
    }

    /// The weights of a question's answers.
    pub fn of(&self, character: Character) -> Vec<&Weight> {
        let choices = character.choices().iter();
        choices.filter_map(|choice| self.weight(*choice)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answers_of_every_question_share_a_thousand_stalks_and_a_thousand_leaves() {
        let table = Table::start();
        for character in Character::ALL {
            let weights = table.of(*character);
            assert_eq!(weights.len(), character.choices().len(), "{character:?}");
            let sum = |of: fn(&Weight) -> u32| weights.iter().map(|w| of(w)).sum::<u32>();
            assert_eq!(sum(|w| w.stalk_permille), 1000, "{character:?}");
            assert_eq!(sum(|w| w.leaf_permille), 1000, "{character:?}");
        }
    }

    #[test]
    fn no_single_answer_weighs_more_than_five_to_one() {
        for weight in Table::start().weights {
            let ratio = weight.ratio_permille();
            assert!((200..=5000).contains(&ratio), "{weight:?} {ratio}");
        }
    }
}
