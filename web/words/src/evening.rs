//! Words of the evening hand-over: who lacks what, and how the phones come to the same.

use std::sync::Arc;

use bloomdue_core::calendar::Date;
use bloomdue_core::handover::others::Other;
use bloomdue_core::handover::page::{CLOSES, OPENS, escaped};
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::State;

use crate::common::{Slot, plural, slots};
use crate::dates::moment;
use crate::records as told;

labels! {
    title = "Evening hand-over";
    for_label = "For whom";
    everyone = "everyone";
    newcomer = "a new phone, everything";
    photos_label = "Photos in it";
    make = "Make the file";
    making = "Making the file …";
    step_send = "Hand the file to them.";
    step_back = "They take it in and send theirs back.";
    step_take = "Take theirs in here. Then each knows all.";
    not_arrived = "Handed over is not arrived. Only their next file tells.";
    another = "another device";
    never_heard = "No file of its own was taken in here yet.";
    nobody_yet = "No other phone was heard of yet. Its first file makes it known here.";
    page_title = "Records of a nursery";
    page_how =
        "To take them in: save this page, open the app, then Files, Take a file in, and choose it. Nothing is changed \
         before you say so.";
    page_what = "What was recorded last";
}

/// A device by who records on it.
pub fn name(who: Option<Id>, state: &State) -> String {
    match who.map_or("", |who| state.name_of(who)) {
        "" => another().to_owned(),
        name => name.to_owned(),
    }
}

fn records(n: usize) -> String {
    plural(n, "record", "records")
}

/// What there is to hand over: `name` is of the device it is for, nothing where it is for everyone.
pub fn to_give(name: Option<&str>, n_records: usize, n_photos: usize) -> String {
    match (name, n_records, n_photos) {
        (None, 0, _) => "Everyone heard of has all that is here.".to_owned(),
        (Some(name), 0, _) => format!("{name} has all that is here."),
        (None, n, 0) => format!("Hand over {}.", records(n)),
        (Some(name), n, 0) => format!("Give {name} {}.", records(n)),
        (None, n, photos) => format!("Hand over {} and {}.", records(n), plural(photos, "photo", "photos")),
        (Some(name), n, photos) => format!("Give {name} {} and {}.", records(n), plural(photos, "photo", "photos")),
    }
}

/// For whom, and with which photos; both can be changed where they stand.
pub fn for_whom() -> Vec<Slot> {
    slots("For {whom}, with {photos}.")
}

/// When a device was last heard of, and what it lacked then.
pub fn heard(other: &Other, today: Date) -> String {
    let Some(made) = &other.made else { return never_heard().to_owned() };
    let when = moment(made, today);
    match other.n_lacks {
        0 => format!("last heard of {when}; lacks nothing"),
        n => format!("last heard of {when}; lacks {}", records(n)),
    }
}

/// What a device had that is not here; nothing where that is all here.
pub fn not_here(n: u64) -> Option<String> {
    let n = usize::try_from(n).unwrap_or(usize::MAX);
    (n > 0).then(|| format!("{} of theirs {} not here yet.", records(n), if n == 1 { "is" } else { "are" }))
}

/// How many records nobody else was heard to have.
pub fn on_no_other(n: usize) -> String {
    match n {
        0 => "As far as was heard, every record is on another phone too.".to_owned(),
        1 => "1 record is on no other phone yet, as far as was heard.".to_owned(),
        n => format!("{} are on no other phone yet, as far as was heard.", records(n)),
    }
}

/// After a file was taken in: the way to answer it.
pub fn give_back(name: &str, n: usize) -> String {
    format!("Give {name} {}", records(n))
}

/// Of what a page of records is, and by whom.
pub fn page_of(nursery: &str, who: &str, when: &str, n: usize) -> String {
    let by = if who.is_empty() { String::new() } else { format!(" by {who}") };
    format!("{nursery}: {}{by}, {when}.", records(n))
}

/// Records that a page tells in words.
const TOLD: usize = 100;

/// Names of what a record is about that a page gives.
const NAMED: usize = 6;

/// A page that people can read and the app takes in: what stands before the records and what stands after them.
pub fn page(entries: &[Arc<Entry>], state: &State, who: &str, made: &str, today: Date) -> (String, String) {
    let nursery = state.name.shown().map_or("", String::as_str);
    let of = page_of(nursery, who, &moment(made, today), entries.len());
    let last =
        entries.iter().rev().take(TOLD).map(|entry| format!("<li>{}</li>\n", escaped(&line(entry, state, today))));
    let head = format!(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n\
         <h1>{}</h1>\n<p>{}</p>\n<p>{}</p>\n<h2>{}</h2>\n<ul>\n{}</ul>\n{OPENS}",
        escaped(page_title()),
        escaped(page_title()),
        escaped(&of),
        escaped(page_how()),
        escaped(page_what()),
        last.collect::<String>(),
    );
    (head, format!("{CLOSES}</html>\n"))
}

/// A record in one line: about what, what it says, when and by whom.
fn line(entry: &Entry, state: &State, today: Date) -> String {
    let about = &entry.envelope.about;
    let names: Vec<&str> =
        about.iter().take(NAMED).map(|id| state.name_of(*id)).filter(|name| !name.is_empty()).collect();
    let more = if about.len() > NAMED { " …" } else { "" };
    let what = match names.as_slice() {
        [] => told::said(&entry.body, state),
        names => format!("{}{more}: {}", names.join(", "), told::said(&entry.body, state)),
    };
    format!("{what} ({})", told::under(entry, state, today, true))
}

#[cfg(test)]
mod tests {
    use super::*;
    use bloomdue_core::calendar::Date;
    use bloomdue_core::handover::json::{compose, read};
    use bloomdue_core::handover::page::inside;
    use bloomdue_core::testing::World;

    #[test]
    fn a_page_is_read_by_people_and_by_the_app() {
        let world = World::of(
            "0 mia place pl_1 <north>
             0 mia lot lo_1 Red
             0 mia bulb b_1 lo_1 in=pl_1
             1 mia look b_1 clear",
        );
        let state = State::fold(&world.ledger);
        let entries = world.ledger.arrived();
        let today = Date::new(2027, 3, 14).expect("a day");
        let (head, tail) = page(entries, &state, "MR", "2027-03-14T18:20+01:00", today);
        let n = entries.len();
        assert!(head.contains(&format!("<p>: {n} records by MR, 14 Mar, 18:20.</p>")), "{head}");
        assert_eq!(head.matches("<li>").count(), n);
        assert!(!head.contains("<north>"));
        let file = compose(&world.ledger, "", "2027-03-14", []);
        let page = format!("{head}{}{tail}", inside(&file));
        assert_eq!(read(page.as_bytes(), |_| {}).expect("records").entries.len(), n);
    }
}
