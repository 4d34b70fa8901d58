//! The whole slice by taps: from no records to the first walk, a try to its page, two phones, every screen's access.

use crate::{Check, Device, Ground};
use anyhow::{Result, bail, ensure};
use bloomdue_tests::driver::{Browser, Screen};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    from_nothing_to_the_first_walk_in_twenty_two_taps,
    a_walk_of_thirty_in_thirty_eight_taps,
    a_try_from_a_ready_question_to_its_page,
    a_window_counted_from_the_start_and_a_finished_try_from_a_notebook,
    what_was_recorded_is_put_right_and_taken_back,
    a_look_a_proof_and_an_act_are_put_right,
    an_offset_a_photo_of_a_place_and_numbers_bulb_by_bulb,
    the_same_nursery_started_twice_is_joined_and_parted,
    every_screen_can_be_read_and_tapped,
    wide_screens_have_two_panes,
    a_sheet_typed_in_late_goes_by_its_day,
    the_focus_stays_with_its_row_when_another_comes,
];

/// Starts a nursery with one place and so many bulbs, by taps.
pub(crate) fn start(browser: &mut Browser, address: &str, n_bulbs: &str) -> Result<()> {
    browser.open(address)?;
    begin(browser, n_bulbs)
}

/// The same, from the first screen on.
pub(crate) fn begin(browser: &mut Browser, n_bulbs: &str) -> Result<()> {
    // In a phone's tab the home screen is advised before anything can be recorded.
    browser.see("put this on the home screen")?;
    browser.tap("Start a nursery")?;
    browser.fill("Name of the nursery", "Hollow Lane")?;
    browser.fill("Your initials", "EK")?;
    browser.tap("css:.btn.main")?;
    place_with_bulbs(browser, n_bulbs)
}

/// The first place of a nursery just started, with bulbs.
pub(crate) fn place_with_bulbs(browser: &mut Browser, n_bulbs: &str) -> Result<()> {
    browser.see("A new place")?;
    browser.fill("Name of the place", "Bench 2")?;
    browser.tap("Save and add bulbs")?;
    browser.see("How many bulbs")?;
    browser.fill("How many bulbs", n_bulbs)?;
    browser.fill("Cultivar", "Evenfall")?;
    browser.tap("Add them")?;
    browser.see("Walk through")
}

/// Opens the demo on a device that has nothing yet.
pub(crate) fn demo(browser: &mut Browser, address: &str) -> Result<()> {
    browser.open(address)?;
    browser.tap("Look at the demo")?;
    browser.see("A demo nursery")?;
    browser.see("Bench 2")
}

/// Gives one answer in a walk and waits until it is saved and the walk has moved on.
///
/// The walk counts two taps within 400 ms once, so a check waits until it listens again.
pub(crate) fn answer(browser: &mut Browser, words: &str) -> Result<()> {
    let here = "document.querySelector('[data-heading]').textContent";
    let before = browser.eval(here)?;
    browser.eval("new Promise((done) => setTimeout(done, 420))")?;
    browser.tap(words)?;
    browser.wait_until(&format!("{here} !== {before}"))
}

/// Seconds that what was tapped and typed takes by hand: the keystroke-level model of Card, Moran and Newell (1980,
/// Communications of the ACM 23, 396–410), where an aimed tap takes 1.1 s and making up one's mind 1.35 s, taken before
/// every tap; and a second for each character, three times as slow as people type on their phones with dry hands (36
/// words a minute: Palin et al. 2019, MobileHCI).
fn by_hand(browser: &Browser) -> f64 {
    f64::from(browser.taps()) * (1.1 + 1.35) + f64::from(browser.n_typed())
}

