//! The exact conditional test over strata: the test of tries with blocks and of several tries.
//!
//! Given all margins, S = Σxₐ is a sum of independent hypergeometric counts, so that P(S = s) is their convolution.
//! Two-sided: all s not more probable than the one seen (relative slack 1e-7), mid-p with the equally probable ones
//! half. With a common odds ratio ψ the probabilities are in proportion to c(s) ψˢ: the conditional estimate solves
//! E(S) = s, and the limits have α/2 in their tail; 0 or infinite where s is the least or the greatest there can be.
//! Gart 1970, Biometrika 57:471; Breslow & Day 1980, *Statistical Methods in Cancer Research* 1, §4.
//! Beyond [`MOST_STATES`] products the corrected Cochran–Mantel–Haenszel p stands in, and no odds ratio is given.

use super::strata::{Stratum, used};
use super::tables::{EQUALLY_PROBABLE, Row};
use super::{How, Interval, Level, MOST_STATES, NoAnswer, Reason, Result, Tested, cmh, mantel_haenszel, roots};

/// The exact p-values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exact {
    /// All sums that are not more probable.
    pub two_sided: f64,
    /// At least as many in group a.
    pub a_greater: f64,
    /// At most as many in group a.
    pub a_less: f64,
    /// Two-sided, the equally probable ones counted half.
    pub mid_p: f64,
}

/// The conditional estimate of a common odds ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddsRatio {
    /// The estimate, from 0 to infinite.
    pub estimate: f64,
    /// Its limits.
    pub interval: Interval,
}

/// The two-sided p-value, or its stand-in.
///
/// # Errors
/// When no stratum has both groups.
///
/// # Two size classes together say more than either
/// ```
/// # use bloomdue_core::evidence::{Share, exact_conditional::two_sided, strata::Stratum};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let class = Stratum { a: Share::new(4, 4)?, b: Share::new(1, 4)? };
/// assert!(two_sided(&[class, class])?.p < two_sided(&[class])?.p);
/// # Ok(())
/// # }
/// ```
pub fn two_sided(strata: &[Stratum]) -> Result<Tested> {
    match test(strata) {
        Err(NoAnswer(Reason::TooManyStates)) => Ok(Tested { p: cmh::test(strata)?.p_corrected, how: How::Normal }),
        exact => exact.map(|exact| Tested { p: exact.two_sided, how: How::Exact }),
    }
}

/// All exact p-values.
///
/// # Errors
/// When no stratum has both groups, or there are too many products to sum.
pub fn test(strata: &[Stratum]) -> Result<Exact> {
    let sums = Sums::new(strata, 1.0)?;
    let row = Row { least: 0, p: sums.p };
    let (two_sided, equal) = row.two_sided()[sums.seen];
    Ok(Exact {
        two_sided,
        a_greater: row.p[sums.seen..].iter().rev().sum::<f64>().min(1.0),
        a_less: row.p[..=sums.seen].iter().sum::<f64>().min(1.0),
        mid_p: (two_sided - equal / 2.0).clamp(0.0, 1.0),
    })
}

/// The distribution of the sum, from the least there can be on.
struct Sums {
    p: Vec<f64>,
    seen: usize,
}

impl Sums {
    /// The distribution at one odds ratio.
    fn new(strata: &[Stratum], odds_ratio: f64) -> Result<Self> {
        let strata = used(strata);
        if strata.is_empty() {
            return Err(NoAnswer(Reason::Confounded));
        }
        let (mut p, mut seen, mut products) = (vec![1.0], 0, 0_u64);
        for Stratum { a, b } in strata {
            let row = Row::new(a.of(), b.of(), a.reached() + b.reached());
            seen += row.index(a.reached());
            products = products.saturating_add((p.len() * row.p.len()) as u64);
            if products > MOST_STATES {
                return Err(NoAnswer(Reason::TooManyStates));
            }
            p = convolved(&p, &tilted(&row.p, odds_ratio.ln()));
        }
        Ok(Self { p, seen })
    }
}

/// Probabilities in proportion to p(s) eˢᵗ.
fn tilted(p: &[f64], t: f64) -> Vec<f64> {
    if t == 0.0 {
        return p.to_vec();
    }
    let logs: Vec<f64> = p.iter().enumerate().map(|(s, p)| p.ln() + s as f64 * t).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let all: f64 = logs.iter().map(|log| (log - top).exp()).sum();
    logs.iter().map(|log| (log - top).exp() / all).collect()
}

pub(super) fn convolved(p: &[f64], q: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; p.len() + q.len() - 1];
    for (i, p) in p.iter().enumerate() {
        for (to, q) in sum[i..].iter_mut().zip(q) {
            *to += p * q;
        }
    }
    sum
}

