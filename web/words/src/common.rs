//! What every part says: plurals, names, grades of advice, the four places at the foot.

use bloomdue_core::calendar::Date;

use crate::dates::week;
use crate::formats::{self, length, lengths};
use crate::route::Room;

labels! {
    done_here = "Done …";
    /// A part of the program is on its way.
    coming = "One moment …";
    /// The button beside it.
    try_again = "Try again";
    undo = "Undo";
    digits_only = "Type digits only.";
    save = "Save";
}

/// A core error as a sentence: a capital first, a stop last, the field's name left to the field.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

pub fn taken_back(what: &str) -> String {
    format!("Taken back: {what}")
}

/// `3 bulbs`, `1 bulb`.
pub fn plural(n: usize, one: &str, many: &str) -> String {
    format!("{} {}", formats::whole(n as i64), if n == 1 { one } else { many })
}

/// A name that the grower gave, inside a sentence.
pub fn quoted(name: &str) -> String {
    format!("“{name}”")
}

/// Names inside a sentence: `“8 weeks”, “10 weeks” and “12 weeks”`.
pub fn quoted_all(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

pub fn bulbs(n: usize) -> String {
    plural(n, "bulb", "bulbs")
}

/// A circumference that is one value or a grade.
pub fn circumference((low, high): (i64, i64)) -> String {
    if low == high { length(low) } else { lengths(low, high) }
}

pub fn room(room: Room) -> &'static str {
    match room {
        Room::Due => "Due",
        Room::Places => "Places",
        Room::Trials => "Trials",
        Room::Files => "Files",
    }
}

pub fn places_word() -> &'static str {
    room(Room::Places)
}

pub fn nursery_and_week(name: &str, today: Date) -> String {
    if name.is_empty() { week(today) } else { format!("{name} · {}", week(today)) }
}

/// `first try`, `second try`.
pub fn ordinal_try(ordinal: u32) -> String {
    match ordinal {
        1 => "first try".to_owned(),
        2 => "second try".to_owned(),
        3 => "third try".to_owned(),
        4 => "fourth try".to_owned(),
        5 => "fifth try".to_owned(),
        n => format!("try {n}"),
    }
}

/// Where a number of advice comes from; it stands beside the number.
pub fn grade(source: bloomdue_core::source::Source) -> &'static str {
    use bloomdue_core::source::Source;
    match source {
        Source::Trial => "trial",
        Source::ExtensionService => "extension service",
        Source::TradePage => "trade page",
        Source::SingleReport => "single report",
        Source::CommonPractice => "common practice, no source",
    }
}
/// A piece of a message: words as they stand, and the name of the part that follows them, if one does.
pub type Slot = (&'static str, Option<&'static str>);

/// A message with parts in braces, in the order in which its language puts them.
pub fn slots(message: &'static str) -> Vec<Slot> {
    let pieces = message.split('}').map(|piece| match piece.split_once('{') {
        Some((text, part)) => (text, Some(part)),
        None => (piece, None),
    });
    pieces.filter(|piece| *piece != ("", None)).collect()
}
