//! By how much a measure or a count differs between two groups, with the interval that the draw of lots supports.
//!
//! Heights, scapes, florets, days in flower, gain in girth, or shares of containers. The estimate is the mean of the
//! blocks' differences of means, weighted by nₐn_b/n; the test is the exact permutation of the values within blocks. The
//! interval holds every shift Δ that the same permutation does not refuse once it is taken off group a: a draw that
//! exchanges k units turns from below to above the one made at Δ = (Sₐ − S) ÷ k, so that the limits are order statistics
//! of these numbers, one a draw (Lehmann 1975, *Nonparametrics*, §2; Garthwaite 1996, Biometrics 52:1387, for random
//! draws). With fewer draws than 2/α there is no limit at that level, and that is said.
//! Beyond [`MOST_STATES`] draws the limits come from random ones with a fixed seed, and with more than two thousand units
//! from the normal distribution with the variance over all draws once the estimate is taken off group a; both say so.

use super::permutation::{MOST_SHUFFLED, Permuted, Permuting, Scored, draws_a_step};
use super::random::Random;
use super::{How, Interval, Level, MOST_STATES, NoAnswer, Reason, Result};

/// Random draws for the interval of up to forty units, and their seed; of more units there are fewer draws, so that no
/// phone waits, and at least a tenth.
const DRAWS: u32 = 100_000;
const SEED: u64 = 1;

fn draws_of(n_units: usize) -> u32 {
    let units = u32::try_from(n_units).unwrap_or(u32::MAX).max(1);
    (DRAWS.saturating_mul(40) / units).clamp(DRAWS / 10, DRAWS)
}

/// The difference of two groups in a measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Group a less group b, in the measure's own unit.
    pub estimate: f64,
    /// The interval; refused when there are too few draws for it.
    pub interval: Result<Interval>,
    /// How the interval was found.
    pub interval_how: How,
    /// The permutation test of no shift.
    pub test: Permuted,
}

/// The shift of group a against group b within blocks.
///
/// # Errors
/// When no block has both groups, or a value is no number or too large to add exactly.
pub fn shift(units: &[Scored], level: Level) -> Result<Shift> {
    let mut shifting = Shifting::new(units, level)?;
    loop {
        if let Some(shift) = shifting.step() {
            return Ok(shift);
        }
    }
}

/// The shift in steps, each of some milliseconds, for whoever must listen in between.
pub struct Shifting {
    level: Level,
    permuting: Permuting,
    test: Option<Permuted>,
    blocks: Vec<Block>,
    estimate: f64,
    turning: Turning,
}

/// How the turns are found.
enum Turning {
    /// Every draw as how much larger the sum of a was, and how many units it exchanged; of so many blocks.
    All(Vec<(f64, usize)>, usize),
    /// Of so many random draws.
    Random(Box<Drawing>, u32),
    /// There are so many units that the limits are those of the normal distribution; its standard error.
    Normal(f64),
}

impl Shifting {
    /// Makes ready for the first step.
    ///
    /// # Errors
    /// As [`shift`].
    pub fn new(units: &[Scored], level: Level) -> Result<Self> {
        let permuting = Permuting::new(units)?;
        let blocks = blocks(units);
        if blocks.is_empty() {
            return Err(NoAnswer(Reason::Confounded));
        }
        let (mut above, mut below) = (0.0, 0.0);
        for block in &blocks {
            above += block.weight() * block.gap();
            below += block.weight();
        }
        let estimate = above / below;
        let draws: f64 = blocks.iter().map(Block::draws).product();
        let turning = if draws <= MOST_STATES as f64 {
            Turning::All(vec![(0.0, 0)], 0)
        } else if units.len() > MOST_SHUFFLED {
            let variance: f64 = blocks.iter().map(|block| block.variance(estimate)).sum();
            Turning::Normal(variance.sqrt() / below)
        } else {
            let drawing = Drawing::new(&blocks, units.len());
            Turning::Random(Box::new(drawing), draws_of(units.len()))
        };
        Ok(Self { level, permuting, test: None, blocks, estimate, turning })
    }

    /// The next step; the answer after the last one.
    pub fn step(&mut self) -> Option<Shift> {
        let Some(test) = self.test else {
            self.test = self.permuting.step();
            return None;
        };
        let (interval, interval_how) = match &mut self.turning {
            Turning::All(draws, at) => {
                if let Some(block) = self.blocks.get(*at) {
                    *at += 1;
                    *draws = and_exchanged(draws, block);
                    return None;
                }
                (limits(turns(draws), self.level), How::Exact)
            }
            Turning::Random(drawing, n_draws) => {
                if drawing.drawn < *n_draws {
                    drawing.step(&self.blocks, *n_draws);
                    return None;
                }
                let how = How::MonteCarlo { draws: *n_draws, seed: SEED };
                (limits(std::mem::take(&mut drawing.turns), self.level), how)
            }
            Turning::Normal(error) => {
                let half = self.level.z() * *error;
                let interval = Interval::new(self.estimate - half, self.estimate + half);
                (Ok(interval), How::Normal)
            }
        };
        Some(Shift { estimate: self.estimate, interval, interval_how, test })
    }

