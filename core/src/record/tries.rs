//! Trials and their runs: planned, drawn, started, typed in from a notebook, closed.

use std::collections::BTreeSet;

use super::{Moment, in_parts, named, required, short};
use crate::{
    calendar::Date,
    error::{Error, Field, Result},
    ledger::{
        Ledger,
        body::{
            Act, ActKind, Allotment, Body, CareJob, DueDays, DueWindow, Factor, Goal, Question, Rule, RunBody, Tallies,
            Tally, Test, Treatment, Unit,
        },
        canonical::tidy_text,
        entry::Draft,
        id::{Id, Noun},
    },
    limits,
    nursery::{Bulb, State, state::Run},
    plan::spend::log::Said,
    refusal::{DateRefusal, Missing, TryRefusal},
    trial::{
        choose,
        lots::{self, classes},
        ready::GroupPlan,
    },
};

/// The trial that a try belongs to.
#[derive(Clone, Debug)]
pub enum TrialChoice {
    /// A further try of a known one.
    Again(Id),
    /// A new one.
    New {
        /// The question as a sentence.
        text: String,
        /// Key of the ready question, or empty.
        ready: String,
        /// What differs.
        factors: Vec<Factor>,
        /// Groups, two or more.
        groups: Vec<GroupPlan>,
    },
}

/// How units come into groups.
#[derive(Clone, Debug)]
pub enum Allot {
    /// By lot, with this seed; sizes of the groups in order.
    Draw {
        /// Thirty-two random bytes of the device.
        seed: [u8; 32],
        /// Bulbs a group.
        sizes: Vec<usize>,
        /// Within cultivar and size class, else over all units at once.
        classes: bool,
    },
    /// By hand: the group of each unit.
    ByHand(Vec<u32>),
    /// As a notebook has it, bulbs known one by one: the group of each unit.
    AsRecorded(Vec<u32>),
    /// As a notebook has it, counts by group in order, bulbs unknown.
    Counts(Vec<Tally>),
}

/// A try to be planned.
#[derive(Clone, Debug)]
pub struct PlanTry {
    /// Its trial.
    pub trial: TrialChoice,
    /// First day.
    pub start: Date,
    /// Longest time between looks that the grower means to keep.
    pub look_interval_days: u32,
    /// What counts; its test is chosen here from the design.
    pub rule: Rule,
    /// When it has to be reached.
    pub window: DueWindow,
    /// Units in the order in which `allot` speaks of them.
    pub units: Vec<Id>,
    /// How they come into groups.
    pub allot: Allot,
    /// Whether it starts (or started) on `start` at once.
    pub begin: bool,
    /// The day on which a try from a notebook was finished, when it was.
    pub finished: Option<Date>,
    /// The due window as days after the start, when it is counted from there; `window` holds the days computed for
    /// `start`, and starting on another day moves them.
    pub counted: Option<DueDays>,
    /// The care plan of each group in order, job by job with its slot; none for groups without one.
    pub jobs: Vec<Vec<(String, CareJob)>>,
    /// What was advised of how to spend the bulbs, when the try was made of it: kept, and never used as input.
    pub said: Option<Said>,
}

