//! How earlier forecasts did, and how decisions on bulbs turned out.

use bloomdue_core::forecast::score::{scores, scores_of};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::spend::log::turned_out;
use bloomdue_words::route::Route;
use bloomdue_words::table::Table;
use bloomdue_words::{scored, spend};
use leptos::prelude::*;

use crate::app::App;
use crate::parts::plots::table::numbers;

/// What was said of due windows that are over, against what came: of all, or of some tries. Its heading stands with whoever
/// shows it.
pub(crate) fn earlier(app: App, runs: Option<&[Id]>) -> AnyView {
    let (scores, today) = app.read(|r| {
        let scores = match runs {
            Some(runs) => scores_of(r.ledger, r.state, runs, r.today),
            None => scores(r.ledger, r.state, r.today),
        };
        (scores, r.today)
    });
    if scores.windows.is_empty() {
        return view! {
            <p class="small">{scored::none()}</p>
        }
        .into_any();
    }
    let rows = scores.windows.iter();
    let windows = Table {
        caption: scored::by_window(),
        heads: scored::window_heads(),
        rows: rows.map(|one| scored::window_row(one, today)).collect(),
    };
    let chances = scores.chances.as_ref().map(|chances| {
        let table = Table {
            caption: scored::by_chance(),
            heads: scored::chance_heads(),
            rows: chances.tenths.iter().map(scored::chance_row).collect(),
        };
        view! {
            <p>{scored::calibration(chances)}</p>
            {numbers(&table)}
            <p class="small">{scored::brier(chances)}</p>
        }
    });
    view! {
        <p>{scored::counts(scores.counts_held(), scores.windows.len())}</p>
        {numbers(&windows)}
        {chances}
        <p>{scored::dates(&scores.dates)}</p>
        <p class="small">{scored::hint()}</p>
    }
    .into_any()
}

/// What was advised of how to spend bulbs, what was done, and what came of it; nothing where nothing was ever advised.
pub(crate) fn decisions(app: App) -> Option<AnyView> {
    let rows: Vec<_> = app.read(|r| {
        let all = turned_out(r.ledger, r.state, r.today).into_iter();
        all.map(|one| {
            let groups: Vec<_> = one.groups.iter().map(|group| spend::came(group, r.state)).collect();
            let title = spend::decision(&one, r.state, r.today);
            let groups: Vec<_> =
                groups.into_iter().map(|line| view! { <br /> <span class="small">{line}</span> }).collect();
            view! {
                <li>
                    <a href=Route::Run(one.run).href()>{title}</a>
                    <br />
                    <span class="small">{spend::decided(&one)}</span>
                    {groups}
                </li>
            }
        })
        .collect()
    });
    let list = (!rows.is_empty()).then(|| view! { <ul class="stack">{rows}</ul> })?;
    Some(view! { <p class="small">{spend::turned_out_hint()}</p> {list} }.into_any())
}
