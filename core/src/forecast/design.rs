//! Which numbers stand for what: cells of bulbs that share treatment, lot, try and length of rest.

use std::collections::BTreeMap;

use bloomdue_draws::{Layout, Terms};

use super::{data::Data, priors};

/// Bulbs alike in all that the model heeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Alike {
    /// Treatment, lot, try.
    pub(super) levels: [Option<u32>; 3],
    /// Days of rest.
    pub(super) rest_days: Option<i32>,
}

/// Columns of one step: median, effect of rest, then treatments, lots and tries; for the first step the same again
/// (without the effect of rest) for the log odds of staying blind.
#[derive(Clone, Debug)]
pub(super) struct Design {
    /// Cells.
    pub(super) cells: Vec<Alike>,
    /// The terms of each.
    pub(super) layout: Layout,
}

impl Design {
    /// The cells of some bulbs, and the cell of each.
    pub(super) fn of(data: &Data) -> (Self, Vec<usize>) {
        let n_levels = [data.treatments.len(), data.lots.len(), data.tries.len()];
        let mut design = Self { cells: Vec::new(), layout: Layout { n_levels, ..Layout::default() } };
        let mut known: BTreeMap<Alike, usize> = BTreeMap::new();
        let mut cell_of = Vec::with_capacity(data.courses.len());
        for course in &data.courses {
            let alike = Alike { levels: [course.treatment, course.lot, course.attempt], rest_days: course.rest_days };
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
        self.layout.duration.push(duration);
        self.layout.blind.push(blind);
    }

    /// The terms of bulbs that need not be among the cells; levels that are not known add nothing.
    pub(super) fn terms(&self, alike: Alike) -> (Terms, Terms) {
        let mut duration = Terms::default();
        let mut blind = Terms::default();
        duration.add(0, 1.0);
        duration.add(1, longer_rest(alike.rest_days));
        blind.add(self.n_duration(), 1.0);
        let (mut at, mut at_blind) = (2, self.n_duration() + 1);
        for (level, n) in alike.levels.into_iter().zip(self.layout.n_levels) {
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
        self.layout.n_duration()
    }

    /// Columns of a step.
    pub(super) fn n_columns(&self, with_blind: bool) -> usize {
        self.layout.n_columns(with_blind)
    }
}

/// Four weeks of rest more than the medians are meant for count as 1; lengths outside the published range as its ends.
fn longer_rest(rest_days: Option<i32>) -> f64 {
    rest_days.map_or(0.0, |days| ((f64::from(days) - priors::REST_DAYS) / 28.0).clamp(-2.0, 2.0))
}
