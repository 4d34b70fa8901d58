//! Two-stage pooling of tries that may truly differ: DerSimonian–Laird and REML, with Hartung–Knapp limits.
//!
//! Each try gives an estimate y and its variance v; the truth differs between tries with variance τ². Weights
//! w = 1/(v + τ²), estimate Σwy/Σw, standard error 1/√Σw. τ² by moments, (Q − (k−1)) ÷ (Σw − Σw²/Σw) cut at 0
//! (DerSimonian & Laird 1986, Controlled Clinical Trials 7:177), or by restricted maximum likelihood (Viechtbauer
//! 2005, Journal of Educational and Behavioral Statistics 30:261), found on the whole range of τ² and not by one local
//! search. Hartung & Knapp 2001, Statistics in Medicine 20:3875: standard error times √q, q = Σw(y − ŷ)²/(k−1), and t
//! with k − 1 degrees of freedom; because it becomes absurdly narrow when small tries happen to agree, the one shown
//! takes max(1, q). I² = τ²/(τ² + typical variance). With few tries prefer the hierarchical model.
//! Log odds ratio: ½ is added to all cells of a try that has an empty one, and tries with nobody or everybody drop out.
//! Difference: the same ½, but none drop out.

use super::strata::{Stratum, counts};
use super::{Interval, Level, NoAnswer, Reason, Result, roots, special};

/// The estimate of one try and its variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub y: f64,
    /// Its variance, above 0.
    pub v: f64,
}

/// The log odds ratio of every informative try.
///
/// # Errors
/// When no try has both groups.
pub fn log_odds_ratios(strata: &[Stratum]) -> Result<Vec<Estimate>> {
    let informative = counts(strata)?.into_iter().filter(|c| c.total() > 0.0 && c.total() < c.all());
    Ok(informative
        .map(|c| {
            let [a, b, c, d] = half_added([c.x_a, c.missed_a(), c.x_b, c.missed_b()]);
            Estimate { y: (a * d / (b * c)).ln(), v: 1.0 / a + 1.0 / b + 1.0 / c + 1.0 / d }
        })
        .collect())
}

/// The difference of shares of every try.
///
/// # Errors
/// When no try has both groups.
pub fn differences(strata: &[Stratum]) -> Result<Vec<Estimate>> {
    Ok(counts(strata)?
        .into_iter()
        .map(|c| {
            let [a, b, c, d] = half_added([c.x_a, c.missed_a(), c.x_b, c.missed_b()]);
            let (n_a, n_b) = (a + b, c + d);
            Estimate { y: a / n_a - c / n_b, v: a * b / n_a.powi(3) + c * d / n_b.powi(3) }
        })
        .collect())
}

/// The four cells, with ½ more each when one is empty.
fn half_added(cells: [f64; 4]) -> [f64; 4] {
    if cells.contains(&0.0) { cells.map(|cell| cell + 0.5) } else { cells }
}

/// How the variance between tries is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// None: every try has the same truth.
    Fixed,
    /// By moments.
    DerSimonianLaird,
    /// By restricted maximum likelihood.
    Reml,
}

/// How limits and p are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limits {
    /// From the normal distribution.
    Normal,
    /// From t, with Hartung and Knapp's factor as it comes.
    HartungKnapp,
    /// From t, with their factor at least 1.
    HartungKnappAtLeastOne,
}

/// The pooled estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// The estimate.
    pub estimate: f64,
    /// Its standard error.
    pub se: f64,
    /// Its limits.
    pub interval: Interval,
    /// Two-sided p.
    pub p: f64,
    /// The variance between tries.
    pub tau2: f64,
    /// The share of the spread that is between tries, per cent.
    pub i2: f64,
    /// Cochran's Q.
    pub q: f64,
    /// p of Q with k − 1 degrees of freedom.
    pub q_p: f64,
}

