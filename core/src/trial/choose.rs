//! What planning a try starts from: which units are free, even groups, days to propose.

use super::{lots::classes, ready::Ready};
use crate::{
    calendar::Date,
    error::Result,
    ledger::{
        Register,
        body::{Goal, Unit},
        id::Id,
    },
    nursery::{Bulb, State, state::Run},
};

/// A bulb or container that can be chosen for a try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// Bulb or container.
    pub unit: Id,
    /// What the grower calls it.
    pub label: String,
    /// Where it stands.
    pub place: Option<Id>,
    /// Name of its lot.
    pub lot: String,
    /// Circumference in mm, the mean of a container's bulbs; 0 when never measured.
    pub size_mm: i64,
    /// The running try it is in, so that it cannot be chosen.
    pub busy: Option<Id>,
    /// Since when it is no longer here: it can be chosen for a try from a notebook only.
    pub gone: Option<Date>,
}

/// Units that are here, by place, then lot, then label. For a try from a notebook bulbs gone since are among them.
pub fn candidates(state: &State, unit: Unit, notebook: bool) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = match unit {
        Unit::Bulb => {
            state.bulbs.values().filter(|b| notebook || b.is_here()).map(|b| candidate(state, b.id, &[b])).collect()
        }
        Unit::Container => state
            .containers
            .keys()
            .map(|container| (*container, state.bulbs_in_container(*container)))
            .filter(|(_, bulbs)| !bulbs.is_empty())
            .map(|(container, bulbs)| candidate(state, container, &bulbs))
            .collect(),
    };
    found.sort_by_cached_key(|c| {
        let place = c.place.map(|place| state.name_of(place).to_lowercase());
        (place, c.lot.to_lowercase(), c.label.clone(), c.unit)
    });
    found
}

fn candidate(state: &State, unit: Id, bulbs: &[&Bulb]) -> Candidate {
    let first = bulbs.first();
    let lot = first.and_then(|bulb| bulb.lot.shown()).and_then(|lot| state.lots.get(lot)).and_then(Register::shown);
    let sum: i64 = bulbs.iter().map(|bulb| bulb.size_mm()).sum();
    Candidate {
        unit,
        label: state.name_of(unit).to_owned(),
        place: first.and_then(|bulb| bulb.place),
        lot: lot.map(|lot| lot.name.clone()).unwrap_or_default(),
        size_mm: sum / (bulbs.len().max(1) as i64),
        busy: bulbs.iter().find_map(|bulb| state.running(bulb)),
        gone: first.and_then(|bulb| bulb.fate.since()),
    }
}

/// Sizes of `k` groups of `n` units in all, as even as can be, the first ones one larger.
pub fn even_sizes(n: usize, k: usize) -> Vec<usize> {
    let k = k.max(1);
    (0..k).map(|at| n / k + usize::from(at < n % k)).collect()
}

/// Length of a class that lots are drawn in: four units a group. Within classes of 4 and 4 the exact test notices 8 in 10
/// against 2 in 10 as often as without classes (60 of 100 tries of 8 and 8 bulbs), within classes of 2 and 2 only 51 of
/// 100 times.
pub fn class_length(n_groups: usize) -> usize {
    (4 * n_groups).max(2)
}

/// A unit as lots are drawn for it. With `classes` its cultivar and size say which class it stands in; without, all units
/// stand in one.
pub fn to_draw(state: &State, id: Id, classes: bool) -> classes::Unit<Id> {
    let bulbs = state.bulbs_of_unit(id);
    let sum: i64 = bulbs.iter().map(|bulb| bulb.size_mm()).sum();
    let mut cultivars = bulbs.iter().map(|bulb| state.cultivar_of(bulb));
    let first = cultivars.next().flatten().filter(|_| classes);
    let cultivar = first.filter(|first| cultivars.all(|other| other == Some(*first)));
    classes::Unit { id, cultivar: cultivar.unwrap_or_default().to_owned(), size: sum / (bulbs.len().max(1) as i64) }
}

/// The units of one cultivar and size class, as they are shown before lots are drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClassToDraw {
    /// The cultivar; empty where there are several, or it is not known.
    pub cultivar: String,
    /// The units with their sizes in mm, smallest first.
    pub units: Vec<(Id, i64)>,
}

/// The classes that lots would be drawn in.
pub fn classes(state: &State, units: &[Id], n_groups: usize) -> Vec<ClassToDraw> {
    let hat: Vec<classes::Unit<Id>> = units.iter().map(|id| to_draw(state, *id, true)).collect();
    let found = classes::classes(&hat, n_groups, class_length(n_groups));
    let shown = |class: classes::Class| ClassToDraw {
        units: class.units.iter().map(|&at| (hat[at].id, hat[at].size)).collect(),
        cultivar: class.cultivar,
    };
    found.into_iter().map(shown).collect()
}

/// Weeks from the end of a rest to the first open flower: the planning band of published ranges, 5 to 10 (extension
/// services and trade pages; none is a measured percentile).
pub const LEAD_WEEKS: (i64, i64) = (5, 10);

