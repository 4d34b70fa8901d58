//! Times the work of `bloomdue_core::speed`: `speed tables` prints its input, `speed NAME …` the milliseconds of each.

use bloomdue_core::speed::{NAMES, Work, intervals, tables};
use std::time::{Duration, Instant};

/// The least of so many readings counts.
const READINGS: usize = 5;

/// A reading lasts at least so long.
const READING: Duration = Duration::from_millis(40);

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if words.first().is_some_and(|word| word == "tables") {
        let ends = |[left, right]: [f64; 2]| serde_json::json!([left, right.is_finite().then_some(right)]);
        let intervals: Vec<_> = intervals().into_iter().map(ends).collect();
        println!("{}", serde_json::json!({ "tables": tables(), "intervals": intervals }));
        return;
    }
    let names: Vec<&str> = if words.is_empty() { NAMES.to_vec() } else { words.iter().map(String::as_str).collect() };
    let mut said = serde_json::Map::new();
    for name in names {
        if let Some(work) = Work::new(name) {
            said.insert(name.to_owned(), least_ms(&work).into());
        }
    }
    println!("{}", serde_json::Value::Object(said));
}

fn least_ms(work: &Work) -> f64 {
    let mut sum = work.once();
    let reading = |_| {
        let start = Instant::now();
        let mut passes = 0;
        while start.elapsed() < READING {
            sum += std::hint::black_box(work.once());
            passes += 1;
        }
        start.elapsed().as_secs_f64() * 1e3 / f64::from(passes)
    };
    let least = (0..READINGS).map(reading).fold(f64::INFINITY, f64::min);
    std::hint::black_box(sum);
    least
}
