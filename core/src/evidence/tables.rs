//! Two-by-two tables counted out: the probabilities given both margins, and the worst case over a common share.

use super::{MOST_STATES, Share, special};

/// Probabilities this much larger still count as equal (relative), as in Fisher's test everywhere.
pub(crate) const EQUALLY_PROBABLE: f64 = 1e-7;

/// Exact p-values this close (relative) are the same p-value; they are computed to some 1e-13.
pub(crate) const SAME_P: f64 = 1e-10;

/// All tables with `total` bulbs that reached the stage, by how many of them are in group a.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// The least number there can be in group a.
    pub(crate) least: u32,
    /// Probability of `least`, `least` + 1 … given the margins, summing to 1.
    pub(crate) p: Vec<f64>,
}

impl Row {
    /// Groups of `in_a` and `in_b` bulbs of which `total` reached the stage.
    pub(crate) fn new(in_a: u32, in_b: u32, total: u32) -> Self {
        let least = total.saturating_sub(in_b);
        let most = total.min(in_a);
        let [n_a, n_b, m] = [in_a, in_b, total].map(f64::from);
        let mode = ((m + 1.0) * (n_a + 1.0) / (n_a + n_b + 2.0)).floor();
        let mode = (mode as u32).clamp(least, most);
        let mut p = vec![0.0; (most - least + 1) as usize];
        let middle = (mode - least) as usize;
        p[middle] = 1.0;
        for index in middle..p.len() - 1 {
            let x = f64::from(least) + index as f64;
            p[index + 1] = p[index] * ((n_a - x) * (m - x)) / ((x + 1.0) * (n_b - m + x + 1.0));
        }
        for index in (1..=middle).rev() {
            let x = f64::from(least) + index as f64;
            p[index - 1] = p[index] * (x * (n_b - m + x)) / ((n_a - x + 1.0) * (m - x + 1.0));
        }
        let sum: f64 = p.iter().sum();
        p.iter_mut().for_each(|p| *p /= sum);
        Self { least, p }
    }

    /// The place of `x` in group a.
    pub(crate) fn index(&self, x: u32) -> usize {
        (x.saturating_sub(self.least) as usize).min(self.p.len() - 1)
    }

    /// For every table the probability of at least as many in group a.
    pub(crate) fn upper(&self) -> Vec<f64> {
        let mut tails = self.p.clone();
        for index in (1..tails.len()).rev() {
            tails[index - 1] += tails[index];
        }
        tails
    }

    /// For every table the probability of at most as many in group a.
    pub(crate) fn lower(&self) -> Vec<f64> {
        let mut tails = self.p.clone();
        for index in 1..tails.len() {
            tails[index] += tails[index - 1];
        }
        tails
    }

    /// The tables by probability: from both ends towards the most probable one, the rarer end first.
    pub(crate) fn rarest_first(&self) -> Vec<usize> {
        let (mut low, mut high) = (0, self.p.len() - 1);
        let mut order = Vec::with_capacity(self.p.len());
        while low < high {
            if self.p[low] <= self.p[high] {
                order.push(low);
                low += 1;
            } else {
                order.push(high);
                high -= 1;
            }
        }
        order.push(low);
        order
    }

    /// For every table the probability of all that are not more probable, and of those as probable.
    pub(crate) fn two_sided(&self) -> Vec<(f64, f64)> {
        let order = self.rarest_first();
        let mut result = vec![(0.0, 0.0); self.p.len()];
        let (mut end, mut start) = (0, 0);
        let (mut below_end, mut below_start) = (0.0, 0.0);
        for &table in &order {
            let bound = self.p[table] * (1.0 + EQUALLY_PROBABLE);
            while end < order.len() && self.p[order[end]] <= bound {
                below_end += self.p[order[end]];
                end += 1;
            }
            while self.p[order[start]] < self.p[table] * (1.0 - EQUALLY_PROBABLE) {
                below_start += self.p[order[start]];
                start += 1;
            }
            result[table] = (f64::min(below_end, 1.0), below_end - below_start);
        }
        result
    }
}

