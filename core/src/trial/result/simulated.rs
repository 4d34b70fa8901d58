//! Whole nurseries whose truth is known, from records to what is said: how often something is said that is not so.

use std::fmt::Write as _;

use super::tries::trial_result;
use super::*;
use crate::{
    evidence::verdict::Strength,
    testing::{World, day, id},
    trial::standing::{Design, standing},
};

/// Splitmix64: Steele, Lea & Flood 2014.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// How a group truly is: the share that flowers in time, and how early these do, 0 to 1 of the days allowed.
#[derive(Clone, Copy)]
struct Truth {
    share: f64,
    latest: f64,
}

/// Days of a try: the last is the last that counts.
const DAYS: i64 = 40;

/// Two tries of four size classes, two bulbs a group in each; looks every four days; one bulb in twenty dies.
fn nursery(dice: &mut Dice, truths: [Truth; 2]) -> World {
    let mut text = String::from(
        "-9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short\n",
    );
    for at in 0..2_i64 {
        let start = at * 100;
        let before = start - 2;
        let bulbs: Vec<String> = (0..16).map(|n| format!("b_{}", at * 16 + n + 1)).collect();
        // Within each size class of four the first two drawn are of the first group.
        let arms: Vec<usize> = {
            let mut arms = Vec::new();
            for _ in 0..4 {
                let mut class = [0, 0, 1, 1];
                for last in (1..4).rev() {
                    let other = (dice.uniform() * (last + 1) as f64) as usize;
                    class.swap(last, other);
                }
                arms.extend(class);
            }
            arms
        };
        let of = |arm: usize| -> Vec<(usize, &String)> {
            let members = bulbs.iter().enumerate();
            members.filter(|(n, _)| arms[*n] == arm).collect()
        };
        let names = |arm: usize| -> String {
            let names: Vec<&str> = of(arm).iter().map(|(_, name)| name.as_str()).collect();
            names.join(",")
        };
        let classes: Vec<String> = [0, 1].iter().flat_map(|arm| of(*arm)).map(|(n, _)| (n / 4).to_string()).collect();
        let all = bulbs.join(",");
        let _ = writeln!(
            text,
            "-9 mia bulb {all} lo_1
             {before} mia json ru_{ordinal} run {{\"trial\":\"tr_1\",\"ordinal\":{ordinal},\"start\":\"{on}\",\"look_interval_days\":4}}
             {before} mia rule ru_{ordinal} by scape-in-sight test=exact-conditional
             {before} mia due ru_{ordinal} {due}
             {before} mia allot ru_{ordinal} drawn gr_a={a} gr_b={b} blocks={blocks}
             {start} mia cycle-began {all}
             {start} mia run-started ru_{ordinal}",
            ordinal = at + 1,
            on = day(start),
            due = start + DAYS,
            a = names(0),
            b = names(1),
            blocks = classes.join(","),
        );
        let mut fates: Vec<(&String, Option<i64>, Option<i64>)> = Vec::new();
        for (n, bulb) in bulbs.iter().enumerate() {
            let truth = truths[arms[n]];
            let flowers = dice.uniform() < truth.share;
            let on = (dice.uniform() * truth.latest * (DAYS - 1) as f64) as i64 + 1;
            let died = (dice.uniform() < 0.05).then(|| (dice.uniform() * DAYS as f64) as i64);
            fates.push((bulb, flowers.then_some(start + on), died.map(|on| start + on)));
        }
        for look in (start..=start + DAYS).step_by(4) {
            let here = |died: &Option<i64>| died.is_none_or(|died| died > look);
            let mut clear: Vec<&str> = Vec::new();
            for (bulb, on, _) in fates.iter().filter(|(.., died)| here(died)) {
                if on.is_none_or(|on| on > look) {
                    clear.push(bulb);
                } else if on.is_some_and(|on| on > look - 4) {
                    let shoot = bulb.replace("b_", "sh_");
                    let _ = writeln!(text, "{look} mia look {bulb} {shoot}/scape/scape-in-sight");
                }
            }
            if !clear.is_empty() {
                let _ = writeln!(text, "{look} mia look {} clear", clear.join(","));
            }
        }
        for (bulb, _, died) in &fates {
            if let Some(died) = died {
                let _ = writeln!(text, "{died} mia died {bulb} cause=rot");
            }
        }
    }
    World::of(&text)
}

/// How often, of so many nurseries, something was said.
#[derive(Debug, Default)]
struct Said {
    n: u32,
    told_apart: u32,
    edge: u32,
    grown_over_tries: u32,
    grown_look_by_look: u32,
    interval_missed: u32,
}

fn simulate(seed: u64, n: u32, truths: [Truth; 2]) -> Said {
    let mut dice = Dice(seed);
    let mut said = Said { n, ..Said::default() };
    for _ in 0..n {
        let world = nursery(&mut dice, truths);
        let state = world.state();
        let result = trial_result(&world.ledger, &state, id("tr_1"), day(1000)).unwrap();
        let pair = &result.pairs[0];
        let decided = pair.decided.unwrap();
        assert_eq!(result.tries.iter().filter(|one| one.not_counted.is_none()).count(), 2);
        said.told_apart += u32::from(decided.verdict.strength == Strength::ToldApart);
        said.edge += u32::from(decided.verdict.strength == Strength::OnTheEdge);
        let ever = |evidence: &[f64]| evidence.iter().any(|e| *e >= 20.0);
        let blocks: Vec<f64> = pair.growing.iter().map(|after| after.evidence).collect();
        said.grown_over_tries += u32::from(ever(&blocks));
        let run = id("ru_1");
        let stands = standing(&world.ledger, &state, run, day(1000)).unwrap();
        let design = Design::of(run, &state.runs[&run]).unwrap();
        let grown = sequential::growing(&design, &state, &stands.groups);
        let looks: Vec<f64> = grown[0].looks.iter().map(|after| after.evidence).collect();
        assert!(looks.len() > 3);
        said.grown_look_by_look += u32::from(ever(&looks));
        let gap = decided.compared.gap;
        let interval = gap.interval.unwrap();
        let truth = truths[0].share - truths[1].share;
        // The dead count as not in time: of both groups alike one in forty or so of those that would have flowered.
        let truth = if decided.compared.more == id("gr_a") { truth } else { -truth };
        said.interval_missed += u32::from(truth < interval.lower - 0.03 || truth > interval.upper + 0.03);
    }
    said
}

/// At most α and three standard errors of so many nurseries.
fn at_most(k: u32, n: u32, alpha: f64) -> bool {
    let n = f64::from(n);
    f64::from(k) <= n * alpha + 3.0 * (n * alpha * (1.0 - alpha)).sqrt()
}

/// No group is better: whatever is looked at, and however often, one nursery in twenty at most hears of a difference.
#[test]
fn groups_that_are_alike_are_rarely_told_apart() {
    let half = Truth { share: 0.5, latest: 1.0 };
    let said = simulate(1, 120, [half, half]);
    assert!(at_most(said.told_apart + said.edge, said.n, 0.05), "{said:?}");
    assert!(at_most(said.grown_over_tries, said.n, 0.05), "{said:?}");
    assert!(at_most(said.grown_look_by_look, said.n, 0.05), "{said:?}");
    assert!(at_most(said.interval_missed, said.n, 0.05), "{said:?}");
}

/// One group is faster and no better: the share in time says nothing, for the size classes count only when all in them
/// is decided.
#[test]
fn a_faster_group_is_not_a_better_one() {
    let slow = Truth { share: 0.6, latest: 1.0 };
    let fast = Truth { share: 0.6, latest: 0.3 };
    let said = simulate(2, 120, [fast, slow]);
    assert!(at_most(said.told_apart + said.edge, said.n, 0.05), "{said:?}");
    assert!(at_most(said.grown_over_tries, said.n, 0.05), "{said:?}");
    // That it is faster, the looks may find out.
    assert!(said.grown_look_by_look > said.n / 20, "{said:?}");
}

/// Nine of ten against one of five: it is found, and the interval holds the truth.
#[test]
fn what_is_so_is_found() {
    let good = Truth { share: 0.9, latest: 1.0 };
    let bad = Truth { share: 0.2, latest: 1.0 };
    let said = simulate(3, 40, [good, bad]);
    assert!(said.told_apart > said.n * 8 / 10, "{said:?}");
    assert!(said.grown_over_tries > said.n / 4, "{said:?}");
    assert!(at_most(said.interval_missed, said.n, 0.05), "{said:?}");
}
