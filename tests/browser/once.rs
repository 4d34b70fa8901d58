//! What two phones entered twice: a bulb under two tags, and one job recorded by both; and what they said otherwise.

use crate::slice::{answer, give, go, start, written};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_bulb_entered_twice_is_joined_and_parted,
    a_job_recorded_by_two_phones_is_seen_and_settled,
    what_two_phones_say_of_one_bulb_is_settled_in_one_tap,
];

/// Tags of the bulbs of the first place, in bench order.
fn tags(browser: &mut Browser) -> Result<Vec<String>> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.see("Walk through")?;
    let tags = browser
        .eval("[...document.querySelectorAll('main .cell .tag')].map((b) => b.textContent.replaceAll(' ', ''))")?;
    let tags = tags.as_array().into_iter().flatten();
    Ok(tags.filter_map(|tag| tag.as_str().map(str::to_owned)).collect())
}

fn a_bulb_entered_twice_is_joined_and_parted(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    let before = tags(browser)?;
    ensure!(before.len() == 3, "tags {before:?}");
    browser.tap(&before[0])?;
    browser.tap("Entered twice?")?;
    browser.see("The same bulb as")?;
    browser.inspect("the other bulb is looked for", &ground.axe)?;
    browser.fill("The other tag or name", &before[1])?;
    browser.tap(&before[1])?;
    browser.see("They are one bulb")?;
    browser.inspect("both sides of a bulb", &ground.axe)?;
    browser.tap("They are one bulb")?;
    browser.see("One bulb now, with the records of both")?;
    browser.see("Also entered as")?;
    browser.inspect("a bulb entered twice", &ground.axe)?;
    let joined = tags(browser)?;
    ensure!(joined.len() == 2, "after joining {joined:?}");
    // Either tag finds it.
    for tag in &before[..2] {
        go(browser, "/find")?;
        browser.fill("Tag, own name, lot or cultivar", tag)?;
        browser.wait_until("document.querySelectorAll('main a.row').length === 1")?;
        browser.tap("css:main a.row")?;
        browser.see("Also entered as")?;
    }
    browser.tap("Take back")?;
    browser.see("Taken back")?;
    let after = tags(browser)?;
    ensure!(after == before, "{before:?} became {after:?}");
    browser.finish()
}

/// Waters every bulb of the place.
fn water(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.tap("css:.btn.main")?;
    browser.see("Water: 2 bulbs")
}

fn a_job_recorded_by_two_phones_is_seen_and_settled(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut one = Device::new(Screen::phone())?;
    start(&mut one.browser, host.server.address(), "2")?;
    let beginning = written(&mut one.browser)?;
    // A colleague joins with the file.
    let mut other = Device::new(Screen::phone())?;
    other.browser.open(host.server.address())?;
    other.browser.tap("Join one: take in a colleague's file")?;
    give(&mut other.browser, &beginning)?;
    other.browser.see("Hollow Lane")?;
    other.browser.tap("css:.btn.main")?;
    other.browser.see("records taken in")?;
    other.browser.tap("EK")?;
    water(&mut other.browser)?;
    water(&mut one.browser)?;
    let file = written(&mut other.browser)?;
    let browser = &mut one.browser;
    go(browser, "/files/in")?;
    give(browser, &file)?;
    browser.see("One job may be recorded twice, by two phones")?;
    browser.tap("css:.btn.main")?;
    browser.see("One job may be recorded twice, by two phones")?;
    browser.inspect("a job taken in a second time", &ground.axe)?;
    go(browser, "/due")?;
    browser.tap("One job may be recorded twice, by two phones")?;
    browser.inspect("a job that may be one", &ground.axe)?;
    browser.tap("Once: one act")?;
    go(browser, "/due")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('recorded twice')")?;
    other.browser.finish()?;
    browser.finish()
}

/// Opens a bulb's page by its tag.
fn bulb(browser: &mut Browser, tag: &str) -> Result<()> {
    go(browser, "/find")?;
    browser.fill("Tag, own name, lot or cultivar", tag)?;
    browser.wait_until("document.querySelectorAll('main a.row').length === 1")?;
    browser.tap("css:main a.row")?;
    browser.see("Names and lot")
}

/// Records an act at a bulb, with what its form begins with.
fn did(browser: &mut Browser, tag: &str, act: &str) -> Result<()> {
    bulb(browser, tag)?;
    browser.tap("Record something done")?;
    browser.tap(act)?;
    browser.tap("css:.btn.main")?;
    browser.see("Names and lot")
}

fn what_two_phones_say_of_one_bulb_is_settled_in_one_tap(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut one = Device::new(Screen::phone())?;
    start(&mut one.browser, host.server.address(), "2")?;
    let tags = tags(&mut one.browser)?;
    one.browser.tap("Walk through")?;
    answer(&mut one.browser, "A stalk")?;
    answer(&mut one.browser, "A stalk")?;
    let beginning = written(&mut one.browser)?;
    let mut other = Device::new(Screen::phone())?;
    other.browser.open(host.server.address())?;
    other.browser.tap("Join one: take in a colleague's file")?;
    give(&mut other.browser, &beginning)?;
    other.browser.see("Hollow Lane")?;
    other.browser.tap("css:.btn.main")?;
    other.browser.see("records taken in")?;
    other.browser.tap("EK")?;
    other.browser.wait_until("location.hash === '#/due'")?;
    // One sees a flower where the other, later, sees nothing new; one finds a bulb dead that the other has sold.
    bulb(&mut other.browser, &tags[0])?;
    other.browser.tap("Look")?;
    other.browser.tap("first flower open")?;
    other.browser.tap("css:.btn.main")?;
    other.browser.see("Names and lot")?;
    did(&mut other.browser, &tags[1], "Died")?;
    bulb(&mut one.browser, &tags[0])?;
    one.browser.tap("Look")?;
    one.browser.see("A closer look")?;
    one.browser.tap("css:.btn.main")?;
    one.browser.see("Names and lot")?;
    did(&mut one.browser, &tags[1], "Sold, given or withdrawn")?;
    // The stage is the one that was known.
    one.browser.see("stalk in sight")?;
    let file = written(&mut other.browser)?;
    let browser = &mut one.browser;
    go(browser, "/files/in")?;
    give(browser, &file)?;
    browser.see("Hollow Lane")?;
    browser.tap("css:.btn.main")?;
    browser.see("2 values disagree")?;
    go(browser, "/due")?;
    browser.tap("2 values disagree")?;
    browser.see("what became of it?")?;
    browser.see("how far was it?")?;
    browser.inspect("records that exclude each other", &ground.axe)?;
    browser.tap("css:button[aria-label^='This stands: left']")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('what became of it?')")?;
    bulb(browser, &tags[0])?;
    browser.inspect("a bulb whose looks contradict each other", &ground.axe)?;
    browser.tap("css:button[aria-label*='first flower open']")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('how far was it?')")?;
    go(browser, "/due")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('disagree')")?;
    other.browser.finish()?;
    browser.finish()
}
