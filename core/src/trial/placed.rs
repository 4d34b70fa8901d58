//! The drawn groups where their units stand: what one takes along the benches to put the labels in.

use std::collections::BTreeSet;

use crate::{
    ledger::{body::Unit, id::Id},
    nursery::{State, state::Run},
};

/// One unit on the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Bulb or container.
    pub unit: Id,
    /// Its group, by its place in the order of the groups.
    pub group: usize,
}

/// The units of a run by place in order of the places' names, in each as they stand on the bench; a container stands
/// where its first bulb does. What is not here any more, or stands nowhere, comes last, under no place.
pub fn by_place(state: &State, run: &Run) -> Vec<(Option<Id>, Vec<Placed>)> {
    let Some(allotment) = run.allotment.settled() else {
        return Vec::new();
    };
    let mut left: BTreeSet<Id> = allotment.units.iter().copied().collect();
    let group = |unit: Id| {
        let at = allotment.units.iter().position(|known| *known == unit)?;
        allotment.arms.get(at).map(|arm| *arm as usize)
    };
    let mut list = Vec::new();
    for place in state.place_rows() {
        let mut rows = Vec::new();
        for bulb in state.bulbs_in(place.id) {
            let unit = match allotment.unit {
                Unit::Bulb => left.iter().find(|unit| bulb.is(**unit)).copied(),
                Unit::Container => bulb.container.map(|(container, _)| container),
            };
            let Some(unit) = unit.filter(|unit| left.remove(unit)) else {
                continue;
            };
            rows.extend(group(unit).map(|group| Placed { unit, group }));
        }
        if !rows.is_empty() {
            list.push((Some(place.id), rows));
        }
    }
    let mut rest: Vec<Placed> =
        left.into_iter().filter_map(|unit| group(unit).map(|group| Placed { unit, group })).collect();
    rest.sort_by_key(|row| (state.name_of(row.unit), row.unit));
    if !rest.is_empty() {
        list.push((None, rest));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    const NURSERY: &str = "0 mia place pl_1 Bench
        0 mia place pl_2 Attic
        0 mia lot lo_1 Red
        0 mia bulb b_1 lo_1 in=pl_1
        0 mia bulb b_2 lo_1 in=pl_1
        0 mia bulb b_3 lo_1 in=pl_2
        0 mia bulb b_4 lo_1 in=pl_1
        0 mia json pl_1 bench-order {\"bulbs\":[\"b_4\",\"b_2\",\"b_1\"]}
        1 mia question tr_1 gr_a,gr_b
        1 mia run ru_1 tr_1 0 every=7";

    type Listed = (Option<Id>, Vec<(Id, usize)>);

    fn list(world: &World) -> Vec<Listed> {
        let state = world.state();
        let list = by_place(&state, &state.runs[&id("ru_1")]).into_iter();
        list.map(|(place, rows)| (place, rows.iter().map(|row| (row.unit, row.group)).collect())).collect()
    }

    #[test]
    fn bulbs_stand_by_place_in_bench_order_and_gone_ones_last() {
        let world = World::of(NURSERY).and("1 mia allot ru_1 drawn gr_a=b_1,b_3 gr_b=b_2,b_4\n2 mia died b_2");
        let expected = [
            (Some(id("pl_2")), vec![(id("b_3"), 0)]),
            (Some(id("pl_1")), vec![(id("b_4"), 1), (id("b_1"), 0)]),
            (None, vec![(id("b_2"), 1)]),
        ];
        assert_eq!(list(&world), expected);
    }

    #[test]
    fn a_container_stands_once_where_its_first_bulb_does() {
        let world = World::of(NURSERY).and(
            "1 mia container co_1 T1
             1 mia container co_2 T2
             1 mia potted b_1,b_4 container=co_1
             1 mia potted b_2 container=co_2
             1 mia allot ru_1 drawn container gr_a=co_1 gr_b=co_2",
        );
        let rows = vec![(id("co_1"), 0), (id("co_2"), 1)];
        assert_eq!(list(&world), [(Some(id("pl_1")), rows)]);
    }
}
