//! The last answer with a way back, in a line of its own under the answers for the length of the walk.

use bloomdue_core::ledger::body::Body;
use bloomdue_core::ledger::id::EntryId;
use bloomdue_core::nursery::walk;
use bloomdue_words::route::Route;
use bloomdue_words::{call, common, walk as words};
use leptos::prelude::*;

use super::Walking;
use crate::parts::field::way_to_mend;

/// Its room is kept, so that nothing moves when something is said.
#[component]
pub(super) fn Last(walking: Walking) -> impl IntoView {
    let app = walking.app;
    let undoes = Memo::new(move |_| app.said.with(|said| said.as_ref().is_some_and(|said| !said.entries.is_empty())));
    // A shoot that was just said to be unsure can be called at once.
    let to_call = move |entry: Option<EntryId>| {
        let of_look = app.read(|r| {
            let entry = r.ledger.get(entry?)?;
            let bulb = entry.envelope.about.first().copied()?;
            let is_look = matches!(entry.body, Body::Look(_));
            let unsure = walk::present_unsure(r.state.bulb(&bulb)?.cycle())?;
            (is_look && unsure.since == r.today).then_some((bulb, unsure.id))
        });
        of_look.map(|(bulb, shoot)| {
            view! { <a class="line" href=Route::Call(bulb, shoot).href()>{call::title()}</a> }
        })
    };
    let said = move || {
        app.said.get().map(|said| {
            view! {
                <span class="fresh" class:wrong=said.is_wrong></span>
                <span>{said.text}</span>
                {way_to_mend(said.mend)}
                {to_call(said.entries.first().copied())}
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
