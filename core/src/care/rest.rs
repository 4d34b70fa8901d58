//! How long a treatment lets bulbs rest.

use crate::{
    calendar::Date,
    ledger::{body::ActKind, id::Id},
    nursery::{Bulb, State, state::Run},
};

/// When the rest of a bulb ends by its treatment: its days of rest, counted from the day it was laid to rest in this
/// cycle. Nothing when it does not rest or nothing says how long.
pub fn rest_end(state: &State, run: &Run, bulb: &Bulb) -> Option<Date> {
    let cycle = bulb.cycle();
    let since = cycle.resting_since()?;
    let (_, group) = state.group_of(run, bulb)?;
    let days = rest_days(state, group)?;
    // Water stops before bulbs are laid to rest; the weeks count from laying down or packing, where that was recorded.
    let began = [ActKind::LaidToRest, ActKind::Packed].into_iter().find_map(|kind| {
        let mut acts = cycle.acts.iter();
        acts.find(|(on, act)| *act == kind && *on >= since).map(|(on, _)| *on)
    });
    let began = began.unwrap_or(since);
    began.add_days(days).ok()
}

/// How many days a treatment lets bulbs rest: the weeks or days of its level whose factor is a rest.
pub fn rest_days(state: &State, group: Id) -> Option<i64> {
    let treatment = state.groups.get(&group)?.settled()?;
    let question = state.trials.get(&treatment.trial)?.question.settled()?;
    treatment.levels.iter().find_map(|level| {
        let factor = question.factors.iter().find(|factor| factor.name == level.factor)?;
        let each_days = match factor.unit.as_str() {
            "weeks" => 7,
            "days" => 1,
            _ => return None,
        };
        let rest = factor.name.to_lowercase().contains("rest");
        level.value_milli.filter(|_| rest).map(|milli| milli * each_days / 1000)
    })
}
