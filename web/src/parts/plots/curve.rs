//! How the share that has reached the stage rises, group by group under one another. Where in a stretch it rises is not
//! known: the stretch is shaded, no step is drawn. The part still open has no right end.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::turnbull::{Rise, rises};
use bloomdue_core::ledger::body::DueWindow;
use bloomdue_core::trial::result::times::Times;
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::{WIDTH, u};
use bloomdue_words::results as say;
use leptos::prelude::*;

use super::{
    days::{due_behind, foot},
    table::TableBehind,
};

const HEIGHT: f64 = 74.0;
const TOP: f64 = 6.0;
const FOOT: f64 = 70.0;

/// The picture with its table; `names` are the groups' in their order.
#[component]
pub(crate) fn CurvePlot(times: Times, names: Vec<String>, window: Option<DueWindow>, today: Date) -> impl IntoView {
    let axis = DayAxis::new(&times, window.as_ref(), today, Some(WIDTH - 34.0));
    let table = say::curve_table(&times, &names, today);
    let panels: Vec<_> = times
        .groups
        .iter()
        .zip(&names)
        .map(|(group, name)| {
            let drawn = match &group.stretches {
                Ok(stretches) => panel(&axis, &rises(stretches)).into_any(),
                Err(why) => view! { <p class="small">{say::cannot(*why)}</p> }.into_any(),
            };
            view! {
                <p class="of-plot">{name.clone()}</p>
                {drawn}
                <p class="small">{say::half_by(group, times.start, today)}</p>
            }
        })
        .collect();
    view! {
        <div class="plots">
            {panels}
            {foot(&axis)}
        </div>
        <TableBehind table=table />
    }
}

fn y(share: f64) -> f64 {
    FOOT - share.clamp(0.0, 1.0) * (FOOT - TOP)
}

fn panel(axis: &DayAxis, rises: &[Rise]) -> impl IntoView + use<> {
    let (left, right) = axis.ends();
    let mut level = String::new();
    let mut shaded = Vec::new();
    let (mut x, mut share) = (left, 0.0);
    for rise in rises {
        let from = axis.x(rise.from_day);
        level.push_str(&format!("M{} {}H{}", u(x), u(y(share)), u(from)));
        let (low, high) = (u(y(rise.before)), u(y(rise.after)));
        match rise.to_day {
            Some(to) => {
                // Days that are known are an upright line.
                let to = axis.x(to);
                let d = format!("M{} {low}V{high}H{}V{low}z", u(from), u(to));
                shaded.push(view! { <path class="ln undecided-days" d=d /> });
                x = to;
            }
            None => {
                let d = format!("M{1} {low}H{0}V{high}H{1}", u(from), u(right));
                shaded.push(view! { <path class="ln undecided-days open-days" d=d /> });
                x = right;
            }
        }
        share = rise.after;
    }
    if x < right {
        level.push_str(&format!("M{} {}H{}", u(x), u(y(share)), u(right)));
    }
    let grid = [0.0, 0.5, 1.0].map(|share| format!("M{} {}H{}", u(left), u(y(share)), u(right))).concat();
    let beside = right + 4.0;
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">
            {due_behind(axis, FOOT)}
            <path class="ln tick" d=grid />
            {shaded}
            <path class="ln thick" d=level />
            <text x=u(beside) y=u(y(1.0) + 6.0)>{say::all()}</text>
            <text x=u(beside) y=u(y(0.5) + 4.0)>{say::half()}</text>
            <text x=u(beside) y=u(y(0.0) + 1.0)>"0"</text>
        </svg>
    }
}
