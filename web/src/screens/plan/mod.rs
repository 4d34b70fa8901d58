//! Plan back from the date: how many to start, what to do when, and what to try next.

mod answer;
mod asked;
mod bulbs;
mod form;
mod next;

use std::sync::Arc;

use bloomdue_core::error::Field;
use bloomdue_core::forecast::Window;
use bloomdue_core::ledger::body::{Body, Forcing};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{Answer, Wish, came_of};
use bloomdue_core::record::Command;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{due, jobs, plan as say};
use leptos::prelude::*;

use crate::app::worker::{Work, Working};
use crate::app::{App, app};
use crate::parts::draft::{Draft, GoesOn};
use crate::parts::field::TextField;
use crate::parts::heading::Heading;
use form::{Basis, Form};

/// What the parts of the page share.
#[derive(Clone, Copy)]
struct Page {
    app: App,
    basis: StoredValue<Arc<Basis>>,
    form: Form,
    wish: Memo<Result<Wish, Problem>>,
    /// How many seasons are thought of.
    seasons: RwSignal<u32>,
    problem: RwSignal<Option<Problem>>,
    draft: Draft,
    /// What is being worked out.
    work: RwSignal<Option<Work>>,
    /// The last answer with the wish that it answers; it stands until the next one is there.
    answered: RwSignal<Option<Answered>>,
}

/// An answer and what was asked.
#[derive(Clone)]
struct Answered {
    wish: Arc<Wish>,
    answer: Arc<Answer>,
}

/// A new plan, or one that was saved.
#[component]
pub(crate) fn PlanBack(forcing: Option<Id>) -> impl IntoView {
    let app = app();
    let key = format!("plan {}", Route::PlanBack(forcing));
    let Some(basis) = app.peek(|r| Basis::of(r, forcing)) else {
        app.let_go(&key);
        return view! {
            <Heading place=due::due_word() title=say::title() back=Route::Trials />
            <p>{say::no_such_plan()}</p>
        }
        .into_any();
    };
    let form = Form::of(&basis);
    let basis = Arc::new(basis);
    let fresh = untrack(|| form.to_bytes(&basis));
    let begun = app.draft(&key).is_some_and(|draft| form.fill(&draft, &basis));
    let of = Arc::clone(&basis);
    let now = move || Some(form.to_bytes(&of));
    let page = Page {
        app,
        form,
        basis: StoredValue::new(basis),
        wish: Memo::new(move |_| form.typed().wish(app.today.get())),
        seasons: RwSignal::new(bloomdue_core::plan::spend::SEASONS),
        problem: RwSignal::new(None),
        draft: Draft::of(app, key, begun, fresh, now),
        work: RwSignal::new(None),
        answered: RwSignal::new(None),
    };
    let basis = page.basis.get_value();
    let name = basis.saved.as_ref().map(|(_, saved)| saved.name.clone());
    let is_saved = basis.saved.is_some();
    let (title, under) = match name {
        Some(name) => (name, say::title()),
        None => (say::title().to_owned(), ""),
    };
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=title
            under=under
            back=Route::Trials
        />
        {forcing.map(|id| view! {
            <a class="btn soft" href=Route::Coming(Some(id)).href()>{say::see_coming()}</a>
        })}
        {came(page)}
        <GoesOn draft=page.draft />
        {if basis.under_way { under_way(page).into_any() } else { counted_back(page) }}
        {is_saved.then(|| of_saved(page))}
    }
    .into_any()
}

/// What came of a saved plan whose days are over.
fn came(page: Page) -> impl IntoView {
    let saved = page.basis.with_value(|basis| basis.saved.clone());
    move || {
        let (_, plan) = saved.as_ref()?;
        let lines = page.app.read(|r| {
            let window = Window { from: plan.from, to: plan.to };
            came_of(r.state, plan, r.today).map(|came| say::came_of(&came, plan.wanted, window, r.today))
        })?;
        let mut lines = lines.into_iter();
        let first = lines.next().map(|line| view! { <p class="say">{line}</p> });
        Some((first, lines.map(|line| view! { <p class="small">{line}</p> }).collect::<Vec<_>>()))
    }
}

/// The answer first, then what was asked, then what follows from it.
fn counted_back(page: Page) -> AnyView {
    ask(page);
    view! {
        {answer::first(page)}
        {asked::sentence(page)}
        {answer::rest(page)}
    }
    .into_any()
}

