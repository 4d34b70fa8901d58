//! Files: writing the records out, and the way to everything about this device.

use bloomdue_core::handover::others::{Other, n_on_no_other};
use bloomdue_core::handover::{Undoing, file_name, undoing};
use bloomdue_core::ledger::id::EntryId;
use bloomdue_core::ledger::shelf::FileTaken;
use bloomdue_core::record::Command;
use bloomdue_words::route::Route;
use bloomdue_words::told::NotMade;
use bloomdue_words::{dates, evening, files as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::clock;
use crate::device::files::Outgoing;
use crate::device::screen;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::handing_over::{Made, made, others_of};
use crate::parts::heading::Heading;
use crate::store::PhotosIn;

/// What is on this device only, the ways out and in, and everything about this device.
#[component]
pub(crate) fn Files() -> impl IntoView {
    let app = app();
    let link = |route: Route, title: &str, n: Option<usize>| {
        view! {
            <a class="row" href=route.href()>
                <span class="name">{title.to_owned()}</span>
                <span class="lead"></span>
                {n.map(|n| view! { <span class="num">{n}</span> })}
            </a>
        }
    };
    let differ = move || {
        let n = app.read(|r| r.state.n_to_settle());
        (n > 0).then(|| link(Route::Disagreements, say::disagreements(), Some(n)))
    };
    let people = move || {
        let n = app.read(|r| r.state.persons.len());
        link(Route::People, say::people(), Some(n))
    };
    let out = Out::new(app);
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::files_word()
        />
        {out.said()}
        {link(Route::TakeIn, say::take_in(), None)}
        {differ}
        {link(Route::Tables, bloomdue_words::tables::title(), None)}
        {link(Route::CalendarFile, bloomdue_words::due::calendar_file(), None)}
        {people}
        {link(Route::Storage, say::storage(), None)}
        {link(Route::Knowledge(None), bloomdue_words::knowledge::title(), None)}
        {link(Route::Words(None), bloomdue_words::glossary::title(), None)}
        {link(Route::Start, say::nurseries(), None)}
        {move || app.read(|r| say::later_here(r.ledger, r.today)).map(|line| view! { <p class="small">{line}</p> })}
        <Taken app=app />
        {out.bar()}
    }
}

const READY: &str = "file-ready";

/// Writing the records out. A file is made first and leaves with a second tap: a share sheet opens only inside a tap.
#[derive(Clone, Copy)]
struct Out {
    app: App,
    photos: RwSignal<PhotosIn>,
    made: RwSignal<Option<Made>, LocalStorage>,
    busy: RwSignal<bool>,
}

impl Out {
    fn new(app: App) -> Self {
        Self {
            app,
            photos: RwSignal::new(PhotosIn::Thumbs),
            made: RwSignal::new_local(None),
            busy: RwSignal::new(false),
        }
    }

    /// What is on this device only, the file once it is made, and what goes into the next one.
    fn said(self) -> impl IntoView {
        let app = self.app;
        let n = move || app.read(|r| r.ledger.len());
        let open = RwSignal::new(false);
        let others = RwSignal::new(Vec::<Other>::new());
        wasm_bindgen_futures::spawn_local(async move {
            // What was heard may be lost; then nothing is said of it.
            if let Ok(known) = others_of(app).await {
                let _ = others.try_set(known);
            }
        });
        let alone = move || {
            let n = others.with(|others| (!others.is_empty()).then(|| app.read(|r| n_on_no_other(r.ledger, others))));
            n.map(evening::on_no_other)
        };
        let choices = vec![
            (PhotosIn::Without, say::photos_none().to_owned()),
            (PhotosIn::Thumbs, say::photos_small().to_owned()),
            (PhotosIn::All, say::photos_all().to_owned()),
        ];
        let known = choices.clone();
        let chosen = move || {
            let now = self.photos.get();
            known.iter().find(|(photos, _)| *photos == now).map_or_else(String::new, |(_, words)| words.clone())
        };
        // Another choice makes another file.
        Effect::new(move |before: Option<PhotosIn>| {
            let now = self.photos.get();
            if before.is_some_and(|before| before != now) {
                self.made.set(None);
            }
            now
        });
        let choices = StoredValue::new(choices);
        let pieces: Vec<_> = say::with_photos()
            .into_iter()
            .map(|(text, part)| {
                let choose = part.map(|_| {
                    view! {
                        <button
                            type="button"
                            class="ed"
                            aria-expanded=move || if open.get() { "true" } else { "false" }
                            on:click=move |_| open.update(|open| *open = !*open)
                        >
                            {chosen.clone()}
                        </button>
                    }
                });
                view! { {text} {choose} }
            })
            .collect();
        view! {
            <p class="say">{move || say::last_copy(n(), &app.copied())}</p>
            <p class="small">{move || say::n_here(n())} " " {alone}</p>
            <div id=READY>
                {move || self.made.get().map(|made| {
                    let Made { file, page, .. } = made.clone();
                    let done = Callback::new(move |()| made.handed_over(app));
                    view! { <FileReady app=app file=file page=page done=done /> }
                })}
            </div>
            <p class="sentence">{pieces}</p>
            <Show when=move || open.get()>
                <div class="asked">
                    <Chips label=say::photos_label() choices=choices.get_value() value=self.photos />
                </div>
            </Show>
        }
    }