    /// How much of it is done, 0 to 1.
    pub fn done(&self) -> f64 {
        let turned = match (&self.test, &self.turning) {
            (None, _) => return self.permuting.done() / 2.0,
            (_, Turning::All(_, at)) => *at as f64 / self.blocks.len() as f64,
            (_, Turning::Random(drawing, n)) => f64::from(drawing.drawn) / f64::from(*n),
            (_, Turning::Normal(_)) => 1.0,
        };
        0.5 + turned / 2.0
    }
}

/// The values of both groups of one block.
struct Block {
    a: Vec<f64>,
    b: Vec<f64>,
}

impl Block {
    /// Mean of a less mean of b.
    fn gap(&self) -> f64 {
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        mean(&self.a) - mean(&self.b)
    }

    fn weight(&self) -> f64 {
        let (n_a, n_b) = (self.a.len() as f64, self.b.len() as f64);
        n_a * n_b / (n_a + n_b)
    }

    /// Over all draws, of the gap times its weight, once the shift is taken off a.
    fn variance(&self, shift: f64) -> f64 {
        let moved = self.a.iter().map(|value| value - shift);
        let all: Vec<f64> = moved.chain(self.b.iter().copied()).collect();
        let n = all.len() as f64;
        let mean = all.iter().sum::<f64>() / n;
        let spread: f64 = all.iter().map(|value| (value - mean).powi(2)).sum();
        self.weight() * spread / (n - 1.0)
    }

    fn draws(&self) -> f64 {
        let (n_a, n_b) = (self.a.len(), self.b.len());
        (1..=n_a).fold(1.0, |all, k| all * (n_b + k) as f64 / k as f64)
    }
}

/// The blocks in which there was something to draw.
fn blocks(units: &[Scored]) -> Vec<Block> {
    let mut sorted = units.to_vec();
    sorted.sort_by_key(|unit| unit.block);
    let side = |units: &[Scored], in_a| units.iter().filter(|unit| unit.in_a == in_a).map(|unit| unit.score).collect();
    let both =
        sorted.chunk_by(|a, b| a.block == b.block).map(|units| Block { a: side(units, true), b: side(units, false) });
    both.filter(|block| !block.a.is_empty() && !block.b.is_empty()).collect()
}

/// Every draw so far with every draw of one more block.
fn and_exchanged(draws: &[(f64, usize)], block: &Block) -> Vec<(f64, usize)> {
    let of_block = exchanges(block);
    let both = draws.iter().flat_map(|(gap, k)| of_block.iter().map(move |(own, own_k)| (gap + own, k + own_k)));
    both.collect()
}

/// For every draw but the one made, the shift at which it passes it.
fn turns(draws: &[(f64, usize)]) -> Vec<f64> {
    draws.iter().filter(|draw| draw.1 > 0).map(|(gap, k)| gap / *k as f64).collect()
}

/// All draws of one block.
fn exchanges(block: &Block) -> Vec<(f64, usize)> {
    // Sums of chosen units by how many were chosen: of a what leaves, of b what comes.
    let most = block.a.len().min(block.b.len());
    let chosen = |values: &[f64]| {
        let mut sums: Vec<Vec<f64>> = vec![vec![0.0]];
        for value in values {
            if sums.len() <= most {
                sums.push(Vec::new());
            }
            for count in (1..sums.len()).rev() {
                let added: Vec<f64> = sums[count - 1].iter().map(|sum| sum + value).collect();
                sums[count].extend(added);
            }
        }
        sums
    };
    let (leaving, coming) = (chosen(&block.a), chosen(&block.b));
    let pairs = leaving.iter().zip(&coming).enumerate();
    let draws = pairs.flat_map(|(k, (leaving, coming))| {
        leaving.iter().flat_map(move |out| coming.iter().map(move |into| (out - into, k)))
    });
    draws.collect()
}

/// The turns of random draws; one that is the draw made is left out, as it never passes.
struct Drawing {
    random: Random,
    rows: Vec<Vec<(f64, bool)>>,
    n_units: usize,
    drawn: u32,
    turns: Vec<f64>,
}

impl Drawing {
    fn new(blocks: &[Block], n_units: usize) -> Self {
        let unit = |in_a| move |value: &f64| (*value, in_a);
        let all = |block: &Block| block.a.iter().map(unit(true)).chain(block.b.iter().map(unit(false))).collect();
        Self { random: Random::new(SEED), rows: blocks.iter().map(all).collect(), n_units, drawn: 0, turns: Vec::new() }
    }

    fn step(&mut self, blocks: &[Block], n_draws: u32) {
        for _ in 0..draws_a_step(self.n_units).min(n_draws - self.drawn) {
            self.drawn += 1;
            let (mut gap, mut exchanged) = (0.0, 0_usize);
            for (block, row) in blocks.iter().zip(&mut self.rows) {
                let drawn = self.random.some(row, block.a.len());
                gap += block.a.iter().sum::<f64>() - drawn.iter().map(|unit| unit.0).sum::<f64>();
                exchanged += drawn.iter().filter(|unit| !unit.1).count();
            }
            if exchanged > 0 {
                self.turns.push(gap / exchanged as f64);
            }
        }
    }
}

