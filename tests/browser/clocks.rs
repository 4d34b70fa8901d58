//! Clocks set wrong, put right in the middle, or carried over the date line.

use crate::slice::{go, place_with_bulbs, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_walk_goes_on_whatever_the_clock_did,
    a_clock_beyond_the_years_of_records_saves_nothing,
    a_save_under_an_odd_clock_says_so,
];

/// Lets the page's clock be moved: `clockBy` so many ms from the true one, `clockAt` to a moment.
const MOVABLE: &str = "(() => {
    const True = Date;
    let ahead = Number(sessionStorage.getItem('ahead') ?? 0);
    window.Date = class extends True {
        constructor(...given) { given.length ? super(...given) : super(True.now() + ahead); }
        static now() { return True.now() + ahead; }
    };
    // The app looks at its clock again when it is looked at.
    const look = () => { sessionStorage.setItem('ahead', ahead); document.dispatchEvent(new Event('visibilitychange')); };
    window.clockBy = (ms) => { ahead = ms; look(); };
    window.clockAt = (ms) => { ahead = ms - True.now(); look(); };
})()";

const DAY_MS: i64 = 86_400_000;

fn device() -> Result<Device> {
    let mut device = Device::new(Screen::phone())?;
    device.browser.call("Page.addScriptToEvaluateOnNewDocument", json!({ "source": MOVABLE }))?;
    Ok(device)
}

fn clock_by(browser: &mut Browser, days: i64) -> Result<()> {
    browser.eval(&format!("clockBy({})", days * DAY_MS))?;
    Ok(())
}

/// Opens the walk of the only place.
fn walk(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Walk through")?;
    browser.wait_until("document.querySelector('.walk .slot-1')")
}

/// Gives the first answer to so many bulbs, one after another, each of which must be another one.
fn answer(browser: &mut Browser, n: usize) -> Result<()> {
    for _ in 0..n {
        let tag = "document.querySelector('[data-heading]').textContent";
        let before = browser.eval(tag)?;
        // Two taps within 400 ms count once.
        browser.eval("new Promise((done) => setTimeout(done, 420))")?;
        browser.tap("css:.walk .slot-1")?;
        browser.wait_until(&format!("{tag} !== {before}"))?;
    }
    Ok(())
}

fn a_walk_goes_on_whatever_the_clock_did(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    // The clock's days for one walk, and for the next.
    for (first, then) in [(1, 0), (365, 0), (0, -1), (0, 1)] {
        let mut device = device()?;
        let browser = &mut device.browser;
        start(browser, host.server.address(), "3")?;
        clock_by(browser, first)?;
        walk(browser)?;
        answer(browser, 3)?;
        browser.see("All 3 bulbs looked at today.")?;
        clock_by(browser, then)?;
        walk(browser)?;
        answer(browser, 3)?;
        browser.see("All 3 bulbs looked at today.")?;
        browser.finish()?;
    }
    // In the middle of a walk: over midnight, and back.
    for days in [1, -1] {
        let mut device = device()?;
        let browser = &mut device.browser;
        start(browser, host.server.address(), "3")?;
        walk(browser)?;
        answer(browser, 1)?;
        clock_by(browser, days)?;
        answer(browser, 2)?;
        browser.see("All 3 bulbs looked at today.")?;
        browser.finish()?;
    }
    over_the_date_line(&host)
}

/// From an island where it is tomorrow to one where it is still today.
fn over_the_date_line(host: &crate::Host) -> Result<()> {
    let mut device = device()?;
    let browser = &mut device.browser;
    let zone = |browser: &mut Browser, name: &str| {
        browser.call("Emulation.setTimezoneOverride", json!({ "timezoneId": name }))
    };
    zone(browser, "Pacific/Kiritimati")?;
    start(browser, host.server.address(), "3")?;
    walk(browser)?;
    answer(browser, 3)?;
    zone(browser, "Pacific/Pago_Pago")?;
    clock_by(browser, 0)?;
    walk(browser)?;
    answer(browser, 3)?;
    browser.see("All 3 bulbs looked at today.")?;
    browser.finish()
}

