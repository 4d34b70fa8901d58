//! Planning a try in five short steps: question, groups, what counts, bulbs, lots. What is typed survives leaving.

mod bulbs;
mod groups;
mod lots;
mod rule;

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::ActKind;
use bloomdue_core::ledger::body::Body;
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::record::Command;
use bloomdue_core::trial::ready::READY;
use bloomdue_words::form::Problem;
use bloomdue_words::form::trial::{Plan, Proposal};
use bloomdue_words::route::Route;
use bloomdue_words::trials as say;
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::entropy;
use crate::parts::draft::{Draft, GoesOn};
use crate::parts::field::ProblemLine;
use crate::parts::heading::Heading;

/// The steps, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Question,
    Groups,
    Rule,
    Bulbs,
    Lots,
}

const STEPS: [Step; 5] = [Step::Question, Step::Groups, Step::Rule, Step::Bulbs, Step::Lots];

/// What the steps share.
#[derive(Clone, Copy)]
struct Wizard {
    app: App,
    plan: RwSignal<Plan>,
    problem: RwSignal<Option<Problem>>,
    draft: Draft,
}

impl Wizard {
    fn step(self) -> Step {
        STEPS[self.plan.try_with_untracked(|plan| plan.step).unwrap_or(0).min(STEPS.len() - 1)]
    }

    fn to(self, step: Step) {
        let at = STEPS.iter().position(|known| *known == step).unwrap_or(0);
        self.problem.set(None);
        self.plan.update(|plan| plan.step = at);
        crate::device::screen::to_top();
        request_animation_frame(crate::device::screen::focus_beginning);
    }

    fn wrong(self, why: Problem) {
        // A refusal stands at the step whose field it names.
        let step = match why.field {
            Some(Field::Question | Field::Treatments) => Some(Step::Groups),
            Some(Field::Window | Field::Looks | Field::Start) => Some(Step::Rule),
            Some(Field::Bulbs) => Some(Step::Bulbs),
            _ => None,
        };
        if let Some(step) = step {
            self.to(step);
        }
        self.problem.set(Some(why));
    }

    /// Saves the try; goes to its page when it is saved.
    fn save(self) {
        let today = self.app.today.get_untracked();
        let plan = match self.plan.with_untracked(|plan| plan.to_command(today, entropy::bytes32())) {
            Ok(plan) => plan,
            Err(why) => return self.wrong(why),
        };
        let app = self.app;
        let from = self.plan.with_untracked(|plan| plan.begun_in.clone());
        wasm_bindgen_futures::spawn_local(async move {
            match self.draft.record(Command::PlanTry(Box::new(plan))).await {
                Ok(entries) => {
                    // The plan that it was proposed by has become this try.
                    app.let_go(&from);
                    let run = entries.iter().find(|entry| matches!(entry.body, Body::Run(_)));
                    let started = entries.iter().any(|e| matches!(e.body, Body::Act(ActKind::RunStarted, _)));
                    app.notify_saved(say::planned(started).to_owned(), entries.iter().map(|entry| entry.id).collect());
                    let run = run.and_then(|entry| entry.envelope.about.first().copied()).filter(|id| id.is(Noun::Run));
                    let to = run.map_or(Route::Trials, Route::Run);
                    self.app.done_to(&to);
                }
                Err(why) => self.wrong(Problem::from(&why)),
            }
        });
    }
}

/// Opens the form of a new trial with a proposal filled in; what was begun there before is let go.
pub(crate) fn propose(app: App, proposal: Proposal) {
    let plan = app.peek(|r| Plan::proposed(proposal, r.state, r.today));
    app.keep_draft(&format!("trial {}", Route::NewTrial), plan.to_bytes());
    app.go(Route::NewTrial);
}

