//! A label held before the camera: opens its bulb, or the walk there.

use std::rc::Rc;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::sight::code;
use bloomdue_words::route::Route;
use bloomdue_words::{common, labels as say, places};
use leptos::html::Video;
use leptos::prelude::*;

use super::walk::begin_at;
use crate::app::app;
use crate::device::camera::{Camera, NoCamera, Seen};
use crate::parts::heading::Heading;
use crate::store::pause;

/// Between two looks through the camera, in ms.
const EVERY_MS: i32 = 120;

/// What came of the camera.
#[derive(Clone, PartialEq, Eq)]
enum At {
    Looking,
    Off(NoCamera),
    /// Bulbs of the tag that was read; several where two carry it, none where it is of no bulb here.
    Found(String, Vec<Id>),
}

/// Scans labels.
#[component]
pub(crate) fn Scan() -> impl IntoView {
    let app = app();
    let video = NodeRef::<Video>::new();
    let at = RwSignal::new(At::Looking);
    let camera = RwSignal::new_local(None::<Rc<Camera>>);
    let lit = RwSignal::new(false);
    Effect::new(move |_| {
        let Some(video) = video.get() else { return };
        wasm_bindgen_futures::spawn_local(async move {
            let on = match Camera::on(video).await {
                Ok(on) => Rc::new(on),
                Err(why) => {
                    let _ = at.try_set(At::Off(why));
                    return;
                }
            };
            let _ = camera.try_set(Some(Rc::clone(&on)));
            // With the screen its signals go, and with them the camera.
            while let Some(now) = at.try_get_untracked() {
                if now == At::Looking {
                    let text = match on.look().await {
                        Seen::Code(text) => Some(text),
                        Seen::Picture(grey) => code::read(&grey),
                        Seen::Nothing => None,
                    };
                    if let Some(text) = text {
                        let found = app.peek(|r| r.state.scanned(&text).iter().map(|bulb| bulb.id).collect());
                        let _ = at.try_set(At::Found(text, found));
                    }
                }
                pause(EVERY_MS).await;
            }
        });
    });
    let has_light = move || camera.with(|camera| camera.as_ref().is_some_and(|camera| camera.has_light()));
    let light = move |_| {
        lit.update(|lit| *lit = !*lit);
        camera.with_untracked(|camera| {
            if let Some(camera) = camera {
                camera.light(lit.get_untracked());
            }
        });
    };
    view! {
        <Heading place=common::places_word() title=say::scan() under=say::scan_under() back=Route::Find />
        <video
            node_ref=video
            class="finder"
            muted=""
            playsinline=""
            aria-label=say::scan_under()
            hidden=move || !matches!(at.get(), At::Looking)
        ></video>
        <div role="status">
            {move || match at.get() {
                At::Looking => view! { <p class="small">{say::scan_waiting()}</p> }.into_any(),
                At::Off(NoCamera::None) => view! { <p class="problem">{say::scan_no_camera()}</p> }.into_any(),
                At::Off(NoCamera::Denied) => view! { <p class="problem">{say::scan_denied()}</p> }.into_any(),
                At::Found(text, found) if found.is_empty() => {
                    view! { <p class="problem">{say::scan_none()}</p> <p class="small">{text}</p> }.into_any()
                }
                At::Found(_, found) => {
                    found.into_iter().map(|bulb| view! { <Found bulb=bulb /> }).collect_view().into_any()
                }
            }}
        </div>
        <div class="act pair">
            <Show when=has_light>
                <button type="button" class="btn" aria-pressed=move || lit.get().to_string() on:click=light>
                    {move || if lit.get() { say::light_off() } else { say::light_on() }}
                </button>
            </Show>
            <Show when=move || matches!(at.get(), At::Found(..))>
                <button type="button" class="btn" on:click=move |_| at.set(At::Looking)>{say::scan_next()}</button>
            </Show>
            <a class="btn" href=Route::Find.href()>{say::type_instead()}</a>
        </div>
    }
}

/// A bulb found, and the ways on from it.
#[component]
fn Found(bulb: Id) -> impl IntoView {
    let app = app();
    let told = app.peek(|r| {
        r.state.bulb(&bulb).map(|b| (b.label().to_owned(), places::bulb_under(b, r.state, r.today), b.place))
    });
    told.map(|(label, under, place)| {
        let walk = place.map(|place| {
            let from_here = move |_| begin_at(place, bulb);
            view! { <a class="btn main" href=Route::Walk(place).href() on:click=from_here>{say::walk_from_here()}</a> }
        });
        view! {
            <p class="say"><b class="tag">{label}</b></p>
            <p>{under}</p>
            <div class="stack">
                {walk}
                <a class="btn" href=Route::Bulb(bulb).href()>{say::open_bulb()}</a>
            </div>
        }
    })
}
