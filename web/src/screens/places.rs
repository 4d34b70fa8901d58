//! Places: where bulbs stand.

use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::parts::heading::Heading;
use crate::words::{en as say, mistakes};

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
                    let seen = row.last_walk.map(|day| say::days_away(day, r.today));
                    let under = say::place_under(row.kind, row.blocks_percent, seen);
                    view! {
                        <a class="row" href=Route::Place(row.id).href()>
                            <span class="grow"><b>{row.name}</b><br /><span class="small">{under}</span></span>
                            <span class="num" aria-label=say::bulbs(row.n_bulbs)>{row.n_bulbs}</span>
                            <span class="go" aria-hidden="true">"›"</span>
                        </a>
                    }
                })
                .collect_view()
        })
    };
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
        <div class="stack gap-above">
            <a class="btn soft" href=Route::NewPlace.href()>{say::add_place()}</a>
            <a class="btn soft" href=Route::Lots.href()>{mistakes::lots()}</a>
            <a class="btn soft" href=Route::Find.href()>{say::find_bulb()}</a>
        </div>
    }
}
