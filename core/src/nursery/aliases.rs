//! Bulbs that were entered more than once and said to be one.
//!
//! Nothing is merged in place: the links that stand are read, bulbs that they join, directly or through others, are
//! folded together from the records of all, and a link that is taken back parts them again. The joined bulb goes by the
//! smallest of its ids; every other id still leads to it.

use std::{collections::BTreeMap, sync::Arc};

use super::{Bulb, State};
use crate::{
    error::{Error, Result},
    ledger::{
        Ledger,
        body::Body,
        entry::Entry,
        id::{Id, Noun},
    },
    refusal::BulbRefusal,
};

/// Links that say of a bulb that it was entered more than once, those that stand, in order.
pub fn links_of<'a>(ledger: &'a Ledger, bulb: &Bulb) -> Vec<&'a Arc<Entry>> {
    let mut links = bulb.in_force(ledger);
    links.retain(|entry| matches!(&entry.body, Body::SameAs(link) if link.to.is(Noun::Bulb)));
    links
}

/// Tags that two bulbs or more carry, with the id under which each of them carries it.
pub fn shared_tags(state: &State) -> Vec<(String, Vec<Id>)> {
    let mut by_tag: BTreeMap<&String, Vec<Id>> = BTreeMap::new();
    for bulb in state.bulbs.values() {
        let also = bulb.also.iter().map(|also| (also.id, also.tag.as_ref()));
        let mut known: Vec<&String> = Vec::new();
        for (id, tag) in [(bulb.id, bulb.tag.shown())].into_iter().chain(also) {
            if let Some(tag) = tag.filter(|tag| !known.contains(tag)) {
                known.push(tag);
                by_tag.entry(tag).or_default().push(id);
            }
        }
    }
    let shared = by_tag.into_iter().filter(|(_, bulbs)| bulbs.len() > 1);
    shared.map(|(tag, bulbs)| (tag.clone(), bulbs)).collect()
}

/// Whether two bulbs may be said to be one.
///
/// # Errors
///
/// With one of them is not here, they are one already, or tries hold them as two that cannot be one.
pub fn may_be_one(state: &State, one: Id, other: Id) -> Result<(&Bulb, &Bulb)> {
    let known = |id: &Id| state.bulb(id).ok_or_else(|| Error::new(BulbRefusal::NotHere));
    let (a, b) = (known(&one)?, known(&other)?);
    if a.id == b.id {
        return Err(Error::new(if one == other { BulbRefusal::Itself } else { BulbRefusal::OneAlready }));
    }
    for run in state.runs_of(a) {
        let Some(known) = state.runs.get(&run).filter(|_| state.runs_of(b).contains(&run)) else {
            continue;
        };
        let groups = [a, b].map(|bulb| state.group_of(known, bulb));
        if let [Some((_, first)), Some((_, second))] = groups
            && first != second
        {
            let side = |bulb: &Bulb, group| (bulb.label().to_owned(), state.name_of(group).to_owned());
            let sides = Box::new([side(a, first), side(b, second)]);
            return Err(Error::new(BulbRefusal::InTwoGroups(sides, asked(state, run).to_owned())));
        }
    }
    if let (Some(first), Some(second)) = (state.running(a), state.running(b))
        && first != second
    {
        let side = |bulb: &Bulb, run| (bulb.label().to_owned(), asked(state, run).to_owned());
        return Err(Error::new(BulbRefusal::InTwoTries(Box::new([side(a, first), side(b, second)]))));
    }
    Ok((a, b))
}

