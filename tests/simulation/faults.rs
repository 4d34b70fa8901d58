//! Faults of storage: every operation that can fail does, once. All or nothing, and a second try completes.

use std::collections::BTreeSet;

use bloomdue_core::{
    calendar::Happened,
    handover::rehearse,
    ledger::{
        Problem,
        body::{Body, Photo},
        entry::Draft,
        shelf::{Attachment, Form, Op, Store, sample},
    },
};

use crate::{
    disk::{Disk, Durability, Loss, Tab, Trouble, fresh, today},
    make::{DAY_MS, Dice, NOON_MS, happened, id, name, note, said},
};

fn form(n: usize) -> Form {
    form_named("f_1", n)
}

fn form_named(form: &str, n: usize) -> Form {
    let drafts = (0..n).map(|at| note("b_1", &format!("{form} {at}"))).collect();
    Form::new(id(form), id("p_1"), drafts)
}

/// A photo's draft and its bytes.
pub(crate) fn photo(seed: u64, when: Happened) -> (Draft, Attachment, Attachment) {
    let mut dice = Dice::new(seed);
    let mut bytes = || (0..8).flat_map(|_| dice.seed()).collect::<Vec<u8>>();
    let (large, small) = (Attachment::of(bytes()), Attachment::of(bytes()));
    let body = Photo {
        hash: large.hash(),
        thumb: Some(small.hash()),
        media: "image/jpeg".into(),
        n_bytes: large.bytes().len() as u64,
        width_px: 1600,
        height_px: 1200,
        drawn: false,
    };
    (Draft::new(vec![id("b_1")], when, Body::Photo(body)), large, small)
}

fn photo_form(form: &str, seed: u64) -> Form {
    let (draft, large, small) = photo(seed, happened());
    let mut form = form_named(form, 2);
    form.drafts.push(draft);
    form.attachments = vec![large];
    form.thumbs = vec![small];
    form.draft_key = Some("walk".into());
    form
}

fn opened(device: &str) -> (Disk, Tab) {
    let mut disk = Disk::default();
    let tab = Tab::open(&mut disk, fresh(id(device), NOON_MS)).unwrap();
    (disk, tab)
}

/// Opens what stands on the disk now.
fn reopened(disk: &Disk) -> Tab {
    let mut disk = disk.clone();
    (disk.fail_at, disk.quota_bytes) = (None, None);
    Tab::open(&mut disk, fresh(id("d_9"), NOON_MS)).unwrap()
}

/// Does `work` on copies of a disk, failing at the first operation, the second and so on, until it goes through. After
/// each failure `kept` looks at what is left; then the work is done again, and the end has to be the same every time.
fn failing_at_every_operation(
    disk: &Disk,
    tab: &Tab,
    work: impl Fn(&mut Disk, &mut Tab) -> Result<(), Trouble>,
    kept: impl Fn(&Disk),
) -> usize {
    let mut whole = disk.clone();
    work(&mut whole, &mut tab.clone()).unwrap();
    for n in 1.. {
        let (mut disk, mut tab) = (disk.clone(), tab.clone());
        disk.fail_at = Some(disk.n_ops + n);
        match work(&mut disk, &mut tab) {
            Err(Trouble::Aborted) => kept(&disk),
            Ok(()) => return n - 1,
            Err(other) => panic!("operation {n}: {other:?}"),
        }
        disk.fail_at = None;
        work(&mut disk, &mut tab).unwrap();
        assert_eq!(disk.rows, whole.rows, "after a second try, operation {n}");
        assert!(reopened(&disk).problems.is_empty(), "operation {n}");
    }
    0
}

#[test]
fn setting_up_fails_at_every_operation() {
    let mut n_failed = 0;
    for n in 1..=2 {
        let mut disk = Disk::default();
        disk.fail_at = Some(n);
        assert!(matches!(Tab::open(&mut disk, fresh(id("d_1"), NOON_MS)), Err(Trouble::Aborted)));
        assert!(disk.rows.is_empty());
        n_failed += 1;
        disk.fail_at = None;
        let tab = Tab::open(&mut disk, fresh(id("d_1"), NOON_MS)).unwrap();
        assert_eq!(tab.line, opened("d_1").1.line);
    }
    assert_eq!(n_failed, 2);
}

