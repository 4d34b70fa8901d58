//! What is said to a wish: the sentence first, then the days, then what a week does.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::Coming;
use bloomdue_core::ledger::body::{ActKind, DueWindow};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{self, Answer, LotDates, Nearest, Plan, Wish};
use bloomdue_core::record::asks;
use leptos::prelude::*;

use super::{Page, form::Form, next, save};
use crate::device::screen;
use crate::parts::field::{Problem, ProblemLine, TextField};
use crate::parts::plots::WIDTH;
use crate::parts::plots::days::DayAxis;
use crate::parts::plots::strips::{key, planned, work_key};
use crate::parts::plots::table::Table;
use crate::words::{care, coming, jobs, plan as say};

/// The whole answer.
pub(super) fn shown(page: Page, answer: &Answer, wish: &Wish) -> AnyView {
    let (plan, is_moved) = match answer.plan.clone() {
        Ok(plan) => known(page, plan, wish),
        // It was checked before it was asked; the day may have turned since.
        Err(why) => {
            let text = crate::words::en::sentence(&why.to_string());
            return view! { <p class="problem">{text}</p> }.into_any();
        }
    };
    let plan = &plan;
    let today = page.app.peek(|r| r.today);
    let published = plan.from_published.then(|| view! { <p class="say">{coming::from_published()}</p> });
    let rough = (!answer.sampling.is_enough()).then(|| view! { <p class="small">{coming::rough()}</p> });
    let moved: Vec<_> = plan.moved.iter().map(|moved| view! { <li>{say::moved(moved, plan.to_start)}</li> }).collect();
    let how: Vec<_> =
        say::how_lines(answer.sampling).into_iter().map(|line| view! { <p class="small">{line}</p> }).collect();
    let axis = axis(plan, wish, today);
    let several = plan.lots.len() > 1;
    let batches: Vec<_> = plan
        .lots
        .iter()
        .enumerate()
        .map(|(at, lot)| {
            let title = several.then(|| view! { <h3>{say::batch(at, lot.n)}</h3> });
            view! { {title} <div class="plots">{planned(&axis, lot)} {axis.foot()}</div> {days(lot, today)} }
        })
        .collect();
    let save_now = is_moved.then(|| unsaved(page, plan, wish));
    view! {
        {save_now}
        {published}
        <p class="say" role="status">{say::sentence(plan, wish)}</p>
        {say::assured(plan, wish).map(|line| view! { <p class="small">{line}</p> })}
        {rough}
        {(!plan.met).then(|| nearest(page.form, plan, wish, today))}
        <h2>{say::what_to_do()}</h2>
        <p class="small">{say::picture_hint()}</p>
        {work_key()}
        {key()}
        {batches}
        {cautions(plan)}
        <h2>{say::a_week_title()}</h2>
        <ul>{moved}</ul>
        <p class="small">{say::aid()}</p>
        <details>
            <summary>{coming::how()}</summary>
            {how}
        </details>
        <div class="no-print">
            <button type="button" class="btn soft" on:click=|_| screen::print()>{jobs::print()}</button>
            {take(page, plan, wish)}
            {next::section(page, plan, wish)}
        </div>
    }
    .into_any()
}

/// The bulbs that a plan takes, the readiest first, whatever the order in which they were ticked; none where only a number
/// is given.
fn taken(page: Page) -> Vec<Id> {
    let form = page.form;
    if form.by_number.get_untracked() != 0 {
        return Vec::new();
    }
    let basis = page.basis.get_value();
    let ticked = form.ticked.get_untracked();
    let known = basis.at_hand.free().map(|one| one.bulb);
    let mut bulbs: Vec<_> = known.filter(|bulb| ticked.contains(bulb)).collect();
    // Bulbs of a saved plan stay in it though they are under way by now.
    let rest = basis.ticked.iter().filter(|bulb| ticked.contains(bulb));
    let rest: Vec<_> = rest.filter(|bulb| !bulbs.contains(bulb)).copied().collect();
    bulbs.extend(rest);
    bulbs
}

/// A plan with the inspections that were done, at the days that were saved while nothing was changed; and whether
/// something was changed since it was saved.
fn known(page: Page, mut plan: Plan, wish: &Wish) -> (Plan, bool) {
    let bulbs = taken(page);
    let basis = page.basis.get_value();
    page.app.peek(|r| {
        let mut is_moved = false;
        if let Some((_, saved)) = &basis.saved {
            match plan::as_saved(&plan, wish, saved, &bulbs, &basis.data, r.state) {
                Some(kept) => plan = kept,
                None => is_moved = true,
            }
        }
        plan::with_inspections(&mut plan, r.state, &bulbs, r.today);
        (plan, is_moved)
    })
}

/// That the days shown are not the saved ones, with the button that saves them.
fn unsaved(page: Page, plan: &Plan, wish: &Wish) -> AnyView {
    let tap = saving(page, plan, wish);
    let by_records = page.form.by_number;
    view! {
        <div class="notice no-print">
            <p role="status">{say::not_saved_yet()}</p>
            <Show when=move || by_records.get() == 0>
                <button type="button" class="btn main wide" on:click={let tap = tap.clone(); move |_| tap()}>{say::save_moved()}</button>
            </Show>
        </div>
    }
    .into_any()
}

