//! The fields of everything that can be done or seen, from an empty form or from what a record says.

use std::collections::BTreeSet;

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{
    Act, ActKind, Body, Climate, ContainerBody, ContainerKind, Count, Counted, Finding, Inspection, LeftHow, Light,
    Measure, Measured, Note, Stage,
};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::{PotInto, Split, asks};
use bloomdue_core::units;
use leptos::prelude::*;

use crate::app::App;
use crate::parts::draft::FormDraft;
use crate::parts::field::{Chips, DayField, LinesField, Problem, TextField};
use crate::words::{care as say, en, records};

/// What is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum What {
    Act(ActKind),
    Inspection,
    Measure,
    Count,
    Note,
    Light,
    Climate,
}

impl What {
    /// Its word in addresses.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Act(kind) => kind.word(),
            Self::Inspection => "inspection",
            Self::Measure => "measure",
            Self::Count => "count",
            Self::Note => "note",
            Self::Light => "light",
            Self::Climate => "climate",
        }
    }

    /// What this word means; nothing when it is none.
    pub(crate) fn of_word(word: &str) -> Option<Self> {
        let seen = [Self::Inspection, Self::Measure, Self::Count, Self::Note, Self::Light, Self::Climate];
        let seen = seen.into_iter().find(|what| what.word() == word);
        seen.or_else(|| ActKind::from_word(word).map(Self::Act))
    }
}

/// What the fields hold.
#[derive(Clone, Copy)]
pub(crate) struct Fields {
    pub(crate) day: RwSignal<String>,
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
    pub(crate) measured: RwSignal<Measured>,
    counted: RwSignal<Counted>,
    pub(crate) number: RwSignal<String>,
    n_offsets: RwSignal<String>,
    own_name: RwSignal<String>,
    second: RwSignal<String>,
    findings: RwSignal<BTreeSet<Finding>>,
    watch: RwSignal<bool>,
}

impl Fields {
    /// Nothing typed yet.
    pub(crate) fn fresh(today: String) -> Self {
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
            n_offsets: RwSignal::new("1".to_owned()),
            own_name: text(),
            second: text(),
            findings: RwSignal::new(BTreeSet::new()),
            watch: RwSignal::new(false),
        }
    }

    /// The stage that is known of all bulbs which leave, to begin with.
    pub(crate) fn known_stage(self, stage: Option<Stage>) {
        self.stage.set(stage);
    }

    /// What a record says, and its day.
    pub(crate) fn of(body: &Body, day: String) -> Self {
        let fields = Self::fresh(day);
        match body {
            Body::Act(_, act) => fields.take_act(act),
            Body::Inspection(inspection) => {
                fields.findings.set(inspection.findings.iter().copied().collect());
                fields.watch.set(inspection.watch);
                fields.note.set(inspection.note.clone().unwrap_or_default());
            }
            Body::Light(light) => {
                fields.number.set(light.ppfd_umol.map(|n| n.to_string()).unwrap_or_default());
                fields.second.set(light.lux.map(|n| n.to_string()).unwrap_or_default());
            }
            Body::Climate(climate) => {
                fields.number.set(climate.temperature_dc.map(records::decimal).unwrap_or_default());
                fields.second.set(climate.humidity_percent.map(|n| n.to_string()).unwrap_or_default());
            }
            _ => {}
        }
        fields
    }

    /// The fields, to be kept until they are saved.
    pub(crate) fn drafted(self, draft: FormDraft) -> FormDraft {
        draft
            .field("day", self.day)
            .field("place", self.place)
            .field("container", self.container)
            .field("container_name", self.container_name)
            .field("container_kind", self.container_kind)
            .field("container_width", self.container_width)
            .field("with", self.with)
            .field("condition", self.condition)
            .field("how", self.how)
            .field("stage", self.stage)
            .field("fit", self.fit)
            .field("whom", self.whom)
            .field("cause", self.cause)
            .field("until", self.until)
            .field("note", self.note)
            .field("measured", self.measured)
            .field("counted", self.counted)
            .field("number", self.number)
            .field("n_offsets", self.n_offsets)
            .field("own_name", self.own_name)
            .field("second", self.second)
            .field("findings", self.findings)
            .field("watch", self.watch)
    }

    fn take_act(self, act: &Act) {
        let text = |field: RwSignal<String>, said: &Option<String>| {
            field.set(said.clone().unwrap_or_default());
        };
        self.place.set(act.place);
        self.container.set(act.container);
        text(self.with, &act.with);
        text(self.condition, &act.condition);
        text(self.whom, &act.whom);
        text(self.cause, &act.cause);
        text(self.note, &act.note);
        self.how.set(act.how.unwrap_or(LeftHow::Sold));
        self.stage.set(act.stage);
        self.fit.set(act.fit);
        self.until.set(act.until.map(|day| day.to_string()).unwrap_or_default());
    }
}

