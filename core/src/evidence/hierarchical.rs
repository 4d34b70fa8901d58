//! Several tries that may differ, pooled by a hierarchical model: the treatment's effect, how it varies, and the next try.
//!
//! logit p_b = μ + u, logit p_a = μ + u + δ + v in every try, u ~ N(0, τ²), v ~ N(0, ω²); priors μ ~ N(0, 1.5²),
//! δ ~ N(0, 1²), τ and ω half-normal with scale ½ unless others are given. The priors are part of the result: with two
//! tries τ and ω are nearly prior. With ω = 0 (no treatment-by-try variation) tries that point in opposite directions
//! leave δ near 0 with false confidence, so that form is only a check. A try with one group informs μ and τ alone.
//! Spiegelhalter, Abrams & Myles 2004, *Bayesian Approaches to Clinical Trials*; half-normal and half-t scales: Gelman
//! 2006, Bayesian Analysis 1:515.
//!
//! No sampling: given (μ, δ, τ, ω) tries are independent, and each is a smoothing over η = μ + u of B(η) Aω(η + δ), where
//! Aω is group a's likelihood smoothed over v. Smoothing is the trapezoid sum on a grid of step h, exact to 1e-8 for
//! spreads above h, and a five-point rule with the same moments below. μ and δ are summed on grids that follow the
//! posterior (at least three nodes a standard deviation of δ, two of μ), τ and ω by Gauss–Legendre after τ = s·x/(1−x).
//! A likelihood is at most 1, so that nodes of τ and ω whose priors leave less than 1e-12 of the sum are left out.

use super::hierarchical_grid::{Axis, Cumulative, FAR, Kernel, Line, Table, moments};
use super::random::Random;
use super::strata::{Stratum, used};
use super::{NoAnswer, Reason, Result, Share, special};

/// Draws for the next try, and their seed.
const DRAWS: usize = 20_000;
const SEED: u64 = 1;

/// Groups above this size are too narrow for the grid.
const MOST_IN_GROUP: u32 = 5_000;

/// The prior of a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Half-normal with this scale.
    HalfNormal(f64),
    /// Half-t with this scale and these degrees of freedom.
    HalfT {
        /// The scale.
        scale: f64,
        /// Degrees of freedom.
        df: f64,
    },
    /// None at all.
    Zero,
}

impl Spread {
    fn scale(self) -> f64 {
        match self {
            Self::HalfNormal(scale) | Self::HalfT { scale, .. } => scale,
            Self::Zero => 0.0,
        }
    }

    fn density(self, x: f64) -> f64 {
        match self {
            Self::HalfNormal(scale) => (-0.5 * (x / scale).powi(2)).exp(),
            Self::HalfT { scale, df } => (1.0 + (x / scale).powi(2) / df).powf(-(df + 1.0) / 2.0),
            Self::Zero => 1.0,
        }
    }

    /// Values with their weights.
    fn nodes(self, count: usize) -> Vec<(f64, f64)> {
        if self == Self::Zero {
            return vec![(0.0, 1.0)];
        }
        let node = |(node, weight): (f64, f64)| {
            let x = f64::midpoint(node, 1.0);
            let value = self.scale() * x / (1.0 - x);
            (value, weight * self.density(value) / (1.0 - x).powi(2))
        };
        let nodes = special::gauss_legendre(count).into_iter().map(node);
        let mut nodes: Vec<(f64, f64)> = nodes.collect();
        nodes.sort_by(|a, b| a.0.total_cmp(&b.0));
        nodes
    }

    fn valid(self) -> bool {
        let positive = |x: f64| x > 0.0 && x.is_finite();
        match self {
            Self::HalfNormal(scale) => positive(scale),
            Self::HalfT { scale, df } => positive(scale) && positive(df),
            Self::Zero => true,
        }
    }
}

/// All priors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// Standard deviation of μ.
    pub mu_sd: f64,
    /// Standard deviation of δ.
    pub delta_sd: f64,
    /// Spread of tries.
    pub tau: Spread,
    /// Spread of the effect between tries.
    pub omega: Spread,
}

impl Priors {
    /// The priors of the program.
    pub const DEFAULT: Self =
        Self { mu_sd: 1.5, delta_sd: 1.0, tau: Spread::HalfNormal(0.5), omega: Spread::HalfNormal(0.5) };
}

