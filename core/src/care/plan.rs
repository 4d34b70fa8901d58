//! Care plans: from jobs to days, for each bulb, and what the ledger says is done already.

use super::{
    job::{DueAt, Gathered, Job, key_of},
    rest::rest_days,
    saved_plan::saved_on,
    snooze::reminder_day,
};
use crate::{
    calendar::Date,
    error::{self, Error},
    ledger::{
        Register,
        body::{ActKind, CareJob, Doing, During, Forcing, JobFrom, Stage},
        id::{Id, Noun},
    },
    limits,
    nursery::{Bulb, State, state::Planned},
    refusal::{JobRefusal, Missing, Refusal},
};

/// Acts that a job may ask for.
pub const ACTS: &[ActKind] = &[
    ActKind::Watered,
    ActKind::Fed,
    ActKind::BaseDamped,
    ActKind::Soaked,
    ActKind::WaterStopped,
    ActKind::CutBack,
    ActKind::Lifted,
    ActKind::Cleaned,
    ActKind::Packed,
    ActKind::LaidToRest,
    ActKind::RestEnded,
    ActKind::Potted,
    ActKind::Unpotted,
    ActKind::Moved,
    ActKind::BroughtToLight,
    ActKind::Staked,
    ActKind::ScapeCut,
    ActKind::SprayedOrDipped,
];

/// Acts that are done more than once in a cycle, so that one long ago is not the one a job asks for.
const REPEATED: &[ActKind] = &[
    ActKind::Watered,
    ActKind::Fed,
    ActKind::BaseDamped,
    ActKind::Soaked,
    ActKind::Moved,
    ActKind::ScapeCut,
    ActKind::SprayedOrDipped,
];

/// The job that a key names, if the care plans hold it.
pub fn find<'a>(state: &'a State, subject: Id, slot: &str) -> Option<&'a CareJob> {
    let planned = state.care.iter();
    planned.filter(|planned| planned.subject == subject && planned.slot == slot).find_map(|planned| planned.job.shown())
}

/// Whether a job of a care plan means looking, so that it opens a walk.
pub fn is_look(state: &State, job: &Job) -> bool {
    match job {
        Job::Planned { subject, slot } => find(state, *subject, slot).is_some_and(|job| job.doing == Doing::Look),
        _ => false,
    }
}

/// Whether a job of a care plan is an inspection.
pub fn is_inspection(state: &State, job: &Job) -> bool {
    match job {
        Job::Planned { subject, slot } => find(state, *subject, slot).is_some_and(|job| job.doing == Doing::Inspect),
        _ => false,
    }
}

/// Who is to do a job, if it was given to a person.
pub fn person_of(state: &State, job: &Job) -> Option<Id> {
    match job {
        Job::Planned { subject, slot } => find(state, *subject, slot)?.person,
        _ => None,
    }
}

/// Jobs of care plans that are not given up, each with its key.
pub fn active(state: &State) -> Vec<(&Planned, &CareJob, String)> {
    let shown = state.care.iter().filter_map(|planned| {
        let job = planned.job.shown().filter(|job| !job.given_up)?;
        Some((planned, job, key_of(planned.subject, &planned.slot)))
    });
    shown.collect()
}

/// What a bulb belongs to that a care plan may be for.
pub struct Belongs {
    place: Option<Id>,
    run: Option<Id>,
    group: Option<Id>,
    /// Its forcings, each with its batch there.
    forcings: Vec<(Id, usize)>,
    /// Forcings whose work its try has taken over.
    became_try: Vec<(Id, usize)>,
}

impl Belongs {
    /// Of this bulb: its place, its running try, or else the one that is planned for it, and its group there.
    pub fn of(state: &State, bulb: &Bulb) -> Self {
        let run = state.running(bulb).or_else(|| state.awaited(bulb));
        let in_run = run.and_then(|run| state.runs.get(&run));
        let group = in_run.and_then(|run| state.group_of(run, bulb));
        let (became_try, forcings) =
            state.forcings_of(bulb.id).partition(|(forcing, _)| became_try(state, bulb, *forcing));
        Self { place: bulb.place, run, group: group.map(|(_, group)| group), forcings, became_try }
    }

    /// Whether a job of a care plan is for the bulb.
    pub fn to(&self, planned: &Planned) -> bool {
        let subject = planned.subject;
        subject.is(Noun::Ledger)
            || [self.place, self.run, self.group].contains(&Some(subject))
            || is_of(&self.forcings, planned)
    }

