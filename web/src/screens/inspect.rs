//! A bulb in hand, asked piece by piece with drawings: what it comes to, what becomes of it, when to inspect it again.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Field;
use bloomdue_core::habits::WATCH_AGAIN_DAYS;
use bloomdue_core::inspect::{Advice, Ailment, Told, advise, loss, next, possible, recorded};
use bloomdue_core::ledger::body::Check;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::act_fields;
use bloomdue_core::record::inspected::{Becomes, Inspected, inspected};
use bloomdue_words::form::{self, Problem};
use bloomdue_words::knowledge::Page;
use bloomdue_words::route::Route;
use bloomdue_words::{care as acts, inspect as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::draft::{Draft, FormDraft, GoesOn};
use crate::parts::drawings;
use crate::parts::field::{Chips, LinesField, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::whom::Whom;
use crate::screens::knowledge::link;

/// An inspection under way.
#[derive(Clone, Copy)]
struct Inspecting {
    app: App,
    bulb: Id,
    draft: Draft,
    told: RwSignal<Vec<Told>>,
    passed: RwSignal<Vec<Check>>,
    /// What the grower chose; the advice's proposal until then.
    chosen: RwSignal<Option<Becomes>>,
    again_days: RwSignal<i64>,
    weight: RwSignal<String>,
    note: RwSignal<String>,
    day: RwSignal<String>,
    problem: RwSignal<Option<Problem>>,
    busy: RwSignal<bool>,
    advice: Memo<Advice>,
    next: Memo<Option<Check>>,
    becomes: Memo<Becomes>,
    /// Where it leads once it is saved.
    done: StoredValue<Route>,
}

/// The inspection of one bulb; `at` is its own address, and it leads to `done`.
#[component]
pub(crate) fn Inspect(bulb: Id, at: Route, back: Route, done: Route) -> impl IntoView {
    let app = app();
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let i = Inspecting::begin(app, bulb, &at, done);
    let asked = move || say::asked_of(i.told.with(Vec::len) + i.passed.with(Vec::len), Check::ALL.len());
    let some = move || i.told.with(|told| !told.is_empty());
    let advice = move || if some() { say::advice(&i.advice.get()) } else { say::nothing_told().to_owned() };
    let question = move || match i.next.get() {
        Some(check) => view! { <Question i=i check=check /> }.into_any(),
        None => view! { <p>{say::asked_all()}</p> }.into_any(),
    };
    let cautions = act_fields::INSPECTION_CAUTIONS.iter();
    let cautions: Vec<_> =
        cautions.map(|caution| view! { <p class="note small">{acts::caution(*caution)}</p> }).collect();
    view! {
        <Heading place=label title=say::title() tally=Signal::derive(asked) back=back />
        <GoesOn draft=i.draft />
        <p class="say" role="status">{advice}</p>
        {question}
        <Show when=some>
            <Answers i=i />
            <Becoming i=i />
            <Behind i=i />
        </Show>
        <Weight i=i />
        <Whom
            app=app
            bulbs=Vec::new()
            left_out=RwSignal::new(std::collections::BTreeSet::new())
            several=Signal::derive(|| false)
            day=i.day
            problem=i.problem
        />
        <Fold summary=acts::add_note() row=0>
            <LinesField label=acts::note() value=i.note name=Field::Note problem=i.problem />
        </Fold>
        {cautions}
        <p class="small">{say::rests_on()}</p>
        {link(Page::Rot)}
        <Act i=i />
    }
}

impl Inspecting {
    fn begin(app: App, bulb: Id, at: &Route, done: Route) -> Self {
        let told = RwSignal::new(Vec::<Told>::new());
        let passed = RwSignal::new(Vec::<Check>::new());
        let chosen = RwSignal::new(None);
        let again_days = RwSignal::new(WATCH_AGAIN_DAYS);
        let (weight, note) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
        let day = RwSignal::new(app.today.get_untracked().to_string());
        let draft = FormDraft::of(app, format!("care:inspection {at}"))
            .field("told", told)
            .field("passed", passed)
            .field("becomes", chosen)
            .field("again", again_days)
            .field("weight", weight)
            .field("note", note)
            .field("day", day)
            .keep();
        let advice = Memo::new(move |_| {
            let (checked, findings) = told.with(|told| recorded(told));
            advise(&checked, &findings)
        });
        let asked_next = Memo::new(move |_| told.with(|told| passed.with(|passed| next(told, passed))));
        let becomes = Memo::new(move |_| chosen.get().unwrap_or_else(|| advice.with(Becomes::proposed)));
        let (problem, busy) = (RwSignal::new(None), RwSignal::new(false));
        let done = StoredValue::new(done);
        Self {
            app,
            bulb,
            draft,
            told,
            passed,
            chosen,
            again_days,
            weight,
            note,
            day,
            problem,
            busy,
            advice,
            next: asked_next,
            becomes,
            done,
        }
    }

    /// The day on which it is inspected again; nothing while the day of this inspection is not one.
    fn again(self, on: Date) -> Option<Date> {
        on.add_days(self.again_days.get_untracked()).ok().filter(|_| self.becomes.get_untracked().is_watched())
    }

    fn save(self) {
        let on = match form::day(Field::Date, &self.day.get_untracked(), acts::choose_day()) {
            Ok(on) => on,
            Err(why) => return self.problem.set(Some(why)),
        };
        let weight = self.weight.get_untracked();
        let weight_g = match (!weight.trim().is_empty()).then(|| form::whole(Field::Number, &weight)).transpose() {
            Ok(weight_g) => weight_g,
            Err(why) => return self.problem.set(Some(why)),
        };
        if self.busy.get_untracked() {
            return;
        }
        self.busy.set(true);
        let (becomes, again) = (self.becomes.get_untracked(), self.again(on));
        let note = self.note.get_untracked();
        let told = self.told.get_untracked();
        let command = inspected(Inspected {
            bulb: self.bulb,
            cause: say::cause(&self.advice.with_untracked(|advice| advice.reasons.clone())),
            told,
            becomes,
            again,
            weight_g,
            note: (!note.trim().is_empty()).then_some(note),
            on: Some(on),
        });
        let text = self.app.peek(|r| say::saved(r.state.name_of(self.bulb), becomes, again, r.today));
        wasm_bindgen_futures::spawn_local(async move {
            match self.draft.record(command).await {
                Ok(entries) => {
                    self.app.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                    self.done.with_value(|to| self.app.done_to(to));
                }
                Err(why) => {
                    let _ = self.busy.try_set(false);
                    let _ = self.problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    }
}

#[component]
fn Question(i: Inspecting, check: Check) -> impl IntoView {
    let (question, how) = say::question(check);
    let abreast = if check.choices().len() > 2 { "grid3" } else { "grid2" };
    let choices = check
        .choices()
        .iter()
        .map(|finding| {
            let told = (check, *finding);
            let tell = move |_| {
                i.problem.set(None);
                i.told.update(|all| all.push(told));
            };
            view! {
                <button type="button" class="btn tall" on:click=tell>
                    {drawings::inspected(told, 72)} {say::told(told)}
                </button>
            }
        })
        .collect_view();
    view! {
        <h2>{question}</h2>
        <p class="small">{how}</p>
        <div class=abreast>{choices}</div>
    }
}

/// What was told and passed over; a tap takes it back, and it is asked again.
#[component]
fn Answers(i: Inspecting) -> impl IntoView {
    let rows = move || {
        let all = i.told.get().into_iter().enumerate();
        all.map(|(at, told)| {
            let take_back = move |_| {
                i.told.update(|all| {
                    all.remove(at);
                })
            };
            view! {
                <button type="button" class="row" on:click=take_back>
                    <span class="name thin">{say::piece(told.0)}</span>
                    <span class="lead"></span>
                    <span class="soon">{say::told(told)}</span>
                </button>
            }
        })
        .collect_view()
    };
    view! {
        <h2>{say::so_far()}</h2>
        {rows}
        <p class="small">{say::take_back()}</p>
    }
}

/// What becomes of it, and when it is inspected again.
#[component]
fn Becoming(i: Inspecting) -> impl IntoView {
    let buttons = Becomes::ALL
        .into_iter()
        .map(|becomes| {
            let pressed = move || if i.becomes.get() == becomes { "true" } else { "false" };
            view! {
                <button type="button" class="chip" aria-pressed=pressed on:click=move |_| i.chosen.set(Some(becomes))>
                    {say::becomes(becomes)}
                </button>
            }
        })
        .collect_view();
    let days = || {
        vec![(3, say::soon().to_owned()), (WATCH_AGAIN_DAYS, say::week().to_owned()), (14, say::fortnight().to_owned())]
    };
    view! {
        <div class="field" role="group" aria-label=say::becomes_label()>
            <span class="label">{say::becomes_label()}</span>
            <div class="chips">{buttons}</div>
        </div>
        <Show when=move || i.becomes.get().is_watched()>
            <Chips label=say::again_label() choices=days() value=i.again_days />
        </Show>
    }
}

/// Diseases and pests that may be behind what was found, with what to do first.
#[component]
fn Behind(i: Inspecting) -> impl IntoView {
    let found = Memo::new(move |_| {
        let (_, findings) = i.told.with(|told| recorded(told));
        possible(&findings)
    });
    move || {
        let all = found.get();
        (!all.is_empty()).then(|| {
            view! {
                <h2>{say::may_be()}</h2>
                {all.into_iter().map(ailment).collect_view()}
                <p class="small">{say::whom_to_ask()} " " {say::no_products()}</p>
            }
        })
    }
}

/// One disease or pest, folded.
pub(super) fn ailment(ailment: Ailment) -> AnyView {
    let steps: Vec<_> = ailment.steps().iter().map(|step| view! { <li>{say::step(*step)}</li> }).collect();
    view! {
        <Fold summary=say::ailment(ailment) row=0>
            <p>{say::signs(ailment)}</p>
            <h3>{say::first_steps()}</h3>
            <ul>{steps}</ul>
            <p class="small">{say::source(ailment)}</p>
        </Fold>
    }
    .into_any()
}

/// Its weight, and what it lost since it was weighed first.
#[component]
fn Weight(i: Inspecting) -> impl IntoView {
    let lost = move || {
        let now_g: i64 = i.weight.with(|text| text.trim().parse().ok())?;
        // What it weighed before stands in entries that may still be coming.
        if !i.app.whole.get() {
            return None;
        }
        i.app.read(|r| loss(r.ledger, r.state, i.bulb, now_g).map(|loss| say::loss(&loss, r.today)))
    };
    view! {
        <Fold summary=say::weight_fold() row=0>
            <TextField label=say::weight() value=i.weight mode="numeric" name=Field::Number problem=i.problem />
            <p class="small" role="status">{lost}</p>
        </Fold>
    }
}

/// Passing over a question, and saving at any answer.
#[component]
fn Act(i: Inspecting) -> impl IntoView {
    let some = move || i.told.with(|told| !told.is_empty());
    let asked = move || i.next.get().is_some();
    let pass = move |_| i.passed.update(|passed| passed.extend(i.next.get_untracked()));
    let words = move || say::save(i.becomes.get());
    view! {
        <div class="act" class:pair=move || some() && asked()>
            <ProblemLine problem=i.problem />
            <Show when=asked>
                <button type="button" class="btn" on:click=pass>{say::cant_tell()}</button>
            </Show>
            <Show when=some>
                <button type="button" class="btn main" on:click=move |_| i.save()>{words}</button>
            </Show>
        </div>
    }
}