/// A new trial, or a further try of a known one.
#[component]
pub(crate) fn NewTrial(again: Option<Id>) -> impl IntoView {
    let app = app();
    let key = match again {
        Some(trial) => format!("again {}", Route::Again(trial)),
        None => format!("trial {}", Route::NewTrial),
    };
    let kept = app.draft(&key).and_then(|bytes| Plan::from_bytes(&bytes));
    let begun = kept.is_some();
    let fresh = app.peek(|r| Plan::fresh(again, r.state, r.today));
    let plan = RwSignal::new(kept.unwrap_or_else(|| fresh.clone()));
    let first_step = fresh.step;
    let untouched = fresh.to_bytes();
    let now = move || {
        // Only to have gone on is nothing typed.
        let at_first = |plan: &Plan| Plan { step: first_step, ..plan.clone() } == fresh;
        plan.try_with(|plan| if at_first(plan) { fresh.to_bytes() } else { plan.to_bytes() })
    };
    let wizard = Wizard { app, plan, problem: RwSignal::new(None), draft: Draft::of(app, key, begun, untouched, now) };
    let first = if again.is_some() { Step::Rule } else { Step::Question };
    let step = Memo::new(move |_| wizard.plan.with(|plan| plan.step));
    view! {
        {move || {
            let _ = step.get();
            let step = wizard.step();
            let back = if step == first { Some(Route::Trials) } else { None };
            view! {
                <StepHead wizard=wizard step=step back=back first=first />
                <GoesOn draft=wizard.draft />
                {match step {
                    Step::Question => view! { <Questions wizard=wizard /> }.into_any(),
                    Step::Groups => view! { <groups::Groups wizard=wizard /> }.into_any(),
                    Step::Rule => view! { <rule::What wizard=wizard /> }.into_any(),
                    Step::Bulbs => view! { <bulbs::Which wizard=wizard /> }.into_any(),
                    Step::Lots => view! { <lots::Lots wizard=wizard /> }.into_any(),
                }}
            }
        }}
    }
}

#[component]
fn StepHead(wizard: Wizard, step: Step, back: Option<Route>, first: Step) -> impl IntoView {
    let (title, under) = match step {
        Step::Question => (say::ask(), say::ask_under()),
        Step::Groups => (say::groups_title(), say::groups_under()),
        Step::Rule => (say::counts_title(), say::counts_under()),
        Step::Bulbs => (say::bulbs_title(), say::bulbs_under()),
        Step::Lots => (say::lots_title(), say::lots_under()),
    };
    let before = STEPS.iter().position(|known| *known == step).filter(|at| *at > 0).map(|at| STEPS[at - 1]);
    let place = move || wizard.plan.with(|plan| say::trial_step(&plan.text));
    view! {
        {match back.clone() {
            Some(back) => view! { <Heading place=Signal::derive(place) title=title under=under back=back /> }.into_any(),
            None => view! { <Heading place=Signal::derive(place) title=title under=under /> }.into_any(),
        }}
        {before
            .filter(|_| step != first && back.is_none())
            .map(|before| view! {
                <button type="button" class="btn soft no-print" on:click=move |_| wizard.to(before)>{say::step_back()}</button>
            })}
    }
}

/// The main button of a step, with what is wrong with it.
#[component]
fn Onward(
    wizard: Wizard,
    /// What it says.
    #[prop(into)]
    words: Signal<String>,
    /// What it does.
    #[prop(into)]
    go: Callback<()>,
) -> impl IntoView {
    view! {
        <div class="act">
            <ProblemLine problem=wizard.problem />
            <button type="button" class="btn main" on:click=move |_| go.run(())>{words}</button>
        </div>
    }
}

/// Ready questions, and one's own.
#[component]
fn Questions(wizard: Wizard) -> impl IntoView {
    let take = move |key: &'static str| {
        let app = wizard.app;
        let ready = READY.iter().find(|ready| ready.key == key);
        app.peek(|r| wizard.plan.update(|plan| plan.take_ready(ready, r.today)));
        // A ready question says everything about its groups, too; they are shown before going on.
        wizard.to(Step::Groups);
    };
    let rows = READY
        .iter()
        .map(|ready| {
            let key = ready.key;
            view! {
                <button type="button" class="row" on:click=move |_| take(key)>
                    <span class="grow">
                        <b>{say::ready(key)}</b>
                        <br />
                        <span class="small">{say::ready_under(ready)}</span>
                    </span>
                </button>
            }
        })
        .collect_view();
    view! {
        {rows}
        <button type="button" class="row" on:click=move |_| take("")>
            <span class="grow"><b>{say::own_question()}</b></span>
        </button>
    }
}
