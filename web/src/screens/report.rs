//! The season report: a try, or a trial with all its tries, set for A4 in ink alone.

use bloomdue_core::ledger::Register;
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::trial::standing::{GroupStanding, Standing, standing};
use bloomdue_words::route::Route;
use bloomdue_words::{common, nursery, report as say, results, sheet, trials};
use leptos::prelude::*;

use super::{result, run, tries_result};
use crate::app::{App, Records, app};
use crate::device::screen;
use crate::parts::conditions::Conditions;
use crate::parts::plots::share::SharePlot;

/// The report of a run or a trial.
#[component]
pub(crate) fn Report(subject: Id) -> impl IntoView {
    let app = app();
    let (trial, runs, back) = app.peek(|r| {
        if subject.is(Noun::Trial) {
            let runs = r.state.runs_of_trial(subject).into_iter().map(|(id, _)| id);
            (Some(subject), runs.collect(), Route::Trial(subject))
        } else {
            let body = r.state.runs.get(&subject).and_then(|run| run.body.shown());
            let trial = body.map(|body| body.trial);
            (trial, vec![subject], Route::Run(subject))
        }
    });
    let several = subject.is(Noun::Trial);
    let pages: Vec<_> = runs.into_iter().map(|run| page(app, run)).collect();
    let front = trial.filter(|_| several).map(|trial| front(app, trial));
    view! {
        <div class="report">
            <div class="spread no-print">
                <button type="button" class="btn main" on:click=move |_| screen::print()>{say::print()}</button>
                <a class="line" href=back.href()>{say::back()}</a>
            </div>
            <p class="small no-print">{say::print_hint()}</p>
            {front}
            {pages}
        </div>
    }
}

fn head(r: Records<'_>) -> String {
    let nursery = r.state.name.shown().map_or("", String::as_str);
    say::head(nursery, r.today)
}

/// The first page of a trial: its question, its tries, a line each, and what they say together.
fn front(app: App, trial: Id) -> AnyView {
    let answer = tries_result::asked(app, trial);
    let (head, name, differs) = app.peek(|r| {
        let question = r.state.trials.get(&trial);
        let question = question.and_then(|trial| trial.question.shown());
        (head(r), r.state.name_of(trial).to_owned(), question.map(say::differs).unwrap_or_default())
    });
    let tries = move || {
        app.read(|r| {
            let tries = r.state.runs_of_trial(trial).into_iter();
            let tries = tries.filter_map(|(id, run)| {
                let stands = standing(r.ledger, r.state, id, r.today)?;
                let ordinal = common::ordinal_try(run.body.shown()?.ordinal);
                let said = trials::sentence(&stands, r.state, r.today);
                Some((say::when(&ordinal, run), said))
            });
            let tries = tries.map(|(when, said)| view! { <li><b>{when}</b> <br /> {said}</li> });
            tries.collect::<Vec<_>>()
        })
    };
    view! {
        <section class="report-page">
            <p class="caps">{head}</p>
            <h1 tabindex="-1" data-heading="">{name}</h1>
            <hr class="scotch" />
            <p>{differs}</p>
            {move || answer.get().flatten().map(|found| tries_result::paper(app, &found))}
            <h2>{say::tries()}</h2>
            <ul>{tries}</ul>
        </section>
    }
    .into_any()
}

/// One try.
fn page(app: App, run: Id) -> AnyView {
    let answer = result::asked(app, run);
    let head_of = move || {
        app.read(|r| {
            let known = r.state.runs.get(&run);
            let body = known.and_then(|run| run.body.shown());
            let ordinal = body.map_or_else(String::new, |body| common::ordinal_try(body.ordinal));
            let name = body.map_or("", |body| r.state.name_of(body.trial)).to_owned();
            let when = known.map(|run| say::when(&ordinal, run));
            (head(r), name, when.unwrap_or(ordinal))
        })
    };
    let body = move || match answer.get() {
        None => view! { <p class="small" role="status">{results::working_out()}</p> }.into_any(),
        Some(None) => view! { <p>{trials::no_such_try()}</p> }.into_any(),
        Some(Some(found)) => view! {
            {came_out(app, &found.standing)}
            {design(app, run, &found.standing)}
            {open(app, run, &found.standing)}
            {result::pictures(app, &found)}
            {how(app, run, &found.standing)}
            {every_one(&found.standing)}
        }
        .into_any(),
    };
    view! {
        <section class="report-page">
            {move || {
                let (head, name, when) = head_of();
                view! {
                    <p class="caps">{head}</p>
                    <h1 tabindex="-1" data-heading="">{name}</h1>
                    <p class="small">{when}</p>
                    <hr class="scotch" />
                }
            }}
            {body}
        </section>
    }
    .into_any()
}

