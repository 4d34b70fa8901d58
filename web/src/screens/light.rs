//! The light of a place: today, its year, what the covers keep out by their labels and as it was read, beside another place.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::LightOf;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::light::place::{NoLight, PlaceLight, of_place};
use bloomdue_core::record::Command;
use bloomdue_words::form::Problem;
use bloomdue_words::form::light::{Meter, Typed, by_photos};
use bloomdue_words::knowledge::Page;
use bloomdue_words::light as say;
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::fold::Behind;
use crate::parts::heading::Heading;
use crate::parts::plots::light::LightPlot;
use crate::parts::shade::ShadeByPhotos;
use crate::screens::{knowledge, published};

/// The light of one place.
#[component]
pub(crate) fn Light(place: Id) -> impl IntoView {
    let app = app();
    let name = Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()));
    let found = Memo::new(move |_| app.read(|r| of_place(r.state, place, r.today)));
    view! {
        <Heading place=name title=say::title() back=Route::Place(place) />
        {move || match found.get() {
            Ok(light) => told(app, &light),
            Err(why) => {
                let mend = (why == NoLight::NoLatitude).then(|| {
                    view! { <a class="btn" href=Route::People.href()>{say::to_latitude()}</a> }
                });
                view! { <p class="say">{say::refused(why)}</p> {mend} }.into_any()
            }
        }}
        <Show when=move || found.with(|found| *found != Err(NoLight::Dark))>
            <Reading app=app place=place />
        </Show>
    }
}

fn told(app: App, light: &PlaceLight) -> AnyView {
    let covers = say::covers(light).into_iter().chain(say::without_open(light));
    let covers: Vec<_> = covers.map(|line| view! { <p>{line}</p> }).collect();
    let tries = app.peek(|r| light.tries.iter().map(|of| say::of_try(of, r.state, r.today)).collect::<Vec<_>>());
    let tries: Vec<_> = tries.into_iter().map(|line| view! { <li>{line}</li> }).collect();
    let tries = (!tries.is_empty()).then(|| view! { <h2>{say::tries()}</h2> <ul>{tries}</ul> });
    view! {
        <p class="say">{say::say(light)}</p>
        {covers}
        <h2>{say::year()}</h2>
        <p class="small">{say::year_hint()}</p>
        <LightPlot light=light.clone() />
        <p>{say::classes(&light.today)}</p>
        <p class="small">{say::no_target()}</p>
        {tries}
        <Compare app=app here=light.clone() />
        <Behind summary=say::how()>
            <p class="small">{say::how_clear()}</p>
            <p class="small">{say::how_read()}</p>
            {published::link()}
            {knowledge::link(Page::Light)}
        </Behind>
    }
    .into_any()
}

/// Another place beside this one.
#[component]
fn Compare(app: App, here: PlaceLight) -> impl IntoView {
    let others = app.peek(|r| {
        let rows = r.state.place_rows().into_iter();
        let rows = rows.filter(|row| row.id != here.place && row.kind.has_light());
        rows.map(|row| (Some(row.id), row.name)).collect::<Vec<_>>()
    });
    if others.is_empty() {
        return ().into_any();
    }
    let choices: Vec<_> = std::iter::once((None, say::none().to_owned())).chain(others).collect();
    let other = RwSignal::new(None::<Id>);
    let line = move || {
        let there = other.get()?;
        app.read(|r| Some(say::beside(&here, &of_place(r.state, there, r.today).ok()?, r.state)))
    };
    view! {
        <Chips label=say::compare() choices=choices value=other />
        <p role="status">{line}</p>
    }
    .into_any()
}

/// A reading, by a meter beside the open or by photos.
#[component]
fn Reading(app: App, place: Id) -> impl IntoView {
    let (of, meter) = (RwSignal::new(LightOf::Sun), RwSignal::new(Meter::Lux));
    let (here, open) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let problem = RwSignal::new(None::<Problem>);
    let draft = FormDraft::of(app, format!("light {}", Route::Light(place)))
        .field("of", of)
        .field("meter", meter)
        .field("here", here)
        .field("open", open)
        .keep();
    let save = move |_| {
        let typed = Typed {
            of: of.get_untracked(),
            meter: meter.get_untracked(),
            here: here.get_untracked(),
            open: open.get_untracked(),
        };
        let body = match typed.body() {
            Ok(body) => body,
            Err(why) => return problem.set(Some(why)),
        };
        problem.set(None);
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(Command::Observe { about: vec![place], body, on: None }).await {
                Ok(entries) => {
                    app.notify_saved(say::saved().to_owned(), entries.iter().map(|entry| entry.id).collect());
                    let _ = here.try_set(String::new());
                    let _ = open.try_set(String::new());
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let take = Callback::new(move |percent: u32| {
        let command = Command::Observe { about: vec![place], body: by_photos(percent), on: None };
        app.save(command, say::photo_taken());
    });
    let of_choices = vec![(LightOf::Sun, say::sun().to_owned()), (LightOf::Lamp, say::lamp().to_owned())];
    let meters = vec![(Meter::Lux, say::lux().to_owned()), (Meter::Ppfd, say::ppfd().to_owned())];
    view! {
        <h2>{say::read_it()}</h2>
        <GoesOn draft=draft />
        <p class="small">{say::read_hint()}</p>
        <Chips label=say::read_under() choices=of_choices value=of />
        <Chips label=say::meter() choices=meters value=meter />
        <div class="grid2">
            <TextField label=say::here() value=here mode="numeric" name=Field::Light problem=problem />
            <Show when=move || of.get() == LightOf::Sun>
                <TextField label=say::open() value=open mode="numeric" />
            </Show>
        </div>
        <p class="small">{move || if of.get() == LightOf::Sun { say::open_hint() } else { say::lamp_hint() }}</p>
        <ProblemLine problem=problem />
        <button type="button" class="btn" on:click=save>{say::record()}</button>
        <Show when=move || of.get() == LightOf::Sun>
            <ShadeByPhotos take=take />
        </Show>
    }
}
