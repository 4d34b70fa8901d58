//! Rows of the evidence: the same tables natively, in Chromium and by general-purpose libraries, as ratios in one run.
//!
//! What is timed is `bloomdue_core::speed`; the libraries are asked by `scripts/outside/speed.py` in the environment
//! that `cargo xtask outside` makes. Without it, or without R, their rows say that nothing was measured.

use super::{Bound, Found, Measured};
use crate::outside;
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Scratch, Screen, Server};
use serde_json::Value;
use std::io::Write;
use std::process::{Command, Stdio};
use xtask::system::{cargo, has_program, must, root, target_dir};

/// A library has to be so many times slower.
const TIMES: f64 = 10.0;

/// Everything a results page says of a season has to be there within this, in the browser.
const SEASON_MS: f64 = 50.0;

/// What to expect of 300 bulbs has to be there within this, in the browser.
const FORECAST_MS: f64 = 1_000.0;

/// A plan has to be there within this once the fit is.
const PLAN_MS: f64 = 200.0;

/// What is held to a time in the browser: the name of the work, what it is, and the time.
const WITHIN: [(&str, &str, f64); 3] = [
    ("season", "all that is said of 200 bulbs, 6 groups, 4 tries", SEASON_MS),
    ("forecast", "forecast 300 waiting, over 4 past tries", FORECAST_MS),
    ("plan", "plan after it, with the nearest that can be met", PLAN_MS),
];

/// What is compared with a library: the name of the work, what it is, and what it is compared with.
const COMPARED: [(&str, &str, &str); 11] = [
    ("fisher", "Fisher, 200 tables", "SciPy fisher_exact"),
    ("boschloo", "Boschloo, 200 tables", "SciPy boschloo_exact"),
    ("barnard", "Barnard, 200 tables", "SciPy barnard_exact"),
    ("exact_conditional", "exact conditional, 200 times 4 tries", "SciPy hypergeom, convolved"),
    ("freeman_halton", "Freeman–Halton, 200 times 4 groups", "SciPy fisher_exact, Monte Carlo"),
    ("trend", "exact trend, 200 times 4 groups", "NumPy, the same sums convolved"),
    ("wilson", "Wilson, 200 shares", "statsmodels proportion_confint"),
    ("clopper_pearson", "Clopper–Pearson, 200 shares", "statsmodels proportion_confint"),
    ("newcombe", "Newcombe, 200 tables", "statsmodels confint_proportions_2indep"),
    ("miettinen_nurminen", "Miettinen–Nurminen, 200 tables", "statsmodels confint_proportions_2indep"),
    ("power", "exact power of Fisher, 20 designs", "SciPy fisher_exact in a loop"),
];

/// What R is compared with as well, where it is there.
const COMPARED_WITH_R: [(&str, &str, &str); 3] = [
    ("fisher", "Fisher, 200 tables", "R fisher.test"),
    ("exact_conditional", "exact conditional, 200 times 4 tries", "R mantelhaen.test"),
    ("freeman_halton", "Freeman–Halton, 200 times 4 groups", "R fisher.test"),
];

/// What is only reported.
const REPORTED: [(&str, &str); 4] = [
    ("turnbull", "Turnbull's curve, 1,000 bulbs"),
    ("interval_scores", "interval scores permuted, 12 against 12 bulbs"),
    ("random_effects", "REML with Hartung and Knapp, 8 tries"),
    ("hierarchical", "hierarchical model with its prediction, 4 tries"),
];

/// Milliseconds by the name of the work.
struct Times(Option<Value>);

impl Times {
    fn ms(&self, name: &str) -> Option<f64> {
        self.0.as_ref()?[name].as_f64()
    }
}

/// All rows, measured in one run.
///
/// # Errors
///
/// When core cannot be built or timed; a library that is not there is none.
pub(super) fn rows(probe: &Server) -> Result<Vec<Found>> {
    let program = build()?;
    let tables = said(Command::new(&program).arg("tables"))?;
    let native = Times(Some(said(&mut Command::new(&program))?));
    let wasm = Times(Some(in_browser(probe)?));
    let (python, r) = (Times(by_python(&tables)?), Times(by_r(&tables)?));
    let mut found = Vec::new();
    for (compared, library) in [(&COMPARED[..], &python), (&COMPARED_WITH_R[..], &r)] {
        for (name, what, against) in compared {
            for (place, own) in [("native", &native), ("wasm", &wasm)] {
                found.push(Found {
                    what: format!("{what}, {place}, against {against}"),
                    measured: ratio(library, own, name),
                });
            }
        }
    }
    for (name, what, most_ms) in WITHIN {
        for (place, own) in [("native", &native), ("wasm", &wasm)] {
            let bound = if place == "wasm" { Bound::AtMost(most_ms) } else { Bound::None };
            let place = match (place, name) {
                ("wasm", "forecast" | "plan") => "wasm in the worker",
                _ => place,
            };
            found.push(Found { what: format!("{what}, {place}"), measured: time(own, name, bound) });
        }
    }
    for (name, what) in REPORTED {
        for (place, own) in [("native", &native), ("wasm", &wasm)] {
            found.push(Found { what: format!("{what}, {place}"), measured: time(own, name, Bound::None) });
        }
    }
    Ok(found)
}

