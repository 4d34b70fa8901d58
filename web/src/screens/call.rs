//! Stalk or leaf: one question at a time with drawings, what it leans to so far, when to look again.

use bloomdue_core::call::situation::{
    expected_permille, grown, n_other_scapes, rises_on_photo, seen_already, situation,
};
use bloomdue_core::call::{self, Accuracy, Answered, Calls, Character, METHOD, Reading, Situation, Table, key};
use bloomdue_core::forecast::{self, Ask};
use bloomdue_core::ledger::body::{Body, Call as Said, Proof, ShootKind};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::knowledge::{self, Page};
use bloomdue_words::route::Route;
use bloomdue_words::{call as say, common, dates, records};
use leptos::prelude::*;

use crate::app::worker::{Work, Working};
use crate::app::{App, Records, app};
use crate::parts::drawings;
use crate::parts::field::Chips;
use crate::parts::fold::Behind;
use crate::parts::heading::Heading;
use crate::parts::plots::table::numbers;
use crate::parts::records::taken_back_here;

/// A call on one shoot.
#[component]
pub(crate) fn Call(bulb: Id, shoot: Id) -> impl IntoView {
    let app = app();
    let ordinal = app.peek(|r| {
        let known = r.state.bulb(&bulb);
        known.and_then(|k| k.cycle().shoots.iter().find(|s| s.id == shoot).map(|s| s.ordinal)).unwrap_or(1)
    });
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let calling = Calling::begin(app, bulb, shoot);
    // What it turned out to be ends the questions; taken back, they are there again.
    let kind = Memo::new(move |_| app.read(|r| kind_of(r, bulb, shoot)));
    view! {
        <Heading place=say::call_place(&label, ordinal) title=say::title() back=Route::Bulb(bulb) />
        {move || {
            if kind.get() != ShootKind::Unknown {
                return view! { <p class="say">{say::known_as(kind.get())}</p> }.into_any();
            }
            view! {
                <Leans calling=calling />
                {move || match calling.next.get() {
                    Some(character) => view! { <Question calling=calling character=character /> }.into_any(),
                    None => view! { <p>{say::nothing_more(calling.any_left())}</p> }.into_any(),
                }}
                <Answers calling=calling />
                <Grounds calling=calling />
            }
            .into_any()
        }}
        <Prove app=app bulb=bulb shoot=shoot kind=kind />
        <p class="no-print">
            <a class="line" href=Route::Calls.href()>{say::good_title()}</a>
            " · "
            <a class="line" href=Route::Practice.href()>{say::practice()}</a>
            " · "
            <a class="line" href=Route::Knowledge(Some(Page::StalkOrLeaf)).href()>{knowledge::heading(Page::StalkOrLeaf)}</a>
            " · "
            <a class="line" href=Route::Bulb(bulb).href()>{say::leave_it()}</a>
        </p>
        <Show when=move || kind.get() == ShootKind::Unknown>
            <Keep calling=calling />
        </Show>
    }
}

/// A call under way, which all parts of the screen share.
#[derive(Clone, Copy)]
struct Calling {
    app: App,
    bulb: Id,
    shoot: Id,
    answers: RwSignal<Vec<Answered>>,
    skipped: RwSignal<Vec<Character>>,
    /// Whose calls the weights are learned from; nothing for everyone's.
    who: RwSignal<Option<Id>>,
    observers: StoredValue<Vec<(Id, String)>>,
    /// How first calls turned out.
    accuracy: Accuracy,
    /// Whether it is known what is expected of the bulb; the chance waits for it.
    settled: Signal<bool>,
    table: Memo<Table>,
    situation: Memo<Option<Situation>>,
    reading: Memo<Option<Reading>>,
    next: Memo<Option<Character>>,
}

impl Calling {
    fn begin(app: App, bulb: Id, shoot: Id) -> Self {
        let (answers, skipped) = (RwSignal::new(Vec::<Answered>::new()), RwSignal::new(Vec::<Character>::new()));
        let who = RwSignal::new(None);
        // A call is of this moment: what others record meanwhile does not change the weights under the thumb.
        let (calls, observers, accuracy) = app.peek(|r| {
            let calls = Calls::of(r.ledger, r.state);
            let names = calls.observers().into_iter().map(|id| (id, r.state.name_of(id).to_owned())).collect();
            let accuracy = calls.accuracy(None);
            (StoredValue::new(calls), StoredValue::new(names), accuracy)
        });
        let table = Memo::new(move |_| calls.with_value(|calls| Table::learned(&calls.proved(who.get()))));
        let expected = expected(app, bulb, shoot);
        let situation = Memo::new(move |_| {
            let found =
                app.read(|r| situation(r.state.bulb(&bulb)?, shoot, r.today).map(|(_, situation)| situation))?;
            Some(Situation { expected_permille: expected.get().flatten(), ..found })
        });
        let reading = Memo::new(move |_| {
            let (situation, answers, skipped) = (situation.get()?, answers.get(), skipped.get());
            let today = app.read(|r| r.today);
            table.with(|table| call::read_but(table, &situation, &answers, &skipped, today)).ok()
        });
        let next = Memo::new(move |_| reading.with(|reading| reading.as_ref().and_then(|reading| reading.next)));
        let settled = Signal::derive(move || expected.with(Option::is_some));
        Self { app, bulb, shoot, answers, skipped, who, observers, accuracy, settled, table, situation, reading, next }
    }

