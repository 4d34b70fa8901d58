//! For which bulbs something is recorded: one, a container's, a place's, or those of a group of a run.

use crate::{
    ledger::id::{Id, Noun},
    nursery::{Bulb, State},
};

/// The bulbs that are here of a subject, in the order in which they stand.
///
/// `group` narrows a run down to one of its groups.
pub fn bulbs_of(state: &State, subject: Id, group: Option<Id>) -> Vec<&Bulb> {
    if subject.is(Noun::Bulb) {
        return state.bulb(&subject).into_iter().collect();
    }
    if subject.is(Noun::Place) {
        return state.bulbs_in(subject);
    }
    if subject.is(Noun::Container) {
        return state.bulbs_in_container(subject);
    }
    let Some(run) = state.runs.get(&subject) else {
        return Vec::new();
    };
    let Some(allotment) = run.allotment.settled() else {
        return Vec::new();
    };
    let wanted = |arm: u32| group.is_none() || allotment.groups.get(arm as usize).copied() == group;
    let units = allotment.units.iter().zip(&allotment.arms).filter(|(_, arm)| wanted(**arm));
    // Bulbs that were taken out of a container since stay in the group that they started in.
    let bulbs = units.flat_map(|(unit, _)| match run.started {
        Some(start) => state.bulbs_of_unit_on(*unit, start),
        None => state.bulbs_of_unit(*unit),
    });
    bulbs.filter(|bulb| bulb.is_here()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    #[test]
    fn a_bulb_taken_out_of_its_pot_stays_in_its_group() {
        let world = World::of(
            "-9 mia lot lo_1 Red
             -9 mia container co_1 Pot-1
             -9 mia bulb b_1,b_2 lo_1
             -9 mia potted b_1,b_2 container=co_1
             -2 mia run ru_1 tr_1 0
             -2 mia allot ru_1 hand container gr_a=co_1
             0 mia run-started ru_1
             9 mia unpotted b_1",
        );
        let state = world.state();
        assert_eq!(bulbs_of(&state, id("ru_1"), None).len(), 2);
        assert_eq!(bulbs_of(&state, id("co_1"), None).len(), 1);
    }

    #[test]
    fn a_group_is_its_bulbs_that_are_here() {
        let world = World::of(
            "-9 mia place pl_1 Cellar
             -9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1 in=pl_1
             -9 mia bulb b_2 lo_1 in=pl_1
             -9 mia bulb b_3 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia allot ru_1 hand gr_a=b_1,b_3 gr_b=b_2
             1 mia died b_3",
        );
        let state = world.state();
        let ids = |subject: &str, group: Option<&str>| -> Vec<Id> {
            bulbs_of(&state, id(subject), group.map(id)).iter().map(|bulb| bulb.id).collect()
        };
        assert_eq!(ids("ru_1", Some("gr_a")), [id("b_1")]);
        assert_eq!(ids("ru_1", None), [id("b_1"), id("b_2")]);
        assert_eq!(ids("pl_1", None), [id("b_1"), id("b_2")]);
        assert_eq!(ids("b_3", None), [id("b_3")]);
        assert!(ids("ru_9", None).is_empty());
    }
}
