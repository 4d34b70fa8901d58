//! The key itself, method `key/2`: answers to a chance, how sure, the next question, the day to look again.

use super::{
    characters::{Certainty, Character, Choice, GROWTH_DAYS_MIN, GROWTH_FROM_MM, Group},
    likelihood::Table,
};
use crate::{
    calendar::Date,
    error::{Error, Result},
    ledger::body::Answer,
    refusal::BulbRefusal,
};

/// Name and version of the method, stored with every call.
pub const METHOD: &str = "key/2";

/// The chance never leaves these bounds, in permille: looking is not proof.
const LEAST_PERMILLE: u32 = 50;
const MOST_PERMILLE: u32 = 950;

/// A question with its answer.
pub type Answered = (Character, Choice);

/// What is known of the shoot before any question.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Situation {
    /// Whether leaves show that the shoot can be compared with.
    pub leaves_show: bool,
    /// Its height over the neck in mm, if measured.
    pub height_mm: Option<u32>,
    /// Days since an earlier look at the same shoot; nothing at its first look.
    pub days_since_first_look: Option<i64>,
}

impl Situation {
    /// Whether a question can be answered here.
    pub fn allows(&self, character: Character) -> bool {
        match character {
            Character::Growth => {
                self.days_since_first_look.is_some_and(|days| days >= GROWTH_DAYS_MIN)
                    && self.height_mm.is_some_and(|mm| mm >= GROWTH_FROM_MM)
            }
            _ => self.leaves_show || !character.needs_leaves(),
        }
    }
}

/// To which side a call leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lean {
    /// To a flower stalk.
    LeansStalk(Strength),
    /// To a leaf.
    LeansLeaf(Strength),
    /// To neither.
    Even,
}

/// How far it leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Strength {
    /// Up to about 2 in 3.
    Slightly,
    /// Up to about 4 in 5.
    Clearly,
    /// More.
    Strongly,
}

/// How much there is to go by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// Nothing that counts was answered.
    Nothing,
    /// Too little: no leaves to compare with, or nothing but weak characters.
    Thin,
    /// One or two characters worth looking at.
    Some,
    /// A good character and two groups beside it.
    Good,
}

/// What the key says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Chance that it is a stalk, in permille.
    pub stalk_permille: u32,
    /// To which side that leans.
    pub lean: Lean,
    /// How much there is to go by.
    pub sure: Sure,
    /// The question that would tell most; nothing when all that can be asked is answered.
    pub next: Option<Character>,
    /// When to look again.
    pub again: Date,
}

/// Reads the answers given so far.
///
/// Odds of the prior times the likelihood ratio of each answer. Within one group the strongest answer counts whole
/// and every further one as the square root of its ratio, because both look at the same thing; below 2 cm outline and
/// line at the tip can fool, and count as the square root too. Of several answers to one question the last counts.
/// What cannot be judged here (the place of rise before leaves show) counts nothing. The chance is kept between 50
/// and 950 permille.
///
/// # Errors
/// When an answer does not belong to its question, or the day to look again lies beyond the calendar.
pub fn read(table: &Table, situation: &Situation, answers: &[Answered], today: Date) -> Result<Reading> {
    let answers = counted(situation, answers)?;
    let stalk_permille = permille(chance(table, situation, &answers));
    let lean = lean(stalk_permille);
    Ok(Reading {
        stalk_permille,
        lean,
        sure: sure(situation, &answers),
        next: next_question(table, situation, &answers),
        again: today.add_days(days_to_next_look(lean, &answers))?,
    })
}

/// The answers as they stand in a call.
pub fn recorded(answers: &[Answered]) -> Vec<Answer> {
    let row = |(character, choice): &Answered| Answer {
        question: character.key().to_owned(),
        answer: choice.key().to_owned(),
    };
    answers.iter().map(row).collect()
}

/// The answers of a recorded call that this version knows.
pub fn from_record(answers: &[Answer]) -> Vec<Answered> {
    let row = |answer: &Answer| {
        let character = Character::from_key(&answer.question)?;
        Some((character, Choice::from_key(&answer.answer)?))
    };
    answers.iter().filter_map(row).collect()
}

