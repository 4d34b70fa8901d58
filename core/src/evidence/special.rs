//! The few special functions that the methods stand on.
//!
//! Accurate to some 1e-14 relative over the arguments that counts of bulbs lead to, tails included: lower and upper
//! tails are computed apart, never as one minus the other where that would cancel.
//! Sources: Stirling's series (Abramowitz & Stegun 1964, 6.1.41); binomial probabilities by Loader 2000, "Fast and
//! accurate computation of binomial probabilities"; incomplete gamma and beta by series and continued fraction
//! (Abramowitz & Stegun 6.5.29, 6.5.31, 26.5.8), evaluated by Lentz 1976, Applied Optics 15:668.

use std::f64::consts::{PI, SQRT_2};

use super::roots;

const TINY: f64 = 1e-300;
const LN_SQRT_2PI: f64 = 0.918_938_533_204_672_8;

/// The rest of Stirling's formula for ln Γ(x), x ≥ 10: 1/12x − 1/360x³ + …
fn stirling_series(x: f64) -> f64 {
    const TERMS: [f64; 7] =
        [1.0 / 12.0, -1.0 / 360.0, 1.0 / 1260.0, -1.0 / 1680.0, 1.0 / 1188.0, -691.0 / 360_360.0, 1.0 / 156.0];
    let square = x * x;
    TERMS.iter().rev().fold(0.0, |sum, term| sum / square + term) / x
}

/// ln Γ(x) for x > 0.
pub(crate) fn ln_gamma(x: f64) -> f64 {
    if x >= 10.0 {
        return (x - 0.5) * x.ln() - x + LN_SQRT_2PI + stirling_series(x);
    }
    let mut product = 1.0;
    let mut shifted = x;
    while shifted < 10.0 {
        product *= shifted;
        shifted += 1.0;
    }
    ln_gamma(shifted) - product.ln()
}

/// Loader's δ at ½, 1, 1½ … 9½, to all digits of a double.
const STIRLING_ERRORS: [f64; 19] = [
    0.153_426_409_720_027_36,
    0.081_061_466_795_327_26,
    0.054_814_121_051_917_65,
    0.041_340_695_955_409_3,
    0.033_162_873_519_936_29,
    0.027_677_925_684_998_34,
    0.023_746_163_656_297_496,
    0.020_790_672_103_765_093,
    0.018_488_450_532_673_187,
    0.016_644_691_189_821_193,
    0.015_134_973_221_917_378,
    0.013_876_128_823_070_748,
    0.012_810_465_242_920_227,
    0.011_896_709_945_891_77,
    0.011_104_559_758_206_917,
    0.010_411_265_261_972_096,
    0.009_799_416_126_158_804,
    0.009_255_462_182_712_733,
    0.008_768_700_134_139_386,
];

/// ln x! less Stirling's formula for it (Loader's δ), x ≥ 0.
fn stirling_error(x: f64) -> f64 {
    if x >= 10.0 {
        return stirling_series(x);
    }
    if x == 0.0 {
        return 0.0;
    }
    let halves = 2.0 * x;
    if halves.fract() == 0.0 {
        return STIRLING_ERRORS[halves as usize - 1];
    }
    ln_gamma(x + 1.0) - (x + 0.5) * x.ln() + x - LN_SQRT_2PI
}

