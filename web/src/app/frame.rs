//! The frame around every screen: the four places, the panes, the bar that says what was saved.

use bloomdue_words::route::{Room, Route};
use bloomdue_words::told::Gone;
use bloomdue_words::{common, files, start as say};
use leptos::prelude::*;

use super::{App, Phase, app, lazy};
use crate::device::update::Updates;
use crate::parts::field::{let_answer, way_to_mend};
use crate::parts::fold;
use crate::parts::icon::RoomIcon;

/// The whole app.
#[component]
pub(crate) fn Frame(app: App) -> impl IntoView {
    provide_context(app);
    let updates = Updates::start();
    provide_context(updates);
    // The screen's beginning takes the focus when it changes, but not when the app has just opened.
    Effect::new(move |before: Option<()>| {
        app.route.track();
        if before.is_some() {
            request_animation_frame(crate::device::screen::focus_beginning);
        }
    });
    view! {
        {move || match app.phase.get() {
            Phase::Broken(why) => view! { <lazy::Broken why=why /> }.into_any(),
            Phase::Unfinished(ledger) => view! { <lazy::Unfinished ledger=ledger /> }.into_any(),
            Phase::First if app.route.with(|route| *route == Route::TakeIn) => {
                view! { <main class="sheet">{move || {
                    app.units.track();
                    lazy::screen(&Route::TakeIn)
                }}</main> }.into_any()
            }
            Phase::First => view! { <lazy::First /> }.into_any(),
            Phase::Open => view! { <Open app=app /> }.into_any(),
        }}
        <SaidBar app=app />
    }
}

/// A screen, whose folds and fields are its own; drawn anew when numbers and days are to be written otherwise.
fn screen(app: App, route: &Route) -> AnyView {
    // Where the units are chosen nothing is shown in them, and the choice keeps the focus.
    if *route != Route::People {
        app.units.track();
    }
    fold::keep_open();
    let_answer();
    lazy::screen(route)
}

#[component]
fn Open(app: App) -> impl IntoView {
    let start = Memo::new(move |_| app.route.with(|route| *route == Route::Start));
    let whole = Memo::new(move |_| app.route.with(Route::is_whole_screen));
    let room = Memo::new(move |_| app.route.with(Route::room));
    move || {
        if start.get() {
            return view! { <lazy::First /> }.into_any();
        }
        if whole.get() {
            return view! { <main class="sheet">{move || screen(app, &app.route.get())}</main> }.into_any();
        }
        view! {
            <div class="shell">
                <Foot room=room />
                <Show when=move || app.wide.get() && app.route.with(|route| *route != route.room().route())>
                    <section class="pane back" aria-label=move || common::room(room.get())>
                        {move || screen(app, &room.get().route())}
                    </section>
                </Show>
                <main class="pane">
                    <Notices />
                    <DemoLine app=app />
                    {move || screen(app, &app.route.get())}
                </main>
            </div>
        }
        .into_any()
    }
}

#[component]
fn Foot(room: Memo<Room>) -> impl IntoView {
    let link = move |to: Room| {
        let here = move || room.get() == to;
        view! {
            <a href=to.route().href() class:here=here aria-current=move || here().then_some("page")>
                <RoomIcon room=to />
                {common::room(to)}
            </a>
        }
    };
    view! {
        <nav class="foot" aria-label=say::rooms()>
            {link(Room::Due)}
            {link(Room::Places)}
            {link(Room::Trials)}
            {link(Room::Files)}
        </nav>
    }
}

/// Marks the demo on every screen.
#[component]
fn DemoLine(app: App) -> impl IntoView {
    view! {
        <Show when=move || app.demo.get()>
            <p class="small demo">
                {say::demo_line()} " "
                <a class="line" href=Route::Start.href()>{say::to_own_nursery()}</a>
            </p>
        </Show>
    }
}

/// Strips above a screen: what this address or browser cannot do, and versions. Walks have none.
#[component]
pub(crate) fn Notices() -> impl IntoView {
    let app = app();
    let updates: Updates = expect_context();
    view! {
        {move || app.gone.get().map(|why| view! { <GoneLine why=why /> })}
        {move || {
            app.clock_outside
                .get()
                .map(|day| view! { <p class="problem" role="alert">{say::clock_outside(&day)}</p> })
        }}
        {move || {
            updates.refused.get().map(|why| view! { <p class="notice" role="status">{files::no_offline(&why)}</p> })
        }}
        <UpdateLine app=app updates=updates />
    }
}

/// This tab can no longer save; where the browser has cleared everything, the way to a file stands first.
#[component]
fn GoneLine(why: Gone) -> impl IntoView {
    let to_files = (why == Gone::Cleared).then(|| {
        view! { <a class="btn main" href=Route::Files.href()>{say::write_them_now()}</a> }
    });
    view! {
        <div class="problem stack" role="alert">
            <p>{say::gone(why)}</p>
            {to_files}
        </div>
    }
}

/// A next version waits for the grower's tap, or runs in another tab already.
#[component]
fn UpdateLine(app: App, updates: Updates) -> impl IntoView {
    view! {
        <Show when=move || updates.out_of_date.get()>
            <div class="undo" role="status">
                <span>{say::newer_elsewhere()}</span>
                <button type="button" on:click=move |_| updates.reload(app.keep_forms())>{say::reload()}</button>
            </div>
        </Show>
        <Show when=move || updates.waiting.get()>
            <div class="notice spread" role="status">
                <span>{say::new_version()}</span>
                <button type="button" class="btn soft" on:click=move |_| updates.accept(app.keep_forms())>
                    {say::use_it_now()}
                </button>
            </div>
        </Show>
    }
}

/// What was just saved, with a way back. A walk says it in a line of its own.
#[component]
fn SaidBar(app: App) -> impl IntoView {
    let in_walk = move || {
        let walking = app.route.with(|route| matches!(route, Route::Walk(_)));
        walking && app.phase.with(|phase| *phase == Phase::Open)
    };
    view! {
        <Show when=move || !in_walk()>
            <div class="said" role="status" aria-live="polite">
                {move || {
                    app.said.get().map(|said| {
                        let undo = !said.entries.is_empty();
                        view! {
                            <div class="undo">
                                <span>{said.text}</span>
                                {way_to_mend(said.mend)}
                                <Show when=move || undo>
                                    <button type="button" on:click=move |_| app.undo()>{common::undo()}</button>
                                </Show>
                            </div>
                        }
                    })
                }}
            </div>
        </Show>
    }
}
