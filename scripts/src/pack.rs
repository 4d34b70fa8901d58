//! From built parts to a folder of plain files: hashed names, one version, the offline list.
//!
//! Whatever may be kept for ever carries the hash of its bytes in its name. `index.html`, `sw.js`,
//! `reset.*`, the manifest and the icons keep their names, because something outside refers to them.
//! The version is a hash over every byte that is served, so two builds share it only when they are equal.

use anyhow::{Context, Result, bail};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What cargo and wasm-bindgen made.
pub struct App {
    /// The module, already bound.
    pub wasm: Vec<u8>,
    /// The script that loads it.
    pub glue: String,
    /// The script that fetches the parts; it and the glue name each other.
    pub link: String,
    /// Parts of the module that the first screens can do without, by file name.
    pub parts: BTreeMap<String, Vec<u8>>,
}

/// The name under which glue and module know the link script.
pub const LINK: &str = "__wasm_split.js";

/// Files that the page needs before its first screen can be used, by their name's beginning and end.
pub const FIRST_VISIT: &[(&str, &str)] = &[
    ("index", ".html"),
    ("style", ".css"),
    ("boot", ".js"),
    ("bloomdue", ".js"),
    ("link", ".js"),
    ("bloomdue", ".wasm"),
];

/// Files with a part of their own below; everything else in `static` is served as it is.
const TEMPLATES: &[&str] = &["index.html", "boot.js", "work.js", "sw.js", "reset.html"];

/// Served, but not kept for offline use: the worker itself, and the page that can mend a broken worker.
pub const OUTSIDE_THE_WORKER: &[&str] = &["sw.js", "reset.html", "reset.js"];

/// The section of the wasm that names the version it was packed with.
const VERSION_SECTION: &str = "bloomdue-version";

/// Writes the whole app into `out` and answers its version.
///
/// `salt` changes the version without changing the app, to try an update.
///
/// # Errors
///
/// When a static file is missing or cannot be read, when a placeholder is left over,
/// or when `out` holds something that is not an earlier build.
pub fn write(app: &App, statics: &Path, out: &Path, salt: &str) -> Result<String> {
    let files = compose(app, read_tree(statics)?, salt)?;
    clear(out)?;
    for (name, bytes) in &files.named {
        let path = out.join(name);
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        std::fs::write(&path, bytes).with_context(|| format!("writing {}", path.display()))?;
    }
    Ok(files.version)
}

/// A finished app in memory.
struct Files {
    version: String,
    named: BTreeMap<String, Vec<u8>>,
}

/// Gives every part its name and puts names, version and list where they belong.
fn compose(app: &App, mut statics: BTreeMap<String, Vec<u8>>, salt: &str) -> Result<Files> {
    let style = take_style(&mut statics)?;
    let version = version(app, &style, &statics, salt);
    let mut templates = BTreeMap::new();
    for name in TEMPLATES {
        let bytes = statics.remove(*name).with_context(|| format!("web/static lacks {name}"))?;
        templates.insert(*name, String::from_utf8(bytes)?);
    }

    let mut named = statics;
    let wasm = with_version(&app.wasm, &version);
    let mut words = vec![("__VERSION__", version.clone())];
    words.push(("__WASM__", add(&mut named, "bloomdue", "wasm", wasm)));
    words.push(("__STYLE__", add(&mut named, "style", "css", style)));
    words.push(("__GLUE__", add_scripts(&mut named, app)?));
    let work = fill(&templates["work.js"], &words)?;
    words.push(("__WORK__", add(&mut named, "work", "js", work.into_bytes())));
    let boot = fill(&templates["boot.js"], &words)?;
    words.push(("__BOOT__", add(&mut named, "boot", "js", boot.into_bytes())));
    for name in ["index.html", "reset.html"] {
        named.insert(name.to_owned(), fill(&templates[name], &words)?.into_bytes());
    }
    words.push(("__LIST__", offline_list(&named)?));
    named.insert("sw.js".to_owned(), fill(&templates["sw.js"], &words)?.into_bytes());
    Ok(Files { version, named })
}

