//! How to spend the bulbs at hand for these days, the crop and the try, and the way into a new try.

use std::sync::Arc;

use bloomdue_core::calendar::Date;
use bloomdue_core::plan::spend::log::Said;
use bloomdue_core::plan::spend::{SEASONS, Spending};
use bloomdue_core::plan::{NextTry, Plan, Wish, proposed};
use bloomdue_core::work::{Done, Task};
use bloomdue_words::form::trial::Proposal;
use bloomdue_words::route::Route;
use bloomdue_words::{coming, common, plan as say, refusals, spend, trials};
use leptos::prelude::*;

use super::Page;
use crate::parts::field::Chips;
use crate::parts::fold::{Behind, Fold};
use crate::parts::plots::table::numbers;
use crate::parts::working::WorkShown;
use crate::screens::new_trial::propose;

/// Seasons that can be thought of.
const SEASONS_TO_CHOOSE: [u32; 5] = [1, 2, SEASONS, 5, 8];

/// The section; it is worked out when it is opened.
pub(super) fn section(page: Page, plan: &Plan, wish: &Wish) -> impl IntoView + use<> {
    let wish = Arc::new(wish.clone());
    let pot_up = plan.lots.first().map(|lot| lot.pot_up);
    view! {
        <h2>{say::next_title()}</h2>
        <p class="small">{say::next_hint()}</p>
        <Behind summary=say::next_ask()>{asked(page, pot_up, &wish)}</Behind>
        {again(page)}
    }
}

/// How many seasons to think of, and the answer to that.
fn asked(page: Page, pot_up: Option<Date>, wish: &Arc<Wish>) -> AnyView {
    let seasons = page.seasons;
    let choices = SEASONS_TO_CHOOSE.map(|n| (n, spend::seasons(n))).to_vec();
    let wish = Arc::clone(wish);
    let answer = move || {
        let basis = page.basis.get_value();
        let work = page.app.work(Task::Choices {
            data: Box::new(basis.data.clone()),
            seed: basis.seed,
            wish: Box::new(Wish::clone(&wish)),
            // What would be done anyway is what the plan is made with.
            control: wish.treatment,
            seasons: seasons.get(),
        });
        let wish = Arc::clone(&wish);
        let shown = move |done| match done {
            Done::Choices(said) => match *said {
                Ok(next) => spent(page, pot_up, &next, &wish),
                Err(why) => view! { <p class="problem">{common::sentence(&refusals::plan(why))}</p> }.into_any(),
            },
            _ => ().into_any(),
        };
        view! { <WorkShown work=work shown=shown /> }
    };
    view! {
        <Chips label=spend::seasons_ask() choices=choices value=seasons />
        {answer}
    }
    .into_any()
}

/// What is advised, the slider from all for now to all for learning, and what follows from where it stands.
fn spent(page: Page, pot_up: Option<Date>, next: &NextTry, wish: &Arc<Wish>) -> AnyView {
    let basis = page.basis.get_value();
    let names = Arc::new(spend::names(next, &basis.data.treatments));
    let spending = Arc::new(next.spending.clone());
    let at = RwSignal::new(spending.advised);
    let published = next.from_published.then(|| view! { <p>{coming::from_published()}</p> });
    let own_control =
        (spending.crop != spending.control).then(|| view! { <p class="small">{spend::own_control()}</p> });
    let looked_at: Vec<_> = next
        .choices
        .iter()
        .map(|choice| {
            let title = say::choice(choice, &basis.data.treatments);
            view! {
                <li><b>{title}</b> <br /> <span class="small">{say::choice_under(choice, wish)}</span></li>
            }
        })
        .collect();
    let (next, wish) = (Arc::new(next.clone()), Arc::clone(wish));
    view! {
        {published}
        <p class="say">{spend::go_on(&spending, &names)}</p>
        {slider(&spending, &names, at)}
        {own_control}
        {move || {
            let (next, wish) = (Arc::clone(&next), Arc::clone(&wish));
            let is_try = next.spending.splits.get(at.get()).is_some_and(|split| split.n_groups() > 1);
            is_try
                .then(|| {
                    let make = move |_| make_try(page, pot_up, &next, at.get_untracked(), &wish);
                    view! {
                        <p class="small">{spend::all_drawn()}</p>
                        <button type="button" class="btn wide" on:click=make>
                            {say::make_try()}
                        </button>
                    }
                })
        }}
        <Fold summary=spend::looked_at()>
            <ul class="stack">{looked_at}</ul>
        </Fold>
        <Fold summary=spend::how_title()>
            <p class="small">{spend::how()}</p>
            <p class="small">{spend::how_checked()}</p>
            {numbers(&spend::table(&spending))}
        </Fold>
    }
    .into_any()
}