#[test]
fn saving_with_a_photo_fails_at_every_operation() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    disk.transaction(Durability::Relaxed, &[Op::put(Store::Drafts, "walk", &b"draft"[..])]).unwrap();
    let form = photo_form("f_2", 1);
    let n = failing_at_every_operation(
        &disk,
        &tab,
        |disk, tab| tab.save(disk, &form, NOON_MS).map(|_| ()),
        |left| {
            assert_eq!(left.rows, disk.rows, "half a save is on the disk");
            assert!(left.row(Store::Drafts, "walk").is_some(), "the draft is gone");
        },
    );
    assert_eq!(n, 7, "three entries, a photo, a small picture, the draft, the line row");
}

#[test]
fn compaction_fails_at_every_operation() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(505), NOON_MS).unwrap();
    let before = said(&tab.ledger);
    let n = failing_at_every_operation(
        &disk,
        &tab,
        |disk, tab| {
            tab.compact(disk)?;
            assert_eq!((disk.keys(Store::Blocks).len(), disk.keys(Store::Tail).len()), (1, 5));
            Ok(())
        },
        |left| assert_eq!(left.rows, disk.rows, "half a compaction is on the disk"),
    );
    assert_eq!(n, 502, "a block, five hundred rows, the list");
    tab.compact(&mut disk).unwrap();
    assert_eq!(said(&reopened(&disk).ledger), before);
}

#[test]
fn taking_in_fails_at_every_operation() {
    let (mut theirs, mut other) = opened("d_2");
    other.save(&mut theirs, &form_named("f_3", 700), NOON_MS).unwrap();
    for seed in 0..3 {
        other.save(&mut theirs, &photo_form(&format!("f_{seed}x"), seed), NOON_MS).unwrap();
    }
    let file = other.file(&theirs, true);
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    let n = failing_at_every_operation(
        &disk,
        &tab,
        |disk, tab| tab.take_in(disk, &file, NOON_MS).map(|_| ()),
        |left| {
            assert_eq!(reopened(left).ledger.digest(), tab.ledger.digest(), "half a file was taken in");
            for store in [Store::Meta, Store::Tail, Store::Blocks] {
                assert_eq!(left.all(store), disk.all(store));
            }
        },
    );
    assert_eq!(n, 6 + 5, "six photos and small pictures; two blocks, the list, the line row, the row of files");
    let preview = tab.take_in(&mut disk, &file, NOON_MS).unwrap();
    assert_eq!((preview.new.len(), preview.new_photos.len(), preview.whole), (709, 6, true));
    let again = tab.take_in(&mut disk, &file, NOON_MS).unwrap();
    assert_eq!((again.new.len(), again.n_known, again.n_known_photos), (0, 709, 6));
    let here = disk.photos();
    assert_eq!((here.photos, here.thumbs), (theirs.photos().photos, theirs.photos().thumbs));
    assert_eq!(reopened(&disk).ledger.len(), 712);
}

#[test]
fn a_full_disk_keeps_all_or_nothing() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    let n_bytes: usize = disk.rows.values().map(|row| row.len()).sum();
    let mut n_refused = 0;
    for room in (0..4000).step_by(37) {
        let (mut disk, mut tab) = (disk.clone(), tab.clone());
        let before = disk.rows.clone();
        disk.quota_bytes = Some(n_bytes + room);
        match tab.save(&mut disk, &photo_form("f_2", 1), NOON_MS) {
            Ok(saved) => assert_eq!(saved.len(), 3),
            Err(Trouble::Full) => {
                n_refused += 1;
                assert_eq!(disk.rows, before);
            }
            Err(other) => panic!("{other:?}"),
        }
    }
    assert!((10..100).contains(&n_refused), "{n_refused}");
}

