//! The demo, by taps.

use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::Screen;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = &[("the demo is alive", the_demo_is_alive)];

const DEMO: &str = "Demo: an invented nursery";

fn the_demo_is_alive(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Look at the demo")?;
    browser.see(DEMO)?;
    browser.see("Bench 2")?;
    browser.see("Cellar")?;
    let due = browser.eval("document.querySelector('main').innerText")?;
    // The demo is kept: opened again it is what it was, and nothing was written twice.
    browser.reload()?;
    browser.see(DEMO)?;
    browser.see("Bench 2")?;
    let again = browser.eval("document.querySelector('main').innerText")?;
    ensure!(due == again, "the demo changed from {due} to {again}");
    browser.finish()
}
