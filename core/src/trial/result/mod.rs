//! What one try and all tries of a trial say: everything a results page shows, and `cargo xtask answers` prints.
//!
//! The standing decides what may be said at all. Beside it stand the days as the looks bound them ([`times`]), measures
//! and counts ([`measures`]), how sound they stayed ([`soundness`]), the evidence as it grew ([`growing`]), what these groups could have told ([`foresight`]),
//! the tests that do not decide ([`beside`]), and all tries of a trial together ([`tries`]). A p-value is given only
//! where the standing has a verdict: before the last day is over, or with anything undecided, there is none.

pub mod design_power;
pub mod measures;
pub mod pairing;
pub mod parts;
pub mod secondary;
pub mod sequential;
pub mod soundness;
pub mod times;
pub mod tries;

use serde::Serialize;

use super::standing::{GroupStanding, Standing, standing};
use crate::{
    calendar::Date,
    evidence::NoAnswer,
    ledger::{Ledger, id::Id},
    nursery::State,
};

/// Everything one try says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunResult {
    /// How it stands, with the one sentence and the design check.
    pub standing: Standing,
    /// When bulbs reached the stage; nothing for counts from a notebook.
    pub times: Option<times::Times>,
    /// Measures and counts that someone recorded.
    pub measures: Vec<measures::MeasureResult>,
    /// Soundness and losses; nothing when nobody inspected a bulb of it and none died.
    pub soundness: Option<soundness::Soundness>,
    /// The evidence as it grew, for every pair of drawn groups.
    pub growing: Vec<sequential::Growing>,
    /// What the groups could tell, for every pair of drawn groups.
    pub foresight: Vec<design_power::Foresight>,
    /// The tests that do not decide; none while there is no verdict.
    pub beside: Vec<secondary::Beside>,
    /// All groups at once, where there are more than two; does not decide.
    pub overall: Option<secondary::Overall>,
}

/// Everything one try says on `today`; nothing when there is no such run.
pub fn run_result(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<RunResult> {
    let stands = standing(ledger, state, run, today)?;
    let Some(design) = parts::design_of(state, &stands) else {
        return Some(parts::only(stands));
    };
    let (groups, decided) = (&stands.groups, parts::is_decided(&stands));
    let drawn = design.never(state, groups).is_none();
    let (beside, overall) =
        if decided { secondary::others(secondary::Sides::of(&design, state, groups)) } else { (Vec::new(), None) };
    Some(RunResult {
        times: times::times(&design, state, groups, today, decided),
        measures: measures::measures(&design, ledger, state, groups, decided),
        soundness: soundness::soundness(&design, ledger, state, groups, decided),
        growing: if drawn { sequential::growing(&design, state, groups) } else { Vec::new() },
        foresight: if drawn {
            design_power::foreseen(design_power::Drawn::of(&design, ledger, state, groups, today))
        } else {
            Vec::new()
        },
        beside,
        overall,
        standing: stands,
    })
}

/// The group of this id.
fn group_of(groups: &[GroupStanding], id: Id) -> Option<&GroupStanding> {
    groups.iter().find(|group| group.group == id)
}

/// Why a part of a result is not there.
fn refused<T>(reason: crate::evidence::Reason) -> Result<T, NoAnswer> {
    Err(NoAnswer(reason))
}

#[cfg(test)]
mod bounds;
#[cfg(test)]
mod simulated;
#[cfg(test)]
mod tests;
