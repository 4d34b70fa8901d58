//! Typing a walk sheet in: the day, and for each bulb the box that was marked.

mod grid;

use std::collections::{BTreeMap, HashMap};

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Field;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::Bulb;
use bloomdue_core::nursery::walk::{self, Marked};
use bloomdue_core::record::walked;
use bloomdue_words::form::{self, Problem};
use bloomdue_words::route::Route;
use bloomdue_words::{care, common, places, sheet as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{DayField, ProblemLine, fresh_id};
use crate::parts::heading::Heading;

/// A walk from paper.
#[component]
pub(crate) fn TypeIn(place: Id) -> impl IntoView {
    let app = app();
    let today = app.today.get_untracked().to_string();
    let day = RwSignal::new(today.clone());
    let given = RwSignal::new(HashMap::<Id, Marked>::new());
    let problem = RwSignal::new(None::<Problem>);
    // The bulbs as they were on the day of the sheet: later looks say nothing about it.
    let sheet = Memo::new(move |_| {
        let on = day.get().parse::<Date>().ok();
        on.map(|on| app.read(|r| walk::sheet(r.state, r.ledger, place, on))).unwrap_or_default()
    });
    let key = format!("sheet {}", Route::TypeIn(place));
    let draft = FormDraft::of(app, key)
        .field("day", day)
        .part(
            "given",
            move || {
                // In one order, so that the same answers are the same draft.
                let given: BTreeMap<Id, Marked> = given.try_get()?.into_iter().collect();
                Some(given.into_iter().collect::<Vec<_>>())
            },
            move |kept: Vec<(Id, Marked)>| given.set(kept.into_iter().collect()),
        )
        .keep();
    let all_same = move |_| {
        given.update(|given| {
            sheet.with_untracked(|sheet| {
                for bulb in sheet {
                    if let Some(same) = walk::same_box(bulb) {
                        given.entry(bulb.id).or_insert(same);
                    }
                }
            });
        });
    };
    let save = move |_| {
        let on = match form::day(Field::Date, &day.get_untracked(), say::choose_day()) {
            Ok(on) => on,
            Err(why) => return problem.set(Some(why)),
        };
        let mut ids = app.moment().ids;
        let (command, n) = given.with_untracked(|given| {
            let marked = |bulb: Id| given.get(&bulb).copied();
            sheet.with_untracked(|sheet| walked::typed_in(sheet, marked, place, on, &mut ids))
        });
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(say::typed_in(n), entries.iter().map(|entry| entry.id).collect());
                    app.done_to(&Route::Place(place));
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let row = move |bulb: &Bulb| {
        let (id, label) = (bulb.id, bulb.label().to_owned());
        let field = fresh_id();
        let answers = walk::boxes(bulb);
        let options: Vec<_> = answers
            .iter()
            .enumerate()
            .map(|(at, answer)| view! { <option value=at.to_string()>{say::marked(*answer)}</option> })
            .collect();
        let answers = StoredValue::new(answers);
        let now = move || {
            let answer = given.with(|given| given.get(&id).copied());
            let at = answers.with_value(|answers| answers.iter().position(|known| Some(*known) == answer));
            at.map(|at| at.to_string()).unwrap_or_default()
        };
        let set = move |event: leptos::ev::Event| {
            let at = event_target_value(&event).parse::<usize>().ok();
            let answer = answers.with_value(|answers| at.and_then(|at| answers.get(at).copied()));
            given.update(|given| match answer {
                Some(answer) => drop(given.insert(id, answer)),
                None => drop(given.remove(&id)),
            });
        };
        view! {
            <div class="field with-label">
                <label class="tag" for=field.clone()>{label}</label>
                <select id=field on:change=set prop:value=now>
                    <option value="">{say::not_looked_at()}</option>
                    {options}
                </select>
            </div>
        }
    };
    let rows = move || {
        if app.wide.get() && sheet.with(|sheet| !sheet.is_empty()) {
            return view! { <grid::Table sheet=sheet.get() given=given /> }.into_any();
        }
        let rows = sheet.with(|sheet| sheet.iter().map(row).collect::<Vec<_>>());
        if rows.is_empty() { view! { <p class="say">{say::none_then()}</p> }.into_any() } else { rows.into_any() }
    };
    let n_typed =
        move || given.with(|given| sheet.with(|sheet| walked::n_typed(sheet, |bulb| given.get(&bulb).copied())));
    let save_words = move || match n_typed() {
        0 => common::save().to_owned(),
        n => care::save_for(n),
    };
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()))
            title=places::type_sheet_in()
            under=say::type_in_under()
            back=Route::Place(place)
        />
        <GoesOn draft=draft />
        <DayField label=say::day_of_walk() value=day max=today name=Field::Date problem=problem />
        <button type="button" class="btn soft" on:click=all_same>{say::rest_same()}</button>
        {rows}
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>{save_words}</button>
        </div>
    }
}
