//! The same nursery, started twice: the records of another ledger read as records of this one.
//!
//! Every entry of a ledger says in its envelope which ledger it is of, and only entries of one ledger may replace each
//! other. So what is joined is written here as entries of this ledger: the same in everything but the ledger's name
//! and the names of the entries they replace. Nothing else goes into the new bytes, so every device that joins the
//! same two ledgers gets the same entries, in whatever order; doing it twice changes nothing; and read back into the
//! other ledger they are its own entries again, byte for byte. The other ledger and its file stay as they are.
//!
//! A link in this ledger says that the two were joined and by which devices the other one was written; taking the link
//! back takes back what they wrote.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use serde_json::Value;

use super::json::Reading;
use crate::{
    error::{Error, Result},
    ledger::{
        Ledger,
        body::Body,
        canonical::to_canonical,
        digest_of,
        entry::Entry,
        have::{lines_of, to_hex},
        id::{EntryId, Id},
    },
    refusal::RecordRefusal,
};

/// A file of another ledger, read as one of this ledger.
#[derive(Clone, Debug)]
pub struct Rewritten {
    /// What it holds, as entries of this ledger.
    pub reading: Reading,
    /// The ledger it is of.
    pub from: Id,
    /// The devices that wrote it.
    pub devices: Vec<Id>,
    /// Entries that name others which are not in the file; a whole file brings them.
    pub n_waiting: usize,
}

/// Whether this ledger was joined with another one, and that stands.
pub fn joined_with(ledger: &Ledger, other: Id) -> bool {
    joins(ledger).any(|entry| matches!(&entry.body, Body::Join(join) if join.to == other))
}

/// Every join that stands.
pub fn joins(ledger: &Ledger) -> impl Iterator<Item = &Arc<Entry>> {
    let standing = ledger.in_force(ledger.id()).into_iter();
    standing.filter(|entry| matches!(entry.body, Body::Join(_)))
}

impl Reading {
    /// Reads a file of another ledger as one of the ledger `into`.
    ///
    /// # Errors
    ///
    /// For the demo, which is never taken into a nursery.
    pub fn rewritten(mut self, into: Id) -> Result<Rewritten> {
        let drawn = |entry: &Arc<Entry>| matches!(&entry.body, Body::Photo(photo) if photo.drawn);
        if self.entries.iter().any(drawn) {
            return Err(Error::new(RecordRefusal::Demo));
        }
        let n_all = self.entries.len();
        let devices: BTreeSet<Id> = self.entries.iter().map(|entry| entry.envelope.device).collect();
        let (entries, names) = rewrite(std::mem::take(&mut self.entries), into);
        self.lines = lines_of(&entries);
        self.reformatted.retain_mut(|id| match names.get(id) {
            Some(name) => {
                *id = *name;
                true
            }
            None => false,
        });
        if to_hex(&digest_of(names.keys().copied())) == self.digest {
            self.digest = to_hex(&digest_of(names.values().copied()));
        }
        let from = std::mem::replace(&mut self.ledger, into);
        let n_waiting = n_all - entries.len();
        self.entries = entries;
        Ok(Rewritten { reading: self, from, devices: devices.into_iter().collect(), n_waiting })
    }
}

/// The entries as those of `into`, in the order given, and each one's new name. An entry is written after those that
/// it names; one that names what is not among them is left out.
fn rewrite(entries: Vec<Arc<Entry>>, into: Id) -> (Vec<Arc<Entry>>, HashMap<EntryId, EntryId>) {
    let mut names = HashMap::new();
    let mut written: Vec<(usize, Arc<Entry>)> = Vec::with_capacity(entries.len());
    let mut open: Vec<(usize, Arc<Entry>)> = entries.into_iter().enumerate().collect();
    // What is named was written before what names it, so that one pass is nearly always enough.
    open.sort_by_key(|(_, entry)| (entry.envelope.hlc, entry.envelope.line));
    loop {
        let n_open = open.len();
        open.retain(|(at, entry)| match as_of(entry, into, &names) {
            Some(new) => {
                names.insert(entry.id, new.id);
                written.push((*at, Arc::new(new)));
                false
            }
            None => true,
        });
        if open.is_empty() || open.len() == n_open {
            break;
        }
    }
    written.sort_by_key(|(at, _)| *at);
    (written.into_iter().map(|(_, entry)| entry).collect(), names)
}

