use super::*;
use crate::{
    forecast::{Effort, fit_with, simulate},
    testing::{World, day, id},
    work::{Done, Update},
};

const LITTLE: Effort = Effort { n_chains: 1, n_settling: 60, n_kept: 150, turns_each: 1, n_more: 0 };

/// A nursery without any try.
fn nothing() -> (Data, Fit) {
    let mut data = simulate::invent(&simulate::Shape::of(3), simulate::World::Model, 1).data;
    data.courses.clear();
    data.treatments.clear();
    data.lots.clear();
    data.tries.clear();
    let fit = fit_with(&data, 1, LITTLE, |_| true).expect("a fit");
    (data, fit)
}

fn wish(data: &Data) -> Wish {
    Wish {
        window: Window { from: data.today.add_days(200).expect("a day"), to: data.today.add_days(220).expect("a day") },
        stage: Wanted::InFlower,
        wanted: 10,
        // Published ranges alone are so wide that 120 bulbs only just give ten 9 times in 10.
        assurance: 0.8,
        at_hand: 120,
        now: Now::InLeaf,
        rest_weeks: 10,
        treatment: None,
        lot: None,
        staggered: 1,
    }
}

#[test]
fn dates_are_counted_back_from_the_window_and_move_with_it() {
    let (data, fit) = nothing();
    let wish = wish(&data);
    let plan = plan(&data, &fit, &wish).expect("a plan");
    assert!(plan.from_published && plan.met && plan.chance >= wish.assurance);
    let lot = &plan.lots[0];
    assert_eq!(lot.n, plan.to_start);
    let lay = lot.lay_to_rest.expect("a day");
    assert_eq!(lay.days_until(lot.pot_up), 70);
    let stop = lot.stop_water.expect("a day");
    assert_eq!(stop.days_until(lay), WITHER_DAYS);
    assert_eq!(lot.inspect.len(), 4);
    // Published: six to twelve weeks from the end of rest to flower.
    let lead = lot.pot_up.days_until(wish.window.from);
    assert!((20..=84).contains(&lead), "{lead}");
    let later = Wish {
        window: Window {
            from: wish.window.from.add_days(30).expect("a day"),
            to: wish.window.to.add_days(30).expect("a day"),
        },
        ..wish
    };
    let moved = super::plan(&data, &fit, &later).expect("a plan");
    assert_eq!(lot.pot_up.days_until(moved.lots[0].pot_up), 30);
    assert_eq!(moved.to_start, plan.to_start);
}

#[test]
fn the_ladder_falls_and_agrees_with_the_sentence() {
    let (data, fit) = nothing();
    for (staggered, at_hand) in [(1, 120), (3, 120), (1, 30), (3, 30)] {
        let wish = Wish { staggered, at_hand, ..wish(&data) };
        let plan = plan(&data, &fit, &wish).expect("a plan");
        let n = plan.to_start;
        assert!(plan.ladder.len() <= 41 && plan.ladder.iter().all(|(k, _)| (1..=n).contains(k)));
        assert_eq!(plan.ladder.last().map(|(k, _)| *k), Some(n));
        assert!(plan.ladder.is_sorted_by(|a, b| a.0 < b.0 && a.1 >= b.1), "{:?}", plan.ladder);
        let wanted = plan.ladder.iter().find(|(k, _)| *k == wish.wanted).expect("the number asked for").1;
        assert!((wanted - plan.chance).abs() < 1e-9, "{wanted} {}", plan.chance);
        for (k, chance) in &plan.ladder {
            assert_eq!(*k <= plan.assured, *chance >= wish.assurance, "{k}: {chance}, sure of {}", plan.assured);
        }
    }
}

