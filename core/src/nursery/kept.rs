//! A nursery's state as bytes, kept between starts, so that the first screen need not wait for every entry to be read.
//!
//! Bulbs, which most entries are about, are kept folded. Everything else is kept as the entries about it and folded
//! anew, since these are few. Entries that arrived after the state was kept are folded on top. Where that would need
//! an earlier entry (one that replaces or takes back, a name for a known bulb, a look written down late), there is no
//! answer, and the whole ledger has to be read first: what is shown is never a guess.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{
    bulb::Bulb,
    fold::Mark,
    state::{Disagreement, State},
};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Body, Nature},
        entry::Entry,
        id::{EntryId, Id, Noun},
    },
};

/// SHA-256 over the sources of this crate: a state that others folded is not used.
pub const FOLD: [u8; 32] = include!(concat!(env!("OUT_DIR"), "/fold.rs"));

/// What stands before the bulbs.
#[derive(Serialize, Deserialize)]
struct Head<'a> {
    ledger: Id,
    /// The last day that counted.
    counted: Option<Date>,
    /// The first day that did not count yet and of which something is told.
    waiting: Option<Date>,
    #[serde(borrow)]
    others: Vec<(EntryId, &'a str)>,
    awaited: Vec<EntryId>,
    bare: Vec<Id>,
    ones: Vec<Vec<Id>>,
    disagreements: Vec<Disagreement>,
    n_bulbs: usize,
}

/// Writing a state in slices, each a bulb or more. The ledger and the state must be the same for every slice, the
/// state folded from exactly this ledger; if they change, start again.
pub struct Keeping {
    written: postcard::Result<Vec<u8>>,
    bulbs: std::vec::IntoIter<Id>,
}

impl Keeping {
    /// Starts with all but the bulbs.
    pub fn new(ledger: &Ledger, state: &State) -> Self {
        let mut others: BTreeMap<EntryId, &Arc<Entry>> = BTreeMap::new();
        let mut bare: Vec<Id> = Vec::new();
        for subject in ledger.subjects() {
            if !subject.is(Noun::Bulb) {
                // What the program said is folded into nothing, and grows by the day.
                let said = |entry: &&Arc<Entry>| matches!(entry.body, Body::Shown(_));
                let about = ledger.history(subject).into_iter();
                let about = about.filter(|entry| !said(entry));
                others.extend(about.map(|entry| (entry.id, entry)));
            } else if !state.bulbs.contains_key(&subject) {
                bare.push(subject);
            }
        }
        let of_bulbs = |known: &&Disagreement| known.subject.is(Noun::Bulb);
        let disagreements: Vec<Disagreement> = state.disagreements.iter().filter(of_bulbs).cloned().collect();
        let others = others.into_values().map(|entry| (entry.id, entry.bytes()));
        let later = ledger.later().map(|entry| entry.envelope.happened.date());
        let head = Head {
            ledger: ledger.id(),
            counted: ledger.until(),
            waiting: later.min(),
            others: others.collect(),
            awaited: ledger.awaited(),
            bare,
            ones: state.ones(),
            disagreements,
            n_bulbs: state.bulbs.len(),
        };
        let bulbs: Vec<Id> = state.bulbs.keys().copied().collect();
        Self { written: postcard::to_allocvec(&head), bulbs: bulbs.into_iter() }
    }

    /// Writes the next bulb. False when there is none left.
    pub fn step(&mut self, ledger: &Ledger, state: &State) -> bool {
        let Some(id) = self.bulbs.next() else {
            return false;
        };
        if let Some(bulb) = state.bulb(&id) {
            let written = std::mem::replace(&mut self.written, Ok(Vec::new()));
            self.written = written.and_then(|written| postcard::to_extend(&(bulb, Mark::of(ledger, id)), written));
        }
        true
    }

    /// The bytes.
    pub fn finish(self) -> Vec<u8> {
        // Only a list that does not know its length cannot be written, and a state holds none; no bytes are no state.
        self.written.unwrap_or_default()
    }
}

/// A state taken up again.
#[derive(Clone, Debug)]
pub struct Resumed {
    /// The state, as all entries would give it.
    pub state: State,
    /// The entries that were needed for it: not all of them.
    pub part: Ledger,
}

