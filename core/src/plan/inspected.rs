//! Inspections of a rest as they were done: a plan counts the next from them, as the work that is due does.

use super::{INSPECT_DAYS, LotDates, Plan};
use crate::{
    calendar::Date,
    care::{plan::next_inspection, usual_jobs::plain},
    ledger::{body::Forcing, id::Id},
    nursery::{Bulb, State},
};

/// Puts the inspections that were done into a plan for these bulbs, which are split among its batches as [`super::forcing`]
/// splits them, or as the batches of a `saved` plan hold them. Where bulbs are at rest, those still to come count from the
/// last; the next is what is due of the first of them, be it past. Everything else stays as planned.
pub fn with_inspections(plan: &mut Plan, state: &State, saved: Option<&Forcing>, bulbs: &[Id], today: Date) {
    let mut left = bulbs.iter();
    for (at, lot) in plan.lots.iter_mut().enumerate() {
        let batch = saved.and_then(|saved| saved.batches.get(at));
        let own: Vec<&Id> = match batch {
            Some(batch) => batch.bulbs.iter().collect(),
            None => left.by_ref().take(lot.n as usize).collect(),
        };
        let own = own.into_iter().filter_map(|id| state.bulb(id)).filter(|bulb| bulb.is_here());
        of_lot(lot, state, &own.collect::<Vec<_>>(), batch.is_some(), today);
    }
}

fn of_lot(lot: &mut LotDates, state: &State, bulbs: &[&Bulb], is_saved: bool, today: Date) {
    // Bulbs for which water is still to be stopped are in leaf, unless a saved plan has brought them on since.
    let first = lot.lay_to_rest.filter(|_| is_saved || lot.stop_water.is_none());
    let Some(first) = first.and_then(|on| on.add_days(INSPECT_DAYS).ok()) else {
        return;
    };
    let (mut rests, mut next) = (false, None::<Date>);
    for bulb in bulbs {
        let cycle = bulb.cycle();
        let Some(since) = cycle.resting_since().filter(|_| cycle.ended.is_none()) else {
            continue;
        };
        rests = true;
        let days = cycle.inspected.iter();
        for on in days.filter(|on| (since..=today).contains(*on)) {
            match lot.inspected.iter_mut().find(|(known, _)| known == on) {
                Some((_, n)) => *n += 1,
                None => lot.inspected.push((*on, 1)),
            }
        }
        let due = next_inspection(state, bulb).or_else(|| {
            // As a job that is saved of it: a little early is done. Of a saved plan it is what is due, or nothing.
            let early = first.add_days(-i64::from(plain().tolerance_days));
            let early = early.unwrap_or(first);
            let last = bulb.inspected.filter(|last| *last >= early);
            let again = last.and_then(|last| last.add_days(INSPECT_DAYS).ok());
            (!is_saved).then(|| again.map_or(first, |again| again.max(first)))
        });
        next = next.into_iter().chain(due).min();
    }
    lot.inspected.sort();
    if !rests {
        return;
    }
    // What is due stands there though the rest should have ended; after it only what comes before that.
    let again = |next: Date| (1..).map_while(move |n| next.max(today).add_days(n * INSPECT_DAYS).ok());
    let again = next.into_iter().flat_map(again).take_while(|on| *on < lot.pot_up);
    lot.inspect = next.into_iter().filter(|on| is_saved || *on < lot.pot_up).chain(again).collect();
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
        with_inspections(&mut plan, &state, saved(&state), &[id("b_1"), id("b_2")], today);
        let lot = plan.lots.remove(0);
        (lot.inspected, lot.inspect)
    }

    /// The plan that was saved, if one was.
    fn saved(state: &State) -> Option<&Forcing> {
        state.forcings.values().next().and_then(|plan| plan.shown())
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
        // Two days early it is done for the first time; much earlier it starting_point, and the first is still to come.
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

    /// Two batches were saved; the bulbs come in another order than the batches hold them, and one of them is gone.
    #[test]
    fn each_batch_names_what_is_due_of_its_own_bulbs() {
        let mut world = World::of(
            "-90 mia lot lo_1 Red
             -90 mia bulb b_1,b_2,b_3 lo_1
             -20 mia laid-to-rest b_1,b_2,b_3",
        );
        let rested =
            |bulbs: &str, end: i64| Batch { stop_water: None, lay_to_rest: Some(day(-20)), ..batch(bulbs, 0, end) };
        let meant = Forcing {
            rest_weeks: 10,
            batches: vec![rested("b_3,b_1", 50), rested("b_2", 57)],
            ..forcing("Fair", 90, 100)
        };
        world.force(0, None, meant.clone());
        world.add(&format!("1 mia left b_3 how=sold\n2 mia {}", INSPECTED.replace("b_1,b_2", "b_2")));
        let state = world.state();
        let due = crate::care::plan::coming(&state);
        let due_of = |bulb: &str| {
            let mut own = due.iter().filter(|one| one.slot.ends_with("-inspect") && one.bulbs == [id(bulb)]);
            own.next().map(|one| one.day)
        };
        assert_eq!((due_of("b_1"), due_of("b_2")), (Some(day(0)), Some(day(16))));
        let data = gather(&state, day(3));
        let (wish, here, _) = crate::plan::wish_now(&state, &meant, &data);
        let fit = fit_with(&data, 1, Effort::LITTLE, |_| true).unwrap();
        let drawn = plan(&data, &fit, &wish).unwrap();
        let mut kept = crate::plan::as_saved(&drawn, &wish, &meant, &here, &data, &state).unwrap();
        // The readiest first, as the page takes them.
        with_inspections(&mut kept, &state, Some(&meant), &[id("b_2"), id("b_1")], day(3));
        let next: Vec<Option<Date>> = kept.lots.iter().map(|lot| lot.inspect.first().copied()).collect();
        assert_eq!(next, [due_of("b_1"), due_of("b_2")]);
    }
}
