//! What is due on a day, by place, overdue first.
//!
//! Jobs that mean *looking* open a walk and are never ticked; done work is recognised from the ledger, whoever did it.

use std::collections::BTreeSet;

use crate::counted::Counted;
use serde::Serialize;

use super::{
    job::{DueAt, Gathered, Job, JobAt},
    plan::{is_inspection, is_look, person_of},
    rest::rest_end,
    snooze::{key, reminder_day},
};
use crate::{
    calendar::Date,
    habits::WATCH_AGAIN_DAYS,
    ledger::{body::ShootKind, id::Id},
    nursery::{Bulb, State, state::Run, walk},
    trial::outcome::judge,
};

/// How long before a due window's last day it is told.
pub const DEADLINE_NOTICE_DAYS: i64 = 7;
/// How long before its end a rest is told.
pub const REST_NOTICE_DAYS: i64 = 3;
/// After how many days an unsure shoot without a call is to be seen again (common practice, no source).
pub const UNSURE_AGAIN_DAYS: i64 = 4;

/// What is due on a day.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Due {
    /// Jobs of no single place: deadlines, starts, lots kept apart.
    pub general: Vec<JobAt>,
    /// By place, the one with the latest job first.
    pub places: Vec<DueAt>,
    /// Registers whose values differ, and records of bulbs that exclude each other.
    pub n_disagreements: usize,
}

impl Due {
    /// Whether nothing is due.
    pub fn is_empty(&self) -> bool {
        self.general.is_empty() && self.places.is_empty() && self.n_disagreements == 0
    }

    /// Adds what care plans make due ([`super::plan::planned`]) to what tries do. A walk through a place looks at each, so
    /// that looks of care plans are no work beside it: they are part of it.
    pub fn add(&mut self, state: &State, planned: Vec<DueAt>) {
        for mut more in planned {
            match self.places.iter_mut().find(|at| at.place == more.place) {
                Some(at) => {
                    more.jobs.retain(|job| !walk_covers(state, &mut at.jobs, job));
                    leave_to_their_own(state, &at.jobs, &mut more.jobs);
                    at.jobs.extend(more.jobs);
                    sort_jobs(&mut at.jobs);
                }
                None => self.places.push(more),
            }
        }
        sort_places(state, &mut self.places);
    }

    /// How many jobs there are today, those still to come left out, for the badge.
    pub fn n_jobs(&self) -> usize {
        let placed = self.places.iter().flat_map(|at| &at.jobs);
        let all = self.general.iter().chain(placed);
        all.filter(|at| at.over_days >= 0).count()
    }

    /// Bulbs of which a shoot that may be scape or leaf is to be seen again by today.
    pub fn bulbs_to_see_again(&self) -> BTreeSet<Id> {
        let jobs = self.places.iter().flat_map(|at| &at.jobs);
        jobs.filter(|at| at.job == Job::SeeAgain).flat_map(|at| at.bulbs.iter().copied()).collect()
    }
}

/// What is due on `today`.
pub fn due(state: &State, today: Date) -> Due {
    let mut general = Vec::new();
    for (id, run) in &state.runs {
        general.extend(of_run(state, *id, run, today));
    }
    general.extend(lots_apart(state, today));
    general.sort_by_key(|at: &JobAt| std::cmp::Reverse(at.over_days));
    let mut places: Vec<DueAt> = Vec::new();
    let wheres = state.places.keys().map(|place| Some(*place));
    for place in wheres.chain([None]) {
        let bulbs = place.map_or_else(|| state.bulbs_nowhere(), |place| state.bulbs_in(place));
        let jobs = at_place(state, &bulbs, today);
        if !jobs.is_empty() {
            places.push(DueAt { place, n_bulbs: bulbs.len(), jobs });
        }
    }
    sort_places(state, &mut places);
    Due { general, places, n_disagreements: state.n_to_settle() }
}

