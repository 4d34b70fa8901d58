//! Words of what all tries of a trial say together.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::verdict::Strength;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::tries::{ForestRow, NextTry, NotCounted, PairOverTries, Scope, Try};

use crate::common::{ordinal_try, plural, quoted, quoted_all};
use crate::dates::date_short;
use crate::formats::decimal;
use crate::results::{in_ten_times, of_ten, two};
use crate::table::Table;
use crate::trials::{no_test, tens, than, upper_first};

labels! {
    title = "What all tries say";
    tries_by_bulbs = "Each try, a mark a bulb";
    no_try_counts = "No try counts yet: none is over with everything decided.";
    forest_title = "Try by try";
    forest_key = "Mark: so many more in ten. Line: 19 times in 20. At right: bulbs.";
    all_tries = "all tries";
    next_try = "next try";
    next_title = "What to expect of the next try";
    reach_title = "How far it reaches";
    not_counted_title = "Tries that do not count here";
    factors_title = "What differs, one thing at a time";
}

/// `3 tries`.
fn tries(n: usize) -> String {
    plural(n, "try", "tries")
}

/// Under the question: how many of its tries count.
pub fn n_that_count(n: usize, of: usize) -> String {
    format!("{n} of {} counted", tries(of))
}

/// What all tries say of two groups; the pair comes with the group ahead first.
pub fn sentence(pair: &PairOverTries, state: &State) -> String {
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    let Some(decided) = &pair.decided else {
        return format!("{}: no try that counts compares them.", quoted_all(&[a, b]));
    };
    let (a, b) = (quoted(a), quoted(b));
    let gap = decided.compared.gap;
    let spread = match gap.interval {
        Ok(interval) => format!(", anything from {} to {}", of_ten(interval.lower), of_ten(interval.upper)),
        Err(_) => String::new(),
    };
    let strength = match decided.verdict.strength {
        Strength::ToldApart => "Over all tries they are told apart.",
        Strength::OnTheEdge => "On the edge.",
        Strength::TooFewToTell => "Too few to tell.",
    };
    let counted = match pair.forest.len() {
        1 => "One try".to_owned(),
        n => format!("{} together", upper_first(&tries(n))),
    };
    format!(
        "{counted}: of ten bulbs {a} brought {} into time {} {b}{spread}. {strength}",
        of_ten(gap.difference),
        than(tens(gap.difference))
    )
}

/// At the side of the picture on which a group is ahead.
pub fn more_with(name: &str) -> String {
    format!("more with {}", quoted(name))
}

pub fn forest_table(pair: &PairOverTries, next: Option<&NextTry>, state: &State) -> Table {
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    let interval = |lower: f64, upper: f64| format!("{} to {}", of_ten(lower), of_ten(upper));
    let row = |row: &ForestRow| {
        vec![
            ordinal_try(row.ordinal),
            format!("{} of {}", row.a.reached(), row.a.of()),
            format!("{} of {}", row.b.reached(), row.b.of()),
            of_ten(row.gap.difference),
            row.gap.interval.map_or_else(|_| "–".to_owned(), |found| interval(found.lower, found.upper)),
        ]
    };
    let mut rows: Vec<Vec<String>> = pair.forest.iter().map(row).collect();
    if let Some(decided) = &pair.decided {
        let gap = decided.compared.gap;
        rows.push(vec![
            all_tries().to_owned(),
            String::new(),
            String::new(),
            of_ten(gap.difference),
            gap.interval.map_or_else(|_| "–".to_owned(), |found| interval(found.lower, found.upper)),
        ]);
    }
    if let Some(next) = next {
        rows.push(vec![
            next_try().to_owned(),
            String::new(),
            String::new(),
            of_ten(next.median),
            interval(next.lower, next.upper),
        ]);
    }
    Table {
        caption: format!("{}: try by try in a table", two(a, b)),
        heads: vec![
            "Try".to_owned(),
            format!("{a} in time"),
            format!("{b} in time"),
            "Of ten bulbs".to_owned(),
            "19 times in 20".to_owned(),
        ],
        rows,
    }
}

/// The prediction for the next try, as a sentence.
pub fn prediction(next: bloomdue_core::evidence::Result<NextTry>, pair: &PairOverTries, state: &State) -> String {
    let (a, b) = (quoted(state.name_of(pair.a)), quoted(state.name_of(pair.b)));
    match next {
        Ok(next) => format!(
            "In a next try like these {a} would be ahead of {b} {}; of ten bulbs it would bring anything from {} to {}.",
            in_ten_times(next.a_ahead),
            of_ten(next.lower),
            of_ten(next.upper)
        ),
        Err(why) => crate::results::cannot(why),
    }
}

/// `first try, class 2`.
pub fn class_of_try(ordinal: u32, block: u32) -> String {
    format!("{}, {}", ordinal_try(ordinal), crate::results::size_class(block))
}

pub fn scope(scope: Scope) -> String {
    match scope {
        Scope::TheseTries { n_tries: 0 } | Scope::ThesePlaces { n_tries: 0 } => no_try_counts().to_owned(),
        Scope::TheseTries { n_tries: 1 } => {
            "This one try, in this nursery and its season. Another one may come out differently.".to_owned()
        }
        Scope::TheseTries { n_tries } => {
            format!("These {}, in this nursery and their seasons.", tries(n_tries))
        }
        Scope::ThesePlaces { n_tries } => format!(
            "In these very places, {}; one place each, so the place itself may have made the difference. Next time swap the places, or split the groups.",
            if n_tries == 1 { "this time".to_owned() } else { format!("these {} times", n_tries) }
        ),
    }
}

/// What may be said of the kind of place; nothing where places are not what differs.
pub fn kind_of_place(pair: &PairOverTries, scope: Scope, state: &State) -> Option<String> {
    if !matches!(scope, Scope::ThesePlaces { .. }) {
        return None;
    }
    let (a, b) = (quoted(state.name_of(pair.a)), quoted(state.name_of(pair.b)));
    Some(match pair.kind_of_place {
        Ok(found) => format!(
            "As for the kind of place, with the try as the unit: of ten bulbs {a} brought {} {} {b} on average; by sign flips (Fisher 1935) p = {}, and so many tries cannot reach less than {}.",
            of_ten(found.mean),
            than(tens(found.mean)),
            decimal(found.p, 3),
            decimal(found.smallest_p, 3)
        ),
        Err(_) => "A claim about the kind of place takes at least 3 tries that count.".to_owned(),
    })
}

/// Why a try does not count.
pub fn not_counted(one: &Try, why: NotCounted, state: &State, today: Date) -> String {
    let is_closed = state.runs.get(&one.run).is_some_and(|run| run.closed.is_some());
    let why = match why {
        NotCounted::Waiting if is_closed => "it was closed before everything was decided.".to_owned(),
        NotCounted::Waiting => "something is still waiting.".to_owned(),
        NotCounted::CantSay => "something can't be said.".to_owned(),
        NotCounted::OtherRule => "what counts is not the same as in the first try that does.".to_owned(),
        NotCounted::NoTest(why) => no_test(why, state, today),
    };
    format!("{} ({}): {why}", upper_first(&ordinal_try(one.ordinal)), date_short(one.start, today))
}
