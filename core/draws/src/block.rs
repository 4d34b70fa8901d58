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
//! Statistics 29:597). Each standard deviation is drawn given its effects and, by turns, given its effects divided by it
//! (Yu & Meng 2011, Journal of Computational and Graphical Statistics 20:531). Right-censored days are never filled in:
//! with hundreds of bulbs waiting, truncated-normal augmentation would crawl.
//!
//! Known durations enter through sums over all bulbs alone: the squares left over are a quadratic in the effects.

mod density;

use crate::{
    matrix::{Summit, scatter},
    normal::{self, exp},
    random::Random,
    terms::{Beliefs, BlindBeliefs, Layout, Terms},
};

/// Lengths of the small steps, one by chance, in standard deviations over the root of how many numbers there are; the
/// first is the best for a normal density (Roberts, Gelman & Gilks 1997, Annals of Applied Probability 7:110).
const STROLLS: [f64; 2] = [2.38, 0.8];

/// Bulbs of one cell without the stage for so long.
#[derive(Clone, Copy, Debug)]
pub struct Without {
    /// Their cell.
    pub cell: usize,
    /// ln days.
    pub ln_days: f64,
    /// How many.
    pub n: f64,
}

/// What the steps of the bulbs of one cell add up to.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sums {
    /// Known durations.
    pub(crate) n: f64,
    /// Sum of ln days.
    pub(crate) y: f64,
    /// Bulbs that reached the stage, known duration or not.
    pub(crate) reached: f64,
}

/// The numbers of one step.
#[derive(Clone, Debug)]
pub struct Block {
    beliefs: Beliefs,
    blind_beliefs: Option<BlindBeliefs>,
    n_duration: usize,
    n_levels: [usize; 3],
    duration: Vec<Terms>,
    blind: Vec<Terms>,
    /// By cell; the numbers of bulbs never change.
    pub(crate) sums: Vec<Sums>,
    /// Sum of the squares of all known ln days.
    pub(crate) squares: f64,
    /// Bulbs without the stage; those of a cell one after another.
    pub(crate) without: Vec<Without>,
    /// Known durations.
    n: f64,
    /// How many of them each pair of effects counts for, weighted; a lower triangle.
    counts: Vec<f64>,
    /// ln days added up by effect.
    moments: Vec<f64>,
    /// Terms of the log odds of staying blind, and how many did not.
    not_blind: Vec<(Terms, f64)>,
    /// Median, effect of rest, effects; then blind.
    pub x: Vec<f64>,
    /// ln spread, ln of the three standard deviations; then the three of blind.
    pub theta: Vec<f64>,
    /// Log likelihood as [`Block::draw_spread`] left it, kept from one draw to the next while the days stay.
    likelihood: f64,
    anchor: Vec<f64>,
    summit: Summit,
    other: Summit,
    gradient: Vec<f64>,
    next: Vec<f64>,
    scale: f64,
    spread_scale: f64,
}

impl Block {
    pub(crate) fn new(beliefs: Beliefs, blind: Option<BlindBeliefs>, layout: &Layout) -> Self {
        let n = layout.n_columns(blind.is_some());
        let n_duration = layout.n_duration();
        let mut x = vec![0.0; n];
        x[0] = beliefs.ln_median.mean;
        x[1] = beliefs.longer_rest.mean;
        let mut theta = vec![beliefs.ln_spread.mean];
        theta.extend(beliefs.differ.map(|scale| (0.6 * scale).ln()));
        if let Some(blind) = &blind {
            x[n_duration] = blind.log_odds.mean;
            theta.extend(blind.differ.map(|scale| (0.6 * scale).ln()));
        }
        Self {
            beliefs,
            blind_beliefs: blind,
            n_duration,
            n_levels: layout.n_levels,
            duration: layout.duration.clone(),
            blind: layout.blind.clone(),
            sums: vec![Sums::default(); layout.duration.len()],
            squares: 0.0,
            without: Vec::new(),
            n: 0.0,
            counts: vec![0.0; n_duration * n_duration],
            moments: vec![0.0; n_duration],
            not_blind: Vec::new(),
            likelihood: 0.0,
            anchor: x.clone(),
            summit: Summit::new(n),
            other: Summit::new(n),
            gradient: vec![0.0; n],
            next: vec![0.0; n],
            x,
            theta,
            scale: 0.5,
            spread_scale: 0.2,
        }
    }

