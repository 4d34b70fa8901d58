//! `cargo xtask size`: what a phone has to fetch and keep, compressed, beside the budgets.

use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use wasmparser::{KnownCustom, Name, Parser, Payload};
use xtask::args::Args;
use xtask::build::{self, Extra, Profile};
use xtask::pack::{FIRST_VISIT, OUTSIDE_THE_WORKER, read_tree};

/// Budgets in bytes after brotli at its best quality. They were set again when recording, refusing and their words had
/// come into the first part, where a save waits for nothing, by standard parts throughout: what that measured, and a
/// twelfth more. A size may grow with what growers get, not by carelessness.
const FIRST_VISIT_BUDGET_BYTES: usize = 600 * 1024;
const OFFLINE_BUDGET_BYTES: usize = 1900 * 1024;

/// Crates below this many bytes are summed up in one line.
const CRATE_SHOWN_BYTES: usize = 5 * 1024;

/// `cargo xtask size`.
///
/// # Errors
///
/// When something cannot be built, or a budget is exceeded.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let no_build = args.switch("--no-build");
    let n_functions = args.number("--functions")?.unwrap_or(0);
    args.end()?;
    let dist = Profile::App.dist();
    if !no_build {
        build::build(Profile::App, Extra::None, &dist, "")?;
    }
    let files = read_tree(&dist)?;
    let mut first = 0;
    let mut offline = 0;
    let (mut app_wasm, mut part_wasm) = (0, 0);
    println!("{:>10} {:>10}  file", "raw", "brotli");
    for (name, bytes) in &files {
        if OUTSIDE_THE_WORKER.contains(&name.as_str()) {
            continue;
        }
        let small = brotli_len(bytes)?;
        offline += small;
        let at_once = is_first_visit(name);
        if at_once {
            first += small;
        }
        if name.starts_with("bloomdue-") && name.ends_with(".wasm") {
            app_wasm = small;
        } else if name.starts_with("part-") {
            part_wasm += small;
        }
        let mark = if at_once { " *" } else { "" };
        println!("{:>10} {small:>10}  {name}{mark}", bytes.len());
    }
    println!();
    let mut over = false;
    for (what, measured, budget) in
        [("first visit (*)", first, FIRST_VISIT_BUDGET_BYTES), ("kept for offline use", offline, OFFLINE_BUDGET_BYTES)]
    {
        let good = measured <= budget;
        over |= !good;
        println!(
            "{what:<24} {:>7.1} KiB of {:>4} KiB  {}",
            kib(measured),
            budget / 1024,
            if good { "ok" } else { "OVER" }
        );
    }
    print_crates(app_wasm, part_wasm, n_functions)?;
    if over {
        bail!("over budget");
    }
    Ok(())
}

fn is_first_visit(name: &str) -> bool {
    FIRST_VISIT.iter().any(|(stem, end)| name.starts_with(stem) && name.ends_with(end))
}

#[expect(clippy::cast_precision_loss, reason = "printed with one decimal")]
fn kib(bytes: usize) -> f64 {
    bytes as f64 / 1024.0
}

/// The length after brotli at quality 11 with its largest ordinary window.
fn brotli_len(bytes: &[u8]) -> Result<usize> {
    let params =
        brotli::enc::BrotliEncoderParams { quality: 11, lgwin: 22, size_hint: bytes.len(), ..Default::default() };
    let mut small = Vec::new();
    brotli::BrotliCompress(&mut &bytes[..], &mut small, &params)?;
    Ok(small.len())
}

/// Prints each crate's share of the app's wasm, of what comes first and of what comes later.
///
/// An estimate: the bodies of functions are counted by the crate that their names begin with, generic
/// code by the type or trait it was made for, and the compressed total is split in the same proportion.
fn print_crates(first_brotli: usize, later_brotli: usize, n_functions: usize) -> Result<()> {
    // What was compiled last may have been the checks' build.
    build::compile(Profile::App, Extra::None)?;
    let named = build::bind(Profile::App, true)?;
    println!("\nshare of the app's wasm by crate (estimated: raw code, scaled to the compressed size)");
    print_shares("first", &shares(&named.wasm)?, first_brotli);
    let mut later = BTreeMap::new();
    for part in named.parts.values() {
        for (name, bytes) in shares(part)? {
            *later.entry(name).or_default() += bytes;
        }
    }
    print_shares("later", &later, later_brotli);
    print_functions("first", &named.wasm, n_functions)?;
    for part in named.parts.values() {
        print_functions("later", part, n_functions)?;
    }
    Ok(())
}

/// Prints the largest functions, in raw bytes.
fn print_functions(when: &str, wasm: &[u8], n_functions: usize) -> Result<()> {
    let (mut functions, _) = functions(wasm)?;
    functions.sort_by(|(a, a_bytes), (b, b_bytes)| b_bytes.cmp(a_bytes).then_with(|| a.cmp(b)));
    for (name, bytes) in functions.iter().take(n_functions) {
        println!("{bytes:>8} bytes  {when}  {}", without_hashes(name));
    }
    Ok(())
}

