//! What links that stand join: bulbs that were entered more than once, an act that two phones wrote down, shoots that
//! are one. Taking a link back parts them again.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    calendar::Date,
    ledger::{
        IdSet, Ledger,
        body::{Act, Body},
        entry::Entry,
        id::{EntryId, Id, Noun},
    },
};

/// Which bulbs are one: every one of them, with all of them in order. A bulb that is only itself is not listed.
pub(super) type Ones = BTreeMap<Id, Arc<[Id]>>;

/// Which of several things are one, by union and find.
///
/// Galler and Fisher (1964), *An improved equivalence algorithm*; paths are halved as they are walked.
#[derive(Debug, Default)]
pub(super) struct Joining {
    ids: Vec<Id>,
    places: BTreeMap<Id, usize>,
    /// For each thing one that it is the same as, itself at the end. Never a greater one, so that walking ends.
    leads_to: Vec<usize>,
}

impl Joining {
    /// Where a thing stands, which is added when it is new.
    fn place(&mut self, id: Id) -> usize {
        let n = self.ids.len();
        let place = *self.places.entry(id).or_insert(n);
        if place == n {
            self.ids.push(id);
            self.leads_to.push(n);
        }
        place
    }

    fn end(&mut self, mut place: usize) -> usize {
        while self.leads_to[place] != place {
            self.leads_to[place] = self.leads_to[self.leads_to[place]];
            place = self.leads_to[place];
        }
        place
    }

    /// Says that two things are one.
    pub(super) fn join(&mut self, one: Id, other: Id) {
        let (one, other) = (self.place(one), self.place(other));
        let (one, other) = (self.end(one), self.end(other));
        self.leads_to[one.max(other)] = one.min(other);
    }

    /// All things, those that are one together and in order.
    pub(super) fn finish(mut self) -> Vec<Vec<Id>> {
        let mut ones: BTreeMap<usize, Vec<Id>> = BTreeMap::new();
        for (id, place) in std::mem::take(&mut self.places) {
            ones.entry(self.end(place)).or_default().push(id);
        }
        ones.into_values().collect()
    }
}

/// All that has to be folded anew when something about these bulbs has changed: the bulbs they were one with by
/// `known`, those they are one with now, and what either is one with; put together as they are now, each in order.
///
/// A link may be about only one of the two, so that the other's records do not name it: `known` does.
pub(super) fn ones(ledger: &Ledger, known: &Ones, bulbs: impl IntoIterator<Item = Id>) -> Vec<Vec<Id>> {
    let mut joining = Joining::default();
    for bulb in bulbs {
        joining.place(bulb);
    }
    let joins = |entry: &Entry| matches!(&entry.body, Body::SameAs(link) if link.to.is(Noun::Bulb));
    let mut read: IdSet<EntryId> = IdSet::default();
    let mut taken: IdSet<Id> = IdSet::default();
    let mut at = 0;
    while let Some(id) = joining.ids.get(at).copied() {
        at += 1;
        if let Some(ids) = known.get(&id)
            && taken.insert(ids[0])
        {
            for id in ids.iter() {
                joining.place(*id);
            }
        }
        for entry in ledger.in_force_of(id, joins) {
            if let Body::SameAs(link) = &entry.body
                && read.insert(entry.id)
            {
                let about = entry.envelope.about.iter();
                for bulb in about.filter(|id| id.is(Noun::Bulb)) {
                    joining.join(link.to, *bulb);
                }
            }
        }
    }
    joining.finish()
}

/// What an act says, without what two people may word differently; what is no act is like nothing but itself.
pub(super) fn gist(entry: &Entry) -> Result<String, EntryId> {
    let Body::Act(kind, act) = &entry.body else {
        return Err(entry.id);
    };
    let act = Act { from: None, note: None, ..act.clone() };
    let body = Body::Act(*kind, act).to_canonical();
    body.map(|body| format!("{}{body}", entry.envelope.kind)).map_err(|_| entry.id)
}

/// Of the entries that stand for a subject, in order, the acts that are not counted: said to be recorded twice, while
/// an equal one of that day is counted. Where both phones marked each other's, the first one counts.
pub(super) fn twice(entries: &[&Arc<Entry>]) -> BTreeSet<EntryId> {
    let marked: BTreeSet<EntryId> = entries
        .iter()
        .filter_map(|entry| match &entry.body {
            Body::SameAct(link) => Some(link.entry),
            _ => None,
        })
        .collect();
    let mut left_out = BTreeSet::new();
    if marked.is_empty() {
        return left_out;
    }
    // Of the acts of one day that say the same: the first, and whether any but the marked ones is there.
    let mut alike: BTreeMap<(Date, String), (EntryId, bool)> = BTreeMap::new();
    let acts = || {
        entries.iter().filter_map(|entry| {
            let says = gist(entry).ok()?;
            Some((entry.id, (entry.envelope.happened.date(), says)))
        })
    };
    for (id, key) in acts() {
        alike.entry(key).or_insert((id, false)).1 |= !marked.contains(&id);
    }
    for (id, key) in acts().filter(|(id, _)| marked.contains(id)) {
        let (first, any_unmarked) = alike[&key];
        if any_unmarked || first != id {
            left_out.insert(id);
        }
    }
    left_out
}

/// Which shoot each shoot that was said to be another one is: the smallest id of all that are one.
pub(super) fn same_shoots(entries: &[&Arc<Entry>]) -> BTreeMap<Id, Id> {
    let mut joining = Joining::default();
    for entry in entries {
        let Body::SameAs(link) = &entry.body else {
            continue;
        };
        let shoots = entry.envelope.about.iter().filter(|id| id.is(Noun::Shoot));
        for shoot in shoots.filter(|_| link.to.is(Noun::Shoot)) {
            joining.join(*shoot, link.to);
        }
    }
    let others = |ids: &Vec<Id>| {
        let first = ids[0];
        let others: Vec<_> = ids[1..].iter().map(|id| (*id, first)).collect();
        others
    };
    joining.finish().iter().flat_map(others).collect()
}
