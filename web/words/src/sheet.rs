//! Words of the walk sheet on paper and of typing it in.

use bloomdue_core::nursery::walk::{self, Marked, SheetEnd};

use crate::acts::answer;
use crate::common::bulbs;

labels! {
    print = "Print";
    fill_in = "Day: ____________   By: ________   Mark one box a bulb; leave the row empty when it was not looked at.";
    bulb = "Bulb";
    group = "Group";
    labelled = "Labelled";
    nowhere = "Not here any more";
    back_to_try = "Back to the try";
    groups_fill_in = "each bulb where it stands on the bench. Tick it when its label is in.";
    last_seen = "Last seen";
    how_to_type_in = "Afterwards: Places, this place, Type a walk sheet in.";
    type_in_under = "Bulbs stand in the order of the sheet. The answers are those of its day: choose the day first.";
    none_then = "No bulb stood here on that day.";
    day_of_walk = "Day of the walk";
    choose_day = "Choose the day on which the walk was.";
    not_looked_at = "not looked at";
    by_keys = "Up, down and Enter change the row. A number answers and goes on. Delete empties.";
    rest_same = "All others: same as before";
}

/// Boxes of the sheet, left to right.
pub const COLUMNS: [&str; 10] = [
    "same",
    "more leaves",
    "shoot, not sure",
    "stalk",
    "sheath split",
    "flower open",
    "fading",
    "blind",
    "died",
    "missing",
];

/// Keys of the first columns of a sheet typed in as a table.
pub const KEYS: [&str; 10] = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"];

/// Columns of a sheet typed in as a table, as core has them.
pub const TABLE: [&str; walk::COLUMNS.len()] = [
    "same",
    "more leaves",
    "shoot?",
    "stalk",
    "higher",
    "sheath split",
    "flower",
    "fading",
    "over",
    "blind",
    "died",
    "missing",
];

/// A box of a bulb's row, for a screen reader.
pub fn marked_for(bulb: &str, box_of: Marked) -> String {
    format!("{bulb}: {}", marked(box_of))
}

/// A box that may be marked, as typing in offers it.
pub fn marked(marked: Marked) -> &'static str {
    match marked {
        Marked::Answer(given) => answer(given),
        Marked::End(SheetEnd::Blind) => "Blind: no stalk comes",
        Marked::End(SheetEnd::Died) => "Died",
        Marked::End(SheetEnd::Missing) => "Missing",
    }
}

pub fn title(place: &str) -> String {
    format!("Walk sheet: {place}")
}

pub fn typed_in(n: usize) -> String {
    format!("Typed in: {}", bulbs(n))
}
