//! How warm and damp it was where the bulbs of a try stood, stage by stage, from readings taken in those places.
//!
//! A day's temperature is the mean of its readings; a reading of lowest and highest counts as their middle. Days without a
//! reading that lie between two with one, at most [`GAP_DAYS`] apart, are filled in on a straight line; other days stay
//! unknown and are told. Degree-hours are 24 times the sum of the known days' temperatures above 0 °C: no base temperature
//! is published for these bulbs, so none is taken off. A stage of a bulb lies between the first looks that showed its
//! beginning and its end. A rate of development can be fitted once a stage was seen at [`TEMPERATURES_MIN`] temperatures
//! (common practice, no source); until then none is, and [`enough`] says how far it is.

use std::collections::BTreeMap;

use crate::{
    calendar::Date,
    ledger::{body::GoalStage, id::Id},
    limits,
    nursery::{Bulb, State, state::Place},
    trial::conditions,
};

/// Most days between two readings over which a straight line is drawn. Our own, no source.
pub const GAP_DAYS: i64 = 4;
/// Different temperatures at which a stage has to be seen before a rate is fitted. Common practice, no source.
pub const TEMPERATURES_MIN: usize = 3;
/// Mean temperatures that are closer than this count as one, °C. Our own, no source.
pub const APART_C: f64 = 1.0;

/// A stage of the job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stretch {
    /// At rest.
    Rest,
    /// From the end of the rest to a scape in sight.
    ToScape,
    /// From there to the first open flower.
    ToFlower,
}

impl Stretch {
    /// All of them, in order.
    pub const ALL: [Self; 3] = [Self::Rest, Self::ToScape, Self::ToFlower];
}

/// What a group had in one stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmth {
    /// The stage.
    pub stretch: Stretch,
    /// Mean temperature of the known days, °C; nothing where none is known.
    pub mean_c: Option<f64>,
    /// Mean relative humidity, per cent.
    pub humidity_percent: Option<f64>,
    /// Lowest and highest temperature that was read, tenths of a degree.
    pub ends_dc: Option<(i64, i64)>,
    /// Degree-hours above 0 °C of a bulb on average over the known days.
    pub degree_hours: f64,
    /// Days of all bulbs with a known temperature.
    pub n_known: usize,
    /// Days of all bulbs in the stage.
    pub n_days: usize,
    /// Bulbs that were in it.
    pub n_bulbs: usize,
}

/// Stages of one group.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupWarmth {
    /// The group.
    pub group: Id,
    /// Its stages that had a day.
    pub stretches: Vec<Warmth>,
}

/// One day of a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct OfDay {
    mean_c: Option<f64>,
    humidity_percent: Option<f64>,
    ends_dc: Option<(i64, i64)>,
}

