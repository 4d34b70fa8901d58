//! From the web crate to plain files: cargo, then wasm-bindgen as a library, then [`crate::pack`].

use crate::args::Args;
use crate::pack::{self, App};
use crate::system::{cargo, has_program, must, root, target_dir};
use anyhow::{Context, Result};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use wasm_bindgen_cli_support::Bindgen;
use wasmparser::Parser;

const WASM_TARGET: &str = "wasm32-unknown-unknown";

/// Which of the two builds is wanted.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Profile {
    /// What growers get: small, slow to build.
    App,
    /// For the next look at a change: built in seconds, several times larger.
    Dev,
}

impl Profile {
    /// The profile that `--dev` asks for.
    pub fn from_args(args: &mut Args) -> Self {
        if args.switch("--dev") { Self::Dev } else { Self::App }
    }

    /// The profile's name for cargo.
    fn cargo_name(self) -> &'static str {
        match self {
            Self::App => "app",
            Self::Dev => "dev",
        }
    }

    /// The folder cargo puts the profile's artefacts in.
    fn folder(self) -> &'static str {
        match self {
            Self::App => "app",
            Self::Dev => "debug",
        }
    }

    /// Where the finished files go when nobody names a place.
    pub fn dist(self) -> PathBuf {
        match self {
            Self::App => root().join("dist"),
            Self::Dev => target_dir().join("dev-dist"),
        }
    }
}

/// `cargo xtask build`.
///
/// # Errors
///
/// When the crate does not build or the files cannot be written.
pub fn run(mut args: Args) -> Result<()> {
    let profile = Profile::from_args(&mut args);
    let out = args.value("--out")?;
    let salt = args.value("--salt")?;
    args.end()?;
    let out = out.map_or_else(|| profile.dist(), PathBuf::from);
    build(profile, Extra::None, &out, salt.as_deref().unwrap_or_default())?;
    Ok(())
}

/// What a build holds beyond what growers get.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Extra {
    /// Nothing.
    None,
    /// The way in through which the browser checks drive the storage without screens.
    Probe,
}

/// Builds the app into `out` and prints what became of it; the answer is its version.
///
/// # Errors
///
/// When the crate does not build or the files cannot be written.
pub fn build(profile: Profile, extra: Extra, out: &Path, salt: &str) -> Result<String> {
    compile(profile, extra)?;
    let app = bind(profile, false)?;
    let version = pack::write(&app, &root().join("web/static"), out, salt)?;
    println!("version {version} in {}", out.display());
    Ok(version)
}

/// Compiles the web crate for the browser.
pub fn compile(profile: Profile, extra: Extra) -> Result<()> {
    add_wasm_target()?;
    let mut command = cargo();
    command.args([
        "build",
        "--package",
        "bloomdue-web",
        "--bin",
        "bloomdue",
        "--target",
        WASM_TARGET,
        "--profile",
        profile.cargo_name(),
    ]);
    if extra == Extra::Probe {
        command.args(["--features", "probe"]);
    }
    must(&mut command)
}

/// Adds the wasm target when rustup is there and the target is not.
pub fn add_wasm_target() -> Result<()> {
    let rustc = Command::new("rustc")
        .args(["--print", "target-libdir", "--target", WASM_TARGET])
        .current_dir(root())
        .stderr(Stdio::null())
        .output()
        .context("could not start rustc")?;
    let folder = String::from_utf8_lossy(&rustc.stdout).trim().to_owned();
    if rustc.status.success() && Path::new(&folder).is_dir() {
        return Ok(());
    }
    anyhow::ensure!(
        has_program("rustup"),
        "this Rust lacks the target {WASM_TARGET}, and there is no rustup to add it"
    );
    must(Command::new("rustup").args(["target", "add", WASM_TARGET]).current_dir(root()))
}

/// Runs wasm-bindgen over the compiled crate.
///
/// `names` keeps the names of functions for `cargo xtask size`; they would be most of a dev build.
pub fn bind(profile: Profile, names: bool) -> Result<App> {
    let artefact = target_dir().join(WASM_TARGET).join(profile.folder()).join("bloomdue.wasm");
    let folder = target_dir().join("bindgen");
    if folder.exists() {
        std::fs::remove_dir_all(&folder).context("clearing the last wasm-bindgen output")?;
    }
    let split = folder.join("split");
    let main = split.join("main.wasm");
    split_off(&artefact, &split, &main)?;
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(&main)
        .out_name("bloomdue")
        .web(true)
        .and_then(|bindgen| {
            bindgen
                .typescript(false)
                .omit_default_module_path(true)
                // What was split off meets the rest through the table of functions.
                .keep_lld_exports(true)
                .remove_name_section(!names)
                .remove_producers_section(!names)
                .generate(&folder)
        })
        .with_context(|| format!("wasm-bindgen on {}", artefact.display()))?;
    anyhow::ensure!(
        !folder.join("snippets").exists(),
        "a dependency brings its own script files, which the offline list does not carry yet"
    );
    let mut parts = pack::read_tree(&split)?;
    parts.remove("main.wasm");
    let link = parts.remove(pack::LINK).context("the link script")?;
    if !names {
        for part in parts.values_mut() {
            *part = without_custom_sections(part)?;
        }
    }
    Ok(App {
        wasm: std::fs::read(folder.join("bloomdue_bg.wasm"))?,
        glue: std::fs::read_to_string(folder.join("bloomdue.js"))?,
        link: String::from_utf8(link)?,
        parts,
    })
}

/// Takes the functions that only `#[wasm_split]` ones use out of the wasm, into files of their own.
fn split_off(artefact: &Path, folder: &Path, main: &Path) -> Result<()> {
    std::fs::create_dir_all(folder)?;
    let whole = std::fs::read(artefact).with_context(|| format!("reading {}", artefact.display()))?;
    let link = format!("./{}", pack::LINK);
    let mut options = wasm_split_cli_support::Options::new(&whole);
    options.output_dir = folder;
    options.main_out_path = main;
    options.link_name = &link;
    options.main_module = "./bloomdue.js";
    wasm_split_cli_support::transform(options).map_err(|why| anyhow::anyhow!("splitting the wasm: {why:#}"))?;
    Ok(())
}

/// A module without the names of its functions and other notes that engines skip.
fn without_custom_sections(wasm: &[u8]) -> Result<Vec<u8>> {
    // Magic and version of the binary format.
    let mut plain = wasm.get(..8).context("no wasm module")?.to_vec();
    let mut start = plain.len();
    for payload in Parser::new(0).parse_all(wasm) {
        let payload = payload.context("reading a part of the wasm")?;
        let Some((id, range)) = payload.as_section() else {
            continue;
        };
        let end = usize::try_from(range.end)?;
        if id != 0 {
            plain.extend_from_slice(&wasm[start..end]);
        }
        start = end;
    }
    Ok(plain)
}