    /// Whether a job of a forcing was for the bulb until its try took the work over.
    pub fn gave_up(&self, planned: &Planned) -> bool {
        is_of(&self.became_try, planned)
    }
}

fn is_of(forcings: &[(Id, usize)], planned: &Planned) -> bool {
    let batch = batch_of(&planned.slot);
    forcings.iter().any(|(forcing, own)| *forcing == planned.subject && batch == Some(*own))
}

/// Whether the try that a bulb is in has taken over the work of a saved plan: the try's care plan, written since the plan
/// was saved, names the day on which the bulb is brought on. The plan's days beside it would ask for the same work twice,
/// and for another length of rest. A try that was closed before the plan's last day gives the work back.
pub fn became_try(state: &State, bulb: &Bulb, forcing: Id) -> bool {
    let Some(plan) = state.forcings.get(&forcing).and_then(Register::shown) else {
        return false;
    };
    let saved_on = saved_on(state, forcing);
    let brings_on = |planned: &Planned| {
        let job = planned.job.shown().filter(|job| !job.given_up && job.from == JobFrom::Date);
        job.and_then(|job| job.act).is_some_and(ActKind::brings_on) && planned.since >= saved_on
    };
    state.runs_of(bulb).into_iter().any(|id| {
        let run = state.runs.get(&id).filter(|run| run.closed.is_none_or(|closed| closed >= plan.to));
        let group = run.and_then(|run| state.group_of(run, bulb)).map(|(_, group)| group);
        let mut care = state.care.iter();
        run.is_some() && care.any(|job| (job.subject == id || Some(job.subject) == group) && brings_on(job))
    })
}

/// The last day on which a job of a forcing can come again: the one before the rest of its bulbs is to end, for what is
/// done only at rest, else the window's last.
pub fn last_day(state: &State, subject: Id, slot: &str, job: &CareJob) -> Option<Date> {
    let forcing = state.forcings.get(&subject)?.shown()?;
    if job.during != During::Rest {
        return Some(forcing.to);
    }
    let batch = forcing.batches.get(batch_of(slot)?.checked_sub(1)?)?;
    batch.rest_end.add_days(-1).ok()
}

/// The number of the batch of a forcing that a job with this slot is for.
pub fn batch_of(slot: &str) -> Option<usize> {
    slot.split_once('-')?.0.parse().ok()
}

/// The day on which a job is to be told for a bulb: done jobs, skipped ones and those of another time of the cycle have
/// none.
pub fn day(state: &State, bulb: &Bulb, planned: &Planned, job: &CareJob, key: &str) -> Option<Date> {
    // A walk does not ask for a blind bulb, so a job that is done by walking would never be.
    if job.doing == Doing::Look && bulb.is_blind() {
        return None;
    }
    let cycle = bulb.cycle();
    let fits = match job.during {
        During::Always => true,
        During::Rest => cycle.resting(),
        During::Growth => !cycle.resting(),
    };
    let from = anchor(state, bulb, job).filter(|_| fits)?;
    let first = from.add_days(i64::from(job.after_days)).ok()?;
    let last = done_on(bulb, planned, job, key, (from, first));
    let every_days = job.every_days.map(i64::from);
    let due = match (every_days, last) {
        (None, Some(_)) => return None,
        (Some(every_days), Some(last)) => first.max(last.add_days(every_days).ok()?),
        // A day chosen by hand stands. Anything else cannot be late for a time before it was in the plan.
        (None, None) if job.from == JobFrom::Date => first,
        (_, None) => first.max(planned.since),
    };
    // What comes again for a due window ends with it.
    let over = |forcing: &Forcing| every_days.is_some() && due > forcing.to;
    let forcing = state.forcings.get(&planned.subject);
    if forcing.and_then(Register::shown).is_some_and(over) {
        return None;
    }
    reminder_day(bulb, key, due, every_days, i64::from(job.tolerance_days))
}

/// The day on which it was last done for this job, if it was, which is counted `from` a day and due `first`.
pub(super) fn done_on(
    bulb: &Bulb,
    planned: &Planned,
    job: &CareJob,
    key: &str,
    (from, first): (Date, Date),
) -> Option<Date> {
    let mut counts_from = counts_from(bulb, job, from, first);
    // The window of a forcing may move after a job was done: that stays done.
    if planned.subject.is(Noun::Forcing) && job.every_days.is_none() {
        counts_from = counts_from.min(planned.since);
    }
    last_done(bulb, job, key).filter(|last| *last >= counts_from)
}

