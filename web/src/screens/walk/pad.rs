//! The answers that follow from what the bulb last showed, each at its place; one tap saves and moves on. Over them what
//! else there is to do at this bulb.

use bloomdue_core::nursery::walk::Slot;
use bloomdue_core::record::walked;
use bloomdue_core::sketch::Sign;
use bloomdue_words::route::Route;
use bloomdue_words::{acts, call, walk as words};
use leptos::prelude::*;

use super::{Open, Walking};
use crate::parts::drawings;
use crate::parts::photos::PhotoButton;

/// The answers and what is beside them.
#[component]
pub(super) fn Pad(walking: Walking) -> impl IntoView {
    let slots = move || walking.seen.with(|seen| seen.pad.clone());
    view! {
        <Lesser walking=walking />
        <div class="pad" role="group" aria-label=words::answers()>
            // Keyed by place and answer: from bulb to bulb the buttons stay, and with them the focus.
            <For each=slots key=|slot| *slot let(slot)>
                <Answered walking=walking given=slot />
            </For>
        </div>
        <p class="keys" aria-hidden="true">
            <span><kbd>"1"</kbd> "…" <kbd>"6"</kbd> {words::key_answers()}</span>
            <span><kbd>"U"</kbd> {words::key_undo()}</span>
            <span><kbd>"←"</kbd><kbd>"→"</kbd> {words::key_beside()}</span>
        </p>
    }
}

#[component]
fn Answered(walking: Walking, given: Slot) -> impl IntoView {
    let Slot { key, answer } = given;
    // The likeliest answer says what it repeats.
    let repeats = (key == 1).then(|| {
        view! { <small>{move || walking.seen.with(|seen| seen.as_before.clone())}</small> }
    });
    view! {
        <button
            type="button"
            class=format!("btn slot-{key}")
            aria-keyshortcuts=key.to_string()
            on:click=move |_| walking.give(answer)
        >
            {drawings::walk_answer(answer, 40)}
            <span>{acts::answer(answer)}</span>
            {repeats}
            <kbd aria-hidden="true">{key}</kbd>
        </button>
    }
}

/// What else there is to do at a bulb. While it stays for a second answer: more of the same bulb, and on.
#[component]
fn Lesser(walking: Walking) -> impl IntoView {
    let Walking { app, now, seen, .. } = walking;
    let also = Memo::new(move |_| walking.opened() == Some(Open::Also));
    let open = move |open: Open, sign: Sign, words: &'static str| {
        view! { <Small sign=sign words=words tapped=move || walking.set_open(Some(open)) /> }
    };
    let mark = move || {
        let Some(bulb) = walking.free_at() else { return };
        let is_asked = walking.is_open(bulb);
        let command =
            app.peek(|r| r.state.bulb(&bulb).map(|known| walked::marked_fit(known, Some(walking.place), is_asked)));
        if let Some(command) = command {
            walking.save(bulb, command, seen.with_untracked(|seen| words::marked_fit(&seen.label)));
        }
    };
    let photo = move || {
        let bulb = now.get()?;
        let label = app.peek(|r| r.state.name_of(bulb).to_owned());
        Some(view! {
            <PhotoButton
                app=app
                about=vec![bulb]
                label=label
                at=Route::Bulb(bulb)
                words=words::photo()
                camera=true
                sign=Sign::Photo
            />
        })
    };
    let closely = move || {
        let bulb = now.get()?;
        Some(view! {
            <a class="btn" href=Route::Look(bulb).href()>
                {drawings::sign(Sign::Closely)}
                <span>{words::closely()}</span>
            </a>
        })
    };
    let call = move || {
        let (bulb, shoot) = (now.get()?, seen.with(|seen| seen.unsure)?);
        Some(view! {
            <a class="btn" href=Route::Call(bulb, shoot).href()>
                {drawings::sign(Sign::Unsure)}
                <span>{call::title()}</span>
            </a>
        })
    };
    view! {
        <div class="lesser" role="group" aria-label=words::more_for_this()>
            {call}
            {photo}
            <Show
                when=move || also.get()
                fallback=move || {
                    view! {
                        {open(Open::Also, Sign::Also, words::and_also())}
                        {open(Open::Trouble, Sign::Trouble, words::trouble())}
                        {open(Open::NotHere, Sign::NotHere, words::not_here())}
                    }
                }
            >
                {closely}
                <Small sign=Sign::On words=words::go_on() tapped=move || walking.go_on() />
            </Show>
            <Show when=move || seen.with(|seen| seen.may_be_fit)>
                <Small sign=Sign::Fit words=words::fit_to_sell() tapped=mark />
            </Show>
        </div>
    }
}

/// One of the lesser buttons: a sign over its words.
#[component]
fn Small(sign: Sign, words: &'static str, tapped: impl Fn() + 'static) -> impl IntoView {
    view! {
        <button type="button" class="btn" on:click=move |_| tapped()>
            {drawings::sign(sign)}
            <span>{words}</span>
        </button>
    }
}
