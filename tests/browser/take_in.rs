//! Taking files in: tried out before anything is written, told in full, undone again; and starts that do not finish.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context, Result, ensure};
use bloomdue_core::{
    calendar::{Date, Happened},
    handover::json::{compose, read},
    ledger::{
        Ledger,
        body::{
            Act, ActKind, Body, Leaves, Linked, Look, Neck, Note, ShootKind, ShootSeen, Side, Stage, TakeBack, Way,
        },
        entry::{Draft, Entry, Envelope, HybridTime},
        id::{Id, Ids, Noun},
    },
};
use bloomdue_tests::driver::{Browser, Scratch, Screen};

use crate::{Check, Device, Ground, slice};

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_file_that_ends_much_is_told_taken_in_undone_and_brought_again,
    a_shoot_called_a_stalk_and_a_leaf_is_settled_in_one_tap,
    a_file_that_ties_the_program_up_is_answered_and_the_app_opens,
    a_copy_of_this_device_does_not_stop_it_from_recording,
    a_start_that_did_not_finish_is_told_and_the_last_file_set_aside,
];

/// A colleague's phone that writes into the browser's nursery.
struct Colleague {
    ledger: Ledger,
    device: Id,
    who: Id,
    ids: Ids,
    line: u64,
    today: Date,
    now_ms: u64,
}

impl Colleague {
    /// With all that the open nursery has, from a file that it writes.
    fn of(browser: &mut Browser, folder: &Scratch) -> Result<Self> {
        browser.download_into(folder.path())?;
        browser.eval("location.hash = '/files'")?;
        browser.tap("Make the file")?;
        browser.see("The file is ready")?;
        browser.tap("Save it on this device")?;
        let file = browser.downloaded(folder.path(), &[])?;
        let reading = read(&std::fs::read(&file)?, |_| {})?;
        let mut ledger = Ledger::new(reading.ledger);
        for entry in &reading.entries {
            ledger.insert(Arc::clone(entry));
        }
        let newest = reading.entries.last().context("a record")?;
        let mut ids = Ids::new([5; 32]);
        Ok(Self {
            device: ids.draw(Noun::Device),
            who: newest.envelope.who,
            today: newest.envelope.happened.date(),
            now_ms: ledger.newest().ms,
            line: 0,
            ledger,
            ids,
        })
    }

    fn write(&mut self, draft: Draft) -> Result<Arc<Entry>> {
        self.line += 1;
        self.now_ms += 1;
        let entry = Arc::new(self.seal(draft, self.device, self.line)?);
        self.ledger.insert(Arc::clone(&entry));
        Ok(entry)
    }

    fn seal(&mut self, draft: Draft, device: Id, line: u64) -> Result<Entry> {
        let envelope = Envelope {
            about: draft.about,
            device,
            form: self.ids.draw(Noun::Form),
            happened: draft.happened,
            hlc: HybridTime { ms: self.now_ms, counter: 0 },
            kind: draft.body.kind().to_owned(),
            ledger: self.ledger.id(),
            line,
            slot: draft.slot,
            supersedes: draft.supersedes,
            v: 1,
            who: self.who,
        };
        Ok(Entry::seal(envelope, draft.body)?)
    }

    fn bulbs(&self) -> Vec<Id> {
        let subjects = self.ledger.subjects().into_iter();
        subjects.filter(|subject| subject.is(Noun::Bulb)).collect()
    }

    fn on(&self, days: i64) -> Result<Happened> {
        Ok(Happened::on(self.today.add_days(days)?))
    }

    fn note(&self, days: i64, text: &str) -> Result<Draft> {
        let body = Body::Note(Note { text: text.into() });
        Ok(Draft::new(vec![self.ledger.id()], self.on(days)?, body))
    }

    fn file(&self, folder: &Scratch, name: &str) -> Result<PathBuf> {
        let path = folder.path().join(name);
        let text = compose(&self.ledger, "Hollow Lane", "2027-03-14T18:20+02:00", []);
        std::fs::write(&path, text)?;
        Ok(path)
    }
}

/// A nursery with twelve bulbs, and a colleague who has all of it.
fn begun(ground: &Ground) -> Result<(crate::Host, Device, Scratch, Colleague)> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    slice::start(&mut device.browser, host.server.address(), "12")?;
    let folder = Scratch::new("files")?;
    let colleague = Colleague::of(&mut device.browser, &folder)?;
    Ok((host, device, folder, colleague))
}

fn choose(browser: &mut Browser, file: &Path) -> Result<()> {
    browser.eval("location.hash = '/files/in'")?;
    browser.see("Choose the file")?;
    browser.give_files("input[type=file]", &[file])
}

fn add_person(browser: &mut Browser, initials: &str) -> Result<()> {
    browser.eval("location.hash = '/files/people'")?;
    browser.tap("Add a person")?;
    browser.fill("Initials", initials)?;
    browser.tap("Save")?;
    browser.see(initials)
}