#[test]
fn a_save_whose_answer_was_lost_is_done_once() {
    for loss in [Loss::Before, Loss::After] {
        for others in [false, true] {
            let (mut disk, mut tab) = opened("d_1");
            let mut other = tab.clone();
            tab.save(&mut disk, &form(3), NOON_MS).unwrap();
            if others {
                other.save(&mut disk, &form_named("f_2", 2), NOON_MS).unwrap();
            }
            disk.loss = Some(loss);
            let saved = tab.save(&mut disk, &photo_form("f_3", 1), NOON_MS).unwrap();
            assert_eq!(saved.len(), 3, "{loss:?}");
            let n = if others { 8 } else { 6 };
            let again = reopened(&disk);
            assert_eq!((tab.ledger.len(), again.ledger.len()), (n, n), "{loss:?}, others {others}");
            assert_eq!(tab.ledger.digest(), again.ledger.digest());
            assert_eq!(tab.line, again.line);
        }
    }
}

#[test]
fn a_file_whose_answer_was_lost_is_taken_in_once() {
    let (mut theirs, mut other) = opened("d_2");
    other.save(&mut theirs, &form_named("f_3", 70), NOON_MS).unwrap();
    let file = other.file(&theirs, false);
    for loss in [Loss::Before, Loss::After] {
        let (mut disk, mut tab) = opened("d_1");
        disk.loss = Some(loss);
        // Nobody knows whether it was; the grower asks again.
        assert!(matches!(tab.take_in(&mut disk, &file, NOON_MS), Err(Trouble::Lost)));
        tab.take_in(&mut disk, &file, NOON_MS).unwrap();
        assert_eq!((tab.ledger.len(), reopened(&disk).ledger.len()), (70, 70), "{loss:?}");
        assert_eq!(disk.keys(Store::Blocks).len(), 1, "{loss:?}: entries were written twice");
    }
}

#[test]
fn a_save_that_cannot_be_read_back_is_saved_all_the_same() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    disk.mute = true;
    tab.save(&mut disk, &form_named("f_2", 1), NOON_MS).unwrap();
    disk.mute = false;
    assert_eq!((tab.ledger.len(), reopened(&disk).ledger.len()), (4, 4));
}

#[test]
fn a_power_cut_loses_nothing_that_was_saved() {
    let (mut disk, mut tab) = opened("d_1");
    for n in 0..5 {
        tab.save(&mut disk, &form_named(&format!("f_{n}"), 2), NOON_MS).unwrap();
        disk.transaction(Durability::Relaxed, &[Op::put(Store::Drafts, "typing", &b"half a wo"[..])]).unwrap();
        disk.power_cut();
        assert!(disk.row(Store::Drafts, "typing").is_none());
        tab = reopened(&disk);
        assert_eq!(tab.ledger.len(), 2 * (n + 1));
    }
}

#[test]
fn two_tabs_with_500_saves_each_share_out_the_line_numbers() {
    let (mut disk, one) = opened("d_1");
    let mut tabs = [one.clone(), one];
    let mut dice = Dice::new(7);
    let mut left = [500, 500];
    while left != [0, 0] {
        let at = if left[0] == 0 || (left[1] > 0 && dice.often(50)) { 1 } else { 0 };
        left[at] -= 1;
        tabs[at].save(&mut disk, &form_named("f_1", 1), NOON_MS).unwrap();
        if dice.often(2) {
            tabs[dice.below(2)].compact(&mut disk).unwrap();
        }
    }
    let [mut one, mut other] = tabs;
    one.catch_up(&mut disk).unwrap();
    other.catch_up(&mut disk).unwrap();
    assert_eq!(said(&one.ledger), said(&other.ledger));
    assert_eq!(said(&one.ledger), said(&reopened(&disk).ledger));
    let lines: BTreeSet<u64> = one.ledger.arrived().iter().map(|e| e.envelope.line).collect();
    assert_eq!(lines, (1..=1000).collect());
    assert!(one.ledger.problems().is_empty());
}

