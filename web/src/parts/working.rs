//! Longer work on a screen: how far it is with a way to stop it, or why there is no answer.

use bloomdue_core::work::Done;
use bloomdue_words::work as say;
use leptos::prelude::*;

use crate::app::worker::{Work, Working};

/// How far a task is; once it is done, what `shown` makes of the answer.
#[component]
pub(crate) fn WorkShown(work: Work, shown: impl Fn(Done) -> AnyView + Send + 'static) -> impl IntoView {
    // Only the step from one to the other draws anew, so that the button keeps the focus while numbers run.
    let following = work.clone();
    let settled = Memo::new(move |_| match following.now() {
        Working::Going(_) => None,
        other => Some(other),
    });
    move || match settled.get() {
        None => view! { <Going work=work.clone() /> }.into_any(),
        Some(Working::Done(done)) => shown(done),
        Some(Working::Refused(why)) => view! { <p class="problem">{say::not_worked_out(&why)}</p> }.into_any(),
        Some(_) => view! { <p class="small" role="status">{say::stopped()}</p> }.into_any(),
    }
}

#[component]
fn Going(work: Work) -> impl IntoView {
    let stop = work.clone();
    let permille = move || match work.now() {
        Working::Going(permille) => permille,
        _ => 1000,
    };
    view! {
        <div class="spread no-print">
            <p class="small grow">{move || say::working(permille())}</p>
            <button type="button" class="btn soft" on:click=move |_| stop.stop()>{say::stop()}</button>
        </div>
    }
}
