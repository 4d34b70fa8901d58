//! Every outcome, for a goal by a day and for a window, from records as phones write them.

use super::*;
use crate::{
    ledger::body::{DiedAs, Test, Unit},
    testing::{World, day, id},
};

/// Started on day 0; what the records of one bulb make of the rule on `today`.
fn judged(goal: Goal, stage: GoalStage, window: (i64, i64), today: i64, records: &str) -> Judged {
    let world = World::of("0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1\n0 mia cycle-began b_1");
    let state = world.and(records).state();
    let rule = Rule { goal, stage, unit: Unit::Bulb, died: DiedAs::NotInTime, test: Test::None, family: None };
    let window = DueWindow { name: String::new(), from: day(window.0), to: day(window.1) };
    judge(&state.bulbs[&id("b_1")], day(0), &rule, &window, day(today))
}

/// Scape in sight by day 10.
fn by_10(today: i64, records: &str) -> Outcome {
    judged(Goal::By, GoalStage::ScapeInSight, (10, 10), today, records).outcome
}

/// In flower on at least one day from 10 to 12.
fn in_10_to_12(today: i64, records: &str) -> Outcome {
    let (goal, stage) = (Goal::InWindow, GoalStage::FirstFlower);
    judged(goal, stage, (10, 12), today, records).outcome
}

const CLEAR_3: &str = "3 mia look b_1 clear\n";
const SCAPE: &str = "mia look b_1 sh_1/scape/scape-in-sight\n";
const UNSURE: &str = "mia look b_1 sh_1/unknown/shoot\n";
const FLOWER: &str = "mia look b_1 sh_1/scape/first-flower-open\n";
const OVER: &str = "mia look b_1 sh_1/scape/over\n";

#[test]
fn by_a_day_a_look_in_time_decides_at_once() {
    assert_eq!(by_10(8, &format!("{CLEAR_3}8 {SCAPE}")), Outcome::InTime);
    assert_eq!(by_10(10, &format!("10 {SCAPE}")), Outcome::InTime);
    // There at the first look already.
    assert_eq!(by_10(20, &format!("1 {SCAPE}")), Outcome::InTime);
}

#[test]
fn by_a_day_not_yet_is_not_no() {
    assert_eq!(by_10(10, ""), Outcome::Waiting);
    assert_eq!(by_10(9, CLEAR_3), Outcome::Waiting);
    assert_eq!(by_10(10, &format!("9 {UNSURE}")), Outcome::Waiting);
    let none_since = Outcome::CantSay(Why::NotLookedAt);
    assert_eq!(by_10(11, CLEAR_3), none_since);
    assert_eq!(by_10(11, ""), none_since);
    assert_eq!(by_10(12, "11 mia look b_1 unseen"), none_since);
}

#[test]
fn by_a_day_a_look_on_the_deadline_or_after_says_not_reached() {
    assert_eq!(by_10(10, "10 mia look b_1 clear"), Outcome::NotReached);
    assert_eq!(by_10(14, "14 mia look b_1 clear"), Outcome::NotReached);
    let leaf = "12 mia look b_1 sh_1/leaf/shoot";
    assert_eq!(by_10(14, leaf), Outcome::NotReached);
    // Blind by a sweep is blind; evidence may leave sweeps out.
    assert_eq!(by_10(14, "12 mia sweep b_1 pl_1"), Outcome::NotReached);
}

