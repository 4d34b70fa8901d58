//! The day sheet beside what is due: what a tick alone can say, what was done today, and due windows with each bulb's outcome.

use std::collections::BTreeSet;

use super::{
    job::{Job, of_key},
    plan,
};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Act, ActKind, Body, Doing},
        id::{EntryId, Id, Noun},
    },
    nursery::State,
    trial::outcome::{Outcome, judge},
};

/// How a job is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// This act is recorded.
    Act(ActKind),
    /// All were found firm.
    Firm,
    /// Each is inspected by itself.
    Check,
    /// Only a walk or looks do it.
    Looks,
}

/// How a job is done; only looks do what is no act.
pub fn way(state: &State, job: &Job) -> Way {
    match job {
        Job::RestEnds { .. } | Job::WokeEarly => Way::Act(ActKind::RestEnded),
        Job::InspectAgain => Way::Check,
        Job::Planned { subject, slot } => match plan::find(state, *subject, slot) {
            Some(job) => match (job.doing, job.act) {
                (Doing::Act, Some(act)) => Way::Act(act),
                (Doing::Own, _) => Way::Act(ActKind::JobDone),
                (Doing::Inspect, _) => Way::Firm,
                _ => Way::Looks,
            },
            None => Way::Looks,
        },
        _ => Way::Looks,
    }
}

/// The act that a tick in the list records for all bulbs of a job. What asks for more than a tick (a place, a pot, what it
/// was done with), carries a caution or says what was found is done on the job's page, where the words stand.
pub fn tick(state: &State, job: &Job) -> Option<ActKind> {
    match way(state, job) {
        Way::Act(kind) if is_ticked(kind) => Some(kind),
        _ => None,
    }
}

/// Whether a tick says all that this act has to say.
pub fn is_ticked(kind: ActKind) -> bool {
    matches!(kind, ActKind::Watered | ActKind::BaseDamped | ActKind::Fed | ActKind::Staked | ActKind::JobDone)
}

/// What was done.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum What {
    /// An act.
    Act(ActKind),
    /// A job in the grower's own words: what its plan is for, and its slot.
    Own(Id, String),
    /// Bulbs were inspected.
    Inspected,
    /// Bulbs were looked at.
    Looked,
}

/// Something that was done today, at one place and by one person.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Done {
    /// Where its bulbs stand now; nothing for no place.
    pub place: Option<Id>,
    /// What.
    pub what: What,
    /// Who recorded it.
    pub who: Id,
    /// The minute of the day of the last of it, where the time is known.
    pub minute: Option<u16>,
    /// For which bulbs.
    pub bulbs: BTreeSet<Id>,
    /// The records that say so.
    pub entries: Vec<EntryId>,
}

/// What happened today and stands, the same of one person at one place told together, in the order in which it was begun.
pub fn done(ledger: &Ledger, state: &State, today: Date) -> Vec<Done> {
    let mut done: Vec<Done> = Vec::new();
    let mut decisions = ledger.decisions();
    for entry in ledger.arrived().iter().filter(|entry| entry.envelope.happened.date() == today) {
        let what = match &entry.body {
            Body::Act(ActKind::JobDone, Act { job: Some(key), .. }) => match of_key(key) {
                Some((subject, slot)) => What::Own(subject, slot.to_owned()),
                None => continue,
            },
            Body::Act(kind, _) if is_care(*kind) => What::Act(*kind),
            Body::Inspection(_) => What::Inspected,
            Body::Look(_) | Body::Sweep(_) => What::Looked,
            _ => continue,
        };
        let about = entry.envelope.about.iter().filter(|id| id.is(Noun::Bulb));
        let standing: Vec<Id> =
            about.filter(|id| decisions.is_in_force(entry, **id)).map(|id| state.canonical(*id)).collect();
        // A bulb's first place is where it was entered, and no move.
        let is_first = |bulb: &Id| state.bulb(bulb).is_some_and(|bulb| bulb.places.len() < 2);
        let told = |bulb: &Id| what != What::Act(ActKind::Moved) || !is_first(bulb);
        for bulb in standing.into_iter().filter(told) {
            let place = state.bulb(&bulb).and_then(|bulb| bulb.place);
            let minute = entry.envelope.happened.minute_of_day();
            let who = entry.envelope.who;
            let same = done.iter_mut().find(|at| at.place == place && at.what == what && at.who == who);
            let at = match same {
                Some(at) => at,
                None => {
                    let (bulbs, entries) = (BTreeSet::new(), Vec::new());
                    done.push(Done { place, what: what.clone(), who, minute, bulbs, entries });
                    let Some(last) = done.last_mut() else { continue };
                    last
                }
            };
            at.minute = at.minute.max(minute);
            at.bulbs.insert(bulb);
            if at.entries.last() != Some(&entry.id) {
                at.entries.push(entry.id);
            }
        }
    }
    done
}