fn from_nothing_to_the_first_walk_in_twenty_two_taps(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "12")?;
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 12")?;
    for _ in 0..12 {
        answer(browser, "Nothing yet")?;
    }
    browser.see("All 12 bulbs looked at today.")?;
    ensure!(browser.taps() <= 22, "it took {} taps", browser.taps());
    let minutes = by_hand(browser) / 60.0;
    ensure!(minutes <= 5.0, "by hand it would take about {minutes:.1} minutes");
    println!(
        "        {} taps and {} characters, by hand about {minutes:.1} minutes",
        browser.taps(),
        browser.n_typed()
    );
    // What was recorded is there without the server, in a new browser process.
    let mut server = host.server;
    server.stop()?;
    browser.kill_and_reopen()?;
    browser.open(server.address())?;
    browser.see("Hollow Lane")?;
    browser.eval("location.hash = '/places'")?;
    browser.see("Bench 2")?;
    browser.see("all looked at today")?;
    browser.allow("ERR_");
    browser.finish()
}

fn a_walk_of_thirty_in_thirty_eight_taps(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "30")?;
    // Yesterday's walk, from paper: one with a stalk, the others with nothing.
    browser.tap("Type a walk sheet in")?;
    browser.see("Day of the walk")?;
    browser.eval(
        "(() => { const day = document.querySelector('input[type=date]'); const at = new Date(day.value + 'T12:00'); \
         at.setDate(at.getDate() - 1); day.value = at.toISOString().slice(0, 10); \
         day.dispatchEvent(new Event('input', {bubbles: true})); \
         const first = document.querySelector('select'); first.value = '2'; \
         first.dispatchEvent(new Event('change', {bubbles: true})); })()",
    )?;
    browser.tap("All others: same as before")?;
    browser.tap("css:.btn.main")?;
    browser.see("Typed in: 30 bulbs")?;
    browser.reset_taps();
    browser.tap("Walk through")?;
    browser.see("bulb 1 of 30")?;
    answer(browser, "Higher")?;
    for _ in 0..3 {
        answer(browser, "More leaves")?;
    }
    for _ in 0..2 {
        answer(browser, "A shoot, not sure")?;
    }
    for _ in 0..24 {
        answer(browser, "Same as before")?;
    }
    browser.see("All 30 bulbs looked at today.")?;
    ensure!(browser.taps() <= 38, "the walk took {} taps", browser.taps());
    browser.finish()
}

fn a_try_from_a_ready_question_to_its_page(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "12")?;
    browser.reset_taps();
    browser.tap("css:.foot a:nth-child(3)")?;
    // While nothing was asked, a plan can be made there too.
    browser.see("Plan back from the date")?;
    browser.tap("Begin a new trial")?;
    browser.tap("Longer or shorter rest?")?;
    browser.see("What is done differently in each")?;
    browser.inspect("groups", &ground.axe)?;
    browser.tap("Next")?;
    browser.see("Fixed before the start")?;
    browser.inspect("what counts", &ground.axe)?;
    browser.tap("Next")?;
    browser.see("12 bulbs chosen")?;
    browser.inspect("which bulbs", &ground.axe)?;
    // What was begun is there again after the page was left.
    browser.reload()?;
    browser.see("12 bulbs chosen")?;
    browser.tap("Next")?;
    browser.see("8 weeks: 6 bulbs")?;
    // Before the start, and not only on the page of the try: what so many bulbs can tell.
    browser.see("What so many bulbs can tell")?;
    browser.see("likely to be noticed (8 times in 10)")?;
    browser.inspect("who gets what", &ground.axe)?;
    browser.tap("Draw lots and start")?;
    browser.see("12 bulbs still waiting")?;
    ensure!(browser.taps() <= 14, "planning took {} taps", browser.taps());
    // Undone, nothing of the try stands.
    browser.tap("Undo")?;
    browser.see("This try is not in these records.")?;
    // Of three groups there is a choice of pairs, and it stays chosen.
    go(browser, "/trials")?;
    browser.tap("Begin a new trial")?;
    browser.tap("Longer or shorter rest?")?;
    browser.tap("Add a group")?;
    browser.tap("Next")?;
    browser.see("every group with every other")?;
    browser.inspect("which groups are compared", &ground.axe)?;
    browser.tap("each group with what is done anyway")?;
    browser.tap("Next")?;
    browser.see("12 bulbs chosen")?;
    browser.tap("One step back")?;
    let chosen = "[...document.querySelectorAll('.chip[aria-pressed=true]')].some((chip) => chip.textContent === \
                  'each group with what is done anyway')";
    browser.wait_until(chosen)?;
    browser.finish()
}