#[test]
fn a_stale_tab_takes_in_only_what_is_still_new() {
    let (mut theirs, mut other) = opened("d_2");
    other.save(&mut theirs, &form(100), NOON_MS).unwrap();
    let file = other.file(&theirs, false);
    let (mut disk, mut one) = opened("d_1");
    let mut stale = one.clone();
    one.take_in(&mut disk, &file, NOON_MS).unwrap();
    stale.take_in(&mut disk, &file, NOON_MS).unwrap();
    assert_eq!((stale.ledger.len(), disk.keys(Store::Blocks).len()), (100, 1));
    assert_eq!(reopened(&disk).ledger.len(), 100);
}

#[test]
fn damaged_rows_are_listed_and_cost_only_what_stood_in_them() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(540), NOON_MS).unwrap();
    tab.compact(&mut disk).unwrap();
    let (mut young, mut tab) = opened("d_1");
    tab.save(&mut young, &form(40), NOON_MS).unwrap();
    for seed in 0..200 {
        let mut dice = Dice::new(seed);
        let stores = [Store::Meta, Store::Tail, Store::Blocks];
        // A young shelf has no blocks yet.
        let (disk, n, n_stores) = if seed % 2 == 0 { (&disk, 540, 3) } else { (&young, 40, 2) };
        let (mut disk, store) = (disk.clone(), stores[dice.below(n_stores)]);
        disk.damage(store, &mut dice).unwrap();
        let mut after = Tab::open(&mut disk, fresh(id("d_8"), NOON_MS)).unwrap();
        // A byte turned over inside a record still reads; hashing it again, when idle, finds it.
        let quiet = sample(&after.ledger, 0, usize::MAX);
        let lost = n - after.ledger.len();
        let told = !after.problems.is_empty() || !quiet.is_empty() || lost == 0;
        assert!(told, "seed {seed}: {store:?}, {lost} lost without a word");
        match store {
            Store::Tail => assert!(lost <= 1, "seed {seed}: {lost} lost"),
            Store::Meta => assert_eq!(lost, 0, "seed {seed}"),
            _ => {}
        }
        let lines: BTreeSet<_> = after.ledger.arrived().iter().map(|e| (e.envelope.device, e.envelope.line)).collect();
        let saved = after.save(&mut disk, &form_named("f_9", 1), NOON_MS).unwrap();
        let new = (saved[0].envelope.device, saved[0].envelope.line);
        assert!(!lines.contains(&new), "seed {seed}: line {new:?} used twice");
        let again = reopened(&disk).ledger;
        assert_eq!(again.digest(), after.ledger.digest(), "seed {seed}: a row was written over");
    }
}

#[test]
fn a_copied_device_is_flagged_nothing_is_lost_and_it_takes_a_new_name() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    let (mut copy, mut twin) = (disk.clone(), tab.clone());
    tab.save(&mut disk, &form_named("f_2", 1), NOON_MS).unwrap();
    twin.save(&mut copy, &form_named("f_3", 2), NOON_MS).unwrap();
    let preview = tab.take_in(&mut disk, &twin.file(&copy, true), NOON_MS).unwrap();
    let [Problem::SameLine { device, line: 4, entries }] = &preview.cloned[..] else { panic!("{:?}", preview.cloned) };
    assert_eq!((*device, entries.len(), tab.ledger.len()), (id("d_1"), 2, 6));
    // From here on it writes under a name of its own, after a restart too, and the copy goes on under the old one.
    let saved = tab.save(&mut disk, &form_named("f_4", 1), NOON_MS).unwrap();
    let renewed = saved[0].envelope.device;
    assert_ne!(renewed, id("d_1"));
    assert_eq!(saved[0].envelope.line, 1);
    let mut tab = reopened(&disk);
    let saved = tab.save(&mut disk, &form_named("f_5", 1), NOON_MS).unwrap();
    assert_eq!((saved[0].envelope.device, saved[0].envelope.line), (renewed, 2));
}