/// The sentence, the picture, the counts.
fn came_out(app: App, stands: &Standing) -> AnyView {
    let (sentence, under, others) = app.peek(|r| {
        let others = stands.other_stages.iter();
        let others = others.map(|other| trials::other_stage(other, r.state));
        (
            trials::sentence(stands, r.state, r.today),
            trials::sentence_under(stands, r.state),
            others.collect::<Vec<_>>(),
        )
    });
    let lines = run::lines(stands);
    let of = app.peek(|r| {
        let body = r.state.runs.get(&stands.run).and_then(|run| run.body.shown());
        body.map_or_else(String::new, |body| common::ordinal_try(body.ordinal))
    });
    let others: Vec<_> = others.into_iter().map(|line| view! { <p class="small">{line}</p> }).collect();
    view! {
        <p class="say">{sentence}</p>
        <p class="small">{under}</p>
        <div class="report-pair">
            {(!lines.is_empty()).then(|| view! { <SharePlot lines=lines /> })}
            <run::Table groups=stands.groups.clone() of=of />
        </div>
        {others}
    }
    .into_any()
}

/// Groups, places, rule.
fn design(app: App, run: Id, stands: &Standing) -> AnyView {
    let (differs, rule, groups) = app.peek(|r| {
        let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
        let question = body.and_then(|body| r.state.trials.get(&body.trial));
        let question = question.and_then(|trial| trial.question.shown());
        let groups = stands.groups.iter().map(|group| {
            let treatment = r.state.groups.get(&group.group).and_then(Register::shown);
            (group.name.clone(), say::group(treatment, group.counts.all()))
        });
        (question.map(say::differs).unwrap_or_default(), trials::rule_line(stands, r.today), groups.collect::<Vec<_>>())
    });
    let stood = Conditions::of(app, run).map(|stood| view! { <h2>{nursery::light()}</h2> {stood.view()} });
    let groups: Vec<_> = groups.into_iter().map(|(name, what)| view! { <li><b>{name}</b> " · " {what}</li> }).collect();
    view! {
        <h2>{say::design()}</h2>
        <p>{differs}</p>
        <ul>{groups}</ul>
        {stood}
        <h2>{say::counted()}</h2>
        <p>{rule}</p>
    }
    .into_any()
}

/// What is not known, and what has to be known beside it.
fn open(app: App, run: Id, stands: &Standing) -> AnyView {
    let (open, notes) = app.peek(|r| {
        let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
        let n_tries = body.map_or(1, |body| r.state.runs_of_trial(body.trial).len());
        let notes = stands.notes.iter().map(|note| trials::note(note, r.state));
        (say::leaves_open(stands, r.state, n_tries), notes.collect::<Vec<_>>())
    });
    let list = |lines: Vec<String>| -> Vec<_> { lines.into_iter().map(|line| view! { <li>{line}</li> }).collect() };
    let any = !notes.is_empty();
    view! {
        <h2>{say::not_known()}</h2>
        <ul>{list(open)}</ul>
        {any.then(|| view! { <h2>{trials::to_know()}</h2> <ul>{list(notes)}</ul> })}
    }
    .into_any()
}

fn how(app: App, run: Id, stands: &Standing) -> AnyView {
    let lines = app.peek(|r| trials::how(r.state.runs.get(&run), stands));
    let lines: Vec<_> = lines.into_iter().map(|line| view! { <p class="small">{line}</p> }).collect();
    view! {
        <h2>{trials::how_worked_out()}</h2>
        {lines}
    }
    .into_any()
}

/// Every unit with its outcome, group by group.
fn every_one(stands: &Standing) -> AnyView {
    let known: Vec<&GroupStanding> = stands.groups.iter().filter(|g| !g.units.is_empty()).collect();
    if known.is_empty() {
        return ().into_any();
    }
    let groups: Vec<_> = known
        .into_iter()
        .map(|group| {
            let units = group.units.iter().map(|unit| {
                let seen = match unit.last_look {
                    Some(day) => say::date_full(day),
                    None => say::never().to_owned(),
                };
                view! {
                    <tr>
                        <th scope="row">{unit.label.clone()}</th>
                        <td>{trials::outcome_of(&unit.outcome)}</td>
                        <td class="num">{seen}</td>
                    </tr>
                }
            });
            let units: Vec<_> = units.collect();
            view! {
                <table>
                    <caption>{group.name.clone()}</caption>
                    <thead>
                        <tr>
                            <th scope="col">{sheet::bulb()}</th>
                            <th scope="col">{trials::outcome()}</th>
                            <th scope="col" class="num">{say::last_look()}</th>
                        </tr>
                    </thead>
                    <tbody>{units}</tbody>
                </table>
            }
        })
        .collect();
    view! {
        <h2>{say::every_one()}</h2>
        <div class="report-bulbs">{groups}</div>
    }
    .into_any()
}
