//! Planning a try in five short steps: question, groups, what counts, bulbs, lots. What is typed survives leaving.

mod bulbs;
mod draft;
mod groups;
mod lots;
mod rule;

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Wanted, Window};
use bloomdue_core::ledger::body::ActKind;
use bloomdue_core::ledger::body::Body;
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::plan::{Now, Proposed};
use bloomdue_core::record::Command;
use bloomdue_core::trial::ready::READY;
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::address;
use crate::parts::field::{Problem, ProblemLine};
use crate::parts::heading::Heading;
use crate::words::trials as say;
use draft::Plan;

/// The steps, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Question,
    Groups,
    Rule,
    Bulbs,
    Lots,
}

const STEPS: [Step; 5] = [
    Step::Question,
    Step::Groups,
    Step::Rule,
    Step::Bulbs,
    Step::Lots,
];

/// What the steps share.
#[derive(Clone, Copy)]
struct Wizard {
    app: App,
    plan: RwSignal<Plan>,
    problem: RwSignal<Option<Problem>>,
    key: StoredValue<String>,
    /// Saved, or being saved: nothing is kept as a draft any more.
    done: StoredValue<bool>,
}

impl Wizard {
    fn step(self) -> Step {
        STEPS[self
            .plan
            .try_with_untracked(|plan| plan.step)
            .unwrap_or(0)
            .min(STEPS.len() - 1)]
    }

    fn to(self, step: Step) {
        let at = STEPS.iter().position(|known| *known == step).unwrap_or(0);
        self.problem.set(None);
        self.plan.update(|plan| plan.step = at);
        self.keep();
        crate::device::screen::to_top();
        request_animation_frame(crate::device::screen::focus_heading);
    }

    /// Keeps what is typed, so that leaving loses nothing.
    fn keep(self) {
        // A form that was left meanwhile has nothing more to keep.
        let Some(draft) = self.plan.try_with_untracked(Plan::to_bytes) else {
            return;
        };
        self.key
            .try_with_value(|key| self.app.keep_draft(key, draft));
    }

    fn wrong(self, why: Problem) {
        // A refusal stands at the step whose field it names.
        let step = match why.field.as_str() {
            "question" => Some(Step::Question),
            "treatments" => Some(Step::Groups),
            "window" | "looks" | "start" => Some(Step::Rule),
            "bulbs" => Some(Step::Bulbs),
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
        let plan = match self.plan.with_untracked(|plan| plan.to_command(today)) {
            Ok(plan) => plan,
            Err(why) => return self.wrong(why),
        };
        let app = self.app;
        let files = crate::app::Files {
            draft_key: Some(self.key.get_value()),
            ..crate::app::Files::default()
        };
        self.done.set_value(true);
        wasm_bindgen_futures::spawn_local(async move {
            match app
                .record_with(Command::PlanTry(Box::new(plan)), files)
                .await
            {
                Ok(entries) => {
                    let run = entries
                        .iter()
                        .find(|entry| matches!(entry.body, Body::Run(_)));
                    let started = entries
                        .iter()
                        .any(|e| matches!(e.body, Body::Act(ActKind::RunStarted, _)));
                    app.say_saved(
                        say::planned(started).to_owned(),
                        entries.iter().map(|entry| entry.id).collect(),
                    );
                    let run = run
                        .and_then(|entry| entry.envelope.about.first().copied())
                        .filter(|id| id.is(Noun::Run));
                    let to = run.map_or(Route::Trials, Route::Run);
                    address::replace(&to.to_string());
                }
                Err(why) => {
                    self.done.try_set_value(false);
                    self.wrong(Problem::of(&why));
                }
            }
        });
    }
}

/// A trial that a plan proposes.
pub(crate) struct Proposal {
    /// The question as a sentence.
    pub(crate) question: String,
    /// What the due window is for.
    pub(crate) name: String,
    /// What differs, and the groups.
    pub(crate) groups: Proposed,
    /// The bulbs.
    pub(crate) bulbs: Vec<Id>,
    /// The due window.
    pub(crate) window: Window,
    /// The stage that counts in it.
    pub(crate) wanted: Wanted,
    /// The day on which they are to be potted up.
    pub(crate) pot_up: Option<Date>,
    /// How they stand.
    pub(crate) now: Now,
}

/// Opens the form of a new trial with a proposal filled in; what was begun there before is let go.
pub(crate) fn propose(app: App, proposal: Proposal) {
    let plan = app.peek(|r| Plan::proposed(proposal, r));
    app.keep_draft(&format!("trial {}", Route::NewTrial), plan.to_bytes());
    app.go(Route::NewTrial);
}

/// Keeps the form a second after the last change, unless it was saved or left meanwhile.
fn keep_while_typing(wizard: Wizard) {
    let n_changes = StoredValue::new(0_u32);
    Effect::new(move |before: Option<()>| {
        wizard.plan.track();
        // The form as it opened is nothing typed yet.
        if before.is_none() {
            return;
        }
        n_changes.update_value(|n| *n += 1);
        let now = n_changes.get_value();
        let keep = move || {
            if n_changes.try_get_value() == Some(now)
                && !wizard.done.try_get_value().unwrap_or(true)
            {
                wizard.keep();
            }
        };
        set_timeout(keep, std::time::Duration::from_secs(1));
    });
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
    let plan = kept.unwrap_or_else(|| app.peek(|r| Plan::fresh(again, r)));
    let wizard = Wizard {
        app,
        plan: RwSignal::new(plan),
        problem: RwSignal::new(None),
        key: StoredValue::new(key),
        done: StoredValue::new(false),
    };
    keep_while_typing(wizard);
    let forget = move |_| {
        wizard.plan.set(app.peek(|r| Plan::fresh(again, r)));
        wizard.problem.set(None);
        wizard.key.with_value(|key| app.keep_draft(key, Vec::new()));
    };
    let first = if again.is_some() {
        Step::Rule
    } else {
        Step::Question
    };
    let step = Memo::new(move |_| wizard.plan.with(|plan| plan.step));
    view! {
        {move || {
            let _ = step.get();
            let step = wizard.step();
            let back = if step == first { Some(Route::Trials) } else { None };
            view! {
                <StepHead wizard=wizard step=step back=back first=first />
                {(begun && step == first)
                    .then(|| view! {
                        <p class="notice small">
                            {say::goes_on()} " "
                            <button type="button" class="chip" on:click=forget>{say::start_over()}</button>
                        </p>
                    })}
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
    let before = STEPS
        .iter()
        .position(|known| *known == step)
        .filter(|at| *at > 0)
        .map(|at| STEPS[at - 1]);
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
        <ProblemLine problem=wizard.problem />
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
                    <span class="go" aria-hidden="true">"›"</span>
                </button>
            }
        })
        .collect_view();
    view! {
        {rows}
        <button type="button" class="row" on:click=move |_| take("")>
            <span class="grow"><b>{say::own_question()}</b></span>
            <span class="go" aria-hidden="true">"›"</span>
        </button>
    }
}
