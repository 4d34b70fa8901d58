//! Inspections of a rest as they were done: a plan counts the next from them, as the work that is due does.

use super::{INSPECT_DAYS, LotDates, Plan};
use crate::{
    calendar::Date,
    care::{
        plan::{day, key_of},
        usual::plain,
    },
    ledger::id::Id,
    nursery::{Bulb, State},
};

/// Puts the inspections that were done into a plan for these bulbs, which are split among its batches as [`super::forcing`]
/// splits them. Where bulbs are at rest, those still to come count from the last; the next is what is due of the first of
/// them, be it past. Everything else stays as planned.
pub fn with_inspections(plan: &mut Plan, state: &State, bulbs: &[Id], today: Date) {
    let mut left = bulbs.iter();
    for lot in &mut plan.lots {
        let own = left.by_ref().take(lot.n as usize);
        let own: Vec<&Bulb> = own.filter_map(|id| state.bulb(id)).collect();
        of_lot(lot, state, &own, today);
    }
}

fn of_lot(lot: &mut LotDates, state: &State, bulbs: &[&Bulb], today: Date) {
    let first = lot.lay_to_rest.and_then(|on| on.add_days(INSPECT_DAYS).ok());
    let (Some(first), None) = (first, lot.stop_water) else {
        return;
    };
    let mut next: Option<Date> = None;
    for bulb in bulbs {
        let cycle = bulb.cycle();
        let Some(since) = cycle.resting_since().filter(|_| cycle.ended.is_none()) else {
            continue;
        };
        let days = cycle.inspected.iter();
        for on in days.filter(|on| (since..=today).contains(*on)) {
            match lot.inspected.iter_mut().find(|(known, _)| known == on) {
                Some((_, n)) => *n += 1,
                None => lot.inspected.push((*on, 1)),
            }
        }
        let due = due(state, bulb).unwrap_or_else(|| {
            // As a job that is saved of it: a little early is done.
            let early = first.add_days(-i64::from(plain().tolerance_days));
            let early = early.unwrap_or(first);
            let last = bulb.inspected.filter(|last| *last >= early);
            let again = last.and_then(|last| last.add_days(INSPECT_DAYS).ok());
            again.map_or(first, |again| again.max(first))
        });
        next = Some(next.map_or(due, |next| next.min(due)));
    }
    lot.inspected.sort();
    let Some(next) = next else { return };
    let again = (1..).map_while(|n| next.max(today).add_days(n * INSPECT_DAYS).ok());
    lot.inspect = std::iter::once(next).chain(again).take_while(|on| *on < lot.pot_up).collect();
}

/// When it is due for a bulb by the saved plan that it is in.
fn due(state: &State, bulb: &Bulb) -> Option<Date> {
    let (forcing, batch) = state.forcings_of(bulb.id).next()?;
    let slot = format!("{batch}-inspect");
    let mut jobs = state.care.iter();
    let planned = jobs.find(|job| job.subject == forcing && job.slot == slot)?;
    let job = planned.job.shown().filter(|job| !job.given_up)?;
    day(state, bulb, planned, job, &key_of(forcing, &slot))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        forecast::{Effort, Wanted, Window, fit_with, gather},
        ledger::body::{Batch, Forcing},
        plan::{Now, Wish, plan},
        testing::{World, batch, day, forcing, id},
    };

    /// What was done by day, and what is to come, of a plan for two bulbs at rest since day -20.
    fn inspections(world: &World, today: i64, now: Now) -> (Vec<(Date, u32)>, Vec<Date>) {
        let (state, today) = (world.state(), day(today));
        let data = gather(&state, today);
        let wish = Wish {
            window: Window { from: day(90), to: day(100) },
            stage: Wanted::FitToSell,
            wanted: 2,
            assurance: 0.5,
            at_hand: 2,
            now,
            rest_weeks: 10,
            treatment: None,
            lot: None,
            staggered: 1,
        };
        let fit = fit_with(&data, 1, Effort::LITTLE, |_| true).unwrap();
        let mut plan = plan(&data, &fit, &wish).unwrap();
        with_inspections(&mut plan, &state, &[id("b_1"), id("b_2")], today);
        let lot = plan.lots.remove(0);
        (lot.inspected, lot.inspect)
    }

    fn resting() -> World {
        World::of(
            "-90 mia lot lo_1 Red
             -90 mia bulb b_1,b_2 lo_1
             -20 mia laid-to-rest b_1,b_2",
        )
    }

    const INSPECTED: &str = r#"json b_1,b_2 inspection {"findings":["firm"]}"#;

    #[test]
    fn inspections_done_stand_and_the_next_counts_from_the_last() {
        let now = Now::RestingSince(day(-20));
        let world = resting();
        // Never inspected: the first is past and still to do, the others go on from today.
        let (done, ahead) = inspections(&world, 3, now);
        assert!(done.is_empty());
        assert_eq!(ahead[..2], [day(-6), day(17)]);
        let world = world.and(&format!("-5 mia {INSPECTED}\n2 jo {INSPECTED}\n2 mia {INSPECTED}"));
        let (done, ahead) = inspections(&world, 3, now);
        assert_eq!(done, [(day(-5), 2), (day(2), 2)]);
        assert_eq!(ahead[..2], [day(16), day(30)]);
        // One of them later: the first that is due is next.
        let one = r#"10 mia json b_1 inspection {"findings":["firm"]}"#;
        let (done, ahead) = inspections(&world.clone().and(one), 11, now);
        assert_eq!((done.last(), ahead[0]), (Some(&(day(10), 1)), day(16)));
        // Two days early it is done for the first time; much earlier it stands, and the first is still to come.
        let first = |on: i64| {
            let world = resting().and(&format!("{on} mia {INSPECTED}"));
            inspections(&world, -5, now).1[0]
        };
        assert_eq!((first(-8), first(-16)), (day(6), day(-6)));
        // In leaf nothing of an earlier rest counts.
        let leaf = world.and("12 mia potted b_1,b_2");
        let (done, ahead) = inspections(&leaf, 13, Now::InLeaf);
        assert!(done.is_empty() && ahead.iter().all(|on| *on > day(13)));
    }

    #[test]
    fn a_saved_plan_names_the_day_that_is_due() {
        let mut world = resting();
        let plan = Forcing {
            rest_weeks: 10,
            batches: vec![Batch { stop_water: None, lay_to_rest: Some(day(-20)), ..batch("b_1,b_2", 0, 50) }],
            ..forcing("Fair", 90, 100)
        };
        world.force(0, None, plan);
        world.add(&format!("1 mia {INSPECTED}\n15 mia postponed b_1,b_2 until=18"));
        let due = crate::care::plan::coming(&world.state());
        let due: Vec<Date> = due.iter().filter(|one| one.slot == "1-inspect").map(|one| one.day).collect();
        let (done, ahead) = inspections(&world, 16, Now::RestingSince(day(-20)));
        assert_eq!(done, [(day(1), 2)]);
        assert_eq!((due, ahead[0]), (vec![day(18)], day(18)));
    }
}