pub(super) fn plan(plan: PlanTry, ledger: &Ledger, state: &State, moment: &mut Moment) -> Result<Vec<Draft>> {
    check_plan(&plan, state, moment)?;
    let now = moment.now.clone();
    let mut drafts = Vec::new();
    let (trial, groups) = trial_of(&plan.trial, state, moment, &mut drafts)?;
    let run = moment.ids.draw(Noun::Run);
    let ordinal = 1 + state.runs_of_trial(trial).len() as u32;
    let typed_in = matches!(plan.allot, Allot::AsRecorded(_) | Allot::Counts(_));
    let body = RunBody { trial, ordinal, start: plan.start, look_interval_days: plan.look_interval_days, typed_in };
    drafts.push(Draft::new(vec![run], now.clone(), Body::Run(body)));
    let mut rule = plan.rule.clone();
    match &plan.allot {
        Allot::Counts(tallies) => {
            rule.test = Test::None;
            let mut tallies = tallies.clone();
            if tallies.len() != groups.len() {
                return Err(Error::new(Missing::Counts).at(Field::Counts));
            }
            for (tally, group) in tallies.iter_mut().zip(&groups) {
                tally.group = *group;
            }
            drafts.push(Draft::new(vec![run], now.clone(), Body::Tallies(Tallies { groups: tallies })));
        }
        _ => {
            let allotment = allot(&plan, state, &groups)?;
            rule.test = test_for(&allotment);
            drafts.push(Draft::new(vec![run], now.clone(), Body::Allotment(allotment)));
        }
    }
    let mut window = plan.window.clone();
    window.name = tidy_text(&window.name);
    short(&window.name, Field::Window)?;
    drafts.push(Draft::new(vec![run], now.clone(), Body::Rule(rule)));
    drafts.push(Draft::new(vec![run], now.clone(), Body::DueWindow(window)));
    if let Some(counted) = plan.counted {
        drafts.push(Draft::new(vec![run], now.clone(), Body::DueDays(counted)));
    }
    for (group, jobs) in groups.iter().zip(&plan.jobs) {
        for (slot, job) in jobs {
            let body = super::checked(Body::CarePlan(job.clone()))?;
            let mut draft = Draft::new(vec![*group], now.clone(), body);
            draft.slot.clone_from(slot);
            draft.supersedes = super::to_replace(ledger, &draft, slot);
            drafts.push(draft);
        }
    }
    if let Some(said) = &plan.said {
        drafts.push(Draft::new(vec![run], now.clone(), said.body(ledger)));
    }
    if plan.begin {
        drafts.extend(begin(state, moment, run, &plan.units, plan.start)?);
    }
    if let Some(day) = plan.finished {
        let act = Act { run: Some(run), ..Act::default() };
        let happened = moment.on(Some(day)).map_err(|why| why.at(Field::Finished))?;
        let closed = Body::Act(ActKind::RunClosed, act);
        drafts.push(Draft::new(vec![run], happened, closed));
    }
    debug_assert!(ledger.heads(run, "run", "").is_empty(), "a fresh run is not in the ledger yet");
    Ok(drafts)
}

fn check_plan(plan: &PlanTry, state: &State, moment: &Moment) -> Result<()> {
    limits::LOOK_INTERVAL_DAYS.check(i64::from(plan.look_interval_days)).map_err(|why| why.at(Field::Looks))?;
    if plan.begin && plan.start > moment.today() {
        return Err(Error::new(DateRefusal::StartsNotYet(plan.start)).at(Field::Start));
    }
    if plan.rule.goal == Goal::InWindow && plan.window.from > plan.window.to {
        return Err(Error::new(DateRefusal::WindowBackwards).at(Field::Window));
    }
    if plan.window.to <= plan.start {
        return Err(Error::new(TryRefusal::EndsBeforeStart).at(Field::Window));
    }
    if let Some(finished) = plan.finished {
        let from_notebook = matches!(plan.allot, Allot::AsRecorded(_) | Allot::Counts(_));
        if !from_notebook || !plan.begin || finished < plan.start {
            return Err(Error::new(TryRefusal::FinishedTooSoon).at(Field::Finished));
        }
    }
    let by_counts = matches!(plan.allot, Allot::Counts(_));
    if plan.units.len() < 2 && !by_counts {
        return Err(Error::new(Missing::TwoBulbs).at(Field::Bulbs));
    }
    let mut known = BTreeSet::new();
    for unit in &plan.units {
        if !known.insert(state.canonical(*unit)) {
            return Err(Error::new(TryRefusal::ChosenTwice(state.name_of(*unit).to_owned())).at(Field::Bulbs));
        }
        if unit.is(Noun::Container) != (plan.rule.unit == Unit::Container) {
            return Err(Error::new(TryRefusal::BulbsAndContainers).at(Field::Bulbs));
        }
        // A finished try holds no bulb any more, whatever runs since.
        if plan.finished.is_none() {
            free(state, *unit, None)?;
        }
        let bulbs = units_bulbs(state, *unit, plan.start);
        if bulbs.is_empty() {
            return Err(not_here());
        }
        for bulb in bulbs {
            super::here(state, bulb.id, plan.start)?;
        }
    }
    Ok(())
}

fn not_here() -> Error {
    Error::new(TryRefusal::BulbNotHere).at(Field::Bulbs)
}

/// The bulbs of a unit on the day a try started: those that are gone since were there.
fn units_bulbs(state: &State, unit: Id, start: Date) -> Vec<&Bulb> {
    let then = state.bulbs_of_unit_on(unit, start);
    let was_here = |bulb: &&Bulb| bulb.fate.since().is_none_or(|since| start < since);
    if state.bulb(&unit).is_some() { then } else { then.into_iter().filter(was_here).collect() }
}

