//! Hosts and networks that misbehave: sign-in pages, answers led elsewhere, kept too long or cut off; and how often
//! each file is asked for.

use crate::offline::{READY_OFFLINE, STARTED, look_for_update, version};
use crate::{Check, Device, Ground};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Asked, Browser, Fault, Faulty, Scratch, Screen, copy_tree};
use std::collections::BTreeMap;
use std::path::Path;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_host_that_leads_to_its_index_opens_again,
    every_file_with_a_hash_in_its_name_is_fetched_once,
    a_sign_in_page_at_the_first_visit_leaves_nothing,
    an_offline_set_up_that_failed_is_told_and_tried_again,
    a_sign_in_page_at_an_update_changes_nothing,
    mending_under_a_sign_in_page_leaves_all_as_it_was,
    a_sign_in_page_kept_for_long_is_got_rid_of,
    a_page_of_another_address_does_not_show_it,
    a_save_waits_for_no_part_and_due_tells_nothing_before_its_jobs_are_known,
];

/// Something of the app is kept for use without a network.
const KEPT: &str = "caches.keys().then((all) => all.length)";

struct Place {
    host: Faulty,
    folder: Scratch,
    device: Device,
}

fn place(ground: &Ground) -> Result<Place> {
    let folder = Scratch::new("host")?;
    copy_tree(&ground.dist, folder.path())?;
    Ok(Place { host: Faulty::start(folder.path())?, folder, device: Device::new(Screen::phone())? })
}

impl Place {
    fn visit(&mut self) -> Result<()> {
        let browser = &mut self.device.browser;
        browser.open(self.host.address())?;
        browser.wait_until(STARTED)?;
        browser.eval(READY_OFFLINE)?;
        Ok(())
    }

    /// With nobody answering any more the app starts all the same, in a new process.
    fn starts_without_network(mut self) -> Result<()> {
        self.host.stop();
        let browser = &mut self.device.browser;
        browser.kill_and_reopen()?;
        browser.allow("ERR_");
        for address in ["", "index.html?from=home#/due"] {
            browser.open(&format!("{}{address}", self.host.address()))?;
            browser.wait_until(STARTED)?;
        }
        for expected in ["Failed to", "sw.js", "bad HTTP", "MIME", "redirect"] {
            browser.allow(expected);
        }
        browser.finish()
    }
}

fn a_host_that_leads_to_its_index_opens_again(ground: &Ground) -> Result<()> {
    let mut place = place(ground)?;
    place.host.set(Fault::LeadsToIndex);
    place.visit()?;
    let browser = &mut place.device.browser;
    browser.open(place.host.address())?;
    browser.wait_until(STARTED)?;
    // At an update as well.
    let old = version(browser)?;
    copy_tree(&ground.probe_dist, place.folder.path())?;
    look_for_update(browser)?;
    browser.tap("Use it now")?;
    browser.wait_until(&format!("window.bloomdueVersion && window.bloomdueVersion !== '{old}'"))?;
    browser.wait_until(STARTED)?;
    place.starts_without_network()
}

/// How often each file with a hash in its name was sent.
fn times_sent(asked: &[Asked]) -> BTreeMap<String, usize> {
    let mut times = BTreeMap::new();
    for one in asked.iter().filter(|one| is_hashed(&one.name)) {
        *times.entry(one.name.clone()).or_default() += 1;
    }
    times
}

fn is_hashed(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default();
    let hash = stem.rsplit_once('-').map(|(_, hash)| hash);
    hash.is_some_and(|hash| hash.len() == 16 && hash.bytes().all(|b| b.is_ascii_hexdigit()))
}

fn names(folder: &Path) -> Result<Vec<String>> {
    let entries = std::fs::read_dir(folder)?;
    let names = entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    let names: Result<Vec<String>> = names.collect();
    Ok(names?.into_iter().filter(|name| is_hashed(name)).collect())
}

fn every_file_with_a_hash_in_its_name_is_fetched_once(ground: &Ground) -> Result<()> {
    let mut place = place(ground)?;
    place.visit()?;
    let first = times_sent(&place.host.take_asked());
    for name in names(place.folder.path())? {
        let times = first.get(&name).copied().unwrap_or(0);
        ensure!(times == 1, "{name} was sent {times} times");
    }
    // An update asks for what is new and for the page, not again for what stayed as it was.
    let before = names(place.folder.path())?;
    copy_tree(&ground.probe_dist, place.folder.path())?;
    let browser = &mut place.device.browser;
    look_for_update(browser)?;
    browser.see("Use it now")?;
    let asked = place.host.take_asked();
    let sent = times_sent(&asked);
    for name in names(place.folder.path())? {
        let times = sent.get(&name).copied().unwrap_or(0);
        let wanted = usize::from(!before.contains(&name));
        ensure!(times == wanted, "{name} was sent {times} times at the update");
    }
    let icons = asked.iter().filter(|one| one.name.starts_with("icons/"));
    ensure!(icons.count() == 0, "pictures that stayed the same were sent again");
    place.device.browser.finish()
}

