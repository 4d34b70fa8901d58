//! The nursery at its boundary: records in, what a screen shows out.

use std::{collections::BTreeSet, sync::Arc};

use proptest::prelude::*;

use super::{
    Bulb, Fate, State,
    course::{Stand, course},
    reach::Verdict,
    state::Disagreement,
    walk::{self, Answer, Mishap},
};
use crate::{
    calendar::Happened,
    care::due,
    ledger::{
        Ledger, Problem, Register,
        body::{Body, Finding, GoalStage, Leaves, Look, Neck, ShootKind, Stage, Way},
        entry::{Draft, Entry},
        id::{Id, Ids, Noun},
    },
    testing::{World, day, forcing, id},
    trial::standing::{Sentence, Shares, standing},
};

const ONE: &str = "0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1\n\
                   0 mia own b_1 one\n0 mia cycle-began b_1\n";

fn bulb(records: &str) -> Bulb {
    let state = World::of(ONE).and(records).state();
    state.bulbs[&id("b_1")].clone()
}

/// What the last look of these records says of a stage.
fn says(records: &str, stage: GoalStage) -> Verdict {
    let bulb = bulb(records);
    let cycle = bulb.cycle();
    cycle.verdict(cycle.last_look().expect("a look"), stage)
}

// What a look rules out.

#[test]
fn a_clear_neck_rules_out_every_stage() {
    for stage in GoalStage::ALL {
        assert_eq!(says("1 mia look b_1 clear", *stage), Verdict::Without);
        assert_eq!(says("1 mia sweep b_1 pl_1", *stage), Verdict::Without);
        assert_eq!(says("1 mia look b_1 unseen", *stage), Verdict::Silent);
    }
}

#[test]
fn shoots_rule_out_only_stages_beyond_those_given() {
    let stretching = "1 mia look b_1 sh_1/scape/scape-stretching";
    assert_eq!(says(stretching, GoalStage::ScapeInSight), Verdict::With);
    assert_eq!(says(stretching, GoalStage::SpatheSplit), Verdict::Without);
    let bloom = "1 mia look b_1 sh_1/scape/full-bloom";
    assert_eq!(says(bloom, GoalStage::SpatheSplit), Verdict::With);
    assert_eq!(says(bloom, GoalStage::FirstFlower), Verdict::With);
}

#[test]
fn a_scape_is_ruled_out_only_when_every_shoot_is_proved_a_leaf() {
    let stage = GoalStage::ScapeInSight;
    let unsure = "1 mia look b_1 sh_1/leaf/shoot sh_2/unknown/shoot";
    assert_eq!(says(unsure, stage), Verdict::Unproved);
    let proved = format!("{unsure}\n2 mia proof b_1 sh_2 leaf");
    assert_eq!(says(&proved, stage), Verdict::Without);
    let scape = format!("{unsure}\n2 mia proof b_1 sh_2 scape");
    assert_eq!(says(&scape, stage), Verdict::With);
    // A shoot of unknown kind is not in flower, whatever it turns out to be.
    assert_eq!(says(unsure, GoalStage::FirstFlower), Verdict::Without);
}

#[test]
fn a_split_spathe_proves_a_scape_whatever_was_said_before() {
    let records = "1 mia look b_1 sh_1/leaf/shoot\n4 mia look b_1 sh_1/unknown/spathe-split";
    let bulb = bulb(records);
    let cycle = bulb.cycle();
    assert_eq!(cycle.shoots[0].kind, ShootKind::Scape);
    assert_eq!(cycle.furthest(), Some(Stage::SpatheSplit));
    // It was a scape from its first sight.
    assert_eq!(cycle.reach(GoalStage::ScapeInSight).with, Some(day(1)), "{cycle:?}");
}

#[test]
fn a_bulb_is_blind_by_a_look_on_or_after_the_end_of_its_cycle() {
    let ended = "20 mia look b_1 clear\n30 mia cycle-ended b_1\n";
    let blind = |records: &str| bulb(records).cycles[0].blind();
    assert!(!blind(ended), "nobody looked since");
    assert!(blind(&format!("{ended}30 mia look b_1 clear")));
    assert!(blind(&format!("{ended}31 mia look b_1 sh_1/leaf/shoot")));
    assert!(!blind(&format!("{ended}31 mia look b_1 sh_1/unknown/shoot")));
    let scape = format!("9 mia look b_1 sh_1/scape/over\n{ended}31 mia look b_1 clear");
    assert!(!blind(&scape), "it had flowered");
    // Whoever looks at the leaves alone afterwards takes nothing back.
    assert!(blind(&format!("{ended}30 mia look b_1 clear\n33 mia look b_1 unseen leaves=more")));
    // A bulb sold with a clear neck ended no cycle; one that was blind before it was thrown away stays so.
    assert!(!blind("20 mia look b_1 clear\n20 mia left b_1 how=withdrawn"));
    assert!(blind(&format!("{ended}30 mia look b_1 clear\n40 mia left b_1 how=withdrawn")));
    assert!(!blind(&format!("{ended}30 mia look b_1 clear\n40 mia left b_1 how=sold stage=spathe-split")));
}

