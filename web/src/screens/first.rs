//! First start: look at the demo, start a nursery, or join one.

use bloomdue_core::error::Field;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::start as say;
use leptos::prelude::*;

use crate::app::drafts::START_KEY;
use crate::app::{Notices, app, lazy};
use crate::device::install;
use crate::parts::draft::FormDraft;
use crate::parts::field::{ProblemLine, TextField, let_answer};
use crate::parts::heading::Heading;

/// Choosing a nursery.
#[component]
pub(crate) fn First() -> impl IntoView {
    let app = app();
    let_answer();
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
            let _ = problem.try_set(done.err().map(|why| Problem::from(&why)));
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
            <Show when=move || starting.get() fallback=move || view! { <What /> }>
                <StartForm starting=starting />
            </Show>
            <Show when=move || !starting.get()>
                <ProblemLine problem=problem />
                <div class="act">
                    <button type="button" class="btn main" on:click=demo>{say::look_at_demo()}</button>
                    <div class="grid2">
                        <button type="button" class="btn" on:click=move |_| starting.set(true)>
                            {say::start_nursery()}
                        </button>
                        <a class="btn" href=Route::TakeIn.href()>{say::join_nursery()}</a>
                    </div>
                </div>
            </Show>
        </main>
    }
}

/// What it is for, in a drawing and four lines.
#[component]
fn What() -> impl IntoView {
    let steps = [say::first_plan(), say::then_try(), say::then_walk()].into_iter().zip(1..);
    let steps: Vec<_> =
        steps.map(|(words, n)| view! { <li><b class="num">{n}</b> <span>{words}</span></li> }).collect();
    view! {
        <div class="stages" aria-hidden="true">{lazy::stages()}</div>
        <p class="say big">{say::what_it_is_for()}</p>
        <ol class="steps">{steps}</ol>
        <p class="small">{say::what_is_kept()}</p>
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
fn StartForm(starting: RwSignal<bool>) -> impl IntoView {
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
                Ok(()) => app.done_to(&Route::NewPlace),
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                    let _ = busy.try_set(false);
                }
            }
        });
    };
    view! {
        <TextField label=say::nursery_name() value=name name=Field::Name problem=problem first=true />
        <TextField label=say::your_initials() value=initials hint=say::initials_hint() name=Field::Initials problem=problem />
        <ProblemLine problem=problem />
        <div class="act pair">
            <button type="button" class="btn" on:click=move |_| starting.set(false)>{say::not_now()}</button>
            <button type="button" class="btn main" on:click=start>{say::start_it()}</button>
        </div>
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
