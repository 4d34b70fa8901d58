//! One job of a care plan: what, from when, how often, when at all, by whom.

use bloomdue_core::care::plan;
use bloomdue_core::ledger::body::{ActKind, Body, CareJob as Job, Doing, During, JobFrom, Stage};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use bloomdue_core::units;
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::draft::{Draft, FormDraft, GoesOn};
use crate::parts::field::{Chips, DayField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::{due as say_due, en, jobs as say};

#[derive(Clone, Copy)]
struct Fields {
    doing: RwSignal<Doing>,
    act: RwSignal<Option<ActKind>>,
    words: RwSignal<String>,
    from: RwSignal<JobFrom>,
    date: RwSignal<String>,
    after: RwSignal<Option<ActKind>>,
    stage: RwSignal<Option<Stage>>,
    after_days: RwSignal<String>,
    again: RwSignal<bool>,
    every_days: RwSignal<String>,
    tolerance_days: RwSignal<String>,
    during: RwSignal<During>,
    person: RwSignal<Option<Id>>,
}

impl Fields {
    fn of(job: &Job) -> Self {
        Self {
            doing: RwSignal::new(job.doing),
            act: RwSignal::new(job.act),
            words: RwSignal::new(job.words.clone()),
            from: RwSignal::new(job.from),
            date: RwSignal::new(job.date.map(|day| day.to_string()).unwrap_or_default()),
            after: RwSignal::new(job.after),
            stage: RwSignal::new(job.stage),
            after_days: RwSignal::new(job.after_days.to_string()),
            again: RwSignal::new(job.every_days.is_some()),
            every_days: RwSignal::new(job.every_days.unwrap_or(7).to_string()),
            tolerance_days: RwSignal::new(job.tolerance_days.to_string()),
            during: RwSignal::new(job.during),
            person: RwSignal::new(job.person),
        }
    }

    fn draft(self, app: App, at: &Route) -> Draft {
        FormDraft::of(app, format!("planned {at}"))
            .field("doing", self.doing)
            .field("act", self.act)
            .field("words", self.words)
            .field("from", self.from)
            .field("date", self.date)
            .field("after", self.after)
            .field("stage", self.stage)
            .field("after_days", self.after_days)
            .field("again", self.again)
            .field("every_days", self.every_days)
            .field("tolerance_days", self.tolerance_days)
            .field("during", self.during)
            .field("person", self.person)
            .keep()
    }

    /// What the fields say, on top of what stood there.
    fn job(self, before: &Job) -> Result<Job, Problem> {
        let doing = self.doing.get_untracked();
        let from = self.from.get_untracked();
        let again = self.again.get_untracked();
        let every_days = again.then(|| days("every", self.every_days)).transpose()?;
        let date = self.date.get_untracked();
        let job = Job {
            doing,
            act: self.act.get_untracked().filter(|_| doing == Doing::Act),
            words: self.words.get_untracked(),
            from,
            date: date.parse().ok().filter(|_| from == JobFrom::Date),
            after: self.after.get_untracked().filter(|_| from == JobFrom::Act),
            stage: self.stage.get_untracked().filter(|_| from == JobFrom::Stage),
            after_days: match from {
                JobFrom::Date => 0,
                _ => days("after", self.after_days)?,
            },
            every_days,
            tolerance_days: days("tolerance", self.tolerance_days)?,
            during: self.during.get_untracked(),
            person: self.person.get_untracked(),
            given_up: false,
            ..before.clone()
        };
        // The grade spoke of the numbers as they stood.
        let same = Job { person: before.person, words: before.words.clone(), ..job.clone() } == *before;
        Ok(Job { grade: job.grade.filter(|_| same), ..job })
    }
}

fn days(field: &str, text: RwSignal<String>) -> Result<u32, Problem> {
    let wrong = |text: String| Problem { field: field.to_owned(), text };
    let text = text.get_untracked();
    let n = units::whole(&text).map_err(|why| wrong(en::sentence(&why.to_string())))?;
    u32::try_from(n).map_err(|_| wrong(en::digits_only().to_owned()))
}

fn fresh(today: bloomdue_core::calendar::Date) -> Job {
    Job {
        doing: Doing::Act,
        act: Some(ActKind::Watered),
        words: String::new(),
        from: JobFrom::Date,
        date: Some(today),
        after: None,
        stage: None,
        after_days: 0,
        every_days: None,
        tolerance_days: 0,
        during: During::Always,
        person: None,
        grade: None,
        source: String::new(),
        given_up: false,
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
    let fields = Fields::of(&before);
    let draft = fields.draft(app, &Route::CareJob(subject, slot.clone()));
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
                    app.say_saved(said, entries.iter().map(|entry| entry.id).collect());
                    address::replace(&Route::CarePlan(subject).to_string());
                }
                Err(why) => {
                    let _ = busy.try_set(false);
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let save = move |_| {
        problem.set(None);
        match before.with_value(|before| fields.job(before)) {
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
    // What stands beside its field is not said twice.
    let elsewhere = Signal::derive(move || {
        let beside = |p: &Problem| ["words", "after", "every", "tolerance"].contains(&p.field.as_str());
        problem.get().filter(|p| !beside(p))
    });
    view! {
        <Heading place=place title=title back=Route::CarePlan(subject) />
        <GoesOn draft=draft />
        <What fields=fields problem=problem />
        <When fields=fields problem=problem />
        <Who app=app fields=fields />
        <ProblemLine problem=elsewhere />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
        {is_known.then(|| view! { <button type="button" class="btn soft gap-above" on:click=give_up>{say::give_up()}</button> })}
    }
}

#[component]
fn What(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let doings = Doing::ALL.iter().map(|doing| (*doing, say::doing(*doing).to_owned()));
    let doings: Vec<_> = doings.collect();
    let acts = plan::ACTS.iter().map(|act| (Some(*act), en::act(*act).to_owned()));
    let acts: Vec<_> = acts.collect();
    view! {
        <Chips label=say::what_kind() choices=doings value=fields.doing />
        {move || {
            (fields.doing.get() == Doing::Act)
                .then(|| view! { <Chips label=say::which_act() choices=acts.clone() value=fields.act /> })
        }}
        {move || {
            let label = if fields.doing.get() == Doing::Own { say::own_words() } else { say::to_mind() };
            view! { <TextField label=label value=fields.words name="words" problem=problem /> }
        }}
    }
}

#[component]
fn When(fields: Fields, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let froms: Vec<_> = JobFrom::ALL.iter().map(|from| (*from, say::from(*from).to_owned())).collect();
    let acts: Vec<_> = plan::ACTS.iter().map(|act| (Some(*act), en::acted(*act).to_owned())).collect();
    let stages: Vec<_> = plan::STAGES.iter().map(|stage| (Some(*stage), en::stage(*stage).to_owned())).collect();
    let durings: Vec<_> = During::ALL.iter().map(|during| (*during, say::during(*during).to_owned())).collect();
    let again = vec![(false, say::once().to_owned()), (true, say::again().to_owned())];
    let more = move || match fields.from.get() {
        JobFrom::Date => view! { <DayField label=say::first_day() value=fields.date /> }.into_any(),
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
            <TextField label=say::days_after() value=fields.after_days mode="numeric" name="after" problem=problem />
        </Show>
        <Chips label=say::how_often() choices=again value=fields.again />
        <Show when=move || fields.again.get()>
            <TextField label=say::every_days() value=fields.every_days mode="numeric" name="every" problem=problem />
        </Show>
        <TextField
            label=say::tolerance()
            value=fields.tolerance_days
            mode="numeric"
            hint=say::tolerance_hint()
            name="tolerance"
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
