//! What is asked, as a sentence: a tap on a part of it opens its fields below.

use std::sync::Arc;

use bloomdue_core::error::Field;
use bloomdue_core::forecast::Wanted;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{Now, WAYS, ending, moved, starting_point, tried};
use bloomdue_words::plan::{Asked, Piece};
use bloomdue_words::{coming, plan as say};
use leptos::prelude::*;

use super::form::Basis;
use super::{Page, bulbs};
use crate::device::screen;
use crate::parts::field::{Chips, DayField, TextField};
use crate::parts::fold::Behind;
use crate::parts::holidays::Holidays;
use crate::screens::published;

const FIELDS: &str = "asked-fields";

/// The sentence, and the fields of the part that is open.
pub(super) fn sentence(page: Page) -> AnyView {
    let none_ticked = page.basis.with_value(|basis| basis.ticked.is_empty());
    let open = RwSignal::new(none_ticked.then_some(Asked::Bulbs));
    let said = Memo::new(move |_| say::asked(&page.form.typed(), page.app.today.get()));
    // The parts stay the same elements while their words change, so that the one tapped keeps the focus.
    let pieces = untrack(|| said.get()).into_iter().enumerate().map(|(at, piece)| match piece {
        Piece::Text(text) => text.into_any(),
        Piece::Ask(part, _) => {
            let words = move || {
                said.with(|pieces| match pieces.get(at) {
                    Some(Piece::Ask(_, words)) => words.clone(),
                    _ => String::new(),
                })
            };
            let is_open = move || open.get() == Some(part);
            let toggle = move |_| {
                open.update(|open| *open = (*open != Some(part)).then_some(part));
                request_animation_frame(|| screen::bring_into_sight(FIELDS));
            };
            view! {
                <button
                    type="button"
                    class="ed"
                    aria-expanded=move || if is_open() { "true" } else { "false" }
                    aria-controls=FIELDS
                    on:click=toggle
                >
                    {words}
                </button>
            }
            .into_any()
        }
    });
    let pieces: Vec<_> = pieces.collect();
    view! {
        <h2>{say::ask_title()}</h2>
        <p class="sentence">{pieces}</p>
        <div id=FIELDS>
            {move || open.get().map(|part| view! { <div class="asked">{fields(page, part)}</div> })}
        </div>
    }
    .into_any()
}

/// The fields of a part.
fn fields(page: Page, part: Asked) -> AnyView {
    let form = page.form;
    let basis = page.basis.get_value();
    match part {
        Asked::Bulbs => view! { {problem_at(page, Field::AtHand)} {hand(page, &basis)} }.into_any(),
        Asked::Stand => stand(page).into_any(),
        Asked::Rest => view! { {problem_at(page, Field::Rest)} {rest(page, &basis)} }.into_any(),
        Asked::Batches => {
            let batches = (1..=4).map(|n| (n, say::n_batches(n))).collect();
            view! { <Chips label=say::batches() choices=batches value=form.batches /> }.into_any()
        }
        Asked::Wanted => {
            let problem = Signal::derive(move || page.wish.with(|wish| wish.as_ref().err().cloned()));
            view! {
                <TextField label=say::at_least() value=form.wanted mode="numeric" name=Field::Wanted problem=problem />
            }
            .into_any()
        }
        Asked::Stage => {
            let stages = [coming::wanted(Wanted::FitToSell), coming::wanted(Wanted::InFlower)];
            let stages = stages.into_iter().zip(0..).map(|(words, at)| (at, words.to_owned()));
            view! { <Chips label=say::what_counts() choices=stages.collect() value=form.stage /> }.into_any()
        }
        Asked::Days => days(page),
        Asked::Sure => {
            let sure = [800, 900, 950].map(|permille| (permille, say::sure(permille).to_owned()));
            view! {
                <Chips label=say::how_sure() choices=sure.to_vec() value=form.sure_permille />
                {problem_at(page, Field::Sure)}
            }
            .into_any()
        }
    }
}

/// What is wrong with one field.
fn problem_at(page: Page, field: Field) -> impl IntoView {
    let text = move || {
        page.wish.with(|wish| {
            let why = wish.as_ref().err().filter(|why| why.field == Some(field))?;
            Some(why.text.clone())
        })
    };
    move || text().map(|text| view! { <p class="problem" role="alert">{text}</p> })
}

