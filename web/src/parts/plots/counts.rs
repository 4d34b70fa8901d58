//! How many there will be on each day: the middle as a line, eight of ten cases as a band, the due days shaded.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::Counted;
use bloomdue_core::ledger::body::DueWindow;
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::{WIDTH, u};
use leptos::prelude::*;

use super::days::{due_behind, foot};

const HEIGHT: f64 = 110.0;
const TOP: f64 = 12.0;
const FOOT: f64 = 106.0;

/// The picture; a table with its numbers stands below it.
#[component]
pub(crate) fn CountPlot(counted: Vec<(Date, Counted)>, due: DueWindow, today: Date) -> impl IntoView {
    let (Some(first), Some(last)) = (counted.first(), counted.last()) else {
        return ().into_any();
    };
    let axis = DayAxis::between(first.0, last.0, &due, today, WIDTH - 34.0);
    let most = counted.iter().map(|(_, n)| n.p90).max().unwrap_or(0).max(1);
    let y = |n: u32| FOOT - f64::from(n) / f64::from(most) * (FOOT - TOP);
    let point = |(day, n): (Date, u32)| format!("{} {}", u(axis.at(day)), u(y(n)));
    let path = |points: Vec<String>| format!("M{}", points.join("L"));
    let line = path(counted.iter().map(|(day, n)| point((*day, n.p50))).collect());
    let upper = counted.iter().map(|(day, n)| point((*day, n.p90)));
    let lower = counted.iter().rev().map(|(day, n)| point((*day, n.p10)));
    let band = path(upper.chain(lower).collect()) + "z";
    let (left, right) = axis.ends();
    view! {
        <div class="plots">
            <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">
                {due_behind(&axis, HEIGHT)}
                <path class="ln tick" d=format!("M{} {}H{}M{} {TOP}H{}", u(left), u(FOOT), u(right), u(left), u(right)) />
                <path class="ln undecided-days" d=band />
                <path class="ln thick" d=line />
                <text x=u(right + 4.0) y=u(TOP + 4.0)>{most.to_string()}</text>
                <text x=u(right + 4.0) y=u(FOOT)>"0"</text>
            </svg>
            {foot(&axis)}
        </div>
    }
    .into_any()
}
