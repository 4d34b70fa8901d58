//! A bulb folded from the entries about it, in order.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use serde::{Deserialize, Serialize};

use super::{
    bulb::{Alias, Bulb, End, Fate, JobNote, PhotoOf},
    cycle::{Cycle, Seen},
    joined,
};
use crate::{
    calendar::{Date, Happened},
    habits::WATCH_AGAIN_DAYS,
    inspect::{self, Verdict},
    ledger::{
        Ledger, Register,
        body::{Act, ActKind, Body, Counted, Finding, Leaves, LeftHow, Look, Measured, Nature, Neck, ShootKind, Way},
        entry::{Entry, HybridTime},
        id::{EntryId, Id},
    },
    sight::marks,
};

/// What folding on from a bulb needs beside the bulb.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Mark {
    /// Where the last entry that was folded stands in order.
    pub(super) last: Option<(Happened, HybridTime, EntryId)>,
    /// What proofs said of shoots, in order.
    pub(super) proofs: Vec<(Id, ShootKind, EntryId)>,
    /// What calls said of shoots, in order.
    pub(super) calls: Vec<(Id, u32, Date)>,
    /// Whether a link says that acts or shoots are one: then everything is folded anew.
    pub(super) linked: bool,
}

impl Mark {
    /// The mark after all entries about a bulb.
    pub(super) fn of(ledger: &Ledger, bulb: Id) -> Self {
        let mut mark = Self::default();
        let standing = ledger.in_force(bulb);
        for entry in &standing {
            mark.take(entry);
        }
        let joins = |body: &Body| matches!(body, Body::SameAct(_) | Body::SameAs(_));
        mark.linked = standing.iter().any(|entry| joins(&entry.body));
        // What the program said changes no bulb, so that a look written down after it is late for nothing.
        let said = |entry: &&&Arc<Entry>| matches!(entry.body, Body::Shown(_));
        mark.last = standing.iter().rfind(|entry| !said(entry)).map(|entry| {
            let (happened, hlc, id) = entry.order();
            (happened.clone(), hlc, id)
        });
        mark
    }

    fn take(&mut self, entry: &Entry) {
        match &entry.body {
            Body::Proof(proof) => self.proofs.push((proof.shoot, proof.kind, entry.id)),
            Body::Call(call) => {
                let call = (call.shoot, call.scape_permille, call.again);
                self.calls.push(call);
            }
            _ => {}
        }
    }
}

/// The first that says something: names given to one bulb under several ids are no disagreement.
fn first_said(names: Vec<Register<String>>) -> Register<String> {
    let mut said = names.into_iter().filter(|name| *name != Register::Unset);
    said.next().unwrap_or_default()
}

/// When the first record that these ids are a bulb was written, and the place of the id in it. A lot said anew is a
/// later record of that kind.
fn added(ledger: &Ledger, ids: &[Id]) -> Option<(HybridTime, usize)> {
    let of = |id: &Id| {
        let id = *id;
        let entered = ledger.about(id).filter(|entry| matches!(entry.body, Body::Bulb(_)));
        entered.filter_map(move |entry| {
            let at = entry.envelope.about.iter().position(|known| *known == id)?;
            Some((entry.envelope.hlc, at))
        })
    };
    ids.iter().flat_map(of).min()
}

/// Whether what an entry says was known at the end of a day. Names and lots are as they are known now.
fn was_known_on(entry: &Entry, day: Date) -> bool {
    let timeless = match Body::nature_of(&entry.envelope.kind) {
        Some(Nature::Register) => true,
        // What a shoot turned out to be was not known before.
        Some(Nature::Link) => !matches!(entry.body, Body::Proof(_)),
        _ => false,
    };
    timeless || entry.envelope.happened.date() <= day
}

