//! How many stalks to expect by size: the trade's tables beside what bulbs did here.

use bloomdue_core::plan::scapes::by_size;
use bloomdue_words::route::Route;
use bloomdue_words::{common, scapes as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::heading::Heading;
use crate::parts::plots::table::numbers;

/// The table.
#[component]
pub(crate) fn Scapes() -> impl IntoView {
    let app = app();
    let table = move || app.read(|r| numbers(&say::table(&by_size(r.ledger, r.state))));
    let sources = say::sources().map(|line| view! { <li>{line}</li> });
    view! {
        <Heading place=common::places_word() title=say::title() back=Route::Stock />
        <p class="say">{say::say()}</p>
        {table}
        <p class="small">{say::yours_hint()}</p>
        <ul class="small">{sources.into_iter().collect_view()}</ul>
        <p>{say::take()}</p>
        <p>{say::match_them()}</p>
        <a class="btn" href=Route::PlanBack(None).href()>{say::to_plan()}</a>
    }
}
