//! Shade from two photos of one card: the photos are read and not kept.

use bloomdue_core::sight::shade::{self, NoShade, Patch};
use bloomdue_words::measure as say;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlInputElement;

use crate::device::{files, photo};
use crate::parts::fold::Fold;

/// What one photo came to.
type Read = Option<Result<Patch, NoShade>>;

/// Two photos to choose, and the shade between them.
#[component]
pub(crate) fn ShadeByPhotos(
    /// Takes the per cent over.
    take: Callback<u32>,
) -> impl IntoView {
    let (open, here) = (RwSignal::new(None::<Result<Patch, NoShade>>), RwSignal::new(None::<Result<Patch, NoShade>>));
    let answer = move || {
        let (open, here) = (open.get()?, here.get()?);
        Some(open.and_then(|open| shade::shade(&open, &here?)))
    };
    let percent = move || {
        let (read, ..) = answer()?.ok()?.percent();
        (0.0..=100.0).contains(&read).then_some(read.round() as u32)
    };
    view! {
        <Fold summary=say::shade_by_photos()>
            <p class="small">{say::shade_how()}</p>
            <div class="grid2">
                <Choose words=say::shade_open() read=open />
                <Choose words=say::shade_here() read=here />
            </div>
            {move || answer().map(|answer| match answer {
                Ok(found) => view! {
                    <p class="say" role="status">{say::shade(&found)}</p>
                    <p class="small">{say::shade_at_best()}</p>
                }
                .into_any(),
                Err(why) => view! { <p class="problem" role="status">{say::no_shade(why)}</p> }.into_any(),
            })}
            {move || percent().map(|percent| view! {
                <button type="button" class="btn soft" on:click=move |_| take.run(percent)>{say::take_shade(percent)}</button>
            })}
        </Fold>
    }
}

#[component]
fn Choose(words: &'static str, read: RwSignal<Read>) -> impl IntoView {
    let chosen = move |event: leptos::ev::Event| {
        let Some(field) = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok()) else {
            return;
        };
        let Some(file) = files::take_chosen(&field).into_iter().next() else {
            return;
        };
        wasm_bindgen_futures::spawn_local(async move {
            let found = photo::patch(&file).await;
            let _ = read.try_set(Some(found));
        });
    };
    let said = move || match read.get() {
        None => words.to_owned(),
        Some(Ok(_)) => say::shade_read(words),
        Some(Err(_)) => say::shade_not_read(words),
    };
    view! {
        <label class="btn soft file">
            <span>{said}</span>
            <input type="file" accept="image/*" aria-label=words on:change=chosen />
        </label>
    }
}
