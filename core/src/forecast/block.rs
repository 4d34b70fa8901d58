//! One step of growth as a regression of ln days with partly pooled effects, and how its numbers are drawn.
//!
//! ln T = median + effect of rest + treatment + lot + try + spread · ε; effects are normal around 0 with standard
//! deviations of their own, half-normal a priori (Gelman 2006, Bayesian Analysis 1:515). Of the first step a share of
//! bulbs stays blind, logistic in the same way, so that a bulb still without a scape on day c adds
//! ln(p + (1 − p) S(c)): waiting longer counts.
//!
//! Given spread and standard deviations, all effects are proposed at once from the normal distribution at the summit
//! of their density, now and then from a t with the same summit, whose tails are heavy enough for any density, and
//! accepted by Metropolis and Hastings; spread and standard deviations are proposed together with them, so that neither
//! waits for the other (Gamerman 1997, Statistics and Computing 7:57; Knorr-Held & Rue 2002, Scandinavian Journal of
//! Statistics 29:597). Right-censored days are never filled in: with hundreds of bulbs waiting, truncated-normal
//! augmentation would crawl.

use super::{
    design::{Design, Terms},
    normal,
    priors::{self, StepPrior},
};
use crate::evidence::{random::Random, special::ln_gamma};

/// Degrees of freedom of the proposals with heavy tails.
const FREEDOM: f64 = 5.0;
/// Share of proposals with heavy tails.
const HEAVY: f64 = 0.1;
/// Lengths of the small steps, in standard deviations over the root of how many numbers there are; the first is the
/// best for a normal density (Roberts, Gelman & Gilks 1997, Annals of Applied Probability 7:110).
const STROLLS: [f64; 2] = [2.38, 0.8];
/// Newton steps towards the summit for each proposal; the chain is right with any number.
const NEWTON: usize = 1;

/// Bulbs of one cell without the stage for so long.
#[derive(Clone, Copy, Debug)]
pub(super) struct Without {
    pub(super) cell: usize,
    pub(super) ln_days: f64,
    pub(super) n: f64,
}

/// What the steps of the bulbs of one cell add up to.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sums {
    /// Known durations.
    pub(super) n: f64,
    /// Sum of ln days.
    pub(super) y: f64,
    /// Sum of squares of ln days.
    pub(super) yy: f64,
    /// Bulbs that reached the stage, known duration or not.
    pub(super) reached: f64,
}

/// A normal approximation: where its summit is and the factored precision.
#[derive(Clone, Debug, Default)]
struct Summit {
    at: Vec<f64>,
    /// Lower triangle by rows.
    factor: Vec<f64>,
    ln_determinant: f64,
    /// ln of the t's density at the summit over that of the normal.
    ln_heavy: f64,
}

/// The numbers of one step.
#[derive(Clone, Debug)]
pub(super) struct Block {
    prior: &'static StepPrior,
    with_blind: bool,
    n_duration: usize,
    n_levels: [usize; 3],
    duration: Vec<Terms>,
    blind: Vec<Terms>,
    /// By cell.
    pub(super) sums: Vec<Sums>,
    /// Bulbs without the stage.
    pub(super) without: Vec<Without>,
    /// Median, effect of rest, effects; then blind.
    pub(super) x: Vec<f64>,
    /// ln spread, ln of the three standard deviations; then the three of blind.
    pub(super) theta: Vec<f64>,
    anchor: Vec<f64>,
    summit: Summit,
    other: Summit,
    gradient: Vec<f64>,
    scale: f64,
    spread_scale: f64,
}

impl Block {
    pub(super) fn new(step: usize, design: &Design) -> Self {
        let prior = &priors::STEPS[step];
        let with_blind = step == 0;
        let n = design.n_columns(with_blind);
        let mut x = vec![0.0; n];
        x[0] = prior.ln_median.mean;
        x[1] = prior.longer_rest.mean;
        let mut theta = vec![prior.ln_spread.mean];
        theta.extend(prior.differ.map(|scale| (0.6 * scale).ln()));
        if with_blind {
            x[design.n_duration()] = priors::BLIND.mean;
            theta.extend(priors::BLIND_DIFFER.map(|scale| (0.6 * scale).ln()));
        }
        let summit = Summit {
            at: x.clone(),
            factor: vec![0.0; n * n],
            ln_determinant: 0.0,
            ln_heavy: ln_gamma(0.5 * (FREEDOM + n as f64))
                - ln_gamma(0.5 * FREEDOM)
                - 0.5 * n as f64 * (0.5 * FREEDOM).ln(),
        };
        Self {
            prior,
            with_blind,
            n_duration: design.n_duration(),
            n_levels: design.n_levels,
            duration: design.duration.clone(),
            blind: design.blind.clone(),
            sums: vec![Sums::default(); design.cells.len()],
            without: Vec::new(),
            anchor: x.clone(),
            other: summit.clone(),
            gradient: vec![0.0; n],
            x,
            theta,
            summit,
            scale: 0.5,
            spread_scale: 0.2,
        }
    }

