//! Plan back from the date: how many to start, what to do when, and what to try next.

mod answer;
mod bulbs;
mod form;
mod next;

use std::sync::Arc;

use bloomdue_core::ledger::body::{Body, Forcing};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{WAYS, Wish, beyond_published, moved, stands, tried};
use bloomdue_core::record::Command;
use bloomdue_core::work::{Done, Task};
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::draft::{Draft, GoesOn};
use crate::parts::field::{Chips, DayField, Problem, TextField};
use crate::parts::heading::Heading;
use crate::parts::plots::table::Behind;
use crate::parts::working::WorkShown;
use crate::words::{coming, due, en, jobs, plan as say};
use form::{Basis, Form};

/// What the parts of the page share.
#[derive(Clone, Copy)]
struct Page {
    app: App,
    basis: StoredValue<Arc<Basis>>,
    form: Form,
    wish: Memo<Result<Wish, Problem>>,
    problem: RwSignal<Option<Problem>>,
    draft: Draft,
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
        wish: Memo::new(move |_| form.wish(app.today.get())),
        problem: RwSignal::new(None),
        draft: Draft::of(app, key, begun, fresh, now),
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
        <GoesOn draft=page.draft />
        {wanted(page)}
        {if basis.under_way {
            under_way(page).into_any()
        } else {
            view! {
                {at_hand(page)}
                {move || answered(page)}
            }
            .into_any()
        }}
        {is_saved.then(|| of_saved(page))}
    }
    .into_any()
}

/// What is wrong with one field.
fn problem_at(page: Page, field: &'static str) -> impl IntoView {
    let text = move || {
        page.wish.with(|wish| {
            let why = wish.as_ref().err().filter(|why| why.field == field)?;
            Some(why.text.clone())
        })
    };
    move || text().map(|text| view! { <p class="problem" role="alert">{text}</p> })
}

/// The days, how many, and how sure.
fn wanted(page: Page) -> impl IntoView {
    let form = page.form;
    let week = move || form.window().ok().map(say::weeks);
    let shift = move |days: i64| {
        view! {
            <button
                type="button"
                class="chip"
                on:click=move |_| {
                    if let Ok(window) = untrack(|| form.window()) {
                        form.set_window(moved(window, days));
                    }
                }
            >
                {say::move_window(days)}
            </button>
        }
    };
    let stages = [
        coming::wanted(bloomdue_core::forecast::Wanted::FitToSell),
        coming::wanted(bloomdue_core::forecast::Wanted::InFlower),
    ];
    let stages = stages.into_iter().zip(0..).map(|(words, at)| (at, words.to_owned()));
    let sure = [800, 900, 950].map(|permille| (permille, say::sure(permille).to_owned()));
    let problem = Signal::derive(move || page.wish.with(|wish| wish.as_ref().err().cloned()));
    view! {
        <div class="grid2">
            <DayField label=say::first_day() value=form.from />
            <DayField label=say::last_day() value=form.to />
        </div>
        <p class="small" role="status">{week}</p>
        {problem_at(page, "window")}
        <div class="chips">{shift(-7)} {shift(7)}</div>
        <TextField label=say::at_least() value=form.wanted mode="numeric" name="wanted" problem=problem />
        <Chips label=say::what_counts() choices=stages.collect() value=form.stage />
        <Chips label=say::how_sure() choices=sure.to_vec() value=form.sure_permille />
        {problem_at(page, "sure")}
    }
}

/// Bulbs, how they stand, how they are rested; behind one line, since the records fill it in.
fn at_hand(page: Page) -> impl IntoView {
    let basis = page.basis.get_value();
    let open = basis.ticked.is_empty();
    let today = page.app.today;
    let line = Memo::new(move |_| {
        page.wish.with(|wish| {
            let wish = wish.as_ref().ok()?;
            Some(say::hand_under(wish, today.get()))
        })
    });
    view! {
        <details class="gap-above" open=open>
            <summary><b>{say::hand_title()}</b> " " <span class="small">{line}</span></summary>
            {hand(page, &basis)}
            {rest(page, &basis)}
        </details>
        {problem_at(page, "at-hand")}
        {problem_at(page, "since")}
        {problem_at(page, "rest")}
    }
}

fn hand(page: Page, basis: &Arc<Basis>) -> impl IntoView + use<> {
    let (app, form) = (page.app, page.form);
    let both = vec![(0, say::by_records().to_owned()), (1, say::by_number().to_owned())];
    let basis = Arc::clone(basis);
    let bulbs = move || match form.by_number.get() {
        0 => bulbs::lists(app, form, &basis.at_hand),
        _ => view! {
            <TextField label=say::n_at_hand() value=form.number mode="numeric" hint=say::n_at_hand_hint() />
        }
        .into_any(),
    };
    let now = vec![(0, say::in_leaf().to_owned()), (1, say::at_rest().to_owned())];
    let by_records = move || {
        let ids: Vec<Id> = form.ticked.with(|ticked| ticked.iter().copied().collect());
        let stands = app.peek(|r| stands(r.state, &ids, r.today));
        let mixed = form.by_number.get() == 0 && stands.n_resting > 0 && stands.n_in_leaf > 0;
        mixed.then(|| say::by_the_records(stands.n_in_leaf, stands.n_resting))
    };
    // What is ticked says how they stand; the grower may say otherwise after that.
    Effect::new(move |before: Option<()>| {
        let ids: Vec<Id> = form.ticked.with(|ticked| ticked.iter().copied().collect());
        if before.is_some() {
            match app.peek(|r| stands(r.state, &ids, r.today)).now {
                bloomdue_core::plan::Now::RestingSince(since) => {
                    form.since.set(since.to_string());
                    form.resting.set(1);
                }
                bloomdue_core::plan::Now::InLeaf => form.resting.set(0),
            }
        }
    });
    let since = move || (form.resting.get() == 1).then(|| view! { <DayField label=say::since() value=form.since /> });
    view! {
        <Chips label=say::which_bulbs() choices=both value=form.by_number />
        {bulbs}
        <Chips label=say::how_now() choices=now value=form.resting />
        {since}
        <p class="small">{by_records}</p>
    }
}