/// Saves the plan as it is.
fn saving(page: Page, plan: &Plan, wish: &Wish) -> impl Fn() + Clone + Send + Sync + use<> {
    let form = page.form;
    let basis = page.basis.get_value();
    let today = page.app.peek(|r| r.today);
    let (plan, wish) = (plan.clone(), wish.clone());
    move || {
        let bulbs = taken(page);
        let (mut name, way) = untrack(|| (form.name.get(), form.way()));
        if name.trim().is_empty() {
            name = say::name_of(today);
        }
        match plan::forcing(&wish, &plan, &basis.data, &name, way, &bulbs) {
            Ok(body) => save(page, body),
            Err(why) => page.problem.set(Some(Problem::of(&why.to_string()))),
        }
    }
}

/// The calendar that the pictures of all batches share: from today until what was asked for and all that comes is over.
fn axis(plan: &Plan, wish: &Wish, today: Date) -> DayAxis {
    let coming = plan.lots.iter().flat_map(|lot| &lot.coming);
    let coming = coming.filter(|(stage, _)| *stage != Coming::Over);
    let last = coming.map(|(_, dates)| dates.p90).max();
    let until = last.unwrap_or(wish.window.to).max(wish.window.to);
    let due = DueWindow { name: String::new(), from: wish.window.from, to: wish.window.to };
    DayAxis::between(today, until, &due, today, WIDTH - 8.0)
}

/// Wishes nearby that can be met; a tap fills them in.
fn nearest(form: Form, plan: &Plan, wish: &Wish, today: Date) -> impl IntoView + use<> {
    let fill = move |near: Nearest| {
        match near {
            Nearest::Fewer(n) => form.wanted.set(n.to_string()),
            Nearest::Later(window) | Nearest::Wider(window) => form.set_window(window),
            Nearest::MoreBulbs(n) => {
                form.number.set(n.to_string());
                form.by_number.set(1);
            }
        }
        screen::to_top();
        screen::focus_heading();
    };
    let chips: Vec<_> = plan
        .nearest
        .iter()
        .map(|near| {
            let near = *near;
            view! {
                <button type="button" class="btn soft wide" on:click=move |_| fill(near)>
                    {say::nearest(&near, wish, today)}
                </button>
            }
        })
        .collect();
    let title = if chips.is_empty() { say::nothing_near() } else { say::nearest_title() };
    view! { <p class="no-print"><b>{title}</b></p> <div class="stack">{chips}</div> }
}

/// The days of one batch, then what comes of it.
fn days(lot: &LotDates, today: Date) -> AnyView {
    let mut rows = Vec::new();
    let row = |what: &str, day: Option<Date>| day.map(|day| say::day_row(what, day, today));
    rows.extend(row(say::stop_water(), lot.stop_water));
    rows.extend(row(say::cut_back(), lot.cut_back));
    let rested = lot.lay_to_rest.filter(|_| lot.cut_back.is_none());
    rows.extend(row(say::rests_since(), rested));
    for (day, n) in &lot.inspected {
        rows.push(say::done_row(&say::inspected(*n, lot.n), *day, today));
    }
    for (at, day) in lot.inspect.iter().enumerate() {
        let what = if at == 0 && !lot.inspected.is_empty() { say::inspect_next() } else { say::inspect() };
        rows.extend(row(what, Some(*day)));
    }
    rows.extend(row(say::pot_up(), Some(lot.pot_up)));
    rows.extend(row(say::first_look(), Some(lot.first_look)));
    let to_do = Table { caption: say::what_to_do().to_owned(), heads: say::day_heads(), rows };
    let coming = Table {
        caption: say::coming_caption().to_owned(),
        heads: say::coming_heads(),
        rows: lot.coming.iter().map(|(stage, dates)| say::coming_row(*stage, dates, today)).collect(),
    };
    view! { {to_do.show()} <div class="gap-above">{coming.show()}</div> }.into_any()
}

/// What to mind with the acts that are planned.
fn cautions(plan: &Plan) -> impl IntoView + use<> {
    let cuts = plan.lots.iter().any(|lot| lot.cut_back.is_some());
    let acts = [Some(ActKind::CutBack).filter(|_| cuts), Some(ActKind::Potted)];
    let all = acts.into_iter().flatten().flat_map(asks::cautions);
    all.map(|caution| view! { <p class="notice small">{care::caution(*caution)}</p> }).collect::<Vec<_>>()
}

/// Saving it as it is: plain forcing without a trial.
fn take(page: Page, plan: &Plan, wish: &Wish) -> impl IntoView + use<> {
    let form = page.form;
    let basis = page.basis.get_value();
    let is_saved = basis.saved.is_some();
    let n = plan.to_start;
    let tap = saving(page, plan, wish);
    let words = if is_saved { say::save_moved().to_owned() } else { say::save(n) };
    view! {
        <h2>{say::save_title()}</h2>
        <TextField label=say::name() value=form.name />
        <ProblemLine problem=page.problem />
        <Show when=move || form.by_number.get() == 0 fallback=|| say::n_at_hand_hint()>
            <button type="button" class="btn main wide" on:click={let tap = tap.clone(); move |_| tap()}>{words.clone()}</button>
            <p class="small">{say::save_hint()}</p>
        </Show>
    }
}