#[test]
fn a_bulb_is_blind_until_its_next_cycle_begins() {
    let since = |records: &str| bulb(records).blind_since();
    let blind = "20 mia look b_1 clear\n20 mia cycle-ended b_1\n";
    assert_eq!(since(blind), Some(day(20)));
    assert_eq!(since(&format!("{blind}40 mia cycle-began b_1")), None);
    assert_eq!(since(&format!("{blind}40 mia laid-to-rest b_1")), None);
    assert_eq!(since(&format!("{blind}25 mia look b_1 sh_1/scape/scape-in-sight")), None, "a stalk came after all");
    assert_eq!(since(&format!("{blind}25 mia died b_1")), None, "it is told as dead");
}

#[test]
fn a_new_cycle_forgets_the_looks_of_the_old_one() {
    let bulb = bulb("5 mia look b_1 sh_1/scape/over\n30 mia cycle-began b_1");
    assert_eq!(bulb.cycles.len(), 2);
    assert_eq!(bulb.cycles[0].ended, Some(day(30)));
    assert_eq!(bulb.last_look(), None);
    assert_eq!(walk::answers(&bulb)[0], Answer::NothingYet);
    assert_eq!(bulb.cycle_on(day(10)).looks.len(), 1);
}

// The walk.

fn answered(records: &str, answer: Answer) -> Look {
    walk::look_for(answer, &bulb(records), Some(id("pl_1")), &mut Ids::new([1; 32]))
}

#[test]
fn same_writes_the_statement_out_in_full() {
    let records = "3 mia look b_1 sh_1/scape/spathe-split sh_2/leaf/shoot leaves=more\n";
    let look = answered(records, Answer::Same);
    assert_eq!((look.neck, look.leaves), (Neck::Shoots, Leaves::Same));
    assert_eq!((look.way, look.walk), (Way::Each, Some(id("pl_1"))));
    let shoots: Vec<_> = look.shoots.iter().map(|shoot| (shoot.id, shoot.ordinal, shoot.kind, shoot.stage)).collect();
    assert_eq!(
        shoots,
        [(id("sh_1"), 1, ShootKind::Scape, Stage::SpatheSplit), (id("sh_2"), 2, ShootKind::Leaf, Stage::Shoot)]
    );
    // A look that left the neck out does not hide the one before; a proof since is said with it.
    let unsure = "3 mia look b_1 sh_1/unknown/shoot\n4 mia proof b_1 sh_1 leaf\n\
                  5 mia look b_1 unseen leaves=none";
    let look = answered(unsure, Answer::Same);
    assert_eq!((look.neck, look.leaves), (Neck::Shoots, Leaves::None));
    assert_eq!(look.shoots[0].kind, ShootKind::Leaf);
    let clear = answered("3 mia look b_1 clear leaves=none", Answer::Same);
    assert_eq!((clear.neck, clear.leaves), (Neck::Clear, Leaves::None));
}

#[test]
fn same_never_says_a_height_again() {
    let records = "3 mia json b_1 look {\"leaves\":\"same\",\"neck\":\"shoots\",\"shoots\":[{\"height_mm\":90,\
                   \"id\":\"sh_1\",\"kind\":\"scape\",\"ordinal\":1,\"side\":\"left\",\"stage\":\"spathe split\"}],\
                   \"way\":\"each\"}";
    let look = answered(records, Answer::Same);
    assert_eq!(look.shoots[0].height_mm, None);
    assert_eq!(bulb(records).cycle().shoots[0].height_mm, Some(90), "and it is not forgotten");
}

#[test]
fn each_answer_changes_what_it_says_and_nothing_else() {
    let first = answered("", Answer::NothingYet);
    assert_eq!((first.neck, first.leaves), (Neck::Clear, Leaves::None));
    let clear = "3 mia look b_1 clear leaves=none";
    assert_eq!(answered(clear, Answer::MoreLeaves).leaves, Leaves::More);
    let stalk = answered(clear, Answer::Stalk);
    assert_eq!((stalk.neck, stalk.shoots[0].kind), (Neck::Shoots, ShootKind::Scape));
    let unsure = "3 mia look b_1 sh_1/unknown/shoot";
    let proved = answered(unsure, Answer::Stalk);
    assert_eq!(proved.shoots.len(), 1, "the unsure shoot is the stalk");
    assert_eq!(proved.shoots[0].id, id("sh_1"));
    let leaf = answered(unsure, Answer::ItIsALeaf);
    assert_eq!(leaf.shoots[0].kind, ShootKind::Leaf);
    let scape = "3 mia look b_1 sh_1/scape/spathe-split";
    let higher = answered(scape, Answer::Higher);
    assert_eq!(higher.shoots[0].stage, Stage::SpatheSplit, "never taken back");
    let second = answered(scape, Answer::SecondStalk);
    let ordinals: Vec<u32> = second.shoots.iter().map(|shoot| shoot.ordinal).collect();
    assert_eq!(ordinals, [1, 2]);
    // The first is over: "first flower open" speaks of the second.
    let two = "3 mia look b_1 sh_1/scape/over sh_2/scape/scape-in-sight";
    let open = answered(two, Answer::FirstFlower);
    let stages: Vec<Stage> = open.shoots.iter().map(|shoot| shoot.stage).collect();
    assert_eq!(stages, [Stage::Over, Stage::FirstFlower]);
}

