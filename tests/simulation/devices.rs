//! Two to five devices with wrong clocks exchange whatever files they have. After a quiet phase in which everyone has
//! everyone's file, all hold the same, and nothing that was shown as saved is gone.

use std::{
    collections::BTreeSet,
    sync::atomic::{AtomicU64, Ordering},
};

use bloomdue_core::ledger::{
    id::{EntryId, Id, Ids, Noun},
    shelf::{Form, Store},
};
use bloomdue_core::nursery::State;

use crate::{
    disk::{Disk, Tab, Trouble, fresh},
    faults::photo,
    life::any_of_life,
    make::{DAY_MS, Dice, NOON_MS, any_draft, happened, id, ledger_of, reworded, said},
};

/// How a device's clock goes.
#[derive(Clone, Copy, Debug)]
enum Clock {
    Steady,
    Frozen,
    Stepping,
}

struct Device {
    disk: Disk,
    tab: Tab,
    clock: Clock,
    /// How far it is from the right time, in ms.
    ahead_ms: i64,
    /// What was shown as saved on it.
    acknowledged: BTreeSet<EntryId>,
}

struct World {
    dice: Dice,
    ids: Ids,
    time_ms: u64,
    devices: Vec<Device>,
    files: Vec<Vec<u8>>,
}

impl World {
    fn new(seed: u64) -> Self {
        let mut dice = Dice::new(seed);
        let ids = Ids::new(dice.seed());
        let mut world = Self { dice, ids, time_ms: NOON_MS, devices: Vec::new(), files: vec![from_a_later_version()] };
        for _ in 0..2 + world.dice.below(4) {
            let device = world.new_device();
            world.devices.push(device);
        }
        world
    }

    fn new_device(&mut self) -> Device {
        let mut disk = Disk::default();
        let tab = Tab::open(&mut disk, fresh(self.ids.draw(Noun::Device), self.time_ms)).unwrap();
        let clock = [Clock::Steady, Clock::Steady, Clock::Frozen, Clock::Stepping][self.dice.below(4)];
        let offsets = [0, 0, 5_000, -3_600_000, 20 * 3_600_000, 400 * DAY_MS as i64, -(400 * DAY_MS as i64)];
        let ahead_ms = offsets[self.dice.below(offsets.len())];
        Device { disk, tab, clock, ahead_ms, acknowledged: BTreeSet::new() }
    }

    /// What a device's clock shows.
    fn now_ms(&mut self, at: usize) -> u64 {
        let device = &mut self.devices[at];
        match device.clock {
            Clock::Steady => self.time_ms.saturating_add_signed(device.ahead_ms),
            Clock::Frozen => NOON_MS.saturating_add_signed(device.ahead_ms),
            Clock::Stepping => {
                device.ahead_ms += self.dice.below(7_200_000) as i64 - 3_600_000;
                self.time_ms.saturating_add_signed(device.ahead_ms)
            }
        }
    }

    /// One thing that happens on one device. A failing disk makes it fail whole; then it is done again.
    fn step(&mut self) {
        self.time_ms += self.dice.below(6 * 3_600_000) as u64;
        let at = self.dice.below(self.devices.len());
        let what = self.dice.below(100);
        if self.dice.often(15) {
            let fail_at = self.devices[at].disk.n_ops + 1 + self.dice.below(5);
            self.devices[at].disk.fail_at = Some(fail_at);
            let before = self.dice.clone();
            match self.act(at, what) {
                Ok(()) => {}
                Err(Trouble::Aborted) => self.dice = before,
                Err(other) => panic!("{other:?}"),
            }
            self.devices[at].disk.fail_at = None;
        } else {
            self.act(at, what).unwrap();
        }
    }

    fn act(&mut self, at: usize, what: usize) -> Result<(), Trouble> {
        match what {
            0..45 => self.save(at),
            45..60 => {
                let device = &self.devices[at];
                let with_photos = self.dice.often(60);
                self.files.push(device.tab.file(&device.disk, with_photos));
                Ok(())
            }
            60..80 => self.take_in(at),
            80..85 => {
                let device = &mut self.devices[at];
                device.tab.compact(&mut device.disk).map(|_| ())
            }
            85..92 => {
                self.devices[at].disk.power_cut();
                self.reopen(at)
            }
            92..96 => self.reopen(at),
            _ => {
                self.lose(at);
                Ok(())
            }
        }
    }

