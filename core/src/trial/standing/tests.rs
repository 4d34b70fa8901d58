//! How tries stand, from records to the sentence.

use super::*;
use crate::{
    evidence::{
        Interval,
        verdict::{ALPHA, IntervalBy, Method, Strength},
    },
    testing::{World, day, id},
    trial::outcome::{Outcome, Why},
};

/// A drawn, unblocked try on bulbs b_1 … b_n, dealt to two groups in turn: scape in sight by day 30.
fn try_of(n: usize) -> World {
    let mut world = World::of(
        "-9 mia place pl_1 One
         -9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 every=7
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30",
    );
    let bulbs: Vec<String> = (1..=n).map(|at| format!("b_{at}")).collect();
    let of = |arm: usize| -> String {
        let members = bulbs.iter().skip(arm).step_by(2).cloned();
        members.collect::<Vec<_>>().join(",")
    };
    for bulb in &bulbs {
        world.add(&format!("-9 mia bulb {bulb} lo_1 in=pl_1\n-9 mia own {bulb} {bulb}"));
    }
    let all = bulbs.join(",");
    world.add(&format!(
        "-2 mia allot ru_1 drawn gr_a={} gr_b={}\n0 mia cycle-began {all}\n0 mia run-started ru_1",
        of(0),
        of(1)
    ));
    world
}

/// Looks on a day: a scape at these bulbs, a clear neck at those.
fn looks(on: i64, with: &[usize], without: &[usize]) -> String {
    let with = with.iter().map(|n| format!("{on} mia look b_{n} sh_{n}/scape/scape-in-sight\n"));
    let without = without.iter().map(|n| format!("{on} mia look b_{n} clear\n"));
    with.chain(without).collect()
}

fn on(world: &World, today: i64) -> Standing {
    standing(&world.ledger, &world.state(), id("ru_1"), day(today)).unwrap()
}

#[test]
fn in_time_is_a_span_until_all_is_decided_and_counts_add_up_by_kind() {
    use crate::trial::outcome::Kind;
    let mut world = try_of(8).and(&looks(10, &[1, 3, 2], &[]));
    world.add("12 mia died b_4 cause=rot\n12 mia missing b_6");
    let stands = on(&world, 15);
    let of = |stands: &Standing| [0, 1].map(|at| stands.in_time(&stands.groups[at]));
    let span = |least, most, of| Some(InTime { least, most, of });
    // Four a group; of the second one died, which is not in time, and one is missing, which could be.
    assert_eq!(of(&stands), [span(2, 4, 4), span(1, 3, 4)]);
    assert_eq!(stands.groups[0].counts.by_kind(), [(Kind::InTime, 2), (Kind::Waiting, 2)]);
    let second = [(Kind::InTime, 1), (Kind::Waiting, 1), (Kind::Missing, 1), (Kind::Died, 1)];
    assert_eq!(stands.groups[1].counts.by_kind(), second);
    world.add(&looks(30, &[5], &[7, 8]));
    // Decided, the missing are left out of the share.
    assert_eq!(of(&on(&world, 31)), [span(3, 3, 4), span(1, 1, 3)]);
}

/// The one verdict of two groups, which has to be this strong.
fn decided(standing: &Standing, strength: Strength) -> (crate::evidence::verdict::Verdict, Compared) {
    match &standing.sentence {
        Sentence::Decided(all) if all.len() == 1 && all[0].verdict.strength == strength => {
            (all[0].verdict, all[0].compared)
        }
        other => panic!("{other:?}"),
    }
}

fn share(standing: &Standing, group: usize) -> (u32, u32) {
    match standing.groups[group].shares {
        Shares::Known { by_rule, .. } => (by_rule.share.reached(), by_rule.share.of()),
        other => panic!("{other:?}"),
    }
}

#[test]
fn while_anything_is_undecided_there_are_bounds_and_no_percentage() {
    // Reference 15, typical: 5 reached, 1 not, 2 pending of 8 give 0.625 to 0.875; 2, 4, 1 and 1 lost give 0.25 to 0.5.
    let mut world = try_of(16);
    world.add(&looks(20, &[1, 3, 5, 7, 9, 2, 4], &[]));
    world.add(&looks(30, &[], &[11, 6, 8, 10, 12]));
    world.add("25 mia missing b_14");
    let standing = on(&world, 30);
    let bounds: Vec<Shares> = standing.groups.iter().map(|group| group.shares).collect();
    let between = |lower, upper| Shares::Bounds(Interval { lower, upper });
    assert_eq!(bounds, [between(0.625, 0.875), between(0.25, 0.5)]);
    assert_eq!(standing.sentence, Sentence::StillRunning { n_waiting: 3, deadline: day(30) });
    assert!(standing.compared.is_empty());
    assert!(!standing.deadline_passed);
    assert_eq!(standing.total.all(), 16);
    // A day later nothing is waiting, and the three were not looked at in time: no percentage either.
    let standing = on(&world, 31);
    assert_eq!(standing.sentence, Sentence::Undecided { n_cant_say: 3 });
    assert!(matches!(standing.groups[0].shares, Shares::Bounds(_)));
    assert!(standing.deadline_passed);
    let open: Vec<&str> = standing
        .groups
        .iter()
        .flat_map(|group| &group.units)
        .filter(|unit| unit.outcome == Outcome::CantSay(Why::NotLookedAt))
        .map(|unit| unit.label.as_str())
        .collect();
    assert_eq!(open, ["b_13", "b_15", "b_16"]);
}

