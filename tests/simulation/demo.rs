//! The demo on four hundred days.

use std::collections::BTreeSet;

use bloomdue_core::{
    calendar::Date,
    care::{Job, JobAt, due},
    demo::{SCRIPT, generate},
    nursery::State,
    trial::outcome::{Outcome, judge},
};

fn date(text: &str) -> Date {
    text.parse().unwrap()
}

/// Outcomes of every bulb of every run.
fn outcomes(state: &State, today: Date) -> Vec<Outcome> {
    let mut all = Vec::new();
    for run in state.runs.values() {
        let (rule, window) = (run.rule.settled().unwrap(), run.window.settled().unwrap());
        let start = run.start().unwrap();
        let judged = run.units().iter().map(|unit| judge(&state.bulbs[unit], start, rule, window, today));
        all.extend(judged.map(|judged| judged.outcome));
    }
    all
}

fn word(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Died(_) => "died".to_owned(),
        other => format!("{other:?}"),
    }
}

const EVERY: [&str; 11] = [
    "InTime",
    "TooEarly",
    "Late",
    "NotReached",
    "Waiting",
    "CantSay(NotLookedAt)",
    "CantSay(Straddles)",
    "CantSay(Unproved)",
    "died",
    "Missing",
    "Left(Sold)",
];

fn check(today: Date) {
    let demo = generate(SCRIPT, today).unwrap();
    let ledger = demo.to_ledger();
    assert_eq!(ledger.len(), demo.entries.len(), "{today}");
    assert!(ledger.problems().is_empty(), "{today}");
    let state = State::fold(&ledger);
    assert_eq!(state.disagreements.len(), 1, "{today}");
    let said: BTreeSet<String> = outcomes(&state, today).iter().map(word).collect();
    let every: BTreeSet<String> = EVERY.iter().map(|word| (*word).to_owned()).collect();
    assert_eq!(said, every, "{today}");
    // Every record is of an earlier day than the one it is opened on.
    let days = demo.entries.iter().map(|e| e.envelope.happened.date());
    assert!(days.max().unwrap() < today, "{today}");
    alive(&state, today);
}

/// What has to be due on any day: one bulb not looked at in time, a shoot to see again, a rest that ends, a deadline
/// within a week, a deadline past with bulbs undecided, the disagreement. Nothing else is said to be overdue.
fn alive(state: &State, today: Date) {
    let due = due(state, today);
    assert_eq!(due.n_disagreements, 1, "{today}");
    let places = due.places.iter().flat_map(|place| &place.jobs);
    let jobs: Vec<&JobAt> = due.general.iter().chain(places).collect();
    let of =
        |wanted: fn(&Job) -> bool| -> Vec<&JobAt> { jobs.iter().copied().filter(|job| wanted(&job.job)).collect() };
    let walks = of(|job| matches!(job, Job::Walk { .. }));
    let n_overdue: usize = walks.iter().map(|job| job.bulbs.len()).sum();
    assert_eq!(n_overdue, 1, "{today}: {walks:?}");
    assert!(!of(|job| *job == Job::SeeAgain).is_empty(), "{today}");
    let rests = of(|job| matches!(job, Job::RestEnds { .. }));
    let n_rests: usize = rests.iter().map(|job| job.bulbs.len()).sum();
    assert_eq!(n_rests, 6, "{today}: {rests:?}");
    // One near, one past and not yet closed.
    let deadlines = of(|job| matches!(job, Job::Deadline { .. }));
    let over: Vec<i64> = deadlines.iter().map(|job| job.over_days).collect();
    assert_eq!(over, [4, -5], "{today}");
    assert!(!of(|job| matches!(job, Job::DeadlineLook { .. })).is_empty(), "{today}");
    let watched = state.bulbs.values().filter(|bulb| bulb.is_here() && bulb.watch.is_some());
    assert_eq!(watched.count(), 1, "{today}");
}

#[test]
fn on_any_day_everything_is_alive_and_every_outcome_occurs() {
    // Steps of 13 days over fourteen years, then ends of years and leap days by name.
    let first = date("2026-11-25");
    let mut days: Vec<Date> = (0..388).map(|n| first.add_days(13 * n).unwrap()).collect();
    days.extend(
        [
            "2027-12-31",
            "2028-01-01",
            "2028-02-28",
            "2028-02-29",
            "2028-03-01",
            "2029-02-28",
            "2029-03-01",
            "2032-02-29",
            "2099-12-31",
            "2100-01-01",
            "2100-02-28",
            "2100-03-01",
        ]
        .map(date),
    );
    assert_eq!(days.len(), 400);
    std::thread::scope(|scope| {
        for part in days.chunks(100) {
            scope.spawn(move || part.iter().for_each(|day| check(*day)));
        }
    });
}