    /// Whether an effect counts for the durations of a cell as it stands: the effect of rest never does.
    pub(crate) fn counts_for(&self, column: usize, cell: usize) -> bool {
        column != 1 && self.duration[cell].each().any(|(own, _)| own == column)
    }

    /// ln days of the median bulb of a cell.
    pub fn median(&self, cell: usize) -> f64 {
        self.duration[cell].of(&self.x)
    }

    /// Log odds of staying blind in a cell.
    pub fn log_odds(&self, cell: usize) -> f64 {
        self.blind[cell].of(&self.x)
    }

    /// The spread between bulbs.
    pub fn spread(&self) -> f64 {
        exp(self.theta[0])
    }

    /// Takes over how many bulbs there are; once, when the sums are there.
    pub(crate) fn count(&mut self) {
        self.counts.fill(0.0);
        for (sums, terms) in self.sums.iter().zip(&self.duration) {
            scatter(terms, terms, sums.n, &mut self.counts, self.n_duration);
        }
        self.n = self.sums.iter().map(|sums| sums.n).sum();
        if self.blind_beliefs.is_some() {
            let cells = self.sums.iter().zip(&self.blind);
            let reached = cells.filter(|(sums, _)| sums.reached > 0.0);
            self.not_blind = reached.map(|(sums, terms)| (*terms, sums.reached)).collect();
        }
    }

    /// Takes over new sums of days.
    pub(crate) fn weigh(&mut self) {
        self.moments.fill(0.0);
        for (sums, terms) in self.sums.iter().zip(&self.duration) {
            if sums.n > 0.0 {
                for (column, weight) in terms.each() {
                    self.moments[column] += weight * sums.y;
                }
            }
        }
    }

    /// One round but for the spread; `burning` lets steps learn their length.
    pub(crate) fn turn(&mut self, random: &mut Random, burning: Option<usize>) {
        self.draw_deviations(random);
        self.stretch(random);
        let full = self.draw_effects(random);
        let full = self.stroll(full, random);
        // It costs the most and is needed the least.
        if random.unit() < 0.5 {
            self.draw_all(full, random, burning.is_some());
        }
        if let Some(turn) = burning {
            let weight = (1.0 / (turn as f64 + 2.0)).max(0.02);
            for (anchor, x) in self.anchor.iter_mut().zip(&self.x) {
                *anchor += weight * (x - *anchor);
            }
        }
    }

    /// The anchor at the summit, before the first turn.
    pub(crate) fn settle(&mut self) {
        for _ in 0..20 {
            let mut summit = std::mem::take(&mut self.summit);
            self.climb(&self.theta.clone(), &mut summit);
            self.anchor.clone_from(&summit.at);
            self.summit = summit;
        }
        self.x.clone_from(&self.anchor);
    }

    /// The spread given the effects. Takes over new days.
    pub(crate) fn draw_spread(&mut self, random: &mut Random, burning: bool) {
        let square = self.square(&self.x);
        let not_blind = self.ln_not_blind(&self.x);
        let density = |ln_spread: f64, block: &Self| {
            block.ln_durations(square, ln_spread)
                + block.ln_without(&block.x, ln_spread)
                + block.beliefs.ln_spread.ln_density(ln_spread)
        };
        let mut now = density(self.theta[0], self);
        for _ in 0..2 {
            let next = self.theta[0] + self.spread_scale * normal::draw(random);
            let then = density(next, self);
            let accepted = normal::draw_exponential(random) > now - then;
            if accepted {
                (self.theta[0], now) = (next, then);
            }
            if burning {
                self.spread_scale *= if accepted { 1.08 } else { 0.95 };
                self.spread_scale = self.spread_scale.clamp(0.02, 1.5);
            }
        }
        let prior = self.beliefs.ln_spread.ln_density(self.theta[0]);
        self.likelihood = now - prior + not_blind;
    }

    /// Standard deviations given the effects: these do not touch the likelihood.
    fn draw_deviations(&mut self, random: &mut Random) {
        for which in 1..self.theta.len() {
            let (from, n) = self.effects(which);
            let squares: f64 = self.x[from..from + n].iter().map(|e| e * e).sum();
            let density = |ln_sd: f64, block: &Self| {
                block.ln_prior_deviation(which, ln_sd) - n as f64 * ln_sd - 0.5 * squares * exp(-2.0 * ln_sd)
            };
            let mut now = density(self.theta[which], self);
            for _ in 0..2 {
                let next = self.theta[which] + normal::draw(random);
                let then = density(next, self);
                if normal::draw_exponential(random) > now - then {
                    (self.theta[which], now) = (next, then);
                }
            }
        }
    }