#[test]
fn a_bulb_that_left_can_no_longer_come_and_is_in_no_count_of_those_that_can() {
    let mut world = try_of(12);
    world.add(&looks(20, &[1, 3, 5], &[7, 9, 11]));
    world.add("25 mia left b_11 how=sold");
    let stands = on(&world, 26);
    // Six a group: three are in time, two may still be, one was sold in leaf.
    assert_eq!(stands.in_time(&stands.groups[0]), Some(InTime { least: 3, most: 5, of: 5 }));
    assert_eq!(stands.groups[0].counts.n_left, 1);
    assert_eq!(stands.groups[0].shares, Shares::Bounds(Interval { lower: 0.6, upper: 1.0 }));
    world.add(&looks(30, &[], &[7, 9, 2, 4, 6, 8, 10, 12]));
    let ended = on(&world, 31);
    assert_eq!(ended.in_time(&ended.groups[0]), Some(InTime { least: 3, most: 3, of: 5 }), "of as many in the end");
}

#[test]
fn every_outcome_is_counted_once_and_shown() {
    let world = World::of(
        "-9 mia lot lo_1 Red
         -9 mia bulb b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8 lo_1
         -2 mia run ru_1 tr_1 0
         -2 mia rule ru_1 window first-flower-open
         -2 mia due ru_1 20 30
         -2 mia allot ru_1 hand gr_a=b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8
         0 mia cycle-began b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8
         0 mia run-started ru_1
         15 mia look b_1 sh_1/scape/first-flower-open
         19 mia look b_1 sh_1/scape/over
         25 mia look b_2 sh_2/scape/first-flower-open
         30 mia look b_3,b_4 clear
         33 mia look b_3 sh_3/scape/first-flower-open
         12 mia died b_5 cause=soft-rot
         12 mia missing b_6
         12 mia left b_7 how=given
         12 mia look b_8 clear",
    );
    let counts = Counts {
        n_in_time: 1,
        n_too_early: 1,
        n_late: 1,
        n_not_reached: 1,
        n_waiting: 0,
        n_cant_say: 1,
        n_died: 1,
        n_missing: 1,
        n_left: 1,
    };
    let standing = on(&world, 40);
    assert_eq!(standing.total, counts);
    assert_eq!(standing.total.all(), 8);
    assert_eq!(standing.groups[0].units.len(), 8);
    assert_eq!(standing.groups[0].units[7].last_look, Some(day(12)));
    assert_eq!(on(&world, 30).total.n_waiting, 1);
}

/// In time 5 of 9 against 7 of 9, closed.
fn five_and_seven_of_nine() -> World {
    let mut world = try_of(18);
    world.add(&looks(30, &[1, 3, 5, 7, 9, 2, 4, 6, 8, 10, 12, 14], &[11, 13, 15, 17, 16, 18]));
    world
}

#[test]
fn five_of_nine_against_seven_of_nine_is_too_few_to_tell() {
    let world = five_and_seven_of_nine();
    let before = on(&world, 30);
    assert_eq!((share(&before, 0), share(&before, 1)), ((5, 9), (7, 9)));
    // Closing it changes nothing of what is said.
    let closed = world.clone().and("31 mia run-closed ru_1");
    assert_eq!(on(&closed, 31).sentence, on(&world, 31).sentence);
    assert_eq!(on(&world, 30).sentence, Sentence::NoTest(WhyNoTest::BeforeDeadline(day(30))));
    let (tested, compared) = decided(&on(&world, 31), Strength::TooFewToTell);
    assert_eq!(tested.method, Method::Boschloo);
    // Boschloo's p is below Fisher's, which by hand is 30140 of 48620 orders.
    assert!(tested.p > ALPHA && tested.p < 30140.0 / 48620.0);
    assert_eq!((compared.more, compared.fewer), (id("gr_b"), id("gr_a")));
    assert!((compared.gap.difference - 2.0 / 9.0).abs() < 1e-12);
    let interval = compared.gap.interval.unwrap();
    assert!(interval.lower < 0.0 && interval.upper > 0.0);
}

/// Closed, with these numbers in time of so many in each group.
fn closed(n: usize, in_time: [usize; 2]) -> Standing {
    let mut world = try_of(2 * n);
    let is_in_time = |bulb: &usize| (bulb - 1) / 2 < in_time[(bulb - 1) % 2];
    let (with, without): (Vec<usize>, Vec<usize>) = (1..=2 * n).partition(is_in_time);
    world.add(&looks(30, &with, &without));
    world.add("31 mia run-closed ru_1");
    on(&world, 31)
}

/// Reference 02, library: 0 of 9 against 4 of 9, Boschloo (Fisher ordering) 0.0328, Newcombe −0.733 to −0.051.
#[test]
fn none_of_nine_against_four_of_nine_is_told_apart() {
    let (tested, compared) = decided(&closed(9, [0, 4]), Strength::ToldApart);
    assert!((tested.p - 0.032_806_396_484_375).abs() < 1e-9);
    assert_eq!((compared.more, compared.fewer), (id("gr_b"), id("gr_a")));
    let interval = compared.gap.interval.unwrap();
    assert!((interval.lower - 0.050_931_008_390_867_17).abs() < 1e-9);
    assert!((interval.upper - 0.733_348_706_504_506_9).abs() < 1e-9);
}

/// Reference 02, library: 7 of 8 against 3 of 8, Boschloo (Fisher ordering) 0.0534, Newcombe 0.029 to 0.759.
#[test]
fn seven_of_eight_against_three_of_eight_is_on_the_edge() {
    let (tested, compared) = decided(&closed(8, [7, 3]), Strength::OnTheEdge);
    assert!((tested.p - 0.053_413_412_983_812_07).abs() < 1e-9);
    assert!((compared.gap.interval.unwrap().lower - 0.029_294_090_542_112_68).abs() < 1e-9);
}

#[test]
fn large_groups_are_tested_by_fisher() {
    let mut world = try_of(124);
    let all: Vec<usize> = (1..=124).collect();
    world.add(&looks(30, &all[..30], &all[30..]));
    world.add("31 mia run-closed ru_1");
    let (tested, _) = decided(&on(&world, 31), Strength::TooFewToTell);
    assert_eq!((tested.method, tested.p), (Method::Fisher, 1.0));
}

