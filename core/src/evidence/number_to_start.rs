//! How many bulbs to start for at least K with a given assurance.
//!
//! With a known share p: the smallest n with P(X ≥ K) ≥ assurance, X binomial. With a share learned from past bulbs the
//! beta-binomial with the posterior's parameters, which needs noticeably more and may not get there at all (Laplace's
//! rule of succession is its uniform case). P(X ≥ K) grows with n, so the smallest n is found by halving. Its terms are
//! summed one by one, so that no more than [`MOST_BULBS`] bulbs are looked at.

use super::{MOST_BULBS, NoAnswer, Reason, Result, special};

/// What is known of the share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// The share itself.
    Share(f64),
    /// A beta posterior with these two parameters, both above 0.
    Beta(f64, f64),
}

/// The number to start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// The smallest number of bulbs.
    pub bulbs: u32,
    /// The assurance with it.
    pub assurance: f64,
    /// The assurance with one bulb fewer.
    pub with_one_fewer: f64,
}

/// The probability of at least `wanted` of `bulbs`.
///
/// # Errors
/// When a parameter is out of bounds, or there are more bulbs than [`MOST_BULBS`].
pub fn assurance(known: Known, bulbs: u32, wanted: u32) -> Result<f64> {
    if bulbs > MOST_BULBS {
        return Err(NoAnswer(Reason::TooManyStates));
    }
    let valid = match known {
        Known::Share(p) => (0.0..=1.0).contains(&p),
        Known::Beta(a, b) => a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite(),
    };
    if !valid {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    if wanted == 0 {
        return Ok(1.0);
    }
    if wanted > bulbs {
        return Ok(0.0);
    }
    Ok(match known {
        Known::Share(p) => special::beta_tails(f64::from(wanted), f64::from(bulbs - wanted) + 1.0, p, 1.0 - p).0,
        Known::Beta(a, b) => beta_binomial(a, b, bulbs, wanted),
    })
}

/// P(X ≥ `wanted`) of the beta-binomial, from the side with fewer terms.
fn beta_binomial(a: f64, b: f64, bulbs: u32, wanted: u32) -> f64 {
    let n = f64::from(bulbs);
    let ln_beta = |x: f64, y: f64| special::ln_gamma(x) + special::ln_gamma(y) - special::ln_gamma(x + y);
    let term = |x: f64| {
        let choose = -(n + 1.0).ln() - ln_beta(x + 1.0, n - x + 1.0);
        (choose + ln_beta(a + x, b + n - x) - ln_beta(a, b)).exp()
    };
    let up = |x: f64| (n - x) / (x + 1.0) * (a + x) / (b + n - x - 1.0);
    let start = f64::from(wanted);
    if wanted <= bulbs / 2 {
        let (mut x, mut probability, mut below) = (start - 1.0, term(start - 1.0), 0.0);
        loop {
            below += probability;
            if x == 0.0 {
                return (1.0 - below).clamp(0.0, 1.0);
            }
            x -= 1.0;
            probability /= up(x);
        }
    }
    let (mut x, mut probability, mut above) = (start, term(start), 0.0);
    while x <= n {
        above += probability;
        if x < n {
            probability *= up(x);
        }
        x += 1.0;
    }
    above.clamp(0.0, 1.0)
}

/// The smallest number of bulbs, up to `most`, that gives at least `wanted` with `target` probability.
///
/// # Errors
/// When not even `most` bulbs are enough, a parameter is out of bounds, or `most` is more than [`MOST_BULBS`].
pub fn number_to_start(known: Known, wanted: u32, target: f64, most: u32) -> Result<Start> {
    if !(target > 0.0 && target < 1.0) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    if assurance(known, most, wanted)? < target {
        return Err(NoAnswer(Reason::NotWithReach));
    }
    let (mut short, mut enough) = (wanted.saturating_sub(1), most);
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if assurance(known, middle, wanted)? >= target { enough = middle } else { short = middle }
    }
    let bulbs = if wanted == 0 { 0 } else { enough };
    Ok(Start {
        bulbs,
        assurance: assurance(known, bulbs, wanted)?,
        with_one_fewer: bulbs.checked_sub(1).map_or(Ok(0.0), |fewer| assurance(known, fewer, wanted))?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_number_is_the_smallest() {
        for (known, wanted) in
            [(Known::Share(0.7), 10), (Known::Beta(8.0, 3.0), 5), (Known::Share(1.0), 4), (Known::Beta(0.5, 3.5), 1)]
        {
            let start = number_to_start(known, wanted, 0.8, 100_000).expect("a number");
            assert!(start.assurance >= 0.8 && start.with_one_fewer < 0.8, "{known:?} {start:?}");
        }
    }

    #[test]
    fn both_sides_of_the_beta_binomial_meet() {
        for wanted in 1..=40 {
            let got = assurance(Known::Beta(2.5, 1.5), 40, wanted).expect("an assurance");
            let mirrored = assurance(Known::Beta(1.5, 2.5), 40, 41 - wanted).expect("an assurance");
            assert!((got + mirrored - 1.0).abs() < 1e-12, "{wanted}: {got} {mirrored}");
        }
    }

    #[test]
    fn what_has_no_answer_is_said() {
        assert_eq!(number_to_start(Known::Share(0.0), 1, 0.9, 1_000), Err(NoAnswer(Reason::NotWithReach)));
        assert_eq!(number_to_start(Known::Beta(0.1, 5.0), 50, 0.99, 1_000), Err(NoAnswer(Reason::NotWithReach)));
        assert!(number_to_start(Known::Share(1.5), 1, 0.9, 100).is_err());
        assert!(number_to_start(Known::Beta(0.0, 1.0), 1, 0.9, 100).is_err());
        assert_eq!(number_to_start(Known::Share(0.5), 0, 0.9, 100).map(|start| start.bulbs), Ok(0));
    }

    #[test]
    fn no_more_bulbs_are_looked_at_than_said() {
        let too_many = NoAnswer(Reason::TooManyStates);
        for known in [Known::Share(0.7), Known::Beta(7.0, 3.0), Known::Beta(7e6, 3e6)] {
            assert_eq!(assurance(known, u32::MAX, 2_000_000_000), Err(too_many), "{known:?}");
            assert_eq!(number_to_start(known, 3_000_000, 0.9, u32::MAX), Err(too_many), "{known:?}");
            let never = NoAnswer(Reason::NotWithReach);
            assert_eq!(number_to_start(known, MOST_BULBS, 0.9, MOST_BULBS), Err(never), "{known:?}");
        }
    }
}
