//! How far a job of a saved plan is.

use super::{
    job::key_of,
    plan::{batch_of, became_try, day, done_on},
};
use crate::{
    calendar::Date,
    ledger::body::{CareJob, Doing},
    nursery::{Bulb, State, state::Planned},
};

/// How far a job is for the bulbs of its batch that are here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// These, but for those in a try.
    pub n_bulbs: usize,
    /// Those whose try has taken the plan's work over.
    pub n_in_try: usize,
    /// The days on which it was done, and for how many of them; of looks the last only.
    pub done: Vec<(Date, usize)>,
    /// Its next day for the first of those it is still to be done for.
    pub next: Option<Date>,
}

/// Of a job of a saved plan; nothing for any other job.
pub fn progress(state: &State, planned: &Planned, job: &CareJob) -> Option<Progress> {
    let plan = state.forcings.get(&planned.subject)?.shown()?;
    let batch = plan.batches.get(batch_of(&planned.slot)?.checked_sub(1)?)?;
    let key = key_of(planned.subject, &planned.slot);
    let bulbs = batch.bulbs.iter().filter_map(|id| state.bulb(id));
    let mut progress = Progress { n_bulbs: 0, n_in_try: 0, done: Vec::new(), next: None };
    for bulb in bulbs.filter(|bulb| bulb.is_here()) {
        if became_try(state, bulb, planned.subject) {
            progress.n_in_try += 1;
            continue;
        }
        progress.n_bulbs += 1;
        for on in done(bulb, planned, job, &key) {
            match progress.done.iter_mut().find(|(known, _)| *known == on) {
                Some((_, n)) => *n += 1,
                None => progress.done.push((on, 1)),
            }
        }
        let next = day(state, bulb, planned, job, &key);
        progress.next = progress.next.into_iter().chain(next).min();
    }
    progress.done.sort();
    Some(progress)
}

/// The days on which it was done for a bulb.
fn done(bulb: &Bulb, planned: &Planned, job: &CareJob, key: &str) -> Vec<Date> {
    let Some(first) = job.date else {
        return Vec::new();
    };
    let Some(last) = done_on(bulb, planned, job, key, (first, first)) else {
        return Vec::new();
    };
    if job.doing != Doing::Inspect {
        return vec![last];
    }
    let early = first.add_days(-i64::from(job.tolerance_days)).unwrap_or(first);
    let days = bulb.cycles.iter().flat_map(|cycle| &cycle.inspected);
    let mut days: Vec<Date> = days.copied().filter(|on| *on >= early).collect();
    days.sort();
    days.dedup();
    days
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        ledger::body::Forcing,
        testing::{World, batch, day, forcing},
    };

    #[test]
    fn what_was_done_stands_by_its_days_and_what_is_next() {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1,b_2,b_3 lo_1");
        let plan = Forcing { batches: vec![batch("b_1,b_2,b_3", 3, 80)], ..forcing("Fair", 130, 140) };
        world.force(0, None, plan);
        world.add("1 mia died b_3 cause=rot");
        let of = |world: &World, slot: &str| {
            let state = world.state();
            let planned = state.care.iter().find(|job| job.slot == slot).unwrap();
            progress(&state, planned, planned.job.shown().unwrap()).unwrap()
        };
        let is = |n_bulbs, done: &[(i64, usize)], next: Option<i64>| Progress {
            n_bulbs,
            n_in_try: 0,
            done: done.iter().map(|(on, n)| (day(*on), *n)).collect(),
            next: next.map(day),
        };
        assert_eq!(of(&world, "1-stop-water"), is(2, &[], Some(3)));
        world.add("3 mia water-stopped b_1");
        // A resting bulb is not asked to be dried off, the other is.
        assert_eq!(of(&world, "1-stop-water"), is(2, &[(3, 1)], Some(3)));
        world.add("5 mia water-stopped b_2\n24 mia laid-to-rest b_1,b_2");
        assert_eq!(of(&world, "1-stop-water"), is(2, &[(3, 1), (5, 1)], None));
        assert_eq!(of(&world, "1-inspect"), is(2, &[], Some(38)));
        let inspected = |on: i64| format!(r#"{on} mia json b_1,b_2 inspection {{"findings":["firm"]}}"#);
        world.add(&format!("{}\n{}", inspected(38), inspected(55)));
        assert_eq!(of(&world, "1-inspect"), is(2, &[(38, 2), (55, 2)], Some(69)));
        world.add("79 mia potted b_1,b_2");
        assert_eq!(of(&world, "1-inspect"), is(2, &[(38, 2), (55, 2)], None));
    }
}
