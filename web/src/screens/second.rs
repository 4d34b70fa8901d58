//! What the first screens can do without: a part of the program of its own, fetched right after them and kept for
//! offline use like everything else. Whatever only the functions marked here use lands in that part.

// The marks expand to declarations of functions in another part, which Rust counts as unsafe.
#![allow(unsafe_code, reason = "expanded by wasm_split")]

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use bloomdue_core::calendar::Date;
use bloomdue_core::care::{DueAt, clock, occasions, plan};
use bloomdue_core::demo::{Demo, SCRIPT, generate};
use bloomdue_core::ledger::Ledger;
use bloomdue_core::ledger::entry::Draft;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::{State, twins};
use bloomdue_core::record::{Command, Moment, record};
use leptos::prelude::*;
use leptos::wasm_split::{SplitLoaderError, wasm_split};

use crate::app::{App, app, route::Route};
use crate::parts::heading::Heading;
use crate::words::{en as say, jobs};

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
    part.set(match (fetch_second().await, fetch_planned().await) {
        (Ok(()), Ok(())) => Part::Here,
        _ => Part::Missing,
    });
}

/// A screen of the second part: at once when it is here, else as soon as it is.
pub(crate) fn screen(route: Route) -> AnyView {
    let part = part();
    let app = app();
    (move || match part.get() {
        Part::Here if route.needs_ledger() && !app.whole.get() => {
            view! { <p class="small" role="status">{say::coming()}</p> }.into_any()
        }
        Part::Here => at_once(second_screen(route.clone())).unwrap_or_else(|| say::coming().into_any()),
        Part::Coming => view! { <p class="small" role="status">{say::coming()}</p> }.into_any(),
        Part::Missing => {
            let again = move |_| wasm_bindgen_futures::spawn_local(load());
            view! {
                <Heading place="Bloomdue" title=say::not_here_yet() />
                <p class="problem">{say::part_missing()}</p>
                <button type="button" class="btn" on:click=again>{say::try_again()}</button>
            }
            .into_any()
        }
    })
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
    Ok(super::later_screen(route))
}

/// Hears what the page wants worked out and answers; for the thread beside the page.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn serve(thread: web_sys::DedicatedWorkerGlobalScope) -> Result<(), SplitLoaderError> {
    crate::device::work::serve(thread, crate::words::work::too_large());
    Ok(())
}

/// Why something was not done: a sentence.
pub(crate) struct Why(pub(crate) String);

impl From<SplitLoaderError> for Why {
    fn from(_: SplitLoaderError) -> Self {
        Self(say::part_missing().to_owned())
    }
}

impl From<bloomdue_core::error::Error> for Why {
    fn from(why: bloomdue_core::error::Error) -> Self {
        Self(say::sentence(&why.to_string()))
    }
}

/// The demo of a day.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn demo(today: Date) -> Result<Demo, Why> {
    Ok(generate(SCRIPT, today)?)
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

/// What care plans make due; nothing yet while the second part is coming.
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
        next: occasions::next(r.state, r.today)
            .map(|(day, next)| jobs::next(&jobs::occasion(&next, r.state), day, r.today)),
        clock: clock::clock(r.ledger, r.today).filter(|_| whole),
        n_twice: if whole { twins::acts(r.ledger).len() } else { 0 },
    }))
}

/// Keeps the state for the next start.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn keep_state(app: App) -> Result<(), SplitLoaderError> {
    wasm_bindgen_futures::spawn_local(app.keep_state());
    Ok(())
}

/// What a command writes down, with the moment's ids that are left.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn drafts(app: App, command: Command, mut moment: Moment) -> Result<(Vec<Draft>, Moment), Why> {
    let drafts = app.peek(|r| record(command, r.ledger, r.state, &mut moment))?;
    Ok((drafts, moment))
}

/// Whether a nursery can be started so.
#[wasm_split(second, wasm_split_path = leptos::wasm_split, fallible)]
pub(crate) fn check_start(ledger: Id, command: Command, mut moment: Moment) -> Result<(), Why> {
    let empty = Ledger::new(ledger);
    record(command, &empty, &State::default(), &mut moment)?;
    Ok(())
}
