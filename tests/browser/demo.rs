//! The demo, by taps.

use crate::plan::{BULBS, DAYS, N_WANTED, REST, ask};
use crate::slice::{demo, go};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Shows every picture that the open demo keeps, and answers their widths.
const SHOW_PICTURES: &str = "(async () => {
    const names = (await indexedDB.databases()).map((db) => db.name);
    const name = names.find((name) => name.startsWith('bloomdue-l_'));
    const asked = (of) => new Promise((done, failed) => {
        of.onsuccess = () => done(of.result);
        of.onerror = () => failed(of.error);
    });
    const db = await asked(indexedDB.open(name));
    const rows = await asked(db.transaction('attachments').objectStore('attachments').getAll());
    db.close();
    return Promise.all(rows.map(async (bytes) => {
        const picture = new Image();
        picture.src = URL.createObjectURL(new Blob([bytes], { type: 'image/svg+xml' }));
        await picture.decode();
        return picture.naturalWidth;
    }));
})()";

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    the_demo_is_alive,
    a_forecast_on_the_screen_is_kept_once_a_day,
    a_plan_back_from_the_date_falls_due_and_moves,
    a_result_is_read_chapter_by_chapter,
];

const DEMO: &str = "A demo nursery";

/// The forecast on top of Due has been worked out.
const FORESEEN: &str = "/bulbs in flower\\.$/m.test(document.querySelector('.foreseen')?.innerText)";

fn the_demo_is_alive(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.see("Cellar")?;
    // Jobs of the care plan follow with the second part of the app.
    browser.see("Stake")?;
    browser.wait_until(FORESEEN)?;
    let due = browser.eval("document.querySelector('main').innerText")?;
    // The demo is kept: opened again it is what it was, and nothing was written twice.
    browser.reload()?;
    browser.see(DEMO)?;
    browser.see("Stake")?;
    browser.wait_until(FORESEEN)?;
    let again = browser.eval("document.querySelector('main').innerText")?;
    ensure!(due == again, "the demo changed from {due} to {again}");
    let widths = browser.eval(SHOW_PICTURES)?;
    let shown =
        widths.as_array().is_some_and(|all| all.len() >= 5 && all.iter().all(|width| width.as_u64() == Some(480)));
    ensure!(shown, "the pictures show as {widths}");
    browser.finish()
}

/// How many records were written since the demo was told.
const N_WRITTEN: &str = "(async () => {
    const names = (await indexedDB.databases()).map((db) => db.name);
    const name = names.find((name) => name.startsWith('bloomdue-l_'));
    const asked = (of) => new Promise((done, failed) => {
        of.onsuccess = () => done(of.result);
        of.onerror = () => failed(of.error);
    });
    const db = await asked(indexedDB.open(name));
    const n = await asked(db.transaction('tail').objectStore('tail').count());
    db.close();
    return n;
})()";

/// Waits until so many are.
fn written(browser: &mut Browser, n: u32) -> Result<()> {
    let frame = "new Promise((done) => requestAnimationFrame(done))";
    browser.eval(&format!("(async () => {{ while (await {N_WRITTEN} !== {n}) await {frame}; }})()"))?;
    Ok(())
}

fn a_forecast_on_the_screen_is_kept_once_a_day(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.see("Stake")?;
    browser.tap("What is coming")?;
    browser.see("Bulb by bulb")?;
    written(browser, 1)?;
    // It stands, nothing was asked anew for it, and there is nothing to undo.
    browser.see("Bulb by bulb")?;
    ensure!(
        browser.eval("document.querySelector('.undo button') === null")? == true,
        "what the program said can be undone"
    );
    browser.tap("How earlier forecasts did")?;
    browser.see("the number lay within what was said")?;
    browser.inspect("what is coming", &ground.axe)?;
    browser.check_no_sideways("what is coming")?;
    // The next due window is another, kept for itself; the first is not kept again.
    browser.tap("spring market")?;
    written(browser, 2)?;
    browser.tap("Lantern Fair")?;
    browser.see("Bulb by bulb")?;
    browser.tap("The next four weeks")?;
    browser.see("Bulb by bulb")?;
    browser.reload()?;
    browser.see("Bulb by bulb")?;
    browser.see("How earlier forecasts did")?;
    let n = browser.eval(N_WRITTEN)?;
    ensure!(n == 2, "{n} records were written");
    browser.finish()
}

/// Whether Due tells a job.
const POT_UP_IS_DUE: &str =
    "[...document.querySelectorAll('main .name')].some((name) => name.textContent === 'Pot up')";