/// Adds a file under a name made from its bytes, and answers that name.
fn add(named: &mut BTreeMap<String, Vec<u8>>, stem: &str, end: &str, bytes: Vec<u8>) -> String {
    let name = format!("{stem}-{}.{end}", &hex(&bytes)[..16]);
    named.insert(name.clone(), bytes);
    name
}

/// Adds glue, link script and parts, and answers the glue's name.
///
/// Glue and link name each other, so neither's name can come from its own bytes: both carry a hash over the two.
///
/// # Errors
///
/// When a script no longer says what is changed in it here.
fn add_scripts(named: &mut BTreeMap<String, Vec<u8>>, app: &App) -> Result<String> {
    // Hosts that give wasm another type than its own would fail the streaming.
    let streaming = "WebAssembly.instantiateStreaming(src, imports)";
    let whole = "WebAssembly.instantiate(await (await src).arrayBuffer(), imports)";
    let mut link = replaced(&app.link, streaming, whole)?;
    for (name, bytes) in &app.parts {
        let hashed = add(named, "part", "wasm", bytes.clone());
        link = replaced(&link, &format!("./{name}"), &format!("./{hashed}"))?;
    }
    let hash = &hex(format!("{}{link}", app.glue).as_bytes())[..16];
    let (glue_name, link_name) = (format!("bloomdue-{hash}.js"), format!("link-{hash}.js"));
    // Only where the script is fetched from: the module goes on to ask for its imports by the first name.
    let fetched = format!("from \"./{LINK}\"");
    let glue = replaced(&app.glue, &fetched, &format!("from \"./{link_name}\""))?;
    let link = replaced(&link, "./bloomdue.js", &format!("./{glue_name}"))?;
    named.insert(glue_name.clone(), glue.into_bytes());
    named.insert(link_name, link.into_bytes());
    Ok(glue_name)
}

/// A script that a tool made, with something in it changed.
fn replaced(script: &str, from: &str, to: &str) -> Result<String> {
    anyhow::ensure!(script.contains(from), "the made script lacks `{from}`: its tool has changed, and so must pack.rs");
    Ok(script.replace(from, to))
}

/// Joins the style sheets: tokens, base, then the others by name.
fn take_style(statics: &mut BTreeMap<String, Vec<u8>>) -> Result<Vec<u8>> {
    let mut sheets: Vec<String> =
        statics.keys().filter(|name| name.starts_with("style/") && name.ends_with(".css")).cloned().collect();
    sheets.sort_by_key(|name| match name.as_str() {
        "style/tokens.css" => (0, String::new()),
        "style/base.css" => (1, String::new()),
        other => (2, other.to_owned()),
    });
    if sheets.first().map(String::as_str) != Some("style/tokens.css") {
        bail!("web/static/style lacks tokens.css");
    }
    let mut joined = Vec::new();
    for name in sheets {
        joined.extend(statics.remove(&name).unwrap_or_default());
        joined.push(b'\n');
    }
    Ok(joined)
}

/// A hash over everything that will be served, before names are put in.
fn version(app: &App, style: &[u8], statics: &BTreeMap<String, Vec<u8>>, salt: &str) -> String {
    let mut all = Sha256::new();
    let mut add = |name: &str, bytes: &[u8]| {
        all.update(name.as_bytes());
        all.update([0]);
        all.update(Sha256::digest(bytes));
    };
    add("wasm", &app.wasm);
    add("glue", app.glue.as_bytes());
    add("link", app.link.as_bytes());
    for (name, bytes) in &app.parts {
        add(name, bytes);
    }
    add("style", style);
    add("salt", salt.as_bytes());
    for (name, bytes) in statics {
        add(name, bytes);
    }
    hex_of(&all.finalize())[..12].to_owned()
}

