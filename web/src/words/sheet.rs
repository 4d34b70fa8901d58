//! Words of the walk sheet on paper and of typing it in.

use super::en::bulbs;

/// Boxes of the sheet, left to right.
pub(crate) const COLUMNS: [&str; 7] =
    ["same", "more leaves", "shoot, not sure", "stalk", "sheath split", "flower open", "fading"];

pub(crate) fn print() -> &'static str {
    "Print"
}

pub(crate) fn title(place: &str) -> String {
    format!("Walk sheet: {place}")
}

pub(crate) fn fill_in() -> &'static str {
    "Day: ____________   By: ________   Mark one box a bulb; leave the row empty when it was not looked at."
}

pub(crate) fn bulb() -> &'static str {
    "Bulb"
}

pub(crate) fn group() -> &'static str {
    "Group"
}

pub(crate) fn labelled() -> &'static str {
    "Labelled"
}

pub(crate) fn nowhere() -> &'static str {
    "Not here any more"
}

pub(crate) fn back_to_try() -> &'static str {
    "Back to the try"
}

pub(crate) fn groups_fill_in() -> &'static str {
    "each bulb where it stands on the bench. Tick it when its label is in."
}

pub(crate) fn last_seen() -> &'static str {
    "Last seen"
}

pub(crate) fn how_to_type_in() -> &'static str {
    "Afterwards: Places, this place, Type a walk sheet in."
}

pub(crate) fn type_in_under() -> &'static str {
    "Bulbs stand in the order of the sheet. The answers are those of its day: choose the day first."
}

pub(crate) fn none_then() -> &'static str {
    "No bulb stood here on that day."
}

pub(crate) fn day_of_walk() -> &'static str {
    "Day of the walk"
}

pub(crate) fn choose_day() -> &'static str {
    "Choose the day on which the walk was."
}

pub(crate) fn not_looked_at() -> &'static str {
    "not looked at"
}

pub(crate) fn rest_same() -> &'static str {
    "All others: same as before"
}

pub(crate) fn typed_in(n: usize) -> String {
    format!("Typed in: looks at {}", bulbs(n))
}
