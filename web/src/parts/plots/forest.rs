//! Try beside try: the difference of two groups with its interval, all tries together, and the next one. Words left, the line
//! with its mark, bulbs right; under the axis, which side is whose.

use bloomdue_words::plot::percent;
use leptos::prelude::*;

use super::{axis, interval, mark};

/// What a row of the forest is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Row {
    /// One try.
    Try,
    /// All tries together.
    Pooled,
    /// What is expected of the next try.
    Next,
}

/// One row.
#[derive(Clone, Debug)]
pub(crate) struct ForestLine {
    /// What it is.
    pub(crate) row: Row,
    /// `first try`, `all tries`, `next try`.
    pub(crate) label: String,
    /// Difference of shares, −1 to 1.
    pub(crate) estimate: f64,
    /// Its interval; none where none can be said.
    pub(crate) interval: Option<(f64, f64)>,
    /// How many bulbs it rests on; none where that is not known.
    pub(crate) n_bulbs: Option<u32>,
}

/// Differences that the axis names.
const AXIS: [f64; 5] = [-1.0, -0.5, 0.0, 0.5, 1.0];

/// The picture; its numbers belong in a table beside it. `sides` says what lies to the left and to the right.
#[component]
pub(crate) fn ForestPlot(lines: Vec<ForestLine>, sides: (String, String)) -> impl IntoView {
    let rows: Vec<_> = lines.into_iter().map(row).collect();
    let words = AXIS.map(|value| {
        let anchor = match value {
            -1.0 => "start",
            1.0 => "end",
            _ => "middle",
        };
        (at(value), anchor, format!("{:.0}", 10.0 * value.abs()))
    });
    view! {
        <div class="plots forest">
            {rows}
            {axis(words.to_vec())}
            <div class="spread small" aria-hidden="true">
                <span>"◂\u{a0}" {sides.0}</span>
                <span>{sides.1} "\u{a0}▸"</span>
            </div>
        </div>
    }
}

/// Where a difference stands.
fn at(difference: f64) -> String {
    percent((difference + 1.0) / 2.0)
}

fn row(line: ForestLine) -> impl IntoView {
    let class = if line.row == Row::Next { "ln thick broken" } else { "ln thick" };
    let spread = line.interval.map(|(lower, upper)| interval(class, at(lower), at(upper)));
    let sign = match line.row {
        Row::Try => mark(2, 0.0, 0.0, 5.5),
        Row::Pooled => view! { <path class="ln dot-full" d="M0 -8l8 8l-8 8l-8 -8z" /> }.into_any(),
        Row::Next => mark(1, 0.0, 0.0, 6.0),
    };
    let grid = AXIS.map(|value| {
        let class = if value == 0.0 { "ln" } else { "grid" };
        view! { <line class=class x1=at(value) x2=at(value) y1="0" y2="40" /> }
    });
    view! {
        <div class="figrow">
            <b>{line.label}</b>
            <svg class="fill" height="40" aria-hidden="true">
                {grid}
                {spread}
                <svg class="at" x=at(line.estimate) y="20">{sign}</svg>
            </svg>
            <span class="num">{line.n_bulbs}</span>
        </div>
    }
}
