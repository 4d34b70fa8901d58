//! The evening hand-over: several phones that come to the same by files that hold only what the others lack.

use std::collections::BTreeSet;

use anyhow::{Context, Result, ensure};
use bloomdue_core::handover::json::{Reading, read};
use bloomdue_tests::driver::{Browser, Screen};
use serde_json::{Value, json};

use crate::slice::{give, go, join, start, written};
use crate::{Check, Device, Ground};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    three_phones_are_equal_in_twenty_eight_taps,
    a_page_goes_where_no_file_of_records_may,
    labels_are_printed_and_read_by_the_camera,
    a_shared_file_opens_its_preview,
    tables_are_made_beside_the_page,
];

/// Keeps what leaves the page from now on.
const KEEP_FILES: &str = "(() => { window.written = undefined; window.make ??= URL.createObjectURL.bind(URL); \
     URL.createObjectURL = (blob) => { window.written = blob; return window.make(blob); }; })()";

/// Hands over in the evening, from wherever one stands; gives the file.
fn hand(browser: &mut Browser) -> Result<Value> {
    browser.eval(KEEP_FILES)?;
    browser.tap("Files")?;
    browser.tap("Evening hand-over")?;
    browser.tap("Make the file")?;
    browser.tap("Save it on this device")?;
    browser.wait_until("window.written !== undefined")?;
    browser.eval("window.written.text()")
}

/// Takes a file in; choosing it is a tap too.
fn take(browser: &mut Browser, file: &Value) -> Result<()> {
    browser.tap("Files")?;
    browser.tap("Take a file in")?;
    give(browser, file)?;
    browser.tap("css:.btn.main")?;
    browser.see("To what is due")
}

fn reading(file: &Value) -> Result<Reading> {
    let text = file.as_str().context("a file is text")?;
    Ok(read(text.as_bytes(), |_| {})?)
}

/// Waters the bench: one record.
fn water(browser: &mut Browser) -> Result<()> {
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("Record something done")?;
    browser.tap("Water")?;
    browser.tap("css:.btn.main")?;
    browser.see("Water: 3 bulbs")
}

fn three_phones_are_equal_in_twenty_eight_taps(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut devices = [Device::new(Screen::phone())?, Device::new(Screen::phone())?, Device::new(Screen::phone())?];
    let [one, two, three] = &mut devices;
    let [one, two, three] = [&mut one.browser, &mut two.browser, &mut three.browser];
    start(one, host.server.address(), "3")?;
    let whole = written(one)?;
    for (browser, initials) in [(&mut *two, "BM"), (&mut *three, "CK")] {
        join(browser, host.server.address(), &whole)?;
        browser.fill("Initials", initials)?;
        browser.tap("css:.btn.main")?;
        browser.wait_until("location.hash === '#/due'")?;
    }
    // On the first evening all hear of each other; on the second they hand over what is new.
    for evening in 0..2 {
        for browser in [&mut *one, &mut *two, &mut *three] {
            water(browser)?;
            browser.reset_taps();
        }
        let first = hand(one)?;
        take(two, &first)?;
        let second = hand(two)?;
        take(three, &second)?;
        let last = hand(three)?;
        take(one, &last)?;
        take(two, &last)?;
        let n_taps = one.taps() + two.taps() + three.taps() + 4;
        ensure!(n_taps <= 28, "{n_taps} taps on evening {evening}");
        if evening == 1 {
            for (file, who) in [(&first, "one"), (&second, "two"), (&last, "three")] {
                let n = reading(file)?.entries.len();
                ensure!(n <= 8, "{who} handed over {n} records, where a few are new");
            }
        }
    }
    let mut digests = BTreeSet::new();
    for browser in [&mut *one, &mut *two, &mut *three] {
        digests.insert(reading(&written(browser)?)?.digest);
        go(browser, "/files/evening")?;
        browser.see("last heard of")?;
        browser.inspect("the evening hand-over", &ground.axe)?;
    }
    ensure!(digests.len() == 1, "the phones differ: {digests:?}");
    one.finish()?;
    two.finish()?;
    three.finish()
}

fn a_page_goes_where_no_file_of_records_may(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    // A share sheet that takes pages and texts, as those of some phones do, and no file of records.
    browser.eval(
        "(() => { const takes = (data) => data.files.every((file) => /\\.(html|txt)$/.test(file.name)); \
         Object.defineProperty(navigator, 'canShare', {value: takes, configurable: true}); \
         Object.defineProperty(navigator, 'share', {configurable: true, \
         value: async (data) => { window.shared = data.files[0]; }}); })()",
    )?;
    go(browser, "/files/evening")?;
    browser.see("No other phone was heard of yet")?;
    browser.tap("Make the file")?;
    browser.tap("Hand it to someone")?;
    browser.wait_until("window.shared !== undefined")?;
    ensure!(browser.eval("window.shared.name.endsWith('.bloomdue.html')")? == true);
    let page = browser.eval("window.shared.text()")?;
    let text = page.as_str().context("a page is text")?;
    ensure!(text.starts_with("<!doctype html>") && text.contains("To take them in"), "{text}");
    let reading = reading(&page)?;
    ensure!(reading.entries.len() > 5 && reading.reformatted.is_empty(), "{} records", reading.entries.len());
    // Another phone takes the page in as it would the file.
    let mut other = Device::new(Screen::phone())?;
    join(&mut other.browser, host.server.address(), &page)?;
    other.browser.finish()?;
    browser.finish()
}

