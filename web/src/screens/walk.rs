//! The walk: one bulb after another in bench order; one tap answers, saves and moves on.

mod not_here;

use bloomdue_core::ledger::body::{Act, ActKind, Body};
use bloomdue_core::ledger::id::{EntryId, Id};
use bloomdue_core::nursery::walk::{self, Answer};
use bloomdue_core::nursery::{bench, season};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{App, Records, app, route::Route};
use crate::device::{prefs, wake};
use crate::parts::drawings;
use crate::parts::photos::PhotoButton;
use crate::parts::season::{SeasonWords, season_strip};
use crate::words::{bulb as bulb_words, en as say, walk as words};
use not_here::NotHere;

/// A walk through a place.
///
/// The order is that of the bench. A walk that was broken off on the same day goes on with the first bulb that has not
/// been looked at since it began.
#[component]
pub(crate) fn Walk(place: Id) -> impl IntoView {
    let app = app();
    let key = format!("walk {place}");
    let today = app.today.get_untracked();
    let keep = RwSignal::new(None::<Id>);
    let given = RwSignal::new(Vec::<EntryId>::new());
    let resumed = prefs::get(&key).is_some_and(|day| day == today.to_string());
    prefs::set(&key, &today.to_string());
    let course = Memo::new(move |_| {
        let given = given.get();
        app.read(|r| walk::course(r.state, place, r.today, &given, keep.get()))
    });
    // The screen stays on while somebody walks.
    wake::hold();
    on_cleanup(wake::release);
    // The last answer stays at the foot for the length of the walk, and a while beyond it.
    on_cleanup(move || app.hide_later());
    view! {
        <div class="walk">
            {move || {
                let course = course.get();
                match course.now {
                    Some(bulb) => {
                        view! { <Station app=app place=place bulb=bulb course=course keep=keep given=given /> }.into_any()
                    }
                    None => view! { <Done app=app place=place n=course.n_bulbs resumed=resumed /> }.into_any(),
                }
            }}
        </div>
    }
}

#[component]
fn Station(
    app: App,
    place: Id,
    bulb: Id,
    course: walk::Course,
    keep: RwSignal<Option<Id>>,
    given: RwSignal<Vec<EntryId>>,
) -> impl IntoView {
    let gone = RwSignal::new(false);
    let seen = app.peek(|r| Seen::of(r, bulb));
    let label = StoredValue::new(seen.label.clone());
    let answers = StoredValue::new(seen.answers.clone());
    let fit = seen.may_be_fit;
    let n_left = course.n_bulbs - course.n_done;
    view! {
        <div class="spread">
            <span class="caps">{say::walk_head(&seen.place, course.n_done + 1, course.n_bulbs)}</span>
            <a class="line small" href=Route::Place(place).href()>{say::leave()}</a>
        </div>
        <Progress n_done=course.n_done n=course.n_bulbs />
        <Portrait app=app bulb=bulb label=seen.label under=seen.under />
        <Show
            when=move || !gone.get()
            fallback=move || {
                view! { <NotHere app=app place=place bulb=bulb label=label.get_value() gone=gone /> }
            }
        >
            <Answers app=app place=place bulb=bulb answers=answers.get_value() keep=keep given=given />
            <Beside app=app bulb=bulb fit=fit keep=keep gone=gone />
            <Others app=app place=place n_left=n_left given=given />
        </Show>
    }
}

/// The drawing, the tag, what is known of it, and its season.
#[component]
fn Portrait(app: App, bulb: Id, label: String, under: String) -> impl IntoView {
    let drawn = app.peek(|r| {
        let known = r.state.bulb(&bulb);
        known.map(|known| drawings::bulb_as_recorded(known, 76, None))
    });
    let strip = app.peek(|r| {
        let known = r.state.bulb(&bulb)?;
        let run = r.state.running(known).and_then(|run| r.state.runs.get(&run));
        let window = run.and_then(|run| run.window.settled());
        let strip = season::season(known, r.today, window);
        let due = window.map(|w| bulb_words::due(&say::date_short(w.to, r.today)));
        let words = SeasonWords {
            summary: bulb_words::season_summary(known, r.today),
            rest: bulb_words::rest().to_owned(),
            growth: bulb_words::growth().to_owned(),
            due: due.unwrap_or_default(),
        };
        Some(season_strip(&strip, words))
    });
    view! {
        <div class="portrait">
            {drawn}
            <div>
                <h1 class="tag great" tabindex="-1" data-heading="">{label}</h1>
                <p class="small">{under}</p>
            </div>
        </div>
        {strip}
    }
}