    /// Whether an effect counts for the durations of a cell as it stands: the effect of rest never does.
    pub(super) fn counts_for(&self, column: usize, cell: usize) -> bool {
        let terms = &self.duration[cell];
        column != 1 && terms.columns[..terms.n].contains(&column)
    }

    /// ln days of the median bulb of a cell.
    pub(super) fn median(&self, cell: usize) -> f64 {
        self.duration[cell].of(&self.x)
    }

    /// Log odds of staying blind in a cell.
    pub(super) fn log_odds(&self, cell: usize) -> f64 {
        self.blind[cell].of(&self.x)
    }

    /// The spread between bulbs.
    pub(super) fn spread(&self) -> f64 {
        self.theta[0].exp()
    }

    /// One round but for the spread; `burning` lets steps learn their length.
    pub(super) fn turn(&mut self, random: &mut Random, burning: Option<usize>) {
        self.draw_deviations(random);
        self.draw_all(random, burning);
        if let Some(turn) = burning {
            let weight = (1.0 / (turn as f64 + 2.0)).max(0.02);
            for (anchor, x) in self.anchor.iter_mut().zip(&self.x) {
                *anchor += weight * (x - *anchor);
            }
        }
    }

    /// The anchor at the summit, before the first turn.
    pub(super) fn settle(&mut self) {
        for _ in 0..20 {
            let mut summit = std::mem::take(&mut self.summit);
            self.climb(&self.theta.clone(), &mut summit);
            self.anchor.clone_from(&summit.at);
            self.summit = summit;
        }
        self.x.clone_from(&self.anchor);
    }

    /// The spread given the effects.
    pub(super) fn draw_spread(&mut self, random: &mut Random, burning: Option<usize>) {
        let mut now = self.ln_likelihood(&self.x, self.theta[0])
            + ln_normal(self.theta[0], self.prior.ln_spread);
        for _ in 0..2 {
            let next = self.theta[0] + self.spread_scale * normal::draw(random);
            let then = self.ln_likelihood(&self.x, next) + ln_normal(next, self.prior.ln_spread);
            let accepted = normal::draw_exponential(random) > now - then;
            if accepted {
                (self.theta[0], now) = (next, then);
            }
            if burning.is_some() {
                self.spread_scale *= if accepted { 1.08 } else { 0.95 };
                self.spread_scale = self.spread_scale.clamp(0.02, 1.5);
            }
        }
    }

    /// Standard deviations given the effects: these do not touch the likelihood.
    fn draw_deviations(&mut self, random: &mut Random) {
        for which in 1..self.theta.len() {
            let (from, n) = self.effects(which);
            let squares: f64 = self.x[from..from + n].iter().map(|e| e * e).sum();
            let density = |ln_sd: f64, block: &Self| {
                let sd = ln_sd.exp();
                block.ln_prior_deviation(which, ln_sd)
                    - n as f64 * ln_sd
                    - squares / (2.0 * sd * sd)
            };
            for _ in 0..2 {
                let next = self.theta[which] + normal::draw(random);
                let change = density(next, self) - density(self.theta[which], self);
                if normal::draw_exponential(random) > -change {
                    self.theta[which] = next;
                }
            }
        }
    }

