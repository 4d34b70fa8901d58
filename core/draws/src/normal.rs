//! The normal distribution, fast: seven digits are enough where the numbers are drawn by chance anyway.

use std::f64::consts::SQRT_2;

use crate::random::Random;

const ONE_OVER_SQRT_2PI: f64 = 0.398_942_280_401_432_7;

/// Natural logarithm of a normal positive number, to nine digits: the exponent, and 2 artanh((m − 1) / (m + 1)) of the
/// mantissa m in [√½, √2) by its series. It is called a million times a forecast.
pub fn ln(x: f64) -> f64 {
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

/// e to the power of `x`, to ten digits: the power of two, and the series of the rest, at most half of ln 2. What would
/// be beyond 1e±300 is taken as that.
pub fn exp(x: f64) -> f64 {
    /// One and a half times 2^52: added, it rounds to a whole number, which then stands in the lowest bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    let rounded = x.clamp(-690.0, 690.0) * std::f64::consts::LOG2_E + ROUND;
    let power = rounded.to_bits() << 52;
    let rest = x.clamp(-690.0, 690.0) - (rounded - ROUND) * std::f64::consts::LN_2;
    const TERMS: [f64; 8] = [1.0 / 40_320.0, 1.0 / 5_040.0, 1.0 / 720.0, 1.0 / 120.0, 1.0 / 24.0, 1.0 / 6.0, 0.5, 1.0];
    let series = TERMS.iter().fold(0.0, |sum, term| sum * rest + term) * rest + 1.0;
    f64::from_bits(series.to_bits().wrapping_add(power))
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
pub fn upper(u: f64) -> f64 {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    let tail = 0.5 * t * exp(exponent - 0.5 * u * u);
    if u >= 0.0 { tail } else { 1.0 - tail }
}

/// Natural logarithm of the upper tail at `u`.
pub fn ln_upper(u: f64) -> f64 {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    if u >= 0.0 { ln(0.5 * t) + exponent - 0.5 * u * u } else { ln(1.0 - 0.5 * t * exp(exponent - 0.5 * u * u)) }
}

/// A table of [`ln_upper`] and [`upper`], several times as fast: where bulbs wait, it is asked again and again.
#[derive(Debug)]
pub struct Tails(Vec<[Node; 2]>);

/// Value and slope.
type Node = [f64; 2];

/// Entries of [`Tails`] for 1 of `u`.
const EACH: f64 = 16.0;
/// Below −[`FAR`] the tail is all there is; above it the table ends.
const FAR: f64 = 8.0;

/// The one table.
pub fn tails() -> &'static Tails {
    static TAILS: std::sync::LazyLock<Tails> = std::sync::LazyLock::new(|| {
        let nodes = (0..=(2.0 * FAR * EACH) as usize).map(|n| n as f64 / EACH - FAR);
        let entry = |u: f64| {
            let (upper, hazard) = upper_and_hazard(u);
            [[ln_upper(u), -hazard / EACH], [upper, -upper * hazard / EACH]]
        };
        Tails(nodes.map(entry).collect())
    });
    &TAILS
}

impl Tails {
    /// [`ln_upper`] by cubic interpolation, which adds an error below 1e-7.
    pub fn ln_upper(&self, u: f64) -> f64 {
        if u <= -FAR {
            return 0.0;
        }
        self.between(u, 0).unwrap_or_else(|| ln_upper(u))
    }

    /// [`upper`] in the same way; in the far tail to a part in a thousand.
    pub fn upper(&self, u: f64) -> f64 {
        if u <= -FAR {
            return 1.0;
        }
        self.between(u, 1).unwrap_or_else(|| upper(u))
    }

    #[inline]
    fn between(&self, u: f64, which: usize) -> Option<f64> {
        let place = (u + FAR) * EACH;
        let n = place as usize;
        let [left, right] = self.0.get(n..n + 2)?.first_chunk()?;
        let ([a, slope_a], [b, slope_b]) = (left[which], right[which]);
        let t = place - n as f64;
        let rest = 1.0 - t;
        let chord = b - a;
        Some(a + t * (chord + rest * (rest * (slope_a - chord) + t * (chord - slope_b))))
    }
}

/// The upper tail at `u`, and the density there divided by it.
pub fn upper_and_hazard(u: f64) -> (f64, f64) {
    let (t, exponent) = erfc_parts(u.abs() / SQRT_2);
    let bell = exp(-0.5 * u * u);
    if u >= 0.0 {
        let scaled = 0.5 * t * exp(exponent);
        (scaled * bell, ONE_OVER_SQRT_2PI / scaled)
    } else {
        let upper = 1.0 - 0.5 * t * exp(exponent) * bell;
        (upper, ONE_OVER_SQRT_2PI * bell / upper)
    }
}

/// The point with probability `p` below it, 0 < p < 1.
///
/// Rational approximation of P. J. Acklam (2003), relative error below 1.2e-9.
pub fn quantile(p: f64) -> f64 {
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
    const D: [f64; 4] =
        [7.784_695_709_041_462e-3, 3.224_671_290_700_398e-1, 2.445_134_137_142_996, 3.754_408_661_907_416];
    const LOW: f64 = 0.024_25;
    let row = |terms: &[f64], x: f64| terms.iter().fold(0.0, |sum, term| sum * x + term);
    if p < LOW {
        let q = (-2.0 * ln(p.max(1e-300))).sqrt();
        return row(&C, q) / (row(&D, q) * q + 1.0);
    }
    if p > 1.0 - LOW {
        let q = (-2.0 * ln((1.0 - p).max(1e-300))).sqrt();
        return -row(&C, q) / (row(&D, q) * q + 1.0);
    }
    let q = p - 0.5;
    let r = q * q;
    row(&A, r) * q / (row(&B, r) * r + 1.0)
}

/// A standard normal number.
pub fn draw(random: &mut Random) -> f64 {
    quantile(random.unit() + 1.0 / (1_u64 << 54) as f64)
}

/// A number of Student's t distribution with 4 degrees of freedom: like a normal one in the middle, with heavy tails.
/// The sum of squares of four normal numbers is twice the sum of two exponential ones.
pub fn draw_student_4(random: &mut Random) -> f64 {
    let z = draw(random);
    let exponential = |random: &mut Random| -ln(1.0 - random.unit());
    let half_squares = exponential(random) + exponential(random);
    z / (half_squares / 2.0).sqrt().max(1e-9)
}

/// A standard normal number above `least`.
pub fn draw_above(random: &mut Random, least: f64) -> f64 {
    if least < -6.0 {
        return draw(random).max(least);
    }
    let u = random.unit() + 1.0 / (1_u64 << 54) as f64;
    if least > 30.0 {
        // So far out the tail is exponential to a part in a thousand.
        return least - ln(u) / least;
    }
    -quantile(u * upper(least))
}

/// An exponential number of mean 1.
pub fn draw_exponential(random: &mut Random) -> f64 {
    -ln(random.unit() + 1.0 / (1_u64 << 54) as f64)
}
