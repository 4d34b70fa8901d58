//! Every bulb on the time axis: from the last look without the stage to the first one with it. What is still open, died,
//! left, is missing or not proved has marks of its own.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{DueWindow, LeftHow};
use bloomdue_core::trial::result::times::{Alike, Bar, End, Times};
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::{WIDTH, u};
use bloomdue_words::results as say;
use leptos::prelude::*;

use super::{
    days::{due_behind, foot},
    stretch,
    table::TableBehind,
};

/// A group with more bulbs than this draws those with the same stretch as one line, with their count.
const MOST_LINES: usize = 24;
const LINE: f64 = 9.0;
const COUNTED_LINE: f64 = 14.0;

/// The picture with its key and its table; `names` are the groups' in their order.
#[component]
pub(crate) fn BarsPlot(times: Times, names: Vec<String>, window: Option<DueWindow>, today: Date) -> impl IntoView {
    let counted = times.groups.iter().any(|group| group.bars.len() > MOST_LINES);
    let axis = DayAxis::new(&times, window.as_ref(), today, counted.then_some(WIDTH - 34.0));
    let table = say::bars_table(&times, &names, today);
    let ends: Vec<End> = times.groups.iter().flat_map(|group| group.bars.iter().map(|bar| bar.end)).collect();
    let panels: Vec<_> = times
        .groups
        .iter()
        .zip(&names)
        .enumerate()
        .map(|(nth, (group, name))| {
            let lines: Vec<Alike> = if counted { group.alike() } else { group.bars.iter().map(one).collect() };
            let words = say::name_and_bulbs(name, group.bars.len());
            view! {
                <p class="of-plot">{words}</p>
                {panel(&axis, nth, &lines, counted)}
            }
        })
        .collect();
    view! {
        <div class="plots">
            {panels}
            {foot(&axis)}
        </div>
        {key(&ends)}
        <TableBehind table=table />
    }
}

fn one(bar: &Bar) -> Alike {
    Alike { without: bar.without, with: bar.with, end: bar.end, n: 1 }
}

fn panel(axis: &DayAxis, nth: usize, lines: &[Alike], counted: bool) -> impl IntoView + use<> {
    let each = if counted { COUNTED_LINE } else { LINE };
    let height = each * lines.len() as f64 + 6.0;
    let (left, right) = axis.ends();
    let mut without = String::new();
    let mut marks = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let y = 3.0 + each * (at as f64 + 0.5);
        let from = axis.at(line.without);
        without.push_str(&format!("M{} {}H{}", u(left), u(y), u(from)));
        marks.push(match line.with {
            Some(with) => stretch(nth, from, axis.at(with), y).into_any(),
            None => end_mark(line.end, from, right, y),
        });
        if counted {
            marks
                .push(view! { <text x=u(WIDTH) y=u(y + 4.0) text-anchor="end">{say::times(line.n)}</text> }.into_any());
        }
    }
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {height}") aria-hidden="true">
            {due_behind(axis, height)}
            <path class="ln tick" d=without />
            {marks}
        </svg>
    }
}

/// What ended the waiting without the stage, or has not yet.
fn end_mark(end: End, x: f64, right: f64, y: f64) -> AnyView {
    let path = |class: &'static str, d: String| view! { <path class=class d=d /> }.into_any();
    match end {
        End::Reached => ().into_any(),
        End::Open => {
            let tip = u(right.max(x));
            let (up, down) = (u(y - 3.0), u(y + 3.0));
            let back = u(right.max(x) - 4.0);
            let line = format!("M{} {}H{tip}", u(x), u(y));
            view! {
                <path class="ln dotted" d=line />
                <path class="ln" d=format!("M{back} {up}L{tip} {}L{back} {down}", u(y)) />
            }
            .into_any()
        }
        End::Unproved => view! {
            <path class="ln dotted" d=format!("M{} {}H{}", u(x), u(y), u(right.max(x))) />
            <text class="of-mark" x=u(x + 2.0) y=u(y + 4.0)>"?"</text>
        }
        .into_any(),
        End::Died => path("ln", format!("M{} {}l6 6m0 -6l-6 6", u(x - 3.0), u(y - 3.0))),
        End::Missing => path("ln fl", format!("M{} {}l4 4l-4 4l-4 -4z", u(x), u(y - 4.0))),
        // An arrow out of the row.
        End::Left(_) => path("ln", format!("M{} {}v-7m-3 3l3 -3l3 3", u(x), u(y + 3.5))),
    }
}

/// What the marks mean; only of those that are in the picture.
fn key(ends: &[End]) -> impl IntoView + use<> {
    let left = |end: &End| matches!(end, End::Left(_));
    let all: [(bool, End, &'static str); 6] = [
        (ends.contains(&End::Reached), End::Reached, say::key_reached()),
        (ends.contains(&End::Open), End::Open, say::key_open()),
        (ends.contains(&End::Unproved), End::Unproved, say::key_unproved()),
        (ends.contains(&End::Died), End::Died, say::key_died()),
        (ends.contains(&End::Missing), End::Missing, say::key_missing()),
        (ends.iter().any(left), End::Left(LeftHow::Sold), say::key_left()),
    ];
    let shown: Vec<_> = all
        .into_iter()
        .filter(|(there, ..)| *there)
        .map(|(_, end, words)| {
            let sign = match end {
                End::Reached => stretch(0, 8.0, 24.0, 8.0).into_any(),
                End::Open | End::Unproved => end_mark(end, 6.0, 26.0, 8.0),
                _ => end_mark(end, 16.0, 26.0, 8.0),
            };
            view! {
                <li>
                    <svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">{sign}</svg>
                    {words}
                </li>
            }
        })
        .collect();
    view! { <ul class="key">{shown}</ul> }
}
