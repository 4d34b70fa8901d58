//! Forecasts kept, and what the looks say of them afterwards.

use super::*;
use crate::{
    calendar::Happened,
    forecast::{self, Effort, Offered, Outlook},
    ledger::{
        body::{Body, Forcing},
        entry::Draft,
        id::Ids,
    },
    record::{Command, Moment, record},
    testing::{World, day, forcing, id},
};

/// Six bulbs brought on together; the due window is from day 40 to day 44.
const TRY: &str = "-9 mia place pl_1 Bench
    -9 mia lot lo_1 Red
    -9 mia bulb b_1,b_2,b_3,b_4,b_5,b_6 lo_1 in=pl_1
    -9 mia question tr_1 gr_1,gr_2
    -9 mia group gr_1 tr_1 eight control
    -9 mia group gr_2 tr_1 twelve
    -9 mia run ru_1 tr_1 0
    -9 mia rule ru_1 window first-flower-open
    -9 mia due ru_1 40 44
    -9 mia allot ru_1 hand gr_1=b_1,b_2,b_3 gr_2=b_4,b_5,b_6
    0 mia run-started ru_1
    0 mia potted b_1,b_2,b_3,b_4,b_5,b_6
    6 mia look b_1,b_2,b_3,b_4,b_5,b_6 clear\n";

/// What a forecast of the window said on a day of six bulbs; the flower of the first between days 38 and 44.
fn told(on: i64, who: &str, chances: [i64; 6], more: &str) -> String {
    let [a, b, c, d, e, f] = chances;
    let (from, to) = (40 - on, 44 - on);
    format!(
        "{on} {who} json ru_1,b_1,b_2,b_3,b_4,b_5,b_6 shown {{\"what\":\"forecast in-flower\",\"method\":\"m/1\",\
         \"digest\":\"{on}{who}\",\"numbers\":{{\"from\":{from},\"to\":{to},\"bulbs\":6,\"p10\":2,\"p50\":3,\"p90\":4,\
         \"0\":{a},\"1\":{b},\"2\":{c},\"3\":{d},\"4\":{e},\"5\":{f}{more}}}}}\n"
    )
}

/// Looks that decide: two in flower in the window, one too late, one dead, one sold in bud, one not looked at.
const LOOKS: &str = "36 mia look b_1,b_2,b_3 sh_1/scape/scape-in-sight
    42 mia look b_1,b_2 sh_1/scape/first-flower-open
    45 mia look b_3 sh_1/scape/scape-stretching
    20 mia died b_4 cause=rot
    38 mia left b_5 how=sold stage=scape-in-sight
    36 mia look b_6 clear\n";

fn scored(text: &str, today: i64) -> Scores {
    let world = World::of(&format!("{TRY}{text}"));
    scores(&world.ledger, &world.state(), day(today))
}

#[test]
fn a_window_is_scored_once_it_is_over_and_by_what_was_said_in_time() {
    let early = told(10, "mia", [800, 790, 810, 700, 500, 500], "");
    let in_time = told(26, "mia", [900, 900, 100, 800, 800, 300], "");
    let late = told(35, "mia", [990, 990, 10, 0, 990, 10], "");
    let text = format!("{early}{in_time}{late}{LOOKS}");
    assert_eq!(scored(&text, 44), Scores::default(), "its last day is not over");
    let scores = scored(&text, 46);
    let [window] = &scores.windows[..] else {
        panic!("one window: {scores:?}");
    };
    // Fourteen days before: the last that leaves time; what was said later is easier.
    assert_eq!((window.said_on, window.n_bulbs), (day(26), 6));
    assert_eq!((window.n_came, window.n_undecided), (2, 2));
    assert_eq!(window.held, Some(true), "2, 3 or 4 of 2 to 4");
    let chances = scores.chances.as_ref().expect("chances");
    assert_eq!((chances.n, chances.n_came, chances.n_undecided), (4, 2, 2));
    // 0.9 and 0.9 came, 0.1 did not and the dead one at 0.8 did not.
    let brier = (0.01 + 0.01 + 0.01 + 0.64) / 4.0;
    assert!((chances.brier - brier).abs() < 1e-12, "{}", chances.brier);
    assert!((chances.brier_of_share - 0.25).abs() < 1e-12);
    let tenths: Vec<_> = chances.tenths.iter().map(|t| (t.tenths, t.n, t.came)).collect();
    assert_eq!(tenths, [(1, 1, 0), (8, 1, 0), (9, 2, 2)]);
    assert_eq!(scores.counts_held(), (1, 1));
}

