//! The set: what is here, what it is about, what stands of it, and what a person should know of it.

mod in_force;

use std::{
    collections::{BTreeMap, BTreeSet, HashMap, HashSet, hash_map},
    hash::{BuildHasherDefault, Hasher},
    sync::Arc,
};

use super::{
    body::{Body, Nature},
    digest::digest_of,
    entry::{Entry, HybridTime},
    id::{EntryId, Id},
};
use crate::calendar::Date;

pub use in_force::Decisions;

/// The kind that takes other entries back.
pub const TAKE_BACK: &str = "take-back";

/// Something about the set that a person should know; nothing is lost by it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Problem {
    /// Two entries carry the same line number of one device: the device was cloned, or a line was edited by hand.
    SameLine {
        /// The device.
        device: Id,
        /// The line number.
        line: u64,
        /// Every entry with it, sorted.
        entries: Vec<EntryId>,
    },
    /// An entry claims to replace one that it may not: another kind, or no subject in common.
    CannotReplace {
        /// The claiming entry.
        by: EntryId,
        /// The claimed one, which still stands.
        target: EntryId,
    },
    /// Lines of a device that have not arrived here, from the first to the last missing one.
    Gap {
        /// The device.
        device: Id,
        /// First missing line.
        from: u64,
        /// Last missing line.
        to: u64,
    },
}

impl Problem {
    /// The device of doubled or missing lines.
    pub fn device(&self) -> Option<Id> {
        match self {
            Self::SameLine { device, .. } | Self::Gap { device, .. } => Some(*device),
            Self::CannotReplace { .. } => None,
        }
    }
}

/// How many problems of one kind are listed; of the rest only the number is told.
pub const PROBLEMS_LISTED: usize = 20;

/// A map by ids.
type Map<K, V> = HashMap<K, V, BuildHasherDefault<IdHasher>>;

/// A set of ids.
pub(crate) type IdSet<K> = HashSet<K, BuildHasherDefault<IdHasher>>;

/// Mixes ids quickly: they are hashes or were drawn at random, so their words are spread already. Whoever makes up ids
/// to slow the program down only slows down a device that takes their file in, after a preview.
#[derive(Clone, Debug, Default)]
pub(crate) struct IdHasher(u64);

impl Hasher for IdHasher {
    fn write(&mut self, bytes: &[u8]) {
        for word in bytes.chunks(8) {
            let mut padded = [0; 8];
            padded[..word.len()].copy_from_slice(word);
            // The odd number nearest to 2^64 divided by the golden ratio (Knuth, The Art of Computer Programming 3, 6.4).
            let mixed = (self.0.rotate_left(5) ^ u64::from_le_bytes(padded)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            self.0 = mixed ^ (mixed >> 32);
        }
    }

    fn finish(&self) -> u64 {
        self.0
    }
}

/// All entries of one nursery that are here.
#[derive(Clone, Debug)]
pub struct Ledger {
    id: Id,
    entries: Vec<Arc<Entry>>,
    by_id: Map<EntryId, u32>,
    by_subject: Map<Id, Vec<u32>>,
    /// For each id named in a `supersedes`: who names it. The target may not have arrived yet.
    named_by: Map<EntryId, Vec<u32>>,
    lines: BTreeMap<Id, BTreeMap<u64, Vec<EntryId>>>,
    newest: HybridTime,
    /// The last day that counts; without it all days do.
    until: Option<Date>,
    /// Entries of later days. They are here and are handed on, but say nothing yet.
    later: Vec<u32>,
}

impl Ledger {
    /// An empty ledger of this id.
    pub fn new(id: Id) -> Self {
        Self {
            id,
            entries: Vec::new(),
            by_id: Map::default(),
            by_subject: Map::default(),
            named_by: Map::default(),
            lines: BTreeMap::new(),
            newest: HybridTime::default(),
            until: None,
            later: Vec::new(),
        }
    }

    /// An empty ledger as it is read on a day: what was seen or done after the day that follows does not count until
    /// then. One day is let pass because somewhere it has begun already.
    pub fn on(id: Id, today: Date) -> Self {
        Self { until: Some(tomorrow(today)), ..Self::new(id) }
    }

    /// The last day that counts; nothing when all do.
    pub fn until(&self) -> Option<Date> {
        self.until
    }

    /// Whether an entry does not count yet. What was seen or done belongs to a day; names, places, plans and
    /// take-backs do not, so that a nursery begun under a wrong clock keeps them.
    pub fn is_later(&self, entry: &Entry) -> bool {
        let of_a_day = matches!(Body::nature_of(&entry.envelope.kind), Some(Nature::Observation | Nature::Event));
        of_a_day && self.until.is_some_and(|until| entry.envelope.happened.date() > until)
    }

