//! Lognormal and Weibull times from looks that only bound the day.
//!
//! T = exp(μ + σW), W standard normal or smallest extreme value (then 1/σ is Weibull's shape and exp(μ) its scale); μ
//! may differ by group. Maximum likelihood: Σ ln(F(right) − F(left)), an exact day adds its density, one still open
//! its tail. Newton steps with halving, from midpoints; differences of F are taken in the smaller tail. Limits by
//! profile likelihood, for the small n of a nursery. Kalbfleisch & Prentice 2002; Lindsey & Ryan 1998, Statistics in
//! Medicine 17:219; Odell, Anderson & D'Agostino 1992, Biometrics 48:951.
//!
//! Where all bulbs share one interval, none has reached the stage or there is one bulb only, the likelihood has no
//! maximum inside, and there is no number to print: [`Reason::NotEstimable`]. If some bulbs may stay blind, quantiles
//! beyond the share seen are not to be shown.

pub use super::turnbull::Bounds;
use super::{Interval, Level, NoAnswer, Reason, Result, linear::Cholesky, roots, special};

/// The distribution of W.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Normal: T is lognormal.
    Lognormal,
    /// Smallest extreme value: T is Weibull.
    Weibull,
}

/// Newton steps at most.
const MOST_STEPS: usize = 200;
/// ln σ below which the spread is running to nothing.
const LEAST_LN_SPREAD: f64 = -9.0;
/// ln σ above which it is running off.
const MOST_LN_SPREAD: f64 = 6.0;

/// ln f(w), its first and second derivative.
fn ln_density(shape: Shape, w: f64) -> (f64, f64, f64) {
    match shape {
        Shape::Lognormal => (-0.5 * w * w - 0.918_938_533_204_672_8, -w, -1.0),
        Shape::Weibull => (w - w.exp(), 1.0 - w.exp(), -w.exp()),
    }
}

/// ln of the upper tail.
fn ln_upper(shape: Shape, w: f64) -> f64 {
    match shape {
        Shape::Lognormal => {
            let (lower, upper) = special::normal_tails(w);
            if lower < 0.5 { (-lower).ln_1p() } else { upper.ln() }
        }
        Shape::Weibull => -w.exp(),
    }
}

/// ln(F(b) − F(a)); either end may be infinite.
fn ln_between(shape: Shape, a: f64, b: f64) -> f64 {
    if b == f64::INFINITY {
        return ln_upper(shape, a);
    }
    match shape {
        Shape::Lognormal => {
            let tails = |w: f64| {
                if w == f64::NEG_INFINITY { (0.0, 1.0) } else { special::normal_tails(w) }
            };
            let (low, high) = (tails(a), tails(b));
            let between = if a > 0.0 {
                low.1 - high.1
            } else if b < 0.0 {
                high.0 - low.0
            } else {
                1.0 - low.0 - high.1
            };
            between.ln()
        }
        Shape::Weibull => {
            let (low, high) = (a.exp(), b.exp());
            -low + (-(low - high).exp_m1()).ln()
        }
    }
}

/// The value with a share `p` of W below it.
fn quantile(shape: Shape, p: f64) -> f64 {
    match shape {
        Shape::Lognormal => -special::normal_upper(p),
        Shape::Weibull => (-(-p).ln_1p()).ln(),
    }
}

/// Log likelihood of one bulb with slopes and curvatures in μ and ln σ.
#[derive(Default)]
struct Curve {
    value: f64,
    slope: [f64; 2],
    /// μμ, μ ln σ, ln σ ln σ.
    bend: [f64; 3],
}

