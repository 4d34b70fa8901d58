//! Stalk or leaf: one question at a time with drawings, what it leans to so far, when to look again.

use bloomdue_core::call::{self, Answered, Character, METHOD, Reading, Table, key, situation::situation};
use bloomdue_core::ledger::body::{Body, Call as Said, Proof, ShootKind};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{App, Records, app, route::Route};
use crate::device::address;
use crate::parts::drawings;
use crate::parts::heading::Heading;
use crate::parts::records::taken_back_here;
use crate::words::{bulb as say, en, records};

/// A call on one shoot.
#[component]
pub(crate) fn Call(bulb: Id, shoot: Id) -> impl IntoView {
    let app = app();
    let answers = RwSignal::new(Vec::<Answered>::new());
    let skipped = RwSignal::new(Vec::<Character>::new());
    let ordinal = app.peek(|r| {
        let known = r.state.bulb(&bulb);
        known.and_then(|k| k.cycle().shoots.iter().find(|s| s.id == shoot).map(|s| s.ordinal)).unwrap_or(1)
    });
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let reading = Memo::new(move |_| {
        let answers = answers.get();
        app.read(|r| {
            let known = r.state.bulb(&bulb)?;
            let (_, situation) = situation(known, shoot, r.today)?;
            key::read(&Table::start(), &situation, &answers, r.today).ok()
        })
    });
    let next = Memo::new(move |_| {
        let (answers, skipped) = (answers.get(), skipped.get());
        app.read(|r| {
            let known = r.state.bulb(&bulb)?;
            let (_, situation) = situation(known, shoot, r.today)?;
            key::next_question_but(&Table::start(), &situation, &answers, &skipped)
        })
    });
    // What it turned out to be ends the questions; taken back, they are there again.
    let kind = Memo::new(move |_| app.read(|r| kind_of(r, bulb, shoot)));
    view! {
        <Heading place=say::call_place(&label, ordinal) title=say::is_it_a_stalk() back=Route::Bulb(bulb) />
        {move || {
            if kind.get() != ShootKind::Unknown {
                return view! { <p class="say">{say::known_as(kind.get())}</p> }.into_any();
            }
            view! {
                {move || match next.get() {
                    Some(character) => {
                        view! { <Question character=character answers=answers skipped=skipped /> }.into_any()
                    }
                    None => view! { <p>{say::all_asked()}</p> }.into_any(),
                }}
                <h2>{say::so_far()}</h2>
                {move || reading.get().map(|reading| view! { <SoFar app=app reading=reading /> })}
                <Keep app=app bulb=bulb shoot=shoot answers=answers reading=reading />
            }
            .into_any()
        }}
        <Prove app=app bulb=bulb shoot=shoot kind=kind />
    }
}

/// What a shoot is known to be.
fn kind_of(r: Records<'_>, bulb: Id, shoot: Id) -> ShootKind {
    let shoots = r.state.bulb(&bulb).into_iter().flat_map(|known| &known.cycles);
    let mut shoots = shoots.flat_map(|cycle| &cycle.shoots);
    shoots.find(|known| known.id == shoot).map_or(ShootKind::Unknown, |known| known.kind)
}

#[component]
fn Question(
    character: Character,
    answers: RwSignal<Vec<Answered>>,
    skipped: RwSignal<Vec<Character>>,
) -> impl IntoView {
    let (question, how) = say::question(character);
    let choices = character
        .choices()
        .iter()
        .map(|choice| {
            let choice = *choice;
            view! {
                <button
                    type="button"
                    class="btn tall"
                    on:click=move |_| answers.update(|answers| answers.push((character, choice)))
                >
                    {drawings::answer(choice, 130)}
                    {say::choice(choice)}
                </button>
            }
        })
        .collect_view();
    view! {
        <h2>{question}</h2>
        <p class="small">{how} " (" {say::certainty(character.certainty())} ")"</p>
        <div class="grid2">{choices}</div>
        <button
            type="button"
            class="btn soft gap-above"
            on:click=move |_| skipped.update(|skipped| skipped.push(character))
        >
            {say::cannot_tell()}
        </button>
    }
}

