//! What has to be known beside a result (the check of its design, as far as the records tell it).

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{Design, GroupStanding, Members};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{AppliedTo, Neck},
        entry::HybridTime,
        id::Id,
    },
    nursery::{Bulb, Seen, State},
    trial::lots,
};

/// Something that stands beside a result.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Note {
    /// Groups were chosen by hand.
    ChosenByHand,
    /// Typed in from a notebook.
    TypedIn,
    /// Lots were drawn again, with the reason given.
    DrawnAgain(String),
    /// Rule or due window was changed after the first look.
    RuleChangedAfterFirstLook,
    /// Rule or due window was first said after the first look.
    RuleSaidAfterFirstLook,
    /// Looks lie further apart than was meant.
    LooksSparse {
        /// Days that were meant at most.
        meant_days: i64,
        /// The longest time between two looks at one unit.
        longest_days: i64,
        /// Units with a longer time than meant.
        n_units: u32,
    },
    /// On some days only some of the groups were looked at, though all had something to see.
    SeenOnDifferentDays {
        /// How many such days.
        n_days: u32,
        /// How many days anyone looked.
        n_looked: u32,
    },
    /// A level was applied to whole places, and a group stood in one place only: the place itself may have made the
    /// difference.
    OnePlaceAGroup,
    /// Two things differ together over the groups: a difference is that of both.
    Aliased {
        /// Their names.
        factors: [String; 2],
    },
    /// No group got what the nursery would have done anyway.
    NoControl,
    /// Even all of one group against none of another could not be told apart.
    TooFewForTest {
        /// The smallest p that can be reached, after Holm over the family.
        smallest_p: f64,
    },
    /// The groups' mean sizes differ by more than 5 %.
    SizesDiffer {
        /// The smallest mean circumference.
        least_mm: i64,
        /// The largest.
        most_mm: i64,
    },
    /// One group lost many more of its units (died, missing, left) than another.
    LossesDiffer {
        /// The group that lost more.
        more: Id,
        /// How many it lost.
        n_more: u32,
        /// Of how many.
        of_more: u32,
        /// The group that lost fewest.
        fewer: Id,
        /// How many it lost.
        n_fewer: u32,
        /// Of how many.
        of_fewer: u32,
    },
    /// Looks contradict each other.
    Contradicted {
        /// At how many units.
        n_units: u32,
    },
    /// Bulbs that had been in another run when this one started.
    AlsoInOtherRuns {
        /// How many units.
        n_units: u32,
    },
    /// Outcomes that would be another, or open, without the looks of walking past all at once.
    RestsOnSweeps {
        /// How many bulbs.
        n_bulbs: u32,
        /// Of how many.
        of: u32,
    },
}

/// The looks of one unit that count for this run.
struct Looked {
    group: usize,
    /// Days on which the neck was looked at, in order.
    days: Vec<Date>,
    /// The last day on which there was something to see: decided, gone, the deadline or today.
    until: Date,
    /// First and last days of its rests.
    rests: Vec<(Date, Option<Date>)>,
    first_written: Option<HybridTime>,
}

impl Looked {
    fn rests_on(&self, day: Date) -> bool {
        let holds = |(began, ended): &(Date, Option<Date>)| *began <= day && ended.is_none_or(|ended| day < ended);
        self.rests.iter().any(holds)
    }
}

pub(super) fn notes(
    design: &Design<'_>,
    ledger: &Ledger,
    state: &State,
    groups: &[GroupStanding],
    today: Date,
) -> Vec<Note> {
    let mut notes = origin(design);
    notes.extend(super::check::check(design, state, groups));
    let looked = looked(design, ledger, state, groups, today);
    notes.extend(rule_notes(design, &looked));
    notes.extend(sparse(design, &looked));
    notes.extend(different_days(groups.len(), &looked));
    notes.extend(one_place(design, state, groups, today));
    let units = || groups.iter().flat_map(|group| &group.units);
    let n_units = units().filter(|unit| unit.contradicted).count() as u32;
    if n_units > 0 {
        notes.push(Note::Contradicted { n_units });
    }
    // A try that came after it, or is only planned, carries nothing over into this one.
    let before = |run: &Id| {
        let started = state.runs.get(run).and_then(|run| run.started);
        *run != design.run && started.is_some_and(|on| on < design.start)
    };
    let shared = |bulb: &Id| state.bulb(bulb).is_some_and(|bulb| state.runs_of(bulb).iter().any(before));
    let n_units = units().filter(|unit| unit.bulbs.iter().any(shared)).count() as u32;
    if n_units > 0 {
        notes.push(Note::AlsoInOtherRuns { n_units });
    }
    notes.extend(on_sweeps(design, state, groups, today));
    notes
}

/// Bulbs whose outcome is decided and would not be the same if every sweep were left out.
fn on_sweeps(design: &Design<'_>, state: &State, groups: &[GroupStanding], today: Date) -> Option<Note> {
    let units = groups.iter().flat_map(|group| &group.units);
    let bulbs: BTreeSet<Id> = units.flat_map(|unit| unit.bulbs.iter().copied()).collect();
    let outcome = |bulb: &Bulb| design.judge(bulb, design.rule, today).outcome;
    let rests = |id: &&Id| {
        let Some(bulb) = state.bulb(id) else {
            return false;
        };
        let swept = |seen: &Seen| seen.sweep;
        if !bulb.cycle_on(design.start).looks.iter().any(swept) {
            return false;
        }
        let mut without = bulb.clone();
        for cycle in &mut without.cycles {
            cycle.looks.retain(|seen| !seen.sweep);
        }
        let said = outcome(bulb);
        !said.is_open() && outcome(&without) != said
    };
    let n_bulbs = bulbs.iter().filter(rests).count() as u32;
    (n_bulbs > 0).then_some(Note::RestsOnSweeps { n_bulbs, of: bulbs.len() as u32 })
}

