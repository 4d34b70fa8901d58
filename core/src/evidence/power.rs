//! Exact power of the tests of two shares, before the start.
//!
//! The tables on which a test says "told apart" are listed, then power is the sum of their binomial probabilities at
//! the two true shares, and size the largest sum over a common share. Power is saw-toothed in the number of bulbs, so
//! both the first number that reaches a target and the one from which it stays are given. Power from the difference
//! that was seen is not offered: it says nothing new. Exact regions: Suissa & Shuster 1985, Journal of the Royal
//! Statistical Society A 148:317; power in unequal groups: Haseman 1978, Biometrics 34:106.

use super::tables::{Row, SAME_P, largest_of, rows};
use super::{MOST_STATES, NoAnswer, Reason, Result, boschloo, special};

/// A test of two shares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// Fisher, two-sided.
    Fisher,
    /// Fisher, two-sided mid-p.
    FisherMidP,
    /// Fisher, one-sided for more in group a.
    FisherAGreater,
    /// Barnard, two-sided.
    Barnard,
    /// Boschloo, the two-sided Fisher p as the statistic.
    Boschloo,
    /// Boschloo, both one-sided tests at α/2.
    BoschlooDoubled,
}

/// The tables on which a test tells two groups apart.
#[derive(Debug, Clone)]
pub struct Region {
    in_a: u32,
    in_b: u32,
    rows: Vec<Row>,
    inside: Vec<Vec<bool>>,
}

