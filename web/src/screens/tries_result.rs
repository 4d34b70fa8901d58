//! What all tries of a trial say together: the sentence first, then each try with a mark a bulb, the tries beside one another,
//! what to expect of the next one, and how far it reaches.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::result::design_power::least_share;
use bloomdue_core::trial::result::tries::{NextTry, PairOverTries, TrialResult, strata, trial_result};
use bloomdue_core::trial::standing::Decided;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::route::Route;
use bloomdue_words::{common, methods, over_tries as say, report, results, scored, trials};
use leptos::prelude::*;

use crate::app::{App, app, work};
use crate::parts::fold::Behind;
use crate::parts::forecasts::earlier;
use crate::parts::heading::Heading;
use crate::parts::mark;
use crate::parts::plots::forest::{ForestLine, ForestPlot, Row};
use crate::parts::plots::table::{TableBehind, numbers};
use crate::parts::power::WouldSettle;
use crate::parts::sequential;
use crate::parts::tries::TryRow;
use crate::parts::working::WorkShown;
use crate::screens::run::to;

/// What all tries say, worked out after the screen is drawn and again whenever the records change.
pub(super) fn asked(app: App, trial: Id) -> RwSignal<Option<Option<TrialResult>>> {
    let answer = RwSignal::new(None);
    Effect::new(move |_| {
        app.read(|_| ());
        work::after_paint(move || {
            let found = app.peek(|r| trial_result(r.ledger, r.state, trial, r.today));
            // The screen may have been left meanwhile.
            let _ = answer.try_set(Some(found));
        });
    });
    answer
}

/// The sentences of all pairs, or that no try counts.
pub(super) fn sentences(app: App, result: &TrialResult) -> Vec<String> {
    let any = result.pairs.iter().any(|pair| pair.decided.is_some());
    if !any {
        return vec![say::no_try_counts().to_owned()];
    }
    let decided: Vec<Decided> = result.pairs.iter().filter_map(|pair| pair.decided).collect();
    if decided.len() > trials::MOST_PAIRS {
        return vec![trials::of_pairs(&decided)];
    }
    app.peek(|r| {
        let pairs = result.pairs.iter().cloned().map(PairOverTries::ahead_first);
        pairs.map(|pair| say::sentence(&pair, r.state)).collect()
    })
}

/// What all tries say.
#[component]
pub(crate) fn TriesResult(trial: Id) -> impl IntoView {
    let app = app();
    let answer = asked(app, trial);
    let tries = Memo::new(move |_| app.read(|r| TryRow::of_trial(r, trial)));
    let under = move || {
        let found = answer.get().flatten();
        found.map_or_else(String::new, |found| {
            let counted = found.tries.iter().filter(|one| one.not_counted.is_none());
            say::n_that_count(counted.count(), found.tries.len())
        })
    };
    view! {
        <Heading
            place=say::title()
            title=Signal::derive(move || app.read(|r| r.state.name_of(trial).to_owned()))
            under=Signal::derive(under)
            back=Route::Trial(trial)
        />
        {move || match answer.get() {
            None => view! { <p class="small" role="status">{results::working_out()}</p> }.into_any(),
            Some(None) => view! { <p>{trials::no_such_try()}</p> }.into_any(),
            Some(Some(result)) => body(app, &result, tries),
        }}
        <div class="act">
            <a class="btn main" href=Route::Again(trial).href()>{trials::again()}</a>
        </div>
    }
}

fn body(app: App, result: &TrialResult, tries: Memo<Vec<TryRow>>) -> AnyView {
    let sentences: Vec<_> =
        sentences(app, result).into_iter().map(|line| view! { <p class="say">{line}</p> }).collect();
    let counted = result.pairs.iter().filter(|pair| pair.decided.is_some());
    let pairs: Vec<_> = counted.cloned().map(|one| pair(app, result, one.ahead_first())).collect();
    view! {
        {sentences}
        <h2 class="unseen">{say::tries_by_bulbs()}</h2>
        <For each=move || tries.get() key=TryRow::clone children=move |one| one.view(app) />
        {move || tries.with(|tries| mark::legend(&TryRow::kinds(tries.iter())))}
        {pairs}
        {reach(app, result)}
        {factors(result)}
        {forecasts(app, result)}
        {how(app, result)}
        <div class="gap-above no-print">{to(Route::Report(result.trial), report::title().to_owned())}</div>
    }
    .into_any()
}

