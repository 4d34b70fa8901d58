//! What a saved plan still has ahead for a bulb: whether its rest has begun, and on which day it will end.

use super::{
    plan::{self, Belongs, Coming, active, is_told_anyway},
    snooze::reminder_day,
};
use crate::{
    calendar::Date,
    ledger::{
        body::{ActKind, Batch, CareJob, During, Forcing, JobFrom},
        id::Id,
    },
    nursery::{Bulb, Cycle, State},
};

/// The saved plan that a bulb is in.
#[derive(Clone, Copy, Debug)]
pub struct InPlan<'a> {
    /// Which.
    pub id: Id,
    /// What it says.
    pub plan: &'a Forcing,
    /// The days of its batch.
    pub batch: &'a Batch,
    /// Whether its rest under this plan has begun or is over, or it was brought on without one; else it is as it was
    /// when the plan was saved: in leaf.
    pub begun: bool,
}

impl<'a> InPlan<'a> {
    /// Of a bulb, of the plan whose window is not over where it is in several.
    pub fn of(state: &'a State, bulb: &Bulb, today: Date) -> Option<Self> {
        let all = state.forcings_of(bulb.id).filter_map(|(id, batch)| {
            let plan = state.forcings.get(&id)?.shown()?;
            Some((id, plan, plan.batches.get(batch.checked_sub(1)?)?))
        });
        let mut all = all.collect::<Vec<_>>().into_iter();
        let still = all.clone().find(|(_, plan, _)| plan.to >= today);
        let (id, plan, batch) = still.or_else(|| all.next())?;
        let begun = has_begun(bulb, batch, saved_on(state, id));
        Some(Self { id, plan, batch, begun })
    }

    /// Days of rest that it gives; none for a batch that is brought on without a rest.
    pub fn rest_days(&self) -> i64 {
        let rests = self.batch.lay_to_rest.is_some();
        if rests { i64::from(self.plan.rest_weeks) * 7 } else { 0 }
    }

    /// The day on which it ends the rest of a bulb that is at rest or in leaf; without a rest the day on which it brings
    /// the bulb on. A day that has passed is today, and a rest that began late, or has not begun, is still given its days.
    pub fn rest_end(&self, bulb: &Bulb, today: Date) -> Date {
        let end = self.batch.rest_end.max(today);
        let later = |from: Date, days: i64| from.add_days(days).map_or(end, |on| on.max(end));
        let Some(planned) = self.batch.lay_to_rest else {
            return end;
        };
        match laid_down(bulb.cycle()) {
            Some(on) if on > planned => {
                // Where the plan gives less than its weeks, because its bulbs rested before, it is not more for these.
                let days = self.rest_days().min(planned.days_until(self.batch.rest_end));
                later(on, days)
            }
            Some(_) => end,
            None if self.begun => end,
            None => later(today, self.rest_days()),
        }
    }

    /// The day of a job that is for another time of the cycle, when the plan will have brought the bulb there.
    fn day_ahead(&self, bulb: &Bulb, job: &CareJob, key: &str, today: Date) -> Option<Date> {
        let planned = job.date.filter(|_| job.from == JobFrom::Date)?;
        let end = self.rest_end(bulb, today);
        let late_days = self.batch.rest_end.days_until(end);
        let day = planned.add_days(late_days).ok()?;
        let last = match job.during {
            During::Rest if !self.begun => end.add_days(-1).ok()?,
            During::Growth if bulb.cycle().resting() && planned >= self.batch.rest_end => self.plan.to,
            _ => return None,
        };
        let every_days = job.every_days.map(i64::from);
        let day = reminder_day(bulb, key, day, every_days, i64::from(job.tolerance_days))?;
        (day <= last).then_some(day)
    }
}

/// Jobs of saved plans, bulb by bulb, that have no day yet because they are for another time of the cycle than the bulb
/// is in, on the day that the plan has for them: inspections of a rest still to come, looks once a rest will have ended.
/// What is late moves them.
pub fn coming(state: &State, today: Date) -> Vec<Coming> {
    let active = active(state);
    let mut all = Vec::new();
    for bulb in state.bulbs.values().filter(|bulb| bulb.is_here()) {
        let Some(plan) = InPlan::of(state, bulb, today).filter(|of| of.plan.to >= today) else {
            continue;
        };
        let belongs = Belongs::of(state, bulb);
        let own: Vec<_> = active.iter().filter(|(of, ..)| belongs.to(of)).collect();
        let others = || own.iter().map(|(planned, job, _)| (*planned, *job));
        for (planned, job, key) in own.iter().filter(|(of, ..)| of.subject == plan.id) {
            if plan::day(state, bulb, planned, job, key).is_none()
                && let Some(day) = plan.day_ahead(bulb, job, key, today)
                && !is_told_anyway(planned, job, others())
            {
                all.push(Coming {
                    place: bulb.place.filter(|place| state.places.contains_key(place)),
                    subject: plan.id,
                    slot: planned.slot.clone(),
                    day,
                    bulbs: vec![bulb.id],
                });
            }
        }
    }
    all
}