fn a_file_that_ends_much_is_told_taken_in_undone_and_brought_again(ground: &Ground) -> Result<()> {
    let (_host, mut device, folder, mut colleague) = begun(ground)?;
    let browser = &mut device.browser;
    let died = Draft::new(colleague.bulbs(), colleague.on(0)?, Body::Act(ActKind::Died, Act::default()));
    colleague.write(died)?;
    colleague.write(colleague.note(60, "of a later day")?)?;
    let file = colleague.file(&folder, "grim.bloomdue.json")?;
    choose(browser, &file)?;
    // Which bulbs it is about is named, and its day is told as days are.
    browser.see("Work on 12 bulbs: ")?;
    browser.see("and 9 more")?;
    browser.see("Made: 14 Mar")?;
    browser.see("12 bulbs would have died")?;
    browser.see("1 record dated after tomorrow")?;
    browser.tap("Take it in")?;
    browser.see("Take it in only if you know why")?;
    browser.tap("Take it in all the same")?;
    browser.see("2 records taken in")?;
    browser.eval("location.hash = '/places'")?;
    browser.wait_until("/Bench 2\\s+bench\\s+0\\b/.test(document.body.innerText)")?;
    browser.eval("location.hash = '/files'")?;
    browser.see("grim.bloomdue.json")?;
    browser.see("do not count until their day")?;
    let machine = browser.eval("/\\d{4}-\\d\\d-\\d\\d/.test(document.querySelector('main').innerText)")?;
    ensure!(machine == false, "a day is told as machines write it");
    browser.tap("Take all of it back")?;
    browser.see("Like all records they travel")?;
    browser.tap("Take all of it back")?;
    browser.see("All of grim.bloomdue.json taken back")?;
    // The page itself says so, and how to bring it back.
    browser.see("Taken back here: all 2 records.")?;
    browser.see("Bring it back")?;
    browser.inspect("files with one taken back", &ground.axe)?;
    browser.eval("location.hash = '/places'")?;
    browser.wait_until("/Bench 2\\s+bench\\s+12\\b/.test(document.body.innerText)")?;
    browser.eval("location.hash = '/files'")?;
    browser.see("Taken back here: all 2 records.")?;
    browser.tap("Bring it back")?;
    browser.see("grim.bloomdue.json stands again")?;
    browser.see("Take all of it back")?;
    browser.wait_until("!document.body.innerText.includes('Taken back here')")?;
    browser.finish()
}

fn a_shoot_called_a_stalk_and_a_leaf_is_settled_in_one_tap(ground: &Ground) -> Result<()> {
    let (_host, mut device, folder, mut colleague) = begun(ground)?;
    let browser = &mut device.browser;
    let bulb = *colleague.bulbs().first().context("a bulb")?;
    let shoot = colleague.ids.draw(Noun::Shoot);
    let other = colleague.ids.draw(Noun::Device);
    let look = |colleague: &Colleague, kind, stage| -> Result<Draft> {
        let seen = ShootSeen { id: shoot, ordinal: 1, side: Side::NotSaid, kind, stage, height_mm: None };
        let look = Look {
            neck: Neck::Shoots,
            leaves: Leaves::NotLookedAt,
            n_leaves: None,
            shoots: vec![seen],
            way: Way::Each,
            walk: None,
        };
        Ok(Draft::new(vec![bulb], colleague.on(0)?, Body::Look(look)))
    };
    // Two colleagues looked at it on one day and took it for different things.
    let stalk = look(&colleague, ShootKind::Scape, Stage::ScapeInSight)?;
    colleague.write(stalk)?;
    let leaf = look(&colleague, ShootKind::Leaf, Stage::Shoot)?;
    let leaf = colleague.seal(leaf, other, 1)?;
    colleague.ledger.insert(Arc::new(leaf));
    let file = colleague.file(&folder, "both.bloomdue.json")?;
    choose(browser, &file)?;
    browser.tap("Take it in")?;
    browser.see("2 records taken in")?;
    // Due says that something disagrees, the bulb's page offers to settle it, and so does the list.
    browser.eval("location.hash = '/due'")?;
    browser.see("Two records disagree")?;
    browser.eval(&format!("location.hash = '/bulb/{bulb}'"))?;
    browser.see("is shoot 1 a stalk or a leaf?")?;
    browser.inspect("a bulb whose shoot is disputed", &ground.axe)?;
    browser.eval("location.hash = '/files/disagreements'")?;
    browser.see("is shoot 1 a stalk or a leaf?")?;
    browser.see("A leaf")?;
    browser.tap("This stands: A stalk")?;
    browser.wait_until("!document.body.innerText.includes('a stalk or a leaf')")?;
    browser.eval(&format!("location.hash = '/bulb/{bulb}'"))?;
    browser.see("Shoot 1: stalk in sight")?;
    browser.finish()
}