/// x ln(x/m) + m − x without cancellation near x = m (Loader's D₀ times m); 0 ln 0 is 0.
fn deviance(x: f64, m: f64) -> f64 {
    if x == 0.0 {
        return m;
    }
    let v = (x - m) / (x + m);
    if v.abs() >= 0.1 {
        return x * (x / m).ln() + m - x;
    }
    let mut sum = (x - m) * v;
    let mut power = 2.0 * x * v;
    for odd in 1..100 {
        power *= v * v;
        let next = sum + power / f64::from(2 * odd + 1);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// Γ(n+1)/(Γ(x+1)Γ(n−x+1)) pˣ qⁿ⁻ˣ for any 0 ≤ x ≤ n, with q = 1 − p.
pub(crate) fn binomial_term(x: f64, n: f64, p: f64, q: f64) -> f64 {
    if p <= 0.0 {
        return f64::from(x == 0.0);
    }
    if q <= 0.0 {
        return f64::from(x == n);
    }
    if x == 0.0 {
        return (n * if p < 0.1 { (-p).ln_1p() } else { q.ln() }).exp();
    }
    if x == n {
        return (n * if q < 0.1 { (-q).ln_1p() } else { p.ln() }).exp();
    }
    let rest = n - x;
    let exponent =
        stirling_error(n) - stirling_error(x) - stirling_error(rest) - deviance(x, n * p) - deviance(rest, n * q);
    exponent.exp() * (n / (2.0 * PI * x * rest)).sqrt()
}

/// The lower and the upper regularised incomplete gamma function, P(a, x) and Q(a, x), for a > 0, x ≥ 0.
pub(crate) fn gamma_tails(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    // xᵃ e⁻ˣ / Γ(a + 1), the Poisson probability of a at mean x.
    let front = (-stirling_error(a) - deviance(a, x)).exp() / (2.0 * PI * a).sqrt();
    if x < a + 1.0 {
        let (mut term, mut sum, mut step) = (1.0, 1.0, a);
        while term > sum * 1e-17 {
            step += 1.0;
            term *= x / step;
            sum += term;
        }
        let lower = (front * sum).min(1.0);
        return (lower, 1.0 - lower);
    }
    let mut b = x + 1.0 - a;
    let (mut c, mut d) = (1.0 / TINY, 1.0 / b);
    let mut fraction = d;
    for i in 1..10_000 {
        let i = f64::from(i);
        let numerator = -i * (i - a);
        b += 2.0;
        d = 1.0 / away_from_zero(numerator * d + b);
        c = away_from_zero(b + numerator / c);
        fraction *= d * c;
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    let upper = (front * a * fraction).min(1.0);
    (1.0 - upper, upper)
}

fn away_from_zero(x: f64) -> f64 {
    if x.abs() < TINY { TINY } else { x }
}

/// The lower and upper tail of the Beta(a, b) distribution at x, for a, b > 0; `y` is 1 − x.
pub(crate) fn beta_tails(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if y <= 0.0 {
        return (1.0, 0.0);
    }
    let front = binomial_term(a, a + b, x, y) * (a / (a + b)) * b;
    if x * (a + b + 2.0) < a + 1.0 {
        let lower = (front * beta_fraction(a, b, x) / a).min(1.0);
        (lower, 1.0 - lower)
    } else {
        let upper = (front * beta_fraction(b, a, y) / b).min(1.0);
        (1.0 - upper, upper)
    }
}

/// The continued fraction of the incomplete beta function.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..20_000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        fraction *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        fraction *= d * c;
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    fraction
}

/// The point with probability `p` below it in the Beta(a, b) distribution; a, b > 0, 0 ≤ p ≤ 1.
pub(crate) fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return 1.0;
    }
    // On the logit scale both ends keep their relative precision.
    let point = |u: f64| (1.0 / (1.0 + (-u).exp()), 1.0 / (1.0 + u.exp()));
    if let Some(u) = beta_logit_by_newton(a, b, p) {
        return point(u).0;
    }
    let target = |u: f64| {
        let (x, y) = point(u);
        let (lower, upper) = beta_tails(a, b, x, y);
        if p <= 0.5 { lower - p } else { 1.0 - p - upper }
    };
    point(roots::bracketed(target, -700.0, 700.0)).0
}

