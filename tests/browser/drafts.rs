//! What is typed and not saved yet outlives leaving, a reload, a kill and an update; a form that was only opened leaves
//! nothing behind.

use crate::offline::{READY_OFFLINE, STARTED, take};
use crate::plan::{N_WANTED, ask};
use crate::slice::{demo, go, start};
use crate::{Check, Device, Ground};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;
use std::time::Duration;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_sheet_typed_in_outlives_everything,
    forms_half_typed_outlive_leaving_and_reloading,
    a_job_a_lot_and_several_bulbs_half_typed_outlive_a_reload,
    a_nursery_half_named_outlives_a_reload,
    same_again_only_opened_leaves_nothing,
    a_plan_that_became_a_try_is_no_longer_begun,
];

const BEGUN: &str = "Go on with what was begun";
const GOES_ON: &str = "This goes on with what was typed before.";

fn begun(browser: &mut Browser) -> Result<bool> {
    go(browser, "/due")?;
    browser.see("Plan back from the date")?;
    let begun = browser.eval(&format!("document.body.innerText.includes({})", json!(BEGUN)))?;
    Ok(begun == true)
}

/// The address that a link on this page leads to, and that holds this part.
fn link(browser: &mut Browser, part: &str) -> Result<String> {
    let find = format!(
        "[...document.querySelectorAll('a')].map((a) => a.hash.slice(1)).find((to) => to.includes({}))",
        json!(part)
    );
    browser.wait_until(&format!("{find} !== undefined"))?;
    let to = browser.eval(&find)?;
    Ok(to.as_str().context("a link")?.to_owned())
}

/// Waits until the storage holds a draft with a `text` of which this is true.
fn wait_kept(browser: &mut Browser, is: &str) -> Result<()> {
    browser.eval(&format!(
        "(async () => {{ \
           const named = (await indexedDB.databases()).map((one) => one.name).find((name) => name.startsWith('bloomdue-')); \
           const asked = (request) => new Promise((done, fail) => {{ request.onsuccess = () => done(request.result); request.onerror = fail; }}); \
           for (;;) {{ \
             const open = await asked(indexedDB.open(named)); \
             const rows = await asked(open.transaction('drafts').objectStore('drafts').getAll()); \
             open.close(); \
             const texts = rows.map((row) => new TextDecoder().decode(row)); \
             if (texts.some((text) => {is})) return true; \
             await new Promise((done) => setTimeout(done, 50)); \
           }} }})()"
    ))?;
    Ok(())
}

const N_ANSWERED: &str = "[...document.querySelectorAll('main select')].filter((one) => one.value !== '').length";

fn wait_answered(browser: &mut Browser, n: usize) -> Result<()> {
    browser.see(GOES_ON)?;
    browser.wait_until(&format!("{N_ANSWERED} === {n}"))
}

/// Chooses an answer for every bulb of a sheet from this one on.
fn answer_from(browser: &mut Browser, first: usize) -> Result<()> {
    browser.wait_until("document.querySelectorAll('main select').length === 30")?;
    browser.eval(&format!(
        "[...document.querySelectorAll('main select')].slice({first}).forEach((one, at) => {{ \
           one.value = String(1 + at % 2); one.dispatchEvent(new Event('change', {{bubbles: true}})); }})"
    ))?;
    Ok(())
}

fn a_sheet_typed_in_outlives_everything(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "30")?;
    browser.eval(READY_OFFLINE)?;
    let place = link(browser, "/walk")?;
    let place = place.trim_end_matches("/walk").to_owned();
    go(browser, &format!("{place}/type-in"))?;
    browser.wait_until("document.querySelectorAll('main select').length === 30")?;
    ensure!(!begun(browser)?, "a sheet that was only opened is unfinished");
    go(browser, &format!("{place}/type-in"))?;
    answer_from(browser, 2)?;
    // Left by mistake, at once.
    go(browser, "/due")?;
    browser.see("a walk sheet typed in: Bench 2")?;
    browser.tap(BEGUN)?;
    wait_answered(browser, 28)?;
    // Reloaded at once after a change.
    answer_from(browser, 1)?;
    browser.reload()?;
    wait_answered(browser, 29)?;
    answer_from(browser, 0)?;
    wait_kept(browser, "(text.match(/b_/g) ?? []).length >= 30")?;
    browser.wait_until(&format!("{N_ANSWERED} === 30"))?;
    go(browser, "/due")?;
    browser.tap(BEGUN)?;
    wait_answered(browser, 30)?;
    let address = browser.eval("location.href")?;
    let address = address.as_str().context("an address")?.to_owned();
    browser.kill_and_reopen()?;
    browser.open(&address)?;
    wait_answered(browser, 30)?;
    // The next version is taken while the sheet is open, at once after a change.
    browser.eval(READY_OFFLINE)?;
    browser.eval(
        "(() => { const last = [...document.querySelectorAll('main select')].at(-1); last.value = '0'; \
         last.dispatchEvent(new Event('change', {bubbles: true})); })()",
    )?;
    take(browser, &host, &ground.probe_dist)?;
    wait_answered(browser, 30)?;
    browser.wait_until("[...document.querySelectorAll('main select')].at(-1).value === '0'")?;
    browser.inspect("a sheet gone on with", &ground.axe)?;
    browser.tap("css:main .btn.main")?;
    browser.see("30")?;
    browser.wait_until("!location.hash.endsWith('type-in')")?;
    ensure!(!begun(browser)?, "a sheet that was saved is unfinished");
    browser.finish()
}

