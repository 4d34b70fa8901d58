//! Forcing without a trial: the plan, and its jobs as a care plan that follows it.

use std::collections::BTreeSet;

use super::{Moment, checked, here, tidied};
use crate::{
    calendar::{Date, Happened},
    care::plan::{batch_of, is_done},
    error::{Error, Field, Result},
    ledger::{
        Ledger,
        body::{Act, ActKind, Batch, Body, CareJob, Forcing},
        entry::Draft,
        id::{Id, Noun},
    },
    limits,
    nursery::{Bulb, State},
    plan::jobs,
    refusal::{DateRefusal, Missing, RecordRefusal, TryRefusal},
};

/// Whether a forcing may be recorded.
pub(super) fn check(forcing: &Forcing) -> Result<()> {
    if forcing.from > forcing.to {
        return Err(Error::new(DateRefusal::WindowBackwards).at(Field::Window));
    }
    let n: usize = forcing.batches.iter().map(|batch| batch.bulbs.len()).sum();
    if n == 0 {
        return Err(Error::new(Missing::PlannedBulbs).at(Field::Bulbs));
    }
    limits::ABOUT.check(n as i64).map_err(|why| why.at(Field::Bulbs))?;
    Ok(())
}

/// The entries of a new forcing, or of one whose window or bulbs change. Jobs that are done for all their bulbs stay as
/// they were; what somebody changed about another job stays, but for its day.
pub(super) fn force(
    ledger: &Ledger,
    state: &State,
    moment: &mut Moment,
    forcing: Option<Id>,
    body: Forcing,
) -> Result<Vec<Draft>> {
    let body = checked(tidied(Body::Forcing(body)))?;
    let Body::Forcing(meant) = &body else {
        return Err(Error::new(TryRefusal::NoPlan));
    };
    check_bulbs(state, moment, forcing, meant)?;
    let subject = match forcing {
        Some(known) if !state.forcings.contains_key(&known) => {
            return Err(Error::new(TryRefusal::NoSuchPlan));
        }
        Some(known) => known,
        None => moment.ids.draw(Noun::Forcing),
    };
    let wanted = jobs(meant);
    let register = |slot: &str, body: Body| {
        let mut draft = Draft::new(vec![subject], moment.now.clone(), body);
        draft.supersedes = State::to_replace(ledger, subject, draft.body.kind(), slot);
        draft.slot = slot.to_owned();
        draft
    };
    let mut drafts = Vec::new();
    let stands = state.forcings.get(&subject);
    if stands.is_none_or(|field| field.settled() != Some(meant)) {
        drafts.push(register("", body.clone()));
    }
    for (slot, job) in &wanted {
        if let Some(job) = changed(state, subject, meant, slot, job) {
            drafts.push(register(slot, Body::CarePlan(job)));
        }
    }
    let of_this = state.care.iter().filter(|known| known.subject == subject);
    for planned in of_this.filter(|known| wanted.iter().all(|(slot, _)| *slot != known.slot)) {
        let bulbs = bulbs_of(meant, &planned.slot);
        if let Some(job) = planned.job.shown()
            && !job.given_up
            && !is_done(state, planned, job, &bulbs)
        {
            let given_up = CareJob { given_up: true, ..job.clone() };
            drafts.push(register(&planned.slot, Body::CarePlan(given_up)));
        }
    }
    if drafts.is_empty() {
        return Err(Error::new(RecordRefusal::Unchanged));
    }
    drafts.extend(rests(state, meant, moment.today()));
    Ok(drafts)
}

/// Rests that the plan knows of and no record does: whoever plans for bulbs that rest since a day says with it that they
/// were laid to rest then, unless something was seen of them or done to them since.
fn rests(state: &State, meant: &Forcing, today: Date) -> Vec<Draft> {
    let told = |batch: &Batch| {
        let on = batch.lay_to_rest.filter(|on| batch.stop_water.is_none() && *on <= today)?;
        let untold = |id: &&Id| {
            let Some(cycle) = state.bulb(id).filter(|bulb| bulb.is_here()).map(Bulb::cycle) else {
                return false;
            };
            let seen = cycle.looks.iter().any(|seen| seen.at.date() > on);
            let done = cycle.acts.iter().any(|(day, act)| *day >= on && *act != ActKind::Moved);
            !cycle.resting() && !seen && !done
        };
        let bulbs: Vec<Id> = batch.bulbs.iter().filter(untold).copied().collect();
        let act = Body::Act(ActKind::LaidToRest, Act::default());
        (!bulbs.is_empty()).then(|| Draft::new(bulbs, Happened::on(on), act))
    };
    meant.batches.iter().filter_map(told).collect()
}

