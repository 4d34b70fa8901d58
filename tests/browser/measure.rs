//! Measuring on a photo: the card is proposed, marks are dragged, nudged by keys and undone, what they say is kept.

use crate::slice::{go, start};
use crate::{Check, Device, Ground};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_stalk_is_measured_by_a_card_on_a_photo,
    the_place_of_rise_is_read_from_the_neck,
    every_way_up_is_kept_upright,
    photos_stand_side_by_side,
    shade_by_photos_says_what_they_lack,
];

/// A bench with a card of 342.4 by 215.9 dots, so that four dots are a mm, and a stalk of 100 mm.
const PICTURE: &str = "new Promise((done) => { const canvas = document.createElement('canvas'); \
     canvas.width = 1600; canvas.height = 1200; const pen = canvas.getContext('2d'); \
     pen.fillStyle = '#5b6b52'; pen.fillRect(0, 0, 1600, 1200); \
     pen.fillStyle = '#e8e2d0'; pen.beginPath(); pen.roundRect(200, 800, 342.4, 215.9, 12.7); pen.fill(); \
     pen.fillStyle = '#a33'; pen.fillRect(890, 500, 20, 400); canvas.toBlob(done, 'image/jpeg', 0.95); })";

/// Opens the page of the first bulb and gives it a photo.
fn with_photo(browser: &mut Browser, address: &str) -> Result<()> {
    start(browser, address, "3")?;
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.tap("css:.bench .cell")?;
    browser.wait_until("document.querySelector('input[type=file]') !== null")?;
    give(browser, PICTURE)?;
    browser.wait_until("document.querySelectorAll('main figure.photo').length === 1")?;
    browser.tap("Measure on it")?;
    browser.wait_until("document.querySelector('.marking > svg .laid-mark')")
}

fn give(browser: &mut Browser, picture: &str) -> Result<()> {
    give_to(browser, picture, -1)
}

/// Gives a picture to a field for files, counted from the first, or from the last below 0.
fn give_to(browser: &mut Browser, picture: &str, field: i32) -> Result<()> {
    browser.eval(&format!(
        "(async () => {{ const files = new DataTransfer(); files.items.add(new File([await ({picture})], 'photo.jpg')); \
         const field = [...document.querySelectorAll('input[type=file]')].at({field}); field.files = files.files; \
         field.dispatchEvent(new Event('change', {{bubbles: true}})); }})()"
    ))?;
    Ok(())
}

/// Drags the mark of a name to a place in the picture, as a finger does.
fn drag(browser: &mut Browser, mark: &str, x: f64, y: f64) -> Result<()> {
    let done = browser.eval(&format!(
        "(() => {{ const svg = document.querySelector('.marking > svg'); const box = svg.getBoundingClientRect(); \
         const scale = box.width / svg.viewBox.baseVal.width; \
         const mark = [...svg.querySelectorAll('.laid-mark')].find((it) => it.getAttribute('aria-label') === '{mark}'); \
         if (!mark) return false; \
         const [, x0, y0] = mark.getAttribute('transform').match(/([\\d.]+) ([\\d.]+)/); \
         const send = (kind, x, y) => svg.dispatchEvent(new PointerEvent(kind, {{pointerId: 1, bubbles: true, \
           clientX: box.left + x * scale, clientY: box.top + y * scale}})); \
         send('pointerdown', +x0, +y0); send('pointermove', {x}, {y}); send('pointerup', {x}, {y}); return true; }})()"
    ))?;
    ensure!(done == true, "there is no mark {mark}");
    Ok(())
}

fn heading(browser: &mut Browser) -> Result<String> {
    let text = browser.eval("document.querySelector('[data-heading]').textContent")?;
    Ok(text.as_str().unwrap_or_default().to_owned())
}

/// The first number of a text.
fn number(text: &str) -> Result<f64> {
    let mut words = text.split_whitespace();
    words.find_map(|word| word.parse().ok()).with_context(|| format!("no number in {text:?}"))
}

