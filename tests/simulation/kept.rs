//! The state kept between starts: whenever one is used, it is what folding every stored entry gives. Two tabs save,
//! take files in, move rows into blocks and keep states at any moment, in any order, with faults.

use bloomdue_core::{
    calendar::{Date, Happened},
    ledger::{
        Ledger,
        id::Id,
        shelf::{self, BLOCKS_KEY, Form, LINE_KEY, MadeOf, Store},
    },
    nursery::{
        State,
        kept::{FOLD, Keeping, resume},
    },
};

use crate::{
    disk::{Disk, Durability, Tab, Trouble, fresh, today},
    life::{any_of_life, same_bulb},
    make::{DAY_MS, Dice, NOON_MS, entry, id, ledger_id},
};

fn keep(tab: &Tab, disk: &mut Disk) -> Result<bool, Trouble> {
    let line = disk.row(Store::Meta, LINE_KEY).unwrap();
    let list = disk.row(Store::Meta, BLOCKS_KEY);
    let tail = disk.all(Store::Tail);
    let Some(made_of) = MadeOf::of(&tab.ledger, &line, list.as_deref(), &tail) else {
        return Ok(false);
    };
    let state = State::fold(&tab.ledger);
    let mut keeping = Keeping::new(&tab.ledger, &state);
    while keeping.step(&tab.ledger, &state) {}
    let ops = made_of.keep(&FOLD, &keeping.finish(), &disk.keys(Store::Cache));
    disk.transaction(Durability::Relaxed, &ops)?;
    Ok(true)
}

/// What the first screen would be drawn from, if not from every entry.
fn resumed(disk: &Disk) -> Option<State> {
    let line = disk.row(Store::Meta, LINE_KEY)?;
    let list = disk.row(Store::Meta, BLOCKS_KEY);
    let (cache, tail) = (disk.all(Store::Cache), disk.all(Store::Tail));
    let kept = shelf::kept(&cache, &FOLD, ledger_id(), &line, list.as_deref(), &tail)?;
    resume(&kept.state, ledger_id(), kept.line.today(today()), &kept.later).map(|resumed| resumed.state)
}

fn whole(disk: &Disk) -> State {
    let mut disk = disk.clone();
    (disk.fail_at, disk.quota_bytes) = (None, None);
    let tab = Tab::open(&mut disk, fresh(id("d_9"), NOON_MS)).unwrap();
    assert!(tab.problems.is_empty(), "{:?}", tab.problems);
    State::fold(&tab.ledger)
}

struct World {
    dice: Dice,
    disk: Disk,
    tabs: [Tab; 2],
    other: (Disk, Tab),
    day: i64,
    n_forms: usize,
}

impl World {
    fn new(seed: u64) -> Self {
        let mut disk = Disk::default();
        let one = Tab::open(&mut disk, fresh(id("d_1"), NOON_MS)).unwrap();
        let mut theirs = Disk::default();
        let other = Tab::open(&mut theirs, fresh(id("d_2"), NOON_MS)).unwrap();
        Self { dice: Dice::new(seed), disk, tabs: [one.clone(), one], other: (theirs, other), day: 0, n_forms: 0 }
    }

    fn form(&mut self, ledger: &Ledger, n: usize) -> Form {
        self.n_forms += 1;
        let day = self.day;
        let drafts = (0..n).map(|_| any_of_life(&mut self.dice, ledger, day)).collect();
        Form::new(id(&format!("f_{}", self.n_forms)), id("p_1"), drafts)
    }

    fn now_ms(&self) -> u64 {
        NOON_MS + self.day as u64 * DAY_MS
    }

    fn step(&mut self) {
        let at = self.dice.below(2);
        match self.dice.below(100) {
            0..55 => {
                let n = 1 + self.dice.below(3);
                let form = self.form(&self.tabs[at].ledger.clone(), n);
                let now_ms = self.now_ms();
                self.tabs[at].save(&mut self.disk, &form, now_ms).unwrap();
            }
            55..70 => {
                let n = 1 + self.dice.below(80);
                let form = self.form(&self.other.1.ledger.clone(), n);
                let (disk, tab) = &mut self.other;
                tab.save(disk, &form, NOON_MS).unwrap();
            }
            70..76 => {
                let file = self.other.1.file(&self.other.0, false);
                let now_ms = self.now_ms();
                self.tabs[at].take_in(&mut self.disk, &file, now_ms).unwrap();
            }
            76..78 => {
                let file = self.tabs[at].file(&self.disk, false);
                let (disk, tab) = &mut self.other;
                tab.take_in(disk, &file, NOON_MS).unwrap();
            }
            78..80 => {
                self.tabs[at].compact(&mut self.disk).unwrap();
            }
            80..82 => self.disk.power_cut(),
            82..86 => {
                // Half of a state is never kept.
                self.disk.fail_at = Some(self.disk.n_ops + 1);
                let before = self.disk.rows.clone();
                let failed = keep(&self.tabs[at], &mut self.disk);
                self.disk.fail_at = None;
                assert!(!matches!(failed, Ok(true)));
                assert_eq!(self.disk.rows, before);
            }
            86..96 => {
                keep(&self.tabs[at], &mut self.disk).unwrap();
            }
            _ => {
                self.tabs[at].catch_up(&mut self.disk).unwrap();
            }
        }
        if self.dice.often(40) {
            self.day += 1;
        }
    }
}

