//! What is said to a wish: the sentence first, then the days, then what a week does.

use std::sync::Arc;

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Coming, Sampling};
use bloomdue_core::ledger::body::{ActKind, DueWindow};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{self, LotDates, Nearest, Plan, Wish};
use bloomdue_core::record::act_fields;
use bloomdue_words::form::Problem;
use bloomdue_words::plot::WIDTH;
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::plot::ladder;
use bloomdue_words::table::Table;
use bloomdue_words::{care, coming, common, jobs, plan as say, refusals};
use leptos::prelude::*;

use super::{Answered, Page, form::Form, next, save};
use crate::device::screen;
use crate::parts::field::{ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::plots::days::foot;
use crate::parts::plots::ladder::ladder as drawn;
use crate::parts::plots::strips::{key, planned, work_key};
use crate::parts::plots::table::numbers;
use crate::parts::working::WorkShown;
use crate::screens::published;

/// The sentence, and how sure every number is.
pub(super) fn first(page: Page) -> AnyView {
    let said = move || match page.wish.get() {
        Err(why) => view! { <p class="say">{why.text}</p> }.into_any(),
        Ok(_) => match plan_now(page) {
            None => view! { <p class="say">{say::working_it_out()}</p> }.into_any(),
            Some(Err(why)) => view! { <p class="problem">{common::sentence(&refusals::plan(why))}</p> }.into_any(),
            Some(Ok(known)) => {
                let (plan, wish) = (&known.plan, &known.wish);
                let picture = ladder::ladder(plan, wish.wanted, wish.assurance).map(|steps| {
                    view! {
                        {drawn(steps)}
                        <p class="small">{say::ladder_under(plan, wish)}</p>
                    }
                });
                view! {
                    <p class="say" role="status">{say::sentence(plan, wish)}</p>
                    {picture}
                }
                .into_any()
            }
        },
    };
    // Only a wait is told; the last answer stands meanwhile.
    let going = move || page.work.get().map(|work| view! { <WorkShown work=work shown=|_| ().into_any() /> });
    view! { {said} <div class="going">{going}</div> }.into_any()
}

/// What can be met, the days, and saving them.
pub(super) fn rest(page: Page) -> AnyView {
    let shown = move || match plan_now(page) {
        Some(Ok(known)) => shown(page, &known),
        _ => ().into_any(),
    };
    view! { {shown} }.into_any()
}

/// An answer as it stands beside what was saved.
struct Known {
    plan: Plan,
    wish: Arc<Wish>,
    sampling: Sampling,
    /// Whether something was changed since it was saved.
    is_moved: bool,
}

/// The last answer, or why there is none.
fn plan_now(page: Page) -> Option<Result<Known, plan::Refusal>> {
    let Answered { wish, answer } = page.answered.get()?;
    Some(match &answer.plan {
        Ok(plan) => {
            let (plan, is_moved) = known(page, plan.clone(), &wish);
            Ok(Known { plan, wish, sampling: answer.sampling, is_moved })
        }
        // It was checked before it was asked; the day may have turned since.
        Err(why) => Err(*why),
    })
}

/// All below what was asked.
fn shown(page: Page, known: &Known) -> AnyView {
    let Known { plan, wish, sampling, is_moved } = known;
    let today = page.app.peek(|r| r.today);
    let published = plan.from_published.then(|| view! { <p class="say">{coming::from_published()}</p> });
    let rough = (!sampling.is_enough()).then(|| view! { <p class="small">{coming::rough()}</p> });
    let beyond = (plan::beyond_published(wish.rest_weeks) && wish.treatment.is_none())
        .then(|| view! { <p class="notice small">{say::beyond()}</p> });
    let moved: Vec<_> = plan.moved.iter().map(|moved| view! { <li>{say::moved(moved, plan.to_start)}</li> }).collect();
    let how: Vec<_> = say::how_lines(*sampling).into_iter().map(|line| view! { <p class="small">{line}</p> }).collect();
    let ladder = numbers(&say::ladder_table(plan));
    let axis = axis(plan, wish, today);
    let several = plan.lots.len() > 1;
    let batches: Vec<_> = plan
        .lots
        .iter()
        .enumerate()
        .map(|(at, lot)| {
            let title = several.then(|| view! { <h3>{say::batch(at, lot.n)}</h3> });
            view! { {title} <div class="plots">{planned(&axis, lot)} {foot(&axis)}</div> {days(lot, today)} }
        })
        .collect();
    let unsaved = is_moved.then(|| view! { <p class="notice no-print" role="status">{say::not_saved_yet()}</p> });
    view! {
        {unsaved}
        {(!plan.met).then(|| nearest(page.form, plan, wish, today))}
        {say::assured(plan, wish).map(|line| view! { <p class="small">{line}</p> })}
        {published}
        {rough}
        {beyond}
        <h2>{say::what_to_do()}</h2>
        {batches}
        {cautions(plan)}
        <Fold summary=say::what_signs_mean() class="gap-above">
            <p class="small">{say::picture_hint()}</p>
            {work_key()}
            {key()}
        </Fold>
        <Fold summary=say::a_week_title()>
            <ul>{moved}</ul>
        </Fold>
        <Fold summary=coming::how()>{how} {published::link()} {ladder}</Fold>
        <p class="small">{say::aid()}</p>
        <div class="no-print">
            {take(page)}
            <button type="button" class="btn soft" on:click=|_| screen::print()>{jobs::print()}</button>
            {next::section(page, plan, wish)}
        </div>
        {save_bar(page, known)}
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
        let saved = basis.saved.as_ref().map(|(_, saved)| saved);
        let kept = saved.and_then(|saved| plan::as_saved(&plan, wish, saved, &bulbs, &basis.data, r.state));
        let is_moved = saved.is_some() && kept.is_none();
        let as_saved = saved.filter(|_| !is_moved);
        plan = kept.unwrap_or(plan);
        plan::with_inspections(&mut plan, r.state, as_saved, &bulbs, r.today);
        (plan, is_moved)
    })
}

