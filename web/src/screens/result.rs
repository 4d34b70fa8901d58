//! What one try says: the sentence first, then pictures with their tables, then how it was worked out.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::result::foresight::least_share;
use bloomdue_core::trial::result::growing::Growing;
use bloomdue_core::trial::result::measures::MeasureResult;
use bloomdue_core::trial::result::{RunResult, run_result};
use bloomdue_core::trial::standing::{Sentence, Shares};
use leptos::prelude::*;

use super::run;
use crate::app::{App, app, route::Route, work};
use crate::parts::can_tell::{WouldSettle, can_tell};
use crate::parts::grown;
use crate::parts::heading::Heading;
use crate::parts::plots::bars::BarsPlot;
use crate::parts::plots::curve::CurvePlot;
use crate::parts::plots::dots::DotsPlot;
use crate::parts::plots::share::SharePlot;
use crate::parts::plots::table::Behind;
use crate::words::{en, methods, results as say, trials};

/// Everything a run says, worked out after the screen is drawn and again whenever the records change.
pub(super) fn asked(app: App, run: Id) -> RwSignal<Option<Option<RunResult>>> {
    let answer = RwSignal::new(None);
    Effect::new(move |_| {
        app.read(|_| ());
        work::after_paint(move || {
            let found = app.peek(|r| run_result(r.ledger, r.state, run, r.today));
            // The screen may have been left meanwhile.
            let _ = answer.try_set(Some(found));
        });
    });
    answer
}

/// What one try says.
#[component]
pub(crate) fn Result(run: Id) -> impl IntoView {
    let app = app();
    let answer = asked(app, run);
    let head = move || {
        app.read(|r| {
            let body = r.state.runs.get(&run).and_then(|run| run.body.shown());
            body.map(|body| {
                (
                    r.state.name_of(body.trial).to_owned(),
                    en::ordinal_try(body.ordinal),
                )
            })
            .unwrap_or_default()
        })
    };
    let under = move || {
        app.read(|r| {
            answer.with(|found| {
                let result = found.as_ref().and_then(Option::as_ref);
                result.map_or_else(String::new, |result| {
                    trials::rule_line(&result.standing, r.today)
                })
            })
        })
    };
    view! {
        <Heading
            place=Signal::derive(move || head().1)
            title=Signal::derive(move || head().0)
            under=Signal::derive(under)
            back=Route::Run(run)
        />
        {move || match answer.get() {
            None => view! { <p class="small" role="status">{say::working_out()}</p> }.into_any(),
            Some(None) => view! { <p>{trials::no_such_try()}</p> }.into_any(),
            Some(Some(result)) => body(app, result),
        }}
    }
}

fn body(app: App, result: RunResult) -> AnyView {
    let stands = &result.standing;
    let (sentence, under) = app.peek(|r| {
        (
            trials::sentence(stands, r.state, r.today),
            trials::sentence_under(stands, r.state),
        )
    });
    let lines = run::lines(stands);
    let decided = stands
        .groups
        .iter()
        .any(|group| matches!(group.shares, Shares::Known { .. }));
    let shares = (!lines.is_empty()).then(|| {
        view! {
            <SharePlot lines=lines />
            <p class="small">{say::line_means(decided)}</p>
        }
    });
    let groups = stands.groups.clone();
    view! {
        <p class="say">{sentence}</p>
        <p class="small">{under}</p>
        {shares}
        <run::Table groups=groups />
        {notes(app, &result)}
        {days(app, &result)}
        {measures(app, &result)}
        {growing(app, &result.growing)}
        {settles(&result)}
        {foresight(app, &result)}
        {how(app, &result)}
    }
    .into_any()
}

fn names(result: &RunResult) -> Vec<String> {
    let groups = result.standing.groups.iter();
    groups.map(|group| group.name.clone()).collect()
}

