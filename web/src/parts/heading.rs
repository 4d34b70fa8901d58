//! The head of a screen: where one is, what it is called, the way back.

use leptos::prelude::*;

use crate::app::route::Route;

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
    /// The screen it belongs under, for the way back.
    #[prop(optional, into)]
    back: Option<Route>,
) -> impl IntoView {
    view! {
        <div class="spread">
            <p class="caps">{place}</p>
            {back.map(|route| view! { <a class="line small" href=route.href()>"Back"</a> })}
        </div>
        <h1 tabindex="-1" data-heading="">{title}</h1>
        <Show when=move || under.with(|text| !text.is_empty())>
            <p class="small">{under}</p>
        </Show>
        <hr class="rule2" />
    }
}