/// Whether a job of a forcing was done for every one of these bulbs that is here.
pub fn is_done(state: &State, planned: &Planned, job: &CareJob, bulbs: &[Id]) -> bool {
    let key = key_of(planned.subject, &planned.slot);
    let Some(first) = job.date.filter(|_| job.every_days.is_none()) else {
        return false;
    };
    let bulbs = bulbs.iter().filter_map(|bulb| state.bulb(bulb));
    let mut here = bulbs.filter(|bulb| bulb.is_here()).peekable();
    here.peek().is_some() && here.all(|bulb| done_on(bulb, planned, job, &key, (first, first)).is_some())
}

/// What the first day is counted from.
fn anchor(state: &State, bulb: &Bulb, job: &CareJob) -> Option<Date> {
    if job.from == JobFrom::Date {
        return job.date;
    }
    let cycle = bulb.cycle();
    // What was counted from in a cycle that ended is over with it.
    if cycle.ended.is_some() {
        return None;
    }
    match job.from {
        JobFrom::Date => job.date,
        JobFrom::RunStart => state.runs.get(&state.running(bulb)?)?.start(),
        JobFrom::RestEnd => cycle.rest_ended_on(),
        JobFrom::Act => cycle.last(job.after?),
        JobFrom::Stage => cycle.first_seen_in(job.stage?),
    }
}

/// The first day on which doing it counts for this job.
fn counts_from(bulb: &Bulb, job: &CareJob, from: Date, first: Date) -> Date {
    let early = first.add_days(-i64::from(job.tolerance_days)).unwrap_or(first);
    let once = job.act.is_some_and(|act| !REPEATED.contains(&act));
    match job.from {
        JobFrom::Date => early,
        JobFrom::Stage if once => bulb.cycle().began.unwrap_or(Date::EARLIEST),
        _ if once => from,
        JobFrom::Stage => early,
        _ => from.max(early),
    }
}

/// When it was last done, whoever did it.
fn last_done(bulb: &Bulb, job: &CareJob, key: &str) -> Option<Date> {
    match job.doing {
        Doing::Act => bulb.last_acts.get(&job.act?).copied(),
        Doing::Look => bulb.cycle().last_neck_look().map(|seen| seen.at.date()),
        Doing::Inspect => bulb.inspected,
        Doing::Own => {
            let mut notes = bulb.jobs.iter().rev();
            let done = notes.find(|note| note.kind == ActKind::JobDone && note.job.as_deref() == Some(key));
            done.map(|note| note.on)
        }
    }
}

/// What care plans make due on `today`, by place.
pub fn planned(state: &State, today: Date) -> Vec<DueAt> {
    let mut places: Vec<DueAt> = Vec::new();
    each(state, |bulb, planned, job, day| {
        let past_days = day.days_until(today);
        if past_days < 0 {
            return;
        }
        let over_days = (past_days - i64::from(job.tolerance_days)).max(0);
        let what = Job::Planned { subject: planned.subject, slot: planned.slot.clone() };
        // A place that was never told of is none.
        let place = bulb.place.filter(|place| state.places.contains_key(place));
        let at = match places.iter().position(|at| at.place == place) {
            Some(at) => at,
            None => {
                places.push(DueAt { place, n_bulbs: 0, jobs: Vec::new() });
                places.len() - 1
            }
        };
        let mut jobs = Gathered(std::mem::take(&mut places[at].jobs));
        jobs.put(what, bulb.id, over_days);
        places[at].jobs = jobs.0;
    });
    for at in &mut places {
        in_bench_order(state, at);
    }
    places
}

/// Bulbs of each job in the order in which they stand.
fn in_bench_order(state: &State, at: &mut DueAt) {
    let Some(place) = at.place else {
        at.n_bulbs = state.bulbs_nowhere().len();
        return;
    };
    let bench: Vec<Id> = state.bulbs_in(place).iter().map(|bulb| bulb.id).collect();
    at.n_bulbs = bench.len();
    for job in &mut at.jobs {
        let among = |id: &Id| job.bulbs.contains(id);
        job.bulbs = bench.iter().copied().filter(among).collect();
    }
}

/// A job of a care plan on a day to come, at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coming {
    /// The place; nothing for bulbs that stand in none.
    pub place: Option<Id>,
    /// What the job is for.
    pub subject: Id,
    /// Which job.
    pub slot: String,
    /// Its next day; one that is past already is due.
    pub day: Date,
    /// For which bulbs.
    pub bulbs: Vec<Id>,
}

