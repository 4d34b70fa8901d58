//! The chapters of a long page: a bar that leads to each and says which one is read.

use bloomdue_words::results as say;
use leptos::prelude::*;

use crate::device::screen::{self, Scrolling};

/// A part of a page with a name of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Chapter {
    Counted,
    When,
    Measured,
    Next,
}

impl Chapter {
    /// Its name in the page.
    const fn id(self) -> &'static str {
        match self {
            Self::Counted => "counted",
            Self::When => "when",
            Self::Measured => "measured",
            Self::Next => "next",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Counted => say::counted(),
            Self::When => say::when(),
            Self::Measured => say::measured(),
            Self::Next => say::next(),
        }
    }

    /// The chapter, under a heading that the bar leads to.
    pub(crate) fn section(self, title: impl IntoView, body: impl IntoView) -> AnyView {
        view! {
            <section class="chapter" id=self.id()>
                <h2 tabindex="-1">{title}</h2>
                {body}
            </section>
        }
        .into_any()
    }

    /// The chapter that stands right under the bar, whose name it does not repeat.
    pub(crate) fn first_section(self, body: impl IntoView) -> AnyView {
        view! {
            <section class="chapter" id=self.id()>
                <h2 class="unseen" tabindex="-1">{self.words()}</h2>
                {body}
            </section>
        }
        .into_any()
    }
}

/// The bar. The address belongs to the screens, so that its parts are reached by buttons.
#[component]
pub(crate) fn Chapters(all: Vec<Chapter>) -> impl IntoView {
    let read = RwSignal::new(0);
    let names: Vec<&'static str> = all.iter().map(|chapter| chapter.id()).collect();
    let following = Scrolling::follow(move || {
        let now = screen::part_read(&names);
        if read.try_get_untracked().is_some_and(|before| before != now) {
            read.set(now);
        }
    });
    // It is kept for as long as the screen is.
    StoredValue::new_local(following);
    let buttons: Vec<_> = all
        .into_iter()
        .enumerate()
        .map(|(at, chapter)| {
            view! {
                <button
                    type="button"
                    aria-current=move || (read.get() == at).then_some("true")
                    on:click=move |_| screen::show_part(chapter.id())
                >
                    {chapter.words()}
                </button>
            }
        })
        .collect();
    view! { <nav class="chapters no-print" aria-label=say::chapters()>{buttons}</nav> }
}