#[test]
fn the_dead_count_as_the_rule_says_and_the_other_reading_stands_beside() {
    let mut world = try_of(8);
    world.add(&looks(20, &[1, 3, 2, 4], &[]));
    world.add(&looks(30, &[], &[5, 6]));
    world.add("25 mia died b_7\n25 mia missing b_8");
    let reading = |standing: &Standing, group: usize| match standing.groups[group].shares {
        Shares::Known { died_otherwise, missing_counted, .. } => {
            [died_otherwise, missing_counted].map(|reading| reading.map(|r| (r.share.reached(), r.share.of())))
        }
        other => panic!("{other:?}"),
    };
    let standing = on(&world, 31);
    assert_eq!(share(&standing, 0), (2, 4));
    assert_eq!(reading(&standing, 0), [Some((2, 3)), None]);
    assert_eq!(share(&standing, 1), (2, 3));
    assert_eq!(reading(&standing, 1), [None, Some((2, 4))]);
    let first = world.ledger.heads(id("ru_1"), "success-rule", "").first().map(|entry| entry.id);
    let rule = World::of("0 mia rule ru_1 by scape-in-sight leave-out-dead");
    let mut draft = crate::ledger::entry::Draft::new(
        vec![id("ru_1")],
        crate::calendar::Happened::on(day(31)),
        rule.ledger.arrived()[0].body.clone(),
    );
    draft.supersedes.extend(first);
    world.save("mia", vec![draft]);
    let standing = on(&world, 31);
    assert_eq!(share(&standing, 0), (2, 3));
    assert_eq!(reading(&standing, 0), [Some((2, 4)), None]);
    assert!(standing.notes.contains(&Note::RuleChangedAfterFirstLook));
}

#[test]
fn a_wilson_interval_stands_beside_every_share() {
    let standing = on(&five_and_seven_of_nine(), 31);
    let Shares::Known { by_rule, .. } = standing.groups[0].shares else {
        panic!("decided");
    };
    // Wilson for 5 of 9, z = 1.959964: (5 + z²/2 ± z √(5·4/9 + z²/4)) ÷ (9 + z²), by hand 0.2667 to 0.8112.
    assert!((by_rule.interval.lower - 0.2667).abs() < 5e-5);
    assert!((by_rule.interval.upper - 0.8112).abs() < 5e-5);
}

/// The same counts under another allotment.
fn allotted(allotment: &str, more: &str) -> Sentence {
    let mut world = World::of(
        "-9 mia lot lo_1 Red
         -9 mia bulb b_1,b_2,b_3,b_4 lo_1
         -2 mia question tr_1 gr_a,gr_b
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30
         0 mia cycle-began b_1,b_2,b_3,b_4
         0 mia run-started ru_1
         30 mia look b_1,b_2 sh_1/scape/scape-in-sight
         30 mia look b_3,b_4 clear
         31 mia run-closed ru_1",
    );
    if !more.contains("run ru_1") {
        world.add("-2 mia run ru_1 tr_1 0");
    }
    world.add(&format!("-2 mia allot ru_1 {allotment}\n{more}"));
    on(&world, 40).sentence
}

#[test]
fn designs_without_a_test_here_say_why() {
    use WhyNoTest as Why;
    let two = "gr_a=b_1,b_3 gr_b=b_2,b_4";
    for (allotment, why) in [
        (format!("hand {two}"), Why::ChosenByHand),
        (format!("recorded {two}"), Why::TypedIn),
        ("drawn gr_a=b_1,b_2,b_3,b_4".into(), Why::OneGroup),
        ("drawn gr_a=b_1 gr_b=b_2,b_3,b_4".into(), Why::OneUnitAGroup),
    ] {
        assert_eq!(allotted(&allotment, ""), Sentence::CountsOnly(why));
    }
    let blocked = format!("drawn {two} blocks=0,1,0,1");
    assert_eq!(allotted(&blocked, ""), Sentence::NoTest(Why::OtherDesign));
    let typed = allotted(&format!("drawn {two}"), "-2 mia run ru_1 tr_1 0 typed");
    assert_eq!(typed, Sentence::CountsOnly(Why::TypedIn));
    // Two draws that arrived from two phones: not evaluated.
    let other = "-2 ben allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3,b_4";
    assert_eq!(allotted(&format!("drawn {two}"), other), Sentence::NoTest(Why::Disagreed(RunRegister::Allotment)));
    assert!(matches!(allotted(&format!("drawn {two}"), ""), Sentence::Decided(_)));
}

/// Three groups of eight, the first one the control: 7, 2 and 6 in time.
fn three_groups(control: bool) -> Standing {
    let bulbs: Vec<String> = (1..=24).map(|at| format!("b_{at}")).collect();
    let all = bulbs.join(",");
    let mut world = World::of(&format!(
        "-9 mia lot lo_1 Red
         -9 mia bulb {all} lo_1
         -2 mia group gr_a tr_1 Long {}
         -2 mia run ru_1 tr_1 0
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30
         -2 mia allot ru_1 drawn gr_a={} gr_b={} gr_c={}
         0 mia cycle-began {all}",
        if control { "control" } else { "" },
        bulbs[..8].join(","),
        bulbs[8..16].join(","),
        bulbs[16..].join(","),
    ));
    assert_eq!(on(&world, 0).sentence, Sentence::NoTest(WhyNoTest::NotStarted));
    let in_time = |n: &usize| *n <= 7 || (9..=10).contains(n) || (17..=22).contains(n);
    let (with, without): (Vec<usize>, Vec<usize>) = (1..=24).partition(in_time);
    world.add("0 mia run-started ru_1");
    world.add(&looks(30, &with, &without));
    world.add("31 mia run-closed ru_1");
    on(&world, 31)
}

