//! What two phones may have written down of one thing: the same act on one day, the same shoot of one bulb.
//!
//! Nothing is merged in place. A link says that an act was recorded twice, or that two shoots are one; the fold heeds
//! the links that stand, and taking one back parts them again. What was said to be two is not offered a second time.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::{
    Bulb, State,
    cycle::{Cycle, Shoot},
    joined::gist,
};
use crate::{
    calendar::Date,
    ledger::{
        Decisions, Ledger,
        body::{ActKind, Body, ShootKind},
        entry::Entry,
        id::{EntryId, Id},
    },
};

/// Two equal acts of one day by two devices, for the things that both are about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwinActs {
    /// The one that counts either way.
    pub first: EntryId,
    /// The one that would be counted no more.
    pub second: EntryId,
    /// What both are about.
    pub about: Vec<Id>,
}

/// Two shoots of one bulb that may be one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwinShoots {
    /// The bulb.
    pub bulb: Id,
    /// The one seen first.
    pub first: Shoot,
    /// The other.
    pub second: Shoot,
}

/// Acts that nobody does twice a day or that the fold counts once anyhow.
const NEVER_TWINS: &[ActKind] =
    &[ActKind::CycleBegan, ActKind::CycleEnded, ActKind::RunStarted, ActKind::RunClosed, ActKind::OffsetSplit];

/// The act that an entry says to be one or two, if it is such a link.
fn settles(entry: &Entry) -> Option<EntryId> {
    match &entry.body {
        Body::SameAct(link) | Body::TwoActs(link) => Some(link.entry),
        _ => None,
    }
}

/// The day and kind of an act that may be written down twice.
fn key(entry: &Entry) -> Option<(Date, ActKind)> {
    match &entry.body {
        Body::Act(kind, _) if !NEVER_TWINS.contains(kind) => Some((entry.envelope.happened.date(), *kind)),
        _ => None,
    }
}

/// Equal acts of one day by different devices that nothing was said of yet.
pub fn acts(ledger: &Ledger) -> Vec<TwinActs> {
    // One device alone writes nothing down twice.
    if ledger.lines().len() < 2 {
        return Vec::new();
    }
    let mut decisions = ledger.decisions();
    let said = said(ledger, &mut decisions);
    let open =
        |entry: &Entry, subject: Id| decisions.is_in_force(entry, subject) && !said.contains(&(entry.id, subject));
    let mut by_day = ByDay::new();
    for entry in ledger.arrived() {
        if let Some(key) = key(entry) {
            by_day.entry(key).or_default().push(entry);
        }
    }
    pairs(by_day, open)
}

/// How many pairs of equal acts taking these entries in would bring, with those here or among themselves, that the
/// entries do not settle, put right or take back. None for a nursery that comes here for the first time: what stands
/// twice in it is told once it is here ([`acts`]).
pub fn n_arriving(ledger: &Ledger, new: &[Arc<Entry>]) -> usize {
    if ledger.is_empty() {
        return 0;
    }
    let mut by_day = ByDay::new();
    for entry in new {
        if let Some(key) = key(entry) {
            by_day.entry(key).or_default().push(entry);
        }
    }
    if by_day.is_empty() {
        return 0;
    }
    for entry in ledger.arrived() {
        if let Some(of_day) = key(entry).and_then(|key| by_day.get_mut(&key)) {
            of_day.push(entry);
        }
    }
    let mut decisions = ledger.decisions();
    let mut over = said(ledger, &mut decisions);
    for entry in new {
        let ids = entry.envelope.supersedes.iter().copied();
        for id in ids.chain(settles(entry)) {
            over.extend(entry.envelope.about.iter().map(|subject| (id, *subject)));
        }
    }
    let open =
        |entry: &Entry, subject: Id| decisions.is_in_force(entry, subject) && !over.contains(&(entry.id, subject));
    let is_new = |id: EntryId| ledger.get(id).is_none();
    let pairs = pairs(by_day, open).into_iter();
    pairs.filter(|twins| is_new(twins.first) || is_new(twins.second)).count()
}

type ByDay<'a> = BTreeMap<(Date, ActKind), Vec<&'a Arc<Entry>>>;