/// The order statistics of the turns that leave at most α/2 beyond them, the draw made counted too.
fn limits(mut turns: Vec<f64>, level: Level) -> Result<Interval> {
    let draws = turns.len() as f64 + 1.0;
    let place = (level.tail() * draws + 1e-9).floor() as usize;
    if place == 0 || turns.is_empty() {
        return Err(NoAnswer(Reason::TooFewDraws));
    }
    // The two places are picked without putting the others in order.
    let last = turns.len() - place;
    let lower = *turns.select_nth_unstable_by(place - 1, f64::total_cmp).1;
    let upper = *turns.select_nth_unstable_by(last, f64::total_cmp).1;
    Ok(Interval::new(lower, upper))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::permutation;

    fn units(a: &[f64], b: &[f64], block: usize) -> Vec<Scored> {
        let side =
            |values: &[f64], in_a| values.iter().map(move |&score| Scored { score, in_a, block }).collect::<Vec<_>>();
        [side(a, true), side(b, false)].concat()
    }

    /// A shift is inside exactly when both one-sided permutation tests of it have p > α/2.
    #[test]
    fn the_interval_is_the_test_turned_round() {
        let (a, b) = ([12.0, 15.5, 11.0, 18.0, 14.0], [9.0, 10.0, 13.0, 8.5, 7.0, 11.5]);
        let mut all = units(&a, &b, 0);
        all.extend(units(&[20.0, 22.0, 19.0], &[15.0, 18.5, 16.0], 1));
        let shift = shift(&all, Level::PCT_95).expect("a shift");
        let limits = shift.interval.expect("an interval");
        for (delta, inside) in [
            (limits.lower - 1e-6, false),
            (limits.lower + 1e-6, true),
            (shift.estimate, true),
            (limits.upper - 1e-6, true),
            (limits.upper + 1e-6, false),
        ] {
            let moved: Vec<Scored> = all
                .iter()
                .map(|unit| Scored { score: if unit.in_a { unit.score - delta } else { unit.score }, ..*unit })
                .collect();
            let test = permutation::test(&moved).expect("a test");
            assert_eq!(test.upper > 0.025 && test.lower > 0.025, inside, "{delta}: {} {}", test.upper, test.lower);
        }
        assert_eq!(shift.interval_how, How::Exact);
    }

    #[test]
    fn moving_group_a_moves_everything() {
        let (a, b) = ([12.0, 15.5, 11.0, 18.0, 14.0], [9.0, 10.0, 13.0, 8.5, 7.0]);
        let one = shift(&units(&a, &b, 0), Level::PCT_95).expect("a shift");
        let other = shift(&units(&a.map(|x| x + 3.0), &b, 0), Level::PCT_95).expect("a shift");
        assert!((one.estimate + 3.0 - other.estimate).abs() < 1e-12);
        let (one, other) = (one.interval.expect("limits"), other.interval.expect("limits"));
        assert!((one.lower + 3.0 - other.lower).abs() < 1e-9 && (one.upper + 3.0 - other.upper).abs() < 1e-9);
    }

    #[test]
    fn one_against_hundreds_is_exact() {
        let others: Vec<f64> = (0..300).map(f64::from).collect();
        let shift = shift(&units(&[400.0], &others, 0), Level::PCT_95).expect("a shift");
        assert_eq!(shift.interval_how, How::Exact);
        // 301 draws, so that seven turns lie beyond each limit.
        assert_eq!(shift.interval, Ok(Interval::new(400.0 - 293.0, 400.0 - 6.0)));
    }

    #[test]
    fn many_draws_turn_to_random_ones_near_the_normal_interval() {
        let mut random = Random::new(8);
        let mut group = |add: f64| (0..40).map(|_| add + random.unit()).collect::<Vec<f64>>();
        let (a, b) = (group(0.3), group(0.0));
        let shift = shift(&units(&a, &b, 0), Level::PCT_95).expect("a shift");
        assert_eq!(shift.interval_how, How::MonteCarlo { draws: draws_of(80), seed: SEED });
        let limits = shift.interval.expect("limits");
        // Standard error of a difference of means of 40 uniform numbers: √(2/12/40) = 0.0645.
        assert!((limits.upper - limits.lower - 2.0 * 1.96 * 0.0645).abs() < 0.05, "{limits:?}");
    }

    #[test]
    fn what_has_no_answer_is_said() {
        let few = shift(&units(&[5.0, 6.0, 7.0], &[1.0, 2.0, 3.0], 0), Level::PCT_95).expect("a shift");
        assert_eq!(few.interval, Err(NoAnswer(Reason::TooFewDraws)));
        assert!((few.test.two_sided - 0.1).abs() < 1e-12);
        assert_eq!(shift(&units(&[5.0], &[], 0), Level::PCT_95), Err(NoAnswer(Reason::Confounded)));
        assert!(shift(&units(&[f64::NAN], &[1.0], 0), Level::PCT_95).is_err());
    }
}
