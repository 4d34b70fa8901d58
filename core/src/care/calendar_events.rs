//! Days to come, for a calendar: jobs of care plans, what tries ask for, shoots and bulbs to see again, one occasion a job and
//! place, each with a name that stays the same from one export to the next.

use super::{
    due::{inspect_again, next_look, see_again},
    job::{Job, key_of},
    plan,
    rest::rest_end,
    saved_plan,
    snooze::key,
};
use std::collections::BTreeSet;

use crate::{
    calendar::Date,
    ledger::id::{Id, Noun},
    nursery::{Bulb, State, state::Run},
};

/// A repeating occasion is told for so many days; a later export goes on.
pub const HORIZON_DAYS: i64 = 182;

/// One occasion.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Occasion {
    /// Its name, the same in every export of this nursery.
    pub key: String,
    /// The job.
    pub job: Job,
    /// Where; nothing when it is of no single place.
    pub place: Option<Id>,
    /// The day, or the first of several.
    pub day: Date,
    /// Days after which it comes again.
    pub every_days: Option<u32>,
    /// The last day on which it may come again.
    pub until: Option<Date>,
    /// For how many bulbs on that day, and for how many later.
    pub n_bulbs: usize,
    /// Bulbs with a later day.
    pub n_later: usize,
    /// It was in an earlier export and is no more.
    pub called_off: bool,
}

impl Occasion {
    /// Whether it is on this day. What is past already and comes but once is due today.
    pub fn is_on(&self, day: Date, today: Date) -> bool {
        if self.called_off {
            return false;
        }
        match self.every_days {
            None => self.day.max(today) == day,
            Some(every_days) => {
                let since_days = self.day.days_until(day);
                since_days >= 0
                    && since_days % i64::from(every_days.max(1)) == 0
                    && self.until.is_none_or(|until| day <= until)
            }
        }
    }

    /// The next day after `today` on which it is; nothing when it is over by then.
    fn next_day(&self, today: Date) -> Option<Date> {
        if self.called_off {
            return None;
        }
        if self.day > today {
            return Some(self.day);
        }
        let every_days = i64::from(self.every_days?.max(1));
        let in_days = every_days - self.day.days_until(today) % every_days;
        let next = today.add_days(in_days).ok()?;
        self.until.is_none_or(|until| next <= until).then_some(next)
    }
}

/// What comes next after `today`, and on which day.
pub fn next(state: &State, today: Date) -> Option<(Date, Occasion)> {
    let all = occasions(state, today).into_iter();
    let coming = all.filter_map(|occasion| Some((occasion.next_day(today)?, occasion)));
    coming.min_by_key(|(day, _)| *day)
}

/// The seven days from `today` on with the occasions of each.
pub fn week(state: &State, today: Date) -> Vec<(Date, Vec<Occasion>)> {
    let all = occasions(state, today);
    let days = (0..7).filter_map(|n| today.add_days(n).ok());
    days.map(|day| {
        let on = all.iter().filter(|occasion| occasion.is_on(day, today));
        (day, on.cloned().collect())
    })
    .collect()
}

/// What a calendar file tells: every occasion to come, and those called off that an earlier file told of. `written` names
/// all that earlier files told.
pub fn to_write(state: &State, today: Date, written: &BTreeSet<String>) -> Vec<Occasion> {
    let mut all = occasions(state, today);
    all.retain(|occasion| !occasion.called_off || written.contains(&occasion.key));
    all
}

/// Every occasion from `today` on, and those called off.
pub fn occasions(state: &State, today: Date) -> Vec<Occasion> {
    let mut all = planned(state, today);
    seen_again(state, today, (Job::SeeAgain, key::SEE_AGAIN), see_again, &mut all);
    seen_again(state, today, (Job::InspectAgain, key::INSPECT_AGAIN), inspect_again, &mut all);
    for (id, run) in &state.runs {
        of_run(state, *id, run, today, &mut all);
    }
    all
}