/// Refuses a unit that is in a running try other than `but`. A planned try does not hold its bulbs yet; starting it
/// asks again.
fn free(state: &State, unit: Id, but: Option<Id>) -> Result<()> {
    let bulbs = state.bulbs_of_unit(unit);
    for bulb in bulbs {
        if let Some(run) = state.running(bulb).filter(|run| Some(*run) != but) {
            let trial = state.runs.get(&run).and_then(|run| run.body.shown()).map(|body| body.trial);
            let question = trial.map_or("", |trial| state.name_of(trial));
            let why = TryRefusal::InRunningTry(bulb.label().to_owned(), question.to_owned());
            return Err(Error::new(why).at(Field::Bulbs));
        }
    }
    Ok(())
}

fn trial_of(
    choice: &TrialChoice,
    state: &State,
    moment: &mut Moment,
    drafts: &mut Vec<Draft>,
) -> Result<(Id, Vec<Id>)> {
    let now = moment.now.clone();
    match choice {
        TrialChoice::Again(trial) => {
            let question = state.trials.get(trial).and_then(|trial| trial.question.settled());
            let question = question.ok_or_else(|| Error::new(TryRefusal::QuestionOpen))?;
            Ok((*trial, question.groups.clone()))
        }
        TrialChoice::New { text, ready, factors, groups } => {
            if groups.len() < 2 {
                return Err(Error::new(TryRefusal::OneGroup).at(Field::Treatments));
            }
            (limits::GROUPS.check(groups.len() as i64)).map_err(|why| why.at(Field::Treatments))?;
            let text = named(text, Field::Question, Missing::Question)?;
            for factor in factors {
                short(&factor.name, Field::Treatments)?;
                short(&factor.unit, Field::Treatments)?;
            }
            let trial = moment.ids.draw(Noun::Trial);
            let ids: Vec<Id> = groups.iter().map(|_| moment.ids.draw(Noun::Group)).collect();
            let mut names = BTreeSet::new();
            let question = Question { text, ready: ready.clone(), factors: factors.clone(), groups: ids.clone() };
            drafts.push(Draft::new(vec![trial], now.clone(), Body::Question(question)));
            for (id, group) in ids.iter().zip(groups) {
                let name = named(&group.name, Field::Treatments, Missing::GroupName)?;
                group.levels.iter().try_for_each(|level| short(&level.text, Field::Treatments))?;
                if !names.insert(name.to_lowercase()) {
                    return Err(Error::new(TryRefusal::TwoGroupsCalled(name)).at(Field::Treatments));
                }
                let treatment = Treatment { trial, name, levels: group.levels.clone(), control: group.control };
                drafts.push(Draft::new(vec![*id], now.clone(), Body::Treatment(treatment)));
            }
            Ok((trial, ids))
        }
    }
}

fn allot(plan: &PlanTry, state: &State, groups: &[Id]) -> Result<Allotment> {
    let units = |classes: bool| plan.units.iter().map(move |unit| choose::to_draw(state, *unit, classes));
    let sizes_mm: Vec<i64> = units(false).map(|unit| unit.size).collect();
    match &plan.allot {
        Allot::Draw { seed, sizes, classes } => {
            let length = if *classes { choose::class_length(groups.len()) } else { plan.units.len() };
            in_classes(plan.rule.unit, &units(*classes).collect::<Vec<_>>(), groups, sizes, length, seed)
        }
        Allot::ByHand(arms) => placed(plan, arms, groups, sizes_mm, "by hand"),
        Allot::AsRecorded(arms) => placed(plan, arms, groups, sizes_mm, "as recorded"),
        Allot::Counts(_) => Err(Error::new(TryRefusal::CountsOnly)),
    }
}

fn placed(plan: &PlanTry, arms: &[u32], groups: &[Id], sizes_mm: Vec<i64>, method: &str) -> Result<Allotment> {
    if arms.len() != plan.units.len() || arms.iter().any(|arm| *arm as usize >= groups.len()) {
        return Err(Error::new(Missing::Groups).at(Field::Groups));
    }
    if (0..groups.len()).any(|group| !arms.contains(&(group as u32))) {
        return Err(Error::new(TryRefusal::EmptyGroup).at(Field::Groups));
    }
    Ok(Allotment {
        unit: plan.rule.unit,
        method: method.to_owned(),
        seed: String::new(),
        groups: groups.to_vec(),
        units: plan.units.clone(),
        arms: arms.to_vec(),
        blocks: vec![0; arms.len()],
        sizes_mm,
        reason: String::new(),
        cultivars: Vec::new(),
        class_length: None,
    })
}

