//! All tries of a trial together: never by adding their counts, always try beside try.
//!
//! A try counts when lots were drawn, it is closed, its last day is over, nothing is undecided, and its rule asks for
//! the same goal and stage as the first that counts. The one test over tries is the exact conditional test, stratified by
//! try and size class, whose error is spent try by try in the order of their last days ([`crate::evidence::over_tries`]):
//! equal groups are ever told apart 1 time in 20 at most, however many tries follow. A try that runs counts for nothing,
//! so that looking while it runs is no further look. Tries of whole containers are permuted within try and size class,
//! each look with its own part of the error. Where the treatment was given to whole places, the try is the unit of any claim about the kind of place, and it takes at least
//! three.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::sequential::{self, AfterBlock};
use crate::{
    calendar::Date,
    evidence::{
        Interval, Level, Share, breslow_day, firth, hierarchical,
        random_effects::{self, Between, Limits},
        serialize_said, sign_flip,
        strata::Stratum,
        verdict::{Gap, Groups, InTries, Verdict, family_over_tries},
    },
    ledger::{
        Ledger, Register,
        body::{AppliedTo, Family, Rule},
        id::Id,
    },
    limits,
    nursery::State,
    trial::standing::{
        Decided, Design, GroupStanding, Sentence, Shares, Standing, WhyNoTest, family_of, oriented, side_by_side,
        standing,
    },
};

/// A claim about the kind of place takes so many tries.
pub const TRIES_FOR_A_KIND: usize = 3;

/// Why a try does not count in what all tries say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotCounted {
    /// It has no verdict of its own, and never will or not yet.
    NoTest(WhyNoTest),
    /// Something is waiting.
    Waiting,
    /// Something can't be said.
    CantSay,
    /// Its rule asks for another goal, stage or unit than the first try that counts.
    OtherRule,
}

/// One try beside the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Try {
    /// The run.
    pub run: Id,
    /// First try, second try: 1, 2 …
    pub ordinal: u32,
    /// The first day.
    pub start: Date,
    /// Why it does not count.
    pub not_counted: Option<NotCounted>,
    /// The groups' shares, where all is decided.
    pub shares: Vec<(Id, Share)>,
}

/// Two groups in one try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ForestRow {
    /// The run.
    pub run: Id,
    /// First try, second try.
    pub ordinal: u32,
    /// Group a.
    pub a: Share,
    /// Group b.
    pub b: Share,
    /// a less b with its interval.
    pub gap: Gap,
    /// Whether the counts are of bulbs in containers that were drawn whole: they are not independent of each other, and
    /// no model of counts may take them as if they were.
    pub bulbs_in_containers: bool,
}

/// The Bayesian model over tries, for reading, with its prediction for the next try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct NextTry {
    /// Difference of shares in the next try, a less b: 2.5 %, median, 97.5 %.
    pub lower: f64,
    /// Median.
    pub median: f64,
    /// Upper.
    pub upper: f64,
    /// Probability that a is ahead in the next try.
    pub a_ahead: f64,
    /// Mean difference in a typical try.
    pub typical: f64,
}

/// A random-effects estimate over tries: REML with Hartung and Knapp's limits, factor at least 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OverTries {
    /// Difference of shares, a less b.
    pub estimate: f64,
    /// Its limits, 95 %.
    pub interval: Interval,
    /// Standard deviation between tries.
    pub tau: f64,
    /// p of Cochran's Q, that tries are alike.
    pub q_p: f64,
}

/// Where the place is what differs: each try one difference.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct KindOfPlace {
    /// Two-sided p of the sign flips.
    pub p: f64,
    /// The smallest p that so many tries can reach.
    pub smallest_p: f64,
    /// Mean difference.
    pub mean: f64,
}

/// What all tries say of two groups.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PairOverTries {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Try by try.
    pub forest: Vec<ForestRow>,
    /// The pooled difference and the one test; none while no try counts.
    pub decided: Option<Decided>,
    /// p that the odds ratio is the same in all tries (Breslow & Day, Tarone).
    #[serde(serialize_with = "serialize_said")]
    pub alike_p: crate::evidence::Result<f64>,
    /// Random effects.
    #[serde(serialize_with = "serialize_said")]
    pub random: crate::evidence::Result<OverTries>,
    /// A claim about the kind of place, where a factor was applied to places.
    #[serde(serialize_with = "serialize_said")]
    pub kind_of_place: crate::evidence::Result<KindOfPlace>,
    /// The evidence as it grew, over the size classes of all tries that were drawn, in order.
    pub growing: Vec<AfterBlock>,
}