/// The wasm with a last section that names the version; engines skip sections they don't know.
fn with_version(wasm: &[u8], version: &str) -> Vec<u8> {
    let mut body = vec![u8::try_from(VERSION_SECTION.len()).unwrap_or(u8::MAX)];
    body.extend(VERSION_SECTION.as_bytes());
    body.extend(version.as_bytes());
    let mut all = wasm.to_vec();
    // Both lengths are below 128, so each is a single byte of LEB128.
    all.extend([0, u8::try_from(body.len()).unwrap_or(u8::MAX)]);
    all.extend(body);
    all
}

/// What the worker keeps, as JSON: pairs of relative address and the hash its bytes must have.
///
/// The page itself is listed as `./` and without a hash: some hosts answer `index.html` with a
/// redirection, and some add a line of their own. The worker checks its version instead.
fn offline_list(named: &BTreeMap<String, Vec<u8>>) -> Result<String> {
    let mut list = vec![("./".to_owned(), String::new())];
    for (name, bytes) in named {
        if name != "index.html" && !OUTSIDE_THE_WORKER.contains(&name.as_str()) {
            let hash = BASE64.encode(Sha256::digest(bytes));
            list.push((name.clone(), format!("sha256-{hash}")));
        }
    }
    Ok(serde_json::to_string(&list)?)
}

/// Puts words in the place of their placeholders.
///
/// # Errors
///
/// When a placeholder without a word is left.
fn fill(text: &str, words: &[(&str, String)]) -> Result<String> {
    let mut text = text.to_owned();
    for (word, value) in words {
        text = text.replace(word, value);
    }
    for word in ["__VERSION__", "__WASM__", "__GLUE__", "__STYLE__", "__WORK__", "__BOOT__", "__LIST__"] {
        anyhow::ensure!(!text.contains(word), "nothing known to put for {word}");
    }
    Ok(text)
}

/// Every file below a folder, by its path with forward strokes.
///
/// # Errors
///
/// When the folder or a file in it cannot be read.
pub fn read_tree(folder: &Path) -> Result<BTreeMap<String, Vec<u8>>> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![PathBuf::new()];
    while let Some(inner) = waiting.pop() {
        let here = folder.join(&inner);
        let entries = std::fs::read_dir(&here).with_context(|| format!("reading {}", here.display()))?;
        for entry in entries {
            let entry = entry?;
            let path = inner.join(entry.file_name());
            if entry.file_type()?.is_dir() {
                waiting.push(path);
            } else {
                let name = path.to_string_lossy().replace('\\', "/");
                found.insert(name, std::fs::read(entry.path())?);
            }
        }
    }
    Ok(found)
}

/// Empties the folder for the next build, but only when what it holds is a build.
fn clear(out: &Path) -> Result<()> {
    if !out.exists() {
        return Ok(std::fs::create_dir_all(out)?);
    }
    let empty = std::fs::read_dir(out)?.next().is_none();
    if !empty && !out.join("sw.js").is_file() {
        bail!("{} holds something else than an earlier build", out.display());
    }
    std::fs::remove_dir_all(out)?;
    Ok(std::fs::create_dir_all(out)?)
}

/// The SHA-256 of some bytes in hexadecimal.
fn hex(bytes: &[u8]) -> String {
    hex_of(&Sha256::digest(bytes))
}