/// Whether these entries, which stand, say that there is such a bulb.
fn are_a_bulb(ledger: &Ledger, ids: &[Id], entries: &[&Arc<Entry>]) -> bool {
    let is = |entry: &Entry| matches!(entry.body, Body::Bulb(_));
    // A name alone makes a bulb only while nothing else was ever said of it: once all that says what it is was taken
    // back, its name, place and looks are those of a bulb that is not there.
    let was_entered = || ids.iter().flat_map(|id| ledger.history(*id)).any(|entry| is(entry));
    entries.iter().any(|entry| is(entry))
        || entries.iter().any(|entry| matches!(entry.body, Body::BulbName(_))) && !was_entered()
}

impl Bulb {
    /// Folds the entries about a bulb, under whichever of its ids; nothing when none says that it is one.
    pub(super) fn fold(ledger: &Ledger, ids: &[Id]) -> Option<Self> {
        Self::fold_until(ledger, ids, None)
    }

    /// The bulb from what was said of it until the end of a day, or from all.
    pub(super) fn fold_until(ledger: &Ledger, ids: &[Id], last_day: Option<Date>) -> Option<Self> {
        let mut entries = ledger.in_force_of_all(ids);
        let twice = joined::twice(&entries);
        entries.retain(|entry| !twice.contains(&entry.id));
        if let Some(last_day) = last_day {
            entries.retain(|entry| was_known_on(entry, last_day));
        }
        if !are_a_bulb(ledger, ids, &entries) {
            return None;
        }
        let mut bulb = Self::named(ledger, ids, &entries)?;
        bulb.go_on(Mark::default(), &entries);
        let same = joined::same_shoots(&entries);
        if !same.is_empty() {
            bulb.join_shoots(&same, &entries);
        }
        Some(bulb)
    }

    /// The bulb with its names and its lot, before anything was done or seen.
    fn named(ledger: &Ledger, ids: &[Id], entries: &[&Arc<Entry>]) -> Option<Self> {
        let heads = |kind: &str, slot: &str| -> Vec<&Arc<Entry>> {
            let fits = |entry: &&&Arc<Entry>| entry.envelope.kind == kind && entry.envelope.slot == slot;
            entries.iter().filter(fits).copied().collect()
        };
        let name = |body: &Body| match body {
            Body::BulbName(named) => Some(named.name.clone()),
            _ => None,
        };
        let names = |slot: &str| -> Vec<Register<String>> {
            if ids.len() == 1 {
                return vec![Register::of_heads(&heads("bulb-name", slot), name)];
            }
            let of = |id: &Id| Register::of_heads(&ledger.heads(*id, "bulb-name", slot), name);
            ids.iter().map(of).collect()
        };
        let (tags, own_names) = (names("tag"), names("own"));
        let also = ids.iter().zip(tags.iter().zip(&own_names)).skip(1);
        Some(Self {
            id: *ids.first()?,
            also: also
                .map(|(id, (tag, own_name))| Alias {
                    id: *id,
                    tag: tag.shown().cloned(),
                    own_name: own_name.shown().cloned(),
                })
                .collect(),
            lot: Register::of_heads(&heads("bulb", ""), |body| match body {
                Body::Bulb(bulb) => Some(bulb.lot),
                _ => None,
            }),
            tag: first_said(tags),
            own_name: first_said(own_names),
            added: added(ledger, ids),
            place: None,
            container: None,
            places: Vec::new(),
            pots: Vec::new(),
            circumference_mm: None,
            cycles: vec![Cycle::new(None)],
            fate: Fate::Here,
            ends: Vec::new(),
            put_aside: None,
            inspect_again: None,
            watch: None,
            mother: None,
            n_leaves: None,
            photos: Vec::new(),
            last_acts: BTreeMap::new(),
            jobs: Vec::new(),
            inspected: None,
            sprouted: None,
        })
    }