/// Whether a job of a care plan is done by the walk that is due at the place, which then is for its bulbs too. What was
/// given to a person stays that person's.
fn walk_covers(state: &State, jobs: &mut [JobAt], job: &JobAt) -> bool {
    if !is_look(state, &job.job) || person_of(state, &job.job).is_some() {
        return false;
    }
    let Some(walk) = jobs.iter_mut().find(|at| matches!(at.job, Job::Walk { .. })) else {
        return false;
    };
    let more: Vec<Id> = job.bulbs.iter().copied().filter(|bulb| !walk.bulbs.contains(bulb)).collect();
    walk.bulbs.extend(more);
    walk.over_days = walk.over_days.max(job.over_days);
    true
}

/// A bulb that is to be inspected again by itself is not among those that are all found firm at once.
fn leave_to_their_own(state: &State, jobs: &[JobAt], planned: &mut Vec<JobAt>) {
    let Some(own) = jobs.iter().find(|at| at.job == Job::InspectAgain) else {
        return;
    };
    for job in planned.iter_mut().filter(|at| is_inspection(state, &at.job)) {
        job.bulbs.retain(|bulb| !own.bulbs.contains(bulb));
    }
    planned.retain(|at| !at.bulbs.is_empty());
}

fn sort_places(state: &State, places: &mut [DueAt]) {
    places.sort_by_cached_key(|at| {
        (
            std::cmp::Reverse(at.jobs.first().map(|job| job.over_days)),
            at.place.map(|place| Counted(state.name_of(place).to_lowercase())),
        )
    });
}

/// Bulbs of a started run that are not decided yet.
fn open_bulbs(state: &State, run: &Run, today: Date) -> Option<Vec<Id>> {
    let (rule, window) = (run.rule.settled()?, run.window.settled()?);
    let start = run.start()?;
    let bulbs = run.units().iter().flat_map(|unit| state.bulbs_of_unit_on(*unit, start));
    let open = bulbs.filter(|bulb| judge(bulb, start, rule, window, today).outcome.is_open());
    Some(open.map(|bulb| bulb.id).collect())
}

fn of_run(state: &State, id: Id, run: &Run, today: Date) -> Vec<JobAt> {
    let mut jobs = Vec::new();
    if run.started.is_none() && run.closed.is_none() {
        // A try typed in as counts has no start of its own and nothing to start.
        let planned = run.body.settled().filter(|body| !body.typed_in).map(|body| body.start);
        if let Some(on) = planned.filter(|on| on.days_until(today) >= 0) {
            jobs.push(JobAt { job: Job::StartRun { run: id, on }, bulbs: Vec::new(), over_days: on.days_until(today) });
        }
        return jobs;
    }
    if !run.is_running() {
        return jobs;
    }
    let Some(window) = run.window.settled() else {
        return jobs;
    };
    let Some(open) = open_bulbs(state, run, today) else {
        return jobs;
    };
    let over_days = window.to.days_until(today);
    if open.is_empty() && over_days > 0 {
        jobs.push(JobAt { job: Job::CloseRun { run: id }, bulbs: Vec::new(), over_days });
    } else if !open.is_empty() && over_days >= -DEADLINE_NOTICE_DAYS {
        let job = Job::Deadline { run: id, on: window.to, n_open: open.len() };
        jobs.push(JobAt { job, bulbs: open, over_days });
    }
    jobs
}

fn lots_apart(state: &State, today: Date) -> Vec<JobAt> {
    let ends = state.lots.iter().filter_map(|(id, lot)| {
        let on = lot.settled()?.apart_until?;
        let over_days = on.days_until(today);
        // Told on the day and for a week after; later nobody needs to be reminded.
        (0..=DEADLINE_NOTICE_DAYS).contains(&over_days).then_some(JobAt {
            job: Job::ApartEnds { lot: *id, on },
            bulbs: Vec::new(),
            over_days,
        })
    });
    ends.collect()
}