fn a_window_counted_from_the_start_and_a_finished_try_from_a_notebook(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "6")?;
    let ask = |browser: &mut Browser| -> Result<()> {
        go(browser, "/trials")?;
        browser.tap("Begin a new trial")?;
        browser.tap("Longer or shorter rest?")?;
        browser.tap("Next")?;
        browser.see("Fixed before the start")
    };
    ask(browser)?;
    browser.tap("days after the start")?;
    browser.fill("First day, days after the start", "60")?;
    browser.fill("Last day, days after the start", "80")?;
    browser.see("That is from ")?;
    browser.inspect("a window counted from the start", &ground.axe)?;
    browser.tap("Next")?;
    browser.tap("Next")?;
    browser.tap("Draw lots and start")?;
    browser.see("6 bulbs still waiting")?;
    // The groups on paper, as they stand on the bench.
    browser.tap("List of the groups to print")?;
    browser.see("Labelled")?;
    browser.wait_until("document.querySelectorAll('tbody tr').length === 6")?;
    browser.inspect("the groups on paper", &ground.axe)?;
    browser.check_no_sideways("the groups on paper")?;
    // A try that was done before, with bulbs that are in another now: closed as soon as it is typed in.
    ask(browser)?;
    browser.tap("Next")?;
    browser.tap("From a notebook: bulbs gone since, too")?;
    browser.inspect("bulbs of a try from a notebook", &ground.axe)?;
    browser.eval("[...document.querySelectorAll('main label.row input')].slice(0, 2).forEach((box) => box.click())")?;
    browser.see("2 bulbs chosen")?;
    browser.tap("Next")?;
    browser.wait_until("document.querySelectorAll('main .chips').length === 4")?;
    browser.eval(
        "(() => { const rows = document.querySelectorAll('main .chips'); \
         rows[1].querySelectorAll('.chip')[0].click(); rows[2].querySelectorAll('.chip')[1].click(); })()",
    )?;
    browser.tap("is finished")?;
    browser.see("Finished on")?;
    browser.inspect("a finished try from a notebook", &ground.axe)?;
    browser.tap("Save the try")?;
    browser.tap("To know beside it")?;
    browser.see("Typed in from a notebook.")?;
    let open = "[...document.querySelectorAll('button')].some((b) => b.textContent.includes('Close this try'))";
    ensure!(browser.eval(open)? == false, "a finished try is still open");
    browser.finish()
}

fn what_was_recorded_is_put_right_and_taken_back(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    browser.tap("Record something done")?;
    browser.tap("Died")?;
    browser.fill("Of what, if known", "soft rot")?;
    // What ends bulbs is meant for none until they are ticked; the first is not meant.
    browser.see("None of 3 yet")?;
    browser.tap("css:.asked .choice:nth-of-type(2)")?;
    browser.tap("css:.asked .choice:nth-of-type(3)")?;
    browser.see("All 3 but 1")?;
    browser.tap("css:.btn.main")?;
    browser.see("Died: 2 bulbs")?;
    browser.see("1 bulb · bench")?;
    browser.tap("Undo")?;
    browser.see("3 bulbs · bench")?;
    // A name given by mistake: undone, the old one stands again.
    browser.tap("Change this place")?;
    browser.see("Shade cloth over it, %")?;
    // Where no light comes in, nothing is asked of shade.
    browser.tap("cellar")?;
    browser.wait_until("!document.querySelector('main').innerText.includes('Shade cloth')")?;
    browser.tap("bench")?;
    browser.fill("Name of the place", "Bench 9")?;
    browser.tap("css:.btn.main")?;
    browser.see("Bench 9")?;
    browser.tap("Undo")?;
    browser.see("Taken back")?;
    browser.wait_until("document.querySelector('h1').textContent === 'Bench 2'")?;
    // A measure out of bounds is refused at its field, and nothing is recorded.
    browser.tap("css:.bench .cell")?;
    browser.see("Names and lot")?;
    browser.tap("Record something done")?;
    browser.tap("Measure")?;
    browser.fill("Length, cm", "900")?;
    browser.tap("css:.btn.main")?;
    browser.see("must be from")?;
    browser.fill("Length, cm", "31.5")?;
    browser.tap("css:.btn.main")?;
    browser.see("height of the stalk 31.5 cm")?;
    browser.tap("height of the stalk 31.5 cm")?;
    browser.see("This record stands.")?;
    browser.fill("Length, cm", "32")?;
    browser.tap("Put right")?;
    browser.see("This record was put right or taken back")?;
    browser.finish()
}

