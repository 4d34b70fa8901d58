//! Quick checks of the forecast; `cargo xtask soak` runs the long ones.

use super::simulate::{self, Chance, Shape};
use super::*;
use crate::testing::{World, day, id};

/// Enough for the middle of a distribution.
const LITTLE: Effort = Effort {
    n_chains: 2,
    n_settling: 60,
    n_kept: 150,
    turns_each: 1,
};

fn fitted(data: &Data) -> Fit {
    fit_with(data, 11, LITTLE, |_| true).expect("a fit")
}

/// A past try of four bulbs and one under way; looks every few days.
fn nursery() -> World {
    World::of(
        "-400 mia place pl_1 Bench
         -400 mia place pl_2 Cellar
         -400 mia lot lo_1 Red
         -400 mia bulb b_1 lo_1 in=pl_1
         -400 mia bulb b_2 lo_1 in=pl_1
         -400 mia bulb b_3 lo_1 in=pl_1
         -400 mia bulb b_4 lo_1 in=pl_2
         -300 mia cycle-began b_1,b_2,b_3,b_4
         -300 mia laid-to-rest b_1,b_2,b_3,b_4
         -230 mia potted b_1,b_2,b_3,b_4
         -204 mia look b_1,b_2,b_3,b_4 clear
         -200 mia look b_1,b_2 sh_1/scape/scape-in-sight
         -200 mia look b_3,b_4 clear
         -192 mia fit-to-sell b_1
         -180 mia look b_1,b_2 sh_1/scape/first-flower-open
         -170 mia look b_1,b_2 sh_1/scape/fading
         -160 mia look b_1,b_2 sh_1/scape/over
         -150 mia look b_3,b_4 clear
         -100 mia cycle-began b_1,b_2,b_3,b_4
         -100 mia laid-to-rest b_1,b_2,b_3,b_4
         -30 mia rest-ended b_1,b_2,b_3,b_4
         -1 mia look b_1 sh_9/scape/scape-in-sight
         -1 mia look b_2,b_3,b_4 clear",
    )
}

#[test]
fn cycles_become_intervals_between_looks() {
    let data = gather(&nursery().state(), day(0));
    assert_eq!(data.courses.len(), 8);
    assert_eq!((data.lots.len(), data.tries.len()), (1, 2));
    assert!(data.knows_own_tries());
    let of = |bulb: &str, waiting: bool| {
        let mut courses = data.courses.iter();
        courses
            .find(|course| course.bulb == id(bulb) && course.waiting == waiting)
            .expect("a course")
    };
    let between = |after, by| Known::Between { after, by };
    let past = of("b_1", false);
    assert_eq!((past.origin, past.rest_days), (day(-230), Some(70)));
    assert_eq!(
        past.stages,
        [
            between(26, 30),
            between(30, 38),
            between(30, 50),
            between(60, 70)
        ]
    );
    // In flower and never marked as fit to sell: that came unseen.
    assert_eq!(of("b_2", false).stages[1], Known::NotSaid);
    // Still without a scape 80 days on.
    assert_eq!(of("b_3", false).stages[0], Known::NotBy(80));
    assert_eq!(of("b_1", true).stages[0], between(0, 29));
    assert_eq!(of("b_2", true).stages[0], Known::NotBy(29));
}

#[test]
fn sold_dead_and_missing_bulbs_are_in_no_count_and_keep_what_they_taught() {
    let mut world = nursery();
    world.add(
        "-1 mia left b_2 how=sold
         -1 mia died b_3 cause=rot
         -1 mia missing b_4",
    );
    let data = gather(&world.state(), day(0));
    let waiting: Vec<_> = data.waiting().map(|at| data.courses[at].bulb).collect();
    assert_eq!(waiting, [id("b_1")]);
    assert_eq!(data.courses.len(), 8, "known up to their last look");
    let outlook = outlook(&data, &fitted(&data), &Ask::default());
    assert!(outlook.groups.iter().all(|group| group.n_bulbs == 1));
    assert!(
        !outlook
            .groups
            .iter()
            .any(|group| group.of == Of::Place(id("pl_2"))),
        "nothing is left there"
    );
}

