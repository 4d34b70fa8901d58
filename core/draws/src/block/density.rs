//! How probable the numbers of one step are, and the slope and curvature of that.

use super::{Block, Without};
use crate::{
    matrix::{Summit, factor, scatter, solve},
    normal::{self, exp, ln},
    terms::{Normal, Terms},
};

impl Block {
    /// Numbers with priors of their own: column and prior.
    fn fixed(&self) -> impl Iterator<Item = (usize, Normal)> + use<> {
        let blind = self.blind_beliefs.as_ref();
        let blind = blind.map(|blind| (self.n_duration, blind.log_odds));
        let two = [(0, self.beliefs.ln_median), (1, self.beliefs.longer_rest)];
        two.into_iter().chain(blind)
    }

    /// Log density of everything, but for a constant.
    pub(super) fn ln_density(&self, x: &[f64], theta: &[f64]) -> f64 {
        self.ln_prior(x, theta) + self.ln_likelihood(x, theta[0])
    }

    pub(super) fn ln_prior(&self, x: &[f64], theta: &[f64]) -> f64 {
        let mut sum = self.beliefs.ln_spread.ln_density(theta[0]);
        for (column, prior) in self.fixed() {
            sum += prior.ln_density(x[column]);
        }
        for (which, ln_sd) in theta.iter().enumerate().skip(1) {
            let (from, n) = self.effects(which);
            let squares: f64 = x[from..from + n].iter().map(|e| e * e).sum();
            sum += self.ln_prior_deviation(which, *ln_sd) - n as f64 * ln_sd - 0.5 * squares * exp(-2.0 * ln_sd);
        }
        sum
    }

    pub(super) fn ln_likelihood(&self, x: &[f64], ln_spread: f64) -> f64 {
        self.ln_durations(self.square(x), ln_spread) + self.ln_not_blind(x) + self.ln_without(x, ln_spread)
    }

    /// What bulbs that reached the stage say of staying blind.
    pub(super) fn ln_not_blind(&self, x: &[f64]) -> f64 {
        let each = self.not_blind.iter();
        each.map(|(terms, reached)| -reached * softplus(terms.of(x))).sum()
    }

    /// Squares of known ln days around their medians, added up.
    pub(super) fn square(&self, x: &[f64]) -> f64 {
        let mut sum = self.squares;
        let rows = self.counts.chunks_exact(self.n_duration);
        for (i, (row, moment)) in rows.zip(&self.moments).enumerate() {
            let beside: f64 = row[..i].iter().zip(x).map(|(n, x)| n * x).sum();
            sum += x[i] * (2.0 * (beside - moment) + row[i] * x[i]);
        }
        sum
    }

    pub(super) fn ln_durations(&self, square: f64, ln_spread: f64) -> f64 {
        -self.n * ln_spread - 0.5 * exp(-2.0 * ln_spread) * square
    }

    /// What bulbs without the stage add.
    pub(super) fn ln_without(&self, x: &[f64], ln_spread: f64) -> f64 {
        let steep = exp(-ln_spread);
        let tails = normal::tails();
        let (mut cell, mut median, mut p) = (usize::MAX, 0.0, 0.0);
        let mut sum = 0.0;
        for without in &self.without {
            if without.cell != cell {
                cell = without.cell;
                median = self.duration[cell].of(x);
                if self.blind_beliefs.is_some() {
                    p = logistic(self.blind[cell].of(x));
                }
            }
            let u = (without.ln_days - median) * steep;
            let one = if self.blind_beliefs.is_some() { ln(p + (1.0 - p) * tails.upper(u)) } else { tails.ln_upper(u) };
            sum += without.n * one;
        }
        sum
    }

    /// The normal approximation near the summit for these spreads, by one Newton step from the anchor; the chain is
    /// right however near.
    pub(super) fn climb(&self, theta: &[f64], summit: &mut Summit) {
        let n = self.x.len();
        let mut gradient = self.gradient.clone();
        summit.at.clone_from(&self.anchor);
        self.curve(theta, &summit.at, &mut gradient, &mut summit.factor, true);
        if !factor(&mut summit.factor, n) {
            self.curve(theta, &summit.at, &mut gradient, &mut summit.factor, false);
            factor(&mut summit.factor, n);
        }
        solve(&summit.factor, n, &mut gradient);
        for (at, step) in summit.at.iter_mut().zip(&gradient) {
            *at += step.clamp(-1.0, 1.0);
        }
        let diagonal: f64 = (0..n).map(|i| ln(summit.factor[i * n + i])).sum();
        summit.ln_determinant = diagonal;
    }