fn a_look_a_proof_and_an_act_are_put_right(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "1")?;
    browser.tap("css:.bench .cell")?;
    browser.see("Names and lot")?;
    // A look that was mistaken is replaced by what it should have said.
    browser.tap("Look")?;
    browser.see("A closer look")?;
    browser.tap("shoots")?;
    browser.see("Add a shoot")?;
    browser.tap("css:.btn.main")?;
    browser.see("Shoot 1: not sure")?;
    // A first answer leaves the call for later all the same.
    browser.tap("Is it a stalk?")?;
    browser.see("Leave it for later")?;
    browser.tap("css:.grid2 .btn.tall")?;
    browser.see("Keep this call")?;
    browser.inspect("a call with an answer", &ground.axe)?;
    browser.tap("Leave it for later")?;
    // A proof is said, said otherwise, and taken back.
    browser.tap("Is it a stalk?")?;
    browser.tap("It was a stalk")?;
    browser.see("Shoot 1: stalk in sight")?;
    browser.tap("Stalk or leaf")?;
    browser.see("A stalk, as the records have it.")?;
    browser.inspect("a shoot that is proved", &ground.axe)?;
    browser.tap("It was a leaf")?;
    browser.see("Shoot 1: a leaf")?;
    browser.tap("Stalk or leaf")?;
    browser.tap("Take back")?;
    browser.see("A stalk, as the records have it.")?;
    browser.tap("css:.wayback")?;
    browser.tap("look: a shoot, not sure")?;
    browser.tap("Put this look right")?;
    browser.see("Put this look right")?;
    browser.inspect("a look put right", &ground.axe)?;
    browser.tap("nothing")?;
    browser.tap("css:.btn.main")?;
    browser.see("This record was put right or taken back")?;
    // An act is put right in all it says.
    browser.tap("css:.wayback")?;
    browser.tap("Record something done")?;
    browser.tap("Feed")?;
    browser.fill("Which feed", "tomato feed")?;
    browser.tap("css:.btn.main")?;
    browser.tap("fed: tomato feed")?;
    browser.fill("Which feed", "bulb feed")?;
    browser.inspect("an act put right", &ground.axe)?;
    browser.tap("Put right")?;
    browser.see("fed: bulb feed")?;
    browser.finish()
}

fn an_offset_a_photo_of_a_place_and_numbers_bulb_by_bulb(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    // One form measures every bulb of the place by itself; the one left empty is left out.
    browser.tap("Record something done")?;
    browser.tap("Measure")?;
    browser.tap("bulb by bulb")?;
    browser.see("for each bulb")?;
    browser.inspect("measures bulb by bulb", &ground.axe)?;
    browser.fill("css:.grid2 .field:nth-of-type(1) input", "12.5")?;
    browser.fill("css:.grid2 .field:nth-of-type(3) input", "14")?;
    browser.tap("css:.btn.main")?;
    browser.see("Measure: 2 bulbs")?;
    // A split makes the new bulb in the same form.
    browser.tap("css:.bench .cell")?;
    browser.see("height of the stalk 12.5 cm")?;
    browser.tap("Record something done")?;
    browser.tap("Growth")?;
    browser.tap("Split off an offset")?;
    browser.fill("Your own name for the new bulb, if wished", "Tiny")?;
    browser.inspect("splitting off an offset", &ground.axe)?;
    browser.tap("css:.btn.main")?;
    browser.tap("Tiny")?;
    browser.see("Offset of ")?;
    browser.see("Evenfall")?;
    browser.inspect("an offset's page", &ground.axe)?;
    // A photo of the place stands on the place's page.
    browser.tap("css:.wayback")?;
    browser.see("height of the stalk 12.5 cm")?;
    browser.tap("css:.wayback")?;
    browser.see("4 bulbs · bench")?;
    browser.eval(
        "(async () => { const canvas = document.createElement('canvas'); canvas.width = 40; canvas.height = 30; \
         const blob = await new Promise((done) => canvas.toBlob(done)); const files = new DataTransfer(); \
         files.items.add(new File([blob], 'bench.png', {type: 'image/png'})); \
         const field = [...document.querySelectorAll('input[type=file]')].pop(); field.files = files.files; \
         field.dispatchEvent(new Event('change', {bubbles: true})); })()",
    )?;
    browser.see("Photo of Bench 2")?;
    browser.inspect("a place with a photo", &ground.axe)?;
    browser.finish()
}

