//! Due, the day sheet: what needs hands today, by place, the latest first, ticked in place and struck through till midnight.
//! What means looking opens the walk and has no box to tick.

use bloomdue_core::care::day::{self, Done, What};
use bloomdue_core::care::{self, Job, JobAt};
use bloomdue_core::forecast;
use bloomdue_core::ledger::body::{Act, ActKind};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::walk;
use bloomdue_core::record::Command;
use bloomdue_core::trial::outcome::Outcome;
use bloomdue_words::route::Route;
use bloomdue_words::{care as acts, common, dates, due as say, form, places};
use leptos::prelude::*;

use crate::app::{App, Records, app, lazy};
use crate::device::badge;
use crate::parts::field::Chips;
use crate::parts::heading::Heading;
use crate::parts::mark::marks;

/// So many rows stand on a phone at once.
const FEW_ROWS: usize = 8;

/// What needs hands today.
#[component]
pub(crate) fn Due() -> impl IntoView {
    let app = app();
    let place =
        move || app.read(|r| common::nursery_and_week(r.state.name.shown().map_or("", String::as_str), r.today));
    let title = move || app.read(|r| dates::date_long(r.today));
    let found = Memo::new(move |_| lazy::planned(app));
    let coming = Memo::new(move |_| found.with(Option::is_none));
    let planned = Memo::new(move |_| found.get().unwrap_or_default());
    let all = Memo::new(move |_| {
        app.read(|r| {
            let mut due = care::due(r.state, r.today);
            due.add(r.state, planned.with(|planned| planned.places.clone()));
            due
        })
    });
    // A number that is not whole yet would be a wrong one.
    Effect::new(move |_| (!coming.get()).then(|| badge::show(all.with(care::Due::n_jobs))));
    let mine = RwSignal::new(false);
    let n_mine = Memo::new(move |_| all.with(|due| app.read(|r| n_mine(app, r, due))));
    let due = Memo::new(move |_| {
        let mut due = all.get();
        if mine.get() && n_mine.get() > 0 {
            due.general.clear();
            app.read(|r| only_mine(app, r, &mut due));
        }
        due
    });
    let done = Memo::new(move |_| {
        let found = app.read(|r| day::done(r.ledger, r.state, r.today));
        if mine.get() { Vec::new() } else { found }
    });
    let order = StoredValue::new(Vec::<Option<Id>>::new());
    let sheet = Memo::new(move |_| {
        let mut now = due.with(|due| done.with(|done| app.read(|r| sheets(r, due, done))));
        // Once all jobs are known, a place stays where it is while rows are ticked.
        if !coming.get() {
            order.update_value(|order| {
                let at = |sheet: &Sheet| order.iter().position(|known| *known == sheet.place).unwrap_or(usize::MAX);
                now.sort_by_key(at);
                *order = now.iter().map(|sheet| sheet.place).collect();
            });
        }
        now
    });
    let n_rows = Memo::new(move |_| sheet.with(|sheet| sheet.iter().map(|at| at.rows.len()).sum::<usize>()));
    // Where all rows fit on a phone, nothing is folded.
    let fold = Memo::new(move |_| n_rows.get() > FEW_ROWS && sheet.with(|sheet| sheet.iter().any(Sheet::is_late)));
    let tally = move || {
        let n_done = done.with(Vec::len);
        (n_done > 0).then(|| say::tally(n_done, n_rows.get()))
    };
    let no_bulbs = move || app.read(|r| r.state.bulbs.is_empty());
    let quiet = move || {
        !no_bulbs()
            && !coming.get()
            && due.with(care::Due::is_empty)
            && planned.with(|planned| planned.n_twice == 0)
            && app.draft_keys().is_empty()
    };
    view! {
        <Heading place=Signal::derive(place) title=Signal::derive(title) tally=Signal::derive(move || tally().unwrap_or_default()) />
        <Warnings app=app />
        <Drafts app=app />
        <Show when=move || app.read(|r| forecast::next_asked(r.state, r.today).is_some())>
            <div class="foreseen-place">{lazy::foreseen()}</div>
        </Show>
        <Windows app=app />
        <Show when=no_bulbs>
            <p class="say">{places::nothing_recorded()}</p>
            <a class="btn main" href=move || app.read(first_step).href()>{places::begin_with_a_place()}</a>
        </Show>
        <Show when=move || coming.get() && !no_bulbs()>{lazy::waiting()}</Show>
        <Show when=quiet>
            <p class="say">{say::nothing_due()}</p>
            {move || planned.with(|planned| planned.next.clone()).map(|next| view! { <p>{next}</p> })}
            <p class="small">{say::how_due_comes()}</p>
        </Show>
        // All rows come together: one that moved under the thumb would be ticked instead of another.
        <Show when=move || !coming.get() || lazy::is_missing()>
            {move || planned.with(|planned| planned.clock).map(|clock| {
                view! { <p class="problem" role="alert">{say::clock(clock, app.today.get())}</p> }
            })}
            <Show when=move || planned.with(|planned| planned.clash)>
                {line(say::clash().to_owned(), 0, &Route::CarePlans)}
            </Show>
            {move || {
                let n = planned.with(|planned| planned.n_twice);
                (n > 0).then(|| line(say::acts_twice(n), n, &Route::Disagreements))
            }}
            {move || {
                (n_mine.get() > 0)
                    .then(|| {
                        let choices = vec![(false, say::all_jobs().to_owned()), (true, say::yours_today(n_mine.get()))];
                        view! { <Chips label=say::whose() choices=choices value=mine /> }
                    })
            }}
            <For each=move || due.with(|due| general(app, due)) key=Row::clone children=move |row| row.view(app) />
            {move || {
                let n = due.with(|due| due.n_disagreements);
                (n > 0).then(|| line(say::disagreements(n), n, &Route::Disagreements))
            }}
            <For
                each=move || sheet.with(|sheet| sheet.iter().map(|at| at.place).collect::<Vec<_>>())
                key=|at| *at
                let(at)
            >
                <AtPlace app=app sheet=sheet at=at fold=fold />
            </For>
        </Show>
        <Show when=move || !no_bulbs()>
            <a class="row gap-above" href=Route::Coming(None).href()>
                <span class="name thin">{say::coming()}</span>
            </a>
            <a class="row" href=Route::PlanBack(None).href()>
                <span class="name thin">{say::plan_back()}</span>
            </a>
            <a class="row" href=Route::CarePlans.href()>
                <span class="name thin">{say::care_plans()}</span>
            </a>
            <a class="row" href=Route::Week.href()>
                <span class="name thin">{say::week_sheet()}</span>
            </a>
            <a class="row" href=Route::CalendarFile.href()>
                <span class="name thin">{say::calendar_file()}</span>
            </a>
        </Show>
    }
}

