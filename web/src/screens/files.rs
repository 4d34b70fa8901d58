//! Files: writing the records out, and the way to everything about this device.

use bloomdue_core::handover::{Undoing, file_name, undoing};
use bloomdue_core::ledger::id::EntryId;
use bloomdue_core::ledger::shelf::FileTaken;
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::clock;
use crate::device::files::Outgoing;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;
use crate::store::{PhotosIn, StoreError};
use crate::words::files as say;

/// Out, in, persons, storage, disagreements.
#[component]
pub(crate) fn Files() -> impl IntoView {
    let app = app();
    let n_disagreements = move || app.read(|r| r.state.n_to_settle());
    let link = |route: Route, title: String, under: String| {
        view! {
            <a class="row" href=route.href()>
                <span class="grow"><b>{title}</b> <br /> <span class="small">{under}</span></span>
                <span class="go" aria-hidden="true">"›"</span>
            </a>
        }
    };
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::files_word()
        />
        <h2>{say::out()}</h2>
        <Out app=app />
        <h2>{say::further()}</h2>
        {link(Route::TakeIn, say::take_in().to_owned(), say::take_in_under().to_owned())}
        <Taken app=app />
        {move || app.read(|r| say::later_here(r.ledger)).map(|line| view! { <p class="small">{line}</p> })}
        {move || {
            let n = n_disagreements();
            (n > 0).then(|| link(Route::Disagreements, say::disagreements().to_owned(), say::n_values(n)))
        }}
        {link(Route::CalendarFile, crate::words::due::calendar_file().to_owned(), crate::words::jobs::calendar_link().to_owned())}
        {link(Route::People, say::people().to_owned(), say::people_link().to_owned())}
        {link(Route::Storage, say::storage().to_owned(), say::storage_under().to_owned())}
        {link(Route::Start, say::nurseries().to_owned(), say::nurseries_under().to_owned())}
    }
}

/// A file is made first and leaves with a second tap: a share sheet opens only inside a tap.
#[component]
fn Out(app: App) -> impl IntoView {
    let photos = RwSignal::new(PhotosIn::Thumbs);
    // The file, and this device's last line in it.
    let made = RwSignal::new_local(None::<(Outgoing, u64)>);
    let busy = RwSignal::new(false);
    let choices = vec![
        (PhotosIn::Without, say::photos_none().to_owned()),
        (PhotosIn::Thumbs, say::photos_small().to_owned()),
        (PhotosIn::All, say::photos_all().to_owned()),
    ];
    let make = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match compose(app, photos.get_untracked()).await {
                Ok(file) => {
                    let _ = made.try_set(Some(file));
                }
                Err(why) => app.say(why),
            }
            let _ = busy.try_set(false);
        });
    };
    let exported = move |up_to: u64| {
        wasm_bindgen_futures::spawn_local(async move {
            let Some(store) = app.store() else { return };
            match store.mark_exported(up_to).await {
                Ok(line) => app.line.set(Some(line)),
                // The file itself went out; that nothing can be noted any more stands above.
                Err(StoreError::Cleared | StoreError::Wiped) => {}
                Err(why) => app.say(crate::words::en::store_error(&why)),
            }
        });
    };
    let copied =
        move || app.line.with(|line| line.as_ref().map_or((0, 0), |line| (line.exported_ms, line.since_export)));
    let n = move || app.read(|r| r.ledger.len());
    view! {
        <p class="small">{move || say::out_under(n(), copied())}</p>
        <Chips label=say::photos_label() choices=choices value=photos />
        <button type="button" class="btn main" on:click=make>
            {move || if busy.get() { say::writing() } else { say::write_file() }}
        </button>
        {move || made.get().map(|(file, up_to)| {
            let done = Callback::new(move |()| exported(up_to));
            view! { <FileReady app=app file=file done=done /> }
        })}
    }
}

async fn compose(app: App, photos: PhotosIn) -> Result<(Outgoing, u64), String> {
    let store = app.store().ok_or_else(|| crate::words::en::no_nursery_open().to_owned())?;
    // What other tabs have saved goes into it too. Where that cannot be read, the file holds what this one knows of.
    let known = app.line.with_untracked(|line| line.as_ref().map_or(0, |line| line.line));
    let up_to = store.catch_up().await.map_or(known, |line| line.line);
    let (ledger, name) = app.peek(|r| (r.ledger.clone(), r.state.name.shown().cloned().unwrap_or_default()));
    let now = app.moment().now;
    let blob =
        store.export(&ledger, &name, now.as_str(), photos).await.map_err(|why| crate::words::en::store_error(&why))?;
    let who = app.who.get_untracked();
    let who = app.peek(|r| who.map_or_else(String::new, |who| r.state.name_of(who).to_owned()));
    let file_name = file_name(&name, &who, &now, "bloomdue.json");
    let file = Outgoing::of_blob(&file_name, "application/json", &blob)?;
    Ok((file, up_to))
}

