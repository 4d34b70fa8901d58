//! Light through the year in one place: a band from overcast to clear, a clear day in the open dashed above it, the weeks of
//! tries below, today upright.

use bloomdue_core::light::place::{OfDay, PlaceLight};
use bloomdue_words::light as say;
use bloomdue_words::plot::{Scale, WIDTH, round_numbers, u};
use bloomdue_words::{dates, formats};
use leptos::prelude::*;

use super::table::TableBehind;

const TOP: f64 = 12.0;
const FOOT: f64 = 112.0;
const LEFT: f64 = 30.0;
/// Room of one try below the months.
const ROW: f64 = 12.0;

/// The picture with its table.
#[component]
pub(crate) fn LightPlot(light: PlaceLight) -> impl IntoView {
    let most = light.year.iter().map(|of| of.open_clear).fold(1.0, f64::max);
    let x = Scale::new(1.0, 366.0).from(LEFT);
    let x = move |day: bloomdue_core::calendar::Date| x.x(f64::from(day.day_of_year()));
    let y = move |dli: f64| FOOT - (dli / most).clamp(0.0, 1.0) * (FOOT - TOP);
    let line = |of: fn(&OfDay) -> f64| {
        let points = light.year.iter().map(|day| format!("{} {}", u(x(day.day)), u(y(of(day)))));
        format!("M{}", points.collect::<Vec<_>>().join("L"))
    };
    let back = light.year.iter().rev().map(|day| format!("L{} {}", u(x(day.day)), u(y(day.overcast))));
    let band = format!("{}{}z", line(|day| day.clear), back.collect::<String>());
    let grid: Vec<_> = round_numbers(0.0, most)
        .into_iter()
        .map(|dli| {
            view! {
                <path class="ln tick" d=format!("M{LEFT} {}H320", u(y(dli))) />
                <text x="24" y=u(y(dli)) dy="4" text-anchor="end">{formats::decimal(dli, 0)}</text>
            }
        })
        .collect();
    let year = light.today.day.year();
    let months = [1, 4, 7, 10].into_iter().filter_map(|month| bloomdue_core::calendar::Date::new(year, month, 1).ok());
    let months: Vec<_> = months
        .map(|first| {
            view! {
                <path class="ln" d=format!("M{0} {FOOT}v4", u(x(first))) />
                <text x=u(x(first)) y=u(FOOT + 15.0)>{formats::month_alone(first)}</text>
            }
        })
        .collect();
    let this_year = light.tries.iter().filter(|of| of.to.year() == year).take(4);
    let tries: Vec<_> = this_year
        .enumerate()
        .map(|(at, of)| {
            let from = if of.from.year() == year { x(of.from) } else { LEFT };
            let top = FOOT + 22.0 + ROW * at as f64;
            let wide = (x(of.to) - from).max(3.0);
            view! { <path class="ln dot-full" d=format!("M{} {}h{}v5h-{2}z", u(from), u(top), u(wide)) /> }
        })
        .collect();
    let height = FOOT + 22.0 + ROW * tries.len() as f64;
    let now = u(x(light.today.day));
    let table = say::year_table(&light);
    view! {
        <svg class="plot" viewBox=format!("0 0 {WIDTH} {}", u(height)) aria-hidden="true">
            {grid}
            <path class="ln undecided-days" d=band />
            <path class="ln broken" d=line(|day| day.open_clear) />
            <path class="ln thick" d=line(|day| day.clear) />
            <path class="ln now" d=format!("M{now} {TOP}V{FOOT}") />
            <text x=now.clone() y="9" text-anchor="middle">{say::today_mark()}</text>
            {months}
            {tries}
        </svg>
        <p class="unseen">{dates::date_long(light.today.day)}</p>
        <TableBehind table=table />
    }
}
