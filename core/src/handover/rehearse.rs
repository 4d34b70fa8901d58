//! Taking a file in, rehearsed before anything is written: a copy of the ledger with the file's entries is folded in
//! steps, and what was there before is compared with what would be there after.
//!
//! Whoever takes the steps may give up between any two of them, or stop the thread that takes them: a file that cannot
//! be folded within limits is not taken in, and nothing was written.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::{
    calendar::Date,
    care::{due, plan::planned},
    counted::Counted,
    ledger::{
        IdSet, Ledger, TAKE_BACK,
        body::Body,
        entry::Entry,
        id::{EntryId, Id, Noun},
    },
    nursery::{State, bulb::Fate},
};

/// Entries added, or subjects folded, in one step.
const IN_A_STEP: usize = 200;

/// Bulbs or records that may end without a second question: a handful.
const HANDFUL: usize = 5;

/// Records of one kind by one writer that stand here now and would not any more.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ending {
    /// Their kind.
    pub kind: String,
    /// Who wrote them.
    pub who: Id,
    /// How many would be taken back.
    pub n_taken_back: u32,
    /// How many would be replaced.
    pub n_replaced: u32,
}

/// What new records say of a bulb, by kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Brought {
    /// It is not known here yet.
    Bulb,
    /// It was looked at.
    Look,
    /// Something was done to it, or it was inspected.
    Work,
    /// Anything else: names, sizes, photos, notes, take-backs.
    Other,
}

/// Bulbs of which a file says something of one kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Brings {
    /// The kind.
    pub what: Brought,
    /// How many bulbs.
    pub n: u32,
    /// What the first few are called, in the order of their names; bulbs without a name are left out.
    pub names: Vec<String>,
}

/// Bulbs of one kind that are named.
const FEW: usize = 3;

/// What would be different after a file was taken in.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rehearsed {
    /// Bulbs that the new records are about, by what they say.
    pub brings: Vec<Brings>,
    /// Records that would end, whoever wrote them, by kind and writer.
    pub endings: Vec<Ending>,
    /// Bulbs that would have died.
    pub died: Vec<Id>,
    /// Bulbs that would have been sold, given away or withdrawn.
    pub left: Vec<Id>,
    /// Bulbs that would be missing.
    pub missing: Vec<Id>,
    /// Bulbs that nothing would be known of any more.
    pub gone: Vec<Id>,
    /// Bulbs that would be read as one with another that is here.
    pub joined: Vec<Id>,
    /// How many records stand here now.
    pub n_standing: u32,
    /// How many bulbs are here now.
    pub n_bulbs: u32,
    /// New records of days after tomorrow, which do not count until then.
    pub n_later: u32,
    /// The first and the last of these days.
    pub later_days: Option<(Date, Date)>,
}

impl Rehearsed {
    /// How many records would end.
    pub fn n_ended(&self) -> usize {
        let n = |ending: &Ending| (ending.n_taken_back + ending.n_replaced) as usize;
        self.endings.iter().map(n).sum()
    }

    /// How many bulbs would not be here any more.
    pub fn n_bulbs_ended(&self) -> usize {
        let ended = [&self.died, &self.left, &self.missing, &self.gone, &self.joined];
        ended.iter().map(|bulbs| bulbs.len()).sum()
    }

    /// Whether so much would end that a second question is due: more than a handful of bulbs, or more than a tenth of
    /// the records that stand or of the bulbs that are here.
    pub fn is_much(&self) -> bool {
        let (records, bulbs) = (self.n_ended(), self.n_bulbs_ended());
        bulbs > HANDFUL
            || (records > 1 && records * 10 > self.n_standing as usize)
            || bulbs * 10 > self.n_bulbs as usize
    }
}

/// A rehearsal under way.
#[derive(Debug)]
pub struct Rehearsal {
    at: At,
    ledger: Ledger,
    state: State,
    today: Date,
    here: std::vec::IntoIter<Arc<Entry>>,
    new: std::vec::IntoIter<Arc<Entry>>,
    n: usize,
    n_done: usize,
    before: Before,
    ended_by: BTreeMap<EntryId, bool>,
    /// What new entries say of which bulbs.
    brought: BTreeSet<(Brought, Id)>,
    found: Rehearsed,
}

