//! What is said of files, of storage that is taken away, and of pictures that cannot be taken: no more than is known.

use crate::offline::STARTED;
use crate::slice::{go, start};
use crate::{Check, Device, Ground};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::json;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_file_counts_what_it_holds_once_it_is_out,
    a_file_saved_at_a_chosen_place_is_looked_at,
    a_nursery_opened_twice_is_wiped,
    a_nursery_wiped_in_another_tab_is_told,
    storage_cleared_while_open_is_told,
    a_browser_without_storage_is_told,
    pictures_that_cannot_be_taken_are_named,
];

fn note(browser: &mut Browser, text: &str) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.wait_until("document.querySelector('main a[href^=\"#/care/\"]') !== null")?;
    browser.eval("document.querySelector('main a[href^=\"#/care/\"]').click()")?;
    browser.tap("Note")?;
    browser.fill("css:main textarea", text)?;
    browser.tap("css:main .btn.main")?;
    browser.wait_until("!location.hash.startsWith('#/care/')")
}

fn make_file(browser: &mut Browser) -> Result<()> {
    go(browser, "/files")?;
    browser.tap("Make the file")?;
    browser.see("The file is ready")
}

fn a_file_counts_what_it_holds_once_it_is_out(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/files")?;
    browser.see("none of them to a file")?;
    make_file(browser)?;
    browser.see("none of them to a file")?;
    // Another tab records before the file goes out: it is not in it.
    let first = browser.new_tab()?;
    browser.open(host.server.address())?;
    browser.wait_until(STARTED)?;
    note(browser, "Drips from the roof")?;
    let second = browser.turn_to(first)?;
    browser.tap("Save it on this device")?;
    browser.see("Handed to the browser. Look under Downloads that hollow-lane-EK-")?;
    browser.see("1 record written since the file of")?;
    go(browser, "/files/storage")?;
    browser.tap("Wipe this nursery from this device")?;
    browser.see("lost for good when wiped: 1 record.")?;
    // The next one holds it, and wiping asks for that file.
    make_file(browser)?;
    browser.tap("Save it on this device")?;
    browser.see("holds all that was written on this device")?;
    go(browser, "/files/storage")?;
    browser.tap("Wipe this nursery from this device")?;
    browser.see("Is it there?")?;
    browser.inspect("wiping after a file went out", &ground.axe)?;
    browser.turn_to(second)?;
    go(browser, "/files")?;
    browser.see("holds all that was written on this device")?;
    browser.finish()
}

fn a_file_saved_at_a_chosen_place_is_looked_at(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    // A picker whose places lose this many bytes, and that may be closed.
    browser.eval(
        "void (window.picks = { closed: true, lost: 0 }, window.showSaveFilePicker = async ({ suggestedName }) => { \
           if (window.picks.closed) throw new DOMException('closed', 'AbortError'); \
           let there = new Blob(); \
           return { \
             createWritable: async () => ({ write: async (data) => { there = data; }, close: async () => {} }), \
             getFile: async () => new File([there.slice(0, there.size - window.picks.lost)], suggestedName), \
           }; })",
    )?;
    make_file(browser)?;
    browser.tap("Choose where to save it")?;
    browser.see("none of them to a file")?;
    browser.eval("void (window.picks = { closed: false, lost: 1 })")?;
    browser.tap("Choose where to save it")?;
    browser.see("is not whole where it was saved")?;
    browser.see("none of them to a file")?;
    browser.eval("void (window.picks = { closed: false, lost: 0 })")?;
    browser.tap("Choose where to save it")?;
    browser.see("and found there whole")?;
    browser.see("holds all that was written on this device")?;
    browser.finish()
}

fn wipe(browser: &mut Browser) -> Result<()> {
    go(browser, "/files/storage")?;
    browser.tap("Wipe this nursery from this device")?;
    browser.tap("Wipe it")
}

fn a_nursery_opened_twice_is_wiped(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    for _ in 0..2 {
        go(browser, "/start")?;
        browser.tap("Hollow Lane")?;
        browser.wait_until("location.hash === '#/due'")?;
        browser.see("Hollow Lane")?;
    }
    wipe(browser)?;
    browser.see("Start a nursery")?;
    browser.reload()?;
    browser.wait_until(STARTED)?;
    browser.see("Start a nursery")?;
    let left = browser.eval(
        "indexedDB.databases().then((all) => ({ text: document.body.innerText, \
         n: all.filter((one) => one.name.startsWith('bloomdue-')).length }))",
    )?;
    let text = left["text"].as_str().context("text")?;
    ensure!(!text.contains("Hollow Lane"), "it still stands in the list");
    ensure!(left["n"] == json!(0), "its storage is still there: {left}");
    browser.finish()
}

