//! The shell: first visit, no network, the next version, a broken deployment, mending.

use crate::{Check, Device, Ground, Host, slice};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen, copy_tree};
use serde_json::json;
use std::path::Path;
use std::time::Duration;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    first_visit_loads_clean,
    cold_start_without_a_server,
    plain_http_says_what_it_lacks,
    works_below_a_sub_path,
    a_part_that_did_not_come_is_asked_for_again,
    an_update_waits_for_the_tap,
    a_version_can_be_taken_back,
    two_tabs_across_an_update,
    a_form_begun_is_there_after_an_update,
    two_copies_on_one_origin_share_nothing,
    killed_while_the_next_version_arrives,
    parts_of_two_versions_do_not_run_together,
    a_missing_file_keeps_the_old_version,
    a_changed_file_keeps_the_old_version,
    the_mending_page_keeps_the_records,
    a_panic_shows_the_error_screen,
];

/// True in the page once the app has put up its first screen.
pub(crate) const STARTED: &str =
    "window.bloomdueVersion && !document.getElementById('skeleton') && !document.getElementById('failed')";

/// Resolves once the offline worker is active and answers for this page.
pub(crate) const READY_OFFLINE: &str = "navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller ? true : \
    new Promise((done) => navigator.serviceWorker.addEventListener('controllerchange', () => done(true), {once: true})))";

/// Opens the app and waits until it has started and can do without a network.
pub(crate) fn visit(browser: &mut Browser, host: &Host) -> Result<()> {
    browser.open(host.server.address())?;
    browser.wait_until(STARTED)?;
    browser.eval(READY_OFFLINE)?;
    Ok(())
}

pub(crate) fn version(browser: &mut Browser) -> Result<String> {
    let version = browser.eval("window.bloomdueVersion")?;
    Ok(version.as_str().context("the page has a version")?.to_owned())
}

fn first_visit_loads_clean(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    for (name, screen) in [("phone", Screen::phone()), ("desk", Screen::desk())] {
        for dark in [false, true] {
            let mut device = Device::new(screen)?;
            device.browser.prefer_dark(dark)?;
            visit(&mut device.browser, &host)?;
            let what = format!("first screen, {name}, {}", if dark { "dark" } else { "light" });
            device.browser.inspect(&what, &ground.axe)?;
            device.browser.check_no_sideways(&what)?;
            device.browser.finish()?;
        }
    }
    Ok(())
}

fn cold_start_without_a_server(ground: &Ground) -> Result<()> {
    let mut host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    visit(&mut device.browser, &host)?;
    device.browser.finish()?;
    host.server.stop()?;
    device.browser.kill_and_reopen()?;
    // The worker looks for a newer version whenever the app starts; nobody answers now.
    device.browser.allow("ERR_CONNECTION_REFUSED");
    device.browser.open(host.server.address())?;
    device.browser.wait_until(STARTED)?;
    device.browser.open(&format!("{}index.html?from=home#/due", host.server.address()))?;
    device.browser.wait_until(STARTED)?;
    device.browser.finish()
}

fn works_below_a_sub_path(ground: &Ground) -> Result<()> {
    let mut host = ground.host("some/where")?;
    let mut device = Device::new(Screen::phone())?;
    visit(&mut device.browser, &host)?;
    let scope = device.browser.eval("navigator.serviceWorker.ready.then((registration) => registration.scope)")?;
    ensure!(scope == host.server.address(), "the worker's scope is {scope}");
    device.browser.finish()?;
    host.server.stop()?;
    device.browser.kill_and_reopen()?;
    device.browser.allow("ERR_CONNECTION_REFUSED");
    device.browser.open(host.server.address())?;
    device.browser.wait_until(STARTED)?;
    device.browser.finish()
}

fn an_update_waits_for_the_tap(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    let old = version(browser)?;
    copy_tree(&ground.probe_dist, host.folder.path())?;

    browser.reload()?;
    browser.wait_until(STARTED)?;
    browser.see("Use it now")?;
    ensure!(version(browser)? == old, "the next version came without a tap");
    browser.reload()?;
    browser.wait_until(STARTED)?;
    ensure!(version(browser)? == old, "a reload brought the next version");

    browser.tap("Use it now")?;
    browser.wait_until(&format!("window.bloomdueVersion && window.bloomdueVersion !== '{old}'"))?;
    browser.wait_until(STARTED)?;
    let caches = browser.eval("caches.keys()")?;
    let new = version(browser)?;
    ensure!(
        caches.as_array().is_some_and(|all| all.len() == 1 && all[0].as_str().is_some_and(|name| name.ends_with(&new))),
        "old caches are left: {caches}"
    );
    browser.finish()
}

fn plain_http_says_what_it_lacks(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(&host.server.address().replace("localhost", "plain.test"))?;
    browser.wait_until(STARTED)?;
    browser.see("plain http")?;
    browser.inspect("first screen over plain http", &ground.axe)?;
    browser.check_no_sideways("first screen over plain http")?;
    browser.finish()
}

