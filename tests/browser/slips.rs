//! Slips of the finger: what one tap enters wrongly another one mends, at once or a week later.

use crate::care::did;
use crate::slice::{answer, go, join, start, written};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    slips_with_more_detail_a_job_keeps_its_act_and_its_bulbs,
    slips_of_stock_are_asked_about_undone_renamed_moved_and_taken_out,
    slips_in_a_walk_are_undone_and_troubles_lead_back_into_it,
    slips_a_joining_phone_asks_who_records_on_it,
];

/// Waits until the walk counts taps again: two within 400 ms count once.
fn pause(browser: &mut Browser) -> Result<()> {
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    Ok(())
}

fn bench(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.see("Walk through")
}

fn slips_with_more_detail_a_job_keeps_its_act_and_its_bulbs(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    did(browser, "Stop water", 60)?;
    did(browser, "Lay to rest", 40)?;
    go(browser, "/due/plans")?;
    browser.tap("The whole nursery")?;
    browser.tap("Take: Cut back the leaves")?;
    browser.see("Taken into the care plan")?;
    // Done for three of the four: the job is about the fourth from now on.
    go(browser, "/due")?;
    browser.tap("Cut back the leaves")?;
    browser.tap("All 4")?;
    browser.tap("css:.asked .chip:nth-of-type(2)")?;
    browser.see("None of 4 yet")?;
    browser.tap("css:.asked .chip:nth-of-type(1)")?;
    browser.see("All 4")?;
    browser.tap("css:.asked .choice:nth-of-type(1)")?;
    browser.tap("Done")?;
    browser.see("Cut back the leaves: 3 bulbs")?;
    browser.tap("Cut back the leaves")?;
    browser.tap("Record it with more detail")?;
    browser.see("1 of 4")?;
    browser.inspect("a job with more detail", &ground.axe)?;
    browser.tap("css:.btn.main")?;
    browser.see("Cut back the leaves: 1 bulb")?;
    browser.wait_until(
        "![...document.querySelectorAll('main a.row b')].some((b) => b.textContent.includes('Cut back'))",
    )?;
    // Nothing is left for today, and what comes next is named once a plan says so.
    go(browser, "/due/plans")?;
    browser.tap("The whole nursery")?;
    pause(browser)?;
    browser.tap("Take all")?;
    browser.see("jobs")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('Take all')")?;
    // The phone's back key leads from a form to the list of acts.
    bench(browser)?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.see("All 4")?;
    browser.eval("history.back()")?;
    browser.see("What was done?")?;
    browser.finish()
}

