//! Power of the exact conditional test over blocks or tries, before the start.
//!
//! Given the totals of all blocks the test tells apart a set of sums of group a; its probability under the true shares
//! is summed over all totals. Where these are more than [`MOST_TOTALS`], or a block has more than [`MOST_STATES`] tables,
//! the blocks are drawn at random instead, with a fixed seed, and the answer says so; with more than [`MOST_DRAWN`] bulbs
//! in all there is none, since a draw goes through every one of them. What one more try would add is the power with that
//! try's blocks added.

use super::exact_conditional;
use super::random::Random;
use super::strata::Stratum;
use super::tables::{EQUALLY_PROBABLE, Row, SAME_P};
use super::{How, MOST_STATES, NoAnswer, Reason, Result, Share, special};

/// So many combinations of totals are summed exactly.
pub const MOST_TOTALS: u64 = 20_000;

/// No more bulbs than these are drawn at random.
pub const MOST_DRAWN: u64 = 5_000;

/// Random trials beyond it, and their seed.
const DRAWS: u32 = 4_000;
const SEED: u64 = 1;

/// One block, or try: the sizes of its groups and their true shares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planned {
    /// Bulbs of group a.
    pub in_a: u32,
    /// Bulbs of group b.
    pub in_b: u32,
    /// True share of group a.
    pub share_a: f64,
    /// True share of group b.
    pub share_b: f64,
}

/// A power and how it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    /// How probable it is that the groups are told apart.
    pub power: f64,
    /// How that was found.
    pub how: How,
}

/// The power of the two-sided exact conditional test at α.
///
/// # Errors
/// When there is no block with both groups, or a share or α is no probability.
pub fn power(blocks: &[Planned], alpha: f64) -> Result<Power> {
    let sizes: Vec<(u32, u32)> = blocks.iter().map(|block| (block.in_a, block.in_b)).collect();
    let shares: Vec<(f64, f64)> = blocks.iter().map(|block| (block.share_a, block.share_b)).collect();
    Told::new(&sizes, alpha)?.power_at(&shares)
}

/// The sums of group a on which the test tells two groups apart, for blocks of these sizes: found once, for any shares.
#[derive(Debug, Clone)]
pub struct Told {
    sizes: Vec<(u32, u32)>,
    alpha: f64,
    /// For every combination of totals, in order, the sums; nothing where there are more than [`MOST_TOTALS`].
    sums: Option<Vec<Vec<usize>>>,
}

