//! Due: what needs hands today, by place, overdue first. What means looking opens the walk and has no box to tick.

use bloomdue_core::care::{self, Job, JobAt};
use bloomdue_core::ledger::id::Id;
use leptos::prelude::*;

use crate::app::{App, Records, app, route::Route};
use crate::device::badge;
use crate::parts::field::Chips;
use crate::parts::heading::Heading;
use crate::screens::second;
use crate::words::{due as say, en};

/// What needs hands today.
#[component]
pub(crate) fn Due() -> impl IntoView {
    let app = app();
    let place = move || app.read(|r| en::nursery_and_week(r.state.name.shown().map_or("", String::as_str), r.today));
    let title = move || app.read(|r| en::date_long(r.today));
    let planned = Memo::new(move |_| second::planned(app).unwrap_or_default());
    let all = Memo::new(move |_| {
        app.read(|r| {
            let mut due = care::due(r.state, r.today);
            due.add(r.state, planned.with(|planned| planned.places.clone()));
            due
        })
    });
    Effect::new(move |_| badge::show(all.with(care::Due::n_jobs)));
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
    let no_bulbs = move || app.read(|r| r.state.bulbs.is_empty());
    let quiet = move || {
        !no_bulbs()
            && due.with(care::Due::is_empty)
            && planned.with(|planned| planned.n_twice == 0)
            && app.draft_keys().is_empty()
    };
    view! {
        <Heading place=Signal::derive(place) title=Signal::derive(title) />
        <Warnings app=app />
        {move || planned.with(|planned| planned.clock).map(|clock| {
            view! { <p class="problem" role="alert">{say::clock(clock, app.today.get())}</p> }
        })}
        <Show when=move || planned.with(|planned| planned.clash)>
            {row(say::clash().to_owned(), say::clash_under().to_owned(), 0, 0, Route::CarePlans)}
        </Show>
        {move || {
            let n = planned.with(|planned| planned.n_twice);
            (n > 0).then(|| row(say::acts_twice(n), say::acts_twice_under().to_owned(), 0, n, Route::Disagreements))
        }}
        <Show when=no_bulbs>
            <p class="say">{en::nothing_recorded()}</p>
            <a class="btn main" href=move || app.read(first_step).href()>{en::begin_with_a_place()}</a>
        </Show>
        <Show when=quiet>
            <p class="say">{say::nothing_due()}</p>
            {move || planned.with(|planned| planned.next.clone()).map(|next| view! { <p>{next}</p> })}
            <p class="small">{say::how_due_comes()}</p>
        </Show>
        <Drafts app=app />
        {move || {
            (n_mine.get() > 0)
                .then(|| {
                    let choices = vec![(false, say::all_jobs().to_owned()), (true, say::yours_today(n_mine.get()))];
                    view! { <Chips label=say::whose() choices=choices value=mine /> }
                })
        }}
        <For each=move || due.with(|due| general(app, due)) key=Row::clone children=Row::view />
        {move || {
            let n = due.with(|due| due.n_disagreements);
            (n > 0)
                .then(|| row(say::disagreements(n), say::disagreements_under().to_owned(), 0, n, Route::Disagreements))
        }}
        <For each=move || due.with(|due| due.places.iter().map(|at| at.place).collect::<Vec<_>>()) key=|at| *at let(at)>
            <AtPlace app=app due=due place=at />
        </For>
        <Show when=move || !no_bulbs()>
            <div class="grid2 gap-above">
                <a class="btn soft" href=Route::CarePlans.href()>{say::care_plans()}</a>
                <a class="btn soft" href=Route::Coming(None).href()>{say::coming()}</a>
                <a class="btn soft" href=Route::PlanBack(None).href()>{say::plan_back()}</a>
                <a class="btn soft" href=Route::Week.href()>{say::week_sheet()}</a>
                <a class="btn soft" href=Route::CalendarFile.href()>{say::calendar_file()}</a>
            </div>
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
                <span class="go" aria-hidden="true">"›"</span>
                <span class="grow"><b>{say::who_records()}</b></span>
            </a>
        </Show>
        <Show when=move || { !app.demo.get() && to_copy() >= say::COPY_AFTER }>
            <a class="row" href=Route::Files.href()>
                <span class="go" aria-hidden="true">"›"</span>
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
    move || {
        app.draft_keys()
            .into_iter()
            .filter_map(|key| Some((Route::parse_key(&key)?, key)))
            .map(|(route, key)| {
                let of = app.peek(|r| {
                    let subject = route.subject();
                    subject.map_or_else(String::new, |id| r.state.name_of(id).to_owned())
                });
                view! {
                    <a class="row" href=route.href()>
                        <span class="go" aria-hidden="true">"›"</span>
                        <span class="grow">
                            <b>{say::unfinished()}</b>
                            <br />
                            <span class="small">{say::unfinished_form(&key, &of)}</span>
                        </span>
                    </a>
                }
            })
            .collect_view()
    }
}

/// A job in the list: what it is, as it reads, and where a tap leads.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Row {
    at: JobAt,
    title: String,
    under: String,
    to: Route,
    /// The page of a job whose row leads elsewhere, where it can be put off.
    job: Option<Route>,
}