fn slips_of_stock_are_asked_about_undone_renamed_moved_and_taken_out(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    // A second cultivar is one: no lot is chosen beforehand.
    bench(browser)?;
    browser.tap("Add bulbs")?;
    browser.see("More of Evenfall")?;
    browser.fill("How many bulbs", "2")?;
    browser.tap("Add them")?;
    browser.see("Give the lot a name")?;
    browser.fill("Cultivar", "Candel")?;
    browser.tap("Each its own")?;
    browser.fill("Circumferences in cm, in order", "10.5 11")?;
    browser.tap("Your own names or numbers")?;
    browser.fill("Your own names, one a line", "C1\nC2")?;
    browser.tap("Add them")?;
    browser.see("Were inches typed?")?;
    browser.inspect("a size asked about", &ground.axe)?;
    browser.tap("Inches: 26.7 cm to 27.9 cm")?;
    browser.see("Added 2 bulbs")?;
    browser.wait_until("!!document.querySelector('.cell[aria-label*=\"Candel · 26.7 cm\"]')")?;
    // Undone at once, nothing is left of them.
    browser.tap("Undo")?;
    browser.wait_until("!document.querySelector('main').textContent.includes('Candel')")?;
    browser.see("3 bulbs · bench")?;
    go(browser, "/lots")?;
    browser.see("Evenfall")?;
    browser.wait_until("document.querySelectorAll('main a.row').length === 1")?;
    // Entered again, and once more under a name that stands already.
    for own in ["C1\nC2", "C1\nC3"] {
        bench(browser)?;
        browser.tap("Add bulbs")?;
        browser.fill("How many bulbs", "2")?;
        if own.ends_with('3') {
            browser.tap("More of Candel")?;
        } else {
            browser.fill("Cultivar", "Candel")?;
        }
        browser.tap("Your own names or numbers")?;
        browser.fill("Your own names, one a line", own)?;
        browser.tap("Add them")?;
        if !own.ends_with('3') {
            browser.see("5 bulbs · bench")?;
        }
    }
    browser.see("There is a bulb of this name already: C1")?;
    browser.tap("Use it all the same")?;
    browser.see("7 bulbs · bench")?;
    // The misspelt cultivar is renamed, lot and all.
    go(browser, "/lots")?;
    browser.inspect("lots", &ground.axe)?;
    browser.tap("Candel")?;
    browser.fill("Cultivar", "Candle")?;
    browser.inspect("a lot", &ground.axe)?;
    browser.tap("Save")?;
    browser.see("Lot changed")?;
    browser.see("Candle")?;
    // Two of them are of another lot, made in the same step.
    bench(browser)?;
    browser.tap("Change several bulbs")?;
    browser.see("For none of 7")?;
    browser.tap("C2")?;
    browser.tap("C3")?;
    browser.see("For 2 of 7")?;
    browser.inspect("several bulbs", &ground.axe)?;
    browser.fill("Cultivar", "Moth")?;
    browser.tap("Move to this lot")?;
    browser.see("Moved to another lot: 2 bulbs")?;
    browser.wait_until("document.querySelectorAll('.cell[aria-label*=Moth]').length === 2")?;
    // One was not there at all. It was looked at; that goes too, and all of it comes back.
    browser.tap("C3")?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.tap("css:.btn.main")?;
    browser.see("Water: 1 bulb")?;
    browser.see("Undo")?;
    go(browser, "/places")?;
    // What was saved is past on a page that was opened after it.
    browser.wait_until("!!document.querySelector('main a.row')")?;
    ensure!(
        browser.eval("document.querySelector('.undo') === null")? == true,
        "the bar of something saved stays over other pages"
    );
    bench(browser)?;
    browser.tap("Change several bulbs")?;
    browser.tap("C3")?;
    browser.see("With it goes: 1 act")?;
    browser.tap("Take out of the nursery")?;
    browser.see("Taken out: 1 bulb")?;
    browser.see("6 bulbs · bench")?;
    browser.tap("Undo")?;
    browser.see("7 bulbs · bench")?;
    go(browser, "/find")?;
    browser.fill("Tag, own name, lot or cultivar", "C3")?;
    // A tag drawn by chance may hold the same letters.
    browser.wait_until("[...document.querySelectorAll('main a.row b')].some((row) => row.textContent === 'C3')")?;
    browser.finish()
}

fn slips_in_a_walk_are_undone_and_troubles_lead_back_into_it(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "4")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 4")?;
    answer(browser, "Nothing yet")?;
    browser.see("bulb 2 of 4")?;
    pause(browser)?;
    browser.tap("Undo")?;
    browser.see("bulb 1 of 4")?;
    answer(browser, "A stalk")?;
    browser.see("bulb 2 of 4")?;
    // Trouble names what may be wrong, and comes back.
    browser.tap("Trouble")?;
    browser.see("What is wrong?")?;
    browser.inspect("what may be wrong", &ground.axe)?;
    browser.tap("Died")?;
    browser.see("Of what, if known")?;
    browser.tap("css:.btn.main")?;
    browser.see("bulb 2 of 3")?;
    answer(browser, "Nothing yet")?;
    pause(browser)?;
    browser.tap("Nothing yet")?;
    browser.see("All 3 bulbs looked at today.")?;
    browser.see("New today")?;
    browser.see("stalk in sight")?;
    browser.see("Died: 1")?;
    browser.inspect("a walk's end", &ground.axe)?;
    let rows = browser.eval("document.querySelectorAll('.walk a.row').length")?;
    ensure!(rows == 2, "{rows} bulbs are said to be new or dead");
    browser.finish()
}

fn slips_a_joining_phone_asks_who_records_on_it(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut one = Device::new(Screen::phone())?;
    start(&mut one.browser, host.server.address(), "2")?;
    let file = written(&mut one.browser)?;
    let mut other = Device::new(Screen::phone())?;
    let browser = &mut other.browser;
    join(browser, host.server.address(), &file)?;
    browser.inspect("who records", &ground.axe)?;
    // Left without an answer, it is asked again, and nothing is recorded under the first person's name.
    browser.reload()?;
    go(browser, "/due")?;
    browser.tap("Say who records on this device")?;
    browser.fill("Initials", "BM")?;
    browser.tap("css:.btn.main")?;
    browser.wait_until("location.hash === '#/due'")?;
    bench(browser)?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.tap("css:.btn.main")?;
    browser.see("Water: 2 bulbs")?;
    browser.tap("css:.bench .cell")?;
    browser.see("by BM")?;
    one.browser.finish()?;
    browser.finish()
}
