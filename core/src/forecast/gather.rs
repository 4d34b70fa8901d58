//! From the nursery to what the forecast is computed from.

use std::collections::BTreeMap;

use super::data::{Attempt, Begins, Course, Data, Known, Unforeseen};
use crate::{
    calendar::Date,
    care::{rest::rest_end, saved_plan::InPlan},
    ledger::{
        body::{Forcing, GoalStage, ShootKind, Stage},
        id::Id,
    },
    nursery::{Bulb, State, cycle::Cycle, reach::Reach, state::Run},
};

/// Everything the nursery knows that a forecast for `today` can use: past cycles, and those under way.
pub fn gather(state: &State, today: Date) -> Data {
    let mut gathering = Gathering {
        state,
        today,
        marks_fit: marks_fit(state),
        treatments: Index::default(),
        lots: Index::default(),
        tries: Index::default(),
        unforeseen: Vec::new(),
    };
    let mut courses = Vec::new();
    for bulb in state.bulbs.values() {
        let plan = InPlan::of(state, bulb, today);
        let begun = plan.filter(|plan| plan.begun);
        let ahead = plan.filter(|plan| gathering.is_ahead(bulb, plan));
        for cycle in &bulb.cycles {
            courses.extend(gathering.course(bulb, cycle, begun, ahead.is_some()));
        }
        courses.extend(ahead.map(|plan| gathering.ahead(bulb, &plan)));
    }
    Data {
        today,
        treatments: gathering.treatments.names,
        lots: gathering.lots.names,
        tries: gathering.tries.names,
        courses,
        unforeseen: gathering.unforeseen,
    }
}

/// Whether this nursery marks pots as fit to sell; where nobody does, a missing mark says nothing.
pub(super) fn marks_fit(state: &State) -> bool {
    let cycles = state.bulbs.values().flat_map(|bulb| &bulb.cycles);
    cycles.into_iter().any(|cycle| cycle.fit.is_some())
}

/// Names in the order in which they first came up.
struct Index<T> {
    names: Vec<T>,
    known: BTreeMap<T, u32>,
}

impl<T> Default for Index<T> {
    fn default() -> Self {
        Self { names: Vec::new(), known: BTreeMap::new() }
    }
}

impl<T: Ord + Clone> Index<T> {
    fn of(&mut self, name: T) -> u32 {
        let next = u32::try_from(self.names.len()).unwrap_or(u32::MAX);
        let at = *self.known.entry(name.clone()).or_insert(next);
        if at == next {
            self.names.push(name);
        }
        at
    }
}

struct Gathering<'a> {
    state: &'a State,
    today: Date,
    marks_fit: bool,
    treatments: Index<String>,
    lots: Index<Id>,
    tries: Index<Attempt>,
    unforeseen: Vec<(Id, Unforeseen)>,
}

/// When the days of a cycle begin to count, and how long the rest before was.
struct Origin {
    on: Date,
    begins: Begins,
    rest_days: Option<i32>,
}