fn curve(shape: Shape, bulb: Bounds, median: f64, ln_spread: f64) -> Curve {
    let spread = ln_spread.exp();
    let place = |day: f64| (day.ln() - median) / spread;
    // Slopes of w: −1/σ in μ, −w in ln σ; second ones 0, 1/σ, w.
    if bulb.left == bulb.right {
        let w = place(bulb.left);
        let (value, first, second) = ln_density(shape, w);
        return Curve {
            value: value - ln_spread - bulb.left.ln(),
            slope: [-first / spread, -first * w - 1.0],
            bend: [second / (spread * spread), (second * w + first) / spread, second * w * w + first * w],
        };
    }
    let (a, b) = (place(bulb.left), place(bulb.right));
    let value = ln_between(shape, a, b);
    // f(w) ÷ (F(b) − F(a)) and f′ in the same measure.
    let end = |w: f64| {
        if w.is_infinite() {
            return (0.0, 0.0, 0.0);
        }
        let (ln_f, first, _) = ln_density(shape, w);
        let f = (ln_f - value).exp();
        (w, f, f * first)
    };
    let ((a, fa, da), (b, fb, db)) = (end(a), end(b));
    let (aa, bb, ab) = (-da - fa * fa, db - fb * fb, fa * fb);
    let square = spread * spread;
    Curve {
        value,
        slope: [(fa - fb) / spread, a * fa - b * fb],
        bend: [
            (aa + bb + 2.0 * ab) / square,
            (aa * a + bb * b + ab * (a + b) + fb - fa) / spread,
            aa * a * a + bb * b * b + 2.0 * ab * a * b + b * fb - a * fa,
        ],
    }
}

/// The likelihood of some bulbs.
struct Likelihood<'a> {
    shape: Shape,
    bulbs: &'a [Bounds],
    groups: &'a [usize],
    size: usize,
}

impl Likelihood<'_> {
    /// Value, gradient and negative curvature; parameters are the intercept, offsets of further groups, ln σ.
    fn at(&self, x: &[f64]) -> (f64, Vec<f64>, Vec<f64>) {
        let n = self.size;
        let last = n - 1;
        let (mut value, mut gradient, mut curvature) = (0.0, vec![0.0; n], vec![0.0; n * n]);
        for (bulb, group) in self.bulbs.iter().zip(self.groups) {
            let median = x[0] + if *group > 0 { x[*group] } else { 0.0 };
            let one = curve(self.shape, *bulb, median, x[last]);
            value += one.value;
            let columns = [0, *group];
            let used = &columns[..if *group > 0 { 2 } else { 1 }];
            for i in used {
                gradient[*i] += one.slope[0];
                for j in used {
                    curvature[i * n + j] -= one.bend[0];
                }
                curvature[i * n + last] -= one.bend[1];
                curvature[last * n + i] -= one.bend[1];
            }
            gradient[last] += one.slope[1];
            curvature[last * n + last] -= one.bend[2];
        }
        (value, gradient, curvature)
    }

    /// The maximum over all parameters but the fixed one, from `start`; nothing when there is none inside.
    fn climb(&self, start: &[f64], fixed: Option<usize>) -> Option<(Vec<f64>, f64)> {
        let n = self.size;
        let mut x = start.to_vec();
        let (mut value, mut gradient, mut curvature) = self.at(&x);
        for _ in 0..MOST_STEPS {
            if let Some(fixed) = fixed {
                gradient[fixed] = 0.0;
                for i in 0..n {
                    curvature[fixed * n + i] = 0.0;
                    curvature[i * n + fixed] = 0.0;
                }
                curvature[fixed * n + fixed] = 1.0;
            }
            let step = ascent(&curvature, &gradient, n)?;
            let gain: f64 = step.iter().zip(&gradient).map(|(s, g)| s * g).sum();
            if gain.abs() < 1e-18 * (1.0 + value.abs()) {
                return Some((x, value));
            }
            let mut length = 1.0_f64;
            let longest = step.iter().fold(0.0_f64, |most, s| most.max(s.abs()));
            length = length.min(2.0 / longest);
            loop {
                let next: Vec<f64> = x.iter().zip(&step).map(|(x, s)| x + length * s).collect();
                let then = self.at(&next);
                if then.0.is_finite() && then.0 >= value {
                    let gained = then.0 - value;
                    x = next;
                    (value, gradient, curvature) = then;
                    if gained == 0.0 {
                        return Some((x, value));
                    }
                    break;
                }
                length /= 2.0;
                if length < 1e-12 {
                    // No further digit is to be gained; whether this is a summit the gradient tells.
                    return (gain < 1e-9).then_some((x, value));
                }
            }
            if !(LEAST_LN_SPREAD..=MOST_LN_SPREAD).contains(&x[n - 1]) || x[0].abs() > 50.0 {
                return None;
            }
        }
        None
    }
}