#[test]
fn the_first_word_counts_where_none_left_time_and_none_after_the_window_began() {
    let late = told(35, "mia", [900, 900, 100, 800, 800, 300], "");
    let later = told(38, "mia", [990, 990, 10, 0, 990, 10], "");
    let began = told(41, "mia", [1000, 1000, 0, 0, 0, 0], "");
    let scores = scored(&format!("{late}{later}{began}{LOOKS}"), 46);
    assert_eq!(scores.windows[0].said_on, day(35));
    assert!(scored(&format!("{began}{LOOKS}"), 46).windows.is_empty());
}

#[test]
fn a_second_phone_that_said_the_same_day_counts_nothing_twice_and_order_does_not_matter() {
    let (mia, ben) =
        (told(26, "mia", [900, 900, 100, 800, 800, 300], ""), told(26, "ben", [850, 900, 100, 800, 800, 300], ""));
    let one = scored(&format!("{mia}{ben}{LOOKS}"), 46);
    let world = World::of(&format!("{TRY}{mia}{ben}{LOOKS}"));
    let mut turned = Ledger::new(world.ledger.id());
    for entry in world.ledger.arrived().iter().rev() {
        turned.insert(entry.clone());
    }
    let two = scores(&turned, &State::fold(&turned), day(46));
    assert_eq!(one, two);
    assert_eq!(one.windows.len(), 1);
    assert_eq!(one.windows[0].n_bulbs, 6);
}

#[test]
fn a_date_is_in_its_band_only_when_all_of_the_stretch_between_looks_is() {
    let dates = |text: &str, p10: i64, p90: i64| {
        let band = format!(",\"0.flower.p10\":{},\"0.flower.p90\":{}", p10 - 26, p90 - 26);
        let told = told(26, "mia", [900, 900, 100, 800, 800, 300], &band);
        let dates = scored(&format!("{told}{text}"), 60).dates;
        (dates.n_within, dates.n_outside, dates.n_straddle, dates.n_not_come)
    };
    // Seen without on day 36 and with on day 42: it opened on one of days 37 to 42.
    assert_eq!(dates(LOOKS, 37, 42), (1, 0, 0, 0));
    assert_eq!(dates(LOOKS, 38, 42), (0, 0, 1, 0));
    assert_eq!(dates(LOOKS, 37, 41), (0, 0, 1, 0));
    assert_eq!(dates(LOOKS, 43, 50), (0, 1, 0, 0));
    assert_eq!(dates(LOOKS, 30, 36), (0, 1, 0, 0));
    // The band is not over yet, or nothing came of it.
    assert_eq!(dates(LOOKS, 37, 60), (0, 0, 0, 0));
    assert_eq!(dates("55 mia look b_1 clear", 37, 50), (0, 0, 0, 1));
    assert_eq!(dates("45 mia look b_1 clear", 37, 50), (0, 0, 1, 0));
}

#[test]
fn tenths_are_those_of_the_words() {
    let said: Vec<u8> = [0, 49, 50, 149, 150, 849, 850, 950, 951, 1000].map(tenths).to_vec();
    assert_eq!(said, [0, 0, 1, 1, 2, 8, 9, 9, 10, 10]);
}

fn outlook_of(world: &World, today: i64) -> (Offered, Outlook) {
    let state = world.state();
    let data = forecast::gather(&state, day(today));
    let fit = forecast::fit_with(&data, 1, Effort::LITTLE, |_| true).unwrap();
    let offered = forecast::offered(&state, day(today)).remove(0);
    let ask = forecast::ask(offered.window, day(today)).unwrap();
    (offered, forecast::outlook(&data, &fit, &ask))
}

fn keep(
    world: &World,
    today: i64,
    (offered, outlook): (Offered, Outlook),
) -> crate::error::Result<Vec<crate::ledger::entry::Draft>> {
    let mut moment = Moment { now: Happened::at(day(today), 600, 60).unwrap(), ids: Ids::new([3; 32]) };
    let outlook = Box::new(outlook);
    let command = Command::KeepForecast { offered, outlook };
    record(command, &world.ledger, &world.state(), &mut moment)
}

