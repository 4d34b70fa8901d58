//! How often each test tells apart what is alike: never more often than α.
//!
//! Tests of counts by complete enumeration over a grid of common shares, tests that permute by going through every draw
//! of lots, evidence that may be looked at any time by simulation, α and three standard errors.

use super::e_process::{self, Block, Priors};
use super::interval_scores;
use super::kaplan_meier::Followed;
use super::logrank;
use super::permutation::Scored;
use super::random::Random;
use super::special::binomial_term;
use super::strata::Stratum;
use super::turnbull::Bounds;
use super::{Level, Share, barnard, boschloo, exact_conditional, fisher, k_groups, shift, sign_flip, trend};

/// The level of every test here.
const ALPHA: f64 = 0.05;

/// Common shares that are tried.
const SHARES: [f64; 9] = [0.02, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.93, 0.99];

fn share(reached: u32, of: u32) -> Share {
    Share::new(reached, of).expect("a share")
}

/// Every outcome of groups of these sizes.
fn outcomes(sizes: &[u32]) -> Vec<Vec<Share>> {
    sizes.iter().fold(vec![Vec::new()], |all, &n| {
        let longer = |one: Vec<Share>| (0..=n).map(move |x| [&one[..], &[share(x, n)]].concat());
        all.into_iter().flat_map(longer).collect()
    })
}

/// The probability of an outcome when every group has its own share.
fn probability(groups: &[Share], shares: &[f64]) -> f64 {
    let term = |(group, p): (&Share, &f64)| binomial_term(group.x(), group.n(), *p, 1.0 - p);
    groups.iter().zip(shares).map(term).product()
}

/// How often a test has p ≤ α at worst, over common shares that may differ by stratum.
fn worst(sizes: &[u32], strata: usize, test: impl Fn(&[Share]) -> f64) -> f64 {
    let told: Vec<Vec<Share>> =
        outcomes(sizes).into_iter().filter(|groups| test(groups) <= ALPHA * (1.0 + 1e-10)).collect();
    let in_stratum = sizes.len() / strata;
    let mut worst = 0.0_f64;
    for &first in &SHARES {
        for &other in if strata > 1 { &SHARES[..] } else { &SHARES[..1] } {
            let common = |at: usize| if at < in_stratum { first } else { other };
            let shares: Vec<f64> = (0..sizes.len()).map(common).collect();
            let often = told.iter().map(|groups| probability(groups, &shares));
            worst = worst.max(often.sum());
        }
    }
    worst
}

#[test]
fn two_shares_that_are_alike() {
    for sizes in [[3, 3], [4, 9], [8, 8], [13, 6]] {
        let boschloo = |a, b| boschloo::two_sided(a, b).p;
        let barnard = |a, b| barnard::two_sided(a, b).p;
        let tests: [&dyn Fn(Share, Share) -> f64; 3] = [&fisher::two_sided, &boschloo, &barnard];
        for (name, test) in ["Fisher", "Boschloo", "Barnard"].into_iter().zip(tests) {
            let often = worst(&sizes, 1, |groups| test(groups[0], groups[1]));
            assert!(often <= ALPHA + 1e-9, "{name} {sizes:?}: {often}");
        }
    }
    // They are no empty promises: at 8 against 8 each tells something apart.
    let fisher = worst(&[8, 8], 1, |groups| fisher::two_sided(groups[0], groups[1]));
    assert!(fisher > 0.01, "{fisher}");
}

#[test]
fn several_groups_that_are_alike() {
    for sizes in [&[4, 4, 4][..], &[2, 5, 3, 4], &[1, 6, 6]] {
        let halton = worst(sizes, 1, |groups| k_groups::freeman_halton(groups).map_or(1.0, |tested| tested.p));
        let scores: Vec<f64> = (0..sizes.len()).map(|level| (level * level) as f64).collect();
        let trend = worst(sizes, 1, |groups| trend::test(groups, &scores).map_or(1.0, |trend| trend.two_sided().p));
        assert!(halton <= ALPHA + 1e-9, "{sizes:?}: {halton}");
        assert!(trend <= ALPHA + 1e-9, "{sizes:?}: {trend}");
    }
}

/// The common share differs between tries, the groups do not.
#[test]
fn tries_that_differ_with_groups_that_are_alike() {
    for sizes in [[4, 4, 3, 5], [2, 6, 5, 2]] {
        let often = worst(&sizes, 2, |groups| {
            let strata = [[groups[0], groups[1]], [groups[2], groups[3]]];
            let strata = strata.map(|[a, b]| Stratum { a, b });
            exact_conditional::two_sided(&strata).map_or(1.0, |tested| tested.p)
        });
        assert!(often <= ALPHA + 1e-9, "{sizes:?}: {often}");
    }
}

/// Every way of drawing `in_a` of each block of `n`, as who is in group a.
fn draws(blocks: &[(usize, usize)]) -> Vec<Vec<bool>> {
    blocks.iter().fold(vec![Vec::new()], |all, &(n, in_a)| {
        let ways = (0_u32..1 << n).filter(|way| way.count_ones() as usize == in_a);
        let ways: Vec<Vec<bool>> = ways.map(|way| (0..n).map(|at| way >> at & 1 == 1).collect()).collect();
        let longer = |one: Vec<bool>| ways.iter().map(move |way| [&one[..], &way[..]].concat()).collect::<Vec<_>>();
        all.into_iter().flat_map(longer).collect()
    })
}

