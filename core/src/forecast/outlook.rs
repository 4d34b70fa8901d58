//! What a screen shows of a forecast: plain values, small enough to hand from a worker.

use std::collections::{BTreeMap, BTreeSet};

use bloomdue_draws::futures::points;
use serde::{Deserialize, Serialize};

use super::{
    data::{Attempt, Begins, Coming, Data, Unforeseen},
    fit::{Fit, METHOD, Sampling},
    futures::{Futures, NEVER, Wanted, shows},
};
use crate::{calendar::Date, ledger::id::Id, nursery::State};

/// The longest stretch of days that counts are given for.
pub const MOST_DAYS: usize = 366;

/// The dates before which a stage comes in 1, 5 and 9 of 10 cases.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dates {
    /// 1 in 10 come by then.
    pub p10: Date,
    /// Half.
    pub p50: Date,
    /// 9 in 10.
    pub p90: Date,
}

/// One stage still to come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StageComing {
    /// The stage.
    pub stage: Coming,
    /// When, if it comes in this cycle at all.
    pub dates: Dates,
}

/// A stretch of days that is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
}

/// What to expect of one bulb.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BulbOutlook {
    /// The bulb.
    pub bulb: Id,
    /// The day that its days count from; may lie ahead.
    pub origin: Date,
    /// What that day is.
    pub begins: Begins,
    /// Stages still to come, in order.
    pub coming: Vec<StageComing>,
    /// The chance that it stays blind in this cycle, 0 to 1; 0 once a scape was seen.
    pub blind: f64,
    /// The chance that a scape is in sight today, whether anybody looked or not; 1 once one was seen.
    pub in_sight: f64,
    /// The chance to be fit to sell on at least one day of the window.
    pub fit_in_window: Option<f64>,
    /// The chance to be in flower on at least one day of the window.
    pub in_flower_in_window: Option<f64>,
}

/// Which stages to come can be drawn on a calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// At least one falls on its days.
    Lines,
    /// All lie beyond them, or none is expected in this cycle.
    Nothing,
    /// All should have been seen by now, and were not.
    Overdue,
    /// None is to come before the flower is over: it is in flower.
    InFlower,
}

impl BulbOutlook {
    /// What of it can be drawn on a calendar from today to `until`.
    pub fn drawn(&self, today: Date, until: Date) -> Drawn {
        let dates = self.coming.iter().filter(|one| one.stage != Coming::Over);
        let dates = dates.map(|one| one.dates);
        // While a scape may still come its stages are to come, unless no future has one.
        if dates.clone().next().is_none() {
            return if self.blind > 0.0 { Drawn::Nothing } else { Drawn::InFlower };
        }
        if dates.clone().all(|dates| dates.p90 < today) {
            return Drawn::Overdue;
        }
        let falls = |dates: Dates| dates.p90 >= today && dates.p10 <= until;
        if dates.clone().any(falls) { Drawn::Lines } else { Drawn::Nothing }
    }
}

/// A number of bulbs with its band.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Counted {
    /// In 9 of 10 cases it is this many or more.
    pub p10: u32,
    /// The middle.
    pub p50: u32,
    /// In 9 of 10 cases it is this many or fewer.
    pub p90: u32,
    /// The mean.
    pub mean: f64,
}

impl Counted {
    /// Of counts in order of size.
    pub fn of(sorted: &[u32]) -> Self {
        let at = |share: f64| {
            let last = sorted.len().saturating_sub(1);
            sorted.get((share * last as f64).round() as usize).copied().unwrap_or(0)
        };
        let sum: f64 = sorted.iter().map(|n| f64::from(*n)).sum();
        Self { p10: at(0.1), p50: at(0.5), p90: at(0.9), mean: sum / sorted.len().max(1) as f64 }
    }
}

/// How many there are on a day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OnDay {
    /// The day.
    pub day: Date,
    /// Fit to sell.
    pub fit: Counted,
    /// In flower.
    pub in_flower: Counted,
}

/// How many there are on at least one day of a window, and how sure any number of them is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InWindow {
    /// The band.
    pub counted: Counted,
    /// `at_least[k]` is the chance of k or more; from 0 to the number of bulbs.
    pub at_least: Vec<f64>,
}

