//! Stalk or leaf: one question at a time with drawings, what it leans to so far, when to look again.

use bloomdue_core::call::{self, Answered, Character, METHOD, Reading, Table, key, situation::situation};
use bloomdue_core::ledger::body::{Body, Call as Said, Proof, ShootKind};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, dates, records};
use leptos::prelude::*;

use crate::app::{App, Records, app};
use crate::parts::drawings;
use crate::parts::heading::Heading;
use crate::parts::records::taken_back_here;

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
                {move || reading.get().map(|reading| view! { <Leans reading=reading /> })}
                {move || match next.get() {
                    Some(character) => view! { <Question character=character answers=answers /> }.into_any(),
                    None => view! { <p>{say::all_asked()}</p> }.into_any(),
                }}
                <Answers answers=answers />
                {move || reading.get().map(|reading| view! { <Grounds app=app reading=reading /> })}
            }
            .into_any()
        }}
        <Prove app=app bulb=bulb shoot=shoot kind=kind />
        <a class="line" href=Route::Bulb(bulb).href()>{say::leave_it()}</a>
        <Show when=move || kind.get() == ShootKind::Unknown>
            <Keep app=app bulb=bulb shoot=shoot answers=answers skipped=skipped next=next reading=reading />
        </Show>
    }
}

/// What a shoot is known to be.
fn kind_of(r: Records<'_>, bulb: Id, shoot: Id) -> ShootKind {
    let shoots = r.state.bulb(&bulb).into_iter().flat_map(|known| &known.cycles);
    let mut shoots = shoots.flat_map(|cycle| &cycle.shoots);
    shoots.find(|known| known.id == shoot).map_or(ShootKind::Unknown, |known| known.kind)
}

#[component]
fn Question(character: Character, answers: RwSignal<Vec<Answered>>) -> impl IntoView {
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
        <p class="small">{how}</p>
        <p class="small">{say::how_far(character)}</p>
        <div class="grid2">{choices}</div>
    }
}

/// What it leans to, in words and on a bar from leaf to stalk.
#[component]
fn Leans(reading: Reading) -> impl IntoView {
    let x = 4 + 320 * reading.stalk_permille / 1000;
    let (from, to) = if x < 164 { (x, 164) } else { (164, x) };
    view! {
        <p class="say" role="status">{say::reading(&reading)}</p>
        <svg class="plot" viewBox="0 0 328 46" aria-hidden="true">
            <path class="bar" d="M4 16h320" />
            <path class="ln" d="M164 8v16" />
            <path class="bar lean" d=format!("M{from} 16H{to}") />
            <circle class="ln dot-full" cx=x cy="16" r="8" />
            <text x="4" y="42">{say::leaf()}</text>
            <text x="164" y="42" text-anchor="middle">{say::even()}</text>
            <text x="324" y="42" text-anchor="end">{say::stalk()}</text>
        </svg>
        <p class="small">{say::sure(reading.sure)}</p>
    }
}

/// What was answered; a tap takes an answer back, and its question is asked again.
#[component]
fn Answers(answers: RwSignal<Vec<Answered>>) -> impl IntoView {
    let rows = move || {
        answers
            .get()
            .into_iter()
            .enumerate()
            .map(|(at, (character, choice))| {
                let take_back = move |_| {
                    answers.update(|answers| {
                        answers.remove(at);
                    })
                };
                view! {
                    <button type="button" class="row" on:click=take_back>
                        <span class="name thin">{say::question(character).0}</span>
                        <span class="lead"></span>
                        <span class="soon">{say::choice(choice)}</span>
                    </button>
                }
            })
            .collect::<Vec<_>>()
    };
    view! {
        <Show when=move || answers.with(|answers| !answers.is_empty())>
            <h2>{say::so_far()}</h2>
            {rows}
            <p class="small">{say::take_answer_back()}</p>
        </Show>
    }
}

/// What it rests on, how earlier calls turned out, and when to look again.
#[component]
fn Grounds(app: App, reading: Reading) -> impl IntoView {
    let again = say::again(&dates::date_long(reading.again));
    let past = app.peek(|r| call::past_calls(r.ledger, r.state));
    view! {
        <p class="small">{again}</p>
        <p class="small">{say::past(past.n_right, past.n_proved)}</p>
    }
}

/// Keeping the call at any answer, and passing over a question.
#[component]
fn Keep(
    app: App,
    bulb: Id,
    shoot: Id,
    answers: RwSignal<Vec<Answered>>,
    skipped: RwSignal<Vec<Character>>,
    next: Memo<Option<Character>>,
    reading: Memo<Option<Reading>>,
) -> impl IntoView {
    let some = move || answers.with(|answers| !answers.is_empty());
    let asked = move || next.get().is_some();
    let skip = move |_| skipped.update(|skipped| skipped.extend(next.get_untracked()));
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
        app.save_then(command, say::call_kept(&label), move |_| app.done_to(&Route::Bulb(bulb)));
    };
    let both = move || asked() && some();
    view! {
        <Show when=move || asked() || some()>
            <div class="act" class:pair=both>
                <Show when=asked>
                    <button type="button" class="btn" on:click=skip>{say::cannot_tell()}</button>
                </Show>
                <Show when=some>
                    <button type="button" class="btn main" on:click=keep>{say::keep_call()}</button>
                </Show>
            </div>
        </Show>
    }
}

/// How it turned out: said, said otherwise, or taken back.
#[component]
fn Prove(app: App, bulb: Id, shoot: Id, kind: Memo<ShootKind>) -> impl IntoView {
    let prove = move |kind: ShootKind| {
        let command = Command::Link { about: bulb, body: Body::Proof(Proof { shoot, kind }) };
        app.save_then(command, say::proved(kind), move |_| app.done_to(&Route::Bulb(bulb)));
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