#[test]
fn without_a_rest_there_is_nothing_to_dry_off() {
    let (data, fit) = nothing();
    let wish = Wish { rest_weeks: 0, ..wish(&data) };
    let plan = plan(&data, &fit, &wish).expect("a plan");
    let lot = &plan.lots[0];
    assert_eq!((lot.stop_water, lot.cut_back, lot.lay_to_rest), (None, None, None));
    assert!(lot.inspect.is_empty() && lot.pot_up < wish.window.from);
    // It can begin today, so that a window too soon for any rest can still be met.
    let soon = Window { from: data.today.add_days(75).expect("a day"), to: data.today.add_days(95).expect("a day") };
    let with_rest = Wish { window: soon, rest_weeks: 8, ..wish.clone() };
    let without = Wish { window: soon, ..wish };
    let chance = |wish: &Wish| super::plan(&data, &fit, wish).expect("a plan").chance;
    let (with_rest, without) = (chance(&with_rest), chance(&without));
    assert!(with_rest < without - 0.2, "{with_rest} {without}");
}

#[test]
fn more_wanted_need_more_bulbs_and_lots_are_a_week_apart() {
    let (data, fit) = nothing();
    let few = plan(&data, &fit, &wish(&data)).expect("a plan");
    let many = Wish { wanted: 20, ..wish(&data) };
    let many = plan(&data, &fit, &many).expect("a plan");
    assert!(many.to_start > few.to_start || !many.met);
    let three = Wish { staggered: 3, ..wish(&data) };
    let three = plan(&data, &fit, &three).expect("a plan");
    let days: Vec<_> = three.lots.iter().map(|lot| lot.pot_up).collect();
    assert_eq!((days[0].days_until(days[1]), days[1].days_until(days[2])), (7, 7));
    assert_eq!(three.lots.iter().map(|lot| lot.n).sum::<u32>(), three.to_start);
}

#[test]
fn what_cannot_be_met_is_said_with_the_nearest_that_can() {
    let (data, fit) = nothing();
    let scarce = Wish { at_hand: 12, ..wish(&data) };
    let plan = super::plan(&data, &fit, &scarce).expect("a plan");
    assert!(!plan.met && plan.to_start == 12 && plan.chance < scarce.assurance);
    let fewer = plan.nearest.iter().find_map(|near| match near {
        Nearest::Fewer(n) => Some(*n),
        _ => None,
    });
    if let Some(fewer) = fewer {
        assert_eq!(fewer, plan.assured);
        let wanted = Wish { wanted: fewer, ..scarce.clone() };
        assert!(super::plan(&data, &fit, &wanted).expect("a plan").met);
    }
    // Too late for a rest: later would do.
    let soon = Wish {
        window: Window { from: data.today.add_days(60).expect("a day"), to: data.today.add_days(80).expect("a day") },
        ..wish(&data)
    };
    let plan = super::plan(&data, &fit, &soon).expect("a plan");
    assert!(!plan.met);
    let later = plan.nearest.iter().find_map(|near| match near {
        Nearest::Later(window) => Some(*window),
        _ => None,
    });
    let window = later.expect("a later window");
    assert!(window.from > soon.window.from);
    let wish = Wish { window, ..soon };
    assert!(super::plan(&data, &fit, &wish).expect("a plan").met);
}

#[test]
fn wishes_without_sense_are_refused_in_a_sentence() {
    let (data, fit) = nothing();
    let good = wish(&data);
    let past = Window { from: data.today.add_days(-9).expect("a day"), to: data.today.add_days(-2).expect("a day") };
    let cases = [
        (Wish { window: past, ..good.clone() }, Refusal::WindowInThePast),
        (Wish { window: Window { from: past.to, to: past.from }, ..good.clone() }, Refusal::WindowBackwards),
        (
            Wish {
                window: Window { from: good.window.from, to: data.today.add_days(4 * 366).expect("a day") },
                ..good.clone()
            },
            Refusal::TooFarAhead,
        ),
        (Wish { at_hand: 0, ..good.clone() }, Refusal::NoBulbs),
        (Wish { at_hand: MOST_BULBS + 1, ..good.clone() }, Refusal::TooManyBulbs),
        (Wish { wanted: 0, ..good.clone() }, Refusal::NothingWanted),
        (Wish { wanted: 121, ..good.clone() }, Refusal::MoreThanAtHand { wanted: 121, at_hand: 120 }),
        (Wish { assurance: f64::NAN, ..good.clone() }, Refusal::NotAnAssurance),
        (Wish { rest_weeks: 99, ..good.clone() }, Refusal::RestTooLong),
        (Wish { staggered: 0, ..good.clone() }, Refusal::NotSoManyLots),
    ];
    for (wish, refusal) in cases {
        assert_eq!(plan(&data, &fit, &wish), Err(refusal));
    }
}

