//! Groups side by side: the family of comparisons, each with the rule's test.

use serde::Serialize;

use super::{Counts, GroupStanding, UnitStanding};
use crate::{
    evidence::{
        Share,
        permutation::Scored,
        strata::Stratum,
        verdict::{Gap, Groups, Verdict, family},
    },
    ledger::{
        body::{DiedAs, Family, Unit},
        id::Id,
    },
};

/// Two groups compared.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// The group with the greater share; the one first named by the try when they are equal.
    pub more: Id,
    /// The other one.
    pub fewer: Id,
    /// By how much, 0 to 1, with its interval.
    pub gap: Gap,
}

/// Two groups compared, and what the rule's test says of them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Decided {
    /// Which, and by how much.
    pub compared: Compared,
    /// Whether that carries.
    pub verdict: Verdict,
}

/// The pair of groups that differs most clearly, of more than two groups.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Clearest {
    /// Which, and by how much.
    pub compared: Compared,
    /// What the rule's test says of it, where the rule declared all pairs before the start. A pair that was picked out
    /// of all afterwards, though others were declared, gets no verdict.
    pub verdict: Option<Verdict>,
}

/// What is counted, and whether the dead are.
#[derive(Clone, Copy)]
pub(in crate::trial) struct Counting {
    /// The unit that lots were drawn for.
    pub drawn: Unit,
    /// The unit that the rule counts.
    pub counted: Unit,
    /// How the dead count.
    pub died: DiedAs,
    /// The pairs that the rule compares, where it says.
    pub family: Option<Family>,
}

impl Counting {
    /// Whether containers were drawn, so that they are what the test permutes.
    pub(in crate::trial) fn by_container(self) -> bool {
        self.drawn == Unit::Container
    }

    /// Whether a group's counts are of bulbs in containers that were drawn whole.
    pub(in crate::trial) fn bulbs_in_containers(self) -> bool {
        self.drawn == Unit::Container && self.counted == Unit::Bulb
    }

    /// The counts that one unit adds to its group.
    pub(in crate::trial) fn of_unit(self, unit: &UnitStanding) -> Counts {
        if self.bulbs_in_containers() {
            return unit.counts;
        }
        let mut counts = Counts::default();
        counts.add(&unit.outcome);
        counts
    }

    /// The resolved share of one unit; 0 or 1 of 1 for a unit that counts by itself.
    fn share(self, unit: &UnitStanding) -> crate::evidence::Result<Share> {
        self.of_unit(unit).share(self.died)
    }
}

/// The pairs of groups that are compared.
pub(in crate::trial) fn pairs(groups: &[GroupStanding], family: Option<Family>) -> Vec<(usize, usize)> {
    family_of(groups.len(), groups.iter().position(|group| group.control), family)
}

/// Of n groups the pairs that are compared, by where they stand: every group against the control, or all pairs where
/// there is none or the rule says so. The one named first comes first.
pub(in crate::trial) fn family_of(n: usize, control: Option<usize>, family: Option<Family>) -> Vec<(usize, usize)> {
    match control.filter(|_| family != Some(Family::AllPairs)) {
        Some(control) => (0..n).filter(|&at| at != control).map(|at| (at.min(control), at.max(control))).collect(),
        None => (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b))).collect(),
    }
}

/// Two groups as their design has them; nothing when counts only are known and they are too many to hold.
pub(in crate::trial) fn side_by_side(a: &GroupStanding, b: &GroupStanding, counting: Counting) -> Option<Groups> {
    if counting.by_container() {
        let scored = |group: &GroupStanding, in_a: bool| -> Vec<Scored> {
            let shares = group.units.iter().filter_map(|unit| {
                Some(Scored { score: counting.share(unit).ok()?.rate().ok()?, in_a, block: unit.block as usize })
            });
            shares.collect()
        };
        return Some(Groups::Containers([scored(a, true), scored(b, false)].concat()));
    }
    let units = || a.units.iter().chain(&b.units);
    let last = units().map(|unit| unit.block).max().unwrap_or(0);
    let whole = |group: &GroupStanding| group.counts.share(counting.died).ok();
    if last == 0 {
        return Some(Groups::Whole(Stratum { a: whole(a)?, b: whole(b)? }));
    }
    let class = |group: &GroupStanding, block: u32| -> Option<Share> {
        let mut counts = Counts::default();
        let members = group.units.iter().filter(|unit| unit.block == block);
        members.for_each(|unit| counts.add(&unit.outcome));
        counts.share(counting.died).ok()
    };
    let strata = (0..=last).map(|block| Some(Stratum { a: class(a, block)?, b: class(b, block)? }));
    Some(Groups::Strata(strata.collect::<Option<_>>()?))
}

