use super::*;
use crate::{
    call::Calls,
    ledger::body::{Body, LeftHow},
    nursery::{State, state::Run},
    trial::outcome::{Outcome, Why, judge},
};
use std::collections::{BTreeMap, BTreeSet};

fn date(text: &str) -> Date {
    text.parse().unwrap()
}

/// Outcomes of every bulb of every run, by the trial's ready key and the run's ordinal.
fn outcomes(state: &State, today: Date) -> BTreeMap<(String, u32), Vec<Outcome>> {
    let mut all = BTreeMap::new();
    for run in state.runs.values() {
        let body = run.body.settled().unwrap();
        let question = state.trials[&body.trial].question.settled().unwrap();
        let outcomes = run.units().iter().map(|unit| outcome(state, run, *unit, today));
        all.insert((question.ready.clone(), body.ordinal), outcomes.collect());
    }
    all
}

fn outcome(state: &State, run: &Run, unit: Id, today: Date) -> Outcome {
    let (rule, window) = (run.rule.settled().unwrap(), run.window.settled().unwrap());
    let start = run.start().unwrap();
    judge(&state.bulbs[&unit], start, rule, window, today).outcome
}

fn hex(digest: [u8; 32]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn the_same_script_and_day_give_the_same_ledger_and_another_day_another() {
    let today = date("2027-11-25");
    let (one, two) = (generate(SCRIPT, today).unwrap(), generate(SCRIPT, today).unwrap());
    assert_eq!(one.to_ledger().digest(), two.to_ledger().digest());
    assert_eq!(one.photos, two.photos);
    let next = generate(SCRIPT, date("2027-11-26")).unwrap();
    assert_ne!(one.ledger, next.ledger);
}

#[test]
fn the_closed_try_is_decided_and_the_others_are_not() {
    let today = date("2028-03-01");
    let state = State::fold(&generate(SCRIPT, today).unwrap().to_ledger());
    let outcomes = outcomes(&state, today);
    assert_eq!(outcomes.len(), 4);
    for run in state.runs.values() {
        let body = run.body.settled().unwrap();
        let ready = &state.trials[&body.trial].question.settled().unwrap().ready;
        let of_run = &outcomes[&(ready.clone(), body.ordinal)];
        assert_eq!(run.closed.is_some(), !of_run.iter().any(Outcome::is_open), "{ready}");
    }
    let closed = &outcomes[&("rest".to_owned(), 1)];
    let n_in_time = closed.iter().filter(|outcome| **outcome == Outcome::InTime).count();
    assert_eq!((closed.len(), n_in_time), (16, 8));
    let feeding = &outcomes[&("feeding".to_owned(), 1)];
    for why in [Why::NotLookedAt, Why::Straddles, Why::Unproved] {
        assert!(feeding.contains(&Outcome::CantSay(why)), "{why:?}");
    }
    assert!(closed.contains(&Outcome::Left(LeftHow::Sold)));
}

#[test]
fn about_sixty_bulbs_two_phones_three_people_and_drawings_for_photos() {
    let demo = generate(SCRIPT, date("2027-06-15")).unwrap();
    let state = State::fold(&demo.to_ledger());
    assert_eq!((state.bulbs.len(), state.persons.len(), state.trials.len()), (64, 3, 2));
    let devices: BTreeSet<Id> = demo.entries.iter().map(|e| e.envelope.device).collect();
    assert_eq!(devices.len(), 2);
    let kept: BTreeSet<String> = demo.photos.iter().map(|p| p.hash().to_string()).collect();
    let mut named = BTreeSet::new();
    for entry in &demo.entries {
        if let Body::Photo(photo) = &entry.body {
            assert!(photo.drawn);
            named.insert(photo.hash.to_string());
        }
    }
    assert_eq!(named, kept);
    assert!(kept.len() >= 5, "{}", kept.len());
}

#[test]
fn past_calls_were_mostly_right_and_once_wrong() {
    let demo = generate(SCRIPT, date("2027-06-15")).unwrap();
    let ledger = demo.to_ledger();
    let past = Calls::of(&ledger, &State::fold(&ledger)).accuracy(None);
    assert_eq!((past.n_called, past.n_proved(), past.n_right(), past.n_wrong()), (11, 7, 6, 1));
}

/// Fixed by the script: it changes with the script, the drawings and the format, and never with the machine.
#[test]
fn a_day_long_ago_has_the_digest_that_other_devices_compute() {
    let demo = generate(SCRIPT, date("2020-02-29")).unwrap();
    assert_eq!(hex(demo.to_ledger().digest()), "7cc1cd3bb086d15cf7055d917f810f9e33697f13d4dd3db1bdca009438e4e510");
}

#[test]
fn a_script_that_is_none_and_a_day_at_the_end_of_the_calendar_are_refused() {
    assert!(generate("{}", date("2027-06-15")).is_err());
    assert!(generate(SCRIPT, date("1990-06-15")).is_err());
    assert!(generate(SCRIPT, date("2199-12-31")).is_err());
}

#[test]
fn due_has_jobs_of_the_care_plan_and_an_earlier_forecast_was_kept_and_is_scored() {
    let today = date("2027-06-15");
    let ledger = generate(SCRIPT, today).unwrap().to_ledger();
    let state = State::fold(&ledger);
    let planned = crate::care::plan::planned(&state, today);
    assert!(!planned.is_empty());
    assert!(crate::care::plan::contradictions(&state).is_empty());
    let scores = crate::forecast::score::scores(&ledger, &state, today);
    let [window] = &scores.windows[..] else {
        panic!("one window: {:?}", scores.windows);
    };
    assert_eq!((window.n_bulbs, window.p10, window.p90), (14, 6, 10));
    let chances = scores.chances.unwrap();
    assert!(chances.n >= 12 && chances.tenths.len() >= 4);
    assert!(chances.brier < crate::forecast::score::BRIER_OF_EVEN);
    assert!(scores.dates.n_within > 0);
}