    /// Entries that do not count yet, in order of arrival.
    pub fn later(&self) -> impl ExactSizeIterator<Item = &Arc<Entry>> {
        self.later.iter().map(|at| &self.entries[*at as usize])
    }

    /// The day has come: what belongs to it counts from now on. Gives what these entries are about, to be folded
    /// anew. A day before the one known changes nothing.
    pub fn day_comes(&mut self, today: Date) -> BTreeSet<Id> {
        self.until = self.until.map(|until| until.max(tomorrow(today)));
        let mut changed = BTreeSet::new();
        for at in std::mem::take(&mut self.later) {
            let entry = Arc::clone(&self.entries[at as usize]);
            if self.is_later(&entry) {
                self.later.push(at);
            } else {
                self.count(at, &entry);
                changed.extend(entry.envelope.about.iter().copied());
            }
        }
        changed
    }

    /// The ledger's id.
    pub fn id(&self) -> Id {
        self.id
    }

    /// How many entries are here.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether none are here.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Adds an entry; returns whether it is new.
    ///
    /// Total, free of order, and without effect the second time. An entry of another ledger is not taken.
    ///
    /// # In whatever order entries arrive, twice or once, the ledger is the same
    /// ```
    /// # use bloomdue_core::{calendar::Date, demo};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let today = Date::new(2027, 11, 20)?;
    /// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
    /// use bloomdue_core::ledger::Ledger;
    /// let mut other = Ledger::new(ledger.id());
    /// for entry in ledger.arrived().iter().rev().chain(ledger.arrived()) {
    ///     other.insert(entry.clone());
    /// }
    /// assert_eq!(other.digest(), ledger.digest());
    /// # Ok(())
    /// # }
    /// ```
    pub fn insert(&mut self, entry: Arc<Entry>) -> bool {
        if entry.envelope.ledger != self.id {
            return false;
        }
        let hash_map::Entry::Vacant(vacant) = self.by_id.entry(entry.id) else {
            return false;
        };
        let at = self.entries.len() as u32;
        vacant.insert(at);
        if self.is_later(&entry) {
            self.later.push(at);
        } else {
            self.count(at, &entry);
        }
        let line = self.lines.entry(entry.envelope.device).or_default();
        line.entry(entry.envelope.line).or_default().push(entry.id);
        let stamp = entry.envelope.hlc;
        if stamp > self.newest && stamp.day().is_some() {
            self.newest = stamp;
        }
        self.entries.push(entry);
        true
    }

    /// Makes an entry count for what it is about and for what it names.
    fn count(&mut self, at: u32, entry: &Entry) {
        let mut about = entry.envelope.about.clone();
        about.sort();
        about.dedup();
        for subject in about {
            // In order of arrival, though its day may have come only now.
            let places = self.by_subject.entry(subject).or_default();
            let place = places.partition_point(|known| *known < at);
            places.insert(place, at);
        }
        for target in &entry.envelope.supersedes {
            let named_by = self.named_by.entry(*target).or_default();
            if named_by.last() != Some(&at) {
                named_by.push(at);
            }
        }
    }

    /// The entry of this id, if it is here.
    pub fn get(&self, id: EntryId) -> Option<&Arc<Entry>> {
        self.by_id.get(&id).map(|at| &self.entries[*at as usize])
    }

    /// Every entry, in the order in which they arrived on this device.
    pub fn arrived(&self) -> &[Arc<Entry>] {
        &self.entries
    }

    /// Entries that are named in a `supersedes` and are not here, sorted.
    pub(crate) fn awaited(&self) -> Vec<EntryId> {
        let named = self.named_by.keys().copied();
        let mut awaited: Vec<EntryId> = named.filter(|id| !self.by_id.contains_key(id)).collect();
        awaited.sort();
        awaited
    }

    /// Every entry's id, sorted.
    pub fn ids(&self) -> BTreeSet<EntryId> {
        self.by_id.keys().copied().collect()
    }

    /// The greatest hybrid time of any entry here, those left out that name a day which records do not know.
    pub fn newest(&self) -> HybridTime {
        self.newest
    }

    /// Everything any entry is about, sorted.
    pub fn subjects(&self) -> BTreeSet<Id> {
        self.by_subject.keys().copied().collect()
    }

