//! The long checks of forecast and plan: `cargo xtask soak [--quick]`.

use std::collections::BTreeMap;
use std::time::Instant;

use bloomdue_core::forecast::simulate::{Chance, Shape, World, held, invent, ranks, uniformity};
use bloomdue_core::forecast::{Effort, fit, fit_with};

/// Draws that a rank is among.
const RANK_DRAWS: usize = 99;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let quick = words.iter().any(|word| word == "--quick");
    let only = words.iter().find(|word| !word.starts_with("--")).cloned();
    let wanted = |name: &str| only.as_ref().is_none_or(|only| only == name);
    let mut ok = true;
    if wanted("calibration") {
        ok &= calibration(if quick { 200 } else { 1000 });
    }
    if wanted("bands") {
        ok &= bands(if quick { 200 } else { 1000 });
    }
    if wanted("speed") {
        speed();
    }
    if !ok {
        std::process::exit(1);
    }
}

/// Simulation-based calibration: ranks of the truth among the draws are uniform.
fn calibration(n: u64) -> bool {
    let start = Instant::now();
    let mut chance = Chance::new(1);
    let mut all: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let effort = Effort {
        n_chains: 1,
        n_settling: 250,
        n_kept: 990,
    };
    for seed in 0..n {
        let mut shape = Shape::of([12, 24, 60][seed as usize % 3]);
        shape.elapsed_days = [20, 32, 45, 60][seed as usize % 4];
        shape.marks_fit = seed % 5 != 0;
        let invented = invent(&shape, World::Model, 7_000 + seed);
        let fitted = fit_with(&invented.data, seed, effort, |_| true).expect("a fit");
        for rank in ranks(&invented, &fitted, RANK_DRAWS, &mut chance) {
            all.entry(rank.what).or_default().push(rank.rank);
        }
    }
    let mut least = 1.0_f64;
    for (what, ranks) in &all {
        let (chi_square, p) = uniformity(ranks, RANK_DRAWS, 10);
        println!("calibration  {what:<24} chi-square(9) {chi_square:5.1}  p {p:.4}");
        least = least.min(p);
    }
    // Several numbers are looked at: Holm's first step at one in a hundred.
    let ok = least > 0.01 / all.len() as f64;
    println!(
        "calibration  {n} nurseries, {:.0} s: {}",
        start.elapsed().as_secs_f64(),
        if ok {
            "ranks are uniform"
        } else {
            "RANKS ARE NOT UNIFORM"
        }
    );
    ok
}

/// 80 % bands under the model and under worlds that are not the model.
fn bands(n: u64) -> bool {
    let mut ok = true;
    for world in [World::Model, World::Gamma, World::WarmSpell, World::Shock] {
        for n_bulbs in [12, 60, 300] {
            let start = Instant::now();
            let (mut came, mut within, mut widths) = (0, 0, Vec::new());
            let (mut counts, mut places) = (0_u32, [0_u32; 3]);
            let mut chance = Chance::new(2);
            let times = if n_bulbs == 300 { n.div_ceil(4) } else { n };
            for seed in 0..times {
                let mut shape = Shape::of(n_bulbs);
                shape.elapsed_days = [20, 32, 45][seed as usize % 3];
                let invented = invent(&shape, world, 90_000 + seed);
                let effort = Effort {
                    n_chains: 1,
                    n_settling: 150,
                    n_kept: 400,
                };
                let fitted = fit_with(&invented.data, seed, effort, |_| true).expect("a fit");
                let held = held(&invented, &fitted, &mut chance);
                came += held.dates.0;
                within += held.dates.1;
                widths.extend(held.widths);
                counts += u32::from(held.count);
                let place =
                    usize::from(held.count_place > 0.1) + usize::from(held.count_place > 0.9);
                places[place] += 1;
            }
            widths.sort_unstable();
            let share = 100.0 * within as f64 / came.max(1) as f64;
            let middle = 100.0 * f64::from(places[1]) / times as f64;
            let held = (70.0..=90.0).contains(&share) && (70.0..=90.0).contains(&middle);
            ok &= held;
            println!(
                "bands  {world:?} {n_bulbs:>3} bulbs: next stage {share:.1} % of {came}, median width {} days; \
                 number in flower {middle:.1} % (whole numbers {:.1} %){}  {:.0} s",
                widths.get(widths.len() / 2).unwrap_or(&0),
                100.0 * f64::from(counts) / times as f64,
                if held { "" } else { "  OUTSIDE 70 TO 90 %" },
                start.elapsed().as_secs_f64()
            );
        }
    }
    ok
}

/// How long a fit of 300 waiting bulbs and four past tries of 60 takes here.
fn speed() {
    let mut shape = Shape::of(1500);
    (shape.n_tries, shape.n_treatments, shape.n_lots) = (5, 4, 4);
    shape.elapsed_days = 25;
    let mut data = invent(&shape, World::Model, 5).data;
    let (mut kept, most) = ([0; 5], [60, 60, 60, 60, 300]);
    data.courses.retain(|course| {
        let attempt = course.attempt.unwrap_or(0) as usize;
        kept[attempt] += 1;
        kept[attempt] <= most[attempt]
    });
    let start = Instant::now();
    let fitted = fit(&data, 1, |_| true).expect("a fit");
    println!(
        "speed  {:.0} ms, {:?}",
        start.elapsed().as_secs_f64() * 1e3,
        fitted.sampling
    );
}
