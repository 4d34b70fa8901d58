//! `cargo xtask reference [DIR]`: numbers from outside, run through core.

use anyhow::{Result, anyhow};
use std::path::PathBuf;
use xtask::args::Args;
use xtask::system::root;

/// Runs every file of check cases in DIR (the repository's copy when none is named), printing each difference and
/// each thing without a counterpart; the last line is the count.
///
/// # Errors
///
/// When the directory cannot be read. Ends the process with 1 when a value differs.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let named = args.word().map(PathBuf::from);
    args.end()?;
    let dir = named.unwrap_or_else(|| root().join("tests/reference"));
    let report = bloomdue_tests::reference::run(&dir).map_err(|said| anyhow!(said))?;
    for line in &report.lines {
        println!("{line}");
    }
    println!("{}", report.summary());
    if report.failed > 0 {
        // The count stays the last line, so nothing more is said.
        std::process::exit(1);
    }
    Ok(())
}
