//! Typing a walk sheet in: the day, and for each bulb the box that was marked.

use std::collections::{BTreeMap, HashMap};

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::Bulb;
use bloomdue_core::nursery::walk::{self, Answer};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{DayField, Problem, ProblemLine, fresh_id};
use crate::parts::heading::Heading;
use crate::words::{en, sheet as say};

/// A walk from paper.
#[component]
pub(crate) fn TypeIn(place: Id) -> impl IntoView {
    let app = app();
    let today = app.today.get_untracked().to_string();
    let day = RwSignal::new(today.clone());
    let given = RwSignal::new(HashMap::<Id, Answer>::new());
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
                let given: BTreeMap<Id, Answer> = given.try_get()?.into_iter().collect();
                Some(given.into_iter().collect::<Vec<_>>())
            },
            move |kept: Vec<(Id, Answer)>| given.set(kept.into_iter().collect()),
        )
        .keep();
    let all_same = move |_| {
        given.update(|given| {
            sheet.with_untracked(|sheet| {
                for bulb in sheet {
                    if let Some(same) = walk::answers(bulb).first() {
                        given.entry(bulb.id).or_insert(*same);
                    }
                }
            });
        });
    };
    let save = move |_| {
        let Ok(on) = day.get_untracked().parse() else {
            return problem.set(Some(Problem { field: "date".to_owned(), text: say::choose_day().to_owned() }));
        };
        let mut ids = app.moment().ids;
        let looks: Vec<_> = given.with_untracked(|given| {
            sheet.with_untracked(|sheet| {
                let look = |bulb: &Bulb| {
                    // Another day may have other answers; what no longer fits was not chosen for it.
                    let answer = *given.get(&bulb.id)?;
                    let fits = walk::answers(bulb).contains(&answer);
                    fits.then(|| {
                        let look = walk::look_for(answer, bulb, Some(place), &mut ids);
                        (bulb.id, look)
                    })
                };
                sheet.iter().filter_map(look).collect()
            })
        });
        let n = looks.len();
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(Command::Look { looks, on: Some(on) }).await {
                Ok(entries) => {
                    app.say_saved(say::typed_in(n), entries.iter().map(|entry| entry.id).collect());
                    address::replace(&Route::Place(place).to_string());
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let row = move |bulb: &Bulb| {
        let (id, label) = (bulb.id, bulb.label().to_owned());
        let field = fresh_id();
        let answers = walk::answers(bulb);
        let options: Vec<_> = answers
            .iter()
            .enumerate()
            .map(|(at, answer)| view! { <option value=at.to_string()>{en::answer(*answer)}</option> })
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
        let rows = sheet.with(|sheet| sheet.iter().map(row).collect::<Vec<_>>());
        if rows.is_empty() { view! { <p class="say">{say::none_then()}</p> }.into_any() } else { rows.into_any() }
    };
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()))
            title=en::type_sheet_in()
            under=say::type_in_under()
            back=Route::Place(place)
        />
        <GoesOn draft=draft />
        <DayField label=say::day_of_walk() value=day max=today />
        <button type="button" class="btn soft" on:click=all_same>{say::rest_same()}</button>
        {rows}
        <ProblemLine problem=problem />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
    }
}
