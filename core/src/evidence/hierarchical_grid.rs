//! The grids of the hierarchical model: nodes, likelihoods along the logit, normal smoothing, and distribution functions.

/// η is cut here; both likelihoods are flat or negligible beyond.
pub(super) const FAR: f64 = 18.0;

/// Equally spaced nodes at whole multiples of the grid's step.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub(super) places: Vec<i64>,
    pub(super) every: i64,
    pub(super) step: f64,
}

impl Axis {
    pub(super) fn around(middle: f64, reach: f64, count: f64, step: f64) -> Self {
        let every = ((2.0 * reach / count / step).floor() as i64).max(1);
        let (low, high) = ((middle - reach) / step, (middle + reach) / step);
        let (first, last) = ((low / every as f64).floor() as i64, (high / every as f64).ceil() as i64);
        Self { places: (first..=last).map(|place| place * every).collect(), every, step }
    }

    pub(super) fn value(&self, index: usize) -> f64 {
        self.places[index] as f64 * self.step
    }

    pub(super) fn spacing(&self) -> f64 {
        self.every as f64 * self.step
    }

    /// Moves the nodes to where the posterior is; whether they were fine enough before.
    /// With `count` nodes over sixteen standard deviations.
    pub(super) fn narrow(&mut self, mass: &[f64], prior_sd: f64, step: f64, count: f64) -> bool {
        let (mean, sd) = moments(self, mass);
        let fine = self.spacing() <= 18.0 / count * sd || self.every == 1;
        let wide = sd.max(self.spacing());
        let (low, high) = ((mean - 8.0 * wide).max(-6.5 * prior_sd), (mean + 8.0 * wide).min(6.5 * prior_sd));
        *self = Self::around(f64::midpoint(low, high), (high - low) / 2.0, count, step);
        fine
    }
}

pub(super) fn moments(axis: &Axis, mass: &[f64]) -> (f64, f64) {
    let mean: f64 = mass.iter().enumerate().map(|(index, mass)| mass * axis.value(index)).sum();
    let square: f64 = mass.iter().enumerate().map(|(index, mass)| mass * (axis.value(index) - mean).powi(2)).sum();
    (mean, square.sqrt())
}

/// Likelihoods of one try along the grid, from −`half` to `half`.
pub(super) struct Line {
    pub(super) half: i64,
    pub(super) values: Vec<f64>,
}

impl Line {
    pub(super) fn at(&self, place: i64) -> f64 {
        self.values[(place + self.half).clamp(0, 2 * self.half) as usize]
    }
}

/// Weights of a normal spread on whole steps, the same on both sides.
pub(super) struct Kernel {
    /// The weight of 0, 1, 2 … steps; on both sides they sum to 1.
    pub(super) weights: Vec<f64>,
    /// The weight of so many steps or more on one side.
    pub(super) beyond: Vec<f64>,
    /// The spread in steps.
    pub(super) ratio: f64,
}

impl Kernel {
    pub(super) fn new(spread: f64, step: f64) -> Self {
        let ratio = spread / step;
        let mut weights = if ratio < 1.0 {
            let a = ratio * ratio;
            let (one, two) = ((4.0 * a - 3.0 * a * a) / 6.0, (3.0 * a * a - a) / 24.0);
            vec![1.0 - 2.0 * one - 2.0 * two, one, two]
        } else {
            let reach = (8.5 * ratio).min(4.0 * FAR / step).ceil() as usize;
            (0..=reach).map(|d| (-0.5 * (d as f64 / ratio).powi(2)).exp()).collect()
        };
        let all = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
        weights.iter_mut().for_each(|weight| *weight /= all);
        let mut beyond = weights.clone();
        for index in (1..beyond.len()).rev() {
            beyond[index - 1] += beyond[index];
        }
        Self { weights, beyond, ratio: ratio.max(1e-9) }
    }

    pub(super) fn reach(&self) -> i64 {
        self.weights.len() as i64 - 1
    }

    /// The weight of `steps` or more to one side, `steps` being at least 1 inside the grid.
    pub(super) fn from(&self, steps: i64) -> f64 {
        match usize::try_from(steps) {
            Ok(steps) if steps > 0 => self.beyond.get(steps).copied().unwrap_or(0.0),
            // A place beyond the end: everything but what reaches back.
            _ => 1.0 - self.beyond.get(1 + steps.unsigned_abs() as usize).copied().unwrap_or(0.0),
        }
    }
}

/// B(η) A(η + δ), one row an η, one column a δ; only the rows that matter are kept.
pub(super) struct Table {
    pub(super) half: i64,
    pub(super) first: i64,
    pub(super) columns: usize,
    pub(super) values: Vec<f64>,
    /// The narrowest the likelihood can be, in steps.
    pub(super) width: f64,
}