/// Whether an act is work of the day, and neither bookkeeping nor a bulb's end.
fn is_care(kind: ActKind) -> bool {
    !matches!(
        kind,
        ActKind::CycleBegan
            | ActKind::CycleEnded
            | ActKind::RunStarted
            | ActKind::RunClosed
            | ActKind::Skipped
            | ActKind::Postponed
            | ActKind::FitToSell
            | ActKind::Left
            | ActKind::Died
            | ActKind::Missing
            | ActKind::JobDone
    )
}

/// A due window of a running try, with how each of its bulbs stands to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WindowAt {
    /// The run.
    pub run: Id,
    /// Its last day that counts.
    pub to: Date,
    /// Days over that day; negative for days still to go.
    pub over_days: i64,
    /// Outcomes, the decided first.
    pub outcomes: Vec<Outcome>,
}

/// The due windows that are told today: of running tries that have one within `notice_days`, the next first.
pub fn windows(state: &State, today: Date, notice_days: i64) -> Vec<WindowAt> {
    let runs = state.runs.iter().filter(|(_, run)| run.is_running());
    let at = runs.filter_map(|(id, run)| {
        let (rule, window, start) = (run.rule.settled()?, run.window.settled()?, run.start()?);
        let over_days = window.to.days_until(today);
        if over_days < -notice_days {
            return None;
        }
        let bulbs = run.units().iter().flat_map(|unit| state.bulbs_of_unit_on(*unit, start));
        let mut outcomes: Vec<Outcome> = bulbs.map(|bulb| judge(bulb, start, rule, window, today).outcome).collect();
        outcomes.sort_by_key(Outcome::kind);
        Some(WindowAt { run: *id, to: window.to, over_days, outcomes })
    });
    let mut windows: Vec<WindowAt> = at.filter(|at| !at.outcomes.is_empty()).collect();
    windows.sort_by_key(|at| (at.to, at.run));
    windows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    const BENCH: &str = "-9 mia place pl_1 Bench\n-9 mia lot lo_1 Red\n-9 mia bulb b_1,b_2,b_3 lo_1 in=pl_1";

    fn told(world: &World, on: i64) -> Vec<(What, usize, usize)> {
        let done = done(&world.ledger, &world.state(), day(on));
        done.into_iter().map(|at| (at.what, at.bulbs.len(), at.entries.len())).collect()
    }

    #[test]
    fn what_one_person_did_at_a_place_today_is_told_together() {
        let mut world = World::of(BENCH);
        world.add("3 mia watered b_1,b_2\n3 mia watered b_3\n4 mia fed b_1");
        assert_eq!(told(&world, 3), [(What::Act(ActKind::Watered), 3, 2)]);
        assert_eq!(told(&world, 4), [(What::Act(ActKind::Fed), 1, 1)]);
        assert_eq!(told(&world, 5), []);
    }

    #[test]
    fn a_first_place_is_no_move() {
        let mut world = World::of(
            "0 mia place pl_1 Bench\n0 mia place pl_2 Sill\n0 mia lot lo_1 Red\n0 mia bulb b_1,b_2 lo_1 in=pl_1",
        );
        assert_eq!(told(&world, 0), []);
        world.add("1 mia moved b_2 place=pl_2");
        assert_eq!(told(&world, 1), [(What::Act(ActKind::Moved), 1, 1)]);
    }

    #[test]
    fn two_persons_stand_apart_and_looks_count_as_work() {
        let mut world = World::of(BENCH);
        world.add("3 mia watered b_1\n3 ana watered b_2\n3 mia look b_1 nothing\n3 mia died b_3 cause=rot");
        let mut told: Vec<_> = told(&world, 3).into_iter().map(|(what, n, _)| (what, n)).collect();
        told.sort_by_key(|(what, _)| format!("{what:?}"));
        let watered = (What::Act(ActKind::Watered), 1);
        assert_eq!(told, [watered.clone(), watered, (What::Looked, 1)]);
    }

    #[test]
    fn what_was_taken_back_was_not_done() {
        let mut world = World::of(BENCH);
        world.add("water: 3 mia watered b_1,b_2");
        assert_eq!(told(&world, 3), [(What::Act(ActKind::Watered), 2, 1)]);
        world.add("3 mia take-back b_1 ~water");
        assert_eq!(told(&world, 3), [(What::Act(ActKind::Watered), 1, 1)]);
    }

    #[test]
    fn windows_are_told_when_near_with_an_outcome_a_bulb() {
        let world = World::of(BENCH).and(
            "0 mia run ru_1 tr_1 0\n0 mia rule ru_1 by scape-in-sight\n0 mia due ru_1 12
             0 mia allot ru_1 hand gr_a=b_1,b_2 gr_b=b_3\n0 mia cycle-began b_1,b_2,b_3\n0 mia run-started ru_1
             3 mia look b_2 s_1/scape/scape-in-sight",
        );
        let told = windows(&world.state(), day(4), 7);
        assert_eq!(told, [], "eight days are left");
        let told = windows(&world.state(), day(5), 7);
        let outcomes = vec![Outcome::InTime, Outcome::Waiting, Outcome::Waiting];
        assert_eq!(told, [WindowAt { run: id("ru_1"), to: day(12), over_days: -7, outcomes }]);
    }
}
