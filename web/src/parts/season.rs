//! The season strip of one bulb: rest hatched, growth outlined, each look a dot, the due window, and its table.

use bloomdue_core::{
    nursery::season::{Found, Row, SeasonView, Span, Spent},
    sketch::{hatch, tenths},
};
use leptos::prelude::*;

/// Width of the strip in tenths of its own units: a phone of 360 px less its sides.
const WIDTH: i64 = 3280;
const BAR_TOP: i64 = 60;
const BAR_FOOT: i64 = 200;

/// From days to tenths of the strip's units. A day's mark stands in the middle of its day, the ends of a stretch at
/// its edges.
#[derive(Clone, Copy)]
struct Scale {
    n_days: i64,
}

impl Scale {
    fn edge(self, day: i64) -> i64 {
        day.clamp(0, self.n_days) * WIDTH / self.n_days
    }

    fn middle(self, day: i64) -> i64 {
        (2 * day + 1) * WIDTH / (2 * self.n_days)
    }
}

/// The words on a strip, from the app's words.
#[derive(Clone, Debug)]
pub(crate) struct SeasonWords {
    /// Name of the picture: what it shows, in one sentence.
    pub(crate) summary: String,
    /// Under a stretch of rest.
    pub(crate) rest: String,
    /// Under a stretch of growth.
    pub(crate) growth: String,
    /// Under the deadline, with its date.
    pub(crate) due: String,
}

/// The strip as a picture. Put [`season_table`] beside it for those who read it.
pub(crate) fn season_strip(season: &SeasonView, words: SeasonWords) -> impl IntoView + use<> {
    let scale = Scale { n_days: season.n_days.max(1) };
    let spans: Vec<_> = season.spans.iter().map(|span| bar(*span, scale)).collect();
    let looks: Vec<_> = season.looks.iter().map(|look| look_mark(scale.middle(look.day), look.found)).collect();
    let photos: Vec<_> = season
        .photo_days
        .iter()
        .map(|day| {
            let x = scale.middle(*day);
            let d = format!("M{} 0h6v4h-6z", tenths(x - 30));
            view! { <path class="ln" d=d /> }
        })
        .collect();
    let fit = season.fit_day.map(|day| {
        let d = format!("M{} 2l3 4 5-6", tenths(scale.middle(day) - 30));
        view! { <path class="ln" d=d /> }
    });
    let today = season.today.map(|day| {
        let d = format!("M{} 2v22", tenths(scale.middle(day)));
        view! { <path class="ln now" d=d /> }
    });
    let due = season.due.map(|(from, to)| due_mark(scale, from, to));
    let texts = texts(season, &words, scale);
    view! {
        <svg class="season" viewBox="0 0 328 46" width="328" height="46" role="img" aria-label=words.summary>
            {spans}
            {due}
            {today}
            {looks}
            {photos}
            {fit}
            {texts}
        </svg>
    }
}

fn bar(span: Span, scale: Scale) -> impl IntoView {
    let (left, right) = (scale.edge(span.from_day), scale.edge(span.to_day));
    let d = format!("M{} 6H{}V20H{}z", tenths(left), tenths(right), tenths(left));
    let (class, lines) = match span.spent {
        Spent::Rest => ("ln rest", hatch(left, right, BAR_TOP, BAR_FOOT)),
        Spent::Growth => ("ln lf", String::new()),
    };
    view! {
        <path class="ln rest hatch" d=lines />
        <path class=class d=d />
    }
}

fn look_mark(x: i64, found: Found) -> impl IntoView {
    match found {
        Found::Silent => view! { <path class="ln" d=format!("M{} 27h4", tenths(x - 20)) /> }.into_any(),
        Found::Nothing => view! { <circle class="ln fl" cx=tenths(x) cy="27" r="2.8" /> }.into_any(),
        Found::Something => view! { <circle class="ln full" cx=tenths(x) cy="27" r="2.8" /> }.into_any(),
    }
}

/// The due window: an open bracket from its first day to its last, the last day dashed over the bar.
fn due_mark(scale: Scale, from_day: i64, to_day: i64) -> impl IntoView {
    let (from, to) = (scale.edge(from_day), scale.edge(to_day + 1));
    // A window of one day is its last day alone.
    let bracket = (from_day < to_day).then(|| format!("M{} 4V1H{}", tenths(from), tenths(to)));
    let last = format!("M{} 1V31", tenths(to));
    view! {
        {bracket.map(|d| view! { <path class="ln sc" d=d /> })}
        <path class="ln sc dashed" d=last />
    }
}

/// Words under the bar, left out where they would run into each other.
fn texts(season: &SeasonView, words: &SeasonWords, scale: Scale) -> impl IntoView + use<> {
    // About 6 units a letter at the size of the strip's text.
    let length = |text: &str| 62 * text.chars().count() as i64;
    let due_x = season.due.map(|(_, to)| scale.edge(to + 1));
    let until = due_x.map_or(WIDTH, |_| WIDTH - length(&words.due) - 80);
    let mut free = 0;
    let mut views = Vec::new();
    for span in &season.spans {
        let text = match span.spent {
            Spent::Rest => &words.rest,
            Spent::Growth => &words.growth,
        };
        let x = scale.edge(span.from_day);
        if x >= free && x + length(text) <= until {
            views.push(view! { <text x=tenths(x) y="43">{text.clone()}</text> });
            free = x + length(text) + 80;
        }
    }
    let due = due_x.map(|_| {
        view! { <text x="328" y="43" text-anchor="end">{words.due.clone()}</text> }
    });
    view! {
        {views}
        {due}
    }
}

/// The same strip as a table for screen readers and for those who want the days; `date` and `what` are words.
pub(crate) fn season_table(
    season: &SeasonView,
    caption: String,
    headings: (String, String),
    tell: impl Fn(&Row) -> (String, String),
) -> AnyView {
    let rows: Vec<_> = season
        .rows
        .iter()
        .map(|row| {
            let (date, what) = tell(row);
            view! {
                <tr>
                    <th scope="row">{date}</th>
                    <td>{what}</td>
                </tr>
            }
        })
        .collect();
    view! {
        <table>
            <caption>{caption}</caption>
            <thead>
                <tr>
                    <th scope="col">{headings.0}</th>
                    <th scope="col">{headings.1}</th>
                </tr>
            </thead>
            <tbody>{rows}</tbody>
        </table>
    }
    .into_any()
}
