//! Saying which of contrary records of a bulb holds.

use crate::{
    calendar::Happened,
    error::{Error, Result},
    ledger::{
        Ledger,
        body::{Body, Proof, ShootKind, TakeBack},
        entry::Draft,
        id::{EntryId, Id},
    },
    nursery::{
        Bulb, State,
        contrary::{Contrary, Matter},
    },
    refusal::RecordRefusal,
};

/// What says that one side holds: its records once more, and the others taken back for this bulb; of a shoot a proof in
/// place of those there are.
///
/// # Errors
///
/// When the records are not those that contradict each other now.
pub(super) fn settle(
    ledger: &Ledger,
    state: &State,
    now: &Happened,
    contrary: &Contrary,
    side: usize,
) -> Result<Vec<Draft>> {
    let chosen = contrary.sides.get(side);
    let chosen = chosen.filter(|_| state.contraries_of(contrary.bulb).contains(contrary));
    let (Some(chosen), Some(bulb)) = (chosen, state.bulb(&contrary.bulb)) else {
        return Err(Error::new(RecordRefusal::NoLongerContrary));
    };
    if let Matter::Shoot(shoot) = contrary.matter {
        let kind = if side == 0 { ShootKind::Scape } else { ShootKind::Leaf };
        let mut proof = Draft::new(bulb.ids(), now.clone(), Body::Proof(Proof { shoot, kind }));
        let proofs = contrary.sides.iter().flatten().filter(|id| {
            let entry = ledger.get(**id);
            entry.is_some_and(|entry| matches!(entry.body, Body::Proof(_)))
        });
        proof.supersedes = proofs.copied().collect();
        return Ok(vec![proof]);
    }
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
    fn a_stalk_and_a_leaf_on_one_day_is_offered_and_settled_by_a_proof() {
        let shoot = "2 mia look b_1 sh_1/unknown/shoot\n";
        let stalk = "s: 5 mia look b_1 sh_1/scape/scape-in-sight";
        let leaf = "l: 5 ben look b_1 sh_1/leaf/shoot";
        let kind = |world: &World| world.state().bulbs[&id("b_1")].cycle().shoots[0].kind;
        for world in both_ways(&format!("{shoot}{stalk}"), leaf) {
            let state = world.state();
            let [contrary] = state.contraries().collect::<Vec<_>>()[..] else {
                panic!("one disagreement about the shoot");
            };
            assert_eq!((contrary.bulb, contrary.matter), (id("b_1"), Matter::Shoot(id("sh_1"))));
            assert_eq!(contrary.sides, [vec![world.named("s")], vec![world.named("l")]]);
            for (side, settled) in [(0, ShootKind::Scape), (1, ShootKind::Leaf)] {
                let mut one = world.clone();
                let written = settle(&mut one, "ben", side);
                assert_eq!((one.state().contraries().count(), kind(&one)), (0, settled));
                // Every look of it stays.
                assert_eq!(one.state().bulbs[&id("b_1")].cycle().looks.len(), 3);
                // Another phone that settles it the other way disagrees again, proof against proof; that is settled, too.
                let mut other = world.clone();
                settle(&mut other, "mia", 1 - side);
                for entry in other.ledger.arrived() {
                    one.ledger.insert(std::sync::Arc::clone(entry));
                }
                let again = one.state().contraries().next().cloned().unwrap();
                assert_eq!(again.sides[side], written);
                settle(&mut one, "mia", side);
                assert_eq!((one.state().contraries().count(), kind(&one)), (0, settled));
            }
        }
    }

    #[test]
    fn a_shoot_that_two_phones_saw_as_two_is_settled_whatever_id_its_proofs_name() {
        let mut world = World::of(START).and(
            "2 mia look b_1 sh_1/unknown/shoot\n2 ben look b_1 sh_2/unknown/shoot\n\
             3 mia proof b_1 sh_1 scape\n3 ben proof b_1 sh_2 leaf\n",
        );
        let same = Command::SameShoot { bulb: id("b_1"), shoot: id("sh_2"), to: id("sh_1"), same: true };
        write(&mut world, "mia", same);
        assert_eq!(world.state().contraries().count(), 1);
        settle(&mut world, "mia", 1);
        assert_eq!(world.state().contraries().count(), 0);
        assert_eq!(world.state().bulbs[&id("b_1")].cycle().shoots[0].kind, ShootKind::Leaf);
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
