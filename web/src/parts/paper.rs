//! A screen on its way to paper: what opens on a tap, or is shown on one, is open there.

use bloomdue_words::jobs as say;
use leptos::prelude::*;

use crate::device::screen;

/// Whether the screen has been printed: what is behind a tap stands open from then on.
#[derive(Clone, Copy)]
pub(crate) struct Paper(RwSignal<bool>);

impl Paper {
    /// Follows the printing of this screen, for everything in it.
    pub(crate) fn provide() -> Self {
        let printed = RwSignal::new(false);
        let heard = window_event_listener_untyped("beforeprint", move |_| {
            printed.try_set(true);
        });
        on_cleanup(move || heard.remove());
        provide_context(Self(printed));
        Self(printed)
    }

    /// Whether this screen has been printed; never, where nothing follows that.
    pub(crate) fn is_printed() -> bool {
        use_context::<Self>().is_some_and(|paper| paper.0.get())
    }

    /// The way to paper.
    pub(crate) fn button(self) -> impl IntoView {
        view! { <button type="button" class="btn soft" on:click=move |_| screen::print()>{say::print()}</button> }
    }
}