/// What was seen does not depend on the lots: over all draws a permutation test is at most so often at p ≤ α.
#[test]
fn lots_that_did_not_matter() {
    let blocks = [(6, 3), (4, 2)];
    let block = |at: usize| usize::from(at >= 6);
    let values = [3.0, 3.0, 5.5, 9.0, 1.0, 2.5, 4.0, 8.0, 8.0, 0.5];
    let lefts = [7.0, 7.0, 14.0, 14.0, 21.0, 0.0, 14.0, 28.0, 28.0, 35.0];
    let open = |at: usize| at % 4 == 3;
    let all = draws(&blocks);
    assert_eq!(all.len(), 120);
    let often = |p: &dyn Fn(&[bool]) -> f64| {
        let told = all.iter().filter(|draw| p(draw) <= ALPHA * (1.0 + 1e-10));
        told.count() as f64 / all.len() as f64
    };
    let shift = often(&|draw| {
        let unit = |(at, &in_a): (usize, &bool)| Scored { score: values[at], in_a, block: block(at) };
        let units: Vec<Scored> = draw.iter().enumerate().map(unit).collect();
        shift::shift(&units, Level::PCT_95).map_or(1.0, |shift| shift.test.two_sided)
    });
    let logrank = often(&|draw| {
        let member = |(at, &in_a): (usize, &bool)| logrank::Member {
            followed: Followed { time: values[at], event: !open(at) },
            group: usize::from(!in_a),
            block: block(at),
        };
        let members: Vec<logrank::Member> = draw.iter().enumerate().map(member).collect();
        logrank::permuted(&members).map_or(1.0, |tested| tested.two_sided)
    });
    let intervals = often(&|draw| {
        let member = |(at, &in_a): (usize, &bool)| interval_scores::Member {
            bounds: Bounds { left: lefts[at], right: if open(at) { f64::INFINITY } else { lefts[at] + 9.0 } },
            in_a,
            block: block(at),
        };
        let members: Vec<interval_scores::Member> = draw.iter().enumerate().map(member).collect();
        interval_scores::test(&members).map_or(1.0, |tested| tested.two_sided)
    });
    for (name, often) in [("shift", shift), ("log-rank", logrank), ("intervals", intervals)] {
        assert!(often <= ALPHA + 1e-12, "{name}: {often}");
        assert!(often > 0.0, "{name} never tells anything apart");
    }
}

#[test]
fn signs_that_did_not_matter() {
    let sizes = [0.1, 0.25, 0.3, 0.4, 0.05, 0.22, 0.31];
    let told = (0_u32..1 << sizes.len()).filter(|signs| {
        let sign = |(at, size): (usize, &f64)| if signs >> at & 1 == 1 { *size } else { -size };
        let differences: Vec<f64> = sizes.iter().enumerate().map(sign).collect();
        sign_flip::test(&differences).is_ok_and(|found| found.test.two_sided <= ALPHA)
    });
    let often = told.count() as f64 / f64::from(1 << sizes.len());
    assert!(often > 0.0 && often <= ALPHA, "{often}");
}

/// One group is faster, the share in time is the same: looked at on every day, over all blocks that are resolved up to
/// the first that is not, in the order in which they were drawn.
#[test]
fn peeking_every_day_while_one_group_is_faster() {
    let mut random = Random::new(17);
    let (n_runs, n_blocks, n_days) = (3_000, 12, 30);
    for (in_time, slowest) in [(0.3, [30, 30]), (0.6, [8, 30]), (0.9, [30, 5])] {
        let mut false_alarms = 0;
        for _ in 0..n_runs {
            // Two bulbs a group and block: the day on which each is resolved, late ones at the end.
            let mut group = |slowest: i32| {
                let reached = (0..2).filter(|_| random.unit() < in_time).count() as u32;
                let mut last = if reached < 2 { n_days } else { 0 };
                for _ in 0..reached {
                    last = last.max(1 + (random.unit() * f64::from(slowest)) as i32);
                }
                (share(reached, 2), last.min(n_days))
            };
            let blocks: Vec<(Block, i32)> = (0..n_blocks)
                .map(|_| {
                    let ((a, first), (b, other)) = (group(slowest[0]), group(slowest[1]));
                    (Block { a, b }, first.max(other))
                })
                .collect();
            let told = (1..=n_days).any(|today| {
                let resolved = blocks.iter().take_while(|(_, on)| *on <= today);
                let resolved: Vec<Block> = resolved.map(|(block, _)| *block).collect();
                let evidence = e_process::run(&resolved, Priors::DEFAULT).expect("a run");
                evidence.last().is_some_and(|now| now.running >= 1.0 / ALPHA)
            });
            false_alarms += u32::from(told);
        }
        let rate = f64::from(false_alarms) / f64::from(n_runs);
        let error = (ALPHA * (1.0 - ALPHA) / f64::from(n_runs)).sqrt();
        assert!(rate <= ALPHA + 3.0 * error, "{in_time} {slowest:?}: {rate}");
    }
}