#[test]
fn what_is_on_the_screen_is_kept_once_a_day_and_is_what_is_scored() {
    let mut world = World::of(TRY);
    let said = outlook_of(&world, 20);
    let drafts = keep(&world, 20, said.clone()).unwrap();
    world.save("mia", drafts);
    assert!(keep(&world, 20, said.clone()).is_err(), "once a day");
    // Only what was said today is kept today.
    assert!(keep(&world, 21, said.clone()).is_err());
    let next = outlook_of(&world, 21);
    assert!(keep(&world, 21, next).is_ok());
    world.add(LOOKS);
    let scores = scores(&world.ledger, &world.state(), day(46));
    let window = &scores.windows[0];
    assert_eq!((window.said_on, window.window), (day(20), said.0.window));
    assert_eq!((window.wanted, window.n_bulbs), (said.0.wanted, 6));
    let counted = said.1.all().unwrap().in_window(said.0.wanted).unwrap().counted;
    assert_eq!((window.p10, window.p90), (counted.p10.into(), counted.p90.into()));
}

#[test]
fn what_was_said_changes_neither_the_nursery_nor_the_next_forecast_and_merges() {
    let mut world = World::of(TRY);
    let (state, data) = (world.state(), forecast::gather(&world.state(), day(20)));
    let drafts = keep(&world, 20, outlook_of(&world, 20)).unwrap();
    let ids = world.save("mia", drafts.clone());
    world.save("ben", drafts);
    assert_eq!(world.state().bulbs, state.bulbs);
    assert_eq!(world.state().runs, state.runs);
    assert!(world.state().disagreements.is_empty() && world.ledger.problems().is_empty());
    let again = forecast::gather(&world.state(), day(20));
    assert_eq!((again.seed(), &again), (data.seed(), &data));
    // Read back as it was written.
    let entry = world.ledger.get(ids[0]).unwrap();
    let read = Entry::read(entry.id, entry.bytes()).unwrap();
    assert_eq!(read.body, entry.body);
}

#[test]
fn three_hundred_bulbs_are_kept_in_several_records_and_scored_as_one() {
    let names: Vec<String> = (0..320).map(|n| format!("b_n{n}")).collect();
    let mut world = World::of(&format!(
        "-9 mia place pl_1 Bench\n-9 mia lot lo_1 Red\n-9 mia bulb {} lo_1 in=pl_1",
        names.join(",")
    ));
    world.add(
        "-9 mia question tr_1 gr_1\n-9 mia group gr_1 tr_1 eight control\n-9 mia run ru_1 tr_1 0
         -9 mia due ru_1 40 44\n0 mia run-started ru_1",
    );
    world.add(&format!("0 mia potted {}", names.join(",")));
    let drafts = keep(&world, 20, outlook_of(&world, 20)).unwrap();
    assert_eq!(drafts.len(), 3);
    world.save("mia", drafts);
    let scores = scores(&world.ledger, &world.state(), day(46));
    let window = &scores.windows[0];
    assert_eq!((scores.windows.len(), window.n_bulbs), (1, 320));
    assert_eq!((window.n_undecided, window.held), (320, None));
    assert_eq!(scores.chances, None);
}

#[test]
fn nothing_is_kept_where_nothing_is_known() {
    let world = World::of(TRY);
    let (mut offered, outlook) = outlook_of(&world, 20);
    let mut empty = outlook.clone();
    empty.groups.clear();
    assert!(keep(&world, 20, (offered.clone(), empty)).is_err());
    // The next four weeks are nobody's due window.
    offered.runs.clear();
    assert!(keep(&world, 20, (offered, outlook)).is_err());
}

#[test]
fn the_window_of_a_saved_plan_is_kept_and_scored_too() {
    let mut world = World::of(TRY);
    let (mut offered, outlook) = outlook_of(&world, 20);
    let plan = Forcing { stage: GoalStage::FirstFlower, wanted: 2, ..forcing("", 40, 44) };
    let on = Happened::on(day(0));
    let plan = Draft::new(vec![id("fo_1")], on, Body::Forcing(plan));
    world.save("mia", vec![plan]);
    offered.runs.clear();
    offered.plans = world.state().forcings.keys().copied().collect();
    let said = (offered, outlook);
    let drafts = keep(&world, 20, said.clone()).unwrap();
    world.save("mia", drafts);
    assert!(keep(&world, 20, said).is_err(), "once a day");
    world.add(LOOKS);
    let scores = scores(&world.ledger, &world.state(), day(46));
    let [window] = &scores.windows[..] else {
        panic!("one window: {scores:?}");
    };
    assert_eq!((window.said_on, window.n_bulbs), (day(20), 6));
    assert!(window.runs.is_empty());
    // It is none of the try's own.
    let state = world.state();
    let of_tries = scores_of(&world.ledger, &state, state.runs.keys(), day(46));
    assert_eq!(of_tries, Scores::default());
}