    /// Reads shoots that were said to be one as one.
    fn join_shoots(&mut self, same: &BTreeMap<Id, Id>, entries: &[&Arc<Entry>]) {
        let name = |id: &mut Id| *id = same.get(id).copied().unwrap_or(*id);
        let mut mark = Mark::default();
        for entry in entries {
            mark.take(entry);
        }
        mark.proofs.iter_mut().for_each(|(id, ..)| name(id));
        mark.calls.iter_mut().for_each(|(id, ..)| name(id));
        for cycle in &mut self.cycles {
            for seen in &mut cycle.looks {
                let shoots = &mut seen.look.shoots;
                shoots.iter_mut().for_each(|shoot| name(&mut shoot.id));
                // Both may have been listed: the one further on was seen better.
                shoots.sort_by_key(|shoot| std::cmp::Reverse(shoot.stage));
                let mut known = BTreeSet::new();
                shoots.retain(|shoot| known.insert(shoot.id));
                shoots.sort_by_key(|shoot| (shoot.ordinal, shoot.id));
            }
        }
        resolve_shoots(&mut self.cycles, &mark);
    }

    /// Takes further entries, which stand and come after all that `mark` knows of, in order.
    pub(super) fn go_on(&mut self, mut mark: Mark, entries: &[&Arc<Entry>]) {
        for entry in entries {
            mark.take(entry);
            self.take(entry);
        }
        resolve_shoots(&mut self.cycles, &mark);
        if self.end_is_disputed() {
            // Which of the records is true is not known, so none of them says how far the bulb was.
            for at in 0..self.cycles.len() {
                self.say_end(at, None);
            }
        }
    }

    /// What a cycle is known to have come to by this record of its end, or by none.
    pub(super) fn say_end(&mut self, at: usize, end: Option<&End>) {
        if !self.ends.iter().any(|end| end.cycle == at) {
            return;
        }
        let cycle = &mut self.cycles[at];
        let on = end.and_then(|end| end.fate.since());
        cycle.left_at = on.zip(end.and_then(|end| end.stage));
        let marked = cycle.acts.iter().find(|(_, act)| *act == ActKind::FitToSell);
        let marked = marked.map(|(on, _)| *on);
        cycle.fit = marked.or(on.filter(|_| end.is_some_and(|end| end.fit)));
    }

    fn take(&mut self, entry: &Entry) {
        let at = &entry.envelope.happened;
        let see = |look: Look, sweep: bool| Seen { entry: entry.id, at: at.clone(), look, sweep };
        match &entry.body {
            Body::Act(kind, act) => self.take_act(entry.id, *kind, act, at.date()),
            Body::Look(look) => self.cycle_mut().looks.push(see(look.clone(), false)),
            Body::Sweep(sweep) => {
                let look = Look {
                    neck: Neck::Clear,
                    leaves: Leaves::NotLookedAt,
                    n_leaves: None,
                    shoots: Vec::new(),
                    way: Way::Others,
                    walk: Some(sweep.place),
                };
                self.cycle_mut().looks.push(see(look, true));
            }
            Body::Inspection(inspection) => {
                self.inspected = Some(at.date());
                let days = &mut self.cycle_mut().inspected;
                if days.last() != Some(&at.date()) {
                    days.push(at.date());
                }
                if inspection.findings.contains(&Finding::Sprout) {
                    self.sprouted = self.inspected;
                }
                self.watch = inspection.watch.then(|| (at.date(), inspection.findings.clone()));
                let usual = || at.date().add_days(WATCH_AGAIN_DAYS).ok().filter(|_| inspection.watch);
                self.inspect_again = inspection.again.or_else(usual);
                // Asked piece by piece and found sound, it is back among the others.
                if !inspection.checked.is_empty()
                    && !inspection.watch
                    && inspect::of(inspection).verdict == Verdict::Sound
                {
                    self.put_aside = None;
                }
            }
            Body::Measure(measure) if measure.what == Measured::Circumference => {
                if let Some(mm) = measure.mm {
                    self.circumference_mm = Some((mm, measure.mm_to.unwrap_or(mm)));
                }
            }
            Body::PhotoMarks(marks) => {
                // Of a bulb that was measured by tape a photo knows nothing better, nor of one that was graded more closely.
                let width = |(low, high): (i64, i64)| high - low;
                let found = marks::circumference_mm(marks);
                let better =
                    found.filter(|found| self.circumference_mm.is_none_or(|known| width(*found) < width(known)));
                self.circumference_mm = better.or(self.circumference_mm);
            }
            Body::Count(count) if count.what == Counted::Leaves => self.n_leaves = Some((at.date(), count.n)),
            Body::Photo(photo) => {
                self.photos.push(PhotoOf { entry: entry.id, at: at.clone(), photo: photo.clone() });
            }
            Body::OffsetOf(link) => self.mother = Some(link.to),
            _ => {}
        }
    }

