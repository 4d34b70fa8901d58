//! Where the groups of a try stood: each place with its covers, and how many bulbs of the group were ever in it.
//!
//! Groups are compared as they were treated, and a place is part of that: what its covers keep out stands beside the
//! result, for reading.

use std::collections::BTreeSet;

use crate::{
    calendar::Date,
    ledger::{Ledger, body::Body, id::Id},
    light::{Latitude, day::Day},
    nursery::{State, state::Run},
};

/// A place that bulbs of a group stood in during a try.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ground {
    /// The place.
    pub place: Id,
    /// Share of the light that its covers block together, per cent, as they are now.
    pub blocks_percent: u32,
    /// Bulbs of the group that stood there on at least one day of the try.
    pub n_bulbs: usize,
}

/// The places of one group, the one with most bulbs first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GroupGrounds {
    /// The group.
    pub group: Id,
    /// Its places.
    pub grounds: Vec<Ground>,
}

/// The first and the last day of a try: from its start until it was closed, its last day that counts, or `today`,
/// whichever is first. Nothing while it has no start or it lies ahead.
pub fn days(run: &Run, today: Date) -> Option<(Date, Date)> {
    let start = run.start().filter(|start| *start <= today)?;
    let due = run.window.shown().map(|window| window.to);
    let end = run.closed.into_iter().chain(due).chain([today]).min()?;
    Some((start, end.max(start)))
}

/// Where each group stood, in the order of the groups; nothing for counts from a notebook or a try not yet begun.
pub fn grounds(state: &State, run: Id, today: Date) -> Vec<GroupGrounds> {
    let Some(known) = state.runs.get(&run) else {
        return Vec::new();
    };
    let (Some((from, to)), Some(allotment)) = (days(known, today), known.allotment.settled()) else {
        return Vec::new();
    };
    let of_arm = |arm: usize| -> Vec<Ground> {
        let units = allotment.units.iter().zip(&allotment.arms);
        let units = units.filter(|(_, of)| **of as usize == arm);
        let mut grounds: Vec<Ground> = Vec::new();
        for bulb in units.flat_map(|(unit, _)| state.bulbs_of_unit_on(*unit, from)) {
            for place in bulb.places_between(from, to) {
                match grounds.iter_mut().find(|known| known.place == place) {
                    Some(known) => known.n_bulbs += 1,
                    None => grounds.push(Ground {
                        place,
                        blocks_percent: state.place_row(place).map_or(0, |row| row.blocks_percent),
                        n_bulbs: 1,
                    }),
                }
            }
        }
        grounds.sort_by_key(|ground| std::cmp::Reverse(ground.n_bulbs));
        grounds
    };
    let groups = allotment.groups.iter().enumerate();
    groups.map(|(arm, group)| GroupGrounds { group: *group, grounds: of_arm(arm) }).collect()
}

/// How long days were during a try, where the nursery's latitude is known ([`crate::light::day`]).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayLengths {
    /// The first day of the try.
    pub from: Date,
    /// Hours of its daylight.
    pub from_hours: f64,
    /// The last day.
    pub to: Date,
    /// Hours of its daylight.
    pub to_hours: f64,
    /// Hours of the shortest day between.
    pub shortest_hours: f64,
    /// Hours of the longest.
    pub longest_hours: f64,
}

/// Day lengths of a try; nothing before it began, or while nobody has said where the nursery lies.
pub fn day_lengths(state: &State, run: Id, today: Date) -> Option<DayLengths> {
    let latitude = *state.latitude_decideg.shown()?;
    let latitude = Latitude::new(f64::from(i32::try_from(latitude).ok()?) / 10.0).ok()?;
    let (from, to) = days(state.runs.get(&run)?, today)?;
    let hours = |on: Date| Day::on(latitude, on).hours();
    let (mut shortest, mut longest) = (hours(from), hours(from));
    // A year holds every length there is.
    for ahead in 0..=from.days_until(to).min(366) {
        let on = hours(from.add_days(ahead).ok()?);
        shortest = shortest.min(on);
        longest = longest.max(on);
    }
    Some(DayLengths {
        from,
        from_hours: hours(from),
        to,
        to_hours: hours(to),
        shortest_hours: shortest,
        longest_hours: longest,
    })
}

