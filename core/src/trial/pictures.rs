//! Photos of a try by group, all of one day: what the groups looked like side by side.
//!
//! Within a group photos come in the order in which lots were drawn, so that nobody's favourite is shown.

use std::collections::BTreeSet;

use crate::{
    calendar::Date,
    ledger::{body::Photo, id::Id},
    nursery::State,
};

/// A photo of a bulb may be this many days off the day it stands for.
pub const NEAR_DAYS: i64 = 2;

/// One bulb's photo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// The bulb.
    pub bulb: Id,
    /// The day it was taken.
    pub on: Date,
    /// The photo.
    pub photo: Photo,
}

/// All groups on one day of the try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoDay {
    /// The day.
    pub on: Date,
    /// The day of the try: 0 is its start.
    pub day_of_try: i64,
    /// Each group with its pictures, in the order of the groups; some may have none.
    pub groups: Vec<(Id, Vec<Picture>)>,
}

impl PhotoDay {
    /// How many groups have a picture.
    pub fn n_groups(&self) -> usize {
        let groups = self.groups.iter();
        groups.filter(|(_, pictures)| !pictures.is_empty()).count()
    }
}

/// The days of a try on which photos were taken, the best to show first: most groups, then most exactly that day, then
/// the latest.
pub fn photo_days(state: &State, run: Id) -> Vec<PhotoDay> {
    let Some(known) = state.runs.get(&run) else {
        return Vec::new();
    };
    let (Some(start), Some(allotment)) = (known.start(), known.allotment.settled()) else {
        return Vec::new();
    };
    let rows = allotment.units.iter().zip(&allotment.arms);
    let bulbs: Vec<(usize, Id)> = rows
        .flat_map(|(unit, arm)| {
            let bulbs = state.bulbs_of_unit_on(*unit, start).into_iter();
            bulbs.map(|bulb| (*arm as usize, bulb.id))
        })
        .collect();
    let end = known.closed;
    let within = |on: Date| on >= start && end.is_none_or(|end| on <= end);
    let all: Vec<(usize, Picture)> = bulbs
        .iter()
        .filter_map(|(arm, bulb)| Some((*arm, state.bulb(bulb)?)))
        .flat_map(|(arm, bulb)| {
            let photos = bulb.photos.iter();
            photos.map(move |photo| {
                let picture = Picture { bulb: bulb.id, on: photo.at.date(), photo: photo.photo.clone() };
                (arm, picture)
            })
        })
        .filter(|(_, picture)| within(picture.on))
        .collect();
    let days: BTreeSet<Date> = all.iter().map(|(_, picture)| picture.on).collect();
    let mut days: Vec<PhotoDay> = days
        .into_iter()
        .map(|on| PhotoDay {
            on,
            day_of_try: start.days_until(on),
            groups: (allotment.groups.iter().enumerate()).map(|(arm, group)| (*group, near(&all, arm, on))).collect(),
        })
        .collect();
    let off = |day: &PhotoDay| -> usize {
        let pictures = day.groups.iter().flat_map(|(_, pictures)| pictures);
        pictures.filter(|picture| picture.on != day.on).count()
    };
    days.sort_by_key(|day| (std::cmp::Reverse(day.n_groups()), off(day), std::cmp::Reverse(day.on)));
    days
}

/// A group's pictures of a day: of each bulb the nearest, an exact one before others.
fn near(all: &[(usize, Picture)], arm: usize, on: Date) -> Vec<Picture> {
    let mut found: Vec<&Picture> = Vec::new();
    let off = |picture: &Picture| on.days_until(picture.on).abs();
    let pictures = all.iter().filter(|(of, picture)| *of == arm && off(picture) <= NEAR_DAYS);
    for (_, picture) in pictures {
        match found.iter_mut().find(|known| known.bulb == picture.bulb) {
            Some(known) if off(picture) < off(known) => *known = picture,
            Some(_) => {}
            None => found.push(picture),
        }
    }
    found.into_iter().cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn the_day_with_most_groups_comes_first_and_lots_give_the_order() {
        let photo = |on: i64, bulb: &str, n: u32| {
            let hash = format!("{n:064x}");
            let hash = crate::ledger::shelf::Attachment::of(hash.into_bytes()).hash();
            format!(
                r#"{on} mia json {bulb} photo {{"hash":"{hash}","media":"image/jpeg","n_bytes":1,"width_px":3,"height_px":4}}
"#
            )
        };
        let world = World::of(
            "-30 mia place pl_1 One
             -30 mia lot lo_1 Red
             -30 mia bulb b_1 lo_1 in=pl_1
             -30 mia bulb b_2 lo_1 in=pl_1
             -30 mia bulb b_3 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia group gr_a tr_1 Long
             -2 mia group gr_b tr_1 Short
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia rule ru_1 by scape-in-sight
             -2 mia due ru_1 30
             -2 mia allot ru_1 drawn gr_a=b_2,b_1 gr_b=b_3
             0 mia run-started ru_1
             50 mia run-closed ru_1",
        )
        .and(&photo(-1, "b_1", 1))
        .and(&photo(10, "b_1", 2))
        .and(&photo(10, "b_2", 3))
        .and(&photo(12, "b_3", 4))
        .and(&photo(20, "b_3", 5))
        .and(&photo(51, "b_3", 6));
        let days = photo_days(&world.state(), id("ru_1"));
        let seen: Vec<(i64, usize)> = days.iter().map(|d| (d.day_of_try, d.n_groups())).collect();
        // Days 10 and 12 show both groups; on day 10 two of three pictures are of that very day.
        assert_eq!(seen, [(10, 2), (12, 2), (20, 1)]);
        let bulbs: Vec<Vec<Id>> = (days[0].groups.iter())
            .map(|(_, pictures)| pictures.iter().map(|picture| picture.bulb).collect())
            .collect();
        assert_eq!(bulbs, [vec![id("b_2"), id("b_1")], vec![id("b_3")]]);
        assert_eq!(days[0].groups[1].1[0].on, day(12));
        assert!(photo_days(&world.state(), id("ru_9")).is_empty());
    }
}