/// Saves the plan as it is.
fn saving(page: Page, plan: &Plan, wish: &Wish) -> impl Fn() + Clone + Send + Sync + use<> {
    let form = page.form;
    let basis = page.basis.get_value();
    let today = page.app.peek(|r| r.today);
    let (plan, wish) = (plan.clone(), wish.clone());
    move || {
        let bulbs = taken(page);
        let (mut name, way) = untrack(|| (form.name.get(), form.typed().way()));
        if name.trim().is_empty() {
            name = say::name_of(today);
        }
        match plan::forcing(&wish, &plan, &basis.data, &name, way, &bulbs) {
            Ok(body) => save(page, body),
            Err(why) => page.problem.set(Some(Problem::from(&why))),
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
        screen::focus_beginning();
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
    // Where only time lacks, no number of bulbs is of use.
    let too_near = say::too_near(plan, wish, today);
    let title = match (chips.is_empty(), &too_near) {
        (true, Some(_)) => None,
        (true, None) => Some(say::nothing_near()),
        (false, _) => Some(say::nearest_title()),
    };
    view! {
        {too_near.map(|line| view! { <p><b>{line}</b></p> })}
        {title.map(|title| view! { <h2 class="no-print">{title}</h2> })}
        <div class="stack">{chips}</div>
    }
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
    view! { {numbers(&to_do)} <div class="gap-above">{numbers(&coming)}</div> }.into_any()
}

/// What to mind with the acts that are planned.
fn cautions(plan: &Plan) -> impl IntoView + use<> {
    let cuts = plan.lots.iter().any(|lot| lot.cut_back.is_some());
    let acts = [Some(ActKind::CutBack).filter(|_| cuts), Some(ActKind::Potted)];
    let all = acts.into_iter().flatten().flat_map(act_fields::cautions);
    all.map(|caution| view! { <p class="notice small">{care::caution(*caution)}</p> }).collect::<Vec<_>>()
}

/// What it is called.
fn take(page: Page) -> impl IntoView {
    let by_number = page.form.by_number;
    view! {
        <h2>{say::save_title()}</h2>
        <TextField label=say::name() value=page.form.name />
        <ProblemLine problem=page.problem />
        <p class="small">{move || if by_number.get() == 0 { say::save_hint() } else { say::n_at_hand_hint() }}</p>
    }
}

/// Saving it as it is: plain forcing without a trial. A number alone has no bulbs to do anything for.
fn save_bar(page: Page, known: &Known) -> impl IntoView + use<> {
    let by_number = page.form.by_number;
    let basis = page.basis.get_value();
    let words = if basis.saved.is_some() { say::save_moved().to_owned() } else { say::save(known.plan.to_start) };
    let tap = saving(page, &known.plan, &known.wish);
    let of = Arc::clone(&known.wish);
    let bar = move || {
        // While another wish is worked out the last answer stands, but it is not what would be saved.
        let is_of_this = page.wish.with(|wish| wish.as_ref().is_ok_and(|wish| *wish == *of));
        let (tap, words) = (tap.clone(), words.clone());
        (is_of_this && by_number.get() == 0).then(|| {
            view! {
                <div class="act"><button type="button" class="btn main" on:click=move |_| tap()>{words}</button></div>
            }
        })
    };
    // A saved plan is saved again only where something was changed.
    (basis.saved.is_none() || known.is_moved).then_some(bar)
}
