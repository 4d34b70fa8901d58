//! Merge is set union: commutative, associative, idempotent, and nothing that is said depends on the order of arrival.

use std::{collections::BTreeSet, sync::Arc};

use bloomdue_core::ledger::{
    Ledger,
    entry::Entry,
    id::{EntryId, Id},
};
use proptest::prelude::*;

use crate::make::{Dice, any_draft, entry, ledger_id, ledger_of, name, note, reworded, said, take_back, takes_back};

/// Two names that disagree, one that settles them, a take-back of one, and a kind from a later version that replaces.
fn five() -> [Arc<Entry>; 5] {
    let first = entry("d_1", 1, name("b_1", "white", &[]));
    let other = entry("d_2", 1, name("b_1", "cream", &[]));
    let settled = entry("d_3", 1, name("b_1", "ivory", &[first.id, other.id]));
    let back = entry("d_2", 2, take_back("b_1", settled.id));
    let later = reworded(&entry("d_1", 2, name("b_1", "white again", &[other.id])), "\"v\":1", "\"v\":9");
    [first, other, settled, back, later]
}

fn merge(one: &Ledger, other: &Ledger) -> Ledger {
    let mut both = one.clone();
    for entry in other.arrived() {
        both.insert(entry.clone());
    }
    both
}

#[test]
fn union_of_every_three_subsets_of_five_entries() {
    let five = five();
    let of_bits = |bits: usize| {
        let chosen = five.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1);
        ledger_of(chosen.map(|(_, entry)| entry))
    };
    let ledgers: Vec<Ledger> = (0..32).map(of_bits).collect();
    let saids: Vec<_> = ledgers.iter().map(said).collect();
    let mut n_merged = 0;
    for (a, one) in ledgers.iter().enumerate() {
        assert_eq!(said(&merge(one, one)), saids[a], "twice the same, {a}");
        for (b, other) in ledgers.iter().enumerate() {
            let both = merge(one, other);
            assert_eq!(said(&both), saids[a | b], "{a} and {b}");
            for (c, third) in ledgers.iter().enumerate() {
                let left = merge(&both, third);
                assert_eq!(left.ids(), ledgers[a | b | c].ids(), "{a}, {b} and {c}");
                // The other way round, and the other way grouped.
                let right = merge(third, &merge(other, one));
                assert_eq!(left.digest(), right.digest(), "{a}, {b} and {c}");
                n_merged += 1;
            }
        }
    }
    assert_eq!(n_merged, 32 * 32 * 32);
}

#[test]
fn a_disagreement_is_settled_by_what_names_both_and_comes_back_when_that_is_taken_back() {
    let [first, other, settled, back, _] = five();
    let heads = |entries: &[&Arc<Entry>]| {
        let ledger = ledger_of(entries.iter().copied());
        let heads = ledger.heads(crate::make::id("b_1"), "bulb-name", "own");
        let mut heads: Vec<_> = heads.iter().map(|entry| entry.id).collect();
        heads.sort_unstable();
        heads
    };
    let mut both = [first.id, other.id];
    both.sort_unstable();
    assert_eq!(heads(&[&first, &other]), both);
    assert_eq!(heads(&[&first, &other, &settled]), [settled.id]);
    // What was taken back replaces nothing any more: undoing a slip brings back what stood before it.
    assert_eq!(heads(&[&first, &other, &settled, &back]), both);
    // A take-back can be taken back.
    let again = entry("d_3", 2, take_back("b_1", back.id));
    assert_eq!(heads(&[&first, &other, &settled, &back, &again]), [settled.id]);
    // The target of a take-back may arrive after it.
    assert_eq!(heads(&[&back, &settled, &other, &first]), heads(&[&first, &other, &settled, &back]));
}

/// The rule read off its words, over all entries and without any index, in rounds until nothing changes: an entry is not
/// taken back for a subject once everything that could take it back is taken back itself, and taken back once one thing
/// is known not to be. Gone is what an entry that is not taken back names, of the same kind or a take-back.
struct Oracle<'a> {
    entries: &'a [Arc<Entry>],
}

