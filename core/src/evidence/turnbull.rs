//! Turnbull's curve: when bulbs reached a stage, from looks that only bound the day.
//!
//! Every bulb gives an interval (left, right]: the last look without the stage, the first with it; left = right is an
//! exact day, an infinite right end is still open (or lost). The likelihood Π P(interval) is largest for probability on
//! the innermost intersections only; within each the curve is not known, so it is drawn as a band. An interval that
//! ends where another starts does not meet it, and one open from t on excludes an exact event at t.
//! Turnbull 1976, Journal of the Royal Statistical Society B 38:290; Peto 1973, Applied Statistics 22:86.
//! The masses p maximise Σ log Σ aᵢⱼpⱼ − n Σ pⱼ by Newton steps over masses not below 0, from the
//! fewest that can be and with the steepest one in every gap added; plain EM creeps. The end is the Kuhn–Tucker condition max_j (1/n) Σᵢ aᵢⱼ/dᵢ ≤ 1 + 1e-8
//! (Gentleman & Geyer 1994, Biometrika 81:618), and the masses are unique because the intervals are on a line.

use super::linear::Cholesky;
use super::{NoAnswer, Reason, Result};

/// The most innermost intervals that are worked with.
const MOST_INTERVALS: usize = 1_500;

/// The most rounds that the maximum is looked for.
const MOST_ROUNDS: usize = 500;

/// How far above 1 the steepest slope may lie for the masses to be the maximum's; rounds end far below it.
const SLOPE_LEFT: f64 = 1e-6;

/// What the looks say of one bulb: after `left`, up to and with `right`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Day of the last look without the stage; 0 when it was there at the first look.
    pub left: f64,
    /// Day of the first look with it; infinite while there is none.
    pub right: f64,
}

/// A stretch of days in which a part of the bulbs reached the stage; where in it is not known.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Stretch {
    /// After this day (or on it, when both ends are the same).
    pub left: f64,
    /// Up to and with this day; infinite for the part still open.
    pub right: f64,
    /// The part of the bulbs, above 0.
    pub mass: f64,
}

/// How the share that has reached the stage rises over one stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rise {
    /// After this day.
    pub from_day: f64,
    /// Up to and with this day; nothing for the part still open.
    pub to_day: Option<f64>,
    /// The share before it, 0 to 1.
    pub before: f64,
    /// The share after it.
    pub after: f64,
}

