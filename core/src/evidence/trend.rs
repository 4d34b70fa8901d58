//! Trend over ordered levels, with the real dose (weeks of rest, per cent of shade) as the score.
//!
//! T = Σ sᵢxᵢ given the total m. Exact: the distribution of T over all tables with these margins. Two-sided either
//! twice the smaller tail or by distance, |T − E(T)| at least as large. For reading, z = (T − E(T)) ÷ √V with
//! V = p(1−p)(Σns² − (Σns)²/N), N and not N − 1. Far more power than a test of any difference when the levels have an
//! order. Cochran 1954, Biometrics 10:417; Armitage 1955, Biometrics 11:375; exact: Agresti 2002, *Categorical Data
//! Analysis*, §3.5. Beyond [`MOST_STATES`] sums, or for scores that are no small multiples of a common step, the normal
//! approximation stands in and says so.

use super::tables::in_proportion;
use super::{How, MOST_STATES, NoAnswer, Reason, Result, Share, special};

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
    pub z: Result<f64>,
    /// Two-sided p of z; 1 when z is refused.
    pub asymptotic: f64,
    /// The exact p-values; refused with too many sums.
    pub exact: Result<Exact>,
}

impl Trend {
    /// The two-sided p-value by distance, or the normal approximation where the exact one has too many sums.
    pub fn two_sided(&self) -> super::Tested {
        match self.exact {
            Ok(exact) => super::Tested { p: exact.distance, how: How::Exact },
            Err(_) => super::Tested { p: self.asymptotic, how: How::Normal },
        }
    }
}

/// The trend of the groups' shares over their scores.
///
/// # Errors
/// When the numbers of groups and scores differ, a score is not finite, or there is no bulb at all.
pub fn test(groups: &[Share], scores: &[f64]) -> Result<Trend> {
    if groups.len() != scores.len() || scores.iter().any(|score| !score.is_finite()) {
        return Err(NoAnswer(Reason::NoScore));
    }
    let sum =
        |f: &dyn Fn(Share, f64) -> f64| groups.iter().zip(scores).map(|(&group, &score)| f(group, score)).sum::<f64>();
    let (all, reached) = (sum(&|group, _| group.n()), sum(&|group, _| group.x()));
    if all == 0.0 {
        return Err(NoAnswer(Reason::NoBulbs));
    }
    let share = reached / all;
    let mean = sum(&|group, score| group.n() * score) / all;
    let gap = sum(&|group, score| group.x() * (score - mean));
    let variance = share * (1.0 - share) * sum(&|group, score| group.n() * (score - mean).powi(2));
    let z = if variance > 0.0 { Ok(gap / variance.sqrt()) } else { Err(NoAnswer(Reason::NoVariation)) };
    Ok(Trend { z, asymptotic: z.map_or(1.0, special::normal_two_sided), exact: exact(groups, scores) })
}

