//! The course of a walk: where one stands on the bench, who stands beside, what is still open.

use super::{
    State,
    walk::{Answer, is_asked, looked_at},
};
use crate::{
    calendar::Date,
    ledger::id::{EntryId, Id},
};

/// So many equal answers one after another, each within [`HURRY_MS`] of the one before, are given without looking.
pub const HURRY_ANSWERS: usize = 5;
/// Between two taps of somebody who hardly looks, in ms.
pub const HURRY_MS: f64 = 1000.0;

/// Where somebody stands in a walk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stand {
    /// Before the first bulb.
    #[default]
    Begin,
    /// At this bulb, looked at or not.
    At(Id),
    /// Past this bulb: the next one open after it, then those that were passed by.
    Past(Id),
}

/// How far a walk has come.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Course {
    /// Bulbs in the place.
    pub n_bulbs: usize,
    /// Of them looked at today.
    pub n_done: usize,
    /// Of them not asked for, because they are blind.
    pub n_blind: usize,
    /// The bulb to look at now; nothing when all were.
    pub now: Option<Id>,
    /// Its place on the bench, from 1.
    pub ordinal: usize,
    /// The bulb that stands before it.
    pub before: Option<Id>,
    /// The bulb that stands after it.
    pub after: Option<Id>,
    /// In bench order, whether each was looked at or need not be.
    pub looked: Vec<bool>,
}

/// One cell of the progress of a walk: a bulb, or several neighbours where there are too many bulbs for a cell each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cell {
    /// Bulbs in it.
    pub n_bulbs: usize,
    /// Of them looked at, or not asked for.
    pub n_done: usize,
    /// Whether the bulb to look at now is in it.
    pub here: bool,
}

impl Course {
    /// How many a walk asks for.
    pub fn n_asked(&self) -> usize {
        self.n_bulbs - self.n_blind
    }

    /// The bench as cells, at most so many.
    pub fn cells(&self, most: usize) -> Vec<Cell> {
        let size = self.n_bulbs.div_ceil(most.max(1)).max(1);
        let here = self.now.map(|_| self.ordinal.saturating_sub(1) / size);
        let cells = self.looked.chunks(size).enumerate();
        cells
            .map(|(at, looked)| Cell {
                n_bulbs: looked.len(),
                n_done: looked.iter().filter(|done| **done).count(),
                here: here == Some(at),
            })
            .collect()
    }
}

/// The course of a walk: bulbs in bench order that have no look of today and no look of this walk. A blind bulb stands on
/// the bench and is not asked for.
///
/// `given` are the looks of this walk, which count whatever day the clock has come to since.
pub fn course(state: &State, place: Id, today: Date, given: &[EntryId], stand: Stand) -> Course {
    let bulbs = state.bulbs_in(place);
    let looked: Vec<bool> = bulbs.iter().map(|bulb| !is_asked(bulb, today, given)).collect();
    let n_done = bulbs.iter().filter(|bulb| looked_at(bulb, today, given)).count();
    let place_of = |id: Id| bulbs.iter().position(|bulb| bulb.is(id));
    let open_from = |from: usize| (from..looked.len()).chain(0..from).find(|at| !looked[*at]);
    let at = match stand {
        Stand::Begin => open_from(0),
        Stand::At(id) => place_of(id).or_else(|| open_from(0)),
        Stand::Past(id) => open_from(place_of(id).map_or(0, |at| at + 1)),
    };
    let bulb = |at: Option<usize>| at.and_then(|at| bulbs.get(at)).map(|bulb| bulb.id);
    Course {
        n_bulbs: bulbs.len(),
        n_done,
        n_blind: looked.iter().filter(|done| **done).count() - n_done,
        now: bulb(at),
        ordinal: at.map_or(0, |at| at + 1),
        before: bulb(at.and_then(|at| at.checked_sub(1))),
        after: bulb(at.map(|at| at + 1)),
        looked,
    }
}

