//! The whole nursery: each subject folded by itself from its own entries, and the indexes between them.
//!
//! [`State::refold`] replaces the subjects it is given and nothing else, so that one more entry costs what its own
//! subjects' entries cost. Folding a ledger whole and folding it entry by entry give equal states.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use serde::{Deserialize, Serialize};

use super::{
    bulb::Bulb,
    contrary::{self, Contrary},
    joined::{self, Ones},
};
use crate::{
    calendar::{Date, Happened},
    counted::Counted,
    ledger::{
        Ledger, Register,
        body::{
            Act, ActKind, Allotment, Body, CareJob, Climate, ContainerBody, DueDays, DueWindow, Forcing, Light,
            LotBody, Nature, Person, PlaceBody, Question, Recipe, Rule, RunBody, Tallies, Treatment,
        },
        entry::{Entry, HybridTime},
        id::{EntryId, Id, Noun},
    },
    tag::{Tag, suggestions},
};

/// The register of a subject whose bodies are of this member of [`Body`].
macro_rules! register {
    ($ledger:expr, $id:expr, $member:ident) => {
        register($ledger, $id, |body| match body {
            Body::$member(said) => Some(said),
            _ => None,
        })
    };
}

/// A place and what is known of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// Name, kind, covers.
    pub body: Register<PlaceBody>,
    /// Order of bulbs, as last set.
    pub order: Register<Vec<Id>>,
    /// Readings of temperature and humidity.
    pub climate: Vec<(Happened, Climate)>,
    /// Readings of light.
    pub light: Vec<(Happened, Light)>,
}

/// A trial.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trial {
    /// What it asks.
    pub question: Register<Question>,
}

/// One run of a trial.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Run {
    /// Trial, ordinal, start.
    pub body: Register<RunBody>,
    /// Success rule.
    pub rule: Register<Rule>,
    /// When each rule and due window was written that says something else than the one before it, in order; the first
    /// of each is none. A rule changed after the first look is told beside the result.
    pub changed: Vec<HybridTime>,
    /// When rule and due window were first written, whichever was later.
    pub fixed: Option<HybridTime>,
    /// Due window.
    pub window: Register<DueWindow>,
    /// Due window as days after the start, when it is counted from there.
    pub due_days: Register<DueDays>,
    /// Which unit is in which group.
    pub allotment: Register<Allotment>,
    /// Counts by group from a notebook.
    pub tallies: Register<Tallies>,
    /// When it started.
    pub started: Option<Date>,
    /// When it was closed.
    pub closed: Option<Date>,
}

impl Run {
    /// Started and not closed.
    pub fn is_running(&self) -> bool {
        self.started.is_some() && self.closed.is_none()
    }

    /// The day it started, or is planned to.
    pub fn start(&self) -> Option<Date> {
        self.started.or_else(|| self.body.shown().map(|body| body.start))
    }

    /// Units of the allotment that computations may use; none while two allotments disagree.
    pub fn units(&self) -> &[Id] {
        self.allotment.settled().map_or(&[], |allotment| &allotment.units)
    }
}

/// A job of a care plan, as its register tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// What it is for: the ledger, a place, a treatment or a run.
    pub subject: Id,
    /// Which job.
    pub slot: String,
    /// Since when it is in the plan, without a break: it cannot have been left undone before.
    pub since: Date,
    /// What it says.
    pub job: Register<CareJob>,
}

/// A register with values that differ.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Disagreement {
    /// Of what.
    pub subject: Id,
    /// Of which kind.
    pub kind: String,
    /// Which of several of a kind.
    pub slot: String,
}

