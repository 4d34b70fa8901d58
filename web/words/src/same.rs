//! Words for bulbs that were entered twice.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::{Ledger, id::Id};
use bloomdue_core::nursery::{Bulb, State};

use crate::{bulb as of_bulb, common, dates};

labels! {
    title = "The same bulb as …";
    about =
        "When two phones entered one bulb, each under a tag of its own. Nothing is lost: the records and names \
         of both are kept under one bulb, and it can be taken back.";
    which = "The other tag or name";
    they_are_one = "They are one bulb";
    another = "Choose another one";
    what_happens =
        "From then on they are one bulb with the records of both. Either name finds it. It can be taken back on \
         its page.";
    joined = "One bulb now, with the records of both";
    link = "Entered twice?";
    head = "Entered more than once";
    shared_under = "One bulb entered twice? Say so on the page of either. Two bulbs? Give one of them a new tag.";
}

/// What one side says: its names, where it is, since when, how much is recorded of it.
pub fn side(bulb: &Bulb, ledger: &Ledger, state: &State, today: Date) -> (String, Vec<String>) {
    let records = bulb.in_force(ledger);
    let mut lines: Vec<String> = bulb.tags().map(|tag| of_bulb::tag(&grouped(tag))).collect();
    lines.push(of_bulb::under(bulb, state, today));
    for run in state.runs_of(bulb) {
        let run = state.runs.get(&run);
        if let Some(body) = run.and_then(|run| run.body.shown()) {
            lines.push(format!("in a try: {}", state.name_of(body.trial)));
        }
    }
    if let (Some(first), Some(last)) = (records.first(), records.last()) {
        lines.push(format!(
            "{}, {} to {}",
            common::plural(records.len(), "record", "records"),
            dates::date_short(first.envelope.happened.date(), today),
            dates::date_short(last.envelope.happened.date(), today),
        ));
    }
    lines.retain(|line| !line.is_empty());
    (bulb.label().to_owned(), lines)
}

/// A tag in two halves, as it is read aloud; an own name as it is.
pub fn grouped(tag: &str) -> String {
    tag.parse().map_or_else(|_| tag.to_owned(), |tag: bloomdue_core::tag::Tag| tag.grouped())
}

/// Under what names it was entered: `also entered as M4K-7Q`.
pub fn also(bulb: &Bulb) -> String {
    let names: Vec<String> =
        bulb.also.iter().map(|also| also.own_name.clone().unwrap_or_else(|| grouped(also.label()))).collect();
    format!("Also entered as {}", names.join(", "))
}

/// What a link says: `A and B are one bulb`.
pub fn one_bulb(about: Id, to: Id, state: &State) -> String {
    let name = |id: Id| state.bulb(&id).map_or("", |bulb| bulb.label_as(id)).to_owned();
    format!("{} and {} are one bulb", name(about), name(to))
}

/// A tag that several bulbs carry.
pub fn shared_tag(tag: &str, n: usize) -> String {
    format!("Tag {} is on {}", grouped(tag), common::bulbs(n))
}