fn rest(page: Page, basis: &Arc<Basis>) -> impl IntoView + use<> {
    let form = page.form;
    let mut treatments = vec![(0, say::like_none().to_owned())];
    treatments.extend((1..).zip(basis.data.treatments.iter().cloned()));
    let has_treatments = treatments.len() > 1;
    // A treatment that was tried comes with its weeks of rest.
    let weeks_of = tried(&basis.data);
    Effect::new(move |before: Option<u32>| {
        let now = form.treatment.get();
        let at = now.checked_sub(1).filter(|_| before.is_some_and(|before| before != now));
        if let Some((_, weeks)) = at.and_then(|at| weeks_of.get(at as usize)) {
            form.weeks.set(weeks.to_string());
        }
        now
    });
    let mut lots = vec![(0, say::any_lot().to_owned())];
    page.app.peek(|r| {
        let names = basis.data.lots.iter().map(|lot| r.state.name_of(*lot).to_owned());
        lots.extend((1..).zip(names));
    });
    let has_lots = lots.len() > 1;
    let mut ways = vec![(0, say::own_way().to_owned())];
    ways.extend((1..).zip(WAYS.iter().map(|way| say::way(way.way).to_owned())));
    Effect::new(move |before: Option<u32>| {
        let now = form.way.get();
        let at = now.checked_sub(1).filter(|_| before.is_some_and(|before| before != now));
        if let Some(way) = at.and_then(|at| WAYS.get(at as usize)) {
            form.weeks.set(way.weeks.to_string());
            form.treatment.set(0);
        }
        now
    });
    let batches = (1..=4).map(|n| (n, say::n_batches(n))).collect();
    view! {
        {has_treatments.then(|| view! { <Chips label=say::like_what() choices=treatments value=form.treatment /> })}
        <Chips label=say::rest_how() choices=ways value=form.way />
        <p class="small">{say::rest_hint()}</p>
        <Behind summary=say::what_is_published()>{published()}</Behind>
        <TextField label=say::rest_weeks() value=form.weeks mode="numeric" />
        {has_lots.then(|| view! { <Chips label=say::which_lot() choices=lots value=form.lot /> })}
        <Chips label=say::batches() choices=batches value=form.batches />
    }
}

/// Each way of resting with who says what, and how far that carries.
fn published() -> AnyView {
    let line = |(basis, words): (&bloomdue_core::forecast::priors::Basis, &'static str)| {
        let text = format!("{} ({}; {words})", en::sentence(basis.says), en::grade(basis.source));
        view! { <li>{text}</li> }
    };
    let ways: Vec<_> = WAYS
        .iter()
        .map(|way| {
            let speaks_for = way.basis.iter().map(|basis| (basis, say::speaks_for()));
            let against = way.against.iter().map(|basis| (basis, say::speaks_against()));
            let lines: Vec<_> = speaks_for.chain(against).map(line).collect();
            view! { <p><b>{say::way(way.way)}</b></p> <ul class="small">{lines}</ul> }
        })
        .collect();
    ways.into_any()
}

/// Asks anew for another wish; a wish without sense stands beside its field.
fn answered(page: Page) -> AnyView {
    let Ok(wish) = page.wish.get() else {
        return ().into_any();
    };
    let basis = page.basis.get_value();
    let beyond = (beyond_published(wish.rest_weeks) && wish.treatment.is_none())
        .then(|| view! { <p class="notice small">{say::beyond()}</p> });
    let work = page.app.work(Task::Plan {
        data: Box::new(basis.data.clone()),
        seed: basis.seed,
        wish: Box::new(wish.clone()),
    });
    let shown = move |done| match done {
        Done::Plan(answer) => answer::shown(page, &answer, &wish),
        _ => ().into_any(),
    };
    view! {
        <WorkShown work=work shown=shown />
        {beyond}
    }
    .into_any()
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
    view! {
        <p class="say">{say::under_way()}</p>
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
                app.say_saved(said.to_owned(), entries.iter().map(|entry| entry.id).collect());
                let id = entries.first().and_then(|entry| entry.envelope.about.first().copied());
                match forcing {
                    None => address::replace(&Route::PlanBack(id).to_string()),
                    // The page is made anew from what stands now.
                    Some(_) => app.route.update(|_| ()),
                }
            }
            Err(why) => {
                page.problem.try_set(Some(Problem::of(&why)));
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
                            <span class="go" aria-hidden="true">"›"</span>
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
                app.save_then(command, say::given_up(), |_| {
                    address::replace(&Route::Trials.to_string());
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