impl PairOverTries {
    /// The same with the group that is ahead first, where all tries together say which; differences are then that group
    /// less the other.
    #[must_use]
    pub fn ahead_first(self) -> Self {
        if self.decided.is_none_or(|one| one.compared.more == self.a) {
            return self;
        }
        let row = |row: &ForestRow| ForestRow { a: row.b, b: row.a, gap: row.gap.turned(), ..*row };
        let after = |block: &AfterBlock| AfterBlock { a: block.b, b: block.a, ..*block };
        Self {
            a: self.b,
            b: self.a,
            forest: self.forest.iter().map(row).collect(),
            decided: self.decided,
            alike_p: self.alike_p,
            random: self.random.map(|random| OverTries {
                estimate: -random.estimate,
                interval: Interval { lower: -random.interval.upper, upper: -random.interval.lower },
                ..random
            }),
            kind_of_place: self.kind_of_place.map(|found| KindOfPlace { mean: -found.mean, ..found }),
            growing: self.growing.iter().map(after).collect(),
        }
    }
}

/// How far what is said reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scope {
    /// These tries, in this nursery, under its conditions.
    TheseTries {
        /// How many count.
        n_tries: usize,
    },
    /// These very places: one place each, so that the place itself may have made the difference.
    ThesePlaces {
        /// How many tries count.
        n_tries: usize,
    },
}

/// One thing that differs, with all others held alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FactorEffect {
    /// The factor.
    pub factor: String,
    /// The level that it is compared to, the first.
    pub from: String,
    /// The level.
    pub to: String,
    /// Log odds ratio, with its profile limits.
    pub estimate: f64,
    /// Profile limits, 95 %.
    #[serde(serialize_with = "serialize_said")]
    pub interval: crate::evidence::Result<Interval>,
    /// p of the penalised likelihood ratio.
    #[serde(serialize_with = "serialize_said")]
    pub p: crate::evidence::Result<f64>,
}

/// Everything the tries of one trial say together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialResult {
    /// The trial.
    pub trial: Id,
    /// Try by try.
    pub tries: Vec<Try>,
    /// The pairs that are compared.
    pub pairs: Vec<PairOverTries>,
    /// How far it reaches.
    pub scope: Scope,
    /// Factors at once, for trials with two or more; for reading.
    pub factors: Vec<FactorEffect>,
}

/// Everything the tries of a trial say on `today`; nothing when there is no such trial.
pub fn trial_result(ledger: &Ledger, state: &State, trial: Id, today: Date) -> Option<TrialResult> {
    let known = state.trials.get(&trial)?;
    let mut runs: Vec<(Id, u32, Standing)> = state
        .runs_of_trial(trial)
        .into_iter()
        .filter_map(|(id, run)| {
            let ordinal = run.body.shown().map_or(0, |body| body.ordinal);
            Some((id, ordinal, standing(ledger, state, id, today)?))
        })
        .collect();
    runs.sort_by_key(|(id, ordinal, _)| (*ordinal, *id));
    let first =
        runs.iter().find(|(.., stands)| not_counted(stands).is_none()).and_then(|(.., stands)| stands.rule.clone());
    let why = |stands: &Standing| not_counted(stands).or_else(|| other_rule(stands, first.as_ref()));
    let tries = runs
        .iter()
        .map(|(run, ordinal, stands)| Try {
            run: *run,
            ordinal: *ordinal,
            start: state.runs.get(run).and_then(|run| run.start()).unwrap_or(today),
            not_counted: why(stands),
            shares: known_shares(stands),
        })
        .collect();
    let counted: Vec<Counted<'_>> = runs
        .iter()
        .filter(|(.., stands)| why(stands).is_none())
        .filter_map(|(run, ordinal, stands)| Counted::of(state, *run, *ordinal, stands))
        .collect();
    let drawn: Vec<Counted<'_>> = runs
        .iter()
        .filter(|(run, _, stands)| is_drawn(state, *run, stands))
        .filter_map(|(run, ordinal, stands)| Counted::of(state, *run, *ordinal, stands))
        .collect();
    let question = known.question.shown();
    let by_place = question.is_some_and(|question| {
        let mut applied = question.factors.iter().map(|factor| factor.applied_to);
        applied.any(|applied| applied == AppliedTo::Place)
    });
    let n_tries = counted.len();
    Some(TrialResult {
        trial,
        tries,
        pairs: over_tries(&counted, &drawn, by_place, &in_order(state, question, &runs)),
        scope: if by_place { Scope::ThesePlaces { n_tries } } else { Scope::TheseTries { n_tries } },
        factors: question.map_or_else(Vec::new, |question| factors(state, question, &counted)),
    })
}