/// Who looked at the bulbs of a try during its days, each once, in the order of their ids.
pub fn lookers(ledger: &Ledger, state: &State, run: Id, today: Date) -> Vec<Id> {
    let Some(known) = state.runs.get(&run) else {
        return Vec::new();
    };
    let Some((from, to)) = days(known, today) else {
        return Vec::new();
    };
    let units = known.units().iter();
    let bulbs = units.flat_map(|unit| state.bulbs_of_unit_on(*unit, from));
    let entries = bulbs.flat_map(|bulb| bulb.in_force(ledger));
    let looks = entries.filter(|entry| {
        let on = entry.envelope.happened.date();
        matches!(entry.body, Body::Look(_) | Body::Sweep(_)) && from <= on && on <= to
    });
    let who: BTreeSet<Id> = looks.map(|entry| entry.envelope.who).collect();
    who.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn places_are_those_of_the_days_of_the_try() {
        let world = World::of(
            r#"-30 mia place pl_before Before
               -30 mia place pl_dark Dark
               -30 mia json pl_shade place {"name":"Shade","kind":"shade house","covers":[{"what":"cloth","blocks_percent":50},{"what":"glass","blocks_percent":20}]}
               -30 mia lot lo_1 Red
               -30 mia bulb b_1 lo_1 in=pl_before
               -30 mia bulb b_2 lo_1 in=pl_before
               -30 mia bulb b_3 lo_1 in=pl_before
               -3 mia moved b_1,b_2,b_3 place=pl_dark
               -2 mia question tr_1 gr_a,gr_b
               -2 mia group gr_a tr_1 Long
               -2 mia group gr_b tr_1 Short
               -2 mia run ru_1 tr_1 0 every=7
               -2 mia rule ru_1 by scape-in-sight
               -2 mia due ru_1 30
               -2 mia allot ru_1 drawn gr_a=b_1,b_2 gr_b=b_3
               0 mia run-started ru_1
               10 mia moved b_2 place=pl_shade
               first: 12 jan look b_1 clear
               35 eve look b_1 clear
               40 mia moved b_3 place=pl_shade"#,
        );
        let of = |today: i64| -> Vec<Vec<(Id, u32, usize)>> {
            let found = grounds(&world.state(), id("ru_1"), day(today));
            let rows = found.iter().map(|group| {
                let row = |ground: &Ground| (ground.place, ground.blocks_percent, ground.n_bulbs);
                group.grounds.iter().map(row).collect()
            });
            rows.collect()
        };
        let dark = |n| (id("pl_dark"), 0, n);
        assert!(of(-1).is_empty());
        assert_eq!(of(5), [vec![dark(2)], vec![dark(1)]]);
        // What came after the last day that counts is left out. Half of four fifths passes: 60 % are blocked.
        assert_eq!(of(60), [vec![dark(2), (id("pl_shade"), 60, 1)], vec![dark(1)]]);
        let who = |today| lookers(&world.ledger, &world.state(), id("ru_1"), day(today));
        assert_eq!(who(60), [world.ledger.get(world.named("first")).unwrap().envelope.who]);
        assert!(who(5).is_empty());
        assert_eq!(day_lengths(&world.state(), id("ru_1"), day(60)), None);
        let world = world.and(r#"-30 mia json l_1 nursery {"name":"Vale","latitude_decideg":523}"#);
        let light = day_lengths(&world.state(), id("ru_1"), day(60)).unwrap();
        // From 1 to 31 January at 52.3° north days grow; 15 January has 7.99 hours (reference 14).
        assert_eq!((light.from, light.to), (day(0), day(30)));
        assert!(light.from_hours < 7.98 && 8.0 < light.to_hours && light.to_hours < 9.0);
        assert_eq!((light.shortest_hours, light.longest_hours), (light.from_hours, light.to_hours));
    }
}