/// One bulb in leaf whose last flowers are over, in a saved plan that is to bring it into flower from day 40 to day 44.
fn ahead(rests: bool) -> World {
    let mut world = World::of(
        "-400 mia lot lo_1 Red
         -400 mia bulb b_1 lo_1
         -300 mia cycle-began b_1
         -300 mia potted b_1
         -250 mia look b_1 sh_1/scape/first-flower-open
         -240 mia look b_1 sh_1/scape/over",
    );
    let batch = crate::ledger::body::Batch {
        stop_water: None,
        lay_to_rest: rests.then(|| day(1)),
        ..crate::testing::batch("b_1", 0, 8)
    };
    let plan = Forcing {
        stage: GoalStage::FirstFlower,
        rest_weeks: u32::from(rests),
        batches: vec![batch],
        ..forcing("Fair", 40, 44)
    };
    world.force(0, None, plan);
    world
}

#[test]
fn a_forecast_of_a_cycle_ahead_is_scored_in_the_cycle_that_then_began() {
    for rests in [true, false] {
        let mut world = ahead(rests);
        let drafts = keep(&world, 0, outlook_of(&world, 0)).unwrap();
        let Body::Shown(shown) = &drafts[0].body else { panic!("no forecast") };
        let name = if rests { "0.rest-ends" } else { "0.brought-on" };
        assert_eq!(shown.numbers[name], 8);
        world.save("mia", drafts);
        let of = |world: &World| {
            let mut scores = scores(&world.ledger, &world.state(), day(400));
            let window = scores.windows.remove(0);
            let dates = scores.dates;
            let outside = dates.n_outside + dates.n_straddle;
            (window.n_came, window.n_undecided, dates.n_not_come, outside)
        };
        // Never begun: neither the old flowers nor looks at leaves say anything of it.
        assert_eq!(of(&world), (0, 1, 3, 0));
        let looked_at = world.clone().and("45 mia look b_1 clear");
        assert_eq!(of(&looked_at), (0, 1, 3, 0));
        let died = world.clone().and("5 mia died b_1 cause=rot");
        assert_eq!(of(&died), (0, 0, 3, 0));
        let begun = if rests {
            "1 mia cycle-began b_1\n1 mia laid-to-rest b_1\n8 mia potted b_1"
        } else {
            "8 mia cycle-began b_1\n8 mia potted b_1"
        };
        let begun = world.and(begun);
        let came = begun.clone().and("41 mia look b_1 sh_2/scape/first-flower-open");
        assert_eq!((of(&came).0, of(&came).1), (1, 0));
        // In a later cycle it is no longer what was spoken of.
        let late = begun.and(
            "45 mia look b_1 clear
             60 mia cycle-began b_1
             60 mia potted b_1
             90 mia look b_1 sh_2/scape/first-flower-open",
        );
        assert_eq!((of(&late).0, of(&late).1), (0, 0));
    }
}

#[test]
fn a_cycle_that_was_to_begin_after_a_window_did_not_come_in_it() {
    let mut world = ahead(true).and("-400 mia bulb b_2 lo_1");
    let batch =
        crate::ledger::body::Batch { stop_water: None, lay_to_rest: None, ..crate::testing::batch("b_2", 0, 1) };
    let soon = Forcing { rest_weeks: 0, batches: vec![batch], ..forcing("Market", 3, 5) };
    world.force(0, None, soon);
    let drafts = keep(&world, 0, outlook_of(&world, 0)).unwrap();
    world.save("mia", drafts);
    let scores = scores(&world.ledger, &world.state(), day(20));
    let [window] = &scores.windows[..] else {
        panic!("one window: {scores:?}");
    };
    // Of the one that was to be brought on for it, and was not, nothing can be said.
    assert_eq!((window.n_bulbs, window.n_came, window.n_undecided), (2, 0, 1));
}
