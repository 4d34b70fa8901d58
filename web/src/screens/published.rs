//! Where the numbers start from: what is published, with how far it carries.

use bloomdue_core::plan::WAYS;
use bloomdue_core::published::{Claim, STARTS};
use bloomdue_words::route::Route;
use bloomdue_words::{common, plan, published as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::heading::Heading;

/// The list.
#[component]
pub(crate) fn Published() -> impl IntoView {
    let app = app();
    let starts: Vec<_> = STARTS
        .iter()
        .map(|(topic, claims)| {
            let lines = claims.iter().map(|claim| view! { <li>{say::line(*claim)}</li> }).collect_view();
            view! { <h2>{say::topic(*topic)}</h2> <ul>{lines}</ul> }
        })
        .collect();
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::title()
            back=Route::Coming(None)
        />
        <p>{say::under()}</p>
        {starts}
        <h2>{say::ways()}</h2>
        {ways()}
    }
}

/// Each way of resting with who says what, and how far that carries.
pub(crate) fn ways() -> AnyView {
    let line = |(claim, words): (&Claim, &'static str)| view! { <li><b>{words}</b> ": " {say::line(*claim)}</li> };
    let ways: Vec<_> = WAYS
        .iter()
        .map(|way| {
            let speaks_for = way.basis.iter().map(|claim| (claim, plan::speaks_for()));
            let against = way.against.iter().map(|claim| (claim, plan::speaks_against()));
            let lines: Vec<_> = speaks_for.chain(against).map(line).collect();
            view! { <h3>{common::sentence(plan::way(way.way))}</h3> <ul>{lines}</ul> }
        })
        .collect();
    ways.into_any()
}

/// The way there.
pub(crate) fn link() -> AnyView {
    view! { <p class="no-print"><a class="line" href=Route::Published.href()>{say::see()}</a></p> }.into_any()
}
