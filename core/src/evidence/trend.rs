//! Trend over ordered levels, with the real dose (weeks of rest, per cent of shade) as the score.
//!
//! T = Σ sᵢxᵢ given the total m. Exact: the distribution of T over all tables with these margins. Two-sided either
//! twice the smaller tail or by distance, |T − E(T)| at least as large. For reading, z = (T − E(T)) ÷ √V with
//! V = p(1−p)(Σns² − (Σns)²/N), N and not N − 1. Far more power than a test of any difference when the levels have an
//! order. Cochran 1954, Biometrics 10:417; Armitage 1955, Biometrics 11:375; exact: Agresti 2002, *Categorical Data
//! Analysis*, §3.5. Beyond [`MOST_STATES`] sums, or for scores that are no small multiples of a common step, the normal
//! approximation stands in and says so.

use super::{CannotSay, How, MOST_STATES, Reason, Said, Share, special};

/// The exact p-values of a trend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exact {
    /// T at least as large.
    pub increasing: f64,
    /// T at most as large.
    pub decreasing: f64,
    /// Twice the smaller tail, at most 1.
    pub doubled: f64,
    /// |T − E(T)| at least as large.
    pub distance: f64,
    /// Twice the smaller tail with the table's own T counted half, at most 1.
    pub mid_p_doubled: f64,
}

/// A trend over groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// (T − E(T)) ÷ √V; refused when nobody or everybody reached the stage or all scores are the same.
    pub z: Said<f64>,
    /// Two-sided p of z; 1 when z is refused.
    pub asymptotic: f64,
    /// The exact p-values; refused with too many sums.
    pub exact: Said<Exact>,
}

impl Trend {
    /// The two-sided p-value by distance, or the normal approximation where the exact one has too many sums.
    pub fn two_sided(&self) -> super::Tested {
        match self.exact {
            Ok(exact) => super::Tested {
                p: exact.distance,
                how: How::Exact,
            },
            Err(_) => super::Tested {
                p: self.asymptotic,
                how: How::Normal,
            },
        }
    }
}

/// The trend of the groups' shares over their scores.
///
/// # Errors
/// When the numbers of groups and scores differ, a score is not finite, or there is no bulb at all.
pub fn test(groups: &[Share], scores: &[f64]) -> Said<Trend> {
    if groups.len() != scores.len() || scores.iter().any(|score| !score.is_finite()) {
        return Err(CannotSay(Reason::NoScore));
    }
    let sum = |f: &dyn Fn(Share, f64) -> f64| {
        groups
            .iter()
            .zip(scores)
            .map(|(&group, &score)| f(group, score))
            .sum::<f64>()
    };
    let (all, reached) = (sum(&|group, _| group.n()), sum(&|group, _| group.x()));
    if all == 0.0 {
        return Err(CannotSay(Reason::NoBulbs));
    }
    let share = reached / all;
    let mean = sum(&|group, score| group.n() * score) / all;
    let gap = sum(&|group, score| group.x() * (score - mean));
    let variance = share * (1.0 - share) * sum(&|group, score| group.n() * (score - mean).powi(2));
    let z = if variance > 0.0 {
        Ok(gap / variance.sqrt())
    } else {
        Err(CannotSay(Reason::NoVariation))
    };
    Ok(Trend {
        z,
        asymptotic: z.map_or(1.0, special::normal_two_sided),
        exact: exact(groups, scores),
    })
}

/// Scores as whole multiples of their smallest common step, the least at 0; nothing when there is no such step.
fn steps(scores: &[f64]) -> Option<Vec<usize>> {
    let least = scores.iter().copied().fold(f64::INFINITY, f64::min);
    let whole = |factor: f64| {
        let scaled = scores.iter().map(|score| (score - least) * factor);
        let near = |step: f64| (step - step.round()).abs() <= 1e-9 * step.max(1.0) && step < 1e6;
        scaled
            .map(|step| near(step).then_some(step.round() as usize))
            .collect::<Option<Vec<usize>>>()
    };
    let mut steps = (1..=1000).find_map(|factor| whole(f64::from(factor)))?;
    let gcd = steps.iter().fold(0, |a, &b| greatest_divisor(a, b)).max(1);
    steps.iter_mut().for_each(|step| *step /= gcd);
    Some(steps)
}