fn at_place(state: &State, bulbs: &[&Bulb], today: Date) -> Vec<JobAt> {
    let mut jobs = Gathered::default();
    for bulb in bulbs {
        let again = see_again(bulb).map(|on| on.days_until(today));
        if let Some(over_days) = again.filter(|over_days| *over_days >= 0) {
            jobs.put(Job::SeeAgain, bulb.id, over_days);
        }
        if let Some(over_days) = woke_early(bulb, today) {
            jobs.put(Job::WokeEarly, bulb.id, over_days);
        }
        let again = inspect_again(bulb).map(|on| on.days_until(today));
        if let Some(over_days) = again.filter(|over_days| *over_days >= 0) {
            jobs.put(Job::InspectAgain, bulb.id, over_days);
        }
        if let Some(run_id) = state.running(bulb)
            && let Some(run) = state.runs.get(&run_id)
        {
            of_running(state, (run_id, run), bulb, today, &mut jobs);
        }
    }
    sort_jobs(&mut jobs.0);
    jobs.0
}

fn sort_jobs(jobs: &mut [JobAt]) {
    jobs.sort_by_key(|at| (std::cmp::Reverse(at.over_days), at.job.rank()));
}

/// What the running try of a bulb asks for.
fn of_running(state: &State, (run_id, run): (Id, &Run), bulb: &Bulb, today: Date, jobs: &mut Gathered) {
    let told_at = |key: &str, due: Date, notice_days: i64| {
        let told = reminder_day(bulb, &format!("{key}/{run_id}"), due, None, notice_days);
        told.map(|day| (day, day.days_until(today))).filter(|(_, over_days)| *over_days >= -notice_days)
    };
    if let Some(deadline) = deadline_unseen(run, bulb, today) {
        if let Some((_, over_days)) = told_at(key::DEADLINE, deadline, 0) {
            let run = run_id;
            jobs.put(Job::DeadlineLook { run, deadline }, bulb.id, over_days);
        }
    } else if let Some(WalkDue { last_look_days, interval_days, over_days }) = walk_due(run, bulb, today) {
        jobs.put(Job::Walk { last_look_days, interval_days }, bulb.id, over_days);
    }
    let rest = rest_end(state, run, bulb);
    if let Some((on, over_days)) = rest.and_then(|on| told_at(key::REST_ENDS, on, REST_NOTICE_DAYS)) {
        jobs.put(Job::RestEnds { run: run_id, on }, bulb.id, over_days);
    }
}

/// The first day on which a bulb of a run is to be looked at again and the day from which that is late, counted from its
/// last look or, where none was made since, from a day on which something can be seen: the start, or the end of its rest.
/// None for a bulb that is blind: no stalk comes before its next cycle.
pub(super) fn next_look(run: &Run, bulb: &Bulb, awake_from: Option<Date>) -> Option<(Date, Date)> {
    if bulb.is_blind() {
        return None;
    }
    let interval_days = i64::from(run.body.settled()?.look_interval_days);
    let last = bulb.cycle().last_neck_look().map(|seen| seen.at.date());
    let base = last.or(run.start())?.max(awake_from.unwrap_or(Date::EARLIEST));
    // On the day that the interval is used up it is due; a bulb never looked at is due at once, but late only then.
    let used_up = base.add_days(interval_days).ok()?;
    Some((if last.is_some() { used_up } else { base }, used_up))
}

/// A look that a running try asks for.
struct WalkDue {
    /// Days since the last look; nothing when there was none.
    last_look_days: Option<i64>,
    interval_days: i64,
    /// Days over the interval.
    over_days: i64,
}

