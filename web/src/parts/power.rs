//! What groups can tell, and what would settle a question: gaps in "n more in 10".

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::design_power::{Drawn, Foresight, OfGap, Settles, tells_least};
use bloomdue_core::trial::result::parts;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::{results as say, trials};
use leptos::prelude::*;

use crate::app::{App, worker};
use crate::parts::deferred::deferred;
use crate::parts::fold::Behind;
use crate::parts::plots::power::PowerPlot;
use crate::parts::plots::table::TableBehind;
use crate::parts::working::WorkShown;

/// What the groups of a run can tell, worked out once the screen stands; of large groups off the page.
pub(crate) fn run_can_tell(app: App, run: Id) -> AnyView {
    deferred(
        move || app.peek(|r| parts::foresight(r.ledger, r.state, run, r.today)),
        move |drawn| {
            let Some(drawn) = drawn.map(Box::new) else {
                return app.peek(|r| can_tell(&[], r.state));
            };
            let work = app.work(Task::Foresight { run: Some(run), drawn });
            let shown = move |done| match done {
                Done::Foresight(all) => app.peek(|r| can_tell(&all, r.state)),
                _ => ().into_any(),
            };
            view! { <WorkShown work=work shown=shown /> }.into_any()
        },
    )
}

/// What the groups of a try that is being planned could tell: one sentence, of the pair that tells least. Worked out
/// anew whenever the bulbs, the groups or the classes are others.
pub(crate) fn planned_can_tell(app: App, drawn: Memo<Option<Drawn>>) -> impl IntoView {
    let line = |all: &[Foresight]| {
        let said = tells_least(all).map(say::smallest_gap);
        let least = (all.len() > 1).then(|| view! { <p class="small">{say::of_least()}</p> });
        view! { <p class="small">{said}</p> {least} }.into_any()
    };
    view! {
        <h2>{trials::can_tell()}</h2>
        {move || match drawn.get().map(Box::new) {
            None => view! { <p class="small">{say::too_few_to_plan()}</p> }.into_any(),
            Some(drawn) => {
                let work = app.work(Task::Foresight { run: None, drawn });
                let shown = move |done| match done {
                    Done::Foresight(all) => line(&all),
                    _ => ().into_any(),
                };
                view! { <WorkShown work=work shown=shown /> }.into_any()
            }
        }}
    }
}

/// The chances of noticing each gap, for every pair of groups; once only where all pairs have the same.
fn can_tell(all: &[Foresight], state: &State) -> AnyView {
    let Some(first) = all.first() else {
        return view! { <p class="small">{say::nothing_to_tell()}</p> }.into_any();
    };
    let same = |other: &Foresight| other.gaps == first.gaps && other.smallest_gap == first.smallest_gap;
    if all.iter().all(same) {
        let name = (all.len() > 1).then(|| view! { <p class="of-plot">{say::any_two()}</p> });
        return view! {
            {name}
            {one_pair(first)}
        }
        .into_any();
    }
    let pairs: Vec<_> = all
        .iter()
        .map(|one| {
            let name = say::two(state.name_of(one.a), state.name_of(one.b));
            let one = one.clone();
            view! {
                <p class="small"><b>{name.clone()}</b> ": " {say::smallest_gap(&one)}</p>
                <Behind summary=say::chances_of(&name)>{one_pair(&one)}</Behind>
            }
        })
        .collect();
    view! { {pairs} }.into_any()
}

fn one_pair(foresight: &Foresight) -> AnyView {
    let known = foresight.gaps.iter().any(|gap| gap.power.is_ok());
    let picture = known.then(|| {
        view! {
            <PowerPlot gaps=foresight.gaps.clone() />
            <TableBehind table=say::power_table(&foresight.gaps) />
        }
    });
    view! {
        <p>{say::smallest_gap(foresight)}</p>
        {picture}
    }
    .into_any()
}

/// The slider for the gap that matters; the numbers are worked out once, off the page, when it is first opened.
#[component]
pub(crate) fn WouldSettle(
    /// The share that gaps are counted from, 0 to 1.
    base: f64,
    /// The run that one more like it is added to; none for several at once.
    one_more_like: Option<(App, Id)>,
) -> impl IntoView {
    view! {
        <Behind summary=say::settle_open()>
            <WorkShown
                work=worker::ask(Task::Settles {
                    base,
                    one_more: one_more_like.and_then(of_only_pair),
                })
                shown=move |done| {
                    let Done::Settles { found, one_more } = done else {
                        return ().into_any();
                    };
                    view! { <Slider all=Settles::of(&found) gaps=one_more /> }.into_any()
                }
            />
            <p class="small">{say::settle_base(base)}</p>
        </Behind>
    }
}

/// The pair that one more try is for. With several nothing says which of them it is.
fn of_only_pair((app, run): (App, Id)) -> Option<Box<Drawn>> {
    app.peek(|r| parts::of_only_pair(r.ledger, r.state, run, r.today)).map(Box::new)
}

#[component]
fn Slider(all: Vec<Settles>, gaps: Vec<OfGap>) -> impl IntoView {
    let chosen = RwSignal::new(3_u32);
    let value = move || say::gap_value(chosen.get());
    let moved = move |event| {
        if let Ok(gap) = event_target_value(&event).parse() {
            chosen.set(gap);
        }
    };
    let answer = move || {
        let gap = chosen.get();
        let one = all.iter().find(|one| one.more_in_ten == gap);
        one.map(say::settles).unwrap_or_default()
    };
    let more = move || {
        let gap = chosen.get();
        let one = gaps.iter().find(|one| one.more_in_ten == gap);
        one.and_then(say::one_more).unwrap_or_default()
    };
    view! {
        <label class="slider">
            <span class="label">{say::settle_label()}</span>
            <input
                type="range"
                min="1"
                max="9"
                step="1"
                prop:value=move || chosen.get().to_string()
                aria-valuetext=value
                on:input=moved
            />
        </label>
        <p class="say" aria-hidden="true">{value}</p>
        <p role="status">{answer}</p>
        <p class="small">{more}</p>
    }
}
