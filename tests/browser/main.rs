//! Checks in a real browser, on the built app: `cargo xtask test --tier browser [--only NAME]`.
//!
//! Each check is a named function, gets a fresh folder to serve from and a browser on a profile of its own, so that as many
//! run at once as there are cores; it fails on any console error, policy violation or request to another origin that it
//! did not say it expects.

/// A list of checks, each under the name of its function.
macro_rules! checks {
    ($($check:ident),* $(,)?) => { &[$((stringify!($check), $check)),*] };
}

mod calls;
mod care;
mod clocks;
mod demo;
mod detours;
mod drafts;
mod evening;
mod files;
mod forms;
mod hosts;
mod kills;
mod large;
mod measure;
mod offline;
mod once;
mod place_and_pot;
mod plan;
mod regions;
mod show;
mod slice;
mod slips;
mod storage;
mod take_in;
mod walk;
mod way_back;
mod work;

use anyhow::{Context, Result};
use bloomdue_tests::driver::{Browser, Scratch, Screen, Server, copy_tree};
use libtest_mimic::{Arguments, Failed, Trial};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

/// Where the built app and its helpers are; set by xtask.
pub(crate) struct Ground {
    /// The app.
    pub(crate) dist: PathBuf,
    /// The same app with the probe, which makes it another version.
    pub(crate) probe_dist: PathBuf,
    /// The accessibility rules, as text.
    pub(crate) axe: String,
    xtask: PathBuf,
}

impl Ground {
    fn from_env() -> Result<Self> {
        let path = |name: &str| -> Result<PathBuf> {
            let value = std::env::var_os(name);
            Ok(value.with_context(|| format!("{name} is not set; run `cargo xtask test --tier browser`"))?.into())
        };
        Ok(Self {
            dist: path("BLOOMDUE_DIST")?,
            probe_dist: path("BLOOMDUE_PROBE_DIST")?,
            axe: std::fs::read_to_string(path("BLOOMDUE_AXE")?)?,
            xtask: path("BLOOMDUE_XTASK")?,
        })
    }

    /// A copy of the app in a folder of the check's own, served below `base`.
    pub(crate) fn host(&self, base: &str) -> Result<Host> {
        self.host_of(&self.dist, base)
    }

    /// A copy of the app with the probe.
    pub(crate) fn probe_host(&self) -> Result<Host> {
        self.host_of(&self.probe_dist, "")
    }

    fn host_of(&self, dist: &Path, base: &str) -> Result<Host> {
        let folder = Scratch::new("host")?;
        copy_tree(dist, folder.path())?;
        let server = Server::start(&self.xtask, folder.path(), base)?;
        Ok(Host { server, folder })
    }
}

/// A served copy of the app that a check may change.
pub(crate) struct Host {
    pub(crate) server: Server,
    /// What is served.
    pub(crate) folder: Scratch,
}

/// A device of its own: a browser on a fresh profile.
pub(crate) struct Device {
    pub(crate) browser: Browser,
    /// Removed when the device goes, so it stands after the browser that uses it.
    _profile: Scratch,
}

impl Device {
    pub(crate) fn new(screen: Screen) -> Result<Self> {
        let profile = Scratch::new("profile")?;
        let browser = Browser::launch(profile.path(), screen)?;
        Ok(Self { browser, _profile: profile })
    }

    /// One whose language and region are these.
    pub(crate) fn speaking(screen: Screen, language: &'static str) -> Result<Self> {
        let profile = Scratch::new("profile")?;
        let browser = Browser::launch_in(profile.path(), screen, language)?;
        Ok(Self { browser, _profile: profile })
    }
}

/// One check: its name, and what it does.
pub(crate) type Check = (&'static str, fn(&Ground) -> Result<()>);

fn main() -> ExitCode {
    let ground = match Ground::from_env() {
        Ok(ground) => ground,
        Err(problem) => {
            eprintln!("browser checks: {problem:#}");
            return ExitCode::FAILURE;
        }
    };
    let args = Arguments::from_args();
    let ground = Arc::new(ground);
    let checks = [
        offline::CHECKS,
        hosts::CHECKS,
        storage::CHECKS,
        clocks::CHECKS,
        kills::CHECKS,
        demo::CHECKS,
        drafts::CHECKS,
        evening::CHECKS,
        files::CHECKS,
        forms::CHECKS,
        slice::CHECKS,
        slips::CHECKS,
        walk::CHECKS,
        detours::CHECKS,
        calls::CHECKS,
        care::CHECKS,
        place_and_pot::CHECKS,
        plan::CHECKS,
        regions::CHECKS,
        once::CHECKS,
        way_back::CHECKS,
        work::CHECKS,
        large::CHECKS,
        measure::CHECKS,
        show::CHECKS,
        take_in::CHECKS,
    ];
    let checks = checks.into_iter().flatten().map(|(name, check)| {
        let ground = Arc::clone(&ground);
        Trial::test(*name, move || check(&ground).map_err(|problem| Failed::from(format!("{problem:#}"))))
    });
    libtest_mimic::run(&args, checks.collect()).exit_code()
}
