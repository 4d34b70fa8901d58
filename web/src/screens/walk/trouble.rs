//! What may be wrong with a bulb: what one tap says of its stalk, and the forms of all else, which lead back into the walk.

use bloomdue_core::nursery::walk::{self, Mishap};
use bloomdue_core::record::walked;
use bloomdue_words::walk as words;
use leptos::prelude::*;

use super::Walking;
use crate::parts::drawings;
use crate::screens::care::troubles;

/// In place of the answers.
#[component]
pub(super) fn Trouble(walking: Walking) -> impl IntoView {
    let app = walking.app;
    let bulb = walking.now.get_untracked();
    let offered = bulb.map(|bulb| app.peek(|r| r.state.bulb(&bulb).map(walk::mishaps).unwrap_or_default()));
    let befell = move |mishap: Mishap| {
        let Some(bulb) = walking.free_at() else { return };
        let found = app.peek(|r| {
            let known = r.state.bulb(&bulb)?;
            let text = words::befell(&words::label(known), mishap);
            Some((walked::befell(mishap, known, Some(walking.place)), text))
        });
        if let Some((command, text)) = found {
            walking.save(bulb, command, text);
        }
    };
    let mishaps = offered
        .unwrap_or_default()
        .into_iter()
        .map(|mishap| {
            view! {
                <button type="button" class="btn" on:click=move |_| befell(mishap)>
                    {drawings::mishap(mishap, 33)}
                    <span>{words::mishap(mishap)}</span>
                </button>
            }
        })
        .collect_view();
    view! {
        <h2 class="of-say">{words::what_is_wrong()}</h2>
        <div class="grid2">{mishaps} {bulb.map(troubles)}</div>
        <button type="button" class="btn gap-above wide" on:click=move |_| walking.set_open(None)>
            {words::back_to_answers()}
        </button>
    }
}