/// The logit of a beta quantile by Newton on the logarithm of the smaller tail, which is concave in the logit, so that
/// steps settle from one side; nothing where they do not settle at once, as far out.
fn beta_logit_by_newton(a: f64, b: f64, p: f64) -> Option<f64> {
    let below = p <= 0.5;
    let wanted = if below { p } else { 1.0 - p };
    let mut u = (a / b).ln();
    for _ in 0..40 {
        let (x, y) = (1.0 / (1.0 + (-u).exp()), 1.0 / (1.0 + u.exp()));
        let (lower, upper) = beta_tails(a, b, x, y);
        let tail = if below { lower } else { upper };
        // The density on the logit scale, xᵃyᵇ ÷ B(a, b).
        let density = binomial_term(a, a + b, x, y) * (a / (a + b)) * b;
        let step = (tail / wanted).ln() * tail / density;
        if !step.is_finite() || !(-30.0..30.0).contains(&u) {
            return None;
        }
        u = if below { u - step } else { u + step };
        if step.abs() < 1e-14 * u.abs().max(1.0) {
            return Some(u);
        }
    }
    None
}

/// The lower and the upper tail of the normal distribution at z.
pub(crate) fn normal_tails(z: f64) -> (f64, f64) {
    let (lower, upper) = gamma_tails(0.5, z * z / 2.0);
    let (inner, outer) = (0.5 + 0.5 * lower, 0.5 * upper);
    if z >= 0.0 { (inner, outer) } else { (outer, inner) }
}

/// The point with probability `p` above it in the normal distribution, 0 < p < 1.
pub(crate) fn normal_upper(p: f64) -> f64 {
    if p > 0.5 {
        return -normal_upper(1.0 - p);
    }
    // Hastings' approximation (Abramowitz & Stegun 26.2.23), then Newton on the logarithm of the tail.
    let t = (-2.0 * p.ln()).sqrt();
    let mut z =
        t - (2.515_517 + t * (0.802_853 + t * 0.010_328)) / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    for _ in 0..6 {
        let upper = normal_tails(z).1;
        let density = (-z * z / 2.0).exp() / (SQRT_2 * PI.sqrt());
        let step = (upper / p).ln() * upper / density;
        z += step;
        if step.abs() < 1e-15 {
            break;
        }
    }
    z
}

/// Two-sided p of a standard normal statistic.
pub(crate) fn normal_two_sided(z: f64) -> f64 {
    gamma_tails(0.5, z * z / 2.0).1
}

/// The upper tail of chi-square with `df` degrees of freedom.
pub(crate) fn chi_square_upper(x: f64, df: f64) -> f64 {
    gamma_tails(df / 2.0, x / 2.0).1
}

/// Two-sided p of a t statistic with `df` degrees of freedom.
pub(crate) fn t_two_sided(t: f64, df: f64) -> f64 {
    let square = t * t;
    let (x, y) = (df / (df + square), square / (df + square));
    beta_tails(df / 2.0, 0.5, x, y).0
}

/// The point with probability `p` above it in the t distribution, 0 < p ≤ ½.
pub(crate) fn t_upper(p: f64, df: f64) -> f64 {
    let x = beta_quantile(df / 2.0, 0.5, 2.0 * p);
    (df * (1.0 - x) / x).sqrt()
}