/// The question whose answer is expected to tell most, in bits, about stalk or leaf.
///
/// Where no leaves show yet the thickness comes first: it is the one good character that needs nothing beside it.
pub fn next_question(table: &Table, situation: &Situation, answers: &[Answered]) -> Option<Character> {
    next_question_but(table, situation, answers, &[])
}

/// The same, leaving out questions that could not be answered.
pub fn next_question_but(
    table: &Table,
    situation: &Situation,
    answers: &[Answered],
    skipped: &[Character],
) -> Option<Character> {
    let asked =
        |character: Character| skipped.contains(&character) || answers.iter().any(|(known, _)| *known == character);
    let can_ask = |character: Character| situation.allows(character) && !asked(character);
    if !situation.leaves_show && can_ask(Character::Thickness) {
        return Some(Character::Thickness);
    }
    let mut best: Option<(f64, Character)> = None;
    for character in Character::ALL.iter().copied().filter(|c| can_ask(*c)) {
        let bits = expected_bits(table, situation, answers, character);
        // Equal within rounding goes to the one that stands first, so that every device asks the same.
        if best.is_none_or(|(most, _)| bits > most + 1e-9) {
            best = Some((bits, character));
        }
    }
    best.map(|(_, character)| character)
}

/// The last answer to each question that can be judged here, in order of the questions.
fn counted(situation: &Situation, answers: &[Answered]) -> Result<Vec<Answered>> {
    if let Some((character, choice)) = answers.iter().find(|(c, a)| !c.choices().contains(a)) {
        return Err(Error::new(BulbRefusal::NoAnswer(choice.key(), character.key())));
    }
    let last = |character: &Character| {
        let given = answers.iter().rev().find(|(known, _)| known == character);
        given.copied().filter(|_| situation.allows(*character))
    };
    Ok(Character::ALL.iter().filter_map(last).collect())
}

/// The ratio of one answer, made weaker where the shoot is too short to judge it.
fn ratio(table: &Table, situation: &Situation, (character, choice): Answered) -> f64 {
    let Some(weight) = table.weight(choice) else {
        return 1.0;
    };
    let ratio = f64::from(weight.stalk_permille) / f64::from(weight.leaf_permille);
    let short = situation.height_mm.is_some_and(|mm| mm < 20);
    if short && matches!(character, Character::Outline | Character::Split) { ratio.sqrt() } else { ratio }
}

/// Chance of a stalk. Only products, quotients and square roots, which every machine rounds alike.
fn chance(table: &Table, situation: &Situation, answers: &[Answered]) -> f64 {
    let prior = f64::from(table.prior_permille.clamp(1, 999)) / 1000.0;
    let mut odds = prior / (1.0 - prior);
    let mut ratios: Vec<(Group, f64)> =
        answers.iter().map(|answer| (answer.0.group(), ratio(table, situation, *answer))).collect();
    // Strongest first within its group, so that the order of asking does not matter.
    let strength = |ratio: f64| if ratio < 1.0 { 1.0 / ratio } else { ratio };
    ratios.sort_by(|a, b| (a.0.cmp(&b.0)).then(strength(b.1).total_cmp(&strength(a.1))).then(b.1.total_cmp(&a.1)));
    let mut group = None;
    for (this, ratio) in ratios {
        odds *= if group == Some(this) { ratio.sqrt() } else { ratio };
        group = Some(this);
    }
    odds / (1.0 + odds)
}

fn permille(chance: f64) -> u32 {
    ((chance * 1000.0).round() as u32).clamp(LEAST_PERMILLE, MOST_PERMILLE)
}

fn lean(stalk_permille: u32) -> Lean {
    let strength = |away: u32| match away {
        0..=180 => Strength::Slightly,
        181..=320 => Strength::Clearly,
        _ => Strength::Strongly,
    };
    let away = stalk_permille.abs_diff(500);
    if away < 60 {
        Lean::Even
    } else if stalk_permille > 500 {
        Lean::LeansStalk(strength(away))
    } else {
        Lean::LeansLeaf(strength(away))
    }
}

