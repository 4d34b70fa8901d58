//! Fits the model to a nursery's cycles.

use serde::{Deserialize, Serialize};

use bloomdue_draws::{Block, Chain, Terms};

use super::{
    data::Data,
    design::{Alike, Design},
    diagnose::diagnose,
    priors, rows,
};
use crate::{
    calendar::Date,
    evidence::{NoAnswer, Reason},
};

/// Name and version of the method, to be kept with what was said.
pub const METHOD: &str = "forecast/5";

/// How much work a fit does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Chains.
    pub n_chains: usize,
    /// Turns of each that only settle it.
    pub n_settling: usize,
    /// Draws kept of each.
    pub n_kept: usize,
    /// Turns for every draw that is kept: draws of turns further apart are less alike.
    pub turns_each: usize,
    /// How often at most a third as many draws again are made while those there are do not suffice
    /// ([`Sampling::is_enough`]).
    pub n_more: usize,
}

/// Cycles of a nursery from which on a screen asks for one turn a draw; of fewer a turn takes less time, and as many
/// more turns are made.
const CYCLES_AT_ONE_TURN: usize = 800;

/// More turns a draw add little.
const MOST_TURNS_EACH: usize = 8;

impl Effort {
    /// A moment's work, for tests that ask how numbers are carried and not what they are.
    #[cfg(test)]
    pub(crate) const LITTLE: Self = Self { n_chains: 1, n_settling: 20, n_kept: 60, turns_each: 1, n_more: 0 };

    /// What a screen asks for: about the same time for a small nursery as for a large one.
    pub fn full(data: &Data) -> Self {
        let turns_each = CYCLES_AT_ONE_TURN / data.courses.len().max(1);
        Self { n_chains: 2, n_settling: 150, n_kept: 750, turns_each: turns_each.clamp(1, MOST_TURNS_EACH), n_more: 4 }
    }

    /// Turns of one chain for so many draws.
    fn n_turns(&self, n_draws: usize) -> usize {
        n_draws * self.turns_each.max(1)
    }
}

/// How sure the computing itself is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sampling {
    /// Draws kept.
    pub n_draws: usize,
    /// The fewest independent draws that any number behind the forecast is worth.
    pub least_effective: f64,
    /// The largest R-hat of these numbers; near 1 the chains agree.
    pub largest_r_hat: f64,
}

impl Sampling {
    /// Whether anything was drawn. Where no try says anything yet, the numbers stand in published ranges.
    pub fn is_needed(&self) -> bool {
        self.n_draws > 0
    }

    /// Whether the draws are enough to speak from: 400 effective ones, and R-hat below 1.05; or none were needed.
    pub fn is_enough(&self) -> bool {
        !self.is_needed() || (self.least_effective >= 400.0 && self.largest_r_hat < 1.05)
    }
}

/// Draws of every number of the model.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fit {
    /// The day it was computed for.
    pub today: Date,
    /// The seed that makes it again.
    pub seed: u64,
    /// No own try says anything yet: every number comes from published ranges, not from this nursery.
    pub from_published: bool,
    /// Effective draws and R-hat.
    pub sampling: Sampling,
    /// By draw: the numbers of the four steps one after another, then the day of the last reached stage of each cycle
    /// under way.
    pub(super) numbers: Vec<f32>,
    pub(super) stride: usize,
}

/// Fits the model; `progress` is told the share done and answers whether to go on.
///
/// Without any cycle the draws are those of the published ranges, which a plan can be made from.
///
/// # Errors
/// [`Reason::Stopped`] when `progress` said so.
///
/// # The same records and seed give the same draws; without an own try they are published ranges
/// ```
/// # use bloomdue_core::{calendar::Date, forecast, ledger::{Ledger, id::Id}, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let state = State::fold(&Ledger::new(Id::parse("l_1")?));
/// let data = forecast::gather(&state, Date::new(2027, 11, 20)?);
/// let fit = forecast::fit(&data, data.seed(), |_done| true)?;
/// assert!(fit.from_published);
/// assert_eq!(fit, forecast::fit(&data, data.seed(), |_done| true)?);
/// # Ok(())
/// # }
/// ```
pub fn fit(data: &Data, seed: u64, progress: impl FnMut(f64) -> bool) -> crate::evidence::Result<Fit> {
    fit_with(data, seed, Effort::full(data), progress)
}

/// The same with more or less work.
///
/// # Errors
/// As [`fit`].
pub fn fit_with(
    data: &Data,
    seed: u64,
    effort: Effort,
    mut progress: impl FnMut(f64) -> bool,
) -> crate::evidence::Result<Fit> {
    let mut fitting = Fitting::new(data, seed, effort);
    loop {
        if let Some(fit) = fitting.step(data) {
            return Ok(fit);
        }
        if !progress(fitting.done()) {
            return Err(NoAnswer(Reason::Stopped));
        }
    }
}