fn a_stalk_is_measured_by_a_card_on_a_photo(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    with_photo(browser, host.server.address())?;
    browser.see("These may be the card's corners")?;
    browser.inspect("marks on a photo", &ground.axe)?;
    // Proposed corners say nothing until a person has said so.
    browser.see("0 of 6 laid")?;
    browser.tap("Corners right")?;
    browser.see("4 of 6 laid. Now: foot")?;
    drag(browser, "Foot", 900.0, 900.0)?;
    browser.see("5 of 6 laid. Now: tip")?;
    // What was laid outlives a reload.
    browser.eval("new Promise((done) => setTimeout(done, 1500))")?;
    browser.reload()?;
    browser.see("5 of 6 laid. Now: tip")?;
    drag(browser, "Tip", 900.0, 500.0)?;
    browser.wait_until("document.querySelector('[data-heading]').textContent.startsWith('Stalk')")?;
    let told = heading(browser)?;
    let cm = number(&told)?;
    ensure!((cm - 10.0).abs() <= 0.3 && told.contains('±'), "the stalk of 10 cm is told as {told}");
    // A key moves the chosen mark, and the way back is one tap.
    browser.eval("document.querySelector('[aria-label=Tip]').focus()")?;
    let place = "document.querySelector('[aria-label=Tip]').getAttribute('transform')";
    let before = browser.eval(place)?;
    browser.press("ArrowUp")?;
    ensure!(browser.eval(place)? != before, "the key moved nothing");
    browser.tap("Undo the last move")?;
    ensure!(browser.eval(place)? == before, "the move was not undone");
    browser.tap("css:.btn.main")?;
    browser.see("on a photo: stalk")?;
    browser.see("Measure on it")?;
    browser.inspect("a bulb with a measured photo", &ground.axe)?;
    // The card of a photo is laid once.
    browser.tap("Measure on it")?;
    browser.see("4 of 6 laid. Now: foot")?;
    // A card that is seen too small says so instead of a number.
    for (corner, x, y) in [(1, 700.0, 900.0), (2, 730.0, 900.0), (3, 730.0, 918.0), (4, 700.0, 918.0)] {
        drag(browser, &format!("Card, corner {corner} of 4"), x, y)?;
    }
    drag(browser, "Foot", 900.0, 900.0)?;
    drag(browser, "Tip", 900.0, 500.0)?;
    browser.see("too small in the picture")?;
    ensure!(heading(browser)? == "Lay the marks", "a number is told");
    browser.finish()
}

fn the_place_of_rise_is_read_from_the_neck(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    with_photo(browser, host.server.address())?;
    browser.tap("Neck")?;
    browser.see("0 of 7 laid")?;
    for at in 0..6 {
        let turn = f64::from(at) * std::f64::consts::TAU / 6.0;
        let (x, y) = (800.0 + 300.0 * turn.cos(), 600.0 + 240.0 * turn.sin());
        drag(browser, &format!("Rim of the neck, {} of 6", at + 1), x.round(), y.round())?;
    }
    drag(browser, "Foot of a shoot", 1040.0, 600.0)?;
    browser.wait_until("document.querySelector('[data-heading]').textContent.includes('beside the leaves')")?;
    let told = heading(browser)?;
    ensure!(told.contains("0.80"), "the place of rise is told as {told}");
    browser.tap("Keep the neck")?;
    browser.see("rises beside the leaves")?;
    browser.finish()
}

