//! What is to be done to the bulbs of each group of a try so that they get what differs, as jobs of the group's care plan.
//!
//! Without them a try would tell when to look, and nobody when to do what it asks about. A length of rest is told by the
//! rest itself ([`crate::care::rest`]).

use super::ready::Ready;
use crate::{
    calendar::Date,
    care::{plan::ACTS, usual_jobs::plain},
    habits::FEED_DAYS,
    ledger::body::{ActKind, CareJob, Doing, During, JobFrom},
    limits,
};

/// The slot of the job in the group's care plan.
pub const SLOT: &str = "treatment";

/// A group as it is planned.
#[derive(Clone, Debug)]
pub struct Treated {
    /// Its name, which says how much of what differs it gets.
    pub name: String,
    /// Whether that is what would be done anyway.
    pub control: bool,
}

/// What is done to a group of a ready question.
enum Todo {
    /// Nothing that would not be done anyway.
    Nothing,
    /// This act, once.
    Act(ActKind),
    /// This act, again after so many days while it grows.
    Again(ActKind, i64),
    /// What only the words say.
    Words,
}

fn todo(ready: &Ready, at: usize) -> Todo {
    let group = ready.groups.get(at).map(|group| group.key);
    match (ready.key, group) {
        ("rest", _) | ("leaves", Some("kept")) | ("place", Some("usual")) | ("feeding", Some("not-fed")) => {
            Todo::Nothing
        }
        ("leaves", Some("cut")) => Todo::Act(ActKind::CutBack),
        ("mix", Some(_)) => Todo::Act(ActKind::Potted),
        ("place", Some("other")) => Todo::Act(ActKind::Moved),
        ("feeding", Some("fed")) => Todo::Again(ActKind::Fed, FEED_DAYS),
        _ => Todo::Words,
    }
}

/// The job that gives each group what differs, in their order; nothing for a group that gets what would be done anyway. It
/// is for the day on which the try says that bulbs are brought on, where it says one, else for the day it starts.
///
/// A ready question tells by its key which act that is, as long as it has the groups it was proposed with. What growers
/// thought of themselves is told in their words, and ticked.
pub fn jobs(
    ready: &str,
    factor: &str,
    unit: &str,
    groups: &[Treated],
    brought_on: Option<Date>,
) -> Vec<Option<CareJob>> {
    let ready = Ready::from_key(ready).filter(|ready| ready.groups.len() == groups.len());
    let is_rest = matches!(unit, "weeks" | "days") && factor.to_lowercase().contains("rest");
    let from = if brought_on.is_some() { JobFrom::Date } else { JobFrom::RunStart };
    let blank = CareJob { from, date: brought_on, tolerance_days: 0, grade: None, ..plain() };
    let of_one = |(at, group): (usize, &Treated)| {
        let words = in_words(factor, &group.name);
        let todo = match ready {
            Some(ready) => todo(ready, at),
            None if group.control || is_rest || words.is_empty() => Todo::Nothing,
            None => Todo::Words,
        };
        let act = |act: ActKind| {
            debug_assert!(ACTS.contains(&act), "a job may ask for it");
            CareJob { act: Some(act), words: words.clone(), ..blank.clone() }
        };
        match todo {
            Todo::Nothing => None,
            Todo::Act(kind) => Some(act(kind)),
            Todo::Again(kind, days) => {
                Some(CareJob { every_days: u32::try_from(days).ok(), during: During::Growth, ..act(kind) })
            }
            Todo::Words if words.is_empty() => None,
            Todo::Words => Some(CareJob { doing: Doing::Own, act: None, words: words.clone(), ..blank.clone() }),
        }
    };
    groups.iter().enumerate().map(of_one).collect()
}

/// Puts a group's job into its care plan. A day that is there for the same act already is not asked for twice: then it
/// says how.
pub fn put(plan: &mut Vec<(String, CareJob)>, job: CareJob) {
    let same = plan.iter_mut().find(|(_, known)| known.doing == Doing::Act && known.act == job.act);
    match same.filter(|_| job.doing == Doing::Act) {
        Some((_, known)) => known.words = job.words,
        None => plan.push((SLOT.to_owned(), job)),
    }
}