/// A bar from leaf to stalk with the chance on it, and the words.
#[component]
fn SoFar(app: App, reading: Reading) -> impl IntoView {
    let x = 4 + 320 * reading.stalk_permille / 1000;
    let (from, to) = if x < 164 { (x, 164) } else { (164, x) };
    let again = app.peek(|_| say::again(&en::date_long(reading.again)));
    let past = app.peek(|r| call::past_calls(r.ledger, r.state));
    view! {
        <svg class="plot" viewBox="0 0 328 46" aria-hidden="true">
            <path class="bar" d="M4 16h320" />
            <path class="ln" d="M164 8v16" />
            <path class="bar lean" d=format!("M{from} 16H{to}") />
            <circle class="ln dot-full" cx=x cy="16" r="8" />
            <text x="4" y="42">{say::leaf()}</text>
            <text x="164" y="42" text-anchor="middle">{say::even()}</text>
            <text x="324" y="42" text-anchor="end">{say::stalk()}</text>
        </svg>
        <p role="status"><b>{say::reading(&reading)}</b> " " {say::sure(reading.sure)}</p>
        <p class="small">{say::grade()} " " {say::past(past.n_right, past.n_proved)}</p>
        <p class="small">{again}</p>
    }
}

/// Keeping the call, or leaving it for later at any answer.
#[component]
fn Keep(
    app: App,
    bulb: Id,
    shoot: Id,
    answers: RwSignal<Vec<Answered>>,
    reading: Memo<Option<Reading>>,
) -> impl IntoView {
    let some = move || answers.with(|answers| !answers.is_empty());
    let keep = move |_| {
        let Some(reading) = reading.get_untracked() else {
            return;
        };
        let body = Body::Call(Said {
            shoot,
            answers: answers.with_untracked(|answers| key::recorded(answers)),
            scape_permille: reading.stalk_permille,
            method: METHOD.to_owned(),
            again: reading.again,
        });
        let label = app.peek(|r| r.state.name_of(bulb).to_owned());
        let command = Command::Observe { about: vec![bulb], body, on: None };
        app.save_then(command, say::call_kept(&label), move |_| address::replace(&Route::Bulb(bulb).to_string()));
    };
    view! {
        <div class="stack">
            <Show when=some>
                <button type="button" class="btn main" on:click=keep>{say::keep_call()}</button>
            </Show>
            <a class="btn soft" href=Route::Bulb(bulb).href()>{say::leave_it()}</a>
        </div>
    }
}

/// How it turned out: said, said otherwise, or taken back.
#[component]
fn Prove(app: App, bulb: Id, shoot: Id, kind: Memo<ShootKind>) -> impl IntoView {
    let prove = move |kind: ShootKind| {
        let command = Command::Link { about: bulb, body: Body::Proof(Proof { shoot, kind }) };
        app.save_then(command, say::proved(kind), move |_| address::replace(&Route::Bulb(bulb).to_string()));
    };
    let choices = move || {
        let known = kind.get();
        [ShootKind::Scape, ShootKind::Leaf]
            .into_iter()
            .filter(|kind| *kind != known)
            .map(|kind| {
                view! {
                    <button type="button" class="btn soft" on:click=move |_| prove(kind)>{say::proved(kind)}</button>
                }
            })
            .collect_view()
    };
    let proofs = move || {
        let proofs = app.read(|r| {
            let proofs = call::proofs_of(r.ledger, &r.state.register_of(bulb, "proof"), shoot).into_iter();
            proofs
                .map(|entry| {
                    let said = records::said(&entry.body, r.state);
                    (entry.id, said, records::under(entry, r.state, r.today, true))
                })
                .collect::<Vec<_>>()
        });
        taken_back_here(app, proofs)
    };
    view! {
        <h2>{say::it_turned_out()}</h2>
        {proofs}
        <div class="grid2">{choices}</div>
    }
}