/// Whether the last answers, each with its moment in ms, were all the same and given one upon the other.
pub fn is_hurried(answers: &[(Answer, f64)]) -> bool {
    let last = answers.len().checked_sub(HURRY_ANSWERS).and_then(|from| answers.get(from..));
    last.is_some_and(|last| last.windows(2).all(|two| two[0].0 == two[1].0 && two[1].1 - two[0].1 <= HURRY_MS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    /// Five bulbs on a bench, the third looked at on day 5.
    fn bench() -> State {
        World::of(
            "0 mia place pl_1 Bench-2
             0 mia lot lo_1 Red
             0 mia bulb b_1,b_2,b_3,b_4,b_5 lo_1 in=pl_1
             5 mia look b_3 clear",
        )
        .state()
    }

    fn at(stand: Stand) -> Course {
        course(&bench(), id("pl_1"), day(5), &[], stand)
    }

    #[test]
    fn a_walk_begins_with_the_first_open_bulb_and_goes_on_past_the_one_answered() {
        let first = at(Stand::Begin);
        assert_eq!((first.now, first.ordinal, first.n_done), (Some(id("b_1")), 1, 1));
        assert_eq!((first.before, first.after), (None, Some(id("b_2"))));
        // The third was looked at; past the last the bulbs that were passed by are asked for.
        assert_eq!(at(Stand::Past(id("b_2"))).now, Some(id("b_4")));
        assert_eq!(at(Stand::Past(id("b_5"))).now, Some(id("b_1")));
        // A bulb that is no longer on the bench is no place to go on from.
        assert_eq!(at(Stand::Past(id("b_9"))).now, Some(id("b_1")));
    }

    #[test]
    fn a_blind_bulb_is_not_asked_for_and_one_may_stand_at_it() {
        let records = "0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
             4 mia look b_2 clear\n4 mia cycle-ended b_2";
        let world = World::of(records);
        let at = |world: &World, stand: Stand| course(&world.state(), id("pl_1"), day(5), &[], stand);
        let past = at(&world, Stand::Past(id("b_1")));
        assert_eq!((past.now, past.before), (Some(id("b_3")), Some(id("b_2"))));
        assert_eq!((past.n_bulbs, past.n_asked(), past.n_done), (3, 2, 0));
        assert_eq!(at(&world, Stand::At(id("b_2"))).now, Some(id("b_2")));
        // On the day itself it was looked at, like any other.
        let same_day = course(&world.state(), id("pl_1"), day(4), &[], Stand::Begin);
        assert_eq!((same_day.n_asked(), same_day.n_done), (3, 1));
        let walked = world.and("5 mia look b_1,b_3 clear");
        let end = at(&walked, Stand::Begin);
        assert_eq!((end.now, end.n_done, end.n_asked()), (None, 2, 2));
        // Laid to rest it is asked for again.
        let rests = World::of(records).and("5 mia cycle-began b_2");
        assert_eq!(at(&rests, Stand::Past(id("b_1"))).now, Some(id("b_2")));
    }

    #[test]
    fn one_may_stand_at_any_bulb_of_the_bench() {
        let third = at(Stand::At(id("b_3")));
        assert_eq!((third.now, third.ordinal), (Some(id("b_3")), 3));
        assert_eq!((third.before, third.after), (Some(id("b_2")), Some(id("b_4"))));
        assert_eq!(at(Stand::At(id("b_5"))).after, None);
        assert_eq!(at(Stand::At(id("b_9"))).now, Some(id("b_1")));
    }

    #[test]
    fn where_all_were_looked_at_a_walk_is_at_its_end() {
        let state =
            World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1\n5 mia look b_1 clear")
                .state();
        let end = course(&state, id("pl_1"), day(5), &[], Stand::Past(id("b_1")));
        assert_eq!((end.now, end.ordinal, end.n_done, end.after), (None, 0, 1, None));
        assert_eq!(course(&state, id("pl_9"), day(5), &[], Stand::Begin), Course::default());
    }

    #[test]
    fn every_bulb_has_a_cell_until_there_are_too_many() {
        let all = at(Stand::Past(id("b_3")));
        let cells = all.cells(5);
        assert_eq!(cells.len(), 5);
        assert_eq!(cells[2], Cell { n_bulbs: 1, n_done: 1, here: false });
        assert!(cells[3].here);
        // Two bulbs a cell, the last one alone.
        let few = all.cells(3);
        assert_eq!(few.iter().map(|cell| (cell.n_bulbs, cell.n_done)).collect::<Vec<_>>(), [(2, 0), (2, 1), (1, 0)]);
        assert_eq!(few.iter().position(|cell| cell.here), Some(1));
        assert!(all.cells(0).len() == 1 && Course::default().cells(9).is_empty());
    }

    #[test]
    fn five_equal_answers_within_a_second_each_are_a_hurry() {
        let answers = |gap: f64| -> Vec<(Answer, f64)> { (0..6).map(|n| (Answer::Same, f64::from(n) * gap)).collect() };
        assert!(is_hurried(&answers(900.0)));
        assert!(!is_hurried(&answers(1100.0)));
        assert!(!is_hurried(&answers(900.0)[..4]));
        let mut mixed = answers(900.0);
        mixed[3].0 = Answer::Stalk;
        assert!(!is_hurried(&mixed));
    }
}
