//! Which entries stand, decided for one subject at a time from envelopes alone.
//!
//! A take-back counts unless it was taken back itself, which may go on for any number of layers. All entries about a
//! subject are decided together, each after everything that takes it back, so that the cost is that of the names in
//! their `supersedes`, whatever the shape, and nothing is decided by recursion.

use std::sync::Arc;

use super::{IdSet, Ledger, Map, TAKE_BACK};
use crate::ledger::{entry::Entry, id::Id};

/// What was decided for the entries about one subject, by their places in the order of arrival. Empty when none of them
/// names another one: then all stand.
#[derive(Clone, Debug, Default)]
struct Decided {
    gone: Vec<bool>,
    taken_back: Vec<bool>,
}

impl Decided {
    fn is_in_force(&self, place: usize) -> bool {
        !self.gone.get(place).is_some_and(|gone| *gone)
    }

    fn is_taken_back(&self, place: usize) -> bool {
        self.taken_back.get(place).is_some_and(|back| *back)
    }
}

/// Decides each subject once, however often it is asked about: for whoever asks about many entries.
#[derive(Debug)]
pub struct Decisions<'a> {
    ledger: &'a Ledger,
    decided: Map<Id, Decided>,
}

impl Decisions<'_> {
    /// Whether the entry still stands for this subject, as [`Ledger::is_in_force`] says.
    pub fn is_in_force(&mut self, entry: &Entry, subject: Id) -> bool {
        let ledger = self.ledger;
        if !ledger.is_named(entry) {
            return true;
        }
        let decided = self.decided.entry(subject);
        let decided = decided.or_insert_with(|| ledger.decide(subject));
        ledger.is_in_force_by(decided, entry, subject)
    }

    /// Whether the entry still stands for any of its subjects.
    pub fn is_in_force_for_any(&mut self, entry: &Entry) -> bool {
        let about = &entry.envelope.about;
        about.iter().any(|subject| self.is_in_force(entry, *subject))
    }
}