/// The conditional estimate of a common odds ratio with its limits.
///
/// # Errors
/// When no stratum has both groups, nothing could have come out otherwise, or there are too many products to sum.
pub fn odds_ratio(strata: &[Stratum], level: Level) -> Result<OddsRatio> {
    // Near the estimate nothing underflows, so the sums are taken there and tilted from there.
    let near = match mantel_haenszel::odds_ratio(strata, level) {
        Ok(pooled) if pooled.estimate > 1e-6 && pooled.estimate < 1e6 => pooled.estimate,
        _ => 1.0,
    };
    let Sums { p, seen } = Sums::new(strata, near)?;
    let last = p.len() - 1;
    if last == 0 {
        return Err(NoAnswer(Reason::NoVariation));
    }
    let solve = |f: &dyn Fn(&[f64]) -> f64| (near.ln() + roots::bracketed(|t| f(&tilted(&p, t)), -60.0, 60.0)).exp();
    let tail = level.tail();
    let mean = |p: &[f64]| p.iter().enumerate().map(|(s, p)| s as f64 * p).sum::<f64>() - seen as f64;
    let upper = |p: &[f64]| p[seen..].iter().sum::<f64>() - tail;
    let lower = |p: &[f64]| tail - p[..=seen].iter().sum::<f64>();
    let at_least = seen == 0;
    let at_most = seen == last;
    Ok(OddsRatio {
        estimate: if at_least {
            0.0
        } else if at_most {
            f64::INFINITY
        } else {
            solve(&mean)
        },
        interval: Interval::new(
            if at_least { 0.0 } else { solve(&upper) },
            if at_most { f64::INFINITY } else { solve(&lower) },
        ),
    })
}

/// How probable, of all allotments within the blocks, the most extreme one is: the smallest p this design can reach.
///
/// # Errors
/// As [`test()`].
pub fn smallest_p(strata: &[Stratum]) -> Result<f64> {
    let p = Sums::new(strata, 1.0)?.p;
    let least = p.iter().copied().fold(1.0, f64::min);
    Ok(p.iter().filter(|&&p| p <= least * (1.0 + EQUALLY_PROBABLE)).sum())
}

#[cfg(test)]
mod tests {
    use super::super::Share;
    use super::*;

    fn stratum(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Stratum {
        Stratum { a: Share::new(x_a, n_a).expect("a"), b: Share::new(x_b, n_b).expect("b") }
    }

    /// One stratum is Fisher's test.
    #[test]
    fn one_stratum_is_fisher() {
        let one = stratum(7, 9, 3, 11);
        let (exact, fisher) = (test(&[one]).expect("a test"), super::super::fisher::test(one.a, one.b));
        assert!((exact.two_sided - fisher.two_sided).abs() < 1e-14);
        assert!((exact.mid_p - fisher.mid_p).abs() < 1e-14);
    }

    #[test]
    fn separation_gives_half_lines() {
        let all = [stratum(4, 4, 0, 4), stratum(3, 3, 0, 3)];
        let ratio = odds_ratio(&all, Level::PCT_95).expect("a ratio");
        assert_eq!((ratio.estimate, ratio.interval.upper), (f64::INFINITY, f64::INFINITY));
        assert!(ratio.interval.lower > 1.0 && ratio.interval.lower.is_finite());
        let swapped = [stratum(0, 4, 4, 4), stratum(0, 3, 3, 3)];
        let other = odds_ratio(&swapped, Level::PCT_95).expect("a ratio");
        assert_eq!((other.estimate, other.interval.lower), (0.0, 0.0));
        assert!((other.interval.upper * ratio.interval.lower - 1.0).abs() < 1e-9);
    }

    /// 3 v 3 reaches 0.10, two blocks of 3 v 3 0.005, 4 v 4 0.029.
    #[test]
    fn the_smallest_p_of_a_design() {
        let p = |strata: &[Stratum]| smallest_p(strata).expect("a design");
        assert!((p(&[stratum(3, 3, 0, 3)]) - 0.10).abs() < 1e-12);
        assert!((p(&[stratum(4, 4, 0, 4)]) - 2.0 / 70.0).abs() < 1e-12);
        assert!((p(&[stratum(3, 3, 0, 3), stratum(3, 3, 0, 3)]) - 0.005).abs() < 1e-12);
    }

    #[test]
    fn what_has_no_answer_is_said() {
        assert_eq!(test(&[stratum(3, 3, 0, 0)]), Err(NoAnswer(Reason::Confounded)));
        assert_eq!(odds_ratio(&[stratum(0, 3, 0, 3)], Level::PCT_95), Err(NoAnswer(Reason::NoVariation)));
        let large = stratum(50_000, 100_000, 50_500, 100_000);
        assert_eq!(two_sided(&[large, large]).map(|tested| tested.how), Ok(How::Normal));
    }
}
