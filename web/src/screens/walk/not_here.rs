//! A bulb that does not stand where the order has it: later, missing, or another one stands here.

use bloomdue_core::ledger::body::{Act, ActKind, BenchOrder, Body};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::bench;
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::App;
use crate::parts::field::TextField;
use crate::words::walk as say;

/// Bulbs offered without typing.
const N_OFFERED: usize = 8;
/// Bulbs from elsewhere shown for what was typed.
const N_FOUND: usize = 6;

/// Mends the order in two taps.
#[component]
pub(super) fn NotHere(app: App, place: Id, bulb: Id, label: String, gone: RwSignal<bool>) -> impl IntoView {
    let label = StoredValue::new(label);
    let at_end = move |_| {
        let order = app.peek(|r| bench::put(r.state, place, bulb, None));
        app.save(set_order(place, order), label.with_value(|l| say::put_at_end(l)));
        let _ = gone.try_set(false);
    };
    let missing = move |_| {
        let command = Command::Do { kind: ActKind::Missing, act: Act::default(), about: vec![bulb], on: None };
        app.save(command, label.with_value(|l| say::missed(l)));
    };
    let offered = app.peek(|r| {
        let open = bench::others_open(r.state, place, bulb, r.today);
        let open = open.into_iter().take(N_OFFERED);
        open.map(|id| (id, r.state.name_of(id).to_owned())).collect::<Vec<_>>()
    });
    let typed = RwSignal::new(String::new());
    let found = move || {
        let text = typed.get();
        app.read(|r| {
            let found = r.state.find(&text).into_iter();
            let others = found.filter(|known| known.id != bulb && known.is_here());
            let rows = others.take(N_FOUND).map(|known| (known.id, known.label().to_owned()));
            rows.collect::<Vec<_>>()
        })
    };
    let chip = move |(id, name): (Id, String)| {
        view! {
            <button type="button" class="chip" on:click=move |_| put_here(app, place, id, bulb, gone)>{name}</button>
        }
    };
    view! {
        <h2>{label.with_value(|l| say::not_here_title(l))}</h2>
        <div class="stack">
            <button type="button" class="btn wide" on:click=at_end>{say::at_the_end()}</button>
            <button type="button" class="btn wide" on:click=missing>{say::nowhere()}</button>
        </div>
        <h2>{say::another_here()}</h2>
        <div class="chips">{offered.into_iter().map(chip).collect_view()}</div>
        <TextField label=say::another_typed() value=typed hint=say::another_hint() />
        <div class="chips" role="status">
            {move || {
                let found = found();
                let none = found.is_empty() && !typed.with(|text| text.trim().is_empty());
                view! {
                    {none.then(say::not_found_yet)}
                    {found.into_iter().map(chip).collect_view()}
                }
            }}
        </div>
        <button type="button" class="btn soft wide gap-above" on:click=move |_| gone.set(false)>{say::it_is_here()}</button>
    }
}

fn set_order(place: Id, order: BenchOrder) -> Command {
    Command::Set { subject: place, slot: String::new(), body: Body::BenchOrder(order) }
}

/// Puts a bulb before the one that was expected, and moves it here when its records have it elsewhere.
fn put_here(app: App, place: Id, id: Id, before: Id, gone: RwSignal<bool>) {
    let (name, elsewhere, order) = app.peek(|r| {
        let elsewhere = r.state.bulb(&id).is_some_and(|known| known.place != Some(place));
        let order = bench::put(r.state, place, id, Some(before));
        (r.state.name_of(id).to_owned(), elsewhere, order)
    });
    wasm_bindgen_futures::spawn_local(async move {
        let moved = Command::Do {
            kind: ActKind::Moved,
            act: Act { place: Some(place), ..Act::default() },
            about: vec![id],
            on: None,
        };
        let mut saved = Vec::new();
        for command in elsewhere.then_some(moved).into_iter().chain([set_order(place, order)]) {
            match app.record(command).await {
                Ok(entries) => saved.extend(entries.iter().map(|entry| entry.id)),
                Err(why) => return app.say(why),
            }
        }
        app.say_saved(say::put_here(&name), saved);
        let _ = gone.try_set(false);
    });
}
