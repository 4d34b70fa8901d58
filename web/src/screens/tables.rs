//! All that is recorded as tables for spreadsheets, R, Python and databases.

use bloomdue_core::handover::file_name;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::route::Route;
use bloomdue_words::told::NotMade;
use bloomdue_words::{files, tables as say};
use leptos::prelude::*;

use crate::app::{App, app, worker};
use crate::device::files::Outgoing;
use crate::device::screen;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;

/// Where the archive stands once it is made.
const READY: &str = "file-ready";

/// How long the tables of a large nursery may take, in s.
const LIMIT_S: u64 = 120;

/// Makes the tables.
#[component]
pub(crate) fn Tables() -> impl IntoView {
    let app = app();
    let ready = RwSignal::new_local(None::<Outgoing>);
    let busy = RwSignal::new(false);
    // What is recorded meanwhile is not in them.
    Effect::new(move |before: Option<()>| {
        app.read(|_| ());
        if before.is_some() {
            ready.set(None);
        }
    });
    let make = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match made(app).await {
                Ok(file) => {
                    let _ = ready.try_set(Some(file));
                    request_animation_frame(|| screen::bring_into_sight(READY));
                }
                Err(why) => app.notify(files::not_made(&why)),
            }
            let _ = busy.try_set(false);
        });
    };
    let words = move || if busy.get() { say::making() } else { say::make() };
    view! {
        <Heading place=files::files_word() title=say::title() back=Route::Files />
        <p class="say">{say::what()}</p>
        <div id=READY>
            {move || ready.get().map(|file| view! { <FileReady app=app file=file page=None /> })}
        </div>
        <ul>{say::TABLES.iter().map(|(_, words)| view! { <li>{*words}</li> }).collect_view()}</ul>
        <p class="small">{say::how_to_read()}</p>
        <p class="note small">{say::no_way_back()}</p>
        <div class="act">
            <button type="button" class="btn main" on:click=make>{words}</button>
        </div>
    }
}

async fn made(app: App) -> Result<Outgoing, NotMade> {
    let now = app.moment().now;
    let (ledger, entries, name) =
        app.peek(|r| (r.ledger.id(), r.ledger.arrived().to_vec(), r.state.name.shown().cloned().unwrap_or_default()));
    let who = app.who.get_untracked();
    let by = app.peek(|r| who.map_or_else(String::new, |who| r.state.name_of(who).to_owned()));
    let today = app.today.get_untracked();
    let task = Task::Tables { ledger, entries, today, made: now.as_str().to_owned() };
    let bytes = match worker::within(task, std::time::Duration::from_secs(LIMIT_S)).await {
        Ok(Done::Tables(bytes)) => bytes,
        // The answer is of the kind of the task.
        Ok(_) => return Err(NotMade::NotWorkedOut(bloomdue_words::told::NotWorkedOut::NoAnswer)),
        Err(why) => return Err(NotMade::NotWorkedOut(why)),
    };
    let named = file_name(&name, &by, &now, "tables.zip");
    Ok(Outgoing::of_bytes(&named, "application/zip", &bytes)?)
}