#[test]
fn the_greatest_line_under_ones_own_name_stops_nobody_from_recording() {
    let (mut disk, mut tab) = opened("d_1");
    tab.save(&mut disk, &form(3), NOON_MS).unwrap();
    let (mut copy, mut twin) = (disk.clone(), tab.clone());
    let mut line = twin.line.clone();
    line.line = 9_007_199_254_740_990;
    copy.transaction(Durability::Strict, &[line.put()]).unwrap();
    twin.save(&mut copy, &form_named("f_3", 1), NOON_MS).unwrap();
    // It was let in by an earlier version.
    let poisoned = copy.clone();
    tab.take_in(&mut disk, &twin.file(&copy, true), NOON_MS).unwrap();
    let saved = tab.save(&mut disk, &form_named("f_4", 2), NOON_MS).unwrap();
    assert_eq!(saved[1].envelope.line, 2);
    let mut tab = reopened(&poisoned);
    assert_eq!((tab.line.device, tab.line.line), (id("d_9"), 0));
    let mut disk = poisoned;
    disk.transaction(Durability::Strict, &[tab.line.put()]).unwrap();
    tab.save(&mut disk, &form_named("f_5", 1), NOON_MS).unwrap();
}

#[test]
fn a_preview_says_what_would_be_replaced_and_taken_back() {
    let (mut disk, mut tab) = opened("d_1");
    let mut mine = form(0);
    mine.drafts = vec![name("b_1", "white", &[]), note("b_2", "mine")];
    let mine = tab.save(&mut disk, &mine, NOON_MS).unwrap();
    let (mut theirs, mut other) = opened("d_2");
    other.take_in(&mut theirs, &tab.file(&disk, true), NOON_MS).unwrap();
    let mut change = form_named("f_2", 0);
    change.drafts = vec![
        name("b_1", "cream", &[mine[0].id]),
        crate::make::take_back("b_2", mine[1].id),
        // Another kind cannot replace, so this is not counted.
        {
            let mut draft = note("b_1", "claims too much");
            draft.supersedes = vec![mine[0].id];
            draft
        },
    ];
    other.save(&mut theirs, &change, NOON_MS).unwrap();
    let preview = tab.preview(&disk, &other.file(&theirs, true), NOON_MS).unwrap();
    let here = tab.ledger.arrived().to_vec();
    let found = rehearse(tab.ledger.id(), here, preview.new.clone(), today());
    let ended = found.endings.iter();
    let ended: Vec<_> = ended.map(|e| (e.kind.as_str(), e.n_taken_back, e.n_replaced)).collect();
    assert_eq!(ended, [("bulb-name", 0, 1), ("note", 1, 0)]);
    assert_eq!((preview.new.len(), preview.n_known), (3, 2));
    assert!(preview.gaps.is_empty() && preview.cloned.is_empty() && preview.whole);
}

#[test]
fn a_file_from_a_phone_a_year_ahead_does_not_pull_this_one_forward() {
    let (mut theirs, mut other) = opened("d_2");
    let ahead_ms = NOON_MS + 400 * DAY_MS;
    other.save(&mut theirs, &form(70), ahead_ms).unwrap();
    let (mut disk, mut tab) = opened("d_1");
    let preview = tab.take_in(&mut disk, &other.file(&theirs, true), NOON_MS).unwrap();
    assert_eq!(preview.suspects.len(), 70);
    let mut tab = reopened(&disk);
    assert!(tab.line.clock().last().ms <= NOON_MS + DAY_MS);
    let saved = tab.save(&mut disk, &form_named("f_2", 1), NOON_MS).unwrap();
    assert_eq!(saved[0].envelope.hlc.ms, NOON_MS);
    // An hour ahead is ordinary, and what is written after reading it comes after it.
    other.save(&mut theirs, &form_named("f_3", 1), NOON_MS + 3_600_000).unwrap();
    tab.take_in(&mut disk, &other.file(&theirs, true), NOON_MS).unwrap();
    let saved = tab.save(&mut disk, &form_named("f_4", 1), NOON_MS).unwrap();
    assert_eq!(saved[0].envelope.hlc.ms, NOON_MS + 3_600_000);
}
