//! Turnbull's curve: when bulbs reached a stage, from looks that only bound the day.
//!
//! Every bulb gives an interval (left, right]: the last look without the stage, the first with it; left = right is an
//! exact day, an infinite right end is still open (or lost). The likelihood Π P(interval) is largest for probability on
//! the innermost intersections only; within each the curve is not known, so it is drawn as a band. An interval that
//! ends where another starts does not meet it, and one open from t on excludes an exact event at t.
//! Turnbull 1976, Journal of the Royal Statistical Society B 38:290; Peto 1973, Applied Statistics 22:86.
//! The masses p maximise Σ log Σ aᵢⱼpⱼ − n Σ pⱼ by Newton steps over the masses above 0, adding the mass whose
//! derivative is largest; plain EM creeps. The end is the Kuhn–Tucker condition max_j (1/n) Σᵢ aᵢⱼ/dᵢ ≤ 1 + 1e-8
//! (Gentleman & Geyer 1994, Biometrika 81:618), and the masses are unique because the intervals are on a line.

use super::linear::Cholesky;
use super::{CannotSay, Reason, Said};

/// The most innermost intervals that are worked with.
const MOST_INTERVALS: usize = 1_500;

/// What the looks say of one bulb: after `left`, up to and with `right`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Day of the last look without the stage; 0 when it was there at the first look.
    pub left: f64,
    /// Day of the first look with it; infinite while there is none.
    pub right: f64,
}

/// A stretch of days in which a part of the bulbs reached the stage; where in it is not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// After this day (or on it, when both ends are the same).
    pub left: f64,
    /// Up to and with this day; infinite for the part still open.
    pub right: f64,
    /// The part of the bulbs, above 0.
    pub mass: f64,
}

/// The whole curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The stretches with a part above 0, in order.
    pub stretches: Vec<Stretch>,
    /// Σ log P(interval) over the bulbs.
    pub ln_likelihood: f64,
    /// max_j (1/n) Σᵢ aᵢⱼ/dᵢ, 1 at the maximum.
    pub kuhn_tucker: f64,
}

impl Curve {
    /// The curve that the looks bound best.
    ///
    /// # Errors
    /// When there is no bulb, an interval is no interval, or there are too many different ones.
    pub fn new(bulbs: &[Bounds]) -> Said<Self> {
        if bulbs.is_empty() {
            return Err(CannotSay(Reason::NoBulbs));
        }
        if bulbs.iter().any(|bulb| {
            bulb.right < bulb.left
                || bulb.left.is_nan()
                || bulb.right.is_nan()
                || !bulb.left.is_finite()
        }) {
            return Err(CannotSay(Reason::NotADay));
        }
        let inner = innermost(bulbs);
        if inner.len() > MOST_INTERVALS {
            return Err(CannotSay(Reason::TooManyStates));
        }
        let fit = Fit::new(bulbs, &inner);
        let masses = fit.masses();
        let (gradient, ln_likelihood) = (fit.gradient(&masses), fit.ln_likelihood(&masses));
        let kuhn_tucker = gradient.iter().copied().fold(0.0, f64::max) / fit.all;
        let stretches = inner.iter().zip(masses).filter(|&(_, mass)| mass > 0.0);
        Ok(Self {
            stretches: stretches
                .map(|(&(start, end), mass)| Stretch {
                    left: start.day,
                    right: end.day,
                    mass,
                })
                .collect(),
            ln_likelihood,
            kuhn_tucker,
        })
    }

    /// The least and the greatest share still without the stage at the end of a day that the looks allow.
    pub fn survival(&self, day: f64) -> (f64, f64) {
        let sure: f64 = self
            .stretches
            .iter()
            .filter(|stretch| stretch.right <= day)
            .map(|stretch| stretch.mass)
            .sum();
        let begun: f64 = self
            .stretches
            .iter()
            .filter(|stretch| stretch.left < day || stretch.right <= day)
            .map(|stretch| stretch.mass)
            .sum();
        ((1.0 - begun).max(0.0), (1.0 - sure).max(0.0))
    }

    /// The first and the last day that can be the one by which a share `p` has reached the stage.
    ///
    /// # Errors
    /// When so many have not reached it by the last look, or `p` is not above 0 and at most 1.
    pub fn quantile(&self, p: f64) -> Said<(f64, f64)> {
        if !(p > 0.0 && p <= 1.0) {
            return Err(CannotSay(Reason::NotAProbability));
        }
        let mut sum = 0.0;
        for stretch in &self.stretches {
            sum += stretch.mass;
            if sum >= p - 1e-9 && stretch.right.is_finite() {
                return Ok((stretch.left, stretch.right));
            }
        }
        Err(CannotSay(Reason::NotReachedYet))
    }
}

