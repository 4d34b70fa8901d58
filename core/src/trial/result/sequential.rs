//! The evidence as it grew, which may be looked at any day: over size classes in the order of allotment,
//! and within the try look by look.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::{
    calendar::Date,
    evidence::{Share, e_process, logrank_e_process},
    ledger::id::Id,
    nursery::{Bulb, State, reach::Verdict},
    trial::standing::{Counting, Counts, Design, GroupStanding, pairs},
};

/// The evidence after one size class.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AfterBlock {
    /// The run it was drawn in.
    pub run: Id,
    /// The size class, from 0.
    pub block: u32,
    /// In time in it, group a.
    pub a: Share,
    /// In time in it, group b.
    pub b: Share,
    /// The evidence so far: 1 says nothing, 20 is what 1 in 20 false alarms allow.
    pub evidence: f64,
    /// 1 ÷ the largest so far, at most 1.
    pub anytime_p: f64,
}

/// The evidence after one look that saw both groups on the same day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AfterLook {
    /// The day.
    pub day: Date,
    /// Newly with the stage, of those looked at and without it until then, group a.
    pub a: Share,
    /// The same, group b.
    pub b: Share,
    /// The evidence so far.
    pub evidence: f64,
    /// 1 ÷ the largest so far, at most 1.
    pub anytime_p: f64,
}

/// The evidence of one pair of groups as it grew.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Growing {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Share in time, size class by size class in the order of allotment, up to the first that is not all decided.
    pub blocks: Vec<AfterBlock>,
    /// Which group is faster, look by look.
    pub looks: Vec<AfterLook>,
}

/// The evidence of every pair of a drawn try. Whole containers have neither process.
pub(super) fn growing(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Vec<Growing> {
    if design.counting().by_container() {
        return Vec::new();
    }
    let of = |(a, b): (usize, usize)| {
        let (a, b) = (groups.get(a)?, groups.get(b)?);
        let resolved = resolved(design.run, a, b, design.counting());
        Some(Growing { a: a.group, b: b.group, blocks: over_blocks(&resolved), looks: over_looks(design, state, a, b) })
    };
    pairs(groups, design.rule.family).into_iter().filter_map(of).collect()
}

/// The size classes of one try that are all decided, up to the first that is not. What left or is missing never will
/// be; it is out of its class, as it is out of the share.
pub(super) fn resolved(
    run: Id,
    a: &GroupStanding,
    b: &GroupStanding,
    counting: Counting,
) -> Vec<(Id, u32, e_process::Block)> {
    let mut classes: BTreeMap<u32, [Counts; 2]> = BTreeMap::new();
    for (at, group) in [a, b].into_iter().enumerate() {
        for unit in &group.units {
            let counts = &mut classes.entry(unit.block).or_default()[at];
            *counts = counts.plus(counting.of_unit(unit));
        }
    }
    let mut all = Vec::new();
    for (block, [a, b]) in classes {
        if a.n_undecided() + b.n_undecided() > 0 {
            break;
        }
        if let (Ok(a), Ok(b)) = (a.share(counting.died), b.share(counting.died)) {
            all.push((run, block, e_process::Block { a, b }));
        }
    }
    all
}

/// The e-process over size classes, of one try or of several in order.
pub(super) fn over_blocks(resolved: &[(Id, u32, e_process::Block)]) -> Vec<AfterBlock> {
    let blocks: Vec<e_process::Block> = resolved.iter().map(|(.., block)| *block).collect();
    let grown = e_process::run(&blocks, e_process::Priors::DEFAULT).unwrap_or_default();
    let grown = resolved.iter().zip(grown);
    grown
        .map(|((run, block, counts), evidence)| AfterBlock {
            run: *run,
            block: *block,
            a: counts.a,
            b: counts.b,
            evidence: evidence.running,
            anytime_p: evidence.anytime_p,
        })
        .collect()
}

/// On each day that saw both groups: of the bulbs looked at and without the stage until then, how many now have it.
fn over_looks(design: &Design<'_>, state: &State, a: &GroupStanding, b: &GroupStanding) -> Vec<AfterLook> {
    let mut days: BTreeMap<Date, [(u32, u32); 2]> = BTreeMap::new();
    for (at, group) in [a, b].into_iter().enumerate() {
        let bulbs = group.units.iter().flat_map(|unit| &unit.bulbs);
        for bulb in bulbs.filter_map(|bulb| state.bulb(bulb)) {
            for (day, with) in at_risk(design, bulb) {
                let seen = &mut days.entry(day).or_default()[at];
                seen.0 += u32::from(with);
                seen.1 += 1;
            }
        }
    }
    let share = |(with, of): (u32, u32)| Share::new(with, of).ok();
    let seen: Vec<(Date, logrank_e_process::Look)> = days
        .into_iter()
        .filter(|(_, [a, b])| a.1 > 0 && b.1 > 0)
        .filter_map(|(day, [a, b])| {
            let look = logrank_e_process::Look { a: share(a)?, b: share(b)? };
            Some((day, look))
        })
        .collect();
    let looks: Vec<logrank_e_process::Look> = seen.iter().map(|(_, look)| *look).collect();
    let grown = logrank_e_process::run(&looks).unwrap_or_default();
    let grown = seen.iter().zip(grown);
    grown
        .map(|((day, look), evidence)| AfterLook {
            day: *day,
            a: look.a,
            b: look.b,
            evidence: evidence.running,
            anytime_p: evidence.anytime_p,
        })
        .collect()
}

/// The days on which a bulb without the stage was looked at, and whether that look showed it; the first that did is the
/// last.
fn at_risk(design: &Design<'_>, bulb: &Bulb) -> Vec<(Date, bool)> {
    let cycle = bulb.cycle_on(design.start);
    let mut days: Vec<(Date, bool)> = Vec::new();
    for seen in &cycle.looks {
        let day = seen.at.date();
        let with = match cycle.verdict(seen, design.rule.stage) {
            Verdict::With => true,
            Verdict::Without => false,
            Verdict::Unproved | Verdict::Silent => continue,
        };
        if day < design.start {
            // A bulb that had the stage before the start was never at risk.
            if with {
                return Vec::new();
            }
            continue;
        }
        match days.last_mut() {
            Some(last) if last.0 == day => last.1 |= with,
            _ => days.push((day, with)),
        }
        if with {
            break;
        }
    }
    days
}
