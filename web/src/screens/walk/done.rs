//! The end of a walk: what it found, what to see again and when, where to walk next.

use bloomdue_core::care::after_walk::{AfterWalk, Again, Ended, after_walk};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::State;
use bloomdue_words::route::Route;
use bloomdue_words::{acts, bulb as bulb_words, dates, walk as words};
use leptos::prelude::*;

use super::Walking;
use crate::app::Records;
use crate::device::{clock, screen};
use crate::parts::drawings;

/// More bulbs than this are not drawn one by one.
const MOST_DRAWN: usize = 80;

/// All were looked at.
#[component]
pub(super) fn Done(walking: Walking, resumed: bool) -> impl IntoView {
    let Walking { app, place, .. } = walking;
    // The bulb that had the focus is gone.
    request_animation_frame(screen::focus_beginning);
    let walked = walking.given.with_untracked(|given| !given.is_empty());
    let n_minutes = ((clock::ticks_ms() - walking.began_ms) / 60_000.0) as u32;
    let took = (walked && !resumed).then(|| words::took(n_minutes));
    view! {
        {move || {
            app.read(|r| {
                let after = after_walk(r.state, place, r.today);
                let head = r.state.name_of(place).to_owned();
                let day = [Some(dates::date_short(r.today, r.today)), took.clone()];
                let day = day.into_iter().flatten().collect::<Vec<_>>().join(", ");
                view! {
                    <div class="found">
                        <header class="head">
                            <p class="caps">{head} " · " {day}</p>
                            <h1 tabindex="-1" data-heading="">{words::all_looked_at(after.n_asked, after.bulbs.len())}</h1>
                        </header>
                        <hr class="scotch" />
                        {tiny(r.state, &after)}
                        {told(&after)}
                        {resumed.then(|| view! { <p class="small">{words::looked_today()}</p> })}
                        {news(r.state, &after)}
                        {after.ended.iter().map(|(kind, bulbs)| ended(r, *kind, bulbs)).collect_view()}
                        {again(r, &after.again)}
                        {after.next_walk.map(|on| view! { <p>{words::next_walk(on, r.today)}</p> })}
                        {next(r.state, place, after.next_place)}
                    </div>
                }
            })
        }}
    }
}

/// What it found, in one sentence; nothing where nothing was asked for and nothing ended.
fn told(after: &AfterWalk<'_>) -> Option<AnyView> {
    let n_ended: Vec<(Ended, usize)> = after.ended.iter().map(|(kind, bulbs)| (*kind, bulbs.len())).collect();
    let any = after.n_asked > 0 || !n_ended.is_empty();
    let said = || words::found(after.news.len(), after.n_as_before(), &n_ended);
    any.then(|| view! { <p class="say">{said()}</p> }.into_any())
}

/// The bulbs for which something ended, under its heading.
fn ended(r: Records<'_>, kind: Ended, bulbs: &[Id]) -> impl IntoView + use<> {
    let rows = bulbs.iter().filter_map(|id| {
        let known = r.state.bulb(id)?;
        Some(row(&Route::Bulb(*id), words::label(known), bulb_words::sentence(known, r.today)))
    });
    let rows = rows.collect_view();
    view! { <h2>{words::ended_heading(kind, bulbs.len())}</h2> {rows} }
}

/// Every bulb of the place as it is now, in bench order.
fn tiny(state: &State, after: &AfterWalk<'_>) -> Option<AnyView> {
    if after.bulbs.len() > MOST_DRAWN {
        return None;
    }
    let drawn = after.bulbs.iter().filter_map(|id| {
        let known = state.bulb(id)?;
        let new = after.news.iter().any(|(bulb, _)| bulb == id);
        Some(view! {
            <li class:new=new>{drawings::bulb_as_recorded(known, 30, Some(words::label(known)))}</li>
        })
    });
    Some(view! { <ul class="plain tiny">{drawn.collect_view()}</ul> }.into_any())
}

fn label(state: &State, bulb: Id) -> String {
    state.bulb(&bulb).map(words::label).unwrap_or_default()
}

fn row(to: &Route, label: String, what: String) -> impl IntoView + use<> {
    view! {
        <a class="row" href=to.href()>
            <span class="name tag">{label}</span>
            <span class="lead"></span>
            <span class="small">{what}</span>
        </a>
    }
}

fn news(state: &State, after: &AfterWalk<'_>) -> Option<AnyView> {
    let rows = after.news.iter().map(|(bulb, look)| row(&Route::Bulb(*bulb), label(state, *bulb), acts::look(look)));
    let rows = rows.collect_view();
    (!after.news.is_empty()).then(|| view! { <h2>{words::new_today()}</h2> {rows} }.into_any())
}

fn again(r: Records<'_>, again: &[Again]) -> Option<AnyView> {
    let rows = again.iter().map(|again| {
        let to = Route::Call(again.bulb, again.shoot);
        row(&to, label(r.state, again.bulb), words::again_on(again.on, r.today))
    });
    let rows = rows.collect_view();
    (!again.is_empty()).then(|| view! { <h2>{words::look_again()}</h2> {rows} }.into_any())
}

/// Where to go on.
fn next(state: &State, place: Id, next_place: Option<Id>) -> impl IntoView + use<> {
    let walk = next_place.map(|next| {
        view! { <a class="btn" href=Route::Walk(next).href()>{words::walk_place(state.name_of(next))}</a> }
    });
    view! {
        <div class="stack gap-above">
            {walk}
            <a class="btn" href=Route::Place(place).href()>{words::back_to_place()}</a>
            <a class="btn main" href=Route::Due.href()>{words::to_due()}</a>
        </div>
    }
}
