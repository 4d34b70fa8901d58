//! Practising to tell stalk from leaf: drawings first, then this nursery's own shoots, of which it is known what they
//! became. Nothing of it is recorded; how it went is kept on this device.

use bloomdue_core::call::practice::{Card, Example, cards, examples};
use bloomdue_core::ledger::body::ShootKind;
use bloomdue_words::call as say;
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::app;
use crate::device::{entropy, prefs};
use crate::parts::drawings;
use crate::parts::heading::Heading;
use crate::parts::photos::Picture;

/// What is kept on this device: guesses that were right, and all.
const SCORE: &str = "practice";

/// One thing to guess at.
#[derive(Clone, Debug, PartialEq)]
enum Guess {
    Drawing(Card),
    Photo(Example),
}

impl Guess {
    fn is_stalk(&self) -> bool {
        match self {
            Self::Drawing(card) => card.is_stalk,
            Self::Photo(example) => example.kind == ShootKind::Scape,
        }
    }
}

/// Guess, then see.
#[component]
pub(crate) fn Practice() -> impl IntoView {
    let app = app();
    let all = RwSignal::new(drawn(app));
    let at = RwSignal::new(0_usize);
    let guessed = RwSignal::new(None::<bool>);
    let score = RwSignal::new(kept());
    let now = Memo::new(move |_| all.with(|all| all.get(at.get()).cloned()));
    let tally = Signal::derive(move || {
        let (right, n) = score.get();
        if n == 0 { String::new() } else { say::practised(right, n) }
    });
    let guess = move |stalk: bool| {
        let Some(shown) = now.get_untracked() else { return };
        guessed.set(Some(stalk));
        score.update(|(right, n)| {
            *right += usize::from(shown.is_stalk() == stalk);
            *n += 1;
        });
        let (right, n) = score.get_untracked();
        prefs::set(SCORE, &format!("{right} {n}"));
    };
    let next = move |_| {
        guessed.set(None);
        at.update(|at| *at += 1);
    };
    let again = move |_| {
        all.set(drawn(app));
        at.set(0);
    };
    let no_photos = move || all.with(|all| !all.iter().any(|one| matches!(one, Guess::Photo(_))));
    view! {
        <Heading
            place=say::good_title()
            title=say::practice_title()
            under=say::practice_under().to_owned()
            tally=tally
            back=Route::Calls
        />
        {move || match now.get() {
            Some(shown) => {
                view! { <Shown shown=shown guessed=guessed /> }.into_any()
            }
            None => view! {
                <p class="say">{say::practice_done()}</p>
                <Show when=no_photos>
                    <p class="small">{say::no_photos()}</p>
                </Show>
            }
            .into_any(),
        }}
        <div class="act" class:pair=move || now.get().is_some() && guessed.get().is_none()>
            {move || match (now.get().is_some(), guessed.get()) {
                (true, None) => view! {
                    <button type="button" class="btn" on:click=move |_| guess(false)>{say::guess_leaf()}</button>
                    <button type="button" class="btn" on:click=move |_| guess(true)>{say::guess_stalk()}</button>
                }
                .into_any(),
                (true, Some(_)) => view! {
                    <button type="button" class="btn main" on:click=next>{say::next_one()}</button>
                }
                .into_any(),
                (false, _) => view! {
                    <button type="button" class="btn main" on:click=again>{say::practice_again()}</button>
                }
                .into_any(),
            }}
        </div>
    }
}

/// What is to be guessed at, and once guessed, what it is.
#[component]
fn Shown(shown: Guess, guessed: RwSignal<Option<bool>>) -> impl IntoView {
    let app = app();
    let (heading, picture) = match &shown {
        Guess::Drawing(card) => {
            let name = say::drawing_to_guess(card.view);
            (say::from_the_drawings(), drawings::drawing(card.sketch.clone(), 220, Some(name)).into_any())
        }
        Guess::Photo(example) => {
            let name = app.peek(|r| say::photo_to_guess(r.state.name_of(example.bulb)));
            let picture =
                view! { <Picture app=app hash=example.photo small=false media=example.media.clone() words=name /> };
            (say::from_own_photos(), picture.into_any())
        }
    };
    let is_stalk = shown.is_stalk();
    let tells = app.peek(|r| match &shown {
        Guess::Drawing(card) => say::drawing_tells(card.answer, card.is_stalk),
        Guess::Photo(example) => say::became(example.kind, r.state.name_of(example.bulb), example.taken_on, r.today),
    });
    view! {
        <p class="caps">{heading}</p>
        <h2>{say::what_is_it()}</h2>
        <div class="guess">{picture}</div>
        <div role="status" aria-live="polite">
            {move || guessed.get().map(|stalk| {
                view! {
                    <p class="say">{say::guessed(stalk == is_stalk)}</p>
                    <p>{tells.clone()}</p>
                }
            })}
        </div>
    }
}

/// Drawings, then photos, each in an order of its own.
fn drawn(app: crate::app::App) -> Vec<Guess> {
    let bytes = entropy::bytes32();
    let seed = u64::from_le_bytes(bytes[..8].try_into().unwrap_or_default());
    let photos = app.peek(|r| examples(r.ledger, r.state, seed));
    cards(seed).into_iter().map(Guess::Drawing).chain(photos.into_iter().map(Guess::Photo)).collect()
}

/// How it went on this device so far.
fn kept() -> (usize, usize) {
    let read = |text: String| {
        let (right, n) = text.split_once(' ')?;
        Some((right.parse().ok()?, n.parse().ok()?))
    };
    prefs::get(SCORE).and_then(read).unwrap_or_default()
}
