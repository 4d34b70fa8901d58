//! What the model's numbers are: which of them a bulb's step is the sum of, and what is believed of them beforehand.

/// A normal distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Normal {
    /// The mean.
    pub mean: f64,
    /// The standard deviation.
    pub sd: f64,
}

impl Normal {
    /// Log density but for a constant.
    pub(crate) fn ln_density(self, value: f64) -> f64 {
        let z = (value - self.mean) / self.sd;
        -0.5 * z * z
    }
}

/// What is believed of one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beliefs {
    /// ln of the median duration in days.
    pub ln_median: Normal,
    /// ln of the spread between bulbs.
    pub ln_spread: Normal,
    /// Effect of a longer rest on ln days.
    pub longer_rest: Normal,
    /// Scales of the half-normal priors of how far treatments, lots and tries differ.
    pub differ: [f64; 3],
}

/// What is believed of staying blind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlindBeliefs {
    /// Log odds.
    pub log_odds: Normal,
    /// As in [`Beliefs`].
    pub differ: [f64; 3],
}

/// The numbers one linear predictor is the weighted sum of, by ascending column.
#[derive(Clone, Copy, Debug, Default)]
pub struct Terms {
    pub(crate) columns: [usize; 5],
    pub(crate) weights: [f64; 5],
    pub(crate) n: usize,
}

impl Terms {
    /// Adds a column after those before; there is room for five.
    pub fn add(&mut self, column: usize, weight: f64) {
        self.columns[self.n] = column;
        self.weights[self.n] = weight;
        self.n += 1;
    }

    /// Columns and weights.
    pub fn each(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let columns = self.columns[..self.n].iter().copied();
        columns.zip(self.weights[..self.n].iter().copied())
    }

    /// The predictor.
    pub fn of(&self, x: &[f64]) -> f64 {
        self.each().map(|(column, weight)| weight * x[column]).sum()
    }
}

/// Cells of bulbs alike, and the terms of each: median, effect of rest, then treatments, lots and tries; for the log odds
/// of staying blind, in columns after those, the same again without the effect of rest.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    /// Levels of treatment, lot and try.
    pub n_levels: [usize; 3],
    /// Terms of ln duration, by cell.
    pub duration: Vec<Terms>,
    /// Terms of the log odds of staying blind, by cell.
    pub blind: Vec<Terms>,
}

impl Layout {
    /// Columns that durations take.
    pub fn n_duration(&self) -> usize {
        2 + self.n_levels.iter().sum::<usize>()
    }

    /// Columns of a step.
    pub fn n_columns(&self, with_blind: bool) -> usize {
        let blind = self.n_duration() - 1;
        self.n_duration() + if with_blind { blind } else { 0 }
    }
}
