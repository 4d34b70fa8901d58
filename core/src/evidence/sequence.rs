//! Confidence sequences: intervals for one share, or a difference, that hold at all looks together.
//!
//! One share: {p : B(a+x, b+n−x) ÷ B(a, b) ÷ (pˣ(1−p)ⁿ⁻ˣ) < 1/α}, 0 at none and 1 at all (Robbins 1970, Annals of
//! Mathematical Statistics 41:1397; Howard, Ramdas, McAuliffe & Sekhon 2021, Annals of Statistics 49:1055). A
//! difference: two of them at α/2 (union bound). Running: the intersection over all looks; when it becomes empty the
//! share has changed, and that is said rather than an interval turned round. For reading only, much wider at these
//! sizes: the normal mixture with radius √((v+ρ) ln((v+ρ)/(ρα²)))/n, v = n/4, and the empirical Bernstein sequence with
//! predictable weights (Waudby-Smith & Ramdas 2024, Journal of the Royal Statistical Society B 86:1, theorem 2), in the
//! paper's form and in one that takes the plain running mean.

use super::{Interval, NoAnswer, Reason, Result, Share, roots, special};

/// A beta mixture and a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixture {
    a: f64,
    b: f64,
    alpha: f64,
}

impl Mixture {
    /// Beta(½, ½) at 95 %.
    pub const DEFAULT: Self = Self { a: 0.5, b: 0.5, alpha: 0.05 };

    /// A mixture with both parameters above 0 and 0 < α < 1.
    ///
    /// # Errors
    /// When they are not.
    pub fn new(a: f64, b: f64, alpha: f64) -> Result<Self> {
        let valid = a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite() && alpha > 0.0 && alpha < 1.0;
        if valid { Ok(Self { a, b, alpha }) } else { Err(NoAnswer(Reason::NotAProbability)) }
    }

    /// ln of the evidence against a share of `p`.
    fn ln_evidence(self, share: Share, p: f64) -> f64 {
        let ln_beta = |a: f64, b: f64| special::ln_gamma(a) + special::ln_gamma(b) - special::ln_gamma(a + b);
        let (x, missed) = (share.x(), share.n() - share.x());
        let power = |count: f64, p: f64| if count == 0.0 { 0.0 } else { count * p.ln() };
        ln_beta(self.a + x, self.b + missed) - ln_beta(self.a, self.b) - power(x, p) - power(missed, 1.0 - p)
    }

    /// The evidence against a share of `p`; infinite when the counts cannot come from it.
    ///
    /// # Errors
    /// When `p` is not between 0 and 1.
    pub fn evidence(self, share: Share, p: f64) -> Result<f64> {
        if !(0.0..=1.0).contains(&p) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        Ok(self.ln_evidence(share, p).exp())
    }

    /// The interval at this look; all of 0 to 1 with no resolved bulb.
    ///
    /// # Looking at any time has its price: it is wider than an interval for one look
    /// ```
    /// # use bloomdue_core::evidence::{Level, Share, sequence::Mixture, wilson};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let share = Share::new(12, 20)?;
    /// let (any_time, once) = (Mixture::DEFAULT.interval(share), wilson::interval(share, Level::PCT_95));
    /// assert!(any_time.lower < once.lower && once.upper < any_time.upper);
    /// # Ok(())
    /// # }
    /// ```
    pub fn interval(self, share: Share) -> Interval {
        let Ok(rate) = share.rate() else {
            return Interval::new(0.0, 1.0);
        };
        let outside = |p: f64| self.ln_evidence(share, p) + self.alpha.ln();
        let lower = if share.reached() == 0 { 0.0 } else { roots::bracketed(outside, 0.0, rate) };
        let upper = if share.missed() == 0 { 1.0 } else { roots::bracketed(outside, rate, 1.0) };
        Interval::new(lower, upper)
    }

    /// The intersection with all looks before, after each look; refused from the look on at which it is empty.
    pub fn running(self, looks: &[Share]) -> Vec<Result<Interval>> {
        let mut now = Interval::new(0.0, 1.0);
        let step = |look: &Share| {
            let interval = self.interval(*look);
            now = Interval::new(now.lower.max(interval.lower), now.upper.min(interval.upper));
            if now.lower <= now.upper { Ok(now) } else { Err(NoAnswer(Reason::RateChanged)) }
        };
        looks.iter().map(step).collect()
    }

    /// The interval for the difference a − b at this look: both shares at α/2.
    pub fn difference(self, a: Share, b: Share) -> Interval {
        let half = Self { alpha: self.alpha / 2.0, ..self };
        let (a, b) = (half.interval(a), half.interval(b));
        Interval::new(a.lower - b.upper, a.upper - b.lower)
    }
}

