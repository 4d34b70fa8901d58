//! `cargo xtask soak`: the long checks of forecast and plan, and of what outlives a killed browser.

use crate::tiers;
use anyhow::Result;
use xtask::args::Args;
use xtask::build::Profile;
use xtask::system::{cargo, must};

/// Builds core's example `soak` at full speed and runs it; `kills` is the browser's.
///
/// # Errors
///
/// When it cannot be built, or a check does not hold.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let profile = Profile::from_args(&mut args);
    let quick = args.switch("--quick");
    let threads = args.value("--threads")?;
    let only = args.word();
    args.end()?;
    if only.as_deref() == Some("kills") {
        return tiers::kills(profile);
    }
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
