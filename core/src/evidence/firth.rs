//! Firth's logistic regression: several factors at once, also when one of them separates the outcomes.
//!
//! Maximises l(β) + ½ ln |XᵀWX|; the score is Σ (y − p + h(½ − p)) x with h the diagonal of the hat matrix. The penalty
//! keeps every estimate finite; with two groups alone it is the log odds ratio with ½ added to each cell. Standard
//! errors from the inverse information, and the limits from the profile of the penalised likelihood, 2(l* − l*(b)) =
//! χ²₁, since Wald's are far too short under separation; the test of b = 0 is from the same profile. The penalty of a
//! profile is that of the whole design. Firth 1993, Biometrika 80:27; Heinze & Schemper 2002, Statistics in Medicine
//! 21:2409. Predicted shares are pulled towards one half (Puhr et al. 2017, Statistics in Medicine 36:2302).

use super::linear::Cholesky;
use super::{Interval, Level, NoAnswer, Reason, Result, roots, special};

/// No more coefficients than this.
const MOST_COEFFICIENTS: usize = 40;

/// Bulbs that are alike: their row of the design, how many reached the stage, and how many did not.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The row of the design, the constant included.
    pub x: Vec<f64>,
    /// How many reached the stage.
    pub reached: f64,
    /// How many did not.
    pub missed: f64,
}

/// One coefficient, a log odds ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// The estimate.
    pub estimate: f64,
    /// Its standard error.
    pub se: f64,
    /// Wald limits, for reading.
    pub wald: Interval,
    /// Profile limits; refused when the search did not end.
    pub profile: Result<Interval>,
    /// p of the penalised likelihood ratio test that it is 0.
    pub p: Result<f64>,
}

/// The whole fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The coefficients in the order of the design.
    pub coefficients: Vec<Coefficient>,
    /// The penalised log-likelihood at the estimate.
    pub ln_likelihood: f64,
}

/// Fits the model.
///
/// # Errors
/// When rows differ in length, a value is no number, there is no bulb, or the design's columns depend on each other.
pub fn fit(rows: &[Row], level: Level) -> Result<Fit> {
    let model = Model::new(rows)?;
    let size = model.scale.len();
    let (best, top) = model.maximum(vec![0.0; size], None)?;
    let information = model.information(&best).ok_or(NoAnswer(Reason::Aliased))?;
    let bound = special::normal_upper(level.tail()).powi(2) / 2.0;
    let coefficients = (0..size).map(|j| {
        let mut unit = vec![0.0; size];
        unit[j] = 1.0;
        let se = information.solve(&unit)[j].sqrt();
        let (estimate, scale) = (best[j], model.scale[j]);
        let spread = level.z() * se;
        let drop = |b: f64| model.profile(&best, j, b).map(|value| top - value);
        Coefficient {
            estimate: estimate / scale,
            se: se / scale,
            wald: Interval::new((estimate - spread) / scale, (estimate + spread) / scale),
            profile: limits(&drop, estimate, se, bound)
                .map(|limits| Interval::new(limits.lower / scale, limits.upper / scale)),
            p: drop(0.0).map(|drop| special::chi_square_upper(2.0 * drop.max(0.0), 1.0)),
        }
    });
    let shift: f64 = model.scale.iter().map(|scale| scale.ln()).sum();
    Ok(Fit { coefficients: coefficients.collect(), ln_likelihood: top + shift })
}

/// Where the penalised likelihood has fallen by `bound` on both sides.
fn limits(drop: &dyn Fn(f64) -> Result<f64>, estimate: f64, se: f64, bound: f64) -> Result<Interval> {
    let side = |sign: f64| {
        let mut far = estimate + sign * 2.0 * se;
        for _ in 0..60 {
            if drop(far)? >= bound {
                // Inside the bracket every profile exists, because both ends do.
                return Ok(roots::bracketed(|b| drop(b).map_or(f64::NAN, |drop| drop - bound), estimate, far));
            }
            far = estimate + 1.6 * (far - estimate);
        }
        Err(NoAnswer(Reason::NotEstimable))
    };
    let interval = Interval::new(side(-1.0)?, side(1.0)?);
    if interval.lower.is_nan() || interval.upper.is_nan() {
        return Err(NoAnswer(Reason::NotEstimable));
    }
    Ok(interval)
}