/// The normal mixture around the mean of `n` outcomes; all of 0 to 1 without any.
///
/// # Errors
/// When ρ or α is not above 0, or α not below 1.
pub fn normal_mixture(outcomes: &[f64], rho: f64, alpha: f64) -> Result<Interval> {
    check(outcomes, alpha)?;
    if rho.is_nan() || rho <= 0.0 {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    if outcomes.is_empty() {
        return Ok(Interval::new(0.0, 1.0));
    }
    let n = outcomes.len() as f64;
    let (mean, v) = (outcomes.iter().sum::<f64>() / n, n / 4.0 + rho);
    let radius = (v * (v / (rho * alpha * alpha)).ln()).sqrt() / n;
    Ok(Interval::new(mean - radius, mean + radius).within(0.0, 1.0))
}

/// The mean that an empirical Bernstein sequence measures its spread from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// The regularised running mean of the paper, which starts at ½.
    Regularised,
    /// The plain running mean, 0 before the first outcome (of the outcomes' complements for the upper end).
    Plain,
}

/// The empirical Bernstein interval after all outcomes, each within 0 to 1.
///
/// # Errors
/// When an outcome, α or the cap of the weights is out of bounds.
pub fn empirical_bernstein(outcomes: &[f64], alpha: f64, cap: f64, spread: Spread) -> Result<Interval> {
    check(outcomes, alpha)?;
    if !(cap > 0.0 && cap < 1.0) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let turned: Vec<f64> = outcomes.iter().map(|x| 1.0 - x).collect();
    let lower = bernstein_lower(outcomes, alpha, cap, spread);
    let upper = 1.0 - bernstein_lower(&turned, alpha, cap, spread);
    Ok(Interval::new(lower, upper).within(0.0, 1.0))
}

fn check(outcomes: &[f64], alpha: f64) -> Result<()> {
    if alpha > 0.0 && alpha < 1.0 && outcomes.iter().all(|x| (0.0..=1.0).contains(x)) {
        return Ok(());
    }
    Err(NoAnswer(Reason::NotAProbability))
}

fn bernstein_lower(outcomes: &[f64], alpha: f64, cap: f64, spread: Spread) -> f64 {
    let reach = (2.0 / alpha).ln();
    let (mut sum, mut squares) = (0.0, 0.0);
    let (mut weights, mut weighted, mut cost) = (0.0, 0.0, 0.0);
    for (index, x) in outcomes.iter().enumerate() {
        let before = index as f64;
        let t = before + 1.0;
        let variance = (0.25 + squares) / t;
        let weight = (2.0 * reach / (variance * t * (1.0 + t).ln())).sqrt().min(cap);
        let mean = match spread {
            Spread::Regularised => (0.5 + sum) / t,
            Spread::Plain if index == 0 => 0.0,
            Spread::Plain => sum / before,
        };
        cost += 4.0 * (x - mean).powi(2) * (-(-weight).ln_1p() - weight) / 4.0;
        weights += weight;
        weighted += weight * x;
        sum += x;
        squares += (x - (0.5 + sum) / (t + 1.0)).powi(2);
    }
    if weights > 0.0 { (weighted - reach - cost) / weights } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    fn share(reached: u32, of: u32) -> Share {
        Share::new(reached, of).expect("a share")
    }

    #[test]
    fn a_changed_rate_is_said_and_not_turned_round() {
        let looks: Vec<Share> = (1..=200).map(|n: u32| share(n.min(40), n)).collect();
        let running = Mixture::DEFAULT.running(&looks);
        assert!(running[39].is_ok());
        assert_eq!(running[199], Err(NoAnswer(Reason::RateChanged)));
    }

    /// All looks together hold the truth at least as often as said: α + 3 standard errors over 3,000 runs.
    #[test]
    fn all_looks_hold_together() {
        let mut random = Random::new(2);
        for p in [0.1, 0.5] {
            let runs = 3_000;
            let mut missed = 0;
            for _ in 0..runs {
                let mut reached = 0;
                let looks = (1..=40).map(|n| {
                    reached += u32::from(random.unit() < p);
                    share(reached, n)
                });
                let ever = looks
                    .collect::<Vec<_>>()
                    .into_iter()
                    .any(|look| Mixture::DEFAULT.evidence(look, p).expect("p") >= 20.0);
                missed += u32::from(ever);
            }
            let rate = f64::from(missed) / f64::from(runs);
            assert!(rate <= 0.05 + 3.0 * (0.05 * 0.95 / f64::from(runs)).sqrt(), "{p}: {rate}");
        }
    }

    #[test]
    fn ends_and_refusals() {
        assert_eq!(Mixture::DEFAULT.interval(share(0, 0)), Interval::new(0.0, 1.0));
        assert_eq!(Mixture::DEFAULT.interval(share(0, 9)).lower, 0.0);
        assert_eq!(Mixture::DEFAULT.interval(share(9, 9)).upper, 1.0);
        assert_eq!(Mixture::DEFAULT.evidence(share(1, 9), 0.0), Ok(f64::INFINITY));
        assert!(Mixture::new(0.0, 1.0, 0.05).is_err() && Mixture::DEFAULT.evidence(share(1, 9), 1.5).is_err());
        assert!(normal_mixture(&[2.0], 2.0, 0.05).is_err() && normal_mixture(&[1.0], f64::NAN, 0.05).is_err());
        assert!(empirical_bernstein(&[1.0], 0.05, 1.0, Spread::Plain).is_err());
    }
}
