//! When bulbs reached the stage, as the looks bound it: each bulb a stretch on the time axis, each group a curve.

use serde::Serialize;

use crate::{
    calendar::Date,
    evidence::{
        How, interval_scores, serialize_said,
        turnbull::{Bounds, Curve, Stretch},
    },
    ledger::{body::LeftHow, id::Id},
    nursery::{
        State,
        bulb::{Bulb, Fate},
    },
    trial::standing::{Design, GroupStanding, UnitStanding, pairs},
};

use super::pairing::{Pair, PairUnits, compared};

/// What ended the waiting for one bulb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// The stage was seen.
    Reached,
    /// Nothing seen yet.
    Open,
    /// A shoot was seen that is not proved.
    Unproved,
    /// It died first.
    Died,
    /// It was missing first.
    Missing,
    /// It was sold, given or withdrawn first.
    Left(LeftHow),
}

/// One bulb on the time axis.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bar {
    /// The bulb.
    pub bulb: Id,
    /// What the grower calls it.
    pub label: String,
    /// Last day known to be without the stage; the start when no look says more.
    pub without: Date,
    /// First day seen with it.
    pub with: Option<Date>,
    /// What ended the waiting.
    pub end: End,
    /// Whether looks contradict each other.
    pub contradicted: bool,
}

/// One group's days.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GroupTimes {
    /// The group.
    pub group: Id,
    /// Its bulbs, the earliest first.
    pub bars: Vec<Bar>,
    /// Turnbull's stretches, in days from the start; an endless one is the part still open.
    #[serde(serialize_with = "serialize_said")]
    pub stretches: crate::evidence::Result<Vec<Stretch>>,
    /// Days until half of them reached it, as the earliest and latest that the looks allow.
    #[serde(serialize_with = "serialize_said")]
    pub median_days: crate::evidence::Result<(f64, f64)>,
    /// Mean days without the stage up to `tau_days`, as the least and most that the looks allow.
    #[serde(serialize_with = "serialize_said")]
    pub mean_days: crate::evidence::Result<(f64, f64)>,
}

/// Bulbs of a group whose stretches are the same, which a picture of many bulbs draws as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Alike {
    /// Last day known to be without the stage.
    pub without: Date,
    /// First day seen with it.
    pub with: Option<Date>,
    /// What ended the waiting.
    pub end: End,
    /// How many bulbs.
    pub n: u32,
}

impl GroupTimes {
    /// Its bulbs, those with the same stretch counted together, in the order of the bars.
    pub fn alike(&self) -> Vec<Alike> {
        let mut all: Vec<Alike> = Vec::new();
        for bar in &self.bars {
            let same = |one: &&mut Alike| (one.without, one.with, one.end) == (bar.without, bar.with, bar.end);
            match all.iter_mut().find(same) {
                Some(one) => one.n += 1,
                None => all.push(Alike { without: bar.without, with: bar.with, end: bar.end, n: 1 }),
            }
        }
        all
    }
}

/// Two groups' speed compared; it does not decide.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Speed {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Two-sided p of the permuted interval scores within size classes.
    #[serde(serialize_with = "serialize_said")]
    pub p: crate::evidence::Result<f64>,
    /// How p was found.
    pub how: Option<How>,
    /// Mean days without the stage, a less b, as the least and most that the looks allow.
    #[serde(serialize_with = "serialize_said")]
    pub mean_days: crate::evidence::Result<(f64, f64)>,
}

/// The days of a try.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Times {
    /// First day of the axis.
    pub start: Date,
    /// Last day of the axis: the last that counts, or the latest on which the stage was first seen.
    pub until: Date,
    /// Means are taken up to this day: the last that counts, or the earliest of the groups' last looks before it.
    pub tau_days: f64,
    /// Group by group.
    pub groups: Vec<GroupTimes>,
    /// Speeds compared, once there is a verdict.
    pub speeds: Vec<Speed>,
}