/// A place on the axis: a day itself, or just after it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct Place {
    day: f64,
    after: u8,
}

fn places(bulb: &Bounds) -> (Place, Place) {
    let after = u8::from(bulb.left < bulb.right);
    (
        Place {
            day: bulb.left,
            after,
        },
        Place {
            day: bulb.right,
            after: 0,
        },
    )
}

fn order(a: Place, b: Place) -> std::cmp::Ordering {
    a.day.total_cmp(&b.day).then(a.after.cmp(&b.after))
}

/// The innermost intersections, in order: a start with the next end, and no other start between.
fn innermost(bulbs: &[Bounds]) -> Vec<(Place, Place)> {
    let mut starts: Vec<Place> = bulbs.iter().map(|bulb| places(bulb).0).collect();
    let mut ends: Vec<Place> = bulbs.iter().map(|bulb| places(bulb).1).collect();
    starts.sort_by(|a, b| order(*a, *b));
    ends.sort_by(|a, b| order(*a, *b));
    ends.dedup();
    let mut found: Vec<(Place, Place)> = Vec::new();
    for end in ends {
        let Some(start) = starts
            .iter()
            .rev()
            .find(|start| order(**start, end).is_le())
        else {
            continue;
        };
        if found.last().is_none_or(|(previous, _)| previous != start) {
            found.push((*start, end));
        }
    }
    found
}

/// The likelihood over the innermost intervals.
struct Fit {
    /// Distinct bulbs: from which to which innermost interval, and how many.
    rows: Vec<(usize, usize, f64)>,
    size: usize,
    all: f64,
}

impl Fit {
    fn new(bulbs: &[Bounds], inner: &[(Place, Place)]) -> Self {
        let mut rows: Vec<(usize, usize)> = bulbs
            .iter()
            .map(|bulb| {
                let (start, end) = places(bulb);
                let from = inner.partition_point(|(left, _)| order(*left, start).is_lt());
                let to = inner.partition_point(|(_, right)| order(*right, end).is_le());
                (from, to)
            })
            .collect();
        rows.sort_unstable();
        let rows = rows
            .chunk_by(|a, b| a == b)
            .map(|same| (same[0].0, same[0].1, same.len() as f64))
            .collect();
        Self {
            rows,
            size: inner.len(),
            all: bulbs.len() as f64,
        }
    }

    /// P(interval) of every row.
    fn probabilities(&self, masses: &[f64]) -> Vec<f64> {
        self.rows
            .iter()
            .map(|&(from, to, _)| masses[from..to].iter().sum())
            .collect()
    }

    fn ln_likelihood(&self, masses: &[f64]) -> f64 {
        let probabilities = self.probabilities(masses);
        self.rows
            .iter()
            .zip(probabilities)
            .map(|(row, p)| row.2 * p.ln())
            .sum()
    }

    /// Σᵢ aᵢⱼ/dᵢ for every mass.
    fn gradient(&self, masses: &[f64]) -> Vec<f64> {
        let mut gradient = vec![0.0; self.size];
        for (&(from, to, count), p) in self.rows.iter().zip(self.probabilities(masses)) {
            for slope in &mut gradient[from..to] {
                *slope += count / p;
            }
        }
        gradient
    }

    /// What is maximised; its maximum has masses that sum to 1.
    fn objective(&self, masses: &[f64]) -> f64 {
        self.ln_likelihood(masses) - self.all * masses.iter().sum::<f64>()
    }

    fn masses(&self) -> Vec<f64> {
        let mut masses = vec![1.0 / self.size as f64; self.size];
        for _ in 0..20 {
            let gradient = self.gradient(&masses);
            masses
                .iter_mut()
                .zip(gradient)
                .for_each(|(mass, slope)| *mass *= slope / self.all);
        }
        for _ in 0..200 + 20 * self.size {
            let gradient = self.gradient(&masses);
            let worst = |j: &usize| gradient[*j] / self.all - 1.0;
            let outside = (0..self.size)
                .filter(|&j| masses[j] == 0.0)
                .max_by(|a, b| worst(a).total_cmp(&worst(b)));
            let inside = (0..self.size)
                .filter(|&j| masses[j] > 0.0)
                .map(|j| worst(&j).abs())
                .fold(0.0, f64::max);
            let missing = outside.filter(|j| worst(j) > 1e-10);
            if inside < 1e-10 && missing.is_none() {
                break;
            }
            if let (true, Some(new)) = (inside < 1e-6, missing) {
                masses[new] = 1e-9;
            }
            self.newton(&mut masses);
        }
        let sum: f64 = masses.iter().sum();
        masses.iter_mut().for_each(|mass| *mass /= sum);
        masses
    }