/// The nursery.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct State {
    /// Its name.
    pub name: Register<String>,
    /// Its latitude in tenths of a degree, north positive.
    pub latitude_decideg: Register<i64>,
    /// Persons who record.
    pub persons: BTreeMap<Id, Register<Person>>,
    /// Places.
    pub places: BTreeMap<Id, Place>,
    /// Lots.
    pub lots: BTreeMap<Id, Register<LotBody>>,
    /// Containers.
    pub containers: BTreeMap<Id, Register<ContainerBody>>,
    /// Mixes by parts.
    pub recipes: BTreeMap<Id, Register<Recipe>>,
    /// Bulbs.
    pub bulbs: BTreeMap<Id, Bulb>,
    /// Trials.
    pub trials: BTreeMap<Id, Trial>,
    /// Treatments.
    pub groups: BTreeMap<Id, Register<Treatment>>,
    /// Runs.
    pub runs: BTreeMap<Id, Run>,
    /// Forcings without a trial, planned back from a date.
    pub forcings: BTreeMap<Id, Register<Forcing>>,
    /// Jobs of care plans, by subject, then slot.
    pub care: Vec<Planned>,
    /// Registers whose values differ.
    pub disagreements: BTreeSet<Disagreement>,
    /// Records of a bulb that exclude each other, by bulb.
    contrary: BTreeMap<Id, Vec<Contrary>>,
    /// Bulbs that were said to be one.
    ones: Ones,
    in_place: BTreeMap<Id, BTreeSet<Id>>,
    /// Bulbs that ever stood in a container.
    in_container: BTreeMap<Id, BTreeSet<Id>>,
    runs_of: BTreeMap<Id, BTreeSet<Id>>,
    /// Forcings that are still meant by bulb, with the number of its batch from 1.
    forcings_of: BTreeMap<Id, BTreeSet<(Id, usize)>>,
}

impl State {
    /// Folds a whole ledger.
    ///
    /// # Everything a screen shows is folded from the records, and can be thrown away
    /// ```
    /// # use bloomdue_core::{calendar::Date, demo, nursery::State};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let today = Date::new(2027, 11, 20)?;
    /// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
    /// let state = State::fold(&ledger);
    /// assert_eq!(State::fold(&ledger), state);
    /// assert!(!state.bulbs.is_empty());
    /// # Ok(())
    /// # }
    /// ```
    pub fn fold(ledger: &Ledger) -> Self {
        let mut state = Self::default();
        state.refold(ledger, &ledger.subjects());
        state
    }

    /// Folds these subjects anew.
    pub fn refold(&mut self, ledger: &Ledger, subjects: &BTreeSet<Id>) {
        let is_bulb = |id: &&Id| id.is(Noun::Bulb);
        let bulbs = subjects.iter().filter(is_bulb).copied();
        self.refold_bulbs(ledger, joined::ones(ledger, &self.ones, bulbs));
        for subject in subjects.iter().filter(|id| !is_bulb(id)) {
            self.refold_one(ledger, *subject);
        }
    }

    /// These subjects in parts that can be folded anew one after the other, as [`Self::refold`] folds all of them:
    /// bulbs that are one come together, or each of them would fold all.
    pub fn parts(&self, ledger: &Ledger, subjects: &BTreeSet<Id>) -> Vec<BTreeSet<Id>> {
        let is_bulb = |id: &&Id| id.is(Noun::Bulb);
        let bulbs = subjects.iter().filter(is_bulb).copied();
        let ones = joined::ones(ledger, &self.ones, bulbs).into_iter();
        let others = subjects.iter().filter(|id| !is_bulb(id));
        ones.map(BTreeSet::from_iter).chain(others.map(|id| BTreeSet::from([*id]))).collect()
    }

    fn refold_one(&mut self, ledger: &Ledger, id: Id) {
        self.refold_disagreements(ledger, &[id]);
        self.refold_care(ledger, id);
        match id.noun() {
            // The name of a ledger that was joined says nothing: the nursery goes by its own.
            Some(Noun::Ledger) if id == ledger.id() => {
                self.name = register(ledger, id, |body| match body {
                    Body::Nursery(nursery) => Some(&nursery.name),
                    _ => None,
                });
                self.latitude_decideg = register(ledger, id, |body| match body {
                    Body::Nursery(nursery) => nursery.latitude_decideg.as_ref(),
                    _ => None,
                });
            }
            Some(Noun::Person) => put(&mut self.persons, id, register!(ledger, id, Person)),
            Some(Noun::Lot) => put(&mut self.lots, id, register!(ledger, id, Lot)),
            Some(Noun::Container) => put(&mut self.containers, id, register!(ledger, id, Container)),
            Some(Noun::Recipe) => put(&mut self.recipes, id, register!(ledger, id, Recipe)),
            Some(Noun::Group) => put(&mut self.groups, id, register!(ledger, id, Treatment)),
            Some(Noun::Place) => self.refold_place(ledger, id),
            Some(Noun::Trial) => {
                let question = register!(ledger, id, Question);
                if question == Register::Unset {
                    self.trials.remove(&id);
                } else {
                    self.trials.insert(id, Trial { question });
                }
            }
            Some(Noun::Run) => self.refold_run(ledger, id),
            Some(Noun::Forcing) => self.refold_forcing(ledger, id),
            _ => {}
        }
    }

