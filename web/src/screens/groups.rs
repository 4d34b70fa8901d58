//! The groups of a try on paper: place by place in bench order, to put the labels in.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::placed::by_place;
use bloomdue_words::route::Route;
use bloomdue_words::{common, sheet as say};
use leptos::prelude::*;

use crate::app::app;
use crate::device::screen;

/// A list to print.
#[component]
pub(crate) fn Groups(run: Id) -> impl IntoView {
    let app = app();
    let title = app.peek(|r| {
        let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
        body.map(|body| (r.state.name_of(body.trial).to_owned(), common::ordinal_try(body.ordinal))).unwrap_or_default()
    });
    let places = move || {
        app.read(|r| {
            let Some(known) = r.state.runs.get(&run) else {
                return Vec::new();
            };
            let groups = known.allotment.settled().map(|a| a.groups.clone()).unwrap_or_default();
            let name = |at: usize| groups.get(at).map_or("", |group| r.state.name_of(*group)).to_owned();
            let list = by_place(r.state, known).into_iter();
            list.map(|(place, rows)| {
                let place = place.map_or(say::nowhere().to_owned(), |place| r.state.name_of(place).to_owned());
                let rows = rows.iter().map(|row| (r.state.name_of(row.unit).to_owned(), name(row.group)));
                (place, rows.collect::<Vec<_>>())
            })
            .collect()
        })
    };
    let tables =
        move || places().into_iter().map(|(place, rows)| view! { <Table place=place rows=rows /> }).collect_view();
    view! {
        <div class="spread no-print">
            <button type="button" class="btn main" on:click=move |_| screen::print()>{say::print()}</button>
            <a class="line" href=Route::Run(run).href()>{say::back_to_try()}</a>
        </div>
        <h1 tabindex="-1" data-heading="">{title.0}</h1>
        <p>{title.1} " · " {say::groups_fill_in()}</p>
        {tables}
    }
}

#[component]
fn Table(place: String, rows: Vec<(String, String)>) -> impl IntoView {
    let rows = rows
        .into_iter()
        .enumerate()
        .map(|(at, (label, group))| {
            view! {
                <tr>
                    <td class="num">{at + 1}</td>
                    <th scope="row" class="tag">{label}</th>
                    <td>{group}</td>
                    <td class="tick-box"></td>
                </tr>
            }
        })
        .collect_view();
    view! {
        <h2>{place.clone()}</h2>
        <div class="scroll" tabindex="0" role="region" aria-label=place>
            <table class="walk-sheet">
                <thead>
                    <tr>
                        <th scope="col">"#"</th>
                        <th scope="col">{say::bulb()}</th>
                        <th scope="col">{say::group()}</th>
                        <th scope="col">{say::labelled()}</th>
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
}
