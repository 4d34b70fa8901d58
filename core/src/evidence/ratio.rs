//! The ratio of two shares, with Katz's, Miettinen and Nurminen's and Koopman's intervals.
//!
//! Katz: ln(pₐ/p_b) ± z √(1/xₐ − 1/nₐ + 1/x_b − 1/n_b), which needs both counts above 0 (Katz et al. 1978,
//! Biometrics 34:469). The score intervals are all r with (p̂ₐ − r p̂_b)² ≤ z² V(r), V(r) = p̃ₐq̃ₐ/nₐ + r² p̃_b q̃_b/n_b
//! at the most likely shares with p̃ₐ = r p̃_b: Koopman 1984, Biometrics 40:513, and with the factor N/(N−1)
//! Miettinen & Nurminen 1985, Statistics in Medicine 4:213. They are half-lines where one count is 0.

use super::{Interval, Level, NoAnswer, Reason, Result, Share, roots};

/// Share a over share b; infinite when only a has a bulb that reached the stage.
///
/// # Errors
/// When a group has no resolved bulb, or no bulb of either group reached the stage.
pub fn estimate(a: Share, b: Share) -> Result<f64> {
    let (rate_a, rate_b) = (a.rate()?, b.rate()?);
    match (rate_a > 0.0, rate_b > 0.0) {
        (_, true) => Ok(rate_a / rate_b),
        (true, false) => Ok(f64::INFINITY),
        (false, false) => Err(NoAnswer(Reason::NothingToDivideBy)),
    }
}

/// Katz's interval on the logarithm of the ratio.
///
/// # Errors
/// When a group has no resolved bulb, or none that reached the stage.
pub fn katz(a: Share, b: Share, level: Level) -> Result<Interval> {
    let (rate_a, rate_b) = (a.rate()?, b.rate()?);
    if a.reached() == 0 || b.reached() == 0 {
        return Err(NoAnswer(Reason::EmptyCell));
    }
    let variance = (1.0 - rate_a) / a.x() + (1.0 - rate_b) / b.x();
    let spread = (level.z() * variance.sqrt()).exp();
    let ratio = rate_a / rate_b;
    Ok(Interval::new(ratio / spread, ratio * spread))
}

/// Koopman's score interval.
pub fn koopman(a: Share, b: Share, level: Level) -> Interval {
    score(a, b, level.z(), 1.0)
}

/// Miettinen and Nurminen's score interval.
pub fn miettinen_nurminen(a: Share, b: Share, level: Level) -> Interval {
    let total = a.n() + b.n();
    score(a, b, level.z(), total / (total - 1.0))
}

/// A score interval; with a group empty, or no bulb of either group, it is all of 0 to infinity.
fn score(a: Share, b: Share, z: f64, factor: f64) -> Interval {
    let everything = Interval::new(0.0, f64::INFINITY);
    let Ok(ratio) = estimate(a, b) else {
        return everything;
    };
    // r = t/(1−t) brings the half-line to 0 … 1, and both sides are multiplied by (1−t)².
    let outside = |t: f64| {
        let s = 1.0 - t;
        let gap = s * a.x() / a.n() - t * b.x() / b.n();
        gap * gap - z * z * factor * variance(a, b, t, s)
    };
    let at = if ratio.is_finite() { ratio / (1.0 + ratio) } else { 1.0 };
    let limit = |end: f64| {
        let start = at + (end - at) * 1e-9;
        if at == end || outside(end) <= 0.0 {
            return end;
        }
        if outside(start) >= 0.0 {
            return at;
        }
        roots::bracketed(outside, start, end)
    };
    let (low, high) = (limit(0.0), limit(1.0));
    let back = |t: f64| {
        if t >= 1.0 { f64::INFINITY } else { t / (1.0 - t) }
    };
    Interval::new(back(low), back(high))
}

/// s² p̃ₐq̃ₐ/nₐ + t² p̃_b q̃_b/n_b at the most likely shares with s p̃ₐ = t p̃_b.
fn variance(a: Share, b: Share, t: f64, s: f64) -> f64 {
    // p̃_b solves N t p² − (t (nₐ + x_b) + s (xₐ + n_b)) p + s (xₐ + x_b) = 0, smaller root.
    let square = (a.n() + b.n()) * t;
    let linear = t * (a.n() + b.x()) + s * (a.x() + b.n());
    let plain = s * (a.x() + b.x());
    let root = (linear * linear - 4.0 * square * plain).max(0.0).sqrt();
    let divisor = linear + root;
    let share_b = if divisor > 0.0 { (2.0 * plain / divisor).clamp(0.0, 1.0) } else { 0.0 };
    let share_a = if s > 0.0 { (t * share_b / s).clamp(0.0, 1.0) } else { a.x() / a.n() };
    s * s * share_a * (1.0 - share_a) / a.n() + t * t * share_b * (1.0 - share_b) / b.n()
}