/// The next day of every job of the care plans, by job, place and day.
pub fn coming(state: &State) -> Vec<Coming> {
    let mut all: Vec<Coming> = Vec::new();
    each(state, |bulb, planned, _, day| {
        let place = bulb.place.filter(|place| state.places.contains_key(place));
        let same = all.iter_mut().find(|coming| {
            coming.place == place
                && coming.subject == planned.subject
                && coming.slot == planned.slot
                && coming.day == day
        });
        match same {
            Some(coming) => coming.bulbs.push(bulb.id),
            None => all.push(Coming {
                place,
                subject: planned.subject,
                slot: planned.slot.clone(),
                day,
                bulbs: vec![bulb.id],
            }),
        }
    });
    all
}

/// Every bulb that is here with every job that is for it and has a day.
fn each(state: &State, mut found: impl FnMut(&Bulb, &Planned, &CareJob, Date)) {
    let active = active(state);
    if active.is_empty() {
        return;
    }
    for bulb in state.bulbs.values().filter(|bulb| bulb.is_here()) {
        for (planned, job, day) in told(state, &active, bulb) {
            found(bulb, planned, job, day);
        }
    }
}

/// Of the jobs that are not given up, those that are for a bulb and have a day, as they are told.
fn told<'a>(
    state: &State,
    active: &[(&'a Planned, &'a CareJob, String)],
    bulb: &Bulb,
) -> Vec<(&'a Planned, &'a CareJob, Date)> {
    let belongs = Belongs::of(state, bulb);
    let own = active.iter().filter(|(planned, ..)| belongs.to(planned));
    let own: Vec<_> =
        own.filter_map(|(planned, job, key)| Some((*planned, *job, day(state, bulb, planned, job, key)?))).collect();
    let others = || own.iter().map(|(planned, job, _)| (*planned, *job));
    let is_told = |(planned, job, _): &&(&'a Planned, &'a CareJob, Date)| !is_told_anyway(planned, job, others());
    own.iter().filter(is_told).copied().collect()
}

/// The day on which a bulb is next to be inspected, whichever care plan says so: what Due tells, and what a saved plan
/// shows.
pub fn next_inspection(state: &State, bulb: &Bulb) -> Option<Date> {
    let all = told(state, &active(state), bulb).into_iter();
    all.filter(|(_, job, _)| job.doing == Doing::Inspect).map(|(.., day)| day).min()
}

/// What a forcing repeats for nobody in particular is not told twice where the care plan of the nursery or the place
/// repeats the same at least as often.
pub(super) fn is_told_anyway<'a>(
    planned: &Planned,
    job: &CareJob,
    mut own: impl Iterator<Item = (&'a Planned, &'a CareJob)>,
) -> bool {
    let repeats = |job: &CareJob| job.every_days.is_some() && job.act.is_none();
    planned.subject.is(Noun::Forcing)
        && repeats(job)
        && job.person.is_none()
        && own.any(|(other, same)| {
            !other.subject.is(Noun::Forcing)
                && repeats(same)
                && same.doing == job.doing
                && same.every_days <= job.every_days
        })
}

/// Whether a job may be recorded.
///
/// # Errors
/// What is missing or contradicts itself, with what to do.
pub fn check(job: &CareJob) -> error::Result<()> {
    let refuse = |field: error::Field, why: Refusal| Err(Error::new(why).at(field));
    limits::JOB_AFTER_DAYS.check(i64::from(job.after_days)).map_err(|why| why.at(error::Field::After))?;
    limits::JOB_TOLERANCE_DAYS.check(i64::from(job.tolerance_days)).map_err(|why| why.at(error::Field::Tolerance))?;
    if let Some(every_days) = job.every_days {
        limits::JOB_EVERY_DAYS.check(i64::from(every_days)).map_err(|why| why.at(error::Field::Every))?;
        if job.tolerance_days >= every_days {
            let too_loose = JobRefusal::TooLoose { every_days, tolerance_days: job.tolerance_days };
            return refuse(error::Field::Tolerance, too_loose.into());
        }
    }
    limits::NAME_CHARS.check(job.words.chars().count() as i64).map_err(|why| why.at(error::Field::Words))?;
    match (job.doing, job.act) {
        (Doing::Act, None) => return refuse(error::Field::Act, Missing::Act.into()),
        (Doing::Act, Some(act)) if !ACTS.contains(&act) => {
            return refuse(error::Field::Act, JobRefusal::NotPlanned.into());
        }
        (Doing::Own, _) if job.words.is_empty() => {
            return refuse(error::Field::Words, Missing::JobWords.into());
        }
        _ => {}
    }
    let missing = match job.from {
        JobFrom::Date if job.date.is_none() => Some((error::Field::Date, Missing::Day)),
        JobFrom::Act if job.after.is_none() => Some((error::Field::From, Missing::AfterAct)),
        JobFrom::Stage if job.stage.is_none() => Some((error::Field::From, Missing::Stage)),
        _ => None,
    };
    if let Some((field, what)) = missing {
        return refuse(field, what.into());
    }
    if job.from == JobFrom::Act && job.act == job.after && job.doing == Doing::Act && job.every_days.is_none() {
        return refuse(error::Field::From, JobRefusal::WaitsForItself.into());
    }
    if job.during == During::Rest && job.every_days.is_some() && job.act.is_some_and(ActKind::ends_rest) {
        return refuse(error::Field::During, JobRefusal::EndsRestInRest.into());
    }
    let never = job.during == During::Rest
        && (job.from == JobFrom::RestEnd || job.from == JobFrom::Act && job.after.is_some_and(ActKind::ends_rest));
    if never {
        return refuse(error::Field::During, JobRefusal::Never.into());
    }
    Ok(())
}