    /// Effects alone, then effects with spread and standard deviations.
    fn draw_all(&mut self, random: &mut Random, burning: Option<usize>) {
        let mut summit = std::mem::take(&mut self.summit);
        let mut other = std::mem::take(&mut self.other);
        self.climb(&self.theta, &mut summit);
        let mut now = self.ln_density(&self.x, &self.theta) - summit.ln_density(&self.x);
        let next = summit.draw(random);
        let then = self.ln_density(&next, &self.theta) - summit.ln_density(&next);
        if normal::draw_exponential(random) > now - then {
            self.x = next;
            now = then;
        }
        let mut full = now + summit.ln_density(&self.x);
        // From where the proposals hardly ever reach, small steps lead out again.
        for reach in STROLLS {
            let next = summit.step(&self.x, reach, random);
            let then = self.ln_density(&next, &self.theta);
            if normal::draw_exponential(random) > full - then {
                self.x = next;
                full = then;
            }
        }
        now = full - summit.ln_density(&self.x);
        let theta: Vec<f64> = self
            .theta
            .iter()
            .enumerate()
            .map(|(k, value)| {
                let step = if k == 0 {
                    0.5 * self.spread_scale
                } else {
                    self.scale
                };
                value + step * normal::draw(random)
            })
            .collect();
        self.climb(&theta, &mut other);
        let next = other.draw(random);
        let then = self.ln_density(&next, &theta) - other.ln_density(&next);
        let accepted = normal::draw_exponential(random) > now - then;
        if accepted {
            (self.x, self.theta) = (next, theta);
        }
        if burning.is_some() {
            self.scale *= if accepted { 1.07 } else { 0.97 };
            self.scale = self.scale.clamp(0.05, 2.0);
        }
        (self.summit, self.other) = (summit, other);
    }

    /// First column and number of effects that a standard deviation belongs to.
    fn effects(&self, which: usize) -> (usize, usize) {
        let kind = (which - 1) % 3;
        let before: usize = self.n_levels[..kind].iter().sum();
        let from = if which <= 3 { 2 } else { self.n_duration + 1 };
        (from + before, self.n_levels[kind])
    }

    fn ln_prior_deviation(&self, which: usize, ln_sd: f64) -> f64 {
        let scale = if which <= 3 {
            self.prior.differ[which - 1]
        } else {
            priors::BLIND_DIFFER[which - 4]
        };
        let ratio = ln_sd.exp() / scale;
        ln_sd - 0.5 * ratio * ratio
    }

    /// Log density of everything as it is now, but for a constant.
    pub(super) fn ln_now(&self) -> f64 {
        self.ln_density(&self.x, &self.theta)
    }

    /// Log density of everything, but for a constant.
    fn ln_density(&self, x: &[f64], theta: &[f64]) -> f64 {
        let mut sum = ln_normal(x[0], self.prior.ln_median)
            + ln_normal(x[1], self.prior.longer_rest)
            + ln_normal(theta[0], self.prior.ln_spread);
        if self.with_blind {
            sum += ln_normal(x[self.n_duration], priors::BLIND);
        }
        for (which, ln_sd) in theta.iter().enumerate().skip(1) {
            let (from, n) = self.effects(which);
            let squares: f64 = x[from..from + n].iter().map(|e| e * e).sum();
            sum += self.ln_prior_deviation(which, *ln_sd)
                - n as f64 * ln_sd
                - 0.5 * squares * (-2.0 * ln_sd).exp();
        }
        sum + self.ln_likelihood(x, theta[0])
    }

    fn ln_likelihood(&self, x: &[f64], ln_spread: f64) -> f64 {
        let precision = (-2.0 * ln_spread).exp();
        let steep = (-ln_spread).exp();
        let mut sum = 0.0;
        for (cell, sums) in self.sums.iter().enumerate() {
            if sums.n > 0.0 {
                let median = self.duration[cell].of(x);
                let squares = sums.yy - 2.0 * median * sums.y + sums.n * median * median;
                sum -= sums.n * ln_spread + 0.5 * precision * squares;
            }
            if self.with_blind && sums.reached > 0.0 {
                sum -= sums.reached * softplus(self.blind[cell].of(x));
            }
        }
        if self.without.is_empty() {
            return sum;
        }
        let cells: Vec<(f64, f64)> = (0..self.sums.len())
            .map(|cell| {
                let median = self.duration[cell].of(x);
                if self.with_blind {
                    (median, logistic(self.blind[cell].of(x)))
                } else {
                    (median, 0.0)
                }
            })
            .collect();
        for without in &self.without {
            let (median, p) = cells[without.cell];
            let u = (without.ln_days - median) * steep;
            sum += without.n
                * if self.with_blind {
                    normal::ln(p + (1.0 - p) * normal::upper(u))
                } else {
                    normal::ln_upper(u)
                };
        }
        sum
    }

