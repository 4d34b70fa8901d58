//! Jeffreys' interval for one share: credible limits from the prior Beta(½, ½).
//!
//! Quantiles B(α/2; x+½, n−x+½) and B(1−α/2; …); the lower end is 0 at none and the upper end 1 at all, as
//! Brown, Cai & DasGupta 2001, Statistical Science 16:101 put it. The plain quantiles differ there and are given too.

use super::{Interval, Level, Share, special};

/// The interval with 0 at none and 1 at all; with no resolved bulb it is all of 0 to 1.
pub fn interval(share: Share, level: Level) -> Interval {
    let raw = equal_tailed(share, level);
    let lower = if share.reached() == 0 { 0.0 } else { raw.lower };
    let upper = if share.missed() == 0 { 1.0 } else { raw.upper };
    Interval::new(lower, upper)
}

/// The plain quantiles of the posterior.
pub fn equal_tailed(share: Share, level: Level) -> Interval {
    let (reached, missed) = (share.x() + 0.5, share.n() - share.x() + 0.5);
    let lower = special::beta_quantile(reached, missed, level.tail());
    let upper = 1.0 - special::beta_quantile(missed, reached, level.tail());
    Interval::new(lower, upper)
}