#[test]
fn every_group_is_compared_with_the_control_and_holm_keeps_the_family() {
    let standing = three_groups(true);
    assert_eq!(share(&standing, 2), (6, 8));
    let Sentence::Decided(all) = &standing.sentence else { panic!("{:?}", standing.sentence) };
    let [first, second] = all.as_slice() else { panic!("{all:?}") };
    let pair = (first.compared.more, first.compared.fewer);
    assert_eq!(pair, (id("gr_a"), id("gr_b")));
    // The smaller p of two is doubled, the larger one keeps itself.
    assert!((first.verdict.p_family - 2.0 * first.verdict.p).abs() < 1e-12);
    assert_eq!(second.verdict.p_family, second.verdict.p);
    assert_eq!(first.verdict.n_family, 2);
    assert_eq!(second.verdict.strength, Strength::TooFewToTell);
    assert!(!standing.notes.contains(&Note::NoControl));
}

#[test]
fn without_a_control_all_pairs_are_compared() {
    let standing = three_groups(false);
    let Sentence::Decided(all) = &standing.sentence else { panic!("{:?}", standing.sentence) };
    assert_eq!((all.len(), standing.compared.len()), (3, 3));
    assert!(standing.notes.contains(&Note::NoControl));
}

#[test]
fn a_group_that_is_gone_has_no_share_and_no_test() {
    let mut world = try_of(4);
    world.add(&looks(30, &[1], &[3]));
    world.add("12 mia missing b_2\n12 mia left b_4 how=sold\n31 mia run-closed ru_1");
    let standing = on(&world, 31);
    assert_eq!(standing.groups[1].shares, Shares::Nothing);
    assert_eq!(standing.sentence, Sentence::NoTest(WhyNoTest::NothingLeft(id("gr_b"))));
}

#[test]
fn counts_from_a_notebook_get_shares_and_intervals_but_no_test() {
    let world = World::of(
        "0 mia run ru_1 tr_1 -200 typed
         0 mia rule ru_1 by scape-in-sight test=none
         0 mia due ru_1 -90
         0 mia tallies ru_1 gr_a=5,4,0,1 gr_b=7,1,1,0",
    );
    let standing = on(&world, 1);
    assert_eq!(standing.sentence, Sentence::CountsOnly(WhyNoTest::TypedIn));
    assert_eq!((share(&standing, 0), share(&standing, 1)), ((5, 9), (7, 9)));
    assert_eq!(standing.notes, [Note::TypedIn, Note::NoControl]);
    assert!(standing.compared.len() == 1 && standing.groups[0].units.is_empty());
}

#[test]
fn a_container_is_in_time_when_one_of_its_bulbs_is() {
    let world = World::of(
        "-9 mia lot lo_1 Red
         -9 mia container co_1 Pot-1
         -9 mia container co_2 Pot-2
         -9 mia container co_3 Pot-3
         -9 mia container co_4 Pot-4
         -9 mia bulb b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8 lo_1
         -9 mia potted b_1,b_2 container=co_1
         -9 mia potted b_3,b_4 container=co_2
         -9 mia potted b_5,b_6 container=co_3
         -9 mia potted b_7,b_8 container=co_4
         -2 mia run ru_1 tr_1 0
         -2 mia rule ru_1 by scape-in-sight container
         -2 mia due ru_1 30
         -2 mia allot ru_1 drawn container gr_a=co_1,co_2 gr_b=co_3,co_4
         0 mia cycle-began b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8
         0 mia run-started ru_1
         20 mia look b_1 sh_1/scape/scape-in-sight
         30 mia look b_2,b_3,b_5 clear
         22 mia died b_4
         24 mia left b_6 how=sold
         29 mia died b_7
         29 mia died b_8
         33 mia unpotted b_1,b_2",
    );
    let standing = on(&world, 34);
    let outcomes: Vec<&Outcome> =
        standing.groups.iter().flat_map(|group| &group.units).map(|unit| &unit.outcome).collect();
    let died = Outcome::Died(String::new());
    let left = Outcome::Left(crate::ledger::body::LeftHow::Sold);
    assert_eq!(outcomes, [&Outcome::InTime, &Outcome::NotReached, &left, &died]);
    let units = &standing.groups[0].units;
    assert_eq!(units[0].label, "Pot-1");
    assert_eq!(units[0].bulbs, [id("b_1"), id("b_2")], "unpotted since");
    let closed = world.and("35 mia run-closed ru_1");
    assert_eq!(on(&closed, 36).sentence, Sentence::NoTest(WhyNoTest::OtherDesign));
}

#[test]
fn another_stage_is_told_when_another_group_comes_out_ahead() {
    let mut world = try_of(8);
    // Scape in sight: a 3 of 4, b 2 of 4. Spathe split by then: a none, b two.
    world.add(&looks(20, &[1, 3, 5], &[]));
    world.add(
        "30 mia look b_2 sh_2/scape/spathe-split
         30 mia look b_4 sh_4/scape/spathe-split
         30 mia look b_1 sh_1/scape/scape-in-sight
         30 mia look b_3 sh_3/scape/scape-in-sight
         30 mia look b_5 sh_5/scape/scape-in-sight",
    );
    world.add(&looks(30, &[], &[6, 7, 8]));
    let standing = on(&world, 31);
    assert_eq!(standing.other_stages.len(), 1);
    let other = &standing.other_stages[0];
    assert_eq!(other.stage, GoalStage::SpatheSplit);
    assert_eq!(other.ahead, [id("gr_b")]);
    assert_eq!((other.counts[0].n_in_time, other.counts[1].n_in_time), (0, 2));
    // The same groups ahead under both: nothing to tell.
    for bulb in [1, 3, 5] {
        world.add(&format!("30 mia look b_{bulb} sh_{bulb}/scape/spathe-split"));
    }
    assert_eq!(on(&world, 31).other_stages, []);
}

#[test]
fn under_another_stage_that_all_groups_share_none_is_ahead() {
    let mut world = try_of(8);
    world.add(&looks(20, &[1, 3, 5], &[]));
    world.add(&looks(30, &[], &[6, 7, 8]));
    // A stalk in sight: a 3 of 4, b none; a split sheath: none anywhere.
    let standing = on(&world, 31);
    assert_eq!(standing.other_stages.len(), 1);
    assert_eq!(standing.other_stages[0].stage, GoalStage::SpatheSplit);
    assert_eq!(standing.other_stages[0].ahead, []);
}