/// A mean, a standard deviation and three quantiles (2.5, 50 and 97.5 %).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// 2.5 % quantile.
    pub lower: f64,
    /// Median.
    pub median: f64,
    /// 97.5 % quantile.
    pub upper: f64,
    /// Probability of a value above 0.
    pub positive: f64,
}

/// What all tries together say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posterior {
    /// δ, the effect as a log odds ratio.
    pub delta: Summary,
    /// Mean of μ.
    pub mu_mean: f64,
    /// Mean of τ.
    pub tau_mean: f64,
    /// Mean of ω.
    pub omega_mean: f64,
    /// Mean of the difference of shares in a typical try (u = v = 0).
    pub typical_difference: f64,
    /// The difference of shares in the next try, from that many draws with a fixed seed.
    pub next: Summary,
}

/// The posterior over all tries.
///
/// # Errors
/// When no try has both groups, a group is larger than five thousand, or a prior is no prior.
pub fn posterior(tries: &[Stratum], priors: Priors) -> Result<Posterior> {
    let mut fit = Fit::new(tries, priors)?;
    loop {
        if let Some(found) = fit.step()? {
            return Ok(found);
        }
    }
}

/// Looks for the nodes at most so often.
const ROUGH_ROUNDS: usize = 4;
/// Nodes of τ and ω while looking for where the posterior is, and then.
const ROUGH_NODES: (usize, usize) = (8, 4);
const FINE_NODES: (usize, usize) = (24, 12);
/// Nodes of μ, of which only means are wanted, and of δ, whose quantiles are.
const MU_NODES: f64 = 40.0;
const DELTA_NODES: f64 = 60.0;
/// What is left out of the sum, at each node.
const NEGLIGIBLE: f64 = 1e-12;

/// The same posterior in small steps, so that whoever asks can do something else between two.
pub struct Fit {
    model: Model,
    mu: Axis,
    delta: Axis,
    rough_rounds: usize,
    going: Going,
}

impl Fit {
    /// A fit not yet begun.
    ///
    /// # Errors
    /// As [`posterior`].
    pub fn new(tries: &[Stratum], priors: Priors) -> Result<Self> {
        let model = Model::new(tries, priors)?;
        let mu = Axis::around(0.0, priors.mu_sd * 6.5, 40.0, model.step);
        let delta = Axis::around(0.0, priors.delta_sd * 6.5, 40.0, model.step);
        let going = Going::new(&model, &mu, &delta, ROUGH_NODES);
        Ok(Self { model, mu, delta, rough_rounds: 0, going })
    }

    /// One step further; the posterior when it was the last.
    ///
    /// # Errors
    /// When the counts contradict one another and the priors so that nothing is left at any node.
    pub fn step(&mut self) -> Result<Option<Posterior>> {
        if !self.going.is_over() {
            self.going.step(&self.model, &self.mu, &self.delta);
            return Ok(None);
        }
        let sum = self.going.take(&self.mu, &self.delta)?;
        if self.rough_rounds >= ROUGH_ROUNDS {
            return Ok(Some(sum.posterior()));
        }
        let (priors, step) = (self.model.priors, self.model.step);
        let fine = self.mu.narrow(&sum.over_mu(), priors.mu_sd, step, MU_NODES)
            & self.delta.narrow(&sum.over_delta(), priors.delta_sd, step, DELTA_NODES);
        self.rough_rounds = if fine { ROUGH_ROUNDS } else { self.rough_rounds + 1 };
        let nodes = if self.rough_rounds >= ROUGH_ROUNDS { FINE_NODES } else { ROUGH_NODES };
        self.going = Going::new(&self.model, &self.mu, &self.delta, nodes);
        Ok(None)
    }

    /// How far it is, 0 to 1000. It never goes back, and jumps where fewer rounds were needed than there may be.
    pub fn done_permille(&self) -> u32 {
        let (rough, fine) = (ROUGH_NODES.0 * ROUGH_NODES.1, FINE_NODES.0 * FINE_NODES.1);
        let before = self.rough_rounds.min(ROUGH_ROUNDS) * rough;
        let all = ROUGH_ROUNDS * rough + fine;
        let done = (before + self.going.n_steps).min(all) * 1000 / all;
        u32::try_from(done).unwrap_or(1000)
    }
}

struct Model {
    tries: Vec<Stratum>,
    priors: Priors,
    step: f64,
}

