//! Lots with their cultivars: renamed, and taken out when they were entered by mistake.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, LotBody};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{common, labels, mistakes as say, places};
use leptos::prelude::*;

use crate::app::{Records, app};
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{ProblemLine, TextField};
use crate::parts::heading::Heading;

/// How many bulbs that are here are of a lot.
fn n_of(r: Records<'_>, lot: Id) -> usize {
    let bulbs = r.state.bulbs.values().filter(|bulb| bulb.is_here());
    bulbs.filter(|bulb| bulb.lot.shown() == Some(&lot)).count()
}

/// All lots.
#[component]
pub(crate) fn Lots() -> impl IntoView {
    let app = app();
    let rows = move || {
        app.read(|r| {
            let lots = r.state.lots.iter();
            let lots = lots.filter_map(|(id, body)| Some((*id, places::lot(body.shown()?))));
            lots.map(|(id, words)| {
                let n = n_of(r, id);
                view! {
                    <a class="row" href=Route::Lot(id).href()>
                        <span class="grow"><b>{words}</b></span>
                        <span class="num" aria-label=common::bulbs(n)>{n}</span>
                    </a>
                }
            })
            .collect_view()
        })
    };
    let none = move || app.read(|r| r.state.lots.is_empty());
    view! {
        <Heading place=common::places_word() title=say::lots() under=say::lots_under() back=Route::Places />
        <Show when=none>
            <p>{say::no_lots()}</p>
        </Show>
        {rows}
    }
}

/// One lot.
#[component]
pub(crate) fn Lot(lot: Id) -> impl IntoView {
    let app = app();
    let known = app.peek(|r| r.state.lots.get(&lot).and_then(|body| body.shown().cloned()));
    let (name, cultivar) = known.as_ref().map(|body| (body.name.clone(), body.cultivar.clone())).unwrap_or_default();
    let same = name == cultivar;
    let title = name.clone();
    let out = StoredValue::new(name.clone());
    let (name, cultivar) = (RwSignal::new(name), RwSignal::new(cultivar));
    let problem = RwSignal::new(None::<Problem>);
    let draft =
        FormDraft::of(app, format!("lot {}", Route::Lot(lot))).field("name", name).field("cultivar", cultivar).keep();
    let known = StoredValue::new(known);
    let save = move |_| {
        let Some(known) = known.get_value() else {
            return;
        };
        let (typed, cultivar) = (name.get_untracked(), cultivar.get_untracked());
        // A lot that goes by its cultivar is renamed with it.
        let name = if same && typed == known.name { cultivar.clone() } else { typed };
        let command =
            Command::Set { subject: lot, slot: String::new(), body: Body::Lot(LotBody { name, cultivar, ..known }) };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    let saved = entries.iter().map(|entry| entry.id).collect();
                    app.notify_saved(say::lot_changed().to_owned(), saved);
                    app.done_to(&Route::Lots);
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let take_out = move |_| {
        let subjects = vec![lot];
        app.save_then(Command::Remove { subjects }, out.with_value(|name| say::taken_out(name)), move |_| {
            app.done_to(&Route::Lots);
        });
    };
    let n = move || app.read(|r| n_of(r, lot));
    view! {
        <Heading place=say::lots() title=title back=Route::Lots />
        <GoesOn draft=draft />
        <TextField label=places::cultivar() value=cultivar hint=places::cultivar_hint() name=Field::Lot problem=problem first=true />
        <TextField label=places::lot_name() value=name hint=places::lot_name_hint() name=Field::Name problem=problem />
        <Show
            when=move || { n() > 0 }
            fallback=move || view! {
                <h2>{say::by_mistake()}</h2>
                <button type="button" class="btn soft" on:click=take_out>{say::take_out()}</button>
            }
        >
            <a class="btn soft gap-above" href=Route::Labels(lot).href()>{labels::link()}</a>
            <a class="btn soft gap-above" href=Route::Several(lot).href()>{say::several()}</a>
        </Show>
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>{common::save()}</button>
        </div>
    }
}
