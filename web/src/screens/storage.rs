//! What this device keeps, how safe it is, and wiping it.

use bloomdue_words::route::Route;
use bloomdue_words::{files as say, start};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::{install, update::Updates};
use crate::parts::heading::Heading;
use crate::store::{self, StorageState};

/// The true state of the storage.
#[component]
pub(crate) fn Storage() -> impl IntoView {
    let app = app();
    let updates: Updates = expect_context();
    let state = RwSignal::new(None::<StorageState>);
    let ask = move || {
        wasm_bindgen_futures::spawn_local(async move {
            let now = store::storage_state().await;
            let _ = state.try_set(Some(now));
        });
    };
    ask();
    let keep = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            let kept = store::ask_to_persist().await;
            app.notify(say::kept(kept));
            ask();
        });
    };
    let facts = move || {
        let mut lines = vec![app.read(|r| say::n_records(r.ledger.len(), r.ledger.unknown().count()))];
        if app.line.with(Option::is_some) {
            lines.push(say::last_copy(app.read(|r| r.ledger.len()), &app.copied()));
        }
        if let Some(state) = state.get() {
            lines.push(say::room(state.used_bytes, state.quota_bytes));
            lines.push(say::promise(state.persisted).to_owned());
        }
        lines.push(say::opened(install::opened()).to_owned());
        lines
            .push(if updates.ready_offline.get() { say::offline_ready() } else { say::offline_not_ready() }.to_owned());
        if let Some(why) = updates.refused.get() {
            lines.push(say::no_offline(&why));
        }
        lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view()
    };
    let problems = move || {
        app.read(|r| {
            let problems = r.ledger.problems();
            say::problems(&problems, problems.len())
        })
        .into_iter()
        .map(|line| view! { <li>{line}</li> })
        .collect_view()
    };
    let any = move || app.read(|r| !r.ledger.problems().is_empty());
    view! {
        <Heading place=say::files_word() title=say::storage() back=Route::Files />
        <ul>{facts}</ul>
        <button type="button" class="btn soft" on:click=keep>{say::ask_to_keep()}</button>
        <Show when=any>
            <h2>{say::noticed()}</h2>
            <ul>{problems}</ul>
        </Show>
        <h2>{say::wipe_heading()}</h2>
        <Wipe app=app />
    }
}

/// Two taps, the second saying what would be lost.
#[component]
fn Wipe(app: App) -> impl IntoView {
    let sure = RwSignal::new(false);
    let at_risk = move || say::wipe_risk(app.read(|r| r.ledger.len()), &app.copied());
    let wipe = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            let Some(store) = app.store() else { return };
            match store.wipe().await {
                Ok(()) => app.leave().await,
                Err(why) => app.notify(start::store_error(&why)),
            }
        });
    };
    view! {
        <p class="small">{say::wipe_under()}</p>
        <Show
            when=move || sure.get()
            fallback=move || view! {
                <button type="button" class="btn soft" on:click=move |_| sure.set(true)>{say::wipe()}</button>
            }
        >
            <p class="problem" role="alert">{at_risk}</p>
            <div class="grid2">
                <button type="button" class="btn" on:click=move |_| sure.set(false)>{say::keep_it()}</button>
                <button type="button" class="btn" on:click=wipe>{say::wipe_really()}</button>
            </div>
        </Show>
    }
}