fn sure(situation: &Situation, answers: &[Answered]) -> Sure {
    let Some(best) = answers.iter().map(|(c, _)| c.certainty()).max() else {
        return Sure::Nothing;
    };
    let mut groups: Vec<Group> = answers.iter().map(|(c, _)| c.group()).collect();
    groups.sort();
    groups.dedup();
    let grew = answers.iter().any(|(c, _)| *c == Character::Growth);
    // Growth needs no leaf beside it; everything else is thin evidence until one shows.
    if best == Certainty::Weak || !(situation.leaves_show || grew) {
        Sure::Thin
    } else if best == Certainty::Good && groups.len() >= 3 {
        Sure::Good
    } else {
        Sure::Some
    }
}

/// After 3 to 4 days a call can be checked (our own inference from how fast stalks stretch); a thick shoot sooner.
fn days_to_next_look(lean: Lean, answers: &[Answered]) -> i64 {
    let thick = answers.contains(&(Character::Thickness, Choice::Thick));
    match lean {
        _ if thick => 2,
        Lean::LeansStalk(_) | Lean::Even => 3,
        Lean::LeansLeaf(_) => 4,
    }
}

/// Entropy of stalk or leaf, in bits.
fn bits(chance: f64) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    part(chance) + part(1.0 - chance)
}