    /// One Newton step over the masses above 0, cut where the first of them reaches 0.
    fn newton(&self, masses: &mut [f64]) {
        let used: Vec<usize> = (0..self.size).filter(|&j| masses[j] > 0.0).collect();
        let mut place = vec![usize::MAX; self.size];
        used.iter()
            .enumerate()
            .for_each(|(index, &j)| place[j] = index);
        let size = used.len();
        let mut curvature = vec![0.0; size * size];
        for (&(from, to, count), p) in self.rows.iter().zip(self.probabilities(masses)) {
            let here: Vec<usize> = (from..to)
                .map(|j| place[j])
                .filter(|&index| index < size)
                .collect();
            for &a in &here {
                for &b in &here {
                    curvature[a * size + b] += count / (p * p);
                }
            }
        }
        let gradient = self.gradient(masses);
        let right: Vec<f64> = used.iter().map(|&j| gradient[j] - self.all).collect();
        let mut ridge = 0.0;
        let step = loop {
            let mut matrix = curvature.clone();
            (0..size).for_each(|j| matrix[j * size + j] *= 1.0 + ridge);
            if let Some(factored) = Cholesky::new(&matrix, size) {
                break factored.solve(&right);
            }
            ridge = f64::max(1e-12, ridge * 10.0);
            if ridge > 1.0 {
                break right
                    .iter()
                    .zip(&used)
                    .map(|(slope, &j)| slope / self.all * masses[j])
                    .collect();
            }
        };
        self.walk(masses, &used, &step);
    }

    /// Goes along a step as far as no mass falls below 0 and the objective rises.
    fn walk(&self, masses: &mut [f64], used: &[usize], step: &[f64]) {
        let reach = used
            .iter()
            .zip(step)
            .filter(|(_, step)| **step < 0.0)
            .map(|(&j, step)| masses[j] / -step);
        let mut length = reach.fold(1.0, f64::min);
        let before = self.objective(masses);
        let start = masses.to_vec();
        for _ in 0..60 {
            for (&j, step) in used.iter().zip(step) {
                let mass = start[j] + length * step;
                masses[j] = if mass < 1e-14 { 0.0 } else { mass };
            }
            let after = self.objective(masses);
            if after.is_finite() && after >= before - 1e-13 * before.abs() {
                return;
            }
            length /= 2.0;
        }
        masses.copy_from_slice(&start);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(bulbs: &[(f64, f64)]) -> Curve {
        let bulbs: Vec<Bounds> = bulbs
            .iter()
            .map(|&(left, right)| Bounds { left, right })
            .collect();
        Curve::new(&bulbs).expect("a curve")
    }

    #[test]
    fn touching_intervals_do_not_meet() {
        let stretches = curve(&[(4.0, 5.0), (5.0, 8.0)]).stretches;
        assert_eq!(stretches.len(), 2);
        let exact = curve(&[(5.0, 5.0), (5.0, f64::INFINITY)]).stretches;
        assert_eq!((exact.len(), exact[0].left, exact[0].right), (2, 5.0, 5.0));
        assert_eq!(curve(&[(4.0, 5.0), (5.0, 5.0)]).stretches.len(), 1);
    }

    #[test]
    fn the_band_and_the_quantiles_hold_what_is_not_known() {
        let curve = curve(&[
            (7.0, 14.0),
            (7.0, 14.0),
            (14.0, 21.0),
            (21.0, f64::INFINITY),
        ]);
        assert_eq!(curve.survival(14.0), (0.5, 0.5));
        assert_eq!(curve.survival(10.0), (0.5, 1.0));
        assert_eq!(curve.quantile(0.5), Ok((7.0, 14.0)));
        assert_eq!(curve.quantile(0.9), Err(CannotSay(Reason::NotReachedYet)));
        assert!(
            Curve::new(&[Bounds {
                left: 5.0,
                right: 4.0
            }])
            .is_err()
                && Curve::new(&[]).is_err()
        );
    }

    proptest! {
        #[test]
        fn the_maximum_is_reached(raw in prop::collection::vec((0_u8..30, 0_u8..12, 0_u8..10), 1..120)) {
            let bulbs: Vec<(f64, f64)> = raw.iter().map(|&(left, length, open)| {
                let left = f64::from(left);
                (left, if open == 0 { f64::INFINITY } else { left + f64::from(length) })
            }).collect();
            let curve = curve(&bulbs);
            prop_assert!(curve.kuhn_tucker <= 1.0 + 1e-8, "{}", curve.kuhn_tucker);
            let sum: f64 = curve.stretches.iter().map(|stretch| stretch.mass).sum();
            prop_assert!((sum - 1.0).abs() < 1e-12);
            prop_assert!(curve.ln_likelihood.is_finite());
        }
    }
}
