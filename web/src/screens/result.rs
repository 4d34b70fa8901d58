//! What one try says: the sentence first, then its chapters with their pictures and tables; what does not decide, and how it was
//! worked out, is folded.

use std::rc::Rc;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::next::{Next, next};
use bloomdue_core::trial::result::design_power::least_share;
use bloomdue_core::trial::result::measures::{MeasureGap, MeasureResult};
use bloomdue_core::trial::result::pairing::PairUnits;
use bloomdue_core::trial::result::secondary::{Beside, Overall};
use bloomdue_core::trial::result::sequential::Growing;
use bloomdue_core::trial::result::times::{GroupTimes, Speed, Times, mean_gap};
use bloomdue_core::trial::result::{RunResult, parts};
use bloomdue_core::trial::standing::{Sentence, Shares};
use bloomdue_core::work::{Done, Task};
use bloomdue_words::glossary::Term;
use bloomdue_words::knowledge::Page;
use bloomdue_words::route::Route;
use bloomdue_words::{methods, nursery, report, results as say, scored, show, soundness, trials};
use leptos::prelude::*;

use super::run;
use crate::app::worker::Work;
use crate::app::{App, app, work};
use crate::parts::chapters::{Chapter, Chapters};
use crate::parts::conditions::Conditions;
use crate::parts::deferred::deferred;
use crate::parts::fold::Behind;
use crate::parts::forecasts::earlier;
use crate::parts::plots::bars::BarsPlot;
use crate::parts::plots::curve::CurvePlot;
use crate::parts::plots::dots::DotsPlot;
use crate::parts::plots::share::SharePlot;
use crate::parts::plots::table::{TableBehind, numbers};
use crate::parts::power::{WouldSettle, run_can_tell};
use crate::parts::sequential;
use crate::parts::working::WorkShown;
use crate::screens::{knowledge, words};

