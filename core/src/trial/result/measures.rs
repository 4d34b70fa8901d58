//! Measures and counts of a try: by how much groups differ, with the interval that the draw of lots supports.
//!
//! A bulb's value is its last one in the cycle of the try: the last count, the tallest height, the gain in girth from
//! the last measure before the start to the last one after it. Days in flower are the middle between the fewest days that the looks
//! show and the most that they allow. A container's value is the mean of its bulbs'.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::{
    calendar::Date,
    evidence::{How, Interval, Reason, permutation::Scored, serialize_said},
    ledger::{
        Ledger,
        body::{Body, Counted, Family, GoalStage, Marked, Measured, ShootKind},
        entry::Entry,
        id::Id,
    },
    nursery::{Bulb, Cycle, State},
    sight::marks,
    trial::standing::{Design, GroupStanding, UnitStanding, pairs},
};

use super::pairing::{Pair, PairUnits, compared};

/// What was measured or counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measurand {
    /// Scapes of a bulb.
    Scapes,
    /// Florets of its richest umbel.
    Florets,
    /// Height of its tallest scape, in mm.
    HeightMm,
    /// Days in flower.
    DaysInFlower,
    /// Gain in circumference, in mm.
    GirthGainMm,
    /// Leaves.
    Leaves,
}

/// All of them, in the order shown.
pub const MEASURANDS: [Measurand; 6] = [
    Measurand::Scapes,
    Measurand::Florets,
    Measurand::HeightMm,
    Measurand::DaysInFlower,
    Measurand::GirthGainMm,
    Measurand::Leaves,
];

/// One group's values.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureGroup {
    /// The group.
    pub group: Id,
    /// The value of every unit that has one, with its unit.
    pub values: Vec<(Id, f64)>,
    /// Units without a value.
    pub n_without: usize,
    /// Mean; nothing without a value.
    pub mean: Option<f64>,
}

/// Two groups compared in a measure; it does not decide the try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasureGap {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// a less b, within size classes.
    #[serde(serialize_with = "serialize_said")]
    pub difference: crate::evidence::Result<f64>,
    /// Its 95 % interval.
    #[serde(serialize_with = "serialize_said")]
    pub interval: crate::evidence::Result<Interval>,
    /// Two-sided p of the exact permutation within size classes.
    #[serde(serialize_with = "serialize_said")]
    pub p: crate::evidence::Result<f64>,
    /// How p was found.
    pub how: Option<How>,
}

/// What one measure says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureResult {
    /// What.
    pub what: Measurand,
    /// Group by group.
    pub groups: Vec<MeasureGroup>,
    /// Pairs compared, once there is a verdict.
    pub gaps: Vec<MeasureGap>,
}

/// The measures of which at least one value is known.
pub(super) fn measures(
    design: &Design<'_>,
    ledger: &Ledger,
    state: &State,
    groups: &[GroupStanding],
    decided: bool,
) -> Vec<MeasureResult> {
    let of = |what: Measurand| {
        let read = |group: &GroupStanding| group_of(what, design, ledger, state, group);
        let read: Vec<MeasureGroup> = groups.iter().map(read).collect();
        if read.iter().all(|group| group.values.is_empty()) {
            return None;
        }
        let gaps = if decided {
            compared(to_compare(groups, &read, design.rule.family)).iter().map(MeasureGap::of).collect()
        } else {
            Vec::new()
        };
        Some(MeasureResult { what, groups: read, gaps })
    };
    MEASURANDS.into_iter().filter_map(of).collect()
}

fn group_of(
    what: Measurand,
    design: &Design<'_>,
    ledger: &Ledger,
    state: &State,
    group: &GroupStanding,
) -> MeasureGroup {
    let of_unit = |unit: &UnitStanding| {
        let bulbs = unit.bulbs.iter().filter_map(|bulb| state.bulb(bulb));
        let values: Vec<f64> = bulbs.filter_map(|bulb| value(what, design, ledger, bulb)).collect();
        let mean = mean(&values)?;
        Some((unit.unit, mean))
    };
    let values: Vec<(Id, f64)> = group.units.iter().filter_map(of_unit).collect();
    let numbers: Vec<f64> = values.iter().map(|(_, value)| *value).collect();
    MeasureGroup { group: group.group, n_without: group.units.len() - values.len(), mean: mean(&numbers), values }
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The pairs to compare, those with two values in each group.
pub(super) fn to_compare(groups: &[GroupStanding], read: &[MeasureGroup], family: Option<Family>) -> Vec<PairUnits> {
    let scored = |at: usize, in_a: bool| -> Vec<Scored> {
        let block = |id: Id| {
            let unit = groups[at].units.iter().find(|unit| unit.unit == id);
            unit.map_or(0, |unit| unit.block as usize)
        };
        let values = read[at].values.iter();
        values.map(|(unit, score)| Scored { score: *score, in_a, block: block(*unit) }).collect()
    };
    let pair = |(a, b): (usize, usize)| PairUnits {
        a: groups[a].group,
        b: groups[b].group,
        units: Ok([scored(a, true), scored(b, false)].concat()),
        how_much: true,
    };
    let both = |(a, b): &(usize, usize)| read[*a].values.len() > 1 && read[*b].values.len() > 1;
    pairs(groups, family).into_iter().filter(both).map(pair).collect()
}

impl MeasureGap {
    /// What the comparison of two groups in a measure says.
    pub fn of(pair: &Pair) -> Self {
        let shift = pair.shift.unwrap_or(super::refused(Reason::NoScore));
        Self {
            a: pair.a,
            b: pair.b,
            difference: shift.map(|(difference, _)| difference),
            interval: shift.and_then(|(_, interval)| interval),
            p: pair.p.map(|(p, _)| p),
            how: pair.p.ok().map(|(_, how)| how),
        }
    }
}

fn value(what: Measurand, design: &Design<'_>, ledger: &Ledger, bulb: &Bulb) -> Option<f64> {
    let cycle = bulb.cycle_on(design.start);
    let records = Records { ledger, bulb, cycle, start: design.start };
    match what {
        Measurand::Scapes => records.scapes(),
        Measurand::Florets => records.most(Counted::Florets),
        Measurand::HeightMm => records.height_mm(),
        Measurand::DaysInFlower => days_in_flower(cycle),
        Measurand::GirthGainMm => records.girth_gain_mm(),
        Measurand::Leaves => records.last(Counted::Leaves),
    }
}

/// The records of one bulb in the cycle of a try.
struct Records<'a> {
    ledger: &'a Ledger,
    bulb: &'a Bulb,
    cycle: &'a Cycle,
    start: Date,
}