    fn refold_care(&mut self, ledger: &Ledger, id: Id) {
        let from = self.care.partition_point(|known| known.subject < id);
        let to = self.care.partition_point(|known| known.subject <= id);
        let mut heads: BTreeMap<&str, Vec<&Arc<Entry>>> = BTreeMap::new();
        for entry in ledger.in_force_of(id, |entry| matches!(entry.body, Body::CarePlan(_))) {
            heads.entry(&entry.envelope.slot).or_default().push(entry);
        }
        let since = if heads.is_empty() { BTreeMap::new() } else { in_plan_since(ledger, id) };
        let jobs = heads.into_iter().map(|(slot, heads)| Planned {
            subject: id,
            slot: slot.to_owned(),
            since: since.get(slot).copied().unwrap_or(Date::EARLIEST),
            job: Register::of_heads(&heads, |body| match body {
                Body::CarePlan(job) => Some(job.clone()),
                _ => None,
            }),
        });
        self.care.splice(from..to, jobs);
    }

    fn refold_forcing(&mut self, ledger: &Ledger, id: Id) {
        let old = self.forcings.get(&id).and_then(Register::shown);
        for (at, batch) in old.iter().flat_map(|old| old.batches.iter().enumerate()) {
            for bulb in &batch.bulbs {
                unlink(&mut self.forcings_of, Some(*bulb), (id, at + 1));
            }
        }
        let forcing = register!(ledger, id, Forcing);
        if let Some(meant) = forcing.shown().filter(|forcing| !forcing.given_up) {
            for (at, batch) in meant.batches.iter().enumerate() {
                for bulb in &batch.bulbs {
                    link(&mut self.forcings_of, Some(*bulb), (id, at + 1));
                }
            }
        }
        put(&mut self.forcings, id, forcing);
    }

    fn refold_bulbs(&mut self, ledger: &Ledger, ones: Vec<Vec<Id>>) {
        for id in ones.iter().flatten() {
            self.ones.remove(id);
            self.contrary.remove(id);
            if let Some(old) = self.bulbs.remove(id) {
                unlink(&mut self.in_place, old.place, *id);
                for (_, container) in &old.pots {
                    unlink(&mut self.in_container, *container, *id);
                }
            }
        }
        for ids in ones {
            self.refold_disagreements(ledger, &ids);
            match Bulb::fold(ledger, &ids) {
                Some(bulb) => self.put_bulb(bulb),
                // Nobody is asked to settle what a bulb that is not there was called.
                None => self.disagreements.retain(|known| !ids.contains(&known.subject)),
            }
            self.put_ones(ids);
        }
    }

    fn put_ones(&mut self, ids: Vec<Id>) {
        if ids.len() > 1 {
            let ids: Arc<[Id]> = ids.into();
            for id in ids.iter() {
                self.ones.insert(*id, Arc::clone(&ids));
            }
        }
    }

    /// Bulbs that were said to be one, each list once.
    pub(super) fn ones(&self) -> Vec<Vec<Id>> {
        let firsts = self.ones.iter().filter(|(id, ids)| ids.first() == Some(id));
        firsts.map(|(_, ids)| ids.to_vec()).collect()
    }

    /// The id that a bulb goes by, which is another one when it was entered more than once.
    pub fn canonical(&self, id: Id) -> Id {
        let ids = self.ones.get(&id);
        ids.and_then(|ids| ids.first()).copied().unwrap_or(id)
    }

    /// A bulb, by any id under which it was entered.
    pub fn bulb(&self, id: &Id) -> Option<&Bulb> {
        self.bulbs.get(&self.canonical(*id))
    }

    /// Everything that a register of this kind is about for this subject: a bulb entered more than once has one lot,
    /// and names of its own under each id.
    pub fn register_of(&self, subject: Id, kind: &str) -> Vec<Id> {
        match self.ones.get(&subject) {
            Some(ids) if kind != "bulb-name" => ids.to_vec(),
            _ => vec![subject],
        }
    }