/// C(n, x) oddsˣ for x up to `most`, in proportion, the largest of them 1: any odds do where the total is given.
pub(crate) fn in_proportion(group: Share, odds: f64, most: usize) -> Vec<f64> {
    let n = group.n();
    let length = (group.of() as usize).min(most) + 1;
    let ratio = |x: usize| (n - x as f64) / (x as f64 + 1.0) * odds;
    let mode = (0..length - 1).position(|x| ratio(x) < 1.0).unwrap_or(length - 1);
    let mut weights = vec![1.0; length];
    for x in mode + 1..length {
        weights[x] = weights[x - 1] * ratio(x - 1);
    }
    for x in (0..mode).rev() {
        weights[x] = weights[x + 1] / ratio(x);
    }
    weights
}

/// How many tables two groups of these sizes can show.
pub(crate) fn states(a: Share, b: Share) -> u64 {
    (u64::from(a.of()) + 1) * (u64::from(b.of()) + 1)
}

/// Whether these groups are small enough to count every table.
pub(crate) fn countable(a: Share, b: Share) -> bool {
    states(a, b) <= MOST_STATES
}

/// The largest probability over a common share π of a set of tables, from the share of each row that is in the set.
///
/// Given the row's total m the probability does not depend on π, so the sum over rows is Σ hₘ C(N, m) πᵐ (1−π)ᴺ⁻ᵐ: a
/// polynomial with the hₘ as its Bernstein coefficients, which bound it on the whole interval. Halving the interval
/// (de Casteljau) and dropping halves whose coefficients cannot beat the best value seen finds the maximum to a
/// billionth of itself, whatever the number of local maxima. (Lane & Riesenfeld 1981, BIT 21:112, for the subdivision.)
pub(crate) fn largest(rows: Vec<f64>) -> f64 {
    if rows.len() > MOST_HALVED {
        return largest_on_grid(&rows);
    }
    let top = |c: &[f64]| c.iter().copied().fold(0.0, f64::max);
    let mut best = rows.first().copied().unwrap_or(0.0).max(rows.last().copied().unwrap_or(0.0));
    let mut open = vec![rows];
    let mut splits = 0;
    while let Some(mut right) = open.pop() {
        if top(&right) <= best * (1.0 + 1e-9) {
            continue;
        }
        if splits == 5_000 {
            // Never met; the bound is still on the safe side.
            return open.iter().map(|c| top(c)).fold(top(&right), f64::max).min(1.0);
        }
        splits += 1;
        let mut left = Vec::with_capacity(right.len());
        for end in (0..right.len()).rev() {
            left.push(right[0]);
            for index in 0..end {
                right[index] = 0.5 * (right[index] + right[index + 1]);
            }
        }
        best = best.max(right[0]);
        if top(&left) > top(&right) {
            open.extend([right, left]);
        } else {
            open.extend([left, right]);
        }
    }
    best.min(1.0)
}

/// Polynomials of more coefficients are looked at on a grid instead, as halving costs the square of their number.
const MOST_HALVED: usize = 1_000;

/// The same on a grid in the angle arcsin √π, sixteen points a standard deviation or more, with the eight highest points
/// refined between their neighbours.
fn largest_on_grid(rows: &[f64]) -> f64 {
    let n = (rows.len() - 1) as f64;
    let steps = (16.0 * n.sqrt()).max(2_000.0).ceil();
    let angle = |step: f64| std::f64::consts::FRAC_PI_2 * step / steps;
    let value = |angle: f64| probability(rows, n, angle.sin().powi(2), angle.cos().powi(2));
    let mut points: Vec<(f64, f64)> =
        (0..=steps as u32).map(|step| (value(angle(f64::from(step))), f64::from(step))).collect();
    points.sort_by(|a, b| b.0.total_cmp(&a.0));
    let refined = points.iter().take(8).map(|&(at_point, step)| {
        let (mut low, mut high) = (angle((step - 1.0).max(0.0)), angle((step + 1.0).min(steps)));
        for _ in 0..40 {
            let (left, right) = (low + (high - low) * 0.382, low + (high - low) * 0.618);
            if value(left) < value(right) { low = left } else { high = right }
        }
        value(f64::midpoint(low, high)).max(at_point)
    });
    refined.fold(0.0, f64::max).min(1.0)
}

