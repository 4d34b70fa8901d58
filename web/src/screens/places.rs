//! Places: where bulbs stand.

use bloomdue_words::route::Route;
use bloomdue_words::{common, dates, mistakes, places as say, stock};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::heading::Heading;

/// All places, with how many bulbs stand in each and when they were last looked at.
#[component]
pub(crate) fn Places() -> impl IntoView {
    let app = app();
    let rows = move || {
        app.read(|r| {
            r.state
                .place_rows()
                .into_iter()
                .map(|row| {
                    let seen = row.last_walk.map(|day| dates::days_away(day, r.today));
                    let under = say::place_under(row.kind, row.blocks_percent, seen);
                    view! {
                        <a class="row" href=Route::Place(row.id).href()>
                            <span class="grow"><b>{row.name}</b><br /><span class="small">{under}</span></span>
                            <span class="num" aria-label=common::bulbs(row.n_bulbs)>{row.n_bulbs}</span>
                        </a>
                    }
                })
                .collect_view()
        })
    };
    let n_here = move || app.read(|r| r.state.bulbs.values().filter(|bulb| bulb.is_here()).count());
    let none = move || app.read(|r| r.state.places.is_empty());
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title="Places"
        />
        <Show when=none>
            <p>{say::no_places()}</p>
        </Show>
        {rows}
        <Show when=move || !none()>
            <h2>{stock::all_of_them()}</h2>
            <a class="row" href=Route::Stock.href()>
                <span class="name thin">{stock::title()}</span>
                <span class="lead"></span>
                <span class="num">{n_here}</span>
            </a>
            <a class="row" href=Route::Find.href()><span class="name thin">{say::find_bulb()}</span><span class="lead"></span></a>
            <a class="row" href=Route::Lots.href()><span class="name thin">{mistakes::lots()}</span><span class="lead"></span></a>
        </Show>
        <div class="act">
            <a class="btn" class:main=none href=Route::NewPlace.href()>{say::add_place()}</a>
        </div>
    }
}
