//! Exact permutation of scores within blocks: every draw of lots that was possible, each with its sum.
//!
//! The statistic is the sum u of the scores in group a. All draws that keep each block's group sizes are equally
//! likely, so that p is the share of draws at least as far from the mean (two-sided), at least as large, or at most as
//! large; sums closer than 1e-9 count as equal. Valid whatever the scores are: shares of containers, days, counts,
//! log-rank scores. Draws are not listed one by one: sums of one half of the units (or of the blocks) are listed with
//! their numbers, and two sorted lists are walked against each other (Horowitz & Sahni 1974, Journal of the ACM 21:277).
//! Beyond [`MOST_STATES`] listed sums the answer is Monte Carlo with a fixed seed, (b + 1) ÷ (B + 1), or with more
//! than two thousand units the normal approximation with the exact mean and variance.
//! Edgington & Onghena 2007, *Randomization Tests*.

use super::random::Random;
use super::{CannotSay, How, MOST_STATES, Reason, Said, special};
use crate::order::Order as _;

/// Draws of a Monte Carlo p-value.
const DRAWS: u32 = 100_000;

/// The seed of Monte Carlo p-values.
const SEED: u64 = 1;

/// Above so many units random draws take too long, and the normal approximation is as good.
const MOST_SHUFFLED: usize = 2_000;

/// Scores are added as whole multiples of this.
const GRAIN: f64 = 1e-12;

/// Sums this close are equal, in grains.
const SLACK: i64 = 1_000;

/// One unit that lots were drawn for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scored {
    /// What was seen, as a number.
    pub score: f64,
    /// Whether the lot put it into group a.
    pub in_a: bool,
    /// The block in which it was drawn.
    pub block: usize,
}

/// What all draws say of the one that was made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Permuted {
    /// The sum of the scores in group a.
    pub sum: f64,
    /// Its mean over all draws.
    pub mean: f64,
    /// Its variance over all draws.
    pub variance: f64,
    /// How many draws there are.
    pub draws: f64,
    /// At least as far from the mean.
    pub two_sided: f64,
    /// At least as large.
    pub upper: f64,
    /// At most as large.
    pub lower: f64,
    /// How the p-values were found.
    pub how: How,
}

/// Permutes the scores within blocks.
///
/// # Errors
/// When there is no unit, or a score is no number or too large to add exactly.
pub fn test(units: &[Scored]) -> Said<Permuted> {
    if units.is_empty() {
        return Err(CannotSay(Reason::NoBulbs));
    }
    if units
        .iter()
        .any(|unit| unit.score.is_nan() || unit.score.abs() * units.len() as f64 > 1e6)
    {
        return Err(CannotSay(Reason::NoScore));
    }
    let blocks = blocks(units);
    let (mut mean, mut variance, mut draws) = (0.0, 0.0, 1.0);
    for block in &blocks {
        let (n, n_a) = (block.grains.len() as f64, block.in_a as f64);
        let centre = block.grains.iter().map(|&grain| grain as f64).sum::<f64>() / n;
        let spread: f64 = block
            .grains
            .iter()
            .map(|&grain| (grain as f64 - centre).powi(2))
            .sum();
        mean += n_a * centre;
        variance += if n > 1.0 {
            n_a * (n - n_a) / (n * (n - 1.0)) * spread
        } else {
            0.0
        };
        draws *= (1..=block.in_a).fold(1.0, |all, k| all * (n - n_a + k as f64) / k as f64);
    }
    let seen: i64 = units
        .iter()
        .filter(|unit| unit.in_a)
        .map(|unit| grains(unit.score))
        .sum();
    let found = match Lists::new(&blocks) {
        Some(lists) => lists.tails(seen, mean),
        None if units.len() > MOST_SHUFFLED => normal(seen, mean, variance),
        None => monte_carlo(&blocks, seen, mean),
    };
    let [upper, lower, two_sided] = found.0.map(|p| p.clamp(0.0, 1.0));
    Ok(Permuted {
        sum: seen as f64 * GRAIN,
        mean: mean * GRAIN,
        variance: variance * GRAIN * GRAIN,
        draws: draws.round(),
        two_sided,
        upper,
        lower,
        how: found.1,
    })
}

fn grains(score: f64) -> i64 {
    (score / GRAIN).round() as i64
}

/// The units of one block.
struct Block {
    grains: Vec<i64>,
    in_a: usize,
}

fn blocks(units: &[Scored]) -> Vec<Block> {
    let mut sorted = units.to_vec();
    sorted.order_by_key(|unit| unit.block);
    let of = |units: &[Scored]| Block {
        grains: units.iter().map(|unit| grains(unit.score)).collect(),
        in_a: units.iter().filter(|unit| unit.in_a).count(),
    };
    sorted.chunk_by(|a, b| a.block == b.block).map(of).collect()
}