fn photos_stand_side_by_side(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    with_photo(browser, host.server.address())?;
    browser.see("These may be the card's corners")?;
    browser.tap("Corners right")?;
    drag(browser, "Foot", 900.0, 900.0)?;
    drag(browser, "Tip", 900.0, 500.0)?;
    browser.wait_until("document.querySelector('[data-heading]').textContent.startsWith('Stalk')")?;
    browser.tap("css:.btn.main")?;
    browser.see("on a photo: stalk")?;
    give(browser, &PICTURE.replace("#5b6b52", "#6b5b52"))?;
    browser.wait_until("document.querySelectorAll('main figure.photo').length === 2")?;
    browser.tap("Side by side")?;
    browser.see("Measured photos are shown at one scale.")?;
    browser.see("not measured, at its own scale")?;
    browser.wait_until("document.querySelectorAll('main figure svg image').length === 2")?;
    browser.inspect("photos side by side", &ground.axe)?;
    browser.check_no_sideways("photos side by side")?;
    browser.finish()
}

fn shade_by_photos_says_what_they_lack(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "1")?;
    go(browser, "/places/new")?;
    browser.tap("Shade by two photos of one card")?;
    browser.inspect("shade by photos", &ground.axe)?;
    // A picture that no camera made does not say how it was exposed; a text is none.
    give_to(browser, PICTURE, 0)?;
    give_to(browser, PICTURE, 1)?;
    browser.see("does not say how it was exposed")?;
    give_to(browser, "Promise.resolve('no picture')", 0)?;
    browser.see("cannot be read as a picture here")?;
    browser.finish()
}

/// The eight ways in which a camera may have been held (Exif 2.3, tag 0x0112; the list from memory).
fn every_way_up_is_kept_upright(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/places")?;
    browser.tap("Bench 2")?;
    browser.wait_until("document.querySelector('input[type=file]') !== null")?;
    for way in 1..=8_u32 {
        // What is upright is 48 wide and 32 high, red at its upper left; it is stored as the camera held would have it.
        let picture = format!(
            "(async () => {{ const way = {way}; const turned = way > 4; const canvas = document.createElement('canvas'); \
             canvas.width = turned ? 320 : 480; canvas.height = turned ? 480 : 320; const pen = canvas.getContext('2d'); \
             const [w, h] = [480, 320]; \
             const turn = [null, [1,0,0,1,0,0], [-1,0,0,1,w,0], [-1,0,0,-1,w,h], [1,0,0,-1,0,h], [0,1,1,0,0,0], \
               [0,-1,1,0,0,w], [0,-1,-1,0,h,w], [0,1,-1,0,h,0]][way]; \
             pen.setTransform(...turn); pen.fillStyle = 'white'; pen.fillRect(0, 0, w, h); \
             pen.fillStyle = 'red'; pen.fillRect(0, 0, 160, 160); \
             const blob = await new Promise((done) => canvas.toBlob(done, 'image/jpeg', 0.95)); \
             const bytes = new Uint8Array(await blob.arrayBuffer()); \
             const exif = new Uint8Array([255,225,0,34, 69,120,105,102,0,0, 77,77,0,42,0,0,0,8, 0,1, 1,18,0,3,0,0,0,1,0,way,0,0, 0,0,0,0]); \
             return new Blob([bytes.slice(0, 2), exif, bytes.slice(2)]); }})()"
        );
        give(browser, &picture)?;
        browser.wait_until(&format!("document.querySelectorAll('main figure.photo img').length === {way}"))?;
        let corners = browser.eval(
            "(async () => { const img = document.querySelector('main figure.photo img'); await img.decode(); \
             const canvas = document.createElement('canvas'); canvas.width = img.naturalWidth; canvas.height = img.naturalHeight; \
             const pen = canvas.getContext('2d'); pen.drawImage(img, 0, 0); \
             const red = (x, y) => { const [r, g] = pen.getImageData(x * canvas.width, y * canvas.height, 1, 1).data; return r > 180 && g < 90; }; \
             return [canvas.width > canvas.height, red(.1, .1), red(.9, .1), red(.1, .9), red(.9, .9)].join(); })()",
        )?;
        ensure!(corners == "true,true,false,false,false", "way {way}: {corners}");
    }
    browser.finish()
}