/// Pools the tries.
///
/// # Errors
/// When there are fewer than two, or an estimate is not finite or has no variance.
///
/// # Tries that agree are pooled without a spread between them
/// ```
/// # use bloomdue_core::evidence::{Level, random_effects::{Between, Estimate, Limits, pool}};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let tries = [0.30, 0.31, 0.29].map(|y| Estimate { y, v: 0.01 });
/// let pooled = pool(&tries, Between::Reml, Limits::Normal, Level::PCT_95)?;
/// assert_eq!(pooled.tau2, 0.0);
/// assert!((pooled.estimate - 0.30).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
pub fn pool(tries: &[Estimate], between: Between, limits: Limits, level: Level) -> Result<Pooled> {
    if tries.iter().any(|one| !one.y.is_finite() || !one.v.is_finite() || one.v <= 0.0) {
        return Err(NoAnswer(Reason::NoVariation));
    }
    if tries.len() < 2 {
        return Err(NoAnswer(Reason::OneTry));
    }
    let df = tries.len() as f64 - 1.0;
    let fixed = Weighted::new(tries, 0.0);
    let q = fixed.spread;
    let typical = df * fixed.sum / (fixed.sum * fixed.sum - fixed.squares);
    let tau2 = match between {
        Between::Fixed => 0.0,
        Between::DerSimonianLaird => ((q - df) / (fixed.sum - fixed.squares / fixed.sum)).max(0.0),
        Between::Reml => reml(tries),
    };
    let weighted = Weighted::new(tries, tau2);
    let factor = match limits {
        Limits::Normal => 1.0,
        Limits::HartungKnapp => weighted.spread / df,
        Limits::HartungKnappAtLeastOne => (weighted.spread / df).max(1.0),
    };
    let se = (factor / weighted.sum).sqrt();
    let (reach, p) = match limits {
        Limits::Normal => (level.z(), special::normal_two_sided(weighted.mean / se)),
        _ if se == 0.0 => (0.0, f64::from(weighted.mean == 0.0)),
        _ => (special::t_upper(level.tail(), df), special::t_two_sided(weighted.mean / se, df)),
    };
    let i2 = match between {
        Between::Fixed if q > 0.0 => ((q - df) / q).max(0.0),
        _ => tau2 / (tau2 + typical),
    };
    Ok(Pooled {
        estimate: weighted.mean,
        se,
        interval: Interval::new(weighted.mean - reach * se, weighted.mean + reach * se),
        p,
        tau2,
        i2: 100.0 * i2,
        q,
        q_p: special::chi_square_upper(q, df),
    })
}

/// Sums with the weights at one τ².
struct Weighted {
    sum: f64,
    squares: f64,
    mean: f64,
    /// Σw(y − ŷ)².
    spread: f64,
}

impl Weighted {
    fn new(tries: &[Estimate], tau2: f64) -> Self {
        let weight = |one: &Estimate| 1.0 / (one.v + tau2);
        let sum: f64 = tries.iter().map(weight).sum();
        let mean = tries.iter().map(|one| weight(one) * one.y).sum::<f64>() / sum;
        Self {
            sum,
            squares: tries.iter().map(|one| weight(one).powi(2)).sum(),
            mean,
            spread: tries.iter().map(|one| weight(one) * (one.y - mean).powi(2)).sum(),
        }
    }
}

/// τ² of the highest restricted likelihood.
fn reml(tries: &[Estimate]) -> f64 {
    let likelihood = |tau2: f64| {
        let weighted = Weighted::new(tries, tau2);
        let logs: f64 = tries.iter().map(|one| (one.v + tau2).ln()).sum();
        -0.5 * (logs + weighted.sum.ln() + weighted.spread)
    };
    let slope = |tau2: f64| {
        let weighted = Weighted::new(tries, tau2);
        let far: f64 = tries.iter().map(|one| ((one.y - weighted.mean) / (one.v + tau2)).powi(2)).sum();
        far - weighted.sum + weighted.squares / weighted.sum
    };
    let range = tries
        .iter()
        .map(|one| one.y)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
    // Above the square of the range the likelihood only falls.
    let (top, least) = ((range.1 - range.0).powi(2), tries.iter().map(|one| one.v).fold(f64::INFINITY, f64::min));
    let steps = 400;
    let ratio = ((top / (least * 1e-4)).max(1.0)).powf(1.0 / f64::from(steps));
    let mut best = 0.0;
    let mut left = 0.0;
    for step in 0..=steps {
        let right = least * 1e-4 * ratio.powi(step);
        if slope(left) > 0.0 && slope(right) <= 0.0 {
            let peak = roots::bracketed(slope, left, right);
            if likelihood(peak) > likelihood(best) {
                best = peak;
            }
        }
        left = right;
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agreeing_small_tries_are_not_taken_at_their_word() {
        let tries = [Estimate { y: 4.39, v: 4.44 }, Estimate { y: 5.42, v: 4.27 }];
        let pool = |limits| pool(&tries, Between::Reml, limits, Level::PCT_95).expect("two tries");
        let (plain, capped) = (pool(Limits::HartungKnapp), pool(Limits::HartungKnappAtLeastOne));
        assert!(plain.se < 0.6 && capped.se > 1.4, "{} {}", plain.se, capped.se);
    }

    #[test]
    fn what_has_no_answer_is_said() {
        let one = [Estimate { y: 1.0, v: 1.0 }];
        let pool = |tries: &[Estimate]| pool(tries, Between::Reml, Limits::Normal, Level::PCT_95);
        assert_eq!(pool(&one), Err(NoAnswer(Reason::OneTry)));
        assert!(pool(&[one[0], Estimate { y: f64::NAN, v: 1.0 }]).is_err());
        assert!(pool(&[one[0], Estimate { y: 1.0, v: 0.0 }]).is_err());
    }
}
