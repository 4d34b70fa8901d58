//! Several groups: Fisher–Freeman–Halton for any difference, Pearson's χ² for reading, and all pairs.
//!
//! Given the group sizes and the total, a table's probability is Π C(nᵢ, xᵢ) ÷ C(N, m). The p-value is that of all
//! tables not more probable than the one seen (relative slack 1e-7 for ties). Freeman & Halton 1951, Biometrika
//! 38:141. Tables are not listed one by one: with the largest, the smallest and the summed probability of everything
//! that can still follow, whole branches are taken or left at once (Mehta & Patel 1983, Journal of the American
//! Statistical Association 78:427). Beyond [`MOST_STATES`] branches the answer is Monte Carlo with a fixed seed,
//! (b + 1) ÷ (B + 1), or for groups of thousands Pearson's χ². Empty groups are left out. Pairs: two-sided Fisher with Holm's adjustment.

use super::random::Random;
use super::tables::{EQUALLY_PROBABLE, in_proportion};
use super::{How, MOST_STATES, NoAnswer, Reason, Result, Share, Tested, fisher, holm, special};

/// Draws of a Monte Carlo p-value.
const DRAWS: u32 = 100_000;

/// The seed of Monte Carlo p-values.
const SEED: u64 = 1;

/// The Fisher–Freeman–Halton test.
///
/// # Errors
/// When fewer than two groups have a resolved bulb.
pub fn freeman_halton(groups: &[Share]) -> Result<Tested> {
    let groups = filled(groups)?;
    let total: usize = groups.iter().map(|group| group.reached() as usize).sum();
    let columns = groups.iter().map(|group| u64::from(group.of()).min(total as u64) + 1).sum::<u64>();
    if columns * (total as u64 + 1) > 10 * MOST_STATES {
        return Ok(Tested { p: chi_square(&groups)?, how: How::Normal });
    }
    let weights: Vec<Vec<f64>> = groups.iter().map(|&group| weights(group, &groups, total)).collect();
    let mut network = Network::new(&weights, total);
    let seen: f64 = groups.iter().zip(&weights).map(|(group, weights)| weights[group.reached() as usize]).product();
    let all = network.levels[0][total].sum;
    if let Some(held) = network.not_above(0, total, 1.0, seen * (1.0 + EQUALLY_PROBABLE)) {
        return Ok(Tested { p: (held / all).min(1.0), how: How::Exact });
    }
    Ok(monte_carlo(&network, total, seen))
}

/// Groups that have a resolved bulb.
fn filled(groups: &[Share]) -> Result<Vec<Share>> {
    let groups: Vec<Share> = groups.iter().copied().filter(|group| group.of() > 0).collect();
    if groups.len() < 2 {
        return Err(NoAnswer(Reason::TooFewGroups));
    }
    Ok(groups)
}

/// Binomial probabilities at the common share, in proportion: the same for tables with one total, and never too large.
fn weights(group: Share, groups: &[Share], total: usize) -> Vec<f64> {
    let all: f64 = groups.iter().map(|group| group.n()).sum();
    let odds = total as f64 / (all - total as f64).max(0.5);
    in_proportion(group, odds.max(1e-12), total)
}

/// Everything that the groups from one on can still do with a given rest of the total.
#[derive(Debug, Clone, Copy)]
struct Rest {
    largest: f64,
    smallest: f64,
    sum: f64,
}

const IMPOSSIBLE: Rest = Rest { largest: 0.0, smallest: f64::INFINITY, sum: 0.0 };

struct Network<'a> {
    weights: &'a [Vec<f64>],
    levels: Vec<Vec<Rest>>,
    visited: u64,
}

impl<'a> Network<'a> {
    fn new(weights: &'a [Vec<f64>], total: usize) -> Self {
        let mut end = vec![IMPOSSIBLE; total + 1];
        end[0] = Rest { largest: 1.0, smallest: 1.0, sum: 1.0 };
        let mut levels = vec![end];
        // No more can be left than the groups from here on hold; the first of them has all of the total.
        let mut held = 0;
        for (at, weights) in weights.iter().enumerate().rev() {
            let after = &levels[levels.len() - 1];
            let behind = held;
            held += weights.len() - 1;
            let mut level = vec![IMPOSSIBLE; total + 1];
            let least = if at == 0 { total } else { 0 };
            let possible = level.iter_mut().enumerate().take(held.min(total) + 1);
            for (rest, here) in possible.skip(least) {
                *here = Self::before(weights, after, rest, behind);
            }
            levels.push(level);
        }
        levels.reverse();
        Self { weights, levels, visited: 0 }
    }