    /// The normal approximation at the summit for these spreads, by Newton steps from the anchor.
    fn climb(&self, theta: &[f64], summit: &mut Summit) {
        let n = self.x.len();
        summit.at.clone_from(&self.anchor);
        let mut gradient = self.gradient.clone();
        for _ in 0..NEWTON {
            self.curve(theta, &summit.at, &mut gradient, &mut summit.factor, true);
            if !factor(&mut summit.factor, n) {
                self.curve(theta, &summit.at, &mut gradient, &mut summit.factor, false);
                factor(&mut summit.factor, n);
            }
            solve(&summit.factor, n, &mut gradient);
            for (at, step) in summit.at.iter_mut().zip(&gradient) {
                *at += step.clamp(-1.0, 1.0);
            }
        }
        summit.ln_determinant = (0..n).map(|i| summit.factor[i * n + i].ln()).sum();
    }

    /// Gradient and negative curvature of the log density in x. Without `exact` the curvature is the one that were
    /// there if it were known which bulbs are blind, which is always positive.
    fn curve(
        &self,
        theta: &[f64],
        x: &[f64],
        gradient: &mut [f64],
        curvature: &mut [f64],
        exact: bool,
    ) {
        let n = x.len();
        curvature.fill(0.0);
        let mut fixed = |column: usize, prior: priors::Normal| {
            let precision = 1.0 / (prior.sd * prior.sd);
            gradient[column] = (prior.mean - x[column]) * precision;
            curvature[column * n + column] = precision;
        };
        fixed(0, self.prior.ln_median);
        fixed(1, self.prior.longer_rest);
        if self.with_blind {
            fixed(self.n_duration, priors::BLIND);
        }
        for (which, ln_sd) in theta.iter().enumerate().skip(1) {
            let precision = (-2.0 * ln_sd).exp();
            let (from, levels) = self.effects(which);
            for column in from..from + levels {
                gradient[column] = -x[column] * precision;
                curvature[column * n + column] = precision;
            }
        }
        let parts = self.parts(theta[0], x, exact);
        for (cell, part) in parts.iter().enumerate() {
            let (duration, blind) = (&self.duration[cell], &self.blind[cell]);
            scatter(duration, duration, part.duration_curve, curvature, n);
            for k in 0..duration.n {
                gradient[duration.columns[k]] += duration.weights[k] * part.duration;
            }
            if self.with_blind {
                scatter(blind, blind, part.blind_curve, curvature, n);
                scatter(blind, duration, part.cross_curve, curvature, n);
                for k in 0..blind.n {
                    gradient[blind.columns[k]] += blind.weights[k] * part.blind;
                }
            }
        }
    }

