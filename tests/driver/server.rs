//! The app's server as a process of its own, so that stopping it closes every connection.

use anyhow::{Context, Result, bail};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// A running server; stopped on drop.
pub struct Server {
    process: Child,
    xtask: PathBuf,
    folder: PathBuf,
    base: String,
    address: String,
}

impl Server {
    /// Serves `folder` below `base` (empty for the root) on a free port, by the given xtask.
    ///
    /// # Errors
    ///
    /// When it does not come up.
    pub fn start(xtask: &Path, folder: &Path, base: &str) -> Result<Self> {
        let (process, address) = spawn(xtask, folder, base, "0")?;
        Ok(Self { process, xtask: xtask.to_owned(), folder: folder.to_owned(), base: base.to_owned(), address })
    }

    /// The app's address, with a stroke at its end.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.address
    }

    /// The address without its path: what nothing may leave.
    #[must_use]
    pub fn origin(&self) -> &str {
        let path = self.address.match_indices('/').nth(2);
        path.map_or(&*self.address, |(at, _)| &self.address[..at])
    }

    /// The folder it serves.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Kills the process: from here on nobody answers at the address.
    ///
    /// # Errors
    ///
    /// When it cannot be ended.
    pub fn stop(&mut self) -> Result<()> {
        self.process.kill()?;
        self.process.wait()?;
        Ok(())
    }

    /// Serves again at the same address after [`Server::stop`].
    ///
    /// # Errors
    ///
    /// When it does not come up.
    pub fn resume(&mut self) -> Result<()> {
        let port = self.origin().rsplit(':').next().unwrap_or_default();
        (self.process, self.address) = spawn(&self.xtask, &self.folder, &self.base, port)?;
        Ok(())
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Already stopped is fine; there is nobody to tell anything else.
        let _ = self.stop();
    }
}

/// Starts the process and waits for the line that names its address.
fn spawn(xtask: &Path, folder: &Path, base: &str, port: &str) -> Result<(Child, String)> {
    let mut process = Command::new(xtask)
        .args(["serve", "--no-build", "--port", port, "--base", base, "--dir"])
        .arg(folder)
        .stdout(Stdio::piped())
        .spawn()
        .with_context(|| format!("starting {}", xtask.display()))?;
    let mut line = String::new();
    if let Some(output) = process.stdout.take() {
        let mut output = BufReader::new(output);
        output.read_line(&mut line)?;
        // The pipe stays open: the process would fail on its next line otherwise.
        process.stdout = Some(output.into_inner());
    }
    match line.split_whitespace().find(|word| word.starts_with("http")) {
        Some(address) => Ok((process, address.to_owned())),
        None => bail!("the server did not start"),
    }
}