/// Σ hₘ C(n, m) pᵐ qⁿ⁻ᵐ over all m that matter.
fn probability(rows: &[f64], n: f64, p: f64, q: f64) -> f64 {
    let middle = (n * p).round();
    let reach = 9.0 * (n * p * q).sqrt() + 30.0;
    let (first, last) = ((middle - reach).max(0.0), (middle + reach).min(n));
    let top = special::binomial_term(middle, n, p, q);
    let mut sum = rows[middle as usize] * top;
    let (mut term, mut m) = (top, middle);
    while m < last {
        term *= (n - m) / (m + 1.0) * p / q;
        m += 1.0;
        sum += rows[m as usize] * term;
    }
    (term, m) = (top, middle);
    while m > first {
        term *= m / (n - m + 1.0) * q / p;
        m -= 1.0;
        sum += rows[m as usize] * term;
    }
    sum
}

/// The largest probability over a common share of the tables that `inside` holds for, given in rows by total.
pub(crate) fn largest_of(rows: &[Row], inside: impl Fn(u32, u32) -> bool) -> f64 {
    let shares = rows.iter().zip(0_u32..).map(|(row, total)| {
        let held = row.p.iter().zip(row.least..).filter(|&(_, x)| inside(total, x));
        held.map(|(p, _)| p).sum::<f64>().min(1.0)
    });
    largest(shares.collect())
}

/// Every row of two groups, by total.
pub(crate) fn rows(in_a: u32, in_b: u32) -> Vec<Row> {
    (0..=in_a + in_b).map(|total| Row::new(in_a, in_b, total)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The maximum of x⁷(1−x)³·120 and of two unequal humps, by calculus.
    #[test]
    fn the_largest_value_is_found_among_several() {
        let mut one = vec![0.0; 11];
        one[7] = 1.0;
        let exact = 120.0 * 0.7_f64.powi(7) * 0.3_f64.powi(3);
        assert!((largest(one.clone()) - exact).abs() < 1e-9);
        let mut two = vec![0.0; 101];
        (two[30], two[70]) = (0.999, 1.0);
        let mut higher = vec![0.0; 101];
        higher[70] = 1.0;
        assert!(largest(two) >= largest(higher));
        assert_eq!(largest(vec![0.0; 40]), 0.0);
        assert_eq!(largest(vec![1.0; 40]), 1.0);
    }

    /// The grid finds what halving finds.
    #[test]
    fn grid_and_halving_agree() {
        for (in_a, in_b, bound) in [(40, 40, 30), (3, 90, 3), (200, 30, 110)] {
            let rows = rows(in_a, in_b);
            let held =
                |row: &Row| row.p.iter().zip(row.least..).filter(|(_, x)| *x >= bound).map(|(p, _)| p).sum::<f64>();
            let shares: Vec<f64> =
                rows.iter().zip(0_u32..).map(|(row, total)| if total < 2 * bound { held(row) } else { 0.0 }).collect();
            let (grid, halved) = (largest_on_grid(&shares), largest(shares));
            assert!((grid - halved).abs() <= 1e-8 * halved, "{grid} {halved}");
        }
        let mut one = vec![0.0; 40_001];
        one[10_000] = 1.0;
        // The largest binomial probability of 10,000 in 40,000 is at ¼: 1/√(2π·7500) but for 1/(12·…) of it.
        assert!((largest(one) - 1.0 / (2.0 * std::f64::consts::PI * 7_500.0).sqrt()).abs() < 1e-6);
    }

    #[test]
    fn rows_sum_to_one_and_tails_meet() {
        for (a, b, total) in [(8, 8, 10), (1, 40, 1), (400, 3, 200), (5, 5, 0), (5, 0, 5)] {
            let row = Row::new(a, b, total);
            assert!((row.p.iter().sum::<f64>() - 1.0).abs() < 1e-14);
            assert!((row.upper()[0] - 1.0).abs() < 1e-14);
            let (upper, lower) = (row.upper(), row.lower());
            for index in 0..row.p.len() {
                assert!((upper[index] + lower[index] - row.p[index] - 1.0).abs() < 1e-13);
            }
        }
    }
}