/// The days of a try; nothing when no bulbs are known.
pub(super) fn times(
    design: &Design<'_>,
    state: &State,
    groups: &[GroupStanding],
    today: Date,
    decided: bool,
) -> Option<Times> {
    if groups.iter().all(|group| group.units.is_empty()) {
        return None;
    }
    let axis = Axis { design, state, today };
    let (tau_days, all) = axis.of_groups(groups);
    let last = all.iter().flat_map(|group| &group.bars);
    let last = last.filter_map(|bar| bar.with).max();
    let until = design.window.to.max(last.unwrap_or(design.window.to));
    let speeds = if decided && !design.counting().by_container() {
        let found = compared(axis.to_compare(groups));
        let speeds = found.iter().filter_map(|pair| Speed::of(pair, &all));
        speeds.collect()
    } else {
        Vec::new()
    };
    Some(Times { start: design.start, until, tau_days, groups: all, speeds })
}

/// Mean days without the stage, a less b, as the least and most that the looks allow.
///
/// # Errors
/// When a group has no mean.
pub fn mean_gap(a: &GroupTimes, b: &GroupTimes) -> crate::evidence::Result<(f64, f64)> {
    let (a, b) = (a.mean_days?, b.mean_days?);
    Ok((a.0 - b.1, a.1 - b.0))
}

/// The pairs whose speeds are to be compared, which takes longer than the rest.
pub(super) fn speed_pairs(design: &Design<'_>, state: &State, groups: &[GroupStanding], today: Date) -> Vec<PairUnits> {
    if design.counting().by_container() {
        return Vec::new();
    }
    let axis = Axis { design, state, today };
    axis.to_compare(groups)
}

struct Axis<'a> {
    design: &'a Design<'a>,
    state: &'a State,
    today: Date,
}

impl Axis<'_> {
    fn bulbs<'b>(&'b self, unit: &'b UnitStanding) -> impl Iterator<Item = &'b Bulb> {
        unit.bulbs.iter().filter_map(|bulb| self.state.bulb(bulb))
    }

    fn bar(&self, bulb: &Bulb) -> Bar {
        let design = self.design;
        let judged = design.judge(bulb, design.rule, self.today);
        let reach = judged.reach;
        let cycle = bulb.cycle_on(design.start);
        let in_cycle = std::ptr::eq(cycle, bulb.cycle());
        let gone = bulb.fate.since().filter(|_| in_cycle);
        let end = match (reach.with, reach.unproved, gone, &bulb.fate) {
            (Some(_), ..) => End::Reached,
            (_, Some(_), ..) => End::Unproved,
            // What became of it is not known.
            (.., Some(_), _) if bulb.end_is_disputed() => End::Open,
            (.., Some(_), Fate::Died { .. }) => End::Died,
            (.., Some(_), Fate::Missing { .. }) => End::Missing,
            (.., Some(_), Fate::Left { how, .. }) => End::Left(*how),
            _ => End::Open,
        };
        Bar {
            bulb: bulb.id,
            label: bulb.label().to_owned(),
            without: reach.without.unwrap_or(design.start).max(design.start),
            with: reach.with,
            end,
            contradicted: reach.contradicted,
        }
    }

    /// Days from the start between which the stage was reached.
    fn bounds(&self, bar: &Bar) -> Bounds {
        let day = |date: Date| self.design.start.days_until(date).max(0) as f64;
        let left = day(bar.without);
        Bounds { left, right: bar.with.map_or(f64::INFINITY, |with| day(with).max(left)) }
    }

    fn of_group(&self, group: &GroupStanding, tau_days: f64) -> GroupTimes {
        let units = group.units.iter();
        let mut bars: Vec<Bar> = units.flat_map(|unit| self.bulbs(unit)).map(|bulb| self.bar(bulb)).collect();
        bars.sort_by_key(|bar| (bar.with.is_none(), bar.with, bar.without));
        let bounds: Vec<Bounds> = bars.iter().map(|bar| self.bounds(bar)).collect();
        let curve = Curve::new(&bounds);
        GroupTimes {
            group: group.group,
            median_days: curve.as_ref().map_err(|e| *e).and_then(|c| c.quantile(0.5)),
            mean_days: curve.as_ref().map_err(|e| *e).and_then(|c| c.restricted_mean(tau_days)),
            stretches: curve.map(|curve| curve.stretches),
            bars,
        }
    }

    /// Every group, and up to which day its mean was taken.
    fn of_groups(&self, groups: &[GroupStanding]) -> (f64, Vec<GroupTimes>) {
        let tau_days = self.tau_days(groups);
        let of = |group| self.of_group(group, tau_days);
        (tau_days, groups.iter().map(of).collect())
    }

    /// No mean is taken past a day that one of the groups was not followed to.
    fn tau_days(&self, groups: &[GroupStanding]) -> f64 {
        let last = |group: &GroupStanding| group.units.iter().filter_map(|u| u.last_look).max();
        let followed = groups.iter().filter_map(last).min();
        let end = self.design.window.to;
        let end = followed.map_or(end, |day| day.min(end));
        self.design.start.days_until(end).max(0) as f64
    }

    /// The pairs whose speeds are to be compared.
    fn to_compare(&self, groups: &[GroupStanding]) -> Vec<PairUnits> {
        let members = |group: &GroupStanding, in_a: bool| -> Vec<interval_scores::Member> {
            let of = |unit: &UnitStanding| -> Vec<interval_scores::Member> {
                let member = |bulb: &Bulb| interval_scores::Member {
                    bounds: self.bounds(&self.bar(bulb)),
                    in_a,
                    block: unit.block as usize,
                };
                self.bulbs(unit).map(member).collect()
            };
            group.units.iter().flat_map(of).collect()
        };
        let pair = |(a, b): (usize, usize)| {
            let (a, b) = (groups.get(a)?, groups.get(b)?);
            let both = [members(a, true), members(b, false)].concat();
            Some(PairUnits { a: a.group, b: b.group, units: interval_scores::scored(&both), how_much: false })
        };
        pairs(groups, self.design.rule.family).into_iter().filter_map(pair).collect()
    }
}