/// Orients a gap: the group with more first.
pub(in crate::trial) fn oriented(a: Id, b: Id, gap: Gap) -> Compared {
    if gap.difference < 0.0 {
        Compared { more: b, fewer: a, gap: gap.turned() }
    } else {
        Compared { more: a, fewer: b, gap }
    }
}

/// The pairs that can be compared, as their design has them.
pub(in crate::trial) fn comparable(groups: &[GroupStanding], counting: Counting) -> Vec<(Id, Id, Groups)> {
    let pair = |(a, b): (usize, usize)| {
        let (a, b) = (groups.get(a)?, groups.get(b)?);
        // A group of a single unit cannot be compared.
        let single = |group: &GroupStanding| !group.units.is_empty() && group.units.len() < 2;
        if single(a) || single(b) {
            return None;
        }
        let side = side_by_side(a, b, counting)?;
        side.can_be_compared().then_some((a.group, b.group, side))
    };
    pairs(groups, counting.family).into_iter().filter_map(pair).collect()
}

pub(super) fn compare(groups: &[GroupStanding], counting: Counting) -> Vec<Compared> {
    let gap = |(a, b, side): (Id, Id, Groups)| Some(oriented(a, b, side.gap().ok()?));
    comparable(groups, counting).into_iter().filter_map(gap).collect()
}

pub(super) fn decide(groups: &[GroupStanding], counting: Counting) -> Vec<Decided> {
    let pairs = comparable(groups, counting);
    let sides: Vec<Groups> = pairs.iter().map(|(.., side)| side.clone()).collect();
    let verdicts = family(&sides).unwrap_or_default();
    let decided = pairs.iter().zip(verdicts);
    decided.map(|((a, b, _), (gap, verdict))| Decided { compared: oriented(*a, *b, gap), verdict }).collect()
}

/// The pair that differs most clearly. Where all pairs were declared, that of the smallest p, and of several the one
/// with the widest gap. Else the pair whose shares are furthest apart, unless the family has a verdict on it already.
pub(super) fn clearest(groups: &[GroupStanding], counting: Counting, decided: &[Decided]) -> Option<Clearest> {
    if groups.len() < 3 || decided.is_empty() {
        return None;
    }
    let gap = |one: &Clearest| one.compared.gap.difference;
    let p = |one: &Clearest| one.verdict.map_or(0.0, |verdict| verdict.p);
    // Of equals the first stays.
    let clearer = |best: Clearest, next: Clearest| {
        let by_p = p(&next).total_cmp(&p(&best));
        let better = by_p.is_lt() || (by_p.is_eq() && gap(&next) > gap(&best));
        if better { next } else { best }
    };
    let found = if counting.family == Some(Family::AllPairs) {
        let all = decided.iter().map(|one| Clearest { compared: one.compared, verdict: Some(one.verdict) });
        all.reduce(clearer)?
    } else {
        // Shares alone pick it out: with whole containers every gap takes many draws, and there may be hundreds of pairs.
        let two = furthest_apart(groups, counting)?;
        Clearest { compared: *compare(&two, counting).first()?, verdict: None }
    };
    let both = |one: &Compared| [one.more.min(one.fewer), one.more.max(one.fewer)];
    let has_verdict = |one: &Decided| both(&one.compared) == both(&found.compared);
    let spoken_of = found.verdict.is_none() && decided.iter().any(has_verdict);
    (gap(&found) > 0.0 && !spoken_of).then_some(found)
}

/// The two groups whose shares differ most, of equals the first.
fn furthest_apart(groups: &[GroupStanding], counting: Counting) -> Option<[GroupStanding; 2]> {
    // A group of a single unit is compared with none.
    let rate = |at: usize| {
        let share = groups[at].counts.share(counting.died).and_then(Share::rate).ok();
        share.filter(|_| groups[at].units.len() != 1)
    };
    let apart = |(a, b): (usize, usize)| Some(((rate(a)? - rate(b)?).abs(), a, b));
    let all = family_of(groups.len(), None, Some(Family::AllPairs)).into_iter().filter_map(apart);
    let (_, a, b) = all.reduce(|best, next| if next.0 > best.0 { next } else { best })?;
    Some([groups[a].clone(), groups[b].clone()])
}
