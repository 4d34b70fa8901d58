//! Asked before it is taken, because it may be a slip of the finger.

use bloomdue_core::record::doubts::UnusualSize;
use bloomdue_words::doubts as say;
use leptos::prelude::*;

/// A circumference that few bulbs have: as typed, or in inches.
#[component]
pub(crate) fn AskSize(
    /// What is unusual.
    unusual: UnusualSize,
    /// It is as typed.
    keep: Callback<()>,
    /// What was typed are inches; these are all of them in mm.
    convert: Callback<Vec<i64>>,
) -> impl IntoView {
    let question = say::unusual_size(&unusual);
    let inches = say::as_inches(&unusual).map(|mm| {
        let mm = mm.to_vec();
        let words = say::they_are_inches(&mm);
        view! {
            <button type="button" class="btn" on:click=move |_| convert.run(mm.clone())>{words}</button>
        }
    });
    let right = say::it_is_right(unusual.mm, unusual.n);
    view! {
        <div class="notice" role="alert">
            <p>{question}</p>
            <div class="stack">
                {inches}
                <button type="button" class="btn soft" on:click=move |_| keep.run(())>{right}</button>
            </div>
        </div>
    }
}

/// Own names that other bulbs go by.
#[component]
pub(crate) fn AskNames(
    /// The names.
    names: Vec<String>,
    /// They may be called alike.
    keep: Callback<()>,
) -> impl IntoView {
    view! {
        <div class="notice" role="alert">
            <p>{say::called_so(&names)}</p>
            <button type="button" class="btn soft" on:click=move |_| keep.run(())>{say::all_the_same()}</button>
        </div>
    }
}