/// What a record is of, where its fields can be put right here.
pub(crate) fn what_of(body: &Body) -> Option<What> {
    match body {
        Body::Act(kind, _) => Some(What::Act(*kind)),
        Body::Inspection(_) => Some(What::Inspection),
        Body::Light(_) => Some(What::Light),
        Body::Climate(_) => Some(What::Climate),
        _ => None,
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
) -> impl IntoView {
    match what {
        What::Act(kind) => asks::asks(kind)
            .iter()
            .map(|ask| view! { <One app=app fields=fields ask=*ask kind=kind mending=mending problem=problem /> })
            .collect_view()
            .into_any(),
        What::Inspection => view! { <Findings fields=fields /> }.into_any(),
        What::Measure => {
            let choices = Measured::ALL.iter().map(|m| (*m, say::measured(*m).to_owned())).collect::<Vec<_>>();
            let unit = move || say::measured_unit(fields.measured.get());
            view! {
                <Chips label=say::measured_label() choices=choices value=fields.measured />
                {move || {
                    (!each.get())
                        .then(|| view! {
                            <TextField label=unit() value=fields.number mode="decimal" name="number" problem=problem />
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
                    <TextField label=say::how_many() value=fields.number mode="numeric" name="number" problem=problem />
                </Show>
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
fn One(
    app: App,
    fields: Fields,
    ask: asks::Ask,
    kind: ActKind,
    mending: bool,
    problem: RwSignal<Option<Problem>>,
) -> impl IntoView {
    match ask {
        asks::Ask::Place => {
            let mut choices = places_of(app);
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
                {(!mending).then(|| view! { <NewContainer fields=fields /> })}
            }
            .into_any()
        }
        asks::Ask::With => view! { <TextField label=say::with(kind) value=fields.with /> }.into_any(),
        asks::Ask::Condition => {
            let choices = say::conditions();
            view! { <Chips label=say::condition() choices=choices value=fields.condition /> }.into_any()
        }
        asks::Ask::How => {
            let choices = LeftHow::ALL.iter().map(|how| (*how, say::how(*how).to_owned())).collect::<Vec<_>>();
            view! { <Chips label=say::how_label() choices=choices value=fields.how /> }.into_any()
        }
        asks::Ask::StageWhenLeft => {
            let mut choices: Vec<(Option<Stage>, String)> = vec![(None, say::no_stalk().to_owned())];
            choices.extend(Stage::ALL.iter().skip(1).map(|stage| (Some(*stage), en::stage(*stage).to_owned())));
            let fit = vec![(true, say::fit().to_owned()), (false, say::not_fit().to_owned())];
            view! {
                <Chips label=say::stage_when_left() choices=choices value=fields.stage />
                <Chips label=say::fit_when_left() choices=fit value=fields.fit />
            }
            .into_any()
        }
        asks::Ask::Whom => view! { <TextField label=say::whom() value=fields.whom /> }.into_any(),
        asks::Ask::Cause => view! { <TextField label=say::cause(kind) value=fields.cause /> }.into_any(),
        asks::Ask::Until => view! { <DayField label=say::until() value=fields.until /> }.into_any(),
        asks::Ask::Offsets if mending => ().into_any(),
        asks::Ask::Offsets => {
            let mut places: Vec<(Option<Id>, String)> = vec![(None, say::with_mother().to_owned())];
            places.extend(places_of(app));
            view! {
                <TextField
                    label=say::n_offsets()
                    value=fields.n_offsets
                    mode="numeric"
                    hint=say::n_offsets_hint()
                    name="offsets"
                    problem=problem
                />
                <TextField label=say::offset_name() value=fields.own_name name="own" problem=problem />
                <Chips label=say::offset_stands() choices=places value=fields.place />
            }
            .into_any()
        }
        asks::Ask::Note if mending => view! { <LinesField label=say::note() value=fields.note /> }.into_any(),
        asks::Ask::Note => view! {
            <details>
                <summary>{say::add_note()}</summary>
                <LinesField label=say::note() value=fields.note />
            </details>
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
fn NewContainer(fields: Fields) -> impl IntoView {
    let named = move || fields.container_name.with(|name| !name.trim().is_empty());
    let kinds = move || {
        let kinds = ContainerKind::ALL.iter();
        kinds.map(|kind| (*kind, say::container_kind(*kind).to_owned())).collect::<Vec<_>>()
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
fn wrong(field: &str, text: &str) -> Problem {
    Problem { field: field.to_owned(), text: text.to_owned() }
}

fn whole(text: RwSignal<String>) -> Result<Option<i64>, Problem> {
    some(text)
        .map(|text| units::whole(&text))
        .transpose()
        .map_err(|why| wrong("number", &en::sentence(&why.to_string())))
}

fn tenths(text: RwSignal<String>) -> Result<Option<i64>, Problem> {
    some(text)
        .map(|text| units::tenths(&text))
        .transpose()
        .map_err(|why| wrong("number", &en::sentence(&why.to_string())))
}

/// What was seen, from the fields. An act says all it says by itself.
pub(crate) fn body(fields: Fields, what: What) -> Result<Body, Problem> {
    Ok(match what {
        What::Act(kind) => Body::Act(kind, act(fields, kind, Act::default())?),
        What::Inspection => Body::Inspection(Inspection {
            findings: fields.findings.get_untracked().into_iter().collect(),
            watch: fields.watch.get_untracked(),
            note: some(fields.note),
        }),
        What::Measure => {
            let measured = fields.measured.get_untracked();
            let weight = measured == Measured::Weight;
            let (mm, g) = if weight { (None, whole(fields.number)?) } else { (tenths(fields.number)?, None) };
            Body::Measure(Measure { what: measured, mm, mm_to: None, g, at: None })
        }
        What::Count => {
            let n = whole(fields.number)?.ok_or_else(|| wrong("number", en::digits_only()))?;
            Body::Count(Count { what: fields.counted.get_untracked(), n })
        }
        What::Note => Body::Note(Note { text: fields.note.get_untracked() }),
        What::Light => Body::Light(Light { ppfd_umol: whole(fields.number)?, lux: whole(fields.second)? }),
        What::Climate => {
            Body::Climate(Climate { temperature_dc: tenths(fields.number)?, humidity_percent: whole(fields.second)? })
        }
    })
}

/// An act with what its form asks for; what the form does not ask stays as `before` says.
pub(crate) fn act(fields: Fields, kind: ActKind, before: Act) -> Result<Act, Problem> {
    let asked = |ask: asks::Ask| asks::asks(kind).contains(&ask);
    let until = match some(fields.until).filter(|_| asked(asks::Ask::Until)) {
        None => None,
        Some(text) => {
            let day = text.parse();
            Some(day.map_err(|_| wrong("until", say::choose_day()))?)
        }
    };
    let left = asked(asks::Ask::How);
    let stage = fields.stage.get_untracked();
    let pot = asked(asks::Ask::Container);
    Ok(Act {
        place: if asked(asks::Ask::Place) { fields.place.get_untracked() } else { before.place },
        container: if pot { fields.container.get_untracked() } else { before.container },
        with: some(fields.with),
        condition: some(fields.condition),
        how: left.then(|| fields.how.get_untracked()),
        stage: stage.filter(|_| left),
        fit: left && fields.fit.get_untracked() && stage.is_some(),
        whom: some(fields.whom),
        cause: some(fields.cause),
        until,
        note: some(fields.note),
        ..before
    })
}

/// Offsets split off, with how many new bulbs each mother gave.
pub(crate) fn split(fields: Fields, mothers: Vec<Id>, act: Act, on: Option<Date>) -> Result<Split, Problem> {
    let typed = fields.n_offsets.get_untracked();
    let n_each = typed.trim().parse().map_err(|_| wrong("offsets", en::digits_only()))?;
    Ok(Split {
        mothers,
        n_each,
        own_name: fields.own_name.get_untracked(),
        place: fields.place.get_untracked(),
        act,
        on,
    })
}

/// The container chosen, or the one that was named.
pub(crate) fn pot_into(fields: Fields) -> Result<Option<PotInto>, Problem> {
    let Some(name) = some(fields.container_name) else {
        return Ok(fields.container.get_untracked().map(PotInto::Known));
    };
    let inner_width_mm = some(fields.container_width)
        .map(|text| units::tenths(&text))
        .transpose()
        .map_err(|why| Problem { field: "width".to_owned(), text: en::sentence(&why.to_string()) })?;
    Ok(Some(PotInto::New(ContainerBody {
        name,
        kind: fields.container_kind.get_untracked(),
        inner_width_mm,
        inner_height_mm: None,
    })))
}
