//! The order of bulbs on a bench, and how a walk mends it.

use super::{State, walk};
use crate::{
    calendar::Date,
    ledger::{body::BenchOrder, id::Id},
};

/// The bench with a bulb taken out and put where `before` stands, or at the end.
///
/// The answer names every bulb of the place, so that an order is whole from the first time it is set. A bulb that
/// stands elsewhere comes in where it is put.
pub fn put(state: &State, place: Id, bulb: Id, before: Option<Id>) -> BenchOrder {
    let here = state.bulbs_in(place).into_iter().map(|known| known.id);
    let mut bulbs: Vec<Id> = here.filter(|id| *id != bulb).collect();
    let at = before.and_then(|before| bulbs.iter().position(|id| *id == before));
    bulbs.insert(at.unwrap_or(bulbs.len()), bulb);
    BenchOrder { bulbs }
}

/// The order that a first walk sets: the bulbs as they were walked. Nothing where an order stands already, and nothing
/// for a bench of one.
pub fn first_order(state: &State, place: Id) -> Option<BenchOrder> {
    let known = state.places.get(&place)?;
    let bulbs: Vec<Id> = state.bulbs_in(place).iter().map(|bulb| bulb.id).collect();
    let unsaid = known.order.shown().is_none() && !known.order.is_disagreed();
    (unsaid && bulbs.len() > 1).then_some(BenchOrder { bulbs })
}

/// Bulbs that may stand where this one was expected: those of the place not looked at today, nearest after it first.
pub fn others_open(state: &State, place: Id, bulb: Id, today: Date) -> Vec<Id> {
    let bulbs = state.bulbs_in(place);
    let at = bulbs.iter().position(|known| known.id == bulb).map_or(0, |at| at + 1);
    let (before, after) = bulbs.split_at(at.min(bulbs.len()));
    let open = after.iter().chain(before).filter(|known| known.id != bulb);
    open.filter(|known| !walk::looked_at(known, today, &[])).map(|known| known.id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    const BENCH: &str = "0 mia place pl_1 Bench-2
        0 mia place pl_2 Cellar
        0 mia lot lo_1 Red
        0 mia bulb b_1 lo_1 in=pl_1
        0 mia bulb b_2 lo_1 in=pl_1
        0 mia bulb b_3 lo_1 in=pl_1
        0 mia bulb b_9 lo_1 in=pl_2
        0 mia own b_1 a
        0 mia own b_2 b
        0 mia own b_3 c
        0 mia own b_9 z";

    fn ids(names: &[&str]) -> Vec<Id> {
        names.iter().map(|name| id(name)).collect()
    }

    #[test]
    fn a_bulb_is_put_before_another_at_the_end_or_in_from_elsewhere() {
        let state = World::of(BENCH).state();
        let place = id("pl_1");
        let put = |bulb, before: Option<&str>| put(&state, place, id(bulb), before.map(id)).bulbs;
        assert_eq!(put("b_3", Some("b_1")), ids(&["b_3", "b_1", "b_2"]));
        assert_eq!(put("b_1", None), ids(&["b_2", "b_3", "b_1"]));
        assert_eq!(put("b_9", Some("b_2")), ids(&["b_1", "b_9", "b_2", "b_3"]));
        // A bulb that is not on the bench is no place to put another at.
        assert_eq!(put("b_1", Some("b_9")), ids(&["b_2", "b_3", "b_1"]));
    }

    #[test]
    fn only_a_first_walk_sets_the_order() {
        let mut world = World::of(BENCH);
        let state = world.state();
        assert_eq!(first_order(&state, id("pl_1")).map(|order| order.bulbs), Some(ids(&["b_1", "b_2", "b_3"])));
        assert_eq!(first_order(&state, id("pl_2")), None, "a bench of one");
        world.add("1 mia json pl_1 bench-order {\"bulbs\":[\"b_3\",\"b_1\"]}");
        let state = world.state();
        assert_eq!(first_order(&state, id("pl_1")), None);
        let order: Vec<Id> = state.bulbs_in(id("pl_1")).iter().map(|bulb| bulb.id).collect();
        assert_eq!(order, ids(&["b_3", "b_1", "b_2"]));
    }

    #[test]
    fn the_next_open_bulbs_are_offered_first() {
        let world = World::of(BENCH).and("5 mia look b_3 clear");
        let state = world.state();
        let open = |bulb, on| others_open(&state, id("pl_1"), id(bulb), day(on));
        assert_eq!(open("b_2", 5), ids(&["b_1"]));
        assert_eq!(open("b_2", 6), ids(&["b_3", "b_1"]));
    }
}
