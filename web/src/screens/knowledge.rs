//! Knowledge at hand: pages, and a search over them and the words.

use bloomdue_core::inspect::Ailment;
use bloomdue_words::knowledge::{self as say, Found, Page};
use bloomdue_words::route::Route;
use bloomdue_words::{glossary, inspect as ill, published as sources};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::field::TextField;
use crate::parts::heading::Heading;
use crate::screens::{inspect, published};

/// All pages, or one of them.
#[component]
pub(crate) fn Knowledge(page: Option<Page>) -> impl IntoView {
    match page {
        Some(page) => one(page),
        None => view! { <All /> }.into_any(),
    }
}

fn name() -> Signal<String> {
    let app = app();
    Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
}

fn row(page: Page) -> AnyView {
    let href = Route::Knowledge(Some(page)).href();
    view! { <a class="row" href=href><span class="name thin">{say::heading(page)}</span><span class="lead"></span></a> }
        .into_any()
}

#[component]
fn All() -> impl IntoView {
    let sought = RwSignal::new(String::new());
    let found = Memo::new(move |_| sought.with(|sought| say::find(sought)));
    let rows = move || {
        let all = found.get().into_iter().map(|one| match one {
            Found::Page(page, text) => view! {
                <a class="row" href=Route::Knowledge(Some(page)).href()>
                    <span class="grow">
                        <b>{say::heading(page)}</b>
                        <br />
                        <span class="small">{text}</span>
                    </span>
                </a>
            }
            .into_any(),
            Found::Word(term) => view! {
                <a class="row" href=Route::Words(Some(term)).href()>
                    <span class="grow">
                        <b>{glossary::word(term)}</b>
                        <br />
                        <span class="small">{glossary::meaning(term)}</span>
                    </span>
                </a>
            }
            .into_any(),
        });
        all.collect_view()
    };
    let searching = move || sought.with(|sought| !sought.trim().is_empty());
    let none = move || searching() && found.with(Vec::is_empty);
    view! {
        <Heading place=name() title=say::title() back=Route::Files />
        <p class="small">{say::under()}</p>
        <TextField label=say::search() value=sought />
        <div role="status">
            <Show when=none>
                <p>{say::nothing()}</p>
            </Show>
        </div>
        <Show when=searching fallback=|| {
            view! {
                <h2>{say::pages()}</h2>
                {Page::ALL.iter().map(|page| row(*page)).collect_view()}
                <h2>{say::words()}</h2>
                <a class="row" href=Route::Words(None).href()><span class="name thin">{glossary::title()}</span><span class="lead"></span></a>
                <a class="row" href=Route::Published.href()><span class="name thin">{sources::title()}</span><span class="lead"></span></a>
            }
        }>
            {rows}
        </Show>
    }
}

fn one(page: Page) -> AnyView {
    let lines: Vec<_> = say::paragraphs(page).into_iter().map(|text| view! { <p>{text}</p> }).collect();
    let claims = say::claims(page);
    let rests: Vec<_> = claims.iter().map(|claim| view! { <li>{sources::line(*claim)}</li> }).collect();
    let rests = (!claims.is_empty()).then(|| {
        view! {
            <h2>{say::rests_on()}</h2>
            <ul>{rests}</ul>
            {published::link()}
        }
    });
    let ailments = (page == Page::Rot).then(|| {
        let all: Vec<_> = Ailment::ALL.iter().map(|ailment| inspect::ailment(*ailment)).collect();
        view! {
            <h2>{ill::may_be()}</h2>
            {all}
            <p class="small">{ill::whom_to_ask()} " " {ill::no_products()}</p>
        }
    });
    view! {
        <Heading place=say::title() title=say::heading(page) back=Route::Knowledge(None) />
        {lines}
        {ailments}
        {rests}
    }
    .into_any()
}

/// The way to a page.
pub(crate) fn link(page: Page) -> AnyView {
    let href = Route::Knowledge(Some(page)).href();
    view! { <p class="no-print"><a class="line" href=href>{say::ask(page)}</a></p> }.into_any()
}
