//! The time axis that pictures of days share, as it is drawn.

use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::{WIDTH, u};
use leptos::prelude::*;

/// The due window behind a picture of this height.
pub(crate) fn due_behind(axis: &DayAxis, height: f64) -> impl IntoView + use<> {
    axis.due_paths(height).map(|(shade, last)| {
        view! {
            <path class="due-days" d=shade />
            <path class="ln sc dashed" d=last />
        }
    })
}

/// The foot: a line with its marks, months, and the due day.
pub(crate) fn foot(axis: &DayAxis) -> impl IntoView + use<> {
    let foot = axis.foot();
    let height = if foot.due.is_some() { 38 } else { 22 };
    let words: Vec<_> = foot.words.into_iter().map(|(x, text)| view! { <text x=u(x) y="17">{text}</text> }).collect();
    let due = foot.due.map(|(x, anchor, words)| {
        view! { <text class="of-due" x=u(x) y="33" text-anchor=anchor>{words}</text> }
    });
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {height}") aria-hidden="true">
            <path class="ln tick" d=foot.line />
            <path class="ln tick" d=foot.marks />
            {words}
            {due}
        </svg>
    }
}
