//! A place: its name, what it is, what covers it.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, PlaceBody, PlaceKind};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use bloomdue_words::form::{self, Problem};
use bloomdue_words::route::Route;
use bloomdue_words::{common, mistakes, places as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::shade::ShadeByPhotos;

/// A new place, or one to be changed.
#[component]
pub(crate) fn PlaceForm(place: Option<Id>) -> impl IntoView {
    let app = app();
    let known = place.and_then(|id| app.peek(|r| r.state.places.get(&id).and_then(|p| p.body.shown().cloned())));
    let name = RwSignal::new(known.as_ref().map(|body| body.name.clone()).unwrap_or_default());
    let kind = RwSignal::new(known.as_ref().map_or(PlaceKind::Bench, |body| body.kind));
    let ([shade, structure, trees], more_covers) = form::layers(known.as_ref().map_or(&[], |body| &body.covers));
    let (shade, structure, trees) = (RwSignal::new(shade), RwSignal::new(structure), RwSignal::new(trees));
    let problem = RwSignal::new(None::<Problem>);
    let at = place.map_or(Route::NewPlace, Route::EditPlace);
    let draft = FormDraft::of(app, format!("place {at}"))
        .field("name", name)
        .field("kind", kind)
        .field("shade", shade)
        .field("structure", structure)
        .field("trees", trees)
        .keep();
    let kinds = PlaceKind::ALL.iter().map(|kind| (*kind, say::place_kind(*kind).to_owned())).collect::<Vec<_>>();
    let save = move |_| {
        let layers = [shade, structure, trees].map(|layer| layer.get_untracked());
        let covers = match form::covers(kind.get_untracked(), layers.each_ref().map(String::as_str), &more_covers) {
            Ok(covers) => covers,
            Err(why) => return problem.set(Some(why)),
        };
        let body = PlaceBody { name: name.get_untracked(), kind: kind.get_untracked(), covers, given_up: false };
        let subject = place.unwrap_or_else(|| app.moment().ids.draw(Noun::Place));
        let command = Command::Set { subject, slot: String::new(), body: Body::Place(body) };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) if place.is_some() => {
                    let saved = entries.iter().map(|entry| entry.id).collect();
                    app.notify_saved(say::place_changed().to_owned(), saved);
                    app.done_to(&Route::Place(subject));
                }
                Ok(_) => app.done_to(&Route::AddBulbs(subject)),
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let called = StoredValue::new(name.get_untracked());
    let take_out = move |_| {
        let subjects = place.into_iter().collect();
        let text = called.with_value(|name| mistakes::taken_out(name));
        app.save_then(Command::Remove { subjects }, text, move |_| {
            app.done_to(&Route::Places);
        });
    };
    let empty = place.is_some_and(|place| app.peek(|r| r.state.bulbs_in(place).is_empty()));
    view! {
        <Heading place=common::places_word() title=if place.is_some() { say::change_place() } else { say::new_place() } back=Route::Places />
        <GoesOn draft=draft />
        <TextField label=say::place_name() value=name hint=say::place_name_hint() name=Field::Name problem=problem first=true />
        <Chips label=say::what_it_is() choices=kinds value=kind />
        <Show when=move || kind.get().has_light()>
            <TextField label=say::shade_label() value=shade mode="numeric" hint=say::shade_hint() name=Field::Shade problem=problem />
            <Fold summary=say::more_layers() row=0>
                <p class="small">{say::layers_hint()}</p>
                <TextField label=say::structure_label() value=structure mode="numeric" />
                <TextField label=say::trees_label() value=trees mode="numeric" />
            </Fold>
            <ShadeByPhotos take=Callback::new(move |percent: u32| shade.set(percent.to_string())) />
        </Show>
        {empty.then(|| view! {
            <h2>{mistakes::by_mistake()}</h2>
            <button type="button" class="btn soft" on:click=take_out>{mistakes::take_out()}</button>
        })}
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>
                {if place.is_some() { common::save() } else { say::save_and_add_bulbs() }}
            </button>
        </div>
    }
}
