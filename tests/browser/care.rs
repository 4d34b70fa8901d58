//! A care plan by taps: usual jobs taken and given to a person; done for a group with an exception, skipped, postponed;
//! and one that comes again.

use crate::slice::{go, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![a_care_plan_by_taps];

/// The civil day so many days before today, as the browser has it.
fn days_ago(browser: &mut Browser, n: u32) -> Result<String> {
    let day = browser.eval(&format!(
        "(() => {{ const at = new Date(); at.setHours(12); at.setDate(at.getDate() - {n}); const two = (n) => String(n).padStart(2, '0'); \
         return at.getFullYear() + '-' + two(at.getMonth() + 1) + '-' + two(at.getDate()); }})()"
    ))?;
    Ok(day.as_str().unwrap_or_default().to_owned())
}

/// Records an act of the rest for all bulbs of the place, some days ago.
pub(crate) fn did(browser: &mut Browser, act: &str, n_days_ago: u32) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Record something done")?;
    browser.tap("Rest")?;
    browser.tap(act)?;
    let day = days_ago(browser, n_days_ago)?;
    browser.tap("today")?;
    browser.fill("When", &day)?;
    browser.tap("css:.btn.main")?;
    browser.see(&format!("{act}: 4 bulbs"))
}

/// The titles of the jobs on Due.
fn jobs(browser: &mut Browser) -> Result<String> {
    let rows = "[...document.querySelectorAll('main .row:not(.done) .name')].map((b) => b.textContent).join('; ')";
    Ok(browser.eval(rows)?.as_str().unwrap_or_default().to_owned())
}

fn a_care_plan_by_taps(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    did(browser, "Stop water", 60)?;
    did(browser, "Lay to rest", 40)?;
    // The usual jobs are taken with one tap each.
    go(browser, "/due")?;
    browser.tap("Care plans")?;
    browser.tap("The whole nursery")?;
    browser.tap("Take: Cut back the leaves")?;
    browser.see("Taken into the care plan: Cut back the leaves")?;
    // Two taps within 400 ms count once.
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    browser.tap("Take: Inspect")?;
    browser.see("Taken into the care plan: Inspect")?;
    browser.inspect("a care plan with jobs", &ground.axe)?;
    // One of them is given to a person: it is yours today.
    browser.tap("Inspect")?;
    browser.tap("EK")?;
    browser.tap("Save")?;
    browser.see("In the care plan: Inspect")?;
    go(browser, "/due")?;
    browser.see("Cut back the leaves")?;
    browser.tap("Yours today (1)")?;
    browser.wait_until(
        "![...document.querySelectorAll('main .row:not(.done) .name')].some((b) => b.textContent.includes('Cut back'))",
    )?;
    let mine = jobs(browser)?;
    ensure!(mine.contains("Inspect"), "yours are {mine}");
    browser.inspect("due with jobs", &ground.axe)?;
    browser.tap("All")?;
    // Done for the whole group but one.
    browser.tap("Cut back the leaves")?;
    browser.tap("All 4")?;
    browser.tap("css:.asked .choice:nth-of-type(1)")?;
    browser.see("All 4 but 1")?;
    browser.inspect("a job with an exception", &ground.axe)?;
    browser.tap("Done")?;
    browser.see("Cut back the leaves: 3 bulbs")?;
    // The one left out is still due; it is skipped, and not without a reason.
    browser.tap("Cut back the leaves")?;
    browser.tap("css:details:nth-last-of-type(1) summary")?;
    browser.tap("css:details[open] .btn")?;
    browser.see("Write in a word or two why it is skipped.")?;
    browser.fill("Why", "its leaves are green")?;
    browser.tap("css:details[open] .btn")?;
    browser.see("Skipped")?;
    browser.wait_until(
        "![...document.querySelectorAll('main .row:not(.done) .name')].some((b) => b.textContent.includes('Cut back'))",
    )?;
    // Inspected three weeks ago: it came again a fortnight later, and is late.
    browser.tap("Inspect")?;
    let day = days_ago(browser, 21)?;
    browser.tap("today")?;
    browser.fill("When", &day)?;
    browser.tap("These were found firm")?;
    browser.see("Found firm: 4 bulbs")?;
    browser.see("days late")?;
    // Postponed, it is gone from today; undone, it is back.
    browser.tap("Inspect")?;
    browser.tap("css:details:nth-last-of-type(2) summary")?;
    browser.tap("css:details[open] .btn")?;
    browser.see("Postponed until")?;
    browser.wait_until(
        "![...document.querySelectorAll('main .row:not(.done) .name')].some((b) => b.textContent === 'Inspect')",
    )?;
    browser.tap("Undo")?;
    browser.see("days late")?;
    // Done today, it comes again in a fortnight and not before.
    browser.tap("Inspect")?;
    browser.tap("These were found firm")?;
    browser.see("Found firm: 4 bulbs")?;
    browser.wait_until(
        "![...document.querySelectorAll('main .row:not(.done) .name')].some((b) => b.textContent === 'Inspect')",
    )?;
    let left = jobs(browser)?;
    ensure!(!left.contains("Inspect"), "still due: {left}");
    browser.finish()
}
