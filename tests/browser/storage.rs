//! Storage, driven through the probe at `#/probe`: the same code as the screens, without screens.

use crate::{Check, Device, Ground, Host, slice};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::{Value, json};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    ledger_writes_are_strict,
    saved_is_said_after_complete,
    an_aborted_save_uses_up_nothing,
    a_lost_connection_is_opened_again,
    what_fails_beside_a_save_is_not_told_as_not_saved,
    a_connection_closed_by_the_browser_is_opened_again,
    a_later_version_takes_over_and_the_older_tab_is_told,
    a_tab_that_does_not_let_go_is_named,
    a_full_disk_is_told,
    two_tabs_with_500_saves_each,
    kill_just_after_saved,
    compaction_changes_no_record,
    export_wipe_take_in,
    two_devices_exchange_files,
];

/// Notes every transaction of a nursery's database, and what happens to it, in the order in which it happens.
const RECORDER: &str = "
    window.log = [];
    window.hook = { commit: null, begin: null };
    const begin = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
        window.hook.begin?.();
        const made = begin.call(this, stores, mode, options);
        if (!this.name.startsWith('bloomdue-')) return made;
        const note = { stores: [].concat(stores), mode: mode ?? 'readonly', durability: made.durability };
        window.log.push({ what: 'begin', ...note });
        made.addEventListener('complete', () => window.log.push({ what: 'complete', ...note }));
        const commit = made.commit.bind(made);
        made.commit = () => window.hook.commit ? window.hook.commit(made, commit) : commit();
        return made;
    };
    const get = IDBObjectStore.prototype.get;
    IDBObjectStore.prototype.get = function (key) {
        const asked = get.call(this, key);
        const { name, transaction } = this;
        asked.addEventListener('success', () => window.log.push({ what: 'got', store: name, mode: transaction.mode }));
        return asked;
    };";

/// Opens the probe in the current tab.
fn open_probe(browser: &mut Browser, host: &Host) -> Result<Value> {
    browser.open(&format!("{}#/probe", host.server.address()))?;
    browser.wait_until("window.bloomdueProbe")?;
    browser.eval("bloomdueProbe.open()")
}

fn probe(ground: &Ground) -> Result<(Host, Device)> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    open_probe(&mut device.browser, &host)?;
    Ok((host, device))
}

fn number(value: &Value, name: &str) -> Result<u64> {
    value[name].as_u64().with_context(|| format!("{name} in {value}"))
}

fn ledger_writes_are_strict(ground: &Ground) -> Result<()> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(&format!("{}#/probe", host.server.address()))?;
    browser.wait_until("window.bloomdueProbe")?;
    browser.eval(RECORDER)?;
    browser.eval("bloomdueProbe.open()")?;
    browser.eval("bloomdueProbe.append(3)")?;
    browser.eval("bloomdueProbe.photo()")?;
    browser.eval("bloomdueProbe.save(510)")?;
    browser.eval("bloomdueProbe.compact()")?;
    browser.eval("bloomdueProbe.exportText().then((text) => bloomdueProbe.importText(text))")?;
    let log = browser.eval("window.log.filter((e) => e.what === 'begin' && e.mode === 'readwrite')")?;
    let log = log.as_array().context("a list of transactions")?;
    ensure!(log.len() >= 8, "only {} writing transactions", log.len());
    for begun in log {
        ensure!(begun["durability"] == "strict", "not strict: {begun}");
    }
    let of = |store: &str| {
        log.iter().filter(|begun| begun["stores"].as_array().is_some_and(|all| all.contains(&json!(store)))).count()
    };
    ensure!(of("attachments") >= 1 && of("tail") >= 6 && of("blocks") >= 1, "{log:?}");
    browser.finish()
}