/// The design with every column scaled to at most 1.
struct Model {
    rows: Vec<Row>,
    scale: Vec<f64>,
}

impl Model {
    fn new(rows: &[Row]) -> Result<Self> {
        let used: Vec<&Row> = rows.iter().filter(|row| row.reached + row.missed > 0.0).collect();
        let size = used.first().map_or(0, |row| row.x.len());
        if size == 0 {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        let valid = |row: &&Row| {
            let counts = [row.reached, row.missed].iter().all(|count| *count >= 0.0 && count.is_finite());
            counts && row.x.len() == size && row.x.iter().all(|x| x.is_finite())
        };
        if !used.iter().all(valid) || size > MOST_COEFFICIENTS {
            return Err(NoAnswer(Reason::NotEstimable));
        }
        let largest = |j: usize| used.iter().map(|row| row.x[j].abs()).fold(0.0, f64::max);
        let scale: Vec<f64> = (0..size).map(largest).collect();
        if scale.contains(&0.0) {
            return Err(NoAnswer(Reason::Aliased));
        }
        let scaled =
            |row: &&Row| Row { x: row.x.iter().zip(&scale).map(|(x, scale)| x / scale).collect(), ..(*row).clone() };
        Ok(Self { rows: used.iter().map(scaled).collect(), scale })
    }

    fn eta(row: &Row, beta: &[f64]) -> f64 {
        row.x.iter().zip(beta).map(|(x, b)| x * b).sum()
    }

    fn information(&self, beta: &[f64]) -> Option<Cholesky> {
        let size = beta.len();
        let mut matrix = vec![0.0; size * size];
        for row in &self.rows {
            let (p, q) = shares(Self::eta(row, beta));
            let weight = (row.reached + row.missed) * p * q;
            for i in 0..size {
                for j in 0..size {
                    matrix[i * size + j] += weight * row.x[i] * row.x[j];
                }
            }
        }
        Cholesky::new(&matrix, size)
    }

    /// The penalised log-likelihood; nothing where the information is singular.
    fn value(&self, beta: &[f64]) -> Option<f64> {
        let information = self.information(beta)?;
        let ln_plus = |x: f64| if x > 30.0 { x } else { x.exp().ln_1p() };
        let sum: f64 = self
            .rows
            .iter()
            .map(|row| {
                let eta = Self::eta(row, beta);
                -row.reached * ln_plus(-eta) - row.missed * ln_plus(eta)
            })
            .sum();
        Some(sum + 0.5 * information.ln_determinant()).filter(|value| value.is_finite())
    }

    /// Firth's score.
    fn score(&self, beta: &[f64], information: &Cholesky) -> Vec<f64> {
        let mut score = vec![0.0; beta.len()];
        for row in &self.rows {
            let (p, q) = shares(Self::eta(row, beta));
            let leverage = leverage(row, information, p * q);
            let count = row.reached + row.missed;
            let gap = row.reached * q - row.missed * p + count * leverage * (q - p) / 2.0;
            score.iter_mut().zip(&row.x).for_each(|(score, x)| *score += gap * x);
        }
        score
    }

    /// The maximum from a start on, with one coefficient held where it is if asked for.
    fn maximum(&self, start: Vec<f64>, held: Option<usize>) -> Result<(Vec<f64>, f64)> {
        let never = NoAnswer(Reason::Aliased);
        let mut beta = start;
        let mut value = self.value(&beta).ok_or(never)?;
        let free: Vec<usize> = (0..beta.len()).filter(|j| Some(*j) != held).collect();
        for _ in 0..400 {
            let information = self.information(&beta).ok_or(never)?;
            let score = self.score(&beta, &information);
            let step = self.step(&beta, &information, &score, &free).ok_or(never)?;
            let longest = step.iter().fold(0.0_f64, |most, step| most.max(step.abs()));
            let mut length = if longest > 3.0 { 3.0 / longest } else { 1.0 };
            let mut moved = false;
            for _ in 0..40 {
                let mut next = beta.clone();
                free.iter().zip(&step).for_each(|(&j, step)| next[j] += length * step);
                if let Some(after) = self.value(&next).filter(|after| *after >= value - 1e-14 * value.abs()) {
                    (beta, value, moved) = (next, after, true);
                    break;
                }
                length /= 2.0;
            }
            if !moved || longest < 1e-11 {
                return Ok((beta, value));
            }
        }
        Ok((beta, value))
    }

    /// The scoring step over the free coefficients. Rows weigh as much more as the penalty adds to them, 1 + h, which
    /// makes the step exact for groups alone and keeps it from overshooting when bulbs are few.
    fn step(&self, beta: &[f64], information: &Cholesky, score: &[f64], free: &[usize]) -> Option<Vec<f64>> {
        let size = free.len();
        let mut matrix = vec![0.0; size * size];
        for row in &self.rows {
            let (p, q) = shares(Self::eta(row, beta));
            let weight = (row.reached + row.missed) * p * q * (1.0 + leverage(row, information, p * q));
            for (i, &a) in free.iter().enumerate() {
                for (j, &b) in free.iter().enumerate() {
                    matrix[i * size + j] += weight * row.x[a] * row.x[b];
                }
            }
        }
        let right: Vec<f64> = free.iter().map(|&j| score[j]).collect();
        if size == 0 { Some(Vec::new()) } else { Some(Cholesky::new(&matrix, size)?.solve(&right)) }
    }

    /// The largest penalised log-likelihood with one coefficient held at `b`.
    fn profile(&self, best: &[f64], j: usize, b: f64) -> Result<f64> {
        let mut start = best.to_vec();
        // The others follow the held one as in a quadratic likelihood, so that the start is near.
        if let Some(information) = self.information(best) {
            let mut unit = vec![0.0; best.len()];
            unit[j] = 1.0;
            let column = information.solve(&unit);
            start.iter_mut().zip(&column).for_each(|(start, part)| *start += (b - best[j]) * part / column[j]);
        }
        start[j] = b;
        let plain = || {
            let mut plain = best.to_vec();
            plain[j] = b;
            plain
        };
        let found = self.maximum(start, Some(j)).or_else(|_| self.maximum(plain(), Some(j)));
        found.map(|(_, value)| value)
    }
}

/// The part of one bulb's own outcome in its fitted share.
fn leverage(row: &Row, information: &Cholesky, weight: f64) -> f64 {
    weight * information.solve(&row.x).iter().zip(&row.x).map(|(a, b)| a * b).sum::<f64>()
}

/// The share at a logit, and its complement.
fn shares(eta: f64) -> (f64, f64) {
    (1.0 / (1.0 + (-eta).exp()), 1.0 / (1.0 + eta.exp()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn row(x: &[f64], reached: u32, missed: u32) -> Row {
        Row { x: x.to_vec(), reached: f64::from(reached), missed: f64::from(missed) }
    }

    proptest! {
        /// Firth 1993: with two groups alone it is ½ added to every cell.
        #[test]
        fn two_groups_add_a_half_to_each_cell(a in 0_u32..20, b in 0_u32..20, c in 0_u32..20, d in 0_u32..20) {
            prop_assume!(a + b > 0 && c + d > 0);
            let fit = fit(&[row(&[1.0, 1.0], a, b), row(&[1.0, 0.0], c, d)], Level::PCT_95).expect("a fit");
            let half = |count: u32| f64::from(count) + 0.5;
            let expected = (half(a) * half(d) / (half(b) * half(c))).ln();
            let slope = fit.coefficients[1];
            prop_assert!((slope.estimate - expected).abs() < 1e-7, "{} {}", slope.estimate, expected);
            let profile = slope.profile.expect("limits");
            prop_assert!(profile.lower < slope.estimate && slope.estimate < profile.upper);
            prop_assert!((0.0..=1.0).contains(&slope.p.expect("a test")));
        }
    }

    #[test]
    fn columns_that_depend_on_each_other_are_said() {
        let rows = [row(&[1.0, 1.0, 0.0], 3, 2), row(&[1.0, 0.0, 1.0], 1, 4)];
        assert_eq!(fit(&rows, Level::PCT_95), Err(NoAnswer(Reason::Aliased)));
        assert!(fit(&[], Level::PCT_95).is_err());
        assert!(fit(&[row(&[1.0, f64::NAN], 1, 1)], Level::PCT_95).is_err());
        assert!(fit(&[row(&[1.0], 1, 1), row(&[1.0, 2.0], 1, 1)], Level::PCT_95).is_err());
    }
}
