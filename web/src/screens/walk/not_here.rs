//! A bulb that does not stand where the order has it: later, missing, or another one stands here.

use bloomdue_core::ledger::body::{Act, ActKind, BenchOrder, Body};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::bench;
use bloomdue_core::nursery::course::Stand;
use bloomdue_core::record::Command;
use bloomdue_words::walk as say;
use leptos::prelude::*;

use super::Walking;
use crate::app::App;
use crate::parts::field::TextField;

/// Bulbs offered without typing.
const N_OFFERED: usize = 8;
/// Bulbs from elsewhere shown for what was typed.
const N_FOUND: usize = 6;

/// Mends the order in two taps.
#[component]
pub(super) fn NotHere(walking: Walking) -> impl IntoView {
    let Walking { app, place, .. } = walking;
    let bulb = walking.now.get_untracked();
    bulb.map(|bulb| view! { <Elsewhere app=app walking=walking place=place bulb=bulb /> })
}

#[component]
fn Elsewhere(app: App, walking: Walking, place: Id, bulb: Id) -> impl IntoView {
    let label = StoredValue::new(walking.seen.with_untracked(|seen| seen.label.clone()));
    let at_end = move |_| {
        let order = app.peek(|r| bench::put(r.state, place, bulb, None));
        let before = walking.course.with_untracked(|course| course.before);
        app.save(set_order(place, order), label.with_value(|l| say::put_at_end(l)));
        walking.set_open(None);
        // It comes later: the walk goes on where it stood.
        walking.stand.set(before.map_or(Stand::Begin, Stand::Past));
    };
    let missing = move |_| {
        let command = Command::Do { kind: ActKind::Missing, act: Act::default(), about: vec![bulb], on: None };
        let before = walking.course.with_untracked(|course| course.before);
        app.save(command, label.with_value(|l| say::missed(l)));
        walking.stand.set(before.map_or(Stand::Begin, Stand::Past));
    };
    let offered = app.peek(|r| {
        let open = bench::others_open(r.state, place, bulb, r.today);
        let open = open.into_iter().take(N_OFFERED).filter_map(|id| r.state.bulb(&id));
        open.map(|known| (known.id, say::label(known))).collect::<Vec<_>>()
    });
    let typed = RwSignal::new(String::new());
    let found = move || {
        let text = typed.get();
        app.read(|r| {
            let found = r.state.find(&text).into_iter();
            let others = found.filter(|known| known.id != bulb && known.is_here());
            let rows = others.take(N_FOUND).map(|known| (known.id, say::label(known)));
            rows.collect::<Vec<_>>()
        })
    };
    let chip = move |(id, name): (Id, String)| {
        view! {
            <button type="button" class="chip" on:click=move |_| put_here(walking, id, bulb)>{name}</button>
        }
    };
    view! {
        <h2 class="of-say">{label.with_value(|l| say::not_here_title(l))}</h2>
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
        <button type="button" class="btn soft wide gap-above" on:click=move |_| walking.set_open(None)>
            {say::it_is_here()}
        </button>
    }
}

fn set_order(place: Id, order: BenchOrder) -> Command {
    Command::Set { subject: place, slot: String::new(), body: Body::BenchOrder(order) }
}

/// Puts a bulb before the one that was expected, and moves it here when its records have it elsewhere.
fn put_here(walking: Walking, id: Id, before: Id) {
    let Walking { app, place, .. } = walking;
    let (name, elsewhere, order) = app.peek(|r| {
        let known = r.state.bulb(&id);
        let elsewhere = known.is_some_and(|known| known.place != Some(place));
        let order = bench::put(r.state, place, id, Some(before));
        (known.map(say::label).unwrap_or_default(), elsewhere, order)
    });
    wasm_bindgen_futures::spawn_local(async move {
        let moved = Command::Do {
            kind: ActKind::Moved,
            act: Act { place: Some(place), ..Act::default() },
            about: vec![id],
            on: None,
        };
        let commands = elsewhere.then_some(moved).into_iter().chain([set_order(place, order)]);
        match app.record(Command::Together(commands.collect())).await {
            Ok(entries) => {
                app.notify_saved(say::put_here(&name), entries.iter().map(|entry| entry.id).collect());
                let _ = walking.open.try_set(None);
                let _ = walking.stand.try_set(Stand::At(id));
            }
            Err(why) => app.refused(&why),
        }
    });
}
