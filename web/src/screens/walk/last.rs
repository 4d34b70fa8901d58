//! The last answer with a way back, in a line of its own under the answers for the length of the walk.

use bloomdue_words::{common, walk as words};
use leptos::prelude::*;

use super::Walking;
use crate::parts::field::way_to_mend;

/// Its room is kept, so that nothing moves when something is said.
#[component]
pub(super) fn Last(walking: Walking) -> impl IntoView {
    let app = walking.app;
    let undoes = Memo::new(move |_| app.said.with(|said| said.as_ref().is_some_and(|said| !said.entries.is_empty())));
    let said = move || {
        app.said.get().map(|said| {
            view! {
                <span class="fresh" class:wrong=said.is_wrong></span>
                <span>{said.text}</span>
                {way_to_mend(said.mend)}
            }
        })
    };
    view! {
        <div class="last">
            <div class="said" role="status" aria-live="polite">{said}</div>
            <Show when=move || app.said.with(Option::is_none) && walking.now.with(Option::is_some)>
                <span class="small">{words::one_tap()}</span>
            </Show>
            <Show when=move || undoes.get()>
                <button type="button" on:click=move |_| walking.undo()>{common::undo()}</button>
            </Show>
        </div>
    }
}
