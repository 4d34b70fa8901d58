//! The browser killed at any moment after something was said to be saved, over and over, on the screens themselves.
//!
//! `BLOOMDUE_KILLS` says how often (`cargo xtask soak kills`: 200 times).

use crate::offline::STARTED;
use crate::slice::{give, go, start, written};
use crate::{Check, Device, Ground, Host};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::Value;
use std::collections::BTreeMap;
use std::time::Duration;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![whatever_was_said_to_be_saved_outlives_a_kill];

/// How often in the usual test.
const KILLS: u32 = 20;
/// The browser is killed up to so long after it was said; another save is begun in the midst of that.
const DELAY_MAX_MS: u64 = 900;
const NEXT_SAVE_AFTER_MS: u64 = 420;

/// What stands in the nursery's storage, read past the app: own lines, entries said to have arrived, rows, photos.
const STOCK: &str = "(async () => {
    const done = (asked) => new Promise((yes, no) => { asked.onsuccess = () => yes(asked.result); asked.onerror = no; });
    for (const { name } of await indexedDB.databases()) {
        const base = await done(indexedDB.open(name));
        try {
            if (!base.objectStoreNames.contains('tail')) continue;
            const read = base.transaction(['meta', 'tail', 'attachments']);
            const row = async (key) => {
                const bytes = await done(read.objectStore('meta').get(key));
                return bytes && JSON.parse(new TextDecoder().decode(bytes));
            };
            const [line, blocks] = [await row('line'), await row('blocks')];
            const inBlocks = (blocks?.blocks ?? []).reduce((sum, block) => sum + block.n, 0);
            return {
                own: line.line,
                arrived: line.arrived,
                rows: inBlocks + await done(read.objectStore('tail').count()),
                photos: await done(read.objectStore('attachments').count()),
            };
        } finally {
            base.close();
        }
    }
})()";

#[derive(Clone, Copy, Debug)]
struct Stock {
    own: u64,
    arrived: u64,
    rows: u64,
    photos: u64,
}

fn stock(browser: &mut Browser) -> Result<Stock> {
    let found = browser.eval(STOCK)?;
    let number = |name: &str| {
        let number = found[name].as_u64();
        number.with_context(|| format!("{name} in {found}"))
    };
    Ok(Stock { own: number("own")?, arrived: number("arrived")?, rows: number("rows")?, photos: number("photos")? })
}

/// Delays that differ from kill to kill and are the same in every run (Knuth's linear congruential generator).
struct Delays(u64);

impl Delays {
    fn next(&mut self) -> Duration {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        Duration::from_millis((self.0 >> 33) % DELAY_MAX_MS)
    }
}

/// What is saved before a kill, and what that adds at least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Act {
    Look,
    Photo,
    TakeIn,
}

fn whatever_was_said_to_be_saved_outlives_a_kill(ground: &Ground) -> Result<()> {
    let n_kills = match std::env::var("BLOOMDUE_KILLS") {
        Ok(text) => text.parse().context("BLOOMDUE_KILLS is a number")?,
        Err(_) => KILLS,
    };
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    // Seven kills of ten take up to two bulbs each, a colleague's file one.
    let n_bulbs = n_kills * 3 / 2 + 20;
    start(browser, host.server.address(), &n_bulbs.to_string())?;
    browser.tap("Walk through")?;
    browser.wait_until("location.hash.endsWith('/walk')")?;
    let walk = browser.eval("location.hash.slice(1)")?;
    let walk = walk.as_str().context("the walk has an address")?.to_owned();
    let files = files_of_a_colleague(browser, &host, &walk, n_kills / 10 + 1)?;
    let mut files = files.iter();
    let mut delays = Delays(1);
    let mut times: BTreeMap<String, u32> = BTreeMap::new();
    for n in 0..n_kills {
        let act = match n % 10 {
            0 => Act::TakeIn,
            3 | 7 => Act::Photo,
            _ => Act::Look,
        };
        let before = stock(browser)?;
        match act {
            Act::Look => look(browser, &walk)?,
            Act::Photo => photo(browser, walk.trim_end_matches("/walk"), n)?,
            Act::TakeIn => take_in(browser, files.next().context("a file for each take-in")?)?,
        }
        std::thread::sleep(delays.next());
        browser.kill_and_reopen()?;
        browser.open(host.server.address())?;
        browser.wait_until(STARTED)?;
        browser.see("Hollow Lane")?;
        let after = stock(browser)?;
        let told = format!("after kill {n}, {act:?}: {before:?} became {after:?}");
        ensure!(after.arrived == after.rows, "{told}");
        ensure!(after.arrived > before.arrived, "{told}");
        ensure!(act == Act::TakeIn || after.own > before.own, "{told}");
        ensure!(act != Act::Photo || after.photos > before.photos, "{told}");
        *times.entry(format!("{act:?}")).or_default() += 1;
    }
    let last = stock(browser)?;
    let file = written(browser)?;
    let file: Value = serde_json::from_str(file.as_str().context("the file is text")?)?;
    all_there(&file, last)?;
    println!("        {n_kills} kills: {times:?}; {last:?}");
    browser.finish()
}