/// How earlier forecasts of the due windows of its tries did.
fn forecasts(app: App, result: &TrialResult) -> impl IntoView + use<> {
    let runs: Vec<Id> = result.tries.iter().map(|one| one.run).collect();
    let said = move || {
        let runs = runs.clone();
        move || earlier(app, Some(&runs))
    };
    view! { <Behind summary=scored::title()>{said()}</Behind> }
}

fn pair(app: App, result: &TrialResult, pair: PairOverTries) -> AnyView {
    let several = result.pairs.len() > 1;
    let name = app.peek(|r| results::two(r.state.name_of(pair.a), r.state.name_of(pair.b)));
    // Where there are many pairs the page only counts them at its head.
    let sentence = (result.pairs.len() > trials::MOST_PAIRS).then(|| app.peek(|r| say::sentence(&pair, r.state)));
    let kind = app.peek(|r| say::kind_of_place(&pair, result.scope, r.state));
    let shares = pair.forest.iter().flat_map(|row| [(pair.a, row.a), (pair.b, row.b)]);
    let base = least_share(shares);
    let (for_next, for_grown) = (pair.clone(), pair.clone());
    view! {
        <h2>{if several { name } else { say::forest_title().to_owned() }}</h2>
        {sentence.map(|line| view! { <p>{line}</p> })}
        {forest(app, &pair, None)}
        {kind.map(|line| view! { <p>{line}</p> })}
        <Behind summary=say::next_title()>{next(app, for_next.clone(), true)}</Behind>
        <Behind summary=results::growing_title()>{grown_over_tries(app, &for_grown)}</Behind>
        <h3>{results::settle_title()}</h3>
        <WouldSettle base=base one_more_like=None />
    }
    .into_any()
}

/// The picture and its table, with the next try where that is known.
fn forest(app: App, pair: &PairOverTries, next: Option<NextTry>) -> AnyView {
    let interval = |said: bloomdue_core::evidence::Result<bloomdue_core::evidence::Interval>| {
        said.ok().map(|found| (found.lower, found.upper))
    };
    let mut lines: Vec<ForestLine> = pair
        .forest
        .iter()
        .map(|row| ForestLine {
            row: Row::Try,
            label: common::ordinal_try(row.ordinal),
            estimate: row.gap.difference,
            interval: interval(row.gap.interval),
            n_bulbs: Some(row.a.of() + row.b.of()),
        })
        .collect();
    lines.extend(pair.decided.iter().map(|decided| ForestLine {
        row: Row::Pooled,
        label: say::all_tries().to_owned(),
        estimate: decided.compared.gap.difference,
        interval: interval(decided.compared.gap.interval),
        n_bulbs: Some(pair.forest.iter().map(|row| row.a.of() + row.b.of()).sum()),
    }));
    lines.extend(next.map(|next| ForestLine {
        row: Row::Next,
        label: say::next_try().to_owned(),
        estimate: next.median,
        interval: Some((next.lower, next.upper)),
        n_bulbs: None,
    }));
    let (table, fewer, more) = app.peek(|r| {
        let table = say::forest_table(pair, next.as_ref(), r.state);
        (table, say::more_with(r.state.name_of(pair.b)), say::more_with(r.state.name_of(pair.a)))
    });
    view! {
        <ForestPlot lines=lines sides=(fewer, more) />
        <p class="small">{say::forest_key()}</p>
        <TableBehind table=table />
    }
    .into_any()
}

/// What stands on paper: the sentences, the forest of each pair, what to expect of the next try, and how far it reaches.
pub(super) fn paper(app: App, result: &TrialResult) -> AnyView {
    let sentences: Vec<_> =
        sentences(app, result).into_iter().map(|line| view! { <p class="say">{line}</p> }).collect();
    let counted = result.pairs.iter().filter(|pair| pair.decided.is_some());
    let pairs: Vec<_> = counted
        .cloned()
        .map(|pair| {
            let pair = pair.ahead_first();
            let name = app.peek(|r| results::two(r.state.name_of(pair.a), r.state.name_of(pair.b)));
            view! {
                <h2>{name}</h2>
                {forest(app, &pair, None)}
                <h3>{say::next_title()}</h3>
                {next(app, pair, false)}
            }
        })
        .collect();
    view! {
        {sentences}
        {pairs}
        {reach(app, result)}
    }
    .into_any()
}