fn is_mine(app: App, r: Records<'_>, at: &JobAt) -> bool {
    let who = app.who.get();
    who.is_some() && care::plan::person_of(r.state, &at.job) == who
}

/// How many jobs were given to the person of this device.
fn n_mine(app: App, r: Records<'_>, due: &care::Due) -> usize {
    let placed = due.places.iter().flat_map(|at| &at.jobs);
    placed.filter(|at| is_mine(app, r, at)).count()
}

fn only_mine(app: App, r: Records<'_>, due: &mut care::Due) {
    for at in &mut due.places {
        at.jobs.retain(|job| is_mine(app, r, job));
    }
    due.places.retain(|at| !at.jobs.is_empty());
}

/// Where a nursery without bulbs goes on.
fn first_step(r: Records<'_>) -> Route {
    match r.state.place_rows().first() {
        Some(row) => Route::AddBulbs(row.id),
        None => Route::NewPlace,
    }
}

/// What stands above everything else: storage that was damaged, another tab that took over, a copy long overdue.
#[component]
fn Warnings(app: App) -> impl IntoView {
    let torn = move || app.torn.get();
    let to_copy = move || app.line.with(|line| line.as_ref().map_or(0, |line| line.since_export));
    view! {
        <Show when=move || { torn() > 0 }>
            <p class="problem" role="alert">{move || say::torn(torn())}</p>
        </Show>
        <Show when=move || { app.who.get().is_none() && app.read(|r| !r.state.persons.is_empty()) }>
            <a class="row" href=Route::Who.href()>
                <span class="grow"><b>{say::who_records()}</b></span>
            </a>
        </Show>
        <Show when=move || { !app.demo.get() && to_copy() >= say::COPY_AFTER }>
            <a class="row" href=Route::Files.href()>
                <span class="grow">
                    <b>{say::make_a_copy()}</b>
                    <br />
                    <span class="small">{move || say::not_copied(to_copy())}</span>
                </span>
            </a>
        </Show>
    }
}

