//! A claim about the kind of place, or over tries, where the place or the try is the unit: the sign-flip test.
//!
//! Every unit gives one difference of its two groups. If the treatment does nothing, each difference was as likely to
//! come out with the other sign, so that all 2ᵏ sign patterns are equally likely and p is the share of them whose sum
//! is at least as far from 0. With k units no p below 2/2ᵏ can be reached, which is printed with it. Fisher 1935, *The
//! Design of Experiments*, §21.

use super::permutation::{self, Permuted, Scored};
use super::{NoAnswer, Reason, Result};

/// The test and the smallest p that so many units can reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignFlip {
    /// Mean difference.
    pub mean: f64,
    /// The test over all sign patterns; its sum is half the sum of the differences.
    pub test: Permuted,
    /// 2 ÷ 2ᵏ.
    pub smallest_p: f64,
}

/// The sign-flip test of some differences.
///
/// # Errors
/// When there are fewer than two, or one is no number.
pub fn test(differences: &[f64]) -> Result<SignFlip> {
    if differences.len() < 2 {
        return Err(NoAnswer(Reason::OneTry));
    }
    // A pair of half the difference with both signs, of which one is drawn, is a sign.
    let pairs = differences.iter().enumerate().flat_map(|(block, difference)| {
        let half = |sign: f64, in_a| Scored { score: sign * difference / 2.0, in_a, block };
        [half(1.0, true), half(-1.0, false)]
    });
    let test = permutation::test(&pairs.collect::<Vec<_>>())?;
    Ok(SignFlip {
        mean: differences.iter().sum::<f64>() / differences.len() as f64,
        test,
        smallest_p: 2.0 * 0.5_f64.powf(differences.len() as f64),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Darwin's maize, as in Fisher 1935 §21: 863 of 32,768 patterns have a sum at least as large, two-sided 0.0527.
    #[test]
    fn darwins_maize() {
        let eighths = [49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0];
        let tested = test(&eighths).expect("a test");
        assert!((tested.test.upper - 863.0 / 32_768.0).abs() < 1e-12, "{}", tested.test.upper * 32_768.0);
        assert!((tested.test.two_sided - 2.0 * 863.0 / 32_768.0).abs() < 1e-12);
        assert!((tested.test.draws - 32_768.0).abs() < 0.5);
    }

    #[test]
    fn three_tries_cannot_reach_a_small_p() {
        let tested = test(&[0.4, 0.3, 0.5]).expect("a test");
        assert!((tested.test.two_sided - 0.25).abs() < 1e-12 && (tested.smallest_p - 0.25).abs() < 1e-12);
        assert_eq!(test(&[0.4]), Err(NoAnswer(Reason::OneTry)));
        assert!(test(&[0.4, f64::NAN]).is_err());
    }
}