impl Region {
    /// The tables with p ≤ `alpha` for groups of these sizes.
    ///
    /// # Errors
    /// When `alpha` is not between 0 and 1, a group is empty, or there are too many tables to list.
    pub fn new(test: Test, in_a: u32, in_b: u32, alpha: f64) -> Result<Self> {
        if !(alpha > 0.0 && alpha < 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        if in_a == 0 || in_b == 0 {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        if (u64::from(in_a) + 1).saturating_mul(u64::from(in_b) + 1) > MOST_STATES {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let rows = rows(in_a, in_b);
        let inside = match test {
            Test::Fisher => below(&rows, boschloo::two_sided_of, alpha),
            Test::FisherMidP => below(&rows, mid_p, alpha),
            Test::FisherAGreater => below(&rows, Row::upper, alpha),
            Test::Barnard => unconditional(&rows, &pooled_z(&rows, in_a, in_b), alpha),
            Test::Boschloo => unconditional(&rows, &of_rows(&rows, boschloo::two_sided_of), alpha),
            Test::BoschlooDoubled => {
                let upper = unconditional(&rows, &of_rows(&rows, Row::upper), alpha / 2.0);
                let lower = unconditional(&rows, &of_rows(&rows, Row::lower), alpha / 2.0);
                let either = |(a, b): (&Vec<bool>, &Vec<bool>)| a.iter().zip(b).map(|(a, b)| a | b).collect();
                upper.iter().zip(&lower).map(either).collect()
            }
        };
        Ok(Self { in_a, in_b, rows, inside })
    }

    /// The probability of the region at two true shares.
    ///
    /// # Errors
    /// When a share is not between 0 and 1.
    ///
    /// # Eight bulbs a group notice only gaps as wide as nine in ten against two
    /// ```
    /// # use bloomdue_core::evidence::power::{Region, Test};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let region = Region::new(Test::Boschloo, 8, 8, 0.05)?;
    /// assert!(region.power(0.9, 0.2)? > 0.7);
    /// assert!(region.power(0.9, 0.5)? < 0.5);
    /// # Ok(())
    /// # }
    /// ```
    pub fn power(&self, share_a: f64, share_b: f64) -> Result<f64> {
        let (terms_a, terms_b) = (terms(self.in_a, share_a)?, terms(self.in_b, share_b)?);
        let mut sum = 0.0;
        for (total, (row, inside)) in self.rows.iter().zip(&self.inside).enumerate() {
            for (x, _) in (row.least as usize..).zip(inside).filter(|(_, inside)| **inside) {
                sum += terms_a[x] * terms_b[total - x];
            }
        }
        Ok(sum.min(1.0))
    }

    /// The largest probability of the region over a common share: how often equal groups are told apart at worst.
    pub fn size(&self) -> f64 {
        largest_of(&self.rows, |total, x| {
            let total = total as usize;
            self.inside[total][self.rows[total].index(x)]
        })
    }
}

fn terms(n: u32, share: f64) -> Result<Vec<f64>> {
    if !(0.0..=1.0).contains(&share) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let term = |x| special::binomial_term(f64::from(x), f64::from(n), share, 1.0 - share);
    Ok((0..=n).map(term).collect())
}

fn of_rows(rows: &[Row], statistic: impl Fn(&Row) -> Vec<f64>) -> Vec<Vec<f64>> {
    rows.iter().map(statistic).collect()
}

fn mid_p(row: &Row) -> Vec<f64> {
    row.two_sided().into_iter().map(|(p, equal)| p - equal / 2.0).collect()
}

fn below(rows: &[Row], p: impl Fn(&Row) -> Vec<f64>, alpha: f64) -> Vec<Vec<bool>> {
    let inside = |row| p(row).into_iter().map(|p| p <= alpha * (1.0 + SAME_P)).collect();
    rows.iter().map(inside).collect()
}

/// −|Z| for every table, so that a small statistic is far out.
fn pooled_z(rows: &[Row], in_a: u32, in_b: u32) -> Vec<Vec<f64>> {
    let [n_a, n_b] = [in_a, in_b].map(f64::from);
    let of_row = |(total, row): (usize, &Row)| {
        let total = total as f64;
        let spread = total * (n_a + n_b - total);
        let z = |x: f64| {
            if spread > 0.0 { -(x * n_b - (total - x) * n_a).abs() / spread.sqrt() } else { 0.0 }
        };
        (0..row.p.len()).map(|index| z(f64::from(row.least) + index as f64)).collect()
    };
    rows.iter().enumerate().map(of_row).collect()
}

/// The tables up to the last value of the statistic whose largest probability over a common share is at most α.
fn unconditional(rows: &[Row], statistic: &[Vec<f64>], alpha: f64) -> Vec<Vec<bool>> {
    let mut levels: Vec<f64> = statistic.iter().flatten().copied().collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|next, kept| (*next - *kept).abs() <= SAME_P * kept.abs());
    let bound = |level: f64| level + SAME_P * level.abs();
    let largest = |level: f64| {
        largest_of(rows, |total, x| {
            let total = total as usize;
            statistic[total][rows[total].index(x)] <= bound(level)
        })
    };
    let held = levels.partition_point(|&level| largest(level) <= alpha * (1.0 + SAME_P));
    let last = held.checked_sub(1).map_or(f64::NEG_INFINITY, |last| bound(levels[last]));
    statistic.iter().map(|row| row.iter().map(|&value| value <= last).collect()).collect()
}

/// How many bulbs a group are needed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Needed {
    /// The first number that reaches the target.
    pub first: Result<u32>,
    /// The power with it.
    pub power_at_first: Result<f64>,
    /// The smallest number from which every larger one looked at keeps it.
    pub stays: Result<u32>,
}

/// The bulbs a group, up to `most`, that reach `target` with equal groups at two true shares.
///
/// # Errors
/// When a share, α or target is no probability, or `most` is too large.
pub fn needed(test: Test, share_a: f64, share_b: f64, alpha: f64, target: f64, most: u32) -> Result<Needed> {
    if !(target > 0.0 && target < 1.0) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let powers: Result<Vec<f64>> =
        (1..=most).map(|n| Region::new(test, n, n, alpha)?.power(share_a, share_b)).collect();
    let powers = powers?;
    let reached = |power: &f64| *power >= target - 1e-12;
    let never = NoAnswer(Reason::NotWithReach);
    let first = powers.iter().position(reached).ok_or(never);
    let last_miss = powers.iter().rposition(|power| !reached(power));
    let stays = match last_miss {
        None => Ok(1),
        Some(index) if index + 1 < powers.len() => Ok(index as u32 + 2),
        Some(_) => Err(never),
    };
    Ok(Needed { first: first.map(|index| index as u32 + 1), power_at_first: first.map(|index| powers[index]), stays })
}

/// A search for the first number of bulbs a group that reaches a target by Fisher's two-sided test, one number a step.
///
/// Above sixty it begins a third below the approximation of [`normal_approximation`], further than it errs where a
/// share is 0 or 1, a quarter; [`needed`] finds the same from 1 on.
#[derive(Debug, Clone)]
pub struct Search {
    share_a: f64,
    share_b: f64,
    alpha: f64,
    target: f64,
    n: u32,
    most: u32,
}

impl Search {
    /// A search up to `most` bulbs a group.
    ///
    /// # Errors
    /// As [`normal_approximation`].
    pub fn new(share_a: f64, share_b: f64, alpha: f64, target: f64, most: u32) -> Result<Self> {
        let (_, about) = normal_approximation(share_a, share_b, alpha, target, false)?;
        let n = if about > 60.0 { (0.65 * about - 10.0) as u32 } else { 1 };
        Ok(Self { share_a, share_b, alpha, target, n, most })
    }