/// One entry as one of `into`; nothing while an entry that it names has no new name yet.
fn as_of(entry: &Entry, into: Id, names: &HashMap<EntryId, EntryId>) -> Option<Entry> {
    let mut value: Value = serde_json::from_str(entry.bytes()).ok()?;
    let name = |id: &EntryId| names.get(id).map(|name| Value::String(name.to_string()));
    let supersedes: Option<Vec<Value>> = entry.envelope.supersedes.iter().map(name).collect();
    let envelope = value.as_object_mut()?;
    envelope.insert("supersedes".to_owned(), Value::Array(supersedes?));
    envelope.insert("ledger".to_owned(), Value::String(into.to_string()));
    if let Body::SameAct(link) | Body::TwoActs(link) = &entry.body {
        let body = envelope.get_mut("body")?.as_object_mut()?;
        body.insert("entry".to_owned(), name(&link.entry)?);
    }
    let bytes = to_canonical(&value).ok()?;
    Entry::read(EntryId::of(bytes.as_bytes()), &bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        handover::{
            PhotosHere,
            json::{Reader, compose},
        },
        ledger::id::Ids,
        nursery::State,
        record::{Command, Moment, record},
        testing::{World, day, id},
    };

    fn mine() -> World {
        World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1\n1 mia look b_1 clear")
    }

    /// Another ledger with a name put right, something taken back, a kind of the future, and one act twice.
    fn other() -> World {
        let mut world = World::in_ledger(
            "l_2",
            "0 tom json l_2 nursery {\"name\":\"Tom's\"}
             old: 0 tom place pl_9 Nein
             1 tom place pl_9 Nine ~old
             0 tom lot lo_9 White
             0 tom bulb b_9 lo_9 in=pl_9
             wrong: 2 tom died b_9
             3 tom take-back b_9 ~wrong
             4 tom fed b_9
             twice: 4 tim fed b_9",
        );
        let twice = world.named("twice");
        world.add(&format!("5 tom json b_9 same-act {{\"entry\":\"{twice}\"}}"));
        world
    }

    fn file(ledger: &Ledger) -> Reading {
        let mut reader = Reader::new();
        let text = compose(ledger, "Tom's", "2027-02-01T08:00+01:00", []);
        reader.feed(text.as_bytes(), |_| {}).unwrap();
        reader.finish().unwrap()
    }

    fn insert(ledger: &mut Ledger, entries: &[Arc<Entry>]) -> usize {
        entries.iter().filter(|entry| ledger.insert(Arc::clone(entry))).count()
    }

    #[test]
    fn what_is_joined_says_here_what_it_says_there() {
        let other = other();
        let rewritten = file(&other.ledger).rewritten(id("l_1")).unwrap();
        assert_eq!((rewritten.from, rewritten.n_waiting), (id("l_2"), 0));
        assert_eq!(rewritten.devices, [id("d_tim"), id("d_tom")]);
        let mut world = mine();
        let alone = world.state();
        let entries = rewritten.reading.entries.clone();
        let preview = rewritten.reading.preview(&world.ledger, &PhotosHere::default(), u64::MAX);
        let preview = preview.unwrap();
        assert!(preview.whole && preview.gaps.is_empty() && preview.cloned.is_empty());
        assert_eq!((preview.new.len(), preview.n_known), (entries.len(), 0));
        assert_eq!(insert(&mut world.ledger, &entries), other.ledger.len());
        let (state, there) = (world.state(), other.state());
        let (bulb, known) = (&state.bulbs[&id("b_9")], &there.bulbs[&id("b_9")]);
        assert_eq!((bulb.label(), &bulb.fate, &bulb.cycle().acts), (known.label(), &known.fate, &known.cycle().acts));
        assert_eq!(bulb.cycle().acts.iter().filter(|(_, kind)| *kind == crate::ledger::body::ActKind::Fed).count(), 1);
        assert_eq!(state.name_of(id("pl_9")), "Nine");
        assert!(state.disagreements.is_empty());
        assert_eq!((state.bulbs[&id("b_1")].clone(), state.name), (alone.bulbs[&id("b_1")].clone(), alone.name));
        // What was joined can be put right here: one ledger, so one entry may replace another.
        assert!(world.ledger.problems().is_empty());
    }

    #[test]
    fn joining_is_the_same_in_any_order_twice_and_back() {
        let (mine, other) = (mine(), other());
        let rewritten = file(&other.ledger).rewritten(id("l_1")).unwrap().reading;
        let again = file(&other.ledger).rewritten(id("l_1")).unwrap().reading;
        let ids = |reading: &Reading| reading.entries.iter().map(|e| e.id).collect::<Vec<_>>();
        assert_eq!(ids(&rewritten), ids(&again));
        let mut one = mine.ledger.clone();
        insert(&mut one, &rewritten.entries);
        let mut two = Ledger::new(id("l_1"));
        insert(&mut two, &rewritten.entries);
        insert(&mut two, mine.ledger.arrived());
        assert_eq!(one.digest(), two.digest());
        assert_eq!(insert(&mut one, &again.entries), 0, "the same file twice changes nothing");
        // Read back into the other ledger they are its own entries, byte for byte.
        let back = file(&one).rewritten(id("l_2")).unwrap().reading;
        let theirs = back.entries.iter().filter(|entry| other.ledger.get(entry.id).is_some());
        assert_eq!(theirs.count(), other.ledger.len());
    }

    #[test]
    fn what_names_a_record_that_is_not_in_the_file_waits_and_the_demo_never_comes_in() {
        let other = other();
        let mut part = Ledger::new(id("l_2"));
        let old = other.named("old");
        let rest: Vec<_> = other.ledger.arrived().iter().filter(|e| e.id != old).cloned().collect();
        insert(&mut part, &rest);
        let rewritten = file(&part).rewritten(id("l_1")).unwrap();
        assert_eq!(rewritten.n_waiting, 1);
        let hash = crate::ledger::id::AttachmentHash::of(b"drawing");
        let demo = other.and(&format!(
            "6 tom json b_9 photo {{\"hash\":\"{hash}\",\"media\":\"image/png\",\"n_bytes\":1,\"width_px\":1,\"height_px\":1,\"drawn\":true}}"
        ));
        assert!(file(&demo.ledger).rewritten(id("l_1")).is_err());
    }

    #[test]
    fn a_join_is_taken_back_with_all_it_brought_and_can_be_made_again() {
        let other = other();
        let rewritten = file(&other.ledger).rewritten(id("l_1")).unwrap();
        let mut world = mine();
        insert(&mut world.ledger, &rewritten.reading.entries);
        let run = |world: &mut World, n: u8, command: Command| {
            let mut moment = Moment { now: Happened::on(day(9)), ids: Ids::new([n; 32]) };
            let drafts = record(command, &world.ledger, &State::fold(&world.ledger), &mut moment).unwrap();
            world.save("mia", drafts)
        };
        let join = Command::Join { to: rewritten.from, devices: rewritten.devices.clone() };
        let link = run(&mut world, 1, join.clone());
        assert!(joined_with(&world.ledger, id("l_2")));
        let joined = world.state();
        run(&mut world, 2, Command::TakeBack { entries: link, why: None });
        assert!(!joined_with(&world.ledger, id("l_2")));
        assert_eq!(world.state(), mine().state());
        run(&mut world, 3, join);
        assert_eq!(world.state(), joined);
        assert!(joined_with(&world.ledger, id("l_2")));
    }
}
