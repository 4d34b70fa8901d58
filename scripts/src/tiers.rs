//! `cargo xtask test`: every tier in order, each with its time.

use crate::attack;
use anyhow::{Context, Result, bail, ensure};
use std::path::PathBuf;
use std::process::Command;
use std::time::Instant;
use xtask::args::Args;
use xtask::build::{self, Extra, Profile, add_wasm_target};
use xtask::system::{BROWSER_PACKAGES, cargo, must, need, root, target_dir};

/// What the tiers may depend on.
struct Wish {
    profile: Profile,
    install: bool,
    only: Option<String>,
    /// How many times slower than this machine the pages of the browser tier are made.
    slow: Option<String>,
    /// The soak runs while the app is built, which keeps one core busy and leaves the other.
    soak_beside: bool,
    /// This program. Asked for before anything is built: a tier may build it anew, and then the system calls the
    /// running one deleted.
    xtask: PathBuf,
}

/// One step of the whole test: a name to ask for, and what it does.
type Tier = (&'static str, fn(&Wish) -> Result<()>);

/// Cheapest first, so that a slip shows early.
const TIERS: &[Tier] = &[
    ("fmt", fmt),
    ("clippy", clippy),
    ("units", units),
    ("attack", attack),
    ("soak", soak),
    ("build", build_both),
    ("browser", browser),
];

/// `cargo xtask test`.
///
/// # Errors
///
/// At the first tier that fails.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let tier = args.value("--tier")?;
    let wish = Wish {
        profile: Profile::from_args(&mut args),
        install: args.switch("--install"),
        only: args.value("--only")?,
        slow: args.value("--slow")?,
        soak_beside: tier.is_none(),
        xtask: std::env::current_exe()?,
    };
    args.end()?;
    let chosen: Vec<&Tier> = match tier.as_deref() {
        None => TIERS.iter().filter(|tier| tier.0 != "soak").collect(),
        // The browser tier looks at the build, so it makes a fresh one.
        Some("browser") => TIERS.iter().skip_while(|tier| tier.0 != "build").collect(),
        Some(name) => TIERS.iter().filter(|tier| tier.0 == name).collect(),
    };
    if chosen.is_empty() {
        let names: Vec<&str> = TIERS.iter().map(|tier| tier.0).collect();
        bail!("no such tier; there are {}", names.join(", "));
    }
    if chosen.iter().any(|tier| tier.0 == "browser") {
        need(BROWSER_PACKAGES, wish.install)?;
    }
    let mut times = Vec::new();
    for (name, run) in chosen {
        println!("== {name}");
        let start = Instant::now();
        run(&wish).with_context(|| format!("tier {name}"))?;
        let took = format!("{name} {:.0} s", start.elapsed().as_secs_f64());
        println!("== {took}");
        times.push(took);
    }
    println!("== all tiers hold: {}", times.join(", "));
    Ok(())
}

fn fmt(_: &Wish) -> Result<()> {
    must(cargo().args(["fmt", "--all", "--check"]))
}

fn clippy(_: &Wish) -> Result<()> {
    add_wasm_target()?;
    must(cargo().args([
        "clippy",
        "--workspace",
        "--exclude",
        "bloomdue-web",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ]))?;
    // Its checks need a browser, so that it is none of the targets that cargo tests unasked.
    let browser = ["clippy", "--workspace", "--exclude", "bloomdue-web", "--test", "browser", "--", "-D", "warnings"];
    must(cargo().args(browser))?;
    must(cargo().args([
        "clippy",
        "--package",
        "bloomdue-web",
        "--target",
        "wasm32-unknown-unknown",
        "--features",
        "probe",
        "--",
        "-D",
        "warnings",
    ]))
}

/// Core, words, these scripts, the numbers from outside and the simulation.
fn units(_: &Wish) -> Result<()> {
    must(cargo().args(["test", "--workspace", "--exclude", "bloomdue-web"]))
}

