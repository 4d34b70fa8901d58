//! What is worked out after the screen has been drawn.

use leptos::prelude::*;

use crate::words::results as say;

/// Asks for something and shows it once it has come; until then says that it is being worked out.
pub(crate) fn later<T: Clone + Send + Sync + 'static>(
    ask: impl FnOnce(Box<dyn FnOnce(T)>),
    show: impl Fn(T) -> AnyView + Send + 'static,
) -> AnyView {
    let answer: RwSignal<Option<T>> = RwSignal::new(None);
    ask(Box::new(move |found| {
        // The screen may have been left meanwhile.
        let _ = answer.try_set(Some(found));
    }));
    (move || match answer.get() {
        Some(found) => show(found),
        None => view! { <p class="small" role="status">{say::working_out()}</p> }.into_any(),
    })
    .into_any()
}