impl Speed {
    /// What the comparison of two groups' scores says, beside their means.
    pub fn of(pair: &Pair, times: &[GroupTimes]) -> Option<Self> {
        let of = |id: Id| times.iter().find(|group| group.group == id);
        Some(Self {
            a: pair.a,
            b: pair.b,
            p: pair.p.map(|(p, _)| p),
            how: pair.p.ok().map(|(_, how)| how),
            mean_days: mean_gap(of(pair.a)?, of(pair.b)?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        evidence::{NoAnswer, Reason},
        ledger::id::{Ids, Noun},
    };

    #[test]
    fn bulbs_with_the_same_stretch_are_counted_together() {
        let mut ids = Ids::new([3; 32]);
        let day = |day| Date::new(2026, 11, day).expect("a day");
        let mut bar = |with: Option<u32>, end: End| Bar {
            bulb: ids.draw(Noun::Bulb),
            label: String::new(),
            without: day(2),
            with: with.map(day),
            end,
            contradicted: false,
        };
        let bars = vec![
            bar(Some(5), End::Reached),
            bar(None, End::Open),
            bar(None, End::Died),
            bar(Some(5), End::Reached),
            bar(None, End::Open),
            bar(None, End::Open),
        ];
        let nothing = Err(NoAnswer(Reason::NoBulbs));
        let group = GroupTimes {
            group: ids.draw(Noun::Group),
            bars,
            stretches: Err(NoAnswer(Reason::NoBulbs)),
            median_days: nothing,
            mean_days: nothing,
        };
        let counts: Vec<(End, u32)> = group.alike().iter().map(|one| (one.end, one.n)).collect();
        assert_eq!(counts, [(End::Reached, 2), (End::Open, 3), (End::Died, 1)]);
    }
}