impl Told {
    /// Blocks by the bulbs of group a and of group b.
    ///
    /// # Errors
    /// When there is no block with both groups, α is no probability, or there are too many bulbs.
    pub fn new(sizes: &[(u32, u32)], alpha: f64) -> Result<Self> {
        if !(alpha > 0.0 && alpha < 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        if sizes.iter().all(|&(in_a, in_b)| in_a == 0 || in_b == 0) {
            return Err(NoAnswer(Reason::Confounded));
        }
        for &(in_a, in_b) in sizes {
            Share::new(0, in_a.saturating_add(in_b))?;
        }
        let sizes = sizes.to_vec();
        let used = || sizes.iter().copied().filter(|&(a, b)| a > 0 && b > 0);
        let totals = used().map(|(a, b)| u64::from(a) + u64::from(b) + 1);
        let tables = used().map(|(a, b)| (u64::from(a) + 1) * (u64::from(b) + 1));
        let exact = totals.fold(1_u64, u64::saturating_mul) <= MOST_TOTALS && tables.max() <= Some(MOST_STATES);
        let n_bulbs = used().map(|(a, b)| u64::from(a) + u64::from(b)).fold(0, u64::saturating_add);
        if !exact && n_bulbs > MOST_DRAWN {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let sums = exact.then(|| {
            let rows: Vec<Vec<Vec<f64>>> =
                used().map(|(a, b)| (0..=a + b).map(|total| Row::new(a, b, total).p).collect()).collect();
            let mut sums = Vec::new();
            over_totals(&rows, &[1.0], &mut |alike| {
                sums.push(told_apart(alike, alpha));
            });
            sums
        });
        Ok(Self { sizes, alpha, sums })
    }

    /// The power under two true shares that are the same in every block.
    ///
    /// # Errors
    /// When a share is no probability.
    pub fn power(&self, shares: (f64, f64)) -> Result<Power> {
        self.power_at(&vec![shares; self.sizes.len()])
    }

    /// The power under the true shares of every block.
    ///
    /// # Errors
    /// When a share is no probability, or there is not one pair of them for every block.
    pub fn power_at(&self, shares: &[(f64, f64)]) -> Result<Power> {
        let is_share = |share: f64| (0.0..=1.0).contains(&share);
        if shares.len() != self.sizes.len() || shares.iter().any(|&(a, b)| !is_share(a) || !is_share(b)) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let blocks = self.sizes.iter().zip(shares);
        let blocks: Vec<Planned> = blocks
            .filter(|((in_a, in_b), _)| *in_a > 0 && *in_b > 0)
            .map(|(&(in_a, in_b), &(share_a, share_b))| Planned { in_a, in_b, share_a, share_b })
            .collect();
        let Some(sums) = &self.sums else {
            return by_draws(&blocks, self.alpha);
        };
        let truths: Vec<Vec<Vec<f64>>> = blocks.iter().map(truths).collect();
        let Some((last, before)) = truths.split_last() else {
            return Err(NoAnswer(Reason::Confounded));
        };
        let mut power = 0.0;
        let mut told = sums.iter();
        over_totals(before, &[1.0], &mut |first| {
            // The last block is not joined in full: only the sums that are told apart are asked for.
            for (own, told) in last.iter().zip(&mut told) {
                for &sum in told {
                    let least = sum.saturating_sub(first.len() - 1);
                    let most = sum.min(own.len() - 1);
                    power += (least..=most).map(|x| own[x] * first[sum - x]).sum::<f64>();
                }
            }
        });
        Ok(Power { power: power.min(1.0), how: How::Exact })
    }
}

/// The joint probabilities of the counts of one block, by its total.
fn truths(block: &Planned) -> Vec<Vec<f64>> {
    let terms = |n: u32, p: f64| -> Vec<f64> {
        (0..=n).map(|x| special::binomial_term(f64::from(x), f64::from(n), p, 1.0 - p)).collect()
    };
    let of_a = terms(block.in_a, block.share_a);
    let of_b = terms(block.in_b, block.share_b);
    let of_total = |total: usize| -> Vec<f64> {
        let least = total.saturating_sub(of_b.len() - 1);
        let most = total.min(of_a.len() - 1);
        (least..=most).map(|x| of_a[x] * of_b[total - x]).collect()
    };
    (0..of_a.len() + of_b.len() - 1).map(of_total).collect()
}

/// Calls `each` with the sums' probabilities for every combination of the blocks' totals, the last block's the fastest.
fn over_totals(blocks: &[Vec<Vec<f64>>], so_far: &[f64], each: &mut impl FnMut(&[f64])) {
    let Some((block, rest)) = blocks.split_first() else {
        return each(so_far);
    };
    for level in block {
        over_totals(rest, &convolved(so_far, level), each);
    }
}

fn convolved(p: &[f64], q: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; p.len() + q.len() - 1];
    for (i, p) in p.iter().enumerate() {
        sum[i..].iter_mut().zip(q).for_each(|(to, q)| *to += p * q);
    }
    sum
}

/// The sums whose two-sided p is at most α.
fn told_apart(alike: &[f64], alpha: f64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..alike.len()).collect();
    order.sort_unstable_by(|&a, &b| alike[a].total_cmp(&alike[b]));
    let (mut below, mut start) = (0.0, 0);
    while start < order.len() {
        let bound = alike[order[start]] * (1.0 + EQUALLY_PROBABLE);
        let same = order[start..].iter();
        let tied = same.take_while(|&&sum| alike[sum] <= bound).count();
        let same = &order[start..start + tied];
        below += same.iter().map(|&sum| alike[sum]).sum::<f64>();
        if below > alpha * (1.0 + SAME_P) {
            break;
        }
        start += tied;
    }
    order.truncate(start);
    order
}

