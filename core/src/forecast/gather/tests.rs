//! What a saved plan still has ahead for bulbs in leaf.

use proptest::prelude::*;

use super::*;
use crate::{
    ledger::body::{Batch, Forcing},
    plan::{AtHand, first_wish, tried},
    testing::{World, batch, day, forcing, id},
};

/// Three bulbs in leaf that flowered 190 days ago.
fn in_leaf() -> World {
    World::of(
        "-400 mia place pl_1 Bench
         -400 mia lot lo_1 Red
         -400 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
         -300 mia cycle-began b_1,b_2,b_3
         -300 mia laid-to-rest b_1,b_2,b_3
         -240 mia potted b_1,b_2,b_3
         -210 mia look b_1,b_2,b_3 sh_1/scape/scape-in-sight
         -200 mia look b_1,b_2,b_3 sh_1/scape/first-flower-open
         -190 mia look b_1,b_2,b_3 sh_1/scape/over",
    )
}

/// Two batches a week apart: water stopped on days 3 and 10, rests of eight weeks that end on days 80 and 87.
fn fair() -> Forcing {
    Forcing {
        treatment: "weeks of rest: 8".to_owned(),
        batches: vec![batch("b_1", 3, 80), batch("b_2", 10, 87)],
        ..forcing("Fair", 130, 140)
    }
}

fn planned(more: &str) -> World {
    let mut world = in_leaf();
    world.force(0, None, fair());
    world.and(more)
}

/// The cycle of a bulb that is forecast.
fn waiting(data: &Data, bulb: &str) -> Option<Course> {
    let mut all = data.courses.iter().filter(|course| course.waiting);
    let found = all.find(|course| course.bulb == id(bulb)).cloned();
    assert!(all.all(|course| course.bulb != id(bulb)), "forecast twice");
    found
}

/// What it counts from, and how long it rests.
fn of(world: &World, today: i64, bulb: &str) -> Option<(Begins, Date, Option<i32>)> {
    let data = gather(&world.state(), day(today));
    let course = waiting(&data, bulb)?;
    Some((course.begins, course.origin, course.rest_days))
}

fn why(world: &World, today: i64, bulb: &str) -> Option<Unforeseen> {
    let data = gather(&world.state(), day(today));
    let mut all = data.unforeseen.into_iter();
    all.find(|(of, _)| *of == id(bulb)).map(|(_, why)| why)
}

#[test]
fn bulbs_in_leaf_count_from_the_end_of_the_rest_that_their_batch_has_ahead() {
    let world = planned("");
    assert_eq!(why(&in_leaf(), 1, "b_1"), Some(Unforeseen::IsOver));
    let data = gather(&world.state(), day(1));
    let (first, second) = (waiting(&data, "b_1").unwrap(), waiting(&data, "b_2").unwrap());
    assert_eq!((first.origin, second.origin), (day(80), day(87)));
    for course in [&first, &second] {
        assert_eq!((course.begins, course.rest_days, course.height), (Begins::RestAhead, Some(56), None));
        let plan = world.state().forcings.keys().next().copied().unwrap();
        let attempt = course.attempt.unwrap() as usize;
        assert_eq!(data.tries[attempt], Attempt::Plan(plan));
        assert_eq!(data.treatments[course.treatment.unwrap() as usize], "weeks of rest: 8");
        assert!(course.stages.iter().all(|known| !says_anything(*known)));
    }
    // The last flowers still teach, and nobody asks for the bulb that is in no plan.
    assert_eq!(data.courses.len(), 5);
    assert_eq!(data.unforeseen, [(id("b_3"), Unforeseen::IsOver)]);
}

#[test]
fn what_is_forecast_goes_on_from_leaf_to_rest_to_growth() {
    let mut world = planned("");
    let ahead = of(&world, 2, "b_1").unwrap();
    world.add("3 mia cycle-began b_1\n3 mia water-stopped b_1");
    let rests = of(&world, 4, "b_1").unwrap();
    assert_eq!((rests.0, rests.1), (Begins::RestEnds, ahead.1));
    world.add("24 mia laid-to-rest b_1\n79 mia potted b_1");
    assert_eq!(of(&world, 79, "b_1").unwrap().0, Begins::Recorded);
    // Once it flowered and is over the plan has nothing ahead of it, in whatever cycle it is.
    world.add("120 mia look b_1 sh_2/scape/first-flower-open\n125 mia look b_1 sh_2/scape/over");
    assert_eq!(why(&world, 126, "b_1"), Some(Unforeseen::IsOver));
    world.add("127 mia cycle-began b_1");
    assert_eq!(why(&world, 128, "b_1"), Some(Unforeseen::NoBeginning));
}