#[test]
fn answers_follow_what_was_last_shown() {
    let offered = |records: &str| walk::answers(&bulb(records));
    use Answer::{
        Fading, FirstFlower, Higher, ItIsALeaf, MoreLeaves, NothingYet, Over, Same, SecondStalk, SheathSplit,
        ShootNotSure, Stalk,
    };
    assert_eq!(offered(""), [NothingYet, MoreLeaves, Stalk, ShootNotSure]);
    let clear = "3 mia look b_1 clear";
    assert_eq!(offered(clear), [Same, MoreLeaves, Stalk, ShootNotSure]);
    let unsure = "3 mia look b_1 sh_1/unknown/shoot";
    assert_eq!(offered(unsure), [Same, MoreLeaves, Stalk, ItIsALeaf]);
    let scape = "3 mia look b_1 sh_1/scape/scape-in-sight";
    let after = [Same, Higher, SheathSplit, FirstFlower, SecondStalk, MoreLeaves];
    assert_eq!(offered(scape), after);
    let flower = "3 mia look b_1 sh_1/scape/first-flower-open";
    assert_eq!(offered(flower), [Same, Fading, Over, SecondStalk, MoreLeaves]);
}

#[test]
fn each_answer_has_its_place_at_every_bulb() {
    let places = |records: &str| -> Vec<(u8, Answer)> {
        let pad = walk::pad(&bulb(records)).into_iter();
        pad.map(|slot| (slot.key, slot.answer)).collect()
    };
    use Answer::{
        Fading, Firm, FirstFlower, Higher, ItIsALeaf, MoreLeaves, Mould, NothingYet, Over, Same, SecondStalk,
        SheathSplit, ShootNotSure, SoftSpots, Stalk,
    };
    assert_eq!(places(""), [(1, NothingYet), (2, MoreLeaves), (3, Stalk), (4, ShootNotSure)]);
    let unsure = "3 mia look b_1 sh_1/unknown/shoot";
    assert_eq!(places(unsure), [(1, Same), (2, MoreLeaves), (3, Stalk), (4, ItIsALeaf)]);
    let scape = "3 mia look b_1 sh_1/scape/scape-in-sight";
    let further = [(1, Same), (2, MoreLeaves), (3, Higher), (4, SecondStalk), (5, SheathSplit), (6, FirstFlower)];
    assert_eq!(places(scape), further);
    let from_above = walk::from_above(walk::pad(&bulb(scape))).into_iter().map(|slot| slot.key);
    assert_eq!(from_above.collect::<Vec<_>>(), [5, 6, 2, 4, 3, 1]);
    let flower = "3 mia look b_1 sh_1/scape/first-flower-open";
    assert_eq!(places(flower), [(1, Same), (2, MoreLeaves), (3, Fading), (4, SecondStalk), (5, Over)]);
    let over = "3 mia look b_1 sh_1/scape/over";
    assert_eq!(places(over), [(1, Same), (2, MoreLeaves), (4, SecondStalk)]);
    // In the dark it is taken in hand, until a stalk is seen.
    let dark = "1 mia laid-to-rest b_1\n";
    let in_hand = [(1, Firm), (2, MoreLeaves), (3, Stalk), (4, ShootNotSure), (5, SoftSpots), (6, Mould)];
    assert_eq!(places(dark), in_hand);
    assert_eq!(places(&format!("{dark}{scape}")), further);
    assert_eq!(places(&format!("{dark}5 mia rest-ended b_1"))[0], (1, NothingYet));
}

#[test]
fn in_the_dark_an_answer_says_what_is_in_the_hand_and_repeats_the_neck() {
    let dark = "1 mia laid-to-rest b_1\n";
    let firm = answered(dark, Answer::Firm);
    assert_eq!((firm.neck, firm.leaves), (Neck::Clear, Leaves::None));
    let soft = answered(&format!("{dark}3 mia look b_1 sh_1/unknown/shoot leaves=more"), Answer::SoftSpots);
    assert_eq!((soft.neck, soft.leaves, soft.shoots.len()), (Neck::Shoots, Leaves::Same, 1));
    assert_eq!(walk::finding_of(Answer::SoftSpots), Some(Finding::SoftSpots));
    assert_eq!(walk::finding_of(Answer::ShootNotSure), None);
}

