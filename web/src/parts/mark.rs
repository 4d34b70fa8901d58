//! One mark a bulb: the same shapes wherever bulbs of a try are counted. They differ by shape alone, so that print and forced
//! colours keep them.

use bloomdue_core::trial::outcome::{Kind, Outcome};
use bloomdue_words::trials as say;
use leptos::prelude::*;

/// More bulbs than this of one outcome stand as one mark and a number, where a line has more than fit.
const MOST_ALIKE: usize = 4;
/// So many small marks stand in the line of a group on a phone.
const MOST_IN_LINE: u32 = 12;
/// So many large marks of one outcome stand beside one another; more are one mark, and the number under it says how many.
const MOST_LARGE: u32 = 24;

/// Small marks in a line, alike ones together, many of them as a number.
pub(crate) fn marks(outcomes: &[Outcome]) -> impl IntoView + use<> {
    let runs = outcomes.chunk_by(|a, b| a.kind() == b.kind());
    runs.map(|run| {
        let shown = if run.len() > MOST_ALIKE { 1 } else { run.len() };
        let number = (run.len() > MOST_ALIKE).then(|| view! { <span class="soon">{run.len()}</span> });
        let marks = run.iter().take(shown).map(mark).collect_view();
        view! { <span class="minis">{marks} {number}</span> }
    })
    .collect_view()
}

/// The small marks of a group in its line, counted; more than what fits are one mark and a number.
pub(crate) fn counted(counts: &[(Kind, u32)], is_closed: bool) -> impl IntoView + use<> {
    let all: u32 = counts.iter().map(|(_, n)| n).sum();
    let runs = counts.iter().map(|(kind, n)| {
        let as_number = all > MOST_IN_LINE && *n as usize > MOST_ALIKE;
        let shown = if as_number { 1 } else { *n };
        let number = as_number.then(|| view! { <span class="soon">{*n}</span> });
        let marks = (0..shown).map(|_| sign(*kind, "mk small-mk")).collect_view();
        view! { <span class="minis">{marks} {number}</span> }
    });
    view! { <span class="minis runs-of" role="img" aria-label=say::kinds_line(counts, is_closed)>{runs.collect_view()}</span> }
}

/// The large marks of a group, each kind with its words and its number below.
pub(crate) fn told(counts: &[(Kind, u32)], is_closed: bool) -> impl IntoView + use<> {
    let runs = counts.iter().map(|(kind, n)| {
        let shown = if *n > MOST_LARGE { 1 } else { *n };
        let marks = (0..shown).map(|_| sign(*kind, "mk")).collect_view();
        view! {
            <span class="run">
                <span>{marks}</span>
                <i>{say::kind_and_number(*kind, *n, is_closed)}</i>
            </span>
        }
    });
    view! { <span class="runs">{runs.collect_view()}</span> }
}

/// What the marks mean; only of those that are on the screen.
pub(crate) fn legend(kinds: &[Kind]) -> impl IntoView + use<> {
    let shown = Kind::ALL.iter().filter(|kind| kinds.contains(kind));
    let shown = shown.map(|kind| view! { <li>{sign(*kind, "mk small-mk")} {say::kind(*kind)}</li> });
    view! { <ul class="key marks">{shown.collect_view()}</ul> }
}

/// The small mark of one bulb.
fn mark(outcome: &Outcome) -> impl IntoView + use<> {
    let (class, line, full) = shape(outcome.kind());
    view! {
        <svg class="mk small-mk" viewBox="0 0 22 22" role="img" aria-label=say::outcome_of(outcome)>
            <path class=class d=line />
            <path class="dk" d=full />
        </svg>
    }
}

/// A mark beside words that say the same.
fn sign(kind: Kind, size: &'static str) -> impl IntoView {
    let (class, line, full) = shape(kind);
    view! {
        <svg class=size viewBox="0 0 22 22" aria-hidden="true">
            <path class=class d=line />
            <path class="dk" d=full />
        </svg>
    }
}

/// The pen of a mark, what it draws and what it fills.
const fn shape(kind: Kind) -> (&'static str, &'static str, &'static str) {
    const RING: &str = "M3 11a8 8 0 1 0 16 0a8 8 0 1 0-16 0";
    match kind {
        Kind::InTime => ("ln", "", "M2 11a9 9 0 1 0 18 0a9 9 0 1 0-18 0"),
        Kind::TooEarly => ("ln", RING, "M11 3a8 8 0 0 0 0 16z"),
        Kind::Late => ("ln", RING, "M11 3a8 8 0 0 1 0 16z"),
        Kind::NotReached => ("ln", "M3 11a8 8 0 1 0 16 0a8 8 0 1 0-16 0M6 11h10", ""),
        Kind::Waiting => ("ln", RING, ""),
        Kind::CantSay => ("ln dash", RING, ""),
        Kind::Died => ("ln", "M4 4l14 14M18 4L4 18", ""),
        Kind::Missing => ("ln dash", "M3 3h16v16H3z", ""),
        Kind::Left => ("ln", "M3 11a8 8 0 1 0 16 0a8 8 0 1 0-16 0M11 11l9-9M14 2h6v6", ""),
    }
}
