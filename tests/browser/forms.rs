//! Forms by keys: where the focus is when they come, what Enter does, the way to say who records and back, and a walk sheet
//! typed in at a desk.

use crate::care::did;
use crate::slice::{go, offered, place_with_bulbs, start, written};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    forms_begin_in_their_first_field_and_enter_sends_them,
    forms_that_want_a_person_lead_there_and_back,
    forms_of_a_sheet_are_typed_in_by_keys,
];

/// Waits until the field with this label has the focus.
fn in_field(browser: &mut Browser, label: &str) -> Result<()> {
    browser.wait_until(&format!(
        "[...(document.activeElement.labels ?? [])].some((one) => one.textContent.includes({}))",
        json!(label)
    ))
}

fn forms_begin_in_their_first_field_and_enter_sends_them(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Start a nursery")?;
    in_field(browser, "Name of the nursery")?;
    browser.type_text("Hollow Lane")?;
    browser.fill("Your initials", "EK")?;
    browser.press("Enter")?;
    browser.see("A new place")?;
    in_field(browser, "Name of the place")?;
    // What is refused is said at its field, which has the focus, and nowhere else.
    browser.press("Tab")?;
    browser.tap("Save and add bulbs")?;
    browser.wait_until("document.activeElement.getAttribute('aria-invalid') === 'true'")?;
    in_field(browser, "Name of the place")?;
    let n_said = browser.eval("document.querySelectorAll('.problem').length")?;
    ensure!(n_said == 1, "said {n_said} times");
    browser.inspect("a place without a name", &ground.axe)?;
    browser.type_text("Bench 2")?;
    browser.press("Enter")?;
    in_field(browser, "How many bulbs")?;
    browser.fill("How many bulbs", "4")?;
    browser.fill("Cultivar", "Evenfall")?;
    browser.press("Enter")?;
    browser.see("Walk through")?;
    browser.see("4 bulbs")?;
    // Where a choice comes first, no field has the focus.
    browser.tap("Record something done")?;
    browser.tap("Died")?;
    browser.see("None of 4 yet")?;
    browser.wait_until("document.activeElement.tagName === 'H1'")?;
    did(browser, "Lay to rest", 40)?;
    go(browser, "/due/plans")?;
    browser.tap("The whole nursery")?;
    browser.tap("Take: Inspect")?;
    browser.see("Taken into the care plan")?;
    // Enter after a reason says the reason; nothing is recorded as done.
    go(browser, "/due")?;
    browser.tap("Inspect")?;
    browser.tap("css:details:nth-last-of-type(1) summary")?;
    browser.fill("Why", "no stalks yet")?;
    browser.press("Enter")?;
    browser.see("Skipped")?;
    browser.finish()
}

fn forms_that_want_a_person_lead_there_and_back(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut one = Device::new(Screen::phone())?;
    start(&mut one.browser, host.server.address(), "2")?;
    let file = written(&mut one.browser)?;
    let mut other = Device::new(Screen::phone())?;
    let browser = &mut other.browser;
    offered(browser, host.server.address(), &file)?;
    browser.inspect("what a file would bring", &ground.axe)?;
    browser.tap("css:.btn.main")?;
    browser.see("Who are you?")?;
    // Left without an answer: every form says so, keeps what was typed, and leads there.
    go(browser, "/places/new")?;
    browser.fill("Name of the place", "North bed")?;
    browser.press("Enter")?;
    browser.wait_until("document.querySelector('.act .problem a') !== null")?;
    browser.inspect("a form that wants a person", &ground.axe)?;
    browser.tap("css:.act .problem a")?;
    browser.see("Who are you?")?;
    browser.fill("Initials", "BM")?;
    browser.press("Enter")?;
    browser.wait_until("location.hash === '#/places/new'")?;
    browser.wait_until("document.querySelector('main input').value === 'North bed'")?;
    in_field(browser, "Name of the place")?;
    browser.press("Enter")?;
    in_field(browser, "How many bulbs")?;
    one.browser.finish()?;
    browser.finish()
}

fn forms_of_a_sheet_are_typed_in_by_keys(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::desk())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Hollow Lane")?;
    browser.fill("Your initials", "EK")?;
    browser.press("Enter")?;
    place_with_bulbs(browser, "4")?;
    browser.tap("Type a walk sheet in")?;
    browser.wait_until("document.querySelectorAll('.typed-in tbody tr').length === 4")?;
    let row = |n: u32| {
        format!(
            "document.activeElement === document.querySelectorAll('.typed-in tbody tr')[{n}].querySelector('[tabindex=\"0\"]')"
        )
    };
    let marked = |browser: &mut Browser| {
        let marked = "[...document.querySelectorAll('.typed-in tbody tr')].map((row) => \
            [...row.querySelectorAll('td:not(.small)')].findIndex((cell) => cell.querySelector('[aria-pressed=true]'))).join()";
        browser.eval(marked)
    };
    // A number answers a bulb and goes on to the next.
    browser.press("1")?;
    browser.wait_until(&row(1))?;
    browser.press("4")?;
    browser.wait_until(&row(2))?;
    browser.press("Enter")?;
    browser.wait_until(&row(3))?;
    browser.press("2")?;
    browser.wait_until(&row(3))?;
    let said = marked(browser)?;
    ensure!(said == "0,3,-1,1", "marked: {said}");
    browser.see("Save: 3 bulbs")?;
    browser.press("ArrowUp")?;
    browser.wait_until(&row(2))?;
    browser.press("ArrowUp")?;
    browser.wait_until(&row(1))?;
    browser.press("Delete")?;
    browser.see("Save: 2 bulbs")?;
    // A box is marked by a tap, too.
    browser.tap("css:.typed-in tbody tr:nth-child(3) .sheet-box")?;
    browser.see("Save: 3 bulbs")?;
    browser.inspect("a sheet typed in at a desk", &ground.axe)?;
    browser.check_no_sideways("a sheet typed in at a desk")?;
    browser.tap("css:.btn.main")?;
    browser.see("Typed in: 3 bulbs")?;
    browser.finish()
}
