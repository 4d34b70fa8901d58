//! A result part by part, for a screen: what stands there at once, and what takes longer, each asked for by itself.
//!
//! Together the parts are [`super::run_result`]; whatever counts every case of large groups takes
//! seconds, everything else does not.

use super::{
    RunResult, design_power,
    measures::{self, MeasureResult},
    pairing::PairUnits,
    secondary, sequential, soundness, times,
};
use crate::{
    calendar::Date,
    ledger::{Ledger, id::Id},
    nursery::State,
    trial::standing::{Design, Sentence, Standing, standing},
};

/// What a run that stands so was designed to be; nothing for one that cannot be evaluated.
pub(super) fn design_of<'a>(state: &'a State, stands: &Standing) -> Option<Design<'a>> {
    Design::of(stands.run, state.runs.get(&stands.run)?).ok()
}

pub(super) fn is_decided(stands: &Standing) -> bool {
    matches!(stands.sentence, Sentence::Decided(_))
}

/// A result of which only the standing is known yet.
pub(super) fn only(stands: Standing) -> RunResult {
    RunResult {
        standing: stands,
        times: None,
        measures: Vec::new(),
        soundness: None,
        growing: Vec::new(),
        foresight: Vec::new(),
        beside: Vec::new(),
        overall: None,
    }
}

/// What stands on a page at once: the standing, the days without speeds, the measures without their gaps, the evidence
/// as it grew. Everything else is empty and asked for by the other functions here.
pub fn at_once(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<RunResult> {
    let stands = standing(ledger, state, run, today)?;
    let Some(design) = design_of(state, &stands) else {
        return Some(only(stands));
    };
    let groups = &stands.groups;
    let drawn = design.never(state, groups).is_none();
    Some(RunResult {
        times: times::times(&design, state, groups, today, false),
        measures: measures::measures(&design, ledger, state, groups, false),
        soundness: soundness::soundness(&design, ledger, state, groups, is_decided(&stands)),
        growing: if drawn { sequential::growing(&design, state, groups) } else { Vec::new() },
        ..only(stands)
    })
}

/// The pairs to compare in one measure of a result; none while there is no verdict.
pub fn gap_pairs(stands: &Standing, measure: &MeasureResult) -> Vec<PairUnits> {
    let family = stands.rule.as_ref().and_then(|rule| rule.family);
    if is_decided(stands) { measures::to_compare(&stands.groups, &measure.groups, family) } else { Vec::new() }
}

/// The pairs whose speeds are to be compared, of a run that stands so today; none while there is no verdict.
pub fn speed_pairs(state: &State, stands: &Standing, today: Date) -> Vec<PairUnits> {
    let design = design_of(state, stands).filter(|_| is_decided(stands));
    design.map_or_else(Vec::new, |design| times::speed_pairs(&design, state, &stands.groups, today))
}

/// What the drawn groups are, of which [`design_power::Foreseeing`] says what they could tell; nothing for groups that were
/// not drawn.
pub fn foresight(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<design_power::Drawn> {
    let stands = standing(ledger, state, run, today)?;
    let design = design_of(state, &stands)?;
    let drawn = design.never(state, &stands.groups).is_none();
    drawn.then(|| design_power::Drawn::of(&design, ledger, state, &stands.groups, today))
}

/// The drawn groups where there is one pair, so that it is clear which one another try like it would add to.
pub fn of_only_pair(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<design_power::Drawn> {
    foresight(ledger, state, run, today).filter(|drawn| drawn.pairs.len() == 1)
}

/// What the tests that do not decide are made of ([`secondary::Others`]); nothing while there is no verdict.
pub fn beside(state: &State, stands: &Standing) -> Option<secondary::Sides> {
    let design = design_of(state, stands).filter(|_| is_decided(stands))?;
    Some(secondary::Sides::of(&design, state, &stands.groups))
}
