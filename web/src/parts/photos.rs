//! Photos of a bulb, a place or a container: shown from the storage, taken or chosen, kept with their small pictures.

use bloomdue_core::ledger::body::{Body, Photo};
use bloomdue_core::ledger::id::{AttachmentHash, Id};
use bloomdue_core::ledger::shelf::Attachment;
use bloomdue_core::nursery::bulb::photos_of;
use bloomdue_core::record::Command;
use bloomdue_core::sketch::Sign;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, dates, measure, start};
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlInputElement;

use crate::app::{App, Files};
use crate::device::{files, photo};
use crate::parts::drawings;

/// The photos of a bulb, a place or a container, newest first.
#[component]
pub(crate) fn Photos(
    app: App,
    of: Id,
    /// Whether lengths are measured on them.
    #[prop(optional)]
    measured: bool,
) -> impl IntoView {
    let photos = move || {
        // Photos are told by entries alone: they show once every entry is here, and the screen does not wait.
        if !app.whole.get() {
            return Vec::new();
        }
        app.read(|r| {
            let label = r.state.name_of(of).to_owned();
            let photos = photos_of(r.ledger, of);
            let photos = photos.into_iter().rev().map(|photo| {
                let day = dates::date_short(photo.at.date(), r.today);
                let words = say::photo_of(&label, &day, photo.photo.drawn);
                (photo, words)
            });
            photos.collect()
        })
    };
    // Each is read from the storage once, however the list changes around it.
    view! {
        <div class="photos">
            <For each=photos key=|(photo, words)| (photo.entry, words.clone()) let((photo, words))>
                <div>
                    <Shown app=app photo=photo.photo words=words />
                    {measured.then(|| view! {
                        <a class="btn soft no-print" href=Route::Measure(of, photo.entry).href()>{measure::measure()}</a>
                    })}
                </div>
            </For>
        </div>
    }
}

/// The small picture, and the whole one after a tap.
#[component]
fn Shown(app: App, photo: Photo, words: String) -> impl IntoView {
    let large = RwSignal::new(false);
    let picture = move || {
        let (media, words) = (photo.media.clone(), words.clone());
        match photo.thumb {
            Some(thumb) if !large.get() => {
                view! { <Picture app=app hash=thumb small=true media=media words=words /> }.into_any()
            }
            _ => view! { <Picture app=app hash=photo.hash small=false media=media words=words /> }.into_any(),
        }
    };
    view! {
        <div class="shot" class:large=move || large.get()>
            {picture}
            <Show when=move || !large.get()>
                <button type="button" class="btn soft no-print" on:click=move |_| large.set(true)>
                    {say::show_large()}
                </button>
            </Show>
        </div>
    }
}

/// The address of a picture of the storage, until its view goes: nothing yet, an address, or that it is not here.
pub(crate) fn address_of(
    app: App,
    hash: AttachmentHash,
    small: bool,
    media: String,
) -> RwSignal<Option<Option<String>>> {
    let address = RwSignal::new(None::<Option<String>>);
    wasm_bindgen_futures::spawn_local(async move {
        let Some(store) = app.store() else { return };
        let found = if small {
            store.thumb_blob_url(hash, &media).await
        } else {
            store.attachment_blob_url(hash, &media).await
        };
        match found {
            Ok(found) => {
                if let Some(Some(late)) = address.try_set(Some(found)) {
                    // The page was left before the picture came.
                    late.into_iter().for_each(|address| files::forget(&address));
                }
            }
            Err(why) => app.notify(start::not_read(&why)),
        }
    });
    on_cleanup(move || {
        if let Some(Some(Some(address))) = address.try_get_untracked() {
            files::forget(&address);
        }
    });
    address
}