/// Found by the attack: a file whose notebook counts 60 million dead bulbs.
#[test]
fn counts_beyond_all_bulbs_are_compared_without_overflow() {
    let world = World::of(
        "-2 mia question tr_1 gr_a,gr_b
         -2 mia run ru_1 tr_1 0
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30
         0 mia tallies ru_1 gr_a=5,4,60000000,1 gr_b=4000000000,1,1,1",
    );
    let differ = |note: &Note| matches!(note, Note::LossesDiffer { n_more: 60_000_001, .. });
    assert!(on(&world, 31).notes.iter().any(differ), "{:?}", on(&world, 31).notes);
}

#[test]
fn what_weakens_a_result_is_noted() {
    let mut world = try_of(4);
    world.add("10 mia look b_1,b_3 clear\n12 mia look b_2,b_4 clear");
    world.add("30 mia look b_1,b_2,b_3,b_4 clear");
    world.add("31 mia look b_1 sh_1/scape/scape-in-sight\n32 mia look b_1 clear");
    let notes = on(&world, 33).notes;
    let sparse = Note::LooksSparse { meant_days: 7, longest_days: 20, n_units: 4 };
    let uneven = Note::SeenOnDifferentDays { n_days: 2, n_looked: 3 };
    // Two against two: Boschloo's p is never below 2 · ½⁴.
    let few = Note::TooFewForTest { smallest_p: 0.125 };
    assert_eq!(notes, [few, sparse, uneven, Note::Contradicted { n_units: 1 }]);
}

#[test]
fn origin_of_the_groups_and_late_rules_are_noted() {
    let mut world = World::of(
        "-9 mia place pl_1 One
         -9 mia place pl_2 Two
         -9 mia lot lo_1 Red
         -9 mia bulb b_1,b_2 lo_1 in=pl_1
         -9 mia bulb b_3,b_4 lo_1 in=pl_2
         -9 mia cycle-began b_1,b_2,b_3,b_4
         1 mia look b_1,b_2,b_3,b_4 clear
         2 mia question tr_1 gr_a,gr_b place
         2 mia run ru_1 tr_1 0
         2 mia rule ru_1 by scape-in-sight
         2 mia due ru_1 30
         2 mia allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3,b_4 again=forgot-two-bulbs
         0 mia run-started ru_1",
    );
    assert_eq!(
        on(&world, 3).notes,
        [
            Note::DrawnAgain("forgot two bulbs".into()),
            Note::NoControl,
            Note::TooFewForTest { smallest_p: 0.125 },
            Note::RuleSaidAfterFirstLook,
            Note::OnePlaceAGroup
        ]
    );
    world.add("-2 mia run ru_2 tr_1 0\n-2 mia allot ru_2 hand gr_a=b_1");
    let in_another = |world: &World| on(world, 3).notes.contains(&Note::AlsoInOtherRuns { n_units: 1 });
    // One that is only planned, or begins later, carries nothing over into this one.
    assert!(!in_another(&world));
    assert!(!in_another(&world.clone().and("2 mia run-started ru_2")));
    assert!(in_another(&world.clone().and("-5 mia run-started ru_2")));
    let standing = standing(&world.ledger, &world.state(), id("ru_2"), day(3)).unwrap();
    assert_eq!(standing.sentence, Sentence::NoTest(WhyNoTest::NothingSaid));
}

#[test]
fn a_run_that_is_not_there_has_no_standing() {
    let world = World::of("");
    assert_eq!(standing(&world.ledger, &world.state(), id("ru_1"), day(0)), None);
}

/// A closed try of two groups drawn in three size classes of eight and eight.
fn in_classes(in_time: [[usize; 2]; 3]) -> World {
    let mut world = World::of(
        "-9 mia place pl_1 One
         -9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 every=7
         -2 mia rule ru_1 by scape-in-sight test=exact-conditional
         -2 mia due ru_1 30",
    );
    // Unit n of group g in class c; the first so many of each come in time.
    let name = |g: usize, c: usize, n: usize| 1 + g * 24 + c * 8 + n;
    let (mut with, mut without) = (Vec::new(), Vec::new());
    for (c, of_class) in in_time.iter().enumerate() {
        for (g, n_in_time) in of_class.iter().enumerate() {
            for n in 0..8 {
                let list = if n < *n_in_time { &mut with } else { &mut without };
                list.push(name(g, c, n));
            }
        }
    }
    let bulbs: Vec<String> = (1..=48).map(|n| format!("b_{n}")).collect();
    for bulb in &bulbs {
        world.add(&format!("-9 mia bulb {bulb} lo_1 in=pl_1"));
    }
    let blocks: Vec<String> = (0..48).map(|at| (at % 24 / 8).to_string()).collect();
    world.add(&format!(
        "-2 mia allot ru_1 drawn gr_a={} gr_b={} blocks={}
         0 mia cycle-began {}
         0 mia run-started ru_1
         {}
         31 mia run-closed ru_1",
        bulbs[..24].join(","),
        bulbs[24..].join(","),
        blocks.join(","),
        bulbs.join(","),
        looks(30, &with, &without)
    ));
    world
}

#[test]
fn size_classes_are_compared_within_themselves() {
    // Reference 04, library case three_runs_8: exact conditional p by R's mantelhaen.test, Mantel-Haenszel difference
    // with Sato's variance by metafor.
    let standing = on(&in_classes([[6, 2], [5, 3], [7, 4]]), 40);
    let (tested, compared) = decided(&standing, Strength::ToldApart);
    assert_eq!(tested.method, Method::ExactConditional);
    assert!((tested.p - 0.019_594_495_163_2).abs() < 1e-9, "{}", tested.p);
    assert_eq!(compared.more, id("gr_a"));
    assert_eq!(compared.gap.by, IntervalBy::MantelHaenszel);
    assert!((compared.gap.difference - 0.375).abs() < 1e-12);
    let interval = compared.gap.interval.unwrap();
    assert!((interval.lower - 0.118_371_195_114_143).abs() < 1e-9);
    assert!((interval.upper - 0.631_628_804_885_857).abs() < 1e-9);
    // The other way round the same numbers speak for the other group.
    let turned = on(&in_classes([[2, 6], [3, 5], [4, 7]]), 40);
    let (_, compared) = decided(&turned, Strength::ToldApart);
    assert_eq!(compared.more, id("gr_b"));
    assert!((compared.gap.interval.unwrap().lower - 0.118_371_195_114_143).abs() < 1e-9);
}