fn print_shares(when: &str, shares: &BTreeMap<String, usize>, brotli: usize) {
    let total: usize = shares.values().sum();
    let mut rows: Vec<(usize, &str)> =
        shares.iter().map(|(name, bytes)| (bytes * brotli / total.max(1), name.as_str())).collect();
    rows.sort_by(|a, b| b.cmp(a));
    let mut rest = 0;
    for (bytes, name) in rows {
        if bytes >= CRATE_SHOWN_BYTES {
            println!("{:>8.1} KiB  {when}  {name}", kib(bytes));
        } else {
            rest += bytes;
        }
    }
    println!("{:>8.1} KiB  {when}  all below 5 KiB", kib(rest));
}

/// Raw bytes of code by crate, and of the data sections under a name of their own.
fn shares(wasm: &[u8]) -> Result<BTreeMap<String, usize>> {
    let (functions, data_bytes) = functions(wasm)?;
    let mut shares = BTreeMap::from([("(texts and tables)".to_owned(), data_bytes)]);
    for (name, bytes) in functions {
        *shares.entry(crate_of(&name)).or_default() += bytes;
    }
    Ok(shares)
}

/// Every function's name with the raw bytes of its body, and those of the data sections.
fn functions(wasm: &[u8]) -> Result<(Vec<(String, usize)>, usize)> {
    let mut imported = 0;
    let mut bodies = Vec::new();
    let mut names = BTreeMap::new();
    let mut data_bytes = 0;
    for payload in Parser::new(0).parse_all(wasm) {
        match payload.context("reading the bound wasm")? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    if matches!(import?.ty, wasmparser::TypeRef::Func(_) | wasmparser::TypeRef::FuncExact(_)) {
                        imported += 1;
                    }
                }
            }
            Payload::CodeSectionEntry(body) => bodies.push(len(&body.range())?),
            Payload::DataSection(data) => data_bytes += len(&data.range())?,
            Payload::CustomSection(section) => {
                if let KnownCustom::Name(sections) = section.as_known() {
                    for section in sections {
                        if let Name::Function(map) = section? {
                            for naming in map {
                                let naming = naming?;
                                names.insert(naming.index, rustc_demangle::demangle(naming.name).to_string());
                            }
                        }
                    }
                }
            }
            _ => {}
        }
    }
    let functions = (imported..).zip(bodies).map(|(index, bytes)| {
        let name = names.get(&index).cloned();
        (name.unwrap_or_else(|| "(no name)".to_owned()), bytes)
    });
    Ok((functions.collect(), data_bytes))
}

fn len(range: &std::ops::Range<u64>) -> Result<usize> {
    Ok(usize::try_from(range.end - range.start)?)
}

/// The crate a demangled function name begins with: `<a::B as c::D>::e` counts for `a`,
/// unless `a` is the standard library; then the next crate named decides.
fn crate_of(name: &str) -> String {
    const STANDARD: &[&str] = &["core", "alloc", "std", "__rustc"];
    let name = without_hashes(name);
    let mut standard = false;
    for path in name.split(|sign: char| !(sign.is_alphanumeric() || "_:".contains(sign))) {
        let Some((first, _)) = path.split_once("::") else {
            continue;
        };
        if STANDARD.contains(&first) {
            standard = true;
        } else if first.starts_with(|sign: char| sign.is_ascii_lowercase()) {
            return first.to_owned();
        }
    }
    if standard { "core, alloc, std".to_owned() } else { "(no crate)".to_owned() }
}

/// Takes out the `[0123456789abcdef]` that tells crates of one name apart.
fn without_hashes(name: &str) -> String {
    let mut rest = name;
    let mut plain = String::new();
    while let Some((before, after)) = rest.split_once('[') {
        plain.push_str(before);
        match after.split_once(']') {
            Some((hash, after)) if hash.len() >= 8 && hash.bytes().all(|b| b.is_ascii_hexdigit()) => {
                rest = after;
            }
            _ => {
                plain.push('[');
                rest = after;
            }
        }
    }
    plain.push_str(rest);
    plain
}

#[cfg(test)]
mod tests {
    use super::crate_of;

    #[test]
    fn a_function_belongs_to_the_crate_its_name_begins_with() {
        assert_eq!(crate_of("leptos::mount::mount_to::h12"), "leptos");
        assert_eq!(crate_of("<idb::Error as core::fmt::Display>::fmt::h1"), "idb");
        assert_eq!(crate_of("<alloc::vec::Vec<T> as serde_json::Read>::next::h1"), "serde_json");
        assert_eq!(crate_of("core::fmt::write::h1"), "core, alloc, std");
        assert_eq!(crate_of("<&isize as core[c5930c85a12de822]::fmt::Debug>::fmt"), "core, alloc, std");
        assert_eq!(crate_of("<[idb[e24a27700634d609]::Key] as core[c5930c85a12de822]::fmt::Debug>::fmt"), "idb");
        assert_eq!(crate_of("memcpy"), "(no crate)");
    }
}