    /// Standard deviations, their effects growing with them: these do not touch the effects' own density.
    fn stretch(&mut self, random: &mut Random) {
        let mut next = std::mem::take(&mut self.next);
        // The odds of staying blind, which the first step carries, move the slowest of all.
        let rounds = 1..self.theta.len();
        let again = 1..if rounds.end > 4 { rounds.end } else { 1 };
        for which in rounds.chain(again) {
            let by = normal::draw(random);
            let (from, n) = self.effects(which);
            next.clone_from(&self.x);
            let times = exp(by);
            next[from..from + n].iter_mut().for_each(|e| *e *= times);
            let then = self.ln_likelihood(&next, self.theta[0]);
            let ln_sd = self.theta[which] + by;
            let change = then - self.likelihood + self.ln_prior_deviation(which, ln_sd)
                - self.ln_prior_deviation(which, self.theta[which]);
            if normal::draw_exponential(random) > -change {
                std::mem::swap(&mut self.x, &mut next);
                (self.theta[which], self.likelihood) = (ln_sd, then);
            }
        }
        self.next = next;
    }

    /// Effects alone. Gives the log density of everything as it then is.
    pub(crate) fn draw_effects(&mut self, random: &mut Random) -> f64 {
        let mut summit = std::mem::take(&mut self.summit);
        let mut next = std::mem::take(&mut self.next);
        self.climb(&self.theta, &mut summit);
        let mut full = self.ln_prior(&self.x, &self.theta) + self.likelihood;
        let now = full - summit.ln_density(&self.x);
        summit.draw(random, &mut next);
        let likelihood = self.ln_likelihood(&next, self.theta[0]);
        let then_full = self.ln_prior(&next, &self.theta) + likelihood;
        let then = then_full - summit.ln_density(&next);
        if normal::draw_exponential(random) > now - then {
            std::mem::swap(&mut self.x, &mut next);
            (full, self.likelihood) = (then_full, likelihood);
        }
        (self.summit, self.next) = (summit, next);
        full
    }

    /// From where the proposals hardly ever reach, small steps lead out again.
    fn stroll(&mut self, mut full: f64, random: &mut Random) -> f64 {
        let mut next = std::mem::take(&mut self.next);
        let reach = STROLLS[usize::from(random.unit() < 0.5)];
        self.summit.step(&self.x, reach, random, &mut next);
        let then = self.ln_density(&next, &self.theta);
        if normal::draw_exponential(random) > full - then {
            std::mem::swap(&mut self.x, &mut next);
            full = then;
        }
        self.next = next;
        full
    }

    /// Effects with spread and standard deviations.
    fn draw_all(&mut self, full: f64, random: &mut Random, burning: bool) {
        let mut other = std::mem::take(&mut self.other);
        let mut next = std::mem::take(&mut self.next);
        let now = full - self.summit.ln_density(&self.x);
        let mut theta = self.theta.clone();
        for (k, value) in theta.iter_mut().enumerate() {
            let step = if k == 0 { 0.5 * self.spread_scale } else { self.scale };
            *value += step * normal::draw(random);
        }
        self.climb(&theta, &mut other);
        other.draw(random, &mut next);
        let then = self.ln_density(&next, &theta) - other.ln_density(&next);
        let accepted = normal::draw_exponential(random) > now - then;
        if accepted {
            std::mem::swap(&mut self.x, &mut next);
            self.theta = theta;
        }
        if burning {
            self.scale *= if accepted { 1.07 } else { 0.97 };
            self.scale = self.scale.clamp(0.05, 2.0);
        }
        (self.other, self.next) = (other, next);
    }

    /// First column and number of effects that a standard deviation belongs to.
    fn effects(&self, which: usize) -> (usize, usize) {
        let kind = (which - 1) % 3;
        let before: usize = self.n_levels[..kind].iter().sum();
        let from = if which <= 3 { 2 } else { self.n_duration + 1 };
        (from + before, self.n_levels[kind])
    }

