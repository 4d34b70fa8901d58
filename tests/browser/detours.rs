//! A whole try with its detours, over ten weeks of a shifted clock and two phones.

use crate::slice::{answer, give, go, start, written};
use crate::{Check, Device, Ground};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![detours_from_nothing_to_a_verdict_on_two_phones];

/// Moves the clock of a page so many weeks ahead of the machine's, from the next load on, and loads it again.
fn in_week(browser: &mut Browser, weeks: u32) -> Result<()> {
    let by_ms = u64::from(weeks) * 7 * 86_400_000;
    let source = format!(
        "(() => {{ const Real = globalThis.RealDate ?? Date; globalThis.RealDate = Real; \
         globalThis.Date = class extends Real {{ \
         constructor(...given) {{ if (given.length === 0) super(Real.now() + {by_ms}); else super(...given); }} \
         static now() {{ return Real.now() + {by_ms}; }} }}; }})()"
    );
    browser.call("Page.addScriptToEvaluateOnNewDocument", json!({"source": source}))?;
    browser.reload()
}

fn bench(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.see("Walk through")
}

/// Walks through the bench: the first so many bulbs get an answer, all others show nothing new.
fn walk(browser: &mut Browser, n: usize, words: &str) -> Result<()> {
    bench(browser)?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 12")?;
    for _ in 0..n {
        answer(browser, words)?;
    }
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    browser.tap("End …")?;
    browser.tap("I looked at all")?;
    browser.see("All 12 bulbs looked at today.")
}

/// Takes what one phone has written into another one.
fn exchange(from: &mut Browser, to: &mut Browser) -> Result<()> {
    let file = written(from)?;
    go(to, "/files/in")?;
    give(to, &file)?;
    to.see("Hollow Lane")?;
    to.tap("css:.btn.main")?;
    to.see("records taken in")
}

fn detours_from_nothing_to_a_verdict_on_two_phones(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let one = &mut device.browser;
    start(one, host.server.address(), "12")?;
    // A try of all twelve, with its due days counted from the start.
    go(one, "/trials")?;
    one.tap("Begin a new trial")?;
    one.tap("Longer or shorter rest?")?;
    one.tap("Next")?;
    one.see("Fixed before the start")?;
    one.tap("days after the start")?;
    one.fill("First day, days after the start", "40")?;
    one.fill("Last day, days after the start", "66")?;
    one.tap("Next")?;
    one.tap("Next")?;
    one.tap("Draw lots and start")?;
    one.see("12 bulbs still waiting")?;
    // A second cultivar, entered under a wrong name and two too many.
    bench(one)?;
    one.tap("Add bulbs")?;
    one.fill("How many bulbs", "6")?;
    one.fill("Cultivar", "Evnfall")?;
    one.tap("Your own names or numbers")?;
    one.fill("Your own names, one a line", "M1\nM2\nM3\nM4\nM5\nM6")?;
    one.tap("Add them")?;
    one.see("18 bulbs · bench")?;
    // A week later the mistake is found: four are of another cultivar, two are not there at all.
    in_week(one, 1)?;
    bench(one)?;
    one.tap("Change several bulbs")?;
    for own in ["M5", "M6"] {
        one.tap(own)?;
    }
    one.tap("Take out of the nursery")?;
    one.see("16 bulbs · bench")?;
    go(one, "/lots")?;
    one.tap("Evnfall")?;
    one.fill("Cultivar", "Moth")?;
    one.tap("Save")?;
    one.see("Lot changed")?;
    // They get a bench of their own.
    go(one, "/places/new")?;
    one.fill("Name of the place", "Shelf")?;
    one.tap("Save and add bulbs")?;
    one.see("More of Moth")?;
    bench(one)?;
    one.tap("Record something done")?;
    one.tap("Move")?;
    one.tap("All 16")?;
    one.tap("None")?;
    for own in ["M1", "M2", "M3", "M4"] {
        one.tap(own)?;
    }
    one.tap("Shelf")?;
    one.tap("css:.btn.main")?;
    one.see("12 bulbs · bench")?;
    walk(one, 0, "")?;
    // A colleague joins in the third week and is asked who she is.
    in_week(one, 3)?;
    let file = written(one)?;
    let mut other = Device::new(Screen::phone())?;
    let two = &mut other.browser;
    two.open(host.server.address())?;
    in_week(two, 3)?;
    two.tap("Join one: take in a colleague's file")?;
    give(two, &file)?;
    two.see("Hollow Lane")?;
    two.tap("css:.btn.main")?;
    two.see("Who are you?")?;
    two.fill("Initials", "BM")?;
    two.tap("css:.btn.main")?;
    two.wait_until("location.hash === '#/due'")?;
    // In the fifth week she types in the paper sheet of the week before.
    in_week(two, 5)?;
    bench(two)?;
    two.tap("Type a walk sheet in")?;
    two.see("Day of the walk")?;
    two.eval(
        "(() => { const day = document.querySelector('input[type=date]'); const at = new Date(day.value + 'T12:00'); \
         at.setDate(at.getDate() - 7); day.value = at.toISOString().slice(0, 10); \
         day.dispatchEvent(new Event('input', {bubbles: true})); })()",
    )?;
    two.tap("All others: same as before")?;
    two.tap("css:.btn.main")?;
    two.see("Typed in: 12 bulbs")?;
    // Stalks at five in the sixth week, seen by one; in flower in the eighth, seen by the other.
    in_week(one, 6)?;
    walk(one, 5, "A stalk")?;
    exchange(one, two)?;
    in_week(two, 8)?;
    walk(two, 5, "First flower open")?;
    exchange(two, one)?;
    // The last look after the last day that counts.
    in_week(one, 10)?;
    walk(one, 0, "")?;
    // Both phones come to the same counts.
    in_week(two, 10)?;
    exchange(one, two)?;
    let mut told = Vec::new();
    for browser in [one, two] {
        go(browser, "/trials")?;
        browser.tap("css:main a.row")?;
        browser.wait_until("location.hash.startsWith('#/run/') && !!document.querySelector('main .bulbs-row')")?;
        // Each group opens on its bulbs.
        browser.eval("document.querySelectorAll('main summary.row').forEach((group) => group.click())")?;
        browser.wait_until("document.querySelectorAll('main a.row .outcome').length === 12")?;
        // What the groups can tell is worked out beside the page: both phones are read when it is there.
        browser.see("How often a gap is noticed, in a table")?;
        let text = browser.eval("document.querySelector('main').innerText")?;
        told.push(text.as_str().context("the page has a text")?.to_owned());
        browser.finish()?;
    }
    let n_in_time = told[0].lines().filter(|line| *line == "in time").count();
    ensure!(n_in_time == 5, "{n_in_time} in time: {}", told[0]);
    ensure!(told[0] == told[1], "one phone says {}, the other {}", told[0], told[1]);
    Ok(())
}
