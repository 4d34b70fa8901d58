//! One try and how it stands: the sentence first, then the groups, then every bulb, one tap from a look.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::trial::standing::{self, GroupStanding, Shares, Standing};
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::device::entropy;
use crate::parts::can_tell::run_can_tell;
use crate::parts::contrary::to_settle;
use crate::parts::field::TextField;
use crate::parts::heading::Heading;
use crate::parts::plots::share::{Line, SharePlot};
use crate::parts::plots::table::Behind;
use crate::words::{en, plan, report, results, show, trials as say};

/// One try.
#[component]
pub(crate) fn Run(run: Id) -> impl IntoView {
    let app = app();
    let stands = Memo::new(move |_| app.read(|r| standing::standing(r.ledger, r.state, run, r.today)));
    let head = move || {
        app.read(|r| {
            let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
            body.map(|body| (r.state.name_of(body.trial).to_owned(), en::ordinal_try(body.ordinal))).unwrap_or_default()
        })
    };
    let trial = app.peek(|r| r.state.runs.get(&run).and_then(|run| run.body.shown()).map(|body| body.trial));
    view! {
        <Heading
            place=Signal::derive(move || head().1)
            title=Signal::derive(move || head().0)
            under=Signal::derive(move || {
                app.read(|r| stands.with(|s| s.as_ref().map(|s| say::rule_line(s, r.today)).unwrap_or_default()))
            })
            back=trial.map_or(Route::Trials, Route::Trial)
        />
        {move || {
            stands
                .get()
                .map(|stands| view! { <Body app=app run=run stands=stands /> }.into_any())
                .unwrap_or_else(|| view! { <p>{say::no_such_try()}</p> }.into_any())
        }}
    }
}

#[component]
fn Body(app: App, run: Id, stands: Standing) -> impl IntoView {
    let (sentence, under) =
        app.peek(|r| (say::sentence(&stands, r.state, r.today), say::sentence_under(&stands, r.state)));
    let notes = app.peek(|r| {
        let notes = stands.notes.iter().map(|note| say::note(note, r.state));
        notes.map(|text| view! { <li>{text}</li> }).collect_view()
    });
    let has_notes = !stands.notes.is_empty();
    let contraries = app.peek(|r| {
        let units = stands.groups.iter().flat_map(|group| &group.units);
        let bulbs = units.flat_map(|unit| &unit.bulbs);
        let of = bulbs.flat_map(|bulb| r.state.contraries_of(*bulb));
        of.cloned().collect::<Vec<_>>()
    });
    let lines = lines(&stands);
    let (started, closed) = app.peek(|r| {
        let known = r.state.runs.get(&run);
        known.map_or((false, false), |run| (run.started.is_some(), run.closed.is_some()))
    });
    // Once it has started, the bulbs come first here.
    let can_tell = match (started, closed) {
        (false, false) => view! { <h2>{results::foresight_title()}</h2> {run_can_tell(app, run)} }.into_any(),
        (true, false) => view! {
            <Behind summary=results::foresight_title()>{run_can_tell(app, run)}</Behind>
        }
        .into_any(),
        _ => ().into_any(),
    };
    let others = app.peek(|r| {
        stands
            .other_stages
            .iter()
            .map(|other| say::other_stage(other, r.state))
            .map(|t| view! { <p class="small">{t}</p> })
            .collect_view()
    });
    let drawn = stands.groups.iter().any(|group| !group.units.is_empty());
    let groups = stands.groups.clone();
    view! {
        <p class="say">{sentence}</p>
        <p class="small">{under}</p>
        {(!lines.is_empty()).then(|| view! { <SharePlot lines=lines /> })}
        <Table groups=groups.clone() />
        {others}
        {has_notes.then(|| view! { <h2>{say::to_know()}</h2> <ul>{notes}</ul> })}
        {to_settle(app, contraries)}
        {can_tell}
        <div class="stack gap-above no-print">
            <a class="btn soft" href=Route::Result(run).href()>{results::all_it_says()}</a>
            {(started && !closed).then(|| view! {
                <a class="btn soft" href=Route::Coming(Some(run)).href()>{plan::see_coming()}</a>
            })}
            <div class="grid2">
                <a class="btn soft" href=Route::Report(run).href()>{report::title()}</a>
                <a class="btn soft" href=Route::Show(run).href()>{show::title()}</a>
            </div>
            <Acts app=app run=run />
        </div>
        {groups.into_iter().map(|group| view! { <Units app=app run=run group=group /> }).collect_view()}
        {drawn
            .then(|| view! {
                <a class="btn soft gap-above no-print" href=Route::Groups(run).href()>{say::groups_list()}</a>
            })}
    }
}

