//! One trial: its question, its groups, its tries, and the same again.

use bloomdue_core::ledger::Field;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::standing;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::parts::heading::Heading;
use crate::screens::tries_result;
use crate::words::{en, over_tries, report, trials as say};

/// One trial.
#[component]
pub(crate) fn Trial(trial: Id) -> impl IntoView {
    let app = app();
    let groups = move || {
        app.read(|r| {
            let question = r.state.trials.get(&trial).and_then(|trial| trial.question.shown());
            let ids = question.map(|question| question.groups.clone()).unwrap_or_default();
            ids.into_iter()
                .filter_map(|id| r.state.groups.get(&id).and_then(Field::shown).cloned())
                .map(|treatment| {
                    view! {
                        <li>
                            <b>{treatment.name.clone()}</b>
                            {treatment.control.then(|| format!(" ({})", say::as_usual()))}
                        </li>
                    }
                })
                .collect_view()
        })
    };
    let runs = move || {
        app.read(|r| {
            r.state
                .runs_of_trial(trial)
                .into_iter()
                .filter_map(|(id, run)| {
                    let stands = standing::standing(r.ledger, r.state, id, r.today)?;
                    Some(view! {
                        <a class="row" href=Route::Run(id).href()>
                            <span class="grow">
                                <b>{en::ordinal_try(run.body.shown()?.ordinal)}</b>
                                <br />
                                <span class="small">{say::run_under(run, &stands, r.today)}</span>
                            </span>
                            <span class="go" aria-hidden="true">"›"</span>
                        </a>
                    })
                })
                .collect_view()
        })
    };
    let answer = tries_result::asked(app, trial);
    let together = move || {
        let found = answer.get().flatten()?;
        let any = found.tries.iter().any(|one| one.not_counted.is_none());
        let first = tries_result::sentences(app, &found).into_iter().next();
        Some(view! {
            {any.then(|| view! { <p class="say">{first}</p> })}
            <a class="btn soft" href=Route::TriesResult(trial).href()>{over_tries::all_they_say()}</a>
        })
    };
    view! {
        <Heading
            place=say::trials()
            title=Signal::derive(move || app.read(|r| r.state.name_of(trial).to_owned()))
            back=Route::Trials
        />
        {together}
        <h2>{say::groups_title()}</h2>
        <ul>{groups}</ul>
        <h2>{say::tries()}</h2>
        {runs}
        <a class="btn soft gap-above" href=Route::Again(trial).href()>{say::same_again()}</a>
        <a class="btn soft gap-above" href=Route::Report(trial).href()>{report::title()}</a>
    }
}