fn a_sign_in_page_at_the_first_visit_leaves_nothing(ground: &Ground) -> Result<()> {
    for portal in [Fault::Portal, Fault::PortalElsewhere] {
        let mut place = place(ground)?;
        place.host.set(portal);
        let browser = &mut place.device.browser;
        browser.open(place.host.address())?;
        browser.see("Welcome to the station's network")?;
        place.host.set(Fault::None);
        // Signed in; the page of the network may be kept for ten minutes, so it is reloaded.
        browser.open(place.host.address())?;
        browser.call("Page.reload", serde_json::json!({ "ignoreCache": true }))?;
        browser.wait_until(STARTED)?;
        browser.eval(READY_OFFLINE)?;
        place.starts_without_network()?;
    }
    Ok(())
}

fn an_offline_set_up_that_failed_is_told_and_tried_again(ground: &Ground) -> Result<()> {
    let faults = [Fault::PortalKeptFor("icon-512"), Fault::CutOff("icon-512"), Fault::PortalKeptFor("sw.js")];
    for fault in faults {
        let mut place = place(ground)?;
        place.host.set(fault);
        let browser = &mut place.device.browser;
        browser.allow("icon-512");
        browser.allow("Failed");
        // The notice moves what stands below it, so nothing is tapped before it is there.
        browser.open(place.host.address())?;
        browser.see("Not ready offline")?;
        crate::slice::begin(browser, "3")?;
        crate::slice::go(browser, "/due")?;
        browser.see("Not ready offline")?;
        browser.inspect("not ready offline", &ground.axe)?;
        browser.check_no_sideways("not ready offline")?;
        ensure!(browser.eval(KEPT)? == 0, "{fault:?}: half a version was kept");
        // The signal comes back, or the grower does.
        place.host.set(Fault::None);
        let event = match fault {
            Fault::CutOff(_) => "dispatchEvent(new Event('online'))",
            _ => "document.dispatchEvent(new Event('visibilitychange'))",
        };
        browser.eval(event)?;
        browser.eval(READY_OFFLINE)?;
        browser.wait_until("!document.body.innerText.includes('Not ready offline')")?;
        place.starts_without_network()?;
    }
    Ok(())
}

fn a_sign_in_page_at_an_update_changes_nothing(ground: &Ground) -> Result<()> {
    let faults = [Fault::Portal, Fault::PortalElsewhere, Fault::PortalKeptFor(".wasm"), Fault::CutOff(".wasm")];
    let mut place = place(ground)?;
    place.visit()?;
    let browser = &mut place.device.browser;
    let old = version(browser)?;
    copy_tree(&ground.probe_dist, place.folder.path())?;
    for fault in faults {
        place.host.set(fault);
        let became = browser.eval(
            "navigator.serviceWorker.ready.then((it) => it.update()).then((it) => !it.installing ? 'nothing new' : \
             new Promise((done) => it.installing.addEventListener('statechange', (event) => done(event.target.state))), \
             () => 'redundant')",
        )?;
        ensure!(became == "redundant", "{fault:?}: the next version became {became}");
        browser.reload()?;
        browser.wait_until(STARTED)?;
        ensure!(version(browser)? == old, "{fault:?}: the version changed");
        ensure!(browser.eval(KEPT)? == 1, "{fault:?}: half a version was kept");
    }
    place.host.set(Fault::None);
    look_for_update(browser)?;
    browser.see("Use it now")?;
    for expected in ["404", "integrity", "Failed", "ERR_", "sw.js", "MIME", "redirect"] {
        browser.allow(expected);
    }
    place.starts_without_network()
}

fn mending_under_a_sign_in_page_leaves_all_as_it_was(ground: &Ground) -> Result<()> {
    let mut place = place(ground)?;
    place.visit()?;
    let browser = &mut place.device.browser;
    for expected in ["integrity", "Failed", "cannot load", "ERR_", "redirect"] {
        browser.allow(expected);
    }
    let faults = [
        Fault::Portal,
        Fault::PortalElsewhere,
        Fault::PortalKeptFor(".wasm"),
        Fault::CutOff(".wasm"),
        Fault::CutOff("icon-512"),
    ];
    for fault in faults {
        place.host.set(Fault::None);
        browser.open(&format!("{}reset.html", place.host.address()))?;
        place.host.set(fault);
        browser.tap("Load it again")?;
        browser.see("Nothing was changed")?;
        ensure!(browser.eval(KEPT)? == 1, "{fault:?}: what was kept is gone");
        let workers = browser.eval("navigator.serviceWorker.getRegistrations().then((all) => all.length)")?;
        ensure!(workers == 1, "{fault:?}: the worker is gone");
    }
    browser.inspect("mending that did not work", &ground.axe)?;
    // With the network as it should be it works, past whatever the browser has kept of the sign-in page.
    place.host.set(Fault::None);
    browser.tap("Load it again")?;
    browser.wait_until(STARTED)?;
    browser.eval(READY_OFFLINE)?;
    place.starts_without_network()
}