/// A due window to propose for a ready question that starts on this day: from the shortest rest and lead to the
/// longest, or by the longest lead where nothing rests.
///
/// # Errors
/// When the days lie beyond the calendar.
pub fn proposed_window(ready: Option<&Ready>, start: Date) -> Result<(Date, Date)> {
    let rests: Vec<i64> = ready
        .filter(|ready| ready.unit == "weeks")
        .map(|ready| ready.groups.iter().filter_map(|group| group.value_milli).map(|milli| milli / 1000).collect())
        .unwrap_or_default();
    let longest = rests.iter().max().copied().unwrap_or(0);
    let to = start.add_days(7 * (longest + LEAD_WEEKS.1))?;
    let from = match ready.map(|ready| ready.goal) {
        // Three weeks: the shortest window that the band of the last group's lead does not outrun by itself.
        Some(Goal::InWindow) => to.add_days(-21)?,
        _ => start,
    };
    Ok((from, to))
}

/// The due window of a further try that starts on this day: as far from its start as that of the last one was from
/// the day it really started.
pub fn moved_window(last: &Run, start: Date) -> Option<(Date, Date)> {
    let (window, began) = (last.window.shown()?, last.start()?);
    let moved = |day: Date| start.add_days(began.days_until(day)).ok();
    Some((moved(window.from)?, moved(window.to)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn units_in_a_running_try_are_marked_and_gone_ones_are_left_out() {
        let world = World::of(
            "-9 mia place pl_1 Cellar
             -9 mia lot lo_1 Red
             -9 mia bulb b_1 lo_1 in=pl_1 size=260
             -9 mia bulb b_2 lo_1 in=pl_1
             -9 mia bulb b_3 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia allot ru_1 hand gr_a=b_1 gr_b=b_2
             0 mia run-started ru_1
             1 mia died b_3",
        );
        let found = candidates(&world.state(), Unit::Bulb, false);
        let rows: Vec<_> = found.iter().map(|c| (c.unit, c.size_mm, c.busy)).collect();
        assert_eq!(rows, [(id("b_1"), 260, Some(id("ru_1"))), (id("b_2"), 0, Some(id("ru_1")))]);
        assert!(candidates(&world.state(), Unit::Container, false).is_empty());
        let gone = candidates(&world.state(), Unit::Bulb, true);
        let gone: Vec<_> = gone.iter().map(|c| (c.unit, c.gone)).collect();
        assert_eq!(gone[2], (id("b_3"), Some(day(1))));
    }

    #[test]
    fn a_container_of_several_cultivars_has_none_of_its_own() {
        let world = World::of(
            "-9 mia lot lo_1 Red
             -9 mia lot lo_2 White
             -9 mia container co_1 Trough
             -9 mia container co_2 Trough
             -9 mia bulb b_1 lo_1 size=260
             -9 mia bulb b_2 lo_1 size=280
             -9 mia bulb b_3 lo_2 size=300
             -9 mia potted b_1,b_2 container=co_1
             -9 mia potted b_3 container=co_2",
        );
        let of = |world: &World, unit: &str| {
            let unit = to_draw(&world.state(), id(unit), true);
            (unit.cultivar, unit.size)
        };
        assert_eq!(of(&world, "co_1"), ("Red".to_owned(), 270));
        assert_eq!(of(&world, "b_3"), ("White".to_owned(), 300));
        let mixed = world.and("-8 mia potted b_2 container=co_2");
        assert_eq!(of(&mixed, "co_2"), (String::new(), 290));
        assert_eq!(to_draw(&mixed.state(), id("b_3"), false).cultivar, "");
    }

    /// All tables of 8 and 8 bulbs counted by a script of a few lines, apart from this program: 8 in 10 against 2 in 10.
    #[test]
    fn classes_of_four_a_group_cost_nothing_and_smaller_ones_do() {
        use crate::evidence::power_blocks::{Planned, power};
        assert_eq!(class_length(2), 8);
        let class = |n: u32| Planned { in_a: n, in_b: n, share_a: 0.8, share_b: 0.2 };
        for (n, counted) in [(8, 0.598_134_573), (4, 0.598_574_385), (2, 0.506_655_119)] {
            let classes = vec![class(n); 8 / n as usize];
            assert!((power(&classes, 0.05).unwrap().power - counted).abs() < 1e-9, "{n}");
        }
    }

    #[test]
    fn even_groups_hold_everything() {
        assert_eq!(even_sizes(12, 2), [6, 6]);
        assert_eq!(even_sizes(11, 3), [4, 4, 3]);
        assert_eq!(even_sizes(1, 2), [1, 0]);
    }

    #[test]
    fn a_proposed_window_leaves_the_longest_rest_its_lead() {
        let rest = Ready::from_key("rest");
        assert_eq!(proposed_window(rest, day(0)).unwrap(), (day(133), day(154)));
        assert_eq!(proposed_window(Ready::from_key("feeding"), day(0)).unwrap(), (day(0), day(70)));
        assert_eq!(proposed_window(None, day(0)).unwrap(), (day(0), day(70)));
    }

    #[test]
    fn a_further_try_keeps_the_distance_from_the_real_start() {
        // Planned for day 0, started on day 2; due from day 30 to 40.
        let world = World::of(
            "-2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 0 every=7
             -2 mia due ru_1 30 40
             2 mia run-started ru_1",
        );
        let state = world.state();
        let moved = moved_window(&state.runs[&id("ru_1")], day(100));
        assert_eq!(moved, Some((day(128), day(138))));
    }
}
