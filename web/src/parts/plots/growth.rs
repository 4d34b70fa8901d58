//! The evidence as it grew, on a scale on which every line up is as many times more: 1 says nothing, at 20 it may stop.

use bloomdue_words::plot::{Scale, WIDTH, u};
use bloomdue_words::results as say;
use leptos::prelude::*;

/// The evidence after one size class or one day of looks.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Point {
    /// What came last: a size class or a day.
    pub(crate) label: String,
    /// The evidence so far.
    pub(crate) evidence: f64,
}

/// What one false alarm in 20 allows.
pub(crate) const ENOUGH: f64 = 20.0;
const HEIGHT: f64 = 112.0;
/// Evidence is drawn between these.
const LEAST: f64 = 0.02;
const MOST: f64 = 10_000.0;

/// The picture; its numbers belong in a table beside it.
#[component]
pub(crate) fn GrowthPlot(points: Vec<Point>) -> impl IntoView {
    let evidence = |point: &Point| point.evidence.clamp(LEAST, MOST);
    let lowest = points.iter().map(evidence).fold(0.2, f64::min);
    let highest = points.iter().map(evidence).fold(50.0, f64::max);
    let (low, high) = (lowest.log10(), highest.log10());
    let y = move |evidence: f64| {
        let along = (evidence.clamp(LEAST, MOST).log10() - low) / (high - low);
        u(HEIGHT - 22.0 - along.clamp(0.0, 1.0) * (HEIGHT - 34.0))
    };
    // The first place is that of nothing seen, where the evidence is 1.
    let scale = Scale::new(0.0, points.len().max(1) as f64).from(30.0);
    let x = |at: usize| u(scale.x((at + 1) as f64));
    let mut line = format!("M{} {}", u(scale.x(0.0)), y(1.0));
    for (at, point) in points.iter().enumerate() {
        line.push_str(&format!("L{} {}", x(at), y(point.evidence)));
    }
    let dots: Vec<_> = points
        .iter()
        .enumerate()
        .filter(|_| points.len() <= 40)
        .map(|(at, point)| view! { <circle class="ln dot-full" cx=x(at) cy=y(point.evidence) r="2.6" /> })
        .collect();
    let ends = match points.as_slice() {
        [] => ().into_any(),
        [only] => view! { <text x=x(0) y="108" text-anchor="end">{only.label.clone()}</text> }.into_any(),
        [first, .., last] => view! {
            <text x=x(0) y="108">{first.label.clone()}</text>
            <text x=x(points.len() - 1) y="108" text-anchor="end">{last.label.clone()}</text>
        }
        .into_any(),
    };
    let upright = |evidence: f64| format!("M30 {}H320", y(evidence));
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">
            <path class="ln tick" d=upright(1.0) />
            <path class="ln sc dashed" d=upright(ENOUGH) />
            <text x="24" y=y(1.0) dy="4" text-anchor="end">"1"</text>
            <text x="24" y=y(ENOUGH) dy="4" text-anchor="end">"20"</text>
            <text x="320" y=y(ENOUGH) dy="-4" text-anchor="end">{say::enough()}</text>
            <path class="ln" d=line />
            {dots}
            {ends}
        </svg>
    }
}