/// Moves between the splits; under it what the one chosen costs, may bring, and gives to whom.
fn slider(spending: &Arc<Spending>, names: &Arc<Vec<String>>, at: RwSignal<usize>) -> AnyView {
    let last = spending.splits.len().saturating_sub(1);
    let of = {
        let spending = Arc::clone(spending);
        move || spending.splits.get(at.get()).cloned()
    };
    let (value, told, rows) = (of.clone(), of.clone(), of);
    let (for_value, for_told, for_rows) = (Arc::clone(spending), Arc::clone(spending), Arc::clone(spending));
    let value = move || value().map(|split| spend::slider_value(&split, &for_value)).unwrap_or_default();
    let shown = value.clone();
    let moved = move |event| {
        if let Ok(step) = event_target_value(&event).parse() {
            at.set(step);
        }
    };
    let told = move || {
        told().map(|split| {
            view! {
                <p role="status">{spend::costs(&split)}</p>
                <p class="small">{spend::enough(&split, &for_told)}</p>
            }
        })
    };
    let names = Arc::clone(names);
    let rows = move || {
        rows().map(|split| {
            let groups = spend::groups(&split, &for_rows, &names).into_iter();
            groups
                .map(|(title, under)| {
                    view! { <li><b>{title}</b> <br /> <span class="small">{under}</span></li> }
                })
                .collect::<Vec<_>>()
        })
    };
    let bar = (last > 0).then(|| {
        view! {
            <label class="slider">
                <span class="label">{spend::slider()}</span>
                <input
                    type="range"
                    min="0"
                    max=last.to_string()
                    step="1"
                    prop:value=move || at.get().to_string()
                    aria-valuetext=value
                    on:input=moved
                />
            </label>
            <p class="say" aria-hidden="true">{shown}</p>
        }
    });
    view! {
        {bar}
        {told}
        <ul class="stack">{rows}</ul>
    }
    .into_any()
}

/// Goes on to a new try of the groups of a split.
fn make_try(page: Page, pot_up: Option<Date>, next: &NextTry, at: usize, wish: &Wish) {
    let basis = page.basis.get_value();
    let chosen = next.clone().with_split(at);
    let groups = proposed(&chosen, &basis.data, trials::ready_factor("rest"), trials::weeks_group);
    let form = page.form;
    let by_number = form.by_number.get_untracked() != 0;
    let bulbs = form.ticked.get_untracked().into_iter().filter(|_| !by_number);
    let name = form.name.get_untracked();
    let proposal = Proposal {
        question: say::question(&name),
        name,
        groups,
        bulbs: bulbs.collect(),
        window: wish.window,
        wanted: wish.stage,
        pot_up,
        now: wish.now,
        begun_in: page.draft.key(),
        said: Said::of(next, at),
    };
    propose(page.app, proposal);
}

/// The same groups once more: trials that have a try.
fn again(page: Page) -> impl IntoView {
    let rows: Vec<_> = page.app.peek(|r| {
        let trials = r.state.trials_latest_first().into_iter();
        let tried = trials.filter(|trial| !r.state.runs_of_trial(*trial).is_empty());
        tried
            .take(3)
            .map(|trial| {
                let text = say::same_again(r.state.name_of(trial));
                view! { <a class="btn soft wide" href=Route::Again(trial).href()>{text}</a> }
            })
            .collect()
    });
    view! { <div class="stack gap-above">{rows}</div> }
}
