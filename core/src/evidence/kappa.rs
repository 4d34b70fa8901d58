//! Agreement of two observers who put the same things into the same classes, beyond what chance would bring.
//!
//! Cohen 1960, Educational and Psychological Measurement 20:37; weights of Cohen 1968, Psychological Bulletin 70:213;
//! standard errors of Fleiss, Cohen & Everitt 1969, Psychological Bulletin 72:323, equations 8 (for an interval) and 9
//! (under no agreement). The interval is not cut at 1.

use super::{NoAnswer, Reason, Result};

/// How much two different classes disagree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weights {
    /// Wholly, whichever they are.
    None,
    /// In proportion to how far apart they stand.
    Linear,
    /// In proportion to the square of that.
    Quadratic,
}

/// Agreement beyond chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kappa {
    /// Share of pairs that agree, weighted.
    pub observed: f64,
    /// Share that chance alone would bring, weighted.
    pub expected: f64,
    /// Agreement beyond chance: 1 is complete, 0 as by chance.
    pub kappa: f64,
    /// Its standard error.
    pub se: f64,
    /// Its standard error if there were none beyond chance.
    pub se_under_none: f64,
}

impl Kappa {
    /// The interval of about 95 %.
    pub fn interval(&self) -> (f64, f64) {
        const Z_95: f64 = 1.959_963_984_540_054;
        (self.kappa - Z_95 * self.se, self.kappa + Z_95 * self.se)
    }
}

/// The agreement in a table of counts: a row a class of the first observer, a column one of the second, in the same
/// order.
///
/// # Errors
/// When nothing was counted, the table is not square, or chance alone brings full agreement, so that nothing is left to
/// agree on.
pub fn kappa(table: &[Vec<usize>], weights: Weights) -> Result<Kappa> {
    let k = table.len();
    let n: usize = table.iter().flatten().sum();
    if n == 0 || k < 2 || table.iter().any(|row| row.len() != k) {
        return Err(NoAnswer(Reason::NoBulbs));
    }
    let share = |i: usize, j: usize| table[i][j] as f64 / n as f64;
    let agree = |i: usize, j: usize| {
        let apart = i.abs_diff(j) as f64 / (k - 1) as f64;
        match weights {
            Weights::None => f64::from(u8::from(i == j)),
            Weights::Linear => 1.0 - apart,
            Weights::Quadratic => 1.0 - apart * apart,
        }
    };
    let rows: Vec<f64> = (0..k).map(|i| (0..k).map(|j| share(i, j)).sum()).collect();
    let columns: Vec<f64> = (0..k).map(|j| (0..k).map(|i| share(i, j)).sum()).collect();
    let over = |of: &dyn Fn(usize, usize) -> f64| -> f64 {
        (0..k).flat_map(|i| (0..k).map(move |j| (i, j))).map(|(i, j)| of(i, j)).sum()
    };
    let observed = over(&|i, j| agree(i, j) * share(i, j));
    let expected = over(&|i, j| agree(i, j) * rows[i] * columns[j]);
    let left = 1.0 - expected;
    if left < 1e-12 {
        return Err(NoAnswer(Reason::NoVariation));
    }
    let of_row: Vec<f64> = (0..k).map(|i| (0..k).map(|j| agree(i, j) * columns[j]).sum()).collect();
    let of_column: Vec<f64> = (0..k).map(|j| (0..k).map(|i| agree(i, j) * rows[i]).sum()).collect();
    let marginal = |i: usize, j: usize| of_row[i] + of_column[j];
    let kappa = (observed - expected) / left;
    let spread = over(&|i, j| share(i, j) * (agree(i, j) - marginal(i, j) * (1.0 - kappa)).powi(2));
    let variance = (spread - (kappa - expected * (1.0 - kappa)).powi(2)) / (n as f64 * left * left);
    let spread_under_none = over(&|i, j| rows[i] * columns[j] * (agree(i, j) - marginal(i, j)).powi(2));
    let variance_under_none = (spread_under_none - expected * expected) / (n as f64 * left * left);
    Ok(Kappa {
        observed,
        expected,
        kappa,
        // Full agreement leaves a rest of rounding below 0.
        se: variance.max(0.0).sqrt(),
        se_under_none: variance_under_none.max(0.0).sqrt(),
    })
}
