//! Records that cannot all be true: of what became of a bulb, or of what its looks showed.
//!
//! None is chosen silently. They stand beside each other until someone says which holds; that writes what holds once
//! more and takes the others back, so that two phones that settle it differently disagree again.

use super::{Bulb, State};
use crate::{
    calendar::Happened,
    error::{Error, Result},
    ledger::{
        Ledger,
        body::{Body, TakeBack},
        entry::Draft,
        id::{EntryId, Id},
    },
};

/// Records of one bulb that exclude each other.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Contrary {
    /// The bulb.
    pub bulb: Id,
    /// What they are about.
    pub matter: Matter,
    /// Records that agree with one another and contradict all others, each with at least one, in order.
    pub sides: Vec<Vec<EntryId>>,
}

/// What contrary records are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// What became of it.
    End,
    /// How far it was.
    Looks,
}

/// What is contrary about a bulb, looks of every cycle included.
pub(super) fn of(bulb: &Bulb) -> Vec<Contrary> {
    let contrary = |matter, sides| Contrary { bulb: bulb.id, matter, sides };
    let mut all = Vec::new();
    if bulb.end_is_disputed() {
        let mut sides: Vec<(&super::bulb::End, Vec<EntryId>)> = Vec::new();
        for end in &bulb.ends {
            match sides.iter_mut().find(|(known, _)| known.says_as(end)) {
                Some((_, side)) => side.push(end.entry),
                None => sides.push((end, vec![end.entry])),
            }
        }
        let sides = sides.into_iter().map(|(_, side)| side);
        all.push(contrary(Matter::End, sides.collect()));
    }
    let looks = bulb.cycles.iter().filter_map(|cycle| cycle.contrary_looks());
    all.extend(looks.map(|sides| contrary(Matter::Looks, sides.into())));
    all
}

/// What says that one side holds: its records once more, and the others taken back for this bulb.
///
/// # Errors
///
/// When the records are not those that contradict each other now.
pub(crate) fn settle(
    ledger: &Ledger,
    state: &State,
    now: &Happened,
    contrary: &Contrary,
    side: usize,
) -> Result<Vec<Draft>> {
    let chosen = contrary.sides.get(side);
    let chosen = chosen.filter(|_| state.contraries_of(contrary.bulb).contains(contrary));
    let (Some(chosen), Some(bulb)) = (chosen, state.bulb(&contrary.bulb)) else {
        return Err(Error::new("those records no longer contradict each other; look at the list again"));
    };
    let mut drafts = Vec::new();
    let mut others: Vec<EntryId> = Vec::new();
    for (nth, entries) in contrary.sides.iter().enumerate() {
        if nth != side {
            others.extend(entries);
        }
    }
    for id in chosen {
        let Some(entry) = ledger.get(*id) else {
            continue;
        };
        let mut again = Draft::new(about(bulb, ledger, &[*id]), entry.envelope.happened.clone(), entry.body.clone());
        again.slot.clone_from(&entry.envelope.slot);
        again.supersedes = vec![*id];
        drafts.push(again);
    }
    others.sort();
    let mut back = Draft::new(about(bulb, ledger, &others), now.clone(), Body::TakeBack(TakeBack { why: None }));
    back.supersedes = others;
    drafts.push(back);
    Ok(drafts)
}

