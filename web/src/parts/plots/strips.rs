//! A strip a bulb, or a batch of a plan, on the calendar: each stage still to come as a line that holds 8 of 10 cases,
//! with a mark where half have come; the due days shaded behind. Stages are told apart by their mark and by their height in the strip.

use bloomdue_core::forecast::{BulbOutlook, Coming, Dates};
use bloomdue_core::plan::LotDates;
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::{WIDTH, u};
use bloomdue_words::{coming as say, plan};
use leptos::prelude::*;

use super::{days::due_behind, mark};

const HEIGHT: f64 = 18.0;
const STAGES: [Coming; 3] = [Coming::ScapeInSight, Coming::FitToSell, Coming::FirstFlower];

/// The mark of a stage, by its place among the marks of groups: hollow round, hollow square, full round.
fn nth(stage: Coming) -> usize {
    match stage {
        Coming::ScapeInSight => 1,
        Coming::FitToSell => 3,
        Coming::FirstFlower | Coming::Over => 0,
    }
}

/// One bulb's strip.
pub(crate) fn strip(axis: &DayAxis, bulb: &BulbOutlook) -> AnyView {
    let shown = bulb.coming.iter().filter(|one| one.stage != Coming::Over);
    let marks: Vec<_> = shown.map(|one| line(axis, one.stage, &one.dates, 4.0)).collect();
    let box_of = format!("0 0 {WIDTH} {HEIGHT}");
    view! {
        <svg class="plot strip" viewBox=box_of aria-hidden="true">
            {due_behind(axis, HEIGHT)}
            {marks}
        </svg>
    }
    .into_any()
}

/// A stage's line; the first of them is so far down.
fn line(axis: &DayAxis, stage: Coming, dates: &Dates, top: f64) -> AnyView {
    let y = top + 5.0 * f64::from(stage as u8);
    let (begin, end) = axis.ends();
    let (from, to) = (axis.at(dates.p10), axis.at(dates.p90));
    let middle = axis.at(dates.p50);
    // What lies beyond the axis stands at its end: no mark is drawn there, and the line runs out.
    if from >= end || to <= begin {
        return ().into_any();
    }
    let d = format!("M{} {}H{}", u(from), u(y), u(to.max(from + 1.0)));
    let mark = (begin < middle && middle < end).then(|| mark(nth(stage), middle, y, 3.0));
    view! {
        <path class="ln" d=d />
        {mark}
    }
    .into_any()
}

/// One batch of a plan: above what to do, the rest as a box with its inspections; below it what comes.
pub(crate) fn planned(axis: &DayAxis, lot: &LotDates) -> AnyView {
    const TALL: f64 = 32.0;
    const TO_DO: f64 = 8.0;
    let shown = lot.coming.iter().filter(|(stage, _)| *stage != Coming::Over);
    let coming: Vec<_> = shown.map(|(stage, dates)| line(axis, *stage, dates, 18.0)).collect();
    let x = |day| u(axis.at(day));
    let ripens = lot.stop_water.zip(lot.cut_back);
    let ripens = ripens.map(|(from, to)| format!("M{} {TO_DO}H{}", x(from), x(to)));
    let rest = lot.lay_to_rest.map(|from| {
        let checks = lot.inspect.iter();
        let checks: String = checks.map(|day| format!("M{} 5v6", x(*day))).collect();
        format!("M{} 5H{}v6H{0}z{checks}", x(from), x(lot.pot_up))
    });
    let marks = [(STOP_WATER, lot.stop_water), (POT_UP, Some(lot.pot_up)), (LOOK, Some(lot.first_look))];
    let marks = marks.map(|(nth, day)| day.map(|day| mark(nth, axis.at(day), TO_DO, 3.5)));
    view! {
        <svg class="plot strip" viewBox=format!("0 0 {WIDTH} {TALL}") aria-hidden="true">
            {due_behind(axis, TALL)}
            <path class="ln dashed" d=ripens />
            <path class="ln" d=rest />
            {marks}
            {coming}
        </svg>
    }
    .into_any()
}

const STOP_WATER: usize = 5;
const POT_UP: usize = 4;
const LOOK: usize = 2;

/// A sign and what it means.
fn sign(nth: usize, path: &'static str, words: &'static str) -> AnyView {
    view! {
        <li>
            <svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">
                <path class="ln" d=path />
                {mark(nth, 14.0, 8.0, 3.0)}
            </svg>
            {words}
        </li>
    }
    .into_any()
}

/// What the marks of stages mean.
pub(crate) fn key() -> AnyView {
    let sign = |stage| sign(nth(stage), "M4 8H28", say::stage(stage));
    view! { <ul class="key">{STAGES.map(sign)}</ul> }.into_any()
}

/// What the marks of work mean.
pub(crate) fn work_key() -> AnyView {
    view! {
        <ul class="key">
            {sign(STOP_WATER, "", plan::stop_water())}
            <li>
                <svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">
                    <path class="ln" d="M4 5H28v6H4zM12 5v6M20 5v6" />
                </svg>
                {plan::rest_and_inspect()}
            </li>
            {sign(POT_UP, "", plan::pot_up())}
            {sign(LOOK, "", plan::first_look())}
        </ul>
    }
    .into_any()
}
