//! Power of the exact conditional test over blocks or tries, before the start.
//!
//! Given the totals of all blocks the test tells apart a set of sums of group a; its probability under the true shares
//! is summed over all totals. Where these are more than [`MOST_TOTALS`] the blocks are drawn at random instead, with a
//! fixed seed, and the answer says so. What one more try would add is the power with that try's blocks added.

use super::exact_conditional;
use super::random::Random;
use super::strata::Stratum;
use super::tables::{EQUALLY_PROBABLE, Row, SAME_P};
use super::{CannotSay, How, Reason, Said, Share, special};

/// So many combinations of totals are summed exactly.
pub const MOST_TOTALS: u64 = 20_000;

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
pub fn power(blocks: &[Planned], alpha: f64) -> Said<Power> {
    let shares = blocks
        .iter()
        .flat_map(|block| [block.share_a, block.share_b]);
    if !(alpha > 0.0 && alpha < 1.0)
        || shares
            .into_iter()
            .any(|share| !(0.0..=1.0).contains(&share))
    {
        return Err(CannotSay(Reason::NotAProbability));
    }
    let used: Vec<Planned> = blocks
        .iter()
        .copied()
        .filter(|block| block.in_a > 0 && block.in_b > 0)
        .collect();
    if used.is_empty() {
        return Err(CannotSay(Reason::Confounded));
    }
    for block in &used {
        Share::new(0, block.in_a.saturating_add(block.in_b))?;
    }
    let totals = used
        .iter()
        .map(|block| u64::from(block.in_a) + u64::from(block.in_b) + 1);
    if totals.fold(1_u64, u64::saturating_mul) > MOST_TOTALS {
        return by_draws(&used, alpha);
    }
    let levels: Vec<Vec<Level>> = used.iter().map(levels).collect();
    Ok(Power {
        power: over_totals(&levels, &[1.0], &[1.0], alpha).min(1.0),
        how: How::Exact,
    })
}

/// One total of one block: the sums' probabilities if groups are alike, and the joint ones under the true shares.
struct Level {
    alike: Vec<f64>,
    truth: Vec<f64>,
}

fn levels(block: &Planned) -> Vec<Level> {
    let term =
        |x: u32, n: u32, p: f64| special::binomial_term(f64::from(x), f64::from(n), p, 1.0 - p);
    let level = |total: u32| {
        let row = Row::new(block.in_a, block.in_b, total);
        let truth = |x: u32| {
            term(x, block.in_a, block.share_a) * term(total - x, block.in_b, block.share_b)
        };
        let count = row.p.len() as u32;
        Level {
            truth: (row.least..row.least + count).map(truth).collect(),
            alike: row.p,
        }
    };
    (0..=block.in_a + block.in_b).map(level).collect()
}

/// The probability of being told apart, over all totals of the blocks that are left.
fn over_totals(blocks: &[Vec<Level>], alike: &[f64], truth: &[f64], alpha: f64) -> f64 {
    let Some((block, rest)) = blocks.split_first() else {
        return told_apart(alike, truth, alpha);
    };
    let levels = block.iter();
    levels
        .map(|level| {
            over_totals(
                rest,
                &convolved(alike, &level.alike),
                &convolved(truth, &level.truth),
                alpha,
            )
        })
        .sum()
}

fn convolved(p: &[f64], q: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; p.len() + q.len() - 1];
    for (i, p) in p.iter().enumerate() {
        sum[i..].iter_mut().zip(q).for_each(|(to, q)| *to += p * q);
    }
    sum
}

