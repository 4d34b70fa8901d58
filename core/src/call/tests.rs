//! The key against worlds of invented shoots whose answers go together within groups.

use super::{
    key::{Situation, read},
    likelihood::{Proved, Table},
    simulate::{World, shoots},
};
use crate::{calendar::Date, ledger::body::ShootKind};

fn chance(table: &Table, one: &Proved) -> f64 {
    let today: Date = "2027-11-22".parse().unwrap();
    let situation = Situation {
        leaves_show: true,
        height_mm: one.height_mm,
        days_since_first_look: Some(4),
        size_known: true,
        expected_permille: None,
    };
    f64::from(read(table, &situation, &one.answers, today).unwrap().stalk_permille) / 1000.0
}

/// Mean squared distance of what was said and what it was (Brier 1950).
fn brier(said: &[(f64, bool)]) -> f64 {
    said.iter().map(|(p, stalk)| (p - f64::from(u8::from(*stalk))).powi(2)).sum::<f64>() / said.len() as f64
}

/// Slope of a logistic regression of what it was on the log odds that were said (Cox 1958, Biometrika 45:562); 1 when
/// chances are neither too bold nor too timid. Newton's method on slope and intercept.
fn calibration_slope(said: &[(f64, bool)]) -> f64 {
    let (mut a, mut b) = (0.0_f64, 1.0_f64);
    for _ in 0..50 {
        let (mut g, mut h) = ([0.0; 2], [0.0; 3]);
        for (p, stalk) in said {
            let x = (p / (1.0 - p)).ln();
            let fitted = 1.0 / (1.0 + (-(a + b * x)).exp());
            let (off, weight) = (f64::from(u8::from(*stalk)) - fitted, fitted * (1.0 - fitted));
            g = [g[0] + off, g[1] + off * x];
            h = [h[0] + weight, h[1] + weight * x, h[2] + weight * x * x];
        }
        let det = h[0] * h[2] - h[1] * h[1];
        a += (h[2] * g[0] - h[1] * g[1]) / det;
        b += (h[0] * g[1] - h[1] * g[0]) / det;
    }
    b
}

/// Worlds where characters tell less or more than believed, and where some tell the wrong way: after 50 proofs the key
/// says more than the weak table did, over 20 nurseries of each, and neither too boldly nor too timidly. Where the weak
/// table happens to be the truth nothing is left to learn, and what 50 shoots show by chance costs a little.
#[test]
fn after_fifty_proofs_the_key_is_at_least_as_good_as_the_weak_table_and_calibrated() {
    let start = Table::start();
    for (name, least, most) in [("as believed", 1.0, 1.0), ("less", 0.3, 1.0), ("more", 1.0, 3.0), ("mixed", -0.5, 2.5)]
    {
        let (mut before, mut after) = (Vec::new(), Vec::new());
        let (mut power, mut scale) = (0.0, 0.0);
        for seed in 0..20 {
            let world = World::other(&start, least, most, seed);
            let learned = Table::learned(&shoots(&world, 50, 1000 + seed));
            power += learned.power / 20.0;
            scale += learned.scale / 20.0;
            for one in shoots(&world, 250, 2000 + seed) {
                let stalk = one.kind == ShootKind::Scape;
                before.push((chance(&start, &one), stalk));
                after.push((chance(&learned, &one), stalk));
            }
        }
        let (weak, now, slope) = (brier(&before), brier(&after), calibration_slope(&after));
        println!(
            "{name}: Brier {weak:.4} before, {now:.4} after; slope {slope:.3}; power {power:.2}, scale {scale:.2}"
        );
        let nothing_to_learn = if name == "as believed" { 0.007 } else { 0.0 };
        assert!(now <= weak + nothing_to_learn, "{name}: {now} {weak}");
        assert!((0.8..=1.25).contains(&slope), "{name}: {slope}");
    }
}
