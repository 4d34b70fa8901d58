//! The part of the design check that can be said before the start: what the groups as drawn can and cannot tell.

use std::collections::BTreeSet;

use super::{Design, GroupStanding, Note, compare::comparable};
use crate::{
    evidence::verdict::ALPHA,
    ledger::{Register, body::Treatment, id::Id},
    nursery::State,
    trial::aliasing,
};

/// Groups whose mean size differs by more than this part of the mean are told (common practice, no source).
const SIZES_APART_PERCENT: i64 = 5;

/// Groups that lost so many per cent of their units more than another one are told (common practice, no source).
const LOSSES_APART_PERCENT: u32 = 25;

pub(super) fn check(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Vec<Note> {
    let mut notes = aliased(design, state, groups);
    if groups.len() > 1 && !groups.iter().any(|group| group.control) {
        notes.push(Note::NoControl);
    }
    notes.extend(too_few(design, state, groups));
    notes.extend(sizes_differ(design, groups));
    notes.extend(losses_differ(groups));
    notes
}

/// Factors that change together over the groups, so that a difference is that of the bundle.
fn aliased(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Vec<Note> {
    let trial = state.trials.get(&design.body.trial);
    let Some(question) = trial.and_then(|trial| trial.question.shown()) else {
        return Vec::new();
    };
    let treatments: Vec<&Treatment> =
        groups.iter().filter_map(|group| state.groups.get(&group.group).and_then(Register::shown)).collect();
    let level = |treatment: &'_ Treatment, factor: &str| -> Option<String> {
        let of = |level: &&crate::ledger::body::Level| level.factor == factor;
        treatment.levels.iter().find(of).map(|level| level.text.clone())
    };
    let rows: Option<Vec<Vec<String>>> = treatments
        .iter()
        .map(|treatment| {
            let levels = question.factors.iter();
            levels.map(|factor| level(treatment, &factor.name)).collect()
        })
        .collect();
    // A group without a level for a factor cannot be laid out.
    let Some(rows) = rows.filter(|rows| rows.len() > 1 && question.factors.len() > 1) else {
        return Vec::new();
    };
    let factors: Vec<aliasing::Factor<'_>> = question
        .factors
        .iter()
        .enumerate()
        .map(|(at, factor)| {
            let levels: BTreeSet<&str> = rows.iter().map(|row| row[at].as_str()).collect();
            aliasing::Factor { name: &factor.name, levels: levels.into_iter().collect() }
        })
        .collect();
    let rows: Vec<Vec<&str>> = rows.iter().map(|row| row.iter().map(String::as_str).collect()).collect();
    let Ok(found) = aliasing::check(&factors, &rows) else {
        return Vec::new();
    };
    let name = |at: usize| question.factors[at].name.clone();
    found.aliased.iter().map(|(a, b)| Note::Aliased { factors: [name(*a), name(*b)] }).collect()
}

/// The pairs that could not be told apart whatever came out.
fn too_few(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Option<Note> {
    if design.never(state, groups).is_some() {
        return None;
    }
    let planned: Vec<GroupStanding> = groups.iter().map(all_in_time).collect();
    let pairs = comparable(&planned, design.counting());
    let n_family = pairs.len();
    let least = pairs
        .iter()
        .filter_map(|(.., side)| side.smallest_p().ok())
        .fold(None, |least: Option<f64>, p| Some(least.map_or(p, |least| least.min(p))))?;
    // Holm asks the best of a family for α divided by its size.
    let smallest_p = (least * n_family as f64).min(1.0);
    (smallest_p > ALPHA).then_some(Note::TooFewForTest { smallest_p })
}

/// A group as if all its units had been decided.
fn all_in_time(group: &GroupStanding) -> GroupStanding {
    let mut group = group.clone();
    let mut sum = super::Counts::default();
    for unit in &mut group.units {
        let n = unit.counts.all().max(1);
        unit.outcome = crate::trial::outcome::Outcome::InTime;
        unit.counts = super::Counts { n_in_time: n, ..super::Counts::default() };
        sum.add(&unit.outcome);
    }
    group.counts = sum;
    group
}

fn sizes_differ(design: &Design<'_>, groups: &[GroupStanding]) -> Option<Note> {
    let super::Members::Units(allotment) = &design.members else {
        return None;
    };
    let sized = allotment.arms.iter().zip(&allotment.sizes_mm);
    // A file may say any size: wide enough that no sum or percentage of sizes overflows.
    let mut sums = vec![(0_i128, 0_i128); groups.len()];
    for (arm, mm) in sized.filter(|(_, mm)| **mm > 0) {
        let sum = sums.get_mut(*arm as usize)?;
        *sum = (sum.0 + i128::from(*mm), sum.1 + 1);
    }
    let means = sums.iter().filter(|(_, n)| *n > 0);
    let means: Vec<i128> = means.map(|(sum, n)| (sum + n / 2) / n).collect();
    let (least, most) = (*means.iter().min()?, *means.iter().max()?);
    if (most - least) * 100 <= most * i128::from(SIZES_APART_PERCENT) {
        return None;
    }
    let (least_mm, most_mm) = (i64::try_from(least).ok()?, i64::try_from(most).ok()?);
    Some(Note::SizesDiffer { least_mm, most_mm })
}

fn losses_differ(groups: &[GroupStanding]) -> Option<Note> {
    let lost = |group: &GroupStanding| {
        let n_lost = group.counts.n_died.saturating_add(group.counts.n_lost());
        (group.group, n_lost, group.counts.all())
    };
    let filled = groups.iter().map(lost).filter(|(.., all)| *all > 0);
    let filled: Vec<(Id, u32, u32)> = filled.collect();
    // A notebook typed in may say any count.
    let percent = |(_, lost, all): &(Id, u32, u32)| u64::from(*lost) * 100 / u64::from(*all);
    let most = filled.iter().max_by_key(|group| percent(group))?;
    let least = filled.iter().min_by_key(|group| percent(group))?;
    let apart = percent(most) >= percent(least) + u64::from(LOSSES_APART_PERCENT) && most.1 > least.1 + 1;
    apart.then_some(Note::LossesDiffer {
        more: most.0,
        n_more: most.1,
        of_more: most.2,
        fewer: least.0,
        n_fewer: least.1,
        of_fewer: least.2,
    })
}