/// The file with all records names every line of every device once, without gaps, and every photo is in it.
fn all_there(file: &Value, last: Stock) -> Result<()> {
    let entries = file["entries"].as_array().context("entries")?;
    ensure!(entries.len() as u64 == last.arrived, "{} records of {last:?} are in the file", entries.len());
    let mut lines: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for entry in entries {
        let envelope = &entry["entry"];
        let device = envelope["device"].as_str().context("a device")?;
        let line = envelope["line"].as_u64().context("a line")?;
        lines.entry(device).or_default().push(line);
    }
    for (device, mut lines) in lines {
        lines.sort_unstable();
        let wanted: Vec<u64> = (1..=lines.len() as u64).collect();
        ensure!(lines == wanted, "{device} has gaps: {lines:?}");
    }
    Ok(())
}

/// Said at the foot of the screen.
const SAID: &str = "document.querySelector('.said').innerText.trim()";

fn look(browser: &mut Browser, walk: &str) -> Result<()> {
    go(browser, walk)?;
    browser.wait_until("document.querySelector('.walk .slot-1')")?;
    browser.tap("css:.walk .slot-1")?;
    browser.wait_until(&format!("{SAID} !== ''"))?;
    // One more, which may be killed at any point on its way; nobody has said of it that it is saved.
    browser.eval(&format!(
        "void setTimeout(() => document.querySelector('.walk .slot-1')?.click(), {NEXT_SAVE_AFTER_MS})"
    ))?;
    Ok(())
}

fn photo(browser: &mut Browser, place: &str, n: u32) -> Result<()> {
    go(browser, place)?;
    browser.wait_until("document.querySelector('input[type=file]')")?;
    browser.eval(&format!(
        "(async () => {{ const canvas = document.createElement('canvas'); canvas.width = 640; canvas.height = 480; \
         const draw = canvas.getContext('2d'); draw.fillStyle = `hsl(${{{n} * 7}} 50% 50%)`; draw.fillRect(0, 0, 640, 400 - {n}); \
         const blob = await new Promise((done) => canvas.toBlob(done)); const files = new DataTransfer(); \
         files.items.add(new File([blob], 'bench.png', {{type: 'image/png'}})); \
         const field = [...document.querySelectorAll('input[type=file]')].pop(); field.files = files.files; \
         field.dispatchEvent(new Event('change', {{bubbles: true}})); }})()"
    ))?;
    browser.wait_until(&format!("{SAID}.includes('hoto')"))
}

fn take_in(browser: &mut Browser, file: &Value) -> Result<()> {
    go(browser, "/files/in")?;
    give(browser, file)?;
    browser.see("Hollow Lane")?;
    browser.tap("css:.btn.main")?;
    browser.see("taken in")
}

/// A colleague joins and looks at one more bulb before each file.
fn files_of_a_colleague(browser: &mut Browser, host: &Host, walk: &str, n_files: u32) -> Result<Vec<Value>> {
    let beginning = written(browser)?;
    let mut other = Device::new(Screen::phone())?;
    let other = &mut other.browser;
    other.open(host.server.address())?;
    other.tap("Join one: take in a colleague's file")?;
    give(other, &beginning)?;
    other.see("Hollow Lane")?;
    other.tap("css:.btn.main")?;
    other.see("records taken in")?;
    // Who records here is asked once.
    other.tap("EK")?;
    other.wait_until("location.hash === '#/due'")?;
    let mut files = Vec::new();
    for _ in 0..n_files {
        other.eval("new Promise((done) => setTimeout(done, 420))")?;
        go(other, walk)?;
        let heading = "document.querySelector('[data-heading]').textContent";
        let before = other.eval(heading)?;
        other.tap("css:.walk .slot-1")?;
        other.wait_until(&format!("{heading} !== {before}"))?;
        files.push(written(other)?);
    }
    other.finish()?;
    Ok(files)
}
