//! Small symmetric matrices, as their lower triangles by rows, and normal distributions with such a precision.

use crate::{normal, random::Random, terms::Terms};

/// Degrees of freedom of the proposals with heavy tails.
const FREEDOM: f64 = 5.0;
/// Share of proposals with heavy tails.
const HEAVY: f64 = 0.1;

/// A normal approximation: where its summit is and the factored precision.
#[derive(Clone, Debug, Default)]
pub(crate) struct Summit {
    pub(crate) at: Vec<f64>,
    /// Lower triangle by rows.
    pub(crate) factor: Vec<f64>,
    pub(crate) ln_determinant: f64,
    /// ln of the t's density at the summit over that of the normal.
    ln_heavy: f64,
    turned: Vec<f64>,
}

impl Summit {
    /// A summit over so many numbers, at zero and not yet factored.
    pub(crate) fn new(n: usize) -> Self {
        Self {
            at: vec![0.0; n],
            factor: vec![0.0; n * n],
            ln_determinant: 0.0,
            ln_heavy: ln_gamma_ratio(n) - 0.5 * n as f64 * (0.5 * FREEDOM).ln(),
            turned: vec![0.0; n],
        }
    }

    /// Numbers a step away from where they are, shaped like the summit. The way back is as likely.
    pub(crate) fn step(&self, from: &[f64], reach: f64, random: &mut Random, next: &mut [f64]) {
        self.shape(random, next);
        let reach = reach / (next.len() as f64).sqrt();
        for (z, from) in next.iter_mut().zip(from) {
            *z = from + reach * *z;
        }
    }

    /// Numbers around the summit.
    pub(crate) fn draw(&self, random: &mut Random, next: &mut [f64]) {
        // Chi-square of 5 degrees of freedom: two exponentials and a squared normal.
        let widen = if random.unit() < HEAVY {
            let chi_square = 2.0 * (normal::draw_exponential(random) + normal::draw_exponential(random))
                + normal::draw(random).powi(2);
            (FREEDOM / chi_square).sqrt()
        } else {
            1.0
        };
        self.shape(random, next);
        for (z, at) in next.iter_mut().zip(&self.at) {
            *z = at + widen * *z;
        }
    }

    fn shape(&self, random: &mut Random, z: &mut [f64]) {
        for z in &mut *z {
            *z = normal::draw(random);
        }
        solve_upper(&self.factor, z.len(), z);
    }

    /// Log density of what [`Summit::draw`] gives, but for a constant.
    pub(crate) fn ln_density(&mut self, x: &[f64]) -> f64 {
        let n = self.at.len();
        // |Lᵀ (x − summit)|², row by row of L.
        self.turned.fill(0.0);
        for (k, row) in self.factor.chunks_exact(n).enumerate() {
            let off = x[k] - self.at[k];
            for (turned, entry) in self.turned[..=k].iter_mut().zip(row) {
                *turned += entry * off;
            }
        }
        let square: f64 = self.turned.iter().map(|part| part * part).sum();
        let normal = (1.0 - HEAVY).ln() - 0.5 * square;
        let heavy = HEAVY.ln() + self.ln_heavy - 0.5 * (FREEDOM + n as f64) * normal::ln(1.0 + square / FREEDOM);
        let beside = normal::ln(1.0 + normal::exp(-(normal - heavy).abs()));
        self.ln_determinant + normal.max(heavy) + beside
    }
}

/// ln Γ((5 + n) / 2) − ln Γ(5 / 2), by Γ(z + 1) = z Γ(z).
fn ln_gamma_ratio(n: usize) -> f64 {
    // Γ(3) over Γ(5/2), which is ¾ √π.
    let half = 2.0 / (0.75 * std::f64::consts::PI.sqrt());
    let (from, start) = if n.is_multiple_of(2) { (2.5, 0.0) } else { (3.0, half.ln()) };
    let steps = (0..n / 2).map(|k| (from + k as f64).ln());
    start + steps.sum::<f64>()
}

/// Adds what two predictors of a cell curve together; only the lower triangle where they are the same.
pub(crate) fn scatter(rows: &Terms, columns: &Terms, value: f64, matrix: &mut [f64], n: usize) {
    for (row, weight) in rows.each() {
        let row = &mut matrix[row * n..][..=row];
        let weight = value * weight;
        for (column, other) in columns.each() {
            if let Some(entry) = row.get_mut(column) {
                *entry += weight * other;
            }
        }
    }
}

/// Factors the lower triangle in place; whether it was positive definite.
pub(crate) fn factor(matrix: &mut [f64], n: usize) -> bool {
    for i in 0..n {
        let (before, row) = matrix.split_at_mut(i * n);
        for (j, other) in before.chunks_exact(n).enumerate() {
            let dot: f64 = row[..j].iter().zip(other).map(|(a, b)| a * b).sum();
            row[j] = (row[j] - dot) / other[j];
        }
        let dot: f64 = row[..i].iter().map(|a| a * a).sum();
        let rest = row[i] - dot;
        if rest.is_nan() || rest <= 1e-10 {
            return false;
        }
        row[i] = rest.sqrt();
    }
    true
}

/// Solves the system of a factored matrix in place.
pub(crate) fn solve(factor: &[f64], n: usize, right: &mut [f64]) {
    for (i, row) in factor.chunks_exact(n).enumerate() {
        let dot: f64 = row[..i].iter().zip(&*right).map(|(a, b)| a * b).sum();
        right[i] = (right[i] - dot) / row[i];
    }
    solve_upper(factor, n, right);
}

fn solve_upper(factor: &[f64], n: usize, right: &mut [f64]) {
    for (i, row) in factor.chunks_exact(n).enumerate().rev() {
        let value = right[i] / row[i];
        right[i] = value;
        for (right, entry) in right[..i].iter_mut().zip(row) {
            *right -= entry * value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factored_matrix_solves_its_system() {
        let matrix = [4.0, 0.0, 0.0, 2.0, 3.0, 0.0, 1.0, 0.5, 2.0];
        let mut factored = matrix;
        assert!(factor(&mut factored, 3));
        let mut x = [7.0, 5.5, 3.5];
        solve(&factored, 3, &mut x);
        for (i, right) in [7.0, 5.5, 3.5].iter().enumerate() {
            let sum: f64 = (0..3).map(|j| matrix[i.max(j) * 3 + i.min(j)] * x[j]).sum();
            assert!((sum - right).abs() < 1e-12);
        }
        assert!(!factor(&mut [1.0, 0.0, 2.0, 1.0], 2));
    }

    /// Γ(5/2) = ¾√π, Γ(3) = 2, Γ(7/2) = 15/8 √π, Γ(4) = 6 (Abramowitz & Stegun 1964, §6.1).
    #[test]
    fn ratios_of_the_gamma_function() {
        let root = std::f64::consts::PI.sqrt();
        for (n, ratio) in [(0, 1.0), (1, 2.0 / (0.75 * root)), (2, 2.5), (3, 6.0 / (0.75 * root))] {
            assert!((ln_gamma_ratio(n) - f64::ln(ratio)).abs() < 1e-12, "{n}");
        }
    }
}