impl InWindow {
    fn of(sorted: &[u32], n_bulbs: usize) -> Self {
        let n = sorted.len().max(1) as f64;
        let chance = |k: usize| {
            let below = sorted.partition_point(|count| (*count as usize) < k);
            (sorted.len() - below) as f64 / n
        };
        Self { counted: Counted::of(sorted), at_least: (0..=n_bulbs).map(chance).collect() }
    }

    /// The largest number that is reached with at least this chance ("9 times in 10").
    pub fn assured(&self, chance: f64) -> usize {
        let enough = |at_least: &f64| *at_least >= chance;
        self.at_least.iter().rposition(enough).unwrap_or(0)
    }
}

/// Which bulbs a count is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// All that are under way.
    All,
    /// Those that the days asked about are for ([`Ask::bulbs`]).
    Asked,
    /// Those standing in a place.
    Place(Id),
    /// Those of a lot.
    Lot(Id),
    /// Those of a try.
    Try(Attempt),
    /// Those that were treated alike.
    Treatment(u32),
}

/// What to expect of several bulbs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GroupOutlook {
    /// Which.
    pub of: Of,
    /// Bulbs under way among them.
    pub n_bulbs: usize,
    /// These, as their places in [`Outlook::bulbs`].
    pub members: Vec<usize>,
    /// Day by day; empty when no days were asked about.
    pub days: Vec<OnDay>,
    /// Fit to sell in the window.
    pub fit_in_window: Option<InWindow>,
    /// In flower in the window.
    pub in_flower_in_window: Option<InWindow>,
}

/// What is asked.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ask {
    /// The due window.
    pub window: Option<Window>,
    /// The days to count by.
    pub days: Option<Window>,
    /// The bulbs that the window is for, to be counted by themselves; none where it is for no try and no plan.
    pub bulbs: BTreeSet<Id>,
}

/// Of bulbs without a forecast, those that show a scape or flowers: no record says when they were started.
fn started_unknown(unforeseen: &[(Id, Unforeseen)], state: &State) -> Vec<Id> {
    let unknown = unforeseen.iter().filter(|(_, why)| *why == Unforeseen::NoBeginning).map(|(bulb, _)| *bulb);
    let shows = |id: &Id| state.bulb(id).is_some_and(|bulb| bulb.cycle().furthest().is_some());
    unknown.filter(shows).collect()
}

impl Ask {
    /// How many of the bulbs that are asked about show a scape or flowers without a forecast, since no record says when
    /// they were started. Where the window is for no try and no plan, all bulbs are asked about.
    pub fn n_started_unknown(&self, unforeseen: &[(Id, Unforeseen)], state: &State) -> usize {
        let unknown = started_unknown(unforeseen, state);
        unknown.iter().filter(|id| self.bulbs.is_empty() || self.bulbs.contains(id)).count()
    }
}

/// A forecast, ready to show.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outlook {
    /// The day it was computed for.
    pub today: Date,
    /// Name and version of the method.
    pub method: String,
    /// Every number comes from published ranges, not from this nursery.
    pub from_published: bool,
    /// How sure the computing itself is.
    pub sampling: Sampling,
    /// One a bulb under way, in the order of their ids.
    pub bulbs: Vec<BulbOutlook>,
    /// All, those asked about, then by place, lot, try and treatment.
    pub groups: Vec<GroupOutlook>,
    /// Bulbs that are here without a forecast, and why.
    pub unforeseen: Vec<(Id, Unforeseen)>,
}

impl OnDay {
    /// How many show what is wanted.
    pub fn of(&self, wanted: Wanted) -> Counted {
        match wanted {
            Wanted::FitToSell => self.fit,
            Wanted::InFlower => self.in_flower,
        }
    }
}

impl GroupOutlook {
    /// How many show what is wanted in the window; nothing when none was asked about.
    pub fn in_window(&self, wanted: Wanted) -> Option<&InWindow> {
        match wanted {
            Wanted::FitToSell => self.fit_in_window.as_ref(),
            Wanted::InFlower => self.in_flower_in_window.as_ref(),
        }
    }
}

impl BulbOutlook {
    /// The chance to show what is wanted in the window; nothing when none was asked about.
    pub fn in_window(&self, wanted: Wanted) -> Option<f64> {
        match wanted {
            Wanted::FitToSell => self.fit_in_window,
            Wanted::InFlower => self.in_flower_in_window,
        }
    }
}

