//! Words of the page to hand round.

use bloomdue_core::trial::pictures::{PhotoDay, Picture};

use crate::common::{Slot, bulbs, plural, slots};

labels! {
    title = "Show it";
    under = "One page to hand round: the question, the counts, the sentence, and what is not known.";
    as_written = "The question and the names of groups are shown as you wrote them.";
    with_it = "Named on the page";
    with_nursery = "The nursery's name";
    with_places = "Where the groups stood, and what the due day is for";
    with_persons = "Who looked";
    with_bulbs = "Tags and names of the bulbs on photos";
    photos_label = "Photos";
    no_photos = "no photos";
    chosen_by_lot = "The first of each group in the order in which lots were drawn, not the best-looking.";
    counts = "The counts";
    form_label = "As";
    as_picture = "a picture";
    as_file = "a page for any browser";
    make = "Make it";
    making = "Making it …";
    /// What the file is called after where the try has no name.
    file_of = "try";
    too_long =
        "This page is too long for one picture. Leave photos or places out, or make it a page to open in a browser.";
}

/// How the page is made: its parts can be changed where they stand.
pub fn made_as() -> Vec<Slot> {
    slots("Made as {form}, with {photos}. Named on it: {named}.")
}

/// What is named on the page besides the try and its groups.
pub fn named(chosen: &[&str]) -> String {
    if chosen.is_empty() { "nobody and no place".to_owned() } else { chosen.join(", ").to_lowercase() }
}

/// A day to choose: `day 84, 2 groups`.
pub fn photo_day(day: &PhotoDay) -> String {
    format!("day {}, {}", day.day_of_try, plural(day.n_groups(), "group", "groups"))
}

pub fn photos_head(day: &PhotoDay) -> String {
    format!("Day {} of the try", day.day_of_try)
}

/// Under a photo: its bulb where that was chosen, its own day where it is another, and whether it is a drawing.
pub fn caption(picture: &Picture, day: &PhotoDay, bulb: Option<&str>) -> String {
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
pub fn group_without(name: &str) -> String {
    format!("{name}: no photo of these days")
}

/// The line at the foot.
pub fn foot(n: usize) -> String {
    format!("{} in all. Made with Bloomdue from this nursery's own records.", bulbs(n))
}

pub fn from_nursery(name: &str) -> String {
    format!("Nursery: {name}")
}

pub fn who_looked(names: &[String]) -> String {
    format!("Looked at by {}", names.join(", "))
}