    /// One group with up to `rest` of it, when those behind it hold at most `behind`.
    fn before(weights: &[f64], after: &[Rest], rest: usize, behind: usize) -> Rest {
        let possible = weights.iter().enumerate().take(rest + 1);
        possible.skip(rest.saturating_sub(behind)).fold(IMPOSSIBLE, |all, (x, weight)| {
            let next = after[rest - x];
            if next.sum == 0.0 {
                return all;
            }
            Rest {
                largest: all.largest.max(weight * next.largest),
                smallest: all.smallest.min(weight * next.smallest),
                sum: all.sum + weight * next.sum,
            }
        })
    }

    /// The summed probability of all tables not above `bound`, given the product so far; nothing when there are too many.
    fn not_above(&mut self, group: usize, rest: usize, product: f64, bound: f64) -> Option<f64> {
        self.visited += 1;
        if self.visited > MOST_STATES {
            return None;
        }
        let here = self.levels[group][rest];
        if here.sum == 0.0 || product * here.smallest > bound {
            return Some(0.0);
        }
        if product * here.largest <= bound {
            return Some(product * here.sum);
        }
        let mut sum = 0.0;
        for x in 0..self.weights[group].len().min(rest + 1) {
            sum += self.not_above(group + 1, rest - x, product * self.weights[group][x], bound)?;
        }
        Some(sum)
    }

    /// The product of a random table, each with its own probability.
    fn random(&self, total: usize, random: &mut Random) -> f64 {
        let (mut rest, mut product) = (total, 1.0);
        for (weights, after) in self.weights.iter().zip(&self.levels[1..]) {
            let most = (weights.len() - 1).min(rest);
            let part = |x: usize| weights[x] * after[rest - x].sum;
            let mut left = random.unit() * (0..=most).map(part).sum::<f64>();
            // Rounding may leave a crumb at the end; the last possible count takes it.
            let last = (0..=most).rev().find(|&x| part(x) > 0.0).unwrap_or(most);
            let x = (0..last).find(|&x| {
                left -= part(x);
                left < 0.0
            });
            let x = x.unwrap_or(last);
            product *= weights[x];
            rest -= x;
        }
        product
    }
}

/// The p-value from random tables with the same margins.
fn monte_carlo(network: &Network, total: usize, seen: f64) -> Tested {
    let mut random = Random::new(SEED);
    let held = (0..DRAWS).filter(|_| network.random(total, &mut random) <= seen * (1.0 + EQUALLY_PROBABLE)).count();
    Tested { p: (held + 1) as f64 / f64::from(DRAWS + 1), how: How::MonteCarlo { draws: DRAWS, seed: SEED } }
}

/// Pearson's χ² and its degrees of freedom, groups less one.
///
/// # Errors
/// When fewer than two groups have a resolved bulb; the statistic alone is refused when nobody or everybody reached
/// the stage.
pub fn pearson(groups: &[Share]) -> Result<(Result<f64>, u32)> {
    let groups = filled(groups)?;
    let (reached, all) = groups.iter().fold((0.0, 0.0), |(x, n), group| (x + group.x(), n + group.n()));
    let df = groups.len() as u32 - 1;
    let share = reached / all;
    if share == 0.0 || share == 1.0 {
        return Ok((Err(NoAnswer(Reason::NoVariation)), df));
    }
    let statistic = groups.iter().map(|group| (group.x() - group.n() * share).powi(2) / group.n()).sum::<f64>();
    Ok((Ok(statistic / (share * (1.0 - share))), df))
}

/// The p of Pearson's χ², 1 when nothing can differ.
fn chi_square(groups: &[Share]) -> Result<f64> {
    let (statistic, df) = pearson(groups)?;
    Ok(statistic.map_or(1.0, |statistic| special::chi_square_upper(statistic, f64::from(df))))
}

