//! What a bulb did under a success rule. Not yet is not no.

use serde::Serialize;

use crate::{
    calendar::Date,
    ledger::body::{DueWindow, Goal, GoalStage, LeftHow, Neck, Rule, ShootSeen, Stage},
    nursery::{
        Bulb, Cycle, Fate,
        reach::{Reach, Verdict, least_stage},
    },
};

/// Why an outcome can't be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// No look since the deadline.
    NotLookedAt,
    /// The interval between two looks holds the deadline or the window's first day.
    Straddles,
    /// A shoot was seen in time and is not proved to be a scape.
    Unproved,
    /// Records of what became of it exclude each other, and which of them holds would decide it.
    Disputed,
}

/// What one bulb did.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Reached the goal in time.
    InTime,
    /// Was over before the window.
    TooEarly,
    /// Reached the stage after the deadline.
    Late,
    /// A look on or after the deadline found it not reached, or its growth cycle ended blind before.
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

    /// What kind it is, whatever its reason.
    pub fn kind(&self) -> Kind {
        match self {
            Self::InTime => Kind::InTime,
            Self::TooEarly => Kind::TooEarly,
            Self::Late => Kind::Late,
            Self::NotReached => Kind::NotReached,
            Self::Waiting => Kind::Waiting,
            Self::CantSay(_) => Kind::CantSay,
            Self::Left(_) => Kind::Left,
            Self::Missing => Kind::Missing,
            Self::Died(_) => Kind::Died,
        }
    }
}

/// An outcome without its reason: what is counted, and what has a mark of its own. In the order in which marks stand
/// wherever bulbs of a try are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Reached the goal in time.
    InTime,
    /// Was over before the window.
    TooEarly,
    /// Reached the stage after the deadline.
    Late,
    /// Was found not to have reached it.
    NotReached,
    /// Not decided before the deadline.
    Waiting,
    /// Not decided after it.
    CantSay,
    /// Sold, given or withdrawn before it was decided.
    Left,
    /// Missing before it was decided.
    Missing,
    /// Died before it was decided.
    Died,
}

impl Kind {
    /// All of them, in their order.
    pub const ALL: [Self; 9] = [
        Self::InTime,
        Self::TooEarly,
        Self::Late,
        Self::NotReached,
        Self::Waiting,
        Self::CantSay,
        Self::Left,
        Self::Missing,
        Self::Died,
    ];
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
///
/// Where records of its end exclude each other, it is judged by each of them; what they do not agree on is not known.
///
/// # What nobody has seen is neither a yes nor a no
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let state = State::fold(&ledger);
/// use bloomdue_core::trial::outcome::judge;
/// let run = state.runs.values().find(|run| run.is_running()).ok_or("a running try")?;
/// let (rule, window) = (run.rule.settled().ok_or("a rule")?, run.window.settled().ok_or("a window")?);
/// let start = run.start().ok_or("a start")?;
/// let bulbs = run.units().iter().flat_map(|unit| state.bulbs_of_unit_on(*unit, start));
/// for bulb in bulbs.filter(|bulb| bulb.is_here() && bulb.cycle_on(start).looks.is_empty()) {
///     assert!(judge(bulb, start, rule, window, today).outcome.is_open());
/// }
/// # Ok(())
/// # }
/// ```
pub fn judge(bulb: &Bulb, start: Date, rule: &Rule, window: &DueWindow, today: Date) -> Judged {
    let judged = judge_as_told(bulb, start, rule, window, today);
    if !bulb.end_is_disputed() {
        return judged;
    }
    let readings = bulb.readings();
    let kind = |outcome: &Outcome| std::mem::discriminant(outcome);
    let mut outcomes = readings.iter().map(|reading| judge_as_told(reading, start, rule, window, today).outcome);
    let first = outcomes.next();
    match first.filter(|first| outcomes.all(|other| kind(&other) == kind(first))) {
        Some(outcome) => Judged { outcome, ..judged },
        None => Judged { outcome: Outcome::CantSay(Why::Disputed), ..judged },
    }
}

fn judge_as_told(bulb: &Bulb, start: Date, rule: &Rule, window: &DueWindow, today: Date) -> Judged {
    let cycle = bulb.cycle_on(start);
    let reach = cycle.reach(rule.stage);
    let decided = match rule.goal {
        Goal::By => by(&reach, window.to),
        Goal::InWindow => in_window(cycle, &reach, rule.stage, window),
    };
    let outcome = decided.unwrap_or_else(|| undecided(bulb, cycle, &reach, rule, window, today));
    Judged { outcome, reach, last_look: cycle.last_look().map(|seen| seen.at.date()) }
}

fn by(reach: &Reach, deadline: Date) -> Option<Outcome> {
    match (reach.without, reach.with) {
        (_, Some(with)) if with <= deadline => Some(Outcome::InTime),
        // Contradicting looks leave no right bound: nothing is late or not reached by half of what was said.
        (Some(without), Some(_)) if without >= deadline => Some(Outcome::Late),
        (Some(without), None) if without >= deadline && !reach.contradicted => Some(Outcome::NotReached),
        _ => None,
    }
}

/// How a bulb stood to a stage that lasts from its reaching to the over of all scapes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Phase {
    /// Not in it yet.
    Before,
    /// In it.
    In,
    /// No longer in it; whether another scape is still coming.
    After { another: bool },
}

