//! `cargo xtask outside`: asks the general-purpose tools and freezes their answers as check cases.
//!
//! Python's libraries live in an environment of their own, pinned by `scripts/outside/requirements.txt`; R is used when
//! Debian's `r-base-core` is there. Nothing else ever runs them: `cargo xtask reference` reads what was frozen.

use anyhow::{Context, Result, bail};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use xtask::args::Args;
use xtask::system::{has_program, must, root, target_dir};

/// The Python that the pinned versions are for.
const PYTHON: &str = "python3.11";

/// What a file that comes from here is called at its end.
const PYTHON_END: &str = ".outside.json";

/// The same for R.
const R_END: &str = ".outside-r.json";

/// `cargo xtask outside`.
///
/// # Errors
///
/// When Python is missing, a library cannot be installed, two tools disagree, or with `--check` something has changed.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let check = args.switch("--check");
    args.end()?;
    let Some(python) = environment(true)? else {
        bail!("{PYTHON} is not here; on Debian: apt-get install python3.11-venv");
    };
    let fresh = target_dir().join("outside/fresh");
    if fresh.is_dir() {
        fs::remove_dir_all(&fresh)?;
    }
    fs::create_dir_all(&fresh)?;
    let scripts = scripts();
    must(single_thread(&python).arg("-B").arg(scripts.join("freeze.py")).arg(&fresh))?;
    let with_r = has_program("Rscript");
    if with_r {
        let mut command = Command::new("Rscript");
        command.args(["--vanilla"]).arg(scripts.join("freeze.R"));
        must(command.arg(&fresh).current_dir(&scripts))?;
    } else {
        println!("R is not here (Debian: r-base-core): files ending {R_END} stay as they were frozen");
    }
    let changed = settle(&fresh, check, with_r)?;
    if check && changed > 0 {
        bail!("{changed} files would be different");
    }
    Ok(())
}

/// Puts what was made beside what is kept, saying of each file whether it is the same; how many are not.
fn settle(fresh: &Path, check: bool, with_r: bool) -> Result<usize> {
    let kept = root().join("tests/reference");
    let mut changed = 0;
    for name in names(fresh)? {
        let new = fs::read(fresh.join(&name))?;
        let same = fs::read(kept.join(&name)).is_ok_and(|old| old == new);
        println!("{}  {name}", if same { "the same" } else { "changed " });
        changed += usize::from(!same);
        if !check && !same {
            fs::write(kept.join(&name), new)?;
        }
    }
    for name in names(&kept)? {
        let left_alone = name.ends_with(R_END) && !with_r;
        if !left_alone && !fresh.join(&name).is_file() {
            println!("no longer made: {name}");
            changed += 1;
        }
    }
    Ok(changed)
}

/// The files from outside in a folder, in order.
fn names(folder: &Path) -> Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if name.ends_with(PYTHON_END) || name.ends_with(R_END) {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

/// Where the scripts lie that ask the tools.
pub(crate) fn scripts() -> PathBuf {
    root().join("scripts/outside")
}

/// A command that computes on one thread, as the program it is compared with does.
pub(crate) fn single_thread(program: &Path) -> Command {
    let mut command = Command::new(program);
    for name in ["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"] {
        command.env(name, "1");
    }
    command
}

/// The Python of the pinned environment; it is made, or made anew, only when asked for.
///
/// # Errors
///
/// When it cannot be made.
pub(crate) fn environment(make: bool) -> Result<Option<PathBuf>> {
    let folder = target_dir().join("outside");
    let (venv, stamp) = (folder.join("venv"), folder.join("installed.txt"));
    let python = venv.join("bin/python");
    let wanted = fs::read_to_string(scripts().join("requirements.txt"))?;
    let installed = fs::read_to_string(&stamp).is_ok_and(|text| text == wanted);
    if installed && python.is_file() {
        return Ok(Some(python));
    }
    if !make || !has_program(PYTHON) {
        return Ok(None);
    }
    fs::create_dir_all(&folder)?;
    must(Command::new(PYTHON).args(["-m", "venv", "--clear"]).arg(&venv)).context("the environment")?;
    let mut pip = Command::new(&python);
    pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]);
    must(pip.arg("--requirement").arg(scripts().join("requirements.txt")))?;
    fs::write(&stamp, wanted)?;
    Ok(Some(python))
}