fn a_file_that_ties_the_program_up_is_answered_and_the_app_opens(ground: &Ground) -> Result<()> {
    let (host, mut device, folder, mut colleague) = begun(ground)?;
    let browser = &mut device.browser;
    // Take-backs of take-backs: each layer takes back all of the layer below.
    let mut below = vec![colleague.write(colleague.note(0, "first")?)?.id];
    for _ in 0..20 {
        let mut layer = Vec::new();
        for at in 0..8 {
            let body = Body::TakeBack(TakeBack { why: Some(at.to_string()) });
            let mut draft = Draft::new(vec![colleague.ledger.id()], colleague.on(0)?, body);
            draft.supersedes.clone_from(&below);
            layer.push(colleague.write(draft)?.id);
        }
        below = layer;
    }
    // Bulbs said to be one, each with the next.
    let chain: Vec<Id> = (0..1000).map(|_| colleague.ids.draw(Noun::Bulb)).collect();
    for pair in chain.windows(2) {
        let body = Body::SameAs(Linked { to: pair[1], note: None });
        colleague.write(Draft::new(vec![pair[0]], colleague.on(0)?, body))?;
    }
    let file = colleague.file(&folder, "knots.bloomdue.json")?;
    choose(browser, &file)?;
    let answered = "/This file is not taken in|1,?160 records are new|1,?159 records are new|1,?161 records are new/";
    browser.wait_within(&format!("{answered}.test(document.body.innerText)"), std::time::Duration::from_secs(30))?;
    if browser.eval("/records are new/.test(document.body.innerText)")? == true {
        browser.tap("Take it in")?;
        browser.see("records taken in")?;
    }
    browser.open(host.server.address())?;
    browser.see("Hollow Lane")?;
    add_person(browser, "ZZ")?;
    browser.finish()
}

fn a_copy_of_this_device_does_not_stop_it_from_recording(ground: &Ground) -> Result<()> {
    let (host, mut device, folder, mut colleague) = begun(ground)?;
    let browser = &mut device.browser;
    let own = colleague.ledger.arrived().last().context("a record")?;
    let own = own.envelope.device;
    let draft = colleague.note(0, "from the copy")?;
    let entry = colleague.seal(draft, own, 9_007_199_254_740_991)?;
    colleague.ledger.insert(Arc::new(entry));
    let file = colleague.file(&folder, "copy.bloomdue.json")?;
    choose(browser, &file)?;
    browser.tap("Take it in")?;
    browser.see("This device goes by a new name from now on")?;
    add_person(browser, "AB")?;
    browser.open(host.server.address())?;
    browser.see("Hollow Lane")?;
    add_person(browser, "CD")?;
    browser.finish()
}

/// Marks a start that began a minute ago and did not reach its first screen.
const UNFINISHED: &str = r#"(async () => {
    const { name } = (await indexedDB.databases()).find((one) => one.name.startsWith("bloomdue-"));
    const database = await new Promise((done, failed) => {
        const asked = indexedDB.open(name);
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => failed(asked.error);
    });
    const row = JSON.stringify({ n: 1, since_ms: Date.now() - 60000 });
    await new Promise((done, failed) => {
        const change = database.transaction(["meta"], "readwrite");
        change.objectStore("meta").put(new TextEncoder().encode(row), "start");
        change.oncomplete = done;
        change.onerror = () => failed(change.error);
    });
    database.close();
})()"#;

fn a_start_that_did_not_finish_is_told_and_the_last_file_set_aside(ground: &Ground) -> Result<()> {
    let (host, mut device, folder, mut colleague) = begun(ground)?;
    let browser = &mut device.browser;
    colleague.write(colleague.note(0, "from a file")?)?;
    let file = colleague.file(&folder, "last.bloomdue.json")?;
    choose(browser, &file)?;
    browser.tap("Take it in")?;
    browser.see("1 record taken in")?;
    // A start that finishes leaves no mark.
    browser.open(host.server.address())?;
    browser.see("Hollow Lane")?;
    browser.eval(UNFINISHED)?;
    browser.kill_and_reopen()?;
    browser.open(host.server.address())?;
    browser.see("The last start did not finish")?;
    ensure!(
        browser.eval("document.querySelector('.btn').textContent")? == "Open it",
        "opening it is not the first thing offered"
    );
    browser.tap("Write the records to a file, as they stand")?;
    browser.see("The file is ready")?;
    browser.tap("Set aside what the last file brought")?;
    browser.see("Set aside: 1 record of last.bloomdue.json")?;
    browser.tap("Open it")?;
    browser.see("Hollow Lane")?;
    browser.eval("location.hash = '/files'")?;
    browser.see("set aside")?;
    browser.tap("Write what was set aside to a file")?;
    browser.see("The file is ready")?;
    // The next start finds no mark.
    browser.open(host.server.address())?;
    browser.see("Hollow Lane")?;
    browser.finish()
}