/// A picture of the storage with its words.
#[component]
pub(crate) fn Picture(app: App, hash: AttachmentHash, small: bool, media: String, words: String) -> impl IntoView {
    let address = address_of(app, hash, small, media);
    let day = words.clone();
    move || match address.get() {
        None => ().into_any(),
        Some(Some(address)) => view! {
            <figure class="photo">
                <img class="plate" src=address alt=words.clone() />
                <figcaption class="small">{day.clone()}</figcaption>
            </figure>
        }
        .into_any(),
        Some(None) => view! { <p class="problem">{say::photo_missing()}</p> }.into_any(),
    }
}

/// Two ways to a photo: the camera, or the pictures on the device.
#[component]
pub(crate) fn AddPhoto(
    app: App,
    /// A bulb, a place or a container; several bulbs when the photo shows them all.
    about: Vec<Id>,
    /// What is in the picture, by name.
    #[prop(into)]
    label: Signal<String>,
    /// The screen that leads back to it.
    at: Route,
) -> impl IntoView {
    view! {
        <div class="grid2 gap-above no-print">
            <PhotoButton
                app=app
                about=about.clone()
                label=label
                at=at.clone()
                words=say::take_photo()
                camera=true
            />
            <PhotoButton app=app about=about label=label at=at words=say::choose_photo() camera=false />
        </div>
    }
}

/// One tap to a photo. While it is being made the button says so.
#[component]
pub(crate) fn PhotoButton(
    app: App,
    about: Vec<Id>,
    #[prop(into)] label: Signal<String>,
    at: Route,
    words: &'static str,
    camera: bool,
    /// A sign over the words.
    #[prop(optional, into)]
    sign: Option<Sign>,
) -> impl IntoView {
    let busy = RwSignal::new(false);
    let key = StoredValue::new(format!("photo {at}"));
    let about = StoredValue::new(about);
    // The camera may make the device forget this page: the draft leads back to it.
    let opening = move |_| key.with_value(|key| app.keep_draft(key, b"awaiting photo".to_vec()));
    let chosen = move |event: leptos::ev::Event| {
        let Some(field) = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok()) else {
            return;
        };
        let Some(file) = files::take_chosen(&field).into_iter().next() else {
            return;
        };
        busy.set(true);
        let draft_key = key.get_value();
        wasm_bindgen_futures::spawn_local(async move {
            let about = about.get_value();
            if let Err(why) = keep(app, about, label.get_untracked(), &file, draft_key).await {
                app.wrong(why);
            }
            let _ = busy.try_set(false);
        });
    };
    // A page that is left without a photo has nothing unfinished.
    on_cleanup(move || {
        key.try_with_value(|key| {
            app.let_go(key);
        });
    });
    view! {
        <label class="btn soft file">
            {sign.map(drawings::sign)}
            <span role="status">{move || if busy.get() { say::making_photo() } else { words }}</span>
            <input
                type="file"
                accept="image/*"
                aria-label=words
                capture=camera.then_some("environment")
                on:click=opening
                on:change=chosen
            />
        </label>
    }
}

async fn keep(app: App, about: Vec<Id>, label: String, file: &web_sys::File, draft_key: String) -> Result<(), Problem> {
    let made = photo::make(file).await.map_err(|why| Problem::whole(say::no_photo(&why)))?;
    let (picture, thumb) = (Attachment::of(made.jpeg), Attachment::of(made.thumb));
    let body = Photo {
        hash: picture.hash(),
        thumb: Some(thumb.hash()),
        media: "image/jpeg".to_owned(),
        n_bytes: picture.bytes().len() as u64,
        width_px: made.width_px,
        height_px: made.height_px,
        drawn: false,
    };
    let with = Files { attachments: vec![picture], thumbs: vec![thumb], draft_key: Some(draft_key) };
    let command = Command::Observe { about, body: Body::Photo(body), on: None };
    let entries = app.record_with(command, with).await.map_err(|why| Problem::from(&why))?;
    app.notify_saved(say::photo_saved(&label), entries.iter().map(|entry| entry.id).collect());
    Ok(())
}
