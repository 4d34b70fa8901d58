//! The seam between the two parts of the program, and the one place where the app knows screens. What the first screens
//! and a save can do without is a part of its own, fetched right after the first screen and kept for offline use like
//! everything else. Whatever only the functions marked here use lands in that part.

// The marks expand to declarations of functions in another part, which Rust counts as unsafe.
#![allow(unsafe_code, reason = "expanded by wasm_split")]

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use bloomdue_core::calendar::Date;
use bloomdue_core::care::{DueAt, calendar_events, clock, plan};
use bloomdue_core::demo::{Demo, SCRIPT, generate};
use bloomdue_core::nursery::duplicates;
use bloomdue_words::route::Route;
use bloomdue_words::told::NotRecorded;
use bloomdue_words::{common as say, jobs, start};
use leptos::prelude::*;
use leptos::wasm_split::{SplitLoaderError, wasm_split};

use super::{App, app};
use crate::parts::foreseen::Foreseen;
use crate::parts::heading::Heading;
use crate::screens;
pub(crate) use crate::screens::{
    first::{Broken, First},
    unfinished::Unfinished,
};

/// How far the second part has come.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Coming,
    Here,
    /// Neither kept here yet nor to be reached.
    Missing,
}

thread_local! {
    static PART: ArcRwSignal<Part> = ArcRwSignal::new(Part::Coming);
}

fn part() -> ArcRwSignal<Part> {
    PART.with(Clone::clone)
}

/// Fetches the second part, once the first screen stands.
pub(crate) async fn load() {
    let part = part();
    part.set(Part::Coming);
    // Each function of the second part is called at once only after its own way there was made ready.
    let fetched = [fetch_second().await, fetch_planned().await, fetch_foreseen().await, fetch_stages().await];
    part.set(if fetched.iter().all(Result::is_ok) { Part::Here } else { Part::Missing });
}

/// The screen at an address: one of the first, or one of the second part as soon as that is here.
pub(crate) fn screen(route: &Route) -> AnyView {
    screens::first(route).unwrap_or_else(|| later(route.clone()))
}

/// Whether a screen is among the first, there as soon as the app is.
pub(crate) fn is_first(route: &Route) -> bool {
    screens::is_first(route)
}

fn later(route: Route) -> AnyView {
    let (part, app) = (part(), app());
    (move || match part.get() {
        Part::Here if route.needs_ledger() && !app.whole.get() => one_moment(),
        Part::Here => at_once(second_screen(route.clone())).unwrap_or_else(one_moment),
        Part::Coming => one_moment(),
        Part::Missing => view! {
            <Heading place="Bloomdue" title=start::not_here_yet() />
            {missing()}
        }
        .into_any(),
    })
    .into_any()
}

/// What stands where something of the second part will be: that it is coming, or how to get it.
pub(crate) fn waiting() -> AnyView {
    let part = part();
    (move || if part.get() == Part::Missing { missing() } else { one_moment() }).into_any()
}

/// Whether what is here now is all there will be until someone tries again.
pub(crate) fn is_missing() -> bool {
    part().get() == Part::Missing
}

fn one_moment() -> AnyView {
    view! { <p class="small" role="status">{say::coming()}</p> }.into_any()
}

fn missing() -> AnyView {
    let again = move |_| wasm_bindgen_futures::spawn_local(load());
    view! {
        <p class="problem">{start::part_missing()}</p>
        <button type="button" class="btn" on:click=again>{say::try_again()}</button>
    }
    .into_any()
}

/// What a call into the second part gives when that part is here already.
fn at_once<T>(call: impl Future<Output = Result<T, SplitLoaderError>>) -> Option<T> {
    match pin!(call).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(made) => made.ok(),
        Poll::Pending => None,
    }
}

#[wasm_split(second, wasm_split_path = leptos::wasm_split, preload(fetch_second), fallible)]
fn second_screen(route: Route) -> Result<AnyView, SplitLoaderError> {
    Ok(screens::later(route))
}

/// Hears what the page wants worked out and answers; for the thread beside the page.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn serve(thread: web_sys::DedicatedWorkerGlobalScope) -> Result<(), SplitLoaderError> {
    crate::device::work::serve(thread, bloomdue_words::work::too_large());
    Ok(())
}

/// Why something was not done.
pub(crate) struct Why(pub(crate) NotRecorded);

impl From<SplitLoaderError> for Why {
    fn from(_: SplitLoaderError) -> Self {
        Self(NotRecorded::PartMissing)
    }
}

impl From<bloomdue_core::error::Error> for Why {
    fn from(why: bloomdue_core::error::Error) -> Self {
        Self(why.into())
    }
}

/// The demo of a day.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn demo(today: Date) -> Result<Demo, Why> {
    Ok(generate(SCRIPT, today)?)
}

/// The forecast of the next due days for the top of Due; nothing while the second part is coming.
pub(crate) fn foreseen() -> AnyView {
    let part = part();
    (move || (part.get() == Part::Here).then(|| at_once(foreseen_now()))).into_any()
}

#[wasm_split(second, wasm_split_path = leptos::wasm_split, preload(fetch_foreseen), fallible)]
fn foreseen_now() -> Result<AnyView, SplitLoaderError> {
    Ok(view! { <Foreseen /> }.into_any())
}

/// The four stages of a bulb for the first start; nothing while the second part is coming.
pub(crate) fn stages() -> AnyView {
    let part = part();
    (move || (part.get() == Part::Here).then(|| at_once(stages_drawn()))).into_any()
}

#[wasm_split(second, wasm_split_path = leptos::wasm_split, preload(fetch_stages), fallible)]
fn stages_drawn() -> Result<AnyView, SplitLoaderError> {
    Ok(crate::parts::drawings::stages())
}

/// What care plans add to Due.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Planned {
    /// Their jobs, by place.
    pub(crate) places: Vec<DueAt>,
    /// Whether jobs contradict each other.
    pub(crate) clash: bool,
    /// What is odd about the device's day.
    pub(crate) clock: Option<clock::Clock>,
    /// How many acts two phones may both have written down.
    pub(crate) n_twice: usize,
    /// What comes after today, in a sentence.
    pub(crate) next: Option<String>,
}

/// What care plans make due; not known while the second part is coming.
pub(crate) fn planned(app: App) -> Option<Planned> {
    if part().get() != Part::Here {
        return None;
    }
    at_once(planned_now(app))
}

#[wasm_split(second, wasm_split_path = leptos::wasm_split, preload(fetch_planned), fallible)]
fn planned_now(app: App) -> Result<Planned, SplitLoaderError> {
    let whole = app.whole.get();
    Ok(app.read(|r| Planned {
        places: plan::planned(r.state, r.today),
        clash: !plan::contradictions(r.state).is_empty(),
        next: calendar_events::next(r.state, r.today)
            .map(|(day, next)| jobs::next(&jobs::occasion(&next, r.state), day, r.today)),
        clock: clock::clock(r.ledger, r.today).filter(|_| whole),
        n_twice: if whole { duplicates::acts(r.ledger).len() } else { 0 },
    }))
}