/// The model with its prediction for the next try, all in one go.
///
/// It takes longer than the rest and is asked for by itself; a screen has it done by [`crate::work`].
///
/// # Errors
/// When no try has both groups, or their bulbs stand in containers that were drawn whole.
pub fn next_try(forest: &[ForestRow]) -> crate::evidence::Result<NextTry> {
    let tries = strata(forest)?;
    let posterior = hierarchical::posterior(&tries, hierarchical::Priors::DEFAULT)?;
    Ok(NextTry::of(&posterior))
}

/// The counts of a forest, which are all that a model of counts asks for.
///
/// # Errors
/// When they are of bulbs in containers that were drawn whole: these do not count each by itself.
pub fn strata(forest: &[ForestRow]) -> crate::evidence::Result<Vec<Stratum>> {
    if forest.iter().any(|row| row.bulbs_in_containers) {
        return super::refused(crate::evidence::Reason::SpreadUnknown);
    }
    let rows = forest.iter();
    Ok(rows.map(|row| Stratum { a: row.a, b: row.b }).collect())
}

impl NextTry {
    /// What the model says of the next try.
    pub fn of(posterior: &hierarchical::Posterior) -> Self {
        Self {
            lower: posterior.next.lower,
            median: posterior.next.median,
            upper: posterior.next.upper,
            a_ahead: posterior.next.positive,
            typical: posterior.typical_difference,
        }
    }
}

fn known_shares(stands: &Standing) -> Vec<(Id, Share)> {
    let known = |group: &GroupStanding| match group.shares {
        Shares::Known { by_rule, .. } => Some((group.group, by_rule.share)),
        Shares::Bounds(_) | Shares::Nothing => None,
    };
    stands.groups.iter().filter_map(known).collect()
}

fn not_counted(stands: &Standing) -> Option<NotCounted> {
    match &stands.sentence {
        Sentence::Decided(_) => None,
        Sentence::StillRunning { .. } => Some(NotCounted::Waiting),
        Sentence::Undecided { .. } => Some(NotCounted::CantSay),
        // A try in which no size class has both groups still counts in a trial: it just says nothing of the difference.
        Sentence::NoTest(WhyNoTest::NoClassWithBoth | WhyNoTest::NothingLeft(_)) => None,
        Sentence::CountsOnly(why) | Sentence::NoTest(why) => Some(NotCounted::NoTest(*why)),
    }
}

fn other_rule(stands: &Standing, first: Option<&Rule>) -> Option<NotCounted> {
    let (own, first) = (stands.rule.as_ref()?, first?);
    let same = own.goal == first.goal && own.stage == first.stage && own.unit == first.unit;
    (!same).then_some(NotCounted::OtherRule)
}

/// Whether lots were drawn, finished or not: the evidence as it grew takes what is decided of these.
fn is_drawn(state: &State, run: Id, stands: &Standing) -> bool {
    let design = state.runs.get(&run).and_then(|known| Design::of(run, known).ok());
    design.is_some_and(|design| design.never(state, &stands.groups).is_none())
}

/// The groups in the order of the question, else as tries first named them.
fn in_order(
    state: &State,
    question: Option<&crate::ledger::body::Question>,
    runs: &[(Id, u32, Standing)],
) -> Vec<(Id, bool)> {
    let mut ids: Vec<Id> = question.map_or_else(Vec::new, |question| question.groups.clone());
    let mut known: BTreeSet<Id> = ids.iter().copied().collect();
    for group in runs.iter().flat_map(|(.., stands)| &stands.groups) {
        if known.insert(group.group) {
            ids.push(group.group);
        }
    }
    let control = |id: Id| {
        let treatment = state.groups.get(&id).and_then(Register::shown);
        treatment.is_some_and(|treatment| treatment.control)
    };
    ids.into_iter().map(|id| (id, control(id))).collect()
}