/// Turns of a chain in one step of [`Fitting`].
const TURNS_A_STEP: usize = 8;

/// A fit under way, cut into steps so that whoever runs it can stop, or do something else in between.
#[derive(Clone, Debug)]
pub struct Fitting {
    seed: u64,
    effort: Effort,
    design: Design,
    cells: Vec<usize>,
    watched: Vec<usize>,
    waiting: Vec<usize>,
    stride: usize,
    numbers: Vec<f32>,
    chains: Vec<Chain>,
    /// By chain, what is watched: its value in each draw.
    traces: Vec<Vec<Vec<f64>>>,
    /// The chain at work, and its turn that comes next in this round.
    which: usize,
    turn: usize,
    /// Rounds that all chains are through with.
    round: usize,
    n_done: usize,
}

impl Fitting {
    /// The beginning of a fit.
    pub fn new(data: &Data, seed: u64, effort: Effort) -> Self {
        let (design, cells) = Design::of(data);
        let waiting: Vec<usize> = data.waiting().collect();
        let stride = stride(&design, waiting.len());
        let n_draws = effort.n_chains * effort.n_kept;
        Self {
            seed,
            effort,
            watched: watched(data, &cells),
            stride,
            numbers: Vec::with_capacity(n_draws * stride),
            chains: Vec::new(),
            traces: Vec::new(),
            which: 0,
            turn: 0,
            round: 0,
            n_done: 0,
            design,
            cells,
            waiting,
        }
    }

    /// The share done, 0 to 1; draws that are made in addition are not foreseen.
    pub fn done(&self) -> f64 {
        let of_one = self.effort.n_settling + self.effort.n_turns(self.effort.n_kept);
        (self.n_done as f64 / (self.effort.n_chains * of_one).max(1) as f64).min(1.0)
    }

    /// Some turns more; the fit when they were the last. `data` has to be what it began with.
    pub fn step(&mut self, data: &Data) -> Option<Fit> {
        for _ in 0..TURNS_A_STEP {
            let (n_settling, n_kept) = match self.round {
                0 => (self.effort.n_settling, self.effort.n_kept),
                _ => (0, self.effort.n_kept.div_ceil(3)),
            };
            if self.turn == n_settling + self.effort.n_turns(n_kept) {
                (self.turn, self.which) = (0, self.which + 1);
            }
            if self.which >= self.effort.n_chains {
                let sampling = judge(&self.traces);
                if sampling.is_enough() || self.round >= self.effort.n_more {
                    return Some(self.finish(data, sampling));
                }
                (self.which, self.round) = (0, self.round + 1);
                continue;
            }
            if self.which == self.chains.len() {
                let chain = self.chain(data);
                self.chains.push(chain);
                self.traces.push(Vec::new());
            }
            let burning = (self.turn < n_settling).then_some(self.turn);
            self.chains[self.which].turn(burning);
            let kept = (self.turn + 1).saturating_sub(n_settling);
            if kept > 0 && kept.is_multiple_of(self.effort.turns_each.max(1)) {
                let chain = &self.chains[self.which];
                keep(chain, &self.waiting, &mut self.numbers);
                watch(&chain.blocks, &self.watched, &mut self.traces[self.which]);
            }
            self.turn += 1;
            self.n_done += 1;
        }
        None
    }

