use super::*;
use crate::error::Field;
use crate::{
    json,
    testing::{World, day as on, id},
};

/// Two bulbs in a bed, one of them in a run's group, and one bulb in no place.
fn nursery() -> World {
    World::of(
        "-9 mia place pl_1 Bed
         -9 mia lot lo_1 Red
         -9 mia bulb b_1 lo_1 in=pl_1
         -9 mia bulb b_2 lo_1 in=pl_1
         -9 mia bulb b_3 lo_1
         -2 mia question tr_1 gr_a,gr_b factor=weeks-of-rest/weeks
         -2 mia group gr_a tr_1 Eight weeks-of-rest=8/weeks
         -2 mia run ru_1 tr_1 0 every=60
         -2 mia allot ru_1 hand gr_a=b_1 gr_b=b_2
         0 mia run-started ru_1",
    )
}

/// A line that sets a job of a care plan.
fn job(subject: &str, body: &str) -> String {
    format!("0 mia json {subject} care-plan {{{body},\"tolerance_days\":1}}")
}

/// Jobs due on a day: place, bulbs, days over.
fn due_on(world: &World, today: i64) -> Vec<(Option<Id>, Vec<Id>, i64)> {
    let places = planned(&world.state(), on(today)).into_iter();
    let jobs = places.flat_map(|at| {
        let place = at.place;
        at.jobs.into_iter().map(move |job| (place, job.bulbs, job.over_days))
    });
    jobs.collect()
}

#[test]
fn a_job_of_the_nursery_is_due_in_every_place_and_for_bulbs_in_none() {
    let water = job(
        "l_1",
        r#""doing":"act","act":"watered","from":"date","date":"2027-01-11","every_days":7,"during":"always""#,
    );
    let mut world = nursery().and(&water);
    assert!(due_on(&world, 9).is_empty());
    let bed = Some(id("pl_1"));
    assert_eq!(due_on(&world, 10), [(bed, vec![id("b_1"), id("b_2")], 0), (None, vec![id("b_3")], 0)]);
    // Another person did it on another phone, for one of them.
    world.add("10 jo watered b_1");
    assert_eq!(due_on(&world, 12), [(bed, vec![id("b_2")], 1), (None, vec![id("b_3")], 1)]);
    assert_eq!(due_on(&world, 17)[0], (bed, vec![id("b_1"), id("b_2")], 6));
    world.add("11 jo watered b_2,b_3\n12 mia died b_3");
    assert!(due_on(&world, 16).is_empty());
    assert_eq!(due_on(&world, 18), [(bed, vec![id("b_1"), id("b_2")], 0)]);
}

