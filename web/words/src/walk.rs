//! The walk: what stands at a bulb beside the answers, and what is said at its end.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::after_walk::Ended;
use bloomdue_core::nursery::walk::{Answer, Mishap, before};
use bloomdue_core::nursery::{Bulb, State};

use crate::acts::{answer, look};
use crate::common::{bulbs, circumference, plural, sentence};
use crate::dates::{date_long, date_short, days_away};
use crate::same::grouped;

labels! {
    leave = "Leave";
    /// Opens what ends the walk.
    end = "End …";
    and_also = "And also";
    go_on = "Go on";
    trouble = "Trouble";
    stays_here = "Give a second answer here, then go on.";
    one_tap = "One tap saves the look and moves on.";
    looked_today = "A bulb already looked at today is not asked for again; open its page to add a look.";
    back_to_place = "Back to the place";
    to_due = "What else is due";
    photo = "Photo";
    closely = "Look closely";
    not_here = "Not here";
    at_the_end = "It comes later: put it at the end";
    nowhere = "Not found: missing";
    another_here = "Another one stands here";
    another_hint = "Tap the bulb that stands here; the order is mended. Any other: type part of its tag, name or lot.";
    another_typed = "A bulb from elsewhere";
    it_is_here = "It is here after all";
    fit_to_sell = "Fit to sell";
    /// The answers, for those who hear the screen.
    answers = "What does it show?";
    more_for_this = "More for this bulb";
    beside = "Bulbs beside it";
    /// The headings at a walk's end.
    new_today = "New today";
    look_again = "Look again";
    /// The heading of what may be wrong with a bulb.
    what_is_wrong = "What is wrong?";
    /// What an inspection may find, as a choice.
    soft_or_marked = "Soft, mould, marks";
    back_to_answers = "Back to the answers";
    not_found_yet = "No other bulb has that.";
    good_look = "What a good look is";
    key_answers = "answer";
    key_undo = "undo";
    key_beside = "bulb before, after";
}

/// What a good look is, a line each.
pub const fn good_look_lines() -> [&'static str; 3] {
    ["Look straight down into the neck.", "Look for stalks beside the leaves.", "Bend, touch and split nothing."]
}

/// What stands on a bulb's label: the grower's own name, or the tag in groups.
pub fn label(bulb: &Bulb) -> String {
    bulb.own_name.shown().cloned().unwrap_or_else(|| grouped(bulb.label()))
}

/// A mishap, as it stands on the button.
pub const fn mishap(mishap: Mishap) -> &'static str {
    match mishap {
        Mishap::StalkBroken => "Stalk broken",
        Mishap::BudDried => "Bud dried up",
        Mishap::Blind => "Blind: no stalk comes",
    }
}

pub fn befell(label: &str, what: Mishap) -> String {
    format!("{label}: {}", mishap(what).to_lowercase())
}

pub fn bulb_before(label: &str) -> String {
    format!("Bulb before: {label}")
}

pub fn bulb_after(label: &str) -> String {
    format!("Bulb after: {label}")
}

pub fn not_here_title(label: &str) -> String {
    format!("{label} does not stand here")
}

pub fn put_at_end(label: &str) -> String {
    format!("{label}: put at the end")
}

pub fn missed(label: &str) -> String {
    format!("{label}: missing")
}

pub fn put_here(label: &str) -> String {
    format!("{label}: put here")
}

pub fn marked_fit(label: &str) -> String {
    format!("{label}: fit to sell")
}

pub fn walked(label: &str, given: Answer) -> String {
    format!("{label}: {}", answer(given).to_lowercase())
}

pub fn walk_head(place: &str, at: usize, n: usize) -> String {
    format!("{place} · bulb {at} of {n}")
}

pub fn done_of(n_done: usize, n: usize) -> String {
    format!("{n_done} of {n} looked at")
}