/// The phase at every look that says one, in order.
fn phases(cycle: &Cycle, reach: &Reach, stage: GoalStage) -> Vec<(Date, Phase)> {
    let mut phases: Vec<(Date, Phase)> = Vec::new();
    let mut was_in = false;
    let fit = cycle.fit.filter(|_| stage == GoalStage::FitToSell);
    for seen in &cycle.looks {
        let date = seen.at.date();
        // Between contradicting looks nothing counts that a later one denies.
        let denied = reach.contradicted
            && reach.without.is_none_or(|without| date > without)
            && reach.with.is_none_or(|with| date < with);
        if denied || seen.look.neck == Neck::NotLookedAt {
            continue;
        }
        was_in |= fit.is_some_and(|fit| fit <= date);
        let unproved = cycle.verdict(seen, GoalStage::ScapeInSight) == Verdict::Unproved;
        let is_in = |shoot: &ShootSeen| match stage {
            GoalStage::FitToSell => was_in,
            GoalStage::ScapeInSight => true,
            _ => least_stage(stage).is_some_and(|least| shoot.stage >= least),
        };
        let scapes = cycle.scapes_at(seen);
        let going = |shoot: &&ShootSeen| shoot.stage < Stage::Over;
        let phase = if scapes.iter().copied().filter(going).any(is_in) {
            Phase::In
        } else if was_in || scapes.iter().any(|shoot| shoot.stage == Stage::Over) {
            Phase::After { another: unproved || scapes.iter().any(going) }
        } else if unproved && stage == GoalStage::ScapeInSight {
            continue;
        } else {
            Phase::Before
        };
        was_in |= phase != Phase::Before;
        phases.push((date, phase));
    }
    phases.extend(fit.map(|fit| (fit, Phase::In)));
    if let (Some((on, left)), Some(least)) = (cycle.left_at, least_stage(stage)) {
        if left == Stage::Over {
            phases.push((on, Phase::After { another: false }));
        } else if left >= least {
            phases.push((on, Phase::In));
        }
    }
    phases.sort_by_key(|(date, _)| *date);
    phases
}