/// What the log says of a save that has just been acknowledged.
fn said_too_early(browser: &mut Browser, save: &str) -> Result<bool> {
    let log = browser.eval(&format!(
        "window.log.length = 0, ({save}).then(() => {{ window.log.push({{ what: 'said' }}); \
         return new Promise((done) => setTimeout(() => done(window.log), 1000)); }})"
    ))?;
    let log = log.as_array().context("a log")?;
    let at =
        |what: &str, mode: &str| log.iter().position(|e| e["what"] == what && (mode.is_empty() || e["mode"] == mode));
    let said = at("said", "").context("the save was said to be done")?;
    let complete = at("complete", "readwrite").context("the save was complete")?;
    // The read-back is a transaction of its own, after the one that wrote.
    let read_back = at("got", "readonly");
    Ok(said < complete || read_back.is_none_or(|read| read < complete || said < read))
}

fn saved_is_said_after_complete(ground: &Ground) -> Result<()> {
    let (_host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    browser.eval(RECORDER)?;
    // Every transaction takes its time to be complete.
    browser
        .eval("void (window.hook.commit = (made, commit) => setTimeout(() => { try { commit(); } catch {} }, 300))")?;
    ensure!(!said_too_early(browser, "bloomdueProbe.save(1)")?, "said before it was complete and read back");
    // The check itself must see a build that says so at once.
    browser.eval("void (window.careless = () => { bloomdueProbe.save(1); return Promise.resolve(); })")?;
    ensure!(said_too_early(browser, "careless()")?, "a build that says saved before complete was not caught");
    browser.finish()
}

fn an_aborted_save_uses_up_nothing(ground: &Ground) -> Result<()> {
    let (_host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    browser.eval("bloomdueProbe.append(2)")?;
    browser.eval(RECORDER)?;
    browser.eval("void (window.hook.commit = (made) => made.abort())")?;
    let refused = browser.eval("bloomdueProbe.save(3).then(() => 'saved', (why) => why.message)")?;
    ensure!(refused != "saved", "an aborted save was said to be saved");
    browser.eval("void (window.hook.commit = null)")?;
    let lines = browser.eval("bloomdueProbe.save(1)")?;
    ensure!(lines == json!([3]), "the next line is {lines}");
    browser.finish()
}

fn a_lost_connection_is_opened_again(ground: &Ground) -> Result<()> {
    let (_host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    browser.eval("bloomdueProbe.append(1)")?;
    browser.eval(RECORDER)?;
    // Before the write: the handle is dead once.
    browser.eval(
        "void (window.hook.begin = () => { window.hook.begin = null; \
         throw new DOMException('The database connection is closing.', 'InvalidStateError'); })",
    )?;
    let lines = browser.eval("bloomdueProbe.save(1)")?;
    ensure!(lines == json!([2]), "the line after a lost connection is {lines}");
    // After the write: it was complete, but the read-back fails, so the page cannot know. It must not save twice.
    browser.eval(
        "void (window.hook.commit = (made, commit) => { window.hook.commit = null; commit(); \
         window.hook.begin = () => { window.hook.begin = null; \
         throw new DOMException('Connection to Indexed Database server lost. Refresh the page', 'UnknownError'); }; })",
    )?;
    let lines = browser.eval("bloomdueProbe.save(1)")?;
    ensure!(lines == json!([3]), "saved twice after a lost connection: {lines}");
    let state = browser.eval("bloomdueProbe.state()")?;
    ensure!(number(&state, "nEntries")? == 3, "{state}");
    browser.finish()
}

/// The transaction is complete; whatever the storage is asked after that fails, so that nothing can be read back.
fn what_fails_beside_a_save_is_not_told_as_not_saved(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    slice::start(browser, host.server.address(), "3")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 3")?;
    browser.eval(RECORDER)?;
    for (name, nth) in [("UnknownError", 2), ("TransactionInactiveError", 3)] {
        browser.eval(&format!(
            "void (window.hook.commit = (made, commit) => {{ window.hook.commit = null; commit(); \
             window.hook.begin = () => {{ throw new DOMException('The storage does not answer', {}); }}; }})",
            json!(name)
        ))?;
        browser.eval("new Promise((done) => setTimeout(done, 420))")?;
        browser.tap("Nothing yet")?;
        browser.see("It is saved, but")?;
        let told = browser.eval("document.body.innerText")?;
        let told = told.as_str().context("a page")?;
        ensure!(!told.contains("Not saved") && !told.contains("not saved"), "{name} was told as not saved: {told}");
        // The walk goes on, and the next answer is asked of the next bulb.
        browser.see(&format!("bulb {nth} of 3"))?;
        browser.eval("window.hook.begin = null")?;
    }
    browser.reload()?;
    browser.see("bulb 3 of 3")?;
    slice::answer(browser, "Nothing yet")?;
    browser.see("All 3 bulbs looked at today.")?;
    browser.finish()
}

/// Runs a script in every page of this tab before the page's own.
fn before_each_page(browser: &mut Browser, script: &str) -> Result<()> {
    browser.call("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script }))?;
    Ok(())
}

/// Opens nurseries as a version would that has changed their stores.
const LATER_VERSION: &str = "
    const open = IDBFactory.prototype.open;
    IDBFactory.prototype.open = function (name, version) {
        return open.call(this, name, name.includes('-l_') ? version + 1 : version);
    };";

fn a_connection_closed_by_the_browser_is_opened_again(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    before_each_page(
        browser,
        "window.opened = []; window.refuse = false;
         const open = IDBFactory.prototype.open;
         IDBFactory.prototype.open = function (...asked) {
             if (window.refuse) throw new DOMException('Internal error opening backing store', 'UnknownError');
             const request = open.apply(this, asked);
             // The list of nurseries is closed again at once, and a closed connection has no end to hear of.
             if (asked[0].includes('-l_')) request.addEventListener('success', () => window.opened.push(request.result));
             return request;
         };
         window.terminate = () => {
             for (const database of window.opened.splice(0)) { database.close(); database.dispatchEvent(new Event('close')); }
         };",
    )?;
    slice::start(browser, host.server.address(), "3")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 3")?;
    browser.eval("terminate()")?;
    slice::answer(browser, "Nothing yet")?;
    // Where it cannot be opened again that is said, nothing is lost, and the next tap saves.
    browser.eval("terminate(); window.refuse = true; 0")?;
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    browser.tap("Nothing yet")?;
    browser.see("the browser lost its storage for a moment")?;
    browser.eval("window.refuse = false")?;
    slice::answer(browser, "Nothing yet")?;
    slice::answer(browser, "Nothing yet")?;
    browser.see("All 3 bulbs looked at today.")?;
    browser.reload()?;
    browser.eval("location.hash = '/places'")?;
    browser.see("all looked at today")?;
    browser.finish()
}

fn a_later_version_takes_over_and_the_older_tab_is_told(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    slice::start(browser, host.server.address(), "3")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 3")?;
    slice::answer(browser, "Nothing yet")?;
    let older = browser.new_tab()?;
    before_each_page(browser, LATER_VERSION)?;
    browser.open(host.server.address())?;
    browser.see("Hollow Lane")?;
    let later = browser.turn_to(older)?;
    // A save in the older tab is refused with a sentence, on the screen where it was tapped.
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    browser.tap("Nothing yet")?;
    browser.see("A newer version of the program was used on this device")?;
    browser.eval("location.hash = '/due'")?;
    browser.see("A newer version of the program was opened in another tab")?;
    browser.reload()?;
    browser.see("A newer version of the program was used on this device")?;
    browser.turn_to(later)?;
    browser.reload()?;
    browser.eval("location.hash = '/places'")?;
    browser.tap("Bench 2")?;
    browser.tap("Walk through")?;
    browser.see("bulb 2 of 3")?;
    browser.finish()
}

fn a_tab_that_does_not_let_go_is_named(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    slice::start(browser, host.server.address(), "3")?;
    // From now on this tab keeps its connections, whatever it is asked.
    browser.eval("void (IDBDatabase.prototype.close = () => {})")?;
    let stubborn = browser.new_tab()?;
    before_each_page(browser, LATER_VERSION)?;
    browser.open(host.server.address())?;
    browser.see("Close it, then reload this one")?;
    let later = browser.new_tab()?;
    // One that waits behind the later version's wish is not told by the browser; it is told all the same.
    browser.open(host.server.address())?;
    browser.wait_within(
        "document.body.innerText.includes('Close it, then reload this one')",
        std::time::Duration::from_secs(30),
    )?;
    browser.turn_to(later)?;
    browser.close_tab(&stubborn)?;
    browser.reload()?;
    browser.see("Hollow Lane")?;
    browser.eval("location.hash = '/places'")?;
    browser.see("Bench 2")?;
    browser.finish()
}

fn a_full_disk_is_told(ground: &Ground) -> Result<()> {
    let host = ground.probe_host()?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    let quota = |bytes: Option<u64>| match bytes {
        Some(bytes) => json!({"origin": host.server.origin(), "quotaSize": bytes}),
        None => json!({"origin": host.server.origin()}),
    };
    // Set before anything is stored: the browser remembers for a while how much room it found.
    browser.call("Storage.overrideQuotaForOrigin", quota(Some(100_000)))?;
    open_probe(browser, &host)?;
    browser.eval("bloomdueProbe.append(2)")?;
    let before = browser.eval("bloomdueProbe.state()")?;
    let told = browser.eval("bloomdueProbe.photo().then(() => 'saved', (why) => why.message)")?;
    ensure!(told == "no room left on this device", "a full disk was told as {told}");
    browser.call("Storage.overrideQuotaForOrigin", quota(None))?;
    let after = browser.eval("bloomdueProbe.state()")?;
    ensure!(before == after, "before {before}, after {after}");
    browser.eval("bloomdueProbe.photo()")?;
    browser.finish()
}

fn two_tabs_with_500_saves_each(ground: &Ground) -> Result<()> {
    let (host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    let first = browser.new_tab()?;
    open_probe(browser, &host)?;
    let start = "void (window.done = bloomdueProbe.append(500))";
    browser.eval(start)?;
    let second = browser.turn_to(first)?;
    browser.eval(start)?;
    browser.eval("window.done.then(() => true)")?;
    let first = browser.turn_to(second)?;
    browser.eval("window.done.then(() => true)")?;
    let here = browser.eval("bloomdueProbe.state()")?;
    browser.turn_to(first)?;
    let there = browser.eval("bloomdueProbe.state()")?;
    for state in [&here, &there] {
        let lines = state["ownLines"].as_array().context("lines")?;
        ensure!(
            lines.len() == 1000 && lines.iter().zip(1..).all(|(line, n)| *line == json!(n)),
            "{} distinct lines",
            lines.len()
        );
        ensure!(number(state, "nLedgerProblems")? == 0, "{state}");
        ensure!(number(state, "nEntries")? == 1000, "{state}");
    }
    ensure!(here["digest"] == there["digest"], "the tabs differ");
    ensure!(number(&here, "nChanges")? > 0 || number(&there, "nChanges")? > 0, "neither tab was told of the other");
    browser.reload()?;
    browser.wait_until("window.bloomdueProbe")?;
    let again = browser.eval("bloomdueProbe.open()")?;
    ensure!(again["digest"] == here["digest"], "a reload reads another ledger");
    browser.finish()
}

fn kill_just_after_saved(ground: &Ground) -> Result<()> {
    let (host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    for n in 1..=20_u64 {
        let lines = browser.eval("bloomdueProbe.save(1)")?;
        ensure!(lines == json!([n]), "line {lines} at save {n}");
        browser.kill_and_reopen()?;
        let state = open_probe(browser, &host)?;
        ensure!(number(&state, "nEntries")? == n, "after kill {n}: {state}");
        ensure!(number(&state, "nProblems")? == 0, "after kill {n}: {state}");
    }
    browser.finish()
}

fn compaction_changes_no_record(ground: &Ground) -> Result<()> {
    let (_host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    browser.eval("bloomdueProbe.save(1210)")?;
    let before = browser.eval("bloomdueProbe.state()")?;
    ensure!(browser.eval("bloomdueProbe.compact()")? == json!(true), "nothing was moved");
    ensure!(browser.eval("bloomdueProbe.compact()")? == json!(false), "moved twice");
    browser.eval("bloomdueProbe.append(1)")?;
    browser.reload()?;
    browser.wait_until("window.bloomdueProbe")?;
    let after = browser.eval("bloomdueProbe.open()")?;
    ensure!(number(&after, "nEntries")? == 1211, "{after}");
    ensure!(number(&after, "nProblems")? == 0, "{after}");
    ensure!(after["digest"] != before["digest"], "the last record is missing");
    browser.finish()
}

fn export_wipe_take_in(ground: &Ground) -> Result<()> {
    let (_host, mut device) = probe(ground)?;
    let browser = &mut device.browser;
    browser.eval("bloomdueProbe.save(700)")?;
    browser.eval("bloomdueProbe.photo().then(() => bloomdueProbe.photo())")?;
    let before = browser.eval("bloomdueProbe.state()")?;
    browser.eval("bloomdueProbe.exportText().then((text) => void (window.file = text))")?;
    browser.eval("bloomdueProbe.wipe()")?;
    let wiped = browser.eval("bloomdueProbe.open()")?;
    ensure!(number(&wiped, "nEntries")? == 0, "{wiped}");
    let taken = browser.eval("bloomdueProbe.importText(window.file)")?;
    ensure!(taken["whole"] == json!(true), "{taken}");
    ensure!(number(&taken, "nPhotos")? == 4, "two photos and two small pictures: {taken}");
    let after = browser.eval("bloomdueProbe.state()")?;
    ensure!(after["digest"] == before["digest"], "before {before}, after {after}");
    ensure!(after["nPhotos"] == before["nPhotos"], "before {before}, after {after}");
    ensure!(after["device"] != before["device"], "the device's name was used again");
    let again = browser.eval("bloomdueProbe.importText(window.file)")?;
    ensure!(number(&again, "nNew")? == 0 && number(&again, "nPhotos")? == 0, "the same file twice: {again}");
    browser.reload()?;
    browser.wait_until("window.bloomdueProbe")?;
    let after = browser.eval("bloomdueProbe.open()")?;
    ensure!(after["digest"] == before["digest"], "after a reload: {after}");
    browser.finish()
}

fn two_devices_exchange_files(ground: &Ground) -> Result<()> {
    let (host, mut one) = probe(ground)?;
    let mut other = Device::new(Screen::phone())?;
    open_probe(&mut other.browser, &host)?;
    one.browser.eval("bloomdueProbe.append(20)")?;
    one.browser.eval("bloomdueProbe.photo()")?;
    other.browser.eval("bloomdueProbe.append(10)")?;
    let hand_over = |from: &mut Device, to: &mut Device| -> Result<Value> {
        let file = from.browser.eval("bloomdueProbe.exportText()")?;
        to.browser.eval(&format!("bloomdueProbe.importText({file})"))
    };
    let taken = hand_over(&mut one, &mut other)?;
    ensure!(number(&taken, "nNew")? == 21 && number(&taken, "nPhotos")? == 2, "{taken}");
    let taken = hand_over(&mut other, &mut one)?;
    ensure!(number(&taken, "nNew")? == 10 && number(&taken, "nKnown")? == 21, "{taken}");
    let states = [one.browser.eval("bloomdueProbe.state()")?, other.browser.eval("bloomdueProbe.state()")?];
    ensure!(states[0]["digest"] == states[1]["digest"], "{states:?}");
    ensure!(number(&states[0], "nLedgerProblems")? == 0, "{states:?}");
    one.browser.finish()?;
    other.browser.finish()
}
