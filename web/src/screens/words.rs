//! What the words mean.

use bloomdue_words::glossary::{self as say, Term};
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::app;
use crate::device::screen;
use crate::parts::heading::Heading;
use crate::screens::published;

/// All words; the one that was asked about is marked, and in sight.
#[component]
pub(crate) fn Words(of: Option<Term>) -> impl IntoView {
    let app = app();
    if let Some(asked) = of {
        request_animation_frame(move || screen::bring_into_sight(asked.key()));
    }
    let parts: Vec<_> = say::PARTS
        .iter()
        .map(|(title, terms)| {
            let rows = terms
                .iter()
                .map(|term| {
                    let (key, is_asked) = (term.key(), Some(*term) == of);
                    view! {
                        <div id=key class:asked-word=is_asked>
                            <dt>{say::word(*term)}</dt>
                            <dd>{say::meaning(*term)}</dd>
                        </div>
                    }
                })
                .collect_view();
            view! { <h2>{*title}</h2> <dl class="glossary">{rows}</dl> }
        })
        .collect();
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::title()
            back=Route::Files
        />
        <p class="small">{say::under()}</p>
        {parts}
        <h2>{say::sources()}</h2>
        <p class="small">{say::sources_under()}</p>
        {published::link()}
    }
}

/// Leads from where a word stands to what it means.
pub(crate) fn link(term: Term) -> AnyView {
    let href = Route::Words(Some(term)).href();
    view! { <p class="no-print"><a class="line" href=href>{say::ask(term)}</a></p> }.into_any()
}
