//! Wilson's interval for one share: the default picture.
//!
//! (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) ÷ (1 + z²/n), exactly 0 at none and exactly 1 at all; no continuity correction.
//! Wilson 1927, Journal of the American Statistical Association 22:209; compared by Newcombe 1998, Statistics in
//! Medicine 17:857.

use super::{Interval, Level, Share};

/// Wilson's interval; with no resolved bulb it is all of 0 to 1.
///
/// # None of ten leaves room for a quarter
/// ```
/// # use bloomdue_core::evidence::{Level, Share, wilson};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let interval = wilson::interval(Share::new(0, 10)?, Level::PCT_95);
/// assert_eq!(interval.lower, 0.0);
/// assert!((interval.upper - 0.2775).abs() < 5e-5);
/// # Ok(())
/// # }
/// ```
pub fn interval(share: Share, level: Level) -> Interval {
    if share.of() == 0 {
        return Interval::new(0.0, 1.0);
    }
    let mut interval = limits(share.x(), share.n(), level);
    if share.reached() == 0 {
        interval.lower = 0.0;
    }
    if share.missed() == 0 {
        interval.upper = 1.0;
    }
    interval
}

/// Wilson's interval for a share of `n` bulbs that is no count: an effective number of bulbs (see [`super::clusters`]).
pub(super) fn of_rate(rate: f64, n: f64, level: Level) -> Interval {
    let mut interval = limits(rate * n, n, level);
    if rate <= 0.0 {
        interval.lower = 0.0;
    }
    if rate >= 1.0 {
        interval.upper = 1.0;
    }
    interval
}

fn limits(x: f64, n: f64, level: Level) -> Interval {
    let z = level.z();
    let square = z * z;
    let centre = x + square / 2.0;
    let spread = z * (x * (n - x) / n + square / 4.0).sqrt();
    Interval::new((centre - spread) / (n + square), (centre + spread) / (n + square)).within(0.0, 1.0)
}
