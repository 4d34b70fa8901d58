//! Score intervals for the difference of two shares: Miettinen–Nurminen, and Mee without its factor.
//!
//! All d with (d̂ − d)² ≤ z² V(d) N/(N−1), where V(d) = p̃ₐq̃ₐ/nₐ + p̃_b q̃_b/n_b at the most likely shares with
//! p̃ₐ − p̃_b = d. The score in the one unknown share is monotone, so its zero is bracketed rather than taken from
//! the cubic. Miettinen & Nurminen 1985, Statistics in Medicine 4:213; Mee 1984, Biometrics 40:1175, has no N/(N−1).

use super::{Interval, Level, Share, difference, roots};

/// Miettinen and Nurminen's interval for a minus b; with a group empty it is all of −1 to 1.
pub fn miettinen_nurminen(a: Share, b: Share, level: Level) -> Interval {
    let total = a.n() + b.n();
    interval(a, b, level.z(), total / (total - 1.0))
}

/// Mee's interval for a minus b; with a group empty it is all of −1 to 1.
pub fn mee(a: Share, b: Share, level: Level) -> Interval {
    interval(a, b, level.z(), 1.0)
}

fn interval(a: Share, b: Share, z: f64, factor: f64) -> Interval {
    let Ok(gap) = difference(a, b) else {
        return Interval::new(-1.0, 1.0);
    };
    let outside = |d: f64| (gap - d) * (gap - d) - z * z * factor * variance(a, b, d);
    // At d̂ itself the variance may be 0, so that the search starts a hair beside it.
    let limit = |end: f64| {
        let start = gap + (end - gap) * 1e-9;
        if gap == end || outside(start) >= 0.0 {
            return if gap == end { end } else { gap };
        }
        if outside(end) <= 0.0 {
            return end;
        }
        roots::bracketed(outside, start, end)
    };
    Interval::new(limit(-1.0), limit(1.0))
}

/// The variance of the difference at the most likely shares that are `d` apart.
fn variance(a: Share, b: Share, d: f64) -> f64 {
    let (low, high) = ((-d).max(0.0), (1.0 - d).min(1.0));
    let part = |count: f64, share: f64| {
        if count == 0.0 { 0.0 } else { count / share.max(0.0) }
    };
    let (reached_a, missed_a) = (a.x(), a.n() - a.x());
    let (reached_b, missed_b) = (b.x(), b.n() - b.x());
    let score =
        |p: f64| part(reached_a, p + d) + part(reached_b, p) - part(missed_a, 1.0 - p - d) - part(missed_b, 1.0 - p);
    let p = if low >= high || score(low) <= 0.0 {
        low
    } else if score(high) >= 0.0 {
        high
    } else {
        roots::bracketed(score, low, high)
    };
    let (share_a, share_b) = ((p + d).clamp(0.0, 1.0), p.clamp(0.0, 1.0));
    share_a * (1.0 - share_a) / a.n() + share_b * (1.0 - share_b) / b.n()
}