#[test]
fn a_mishap_is_offered_where_it_can_befall_and_its_look_shows_what_is_left() {
    let offered = |records: &str| walk::mishaps(&bulb(records));
    let after = |mishap, records: &str| walk::look_after(mishap, &bulb(records), Some(id("pl_1")));
    let stalk = "3 mia look b_1 sh_1/scape/scape-stretching sh_2/leaf/shoot leaves=more\n";
    assert_eq!(offered(""), [Mishap::Blind]);
    assert_eq!(offered("1 mia laid-to-rest b_1"), []);
    assert_eq!(offered(stalk), [Mishap::StalkBroken, Mishap::BudDried]);
    assert_eq!(offered("3 mia look b_1 sh_1/scape/fading"), [Mishap::StalkBroken]);
    assert_eq!(offered("3 mia look b_1 sh_1/scape/over"), []);
    assert_eq!(offered("3 mia look b_1 clear\n4 mia cycle-ended b_1"), []);
    let left = |look: &Look| look.shoots.iter().map(|shoot| shoot.id).collect::<Vec<_>>();
    let broken = after(Mishap::StalkBroken, stalk);
    assert_eq!((broken.neck, left(&broken)), (Neck::Shoots, vec![id("sh_2")]));
    assert_eq!(left(&after(Mishap::BudDried, stalk)), [id("sh_1"), id("sh_2")]);
    let unsure = "3 mia look b_1 sh_1/unknown/shoot sh_2/leaf/shoot";
    assert_eq!(left(&after(Mishap::Blind, unsure)), [id("sh_2")]);
    assert_eq!(after(Mishap::Blind, "3 mia look b_1 sh_1/unknown/shoot").neck, Neck::Clear);
}

#[test]
fn a_stalk_that_broke_is_asked_for_no_more() {
    let broken = "3 mia look b_1 sh_1/scape/scape-stretching\n5 mia look b_1 clear\n5 mia scape-broken b_1";
    assert_eq!(walk::leading_scape(bulb(broken).cycle()), None);
    assert!(walk::answers(&bulb(broken)).contains(&Answer::Stalk));
    let second = format!("{broken}\n8 mia look b_1 sh_2/scape/scape-in-sight");
    assert_eq!(walk::leading_scape(bulb(&second).cycle()).map(|scape| scape.id), Some(id("sh_2")));
}

#[test]
fn all_the_others_get_one_look_each_of_what_they_last_showed() {
    let mut world = World::of(ONE);
    world.add(
        "0 mia bulb b_2,b_3 lo_1 in=pl_1\n0 mia bulb b_4 lo_1\n5 mia look b_1 clear\n\
         3 mia look b_2 sh_2/scape/scape-in-sight\n4 mia died b_3",
    );
    let others = walk::others(&world.state(), id("pl_1"), day(5), &[]);
    assert_eq!(others.len(), 1, "seen today, dead and elsewhere are left out");
    let (of, look) = &others[0];
    assert_eq!((*of, look.way, look.shoots.len()), (id("b_2"), Way::Others, 1));
}

/// The bulbs that a walk still asks for, with the looks that this very walk gave.
fn asked(world: &World, today: i64, given: &[&str]) -> (usize, Option<Id>) {
    let given: Vec<_> = given.iter().map(|name| world.named(name)).collect();
    let course = course(&world.state(), id("pl_1"), day(today), &given, Stand::Begin);
    (course.n_bulbs - course.n_done, course.now)
}

#[test]
fn a_look_of_today_counts_beside_looks_of_days_to_come() {
    let two = World::of(ONE).and("0 mia bulb b_2 lo_1 in=pl_1\n0 mia own b_2 two");
    for ahead in [6, 7, 370, 60_000] {
        // The clock was ahead for one walk; then the bulbs are looked at on the right day.
        let ahead = two.clone().and(&format!("{ahead} mia look b_1,b_2 clear"));
        assert_eq!(asked(&ahead, 5, &[]), (2, Some(id("b_1"))));
        for today in ["5 mia look b_1 clear", "5 mia sweep b_1 pl_1"] {
            let world = ahead.clone().and(today);
            assert_eq!(asked(&world, 5, &[]), (1, Some(id("b_2"))), "{today}");
            assert!(!walk::is_open(&world.state(), id("b_1"), day(5), &[]));
            let others = walk::others(&world.state(), id("pl_1"), day(5), &[]);
            assert_eq!(others.len(), 1, "{today}");
        }
    }
    // A new cycle begun under the wrong clock does not take today's look away either.
    let begun = two.and("300 mia cycle-began b_1\n5 mia look b_1 clear");
    assert_eq!(asked(&begun, 5, &[]), (1, Some(id("b_2"))));
}

#[test]
fn what_a_walk_was_answered_it_does_not_ask_again_when_the_day_changes() {
    let mut world = World::of(ONE).and("0 mia bulb b_2 lo_1 in=pl_1\n0 mia own b_2 two\none: 5 mia look b_1 clear");
    // Midnight, the date line, or a clock set right or wrong in the middle of the walk.
    for today in [4, 5, 6, 400] {
        assert_eq!(asked(&world, today, &["one"]), (1, Some(id("b_2"))));
    }
    assert_eq!(asked(&world, 6, &[]).0, 2, "the next walk asks for all");
    world.add("6 mia take-back b_1 ~one");
    assert_eq!(asked(&world, 6, &["one"]), (2, Some(id("b_1"))));
}

// Take-backs, put-rights and disagreements.

