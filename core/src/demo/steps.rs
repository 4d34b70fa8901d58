//! A script's steps, each with its day.

use super::script::{Life, Script};

/// One thing to be told; those of one day in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Lot(usize),
    Begin(usize),
    Job(usize, usize),
    Sweep(usize),
    Watch(usize, usize, usize),
    Look(usize),
    Call(usize, usize, usize),
    Fit(usize, usize, usize),
    Photo(usize, usize, usize),
    Gone(usize, usize, usize),
    Reading(usize),
    Care(usize),
    Disagree,
    Close(usize),
    Said(usize, usize),
}

/// All steps with their days, counted from today.
pub(super) fn steps(script: &Script) -> Vec<(i64, Step)> {
    let mut steps = vec![(script.disagreement.day, Step::Disagree)];
    let lots = script.lots.iter().enumerate();
    steps.extend(lots.map(|(at, lot)| (lot.day, Step::Lot(at))));
    let care = script.care.iter().enumerate();
    steps.extend(care.map(|(at, job)| (job.day, Step::Care(at))));
    for (at, reading) in script.readings.iter().enumerate() {
        for day in repeated(reading.day, reading.every, Some(-1)) {
            steps.push((day, Step::Reading(at)));
        }
    }
    for (t, told) in script.tries.iter().enumerate() {
        let mut add = |day: i64, step: Step| steps.push((told.start + day, step));
        add(0, Step::Begin(t));
        told.sweeps.iter().for_each(|day| add(*day, Step::Sweep(t)));
        told.looks.iter().for_each(|day| add(*day, Step::Look(t)));
        for (j, job) in told.jobs.iter().enumerate() {
            for day in repeated(job.day, job.every, job.until) {
                add(day, Step::Job(t, j));
            }
        }
        for (n, said) in told.said.iter().enumerate() {
            add(said.day, Step::Said(t, n));
        }
        if let Some(day) = told.closed {
            add(day, Step::Close(t));
        }
        for (g, lives) in told.lives.iter().enumerate() {
            for (l, life) in lives.iter().enumerate() {
                life_steps(life, (t, g, l), &mut add);
            }
        }
    }
    steps
}

fn life_steps(life: &Life, (t, g, l): (usize, usize, usize), add: &mut impl FnMut(i64, Step)) {
    if let Some((day, _)) = &life.watch {
        add(*day, Step::Watch(t, g, l));
    }
    if let Some(call) = &life.call {
        add(call.day, Step::Call(t, g, l));
    }
    if let Some(day) = life.fit {
        add(day, Step::Fit(t, g, l));
    }
    life.photos.iter().for_each(|day| add(*day, Step::Photo(t, g, l)));
    let died = life.died.as_ref().map(|(day, _)| *day);
    for day in [life.sold, life.missing, died].into_iter().flatten() {
        add(day, Step::Gone(t, g, l));
    }
}

/// The days of something that is done every so many days up to a day.
fn repeated(day: i64, every: Option<i64>, until: Option<i64>) -> Vec<i64> {
    match (every, until) {
        (Some(every), Some(until)) if every > 0 => (day..=until).step_by(every as usize).collect(),
        _ => vec![day],
    }
}
