//! Breslow and Day's test that the odds ratio is the same in all strata, with Tarone's correction.
//!
//! In every stratum A solves A(n_b − m + A) = ψ(m − A)(nₐ − A) at the pooled Mantel–Haenszel ψ, V = 1 ÷ Σ 1/cell
//! over the four cells that A gives; χ² = Σ(xₐ − A)²/V, less (Σxₐ − ΣA)²/ΣV for Tarone's. Strata with nobody or everybody say
//! nothing. With two to five small tries it can hardly see anything: show the tries side by side. Breslow & Day 1980,
//! *Statistical Methods in Cancer Research* 1, §4.4; Tarone 1985, Biometrika 72:91.

use super::strata::{Stratum, counts};
use super::{Level, NoAnswer, Reason, Result, mantel_haenszel, special};

/// Both statistics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homogeneity {
    /// Breslow and Day's χ².
    pub statistic: f64,
    /// Tarone's χ².
    pub tarone: f64,
    /// Informative strata less one.
    pub df: u32,
    /// p of Breslow and Day's.
    pub p: f64,
    /// p of Tarone's.
    pub p_tarone: f64,
}

/// The test.
///
/// # Errors
/// When fewer than two strata are informative, or the pooled odds ratio is 0 or infinite.
pub fn test(strata: &[Stratum]) -> Result<Homogeneity> {
    let pooled = mantel_haenszel::odds_ratio(strata, Level::PCT_95)?;
    pooled.log_se?;
    let informative = counts(strata)?.into_iter().filter(|c| c.total() > 0.0 && c.total() < c.all());
    let (mut sum, mut gap, mut variances, mut strata) = (0.0, 0.0, 0.0, 0_u32);
    for c in informative {
        let expected = expected(c.n_a, c.n_b, c.total(), pooled.estimate);
        let cells = [expected, c.total() - expected, c.n_a - expected, c.n_b - c.total() + expected];
        let variance = 1.0 / cells.iter().map(|cell| 1.0 / cell).sum::<f64>();
        sum += (c.x_a - expected).powi(2) / variance;
        gap += c.x_a - expected;
        variances += variance;
        strata += 1;
    }
    if strata < 2 {
        return Err(NoAnswer(Reason::OneTry));
    }
    let df = strata - 1;
    let tarone = (sum - gap * gap / variances).max(0.0);
    let p = |statistic: f64| special::chi_square_upper(statistic, f64::from(df));
    Ok(Homogeneity { statistic: sum, tarone, df, p: p(sum), p_tarone: p(tarone) })
}

/// The count in group a that goes with the odds ratio and the margins.
fn expected(n_a: f64, n_b: f64, total: f64, odds_ratio: f64) -> f64 {
    // (ψ − 1)A² − (ψ(m + nₐ) + n_b − m)A + ψ m nₐ = 0; this form of the root is stable at ψ = 1 too.
    let linear = odds_ratio * (total + n_a) + n_b - total;
    let root = (linear * linear - 4.0 * (odds_ratio - 1.0) * odds_ratio * total * n_a).max(0.0).sqrt();
    2.0 * odds_ratio * total * n_a / (linear + root)
}