/// In the stage on at least one day of the window, certainly on none, or neither.
fn in_window(cycle: &Cycle, reach: &Reach, stage: GoalStage, window: &DueWindow) -> Option<Outcome> {
    let phases = phases(cycle, reach, stage);
    let (from, to) = (window.from, window.to);
    let on_a_day = |(date, phase): &(Date, Phase)| *phase == Phase::In && (from..=to).contains(date);
    let through = |pair: &[(Date, Phase)]| {
        pair[0].1 == Phase::In && pair[1].1 == Phase::In && pair[0].0 <= to && pair[1].0 >= from
    };
    if phases.iter().any(on_a_day) || phases.windows(2).any(through) {
        return Some(Outcome::InTime);
    }
    let (first, last) = (phases.first()?, phases.last()?);
    // The stage may have begun unseen after the earlier look and ended unseen before the later one.
    let hides = |pair: &[(Date, Phase)]| {
        let same = pair[0].1 == pair[1].1;
        let finished = matches!(pair[0].1, Phase::After { another: false }) && pair[1].1 != Phase::In;
        !same && !finished && pair[0].0 < to && pair[1].0 > from
    };
    let seen_late = first.1 != Phase::Before && first.0 > from;
    if seen_late || phases.windows(2).any(hides) {
        return None;
    }
    let ever = |wanted: fn(Date, Date) -> bool, bound: Date| {
        let not_before = phases.iter().filter(|(_, phase)| *phase != Phase::Before);
        not_before.clone().any(|(date, _)| wanted(*date, bound))
    };
    let was_early = ever(|date, from| date <= from, from);
    match last.1 {
        Phase::After { another: false } if was_early => Some(Outcome::TooEarly),
        _ if last.0 < to => None,
        _ if was_early => Some(Outcome::TooEarly),
        _ if ever(|date, to| date >= to, to) => Some(Outcome::Late),
        _ if reach.contradicted => None,
        _ => Some(Outcome::NotReached),
    }
}

fn undecided(bulb: &Bulb, cycle: &Cycle, reach: &Reach, rule: &Rule, window: &DueWindow, today: Date) -> Outcome {
    let deadline = window.to;
    // A cycle that ended blind brings nothing any more, whatever became of the bulb since: the look at its end stands for
    // that of the deadline.
    if cycle.blind() && reach.with.is_none() && !reach.contradicted {
        return Outcome::NotReached;
    }
    // What became of the bulb counts only for the cycle it happened in, which is its last.
    let gone = bulb.fate.since().filter(|_| std::ptr::eq(cycle, bulb.cycle()));
    match (&bulb.fate, gone) {
        (Fate::Missing { .. }, Some(_)) => return Outcome::Missing,
        (Fate::Left { how, .. }, Some(on)) if on <= deadline => return Outcome::Left(*how),
        // Whoever sold it after the deadline and said its stage looked at it.
        (Fate::Left { .. }, Some(_)) if left_without(cycle, reach, rule.stage) => {
            return Outcome::NotReached;
        }
        (Fate::Died { cause, .. }, Some(on)) if on <= deadline => {
            return Outcome::Died(cause.clone());
        }
        _ => {}
    }
    if today <= deadline && gone.is_none() {
        return Outcome::Waiting;
    }
    let only_before =
        rule.goal == Goal::InWindow && cycle.last_neck_look().is_none_or(|seen| seen.at.date() < window.from);
    Outcome::CantSay(match (reach.unproved, reach.with) {
        (None, _) if only_before => Why::NotLookedAt,
        (Some(seen), _) if seen <= deadline => Why::Unproved,
        (_, Some(_)) => Why::Straddles,
        (Some(_), None) => Why::Unproved,
        (None, None) if reach.contradicted => Why::Straddles,
        (None, None) => Why::NotLookedAt,
    })
}

/// Whether the stage said when it left, after the deadline, rules the goal's stage out.
fn left_without(cycle: &Cycle, reach: &Reach, stage: GoalStage) -> bool {
    let Some((_, left)) = cycle.left_at else {
        return false;
    };
    let below = match least_stage(stage) {
        Some(least) => left < least,
        None => cycle.fit.is_none(),
    };
    below && reach.with.is_none() && reach.unproved.is_none() && !reach.contradicted
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod truth;
