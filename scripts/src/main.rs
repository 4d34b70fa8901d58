//! Builds, serves, tests and measures Bloomdue: `cargo xtask help`.

mod attack;
mod serve;
mod soak;
mod tiers;

use anyhow::Context;
use std::process::ExitCode;
use xtask::args::Args;
use xtask::{build, system};

const HELP: &str = "\
cargo xtask COMMAND

  build [--dev] [--out DIR] [--salt TEXT]
          the app, as plain files for any static host (default: dist/)
          --dev: fast to build, large and slow; into target/dev-dist/
          --salt: the same app under another version, to try an update
  serve [--dev] [--port N] [--dir DIR] [--base /PATH] [--no-build]
          builds, then serves on this machine and prints the address
  test [--dev] [--install] [--tier NAME] [--only NAME] [--slow TIMES]
          every tier in order: fmt, clippy, units, build, browser
          --dev: the browser tier on the fast build
          --install: installs missing system packages (as root: always)
          --only: of the browser tier, only checks whose name contains NAME
          --slow: pages of the browser tier so many times slower, with as much more patience
  size [--no-build] [--functions N]
          what is kept for offline use and what the first visit needs,
          compressed, beside their budgets; exit 1 when over
  bench [--no-build] [--only NAME]
          measured times beside their budgets; exit 1 when over
          --only: rows whose name contains NAME; evidence: tests and
          intervals against the libraries that `outside` installs
  reference [DIR]
          numbers from outside through core (default: tests/reference);
          prints each difference and what has no counterpart; exit 1 when
          a value differs
  answers FILE [--on DATE] [--no-forecast]
          what the screens say of a nursery's plain JSON file (or of the
          demo: FILE is the word demo), as JSON; tests/answers.md tells
          what each field means
  outside [--check]
          asks the general-purpose statistics libraries (Python, pinned;
          R when it is here) and freezes their answers in tests/reference
          --check: writes nothing; exit 1 when an answer has changed
  soak [--quick] [--threads N] [NAME]
          the long checks of forecast and plan on invented nurseries;
          --quick: 200 of each kind; exit 1 when one does not hold
  soak kills [--dev]
          kills the browser 200 times just after something was saved;
          exit 1 when a record is missing afterwards
  attack [--files N] [--seed S] [--quick]
          hostile files, taken in as the app does: costly shapes, then
          N (200,000; quick: 3,000) whose records were changed at random
          from seed S on and verify; exit 1 when one stops the program,
          takes over a second or 40 bytes of memory a byte
  icons   draws the PNG icons from web/static/icon.svg anew
  help    this text
";

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let command = words.next().unwrap_or_else(|| "help".to_owned());
    if MEASURES.contains(&command.as_str()) {
        return match measure(&command, words) {
            Ok(code) => code,
            Err(problem) => told(&command, &problem),
        };
    }
    let args = Args::new(words.collect());
    let done = match command.as_str() {
        "build" => build::run(args),
        "serve" => serve::run(args),
        "test" => tiers::run(args),
        "soak" => soak::run(args),
        "attack" => attack::run(args),
        "help" | "--help" | "-h" => {
            print!("{HELP}");
            Ok(())
        }
        other => Err(anyhow::anyhow!("no command {other:?}; `cargo xtask help` lists them")),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => told(&command, &problem),
    }
}

fn told(command: &str, problem: &anyhow::Error) -> ExitCode {
    eprintln!("xtask {command}: {problem:#}");
    ExitCode::FAILURE
}

/// Commands of the package `measure`. It has core and the browser's driver in it, which building and serving can do
/// without.
const MEASURES: &[&str] = &["size", "bench", "reference", "answers", "outside", "icons"];

/// Runs one of them; it says itself what is wrong.
fn measure(command: &str, words: impl Iterator<Item = String>) -> anyhow::Result<ExitCode> {
    let mut run = system::cargo();
    run.args(["run", "--quiet", "--package", "measure", "--", command]).args(words);
    // Files that are named stand where the caller does.
    run.current_dir(std::env::current_dir()?);
    let status = run.status().context("cannot start cargo")?;
    Ok(if status.success() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
