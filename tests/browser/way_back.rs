//! The way back: the same screen, the same scroll, the same open folds, by the link and by the browser's own key.

use anyhow::{Result, ensure};
use bloomdue_tests::driver::Screen;

use crate::slice::demo;
use crate::{Check, Device, Ground};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] =
    checks![a_list_is_where_it_was_left, a_fold_stays_open, a_saved_form_is_not_gone_back_to,];

fn a_list_is_where_it_was_left(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("Places")?;
    browser.tap("Bench 2")?;
    browser.see("In the order of the bench.")?;
    browser.eval("scrollTo(0, 200)")?;
    browser.wait_until("scrollY === 200")?;
    let steps = browser.eval("history.length")?;
    let tag = browser.eval(
        "[...document.querySelectorAll('main .cell .tag')].find((tag) => tag.getBoundingClientRect().top > 200).innerText",
    )?;
    // A tap may scroll what it is meant for into view first.
    browser.eval(
        "document.addEventListener('click', (tap) => { if (tap.target.closest('.cell')) window.left = scrollY; }, true)",
    )?;
    browser.tap(tag.as_str().unwrap_or_default())?;
    browser.wait_until("location.hash.startsWith('#/bulb/') && window.left > 0")?;
    // The way is named by where one came from.
    browser.tap("css:.wayback")?;
    browser.wait_until("location.hash.startsWith('#/place/') && Math.abs(scrollY - window.left) < 1")?;
    browser.tap("css:.bench .cell:nth-of-type(9)")?;
    browser.wait_until("location.hash.startsWith('#/bulb/') && scrollY === 0")?;
    browser.eval("history.back()")?;
    browser.wait_until("location.hash.startsWith('#/place/') && scrollY > 0")?;
    let further = browser.eval("history.length")?;
    ensure!(
        further.as_f64() <= steps.as_f64().map(|steps| steps + 1.0),
        "the way back made {further} steps of {steps}"
    );
    browser.finish()
}

fn a_fold_stays_open(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("What is coming")?;
    browser.see("How this was worked out")?;
    browser.tap("How this was worked out")?;
    browser.wait_until("!!document.querySelector('main details[open]')")?;
    browser.tap("css:main a[href^='#/bulb/']")?;
    browser.tap("css:.wayback")?;
    browser.wait_until("location.hash.startsWith('#/due/coming') && !!document.querySelector('main details[open]')")?;
    browser.finish()
}

fn a_saved_form_is_not_gone_back_to(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("Places")?;
    browser.tap("Sill")?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.tap("css:.btn.main")?;
    browser.wait_until("/^#\\/place\\/[^/]+$/.test(location.hash)")?;
    browser.eval("history.back()")?;
    browser.wait_until("location.hash === '#/places'")?;
    browser.finish()
}