/// Sums with the number of draws that give each, in order.
type List = Vec<(i64, f64)>;

/// Pairs of lists; every draw is one sum of the first and one of the second of a pair.
struct Lists(Vec<(List, List)>);

impl Lists {
    /// Nothing when a list gets too long.
    fn new(blocks: &[Block]) -> Option<Self> {
        if let [block] = blocks {
            let (first, second) = block.grains.split_at(block.grains.len() / 2);
            let (first, second) = (by_count(first, block.in_a)?, by_count(second, block.in_a)?);
            let pair =
                |k: usize| Some((first.get(k)?.clone(), second.get(block.in_a - k)?.clone()));
            return Some(Self((0..=block.in_a).filter_map(pair).collect()));
        }
        let (mut first, mut second) = (vec![(0, 1.0)], vec![(0, 1.0)]);
        for block in blocks {
            let list = by_count(&block.grains, block.in_a)?.pop()?;
            let shorter = if first.len() <= second.len() {
                &mut first
            } else {
                &mut second
            };
            if (shorter.len() as u64).saturating_mul(list.len() as u64) > MOST_STATES {
                return None;
            }
            let sums = shorter
                .iter()
                .flat_map(|&(a, m)| list.iter().map(move |&(b, n)| (a + b, m * n)));
            *shorter = merged(sums.collect());
        }
        Some(Self(vec![(first, second)]))
    }

    /// The shares of draws at least as large, at most as large, and at least as far from the mean.
    fn tails(&self, seen: i64, mean: f64) -> ([f64; 3], How) {
        let (mut upper, mut lower, mut far, mut all) = (0.0, 0.0, 0.0, 0.0);
        let distance = ((seen as f64 - mean).abs() - SLACK as f64).max(0.0);
        for (first, second) in &self.0 {
            let total: f64 = first.iter().map(|sum| sum.1).sum::<f64>()
                * second.iter().map(|sum| sum.1).sum::<f64>();
            all += total;
            upper += at_least(first, second, (seen - SLACK) as f64);
            lower += total - at_least(first, second, (seen + SLACK) as f64 + 0.5);
            far += if distance > 0.0 {
                at_least(first, second, mean + distance) + total
                    - at_least(first, second, mean - distance + 0.5)
            } else {
                total
            };
        }
        ([upper / all, lower / all, far / all], How::Exact)
    }
}

/// For every number of chosen units up to `most`, the sums of the chosen; nothing when they are too many.
fn by_count(grains: &[i64], most: usize) -> Option<Vec<List>> {
    let mut lists: Vec<List> = vec![vec![(0, 1.0)]];
    for grain in grains {
        if lists.len() <= most {
            lists.push(Vec::new());
        }
        for count in (1..lists.len()).rev() {
            let added: List = lists[count - 1]
                .iter()
                .map(|&(sum, n)| (sum + grain, n))
                .collect();
            lists[count] = merged([lists[count].as_slice(), &added].concat());
        }
        if lists.iter().map(Vec::len).sum::<usize>() as u64 > MOST_STATES {
            return None;
        }
    }
    Some(lists)
}

/// One entry a sum, in order; sums within a few grains of each other are one sum.
fn merged(mut sums: List) -> List {
    // Two sorted runs are merged in one pass by the stable sort.
    sums.sort_by_key(|sum| sum.0);
    sums.dedup_by(|next, kept| {
        let same = next.0 - kept.0 <= 20;
        if same {
            kept.1 += next.1;
        }
        same
    });
    sums
}

/// The number of pairs whose sum is at least `bound`.
fn at_least(first: &List, second: &List, bound: f64) -> f64 {
    let (mut start, mut below, mut count) = (0, 0.0, 0.0);
    let all: f64 = second.iter().map(|sum| sum.1).sum();
    for &(a, n) in first.iter().rev() {
        while start < second.len() && (a + second[start].0) as f64 <= bound - 0.25 {
            below += second[start].1;
            start += 1;
        }
        count += n * (all - below);
    }
    count
}

/// The same shares from the normal distribution with the exact mean and variance.
fn normal(seen: i64, mean: f64, variance: f64) -> ([f64; 3], How) {
    if variance <= 0.0 {
        return ([1.0; 3], How::Normal);
    }
    let z = (seen as f64 - mean) / variance.sqrt();
    let (lower, upper) = special::normal_tails(z);
    ([upper, lower, special::normal_two_sided(z)], How::Normal)
}

