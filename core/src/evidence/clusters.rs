//! The share of one group whose bulbs stand in containers that were drawn whole.
//!
//! Bulbs of one container are alike, so that they say less than as many bulbs by themselves. The variance of the share
//! is taken from the containers, v = m/(m−1) Σ(xᵢ − p nᵢ)² ÷ N², and compared with p(1−p)/N: their ratio is the design
//! effect, at least 1. Wilson's interval is then made for N ÷ design effect bulbs. With none or all in time the
//! containers show no spread, and each counts as one. Rao & Scott 1992, Biometrics 48:577.

use super::{Interval, Level, NoAnswer, Reason, Result, Share, wilson};

/// The interval from the shares of some containers.
///
/// # Errors
/// When fewer than two containers hold a resolved bulb, or there are too many bulbs.
pub fn interval(containers: &[Share], level: Level) -> Result<Interval> {
    let used: Vec<Share> = containers.iter().copied().filter(|share| share.of() > 0).collect();
    if used.len() < 2 {
        return Err(NoAnswer(Reason::NoVariation));
    }
    let sum = |f: fn(Share) -> u32| used.iter().map(|&share| f64::from(f(share))).sum::<f64>();
    let (reached, all) = (sum(Share::reached), sum(Share::of));
    let rate = reached / all;
    let m = used.len() as f64;
    let apart = |share: &Share| (share.x() - rate * share.n()).powi(2);
    let between = m / (m - 1.0) * used.iter().map(apart).sum::<f64>() / (all * all);
    let alone = rate * (1.0 - rate) / all;
    let effective = if alone > 0.0 { all / (between / alone).max(1.0) } else { m };
    Ok(wilson::of_rate(rate, effective, level))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(x: u32, n: u32) -> Share {
        Share::new(x, n).expect("a share")
    }

    /// Containers as alike as chance makes them add nothing; containers all or none count as one bulb each.
    #[test]
    fn the_less_alike_the_wider() {
        let alike = interval(&[share(5, 10); 4], Level::PCT_95).expect("alike");
        let bulbs = wilson::interval(share(20, 40), Level::PCT_95);
        assert!((alike.lower - bulbs.lower).abs() < 1e-12);
        let split = [share(10, 10), share(10, 10), share(0, 10), share(0, 10)];
        let split = interval(&split, Level::PCT_95).expect("split");
        // Design effect m/(m−1) · n = 40/3: three effective bulbs.
        let three = wilson::of_rate(0.5, 3.0, Level::PCT_95);
        assert!((split.lower - three.lower).abs() < 1e-12, "{split:?} {three:?}");
        let none = interval(&[share(0, 10); 4], Level::PCT_95).expect("none");
        let four = wilson::interval(share(0, 4), Level::PCT_95);
        assert!((none.upper - four.upper).abs() < 1e-12 && none.lower == 0.0);
    }

    #[test]
    fn one_container_says_nothing_of_spread() {
        assert!(interval(&[share(5, 10), share(0, 0)], Level::PCT_95).is_err());
        assert!(interval(&[], Level::PCT_95).is_err());
    }
}
