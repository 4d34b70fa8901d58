//! What a walk leaves behind: what it found, what to see again and when, and where to walk next.

use super::due::{due, next_look, see_again_on};
use crate::{
    calendar::Date,
    counted::Counted,
    ledger::{body::Look, id::Id},
    nursery::{Bulb, Fate, State, walk},
};

/// A place after its walk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AfterWalk<'a> {
    /// Bulbs of the place, in bench order.
    pub bulbs: Vec<Id>,
    /// How many of them the walk asked for.
    pub n_asked: usize,
    /// What is new today, in bench order; bulbs found blind stand by themselves.
    pub news: Vec<(Id, &'a Look)>,
    /// For which bulbs something ended today, kind by kind; kinds without a bulb are left out.
    pub ended: Vec<(Ended, Vec<Id>)>,
    /// Unsure shoots to see again, with the day, the next one first.
    pub again: Vec<Again>,
    /// The next day on which a running try asks for a look here.
    pub next_walk: Option<Date>,
    /// Another place that waits for a walk today.
    pub next_place: Option<Id>,
}

/// What may end for a bulb in a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// Its growth cycle, without a scape; it stands where it stood.
    Blind,
    /// It died.
    Died,
    /// It was not found.
    Missing,
    /// It was sold, given or withdrawn.
    Left,
}

impl Ended {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 4] = [Self::Blind, Self::Died, Self::Missing, Self::Left];

    fn of(bulb: &Bulb, today: Date) -> Option<Self> {
        let ended = match bulb.fate {
            Fate::Here => return bulb.blind_since().filter(|on| *on == today).map(|_| Self::Blind),
            Fate::Died { .. } => Self::Died,
            Fate::Missing { .. } => Self::Missing,
            Fate::Left { .. } => Self::Left,
        };
        (bulb.fate.since() == Some(today)).then_some(ended)
    }
}

/// A shoot to see again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Again {
    /// The bulb.
    pub bulb: Id,
    /// The shoot.
    pub shoot: Id,
    /// The day.
    pub on: Date,
}

impl AfterWalk<'_> {
    /// Bulbs that show nothing new.
    pub fn n_as_before(&self) -> usize {
        let n_blind: usize = self.ended.iter().filter(|(kind, _)| *kind == Ended::Blind).map(|(_, of)| of.len()).sum();
        self.n_asked.saturating_sub(self.news.len() + n_blind)
    }
}

/// A place after its walk of today.
pub fn after_walk(state: &State, place: Id, today: Date) -> AfterWalk<'_> {
    let here = state.bulbs_in(place);
    let again = |bulb: &&crate::nursery::Bulb| {
        let (shoot, on) = see_again_on(bulb)?;
        Some(Again { bulb: bulb.id, shoot, on })
    };
    let mut again: Vec<Again> = here.iter().filter_map(again).collect();
    again.sort_by_key(|again| again.on);
    let next = |bulb: &&crate::nursery::Bulb| {
        let run = state.runs.get(&state.running(bulb)?)?;
        let cycle = bulb.cycle();
        let (first, _) = next_look(run, bulb, cycle.rest_ended_on()).filter(|_| !cycle.resting())?;
        Some(first)
    };
    let next_walk = here.iter().filter_map(next).filter(|on| *on > today).min();
    let waiting = due(state, today).places.into_iter().filter(|at| at.place != Some(place));
    let next_place = waiting.filter(|at| at.jobs.iter().any(|at| at.job.is_look())).find_map(|at| at.place);
    let ended = ended(state, place, &here, today);
    let blind = |id: &Id| ended.iter().any(|(kind, of)| *kind == Ended::Blind && of.contains(id));
    let mut news = walk::news(state, place, today);
    news.retain(|(id, _)| !blind(id));
    AfterWalk {
        bulbs: here.iter().map(|bulb| bulb.id).collect(),
        n_asked: here.iter().filter(|bulb| walk::was_asked(bulb, today)).count(),
        news,
        ended,
        again,
        next_walk,
        next_place,
    }
}