fn planned(state: &State, today: Date) -> Vec<Occasion> {
    let mut all: Vec<Occasion> = Vec::new();
    // A plan says on which days its bulbs will be inspected and looked at, before they rest or leave their rest.
    let ahead = saved_plan::coming(state, today);
    for coming in plan::coming(state).into_iter().chain(ahead) {
        let Some(job) = plan::find(state, coming.subject, &coming.slot) else {
            continue;
        };
        let n = coming.bulbs.len();
        let key = planned_key(coming.subject, &coming.slot, coming.place);
        let repeats = job.every_days.is_some();
        let day = if repeats { coming.day.max(today) } else { coming.day };
        let last = plan::last_day(state, coming.subject, &coming.slot, job);
        // What is late still comes once.
        let until = |day: Date| {
            let horizon = day.add_days(HORIZON_DAYS).ok().filter(|_| repeats)?;
            Some(last.map_or(horizon, |last| horizon.min(last.max(day))))
        };
        let Some(known) = all.iter_mut().find(|known| known.key == key) else {
            all.push(Occasion {
                until: until(day),
                key,
                job: Job::Planned { subject: coming.subject, slot: coming.slot },
                place: coming.place,
                day,
                every_days: job.every_days,
                n_bulbs: n,
                n_later: 0,
                called_off: false,
            });
            continue;
        };
        match day.cmp(&known.day) {
            std::cmp::Ordering::Equal => known.n_bulbs += n,
            std::cmp::Ordering::Greater => known.n_later += n,
            std::cmp::Ordering::Less => {
                known.n_later += known.n_bulbs;
                (known.n_bulbs, known.day) = (n, day);
                known.until = until(day);
            }
        }
    }
    call_off(state, today, &mut all);
    all
}

fn planned_key(subject: Id, slot: &str, place: Option<Id>) -> String {
    key_at(&key_of(subject, slot), place)
}

fn key_at(job: &str, place: Option<Id>) -> String {
    let place = place.map_or_else(|| "nowhere".to_owned(), |place| place.to_string());
    format!("{job}/{place}")
}

/// What each bulb by itself is to be seen for again (an unsure shoot, an inspection), at each place on the first day of any
/// of them. A place where none is left lets go of the occasion that an earlier export told.
fn seen_again(
    state: &State,
    today: Date,
    (job, key): (Job, &str),
    of: fn(&Bulb) -> Option<Date>,
    all: &mut Vec<Occasion>,
) {
    let wheres = state.places.keys().map(|place| Some(*place));
    for place in wheres.chain([None]) {
        let bulbs = place.map_or_else(|| state.bulbs_nowhere(), |place| state.bulbs_in(place));
        let days: Vec<Date> = bulbs.into_iter().filter_map(of).collect();
        let first = days.iter().min().copied();
        let n_first = days.iter().filter(|day| Some(**day) == first).count();
        all.push(Occasion {
            key: key_at(key, place),
            job: job.clone(),
            place,
            day: first.unwrap_or(today),
            every_days: None,
            until: None,
            n_bulbs: n_first,
            n_later: days.len() - n_first,
            called_off: first.is_none(),
        });
    }
}

/// Jobs that are for bulbs of a place and have no day there: done, given up, or of another time of the cycle. A calendar
/// that holds one from an earlier export lets go of it.
fn call_off(state: &State, today: Date, all: &mut Vec<Occasion>) {
    for bulb in state.bulbs.values() {
        let belongs = plan::Belongs::of(state, bulb);
        let is_place = |place: &Id| state.places.contains_key(place);
        let now = bulb.place.filter(is_place);
        // What a try has taken over from a plan was told of, too.
        for planned in state.care.iter().filter(|planned| belongs.to(planned) || belongs.gave_up(planned)) {
            // Bulbs of a plan are moved when they are laid down and brought on: it is off where they stood.
            let stood = planned.subject.is(Noun::Forcing).then(|| bulb.places_between(planned.since, today));
            let stood = stood.into_iter().flatten().filter(is_place).map(Some);
            for place in std::iter::once(now).chain(stood) {
                let key = planned_key(planned.subject, &planned.slot, place);
                if all.iter().any(|known| known.key == key) {
                    continue;
                }
                all.push(Occasion {
                    key,
                    job: Job::Planned { subject: planned.subject, slot: planned.slot.clone() },
                    place,
                    day: today,
                    every_days: None,
                    until: None,
                    n_bulbs: 0,
                    n_later: 0,
                    called_off: true,
                });
            }
        }
    }
}