impl Table {
    pub(super) fn new(a: &Line, b: &Line, delta: &Axis, width: f64) -> Self {
        let columns = delta.places.len();
        let row = |place: i64| delta.places.iter().map(move |shift| b.at(place) * a.at(place + shift));
        let matters = |place: &i64| row(*place).any(|value| value > 1e-15);
        let first = (-b.half..=b.half).find(matters).unwrap_or(-b.half);
        let last = (first..=b.half).rev().find(matters).unwrap_or(b.half);
        Self { half: b.half, first, columns, values: (first..=last).flat_map(row).collect(), width }
    }

    /// The rows smoothed around a place; what lies beyond the ends of the grid is as at the ends.
    pub(super) fn gathered(&self, place: i64, kernel: &Kernel) -> Vec<f64> {
        let mut sum = vec![0.0; self.columns];
        let last = self.first + (self.values.len() / self.columns) as i64 - 1;
        let mut add = |row: i64, weight: f64| {
            let start = (row - self.first) as usize * self.columns;
            for (sum, value) in sum.iter_mut().zip(&self.values[start..start + self.columns]) {
                *sum += weight * value;
            }
        };
        let stride = self.stride(place, kernel);
        let low = self.first.max(place - kernel.reach());
        // The first row that lies a whole number of strides from the place.
        let start = low + (place - low).rem_euclid(stride);
        for row in (start..=last.min(place + kernel.reach())).step_by(stride as usize) {
            add(row, kernel.weights[(row - place).unsigned_abs() as usize] * stride as f64);
        }
        if self.first == -self.half {
            add(self.first, kernel.from(place + self.half + 1));
        }
        if last == self.half {
            add(last, kernel.from(self.half - place + 1));
        }
        sum
    }

    /// How many rows may be left out: a sum over rows as far apart as the product of spread and likelihood is wide is
    /// still exact to 1e-8. None may where the likelihood
    /// goes on beyond the ends of the grid.
    pub(super) fn stride(&self, place: i64, kernel: &Kernel) -> i64 {
        let last = self.first + (self.values.len() / self.columns) as i64 - 1;
        let open_end = self.first == -self.half || last == self.half;
        if open_end && place.abs() + kernel.reach() >= self.half {
            return 1;
        }
        (1.0 / (1.0 / kernel.ratio).hypot(1.0 / self.width)).floor().max(1.0) as i64
    }
}

/// The distribution function from masses at nodes, by a cubic spline through the logarithm of the density.
pub(super) struct Cumulative {
    pub(super) points: Vec<(f64, f64)>,
}

/// Parts of one stretch between nodes.
const PARTS: usize = 64;

impl Cumulative {
    pub(super) fn new(axis: &Axis, mass: &[f64]) -> Self {
        let top = mass.iter().copied().fold(0.0, f64::max);
        let first = mass.iter().position(|mass| *mass > top * 1e-40).unwrap_or(0);
        let last = mass.iter().rposition(|mass| *mass > top * 1e-40).unwrap_or(0);
        let logs: Vec<f64> = mass[first..=last].iter().map(|mass| (mass / top).max(1e-300).ln()).collect();
        let curvature = spline(&logs);
        let mut points = vec![(axis.value(first), 0.0)];
        let mut before = logs[0].exp();
        let mut sum = 0.0;
        for stretch in 0..logs.len() - 1 {
            for part in 1..=PARTS {
                let t = part as f64 / PARTS as f64;
                let s = 1.0 - t;
                let bend = ((s * s * s - s) * curvature[stretch] + (t * t * t - t) * curvature[stretch + 1]) / 6.0;
                let density = (s * logs[stretch] + t * logs[stretch + 1] + bend).exp();
                sum += f64::midpoint(before, density);
                before = density;
                points.push((axis.value(first + stretch) + t * axis.spacing(), sum));
            }
        }
        points.iter_mut().for_each(|point| point.1 /= sum);
        Self { points }
    }

    pub(super) fn quantile(&self, p: f64) -> f64 {
        let above = self.points.partition_point(|point| point.1 < p).clamp(1, self.points.len() - 1);
        let ((x, low), (y, high)) = (self.points[above - 1], self.points[above]);
        x + (y - x) * (p - low) / (high - low)
    }

    pub(super) fn below(&self, value: f64) -> f64 {
        let above = self.points.partition_point(|point| point.0 < value).clamp(1, self.points.len() - 1);
        let ((x, low), (y, high)) = (self.points[above - 1], self.points[above]);
        (low + (high - low) * ((value - x) / (y - x))).clamp(0.0, 1.0)
    }
}

/// Second differences of the natural cubic spline through equally spaced values.
pub(super) fn spline(values: &[f64]) -> Vec<f64> {
    let n = values.len();
    let mut curvature = vec![0.0; n];
    let mut factor = vec![0.0; n];
    for i in 1..n.saturating_sub(1) {
        let pivot = 4.0 - factor[i - 1];
        factor[i] = 1.0 / pivot;
        curvature[i] = (6.0 * (values[i + 1] - 2.0 * values[i] + values[i - 1]) - curvature[i - 1]) / pivot;
    }
    for i in (1..n.saturating_sub(1)).rev() {
        curvature[i] -= factor[i] * curvature[i + 1];
    }
    curvature
}
