//! Persons: who records in this nursery, and who holds this device.

use bloomdue_core::ledger::body::{Body, Person};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::{prefs, screen};
use crate::parts::field::{Chips, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::files as say;

/// Persons and this device.
#[component]
pub(crate) fn People() -> impl IntoView {
    let app = app();
    let adding = RwSignal::new(false);
    let rows = move || {
        let people: Vec<(Id, String, String)> = app.read(|r| {
            let known = r
                .state
                .persons
                .iter()
                .filter_map(|(id, person)| Some((id, person.shown()?)));
            known
                .map(|(id, person)| (*id, person.initials.clone(), person.name.clone()))
                .collect()
        });
        people
            .into_iter()
            .map(|(id, initials, name)| {
                let chosen = move || app.who.get() == Some(id);
                let pressed = move || if chosen() { "true" } else { "false" };
                view! {
                    <button type="button" class="row" aria-pressed=pressed on:click=move |_| app.set_who(id)>
                        <span class="box" class:done=chosen aria-hidden="true">{move || chosen().then_some("✓")}</span>
                        <span class="grow"><b>{initials}</b> " " <span class="small">{name}</span></span>
                    </button>
                }
            })
            .collect_view()
    };
    view! {
        <Heading place=say::files_word() title=say::people() under=say::people_under() back=Route::Files />
        {rows}
        <Show
            when=move || adding.get()
            fallback=move || view! {
                <button type="button" class="btn soft gap-above" on:click=move |_| adding.set(true)>
                    {say::add_person()}
                </button>
            }
        >
            <AddPerson adding=adding />
        </Show>
        <h2>{say::light_heading()}</h2>
        <Light />
    }
}

#[component]
fn AddPerson(adding: RwSignal<bool>) -> impl IntoView {
    let app = app();
    let (initials, name) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let problem = RwSignal::new(None::<Problem>);
    let save = move |_| {
        let body = Body::Person(Person {
            initials: initials.get_untracked(),
            name: name.get_untracked(),
        });
        let subject = app.moment().ids.draw(Noun::Person);
        wasm_bindgen_futures::spawn_local(async move {
            let command = Command::Set {
                subject,
                slot: String::new(),
                body,
            };
            // A person who is the first on this device records themselves.
            let nobody = app.who.get_untracked().is_none();
            if nobody {
                app.who.set(Some(subject));
            }
            match app.record(command).await {
                Ok(_) => {
                    if nobody {
                        app.set_who(subject);
                    }
                    let _ = adding.try_set(false);
                }
                Err(why) => {
                    if nobody {
                        app.who.set(None);
                    }
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    view! {
        <TextField label=say::initials() value=initials name="initials" problem=problem />
        <TextField label=say::name_if_wished() value=name />
        <ProblemLine problem=Signal::derive(move || problem.get().filter(|p| p.field != "initials")) />
        <button type="button" class="btn main" on:click=save>{say::save()}</button>
    }
}

/// Light, dark, or as the device has it.
#[component]
fn Light() -> impl IntoView {
    let now = match prefs::get("light").as_deref() {
        Some("dark") => Some(true),
        Some("light") => Some(false),
        _ => None,
    };
    let chosen = RwSignal::new(now);
    Effect::new(move |before: Option<()>| {
        let dark = chosen.get();
        if before.is_some() {
            prefs::set(
                "light",
                match dark {
                    Some(true) => "dark",
                    Some(false) => "light",
                    None => "as the device",
                },
            );
            screen::set_dark(dark);
        }
    });
    let choices = vec![
        (None, say::as_device().to_owned()),
        (Some(false), say::light().to_owned()),
        (Some(true), say::dark().to_owned()),
    ];
    view! { <Chips label=say::light_label() choices=choices value=chosen /> }
}