/// The joint probability of the sums whose two-sided p is at most α.
fn told_apart(alike: &[f64], truth: &[f64], alpha: f64) -> f64 {
    let mut order: Vec<usize> = (0..alike.len()).collect();
    order.sort_by(|&a, &b| alike[a].total_cmp(&alike[b]));
    let (mut below, mut told, mut start) = (0.0, 0.0, 0);
    while start < order.len() {
        let bound = alike[order[start]] * (1.0 + EQUALLY_PROBABLE);
        let tied = order[start..]
            .iter()
            .take_while(|&&sum| alike[sum] <= bound)
            .count();
        let same = &order[start..start + tied];
        below += same.iter().map(|&sum| alike[sum]).sum::<f64>();
        if below > alpha * (1.0 + SAME_P) {
            break;
        }
        told += same.iter().map(|&sum| truth[sum]).sum::<f64>();
        start += tied;
    }
    told
}

fn by_draws(blocks: &[Planned], alpha: f64) -> Said<Power> {
    let mut random = Random::new(SEED);
    let mut told = 0;
    for _ in 0..DRAWS {
        let mut draw = |n: u32, share: f64| {
            Share::new((0..n).filter(|_| random.unit() < share).count() as u32, n)
        };
        let strata: Said<Vec<Stratum>> = blocks
            .iter()
            .map(|block| {
                Ok(Stratum {
                    a: draw(block.in_a, block.share_a)?,
                    b: draw(block.in_b, block.share_b)?,
                })
            })
            .collect();
        told += u32::from(exact_conditional::two_sided(&strata?)?.p <= alpha);
    }
    Ok(Power {
        power: f64::from(told) / f64::from(DRAWS),
        how: How::MonteCarlo {
            draws: DRAWS,
            seed: SEED,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::super::power::{Region, Test};
    use super::*;

    fn planned(in_a: u32, in_b: u32, share_a: f64, share_b: f64) -> Planned {
        Planned {
            in_a,
            in_b,
            share_a,
            share_b,
        }
    }

    #[test]
    fn one_block_is_fishers_power() {
        for (in_a, in_b, share_a, share_b) in
            [(8, 8, 0.9, 0.4), (12, 9, 0.8, 0.2), (3, 3, 1.0, 0.0)]
        {
            let blocks = power(&[planned(in_a, in_b, share_a, share_b)], 0.05).expect("a power");
            let fisher = Region::new(Test::Fisher, in_a, in_b, 0.05)
                .expect("a region")
                .power(share_a, share_b)
                .expect("a power");
            assert!(
                (blocks.power - fisher).abs() < 1e-10,
                "{} {fisher}",
                blocks.power
            );
        }
    }

    /// The size is the power where groups are alike, and never above α; so is that of drawn trials within their error.
    #[test]
    fn alike_groups_are_told_apart_at_most_as_often_as_said() {
        for share in [0.2, 0.5, 0.9] {
            let two = power(
                &[
                    planned(4, 4, share, share),
                    planned(5, 3, 1.0 - share, 1.0 - share),
                ],
                0.05,
            )
            .expect("a power");
            assert!(two.power <= 0.05 + 1e-12 && two.how == How::Exact);
        }
        let many: Vec<Planned> = (0..6).map(|_| planned(4, 4, 0.5, 0.5)).collect();
        let drawn = power(&many, 0.05).expect("a power");
        assert!(drawn.power <= 0.05 + 3.0 * (0.05 * 0.95 / f64::from(DRAWS)).sqrt());
        assert_eq!(
            drawn.how,
            How::MonteCarlo {
                draws: DRAWS,
                seed: SEED
            }
        );
    }

    #[test]
    fn one_more_try_adds_power() {
        let one = power(&[planned(8, 8, 0.9, 0.4)], 0.05)
            .expect("a power")
            .power;
        let two = power(&[planned(8, 8, 0.9, 0.4); 2], 0.05)
            .expect("a power")
            .power;
        assert!(two > one + 0.2, "{one} {two}");
        assert_eq!(
            power(&[planned(8, 0, 0.9, 0.4)], 0.05),
            Err(CannotSay(Reason::Confounded))
        );
        assert!(power(&[planned(8, 8, 1.9, 0.4)], 0.05).is_err());
    }
}
