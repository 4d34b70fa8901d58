//! One try and how it stands: the sentence first, then the groups with a mark a bulb, each opening on its bulbs, then what to
//! do next.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::trial::next::{Next, next};
use bloomdue_core::trial::outcome::Kind;
use bloomdue_core::trial::standing::{self, GroupStanding, Shares, Standing};
use bloomdue_words::plot::share::Line;
use bloomdue_words::route::Route;
use bloomdue_words::{labels, plan, report, results, show, trials as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::entropy;
use crate::parts::contrary::to_settle;
use crate::parts::field::TextField;
use crate::parts::fold::Behind;
use crate::parts::heading::Heading;
use crate::parts::mark;
use crate::parts::power::run_can_tell;

/// More bulbs than these are not listed as labels; the list to print has them.
const MOST_LABELS: u32 = 60;

/// One try.
#[component]
pub(crate) fn Run(run: Id) -> impl IntoView {
    let app = app();
    let stands = Memo::new(move |_| app.read(|r| standing::standing(r.ledger, r.state, run, r.today)));
    view! {
        {head(app, run, Signal::derive(move || stands.get()), Route::Trial)}
        {move || {
            stands
                .get()
                .map(|stands| view! { <Body app=app run=run stands=stands /> }.into_any())
                .unwrap_or_else(|| view! { <p>{say::no_such_try()}</p> }.into_any())
        }}
    }
}

/// The head of a page of a try: its question, which try, how far it is. `parent` makes the way back from its trial.
pub(super) fn head(app: App, run: Id, stands: Signal<Option<Standing>>, parent: impl Fn(Id) -> Route) -> impl IntoView {
    let trial = app.peek(|r| r.state.runs.get(&run).and_then(|run| run.body.shown()).map(|body| body.trial));
    let title = move || {
        app.read(|r| {
            let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
            body.map(|body| r.state.name_of(body.trial).to_owned()).unwrap_or_default()
        })
    };
    let under = move || {
        app.read(|r| {
            let known = r.state.runs.get(&run);
            stands.with(|stands| {
                let both = known.zip(stands.as_ref());
                both.map(|(known, stands)| say::try_line(known, stands, r.today)).unwrap_or_default()
            })
        })
    };
    view! {
        <Heading
            place=""
            title=Signal::derive(title)
            under=Signal::derive(under)
            back=trial.map_or(Route::Trials, parent)
        />
    }
}

/// What is known, in a sentence, with the rule it goes by and the spread it has.
pub(super) fn answer(app: App, stands: &Standing) -> impl IntoView + use<> {
    let (sentence, rule, under) = app.peek(|r| {
        let sentence = say::sentence(stands, r.state, r.today);
        (sentence, say::rule_line(stands, r.today), say::sentence_under(stands, r.state))
    });
    let lines = [rule, under].into_iter().filter(|line| !line.is_empty());
    let lines: Vec<_> = lines.map(|line| view! { <p class="small">{line}</p> }).collect();
    view! {
        <p class="say">{sentence}</p>
        {lines}
    }
}

#[component]
fn Body(app: App, run: Id, stands: Standing) -> impl IntoView {
    let step = app.peek(|r| next(r.state, &stands, r.today));
    let contraries = app.peek(|r| {
        let units = stands.groups.iter().flat_map(|group| &group.units);
        let bulbs = units.flat_map(|unit| &unit.bulbs);
        let of = bulbs.flat_map(|bulb| r.state.contraries_of(*bulb));
        of.cloned().collect::<Vec<_>>()
    });
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
    let labels = (step == Next::Label && stands.total.all() <= MOST_LABELS).then(|| labels(&stands));
    let drawn = stands.groups.iter().any(|group| !group.units.is_empty());
    let groups = stands.groups.iter().map(|group| {
        let line = mark_row(&stands, group).into_any();
        view! { <Group app=app run=run group=group.clone() line=line /> }
    });
    let groups = groups.collect_view();
    let over = (Route::Result(run), results::all_it_says());
    let main = main(app, run, &step, &over);
    let further = match &step {
        Next::Walk(places) => places.iter().skip(1).map(|(place, n)| to_walk(app, *place, *n)).collect(),
        _ => Vec::new(),
    };
    let pages = [
        Some(over),
        (started && !closed).then(|| (Route::Coming(Some(run)), plan::see_coming())),
        drawn.then(|| (Route::Groups(run), say::groups_list())),
        drawn.then(|| (Route::Labels(run), labels::link())),
        Some((Route::Report(run), report::title())),
        Some((Route::Show(run), show::title())),
    ];
    let pages = pages.into_iter().flatten().map(|(route, words)| (route, words.to_owned()));
    // What stands above the foot is not said twice.
    let is_main = |route: &Route| main.as_ref().is_some_and(|(to, _)| to == route);
    let rows = further.into_iter().chain(pages).filter(|(route, _)| !is_main(route));
    let rows = rows.map(|(route, words)| to(route, words)).collect_view();
    view! {
        {answer(app, &stands)}
        {labels}
        {groups}
        {to_settle(app, contraries)}
        <h2 class="no-print">{say::next_title()}</h2>
        <div class="no-print">
            {rows}
        </div>
        {to_know(app, &stands)}
        {can_tell}
        <Acts app=app run=run />
        {act(app, run, main)}
    }
}

/// A row that leads to another page.
pub(super) fn to(route: Route, words: String) -> AnyView {
    view! {
        <a class="row" href=route.href()>
            <span class="name thin">{words}</span>
            <span class="lead"></span>
        </a>
    }
    .into_any()
}

/// The way to a place where bulbs of the try wait for a look.
fn to_walk(app: App, place: Id, n: usize) -> (Route, String) {
    (Route::Walk(place), app.peek(|r| say::walk_waiting(r.state.name_of(place), n)))
}

/// Where the next step with a try leads: once it is over, to `over`; nowhere while it waits for its start.
pub(super) fn main(app: App, run: Id, step: &Next, over: &(Route, &'static str)) -> Option<(Route, String)> {
    let over = || (over.0.clone(), over.1.to_owned());
    Some(match step {
        Next::Start => return None,
        Next::Label => (Route::Groups(run), say::groups_list().to_owned()),
        Next::Walk(places) => places.first().map_or_else(over, |(place, n)| to_walk(app, *place, *n)),
        Next::Wait => (Route::Coming(Some(run)), plan::see_coming().to_owned()),
        Next::Ended => over(),
    })
}

/// The next step, above the foot; nothing to go to is a try that can be started.
pub(super) fn act(app: App, run: Id, main: Option<(Route, String)>) -> impl IntoView {
    let step = match main {
        Some((route, words)) => view! { <a class="btn main" href=route.href()>{words}</a> }.into_any(),
        None => {
            let start = move |_| app.save(Command::StartRun { run, on: None }, say::started());
            view! { <button type="button" class="btn main" on:click=start>{say::start_now()}</button> }.into_any()
        }
    };
    view! { <div class="act">{step}</div> }
}

/// Who was drawn into which group, to be written on labels.
fn labels(stands: &Standing) -> AnyView {
    let groups = stands.groups.iter().map(|group| {
        let units = group.units.iter().map(|unit| view! { <li class="lot">{unit.label.clone()}</li> });
        view! {
            <div>
                <b class="num">{group.name.clone()}</b>
                <ul class="fell" aria-label=group.name.clone()>{units.collect_view()}</ul>
            </div>
        }
    });
    view! {
        <p>{say::lots_drawn()}</p>
        <div class="lots">{groups.collect_view()}</div>
    }
    .into_any()
}

/// What has to be known beside it, folded to its number.
fn to_know(app: App, stands: &Standing) -> AnyView {
    let lines = app.peek(|r| {
        let others = stands.other_stages.iter().map(|other| say::other_stage(other, r.state));
        others.chain(stands.notes.iter().map(|note| say::note(note, r.state))).collect::<Vec<_>>()
    });
    if lines.is_empty() {
        return ().into_any();
    }
    let summary = say::n_to_know(lines.len());
    let list = move || lines.iter().map(|line| view! { <li>{line.clone()}</li> }).collect_view();
    view! { <Behind summary=summary><ul>{list()}</ul></Behind> }.into_any()
}

/// The groups' lines for the picture of shares.
pub(super) fn lines(stands: &Standing) -> Vec<Line> {
    let groups = stands.groups.iter().enumerate();
    groups.filter_map(|(at, group)| line(stands, at, group)).collect()
}

fn line(stands: &Standing, at: usize, group: &GroupStanding) -> Option<Line> {
    let (lower, upper, share) = match group.shares {
        Shares::Bounds(bounds) => (bounds.lower, bounds.upper, None),
        Shares::Known { by_rule, .. } => {
            (by_rule.interval.lower, by_rule.interval.upper, Some((by_rule.share.reached(), by_rule.share.of())))
        }
        Shares::Nothing => return None,
    };
    Some(Line { name: group.name.clone(), lower, upper, share, in_time: stands.in_time(group), nth: at })
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
    let rows = Kind::ALL
        .iter()
        .filter(|kind| groups.iter().any(|group| group.counts.of(**kind) > 0))
        .map(|kind| {
            let cells =
                groups.iter().map(|group| view! { <td class="num">{group.counts.of(*kind)}</td> }).collect_view();
            view! { <tr><th scope="row">{say::kind(*kind)}</th>{cells}</tr> }
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

/// Closing, drawing again: what is rare, away from the thumb.
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
            <div class="stack gap-above">
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
                class="btn soft gap-above no-print"
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

/// A group: how many of it are in time, and a mark a bulb; it opens on its bulbs, each one tap from a look.
#[component]
fn Group(app: App, run: Id, group: GroupStanding, line: AnyView) -> impl IntoView {
    if group.units.is_empty() {
        return view! { <div class="row bulbs-row">{line}</div> }.into_any();
    }
    let opened = RwSignal::new(false);
    view! {
        <details class="bulbs-row" on:toggle=move |_| opened.set(true)>
            <summary class="row">{line}</summary>
            {move || opened.get().then(|| units(app, run, &group))}
        </details>
    }
    .into_any()
}

/// A group's name, its number and its marks.
pub(super) fn mark_row(stands: &Standing, group: &GroupStanding) -> impl IntoView + use<> {
    let (in_time, is_closed) = (say::in_time(stands.in_time(group)), stands.closed.is_some());
    view! {
        <span class="grow">
            <span class="top">
                <b class="num">{group.name.clone()}</b>
                <span class="lead"></span>
                <span class="num">{in_time}</span>
            </span>
            {mark::told(&group.counts.by_kind(), is_closed)}
        </span>
    }
}

/// Every unit of a group with its outcome.
fn units(app: App, run: Id, group: &GroupStanding) -> impl IntoView + use<> {
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
    view! {
        <a class="row no-print" href=Route::Care(run, Some(group.group)).href()>
            <span class="name thin">{say::care_for_group()}</span>
            <span class="lead"></span>
        </a>
        {rows}
    }
}
