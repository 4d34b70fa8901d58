//! Words of what all tries of a trial say together.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::Said;
use bloomdue_core::evidence::verdict::Strength;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::tries::{ForestRow, NextTry, NotCounted, PairOverTries, Scope, Try};

use super::en::{self, ordinal_try, plural};
use super::results::{in_ten_times, of_ten, two};
use super::trials::{no_test, upper_first};
use crate::parts::plots::table::Table;

pub(crate) fn title() -> &'static str {
    "What all tries say"
}

pub(crate) fn all_they_say() -> &'static str {
    "All that the tries say"
}

pub(crate) fn no_try_counts() -> &'static str {
    "No try counts yet: none is over with everything decided."
}

/// `3 tries`.
fn tries(n: usize) -> String {
    plural(n, "try", "tries")
}

/// What all tries say of two groups; the pair comes with the group ahead first.
pub(crate) fn sentence(pair: &PairOverTries, state: &State) -> String {
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    let Some(decided) = &pair.decided else {
        return format!("{}: no try that counts compares them.", two(a, b));
    };
    let gap = decided.compared.gap;
    let spread = match gap.interval {
        Ok(interval) => format!(", anything from {} to {}", of_ten(interval.lower), of_ten(interval.upper)),
        Err(_) => String::new(),
    };
    let strength = match decided.verdict.strength {
        Strength::ToldApart => "They are told apart.",
        Strength::OnTheEdge => "On the edge.",
        Strength::TooFewToTell => "Too few to tell.",
    };
    let counted = match pair.forest.len() {
        1 => "One try".to_owned(),
        n => format!("{} together", upper_first(&tries(n))),
    };
    format!("{counted}: of ten bulbs {a} brought {} into time than {b}{spread}. {strength}", of_ten(gap.difference))
}

pub(crate) fn forest_title() -> &'static str {
    "Try by try"
}

/// Which way the picture is to be read.
pub(crate) fn forest_hint(pair: &PairOverTries, state: &State) -> String {
    format!(
        "Of ten bulbs, so many more came in time (to the right) or fewer (to the left) with {} than with {}.",
        state.name_of(pair.a),
        state.name_of(pair.b)
    )
}

pub(crate) fn all_tries() -> &'static str {
    "all tries"
}

pub(crate) fn next_try() -> &'static str {
    "next try"
}

pub(crate) fn forest_table(pair: &PairOverTries, next: Option<&NextTry>, state: &State) -> Table {
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
            "95 times in 100".to_owned(),
        ],
        rows,
    }
}

pub(crate) fn next_title() -> &'static str {
    "What to expect of the next try"
}

/// The prediction for the next try, as a sentence.
pub(crate) fn prediction(next: Said<NextTry>, pair: &PairOverTries, state: &State) -> String {
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    match next {
        Ok(next) => format!(
            "In a next try like these {a} would be ahead of {b} {}; of ten bulbs it would bring anything from {} to {}.",
            in_ten_times(next.a_ahead),
            of_ten(next.lower),
            of_ten(next.upper)
        ),
        Err(why) => super::results::cannot(why),
    }
}

/// `first try, class 2`.
pub(crate) fn class_of_try(ordinal: u32, block: u32) -> String {
    format!("{}, {}", ordinal_try(ordinal), super::results::size_class(block))
}

pub(crate) fn reach_title() -> &'static str {
    "How far it reaches"
}

pub(crate) fn scope(scope: Scope) -> String {
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
pub(crate) fn kind_of_place(pair: &PairOverTries, scope: Scope, state: &State) -> Option<String> {
    if !matches!(scope, Scope::ThesePlaces { .. }) {
        return None;
    }
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    Some(match pair.kind_of_place {
        Ok(found) => format!(
            "As for the kind of place, with the try as the unit: of ten bulbs {a} brought {} than {b} on average; by sign flips (Fisher 1935) p = {:.3}, and so many tries cannot reach less than {:.3}.",
            of_ten(found.mean),
            found.p,
            found.smallest_p
        ),
        Err(_) => "A claim about the kind of place takes at least 3 tries that count.".to_owned(),
    })
}

pub(crate) fn not_counted_title() -> &'static str {
    "Tries that do not count here"
}

/// Why a try does not count.
pub(crate) fn not_counted(one: &Try, why: NotCounted, state: &State, today: Date) -> String {
    let why = match why {
        NotCounted::Waiting => "something is still waiting.".to_owned(),
        NotCounted::CantSay => "something can't be said.".to_owned(),
        NotCounted::OtherRule => "what counts is not the same as in the first try that does.".to_owned(),
        NotCounted::NoTest(why) => no_test(why, state, today),
    };
    format!("{} ({}): {why}", upper_first(&ordinal_try(one.ordinal)), en::date_short(one.start, today))
}

pub(crate) fn factors_title() -> &'static str {
    "What differs, one thing at a time"
}