/// What a run says at once, without what takes longer: worked out after the screen is drawn and again whenever the records change.
pub(super) fn asked(app: App, run: Id) -> RwSignal<Option<Option<RunResult>>> {
    let answer = RwSignal::new(None);
    Effect::new(move |_| {
        app.read(|_| ());
        work::after_paint(move || {
            let found = app.peek(|r| parts::at_once(r.ledger, r.state, run, r.today));
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
    let stands = Signal::derive(move || answer.with(|found| Some(found.as_ref()?.as_ref()?.standing.clone())));
    view! {
        {run::head(app, run, stands, move |_| Route::Run(run))}
        {move || match answer.get() {
            None => view! { <p class="small" role="status">{say::working_out()}</p> }.into_any(),
            Some(None) => view! { <p>{trials::no_such_try()}</p> }.into_any(),
            Some(Some(result)) => body(app, result),
        }}
    }
}

fn body(app: App, result: RunResult) -> AnyView {
    let stands = &result.standing;
    let of = stands.run;
    let gaps = gaps(app, &result);
    let when = days(app, &result).map(|(title, body)| Chapter::When.section(title, body));
    let measured = match (measures(app, &result, &gaps), sound(app, &result)) {
        (None, None) => None,
        (measured, sound) => {
            Some(Chapter::Measured.section(say::measures_title(), view! { {measured} {sound} }.into_any()))
        }
    };
    let chapters = [
        Some(Chapter::Counted),
        when.is_some().then_some(Chapter::When),
        measured.is_some().then_some(Chapter::Measured),
        Some(Chapter::Next),
    ];
    let chapters: Vec<Chapter> = chapters.into_iter().flatten().collect();
    let (step, trial) = app.peek(|r| {
        let body = r.state.runs.get(&of).and_then(|run| run.body.shown());
        (next(r.state, stands, r.today), body.map(|body| body.trial))
    });
    let over = trial.map_or((Route::Trials, trials::trials()), |trial| (Route::Again(trial), trials::again()));
    let main = run::main(app, of, &step, &over);
    view! {
        {run::answer(app, stands)}
        <Chapters all=chapters />
        {Chapter::Counted.first_section(counted(app, &result))}
        {when}
        {measured}
        {Chapter::Next.section(say::settle_title(), ahead(app, &result, trial, &step))}
        {how(app, &result, gaps)}
        {run::act(app, of, main)}
    }
    .into_any()
}

/// The first chapter: shares, a mark a bulb, what has to be known beside them, and where the groups stood.
fn counted(app: App, result: &RunResult) -> AnyView {
    let stands = &result.standing;
    let pair_table = app.peek(|r| trials::pairs_table(stands, r.state)).map(|table| {
        view! {
            <h3>{table.caption.clone()}</h3>
            {numbers(&table)}
        }
    });
    let cultivars = say::cultivar_table(stands).map(|table| {
        let lines = say::cultivar_lines(stands);
        view! {
            <h3>{say::by_cultivar()}</h3>
            {paragraphs(lines)}
            {numbers(&table)}
            <p class="small">{say::by_cultivar_hint()}</p>
        }
    });
    let lines = run::lines(stands);
    let decided = stands.groups.iter().any(|group| matches!(group.shares, Shares::Known { .. }));
    let shares = (!lines.is_empty()).then(|| {
        view! {
            <SharePlot lines=lines />
            <p class="small">{say::line_means(decided)}</p>
        }
    });
    let marks: Vec<_> = stands
        .groups
        .iter()
        .map(|group| {
            view! { <div class="row bulbs-row">{run::mark_row(stands, group)}</div> }
        })
        .collect();
    let every_bulb = (!marks.is_empty()).then(|| {
        let groups = stands.groups.clone();
        view! {
            <h3>{report::every_one()}</h3>
            {marks}
            <Behind summary=say::counts_in_a_table()>
                <run::Table groups=groups.clone() />
            </Behind>
        }
    });
    let stood = Conditions::of(app, stands.run);
    let stood = stood.map(|stood| view! { <Behind summary=nursery::light()>{stood.view()}</Behind> });
    view! {
        {shares}
        {pair_table}
        {cultivars}
        {every_bulb}
        {notes(app, result)}
        {stood}
        {words::link(Term::Interval)}
        {knowledge::link(Page::Interval)}
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
        <h3>{trials::to_know()}</h3>
        <ul>{lines}</ul>
    }
    .into_any()
}

/// Each bulb on the time axis, and the curves, under their title.
fn days(app: App, result: &RunResult) -> Option<(String, AnyView)> {
    let stands = &result.standing;
    let (times, rule) = (result.times.clone()?, stands.rule.as_ref()?);
    let (window, names) = (stands.window.clone(), names(result));
    let (today, speeds) = app.peek(|r| {
        let speeds = pairs(result).into_iter();
        let speeds = speeds.filter_map(|pair| speed_line(&times, pair, r.state));
        (r.today, speeds.collect::<Vec<_>>())
    });
    let speeds = paragraphs(speeds);
    let body = view! {
        <div class="figures">
            <div>
                <p class="small">{say::when_hint()}</p>
                <BarsPlot times=times.clone() names=names.clone() window=window.clone() today=today />
            </div>
            <div>
                <h3>{say::curve_title()}</h3>
                <p class="small">{say::curve_hint()}</p>
                <CurvePlot times=times names=names window=window today=today />
                {speeds}
            </div>
        </div>
    };
    Some((say::when_title(trials::goal_stage(rule.stage)), body.into_any()))
}

/// The pairs that are compared, the group that was named first first.
fn pairs(result: &RunResult) -> Vec<(Id, Id)> {
    let ids: Vec<Id> = result.standing.groups.iter().map(|group| group.group).collect();
    let at = |id: Id| ids.iter().position(|other| *other == id);
    let compared = result.standing.compared.iter();
    let pair =
        compared.map(|one| if at(one.more) < at(one.fewer) { (one.more, one.fewer) } else { (one.fewer, one.more) });
    pair.collect()
}

/// How much longer one group waited than the other.
fn speed_line(times: &Times, (a, b): (Id, Id), state: &State) -> Option<String> {
    let of = |id: Id| times.groups.iter().find(|group| group.group == id);
    let mean = mean_gap(of(a)?, of(b)?).ok()?;
    Some(say::speed(mean, times.tau_days, state.name_of(a), state.name_of(b)))
}

/// The pictures that a report on paper has: days and measures.
pub(super) fn pictures(app: App, result: &RunResult) -> AnyView {
    let days = days(app, result).map(|(title, body)| view! { <h2>{title}</h2> {body} });
    let measures = measures(app, result, &gaps(app, result));
    let measures = measures.map(|body| view! { <h2>{say::measures_title()}</h2> {body} });
    let sound = sound(app, result);
    view! { {days} {measures} {sound} }.into_any()
}

fn measures(app: App, result: &RunResult, gaps: &[Option<Work>]) -> Option<AnyView> {
    if result.measures.is_empty() {
        return None;
    }
    let names = names(result);
    let all: Vec<_> = result
        .measures
        .iter()
        .zip(gaps)
        .map(|(measure, work)| {
            let what = measure.what;
            let labels = labels(result, measure);
            let gaps = work.clone().map(|work| {
                gaps_of(work, move |gaps| {
                    app.peek(|r| {
                        let gaps = gaps.iter();
                        gaps.map(|gap| say::measure_gap(what, gap, r.state)).collect()
                    })
                })
            });
            view! {
                <div>
                    <h3>{say::measurand(what)}</h3>
                    <DotsPlot measure=measure.clone() names=names.clone() labels=labels />
                    {gaps}
                </div>
            }
        })
        .collect();
    let body = view! {
        <p class="small">{say::measures_hint()}</p>
        <div class="figures">{all}</div>
    };
    Some(body.into_any())
}

/// Soundness and losses, where someone inspected bulbs or some died.
pub(super) fn sound(app: App, result: &RunResult) -> Option<AnyView> {
    let found = result.soundness.as_ref()?;
    let (lines, table) = app.peek(|r| {
        let groups = found.groups.iter().map(|group| soundness::group(group, r.state));
        let pairs = found.pairs.iter().map(|pair| soundness::pair(pair, r.state));
        let lines: Vec<String> = groups.chain(pairs).chain(soundness::not_yet(found)).collect();
        (lines, soundness::table(found, r.state))
    });
    let lines: Vec<_> = lines.into_iter().map(|line| view! { <p>{line}</p> }).collect();
    let body = view! {
        <h3>{soundness::title()}</h3>
        <p class="small">{soundness::hint()}</p>
        {lines}
        <TableBehind table=table />
        <p class="small">{soundness::how()}</p>
    };
    Some(body.into_any())
}

/// By how much groups differ in each measure, once there is a verdict: asked for once, shown in two places.
fn gaps(app: App, result: &RunResult) -> Vec<Option<Work>> {
    let run = result.standing.run;
    let ask = |measure: &MeasureResult| {
        let pairs = parts::gap_pairs(&result.standing, measure);
        let what = Some(measure.what);
        (!pairs.is_empty()).then(|| app.work(Task::Pairs { run, what, pairs }))
    };
    result.measures.iter().map(ask).collect()
}

fn gaps_of(work: Work, said: impl Fn(Vec<MeasureGap>) -> Vec<String> + Send + 'static) -> impl IntoView {
    let shown = move |done| {
        let Done::Pairs(pairs) = done else {
            return ().into_any();
        };
        paragraphs(said(pairs.iter().map(MeasureGap::of).collect())).into_any()
    };
    view! { <WorkShown work=work shown=shown /> }
}

fn paragraphs(lines: Vec<String>) -> Vec<impl IntoView> {
    lines.into_iter().map(|line| view! { <p class="small">{line}</p> }).collect()
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
            measured.values.iter().map(|(unit, _)| label(*unit)).collect()
        })
        .collect()
}

/// The last chapter: what would settle it, what further tries bring, and where to go from here.
fn ahead(app: App, result: &RunResult, trial: Option<Id>, step: &Next) -> AnyView {
    let run = result.standing.run;
    let again = trial.filter(|_| *step != Next::Ended).map(|trial| (Route::Again(trial), trials::again()));
    let pages = [again, Some((Route::Report(run), report::title())), Some((Route::Show(run), show::title()))];
    let pages: Vec<_> = pages.into_iter().flatten().map(|(route, words)| run::to(route, words.to_owned())).collect();
    view! {
        {settles(app, result)}
        <Behind summary=say::foresight_title()>{run_can_tell(app, run)}</Behind>
        {growing(app, &result.growing)}
        <Behind summary=scored::title()>{move || earlier(app, Some(&[run]))}</Behind>
        <div class="no-print">{pages}</div>
    }
    .into_any()
}

fn growing(app: App, all: &[Growing]) -> AnyView {
    if all.is_empty() {
        return ().into_any();
    }
    let all = all.to_vec();
    view! { <Behind summary=say::growing_title()>{grown(app, &all)}</Behind> }.into_any()
}

fn grown(app: App, all: &[Growing]) -> AnyView {
    let pairs: Vec<_> = match all {
        [one] => vec![grown_pair(app, one)],
        all => {
            let pair = |one: &Growing| {
                let name = app.peek(|r| say::two(r.state.name_of(one.a), r.state.name_of(one.b)));
                let one = one.clone();
                view! { <Behind summary=name>{grown_pair(app, &one)}</Behind> }.into_any()
            };
            all.iter().map(pair).collect()
        }
    };
    view! {
        <p class="small">{say::growing_hint()}</p>
        {pairs}
    }
    .into_any()
}

fn grown_pair(app: App, one: &Growing) -> AnyView {
    let (a, b, today) = app.peek(|r| (r.state.name_of(one.a).to_owned(), r.state.name_of(one.b).to_owned(), r.today));
    view! {
        <h3>{say::by_blocks()}</h3>
        {sequential::by_blocks(&one.blocks, &a, &b, |block| say::size_class(block.block))}
        <h3>{say::by_looks()}</h3>
        {sequential::by_looks(&one.looks, &a, &b, today)}
    }
    .into_any()
}

fn settles(app: App, result: &RunResult) -> impl IntoView + use<> {
    let shares = result.standing.groups.iter();
    let shares = shares.filter_map(|group| match group.shares {
        Shares::Known { by_rule, .. } => Some((group.group, by_rule.share)),
        Shares::Bounds(_) | Shares::Nothing => None,
    });
    let base = least_share(shares);
    view! { <WouldSettle base=base one_more_like=Some((app, result.standing.run)) /> }
}

/// Method, formula, source, and what does not decide.
fn how(app: App, result: &RunResult, gaps: Vec<Option<Work>>) -> AnyView {
    let result = result.clone();
    view! { <Behind summary=trials::how_worked_out()>{how_lines(app, &result, &gaps)}</Behind> }.into_any()
}

fn how_lines(app: App, result: &RunResult, gaps: &[Option<Work>]) -> AnyView {
    let stands = &result.standing;
    let mut lines = app.peek(|r| trials::how(r.state.runs.get(&stands.run), stands));
    let verdict = match &stands.sentence {
        Sentence::Decided(all) => all.first(),
        _ => None,
    };
    if let Some(first) = verdict {
        lines.push(methods::test_in_words(first.verdict.method).to_owned());
        lines.push(methods::interval_in_words(first.compared.gap.by).to_owned());
    }
    let drawn = !result.growing.is_empty();
    let of_parts = [
        (result.times.is_some(), methods::days()),
        (!result.measures.is_empty(), methods::measures()),
        (drawn, methods::growing()),
        (drawn, methods::foresight()),
    ];
    let there = of_parts.into_iter().filter(|(there, _)| *there);
    lines.extend(there.map(|(_, words)| words.to_owned()));
    view! {
        {paragraphs(lines)}
        {verdict.is_some().then(|| others(app, result, gaps))}
    }
    .into_any()
}

fn speeds(app: App, run: Id, pairs: Vec<PairUnits>, times: Vec<GroupTimes>) -> AnyView {
    if pairs.is_empty() {
        return ().into_any();
    }
    let what = None;
    let work = app.work(Task::Pairs { run, what, pairs });
    let shown = move |done| {
        let Done::Pairs(pairs) = done else {
            return ().into_any();
        };
        let speeds = pairs.iter().filter_map(|pair| Speed::of(pair, &times));
        let lines = app.peek(|r| speeds.map(|speed| methods::speed(&speed, r.state)).collect());
        paragraphs(lines).into_any()
    };
    view! { <WorkShown work=work shown=shown /> }.into_any()
}

fn other_methods(app: App, pairs: &[Beside], overall: Option<&Overall>) -> AnyView {
    let lines = overall.map(methods::overall).unwrap_or_default();
    let tables = app.peek(|r| {
        let tables = pairs.iter();
        tables.map(|beside| methods::beside_table(beside, r.state)).collect::<Vec<_>>()
    });
    let tables: Vec<_> =
        tables.iter().map(|table| view! { <p class="of-plot">{table.caption.clone()}</p> {numbers(table)} }).collect();
    view! { {paragraphs(lines)} {tables} }.into_any()
}

/// What does not decide, each worked out by itself.
fn others(app: App, result: &RunResult, gaps: &[Option<Work>]) -> AnyView {
    let run = result.standing.run;
    let stands = Rc::new(result.standing.clone());
    let its = Rc::clone(&stands);
    let beside = deferred(
        move || app.peek(|r| parts::beside(r.state, &its)),
        move |sides| {
            let Some(sides) = sides.map(Box::new) else {
                return ().into_any();
            };
            let work = app.work(Task::Others { run, sides });
            let shown = move |done| match done {
                Done::Others { pairs, overall } => other_methods(app, &pairs, overall.as_ref()),
                _ => ().into_any(),
            };
            view! { <WorkShown work=work shown=shown /> }.into_any()
        },
    );
    let times = result.times.as_ref().map_or_else(Vec::new, |times| times.groups.clone());
    let speeds = deferred(
        move || app.peek(|r| parts::speed_pairs(r.state, &stands, r.today)),
        move |pairs| speeds(app, run, pairs, times.clone()),
    );
    let measures = result.measures.iter().zip(gaps).filter_map(|(measure, work)| {
        let what = measure.what;
        let said = move |gaps: Vec<MeasureGap>| app.peek(|r| methods::measure_tests(what, &gaps, r.state));
        Some(gaps_of(work.clone()?, said))
    });
    let measures: Vec<_> = measures.collect();
    view! {
        <h3>{methods::other_methods()}</h3>
        {beside}
        {speeds}
        {measures}
    }
    .into_any()
}