/// How many records the file page counts.
fn n_records(browser: &mut Browser) -> Result<serde_json::Value> {
    go(browser, "/files/storage")?;
    browser.wait_until("/\\d+ records/.test(document.body.innerText)")?;
    browser.eval("document.body.innerText.match(/(\\d+) records/)[1]")
}

fn a_clock_beyond_the_years_of_records_saves_nothing(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    // 1970, the day before records begin, the first of January 2200 and of 2300; each at noon in UTC.
    let beyond = [
        ("1970-01-01", 43_200_000_i64),
        ("1989-12-31", 631_108_800_000),
        ("2200-01-01", 7_258_161_600_000),
        ("2300-01-01", 10_413_835_200_000),
    ];
    let mut device = device()?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.see("Start a nursery")?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Hollow Lane")?;
    browser.fill("Your initials", "EK")?;
    for (day, ms) in beyond {
        browser.eval(&format!("clockAt({ms})"))?;
        browser.see(&format!("Nothing can be saved: this device's clock says {day}."))?;
        browser.tap("css:.btn.main")?;
        // Above the screen, and in the form.
        browser.wait_until(&format!("document.body.innerText.split('clock says {day}').length === 3"))?;
        let kept = browser.eval("indexedDB.databases().then((all) => all.map((one) => one.name))")?;
        ensure!(!kept.to_string().contains("l_"), "{day}: a nursery was made: {kept}");
    }
    browser.inspect("a clock beyond the years of records", &ground.axe)?;
    browser.check_no_sideways("a clock beyond the years of records")?;
    clock_by(browser, 0)?;
    // What the form said stands until it is saved.
    browser.wait_until("document.body.innerText.split('Nothing can be saved').length === 2")?;
    browser.reload()?;
    // What was typed is still there, and now it can be saved.
    browser.tap("css:.btn.main")?;
    place_with_bulbs(browser, "3")?;
    let before = n_records(browser)?;
    walk(browser)?;
    for (day, ms) in beyond {
        browser.eval(&format!("clockAt({ms})"))?;
        browser.eval("new Promise((done) => setTimeout(done, 420))")?;
        browser.tap("css:.walk .slot-1")?;
        browser.wait_until(&format!("document.querySelector('.said').innerText.includes('clock says {day}')"))?;
    }
    clock_by(browser, 0)?;
    let after = n_records(browser)?;
    ensure!(before == after, "{before} records became {after}");
    walk(browser)?;
    answer(browser, 3)?;
    browser.see("All 3 bulbs looked at today.")?;
    browser.finish()
}

fn a_save_under_an_odd_clock_says_so(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = device()?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "6")?;
    let said = |browser: &mut Browser, part: &str| {
        browser.wait_until(&format!("document.querySelector('.said').innerText.includes({})", json!(part)))
    };
    let notice = |browser: &mut Browser, part: &str| -> Result<()> {
        go(browser, "/due")?;
        browser.wait_until(&format!(
            "[...document.querySelectorAll('.problem')].some((it) => it.innerText.includes({}))",
            json!(part)
        ))
    };
    walk(browser)?;
    answer(browser, 1)?;
    said(browser, "othing yet")?;
    let odd = browser.eval("document.querySelector('.said').innerText.includes('clock')")?;
    ensure!(odd == false, "a right clock was called odd");
    // More than a year ahead: it is asked, and goes on being asked though records are written.
    clock_by(browser, 500)?;
    let today = browser.eval("new Date().toISOString().slice(0, 10)")?;
    let says = format!("The clock says {}", today.as_str().unwrap_or_default());
    notice(browser, "This device's clock says")?;
    browser.inspect("a clock far ahead", &ground.axe)?;
    go(browser, "/places")?;
    walk(browser)?;
    answer(browser, 1)?;
    said(browser, &says)?;
    notice(browser, "This device's clock says")?;
    // Put right: now what was written is ahead, until this device has written again.
    clock_by(browser, 0)?;
    notice(browser, "but records were written on")?;
    browser.inspect("a clock behind", &ground.axe)?;
    walk(browser)?;
    answer(browser, 1)?;
    go(browser, "/due")?;
    browser.wait_until("![...document.querySelectorAll('.problem')].some((it) => it.innerText.includes('clock'))")?;
    browser.finish()
}