/// What was there before.
#[derive(Debug, Default)]
struct Before {
    standing: IdSet<EntryId>,
    bulbs: BTreeMap<Id, Fate>,
    /// What new entries are about.
    changed: BTreeSet<Id>,
    /// Of these subjects, the entries that stand.
    of_changed: Vec<(Id, EntryId)>,
}

/// What comes next.
#[derive(Debug)]
enum At {
    Here,
    FoldHere(std::vec::IntoIter<Id>),
    New,
    FoldNew(std::vec::IntoIter<Id>),
    Due,
}

impl Rehearsal {
    /// Starts with the entries that are here and those that would be taken in, on a day.
    pub fn new(ledger: Id, here: Vec<Arc<Entry>>, new: Vec<Arc<Entry>>, today: Date) -> Self {
        let n = 2 * (here.len() + new.len()) + 1;
        Self {
            at: At::Here,
            ledger: Ledger::on(ledger, today),
            state: State::default(),
            today,
            here: here.into_iter(),
            new: new.into_iter(),
            n,
            n_done: 0,
            before: Before::default(),
            ended_by: BTreeMap::new(),
            brought: BTreeSet::new(),
            found: Rehearsed::default(),
        }
    }

    /// Takes one step; the answer after the last.
    pub fn step(&mut self) -> Option<Rehearsed> {
        self.n_done += IN_A_STEP;
        match &mut self.at {
            At::Here => {
                for entry in self.here.by_ref().take(IN_A_STEP) {
                    self.ledger.insert(entry);
                }
                if self.here.len() == 0 {
                    for entry in self.new.as_slice() {
                        let about = entry.envelope.about.iter().copied();
                        self.before.changed.extend(about);
                    }
                    self.at = At::FoldHere(subjects(self.ledger.subjects()));
                }
                None
            }
            At::FoldHere(subjects) => {
                let some: BTreeSet<Id> = subjects.by_ref().take(IN_A_STEP).collect();
                let last = subjects.len() == 0;
                self.state.refold(&self.ledger, &some);
                for subject in some {
                    let changed = self.before.changed.contains(&subject);
                    for entry in self.ledger.in_force(subject) {
                        self.before.standing.insert(entry.id);
                        if changed {
                            self.before.of_changed.push((subject, entry.id));
                        }
                    }
                }
                if last {
                    let bulbs = self.state.bulbs.values();
                    let bulbs = bulbs.map(|bulb| (bulb.id, bulb.fate.clone()));
                    self.before.bulbs = bulbs.collect();
                    self.at = At::New;
                }
                None
            }
            At::New => {
                let some: Vec<_> = self.new.by_ref().take(IN_A_STEP).collect();
                for entry in some {
                    self.note_new(&entry);
                    self.ledger.insert(entry);
                }
                if self.new.len() == 0 {
                    let changed = std::mem::take(&mut self.before.changed);
                    self.at = At::FoldNew(subjects(changed));
                }
                None
            }
            At::FoldNew(subjects) => {
                let some: BTreeSet<Id> = subjects.by_ref().take(IN_A_STEP).collect();
                let last = subjects.len() == 0;
                self.state.refold(&self.ledger, &some);
                if last {
                    self.at = At::Due;
                }
                None
            }
            At::Due => {
                // What the first screen works out, so that it is known to come up.
                let mut due = due(&self.state, self.today);
                due.add(&self.state, planned(&self.state, self.today));
                self.compare();
                Some(std::mem::take(&mut self.found))
            }
        }
    }

    /// How far it is, 0 to 1000; about.
    pub fn done_permille(&self) -> u32 {
        ((self.n_done * 1000 / self.n).min(999)) as u32
    }

    fn note_new(&mut self, entry: &Entry) {
        let is_take_back = entry.envelope.kind == TAKE_BACK;
        for target in &entry.envelope.supersedes {
            *self.ended_by.entry(*target).or_default() |= is_take_back;
        }
        if self.ledger.is_later(entry) {
            let day = entry.envelope.happened.date();
            let (first, last) = self.found.later_days.unwrap_or((day, day));
            self.found.later_days = Some((first.min(day), last.max(day)));
            self.found.n_later += 1;
        }
        let what = match &entry.body {
            Body::Look(_) | Body::Sweep(_) => Brought::Look,
            Body::Act(..) | Body::Inspection(_) => Brought::Work,
            _ => Brought::Other,
        };
        let bulbs = entry.envelope.about.iter().filter(|id| id.is(Noun::Bulb));
        self.brought.extend(bulbs.map(|bulb| (what, *bulb)));
    }

