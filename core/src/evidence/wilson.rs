//! Wilson's interval for one share: the default picture.
//!
//! (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) ÷ (1 + z²/n), exactly 0 at none and exactly 1 at all; no continuity correction.
//! Wilson 1927, Journal of the American Statistical Association 22:209; compared by Newcombe 1998, Statistics in
//! Medicine 17:857.

use super::{Interval, Level, Share};

/// Wilson's interval; with no resolved bulb it is all of 0 to 1.
pub fn interval(share: Share, level: Level) -> Interval {
    if share.of() == 0 {
        return Interval::new(0.0, 1.0);
    }
    let (x, n, z) = (share.x(), share.n(), level.z());
    let square = z * z;
    let centre = x + square / 2.0;
    let spread = z * (x * (n - x) / n + square / 4.0).sqrt();
    let lower = if share.reached() == 0 {
        0.0
    } else {
        (centre - spread) / (n + square)
    };
    let upper = if share.missed() == 0 {
        1.0
    } else {
        (centre + spread) / (n + square)
    };
    Interval::new(lower, upper).within(0.0, 1.0)
}