/// Takes a kept state up again on a day and folds on top what arrived since it was kept. Nothing when the bytes are none
/// of this ledger's, when a day has come that something was waiting for, or when something that arrived since needs earlier entries.
pub fn resume(kept: &[u8], ledger: Id, today: Date, later: &[Arc<Entry>]) -> Option<Resumed> {
    let (head, mut rest) = postcard::take_from_bytes::<Head<'_>>(kept).ok()?;
    let Head { counted, waiting, others, awaited, bare, ones, disagreements, .. } = head;
    if head.ledger != ledger {
        return None;
    }
    let mut part = Ledger::on(ledger, today);
    // Days that counted count still, and none has come since that something was waiting for.
    if counted > part.until() || waiting.is_some_and(|day| Some(day) <= part.until()) {
        return None;
    }
    for (id, bytes) in others {
        part.insert(Arc::new(Entry::read(id, bytes).ok()?));
    }
    let mut bulbs: Vec<(Bulb, Mark)> = Vec::new();
    for _ in 0..head.n_bulbs {
        let (bulb, after) = postcard::take_from_bytes(rest).ok()?;
        bulbs.push(bulb);
        rest = after;
    }
    if !rest.is_empty() {
        return None;
    }
    let fresh: BTreeSet<EntryId> = later.iter().map(|entry| entry.id).collect();
    if awaited.iter().any(|id| fresh.contains(id)) {
        return None;
    }
    let mut touched: BTreeSet<Id> = BTreeSet::new();
    for entry in later {
        let of_bulbs = entry.envelope.about.iter().filter(|id| id.is(Noun::Bulb));
        touched.extend(of_bulbs);
        // A link may be about one bulb alone, and makes the other one anew.
        if matches!(&entry.body, Body::SameAs(link) if link.to.is(Noun::Bulb)) {
            return None;
        }
        part.insert(Arc::clone(entry));
    }
    if ones.iter().flatten().any(|id| touched.contains(id)) {
        return None;
    }
    for (bulb, mark) in &mut bulbs {
        if touched.remove(&bulb.id) {
            let since = since(&part, &fresh, bulb.id, mark)?;
            bulb.go_on(std::mem::take(mark), &since);
        }
    }
    if bare.iter().any(|id| touched.contains(id)) {
        return None;
    }
    let mut state = State::of_bulbs(bulbs.into_iter().map(|(bulb, _)| bulb), disagreements, ones);
    // What is left of those touched is new: all entries about it are here.
    let mut anew = part.subjects();
    anew.retain(|subject| !subject.is(Noun::Bulb) || touched.contains(subject));
    state.refold(&part, &anew);
    Some(Resumed { state, part })
}