/// The prediction, which takes longer: a sentence, and on wish the same picture with one more row.
fn next(app: App, pair: PairOverTries, with_picture: bool) -> AnyView {
    let tries = match strata(&pair.forest) {
        Ok(tries) => tries,
        Err(why) => return view! { <p class="small">{results::cannot(why)}</p> }.into_any(),
    };
    let (a, b) = (pair.a, pair.b);
    let work = app.work(Task::NextTry { a, b, tries });
    let shown = move |done| {
        let Done::NextTry(said) = done else {
            return ().into_any();
        };
        let sentence = app.peek(|r| say::prediction(said, &pair, r.state));
        let next = said.ok().filter(|_| with_picture);
        let picture = next.map(|next| forest(app, &pair, Some(next)));
        view! {
            <p>{sentence}</p>
            {picture}
        }
        .into_any()
    };
    view! { <WorkShown work=work shown=shown /> }.into_any()
}

fn grown_over_tries(app: App, pair: &PairOverTries) -> AnyView {
    let (a, b, runs) = app.peek(|r| {
        let ordinal = |run: &Id| {
            let body = r.state.runs.get(run).and_then(|run| run.body.shown());
            body.map_or(0, |body| body.ordinal)
        };
        let runs = pair.growing.iter().map(|block| (block.run, ordinal(&block.run)));
        (r.state.name_of(pair.a).to_owned(), r.state.name_of(pair.b).to_owned(), runs.collect::<Vec<_>>())
    });
    let label = |block: &bloomdue_core::trial::result::sequential::AfterBlock| {
        let ordinal = runs.iter().find(|(run, _)| *run == block.run);
        say::class_of_try(ordinal.map_or(0, |(_, ordinal)| *ordinal), block.block)
    };
    view! {
        <p class="small">{results::growing_hint()}</p>
        {sequential::by_blocks(&pair.growing, &a, &b, label)}
    }
    .into_any()
}

/// How far it reaches, and the tries that do not count.
fn reach(app: App, result: &TrialResult) -> AnyView {
    let left_out: Vec<_> = app.peek(|r| {
        let tries = result.tries.iter();
        tries
            .filter_map(|one| Some(say::not_counted(one, one.not_counted?, r.state, r.today)))
            .map(|line| view! { <li>{line}</li> })
            .collect()
    });
    let any = !left_out.is_empty();
    let counts = result.pairs.iter().any(|pair| pair.decided.is_some());
    view! {
        {counts
            .then(|| view! {
                <h2>{say::reach_title()}</h2>
                <p>{say::scope(result.scope)}</p>
            })}
        {any.then(|| view! { <h2>{say::not_counted_title()}</h2> <ul>{left_out}</ul> })}
    }
    .into_any()
}

fn factors(result: &TrialResult) -> AnyView {
    if result.factors.is_empty() {
        return ().into_any();
    }
    view! {
        <h2>{say::factors_title()}</h2>
        {numbers(&methods::factors_table(&result.factors))}
        <p class="small">{methods::factors_how()}</p>
    }
    .into_any()
}

fn how(app: App, result: &TrialResult) -> AnyView {
    let counted = result.pairs.iter().filter(|pair| pair.decided.is_some());
    let pairs: Vec<PairOverTries> = counted.cloned().map(PairOverTries::ahead_first).collect();
    if pairs.is_empty() {
        return ().into_any();
    }
    view! { <Behind summary=trials::how_worked_out()>{how_lines(app, &pairs)}</Behind> }.into_any()
}

fn how_lines(app: App, pairs: &[PairOverTries]) -> AnyView {
    let decided = pairs.iter().filter_map(|pair| pair.decided.as_ref());
    let mut lines = vec![methods::over_tries().to_owned()];
    if let Some(first) = pairs.iter().find_map(|pair| pair.decided.as_ref()) {
        lines.push(methods::test_in_words(first.verdict.method).to_owned());
        lines.push(methods::interval_in_words(first.compared.gap.by).to_owned());
    }
    lines.extend(decided.map(trials::how_decided));
    lines.push(methods::growing().to_owned());
    let lines: Vec<_> = lines.into_iter().map(|line| view! { <p class="small">{line}</p> }).collect();
    let tables: Vec<_> = pairs
        .iter()
        .map(|pair| app.peek(|r| methods::over_tries_table(pair, r.state)))
        .map(|table| view! { <p class="of-plot">{table.caption.clone()}</p> {numbers(&table)} })
        .collect();
    view! {
        {lines}
        <h3>{methods::other_methods()}</h3>
        {tables}
    }
    .into_any()
}
