//! Trials: what is being asked, and how each try stands, a mark a bulb.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::sketch::{LeafShow, Pose, ShootShow};
use bloomdue_words::route::Route;
use bloomdue_words::{call, over_tries, plan, trials as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::drawings::bulb_side;
use crate::parts::heading::Heading;
use crate::parts::mark;
use crate::parts::tries::TryRow;

/// All trials with their tries.
#[component]
pub(crate) fn Trials() -> impl IntoView {
    let app = app();
    let asked = Memo::new(move |_| all(app));
    let plans = Memo::new(move |_| plans(app));
    let place = move || {
        asked.with(|asked| {
            let n_tries = asked.iter().map(|one| one.tries.len()).sum();
            if asked.is_empty() { String::new() } else { say::questions_and_tries(asked.len(), n_tries) }
        })
    };
    let none = move || asked.with(Vec::is_empty) && plans.with(Vec::is_empty);
    let kinds = Memo::new(move |_| asked.with(|asked| TryRow::kinds(asked.iter().flat_map(|one| &one.tries))));
    view! {
        <Heading place=Signal::derive(place) title=say::trials() />
        <Show when=none fallback=move || view! {
            <For each=move || asked.get() key=Asked::clone children=move |one| one.view(app) />
            <Plans plans=plans />
            {move || kinds.with(|kinds| (!kinds.is_empty()).then(|| mark::legend(kinds)))}
        }>
            <Nothing />
        </Show>
        <a class="row" href=Route::Calls.href()>
            <span class="name thin">{call::good_title()}</span>
            <span class="lead"></span>
        </a>
        <div class="act">
            <a class="btn main" href=Route::NewTrial.href()>{say::ask()}</a>
        </div>
    }
}

/// An invitation, while nothing was asked.
#[component]
fn Nothing() -> impl IntoView {
    let plain = Pose { leaves: LeafShow::Few, ..Pose::default() };
    let in_flower = Pose { leaves: LeafShow::Many, shoot: ShootShow::InFlower, resting: false };
    view! {
        <div class="empty">
            <div class="startrow">{bulb_side(plain, 60, None)} {bulb_side(in_flower, 60, None)}</div>
            <p class="say">{say::no_trials()}</p>
            <p>{say::no_trials_under()}</p>
        </div>
        <a class="row" href=Route::PlanBack(None).href()>
            <span class="name thin">{plan::title()}</span>
            <span class="lead"></span>
        </a>
    }
}

/// A question with its tries; also the key of its part of the list.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Asked {
    trial: Id,
    question: String,
    tries: Vec<TryRow>,
}

fn all(app: App) -> Vec<Asked> {
    app.read(|r| {
        let trials = r.state.trials_latest_first().into_iter();
        let asked = trials.map(|trial| Asked {
            trial,
            question: r.state.name_of(trial).to_owned(),
            tries: TryRow::of_trial(r, trial),
        });
        asked.collect()
    })
}

impl Asked {
    fn view(self, app: App) -> impl IntoView {
        let several = self.tries.len() > 1;
        let all_say = several.then(|| {
            view! {
                <a class="row" href=Route::TriesResult(self.trial).href()>
                    <span class="name thin">{over_tries::title()}</span>
                    <span class="lead"></span>
                </a>
            }
        });
        let tries: Vec<_> = self.tries.into_iter().map(|one| one.view(app)).collect();
        view! {
            <div class="place">
                <h2><a class="line" href=Route::Trial(self.trial).href()>{self.question}</a></h2>
            </div>
            {tries}
            {all_say}
        }
    }
}

/// A saved plan: its id, its name, its days and bulbs.
type Saved = (Id, String, String);

/// Plans that were saved and are still meant.
fn plans(app: App) -> Vec<Saved> {
    app.read(|r| {
        let meant = r.state.plans_meant().into_iter();
        meant.map(|(id, forcing)| (id, forcing.name.clone(), plan::saved_under(forcing, r.today))).collect()
    })
}

/// Saved plans, and the way to a new one.
#[component]
fn Plans(plans: Memo<Vec<Saved>>) -> impl IntoView {
    let row = |(id, name, under): Saved| {
        view! {
            <a class="row" href=Route::PlanBack(Some(id)).href()>
                <span class="grow">
                    <b>{name}</b>
                    <br />
                    <span class="small">{under}</span>
                </span>
            </a>
        }
    };
    view! {
        <Show when=move || plans.with(|plans| !plans.is_empty())>
            <div class="place">
                <h2>{plan::saved_plans()}</h2>
            </div>
        </Show>
        <For each=move || plans.get() key=Saved::clone children=row />
        <a class="row" href=Route::PlanBack(None).href()>
            <span class="name thin">{plan::title()}</span>
            <span class="lead"></span>
        </a>
    }
}
