//! Due: what needs hands today, by place.

use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::parts::heading::Heading;
use crate::words::en as say;

/// What needs hands today.
#[component]
pub(crate) fn Due() -> impl IntoView {
    let app = app();
    let place = move || app.read(|r| say::nursery_and_week(r.state.name.shown().map_or("", String::as_str), r.today));
    let title = move || app.read(|r| say::date_long(r.today));
    let empty = move || app.read(|r| r.state.bulbs.is_empty());
    view! {
        <Heading place=Signal::derive(place) title=Signal::derive(title) />
        <Show when=empty>
            <p class="say">{say::nothing_recorded()}</p>
            <a class="btn main" href=Route::Places.href()>{say::begin_with_a_place()}</a>
        </Show>
    }
}
