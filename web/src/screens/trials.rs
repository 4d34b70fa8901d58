//! Trials: what is being asked, and how each try stands.

use bloomdue_core::trial::standing::{self, Standing};
use leptos::prelude::*;

use crate::app::{App, Records, app, route::Route};
use crate::parts::heading::Heading;
use crate::words::{plan, trials as say};

/// All trials with their tries.
#[component]
pub(crate) fn Trials() -> impl IntoView {
    let app = app();
    let rows = move || {
        app.read(|r| {
            let trials = r.state.trials_latest_first().into_iter();
            trials.map(|trial| one(r, trial)).collect_view()
        })
    };
    let none = move || app.read(|r| r.state.trials.is_empty());
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::trials()
        />
        <Show when=none>
            <p>{say::no_trials()}</p>
        </Show>
        <div class="grid2">
            <a class="btn main" href=Route::NewTrial.href()>{say::ask()}</a>
            <a class="btn" href=Route::PlanBack(None).href()>{plan::title()}</a>
        </div>
        {move || saved(app)}
        {rows}
    }
}

/// Plans that were saved and are still meant.
fn saved(app: App) -> impl IntoView {
    let rows: Vec<_> = app.read(|r| {
        let meant = r.state.plans_meant().into_iter();
        meant
            .map(|(id, forcing)| {
                view! {
                    <a class="row" href=Route::PlanBack(Some(id)).href()>
                        <span class="grow">
                            <b>{forcing.name.clone()}</b>
                            <br />
                            <span class="small">{plan::saved_under(forcing, r.today)}</span>
                        </span>
                        <span class="go" aria-hidden="true">"›"</span>
                    </a>
                }
            })
            .collect()
    });
    (!rows.is_empty()).then(|| view! { <h2>{plan::saved_plans()}</h2> {rows} })
}

fn one(r: Records<'_>, trial: bloomdue_core::ledger::id::Id) -> impl IntoView + use<> {
    let question = r.state.name_of(trial).to_owned();
    let runs = r
        .state
        .runs_of_trial(trial)
        .into_iter()
        .filter_map(|(id, run)| {
            let ordinal = run.body.shown()?.ordinal;
            let stands: Standing = standing::standing(r.ledger, r.state, id, r.today)?;
            let under = say::run_under(run, &stands, r.today);
            Some(view! {
                <a class="row" href=Route::Run(id).href()>
                    <span class="grow">
                        <b>{crate::words::en::ordinal_try(ordinal)}</b>
                        <br />
                        <span class="small">{under}</span>
                    </span>
                    <span class="go" aria-hidden="true">"›"</span>
                </a>
            })
        })
        .collect_view();
    view! {
        <h2><a class="line" href=Route::Trial(trial).href()>{question}</a></h2>
        {runs}
    }
}