#[test]
fn the_next_try_always_has_a_control_and_shares_out_the_bulbs() {
    let shape = simulate::Shape::of(60);
    let invented = simulate::invent(&shape, simulate::World::Model, 4);
    let fit = fit_with(&invented.data, 1, LITTLE, |_| true).expect("a fit");
    let wish = Wish { at_hand: 30, wanted: 1, ..wish(&invented.data) };
    let next = next_try(&invented.data, &fit, &wish, Some(0), 5).expect("advice");
    assert_eq!((next.choices[0].advice, next.choices[0].treatment), (Advice::Control, Some(0)));
    let spend::Spending { splits, crop, control, .. } = &next.spending;
    assert_eq!(*control, 0);
    for (at, split) in splits.iter().enumerate() {
        assert_eq!(split.n.iter().sum::<u32>(), 30);
        assert!(split.n.iter().all(|n| *n == 0 || *n >= spend::LEAST_A_GROUP), "{split:?}");
        // All for now is one group; every try has the control.
        assert!(if at == 0 { split.n[*crop] == 30 } else { split.n[0] > 0 && split.n_groups() > 1 }, "{split:?}");
        let shown = next.clone().with_split(at);
        let n: Vec<u32> = shown.choices.iter().map(|choice| choice.n).take(split.n.len()).collect();
        assert_eq!(n, split.n);
    }
    let best: f64 = next.choices.iter().map(|choice| choice.best).sum();
    assert!((best - 1.0).abs() < 1e-6);
    let refused = |wish: &Wish, seasons| next_try(&invented.data, &fit, wish, Some(0), seasons).err();
    assert_eq!(refused(&wish, 0), Some(Refusal::NoSeasons));
    assert_eq!(refused(&wish, 99), Some(Refusal::TooManySeasons));
    assert_eq!(refused(&Wish { at_hand: 1, ..wish.clone() }, 3), Some(Refusal::OneBulb));
    assert_eq!(
        refused(&Wish { wanted: 31, ..wish.clone() }, 3),
        Some(Refusal::MoreThanAtHand { wanted: 31, at_hand: 30 })
    );
    let done = Done::Choices(Box::new(Ok(next)));
    let told = Update::Done { n: 1, done };
    assert_eq!(Update::of_bytes(&told.to_bytes()), Some(told));
}

/// Nothing was ever tried: published ranges say that lengths of rest differ little, and a dozen bulbs in three seasons
/// can't tell them apart, which is said before the first bulb is spent; or a try is worth them. Never both.
#[test]
fn before_the_first_try_it_says_whether_anything_can_be_told() {
    let (data, fit) = nothing();
    for at_hand in [4, 12, 200] {
        let wish = Wish { at_hand, wanted: 1, ..wish(&data) };
        let next = next_try(&data, &fit, &wish, None, 3).expect("advice");
        let spending = &next.spending;
        let is_try = spending.go_on == spend::GoOn::Try;
        assert_eq!(is_try, spending.splits[spending.advised].n_groups() > 1, "{spending:?}");
        assert!(at_hand > 4 || !is_try, "{spending:?}");
    }
}

#[test]
fn bulbs_are_ready_by_leaves_girth_time_and_their_last_cycle() {
    let mut world = World::of(
        "-400 mia place pl_1 Bench
         -400 mia lot lo_1 Red
         -400 mia bulb b_1 lo_1 in=pl_1 size=260
         -400 mia bulb b_2 lo_1 in=pl_1 size=180
         -400 mia bulb b_3 lo_1 in=pl_1 size=260
         -400 mia bulb b_4 lo_1 in=pl_1
         -300 mia cycle-began b_1,b_2
         -220 mia look b_1 sh_1/scape/first-flower-open
         -210 mia look b_1 sh_1/scape/over
         -60 mia look b_2 sh_2/scape/first-flower-open
         -50 mia look b_2 sh_2/scape/over",
    );
    world.add("-10 mia laid-to-rest b_3");
    let ready = readiness(&world.state(), day(0));
    let of = |bulb: &str| ready.iter().find(|one| one.bulb == id(bulb)).expect("a bulb");
    assert!(of("b_1").is_ready());
    assert_eq!(of("b_1").days_in_leaf, Some(210));
    assert_eq!(of("b_2").lacks, [Lacks::DaysInLeaf, Lacks::Girth]);
    assert_eq!(of("b_3").lacks, [Lacks::Rests]);
    assert!(!of("b_4").is_ready(), "nothing is known of it");
    assert_eq!(ready[0].bulb, id("b_1"));
}

