//! The machine around the build: where the project stands, running programs, missing packages.

use anyhow::{Context, Result, bail};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The folder that holds the workspace's `Cargo.toml`.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

/// Where cargo puts what it builds, also when the caller has moved it.
pub fn target_dir() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(dir) => root().join(dir),
        None => root().join("target"),
    }
}

/// The cargo that started this program, so that both use the same toolchain.
pub fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root());
    command
}

/// Runs a program to its end, its output shown.
///
/// # Errors
///
/// When it cannot be started or ends with anything but success.
pub fn must(command: &mut Command) -> Result<()> {
    let shown = shown(command);
    let status = command.status().with_context(|| format!("could not start `{shown}`"))?;
    if !status.success() {
        bail!("`{shown}` failed ({status})");
    }
    Ok(())
}

/// A command as one would type it.
fn shown(command: &Command) -> String {
    let mut text = command.get_program().to_string_lossy().into_owned();
    for arg in command.get_args() {
        text.push(' ');
        text.push_str(&arg.to_string_lossy());
    }
    text
}

/// True when a program of this name can be started.
pub fn has_program(name: &str) -> bool {
    let Some(path) = std::env::var_os("PATH") else {
        return false;
    };
    std::env::split_paths(&path).any(|dir| dir.join(name).is_file())
}

/// A system package the tests need, and how its absence shows.
pub struct Package {
    /// Its name in Debian.
    pub name: &'static str,
    /// True when what it brings is there.
    pub present: fn() -> bool,
}

/// True when the checks find a Chromium; under which names, `tests/driver` says.
fn has_chromium() -> bool {
    std::env::var_os("BLOOMDUE_CHROMIUM").is_some()
        || ["chromium", "chromium-browser", "google-chrome"].into_iter().any(has_program)
}

/// What the browser tier needs beside Rust. Node comes along for the accessibility rules, which live in npm.
pub const BROWSER_PACKAGES: &[Package] = &[
    Package { name: "chromium", present: has_chromium },
    Package { name: "fonts-liberation", present: || Path::new("/usr/share/fonts/truetype/liberation").is_dir() },
    Package { name: "npm", present: || has_program("npm") },
];

/// Sees to it that the packages are there: as root, or when asked, they are installed.
///
/// # Errors
///
/// When something is missing and may not or cannot be installed; the text names the command.
pub fn need(packages: &[Package], install: bool) -> Result<()> {
    let missing: Vec<&str> =
        packages.iter().filter(|package| !(package.present)()).map(|package| package.name).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let root_user = is_root();
    if !root_user && !install {
        bail!(
            "missing: {}. On Debian: sudo apt-get install {} (or `cargo xtask test --install`)",
            missing.join(", "),
            missing.join(" ")
        );
    }
    println!("installing {}", missing.join(", "));
    must(apt(root_user).arg("update").stdout(Stdio::null()))?;
    let mut command = apt(root_user);
    command.args(["install", "--yes", "--no-install-recommends"]);
    must(command.args(&missing).stdout(Stdio::null()))
}

/// apt-get without questions; through sudo for anyone but root.
fn apt(root_user: bool) -> Command {
    let mut command = if root_user {
        Command::new("apt-get")
    } else {
        let mut sudo = Command::new("sudo");
        sudo.arg("apt-get");
        sudo
    };
    command.env("DEBIAN_FRONTEND", "noninteractive");
    command
}

/// True when this program runs as root.
fn is_root() -> bool {
    let answer = Command::new("id").arg("-u").output();
    answer.is_ok_and(|answer| answer.stdout.trim_ascii() == b"0")
}