fn mean(all: &[f64]) -> Option<f64> {
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// What was read on one day: temperatures, humidities, and every temperature in tenths of a degree.
#[derive(Default)]
struct Read {
    warm_c: Vec<f64>,
    damp: Vec<f64>,
    all_dc: Vec<i64>,
}

/// Days of a place that were read, or lie close between two that were.
fn days_of(place: &Place) -> BTreeMap<Date, OfDay> {
    let mut read: BTreeMap<Date, Read> = BTreeMap::new();
    for (at, climate) in &place.climate {
        let day = read.entry(at.date()).or_default();
        let middle = climate.lowest_dc.zip(climate.highest_dc).map(|(low, high)| (low + high) as f64 / 20.0);
        // A minimum and maximum say more of a day than one moment of it.
        day.warm_c.extend(middle.or(climate.temperature_dc.map(|dc| dc as f64 / 10.0)));
        day.damp.extend(climate.humidity_percent.map(|percent| percent as f64));
        day.all_dc.extend([climate.temperature_dc, climate.lowest_dc, climate.highest_dc].into_iter().flatten());
    }
    let of = |Read { warm_c, damp, all_dc }: &Read| OfDay {
        mean_c: mean(warm_c),
        humidity_percent: mean(damp),
        ends_dc: all_dc.iter().min().copied().zip(all_dc.iter().max().copied()),
    };
    let mut days: BTreeMap<Date, OfDay> = read.iter().map(|(day, read)| (*day, of(read))).collect();
    let known: Vec<(Date, f64)> = days.iter().filter_map(|(day, of)| Some((*day, of.mean_c?))).collect();
    for pair in known.windows(2) {
        let [(from, before), (to, after)] = *pair else {
            continue;
        };
        let apart = from.days_until(to);
        if apart > GAP_DAYS {
            continue;
        }
        for n in 1..apart {
            if let Ok(day) = from.add_days(n) {
                let between = before + (after - before) * n as f64 / apart as f64;
                days.entry(day).or_default().mean_c = Some(between);
            }
        }
    }
    days
}

/// First and last day of a stage of a bulb in the cycle of a try, as far as it has come; the last day is not part of it.
fn stretch_of(bulb: &Bulb, stretch: Stretch, start: Date, today: Date) -> Option<(Date, Date)> {
    let cycle = bulb.cycle_on(start);
    let rest = cycle.rests().last().copied();
    let (laid, ended) = (rest.map(|(laid, _)| laid), rest.and_then(|(_, ended)| ended));
    let scape = cycle.reach(GoalStage::ScapeInSight).with;
    let flower = cycle.reach(GoalStage::FirstFlower).with;
    // What died or left has no days after that.
    let until = cycle.ended.unwrap_or(today).min(today);
    let (from, to) = match stretch {
        Stretch::Rest => (laid?, ended),
        Stretch::ToScape => (ended.or(laid.is_none().then_some(start))?, scape),
        Stretch::ToFlower => (scape?, flower),
    };
    let to = to.unwrap_or(until).min(until);
    (from < to).then_some((from, to))
}

/// Stage by stage what each group of a try had; nothing while nothing was read where its bulbs stood.
pub fn of_run(state: &State, run: Id, today: Date) -> Vec<GroupWarmth> {
    let Some(known) = state.runs.get(&run) else {
        return Vec::new();
    };
    let (Some((start, _)), Some(allotment)) = (conditions::days(known, today), known.allotment.settled()) else {
        return Vec::new();
    };
    let places = state.places.iter().map(|(id, place)| (*id, days_of(place)));
    let places: BTreeMap<Id, BTreeMap<Date, OfDay>> = places.filter(|(_, days)| !days.is_empty()).collect();
    if places.is_empty() {
        return Vec::new();
    }
    let of_arm = |(arm, group): (usize, &Id)| {
        let units = allotment.units.iter().zip(&allotment.arms).filter(|(_, of)| **of as usize == arm);
        let bulbs: Vec<&Bulb> = units.flat_map(|(unit, _)| state.bulbs_of_unit_on(*unit, start)).collect();
        let stretches = Stretch::ALL.into_iter().filter_map(|stretch| warmth(&places, &bulbs, stretch, start, today));
        GroupWarmth { group: *group, stretches: stretches.collect() }
    };
    let groups: Vec<GroupWarmth> = allotment.groups.iter().enumerate().map(of_arm).collect();
    let any = groups.iter().flat_map(|group| &group.stretches).any(|warmth| warmth.n_known > 0);
    if any { groups } else { Vec::new() }
}

fn warmth(
    places: &BTreeMap<Id, BTreeMap<Date, OfDay>>,
    bulbs: &[&Bulb],
    stretch: Stretch,
    start: Date,
    today: Date,
) -> Option<Warmth> {
    let (mut warm, mut damp, mut ends) = (Vec::new(), Vec::new(), Vec::new());
    let (mut n_days, mut n_bulbs) = (0, 0);
    for bulb in bulbs {
        let Some((from, to)) = stretch_of(bulb, stretch, start, today) else {
            continue;
        };
        n_bulbs += 1;
        // A longer stage than any rest is a slip of a date.
        for day in (0..from.days_until(to).min(limits::REST_DAYS.max)).map_while(|n| from.add_days(n).ok()) {
            n_days += 1;
            let read = bulb.place_on(day).and_then(|place| places.get(&place)?.get(&day));
            let of = read.copied().unwrap_or_default();
            warm.extend(of.mean_c);
            damp.extend(of.humidity_percent);
            ends.extend(of.ends_dc);
        }
    }
    let low = ends.iter().map(|(low, _)| *low).min();
    let high = ends.iter().map(|(_, high)| *high).max();
    (n_bulbs > 0).then(|| Warmth {
        stretch,
        mean_c: mean(&warm),
        humidity_percent: mean(&damp),
        ends_dc: low.zip(high),
        degree_hours: warm.iter().map(|c: &f64| 24.0 * c.max(0.0)).sum::<f64>() / n_bulbs as f64,
        n_known: warm.len(),
        n_days,
        n_bulbs,
    })
}

/// At how many different temperatures a stage was seen, over all tries and groups.
pub fn enough(state: &State, stretch: Stretch, today: Date) -> usize {
    let all = state.runs.keys().flat_map(|run| of_run(state, *run, today)).flat_map(|group| group.stretches);
    // Half of the days have to be known.
    let known = all.filter(|warmth| warmth.stretch == stretch && 2 * warmth.n_known >= warmth.n_days);
    let mut means: Vec<f64> = known.filter_map(|warmth| warmth.mean_c).collect();
    means.sort_by(f64::total_cmp);
    let mut different: Vec<f64> = Vec::new();
    for mean in means {
        if different.last().is_none_or(|last| mean - last >= APART_C) {
            different.push(mean);
        }
    }
    different.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    fn read(on: i64, place: &str, body: &str) -> String {
        format!("{on} mia json {place} climate {{{body}}}\n")
    }

    fn world() -> World {
        World::of(
            "-9 mia place pl_1 Cellar
             -9 mia place pl_2 Bench
             -9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1 in=pl_1
             -9 mia bulb b_2 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia group gr_a tr_1 Long
             -2 mia group gr_b tr_1 Short
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 90
             -2 mia allot ru_1 drawn gr_a=b_1 gr_b=b_2
             0 mia cycle-began b_1,b_2
             0 mia run-started ru_1
             0 mia laid-to-rest b_1,b_2
             10 mia rest-ended b_1,b_2
             10 mia moved b_1 place=pl_2
             20 mia look b_1 sh_1/scape/scape-in-sight
             30 mia look b_1 sh_1/scape/first-flower-open",
        )
    }

    #[test]
    fn stages_have_the_warmth_of_the_places_where_bulbs_stood() {
        let mut world = world();
        assert!(of_run(&world.state(), id("ru_1"), day(40)).is_empty());
        // Ten days of rest at 10 °C in the cellar, then the bench; one day by lowest and highest.
        for n in 0..10 {
            world.add(&read(n, "pl_1", r#""humidity_percent":70,"temperature_dc":100"#));
        }
        world.add(&read(10, "pl_2", r#""highest_dc":250,"lowest_dc":150,"temperature_dc":170"#));
        world.add(&read(14, "pl_2", r#""temperature_dc":200"#));
        world.add(&read(20, "pl_2", r#""temperature_dc":240"#));
        let found = of_run(&world.state(), id("ru_1"), day(40));
        let [rest, scape, flower] = found[0].stretches.as_slice() else { panic!("{found:?}") };
        assert_eq!((rest.mean_c, rest.humidity_percent, rest.n_known, rest.n_days), (Some(10.0), Some(70.0), 10, 10));
        assert!((rest.degree_hours - 2400.0).abs() < 1e-9, "10 °C for 240 hours");
        // Days 10 to 14 are known, those between by a straight line; six days on the next reading is too far.
        assert_eq!((scape.mean_c, scape.n_known, scape.n_days, scape.ends_dc), (Some(20.0), 5, 10, Some((150, 250))));
        assert_eq!((flower.mean_c, flower.n_known, flower.n_days), (Some(24.0), 1, 10));
        // The other stayed in the cellar, of which nothing more was read, and has shown nothing yet.
        let other = &found[1].stretches;
        assert_eq!((other.len(), other[1].mean_c, other[1].n_known), (2, None, 0));
        // Of the days to the scape at 20 °C half are known, of those to the flower a tenth.
        let seen = |stretch| enough(&world.state(), stretch, day(40));
        assert_eq!((seen(Stretch::Rest), seen(Stretch::ToScape), seen(Stretch::ToFlower)), (1, 1, 0));
    }
}
