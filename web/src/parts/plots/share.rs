//! Shares of groups side by side: a mark and its interval, or the stretch that is still possible.

use leptos::prelude::*;

use super::{Scale, WIDTH, mark, u};
use crate::words::results as say;

/// One group's line.
#[derive(Clone, Debug)]
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

/// The picture; what it shows stands in a table near it for those who do not see it.
#[component]
pub(crate) fn SharePlot(lines: Vec<Line>) -> impl IntoView {
    let scale = Scale::new(0.0, 1.0);
    let ticks = [0.0, 0.5, 1.0].map(|share| u(scale.x(share)));
    let grid = ticks.clone().map(|x| format!("M{x} 0V30")).concat();
    let rows: Vec<_> = lines
        .into_iter()
        .map(|line| {
            let words = say::name_and_share(&line.name, line.share);
            let (from, to) = (scale.x(line.lower), scale.x(line.upper));
            // While something is undecided a broken line shows what is still possible.
            let class = if line.share.is_some() {
                "ln thick"
            } else {
                "ln thick broken"
            };
            let dot = line.share.filter(|(_, of)| *of > 0).map(|(reached, of)| {
                mark(
                    line.nth,
                    scale.x(f64::from(reached) / f64::from(of)),
                    15.0,
                    6.0,
                )
            });
            view! {
                <p class="of-plot">{words}</p>
                <svg class="plot" viewBox=format!("0 0 {WIDTH} 30") aria-hidden="true">
                    <path class="ln tick" d=grid.clone() />
                    <path class=class d=format!("M{} 15H{}", u(from), u(to)) />
                    <path class="ln" d=format!("M{} 10v10M{} 10v10", u(from), u(to)) />
                    {dot}
                </svg>
            }
        })
        .collect();
    let [none, half, all] = ticks;
    view! {
        <div class="plots">
            {rows}
            <svg class="plot" viewBox=format!("0 0 {WIDTH} 18") aria-hidden="true">
                <text x=none y="14">"0"</text>
                <text x=half y="14" text-anchor="middle">{say::tenths(5)}</text>
                <text x=all y="14" text-anchor="end">{say::all()}</text>
            </svg>
        </div>
    }
}
