//! How the device's region writes days and numbers, and the units chosen on it: shown, typed and kept in another tab and
//! another unit.

use crate::slice::{go, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] =
    checks![a_length_typed_in_inches_is_those_inches_and_its_centimetres, days_and_numbers_are_those_of_the_device,];

/// Chooses units where this device's choices are.
fn choose(browser: &mut Browser, unit: &str) -> Result<()> {
    go(browser, "/files/people")?;
    browser.tap(unit)?;
    browser.wait_until(&format!(
        "[...document.querySelectorAll('.chip[aria-pressed=true]')].some((chip) => chip.textContent === {})",
        json!(unit)
    ))
}

/// The form of a measurement of all bulbs.
fn measure(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Record something done")?;
    browser.tap("Measure")?;
    browser.see("What was measured")
}

fn field(browser: &mut Browser, label: &str) -> Result<String> {
    let value = browser.eval(&format!(
        "[...document.querySelectorAll('input')].find((one) => [...one.labels].some((label) => label.textContent.includes({})))?.value",
        json!(label)
    ))?;
    Ok(value.as_str().unwrap_or_default().to_owned())
}

fn a_length_typed_in_inches_is_those_inches_and_its_centimetres(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    choose(browser, "inches, 10 1/2")?;
    browser.inspect("the units of this device", &ground.axe)?;
    measure(browser)?;
    browser.tap("circumference")?;
    browser.fill("Length, inches", "4 1/2")?;
    browser.tap("css:.btn.main")?;
    // What few bulbs have is asked about; nobody who was asked for inches typed them by mistake.
    browser.see("4 1/2 in around is unusual for a bulb that is to flower. Is it right?")?;
    browser.fill("Length, inches", "10 1/3")?;
    browser.tap("css:.btn.main")?;
    browser.see("'10 1/3' is no length in inches")?;
    browser.inspect("a length that is none", &ground.axe)?;
    browser.fill("Length, inches", "10 1/2")?;
    browser.tap("css:.btn.main")?;
    browser.see("Measure: 4 bulbs")?;
    go(browser, "/stock")?;
    browser.see("10 1/4 to 11 1/32 in")?;
    let bulb = "[...document.querySelectorAll('main a.row')].map((row) => row.hash).find((at) => at.includes('/bulb'))";
    let bulb = browser.eval(bulb)?.as_str().unwrap_or_default().trim_start_matches('#').to_owned();
    go(browser, &bulb)?;
    browser.see("10 1/2 in")?;
    // Another tab shows the other unit as soon as it is chosen, and a form in it what was typed.
    let tab = browser.new_tab()?;
    browser.open(host.server.address())?;
    measure(browser)?;
    browser.tap("circumference")?;
    browser.fill("Length, inches", "11")?;
    let form = browser.turn_to(tab)?;
    choose(browser, "cm")?;
    go(browser, &bulb)?;
    browser.see("26.7 cm")?;
    let first = browser.turn_to(form)?;
    browser.see("Length, cm")?;
    let typed = field(browser, "Length, cm")?;
    ensure!(typed == "27.9", "11 inches are {typed} cm");
    browser.turn_to(first)?;
    // The choice is this device's and no record: it is there after a start, and the records are as they were.
    choose(browser, "inches, 10.5")?;
    browser.reload()?;
    go(browser, &bulb)?;
    browser.see("10.5 in")?;
    browser.finish()
}

fn days_and_numbers_are_those_of_the_device(ground: &Ground) -> Result<()> {
    // Weekdays and months are of this day, whatever it is.
    let regions = [
        ("en-US", r"^\w+day, [A-Z]\w+ \d+$", "From, inches", "such as 52.3"),
        ("en-GB", r"^\w+day \d+ [A-Z]\w+$", "From, cm", "such as 52.3"),
        ("de-DE", r"^\w+day,? \d+ [A-Z]\w+$", "From, cm", "such as 52,3"),
    ];
    for (language, day, from, latitude) in regions {
        let host = ground.host("")?;
        let mut device = Device::speaking(Screen::phone(), language)?;
        let browser = &mut device.browser;
        start(browser, host.server.address(), "2")?;
        browser.tap("Add bulbs")?;
        browser.tap("All alike")?;
        browser.see(from)?;
        go(browser, "/files/people")?;
        browser.see(latitude)?;
        go(browser, "/due")?;
        let title = browser.eval("document.querySelector('[data-heading]').textContent")?;
        let fits = browser.eval(&format!("new RegExp({}).test({title})", json!(day)))?;
        ensure!(fits == json!(true), "{language} writes {title}");
        browser.finish()?;
    }
    Ok(())
}
