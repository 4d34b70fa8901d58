//! Sound bulbs, pots, light and knowledge by taps: a wrong-looking bulb to its follow-up, a tape measure to litres, a reading to
//! the place's own shade, a word to its page.

use crate::slice::{go, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    from_a_wrong_looking_bulb_to_its_follow_up,
    from_a_tape_measure_to_litres_of_each_part,
    a_reading_beside_the_open_is_the_place_s_own_shade,
    knowledge_is_found_by_a_word,
];

/// Most taps of a walk of under a minute: at 2.45 s for making up one's mind and an aimed tap (keystroke-level model, Card,
/// Moran and Newell 1980) and a second a character, what is typed taken off.
fn under_a_minute(browser: &Browser) -> Result<()> {
    let seconds = f64::from(browser.taps()) * (1.1 + 1.35) + f64::from(browser.n_typed());
    println!("        {} taps and {} characters, by hand about {seconds:.0} s", browser.taps(), browser.n_typed());
    ensure!(seconds < 60.0, "by hand it would take about {seconds:.0} s");
    Ok(())
}

fn from_a_wrong_looking_bulb_to_its_follow_up(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 3")?;
    browser.reset_taps();
    // Something is wrong with the bulb in hand: inspected from the walk, and back into it.
    browser.tap("Trouble")?;
    browser.tap("Soft, mould, marks")?;
    browser.see("Is it firm?")?;
    browser.inspect("an inspection begun", &ground.axe)?;
    browser.tap("firm and full")?;
    browser.tap("firm and dry")?;
    browser.tap("none")?;
    browser.see("Red marks?")?;
    browser.tap("red spots or streaks")?;
    browser.see("Red is not proof")?;
    browser.see("What may be behind it")?;
    browser.inspect("an inspection with its reason", &ground.axe)?;
    browser.tap("in 3 days")?;
    browser.tap("Save: set it apart")?;
    browser.see("bulb 1 of 3")?;
    under_a_minute(browser)?;
    // The follow-up comes by itself: it is among the days of this week.
    go(browser, "/due/week")?;
    browser.see("Inspect again")?;
    // Passed over, a question says nothing; what is thrown away leaves the lists.
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("css:.cell:nth-of-type(2)")?;
    browser.tap("Done …")?;
    browser.tap("Inspect")?;
    browser.see("Is it firm?")?;
    browser.tap("Can't tell")?;
    browser.see("How is the basal plate?")?;
    browser.tap("soft, brown or mouldy")?;
    browser.see("Better thrown away")?;
    browser.tap("Save: thrown away")?;
    browser.see("inspected, thrown away")?;
    go(browser, "/places")?;
    let two = "[...document.querySelectorAll('main .row .num')].some((n) => n.textContent === '2')";
    browser.wait_until(two)?;
    browser.finish()
}

fn from_a_tape_measure_to_litres_of_each_part(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::speaking(Screen::phone(), "en-GB")?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    browser.reset_taps();
    browser.tap("Pots and mix: how much")?;
    browser.see("Measure the pot's inner width and height.")?;
    browser.inspect("an empty pot", &ground.axe)?;
    browser.fill("Width at rim", "15")?;
    browser.fill("Height", "14")?;
    browser.fill("Circumference", "28")?;
    browser.fill("How many pots", "24")?;
    browser.see("24 pots take")?;
    under_a_minute(browser)?;
    browser.see("potting soil")?;
    browser.see("from bulb to wall")?;
    browser.see("Filled, each weighs about")?;
    browser.tap("What is published, which differs")?;
    browser.see("extension service")?;
    browser.inspect("a pot with its mix", &ground.axe)?;
    // A pot smaller than its bulb is refused with what is missing.
    browser.fill("Width at rim", "8")?;
    browser.see("too narrow for its bulbs by 1 cm")?;
    browser.fill("Width at rim", "900")?;
    browser.see("must be from")?;
    browser.finish()
}

fn a_reading_beside_the_open_is_the_place_s_own_shade(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::speaking(Screen::phone(), "en-GB")?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    browser.tap("Light and shade")?;
    browser.see("Say where the nursery lies first")?;
    browser.inspect("light without a latitude", &ground.axe)?;
    browser.tap("Say the latitude")?;
    browser.fill("Latitude", "52.3")?;
    browser.tap("css:section[aria-label='The nursery'] > .btn")?;
    browser.see("Nursery saved")?;
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Light and shade")?;
    browser.see("of day.")?;
    browser.see("labelled to keep out 0 %")?;
    browser.fill("Here", "24000")?;
    browser.fill("In the open", "80000")?;
    browser.tap("Record this reading")?;
    browser.see("Read here they keep out 70 %")?;
    browser.inspect("the light of a place", &ground.axe)?;
    browser.finish()
}

fn knowledge_is_found_by_a_word(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    go(browser, "/files")?;
    browser.tap("Knowledge at hand")?;
    browser.see("The job from start to finish")?;
    browser.inspect("all pages", &ground.axe)?;
    browser.fill("Find in all of it", "closed bag")?;
    browser.see("A bulb rots: what to do")?;
    browser.tap("A bulb rots: what to do")?;
    browser.see("Gloves on.")?;
    browser.inspect("a page", &ground.axe)?;
    browser.finish()
}