/// The files taken in, each with the way back.
#[component]
fn Taken(app: App) -> impl IntoView {
    let files = RwSignal::new(Vec::<FileTaken>::new());
    wasm_bindgen_futures::spawn_local(async move {
        let Some(store) = app.store() else { return };
        match store.files().await {
            Ok(row) => {
                let _ = files.try_set(row.files.into_iter().rev().collect());
            }
            Err(why) => app.say(crate::words::en::store_error(&why)),
        }
    });
    let some = Memo::new(move |_| !files.with(Vec::is_empty));
    view! {
        <Show when=move || some.get()>
            <h2>{say::files_taken()}</h2>
            {move || {
                let files = files.get().into_iter();
                files.map(|file| view! { <OneTaken app=app file=file /> }).collect_view()
            }}
        </Show>
    }
}

/// What can be done with a file taken in.
#[derive(Clone)]
enum Way {
    /// Nothing was asked yet.
    Folded,
    /// This can be undone.
    Asked(Undoing),
    /// What was set aside stands in this file.
    Aside(Outgoing),
}

#[component]
fn OneTaken(app: App, file: FileTaken) -> impl IntoView {
    let way = RwSignal::new_local(Way::Folded);
    let when = clock::written(file.taken_ms);
    let line = say::file_taken(&file, &when);
    let name = file.name.clone();
    let kept = StoredValue::new(file.clone());
    let ask = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            match ways(app, kept.get_value()).await {
                Ok(found) => {
                    let _ = way.try_set(found);
                }
                Err(why) => app.say(why),
            }
        });
    };
    let take_back = move |entries: Vec<EntryId>, said: String| {
        way.set(Way::Folded);
        app.save(Command::TakeBack { entries, why: None }, said);
    };
    let first = if file.is_aside() { say::write_aside() } else { say::take_all_back() };
    view! {
        <div class="row">
            <span class="grow"><b>{name}</b> <br /> <span class="small">{line}</span></span>
        </div>
        {move || match way.get() {
            Way::Folded => {
                view! { <button type="button" class="btn soft" on:click=ask>{first}</button> }.into_any()
            }
            Way::Aside(file) => view! { <FileReady app=app file=file /> }.into_any(),
            Way::Asked(undoing) if !undoing.in_force.is_empty() => {
                let n = undoing.in_force.len();
                let said = say::all_taken_back(&kept.get_value().name);
                let yes = move |_| take_back(undoing.in_force.clone(), said.clone());
                view! {
                    <p class="problem" role="alert">{say::take_all_back_under(n)}</p>
                    <div class="grid2">
                        <button type="button" class="btn" on:click=move |_| way.set(Way::Folded)>{say::leave_it()}</button>
                        <button type="button" class="btn" on:click=yes>{say::take_all_back()}</button>
                    </div>
                }
                .into_any()
            }
            Way::Asked(undoing) if !undoing.taken_back_by.is_empty() => {
                let said = say::brought_back(&kept.get_value().name);
                let yes = move |_| take_back(undoing.taken_back_by.clone(), said.clone());
                view! {
                    <p class="small">{say::bring_back_under()}</p>
                    <button type="button" class="btn" on:click=yes>{say::bring_back()}</button>
                }
                .into_any()
            }
            Way::Asked(_) => view! { <p class="small">{say::nothing_in_force()}</p> }.into_any(),
        }}
    }
}

async fn ways(app: App, file: FileTaken) -> Result<Way, String> {
    let failed = |why| crate::words::en::store_error(&why);
    let store = app.store().ok_or_else(|| crate::words::en::no_nursery_open().to_owned())?;
    if file.is_aside() {
        let name = app.peek(|r| r.state.name.shown().cloned().unwrap_or_default());
        let now = app.moment().now;
        let blob = store.aside_file(&file, &name, now.as_str()).await.map_err(failed)?;
        let file_name = file_name(&say::aside_of(&name), "", &now, "bloomdue.json");
        return Outgoing::of_blob(&file_name, "application/json", &blob).map(Way::Aside);
    }
    let brought = store.brought_by(&file).await.map_err(failed)?;
    let device = app.line.with_untracked(|line| line.as_ref().map(|line| line.device));
    let device = device.ok_or_else(|| crate::words::en::no_nursery_open().to_owned())?;
    Ok(Way::Asked(app.peek(|r| undoing(r.ledger, &brought, device))))
}