    /// Gradient and negative curvature of the log density in x. Without `exact` the curvature is the one that were
    /// there if it were known which bulbs are blind, which is always positive.
    pub(super) fn curve(&self, theta: &[f64], x: &[f64], gradient: &mut [f64], curvature: &mut [f64], exact: bool) {
        let n = x.len();
        curvature.fill(0.0);
        for (column, prior) in self.fixed() {
            let precision = 1.0 / (prior.sd * prior.sd);
            gradient[column] = (prior.mean - x[column]) * precision;
            curvature[column * n + column] = precision;
        }
        for (which, ln_sd) in theta.iter().enumerate().skip(1) {
            let precision = exp(-2.0 * ln_sd);
            let (from, levels) = self.effects(which);
            for column in from..from + levels {
                gradient[column] = -x[column] * precision;
                curvature[column * n + column] = precision;
            }
        }
        let precision = exp(-2.0 * theta[0]);
        let rows = self.counts.chunks_exact(self.n_duration);
        for (i, (row, moment)) in rows.zip(&self.moments).enumerate() {
            gradient[i] += moment * precision;
            for (j, count) in row[..=i].iter().enumerate() {
                let curve = count * precision;
                curvature[i * n + j] += curve;
                gradient[i] -= curve * x[j];
                if j < i {
                    gradient[j] -= curve * x[i];
                }
            }
        }
        for (terms, reached) in &self.not_blind {
            let p = logistic(terms.of(x));
            scatter(terms, terms, reached * p * (1.0 - p), curvature, n);
            slope(terms, -reached * p, gradient);
        }
        self.curve_without(theta[0], x, gradient, curvature, exact);
    }

    /// The part of bulbs without the stage.
    fn curve_without(&self, ln_spread: f64, x: &[f64], gradient: &mut [f64], curvature: &mut [f64], exact: bool) {
        let (n, steep) = (x.len(), exp(-ln_spread));
        for alike in self.without.chunk_by(|a, b| a.cell == b.cell) {
            let cell = alike[0].cell;
            let (duration, blind) = (&self.duration[cell], &self.blind[cell]);
            let median = duration.of(x);
            if self.blind_beliefs.is_none() {
                let part = known_to_come(alike, median, steep);
                scatter(duration, duration, part.duration_curve, curvature, n);
                slope(duration, part.duration, gradient);
                continue;
            }
            let part = late_or_blind(alike, median, steep, logistic(blind.of(x)), exact);
            scatter(duration, duration, part.duration_curve, curvature, n);
            scatter(blind, blind, part.blind_curve, curvature, n);
            scatter(blind, duration, part.cross_curve, curvature, n);
            slope(duration, part.duration, gradient);
            slope(blind, part.blind, gradient);
        }
    }
}

/// Slopes and curvatures in the two predictors of a cell.
#[derive(Clone, Copy, Debug, Default)]
struct Part {
    duration: f64,
    blind: f64,
    duration_curve: f64,
    blind_curve: f64,
    cross_curve: f64,
}

/// Of bulbs that come some time.
fn known_to_come(alike: &[Without], median: f64, steep: f64) -> Part {
    let mut part = Part::default();
    for without in alike {
        let u = (without.ln_days - median) * steep;
        let (_, hazard) = normal::upper_and_hazard(u);
        part.duration += without.n * hazard * steep;
        part.duration_curve += without.n * hazard * (hazard - u) * steep * steep;
    }
    part
}

/// Of bulbs that may be blind, with the chance `p` if nothing were known of them.
fn late_or_blind(alike: &[Without], median: f64, steep: f64, p: f64, exact: bool) -> Part {
    let mut part = Part::default();
    for without in alike {
        let u = (without.ln_days - median) * steep;
        let (upper, hazard) = normal::upper_and_hazard(u);
        let slope = hazard * steep;
        let curve = hazard * (hazard - u) * steep * steep;
        let n = without.n;
        // The share of these bulbs that is not blind but late.
        let late = (1.0 - p) * upper / (p + (1.0 - p) * upper);
        part.duration += n * late * slope;
        part.duration_curve += n * late * curve;
        part.blind += n * (1.0 - late - p);
        part.blind_curve += n * p * (1.0 - p);
        if exact {
            let unsure = n * late * (1.0 - late);
            part.duration_curve -= unsure * slope * slope;
            part.blind_curve -= unsure;
            part.cross_curve += unsure * slope;
        }
    }
    part
}

fn slope(terms: &Terms, value: f64, gradient: &mut [f64]) {
    for (column, weight) in terms.each() {
        gradient[column] += weight * value;
    }
}

/// The probability of these log odds; kept off 0 and 1, which no share of bulbs is.
fn logistic(log_odds: f64) -> f64 {
    (1.0 / (1.0 + exp(-log_odds))).clamp(1e-12, 1.0 - 1e-12)
}

/// ln(1 + eˣ).
fn softplus(x: f64) -> f64 {
    x.max(0.0) + ln(1.0 + exp(-x.abs()))
}