    fn save(&mut self, at: usize) -> Result<(), Trouble> {
        let now_ms = self.now_ms(at);
        let n = if self.dice.often(3) { 70 } else { 1 + self.dice.below(3) };
        let device = &mut self.devices[at];
        let day = ((self.time_ms - NOON_MS) / DAY_MS) as i64;
        let drafts = (0..n)
            .map(|_| match self.dice.often(65) {
                true => any_of_life(&mut self.dice, &device.tab.ledger, day),
                false => any_draft(&mut self.dice, &device.tab.ledger),
            })
            .collect();
        let mut form = Form::new(self.ids.draw(Noun::Form), id("p_1"), drafts);
        if self.dice.often(15) {
            let (draft, large, small) = photo(self.dice.roll(), happened());
            form.drafts.push(draft);
            (form.attachments, form.thumbs) = (vec![large], vec![small]);
        }
        let saved = device.tab.save(&mut device.disk, &form, now_ms)?;
        device.acknowledged.extend(saved.iter().map(|entry| entry.id));
        Ok(())
    }

    /// Any file, also a stale one, cut off, with bits turned over, or twice.
    fn take_in(&mut self, at: usize) -> Result<(), Trouble> {
        let now_ms = self.now_ms(at);
        let mut file = self.files[self.dice.below(self.files.len())].clone();
        if self.dice.often(25) {
            file.truncate(self.dice.below(file.len()));
        }
        if self.dice.often(25) && !file.is_empty() {
            for _ in 0..1 + self.dice.below(3) {
                let byte = self.dice.below(file.len());
                file[byte] ^= 1 << self.dice.below(8);
            }
        }
        let device = &mut self.devices[at];
        for _ in 0..1 + usize::from(self.dice.often(20)) {
            match device.tab.take_in(&mut device.disk, &file, now_ms) {
                Ok(_) | Err(Trouble::File(_)) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(())
    }

    fn reopen(&mut self, at: usize) -> Result<(), Trouble> {
        let now_ms = self.now_ms(at);
        let device = &mut self.devices[at];
        let before = device.tab.ledger.digest();
        device.tab = Tab::open(&mut device.disk, fresh(id("d_never"), now_ms))?;
        assert_eq!(device.tab.ledger.digest(), before, "a device came back with other entries");
        assert!(device.tab.problems.is_empty(), "{:?}", device.tab.problems);
        Ok(())
    }

    /// A phone falls into the water tank; its owner starts again from somebody's file.
    fn lose(&mut self, at: usize) {
        let mut device = self.new_device();
        if let Some(file) = self.files.last() {
            device.tab.take_in(&mut device.disk, file, self.time_ms).unwrap();
        }
        self.devices[at] = device;
    }

    /// Everyone gives everyone a file.
    fn quiet_phase(&mut self) {
        let files: Vec<_> = self.devices.iter().map(|device| device.tab.file(&device.disk, true)).collect();
        for device in &mut self.devices {
            for file in &files {
                let preview = device.tab.take_in(&mut device.disk, file, self.time_ms).unwrap();
                assert!(preview.changed.is_empty() && preview.unreadable.is_empty() && preview.cloned.is_empty());
                assert!(preview.whole && preview.damaged_photos.is_empty());
            }
        }
    }

    fn check(&self, expected: &BTreeSet<EntryId>, photos: &BTreeSet<String>) {
        let first = said(&self.devices[0].tab.ledger);
        let state = State::fold(&self.devices[0].tab.ledger);
        for device in &self.devices {
            assert_eq!(said(&device.tab.ledger), first, "two devices differ");
            let theirs = State::fold(&device.tab.ledger);
            assert_eq!(theirs, state, "two devices tell another state");
            assert_eq!(&device.tab.ledger.ids(), expected, "entries were lost, or came from nowhere");
            assert!(device.acknowledged.is_subset(expected), "what was shown as saved is gone");
            let mut disk = device.disk.clone();
            let again = Tab::open(&mut disk, fresh(id("d_never"), self.time_ms)).unwrap();
            assert_eq!(said(&again.ledger), first, "the disk holds something else");
            let here: BTreeSet<_> = device.disk.keys(Store::Attachments).into_iter().collect();
            assert_eq!(&here, photos, "photos differ");
        }
    }
}

/// A file with an entry of a kind and one of a version that this program does not know.
fn from_a_later_version() -> Vec<u8> {
    let entry = |line, text: &str| crate::make::entry("d_later", line, crate::make::note("b_1", text));
    let entries = [
        reworded(&entry(1, "sung to"), "\"kind\":\"note\"", "\"kind\":\"song\""),
        reworded(&entry(2, "later"), "\"v\":1", "\"v\":7"),
    ];
    let mut disk = Disk::default();
    let mut tab = Tab::open(&mut disk, fresh(id("d_later"), NOON_MS)).unwrap();
    tab.ledger = ledger_of(&entries);
    tab.file(&disk, true)
}

fn run(seed: u64) {
    let mut world = World::new(seed);
    for _ in 0..25 {
        world.step();
    }
    let expected = world.devices.iter().flat_map(|device| device.tab.ledger.ids()).collect();
    let photos = world.devices.iter().flat_map(|device| device.disk.keys(Store::Attachments)).collect();
    world.quiet_phase();
    world.check(&expected, &photos);
}

#[test]
fn many_devices_come_to_the_same_and_lose_nothing() {
    if let Ok(seed) = std::env::var("BLOOMDUE_SEED") {
        return run(seed.parse().expect("BLOOMDUE_SEED is a number"));
    }
    let n_seeds: u64 = std::env::var("BLOOMDUE_SEEDS").ok().and_then(|n| n.parse().ok()).unwrap_or(1000);
    let next = AtomicU64::new(0);
    let failed = std::thread::scope(|scope| {
        let n_threads = std::thread::available_parallelism().map_or(2, usize::from);
        let threads: Vec<_> = (0..n_threads)
            .map(|_| {
                scope.spawn(|| {
                    loop {
                        let seed = next.fetch_add(1, Ordering::Relaxed);
                        if seed >= n_seeds {
                            return None;
                        }
                        if std::panic::catch_unwind(|| run(seed)).is_err() {
                            return Some(seed);
                        }
                    }
                })
            })
            .collect();
        threads.into_iter().filter_map(|thread| thread.join().unwrap()).collect::<Vec<u64>>()
    });
    // Each thread stops at its first failure, so these are a few; any of them can be pasted back.
    let again: Vec<String> = failed.iter().map(|seed| format!("BLOOMDUE_SEED={seed}")).collect();
    assert!(failed.is_empty(), "failed; run again with {}", again.join(" or "));
}

#[test]
fn a_device_whose_year_was_wrong_is_put_right_and_its_entries_are_marked() {
    let mut world = World::new(0);
    world.devices.truncate(1);
    let device: Id = world.devices[0].tab.line.device;
    for (clock_ms, n) in [(NOON_MS, 2), (NOON_MS + 400 * DAY_MS, 3), (NOON_MS + 60_000, 2)] {
        for _ in 0..n {
            let form = Form::new(world.ids.draw(Noun::Form), id("p_1"), vec![crate::make::note("b_1", "x")]);
            let d = &mut world.devices[0];
            d.tab.save(&mut d.disk, &form, clock_ms).unwrap();
        }
    }
    let ledger = &world.devices[0].tab.ledger;
    let suspects = bloomdue_core::ledger::clock::suspects(ledger, NOON_MS + 500 * DAY_MS);
    let lines: BTreeSet<u64> = suspects.iter().map(|id| ledger.get(*id).unwrap().envelope.line).collect();
    assert_eq!(lines, [3, 4, 5].into());
    let last = ledger.lines()[&device].keys().next_back();
    assert_eq!(last, Some(&7));
}