impl Outlook {
    /// All bulbs under way together.
    pub fn all(&self) -> Option<&GroupOutlook> {
        self.groups.iter().find(|group| group.of == Of::All)
    }

    /// Those under way that the days asked about are for; nothing when none of these is.
    pub fn asked(&self) -> Option<&GroupOutlook> {
        self.groups.iter().find(|group| group.of == Of::Asked)
    }

    /// Bulbs whose days count from a day that is only planned: what that day is, how many, and the first and last of it.
    pub fn planned_beginnings(&self) -> Vec<(Begins, usize, Date, Date)> {
        let mut all: BTreeMap<Begins, (usize, Date, Date)> = BTreeMap::new();
        let planned = self.bulbs.iter();
        for bulb in planned.filter(|bulb| bulb.begins != Begins::Recorded) {
            let known = all.entry(bulb.begins);
            let (n, first, last) = known.or_insert((0, bulb.origin, bulb.origin));
            (*n, *first, *last) = (*n + 1, bulb.origin.min(*first), bulb.origin.max(*last));
        }
        let all = all.into_iter();
        all.map(|(begins, (n, first, last))| (begins, n, first, last)).collect()
    }

    /// Bulbs that show a scape or flowers and are not counted, since no record says when they were started.
    pub fn started_unknown(&self, state: &State) -> Vec<Id> {
        started_unknown(&self.unforeseen, state)
    }

    /// Bulbs place by place, in the order of their chance in the window, the likeliest first; then those that stand in
    /// no place.
    pub fn by_place(&self, wanted: Wanted) -> Vec<(Option<Id>, Vec<&BulbOutlook>)> {
        let mut placed = vec![false; self.bulbs.len()];
        let mut places = Vec::new();
        for group in &self.groups {
            if let Of::Place(place) = group.of {
                for at in &group.members {
                    placed[*at] = true;
                }
                places.push((Some(place), group.members.clone()));
            }
        }
        let nowhere: Vec<usize> = (0..placed.len()).filter(|at| !placed[*at]).collect();
        if !nowhere.is_empty() {
            places.push((None, nowhere));
        }
        let chance = |bulb: &&BulbOutlook| bulb.in_window(wanted).unwrap_or(0.0);
        let bulbs_of = |members: Vec<usize>| {
            let mut bulbs: Vec<_> = members.iter().filter_map(|at| self.bulbs.get(*at)).collect();
            bulbs.sort_by(|a, b| chance(b).total_cmp(&chance(a)));
            bulbs
        };
        let places = places.into_iter();
        places.map(|(place, members)| (place, bulbs_of(members))).collect()
    }
}

/// Bulbs by how likely they are to show what is wanted in the window, each part in the order of that chance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ByChance<'a> {
    /// At least 19 times in 20.
    pub nearly_sure: Vec<&'a BulbOutlook>,
    /// Between the two.
    pub may_be: Vec<&'a BulbOutlook>,
    /// At most once in 20.
    pub hardly: Vec<&'a BulbOutlook>,
}

impl Outlook {
    /// Bulbs by their chance in the window, the likeliest first.
    pub fn by_chance(&self, wanted: Wanted) -> ByChance<'_> {
        const NEARLY_SURE: f64 = 0.95;
        let mut bulbs: Vec<_> = self.bulbs.iter().map(|bulb| (bulb.in_window(wanted).unwrap_or(0.0), bulb)).collect();
        bulbs.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        let mut by_chance = ByChance::default();
        for (chance, bulb) in bulbs {
            let part = match chance {
                chance if chance >= NEARLY_SURE => &mut by_chance.nearly_sure,
                chance if chance > 1.0 - NEARLY_SURE => &mut by_chance.may_be,
                _ => &mut by_chance.hardly,
            };
            part.push(bulb);
        }
        by_chance
    }
}

/// Everything a screen shows.
pub fn outlook(data: &Data, fit: &Fit, ask: &Ask) -> Outlook {
    outlook_of(data, fit, &Futures::of(data, fit), ask)
}