/// The acts that something was said of, for each subject.
fn said(ledger: &Ledger, decisions: &mut Decisions<'_>) -> BTreeSet<(EntryId, Id)> {
    let mut said = BTreeSet::new();
    for entry in ledger.arrived() {
        if let Some(act) = settles(entry) {
            let about = entry.envelope.about.iter();
            let standing = about.filter(|subject| decisions.is_in_force(entry, **subject));
            said.extend(standing.map(|subject| (act, *subject)));
        }
    }
    said
}

/// Each act with the first equal one of its day by another device, for each thing that both are about and where both
/// are open.
fn pairs(by_day: ByDay<'_>, mut open: impl FnMut(&Entry, Id) -> bool) -> Vec<TwinActs> {
    let mut twins = Vec::new();
    let by_several = |entries: &Vec<&Arc<Entry>>| {
        let device = |entry: &Entry| entry.envelope.device;
        entries.iter().any(|entry| device(entry) != device(entries[0]))
    };
    for mut entries in by_day.into_values().filter(by_several) {
        entries.sort_by(|a, b| a.order().cmp(&b.order()));
        // Of the open acts that say the same of one thing: the first, and the first by another device than that.
        let mut gists: BTreeMap<Result<String, EntryId>, usize> = BTreeMap::new();
        let mut firsts: BTreeMap<(usize, Id), [Option<usize>; 2]> = BTreeMap::new();
        for (at, second) in entries.iter().enumerate() {
            let n_gists = gists.len();
            let gist = *gists.entry(gist(second)).or_insert(n_gists);
            let mut about: BTreeMap<usize, Vec<Id>> = BTreeMap::new();
            let ids: BTreeSet<Id> = second.envelope.about.iter().copied().collect();
            for id in ids {
                if !open(second, id) {
                    continue;
                }
                let known = firsts.entry((gist, id)).or_default();
                let other = |first: &usize| entries[*first].envelope.device != second.envelope.device;
                if let Some(first) = known.iter().copied().flatten().find(other) {
                    about.entry(first).or_default().push(id);
                }
                match known {
                    [None, _] => known[0] = Some(at),
                    [Some(first), None] if other(first) => known[1] = Some(at),
                    _ => {}
                }
            }
            twins.extend(about.into_iter().map(|(first, about)| TwinActs {
                first: entries[first].id,
                second: second.id,
                about,
            }));
        }
    }
    twins
}

/// Shoots of one side whose sightings overlap, first seen by different devices, that nothing was said of yet.
pub fn shoots(ledger: &Ledger, state: &State) -> Vec<TwinShoots> {
    let mut twins = Vec::new();
    for bulb in state.bulbs.values().filter(|bulb| bulb.is_here()) {
        let cycle = bulb.cycle();
        for (at, second) in cycle.shoots.iter().enumerate() {
            for first in &cycle.shoots[..at] {
                if may_be_one(ledger, cycle, first, second) && !parted(ledger, bulb, first.id, second.id) {
                    twins.push(TwinShoots { bulb: bulb.id, first: first.clone(), second: second.clone() });
                }
            }
        }
    }
    twins
}

fn may_be_one(ledger: &Ledger, cycle: &Cycle, first: &Shoot, second: &Shoot) -> bool {
    if first.side != second.side {
        return false;
    }
    // First and last look with the shoot; whoever saw both at the first sight of one told them apart.
    let seen = |id: Id| {
        let mut looks = cycle.looks.iter().filter(|seen| seen.look.shoots.iter().any(|s| s.id == id));
        let first = looks.next()?;
        Some((first, looks.next_back().unwrap_or(first)))
    };
    let (Some((one, one_last)), Some((other, other_last))) = (seen(first.id), seen(second.id)) else {
        return false;
    };
    // What was taken for a stalk and for a leaf may be one shoot only where both came to it on one day.
    let differ = first.kind != second.kind && ![first.kind, second.kind].contains(&ShootKind::Unknown);
    if differ && one.at.date() != other.at.date() {
        return false;
    }
    let lists = |look: &super::Seen, id: Id| look.look.shoots.iter().any(|shoot| shoot.id == id);
    if lists(one, second.id) || lists(other, first.id) {
        return false;
    }
    let device = |look: &super::Seen| ledger.get(look.entry).map(|entry| entry.envelope.device);
    device(one) != device(other) && one.at.date() <= other_last.at.date() && other.at.date() <= one_last.at.date()
}