fn a_plan_back_from_the_date_falls_due_and_moves(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("Trials")?;
    browser.tap("Plan back from the date")?;
    // The records fill everything in: the bulbs at rest, since when, and as in which try.
    browser.see("What to do, and when")?;
    browser.inspect("a plan", &ground.axe)?;
    browser.check_no_sideways("a plan")?;
    browser.tap("How to spend the bulbs")?;
    browser.see("From all for now to all for learning")?;
    browser.inspect("how many to spend on learning", &ground.axe)?;
    browser.tap("How to spend the bulbs")?;
    // What makes no sense is said beside its field, and nothing is worked out.
    ask(browser, N_WANTED)?;
    browser.fill("At least how many bulbs", "500")?;
    browser.see("500 are wanted")?;
    browser.fill("css:main input[inputmode=numeric]", "4")?;
    browser.see("What a week sooner or later does")?;
    ask(browser, BULBS)?;
    browser.tap("At rest already")?;
    browser.inspect("a plan with its bulbs", &ground.axe)?;
    ask(browser, REST)?;
    browser.tap("What is published on each")?;
    browser.see("8 to 10 weeks at least")?;
    browser.inspect("a plan with all that is behind it", &ground.axe)?;
    // A short rest for days that are near: they would have to be potted today.
    browser.fill("Weeks of rest", "4")?;
    ask(browser, DAYS)?;
    for _ in 0..9 {
        browser.tap("A week earlier")?;
    }
    // It can be saved as soon as what is shown answers the last tap; until then what stands below may move.
    browser.wait_until("!!document.querySelector('main .act .btn.main')")?;
    browser.tap("What a week sooner or later does")?;
    browser.see("All work a week later")?;
    browser.tap("How to spend the bulbs")?;
    // With so few chances there is nothing between all for now and all for learning.
    browser.see("How many seasons to think of")?;
    browser.tap("All that was looked at")?;
    browser.see("Keep, to compare with")?;
    browser.inspect("how to spend the bulbs", &ground.axe)?;
    browser.fill("What the days are for", "Market")?;
    browser.tap("Save as work to do")?;
    browser.see("Its jobs")?;
    browser.inspect("a saved plan", &ground.axe)?;
    browser.tap("Due")?;
    browser.wait_until(POT_UP_IS_DUE)?;
    // The date moves, and what is due moves with it.
    browser.tap("Trials")?;
    browser.tap("Market")?;
    browser.see("Its jobs")?;
    ask(browser, DAYS)?;
    for _ in 0..6 {
        browser.tap("A week later")?;
    }
    browser.see("What to do, and when")?;
    browser.tap("Save the new days")?;
    browser.see("Moved: what is not done yet has new days")?;
    browser.tap("Due")?;
    browser.see("Bench 2")?;
    browser.wait_until(&format!("!({POT_UP_IS_DUE})"))?;
    browser.finish()
}

/// The tries of the demo that are over, as addresses of their pages.
const ENDED: &str = "[...document.querySelectorAll('main a.trialrow')]
    .filter((row) => /tell|told|edge/.test(row.querySelector('.small').textContent))
    .map((row) => row.getAttribute('href').slice(1))";

fn a_result_is_read_chapter_by_chapter(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("Trials")?;
    // A mark a bulb, named for those who do not see it.
    browser.wait_until("!!document.querySelector('main .trialrow [role=img][aria-label*=\"in time\"]')")?;
    browser.wait_until(&format!("{ENDED}.length > 0"))?;
    let ended = browser.eval(&format!("{ENDED}[0]"))?;
    let ended = ended.as_str().unwrap_or_default();
    go(browser, ended)?;
    browser.see("ten more bulbs")?;
    browser.tap("css:main details.bulbs-row summary")?;
    browser.see("last look")?;
    browser.inspect("a try with a group open", &ground.axe)?;
    browser.check_no_sideways("a try with a group open")?;
    go(browser, &format!("{ended}/result"))?;
    browser.wait_until("document.querySelector('.chapters [aria-current]')?.textContent === 'Counted'")?;
    for chapter in ["When", "Next"] {
        browser.tap(chapter)?;
        let read = format!("document.querySelector('.chapters [aria-current]').textContent === '{chapter}'");
        browser.wait_until(&read)?;
        browser.wait_until("document.activeElement.tagName === 'H2'")?;
    }
    browser.tap("What these groups can tell")?;
    browser.see("likely to be noticed")?;
    browser.tap("The evidence as it grew")?;
    browser.see("on whatever day it is looked at")?;
    browser.eval("document.querySelectorAll('main details:not([open]) > summary').forEach((fold) => fold.click())")?;
    browser.see("Other methods, which do not decide")?;
    browser.inspect("a result with all its folds open", &ground.axe)?;
    browser.check_no_sideways("a result with all its folds open")?;
    browser.finish()
}