#[test]
fn a_saved_plan_keeps_its_days_until_it_is_changed() {
    let mut world = World::of("-9 mia lot lo_1 Red");
    let bulbs: Vec<String> = (1..=100).map(|n| format!("b_{n}")).collect();
    world.add(&format!("-9 mia bulb {} lo_1", bulbs.join(",")));
    let ids: Vec<_> = bulbs.iter().map(|bulb| id(bulb)).collect();
    let (mut data, fit) = nothing();
    data.today = day(0);
    let wish = Wish { at_hand: 100, window: Window { from: day(200), to: day(220) }, ..wish(&data) };
    let drawn = plan(&data, &fit, &wish).expect("a plan");
    let saved = forcing(&wish, &drawn, &data, "Fair", None, &ids).expect("a plan");
    world.force(0, None, saved.clone());
    let state = world.state();
    let started = &ids[..drawn.to_start as usize];
    // Other draws give other days; those saved stay.
    let mut other = drawn.clone();
    let later = |on: Date| on.add_days(2).expect("a day");
    for lot in &mut other.lots {
        lot.pot_up = later(lot.pot_up);
        lot.stop_water = lot.stop_water.map(later);
        lot.coming.iter_mut().for_each(|(_, dates)| dates.p50 = later(dates.p50));
    }
    other.to_start -= 1;
    let kept = as_saved(&other, &wish, &saved, started, &data, &state).expect("as saved");
    assert_eq!(kept.to_start, drawn.to_start);
    for (kept, drawn) in kept.lots.iter().zip(&drawn.lots) {
        assert_eq!((kept.stop_water, kept.pot_up), (drawn.stop_water, drawn.pot_up));
        assert_eq!(kept.inspect, drawn.inspect);
        assert_eq!(kept.coming[0].1.p50, drawn.coming[0].1.p50);
    }
    let moved = Wish { window: moved(wish.window, 7), ..wish.clone() };
    assert!(as_saved(&other, &moved, &saved, started, &data, &state).is_none());
    assert!(as_saved(&other, &wish, &saved, &started[1..], &data, &state).is_none());
}

#[test]
fn groups_of_a_try_have_their_own_jobs_by_their_weeks_of_rest() {
    let days = |weeks: u32, now: Now| -> Vec<(String, Date)> {
        let jobs = jobs_of_group(day(120), now, weeks, day(0)).into_iter();
        jobs.map(|(slot, job)| (slot, job.date.expect("a day"))).collect()
    };
    let of = |all: &[(String, Date)], slot: &str| all.iter().find(|(known, _)| known == slot).map(|(_, on)| *on);
    let eight = days(8, Now::InLeaf);
    assert_eq!(of(&eight, "stop-water"), Some(day(120 - 56 - 21)));
    assert_eq!(of(&eight, "lay-to-rest"), Some(day(120 - 56)));
    assert_eq!(of(&eight, "inspect"), Some(day(120 - 56 + 14)));
    assert_eq!(of(&eight, "pot"), Some(day(120)));
    assert_eq!(of(&eight, "look"), None);
    // Too late for so long a rest: it begins today and ends when it has lasted its weeks.
    let long = days(16, Now::InLeaf);
    assert_eq!((of(&long, "stop-water"), of(&long, "pot")), (Some(day(0)), Some(day(133))));
    let resting = days(8, Now::RestingSince(day(-10)));
    assert_eq!((of(&resting, "stop-water"), of(&resting, "pot")), (None, Some(day(46))));
}
