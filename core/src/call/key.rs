//! The key itself, method `key/3`: answers to a chance with its range, the next question, the day to look again.
//!
//! Log odds add up: those of what is expected of the bulb, then those of each answer. Within a group the strongest
//! answer counts whole and every further one by the table's power, because they are one fact seen several ways; all of
//! it is multiplied by the table's scale, which proofs keep below 1 where the key was too bold. How unsure each
//! answer's weight is adds up too; the chance is the mean of the logistic over that spread (MacKay 1992, Neural
//! Computation 4:720, eq. 5.3), which draws it toward even where little is known, and its range holds 8 in 10.

use std::cmp::Ordering;

use super::{
    characters::{Certainty, Character, Choice, GROWTH_DAYS_MIN, GROWTH_FROM_MM, Group},
    likelihood::{NUMBER_FROM_PROOFS, Table, Weight},
};
use crate::{
    calendar::Date,
    error::{Error, Result},
    ledger::body::Answer,
    refusal::BulbRefusal,
};

/// Name and version of the method, stored with every call.
pub const METHOD: &str = "key/3";

/// The chance never leaves these bounds, in permille, with [`NUMBER_FROM_PROOFS`] proofs: looking is not proof.
const PERMILLE: [u32; 2] = [20, 980];
/// Before that it stays within these where [`GROUPS_TO_GO_FURTHER`] groups agree.
const PERMILLE_BEFORE_PROOFS: [u32; 2] = [50, 950];
/// Else within these.
const PERMILLE_OF_FEW: [u32; 2] = [100, 900];
const GROUPS_TO_GO_FURTHER: usize = 3;
/// What is expected of the bulb is bounded, in permille: a shoot is there, and it may be either.
const PRIOR_PERMILLE: [u32; 2] = [150, 850];
/// The spread of what is expected, in log odds: an expectation, not a count (common practice, no source).
const PRIOR_SD: f64 = 0.7;
/// Normal quantile of 9 in 10.
const Z_90: f64 = 1.281_551_565_544_600_5;
/// By what power an answer counts that can fool, where the shoot is short.
const SHORT_POWER: f64 = 0.5;
/// Below this height in mm tips can fool.
const SHORT_MM: u32 = 20;

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
    /// Whether the bulb's circumference is known.
    pub size_known: bool,
    /// The chance of a stalk before any answer, in permille, as the bulb's forecast has it without this shoot; nothing
    /// where there is none, which is even odds.
    pub expected_permille: Option<u32>,
}