/// Asks anew for every other wish; one without sense is not asked, and has no answer.
fn ask(page: Page) {
    Effect::new(move |_| {
        let basis = page.basis.get_value();
        let asked = page.wish.get().ok().map(|wish| {
            let (data, seed) = (Box::new(basis.data.clone()), basis.seed);
            let work = page.app.work(Task::Plan { data, seed, wish: Box::new(wish.clone()) });
            (work, Arc::new(wish))
        });
        page.work.set(asked.as_ref().map(|(work, _)| work.clone()));
        if asked.is_none() {
            page.answered.set(None);
        }
        Effect::new(move |_| {
            if let Some((work, wish)) = &asked
                && let Working::Done(Done::Plan(answer)) = work.now()
            {
                page.answered.set(Some(Answered { wish: Arc::clone(wish), answer: Arc::new(*answer) }));
            }
        });
    });
}

/// A plan whose bulbs are past what can be planned: only its days can be moved.
fn under_way(page: Page) -> impl IntoView {
    let save = move |_| {
        let basis = page.basis.get_value();
        let (Ok(wish), Some((_, saved))) = (page.wish.get_untracked(), &basis.saved) else {
            return;
        };
        save(page, Forcing { from: wish.window.from, to: wish.window.to, wanted: wish.wanted, ..saved.clone() });
    };
    let problem = Signal::derive(move || page.wish.with(|wish| wish.as_ref().err().cloned()));
    view! {
        <p class="say">{say::under_way()}</p>
        {asked::days(page)}
        <TextField label=say::at_least() value=page.form.wanted mode="numeric" name=Field::Wanted problem=problem />
        <button type="button" class="btn soft" on:click=save>{say::save_moved()}</button>
    }
}

/// Records a plan and stays at it.
fn save(page: Page, body: Forcing) {
    let app = page.app;
    if !app.tap_counts() {
        return;
    }
    let forcing = page.basis.with_value(|basis| basis.saved.as_ref().map(|(id, _)| *id));
    let said = if forcing.is_some() { say::days_moved() } else { say::saved() };
    let command = Command::Force { forcing, body: Box::new(body) };
    wasm_bindgen_futures::spawn_local(async move {
        match page.draft.record(command).await {
            Ok(entries) => {
                // What is undone with it is named.
                let rests = entries.iter().any(|entry| matches!(entry.body, Body::Act(..)));
                let said = if rests { say::saved_with_rest() } else { said };
                app.notify_saved(said.to_owned(), entries.iter().map(|entry| entry.id).collect());
                let id = entries.first().and_then(|entry| entry.envelope.about.first().copied());
                match forcing {
                    None => app.done_to(&Route::PlanBack(id)),
                    // The page is made anew from what stands now.
                    Some(_) => app.route.update(|_| ()),
                }
            }
            Err(why) => {
                page.problem.try_set(Some(Problem::from(&why)));
            }
        }
    });
}

/// What a saved plan has besides: its jobs, and the end of it.
fn of_saved(page: Page) -> impl IntoView {
    let app = page.app;
    let saved = page.basis.with_value(|basis| basis.saved.clone());
    saved.map(|(id, forcing)| {
        let rows = move || {
            app.read(|r| {
                let active = bloomdue_core::care::plan::active(r.state).into_iter();
                let own = active.filter(|(planned, ..)| planned.subject == id);
                let mut own: Vec<_> = own.collect();
                own.sort_by_key(|(_, job, _)| job.date);
                own.into_iter().map(|(planned, job, _)| {
                    let under = jobs::job_of_plan(planned, job, r.state, r.today);
                    view! {
                        <a class="row" href=Route::CareJob(id, planned.slot.clone()).href()>
                            <span class="grow"><b>{due::planned_title(job)}</b> <br /> <span class="small">{under}</span></span>
                        </a>
                    }
                })
                .collect::<Vec<_>>()
            })
        };
        let give_up = move |_| {
            if app.tap_counts() {
                page.draft.forget();
                let body = Forcing { given_up: true, ..forcing.clone() };
                let command = Command::Set {
                    subject: id,
                    slot: String::new(),
                    body: Body::Forcing(body),
                };
                app.save_then(command, say::given_up(), move |_| {
                    app.done_to(&Route::Trials);
                });
            }
        };
        view! {
            <h2>{say::see_jobs()}</h2>
            {rows}
            <button type="button" class="btn soft gap-above" on:click=give_up>{say::give_up()}</button>
        }
    })
}
