//! Which numbers stand for what: cells of bulbs that share treatment, lot, try and length of rest.

use std::collections::BTreeMap;

use super::{data::Data, priors};

/// Bulbs alike in all that the model heeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Alike {
    /// Treatment, lot, try.
    pub(super) levels: [Option<u32>; 3],
    /// Days of rest.
    pub(super) rest_days: Option<i32>,
}

/// The numbers one linear predictor is the weighted sum of.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Terms {
    pub(super) columns: [usize; 5],
    pub(super) weights: [f64; 5],
    pub(super) n: usize,
}

impl Terms {
    fn add(&mut self, column: usize, weight: f64) {
        self.columns[self.n] = column;
        self.weights[self.n] = weight;
        self.n += 1;
    }

    /// The predictor.
    pub(super) fn of(&self, x: &[f64]) -> f64 {
        (0..self.n)
            .map(|k| self.weights[k] * x[self.columns[k]])
            .sum()
    }
}

/// Columns of one step: median, effect of rest, then treatments, lots and tries; for the first step the same again
/// (without the effect of rest) for the log odds of staying blind.
#[derive(Clone, Debug)]
pub(super) struct Design {
    /// Levels of treatment, lot and try.
    pub(super) n_levels: [usize; 3],
    /// Cells.
    pub(super) cells: Vec<Alike>,
    /// Terms of ln duration, by cell.
    pub(super) duration: Vec<Terms>,
    /// Terms of the log odds of staying blind, by cell.
    pub(super) blind: Vec<Terms>,
}

impl Design {
    /// The cells of some bulbs, and the cell of each.
    pub(super) fn of(data: &Data) -> (Self, Vec<usize>) {
        let n_levels = [data.treatments.len(), data.lots.len(), data.tries.len()];
        let mut design = Self {
            n_levels,
            cells: Vec::new(),
            duration: Vec::new(),
            blind: Vec::new(),
        };
        let mut known: BTreeMap<Alike, usize> = BTreeMap::new();
        let mut cell_of = Vec::with_capacity(data.courses.len());
        for course in &data.courses {
            let alike = Alike {
                levels: [course.treatment, course.lot, course.attempt],
                rest_days: course.rest_days,
            };
            let next = known.len();
            let cell = *known.entry(alike).or_insert(next);
            if cell == next {
                design.push(alike);
            }
            cell_of.push(cell);
        }
        (design, cell_of)
    }

    fn push(&mut self, alike: Alike) {
        self.cells.push(alike);
        let (duration, blind) = self.terms(alike);
        self.duration.push(duration);
        self.blind.push(blind);
    }

    /// The terms of bulbs that need not be among the cells; levels that are not known add nothing.
    pub(super) fn terms(&self, alike: Alike) -> (Terms, Terms) {
        let mut duration = Terms::default();
        let mut blind = Terms::default();
        duration.add(0, 1.0);
        duration.add(1, longer_rest(alike.rest_days));
        blind.add(self.n_duration(), 1.0);
        let (mut at, mut at_blind) = (2, self.n_duration() + 1);
        for (level, n) in alike.levels.into_iter().zip(self.n_levels) {
            if let Some(level) = level.map(|level| level as usize).filter(|level| *level < n) {
                duration.add(at + level, 1.0);
                blind.add(at_blind + level, 1.0);
            }
            at += n;
            at_blind += n;
        }
        (duration, blind)
    }

    /// Columns that durations take.
    pub(super) fn n_duration(&self) -> usize {
        2 + self.n_levels.iter().sum::<usize>()
    }

    /// Columns of a step.
    pub(super) fn n_columns(&self, with_blind: bool) -> usize {
        let blind = self.n_duration() - 1;
        self.n_duration() + if with_blind { blind } else { 0 }
    }
}

/// Four weeks of rest more than the medians are meant for count as 1; lengths outside the published range as its ends.
fn longer_rest(rest_days: Option<i32>) -> f64 {
    rest_days.map_or(0.0, |days| {
        ((f64::from(days) - priors::REST_DAYS) / 28.0).clamp(-2.0, 2.0)
    })
}
