//! Pictures of results, drawn from core's typed values. Each stands under a sentence and before a table with the same
//! numbers. Groups are told apart by name, place and the shape of their mark, never by colour.

pub(crate) mod bars;
pub(crate) mod counts;
pub(crate) mod curve;
pub(crate) mod days;
pub(crate) mod dots;
pub(crate) mod forest;
pub(crate) mod growth;
pub(crate) mod power;
pub(crate) mod share;
pub(crate) mod strips;
pub(crate) mod table;

use leptos::prelude::*;

/// Width of every picture in its own units: a phone of 360 px less its sides.
pub(crate) const WIDTH: f64 = 328.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 320.0;

/// From values to units of a picture, linear.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl Scale {
    /// A scale over the whole width; ends that are the same are moved apart.
    pub(crate) fn new(low: f64, high: f64) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self { low, high, left: LEFT, right: RIGHT }
    }

    /// The same with room for words at its left.
    pub(crate) fn from(self, left: f64) -> Self {
        Self { left, ..self }
    }

    /// The same with room for words at its right.
    pub(crate) fn until(self, right: f64) -> Self {
        Self { right, ..self }
    }

    /// Where a value stands; what lies outside stands at the end.
    pub(crate) fn x(self, value: f64) -> f64 {
        let along = (value - self.low) / (self.high - self.low);
        self.left + along.clamp(0.0, 1.0) * (self.right - self.left)
    }
}

/// A number of a path, to a tenth.
fn u(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    format!("{value:.1}")
}

/// A group's mark: full and hollow, round, square and pointed, by its place among the groups.
pub(crate) fn mark(nth: usize, x: f64, y: f64, radius: f64) -> AnyView {
    let (class, d) = mark_path(nth, x, y, radius);
    view! { <path class=class d=d /> }.into_any()
}

/// The class of a mark and its outline.
fn mark_path(nth: usize, x: f64, y: f64, radius: f64) -> (&'static str, String) {
    let class = if nth.is_multiple_of(2) { "ln dot-full" } else { "ln fl" };
    let r = radius * 0.9;
    let d = match nth / 2 % 3 {
        0 => {
            let half = format!("{0} {0} 0 0 1", u(radius));
            let (x, y, wide) = (u(x - radius), u(y), u(2.0 * radius));
            format!("M{x} {y}a{half} {wide} 0a{half} -{wide} 0z")
        }
        1 => format!("M{} {}h{2}v{2}h-{2}z", u(x - r), u(y - r), u(2.0 * r)),
        _ => format!("M{} {}l{} {}h-{}z", u(x), u(y - radius), u(1.1 * radius), u(1.9 * radius), u(2.2 * radius)),
    };
    (class, d)
}

/// A group's stretch along a line: full, hollow, striped, split and slim, by its place among the groups.
fn stretch(nth: usize, from: f64, to: f64, y: f64) -> impl IntoView {
    let width = (to - from).max(2.0);
    let height = if nth % 6 < 4 { 5.0 } else { 2.0 };
    let class = if matches!(nth % 6, 0 | 4) { "ln dot-full" } else { "ln fl" };
    let d = format!("M{} {}h{}v{height}h-{2}z", u(from), u(y - height / 2.0), u(width));
    let inside = match nth % 6 {
        2 => {
            (1..(width / 3.0) as i32).map(|at| format!("M{} {}v5", u(from + 3.0 * f64::from(at)), u(y - 2.5))).collect()
        }
        3 => format!("M{} {}h{}", u(from), u(y), u(width)),
        _ => String::new(),
    };
    view! {
        <path class=class d=d />
        <path class="ln" d=inside />
    }
}

/// Round numbers between two ends, about five, the ends included where they are round.
fn round_numbers(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low).max(1e-6) / 4.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(power);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last).map(|n| n as f64 * step).collect()
}
