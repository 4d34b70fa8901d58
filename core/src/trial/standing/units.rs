//! One unit of a run: a bulb, or a container whose bulbs count together.

use serde::Serialize;

use super::{Counts, Design};
use crate::{
    calendar::Date,
    ledger::{body::Rule, id::Id},
    nursery::{Bulb, State},
    trial::outcome::{Judged, Outcome, Why},
};

/// What became of one unit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnitStanding {
    /// Bulb or container.
    pub unit: Id,
    /// What the grower calls it.
    pub label: String,
    /// Its bulbs, those that can still be looked at first: a tap opens a look at the first one.
    pub bulbs: Vec<Id>,
    /// The outcome; that of a container whose bulbs are counted one by one is its furthest bulb's.
    pub outcome: Outcome,
    /// What became of its bulbs, one by one.
    pub counts: Counts,
    /// The last look at any of its bulbs in this cycle.
    pub last_look: Option<Date>,
    /// Size class, from 0.
    pub block: u32,
    /// Whether looks contradict each other.
    pub contradicted: bool,
    /// Whether it was marked as fit to sell.
    pub marked_fit: bool,
    /// Whether its growth cycle ended blind; of a container, that of every bulb in it.
    pub blind: bool,
}

/// Judges a unit; a container is in time when at least one of its bulbs is.
pub(super) fn judge_unit(
    design: &Design<'_>,
    state: &State,
    unit: Id,
    block: u32,
    rule: &Rule,
    today: Date,
) -> UnitStanding {
    let mut bulbs = state.bulbs_of_unit_on(unit, design.start);
    bulbs.sort_by_key(|bulb| !bulb.is_here());
    let judged: Vec<Judged> = bulbs.iter().map(|bulb| design.judge(bulb, rule, today)).collect();
    let outcome = together(judged.iter().map(|judged| &judged.outcome)).unwrap_or_else(|| {
        // Nothing stands for the unit here yet: its records have not arrived.
        if today <= design.window.to { Outcome::Waiting } else { Outcome::CantSay(Why::NotLookedAt) }
    });
    let mut counts = Counts::default();
    if bulbs.is_empty() {
        counts.add(&outcome);
    }
    judged.iter().for_each(|judged| counts.add(&judged.outcome));
    let fit = |bulb: &&Bulb| bulb.cycle_on(design.start).fit.is_some();
    UnitStanding {
        unit,
        label: state.name_of(unit).to_owned(),
        outcome,
        counts,
        last_look: judged.iter().filter_map(|judged| judged.last_look).max(),
        block,
        contradicted: judged.iter().any(|judged| judged.reach.contradicted),
        marked_fit: bulbs.iter().any(fit),
        blind: !bulbs.is_empty() && bulbs.iter().all(|bulb| bulb.cycle_on(design.start).blind()),
        bulbs: bulbs.iter().map(|bulb| bulb.id).collect(),
    }
}

/// The outcome of a unit from those of its bulbs: in time when one is; undecided while one may still be; not known
/// when one of them left or is missing; else the furthest that any came.
fn together<'a>(outcomes: impl Iterator<Item = &'a Outcome>) -> Option<Outcome> {
    let rank = |outcome: &&Outcome| match outcome {
        Outcome::InTime => 0,
        Outcome::Waiting => 1,
        Outcome::CantSay(_) => 2,
        Outcome::Left(_) => 3,
        Outcome::Missing => 4,
        Outcome::TooEarly => 5,
        Outcome::Late => 6,
        Outcome::NotReached => 7,
        Outcome::Died(_) => 8,
    };
    outcomes.min_by_key(rank).cloned()
}