#[test]
fn a_bulb_whose_cycle_ended_blind_is_not_in_time_at_once() {
    let blind = "5 mia look b_1 clear\n5 mia cycle-ended b_1\n";
    assert_eq!(by_10(5, blind), Outcome::NotReached);
    assert_eq!(in_10_to_12(5, blind), Outcome::NotReached);
    let fit = judged(Goal::By, GoalStage::FitToSell, (10, 10), 5, blind).outcome;
    assert_eq!(fit, Outcome::NotReached);
    // A shoot that nobody could tell stood there before, and is gone.
    assert_eq!(by_10(5, &format!("3 {UNSURE}{blind}")), Outcome::NotReached);
    // The end alone says nothing of the neck; neither does a clear neck without the end.
    assert_eq!(by_10(6, "3 mia look b_1 clear\n5 mia cycle-ended b_1"), Outcome::Waiting);
    assert_eq!(by_10(6, "5 mia look b_1 clear"), Outcome::Waiting);
    // Found wrong in time, it counts as what was seen.
    assert_eq!(by_10(9, &format!("{blind}8 {SCAPE}")), Outcome::InTime);
    assert_eq!(by_10(9, &format!("{blind}8 {UNSURE}")), Outcome::Waiting);
    // It was decided before it died or was thrown away.
    assert_eq!(by_10(9, &format!("{blind}8 mia died b_1")), Outcome::NotReached);
    assert_eq!(by_10(9, &format!("{blind}8 mia left b_1 how=withdrawn")), Outcome::NotReached);
    // What comes in the next cycle is not this one's.
    assert_eq!(by_10(9, &format!("{blind}7 mia cycle-began b_1\n8 {SCAPE}")), Outcome::NotReached);
}

#[test]
fn by_a_day_late_only_when_the_deadline_was_seen_without() {
    let late = format!("10 mia look b_1 clear\n12 {SCAPE}");
    assert_eq!(by_10(12, &late), Outcome::Late);
    let straddles = format!("{CLEAR_3}12 {SCAPE}");
    assert_eq!(by_10(12, &straddles), Outcome::CantSay(Why::Straddles));
    // First looked at after the deadline: it may have been there all along.
    let first = format!("12 {SCAPE}");
    assert_eq!(by_10(12, &first), Outcome::CantSay(Why::Straddles));
}

#[test]
fn a_shoot_seen_in_time_waits_for_its_proof() {
    let seen = format!("{CLEAR_3}9 {UNSURE}");
    assert_eq!(by_10(11, &seen), Outcome::CantSay(Why::Unproved));
    // A scape from its first sight, whether a look or a proof says so.
    let proved = format!("{seen}12 mia proof b_1 sh_1 scape");
    assert_eq!(by_10(12, &proved), Outcome::InTime);
    let split = format!("{seen}14 mia look b_1 sh_1/unknown/spathe-split");
    assert_eq!(by_10(14, &split), Outcome::InTime);
    // A leaf: the look of day 9 found no scape, and none has looked since.
    let leaf = format!("{seen}12 mia proof b_1 sh_1 leaf");
    assert_eq!(by_10(12, &leaf), Outcome::CantSay(Why::NotLookedAt));
    let looked = format!("{leaf}\n13 mia look b_1 sh_1/leaf/shoot");
    assert_eq!(by_10(13, &looked), Outcome::NotReached);
    // One shoot in time and unproved, another one a scape too late.
    let two = format!("{seen}12 mia look b_1 sh_1/unknown/shoot sh_2/scape/scape-in-sight");
    assert_eq!(by_10(12, &two), Outcome::CantSay(Why::Unproved));
}

#[test]
fn statements_about_a_shoot_that_differ_leave_it_undecided() {
    let differ = format!("8 {SCAPE}11 mia look b_1 sh_1/leaf/shoot");
    assert_eq!(by_10(12, &differ), Outcome::CantSay(Why::Unproved));
    let proved = format!("{differ}\n12 mia proof b_1 sh_1 scape");
    assert_eq!(by_10(12, &proved), Outcome::InTime);
}

#[test]
fn contradicting_looks_widen_the_interval_and_are_flagged() {
    let said = |records: &str| judged(Goal::By, GoalStage::ScapeInSight, (10, 10), 20, records);
    let denied = format!("1 mia look b_1 clear\n5 {SCAPE}8 mia look b_1 clear");
    let judged = said(&denied);
    assert!(judged.reach.contradicted);
    assert_eq!((judged.reach.without, judged.reach.with), (Some(day(1)), None));
    assert_eq!(judged.outcome, Outcome::CantSay(Why::Straddles));
    // Left bound: last without before the first with; right bound: first with after the last without.
    let judged = said(&format!("{denied}\n12 {SCAPE}"));
    assert_eq!((judged.reach.without, judged.reach.with), (Some(day(1)), Some(day(12))));
    assert_eq!(judged.outcome, Outcome::CantSay(Why::Straddles));
    // Both readings in time: said, and still flagged.
    let judged = said(&format!("{denied}\n9 {SCAPE}"));
    assert!(judged.reach.contradicted);
    assert_eq!(judged.outcome, Outcome::InTime);
}