fn parted(ledger: &Ledger, bulb: &Bulb, one: Id, other: Id) -> bool {
    bulb.in_force(ledger).into_iter().any(|entry| match &entry.body {
        Body::NotSame(link) => {
            let about = &entry.envelope.about;
            (link.to == one && about.contains(&other)) || (link.to == other && about.contains(&one))
        }
        _ => false,
    })
}

/// Every answer to such an offer that stands, newest last.
pub fn answers(ledger: &Ledger) -> Vec<&Arc<Entry>> {
    let arrived = ledger.arrived().iter();
    let mut decisions = ledger.decisions();
    let answer = |entry: &&Arc<Entry>| {
        let kind = matches!(
            entry.body,
            Body::SameAct(_) | Body::TwoActs(_) | Body::SameAs(_) | Body::NotSame(_) | Body::Join(_)
        );
        kind && decisions.is_in_force_for_any(entry)
    };
    let mut answers: Vec<_> = arrived.filter(answer).collect();
    answers.sort_by_key(|entry| (entry.envelope.hlc, entry.id));
    answers
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::{body::SameAct, id::Ids},
        record::{Command, Moment, record},
        testing::{World, day, id},
    };

    const START: &str = "0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1,b_2,b_3 lo_1 in=pl_1\n";

    fn settle(world: &mut World, command: Command) -> Vec<EntryId> {
        let mut moment = Moment { now: Happened::on(day(9)), ids: Ids::new([1; 32]) };
        let drafts = record(command, &world.ledger, &world.state(), &mut moment).unwrap();
        world.save("mia", drafts)
    }

    fn take_back(world: &mut World, entries: Vec<EntryId>) {
        settle(world, Command::TakeBack { entries, why: None });
    }

    fn n_fed(world: &World, bulb: &str) -> usize {
        let state = world.state();
        let acts = &state.bulbs[&id(bulb)].cycle().acts;
        acts.iter().filter(|(_, kind)| *kind == ActKind::Fed).count()
    }

    #[test]
    fn equal_acts_of_two_devices_on_one_day_are_offered_settled_and_parted_again() {
        let mut world = World::of(START)
            .and("a: 4 mia fed b_1,b_2\nb: 4 ben fed b_2,b_3\n4 mia watered b_1\n5 ben watered b_1\n4 mia fed b_3");
        let offered = acts(&world.ledger);
        let offered: Vec<_> = offered.iter().map(|twins| (twins.first, twins.about.clone())).collect();
        // Mia fed b_2 with Ben, and b_3 by herself after him.
        assert_eq!(offered, [(world.named("a"), vec![id("b_2")]), (world.named("b"), vec![id("b_3")])]);
        assert_eq!((n_fed(&world, "b_2"), n_fed(&world, "b_3")), (2, 2));
        let one = Command::SameAct { act: world.named("b"), about: vec![id("b_2")], same: true };
        let link = settle(&mut world, one);
        assert_eq!((n_fed(&world, "b_2"), n_fed(&world, "b_3")), (1, 2));
        assert_eq!(acts(&world.ledger).len(), 1);
        assert_eq!(answers(&world.ledger).len(), 1);
        take_back(&mut world, link);
        assert_eq!((n_fed(&world, "b_2"), acts(&world.ledger).len()), (2, 2));
        // Said to be two, they stay two and are offered no more.
        let two = Command::SameAct { act: world.named("b"), about: vec![id("b_2")], same: false };
        settle(&mut world, two);
        assert_eq!((n_fed(&world, "b_2"), acts(&world.ledger).len()), (2, 1));
    }

    #[test]
    fn a_file_says_how_many_acts_it_brings_a_second_time_unless_it_settles_them() {
        let here = World::of(START).and("4 mia fed b_1,b_2\n5 mia watered b_1");
        for (lines, n) in [
            ("", 0),
            ("4 ben fed b_2,b_3", 1),
            ("4 ben fed b_3\n5 ben fed b_1", 0),
            ("4 ben fed b_1\n5 ben watered b_1", 2),
            ("x: 4 ben fed b_1\n6 ben take-back b_1 ~x", 0),
            ("6 ben cleaned b_1\n6 eva cleaned b_1", 1),
        ] {
            let mut both = here.clone();
            both.add(lines);
            let new = &both.ledger.arrived()[here.ledger.len()..];
            assert_eq!(n_arriving(&here.ledger, new), n, "{lines}");
            assert_eq!(acts(&both.ledger).len(), n, "{lines}");
        }
        // What the file brings and settles itself is not counted.
        let mut both = here.clone().and("b: 4 ben fed b_1");
        let link = Body::SameAct(SameAct { entry: both.named("b") });
        let draft = crate::ledger::entry::Draft::new(vec![id("b_1")], Happened::on(day(5)), link);
        both.save("ben", vec![draft]);
        let new = &both.ledger.arrived()[here.ledger.len()..];
        assert_eq!((new.len(), n_arriving(&here.ledger, new)), (2, 0));
    }

    #[test]
    fn two_phones_that_mark_each_others_act_leave_one() {
        let mut world = World::of(START).and("a: 4 mia fed b_1\nb: 4 ben fed b_1");
        for (who, name) in [("mia", "a"), ("ben", "b")] {
            let link = Body::SameAct(SameAct { entry: world.named(name) });
            let draft = crate::ledger::entry::Draft::new(vec![id("b_1")], Happened::on(day(5)), link);
            world.save(who, vec![draft]);
        }
        assert_eq!(n_fed(&world, "b_1"), 1);
        // The counted one taken back, the other counts.
        let a = world.named("a");
        take_back(&mut world, vec![a]);
        assert_eq!(n_fed(&world, "b_1"), 1);
    }

    #[test]
    fn shoots_of_two_phones_are_offered_fold_as_one_and_part_again() {
        let mut world = World::of(START).and(
            "3 mia look b_1 sh_1/unknown/shoot\n3 ben look b_1 sh_2/unknown/shoot\n\
             4 mia look b_1 sh_1/unknown/shoot sh_2/unknown/shoot\n5 mia proof b_1 sh_2 scape\n\
             3 mia look b_2 sh_3/unknown/shoot sh_4/unknown/shoot\n\
             3 mia look b_3 sh_5/unknown/shoot\n4 mia look b_3 clear\n6 ben look b_3 sh_6/unknown/shoot",
        );
        let offered = shoots(&world.ledger, &world.state());
        let offered: Vec<_> = offered.iter().map(|t| (t.bulb, t.first.id, t.second.id)).collect();
        assert_eq!(offered, [(id("b_1"), id("sh_1"), id("sh_2"))]);
        let say = |same| Command::SameShoot { bulb: id("b_1"), shoot: id("sh_2"), to: id("sh_1"), same };
        let link = settle(&mut world, say(true));
        let state = world.state();
        let cycle = state.bulbs[&id("b_1")].cycle();
        assert_eq!(cycle.shoots.len(), 1);
        assert_eq!((cycle.shoots[0].id, cycle.shoots[0].kind), (id("sh_1"), ShootKind::Scape));
        assert!(cycle.looks.iter().all(|seen| seen.look.shoots.len() == 1));
        assert!(shoots(&world.ledger, &state).is_empty());
        take_back(&mut world, link);
        assert_eq!(world.state().bulbs[&id("b_1")].cycle().shoots.len(), 2);
        settle(&mut world, say(false));
        assert!(shoots(&world.ledger, &world.state()).is_empty());
        assert_eq!(world.state().bulbs[&id("b_1")].cycle().shoots.len(), 2);
    }

    #[test]
    fn a_stalk_and_a_leaf_are_offered_as_one_shoot_where_two_phones_came_to_them_on_one_day() {
        let seen = |on: i64| {
            let stalk = "3 mia look b_1 sh_1/scape/scape-in-sight\n4 mia look b_1 sh_1/scape/scape-in-sight";
            World::of(START).and(&format!("{stalk}\n{on} ben look b_1 sh_2/leaf/shoot"))
        };
        let n = |world: &World| shoots(&world.ledger, &world.state()).len();
        assert_eq!((n(&seen(3)), n(&seen(4))), (1, 0));
        // One shoot it is; whether a stalk or a leaf is asked next.
        let mut world = seen(3);
        settle(&mut world, Command::SameShoot { bulb: id("b_1"), shoot: id("sh_2"), to: id("sh_1"), same: true });
        assert_eq!((n(&world), world.state().contraries().count()), (0, 1));
    }
}
