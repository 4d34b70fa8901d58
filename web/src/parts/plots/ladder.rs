//! The steps of a plan, as they are drawn.

use bloomdue_words::plot::ladder::{HEIGHT, Ladder, NUMBERS_Y, WORDS_Y};
use bloomdue_words::plot::u;
use leptos::prelude::*;

/// The picture; what it shows is said below it.
pub(crate) fn ladder(ladder: Ladder) -> AnyView {
    let steps: Vec<_> = ladder
        .steps
        .into_iter()
        .map(|step| {
            let class = if step.sure { "step-bar sure" } else { "step-bar" };
            view! { <rect class=class x=step.x y=u(step.y) width=step.width height=u(step.height) /> }
        })
        .collect();
    let text = |y: f64, class: &'static str| {
        move |(x, anchor, words): (String, &'static str, String)| {
            view! { <text class=class x=x y=u(y) text-anchor=anchor>{words}</text> }
        }
    };
    let numbers: Vec<_> = ladder.numbers.into_iter().map(text(NUMBERS_Y, "")).collect();
    let words: Vec<_> = ladder.words.into_iter().map(text(WORDS_Y, "k")).collect();
    let assurance_y = u(ladder.assurance_y);
    view! {
        <svg class="fill ladder" height=u(WORDS_Y + 5.0) aria-hidden="true">
            {steps}
            <line class="ln dash" x1="0" x2="100%" y1=assurance_y.clone() y2=assurance_y />
            <line class="ln" x1="0" x2="100%" y1=u(HEIGHT) y2=u(HEIGHT) />
            {numbers}
            {words}
        </svg>
    }
    .into_any()
}