#[test]
fn a_cut_broken_or_faded_stalk_contradicts_nothing() {
    let said = |records: &str| judged(Goal::By, GoalStage::ScapeInSight, (10, 10), 20, records);
    for records in [
        format!("5 {SCAPE}7 mia scape-cut b_1\n8 mia look b_1 clear"),
        format!("5 {SCAPE}8 mia look b_1 clear\n8 mia scape-broken b_1"),
        format!("5 {SCAPE}7 {FLOWER}8 mia look b_1 clear"),
        format!("5 {SCAPE}7 {FLOWER}8 {OVER}9 mia look b_1 sh_2/leaf/shoot"),
    ] {
        let judged = said(&records);
        assert!(!judged.reach.contradicted, "{records}");
        assert_eq!(judged.outcome, Outcome::InTime, "{records}");
    }
    let stage = GoalStage::FirstFlower;
    let back = format!("5 {FLOWER}8 mia look b_1 sh_1/scape/scape-in-sight");
    let judged = judged(Goal::By, stage, (10, 10), 20, &back);
    assert!(judged.reach.contradicted, "the same stalk stands further back");
    assert_eq!(judged.outcome, Outcome::CantSay(Why::Straddles));
}

#[test]
fn sold_in_bud_counts_by_the_stage_it_had_and_is_never_not_in_time() {
    let bud = "8 mia left b_1 how=sold stage=spathe-split";
    assert_eq!(by_10(20, bud), Outcome::InTime);
    let stage = GoalStage::FirstFlower;
    let flower = judged(Goal::By, stage, (10, 10), 20, bud).outcome;
    assert_eq!(flower, Outcome::Left(LeftHow::Sold));
    // Even when it was looked at on the day on which it left, before the deadline.
    let looked = format!("{CLEAR_3}9 {SCAPE}9 mia left b_1 how=sold stage=scape-in-sight");
    let flower = judged(Goal::By, stage, (10, 10), 20, &looked).outcome;
    assert_eq!(flower, Outcome::Left(LeftHow::Sold));
    let fit = "8 mia left b_1 how=sold fit";
    let fit = judged(Goal::By, GoalStage::FitToSell, (10, 10), 20, fit).outcome;
    assert_eq!(fit, Outcome::InTime);
}

#[test]
fn what_left_after_the_deadline_was_there_to_be_looked_at() {
    let given = format!("{CLEAR_3}14 mia left b_1 how=given");
    assert_eq!(by_10(20, &given), Outcome::CantSay(Why::NotLookedAt));
    let stage = GoalStage::FirstFlower;
    let bud = "14 mia left b_1 how=sold stage=scape-in-sight";
    assert_eq!(judged(Goal::By, stage, (10, 10), 20, bud).outcome, Outcome::NotReached);
}

#[test]
fn died_and_missing_are_their_own_outcomes() {
    let died = "9 mia died b_1 cause=soft-rot";
    assert_eq!(by_10(9, died), Outcome::Died("soft rot".into()));
    let after = format!("8 {SCAPE}9 mia died b_1");
    assert_eq!(by_10(9, &after), Outcome::InTime);
    let late = "12 mia died b_1";
    assert_eq!(by_10(12, late), Outcome::CantSay(Why::NotLookedAt));
    let late = format!("11 mia look b_1 clear\n{late}");
    assert_eq!(by_10(12, &late), Outcome::NotReached);
    assert_eq!(by_10(9, "9 mia missing b_1"), Outcome::Missing);
    // What happens in the next cycle does not reach back.
    let next = "11 mia look b_1 clear\n30 mia cycle-began b_1\n31 mia died b_1";
    assert_eq!(by_10(40, next), Outcome::NotReached);
}

#[test]
fn a_cycle_begun_twice_on_one_day_is_one() {
    let records = format!("0 ben cycle-began b_1\n8 {SCAPE}");
    assert_eq!(by_10(8, &records), Outcome::InTime);
}