fn the_same_nursery_started_twice_is_joined_and_parted(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut other = Device::new(Screen::phone())?;
    start(&mut other.browser, host.server.address(), "2")?;
    let file = written(&mut other.browser)?;

    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "3")?;
    go(browser, "/files/in")?;
    give(browser, &file)?;
    browser.see("The same nursery, started twice")?;
    browser.inspect("a file of another nursery", &ground.axe)?;
    browser.tap("The same nursery, started twice")?;
    browser.see("Read as the same nursery, started twice")?;
    browser.inspect("a file read as the same nursery", &ground.axe)?;
    browser.tap("css:.btn.main")?;
    browser.see("To what is due")?;
    let n_benches = "[...document.querySelectorAll('main a.row b')].filter((b) => b.textContent === 'Bench 2').length";
    go(browser, "/places")?;
    browser.wait_until(&format!("{n_benches} === 2"))?;
    // The same file again: known to be joined, and nothing new in it.
    go(browser, "/files/in")?;
    give(browser, &file)?;
    browser.see("Read as the same nursery, started twice")?;
    browser.see("Nothing new: everything in this file is here already.")?;
    // Taken back, its records are gone from view.
    go(browser, "/files/disagreements")?;
    browser.see("The same nursery, started twice")?;
    browser.inspect("a join that can be taken back", &ground.axe)?;
    browser.tap("Take back")?;
    browser.see("Taken back")?;
    go(browser, "/places")?;
    browser.wait_until(&format!("{n_benches} === 1"))?;
    other.browser.finish()?;
    browser.finish()
}

/// The file with all records of a device, as JSON text in quotes.
pub(crate) fn written(browser: &mut Browser) -> Result<serde_json::Value> {
    browser.eval(
        "(() => { window.written = undefined; const make = URL.createObjectURL.bind(URL); \
         URL.createObjectURL = (blob) => { window.written = blob; return make(blob); }; })()",
    )?;
    go(browser, "/files")?;
    browser.tap("Make the file")?;
    browser.tap("Save it on this device")?;
    browser.wait_until("window.written !== undefined")?;
    browser.eval("window.written.text()")
}

/// Gives a file to the screen that takes files in.
pub(crate) fn give(browser: &mut Browser, file: &serde_json::Value) -> Result<()> {
    browser.wait_until("document.querySelector('input[type=file]') !== null")?;
    browser.eval(&format!(
        "(() => {{ const files = new DataTransfer(); files.items.add(new File([{file}], 'other.json')); \
         const field = document.querySelector('input[type=file]'); field.files = files.files; \
         field.dispatchEvent(new Event('change', {{bubbles: true}})); }})()"
    ))?;
    Ok(())
}

/// A colleague's file on a device that has nothing yet, as far as what it would bring.
pub(crate) fn offered(browser: &mut Browser, address: &str, file: &serde_json::Value) -> Result<()> {
    browser.open(address)?;
    browser.tap("Join one: take in a colleague's file")?;
    give(browser, file)?;
    browser.see("Hollow Lane")?;
    browser.see("Nothing is written yet.")
}

/// The same, taken in: now it is asked who records here.
pub(crate) fn join(browser: &mut Browser, address: &str, file: &serde_json::Value) -> Result<()> {
    offered(browser, address, file)?;
    browser.tap("css:.btn.main")?;
    browser.see("Who are you?")
}

