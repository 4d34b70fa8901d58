//! Something done or seen, for one bulb, a container, a place or a group at once, with exceptions, today or earlier.

pub(super) mod fields;

use std::collections::BTreeSet;

use bloomdue_core::care::scope::bulbs_of;
use bloomdue_core::ledger::body::{Act, ActKind};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::{Command, asks};
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::field::{DayField, Problem, ProblemLine};
use crate::parts::heading::Heading;
use crate::words::{care as say, en};
use fields::{Asked, Fields, What};

/// Records something for a subject.
#[component]
pub(crate) fn Care(subject: Id, group: Option<Id>) -> impl IntoView {
    let app = app();
    let what = RwSignal::new(None::<What>);
    let title = app.peek(|r| {
        let name = r.state.name_of(group.unwrap_or(subject)).to_owned();
        let n = bulbs_of(r.state, subject, group).len();
        if subject.is(Noun::Bulb) {
            name
        } else {
            say::for_many(&name, n)
        }
    });
    let back = back_to(app, subject);
    let heading = move || {
        what.get().map_or_else(
            || say::what_was_done().to_owned(),
            |what| say::what(&what_word(what)),
        )
    };
    view! {
        <Heading place=title title=Signal::derive(heading) back=back />
        {move || match what.get() {
            None => view! { <Choose subject=subject what=what /> }.into_any(),
            Some(chosen) => view! { <Form app=app subject=subject group=group what=chosen choose=what /> }.into_any(),
        }}
    }
}

fn what_word(what: What) -> String {
    match what {
        What::Act(kind) => en::act(kind).to_owned(),
        What::Inspection => say::inspection().to_owned(),
        What::Measure => say::measure().to_owned(),
        What::Count => say::count().to_owned(),
        What::Note => say::note().to_owned(),
        What::Light => say::light().to_owned(),
        What::Climate => say::climate().to_owned(),
    }
}

fn back_to(app: App, subject: Id) -> Route {
    if subject.is(Noun::Bulb) {
        Route::Bulb(subject)
    } else if subject.is(Noun::Place) {
        Route::Place(subject)
    } else if subject.is(Noun::Container) {
        Route::Container(subject)
    } else if app.peek(|r| r.state.runs.contains_key(&subject)) {
        Route::Run(subject)
    } else {
        Route::Places
    }
}

#[component]
fn Choose(subject: Id, what: RwSignal<Option<What>>) -> impl IntoView {
    let button = move |choice: What| {
        view! {
            <button type="button" class="btn soft" on:click=move |_| what.set(Some(choice))>{what_word(choice)}</button>
        }
    };
    let common = [
        ActKind::Watered,
        ActKind::Fed,
        ActKind::Moved,
        ActKind::Potted,
        ActKind::FitToSell,
        ActKind::Left,
        ActKind::Died,
    ];
    let mut seen = vec![What::Inspection, What::Measure, What::Count, What::Note];
    if subject.is(Noun::Place) {
        seen.extend([What::Light, What::Climate]);
    }
    let families = say::FAMILIES
        .iter()
        .map(|(family, words)| {
            let rest = asks::acts_of(*family)
                .map(|kind| button(What::Act(kind)))
                .collect_view();
            view! {
                <details>
                    <summary>{*words}</summary>
                    <div class="grid2">{rest}</div>
                </details>
            }
        })
        .collect_view();
    view! {
        <div class="grid2">{common.map(|kind| button(What::Act(kind))).collect_view()}</div>
        <h2>{say::seen()}</h2>
        <div class="grid2">{seen.into_iter().map(button).collect_view()}</div>
        <h2>{say::everything()}</h2>
        {families}
    }
}

