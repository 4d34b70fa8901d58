//! How bulbs stand that a plan is to be made for.

use super::Now;
use crate::{
    calendar::Date,
    ledger::id::Id,
    nursery::{Bulb, State},
};

/// How several bulbs stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StartingPoint {
    /// What a plan for them starts from: what holds for most of them, and the latest beginning of their rests.
    pub now: Now,
    /// At rest.
    pub n_resting: usize,
    /// In leaf.
    pub n_in_leaf: usize,
    /// Of those in leaf, the ones that have ended their rest and are not over yet: they are being forced.
    pub n_started: usize,
}

/// How these bulbs stand, as the records have it; in leaf where there is none.
pub fn starting_point(state: &State, bulbs: &[Id], today: Date) -> StartingPoint {
    let since = |id: &Id| -> Option<Option<Date>> {
        let cycle = state.bulb(id).map(Bulb::cycle)?;
        let since = cycle.resting_since().filter(|on| *on <= today);
        Some(since.filter(|_| cycle.ended.is_none()))
    };
    let all: Vec<Option<Date>> = bulbs.iter().filter_map(since).collect();
    let n_resting = all.iter().flatten().count();
    let n_in_leaf = all.len() - n_resting;
    // The last to be laid down is the last whose rest is over.
    let latest = all.iter().flatten().max().copied();
    let now = match latest {
        Some(since) if n_resting > n_in_leaf => Now::RestingSince(since),
        _ => Now::InLeaf,
    };
    StartingPoint { now, n_resting, n_in_leaf, n_started: bulbs.iter().filter(|id| is_started(state, id)).count() }
}

fn is_started(state: &State, id: &Id) -> bool {
    let cycle = state.bulb(id).map(Bulb::cycle);
    cycle.is_some_and(|cycle| {
        cycle.ended.is_none() && !cycle.resting() && cycle.rest_was_ended() && cycle.flowering().over.is_none()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn most_decide_and_the_last_laid_down_sets_the_day() {
        let world = World::of(
            "-90 mia lot lo_1 Red
             -90 mia bulb b_1,b_2,b_3,b_4 lo_1
             -60 mia laid-to-rest b_1
             -50 mia laid-to-rest b_2
             -40 mia laid-to-rest b_3
             -10 mia potted b_3",
        );
        let state = world.state();
        let of = |bulbs: &[&str]| {
            let bulbs: Vec<Id> = bulbs.iter().map(|bulb| id(bulb)).collect();
            starting_point(&state, &bulbs, day(0))
        };
        let rest = of(&["b_1", "b_2", "b_4"]);
        assert_eq!(rest.now, Now::RestingSince(day(-50)));
        assert_eq!((rest.n_resting, rest.n_in_leaf, rest.n_started), (2, 1, 0));
        assert_eq!(of(&["b_3", "b_4"]).n_started, 1);
        assert_eq!(of(&["b_1", "b_4"]).now, Now::InLeaf);
        assert_eq!(of(&["b_3", "b_4"]).now, Now::InLeaf);
        assert_eq!(of(&[]).now, Now::InLeaf);
    }
}
