//! A strip a bulb on the calendar: each stage still to come as a line that holds 8 of 10 cases, with a mark where half
//! have come; the due days shaded behind. Stages are told apart by their mark and by their height in the strip.

use bloomdue_core::forecast::{BulbOutlook, Coming, StageComing};
use leptos::prelude::*;

use super::{WIDTH, days::DayAxis, mark, u};
use crate::words::coming as say;

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
    let marks: Vec<_> = shown.map(|one| line(axis, one)).collect();
    let box_of = format!("0 0 {WIDTH} {HEIGHT}");
    view! {
        <svg class="plot strip" viewBox=box_of aria-hidden="true">
            {axis.due_behind(HEIGHT)}
            {marks}
        </svg>
    }
    .into_any()
}

fn line(axis: &DayAxis, one: &StageComing) -> AnyView {
    let y = 4.0 + 5.0 * f64::from(one.stage as u8);
    let (begin, end) = axis.ends();
    let (from, to) = (axis.at(one.dates.p10), axis.at(one.dates.p90));
    let middle = axis.at(one.dates.p50);
    // What lies beyond the axis stands at its end: no mark is drawn there, and the line runs out.
    if from >= end || to <= begin {
        return ().into_any();
    }
    let d = format!("M{} {}H{}", u(from), u(y), u(to.max(from + 1.0)));
    let mark = (begin < middle && middle < end).then(|| mark(nth(one.stage), middle, y, 3.0));
    view! {
        <path class="ln" d=d />
        {mark}
    }
    .into_any()
}

/// What the marks mean.
pub(crate) fn key() -> AnyView {
    let sign = |stage| {
        view! {
            <li>
                <svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">
                    <path class="ln" d="M4 8H28" />
                    {mark(nth(stage), 14.0, 8.0, 3.0)}
                </svg>
                {say::stage(stage)}
            </li>
        }
    };
    view! { <ul class="key">{STAGES.map(sign)}</ul> }.into_any()
}
