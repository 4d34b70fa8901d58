//! Finding where a function crosses zero.

/// A zero of `f` between `low` and `high`, where `f` has different signs (or is zero at one of them).
///
/// Chandrupatla 1997, Advances in Engineering Software 28:145: inverse quadratic steps where they are safe and
/// bisection where not, so it never leaves the bracket and always ends. Where the signs agree the end with the smaller
/// value comes back, so that a rounding error at an end is harmless.
pub(crate) fn bracketed(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut a, mut b) = (high, low);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return a;
    }
    if fb == 0.0 {
        return b;
    }
    if (fa > 0.0) == (fb > 0.0) {
        return if fa.abs() < fb.abs() { a } else { b };
    }
    let mut t = 0.5;
    for _ in 0..200 {
        let x = a + t * (b - a);
        let fx = f(x);
        let (c, fc);
        if (fx > 0.0) == (fa > 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let best = if fa.abs() < fb.abs() { a } else { b };
        let slack = 2.0 * f64::EPSILON * best.abs() + 1e-300;
        let share = slack / (b - a).abs();
        if share >= 0.5 || fa == 0.0 {
            return best;
        }
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        let inverse_quadratic = phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi;
        t = if inverse_quadratic {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        t = t.clamp(share, 1.0 - share);
    }
    if fa.abs() < fb.abs() { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::bracketed;

    #[test]
    fn smooth_steep_and_flat_functions() {
        assert!((bracketed(|x| x * x - 2.0, 0.0, 2.0) - 2_f64.sqrt()).abs() < 1e-15);
        assert!((bracketed(|x| (x - 0.3).powi(9), -1.0, 1.0) - 0.3).abs() < 1e-3);
        assert!((bracketed(|x| if x < 0.7 { -1.0 } else { 1.0 }, 0.0, 1.0) - 0.7).abs() < 1e-14);
        assert!((bracketed(|x: f64| x.exp() - 1e-30, -700.0, 700.0) + 69.077_552_789_821_37).abs() < 1e-12);
        assert_eq!(bracketed(|x| x, 0.0, 1.0), 0.0);
        assert_eq!(bracketed(|x| x + 1.0, 0.0, 1.0), 0.0);
    }
}