    /// Adds a bulb that was not here.
    fn put_bulb(&mut self, bulb: Bulb) {
        link(&mut self.in_place, bulb.place, bulb.id);
        for (_, container) in &bulb.pots {
            link(&mut self.in_container, *container, bulb.id);
        }
        let contrary = contrary::of(&bulb);
        if !contrary.is_empty() {
            self.contrary.insert(bulb.id, contrary);
        }
        self.bulbs.insert(bulb.id, bulb);
    }

    /// Records of bulbs that exclude each other.
    pub fn contraries(&self) -> impl Iterator<Item = &Contrary> {
        self.contrary.values().flatten()
    }

    /// Records of this bulb that exclude each other.
    pub fn contraries_of(&self, bulb: Id) -> &[Contrary] {
        self.contrary.get(&self.canonical(bulb)).map_or(&[], Vec::as_slice)
    }

    /// How many things wait for someone to say what holds: registers whose values differ, and records of bulbs that
    /// exclude each other.
    pub fn n_to_settle(&self) -> usize {
        self.disagreements.len() + self.contraries().count()
    }

    /// A state that holds these bulbs and nothing else, with the disagreements about them and which of them are one.
    pub(super) fn of_bulbs(
        bulbs: impl IntoIterator<Item = Bulb>,
        disagreements: Vec<Disagreement>,
        ones: Vec<Vec<Id>>,
    ) -> Self {
        let mut state = Self::default();
        for ids in ones {
            state.put_ones(ids);
        }
        for bulb in bulbs {
            state.put_bulb(bulb);
        }
        state.disagreements.extend(disagreements);
        state
    }

    fn refold_place(&mut self, ledger: &Ledger, id: Id) {
        let body = register!(ledger, id, Place);
        if body == Register::Unset {
            self.places.remove(&id);
            return;
        }
        let order = register(ledger, id, |body| match body {
            Body::BenchOrder(order) => Some(&order.bulbs),
            _ => None,
        });
        let mut place = Place { body, order, climate: Vec::new(), light: Vec::new() };
        for entry in ledger.in_force(id) {
            let at = entry.envelope.happened.clone();
            match &entry.body {
                Body::Climate(climate) => place.climate.push((at, climate.clone())),
                Body::Light(light) => place.light.push((at, light.clone())),
                _ => {}
            }
        }
        self.places.insert(id, place);
    }

    fn refold_run(&mut self, ledger: &Ledger, id: Id) {
        if let Some(old) = self.runs.remove(&id) {
            for unit in old.units() {
                unlink(&mut self.runs_of, Some(*unit), id);
            }
        }
        let mut run = Run {
            body: register!(ledger, id, Run),
            rule: register!(ledger, id, Rule),
            window: register!(ledger, id, DueWindow),
            due_days: register!(ledger, id, DueDays),
            allotment: register!(ledger, id, Allotment),
            tallies: register!(ledger, id, Tallies),
            ..Run::default()
        };
        if run.body == Register::Unset {
            return;
        }
        for entry in ledger.in_force(id) {
            let on = entry.envelope.happened.date();
            match &entry.body {
                Body::Act(ActKind::RunStarted, Act { .. }) => run.started = Some(on),
                Body::Act(ActKind::RunClosed, Act { .. }) => run.closed = Some(on),
                _ => {}
            }
        }
        for kind in ["success-rule", "due-window"] {
            let mut versions = ledger.history(id);
            versions.retain(|entry| entry.envelope.kind == kind);
            versions.sort_by_key(|entry| (entry.envelope.hlc, entry.id));
            run.fixed = run.fixed.max(versions.first().map(|entry| entry.envelope.hlc));
            let differ = versions.windows(2).filter(|pair| pair[0].body != pair[1].body);
            run.changed.extend(differ.map(|pair| pair[1].envelope.hlc));
        }
        run.changed.sort();
        for unit in run.units() {
            link(&mut self.runs_of, Some(*unit), id);
        }
        self.runs.insert(id, run);
    }