/// The question of a run's trial.
fn asked(state: &State, run: Id) -> &str {
    let body = state.runs.get(&run).and_then(|run| run.body.shown());
    body.map_or("", |body| state.name_of(body.trial))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::id::{EntryId, Ids},
        record::{Command, Moment, record},
        testing::{World, day, id},
    };
    use crate::{error::Refusal, refusal::Gone};

    /// Mia's b_1 and Ben's b_2 are one bulb in the hand.
    const START: &str = "0 mia place pl_1 Bench
        0 ben place pl_2 Cellar
        0 mia lot lo_1 Red
        0 ben lot lo_2 Rot
        0 mia bulb b_1 lo_1 in=pl_1 size=240
        0 mia tag b_1 tag1
        0 ben bulb b_2 lo_2 in=pl_2
        t: 0 ben tag b_2 tag2
        0 ben own b_2 nine
        0 mia bulb b_3 lo_1 in=pl_1
        1 mia cycle-began b_1
        3 mia look b_1 clear
        5 ben look b_2 sh_2/scape/scape-in-sight
        6 ben moved b_2 place=pl_1\n";

    fn say(world: &mut World, command: Command) -> Result<Vec<EntryId>> {
        let mut moment = Moment { now: Happened::on(day(20)), ids: Ids::new([1; 32]) };
        let drafts = record(command, &world.ledger, &world.state(), &mut moment)?;
        Ok(world.save("mia", drafts))
    }

    fn join(world: &mut World, one: &str, other: &str) -> Result<Vec<EntryId>> {
        let command = Command::SameBulb { bulb: id(one), to: id(other) };
        say(world, command)
    }

    #[test]
    fn two_become_one_with_the_records_and_names_of_both_and_part_again() {
        let mut world = World::of(START);
        let before = world.state();
        let link = join(&mut world, "b_2", "b_1").unwrap();
        let state = world.state();
        assert_eq!(state.bulbs.keys().copied().collect::<Vec<_>>(), [id("b_1"), id("b_3")]);
        let bulb = state.bulb(&id("b_2")).unwrap();
        assert_eq!((bulb.id, bulb.label(), bulb.label_as(id("b_2"))), (id("b_1"), "nine", "nine"));
        assert_eq!((bulb.cycle().looks.len(), bulb.cycle().scapes().count()), (2, 1));
        assert_eq!((bulb.place, bulb.circumference_mm), (Some(id("pl_1")), Some((240, 240))));
        assert_eq!(bulb.cycle().began, Some(day(1)));
        assert_eq!(state.bulbs_in(id("pl_2")).len(), 0);
        for name in ["tag1", "tag2", "nine"] {
            assert_eq!(state.find(name).first().map(|found| found.id), Some(id("b_1")), "{name}");
        }
        assert_eq!(links_of(&world.ledger, bulb).len(), 1);
        // Their lots differ, and one tap says which stands; names never do.
        let lots: Vec<_> = state.disagreements.iter().cloned().collect();
        assert_eq!(lots.len(), 1);
        assert_eq!((lots[0].subject, lots[0].kind.as_str(), lots[0].slot.as_str()), (id("b_1"), "bulb", ""));
        let heads = state.heads(&world.ledger, &lots[0]);
        let choose = heads.iter().find(|head| head.envelope.about == [id("b_2")]).unwrap().id;
        let chosen = say(&mut world, Command::Settle { register: lots[0].clone(), choose }).unwrap();
        let settled = world.state();
        assert_eq!(settled.bulb(&id("b_1")).unwrap().lot.settled(), Some(&id("lo_2")));
        assert!(settled.disagreements.is_empty());
        for entries in [chosen, link] {
            say(&mut world, Command::TakeBack { entries, why: None }).unwrap();
        }
        assert_eq!(world.state(), before);
    }

    #[test]
    fn what_is_recorded_under_either_id_is_of_the_one_bulb() {
        let mut world = World::of(START);
        join(&mut world, "b_1", "b_2").unwrap();
        world.add("8 ben look b_2 sh_2/scape/first-flower-open\n9 mia left b_1 how=sold");
        let state = world.state();
        let bulb = state.bulb(&id("b_1")).unwrap();
        assert_eq!(bulb.fate.since(), Some(day(9)));
        assert_eq!(bulb.cycle().looks.len(), 3);
        // A bulb that left is looked at under neither id.
        let look = crate::ledger::body::Look {
            neck: crate::ledger::body::Neck::Clear,
            leaves: crate::ledger::body::Leaves::Same,
            n_leaves: None,
            shoots: Vec::new(),
            way: crate::ledger::body::Way::Others,
            walk: None,
        };
        let late = Command::Look { looks: vec![(id("b_2"), look)], on: None };
        let gone = say(&mut world, late).unwrap_err().refusal;
        assert!(matches!(gone, Refusal::Bulb(BulbRefusal::Gone { how: Gone::Left, .. })), "{gone:?}");
    }

    #[test]
    fn a_link_about_one_alone_joins_and_three_are_one_through_the_middle() {
        let links = ["json b_3 same-as {\"to\":\"b_2\"}", "json b_1 same-as {\"to\":\"b_2\"}"];
        let world = World::of(START).and(&format!("7 mia {}\n8 ben {}", links[0], links[1]));
        let state = world.state();
        assert_eq!(state.bulbs.len(), 1);
        assert_eq!(state.bulb(&id("b_3")).unwrap().ids(), ["b_1", "b_2", "b_3"].map(id));
        // In whichever order they arrive, one by one.
        for turned in [false, true] {
            let mut entries = world.ledger.arrived().to_vec();
            if turned {
                entries.reverse();
            }
            let mut ledger = Ledger::new(world.ledger.id());
            let mut step = State::default();
            for entry in entries {
                let about = entry.envelope.about.iter().copied().collect();
                ledger.insert(entry);
                step.refold(&ledger, &about);
                assert_eq!(step, State::fold(&ledger));
            }
        }
    }

    #[test]
    fn one_bulb_is_in_one_group_and_in_one_running_try() {
        let tries = "0 mia question tr_1 gr_1,gr_2\n0 mia group gr_1 tr_1 Four control\n0 mia group gr_2 tr_1 Six
            1 mia run ru_1 tr_1 1\n1 mia rule ru_1 by first-flower-open\n1 mia due ru_1 30
            1 mia allot ru_1 drawn gr_1=b_1 gr_2=b_2,b_3\n1 mia run-started ru_1\n";
        let mut world = World::of(START).and(tries);
        let refused = |world: &mut World, a: &str, b: &str| join(world, a, b).unwrap_err().refusal;
        assert!(matches!(refused(&mut world, "b_1", "b_2"), Refusal::Bulb(BulbRefusal::InTwoGroups(..))));
        assert_eq!(refused(&mut world, "b_1", "b_1"), BulbRefusal::Itself.into());
        // Another phone that does not know of the try may join them all the same: then nothing is said of it.
        let mut merged = world.clone().and("7 ben json b_1,b_2 same-as {\"to\":\"b_2\"}");
        assert_eq!(refused(&mut merged, "b_1", "b_2"), BulbRefusal::OneAlready.into());
        let stands = |world: &World| {
            crate::trial::standing::standing(&world.ledger, &world.state(), id("ru_1"), day(8)).unwrap()
        };
        assert!(stands(&merged).groups.is_empty());
        // In one group twice, it counts once.
        join(&mut world, "b_2", "b_3").unwrap();
        let groups = stands(&world).groups;
        assert_eq!(groups.iter().map(|group| group.units.len()).collect::<Vec<_>>(), [1, 1]);
    }

    #[test]
    fn a_tag_on_two_bulbs_is_offered_until_they_are_one_or_one_is_tagged_anew() {
        let mut world = World::of(START).and("7 ben tag b_2 tag1 ~t");
        let shared = |world: &World| shared_tags(&world.state());
        assert!(shared(&World::of(START)).is_empty());
        assert_eq!(shared(&world), [("tag1".to_owned(), vec![id("b_1"), id("b_2")])]);
        let mut other = world.clone();
        join(&mut world, "b_1", "b_2").unwrap();
        assert!(shared(&world).is_empty());
        say(&mut other, Command::Retag { bulb: id("b_2") }).unwrap();
        assert!(shared(&other).is_empty());
    }
}
