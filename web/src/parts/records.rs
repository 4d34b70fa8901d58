//! Lists of records: each one tap from its own page, or one tap from being taken back.

use bloomdue_core::ledger::id::EntryId;
use bloomdue_core::record::Command;
use bloomdue_words::records as say;
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::App;

/// Rows of a record's id, what it says, and when and by whom.
#[component]
pub(crate) fn Records(#[prop(into)] rows: Signal<Vec<(EntryId, String, String)>>) -> impl IntoView {
    view! {
        <For each=move || rows.get() key=Clone::clone let((id, said, under))>
            <a class="row" href=Route::Record(id).href()>
                <span class="grow">{said} <br /> <span class="small">{under}</span></span>
            </a>
        </For>
    }
}

/// Rows of the same, each with the button that takes it back.
pub(crate) fn taken_back_here(app: App, rows: Vec<(EntryId, String, String)>) -> impl IntoView {
    rows.into_iter()
        .map(|(entry, said, under)| {
            let take_back = move |_| {
                let command = Command::TakeBack { entries: vec![entry], why: None };
                app.save(command, say::took_back());
            };
            view! {
                <div class="row">
                    <span class="grow"><b>{said}</b> <br /> <span class="small">{under}</span></span>
                    <button type="button" class="btn soft" on:click=take_back>{say::take_back()}</button>
                </div>
            }
        })
        .collect_view()
}