/// Scores as whole multiples of their smallest common step, the least at 0; nothing when there is no such step.
fn steps(scores: &[f64]) -> Option<Vec<usize>> {
    let least = scores.iter().copied().fold(f64::INFINITY, f64::min);
    let whole = |factor: f64| {
        let scaled = scores.iter().map(|score| (score - least) * factor);
        let near = |step: f64| (step - step.round()).abs() <= 1e-9 * step.max(1.0) && step < 1e6;
        scaled.map(|step| near(step).then_some(step.round() as usize)).collect::<Option<Vec<usize>>>()
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

/// What some of the groups can do: for every number placed in them the sums they can have, each with its weight.
struct Part {
    /// The least sum, by the number placed.
    least: Vec<usize>,
    /// Where the weights of its sums start, by the number placed, and where all end.
    start: Vec<usize>,
    /// The weights of the least sum and the following ones, number after number.
    weights: Vec<f64>,
}

impl Part {
    /// No groups, nothing placed.
    fn empty() -> Self {
        Self { least: vec![0], start: vec![0, 1], weights: vec![1.0] }
    }

    /// The least sum, and the weights from it on.
    fn row(&self, placed: usize) -> Option<(usize, &[f64])> {
        let from = *self.start.get(placed)?;
        let to = *self.start.get(placed + 1)?;
        Some((self.least[placed], &self.weights[from..to]))
    }

    /// The same with one more group, with up to `total` placed.
    fn and(&self, weights: &[f64], step: usize, total: usize) -> Self {
        let before = self.least.len();
        let rows = (before + weights.len() - 1).min(total + 1);
        let (mut least, mut end) = (vec![usize::MAX; rows], vec![0; rows]);
        for placed in 0..before {
            let (low, length) = (self.least[placed], self.start[placed + 1] - self.start[placed]);
            for (x, to) in (placed..rows).take(weights.len()).enumerate() {
                least[to] = least[to].min(low + x * step);
                end[to] = end[to].max(low + x * step + length);
            }
        }
        let mut start = vec![0; rows + 1];
        for to in 0..rows {
            start[to + 1] = start[to] + (end[to] - least[to]);
        }
        let mut all = vec![0.0; start[rows]];
        for placed in 0..before {
            let own = &self.weights[self.start[placed]..self.start[placed + 1]];
            for ((x, weight), to) in weights.iter().enumerate().zip(placed..rows) {
                let at = start[to] + self.least[placed] + x * step - least[to];
                for (sum, own) in all[at..].iter_mut().zip(own) {
                    *sum += weight * own;
                }
            }
        }
        Self { least, start, weights: all }
    }
}

/// The least sum, and the weights from it on.
type Sums<'a> = (usize, &'a [f64]);

/// All groups in two halves, whose sums are only joined where a tail is asked for.
struct Halves {
    one: Part,
    other: Part,
    total: usize,
    all: f64,
}

impl Halves {
    fn new(groups: &[Share], steps: &[usize], total: usize) -> Result<Self> {
        let widest = steps.iter().max().copied().unwrap_or(0);
        let width = total.saturating_mul(widest).saturating_add(1);
        if (total as u64 + 1).saturating_mul(width as u64) > MOST_STATES {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let bulbs: f64 = groups.iter().map(|group| group.n()).sum();
        let odds = total as f64 / (bulbs - total as f64).max(0.5);
        let part = |groups: &[Share], steps: &[usize]| {
            let both = groups.iter().zip(steps);
            both.fold(Part::empty(), |part, (group, step)| {
                let weights = in_proportion(*group, odds.max(1e-12), total);
                part.and(&weights, *step, total)
            })
        };
        let middle = groups.len() / 2;
        let (one, other) = (part(&groups[..middle], &steps[..middle]), part(&groups[middle..], &steps[middle..]));
        let mut halves = Self { one, other, total, all: 1.0 };
        halves.all = halves.at_least(0);
        Ok(halves)
    }

    /// Rows of both halves that together place the total.
    fn matching(&self) -> impl Iterator<Item = (Sums<'_>, Sums<'_>)> {
        (0..self.one.least.len()).filter_map(|placed| {
            let rest = self.total.checked_sub(placed)?;
            Some((self.one.row(placed)?, self.other.row(rest)?))
        })
    }

    /// P(T ≥ sum).
    fn at_least(&self, sum: usize) -> f64 {
        let mut tail = 0.0;
        for ((least, row), (other_least, other)) in self.matching() {
            // As the first half's sum grows, ever more of the other's sums are enough.
            let (mut open, mut enough) = (other.len(), 0.0);
            for (weight, own) in row.iter().zip(least..) {
                let needed = sum.saturating_sub(own).saturating_sub(other_least);
                while open > needed.min(other.len()) {
                    open -= 1;
                    enough += other[open];
                }
                tail += weight * enough;
            }
        }
        tail / self.all
    }

    /// P(T ≤ sum).
    fn at_most(&self, sum: usize) -> f64 {
        let mut tail = 0.0;
        for ((least, row), (other_least, other)) in self.matching() {
            let (mut used, mut enough) = (0, 0.0);
            for (own, weight) in row.iter().enumerate().rev() {
                let own = least + own;
                let Some(most) = sum.checked_sub(own).and_then(|left| left.checked_sub(other_least)) else {
                    continue;
                };
                while used <= most && used < other.len() {
                    enough += other[used];
                    used += 1;
                }
                tail += weight * enough;
            }
        }
        tail / self.all
    }

    /// P(T = sum).
    fn exactly(&self, sum: usize) -> f64 {
        let mut all = 0.0;
        for ((least, row), (other_least, other)) in self.matching() {
            for (weight, own) in row.iter().zip(least..) {
                let at = sum.checked_sub(own).and_then(|left| left.checked_sub(other_least));
                all += weight * at.and_then(|at| other.get(at)).unwrap_or(&0.0);
            }
        }
        all / self.all
    }
}

fn exact(groups: &[Share], scores: &[f64]) -> Result<Exact> {
    let steps = steps(scores).ok_or(NoAnswer(Reason::NoScore))?;
    let total: usize = groups.iter().map(|group| group.reached() as usize).sum();
    let halves = Halves::new(groups, &steps, total)?;
    let seen: usize = groups.iter().zip(&steps).map(|(group, step)| group.reached() as usize * step).sum();
    let increasing = halves.at_least(seen).min(1.0);
    let decreasing = halves.at_most(seen).min(1.0);
    // N·E(T) and N·|T − E(T)| in whole numbers, so that ties are ties.
    let all: i128 = groups.iter().map(|group| i128::from(group.of())).sum();
    let weighted: i128 = groups.iter().zip(&steps).map(|(group, &step)| i128::from(group.of()) * step as i128).sum();
    let centre = weighted * total as i128;
    let far = (all * seen as i128 - centre).abs();
    // The sums at least so far: up to and with the largest below, from and with the smallest above.
    let below = (centre - far).div_euclid(all);
    let above = (centre + far + all - 1).div_euclid(all);
    let below = usize::try_from(below).map_or(0.0, |sum| halves.at_most(sum));
    let above = usize::try_from(above).map_or(1.0, |sum| halves.at_least(sum));
    let tail = increasing.min(decreasing);
    Ok(Exact {
        increasing,
        decreasing,
        doubled: (2.0 * tail).min(1.0),
        distance: if far == 0 { 1.0 } else { (below + above).min(1.0) },
        mid_p_doubled: (2.0 * tail - halves.exactly(seen)).clamp(0.0, 1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(counts: &[(u32, u32)]) -> Vec<Share> {
        counts.iter().map(|&(x, n)| Share::new(x, n).expect("a share")).collect()
    }

    #[test]
    fn only_the_spacing_of_scores_matters() {
        let groups = shares(&[(1, 10), (3, 10), (8, 10)]);
        let plain = test(&groups, &[0.0, 1.0, 2.0]).expect("a trend");
        for scores in [[-3.0, -1.5, 0.0], [10.1, 10.2, 10.3], [0.0, 1.0 / 3.0, 2.0 / 3.0]] {
            let other = test(&groups, &scores).expect("a trend");
            let (plain, other) = (plain.exact.expect("exact"), other.exact.expect("exact"));
            assert!((plain.distance - other.distance).abs() < 1e-12);
            assert!((plain.increasing - other.increasing).abs() < 1e-12);
        }
    }

    #[test]
    fn two_groups_are_fisher() {
        let groups = shares(&[(5, 7), (1, 6)]);
        let exact = test(&groups, &[0.0, 3.5]).expect("a trend").exact.expect("exact");
        let fisher = super::super::fisher::test(groups[1], groups[0]);
        assert!((exact.increasing - fisher.a_greater).abs() < 1e-14);
        assert!((exact.decreasing - fisher.a_less).abs() < 1e-14);
    }

    #[test]
    fn what_has_no_answer_is_said() {
        let groups = shares(&[(1, 10), (3, 10)]);
        assert_eq!(test(&groups, &[0.0]), Err(NoAnswer(Reason::NoScore)));
        assert_eq!(test(&groups, &[0.0, f64::NAN]), Err(NoAnswer(Reason::NoScore)));
        let same = test(&groups, &[1.0, 1.0]).expect("no trend");
        assert_eq!((same.z, same.asymptotic), (Err(NoAnswer(Reason::NoVariation)), 1.0));
        let odd = test(&groups, &[0.0, std::f64::consts::PI * 1e-7]).expect("a trend");
        assert_eq!(odd.two_sided().p, odd.exact.map_or(odd.asymptotic, |exact| exact.distance));
        let large = test(&shares(&[(50_000, 100_000), (50_400, 100_000)]), &[0.0, 1.0]).expect("a trend");
        assert_eq!(large.two_sided().how, How::Normal);
    }
}