/// `bath: tepid, over night`, as long as a job's words may be.
fn in_words(factor: &str, level: &str) -> String {
    let (factor, level) = (factor.trim(), level.trim());
    let words = if factor.is_empty() || level.is_empty() { level.to_owned() } else { format!("{factor}: {level}") };
    let most = usize::try_from(limits::NAME_CHARS.max).unwrap_or(usize::MAX);
    words.chars().take(most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        care::{self, Job},
        testing::{World, day, id},
    };

    fn told(ready: &str, factor: &str, unit: &str, names: [&str; 2]) -> [Option<CareJob>; 2] {
        let groups =
            [(names[0], true), (names[1], false)].map(|(name, control)| Treated { name: name.to_owned(), control });
        let jobs = jobs(ready, factor, unit, &groups, None);
        assert!(jobs.iter().flatten().all(|job| care::plan::check(job) == Ok(())));
        jobs.try_into().unwrap()
    }

    fn act(job: &Option<CareJob>) -> Option<(ActKind, Option<u32>)> {
        job.as_ref().and_then(|job| Some((job.act?, job.every_days)))
    }

    #[test]
    fn ready_questions_tell_the_act_and_own_ones_their_words() {
        let mix = told("mix", "mix", "", ["usual", "with sand"]);
        assert_eq!([act(&mix[0]), act(&mix[1])], [Some((ActKind::Potted, None)); 2]);
        assert_eq!(mix[1].as_ref().unwrap().words, "mix: with sand");
        let leaves = told("leaves", "leaves", "", ["cut", "kept"]);
        assert_eq!([act(&leaves[0]), act(&leaves[1])], [Some((ActKind::CutBack, None)), None]);
        let fed = told("feeding", "feeding", "", ["not fed", "fed"]);
        assert_eq!([act(&fed[0]), act(&fed[1])], [None, Some((ActKind::Fed, Some(14)))]);
        let place = told("place", "place", "", ["usual", "other"]);
        assert_eq!([act(&place[0]), act(&place[1])], [None, Some((ActKind::Moved, None))]);
        assert_eq!(told("rest", "weeks of rest", "weeks", ["8 weeks", "12 weeks"]), [None, None]);
        assert_eq!(told("", "weeks of rest", "weeks", ["8 weeks", "12 weeks"]), [None, None]);
        let [control, bath] = told("", "bath", "", ["none", "tepid, over night"]);
        assert_eq!(control, None);
        let bath = bath.unwrap();
        assert_eq!((bath.doing, bath.words.as_str()), (Doing::Own, "bath: tepid, over night"));
        // A ready question with further groups is one's own.
        let three = ["usual", "sand", "bark"].map(|name| Treated { name: name.to_owned(), control: name == "usual" });
        let jobs = jobs("mix", "mix", "", &three, Some(day(9)));
        assert_eq!(
            jobs.iter().map(|job| job.as_ref().map(|job| (job.doing, job.date))).collect::<Vec<_>>(),
            [None, Some((Doing::Own, Some(day(9)))), Some((Doing::Own, Some(day(9)))),]
        );
    }

    #[test]
    fn a_day_that_asks_for_the_same_act_says_how_and_is_not_asked_twice() {
        let potted = CareJob { act: Some(ActKind::Potted), from: JobFrom::Date, date: Some(day(9)), ..plain() };
        let mut plan = vec![("pot".to_owned(), potted)];
        put(&mut plan, told("mix", "mix", "", ["usual", "with sand"])[1].clone().unwrap());
        assert_eq!(plan.len(), 1);
        assert_eq!((plan[0].1.words.as_str(), plan[0].1.date), ("mix: with sand", Some(day(9))));
        put(&mut plan, told("", "bath", "", ["none", "warm"])[1].clone().unwrap());
        assert_eq!(plan[1].0, SLOT);
    }

    /// The job of each group falls due once the try has started, is done by what is recorded for its bulbs, and ends with
    /// the try.
    #[test]
    fn what_differs_falls_due_for_its_group_on_the_day_the_try_starts() {
        use crate::ledger::{body::Body, entry::Draft};
        let mut world = World::of(
            "-9 mia place pl_1 Bench
             -9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3,b_4 lo_1 in=pl_1
             -2 mia question tr_1 gr_a,gr_b
             -2 mia run ru_1 tr_1 3 every=7
             -2 mia rule ru_1 by first-flower-open
             -2 mia due ru_1 60
             -2 mia allot ru_1 hand gr_a=b_1,b_2 gr_b=b_3,b_4",
        );
        let bath = told("", "bath", "", ["none", "warm"])[1].clone().unwrap();
        let mut draft = Draft::new(vec![id("gr_b")], crate::calendar::Happened::on(day(-2)), Body::CarePlan(bath));
        SLOT.clone_into(&mut draft.slot);
        world.save("mia", vec![draft]);
        let due = |world: &World, on: i64| {
            let state = world.state();
            let mut due = care::due(&state, day(on));
            due.add(&state, care::plan::planned(&state, day(on)));
            let jobs = due.places.into_iter().flat_map(|at| at.jobs);
            let mut jobs = jobs.filter(|at| matches!(at.job, Job::Planned { .. }));
            jobs.next().map(|at| (at.bulbs, care::day::tick(&state, &at.job), at.job.key().unwrap()))
        };
        assert_eq!(due(&world, 3), None);
        world.add("3 mia cycle-began b_1,b_2,b_3,b_4\n3 mia run-started ru_1");
        let (bulbs, tick, key) = due(&world, 3).unwrap();
        assert_eq!((bulbs, tick), (vec![id("b_3"), id("b_4")], Some(ActKind::JobDone)));
        world.add(&format!("4 mia job-done b_3,b_4 job={key}"));
        assert_eq!(due(&world, 4), None);
    }
}