    /// Whether a question is left that could be answered.
    fn any_left(self) -> bool {
        let known = |character: &Character| {
            self.answers.with(|answers| answers.iter().any(|(asked, _)| asked == character))
                || self.skipped.with(|skipped| skipped.contains(character))
        };
        let situation = self.situation.get().unwrap_or_default();
        Character::ALL.iter().any(|character| situation.allows(*character) && !known(character))
    }
}

/// The chance of a stalk before any answer, where a forecast speaks of the bulb; nothing while that is worked out.
fn expected(app: App, bulb: Id, shoot: Id) -> Signal<Option<Option<u32>>> {
    let data = app.peek(|r| forecast::gather(r.state, r.today));
    if !data.waiting().any(|at| data.courses[at].bulb == bulb) {
        return Signal::derive(|| Some(None));
    }
    let seed = data.seed();
    let work: Work = app.work(Task::Forecast { data: Box::new(data), seed, ask: Ask::default() });
    let found = Memo::new(move |_| match work.now() {
        Working::Going(_) => None,
        Working::Done(Done::Forecast(outlook)) => {
            let of_bulb = outlook.bulbs.iter().find(|one| one.bulb == bulb);
            Some(app.peek(|r| expected_permille(r.state.bulb(&bulb)?, shoot, of_bulb?)))
        }
        _ => Some(None),
    });
    found.into()
}

/// What a shoot is known to be.
fn kind_of(r: Records<'_>, bulb: Id, shoot: Id) -> ShootKind {
    let shoots = r.state.bulb(&bulb).into_iter().flat_map(|known| &known.cycles);
    let mut shoots = shoots.flat_map(|cycle| &cycle.shoots);
    shoots.find(|known| known.id == shoot).map_or(ShootKind::Unknown, |known| known.kind)
}

#[component]
fn Question(calling: Calling, character: Character) -> impl IntoView {
    let (question, how) = say::question(character);
    let Calling { app, bulb, shoot, answers, .. } = calling;
    let known = app.peek(|r| r.state.bulb(&bulb).map(|known| seen_already(known, shoot)).unwrap_or_default());
    // What the records say of it in numbers.
    let numbers = app.peek(|r| {
        let known = r.state.bulb(&bulb)?;
        match character {
            Character::Growth => grown(known, shoot).map(say::grown),
            Character::Scapes => known.circumference_mm.map(|mm| say::size_bears(mm, n_other_scapes(known, shoot))),
            _ => None,
        }
    });
    // Where it rises can be marked on a photo of the neck, which then gives the answer.
    let on_photo = app.peek(|r| {
        let known = r.state.bulb(&bulb).filter(|_| character == Character::Rise)?;
        rises_on_photo(r.ledger, known, shoot)
    });
    let photo_says = on_photo.as_ref().map(|(found, _)| say::rises_on_photo(found.index, found.rise));
    let mark_it = app.peek(|r| {
        let photo = r.state.bulb(&bulb)?.photos.last().filter(|_| character == Character::Rise)?;
        Some(Route::Measure(bulb, photo.entry).href())
    });
    let choices = character
        .choices()
        .iter()
        .map(|choice| {
            let choice = *choice;
            let seen = known.contains(&(character, choice));
            let marked = on_photo.as_ref().is_some_and(|(_, says)| *says == Some(choice));
            view! {
                <button
                    type="button"
                    class="btn tall"
                    class:seen-already=seen || marked
                    on:click=move |_| answers.update(|answers| answers.push((character, choice)))
                >
                    {seen.then(|| view! { <i class="small">{say::your_looks()}</i> })}
                    {marked.then(|| view! { <i class="small">{say::on_the_photo()}</i> })}
                    <span class="views">
                        {drawings::answer(choice, 78)} {drawings::answer_from_other_side(choice, 46)}
                    </span>
                    {say::choice(choice)}
                </button>
            }
        })
        .collect_view();
    view! {
        <h2>{question}</h2>
        <p class="small">{how}</p>
        {numbers.or(photo_says).map(|numbers| view! { <p class="small">{numbers}</p> })}
        <div class="grid2">{choices}</div>
        <p class="small"><i>{say::how_far(character)}</i></p>
        {mark_it.map(|to| view! { <a class="line" href=to>{say::mark_it()}</a> })}
    }
}