/// Addresses of every screen that needs no id.
const PLAIN: &[&str] = &[
    "/due",
    "/due/plans",
    "/due/week",
    "/due/coming",
    "/due/calendar",
    "/due/published",
    "/calls",
    "/calls/practice",
    "/places",
    "/places/new",
    "/places/mix",
    "/stock/sizes",
    "/lots",
    "/find",
    "/trials",
    "/trials/new",
    "/trials/plan",
    "/files",
    "/files/in",
    "/files/people",
    "/files/who",
    "/files/words",
    "/files/words/blind",
    "/files/know",
    "/files/know/rot",
    "/files/storage",
    "/files/disagreements",
    "/start",
];

fn a_sheet_typed_in_late_goes_by_its_day(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    start(browser, host.server.address(), "1")?;
    let type_in = |browser: &mut Browser, days_ago: u32, answer: &str| -> Result<()> {
        browser.tap("Type a walk sheet in")?;
        browser.see("Day of the walk")?;
        browser.eval(&format!(
            "(() => {{ const day = document.querySelector('input[type=date]'); const at = new Date(day.max + 'T12:00'); \
             at.setDate(at.getDate() - {days_ago}); day.value = at.toISOString().slice(0, 10); \
             day.dispatchEvent(new Event('input', {{bubbles: true}})); }})()"
        ))?;
        let option =
            format!("[...document.querySelectorAll('select option')].find((o) => o.textContent === '{answer}')");
        browser.wait_until(&format!("{option} !== undefined"))?;
        browser.eval(&format!(
            "(() => {{ const select = document.querySelector('select'); select.value = {option}.value; \
             select.dispatchEvent(new Event('change', {{bubbles: true}})); }})()"
        ))?;
        browser.inspect("a sheet typed in", &ground.axe)?;
        browser.tap("css:.btn.main")?;
        // What is said is the same each time: the form has to be left first.
        browser.wait_until("!location.hash.endsWith('type-in')")?;
        browser.see("Typed in: 1 bulb")
    };
    type_in(browser, 20, "A stalk")?;
    type_in(browser, 4, "First flower open")?;
    // In between the sheath had split: that answer is offered for that day, though the flower is open by now.
    type_in(browser, 11, "Bud sheath split")?;
    browser.tap("css:.bench .cell")?;
    browser.see("Shoot 1: first flower open")?;
    browser.finish()
}

/// Goes through all screens of the demo, light and dark.
fn every_screen_can_be_read_and_tapped(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.see("Look at the demo")?;
    browser.inspect("first start", &ground.axe)?;
    browser.tap("Look at the demo")?;
    browser.see("A demo nursery")?;
    browser.see("Bench 2")?;
    let mut addresses: Vec<String> = PLAIN.iter().map(|plain| (*plain).to_owned()).collect();
    addresses.extend(linked(browser)?);
    ensure!(addresses.len() >= 26, "only {} screens were found", addresses.len());
    let mut found = Vec::new();
    for dark in [false, true] {
        browser.prefer_dark(dark)?;
        for address in &addresses {
            go(browser, address)?;
            let name = format!("{address} {}", if dark { "dark" } else { "light" });
            for result in [browser.inspect(&name, &ground.axe), browser.check_no_sideways(&name)] {
                found.extend(result.err().map(|why| why.to_string()));
            }
        }
    }
    ensure!(found.is_empty(), "{}", found.join("\n      "));
    browser.finish()
}

pub(crate) fn go(browser: &mut Browser, address: &str) -> Result<()> {
    browser.eval(&format!("location.hash = '{address}'"))?;
    browser
        .wait_until(&format!("location.hash === '#{address}' && document.querySelector('[data-heading]') !== null"))?;
    // Two frames: the screen has been drawn, and its heading has the focus.
    browser.eval("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")?;
    Ok(())
}

/// A script that lists the addresses of one kind to which the screen links.
fn links_to(kind: &str) -> String {
    format!(
        "[...document.querySelectorAll('main a')].map((a) => a.getAttribute('href').slice(1)).filter((a) => /^{kind}$/.test(a))"
    )
}

