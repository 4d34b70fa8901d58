//! Words of the page to hand round.

use bloomdue_core::trial::pictures::{PhotoDay, Picture};

use super::en::{bulbs, plural};

pub(crate) fn title() -> &'static str {
    "Show it"
}

pub(crate) fn under() -> &'static str {
    "One page to hand round: the question, the counts, the sentence, and what is not known."
}

pub(crate) fn as_written() -> &'static str {
    "The question and the names of groups are shown as you wrote them."
}

pub(crate) fn with_it() -> &'static str {
    "Also on the page"
}

pub(crate) fn with_nursery() -> &'static str {
    "The nursery's name"
}

pub(crate) fn with_places() -> &'static str {
    "Where the groups stood, and what the due day is for"
}

pub(crate) fn with_persons() -> &'static str {
    "Who looked"
}

pub(crate) fn with_bulbs() -> &'static str {
    "Tags and names of the bulbs on photos"
}

pub(crate) fn photos_label() -> &'static str {
    "Photos"
}

/// A day to choose: `day 84, 2 groups`.
pub(crate) fn photo_day(day: &PhotoDay) -> String {
    format!("day {}, {}", day.day_of_try, plural(day.n_groups(), "group", "groups"))
}

pub(crate) fn no_photos() -> &'static str {
    "none"
}

pub(crate) fn photos_head(day: &PhotoDay) -> String {
    format!("Day {} of the try", day.day_of_try)
}

/// Under a photo: its bulb where that was chosen, its own day where it is another, and whether it is a drawing.
pub(crate) fn caption(picture: &Picture, day: &PhotoDay, bulb: Option<&str>) -> String {
    let mut parts: Vec<String> = bulb.map(str::to_owned).into_iter().collect();
    let off = day.on.days_until(picture.on);
    if off != 0 {
        parts.push(format!("day {}", day.day_of_try + off));
    }
    if picture.photo.drawn {
        parts.push("a drawing in place of a photo".to_owned());
    }
    parts.join(" · ")
}

/// A group without a photo of that day.
pub(crate) fn group_without(name: &str) -> String {
    format!("{name}: no photo of these days")
}

pub(crate) fn chosen_by_lot() -> &'static str {
    "The first of each group in the order in which lots were drawn, not the best-looking."
}

/// The line at the foot.
pub(crate) fn foot(n: usize) -> String {
    format!("{} in all. Made with Bloomdue from this nursery's own records.", bulbs(n))
}

pub(crate) fn from_nursery(name: &str) -> String {
    format!("Nursery: {name}")
}

pub(crate) fn who_looked(names: &[String]) -> String {
    format!("Looked at by {}", names.join(", "))
}

pub(crate) fn counts() -> &'static str {
    "The counts"
}

pub(crate) fn form_label() -> &'static str {
    "As"
}

pub(crate) fn as_picture() -> &'static str {
    "a picture"
}

pub(crate) fn as_file() -> &'static str {
    "a page for any browser"
}

pub(crate) fn make() -> &'static str {
    "Make it"
}

pub(crate) fn making() -> &'static str {
    "Making it …"
}

pub(crate) fn preview() -> &'static str {
    "What it will say"
}

/// What the file is called after where the try has no name.
pub(crate) fn file_of() -> &'static str {
    "try"
}

pub(crate) fn too_long() -> &'static str {
    "This page is too long for one picture. Leave photos or places out, or make it a page to open in a browser."
}
