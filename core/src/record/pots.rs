//! Potting: several bulbs into one container by position, and a container made on the way.

use std::collections::BTreeSet;

use super::{Moment, here, in_parts, named};
use crate::{
    calendar::Date,
    error::{Error, Field, Result},
    ledger::{
        body::{Act, ActKind, Body, ContainerBody},
        entry::Draft,
        id::{Id, Noun},
    },
    limits,
    nursery::State,
    refusal::{BulbRefusal, Missing},
};

/// What bulbs are potted into.
#[derive(Clone, Debug)]
pub enum PotInto {
    /// A container that is known.
    Known(Id),
    /// A new one.
    New(ContainerBody),
}

/// The bulbs one after the other into a container. Positions go on at `act.position`, or at the first that is free,
/// and pass over those that are taken.
pub(super) fn pot(
    state: &State,
    moment: &mut Moment,
    into: &PotInto,
    act: &Act,
    about: &[Id],
    on: Option<Date>,
) -> Result<Vec<Draft>> {
    let happened = moment.on(on)?;
    for id in about {
        here(state, *id, happened.date())?;
    }
    let mut drafts = Vec::new();
    let container = container(state, moment, into, &mut drafts)?;
    let mut taken: BTreeSet<u32> = state
        .bulbs_in_container(container)
        .into_iter()
        .filter(|bulb| !about.contains(&bulb.id))
        .filter_map(|bulb| bulb.container.and_then(|(_, position)| position))
        .collect();
    let mut position = act.position.unwrap_or(1).max(1);
    let mut known = BTreeSet::new();
    for bulb in about.iter().copied().filter(|id| known.insert(*id)) {
        while !taken.insert(position) {
            position += 1;
        }
        let potted = Act { container: Some(container), position: Some(position), ..act.clone() };
        drafts.extend(in_parts(vec![bulb], |part| {
            Draft::new(part, happened.clone(), Body::Act(ActKind::Potted, potted.clone()))
        })?);
    }
    if about.is_empty() {
        return Err(Error::new(Missing::Bulb));
    }
    Ok(drafts)
}

fn container(state: &State, moment: &mut Moment, into: &PotInto, drafts: &mut Vec<Draft>) -> Result<Id> {
    let body = match into {
        PotInto::Known(id) if state.containers.contains_key(id) => return Ok(*id),
        PotInto::Known(_) => return Err(Error::new(Missing::Container).at(Field::Container)),
        PotInto::New(body) => body,
    };
    let name = named(&body.name, Field::Container, Missing::ContainerName)?;
    let twin = |known: &ContainerBody| known.name.to_lowercase() == name.to_lowercase();
    if state.containers.values().filter_map(|known| known.shown()).any(twin) {
        return Err(Error::new(BulbRefusal::ContainerExists(name)).at(Field::Container));
    }
    for mm in [body.inner_width_mm, body.inner_height_mm].into_iter().flatten() {
        limits::CONTAINER_MM.check(mm).map_err(|why| why.at(Field::Width))?;
    }
    let id = moment.ids.draw(Noun::Container);
    let body = ContainerBody { name, ..body.clone() };
    drafts.push(Draft::new(vec![id], moment.now.clone(), Body::Container(body)));
    Ok(id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::{body::ContainerKind, id::Ids},
        record::{Command, record},
        testing::{World, day, id},
    };

    fn trough(name: &str) -> ContainerBody {
        ContainerBody { name: name.to_owned(), inner_width_mm: Some(600), ..ContainerBody::of(ContainerKind::Trough) }
    }

    fn potted(world: &mut World, into: PotInto, about: &[&str]) -> Result<usize> {
        let mut moment = Moment { now: Happened::on(day(9)), ids: Ids::new([world.ledger.len() as u8; 32]) };
        let command =
            Command::Pot { into, act: Act::default(), about: about.iter().map(|text| id(text)).collect(), on: None };
        let drafts = record(command, &world.ledger, &world.state(), &mut moment)?;
        Ok(world.save("mia", drafts).len())
    }

    #[test]
    fn positions_go_on_after_those_that_are_taken() {
        let mut world = World::of(
            "0 mia place pl_1 Bench
             0 mia lot lo_1 Red
             0 mia bulb b_1 lo_1 in=pl_1
             0 mia bulb b_2 lo_1 in=pl_1
             0 mia bulb b_3 lo_1 in=pl_1",
        );
        assert_eq!(potted(&mut world, PotInto::New(trough(" T1 ")), &["b_1", "b_2", "b_1"]), Ok(3));
        let state = world.state();
        let (container, body) = state.containers.iter().next().expect("made on the way");
        assert_eq!(body.shown().map(|body| body.name.as_str()), Some("T1"));
        assert_eq!(potted(&mut world, PotInto::Known(*container), &["b_3"]), Ok(1));
        let state = world.state();
        let stand: Vec<_> = state
            .bulbs_in_container(*container)
            .iter()
            .map(|bulb| (bulb.id, bulb.container.and_then(|(_, position)| position)))
            .collect();
        assert_eq!(stand, [(id("b_1"), Some(1)), (id("b_2"), Some(2)), (id("b_3"), Some(3))]);
        let exists = Error::new(BulbRefusal::ContainerExists("t1".to_owned())).at(Field::Container);
        assert_eq!(potted(&mut world, PotInto::New(trough("t1")), &["b_1"]), Err(exists));
    }

    #[test]
    fn a_width_out_of_bounds_and_no_bulbs_are_refused() {
        let mut world = World::of("0 mia place pl_1 Bench\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1");
        let wide = ContainerBody { inner_width_mm: Some(30_000), ..trough("T1") };
        assert!(potted(&mut world, PotInto::New(wide), &["b_1"]).is_err());
        assert!(potted(&mut world, PotInto::New(trough("T1")), &[]).is_err());
        assert!(potted(&mut world, PotInto::Known(id("co_9")), &["b_1"]).is_err());
        assert!(world.state().containers.is_empty());
    }
}