    /// The next chain at its beginning.
    fn chain(&self, data: &Data) -> Chain {
        let nth = self.chains.len() as u64;
        let seed = self.seed.wrapping_add(nth.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let rows = rows::of(data, &self.cells);
        let beliefs = priors::beliefs();
        Chain::new(rows, &self.design.layout, &beliefs, priors::BLIND_BELIEFS, seed)
    }

    fn finish(&mut self, data: &Data, sampling: Sampling) -> Fit {
        Fit {
            today: data.today,
            seed: self.seed,
            from_published: !data.knows_own_tries(),
            sampling,
            numbers: std::mem::take(&mut self.numbers),
            stride: self.stride,
        }
    }
}

/// Numbers kept of each draw.
pub(super) fn stride(design: &Design, n_waiting: usize) -> usize {
    let steps = (0..4).map(|step| n_of_step(design, step)).sum::<usize>();
    steps + n_waiting
}

/// Numbers kept of one step: effects, then spread and standard deviations.
pub(super) fn n_of_step(design: &Design, step: usize) -> usize {
    design.n_columns(step == 0) + if step == 0 { 7 } else { 4 }
}

fn keep(chain: &Chain, waiting: &[usize], numbers: &mut Vec<f32>) {
    for block in &chain.blocks {
        numbers.extend(block.x.iter().chain(&block.theta).map(|x| *x as f32));
    }
    numbers.extend(waiting.iter().map(|at| {
        let row = &chain.rows[*at];
        row.from(row.reached) as f32
    }));
}

/// Cells whose numbers are watched: those of cycles under way, or of all where none is; a dozen at most.
fn watched(data: &Data, cells: &[usize]) -> Vec<usize> {
    let mut watched: Vec<usize> = data.waiting().map(|at| cells[at]).collect();
    if watched.is_empty() {
        watched = cells.to_vec();
    }
    watched.sort();
    watched.dedup();
    let step = watched.len().div_ceil(12).max(1);
    watched.into_iter().step_by(step).collect()
}

fn watch(blocks: &[Block; 4], watched: &[usize], trace: &mut Vec<Vec<f64>>) {
    // What a forecast rests on: the 10 and 90 % points of each step, and the odds of staying blind.
    let mut values = Vec::with_capacity(9 * watched.len());
    for block in blocks {
        let wide = 1.28 * block.spread();
        let ends = |cell: &usize| [block.median(*cell) - wide, block.median(*cell) + wide];
        values.extend(watched.iter().flat_map(ends));
    }
    values.extend(watched.iter().map(|cell| blocks[0].log_odds(*cell)));
    trace.resize_with(values.len(), Vec::new);
    for (trace, value) in trace.iter_mut().zip(values) {
        trace.push(value);
    }
}

fn judge(traces: &[Vec<Vec<f64>>]) -> Sampling {
    let of_one = |trace: &Vec<Vec<f64>>| trace.first().map_or(0, Vec::len);
    let n_draws = traces.iter().map(of_one).sum();
    let mut sampling = Sampling { n_draws, least_effective: n_draws as f64, largest_r_hat: 1.0 };
    for number in 0..traces.first().map_or(0, Vec::len) {
        let chains: Vec<Vec<f64>> = traces.iter().map(|trace| trace[number].clone()).collect();
        let (r_hat, effective) = diagnose(&chains);
        sampling.least_effective = sampling.least_effective.min(effective);
        sampling.largest_r_hat = sampling.largest_r_hat.max(r_hat);
    }
    sampling
}

/// One draw, to be read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draw<'a> {
    numbers: &'a [f32],
    starts: [usize; 4],
    n_columns: [usize; 4],
    last: usize,
}

impl Draw<'_> {
    /// The numbers of a step: effects.
    pub(super) fn effects(&self, step: usize) -> &[f32] {
        &self.numbers[self.starts[step]..][..self.n_columns[step]]
    }

    /// The spread of a step.
    pub(super) fn spread(&self, step: usize) -> f64 {
        f64::from(self.numbers[self.starts[step] + self.n_columns[step]]).exp()
    }

    /// How far treatments (0), lots (1), tries (2) differ in a step, or (3, 4, 5) in the odds of staying blind.
    pub(super) fn deviation(&self, step: usize, which: usize) -> f64 {
        f64::from(self.numbers[self.starts[step] + self.n_columns[step] + 1 + which]).exp()
    }

    /// The day of the last reached stage of the n-th cycle under way.
    pub(super) fn last(&self, n: usize) -> f64 {
        f64::from(self.numbers[self.last + n])
    }

    /// Medians (ln days) of the four steps and the log odds of staying blind, of bulbs like these.
    pub(super) fn of(&self, design: &Design, alike: Alike) -> ([f64; 4], f64) {
        let (duration, blind) = design.terms(alike);
        let sum = |terms: &Terms, step: usize| -> f64 {
            let effects = self.effects(step);
            let each = terms.each();
            each.map(|(column, weight)| weight * f64::from(effects[column])).sum()
        };
        (std::array::from_fn(|step| sum(&duration, step)), sum(&blind, 0))
    }
}

impl Fit {
    /// Number of draws.
    pub fn n_draws(&self) -> usize {
        self.numbers.len().checked_div(self.stride).unwrap_or(0)
    }

    /// One draw. The design has to be that of the data it was fitted to.
    pub(super) fn draw(&self, n: usize, design: &Design) -> Draw<'_> {
        let mut starts = [0; 4];
        let mut at = 0;
        for (step, start) in starts.iter_mut().enumerate() {
            *start = at;
            at += n_of_step(design, step);
        }
        Draw {
            numbers: &self.numbers[n * self.stride..][..self.stride],
            starts,
            n_columns: std::array::from_fn(|step| design.n_columns(step == 0)),
            last: at,
        }
    }
}