/// The ids of the bulb that these entries are about.
fn about(bulb: &Bulb, ledger: &Ledger, entries: &[EntryId]) -> Vec<Id> {
    let named = |id: &Id| {
        let mut entries = entries.iter().filter_map(|entry| ledger.get(*entry));
        entries.any(|entry| entry.envelope.about.contains(id))
    };
    bulb.ids().into_iter().filter(named).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        ledger::id::Ids,
        nursery::Fate,
        record::{Command, Moment, record},
        testing::{World, day, id},
    };

    const START: &str = "0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1,b_2 lo_1 in=pl_1\n";

    fn settle(world: &mut World, who: &str, side: usize) -> Vec<EntryId> {
        let contrary = world.state().contraries().next().cloned().unwrap();
        write(world, who, Command::SettleContrary { contrary, side })
    }

    fn write(world: &mut World, who: &str, command: Command) -> Vec<EntryId> {
        let mut moment = Moment { now: Happened::on(day(9)), ids: Ids::new([1; 32]) };
        let drafts = record(command, &world.ledger, &world.state(), &mut moment).unwrap();
        world.save(who, drafts)
    }

    /// The world of these lines in both orders of arrival.
    fn both_ways(one: &str, other: &str) -> [World; 2] {
        [World::of(START).and(one).and(other), World::of(START).and(other).and(one)]
    }

    #[test]
    fn sold_on_one_phone_and_died_on_the_other_is_offered_and_settled() {
        let sold = "s: 5 mia left b_1,b_2 how=sold stage=spathe-split";
        for died in ["d: 5 ben died b_1 cause=rot", "d: 3 ben died b_1", "d: 7 ben died b_1", "d: 5 ben missing b_1"] {
            for mut world in both_ways(sold, died) {
                let state = world.state();
                let [contrary] = state.contraries().collect::<Vec<_>>()[..] else {
                    panic!("one disagreement about the end of b_1: {died}");
                };
                assert_eq!((contrary.bulb, contrary.matter), (id("b_1"), Matter::End));
                let mut sides = contrary.sides.concat();
                sides.sort();
                let mut said = vec![world.named("s"), world.named("d")];
                said.sort();
                assert_eq!(sides, said);
                let s = world.named("s");
                let at = contrary.sides.iter().position(|side| side.contains(&s)).unwrap();
                let written = settle(&mut world, "mia", at);
                let state = world.state();
                assert!(matches!(state.bulbs[&id("b_1")].fate, Fate::Left { .. }));
                assert!(matches!(state.bulbs[&id("b_2")].fate, Fate::Left { .. }));
                assert_eq!(state.contraries().count(), 0);
                // Taken back, both stand again.
                write(&mut world, "mia", Command::TakeBack { entries: written, why: None });
                assert_eq!(world.state().contraries().count(), 1);
            }
        }
    }

    #[test]
    fn what_two_phones_settle_differently_disagrees_again() {
        let world = World::of(START).and("5 mia left b_1 how=sold\n5 ben died b_1");
        let (mut one, mut other) = (world.clone(), world);
        settle(&mut one, "mia", 0);
        settle(&mut other, "ben", 1);
        for entry in other.ledger.arrived() {
            one.ledger.insert(std::sync::Arc::clone(entry));
        }
        let state = one.state();
        assert_eq!(state.contraries().count(), 1);
        assert!(!state.bulbs[&id("b_1")].is_here());
    }

    #[test]
    fn the_same_end_on_two_phones_is_no_contradiction() {
        let world = World::of(START).and("5 mia left b_1 how=sold\n5 ben left b_1 how=sold");
        assert_eq!(world.state().contraries().count(), 0);
    }

    #[test]
    fn a_flower_and_nothing_new_on_one_day_is_offered_and_settled() {
        let stalk = "2 mia look b_1 sh_1/scape/scape-in-sight\n";
        let flower = "f: 5 ben look b_1 sh_1/scape/first-flower-open";
        let same = "n: 5 mia look b_1 sh_1/scape/scape-in-sight";
        let mut n_contrary = 0;
        for mut world in both_ways(&format!("{stalk}{flower}"), same) {
            // Written after the flower, the look denies it; written before, both are true.
            let state = world.state();
            let Some(contrary) = state.contraries().next().cloned() else {
                continue;
            };
            n_contrary += 1;
            assert_eq!(contrary.matter, Matter::Looks);
            assert_eq!(contrary.sides, [vec![world.named("f")], vec![world.named("n")]]);
            for side in [0, 1] {
                let mut world = world.clone();
                settle(&mut world, "ben", side);
                let state = world.state();
                assert_eq!(state.contraries().count(), 0);
                let reach = state.bulbs[&id("b_1")].cycle().reach(crate::ledger::body::GoalStage::FirstFlower);
                assert!(!reach.contradicted);
                assert_eq!(reach.with, (side == 0).then(|| day(5)));
            }
            // Settled already, it is not settled once more.
            settle(&mut world, "ben", 0);
            let command = Command::SettleContrary { contrary, side: 1 };
            let mut moment = Moment { now: Happened::on(day(9)), ids: Ids::new([2; 32]) };
            assert!(record(command, &world.ledger, &world.state(), &mut moment).is_err());
        }
        assert!(n_contrary > 0);
    }

    #[test]
    fn a_record_about_many_is_taken_back_for_one() {
        let mut world = World::of(START).and("2 mia look b_1 sh_1/scape/spathe-split\n5 ben sweep b_1,b_2 pl_1");
        settle(&mut world, "mia", 0);
        let state = world.state();
        assert_eq!(state.bulbs[&id("b_1")].cycle().looks.len(), 1);
        assert_eq!(state.bulbs[&id("b_2")].cycle().looks.len(), 1);
    }
}
