//! Pictures of results, drawn from core's typed values. Each stands under a sentence and before a table with the same
//! numbers. Groups are told apart by name, place and the shape of their mark, never by colour.

pub(crate) mod bars;
pub(crate) mod counts;
pub(crate) mod curve;
pub(crate) mod days;
pub(crate) mod dots;
pub(crate) mod forest;
pub(crate) mod growth;
pub(crate) mod ladder;
pub(crate) mod light;
pub(crate) mod power;
pub(crate) mod share;
pub(crate) mod strips;
pub(crate) mod table;

use bloomdue_words::plot::{mark_path, stretch_paths};
use leptos::prelude::*;

/// A group's mark: full and hollow, round, square and pointed, by its place among the groups.
pub(crate) fn mark(nth: usize, x: f64, y: f64, radius: f64) -> AnyView {
    let (class, d) = mark_path(nth, x, y, radius);
    view! { <path class=class d=d /> }.into_any()
}

/// A line with its ends, at half the height of a figure's row, from one part of the width to another.
fn interval(class: &'static str, from: String, to: String) -> impl IntoView {
    let ends = [from.clone(), to.clone()].map(|x| view! { <line class="ln" x1=x.clone() x2=x y1="14" y2="26" /> });
    view! {
        <line class=class x1=from x2=to y1="20" y2="20" />
        {ends}
    }
}

/// A group's mark in a figure's row, at a part of its width.
fn mark_at(nth: usize, x: String) -> impl IntoView {
    view! { <svg class="at" x=x y="20">{mark(nth, 0.0, 0.0, 6.5)}</svg> }
}

/// The words under figures: where, how they are set, and they.
fn axis(words: Vec<(String, &'static str, String)>) -> impl IntoView {
    let words: Vec<_> = words
        .into_iter()
        .map(|(x, anchor, words)| view! { <text x=x y="14" text-anchor=anchor>{words}</text> })
        .collect();
    view! {
        <div class="figrow ax">
            <span></span>
            <svg class="fill" height="18" aria-hidden="true">{words}</svg>
            <span></span>
        </div>
    }
}

/// A group's stretch along a line.
fn stretch(nth: usize, from: f64, to: f64, y: f64) -> impl IntoView {
    stretch_paths(nth, from, to, y).map(|(class, d)| view! { <path class=class d=d /> })
}