#[component]
fn Drafts(app: App) -> impl IntoView {
    let begun = move || {
        let keys = app.draft_keys().into_iter().filter_map(|key| Some((Route::parse_key(&key)?, key)));
        let of =
            |route: &Route| app.peek(|r| route.subject().map_or_else(String::new, |id| r.state.name_of(id).to_owned()));
        keys.map(|(route, key)| (say::unfinished_form(&key, &of(&route)), route.href())).collect::<Vec<_>>()
    };
    view! {
        <For each=begun key=Clone::clone let((form, href))>
            <a class="row" href=href>
                <span class="grow">
                    <b>{say::unfinished()}</b>
                    <br />
                    <span class="small">{form}</span>
                </span>
            </a>
        </For>
    }
}

/// A row of the sheet.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Row {
    /// Ticked in place; its name leads to the job's page.
    Tick { at: JobAt, kind: ActKind, words: Words, place: Option<Id> },
    /// Opens a walk, a look or a page; `job` is the page where a walk can be put off.
    Open { at: JobAt, words: Words, to: Route, job: Option<Route> },
    /// Done today, struck through; a tick that stands can be taken away.
    Done { done: Done, name: String, when: String },
}

/// How a job reads in one line.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Words {
    name: String,
    late: Option<String>,
    soon: Option<String>,
}

impl Words {
    fn of(r: Records<'_>, at: &JobAt) -> Self {
        let late = (at.over_days > 0).then(|| say::late(at.over_days));
        let soon = late.is_none().then(|| say::soon(at, r.today)).flatten();
        Self { name: say::row_name(at, r.state), late, soon }
    }

    fn view(self, n: usize) -> AnyView {
        let Self { name, late, soon } = self;
        view! {
            <span class="name"><span>{name}</span></span>
            <span class="lead"></span>
            {late.map(|late| view! { <span class="late">{late}</span> })}
            {soon.map(|soon| view! { <span class="soon">{soon}</span> })}
            {(n > 0).then(|| view! { <span class="num">{n}</span> })}
        }
        .into_any()
    }
}

impl Row {
    fn of_job(r: Records<'_>, place: Option<Id>, at: &JobAt) -> Self {
        let job = Route::Job(place, at.job.key().unwrap_or_default());
        let (at, words) = (at.clone(), Words::of(r, at));
        if let Some(kind) = day::tick(r.state, &at.job) {
            return Self::Tick { at, kind, words, place };
        }
        let looks = at.job.is_look() || care::plan::is_look(r.state, &at.job);
        // An unsure shoot is seen again by the key that tells stalk from leaf.
        let unsure = |bulb: &Id| walk::present_unsure(r.state.bulb(bulb)?.cycle()).map(|shoot| shoot.id);
        match (at.bulbs.as_slice(), place) {
            ([bulb], _) if at.job == Job::SeeAgain && unsure(bulb).is_some() => {
                let to = unsure(bulb).map_or(Route::Look(*bulb), |shoot| Route::Call(*bulb, shoot));
                Self::Open { to, at, words, job: Some(job) }
            }
            ([bulb], _) if at.job == Job::InspectAgain => {
                let to = Route::CareForm(*bulb, None, form::acts::What::Inspection.word().to_owned());
                Self::Open { to, at, words, job: Some(job) }
            }
            _ if !looks => Self::Open { at, words, to: job, job: None },
            ([bulb], _) => Self::Open { to: Route::Look(*bulb), at, words, job: Some(job) },
            (_, Some(place)) => Self::Open { to: Route::Walk(place), at, words, job: Some(job) },
            (_, None) => Self::Open { to: job.clone(), at, words, job: Some(job) },
        }
    }