#[test]
fn in_a_window_one_day_in_flower_is_enough() {
    assert_eq!(in_10_to_12(12, &format!("10 {FLOWER}")), Outcome::InTime);
    assert_eq!(in_10_to_12(12, &format!("12 {FLOWER}")), Outcome::InTime);
    // In flower before and after, and not over between.
    let through = format!("8 {FLOWER}14 mia look b_1 sh_1/scape/fading");
    assert_eq!(in_10_to_12(14, &through), Outcome::InTime);
    // The second stalk flowers while the first is over.
    let second = format!(
        "5 {FLOWER}8 mia look b_1 sh_1/scape/over sh_2/scape/scape-in-sight\n\
         11 mia look b_1 sh_1/scape/over sh_2/scape/first-flower-open"
    );
    assert_eq!(in_10_to_12(14, &second), Outcome::InTime);
    let left = "11 mia left b_1 how=sold stage=first-flower-open";
    assert_eq!(in_10_to_12(14, left), Outcome::InTime);
}

#[test]
fn in_a_window_over_before_its_first_day_is_too_early() {
    let early = format!("5 {FLOWER}9 {OVER}");
    assert_eq!(in_10_to_12(9, &early), Outcome::TooEarly);
    let on_the_day = format!("5 {FLOWER}10 {OVER}");
    assert_eq!(in_10_to_12(11, &on_the_day), Outcome::TooEarly);
    // A second stalk may still make it.
    let coming = format!("5 {FLOWER}8 mia look b_1 sh_1/scape/over sh_2/scape/scape-in-sight\n");
    assert_eq!(in_10_to_12(9, &coming), Outcome::Waiting);
    let not_so = format!("{coming}12 mia look b_1 sh_1/scape/over sh_2/scape/scape-stretching");
    assert_eq!(in_10_to_12(13, &not_so), Outcome::TooEarly);
    let unknown = format!("5 {FLOWER}8 mia left b_1 how=sold stage=first-flower-open");
    assert_eq!(in_10_to_12(14, &unknown), Outcome::Left(LeftHow::Sold));
}

#[test]
fn in_a_window_looks_that_straddle_it_cannot_say() {
    let over = format!("8 {FLOWER}14 {OVER}");
    assert_eq!(in_10_to_12(14, &over), Outcome::CantSay(Why::Straddles));
    let begun = format!("{CLEAR_3}14 {FLOWER}");
    assert_eq!(in_10_to_12(14, &begun), Outcome::CantSay(Why::Straddles));
    let both = format!("8 {SCAPE}14 {OVER}");
    assert_eq!(in_10_to_12(14, &both), Outcome::CantSay(Why::Straddles));
    let before = format!("8 {FLOWER}");
    assert_eq!(in_10_to_12(14, &before), Outcome::CantSay(Why::NotLookedAt));
    assert_eq!(in_10_to_12(12, &before), Outcome::Waiting);
}

#[test]
fn in_a_window_late_not_reached_and_gone() {
    let late = format!("12 {SCAPE}14 {FLOWER}");
    assert_eq!(in_10_to_12(14, &late), Outcome::Late);
    assert_eq!(in_10_to_12(14, &format!("12 {SCAPE}")), Outcome::NotReached);
    assert_eq!(in_10_to_12(11, &format!("11 {SCAPE}")), Outcome::Waiting);
    let died = in_10_to_12(11, &format!("9 {SCAPE}11 mia died b_1"));
    assert_eq!(died, Outcome::Died(String::new()));
    assert_eq!(in_10_to_12(11, "9 mia missing b_1"), Outcome::Missing);
}

#[test]
fn fit_to_sell_is_the_growers_mark() {
    let by = |records: &str| judged(Goal::By, GoalStage::FitToSell, (10, 10), 20, records).outcome;
    assert_eq!(by(&format!("8 {SCAPE}9 mia fit-to-sell b_1")), Outcome::InTime);
    assert_eq!(by(&format!("8 {SCAPE}12 mia fit-to-sell b_1")), Outcome::CantSay(Why::Straddles));
    assert_eq!(by(&format!("10 {SCAPE}12 mia fit-to-sell b_1")), Outcome::Late);
    assert_eq!(by(&format!("11 {SCAPE}")), Outcome::NotReached);
}