/// A try drawn by `blocks/2` within one cultivar a class; of each, in time and how many in the first and second group.
fn in_cultivars(classes: &[[(usize, usize); 2]]) -> World {
    let mut world = World::of(
        "-2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 every=40
         -2 mia rule ru_1 by scape-in-sight test=exact-conditional
         -2 mia due ru_1 30",
    );
    let (mut units, mut arms, mut blocks, mut names) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (block, class) in classes.iter().enumerate() {
        world.add(&format!("-9 mia lot lo_{block} Kind-{block}"));
        names.push(format!("\"Kind-{block}\""));
        for (arm, (in_time, of)) in class.iter().enumerate() {
            for n in 0..*of {
                let at = units.len() + 1;
                world.add(&format!("-9 mia bulb b_{at} lo_{block}"));
                let seen = if n < *in_time { format!("sh_{at}/scape/scape-in-sight") } else { "clear".to_owned() };
                world.add(&format!("30 mia look b_{at} {seen}"));
                units.push(format!("\"b_{at}\""));
                arms.push(arm.to_string());
                blocks.push(block.to_string());
            }
        }
    }
    world.add(&format!(
        "-2 mia json ru_1 allotment {{\"unit\":\"bulb\",\"method\":\"blocks/2\",\"seed\":\"00ff\",\"groups\":[\"gr_a\",\"gr_b\"],\"units\":[{}],\"arms\":[{}],\"blocks\":[{}],\"cultivars\":[{}],\"class_length\":8}}
         0 mia cycle-began {}
         0 mia run-started ru_1",
        units.join(","),
        arms.join(","),
        blocks.join(","),
        names.join(","),
        units.join(",").replace('"', "")
    ));
    world
}

#[test]
fn cultivars_are_compared_within_themselves_and_counted_by_themselves() {
    // Reference 04, random_0 and random_4 of R 4.2.2's mantelhaen.test, exact: classes of any sizes.
    let p = |classes: &[[(usize, usize); 2]]| match on(&in_cultivars(classes), 31).sentence {
        Sentence::Decided(all) if all.len() == 1 => (all[0].verdict.method, all[0].verdict.p),
        other => panic!("{other:?}"),
    };
    let random_0 = [[(1, 2), (0, 8)], [(3, 6), (1, 11)], [(8, 9), (8, 12)], [(0, 5), (4, 10)]];
    let (method, found) = p(&random_0);
    assert_eq!(method, Method::ExactConditional);
    assert!((found - 0.214_879_062_91).abs() < 1e-9, "{found}");
    let random_4 =
        [[(4, 9), (12, 12)], [(2, 3), (7, 9)], [(4, 12), (2, 2)], [(6, 7), (0, 2)], [(4, 8), (3, 3)], [(0, 5), (3, 3)]];
    let (_, found) = p(&random_4);
    assert!((found - 0.001_905_302_495_89).abs() < 1e-9, "{found}");
    // The order in which classes stand says nothing.
    let turned: Vec<_> = random_4.iter().rev().copied().collect();
    assert!((p(&turned).1 - found).abs() < 1e-12);
    let stands = on(&in_cultivars(&random_0), 31);
    let rows: Vec<_> = stands.by_cultivar.iter().map(|of| (of.cultivar.as_str(), of.groups[1].all())).collect();
    assert_eq!(rows, [("Kind-0", 8), ("Kind-1", 11), ("Kind-2", 12), ("Kind-3", 10)]);
    let third = &stands.by_cultivar[2].groups;
    let in_time = |at: usize| stands.in_time_of(&third[at]).map(|found| (found.least, found.most, found.of));
    assert_eq!((in_time(0), in_time(1)), (Some((8, 8, 9)), Some((8, 8, 12))));
    // All of them together are the groups' own counts.
    for (at, group) in stands.groups.iter().enumerate() {
        assert_eq!(sum(stands.by_cultivar.iter().map(|of| of.groups[at])), group.counts);
    }
    // One cultivar alone is the try itself.
    assert!(on(&in_cultivars(&random_0[..1]), 31).by_cultivar.is_empty());
}

/// Three groups of eight, with 4, 8 and 0 in time; the first is the control.
fn of_three(rule: &str) -> Standing {
    let mut world = World::of(&format!(
        "-9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b,gr_c
         -2 mia group gr_a tr_1 Eight control
         -2 mia group gr_b tr_1 Ten
         -2 mia group gr_c tr_1 Twelve
         -2 mia run ru_1 tr_1 0 every=40
         -2 mia rule ru_1 by scape-in-sight {rule}
         -2 mia due ru_1 30"
    ));
    let bulbs: Vec<String> = (1..=24).map(|n| format!("b_{n}")).collect();
    world.add(&format!("-9 mia bulb {} lo_1", bulbs.join(",")));
    let with: Vec<usize> = (1..=4).chain(9..=16).collect();
    let without: Vec<usize> = (5..=8).chain(17..=24).collect();
    world.add(&looks(30, &with, &without));
    world.add(&format!(
        "-2 mia allot ru_1 drawn gr_a={} gr_b={} gr_c={}
         0 mia cycle-began {}
         0 mia run-started ru_1",
        bulbs[..8].join(","),
        bulbs[8..16].join(","),
        bulbs[16..].join(","),
        bulbs.join(",")
    ));
    on(&world, 31)
}

