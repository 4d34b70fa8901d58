//! Mantel–Haenszel estimates over strata: a common odds ratio, risk ratio and, for the sentence, risk difference.
//!
//! Odds ratio: ΣR/ΣS with R = xₐ(n_b−x_b)/N, S = x_b(nₐ−xₐ)/N (Mantel & Haenszel 1959, Journal of the National Cancer
//! Institute 22:719), variance of its logarithm by Robins, Breslow & Greenland 1986, Biometrics 42:311. Risk ratio:
//! Σxₐn_b/N ÷ Σx_bnₐ/N, and risk difference: Σ(xₐn_b − x_bnₐ)/N ÷ Σnₐn_b/N, both with Greenland & Robins' 1985 variance
//! (Biometrics 41:55), which falls to 0 with one bulb a group; the difference also with Sato's (1989, Biometrics
//! 45:1323), which does not and stays defined with empty cells: that one stands in the sentence.

use super::strata::{Counts, Stratum, counts};
use super::{Interval, Level, NoAnswer, Reason, Result};

/// A pooled ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// The estimate, from 0 to infinite.
    pub estimate: f64,
    /// Standard error of its logarithm; refused when the estimate is 0 or infinite.
    pub log_se: Result<f64>,
    /// Limits on the logarithm; refused when the estimate is 0 or infinite.
    pub interval: Result<Interval>,
}

impl Ratio {
    /// From both sums and the variance of the logarithm.
    fn new(above: f64, below: f64, log_variance: f64, level: Level) -> Result<Self> {
        if above == 0.0 && below == 0.0 {
            return Err(NoAnswer(Reason::NothingToDivideBy));
        }
        let estimate = above / below;
        let log_se = if above > 0.0 && below > 0.0 {
            Ok(log_variance.max(0.0).sqrt())
        } else {
            Err(NoAnswer(Reason::EmptyCell))
        };
        let interval = log_se.map(|se| {
            let spread = (level.z() * se).exp();
            Interval::new(estimate / spread, estimate * spread)
        });
        Ok(Self { estimate, log_se, interval })
    }
}

/// The common odds ratio.
///
/// # Errors
/// When no stratum has both groups, or nothing could have come out otherwise.
pub fn odds_ratio(strata: &[Stratum], level: Level) -> Result<Ratio> {
    let [mut r, mut s, mut pr, mut mixed, mut qs] = [0.0; 5];
    for c in counts(strata)? {
        let all = c.all();
        let (agree, oppose) = ((c.x_a + c.missed_b()) / all, (c.x_b + c.missed_a()) / all);
        let (above, below) = (c.x_a * c.missed_b() / all, c.x_b * c.missed_a() / all);
        r += above;
        s += below;
        pr += agree * above;
        mixed += agree * below + oppose * above;
        qs += oppose * below;
    }
    Ratio::new(r, s, pr / (2.0 * r * r) + mixed / (2.0 * r * s) + qs / (2.0 * s * s), level)
}

/// The common risk ratio.
///
/// # Errors
/// As [`odds_ratio`].
pub fn risk_ratio(strata: &[Stratum], level: Level) -> Result<Ratio> {
    let (mut r, mut s, mut spread) = (0.0, 0.0, 0.0);
    for c in counts(strata)? {
        let all = c.all();
        r += c.x_a * c.n_b / all;
        s += c.x_b * c.n_a / all;
        spread += (c.total() * c.n_a * c.n_b - c.x_a * c.x_b * all) / (all * all);
    }
    Ratio::new(r, s, spread / (r * s), level)
}

/// The common risk difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Share a less share b.
    pub estimate: f64,
    /// Sato's standard error.
    pub se_sato: f64,
    /// Limits from it, within −1 to 1 or as the formula has them.
    pub sato: Interval,
    /// Greenland and Robins' standard error, for reading.
    pub se_greenland_robins: f64,
    /// Limits from it.
    pub greenland_robins: Interval,
}

/// The common risk difference.
///
/// # Errors
/// When no stratum has both groups.
pub fn risk_difference(strata: &[Stratum], level: Level) -> Result<Difference> {
    let counts = counts(strata)?;
    let sum = |f: &dyn Fn(&Counts) -> f64| counts.iter().map(f).sum::<f64>();
    let weight = sum(&|c| c.n_a * c.n_b / c.all());
    let estimate = sum(&|c| (c.x_a * c.n_b - c.x_b * c.n_a) / c.all()) / weight;
    let p = sum(&|c| {
        let mixed = c.n_a * c.n_b * (c.n_b - c.n_a) / 2.0;
        (c.n_a * c.n_a * c.x_b - c.n_b * c.n_b * c.x_a + mixed) / (c.all() * c.all())
    });
    let q = sum(&|c| (c.x_a * c.missed_b() + c.x_b * c.missed_a()) / (2.0 * c.all()));
    let robust = sum(&|c| {
        let (cube_a, cube_b) = (c.n_a.powi(3), c.n_b.powi(3));
        let above = c.x_a * c.missed_a() * cube_b + c.x_b * c.missed_b() * cube_a;
        above / (c.n_a * c.n_b * c.all() * c.all())
    });
    let se_sato = ((estimate * p + q).max(0.0)).sqrt() / weight;
    let se_greenland_robins = robust.sqrt() / weight;
    let limits = |se: f64| Interval::new(estimate - level.z() * se, estimate + level.z() * se);
    Ok(Difference {
        estimate,
        se_sato,
        sato: limits(se_sato),
        se_greenland_robins,
        greenland_robins: limits(se_greenland_robins),
    })
}
