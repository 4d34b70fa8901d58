//! `cargo xtask attack`: hostile files.

use anyhow::Result;
use std::process::Command;
use xtask::args::Args;
use xtask::system::{cargo, must, target_dir};

/// Builds the example `attack` of the tests, whose checks of every computation stay on, and runs it.
///
/// # Errors
///
/// When it cannot be built, or a file stopped the program or cost too much.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let quick = args.switch("--quick");
    let files = args.number::<u64>("--files")?;
    let seed = args.number::<u64>("--seed")?;
    args.end()?;
    let mut command = built()?;
    command.args(quick.then_some("--quick"));
    for (name, value) in [("--files", files), ("--seed", seed)] {
        if let Some(value) = value {
            command.args([name, &value.to_string()]);
        }
    }
    must(&mut command)
}

/// Builds it and gives the command that runs it.
pub(crate) fn built() -> Result<Command> {
    must(cargo().args(["build", "--quiet", "--workspace", "--exclude", "bloomdue-web", "--example", "attack"]))?;
    Ok(Command::new(target_dir().join("debug/examples/attack")))
}
