//! The head of a screen: where one is, what it is called, the way back.

use bloomdue_words::{route::Route, way};
use leptos::prelude::*;

use crate::app::app;

/// Small capitals, the heading, a second line, the double rule. The heading takes the focus when the screen comes.
#[component]
pub(crate) fn Heading(
    /// Where one is, in small capitals.
    #[prop(into)]
    place: Signal<String>,
    /// What the screen is called.
    #[prop(into)]
    title: Signal<String>,
    /// A second line; none when empty.
    #[prop(into, optional)]
    under: Signal<String>,
    /// How far the work of the screen is; none when empty.
    #[prop(into, optional)]
    tally: Signal<String>,
    /// The screen it belongs under, for the way back.
    #[prop(optional, into)]
    back: Option<Route>,
) -> impl IntoView {
    let app = app();
    let to = back.map(|parent| app.way_back(parent));
    let name = to.as_ref().map(|to| app.peek(|r| way::name(to, r.state))).unwrap_or_default();
    let way_back = to.map(|to| {
        let (href, name) = (to.href(), name.clone());
        view! {
            <a class="wayback no-print" href=href on:click=move |event| app.step_back(&event, &to)>{name}</a>
        }
    });
    let says_more = move || place.with(|place| !place.is_empty() && *place != name);
    view! {
        <header class="head">
            {way_back}
            <Show when=says_more>
                <p class="caps">{place}</p>
            </Show>
            <Show when=move || tally.with(|text| !text.is_empty())>
                <span class="tally">{tally}</span>
            </Show>
            <h1 tabindex="-1" data-heading="">{title}</h1>
            <Show when=move || under.with(|text| !text.is_empty())>
                <p class="sub">{under}</p>
            </Show>
        </header>
        <hr class="scotch" />
    }
}