impl Ledger {
    /// Decisions on many entries of this ledger.
    pub fn decisions(&self) -> Decisions<'_> {
        Decisions { ledger: self, decided: Map::default() }
    }

    /// Whether the entry still stands for this subject: nothing that is in force replaced it or took it back.
    ///
    /// What was taken back is no longer in force: a value that it had replaced stands again. This decides the whole
    /// subject; ask [`Ledger::decisions`] about many entries.
    pub fn is_in_force(&self, entry: &Entry, subject: Id) -> bool {
        !self.is_named(entry) || self.is_in_force_by(&self.decide(subject), entry, subject)
    }

    /// The entries that replace this one or take it back, for any of its subjects. What was taken back itself does
    /// neither any more.
    pub fn successors(&self, entry: &Entry) -> Vec<&Arc<Entry>> {
        let mut found = Vec::new();
        let mut known = IdSet::default();
        let Some(named_by) = self.named_by.get(&entry.id) else {
            return found;
        };
        for subject in &entry.envelope.about {
            let decided = self.decide(*subject);
            for (place, by) in self.among(*subject, named_by) {
                if may_replace(by, entry) && !decided.is_taken_back(place) && known.insert(by.id) {
                    found.push(by);
                }
            }
        }
        found
    }

    /// The entries about a subject for which `wanted` holds and that stand, in the order of their arrival. Take-backs
    /// are left out.
    pub(super) fn in_force_now(&self, subject: Id, wanted: impl Fn(&Entry) -> bool) -> Vec<&Arc<Entry>> {
        let decided = self.decide(subject);
        let about = self.places_about(subject).iter().enumerate();
        about
            .map(|(place, at)| (place, &self.entries[*at as usize]))
            .filter(|(place, entry)| wanted(entry) && entry.envelope.kind != TAKE_BACK && decided.is_in_force(*place))
            .map(|(_, entry)| entry)
            .collect()
    }

    /// Whether any entry here names this one.
    fn is_named(&self, entry: &Entry) -> bool {
        self.named_by.contains_key(&entry.id)
    }

    /// Of these entries, those about a subject, with their places among all about it.
    fn among<'a>(&'a self, subject: Id, entries: &'a [u32]) -> impl Iterator<Item = (usize, &'a Arc<Entry>)> {
        let about = self.places_about(subject);
        entries.iter().filter_map(move |at| {
            let place = about.binary_search(at).ok()?;
            Some((place, &self.entries[*at as usize]))
        })
    }

    fn is_in_force_by(&self, decided: &Decided, entry: &Entry, subject: Id) -> bool {
        let at = self.by_id.get(&entry.id);
        match at.map(|at| self.places_about(subject).binary_search(at)) {
            Some(Ok(place)) => decided.is_in_force(place),
            // Not here or not counted yet, but named already: nothing that names it was decided with it.
            _ => {
                let named_by = self.named_by.get(&entry.id).map_or(&[][..], Vec::as_slice);
                !entry.envelope.about.contains(&subject)
                    || !self
                        .among(subject, named_by)
                        .any(|(place, by)| may_replace(by, entry) && !decided.is_taken_back(place))
            }
        }
    }

    /// Decides which entries about a subject stand.
    ///
    /// An entry can only name entries that were there when it was hashed, so no chain of names closes; should rows of a
    /// garbled storage close one, what is on it counts as not taken back.
    fn decide(&self, subject: Id) -> Decided {
        let about = self.places_about(subject);
        let names = self.names_among(about);
        if names.is_empty() {
            return Decided::default();
        }
        let takes_back = |place: usize| self.entries[about[place] as usize].envelope.kind == TAKE_BACK;
        // How many take-backs that name an entry are not decided yet.
        let mut n_open = vec![0_u32; about.len()];
        for (_, target) in names.iter().filter(|(by, _)| takes_back(*by)) {
            n_open[*target] += 1;
        }
        let mut taken_back = vec![false; about.len()];
        let mut ready: Vec<usize> =
            (0..about.len()).filter(|place| n_open[*place] == 0 && takes_back(*place)).collect();
        while let Some(by) = ready.pop() {
            let from = names.partition_point(|(known, _)| *known < by);
            for (_, target) in names[from..].iter().take_while(|(known, _)| *known == by) {
                taken_back[*target] |= !taken_back[by];
                n_open[*target] -= 1;
                if n_open[*target] == 0 && takes_back(*target) {
                    ready.push(*target);
                }
            }
        }
        let mut gone = vec![false; about.len()];
        for (by, target) in &names {
            gone[*target] |= !taken_back[*by];
        }
        Decided { gone, taken_back }
    }

    /// Who names whom among these entries, by their places in this list, in the order of those who name: found from the
    /// side with fewer names, since one record may name hundreds that are about other things, and may be named by
    /// thousands.
    fn names_among(&self, about: &[u32]) -> Vec<(usize, usize)> {
        let entry = |at: &u32| &self.entries[*at as usize];
        let named_by = |at: &u32| -> &[u32] {
            let named_by = self.named_by.get(&entry(at).id);
            named_by.map_or(&[], Vec::as_slice)
        };
        let may = |by: usize, target: usize| may_replace(entry(&about[by]), entry(&about[target]));
        let n_named: usize = about.iter().map(|at| entry(at).envelope.supersedes.len()).sum();
        let mut names = Vec::new();
        if n_named == 0 {
            return names;
        }
        let n_naming: usize = about.iter().map(|at| named_by(at).len()).sum();
        if n_named <= n_naming {
            for (by, at) in about.iter().enumerate() {
                let targets = entry(at).envelope.supersedes.iter();
                let targets = targets.filter_map(|id| self.by_id.get(id));
                let places = targets.filter_map(|target| about.binary_search(target).ok());
                names.extend(places.filter(|target| may(by, *target)).map(|target| (by, target)));
            }
        } else {
            for (target, at) in about.iter().enumerate() {
                let places = named_by(at).iter();
                let places = places.filter_map(|by| about.binary_search(by).ok());
                names.extend(places.filter(|by| may(*by, target)).map(|by| (by, target)));
            }
            names.sort_unstable();
        }
        names
    }
}

/// Whether an entry may replace another one or take it back, for a subject that both are about.
pub(super) fn may_replace(by: &Entry, target: &Entry) -> bool {
    by.envelope.kind == target.envelope.kind || by.envelope.kind == TAKE_BACK
}
