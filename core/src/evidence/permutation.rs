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

use serde::{Deserialize, Serialize};

use super::random::Random;
use super::{How, MOST_STATES, NoAnswer, Reason, Result, special};

/// Draws of a Monte Carlo p-value.
const DRAWS: u32 = 100_000;

/// The seed of Monte Carlo p-values.
const SEED: u64 = 1;

/// Above so many units random draws take too long, and the normal approximation is as good.
pub(super) const MOST_SHUFFLED: usize = 2_000;

/// Scores are added as whole multiples of this.
const GRAIN: f64 = 1e-12;

/// Sums this close are equal, in grains.
const SLACK: i64 = 1_000;

/// One unit that lots were drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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
pub fn test(units: &[Scored]) -> Result<Permuted> {
    let mut permuting = Permuting::new(units)?;
    loop {
        if let Some(permuted) = permuting.step() {
            return Ok(permuted);
        }
    }
}

/// The test in steps, each of some milliseconds, for whoever must listen in between.
pub struct Permuting {
    blocks: Vec<Block>,
    seen: i64,
    /// In grains.
    mean: f64,
    variance: f64,
    draws: f64,
    /// Nothing once there turned out to be too many sums.
    listing: Option<Listing>,
    shuffling: Shuffling,
}

impl Permuting {
    /// Makes ready for the first step.
    ///
    /// # Errors
    /// As [`test()`].
    pub fn new(units: &[Scored]) -> Result<Self> {
        if units.is_empty() {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        let wrong = |unit: &Scored| unit.score.is_nan() || unit.score.abs() * units.len() as f64 > 1e6;
        if units.iter().any(wrong) {
            return Err(NoAnswer(Reason::NoScore));
        }
        let blocks = blocks(units);
        let (mut mean, mut variance, mut draws) = (0.0, 0.0, 1.0);
        for block in &blocks {
            let (n, n_a) = (block.grains.len() as f64, block.in_a as f64);
            let centre = block.grains.iter().map(|&grain| grain as f64).sum::<f64>() / n;
            let spread: f64 = block.grains.iter().map(|&grain| (grain as f64 - centre).powi(2)).sum();
            mean += n_a * centre;
            variance += if n > 1.0 { n_a * (n - n_a) / (n * (n - 1.0)) * spread } else { 0.0 };
            draws *= (1..=block.in_a).fold(1.0, |all, k| all * (n - n_a + k as f64) / k as f64);
        }
        let in_a = units.iter().filter(|unit| unit.in_a);
        Ok(Self {
            seen: in_a.map(|unit| grains(unit.score)).sum(),
            mean,
            variance,
            draws,
            listing: Some(Listing::new(&blocks)),
            shuffling: Shuffling::new(&blocks),
            blocks,
        })
    }

    /// The next step; the answer after the last one.
    pub fn step(&mut self) -> Option<Permuted> {
        let found = match &mut self.listing {
            Some(listing) => match listing.step() {
                Listed::Going => return None,
                Listed::TooMany => {
                    self.listing = None;
                    if self.shuffling.n_units <= MOST_SHUFFLED {
                        return None;
                    }
                    normal(self.seen, self.mean, self.variance)
                }
                Listed::All(lists) => lists.tails(self.seen, self.mean),
            },
            None => self.shuffling.step(&self.blocks, self.seen, self.mean)?,
        };
        let [upper, lower, two_sided] = found.0.map(|p| p.clamp(0.0, 1.0));
        Some(Permuted {
            sum: self.seen as f64 * GRAIN,
            mean: self.mean * GRAIN,
            variance: self.variance * GRAIN * GRAIN,
            draws: self.draws.round(),
            two_sided,
            upper,
            lower,
            how: found.1,
        })
    }

    /// How much of it is done, 0 to 1.
    pub fn done(&self) -> f64 {
        match &self.listing {
            Some(listing) => listing.done() / 2.0,
            None => 0.5 + f64::from(self.shuffling.drawn) / f64::from(DRAWS) / 2.0,
        }
    }
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
    sorted.sort_by_key(|unit| unit.block);
    let of = |units: &[Scored]| Block {
        grains: units.iter().map(|unit| grains(unit.score)).collect(),
        in_a: units.iter().filter(|unit| unit.in_a).count(),
    };
    sorted.chunk_by(|a, b| a.block == b.block).map(of).collect()
}

/// Sums with the number of draws that give each, in order; of all lists of a part on one scale.
type List = Vec<(i64, f64)>;

/// Far below what a number holds, so that two counts may still be multiplied.
const LARGE: f64 = 1e100;

/// With a thousand units the draws are more than a number holds. Only their shares are asked for, so that all counts are
/// divided alike; what becomes nothing by that was none of any share.
fn keep_small(lists: &mut [List]) {
    while lists.iter().flatten().any(|&(_, n)| n > LARGE) {
        lists.iter_mut().flatten().for_each(|(_, n)| *n /= LARGE);
    }
}

/// Pairs of lists; every draw is one sum of the first and one of the second of a pair.
struct Lists(Vec<(List, List)>);

impl Lists {
    /// The shares of draws at least as large, at most as large, and at least as far from the mean.
    fn tails(&self, seen: i64, mean: f64) -> ([f64; 3], How) {
        let (mut upper, mut lower, mut far, mut all) = (0.0, 0.0, 0.0, 0.0);
        let distance = ((seen as f64 - mean).abs() - SLACK as f64).max(0.0);
        for (first, second) in &self.0 {
            let total: f64 = first.iter().map(|sum| sum.1).sum::<f64>() * second.iter().map(|sum| sum.1).sum::<f64>();
            all += total;
            upper += at_least(first, second, (seen - SLACK) as f64);
            lower += total - at_least(first, second, (seen + SLACK) as f64 + 0.5);
            far += if distance > 0.0 {
                at_least(first, second, mean + distance) + total - at_least(first, second, mean - distance + 0.5)
            } else {
                total
            };
        }
        ([upper / all, lower / all, far / all], How::Exact)
    }
}

/// Listing the sums, block by block; a single block in two halves.
struct Listing {
    /// The scores of each part, and no more than so many of them are chosen.
    parts: Vec<(Vec<i64>, usize)>,
    halves: bool,
    /// The part in work, the score in it, and the number of chosen.
    part: usize,
    unit: usize,
    count: usize,
    /// The sums of the part in work, by how many are chosen.
    lists: Vec<List>,
    /// The halves that are listed.
    listed: Vec<Vec<List>>,
    /// Of whole blocks, the sums so far, in two lists.
    pair: (List, List),
}

enum Listed {
    Going,
    TooMany,
    All(Lists),
}

/// The sum of none.
fn none() -> List {
    vec![(0, 1.0)]
}

impl Listing {
    fn new(blocks: &[Block]) -> Self {
        let parts = match blocks {
            [block] => {
                let (first, second) = block.grains.split_at(block.grains.len() / 2);
                vec![(first.to_vec(), block.in_a), (second.to_vec(), block.in_a)]
            }
            _ => blocks.iter().map(|block| (block.grains.clone(), block.in_a)).collect(),
        };
        Self {
            parts,
            halves: blocks.len() == 1,
            part: 0,
            unit: 0,
            count: 0,
            lists: vec![none()],
            listed: Vec::new(),
            pair: (none(), none()),
        }
    }