fn by_draws(blocks: &[Planned], alpha: f64) -> Result<Power> {
    let mut random = Random::new(SEED);
    let mut told = 0;
    for _ in 0..DRAWS {
        let mut draw = |n: u32, share: f64| Share::new((0..n).filter(|_| random.unit() < share).count() as u32, n);
        let strata: Result<Vec<Stratum>> = blocks
            .iter()
            .map(|block| Ok(Stratum { a: draw(block.in_a, block.share_a)?, b: draw(block.in_b, block.share_b)? }))
            .collect();
        told += u32::from(exact_conditional::two_sided(&strata?)?.p <= alpha);
    }
    Ok(Power { power: f64::from(told) / f64::from(DRAWS), how: How::MonteCarlo { draws: DRAWS, seed: SEED } })
}

#[cfg(test)]
mod tests {
    use super::super::power::{Region, Test};
    use super::*;

    fn planned(in_a: u32, in_b: u32, share_a: f64, share_b: f64) -> Planned {
        Planned { in_a, in_b, share_a, share_b }
    }

    #[test]
    fn one_block_is_fishers_power() {
        for (in_a, in_b, share_a, share_b) in [(8, 8, 0.9, 0.4), (12, 9, 0.8, 0.2), (3, 3, 1.0, 0.0)] {
            let blocks = power(&[planned(in_a, in_b, share_a, share_b)], 0.05).expect("a power");
            let fisher = Region::new(Test::Fisher, in_a, in_b, 0.05)
                .expect("a region")
                .power(share_a, share_b)
                .expect("a power");
            assert!((blocks.power - fisher).abs() < 1e-10, "{} {fisher}", blocks.power);
        }
    }

    /// The size is the power where groups are alike, and never above α; so is that of drawn trials within their error.
    #[test]
    fn alike_groups_are_told_apart_at_most_as_often_as_said() {
        for share in [0.2, 0.5, 0.9] {
            let two =
                power(&[planned(4, 4, share, share), planned(5, 3, 1.0 - share, 1.0 - share)], 0.05).expect("a power");
            assert!(two.power <= 0.05 + 1e-12 && two.how == How::Exact);
        }
        let many: Vec<Planned> = (0..6).map(|_| planned(4, 4, 0.5, 0.5)).collect();
        let drawn = power(&many, 0.05).expect("a power");
        assert!(drawn.power <= 0.05 + 3.0 * (0.05 * 0.95 / f64::from(DRAWS)).sqrt());
        assert_eq!(drawn.how, How::MonteCarlo { draws: DRAWS, seed: SEED });
    }

    /// Counts that no nursery has, as a file may hold them, are refused before anything is counted.
    #[test]
    fn no_more_bulbs_are_drawn_than_said() {
        let too_many = Err(NoAnswer(Reason::TooManyStates));
        for sizes in [&[(500_000, 500_000)][..], &[(9_000, 9_000)], &[(2_000, 1_000); 2], &[(u32::MAX, 1)]] {
            assert_eq!(Told::new(sizes, 0.05).map(|_| ()), too_many, "{sizes:?}");
        }
        // A large block is counted out while its tables can be, and drawn where there are several.
        assert_eq!(power(&[planned(100, 90, 0.6, 0.4)], 0.05).map(|power| power.how), Ok(How::Exact));
        assert!(Told::new(&[(1_200, 1_000), (1_300, 1_500)], 0.05).is_ok());
    }

    #[test]
    fn one_more_try_adds_power() {
        let one = power(&[planned(8, 8, 0.9, 0.4)], 0.05).expect("a power").power;
        let two = power(&[planned(8, 8, 0.9, 0.4); 2], 0.05).expect("a power").power;
        assert!(two > one + 0.2, "{one} {two}");
        assert_eq!(power(&[planned(8, 0, 0.9, 0.4)], 0.05), Err(NoAnswer(Reason::Confounded)));
        assert!(power(&[planned(8, 8, 1.9, 0.4)], 0.05).is_err());
    }
}