/// A form: where it is, what is tapped to see its field, the field, what is typed, and what it is called on Due.
struct Form<'a> {
    at: String,
    tap: Option<&'a str>,
    field: &'a str,
    typed: &'a str,
    called: &'a str,
}

fn holds(browser: &mut Browser, text: &str) -> Result<()> {
    browser.wait_until(&format!(
        "[...document.querySelectorAll('main input, main textarea')].some((field) => field.value === {})",
        json!(text)
    ))
}

fn forms_half_typed_outlive_leaving_and_reloading(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    let place = link(browser, "/walk")?;
    let place = place.trim_end_matches("/walk").to_owned();
    let place_id = place.trim_start_matches("/place/").to_owned();
    let bulb = link(browser, "/bulb/")?;
    let bulb_id = bulb.trim_start_matches("/bulb/").to_owned();
    // A record to put right.
    go(browser, &format!("/care/{bulb_id}"))?;
    browser.tap("Note")?;
    browser.fill("css:main textarea", "Pale at the neck")?;
    browser.tap("css:main .btn.main")?;
    browser.wait_until("location.hash.startsWith('#/bulb/')")?;
    let record = link(browser, "/record/")?;
    let form = |at: &str, tap, field, typed, called| Form { at: at.to_owned(), tap, field, typed, called };
    let forms = [
        form(&format!("/care/{place_id}"), Some("Note"), "css:main textarea", "Drips from the roof", "a note: Bench 2"),
        form("/places/new", None, "Name of the place", "North bed", "a place"),
        form(&format!("{place}/edit"), None, "Name of the place", "Bench 2 east", "a place: Bench 2"),
        form(&format!("{bulb}/edit"), None, "Your own name or number", "The tall one", "names and lot of a bulb"),
        form(&format!("{place}/add"), None, "How many bulbs", "17", "bulbs to add: Bench 2"),
        form(
            &format!("/plan/{place_id}/new-job"),
            None,
            "What to mind, if anything",
            "Only the edge",
            "a job of a care plan: Bench 2",
        ),
        form("/files/people", Some("Add a person"), "Initials", "ZQ", "a person"),
        form(&record, None, "css:main textarea", "Pale at one side", "a record to put right"),
        form(&format!("{bulb}/look"), Some("counted"), "How many leaves", "4", "a look"),
    ];
    for Form { at, tap, field, typed, called } in forms {
        let open = |browser: &mut Browser| -> Result<()> {
            go(browser, &at)?;
            tap.map_or(Ok(()), |words| browser.tap(words))
        };
        // Chips of a look say something already.
        if at.ends_with("/look") {
            go(browser, &at)?;
        } else {
            open(browser).with_context(|| at.clone())?;
        }
        ensure!(!begun(browser)?, "{at} was only opened and is unfinished");
        open(browser)?;
        browser.fill(field, typed).with_context(|| at.clone())?;
        go(browser, "/due")?;
        browser.see(called)?;
        browser.tap(BEGUN)?;
        browser.see(GOES_ON)?;
        holds(browser, typed).with_context(|| at.clone())?;
        browser.reload()?;
        browser.wait_until(STARTED)?;
        browser.see(GOES_ON)?;
        holds(browser, typed).with_context(|| format!("{at} after a reload"))?;
        browser.tap("Start over")?;
        browser.wait_until(&format!("!document.body.innerText.includes({})", json!(GOES_ON)))?;
        ensure!(!begun(browser)?, "{at} was started over and is unfinished");
    }
    browser.finish()
}

/// Whether a box to tick among the bulbs of this page is ticked.
const ONE_TICKED: &str = "[...document.querySelectorAll('main input[type=checkbox]')].some((one) => one.checked)";

