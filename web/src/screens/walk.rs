//! The walk: one bulb after another in bench order; one tap answers, saves and moves on.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::walk::{self, Answer};
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{App, Records, app, route::Route};
use crate::device::prefs;
use crate::words::en as say;

/// A walk through a place.
///
/// The order is that of the bench. A walk that was broken off on the same day goes on with the first bulb that has not
/// been looked at since it began.
#[component]
pub(crate) fn Walk(place: Id) -> impl IntoView {
    let app = app();
    let key = format!("walk {place}");
    let today = app.today.get_untracked();
    // Bulbs passed over with *later* come again at the end.
    let passed = RwSignal::new(Vec::<Id>::new());
    let keep = RwSignal::new(None::<Id>);
    let resumed = prefs::get(&key).is_some_and(|day| day == today.to_string());
    prefs::set(&key, &today.to_string());
    let course = Memo::new(move |_| {
        app.read(|r| walk::course(r.state, place, r.today, &passed.get(), keep.get()))
    });
    view! {
        <div class="walk">
            {move || {
                let course = course.get();
                match course.now {
                    Some(bulb) => {
                        view! { <Station app=app place=place bulb=bulb course=course passed=passed keep=keep /> }
                            .into_any()
                    }
                    None => view! { <Done place=place n=course.n_bulbs resumed=resumed /> }.into_any(),
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
    passed: RwSignal<Vec<Id>>,
    keep: RwSignal<Option<Id>>,
) -> impl IntoView {
    let busy = RwSignal::new(false);
    let seen = app.peek(|r| Seen::of(r, bulb));
    let label = seen.label.clone();
    let staying = keep.get_untracked() == Some(bulb);
    let give = {
        let label = label.clone();
        move |answer: Answer, stay: bool| {
            if busy.get_untracked() || !app.tap_counts() {
                return;
            }
            busy.set(true);
            let mut ids = app.moment().ids;
            let look = app.peek(|r| {
                r.state
                    .bulbs
                    .get(&bulb)
                    .map(|b| walk::look_for(answer, b, Some(place), &mut ids))
            });
            let Some(look) = look else { return };
            let text = say::walked(&label, answer);
            let command = Command::Look {
                looks: vec![(bulb, look)],
                on: None,
            };
            wasm_bindgen_futures::spawn_local(async move {
                let done = app.record(command).await;
                let _ = busy.try_set(false);
                match done {
                    Ok(entries) => {
                        app.say_saved(text, entries.iter().map(|entry| entry.id).collect());
                        let _ = keep.try_set(stay.then_some(bulb));
                    }
                    Err(why) => app.say(why),
                }
            });
        }
    };
    let answers = seen
        .answers
        .iter()
        .map(|answer| {
            let (answer, give) = (*answer, give.clone());
            view! {
                <button type="button" class="btn" on:click=move |_| give(answer, staying)>
                    {say::answer(answer)}
                </button>
            }
        })
        .collect_view();
    let pass = move |_| {
        keep.set(None);
        passed.update(|passed| passed.push(bulb));
    };
    let and_also = move |_| keep.set(Some(bulb));
    let n_left = course.n_bulbs - course.n_done;
    let close = move |_| {
        let others = app.peek(|r| walk::others(r.state, place, r.today));
        let n = others.len();
        app.save(
            Command::Look {
                looks: others,
                on: None,
            },
            say::closed(n),
        );
    };
    view! {
        <div class="spread">
            <span class="caps">{say::walk_head(&seen.place, course.n_done + 1, course.n_bulbs)}</span>
            <a class="line small" href=Route::Place(place).href()>{say::leave()}</a>
        </div>
        <Progress n_done=course.n_done n=course.n_bulbs />
        <h1 class="tag great" tabindex="-1" data-heading="">{label}</h1>
        <p class="small">{seen.under}</p>
        <div class="grid2">{answers}</div>
        <div class="grid2 gap-above">
            <a class="btn soft" href=Route::Look(bulb).href()>{say::look_closer()}</a>
            <Show
                when=move || !staying
                fallback=move || view! {
                    <button type="button" class="btn soft" on:click=move |_| keep.set(None)>{say::go_on()}</button>
                }
            >
                <button type="button" class="btn soft" on:click=and_also>{say::and_also()}</button>
            </Show>
            <a class="btn soft" href=Route::Care(bulb, None).href()>{say::trouble()}</a>
            <button type="button" class="btn soft" on:click=pass>{say::not_here()}</button>
        </div>
        <p class="small">{if staying { say::stays_here() } else { say::one_tap() }}</p>
        <Show when=move || { n_left > 1 }>
            <button type="button" class="btn soft wide" on:click=close>{say::all_others(n_left)}</button>
        </Show>
    }
}

/// What stands beside the answers.
struct Seen {
    label: String,
    place: String,
    under: String,
    answers: Vec<Answer>,
}

impl Seen {
    fn of(r: Records<'_>, bulb: Id) -> Self {
        let Some(known) = r.state.bulbs.get(&bulb) else {
            return Self {
                label: String::new(),
                place: String::new(),
                under: String::new(),
                answers: Vec::new(),
            };
        };
        Self {
            label: known.label().to_owned(),
            place: known
                .place
                .map(|place| r.state.name_of(place).to_owned())
                .unwrap_or_default(),
            under: say::walk_under(known, r.state, r.today),
            answers: walk::answers(known),
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
fn Done(place: Id, n: usize, resumed: bool) -> impl IntoView {
    view! {
        <h1 tabindex="-1" data-heading="">{say::walk_done()}</h1>
        <hr class="rule2" />
        <p class="say">{say::all_looked_at(n)}</p>
        {resumed.then(|| view! { <p class="small">{say::looked_today()}</p> })}
        <a class="btn main" href=Route::Place(place).href()>{say::back_to_place()}</a>
        <a class="btn soft gap-above" href=Route::Due.href()>{say::to_due()}</a>
    }
}
