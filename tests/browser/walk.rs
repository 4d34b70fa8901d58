//! The walk by thumb and by keys: where one stands, what one tap says, and that a low screen holds all of it.

use crate::care::did;
use crate::slice::{answer, go, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    walk_one_goes_to_the_bulbs_beside_and_back,
    walk_keys_answer_undo_and_move,
    walk_a_mishap_is_a_look_and_an_act_undone_as_one,
    walk_ends_with_what_ended_and_a_blind_bulb_is_told_as_blind,
    walk_leads_to_where_one_says_who_records_and_back,
    walk_in_the_dark_bulbs_are_taken_in_hand,
    walk_stands_whole_on_every_screen,
];

fn open(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Walk through")?;
    browser.wait_until("document.querySelector('.walk .slot-1')")
}

/// Two taps within 400 ms count once.
fn pause(browser: &mut Browser) -> Result<()> {
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    Ok(())
}

/// Which cells are full, as a text of ones and noughts.
fn cells(browser: &mut Browser) -> Result<serde_json::Value> {
    browser.eval("[...document.querySelectorAll('.cells > i')].map((it) => it.matches('.full') ? 1 : 0).join('')")
}

fn walk_one_goes_to_the_bulbs_beside_and_back(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    open(browser)?;
    browser.see("What a good look is")?;
    browser.inspect("a first walk", &ground.axe)?;
    // The first is passed by; the walk comes back to it after the last.
    browser.tap("Bulb after")?;
    browser.see("bulb 2 of 4")?;
    for n in ["3", "4", "1"] {
        answer(browser, "Nothing yet")?;
        browser.see(&format!("bulb {n} of 4"))?;
    }
    ensure!(cells(browser)? == "0111", "the cells are {}", cells(browser)?);
    let told = browser.eval("document.body.innerText.includes('What a good look is')")?;
    ensure!(told == false, "what a good look is stands there after the first look");
    // What was given last is undone at its own bulb, wherever one stands.
    browser.tap("Bulb after")?;
    browser.see("bulb 2 of 4")?;
    pause(browser)?;
    browser.tap("Undo")?;
    browser.see("bulb 4 of 4")?;
    answer(browser, "A stalk")?;
    browser.see("bulb 1 of 4")?;
    // It stays for a second answer, and only for one.
    browser.tap("And also")?;
    browser.see("Give a second answer here")?;
    browser.inspect("a second answer", &ground.axe)?;
    pause(browser)?;
    browser.tap("More leaves")?;
    browser.see(": more leaves")?;
    browser.see("bulb 1 of 4")?;
    pause(browser)?;
    browser.tap("A shoot, not sure")?;
    browser.see("All 4 bulbs looked at today.")?;
    browser.see("2 bulbs with something new, 2 as before.")?;
    browser.see("in 4 days: stalk or leaf?")?;
    browser.inspect("the end of a walk", &ground.axe)?;
    // The last answer is undone from its end, too.
    pause(browser)?;
    browser.tap("Undo")?;
    browser.see("bulb 1 of 4")?;
    browser.finish()
}

fn walk_keys_answer_undo_and_move(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::desk())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Hollow Lane")?;
    browser.fill("Your initials", "EK")?;
    browser.tap("css:.btn.main")?;
    crate::slice::place_with_bulbs(browser, "3")?;
    open(browser)?;
    browser.see("bulb before, after")?;
    browser.inspect("a walk on a wide screen", &ground.axe)?;
    browser.check_no_sideways("a walk on a wide screen")?;
    let press = |browser: &mut Browser, key: &str, then: &str| -> Result<()> {
        pause(browser)?;
        browser.press(key)?;
        browser.see(then)
    };
    press(browser, "3", "bulb 2 of 3")?;
    browser.see(": a stalk")?;
    press(browser, "u", "bulb 1 of 3")?;
    press(browser, "1", "bulb 2 of 3")?;
    press(browser, "ArrowRight", "bulb 3 of 3")?;
    press(browser, "ArrowLeft", "bulb 2 of 3")?;
    press(browser, "ArrowLeft", "bulb 1 of 3")?;
    // No answer stands at the sixth place here.
    press(browser, "6", "bulb 1 of 3")?;
    ensure!(cells(browser)? == "100", "the cells are {}", cells(browser)?);
    // What is typed into a field is no answer.
    browser.tap("Not here")?;
    browser.fill("A bulb from elsewhere", "1")?;
    browser.press("1")?;
    browser.tap("It is here after all")?;
    ensure!(cells(browser)? == "100", "the cells are {}", cells(browser)?);
    browser.finish()
}

