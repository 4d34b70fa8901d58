//! First start: look at the demo, start a nursery, or join one.

use leptos::prelude::*;

use crate::app::drafts::START_KEY;
use crate::app::{Notices, app, route::Route};
use crate::device::install;
use crate::parts::draft::FormDraft;
use crate::parts::field::{Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::en as say;

/// Choosing a nursery.
#[component]
pub(crate) fn First() -> impl IntoView {
    let app = app();
    // A nursery half named is gone on with.
    let starting = RwSignal::new(app.draft(START_KEY).is_some());
    let making = RwSignal::new(false);
    let problem = RwSignal::new(None::<Problem>);
    let demo = move |_| {
        if making.get_untracked() {
            return;
        }
        making.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            let done = app.look_at_demo().await;
            let _ = problem.try_set(done.err().map(|why| Problem::of(&why)));
            let _ = making.try_set(false);
        });
    };
    let kept = move || {
        app.known()
            .into_iter()
            .map(|known| {
                let ledger = known.ledger;
                let open = move |_| {
                    wasm_bindgen_futures::spawn_local(async move {
                        app.open(ledger, false).await;
                        app.go(Route::Due);
                    });
                };
                view! {
                    <button type="button" class="row" on:click=open>
                        <span class="grow">
                            <b>{known.name}</b>
                            {known.demo.then(|| view! { <br /><span class="small">{say::demo_word()}</span> })}
                        </span>
                        <span class="go" aria-hidden="true">"›"</span>
                    </button>
                }
            })
            .collect_view()
    };
    view! {
        <main class="sheet">
            <Notices />
            <Heading place=say::tagline() title="Bloomdue" />
            <HomeScreen />
            {kept}
            <Show
                when=move || starting.get()
                fallback=move || view! {
                    <div class="stack">
                        <button type="button" class="btn main" on:click=move |_| starting.set(true)>
                            {say::start_nursery()}
                        </button>
                        <a class="btn" href=Route::TakeIn.href()>{say::join_nursery()}</a>
                        <button type="button" class="btn" on:click=demo>{say::look_at_demo()}</button>
                        <ProblemLine problem=problem />
                    </div>
                    <p class="small">{say::what_is_kept()}</p>
                }
            >
                <StartForm />
            </Show>
        </main>
    }
}

/// In a phone's tab: put it on the home screen before the first record, and why.
#[component]
fn HomeScreen() -> impl IntoView {
    let opened = install::opened();
    let offered = install::follow_offer();
    say::home_screen(opened).map(|words| {
        view! {
            <div class="notice">
                <p>{words}</p>
                <Show when=move || offered.get()>
                    <button type="button" class="btn soft" on:click=|_| install::take_offer()>
                        {say::put_it_there()}
                    </button>
                </Show>
            </div>
        }
    })
}

#[component]
fn StartForm() -> impl IntoView {
    let app = app();
    let (name, initials) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let draft = FormDraft::of(app, START_KEY.to_owned()).field("name", name).field("initials", initials).keep();
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    let start = move |_| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            let begun = app.begin_nursery(name.get_untracked(), initials.get_untracked());
            match draft.saved_by(begun).await {
                Ok(()) => app.go(Route::NewPlace),
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                    let _ = busy.try_set(false);
                }
            }
        });
    };
    view! {
        <TextField label=say::nursery_name() value=name name="name" problem=problem />
        <TextField label=say::your_initials() value=initials hint=say::initials_hint() name="initials" problem=problem />
        <ProblemLine problem=Signal::derive(move || problem.get().filter(|p| p.field.is_empty())) />
        <button type="button" class="btn main" on:click=start>{say::start_it()}</button>
    }
}

/// The storage could not be opened.
#[component]
pub(crate) fn Broken(why: String) -> impl IntoView {
    view! {
        <main class="sheet">
            <Heading place="Bloomdue" title=say::cannot_open() />
            <p role="alert">{why}</p>
            <a class="line" href="reset.html">{say::load_again()}</a>
        </main>
    }
}
