//! What can still come out while bulbs are waiting, lost or cannot be said.
//!
//! Pending is not failure: the share of the resolved alone is too high while a try is young, because only bulbs that
//! reach the stage can be resolved early. So the counts go with the lowest and the highest share that any completion
//! gives. Worst-case bounds: Manski 1989, Journal of Human Resources 24:343.

use super::tables::{Row, countable};
use super::{Interval, NoAnswer, Reason, Result, Share, fisher};

/// The counts of one group while something is undecided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Undecided {
    /// Reached the stage.
    pub reached: u32,
    /// Known not to have reached it.
    pub not_reached: u32,
    /// Waiting, or cannot be said.
    pub pending: u32,
    /// Died or missing.
    pub lost: u32,
}

impl Undecided {
    /// All bulbs of the group.
    ///
    /// # Errors
    /// When they are more than can be counted.
    pub fn all(self) -> Result<u32> {
        [self.not_reached, self.pending, self.lost]
            .into_iter()
            .try_fold(self.reached, u32::checked_add)
            .ok_or(NoAnswer(Reason::TooManyStates))
    }

    /// The bulbs of which the outcome is known.
    ///
    /// # Errors
    /// As [`Self::all`].
    pub fn resolved(self) -> Result<Share> {
        self.all()?;
        Share::new(self.reached, self.reached + self.not_reached)
    }

    /// The lowest share (all unknown fail) and the highest (all unknown reach the stage).
    ///
    /// # Errors
    /// When there is no bulb at all.
    pub fn bounds(self) -> Result<Interval> {
        let all = self.all()?;
        let lower = Share::new(self.reached, all)?.rate()?;
        let upper = Share::new(all - self.not_reached, all)?.rate()?;
        Ok(Interval::new(lower, upper))
    }

    /// The highest share when the lost count as not reached: all pending reach the stage.
    ///
    /// # Errors
    /// When there is no bulb at all.
    pub fn highest_with_lost_failed(self) -> Result<f64> {
        Share::new(self.reached + self.pending, self.all()?)?.rate()
    }

    /// The share of the resolved and the lost together, the lost counted as not reached.
    ///
    /// # Errors
    /// When no bulb is resolved or lost.
    pub fn lost_failed(self) -> Result<Share> {
        Share::new(self.reached, self.all()? - self.pending)
    }
}

/// The lowest and the highest difference a − b over all completions.
///
/// # Errors
/// When a group has no bulb at all.
pub fn difference(a: Undecided, b: Undecided) -> Result<Interval> {
    let (a, b) = (a.bounds()?, b.bounds()?);
    Ok(Interval::new(a.lower - b.upper, a.upper - b.lower))
}

/// The smallest and the largest two-sided Fisher p over all completions: whether the unknown could still decide.
///
/// # Errors
/// When a group has no bulb, or there are more than [`super::MOST_STATES`] tables.
pub fn fisher_over_completions(a: Undecided, b: Undecided) -> Result<Interval> {
    let (all_a, all_b) = (Share::new(0, a.all()?)?, Share::new(0, b.all()?)?);
    if all_a.of() == 0 || all_b.of() == 0 {
        return Err(NoAnswer(Reason::NoBulbs));
    }
    if !countable(all_a, all_b) {
        return Err(NoAnswer(Reason::TooManyStates));
    }
    let (least, most) = (a.reached + b.reached, all_a.of() - a.not_reached + all_b.of() - b.not_reached);
    let mut range = Interval::new(1.0, 0.0);
    for total in least..=most {
        let row = Row::new(all_a.of(), all_b.of(), total);
        let p = row.two_sided();
        let low = a.reached.max(total.saturating_sub(all_b.of() - b.not_reached));
        let high = (all_a.of() - a.not_reached).min(total - b.reached);
        for x in low..=high {
            let p = p[row.index(x)].0;
            range = Interval::new(range.lower.min(p), range.upper.max(p));
        }
    }
    Ok(range)
}

/// The two-sided Fisher p of the resolved bulbs alone, for reading beside the bounds.
///
/// # Errors
/// When the counts are too large.
pub fn fisher_of_resolved(a: Undecided, b: Undecided) -> Result<f64> {
    Ok(fisher::two_sided(a.resolved()?, b.resolved()?))
}