/// The day from which the rest counts that a cycle is in: when the bulb was laid down or packed, where that was recorded,
/// else when water was stopped.
fn laid_down(cycle: &Cycle) -> Option<Date> {
    let since = cycle.resting_since()?;
    let mut acts = cycle.acts.iter().filter(|(on, _)| *on >= since);
    Some(acts.find(|(_, act)| act.lays_down()).map_or(since, |(on, _)| *on))
}

/// The day on which a plan was saved. A later change of it keeps the day, so that a window moved begins nothing anew.
pub(super) fn saved_on(state: &State, plan: Id) -> Date {
    let jobs = state.care.iter().filter(|job| job.subject == plan);
    let meant = jobs.filter(|job| job.job.shown().is_some_and(|job| !job.given_up));
    meant.map(|job| job.since).min().unwrap_or(Date::EARLIEST)
}

/// Whether a bulb rested on the day a plan was saved, or a rest began since; or it was brought on, for a batch with a rest
/// only once that was to have begun: a bulb that is potted in leaf before it is still to be rested.
fn has_begun(bulb: &Bulb, batch: &Batch, saved_on: Date) -> bool {
    let brought_on = saved_on.max(batch.lay_to_rest.unwrap_or(Date::EARLIEST));
    let of_cycle = |cycle: &Cycle| {
        let mut rests = false;
        let act = |(on, act): &(Date, ActKind)| {
            if act.begins_rest() {
                rests = true;
                return *on >= saved_on;
            }
            let ends = rests && act.ends_rest();
            rests &= !ends;
            let ended = ends || *act == ActKind::RestEnded;
            ended && *on >= saved_on || act.brings_on() && *on >= brought_on
        };
        cycle.acts.iter().any(act)
    };
    let now = bulb.cycle();
    now.ended.is_none() && now.resting() || bulb.cycles.iter().any(of_cycle)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, batch, day, forcing, id};

    /// One bulb in leaf, that flowered before; a plan saved on day 0 that stops water on day 3, lays to rest on day 24 and
    /// ends the rest on day 80.
    fn world(more: &str) -> World {
        let mut world = World::of(
            "-400 mia lot lo_1 Red
             -400 mia bulb b_1 lo_1
             -300 mia cycle-began b_1
             -300 mia laid-to-rest b_1
             -240 mia potted b_1
             -200 mia look b_1 sh_1/scape/first-flower-open
             -190 mia look b_1 sh_1/scape/over",
        );
        world.force(
            0,
            None,
            crate::ledger::body::Forcing { batches: vec![batch("b_1", 3, 80)], ..forcing("Fair", 130, 140) },
        );
        world.and(more)
    }

    fn of(world: &World, today: i64) -> Option<(bool, Date)> {
        let state = world.state();
        let bulb = state.bulb(&id("b_1"))?;
        let plan = InPlan::of(&state, bulb, day(today))?;
        Some((plan.begun, plan.rest_end(bulb, day(today))))
    }

    #[test]
    fn a_rest_has_begun_once_an_act_since_the_plan_began_it() {
        assert_eq!(of(&world(""), 1), Some((false, day(80))));
        let stopped = world("3 mia cycle-began b_1\n3 mia water-stopped b_1");
        assert_eq!(of(&stopped, 4), Some((true, day(80))));
        let potted = stopped.and("78 mia potted b_1");
        assert_eq!(of(&potted, 79).map(|(begun, _)| begun), Some(true));
        // A cycle that is begun by hand after it brings nothing back.
        let again = potted.and("120 mia cycle-began b_1");
        assert_eq!(of(&again, 121).map(|(begun, _)| begun), Some(true));
        // Repotted in leaf before the rest: it is still to come. Potted when it should rest: it was brought on.
        assert!(!of(&world("10 mia potted b_1"), 11).unwrap().0);
        assert!(of(&world("75 mia potted b_1"), 76).unwrap().0);
        assert!(of(&world("10 mia rest-ended b_1"), 11).unwrap().0);
        assert_eq!(of(&world("").and("1 mia bulb b_9 lo_1"), 1).map(|(begun, _)| begun), Some(false));
    }

    #[test]
    fn a_late_rest_is_given_its_days() {
        // Not laid down when it should be: from today on.
        assert_eq!(of(&world(""), 24), Some((false, day(80))));
        assert_eq!(of(&world(""), 30), Some((false, day(86))));
        // Laid down late: from that day on, however late it is now.
        let late = world("34 mia cycle-began b_1\n34 mia laid-to-rest b_1");
        assert_eq!(of(&late, 35), Some((true, day(90))));
        assert_eq!(of(&late, 95), Some((true, day(95))));
        // Water that was stopped is counted from until it is laid down.
        let dries = world("10 mia cycle-began b_1\n10 mia water-stopped b_1");
        assert_eq!(of(&dries, 11), Some((true, day(80))));
        assert_eq!(of(&dries.and("31 mia laid-to-rest b_1"), 32), Some((true, day(87))));
    }
}