/// A draw by `blocks/2`, stored with all that it takes to draw it again.
fn in_classes(
    unit: Unit,
    hat: &[classes::Unit<Id>],
    groups: &[Id],
    sizes: &[usize],
    class_length: usize,
    seed: &[u8; 32],
) -> Result<Allotment> {
    if sizes.len() != groups.len() {
        return Err(Error::new(Missing::GroupSizes).at(Field::Groups));
    }
    let drawn = classes::draw(seed, hat, sizes, class_length)?;
    let rows = || drawn.classes.iter().flat_map(|class| class.units.iter().copied());
    let lots = drawn.draw.lots();
    Ok(Allotment {
        unit,
        method: classes::METHOD.to_owned(),
        seed: in_digits(seed),
        groups: groups.to_vec(),
        units: rows().map(|at| hat[at].id).collect(),
        arms: rows().map(|at| lots[at].group as u32).collect(),
        blocks: rows().map(|at| lots[at].block as u32).collect(),
        sizes_mm: rows().map(|at| hat[at].size).collect(),
        reason: String::new(),
        cultivars: drawn.classes.into_iter().map(|class| class.cultivar).collect(),
        class_length: u32::try_from(class_length).ok(),
    })
}

fn in_digits(seed: &[u8; 32]) -> String {
    seed.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A draw by `blocks/1`, for a try that was drawn by it before.
fn in_blocks(
    unit: Unit,
    units: &[Id],
    sizes_mm: &[i64],
    groups: &[Id],
    sizes: &[usize],
    block_length: usize,
    seed: &[u8; 32],
) -> Result<Allotment> {
    if sizes.len() != groups.len() {
        return Err(Error::new(Missing::GroupSizes).at(Field::Groups));
    }
    let hat: Vec<lots::Unit<Id>> =
        units.iter().zip(sizes_mm).map(|(id, size)| lots::Unit { id: *id, size: *size }).collect();
    let draw = lots::draw(seed, &hat, sizes, block_length)?;
    // Stored by block and size, the order in which the groups were laid down.
    let mut rows: Vec<(usize, i64, Id, usize)> =
        hat.iter().zip(draw.lots()).map(|(unit, lot)| (lot.block, unit.size, unit.id, lot.group)).collect();
    rows.sort();
    Ok(Allotment {
        unit,
        method: lots::METHOD.to_owned(),
        seed: in_digits(seed),
        groups: groups.to_vec(),
        units: rows.iter().map(|row| row.2).collect(),
        arms: rows.iter().map(|row| row.3 as u32).collect(),
        blocks: rows.iter().map(|row| row.0 as u32).collect(),
        sizes_mm: rows.iter().map(|row| row.1).collect(),
        reason: String::new(),
        cultivars: Vec::new(),
        class_length: None,
    })
}

/// The one test of a design: that of the draw which its lots were drawn by.
fn test_for(allotment: &Allotment) -> Test {
    let blocked = allotment.blocks.iter().any(|block| *block != 0);
    match (lots::is_drawn(&allotment.method), allotment.unit) {
        (false, _) => Test::None,
        (true, Unit::Container) => Test::UnitPermutation,
        (true, Unit::Bulb) if blocked => Test::ExactConditional,
        (true, Unit::Bulb) => Test::Boschloo,
    }
}

fn begin(state: &State, moment: &Moment, run: Id, units: &[Id], day: Date) -> Result<Vec<Draft>> {
    let happened = moment.on(Some(day))?;
    let mut drafts = Vec::new();
    let bulbs: Vec<&Bulb> = units.iter().flat_map(|unit| units_bulbs(state, *unit, day)).collect();
    for bulb in &bulbs {
        super::here(state, bulb.id, day)?;
    }
    // A bulb whose cycle began that very day, by being cut back for this try, stays in that cycle.
    let beginning = bulbs.iter().filter(|bulb| bulb.cycle().began != Some(day)).map(|bulb| bulb.id).collect::<Vec<_>>();
    let act = Act { run: Some(run), ..Act::default() };
    if !beginning.is_empty() {
        drafts = in_parts(beginning, |part| {
            Draft::new(part, happened.clone(), Body::Act(ActKind::CycleBegan, act.clone()))
        })?;
    }
    drafts.push(Draft::new(vec![run], happened, Body::Act(ActKind::RunStarted, act)));
    Ok(drafts)
}

fn run_of(state: &State, run: Id) -> Result<&Run> {
    state.runs.get(&run).ok_or_else(|| Error::new(TryRefusal::NoSuchTry))
}

pub(super) fn start(ledger: &Ledger, state: &State, moment: &Moment, run: Id, on: Option<Date>) -> Result<Vec<Draft>> {
    let known = run_of(state, run)?;
    if known.started.is_some() {
        return Err(Error::new(TryRefusal::Started));
    }
    let day = on.unwrap_or(moment.today());
    if known.units().is_empty() && known.tallies.shown().is_none() {
        return Err(Error::new(TryRefusal::GroupsOpen));
    }
    for unit in known.units() {
        free(state, *unit, Some(run))?;
    }
    let mut drafts = begin(state, moment, run, known.units(), day)?;
    if let (Some(counted), Some(window)) = (known.due_days.settled(), known.window.settled()) {
        let (from, to) = counted.window(day)?;
        if (window.from, window.to) != (from, to) {
            let moved = DueWindow { from, to, ..window.clone() };
            let mut draft = Draft::new(vec![run], moment.now.clone(), Body::DueWindow(moved));
            draft.supersedes = State::to_replace(ledger, run, "due-window", "");
            drafts.insert(0, draft);
        }
    }
    Ok(drafts)
}

pub(super) fn close(state: &State, moment: &Moment, run: Id, on: Option<Date>) -> Result<Vec<Draft>> {
    let known = run_of(state, run)?;
    if !known.is_running() {
        return Err(Error::new(TryRefusal::NotRunning));
    }
    let happened = moment.on(on)?;
    if let Some(started) = known.started.filter(|started| happened.date() < *started) {
        return Err(Error::new(TryRefusal::StartedOn(started)).at(Field::Date));
    }
    let act = Act { run: Some(run), ..Act::default() };
    Ok(vec![Draft::new(vec![run], happened, Body::Act(ActKind::RunClosed, act))])
}

pub(super) fn draw_again(
    ledger: &Ledger,
    state: &State,
    moment: &Moment,
    run: Id,
    reason: &str,
    seed: &[u8; 32],
) -> Result<Vec<Draft>> {
    let reason = required(reason, Field::Reason, Missing::ReasonToDraw)?;
    let known = run_of(state, run)?;
    if known.started.is_some() {
        return Err(Error::new(TryRefusal::GroupsStay));
    }
    let old = known.allotment.settled().ok_or_else(|| Error::new(TryRefusal::TwoDraws))?;
    if !lots::is_drawn(&old.method) {
        return Err(Error::new(TryRefusal::NotDrawn));
    }
    let mut again = drawn_again(old, seed)?;
    again.reason = reason;
    let mut draft = Draft::new(vec![run], moment.now.clone(), Body::Allotment(again));
    draft.supersedes = State::to_replace(ledger, run, "allotment", "");
    Ok(vec![draft])
}

/// The same units with another seed, by the method and in the classes that they were drawn in before.
fn drawn_again(old: &Allotment, seed: &[u8; 32]) -> Result<Allotment> {
    let sizes: Vec<usize> =
        (0..old.groups.len()).map(|group| old.arms.iter().filter(|arm| **arm as usize == group).count()).collect();
    if old.method == lots::METHOD {
        let last_block = old.blocks.iter().max().copied().unwrap_or(0) as usize;
        let n_blocks = last_block.saturating_add(1);
        let block_length = old.units.len().div_ceil(n_blocks);
        return in_blocks(old.unit, &old.units, &old.sizes_mm, &old.groups, &sizes, block_length, seed);
    }
    let cultivar = |at: usize| old.blocks.get(at).and_then(|block| old.cultivars.get(*block as usize));
    let unit = |(at, id): (usize, &Id)| classes::Unit {
        id: *id,
        cultivar: cultivar(at).cloned().unwrap_or_default(),
        size: old.sizes_mm.get(at).copied().unwrap_or_default(),
    };
    let hat: Vec<_> = old.units.iter().enumerate().map(unit).collect();
    let length = old.class_length.unwrap_or_default() as usize;
    in_classes(old.unit, &hat, &old.groups, &sizes, length, seed)
}
