//! Photos of a bulb: shown from the storage, taken or chosen, kept with their small pictures.

use bloomdue_core::ledger::body::{Body, Photo};
use bloomdue_core::ledger::id::{AttachmentHash, Id};
use bloomdue_core::ledger::shelf::Attachment;
use bloomdue_core::record::Command;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlInputElement;

use crate::app::{App, Files};
use crate::device::{files, photo};
use crate::words::{bulb as say, en};

/// The photos of a bulb, newest first.
#[component]
pub(crate) fn Photos(app: App, bulb: Id) -> impl IntoView {
    move || {
        app.read(|r| {
            let Some(known) = r.state.bulbs.get(&bulb) else {
                return Vec::new();
            };
            let label = known.label().to_owned();
            let photos = known.photos.iter().rev().map(|photo| {
                let day = en::date_short(photo.at.date(), r.today);
                (
                    photo.photo.clone(),
                    say::photo_of(&label, &day, photo.photo.drawn),
                )
            });
            photos.collect::<Vec<_>>()
        })
        .into_iter()
        .map(|(photo, words)| view! { <Shown app=app photo=photo words=words /> })
        .collect_view()
    }
}

/// The small picture, and the whole one after a tap.
#[component]
fn Shown(app: App, photo: Photo, words: String) -> impl IntoView {
    let large = RwSignal::new(photo.thumb.is_none());
    move || {
        let (media, words) = (photo.media.clone(), words.clone());
        match photo.thumb {
            Some(thumb) if !large.get() => view! {
                <Picture app=app hash=thumb small=true media=media words=words />
                <button type="button" class="btn soft no-print" on:click=move |_| large.set(true)>
                    {say::show_large()}
                </button>
            }
            .into_any(),
            _ => view! { <Picture app=app hash=photo.hash small=false media=media words=words /> }
                .into_any(),
        }
    }
}

#[component]
fn Picture(
    app: App,
    hash: AttachmentHash,
    small: bool,
    media: String,
    words: String,
) -> impl IntoView {
    // Nothing yet, an address, or that it is not here.
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
            Err(why) => app.say(en::store_error(&why)),
        }
    });
    on_cleanup(move || {
        if let Some(Some(Some(address))) = address.try_get_untracked() {
            files::forget(&address);
        }
    });
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
pub(crate) fn AddPhoto(app: App, bulb: Id) -> impl IntoView {
    view! {
        <div class="grid2 no-print">
            <PhotoButton app=app bulb=bulb words=say::take_photo() camera=true />
            <PhotoButton app=app bulb=bulb words=say::choose_photo() camera=false />
        </div>
    }
}

/// One tap to a photo of a bulb. While it is being made the button says so.
#[component]
pub(crate) fn PhotoButton(app: App, bulb: Id, words: &'static str, camera: bool) -> impl IntoView {
    let busy = RwSignal::new(false);
    let key = format!("photo {}", crate::app::route::Route::Bulb(bulb));
    let key = StoredValue::new(key);
    // The camera may make the device forget this page: the draft leads back to it.
    let opening = move |_| key.with_value(|key| app.keep_draft(key, b"awaiting photo".to_vec()));
    let chosen = move |event: leptos::ev::Event| {
        let Some(field) = event
            .target()
            .and_then(|target| target.dyn_into::<HtmlInputElement>().ok())
        else {
            return;
        };
        let Some(file) = files::take_chosen(&field).into_iter().next() else {
            return;
        };
        busy.set(true);
        let draft_key = key.get_value();
        wasm_bindgen_futures::spawn_local(async move {
            if let Err(why) = keep(app, bulb, &file, draft_key).await {
                app.say(why);
            }
            let _ = busy.try_set(false);
        });
    };
    // A page that is left without a photo has nothing unfinished.
    on_cleanup(move || {
        key.try_with_value(|key| {
            if app.draft(key).is_some() {
                app.keep_draft(key, Vec::new());
            }
        });
    });
    view! {
        <label class="btn soft file">
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

async fn keep(app: App, bulb: Id, file: &web_sys::File, draft_key: String) -> Result<(), String> {
    let made = photo::make(file).await?;
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
    let with = Files {
        attachments: vec![picture],
        thumbs: vec![thumb],
        draft_key: Some(draft_key),
    };
    let command = Command::Observe {
        about: vec![bulb],
        body: Body::Photo(body),
        on: None,
    };
    let entries = app.record_with(command, with).await?;
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    app.say_saved(
        say::photo_saved(&label),
        entries.iter().map(|entry| entry.id).collect(),
    );
    Ok(())
}
