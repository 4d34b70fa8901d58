//! The normal distribution, fast: seven digits are enough where the numbers are drawn by chance anyway.

use std::f64::consts::SQRT_2;

use crate::evidence::random::Random;

const ONE_OVER_SQRT_2PI: f64 = 0.398_942_280_401_432_7;

/// Natural logarithm of a normal positive number, to nine digits: the exponent, and 2 artanh((m − 1) / (m + 1)) of the
/// mantissa m in [√½, √2) by its series. It is called a million times a forecast.
pub(super) fn ln(x: f64) -> f64 {
    const SQRT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
    const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;
    let shifted = x.to_bits().wrapping_add(0x3ff0_0000_0000_0000 - SQRT_HALF);
    let exponent = (shifted >> 52) as i64 - 1023;
    let m = f64::from_bits((shifted & MANTISSA) + SQRT_HALF);
    let s = (m - 1.0) / (m + 1.0);
    let square = s * s;
    let series = 1.0 / 3.0 + square * (1.0 / 5.0 + square * (1.0 / 7.0 + square * (1.0 / 9.0)));
    2.0 * s * (1.0 + square * series) + exponent as f64 * std::f64::consts::LN_2
}

/// erfc(z) = t exp(−z² + exponent), z ≥ 0: t and the exponent of Press, Teukolsky, Vetterling & Flannery 1992,
/// Numerical Recipes, §6.2. The relative error of erfc is below 1.2e-7 everywhere.
fn erfc_parts(z: f64) -> (f64, f64) {
    const TERMS: [f64; 10] = [
        -1.265_512_23,
        1.000_023_68,
        0.374_091_96,
        0.096_784_18,
        -0.186_288_06,
        0.278_868_07,
        -1.135_203_98,
        1.488_515_87,
        -0.822_152_23,
        0.170_872_77,
    ];
    let t = 1.0 / (1.0 + 0.5 * z);
    let exponent = TERMS.iter().rev().fold(0.0, |sum, term| sum * t + term);
    (t, exponent)
}

/// The upper tail at `u`.
pub(super) fn upper(u: f64) -> f64 {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    let tail = 0.5 * t * (exponent - 0.5 * u * u).exp();
    if u >= 0.0 { tail } else { 1.0 - tail }
}

/// Natural logarithm of the upper tail at `u`.
pub(super) fn ln_upper(u: f64) -> f64 {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    if u >= 0.0 {
        ln(0.5 * t) + exponent - 0.5 * u * u
    } else {
        ln(1.0 - 0.5 * t * (exponent - 0.5 * u * u).exp())
    }
}

/// The upper tail at `u`, and the density there divided by it.
pub(super) fn upper_and_hazard(u: f64) -> (f64, f64) {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    let bell = (-0.5 * u * u).exp();
    if u >= 0.0 {
        let scaled = 0.5 * t * exponent.exp();
        (scaled * bell, ONE_OVER_SQRT_2PI / scaled)
    } else {
        let upper = 1.0 - 0.5 * t * exponent.exp() * bell;
        (upper, ONE_OVER_SQRT_2PI * bell / upper)
    }
}

/// The point with probability `p` below it, 0 < p < 1.
///
/// Rational approximation of P. J. Acklam (2003), relative error below 1.2e-9.
pub(super) fn quantile(p: f64) -> f64 {
    const A: [f64; 6] = [
        -3.969_683_028_665_376e1,
        2.209_460_984_245_205e2,
        -2.759_285_104_469_687e2,
        1.383_577_518_672_69e2,
        -3.066_479_806_614_716e1,
        2.506_628_277_459_239,
    ];
    const B: [f64; 5] = [
        -5.447_609_879_822_406e1,
        1.615_858_368_580_409e2,
        -1.556_989_798_598_866e2,
        6.680_131_188_771_972e1,
        -1.328_068_155_288_572e1,
    ];
    const C: [f64; 6] = [
        -7.784_894_002_430_293e-3,
        -3.223_964_580_411_365e-1,
        -2.400_758_277_161_838,
        -2.549_732_539_343_734,
        4.374_664_141_464_968,
        2.938_163_982_698_783,
    ];
    const D: [f64; 4] = [
        7.784_695_709_041_462e-3,
        3.224_671_290_700_398e-1,
        2.445_134_137_142_996,
        3.754_408_661_907_416,
    ];
    const LOW: f64 = 0.024_25;
    let row = |terms: &[f64], x: f64| terms.iter().fold(0.0, |sum, term| sum * x + term);
    if p < LOW {
        let q = (-2.0 * p.max(1e-300).ln()).sqrt();
        return row(&C, q) / (row(&D, q) * q + 1.0);
    }
    if p > 1.0 - LOW {
        let q = (-2.0 * (1.0 - p).max(1e-300).ln()).sqrt();
        return -row(&C, q) / (row(&D, q) * q + 1.0);
    }
    let q = p - 0.5;
    let r = q * q;
    row(&A, r) * q / (row(&B, r) * r + 1.0)
}

