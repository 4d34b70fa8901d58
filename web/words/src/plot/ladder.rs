//! How often at least so many bulbs come: a step a number, falling; the numbers asked for and counted on are named below.

use bloomdue_core::plan::Plan;

use super::percent;
use crate::plan as say;

/// Height of the steps in px; their text keeps its size, so the width is in parts of the whole.
pub const HEIGHT: f64 = 84.0;
/// Where the names below the steps stand.
pub const NUMBERS_Y: f64 = HEIGHT + 18.0;
/// Where the words below the numbers stand.
pub const WORDS_Y: f64 = HEIGHT + 35.0;

/// Below this chance, and above its counterpart, steps say nothing more.
const FLAT: f64 = 0.005;
/// Numbers below the steps are at least so far apart, as a part of the width.
const APART: f64 = 0.075;
/// Words below the numbers need this much.
const WORDS_APART: f64 = 0.16;

/// One step.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its left end.
    pub x: String,
    /// Its width.
    pub width: String,
    /// Its top, in px from above.
    pub y: f64,
    /// Its height in px.
    pub height: f64,
    /// Whether its number can be counted on.
    pub sure: bool,
}

/// A word below the steps: where, how it is anchored there, and what it says.
pub type Word = (String, &'static str, String);

/// The picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// From few to many.
    pub steps: Vec<Step>,
    /// Height of the line of what was asked, in px from above.
    pub assurance_y: f64,
    /// Numbers of bulbs.
    pub numbers: Vec<Word>,
    /// What the numbers asked for and counted on are.
    pub words: Vec<Word>,
}

/// The ladder of a plan; nothing where it has too few steps to see.
pub fn ladder(plan: &Plan, wanted: u32, assurance: f64) -> Option<Ladder> {
    let shown = shown(&plan.ladder, |k| k == wanted || k == plan.assured);
    if shown.len() < 2 {
        return None;
    }
    let each = 1.0 / shown.len() as f64;
    let middle = |at: usize| (at as f64 + 0.5) * each;
    let steps = shown.iter().enumerate().map(|(at, (k, chance))| {
        let height = HEIGHT * chance.clamp(0.0, 1.0);
        Step {
            x: percent(each * (at as f64 + 0.06)),
            width: percent(each * 0.88),
            y: HEIGHT - height,
            height,
            sure: *k <= plan.assured,
        }
    });
    let place = |k: u32| shown.iter().position(|(known, _)| *known == k).map(middle);
    let asked = place(wanted).map(|x| (x, say::asked_mark()));
    let sure = place(plan.assured).filter(|_| plan.assured != wanted).map(|x| (x, say::sure_mark()));
    // What was asked has its number in any case; the others where there is room.
    let told = [wanted, plan.assured].into_iter().filter_map(|k| shown.iter().position(|(known, _)| *known == k));
    let mut numbers: Vec<(f64, u32)> = Vec::new();
    for at in told.chain([0, shown.len() - 1]).chain(0..shown.len()) {
        let x = middle(at);
        if numbers.iter().all(|(known, _)| (known - x).abs() >= APART - 1e-9) {
            numbers.push((x, shown[at].0));
        }
    }
    numbers.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(Ladder {
        steps: steps.collect(),
        assurance_y: HEIGHT * (1.0 - assurance),
        numbers: numbers.into_iter().map(|(x, k)| (percent(x), "middle", k.to_string())).collect(),
        words: words(asked, sure),
    })
}

/// Without what stands flat at either end.
fn shown(ladder: &[(u32, f64)], told: impl Fn(u32) -> bool) -> &[(u32, f64)] {
    let is_telling = |(k, chance): &(u32, f64)| told(*k) || (FLAT..=1.0 - FLAT).contains(chance);
    let Some(first) = ladder.iter().position(is_telling) else {
        return &[];
    };
    let last = ladder.iter().rposition(is_telling).unwrap_or(first);
    &ladder[first.saturating_sub(1)..ladder.len().min(last + 2)]
}