/// A try that counts, with what is needed to lay its groups side by side.
struct Counted<'a> {
    run: Id,
    ordinal: u32,
    stands: &'a Standing,
    counting: crate::trial::standing::Counting,
}

impl<'a> Counted<'a> {
    fn of(state: &State, run: Id, ordinal: u32, stands: &'a Standing) -> Option<Self> {
        let design = Design::of(run, state.runs.get(&run)?).ok()?;
        Some(Self { run, ordinal, stands, counting: design.counting() })
    }

    fn pair(&self, a: Id, b: Id) -> Option<(&GroupStanding, &GroupStanding)> {
        let groups = &self.stands.groups;
        Some((super::group_of(groups, a)?, super::group_of(groups, b)?))
    }

    fn side(&self, a: Id, b: Id) -> Option<Groups> {
        let (a, b) = self.pair(a, b)?;
        side_by_side(a, b, self.counting)
    }

    fn row(&self, a: Id, b: Id) -> Option<ForestRow> {
        let (of_a, of_b) = self.pair(a, b)?;
        Some(ForestRow {
            run: self.run,
            ordinal: self.ordinal,
            a: of_a.counts.share(self.counting.died).ok()?,
            b: of_b.counts.share(self.counting.died).ok()?,
            gap: self.side(a, b)?.gap().ok()?,
            bulbs_in_containers: self.counting.bulbs_in_containers(),
        })
    }
}