impl Situation {
    /// Whether a question can be answered here.
    pub fn allows(&self, character: Character) -> bool {
        match character {
            Character::Growth => {
                self.days_since_first_look.is_some_and(|days| days >= GROWTH_DAYS_MIN)
                    && self.height_mm.is_some_and(|mm| mm >= GROWTH_FROM_MM)
            }
            Character::Scapes => self.size_known,
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

impl Lean {
    /// Whether it leans to a stalk, or to a leaf; nothing for neither.
    pub const fn side(self) -> Option<bool> {
        match self {
            Self::LeansStalk(_) => Some(true),
            Self::LeansLeaf(_) => Some(false),
            Self::Even => None,
        }
    }
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
    /// Its range: 8 in 10 that it lies within, in permille.
    pub range_permille: (u32, u32),
    /// Whether the chance may be told as one number: from [`NUMBER_FROM_PROOFS`] proofs on.
    pub number_is_told: bool,
    /// To which side that leans.
    pub lean: Lean,
    /// How much there is to go by.
    pub sure: Sure,
    /// The question that would tell most; nothing when none can change the side that it leans to.
    pub next: Option<Character>,
    /// Of the questions left, the answers of which one alone would make it lean strongly.
    pub settled_by: Vec<Answered>,
    /// When to look again.
    pub again: Date,
}

/// Log odds of a stalk with how unsure they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LogOdds {
    /// ln of the chance of a stalk over that of a leaf.
    log_ratio: f64,
    variance: f64,
    /// How many groups speak for a stalk, and for a leaf.
    groups_for: [usize; 2],
}

impl LogOdds {
    /// All of it made stronger or weaker.
    pub(super) fn times(self, scale: f64) -> Self {
        Self { log_ratio: scale * self.log_ratio, variance: scale * scale * self.variance, ..self }
    }
}

/// Reads the answers given so far; see the module for how they are put together.
///
/// Below 2 cm the tip's outline, section and line can fool, and count as the square root. Of several answers to one
/// question the last counts. What cannot be judged here (the place of rise before leaves show) counts nothing. The
/// chance is kept between 100 and 900 permille, between 50 and 950 where three groups agree, and from 30 proofs on between
/// 20 and 980.
///
/// # Errors
/// When an answer does not belong to its question, or the day to look again lies beyond the calendar.
pub fn read(table: &Table, situation: &Situation, answers: &[Answered], today: Date) -> Result<Reading> {
    read_but(table, situation, answers, &[], today)
}

/// The same, leaving out questions that could not be answered.
///
/// # Errors
/// As [`read`].
pub fn read_but(
    table: &Table,
    situation: &Situation,
    answers: &[Answered],
    skipped: &[Character],
    today: Date,
) -> Result<Reading> {
    let answers = counted(situation, answers)?;
    let odds = with_prior(situation, log_odds_of(table, situation, &answers));
    let [least, most] = bounds(table, odds);
    let permille = |log_odds: f64| ((logistic(log_odds) * 1000.0).round() as u32).clamp(least, most);
    let spread = Z_90 * odds.variance.sqrt();
    let stalk_permille = permille(moderated(odds));
    let lean = lean(stalk_permille);
    Ok(Reading {
        stalk_permille,
        range_permille: (permille(odds.log_ratio - spread), permille(odds.log_ratio + spread)),
        number_is_told: table.n_proved >= NUMBER_FROM_PROOFS,
        lean,
        sure: sure(situation, &answers),
        next: next_of(table, situation, &answers, skipped),
        settled_by: settled_by(table, situation, &answers, skipped, lean),
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
        let choice = Choice::from_key(&answer.answer)?;
        character.choices().contains(&choice).then_some((character, choice))
    };
    answers.iter().filter_map(row).collect()
}

/// The question whose answer is expected to tell most, in bits, about stalk or leaf; nothing when no answers to what is
/// left could change the side that the call leans to.
///
/// Where no leaves show yet the thickness comes first: it is the one good character that needs nothing beside it.
pub fn next_question(table: &Table, situation: &Situation, answers: &[Answered]) -> Option<Character> {
    next_of(table, situation, answers, &[])
}

fn left(situation: &Situation, answers: &[Answered], skipped: &[Character]) -> Vec<Character> {
    let asked =
        |character: &Character| skipped.contains(character) || answers.iter().any(|(known, _)| known == character);
    let can_ask = |character: &Character| situation.allows(*character) && !asked(character);
    Character::ALL.iter().copied().filter(can_ask).collect()
}

fn next_of(table: &Table, situation: &Situation, answers: &[Answered], skipped: &[Character]) -> Option<Character> {
    let left = left(situation, answers, skipped);
    if !can_change(table, situation, answers, &left) {
        return None;
    }
    if !situation.leaves_show && left.contains(&Character::Thickness) {
        return Some(Character::Thickness);
    }
    let mut best: Option<(f64, Character)> = None;
    for character in left {
        let bits = expected_bits(table, situation, answers, character);
        // Equal within rounding goes to the one that stands first, so that every device asks the same.
        if best.is_none_or(|(most, _)| bits > most + 1e-9) {
            best = Some((bits, character));
        }
    }
    best.map(|(_, character)| character)
}

/// Whether answers to what is left can change the side that the call leans to. All of them, since a single answer may
/// change nothing and two together may.
fn can_change(table: &Table, situation: &Situation, answers: &[Answered], left: &[Character]) -> bool {
    let mut so_far = weights_of(table, situation.height_mm, answers);
    let answers_to = |character: &Character| {
        let answers: Vec<Answered> = character.choices().iter().map(|choice| (*character, *choice)).collect();
        weights_of(table, situation.height_mm, &answers)
    };
    let left: Vec<Vec<(Group, Weight)>> = left.iter().map(answers_to).collect();
    let side = |weights: &[(Group, Weight)]| {
        let chance = logistic(moderated(with_prior(situation, added(table.power, weights).times(table.scale))));
        lean((chance * 1000.0).round() as u32).side()
    };
    let now = side(&so_far);
    // As many levels as there are questions.
    fn any_other(
        so_far: &mut Vec<(Group, Weight)>,
        left: &[Vec<(Group, Weight)>],
        differs: &impl Fn(&[(Group, Weight)]) -> bool,
    ) -> bool {
        let Some((first, rest)) = left.split_first() else {
            return false;
        };
        first.iter().any(|answer| {
            so_far.push(*answer);
            let found = differs(so_far) || any_other(so_far, rest, differs);
            so_far.pop();
            found
        }) || any_other(so_far, rest, differs)
    }
    any_other(&mut so_far, &left, &|weights| side(weights) != now)
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

/// What one answer is worth, made weaker where the shoot is too short to judge it.
fn weight(table: &Table, height_mm: Option<u32>, answered: Answered) -> Weight {
    let weight = table.weight(answered);
    let short = height_mm.is_some_and(|mm| mm < SHORT_MM);
    let power = if short && answered.0.fools_when_short() { SHORT_POWER } else { 1.0 };
    Weight { log_ratio: power * weight.log_ratio, variance: power * power * weight.variance }
}

/// Group by group, the strongest answer first.
fn strongest_first(a: &(Group, Weight), b: &(Group, Weight)) -> Ordering {
    let strength = |weight: &Weight| weight.log_ratio.abs();
    let by_strength = || strength(&b.1).total_cmp(&strength(&a.1));
    (a.0.cmp(&b.0)).then_with(by_strength).then_with(|| b.1.log_ratio.total_cmp(&a.1.log_ratio))
}

/// What the answers say, at even odds before them.
fn log_odds_of(table: &Table, situation: &Situation, answers: &[Answered]) -> LogOdds {
    added(table.power, &weights_of(table, situation.height_mm, answers)).times(table.scale)
}

/// What each answer is worth by itself, with its group.
pub(super) fn weights_of(table: &Table, height_mm: Option<u32>, answers: &[Answered]) -> Vec<(Group, Weight)> {
    answers.iter().map(|answered| (answered.0.group(), weight(table, height_mm, *answered))).collect()
}

/// Weights put together: within a group the strongest counts whole, each further one by `power`. Those that are equally
/// strong share that, so that of two that contradict each other neither is the first.
pub(super) fn added(power: f64, weights: &[(Group, Weight)]) -> LogOdds {
    let mut sorted = weights.to_vec();
    sorted.sort_by(strongest_first);
    let mut odds = LogOdds { log_ratio: 0.0, variance: 0.0, groups_for: [0, 0] };
    for group in sorted.chunk_by(|a, b| a.0 == b.0) {
        let strongest = group[0].1.log_ratio.abs();
        let is_strongest = |weight: &Weight| strongest - weight.log_ratio.abs() < 1e-9;
        let n_strongest = group.iter().filter(|(_, weight)| is_strongest(weight)).count() as f64;
        let of_strongest = (1.0 + (n_strongest - 1.0) * power) / n_strongest;
        let mut of_group = 0.0;
        for (_, weight) in group {
            let power = if is_strongest(weight) { of_strongest } else { power };
            of_group += power * weight.log_ratio;
            odds.variance += power * power * weight.variance;
        }
        odds.log_ratio += of_group;
        if of_group.abs() > 1e-9 {
            odds.groups_for[usize::from(of_group < 0.0)] += 1;
        }
    }
    odds
}

pub(super) fn with_prior(situation: &Situation, odds: LogOdds) -> LogOdds {
    let [least, most] = PRIOR_PERMILLE;
    let expected = f64::from(situation.expected_permille.unwrap_or(500).clamp(least, most)) / 1000.0;
    LogOdds {
        log_ratio: odds.log_ratio + (expected / (1.0 - expected)).ln(),
        variance: odds.variance + PRIOR_SD * PRIOR_SD,
        ..odds
    }
}

fn logistic(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

/// Log odds of the mean chance over the spread.
pub(super) fn moderated(odds: LogOdds) -> f64 {
    odds.log_ratio / (1.0 + std::f64::consts::PI * odds.variance / 8.0).sqrt()
}

/// Between what the chance is kept, in permille.
fn bounds(table: &Table, odds: LogOdds) -> [u32; 2] {
    let agree = odds.groups_for[usize::from(odds.log_ratio < 0.0)] >= GROUPS_TO_GO_FURTHER;
    match table.n_proved >= NUMBER_FROM_PROOFS {
        true => PERMILLE,
        false if agree => PERMILLE_BEFORE_PROOFS,
        false => PERMILLE_OF_FEW,
    }
}

/// The chance of a stalk, unbounded: what a question tells must not vanish at a bound.
fn chance(table: &Table, situation: &Situation, answers: &[Answered]) -> f64 {
    logistic(moderated(with_prior(situation, log_odds_of(table, situation, answers))))
}

fn chance_permille(table: &Table, situation: &Situation, answers: &[Answered]) -> u32 {
    (chance(table, situation, answers) * 1000.0).round() as u32
}

/// To which side a chance of a stalk leans, in permille.
pub fn lean(stalk_permille: u32) -> Lean {
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

/// The answers to one question left that alone would make the call lean strongly; none when it does already.
fn settled_by(
    table: &Table,
    situation: &Situation,
    answers: &[Answered],
    skipped: &[Character],
    now: Lean,
) -> Vec<Answered> {
    let strongly =
        |lean: Lean| matches!(lean, Lean::LeansStalk(Strength::Strongly) | Lean::LeansLeaf(Strength::Strongly));
    if strongly(now) {
        return Vec::new();
    }
    let each = left(situation, answers, skipped)
        .into_iter()
        .flat_map(|character| character.choices().iter().map(move |choice| (character, *choice)));
    let settles = |answered: &Answered| {
        let mut more = answers.to_vec();
        more.push(*answered);
        strongly(lean(chance_permille(table, situation, &more)))
    };
    each.filter(settles).collect()
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
    for choice in character.choices() {
        let (stalk, leaf) = table.shares((character, *choice));
        let mut more = answers.to_vec();
        more.push((character, *choice));
        after += (stalk * now + leaf * (1.0 - now)) * bits(chance(table, situation, &more));
    }
    bits(now) - after
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
        assert_eq!(next_question(&Table::start(), &bare, &[]), Some(Character::Thickness));
        for never in [Character::Rise, Character::Face, Character::Growth, Character::Scapes] {
            assert!(!bare.allows(never), "{never:?}");
        }
        assert_eq!(Character::ALL.iter().filter(|character| bare.allows(**character)).count(), 5);
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
        assert!(later.allows(Character::Growth));
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

    fn all_there() -> Situation {
        Situation { height_mm: Some(120), days_since_first_look: Some(4), size_known: true, ..among_leaves() }
    }

    /// Every answer or none to each question.
    fn every_combination() -> Vec<Vec<Answered>> {
        let mut all: Vec<Vec<Answered>> = vec![Vec::new()];
        for character in Character::ALL {
            let with = |choice: &Choice| {
                all.iter().map(|answers| [answers.as_slice(), &[(*character, *choice)]].concat()).collect::<Vec<_>>()
            };
            let more: Vec<Vec<Answered>> = character.choices().iter().flat_map(with).collect();
            all.extend(more);
        }
        all
    }

    /// Source: Bayes' rule, by listing every answer that stalks and leaves give to questions of different groups.
    #[test]
    fn one_answer_a_group_is_put_together_by_bayes_rule() {
        let table = Table::start();
        let asked = [Character::Thickness, Character::Split, Character::Growth];
        let mut of_stalks = 0.0;
        let mut of_leaves = 0.0;
        for a in asked[0].choices() {
            for b in asked[1].choices() {
                for c in asked[2].choices() {
                    let answers = [(asked[0], *a), (asked[1], *b), (asked[2], *c)];
                    let (stalk, leaf) = answers.iter().fold((0.5, 0.5), |(stalk, leaf), answer| {
                        let shares = table.shares(*answer);
                        (stalk * shares.0, leaf * shares.1)
                    });
                    let posterior = stalk / (stalk + leaf);
                    let key = logistic(log_odds_of(&table, &all_there(), &answers).log_ratio);
                    assert!((posterior - key).abs() < 1e-12, "{answers:?} {posterior} {key}");
                    (of_stalks, of_leaves) = (of_stalks + stalk, of_leaves + leaf);
                }
            }
        }
        assert!((of_stalks - 0.5).abs() < 1e-12 && (of_leaves - 0.5).abs() < 1e-12);
    }

    #[test]
    fn before_any_proof_only_three_groups_that_agree_go_beyond_nine_in_ten() {
        let table = Table::start();
        for expected_permille in [None, Some(10), Some(990)] {
            let situation = Situation { expected_permille, ..all_there() };
            let mut far = 0;
            for answers in every_combination() {
                let reading = read_without_asking(&table, &situation, &answers);
                // Groups in which some answer speaks for the side: the rule may only be stricter.
                let groups_for = |side: f64| {
                    let speaks = answers.iter().filter(|answered| table.weight(**answered).log_ratio * side > 0.0);
                    speaks.map(|answered| answered.0.group()).collect::<std::collections::BTreeSet<_>>().len()
                };
                assert!(reading <= 900 || groups_for(1.0) >= 3, "{answers:?} {reading}");
                assert!(reading >= 100 || groups_for(-1.0) >= 3, "{answers:?} {reading}");
                far += usize::from(!(100..=900).contains(&reading));
            }
            assert!(far > 0);
        }
    }

    fn read_without_asking(table: &Table, situation: &Situation, answers: &[Answered]) -> u32 {
        let odds = with_prior(situation, log_odds_of(table, situation, answers));
        let [least, most] = bounds(table, odds);
        ((logistic(moderated(odds)) * 1000.0).round() as u32).clamp(least, most)
    }

    /// The question that tells most, worked out another way: by what is left unknown of each answer's shoots.
    fn best_by_listing(table: &Table, situation: &Situation, answers: &[Answered]) -> Option<Character> {
        let now = chance(table, situation, answers);
        let unknown = |character: Character| {
            let each = character.choices().iter().map(|choice| {
                let (stalk, leaf) = table.shares((character, *choice));
                let with = [answers, &[(character, *choice)]].concat();
                let after = chance(table, situation, &with);
                let surprise = -(after * after.log2() + (1.0 - after) * (1.0 - after).log2());
                (now * stalk + (1.0 - now) * leaf) * surprise
            });
            each.sum::<f64>()
        };
        let asked = |c: &Character| answers.iter().any(|(known, _)| known == c);
        let left = Character::ALL.iter().copied().filter(|c| situation.allows(*c) && !asked(c));
        left.min_by(|a, b| unknown(*a).total_cmp(&unknown(*b)))
    }

    #[test]
    fn the_question_asked_is_the_best_of_all_and_none_is_asked_when_none_can_change_the_call() {
        let table = Table::start();
        let situation = all_there();
        let combinations = every_combination();
        let mut stopped_early = 0;
        for answers in combinations.iter().step_by(7) {
            let next = next_question(&table, &situation, answers);
            let best = best_by_listing(&table, &situation, answers);
            let side = |answers: &[Answered]| lean(chance_permille(&table, &situation, answers)).side();
            let more = combinations.iter().filter(|other| answers.iter().all(|answer| other.contains(answer)));
            let mut sides: Vec<_> = more.map(|other| side(other)).collect();
            sides.dedup();
            match next {
                Some(_) => assert_eq!(next, best, "{answers:?}"),
                None => assert_eq!(sides.len(), 1, "{answers:?}"),
            }
            assert_eq!(next.is_some(), sides.len() > 1, "{answers:?}");
            stopped_early += usize::from(next.is_none() && best.is_some());
        }
        assert!(stopped_early > 0);
    }

    #[test]
    fn what_is_expected_of_the_bulb_counts_and_is_bounded() {
        let with = |expected_permille| of(&Situation { expected_permille, ..all_there() }, &[]).stalk_permille;
        assert_eq!(with(None), 500);
        assert!(with(Some(300)) < 500 && with(Some(700)) > 500);
        assert_eq!(with(Some(0)), with(Some(150)));
        assert_eq!(with(Some(1000)), with(Some(850)));
    }

    #[test]
    fn a_range_stands_beside_the_chance_and_narrows_with_proofs() {
        let answers = [(Character::Rise, Choice::Beside), (Character::Thickness, Choice::Thick)];
        let start = of(&all_there(), &answers);
        let (low, high) = start.range_permille;
        assert!(low < start.stalk_permille && start.stalk_permille < high && !start.number_is_told);
        let proved = super::super::simulate::shoots(&super::super::simulate::World::like(&Table::start()), 40, 3);
        let learned = read(&Table::learned(&proved), &all_there(), &answers, day()).unwrap();
        assert!(learned.number_is_told);
        assert!(learned.range_permille.1 - learned.range_permille.0 < high - low, "{learned:?} {start:?}");
    }

    #[test]
    fn what_would_settle_it_are_answers_that_alone_make_it_lean_strongly() {
        let reading = of(&all_there(), &[(Character::Thickness, Choice::Thick)]);
        assert!(reading.settled_by.contains(&(Character::Growth, Choice::Fast)), "{reading:?}");
        for answered in &reading.settled_by {
            let with = of(&all_there(), &[(Character::Thickness, Choice::Thick), *answered]);
            let (Lean::LeansStalk(how) | Lean::LeansLeaf(how)) = with.lean else { panic!("{with:?}") };
            assert_eq!(how, Strength::Strongly);
        }
    }

    proptest! {
        #[test]
        fn the_chance_stays_within_bounds_and_the_order_of_asking_does_not_matter(
            answers in some_answers(), leaves_show: bool, days in proptest::option::of(0..9_i64),
            height_mm in proptest::option::of(0..300_u32),
        ) {
            let situation = Situation { leaves_show, height_mm, days_since_first_look: days, ..Situation::default() };
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
            let situation = all_there();
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