fn a_sign_in_page_kept_for_long_is_got_rid_of(ground: &Ground) -> Result<()> {
    for part in [".wasm", "link-", "bloomdue-"] {
        let mut place = place(ground)?;
        place.host.set(Fault::PortalKeptFor(part));
        let browser = &mut place.device.browser;
        browser.open(place.host.address())?;
        browser.see("Something went wrong")?;
        // Signed in; what came before may be kept for a year, but a tap is enough.
        place.host.set(Fault::None);
        browser.tap("Reload")?;
        let started = browser.wait_until(STARTED);
        started.with_context(|| format!("after a sign-in page for {part}"))?;
        browser.eval(READY_OFFLINE)?;
        for expected in ["bloomdue failed", "MIME", "Failed to load module", "wasm"] {
            browser.allow(expected);
        }
        place.starts_without_network()?;
    }
    Ok(())
}

fn a_page_of_another_address_does_not_show_it(ground: &Ground) -> Result<()> {
    let mut place = place(ground)?;
    // Another port of the same name is another origin.
    let around = Scratch::new("around")?;
    std::fs::write(
        around.path().join("index.html"),
        format!("<!doctype html><title>x</title><iframe src=\"{}\"></iframe>", place.host.address()),
    )?;
    let other = Faulty::start(around.path())?;
    let browser = &mut place.device.browser;
    // The page around has no icon.
    for expected in ["foreign request", "favicon.ico"] {
        browser.allow(expected);
    }
    browser.open(other.address())?;
    let tree = browser.call("Page.getFrameTree", serde_json::json!({}))?;
    let frame = &tree["frameTree"]["childFrames"][0]["frame"]["id"];
    let world = browser.call("Page.createIsolatedWorld", serde_json::json!({ "frameId": frame }))?;
    let said = browser.call(
        "Runtime.evaluate",
        serde_json::json!({ "expression": "document.body.innerText", "contextId": world["executionContextId"], "returnByValue": true }),
    )?;
    let said = said["result"]["value"].as_str().context("the frame shows something")?.to_owned();
    ensure!(said.contains("does not run inside a page of another address"), "the frame shows {said:?}");
    let asked = place.host.take_asked();
    ensure!(!asked.iter().any(|one| one.name.ends_with(".wasm")), "the program was fetched: {asked:?}");
    // Its own page around it is fine.
    let at_home = place.folder.path().join("around.html");
    std::fs::write(at_home, "<!doctype html><title>x</title><iframe src=\"./\"></iframe>")?;
    open_and_see_inside(browser, &format!("{}around.html", place.host.address()))?;
    browser.finish()
}

fn open_and_see_inside(browser: &mut Browser, address: &str) -> Result<()> {
    browser.open(address)?;
    browser.wait_until("frames[0].document.body.innerText.includes('Start a nursery')")
}

/// Every number that the app has put at its icon.
const BADGES: &str = "window.badges = [];
    for (const name of ['setAppBadge', 'clearAppBadge'])
        Object.defineProperty(Navigator.prototype, name, { value: async (n) => { window.badges.push(n ?? 0); } });";

fn a_save_waits_for_no_part_and_due_tells_nothing_before_its_jobs_are_known(ground: &Ground) -> Result<()> {
    let mut place = place(ground)?;
    let browser = &mut place.device.browser;
    browser.call("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": BADGES }))?;
    place.host.set(Fault::Held("part-"));
    browser.open(place.host.address())?;
    browser.see("put this on the home screen")?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Hollow Lane")?;
    // What core refuses is told as well.
    browser.tap("css:.btn.main")?;
    browser.wait_until("document.querySelector('[aria-invalid=true]')")?;
    browser.fill("Your initials", "EK")?;
    browser.tap("css:.btn.main")?;
    browser.see("One moment")?;
    crate::slice::go(browser, "/due")?;
    browser.see("Hollow Lane")?;
    place.host.set(Fault::None);
    crate::slice::go(browser, "/places/new")?;
    crate::slice::place_with_bulbs(browser, "1")?;
    browser.tap("Walk through")?;
    browser.tap("Nothing yet")?;
    browser.see("looked at today")?;
    crate::slice::go(browser, "/due")?;
    browser.see("Nothing needs hands today.")?;
    // Nothing is due, and nobody says so before it is known.
    browser.call("Network.setBypassServiceWorker", serde_json::json!({ "bypass": true }))?;
    browser.call("Network.setCacheDisabled", serde_json::json!({ "cacheDisabled": true }))?;
    place.host.set(Fault::Held("part-"));
    browser.open(place.host.address())?;
    browser.see("One moment")?;
    let told = browser.eval("[document.body.innerText.includes('Nothing needs hands'), window.badges.length]")?;
    ensure!(told == serde_json::json!([false, 0]), "Due told before it knew: {told}");
    browser.inspect("Due before its jobs are known", &ground.axe)?;
    place.host.set(Fault::None);
    browser.see("Nothing needs hands today.")?;
    browser.wait_until("!document.body.innerText.includes('One moment') && window.badges.length === 1")?;
    browser.finish()
}