#[test]
fn a_treatment_has_jobs_of_its_own() {
    let end = job("gr_a", r#""doing":"act","act":"rest-ended","from":"run start","after_days":30,"during":"always""#);
    let mut world = nursery().and(&end);
    world.add("1 mia laid-to-rest b_1,b_2");
    assert!(due_on(&world, 29).is_empty());
    assert_eq!(due_on(&world, 30), [(Some(id("pl_1")), vec![id("b_1")], 0)]);
    // Ended earlier than planned counts, and a closed run asks for nothing.
    assert!(due_on(&world.clone().and("20 mia rest-ended b_1"), 31).is_empty());
    assert!(due_on(&world.and("25 mia run-closed ru_1"), 31).is_empty());
}

#[test]
fn a_job_waits_for_a_stage() {
    let stake = job(
        "pl_1",
        r#""doing":"act","act":"staked","from":"stage","stage":"scape stretching","after_days":2,"during":"always""#,
    );
    let mut world = nursery().and(&stake);
    world.add("3 mia look b_1 sh_1/scape/scape-in-sight\n3 mia look b_2 sh_2/unknown/scape-stretching");
    assert!(due_on(&world, 20).is_empty());
    world.add("8 mia look b_1 sh_1/scape/spathe-split");
    assert!(due_on(&world, 9).is_empty());
    assert_eq!(due_on(&world, 12), [(Some(id("pl_1")), vec![id("b_1")], 1)]);
    assert!(due_on(&world.and("4 jo staked b_1"), 12).is_empty());
}

#[test]
fn a_job_is_told_only_in_its_part_of_the_cycle() {
    let inspect = job(
        "pl_1",
        r#""doing":"inspection","from":"act","after":"laid-to-rest","after_days":14,"every_days":14,"during":"rest""#,
    );
    let mut world = nursery().and(&inspect).and("0 mia laid-to-rest b_1,b_2");
    assert_eq!(due_on(&world, 14)[0].1.len(), 2);
    world.add(
        r#"14 jo json b_1 inspection {"findings":["firm"]}
                 15 jo rest-ended b_2"#,
    );
    assert!(due_on(&world, 27).is_empty());
    assert_eq!(due_on(&world, 28), [(Some(id("pl_1")), vec![id("b_1")], 0)]);
    // What was counted from in the cycle before is over with it.
    world.add("30 mia cycle-ended b_1");
    assert!(due_on(&world, 60).is_empty());
}

#[test]
fn a_job_counted_from_the_end_of_the_rest_takes_whatever_ended_it() {
    let look = job("l_1", r#""doing":"look","from":"rest end","after_days":7,"every_days":7,"during":"growth""#);
    let mut world = nursery().and(&look).and("0 mia laid-to-rest b_1,b_2");
    assert!(due_on(&world, 90).is_empty());
    world.add("50 mia potted b_1\n52 mia rest-ended b_2");
    assert_eq!(due_on(&world, 57), [(Some(id("pl_1")), vec![id("b_1")], 0)]);
    world.add("57 mia look b_1 clear");
    assert!(due_on(&world, 58).is_empty());
    assert_eq!(due_on(&world, 59), [(Some(id("pl_1")), vec![id("b_2")], 0)]);
}

#[test]
fn a_job_in_the_growers_words_is_done_when_it_is_ticked() {
    let turn = job(
        "pl_1",
        r#""doing":"own","words":"turn","from":"date","date":"2027-01-04","every_days":3,"during":"always""#,
    );
    let mut world = nursery().and(&turn);
    assert_eq!(due_on(&world, 4), [(Some(id("pl_1")), vec![id("b_1"), id("b_2")], 0)]);
    world.add("4 jo job-done b_1,b_2 job=pl_1/\n4 jo job-done b_1,b_2 job=pl_1/other");
    assert!(due_on(&world, 6).is_empty());
    assert_eq!(due_on(&world, 7)[0].1.len(), 2);
    // Skipped, it comes again three days later; postponed, on the day said.
    world.add("7 jo skipped b_1 job=pl_1/ cause=rain\n7 jo postponed b_2 job=pl_1/ until=9");
    assert!(due_on(&world, 8).is_empty());
    assert_eq!(due_on(&world, 9)[0].1, [id("b_2")]);
    assert_eq!(due_on(&world, 10)[0].1, [id("b_1"), id("b_2")]);
}

#[test]
fn a_job_is_not_late_for_the_time_before_it_was_in_the_plan() {
    let water =
        job("l_1", r#""doing":"act","act":"watered","from":"act","after":"potted","every_days":7,"during":"always""#);
    let water = water.replacen("0 mia", "40 mia", 1);
    let mut world = nursery().and("1 mia potted b_1").and(&format!("set: {water}"));
    assert_eq!(due_on(&world, 41), [(Some(id("pl_1")), vec![id("b_1")], 0)]);
    assert_eq!(due_on(&world, 44)[0].2, 3);
    // Changed since, it is as old as it was; given up and taken again, it begins anew.
    let changed = water.replacen("40 mia", "43 mia ~set", 1);
    let mut changed = world.clone().and(&changed);
    assert_eq!(due_on(&changed, 44)[0].2, 3);
    world.add(&format!("off: {}", water.replacen("40 mia", "50 mia ~set", 1).replace('}', ",\"given_up\":true}")));
    world.add(&water.replacen("40 mia", "60 mia ~off", 1));
    assert_eq!(due_on(&world, 61)[0].2, 0);
    // What was done counts from when it was done.
    changed.add("42 jo watered b_1");
    assert!(due_on(&changed, 48).is_empty());
}

#[test]
fn an_act_of_last_year_is_not_the_one_that_is_asked_for() {
    let cut = job("pl_1", r#""doing":"act","act":"cut-back","from":"date","date":"2027-02-10","during":"always""#);
    let world = nursery().and(&cut).and("3 mia cut-back b_1\n39 mia cut-back b_2");
    assert_eq!(due_on(&world, 41), [(Some(id("pl_1")), vec![id("b_1")], 0)]);
}

#[test]
fn a_job_given_up_or_taken_back_is_none() {
    let set = r#""doing":"act","act":"watered","from":"date","date":"2027-01-03","during":"always""#;
    let world = nursery().and(&format!("set: {}", job("pl_1", set)));
    assert_eq!(due_on(&world, 5).len(), 1);
    let given_up = job("pl_1", &format!("{set},\"given_up\":true"));
    let given_up = given_up.replacen("mia", "mia ~set", 1);
    assert!(due_on(&world.clone().and(&given_up), 5).is_empty());
    assert!(due_on(&world.and("1 mia take-back pl_1 ~set"), 5).is_empty());
}

#[test]
fn days_are_the_civil_ones_as_written() {
    // Across the change to summer time in Europe (2027-03-28) and in North America (2027-03-14), a day is a day:
    // watered at ten to midnight east of Greenwich counts for that day, whatever day it was in Greenwich.
    let water = job(
        "pl_1",
        r#""doing":"act","act":"watered","from":"date","date":"2027-03-13","every_days":1,"during":"always""#,
    );
    let mut world = nursery().and(&water);
    for written in
        ["2027-03-13T23:50-08:00", "2027-03-14T00:10-07:00", "2027-03-27T23:50+01:00", "2027-03-28T00:10+02:00"]
    {
        let draft = crate::ledger::entry::Draft::new(
            vec![id("b_1"), id("b_2")],
            written.parse().unwrap(),
            crate::ledger::body::Body::Act(ActKind::Watered, crate::ledger::body::Act::default()),
        );
        world.save("jo", vec![draft]);
        let first = (60..100).find(|today| !due_on(&world, *today).is_empty());
        let expected: Date = written[..10].parse().unwrap();
        assert_eq!(first.map(on), expected.add_days(1).ok(), "{written}");
    }
}

#[test]
fn days_to_come_are_told_by_job_place_and_day() {
    let pot = job("l_1", r#""doing":"act","act":"potted","from":"rest end","during":"always""#);
    let world = nursery().and(&pot).and("0 mia laid-to-rest b_1,b_2\n50 mia rest-ended b_1\n52 mia rest-ended b_2");
    let days: Vec<(Date, Vec<Id>)> = coming(&world.state()).into_iter().map(|c| (c.day, c.bulbs)).collect();
    assert_eq!(days, [(on(50), vec![id("b_1")]), (on(52), vec![id("b_2")])]);
}

fn read(body: &str) -> CareJob {
    json::read(&format!("{{{body}}}")).unwrap()
}

#[test]
fn jobs_that_contradict_themselves_are_refused() {
    let refused = |body: &str| check(&read(body)).unwrap_err();
    let often =
        r#""doing":"look","from":"date","date":"2027-01-01","every_days":3,"tolerance_days":5,"during":"always""#;
    let too_loose = JobRefusal::TooLoose { every_days: 3, tolerance_days: 5 };
    assert_eq!(refused(often), Error::new(too_loose).at(Field::Tolerance));
    let itself = r#""doing":"act","act":"potted","from":"act","after":"potted","after_days":3,"during":"always""#;
    assert_eq!(refused(itself), Error::new(JobRefusal::WaitsForItself).at(Field::From));
    let wet = r#""doing":"act","act":"watered","from":"act","after":"laid-to-rest","every_days":7,"during":"rest""#;
    assert_eq!(refused(wet), Error::new(JobRefusal::EndsRestInRest).at(Field::During));
    let never = r#""doing":"inspection","from":"rest end","during":"rest""#;
    assert_eq!(refused(never), Error::new(JobRefusal::Never).at(Field::During));
    let nameless = r#""doing":"own","from":"date","date":"2027-01-01","during":"always""#;
    assert_eq!(refused(nameless), Error::new(Missing::JobWords).at(Field::Words));
    let death = r#""doing":"act","act":"died","from":"date","date":"2027-01-01","during":"always""#;
    assert_eq!(refused(death), Error::new(JobRefusal::NotPlanned).at(Field::Act));
    let no_stage = r#""doing":"look","from":"stage","during":"always""#;
    assert_eq!(refused(no_stage), Error::new(Missing::Stage).at(Field::From));
    let no_day = r#""doing":"look","from":"date","during":"always""#;
    assert_eq!(refused(no_day), Error::new(Missing::Day).at(Field::Date));
}

#[test]
fn jobs_that_contradict_each_other_are_told() {
    let clashes = |lines: &[String]| -> Vec<Clash> {
        let world = nursery().and(&lines.join("\n"));
        contradictions(&world.state()).iter().map(|found| found.clash).collect()
    };
    let water = job(
        "l_1",
        r#""doing":"act","act":"watered","from":"date","date":"2027-01-11","every_days":7,"during":"always""#,
    );
    let stop = job("gr_a", r#""doing":"act","act":"water-stopped","from":"run start","during":"always""#);
    assert_eq!(clashes(&[water.clone(), stop.clone()]), [Clash::WaterInRest]);
    assert!(clashes(&[water.replace("\"during\":\"always\"", "\"during\":\"growth\""), stop]).is_empty());
    let more = water.replace("l_1", "pl_1").replace(":7,", ":3,");
    assert_eq!(clashes(&[water.clone(), more]), [Clash::TwoRhythms]);
    assert!(clashes(&[water.clone(), water.replace("l_1", "pl_1")]).is_empty());
    let pot = job("pl_1", r#""doing":"act","act":"potted","from":"act","after":"moved","during":"always""#);
    let lay = job("ru_1", r#""doing":"act","act":"moved","from":"act","after":"potted","during":"always""#);
    assert_eq!(clashes(&[pot, lay]), [Clash::Circle]);
    let end = job(
        "gr_a",
        r#""doing":"act","act":"rest-ended","from":"act","after":"laid-to-rest","after_days":60,"during":"always""#,
    );
    assert_eq!(clashes(std::slice::from_ref(&end)), [Clash::RestOfTreatment { days: 56 }]);
    assert!(clashes(&[end.replace(":60,", ":56,")]).is_empty());
}

#[test]
fn one_more_entry_folds_to_the_same_plans() {
    let water = job("l_1", r#""doing":"look","from":"date","date":"2027-01-11","during":"always""#);
    let world = nursery().and(&water).and(&water.replace("l_1", "pl_1"));
    let whole = world.state();
    let mut again = whole.clone();
    again.refold(&world.ledger, &[id("l_1")].into_iter().collect());
    assert_eq!(again, whole);
    assert_eq!(whole.care.len(), 2);
    // Two phones that set the same job apart from each other disagree, and it is told all the same.
    let both = world.and(&water.replace("2027-01-11", "2027-01-12"));
    assert_eq!(both.state().disagreements.len(), 1);
    assert!(both.state().care[0].job.is_disagreed());
    assert!(!due_on(&both, 20).is_empty());
}