/// The entries to be folded on top of a known bulb, in order, if nothing earlier is needed for them.
fn since<'a>(part: &'a Ledger, fresh: &BTreeSet<EntryId>, bulb: Id, mark: &Mark) -> Option<Vec<&'a Arc<Entry>>> {
    let is_fresh = |entry: &&Arc<Entry>| fresh.contains(&entry.id);
    if mark.linked {
        return None;
    }
    for entry in part.history(bulb).into_iter().filter(is_fresh) {
        let names_earlier = entry.envelope.supersedes.iter().any(|id| !fresh.contains(id));
        let joins = matches!(entry.body, Body::SameAct(_) | Body::SameAs(_));
        if names_earlier || joins || Body::nature_of(&entry.envelope.kind) == Some(Nature::Register) {
            return None;
        }
    }
    let mut since: Vec<_> = part.in_force(bulb).into_iter().filter(is_fresh).collect();
    since.retain(|entry| !matches!(entry.body, Body::Shown(_)));
    if let (Some(first), Some((happened, hlc, id))) = (since.first(), &mark.last)
        && first.order() <= (happened, *hlc, *id)
    {
        return None;
    }
    Some(since)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day};

    const STORY: &str = "0 mia place pl_1 Bench-2
        0 mia lot lo_1 Red
        0 mia container co_1 Trough
        0 mia bulb b_1 lo_1 in=pl_1 size=140
        0 mia bulb b_2 lo_1 in=pl_1
        0 mia tag b_1 tag1
        0 mia tag b_2 tag2
        1 mia cycle-began b_1,b_2
        2 mia potted b_1 container=co_1
        5 mia look b_1 sh_1/unknown/shoot
        5 mia call b_1 sh_1 700 9
        6 mia watered b_1,b_2
        8 mia proof b_1 sh_1 scape
        9 mia look b_9 clear";

    fn keep(ledger: &Ledger) -> Vec<u8> {
        let state = State::fold(ledger);
        let mut keeping = Keeping::new(ledger, &state);
        while keeping.step(ledger, &state) {}
        keeping.finish()
    }

    /// Keeps the story, adds lines, and takes the state up again.
    fn go_on(lines: &str) -> (Option<Resumed>, State) {
        let mut world = World::of(STORY);
        let (kept, n) = (keep(&world.ledger), world.ledger.len());
        world.add(lines);
        let later = &world.ledger.arrived()[n..];
        (resume(&kept, world.ledger.id(), day(400), later), world.state())
    }

    #[test]
    fn what_can_be_folded_on_top_gives_the_state_of_all_entries() {
        for lines in [
            "",
            "10 mia look b_1 sh_1/scape/spathe-split sh_2/unknown/shoot",
            "10 mia watered b_1,b_2\n11 mia look b_2 clear\n12 mia left b_2 how=sold",
            "10 mia proof b_1 sh_1 leaf\n11 mia call b_1 sh_1 200 15",
            "10 mia bulb b_3 lo_1 in=pl_1\n10 mia tag b_3 tag3\n11 mia look b_3 clear",
            "10 mia lot lo_1 Red-2\n10 mia place pl_2 Cellar\n10 mia moved b_1 place=pl_2",
            "10 mia unpotted b_1\n11 mia cycle-began b_1\n12 mia sweep b_1,b_2 pl_1",
            "a: 10 mia look b_1 clear\n11 mia take-back b_1 ~a",
        ] {
            let (resumed, whole) = go_on(lines);
            assert_eq!(resumed.map(|r| r.state), Some(whole), "{lines}");
        }
    }

    #[test]
    fn what_the_program_said_is_not_kept_and_makes_no_look_late() {
        let said = "10 mia json ru_1,b_1 shown {\"what\":\"forecast in-flower\",\"method\":\"m/1\",\
                    \"digest\":\"d\",\"numbers\":{\"0\":500}}";
        let (without, with) = (World::of(STORY), World::of(STORY).and(said));
        assert_eq!(keep(&with.ledger), keep(&without.ledger));
        let n = with.ledger.len();
        let kept = keep(&with.ledger);
        let world = with.and("9 ben look b_1 clear").and(&said.replace("10 mia", "11 ben"));
        let resumed = resume(&kept, world.ledger.id(), day(400), &world.ledger.arrived()[n..]);
        assert_eq!(resumed.map(|r| r.state), Some(world.state()));
    }

    #[test]
    fn what_needs_earlier_entries_is_not_guessed() {
        for lines in [
            "4 mia look b_1 clear",
            "10 mia own b_1 nine",
            "10 mia json b_1,sh_2 same-as {\"to\":\"sh_1\"}",
            "10 mia own b_9 nine",
            "10 mia json b_3 same-as {\"to\":\"b_1\"}",
            "6 mia take-back b_1 ~first",
        ] {
            let mut world = World::of(STORY).and("first: 7 mia look b_1 clear");
            let (kept, n) = (keep(&world.ledger), world.ledger.len());
            world.add(lines);
            let later = &world.ledger.arrived()[n..];
            let resumed = resume(&kept, world.ledger.id(), day(400), later);
            assert!(resumed.is_none(), "{lines}");
        }
    }

    #[test]
    fn an_entry_that_was_taken_back_before_it_arrived_is_not_shown() {
        let mut world = World::of(STORY).and("late: 10 mia look b_1 clear");
        world.add("11 mia take-back b_1 ~late");
        let late = world.named("late");
        let mut early = Ledger::new(world.ledger.id());
        for entry in world.ledger.arrived().iter().filter(|e| e.id != late) {
            early.insert(Arc::clone(entry));
        }
        let kept = keep(&early);
        assert!(resume(&kept, early.id(), day(400), &[]).is_some());
        let later = world.ledger.get(late).cloned();
        assert!(resume(&kept, early.id(), day(400), later.as_slice()).is_none());
    }

    #[test]
    fn a_state_waits_for_no_day_that_has_come() {
        let world = World::of(STORY).and("20 mia died b_1");
        let on = |today| {
            let mut ledger = Ledger::on(world.ledger.id(), day(today));
            for entry in world.ledger.arrived() {
                ledger.insert(Arc::clone(entry));
            }
            ledger
        };
        let kept = keep(&on(10));
        let resumed = |today| resume(&kept, world.ledger.id(), day(today), &[]);
        for today in [10, 18] {
            let state = State::fold(&on(today));
            assert_eq!(resumed(today).map(|r| r.state), Some(state), "day {today}");
        }
        // On the day before it, it counts; and on an earlier day than it was kept on, less may count.
        assert!(resumed(19).is_none() && resumed(9).is_none());
        assert_ne!(State::fold(&on(18)), State::fold(&on(19)));
    }

    #[test]
    fn bytes_cut_off_or_of_another_ledger_are_no_state() {
        let world = World::of(STORY);
        let kept = keep(&world.ledger);
        for cut in 0..kept.len() {
            assert!(resume(&kept[..cut], world.ledger.id(), day(400), &[]).is_none(), "cut at {cut}");
        }
        let other = crate::testing::id("l_other");
        assert!(resume(&kept, other, day(400), &[]).is_none());
    }
}