    fn compare(&mut self) {
        self.compare_records();
        self.compare_bulbs();
        self.name_bulbs();
        self.found.n_standing = self.before.standing.len() as u32;
        let here = self.before.bulbs.values();
        self.found.n_bulbs = here.filter(|fate| **fate == Fate::Here).count() as u32;
    }

    /// Which records stood for a subject before and do not any more.
    fn compare_records(&mut self) {
        let mut ended: BTreeSet<EntryId> = BTreeSet::new();
        let mut of: Option<Id> = None;
        let mut stands: IdSet<EntryId> = IdSet::default();
        // Those of one subject stand beside each other.
        for (subject, id) in &self.before.of_changed {
            if of != Some(*subject) {
                of = Some(*subject);
                stands = self.ledger.in_force(*subject).iter().map(|e| e.id).collect();
            }
            if !stands.contains(id) {
                ended.insert(*id);
            }
        }
        let mut endings: BTreeMap<(String, Id), (u32, u32)> = BTreeMap::new();
        for entry in ended.iter().filter_map(|id| self.ledger.get(*id)) {
            let of = (entry.envelope.kind.clone(), entry.envelope.who);
            let (taken_back, replaced) = endings.entry(of).or_default();
            // What ends without being named had been taken back, and that is taken back now.
            if self.ended_by.get(&entry.id).is_none_or(|back| *back) {
                *taken_back += 1;
            } else {
                *replaced += 1;
            }
        }
        let endings = endings.into_iter();
        self.found.endings = endings
            .map(|((kind, who), (n_taken_back, n_replaced))| Ending { kind, who, n_taken_back, n_replaced })
            .collect();
    }

    /// Which bulbs the new entries are about. One that is not here yet is new, and what else they say of it is part of that.
    fn name_bulbs(&mut self) {
        let mut by_what: BTreeMap<Brought, BTreeSet<Id>> = BTreeMap::new();
        for (what, bulb) in std::mem::take(&mut self.brought) {
            let Some(bulb) = self.state.bulb(&bulb) else { continue };
            let known = bulb.ids().iter().any(|id| self.before.bulbs.contains_key(id));
            by_what.entry(if known { what } else { Brought::Bulb }).or_default().insert(bulb.id);
        }
        let brings = by_what.into_iter().map(|(what, bulbs)| {
            let names = bulbs.iter().map(|bulb| self.state.name_of(*bulb)).filter(|name| !name.is_empty());
            let mut names: Vec<&str> = names.collect();
            names.sort_by_key(|name| Counted(name.to_lowercase()));
            let names = names.into_iter().take(FEW).map(str::to_owned).collect();
            Brings { what, n: bulbs.len() as u32, names }
        });
        self.found.brings = brings.collect();
    }

    fn compare_bulbs(&mut self) {
        for (id, before) in &self.before.bulbs {
            let now = self.state.bulb(id);
            let found = &mut self.found;
            match now {
                None => found.gone.push(*id),
                Some(now) if now.id != *id => found.joined.push(*id),
                Some(now) if *before != Fate::Here || now.fate == Fate::Here => {}
                Some(now) => match now.fate {
                    Fate::Here => {}
                    Fate::Died { .. } => found.died.push(*id),
                    Fate::Left { .. } => found.left.push(*id),
                    Fate::Missing { .. } => found.missing.push(*id),
                },
            }
        }
    }
}

fn subjects(subjects: BTreeSet<Id>) -> std::vec::IntoIter<Id> {
    let subjects: Vec<Id> = subjects.into_iter().collect();
    subjects.into_iter()
}

