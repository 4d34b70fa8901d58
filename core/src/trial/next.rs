//! What to do next with a try.

use std::collections::{BTreeMap, BTreeSet};

use crate::{
    calendar::Date,
    ledger::id::Id,
    nursery::{Bulb, State},
    trial::{
        outcome::{Outcome, Why},
        standing::Standing,
    },
};

/// The next step with a try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// Its groups stand; it waits for its start.
    Start,
    /// It runs and nobody has looked yet: what was drawn is written on labels.
    Label,
    /// So many of its bulbs wait for a look, by place, the most first.
    Walk(Vec<(Id, usize)>),
    /// It runs, and no look would tell more today: its bulbs are at rest, or what was seen has to prove itself.
    Wait,
    /// It is over, or closed.
    Ended,
}

/// The next step with a try that stands like this on a day.
pub fn next(state: &State, stands: &Standing, today: Date) -> Next {
    let Some(run) = state.runs.get(&stands.run) else {
        return Next::Ended;
    };
    if run.closed.is_some() {
        return Next::Ended;
    }
    let units = || stands.groups.iter().flat_map(|group| &group.units);
    if run.started.is_none() {
        return if run.units().is_empty() { Next::Ended } else { Next::Start };
    }
    let fresh = units().next().is_some() && units().all(|unit| unit.last_look.is_none());
    if fresh && !stands.deadline_passed { Next::Label } else { walk(state, stands, today) }
}

fn walk(state: &State, stands: &Standing, today: Date) -> Next {
    let units = stands.groups.iter().flat_map(|group| &group.units);
    let waiting = units.filter(|unit| matches!(unit.outcome, Outcome::Waiting | Outcome::CantSay(Why::NotLookedAt)));
    let bulbs: BTreeSet<Id> = waiting.flat_map(|unit| unit.bulbs.iter().copied()).collect();
    let mut places: BTreeMap<Id, usize> = BTreeMap::new();
    for bulb in bulbs.iter().filter_map(|bulb| state.bulb(bulb)).filter(|bulb| can_be_seen(bulb, today)) {
        if let Some(place) = bulb.place {
            *places.entry(place).or_default() += 1;
        }
    }
    let mut places: Vec<(Id, usize)> =
        places.into_iter().filter(|(place, _)| state.places.contains_key(place)).collect();
    places.sort_by_key(|(place, n)| (std::cmp::Reverse(*n), state.name_of(*place), *place));
    if !places.is_empty() {
        Next::Walk(places)
    } else if stands.total.n_waiting > 0 {
        Next::Wait
    } else {
        Next::Ended
    }
}

/// Whether a look at it would tell something: it is here, out of its rest, and was not looked at today.
fn can_be_seen(bulb: &Bulb, today: Date) -> bool {
    let cycle = bulb.cycle();
    let looked = cycle.last_neck_look().is_some_and(|seen| seen.at.date() >= today);
    bulb.is_here() && !cycle.resting() && !looked
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        testing::{World, day, id},
        trial::standing::standing,
    };

    /// Four bulbs on two benches in a drawn try: a stalk by day 30.
    const TRY: &str = "-9 mia place pl_1 One
        -9 mia place pl_2 Two
        -9 mia lot lo_1 Red
        -9 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
        -9 mia bulb b_4 lo_1 in=pl_2
        -2 mia question tr_1 gr_a,gr_b
        -2 mia group gr_a tr_1 Long control
        -2 mia group gr_b tr_1 Short
        -2 mia run ru_1 tr_1 0 every=7
        -2 mia rule ru_1 by scape-in-sight
        -2 mia due ru_1 30
        -2 mia allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3,b_4";

    fn told(world: &World, on: i64) -> Next {
        let state = world.state();
        let stands = standing(&world.ledger, &state, id("ru_1"), day(on)).unwrap();
        next(&state, &stands, day(on))
    }

    #[test]
    fn lots_are_drawn_then_it_starts_then_labels_then_walks() {
        let mut world = World::of(TRY);
        assert_eq!(told(&world, -1), Next::Start);
        world.add("0 mia cycle-began b_1,b_2,b_3,b_4\n0 mia run-started ru_1");
        assert_eq!(told(&world, 0), Next::Label);
        world.add("9 mia look b_1 clear");
        assert_eq!(told(&world, 9), Next::Walk(vec![(id("pl_1"), 2), (id("pl_2"), 1)]), "one was looked at today");
        assert_eq!(told(&world, 10), Next::Walk(vec![(id("pl_1"), 3), (id("pl_2"), 1)]));
    }

    #[test]
    fn at_rest_no_walk_is_proposed() {
        let mut world = World::of(TRY);
        world.add("0 mia cycle-began b_1,b_2,b_3,b_4\n0 mia run-started ru_1\n1 mia look b_1 clear");
        world.add("2 mia laid-to-rest b_1,b_2,b_3,b_4");
        assert_eq!(told(&world, 9), Next::Wait);
        world.add("20 mia rest-ended b_4");
        assert_eq!(told(&world, 21), Next::Walk(vec![(id("pl_2"), 1)]));
    }

    #[test]
    fn what_is_decided_or_closed_has_ended() {
        let mut world = World::of(TRY);
        world.add("0 mia cycle-began b_1,b_2,b_3,b_4\n0 mia run-started ru_1");
        let mut closed = world.clone();
        closed.add("3 mia run-closed ru_1");
        assert_eq!(told(&closed, 4), Next::Ended);
        assert_eq!(told(&world, 31), Next::Walk(vec![(id("pl_1"), 3), (id("pl_2"), 1)]), "late looks still decide");
        world.add("31 mia look b_1,b_2,b_3,b_4 clear");
        assert_eq!(told(&world, 32), Next::Ended);
    }
}
