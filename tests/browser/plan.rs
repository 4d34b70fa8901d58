//! The plan back from a date and what is coming: what is typed outlives leaving, a saved plan leads to its forecast, a
//! forecast that could not be kept is told, and paper gets all of it.

use crate::slice::{demo, go};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;
use std::time::Duration;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_plan_half_typed_is_kept_until_it_is_saved,
    a_plan_ends_on_a_holiday,
    a_forecast_that_was_not_kept_is_told,
    paper_gets_all_of_what_is_coming,
];

/// How long a slow device may work on a forecast or a plan.
const WORKED_OUT: Duration = Duration::from_secs(90);

fn value(browser: &mut Browser, css: &str) -> Result<String> {
    let value = browser.eval(&format!("document.querySelector({css:?}).value"))?;
    Ok(value.as_str().unwrap_or_default().to_owned())
}

const WANTED: &str = "input[inputmode=numeric]";

/// Opens the fields of a part of what is asked, from 1.
pub(crate) fn ask(browser: &mut Browser, part: u32) -> Result<()> {
    browser.tap(&format!("css:.sentence .ed:nth-of-type({part})"))
}

/// Parts of what is asked.
pub(crate) const BULBS: u32 = 1;
pub(crate) const REST: u32 = 3;
pub(crate) const N_WANTED: u32 = 5;
pub(crate) const STAGE: u32 = 6;
pub(crate) const DAYS: u32 = 7;

fn worked_out(browser: &mut Browser, words: &str) -> Result<()> {
    let there = format!("document.body.innerText.includes({})", json!(words));
    browser.wait_within(&there, WORKED_OUT)
}

fn a_plan_half_typed_is_kept_until_it_is_saved(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/trials/plan")?;
    ask(browser, N_WANTED)?;
    browser.fill("At least how many bulbs", "2")?;
    ask(browser, STAGE)?;
    browser.tap("in flower")?;
    browser.see("at least 2 in flower")?;
    // Left at once, before anything would have been kept on the way.
    go(browser, "/due")?;
    browser.see("a plan back from a date")?;
    browser.tap("Go on with what was begun")?;
    browser.see("This goes on with what was typed before.")?;
    browser.see("at least 2 in flower")?;
    ask(browser, N_WANTED)?;
    ensure!(value(browser, WANTED)? == "2", "what was typed is gone");
    // Enter in a part of the sentence sends nothing off.
    worked_out(browser, "What the days are for")?;
    browser.eval("document.querySelector('.asked input').dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }))")?;
    browser.wait_until("location.hash === '#/trials/plan' && !document.querySelector('.undo')")?;
    // The same after a restart.
    worked_out(browser, "What the days are for")?;
    browser.fill("What the days are for", "Lantern Fair")?;
    go(browser, "/due")?;
    browser.reload()?;
    // What comes with the second part moves what stands below it.
    browser.wait_until("!!document.querySelector('.foreseen-place')?.textContent.includes('expect')")?;
    browser.tap("Go on with what was begun")?;
    worked_out(browser, "What the days are for")?;
    ask(browser, N_WANTED)?;
    ensure!(value(browser, WANTED)? == "2", "a restart lost what was typed");
    browser.wait_until("[...document.querySelectorAll('input')].some((field) => field.value === 'Lantern Fair')")?;
    browser.see("at least 2 in flower")?;
    browser.inspect("a plan with its picture", &ground.axe)?;
    browser.check_no_sideways("a plan with its picture")?;
    // Saved, nothing is unfinished any more, and the plan leads to its forecast.
    browser.tap("css:main .act .btn.main")?;
    browser.see("Plan saved")?;
    browser.see("Its jobs")?;
    browser.tap("What is coming in these days")?;
    browser.wait_until("document.querySelector('.chip[aria-pressed=true]')?.innerText.startsWith('Lantern Fair')")?;
    go(browser, "/due")?;
    let unfinished = browser.eval("document.body.innerText.includes('Go on with what was begun')")?;
    ensure!(unfinished == false, "a saved plan is still unfinished");
    browser.finish()
}

/// Writing is refused as it is where the disk is full.
const FULL: &str = "
    const begin = IDBDatabase.prototype.transaction;
    window.full = true;
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
        if (window.full && mode === 'readwrite') throw new DOMException('full', 'QuotaExceededError');
        return begin.call(this, stores, mode, options);
    };";

fn a_plan_ends_on_a_holiday(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/trials/plan")?;
    ask(browser, DAYS)?;
    let days = |browser: &mut Browser| -> Result<(String, String)> {
        let last = "[...document.querySelectorAll('main input[type=date]')].map((day) => day.value)";
        let both = browser.eval(last)?;
        let of = |n: usize| both[n].as_str().unwrap_or_default().to_owned();
        Ok((of(0), of(1)))
    };
    browser.tap("For a holiday")?;
    browser.see("Lunar New Year")?;
    browser.tap("Christmas")?;
    browser.wait_until(
        "[...document.querySelectorAll('main input[type=date]')].some((day) => day.value.endsWith('-12-25'))",
    )?;
    let (from, to) = days(browser)?;
    ensure!(from < to, "due from {from} to {to}");
    // The rule of Mother's Day is kept on this device.
    browser.tap("10 May (Mexico)")?;
    browser.see("Mother's Day, 10 May")?;
    browser.inspect("the days of a plan", &ground.axe)?;
    browser.reload()?;
    browser.see("What you ask")?;
    ask(browser, DAYS)?;
    browser.tap("For a holiday")?;
    browser.see("Mother's Day, 10 May")?;
    browser.finish()
}

fn a_forecast_that_was_not_kept_is_told(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.eval(&format!("{FULL}; 0"))?;
    go(browser, "/due/coming")?;
    worked_out(browser, "This forecast was not kept")?;
    browser.see("this device has no room left")?;
    browser.inspect("a forecast that was not kept", &ground.axe)?;
    // With room again it is kept, and a second time on the same day says nothing.
    browser.eval("window.full = false; 0")?;
    for _ in 0..2 {
        go(browser, "/due")?;
        go(browser, "/due/coming")?;
        worked_out(browser, "Bulb by bulb")?;
        browser.eval("new Promise((done) => setTimeout(done, 600))")?;
        let told = browser.eval("document.querySelector('.problem') !== null")?;
        ensure!(told == false, "something is told that is no problem");
    }
    browser.finish()
}

fn paper_gets_all_of_what_is_coming(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/due/coming")?;
    worked_out(browser, "Bulb by bulb")?;
    let shown = "({ rows: document.querySelectorAll('a.row').length, hidden: [...document.querySelectorAll('button')]
        .filter((one) => one.textContent.startsWith('Show all')).length, tables: document.querySelectorAll('table').length })";
    let before = browser.eval(shown)?;
    ensure!(before["hidden"].as_u64() > Some(0), "nothing was collapsed: {before}");
    // As a browser prints: the event comes, then what stands is laid out.
    browser.call("Page.printToPDF", json!({}))?;
    let after = browser.eval(shown)?;
    ensure!(after["hidden"] == 0, "still collapsed: {after}");
    ensure!(
        after["rows"].as_u64() > before["rows"].as_u64()
            && after["tables"].as_u64() >= before["tables"].as_u64().map(|n| n + 2),
        "before {before}, on paper {after}"
    );
    browser.finish()
}