/// The answers that follow from what the bulb last showed; one tap saves and moves on.
#[component]
fn Answers(
    app: App,
    place: Id,
    bulb: Id,
    answers: Vec<Answer>,
    keep: RwSignal<Option<Id>>,
    given: RwSignal<Vec<EntryId>>,
) -> impl IntoView {
    let busy = RwSignal::new(false);
    let staying = move || keep.get() == Some(bulb);
    let give = move |answer: Answer| {
        if busy.get_untracked() || !app.tap_counts() {
            return;
        }
        let mut ids = app.moment().ids;
        let look = app.peek(|r| {
            let known = r.state.bulb(&bulb)?;
            Some(walk::look_for(answer, known, Some(place), &mut ids))
        });
        let Some(look) = look else { return };
        busy.set(true);
        // The bulb is kept for a second answer, and only for one.
        let first = app.peek(|r| given.with_untracked(|given| walk::is_open(r.state, bulb, r.today, given)));
        let stay = first && keep.get_untracked() == Some(bulb);
        let text = app.peek(|r| say::walked(r.state.name_of(bulb), answer));
        let command = Command::Look { looks: vec![(bulb, look)], on: None };
        wasm_bindgen_futures::spawn_local(async move {
            let done = app.record(command).await;
            let _ = busy.try_set(false);
            match done {
                Ok(entries) => {
                    let entries: Vec<EntryId> = entries.iter().map(|entry| entry.id).collect();
                    let _ = given.try_update(|given| given.extend(&entries));
                    app.say_saved(text, entries);
                    let _ = keep.try_set(stay.then_some(bulb));
                    set_first_order(app, place, given).await;
                }
                Err(why) => app.say(why),
            }
        });
    };
    let buttons = answers
        .into_iter()
        .map(|answer| {
            view! {
                <button type="button" class="btn" on:click=move |_| give(answer)>
                    {say::answer(answer)}
                </button>
            }
        })
        .collect_view();
    view! {
        <div class="grid2">{buttons}</div>
        <p class="small">{move || if staying() { say::stays_here() } else { say::one_tap() }}</p>
    }
}

/// At the end of a first walk the bench's order is kept as it was walked.
async fn set_first_order(app: App, place: Id, given: RwSignal<Vec<EntryId>>) {
    let given = given.try_get_untracked().unwrap_or_default();
    let order = app.peek(|r| {
        let ended = walk::course(r.state, place, r.today, &given, None).now.is_none();
        bench::first_order(r.state, place).filter(|_| ended)
    });
    if let Some(order) = order {
        let command = Command::Set { subject: place, slot: String::new(), body: Body::BenchOrder(order) };
        if let Err(why) = app.record(command).await {
            app.say(why);
        }
    }
}

/// What else there is to do at a bulb.
#[component]
fn Beside(app: App, bulb: Id, fit: bool, keep: RwSignal<Option<Id>>, gone: RwSignal<bool>) -> impl IntoView {
    let staying = move || keep.get() == Some(bulb);
    let fit = RwSignal::new(fit);
    let mark = move |_| {
        if !app.tap_counts() {
            return;
        }
        let text = app.peek(|r| words::marked_fit(r.state.name_of(bulb)));
        // Marked fit it still waits for its look.
        app.save_then(
            Command::Do { kind: ActKind::FitToSell, act: Act::default(), about: vec![bulb], on: None },
            text,
            move |_| {
                let _ = fit.try_set(false);
            },
        );
    };
    let photo_of = app.peek(|r| r.state.name_of(bulb).to_owned());
    view! {
        <div class="grid3">
            <PhotoButton app=app about=vec![bulb] label=photo_of at=Route::Bulb(bulb) words=words::photo() camera=true />
            <Show
                when=move || !staying()
                fallback=move || view! {
                    <button type="button" class="btn soft" on:click=move |_| keep.set(None)>{say::go_on()}</button>
                }
            >
                <button type="button" class="btn soft" on:click=move |_| keep.set(Some(bulb))>{say::and_also()}</button>
            </Show>
            <a class="btn soft" href=Route::Trouble(bulb, None).href()>{say::trouble()}</a>
            <button type="button" class="btn soft" on:click=move |_| gone.set(true)>{words::not_here()}</button>
            <a class="btn soft" href=Route::Look(bulb).href()>{words::closer()}</a>
            <Show when=move || fit.get()>
                <button type="button" class="btn soft" on:click=mark>{words::fit_to_sell()}</button>
            </Show>
        </div>
    }
}