#[test]
fn the_clearest_difference_has_a_verdict_only_where_all_pairs_were_declared() {
    let decided = |stands: &Standing| match &stands.sentence {
        Sentence::Decided(all) => all.clone(),
        other => panic!("{other:?}"),
    };
    // As before there was anything to declare: two comparisons with the control, and the widest gap of all named.
    let old = of_three("");
    assert_eq!(decided(&old).iter().map(|one| one.verdict.n_family).collect::<Vec<_>>(), [2, 2]);
    let clearest = old.clearest.expect("a pair");
    assert_eq!((clearest.compared.more, clearest.compared.fewer), (id("gr_b"), id("gr_c")));
    assert!(clearest.verdict.is_none());
    assert_eq!(decided(&of_three("family=with-the-control")), decided(&old));
    let new = of_three("family=all-pairs");
    let all = decided(&new);
    assert_eq!(all.iter().map(|one| one.verdict.n_family).collect::<Vec<_>>(), [3, 3, 3]);
    let clearest = new.clearest.expect("a pair");
    assert_eq!((clearest.compared.more, clearest.compared.fewer), (id("gr_b"), id("gr_c")));
    let verdict = clearest.verdict.expect("a verdict");
    assert_eq!(verdict.strength, Strength::ToldApart);
    // Holm: the smallest of three p three times, the others twice, here alike.
    assert!((verdict.p_family - 3.0 * verdict.p).abs() < 1e-12);
    assert!(
        all.iter()
            .filter(|one| one.verdict.p > verdict.p)
            .all(|one| one.verdict.p_family >= 2.0 * one.verdict.p - 1e-12)
    );
    // More comparisons never make the same pair clearer.
    let of_old = decided(&old);
    let both = |one: &Decided| (one.compared.more, one.compared.fewer);
    for before in &of_old {
        let now = all.iter().find(|one| both(one) == both(before)).expect("the same pair");
        assert!(now.verdict.p_family >= before.verdict.p_family - 1e-12);
    }
    // Two groups are one pair, and nothing is picked out.
    assert!(on(&in_classes([[6, 2], [5, 3], [7, 4]]), 40).clearest.is_none());
}

#[test]
fn no_difference_is_said_before_the_last_day_is_over_nor_with_a_single_unit() {
    // Goal: an interval of the difference reads like a verdict, so it waits for what a verdict waits for.
    // Method: all four bulbs are decided on day 5; the last day that counts is day 30.
    let mut world = try_of(4);
    world.add(&looks(5, &[1, 2, 3, 4], &[]));
    assert!(on(&world, 29).compared.is_empty());
    assert!(on(&world, 30).compared.is_empty());
    assert!(!on(&world, 31).compared.is_empty());
    let mut single = try_of(3);
    single.add(&looks(5, &[1, 2, 3], &[]));
    assert!(on(&single, 31).compared.is_empty());
    assert_eq!(on(&single, 31).sentence, Sentence::CountsOnly(WhyNoTest::OneUnitAGroup));
}

