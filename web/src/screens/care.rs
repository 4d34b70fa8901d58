//! Something done or seen, for one bulb, a container, a place or a group at once, with exceptions, today or earlier.

use std::collections::BTreeSet;

use bloomdue_core::care::scope::bulbs_of;
use bloomdue_core::ledger::body::{
    Act, ActKind, Body, Climate, ContainerBody, ContainerKind, Count, Counted, Finding, Inspection,
    LeftHow, Light, Measure, Measured, Note, Stage,
};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::{Command, PotInto, asks};
use bloomdue_core::units;
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::field::{Chips, DayField, LinesField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::{care as say, en};

/// What is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum What {
    Act(ActKind),
    Inspection,
    Measure,
    Count,
    Note,
    Light,
    Climate,
}

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

/// What the fields hold.
#[derive(Clone, Copy)]
struct Fields {
    day: RwSignal<String>,
    place: RwSignal<Option<Id>>,
    container: RwSignal<Option<Id>>,
    container_name: RwSignal<String>,
    container_kind: RwSignal<ContainerKind>,
    container_width: RwSignal<String>,
    with: RwSignal<String>,
    condition: RwSignal<String>,
    how: RwSignal<LeftHow>,
    stage: RwSignal<Option<Stage>>,
    fit: RwSignal<bool>,
    whom: RwSignal<String>,
    cause: RwSignal<String>,
    until: RwSignal<String>,
    note: RwSignal<String>,
    measured: RwSignal<Measured>,
    counted: RwSignal<Counted>,
    number: RwSignal<String>,
    second: RwSignal<String>,
    findings: RwSignal<BTreeSet<Finding>>,
    watch: RwSignal<bool>,
}