/// The likelihood of a share at logit η, up to a constant that makes its maximum about 1.
fn likelihood(share: Share, eta: f64) -> f64 {
    let ln_plus = |x: f64| if x > 30.0 { x } else { x.exp().ln_1p() };
    let at = |eta: f64| -share.x() * ln_plus(-eta) - (share.n() - share.x()) * ln_plus(eta);
    let top = share.rate().map_or(0.0, |rate| {
        let part = |count: f64, p: f64| if count > 0.0 { count * p.ln() } else { 0.0 };
        part(share.x(), rate) + part(share.n() - share.x(), 1.0 - rate)
    });
    (at(eta) - top).exp()
}

impl Model {
    fn new(tries: &[Stratum], priors: Priors) -> Result<Self> {
        if used(tries).is_empty() {
            return Err(NoAnswer(Reason::Confounded));
        }
        // The logit is cut at FAR; a prior that reaches far beyond says nothing more.
        let within = |sd: f64| sd > 0.0 && sd <= FAR;
        if !(within(priors.mu_sd) && within(priors.delta_sd) && priors.tau.valid() && priors.omega.valid()) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let largest = tries.iter().flat_map(|one| [one.a.of(), one.b.of()]).max().unwrap_or(0);
        if largest > MOST_IN_GROUP {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        Ok(Self { tries: tries.to_vec(), priors, step: (0.5 / f64::from(largest).sqrt()).min(0.05) })
    }

    fn line(&self, share: Share, half: i64) -> Line {
        Line { half, values: (-half..=half).map(|place| likelihood(share, place as f64 * self.step)).collect() }
    }

    /// A line smoothed by a normal spread.
    fn smoothed(&self, line: &Line, spread: f64) -> Line {
        let kernel = Kernel::new(spread, self.step);
        let at = |place: i64| {
            let sides =
                (1..).zip(&kernel.weights[1..]).map(|(d, weight)| weight * (line.at(place - d) + line.at(place + d)));
            kernel.weights[0] * line.at(place) + sides.sum::<f64>()
        };
        Line { half: line.half, values: (-line.half..=line.half).map(at).collect() }
    }
}

/// A sum over all nodes on its way: one step is one ω with one τ.
struct Going {
    taus: Vec<(f64, f64)>,
    omegas: Vec<(f64, f64)>,
    prior_mu: Vec<f64>,
    prior_delta: Vec<f64>,
    lines_a: Vec<Line>,
    lines_b: Vec<Line>,
    /// For the ω whose index is given, one for each try.
    tables: (usize, Vec<Table>),
    mass: Vec<f64>,
    /// Of all mass so far.
    sum: f64,
    n_steps: usize,
}

impl Going {
    fn new(model: &Model, mu: &Axis, delta: &Axis, (n_tau, n_omega): (usize, usize)) -> Self {
        let half = (FAR / model.step).ceil() as i64;
        let places = delta.places.iter();
        let widest = places.map(|place| place.abs()).max().unwrap_or(0);
        let prior = |axis: &Axis, sd: f64| -> Vec<f64> {
            (0..axis.places.len()).map(|index| (-0.5 * (axis.value(index) / sd).powi(2)).exp()).collect()
        };
        let tries = model.tries.iter();
        Self {
            taus: model.priors.tau.nodes(n_tau),
            omegas: model.priors.omega.nodes(n_omega),
            prior_mu: prior(mu, model.priors.mu_sd),
            prior_delta: prior(delta, model.priors.delta_sd),
            lines_a: (tries.clone().map(|one| model.line(one.a, half + widest))).collect(),
            lines_b: tries.map(|one| model.line(one.b, half)).collect(),
            tables: (usize::MAX, Vec::new()),
            mass: Vec::new(),
            sum: 0.0,
            n_steps: 0,
        }
    }

    fn is_over(&self) -> bool {
        self.n_steps >= self.taus.len() * self.omegas.len()
    }