fn a_part_that_did_not_come_is_asked_for_again(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.call("Network.setBlockedURLs", json!({"urls": ["*/part-*"]}))?;
    browser.open(host.server.address())?;
    browser.wait_until(STARTED)?;
    browser.tap("Join one")?;
    browser.see("not on this device yet")?;
    browser.inspect("a part that did not come", &ground.axe)?;
    browser.call("Network.setBlockedURLs", json!({"urls": []}))?;
    browser.tap("Try again")?;
    browser.wait_until("document.querySelector('input[type=file]')")?;
    for expected in ["ERR_BLOCKED_BY_CLIENT", "Failed to fetch"] {
        browser.allow(expected);
    }
    browser.finish()
}

/// Puts the other version on the host, lets the page find it, and takes it by the tap.
pub(crate) fn take(browser: &mut Browser, host: &Host, dist: &Path) -> Result<()> {
    let before = version(browser)?;
    copy_tree(dist, host.folder.path())?;
    look_for_update(browser)?;
    browser.tap("Use it now")?;
    browser.wait_until(&format!("window.bloomdueVersion && window.bloomdueVersion !== '{before}'"))?;
    browser.wait_until(STARTED)
}

pub(crate) fn look_for_update(browser: &mut Browser) -> Result<()> {
    browser.eval("navigator.serviceWorker.ready.then((it) => it.update()).then(() => 0)")?;
    Ok(())
}

fn a_version_can_be_taken_back(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    let old = version(browser)?;
    take(browser, &host, &ground.probe_dist)?;
    take(browser, &host, &ground.dist)?;
    ensure!(version(browser)? == old, "this is not the version before");
    browser.finish()
}

fn a_form_begun_is_there_after_an_update(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    slice::start(browser, host.server.address(), "12")?;
    browser.eval(READY_OFFLINE)?;
    browser.tap("css:.foot a:nth-child(3)")?;
    browser.tap("Begin a new trial")?;
    browser.tap("Longer or shorter rest?")?;
    browser.see("What is done differently in each")?;
    browser.tap("Next")?;
    browser.see("Fixed before the start")?;
    browser.eval("location.hash = '/due'")?;
    browser.see("Go on with what was begun")?;
    take(browser, &host, &ground.probe_dist)?;
    browser.eval("location.hash = '/due'")?;
    browser.tap("Go on with what was begun")?;
    browser.see("Fixed before the start")?;
    browser.finish()
}

fn two_copies_on_one_origin_share_nothing(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let folder = host.folder.path();
    for copy in ["one", "two"] {
        std::fs::create_dir(folder.join(copy))?;
        copy_tree(&ground.dist, &folder.join(copy))?;
    }
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    let address = |copy: &str| format!("{}{copy}/index.html", host.server.address());
    slice::start(browser, &address("one"), "3")?;
    browser.open(&address("two"))?;
    browser.see("Start a nursery")?;
    slice::start(browser, &address("two"), "5")?;
    let names = browser
        .eval("indexedDB.databases().then((all) => all.map((one) => one.name).concat(Object.keys(localStorage)))")?;
    let names = names.as_array().context("names")?;
    let of = |copy: &str| {
        let end = format!("/{copy}/");
        let with = |name: &&serde_json::Value| name.as_str().is_some_and(|n| n.contains(&end));
        names.iter().filter(with).count()
    };
    ensure!(of("one") == of("two") && of("one") >= 3 && names.len() == of("one") + of("two"), "{names:?}");
    for (copy, n_bulbs) in [("one", 3), ("two", 5)] {
        browser.open(&address(copy))?;
        browser.wait_until(STARTED)?;
        browser.eval("location.hash = '/places'")?;
        browser.wait_until(&format!("/\\bbench\\s+{n_bulbs}\\b/.test(document.body.innerText)"))?;
    }
    browser.finish()
}

fn two_tabs_across_an_update(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    let old = version(browser)?;
    let first = browser.new_tab()?;
    visit(browser, &host)?;
    browser.eval("void (window.stillTheSamePage = true)")?;
    let second = browser.turn_to(first)?;
    take(browser, &host, &ground.probe_dist)?;
    let new = version(browser)?;
    // Nobody tapped in the second tab, and somebody may be typing there.
    browser.turn_to(second)?;
    let same = browser.eval("window.stillTheSamePage === true")?;
    ensure!(same == true, "the other tab was reloaded without a tap");
    ensure!(version(browser)? == old, "the other tab changed its version");
    browser.tap("Reload")?;
    browser.wait_until("!window.stillTheSamePage")?;
    browser.wait_until(STARTED)?;
    ensure!(version(browser)? == new, "the other tab did not follow");
    browser.finish()
}

