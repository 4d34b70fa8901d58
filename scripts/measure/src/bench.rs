//! `cargo xtask bench`: measured times beside their budgets.
//!
//! A row is measured on this machine, by a plain function, or in the browser on the built app.
//! To add one, write a function and name it in [`ROWS`]; a row exists when it measures something.

mod evidence;
mod season;
mod start;
mod storage;

use anyhow::{Context, Result};
use bloomdue_tests::driver::{Browser, Scratch, Screen, Server};
use std::path::Path;
use xtask::args::Args;
use xtask::build::{self, Extra, Profile};
use xtask::system::target_dir;

/// What a row found.
pub(crate) struct Measured {
    /// The measured value.
    pub(crate) value: f64,
    /// What it is held against.
    pub(crate) bound: Bound,
    /// The unit of both.
    pub(crate) unit: &'static str,
}

/// What a value is held against.
#[derive(Clone, Copy)]
pub(crate) enum Bound {
    /// It must not exceed this.
    AtMost(f64),
    /// It must reach this.
    AtLeast(f64),
    /// It is only reported.
    None,
}

impl Bound {
    fn holds(self, value: f64) -> bool {
        match self {
            Self::AtMost(most) => value <= most,
            Self::AtLeast(least) => value >= least,
            Self::None => true,
        }
    }

    fn shown(self, unit: &str) -> String {
        match self {
            Self::AtMost(most) => format!("<= {most:.0} {unit}"),
            Self::AtLeast(least) => format!(">= {least:.0} {unit}"),
            Self::None => "reported".to_owned(),
        }
    }
}

/// A row of its own making; without a measurement where what it is compared with is not here.
pub(crate) struct Found {
    /// What was measured.
    pub(crate) what: String,
    /// The value.
    pub(crate) measured: Option<Measured>,
}

/// How a row is measured.
pub(crate) enum How {
    /// In Chromium, on the served app.
    Browser(fn(&Server) -> Result<Measured>),
    /// In Chromium, through the probe, on the app built with it.
    Probe(fn(&Server) -> Result<Measured>),
}

/// One line of the table.
pub(crate) struct Row {
    /// What is measured, and on how much of what.
    pub(crate) what: &'static str,
    /// How to measure it.
    pub(crate) how: How,
}

/// Every row there is.
const ROWS: &[Row] = &[
    Row { what: "start offline to the first screen, no records yet, CPU slowed 4x", how: How::Browser(offline_start) },
    Row { what: "start offline to a usable Due, 20,000 entries, CPU slowed 4x", how: How::Probe(start::with_20_000) },
    Row { what: "start offline to a usable Due, 100,000 entries, CPU slowed 4x", how: How::Probe(start::with_100_000) },
    Row {
        what: "longest task while 100,000 entries are read behind it, slowed 4x",
        how: How::Probe(start::longest_task_behind),
    },
    Row { what: "taking in 100,000 entries", how: How::Probe(storage::take_in) },
    Row { what: "taking in 100,000 entries, longest task", how: How::Probe(storage::take_in_longest_task) },
    Row {
        what: "tap to saved, 100,000 entries stored, against a bare put and get",
        how: How::Probe(storage::save_one),
    },
    Row { what: "care of 300 bulbs to saved, against a bare put and get", how: How::Probe(storage::save_care_of_300) },
];

/// The mark that the app sets on the browser's time line when its first screen can be used.
const USABLE: &str = "performance.getEntriesByName('bloomdue-usable')[0]?.startTime";

/// Starts of the app in new browser processes; the middle one counts.
const STARTS: usize = 5;

fn offline_start(server: &Server) -> Result<Measured> {
    let profile = Scratch::new("bench")?;
    let mut browser = Browser::launch(profile.path(), Screen::phone())?;
    browser.open(server.address())?;
    browser.eval("navigator.serviceWorker.ready.then(() => true)")?;
    let mut times_ms = Vec::new();
    for _ in 0..STARTS {
        browser.kill_and_reopen()?;
        browser.set_offline(true)?;
        browser.slow_down(4.0)?;
        browser.open(server.address())?;
        browser.wait_until(USABLE)?;
        let time_ms = browser.eval(USABLE)?;
        times_ms.push(time_ms.as_f64().context("a time")?);
    }
    times_ms.sort_by(f64::total_cmp);
    Ok(Measured { value: times_ms[STARTS / 2], bound: Bound::AtMost(1000.0), unit: "ms" })
}

/// `cargo xtask bench [--no-build] [--only WORDS]`.
///
/// # Errors
///
/// When a row cannot be measured or is over its budget.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let no_build = args.switch("--no-build");
    let only = args.value("--only")?;
    args.end()?;
    let wanted = |what: &str| only.as_ref().is_none_or(|only| what.contains(only.as_str()));
    let dist = Profile::App.dist();
    let probe_dist = target_dir().join("probe-app-dist");
    let rows: Vec<&Row> = ROWS.iter().filter(|row| wanted(row.what)).collect();
    let on_app = rows.iter().any(|row| matches!(row.how, How::Browser(_)));
    if !no_build {
        build::build(Profile::App, Extra::Probe, &probe_dist, "")?;
        if on_app {
            build::build(Profile::App, Extra::None, &dist, "")?;
        }
    }
    println!("{:<96} {:>14} {:>14}  ok", "what", "measured", "budget");
    let mut over = 0;
    let probe = serve(&probe_dist)?;
    let app = if on_app { Some(serve(&dist)?) } else { None };
    for row in rows {
        let measured = match &row.how {
            How::Browser(measure) => measure(app.as_ref().unwrap_or(&probe)),
            How::Probe(measure) => measure(&probe),
        };
        let measured = Some(measured.with_context(|| row.what.to_owned())?);
        over += usize::from(!tell(row.what, measured));
    }
    if wanted(EVIDENCE) {
        for found in evidence::rows(&probe)? {
            over += usize::from(!tell(&found.what, found.measured));
        }
    }
    anyhow::ensure!(over == 0, "{over} over budget");
    Ok(())
}

/// The name under which `--only` asks for the rows of the evidence.
const EVIDENCE: &str = "evidence";

/// Prints a row; whether it is within its budget.
fn tell(what: &str, measured: Option<Measured>) -> bool {
    let Some(Measured { value, bound, unit }) = measured else {
        println!("{what:<96} {:>14}", "not measured");
        return true;
    };
    let good = bound.holds(value);
    println!(
        "{what:<96} {:>14} {:>14}  {}",
        format!("{value:.2} {unit}"),
        bound.shown(unit),
        if good { "ok" } else { "OVER" }
    );
    good
}

/// Serves the build as its own process.
fn serve(dist: &Path) -> Result<Server> {
    let server = Server::start(&std::env::current_exe()?, dist, "")?;
    Ok(server)
}