    fn take_act(&mut self, entry: EntryId, kind: ActKind, act: &Act, on: Date) {
        self.last_acts.insert(kind, on);
        match kind {
            // Two phones may both write down that a cycle began; a cycle of no days is none.
            ActKind::CycleBegan if self.cycle().began == Some(on) => {}
            ActKind::CycleBegan => {
                if let Some(last) = self.cycles.last_mut()
                    && last.ended.is_none()
                {
                    last.ended = Some(on);
                }
                // The silent cycle of a bulb that nothing was recorded for before is no cycle.
                if self.cycles.len() == 1 && self.cycles[0].is_blank() {
                    self.cycles.clear();
                }
                self.cycles.push(Cycle::new(Some(on)));
            }
            ActKind::CycleEnded => self.cycle_mut().ended = Some(on),
            ActKind::Left => {
                let cycle = self.cycle_mut();
                cycle.ended = Some(on);
                cycle.left_at = act.stage.map(|stage| (on, stage));
                if act.fit && cycle.fit.is_none() {
                    cycle.fit = Some(on);
                }
                self.fate = Fate::Left { on, how: act.how.unwrap_or(LeftHow::Withdrawn) };
            }
            ActKind::Died => {
                self.cycle_mut().ended = Some(on);
                self.fate = Fate::Died { on, cause: act.cause.clone().unwrap_or_default() };
            }
            ActKind::Missing => {
                self.cycle_mut().ended = Some(on);
                self.fate = Fate::Missing { on };
            }
            ActKind::FitToSell => {
                let cycle = self.cycle_mut();
                cycle.fit = cycle.fit.or(Some(on));
            }
            ActKind::PutAside => self.put_aside = Some(on),
            ActKind::Skipped | ActKind::Postponed | ActKind::JobDone => {
                self.jobs.push(JobNote { on, kind, job: act.job.clone(), until: act.until })
            }
            ActKind::Unpotted => {
                self.container = None;
                self.pots.push((on, None));
            }
            _ => {}
        }
        if matches!(kind, ActKind::Left | ActKind::Died | ActKind::Missing) {
            self.ends.push(End {
                entry,
                cycle: self.cycles.len().saturating_sub(1),
                fate: self.fate.clone(),
                stage: act.stage.filter(|_| kind == ActKind::Left),
                fit: act.fit && kind == ActKind::Left,
            });
        }
        if let Some(place) = act.place {
            self.place = Some(place);
            self.places.push((on, place));
        }
        if kind == ActKind::Potted
            && let Some(container) = act.container
        {
            self.container = Some((container, act.position));
            self.pots.push((on, Some(container)));
        }
        self.cycle_mut().acts.push((on, kind));
    }

    fn cycle_mut(&mut self) -> &mut Cycle {
        if self.cycles.is_empty() {
            self.cycles.push(Cycle::new(None));
        }
        // The line above made sure that there is one.
        let last = self.cycles.len() - 1;
        &mut self.cycles[last]
    }
}

fn resolve_shoots(cycles: &mut [Cycle], mark: &Mark) {
    let mut proofs: BTreeMap<Id, Vec<(ShootKind, EntryId)>> = BTreeMap::new();
    for (shoot, kind, entry) in &mark.proofs {
        proofs.entry(*shoot).or_default().push((*kind, *entry));
    }
    let calls = mark.calls.iter();
    let calls: BTreeMap<Id, (u32, Date)> = calls.map(|(id, p, again)| (*id, (*p, *again))).collect();
    for cycle in cycles {
        cycle.resolve_shoots(&proofs, &calls);
    }
}
