//! Rows of storage, measured in Chromium on the built app through its probe at `#/probe`.

use super::{Bound, Measured, season};
use anyhow::{Context, Result, ensure};
use bloomdue_core::ledger::id::Id;
use bloomdue_tests::driver::{Browser, Scratch, Screen, Server};
use serde_json::Value;

/// Interleaved pairs of a bare write and one of ours.
const PAIRS: usize = 300;

/// A page of its own with the probe open, and its profile.
pub(super) struct Page {
    /// Its browser.
    pub(super) browser: Browser,
    _profile: Scratch,
}

impl Page {
    pub(super) fn new(server: &Server) -> Result<Self> {
        let profile = Scratch::new("bench-storage")?;
        let browser = Browser::launch(profile.path(), Screen::phone())?;
        let mut page = Self { browser, _profile: profile };
        page.open(server)?;
        page.browser.eval("bloomdueProbe.open()")?;
        Ok(page)
    }

    fn open(&mut self, server: &Server) -> Result<()> {
        self.browser.open(&format!("{}#/probe", server.address()))?;
        self.browser.wait_until("window.bloomdueProbe")
    }

    /// The probe's nursery, filled from a generated file; gives how long taking it in lasted and the longest task.
    pub(super) fn fill(&mut self, server: &Server, n_entries: u64) -> Result<(f64, f64)> {
        let ledger = self.browser.eval("bloomdueProbe.ledgerId()")?;
        let ledger = Id::parse(ledger.as_str().context("an id")?).map_err(|why| anyhow::anyhow!("{why}"))?;
        let name = format!("bench-{n_entries}.json");
        let path = server.folder().join(&name);
        std::fs::write(&path, season::file(ledger, n_entries)?)?;
        let found = self.browser.eval(&format!(
            "(async () => {{
                const file = await (await fetch('{name}', {{ cache: 'no-store' }})).blob();
                const tasks = [];
                const watch = new PerformanceObserver((list) => tasks.push(...list.getEntries().map((e) => e.duration)));
                watch.observe({{ type: 'longtask' }});
                const start = performance.now();
                const taken = await bloomdueProbe.importText(file);
                const time = performance.now() - start;
                await new Promise((done) => setTimeout(done, 200));
                watch.disconnect();
                return {{ time, longest: Math.max(0, ...tasks), n: taken.nNew }};
            }})()"
        ));
        std::fs::remove_file(&path)?;
        let found = found?;
        ensure!(found["n"] == n_entries, "{n_entries} were to be taken in: {found}");
        Ok((number(&found["time"])?, number(&found["longest"])?))
    }
}

pub(super) fn number(value: &Value) -> Result<f64> {
    value.as_f64().with_context(|| format!("a number, not {value}"))
}

pub(super) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

pub(super) fn take_in(server: &Server) -> Result<Measured> {
    let (time_ms, _) = Page::new(server)?.fill(server, 100_000)?;
    Ok(Measured { value: time_ms / 1000.0, bound: Bound::AtMost(4.0), unit: "s" })
}

pub(super) fn take_in_longest_task(server: &Server) -> Result<Measured> {
    let (_, longest_ms) = Page::new(server)?.fill(server, 100_000)?;
    Ok(Measured { value: longest_ms, bound: Bound::AtMost(50.0), unit: "ms" })
}

/// Our save, as a multiple of one bare strict put and one get in a new transaction on the same page.
fn save(server: &Server, ours: &str, budget: f64) -> Result<Measured> {
    let mut page = Page::new(server)?;
    page.fill(server, 100_000)?;
    let found = page.browser.eval(&format!(
        "(async () => {{
            const opened = await new Promise((done, failed) => {{
                const request = indexedDB.open('bench-bare', 1);
                request.onupgradeneeded = () => request.result.createObjectStore('rows');
                request.onsuccess = () => done(request.result);
                request.onerror = () => failed(request.error);
            }});
            const row = new Uint8Array(600);
            const bare = (key) => new Promise((done, failed) => {{
                const write = opened.transaction('rows', 'readwrite', {{ durability: 'strict' }});
                write.objectStore('rows').put(row, key);
                write.onabort = () => failed(write.error);
                write.oncomplete = () => {{
                    const read = opened.transaction('rows').objectStore('rows').get(key);
                    read.onsuccess = () => done();
                }};
            }});
            const [bares, ours] = [[], []];
            for (let n = 0; n < {PAIRS} + 20; n++) {{
                const start = performance.now();
                await bare(n);
                const between = performance.now();
                await {ours};
                // The first ones warm the code up.
                if (n >= 20) bares.push(between - start), ours.push(performance.now() - between);
            }}
            return {{ bares, ours }};
        }})()"
    ))?;
    let times =
        |name: &str| -> Result<Vec<f64>> { found[name].as_array().context("times")?.iter().map(number).collect() };
    Ok(Measured {
        value: median(times("ours")?) / median(times("bares")?),
        bound: Bound::AtMost(budget),
        unit: "times",
    })
}

pub(super) fn save_one(server: &Server) -> Result<Measured> {
    save(server, "bloomdueProbe.save(1)", 1.5)
}

pub(super) fn save_care_of_300(server: &Server) -> Result<Measured> {
    save(server, "bloomdueProbe.care(300)", 2.0)
}
