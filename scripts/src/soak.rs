//! `cargo xtask soak`: the long checks of forecast and plan.

use crate::args::Args;
use crate::system::{cargo, must};
use anyhow::Result;

/// Builds core's example `soak` at full speed and runs it.
///
/// # Errors
///
/// When it cannot be built, or a check does not hold.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let quick = args.switch("--quick");
    let threads = args.value("--threads")?;
    let only = args.word();
    args.end()?;
    let mut command = cargo();
    command.args(["run", "--quiet", "--release", "--package", "bloomdue-core"]);
    command.args(["--features", "testing", "--example", "soak", "--"]);
    command.args(quick.then_some("--quick"));
    if let Some(threads) = threads {
        command.args(["--threads", &threads]);
    }
    command.args(only);
    must(&mut command)
}