    /// The registers of one thing, which has several ids when it is a bulb entered more than once.
    fn refold_disagreements(&mut self, ledger: &Ledger, ids: &[Id]) {
        for id in ids {
            let first = Disagreement { subject: *id, kind: String::new(), slot: String::new() };
            let known = self.disagreements.range(first..).take_while(|known| known.subject == *id);
            for known in known.cloned().collect::<Vec<_>>() {
                self.disagreements.remove(&known);
            }
        }
        let mut registers: BTreeMap<(Id, &str, &str), Vec<&Arc<Entry>>> = BTreeMap::new();
        // Looks and acts are most of all entries, and no registers: that is known without reading the kind's name.
        let is_register = |entry: &Entry| {
            !matches!(entry.body, Body::Look(_) | Body::Act(..) | Body::Sweep(_))
                && Body::nature_of(&entry.envelope.kind) == Some(Nature::Register)
        };
        for id in ids {
            for entry in ledger.in_force_of(*id, is_register) {
                let (kind, slot) = (entry.envelope.kind.as_str(), entry.envelope.slot.as_str());
                let subject = if kind == "bulb-name" { *id } else { ids[0] };
                registers.entry((subject, kind, slot)).or_default().push(entry);
            }
        }
        for ((subject, kind, slot), heads) in registers {
            if heads.windows(2).any(|pair| pair[0].body != pair[1].body) {
                self.disagreements.insert(Disagreement { subject, kind: kind.to_owned(), slot: slot.to_owned() });
            }
        }
    }

    /// Bulbs that are here in a place, in bench order; those not in the order stand after it as they were typed
    /// in, then by label.
    pub fn bulbs_in(&self, place: Id) -> Vec<&Bulb> {
        let here = self.in_place.get(&place).into_iter().flatten().filter_map(|id| self.bulbs.get(id));
        let mut bulbs: Vec<&Bulb> = here.filter(|bulb| bulb.is_here()).collect();
        self.in_bench_order(place, &mut bulbs, |bulb| bulb);
        bulbs
    }

    /// Bulbs that are here and stand in no place that is known.
    pub fn bulbs_nowhere(&self) -> Vec<&Bulb> {
        let known = |bulb: &Bulb| bulb.place.is_some_and(|place| self.places.contains_key(&place));
        let bulbs = self.bulbs.values();
        bulbs.filter(|bulb| bulb.is_here() && !known(bulb)).collect()
    }

    /// Puts bulbs in the order in which they stand in a place.
    pub(super) fn in_bench_order<T>(&self, place: Id, bulbs: &mut [T], of: impl Fn(&T) -> &Bulb) {
        let order = self.places.get(&place).and_then(|p| p.order.shown());
        let rank: BTreeMap<Id, usize> = order.into_iter().flatten().enumerate().map(|(rank, id)| (*id, rank)).collect();
        let place_of = |bulb: &Bulb| {
            let ids = bulb.ids();
            let known = ids.iter().filter_map(|id| rank.get(id)).min();
            known.map_or(usize::MAX, |at| *at)
        };
        bulbs.sort_by(|a, b| {
            let (a, b) = (of(a), of(b));
            let key = |bulb: &Bulb| (place_of(bulb), bulb.added);
            let name = |bulb| (Counted(Bulb::label(bulb)), bulb.id);
            (key(a).cmp(&key(b))).then_with(|| name(a).cmp(&name(b)))
        });
    }

    /// Bulbs that are here in a container, by position.
    pub fn bulbs_in_container(&self, container: Id) -> Vec<&Bulb> {
        let here = self.in_container.get(&container).into_iter().flatten().filter_map(|id| self.bulbs.get(id));
        let now = |bulb: &&Bulb| bulb.is_here() && bulb.container.is_some_and(|(known, _)| known == container);
        let mut bulbs: Vec<&Bulb> = here.filter(now).collect();
        bulbs.sort_by_key(|bulb| {
            (bulb.container.and_then(|(_, position)| position), bulb.added, Counted(bulb.label()), bulb.id)
        });
        bulbs
    }

    /// Runs whose allotment holds this bulb, or the container it stood in when the run started.
    pub fn runs_of(&self, bulb: &Bulb) -> Vec<Id> {
        let of = |id: &Id| self.runs_of.get(id).into_iter().flatten().copied();
        let mut runs: BTreeSet<Id> = bulb.ids().iter().flat_map(of).collect();
        for container in bulb.pots.iter().filter_map(|(_, container)| *container) {
            let of = self.runs_of.get(&container).into_iter().flatten();
            runs.extend(of.filter(|run| {
                let start = self.runs.get(run).and_then(Run::start);
                start.is_some_and(|start| bulb.container_on(start) == Some(container))
            }));
        }
        runs.into_iter().collect()
    }