/// A standard normal number.
pub(super) fn draw(random: &mut Random) -> f64 {
    quantile(random.unit() + 1.0 / (1_u64 << 54) as f64)
}

/// A number of Student's t distribution with 4 degrees of freedom: like a normal one in the middle, with heavy tails.
/// The sum of squares of four normal numbers is twice the sum of two exponential ones.
pub(super) fn draw_student_4(random: &mut Random) -> f64 {
    let z = draw(random);
    let exponential = |random: &mut Random| -(1.0 - random.unit()).ln();
    let half_squares = exponential(random) + exponential(random);
    z / (half_squares / 2.0).sqrt().max(1e-9)
}

/// A standard normal number above `least`.
pub(super) fn draw_above(random: &mut Random, least: f64) -> f64 {
    if least < -6.0 {
        return draw(random).max(least);
    }
    let u = random.unit() + 1.0 / (1_u64 << 54) as f64;
    if least > 30.0 {
        // So far out the tail is exponential to a part in a thousand.
        return least - u.ln() / least;
    }
    -quantile(u * upper(least))
}

/// An exponential number of mean 1.
pub(super) fn draw_exponential(random: &mut Random) -> f64 {
    -ln(random.unit() + 1.0 / (1_u64 << 54) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::special;

    /// Points of the table of Student's t (Fisher & Yates 1938): 1.533 leaves 10 % above it, 2.776 leaves 2.5 %.
    #[test]
    fn heavy_tails_are_those_of_student() {
        let mut random = Random::new(4);
        let n = 40_000;
        let (mut above_1533, mut above_2776) = (0, 0);
        for _ in 0..n {
            let t = draw_student_4(&mut random).abs();
            above_1533 += usize::from(t > 1.533);
            above_2776 += usize::from(t > 2.776);
        }
        let share = |n_above: usize| n_above as f64 / n as f64;
        // Four standard errors.
        assert!((share(above_1533) - 0.20).abs() < 0.008, "{above_1533}");
        assert!((share(above_2776) - 0.05).abs() < 0.0044, "{above_2776}");
    }

    #[test]
    fn fast_tails_and_points_agree_with_the_exact_ones() {
        for i in -80..=200 {
            let u = f64::from(i) / 10.0;
            let exact = special::normal_tails(u).1;
            assert!((ln_upper(u) - exact.ln()).abs() < 3e-7, "{u}");
            assert!((upper(u) / exact - 1.0).abs() < 3e-7, "{u}");
            let density = (-0.5 * u * u).exp() * ONE_OVER_SQRT_2PI;
            let hazard = upper_and_hazard(u).1;
            assert!((hazard * exact / density - 1.0).abs() < 3e-7, "{u}");
        }
        for p in [1e-12, 0.01, 0.2, 0.5, 0.9, 0.999] {
            assert!((quantile(p) + special::normal_upper(p)).abs() < 1e-8, "{p}");
        }
    }

    #[test]
    fn the_fast_logarithm_has_nine_digits() {
        let mut x = 1e-9;
        while x < 1e9 {
            assert!((ln(x) - f64::ln(x)).abs() < 2e-9, "{x}");
            x *= 1.003;
        }
    }

    #[test]
    fn numbers_above_a_point_have_the_mean_of_the_tail() {
        let mut random = Random::new(3);
        for least in [-8.0, -1.0, 0.0, 2.0, 6.0, 40.0] {
            let n = 20_000;
            let mut sum = 0.0;
            for _ in 0..n {
                let value = draw_above(&mut random, least);
                assert!(value >= least);
                sum += value;
            }
            // The mean of the tail is the hazard.
            let mean = if least > 30.0 {
                least + 1.0 / least
            } else {
                upper_and_hazard(least).1
            };
            assert!((sum / f64::from(n) - mean).abs() < 0.03, "{least}");
        }
    }
}
