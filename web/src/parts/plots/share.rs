//! Shares of groups side by side: words left, a mark and its interval, or the stretch that is still possible, and the number
//! right. Places are parts of the width, so that text keeps its size.

use bloomdue_words::plot::share::{Line, axis_words};
use leptos::prelude::*;

use super::{axis, interval, mark_at};

/// The picture; what it shows stands in words beside each line.
#[component]
pub(crate) fn SharePlot(lines: Vec<Line>) -> impl IntoView {
    let rows: Vec<_> = lines
        .into_iter()
        .map(|line| {
            let (from, to, share) = line.parts();
            // While something is undecided a broken line shows what is still possible.
            let class = if line.share.is_some() { "ln thick" } else { "ln thick broken" };
            let number = line.number();
            view! {
                <div class="figrow">
                    <b>{line.name.clone()}</b>
                    <svg class="fill" height="40" aria-hidden="true">
                        {["0%", "50%", "100%"].map(|x| view! { <line class="grid" x1=x x2=x y1="0" y2="40" /> })}
                        {interval(class, from, to)}
                        {share.map(|x| mark_at(line.nth, x))}
                    </svg>
                    <span class="num">{number}<span class="unseen">{line.in_words()}</span></span>
                </div>
            }
        })
        .collect();
    let words = axis_words().into_iter().zip(["0%", "50%", "100%"]);
    let words = words.map(|((_, anchor, words), x)| (x.to_owned(), anchor, words)).collect();
    view! {
        <div class="plots">
            {rows}
            {axis(words)}
        </div>
    }
}