/// One pair of groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Index of the first group.
    pub a: usize,
    /// Index of the second group.
    pub b: usize,
    /// Two-sided Fisher p.
    pub p: f64,
    /// The same after Holm, over all pairs.
    pub holm: f64,
    /// The same after Bonferroni, over all pairs.
    pub bonferroni: f64,
}

/// All pairs in order; an empty group gives p = 1.
///
/// # Errors
/// Never for shares that were made as such; the adjustments refuse what is no probability.
pub fn pairs(groups: &[Share]) -> Result<Vec<Pair>> {
    let indices = (0..groups.len()).flat_map(|a| (a + 1..groups.len()).map(move |b| (a, b)));
    let indices: Vec<(usize, usize)> = indices.collect();
    let p: Vec<f64> = indices.iter().map(|&(a, b)| fisher::two_sided(groups[a], groups[b])).collect();
    let (holm, bonferroni) = (holm::adjust(&p)?, holm::bonferroni(&p)?);
    let all = indices.into_iter().zip(p).zip(holm.into_iter().zip(bonferroni));
    Ok(all.map(|(((a, b), p), (holm, bonferroni))| Pair { a, b, p, holm, bonferroni }).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(counts: &[(u32, u32)]) -> Vec<Share> {
        counts.iter().map(|&(x, n)| Share::new(x, n).expect("a share")).collect()
    }

    /// The sum over listed tables, one by one.
    fn listed(groups: &[Share]) -> f64 {
        let choose = |n: u32, k: u32| (0..k).map(|i| f64::from(n - i) / f64::from(i + 1)).product::<f64>();
        let total: u32 = groups.iter().map(|group| group.reached()).sum();
        let mut tables = vec![(0, 1.0)];
        for group in groups {
            tables = tables
                .iter()
                .flat_map(|&(sum, p)| (0..=group.of()).map(move |x| (sum + x, p * choose(group.of(), x))))
                .collect();
        }
        let seen: f64 = groups.iter().map(|group| choose(group.of(), group.reached())).product();
        let right = tables.iter().filter(|(sum, _)| *sum == total);
        let (held, all) = right
            .fold((0.0, 0.0), |(held, all), &(_, p)| (if p <= seen * (1.0 + 1e-7) { held + p } else { held }, all + p));
        held / all
    }

    #[test]
    fn branches_add_up_to_the_listed_tables() {
        for counts in [
            vec![(7, 8), (3, 8), (1, 8)],
            vec![(0, 4), (1, 4), (1, 4), (3, 4), (4, 4)],
            vec![(2, 9), (5, 5), (0, 7), (3, 6)],
            vec![(0, 3), (0, 4)],
        ] {
            let groups = shares(&counts);
            let tested = freeman_halton(&groups).expect("groups");
            assert!((tested.p - listed(&groups)).abs() < 1e-12, "{counts:?}");
            assert_eq!(tested.how, How::Exact);
        }
        assert!(freeman_halton(&shares(&[(3, 8), (0, 0)])).is_err());
    }

    #[test]
    fn monte_carlo_is_near_the_exact_value_and_repeatable() {
        let groups = shares(&[(7, 10), (3, 10), (4, 10)]);
        let total = 14;
        let weights: Vec<Vec<f64>> = groups.iter().map(|&group| weights(group, &groups, total)).collect();
        let seen = weights[0][7] * weights[1][3] * weights[2][4];
        let network = Network::new(&weights, total);
        let (one, two) = (monte_carlo(&network, total, seen), monte_carlo(&network, total, seen));
        assert_eq!(one, two);
        let exact = listed(&groups);
        assert!((one.p - exact).abs() < 4.0 * (exact * (1.0 - exact) / f64::from(DRAWS)).sqrt());
    }

    #[test]
    fn many_large_groups_end() {
        let counts: Vec<(u32, u32)> = (0..12).map(|group| (10 + 2 * group, 60)).collect();
        let tested = freeman_halton(&shares(&counts)).expect("groups");
        assert!((0.0..=1.0).contains(&tested.p) && tested.error() < 0.002);
        let thousands = shares(&[(30_000, 60_000), (30_500, 60_000), (29_800, 60_000)]);
        assert_eq!(freeman_halton(&thousands).map(|tested| tested.how), Ok(How::Normal));
    }
}
