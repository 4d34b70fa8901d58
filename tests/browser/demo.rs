//! The demo, by taps.

use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_tests::driver::Screen;

/// Shows every picture that the open demo keeps, and answers their widths.
const SHOW_PICTURES: &str = "(async () => {
    const names = (await indexedDB.databases()).map((db) => db.name);
    const name = names.find((name) => name.startsWith('bloomdue-l_'));
    const asked = (of) => new Promise((done, failed) => {
        of.onsuccess = () => done(of.result);
        of.onerror = () => failed(of.error);
    });
    const db = await asked(indexedDB.open(name));
    const rows = await asked(db.transaction('attachments').objectStore('attachments').getAll());
    db.close();
    return Promise.all(rows.map(async (bytes) => {
        const picture = new Image();
        picture.src = URL.createObjectURL(new Blob([bytes], { type: 'image/svg+xml' }));
        await picture.decode();
        return picture.naturalWidth;
    }));
})()";

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![the_demo_is_alive];

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
    let widths = browser.eval(SHOW_PICTURES)?;
    let shown = widths
        .as_array()
        .is_some_and(|all| all.len() >= 5 && all.iter().all(|width| width.as_u64() == Some(480)));
    ensure!(shown, "the pictures show as {widths}");
    browser.finish()
}