/// One look each for all that are left.
#[component]
fn Others(app: App, place: Id, n_left: usize, given: RwSignal<Vec<EntryId>>) -> impl IntoView {
    let close = move |_| {
        if !app.tap_counts() {
            return;
        }
        let looks = app.peek(|r| given.with_untracked(|given| walk::others(r.state, place, r.today, given)));
        let n = looks.len();
        app.save_then(Command::Look { looks, on: None }, say::closed(n), move |entries| {
            let _ = given.try_update(|given| given.extend(entries.iter().map(|entry| entry.id)));
            wasm_bindgen_futures::spawn_local(set_first_order(app, place, given));
        });
    };
    (n_left > 1).then(|| {
        view! { <button type="button" class="btn soft wide small-words" on:click=close>{say::all_others(n_left)}</button> }
    })
}

/// What stands beside the answers.
struct Seen {
    label: String,
    place: String,
    under: String,
    answers: Vec<Answer>,
    /// A stalk is known, and the bulb is not marked yet.
    may_be_fit: bool,
}

impl Seen {
    fn of(r: Records<'_>, bulb: Id) -> Self {
        let Some(known) = r.state.bulb(&bulb) else {
            return Self {
                label: String::new(),
                place: String::new(),
                under: String::new(),
                answers: Vec::new(),
                may_be_fit: false,
            };
        };
        Self {
            label: known.label().to_owned(),
            place: known.place.map(|place| r.state.name_of(place).to_owned()).unwrap_or_default(),
            under: say::walk_under(known, r.state, r.today),
            answers: walk::answers(known),
            may_be_fit: known.cycle().fit.is_none() && known.cycle().furthest().is_some(),
        }
    }
}

#[component]
fn Progress(n_done: usize, n: usize) -> impl IntoView {
    view! {
        <progress max=n value=n_done aria-label=say::done_of(n_done, n)></progress>
    }
}

#[component]
fn Done(app: App, place: Id, n: usize, resumed: bool) -> impl IntoView {
    let news: Vec<(Id, String, String)> = app.peek(|r| {
        let news = walk::news(r.state, place, r.today).into_iter();
        news.map(|(bulb, look)| (bulb, r.state.name_of(bulb).to_owned(), say::look(look))).collect()
    });
    let none = news.is_empty();
    let rows = news
        .into_iter()
        .map(|(bulb, label, shown)| {
            view! {
                <a class="row" href=Route::Bulb(bulb).href()>
                    <span class="grow"><b class="tag">{label}</b> <br /> <span class="small">{shown}</span></span>
                    <span class="go" aria-hidden="true">"›"</span>
                </a>
            }
        })
        .collect_view();
    view! {
        <h1 tabindex="-1" data-heading="">{say::walk_done()}</h1>
        <hr class="rule2" />
        <p class="say">{say::all_looked_at(n)}</p>
        {resumed.then(|| view! { <p class="small">{say::looked_today()}</p> })}
        <h2>{words::new_today()}</h2>
        {none.then(|| view! { <p>{words::nothing_new()}</p> })}
        {rows}
        <a class="btn main gap-above" href=Route::Place(place).href()>{say::back_to_place()}</a>
        <a class="btn soft gap-above" href=Route::Due.href()>{say::to_due()}</a>
    }
}