fn a_nursery_wiped_in_another_tab_is_told(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/due")?;
    let first = browser.new_tab()?;
    browser.open(host.server.address())?;
    browser.wait_until(STARTED)?;
    wipe(browser)?;
    browser.see("Start a nursery")?;
    browser.turn_to(first)?;
    browser.see("This nursery was wiped in another tab")?;
    note(browser, "too late").err().context("a note was saved in a wiped nursery")?;
    browser.see("Not saved: this nursery was wiped in another tab")?;
    browser.finish()
}

fn storage_cleared_while_open_is_told(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/due")?;
    let cleared = json!({ "origin": host.server.origin(), "storageTypes": "indexeddb" });
    browser.call("Storage.clearDataForOrigin", cleared)?;
    browser.see("The browser has cleared everything that was saved here")?;
    browser.inspect("storage cleared while open", &ground.axe)?;
    browser.tap("Write the records to a file now")?;
    browser.eval(
        "void (() => { const make = URL.createObjectURL.bind(URL); \
         URL.createObjectURL = (blob) => { window.written = blob; return make(blob); }; })()",
    )?;
    browser.tap("Make the file")?;
    browser.tap("Save it on this device")?;
    browser.wait_until("window.written !== undefined")?;
    let text = browser.eval("window.written.text()")?;
    ensure!(
        text.as_str().is_some_and(|text| text.contains("Bench 2") && text.contains("Evenfall")),
        "the file lacks what was in memory"
    );
    browser.finish()
}

fn a_browser_without_storage_is_told(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    let refuse = "IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); };";
    browser.call("Page.addScriptToEvaluateOnNewDocument", json!({ "source": refuse }))?;
    browser.open(host.server.address())?;
    browser.see("This browser opens no storage, so nothing can be kept.")?;
    browser.finish()
}

/// Gives the photo field a file with these bytes.
fn give_picture(browser: &mut Browser, parts: &str, name: &str) -> Result<()> {
    browser.eval(&format!(
        "(async () => {{ const files = new DataTransfer(); files.items.add(new File([await ({parts})], {name})); \
         const field = [...document.querySelectorAll('input[type=file]')].at(-1); field.files = files.files; \
         field.dispatchEvent(new Event('change', {{bubbles: true}})); }})()",
        name = json!(name)
    ))?;
    Ok(())
}

fn pictures_that_cannot_be_taken_are_named(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.wait_until("document.querySelector('input[type=file]') !== null")?;
    let photo = "new Promise((done) => { const canvas = document.createElement('canvas'); \
         canvas.width = 640; canvas.height = 480; const pen = canvas.getContext('2d'); \
         for (let x = 0; x < 640; x += 7) { pen.fillStyle = `hsl(${x} 80% 50%)`; pen.fillRect(x, 0, 5, 480); } \
         canvas.toBlob(done, 'image/jpeg'); })";
    // The head of a PNG of 20,000 by 20,000 dots.
    let large = "new Uint8Array([137,80,78,71,13,10,26,10,0,0,0,13,73,72,68,82,0,0,78,32,0,0,78,32,8,2,0,0,0,0,0,0,0, \
         0,0,0,0,73,69,78,68,174,66,96,130])";
    let heic = "new Uint8Array([0,0,0,24,...new TextEncoder().encode('ftypheic'),0,0,0,0,...new TextEncoder().encode('mif1heic')])";
    let svg = "'<svg xmlns=\"http://www.w3.org/2000/svg\"><foreignObject/></svg>'";
    for (parts, name, said) in [
        ("''", "empty.jpg", "This file is empty"),
        ("'Bench 2, third row'", "words.jpg", "This file holds text"),
        (svg, "drawing.svg", "This is a drawing (SVG), no photo"),
        (large, "large.png", "too large to be opened here: 20000 × 20000 dots"),
        (heic, "phone.heic", "Settings, Camera, Formats, Most Compatible"),
        (&format!("({photo}).then((whole) => whole.slice(0, whole.size / 3))"), "cut.jpg", "This picture is cut off"),
    ] {
        give_picture(browser, parts, name)?;
        browser.see(said).with_context(|| name.to_owned())?;
    }
    let kept = browser.eval("document.querySelectorAll('main figure.photo').length")?;
    ensure!(kept == 0, "a picture that cannot be taken was kept");
    give_picture(browser, photo, "whole.jpg")?;
    browser.wait_until("document.querySelectorAll('main figure.photo').length === 1")?;
    browser.finish()
}
