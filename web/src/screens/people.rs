//! Persons: who records in this nursery, and who holds this device.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, NurseryBody, Person};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use bloomdue_core::units::{LengthUnit, TemperatureUnit};
use bloomdue_words::form::{self, Problem};
use bloomdue_words::formats::Units;
use bloomdue_words::route::Route;
use bloomdue_words::{files as say, nursery};
use leptos::prelude::*;

use crate::app::app;
use crate::device::{prefs, screen};
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::heading::Heading;

/// Persons and this device.
#[component]
pub(crate) fn People() -> impl IntoView {
    let app = app();
    // A person half written down is gone on with.
    let adding = RwSignal::new(app.draft(&person_key()).is_some());
    let rows = move || {
        let people: Vec<(Id, String, String)> = app.read(|r| {
            let known = r.state.persons.iter().filter_map(|(id, person)| Some((id, person.shown()?)));
            known.map(|(id, person)| (*id, person.initials.clone(), person.name.clone())).collect()
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
            <AddPerson first=true then=move |_| { let _ = adding.try_set(false); } />
        </Show>
        <h2>{nursery::heading()}</h2>
        <Nursery />
        <h2>{say::units_heading()}</h2>
        <UnitsChosen />
        <h2>{say::light_heading()}</h2>
        <Light />
    }
}

/// Who records on this device: asked after a colleague's file was taken in, or where somebody was about to record, answered
/// by one tap or by initials.
#[component]
pub(crate) fn Who() -> impl IntoView {
    let app = app();
    // Whoever was about to record goes on there; a file that was taken in is done with.
    let from = app.way_back(Route::Due);
    let to = StoredValue::new(if from == Route::TakeIn { Route::Due } else { from });
    let me = move |person: Id| {
        app.set_who(person);
        to.with_value(|to| app.done_to(to));
    };
    // With somebody known, the first thing is a choice.
    let nobody_known = app.peek(|r| r.state.persons.is_empty());
    let rows = move || {
        let people: Vec<(Id, String)> = app.read(|r| {
            let known = r.state.persons.iter();
            let known = known.filter_map(|(id, person)| Some((*id, person.shown()?)));
            known.map(|(id, person)| (id, say::person(&person.initials, &person.name))).collect()
        });
        people
            .into_iter()
            .map(|(id, words)| {
                view! { <button type="button" class="btn" on:click=move |_| me(id)>{words}</button> }
            })
            .collect_view()
    };
    view! {
        <Heading place=say::people() title=say::who_is_it() under=say::who_is_it_under() back=Route::Due />
        <div class="stack">{rows}</div>
        <h2>{say::somebody_else()}</h2>
        <AddPerson first=nobody_known then=me />
    }
}

/// The nursery's name, and where it lies.
#[component]
fn Nursery() -> impl IntoView {
    let app = app();
    let (known, latitude) =
        app.peek(|r| (r.state.name.shown().cloned().unwrap_or_default(), r.state.latitude_decideg.shown().copied()));
    let name = RwSignal::new(known);
    let typed = RwSignal::new(latitude.map_or_else(String::new, nursery::number));
    let south = RwSignal::new(latitude.is_some_and(|latitude| latitude < 0));
    let problem = RwSignal::new(None::<Problem>);
    let draft = FormDraft::of(app, format!("nursery {}", Route::People))
        .field("name", name)
        .field("latitude", typed)
        .field("south", south)
        .keep();
    let save = move |_| {
        let latitude_decideg = match form::latitude_decideg(&typed.get_untracked(), south.get_untracked()) {
            Ok(latitude) => latitude,
            Err(why) => return problem.set(Some(why)),
        };
        let body = Body::Nursery(NurseryBody { name: name.get_untracked(), latitude_decideg });
        let subject = app.peek(|r| r.ledger.id());
        wasm_bindgen_futures::spawn_local(async move {
            let slot = String::new();
            match draft.record(Command::Set { subject, slot, body }).await {
                Ok(entries) => {
                    let _ = problem.try_set(None);
                    let ids = entries.iter().map(|entry| entry.id).collect();
                    app.notify_saved(nursery::saved().to_owned(), ids);
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let sides = vec![(false, nursery::north().to_owned()), (true, nursery::south().to_owned())];
    view! {
        <section class="part" aria-label=nursery::heading()>
            <GoesOn draft=draft />
            <TextField label=nursery::name() value=name name=Field::Name problem=problem />
            <TextField
                label=nursery::latitude_label()
                value=typed
                hint=nursery::latitude_hint()
                mode="decimal"
                name=Field::Latitude
                problem=problem
            />
            <Chips label=nursery::side() choices=sides value=south />
            <ProblemLine problem=problem />
            <button type="button" class="btn soft" on:click=save>{say::save()}</button>
        </section>
    }
}

fn person_key() -> String {
    format!("person {}", Route::People)
}

#[component]
fn AddPerson(
    /// Whether the screen begins with it.
    first: bool,
    /// What comes once the person is saved.
    #[prop(into)]
    then: Callback<Id>,
) -> impl IntoView {
    let app = app();
    let (initials, name) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let problem = RwSignal::new(None::<Problem>);
    let draft = FormDraft::of(app, person_key()).field("initials", initials).field("name", name).keep();
    let save = move |_| {
        let body = Body::Person(Person { initials: initials.get_untracked(), name: name.get_untracked() });
        let subject = app.moment().ids.draw(Noun::Person);
        wasm_bindgen_futures::spawn_local(async move {
            let command = Command::Set { subject, slot: String::new(), body };
            // A person who is the first on this device records themselves.
            let nobody = app.who.get_untracked().is_none();
            if nobody {
                app.who.set(Some(subject));
            }
            match draft.record(command).await {
                Ok(_) => {
                    if nobody {
                        app.set_who(subject);
                    }
                    then.run(subject);
                }
                Err(why) => {
                    if nobody {
                        app.who.set(None);
                    }
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    view! {
        <GoesOn draft=draft />
        <TextField label=say::initials() value=initials name=Field::Initials problem=problem first=first />
        <TextField label=say::name_if_wished() value=name />
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>{say::save()}</button>
        </div>
    }
}

/// The units of what is shown and typed on this device.
#[component]
fn UnitsChosen() -> impl IntoView {
    let app = app();
    let now = app.units.get_untracked();
    let (length, temperature) = (RwSignal::new(now.length), RwSignal::new(now.temperature));
    Effect::new(move |before: Option<()>| {
        let chosen = Units { length: length.get(), temperature: temperature.get() };
        if before.is_some() && chosen != app.units.get_untracked() {
            app.choose_units(chosen);
        }
    });
    // Another tab may choose as well.
    Effect::new(move |_| {
        let now = app.units.get();
        length.set(now.length);
        temperature.set(now.temperature);
    });
    let lengths = LengthUnit::ALL.iter().map(|unit| (*unit, say::length_choice(*unit))).collect();
    let temperatures = TemperatureUnit::ALL.iter().map(|unit| (*unit, say::temperature_choice(*unit).to_owned()));
    let temperatures = temperatures.collect();
    view! {
        <p class="small">{say::units_under()}</p>
        <Chips label=say::lengths() choices=lengths value=length />
        <Chips label=say::temperatures() choices=temperatures value=temperature />
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