/// The curve as it rises, stretch by stretch. Within a stretch the share lies anywhere between both; where it changes is
/// not known, so that a picture shades the stretch and draws no step.
pub fn rises(stretches: &[Stretch]) -> Vec<Rise> {
    let mut so_far = 0.0;
    let rise = |stretch: &Stretch| {
        let before: f64 = so_far;
        so_far = (before + stretch.mass).min(1.0);
        Rise {
            from_day: stretch.left,
            to_day: stretch.right.is_finite().then_some(stretch.right),
            before,
            after: so_far,
        }
    };
    stretches.iter().map(rise).collect()
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
    /// When there is no bulb, an interval is no interval, there are too many different ones, or the maximum was not found.
    ///
    /// # Between two looks the day is not known, and no step is drawn
    /// ```
    /// # use bloomdue_core::evidence::turnbull::{Bounds, Curve};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let seen = |left: f64, right: f64| Bounds { left, right };
    /// let curve = Curve::new(&[seen(20.0, 24.0), seen(28.0, 32.0), seen(40.0, f64::INFINITY)])?;
    /// // Before the first look with it all are still without; on day 30 one or two of three are.
    /// assert_eq!(curve.survival(20.0), (1.0, 1.0));
    /// let (least, most) = curve.survival(30.0);
    /// assert!((least - 1.0 / 3.0).abs() < 1e-6 && (most - 2.0 / 3.0).abs() < 1e-6);
    /// # Ok(())
    /// # }
    /// ```
    pub fn new(bulbs: &[Bounds]) -> Result<Self> {
        Self::within(bulbs, MOST_ROUNDS)
    }

    /// The same, looked for in so many rounds.
    fn within(bulbs: &[Bounds], rounds: usize) -> Result<Self> {
        if bulbs.is_empty() {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        if bulbs
            .iter()
            .any(|bulb| bulb.right < bulb.left || bulb.left.is_nan() || bulb.right.is_nan() || !bulb.left.is_finite())
        {
            return Err(NoAnswer(Reason::NotADay));
        }
        let inner = innermost(bulbs);
        if inner.len() > MOST_INTERVALS {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let fit = Fit::new(bulbs, &inner);
        let masses = fit.masses(rounds);
        let (gradient, ln_likelihood) = (fit.gradient(&masses), fit.ln_likelihood(&masses));
        let kuhn_tucker = gradient.iter().copied().fold(0.0, f64::max) / fit.all;
        // What is no number is not below it either.
        if !(kuhn_tucker <= 1.0 + SLOPE_LEFT && ln_likelihood.is_finite()) {
            return Err(NoAnswer(Reason::NotEstimable));
        }
        let stretches = inner.iter().zip(masses).filter(|&(_, mass)| mass > 0.0);
        Ok(Self {
            stretches: stretches
                .map(|(&(start, end), mass)| Stretch { left: start.day, right: end.day, mass })
                .collect(),
            ln_likelihood,
            kuhn_tucker,
        })
    }

    /// The least and the greatest share still without the stage at the end of a day that the looks allow.
    pub fn survival(&self, day: f64) -> (f64, f64) {
        let sure: f64 = self.stretches.iter().filter(|stretch| stretch.right <= day).map(|stretch| stretch.mass).sum();
        let begun: f64 = self
            .stretches
            .iter()
            .filter(|stretch| stretch.left < day || stretch.right <= day)
            .map(|stretch| stretch.mass)
            .sum();
        ((1.0 - begun).max(0.0), (1.0 - sure).max(0.0))
    }

    /// The least and the greatest mean number of days without the stage up to day `tau` that the looks allow.
    ///
    /// # Errors
    /// When `tau` is negative or no number.
    pub fn restricted_mean(&self, tau: f64) -> Result<(f64, f64)> {
        if !tau.is_finite() || tau < 0.0 {
            return Err(NoAnswer(Reason::NotADay));
        }
        let mean = |end: fn(&Stretch) -> f64| {
            self.stretches.iter().map(|stretch| stretch.mass * end(stretch).min(tau)).sum::<f64>()
        };
        Ok((mean(|stretch| stretch.left), mean(|stretch| stretch.right)))
    }

    /// The first and the last day that can be the one by which a share `p` has reached the stage.
    ///
    /// # Errors
    /// When so many have not reached it by the last look, or `p` is not above 0 and at most 1.
    pub fn quantile(&self, p: f64) -> Result<(f64, f64)> {
        if !(p > 0.0 && p <= 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let mut sum = 0.0;
        for stretch in &self.stretches {
            sum += stretch.mass;
            if sum >= p - 1e-9 && stretch.right.is_finite() {
                return Ok((stretch.left, stretch.right));
            }
        }
        Err(NoAnswer(Reason::NotReachedYet))
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
    (Place { day: bulb.left, after }, Place { day: bulb.right, after: 0 })
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
        let Some(start) = starts.iter().rev().find(|start| order(**start, end).is_le()) else {
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
        rows.sort();
        let rows = rows.chunk_by(|a, b| a == b).map(|same| (same[0].0, same[0].1, same.len() as f64)).collect();
        Self { rows, size: inner.len(), all: bulbs.len() as f64 }
    }

    /// P(interval) of every row.
    fn probabilities(&self, masses: &[f64]) -> Vec<f64> {
        self.rows.iter().map(|&(from, to, _)| masses[from..to].iter().sum()).collect()
    }

    fn ln_likelihood(&self, masses: &[f64]) -> f64 {
        let probabilities = self.probabilities(masses);
        self.rows.iter().zip(probabilities).map(|(row, p)| row.2 * p.ln()).sum()
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

    fn masses(&self, rounds: usize) -> Vec<f64> {
        let mut masses = self.start();
        for _ in 0..rounds {
            let gradient = self.gradient(&masses);
            let slope = |j: usize| gradient[j] / self.all - 1.0;
            let inside = (0..self.size).filter(|&j| masses[j] > 0.0).map(|j| slope(j).abs()).fold(0.0, f64::max);
            let missing = (0..self.size).any(|j| masses[j] == 0.0 && slope(j) > 1e-10);
            if inside < 1e-10 && !missing {
                break;
            }
            if !self.newton(&mut masses, &gradient) {
                self.plain(&mut masses);
            }
        }
        let sum: f64 = masses.iter().sum();
        masses.iter_mut().for_each(|mass| *mass /= sum);
        masses
    }

    /// Equal masses on the fewest innermost intervals that leave no bulb without one.
    fn start(&self) -> Vec<f64> {
        let mut rows = self.rows.clone();
        rows.sort_by_key(|row| row.1);
        let mut chosen: Vec<usize> = Vec::new();
        for (from, to, _) in rows {
            if chosen.last().is_none_or(|last| *last < from) {
                chosen.push(to - 1);
            }
        }
        let mut masses = vec![0.0; self.size];
        chosen.iter().for_each(|&j| masses[j] = 1.0 / chosen.len() as f64);
        masses
    }

    /// The masses above 0, and in every gap between them the one with the steepest slope above that of a maximum (Wang
    /// 2007, Journal of the Royal Statistical Society B 69:185).
    fn candidates(&self, masses: &[f64], gradient: &[f64]) -> Vec<usize> {
        let mut steepest: Option<usize> = None;
        let mut found = Vec::new();
        for j in 0..self.size {
            if masses[j] > 0.0 {
                found.extend(steepest.take());
                found.push(j);
            } else if gradient[j] > self.all && steepest.is_none_or(|best| gradient[j] > gradient[best]) {
                steepest = Some(j);
            }
        }
        found.extend(steepest);
        found
    }

    /// Where Newton does not get on: the best mixture with the steepest mass alone, then some rounds of EM.
    fn plain(&self, masses: &mut [f64]) {
        let gradient = self.gradient(masses);
        if let Some(best) = (0..self.size).max_by(|&a, &b| gradient[a].total_cmp(&gradient[b])) {
            let start = masses.to_vec();
            let mixed = |share: f64| {
                let mut mixed: Vec<f64> = start.iter().map(|mass| mass * (1.0 - share)).collect();
                mixed[best] += share;
                mixed
            };
            let slope = |share: f64| {
                let here = mixed(share);
                let gradient = self.gradient(&here);
                gradient[best] - gradient.iter().zip(&start).map(|(slope, mass)| slope * mass).sum::<f64>()
            };
            let share = super::roots::bracketed(slope, 0.0, 0.5);
            if slope(0.0) > 0.0 {
                masses.copy_from_slice(&mixed(share));
            }
        }
        for _ in 0..10 {
            let gradient = self.gradient(masses);
            masses.iter_mut().zip(gradient).for_each(|(mass, slope)| *mass *= slope / self.all);
        }
    }

    /// One Newton step: the maximum of the quadratic that touches here, over masses not below 0, then as far towards it
    /// as the objective rises; whether it got on.
    fn newton(&self, masses: &mut [f64], gradient: &[f64]) -> bool {
        let used = self.candidates(masses, gradient);
        let mut place = vec![usize::MAX; self.size];
        used.iter().enumerate().for_each(|(index, &j)| place[j] = index);
        let size = used.len();
        let mut curvature = vec![0.0; size * size];
        for (&(from, to, count), p) in self.rows.iter().zip(self.probabilities(masses)) {
            let here: Vec<usize> = (from..to).map(|j| place[j]).filter(|&index| index < size).collect();
            for &a in &here {
                for &b in &here {
                    curvature[a * size + b] += count / (p * p);
                }
            }
        }
        // The curvature times the masses is the gradient again.
        let right: Vec<f64> = used.iter().map(|&j| 2.0 * gradient[j] - self.all).collect();
        let start: Vec<f64> = used.iter().map(|&j| masses[j]).collect();
        let Some(end) = not_below_zero(&curvature, &right, start.clone()) else {
            return false;
        };
        let before = self.objective(masses);
        for halvings in 0..40 {
            let length = 0.5_f64.powi(halvings);
            for (index, &j) in used.iter().enumerate() {
                masses[j] = start[index] + length * (end[index] - start[index]);
            }
            let after = self.objective(masses);
            if after.is_finite() && after > before {
                return true;
            }
        }
        used.iter().zip(&start).for_each(|(&j, mass)| masses[j] = *mass);
        false
    }
}

/// The x ≥ 0 that minimises ½xᵀHx − bᵀx, from an x ≥ 0 on (Lawson & Hanson 1974, *Solving Least Squares Problems*,
/// ch. 23); nothing when H is singular on what is above 0.
fn not_below_zero(h: &[f64], b: &[f64], mut x: Vec<f64>) -> Option<Vec<f64>> {
    let size = b.len();
    let mut free: Vec<bool> = x.iter().map(|x| *x > 0.0).collect();
    for _ in 0..20 + 6 * size {
        let used: Vec<usize> = (0..size).filter(|&j| free[j]).collect();
        let matrix: Vec<f64> = used.iter().flat_map(|&i| used.iter().map(move |&j| h[i * size + j])).collect();
        let right: Vec<f64> = used.iter().map(|&j| b[j]).collect();
        let z = Cholesky::new(&matrix, used.len())?.solve(&right);
        let blocked = used.iter().zip(&z).filter(|(_, z)| **z <= 0.0);
        let nearest = blocked.map(|(&j, z)| (x[j] / (x[j] - z), j)).min_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((length, stop)) = nearest {
            used.iter().zip(&z).for_each(|(&j, z)| x[j] = (x[j] + length * (z - x[j])).max(0.0));
            x[stop] = 0.0;
            used.iter().filter(|&&j| x[j] == 0.0).for_each(|&j| free[j] = false);
            continue;
        }
        used.iter().zip(&z).for_each(|(&j, z)| x[j] = *z);
        let slope = |i: usize| b[i] - (0..size).map(|j| h[i * size + j] * x[j]).sum::<f64>();
        let slopes = (0..size).filter(|&i| !free[i]).map(|i| (slope(i), i));
        match slopes.max_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((slope, i)) if slope > 1e-9 * b[i].abs() => free[i] = true,
            _ => return Some(x),
        }
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(bulbs: &[(f64, f64)]) -> Curve {
        let bulbs: Vec<Bounds> = bulbs.iter().map(|&(left, right)| Bounds { left, right }).collect();
        Curve::new(&bulbs).expect("a curve")
    }

    #[test]
    fn a_curve_rises_over_its_stretches_to_all() {
        let stretch = |left: f64, right: f64, mass: f64| Stretch { left, right, mass };
        let all = [stretch(3.0, 5.0, 0.25), stretch(9.0, 9.0, 0.5), stretch(20.0, f64::INFINITY, 0.25)];
        let found = rises(&all);
        let last = found.last().expect("three stretches");
        assert_eq!(found.len(), 3);
        assert_eq!((found[1].before, found[1].after), (0.25, 0.75));
        assert_eq!(found[1].to_day, Some(9.0));
        assert_eq!((last.to_day, last.after), (None, 1.0));
        assert!(rises(&[]).is_empty());
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
        let curve = curve(&[(7.0, 14.0), (7.0, 14.0), (14.0, 21.0), (21.0, f64::INFINITY)]);
        assert_eq!(curve.survival(14.0), (0.5, 0.5));
        assert_eq!(curve.survival(10.0), (0.5, 1.0));
        assert_eq!(curve.quantile(0.5), Ok((7.0, 14.0)));
        assert_eq!(curve.restricted_mean(28.0), Ok((12.25, 19.25)));
        assert_eq!(curve.quantile(0.9), Err(NoAnswer(Reason::NotReachedYet)));
        assert!(Curve::new(&[Bounds { left: 5.0, right: 4.0 }]).is_err() && Curve::new(&[]).is_err());
    }

    #[test]
    fn there_is_no_curve_where_the_maximum_was_not_found() {
        // The rounds begin with equal parts in both stretches.
        let bulbs = [(0.0, 1.0), (0.0, 1.0), (0.0, 1.0), (2.0, 3.0)].map(|(left, right)| Bounds { left, right });
        assert_eq!(Curve::within(&bulbs, 0), Err(NoAnswer(Reason::NotEstimable)));
        assert!(Curve::new(&bulbs).is_ok());
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