    fn step(&mut self) -> Listed {
        let Some((grains, most)) = self.parts.get(self.part) else {
            return Listed::All(self.all());
        };
        if self.count > 0 {
            let count = self.count;
            let grain = grains[self.unit - 1];
            let added = self.lists[count - 1].iter();
            let added: List = added.map(|&(sum, n)| (sum + grain, n)).collect();
            self.lists[count] = merged([self.lists[count].as_slice(), &added].concat());
            self.count -= 1;
            let n_sums: usize = self.lists.iter().map(Vec::len).sum();
            if n_sums as u64 > MOST_STATES {
                return Listed::TooMany;
            }
        } else if self.unit < grains.len() {
            keep_small(&mut self.lists);
            if self.lists.len() <= *most {
                self.lists.push(Vec::new());
            }
            self.unit += 1;
            self.count = self.lists.len() - 1;
        } else {
            (self.part, self.unit) = (self.part + 1, 0);
            keep_small(&mut self.lists);
            let lists = std::mem::replace(&mut self.lists, vec![none()]);
            if self.halves {
                self.listed.push(lists);
            } else if !self.with(&lists) {
                return Listed::TooMany;
            }
        }
        Listed::Going
    }

    /// Takes the sums of one more block in; false when they get too many.
    fn with(&mut self, lists: &[List]) -> bool {
        let list = lists.last().map_or(&[][..], Vec::as_slice);
        let (first, second) = &mut self.pair;
        let shorter = if first.len() <= second.len() { first } else { second };
        if (shorter.len() as u64).saturating_mul(list.len() as u64) > MOST_STATES {
            return false;
        }
        let sums = shorter.iter().flat_map(|&(a, m)| list.iter().map(move |&(b, n)| (a + b, m * n)));
        *shorter = merged(sums.collect());
        keep_small(std::slice::from_mut(shorter));
        true
    }

    fn all(&mut self) -> Lists {
        if !self.halves {
            return Lists(vec![std::mem::take(&mut self.pair)]);
        }
        let most = self.parts.first().map_or(0, |part| part.1);
        let listed = &self.listed;
        let pair = |k: usize| Some((listed[0].get(k)?.clone(), listed[1].get(most - k)?.clone()));
        Lists((0..=most).filter_map(pair).collect())
    }

