//! Two groups side by side, and the rule's test.

use super::{Counts, GroupStanding, Sentence, Shares};
use crate::{
    evidence::{
        Interval, Level, Share, boschloo, difference, exact_conditional, fisher, mantel_haenszel,
        newcombe, strata::Stratum,
    },
    ledger::{body::DiedAs, id::Id},
};

/// The level of error of the one test, two-sided (TRIALS §5).
pub const ALPHA: f64 = 0.05;

/// Groups larger than this are compared by Fisher's test; Boschloo's gains nothing there and takes long.
pub const MOST_FOR_BOSCHLOO: u32 = 60;

/// Which test was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Boschloo's, the two-sided Fisher p as the statistic.
    Boschloo,
    /// Fisher's exact test, two-sided, for groups above [`MOST_FOR_BOSCHLOO`].
    Fisher,
    /// The exact conditional test within size classes, two-sided.
    ExactConditional,
}

/// Two groups compared: a is the one first named by the try.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// The group with the greater share; the first one when they are equal.
    pub more: Id,
    /// The other one.
    pub fewer: Id,
    /// Share of `more` less share of `fewer`, 0 to 1.
    pub difference: f64,
    /// Its interval, 95 %: Newcombe's, or within size classes that of Mantel and Haenszel with Sato's variance.
    pub interval: Interval,
    /// Whether both were taken within size classes.
    pub within_classes: bool,
}

/// The rule's test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tested {
    /// Two-sided p.
    pub p: f64,
    /// How.
    pub method: Method,
    /// The comparison beside it.
    pub compared: Compared,
}

/// The shares by the rule of exactly two groups.
fn two_shares(groups: &[GroupStanding]) -> Option<[(Id, Share); 2]> {
    let [a, b] = groups else { return None };
    let share = |group: &GroupStanding| match group.shares {
        Shares::Known { by_rule, .. } => Some((group.group, by_rule.share)),
        Shares::Bounds(_) | Shares::Nothing => None,
    };
    Some([share(a)?, share(b)?])
}

/// The counts of exactly two groups in each size class, where there is more than one.
fn classes(groups: &[GroupStanding], died: DiedAs) -> Option<Vec<Stratum>> {
    let [a, b] = groups else { return None };
    let last = a
        .units
        .iter()
        .chain(&b.units)
        .map(|unit| unit.block)
        .max()?;
    if last == 0 {
        return None;
    }
    let share = |group: &GroupStanding, block: u32| {
        let mut counts = Counts::default();
        let members = group.units.iter().filter(|unit| unit.block == block);
        members.for_each(|unit| counts.add(&unit.outcome));
        counts.share(died)
    };
    let strata = (0..=last).map(|block| {
        Ok(Stratum {
            a: share(a, block)?,
            b: share(b, block)?,
        })
    });
    strata
        .collect::<Result<Vec<_>, crate::evidence::CannotSay>>()
        .ok()
}

pub(super) fn compare(groups: &[GroupStanding], died: DiedAs) -> Option<Compared> {
    let [a, b] = two_shares(groups)?;
    let classes = classes(groups, died);
    let pooled = match &classes {
        Some(strata) => Some(mantel_haenszel::risk_difference(strata, Level::PCT_95).ok()?),
        None => None,
    };
    // Which group has more is said by the difference that the interval belongs to.
    let a_less_b = match &pooled {
        Some(pooled) => pooled.estimate,
        None => difference(a.1, b.1).ok()?,
    };
    let swap = a_less_b < 0.0;
    let (more, fewer) = if swap { (b, a) } else { (a, b) };
    let interval = match &pooled {
        Some(pooled) if swap => Interval {
            lower: -pooled.sato.upper,
            upper: -pooled.sato.lower,
        },
        Some(pooled) => pooled.sato,
        None => newcombe::interval(more.1, fewer.1, Level::PCT_95),
    };
    Some(Compared {
        more: more.0,
        fewer: fewer.0,
        difference: a_less_b.abs(),
        interval,
        within_classes: pooled.is_some(),
    })
}

pub(super) fn test(groups: &[GroupStanding], compared: Compared, died: DiedAs) -> Option<Tested> {
    let [(_, a), (_, b)] = two_shares(groups)?;
    let large = a.of().max(b.of()) > MOST_FOR_BOSCHLOO;
    let (p, method) = if let Some(strata) = classes(groups, died) {
        (
            exact_conditional::two_sided(&strata).ok()?.p,
            Method::ExactConditional,
        )
    } else if large {
        (fisher::two_sided(a, b), Method::Fisher)
    } else {
        (boschloo::two_sided(a, b).p, Method::Boschloo)
    };
    Some(Tested {
        p,
        method,
        compared,
    })
}

pub(super) fn verdict(tested: Tested) -> Sentence {
    let apart = tested.p <= ALPHA;
    let interval = tested.compared.interval;
    let leaves_out_zero = interval.lower > 0.0 || interval.upper < 0.0;
    match (apart, leaves_out_zero) {
        (true, true) => Sentence::ToldApart(tested),
        (false, false) => Sentence::TooFewToTell(tested),
        _ => Sentence::OnTheEdge(tested),
    }
}