#[component]
fn Form(
    app: App,
    subject: Id,
    group: Option<Id>,
    what: What,
    choose: RwSignal<Option<What>>,
) -> impl IntoView {
    let today = app.today.get_untracked().to_string();
    let fields = Fields::fresh(today.clone());
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    let of_place = matches!(what, What::Light | What::Climate);
    let bulbs: Vec<(Id, String)> = app.peek(|r| {
        bulbs_of(r.state, subject, group)
            .iter()
            .map(|bulb| (bulb.id, bulb.label().to_owned()))
            .collect()
    });
    let left_out = RwSignal::new(BTreeSet::<Id>::new());
    let all: Vec<Id> = bulbs.iter().map(|(id, _)| *id).collect();
    let all = StoredValue::new(all);
    let save = move |_| {
        let about: Vec<Id> = if of_place {
            vec![subject]
        } else {
            let out = left_out.get_untracked();
            all.with_value(|all| all.iter().copied().filter(|id| !out.contains(id)).collect())
        };
        let command = match command(app, fields, what, about.clone(), subject) {
            Ok(command) => command,
            Err(why) => return problem.set(Some(why)),
        };
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let text = say::done(&what_word(what), about.len(), of_place);
        wasm_bindgen_futures::spawn_local(async move {
            match app.record(command).await {
                Ok(entries) => {
                    app.say_saved(text, entries.iter().map(|entry| entry.id).collect());
                    address::replace(&back_to(app, subject).to_string());
                }
                Err(why) => {
                    let _ = busy.try_set(false);
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let cautions = match what {
        What::Act(kind) => asks::cautions(kind)
            .iter()
            .map(|caution| say::caution(*caution))
            .collect::<Vec<_>>(),
        _ => Vec::new(),
    };
    let several = bulbs.len() > 1 && !of_place;
    view! {
        <button type="button" class="btn soft" on:click=move |_| choose.set(None)>{say::something_else()}</button>
        {cautions.into_iter().map(|text| view! { <p class="notice small">{text}</p> }).collect_view()}
        <Asked app=app fields=fields what=what mending=false problem=problem />
        <DayField label=say::when() value=fields.day max=today />
        {several.then(|| view! { <Exceptions bulbs=bulbs left_out=left_out /> })}
        <ProblemLine problem=problem />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
    }
}

/// All are ticked; the exceptions are unticked.
#[component]
fn Exceptions(bulbs: Vec<(Id, String)>, left_out: RwSignal<BTreeSet<Id>>) -> impl IntoView {
    let n = bulbs.len();
    let count = move || say::n_of(n - left_out.with(BTreeSet::len), n);
    let rows = bulbs
        .into_iter()
        .map(|(id, label)| {
            let ticked = move || left_out.with(|out| !out.contains(&id));
            let toggle = move |_| {
                left_out.update(|out| {
                    if !out.remove(&id) {
                        out.insert(id);
                    }
                });
            };
            view! {
                <label class="choice">
                    <input type="checkbox" prop:checked=ticked on:change=toggle />
                    <b class="tag">{label}</b>
                </label>
            }
        })
        .collect_view();
    view! {
        <details>
            <summary>{count}</summary>
            {rows}
        </details>
    }
}

fn command(
    app: App,
    fields: Fields,
    what: What,
    about: Vec<Id>,
    subject: Id,
) -> Result<Command, Problem> {
    let day = fields.day.get_untracked().parse().map_err(|_| Problem {
        field: "date".to_owned(),
        text: say::choose_day().to_owned(),
    })?;
    let on = Some(day);
    let What::Act(kind) = what else {
        let body = fields::body(fields, what)?;
        return Ok(Command::Observe { about, body, on });
    };
    let from = (!subject.is(Noun::Bulb))
        .then(|| app.peek(|r| r.state.name_of(subject).to_owned()))
        .filter(|name| !name.is_empty());
    let act = fields::act(
        fields,
        kind,
        Act {
            from,
            ..Act::default()
        },
    )?;
    let into = fields::pot_into(fields)?;
    // In one container each bulb has its position, in the order in which they were listed.
    Ok(
        match into.filter(|_| asks::asks(kind).contains(&asks::Ask::Container)) {
            Some(into) => Command::Pot {
                into,
                act,
                about,
                on,
            },
            None => Command::Do {
                kind,
                act,
                about,
                on,
            },
        },
    )
}
