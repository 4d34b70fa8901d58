//! What is worked out after the screen has been drawn, piece by piece.

use bloomdue_words::results as say;
use leptos::prelude::*;

use crate::app::work;

/// Works something out after the next picture of the screen and shows it; until then says that it is being worked out.
/// What the screen does not wait for any more, because it was left, is not worked out.
pub(crate) fn deferred<T: Clone + Send + Sync + 'static>(
    find: impl FnOnce() -> T + 'static,
    show: impl Fn(T) -> AnyView + Send + 'static,
) -> AnyView {
    let answer: RwSignal<Option<T>> = RwSignal::new(None);
    work::after_paint(move || {
        if answer.try_get_untracked().is_some() {
            answer.set(Some(find()));
        }
    });
    (move || match answer.get() {
        Some(found) => show(found),
        None => view! { <p class="small" role="status">{say::working_out()}</p> }.into_any(),
    })
    .into_any()
}