impl Records<'_> {
    fn ended(&self) -> Option<Date> {
        self.cycle.ended
    }

    fn in_cycle(&self, day: Date) -> bool {
        day >= self.start && self.ended().is_none_or(|ended| day <= ended)
    }

    /// Values of the ledger about this bulb, by day.
    fn values(&self, read: impl Fn(&Body) -> Option<i64>) -> Vec<(Date, i64)> {
        let entries = self.bulb.in_force(self.ledger);
        let value = |entry: &&Arc<Entry>| Some((entry.envelope.happened.date(), read(&entry.body)?));
        let mut values: Vec<(Date, i64)> = entries.iter().filter_map(value).collect();
        values.sort_by_key(|(day, _)| *day);
        values
    }

    fn counts(&self, what: Counted) -> Vec<i64> {
        let read = |body: &Body| match body {
            Body::Count(count) if count.what == what => Some(count.n),
            _ => None,
        };
        let values = self.values(read).into_iter();
        values.filter(|(day, _)| self.in_cycle(*day)).map(|(_, n)| n).collect()
    }

    fn most(&self, what: Counted) -> Option<f64> {
        self.counts(what).into_iter().max().map(|n| n as f64)
    }

    fn last(&self, what: Counted) -> Option<f64> {
        self.counts(what).last().map(|n| *n as f64)
    }

    /// A count of scapes, or the scapes that looks showed; none counts as none only after a look on or after which the
    /// bulb was still followed.
    fn scapes(&self) -> Option<f64> {
        let seen = self.cycle.shoots.iter();
        let seen = seen.filter(|shoot| shoot.kind == ShootKind::Scape).count() as i64;
        let counted = self.counts(Counted::Scapes).into_iter().max();
        let looked = self.cycle.last_neck_look().is_some();
        let unproved = self.cycle.reach(GoalStage::ScapeInSight).unproved.is_some();
        match counted {
            Some(counted) => Some(counted.max(seen) as f64),
            None if looked && !(seen == 0 && unproved) => Some(seen as f64),
            None => None,
        }
    }

    /// Whether a height is that of a scape: of a shoot that is known to be one, or of none that is named, which was measured
    /// as a stalk.
    fn is_of_scape(&self, shoot: Option<Id>) -> bool {
        let known = |id: Id| self.cycle.shoots.iter().find(|shoot| shoot.id == id);
        shoot.is_none_or(|id| known(id).is_some_and(|shoot| shoot.kind == ShootKind::Scape))
    }

    fn height_mm(&self) -> Option<f64> {
        let read = |body: &Body| match body {
            Body::Measure(measure) if measure.what == Measured::Height => measure.mm,
            Body::PhotoMarks(marks) if marks.what == Marked::Height && self.is_of_scape(marks.shoot) => {
                marks::length_mm(marks).ok().map(|length| length.value.round() as i64)
            }
            _ => None,
        };
        let measured = self.values(read).into_iter();
        let measured = measured.filter(|(day, _)| self.in_cycle(*day));
        let measured = measured.map(|(_, mm)| mm).max();
        let scapes = self.cycle.looks.iter().flat_map(|seen| &seen.look.shoots);
        let seen = scapes
            .filter(|shoot| shoot.kind == ShootKind::Scape)
            .filter_map(|shoot| shoot.height_mm.map(i64::from))
            .max();
        measured.max(seen).map(|mm| mm as f64)
    }

    fn girth_gain_mm(&self) -> Option<f64> {
        let read = |body: &Body| match body {
            Body::Measure(measure) if measure.what == Measured::Circumference => {
                // Of bulbs bought by grade only a range is known, which no gain can be taken from.
                measure.mm.filter(|_| measure.mm_to.is_none())
            }
            _ => None,
        };
        let values = self.values(read);
        let before = values.iter().rev().find(|(day, _)| *day <= self.start)?;
        let after = values.iter().rev().find(|(day, _)| *day > self.start && self.in_cycle(*day))?;
        Some((after.1 - before.1) as f64)
    }
}

/// The middle between the fewest days in flower that the looks show and the most that they allow.
fn days_in_flower(cycle: &Cycle) -> Option<f64> {
    let flowering = cycle.flowering();
    let (first, last, over) = (flowering.first?, flowering.last?, flowering.over?);
    let before = cycle.looks.iter().map(|seen| seen.at.date()).filter(|day| *day < first).max();
    let fewest = first.days_until(last) + 1;
    let most = before.map_or(fewest, |before| before.days_until(over) - 1);
    Some((fewest + most.max(fewest)) as f64 / 2.0)
}