/// The same for one of several windows; the futures have to be those of the data and the fit.
pub fn outlook_of(data: &Data, fit: &Fit, futures: &Futures, ask: &Ask) -> Outlook {
    let waiting: Vec<usize> = data.waiting().collect();
    let bulbs = waiting.iter().enumerate();
    let bulbs = bulbs.map(|(n, at)| of_bulb(data, *at, n, futures, ask)).collect();
    let mut members: BTreeMap<Of, Vec<usize>> = BTreeMap::new();
    members.insert(Of::All, (0..waiting.len()).collect());
    for (n, at) in waiting.iter().enumerate() {
        let course = &data.courses[*at];
        let level = |index: Option<u32>| index.map(|index| index as usize);
        let of = [
            ask.bulbs.contains(&course.bulb).then_some(Of::Asked),
            course.place.map(Of::Place),
            level(course.lot).and_then(|lot| data.lots.get(lot).copied().map(Of::Lot)),
            level(course.attempt).and_then(|at| data.tries.get(at).copied().map(Of::Try)),
            course.treatment.map(Of::Treatment),
        ];
        for of in of.into_iter().flatten() {
            members.entry(of).or_default().push(n);
        }
    }
    let groups = members.iter().map(|(of, bulbs)| of_group(*of, bulbs, futures, ask));
    Outlook {
        today: data.today,
        method: METHOD.to_owned(),
        from_published: fit.from_published,
        sampling: fit.sampling,
        bulbs,
        groups: groups.collect(),
        unforeseen: data.unforeseen.clone(),
    }
}

fn of_bulb(data: &Data, at: usize, n: usize, futures: &Futures, ask: &Ask) -> BulbOutlook {
    let course = &data.courses[at];
    // A stage is behind a bulb that has reached it or a later one.
    let reached = |stage: &Coming| {
        let mut from_it = course.stages[*stage as usize..].iter();
        from_it.any(|known| matches!(known, super::Known::Between { .. }))
    };
    let paths = futures.of_bulb(n);
    let mut coming = Vec::new();
    for stage in Coming::ALL.into_iter().filter(|stage| !reached(stage)) {
        let days = points(&paths, stage as usize, [0.1, 0.5, 0.9]);
        let dates = days.map(|days| days.map(|day| futures.today.add_days(i64::from(day))));
        if let Some([Ok(p10), Ok(p50), Ok(p90)]) = dates {
            let dates = Dates { p10, p50, p90 };
            coming.push(StageComing { stage, dates });
        }
    }
    let share = |n: usize| n as f64 / paths.len().max(1) as f64;
    let chance = |wanted| {
        ask.window.map(|w| {
            let (from, to) = (futures.day(w.from), futures.day(w.to));
            let shown = paths.iter().filter(|path| shows(path, wanted, from, to));
            share(shown.count())
        })
    };
    let blind = paths.iter().filter(|path| path[0] == NEVER).count();
    let first = Coming::ScapeInSight;
    let by_now = paths.iter().filter(|path| path[first as usize] != NEVER && path[first as usize] <= 0).count();
    BulbOutlook {
        bulb: course.bulb,
        origin: course.origin,
        begins: course.begins,
        coming,
        blind: share(blind),
        in_sight: if reached(&first) { 1.0 } else { share(by_now) },
        fit_in_window: chance(Wanted::FitToSell),
        in_flower_in_window: chance(Wanted::InFlower),
    }
}

fn of_group(of: Of, bulbs: &[usize], futures: &Futures, ask: &Ask) -> GroupOutlook {
    let in_window =
        |wanted| ask.window.map(|w| InWindow::of(&futures.counts(bulbs, wanted, w.from, w.to), bulbs.len()));
    let days = ask.days.map_or_else(Vec::new, |days| {
        let n_days = (days.from.days_until(days.to) + 1).clamp(0, MOST_DAYS as i64) as usize;
        let by_day = |wanted| futures.counts_by_day(bulbs, wanted, days.from, n_days);
        let both = by_day(Wanted::FitToSell).into_iter().zip(by_day(Wanted::InFlower));
        let on_day = |(n, (fit, in_flower)): (i64, (Vec<u32>, Vec<u32>))| {
            Some(OnDay { day: days.from.add_days(n).ok()?, fit: Counted::of(&fit), in_flower: Counted::of(&in_flower) })
        };
        (0_i64..).zip(both).filter_map(on_day).collect()
    });
    GroupOutlook {
        of,
        n_bulbs: bulbs.len(),
        members: bulbs.to_vec(),
        days,
        fit_in_window: in_window(Wanted::FitToSell),
        in_flower_in_window: in_window(Wanted::InFlower),
    }
}
