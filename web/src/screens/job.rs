//! One job that is due: done for all its bulbs with exceptions, skipped with a reason, or postponed.

use std::collections::BTreeSet;

use bloomdue_core::care::day::{Way, way};
use bloomdue_core::care::scope::bulbs_of;
use bloomdue_core::care::{self, Job as Asked, JobAt, plan};
use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Act, ActKind, Body, Finding, Inspection};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::{Command, act_fields};
use bloomdue_words::form::acts::What;
use bloomdue_words::form::{self, Problem};
use bloomdue_words::route::Route;
use bloomdue_words::{care as acts, due as say_due, inspect, jobs as say, places};
use leptos::prelude::*;

use super::care::{Case, Form as CaseForm, labelled, what_word};
use crate::app::{App, app};
use crate::parts::draft::{Draft, FormDraft, GoesOn};
use crate::parts::field::{Chips, DayField, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::whom::{Whom, only_offered};

/// One job at a place.
#[component]
pub(crate) fn Job(place: Option<Id>, key: String) -> impl IntoView {
    let app = app();
    let at = due_at(app, place, &key);
    let where_to = place_name(app, place);
    let draft_key = format!("job {}", Route::Job(place, key.clone()));
    let Some(at) = at else {
        app.let_go_at(&Route::Job(place, key));
        return view! {
            <Heading place=where_to title=say::not_due() back=Route::Due />
            <p>{say::not_due_under()}</p>
        }
        .into_any();
    };
    let (title, under) = app.peek(|r| (say_due::job(&at, r.state), say_due::job_under(&at, r.state, r.today)));
    let about = app.peek(|r| about(&at, r.state));
    let way = app.peek(|r| way(r.state, &at.job));
    let bulbs: Vec<(Id, String)> = app.peek(|r| {
        let label = |id: &Id| (*id, r.state.name_of(*id).to_owned());
        at.bulbs.iter().map(label).collect()
    });
    let left_out = RwSignal::new(BTreeSet::new());
    let day = RwSignal::new(app.today.get_untracked().to_string());
    let to = RwSignal::new(None);
    let why = RwSignal::new(String::new());
    let until = RwSignal::new(tomorrow(app));
    let draft = FormDraft::of(app, draft_key)
        .field("left_out", left_out)
        .field("day", day)
        .field("to", to)
        .field("why", why)
        .field("until", until)
        .keep();
    only_offered(left_out, &bulbs);
    let form = Form {
        app,
        draft,
        place,
        key: StoredValue::new(key),
        title: StoredValue::new(title.clone()),
        bulbs: StoredValue::new(bulbs.clone()),
        left_out,
        day,
        to,
        why,
        until,
        problem: RwSignal::new(None),
        busy: RwSignal::new(false),
    };
    let several = bulbs.len() > 1;
    view! {
        <Heading place=where_to title=title under=under back=Route::Due />
        <GoesOn draft=draft />
        {about
            .into_iter()
            .enumerate()
            .map(|(at, text)| view! { <p class=if at == 0 { "say" } else { "why" }>{text}</p> })
            .collect_view()}
        {(!matches!(way, Way::Looks | Way::Check))
            .then(|| view! {
                <Whom app=app bulbs=bulbs left_out=form.left_out several=several day=form.day problem=form.problem />
            })}
        <Tick form=form way=way />
    }
    .into_any()
}

/// The job of this key at a place, if it is due.
fn due_at(app: App, place: Option<Id>, key: &str) -> Option<JobAt> {
    app.peek(|r| {
        let mut due = care::due(r.state, r.today);
        due.add(r.state, plan::planned(r.state, r.today));
        let here = due.places.into_iter().filter(|at| at.place == place);
        here.flat_map(|at| at.jobs).find(|at| at.job.key().as_deref() == Some(key))
    })
}

fn place_name(app: App, place: Option<Id>) -> String {
    app.peek(|r| match place {
        Some(place) => r.state.name_of(place).to_owned(),
        None => say_due::no_place().to_owned(),
    })
}

/// The full form of what a job asks for: its own bulbs are ticked, and no others of the place.
#[component]
pub(crate) fn JobForm(place: Option<Id>, key: String) -> impl IntoView {
    let app = app();
    let where_to = place_name(app, place);
    let job = Route::Job(place, key.clone());
    let at = due_at(app, place, &key);
    let what = at.as_ref().and_then(|at| {
        app.peek(|r| match way(r.state, &at.job) {
            Way::Act(kind) => Some(What::Act(kind)),
            Way::Firm => Some(What::Inspection),
            Way::Looks | Way::Check => None,
        })
    });
    let (Some(at), Some(what)) = (at, what) else {
        app.let_go_at(&Route::JobForm(place, key));
        return view! {
            <Heading place=where_to title=say::not_due() back=Route::Due />
            <p>{say::not_due_under()}</p>
        }
        .into_any();
    };
    let bulbs = app.peek(|r| match place {
        Some(place) => labelled(bulbs_of(r.state, place, None)),
        None => labelled(at.bulbs.iter().filter_map(|id| r.state.bulb(id)).collect()),
    });
    let others = bulbs.iter().map(|(id, _)| *id);
    let case = Case {
        what,
        left_out: others.filter(|id| !at.bulbs.contains(id)).collect(),
        bulbs,
        subject: place,
        job: Some(key.clone()),
        at: Route::JobForm(place, key),
        done: Route::Due,
    };
    view! {
        <Heading place=where_to title=what_word(what) back=job />
        <CaseForm app=app case=case />
    }
    .into_any()
}

fn tomorrow(app: App) -> String {
    let day = app.today.get_untracked().add_days(1);
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// What to mind: the job's own words, what it rests on.
fn about(at: &JobAt, state: &bloomdue_core::nursery::State) -> Vec<String> {
    match &at.job {
        Asked::WokeEarly => vec![say::woke_early().to_owned()],
        Asked::RestEnds { .. } => vec![say::rest_ends().to_owned()],
        Asked::Planned { subject, slot } => {
            let job = plan::find(state, *subject, slot);
            job.map(say::about_job).unwrap_or_default()
        }
        _ => Vec::new(),
    }
}

#[derive(Clone, Copy)]
struct Form {
    app: App,
    draft: Draft,
    place: Option<Id>,
    key: StoredValue<String>,
    title: StoredValue<String>,
    bulbs: StoredValue<Vec<(Id, String)>>,
    left_out: RwSignal<BTreeSet<Id>>,
    day: RwSignal<String>,
    to: RwSignal<Option<Id>>,
    why: RwSignal<String>,
    until: RwSignal<String>,
    problem: RwSignal<Option<Problem>>,
    busy: RwSignal<bool>,
}

impl Form {
    fn chosen(self) -> Vec<Id> {
        let out = self.left_out.get_untracked();
        self.bulbs.with_value(|bulbs| {
            let ids = bulbs.iter().map(|(id, _)| *id);
            ids.filter(|id| !out.contains(id)).collect()
        })
    }

    fn in_detail(self) -> String {
        Route::JobForm(self.place, self.key.get_value()).href()
    }

    fn act(self) -> Act {
        let from = self.place.map(|place| self.app.peek(|r| r.state.name_of(place).to_owned()));
        Act {
            from: from.filter(|name| !name.is_empty()),
            place: self.to.get_untracked(),
            job: Some(self.key.get_value()),
            ..Act::default()
        }
    }

    fn day_of(self, field: Field, text: RwSignal<String>) -> Option<bloomdue_core::calendar::Date> {
        let day = form::day(field, &text.get_untracked(), acts::choose_day());
        day.map_err(|why| self.problem.set(Some(why))).ok()
    }

    fn save(self, command: Command, text: String) {
        if self.busy.get_untracked() {
            return;
        }
        self.busy.set(true);
        wasm_bindgen_futures::spawn_local(async move {
            match self.draft.record(command).await {
                Ok(entries) => {
                    let entries = entries.iter().map(|entry| entry.id).collect();
                    self.app.notify_saved(text, entries);
                    self.app.done_to(&Route::Due);
                }
                Err(why) => {
                    let _ = self.busy.try_set(false);
                    let _ = self.problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    }
}

#[component]
fn Tick(form: Form, way: Way) -> impl IntoView {
    let cautions = match way {
        Way::Act(kind) => act_fields::cautions(kind),
        Way::Firm | Way::Check => act_fields::INSPECTION_CAUTIONS,
        Way::Looks => &[],
    };
    let cautions =
        cautions.iter().map(|caution| view! { <p class="note small">{acts::caution(*caution)}</p> }).collect_view();
    let in_detail =
        move || view! { <a class="row" href=form.in_detail()><span class="name thin">{say::in_detail()}</span></a> };
    match way {
        Way::Looks => view! { <Looks form=form /> }.into_any(),
        Way::Check => view! {
            <p>{inspect::each_by_itself()}</p>
            {each_to(form, |bulb| Route::CareForm(bulb, None, What::Inspection.word().to_owned()))}
            {cautions}
            <ProblemLine problem=form.problem />
            <PutOff form=form />
        }
        .into_any(),
        Way::Firm => {
            let save = move |_| {
                let Some(on) = form.day_of(Field::Date, form.day) else {
                    return;
                };
                let about = form.chosen();
                let text = say::found_firm(about.len());
                let body = Body::Inspection(Inspection { findings: vec![Finding::Firm], ..Inspection::default() });
                let on = Some(on);
                form.save(Command::Observe { about, body, on }, text);
            };
            view! {
                <p>{say::how_to_inspect()}</p>
                {cautions}
                {in_detail()}
                <PutOff form=form />
                <div class="act">
                    <ProblemLine problem=form.problem />
                    <button type="button" class="btn main" on:click=save>{say::all_firm()}</button>
                </div>
            }
            .into_any()
        }
        Way::Act(kind) => {
            let save = move |_| {
                let Some(on) = form.day_of(Field::Date, form.day) else {
                    return;
                };
                let about = form.chosen();
                let text = form.title.with_value(|title| acts::done(title, about.len(), false));
                let command = Command::Do { kind, act: form.act(), about, on: Some(on) };
                form.save(command, text);
            };
            let asks_place = act_fields::asks(kind).contains(&act_fields::Ask::Place);
            let more = kind != ActKind::JobDone;
            view! {
                {cautions}
                {asks_place.then(|| view! { <Where form=form must=kind == ActKind::Moved /> })}
                {more.then(in_detail)}
                <PutOff form=form />
                <div class="act">
                    <ProblemLine problem=form.problem />
                    <button type="button" class="btn main" on:click=save>{say::done()}</button>
                </div>
            }
            .into_any()
        }
    }
}

/// Where they were put.
#[component]
fn Where(form: Form, must: bool) -> impl IntoView {
    let mut choices: Vec<(Option<Id>, String)> = form.app.peek(|r| {
        let rows = r.state.place_rows().into_iter();
        rows.map(|row| (Some(row.id), row.name)).collect()
    });
    if !must {
        choices.insert(0, (None, acts::stays().to_owned()));
    }
    view! { <Chips label=acts::where_to() choices=choices value=form.to /> }
}

/// Each bulb of the job, leading to its own screen.
fn each_to(form: Form, to: impl Fn(Id) -> Route) -> impl IntoView {
    let row = |(id, label): (Id, String)| {
        view! {
            <a class="row" href=to(id).href()>
                <b class="tag grow">{label}</b>
            </a>
        }
    };
    form.bulbs.get_value().into_iter().map(row).collect_view()
}

/// The walk, or each bulb's look where they stand in no place.
#[component]
fn Looks(form: Form) -> impl IntoView {
    match form.place {
        Some(place) => view! {
            <PutOff form=form />
            <div class="act">
                <ProblemLine problem=form.problem />
                <a class="btn main" href=Route::Walk(place).href()>{places::walk_it()}</a>
            </div>
        }
        .into_any(),
        None => view! {
            {each_to(form, Route::Look)}
            <ProblemLine problem=form.problem />
            <PutOff form=form />
        }
        .into_any(),
    }
}

/// Skipped with a reason, or postponed.
#[component]
fn PutOff(form: Form) -> impl IntoView {
    let postpone = move |_| {
        let Some(until) = form.day_of(Field::Until, form.until) else {
            return;
        };
        if until <= form.app.today.get_untracked() {
            form.problem.set(Some(Problem::at(Field::Until, say::later_day())));
            return;
        }
        let act = Act { until: Some(until), place: None, ..form.act() };
        let command = Command::Do { kind: ActKind::Postponed, act, about: form.chosen(), on: None };
        form.save(command, say::postponed(until, form.app.today.get_untracked()));
    };
    let skip = move |_| {
        let why = form.why.get_untracked();
        if why.trim().is_empty() {
            form.problem.set(Some(Problem::at(Field::Cause, say::say_why())));
            return;
        }
        let act = Act { cause: Some(why), place: None, ..form.act() };
        let command = Command::Do { kind: ActKind::Skipped, act, about: form.chosen(), on: None };
        form.save(command, say::skipped().to_owned());
    };
    view! {
        <Fold summary=say::postpone() row=0>
            <DayField label=say::until() value=form.until name=Field::Until problem=form.problem />
            <button type="button" class="btn soft" on:click=postpone>{say::postpone()}</button>
        </Fold>
        <Fold summary=say::skip() row=0>
            <TextField label=say::why() value=form.why name=Field::Cause problem=form.problem />
            <button type="button" class="btn soft" on:click=skip>{say::skip()}</button>
        </Fold>
    }
}
