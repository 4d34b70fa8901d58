//! The Cochran–Mantel–Haenszel test over strata: a check beside the exact conditional test.
//!
//! D = Σ(xₐ − m nₐ/N), V = Σ nₐn_b m(N−m)/(N²(N−1)); χ² = D²/V, or with (|D| − min(|D|, ½))² in the numerator (use the
//! uncorrected one beside mid-p, the corrected one beside the exact p). Mantel & Haenszel 1959, Journal of the National
//! Cancer Institute 22:719.

use super::strata::{Stratum, counts};
use super::{NoAnswer, Reason, Result, special};

/// A statistic with one degree of freedom and its p.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cmh {
    /// χ² without correction; refused when nothing can differ.
    pub statistic: Result<f64>,
    /// Its p-value, 1 when nothing can differ.
    pub p: f64,
    /// χ² with the correction; refused when nothing can differ.
    pub corrected: Result<f64>,
    /// Its p-value, 1 when nothing can differ.
    pub p_corrected: f64,
}

/// The test over all strata with both groups.
///
/// # Errors
/// When there is no such stratum.
pub fn test(strata: &[Stratum]) -> Result<Cmh> {
    let (mut gap, mut variance) = (0.0, 0.0);
    for counts in counts(strata)? {
        let (all, total) = (counts.all(), counts.total());
        // Written as one difference of whole numbers, so that equal shares give exactly 0.
        gap += (counts.x_a * counts.n_b - counts.x_b * counts.n_a) / all;
        variance += counts.n_a * counts.n_b * total * (all - total) / (all * all * (all - 1.0));
    }
    let of = |gap: f64| {
        if variance > 0.0 { Ok(gap * gap / variance) } else { Err(NoAnswer(Reason::NoVariation)) }
    };
    let p = |statistic: Result<f64>| statistic.map_or(1.0, |statistic| special::chi_square_upper(statistic, 1.0));
    let (statistic, corrected) = (of(gap), of((gap.abs() - 0.5).max(0.0)));
    Ok(Cmh { statistic, p: p(statistic), corrected, p_corrected: p(corrected) })
}
