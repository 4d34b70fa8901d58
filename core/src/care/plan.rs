//! Care plans: from jobs to days, for each bulb, and what the ledger says is done already.

use super::{
    due::{DueAt, Gathered, Job},
    heed::told,
};
use crate::{
    calendar::Date,
    ledger::{
        Field,
        body::{ActKind, CareJob, Doing, During, Forcing, JobFrom, Stage},
        id::{Id, Noun},
    },
    limits,
    nursery::{Bulb, State, state::Planned},
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

/// The key that skipped, postponed and done name a job of a care plan by.
pub fn key_of(subject: Id, slot: &str) -> String {
    format!("{subject}/{slot}")
}

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
    forcings: Vec<(Id, usize)>,
}

impl Belongs {
    /// Of this bulb: its place, its running try, or else the one that is planned for it, and its group there.
    pub fn of(state: &State, bulb: &Bulb) -> Self {
        let run = state.running(bulb).or_else(|| state.awaited(bulb));
        let in_run = run.and_then(|run| state.runs.get(&run));
        let group = in_run.and_then(|run| state.group_of(run, bulb));
        Self {
            place: bulb.place,
            run,
            group: group.map(|(_, group)| group),
            forcings: state.forcings_of(bulb.id).collect(),
        }
    }

    /// Whether a job of a care plan is for the bulb.
    pub fn to(&self, planned: &Planned) -> bool {
        let subject = planned.subject;
        subject.is(Noun::Ledger)
            || [self.place, self.run, self.group].contains(&Some(subject))
            || self
                .forcings
                .iter()
                .any(|(forcing, batch)| *forcing == subject && batch_of(&planned.slot) == Some(*batch))
    }
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
    if forcing.and_then(Field::shown).is_some_and(over) {
        return None;
    }
    told(bulb, key, due, every_days, i64::from(job.tolerance_days))
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
        at.n_bulbs = super::due::nowhere(state).len();
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
        let belongs = Belongs::of(state, bulb);
        let own = active.iter().filter(|(planned, ..)| belongs.to(planned));
        let own: Vec<_> = own
            .filter_map(|(planned, job, key)| Some((*planned, *job, day(state, bulb, planned, job, key)?)))
            .collect();
        for (planned, job, day) in &own {
            let others = own.iter().map(|(planned, job, _)| (*planned, *job));
            if !is_told_anyway(planned, job, others) {
                found(bulb, planned, job, *day);
            }
        }
    }
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
pub fn check(job: &CareJob) -> crate::error::Result<()> {
    use crate::error::Error;
    let refuse = |field: &str, text: String| Err(Error::new(text).at(field));
    limits::JOB_AFTER_DAYS.check(i64::from(job.after_days)).map_err(|why| why.at("after"))?;
    limits::JOB_TOLERANCE_DAYS.check(i64::from(job.tolerance_days)).map_err(|why| why.at("tolerance"))?;
    if let Some(every_days) = job.every_days {
        limits::JOB_EVERY_DAYS.check(i64::from(every_days)).map_err(|why| why.at("every"))?;
        if job.tolerance_days >= every_days {
            return refuse(
                "tolerance",
                format!(
                    "a job that comes every {every_days} days cannot be {} days early or late; make that shorter than the repeat",
                    job.tolerance_days
                ),
            );
        }
    }
    match (job.doing, job.act) {
        (Doing::Act, None) => return refuse("act", "choose what is to be done".to_owned()),
        (Doing::Act, Some(act)) if !ACTS.contains(&act) => {
            return refuse("act", "that cannot be planned as a job; choose another".to_owned());
        }
        (Doing::Own, _) if job.words.is_empty() => {
            return refuse("words", "write what the job is".to_owned());
        }
        _ => {}
    }
    let missing = match job.from {
        JobFrom::Date if job.date.is_none() => Some(("date", "choose the day")),
        JobFrom::Act if job.after.is_none() => Some(("from", "choose the act it comes after")),
        JobFrom::Stage if job.stage.is_none() => Some(("from", "choose the stage it waits for")),
        _ => None,
    };
    if let Some((field, text)) = missing {
        return refuse(field, text.to_owned());
    }
    if job.from == JobFrom::Act && job.act == job.after && job.doing == Doing::Act && job.every_days.is_none() {
        let text = "a job cannot wait for itself; choose another act or a day of the calendar";
        return refuse("from", text.to_owned());
    }
    let ends = [ActKind::RestEnded, ActKind::Potted, ActKind::BroughtToLight, ActKind::Watered];
    if job.during == During::Rest && job.every_days.is_some() && job.act.is_some_and(|act| ends.contains(&act)) {
        let text =
            "this ends a rest, so it cannot come again and again during one; choose growth, or damp the base instead";
        return refuse("during", text.to_owned());
    }
    let never = job.during == During::Rest
        && (job.from == JobFrom::RestEnd
            || job.from == JobFrom::Act && job.after.is_some_and(|act| ends.contains(&act)));
    if never {
        let text = "it is counted from the end of the rest and told only during it, so it never comes; choose growth or always";
        return refuse("during", text.to_owned());
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
        if let Some(days) = super::due::rest_days(state, planned.subject)
            && job.act == Some(ActKind::RestEnded)
            && job.from == JobFrom::Act
            && matches!(job.after, Some(ActKind::LaidToRest | ActKind::Packed))
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
    let rests = matches!(second, ActKind::WaterStopped | ActKind::LaidToRest | ActKind::Packed);
    let waits = |a: &CareJob, b: &CareJob| a.from == JobFrom::Act && a.after == b.act;
    if waters && one.every_days.is_some() && rests {
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