    fn step(&mut self, model: &Model, mu: &Axis, delta: &Axis) {
        let at = self.n_steps / self.taus.len();
        let (omega, omega_weight) = self.omegas[at];
        let (tau, tau_weight) = self.taus[self.n_steps % self.taus.len()];
        self.n_steps += 1;
        let weight = omega_weight * tau_weight;
        let of = |priors: &[f64]| priors.iter().sum::<f64>();
        let most = weight * of(&self.prior_mu) * of(&self.prior_delta);
        if most <= NEGLIGIBLE * self.sum {
            let n_nodes = mu.places.len() * delta.places.len();
            self.mass.resize(self.mass.len() + n_nodes, 0.0);
            return;
        }
        if self.tables.0 != at {
            let tables = model.tries.iter().zip(self.lines_a.iter().zip(&self.lines_b));
            let tables = tables.map(|(one, (a, b))| {
                let width = 2.0 / (one.a.n() + one.b.n()).max(1.0).sqrt() / model.step;
                Table::new(&model.smoothed(a, omega), b, delta, width)
            });
            self.tables = (at, tables.collect());
        }
        let kernel = Kernel::new(tau, model.step);
        for (place, prior_mu) in mu.places.iter().zip(&self.prior_mu) {
            let outer = weight * prior_mu;
            let mut row: Vec<f64> = self.prior_delta.iter().map(|prior| prior * outer).collect();
            for table in &self.tables.1 {
                let smooth = table.gathered(*place, &kernel);
                row.iter_mut().zip(smooth).for_each(|(all, one)| *all *= one);
            }
            self.sum += row.iter().sum::<f64>();
            self.mass.extend(row);
        }
    }

    /// The finished sum.
    fn take(&mut self, mu: &Axis, delta: &Axis) -> Result<Sum> {
        let mut mass = std::mem::take(&mut self.mass);
        let all: f64 = mass.iter().sum();
        if !(all.is_finite() && all > 0.0) {
            // Many tries that contradict one another and the priors: nothing is left at any node.
            return Err(NoAnswer(Reason::NotEstimable));
        }
        mass.iter_mut().for_each(|mass| *mass /= all);
        Ok(Sum {
            mu: mu.clone(),
            delta: delta.clone(),
            taus: self.taus.iter().map(|tau| tau.0).collect(),
            omegas: self.omegas.iter().map(|omega| omega.0).collect(),
            mass,
        })
    }
}

/// The posterior mass at every node, by ω, τ, μ and δ.
struct Sum {
    mu: Axis,
    delta: Axis,
    taus: Vec<f64>,
    omegas: Vec<f64>,
    mass: Vec<f64>,
}

impl Sum {
    /// The indices of ω, τ, μ and δ of a node.
    fn node(&self, index: usize) -> [usize; 4] {
        let (columns, rows, slices) = (self.delta.places.len(), self.mu.places.len(), self.taus.len());
        [index / columns / rows / slices, index / columns / rows % slices, index / columns % rows, index % columns]
    }

    fn marginal(&self, axis: usize, length: usize) -> Vec<f64> {
        let mut marginal = vec![0.0; length];
        for (index, mass) in self.mass.iter().enumerate() {
            marginal[self.node(index)[axis]] += mass;
        }
        marginal
    }

    fn over_mu(&self) -> Vec<f64> {
        self.marginal(2, self.mu.places.len())
    }

    fn over_delta(&self) -> Vec<f64> {
        self.marginal(3, self.delta.places.len())
    }

    fn posterior(&self) -> Posterior {
        let mean =
            |values: &[f64], mass: &[f64]| values.iter().zip(mass).map(|(value, mass)| value * mass).sum::<f64>();
        let over_delta = self.over_delta();
        let expit = |x: f64| 1.0 / (1.0 + (-x).exp());
        let typical = |(index, mass): (usize, &f64)| {
            let [_, _, mu, delta] = self.node(index);
            let (mu, delta) = (self.mu.value(mu), self.delta.value(delta));
            mass * (expit(mu + delta) - expit(mu))
        };
        let (delta_mean, delta_sd) = moments(&self.delta, &over_delta);
        let cumulative = Cumulative::new(&self.delta, &over_delta);
        Posterior {
            delta: Summary {
                mean: delta_mean,
                sd: delta_sd,
                lower: cumulative.quantile(0.025),
                median: cumulative.quantile(0.5),
                upper: cumulative.quantile(0.975),
                positive: 1.0 - cumulative.below(0.0),
            },
            mu_mean: moments(&self.mu, &self.over_mu()).0,
            tau_mean: mean(&self.taus, &self.marginal(1, self.taus.len())),
            omega_mean: mean(&self.omegas, &self.marginal(0, self.omegas.len())),
            typical_difference: self.mass.iter().enumerate().map(typical).sum(),
            next: self.next(),
        }
    }