fn killed_while_the_next_version_arrives(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    for delay_ms in [0, 10, 40, 120] {
        copy_tree(&ground.probe_dist, host.folder.path())?;
        browser.eval("void navigator.serviceWorker.ready.then((it) => it.update())")?;
        std::thread::sleep(Duration::from_millis(delay_ms));
        browser.kill_and_reopen()?;
        browser.open(host.server.address())?;
        browser.wait_until(STARTED)?;
        // With the host back at the version that runs, the next round starts as this one did.
        copy_tree(&ground.dist, host.folder.path())?;
        look_for_update(browser)?;
    }
    browser.finish()
}

fn parts_of_two_versions_do_not_run_together(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let folder = host.folder.path();
    let boot = std::fs::read_dir(folder)?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.to_string_lossy().contains("/boot-"))
        .context("there is a boot script")?;
    let text = std::fs::read_to_string(&boot)?;
    let broken = text.replace("const VERSION = \"", "const VERSION = \"not-");
    ensure!(text != broken, "the boot script names no version");
    std::fs::write(&boot, broken)?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.allow("bloomdue failed");
    browser.open(host.server.address())?;
    browser.see("Nothing recorded is lost")?;
    let loads = browser.eval("performance.getEntriesByType('navigation')[0].type")?;
    ensure!(loads == "reload", "it gave up without trying again: {loads}");
    browser.finish()
}

fn a_missing_file_keeps_the_old_version(ground: &Ground) -> Result<()> {
    stays_with_the_old_version(ground, |host| {
        std::fs::remove_file(program(host)?)?;
        Ok(())
    })
}

fn a_changed_file_keeps_the_old_version(ground: &Ground) -> Result<()> {
    stays_with_the_old_version(ground, |host| {
        let file = program(host)?;
        let mut bytes = std::fs::read(&file)?;
        bytes.push(0);
        std::fs::write(file, bytes)?;
        Ok(())
    })
}

/// The compiled program, another file in every version. What stays as it was is not asked for again.
fn program(host: &Host) -> Result<std::path::PathBuf> {
    std::fs::read_dir(host.folder.path())?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with("bloomdue-") && name.ends_with(".wasm")
        })
        .context("there is a program")
}

/// Deploys the next version with something broken: the old one goes on, also without a network,
/// and once the host is mended the next version is offered after all.
fn stays_with_the_old_version(ground: &Ground, spoil: fn(&Host) -> Result<()>) -> Result<()> {
    let mut host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    let old = version(browser)?;
    copy_tree(&ground.probe_dist, host.folder.path())?;
    spoil(&host)?;
    for expected in ["404", "integrity", "addAll", "Failed to", "ERR_CONNECTION_REFUSED"] {
        browser.allow(expected);
    }
    let refused = browser.eval(
        "navigator.serviceWorker.ready.then((registration) => registration.update().then((now) => new Promise((done) => { \
             const worker = now.installing; \
             if (!worker) return done('nothing was installing'); \
             worker.addEventListener('statechange', () => done(worker.state)); \
         }), (problem) => 'redundant'))",
    )?;
    ensure!(refused == "redundant", "the broken version became {refused}");
    browser.reload()?;
    browser.wait_until(STARTED)?;
    ensure!(version(browser)? == old, "the broken version came into use");
    host.server.stop()?;
    browser.reload()?;
    browser.wait_until(STARTED)?;
    ensure!(version(browser)? == old, "the broken version came into use");

    copy_tree(&ground.probe_dist, host.folder.path())?;
    host.server.resume()?;
    look_for_update(browser)?;
    browser.see("Use it now")?;
    browser.finish()
}

fn the_mending_page_keeps_the_records(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    browser.eval(
        "new Promise((done, fail) => { const open = indexedDB.open('kept-by-the-check'); \
         open.onupgradeneeded = () => open.result.createObjectStore('all').put('here', 1); \
         open.onsuccess = () => { open.result.close(); done(true); }; open.onerror = fail; })",
    )?;
    browser.eval("caches.open('somebody else’s').then(() => true)")?;
    browser.open(&format!("{}reset.html", host.server.address()))?;
    browser.inspect("mending page", &ground.axe)?;
    browser.tap("Load it again")?;
    browser.wait_until(STARTED)?;
    browser.eval(READY_OFFLINE)?;
    let databases = browser.eval("indexedDB.databases().then((all) => all.map((one) => one.name))")?;
    ensure!(databases.to_string().contains("kept-by-the-check"), "records are gone: {databases}");
    let caches = browser.eval("caches.keys()")?.to_string();
    ensure!(caches.contains("somebody else’s"), "a foreign cache is gone: {caches}");
    browser.finish()
}

fn a_panic_shows_the_error_screen(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    visit(browser, &host)?;
    browser.allow("bloomdue failed");
    browser.eval("void bloomdueFailed('made by the check')")?;
    browser.see("Nothing recorded is lost")?;
    browser.inspect("error screen", &ground.axe)?;
    browser.tap("Reload")?;
    browser.wait_until(STARTED)?;
    // An error that nobody caught ends there too.
    browser.allow("nobody caught this");
    browser.eval("void setTimeout(() => { throw new Error('nobody caught this') })")?;
    browser.see("Nothing recorded is lost")?;
    browser.finish()
}