impl Gathering<'_> {
    /// Whether a plan still has all ahead of a bulb: nothing of it has begun, its days are not over, and nothing else is
    /// under way, neither a running try nor a stalk in sight or in flower.
    fn is_ahead(&self, bulb: &Bulb, plan: &InPlan<'_>) -> bool {
        let cycle = bulb.cycle();
        let shows = cycle.ended.is_none()
            && cycle.reach(GoalStage::ScapeInSight).with.is_some()
            && cycle.flowering().over.is_none();
        !plan.begun && plan.plan.to >= self.today && bulb.is_here() && self.state.running(bulb).is_none() && !shows
    }

    /// The cycle that a plan brings on and that nothing is known of yet.
    fn ahead(&mut self, bulb: &Bulb, plan: &InPlan<'_>) -> Course {
        let origin = Origin {
            on: plan.rest_end(bulb, self.today),
            begins: match plan.batch.lay_to_rest {
                Some(_) => Begins::RestAhead,
                None => Begins::BroughtOn,
            },
            rest_days: i32::try_from(plan.rest_days()).ok(),
        };
        Course {
            waiting: true,
            treatment: as_treated(plan.plan).map(|treatment| self.treatments.of(treatment)),
            attempt: Some(self.tries.of(Attempt::Plan(plan.id))),
            stages: stages(&Cycle::default(), origin.on, self.marks_fit),
            ..self.blank(bulb, &origin)
        }
    }

    /// What a course says of its bulb alone.
    fn blank(&mut self, bulb: &Bulb, origin: &Origin) -> Course {
        Course {
            bulb: bulb.id,
            place: bulb.place,
            origin: origin.on,
            begins: origin.begins,
            rest_days: origin.rest_days,
            treatment: None,
            lot: bulb.lot.shown().map(|lot| self.lots.of(*lot)),
            attempt: None,
            stages: [Known::NotSaid; 4],
            height: None,
            waiting: false,
        }
    }

    /// A cycle that began. `is_past`: a plan has the next one ahead, so that this one is forecast no longer.
    fn course(&mut self, bulb: &Bulb, cycle: &Cycle, plan: Option<InPlan<'_>>, is_past: bool) -> Option<Course> {
        let is_last = std::ptr::eq(cycle, bulb.cycle());
        let under_way = is_last && cycle.ended.is_none() && bulb.is_here() && !is_past;
        let run = run_of(self.state, bulb, cycle);
        let plan = plan.filter(|_| under_way);
        let Some(mut origin) = self.origin(bulb, cycle, run.filter(|_| under_way), plan) else {
            if under_way {
                let why = if cycle.resting() { Unforeseen::RestsWithoutEnd } else { Unforeseen::NoBeginning };
                self.unforeseen.push((bulb.id, why));
            }
            return None;
        };
        let stages = stages(cycle, origin.on, self.marks_fit);
        let is_over = matches!(stages[3], Known::Between { .. });
        if under_way && is_over {
            self.unforeseen.push((bulb.id, Unforeseen::IsOver));
        }
        let waiting = under_way && !is_over;
        // A past cycle that nobody looked at teaches nothing.
        if !waiting && !stages.iter().any(|known| says_anything(*known)) {
            return None;
        }
        let plan = plan.filter(|_| waiting);
        let (attempt, treatment) = match (run, plan) {
            (Some((id, run)), _) => (Attempt::Run(id), self.treatment(bulb, run)),
            (None, Some(plan)) => {
                // Brought on as planned: that it did not rest is known.
                let unrested = plan.batch.lay_to_rest.is_none();
                origin.rest_days = origin.rest_days.or(unrested.then_some(0));
                (Attempt::Plan(plan.id), as_treated(plan.plan))
            }
            (None, None) => {
                let n = epoch_days(origin.on).div_euclid(28);
                (Attempt::FourWeeks(n), None)
            }
        };
        Some(Course {
            treatment: treatment.map(|treatment| self.treatments.of(treatment)),
            attempt: Some(self.tries.of(attempt)),
            stages,
            height: height(cycle, origin.on).filter(|_| waiting),
            waiting,
            ..self.blank(bulb, &origin)
        })
    }

    /// What was done differently, in words that are the same for equal treatments of different trials.
    fn treatment(&self, bulb: &Bulb, run: &Run) -> Option<String> {
        let (_, group) = self.state.group_of(run, bulb)?;
        let treatment = self.state.groups.get(&group)?.shown()?;
        let mut levels: Vec<String> =
            treatment.levels.iter().map(|level| format!("{}: {}", level.factor, level.text)).collect();
        levels.sort();
        Some(if levels.is_empty() { treatment.name.clone() } else { levels.join("; ") })
    }

    /// The day from which a cycle counts; `run` and `plan` say when a rest will end that it is in.
    fn origin(&self, bulb: &Bulb, cycle: &Cycle, run: Option<(Id, &Run)>, plan: Option<InPlan<'_>>) -> Option<Origin> {
        let first_scape = cycle.reach(GoalStage::ScapeInSight).with;
        let before = |on: Date| first_scape.is_none_or(|scape| on <= scape);
        let (mut rests_since, mut found) = (None, None);
        for (on, act) in cycle.acts.iter().filter(|(on, _)| before(*on)) {
            if act.begins_rest() {
                // A rest that was taken up again has not ended.
                rests_since = rests_since.or(Some(*on));
                found = None;
            } else if act.brings_on() || rests_since.is_some() && act.ends_rest() {
                found = found.or(Some(Origin {
                    on: *on,
                    begins: Begins::Recorded,
                    rest_days: rests_since.map(|since| days(since, *on)),
                }));
                rests_since = None;
            }
        }
        if found.is_some() {
            return found;
        }
        let Some(since) = rests_since else {
            return Self::started_late(cycle, first_scape?);
        };
        if let Some(scape) = first_scape {
            // It woke in its rest: later steps count from the scape, the first says nothing.
            return Some(Origin { on: scape, begins: Begins::Recorded, rest_days: Some(days(since, scape)) });
        }
        let on = match run {
            Some((_, run)) => rest_end(self.state, run, bulb)?.max(self.today),
            None => plan?.rest_end(bulb, self.today),
        };
        Some(Origin { on, begins: Begins::RestEnds, rest_days: Some(days(since, on)) })
    }

    /// Of a bulb that was potted or brought to light with its scape in sight already. How long that took is known from no
    /// day on, so that the first step says nothing; the later ones count from the scape. A bulb that is potted after its
    /// flower has opened was not started by that.
    fn started_late(cycle: &Cycle, scape: Date) -> Option<Origin> {
        let flower = cycle.reach(GoalStage::FirstFlower).with;
        let counts = |on: Date| on > scape && flower.is_none_or(|flower| on <= flower);
        let mut acts = cycle.acts.iter();
        let (on, _) = acts.find(|(on, act)| act.brings_on() && counts(*on))?;
        Some(Origin { on: *on, begins: Begins::Recorded, rest_days: None })
    }
}

