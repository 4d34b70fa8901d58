//! The week on paper: seven days with their jobs and a box to tick.

use bloomdue_core::care::calendar_events::{Occasion, week};
use bloomdue_words::route::Route;
use bloomdue_words::{dates, due as say_due, jobs as say};
use leptos::prelude::*;

use crate::app::app;
use crate::device::screen;

/// A sheet to print.
#[component]
pub(crate) fn Week() -> impl IntoView {
    let app = app();
    let days = move || {
        app.read(|r| {
            week(r.state, r.today)
                .into_iter()
                .map(|(day, on)| {
                    let none = on.is_empty();
                    let rows = together(&on, r.state)
                        .into_iter()
                        .map(|(title, who, places)| {
                            view! {
                                <tr>
                                    <td class="tick-box"></td>
                                    <td>
                                        <b>{title}</b>
                                        <br />
                                        <span class="small">{places.join("; ")}</span>
                                    </td>
                                    <td class="small">{who}</td>
                                </tr>
                            }
                        })
                        .collect_view();
                    view! {
                        <h2>{dates::date_long(day)}</h2>
                        {none.then(|| view! { <p class="small">{say::nothing_planned()}</p> })}
                        <table class="week" aria-label=dates::date_long(day)>
                            <tbody>{rows}</tbody>
                        </table>
                    }
                })
                .collect_view()
        })
    };
    view! {
        <div class="spread no-print">
            <button type="button" class="btn main" on:click=move |_| screen::print()>{say::print()}</button>
            <a class="line" href=Route::Due.href()>{say::back_to_due()}</a>
        </div>
        <h1 tabindex="-1" data-heading="">{move || app.read(|r| say::week_title(r.today))}</h1>
        <p class="small">{say::week_under()}</p>
        {days}
    }
}

/// The same job at several places stands in one row: what, who, where.
fn together(on: &[Occasion], state: &bloomdue_core::nursery::State) -> Vec<(String, String, Vec<String>)> {
    let mut rows: Vec<(String, String, Vec<String>)> = Vec::new();
    for occasion in on {
        let title = say::occasion(occasion, state);
        let who = say::occasion_person(occasion, state);
        let place = [place_of(occasion, state), say::occasion_bulbs(occasion)];
        let place: Vec<String> = place.into_iter().filter(|text| !text.is_empty()).collect();
        let mut place = place.join(": ");
        if let Some(plan) = say::of_plan(occasion, state) {
            place.push_str(&format!(" ({plan})"));
        }
        match rows.iter_mut().find(|row| row.0 == title && row.1 == who) {
            Some(row) => row.2.push(place),
            None => rows.push((title, who, vec![place])),
        }
    }
    rows
}

fn place_of(occasion: &Occasion, state: &bloomdue_core::nursery::State) -> String {
    match (occasion.place, &occasion.job) {
        (Some(place), _) => state.name_of(place).to_owned(),
        (None, bloomdue_core::care::Job::Planned { .. }) => say_due::no_place().to_owned(),
        (None, _) => String::new(),
    }
}
