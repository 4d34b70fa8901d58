//! How many scapes bulbs of a size may be expected to bring: what the trade expects, beside what this nursery's own bulbs did.
//!
//! The trade's expectation is of sellers' tables for large-flowered kinds ([`Claim::ScapesBySize`]); a trial measured 1.5 to 1.8
//! buds across all of 22 to 30 cm, so sizes tell less than the tables say. A cycle of a bulb here counts once it showed a
//! scape or ended blind, with the last circumference that was measured by then, or the first one after.

use serde::Serialize;

use crate::{
    calendar::Date,
    evidence::{Interval, Level, Share, wilson},
    ledger::{
        Ledger,
        body::{Body, Measured},
    },
    nursery::{Bulb, State},
    published::Claim,
};

/// A trade grade with what sellers expect of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Expected {
    /// From this circumference, mm.
    pub from_mm: i64,
    /// To below this one, mm.
    pub to_mm: i64,
    /// Fewest scapes.
    pub least: u32,
    /// Most.
    pub most: u32,
}

const fn grade(from_cm: i64, least: u32, most: u32) -> Expected {
    Expected { from_mm: from_cm * 10, to_mm: from_cm * 10 + 20, least, most }
}

/// Who says so.
pub const CLAIM: Claim = Claim::ScapesBySize;

/// What the trade expects, by grade.
pub const TRADE: [Expected; 7] = [
    grade(22, 0, 1),
    grade(24, 1, 1),
    grade(26, 1, 2),
    grade(28, 1, 2),
    grade(30, 2, 2),
    grade(32, 2, 3),
    grade(34, 3, 3),
];

/// One size with what is expected of it and what was seen here.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OfSize {
    /// From this circumference, mm.
    pub from_mm: i64,
    /// To below this one, mm.
    pub to_mm: i64,
    /// What the trade expects; nothing for sizes that its tables leave out.
    pub expected: Option<Expected>,
    /// Growth cycles of this nursery's bulbs that count.
    pub n_cycles: u32,
    /// Cycles with at least one scape.
    pub n_with: u32,
    /// Scapes of all of them.
    pub n_scapes: u32,
    /// Where the share with at least one scape lies, 19 times in 20; nothing without a cycle.
    pub with: Option<Interval>,
    /// Bulbs of this size that are here now.
    pub n_here: u32,
}

/// Every size that the trade grades or this nursery has, in order.
pub fn by_size(ledger: &Ledger, state: &State) -> Vec<OfSize> {
    let mut all: Vec<OfSize> = TRADE.iter().map(|expected| of(expected.from_mm, Some(*expected))).collect();
    for bulb in state.bulbs.values() {
        let sizes = sizes(ledger, bulb);
        for cycle in &bulb.cycles {
            let n = cycle.scapes().count() as u32;
            let until = cycle.ended.or_else(|| cycle.flowering().over);
            if n == 0 && !cycle.blind() {
                continue;
            }
            let Some(mm) = size_by(&sizes, until) else {
                continue;
            };
            let size = at(&mut all, mm);
            size.n_cycles += 1;
            size.n_with += u32::from(n > 0);
            size.n_scapes += n;
        }
        if bulb.is_here() && bulb.size_mm() > 0 {
            at(&mut all, bulb.size_mm()).n_here += 1;
        }
    }
    for size in &mut all {
        let share = Share::new(size.n_with, size.n_cycles).ok().filter(|share| share.of() > 0);
        size.with = share.map(|share| wilson::interval(share, Level::PCT_95));
    }
    all.sort_by_key(|size| size.from_mm);
    all
}

fn of(from_mm: i64, expected: Option<Expected>) -> OfSize {
    let to_mm = from_mm + 20;
    OfSize { from_mm, to_mm, expected, n_cycles: 0, n_with: 0, n_scapes: 0, with: None, n_here: 0 }
}

/// The size class of a circumference, made where there was none.
fn at(all: &mut Vec<OfSize>, mm: i64) -> &mut OfSize {
    let from_mm = mm.div_euclid(20) * 20;
    let known = all.iter().position(|size| size.from_mm == from_mm);
    let known = known.unwrap_or_else(|| {
        all.push(of(from_mm, None));
        all.len() - 1
    });
    &mut all[known]
}

/// Circumferences of a bulb by day, mm; of a range the middle.
fn sizes(ledger: &Ledger, bulb: &Bulb) -> Vec<(Date, i64)> {
    let entries = bulb.in_force(ledger);
    let measured = entries.iter().filter_map(|entry| match &entry.body {
        Body::Measure(measure) if measure.what == Measured::Circumference => {
            let mm = measure.mm?;
            Some((entry.envelope.happened.date(), (mm + measure.mm_to.unwrap_or(mm)) / 2))
        }
        _ => None,
    });
    measured.collect()
}

/// The last size by a day, else the first.
fn size_by(sizes: &[(Date, i64)], until: Option<Date>) -> Option<i64> {
    let by_then = sizes.iter().rev().find(|(day, _)| until.is_none_or(|until| *day <= until));
    by_then.or(sizes.first()).map(|(_, mm)| *mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::World;

    /// Grades and scapes as sellers' tables have them (trade facts, 1.5): 22/24 1, sometimes none; 30/32 2; 34/36 3.
    #[test]
    fn grades_follow_each_other_and_bring_no_fewer() {
        for pair in TRADE.windows(2) {
            assert_eq!(pair[0].to_mm, pair[1].from_mm);
            assert!(pair[0].least <= pair[1].least && pair[0].most <= pair[1].most);
        }
        assert_eq!((TRADE[0].least, TRADE[0].most, TRADE[4].least, TRADE[6].most), (0, 1, 2, 3));
    }

    #[test]
    fn own_cycles_stand_beside_the_trade() {
        let world = World::of(
            "-9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1 size=265
             -9 mia bulb b_2 lo_1 size=270
             -9 mia bulb b_3 lo_1 size=275
             -9 mia bulb b_4 lo_1 size=185
             0 mia cycle-began b_1,b_2,b_3,b_4
             20 mia look b_1 sh_1/scape/first-flower-open sh_2/scape/scape-in-sight
             20 mia look b_2 clear
             21 mia cycle-ended b_2
             22 mia look b_2 clear
             20 mia look b_3 clear",
        );
        let all = by_size(&world.ledger, &world.state());
        let of = |from_mm: i64| all.iter().find(|size| size.from_mm == from_mm).copied().unwrap();
        // Two scapes of one, none of the blind one; the third may still come.
        let ours = of(260);
        assert_eq!((ours.n_cycles, ours.n_with, ours.n_scapes, ours.n_here), (2, 1, 2, 3));
        assert_eq!(ours.expected, Some(TRADE[2]));
        // Wilson 95 % of 1 of 2: 0.0945 to 0.9055 (reference 01's method).
        let interval = ours.with.unwrap();
        assert!((interval.lower - 0.0945).abs() < 1e-3 && (interval.upper - 0.9055).abs() < 1e-3);
        assert_eq!((of(180).expected, of(180).n_here, of(180).with), (None, 1, None));
        assert!(all.windows(2).all(|pair| pair[0].from_mm < pair[1].from_mm));
    }
}
