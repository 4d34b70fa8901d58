//! Something done or seen, for one bulb, a container, a place or a group at once, with exceptions, today or earlier.

pub(super) mod fields;

use std::collections::BTreeSet;

use bloomdue_core::calendar::Date;
use bloomdue_core::care::scope::bulbs_of;
use bloomdue_core::ledger::body::{Act, ActKind};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::nursery::walk;
use bloomdue_core::record::{Command, asks};
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::field::{Chips, DayField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::parts::photos::AddPhoto;
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
            None => view! { <Choose app=app subject=subject group=group what=what /> }.into_any(),
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
fn Choose(app: App, subject: Id, group: Option<Id>, what: RwSignal<Option<What>>) -> impl IntoView {
    // A photo of a place or a container is of that; one of a group shows each of its bulbs.
    let about: Vec<Id> = if subject.is(Noun::Run) {
        app.peek(|r| {
            bulbs_of(r.state, subject, group)
                .iter()
                .map(|bulb| bulb.id)
                .collect()
        })
    } else {
        vec![subject]
    };
    let label = app.peek(|r| r.state.name_of(group.unwrap_or(subject)).to_owned());
    let at = Route::Care(subject, group);
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
        <AddPhoto app=app about=about label=label at=at />
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
    if what == What::Act(ActKind::Left) {
        fields.known_stage(app.peek(|r| walk::stage_of_all(r.state, &all)));
    }
    let all = StoredValue::new(all);
    // Measures and counts of several may be the same for all, or typed bulb by bulb.
    let each = RwSignal::new(false);
    let typed: Vec<(Id, RwSignal<String>)> = bulbs
        .iter()
        .map(|(id, _)| (*id, RwSignal::new(String::new())))
        .collect();
    let typed = StoredValue::new(typed);
    let save = move |_| {
        let about: Vec<Id> = if of_place {
            vec![subject]
        } else {
            let out = left_out.get_untracked();
            all.with_value(|all| all.iter().copied().filter(|id| !out.contains(id)).collect())
        };
        let command = if each.get_untracked() {
            each_command(fields, what, typed.get_value())
        } else {
            command(app, fields, what, about.clone(), subject).map(|command| (command, about.len()))
        };
        let (command, n) = match command {
            Ok(command) => command,
            Err(why) => return problem.set(Some(why)),
        };
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let text = say::done(&what_word(what), n, of_place);
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
    let may_each = several && matches!(what, What::Measure | What::Count);
    let labels: Vec<String> = bulbs.iter().map(|(_, label)| label.clone()).collect();
    view! {
        <button type="button" class="btn soft" on:click=move |_| choose.set(None)>{say::something_else()}</button>
        {cautions.into_iter().map(|text| view! { <p class="notice small">{text}</p> }).collect_view()}
        <Asked app=app fields=fields what=what mending=false problem=problem each=each />
        {may_each.then(|| view! { <Each each=each fields=fields what=what labels=labels typed=typed /> })}
        <DayField label=say::when() value=fields.day max=today />
        <Show when=move || several && !each.get()>
            <Exceptions bulbs=bulbs.clone() left_out=left_out />
        </Show>
        <ProblemLine problem=problem />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
    }
}

/// The same number for all, or a field for each bulb in the order in which they stand.
#[component]
fn Each(
    each: RwSignal<bool>,
    fields: Fields,
    what: What,
    labels: Vec<String>,
    typed: StoredValue<Vec<(Id, RwSignal<String>)>>,
) -> impl IntoView {
    let choices = vec![
        (false, say::same_for_all().to_owned()),
        (true, say::bulb_by_bulb().to_owned()),
    ];
    let rows = move || {
        let fields = labels.iter().zip(typed.get_value());
        fields
            .map(|(label, (_, value))| {
                view! { <TextField label=label.clone() value=value mode="decimal" /> }
            })
            .collect_view()
    };
    let unit = move || {
        if what == What::Count {
            say::how_many()
        } else {
            say::measured_unit(fields.measured.get())
        }
    };
    view! {
        <Chips label=say::each_label() choices=choices value=each />
        <Show when=move || each.get()>
            <p class="small">{move || say::each_hint(unit())}</p>
            <div class="grid2">{rows.clone()}</div>
        </Show>
    }
}

/// What was typed bulb by bulb, and for how many; a field left empty says nothing of its bulb.
fn each_command(
    fields: Fields,
    what: What,
    typed: Vec<(Id, RwSignal<String>)>,
) -> Result<(Command, usize), Problem> {
    let mut each = Vec::new();
    for (bulb, text) in typed {
        let text = text.get_untracked();
        if text.trim().is_empty() {
            continue;
        }
        fields.number.set(text);
        each.push((bulb, fields::body(fields, what)?));
    }
    let n = each.len();
    let on = Some(day_of(fields)?);
    Ok((Command::ObserveEach { each, on }, n))
}

/// All are ticked; the exceptions are unticked.
#[component]
pub(crate) fn Exceptions(
    bulbs: Vec<(Id, String)>,
    left_out: RwSignal<BTreeSet<Id>>,
) -> impl IntoView {
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

fn day_of(fields: Fields) -> Result<Date, Problem> {
    fields.day.get_untracked().parse().map_err(|_| Problem {
        field: "date".to_owned(),
        text: say::choose_day().to_owned(),
    })
}

fn command(
    app: App,
    fields: Fields,
    what: What,
    about: Vec<Id>,
    subject: Id,
) -> Result<Command, Problem> {
    let on = Some(day_of(fields)?);
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
    if kind == ActKind::OffsetSplit {
        return fields::split(fields, about, act, on).map(Command::Split);
    }
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
