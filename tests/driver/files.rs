//! Folders that vanish with the check that made them.

use anyhow::{Context, Result};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// A fresh folder below the system's temporary one, removed on drop.
pub struct Scratch(PathBuf);

impl Scratch {
    /// Makes a folder whose name begins with `name`.
    ///
    /// # Errors
    ///
    /// When it cannot be made.
    pub fn new(name: &str) -> Result<Self> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = format!("bloomdue-{name}-{}-{count}", std::process::id());
        let path = std::env::temp_dir().join(folder);
        if path.exists() {
            std::fs::remove_dir_all(&path)?;
        }
        std::fs::create_dir_all(&path).with_context(|| format!("making {}", path.display()))?;
        Ok(Self(path))
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // A browser that was just killed may still be letting go of files; what stays is temporary anyway.
        for _ in 0..20 {
            if std::fs::remove_dir_all(&self.0).is_ok() || !self.0.exists() {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
    }
}

/// Makes `to` hold exactly what `from` holds.
///
/// # Errors
///
/// When something cannot be read or written.
pub fn copy_tree(from: &Path, to: &Path) -> Result<()> {
    if to.exists() {
        std::fs::remove_dir_all(to)?;
    }
    std::fs::create_dir_all(to)?;
    for entry in std::fs::read_dir(from).with_context(|| format!("reading {}", from.display()))? {
        let entry = entry?;
        let target = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            copy_tree(&entry.path(), &target)?;
        } else {
            std::fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}
