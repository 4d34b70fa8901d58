//! One treatment over several tries: its mean share, how much tries differ, and the next try.
//!
//! Every try has its own share p ~ Beta(mφ, (1−m)φ), φ = 1/ρ − 1, with m and ρ uniform on 0 to 1. The likelihood of x of
//! n is Π (m(1−ρ) + iρ) Π ((1−m)(1−ρ) + jρ) ÷ Π (1−ρ + kρ), i < x, j < n − x, k < n, a rational function without
//! singularities, so Gauss–Legendre in m and ρ serves. The prediction is the beta-binomial one of a new try of given
//! size. Gelman et al. 2013, *Bayesian Data Analysis*, ch. 5 for the model.

use super::{NoAnswer, Reason, Result, Share, special};

/// Nodes along m and along ρ.
const NODES: usize = 120;

/// Bulbs over all tries beyond which the nodes are too far apart.
const MOST_BULBS_TOGETHER: u32 = 3_000;

/// What the tries say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posterior {
    /// Mean of m.
    pub mean: f64,
    /// Standard deviation of m.
    pub sd: f64,
    /// Mean of ρ, the share of the spread that is between tries.
    pub rho: f64,
    /// Probability that a new try of the size asked for has at least as many as asked for.
    pub at_least: f64,
}

/// The posterior, and the probability of at least `wanted` in a new try of `size` bulbs.
///
/// # Errors
/// When there is no resolved bulb or there are too many of them.
pub fn posterior(tries: &[Share], size: u32, wanted: u32) -> Result<Posterior> {
    let all = tries.iter().fold(size, |all, one| all.saturating_add(one.of()));
    if tries.iter().all(|one| one.of() == 0) {
        return Err(NoAnswer(Reason::NoBulbs));
    }
    if all > MOST_BULBS_TOGETHER {
        return Err(NoAnswer(Reason::TooManyStates));
    }
    let nodes: Vec<(f64, f64)> =
        special::gauss_legendre(NODES).into_iter().map(|(x, w)| (f64::midpoint(x, 1.0), w)).collect();
    let mut points = Vec::with_capacity(NODES * NODES);
    for (m, weight_m) in &nodes {
        for (rho, weight_rho) in &nodes {
            let log: f64 = tries.iter().map(|one| ln_likelihood(one.reached(), one.of(), *m, *rho)).sum();
            points.push((*m, *rho, log, weight_m * weight_rho));
        }
    }
    let top = points.iter().map(|point| point.2).fold(f64::NEG_INFINITY, f64::max);
    let mut sums = [0.0; 5];
    for (m, rho, log, weight) in points {
        let weight = weight * (log - top).exp();
        if weight < 1e-18 {
            continue;
        }
        let values = [1.0, m, m * m, rho, at_least(size, wanted, m, rho)];
        sums.iter_mut().zip(values).for_each(|(sum, value)| *sum += weight * value);
    }
    let [all, m, square, rho, at_least] = sums;
    let mean = m / all;
    Ok(Posterior {
        mean,
        sd: (square / all - mean * mean).max(0.0).sqrt(),
        rho: rho / all,
        at_least: (at_least / all).clamp(0.0, 1.0),
    })
}

/// ln of the probability of one sequence with x of n.
fn ln_likelihood(x: u32, n: u32, m: f64, rho: f64) -> f64 {
    let (mut product, mut log) = (1.0_f64, 0.0);
    let mut times = |factor: f64| {
        product *= factor;
        if product < 1e-200 {
            log += product.ln();
            product = 1.0;
        }
    };
    for k in 0..n {
        let placed =
            if k < x { m * (1.0 - rho) + f64::from(k) * rho } else { (1.0 - m) * (1.0 - rho) + f64::from(k - x) * rho };
        times(placed / (1.0 - rho + f64::from(k) * rho));
    }
    log + product.ln()
}

/// P(at least `wanted` of `size`), by the ratio of neighbouring probabilities.
fn at_least(size: u32, wanted: u32, m: f64, rho: f64) -> f64 {
    if wanted > size {
        return 0.0;
    }
    let n = f64::from(size);
    let mut term = ln_likelihood(0, size, m, rho).exp();
    let (mut above, mut all) = (0.0, 0.0);
    for x in 0..=size {
        all += term;
        above += if x >= wanted { term } else { 0.0 };
        let x = f64::from(x);
        let up = m * (1.0 - rho) + x * rho;
        let down = (1.0 - m) * (1.0 - rho) + (n - x - 1.0) * rho;
        term *= (n - x) / (x + 1.0) * up / down.max(f64::MIN_POSITIVE);
    }
    if all > 0.0 { above / all } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(reached: u32, of: u32) -> Share {
        Share::new(reached, of).expect("a share")
    }

    #[test]
    fn mirrored_tries_give_the_mirrored_answer() {
        let one = posterior(&[share(6, 8), share(3, 9)], 10, 6).expect("a posterior");
        let other = posterior(&[share(2, 8), share(6, 9)], 10, 5).expect("a posterior");
        assert!((one.mean + other.mean - 1.0).abs() < 1e-10);
        assert!((one.rho - other.rho).abs() < 1e-10);
        assert!((one.at_least + other.at_least - 1.0).abs() < 1e-10);
    }

    #[test]
    fn ends_and_refusals() {
        let all = posterior(&[share(9, 9)], 5, 0).expect("a posterior");
        assert!((all.at_least - 1.0).abs() < 1e-12 && all.mean > 0.6);
        assert_eq!(posterior(&[share(9, 9)], 5, 6).map(|posterior| posterior.at_least), Ok(0.0));
        assert!(posterior(&[], 5, 1).is_err() && posterior(&[share(0, 0)], 5, 1).is_err());
        assert_eq!(posterior(&[share(5, 9_000)], 5, 1), Err(NoAnswer(Reason::TooManyStates)));
    }
}