    fn of_done(r: Records<'_>, done: &Done) -> Self {
        let name = say::what_was_done(&done.what, r.state);
        let when = say::when_done(done.minute, r.state.name_of(done.who));
        Self::Done { done: done.clone(), name, when }
    }

    fn view(self, app: App) -> AnyView {
        match self {
            Self::Tick { at, kind, words, place } => tick_row(app, at, kind, words, place),
            Self::Open { at, words, to, job } => open_row(at, words, &to, job),
            Self::Done { done, name, when } => done_row(app, done, name, when),
        }
    }
}

fn tick_row(app: App, at: JobAt, kind: ActKind, words: Words, place: Option<Id>) -> AnyView {
    let key = at.job.key().unwrap_or_default();
    let n = at.bulbs.len();
    let job = Route::Job(place, key.clone()).href();
    let label = say::tick(&words.name, n);
    let saved = acts::done(&words.name, n, false);
    let tick = move |_| {
        let from = place.map(|place| app.peek(|r| r.state.name_of(place).to_owned())).filter(|name| !name.is_empty());
        let act = Act { from, job: Some(key.clone()), ..Act::default() };
        app.save(Command::Do { kind, act, about: at.bulbs.clone(), on: None }, saved.clone());
    };
    view! {
        <div class="row boxed">
            <label>
                <input type="checkbox" class="box" aria-label=label on:change=tick />
            </label>
            <a href=job>{words.view(n)}</a>
        </div>
    }
    .into_any()
}

fn open_row(at: JobAt, words: Words, to: &Route, job: Option<Route>) -> AnyView {
    let put_off = say::put_off(&words.name);
    let eye = job.is_some().then(eye);
    let row = view! { <a class="row" href=to.href()>{eye} {words.view(at.bulbs.len())}</a> };
    match job.filter(|job| job != to) {
        None => row.into_any(),
        Some(job) => view! {
            <div class="row-and">
                {row}
                <a class="more" href=job.href() aria-label=put_off>"…"</a>
            </div>
        }
        .into_any(),
    }
}

fn done_row(app: App, done: Done, name: String, when: String) -> AnyView {
    let n = done.bulbs.len();
    let ticked = match &done.what {
        What::Act(kind) if day::is_ticked(*kind) => true,
        What::Own(..) => true,
        _ => false,
    };
    let label = say::untick(&name, n);
    let (entries, taken_back) = (done.entries, common::taken_back(&name));
    let untick = move |_| {
        app.save(Command::TakeBack { entries: entries.clone(), why: None }, taken_back.clone());
    };
    let mark = if ticked {
        view! {
            <label>
                <input type="checkbox" class="box" checked aria-label=label on:change=untick />
            </label>
        }
        .into_any()
    } else {
        view! { <span class="box done" aria-hidden="true">"✓"</span> }.into_any()
    };
    view! {
        <div class="row done" class:boxed=ticked>
            {mark}
            <span class="name"><span>{name}</span></span>
            <span class="lead"></span>
            <span class="soon">{when}</span>
            <span class="num">{n}</span>
        </div>
    }
    .into_any()
}

/// An eye: what is looked at has no box to tick.
fn eye() -> impl IntoView {
    view! {
        <svg class="eye" width="30" height="27" viewBox="0 0 30 27" aria-hidden="true">
            <ellipse class="ln" cx="15" cy="13.5" rx="13.5" ry="11.5" />
            <path class="ln" d="M8 13.5c4-3 10-3 14 0-4 3-10 3-14 0z" />
        </svg>
    }
}

fn general(app: App, due: &care::Due) -> Vec<Row> {
    let rows = due.general.iter().filter(|at| !matches!(at.job, Job::Deadline { .. })).map(|at| {
        let to = match &at.job {
            Job::StartRun { run, .. } | Job::CloseRun { run } => Route::Run(*run),
            _ => Route::Places,
        };
        Row::Open { words: app.read(|r| Words::of(r, at)), at: at.clone(), to, job: None }
    });
    rows.collect()
}