    /// Slopes and curvatures in the two predictors of each cell.
    fn parts(&self, ln_spread: f64, x: &[f64], exact: bool) -> Vec<Part> {
        let steep = (-ln_spread).exp();
        let precision = steep * steep;
        let mut parts = vec![Part::default(); self.sums.len()];
        for (cell, (part, sums)) in parts.iter_mut().zip(&self.sums).enumerate() {
            part.median = self.duration[cell].of(x);
            part.duration = (sums.y - sums.n * part.median) * precision;
            part.duration_curve = sums.n * precision;
            if self.with_blind {
                part.p = logistic(self.blind[cell].of(x));
                part.blind = -sums.reached * part.p;
                part.blind_curve = sums.reached * part.p * (1.0 - part.p);
            }
        }
        for without in &self.without {
            let part = &mut parts[without.cell];
            let u = (without.ln_days - part.median) * steep;
            let (upper, hazard) = normal::upper_and_hazard(u);
            let slope = hazard * steep;
            let curve = hazard * (hazard - u) * precision;
            let n = without.n;
            if !self.with_blind {
                part.duration += n * slope;
                part.duration_curve += n * curve;
                continue;
            }
            // The share of these bulbs that is not blind but late.
            let late = (1.0 - part.p) * upper / (part.p + (1.0 - part.p) * upper);
            part.duration += n * late * slope;
            part.duration_curve += n * late * curve;
            part.blind += n * (1.0 - late - part.p);
            part.blind_curve += n * part.p * (1.0 - part.p);
            if exact {
                let unsure = n * late * (1.0 - late);
                part.duration_curve -= unsure * slope * slope;
                part.blind_curve -= unsure;
                part.cross_curve += unsure * slope;
            }
        }
        parts
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Part {
    median: f64,
    p: f64,
    duration: f64,
    blind: f64,
    duration_curve: f64,
    blind_curve: f64,
    cross_curve: f64,
}

impl Summit {
    /// Numbers a step away from where they are, shaped like the summit. The way back is as likely.
    fn step(&self, from: &[f64], reach: f64, random: &mut Random) -> Vec<f64> {
        let n = self.at.len();
        let mut z: Vec<f64> = (0..n).map(|_| normal::draw(random)).collect();
        solve_upper(&self.factor, n, &mut z);
        let reach = reach / (n as f64).sqrt();
        for (z, from) in z.iter_mut().zip(from) {
            *z = from + reach * *z;
        }
        z
    }

    /// Numbers around the summit.
    fn draw(&self, random: &mut Random) -> Vec<f64> {
        let n = self.at.len();
        let mut z: Vec<f64> = (0..n).map(|_| normal::draw(random)).collect();
        // Chi-square of 5 degrees of freedom: two exponentials and a squared normal.
        let widen = if random.unit() < HEAVY {
            let chi_square = 2.0
                * (normal::draw_exponential(random) + normal::draw_exponential(random))
                + normal::draw(random).powi(2);
            (FREEDOM / chi_square).sqrt()
        } else {
            1.0
        };
        solve_upper(&self.factor, n, &mut z);
        for (z, at) in z.iter_mut().zip(&self.at) {
            *z = at + widen * *z;
        }
        z
    }

    fn ln_density(&self, x: &[f64]) -> f64 {
        let n = self.at.len();
        // |Lᵀ (x − summit)|², row by row of L.
        let mut turned = vec![0.0; n];
        for (k, row) in self.factor.chunks_exact(n).enumerate() {
            let off = x[k] - self.at[k];
            for (turned, entry) in turned[..=k].iter_mut().zip(row) {
                *turned += entry * off;
            }
        }
        let square: f64 = turned.iter().map(|part| part * part).sum();
        let normal = (1.0 - HEAVY).ln() - 0.5 * square;
        let heavy = HEAVY.ln() + self.ln_heavy
            - 0.5 * (FREEDOM + n as f64) * normal::ln(1.0 + square / FREEDOM);
        self.ln_determinant + normal.max(heavy) + normal::ln(1.0 + (-(normal - heavy).abs()).exp())
    }
}

fn scatter(rows: &Terms, columns: &Terms, value: f64, matrix: &mut [f64], n: usize) {
    for i in 0..rows.n {
        let weight = value * rows.weights[i];
        for j in 0..columns.n {
            matrix[rows.columns[i] * n + columns.columns[j]] += weight * columns.weights[j];
        }
    }
}

/// Factors the lower triangle in place; whether it was positive definite.
fn factor(matrix: &mut [f64], n: usize) -> bool {
    for i in 0..n {
        for j in 0..=i {
            let (before, row) = matrix.split_at_mut(i * n);
            let other = if j < i {
                &before[j * n..j * n + j]
            } else {
                &[]
            };
            if j < i {
                let dot: f64 = row[..j].iter().zip(other).map(|(a, b)| a * b).sum();
                row[j] = (row[j] - dot) / before[j * n + j];
            } else {
                let dot: f64 = row[..i].iter().map(|a| a * a).sum();
                let rest = row[i] - dot;
                if rest.is_nan() || rest <= 1e-10 {
                    return false;
                }
                row[i] = rest.sqrt();
            }
        }
    }
    true
}

fn solve(factor: &[f64], n: usize, right: &mut [f64]) {
    for i in 0..n {
        let row = &factor[i * n..i * n + i];
        let dot: f64 = row.iter().zip(&right[..i]).map(|(a, b)| a * b).sum();
        right[i] = (right[i] - dot) / factor[i * n + i];
    }
    solve_upper(factor, n, right);
}

fn solve_upper(factor: &[f64], n: usize, right: &mut [f64]) {
    for i in (0..n).rev() {
        right[i] /= factor[i * n + i];
        let value = right[i];
        for (k, right) in right[..i].iter_mut().enumerate() {
            *right -= factor[i * n + k] * value;
        }
    }
}

fn ln_normal(value: f64, prior: priors::Normal) -> f64 {
    let z = (value - prior.mean) / prior.sd;
    -0.5 * z * z
}

/// The probability of these log odds; kept off 0 and 1, which no share of bulbs is.
fn logistic(log_odds: f64) -> f64 {
    (1.0 / (1.0 + (-log_odds).exp())).clamp(1e-12, 1.0 - 1e-12)
}

/// ln(1 + eˣ).
fn softplus(x: f64) -> f64 {
    if x > 0.0 {
        x + normal::ln(1.0 + (-x).exp())
    } else {
        normal::ln(1.0 + x.exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forecast::design::Alike;

    fn block() -> Block {
        let data = crate::forecast::data::Data {
            today: crate::testing::day(0),
            treatments: vec!["8".into(), "12".into()],
            lots: vec![crate::testing::id("lo_1")],
            tries: Vec::new(),
            courses: Vec::new(),
            unforeseen: Vec::new(),
        };
        let mut design = Design::of(&data).0;
        for treatment in [Some(0), Some(1), None] {
            let alike = Alike {
                levels: [treatment, Some(0), None],
                rest_days: Some(56),
            };
            let (duration, blind) = design.terms(alike);
            design.cells.push(alike);
            design.duration.push(duration);
            design.blind.push(blind);
        }
        let mut block = Block::new(0, &design);
        block.sums[0] = Sums {
            n: 5.0,
            y: 17.0,
            yy: 58.5,
            reached: 6.0,
        };
        block.sums[1] = Sums {
            n: 2.0,
            y: 7.2,
            yy: 26.0,
            reached: 2.0,
        };
        block.without = vec![
            Without {
                cell: 0,
                ln_days: 3.2,
                n: 3.0,
            },
            Without {
                cell: 2,
                ln_days: 3.9,
                n: 4.0,
            },
        ];
        block
    }

    /// Slopes and curvatures against differences of the density.
    #[test]
    fn slopes_and_curvatures_are_those_of_the_density() {
        let block = block();
        let n = block.x.len();
        let x: Vec<f64> = block
            .x
            .iter()
            .enumerate()
            .map(|(i, x)| x + 0.07 * i as f64)
            .collect();
        let theta = block.theta.clone();
        let at = |x: &[f64]| {
            let (mut gradient, mut curvature) = (vec![0.0; n], vec![0.0; n * n]);
            block.curve(&theta, x, &mut gradient, &mut curvature, true);
            (gradient, curvature)
        };
        let (gradient, curvature) = at(&x);
        for i in 0..n {
            let moved = |by: f64| {
                let mut moved = x.clone();
                moved[i] += by;
                moved
            };
            let (up, down) = (moved(1e-4), moved(-1e-4));
            let slope = (block.ln_density(&up, &theta) - block.ln_density(&down, &theta)) / 2e-4;
            assert!(
                (slope - gradient[i]).abs() < 2e-3,
                "{i}: {slope} {}",
                gradient[i]
            );
            let (up, down) = (at(&up).0, at(&down).0);
            for j in i..n {
                let curve = -(up[j] - down[j]) / 2e-4;
                // Only the lower triangle is kept.
                let kept = curvature[j * n + i];
                assert!(
                    (curve - kept).abs() < 2e-2 * (1.0 + kept.abs()),
                    "{i} {j}: {curve} {kept}"
                );
            }
        }
    }

    #[test]
    fn a_factored_matrix_solves_its_system() {
        let matrix = [4.0, 0.0, 0.0, 2.0, 3.0, 0.0, 1.0, 0.5, 2.0];
        let mut factored = matrix;
        assert!(factor(&mut factored, 3));
        let mut x = [7.0, 5.5, 3.5];
        solve(&factored, 3, &mut x);
        for (i, right) in [7.0, 5.5, 3.5].iter().enumerate() {
            let sum: f64 = (0..3).map(|j| matrix[i.max(j) * 3 + i.min(j)] * x[j]).sum();
            assert!((sum - right).abs() < 1e-12);
        }
        assert!(!factor(&mut [1.0, 0.0, 2.0, 1.0], 2));
    }
}