fn greatest_divisor(mut a: usize, mut b: usize) -> usize {
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// The distribution of Σ steps·x given the total, one probability a sum.
fn distribution(groups: &[Share], steps: &[usize], total: usize) -> Said<Vec<f64>> {
    let all: f64 = groups.iter().map(|group| group.n()).sum();
    let share = total as f64 / all;
    let widest = steps.iter().max().copied().unwrap_or(0);
    let width = total.saturating_mul(widest).saturating_add(1);
    if (total as u64 + 1).saturating_mul(width as u64) > MOST_STATES {
        return Err(CannotSay(Reason::TooManyStates));
    }
    // One row for every number placed so far, one column for every sum.
    let mut now = vec![0.0; (total + 1) * width];
    now[0] = 1.0;
    for (group, &step) in groups.iter().zip(steps) {
        let mut next = vec![0.0; now.len()];
        for x in 0..=(group.of() as usize).min(total) {
            let weight = special::binomial_term(x as f64, group.n(), share, 1.0 - share);
            let shift = x * width + x * step;
            for (to, from) in next[shift..].iter_mut().zip(&now) {
                *to += weight * from;
            }
        }
        now = next;
    }
    let mut last = now.split_off(total * width);
    let sum: f64 = last.iter().sum();
    last.iter_mut().for_each(|p| *p /= sum);
    Ok(last)
}

fn exact(groups: &[Share], scores: &[f64]) -> Said<Exact> {
    let steps = steps(scores).ok_or(CannotSay(Reason::NoScore))?;
    let total: usize = groups.iter().map(|group| group.reached() as usize).sum();
    let distribution = distribution(groups, &steps, total)?;
    let seen: usize = groups
        .iter()
        .zip(&steps)
        .map(|(group, step)| group.reached() as usize * step)
        .sum();
    let increasing = distribution[seen..].iter().sum::<f64>().min(1.0);
    let decreasing = distribution[..=seen].iter().sum::<f64>().min(1.0);
    // N·|T − E(T)| in whole numbers, so that ties are ties.
    let all: i128 = groups.iter().map(|group| i128::from(group.of())).sum();
    let weighted: i128 = groups
        .iter()
        .zip(&steps)
        .map(|(group, &step)| i128::from(group.of()) * step as i128)
        .sum();
    let far = |sum: usize| (all * sum as i128 - weighted * total as i128).abs();
    let tails = distribution
        .iter()
        .enumerate()
        .filter(|&(sum, _)| far(sum) >= far(seen));
    let tail = increasing.min(decreasing);
    Ok(Exact {
        increasing,
        decreasing,
        doubled: (2.0 * tail).min(1.0),
        distance: tails.map(|(_, p)| p).sum::<f64>().min(1.0),
        mid_p_doubled: (2.0 * tail - distribution[seen]).clamp(0.0, 1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(counts: &[(u32, u32)]) -> Vec<Share> {
        counts
            .iter()
            .map(|&(x, n)| Share::new(x, n).expect("a share"))
            .collect()
    }

    #[test]
    fn only_the_spacing_of_scores_matters() {
        let groups = shares(&[(1, 10), (3, 10), (8, 10)]);
        let plain = test(&groups, &[0.0, 1.0, 2.0]).expect("a trend");
        for scores in [
            [-3.0, -1.5, 0.0],
            [10.1, 10.2, 10.3],
            [0.0, 1.0 / 3.0, 2.0 / 3.0],
        ] {
            let other = test(&groups, &scores).expect("a trend");
            let (plain, other) = (plain.exact.expect("exact"), other.exact.expect("exact"));
            assert!((plain.distance - other.distance).abs() < 1e-12);
            assert!((plain.increasing - other.increasing).abs() < 1e-12);
        }
    }

    #[test]
    fn two_groups_are_fisher() {
        let groups = shares(&[(5, 7), (1, 6)]);
        let exact = test(&groups, &[0.0, 3.5])
            .expect("a trend")
            .exact
            .expect("exact");
        let fisher = super::super::fisher::test(groups[1], groups[0]);
        assert!((exact.increasing - fisher.a_greater).abs() < 1e-14);
        assert!((exact.decreasing - fisher.a_less).abs() < 1e-14);
    }

    #[test]
    fn what_has_no_answer_is_said() {
        let groups = shares(&[(1, 10), (3, 10)]);
        assert_eq!(test(&groups, &[0.0]), Err(CannotSay(Reason::NoScore)));
        assert_eq!(
            test(&groups, &[0.0, f64::NAN]),
            Err(CannotSay(Reason::NoScore))
        );
        let same = test(&groups, &[1.0, 1.0]).expect("no trend");
        assert_eq!(
            (same.z, same.asymptotic),
            (Err(CannotSay(Reason::NoVariation)), 1.0)
        );
        let odd = test(&groups, &[0.0, std::f64::consts::PI * 1e-7]).expect("a trend");
        assert_eq!(
            odd.two_sided().p,
            odd.exact.map_or(odd.asymptotic, |exact| exact.distance)
        );
        let large = test(
            &shares(&[(50_000, 100_000), (50_400, 100_000)]),
            &[0.0, 1.0],
        )
        .expect("a trend");
        assert_eq!(large.two_sided().how, How::Normal);
    }
}