impl Oracle<'_> {
    fn names(by: &Entry, target: &Entry, subject: Id) -> bool {
        let (by, of) = (&by.envelope, &target.envelope);
        by.supersedes.contains(&target.id)
            && (by.kind == of.kind || by.kind == "take-back")
            && by.about.contains(&subject)
            && of.about.contains(&subject)
    }

    /// Ids of the entries that are gone for a subject.
    fn gone(&self, subject: Id) -> Vec<EntryId> {
        let mut taken_back: Vec<Option<bool>> = vec![None; self.entries.len()];
        loop {
            let before = taken_back.clone();
            for (at, target) in self.entries.iter().enumerate() {
                let by = self
                    .entries
                    .iter()
                    .zip(&before)
                    .filter(|(by, _)| by.envelope.kind == "take-back" && Self::names(by, target, subject));
                let by: Vec<Option<bool>> = by.map(|(_, back)| *back).collect();
                if by.contains(&Some(false)) {
                    taken_back[at] = Some(true);
                } else if by.iter().all(|back| *back == Some(true)) {
                    taken_back[at] = Some(false);
                }
            }
            if before == taken_back {
                break;
            }
        }
        let is_gone = |target: &&Arc<Entry>| {
            let mut all = self.entries.iter().zip(&taken_back);
            all.any(|(by, back)| *back == Some(false) && Self::names(by, target, subject))
        };
        let gone = self.entries.iter().filter(is_gone);
        gone.map(|entry| entry.id).collect()
    }
}

/// Every way of asking gives what the oracle says, for every entry and everything it is about.
fn check_standing(entries: &[Arc<Entry>], ledger: &Ledger) -> Result<(), TestCaseError> {
    let oracle = Oracle { entries };
    let mut decisions = ledger.decisions();
    for subject in ledger.subjects() {
        let gone = oracle.gone(subject);
        for entry in entries.iter().filter(|e| e.envelope.about.contains(&subject)) {
            let stands = !gone.contains(&entry.id);
            prop_assert_eq!(ledger.is_in_force(entry, subject), stands);
            prop_assert_eq!(decisions.is_in_force(entry, subject), stands);
        }
        let standing: BTreeSet<EntryId> = ledger.in_force(subject).iter().map(|e| e.id).collect();
        let expected = entries
            .iter()
            .filter(|entry| entry.envelope.about.contains(&subject) && !takes_back(entry) && !gone.contains(&entry.id));
        prop_assert_eq!(standing, expected.map(|entry| entry.id).collect());
    }
    for entry in entries {
        let ends = entry.envelope.about.iter().any(|id| !ledger.is_in_force(entry, *id));
        prop_assert_eq!(!ledger.successors(entry).is_empty(), ends);
    }
    Ok(())
}

fn many(seed: u64, n: usize) -> Vec<Arc<Entry>> {
    let mut dice = Dice::new(seed);
    let mut ledger = Ledger::new(ledger_id());
    let devices = ["d_1", "d_2", "d_3"];
    let mut lines = [0; 3];
    for _ in 0..n {
        let at = dice.below(3);
        // Now and then a number is left out, or used twice: a gap, and a cloned device.
        lines[at] += if dice.often(10) { 2 } else { 1 } - u64::from(lines[at] > 0 && dice.often(5));
        let draft = any_draft(&mut dice, &ledger);
        let mut made = entry(devices[at], lines[at], draft);
        if dice.often(10) && !takes_back(&made) {
            made = reworded(&made, "\"v\":1", "\"v\":2");
        }
        ledger.insert(made);
    }
    ledger.arrived().to_vec()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn what_is_said_does_not_depend_on_the_order(seed: u64, n in 1_usize..60) {
        let entries = many(seed, n);
        let whole = said(&ledger_of(&entries));
        let mut shuffled = entries.clone();
        Dice::new(!seed).shuffle(&mut shuffled);
        prop_assert_eq!(&said(&ledger_of(&shuffled)), &whole);
        let (one, other) = shuffled.split_at(n / 3);
        let merged = merge(&ledger_of(other), &ledger_of(one));
        prop_assert_eq!(&said(&merge(&merged, &merged)), &whole);
    }

    #[test]
    fn what_stands_is_what_the_rule_says_in_any_order(seed: u64, n in 2_usize..60) {
        let entries = many(seed, n);
        check_standing(&entries, &ledger_of(&entries))?;
        let mut shuffled = entries.clone();
        Dice::new(!seed).shuffle(&mut shuffled);
        check_standing(&entries, &ledger_of(&shuffled))?;
        // Entry by entry, asked in between: nothing that was decided before is kept too long.
        let mut ledger = Ledger::new(ledger_id());
        for (at, entry) in shuffled.iter().enumerate() {
            ledger.insert(entry.clone());
            if at % 7 == 0 {
                check_standing(&shuffled[..=at], &ledger)?;
            }
        }
    }
}

#[test]
fn an_entry_of_another_ledger_is_not_taken() {
    let mine = entry("d_1", 1, note("b_1", "mine"));
    let other = reworded(&mine, ledger_id().as_str(), "l_2");
    let mut ledger = ledger_of([&mine]);
    assert!(!ledger.insert(other));
    assert_eq!(ledger.len(), 1);
}