fn labels_are_printed_and_read_by_the_camera(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    browser.tap("Write the tags of today's 3 bulbs on labels, or print them.")?;
    browser.see("3 labels, 1 sheet of A4")?;
    browser.inspect("labels", &ground.axe)?;
    browser.wait_until("document.querySelectorAll('.label-page .code').length === 3")?;
    browser.tap("Sheet")?;
    browser.tap("another size")?;
    browser.fill("Width, mm", "120")?;
    browser.see("So many do not fit side by side")?;
    browser.fill("Width, mm", "90")?;
    browser.see("3 labels, 1 sheet of A4")?;
    browser.fill("Labels of the first sheet already used", "9")?;
    browser.see("3 labels, 2 sheets of A4")?;
    // The second label, held before a camera.
    let tag = browser.eval(
        "(() => { const label = document.querySelectorAll('.label-page g:has(> .code)')[1]; \
         const canvas = document.createElement('canvas'); canvas.width = 640; canvas.height = 480; \
         const pen = canvas.getContext('2d'); \
         const draw = () => { pen.fillStyle = '#ddd'; pen.fillRect(0, 0, 640, 480); pen.save(); pen.translate(200, 90); \
         pen.rotate(0.2); pen.scale(9, 9); pen.fillStyle = '#222'; \
         pen.fill(new Path2D(label.querySelector('.code').getAttribute('d'))); pen.restore(); }; \
         draw(); setInterval(draw, 100); \
         Object.defineProperty(navigator.mediaDevices, 'getUserMedia', {value: async () => canvas.captureStream(10)}); \
         return label.querySelector('.label-name').textContent.replace(' ', ''); })()",
    )?;
    let tag = tag.as_str().context("a label has its tag")?.to_owned();
    go(browser, "/find")?;
    browser.tap("Scan a label")?;
    browser.see(&tag)?;
    browser.inspect("a label scanned", &ground.axe)?;
    browser.tap("Walk on from here")?;
    browser.see("bulb 2 of 3")?;
    let (first, rest) = tag.split_at(3);
    browser.see(&format!("{first} {rest}"))?;
    // Without a camera there is a way on.
    browser
        .eval(
            "Object.defineProperty(navigator.mediaDevices, 'getUserMedia', \
         {value: async () => { throw new DOMException('no', 'NotAllowedError'); }})",
        )
        .or_else(|_| browser.reload().map(|()| json!(null)))?;
    go(browser, "/scan")?;
    browser.see("Type it instead")?;
    browser.finish()
}

fn a_shared_file_opens_its_preview(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let one = &mut device.browser;
    start(one, host.server.address(), "3")?;
    let whole = written(one)?;
    let mut other = Device::new(Screen::phone())?;
    let two = &mut other.browser;
    join(two, host.server.address(), &whole)?;
    two.fill("Initials", "BM")?;
    two.tap("css:.btn.main")?;
    water(one)?;
    let file = hand(one)?;
    // What the share sheet does: it posts the file to the app's own address, where the offline worker takes it.
    two.wait_until("navigator.serviceWorker.controller !== null")?;
    two.eval(&format!(
        "(async () => {{ const form = new FormData(); form.set('file', new File([{file}], 'from Ana.bloomdue.json')); \
         const answer = await fetch('share', {{method: 'POST', body: form}}); return answer.ok; }})()"
    ))?;
    go(two, "/files/in")?;
    two.see("1 record is new")?;
    two.tap("css:.btn.main")?;
    two.see("To what is due")?;
    go(two, "/files")?;
    two.see("from Ana.bloomdue.json")?;
    two.see("1 record is on no other phone yet")?;
    // It is looked into once.
    go(two, "/files/in")?;
    two.see("Choose the file")?;
    one.finish()?;
    two.finish()
}

fn tables_are_made_beside_the_page(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    crate::slice::demo(browser, host.server.address())?;
    go(browser, "/files/tables")?;
    browser.inspect("tables", &ground.axe)?;
    browser.eval(KEEP_FILES)?;
    browser.tap("Make the tables")?;
    browser.tap("Save it on this device")?;
    browser.wait_until("window.written !== undefined")?;
    let begins = browser.eval("window.written.slice(0, 60).text()")?;
    ensure!(begins.as_str().is_some_and(|text| text.starts_with("PK") && text.contains("datapackage.json")));
    browser.finish()
}
