//! How often a gap would be noticed, gap by gap: with this try, and with one more like it.

use bloomdue_core::trial::result::design_power::{OfGap, TARGET};
use bloomdue_words::plot::{Scale, WIDTH, u};
use bloomdue_words::results as say;
use leptos::prelude::*;

use super::mark;

const HEIGHT: f64 = 132.0;

fn y(chance: f64) -> f64 {
    HEIGHT - 36.0 - chance.clamp(0.0, 1.0) * (HEIGHT - 46.0)
}

/// The picture; its numbers belong in a table beside it.
#[component]
pub(crate) fn PowerPlot(gaps: Vec<OfGap>) -> impl IntoView {
    let scale = Scale::new(1.0, 9.0).from(44.0).until(WIDTH - 12.0);
    let x = |gap: &OfGap| scale.x(f64::from(gap.more_in_ten));
    let series = |nth: usize, chance: fn(&OfGap) -> Option<f64>| {
        let known: Vec<(f64, f64)> = gaps.iter().filter_map(|gap| Some((x(gap), y(chance(gap)?)))).collect();
        let mut line = String::new();
        for (at, (x, y)) in known.iter().enumerate() {
            line.push_str(&format!("{}{} {}", if at == 0 { "M" } else { "L" }, u(*x), u(*y)));
        }
        let class = if nth == 0 { "ln" } else { "ln dotted" };
        let dots: Vec<_> = known.iter().map(|(x, y)| mark(nth, *x, *y, 3.6)).collect();
        view! {
            <path class=class d=line />
            {dots}
        }
    };
    let now = series(0, |gap| gap.power.ok());
    let with_one_more = series(1, |gap| gap.power_with_one_more.ok());
    let numbers: Vec<_> = gaps
        .iter()
        .map(|gap| view! { <text x=u(x(gap)) y=u(HEIGHT - 20.0) text-anchor="middle">{gap.more_in_ten}</text> })
        .collect();
    let across = |chance: f64| format!("M44 {}H316", u(y(chance)));
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">
            <path class="ln tick" d=across(0.0) />
            <path class="ln tick" d=across(1.0) />
            <path class="ln sc dashed" d=across(TARGET) />
            <text x="38" y=u(y(0.0) + 4.0) text-anchor="end">{say::never()}</text>
            <text x="38" y=u(y(TARGET) + 4.0) text-anchor="end">{say::tenths(8)}</text>
            {with_one_more}
            {now}
            {numbers}
            <text x=u(WIDTH / 2.0 + 14.0) y=u(HEIGHT - 4.0) text-anchor="middle">{say::gap_axis()}</text>
        </svg>
        <ul class="key">
            <li><svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">{mark(0, 16.0, 8.0, 3.6)}</svg>{say::this_try()}</li>
            <li><svg class="sign" viewBox="0 0 32 16" width="32" height="16" aria-hidden="true">{mark(1, 16.0, 8.0, 3.6)}</svg>{say::with_one_more()}</li>
        </ul>
    }
}
