//! The photos of one bulb side by side, oldest first; those that were measured at one scale.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::sight::beside::{Frame, frames};
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as bulbs, measure as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::heading::Heading;
use crate::parts::photos::address_of;

/// Photos in the order in which they were taken.
#[component]
pub(crate) fn SideBySide(bulb: Id) -> impl IntoView {
    let app = app();
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let all = Memo::new(move |_| {
        app.read(|r| {
            let found = r.state.bulb(&bulb).map(|known| frames(r.ledger, known)).unwrap_or_default();
            let told = found.into_iter().map(|frame| {
                let said: Vec<String> = frame.marks.iter().map(|one| say::said(&one.marks)).collect();
                let words = say::caption(frame.on, r.today, &said, frame.is_scaled());
                (frame, words)
            });
            told.collect::<Vec<_>>()
        })
    });
    let scaled = move || all.with(|all| all.iter().any(|(frame, _)| frame.is_scaled()));
    view! {
        <Heading place=label title=say::side_by_side() back=Route::Bulb(bulb) />
        <Show when=move || all.with(|all| all.len() < 2)>
            <p>{say::no_two()}</p>
        </Show>
        <Show when=scaled>
            <p class="small">{say::same_scale()}</p>
        </Show>
        <div class="photos">
            <For
                each=move || all.get()
                key=|(frame, words)| (frame.entry, words.clone(), frame.window.map(|window| window.map(f64::to_bits)))
                let((frame, words))
            >
                <Framed app=app bulb=bulb frame=frame words=words />
            </For>
        </div>
    }
}

/// What is shown of one photo.
#[component]
fn Framed(app: App, bulb: Id, frame: Frame, words: String) -> impl IntoView {
    let address = address_of(app, frame.photo.hash, false, frame.photo.media.clone());
    let (width, height) = (f64::from(frame.photo.width_px), f64::from(frame.photo.height_px));
    let [x, y, wide, high] = frame.window.unwrap_or([0.0, 0.0, width, height]);
    let alt = words.clone();
    let picture = move || match address.get() {
        None => ().into_any(),
        Some(None) => view! { <p class="problem">{bulbs::photo_missing()}</p> }.into_any(),
        Some(Some(address)) => view! {
            <svg class="plate" viewBox=format!("{x:.1} {y:.1} {wide:.1} {high:.1}") role="img" aria-label=alt.clone()>
                <image href=address width=width height=height />
            </svg>
        }
        .into_any(),
    };
    view! {
        <figure class="photo">
            {picture}
            <figcaption class="small">{words}</figcaption>
            <a class="btn soft no-print" href=Route::Measure(bulb, frame.entry).href()>{say::measure()}</a>
        </figure>
    }
}
