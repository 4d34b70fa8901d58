//! `cargo xtask attack [--files N] [--seed S] [--quick]`: hostile files, taken in as the app takes them in.
//!
//! First every costly shape, then files whose records were changed at random and hashed again, so that they verify and
//! say what nobody would write; some also with bytes changed. No file may stop the program, take longer than
//! [`SECONDS_PER_MB`] or more memory than [`BYTES_PER_BYTE`] allows. What fails is kept under `target/attack`.
//! With `--quick`, as a tier of the test, nothing is timed: there a file fails only when it never ends.

#[path = "../simulation/bodies.rs"]
mod bodies;
#[path = "../simulation/make.rs"]
#[allow(dead_code, reason = "shared with the simulation, which uses all of it")]
mod make;
mod mutate;
mod shapes;

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::atomic::{AtomicU64, Ordering},
    time::{Duration, Instant},
};

use peak_alloc::PeakAlloc;

use shapes::take_in;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// Time a file may take, for each MB and at least.
const SECONDS_PER_MB: f64 = 1.0;

/// However small a file is.
const SECONDS_FLOOR: f64 = 1.0;

/// Memory a file may take, for each of its bytes.
const BYTES_PER_BYTE: usize = 40;

/// However small a file is.
const BYTES_FLOOR: usize = 64 * 1024 * 1024;

/// A file that takes so long is given up, and the attack with it.
const GIVE_UP: Duration = Duration::from_secs(120);

/// Number of the file under way, and when it was begun, in ms since the start.
static AT: AtomicU64 = AtomicU64::new(0);
static BEGUN_MS: AtomicU64 = AtomicU64::new(0);

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let value = |name: &str| -> Option<u64> {
        let at = words.iter().position(|word| word == name)?;
        words.get(at + 1)?.parse().ok()
    };
    let quick = words.iter().any(|word| word == "--quick");
    let n_files = value("--files").unwrap_or(if quick { 3000 } else { 200_000 });
    let seed = value("--seed").unwrap_or(1);
    let start = Instant::now();
    std::thread::spawn(move || watch(start));
    // A line for each, without a trace, which would bury the summary.
    std::panic::set_hook(Box::new(|panic| println!("{panic}")));
    let mut attack = Attack { is_timed: !quick, ..Attack::default() };
    let size = if quick { 2000 } else { 50_000 };
    for shape in shapes::shapes(size) {
        let took = attack.file(start, 0, shape.cause, shape.file.as_bytes());
        println!("{took} {}", shape.cause);
    }
    println!("== worst of the shapes: {}", attack.worst());
    attack.slowest = None;
    attack.largest = None;
    let mutator = mutate::Mutator::new();
    for n in 0..n_files {
        let seed = seed.wrapping_add(n);
        let file = mutator.file(seed);
        attack.file(start, seed, "mutated", &file);
        if (n + 1) % 10_000 == 0 {
            println!("{} files, {} failed, {}", n + 1, attack.n_failed, attack.worst());
        }
    }
    println!("== worst of {n_files} mutated files: {}", attack.worst());
    println!(
        "== {} read, {} refused, {} failed, {:.0} s",
        attack.n_read,
        attack.n_refused,
        attack.n_failed,
        start.elapsed().as_secs_f64()
    );
    if attack.n_failed > 0 {
        std::process::exit(1);
    }
}

/// Ends the attack when a file takes too long, and says which.
fn watch(start: Instant) {
    loop {
        std::thread::sleep(Duration::from_secs(1));
        let begun = Duration::from_millis(BEGUN_MS.load(Ordering::Relaxed));
        if start.elapsed().saturating_sub(begun) > GIVE_UP {
            println!("seed {} is given up after {GIVE_UP:?}", AT.load(Ordering::Relaxed));
            std::process::exit(1);
        }
    }
}

/// What a file cost.
#[derive(Clone)]
struct Took {
    seed: u64,
    n_bytes: usize,
    seconds: f64,
    n_allocated: usize,
}

impl std::fmt::Display for Took {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{:9.3} MB {:7.3} s {:7.1} MB of memory, seed {}",
            self.n_bytes as f64 / 1e6,
            self.seconds,
            self.n_allocated as f64 / 1e6,
            self.seed
        )
    }
}

#[derive(Default)]
struct Attack {
    /// Whether a slow file fails.
    is_timed: bool,
    n_read: usize,
    n_refused: usize,
    n_failed: usize,
    slowest: Option<Took>,
    largest: Option<Took>,
}

impl Attack {
    /// Takes a file in, and notes what that cost and whether it may.
    fn file(&mut self, start: Instant, seed: u64, cause: &str, file: &[u8]) -> Took {
        AT.store(seed, Ordering::Relaxed);
        BEGUN_MS.store(start.elapsed().as_millis() as u64, Ordering::Relaxed);
        MEMORY.reset_peak_usage();
        let before = MEMORY.current_usage();
        let begun = Instant::now();
        let done = catch_unwind(AssertUnwindSafe(|| {
            take_in(file).map(|taken| {
                let n_kept = taken.ledger.len() - taken.preview.new.len();
                // One more, which was written down here.
                n_kept == 1
                    && taken.next_line > 0
                    && taken.n_due <= taken.ledger.len()
                    && taken.state.bulbs.values().all(|bulb| !bulb.cycles.is_empty())
            })
        }));
        let took = Took {
            seed,
            n_bytes: file.len(),
            seconds: begun.elapsed().as_secs_f64(),
            n_allocated: MEMORY.peak_usage().saturating_sub(before),
        };
        let mut problems = Vec::new();
        match done {
            Ok(Ok(true)) => self.n_read += 1,
            Ok(Ok(false)) => problems.push("records are lost".to_owned()),
            Ok(Err(_)) => self.n_refused += 1,
            Err(panic) => {
                let said = panic.downcast_ref::<String>().cloned();
                let said = said.or(panic.downcast_ref::<&str>().map(|said| (*said).to_owned()));
                problems.push(format!("panicked: {}", said.unwrap_or_default()));
            }
        }
        if self.is_timed && took.seconds > SECONDS_FLOOR + took.n_bytes as f64 / 1e6 * SECONDS_PER_MB {
            problems.push("slow".to_owned());
        }
        if took.n_allocated > BYTES_FLOOR + took.n_bytes * BYTES_PER_BYTE {
            problems.push("large".to_owned());
        }
        if !problems.is_empty() {
            self.n_failed += 1;
            println!("FAILED {cause}: {}; {took}", problems.join(", "));
            keep(&format!("{cause}-{seed}.bloomdue.json"), file);
        }
        let more =
            |known: &Option<Took>, of: fn(&Took) -> f64| known.as_ref().is_none_or(|known| of(known) < of(&took));
        if more(&self.slowest, |took| took.seconds) {
            self.slowest = Some(took.clone());
        }
        if more(&self.largest, |took| took.n_allocated as f64) {
            self.largest = Some(took.clone());
        }
        took
    }

    fn worst(&self) -> String {
        let said = |took: &Option<Took>| took.as_ref().map_or_else(String::new, Took::to_string);
        format!("slowest {}; largest {}", said(&self.slowest), said(&self.largest))
    }
}

/// Keeps a file that failed, to be looked at.
fn keep(name: &str, file: &[u8]) {
    let folder = std::path::Path::new("target/attack");
    let kept = std::fs::create_dir_all(folder).and_then(|()| std::fs::write(folder.join(name), file));
    if let Err(why) = kept {
        println!("it could not be kept: {why}");
    }
}