/// Lot and size, beside the tag.
pub fn of_what(bulb: &Bulb, state: &State) -> String {
    let lot = bulb.lot.shown().map(|lot| state.name_of(*lot).to_owned());
    let size = bulb.circumference_mm.map(circumference);
    lot.into_iter().chain(size).collect::<Vec<_>>().join(" · ")
}

/// When it was looked at last, and what it showed.
pub fn last_look(bulb: &Bulb, today: Date) -> (String, String) {
    match bulb.last_look() {
        Some(seen) => {
            (format!("{}:", sentence(&days_away(seen.at.date(), today)).trim_end_matches('.')), look(&seen.look))
        }
        None => ("First look".to_owned(), String::new()),
    }
}

/// Why little is to be seen of it: it is blind, or lies at rest.
pub fn quiet_since(bulb: &Bulb, today: Date) -> Option<String> {
    let resting = || bulb.cycle().resting_since().map(|since| format!("at rest since {}", date_short(since, today)));
    crate::bulb::blind_since(bulb, today).or_else(resting)
}

/// What the likeliest answer says again, beside its words; a height is never said again.
pub fn as_before(bulb: &Bulb) -> String {
    let cycle = bulb.cycle();
    if cycle.looks.is_empty() { String::new() } else { look(&before(cycle, None)) }
}

pub fn all_others(n: usize) -> String {
    format!("I looked at all {n} still open: nothing new")
}

pub fn closed(n: usize) -> String {
    format!("{}: nothing new", bulbs(n))
}

/// How many were looked at, of so many that stand here; the others are blind and were not asked for.
pub fn all_looked_at(n: usize, n_here: usize) -> String {
    match (n, n_here) {
        (0, 0) => "No bulb stands here.".to_owned(),
        (0, _) => "No look is asked for: every bulb here is blind.".to_owned(),
        (1, _) => "One bulb looked at today.".to_owned(),
        (n, _) => format!("All {} looked at today.", bulbs(n)),
    }
}

/// What a walk found, in one sentence.
pub fn found(n_new: usize, n_as_before: usize, n_ended: &[(Ended, usize)]) -> String {
    let new = (n_new > 0).then(|| format!("{} with something new", bulbs(n_new)));
    let before = match (n_as_before, &new) {
        (0, _) => None,
        (n, Some(_)) => Some(format!("{n} as before")),
        (n, None) => Some(format!("{} as before", bulbs(n))),
    };
    if new.is_none() && n_ended.is_empty() {
        return "Nothing new at any bulb.".to_owned();
    }
    let ended = n_ended.iter().map(|(kind, n)| format!("{n} {}", ended(*kind)));
    let parts: Vec<String> = new.into_iter().chain(before).chain(ended).collect();
    format!("{}.", parts.join(", "))
}

/// What ended for a bulb.
pub const fn ended(kind: Ended) -> &'static str {
    match kind {
        Ended::Blind => "blind",
        Ended::Died => "died",
        Ended::Missing => "missing",
        Ended::Left => "gone out",
    }
}

/// The heading over bulbs for which it ended: `Died: 2`.
pub fn ended_heading(kind: Ended, n: usize) -> String {
    let word = match kind {
        Ended::Blind => "Blind",
        Ended::Died => "Died",
        Ended::Missing => "Missing",
        Ended::Left => "Gone out",
    };
    format!("{word}: {n}")
}

/// How long a walk took.
pub fn took(n_minutes: u32) -> String {
    match n_minutes {
        0 => "in less than a minute".to_owned(),
        n => format!("in {}", plural(n as usize, "minute", "minutes")),
    }
}

pub fn again_on(on: Date, today: Date) -> String {
    format!("{}: stalk or leaf?", days_away(on, today))
}

pub fn next_walk(on: Date, today: Date) -> String {
    format!("Walk here again {}, on {}.", days_away(on, today), date_long(on))
}

pub fn walk_place(place: &str) -> String {
    format!("Walk {place}")
}
