//! What all tries say, on nurseries whose truth is known: how often *told apart* is ever said of equal groups, and how
//! often of groups that differ.
//!
//! A nursery has eight tries whose share differs from try to try by 0.5 in log odds (standard deviation). What all tries
//! say is read after each; while a try runs it says what it said before (`trial::result`, where a test reads it on every
//! day of a try), so that reading it every week adds nothing and is not simulated. Beside the test that is used stand the
//! plain pooled test, read as often, fixed parts of the error for each look, and the two e-processes.

use std::time::Instant;

use bloomdue_core::evidence::{Share, e_process, exact_conditional, logrank_e_process, over_tries, strata::Stratum};
use bloomdue_draws::{normal, random::Random};

use super::Soak;

/// Tries of a nursery.
const TRIES: usize = 8;
/// Standard deviation between tries, in log odds.
const BETWEEN: f64 = 0.5;
/// The level that is promised.
const ALPHA: f64 = 0.05;
/// The e-value that allows one false alarm in twenty.
const BOUND: f64 = 20.0;

/// How large groups are.
#[derive(Clone, Copy, PartialEq)]
enum Sizes {
    /// All alike.
    Alike(u32),
    /// So many in the first try; then three for the group that is behind and all others for the one ahead.
    Follow(u32),
}

/// After how many tries each way said told apart; nothing for never.
struct Found {
    used: Option<usize>,
    parts: Option<usize>,
    over_tables: Option<usize>,
    over_blocks: Option<usize>,
    /// The plain pooled test after each try, as if read only then.
    plain: [bool; TRIES],
}

/// The ways, for a row.
#[derive(Default)]
struct Row {
    n: f64,
    used: [f64; 2],
    parts: [f64; 2],
    over_tables: [f64; 2],
    over_blocks: [f64; 2],
    plain: [f64; 2],
    fixed: [f64; 2],
}

pub(crate) fn claims(soak: &Soak) -> bool {
    let mut ok = true;
    println!(
        "claims  told apart of 100 nurseries, ever after 4 and 8 tries: used | plain pooled test read after each | \
         fixed parts | e-process over tables | over blocks | one look fixed beforehand"
    );
    let sizes: &[u32] = if soak.quick { &[12] } else { &[6, 12, 20, 40] };
    let shares: &[f64] = if soak.quick { &[0.5] } else { &[0.3, 0.5, 0.7] };
    let n = if soak.quick { 1_000 } else { 10_000 };
    for size in sizes {
        for share in shares {
            ok &= row(soak, n, Sizes::Alike(*size), [*share, *share]);
        }
        ok &= row(soak, n, Sizes::Follow(*size), [0.5, 0.5]);
    }
    let apart: &[f64] = if soak.quick { &[0.3] } else { &[0.2, 0.3, 0.4] };
    for size in sizes {
        for apart in apart {
            row(soak, n / 5, Sizes::Alike(*size), [0.5 + apart / 2.0, 0.5 - apart / 2.0]);
        }
    }
    ok
}

/// One row; whether equal groups were told apart in 5 % at most, within two standard errors.
fn row(soak: &Soak, n: u64, sizes: Sizes, shares: [f64; 2]) -> bool {
    let start = Instant::now();
    let mut row = Row { n: n as f64, ..Row::default() };
    for found in soak.each(n, |seed| of_nursery(sizes, shares, 0x636c_6169_6d73 + seed)) {
        let by = |ways: &mut [f64; 2], at: Option<usize>| {
            ways[0] += f64::from(u8::from(at.is_some_and(|at| at <= TRIES / 2)));
            ways[1] += f64::from(u8::from(at.is_some()));
        };
        by(&mut row.used, found.used);
        by(&mut row.parts, found.parts);
        by(&mut row.over_tables, found.over_tables);
        by(&mut row.over_blocks, found.over_blocks);
        by(&mut row.plain, found.plain.iter().position(|apart| *apart).map(|before| before + 1));
        row.fixed[0] += f64::from(u8::from(found.plain[TRIES / 2 - 1]));
        row.fixed[1] += f64::from(u8::from(found.plain[TRIES - 1]));
    }
    let shown = |ways: [f64; 2]| ways.map(|times| format!("{:.1}", 100.0 * times / row.n)).join(" ");
    let of = match sizes {
        Sizes::Alike(n) => format!("{n:>2} a group"),
        Sizes::Follow(n) => format!("{n:>2} a group, then by what was seen"),
    };
    let equal = shares[0] == shares[1];
    let allowed = ALPHA + 2.0 * (ALPHA * (1.0 - ALPHA) / row.n).sqrt();
    let ok = !equal || row.used[1] / row.n <= allowed;
    println!(
        "claims  {of}, shares {:.2} and {:.2}: {} | {} | {} | {} | {} | {}{}  {:.0} s",
        shares[0],
        shares[1],
        shown(row.used),
        shown(row.plain),
        shown(row.parts),
        shown(row.over_tables),
        shown(row.over_blocks),
        shown(row.fixed),
        if ok { "" } else { "  ABOVE 1 IN 20" },
        start.elapsed().as_secs_f64()
    );
    ok
}

fn of_nursery(sizes: Sizes, shares: [f64; 2], seed: u64) -> Found {
    let mut random = Random::new(seed);
    let mut tries: Vec<Stratum> = Vec::new();
    let mut all = [(0_u32, 0_u32); 2];
    for _ in 0..TRIES {
        let season = BETWEEN * normal::draw(&mut random);
        let n = match sizes {
            Sizes::Follow(n) if !tries.is_empty() => {
                let share = |(x, n): (u32, u32)| f64::from(x) / f64::from(n);
                match share(all[0]).total_cmp(&share(all[1])) {
                    std::cmp::Ordering::Less => [3, 2 * n - 3],
                    std::cmp::Ordering::Equal => [n, n],
                    std::cmp::Ordering::Greater => [2 * n - 3, 3],
                }
            }
            Sizes::Alike(n) | Sizes::Follow(n) => [n, n],
        };
        let mut group = |at: usize| {
            let odds = (shares[at] / (1.0 - shares[at])).ln() + season;
            let chance = 1.0 / (1.0 + (-odds).exp());
            let x = (0..n[at]).filter(|_| random.unit() < chance).count() as u32;
            all[at] = (all[at].0 + x, all[at].1 + n[at]);
            Share::new(x, n[at]).expect("a share")
        };
        tries.push(Stratum { a: group(0), b: group(1) });
    }
    let each: Vec<Vec<Stratum>> = tries.iter().map(|one| vec![*one]).collect();
    let p: Vec<f64> = (1..=TRIES).map(|n| exact_conditional::two_sided(&tries[..n]).expect("a test").p).collect();
    let looks: Vec<_> = tries.iter().map(|one| logrank_e_process::Look { a: one.a, b: one.b }).collect();
    let blocks: Vec<_> = tries.iter().map(|one| e_process::Block { a: one.a, b: one.b }).collect();
    let grown = logrank_e_process::run(&looks).expect("evidence");
    let over_blocks = e_process::run(&blocks, e_process::Priors::DEFAULT).expect("evidence");
    let mut plain = [false; TRIES];
    for (apart, p) in plain.iter_mut().zip(&p) {
        *apart = *p <= ALPHA;
    }
    Found {
        used: over_tries::told_apart(&each, ALPHA).expect("a walk"),
        parts: (1..=TRIES).find(|n| over_tries::of_looks(&p[..*n]) <= ALPHA),
        over_tables: grown.iter().position(|one| one.running >= BOUND).map(|before| before + 1),
        over_blocks: e_process::first_reaching(&over_blocks, BOUND),
        plain,
    }
}
