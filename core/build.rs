//! Hashes this crate's sources: a state that was folded by other sources is never used again.

use std::{
    env, fs,
    path::{Path, PathBuf},
};

use sha2::{Digest, Sha256};

fn main() -> std::io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let mut files = vec![root.join("../Cargo.lock")];
    collect(&root.join("src"), &mut files)?;
    files.sort();
    let mut hash = Sha256::new();
    for file in files {
        // A copy of this crate alone has no lock file.
        let bytes = fs::read(&file).unwrap_or_default();
        let name = file.strip_prefix(&root).unwrap_or(&file);
        hash.update(name.to_string_lossy().replace('\\', "/"));
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    }
    println!("cargo::rerun-if-changed=src");
    println!("cargo::rerun-if-changed=../Cargo.lock");
    println!("cargo::rerun-if-changed=build.rs");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    let digest: [u8; 32] = hash.finalize().into();
    fs::write(out.join("fold.rs"), format!("{digest:?}"))
}

/// Every file below a folder.
fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}
