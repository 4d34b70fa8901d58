//! The fast arithmetic of `bloomdue-draws` against the exact one.

use bloomdue_draws::{normal::*, random::Random};

use crate::evidence::special;

const ONE_OVER_SQRT_2PI: f64 = 0.398_942_280_401_432_7;

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
    for i in -800..=2000 {
        let u = f64::from(i) / 100.0;
        let exact = special::normal_tails(u).1;
        assert!((ln_upper(u) - exact.ln()).abs() < 3e-7, "{u}");
        assert!((upper(u) / exact - 1.0).abs() < 3e-7, "{u}");
        let table = tails();
        // The table begins at -8, where the tail is all but everything.
        assert!((table.ln_upper(u) - exact.ln()).abs() < 5e-7, "{u}");
        let from_table = table.upper(u);
        assert!((from_table - exact).abs() < 3e-7, "{u}");
        assert!((from_table / exact - 1.0).abs() < 1e-3, "{u}");
        let density = (-0.5 * u * u).exp() * ONE_OVER_SQRT_2PI;
        let hazard = upper_and_hazard(u).1;
        assert!((hazard * exact / density - 1.0).abs() < 3e-7, "{u}");
    }
    for p in [1e-12, 0.01, 0.2, 0.5, 0.9, 0.999] {
        assert!((quantile(p) + special::normal_upper(p)).abs() < 1e-8, "{p}");
    }
}

#[test]
fn the_fast_exponential_has_nine_digits() {
    let mut x = -650.0;
    while x < 650.0 {
        assert!((exp(x) / f64::exp(x) - 1.0).abs() < 1e-9, "{x}");
        x += 0.037;
    }
    assert!(exp(-1e9) < 1e-290 && exp(1e9) > 1e290);
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
        let mean = if least > 30.0 { least + 1.0 / least } else { upper_and_hazard(least).1 };
        assert!((sum / f64::from(n) - mean).abs() < 0.03, "{least}");
    }
}
