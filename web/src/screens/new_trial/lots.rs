//! How bulbs come into groups: lots drawn, by hand, or from a notebook.

use bloomdue_core::error::Field;
use bloomdue_core::trial::choose;
use bloomdue_core::trial::result::design_power::Drawn;
use bloomdue_words::form::trial::How;
use bloomdue_words::knowledge::Page;
use bloomdue_words::trials as say;
use leptos::prelude::*;

use super::{Onward, Wizard};
use crate::parts::field::{Chips, DayField, TextField};
use crate::parts::fold::Fold;
use crate::parts::power;
use crate::screens::knowledge::link;

#[component]
pub(super) fn Lots(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let how = RwSignal::new(plan.with_untracked(|plan| plan.how));
    Effect::new(move |_| {
        let how = how.get();
        plan.update(|plan| plan.how = how);
    });
    let ways = vec![
        (How::Draw, say::how_draw().to_owned()),
        (How::ByHand, say::how_hand().to_owned()),
        (How::Recorded, say::how_recorded().to_owned()),
        (How::Counts, say::how_counts().to_owned()),
    ];
    let button = move || {
        let today = wizard.app.today.get();
        plan.with(|plan| {
            let starts = plan.start.parse().is_ok_and(|start: bloomdue_core::calendar::Date| start <= today);
            say::lots_button(how.get() == How::Draw, starts)
        })
    };
    view! {
        <Chips label=say::how_label() choices=ways value=how />
        {move || match how.get() {
            How::Draw => view! { <Draw wizard=wizard /> }.into_any(),
            How::ByHand => view! { <p class="small">{say::hand_hint()}</p> <Place wizard=wizard /> }.into_any(),
            How::Recorded => view! { <p class="small">{say::recorded_hint()}</p> <Place wizard=wizard /> }.into_any(),
            How::Counts => view! { <Tallies wizard=wizard /> }.into_any(),
        }}
        <Show when=move || matches!(how.get(), How::Recorded | How::Counts)>
            <Finished wizard=wizard />
        </Show>
        {link(Page::Lots)}
        <Onward wizard=wizard words=Signal::derive(button) go=move |()| wizard.save() />
    }
}

/// Whether a try from a notebook is over, and since when.
#[component]
fn Finished(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let today = wizard.app.today.get_untracked();
    let day = RwSignal::new(plan.with_untracked(|plan| plan.finished.clone()));
    let over = RwSignal::new(day.with_untracked(|day| !day.is_empty()));
    // The last day that counted is when it was over, if that has come.
    let likely = plan.with_untracked(|plan| {
        let last = plan.computed().map(|(_, to)| to).or(plan.to.parse().ok());
        last.filter(|last| *last <= today).unwrap_or(today)
    });
    Effect::new(move |_| {
        if over.get() && day.with_untracked(String::is_empty) {
            day.set(likely.to_string());
        }
    });
    Effect::new(move |_| {
        let finished = if over.get() { day.get() } else { String::new() };
        plan.update(|plan| plan.finished = finished);
    });
    let choices = vec![(true, say::finished().to_owned()), (false, say::under_way().to_owned())];
    view! {
        <Chips label=say::this_try() choices=choices value=over />
        <Show when=move || over.get()>
            <DayField label=say::finished_on() value=day max=today.to_string() name=Field::Finished problem=wizard.problem />
        </Show>
    }
}

#[component]
fn Draw(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let classes = RwSignal::new(plan.with_untracked(bloomdue_words::form::trial::Plan::uses_classes));
    let started = StoredValue::new(false);
    Effect::new(move |_| {
        let classes = classes.get();
        // Only a choice that was made is kept; until then the program's own follows the bulbs.
        if started.get_value() {
            plan.update(|plan| plan.classes = Some(classes));
        }
        started.set_value(true);
    });
    let rows = move || {
        plan.with(|plan| {
            let sizes = plan.group_sizes();
            let groups = plan.groups.iter().zip(sizes);
            groups.map(|(group, n)| view! { <li>{say::group_gets(&group.name, n)}</li> }).collect_view()
        })
    };
    let drawn = Memo::new(move |_| {
        let planned = plan.with(|plan| plan.planned());
        wizard.app.peek(|r| Drawn::planned(&planned, r.ledger, r.state, r.today))
    });
    let choices = vec![(true, say::with_classes().to_owned()), (false, say::without_classes().to_owned())];
    // Which bulbs would stand in which class; the draw itself decides only within them.
    let shown = move || {
        let (units, n_groups) = plan.with(|plan| (plan.uses_classes().then(|| plan.units()), plan.groups.len()));
        let listed = wizard.app.peek(|r| units.map(|units| choose::classes(r.state, &units, n_groups)));
        let listed = listed.filter(|listed| listed.len() > 1)?;
        let n = listed.len();
        let rows = listed
            .into_iter()
            .enumerate()
            .map(|(at, class)| {
                let names: Vec<String> =
                    wizard.app.peek(|r| class.units.iter().map(|(id, _)| r.state.name_of(*id).to_owned()).collect());
                let sizes = class.units.first().zip(class.units.last()).map(|(a, b)| (a.1, b.1));
                view! {
                    <li>
                        <b>{say::class(at + 1, &class.cultivar, sizes)}</b> " " <span class="small">{names.join(" · ")}</span>
                    </li>
                }
            })
            .collect_view();
        Some(view! {
            <Fold summary=say::classes(n)>
                <ul>{rows}</ul>
            </Fold>
        })
    };
    view! {
        <ul>{rows}</ul>
        {power::planned_can_tell(wizard.app, drawn)}
        {shown}
        <Fold summary=say::more()>
            <Chips label=say::classes_label() choices=choices value=classes />
            <p class="small">{say::classes_hint()}</p>
        </Fold>
    }
}

/// A group for each chosen bulb.
#[component]
fn Place(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let groups: Vec<String> = plan.with_untracked(|plan| plan.groups.iter().map(|group| group.name.clone()).collect());
    let rows = plan
        .get_untracked()
        .chosen
        .into_iter()
        .enumerate()
        .map(|(at, chosen)| {
            let label = wizard.app.peek(|r| r.state.name_of(chosen.unit).to_owned());
            let arm = RwSignal::new(chosen.arm);
            Effect::new(move |_| {
                let arm = arm.get();
                plan.update(|plan| {
                    if let Some(chosen) = plan.chosen.get_mut(at) {
                        chosen.arm = arm;
                    }
                });
            });
            let choices = groups.iter().enumerate().map(|(n, name)| (Some(n as u32), name.clone())).collect::<Vec<_>>();
            view! { <Chips label=label choices=choices value=arm /> }
        })
        .collect_view();
    view! { {rows} }
}

/// Counts by group from a notebook.
#[component]
fn Tallies(wizard: Wizard) -> impl IntoView {
    let plan = wizard.plan;
    let groups = plan
        .get_untracked()
        .groups
        .into_iter()
        .enumerate()
        .map(|(at, group)| {
            let fields = group.counts.clone().into_iter().enumerate().map(|(which, text)| {
                let value = RwSignal::new(text);
                Effect::new(move |_| {
                    let value = value.get();
                    plan.update(|plan| {
                        if let Some(group) = plan.groups.get_mut(at) {
                            group.counts[which] = value;
                        }
                    });
                });
                view! { <TextField label=say::tally(which) value=value mode="numeric" /> }
            });
            view! {
                <fieldset class="group">
                    <legend class="caps">{group.name}</legend>
                    <div class="grid2">{fields.collect_view()}</div>
                </fieldset>
            }
        })
        .collect_view();
    view! { <p class="small">{say::counts_hint()}</p> {groups} }
}