    /// Looks at the next number; the answer after the last one.
    pub fn step(&mut self) -> Option<Result<u32>> {
        if self.n > self.most {
            return Some(Err(NoAnswer(Reason::NotWithReach)));
        }
        match self.power() {
            Ok(power) if power < self.target - 1e-12 => {
                self.n += 1;
                None
            }
            Ok(_) => Some(Ok(self.n)),
            Err(why) => Some(Err(why)),
        }
    }

    /// As [`Region::power`], without the tables that are as good as impossible at these shares.
    fn power(&self) -> Result<f64> {
        let n = self.n;
        let (terms_a, terms_b) = (terms(n, self.share_a)?, terms(n, self.share_b)?);
        let (a, b) = (likely(&terms_a), likely(&terms_b));
        let mut sum = 0.0;
        for total in a.0 + b.0..=a.1 + b.1 {
            let row = Row::new(n, n, total as u32);
            let p = boschloo::two_sided_of(&row);
            let from = a.0.max(total.saturating_sub(b.1));
            for x in from..=a.1.min(total - b.0) {
                if p[row.index(x as u32)] <= self.alpha * (1.0 + SAME_P) {
                    sum += terms_a[x] * terms_b[total - x];
                }
            }
        }
        Ok(sum)
    }
}

/// The first and the last count that is not as good as impossible.
fn likely(terms: &[f64]) -> (usize, usize) {
    let is = |term: &f64| *term > 1e-16;
    let first = terms.iter().position(is).unwrap_or(0);
    (first, terms.iter().rposition(is).unwrap_or(first))
}

/// The smallest share of group a above that of b which the test tells apart with probability `target`.
///
/// # Errors
/// When even a share of 1 is not told apart that often, or as [`Region::new`].
pub fn smallest_gap(region: &Region, share_b: f64, target: f64) -> Result<f64> {
    if !(target > 0.0 && target < 1.0) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    if region.power(1.0, share_b)? < target {
        return Err(NoAnswer(Reason::NotWithReach));
    }
    let (mut low, mut high) = (share_b, 1.0);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if region.power(middle, share_b)? >= target { high = middle } else { low = middle }
    }
    Ok(high - share_b)
}

