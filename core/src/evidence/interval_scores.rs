//! Do groups reach the stage at different speeds, from looks that only bound the day.
//!
//! With S the pooled Turnbull curve every bulb gets the log-rank score for intervals, (S(l) ln S(l) − S(r) ln S(r)) ÷
//! (S(l) − S(r)), with 0 ln 0 = 0: large for early bulbs, ln S(l) for open ones. The scores sum to 0 and are permuted
//! within blocks, which is valid whatever the looks' days were, as long as they do not depend on the group.
//! Finkelstein 1986, Biometrics 42:845; permutation of such scores: Sun 1996, Statistics in Medicine 15:1387.

use super::permutation::{self, Permuted, Scored};
use super::turnbull::{Bounds, Curve};
use super::{Result, turnbull};

/// One bulb with its group and block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member {
    /// What the looks say.
    pub bounds: Bounds,
    /// Whether it is in group a.
    pub in_a: bool,
    /// Its block.
    pub block: usize,
}

/// The score of every bulb, in the order given.
///
/// # Errors
/// As [`Curve::new`].
pub fn scores(bulbs: &[Bounds]) -> Result<Vec<f64>> {
    let curve = Curve::new(bulbs)?;
    let entropy = |s: f64| if s > 1e-12 { s * s.ln() } else { 0.0 };
    let score = |bulb: &Bounds| {
        let within = |stretch: &turnbull::Stretch| {
            let exact = bulb.left == bulb.right;
            let starts = if exact {
                stretch.left >= bulb.left
            } else {
                stretch.left > bulb.left || (stretch.left == bulb.left && stretch.right > stretch.left)
            };
            starts && stretch.right <= bulb.right
        };
        let first = curve.stretches.iter().position(within).unwrap_or(0);
        let before: f64 = curve.stretches[..first].iter().map(|stretch| stretch.mass).sum();
        let mass: f64 = curve.stretches.iter().filter(|stretch| within(stretch)).map(|stretch| stretch.mass).sum();
        let (left, right) = (1.0 - before, 1.0 - before - mass);
        (entropy(left) - entropy(right)) / mass
    };
    Ok(bulbs.iter().map(score).collect())
}

/// The bulbs with their pooled scores.
///
/// # Errors
/// As [`scores`].
pub fn scored(members: &[Member]) -> Result<Vec<Scored>> {
    let bounds: Vec<Bounds> = members.iter().map(|member| member.bounds).collect();
    let scored = |(member, score): (&Member, f64)| Scored { score, in_a: member.in_a, block: member.block };
    Ok(members.iter().zip(scores(&bounds)?).map(scored).collect())
}

/// The exact permutation test of the pooled scores within blocks.
///
/// # Errors
/// As [`scores`].
pub fn test(members: &[Member]) -> Result<Permuted> {
    permutation::test(&scored(members)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn scores_sum_to_nothing(raw in prop::collection::vec((0_u8..30, 0_u8..12, 0_u8..5), 1..60)) {
            let bulbs: Vec<Bounds> = raw.iter().map(|&(left, length, open)| {
                let left = f64::from(left);
                Bounds { left, right: if open == 0 { f64::INFINITY } else { left + f64::from(length) } }
            }).collect();
            let scores = scores(&bulbs).expect("scores");
            prop_assert!(scores.iter().all(|score| score.is_finite()), "{scores:?}");
            prop_assert!(scores.iter().sum::<f64>().abs() < 1e-6, "{}", scores.iter().sum::<f64>());
        }
    }

    #[test]
    fn four_early_against_four_late() {
        let member = |bulb: u32, in_a| Member {
            bounds: Bounds { left: f64::from(7 * bulb), right: f64::from(7 * bulb + 7) },
            in_a,
            block: 0,
        };
        let mut members: Vec<Member> = (1..=4).map(|bulb| member(bulb, true)).collect();
        members.extend((5..=8).map(|bulb| member(bulb, false)));
        let tested = test(&members).expect("a test");
        assert!((tested.upper - 1.0 / 70.0).abs() < 1e-12);
    }
}
