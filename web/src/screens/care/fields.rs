//! The fields of everything that can be done or seen.

use std::collections::BTreeSet;

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{ActKind, ContainerKind, Counted, Finding, LeftHow, Measured, Stage};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::act_fields;
use bloomdue_words::form::Problem;
use bloomdue_words::form::acts::{Typed, What};
use bloomdue_words::{acts, care as say, formats};
use leptos::prelude::*;

use crate::app::App;
use crate::parts::draft::{FormDraft, fields};
use crate::parts::field::{Chips, DayField, LinesField, TextField};
use crate::parts::fold::Fold;

fields! {
    /// What the fields hold.
    pub(crate) struct Fields of Typed {
        day: String,
        place: Option<Id>,
        container: Option<Id>,
        container_name: String,
        container_kind: ContainerKind,
        container_width: String,
        with: String,
        condition: String,
        how: LeftHow,
        stage: Option<Stage>,
        fit: bool,
        whom: String,
        cause: String,
        until: String,
        note: String,
        measured: Measured,
        counted: Counted,
        number: String,
        n_offsets: String,
        own_name: String,
        second: String,
        lowest: String,
        highest: String,
        findings: BTreeSet<Finding>,
        watch: bool,
    }
}

/// What the kind asks for. `mending` a record makes nothing new on the way.
#[component]
pub(crate) fn Asked(
    app: App,
    fields: Fields,
    what: What,
    mending: bool,
    problem: RwSignal<Option<Problem>>,
    /// Whether numbers are typed bulb by bulb elsewhere.
    #[prop(optional, into)]
    each: Signal<bool>,
    /// Whether the form begins with what is asked.
    #[prop(optional)]
    first: bool,
) -> impl IntoView {
    match what {
        What::Act(kind) => act_fields::asks(kind)
            .iter()
            .enumerate()
            .map(|(at, ask)| {
                let first = first && at == 0;
                view! {
                    <One app=app fields=fields ask=*ask kind=kind mending=mending problem=problem first=first />
                }
            })
            .collect_view()
            .into_any(),
        What::Inspection => view! { <Findings fields=fields problem=problem /> }.into_any(),
        What::Measure => {
            let choices = Measured::ALL.iter().map(|m| (*m, say::measured(*m).to_owned())).collect::<Vec<_>>();
            let unit = move || say::measured_unit(fields.measured.get());
            view! {
                <Chips label=say::measured_label() choices=choices value=fields.measured />
                {move || {
                    (!each.get())
                        .then(|| view! {
                            <TextField
                                label=unit()
                                value=fields.number
                                mode=say::measured_keyboard(fields.measured.get())
                                name=Field::Number
                                problem=problem
                            />
                        })
                }}
            }
            .into_any()
        }
        What::Count => {
            let choices = Counted::ALL.iter().map(|c| (*c, say::counted(*c).to_owned())).collect::<Vec<_>>();
            view! {
                <Chips label=say::counted_label() choices=choices value=fields.counted />
                <Show when=move || !each.get()>
                    <TextField label=say::how_many() value=fields.number mode="numeric" name=Field::Number problem=problem />
                </Show>
            }
            .into_any()
        }
        What::Note => view! { <LinesField label=say::note() value=fields.note name=Field::Note problem=problem first=first /> }.into_any(),
        What::Light => view! {
            <TextField label=say::ppfd() value=fields.number mode="numeric" name=Field::Light problem=problem first=first />
            <TextField label=say::lux() value=fields.second mode="numeric" />
        }
        .into_any(),
        What::Climate => view! {
            <TextField label=say::temperature() value=fields.number mode="decimal" name=Field::Temperature problem=problem first=first />
            <TextField label=say::humidity() value=fields.second mode="numeric" />
            <p class="small">{say::ends_hint()}</p>
            <div class="grid2">
                <TextField label=say::lowest() value=fields.lowest mode="decimal" />
                <TextField label=say::highest() value=fields.highest mode="decimal" />
            </div>
        }
        .into_any(),
    }
}