/// Due windows that are near, each a line with a mark a bulb.
#[component]
fn Windows(app: App) -> impl IntoView {
    move || {
        let windows = app.read(|r| {
            let windows = day::windows(r.state, r.today, care::due::DEADLINE_NOTICE_DAYS);
            let open = windows.into_iter().filter(|at| at.outcomes.iter().any(Outcome::is_open));
            let words = open.map(|at| (say::window_name(at.run, r.state), say::window_left(at.over_days), at));
            words.collect::<Vec<_>>()
        });
        windows
            .into_iter()
            .map(|(name, left, at)| {
                let left = if at.over_days > 0 {
                    view! { <span class="late grow">{left}</span> }.into_any()
                } else {
                    view! { <span class="soon grow">{left}</span> }.into_any()
                };
                view! {
                    <a class="strip1" href=Route::Run(at.run).href()>
                        <b>{name}</b>
                        {left}
                        {marks(&at.outcomes)}
                    </a>
                }
            })
            .collect_view()
    }
}

/// The jobs of a place, or of bulbs that stand in none, with what was done there today.
#[component]
fn AtPlace(app: App, sheet: Memo<Vec<Sheet>>, at: Option<Id>, fold: Memo<bool>) -> impl IntoView {
    let here = move || sheet.with(|sheet| sheet.iter().find(|sheet| sheet.place == at).cloned());
    let name = move || match at {
        Some(place) => app.read(|r| r.state.name_of(place).to_owned()),
        None => say::no_place().to_owned(),
    };
    let rows = move || here().map(|here| here.rows).unwrap_or_default();
    let n_bulbs = move || here().map(|here| common::bulbs(here.n_bulbs)).unwrap_or_default();
    let quiet = Memo::new(move |_| fold.get() && here().is_some_and(|here| !here.is_late()));
    let n_jobs = move || say::n_jobs(rows().iter().filter(|row| !matches!(row, Row::Done { .. })).count());
    move || {
        let rows = view! { <For each=rows key=Row::clone children=move |row| row.view(app) /> };
        if quiet.get() {
            view! {
                <details class="folded">
                    <summary class="row">
                        <span class="name">{name}</span>
                        <span class="soon">{n_bulbs}</span>
                        <span class="lead"></span>
                        <span class="soon">{n_jobs}</span>
                    </summary>
                    {rows}
                </details>
            }
            .into_any()
        } else {
            view! {
                <div class="place">
                    <h2>{name}</h2>
                    <span class="small">{n_bulbs}</span>
                </div>
                {rows}
            }
            .into_any()
        }
    }
}

/// What stands on the sheet for one place.
#[derive(Clone, PartialEq)]
struct Sheet {
    place: Option<Id>,
    n_bulbs: usize,
    rows: Vec<Row>,
}

impl Sheet {
    fn is_late(&self) -> bool {
        self.rows.iter().any(|row| match row {
            Row::Tick { words, .. } | Row::Open { words, .. } => words.late.is_some(),
            Row::Done { .. } => false,
        })
    }
}

/// The sheet of a day: places with what is due there and what was done, in the order of what is latest; a place where all is
/// done stays.
fn sheets(r: Records<'_>, due: &care::Due, done: &[Done]) -> Vec<Sheet> {
    let mut sheets: Vec<Sheet> = Vec::new();
    for at in &due.places {
        let rows = at.jobs.iter().map(|job| Row::of_job(r, at.place, job)).collect();
        sheets.push(Sheet { place: at.place, n_bulbs: at.n_bulbs, rows });
    }
    for one in done {
        let row = Row::of_done(r, one);
        match sheets.iter_mut().find(|sheet| sheet.place == one.place) {
            Some(sheet) => sheet.rows.push(row),
            None => {
                let n_bulbs = one.place.map_or(one.bulbs.len(), |place| r.state.bulbs_in(place).len());
                sheets.push(Sheet { place: one.place, n_bulbs, rows: vec![row] });
            }
        }
    }
    sheets
}

/// A line of the sheet that leads to another page and is no job.
fn line(name: String, n: usize, route: &Route) -> impl IntoView {
    view! {
        <a class="row" href=route.href()>
            <span class="name">{name}</span>
            <span class="lead"></span>
            {(n > 0).then(|| view! { <span class="num">{n}</span> })}
        </a>
    }
}
