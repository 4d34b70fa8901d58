//! A list of records, each one tap from its own page.

use bloomdue_core::ledger::id::EntryId;
use leptos::prelude::*;

use crate::app::route::Route;

/// Rows of a record's id, what it says, and when and by whom.
#[component]
pub(crate) fn Records(rows: Vec<(EntryId, String, String)>) -> impl IntoView {
    rows.into_iter()
        .map(|(id, said, under)| {
            view! {
                <a class="row" href=Route::Record(id).href()>
                    <span class="grow">{said} <br /> <span class="small">{under}</span></span>
                    <span class="go" aria-hidden="true">"›"</span>
                </a>
            }
        })
        .collect_view()
}