#[test]
fn taking_back_an_entry_about_several_bulbs_takes_it_back_for_each() {
    let world = World::of(ONE).and("0 mia bulb b_2 lo_1\ndead: 5 mia died b_1,b_2 cause=frost");
    let fates = |world: &World| {
        let state = world.state();
        ["b_1", "b_2"].map(|bulb| state.bulbs[&id(bulb)].fate.clone())
    };
    let [one, two] = fates(&world);
    let died = Fate::Died { on: day(5), cause: "frost".into() };
    assert_eq!((&one, &two), (&died, &died));
    let part = world.clone().and("6 ben take-back b_1 ~dead");
    assert_eq!(fates(&part), [Fate::Here, died]);
    let all = world.and("6 ben take-back b_1,b_2 ~dead");
    assert_eq!(fates(&all), [Fate::Here, Fate::Here]);
}

#[test]
fn put_right_for_one_bulb_leaves_the_others() {
    let world = World::of(ONE)
        .and("0 mia bulb b_2 lo_1\nlook: 5 mia look b_1,b_2 clear")
        .and("5 mia look b_2 sh_2/scape/scape-in-sight ~look");
    let state = world.state();
    let necks = ["b_1", "b_2"].map(|bulb| {
        let looks = &state.bulbs[&id(bulb)].cycle().looks;
        assert_eq!(looks.len(), 1);
        looks[0].look.neck
    });
    assert_eq!(necks, [Neck::Clear, Neck::Shoots]);
}

#[test]
fn what_was_put_right_on_one_phone_and_taken_back_on_another_shows() {
    let world = World::of(ONE)
        .and("look: 5 mia look b_1 clear")
        .and("right: 6 mia look b_1 sh_1/unknown/shoot ~look\n6 ben take-back b_1 ~look");
    let bulb = world.state().bulbs[&id("b_1")].clone();
    assert_eq!(bulb.cycle().looks.len(), 1);
    assert_eq!(bulb.cycle().looks[0].entry, world.named("right"));
    let look = world.ledger.get(world.named("look")).expect("kept");
    let kinds: BTreeSet<&str> =
        world.ledger.successors(look).iter().map(|entry| entry.envelope.kind.as_str()).collect();
    assert_eq!(kinds, BTreeSet::from(["look", "take-back"]));
}

#[test]
fn an_entry_replaces_only_its_own_kind_and_subjects() {
    let mut world = World::of(ONE).and("look: 5 mia look b_1 clear");
    world.add("wrong: 6 ben note b_1 never ~look\nother: 6 ben look b_2 clear ~look");
    assert_eq!(world.state().bulbs[&id("b_1")].cycle().looks.len(), 1);
    let target = world.named("look");
    let mut expected = ["wrong", "other"].map(|name| Problem::CannotReplace { by: world.named(name), target });
    expected.sort();
    assert_eq!(world.ledger.problems(), expected);
}

#[test]
fn two_names_given_on_two_phones_are_a_disagreement_until_settled() {
    let world = World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1")
        .and("mine: 1 mia own b_1 Anna\nhers: 1 ben own b_1 Berta");
    let register = Disagreement { subject: id("b_1"), kind: "bulb-name".to_owned(), slot: "own".to_owned() };
    let state = world.state();
    assert_eq!(state.disagreements, BTreeSet::from([register.clone()]));
    let named = &state.bulbs[&id("b_1")].own_name;
    assert!(named.is_disagreed() && named.settled().is_none());
    assert_eq!(named.shown().map(String::as_str), Some("Berta"));
    let heads: Vec<_> = state.heads(&world.ledger, &register).iter().map(|entry| entry.id).collect();
    assert_eq!(heads, [world.named("hers"), world.named("mine")]);
    let settled = world.and("2 mia own b_1 Anna ~mine ~hers").state();
    assert_eq!(settled.disagreements, BTreeSet::new());
    let named = &settled.bulbs[&id("b_1")].own_name;
    assert_eq!(*named, Register::Agreed("Anna".to_owned()));
}

#[test]
fn the_same_value_given_twice_is_no_disagreement() {
    let world = World::of(ONE).and("1 ben own b_1 one");
    let state = world.state();
    assert_eq!(state.disagreements, BTreeSet::new());
    assert_eq!(state.bulbs[&id("b_1")].label(), "one");
}

// Fold and incremental fold.