    /// SHA-256 over `"bloomdue ledger 1\0"` and all raw ids, sorted: equal on two devices that hold the same entries.
    pub fn digest(&self) -> [u8; 32] {
        digest_of(self.entries.iter().map(|entry| entry.id))
    }

    /// Places of the entries about a subject, in the order of their arrival.
    fn places_about(&self, subject: Id) -> &[u32] {
        self.by_subject.get(&subject).map_or(&[][..], Vec::as_slice)
    }

    /// The subjects that an entry may replace or take back another one for.
    pub(crate) fn shared<'a>(by: &Entry, target: &'a Entry) -> impl Iterator<Item = Id> + 'a {
        let may = in_force::may_replace(by, target);
        let about: IdSet<Id> = by.envelope.about.iter().copied().filter(|_| may).collect();
        let of_target = target.envelope.about.iter().copied();
        of_target.filter(move |subject| about.contains(subject))
    }

    /// Every entry about a subject, replaced ones too, in no order.
    pub(crate) fn about(&self, subject: Id) -> impl Iterator<Item = &Arc<Entry>> {
        let at = self.places_about(subject).iter();
        at.map(|at| &self.entries[*at as usize])
    }

    /// Every entry about a subject, replaced ones too, in order of when it happened.
    pub fn history(&self, subject: Id) -> Vec<&Arc<Entry>> {
        in_order(self.about(subject).collect())
    }

    /// The entries about a subject that stand, in order of when it happened. Take-backs are left out.
    pub fn in_force(&self, subject: Id) -> Vec<&Arc<Entry>> {
        self.in_force_of(subject, |_| true)
    }

    /// The same of a thing that has several ids, each entry once.
    pub fn in_force_of_all(&self, subjects: &[Id]) -> Vec<&Arc<Entry>> {
        let [first, others @ ..] = subjects else {
            return Vec::new();
        };
        let mut entries = self.in_force(*first);
        if !others.is_empty() {
            entries.extend(others.iter().flat_map(|id| self.in_force(*id)));
            entries = in_order(entries);
            entries.dedup_by_key(|entry| entry.id);
        }
        entries
    }

    /// The entries about a subject that stand and for which `wanted` holds, in order of when it happened.
    pub(crate) fn in_force_of(&self, subject: Id, wanted: impl Fn(&Entry) -> bool) -> Vec<&Arc<Entry>> {
        in_order(self.in_force_now(subject, wanted))
    }

    /// The heads of a register: the entries of this kind and slot that stand for the subject.
    pub fn heads(&self, subject: Id, kind: &str, slot: &str) -> Vec<&Arc<Entry>> {
        self.in_force_of(subject, |entry| entry.envelope.kind == kind && entry.envelope.slot == slot)
    }

    /// What a person should know about the set, sorted.
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems = line_problems(&self.lines);
        for (target_id, named_by) in &self.named_by {
            let Some(target) = self.get(*target_id) else {
                continue;
            };
            for at in named_by {
                let by = &self.entries[*at as usize];
                if Self::shared(by, target).next().is_none() {
                    problems.push(Problem::CannotReplace { by: by.id, target: *target_id });
                }
            }
        }
        problems.sort();
        problems
    }

    /// Entries whose kind or version this program does not know.
    pub fn unknown(&self) -> impl Iterator<Item = &Arc<Entry>> {
        self.entries.iter().filter(|entry| entry.body == Body::Unknown)
    }

    /// Line numbers of each device that are here, with the ids that carry each.
    pub fn lines(&self) -> &BTreeMap<Id, BTreeMap<u64, Vec<EntryId>>> {
        &self.lines
    }
}

/// Gaps and doubled line numbers of some devices.
pub(crate) fn line_problems(lines: &BTreeMap<Id, BTreeMap<u64, Vec<EntryId>>>) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (device, lines) in lines {
        let mut expected = 1;
        for (line, ids) in lines {
            if *line > expected {
                problems.push(Problem::Gap { device: *device, from: expected, to: line - 1 });
            }
            expected = line.saturating_add(1);
            if ids.len() > 1 {
                let mut entries = ids.clone();
                entries.sort();
                problems.push(Problem::SameLine { device: *device, line: *line, entries });
            }
        }
    }
    problems
}

fn tomorrow(today: Date) -> Date {
    // The last day of the calendar has no other after it.
    today.add_days(1).unwrap_or(today)
}

/// Entries in order of when they happened. Not generic: each copy of a sort is 30 KiB.
fn in_order(mut entries: Vec<&Arc<Entry>>) -> Vec<&Arc<Entry>> {
    entries.sort_by(|a, b| a.order().cmp(&b.order()));
    entries
}