#[test]
fn a_cycle_in_leaf_that_stayed_without_a_scape_teaches_and_is_not_forecast_beside() {
    let potted = "-180 mia cycle-began b_1\n-170 mia potted b_1\n-100 mia look b_1 clear";
    let mut world = in_leaf().and(potted);
    assert_eq!(of(&world, 1, "b_1").unwrap().1, day(-170));
    world.force(0, None, fair());
    let data = gather(&world.state(), day(1));
    assert_eq!(waiting(&data, "b_1").unwrap().origin, day(80));
    let past = data.courses.iter().find(|course| course.origin == day(-170)).unwrap();
    assert_eq!((past.waiting, past.stages[0]), (false, Known::NotBy(70)));
    // Laid to rest in that same cycle it is one course again.
    let rests = world.and("24 mia laid-to-rest b_1");
    assert_eq!(of(&rests, 25, "b_1").unwrap().0, Begins::RestEnds);
}

#[test]
fn a_scape_or_flower_of_the_present_cycle_comes_first() {
    let mut world = in_leaf().and("-60 mia cycle-began b_1\n-50 mia potted b_1");
    world.force(0, None, fair());
    world.add("5 mia look b_1 sh_2/scape/scape-in-sight");
    assert_eq!(of(&world, 6, "b_1").unwrap().1, day(-50));
    let data = gather(&world.state(), day(6));
    let of_its_own = waiting(&data, "b_1").unwrap();
    // It is no part of what the plan brings on.
    let attempt = data.tries[of_its_own.attempt.unwrap() as usize];
    assert!(matches!(attempt, Attempt::FourWeeks(_)) && of_its_own.treatment.is_none());
    world.add("12 mia look b_1 sh_2/scape/first-flower-open");
    assert_eq!(of(&world, 13, "b_1").unwrap().1, day(-50));
    world.add("20 mia look b_1 sh_2/scape/over");
    assert_eq!(of(&world, 20, "b_1"), Some((Begins::RestAhead, day(80), Some(56))));
    // Where nothing says since when it is under way it is named.
    let mut unsaid = in_leaf().and("-60 mia cycle-began b_1");
    unsaid.force(0, None, fair());
    unsaid.add("5 mia look b_1 sh_2/scape/scape-in-sight");
    assert_eq!(why(&unsaid, 6, "b_1"), Some(Unforeseen::NoBeginning));
}

#[test]
fn a_bulb_started_with_its_scape_in_sight_is_forecast_from_the_scape() {
    let bulbs = "-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1\n-9 mia cycle-began b_1";
    let seen = World::of(bulbs).and("3 mia look b_1 sh_1/scape/scape-in-sight");
    assert_eq!(why(&seen, 4, "b_1"), Some(Unforeseen::NoBeginning));
    let potted = seen.clone().and("5 mia potted b_1");
    assert_eq!(of(&potted, 6, "b_1"), Some((Begins::Recorded, day(5), None)));
    let data = gather(&potted.state(), day(6));
    assert!(data.unforeseen.is_empty());
    let course = waiting(&data, "b_1").unwrap();
    assert_eq!(course.stages[0], Known::Between { after: -2 - STOOD_DAYS, by: -2 });
    // The first duration says nothing, what comes after counts.
    let row = super::super::rows::row(&course, 0);
    assert!(row.early && row.reached >= 1);
    let outlook = crate::forecast::outlook(
        &data,
        &crate::forecast::fit_with(&data, 1, crate::forecast::Effort::LITTLE, |_| true).unwrap(),
        &crate::forecast::ask(crate::forecast::next_weeks(day(6)), day(6)).unwrap(),
    );
    let [bulb] = outlook.bulbs.as_slice() else { panic!("one bulb") };
    assert!(bulb.blind == 0.0 && bulb.coming.iter().all(|one| one.stage > crate::forecast::Coming::ScapeInSight));
    assert!(bulb.coming.iter().any(|one| one.stage == crate::forecast::Coming::FirstFlower));
    // A look before says since when at most.
    let looked = seen.clone().and("-4 mia look b_1 clear\n5 mia potted b_1");
    let course = waiting(&gather(&looked.state(), day(6)), "b_1").unwrap();
    assert_eq!(course.stages[0], Known::Between { after: -9, by: -2 });
    // On one day, whichever was written down first, it is the same.
    let same = World::of(bulbs).and("5 mia potted b_1\n5 mia look b_1 sh_1/scape/scape-in-sight");
    let course = waiting(&gather(&same.state(), day(6)), "b_1").unwrap();
    assert_eq!(course.stages[0], Known::Between { after: -STOOD_DAYS, by: 0 });
    // Potted once it has flowered is no start.
    let over = seen.and("9 mia look b_1 sh_1/scape/over\n12 mia potted b_1");
    assert_eq!(why(&over, 13, "b_1"), Some(Unforeseen::NoBeginning));
}

#[test]
fn late_moved_and_given_up_plans_and_those_that_are_over() {
    let mut world = in_leaf();
    let plan = world.force(0, None, fair());
    assert_eq!(of(&world, 30, "b_1"), Some((Begins::RestAhead, day(86), Some(56))));
    let late = world.clone().and("30 mia cycle-began b_1\n30 mia laid-to-rest b_1");
    assert_eq!(of(&late, 31, "b_1"), Some((Begins::RestEnds, day(86), Some(56))));
    let moved = Forcing { batches: vec![batch("b_1,b_2", 40, 117)], ..fair() };
    world.force(31, Some(plan), moved.clone());
    assert_eq!(of(&world, 32, "b_1").unwrap().1, day(117));
    assert_eq!(of(&world, 32, "b_2").unwrap().1, day(117));
    // Its days are over: nothing is counted for them any more.
    assert_eq!(of(&world, 141, "b_1"), None);
    let given_up = Forcing { given_up: true, ..moved };
    world.force(33, Some(plan), given_up);
    assert_eq!(of(&world, 34, "b_1"), None);
    assert_eq!(why(&world, 34, "b_1"), Some(Unforeseen::IsOver));
}

