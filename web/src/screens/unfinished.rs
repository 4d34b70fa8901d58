//! A nursery whose last start did not reach its first screen. Nothing of it is read for this page.

use bloomdue_core::handover::file_name;
use bloomdue_core::ledger::id::Id;
use bloomdue_words::route::Route;
use bloomdue_words::told::NotMade;
use bloomdue_words::{files as say, start};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::files::Outgoing;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;
use crate::store;

/// Opening it all the same, and what can be done without opening it.
#[component]
pub(crate) fn Unfinished(ledger: Id) -> impl IntoView {
    let app = app();
    let busy = RwSignal::new(false);
    let told = RwSignal::new(None::<String>);
    let made = RwSignal::new_local(None::<Outgoing>);
    let name = name_of(app, ledger);
    let under = say::unfinished_under(&name);
    let open = move |_| {
        wasm_bindgen_futures::spawn_local(async move { app.open(ledger, true).await });
    };
    let write = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match raw_file(app, ledger).await {
                Ok(file) => {
                    let _ = made.try_set(Some(file));
                }
                Err(why) => {
                    let _ = told.try_set(Some(say::not_made(&why)));
                }
            }
            let _ = busy.try_set(false);
        });
    };
    let aside = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            let said = match store::set_last_aside(ledger).await {
                Ok(Some(file)) => say::was_set_aside(&file),
                Ok(None) => say::nothing_to_set_aside().to_owned(),
                Err(why) => start::store_error(&why),
            };
            let _ = told.try_set(Some(said));
        });
    };
    let others = app.known_now().into_iter().filter(move |known| known.ledger != ledger);
    let others = others
        .map(|known| {
            let open = move |_| {
                wasm_bindgen_futures::spawn_local(async move {
                    app.open(known.ledger, false).await;
                    app.go(Route::Due);
                });
            };
            view! {
                <button type="button" class="btn" on:click=open>{say::other_nursery(&known.name)}</button>
            }
        })
        .collect_view();
    view! {
        <main class="sheet">
            <Heading place="Bloomdue" title=say::unfinished() />
            <p>{under}</p>
            <div class="stack">
                <button type="button" class="btn main" on:click=open>{say::open_it()}</button>
            </div>
            <p class="small gap-above">{say::if_it_comes_back()}</p>
            <div class="stack">
                <button type="button" class="btn" on:click=write>
                    {move || if busy.get() { say::writing() } else { say::write_raw() }}
                </button>
                {move || made.get().map(|file| view! { <FileReady app=app file=file /> })}
                <button type="button" class="btn" on:click=aside>{say::set_aside()}</button>
                <p class="small">{say::set_aside_under()}</p>
                <p role="status">{move || told.get()}</p>
                {others}
            </div>
        </main>
    }
}

fn name_of(app: App, ledger: Id) -> String {
    let known = app.known_now().into_iter();
    let mut known = known.filter(|known| known.ledger == ledger);
    known.next().map(|known| known.name).unwrap_or_default()
}

async fn raw_file(app: App, ledger: Id) -> Result<Outgoing, NotMade> {
    let name = name_of(app, ledger);
    let made = app.moment().now;
    let blob = store::raw_file(ledger, &name, made.as_str()).await?;
    let file_name = file_name(&say::raw_of(&name), "", &made, "bloomdue.json");
    Ok(Outgoing::of_blob(&file_name, "application/json", &blob)?)
}
