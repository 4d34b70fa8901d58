//! Several tries of one comparison, each with its own two groups: what all pooled methods share.
//!
//! Tries are never pooled by adding their counts. A try in which one group is empty carries no information on the
//! difference and is left out; when none is left, try and treatment cannot be told apart.

use serde::{Deserialize, Serialize};

use super::{NoAnswer, Reason, Result, Share};

/// One try, or one size class of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stratum {
    /// Group a.
    pub a: Share,
    /// Group b.
    pub b: Share,
}

/// The counts of a stratum as numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Counts {
    pub(crate) x_a: f64,
    pub(crate) n_a: f64,
    pub(crate) x_b: f64,
    pub(crate) n_b: f64,
}

impl Counts {
    /// Bulbs that reached the stage, both groups.
    pub(crate) fn total(self) -> f64 {
        self.x_a + self.x_b
    }

    /// All bulbs.
    pub(crate) fn all(self) -> f64 {
        self.n_a + self.n_b
    }

    /// Bulbs of a that did not.
    pub(crate) fn missed_a(self) -> f64 {
        self.n_a - self.x_a
    }

    /// Bulbs of b that did not.
    pub(crate) fn missed_b(self) -> f64 {
        self.n_b - self.x_b
    }
}

/// The strata with both groups.
pub fn used(strata: &[Stratum]) -> Vec<Stratum> {
    strata.iter().copied().filter(|stratum| stratum.a.of() > 0 && stratum.b.of() > 0).collect()
}

/// The counts of the strata with both groups, at least one.
pub(crate) fn counts(strata: &[Stratum]) -> Result<Vec<Counts>> {
    let used = used(strata);
    if used.is_empty() {
        return Err(NoAnswer(Reason::Confounded));
    }
    let counts = |Stratum { a, b }| Counts { x_a: a.x(), n_a: a.n(), x_b: b.x(), n_b: b.n() };
    Ok(used.into_iter().map(counts).collect())
}