/// The look that is due when the interval is used up. Nothing at rest: a bulb in the dark is inspected, and its neck is
/// looked at from the end of its rest on.
fn walk_due(run: &Run, bulb: &Bulb, today: Date) -> Option<WalkDue> {
    let cycle = bulb.cycle();
    if cycle.resting() {
        return None;
    }
    let interval_days = i64::from(run.body.settled()?.look_interval_days);
    let last = cycle.last_neck_look().map(|seen| seen.at.date());
    let (first, used_up) = next_look(run, bulb, cycle.rest_ended_on())?;
    let day = reminder_day(bulb, key::WALK, first, Some(interval_days), 0)?;
    let late_from = if day == first { used_up } else { day };
    (day <= today).then(|| WalkDue {
        last_look_days: last.map(|last| last.days_until(today)),
        interval_days,
        over_days: late_from.days_until(today).max(0),
    })
}

/// The deadline of a bulb that needs a look for it today: it has come, the bulb is undecided, and no look of that day or
/// later stands.
fn deadline_unseen(run: &Run, bulb: &Bulb, today: Date) -> Option<Date> {
    let (rule, window, start) = (run.rule.settled()?, run.window.settled()?, run.start()?);
    let looked = bulb.cycle().last_neck_look();
    let looked = looked.is_some_and(|seen| seen.at.date() >= window.to);
    let unseen = today >= window.to && !looked && judge(bulb, start, rule, window, today).outcome.is_open();
    unseen.then_some(window.to)
}

/// Days since it was seen that this bulb woke during its rest.
fn woke_early(bulb: &Bulb, today: Date) -> Option<i64> {
    let cycle = bulb.cycle();
    let since = cycle.resting_since()?;
    let sprouted = bulb.sprouted.filter(|on| *on >= since);
    let woke = cycle.woke_on().into_iter().chain(sprouted).min()?;
    let over_days = reminder_day(bulb, key::WOKE, woke, None, 0)?.days_until(today);
    (over_days >= 0).then_some(over_days)
}

/// The day on which this bulb is to be inspected again by itself.
pub(super) fn inspect_again(bulb: &Bulb) -> Option<Date> {
    reminder_day(bulb, key::INSPECT_AGAIN, bulb.inspect_again?, Some(WATCH_AGAIN_DAYS), 0)
}

/// The day on which an unsure shoot of this bulb is to be seen again.
pub(super) fn see_again(bulb: &Bulb) -> Option<Date> {
    see_again_on(bulb).map(|(_, day)| day)
}