fn a_job_a_lot_and_several_bulbs_half_typed_outlive_a_reload(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    // Laid to rest long ago, they are due to be inspected.
    crate::care::did(browser, "Lay to rest", 40)?;
    go(browser, "/due")?;
    browser.tap("Care plans")?;
    browser.tap("The whole nursery")?;
    browser.tap("Take: Inspect")?;
    browser.see("Taken into the care plan: Inspect")?;
    go(browser, "/due")?;
    let job = link(browser, "/due/job/")?;
    go(browser, "/lots")?;
    let lot = link(browser, "/lot/")?;
    let several = lot.replace("/lot/", "/several/");
    let skip = "css:details:nth-last-of-type(1) summary";
    let forms = [
        (&job, Some(skip), "Why", "no light in the cellar", "a job that is due"),
        (&lot, None, "Cultivar", "Evenfall Red", "a lot"),
        (&several, None, "Cultivar", "Morning Sail", "several bulbs to another lot, or to take out"),
    ];
    for (at, tap, field, typed, called) in forms {
        let open = |browser: &mut Browser| tap.map_or(Ok(()), |words| browser.tap(words));
        go(browser, at)?;
        open(browser).with_context(|| at.clone())?;
        ensure!(!begun(browser)?, "{at} was only opened and is unfinished");
        go(browser, at)?;
        open(browser)?;
        browser.fill(field, typed).with_context(|| at.clone())?;
        // Which bulbs it is about is kept with it.
        if called.starts_with("several") {
            browser.tap("css:main .choice:nth-of-type(2)")?;
            browser.wait_until(ONE_TICKED)?;
        }
        go(browser, "/due")?;
        browser.see(called)?;
        browser.tap(BEGUN)?;
        browser.see(GOES_ON)?;
        browser.reload()?;
        browser.wait_until(STARTED)?;
        browser.see(GOES_ON)?;
        holds(browser, typed).with_context(|| format!("{at} after a reload"))?;
        if called.starts_with("several") {
            browser.wait_until(ONE_TICKED)?;
        }
        browser.tap("Start over")?;
        browser.wait_until(&format!("!document.body.innerText.includes({})", json!(GOES_ON)))?;
        ensure!(!begun(browser)?, "{at} was started over and is unfinished");
    }
    browser.finish()
}

fn a_nursery_half_named_outlives_a_reload(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Quarry Steps")?;
    browser.reload()?;
    browser.wait_until(STARTED)?;
    holds(browser, "Quarry Steps")?;
    browser.fill("Your initials", "EK")?;
    browser.tap("css:.btn.main")?;
    browser.see("A new place")?;
    // The next one begins with nothing.
    go(browser, "/start")?;
    browser.tap("Start a nursery")?;
    browser.wait_until("document.querySelector('main input').value === ''")?;
    browser.finish()
}

fn same_again_only_opened_leaves_nothing(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/trials")?;
    let trial = link(browser, "/trial/")?;
    go(browser, &format!("{trial}/again"))?;
    browser.see("Fixed before the start")?;
    browser.tap("Next")?;
    browser.wait_until("!document.body.innerText.includes('Fixed before the start')")?;
    ensure!(!begun(browser)?, "a try that was only opened is unfinished");
    browser.finish()
}

fn a_plan_that_became_a_try_is_no_longer_begun(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "12")?;
    go(browser, "/trials/plan")?;
    ask(browser, N_WANTED)?;
    browser.fill("At least how many bulbs", "2")?;
    go(browser, "/due")?;
    browser.see("a plan back from a date")?;
    browser.tap(BEGUN)?;
    let slow = Duration::from_secs(90);
    browser.wait_within("document.body.innerText.includes('How to spend the bulbs')", slow)?;
    browser.tap("How to spend the bulbs")?;
    browser.wait_within("!!document.querySelector('.slider input')", slow)?;
    // Whatever is advised: all for learning is a try.
    browser.eval(
        "(() => { const slider = document.querySelector('.slider input'); slider.value = slider.max; \
         slider.dispatchEvent(new Event('input', { bubbles: true })); })()",
    )?;
    browser.wait_within("document.body.innerText.includes('Make it a try')", slow)?;
    browser.tap("Make it a try")?;
    browser.see("What is done differently in each")?;
    browser.tap("Next")?;
    browser.see("Fixed before the start")?;
    browser.tap("Next")?;
    browser.wait_until("document.querySelectorAll('main input[type=checkbox]').length >= 4")?;
    browser.eval(
        "[...document.querySelectorAll('main input[type=checkbox]')].filter((one) => !one.checked).forEach((one) => one.click())",
    )?;
    browser.tap("Next")?;
    browser.tap("css:main .btn.main")?;
    browser.wait_until("location.hash.startsWith('#/run/')")?;
    ensure!(!begun(browser)?, "a plan that became a try is unfinished");
    browser.finish()
}
