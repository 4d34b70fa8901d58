//! From nothing to a nursery with a first place, by taps.

use crate::offline::visit;
use crate::{Check, Device, Ground};
use anyhow::Result;
use bloomdue_tests::driver::Screen;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![a_nursery_is_started_by_taps];

fn a_nursery_is_started_by_taps(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Quarry Steps")?;
    browser.fill("Your initials", "MB")?;
    browser.inspect("starting a nursery", &ground.axe)?;
    browser.tap("Start")?;
    browser.wait_until("location.hash.length > 1")?;
    browser.inspect("first place", &ground.axe)?;
    browser.check_no_sideways("first place")?;
    browser.finish()
}
