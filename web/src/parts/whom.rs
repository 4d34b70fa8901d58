//! For which bulbs, when and by whom, as a sentence: a tap on a part of it opens its fields below.

use std::collections::BTreeSet;

use bloomdue_core::error::Field;
use bloomdue_core::ledger::id::Id;
use bloomdue_words::care as say;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::App;
use crate::device::screen;
use crate::parts::field::{DayField, fresh_id};

/// A part that opens.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Bulbs,
    Day,
}

/// The sentence, and the fields of the part that is open.
#[component]
pub(crate) fn Whom(
    app: App,
    /// The bulbs offered, in the order in which they stand.
    bulbs: Vec<(Id, String)>,
    /// Those of them that are not meant.
    left_out: RwSignal<BTreeSet<Id>>,
    /// Whether bulbs are chosen here.
    #[prop(into)]
    several: Signal<bool>,
    /// `YYYY-MM-DD`.
    day: RwSignal<String>,
    /// What is wrong.
    problem: RwSignal<Option<Problem>>,
) -> impl IntoView {
    let n_bulbs = bulbs.len();
    let bulbs = StoredValue::new(bulbs);
    let part_name = StoredValue::new(fresh_id());
    // Where none is ticked, the list to tick stands open.
    let none = several.get_untracked() && left_out.with_untracked(|out| out.len() == n_bulbs);
    let open = RwSignal::new(none.then_some(Part::Bulbs));
    Effect::new(move |_| {
        if problem.with(|p| p.as_ref().is_some_and(|p| p.field == Some(Field::Date))) {
            open.set(Some(Part::Day));
        }
    });
    let button = move |part: Part, words: Signal<String>| {
        let is_open = move || open.get() == Some(part);
        let toggle = move |_| {
            open.update(|open| *open = (*open != Some(part)).then_some(part));
            request_animation_frame(move || part_name.with_value(|name| screen::bring_into_sight(name)));
        };
        view! {
            <button
                type="button"
                class="ed"
                aria-expanded=move || if is_open() { "true" } else { "false" }
                aria-controls=part_name.get_value()
                on:click=toggle
            >
                {words}
            </button>
        }
    };
    let which = Signal::derive(move || say::all_but(n_bulbs - left_out.with(BTreeSet::len), n_bulbs));
    let when = Signal::derive(move || say::on_day(&day.get(), app.today.get()));
    let who = move || {
        let known = app.who.get().map(|who| app.read(|r| r.state.name_of(who).to_owned()));
        known.unwrap_or_else(|| say::somebody().to_owned())
    };
    let part = move |part: Option<&'static str>| match part {
        Some("bulbs") => button(Part::Bulbs, which).into_any(),
        Some("day") => button(Part::Day, when).into_any(),
        Some(_) => view! { <a class="ed" href=Route::Who.href()>{who}</a> }.into_any(),
        None => ().into_any(),
    };
    let sentence = move || {
        let pieces = say::done_so(several.get()).into_iter();
        pieces.map(|(text, slot)| view! { {text} {part(slot)} }).collect::<Vec<_>>()
    };
    let max = app.today.get_untracked().to_string();
    let fields = move || {
        let part = open.get().filter(|part| *part == Part::Day || several.get())?;
        let fields = match part {
            Part::Bulbs => view! { <Ticks bulbs=bulbs.get_value() left_out=left_out /> }.into_any(),
            Part::Day => {
                view! { <DayField label=say::when() value=day max=max.clone() name=Field::Date problem=problem /> }
                    .into_any()
            }
        };
        Some(view! { <div class="asked">{fields}</div> })
    };
    view! {
        <p class="sentence">{sentence}</p>
        <div id=part_name.get_value()>{fields}</div>
    }
}

/// Forgets those that a draft left out and that are no longer offered: moved, died, or done elsewhere meanwhile.
pub(crate) fn only_offered(left_out: RwSignal<BTreeSet<Id>>, offered: &[(Id, String)]) {
    left_out.update(|out| out.retain(|id| offered.iter().any(|(known, _)| known == id)));
}

/// All are ticked; the exceptions are unticked.
#[component]
pub(crate) fn Ticks(bulbs: Vec<(Id, String)>, left_out: RwSignal<BTreeSet<Id>>) -> impl IntoView {
    let every: BTreeSet<Id> = bulbs.iter().map(|(id, _)| *id).collect();
    let rows = bulbs
        .into_iter()
        .map(|(id, label)| {
            let ticked = move || left_out.with(|out| !out.contains(&id));
            let toggle = move |_| {
                left_out.update(|out| {
                    if !out.remove(&id) {
                        out.insert(id);
                    }
                });
            };
            view! {
                <label class="choice">
                    <input type="checkbox" prop:checked=ticked on:change=toggle />
                    <b class="tag">{label}</b>
                </label>
            }
        })
        .collect_view();
    view! {
        <div class="chips">
            <button type="button" class="chip" on:click=move |_| left_out.set(BTreeSet::new())>{say::all()}</button>
            <button type="button" class="chip" on:click=move |_| left_out.set(every.clone())>{say::none()}</button>
        </div>
        <div class="ticks">{rows}</div>
    }
}
