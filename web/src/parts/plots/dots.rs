//! What was measured or counted: a dot a bulb, the mean as an upright line and as the number at the right.

use std::collections::BTreeMap;

use bloomdue_core::trial::result::measures::{MeasureGroup, MeasureResult};
use bloomdue_words::plot::{percent, round_numbers, u};
use bloomdue_words::results as say;
use leptos::prelude::*;

use super::{axis, mark, table::TableBehind};

/// Dots within such a part of the width stand over one another.
const DOT: f64 = 0.04;
const STEP: f64 = 7.0;
const HEIGHT: f64 = 46.0;
/// No more dots than this over one another; the count stands above them then.
const MOST_OVER: usize = 30;

/// The picture with its table; `names` are the groups' in their order, `labels` name the units.
#[component]
pub(crate) fn DotsPlot(measure: MeasureResult, names: Vec<String>, labels: Vec<Vec<String>>) -> impl IntoView {
    let values = || {
        let groups = measure.groups.iter();
        groups.flat_map(|group| group.values.iter().map(|(_, value)| *value))
    };
    let low = values().fold(f64::INFINITY, f64::min);
    let high = values().fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = match low < high {
        true => (low, high),
        // Where all have none, the axis begins there: nobody has fewer.
        false => (if low >= 0.0 { (low - 1.0).max(0.0) } else { low - 1.0 }, low + 1.0),
    };
    // A dot at either end stands whole within the picture.
    let along = move |value: f64| 0.03 + 0.94 * (value - low) / (high - low);
    let what = measure.what;
    let rows: Vec<_> = measure
        .groups
        .iter()
        .zip(&names)
        .enumerate()
        .map(|(nth, (group, name))| {
            view! {
                <div class="figrow">
                    <b>{name.clone()} <br /> <span class="small">{say::known_of(group)}</span></b>
                    {dots(along, nth, group)}
                    <span class="num">{say::mean(what, group)}</span>
                </div>
            }
        })
        .collect();
    // Half a stalk is no number to read off.
    let counted = values().all(|value| value.fract() == 0.0);
    let ticks = round_numbers(low, high).into_iter().filter(|value| !counted || value.fract() == 0.0);
    let ticks = ticks.map(|value| (percent(along(value)), "middle", say::bare(what, value))).collect();
    view! {
        <div class="plots">
            {rows}
            {axis(ticks)}
        </div>
        <TableBehind table=say::measure_table(&measure, &names, &labels) />
    }
}

fn dots(along: impl Fn(f64) -> f64, nth: usize, group: &MeasureGroup) -> AnyView {
    let mut columns: BTreeMap<i64, usize> = BTreeMap::new();
    for (_, value) in &group.values {
        *columns.entry((along(*value) / DOT).round() as i64).or_default() += 1;
    }
    let most = columns.values().copied().max().unwrap_or(1).min(MOST_OVER);
    let step = STEP.min((HEIGHT - 18.0) / most as f64);
    let foot = HEIGHT - 6.0;
    let columns: Vec<_> = columns
        .into_iter()
        .map(|(column, n)| {
            let over = n.min(MOST_OVER);
            let dots: Vec<_> = (0..over).map(|over| mark(nth, 0.0, foot - over as f64 * step, 3.0)).collect();
            let number =
                (n > MOST_OVER).then(|| view! { <text y="9" text-anchor="middle">{say::times(n as u32)}</text> });
            view! { <svg class="at" x=percent(column as f64 * DOT)>{dots} {number}</svg> }
        })
        .collect();
    let mean = group.mean.map(|mean| {
        let x = percent(along(mean));
        view! { <line class="ln thick" x1=x.clone() x2=x y1="10" y2=u(HEIGHT) /> }
    });
    view! {
        <svg class="fill" height=u(HEIGHT) aria-hidden="true">
            <line class="grid" x1="0" x2="100%" y1=u(HEIGHT - 0.5) y2=u(HEIGHT - 0.5) />
            {mean}
            {columns}
        </svg>
    }
    .into_any()
}
