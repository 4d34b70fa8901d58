//! Files: writing the records out, and the way to everything about this device.

use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::files::Outgoing;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;
use crate::store::PhotosIn;
use crate::words::files as say;

/// Out, in, persons, storage, disagreements.
#[component]
pub(crate) fn Files() -> impl IntoView {
    let app = app();
    let n_disagreements = move || app.read(|r| r.state.disagreements.len());
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
    let made = RwSignal::new_local(None::<Outgoing>);
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
    let exported = Callback::new(move |()| {
        wasm_bindgen_futures::spawn_local(async move {
            let Some(store) = app.store() else { return };
            match store.mark_exported().await {
                Ok(line) => app.line.set(Some(line)),
                Err(why) => app.say(crate::words::en::store_error(&why)),
            }
        });
    });
    let since = move || {
        app.line
            .with(|line| line.as_ref().map_or(0, |line| line.since_export))
    };
    let n = move || app.read(|r| r.ledger.len());
    view! {
        <p class="small">{move || say::out_under(n(), since())}</p>
        <Chips label=say::photos_label() choices=choices value=photos />
        <button type="button" class="btn main" on:click=make>
            {move || if busy.get() { say::writing() } else { say::write_file() }}
        </button>
        {move || made.get().map(|file| view! { <FileReady app=app file=file saved=say::written() done=exported /> })}
    }
}

async fn compose(app: App, photos: PhotosIn) -> Result<Outgoing, String> {
    let store = app
        .store()
        .ok_or_else(|| crate::words::en::no_nursery_open().to_owned())?;
    let (ledger, name) = app.peek(|r| {
        (
            r.ledger.clone(),
            r.state.name.shown().cloned().unwrap_or_default(),
        )
    });
    let now = app.moment().now;
    let blob = store
        .export(&ledger, &name, now.as_str(), photos)
        .await
        .map_err(|why| crate::words::en::store_error(&why))?;
    let file_name = say::file_name(&name, app.today.get_untracked());
    Outgoing::of_blob(&file_name, "application/json", &blob)
}