/// How many bits the answer to a question is expected to take away.
fn expected_bits(table: &Table, situation: &Situation, answers: &[Answered], character: Character) -> f64 {
    let now = chance(table, situation, answers);
    let mut after = 0.0;
    let mut share = 0.0;
    for weight in table.of(character) {
        let given = f64::from(weight.stalk_permille) * now + f64::from(weight.leaf_permille) * (1.0 - now);
        let mut more = answers.to_vec();
        more.push((character, weight.choice));
        after += given * bits(chance(table, situation, &more));
        share += given;
    }
    if share > 0.0 { bits(now) - after / share } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use proptest::prelude::*;

    fn day() -> Date {
        "2027-11-22".parse().unwrap()
    }

    fn among_leaves() -> Situation {
        Situation { leaves_show: true, ..Situation::default() }
    }

    fn of(situation: &Situation, answers: &[Answered]) -> Reading {
        read(&Table::start(), situation, answers, day()).unwrap()
    }

    /// Source of the expectation: common practice, no source.
    #[test]
    fn beside_the_leaves_leans_to_stalk_and_from_the_middle_to_leaf() {
        let beside = of(&among_leaves(), &[(Character::Rise, Choice::Beside)]);
        assert!(matches!(beside.lean, Lean::LeansStalk(_)), "{beside:?}");
        let middle = of(&among_leaves(), &[(Character::Rise, Choice::Middle)]);
        assert!(matches!(middle.lean, Lean::LeansLeaf(_)), "{middle:?}");
        assert_eq!(Character::Rise.source(), Source::CommonPractice);
    }

    /// Source of the expectation: common practice, no source.
    #[test]
    fn before_leaves_show_the_evidence_is_thin_and_the_place_of_rise_says_nothing() {
        let bare = Situation::default();
        let thick = of(&bare, &[(Character::Thickness, Choice::Thick)]);
        assert_eq!(thick.sure, Sure::Thin);
        assert!(matches!(thick.lean, Lean::LeansStalk(_)));
        let beside = of(&bare, &[(Character::Rise, Choice::Beside)]);
        assert_eq!((beside.stalk_permille, beside.sure), (500, Sure::Nothing));
        let leafy = of(&among_leaves(), &[(Character::Thickness, Choice::Thick)]);
        assert!(leafy.sure > thick.sure);
    }

    #[test]
    fn thickness_is_asked_first_where_no_leaves_show_and_the_place_of_rise_never_there() {
        let bare = Situation::default();
        let mut answers = Vec::new();
        let mut asked = Vec::new();
        while let Some(next) = next_question(&Table::start(), &bare, &answers) {
            asked.push(next);
            answers.push((next, next.choices()[0]));
        }
        assert_eq!(asked[0], Character::Thickness);
        for never in [Character::Rise, Character::Face, Character::Growth] {
            assert!(!asked.contains(&never), "{never:?}");
        }
        assert_eq!(asked.len(), 4);
    }

    #[test]
    fn growth_is_asked_of_a_tall_shoot_once_two_looks_are_far_enough_apart() {
        let mut later = among_leaves();
        later.days_since_first_look = Some(2);
        assert!(!later.allows(Character::Growth));
        later.days_since_first_look = Some(4);
        // Nobody has measured how fast a green nub grows.
        assert!(!later.allows(Character::Growth));
        later.height_mm = Some(40);
        assert!(!later.allows(Character::Growth));
        later.height_mm = Some(120);
        assert_eq!(next_question(&Table::start(), &later, &[]), Some(Character::Growth));
        assert_eq!(Choice::of_growth(20, 160, 4), Some(Choice::Fast));
        assert_eq!(Choice::of_growth(20, 100, 4), Some(Choice::Middling));
        assert_eq!(Choice::of_growth(20, 60, 4), Some(Choice::Slow));
        assert_eq!(Choice::of_growth(20, 160, 2), None);
    }

    #[test]
    fn a_thick_shoot_is_looked_at_again_sooner() {
        let thick = of(&among_leaves(), &[(Character::Thickness, Choice::Thick)]);
        let thin = of(&among_leaves(), &[(Character::Thickness, Choice::Thin)]);
        assert_eq!(day().days_until(thick.again), 2);
        assert_eq!(day().days_until(thin.again), 4);
        assert_eq!(day().days_until(of(&among_leaves(), &[]).again), 3);
    }

    #[test]
    fn a_short_shoot_makes_its_outline_count_less() {
        let tongue = [(Character::Outline, Choice::BluntSpear)];
        let short = Situation { height_mm: Some(12), ..among_leaves() };
        let tall = Situation { height_mm: Some(40), ..among_leaves() };
        assert!(of(&short, &tongue).stalk_permille < of(&tall, &tongue).stalk_permille);
    }

    #[test]
    fn an_answer_to_another_question_is_refused() {
        let wrong = read(&Table::start(), &among_leaves(), &[(Character::Rise, Choice::Thick)], day());
        assert!(wrong.is_err());
    }

    #[test]
    fn what_is_recorded_reads_back() {
        for character in Character::ALL {
            for choice in character.choices() {
                let answers = [(*character, *choice)];
                assert_eq!(from_record(&recorded(&answers)), answers);
            }
        }
    }

    fn some_answers() -> impl Strategy<Value = Vec<Answered>> {
        let one = (0..Character::ALL.len(), 0..3_usize).prop_map(|(at, pick)| {
            let character = Character::ALL[at];
            let choices = character.choices();
            (character, choices[pick % choices.len()])
        });
        proptest::collection::vec(one, 0..6)
    }

    proptest! {
        #[test]
        fn the_chance_stays_within_bounds_and_the_order_of_asking_does_not_matter(
            answers in some_answers(), leaves_show: bool, days in proptest::option::of(0..9_i64),
            height_mm in proptest::option::of(0..300_u32),
        ) {
            let situation = Situation { leaves_show, height_mm, days_since_first_look: days };
            let mut once: Vec<Answered> = Vec::new();
            for answer in answers {
                if !once.iter().any(|(known, _)| *known == answer.0) {
                    once.push(answer);
                }
            }
            let reading = of(&situation, &once);
            prop_assert!((50..=950).contains(&reading.stalk_permille));
            once.reverse();
            prop_assert_eq!(of(&situation, &once), reading);
        }

        #[test]
        fn an_answer_for_a_stalk_never_lowers_its_chance(answers in some_answers()) {
            let situation = Situation { height_mm: Some(120), days_since_first_look: Some(4), ..among_leaves() };
            for character in Character::ALL {
                let mut less: Vec<Answered> =
                    answers.iter().copied().filter(|(known, _)| known != character).collect();
                let choices = character.choices();
                less.push((*character, choices[choices.len() - 1]));
                let leaf = of(&situation, &less).stalk_permille;
                less.pop();
                less.push((*character, choices[0]));
                prop_assert!(of(&situation, &less).stalk_permille >= leaf);
            }
        }
    }
}