/// What has to be known beside it, and what would be said under the stage before or after.
fn notes(app: App, result: &RunResult) -> AnyView {
    let stands = &result.standing;
    let (notes, others) = app.peek(|r| {
        let notes = stands.notes.iter().map(|note| trials::note(note, r.state));
        let others = stands.other_stages.iter();
        let others = others.map(|other| trials::other_stage(other, r.state));
        (notes.collect::<Vec<_>>(), others.collect::<Vec<_>>())
    });
    let lines = others.into_iter().chain(notes);
    let lines: Vec<_> = lines.map(|text| view! { <li>{text}</li> }).collect();
    if lines.is_empty() {
        return ().into_any();
    }
    view! {
        <h2>{trials::to_know()}</h2>
        <ul>{lines}</ul>
    }
    .into_any()
}

/// Each bulb on the time axis, and the curves.
fn days(app: App, result: &RunResult) -> AnyView {
    let stands = &result.standing;
    let (Some(times), Some(rule)) = (result.times.clone(), stands.rule.as_ref()) else {
        return ().into_any();
    };
    let (window, names) = (stands.window.clone(), names(result));
    let stage = trials::goal_stage(rule.stage);
    let (today, speeds) = app.peek(|r| {
        let speeds = times.speeds.iter();
        let speeds = speeds.filter_map(|speed| say::speed(speed, times.tau_days, r.state));
        (r.today, speeds.collect::<Vec<_>>())
    });
    let speeds: Vec<_> = speeds
        .into_iter()
        .map(|line| view! { <p class="small">{line}</p> })
        .collect();
    view! {
        <div class="figures">
            <div>
                <h2>{say::when_title(stage)}</h2>
                <p class="small">{say::when_hint()}</p>
                <BarsPlot times=times.clone() names=names.clone() window=window.clone() today=today />
            </div>
            <div>
                <h2>{say::curve_title()}</h2>
                <p class="small">{say::curve_hint()}</p>
                <CurvePlot times=times names=names window=window today=today />
                {speeds}
            </div>
        </div>
    }
    .into_any()
}

/// The pictures that a report on paper has: days and measures.
pub(super) fn pictures(app: App, result: &RunResult) -> AnyView {
    view! {
        {days(app, result)}
        {measures(app, result)}
    }
    .into_any()
}

fn measures(app: App, result: &RunResult) -> AnyView {
    if result.measures.is_empty() {
        return ().into_any();
    }
    let names = names(result);
    let all: Vec<_> = result
        .measures
        .iter()
        .map(|measure| {
            let gaps: Vec<String> = app.peek(|r| {
                let gaps = measure.gaps.iter();
                gaps.map(|gap| say::measure_gap(measure.what, gap, r.state))
                    .collect()
            });
            let gaps: Vec<_> = gaps
                .into_iter()
                .map(|line| view! { <p class="small">{line}</p> })
                .collect();
            let labels = labels(result, measure);
            view! {
                <div>
                    <h3>{say::measurand(measure.what)}</h3>
                    <DotsPlot measure=measure.clone() names=names.clone() labels=labels />
                    {gaps}
                </div>
            }
        })
        .collect();
    view! {
        <h2>{say::measures_title()}</h2>
        <p class="small">{say::measures_hint()}</p>
        <div class="figures">{all}</div>
    }
    .into_any()
}

/// The names of the units that have a value, group by group.
fn labels(result: &RunResult, measure: &MeasureResult) -> Vec<Vec<String>> {
    let groups = measure.groups.iter().zip(&result.standing.groups);
    groups
        .map(|(measured, group)| {
            let label = |unit: Id| {
                let known = group.units.iter().find(|known| known.unit == unit);
                known.map_or_else(String::new, |known| known.label.clone())
            };
            measured
                .values
                .iter()
                .map(|(unit, _)| label(*unit))
                .collect()
        })
        .collect()
}

fn growing(app: App, all: &[Growing]) -> AnyView {
    if all.is_empty() {
        return ().into_any();
    }
    let single = all.len() == 1;
    let pairs: Vec<_> = all
        .iter()
        .map(|one| {
            if single {
                grown_pair(app, one)
            } else {
                let name = app.peek(|r| say::two(r.state.name_of(one.a), r.state.name_of(one.b)));
                let one = one.clone();
                view! { <Behind summary=name>{grown_pair(app, &one)}</Behind> }.into_any()
            }
        })
        .collect();
    view! {
        <h2>{say::growing_title()}</h2>
        <p class="small">{say::growing_hint()}</p>
        {pairs}
    }
    .into_any()
}