    /// The difference in the next try, from draws.
    fn next(&self) -> Summary {
        let mut random = Random::new(SEED);
        let mut sum = 0.0;
        let sums: Vec<f64> = self
            .mass
            .iter()
            .map(|mass| {
                sum += mass;
                sum
            })
            .collect();
        let expit = |x: f64| 1.0 / (1.0 + (-x).exp());
        let mut draws: Vec<f64> = (0..DRAWS)
            .map(|_| {
                let at = random.unit() * sum;
                let [omega, tau, mu, delta] = self.node(sums.partition_point(|sum| *sum <= at).min(sums.len() - 1));
                let (u, v) = normal_pair(&mut random);
                let base = self.mu.value(mu) + (random.unit() - 0.5) * self.mu.spacing() + self.taus[tau] * u;
                let effect =
                    self.delta.value(delta) + (random.unit() - 0.5) * self.delta.spacing() + self.omegas[omega] * v;
                expit(base + effect) - expit(base)
            })
            .collect();
        draws.sort_by(f64::total_cmp);
        let count = DRAWS as f64;
        let mean = draws.iter().sum::<f64>() / count;
        let quantile = |p: f64| draws[((p * count) as usize).min(DRAWS - 1)];
        Summary {
            mean,
            sd: (draws.iter().map(|draw| (draw - mean).powi(2)).sum::<f64>() / count).sqrt(),
            lower: quantile(0.025),
            median: quantile(0.5),
            upper: quantile(0.975),
            positive: draws.iter().filter(|draw| **draw > 0.0).count() as f64 / count,
        }
    }
}

/// Two independent standard normal numbers (Box & Muller 1958).
fn normal_pair(random: &mut Random) -> (f64, f64) {
    let radius = (-2.0 * (1.0 - random.unit()).ln()).sqrt();
    let (sine, cosine) = (std::f64::consts::TAU * random.unit()).sin_cos();
    (radius * sine, radius * cosine)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Stratum {
        Stratum { a: Share::new(x_a, n_a).expect("a"), b: Share::new(x_b, n_b).expect("b") }
    }

    #[test]
    fn tries_that_contradict_widen_the_next_one() {
        let alike = posterior(&[one(7, 10, 3, 10), one(7, 10, 3, 10)], Priors::DEFAULT).expect("a posterior");
        let unlike = posterior(&[one(10, 10, 1, 10), one(4, 10, 6, 10)], Priors::DEFAULT).expect("a posterior");
        assert!(unlike.omega_mean > alike.omega_mean);
        assert!(unlike.next.sd > alike.next.sd);
        assert!(alike.next.lower < alike.next.median && alike.next.positive < alike.delta.positive);
    }

    /// Turning the groups round turns δ round, and many bulbs bring δ to the log odds ratio.
    #[test]
    fn signs_and_large_groups() {
        let priors = Priors { omega: Spread::Zero, ..Priors::DEFAULT };
        let (one_way, other) = (posterior(&[one(5, 9, 2, 8)], priors), posterior(&[one(4, 9, 6, 8)], priors));
        let (one_way, other) = (one_way.expect("a posterior"), other.expect("a posterior"));
        assert!((one_way.delta.mean + other.delta.mean).abs() < 1e-6);
        assert!((one_way.delta.lower + other.delta.upper).abs() < 1e-4);
        let large = posterior(&[one(600, 800, 400, 800)], priors).expect("a posterior");
        assert!((large.delta.mean - 3_f64.ln()).abs() < 0.02, "{}", large.delta.mean);
        // Standard error of the log odds ratio: √(1/600 + 1/200 + 2/400) = 0.108.
        assert!((large.delta.sd - 0.108).abs() < 0.002, "{}", large.delta.sd);
    }

    #[test]
    fn what_has_no_answer_is_said() {
        assert_eq!(posterior(&[one(5, 8, 0, 0)], Priors::DEFAULT), Err(NoAnswer(Reason::Confounded)));
        assert_eq!(posterior(&[one(5, 100_000, 0, 9)], Priors::DEFAULT), Err(NoAnswer(Reason::TooManyStates)));
        let priors = Priors { mu_sd: 0.0, ..Priors::DEFAULT };
        assert!(posterior(&[one(5, 8, 2, 8)], priors).is_err());
    }
}