    /// The started, unclosed run that this bulb is in.
    pub fn running(&self, bulb: &Bulb) -> Option<Id> {
        self.runs_of(bulb).into_iter().find(|run| self.runs.get(run).is_some_and(Run::is_running))
    }

    /// The run that this bulb is in and that has neither started nor been closed.
    pub fn awaited(&self, bulb: &Bulb) -> Option<Id> {
        let awaits = |run: &Run| run.started.is_none() && run.closed.is_none();
        self.runs_of(bulb).into_iter().find(|run| self.runs.get(run).is_some_and(awaits))
    }

    /// The forcings that a bulb is in and that are still meant, each with the number of its batch from 1.
    pub fn forcings_of(&self, bulb: Id) -> impl Iterator<Item = (Id, usize)> + '_ {
        let ids = self.register_of(bulb, "");
        let of = |id: Id| self.forcings_of.get(&id).into_iter().flatten().copied();
        ids.into_iter().flat_map(of)
    }

    /// The same, but for plans whose last day is before `today`: these keep a bulb no longer from another.
    pub fn forcings_ahead(&self, bulb: Id, today: Date) -> impl Iterator<Item = (Id, usize)> + '_ {
        let ahead = move |id: &Id| self.forcings.get(id).and_then(Register::shown).is_some_and(|plan| plan.to >= today);
        self.forcings_of(bulb).filter(move |(id, _)| ahead(id))
    }

    /// All trials: first those that have no try yet, then the one whose last try starts latest. Their ids are drawn by
    /// chance and say nothing of their order.
    pub fn trials_latest_first(&self) -> Vec<Id> {
        let mut latest: BTreeMap<Id, Date> = BTreeMap::new();
        for body in self.runs.values().filter_map(|run| run.body.shown()) {
            let known = latest.entry(body.trial).or_insert(body.start);
            *known = body.start.max(*known);
        }
        let mut trials: Vec<Id> = self.trials.keys().copied().collect();
        trials.sort_by_key(|trial| {
            let last = latest.get(trial).copied();
            (last.is_some(), std::cmp::Reverse(last), self.name_of(*trial), *trial)
        });
        trials
    }

    /// Saved plans that are still meant, the one whose days end first at the head.
    pub fn plans_meant(&self) -> Vec<(Id, &Forcing)> {
        let mut plans: Vec<(Id, &Forcing)> = self
            .forcings
            .iter()
            .filter_map(|(id, plan)| Some((*id, plan.shown().filter(|plan| !plan.given_up)?)))
            .collect();
        plans.sort_by_key(|(id, plan)| (plan.to, plan.from, *id));
        plans
    }

    /// Runs of a trial, by ordinal.
    pub fn runs_of_trial(&self, trial: Id) -> Vec<(Id, &Run)> {
        let of = |run: &Run| run.body.shown().is_some_and(|body| body.trial == trial);
        let mut runs: Vec<(Id, &Run)> = self.runs.iter().filter(|(_, r)| of(r)).map(|(id, r)| (*id, r)).collect();
        runs.sort_by_key(|(id, run)| (run.body.shown().map(|body| body.ordinal), *id));
        runs
    }

    /// The bulbs of one unit as it stands now: itself, or those that are here in the container.
    pub fn bulbs_of_unit(&self, unit: Id) -> Vec<&Bulb> {
        match self.bulb(&unit) {
            Some(bulb) => vec![bulb],
            None => self.bulbs_in_container(unit),
        }
    }

    /// The bulbs of one unit of a run started on `start`: itself, or those that stood in the container on that day,
    /// whatever became of them since.
    pub fn bulbs_of_unit_on(&self, unit: Id, start: Date) -> Vec<&Bulb> {
        if let Some(bulb) = self.bulb(&unit) {
            return vec![bulb];
        }
        let ids = self.in_container.get(&unit).into_iter().flatten();
        ids.filter_map(|id| self.bulbs.get(id)).filter(|bulb| bulb.container_on(start) == Some(unit)).collect()
    }

    /// The group a bulb is in within a run, with its place among the groups.
    pub fn group_of(&self, run: &Run, bulb: &Bulb) -> Option<(usize, Id)> {
        let allotment = run.allotment.settled()?;
        let container = run.start().and_then(|start| bulb.container_on(start));
        let at = allotment.units.iter().position(|unit| bulb.is(*unit) || Some(*unit) == container)?;
        let arm = *allotment.arms.get(at)? as usize;
        Some((arm, *allotment.groups.get(arm)?))
    }

    /// The cultivar of a bulb's lot, where it has a name.
    pub fn cultivar_of(&self, bulb: &Bulb) -> Option<&str> {
        let lot = self.lots.get(bulb.lot.shown()?)?.shown()?;
        Some(lot.cultivar.as_str()).filter(|name| !name.is_empty())
    }

    /// Bulbs whose tag, own name, lot or cultivar holds the text, labels first.
    pub fn find(&self, text: &str) -> Vec<&Bulb> {
        let wanted = text.trim().to_lowercase();
        if wanted.is_empty() {
            return Vec::new();
        }
        let compact: String = wanted.chars().filter(|c| !c.is_whitespace() && *c != '-').collect();
        let holds = |hay: Option<&String>| hay.is_some_and(|hay| hay.to_lowercase().contains(&wanted));
        let mut found: Vec<(u8, &Bulb)> = Vec::new();
        for bulb in self.bulbs.values() {
            let lot = bulb.lot.shown().and_then(|lot| self.lots.get(lot)).and_then(Register::shown);
            let mut tags = bulb.tags().map(|tag| tag.to_lowercase());
            if tags.any(|tag| tag.contains(&compact)) || bulb.own_names().any(|name| holds(Some(name))) {
                found.push((0, bulb));
            } else if holds(lot.map(|lot| &lot.name)) || holds(lot.map(|lot| &lot.cultivar)) {
                found.push((1, bulb));
            }
        }
        found.sort_by_key(|(rank, bulb)| (*rank, !bulb.is_here(), Counted(bulb.label()), bulb.id));
        found.into_iter().map(|(_, bulb)| bulb).collect()
    }

    /// Offsets of a bulb, by label.
    pub fn offsets_of(&self, mother: Id) -> Vec<&Bulb> {
        let of = |bulb: &&Bulb| bulb.mother.map(|id| self.canonical(id)) == Some(self.canonical(mother));
        let mut offsets: Vec<&Bulb> = self.bulbs.values().filter(of).collect();
        offsets.sort_by_key(|bulb| (Counted(bulb.label()), bulb.id));
        offsets
    }

    /// Every tag that is carried.
    pub fn tags(&self) -> impl Iterator<Item = Tag> {
        let tags = self.bulbs.values().flat_map(Bulb::tags);
        tags.filter_map(|tag| tag.parse().ok())
    }

    /// Bulbs whose tag a mistyped one may have meant.
    pub fn meant_by(&self, typed: &str) -> Vec<&Bulb> {
        let known: Vec<Tag> = self.tags().collect();
        let near = suggestions(typed, &known).into_iter();
        near.flat_map(|tag| self.with_tag(tag.as_str())).collect()
    }

    /// The one bulb that goes by this name or tag, or that nothing else holding the text could be.
    pub fn named(&self, text: &str) -> Option<&Bulb> {
        let found = self.find(text);
        match found.as_slice() {
            [one] => Some(one),
            many => {
                let mut same = many.iter().filter(|bulb| bulb.label().eq_ignore_ascii_case(text.trim()));
                same.next().copied().filter(|_| same.next().is_none())
            }
        }
    }

    /// Bulbs that carry this tag; more than one after two devices made the same.
    pub fn with_tag(&self, tag: &str) -> Vec<&Bulb> {
        self.bulbs.values().filter(|bulb| bulb.tags().any(|known| known == tag)).collect()
    }

    /// Bulbs that a scanned label is of: it says a tag, however it is written.
    pub fn scanned(&self, text: &str) -> Vec<&Bulb> {
        text.parse::<Tag>().map(|tag| self.with_tag(tag.as_str())).unwrap_or_default()
    }

    /// The name of a place, lot, container, group or person, or of a bulb; empty when unknown.
    pub fn name_of(&self, id: Id) -> &str {
        let name = match id.noun() {
            Some(Noun::Bulb) => self.bulb(&id).map(Bulb::label),
            Some(Noun::Place) => self.places.get(&id).and_then(|place| Some(place.body.shown()?.name.as_str())),
            Some(Noun::Lot) => self.lots.get(&id).and_then(|lot| Some(lot.shown()?.name.as_str())),
            Some(Noun::Container) => self.containers.get(&id).and_then(|pot| Some(pot.shown()?.name.as_str())),
            Some(Noun::Recipe) => self.recipes.get(&id).and_then(|recipe| Some(recipe.shown()?.name.as_str())),
            Some(Noun::Group) => self.groups.get(&id).and_then(|group| Some(group.shown()?.name.as_str())),
            Some(Noun::Person) => self.persons.get(&id).and_then(|person| Some(person.shown()?.initials.as_str())),
            Some(Noun::Forcing) => self.forcings.get(&id).and_then(|plan| Some(plan.shown()?.name.as_str())),
            Some(Noun::Trial) => self.trials.get(&id).and_then(|trial| Some(trial.question.shown()?.text.as_str())),
            _ => None,
        };
        name.unwrap_or("")
    }

    /// Entries of one disagreement, the one shown first.
    pub fn heads<'a>(&self, ledger: &'a Ledger, register: &Disagreement) -> Vec<&'a Arc<Entry>> {
        let of = self.register_of(register.subject, &register.kind).into_iter();
        let mut heads: Vec<_> = of.flat_map(|id| ledger.heads(id, &register.kind, &register.slot)).collect();
        heads.sort_by_key(|entry| std::cmp::Reverse((entry.envelope.hlc, entry.envelope.device, entry.id)));
        heads.dedup_by_key(|entry| entry.id);
        heads
    }

    /// Ids of entries that a new value of this register has to replace.
    pub fn to_replace(ledger: &Ledger, subject: Id, kind: &str, slot: &str) -> Vec<EntryId> {
        ledger.heads(subject, kind, slot).iter().map(|entry| entry.id).collect()
    }
}

