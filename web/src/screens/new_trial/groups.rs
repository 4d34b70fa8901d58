//! The groups: what is done differently in each.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::AppliedTo;
use bloomdue_words::form::trial::GroupTyped;
use bloomdue_words::knowledge::Page;
use bloomdue_words::trials as say;
use leptos::prelude::*;

use super::{Onward, Step, Wizard};
use crate::parts::field::{Chips, TextField};
use crate::parts::fold::Fold;
use crate::screens::knowledge::link;

#[component]
pub(super) fn Groups(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let text = RwSignal::new(plan.with_untracked(|plan| plan.text.clone()));
    let factor = RwSignal::new(plan.with_untracked(|plan| plan.factor.clone()));
    let unit = RwSignal::new(plan.with_untracked(|plan| plan.unit.clone()));
    let applied_to = RwSignal::new(plan.with_untracked(|plan| plan.applied_to));
    Effect::new(move |_| {
        let (text, factor, unit, applied_to) = (text.get(), factor.get(), unit.get(), applied_to.get());
        plan.update(|plan| {
            plan.text = text;
            plan.factor = factor;
            plan.unit = unit;
            plan.applied_to = applied_to;
        });
    });
    let n_groups = Memo::new(move |_| plan.with(|plan| plan.groups.len()));
    let applied = vec![
        (AppliedTo::Bulb, say::applied(AppliedTo::Bulb).to_owned()),
        (AppliedTo::Container, say::applied(AppliedTo::Container).to_owned()),
        (AppliedTo::Place, say::applied(AppliedTo::Place).to_owned()),
    ];
    view! {
        <TextField label=say::question_label() value=text name=Field::Question problem=wizard.problem first=true />
        {move || (0..n_groups.get()).map(|at| view! { <Group wizard=wizard at=at unit=unit /> }).collect_view()}
        <button
            type="button"
            class="btn soft"
            on:click=move |_| {
                plan.update(|plan| {
                    plan.groups.push(GroupTyped::default());
                    // Sizes that were proposed were for other groups.
                    plan.sizes.clear();
                    plan.said = None;
                });
            }
        >
            {say::add_group()}
        </button>
        {link(Page::Factors)}
        <Fold summary=say::more()>
            <TextField label=say::factor_label() value=factor hint=say::factor_hint() />
            <TextField label=say::unit_label() value=unit hint=say::unit_hint() />
            <Chips label=say::applied_label() choices=applied value=applied_to />
            <p class="small">{say::applied_hint()}</p>
        </Fold>
        <Onward wizard=wizard words=say::next() go=move |()| wizard.to(Step::Rule) />
    }
}

#[component]
fn Group(wizard: Wizard, at: usize, unit: RwSignal<String>) -> impl IntoView {
    let plan = wizard.plan;
    let typed = plan.with_untracked(|plan| plan.groups.get(at).cloned().unwrap_or_default());
    let (name, value) = (RwSignal::new(typed.name), RwSignal::new(typed.value));
    Effect::new(move |_| {
        let (name, value) = (name.get(), value.get());
        plan.update(|plan| {
            if let Some(group) = plan.groups.get_mut(at) {
                group.name = name;
                group.value = value;
            }
        });
    });
    let control = move || plan.with(|plan| plan.groups.get(at).is_some_and(|group| group.control));
    let set_control = move |_| {
        plan.update(|plan| {
            for (n, group) in plan.groups.iter_mut().enumerate() {
                group.control = n == at;
            }
        });
    };
    let remove = move |_| {
        plan.update(|plan| {
            if plan.groups.len() > 2 {
                plan.groups.remove(at);
                plan.sizes.clear();
                plan.said = None;
                // Bulbs placed by hand keep their group, whose number may have moved; those of this one are free again.
                let removed = at as u32;
                for chosen in &mut plan.chosen {
                    chosen.arm = match chosen.arm {
                        Some(arm) if arm == removed => None,
                        Some(arm) if arm > removed => Some(arm - 1),
                        arm => arm,
                    };
                }
            }
        });
    };
    let many = move || plan.with(|plan| plan.groups.len() > 2);
    view! {
        <fieldset class="group">
            <legend class="caps">{say::group_n(at + 1)}</legend>
            <TextField label=say::group_name() value=name />
            <Show when=move || unit.with(|unit| !unit.trim().is_empty())>
                <TextField label=say::how_much(&unit.get()) value=value mode="decimal" />
            </Show>
            <label class="choice">
                <input type="radio" name="control" prop:checked=control on:change=set_control />
                {say::as_usual()}
            </label>
            <Show when=many>
                <button type="button" class="btn soft" on:click=remove>{say::remove_group()}</button>
            </Show>
        </fieldset>
    }
}
