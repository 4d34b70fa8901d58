//! Typing a walk sheet in: the day, and for each bulb the box that was marked.

use std::collections::HashMap;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::walk::{self, Answer};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::field::{DayField, Problem, ProblemLine, fresh_id};
use crate::parts::heading::Heading;
use crate::words::{en, sheet as say};

/// A walk from paper.
#[component]
pub(crate) fn TypeIn(place: Id) -> impl IntoView {
    let app = app();
    let today = app.today.get_untracked().to_string();
    let day = RwSignal::new(today.clone());
    let given = RwSignal::new(HashMap::<Id, usize>::new());
    let problem = RwSignal::new(None::<Problem>);
    let bulbs: Vec<(Id, String, Vec<Answer>)> = app.peek(|r| {
        let bulbs = r.state.bulbs_in(place);
        bulbs
            .iter()
            .map(|bulb| (bulb.id, bulb.label().to_owned(), walk::answers(bulb)))
            .collect()
    });
    let answers: HashMap<Id, Vec<Answer>> = bulbs
        .iter()
        .map(|(id, _, answers)| (*id, answers.clone()))
        .collect();
    let answers = StoredValue::new(answers);
    let all_same = move |_| {
        given.update(|given| {
            answers.with_value(|answers| {
                for id in answers.keys() {
                    given.entry(*id).or_insert(0);
                }
            });
        });
    };
    let save = move |_| {
        let Ok(on) = day.get_untracked().parse() else {
            return problem.set(Some(Problem {
                field: "date".to_owned(),
                text: say::choose_day().to_owned(),
            }));
        };
        let mut ids = app.moment().ids;
        let looks = app.peek(|r| {
            let chosen = given.get_untracked();
            let of = |(id, at): (&Id, &usize)| {
                let bulb = r.state.bulb(id)?;
                let answer = answers.with_value(|answers| answers.get(id)?.get(*at).copied())?;
                Some((*id, walk::look_for(answer, bulb, Some(place), &mut ids)))
            };
            chosen.iter().filter_map(of).collect::<Vec<_>>()
        });
        let n = looks.len();
        wasm_bindgen_futures::spawn_local(async move {
            match app
                .record(Command::Look {
                    looks,
                    on: Some(on),
                })
                .await
            {
                Ok(entries) => {
                    app.say_saved(
                        say::typed_in(n),
                        entries.iter().map(|entry| entry.id).collect(),
                    );
                    address::replace(&Route::Place(place).to_string());
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let rows = bulbs
        .into_iter()
        .map(|(id, label, answers)| {
            let field = fresh_id();
            let options = answers
                .iter()
                .enumerate()
                .map(|(at, answer)| view! { <option value=at.to_string()>{en::answer(*answer)}</option> })
                .collect_view();
            let now = move || given.with(|given| given.get(&id).map(ToString::to_string).unwrap_or_default());
            let set = move |event: leptos::ev::Event| {
                let at = event_target_value(&event).parse::<usize>().ok();
                given.update(|given| match at {
                    Some(at) => drop(given.insert(id, at)),
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
        })
        .collect_view();
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()))
            title=en::type_sheet_in()
            under=say::type_in_under()
            back=Route::Place(place)
        />
        <DayField label=say::day_of_walk() value=day max=today />
        <button type="button" class="btn soft" on:click=all_same>{say::rest_same()}</button>
        {rows}
        <ProblemLine problem=problem />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
    }
}