impl Row {
    fn new(app: App, at: &JobAt, to: Route, job: Option<Route>) -> Self {
        app.read(|r| Self {
            title: say::job(at, r.state),
            under: say::job_under(at, r.state, r.today),
            at: at.clone(),
            to,
            job,
        })
    }

    fn view(self) -> AnyView {
        let Self { at, title, under, to, job } = self;
        let put_off = say::put_off(&title);
        let row = row(title, under, at.over_days, at.bulbs.len(), to);
        match job {
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
}

fn general(app: App, due: &care::Due) -> Vec<Row> {
    let rows = due.general.iter().map(|at| {
        let to = match &at.job {
            Job::Deadline { run, .. } | Job::StartRun { run, .. } | Job::CloseRun { run } => Route::Run(*run),
            _ => Route::Places,
        };
        Row::new(app, at, to, None)
    });
    rows.collect()
}

/// The jobs of a place, or of bulbs that stand in none.
#[component]
fn AtPlace(app: App, due: Memo<care::Due>, place: Option<Id>) -> impl IntoView {
    let at = move || {
        due.with(|due| {
            let mut places = due.places.iter();
            places.find(|at| at.place == place).cloned()
        })
    };
    let name = move || match place {
        Some(place) => app.read(|r| r.state.name_of(place).to_owned()),
        None => say::no_place().to_owned(),
    };
    let under = move || match place {
        Some(place) => app.read(|r| {
            let row = r.state.place_row(place);
            row.map(|row| say::place_under(&row)).unwrap_or_default()
        }),
        None => at().map(|at| en::bulbs(at.n_bulbs)).unwrap_or_default(),
    };
    let rows = move || {
        let jobs = at().map(|at| at.jobs).unwrap_or_default();
        let rows = jobs.iter().map(|job| job_row(app, place, job));
        rows.collect::<Vec<_>>()
    };
    view! {
        <h2>{name} " " <span class="small">{under}</span></h2>
        <For each=rows key=Row::clone children=Row::view />
    }
}

fn job_row(app: App, place: Option<Id>, at: &JobAt) -> Row {
    let job = Route::Job(place, at.job.key().unwrap_or_default());
    let looks = at.job.is_look() || app.read(|r| care::plan::is_look(r.state, &at.job));
    let to = match (at.bulbs.as_slice(), place) {
        _ if !looks => return Row::new(app, at, job, None),
        ([bulb], _) => Route::Look(*bulb),
        (_, Some(place)) => Route::Walk(place),
        (_, None) => job.clone(),
    };
    Row::new(app, at, to, Some(job))
}

fn row(title: String, under: String, over_days: i64, n: usize, route: Route) -> impl IntoView {
    view! {
        <a class="row" href=route.href()>
            <span class="go" aria-hidden="true">"›"</span>
            <span class="grow">
                <b>{title}</b>
                <br />
                <span class="small">
                    {(over_days > 0).then(|| view! { <span class="over">{say::over(over_days)}</span> " · " })} {under}
                </span>
            </span>
            {(n > 0).then(|| view! { <span class="num">{n}</span> })}
        </a>
    }
}