/// One line in many: a kind, some of four bulbs, a variant, and an earlier line that it may replace.
fn line(n: usize, (kind, mask, variant, target): (usize, u8, u8, usize)) -> String {
    let bulbs: Vec<String> =
        (1..=4).filter(|bulb| mask >> (bulb - 1) & 1 == 1).map(|bulb| format!("b_{bulb}")).collect();
    let bulbs = if bulbs.is_empty() { "b_1".to_owned() } else { bulbs.join(",") };
    let v = variant % 3 + 1;
    let said = match kind {
        0 => format!("bulb {bulbs} lo_{v} in=pl_{v}"),
        1 => format!("own {bulbs} name{v}"),
        2 => format!("look {bulbs} sh_{v}/unknown/shoot"),
        3 => format!("look {bulbs} sh_{v}/scape/first-flower-open"),
        4 => format!("look {bulbs} clear"),
        5 => format!("potted {bulbs} container=co_{v}"),
        6 => format!("unpotted {bulbs}"),
        7 => format!("moved {bulbs} place=pl_{v}"),
        8 => format!("cycle-began {bulbs}"),
        9 => format!("died {bulbs}"),
        10 => format!("left {bulbs} how=sold stage=spathe-split"),
        11 => format!("proof {bulbs} sh_{v} leaf"),
        12 => format!("place pl_{v} Place{variant}"),
        13 => format!("run ru_{v} tr_1 0"),
        14 => format!("allot ru_{v} hand gr_a={bulbs} gr_b=co_{v}"),
        15 => format!("rule ru_{v} by scape-in-sight"),
        16 => format!("due ru_{v} {}", 10 + variant),
        17 => format!("run-started ru_{v}"),
        18 => format!("question tr_1 gr_a,gr_{v}"),
        19 => format!("json pl_{v} bench-order {{\"bulbs\":[\"b_{v}\"]}}"),
        20 => format!("lot lo_{v} Lot{variant}"),
        21 => format!("tallies ru_{v} gr_a={variant},1,0,2 gr_b=1,{v},1,0"),
        22 => format!("run-closed ru_{v}"),
        23 => format!("allot ru_{v} drawn gr_a=b_1,b_3 gr_b=b_2,b_4"),
        24 => format!("fit-to-sell {bulbs}"),
        25 => format!("missing {bulbs}"),
        26 => format!("laid-to-rest {bulbs}"),
        27 => format!("group gr_a tr_1 Long what={v}/weeks"),
        28 => format!("call {bulbs} sh_{v} 700 {variant}"),
        29 => format!("rule ru_{v} window first-flower-open leave-out-dead"),
        _ => format!("take-back {bulbs},ru_{v},pl_{v}"),
    };
    let who = ["mia", "ben"][usize::from(variant) % 2];
    // Half of all lines replace something, rightly or wrongly.
    let replaces = if n > 0 && target % 2 == 0 { format!(" ~n{}", (target / 2) % n) } else { String::new() };
    format!("n{n}: {} {who} {said}{replaces}", variant % 20)
}

fn entries(lines: &[(usize, u8, u8, usize)]) -> Vec<Arc<Entry>> {
    entries_on("", lines)
}

/// A running try on four bulbs, so that what random lines add to it can be evaluated.
const RUNNING: &str = "0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1,b_2,b_3,b_4 lo_1 in=pl_1
    0 mia run ru_1 tr_1 0\n0 mia rule ru_1 by scape-in-sight\n0 mia due ru_1 12
    0 mia allot ru_1 drawn gr_a=b_1,b_3 gr_b=b_2,b_4\n0 mia cycle-began b_1,b_2,b_3,b_4\n0 mia run-started ru_1";

fn entries_on(start: &str, lines: &[(usize, u8, u8, usize)]) -> Vec<Arc<Entry>> {
    let mut world = World::of(start);
    for (n, parts) in lines.iter().enumerate() {
        world.add(&line(n, *parts));
    }
    world.ledger.arrived().to_vec()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// In whatever order entries arrive, folding each as it comes gives what folding the whole gives, at every step.
    #[test]
    fn fold_equals_incremental_fold(
        (sorted, shuffled) in prop::collection::vec((0_usize..32, 1_u8..16, 0_u8..40, 0_usize..64), 1..40)
            .prop_map(|lines| entries(&lines))
            .prop_flat_map(|entries| (Just(entries.clone()), Just(entries).prop_shuffle()))
    ) {
        let mut ledger = Ledger::new(id("l_1"));
        let mut state = State::default();
        for entry in shuffled {
            let subjects: BTreeSet<_> = entry.envelope.about.iter().copied().collect();
            prop_assert!(ledger.insert(entry.clone()));
            prop_assert!(!ledger.insert(entry));
            state.refold(&ledger, &subjects);
            prop_assert_eq!(&state, &State::fold(&ledger));
        }
        let mut in_order = Ledger::new(id("l_1"));
        for entry in sorted {
            in_order.insert(entry);
        }
        prop_assert_eq!(in_order.digest(), ledger.digest());
        prop_assert_eq!(in_order.problems(), ledger.problems());
        prop_assert_eq!(State::fold(&in_order), state);
    }

    /// Whatever the records are, screens get answers that add up.
    #[test]
    fn every_state_has_its_standing_and_its_due_work(
        lines in prop::collection::vec((0_usize..32, 1_u8..16, 0_u8..40, 1_usize..64), 1..60),
        today in 0_i64..60,
    ) {
        let mut ledger = Ledger::new(id("l_1"));
        for entry in entries_on(RUNNING, &lines) {
            ledger.insert(entry);
        }
        let state = State::fold(&ledger);
        let due = due(&state, day(today));
        for place in &due.places {
            prop_assert!(place.jobs.iter().all(|job| !job.bulbs.is_empty()));
        }
        for run in state.runs.keys() {
            let stands = standing(&ledger, &state, *run, day(today)).expect("a run");
            let each: u32 = stands.groups.iter().map(|group| group.counts.all()).sum();
            prop_assert_eq!(each, stands.total.all());
            let open = stands.total.n_undecided() > 0;
            let (mut bounds, mut known) = (false, false);
            for group in &stands.groups {
                bounds |= matches!(group.shares, Shares::Bounds(_));
                known |= matches!(group.shares, Shares::Known { .. });
                let units = group.units.len() as u32;
                prop_assert!(units == 0 || units == group.counts.all());
            }
            prop_assert!(!(open && known) && (open || !bounds), "{:?}", stands);
            let tested = matches!(stands.sentence, Sentence::Decided(_));
            prop_assert!(!tested || (!open && stands.deadline_passed));
        }
    }
}

