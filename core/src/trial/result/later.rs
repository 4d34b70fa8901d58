//! A result part by part, for a screen: what stands there at once, and what takes longer, each asked for by itself.
//!
//! Together the parts are [`super::run_result`]; whatever counts every case of large groups takes
//! seconds, everything else does not.

use super::{
    RunResult, beside, foresight, growing,
    measures::{self, MeasureResult},
    pairing::PairUnits,
    times,
};
use crate::{
    calendar::Date,
    ledger::{Ledger, id::Id},
    nursery::{State, state::Run},
    trial::standing::{Design, Sentence, Standing, standing},
};

/// A run with how it stands.
pub(super) struct About<'a> {
    run: Id,
    known: &'a Run,
    pub(super) stands: Standing,
}

impl<'a> About<'a> {
    pub(super) fn of(ledger: &Ledger, state: &'a State, run: Id, today: Date) -> Option<Self> {
        Some(Self { run, known: state.runs.get(&run)?, stands: standing(ledger, state, run, today)? })
    }

    pub(super) fn design(&self) -> Option<Design<'a>> {
        Design::of(self.run, self.known).ok()
    }

    pub(super) fn is_decided(&self) -> bool {
        matches!(self.stands.sentence, Sentence::Decided(_))
    }

    pub(super) fn without_design(self) -> RunResult {
        RunResult {
            standing: self.stands,
            times: None,
            measures: Vec::new(),
            growing: Vec::new(),
            foresight: Vec::new(),
            beside: Vec::new(),
            overall: None,
        }
    }
}

/// What stands on a page at once: the standing, the days without speeds, the measures without their gaps, the evidence
/// as it grew. Everything else is empty and asked for by the other functions here.
pub fn at_once(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<RunResult> {
    let about = About::of(ledger, state, run, today)?;
    let Some(design) = about.design() else {
        return Some(about.without_design());
    };
    let groups = &about.stands.groups;
    let drawn = design.never(state, groups).is_none();
    Some(RunResult {
        times: times::times(&design, state, groups, today, false),
        measures: measures::measures(&design, ledger, state, groups, false),
        growing: if drawn { growing::growing(&design, state, groups) } else { Vec::new() },
        ..about.without_design()
    })
}

/// The pairs to compare in one measure of a result; none while there is no verdict.
pub fn gap_pairs(result: &RunResult, measure: &MeasureResult) -> Vec<PairUnits> {
    match result.standing.sentence {
        Sentence::Decided(_) => measures::to_compare(&result.standing.groups, &measure.groups),
        _ => Vec::new(),
    }
}

/// The pairs whose speeds are to be compared; none while there is no verdict.
pub fn speed_pairs(ledger: &Ledger, state: &State, run: Id, today: Date) -> Vec<PairUnits> {
    let pairs = || {
        let about = About::of(ledger, state, run, today)?;
        let design = about.design().filter(|_| about.is_decided())?;
        Some(times::speed_pairs(&design, state, &about.stands.groups, today))
    };
    pairs().unwrap_or_default()
}

/// What the drawn groups are, of which [`foresight::Foreseeing`] says what they could tell; nothing for groups that were
/// not drawn.
pub fn foresight(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<foresight::Drawn> {
    let about = About::of(ledger, state, run, today)?;
    let design = about.design()?;
    let groups = &about.stands.groups;
    let drawn = design.never(state, groups).is_none();
    drawn.then(|| foresight::Drawn::of(&design, ledger, state, groups, today))
}

/// The same where there is one pair, so that it is clear which one another try like it would add to.
pub fn of_only_pair(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<foresight::Drawn> {
    foresight(ledger, state, run, today).filter(|drawn| drawn.pairs.len() == 1)
}

/// What the tests that do not decide are made of ([`beside::Others`]); nothing while there is no verdict.
pub fn beside(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<beside::Sides> {
    let about = About::of(ledger, state, run, today)?;
    let design = about.design().filter(|_| about.is_decided())?;
    Some(beside::Sides::of(&design, state, &about.stands.groups))
}