#[test]
fn a_rest_is_foreseen_to_its_planned_end_and_not_without_one() {
    let mut world = World::of(
        "-50 mia place pl_1 Bench
         -50 mia lot lo_1 Red
         -50 mia bulb b_1 lo_1 in=pl_1
         -50 mia bulb b_2 lo_1 in=pl_1
         -50 mia bulb b_3 lo_1 in=pl_1
         -40 mia question tr_1 gr_a,gr_b factor=weeks-of-rest/weeks
         -40 mia group gr_a tr_1 Eight control weeks-of-rest=8/weeks
         -40 mia group gr_b tr_1 Twelve weeks-of-rest=12/weeks
         -40 mia run ru_1 tr_1 -40
         -40 mia allot ru_1 hand gr_a=b_1 gr_b=b_2
         -40 mia run-started ru_1
         -40 mia cycle-began b_1,b_2,b_3
         -40 mia laid-to-rest b_1,b_2,b_3",
    );
    let data = gather(&world.state(), day(0));
    let origins: Vec<_> = data.courses.iter().map(|course| course.origin).collect();
    assert_eq!(origins, [day(16), day(44)]);
    assert_eq!(data.treatments.len(), 2);
    assert_eq!(data.unforeseen, [(id("b_3"), Unforeseen::RestsWithoutEnd)]);
    world.add("-1 mia rest-ended b_3");
    let data = gather(&world.state(), day(0));
    assert_eq!(data.courses.len(), 3);
    let outlook = outlook(&data, &fitted(&data), &Ask::default());
    assert!(outlook.from_published, "no own try says anything");
    let dates = |n: usize| outlook.bulbs[n].coming[2].dates.p50;
    assert!(dates(0) < dates(1) && dates(2) < dates(0));
}

#[test]
fn what_the_worker_gets_and_gives_is_plain_json() {
    let data = gather(&nursery().state(), day(0));
    let sent = serde_json::to_string(&data).expect("JSON");
    assert_eq!(serde_json::from_str::<Data>(&sent).expect("the data"), data);
    let fit = fit_with(
        &data,
        1,
        Effort {
            n_kept: 20,
            turns_each: 1,
            ..LITTLE
        },
        |_| true,
    )
    .expect("a fit");
    let sent = serde_json::to_string(&fit).expect("JSON");
    assert_eq!(serde_json::from_str::<Fit>(&sent).expect("the fit"), fit);
    let ask = Ask {
        window: Some(Window {
            from: day(5),
            to: day(20),
        }),
        days: Some(Window {
            from: day(0),
            to: day(60),
        }),
    };
    let shown = outlook(&data, &fit, &ask);
    assert_eq!(shown.groups[0].days.len(), 61);
    let sent = serde_json::to_string(&shown).expect("JSON");
    assert_eq!(
        serde_json::from_str::<Outlook>(&sent).expect("the outlook"),
        shown
    );
    let again = fit_with(
        &data,
        1,
        Effort {
            n_kept: 20,
            turns_each: 1,
            ..LITTLE
        },
        |_| true,
    )
    .expect("a fit");
    assert_eq!(again, fit, "one seed, one fit");
}

#[test]
fn a_fit_can_be_stopped_and_tells_how_far_it_is() {
    let data = gather(&nursery().state(), day(0));
    let mut told = Vec::new();
    let stopped = fit(&data, 1, |share| {
        told.push(share);
        told.len() < 5
    });
    assert_eq!(
        stopped,
        Err(crate::evidence::CannotSay(crate::evidence::Reason::Stopped))
    );
    assert!(told.len() == 5 && told.is_sorted() && told[4] < 1.0);
}

/// Ten bulbs in sight on day 30 of a past try, and one that still waits, on the day given.
fn with_one_waiting(not_by: i32) -> Data {
    let mut data = simulate::invent(&Shape::of(11), simulate::World::Model, 3).data;
    for course in &mut data.courses {
        (course.treatment, course.lot, course.attempt) = (None, None, Some(0));
        course.stages = [
            Known::Between { after: 26, by: 32 },
            Known::Between { after: 36, by: 40 },
            Known::Between { after: 48, by: 52 },
            Known::Between { after: 66, by: 72 },
        ];
        course.waiting = false;
    }
    let last = data.courses.last_mut().expect("a course");
    last.stages = [
        Known::NotBy(not_by),
        Known::NotSaid,
        Known::NotSaid,
        Known::NotSaid,
    ];
    last.waiting = true;
    data
}

#[test]
fn waiting_longer_without_a_scape_makes_blind_likelier_and_the_date_later() {
    let mut before: Option<BulbOutlook> = None;
    for not_by in [10, 31, 40] {
        let data = with_one_waiting(not_by);
        let bulb = outlook(&data, &fitted(&data), &Ask::default())
            .bulbs
            .remove(0);
        if let Some(before) = before {
            assert!(
                bulb.blind > before.blind,
                "{not_by}: {} {}",
                bulb.blind,
                before.blind
            );
        }
        before = Some(bulb);
    }
    let last = before.expect("a bulb");
    assert!(
        last.blind > 0.5,
        "ten were there by day 32, and it is day 40: {}",
        last.blind
    );
}