fn hex_of(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::{App, Files, compose, read_tree};
    use crate::system::root;

    fn packed(wasm: &[u8], salt: &str) -> Files {
        compose(&app(wasm), read_tree(&root().join("web/static")).unwrap(), salt).unwrap()
    }

    fn app(wasm: &[u8]) -> App {
        App {
            wasm: wasm.to_vec(),
            glue: r#"import * as link from "./__wasm_split.js"; ({ "./__wasm_split.js": link })"#.to_owned(),
            link: "import { initSync } from './bloomdue.js'; fetch('./second.wasm'); \
                   WebAssembly.instantiateStreaming(src, imports)"
                .to_owned(),
            parts: [("second.wasm".to_owned(), EMPTY_WASM.to_vec())].into(),
        }
    }

    /// An empty module: magic and version of the binary format.
    const EMPTY_WASM: &[u8] = b"\0asm\x01\0\0\0";

    #[test]
    fn equal_parts_give_equal_versions_and_any_change_gives_another() {
        let one = packed(EMPTY_WASM, "");
        assert_eq!(one.version, packed(EMPTY_WASM, "").version);
        assert_ne!(one.version, packed(EMPTY_WASM, "next").version);
        assert_ne!(one.version, packed(b"\0asm\x01\0\0\0\0\x02\x01a", "").version);
    }

    #[test]
    fn every_file_is_kept_offline_but_the_worker_and_the_mending_page() {
        let files = packed(EMPTY_WASM, "");
        let worker = String::from_utf8(files.named["sw.js"].clone()).unwrap();
        for name in files.named.keys() {
            let outside = ["sw.js", "reset.html", "reset.js", "index.html"].contains(&name.as_str());
            assert_eq!(worker.contains(&format!("[\"{name}\",\"sha256-")), !outside, "{name}");
        }
        assert!(worker.contains("[\"./\",\"\"]"));
        assert!(worker.contains(&files.version));
    }

    #[test]
    fn pages_name_only_files_that_exist_and_only_relative_ones() {
        let files = packed(EMPTY_WASM, "");
        for page in ["index.html", "reset.html"] {
            let text = String::from_utf8(files.named[page].clone()).unwrap();
            for part in text
                .split(['"'])
                .filter(|part| part.ends_with(".js") || part.ends_with(".css") || part.ends_with(".wasm"))
            {
                assert!(files.named.contains_key(part), "{page} names {part}");
            }
            assert!(!text.contains("=\"/"), "{page} has an absolute path");
        }
    }

    #[test]
    fn scripts_and_parts_find_each_other() {
        let files = packed(EMPTY_WASM, "");
        let name = |stem: &str, end: &str| {
            let all = files.named.keys();
            let mut fitting = all.filter(|name| name.starts_with(stem) && name.ends_with(end));
            fitting.next().unwrap().clone()
        };
        let (glue, link, part) = (name("bloomdue-", ".js"), name("link-", ".js"), name("part-", ".wasm"));
        let (boot, work) = (name("boot-", ".js"), name("work-", ".js"));
        let text = |name: &str| String::from_utf8(files.named[name].clone()).unwrap();
        assert!(text(&glue).starts_with(&format!("import * as link from \"./{link}\"")));
        assert!(text(&glue).contains("{ \"./__wasm_split.js\": link }"));
        assert!(text(&link).contains(&format!("'./{glue}'")));
        assert!(text(&link).contains(&format!("'./{part}'")));
        assert!(text(&boot).contains(&format!("\"./{work}\"")));
        assert!(text(&work).contains(&format!("from \"./{glue}\"")));
    }

    #[test]
    fn a_script_in_which_nothing_is_found_to_change_is_refused() {
        let good = app(EMPTY_WASM);
        let statics = || read_tree(&root().join("web/static")).unwrap();
        assert!(compose(&good, statics(), "").is_ok());
        for gone in ["instantiateStreaming(src, imports)", "./second.wasm", "./bloomdue.js"] {
            let link = good.link.replace(gone, "");
            assert!(compose(&App { link, ..app(EMPTY_WASM) }, statics(), "").is_err(), "{gone}");
        }
        assert!(compose(&App { glue: String::new(), ..good }, statics(), "").is_err());
    }

    #[test]
    fn the_wasm_ends_with_the_version() {
        let files = packed(EMPTY_WASM, "");
        let (_, wasm) =
            files.named.iter().find(|(name, _)| name.starts_with("bloomdue-") && name.ends_with(".wasm")).unwrap();
        assert!(wasm.starts_with(EMPTY_WASM));
        assert!(wasm.ends_with(files.version.as_bytes()));
    }
}