fn walk_a_mishap_is_a_look_and_an_act_undone_as_one(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    open(browser)?;
    browser.tap("Trouble")?;
    browser.see("What is wrong?")?;
    browser.inspect("what may be wrong", &ground.axe)?;
    pause(browser)?;
    browser.tap("Blind: no stalk comes")?;
    browser.see("bulb 2 of 2")?;
    pause(browser)?;
    browser.tap("Undo")?;
    browser.see("bulb 1 of 2")?;
    browser.wait_until("document.querySelectorAll('.cells > i.full').length === 0")?;
    // Taken back as one: the cycle goes on, and none may come again.
    browser.tap("Trouble")?;
    browser.see("Blind: no stalk comes")?;
    browser.tap("Back to the answers")?;
    answer(browser, "A stalk")?;
    browser.tap("Bulb before")?;
    browser.see("bulb 1 of 2")?;
    browser.tap("Trouble")?;
    browser.see("Bud dried up")?;
    pause(browser)?;
    browser.tap("Stalk broken")?;
    browser.see("bulb 2 of 2")?;
    let first =
        "[...document.querySelectorAll('main a')].map((a) => a.getAttribute('href')).find((a) => /bulb/.test(a))";
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.wait_until(&format!("({first}) !== undefined"))?;
    browser.tap("css:main .bench .cell")?;
    browser.see("stalk broken")?;
    let contrary = browser.eval("document.body.innerText.includes('exclude')")?;
    ensure!(contrary == false, "a stalk that broke is taken for a contradiction");
    browser.finish()
}

fn walk_ends_with_what_ended_and_a_blind_bulb_is_told_as_blind(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    open(browser)?;
    browser.tap("Trouble")?;
    browser.see("What is wrong?")?;
    pause(browser)?;
    browser.tap("Blind: no stalk comes")?;
    browser.see("bulb 2 of 4")?;
    answer(browser, "A stalk")?;
    browser.see("bulb 3 of 4")?;
    // Marked fit to sell, the bulb was looked at, and the walk goes on.
    browser.tap("Bulb before")?;
    browser.see("bulb 2 of 4")?;
    answer(browser, "Fit to sell")?;
    browser.see("bulb 3 of 4")?;
    browser.see(": fit to sell")?;
    browser.tap("Trouble")?;
    browser.tap("Died")?;
    browser.see("Of what, if known")?;
    browser.tap("css:.btn.main")?;
    browser.see("bulb 3 of 3")?;
    // Leaves at a first look are something new.
    answer(browser, "More leaves")?;
    browser.see("2 bulbs with something new, 1 blind, 1 died.")?;
    browser.see("Blind: 1")?;
    browser.see("Died: 1")?;
    browser.inspect("a walk's end with what ended", &ground.axe)?;
    browser.check_no_sideways("a walk's end with what ended")?;
    browser.tap("Back to the place")?;
    let blind = "[...document.querySelectorAll('.bench .cell')].filter((it) => it.innerText.includes('blind')).length";
    browser.wait_until(&format!("{blind} === 1"))?;
    browser.inspect("a bench with a blind bulb", &ground.axe)?;
    browser.tap("css:.bench .cell:nth-of-type(1)")?;
    browser.see("Blind since")?;
    go(browser, "/stock")?;
    browser.see("blind · Bench 2")?;
    browser.finish()
}

fn walk_leads_to_where_one_says_who_records_and_back(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    // A device on which neither of two was chosen, as after a colleague's file.
    go(browser, "/files/people")?;
    browser.tap("Add a person")?;
    browser.fill("Initials", "MO")?;
    browser.tap("css:.btn.main")?;
    browser.see("MO")?;
    browser.eval("Object.keys(localStorage).filter((key) => key.includes(' who ')).forEach((key) => localStorage.removeItem(key))")?;
    browser.reload()?;
    open(browser)?;
    pause(browser)?;
    browser.tap("Nothing yet")?;
    browser.see("Choose who is recording first")?;
    browser.inspect("a walk in which nobody records", &ground.axe)?;
    browser.tap("Say who records")?;
    browser.see("Who are you?")?;
    browser.tap("EK")?;
    browser.see("bulb 1 of 2")?;
    answer(browser, "Nothing yet")?;
    browser.see("bulb 2 of 2")?;
    browser.finish()
}

fn walk_in_the_dark_bulbs_are_taken_in_hand(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    did(browser, "Lay to rest", 30)?;
    open(browser)?;
    browser.see("at rest since")?;
    browser.inspect("a walk in the dark", &ground.axe)?;
    answer(browser, "Firm, nothing yet")?;
    answer(browser, "Soft spots")?;
    answer(browser, "Mould")?;
    answer(browser, "A shoot, not sure")?;
    browser.see("All 4 bulbs looked at today.")?;
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("css:.bench .cell:nth-of-type(2)")?;
    browser.see("soft spots, to be watched")?;
    browser.finish()
}

/// On a low phone, a narrow one, in landscape and with large text: nothing scrolls sideways, and but for large text the walk
/// stands on the screen whole.
fn walk_stands_whole_on_every_screen(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "30")?;
    open(browser)?;
    let sizes = [(360, 640), (320, 640), (360, 740), (740, 360), (1280, 800)];
    // Without any look, and with the most answers there are.
    for station in ["a first look", "a stalk in sight"] {
        for (width, height) in sizes {
            browser.call(
                "Emulation.setDeviceMetricsOverride",
                json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": true }),
            )?;
            let name = format!("{station} at {width} by {height}");
            browser.check_no_sideways(&name)?;
            browser.inspect(&name, &ground.axe)?;
            let over = browser.eval("document.documentElement.scrollHeight - innerHeight")?;
            ensure!(over.as_f64().is_some_and(|over| over <= 0.5), "{name}: {over} px are below the screen");
        }
        if station == "a first look" {
            answer(browser, "A stalk")?;
            browser.tap("Bulb before")?;
            browser.see("First flower open")?;
        }
    }
    browser.finish()
}