/// The same shares from random draws.
fn monte_carlo(blocks: &[Block], seen: i64, mean: f64) -> ([f64; 3], How) {
    let mut random = Random::new(SEED);
    let mut rows: Vec<Vec<i64>> = blocks.iter().map(|block| block.grains.clone()).collect();
    let mut counts = [0_u32; 3];
    for _ in 0..DRAWS {
        let mut sum = 0;
        for (row, block) in rows.iter_mut().zip(blocks) {
            sum += random.some(row, block.in_a).iter().sum::<i64>();
        }
        let far = (sum as f64 - mean).abs() >= (seen as f64 - mean).abs() - SLACK as f64;
        for (count, held) in counts
            .iter_mut()
            .zip([sum >= seen - SLACK, sum <= seen + SLACK, far])
        {
            *count += u32::from(held);
        }
    }
    let p = |count: u32| f64::from(count + 1) / f64::from(DRAWS + 1);
    (
        counts.map(p),
        How::MonteCarlo {
            draws: DRAWS,
            seed: SEED,
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every draw, one by one.
    fn listed(units: &[Scored]) -> [f64; 3] {
        let seen: f64 = units
            .iter()
            .filter(|unit| unit.in_a)
            .map(|unit| unit.score)
            .sum();
        let blocks: std::collections::BTreeSet<usize> =
            units.iter().map(|unit| unit.block).collect();
        let right = |bits: u32| {
            blocks.iter().all(|&block| {
                let here = || {
                    units
                        .iter()
                        .enumerate()
                        .filter(move |(_, unit)| unit.block == block)
                };
                let drawn = here().filter(|(index, _)| bits >> index & 1 == 1).count();
                drawn == here().filter(|(_, unit)| unit.in_a).count()
            })
        };
        let draws = (0_u32..1 << units.len()).filter(|&bits| right(bits));
        let sum = |bits: u32| {
            units
                .iter()
                .enumerate()
                .filter(|(index, _)| bits >> index & 1 == 1)
                .map(|(_, unit)| unit.score)
                .sum::<f64>()
        };
        let sums: Vec<f64> = draws.map(sum).collect();
        let count = sums.len() as f64;
        let mean = sums.iter().sum::<f64>() / count;
        let share = |held: &dyn Fn(f64) -> bool| {
            sums.iter().filter(|&&sum| held(sum)).count() as f64 / count
        };
        [
            share(&|sum| sum >= seen - 1e-9),
            share(&|sum| sum <= seen + 1e-9),
            share(&|sum| (sum - mean).abs() >= (seen - mean).abs() - 1e-9),
        ]
    }

    proptest! {
        #[test]
        fn lists_agree_with_every_draw(raw in prop::collection::vec((0_u8..6, any::<bool>(), 0_usize..3), 1..11)) {
            let scored = |&(score, in_a, block): &(u8, bool, usize)| Scored { score: f64::from(score) / 3.0, in_a, block };
            let units: Vec<Scored> = raw.iter().map(scored).collect();
            let got = test(&units).expect("a test");
            for (got, expected) in [got.upper, got.lower, got.two_sided].into_iter().zip(listed(&units)) {
                prop_assert!((got - expected).abs() < 1e-12, "{got} {expected}");
            }
            prop_assert_eq!(got.how, How::Exact);
        }
    }

    #[test]
    fn twenty_against_twenty_is_still_exact() {
        let units: Vec<Scored> = (0..40)
            .map(|unit| Scored {
                score: f64::from(unit * unit % 41),
                in_a: unit % 2 == 0,
                block: 0,
            })
            .collect();
        let tested = test(&units).expect("a test");
        assert_eq!((tested.how, tested.draws), (How::Exact, 137_846_528_820.0));
        assert!((tested.upper + tested.lower - 1.0).abs() < 0.1);
    }

    #[test]
    fn very_many_units_turn_to_the_normal_approximation() {
        let mut random = Random::new(4);
        let units: Vec<Scored> = (0..5_000)
            .map(|unit| Scored {
                score: random.unit(),
                in_a: unit % 2 == 0,
                block: 0,
            })
            .collect();
        let tested = test(&units).expect("a test");
        assert_eq!(tested.how, How::Normal);
        assert!((tested.upper + tested.lower - 1.0).abs() < 1e-12);
    }

    #[test]
    fn many_distinct_scores_turn_to_monte_carlo() {
        let mut random = Random::new(3);
        let units: Vec<Scored> = (0..120)
            .map(|unit| Scored {
                score: random.unit(),
                in_a: unit % 2 == 0,
                block: 0,
            })
            .collect();
        let tested = test(&units).expect("a test");
        assert_eq!(
            tested.how,
            How::MonteCarlo {
                draws: DRAWS,
                seed: SEED
            }
        );
        // The sum is nearly normal, so its p-value must be near the normal one.
        let z = (tested.sum - tested.mean) / tested.variance.sqrt();
        assert!((tested.two_sided - super::super::special::normal_two_sided(z)).abs() < 0.02);
    }
}
