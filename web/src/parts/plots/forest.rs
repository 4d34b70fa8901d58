//! Try beside try: the difference of two groups with its interval, all tries together, and the next one.

use leptos::prelude::*;

use super::{Scale, WIDTH, mark, u};
use crate::words::results as say;

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
}

const LABELS: f64 = 74.0;
/// More rows than this are set closer.
const MANY: usize = 16;

/// The picture; its numbers belong in a table beside it.
#[component]
pub(crate) fn ForestPlot(lines: Vec<ForestLine>) -> impl IntoView {
    let each = if lines.len() > MANY { 17.0 } else { 26.0 };
    let height = each * lines.len() as f64 + 32.0;
    let scale = Scale::new(-1.0, 1.0).from(LABELS + 6.0);
    let rows: Vec<_> =
        lines.iter().enumerate().map(|(at, line)| row(scale, line, each * (at as f64 + 0.5) + 2.0)).collect();
    let foot = height - 30.0;
    let tick = |value: f64| format!("M{} 0V{}", u(scale.x(value)), u(foot + 4.0));
    let words = [(-0.5, say::fewer_on_axis(5)), (0.0, "0".to_owned()), (0.5, say::more_on_axis(5))]
        .map(|(value, words)| {
            view! { <text x=u(scale.x(value)) y=u(height - 12.0) text-anchor="middle">{words}</text> }
        })
        .collect_view();
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {height}") aria-hidden="true">
            <path class="ln tick" d=[tick(-1.0), tick(-0.5), tick(0.5), tick(1.0)].concat() />
            <path class="ln" d=tick(0.0) />
            {rows}
            {words}
        </svg>
    }
}

fn row(scale: Scale, line: &ForestLine, y: f64) -> impl IntoView + use<> {
    let class = if line.row == Row::Next { "ln thick broken" } else { "ln thick" };
    let x = scale.x(line.estimate);
    let interval = line.interval.map(|(lower, upper)| {
        let (from, to) = (u(scale.x(lower)), u(scale.x(upper)));
        let ends = format!("M{from} {0}v8M{to} {0}v8", u(y - 4.0));
        view! {
            <path class=class d=format!("M{from} {}H{to}", u(y)) />
            <path class="ln" d=ends />
        }
    });
    let sign = match line.row {
        Row::Try => mark(2, x, y, 4.5),
        Row::Pooled => {
            let d = format!("M{} {}l7 7l-7 7l-7 -7z", u(x), u(y - 7.0));
            view! { <path class="ln dot-full" d=d /> }.into_any()
        }
        Row::Next => mark(1, x, y, 5.0),
    };
    let name = if line.row == Row::Try { "" } else { "of-mark" };
    view! {
        <text class=name x="0" y=u(y + 4.0)>{line.label.clone()}</text>
        {interval}
        {sign}
    }
}
