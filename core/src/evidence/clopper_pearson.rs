//! Clopper and Pearson's interval for one share: never less sure than it says.
//!
//! Beta quantiles: lower B(α/2; x, n−x+1), upper B(1−α/2; x+1, n−x); 0 at none, 1 at all.
//! Clopper & Pearson 1934, Biometrika 26:404.

use super::{Interval, Level, Share, special};

/// The interval; with no resolved bulb it is all of 0 to 1.
pub fn interval(share: Share, level: Level) -> Interval {
    let (x, missed, tail) = (share.x(), share.n() - share.x(), level.tail());
    let lower = if share.reached() == 0 { 0.0 } else { special::beta_quantile(x, missed + 1.0, tail) };
    let upper = if share.missed() == 0 { 1.0 } else { 1.0 - special::beta_quantile(missed, x + 1.0, tail) };
    Interval::new(lower, upper)
}
