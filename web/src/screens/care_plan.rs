//! Care plans: those there are, and the jobs of one of them with the usual ones ready to take.

use bloomdue_core::care::plan::{Contradiction, active, contradictions};
use bloomdue_core::care::usual_jobs::{USUAL, Usual};
use bloomdue_core::ledger::body::{Body, CareJob};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_words::route::Route;
use bloomdue_words::{common, due as say_due, jobs as say, plan as say_plan};
use leptos::prelude::*;

use crate::app::{App, Records, app};
use crate::parts::heading::Heading;

fn link(route: Route, title: String, under: String) -> impl IntoView {
    view! {
        <a class="row" href=route.href()>
            <span class="grow"><b>{title}</b> <br /> <span class="small">{under}</span></span>
        </a>
    }
}

/// What a care plan is for, in words.
fn subject_name(r: Records<'_>, subject: Id) -> String {
    if subject == r.ledger.id() {
        return say::whole_nursery().to_owned();
    }
    let run = r.state.runs.get(&subject).and_then(|run| run.body.shown());
    match run {
        Some(run) => format!("{} · {}", r.state.name_of(run.trial), common::ordinal_try(run.ordinal)),
        None => match r.state.name_of(subject) {
            "" => say_plan::title().to_owned(),
            name => name.to_owned(),
        },
    }
}

/// The nursery, its places, and the treatments of running tries, each with its care plan.
#[component]
pub(crate) fn CarePlans() -> impl IntoView {
    let app = app();
    let rows = move || {
        app.read(|r| {
            let places = r.state.place_rows().into_iter().map(|row| row.id);
            let open = r.state.runs.values().filter(|run| run.closed.is_none());
            let groups = open.filter_map(|run| run.allotment.shown());
            let groups = groups.flat_map(|allotment| allotment.groups.clone());
            let mut subjects = vec![r.ledger.id()];
            subjects.extend(places);
            for group in groups {
                if !subjects.contains(&group) {
                    subjects.push(group);
                }
            }
            let active = active(r.state);
            // A plan for something not in this list stays within reach.
            for (planned, ..) in &active {
                if !subjects.contains(&planned.subject) {
                    subjects.push(planned.subject);
                }
            }
            subjects
                .into_iter()
                .map(|subject| {
                    let jobs = active.iter().filter(|(planned, ..)| planned.subject == subject);
                    let titles: Vec<String> = jobs.map(|(_, job, _)| say_due::planned_title(job)).collect();
                    link(Route::CarePlan(subject), subject_name(r, subject), say::jobs_in_short(&titles))
                })
                .collect_view()
        })
    };
    view! {
        <Heading place=say_due::due_word() title=say_due::care_plans() under=say::plans_under() back=Route::Due />
        <Clashes app=app subject=None />
        {rows}
    }
}

/// Jobs that contradict each other: of one care plan, or of all.
#[component]
fn Clashes(app: App, subject: Option<Id>) -> impl IntoView {
    move || {
        app.read(|r| {
            let concerns = |found: &Contradiction| {
                subject.is_none_or(|subject| found.one.0 == subject || found.other.0 == subject)
            };
            let found = contradictions(r.state).into_iter().filter(concerns);
            found
                .map(|found| {
                    let of = |(subject, _): &(Id, String)| subject_name(r, *subject);
                    let text = say::clash(&found, r.state, &of(&found.one), &of(&found.other));
                    let to = Route::CareJob(found.one.0, found.one.1);
                    view! {
                        <p class="problem">{text} " " <a class="line" href=to.href()>{say::put_it_right()}</a></p>
                    }
                })
                .collect_view()
        })
    }
}

/// One care plan.
#[component]
pub(crate) fn CarePlan(subject: Id) -> impl IntoView {
    let app = app();
    let name = app.peek(|r| subject_name(r, subject));
    let rows = move || {
        app.read(|r| {
            let active = active(r.state).into_iter();
            let mine = active.filter(|(planned, ..)| planned.subject == subject);
            mine.map(|(planned, job, _)| {
                link(
                    Route::CareJob(subject, planned.slot.clone()),
                    say_due::planned_title(job),
                    say::job_in_short(job, r.state, r.today),
                )
            })
            .collect_view()
        })
    };
    let none = move || app.read(|r| !active(r.state).iter().any(|(planned, ..)| planned.subject == subject));
    let free = move || {
        app.read(|r| {
            let active = active(r.state);
            let taken = |usual: &Usual| {
                let mut mine = active.iter().filter(|(planned, ..)| planned.subject == subject);
                mine.any(|(planned, ..)| planned.slot == usual.key)
            };
            let usual = USUAL.iter().copied();
            usual.filter(|usual| !taken(usual)).collect::<Vec<_>>()
        })
    };
    let ready =
        move || free().into_iter().map(|usual| view! { <Ready app=app subject=subject usual=usual /> }).collect_view();
    let take_all = move |_| {
        if app.tap_counts() {
            let free = untrack(free);
            let said = say::taken_all(free.len());
            let take = |usual: Usual| take_usual(subject, usual);
            app.save(Command::Together(free.into_iter().map(take).collect()), said);
        }
    };
    let new = Route::CareJob(subject, String::new());
    view! {
        <Heading place=say_due::care_plans() title=name back=Route::CarePlans />
        <Clashes app=app subject=Some(subject) />
        <Show when=none>
            <p class="say">{say::no_jobs()}</p>
        </Show>
        {rows}
        <h2>{say::usual_jobs()}</h2>
        <p class="small">{say::usual_under()}</p>
        <Show when=move || { free().len() > 1 }>
            <button type="button" class="btn soft" on:click=take_all>{move || say::take_all(free().len())}</button>
        </Show>
        {ready}
        <div class="act">
            <a class="btn main" href=new.href()>{say::own_job()}</a>
        </div>
    }
}

/// A usual job with its words.
fn worded(usual: &Usual) -> CareJob {
    CareJob { words: say::usual_words(usual.key).to_owned(), ..usual.job() }
}

fn take_usual(subject: Id, usual: Usual) -> Command {
    Command::Set { subject, slot: usual.key.to_owned(), body: Body::CarePlan(worded(&usual)) }
}

/// A usual job that can be taken with one tap.
#[component]
fn Ready(app: App, subject: Id, usual: Usual) -> impl IntoView {
    let job = worded(&usual);
    let title = say::usual_title(usual.key, &job);
    let when = app.peek(|r| say::job_in_short(&job, r.state, r.today));
    let words = job.words.clone();
    let take_it = say::take(&title);
    let said = say::taken(&title);
    let take = move |_| {
        if app.tap_counts() {
            app.save(take_usual(subject, usual), said.clone());
        }
    };
    let shown = (words != title).then_some(words);
    view! {
        <div class="row">
            <span class="grow">
                <b>{title}</b>
                <br />
                <span class="small">{when}</span>
                {shown.map(|words| view! { <br /> <span class="small">{words}</span> })}
            </span>
            <button type="button" class="chip" aria-label=take_it on:click=take>{say::take_word()}</button>
        </div>
    }
}