/// What makes two jobs, or a job and a treatment, contradict each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clash {
    /// Water or feed goes on through a rest that another job begins.
    WaterInRest,
    /// The same act comes again after different numbers of days.
    TwoRhythms,
    /// Each waits for the other.
    Circle,
    /// The rest of the treatment lasts so many days, and the job ends it after another number.
    RestOfTreatment {
        /// Days by the treatment.
        days: i64,
    },
}

/// Two jobs that contradict each other; the same one twice where it contradicts its treatment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contradiction {
    /// One job: subject and slot.
    pub one: (Id, String),
    /// The other.
    pub other: (Id, String),
    /// Why.
    pub clash: Clash,
}

/// Jobs of the care plans that contradict each other for some bulb.
pub fn contradictions(state: &State) -> Vec<Contradiction> {
    let active = active(state);
    let of = |planned: &Planned| (planned.subject, planned.slot.clone());
    let mut found = Vec::new();
    for (n, (planned, job, _)) in active.iter().enumerate() {
        if let Some(days) = rest_days(state, planned.subject)
            && job.act == Some(ActKind::RestEnded)
            && job.from == JobFrom::Act
            && job.after.is_some_and(ActKind::lays_down)
            && i64::from(job.after_days) != days
        {
            found.push(Contradiction { one: of(planned), other: of(planned), clash: Clash::RestOfTreatment { days } });
        }
        for (other, other_job, _) in &active[n + 1..] {
            if let Some(clash) = clash(job, other_job).or_else(|| clash(other_job, job))
                && meet(state, planned, other)
            {
                found.push(Contradiction { one: of(planned), other: of(other), clash });
            }
        }
    }
    found
}

fn clash(one: &CareJob, other: &CareJob) -> Option<Clash> {
    let (act, second) = (one.act?, other.act?);
    let waters = matches!(act, ActKind::Watered | ActKind::Fed) && one.during == During::Always;
    let waits = |a: &CareJob, b: &CareJob| a.from == JobFrom::Act && a.after == b.act;
    if waters && one.every_days.is_some() && second.begins_rest() {
        Some(Clash::WaterInRest)
    } else if act == second
        && one.during == other.during
        && one.from == other.from
        && one.stage == other.stage
        && matches!((one.every_days, other.every_days), (Some(a), Some(b)) if a != b)
    {
        Some(Clash::TwoRhythms)
    } else if waits(one, other) && waits(other, one) {
        Some(Clash::Circle)
    } else {
        None
    }
}

/// Whether two care plans are ever for the same bulb.
fn meet(state: &State, one: &Planned, other: &Planned) -> bool {
    one.subject == other.subject
        || one.subject.is(Noun::Ledger)
        || other.subject.is(Noun::Ledger)
        || state.bulbs.values().any(|bulb| {
            let belongs = Belongs::of(state, bulb);
            belongs.to(one) && belongs.to(other)
        })
}

/// Stages that a job may wait for.
pub const STAGES: &[Stage] = &[
    Stage::Shoot,
    Stage::ScapeInSight,
    Stage::ScapeStretching,
    Stage::SpatheSplit,
    Stage::FirstFlower,
    Stage::FullBloom,
    Stage::Fading,
    Stage::Over,
];

#[cfg(test)]
mod tests;
