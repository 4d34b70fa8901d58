//! The state kept between starts: whenever one is used, it is what folding every stored entry gives. Two tabs save,
//! take files in, move rows into blocks and keep states at any moment, in any order, with faults.

use bloomdue_core::{
    calendar::{Date, Happened},
    ledger::{
        Ledger,
        body::Body,
        entry::Draft,
        id::{EntryId, Id},
        shelf::{self, BLOCKS_KEY, Form, LINE_KEY, MadeOf, Store},
    },
    nursery::{
        State,
        kept::{FOLD, Keeping, resume},
    },
};

use crate::{
    disk::{Disk, Durability, Tab, Trouble, fresh},
    make::{DAY_MS, Dice, NOON_MS, entry, id, ledger_id},
};

const BULBS: [&str; 6] = ["b_1", "b_2", "b_3", "b_4", "b_5", "b_6"];

fn body(kind: &str, json: &str) -> Body {
    let body = Body::read(kind, 1, json);
    assert_ne!(body, Body::Unknown, "{kind} {json}");
    body
}

/// One thing that a nursery writes down on this day, or late.
fn any_of_life(dice: &mut Dice, ledger: &Ledger, day: i64) -> Draft {
    let bulb = BULBS[dice.below(BULBS.len())];
    let day = if dice.often(4) {
        day - dice.below(20) as i64
    } else {
        day
    };
    let date = Date::new(2027, 1, 1).unwrap().add_days(day).unwrap();
    let minute = dice.below(1440) as u16;
    let when = if dice.often(70) {
        Happened::at(date, minute, 60).unwrap()
    } else {
        Happened::on(date)
    };
    let draft = |about: &str, kind: &str, json: &str| {
        Draft::new(vec![id(about)], when.clone(), body(kind, json))
    };
    let heads = |slot: &str| -> Vec<EntryId> {
        let heads = ledger.heads(id(bulb), "bulb-name", slot);
        heads.iter().map(|entry| entry.id).collect()
    };
    let shoot = format!("sh_{}{}", &bulb[2..], dice.below(3));
    match dice.below(24) {
        0 => draft(bulb, "bulb", r#"{"lot":"lo_1"}"#),
        1 => {
            let name = format!(r#"{{"name":"{}"}}"#, dice.below(50));
            let mut named = draft(bulb, "bulb-name", &name);
            named.slot = ["own", "tag"][dice.below(2)].into();
            if dice.often(70) {
                named.supersedes = heads(&named.slot);
            }
            named
        }
        2 => {
            let standing = ledger.standing(id(bulb));
            let picked = standing.len().saturating_sub(1 + dice.below(3));
            match standing.get(picked) {
                Some(entry) => {
                    let mut back = draft(bulb, "take-back", "{}");
                    back.about = entry.envelope.about.clone();
                    back.supersedes = vec![entry.id];
                    back
                }
                None => draft(bulb, "note", r#"{"text":"nothing yet"}"#),
            }
        }
        3 => draft("pl_1", "place", r#"{"name":"Bench 2","kind":"bench"}"#),
        4 => draft("pl_2", "place", r#"{"name":"Cellar","kind":"cellar"}"#),
        5 => draft("lo_1", "lot", r#"{"name":"Crate 1","cultivar":"Red"}"#),
        6 => draft("pl_1", "bench-order", r#"{"bulbs":["b_2","b_1"]}"#),
        7 => draft(bulb, "moved", r#"{"place":"pl_1"}"#),
        8 => draft(bulb, "potted", r#"{"container":"co_1","position":2}"#),
        9 => draft(bulb, "cycle-began", "{}"),
        10 => draft(
            bulb,
            "proof",
            &format!(r#"{{"shoot":"{shoot}","kind":"scape","by":"seen"}}"#),
        ),
        11 => draft(bulb, "died", r#"{"cause":"rot"}"#),
        12 | 13 => {
            let mut care = draft(bulb, "watered", "{}");
            care.about = BULBS[..1 + dice.below(6)].iter().map(|b| id(b)).collect();
            care
        }
        14 => {
            let mut sweep = draft(bulb, "sweep", r#"{"place":"pl_1"}"#);
            sweep.about = BULBS[2..].iter().map(|b| id(b)).collect();
            sweep
        }
        15 => draft(
            bulb,
            "look",
            r#"{"neck":"clear","leaves":"none","way":"each"}"#,
        ),
        16 => {
            let mut of_two = draft(bulb, "note", r#"{"text":"by the door"}"#);
            of_two.about.push(id("pl_1"));
            of_two
        }
        17 => draft(bulb, "postponed", r#"{"job":"walk","until":"2027-05-01"}"#),
        18 => draft(bulb, "inspection", r#"{"findings":["firm"],"watch":true}"#),
        19 => draft(
            "ru_1",
            "run",
            r#"{"trial":"tr_1","ordinal":1,"start":"2027-01-03","look_interval_days":4}"#,
        ),
        20 if dice.often(4) => same_bulb(dice, when.clone()),
        _ => {
            let stage = ["shoot", "scape in sight", "spathe split"][dice.below(3)];
            let kind = ["unknown", "leaf", "scape"][dice.below(3)];
            let look = format!(
                r#"{{"neck":"shoots","leaves":"count","n_leaves":3,"way":"each","walk":"pl_1","shoots":[{{"id":"{shoot}","ordinal":1,"side":"left","kind":"{kind}","stage":"{stage}","height_mm":40}}]}}"#
            );
            draft(bulb, "look", &look)
        }
    }
}

/// That two bulbs are one, said about one of them or about both.
fn same_bulb(dice: &mut Dice, when: Happened) -> Draft {
    let (bulb, to) = (
        BULBS[dice.below(BULBS.len())],
        BULBS[dice.below(BULBS.len())],
    );
    let mut about = vec![id(bulb)];
    if dice.often(50) {
        about.push(id(to));
    }
    about.dedup();
    Draft::new(about, when, body("same-as", &format!(r#"{{"to":"{to}"}}"#)))
}

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
    resume(&kept.state, ledger_id(), &kept.later).map(|resumed| resumed.state)
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
        Self {
            dice: Dice::new(seed),
            disk,
            tabs: [one.clone(), one],
            other: (theirs, other),
            day: 0,
            n_forms: 0,
        }
    }

    fn form(&mut self, ledger: &Ledger, n: usize) -> Form {
        self.n_forms += 1;
        let day = self.day;
        let drafts = (0..n)
            .map(|_| any_of_life(&mut self.dice, ledger, day))
            .collect();
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
                self.tabs[at]
                    .take_in(&mut self.disk, &file, now_ms)
                    .unwrap();
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
                self.tabs[at].catch_up(&self.disk).unwrap();
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
        assert_eq!(
            resumed(&world.disk),
            Some(whole(&world.disk)),
            "seed {seed}"
        );
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
