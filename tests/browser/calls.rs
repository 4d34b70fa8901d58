//! Stalk or leaf: a call from the walk and back, how good calls are, practising.

use crate::slice::{demo, go, start};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::Screen;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] =
    checks![a_call_is_one_tap_from_the_walk_and_leads_back_to_it, how_good_calls_are_is_told_and_can_be_practised];

fn a_call_is_one_tap_from_the_walk_and_leads_back_to_it(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "2")?;
    browser.tap("Walk through")?;
    browser.see("A shoot, not sure")?;
    let first = browser.eval("document.querySelector('h1').textContent")?;
    browser.tap("A shoot, not sure")?;
    browser.wait_until(&format!("document.querySelector('h1').textContent !== {first}"))?;
    let second = browser.eval("document.querySelector('h1').textContent")?;
    browser.inspect("a walk with a shoot just found", &ground.axe)?;
    browser.tap("Stalk or leaf?")?;
    browser.see("Even: nothing looked at yet.")?;
    // What no question can change any more is not asked, and a single number is not told before there are proofs.
    browser.tap("css:.grid2 .btn.tall")?;
    browser.see("Leaning")?;
    browser.see("times in 10.")?;
    browser.see("What would settle it")?;
    browser.tap("How this was worked out")?;
    browser.see("no shoot here was proved yet")?;
    browser.inspect("a call with its grounds", &ground.axe)?;
    browser.tap("Keep this call")?;
    browser.wait_until(&format!("document.querySelector('h1').textContent === {second}"))?;
    browser.finish()
}

fn how_good_calls_are_is_told_and_can_be_practised(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/calls")?;
    browser.see("calls were right.")?;
    browser.see("By question")?;
    browser.inspect("how good calls are", &ground.axe)?;
    browser.tap("Practise: stalk or leaf?")?;
    browser.see("What does it look like?")?;
    browser.inspect("practice", &ground.axe)?;
    browser.tap("A stalk")?;
    browser.wait_until("/^(Right|Not so)\\./.test(document.querySelector('[role=status] .say')?.textContent ?? '')")?;
    browser.see("of 1 right")?;
    browser.inspect("a guess", &ground.axe)?;
    browser.tap("Next")?;
    browser.see("A leaf")?;
    // Practice is no record.
    let said = browser.eval("document.querySelectorAll('[role=status] .say').length")?;
    ensure!(said == 0, "the answer to the guess before still stands");
    browser.finish()
}
