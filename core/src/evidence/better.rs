//! How probable it is that one share is larger than the other, from two beta posteriors.
//!
//! With priors Beta(α, β) the shares are Beta(α + x, β + n − x), independent; P(pₐ > p_b) = ∫ fₐ(p) F_b(p) dp, by
//! Gauss–Legendre in the angle arcsin √p, in which the integrand is smooth for whole and half counts. It is not
//! 1 − p of a test, and never evidence under repeated looks. A prior with a 0 may leave all probability at an end:
//! then that end counts as certain. Altham 1969, Journal of the Royal Statistical Society B 31:261, gives the link to
//! Fisher's test: with Beta(0, 1) on a and Beta(1, 0) on b, P(pₐ ≤ p_b) is its one-sided p.

use super::{NoAnswer, Reason, Result, Share, special};

/// A beta prior: as many bulbs that reached the stage, and as many that did not, as were seen before the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Prior count of bulbs that reached the stage, at least 0.
    pub reached: f64,
    /// Prior count of bulbs that did not, at least 0.
    pub missed: f64,
}

impl Prior {
    /// Jeffreys' prior, half a bulb each.
    pub const JEFFREYS: Self = Self { reached: 0.5, missed: 0.5 };
    /// Every share equally probable.
    pub const UNIFORM: Self = Self { reached: 1.0, missed: 1.0 };
}

/// P(share a > share b).
///
/// # Errors
/// When a prior count is negative or not finite, or when prior and counts together say nothing of a group.
///
/// # Equal counts make neither likelier
/// ```
/// # use bloomdue_core::evidence::{Share, better::{Prior, probability}};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let share = Share::new(6, 10)?;
/// let even = probability(share, share, Prior::JEFFREYS, Prior::JEFFREYS)?;
/// assert!((even - 0.5).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
pub fn probability(a: Share, b: Share, prior_a: Prior, prior_b: Prior) -> Result<f64> {
    let (a, b) = (posterior(a, prior_a)?, posterior(b, prior_b)?);
    Ok(match (a, b) {
        (Posterior::Certain(p), Posterior::Certain(q)) => f64::from(p > q),
        // An uncertain share is above 0 and below 1 for sure.
        (Posterior::Certain(p), Posterior::Beta(..)) => p,
        (Posterior::Beta(..), Posterior::Certain(q)) => 1.0 - q,
        // The narrower of the two is the density, so that the other's tail is smooth where it matters.
        (Posterior::Beta(a1, a2), Posterior::Beta(b1, b2)) if a1 + a2 >= b1 + b2 => {
            integral([a1, a2], [b1, b2], |tails| tails.0)
        }
        (Posterior::Beta(a1, a2), Posterior::Beta(b1, b2)) => integral([b1, b2], [a1, a2], |tails| tails.1),
    })
}

enum Posterior {
    Certain(f64),
    Beta(f64, f64),
}

fn posterior(share: Share, prior: Prior) -> Result<Posterior> {
    let valid = |count: f64| count >= 0.0 && count.is_finite();
    if !valid(prior.reached) || !valid(prior.missed) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let (reached, missed) = (share.x() + prior.reached, share.n() - share.x() + prior.missed);
    match (reached > 0.0, missed > 0.0) {
        (true, true) => Ok(Posterior::Beta(reached, missed)),
        (true, false) => Ok(Posterior::Certain(1.0)),
        (false, true) => Ok(Posterior::Certain(0.0)),
        (false, false) => Err(NoAnswer(Reason::NoBulbs)),
    }
}

/// ∫ f(p) G(p) dp over all but 1e-16 of the first distribution, with G the lower or the upper tail of the second.
fn integral([a1, a2]: [f64; 2], [b1, b2]: [f64; 2], tail: impl Fn((f64, f64)) -> f64) -> f64 {
    let low = special::beta_quantile(a1, a2, 1e-16).sqrt().asin();
    let high = std::f64::consts::FRAC_PI_2 - special::beta_quantile(a2, a1, 1e-16).sqrt().asin();
    let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
    let (mut above, mut all) = (0.0, 0.0);
    for (node, weight) in special::gauss_legendre(80) {
        let angle = middle + half * node;
        let (x, y) = (angle.sin().powi(2), angle.cos().powi(2));
        let density = weight * special::binomial_term(a1, a1 + a2, x, y) / (angle.sin() * angle.cos());
        all += density;
        above += density * tail(special::beta_tails(b1, b2, x, y));
    }
    // Dividing by the mass seen takes away the ends left out and the constant factors.
    (above / all).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// For whole counts the integral is a finite sum (Altham 1969): P(A > B) = Σ_{i<a₁} B(b₁+i, a₂+b₂)/((a₂+i) …).
    fn finite_sum(a1: u32, a2: u32, b1: u32, b2: u32) -> f64 {
        let ln_beta = |x: f64, y: f64| special::ln_gamma(x) + special::ln_gamma(y) - special::ln_gamma(x + y);
        let [a2, b1, b2] = [a2, b1, b2].map(f64::from);
        (0..a1)
            .map(|i| {
                let i = f64::from(i);
                (ln_beta(b1 + i, a2 + b2) - (a2 + i).ln() - ln_beta(1.0 + i, a2) - ln_beta(b1, b2)).exp()
            })
            .sum()
    }

    #[test]
    fn quadrature_agrees_with_the_finite_sum() {
        for (x_a, n_a, x_b, n_b) in [(7, 8, 3, 8), (0, 5, 5, 5), (3, 40, 20, 400), (250, 400, 260, 400), (1, 3, 0, 400)]
        {
            let (a, b) = (Share::new(x_a, n_a).expect("a"), Share::new(x_b, n_b).expect("b"));
            let got = probability(a, b, Prior::UNIFORM, Prior::UNIFORM).expect("a probability");
            let exact = finite_sum(x_a + 1, n_a - x_a + 1, x_b + 1, n_b - x_b + 1);
            assert!((got - exact).abs() < 1e-10, "{x_a}/{n_a} v {x_b}/{n_b}: {got} {exact}");
        }
    }

    #[test]
    fn both_ways_add_up_to_one() {
        for (x_a, n_a, x_b, n_b) in [(0, 1, 1, 1), (2, 2, 0, 2), (50_000, 100_000, 50_500, 100_000), (0, 0, 0, 100_000)]
        {
            let (a, b) = (Share::new(x_a, n_a).expect("a"), Share::new(x_b, n_b).expect("b"));
            let one = probability(a, b, Prior::JEFFREYS, Prior::JEFFREYS).expect("a probability");
            let other = probability(b, a, Prior::JEFFREYS, Prior::JEFFREYS).expect("a probability");
            assert!((one + other - 1.0).abs() < 1e-7, "{one} {other}");
        }
        let none = Prior { reached: 0.0, missed: 0.0 };
        let empty = Share::new(0, 0).expect("empty");
        assert!(probability(empty, empty, none, none).is_err());
    }
}
