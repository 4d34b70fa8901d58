//! Above the bulb: how far one is, who stands beside it, and what ends the walk.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::course::Course;
use bloomdue_core::nursery::walk;
use bloomdue_core::record::Command;
use bloomdue_words::route::Route;
use bloomdue_words::walk as words;
use leptos::prelude::*;

use super::see::GoodLook;
use super::{Open, Walking};

/// More cells than this stand for several bulbs each, so that they never scroll.
const MOST_CELLS: usize = 60;

/// The top of a walk.
#[component]
pub(super) fn Top(walking: Walking) -> impl IntoView {
    let Walking { app, place, course, .. } = walking;
    let head = move || {
        let (ordinal, n) = course.with(|course| (course.ordinal, course.n_bulbs));
        app.read(|r| words::walk_head(r.state.name_of(place), ordinal, n))
    };
    view! {
        <div class="top">
            <div class="bar-top">
                <a class="wayback" href=Route::Place(place).href()>{words::leave()}</a>
                <span class="caps">{head}</span>
                <End walking=walking />
            </div>
            <Cells walking=walking />
            <Beside walking=walking />
        </div>
    }
}

/// One cell a bulb, full when it was looked at.
#[component]
fn Cells(walking: Walking) -> impl IntoView {
    let course = walking.course;
    let told = move || course.with(|course| words::done_of(course.n_done, course.n_asked()));
    let cells = move || {
        let cells = course.with(|course| course.cells(MOST_CELLS));
        cells
            .into_iter()
            .map(|cell| {
                let (full, part) = (cell.n_done == cell.n_bulbs, cell.n_done > 0);
                view! { <i class:full=full class:part=part && !full class:here=cell.here></i> }
            })
            .collect_view()
    };
    view! {
        <div class="cells" class:many=move || course.with(|course| course.n_bulbs > 30) role="img" aria-label=told>
            {cells}
        </div>
    }
}

/// The bulbs before and after, so that one sees whether one stands at the right pot; a tap goes there. While a bulb stays
/// for a second answer, that is said in their place.
#[component]
fn Beside(walking: Walking) -> impl IntoView {
    let stays = Memo::new(move |_| walking.opened() == Some(Open::Also));
    let beside = move |of: fn(&Course) -> Option<Id>| {
        let bulb = walking.course.with(of)?;
        walking.app.read(|r| r.state.bulb(&bulb).map(|known| (bulb, words::label(known))))
    };
    let before = Memo::new(move |_| beside(|course| course.before));
    let after = Memo::new(move |_| beside(|course| course.after));
    let link = move |(bulb, label): (Id, String), words: fn(&str) -> String, arrow: &'static str| {
        let name = words(&label);
        view! {
            <button type="button" class=arrow aria-label=name on:click=move |_| walking.go_to(bulb)>
                <span class="tag">{label}</span>
            </button>
        }
    };
    view! {
        <div class="nbrs" role="group" aria-label=words::beside()>
            <Show when=move || stays.get()>
                <p class="small">{words::stays_here()}</p>
            </Show>
            <Show when=move || !stays.get()>
                {move || before.get().map(|to| link(to, words::bulb_before, "before"))}
                {move || after.get().map(|to| link(to, words::bulb_after, "after"))}
            </Show>
        </div>
    }
}

/// What ends the walk, away from the thumb: one look each for all that are left.
#[component]
fn End(walking: Walking) -> impl IntoView {
    let Walking { app, place, given, .. } = walking;
    let n_left = Memo::new(move |_| walking.course.with(|course| course.n_asked() - course.n_done));
    let close = move |_| {
        if walking.free_at().is_none() {
            return;
        }
        let looks = app.peek(|r| given.with_untracked(|given| walk::others(r.state, place, r.today, given)));
        let n = looks.len();
        app.save_then(Command::Look { looks, on: None }, words::closed(n), move |entries| {
            let _ = given.try_update(|given| given.extend(entries.iter().map(|entry| entry.id)));
            wasm_bindgen_futures::spawn_local(walking.set_first_order());
        });
    };
    view! {
        <details class="end">
            <summary>{words::end()}</summary>
            <div class="end-panel stack">
                <Show when=move || { n_left.get() > 0 }>
                    <button type="button" class="btn" on:click=close>{move || words::all_others(n_left.get())}</button>
                </Show>
                <GoodLook />
            </div>
        </details>
    }
}