/// The treatment of earlier tries that a plan follows, where it follows one.
fn as_treated(plan: &Forcing) -> Option<String> {
    Some(plan.treatment.clone()).filter(|treatment| !treatment.is_empty())
}

/// The run that a cycle belongs to: the one that started in it.
fn run_of<'a>(state: &'a State, bulb: &Bulb, cycle: &Cycle) -> Option<(Id, &'a Run)> {
    let runs = state.runs_of(bulb).into_iter();
    let mut runs = runs.filter_map(|id| Some((id, state.runs.get(&id)?)));
    runs.find(|(_, run)| run.started.is_some_and(|start| std::ptr::eq(bulb.cycle_on(start), cycle)))
}

fn days(from: Date, to: Date) -> i32 {
    i32::try_from(from.days_until(to)).unwrap_or(i32::MAX)
}

/// Days since Monday, 3 January 2000.
fn epoch_days(date: Date) -> i64 {
    Date::new(2000, 1, 3).map_or(0, |epoch| epoch.days_until(date))
}

fn says_anything(known: Known) -> bool {
    match known {
        Known::Between { .. } => true,
        Known::NotBy(day) => day > 0,
        Known::NotSaid => false,
    }
}

/// Before the first look at a stage that was there already when its bulb was started, it may have lasted this long: about as
/// long as a scape takes from sight to its flower, and flowers last (common practice, no source).
const STOOD_DAYS: i32 = 28;

fn known(reach: &Reach, origin: Date) -> Known {
    match (reach.without, reach.with) {
        (without, Some(with)) => {
            let by = days(origin, with);
            let unseen = if by > 0 { 0 } else { by - STOOD_DAYS };
            let after = without.map_or(unseen, |without| days(origin, without));
            Known::Between { after, by }
        }
        (Some(without), None) => Known::NotBy(days(origin, without)),
        (None, None) => Known::NotBy(0),
    }
}

fn stages(cycle: &Cycle, origin: Date, marks_fit: bool) -> [Known; 4] {
    let scape = known(&cycle.reach(GoalStage::ScapeInSight), origin);
    let flower = known(&cycle.reach(GoalStage::FirstFlower), origin);
    let fit = if marks_fit { known(&cycle.reach(GoalStage::FitToSell), origin) } else { Known::NotSaid };
    let fit = match (fit, flower) {
        // In flower and never marked: it was fit to sell some time before.
        (Known::NotBy(_), Known::Between { .. }) => Known::NotSaid,
        (fit, _) => fit,
    };
    let flowering = cycle.flowering();
    let over = match (flowering.last, flowering.over) {
        (Some(last), Some(over)) => Known::Between { after: days(origin, last), by: days(origin, over) },
        (Some(last), None) => Known::NotBy(days(origin, last)),
        _ => Known::NotSaid,
    };
    [scape, fit, flower, over]
}

/// The highest scape that was measured, on the last day that one was; nothing once a flower is open.
fn height(cycle: &Cycle, origin: Date) -> Option<(i32, u32)> {
    if cycle.furthest()? >= Stage::FirstFlower {
        return None;
    }
    cycle.looks.iter().rev().find_map(|seen| {
        let is_scape = |id: Id| {
            let mut shoots = cycle.shoots.iter();
            shoots.any(|shoot| shoot.id == id && shoot.kind == ShootKind::Scape)
        };
        let shoots = seen.look.shoots.iter().filter(|shoot| is_scape(shoot.id));
        let highest = shoots.filter_map(|shoot| shoot.height_mm).max()?;
        Some((days(origin, seen.at.date()), highest))
    })
}

#[cfg(test)]
mod tests;
