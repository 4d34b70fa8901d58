//! A bulb's own name, its lot, its mother, and a new tag where the old one is lost or doubled.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, BulbBody, Linked, Named};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::record::doubts::called_so;
use bloomdue_core::record::mistakes::goes_with;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, common, mistakes, places};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::doubt::AskNames;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::heading::Heading;

/// Names and lot.
#[component]
pub(crate) fn EditBulb(bulb: Id) -> impl IntoView {
    let app = app();
    let (own, lot, label) = app.peek(|r| {
        let known = r.state.bulb(&bulb);
        let own = known.and_then(|known| known.own_name.shown().cloned()).unwrap_or_default();
        (own, known.and_then(|known| known.lot.shown().copied()), r.state.name_of(bulb).to_owned())
    });
    let own = RwSignal::new(own);
    let lot = RwSignal::new(lot);
    let mother = RwSignal::new(String::new());
    let problem = RwSignal::new(None::<Problem>);
    let draft = FormDraft::of(app, format!("names {}", Route::EditBulb(bulb)))
        .field("own", own)
        .field("lot", lot)
        .field("mother", mother)
        .keep();
    let lots: Vec<(Option<Id>, String)> = app
        .peek(|r| r.state.lots.iter().filter_map(|(id, body)| Some((Some(*id), places::lot(body.shown()?)))).collect());
    let (alike, sure) = (RwSignal::new(Vec::<String>::new()), RwSignal::new(Vec::new()));
    let save = move || {
        let names: Vec<String> = app.peek(|r| {
            let others = called_so(r.state, &[own.get_untracked()]).into_iter();
            let others = others.filter(|other| !other.is(bulb));
            others.map(|other| other.label().to_owned()).collect()
        });
        if !names.is_empty() && names != sure.get_untracked() {
            return alike.set(names);
        }
        alike.set(Vec::new());
        let commands = match changes(app, bulb, &own.get_untracked(), lot.get_untracked(), &mother.get_untracked()) {
            Ok(commands) => commands,
            Err(why) => return problem.set(Some(why)),
        };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(Command::Together(commands)).await {
                Ok(entries) => {
                    let saved = entries.iter().map(|entry| entry.id).collect();
                    app.notify_saved(say::renamed().to_owned(), saved);
                    app.done_to(&Route::Bulb(bulb));
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let keep = move |()| {
        sure.set(alike.get_untracked());
        save();
    };
    let same = move || {
        app.read(|r| {
            let tag = r.state.bulb(&bulb).and_then(|known| known.tag.shown().cloned());
            tag.map_or(1, |tag| r.state.with_tag(&tag).len())
        })
    };
    let goes = app.peek(|r| mistakes::goes(&goes_with(r.ledger, r.state, &[bulb])));
    let out = mistakes::taken_out(&label);
    let place = app.peek(|r| r.state.bulb(&bulb).and_then(|known| known.place));
    let take_out = move |_| {
        let subjects = vec![bulb];
        app.save_then(Command::Remove { subjects }, out.clone(), move |_| {
            app.done_to(&place.map_or(Route::Places, Route::Place));
        });
    };
    view! {
        <Heading place=label title=say::names_and_lot() back=Route::Bulb(bulb) />
        <GoesOn draft=draft />
        <TextField label=say::own_name() value=own hint=say::own_name_hint() name=Field::Own problem=problem first=true />
        <Chips label=say::lot() choices=lots value=lot />
        <TextField label=say::offset_of() value=mother name=Field::Mother problem=problem />
        {move || lot.get().map(|lot| {
            view! { <a class="btn soft gap-above" href=Route::Lot(lot).href()>{mistakes::lots()}</a> }
        })}
        <h2>{say::new_tag()}</h2>
        <Show when=move || { same() > 1 }>
            <p class="problem">{move || say::same_tag(same())}</p>
        </Show>
        <p class="small">{say::new_tag_hint()}</p>
        <button type="button" class="btn soft" on:click=move |_| retag(app, bulb)>{say::new_tag()}</button>
        <h2>{mistakes::by_mistake()}</h2>
        <p>{goes}</p>
        <button type="button" class="btn soft" on:click=take_out>{mistakes::take_out()}</button>
        <div class="act">
            <ProblemLine problem=problem />
            {move || {
                let names = alike.get();
                (!names.is_empty()).then(|| view! { <AskNames names=names keep=Callback::new(keep) /> })
            }}
            <button type="button" class="btn main" on:click=move |_| save()>{common::save()}</button>
        </div>
    }
}

fn changes(app: App, bulb: Id, own: &str, lot: Option<Id>, mother: &str) -> Result<Vec<Command>, Problem> {
    let (known_own, known_lot) = app.peek(|r| {
        let known = r.state.bulb(&bulb);
        let own = known.and_then(|known| known.own_name.shown().cloned()).unwrap_or_default();
        (own, known.and_then(|known| known.lot.shown().copied()))
    });
    let mut commands = Vec::new();
    let own = own.trim();
    if own != known_own {
        if own.is_empty() {
            // Taking the name back leaves the tag to go by.
            let heads = app.peek(|r| bloomdue_core::nursery::State::to_replace(r.ledger, bulb, "bulb-name", "own"));
            commands.push(Command::TakeBack { entries: heads, why: None });
        } else {
            let body = Body::BulbName(Named { name: own.to_owned() });
            commands.push(Command::Set { subject: bulb, slot: "own".to_owned(), body });
        }
    }
    if let Some(lot) = lot.filter(|lot| Some(*lot) != known_lot) {
        commands.push(Command::Set { subject: bulb, slot: String::new(), body: Body::Bulb(BulbBody { lot }) });
    }
    if !mother.trim().is_empty() {
        let to = app
            .peek(|r| r.state.named(mother).map(|found| found.id))
            .ok_or_else(|| Problem::at(Field::Mother, say::no_such(mother.trim())))?;
        commands.push(Command::Link { about: bulb, body: Body::OffsetOf(Linked { to, note: None }) });
    }
    Ok(commands)
}

fn retag(app: App, bulb: Id) {
    app.save(Command::Retag { bulb }, say::tag_changed());
}