/// Costly shapes and 3,000 hostile files.
fn attack(_: &Wish) -> Result<()> {
    must(attack::built()?.arg("--quick"))
}

/// Forecast and plan on 200 invented nurseries of each kind, by the program that the units have built already: its
/// arithmetic is at full speed in every build.
fn soak(_: &Wish) -> Result<()> {
    must(&mut quick_soak()?)
}

/// Builds the soak and gives the command that runs it.
fn quick_soak() -> Result<Command> {
    must(cargo().args(["build", "--quiet", "--workspace", "--exclude", "bloomdue-web", "--example", "soak"]))?;
    let mut command = Command::new(target_dir().join("debug/examples/soak"));
    command.arg("--quick");
    Ok(command)
}

/// Where the checks' own build goes: the app with a way in for them, which serves as the next version too.
fn probe_dist() -> PathBuf {
    target_dir().join("probe-dist")
}

/// The app, and the same app with the checks' way in; the soak beside them when every tier runs.
fn build_both(wish: &Wish) -> Result<()> {
    let soak = match wish.soak_beside {
        true => Some(quick_soak()?.args(["--threads", "1"]).spawn().context("cannot start the soak")?),
        false => None,
    };
    let built = build::build(wish.profile, Extra::Probe, &probe_dist(), "")
        .and_then(|_| build::build(wish.profile, Extra::None, &wish.profile.dist(), ""));
    if let Some(mut soak) = soak {
        let held = soak.wait().context("cannot wait for the soak")?;
        ensure!(held.success(), "soak --quick: {held}");
    }
    built.map(|_| ())
}

/// How often `soak kills` kills the browser.
const KILLS: u32 = 200;

/// The browser's check of kills, as often as in the soak, on a fresh build.
///
/// # Errors
///
/// When a record that was said to be saved is missing afterwards.
pub(crate) fn kills(profile: Profile) -> Result<()> {
    let wish = Wish {
        profile,
        install: false,
        only: Some("outlives_a_kill".to_owned()),
        slow: None,
        soak_beside: false,
        xtask: std::env::current_exe()?,
    };
    build_both(&wish)?;
    must(browser_command(&wish)?.env("BLOOMDUE_KILLS", KILLS.to_string()))
}

fn browser(wish: &Wish) -> Result<()> {
    must(&mut browser_command(wish)?)
}

fn browser_command(wish: &Wish) -> Result<Command> {
    let axe = fetch_axe()?;
    let mut command = cargo();
    command
        // Of the whole workspace, so that nothing the units have built is built again with fewer features.
        .args(["test", "--workspace", "--exclude", "bloomdue-web"])
        .args(["--test", "browser"])
        .env("BLOOMDUE_DIST", wish.profile.dist())
        .env("BLOOMDUE_PROBE_DIST", probe_dist())
        .env("BLOOMDUE_AXE", axe)
        .env("BLOOMDUE_XTASK", &wish.xtask);
    if let Some(slow) = &wish.slow {
        command.env("BLOOMDUE_SLOW", slow);
    }
    if let Some(only) = &wish.only {
        command.args(["--", only]);
    }
    Ok(command)
}

/// Brings the accessibility rules from npm, at the version the lock file names.
fn fetch_axe() -> Result<PathBuf> {
    let folder = target_dir().join("axe");
    let script = folder.join("node_modules/axe-core/axe.min.js");
    let mut fresh = script.is_file();
    std::fs::create_dir_all(&folder)?;
    for name in ["package.json", "package-lock.json"] {
        let wanted = std::fs::read(root().join("tests/browser").join(name))?;
        let here = folder.join(name);
        if std::fs::read(&here).ok().as_ref() != Some(&wanted) {
            fresh = false;
            std::fs::write(&here, wanted)?;
        }
    }
    if !fresh {
        let mut npm = Command::new("npm");
        npm.args(["ci", "--no-audit", "--no-fund", "--loglevel=error"]);
        must(npm.current_dir(&folder))?;
    }
    Ok(script)
}