impl Fields {
    fn fresh(today: String) -> Self {
        let text = || RwSignal::new(String::new());
        Self {
            day: RwSignal::new(today),
            place: RwSignal::new(None),
            container: RwSignal::new(None),
            container_name: text(),
            container_kind: RwSignal::new(ContainerKind::Pot),
            container_width: text(),
            with: text(),
            condition: text(),
            how: RwSignal::new(LeftHow::Sold),
            stage: RwSignal::new(None),
            fit: RwSignal::new(true),
            whom: text(),
            cause: text(),
            until: text(),
            note: text(),
            measured: RwSignal::new(Measured::Height),
            counted: RwSignal::new(Counted::Leaves),
            number: text(),
            second: text(),
            findings: RwSignal::new(BTreeSet::new()),
            watch: RwSignal::new(false),
        }
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
        <Asked app=app fields=fields what=what problem=problem />
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

#[component]
fn Asked(
    app: App,
    fields: Fields,
    what: What,
    problem: RwSignal<Option<Problem>>,
) -> impl IntoView {
    match what {
        What::Act(kind) => asks::asks(kind)
            .iter()
            .map(|ask| view! { <One app=app fields=fields ask=*ask kind=kind /> })
            .collect_view()
            .into_any(),
        What::Inspection => view! { <Findings fields=fields /> }.into_any(),
        What::Measure => {
            let choices = Measured::ALL
                .iter()
                .map(|m| (*m, say::measured(*m).to_owned()))
                .collect::<Vec<_>>();
            let unit = move || say::measured_unit(fields.measured.get());
            view! {
                <Chips label=say::measured_label() choices=choices value=fields.measured />
                {move || view! { <TextField label=unit() value=fields.number mode="decimal" name="number" problem=problem /> }}
            }
            .into_any()
        }
        What::Count => {
            let choices = Counted::ALL
                .iter()
                .map(|c| (*c, say::counted(*c).to_owned()))
                .collect::<Vec<_>>();
            view! {
                <Chips label=say::counted_label() choices=choices value=fields.counted />
                <TextField label=say::how_many() value=fields.number mode="numeric" name="number" problem=problem />
            }
            .into_any()
        }
        What::Note => view! { <LinesField label=say::note() value=fields.note /> }.into_any(),
        What::Light => view! {
            <TextField label=say::ppfd() value=fields.number mode="numeric" />
            <TextField label=say::lux() value=fields.second mode="numeric" />
        }
        .into_any(),
        What::Climate => view! {
            <TextField label=say::temperature() value=fields.number mode="decimal" />
            <TextField label=say::humidity() value=fields.second mode="numeric" />
        }
        .into_any(),
    }
}

#[component]
fn One(app: App, fields: Fields, ask: asks::Ask, kind: ActKind) -> impl IntoView {
    match ask {
        asks::Ask::Place => {
            let mut choices: Vec<(Option<Id>, String)> = app.peek(|r| {
                r.state
                    .place_rows()
                    .into_iter()
                    .map(|row| (Some(row.id), row.name))
                    .collect()
            });
            if kind != ActKind::Moved {
                choices.insert(0, (None, say::stays().to_owned()));
            }
            view! { <Chips label=say::where_to() choices=choices value=fields.place /> }.into_any()
        }
        asks::Ask::Container => {
            let mut choices: Vec<(Option<Id>, String)> = app.peek(|r| {
                r.state
                    .containers
                    .iter()
                    .filter_map(|(id, body)| Some((Some(*id), body.shown()?.name.clone())))
                    .collect()
            });
            choices.insert(0, (None, say::own_pot().to_owned()));
            view! {
                <Chips label=say::into_container() choices=choices value=fields.container />
                <NewContainer fields=fields />
            }
            .into_any()
        }
        asks::Ask::With => {
            view! { <TextField label=say::with(kind) value=fields.with /> }.into_any()
        }
        asks::Ask::Condition => {
            let choices = say::conditions();
            view! { <Chips label=say::condition() choices=choices value=fields.condition /> }
                .into_any()
        }
        asks::Ask::How => {
            let choices = LeftHow::ALL
                .iter()
                .map(|how| (*how, say::how(*how).to_owned()))
                .collect::<Vec<_>>();
            view! { <Chips label=say::how_label() choices=choices value=fields.how /> }.into_any()
        }
        asks::Ask::StageWhenLeft => {
            let mut choices: Vec<(Option<Stage>, String)> =
                vec![(None, say::no_stalk().to_owned())];
            choices.extend(
                Stage::ALL
                    .iter()
                    .skip(1)
                    .map(|stage| (Some(*stage), en::stage(*stage).to_owned())),
            );
            let fit = vec![
                (true, say::fit().to_owned()),
                (false, say::not_fit().to_owned()),
            ];
            view! {
                <Chips label=say::stage_when_left() choices=choices value=fields.stage />
                <Chips label=say::fit_when_left() choices=fit value=fields.fit />
            }
            .into_any()
        }
        asks::Ask::Whom => view! { <TextField label=say::whom() value=fields.whom /> }.into_any(),
        asks::Ask::Cause => {
            view! { <TextField label=say::cause(kind) value=fields.cause /> }.into_any()
        }
        asks::Ask::Until => view! { <DayField label=say::until() value=fields.until /> }.into_any(),
        asks::Ask::Note => view! {
            <details>
                <summary>{say::add_note()}</summary>
                <LinesField label=say::note() value=fields.note />
            </details>
        }
        .into_any(),
    }
}

/// A container made on the way; what else is known of it is asked once it has a name.
#[component]
fn NewContainer(fields: Fields) -> impl IntoView {
    let named = move || fields.container_name.with(|name| !name.trim().is_empty());
    let kinds = move || {
        let kinds = ContainerKind::ALL.iter();
        kinds
            .map(|kind| (*kind, say::container_kind(*kind).to_owned()))
            .collect::<Vec<_>>()
    };
    view! {
        <TextField label=say::new_container() value=fields.container_name hint=say::new_container_hint() />
        <Show when=named>
            <Chips label=say::container_kind_label() choices=kinds() value=fields.container_kind />
            <TextField label=say::inner_width() value=fields.container_width mode="decimal" />
        </Show>
    }
}

#[component]
fn Findings(fields: Fields) -> impl IntoView {
    let chips = Finding::ALL
        .iter()
        .map(|finding| {
            let finding = *finding;
            let pressed = move || fields.findings.with(|found| if found.contains(&finding) { "true" } else { "false" });
            let toggle = move |_| {
                fields.findings.update(|found| {
                    if !found.remove(&finding) {
                        found.insert(finding);
                    }
                });
            };
            view! { <button type="button" class="chip" aria-pressed=pressed on:click=toggle>{say::finding(finding)}</button> }
        })
        .collect_view();
    view! {
        <div class="field" role="group" aria-label=say::findings()>
            <span class="label">{say::findings()}</span>
            <div class="chips">{chips}</div>
        </div>
        <label class="choice">
            <input
                type="checkbox"
                prop:checked=fields.watch
                on:change=move |event| fields.watch.set(event_target_checked(&event))
            />
            {say::watch_it()}
        </label>
        <p class="small">{say::red_is_not_proof()}</p>
        <LinesField label=say::note() value=fields.note />
    }
}

fn some(text: RwSignal<String>) -> Option<String> {
    let text = text.get_untracked();
    (!text.trim().is_empty()).then_some(text)
}

fn command(
    app: App,
    fields: Fields,
    what: What,
    about: Vec<Id>,
    subject: Id,
) -> Result<Command, Problem> {
    let wrong = |field: &str, text: &str| Problem {
        field: field.to_owned(),
        text: text.to_owned(),
    };
    let day = fields.day.get_untracked();
    let on = Some(day.parse().map_err(|_| wrong("date", say::choose_day()))?);
    let whole = |text: RwSignal<String>| match some(text) {
        None => Ok(None),
        Some(text) => units::whole(&text)
            .map(Some)
            .map_err(|why| wrong("number", &en::sentence(&why.to_string()))),
    };
    let tenths = |text: RwSignal<String>| match some(text) {
        None => Ok(None),
        Some(text) => units::tenths(&text)
            .map(Some)
            .map_err(|why| wrong("number", &en::sentence(&why.to_string()))),
    };
    let body = match what {
        What::Act(kind) => return acts(app, fields, kind, about, on, subject),
        What::Inspection => Body::Inspection(Inspection {
            findings: fields.findings.get_untracked().into_iter().collect(),
            watch: fields.watch.get_untracked(),
            note: some(fields.note),
        }),
        What::Measure => {
            let measured = fields.measured.get_untracked();
            let weight = measured == Measured::Weight;
            let (mm, g) = if weight {
                (None, whole(fields.number)?)
            } else {
                (tenths(fields.number)?, None)
            };
            Body::Measure(Measure {
                what: measured,
                mm,
                mm_to: None,
                g,
                at: None,
            })
        }
        What::Count => {
            let n = whole(fields.number)?.ok_or_else(|| wrong("number", en::digits_only()))?;
            Body::Count(Count {
                what: fields.counted.get_untracked(),
                n,
            })
        }
        What::Note => Body::Note(Note {
            text: fields.note.get_untracked(),
        }),
        What::Light => Body::Light(Light {
            ppfd_umol: whole(fields.number)?,
            lux: whole(fields.second)?,
        }),
        What::Climate => Body::Climate(Climate {
            temperature_dc: tenths(fields.number)?,
            humidity_percent: whole(fields.second)?,
        }),
    };
    Ok(Command::Observe { about, body, on })
}

fn acts(
    app: App,
    fields: Fields,
    kind: ActKind,
    about: Vec<Id>,
    on: Option<bloomdue_core::calendar::Date>,
    subject: Id,
) -> Result<Command, Problem> {
    let asked = |ask: asks::Ask| asks::asks(kind).contains(&ask);
    let into = pot_into(fields).map(|into| into.filter(|_| asked(asks::Ask::Container)))?;
    let until = match some(fields.until).filter(|_| asked(asks::Ask::Until)) {
        None => None,
        Some(text) => {
            let day = text.parse();
            Some(day.map_err(|_| Problem {
                field: "until".to_owned(),
                text: say::choose_day().to_owned(),
            })?)
        }
    };
    let left = asked(asks::Ask::How);
    let from = (!subject.is(Noun::Bulb))
        .then(|| app.peek(|r| r.state.name_of(subject).to_owned()))
        .filter(|n| !n.is_empty());
    let act = Act {
        from,
        place: fields
            .place
            .get_untracked()
            .filter(|_| asked(asks::Ask::Place)),
        with: some(fields.with),
        condition: some(fields.condition),
        how: left.then(|| fields.how.get_untracked()),
        stage: fields.stage.get_untracked().filter(|_| left),
        fit: left && fields.fit.get_untracked() && fields.stage.get_untracked().is_some(),
        whom: some(fields.whom),
        cause: some(fields.cause),
        until,
        note: some(fields.note),
        ..Act::default()
    };
    // In one container each bulb has its position, in the order in which they were listed.
    Ok(match into {
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
    })
}

/// The container chosen, or the one that was named.
fn pot_into(fields: Fields) -> Result<Option<PotInto>, Problem> {
    let Some(name) = some(fields.container_name) else {
        return Ok(fields.container.get_untracked().map(PotInto::Known));
    };
    let inner_width_mm = some(fields.container_width)
        .map(|text| units::tenths(&text))
        .transpose()
        .map_err(|why| Problem {
            field: "width".to_owned(),
            text: en::sentence(&why.to_string()),
        })?;
    Ok(Some(PotInto::New(ContainerBody {
        name,
        kind: fields.container_kind.get_untracked(),
        inner_width_mm,
        inner_height_mm: None,
    })))
}
