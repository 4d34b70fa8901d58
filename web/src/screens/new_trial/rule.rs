//! What counts, by when, and how often one means to look: fixed before the start.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Field;
use bloomdue_core::forecast::Window;
use bloomdue_core::ledger::body::{DiedAs, Goal, GoalStage, Unit};
use bloomdue_core::plan::ending;
use bloomdue_words::form::trial::Plan;
use bloomdue_words::trials as say;
use leptos::prelude::*;

use super::{Onward, Step, Wizard};
use crate::parts::field::{Chips, DayField, TextField};
use crate::parts::fold::Fold;
use crate::parts::holidays::Holidays;

#[component]
pub(super) fn What(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let now = plan.get_untracked();
    let goal = RwSignal::new(now.goal);
    let stage = RwSignal::new(now.stage);
    let died = RwSignal::new(now.died);
    let counted = RwSignal::new(now.counted);
    let (from, to, name) = (RwSignal::new(now.from), RwSignal::new(now.to), RwSignal::new(now.name));
    let (every_days, start) = (RwSignal::new(now.every_days), RwSignal::new(now.start));
    let from_start = RwSignal::new(now.from_start);
    let (from_days, to_days) = (RwSignal::new(now.from_days), RwSignal::new(now.to_days));
    Effect::new(move |_| {
        let (counted, from, to) = (from_start.get(), from_days.get(), to_days.get());
        plan.update(|plan| (plan.from_start, plan.from_days, plan.to_days) = (counted, from, to));
    });
    Effect::new(move |_| {
        let (goal, stage, died, counted) = (goal.get(), stage.get(), died.get(), counted.get());
        let (from, to, name, every_days, start) = (from.get(), to.get(), name.get(), every_days.get(), start.get());
        plan.update(|plan| {
            if plan.counted != counted {
                plan.chosen.clear();
            }
            (plan.goal, plan.stage, plan.died, plan.counted) = (goal, stage, died, counted);
            (plan.from, plan.to, plan.name) = (from, to, name);
            (plan.every_days, plan.start) = (every_days, start);
        });
    });
    let stages = GoalStage::ALL.iter().map(|stage| (*stage, say::goal_stage(*stage).to_owned())).collect::<Vec<_>>();
    let goals = vec![(Goal::By, say::goal_by().to_owned()), (Goal::InWindow, say::goal_window().to_owned())];
    let dead = vec![
        (DiedAs::NotInTime, say::died_as(DiedAs::NotInTime).to_owned()),
        (DiedAs::LeftOut, say::died_as(DiedAs::LeftOut).to_owned()),
    ];
    let units =
        vec![(Unit::Bulb, say::unit(Unit::Bulb).to_owned()), (Unit::Container, say::unit(Unit::Container).to_owned())];
    let windows = vec![(false, say::fixed_days().to_owned()), (true, say::days_after_start().to_owned())];
    let before = Callback::new(move |last: Date| {
        let days = (from.get_untracked().parse(), to.get_untracked().parse());
        if let (Ok(first), Ok(before)) = days {
            from.set(ending(Window { from: first, to: before }, last).from.to_string());
        }
        to.set(last.to_string());
    });
    let computed = move || {
        let today = wizard.app.today.get();
        plan.with(|plan| say::computed_window(plan.computed(), plan.goal, today))
    };
    view! {
        <Chips label=say::stage_label() choices=stages value=stage />
        <Chips label=say::goal_label() choices=goals value=goal />
        <Chips label=say::window_label() choices=windows value=from_start />
        <Show
            when=move || from_start.get()
            fallback=move || view! {
                <div class="grid2">
                    <Show when=move || goal.get() == Goal::InWindow>
                        <DayField label=say::first_day() value=from />
                    </Show>
                    <DayField label=say::last_day() value=to name=Field::Window problem=wizard.problem />
                </div>
                <p class="small">{say::window_hint()}</p>
                <Holidays take=before />
            }
        >
            <div class="grid2">
                <Show when=move || goal.get() == Goal::InWindow>
                    <TextField label=say::first_day_after() value=from_days mode="numeric" />
                </Show>
                <TextField label=say::last_day_after() value=to_days mode="numeric" name=Field::Window problem=wizard.problem />
            </div>
            <p class="small" role="status">{computed}</p>
        </Show>
        <TextField label=say::window_name() value=name hint=say::window_name_hint() />
        <div class="grid2">
            <DayField label=say::start_day() value=start name=Field::Start problem=wizard.problem />
            <TextField label=say::looks_label() value=every_days mode="numeric" name=Field::Looks problem=wizard.problem />
        </div>
        <Show when=move || plan.with(Plan::may_choose_pairs)>
            <Pairs wizard=wizard />
        </Show>
        <Fold summary=say::more()>
            <Chips label=say::died_label() choices=dead value=died />
            <Chips label=say::unit_counted_label() choices=units value=counted />
        </Fold>
        <Onward wizard=wizard words=say::next() go=move |()| wizard.to(Step::Bulbs) />
    }
}

/// Which groups are compared, where there is a choice.
#[component]
fn Pairs(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let all = RwSignal::new(plan.with_untracked(Plan::compares_all_pairs));
    let started = StoredValue::new(false);
    Effect::new(move |_| {
        let all = all.get();
        // Only a choice that was made is kept; until then the program's own follows the groups.
        if started.get_value() {
            plan.update(|plan| plan.all_pairs = Some(all));
        }
        started.set_value(true);
    });
    let choices = vec![(true, say::every_pair().to_owned()), (false, say::with_control().to_owned())];
    view! {
        <Chips label=say::pairs_label() choices=choices value=all />
        <p class="small">{say::pairs_hint()}</p>
    }
}