/// Rehearses at once.
pub fn rehearse(ledger: Id, here: Vec<Arc<Entry>>, new: Vec<Arc<Entry>>, today: Date) -> Rehearsed {
    let mut rehearsal = Rehearsal::new(ledger, here, new, today);
    loop {
        if let Some(found) = rehearsal.step() {
            return found;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    const STORY: &str = "0 mia place pl_1 Bench-2
        0 mia lot lo_1 Red
        0 mia bulb b_1 lo_1 in=pl_1
        0 mia bulb b_2 lo_1 in=pl_1
        0 ben bulb b_3 lo_1 in=pl_1
        0 ben bulb b_4 lo_1 in=pl_1
        look: 5 mia look b_1 clear
        other: 5 ben look b_2 clear
        6 mia watered b_1,b_2,b_3,b_4
        back: 7 ben take-back b_2 ~other";

    /// What a file with these lines would change in the story, on day 10.
    fn found(lines: &str) -> Rehearsed {
        let mut world = World::of(STORY);
        let n = world.ledger.len();
        world.add(lines);
        let (here, new) = world.ledger.arrived().split_at(n);
        rehearse(world.ledger.id(), here.to_vec(), new.to_vec(), day(10))
    }

    fn told(found: &Rehearsed) -> Vec<(&str, String, u32, u32)> {
        let endings = found.endings.iter();
        let told = endings.map(|e| (&*e.kind, e.who.to_string(), e.n_taken_back, e.n_replaced));
        told.collect()
    }

    #[test]
    fn what_would_end_is_told_by_kind_and_writer_whoever_wrote_it() {
        let nothing = found("8 mia look b_1 clear");
        assert_eq!((nothing.n_ended(), nothing.n_bulbs_ended()), (0, 0));
        assert!(!nothing.is_much());
        assert_eq!(nothing.n_bulbs, 4);
        let world = World::of(STORY);
        let look = world.ledger.get(world.named("look")).unwrap();
        let mia = look.envelope.who.to_string();
        let taken = found("8 ben take-back b_1 ~look");
        assert_eq!(told(&taken), [("look", mia, 1, 0)]);
        // What was taken back stands again, and nothing ends.
        assert!(told(&found("8 mia take-back b_2 ~back")).is_empty());
        let again = found("x: 8 mia take-back b_2 ~back\n9 ben take-back b_2 ~other");
        assert!(told(&again).is_empty(), "{again:?}");
    }

    #[test]
    fn bulbs_that_would_die_leave_or_become_one_are_named() {
        let found = found("8 ben died b_1\n8 ben left b_2 how=sold\n8 ben json b_3 same-as {\"to\":\"b_4\"}");
        assert_eq!(found.died, [id("b_1")]);
        assert_eq!(found.left, [id("b_2")]);
        assert_eq!(found.joined, [id("b_4")]);
        assert!(found.is_much(), "three of four bulbs");
    }

    #[test]
    fn bulbs_that_a_file_is_about_are_named_by_what_it_says_of_them() {
        let told = |lines: &str| {
            let brings = found(lines).brings.into_iter();
            brings.map(|one| (one.what, one.n, one.names.join(" "))).collect::<Vec<_>>()
        };
        let new = "8 ben bulb b_12,b_13,b_14,b_15 lo_1
            8 ben tag b_12 R12\n8 ben tag b_13 R2\n8 ben tag b_14 R4\n8 ben tag b_15 R10
            9 ben look b_12 clear\n9 ben watered b_12,b_1";
        // What is said of a new bulb besides is part of its being new.
        let [added, worked] = told(new).try_into().expect("two kinds");
        assert_eq!(added, (Brought::Bulb, 4, "R2 R4 R10".to_owned()));
        assert_eq!((worked.0, worked.1), (Brought::Work, 1));
        let others = told("8 ben tag b_1 A1\n8 ben look b_1,b_2 clear\n8 ben place pl_2 Cellar");
        let others: Vec<_> = others.iter().map(|(what, n, _)| (*what, *n)).collect();
        assert_eq!(others, [(Brought::Look, 2), (Brought::Other, 1)]);
        assert!(told("8 ben place pl_2 Cellar").is_empty());
    }

    #[test]
    fn what_is_dated_after_tomorrow_ends_nothing_yet() {
        let later = found("12 ben died b_1\n300 ben left b_2 how=sold\n11 ben look b_3 clear");
        assert_eq!((later.n_bulbs_ended(), later.n_later), (0, 2));
        assert_eq!(later.later_days, Some((day(12), day(300))));
    }
}