fn ratio(library: &Times, own: &Times, name: &str) -> Option<Measured> {
    Some(Measured { value: library.ms(name)? / own.ms(name)?, bound: Bound::AtLeast(TIMES), unit: "times" })
}

fn time(own: &Times, name: &str, bound: Bound) -> Option<Measured> {
    Some(Measured { value: own.ms(name)?, bound, unit: "ms" })
}

/// Builds the program that times core natively.
fn build() -> Result<std::path::PathBuf> {
    must(cargo().args([
        "build",
        "--quiet",
        "--release",
        "--package",
        "bloomdue-core",
        "--features",
        "testing",
        "--example",
        "speed",
    ]))?;
    Ok(target_dir().join("release/examples/speed"))
}

/// The JSON that a program prints, on its last line.
fn said(command: &mut Command) -> Result<Value> {
    let output = command.stderr(Stdio::inherit()).output()?;
    ensure!(output.status.success(), "{command:?} failed");
    // A program may greet before it answers.
    let text = String::from_utf8_lossy(&output.stdout);
    let last = text.trim_end().lines().last().unwrap_or_default();
    serde_json::from_str(last).with_context(|| format!("what {command:?} printed"))
}

/// The same work in Chromium, by the app as it is built for growers but for the probe.
fn in_browser(server: &Server) -> Result<Value> {
    let profile = Scratch::new("bench-evidence")?;
    let mut browser = Browser::launch(profile.path(), Screen::phone())?;
    browser.open(&format!("{}#/probe", server.address()))?;
    browser.wait_until("window.bloomdueProbe")?;
    let mut times = serde_json::Map::new();
    let names = COMPARED.iter().map(|(name, ..)| *name);
    let names = names.chain(REPORTED.iter().map(|(name, _)| *name)).chain(["season"]);
    for name in names {
        // What is held to an absolute time must not be decided by other programs on the machine.
        let held = WITHIN.iter().any(|(held, ..)| *held == name);
        let readings = if held { 6 } else { 1 };
        let mut least = f64::INFINITY;
        for _ in 0..readings {
            let ms = browser.eval(&format!("bloomdueProbe.speed('{name}')"))?;
            least = least.min(ms.as_f64().context("a time")?);
        }
        times.insert(name.to_owned(), least.into());
    }
    // Where screens have it done, with the way there and back. The first one starts the thread.
    let mut least = [f64::INFINITY; 2];
    for seed in 1..=6 {
        let ms = browser.eval(&format!("bloomdueProbe.workerSpeed({seed})"))?;
        for (least, ms) in least.iter_mut().zip(ms.as_array().context("two times")?) {
            *least = least.min(ms.as_f64().context("a time")?);
        }
    }
    times.insert("forecast".to_owned(), least[0].into());
    times.insert("plan".to_owned(), least[1].into());
    Ok(Value::Object(times))
}

/// What Python's libraries take for the same tables; nothing without their environment.
fn by_python(tables: &Value) -> Result<Option<Value>> {
    let Some(python) = outside::environment(false)? else {
        println!("no environment of `cargo xtask outside`: its libraries are not measured");
        return Ok(None);
    };
    let mut command = outside::single_thread(&python);
    command.arg("-B").arg(outside::scripts().join("speed.py"));
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn()?;
    let mut input = child.stdin.take().context("its input")?;
    input.write_all(tables.to_string().as_bytes())?;
    drop(input);
    let output = child.wait_with_output()?;
    ensure!(output.status.success(), "speed.py failed");
    Ok(Some(serde_json::from_slice(&output.stdout)?))
}

/// The same for base R.
fn by_r(tables: &Value) -> Result<Option<Value>> {
    if !has_program("Rscript") {
        println!("R is not here (Debian: r-base-core): it is not measured");
        return Ok(None);
    }
    let rows = tables["tables"].as_array().context("tables")?;
    let line = |row: &Value| -> String {
        let numbers = row.as_array().map(Vec::as_slice).unwrap_or_default();
        let words: Vec<String> = numbers.iter().map(Value::to_string).collect();
        words.join(" ")
    };
    let text: Vec<String> = rows.iter().map(line).collect();
    let path = target_dir().join("outside/tables.txt");
    std::fs::create_dir_all(target_dir().join("outside"))?;
    std::fs::write(&path, text.join("\n") + "\n")?;
    let mut command = Command::new("Rscript");
    command.arg("--vanilla").arg(outside::scripts().join("speed.R")).arg(path).current_dir(root());
    Ok(Some(said(&mut command)?))
}
