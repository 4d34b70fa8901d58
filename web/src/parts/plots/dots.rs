//! What was measured or counted: a dot a bulb, the mean as an upright line.

use std::collections::BTreeMap;

use bloomdue_core::trial::result::measures::{MeasureGroup, MeasureResult};
use leptos::prelude::*;

use super::{Scale, WIDTH, mark, round_numbers, table::TableBehind, u};
use crate::words::results as say;

/// Dots of about this width stand over one another when their values do.
const DOT: f64 = 7.0;
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
    let (low, high) = if low < high { (low, high) } else { (low - 1.0, low + 1.0) };
    let scale = Scale::new(low, high).from(16.0).until(WIDTH - 16.0);
    let what = measure.what;
    let panels: Vec<_> = measure
        .groups
        .iter()
        .zip(&names)
        .enumerate()
        .map(|(nth, (group, name))| {
            view! {
                <p class="of-plot">{say::name_and_mean(name, what, group)}</p>
                {panel(scale, nth, group)}
            }
        })
        .collect();
    // Half a stalk is no number to read off.
    let counted = values().all(|value| value.fract() == 0.0);
    let ticks: Vec<_> = round_numbers(low, high)
        .into_iter()
        .filter(|value| !counted || value.fract() == 0.0)
        .map(|value| {
            let x = u(scale.x(value));
            view! {
                <path class="ln tick" d=format!("M{x} 0v4") />
                <text x=x y="16" text-anchor="middle">{say::bare(what, value)}</text>
            }
        })
        .collect();
    view! {
        <div class="plots">
            {panels}
            <svg class="plot" viewBox=format!("0 0 {WIDTH} 20") aria-hidden="true">{ticks}</svg>
        </div>
        <TableBehind table=say::measure_table(&measure, &names, &labels) />
    }
}

fn panel(scale: Scale, nth: usize, group: &MeasureGroup) -> impl IntoView + use<> {
    let mut columns: BTreeMap<i64, usize> = BTreeMap::new();
    for (_, value) in &group.values {
        *columns.entry((scale.x(*value) / DOT).round() as i64).or_default() += 1;
    }
    let most = columns.values().copied().max().unwrap_or(1).min(MOST_OVER);
    let step = DOT.min((HEIGHT - 18.0) / most as f64);
    let foot = HEIGHT - 6.0;
    let mut dots = Vec::new();
    for (column, n) in columns {
        let x = column as f64 * DOT;
        for over in 0..n.min(MOST_OVER) {
            dots.push(mark(nth, x, foot - over as f64 * step, 3.0));
        }
        if n > MOST_OVER {
            dots.push(view! { <text x=u(x) y="9" text-anchor="middle">{say::times(n as u32)}</text> }.into_any());
        }
    }
    let mean = group.mean.map(|mean| {
        let x = u(scale.x(mean));
        view! { <path class="ln thick" d=format!("M{x} 12V{}", u(HEIGHT)) /> }
    });
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {HEIGHT}") aria-hidden="true">
            <path class="ln tick" d=format!("M0 {0}H{WIDTH}", u(HEIGHT - 0.5)) />
            {mean}
            {dots}
        </svg>
    }
}
