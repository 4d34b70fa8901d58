//! Which bulbs: by place and lot, all with exceptions; those in a running try cannot be chosen.

use std::collections::BTreeMap;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::choose::{Candidate, candidates};
use bloomdue_words::form::trial::{Chosen, How};
use bloomdue_words::{dates, formats, trials as say};
use leptos::prelude::*;

use super::{Onward, Step, Wizard};

#[component]
pub(super) fn Which(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let gone_too = RwSignal::new(plan.with_untracked(|plan| plan.gone_too));
    let toggle = move |_| {
        gone_too.update(|gone| *gone = !*gone);
        plan.update(|plan| {
            plan.gone_too = gone_too.get_untracked();
            if plan.gone_too {
                plan.how = How::Recorded;
            } else {
                let here = wizard.app.peek(|r| candidates(r.state, plan.counted, false));
                plan.chosen.retain(|chosen| here.iter().any(|c| c.unit == chosen.unit));
            }
        });
    };
    view! {
        {move || view! { <Choices wizard=wizard gone_too=gone_too.get() /> }}
        <button
            type="button"
            class="chip gap-above"
            aria-pressed=move || if gone_too.get() { "true" } else { "false" }
            on:click=toggle
        >
            {say::gone_too()}
        </button>
        <p class="small">{say::gone_too_hint()}</p>
        <Ways wizard=wizard />
    }
}

#[component]
fn Choices(wizard: Wizard, gone_too: bool) -> impl IntoView {
    let plan = wizard.plan;
    let (unit, first) = plan.with_untracked(|plan| (plan.counted, plan.chosen.is_empty()));
    let first = first && !gone_too;
    let found = wizard.app.peek(|r| candidates(r.state, unit, gone_too));
    let mut by_place: BTreeMap<String, Vec<Candidate>> = BTreeMap::new();
    for candidate in found {
        let place = candidate.place.map(|place| wizard.app.peek(|r| r.state.name_of(place).to_owned()));
        by_place.entry(say::place_and_lot(&place.unwrap_or_default(), &candidate.lot)).or_default().push(candidate);
    }
    // With one lot in one place there is nothing to choose between: all free bulbs of it are meant until one is taken out.
    if first && by_place.len() == 1 {
        for candidate in by_place.values().flatten().filter(|candidate| candidate.busy.is_none()) {
            choose(wizard, candidate, true);
        }
    }
    let none = by_place.is_empty();
    let places = by_place
        .into_iter()
        .map(|(place, found)| view! { <At wizard=wizard place=place found=found /> })
        .collect_view();
    view! {
        {none.then(|| view! { <p>{say::no_bulbs()}</p> })}
        {places}
    }
}

/// How many are chosen, and the ways on.
#[component]
fn Ways(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let n = Memo::new(move |_| plan.with(|plan| plan.chosen.len()));
    let by_counts = move |_| {
        plan.update(|plan| plan.how = How::Counts);
        wizard.to(Step::Lots);
    };
    let go_on = move |()| {
        plan.update(|plan| {
            if plan.how == How::Counts {
                plan.how = How::Draw;
            }
        });
        wizard.to(Step::Lots);
    };
    view! {
        <p class="say" role="status">{move || say::n_chosen(n.get())}</p>
        <button type="button" class="btn soft" on:click=by_counts>{say::counts_only()}</button>
        <Onward wizard=wizard words=say::next() go=go_on />
    }
}

fn choose(wizard: Wizard, candidate: &Candidate, yes: bool) {
    let unit = candidate.unit;
    let chosen = Chosen { unit, size_mm: candidate.size_mm, arm: None };
    wizard.plan.update(|plan| {
        plan.chosen.retain(|known| known.unit != unit);
        if yes {
            plan.chosen.push(chosen);
        }
    });
}

#[component]
fn At(wizard: Wizard, place: String, found: Vec<Candidate>) -> impl IntoView {
    let plan = wizard.plan;
    let free: Vec<Candidate> =
        found.iter().filter(|candidate| candidate.busy.is_none() && candidate.gone.is_none()).cloned().collect();
    let ids: Vec<Id> = free.iter().map(|candidate| candidate.unit).collect();
    let all = Memo::new(move |_| {
        plan.with(|plan| !ids.is_empty() && ids.iter().all(|id| plan.chosen.iter().any(|chosen| chosen.unit == *id)))
    });
    let n_free = free.len();
    let toggle = move |_| {
        let yes = !all.get_untracked();
        free.iter().for_each(|candidate| choose(wizard, candidate, yes));
    };
    let rows = found.into_iter().map(|candidate| view! { <One wizard=wizard candidate=candidate /> }).collect_view();
    view! {
        <h2>{place.clone()}</h2>
        <button
            type="button"
            class="chip"
            aria-pressed=move || if all.get() { "true" } else { "false" }
            on:click=toggle
        >
            {say::all_free(n_free)}
        </button>
        {rows}
    }
}

#[component]
fn One(wizard: Wizard, candidate: Candidate) -> impl IntoView {
    let unit = candidate.unit;
    let chosen = move || wizard.plan.with(|plan| plan.chosen.iter().any(|known| known.unit == unit));
    let mut under = vec![candidate.lot.clone()];
    if candidate.size_mm > 0 {
        under.push(formats::length(candidate.size_mm));
    }
    // What runs since does not matter to a try from a notebook.
    let busy = candidate.busy.is_some() && !wizard.plan.with_untracked(|plan| plan.gone_too);
    if let Some(since) = candidate.gone {
        under.push(wizard.app.peek(|r| say::gone_since(&dates::date_short(since, r.today))));
    }
    if busy {
        under.push(say::in_a_try().to_owned());
    }
    let label = candidate.label.clone();
    let toggle = move |_| {
        let yes = wizard.plan.with_untracked(|plan| plan.chosen.iter().all(|known| known.unit != unit));
        choose(wizard, &candidate, yes);
    };
    view! {
        <label class="row">
            <input type="checkbox" disabled=busy prop:checked=chosen on:change=toggle />
            <span class="grow"><b class="tag">{label}</b> " " <span class="small">{under.join(" · ")}</span></span>
        </label>
    }
}
