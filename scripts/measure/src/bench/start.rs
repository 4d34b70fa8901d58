//! Starts of the app on a nursery that is kept on the device: from a new browser process, without a network.

use super::{Bound, Measured, STARTS, USABLE, storage};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::Server;

/// When every entry was in memory.
const WHOLE: &str = "performance.getEntriesByName('bloomdue-whole')[0]?.startTime";

/// Below this many entries nothing is kept but the entries; the app's own limit.
const KEPT_FROM: u64 = 3_000;

/// Rows of kept state, over all nurseries here.
const KEPT_ROWS: &str = "(async () => {
    let n = 0;
    for (const { name } of await indexedDB.databases()) {
        if (!name.startsWith('bloomdue') || !name.includes('-l_')) continue;
        const database = await new Promise((done, failed) => {
            const request = indexedDB.open(name);
            request.onsuccess = () => done(request.result);
            request.onerror = () => failed(request.error);
        });
        n += await new Promise((done) => {
            const request = database.transaction('cache').objectStore('cache').count();
            request.onsuccess = () => done(request.result);
        });
        database.close();
    }
    return n;
})()";

/// Tasks over 50 ms after the first screen until every entry was in memory, the longest one.
const LONGEST_BEHIND: &str = "new Promise((done) => {
    const [usable] = performance.getEntriesByName('bloomdue-usable');
    const [whole] = performance.getEntriesByName('bloomdue-whole');
    new PerformanceObserver((list, watch) => {
        watch.disconnect();
        const behind = list.getEntries().filter((task) => task.startTime > usable.startTime && task.startTime < whole.startTime);
        done(Math.max(0, ...behind.map((task) => task.duration)));
    }).observe({ type: 'longtask', buffered: true });
    setTimeout(() => done(0), 500);
})";

/// One start: when the first screen could be used, and the longest task behind it, in ms.
struct Start {
    usable_ms: f64,
    longest_ms: f64,
}

fn starts(server: &Server, n_entries: u64) -> Result<Vec<Start>> {
    let mut page = storage::Page::new(server)?;
    page.fill(server, n_entries)?;
    let browser = &mut page.browser;
    browser.open("about:blank")?;
    browser.open(server.address())?;
    browser.wait_until(USABLE)?;
    browser.eval("navigator.serviceWorker.ready.then(() => true)")?;
    let kept = n_entries >= KEPT_FROM;
    for _ in 0..60 {
        if !kept || browser.eval(KEPT_ROWS)?.as_u64().is_some_and(|n| n > 0) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_secs(1));
    }
    ensure!(!kept || browser.eval(KEPT_ROWS)? != 0, "the state was not kept within a minute");
    let mut starts = Vec::new();
    for _ in 0..STARTS {
        browser.kill_and_reopen()?;
        browser.set_offline(true)?;
        browser.slow_down(4.0)?;
        browser.open(server.address())?;
        browser.wait_until(USABLE)?;
        let usable_ms = storage::number(&browser.eval(USABLE)?)?;
        let mut longest_ms = 0.0;
        if kept {
            browser.wait_within(WHOLE, std::time::Duration::from_secs(60))?;
            longest_ms = storage::number(&browser.eval(LONGEST_BEHIND)?)?;
        }
        starts.push(Start { usable_ms, longest_ms });
    }
    Ok(starts)
}

fn usable(server: &Server, n_entries: u64, at_most_ms: f64) -> Result<Measured> {
    let starts = starts(server, n_entries).context("starting the app")?;
    Ok(Measured {
        value: storage::median(starts.iter().map(|start| start.usable_ms).collect()),
        bound: Bound::AtMost(at_most_ms),
        unit: "ms",
    })
}

pub(super) fn with_20_000(server: &Server) -> Result<Measured> {
    usable(server, 20_000, 900.0)
}

pub(super) fn with_100_000(server: &Server) -> Result<Measured> {
    usable(server, 100_000, 2000.0)
}

pub(super) fn longest_task_behind(server: &Server) -> Result<Measured> {
    let starts = starts(server, 100_000).context("starting the app")?;
    Ok(Measured {
        value: storage::median(starts.iter().map(|start| start.longest_ms).collect()),
        bound: Bound::AtMost(50.0),
        unit: "ms",
    })
}