/// The normal approximation of the bulbs a group, without correction and after Casagrande, Pike & Smith 1978
/// (Biometrics 34:483): n₀ = (z_α √(2p̄q̄) + z_β √(pₐqₐ + p_bq_b))² ÷ d², then n₀/4 (1 + √(1 + 4/(n₀d)))². For reading;
/// the first is too small.
///
/// # Errors
/// When the shares are equal, or something is no probability.
pub fn normal_approximation(
    share_a: f64,
    share_b: f64,
    alpha: f64,
    target: f64,
    one_sided: bool,
) -> Result<(f64, f64)> {
    if [alpha, target].iter().any(|p| !(*p > 0.0 && *p < 1.0))
        || [share_a, share_b].iter().any(|p| !(0.0..=1.0).contains(p))
    {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let gap = (share_a - share_b).abs();
    if gap == 0.0 {
        return Err(NoAnswer(Reason::NoVariation));
    }
    let tail = if one_sided { alpha } else { alpha / 2.0 };
    let mean = f64::midpoint(share_a, share_b);
    let apart = (share_a * (1.0 - share_a) + share_b * (1.0 - share_b)).sqrt();
    let reach =
        special::normal_upper(tail) * (2.0 * mean * (1.0 - mean)).sqrt() + special::normal_upper(1.0 - target) * apart;
    let plain = (reach / gap).powi(2);
    Ok((plain, plain / 4.0 * (1.0 + (1.0 + 4.0 / (plain * gap)).sqrt()).powi(2)))
}

#[cfg(test)]
mod tests {
    use super::super::{Share, barnard};
    use super::*;

    /// The region of a test is exactly where its p-value is at most α.
    #[test]
    fn regions_agree_with_p_values() {
        for (in_a, in_b) in [(6, 9), (8, 8)] {
            let region = |test| Region::new(test, in_a, in_b, 0.05).expect("a region");
            let (by_boschloo, by_barnard) = (region(Test::Boschloo), region(Test::Barnard));
            for x_a in 0..=in_a {
                for x_b in 0..=in_b {
                    let (a, b) = (Share::new(x_a, in_a).expect("a"), Share::new(x_b, in_b).expect("b"));
                    let inside = |region: &Region| {
                        let total = (x_a + x_b) as usize;
                        region.inside[total][region.rows[total].index(x_a)]
                    };
                    assert_eq!(inside(&by_boschloo), boschloo::two_sided(a, b).p <= 0.05, "{x_a} {x_b}");
                    assert_eq!(inside(&by_barnard), barnard::two_sided(a, b).p <= 0.05, "{x_a} {x_b}");
                }
            }
        }
    }

    /// With 8 a group only gaps like 0.9 v 0.2 reach 70 to 80 % power.
    #[test]
    fn what_eight_a_group_can_see() {
        let region = Region::new(Test::Boschloo, 8, 8, 0.05).expect("a region");
        assert!((0.7..0.9).contains(&region.power(0.9, 0.2).expect("power")));
        assert!(region.power(0.9, 0.5).expect("power") < 0.5);
        let gap = smallest_gap(&region, 0.2, 0.8).expect("a gap");
        assert!((region.power(0.2 + gap, 0.2).expect("power") - 0.8).abs() < 1e-9);
        assert_eq!(smallest_gap(&region, 0.9, 0.8), Err(NoAnswer(Reason::NotWithReach)));
    }

    /// The search says what looking at every number from 1 on says, which is checked from outside (reference 08).
    #[test]
    fn the_search_finds_the_first_number() {
        for (share_a, share_b) in [(0.5, 0.1), (0.9, 0.5), (0.75, 0.45), (0.3, 0.0), (1.0, 0.9)] {
            for target in [0.8, 0.95] {
                let all = needed(Test::Fisher, share_a, share_b, 0.05, target, 140);
                let mut search = Search::new(share_a, share_b, 0.05, target, 140).expect("shares");
                let found = std::iter::from_fn(|| Some(search.step())).find_map(|found| found);
                assert_eq!(found, Some(all.expect("numbers").first), "{share_a} {share_b}");
            }
        }
        let mut short = Search::new(0.55, 0.45, 0.05, 0.8, 200).expect("shares");
        assert_eq!(short.step(), Some(Err(NoAnswer(Reason::NotWithReach))));
    }

    #[test]
    fn equal_groups_are_told_apart_at_most_as_often_as_said() {
        for (in_a, in_b) in [(3, 8), (8, 8), (5, 20), (12, 11)] {
            for test in [Test::Fisher, Test::Barnard, Test::Boschloo, Test::BoschlooDoubled, Test::FisherAGreater] {
                let size = Region::new(test, in_a, in_b, 0.05).expect("a region").size();
                assert!(size <= 0.05 + 1e-9, "{test:?} {in_a} {in_b}: {size}");
            }
        }
    }

    #[test]
    fn what_has_no_answer_is_said() {
        assert!(Region::new(Test::Fisher, 0, 5, 0.05).is_err());
        assert!(Region::new(Test::Fisher, 5, 5, 0.0).is_err());
        assert!(Region::new(Test::Fisher, 100_000, 100_000, 0.05).is_err());
        assert!(normal_approximation(0.5, 0.5, 0.05, 0.8, false).is_err());
        let never = needed(Test::Fisher, 0.5, 0.6, 0.05, 0.8, 20).expect("looked at");
        assert_eq!(
            (never.first, never.stays),
            (Err(NoAnswer(Reason::NotWithReach)), Err(NoAnswer(Reason::NotWithReach)))
        );
    }
}