/// Since when each job is in a care plan without having been given up in between, by its slot.
fn in_plan_since(ledger: &Ledger, subject: Id) -> BTreeMap<&str, Date> {
    let history = ledger.history(subject);
    let jobs = || {
        history.iter().filter_map(|entry| match &entry.body {
            Body::CarePlan(job) => Some((entry.envelope.slot.as_str(), job.given_up, entry)),
            _ => None,
        })
    };
    let mut given_up: BTreeMap<&str, HybridTime> = BTreeMap::new();
    for (slot, _, entry) in jobs().filter(|(_, given_up, _)| *given_up) {
        let last = given_up.entry(slot).or_default();
        *last = entry.envelope.hlc.max(*last);
    }
    let mut since: BTreeMap<&str, (HybridTime, Date)> = BTreeMap::new();
    for (slot, _, entry) in jobs().filter(|(_, given_up, _)| !given_up) {
        let hlc = entry.envelope.hlc;
        if given_up.get(slot).is_none_or(|given_up| hlc > *given_up)
            && since.get(slot).is_none_or(|(first, _)| hlc < *first)
        {
            since.insert(slot, (hlc, entry.envelope.happened.date()));
        }
    }
    let since = since.into_iter();
    since.map(|(slot, (_, date))| (slot, date)).collect()
}

/// What the register of a subject says, of the kind (without a slot) whose bodies `read` knows.
fn register<T: PartialEq + Clone>(ledger: &Ledger, id: Id, read: impl Fn(&Body) -> Option<&T>) -> Register<T> {
    let heads = ledger.in_force_of(id, |entry| entry.envelope.slot.is_empty() && read(&entry.body).is_some());
    Register::of_heads(&heads, |body| read(body).cloned())
}

fn put<T: PartialEq>(map: &mut BTreeMap<Id, Register<T>>, id: Id, field: Register<T>) {
    if field == Register::Unset {
        map.remove(&id);
    } else {
        map.insert(id, field);
    }
}

fn link<T: Ord>(index: &mut BTreeMap<Id, BTreeSet<T>>, key: Option<Id>, id: T) {
    if let Some(key) = key {
        index.entry(key).or_default().insert(id);
    }
}

fn unlink<T: Ord>(index: &mut BTreeMap<Id, BTreeSet<T>>, key: Option<Id>, id: T) {
    let Some(key) = key else { return };
    if let Some(ids) = index.get_mut(&key) {
        ids.remove(&id);
        if ids.is_empty() {
            index.remove(&key);
        }
    }
}
