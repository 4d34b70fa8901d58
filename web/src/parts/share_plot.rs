//! Shares of groups side by side: a dot and its interval, or the stretch that is still possible.

use leptos::prelude::*;

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
    /// Filled or hollow.
    pub(crate) full: bool,
}

const LEFT: f64 = 12.0;
const WIDTH: f64 = 300.0;
const EACH: f64 = 52.0;

fn x(share: f64) -> f64 {
    LEFT + WIDTH * share.clamp(0.0, 1.0)
}

/// The picture; what it shows stands in the table below it for those who do not see it.
#[component]
pub(crate) fn SharePlot(lines: Vec<Line>, decided: bool) -> impl IntoView {
    let height = EACH * lines.len() as f64 + 26.0;
    let foot = height - 8.0;
    let rows = lines
        .into_iter()
        .enumerate()
        .map(|(at, line)| {
            let y = EACH * at as f64 + 34.0;
            let text = match line.share {
                Some((reached, of)) => format!("{}: {reached} of {of}", line.name),
                None => line.name.clone(),
            };
            let dot = line.share.map(|(reached, of)| {
                let class = if line.full { "ln dot-full" } else { "ln fl" };
                view! { <circle class=class cx=x(f64::from(reached) / f64::from(of.max(1))) cy=y r="6" /> }
            });
            // While something is undecided a broken line shows what is still possible.
            let class = if line.share.is_some() { "ln thick" } else { "ln thick broken" };
            view! {
                <text x=LEFT y=y - 13.0 class="name">{text}</text>
                <path class=class d=format!("M{} {y}H{}", x(line.lower), x(line.upper)) />
                <path class="ln" d=format!("M{0} {1}v10M{2} {1}v10", x(line.lower), y - 5.0, x(line.upper)) />
                {dot}
            }
        })
        .collect_view();
    let ticks = [(0.0, "0"), (0.5, "5 in 10"), (1.0, "all")]
        .map(|(share, words)| {
            let anchor = if share == 0.0 {
                "start"
            } else if share == 1.0 {
                "end"
            } else {
                "middle"
            };
            view! {
                <path class="tick" d=format!("M{} 4V{}", x(share), foot - 14.0) />
                <text x=x(share) y=foot text-anchor=anchor>{words}</text>
            }
        })
        .collect_view();
    let class = if decided { "plot" } else { "plot undecided" };
    view! {
        <svg class=class viewBox=format!("0 0 324 {height}") aria-hidden="true">{ticks}{rows}</svg>
    }
}