fn origin(design: &Design<'_>) -> Vec<Note> {
    let mut notes = Vec::new();
    let by_hand = match &design.members {
        Members::Units(allotment) => {
            if !allotment.reason.is_empty() {
                notes.push(Note::DrawnAgain(allotment.reason.clone()));
            }
            !lots::is_drawn(&allotment.method)
        }
        Members::Counts(_) => true,
    };
    if design.body.typed_in {
        notes.push(Note::TypedIn);
    } else if by_hand {
        notes.push(Note::ChosenByHand);
    }
    notes
}

fn looked(design: &Design<'_>, ledger: &Ledger, state: &State, groups: &[GroupStanding], today: Date) -> Vec<Looked> {
    let end = today.min(design.window.to);
    let mut all = Vec::new();
    for (at, group) in groups.iter().enumerate() {
        for id in group.units.iter().flat_map(|unit| &unit.bulbs) {
            let Some(bulb) = state.bulb(id) else {
                continue;
            };
            let cycle = bulb.cycle_on(design.start);
            let judged = design.judge(bulb, design.rule, today);
            let counts = |seen: &&Seen| seen.look.neck != Neck::NotLookedAt && seen.at.date() >= design.start;
            let looks = || cycle.looks.iter().filter(counts);
            let written = looks().filter_map(|seen| ledger.get(seen.entry)).map(|entry| entry.envelope.hlc).min();
            let mut until = judged.reach.with.map_or(end, |with| with.min(end));
            // A bulb that is gone or blind has nothing more to see.
            for over in [gone(bulb), cycle.blind_since()].into_iter().flatten() {
                until = until.min(over);
            }
            all.push(Looked {
                group: at,
                days: looks().map(|seen| seen.at.date()).collect(),
                until,
                rests: cycle.rests(),
                first_written: written,
            });
        }
    }
    all
}

fn gone(bulb: &Bulb) -> Option<Date> {
    bulb.fate.since()
}

fn rule_notes(design: &Design<'_>, looked: &[Looked]) -> Option<Note> {
    let first = looked.iter().filter_map(|unit| unit.first_written).min()?;
    if design.known.changed.iter().any(|changed| *changed > first) {
        Some(Note::RuleChangedAfterFirstLook)
    } else if design.known.fixed.is_some_and(|fixed| fixed > first) {
        Some(Note::RuleSaidAfterFirstLook)
    } else {
        None
    }
}

/// Times between looks from the first one on: rest comes before it, and nobody looks at a resting bulb every week.
fn sparse(design: &Design<'_>, looked: &[Looked]) -> Option<Note> {
    let meant_days = i64::from(design.body.look_interval_days);
    let longest = |unit: &Looked| {
        let days = unit.days.iter().copied().filter(|day| *day < unit.until);
        let days: Vec<Date> = days.chain([unit.until]).collect();
        let gaps = days.windows(2).map(|pair| awake(pair[0], pair[1], &unit.rests));
        gaps.max().unwrap_or(0)
    };
    let too_long: Vec<i64> = looked.iter().map(longest).filter(|days| *days > meant_days).collect();
    Some(Note::LooksSparse { meant_days, longest_days: *too_long.iter().max()?, n_units: too_long.len() as u32 })
}

/// The most days on end between two looks on which the bulb was not at rest: in the dark there is nothing to see.
fn awake(from: Date, to: Date, rests: &[(Date, Option<Date>)]) -> i64 {
    let (mut since, mut longest) = (from, 0);
    for (began, ended) in rests {
        longest = longest.max(since.days_until((*began).min(to)));
        since = since.max(ended.unwrap_or(to));
    }
    longest.max(since.days_until(to))
}

fn different_days(n_groups: usize, looked: &[Looked]) -> Option<Note> {
    let mut seen: BTreeMap<Date, BTreeSet<usize>> = BTreeMap::new();
    for unit in looked {
        for day in unit.days.iter().filter(|day| **day <= unit.until) {
            seen.entry(*day).or_default().insert(unit.group);
        }
    }
    let had_something = |group: usize, day: Date| {
        let mut of = looked.iter().filter(|unit| unit.group == group);
        of.any(|unit| day <= unit.until && !unit.rests_on(day))
    };
    let uneven = |(day, groups): &(&Date, &BTreeSet<usize>)| {
        (0..n_groups).any(|group| !groups.contains(&group) && had_something(group, **day))
    };
    let n_days = seen.iter().filter(uneven).count() as u32;
    (n_days > 0).then_some(Note::SeenOnDifferentDays { n_days, n_looked: seen.len() as u32 })
}

fn one_place(design: &Design<'_>, state: &State, groups: &[GroupStanding], today: Date) -> Option<Note> {
    let question = state.trials.get(&design.body.trial)?.question.shown()?;
    let by_place = question.factors.iter().any(|factor| factor.applied_to == AppliedTo::Place);
    let until = today.min(design.window.to).max(design.start);
    // Bulbs of a group that went through the same places, one after another, had one place together each time.
    let places = |group: &GroupStanding| {
        let bulbs = group.units.iter().flat_map(|unit| &unit.bulbs);
        let ways = bulbs.filter_map(|bulb| {
            let way = state.bulb(bulb)?.places_between(design.start, until);
            (!way.is_empty()).then_some(way)
        });
        ways.into_iter().collect::<BTreeSet<_>>().len()
    };
    let single = groups.iter().any(|group| places(group) == 1);
    (by_place && single).then_some(Note::OnePlaceAGroup)
}