fn grown_pair(app: App, one: &Growing) -> AnyView {
    let (a, b, today) = app.peek(|r| {
        (
            r.state.name_of(one.a).to_owned(),
            r.state.name_of(one.b).to_owned(),
            r.today,
        )
    });
    view! {
        <h3>{say::by_blocks()}</h3>
        {grown::by_blocks(&one.blocks, &a, &b, |block| say::size_class(block.block))}
        <h3>{say::by_looks()}</h3>
        {grown::by_looks(&one.looks, &a, &b, today)}
    }
    .into_any()
}

fn settles(result: &RunResult) -> AnyView {
    let shares = result.standing.groups.iter();
    let shares = shares.filter_map(|group| match group.shares {
        Shares::Known { by_rule, .. } => Some((group.group, by_rule.share)),
        Shares::Bounds(_) | Shares::Nothing => None,
    });
    let base = least_share(shares);
    // With several pairs nothing says which of them one more try is for.
    let gaps = match result.foresight.as_slice() {
        [only] => only.gaps.clone(),
        _ => Vec::new(),
    };
    view! {
        <h2>{say::settle_title()}</h2>
        <WouldSettle base=base gaps=gaps />
    }
    .into_any()
}

fn foresight(app: App, result: &RunResult) -> AnyView {
    if result.foresight.is_empty() {
        return ().into_any();
    }
    let all = result.foresight.clone();
    view! {
        <h2>{say::foresight_title()}</h2>
        {app.peek(|r| can_tell(&all, r.state))}
    }
    .into_any()
}

/// Method, formula, source, and what does not decide.
fn how(app: App, result: &RunResult) -> AnyView {
    let result = result.clone();
    view! { <Behind summary=trials::how_worked_out()>{how_lines(app, &result)}</Behind> }.into_any()
}

fn how_lines(app: App, result: &RunResult) -> AnyView {
    let stands = &result.standing;
    let mut lines = app.peek(|r| trials::how(r.state.runs.get(&stands.run), stands));
    if let Sentence::Decided(all) = &stands.sentence
        && let Some(first) = all.first()
    {
        lines.push(methods::test_in_words(first.verdict.method).to_owned());
        lines.push(methods::interval_in_words(first.compared.gap.by).to_owned());
    }
    if result.times.is_some() {
        lines.push(methods::days().to_owned());
    }
    if !result.measures.is_empty() {
        lines.push(methods::measures().to_owned());
    }
    if !result.growing.is_empty() {
        lines.push(methods::growing().to_owned());
    }
    if !result.foresight.is_empty() {
        lines.push(methods::foresight().to_owned());
    }
    let (other, tables) = app.peek(|r| {
        let mut other = result
            .overall
            .as_ref()
            .map(methods::overall)
            .unwrap_or_default();
        let speeds = result.times.iter().flat_map(|times| &times.speeds);
        other.extend(speeds.map(|speed| methods::speed(speed, r.state)));
        let measures = result.measures.iter();
        other.extend(measures.flat_map(|measure| methods::measure_tests(measure, r.state)));
        let tables = result.beside.iter();
        let tables = tables.map(|beside| methods::beside_table(beside, r.state));
        (other, tables.collect::<Vec<_>>())
    });
    let any = !other.is_empty() || !tables.is_empty();
    let paragraphs = |lines: Vec<String>| -> Vec<_> {
        lines
            .into_iter()
            .map(|line| view! { <p class="small">{line}</p> })
            .collect()
    };
    let tables: Vec<_> = tables
        .iter()
        .map(|table| view! { <p class="of-plot">{table.caption.clone()}</p> {table.show()} })
        .collect();
    view! {
        {paragraphs(lines)}
        {any.then(|| view! { <h3>{methods::other_methods()}</h3> })}
        {paragraphs(other)}
        {tables}
    }
    .into_any()
}