/// Where a word points to, as a part of the width, and the word.
type Told = Option<(f64, &'static str)>;

/// Two words that are near each other lean apart.
fn words(asked: Told, sure: Told) -> Vec<Word> {
    let anchor = |x: f64, other: Option<f64>| match other {
        Some(other) if (other - x).abs() < WORDS_APART && x < other => "end",
        Some(other) if (other - x).abs() < WORDS_APART => "start",
        _ => "middle",
    };
    // What stands near an end leans inwards.
    let inwards = |x: f64, anchor: &'static str| match anchor {
        "middle" | "end" if x < WORDS_APART / 2.0 => "start",
        "middle" | "start" if x > 1.0 - WORDS_APART / 2.0 => "end",
        anchor => anchor,
    };
    let pairs = [(asked, sure), (sure, asked)];
    let word = |(one, other): (Told, Told)| {
        let (x, words) = one?;
        let anchor = inwards(x, anchor(x, other.map(|(x, _)| x)));
        Some((percent(x), anchor, words.to_owned()))
    };
    pairs.into_iter().filter_map(word).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(ladder: Vec<(u32, f64)>, assured: u32) -> Plan {
        Plan {
            from_published: false,
            met: true,
            to_start: ladder.last().map_or(0, |(k, _)| *k),
            chance: 0.9,
            assured,
            ladder,
            lots: Vec::new(),
            moved: Vec::new(),
            nearest: Vec::new(),
        }
    }

    #[test]
    fn steps_fall_and_name_what_is_asked_and_what_is_sure() {
        let plan = plan((1..=13).map(|k| (k, 1.0 - f64::from(k) / 20.0)).collect(), 4);
        let ladder = ladder(&plan, 9, 0.8).expect("a picture");
        assert_eq!(ladder.steps.len(), 13);
        assert!(ladder.steps.is_sorted_by(|a, b| a.height > b.height && a.y < b.y));
        assert_eq!(ladder.steps.iter().filter(|step| step.sure).count(), 4);
        assert_eq!(ladder.numbers.len(), 13);
        let words: Vec<_> = ladder.words.iter().map(|(_, anchor, words)| (*anchor, words.as_str())).collect();
        assert_eq!(words, [("middle", "asked"), ("middle", "sure")]);
        assert!((ladder.assurance_y - 0.2 * HEIGHT).abs() < 1e-9);
    }

    #[test]
    fn flat_ends_are_cut_and_near_words_lean_apart() {
        let chance = |k: u32| match k {
            ..=17 => 1.0,
            18 => 0.99,
            19 => 0.9,
            20 => 0.4,
            21 => 0.1,
            _ => 0.0,
        };
        let plan = plan((1..=40).map(|k| (k, chance(k))).collect(), 19);
        let ladder = ladder(&plan, 20, 0.9).expect("a picture");
        let numbers: Vec<&str> = ladder.numbers.iter().map(|(.., k)| k.as_str()).collect();
        assert_eq!(numbers, ["17", "18", "19", "20", "21", "22"]);
        let words: Vec<_> = ladder.words.iter().map(|(_, anchor, words)| (*anchor, words.as_str())).collect();
        assert_eq!(words, [("middle", "asked"), ("middle", "sure")], "a step apart is room enough here");
        let thirty: Vec<_> = (1..=30).map(|k| (k, 1.0 - f64::from(k) / 31.0)).collect();
        let ladder = super::ladder(&self::plan(thirty, 15), 16, 0.5).expect("a picture");
        let words: Vec<_> = ladder.words.iter().map(|(_, anchor, words)| (*anchor, words.as_str())).collect();
        assert_eq!(words, [("start", "asked"), ("end", "sure")]);
        assert!(ladder.numbers.len() < 16, "{:?}", ladder.numbers);
    }

    #[test]
    fn one_bulb_has_no_ladder() {
        assert_eq!(ladder(&plan(vec![(1, 0.5)], 0), 1, 0.9), None);
        assert_eq!(ladder(&plan(Vec::new(), 0), 1, 0.9), None);
    }
}