#[test]
fn gone_bulbs_and_those_in_a_running_try_wait_for_no_plan() {
    let gone = planned("5 mia died b_1 cause=rot\n5 mia left b_2 how=sold");
    assert!(gather(&gone.state(), day(6)).waiting().next().is_none());
    let missing = planned("5 mia missing b_1");
    assert_eq!((of(&missing, 6, "b_1"), why(&missing, 6, "b_1")), (None, None));
    let run = planned(
        "1 mia question tr_1 gr_a
         1 mia group gr_a tr_1 Eight control
         1 mia run ru_1 tr_1 2
         1 mia allot ru_1 hand gr_a=b_1
         2 mia cycle-began b_1
         2 mia run-started ru_1",
    );
    assert_eq!(of(&run, 3, "b_1"), None);
    assert!(of(&run, 3, "b_2").is_some());
}

#[test]
fn a_batch_without_a_rest_counts_from_the_day_it_is_brought_on() {
    let mut world = in_leaf();
    let unrested = Batch { stop_water: None, lay_to_rest: None, ..batch("b_1", 0, 20) };
    let plan = Forcing { rest_weeks: 0, batches: vec![unrested], ..forcing("Fair", 70, 80) };
    world.force(0, None, plan);
    assert_eq!(of(&world, 1, "b_1"), Some((Begins::BroughtOn, day(20), Some(0))));
    // Late, it is today.
    assert_eq!(of(&world, 25, "b_1"), Some((Begins::BroughtOn, day(25), Some(0))));
    world.add("26 mia cycle-began b_1\n26 mia brought-to-light b_1");
    assert_eq!(of(&world, 27, "b_1"), Some((Begins::Recorded, day(26), Some(0))));
}

/// A treatment that a plan only has ahead was not tried, and plans go on counting as they did.
#[test]
fn what_is_ahead_is_not_what_was_tried() {
    let world = planned("");
    let (state, data) = (world.state(), gather(&world.state(), day(1)));
    assert_eq!(data.treatments, ["weeks of rest: 8"]);
    assert_eq!(tried(&data), [(0, 8)]);
    let at_hand = AtHand::of(&state, None, day(1));
    let (wish, _) = first_wish(&state, &data, &at_hand);
    assert_eq!(wish.treatment, None);
    let wish = crate::plan::Wish { at_hand: 10, ..wish };
    let choosing = crate::plan::Choosing::new(&data, &wish, Some(0), 3).unwrap();
    assert!(format!("{choosing:?}").contains("control: None"));
    // A nursery that only plans has no tries of its own.
    let mut new = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
    new.force(0, None, Forcing { batches: vec![batch("b_1", 3, 80)], ..fair() });
    let data = gather(&new.state(), day(1));
    assert!(data.waiting().count() == 1 && !data.knows_own_tries());
}

proptest! {
    /// Whatever is done with the bulbs of a plan: one that is here is forecast once or named once, and what lies ahead
    /// begins neither before today nor before the plan says.
    #[test]
    fn every_bulb_is_forecast_once_or_named_once(
        acts in proptest::collection::vec((0_i64..130, 0_usize..10), 0..9),
        today in 0_i64..150,
    ) {
        const ACTS: [&str; 10] = [
            "water-stopped b_1", "laid-to-rest b_1", "packed b_1", "rest-ended b_1", "potted b_1", "brought-to-light b_1",
            "look b_1 clear", "look b_1 sh_5/scape/scape-in-sight", "look b_1 sh_5/scape/over", "cycle-began b_1",
        ];
        let mut acts: Vec<_> = acts.into_iter().filter(|(on, _)| *on <= today).collect();
        acts.sort_unstable();
        acts.dedup();
        let lines: Vec<String> = acts.iter().map(|(on, at)| format!("{on} mia {}", ACTS[*at])).collect();
        let world = planned(&lines.join("\n"));
        let data = gather(&world.state(), day(today));
        let course = waiting(&data, "b_1");
        let named = data.unforeseen.iter().filter(|(bulb, _)| *bulb == id("b_1")).count();
        prop_assert_eq!(usize::from(course.is_some()) + named, 1, "{:?}", lines);
        if let Some(course) = course.filter(|course| course.begins.is_ahead()) {
            prop_assert!(course.origin >= day(today).max(day(80)));
        }
        // The same records another day on: the end of a rest comes no sooner.
        let ahead = |today| of(&world, today, "b_1").filter(|(begins, ..)| *begins != Begins::Recorded);
        if let (Some(now), Some(later)) = (ahead(today), ahead(today + 1)) {
            prop_assert!(now.1 <= later.1);
        }
    }
}