/// A bulb of this place that has a shoot, and the address of the call on it; the bulb's page is open then. The demo is
/// told anew every day and its tags with it, so that another bulb stands first.
fn with_shoot(
    browser: &mut Browser,
    place: &str,
    all_of: &impl Fn(&mut Browser, &str) -> Result<Vec<String>>,
) -> Result<(String, String)> {
    go(browser, place)?;
    for bulb in all_of(browser, r"\/bulb\/b_\w+")? {
        go(browser, &bulb)?;
        browser.see("Names and lot")?;
        let calls = browser.eval(&links_to(r"\/bulb\/b_\w+\/call\/\w+"))?;
        if let Some(call) = calls[0].as_str() {
            return Ok((bulb, call.to_owned()));
        }
    }
    bail!("no bulb of {place} has a shoot")
}

/// One address of each kind of screen that has an id in it.
fn linked(browser: &mut Browser) -> Result<Vec<String>> {
    // All addresses of one kind, once the screen shows a link to one.
    let all_of = |browser: &mut Browser, kind: &str| -> Result<Vec<String>> {
        let find = links_to(kind);
        browser.wait_until(&format!("{find}.length > 0"))?;
        let found = browser.eval(&find)?;
        let found = found.as_array().into_iter().flatten();
        Ok(found.filter_map(|link| link.as_str().map(str::to_owned)).collect())
    };
    let first = |browser: &mut Browser, kind: &str| -> Result<String> { Ok(all_of(browser, kind)?.swap_remove(0)) };
    go(browser, "/places")?;
    let place = first(browser, r"\/place\/pl_\w+")?;
    let (bulb, call) = with_shoot(browser, &place, &all_of)?;
    let record = first(browser, r"\/record\/\w+")?;
    go(browser, "/trials")?;
    let trial = first(browser, r"\/trial\/tr_\w+")?;
    let run = first(browser, r"\/run\/ru_\w+")?;
    let care = format!("/care{}", bulb.trim_start_matches("/bulb"));
    let mut all: Vec<String> =
        ["edit", "light", "walk", "add", "sheet", "type-in"].iter().map(|part| format!("{place}/{part}")).collect();
    all.extend(["look", "edit", "same"].iter().map(|part| format!("{bulb}/{part}")));
    all.extend([
        format!("{care}/do/inspection"),
        format!("{trial}/again"),
        format!("{trial}/result"),
        format!("{run}/result"),
        place,
        bulb,
        record,
        call,
        trial,
        run,
        care,
    ]);
    Ok(all)
}

fn wide_screens_have_two_panes(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::desk())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    go(browser, "/places")?;
    browser.tap("css:main a.row")?;
    browser.wait_until("document.querySelectorAll('.shell > .pane').length === 2")?;
    browser.inspect("a place beside the list of places", &ground.axe)?;
    browser.check_no_sideways("a place beside the list of places")?;
    browser.finish()
}

/// Due beside a page: its rows are told apart by what they say, not by their number.
fn the_focus_stays_with_its_row_when_another_comes(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::desk())?;
    let browser = &mut device.browser;
    demo(browser, host.server.address())?;
    browser.tap("css:main a[href$='/water']")?;
    browser.tap("Done")?;
    browser.see("Undo")?;
    go(browser, "/due/plans")?;
    browser.wait_until("document.querySelector('.back a.row') !== null")?;
    let n_rows = "document.querySelectorAll('.back .row.boxed:not(.done)').length";
    let before = browser.eval(n_rows)?;
    browser.eval("[...document.querySelectorAll('.back a.row')].at(-1).focus()")?;
    let focused = "document.activeElement.textContent";
    let row = browser.eval(focused)?;
    // Not by a tap, which would take the focus along.
    browser.eval("document.querySelector('.back .row.boxed.done input').click()")?;
    browser.wait_until(&format!("{n_rows} > {before}"))?;
    let still = browser.eval(focused)?;
    ensure!(still == row, "the focus was on {row} and is on {still}");
    browser.finish()
}
