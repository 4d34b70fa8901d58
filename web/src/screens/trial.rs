//! One trial: what its tries say, the tries with a mark a bulb, its groups, and the same again.

use bloomdue_core::ledger::Register;
use bloomdue_core::ledger::id::Id;
use bloomdue_words::route::Route;
use bloomdue_words::{over_tries, report, trials as say};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::heading::Heading;
use crate::parts::mark;
use crate::parts::tries::TryRow;
use crate::screens::tries_result;

/// One trial.
#[component]
pub(crate) fn Trial(trial: Id) -> impl IntoView {
    let app = app();
    let groups = move || {
        app.read(|r| {
            let question = r.state.trials.get(&trial).and_then(|trial| trial.question.shown());
            let ids = question.map(|question| question.groups.clone()).unwrap_or_default();
            ids.into_iter()
                .filter_map(|id| r.state.groups.get(&id).and_then(Register::shown).cloned())
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
    let tries = Memo::new(move |_| app.read(|r| TryRow::of_trial(r, trial)));
    let answer = tries_result::asked(app, trial);
    let together = move || {
        let found = answer.get().flatten()?;
        let any = found.tries.iter().any(|one| one.not_counted.is_none());
        let first = tries_result::sentences(app, &found).into_iter().next();
        any.then(|| view! { <p class="say">{first}</p> })
    };
    view! {
        <Heading
            place=say::trials()
            title=Signal::derive(move || app.read(|r| r.state.name_of(trial).to_owned()))
            back=Route::Trials
        />
        {together}
        <For each=move || tries.get() key=TryRow::clone children=move |one| one.view(app) />
        {move || tries.with(|tries| mark::legend(&TryRow::kinds(tries.iter())))}
        <a class="row" href=Route::TriesResult(trial).href()>
            <span class="name thin">{over_tries::title()}</span>
            <span class="lead"></span>
        </a>
        <a class="row" href=Route::Report(trial).href()>
            <span class="name thin">{report::title()}</span>
            <span class="lead"></span>
        </a>
        <h2>{say::groups_title()}</h2>
        <ul>{groups}</ul>
        <div class="act">
            <a class="btn main" href=Route::Again(trial).href()>{say::same_again()}</a>
        </div>
    }
}
