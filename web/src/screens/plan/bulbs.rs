//! Which bulbs are at hand: fit to force, at rest already, or lacking something.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{AtHand, Readiness};
use bloomdue_words::glossary::Term;
use bloomdue_words::plan as say;
use leptos::prelude::*;

use super::form::Form;
use crate::app::App;
use crate::parts::fold::Behind;
use crate::screens::words;

/// The lists with their boxes.
pub(super) fn lists(app: App, form: Form, at_hand: &AtHand) -> AnyView {
    let ids = |list: &[Readiness]| list.iter().map(|one| one.bulb).collect::<Vec<Id>>();
    let (ready, resting) = (ids(&at_hand.ready), ids(&at_hand.resting));
    let chips = [
        (say::all_ready(ready.len()), ready),
        (say::all_resting(resting.len()), resting),
        (say::tick_none().to_owned(), Vec::new()),
    ];
    let chips: Vec<_> = chips
        .into_iter()
        .map(|(words, bulbs)| {
            let tick = move |_| form.ticked.set(bulbs.iter().copied().collect());
            view! { <button type="button" class="chip" on:click=tick>{words}</button> }
        })
        .collect();
    let lists = [
        (say::fit_to_force(at_hand.ready.len()), &at_hand.ready),
        (say::resting(at_hand.resting.len()), &at_hand.resting),
        (say::not_ready(at_hand.not_ready.len()), &at_hand.not_ready),
    ];
    let lists: Vec<_> = lists
        .into_iter()
        .filter(|(_, list)| !list.is_empty())
        .map(|(title, list)| {
            let list = StoredValue::new(list.clone());
            view! {
                <Behind summary=title>
                    {list.with_value(|list| list.iter().map(|one| row(app, form, one)).collect::<Vec<_>>())}
                </Behind>
            }
        })
        .collect();
    let busy = at_hand.busy.len();
    view! {
        <div class="chips" role="group" aria-label=say::which_bulbs()>{chips}</div>
        <p role="status">{move || say::n_ticked(form.ticked.with(std::collections::BTreeSet::len))}</p>
        {lists}
        {(busy > 0).then(|| view! { <p class="small">{say::busy(busy)}</p> })}
        <p class="small">{say::readiness_hint()}</p>
        {words::link(Term::FitToForce)}
    }
    .into_any()
}

fn row(app: App, form: Form, one: &Readiness) -> AnyView {
    let bulb = one.bulb;
    let (label, place) = app.peek(|r| {
        let place = r.state.bulb(&bulb).and_then(|bulb| bulb.place);
        let place = place.map(|place| r.state.name_of(place).to_owned());
        (r.state.name_of(bulb).to_owned(), place)
    });
    let ticked = move || form.ticked.with(|ticked| ticked.contains(&bulb));
    let toggle = move |_| {
        form.ticked.update(|ticked| {
            if !ticked.remove(&bulb) {
                ticked.insert(bulb);
            }
        });
    };
    view! {
        <label class="row">
            <input type="checkbox" prop:checked=ticked on:change=toggle />
            <span class="grow">
                <b class="tag">{label}</b>
                " "
                <span class="small">{place}</span>
                <br />
                <span class="small">{say::bulb_under(one)}</span>
            </span>
        </label>
    }
    .into_any()
}