/// The groups' lines for the picture of shares.
pub(super) fn lines(stands: &Standing) -> Vec<Line> {
    let groups = stands.groups.iter().enumerate();
    groups.filter_map(|(at, group)| line(at, group)).collect()
}

fn line(at: usize, group: &GroupStanding) -> Option<Line> {
    let (lower, upper, share) = match group.shares {
        Shares::Bounds(bounds) => (bounds.lower, bounds.upper, None),
        Shares::Known { by_rule, .. } => {
            (by_rule.interval.lower, by_rule.interval.upper, Some((by_rule.share.reached(), by_rule.share.of())))
        }
        Shares::Nothing => return None,
    };
    Some(Line { name: group.name.clone(), lower, upper, share, nth: at })
}

/// Counts by outcome and group; outcomes that nobody had are left out.
#[component]
pub(super) fn Table(
    groups: Vec<GroupStanding>,
    /// Of which try, where a page has several.
    #[prop(optional, into)]
    of: String,
) -> impl IntoView {
    if groups.is_empty() {
        return ().into_any();
    }
    let rows = say::OUTCOMES
        .iter()
        .filter(|(_, count)| groups.iter().any(|group| count(&group.counts) > 0))
        .map(|(words, count)| {
            let cells = groups.iter().map(|group| view! { <td class="num">{count(&group.counts)}</td> }).collect_view();
            view! { <tr><th scope="row">{*words}</th>{cells}</tr> }
        })
        .collect_view();
    let heads =
        groups.iter().map(|group| view! { <th scope="col" class="num">{group.name.clone()}</th> }).collect_view();
    let all = groups.iter().map(|group| view! { <td class="num">{group.counts.all()}</td> }).collect_view();
    view! {
        <div class="scroll" tabindex="0" role="region" aria-label=say::counts_table_of(&of)>
            <table>
                <thead><tr><th scope="col"><span class="unseen">{say::outcome()}</span></th>{heads}</tr></thead>
                <tbody>{rows}<tr><th scope="row">{say::all()}</th>{all}</tr></tbody>
            </table>
        </div>
    }
    .into_any()
}

/// Starting, closing, drawing again.
#[component]
fn Acts(app: App, run: Id) -> impl IntoView {
    let phase = move || {
        app.read(|r| {
            r.state.runs.get(&run).map(|run| (run.started.is_some(), run.closed.is_some(), !run.units().is_empty()))
        })
    };
    let again = RwSignal::new(false);
    let reason = RwSignal::new(String::new());
    let draw = move |_| {
        let command = Command::DrawAgain { run, reason: reason.get_untracked(), seed: entropy::bytes32() };
        app.save_then(command, say::drawn_again(), move |_| again.set(false));
    };
    move || {
        match phase() {
        Some((false, false, true)) => view! {
            <div class="stack">
                <button
                    type="button"
                    class="btn main"
                    on:click=move |_| app.save(Command::StartRun { run, on: None }, say::started())
                >
                    {say::start_now()}
                </button>
                <Show
                    when=move || again.get()
                    fallback=move || view! {
                        <button type="button" class="btn soft" on:click=move |_| again.set(true)>{say::draw_again()}</button>
                    }
                >
                    <TextField label=say::why_again() value=reason />
                    <button type="button" class="btn soft" on:click=draw>{say::draw_again()}</button>
                </Show>
            </div>
        }
        .into_any(),
        Some((true, false, _)) => view! {
            <button
                type="button"
                class="btn soft no-print"
                on:click=move |_| app.save(Command::CloseRun { run, on: None }, say::closed())
            >
                {say::close()}
            </button>
            <p class="small no-print">{say::close_hint()}</p>
        }
        .into_any(),
        _ => ().into_any(),
    }
    }
}

/// Every unit of a group with its outcome, one tap from a look.
#[component]
fn Units(app: App, run: Id, group: GroupStanding) -> impl IntoView {
    let rows = group
        .units
        .iter()
        .map(|unit| {
            let under = app.peek(|r| say::unit_under(unit, r.today));
            let words = say::outcome_of(&unit.outcome);
            let inner = view! {
                <span class="grow"><b class="tag">{unit.label.clone()}</b> <br /> <span class="small">{under}</span></span>
                <span class="small outcome">{words}</span>
            };
            match unit.bulbs.first() {
                Some(bulb) => view! { <a class="row" href=Route::Look(*bulb).href()>{inner}</a> }.into_any(),
                None => view! { <div class="row">{inner}</div> }.into_any(),
            }
        })
        .collect_view();
    let any = !group.units.is_empty();
    view! {
        <h2>{group.name.clone()} " " <span class="small">{en::bulbs(group.units.len())}</span></h2>
        {any
            .then(|| view! {
                <a class="btn soft no-print" href=Route::Care(run, Some(group.group)).href()>{say::care_for_group()}</a>
            })}
        {rows}
    }
}
