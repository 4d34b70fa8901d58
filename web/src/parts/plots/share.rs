//! Shares of groups side by side: a mark and its interval, or the stretch that is still possible.

use leptos::prelude::*;

use super::{Scale, WIDTH, mark_path, u};
use crate::words::results as say;

/// Height of one line's picture.
pub(crate) const HEIGHT: f64 = 30.0;
const AXIS: [f64; 3] = [0.0, 0.5, 1.0];

/// One group's line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Line {
    /// Name of the group.
    pub(crate) name: String,
    /// Lower end, 0 to 1.
    pub(crate) lower: f64,
    /// Upper end, 0 to 1.
    pub(crate) upper: f64,
    /// In time and of how many, once decided.
    pub(crate) share: Option<(u32, u32)>,
    /// Its place among the groups, from 0.
    pub(crate) nth: usize,
}

impl Line {
    /// Its name and share.
    pub(crate) fn name_and_share(&self) -> String {
        say::name_and_share(&self.name, self.share)
    }

    /// What its picture shows.
    pub(crate) fn in_words(&self) -> String {
        say::share_in_words(self.lower, self.upper, self.share.is_some())
    }

    /// Its picture of [`WIDTH`] by [`HEIGHT`]: outlines with their classes.
    pub(crate) fn paths(&self) -> Vec<(&'static str, String)> {
        let scale = Scale::new(0.0, 1.0);
        let (from, to) = (u(scale.x(self.lower)), u(scale.x(self.upper)));
        let grid = AXIS.map(|share| format!("M{} 0V30", u(scale.x(share))));
        // While something is undecided a broken line shows what is still possible.
        let class = if self.share.is_some() { "ln thick" } else { "ln thick broken" };
        let mut paths = vec![
            ("ln tick", grid.concat()),
            (class, format!("M{from} 15H{to}")),
            ("ln", format!("M{from} 10v10M{to} 10v10")),
        ];
        if let Some((reached, of)) = self.share.filter(|(_, of)| *of > 0) {
            let x = scale.x(f64::from(reached) / f64::from(of));
            paths.push(mark_path(self.nth, x, HEIGHT / 2.0, 6.0));
        }
        paths
    }
}

/// The picture; what it shows stands in words beside each line.
#[component]
pub(crate) fn SharePlot(lines: Vec<Line>) -> impl IntoView {
    let rows: Vec<_> = lines
        .into_iter()
        .map(|line| {
            let paths = line.paths().into_iter();
            let paths: Vec<_> = paths.map(|(class, d)| view! { <path class=class d=d /> }).collect();
            view! {
                <p class="of-plot">{line.name_and_share()}<span class="unseen">{line.in_words()}</span></p>
                <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">{paths}</svg>
            }
        })
        .collect();
    let words: Vec<_> = axis_words()
        .into_iter()
        .map(|(x, anchor, words)| view! { <text x=u(x) y="14" text-anchor=anchor>{words}</text> })
        .collect();
    view! {
        <div class="plots">
            {rows}
            <svg class="plot" viewBox=format!("0 0 {WIDTH} 18") aria-hidden="true">{words}</svg>
        </div>
    }
}

/// What stands under the pictures: where, how it is set, and the words.
pub(crate) fn axis_words() -> Vec<(f64, &'static str, String)> {
    let words = ["0".to_owned(), say::tenths(5), say::all().to_owned()];
    let set = ["start", "middle", "end"];
    let scale = Scale::new(0.0, 1.0);
    let places = AXIS.into_iter().zip(set).zip(words);
    places.map(|((share, set), words)| (scale.x(share), set, words)).collect()
}