#[component]
fn One(
    app: App,
    fields: Fields,
    ask: act_fields::Ask,
    kind: ActKind,
    mending: bool,
    problem: RwSignal<Option<Problem>>,
    first: bool,
) -> impl IntoView {
    match ask {
        act_fields::Ask::Place => {
            let mut choices = places_of(app);
            if kind != ActKind::Moved {
                choices.insert(0, (None, say::stays().to_owned()));
            }
            view! { <Chips label=say::where_to() choices=choices value=fields.place /> }.into_any()
        }
        act_fields::Ask::Container => {
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
                {(!mending).then(|| view! { <NewContainer fields=fields problem=problem /> })}
            }
            .into_any()
        }
        act_fields::Ask::With => view! { <TextField label=say::with(kind) value=fields.with first=first /> }.into_any(),
        act_fields::Ask::Condition => {
            let choices = say::conditions();
            view! { <Chips label=say::condition() choices=choices value=fields.condition /> }.into_any()
        }
        act_fields::Ask::How => {
            let choices = LeftHow::ALL.iter().map(|how| (*how, say::how(*how).to_owned())).collect::<Vec<_>>();
            view! { <Chips label=say::how_label() choices=choices value=fields.how /> }.into_any()
        }
        act_fields::Ask::StageWhenLeft => {
            let mut choices: Vec<(Option<Stage>, String)> = vec![(None, say::no_stalk().to_owned())];
            choices.extend(Stage::ALL.iter().skip(1).map(|stage| (Some(*stage), acts::stage(*stage).to_owned())));
            let fit = vec![(true, say::fit().to_owned()), (false, say::not_fit().to_owned())];
            view! {
                <Chips label=say::stage_when_left() choices=choices value=fields.stage />
                <Chips label=say::fit_when_left() choices=fit value=fields.fit />
            }
            .into_any()
        }
        act_fields::Ask::Whom => view! { <TextField label=say::whom() value=fields.whom first=first /> }.into_any(),
        act_fields::Ask::Cause => view! { <TextField label=say::cause(kind) value=fields.cause first=first name=Field::Cause problem=problem /> }.into_any(),
        act_fields::Ask::Until => view! { <DayField label=say::until() value=fields.until name=Field::Until problem=problem /> }.into_any(),
        act_fields::Ask::Offsets if mending => ().into_any(),
        act_fields::Ask::Offsets => {
            let mut places: Vec<(Option<Id>, String)> = vec![(None, say::with_mother().to_owned())];
            places.extend(places_of(app));
            view! {
                <TextField
                    label=say::n_offsets()
                    value=fields.n_offsets
                    mode="numeric"
                    hint=say::n_offsets_hint()
                    name=Field::Offsets
                    problem=problem
                    first=first
                />
                <TextField label=say::offset_name() value=fields.own_name name=Field::Own problem=problem />
                <Chips label=say::offset_stands() choices=places value=fields.place />
            }
            .into_any()
        }
        act_fields::Ask::Note if mending => view! { <LinesField label=say::note() value=fields.note /> }.into_any(),
        act_fields::Ask::Note => view! {
            <Fold summary=say::add_note() row=0>
                <LinesField label=say::note() value=fields.note />
            </Fold>
        }
        .into_any(),
    }
}

fn places_of(app: App) -> Vec<(Option<Id>, String)> {
    app.peek(|r| {
        let rows = r.state.place_rows().into_iter();
        rows.map(|row| (Some(row.id), row.name)).collect()
    })
}

/// A container made on the way; what else is known of it is asked once it has a name.
#[component]
fn NewContainer(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let named = move || fields.container_name.with(|name| !name.trim().is_empty());
    let kinds = move || {
        let kinds = ContainerKind::ALL.iter();
        kinds.map(|kind| (*kind, say::container_kind(*kind).to_owned())).collect::<Vec<_>>()
    };
    view! {
        <TextField
            label=say::new_container()
            value=fields.container_name
            hint=say::new_container_hint()
            name=Field::Container
            problem=problem
        />
        <Show when=named>
            <Chips label=say::container_kind_label() choices=kinds() value=fields.container_kind />
            <TextField label=say::inner_width() value=fields.container_width mode=formats::length_keyboard() name=Field::Width problem=problem />
        </Show>
    }
}

#[component]
fn Findings(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
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
        <LinesField label=say::note() value=fields.note name=Field::Note problem=problem />
    }
}