#[test]
fn a_kept_state_with_what_came_later_is_what_every_entry_gives() {
    let (mut n_used, mut n_later, mut n_steps) = (0, 0, 0);
    for seed in 0..40 {
        let mut world = World::new(seed);
        if seed % 10 == 0 {
            let form = world.form(&Ledger::new(ledger_id()), 520);
            world.tabs[0].save(&mut world.disk, &form, NOON_MS).unwrap();
        }
        for step in 0..80 {
            let kept_before = world.disk.all(Store::Cache);
            world.step();
            n_steps += 1;
            let Some(state) = resumed(&world.disk) else {
                continue;
            };
            n_used += 1;
            n_later += usize::from(world.disk.all(Store::Cache) == kept_before);
            assert_eq!(state, whole(&world.disk), "seed {seed}, step {step}");
        }
    }
    // If states were hardly ever used, nothing would have been shown here.
    assert!(
        n_used * 8 > n_steps && n_later > n_used / 4,
        "{n_used} of {n_steps} steps used a state, {n_later} an older one"
    );
}

#[test]
fn bulbs_that_are_one_fold_entry_by_entry_to_the_same_in_any_order() {
    let mut n_joined = 0;
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let mut made = Ledger::new(ledger_id());
        for line in 1..=40 {
            let day = line as i64;
            let draft = if dice.often(12) {
                same_bulb(&mut dice, Happened::on(Date::new(2027, 1, 9).unwrap()))
            } else {
                any_of_life(&mut dice, &made, day)
            };
            let device = ["d_1", "d_2", "d_3"][dice.below(3)];
            made.insert(entry(device, line, draft));
        }
        let whole = State::fold(&made);
        n_joined += usize::from(whole.bulbs.values().any(|bulb| !bulb.also.is_empty()));
        let mut entries = made.arrived().to_vec();
        dice.shuffle(&mut entries);
        let (mut ledger, mut state) = (Ledger::new(ledger_id()), State::default());
        for entry in entries {
            let about = entry.envelope.about.iter().copied().collect();
            ledger.insert(entry);
            state.refold(&ledger, &about);
            assert_eq!(state, State::fold(&ledger), "seed {seed}");
        }
        assert_eq!(state, whole, "seed {seed}");
    }
    assert!(n_joined > 75, "{n_joined} of 150 joined any");
}

#[test]
fn a_damaged_state_is_never_used() {
    let mut n_damaged = 0;
    for seed in 0..300 {
        let mut world = World::new(seed);
        let form = world.form(&Ledger::new(ledger_id()), 40);
        world.tabs[0].save(&mut world.disk, &form, NOON_MS).unwrap();
        assert!(keep(&world.tabs[0], &mut world.disk).unwrap());
        assert!(resumed(&world.disk).is_some(), "seed {seed}");
        let mut dice = Dice::new(seed);
        n_damaged += usize::from(world.disk.damage(Store::Cache, &mut dice).is_some());
        assert!(resumed(&world.disk).is_none(), "seed {seed}");
        // The next one is good again.
        assert!(keep(&world.tabs[0], &mut world.disk).unwrap());
        assert_eq!(resumed(&world.disk), Some(whole(&world.disk)), "seed {seed}");
    }
    assert_eq!(n_damaged, 300);
}

#[test]
fn a_state_of_another_build_is_never_used() {
    let mut world = World::new(1);
    let form = world.form(&Ledger::new(ledger_id()), 40);
    world.tabs[0].save(&mut world.disk, &form, NOON_MS).unwrap();
    keep(&world.tabs[0], &mut world.disk).unwrap();
    let line = world.disk.row(Store::Meta, LINE_KEY).unwrap();
    let (cache, tail) = (world.disk.all(Store::Cache), world.disk.all(Store::Tail));
    let with = |fold: &[u8; 32], of: Id| shelf::kept(&cache, fold, of, &line, None, &tail);
    assert!(with(&FOLD, ledger_id()).is_some());
    let mut other = FOLD;
    other[31] ^= 1;
    assert!(with(&other, ledger_id()).is_none());
    assert!(with(&FOLD, id("l_9")).is_none());
}