#[test]
fn own_tries_outweigh_the_published_ranges() {
    let mut data = with_one_waiting(0);
    data.courses[10].origin = data.today;
    let fit = fitted(&data);
    assert!(!fit.from_published);
    let bulb = &outlook(&data, &fit, &Ask::default()).bulbs[0];
    let days = |n: usize| data.today.days_until(bulb.coming[n].dates.p50);
    // All were between days 26 and 32, and in flower between 48 and 52.
    assert!((27..=32).contains(&days(0)), "{}", days(0));
    assert!((47..=53).contains(&days(2)), "{}", days(2));
    let width = bulb.coming[2]
        .dates
        .p10
        .days_until(bulb.coming[2].dates.p90);
    // Of the published ranges alone it is more than a month.
    assert!(width < 22, "{width}");
}

#[test]
fn a_tall_scape_flowers_sooner_than_a_short_one() {
    let flower = |mm| {
        let mut data = with_one_waiting(40);
        let today = data.today;
        let last = data.courses.last_mut().expect("a course");
        last.origin = today.add_days(-40).expect("a day");
        last.stages[0] = Known::Between { after: 20, by: 33 };
        last.stages[1] = Known::NotSaid;
        last.stages[2] = Known::NotBy(40);
        last.height = Some((40, mm));
        let bulb = &outlook(&data, &fitted(&data), &Ask::default()).bulbs[0];
        let coming = bulb
            .coming
            .iter()
            .find(|next| next.stage == Coming::FirstFlower);
        today.days_until(coming.expect("a flower").dates.p50)
    };
    assert!(flower(450) < flower(40), "{} {}", flower(450), flower(40));
}

/// The two trials that the priors were not made from (trade facts R21 and R22).
#[test]
fn the_published_ranges_hold_the_trials_left_out() {
    let mut data = with_one_waiting(0);
    data.courses.drain(..10);
    data.courses[0].origin = data.today;
    let fit = fitted(&data);
    assert!(fit.from_published);
    let futures = Futures::of(&data, &fit);
    let place = |day: i16, of: fn(&futures::Path) -> i16| {
        let mut came: Vec<i16> = Vec::new();
        let paths = futures.of_bulb(0).filter(|path| path[2] != futures::NEVER);
        came.extend(paths.map(of));
        came.iter().filter(|came| **came <= day).count() as f64 / came.len() as f64
    };
    // Pham et al. 2018: 18 days from emergence to first flower.
    let share = place(18, |path| path[2] - path[0]);
    assert!(
        (0.05..0.95).contains(&share),
        "emergence to flower: {share}"
    );
    // Pham et al. 2018: first flower after 80 to 103 days, counted from a day the abstract does not give; if that is the
    // planting, it lies beyond nine in ten of what the published ranges let expect, and not beyond all.
    let share = place(80, |path| path[2]);
    assert!(
        (0.80..0.995).contains(&share),
        "first flower by day 80: {share}"
    );
    // 'Red Lion' 1987: after eight dry weeks the first scapes of all bulbs had flowered 60 days after watering again.
    let share = place(60, |path| path[2]);
    assert!((0.40..0.95).contains(&share), "flowered by day 60: {share}");
}

/// A small calibration; `cargo xtask soak` does it on a thousand nurseries.
#[test]
fn ranks_of_the_truth_are_spread_evenly() {
    let mut chance = Chance::new(1);
    let mut ranks: std::collections::BTreeMap<String, Vec<usize>> = Default::default();
    let effort = Effort {
        n_chains: 1,
        n_settling: 60,
        n_kept: 95,
        turns_each: 1,
    };
    for seed in 0..24 {
        let mut shape = Shape::of(12);
        shape.elapsed_days = [20, 32, 45][seed as usize % 3];
        let invented = simulate::invent(&shape, simulate::World::Model, 500 + seed);
        let fit = fit_with(&invented.data, seed, effort, |_| true).expect("a fit");
        for rank in simulate::ranks(&invented, &fit, 19, &mut chance) {
            ranks.entry(rank.what).or_default().push(rank.rank);
        }
    }
    for (what, ranks) in ranks {
        let (chi_square, p) = simulate::uniformity(&ranks, 19, 4);
        assert!(p > 1e-4, "{what}: chi-square(3) {chi_square}, {ranks:?}");
    }
}