/// What a try asks for: its start, its looks, the ends of its rests, its last day.
fn of_run(state: &State, id: Id, run: &Run, today: Date, all: &mut Vec<Occasion>) {
    let (Some(body), Some(window)) = (run.body.settled(), run.window.settled()) else {
        return;
    };
    // Of a try typed in only one under way asks for anything; one of counts has no bulbs to look at.
    if body.typed_in && (run.started.is_none() || run.units().is_empty()) {
        return;
    }
    let called_off = run.closed.is_some();
    let mut put = |name: String, job: Job, place: Option<Id>, day: Date, n_bulbs: usize| {
        let walks = matches!(job, Job::Walk { .. });
        all.push(Occasion {
            key: format!("{name}/{id}"),
            job,
            place,
            day,
            every_days: walks.then_some(body.look_interval_days),
            until: walks.then_some(window.to.max(day)),
            n_bulbs,
            n_later: 0,
            called_off,
        });
    };
    if run.started.is_none() {
        let job = Job::StartRun { run: id, on: body.start };
        put("start".to_owned(), job, None, body.start, run.units().len());
    }
    let job = Job::Deadline { run: id, on: window.to, n_open: 0 };
    put(key::DEADLINE.to_owned(), job, None, window.to, run.units().len());
    let Some(start) = run.started else { return };
    let bulbs = run.units().iter().flat_map(|unit| state.bulbs_of_unit_on(*unit, start));
    let here: Vec<_> = bulbs.filter(|bulb| bulb.is_here()).collect();
    let mut walks: Vec<(Option<Id>, Date, usize)> = Vec::new();
    let mut rests: Vec<(Date, usize)> = Vec::new();
    for bulb in here {
        let cycle = bulb.cycle();
        let rest_end = rest_end(state, run, bulb);
        // At rest it is looked at from the end of its rest on, when that is known.
        let awake_from =
            if cycle.resting() { rest_end.map(|on| Some(on.max(today))) } else { Some(cycle.rest_ended_on()) };
        let next = awake_from.and_then(|from| next_look(run, bulb, from));
        if let Some((next, _)) = next.map(|(first, late)| (first.max(today), late)) {
            match walks.iter_mut().find(|(place, ..)| *place == bulb.place) {
                Some(walk) => (walk.1, walk.2) = (walk.1.min(next), walk.2 + 1),
                None => walks.push((bulb.place, next, 1)),
            }
        }
        if let Some(on) = rest_end {
            match rests.iter_mut().find(|(day, _)| *day == on) {
                Some(rest) => rest.1 += 1,
                None => rests.push((on, 1)),
            }
        }
    }
    for (place, day, n) in walks {
        let interval_days = i64::from(body.look_interval_days);
        let job = Job::Walk { last_look_days: None, interval_days };
        let name = place.map_or_else(|| key::WALK.to_owned(), |place| format!("{}/{place}", key::WALK));
        if day <= window.to {
            put(name, job, place, day, n);
        }
    }
    rests.sort();
    for (nth, (on, n)) in rests.into_iter().enumerate() {
        let job = Job::RestEnds { run: id, on };
        put(format!("{}-{}", key::REST_ENDS, nth + 1), job, None, on, n);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::{
            body::{Batch, Forcing},
            id::Ids,
        },
        record::{Command, Moment, record},
        testing::{World, batch, day, forcing, id},
    };

    fn world() -> World {
        World::of(
            r#"-9 mia place pl_1 Bed
               -9 mia lot lo_1 Red
               -9 mia bulb b_1 lo_1 in=pl_1
               -9 mia bulb b_2 lo_1 in=pl_1
               -2 mia question tr_1 gr_a,gr_b factor=weeks-of-rest/weeks
               -2 mia group gr_a tr_1 Eight weeks-of-rest=8/weeks
               -2 mia group gr_b tr_1 Twelve weeks-of-rest=12/weeks
               -2 mia run ru_1 tr_1 0 every=7
               -2 mia due ru_1 100
               -2 mia allot ru_1 hand gr_a=b_1 gr_b=b_2
               -2 mia json l_1 care-plan {"doing":"act","act":"potted","from":"rest end","after_days":2,"during":"always"}
               0 mia run-started ru_1
               0 mia laid-to-rest b_1,b_2"#,
        )
    }

    fn reminder_day(world: &World, today: i64) -> Vec<(String, Date, usize, bool)> {
        let all = occasions(&world.state(), day(today)).into_iter();
        all.map(|o| (o.key, o.day, o.n_bulbs, o.called_off)).collect()
    }

    #[test]
    fn what_comes_next_is_never_of_today_and_comes_again_in_its_turn() {
        let state = world().state();
        let next = |today: i64| next(&state, day(today)).map(|(day, o)| (day, o.key));
        let walk = "walk/pl_1/ru_1".to_owned();
        // At rest nobody walks: the first look is of the day on which the first group's eight weeks are over.
        assert_eq!(next(3), Some((day(56), walk)));
        // The last day that counts, when all else is over.
        assert!(next(100).is_none_or(|(on, _)| on > day(100)));
        let nothing = World::of("0 mia place pl_1 Bed").state();
        assert_eq!(super::next(&nothing, day(3)), None);
    }

    #[test]
    fn a_try_tells_its_looks_its_rests_and_its_last_day() {
        let all = reminder_day(&world(), 3);
        let has = |key: &str, on: i64, n: usize| all.contains(&(key.to_owned(), day(on), n, false));
        assert!(has("deadline/ru_1", 100, 2), "{all:?}");
        // At rest they are not looked at before the first rest ends.
        assert!(has("walk/pl_1/ru_1", 56, 2), "{all:?}");
        assert!(has("rest-ends-1/ru_1", 56, 1) && has("rest-ends-2/ru_1", 84, 1), "{all:?}");
        let walk = occasions(&world().state(), day(3)).into_iter().find(|o| o.every_days.is_some());
        let walk = walk.unwrap();
        assert_eq!((walk.every_days, walk.until), (Some(7), Some(day(100))));
    }

    #[test]
    fn a_first_walk_is_told_on_the_day_it_is_due() {
        let grown = world().and("0 mia rest-ended b_1,b_2");
        let walks = |world: &World, today: i64| -> Vec<Date> {
            let all = occasions(&world.state(), day(today)).into_iter();
            all.filter(|o| matches!(o.job, Job::Walk { .. })).map(|o| o.day).collect()
        };
        assert_eq!(walks(&grown, 0), [day(0)]);
        assert_eq!(walks(&grown.and("0 mia look b_1,b_2 clear"), 0), [day(7)]);
    }

    #[test]
    fn a_try_from_a_notebook_is_told_while_it_is_under_way() {
        let typed = |end: &str| {
            World::of(&format!(
                "-30 mia place pl_1 Bed
                 -30 mia lot lo_1 Red
                 -30 mia bulb b_1,b_2 lo_1 in=pl_1
                 -20 mia run ru_1 tr_1 -20 every=7 typed
                 -20 mia due ru_1 100
                 -20 mia allot ru_1 recorded gr_a=b_1 gr_b=b_2
                 -20 mia run-started ru_1\n{end}"
            ))
        };
        let told = reminder_day(&typed(""), 0);
        assert!(told.contains(&("deadline/ru_1".to_owned(), day(100), 2, false)), "{told:?}");
        assert!(told.contains(&("walk/pl_1/ru_1".to_owned(), day(0), 2, false)), "{told:?}");
        // Closed, it is called off only in a calendar that was told of it.
        let state = typed("-1 mia run-closed ru_1").state();
        assert_eq!(to_write(&state, day(0), &BTreeSet::new()), []);
        let written = BTreeSet::from(["deadline/ru_1".to_owned()]);
        let again = to_write(&state, day(0), &written);
        assert_eq!(again.len(), 1);
        assert!(again[0].called_off);
    }

    #[test]
    fn names_stay_when_days_move_and_what_is_done_is_called_off() {
        let name = "l_1//pl_1".to_owned();
        let of = |world: &World| -> Vec<(Date, usize, bool)> {
            let all = reminder_day(world, 60).into_iter();
            all.filter(|(key, ..)| *key == name).map(|(_, on, n, off)| (on, n, off)).collect()
        };
        // Nothing counts yet: called off, or never there.
        assert_eq!(of(&world()), [(day(60), 0, true)]);
        let mut world = world().and("50 mia rest-ended b_1\n52 mia rest-ended b_2");
        assert_eq!(of(&world), [(day(52), 1, false)]);
        let state = world.state();
        let both = occasions(&state, day(60)).into_iter().find(|o| o.key == name).unwrap();
        assert_eq!((both.n_later, both.job.key()), (1, Some("l_1/".to_owned())));
        world.add("53 jo potted b_1");
        assert_eq!(of(&world), [(day(54), 1, false)]);
        world.add("55 jo potted b_2");
        assert_eq!(of(&world), [(day(60), 0, true)]);
        assert!(reminder_day(&world.and("60 mia run-closed ru_1"), 61).iter().all(|(.., off)| *off));
    }

    #[test]
    fn what_a_plan_repeats_ends_with_the_rest_or_with_its_window() {
        let mut world = World::of(
            "-30 mia place pl_1 Bed
             -30 mia lot lo_1 Red
             -30 mia bulb b_1,b_2 lo_1 in=pl_1
             -20 mia laid-to-rest b_1
             -20 mia potted b_2",
        );
        let rested = |bulb: &str, rest_end: i64| Batch {
            bulbs: vec![id(bulb)],
            stop_water: None,
            lay_to_rest: Some(day(-20)),
            rest_end: day(rest_end),
            first_look: day(rest_end + 9),
        };
        let plan = Forcing { batches: vec![rested("b_1", 36), rested("b_2", 0)], ..forcing("Fair", 90, 95) };
        let mut moment = Moment { now: Happened::on(day(0)), ids: Ids::new([7; 32]) };
        let command = Command::Force { forcing: None, body: Box::new(plan) };
        let drafts = record(command, &world.ledger, &world.state(), &mut moment).unwrap();
        world.save("mia", drafts);
        let until = |slot: &str| {
            let mut all = occasions(&world.state(), day(0)).into_iter();
            let of_slot = |o: &Occasion| o.key.contains(slot) && !o.called_off;
            all.find(of_slot).expect("an occasion").until
        };
        assert_eq!(until("/1-inspect/"), Some(day(35)));
        assert_eq!(until("/2-look/"), Some(day(95)));
        assert_eq!(until("/1-pot/"), None);
    }

    /// A bulb in leaf on day 0, with a plan that lays it to rest on day 24 and ends its rest on day 80.
    fn planned() -> (World, Id) {
        let mut world = World::of(
            "-30 mia place pl_1 Bed
             -30 mia place pl_2 Bench
             -30 mia lot lo_1 Red
             -30 mia bulb b_1 lo_1 in=pl_1",
        );
        let plan = Forcing { batches: vec![batch("b_1", 3, 80)], ..forcing("Fair", 130, 140) };
        let plan = world.force(0, None, plan);
        (world, plan)
    }

    /// Name, day and whether it is called off, of what is told of a job.
    fn of_job(world: &World, today: i64, slot: &str) -> Vec<(String, Date, bool)> {
        let all = reminder_day(world, today).into_iter();
        let of = all.filter(|(key, ..)| key.contains(&format!("/{slot}/")));
        of.map(|(key, on, _, off)| (key, on, off)).collect()
    }

    #[test]
    fn looks_and_inspections_of_a_plan_stand_on_their_days_before_the_bulbs_are_there() {
        let (world, plan) = planned();
        let key = |slot: &str, place: &str| format!("{plan}/{slot}/{place}");
        let one = |world: &World, today: i64, slot: &str| {
            let mut all = of_job(world, today, slot);
            assert_eq!(all.len(), 1, "{all:?}");
            all.remove(0)
        };
        let look = (key("1-look", "pl_1"), day(98), false);
        let inspect = (key("1-inspect", "pl_1"), day(38), false);
        assert_eq!(one(&world, 1, "1-look"), look);
        assert_eq!(one(&world, 1, "1-inspect"), inspect);
        // The same events in leaf, drying off, and at rest.
        let world = world.and("3 mia cycle-began b_1\n3 mia water-stopped b_1\n24 mia laid-to-rest b_1");
        assert_eq!((one(&world, 4, "1-look"), one(&world, 25, "1-look")), (look.clone(), look));
        assert_eq!(one(&world, 25, "1-inspect"), inspect);
        // The rest ends late: so do looks begin, and never on a day when nothing can be there yet.
        assert_eq!(one(&world, 85, "1-look").1, day(103));
        let potted = world.clone().and("79 mia potted b_1");
        assert_eq!(one(&potted, 80, "1-look"), (key("1-look", "pl_1"), day(98), false));
        assert!(one(&potted, 80, "1-inspect").2, "no rest is left to inspect");
        // Brought on elsewhere: it is off where it stood, and on where it stands.
        let mut moved = of_job(&potted.and("79 mia moved b_1 place=pl_2"), 80, "1-look");
        moved.sort();
        assert_eq!(moved, [(key("1-look", "pl_1"), day(80), true), (key("1-look", "pl_2"), day(98), false)]);
    }

    #[test]
    fn what_a_plan_has_ahead_moves_and_ends_with_it() {
        let (mut world, plan) = planned();
        world.add("3 mia cycle-began b_1\n3 mia water-stopped b_1\n24 mia laid-to-rest b_1");
        let looks = |world: &World, today: i64| -> Vec<(Date, bool)> {
            let all = of_job(world, today, "1-look").into_iter();
            all.map(|(_, on, off)| (on, off)).collect()
        };
        // After the window's last day nothing is looked for.
        assert_eq!(looks(&world, 125), [(day(125), true)]);
        // A nursery that looks as often as the plan is not told twice.
        let own = r#"25 mia json l_1 care-plan {"doing":"look","from":"act","after":"potted","every_days":3,"during":"always"}"#;
        assert!(looks(&world.clone().and(own), 26).contains(&(day(26), true)));
        let later = Forcing { batches: vec![batch("b_1", 13, 90)], ..forcing("Fair", 140, 150) };
        world.force(25, Some(plan), later.clone());
        assert_eq!(looks(&world, 26), [(day(108), false)]);
        assert!(looks(&world.clone().and("27 mia died b_1 cause=rot"), 28).iter().all(|(_, off)| *off));
        world.force(27, Some(plan), Forcing { given_up: true, ..later });
        assert!(looks(&world, 28).iter().all(|(_, off)| *off));
    }

    #[test]
    fn a_week_holds_what_is_late_today_and_what_comes_again_on_each_of_its_days() {
        let world = world().and(
            r#"0 mia json pl_1 care-plan {"doing":"look","from":"date","date":"2027-01-03","every_days":3,"during":"always"}
               0 mia json ru_1 care-plan {"doing":"own","words":"label","from":"date","date":"2027-01-02","during":"always"}
               0 mia rest-ended b_1,b_2
               0 mia look b_1,b_2 clear"#,
        );
        let days: Vec<Vec<String>> =
            week(&world.state(), day(5)).into_iter().map(|(_, on)| on.into_iter().map(|o| o.key).collect()).collect();
        let on = |key: &str| -> Vec<usize> { (0..7).filter(|n| days[*n].iter().any(|known| known == key)).collect() };
        assert_eq!(on("pl_1//pl_1"), [0, 3, 6]);
        assert_eq!(on("ru_1//pl_1"), [0]);
        assert_eq!(on("walk/pl_1/ru_1"), [2]);
        assert!(on("deadline/ru_1").is_empty());
    }

    #[test]
    fn a_shoot_to_be_seen_again_comes_next_stands_in_the_week_and_in_a_calendar() {
        let mut world = World::of(
            "-9 mia place pl_1 Bed
             -9 mia lot lo_1 Red
             -9 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
             -9 mia bulb b_4 lo_1
             3 mia look b_1 sh_1/unknown/shoot
             3 mia look b_2 sh_2/unknown/shoot
             3 mia call b_2 sh_2 700 9
             3 mia look b_3 clear",
        );
        let seen = |world: &World, today: i64| -> Vec<(String, Date, usize, usize)> {
            let all = to_write(&world.state(), day(today), &BTreeSet::new()).into_iter();
            all.map(|o| (o.key, o.day, o.n_bulbs, o.n_later)).collect()
        };
        let key = "see-again/pl_1".to_owned();
        assert_eq!(seen(&world, 4), [(key.clone(), day(7), 1, 1)]);
        let state = world.state();
        let (on, next) = next(&state, day(4)).unwrap();
        assert_eq!((on, next.job), (day(7), Job::SeeAgain));
        let week: Vec<usize> = week(&state, day(4)).iter().map(|(_, on)| on.len()).collect();
        assert_eq!(week, [0, 0, 0, 1, 0, 0, 0]);
        // Put off, it is told on its new day, as Due tells it; and a bulb of no place is told, too.
        world.add("7 mia postponed b_1 until=11 job=see-again\n7 mia look b_4 sh_4/unknown/shoot");
        let nowhere = "see-again/nowhere".to_owned();
        assert_eq!(seen(&world, 7), [(key.clone(), day(9), 1, 1), (nowhere, day(11), 1, 0)]);
        // Seen again and known: a calendar that was told of it lets go of it.
        world.add("9 mia proof b_1 sh_1 leaf\n9 mia proof b_2 sh_2 scape\n9 mia proof b_4 sh_4 leaf");
        assert_eq!(seen(&world, 9), []);
        let again = to_write(&world.state(), day(9), &BTreeSet::from([key.clone()]));
        assert_eq!(again.iter().map(|o| (&o.key, o.called_off)).collect::<Vec<_>>(), [(&key, true)]);
    }

    #[test]
    fn a_try_that_a_plan_became_lets_go_of_what_the_plan_told() {
        let (world, plan) = planned();
        let told = to_write(&world.state(), day(1), &BTreeSet::new());
        let written: BTreeSet<String> = told.into_iter().map(|o| o.key).collect();
        assert!(written.contains(&format!("{plan}/1-pot/pl_1")), "{written:?}");
        let world = world.and(
            r#"1 mia question tr_1 gr_a,gr_b factor=weeks-of-rest/weeks
               1 mia group gr_a tr_1 Eight weeks-of-rest=8/weeks
               1 mia group gr_b tr_1 Twelve weeks-of-rest=12/weeks
               1 mia run ru_1 tr_1 10 every=7
               1 mia due ru_1 140
               1 mia allot ru_1 hand gr_a=b_1 gr_b=
               1 mia json gr_a care-plan {"doing":"act","act":"potted","from":"date","date":"2027-03-20","during":"always"}"#,
        );
        let again = to_write(&world.state(), day(2), &written).into_iter();
        let of_plan: Vec<bool> = again.filter(|o| o.key.starts_with(plan.as_str())).map(|o| o.called_off).collect();
        assert!(!of_plan.is_empty() && of_plan.iter().all(|off| *off), "{of_plan:?}");
    }

    #[test]
    fn each_name_is_given_once() {
        let world = world().and(
            r#"0 mia json pl_1 care-plan {"doing":"look","from":"date","date":"2027-01-03","every_days":3,"during":"always"}"#,
        );
        let mut keys: Vec<String> = reminder_day(&world, 20).into_iter().map(|(key, ..)| key).collect();
        assert!(keys.contains(&format!("{}//pl_1", id("pl_1"))));
        let n = keys.len();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), n);
    }
}
