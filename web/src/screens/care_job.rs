//! One job of a care plan: what, from when, how often, when at all, by whom.

use bloomdue_core::care::plan;
use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{ActKind, Body, CareJob as Job, Doing, During, JobFrom, Stage};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use bloomdue_words::form::Problem;
use bloomdue_words::form::care_job::{Typed, fresh};
use bloomdue_words::route::Route;
use bloomdue_words::{acts, common, due as say_due, jobs as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::draft::{FormDraft, GoesOn, fields};
use crate::parts::field::{Chips, DayField, ProblemLine, TextField};
use crate::parts::heading::Heading;

fields! {
    /// What is typed and tapped.
    struct Fields of Typed {
        doing: Doing,
        act: Option<ActKind>,
        words: String,
        from: JobFrom,
        date: String,
        after: Option<ActKind>,
        stage: Option<Stage>,
        after_days: String,
        again: bool,
        every_days: String,
        tolerance_days: String,
        during: During,
        person: Option<Id>,
    }
}

/// The form.
#[component]
pub(crate) fn CareJob(subject: Id, name: String) -> impl IntoView {
    let slot = name;
    let app = app();
    let known = app.peek(|r| plan::find(r.state, subject, &slot).cloned());
    let is_known = known.is_some() && !slot.is_empty();
    let before = known.unwrap_or_else(|| fresh(app.today.get_untracked()));
    let title = if is_known { say_due::planned_title(&before) } else { say::own_job().to_owned() };
    let place = app.peek(|r| r.state.name_of(subject).to_owned());
    let place = if place.is_empty() { say::whole_nursery().to_owned() } else { place };
    let fields = Fields::of(Typed::of(&before));
    let draft = fields.drafted(FormDraft::of(app, format!("planned {}", Route::CareJob(subject, slot.clone())))).keep();
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    let before = StoredValue::new(before);
    let slot = StoredValue::new(slot);
    let put = move |job: Job, said: String| {
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let slot = match slot.get_value() {
            slot if slot.is_empty() => app.moment().ids.draw(Noun::Form).to_string(),
            slot => slot,
        };
        let body = Body::CarePlan(job);
        wasm_bindgen_futures::spawn_local(async move {
            let command = Command::Set { subject, slot, body };
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(said, entries.iter().map(|entry| entry.id).collect());
                    app.done_to(&Route::CarePlan(subject));
                }
                Err(why) => {
                    let _ = busy.try_set(false);
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let save = move |_| {
        problem.set(None);
        match before.with_value(|before| fields.typed().job(before)) {
            Ok(job) => {
                let said = say::saved_job(&say_due::planned_title(&job));
                put(job, said);
            }
            Err(why) => problem.set(Some(why)),
        }
    };
    let give_up = move |_| {
        let job = Job { given_up: true, ..before.get_value() };
        let said = say::given_up(&say_due::planned_title(&job));
        put(job, said);
    };
    view! {
        <Heading place=place title=title back=Route::CarePlan(subject) />
        <GoesOn draft=draft />
        <What fields=fields problem=problem />
        <When fields=fields problem=problem />
        <Who app=app fields=fields />
        {is_known.then(|| view! { <button type="button" class="btn soft gap-above" on:click=give_up>{say::give_up()}</button> })}
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>{common::save()}</button>
        </div>
    }
}

#[component]
fn What(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let doings = Doing::ALL.iter().map(|doing| (*doing, say::doing(*doing).to_owned()));
    let doings: Vec<_> = doings.collect();
    let acts = plan::ACTS.iter().map(|act| (Some(*act), acts::act(*act).to_owned()));
    let acts: Vec<_> = acts.collect();
    view! {
        <Chips label=say::what_kind() choices=doings value=fields.doing />
        {move || {
            (fields.doing.get() == Doing::Act)
                .then(|| view! { <Chips label=say::which_act() choices=acts.clone() value=fields.act /> })
        }}
        {move || {
            let label = if fields.doing.get() == Doing::Own { say::own_words() } else { say::to_mind() };
            view! { <TextField label=label value=fields.words name=Field::Words problem=problem /> }
        }}
    }
}

#[component]
fn When(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let froms: Vec<_> = JobFrom::ALL.iter().map(|from| (*from, say::from(*from).to_owned())).collect();
    let acts: Vec<_> = plan::ACTS.iter().map(|act| (Some(*act), acts::acted(*act).to_owned())).collect();
    let stages: Vec<_> = plan::STAGES.iter().map(|stage| (Some(*stage), acts::stage(*stage).to_owned())).collect();
    let durings: Vec<_> = During::ALL.iter().map(|during| (*during, say::during(*during).to_owned())).collect();
    let again = vec![(false, say::once().to_owned()), (true, say::again().to_owned())];
    let more = move || match fields.from.get() {
        JobFrom::Date => {
            view! { <DayField label=say::first_day() value=fields.date name=Field::Date problem=problem /> }.into_any()
        }
        JobFrom::Act => view! { <Chips label=say::after_which() choices=acts.clone() value=fields.after /> }.into_any(),
        JobFrom::Stage => {
            view! { <Chips label=say::which_stage() choices=stages.clone() value=fields.stage /> }.into_any()
        }
        JobFrom::RunStart | JobFrom::RestEnd => ().into_any(),
    };
    view! {
        <Chips label=say::counted_from() choices=froms value=fields.from />
        {more}
        <Show when=move || fields.from.get() != JobFrom::Date>
            <TextField label=say::days_after() value=fields.after_days mode="numeric" name=Field::After problem=problem />
        </Show>
        <Chips label=say::how_often() choices=again value=fields.again />
        <Show when=move || fields.again.get()>
            <TextField label=say::every_days() value=fields.every_days mode="numeric" name=Field::Every problem=problem />
        </Show>
        <TextField
            label=say::tolerance()
            value=fields.tolerance_days
            mode="numeric"
            hint=say::tolerance_hint()
            name=Field::Tolerance
            problem=problem
        />
        <Chips label=say::when_at_all() choices=durings value=fields.during />
    }
}

#[component]
fn Who(app: App, fields: Fields) -> impl IntoView {
    let mut persons: Vec<(Option<Id>, String)> = app.peek(|r| {
        let known = r.state.persons.keys();
        known.map(|id| (Some(*id), r.state.name_of(*id).to_owned())).collect()
    });
    persons.insert(0, (None, say::anybody().to_owned()));
    view! { <Chips label=say::who() choices=persons value=fields.person /> }
}
