//! What is measured and compared: run by `cargo xtask COMMAND`, whose help describes each.

mod answers;
mod bench;
mod icons;
mod outside;
mod reference;
mod size;

use std::process::ExitCode;
use xtask::args::Args;

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let command = words.next().unwrap_or_default();
    let args = Args::new(words.collect());
    let done = match command.as_str() {
        "size" => size::run(args),
        "bench" => bench::run(args),
        "reference" => reference::run(args),
        "answers" => answers::run(args),
        "outside" => outside::run(args),
        "icons" => icons::run(args),
        other => Err(anyhow::anyhow!("no measurement {other:?}; `cargo xtask help` lists them")),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("xtask {command}: {problem:#}");
            ExitCode::FAILURE
        }
    }
}
