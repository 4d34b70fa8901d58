//! Agresti and Caffo's interval for the difference of two shares: the simplest one that is nearly right.
//!
//! One bulb that reached the stage and one that did not are added to each group; then d ± z √(pₐqₐ/nₐ + p_b q_b/n_b).
//! Agresti & Caffo 2000, The American Statistician 54:280.

use super::{Interval, Level, Share};

/// The interval for a minus b, cut to −1 to 1; with a group empty it is all of it.
pub fn interval(a: Share, b: Share, level: Level) -> Interval {
    unclipped(a, b, level).within(-1.0, 1.0)
}

/// The interval as the formula has it, which may reach beyond −1 or 1; with a group empty it is −1 to 1.
pub fn unclipped(a: Share, b: Share, level: Level) -> Interval {
    if a.of() == 0 || b.of() == 0 {
        return Interval::new(-1.0, 1.0);
    }
    let parts = |share: Share| {
        let (x, n) = (share.x() + 1.0, share.n() + 2.0);
        (x / n, x * (n - x) / (n * n * n))
    };
    let ((rate_a, variance_a), (rate_b, variance_b)) = (parts(a), parts(b));
    let (gap, spread) = (rate_a - rate_b, level.z() * (variance_a + variance_b).sqrt());
    Interval::new(gap - spread, gap + spread)
}