/// The job as it is to stand, when that differs from how it stands.
fn changed(state: &State, subject: Id, meant: &Forcing, slot: &str, job: &CareJob) -> Option<CareJob> {
    let mut all = state.care.iter();
    let known = all.find(|known| known.subject == subject && known.slot == *slot);
    let Some((planned, old)) = known.and_then(|known| Some((known, known.job.shown()?))) else {
        return Some(job.clone());
    };
    if is_done(state, planned, old, &bulbs_of(meant, slot)) {
        return None;
    }
    let moved = CareJob { date: job.date, given_up: false, ..old.clone() };
    (planned.job.settled() != Some(&moved)).then_some(moved)
}

fn bulbs_of(meant: &Forcing, slot: &str) -> Vec<Id> {
    let at = batch_of(slot).and_then(|n| n.checked_sub(1));
    at.and_then(|at| meant.batches.get(at)).map_or_else(Vec::new, |batch| batch.bulbs.clone())
}

fn check_bulbs(state: &State, moment: &Moment, forcing: Option<Id>, meant: &Forcing) -> Result<()> {
    let mut known = BTreeSet::new();
    for id in meant.batches.iter().flat_map(|batch| &batch.bulbs) {
        let refuse =
            |why: fn(String) -> TryRefusal| Err(Error::new(why(state.name_of(*id).to_owned())).at(Field::Bulbs));
        if !known.insert(*id) {
            return refuse(TryRefusal::ChosenTwice);
        }
        // A bulb that left since stays in a plan that it was in.
        let was_in = state.forcings_of(*id).any(|(of, _)| Some(of) == forcing);
        if was_in {
            continue;
        }
        let bulb = here(state, *id, moment.today())?;
        if state.running(bulb).is_some() {
            return refuse(TryRefusal::DueByTry);
        }
        if state.forcings_ahead(*id, moment.today()).next().is_some() {
            return refuse(TryRefusal::InAnotherPlan);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::refusal::BulbRefusal;
    use crate::{
        care::{
            plan::{coming, planned},
            saved_plan::InPlan,
        },
        ledger::id::Ids,
        record::{Command, record},
        testing::{World, day, forcing, id},
    };

    fn nursery() -> World {
        World::of(
            "-9 mia place pl_1 Bed
             -9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
             -9 mia own b_1 one
             -9 mia own b_2 two
             -9 mia own b_3 three",
        )
    }

    fn batch(bulbs: &[&str], stop: i64) -> Batch {
        Batch {
            bulbs: bulbs.iter().map(|bulb| id(bulb)).collect(),
            stop_water: Some(day(stop)),
            lay_to_rest: Some(day(stop + 21)),
            rest_end: day(stop + 77),
            first_look: day(stop + 95),
        }
    }

    fn meant(batches: Vec<Batch>) -> Forcing {
        Forcing { batches, ..forcing(" Fair ", 140, 150) }
    }

    fn told(world: &World, today: i64, forcing: Option<Id>, body: Forcing) -> Result<Vec<Draft>> {
        let mut moment = Moment {
            now: Happened::at(day(today), 600, 120).expect("a time"),
            ids: Ids::new([world.ledger.len() as u8; 32]),
        };
        let body = Box::new(body);
        let command = Command::Force { forcing, body };
        record(command, &world.ledger, &world.state(), &mut moment)
    }

    /// Saves, and gives the forcing.
    fn save(world: &mut World, today: i64, forcing: Option<Id>, body: Forcing) -> Id {
        let drafts = told(world, today, forcing, body).expect("drafts");
        let about = drafts[0].about[0];
        world.save("mia", drafts);
        about
    }

    /// The next day of a job, for how many bulbs.
    fn next(world: &World, slot: &str) -> Vec<(Date, usize)> {
        let all = coming(&world.state()).into_iter();
        all.filter(|coming| coming.slot == slot).map(|coming| (coming.day, coming.bulbs.len())).collect()
    }

    #[test]
    fn its_jobs_fall_due_and_move_with_the_window_and_those_done_stay() {
        let mut world = nursery();
        let fair = save(&mut world, 0, None, meant(vec![batch(&["b_1", "b_2"], 3)]));
        assert_eq!(world.state().name_of(fair), "Fair");
        assert_eq!(next(&world, "1-stop-water"), [(day(3), 2)]);
        assert_eq!(next(&world, "1-pot"), [(day(80), 2)]);
        assert!(planned(&world.state(), day(2)).is_empty());
        assert_eq!(planned(&world.state(), day(3))[0].jobs[0].bulbs.len(), 2);
        // One person stops the water of one bulb; then the fair is put off by three weeks.
        world.add("3 jo water-stopped b_1");
        save(&mut world, 5, Some(fair), meant(vec![batch(&["b_1", "b_2"], 24)]));
        assert_eq!(next(&world, "1-stop-water"), [(day(24), 1)]);
        assert_eq!(next(&world, "1-pot"), [(day(101), 2)]);
        // Once it is done for both, a further move leaves it alone, and only what is to come is written down.
        world.add("24 mia water-stopped b_2");
        let drafts = told(&world, 25, Some(fair), meant(vec![batch(&["b_1", "b_2"], 31)]));
        let slots: Vec<String> = drafts.expect("drafts").into_iter().map(|d| d.slot).collect();
        assert!(!slots.contains(&"1-stop-water".to_owned()), "{slots:?}");
        assert!(slots.contains(&"1-cut-back".to_owned()), "{slots:?}");
        // Bulbs at rest are inspected until it ends; looks end with the window.
        world.add("45 mia laid-to-rest b_1,b_2");
        assert_eq!(next(&world, "1-inspect"), [(day(59), 2)]);
        assert!(next(&world, "1-look").is_empty());
        world.add("101 mia potted b_1,b_2\n149 mia look b_1,b_2 clear");
        assert!(next(&world, "1-inspect").is_empty());
        assert!(next(&world, "1-look").is_empty(), "the next would be after the window");
    }

    #[test]
    fn a_rest_that_only_the_plan_knows_of_is_recorded_with_it() {
        let mut world = nursery();
        // The third was seen growing since, whatever the plan says.
        world.add("-2 mia look b_3 sh_1/scape/scape-in-sight");
        let resting = Batch { stop_water: None, lay_to_rest: Some(day(-40)), ..batch(&["b_1", "b_2", "b_3"], -47) };
        let fair = save(&mut world, 0, None, meant(vec![resting.clone()]));
        let state = world.state();
        let since = |bulb: &str| state.bulb(&id(bulb)).and_then(|bulb| bulb.cycle().resting_since());
        assert_eq!([since("b_1"), since("b_2"), since("b_3")], [Some(day(-40)), Some(day(-40)), None]);
        let bulb = state.bulb(&id("b_1")).expect("a bulb");
        let plan = InPlan::of(&state, bulb, day(0)).expect("a plan");
        assert_eq!(plan.rest_end(bulb, day(0)), resting.rest_end);
        // Saved again it is not said twice.
        let later = Forcing { name: "Market".to_owned(), ..meant(vec![resting]) };
        let drafts = told(&world, 1, Some(fair), later).expect("drafts");
        assert!(!drafts.iter().any(|draft| matches!(draft.body, Body::Act(..))));
    }

    #[test]
    fn what_the_nursery_repeats_anyway_is_not_told_twice() {
        let mut world = nursery();
        save(&mut world, 0, None, meant(vec![batch(&["b_1", "b_2"], 3)]));
        world.add("24 mia laid-to-rest b_1,b_2");
        assert_eq!(next(&world, "1-inspect").len(), 1);
        let own = |every_days: i64| {
            let job = r#"{"doing":"inspection","from":"act","after":"laid-to-rest","during":"rest","every_days":"#;
            format!("24 mia json pl_1 care-plan {job}{every_days}}}")
        };
        // What comes less often is no substitute.
        let seldom = world.clone().and(&own(28));
        assert_eq!(next(&seldom, "1-inspect").len(), 1);
        world.add(&own(14));
        assert!(next(&world, "1-inspect").is_empty());
        assert_eq!(next(&world, ""), [(day(24), 2)]);
        // What stands for another place only is told.
        world.add("25 mia place pl_2 Loft\n25 mia moved b_2 place=pl_2");
        assert_eq!(next(&world, "1-inspect")[0].1, 1);
    }

    #[test]
    fn batches_have_jobs_of_their_own_and_what_is_given_up_is_over() {
        let mut world = nursery();
        let two = meant(vec![batch(&["b_1"], 3), batch(&["b_2", "b_3"], 10)]);
        let fair = save(&mut world, 0, None, two);
        assert_eq!(next(&world, "1-stop-water"), [(day(3), 1)]);
        assert_eq!(next(&world, "2-stop-water"), [(day(10), 2)]);
        // Somebody gave a job to a person and more time; only its day moves.
        let mut job = world.state().care[0].job.shown().expect("a job").clone();
        (job.tolerance_days, job.person) = (5, Some(id("p_1")));
        let slot = world.state().care[0].slot.clone();
        let mut moment = Moment { now: Happened::on(day(1)), ids: Ids::new([1; 32]) };
        let set = Command::Set { subject: fair, slot, body: Body::CarePlan(job) };
        let drafts = record(set, &world.ledger, &world.state(), &mut moment).expect("drafts");
        world.save("jo", drafts);
        // All at once from now on.
        let one = meant(vec![batch(&["b_1", "b_2", "b_3"], 8)]);
        save(&mut world, 2, Some(fair), one.clone());
        assert!(next(&world, "2-stop-water").is_empty());
        assert_eq!(next(&world, "1-stop-water"), [(day(8), 3)]);
        let state = world.state();
        let kept = state.care[0].job.shown().expect("a job");
        assert_eq!((kept.tolerance_days, kept.person), (5, Some(id("p_1"))));
        let over = Forcing { given_up: true, ..one };
        save(&mut world, 3, Some(fair), over);
        assert!(coming(&world.state()).is_empty());
    }

    #[test]
    fn what_cannot_be_saved_is_refused() {
        let mut world = nursery();
        let of = |bulbs: &[&str]| meant(vec![batch(bulbs, 3)]);
        let why = |world: &World, body: Forcing| told(world, 0, None, body).expect_err("a refusal");
        assert_eq!(why(&world, of(&[])), Error::new(Missing::PlannedBulbs).at(Field::Bulbs));
        let twice = TryRefusal::ChosenTwice("one".to_owned());
        assert_eq!(why(&world, of(&["b_1", "b_1"])), Error::new(twice).at(Field::Bulbs));
        assert_eq!(why(&world, of(&["b_9"])), Error::new(BulbRefusal::NotHere));
        let back = Forcing { to: day(1), ..of(&["b_1"]) };
        assert_eq!(why(&world, back), Error::new(DateRefusal::WindowBackwards).at(Field::Window));
        let fair = save(&mut world, 0, None, of(&["b_1"]));
        let another = TryRefusal::InAnotherPlan("one".to_owned());
        assert_eq!(why(&world, of(&["b_1"])), Error::new(another).at(Field::Bulbs));
        let next_year = |today: i64| {
            told(&world, today, None, Forcing { batches: vec![batch(&["b_1"], 160)], ..forcing("Next", 300, 310) })
        };
        assert!(next_year(150).is_err(), "on its last day a plan still holds its bulbs");
        assert!(next_year(151).is_ok(), "a plan that is over holds them no longer: {:?}", next_year(151));
        let same = told(&world, 1, Some(fair), of(&["b_1"]));
        assert_eq!(same, Err(Error::new(RecordRefusal::Unchanged)));
        world.add("-2 mia run ru_1 tr_1 0\n-2 mia allot ru_1 hand gr_a=b_2 gr_b=b_3\n0 mia run-started ru_1");
        let running = TryRefusal::DueByTry("two".to_owned());
        assert_eq!(why(&world, of(&["b_2"])), Error::new(running).at(Field::Bulbs));
    }

    #[test]
    fn water_that_a_job_stops_counts_from_the_day_the_plan_was_saved() {
        let mut world = nursery();
        world.add("-30 mia water-stopped b_1\n-28 mia watered b_1");
        save(&mut world, 0, None, meant(vec![batch(&["b_1"], 3)]));
        assert_eq!(next(&world, "1-stop-water"), [(day(3), 1)], "an older act is not this one");
        assert!(
            world
                .state()
                .care
                .iter()
                .any(|job| { job.job.shown().is_some_and(|job| job.act == Some(ActKind::BroughtToLight)) })
        );
    }
}