/// A step upwards: Newton's where the curvature is that of a summit, else with enough added to its diagonal.
fn ascent(curvature: &[f64], gradient: &[f64], n: usize) -> Option<Vec<f64>> {
    let mut added = 0.0;
    for _ in 0..60 {
        let mut matrix = curvature.to_vec();
        for i in 0..n {
            matrix[i * n + i] += added;
        }
        if let Some(factored) = Cholesky::new(&matrix, n) {
            return Some(factored.solve(gradient));
        }
        added = if added == 0.0 { 1e-3 } else { added * 4.0 };
    }
    None
}

/// Fitted times.
#[derive(Debug, Clone, PartialEq)]
pub struct Times {
    /// The distribution.
    pub shape: Shape,
    /// The intercept μ, then by how much each further group differs from the first.
    pub coefficients: Vec<f64>,
    /// ln σ.
    pub ln_spread: f64,
    /// Covariance of the coefficients and ln σ, row by row.
    pub covariance: Vec<Vec<f64>>,
    /// The log likelihood, densities on the scale of days.
    pub ln_likelihood: f64,
    bulbs: Vec<Bounds>,
    groups: Vec<usize>,
}

impl Times {
    /// The times that some bulbs bound best; `groups` counts from 0, one for each bulb.
    ///
    /// # Errors
    /// When there is no bulb, an interval is none, a group has no bulb, or the likelihood has no maximum inside.
    pub fn new(shape: Shape, bulbs: &[Bounds], groups: &[usize]) -> Result<Self> {
        if bulbs.is_empty() || bulbs.len() != groups.len() {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        let no_interval = |bulb: &Bounds| {
            bulb.left.is_nan()
                || bulb.left < 0.0
                || bulb.left.is_infinite()
                || bulb.right.is_nan()
                || bulb.right < bulb.left
                || bulb.right == 0.0
        };
        if bulbs.iter().any(no_interval) {
            return Err(NoAnswer(Reason::NotADay));
        }
        let n_groups = groups.iter().max().map_or(0, |most| most + 1);
        let is_empty = |group: usize| !groups.contains(&group);
        if (0..n_groups).any(is_empty) {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        let likelihood = Likelihood { shape, bulbs, groups, size: n_groups + 1 };
        let not_estimable = NoAnswer(Reason::NotEstimable);
        let start = start(bulbs, groups, n_groups);
        let (x, ln_likelihood) = likelihood.climb(&start, None).ok_or(not_estimable)?;
        let n = x.len();
        let factored = Cholesky::new(&likelihood.at(&x).2, n).ok_or(not_estimable)?;
        let covariance: Vec<Vec<f64>> = (0..n)
            .map(|column| {
                let unit: Vec<f64> = (0..n).map(|i| f64::from(u8::from(i == column))).collect();
                factored.solve(&unit)
            })
            .collect();
        // A summit that is as good as flat lies at the edge, not inside.
        if (0..n).any(|i| !covariance[i][i].is_finite() || covariance[i][i] > 1e4) {
            return Err(not_estimable);
        }
        Ok(Self {
            shape,
            coefficients: x[..n - 1].to_vec(),
            ln_spread: x[n - 1],
            covariance,
            ln_likelihood,
            bulbs: bulbs.to_vec(),
            groups: groups.to_vec(),
        })
    }

    /// σ.
    pub fn spread(&self) -> f64 {
        self.ln_spread.exp()
    }

    /// μ of a group.
    pub fn location(&self, group: usize) -> f64 {
        let offset = self.coefficients.get(group).filter(|_| group > 0);
        self.coefficients[0] + offset.copied().unwrap_or(0.0)
    }

    /// The day before which a share `p` of a group reaches the stage, and its standard error by the delta method.
    ///
    /// # Errors
    /// When `p` is no share between 0 and 1.
    pub fn quantile(&self, group: usize, p: f64) -> Result<(f64, f64)> {
        if !(p > 0.0 && p < 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let w = quantile(self.shape, p);
        let day = (self.location(group) + self.spread() * w).exp();
        let last = self.coefficients.len();
        let mut slope = vec![0.0; last + 1];
        slope[0] = 1.0;
        if group > 0 && group < last {
            slope[group] = 1.0;
        }
        slope[last] = self.spread() * w;
        let mut variance = 0.0;
        for (row, a) in self.covariance.iter().zip(&slope) {
            variance += row.iter().zip(&slope).map(|(v, b)| a * v * b).sum::<f64>();
        }
        Ok((day, day * variance.sqrt()))
    }

    /// The day before which a share `p` of those of a group that have not reached the stage on day `not_yet_by` does.
    ///
    /// # Errors
    /// When `p` is no share between 0 and 1, or the day is none.
    pub fn quantile_after(&self, group: usize, not_yet_by: f64, p: f64) -> Result<f64> {
        if !(p > 0.0 && p < 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let ln_left = self.ln_left(group, not_yet_by)? + (-p).ln_1p();
        let w = match self.shape {
            Shape::Weibull => (-ln_left).ln(),
            Shape::Lognormal => special::normal_upper(ln_left.exp()),
        };
        Ok((self.location(group) + self.spread() * w).exp())
    }

    /// The chance that one that has not reached the stage on day `not_yet_by` does within so many days.
    ///
    /// # Errors
    /// When a day is none.
    pub fn chance_within(&self, group: usize, not_yet_by: f64, days: f64) -> Result<f64> {
        let before = self.ln_left(group, not_yet_by)?;
        let after = self.ln_left(group, not_yet_by + days)?;
        Ok(-(after - before).exp_m1())
    }

    /// ln of the share still without the stage on a day.
    fn ln_left(&self, group: usize, day: f64) -> Result<f64> {
        if !(day >= 0.0 && day.is_finite()) {
            return Err(NoAnswer(Reason::NotADay));
        }
        let w = (day.ln() - self.location(group)) / self.spread();
        Ok(ln_upper(self.shape, w))
    }

    /// Profile limits of a coefficient: all values that twice the log likelihood does not hold against at this level.
    ///
    /// # Errors
    /// When there is no such coefficient.
    pub fn limits(&self, coefficient: usize, level: Level) -> Result<Interval> {
        let Some(estimate) = self.coefficients.get(coefficient).copied() else {
            return Err(NoAnswer(Reason::TooFewGroups));
        };
        let likelihood = Likelihood {
            shape: self.shape,
            bulbs: &self.bulbs,
            groups: &self.groups,
            size: self.coefficients.len() + 1,
        };
        let mut summit = self.coefficients.clone();
        summit.push(self.ln_spread);
        let allowed = level.z().powi(2) / 2.0;
        let miss = |value: f64| {
            let mut start = summit.clone();
            start[coefficient] = value;
            let best = likelihood.climb(&start, Some(coefficient));
            best.map_or(f64::INFINITY, |(_, best)| self.ln_likelihood - best) - allowed
        };
        let error = self.covariance[coefficient][coefficient].sqrt();
        let end = |sign: f64| {
            let mut far = 2.0 * error;
            while miss(estimate + sign * far) < 0.0 {
                far *= 2.0;
                if far > 1e3 {
                    return sign * f64::INFINITY;
                }
            }
            // An infinite miss still has the right sign for halving.
            let bounded = |off: f64| miss(estimate + sign * off).min(1e6);
            estimate + sign * roots::bracketed(bounded, 0.0, far)
        };
        Ok(Interval::new(end(-1.0), end(1.0)))
    }
}

/// Middles of the intervals in ln days, and their spread.
fn start(bulbs: &[Bounds], groups: &[usize], n_groups: usize) -> Vec<f64> {
    let middle = |bulb: &Bounds| {
        let day = if bulb.right.is_infinite() { bulb.left * 1.1 } else { f64::midpoint(bulb.left, bulb.right) };
        day.max(1e-6).ln()
    };
    let mut sums = vec![(0.0, 0.0); n_groups];
    for (bulb, group) in bulbs.iter().zip(groups) {
        sums[*group].0 += middle(bulb);
        sums[*group].1 += 1.0;
    }
    let means: Vec<f64> = sums.iter().map(|(sum, n)| sum / n).collect();
    let off = |(bulb, group): (&Bounds, &usize)| (middle(bulb) - means[*group]).powi(2);
    let squares: f64 = bulbs.iter().zip(groups).map(off).sum();
    let spread = (squares / bulbs.len() as f64).sqrt().max(0.1);
    let mut x: Vec<f64> = means.iter().map(|mean| mean - means[0]).collect();
    x[0] = means[0];
    x.push(spread.ln());
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(left: f64, right: f64) -> Bounds {
        Bounds { left, right }
    }

    #[test]
    fn what_has_no_maximum_inside_is_not_estimable() {
        let open = f64::INFINITY;
        for bulbs in [
            vec![between(10.0, 17.0); 4],
            vec![between(10.0, open), between(12.0, open)],
            vec![between(10.0, 17.0)],
            vec![between(10.0, 17.0), between(17.0, 24.0)],
            vec![between(5.0, 5.0), between(5.0, 5.0)],
        ] {
            for shape in [Shape::Lognormal, Shape::Weibull] {
                let groups = vec![0; bulbs.len()];
                assert_eq!(Times::new(shape, &bulbs, &groups), Err(NoAnswer(Reason::NotEstimable)), "{bulbs:?}");
            }
        }
        let bad = Times::new(Shape::Weibull, &[between(3.0, 2.0)], &[0]);
        assert_eq!(bad, Err(NoAnswer(Reason::NotADay)));
    }

    /// With exact days the lognormal's estimates are mean and standard deviation of ln days, and its profile limits
    /// x̄ ± √(s² (e^(z²/n) − 1)).
    #[test]
    fn exact_days_have_a_closed_form() {
        let days = [12.0_f64, 15.0, 19.0, 22.0, 30.0];
        let bulbs: Vec<Bounds> = days.iter().map(|day| between(*day, *day)).collect();
        let times = Times::new(Shape::Lognormal, &bulbs, &[0; 5]).expect("an estimate");
        let mean = days.iter().map(|day| day.ln()).sum::<f64>() / 5.0;
        let square = days.iter().map(|day| (day.ln() - mean).powi(2)).sum::<f64>() / 5.0;
        assert!((times.coefficients[0] - mean).abs() < 1e-8);
        assert!((times.spread() - square.sqrt()).abs() < 1e-8);
        let limits = times.limits(0, Level::PCT_95).expect("limits");
        let half = (square * ((1.959_963_984_540_054_f64.powi(2) / 5.0).exp() - 1.0)).sqrt();
        assert!((limits.lower - (mean - half)).abs() < 1e-6, "{limits:?}");
        assert!((limits.upper - (mean + half)).abs() < 1e-6, "{limits:?}");
    }

    #[test]
    fn slopes_and_curvatures_are_those_of_the_likelihood() {
        for shape in [Shape::Lognormal, Shape::Weibull] {
            for bulb in [between(9.0, 14.0), between(0.0, 14.0), between(9.0, f64::INFINITY), between(11.0, 11.0)] {
                let at = |m: f64, s: f64| curve(shape, bulb, m, s);
                let (m, s, h) = (2.3, -0.9, 1e-5);
                let one = at(m, s);
                let by_m = (at(m + h, s).value - at(m - h, s).value) / (2.0 * h);
                let by_s = (at(m, s + h).value - at(m, s - h).value) / (2.0 * h);
                assert!((by_m - one.slope[0]).abs() < 1e-6, "{shape:?} {bulb:?}");
                assert!((by_s - one.slope[1]).abs() < 1e-6, "{shape:?} {bulb:?}");
                let bend = |k: usize, up: Curve, down: Curve| (up.slope[k] - down.slope[k]) / (2.0 * h);
                let mm = bend(0, at(m + h, s), at(m - h, s));
                let ms = bend(1, at(m + h, s), at(m - h, s));
                let ss = bend(1, at(m, s + h), at(m, s - h));
                for (got, exact) in [mm, ms, ss].into_iter().zip(one.bend) {
                    assert!((got - exact).abs() < 1e-5, "{shape:?} {bulb:?}: {got} {exact}");
                }
            }
        }
    }
}
