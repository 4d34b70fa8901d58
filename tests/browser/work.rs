//! Longer work: done beside the page, which stays at hand; stopped when it is not wanted; done without a network.

use crate::offline::visit;
use crate::{Check, Device, Ground, Host};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::Value;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    the_page_stays_at_hand_while_work_is_done,
    work_that_is_stopped_ends_at_once,
    without_a_thread_the_page_works_in_slices,
    work_is_done_without_a_network,
];

/// Counts how often the page comes to its turn.
const WATCH: &str = "window.watch = { n: 0 }; setInterval(() => { window.watch.n += 1; }, 10);";

fn probe(browser: &mut Browser, host: &Host) -> Result<()> {
    browser.open(&format!("{}#/probe", host.server.address()))?;
    browser.wait_until("window.bloomdueProbe")?;
    Ok(())
}

fn work(browser: &mut Browser, wish: &str) -> Result<(String, u64)> {
    let worked = browser.eval(&format!("bloomdueProbe.work({wish})"))?;
    let ended = worked["ended"].as_str().context("how it ended")?.to_owned();
    let n_told = worked["nTold"].as_u64().context("how often it told")?;
    Ok((ended, n_told))
}

fn threads(browser: &mut Browser) -> Result<Value> {
    browser.eval("performance.getEntriesByType('resource').filter((one) => /work-/.test(one.name)).length")
}

fn the_page_stays_at_hand_while_work_is_done(ground: &Ground) -> Result<()> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    probe(browser, &host)?;
    browser.eval(WATCH)?;
    let (ended, n_told) = work(browser, "[6]")?;
    ensure!(ended.starts_with("Done(NextTry(Ok("), "it ended as {ended}");
    ensure!(n_told >= 3, "progress was told {n_told} times");
    ensure!(threads(browser)? == 1, "no thread was started");
    // Done on the page, it would be one stretch in which the page never comes to its turn.
    let n = browser.eval("window.watch.n")?;
    ensure!(n.as_u64().is_some_and(|n| n >= 10), "the page came to its turn {n} times");
    let again = work(browser, "[1]")?;
    ensure!(again.0.starts_with("Done("), "the second ended as {}", again.0);
    ensure!(threads(browser)? == 1, "a second thread was started");
    device.browser.finish()
}

fn work_that_is_stopped_ends_at_once(ground: &Ground) -> Result<()> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    probe(browser, &host)?;
    let (ended, _) = work(browser, "[6, 20]")?;
    ensure!(ended == "Stopped", "it ended as {ended}");
    // A newer task of the same kind stops the older one, and is done itself.
    let both = browser.eval(
        "Promise.all([bloomdueProbe.work([6]), bloomdueProbe.work([1])]).then((all) => all.map((one) => one.ended))",
    )?;
    ensure!(both[0] == "Stopped", "the older one ended as {}", both[0]);
    let newer = both[1].as_str().unwrap_or_default();
    ensure!(newer.starts_with("Done("), "the newer one ended as {newer}");
    device.browser.finish()
}

fn without_a_thread_the_page_works_in_slices(ground: &Ground) -> Result<()> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    probe(browser, &host)?;
    browser.eval("window.bloomdueWork = undefined")?;
    browser.eval(WATCH)?;
    let (ended, n_told) = work(browser, "[6]")?;
    ensure!(ended.starts_with("Done("), "it ended as {ended}");
    ensure!(n_told >= 3, "progress was told {n_told} times");
    ensure!(threads(browser)? == 0, "a thread was started all the same");
    let n = browser.eval("window.watch.n")?;
    ensure!(n.as_u64().is_some_and(|n| n >= 10), "the page came to its turn {n} times");
    // A thread that fails at the start is no thread either.
    browser.reload()?;
    browser.wait_until("window.bloomdueProbe")?;
    browser.eval("window.bloomdueWork = () => new Worker('nothing.js')")?;
    browser.allow("nothing.js");
    browser.allow("404");
    let (ended, _) = work(browser, "[1]")?;
    ensure!(ended.starts_with("Done("), "it ended as {ended}");
    device.browser.finish()
}

fn work_is_done_without_a_network(ground: &Ground) -> Result<()> {
    let mut host = ground.host_of(&ground.probe_dist, "some/where")?;
    let mut device = Device::new(Screen::phone())?;
    visit(&mut device.browser, &host)?;
    device.browser.finish()?;
    host.server.stop()?;
    device.browser.kill_and_reopen()?;
    device.browser.allow("ERR_CONNECTION_REFUSED");
    probe(&mut device.browser, &host)?;
    let (ended, _) = work(&mut device.browser, "[2]")?;
    ensure!(ended.starts_with("Done("), "it ended as {ended}");
    ensure!(threads(&mut device.browser)? == 1, "no thread was started");
    device.browser.finish()
}