fn over_tries(
    counted: &[Counted<'_>],
    drawn: &[Counted<'_>],
    by_place: bool,
    groups: &[(Id, bool)],
) -> Vec<PairOverTries> {
    // As in one try: of more groups nothing is compared.
    if groups.len() > limits::GROUPS.max as usize {
        return Vec::new();
    }
    let control = groups.iter().position(|(_, control)| *control);
    // What a single try did not declare was not declared of all of them.
    let all_pairs = |one: &Counted<'_>| one.counting.family == Some(Family::AllPairs);
    let declared = (!counted.is_empty() && counted.iter().all(all_pairs)).then_some(Family::AllPairs);
    let pairs: Vec<(Id, Id)> =
        family_of(groups.len(), control, declared).into_iter().map(|(a, b)| (groups[a].0, groups[b].0)).collect();
    // A look is one try more in the order in which they ended.
    let mut ended: Vec<&Counted<'_>> = counted.iter().collect();
    ended.sort_by_key(|one| (one.stands.window.as_ref().map(|window| window.to), one.ordinal, one.run));
    let in_tries = |(a, b): &(Id, Id)| InTries::of(ended.iter().filter_map(|one| one.side(*a, *b)));
    let sides: Vec<Option<InTries>> = pairs.iter().map(in_tries).collect();
    let comparable: Vec<InTries> = sides.iter().flatten().cloned().collect();
    let mut verdicts = family_over_tries(&comparable).unwrap_or_default().into_iter();
    let mut next = |side: &Option<InTries>| side.as_ref().and_then(|_| verdicts.next());
    pairs.iter().zip(&sides).map(|((a, b), side)| of_pair(counted, drawn, by_place, (*a, *b), next(side))).collect()
}

fn of_pair(
    counted: &[Counted<'_>],
    drawn: &[Counted<'_>],
    by_place: bool,
    (a, b): (Id, Id),
    verdict: Option<(Gap, Verdict)>,
) -> PairOverTries {
    let forest: Vec<ForestRow> = counted.iter().filter_map(|one| one.row(a, b)).collect();
    let strata = strata(&forest);
    let differences: Vec<f64> = forest.iter().map(|row| row.gap.difference).collect();
    let resolved: Vec<_> = drawn
        .iter()
        .filter(|one| !one.counting.by_container())
        .scan(true, |going, one| {
            // A try with something undecided ends the row: later ones must not overtake it.
            if !*going {
                return None;
            }
            let (of_a, of_b) = one.pair(a, b)?;
            let open = of_a.counts.n_undecided() + of_b.counts.n_undecided() > 0;
            *going = !open;
            Some(sequential::resolved(one.run, of_a, of_b, one.counting))
        })
        .flatten()
        .collect();
    PairOverTries {
        a,
        b,
        decided: verdict.map(|(gap, verdict)| Decided { compared: oriented(a, b, gap), verdict }),
        alike_p: strata
            .as_ref()
            .map_err(|reason| *reason)
            .and_then(|strata| breslow_day::test(strata))
            .map(|found| found.p_tarone),
        random: strata.and_then(|strata| random(&strata)),
        kind_of_place: if by_place && forest.len() >= TRIES_FOR_A_KIND {
            sign_flip::test(&differences).map(|found| KindOfPlace {
                p: found.test.two_sided,
                smallest_p: found.smallest_p,
                mean: found.mean,
            })
        } else {
            super::refused(crate::evidence::Reason::OneTry)
        },
        growing: sequential::over_blocks(&resolved),
        forest,
    }
}

fn random(strata: &[Stratum]) -> crate::evidence::Result<OverTries> {
    let estimates = random_effects::differences(strata)?;
    let pooled = random_effects::pool(&estimates, Between::Reml, Limits::HartungKnappAtLeastOne, Level::PCT_95)?;
    Ok(OverTries {
        estimate: pooled.estimate,
        interval: pooled.interval,
        tau: pooled.tau2.max(0.0).sqrt(),
        q_p: pooled.q_p,
    })
}

/// Levels and tries together that one model is fitted to: its time grows with their cube, and of more of them no trial
/// can tell anything.
const MOST_COLUMNS: usize = 60;

/// Firth's regression of the share on try and factors, where a trial has two factors or more.
fn factors(state: &State, question: &crate::ledger::body::Question, counted: &[Counted<'_>]) -> Vec<FactorEffect> {
    let too_many =
        question.factors.len() + counted.len() > MOST_COLUMNS || question.groups.len() > limits::GROUPS.max as usize;
    if question.factors.len() < 2
        || too_many
        || counted.is_empty()
        || counted.iter().any(|one| one.counting.by_container())
    {
        return Vec::new();
    }
    let level = |group: Id, factor: &str| -> Option<String> {
        let treatment = state.groups.get(&group).and_then(Register::shown)?;
        let of = |level: &&crate::ledger::body::Level| level.factor == factor;
        Some(treatment.levels.iter().find(of)?.text.clone())
    };
    let mut columns: Vec<(String, String, String)> = Vec::new();
    for factor in &question.factors {
        let mut levels: Vec<String> = Vec::new();
        for group in &question.groups {
            match level(*group, &factor.name) {
                Some(text) if !levels.contains(&text) => levels.push(text),
                Some(_) => {}
                None => return Vec::new(),
            }
        }
        let Some(first) = levels.first().cloned() else {
            return Vec::new();
        };
        let others = levels.into_iter().skip(1);
        columns.extend(others.map(|to| (factor.name.clone(), first.clone(), to)));
    }
    if columns.len() + counted.len() > MOST_COLUMNS {
        return Vec::new();
    }
    let mut rows = Vec::new();
    for (at, one) in counted.iter().enumerate() {
        for group in &one.stands.groups {
            let Ok(share) = group.counts.share(one.counting.died) else {
                continue;
            };
            let mut x = vec![1.0];
            x.extend((1..counted.len()).map(|run| f64::from(u8::from(run == at))));
            x.extend(
                columns
                    .iter()
                    .map(|(factor, _, to)| f64::from(u8::from(level(group.group, factor).as_deref() == Some(to)))),
            );
            rows.push(firth::Row { x, reached: f64::from(share.reached()), missed: f64::from(share.missed()) });
        }
    }
    let Ok(fit) = firth::fit(&rows, Level::PCT_95) else {
        return Vec::new();
    };
    let effects = fit.coefficients.iter().skip(counted.len());
    columns
        .into_iter()
        .zip(effects)
        .map(|((factor, from, to), found)| FactorEffect {
            factor,
            from,
            to,
            estimate: found.estimate,
            interval: found.profile,
            p: found.p,
        })
        .collect()
}