    fn bar(self) -> impl IntoView {
        let words = move || if self.busy.get() { say::writing() } else { say::write_file() };
        view! {
            <div class="act pair">
                <button type="button" class="btn" on:click=move |_| self.make()>{words}</button>
                <a class="btn main" href=Route::Evening.href()>{evening::title()}</a>
            </div>
        }
    }

    fn make(self) {
        if self.busy.get_untracked() {
            return;
        }
        self.busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match made(self.app, None, self.photos.get_untracked()).await {
                Ok(file) => {
                    let _ = self.made.try_set(Some(file));
                    request_animation_frame(|| screen::bring_into_sight(READY));
                }
                Err(why) => self.app.notify(say::not_made(&why)),
            }
            let _ = self.busy.try_set(false);
        });
    }
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
            Err(why) => app.notify(bloomdue_words::start::not_read(&why)),
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
    /// What of it stands.
    Known(Undoing),
    /// The same, and it is asked whether to take all of it back.
    Asked(Undoing),
    /// What was set aside stands in this file.
    Aside(Outgoing),
}

#[component]
fn OneTaken(app: App, file: FileTaken) -> impl IntoView {
    let way = RwSignal::new_local(Way::Folded);
    let when = dates::moment(&clock::written(file.taken_ms), app.today.get_untracked());
    let line = say::file_taken(&file, &when);
    let name = file.name.clone();
    let kept = StoredValue::new(file.clone());
    let ask = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            match ways(app, kept.get_value()).await {
                Ok(found) => {
                    let _ = way.try_set(found);
                }
                Err(why) => app.notify(say::not_made(&why)),
            }
        });
    };
    let take_back = move |entries: Vec<EntryId>, said: String| {
        app.save(Command::TakeBack { entries, why: None }, said);
    };
    // Whether it stands or was taken back is known before anything is tapped, and again after every record.
    if !file.is_aside() {
        Effect::new(move |_| {
            app.read(|_| ());
            wasm_bindgen_futures::spawn_local(async move {
                // What cannot be read is told when it is asked for.
                if let Ok(found) = ways(app, kept.get_value()).await {
                    let _ = way.try_set(found);
                }
            });
        });
    }
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
            Way::Known(undoing) if !undoing.in_force.is_empty() => {
                let asked = move |_| way.set(Way::Asked(undoing.clone()));
                view! { <button type="button" class="btn soft" on:click=asked>{first}</button> }.into_any()
            }
            Way::Asked(undoing) if !undoing.in_force.is_empty() => {
                let n = undoing.in_force.len();
                let said = say::all_taken_back(&kept.get_value().name);
                let leave = Way::Known(undoing.clone());
                let yes = move |_| take_back(undoing.in_force.clone(), said.clone());
                view! {
                    <p class="problem" role="alert">{say::take_all_back_under(n)}</p>
                    <div class="grid2">
                        <button type="button" class="btn" on:click=move |_| way.set(leave.clone())>{say::leave_it()}</button>
                        <button type="button" class="btn" on:click=yes>{say::take_all_back()}</button>
                    </div>
                }
                .into_any()
            }
            Way::Known(undoing) | Way::Asked(undoing) if !undoing.taken_back_by.is_empty() => {
                let said = say::brought_back(&kept.get_value().name);
                let is_back = say::is_taken_back(undoing.n_brought);
                let yes = move |_| take_back(undoing.taken_back_by.clone(), said.clone());
                view! {
                    <p role="status"><b>{is_back}</b> " " <span class="small">{say::bring_back_under()}</span></p>
                    <button type="button" class="btn" on:click=yes>{say::bring_back()}</button>
                }
                .into_any()
            }
            Way::Known(_) | Way::Asked(_) => view! { <p class="small">{say::nothing_in_force()}</p> }.into_any(),
        }}
    }
}

async fn ways(app: App, file: FileTaken) -> Result<Way, NotMade> {
    let store = app.store().ok_or(NotMade::NoNurseryOpen)?;
    if file.is_aside() {
        let name = app.peek(|r| r.state.name.shown().cloned().unwrap_or_default());
        let now = app.moment().now;
        let blob = store.aside_file(&file, &name, now.as_str()).await?;
        let file_name = file_name(&say::aside_of(&name), "", &now, "bloomdue.json");
        return Ok(Way::Aside(Outgoing::of_blob(&file_name, "application/json", &blob)?));
    }
    let brought = store.brought_by(&file).await?;
    let device = app.line.with_untracked(|line| line.as_ref().map(|line| line.device));
    let device = device.ok_or(NotMade::NoNurseryOpen)?;
    Ok(Way::Known(app.peek(|r| undoing(r.ledger, &brought, device))))
}