/// Nodes and weights of Gauss–Legendre quadrature on [−1, 1].
pub(crate) fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let degree = n as f64;
    (0..n)
        .map(|i| {
            let mut x = -(PI * (i as f64 + 0.75) / (degree + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut previous, mut value) = (1.0, x);
                for k in 2..=n {
                    let k = k as f64;
                    (previous, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * previous) / k);
                }
                slope = degree * (x * value - previous) / (x * x - 1.0);
                let step = value / slope;
                x -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64, relative: f64) {
        assert!((got - expected).abs() <= relative * expected.abs(), "got {got:e}, expected {expected:e}");
    }

    /// Exact: ln 4! … ; Γ(½) = √π; Γ(1/3) from Abramowitz & Stegun table 6.1 (2.678938534707747…).
    #[test]
    fn gamma_of_known_arguments() {
        close(ln_gamma(5.0), 24_f64.ln(), 1e-14);
        close(ln_gamma(0.5), PI.sqrt().ln(), 1e-14);
        close(ln_gamma(1.0 / 3.0), 2.678_938_534_707_747_6_f64.ln(), 1e-14);
        close(ln_gamma(171.0), (1..=170).map(|i| f64::from(i).ln()).sum(), 1e-14);
    }

    /// Abramowitz & Stegun table 26.1 and 26.5: Q(1) and the 97.5 % point to all printed digits.
    #[test]
    fn normal_tails_and_points() {
        close(normal_tails(1.0).1, 0.158_655_253_931_457_05, 1e-14);
        close(normal_tails(-1.0).0, 0.158_655_253_931_457_05, 1e-14);
        close(normal_tails(10.0).1, 7.619_853_024_160_527e-24, 1e-12);
        close(normal_upper(0.025), 1.959_963_984_540_054, 1e-15);
        close(normal_upper(0.975), -1.959_963_984_540_054, 1e-15);
        for p in [1e-300, 1e-20, 1e-5, 0.3, 0.5, 0.7, 0.999] {
            close(normal_tails(normal_upper(p)).1, p, 1e-12);
        }
        assert_eq!(normal_tails(0.0), (0.5, 0.5));
    }

    /// Sums of binomial terms are exact tails of the beta distribution: I_x(a, n − a + 1) = P(X ≥ a).
    #[test]
    fn beta_tails_are_binomial_sums() {
        for n in [1_u32, 5, 40, 400] {
            for a in [1, n / 2 + 1, n] {
                for x in [1e-9, 0.01, 0.3, 0.5, 0.77, 0.999] {
                    let term = |k: u32| binomial_term(f64::from(k), f64::from(n), x, 1.0 - x);
                    let upper: f64 = (a..=n).map(term).sum();
                    let lower: f64 = (0..a).map(term).sum();
                    let got = beta_tails(f64::from(a), f64::from(n - a + 1), x, 1.0 - x);
                    assert!((got.0 - upper).abs() <= 2e-13 * upper + 1e-15, "{n} {a} {x}: {got:?} {upper}");
                    assert!((got.1 - lower).abs() <= 2e-13 * lower + 1e-15, "{n} {a} {x}: {got:?} {lower}");
                }
            }
        }
    }

    #[test]
    fn quantiles_undo_tails() {
        for (a, b) in [(0.5, 10.5), (8.0, 1.0), (3.5, 5.5), (1000.5, 99_000.5), (0.5, 0.5)] {
            for p in [1e-12, 0.025, 0.5, 0.95, 1.0 - 1e-6] {
                let x = beta_quantile(a, b, p);
                let (lower, upper) = beta_tails(a, b, x, 1.0 - x);
                if p <= 0.5 {
                    close(lower, p, 1e-9);
                } else {
                    close(upper, 1.0 - p, 1e-4);
                }
            }
        }
    }

    /// Student's table: t(0.975; 1) = tan(0.475 π) = 12.7062…, t(0.975; 10) = 2.228139 (all digits
    /// from the closed form for ten degrees of freedom, Abramowitz & Stegun 26.7.4).
    #[test]
    fn points_of_t_and_chi_square() {
        close(t_upper(0.025, 1.0), (0.475 * PI).tan(), 1e-12);
        close(t_upper(0.025, 10.0), 2.228_138_851_986_273_5, 1e-12);
        close(t_two_sided(2.228_138_851_986_273_5, 10.0), 0.05, 1e-12);
        close(chi_square_upper(3.841_458_820_694_124, 1.0), 0.05, 1e-12);
        // With two degrees of freedom the tail is e^(−x/2).
        close(chi_square_upper(7.0, 2.0), (-3.5_f64).exp(), 1e-14);
    }

    #[test]
    fn quadrature_is_exact_for_polynomials() {
        let nodes = gauss_legendre(20);
        for power in 0..40 {
            let got: f64 = nodes.iter().map(|(x, weight)| weight * x.powi(power)).sum();
            let expected = if power % 2 == 1 { 0.0 } else { 2.0 / f64::from(power + 1) };
            assert!((got - expected).abs() < 1e-13, "x^{power}: {got}");
        }
    }
}
