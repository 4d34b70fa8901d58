//! A place: its name, what it is, what covers it.

use bloomdue_core::ledger::body::{Body, Cover, PlaceBody, PlaceKind};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::{en as say, mistakes};

/// A new place, or one to be changed.
#[component]
pub(crate) fn PlaceForm(place: Option<Id>) -> impl IntoView {
    let app = app();
    let known = place.and_then(|id| app.peek(|r| r.state.places.get(&id).and_then(|p| p.body.shown().cloned())));
    let name = RwSignal::new(known.as_ref().map(|body| body.name.clone()).unwrap_or_default());
    let kind = RwSignal::new(known.as_ref().map_or(PlaceKind::Bench, |body| body.kind));
    let shade = RwSignal::new(
        known.as_ref().and_then(|body| body.covers.first()).map(|c| c.blocks_percent.to_string()).unwrap_or_default(),
    );
    let more_covers: Vec<Cover> =
        known.as_ref().map(|body| body.covers.iter().skip(1).cloned().collect()).unwrap_or_default();
    let problem = RwSignal::new(None::<Problem>);
    let at = place.map_or(Route::NewPlace, Route::EditPlace);
    let draft =
        FormDraft::of(app, format!("place {at}")).field("name", name).field("kind", kind).field("shade", shade).keep();
    let kinds = PlaceKind::ALL.iter().map(|kind| (*kind, say::place_kind(*kind).to_owned())).collect::<Vec<_>>();
    let save = move |_| {
        let typed = shade.get_untracked();
        let mut covers = Vec::new();
        match typed.trim() {
            "" | "0" => {}
            text => match text.trim_end_matches('%').trim().parse::<u32>() {
                Ok(blocks_percent) => covers.push(Cover { what: say::shade_cloth().to_owned(), blocks_percent }),
                Err(_) => {
                    problem.set(Some(Problem { field: "shade".to_owned(), text: say::digits_only().to_owned() }));
                    return;
                }
            },
        }
        covers.extend(more_covers.clone());
        let body = PlaceBody { name: name.get_untracked(), kind: kind.get_untracked(), covers, given_up: false };
        let subject = place.unwrap_or_else(|| app.moment().ids.draw(Noun::Place));
        let command = Command::Set { subject, slot: String::new(), body: Body::Place(body) };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) if place.is_some() => {
                    let saved = entries.iter().map(|entry| entry.id).collect();
                    app.say_saved(say::place_changed().to_owned(), saved);
                    address::replace(&Route::Place(subject).to_string());
                }
                Ok(_) => app.go(Route::AddBulbs(subject)),
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let called = StoredValue::new(name.get_untracked());
    let take_out = move |_| {
        let subjects = place.into_iter().collect();
        let text = called.with_value(|name| mistakes::taken_out(name));
        app.save_then(Command::Remove { subjects }, text, |_| {
            address::replace(&Route::Places.to_string());
        });
    };
    let empty = place.is_some_and(|place| app.peek(|r| r.state.bulbs_in(place).is_empty()));
    view! {
        <Heading place=say::places_word() title=if place.is_some() { say::change_place() } else { say::new_place() } back=Route::Places />
        <GoesOn draft=draft />
        <TextField label=say::place_name() value=name hint=say::place_name_hint() name="name" problem=problem />
        <Chips label=say::what_it_is() choices=kinds value=kind />
        <TextField label=say::shade_label() value=shade mode="numeric" hint=say::shade_hint() name="shade" problem=problem />
        <ProblemLine problem=Signal::derive(move || problem.get().filter(|p| p.field != "name" && p.field != "shade")) />
        <button type="button" class="btn main" on:click=save>
            {if place.is_some() { say::save() } else { say::save_and_add_bulbs() }}
        </button>
        {empty.then(|| view! {
            <h2>{mistakes::by_mistake()}</h2>
            <button type="button" class="btn soft" on:click=take_out>{mistakes::take_out()}</button>
        })}
    }
}