/// What it leans to, in words and as a range from leaf to stalk.
#[component]
fn Leans(calling: Calling) -> impl IntoView {
    // A chance that jumps once the forecast is there would be read as another.
    let reading = move || calling.reading.get().filter(|_| calling.settled.get());
    let words = move || reading().map_or_else(|| common::coming().to_owned(), |reading| say::reading(&reading));
    let sure = move || reading().map(|reading| say::sure(reading.sure));
    let at = |permille: u32| 4 + 320 * permille / 1000;
    let range = move || {
        reading().map(|reading| {
            let (low, high) = reading.range_permille;
            let (from, to, x) = (at(low), at(high), at(reading.stalk_permille));
            view! {
                <path class="bar lean" d=format!("M{from} 16H{to}") />
                <circle class="ln fl" cx=x cy="16" r="8" />
            }
        })
    };
    view! {
        <p class="say" role="status">{words}</p>
        <svg class="plot" viewBox="0 0 328 46" aria-hidden="true">
            <path class="bar" d="M4 16h320" />
            <path class="ln" d="M164 8v16" />
            {range}
            <text x="4" y="42">{say::surely_leaf()}</text>
            <text x="164" y="42" text-anchor="middle">{say::even()}</text>
            <text x="324" y="42" text-anchor="end">{say::surely_stalk()}</text>
        </svg>
        <p class="small">{sure}</p>
    }
}

/// What was answered; a tap takes an answer back, and its question is asked again.
#[component]
fn Answers(calling: Calling) -> impl IntoView {
    let answers = calling.answers;
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

/// When to look again, how earlier calls turned out, what would settle it, and what all of it rests on.
#[component]
fn Grounds(calling: Calling) -> impl IntoView {
    let again = move || calling.reading.with(|reading| reading.as_ref().map(|reading| reading.again));
    let again = move || again().map(|day| say::again(&dates::date_long(day)));
    let past = say::past(calling.accuracy.n_right(), calling.accuracy.n_proved());
    let settled = move || {
        let settled_by = calling.reading.with(|reading| reading.as_ref().map(|reading| reading.settled_by.clone()));
        let answers = settled_by.unwrap_or_default().into_iter();
        answers.map(|answered| view! { <li>{say::would_settle(answered)}</li> }).collect_view()
    };
    let of_people = calling.observers.get_value();
    let whose = (of_people.len() > 1).then(|| {
        let all = std::iter::once((None, say::everyone().to_owned()));
        let choices = all.chain(of_people.into_iter().map(|(id, name)| (Some(id), name))).collect();
        view! { <Chips label=say::learned_from() choices=choices value=calling.who /> }
    });
    let behind = move || {
        let expected = move || say::expected(calling.situation.get().and_then(|known| known.expected_permille));
        let rests_on = move || calling.table.with(|table| say::rests_on(table.n_proved));
        let combined = move || calling.table.with(say::how_combined);
        let table = move || calling.table.with(|table| numbers(&say::weights_table(table)));
        view! {
            <p>{expected}</p>
            <p>{rests_on}</p>
            <p>{combined}</p>
            {table}
        }
    };
    view! {
        <p class="small">{again} " " {past}</p>
        <h3>{say::settled()}</h3>
        <ul class="small">{settled} <li>{say::split_settles()}</li></ul>
        {whose}
        <Behind summary=say::worked_out()>{behind()}</Behind>
    }
}

/// Keeping the call at any answer, and passing over a question.
#[component]
fn Keep(calling: Calling) -> impl IntoView {
    let Calling { app, bulb, shoot, answers, skipped, next, reading, .. } = calling;
    let some = move || calling.settled.get() && answers.with(|answers| !answers.is_empty());
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
        // Back to where one came from: a walk goes on.
        let to = app.way_back(Route::Bulb(bulb));
        app.save_then(command, say::call_kept(&label), move |_| app.done_to(&to));
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
        let to = app.way_back(Route::Bulb(bulb));
        app.save_then(command, say::proved(kind), move |_| app.done_to(&to));
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