/// Eight containers of five bulbs, four a group; so many of each in time.
fn containers(in_time: [usize; 8], lots: &str, rule: &str) -> World {
    let mut world = World::of(
        "-9 mia lot lo_1 Red
         -2 mia json tr_1 question {\"text\":\"Which?\",\"factors\":[{\"name\":\"mix\",\"applied_to\":\"container\"}],\"groups\":[\"gr_a\",\"gr_b\"]}
         -2 mia group gr_a tr_1 Bark control
         -2 mia group gr_b tr_1 Peat
         -2 mia run ru_1 tr_1 0 every=40",
    );
    let mut all = Vec::new();
    for (pot, n) in in_time.iter().enumerate() {
        let bulbs: Vec<usize> = (1..=5).map(|at| pot * 5 + at).collect();
        let names: Vec<String> = bulbs.iter().map(|at| format!("b_{at}")).collect();
        let names = names.join(",");
        world.add(&format!(
            "-9 mia container co_{pot} Pot\n-9 mia bulb {names} lo_1\n-9 mia potted {names} container=co_{pot}"
        ));
        world.add(&looks(30, &bulbs[..*n], &bulbs[*n..]));
        all.push(names);
    }
    let all = all.join(",");
    world.add(&format!(
        "-2 mia rule ru_1 by scape-in-sight {rule}
         -2 mia due ru_1 30
         -2 mia allot ru_1 drawn {lots}
         0 mia cycle-began {all}
         0 mia run-started ru_1
         31 mia run-closed ru_1"
    ));
    world
}

const FOUR_POTS: &str = "container gr_a=co_0,co_1,co_2,co_3 gr_b=co_4,co_5,co_6,co_7";

#[test]
fn bulbs_in_containers_that_were_drawn_whole_are_judged_by_the_containers() {
    // Shares 1, 0.8, 1, 0.8 against 0.2, 0, 0.4, 0.2: the most extreme of 70 draws, p = 2/70.
    let world = containers([5, 4, 5, 4, 1, 0, 2, 1], FOUR_POTS, "test=permutation-of-units");
    let standing = on(&world, 31);
    assert_eq!((share(&standing, 0), share(&standing, 1)), ((18, 20), (4, 20)));
    let (verdict, compared) = decided(&standing, Strength::ToldApart);
    assert!((verdict.p - 2.0 / 70.0).abs() < 1e-12, "{verdict:?}");
    assert_eq!(verdict.method, Method::UnitPermutation);
    assert!((compared.gap.difference - 0.7).abs() < 1e-12);
    assert_eq!(compared.gap.by, IntervalBy::Permutation);
    // Forty bulbs by themselves would be told apart by far more than eight containers can be.
    assert!((verdict.smallest_p - 2.0 / 70.0).abs() < 1e-12);
}

#[test]
fn bulbs_drawn_singly_into_shared_containers_get_no_verdict_of_their_own() {
    let a: Vec<String> = (1..=20).map(|at| format!("b_{at}")).collect();
    let b: Vec<String> = (21..=40).map(|at| format!("b_{at}")).collect();
    let lots = format!("gr_a={} gr_b={}", a.join(","), b.join(","));
    let world = containers([5, 4, 5, 4, 1, 0, 2, 1], &lots, "");
    assert_eq!(on(&world, 31).sentence, Sentence::CountsOnly(WhyNoTest::ContainersNotDrawn));
}

#[test]
fn the_design_is_checked_before_the_start() {
    let planned = World::of(
        "-9 mia lot lo_1 Red
         -9 mia bulb b_1,b_2,b_3,b_4,b_5,b_6 lo_1
         -2 mia json tr_1 question {\"text\":\"Both?\",\"factors\":[{\"name\":\"weeks\",\"applied_to\":\"bulb\"},{\"name\":\"mix\",\"applied_to\":\"bulb\"}],\"groups\":[\"gr_a\",\"gr_b\"]}
         -2 mia json gr_a treatment {\"trial\":\"tr_1\",\"name\":\"A\",\"levels\":[{\"factor\":\"weeks\",\"text\":\"6\"},{\"factor\":\"mix\",\"text\":\"bark\"}],\"control\":true}
         -2 mia json gr_b treatment {\"trial\":\"tr_1\",\"name\":\"B\",\"levels\":[{\"factor\":\"weeks\",\"text\":\"8\"},{\"factor\":\"mix\",\"text\":\"peat\"}]}
         -2 mia run ru_1 tr_1 0
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30
         -2 mia allot ru_1 drawn gr_a=b_1,b_2,b_3 gr_b=b_4,b_5,b_6",
    );
    let notes = on(&planned, -1).notes;
    assert!(notes.contains(&Note::Aliased { factors: ["weeks".into(), "mix".into()] }));
    assert!(!notes.contains(&Note::NoControl));
}

#[test]
fn groups_that_lose_unequally_are_told() {
    let mut world = try_of(16);
    world.add(&looks(30, &[1, 3, 5, 7, 9, 11, 13, 15], &[2, 4]));
    world.add("12 mia died b_6,b_8,b_10\n13 mia left b_12 how=sold\n14 mia missing b_14,b_16");
    let lost =
        Note::LossesDiffer { more: id("gr_b"), n_more: 6, of_more: 8, fewer: id("gr_a"), n_fewer: 0, of_fewer: 8 };
    assert!(on(&world, 31).notes.contains(&lost));
}

#[test]
fn outcomes_that_only_a_sweep_decides_are_told_beside_the_result() {
    let mut world = try_of(6);
    world.add(&looks(20, &[1, 3], &[2, 4, 5, 6]));
    world.add(&looks(31, &[], &[2]));
    let rests = |standing: &Standing| {
        let sweeps = |note: &&Note| matches!(note, Note::RestsOnSweeps { .. });
        standing.notes.iter().find(sweeps).cloned()
    };
    assert_eq!(rests(&on(&world, 32)), None, "no sweep yet");
    // Of those walked past, one was looked at by itself before: its outcome stands without the sweep.
    world.add("31 mia sweep b_2,b_4,b_5 pl_1");
    let told = Some(Note::RestsOnSweeps { n_bulbs: 2, of: 6 });
    assert_eq!(rests(&on(&world, 32)), told);
    world.add(&looks(33, &[], &[4, 5]));
    assert_eq!(rests(&on(&world, 34)), None, "looked at since");
}

#[test]
fn a_try_that_has_not_started_saw_nothing_of_the_season_before() {
    let mut world = World::of(
        "-90 mia place pl_1 One
         -90 mia lot lo_1 Red
         -90 mia bulb b_1,b_2 lo_1 in=pl_1
         -60 mia look b_1 sh_1/scape/first-flower-open
         -50 mia look b_1 sh_1/scape/over
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 5 every=7
         -2 mia rule ru_1 window first-flower-open
         -2 mia due ru_1 100 110
         -2 mia allot ru_1 drawn gr_a=b_1 gr_b=b_2",
    );
    let total = on(&world, 0).total;
    assert_eq!((total.n_waiting, total.all()), (2, 2));
    world.add("5 mia cycle-began b_1,b_2\n5 mia run-started ru_1");
    assert_eq!(on(&world, 5).total.n_waiting, 2);
}

#[test]
fn what_became_of_a_bulb_counts_for_nothing_while_records_of_it_exclude_each_other() {
    for more in [
        "10 mia left b_1 how=sold stage=scape-in-sight\n12 ben died b_1",
        "12 ben died b_1\n10 mia left b_1 how=sold stage=scape-in-sight",
    ] {
        let mut world = try_of(4);
        world.add(&looks(28, &[3], &[2, 4]));
        world.add(more);
        let standing = on(&world, 40);
        assert_eq!(standing.groups[0].units[0].outcome, Outcome::CantSay(Why::Disputed), "{more}");
        // Where either comes to the same, it is known.
        let mut both_late = try_of(4);
        both_late.add("10 mia missing b_1\n12 ben missing b_1");
        assert_eq!(on(&both_late, 40).groups[0].units[0].outcome, Outcome::Missing);
    }
}

#[test]
fn days_at_rest_are_no_gap_between_looks() {
    let sparse = |more: &str| {
        let mut world = try_of(2);
        world.add(more);
        let notes = on(&world, 29).notes;
        notes.iter().any(|note| matches!(note, Note::LooksSparse { .. }))
    };
    let looked = "21 mia look b_1,b_2 clear\n28 mia look b_1,b_2 clear\n1 mia look b_1,b_2 clear";
    assert!(sparse(looked));
    let rested = format!("{looked}\n3 mia laid-to-rest b_1,b_2\n17 mia potted b_1,b_2");
    assert!(!sparse(&rested));
    // Before it was laid down and after it was brought out there was something to see.
    let short = format!("{looked}\n3 mia laid-to-rest b_1,b_2\n10 mia potted b_1,b_2");
    assert!(sparse(&short));
}