/// What ended today for bulbs of a place: those that stand there in bench order, those that are gone by name.
fn ended(state: &State, place: Id, here: &[&Bulb], today: Date) -> Vec<(Ended, Vec<Id>)> {
    let mut gone: Vec<&Bulb> =
        state.bulbs.values().filter(|bulb| !bulb.is_here() && bulb.place == Some(place)).collect();
    gone.sort_by_key(|bulb| (Counted(bulb.label()), bulb.id));
    let all: Vec<(Ended, Id)> =
        here.iter().chain(&gone).filter_map(|bulb| Some((Ended::of(bulb, today)?, bulb.id))).collect();
    let of = |wanted: Ended| -> Vec<Id> { all.iter().filter(|(kind, _)| *kind == wanted).map(|(_, id)| *id).collect() };
    Ended::ALL.into_iter().map(|kind| (kind, of(kind))).filter(|(_, bulbs)| !bulbs.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn a_walk_leaves_what_is_new_what_to_see_again_and_where_to_go_next() {
        let world = World::of(
            "-9 mia place pl_1 Bench-1
             -9 mia place pl_2 Bench-2
             -9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2 lo_1 in=pl_1
             -9 mia bulb b_3,b_4 lo_1 in=pl_2
             -2 mia question tr_1 gr_a,gr_b
             -2 mia group gr_a tr_1 Long control
             -2 mia group gr_b tr_1 Short
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 100
             -2 mia allot ru_1 drawn gr_a=b_1,b_3 gr_b=b_2,b_4
             0 mia cycle-began b_1,b_2,b_3,b_4
             0 mia run-started ru_1
             1 mia look b_1,b_2,b_3,b_4 clear
             8 mia look b_1 clear
             8 mia look b_2 sh_2/unknown/shoot",
        );
        let state = world.state();
        let after = after_walk(&state, id("pl_1"), day(8));
        assert_eq!(after.news.iter().map(|(bulb, _)| *bulb).collect::<Vec<_>>(), [id("b_2")]);
        assert_eq!(after.n_as_before(), 1);
        assert_eq!(after.again, [Again { bulb: id("b_2"), shoot: id("sh_2"), on: day(12) }]);
        assert_eq!((after.next_walk, after.next_place), (Some(day(15)), Some(id("pl_2"))));
        // At rest nobody walks: what is in the dark is inspected.
        let resting = world.and("8 mia laid-to-rest b_1,b_2").state();
        assert_eq!(after_walk(&resting, id("pl_1"), day(8)).next_walk, None);
        assert_eq!(after_walk(&resting, id("pl_2"), day(8)).next_place, None);
    }

    #[test]
    fn a_walk_ends_with_those_that_died_are_missing_or_blind_too() {
        let world = World::of(
            "-9 mia place pl_1 Bench-1
             -9 mia place pl_2 Bench-2
             -9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8 lo_1 in=pl_1
             -9 mia bulb b_9 lo_1 in=pl_2
             0 mia cycle-began b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8
             1 mia look b_1,b_2,b_4,b_7 clear
             1 mia look b_3 sh_3/unknown/shoot
             1 mia cycle-ended b_7
             1 mia died b_8
             8 mia look b_1,b_2,b_3 clear
             8 mia look b_4 sh_4/scape/scape-in-sight
             8 mia cycle-ended b_2,b_3
             8 mia died b_5,b_9
             8 mia missing b_6",
        );
        let after = after_walk_of(&world, 8);
        // Blind since an earlier day, the seventh was not asked for; the ninth died elsewhere, the eighth long ago.
        let ids = |names: &[&str]| names.iter().map(|name| id(name)).collect::<Vec<_>>();
        let ended =
            [(Ended::Blind, ids(&["b_2", "b_3"])), (Ended::Died, ids(&["b_5"])), (Ended::Missing, ids(&["b_6"]))];
        assert_eq!(after.1, ended);
        assert_eq!(after.0, [5, 4, 1], "here, asked for, as before");
        // The shoot that is gone from the third is no news beside its being blind.
        assert_eq!(after.2, ids(&["b_4"]));
    }

    #[allow(clippy::type_complexity, reason = "what a test compares, in one go")]
    fn after_walk_of(world: &World, today: i64) -> ([usize; 3], Vec<(Ended, Vec<Id>)>, Vec<Id>) {
        let state = world.state();
        let after = after_walk(&state, id("pl_1"), day(today));
        let counts = [after.bulbs.len(), after.n_asked, after.n_as_before()];
        (counts, after.ended, after.news.iter().map(|(bulb, _)| *bulb).collect())
    }

    #[test]
    fn after_a_day_nothing_of_it_is_told_again() {
        let world = World::of(
            "-9 mia place pl_1 Bench-1\n-9 mia lot lo_1 Red\n-9 mia bulb b_1,b_2 lo_1 in=pl_1
             1 mia look b_1 clear\n1 mia cycle-ended b_1\n1 mia died b_2",
        );
        assert_eq!(after_walk_of(&world, 2), ([1, 0, 0], Vec::new(), Vec::new()));
    }
}
