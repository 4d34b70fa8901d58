//! How often the intervals hold the truth, by complete enumeration.
//!
//! The expected numbers are those of programs that share nothing with this one: mean and least coverage of 95 % intervals over shares from 0.005 to 0.995 in steps of 0.001, and mean width. (The least coverage
//! dips at the ends of the intervals, so that it belongs to a grid; a finer one finds up to a hundredth less.)

use super::special::binomial_term;
use super::{Interval, Level, Share, agresti_caffo, clopper_pearson, jeffreys, newcombe, score_difference, wilson};

/// Mean coverage, least coverage and mean width over a grid of shares.
fn coverage(n: u32, method: fn(Share, Level) -> Interval) -> [f64; 3] {
    let intervals: Vec<Interval> = (0..=n).map(|x| method(Share::new(x, n).expect("a share"), Level::PCT_95)).collect();
    let (mut sum, mut least, mut width) = (0.0, 1.0_f64, 0.0);
    let steps = 990;
    for step in 0..=steps {
        let p = 0.005 + 0.99 * f64::from(step) / f64::from(steps);
        let mut held = 0.0;
        for (x, interval) in intervals.iter().enumerate() {
            let probability = binomial_term(x as f64, f64::from(n), p, 1.0 - p);
            held += if interval.lower <= p && p <= interval.upper { probability } else { 0.0 };
            width += probability * (interval.upper - interval.lower);
        }
        sum += held;
        least = least.min(held);
    }
    let count = f64::from(steps + 1);
    [sum / count, least, width / count]
}

#[test]
fn one_share_as_in_the_note() {
    let table: [(u32, [[f64; 3]; 3]); 4] = [
        (3, [[0.956, 0.828, 0.65], [0.995, 0.975, 0.80], [0.963, 0.890, 0.66]]),
        (8, [[0.954, 0.837, 0.48], [0.986, 0.969, 0.56], [0.954, 0.879, 0.47]]),
        (12, [[0.954, 0.844, 0.41], [0.982, 0.955, 0.47], [0.952, 0.897, 0.40]]),
        (40, [[0.952, 0.905, 0.24], [0.971, 0.952, 0.26], [0.950, 0.886, 0.24]]),
    ];
    one_share(&table);
}

/// Wilson, Clopper–Pearson and Jeffreys at each size: mean, least and width.
fn one_share(table: &[(u32, [[f64; 3]; 3])]) {
    let methods = [wilson::interval, clopper_pearson::interval, jeffreys::interval];
    for (n, rows) in table {
        for (expected, method) in rows.iter().zip(methods) {
            agree(*n, coverage(*n, method), *expected);
        }
    }
}

/// One share, from statsmodels 0.15.0 (proportion_confint: wilson, beta, jeffreys)
/// and SciPy 1.17.1 (binom.pmf) on the same grid, Wilson and Jeffreys set to 0 at none and 1 at all.
#[test]
fn one_share_as_from_outside() {
    let table: [(u32, [[f64; 3]; 3]); 2] = [
        (5, [[0.9549, 0.8325, 0.559], [0.9904, 0.9750, 0.679], [0.9573, 0.8947, 0.562]]),
        (20, [[0.9532, 0.8516, 0.327], [0.9768, 0.9581, 0.368], [0.9510, 0.8937, 0.324]]),
    ];
    one_share(&table);
}

/// Newcombe and Agresti–Caffo at 20 a group from statsmodels 0.15.0 (confint_proportions_2indep) on the same grid, and
/// Miettinen–Nurminen from a bisection of the restricted likelihood (`scripts/outside/proportions.py`; all three frozen in
/// `tests/reference/02_coverage.outside.json`).
#[test]
fn two_shares_as_from_outside() {
    agree(20, coverage_of_two(20, newcombe::interval), [0.9513, 0.8801, 0.484]);
    agree(20, coverage_of_two(20, agresti_caffo::interval), [0.9553, 0.9308, 0.492]);
    agree(20, coverage_of_two(20, score_difference::miettinen_nurminen), [0.9513, 0.9316, 0.494]);
}

/// Mean coverage, least coverage and mean width of 95 % intervals for a difference over all pairs of shares 0.02, 0.04 … 0.98.
fn coverage_of_two(n: u32, method: fn(Share, Share, Level) -> Interval) -> [f64; 3] {
    let share = |x| Share::new(x, n).expect("a share");
    let intervals: Vec<Vec<Interval>> =
        (0..=n).map(|a| (0..=n).map(|b| method(share(a), share(b), Level::PCT_95)).collect()).collect();
    let grid: Vec<f64> = (1..50).map(|step| f64::from(step) / 50.0).collect();
    let terms: Vec<Vec<f64>> = grid
        .iter()
        .map(|&p| (0..=n).map(|x| binomial_term(f64::from(x), f64::from(n), p, 1.0 - p)).collect())
        .collect();
    let (mut sum, mut least, mut width) = (0.0, 1.0_f64, 0.0);
    for (i, row_a) in terms.iter().enumerate() {
        for (j, row_b) in terms.iter().enumerate() {
            let gap = grid[i] - grid[j];
            let mut held = 0.0;
            for (a, p_a) in row_a.iter().enumerate() {
                for (b, p_b) in row_b.iter().enumerate() {
                    let interval = intervals[a][b];
                    let inside = interval.lower <= gap + 1e-12 && gap - 1e-12 <= interval.upper;
                    held += if inside { p_a * p_b } else { 0.0 };
                    width += p_a * p_b * (interval.upper - interval.lower);
                }
            }
            sum += held;
            least = least.min(held);
        }
    }
    let count = (grid.len() * grid.len()) as f64;
    [sum / count, least, width / count]
}

#[test]
fn two_shares_in_few_bulbs() {
    let methods = [newcombe::interval, agresti_caffo::interval, score_difference::miettinen_nurminen];
    let table: [(u32, [[f64; 3]; 3]); 3] = [
        (5, [[0.953, 0.878, 0.86], [0.966, 0.906, 0.91], [0.970, 0.914, 0.95]]),
        (8, [[0.953, 0.882, 0.72], [0.960, 0.919, 0.75], [0.963, 0.919, 0.77]]),
        (12, [[0.953, 0.906, 0.61], [0.958, 0.929, 0.62], [0.956, 0.917, 0.63]]),
    ];
    for (n, rows) in table {
        for (expected, method) in rows.into_iter().zip(methods) {
            agree(n, coverage_of_two(n, method), expected);
        }
    }
}

/// The expected numbers are coverage to a thousandth and widths to a hundredth.
fn agree(n: u32, got: [f64; 3], expected: [f64; 3]) {
    for (index, slack) in [0.002, 0.002, 0.0051].into_iter().enumerate() {
        assert!((got[index] - expected[index]).abs() <= slack, "{n}: {got:?} {expected:?}");
    }
}