#[test]
fn what_random_lines_are_made_of_is_known_to_the_fold() {
    // The property above means little unless its lines reach the kinds they name.
    let lines: Vec<_> = (0..32).map(|kind| (kind, 15, 1, 1)).collect();
    let entries = entries(&lines);
    assert!(entries.iter().all(|entry| entry.body != Body::Unknown));
    let kinds: BTreeSet<&str> = entries.iter().map(|entry| entry.envelope.kind.as_str()).collect();
    assert!(kinds.len() >= 26, "{kinds:?}");
    assert!(entries.iter().any(|entry| entry.envelope.about[0].is(Noun::Run)));
}

#[test]
fn trials_and_plans_stand_in_the_order_of_their_days() {
    let mut world = World::of(
        "0 mia question tr_1 gr_a,gr_b
         0 mia question tr_2 gr_a,gr_b
         0 mia question tr_3 gr_a,gr_b
         0 mia run ru_1 tr_1 5
         0 mia run ru_2 tr_2 9
         0 mia run ru_3 tr_1 2",
    );
    let of = |ids: &[&str]| ids.iter().map(|text| id(text)).collect::<Vec<_>>();
    let all = world.state().trials_latest_first();
    assert_eq!(all, of(&["tr_3", "tr_2", "tr_1"]));
    let mut over = forcing("over", 1, 2);
    over.given_up = true;
    let plans = [forcing("Market", 80, 90), forcing("Fair", 60, 65), over];
    for (n, plan) in plans.into_iter().enumerate() {
        let (about, on) = (vec![id(&format!("fo_{n}"))], Happened::on(day(0)));
        world.save("mia", vec![Draft::new(about, on, Body::Forcing(plan))]);
    }
    let state = world.state();
    let names = state.plans_meant().into_iter();
    let names: Vec<&str> = names.map(|(_, plan)| plan.name.as_str()).collect();
    assert_eq!(names, ["Fair", "Market"]);
}

#[test]
fn what_is_dated_after_tomorrow_counts_from_its_day_on() {
    let world = World::of(
        "900 mia place pl_1 Bench-2
         900 mia lot lo_1 Red
         900 mia bulb b_1 lo_1
         900 mia bulb b_2 lo_1
         good: 5 mia look b_1 clear
         look: 11 ben look b_1 clear
         12 ben died b_1
         700 ben watered b_2
         13 ben look b_1 clear ~good
         900 ben take-back b_1 ~look",
    );
    let read_on = |today: i64| {
        let mut ledger = Ledger::on(world.ledger.id(), day(today));
        for entry in world.ledger.arrived() {
            assert!(ledger.insert(Arc::clone(entry)));
        }
        ledger
    };
    let mut ledger = read_on(10);
    let mut state = State::fold(&ledger);
    // Names and take-backs are of no day; all entries are there and are handed on.
    assert_eq!((ledger.len(), ledger.later().len()), (10, 3));
    assert_eq!(ledger.digest(), world.ledger.digest());
    assert_eq!(state.places.len(), 1);
    let bulb = state.bulb(&id("b_1")).unwrap();
    assert_eq!((&bulb.fate, bulb.inspected), (&Fate::Here, None));
    assert!(ledger.is_in_force(ledger.get(world.named("good")).unwrap(), id("b_1")));
    // The day comes, and folding what it changes gives what folding all gives.
    for today in [10, 11, 12, 5, 699, 700] {
        let changed = ledger.day_comes(day(today));
        state.refold(&ledger, &changed);
        assert_eq!(state, State::fold(&ledger), "day {today}");
        if today != 5 {
            assert_eq!(state, State::fold(&read_on(today)), "day {today}");
        }
    }
    assert_eq!(state, world.state());
    assert_eq!(ledger.later().len(), 0);
}

// Sheets typed in late, sorts, and shoots that are known.