    fn ln_prior_deviation(&self, which: usize, ln_sd: f64) -> f64 {
        let scale = match &self.blind_beliefs {
            Some(blind) if which > 3 => blind.differ[which - 4],
            _ => self.beliefs.differ[(which - 1) % 3],
        };
        let ratio = exp(ln_sd) / scale;
        ln_sd - 0.5 * ratio * ratio
    }

    /// Log density of everything as it is now, but for a constant.
    pub(crate) fn ln_now(&self) -> f64 {
        self.ln_density(&self.x, &self.theta)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::Normal;

    fn normal(mean: f64, sd: f64) -> Normal {
        Normal { mean, sd }
    }

    /// Two treatments, one lot, no try; a third cell of an unknown treatment.
    fn block() -> Block {
        let mut layout = Layout { n_levels: [2, 1, 0], ..Layout::default() };
        for treatment in [Some(0), Some(1), None] {
            let (mut duration, mut blind) = (Terms::default(), Terms::default());
            duration.add(0, 1.0);
            duration.add(1, -0.5);
            blind.add(5, 1.0);
            if let Some(treatment) = treatment {
                duration.add(2 + treatment, 1.0);
                blind.add(6 + treatment, 1.0);
            }
            duration.add(4, 1.0);
            blind.add(8, 1.0);
            layout.duration.push(duration);
            layout.blind.push(blind);
        }
        let beliefs = Beliefs {
            ln_median: normal(3.47, 0.3),
            ln_spread: normal(-1.43, 0.35),
            longer_rest: normal(-0.1, 0.1),
            differ: [0.2; 3],
        };
        let blind = BlindBeliefs { log_odds: normal(-1.7, 1.0), differ: [0.7, 0.7, 0.6] };
        let mut block = Block::new(beliefs, Some(blind), &layout);
        block.sums[0] = Sums { n: 5.0, y: 17.0, reached: 6.0 };
        block.sums[1] = Sums { n: 2.0, y: 7.2, reached: 2.0 };
        block.squares = 58.5 + 26.0;
        let without = |cell, ln_days, n| Without { cell, ln_days, n };
        block.without = vec![without(0, 3.2, 3.0), without(2, 3.9, 4.0)];
        block.count();
        block.weigh();
        block
    }

    fn elsewhere(block: &Block) -> Vec<f64> {
        let all = block.x.iter().enumerate();
        all.map(|(i, x)| x + 0.07 * i as f64).collect()
    }

    /// Slopes and curvatures against differences of the density.
    #[test]
    fn slopes_and_curvatures_are_those_of_the_density() {
        let block = block();
        let n = block.x.len();
        let x = elsewhere(&block);
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
            assert!((slope - gradient[i]).abs() < 2e-3, "{i}: {slope} {}", gradient[i]);
            let (up, down) = (at(&up).0, at(&down).0);
            for j in i..n {
                let curve = -(up[j] - down[j]) / 2e-4;
                // Only the lower triangle is kept.
                let kept = curvature[j * n + i];
                assert!((curve - kept).abs() < 2e-2 * (1.0 + kept.abs()), "{i} {j}: {curve} {kept}");
            }
        }
    }

    /// The quadratic in the effects against the squares of each cell: Σ y² − 2 m Σ y + n m².
    #[test]
    fn squares_left_over_are_those_of_the_cells() {
        let block = block();
        let x = elsewhere(&block);
        let medians = [0, 1].map(|cell| block.duration[cell].of(&x));
        let cell = |yy: f64, y: f64, n: f64, m: f64| yy - 2.0 * m * y + n * m * m;
        let whole = cell(58.5, 17.0, 5.0, medians[0]) + cell(26.0, 7.2, 2.0, medians[1]);
        assert!((block.square(&x) - whole).abs() < 1e-9);
    }

    /// The log likelihood that draws hand on is the one there would be if it were computed anew.
    #[test]
    fn the_likelihood_handed_on_is_the_one_that_is() {
        let mut block = block();
        block.settle();
        let mut random = Random::new(8);
        for _ in 0..40 {
            block.draw_spread(&mut random, false);
            block.draw_effects(&mut random);
            block.stretch(&mut random);
            let anew = block.ln_likelihood(&block.x, block.theta[0]);
            assert!((block.likelihood - anew).abs() < 1e-9);
        }
    }
}