/// The unsure shoot of this bulb, and the day on which it is to be seen again.
pub(super) fn see_again_on(bulb: &Bulb) -> Option<(Id, Date)> {
    let cycle = bulb.cycle();
    let unsure = walk::present_unsure(cycle)?;
    debug_assert_eq!(unsure.kind, ShootKind::Unknown, "a shoot that is known is not unsure");
    let last = cycle.last_look().map(|seen| seen.at.date())?;
    let again = match unsure.call {
        Some((_, again)) if again > last => again,
        _ => last.add_days(UNSURE_AGAIN_DAYS).ok()?,
    };
    let day = reminder_day(bulb, key::SEE_AGAIN, again, Some(UNSURE_AGAIN_DAYS), 0)?;
    Some((unsure.id, day))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    /// Four bulbs in a drawn try that rests 8 or 12 weeks; looks every 7 days, in flower by day 100.
    fn resting() -> World {
        World::of(
            "-9 mia place pl_1 Cellar
             -9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1 in=pl_1
             -9 mia bulb b_2 lo_1 in=pl_1
             -9 mia bulb b_3 lo_1 in=pl_1
             -9 mia bulb b_4 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b factor=weeks-of-rest/weeks
             -2 mia group gr_a tr_1 Eight control weeks-of-rest=8/weeks
             -2 mia group gr_b tr_1 Twelve weeks-of-rest=12/weeks
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 100
             -2 mia allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3,b_4
             0 mia cycle-began b_1,b_2,b_3,b_4
             0 mia run-started ru_1
             0 mia laid-to-rest b_1,b_2,b_3,b_4",
        )
    }

    /// The same, brought out of their rest at once.
    fn growing() -> World {
        resting().and("0 mia rest-ended b_1,b_2,b_3,b_4")
    }

    fn on(world: &World, today: i64) -> Due {
        due(&world.state(), day(today))
    }

    #[test]
    fn a_bulb_is_to_be_looked_at_when_its_interval_is_used_up() {
        let mut world = growing();
        world.add("1 mia look b_1,b_2,b_3 clear");
        // The fourth was never looked at; the others have time until day 8.
        let jobs = on(&world, 7).places.remove(0).jobs;
        assert_eq!(jobs.len(), 1);
        assert_eq!(jobs[0].job, Job::Walk { last_look_days: None, interval_days: 7 });
        assert_eq!((jobs[0].bulbs.as_slice(), jobs[0].over_days), (&[id("b_4")][..], 0));
        world.add("7 mia look b_4 clear");
        assert!(on(&world, 7).is_empty());
        let jobs = on(&world, 10).places.remove(0).jobs;
        assert_eq!(jobs[0].job, Job::Walk { last_look_days: Some(9), interval_days: 7 });
        assert_eq!((jobs[0].bulbs.len(), jobs[0].over_days), (3, 2));
    }

    #[test]
    fn a_bulb_to_be_watched_is_inspected_again_by_itself() {
        let inspect = r#"0 mia json pl_1 care-plan {"doing":"inspection","from":"date","date":"2027-01-11","every_days":30,"during":"always"}"#;
        let mut world = resting().and(inspect);
        let all = |world: &World, today: i64| -> Vec<(String, usize, i64)> {
            let state = world.state();
            let mut due = due(&state, day(today));
            due.add(&state, crate::care::plan::planned(&state, day(today)));
            let jobs = due.places.into_iter().flat_map(|at| at.jobs);
            jobs.map(|at| (at.job.key().unwrap_or_default(), at.bulbs.len(), at.over_days)).collect()
        };
        world.add(r#"3 mia json b_1 inspection {"findings":["red marks"],"watch":true}"#);
        world.add(r#"3 mia json b_2 inspection {"again":"2027-01-06","checked":["firmness"],"findings":["slack"],"watch":true}"#);
        let again = |n, over| ("inspect-again".to_owned(), n, over);
        assert!(all(&world, 4).is_empty());
        // The day that was chosen, and a week where none was.
        assert_eq!(all(&world, 5), [again(1, 0)]);
        assert_eq!(all(&world, 10)[0], again(2, 5));
        // The care plan's inspection is for the two others.
        assert_eq!((all(&world, 10).len(), all(&world, 10)[1].1), (2, 2));
        // Found sound it is let go; the other is postponed.
        world.add(
            r#"10 jo json b_1 inspection {"checked":["firmness","basal plate","soft spots"],"findings":["firm"]}
                     10 jo postponed b_2 until=15 job=inspect-again"#,
        );
        assert!(all(&world, 14).iter().all(|(key, ..)| key != "inspect-again"));
        assert!(all(&world, 16).contains(&again(1, 1)));
        // Nobody asks after a bulb that is gone.
        world.add("16 jo died b_2");
        assert!(all(&world, 17).iter().all(|(key, ..)| key != "inspect-again"));
    }

    #[test]
    fn looks_of_a_care_plan_are_part_of_the_walk_that_is_due() {
        let look = r#"0 mia json PLACE care-plan {"doing":"look","from":"date","date":"2027-01-02","every_days":4,"during":"always"}"#;
        let mut world = growing().and("-9 mia bulb b_5 lo_1 in=pl_1");
        world.add(&look.replace("PLACE", "pl_1"));
        let all = |world: &World, today: i64| {
            let state = world.state();
            let mut due = due(&state, day(today));
            due.add(&state, super::super::plan::planned(&state, day(today)));
            let jobs = due.places.into_iter().flat_map(|at| at.jobs);
            jobs.map(|at| (matches!(at.job, Job::Walk { .. }), at.bulbs.len())).collect::<Vec<_>>()
        };
        // Four bulbs of the try have never been looked at; the fifth is looked at by the care plan only.
        assert_eq!(all(&world, 1), [(true, 5)]);
        // Where no walk is due the care plan's looks are told by themselves.
        world.add("1 mia look b_1,b_2,b_3,b_4,b_5 clear");
        assert_eq!(all(&world, 5), [(false, 5)]);
    }

    #[test]
    fn a_blind_bulb_is_asked_for_neither_by_a_walk_nor_on_the_last_day() {
        let world = growing().and(
            "1 mia look b_1,b_2,b_3,b_4 clear
1 mia cycle-ended b_1",
        );
        let jobs = on(&world, 8).places.remove(0).jobs;
        assert_eq!(jobs[0].bulbs, [id("b_2"), id("b_3"), id("b_4")]);
        let last_day = on(&world, 100);
        assert_eq!(last_day.general[0].job, Job::Deadline { run: id("ru_1"), on: day(100), n_open: 3 });
        assert_eq!(last_day.places[0].jobs[0].bulbs, [id("b_2"), id("b_3"), id("b_4")]);
    }

    #[test]
    fn at_rest_no_walk_is_due_and_after_it_the_interval_counts_from_its_end() {
        let mut world = resting();
        world.add("1 mia look b_1,b_2,b_3 clear");
        let walks = |world: &World, today: i64| -> Vec<Id> {
            let jobs = on(world, today).places.into_iter().flat_map(|at| at.jobs);
            let walks = jobs.filter(|at| matches!(at.job, Job::Walk { .. }));
            walks.flat_map(|at| at.bulbs).collect()
        };
        assert!([8, 30, 55].iter().all(|today| walks(&world, *today).is_empty()));
        world.add("56 mia potted b_1,b_4");
        // Never looked at, it is due at once.
        assert_eq!(walks(&world, 56), [id("b_4")]);
        assert_eq!(walks(&world, 63), [id("b_1"), id("b_4")]);
    }

    #[test]
    fn a_rest_is_told_three_days_before_its_weeks_are_over_and_until_it_is_ended() {
        let mut world = resting();
        world.add("53 mia look b_1,b_2,b_3,b_4 clear");
        assert!(
            on(&world, 52).places.iter().all(|at| { at.jobs.iter().all(|j| !matches!(j.job, Job::RestEnds { .. })) })
        );
        let due = on(&world, 53);
        let jobs = &due.places[0].jobs;
        assert_eq!(jobs[0].job, Job::RestEnds { run: id("ru_1"), on: day(56) });
        assert_eq!((jobs[0].bulbs.as_slice(), jobs[0].over_days), (&[id("b_1"), id("b_2")][..], -3));
        world.add("56 mia rest-ended b_1,b_2");
        assert!(on(&world, 57).is_empty());
    }

    #[test]
    fn a_rest_that_was_broken_counts_from_when_it_began_again() {
        let mut world = resting();
        world.add(
            "10 mia rest-ended b_1,b_2
             11 mia water-stopped b_1
             15 mia laid-to-rest b_1
             20 mia water-stopped b_2",
        );
        let state = world.state();
        let run = &state.runs[&id("ru_1")];
        let ends = |bulb: &str| rest_end(&state, run, &state.bulbs[&id(bulb)]);
        assert_eq!(ends("b_1"), Some(day(15 + 56)));
        assert_eq!(ends("b_2"), Some(day(20 + 56)));
        assert_eq!(ends("b_3"), Some(day(84)));
    }

    #[test]
    fn a_look_that_left_the_neck_out_leaves_the_bulb_due() {
        let mut world = resting();
        world.add("0 mia rest-ended b_1,b_2,b_3,b_4\n3 mia look b_1,b_2,b_3,b_4 clear");
        world.add("9 mia look b_1,b_2,b_3,b_4 unseen leaves=more");
        let jobs = on(&world, 10).places.remove(0).jobs;
        assert_eq!(jobs[0].job, Job::Walk { last_look_days: Some(7), interval_days: 7 });
        world.add("100 mia look b_1,b_2,b_3,b_4 unseen");
        let jobs = on(&world, 100).places.remove(0).jobs;
        assert!(matches!(jobs[0].job, Job::DeadlineLook { .. }));
        assert_eq!(jobs[0].bulbs.len(), 4);
    }

    #[test]
    fn on_the_deadline_every_undecided_bulb_needs_a_look_of_that_day() {
        let mut world = resting();
        world.add(
            "2 mia rest-ended b_1,b_2,b_3,b_4
             99 mia look b_1,b_2,b_3 clear
             98 mia look b_4 sh_4/scape/first-flower-open",
        );
        let due = on(&world, 100);
        assert_eq!(due.general[0].job, Job::Deadline { run: id("ru_1"), on: day(100), n_open: 3 });
        let look = &due.places[0].jobs[0];
        assert_eq!(look.job, Job::DeadlineLook { run: id("ru_1"), deadline: day(100) });
        assert_eq!(look.bulbs.len(), 3);
        assert!(look.job.is_look());
        world.add("100 mia look b_1,b_2,b_3 clear");
        assert!(on(&world, 100).places.is_empty());
        // Past its last day with everything decided, the try is to be closed.
        assert_eq!(on(&world, 101).general[0].job, Job::CloseRun { run: id("ru_1") });
        world.add("101 mia run-closed ru_1");
        assert!(on(&world, 120).is_empty());
    }

    #[test]
    fn an_unsure_shoot_is_to_be_seen_again_when_its_call_says_or_after_four_days() {
        let mut world = resting();
        world.add("2 mia rest-ended b_1");
        world.add("3 mia look b_1 sh_1/unknown/shoot\n3 mia look b_2,b_3,b_4 clear");
        assert!(on(&world, 6).is_empty());
        let jobs = on(&world, 7).places.remove(0).jobs;
        assert_eq!((&jobs[0].job, jobs[0].bulbs.as_slice()), (&Job::SeeAgain, &[id("b_1")][..]));
        world.add("3 mia call b_1 sh_1 700 5");
        assert_eq!(on(&world, 5).places[0].jobs[0].job, Job::SeeAgain);
        assert_eq!(on(&world, 5).bulbs_to_see_again(), [id("b_1")].into());
        // Proved, it is nothing to see again.
        world.add("5 mia proof b_1 sh_1 leaf");
        assert!(on(&world, 6).is_empty());
    }

    #[test]
    fn bulbs_without_a_place_are_told_too() {
        let world = World::of(
            "-9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1
             -9 mia bulb b_2 lo_1 in=pl_unknown
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 100
             -2 mia allot ru_1 hand gr_a=b_1,b_2
             0 mia run-started ru_1",
        );
        let due = on(&world, 7);
        assert_eq!((due.places.len(), due.places[0].place), (1, None));
        assert_eq!(due.places[0].n_bulbs, 2);
        assert_eq!(due.places[0].jobs[0].bulbs, [id("b_1"), id("b_2")]);
    }

    #[test]
    fn skipped_and_postponed_jobs_wait_for_the_bulbs_they_were_said_of() {
        let mut world = growing();
        world.add(
            "0 mia look b_1,b_2,b_3,b_4 clear
             7 mia postponed b_1 until=9 job=walk
             7 jo skipped b_2 cause=rain job=walk
             8 jo look b_3,b_4 clear",
        );
        assert!(on(&world, 8).places.is_empty());
        assert_eq!(on(&world, 9).places[0].jobs[0].bulbs, [id("b_1")]);
        let jobs = on(&world, 14).places.remove(0).jobs;
        assert_eq!((jobs[0].bulbs.as_slice(), jobs[0].over_days), (&[id("b_1"), id("b_2")][..], 5));
        // A look does what was postponed, whoever looks.
        world.add("9 jo look b_1 clear");
        assert_eq!(on(&world, 14).places[0].jobs[0].bulbs, [id("b_2")]);
    }

    #[test]
    fn the_end_of_a_rest_can_be_postponed() {
        let mut world = resting();
        world.add(
            "55 mia look b_1,b_2,b_3,b_4 clear
             55 mia postponed b_1 until=60 job=rest-ends/ru_1
             56 mia skipped b_2 cause=kept-back job=rest-ends/ru_1",
        );
        let ends = |today: i64| -> Vec<(Date, Vec<Id>)> {
            let jobs = on(&world, today).places.into_iter().flat_map(|at| at.jobs);
            jobs.filter_map(|at| match at.job {
                Job::RestEnds { on, .. } => Some((on, at.bulbs)),
                _ => None,
            })
            .collect()
        };
        assert!(ends(56).is_empty());
        assert_eq!(ends(57), [(day(60), vec![id("b_1")])]);
    }

    #[test]
    fn a_bulb_that_woke_during_its_rest_is_told_at_once_until_its_rest_ends() {
        let mut world = resting();
        world.add(
            "5 mia look b_1 sh_1/unknown/shoot
             5 mia look b_2,b_3 clear leaves=same
             5 mia look b_4 clear leaves=more",
        );
        let woke = |world: &World, today: i64| -> Vec<Id> {
            let jobs = on(world, today).places.into_iter().flat_map(|at| at.jobs);
            let woke = jobs.filter(|at| at.job == Job::WokeEarly);
            woke.flat_map(|at| at.bulbs).collect()
        };
        assert!(woke(&world, 4).is_empty());
        assert_eq!(woke(&world, 5), [id("b_1"), id("b_4")]);
        world.add(
            r#"6 jo json b_2 inspection {"findings":["firm","sprout showing"]}
               6 jo postponed b_4 until=12 job=woke"#,
        );
        assert_eq!(woke(&world, 6), [id("b_1"), id("b_2")]);
        world.add("7 jo rest-ended b_1");
        assert_eq!(woke(&world, 12), [id("b_2"), id("b_4")]);
        // Leaves that were kept are no sign of waking.
        let kept = resting().and("5 mia look b_1 clear leaves=same");
        assert!(woke(&kept, 9).is_empty());
    }

    #[test]
    fn what_care_plans_make_due_stands_among_the_rest() {
        let mut world = growing();
        world.add(
            r#"0 mia look b_1,b_2,b_3,b_4 clear
               0 mia json l_1 care-plan {"doing":"own","words":"air","from":"date","date":"2027-01-03","during":"always"}"#,
        );
        let state = world.state();
        let mut due = due(&state, day(9));
        due.add(&state, super::super::plan::planned(&state, day(9)));
        let jobs = &due.places[0].jobs;
        assert_eq!((jobs.len(), due.n_jobs()), (2, 2));
        let subject = id("l_1");
        let slot = String::new();
        assert_eq!(jobs[0].job, Job::Planned { subject, slot });
        assert_eq!((jobs[0].over_days, jobs[0].job.key()), (7, Some("l_1/".to_owned())));
        assert!(matches!(jobs[1].job, Job::Walk { .. }));
    }

    #[test]
    fn planned_tries_and_lots_kept_apart_are_told_on_their_day() {
        let world = World::of(
            "-9 mia place pl_1 Cellar
             -9 mia lot lo_1 Red apart=5
             -2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 3 every=7",
        );
        assert!(on(&world, 2).is_empty());
        assert_eq!(on(&world, 3).general[0].job, Job::StartRun { run: id("ru_1"), on: day(3) });
        let jobs: Vec<Job> = on(&world, 5).general.into_iter().map(|at| at.job).collect();
        assert_eq!(jobs.last(), Some(&Job::ApartEnds { lot: id("lo_1"), on: day(5) }));
    }
}
