//! What to try next for these days, and the way into a new try.

use std::sync::Arc;

use bloomdue_core::calendar::Date;
use bloomdue_core::plan::{NextTry, Plan, Wish, proposed};
use bloomdue_core::work::{Done, Task};
use bloomdue_words::form::trial::Proposal;
use bloomdue_words::route::Route;
use bloomdue_words::{coming, plan as say, trials};
use leptos::prelude::*;

use super::Page;
use crate::parts::fold::Behind;
use crate::parts::working::WorkShown;
use crate::screens::new_trial::propose;

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

fn asked(page: Page, pot_up: Option<Date>, wish: &Arc<Wish>) -> AnyView {
    let basis = page.basis.get_value();
    let work = page.app.work(Task::Choices {
        data: Box::new(basis.data.clone()),
        seed: basis.seed,
        wish: Box::new(Wish::clone(wish)),
        // What would be done anyway is what the plan is made with.
        control: wish.treatment,
    });
    let wish = Arc::clone(wish);
    let shown = move |done| {
        match done {
        Done::Choices(said) => match *said {
            Ok(next) => choices(page, pot_up, &next, &wish),
            Err(why) => {
                view! { <p class="problem">{bloomdue_words::common::sentence(&bloomdue_words::refusals::plan(why))}</p> }
                    .into_any()
            }
        },
        _ => ().into_any(),
    }
    };
    view! { <WorkShown work=work shown=shown /> }.into_any()
}

fn choices(page: Page, pot_up: Option<Date>, next: &NextTry, wish: &Arc<Wish>) -> AnyView {
    let basis = page.basis.get_value();
    let rows: Vec<_> = next
        .choices
        .iter()
        .map(|choice| {
            let title = say::choice(choice, &basis.data.treatments);
            view! {
                <li><b>{title}</b> <br /> <span class="small">{say::choice_under(choice, wish)}</span></li>
            }
        })
        .collect();
    let published = next.from_published.then(|| view! { <p>{coming::from_published()}</p> });
    let proposed = proposed(next, &basis.data, trials::ready_factor("rest"), trials::weeks_group);
    let wish = Arc::clone(wish);
    let make = move |_| {
        let form = page.form;
        let by_number = form.by_number.get_untracked() != 0;
        let bulbs = form.ticked.get_untracked().into_iter().filter(|_| !by_number);
        let name = form.name.get_untracked();
        let proposal = Proposal {
            question: say::question(&name),
            name,
            groups: proposed.clone(),
            bulbs: bulbs.collect(),
            window: wish.window,
            wanted: wish.stage,
            pot_up,
            now: wish.now,
            begun_in: page.draft.key(),
        };
        propose(page.app, proposal);
    };
    view! {
        {published}
        <ul class="stack">{rows}</ul>
        <button type="button" class="btn wide" on:click=make>{say::make_try()}</button>
    }
    .into_any()
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
