//! How bulbs are spent, on nurseries whose truth is known: four tries, a choice, and two seasons more, for the advice
//! beside the rules of a notebook, Thompson sampling and who knows the truth (`plan::spend::simulate`).

use std::time::Instant;

use bloomdue_core::plan::spend::{
    beliefs::Points,
    simulate::{Played, Policy, World, play},
};

use super::Soak;

/// At so many bulbs a try the choice after the tries is asked to be good.
const CHOICE_AT: u32 = 24;
/// The part of what could be gained over what would be done anyway.
const GOOD: f64 = 0.85;

pub(crate) fn decide(soak: &Soak, row: Option<&str>) -> bool {
    println!(
        "decide  bulbs in time over six seasons (less than the advice, standard error); the choice after four tries, of \
         what could be gained"
    );
    let mut ok = true;
    let (sizes, ways): (&[u32], &[usize]) =
        if soak.quick { (&[CHOICE_AT], &[4]) } else { (&[12, CHOICE_AT, 60], &[3, 4]) };
    for world in World::ALL {
        for n_bulbs in sizes {
            for n_ways in ways {
                if row.is_none_or(|row| row == format!("{world:?}/{n_bulbs}")) {
                    ok &= of_row(soak, world, *n_bulbs, *n_ways);
                }
            }
        }
    }
    ok
}

fn of_row(soak: &Soak, world: World, n_bulbs: u32, n_ways: usize) -> bool {
    let start = Instant::now();
    let points = Points::new();
    let of_one = |seed: u64| {
        let of = |policy| play(world, n_ways, n_bulbs, policy, &points, 0x6465_6369_6465 + seed);
        Policy::ALL.map(of)
    };
    let all: Vec<[Played; Policy::ALL.len()]> = soak.each(soak.n(1_000), of_one);
    let n = all.len() as f64;
    let mut ok = true;
    let mut said = Vec::new();
    for (at, policy) in Policy::ALL.into_iter().enumerate() {
        let mean = all.iter().map(|played| played[at].in_time).sum::<f64>() / n;
        let less: Vec<f64> = all.iter().map(|played| played[0].in_time - played[at].in_time).collect();
        let (less, error) = mean_and_error(&less);
        let could: f64 = all.iter().map(|played| played[at].could_be_gained).sum();
        let gained = all.iter().map(|played| played[at].gained).sum::<f64>() / could.max(1e-9);
        let chosen = if world == World::Equal { "–".to_owned() } else { format!("{gained:.2}") };
        let is_held = !policy.is_of_a_notebook() || less >= -2.0 * error;
        ok &= is_held;
        let mut text = match at {
            0 => format!("{policy:?} {mean:.1}; {chosen}"),
            _ => format!("{policy:?} {mean:.1} ({less:.2}, {error:.2}); {chosen}"),
        };
        if !is_held {
            text.push_str(" MORE THAN THE ADVICE");
        }
        if at == 0 && n_bulbs == CHOICE_AT && world != World::Equal && gained < GOOD {
            text.push_str(&format!(" (below {GOOD})"));
        }
        said.push(text);
    }
    println!(
        "decide  {world:?}, {n_bulbs} bulbs, {n_ways} ways: {}  {:.0} s",
        said.join(" | "),
        start.elapsed().as_secs_f64()
    );
    ok
}

fn mean_and_error(of: &[f64]) -> (f64, f64) {
    let n = of.len().max(2) as f64;
    let mean = of.iter().sum::<f64>() / n;
    let variance = of.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, (variance / n).sqrt())
}
