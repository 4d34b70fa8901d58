//! Newcombe's method 10 for the difference of two shares: the interval of the sentence in one try without blocks.
//!
//! With Wilson's limits l, u of each share: lower = d − √((pₐ−lₐ)² + (u_b−p_b)²), upper = d + √((uₐ−pₐ)² + (p_b−l_b)²).
//! Never leaves −1 to 1. Newcombe 1998, Statistics in Medicine 17:873, method 10.

use super::{Interval, Level, Share, difference, wilson};

/// The interval for a minus b; with a group empty it is all of −1 to 1.
///
/// # 56 of 70 less 48 of 80 is 0.2, give or take 0.15
/// ```
/// # use bloomdue_core::evidence::{Level, Share, newcombe};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // Newcombe 1998, Statistics in Medicine 17:873, example (a), method 10.
/// let interval = newcombe::interval(Share::new(56, 70)?, Share::new(48, 80)?, Level::PCT_95);
/// assert!((interval.lower - 0.0524).abs() < 5e-5 && (interval.upper - 0.3339).abs() < 5e-5);
/// # Ok(())
/// # }
/// ```
pub fn interval(a: Share, b: Share, level: Level) -> Interval {
    let (Ok(rate_a), Ok(rate_b), Ok(gap)) = (a.rate(), b.rate(), difference(a, b)) else {
        return Interval::new(-1.0, 1.0);
    };
    let (limits_a, limits_b) = (wilson::interval(a, level), wilson::interval(b, level));
    let below = (rate_a - limits_a.lower).hypot(limits_b.upper - rate_b);
    let above = (limits_a.upper - rate_a).hypot(rate_b - limits_b.lower);
    Interval::new(gap - below, gap + above).within(-1.0, 1.0)
}