    fn done(&self) -> f64 {
        let all: usize = self.parts.iter().map(|part| part.0.len()).sum();
        let before = &self.parts[..self.part];
        let listed: usize = before.iter().map(|part| part.0.len()).sum();
        (listed + self.unit) as f64 / all.max(1) as f64
    }
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
struct Shuffling {
    n_units: usize,
    random: Random,
    rows: Vec<Vec<i64>>,
    drawn: u32,
    counts: [u32; 3],
}

impl Shuffling {
    fn new(blocks: &[Block]) -> Self {
        Self {
            n_units: blocks.iter().map(|block| block.grains.len()).sum(),
            random: Random::new(SEED),
            rows: blocks.iter().map(|block| block.grains.clone()).collect(),
            drawn: 0,
            counts: [0; 3],
        }
    }

    fn step(&mut self, blocks: &[Block], seen: i64, mean: f64) -> Option<([f64; 3], How)> {
        for _ in 0..draws_a_step(self.n_units).min(DRAWS - self.drawn) {
            self.drawn += 1;
            let mut sum = 0;
            for (row, block) in self.rows.iter_mut().zip(blocks) {
                sum += self.random.some(row, block.in_a).iter().sum::<i64>();
            }
            let far = (sum as f64 - mean).abs() >= (seen as f64 - mean).abs() - SLACK as f64;
            for (count, held) in self.counts.iter_mut().zip([sum >= seen - SLACK, sum <= seen + SLACK, far]) {
                *count += u32::from(held);
            }
        }
        let p = |count: u32| f64::from(count + 1) / f64::from(DRAWS + 1);
        let how = How::MonteCarlo { draws: DRAWS, seed: SEED };
        (self.drawn == DRAWS).then(|| (self.counts.map(p), how))
    }
}

/// So many random draws of so many units take some milliseconds.
pub(super) fn draws_a_step(n_units: usize) -> u32 {
    (200_000 / n_units.clamp(1, 200_000)) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every draw, one by one.
    fn listed(units: &[Scored]) -> [f64; 3] {
        let seen: f64 = units.iter().filter(|unit| unit.in_a).map(|unit| unit.score).sum();
        let blocks: std::collections::BTreeSet<usize> = units.iter().map(|unit| unit.block).collect();
        let right = |bits: u32| {
            blocks.iter().all(|&block| {
                let here = || units.iter().enumerate().filter(move |(_, unit)| unit.block == block);
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
        let share = |held: &dyn Fn(f64) -> bool| sums.iter().filter(|&&sum| held(sum)).count() as f64 / count;
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
        let units: Vec<Scored> =
            (0..40).map(|unit| Scored { score: f64::from(unit * unit % 41), in_a: unit % 2 == 0, block: 0 }).collect();
        let tested = test(&units).expect("a test");
        assert_eq!((tested.how, tested.draws), (How::Exact, 137_846_528_820.0));
        assert!((tested.upper + tested.lower - 1.0).abs() < 0.1);
    }

    #[test]
    fn very_many_units_turn_to_the_normal_approximation() {
        let mut random = Random::new(4);
        let units: Vec<Scored> =
            (0..5_000).map(|unit| Scored { score: random.unit(), in_a: unit % 2 == 0, block: 0 }).collect();
        let tested = test(&units).expect("a test");
        assert_eq!(tested.how, How::Normal);
        assert!((tested.upper + tested.lower - 1.0).abs() < 1e-12);
    }

    /// More draws than a number holds, but few sums: exact, and what the normal distribution says of so many units.
    #[test]
    fn many_ties_are_exact_however_many_draws_there_are() {
        for n_blocks in [1, 2, 9] {
            let units: Vec<Scored> = (0..1_800_usize)
                .map(|unit| Scored {
                    score: ((unit % 3) + usize::from(unit < 36 && unit % 2 == 0)) as f64,
                    in_a: unit % 2 == 0,
                    block: unit % (2 * n_blocks) / 2,
                })
                .collect();
            let tested = test(&units).expect("a test");
            assert_eq!(tested.how, How::Exact);
            let z = (tested.sum - tested.mean).abs() - 0.5;
            let about = 2.0 * special::normal_tails(z / tested.variance.sqrt()).1;
            assert!((0.2..0.9).contains(&about), "{about}");
            assert!((tested.two_sided - about).abs() < 2e-3, "{tested:?} {about}");
        }
    }

    #[test]
    fn many_distinct_scores_turn_to_monte_carlo() {
        let mut random = Random::new(3);
        let units: Vec<Scored> =
            (0..120).map(|unit| Scored { score: random.unit(), in_a: unit % 2 == 0, block: 0 }).collect();
        let tested = test(&units).expect("a test");
        assert_eq!(tested.how, How::MonteCarlo { draws: DRAWS, seed: SEED });
        // The sum is nearly normal, so its p-value must be near the normal one.
        let z = (tested.sum - tested.mean) / tested.variance.sqrt();
        assert!((tested.two_sided - super::super::special::normal_two_sided(z)).abs() < 0.02);
    }
}
