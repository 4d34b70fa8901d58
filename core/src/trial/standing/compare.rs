//! Two groups side by side, and the rule's test.

use super::{GroupStanding, Sentence, Shares};
use crate::{
    evidence::{Interval, Level, Share, boschloo, difference, fisher, newcombe},
    ledger::id::Id,
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
    /// Newcombe's interval of it, 95 %.
    pub interval: Interval,
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

pub(super) fn compare(groups: &[GroupStanding]) -> Option<Compared> {
    let [a, b] = two_shares(groups)?;
    let (more, fewer) = if difference(a.1, b.1).ok()? < 0.0 {
        (b, a)
    } else {
        (a, b)
    };
    Some(Compared {
        more: more.0,
        fewer: fewer.0,
        difference: difference(more.1, fewer.1).ok()?,
        interval: newcombe::interval(more.1, fewer.1, Level::PCT_95),
    })
}

pub(super) fn test(groups: &[GroupStanding], compared: Compared) -> Option<Tested> {
    let [(_, a), (_, b)] = two_shares(groups)?;
    let large = a.of().max(b.of()) > MOST_FOR_BOSCHLOO;
    let (p, method) = if large {
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