#[test]
fn a_sheet_typed_in_late_goes_by_the_state_on_its_day() {
    let world = World::of(ONE).and(
        "0 mia bulb b_2,b_3 lo_1 in=pl_1
         10 mia look b_1 sh_1/scape/scape-in-sight
         20 mia left b_2 how=sold
         12 mia left b_3 how=sold
         24 mia look b_1 sh_1/scape/first-flower-open",
    );
    let state = world.state();
    let sheet = |on: i64| walk::sheet(&state, &world.ledger, id("pl_1"), day(on));
    let late = sheet(17);
    let ids: Vec<_> = late.iter().map(|bulb| bulb.id).collect();
    assert_eq!(ids, [id("b_1"), id("b_2")], "those that stood there then");
    assert!(walk::answers(&late[0]).contains(&Answer::SheathSplit));
    let same = walk::look_for(Answer::Same, &late[0], None, &mut Ids::new([1; 32]));
    assert_eq!(same.shoots[0].stage, Stage::ScapeInSight);
    // Looks of the day itself count, and today's sheet is the bench as it stands.
    assert!(walk::answers(&sheet(24)[0]).contains(&Answer::Fading));
    assert_eq!(sheet(30).len(), state.bulbs_in(id("pl_1")).len());
    // Before its first look there is nothing to repeat; a bulb entered later is listed too.
    assert_eq!(walk::answers(&sheet(5)[0])[0], Answer::NothingYet);
    assert_eq!(sheet(-3).len(), 3);
}

#[test]
fn what_a_shoot_turned_out_to_be_is_not_known_before() {
    let world = World::of(ONE).and(
        "10 mia look b_1 sh_1/unknown/shoot
         20 mia proof b_1 sh_1 leaf",
    );
    let state = world.state();
    let kind = |on: i64| {
        let bulb = state.bulbs[&id("b_1")].at_end_of(&world.ledger, day(on));
        bulb.map(|bulb| bulb.cycle().shoots[0].kind)
    };
    assert_eq!(kind(15), Some(ShootKind::Unknown));
    assert_eq!(kind(20), Some(ShootKind::Leaf));
}

#[test]
fn own_names_stand_as_people_count_and_bulbs_as_they_were_typed() {
    let named = |names: &[&str]| {
        let mut world = World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red");
        let ids: Vec<String> = (0..names.len()).map(|at| format!("b_{}", 9 - at)).collect();
        world.add(&format!("0 mia bulb {} lo_1 in=pl_1", ids.join(",")));
        for (bulb, name) in ids.iter().zip(names) {
            world.add(&format!("0 mia own {bulb} {name}"));
        }
        world.state()
    };
    let on_bench = |state: &State| -> Vec<String> {
        let bulbs = state.bulbs_in(id("pl_1")).into_iter();
        bulbs.map(|bulb| bulb.label().to_owned()).collect()
    };
    let typed = ["K7", "K10", "Anna", "K2"];
    assert_eq!(on_bench(&named(&typed)), typed);
    let found = named(&typed);
    let found: Vec<_> = found.find("k").iter().map(|bulb| bulb.label().to_owned()).collect();
    assert_eq!(found, ["K2", "K7", "K10"]);
    // A lot said anew for one of them moves it nowhere.
    let mut world = World::of(
        "0 mia place pl_1 One\n0 mia lot lo_1 Red\na: 0 mia bulb b_2,b_1 lo_1 in=pl_1\n0 mia own b_2 x\n0 mia own b_1 y",
    );
    world.add("5 mia bulb b_2 lo_2 ~a");
    assert_eq!(on_bench(&world.state()), ["x", "y"]);
}

#[test]
fn a_look_put_right_speaks_of_the_shoots_that_are_known() {
    let late = bulb("10 mia look b_1 clear\n13 mia look b_1 sh_1/scape/scape-stretching");
    let by = |on: i64| walk::shoots_by(late.cycle(), day(on));
    assert_eq!((by(10)[0].id, by(10)[0].stage), (id("sh_1"), Stage::ScapeInSight));
    assert_eq!((by(20)[0].id, by(20)[0].stage), (id("sh_1"), Stage::ScapeStretching));
    assert_eq!(by(20).len(), 1);
}

#[test]
fn the_stage_that_all_have_is_known_when_they_leave() {
    let state = World::of(ONE)
        .and(
            "0 mia bulb b_2,b_3 lo_1 in=pl_1
             10 mia look b_1 sh_1/scape/spathe-split
             11 mia look b_2 sh_2/scape/spathe-split",
        )
        .state();
    let of = |bulbs: &[&str]| {
        let bulbs: Vec<_> = bulbs.iter().map(|bulb| id(bulb)).collect();
        walk::stage_of_all(&state, &bulbs)
    };
    assert_eq!(of(&["b_1", "b_2"]), Some(Stage::SpatheSplit));
    assert_eq!(of(&["b_1", "b_3"]), None);
    assert_eq!(of(&["b_3"]), None);
}

#[test]
fn fit_to_sell_is_known_by_its_mark_or_a_flower_and_by_nothing_less() {
    let state = World::of(ONE)
        .and(
            "0 mia bulb b_2,b_3 lo_1 in=pl_1
             10 mia look b_1 sh_1/scape/scape-in-sight
             10 mia look b_2 sh_2/scape/first-flower-open
             10 mia look b_3 sh_3/scape/spathe-split
             11 mia fit-to-sell b_3",
        )
        .state();
    let all_fit = |bulbs: &[&str]| walk::all_fit(&state, &bulbs.iter().map(|bulb| id(bulb)).collect::<Vec<_>>());
    assert!(all_fit(&["b_2", "b_3"]));
    assert!(!all_fit(&["b_1"]));
    assert!(!all_fit(&["b_1", "b_2"]));
}
