//! What a bulb did under a success rule (TRIALS §3). Not yet is not no.

use crate::{
    calendar::Date,
    ledger::body::{DueWindow, Goal, GoalStage, LeftHow, Rule},
    nursery::bulb::{Bulb, Cycle, Fate, Reach},
};

/// Why an outcome can't be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// No look since the deadline.
    NotLookedAt,
    /// The interval between two looks holds the deadline or the window's first day.
    Straddles,
    /// A shoot was seen in time and is not proved to be a scape.
    Unproved,
}

/// What one bulb did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Reached the goal in time.
    InTime,
    /// Was over before the window.
    TooEarly,
    /// Reached the stage after the deadline.
    Late,
    /// A look on or after the deadline found it not reached.
    NotReached,
    /// Before the deadline and not decided.
    Waiting,
    /// Past the deadline and the looks do not decide.
    CantSay(Why),
    /// Died before it was decided; of what.
    Died(String),
    /// Missing before it was decided.
    Missing,
    /// Left before it was decided.
    Left(LeftHow),
}

impl Outcome {
    /// Whether further looks or proofs may still decide it.
    pub fn is_open(&self) -> bool {
        matches!(self, Self::Waiting | Self::CantSay(_))
    }

    /// Whether it counts as not in time, whatever the rule says about the dead.
    pub fn is_not_in_time(&self) -> bool {
        matches!(self, Self::TooEarly | Self::Late | Self::NotReached)
    }
}

/// An outcome with what it rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// The outcome.
    pub outcome: Outcome,
    /// When the stage was reached, between looks.
    pub reach: Reach,
    /// The last look of the cycle.
    pub last_look: Option<Date>,
}

/// Judges a bulb in the cycle that a run started on `start` belongs to, as known on `today`.
pub fn judge(bulb: &Bulb, start: Date, rule: &Rule, window: &DueWindow, today: Date) -> Judged {
    let cycle = bulb.cycle_on(start);
    let reach = cycle.reach(rule.stage);
    let decided = match rule.goal {
        Goal::By => by(&reach, window.to),
        Goal::InWindow => in_window(cycle, &reach, rule.stage, window),
    };
    let outcome = decided.unwrap_or_else(|| undecided(bulb, cycle, &reach, window.to, today));
    Judged {
        outcome,
        reach,
        last_look: cycle.last_look().map(|seen| seen.at.date()),
    }
}

fn by(reach: &Reach, deadline: Date) -> Option<Outcome> {
    match (reach.without, reach.with) {
        (_, Some(with)) if with <= deadline => Some(Outcome::InTime),
        (Some(without), Some(_)) if without >= deadline => Some(Outcome::Late),
        (Some(without), None) if without >= deadline => Some(Outcome::NotReached),
        _ => None,
    }
}

fn in_window(
    cycle: &Cycle,
    reach: &Reach,
    stage: GoalStage,
    window: &DueWindow,
) -> Option<Outcome> {
    if stage != GoalStage::FirstFlower {
        // Other stages last until flowering is over, so that being in them on a day of the window means having
        // reached them by its last day and not being over before its first.
        let over = cycle.flowering().over;
        if over.is_some_and(|over| over <= window.from) {
            return Some(Outcome::TooEarly);
        }
        return by(reach, window.to);
    }
    let flowering = cycle.flowering();
    if flowering
        .days
        .iter()
        .any(|day| (window.from..=window.to).contains(day))
    {
        return Some(Outcome::InTime);
    }
    let last = flowering.last.or(reach.with);
    match (reach.with, last) {
        (Some(with), Some(last)) if with <= window.to && last >= window.from => {
            return Some(Outcome::InTime);
        }
        _ => {}
    }
    // Over on the window's first day means over before it, as far as a day can tell.
    if flowering.over.is_some_and(|over| over <= window.from) {
        return Some(Outcome::TooEarly);
    }
    match (reach.without, reach.with) {
        (Some(without), Some(_)) if without >= window.to => Some(Outcome::Late),
        (Some(without), None) if without >= window.to => Some(Outcome::NotReached),
        _ => None,
    }
}

fn undecided(bulb: &Bulb, cycle: &Cycle, reach: &Reach, deadline: Date, today: Date) -> Outcome {
    // What became of the bulb counts only for the cycle it happened in.
    let gone = bulb
        .fate
        .since()
        .filter(|since| cycle.ended.is_some_and(|ended| ended == *since));
    match (&bulb.fate, gone) {
        (Fate::Left { how, .. }, Some(_)) => return Outcome::Left(*how),
        (Fate::Missing { .. }, Some(_)) => return Outcome::Missing,
        (Fate::Died { cause, .. }, Some(on)) if on <= deadline => {
            return Outcome::Died(cause.clone());
        }
        _ => {}
    }
    if today <= deadline && gone.is_none() {
        return Outcome::Waiting;
    }
    if reach.with.is_some() && reach.without.is_some() {
        return Outcome::CantSay(Why::Straddles);
    }
    match reach.unproved {
        Some(seen) if seen <= deadline => Outcome::CantSay(Why::Unproved),
        _ if reach.with.is_some() => Outcome::CantSay(Why::Straddles),
        _ => Outcome::CantSay(Why::NotLookedAt),
    }
}