/// The days on which they are wanted.
pub(super) fn days(page: Page) -> AnyView {
    let form = page.form;
    let week = move || form.typed().window().ok().map(say::weeks);
    let shift = move |days: i64| {
        let tap = move |_| {
            if let Ok(window) = untrack(|| form.typed().window()) {
                form.set_window(moved(window, days));
            }
        };
        view! { <button type="button" class="chip" on:click=tap>{say::move_window(days)}</button> }
    };
    let before = Callback::new(move |last| {
        if let Ok(window) = untrack(|| form.typed().window()) {
            form.set_window(ending(window, last));
        }
    });
    view! {
        <div class="grid2">
            <DayField label=say::first_day() value=form.from />
            <DayField label=say::last_day() value=form.to />
        </div>
        <p class="small" role="status">{week}</p>
        {problem_at(page, Field::Window)}
        <div class="chips">{shift(-7)} {shift(7)}</div>
        <Holidays take=before />
    }
    .into_any()
}

fn hand(page: Page, basis: &Arc<Basis>) -> impl IntoView + use<> {
    let (app, form) = (page.app, page.form);
    let both = vec![(0, say::by_records().to_owned()), (1, say::by_number().to_owned())];
    let basis = Arc::clone(basis);
    let bulbs = move || match form.by_number.get() {
        0 => bulbs::lists(app, form, &basis.at_hand),
        _ => view! {
            <TextField label=say::n_at_hand() value=form.number mode="numeric" hint=say::n_at_hand_hint() />
        }
        .into_any(),
    };
    // What is ticked says how they stand; the grower may say otherwise after that.
    Effect::new(move |before: Option<()>| {
        let ids: Vec<Id> = form.ticked.with(|ticked| ticked.iter().copied().collect());
        if before.is_some() {
            match app.peek(|r| starting_point(r.state, &ids, r.today)).now {
                Now::RestingSince(since) => {
                    form.since.set(since.to_string());
                    form.resting.set(1);
                }
                Now::InLeaf => form.resting.set(0),
            }
        }
    });
    view! {
        <Chips label=say::which_bulbs() choices=both value=form.by_number />
        {bulbs}
    }
}

/// How they stand now.
fn stand(page: Page) -> impl IntoView {
    let (app, form) = (page.app, page.form);
    let now = vec![(0, say::in_leaf().to_owned()), (1, say::at_rest().to_owned())];
    let by_records = move || {
        let ids: Vec<Id> = form.ticked.with(|ticked| ticked.iter().copied().collect());
        let stands = app.peek(|r| starting_point(r.state, &ids, r.today));
        let mixed = form.by_number.get() == 0 && stands.n_resting > 0 && stands.n_in_leaf > 0;
        mixed.then(|| say::by_the_records(stands.n_in_leaf, stands.n_resting))
    };
    let since = move || (form.resting.get() == 1).then(|| view! { <DayField label=say::since() value=form.since /> });
    view! {
        <Chips label=say::how_now() choices=now value=form.resting />
        {since}
        {problem_at(page, Field::Since)}
        <p class="small">{by_records}</p>
    }
}

fn rest(page: Page, basis: &Arc<Basis>) -> impl IntoView + use<> {
    let form = page.form;
    let mut treatments = vec![(0, say::like_none().to_owned())];
    treatments.extend((1..).zip(basis.data.treatments.iter().cloned()));
    let has_treatments = treatments.len() > 1;
    // A treatment that was tried comes with its weeks of rest.
    let weeks_of = tried(&basis.data);
    Effect::new(move |before: Option<u32>| {
        let now = form.treatment.get();
        let at = now.checked_sub(1).filter(|_| before.is_some_and(|before| before != now));
        if let Some((_, weeks)) = at.and_then(|at| weeks_of.get(at as usize)) {
            form.weeks.set(weeks.to_string());
        }
        now
    });
    let mut lots = vec![(0, say::any_lot().to_owned())];
    page.app.peek(|r| {
        let names = basis.data.lots.iter().map(|lot| r.state.name_of(*lot).to_owned());
        lots.extend((1..).zip(names));
    });
    let has_lots = lots.len() > 1;
    let mut ways = vec![(0, say::own_way().to_owned())];
    ways.extend((1..).zip(WAYS.iter().map(|way| say::way(way.way).to_owned())));
    Effect::new(move |before: Option<u32>| {
        let now = form.way.get();
        let at = now.checked_sub(1).filter(|_| before.is_some_and(|before| before != now));
        if let Some(way) = at.and_then(|at| WAYS.get(at as usize)) {
            form.weeks.set(way.weeks.to_string());
            form.treatment.set(0);
        }
        now
    });
    view! {
        {has_treatments.then(|| view! { <Chips label=say::like_what() choices=treatments value=form.treatment /> })}
        <Chips label=say::rest_how() choices=ways value=form.way />
        <p class="small">{say::rest_hint()}</p>
        <Behind summary=say::what_is_published()>{published::ways()}</Behind>
        <TextField label=say::rest_weeks() value=form.weeks mode="numeric" />
        {has_lots.then(|| view! { <Chips label=say::which_lot() choices=lots value=form.lot /> })}
    }
}
