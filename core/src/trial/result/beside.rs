//! The tests and intervals that do not decide, for "how this was worked out".

use serde::Serialize;

use crate::{
    evidence::{
        Interval, Level, Reason, Said, Share, agresti_caffo, barnard, better, boschloo, cmh,
        exact_conditional, fisher, k_groups, mantel_haenszel, ratio, score_difference,
        sequence::Mixture,
        serialize_said,
        strata::Stratum,
        trend,
        verdict::{ALPHA, Groups},
    },
    ledger::{Field, id::Id},
    nursery::State,
    trial::standing::{Design, GroupStanding, comparable},
};

/// A p-value beside the one that decides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BesideTest {
    /// Its name.
    pub name: &'static str,
    /// Two-sided p.
    #[serde(serialize_with = "serialize_said")]
    pub p: Said<f64>,
}

/// An interval beside the one in the sentence; of a difference or a ratio, a against b.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BesideInterval {
    /// Its name.
    pub name: &'static str,
    /// The interval, 95 %.
    #[serde(serialize_with = "serialize_said")]
    pub interval: Said<Interval>,
}

/// What other methods say of two groups.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Tests.
    pub tests: Vec<BesideTest>,
    /// Intervals.
    pub intervals: Vec<BesideInterval>,
    /// Probability that a's share is the greater one, priors Jeffreys'. It is no p-value.
    #[serde(serialize_with = "serialize_said")]
    pub a_better: Said<f64>,
}

/// What may be said of all groups at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overall {
    /// Fisher, Freeman and Halton's p that all groups are alike.
    #[serde(serialize_with = "serialize_said")]
    pub freeman_halton_p: Said<f64>,
    /// The factor whose numbers a trend follows.
    pub trend_over: Option<String>,
    /// Exact two-sided p of a trend over its numbers.
    #[serde(serialize_with = "serialize_said")]
    pub trend_p: Said<f64>,
}

/// What other methods say of every pair.
pub(super) fn beside(design: &Design<'_>, groups: &[GroupStanding]) -> Vec<Beside> {
    let of = |(a, b, side): (Id, Id, Groups)| match side {
        Groups::Whole(one) => whole(a, b, one),
        Groups::Strata(strata) => within(a, b, &strata),
        Groups::Containers(_) => Beside {
            a,
            b,
            tests: Vec::new(),
            intervals: Vec::new(),
            a_better: super::refused(Reason::SpreadUnknown),
        },
    };
    comparable(groups, design.counting())
        .into_iter()
        .map(of)
        .collect()
}

fn whole(a: Id, b: Id, Stratum { a: x, b: y }: Stratum) -> Beside {
    let fisher = fisher::test(x, y);
    let level = Level::PCT_95;
    let test = |name, p| BesideTest { name, p: Ok(p) };
    let interval = |name, interval| BesideInterval {
        name,
        interval: Ok(interval),
    };
    Beside {
        a,
        b,
        tests: vec![
            test("fisher", fisher.two_sided),
            test("fisher-mid-p", fisher.mid_p),
            test("barnard", barnard::two_sided(x, y).p),
            test("boschloo", boschloo::two_sided(x, y).p),
        ],
        intervals: vec![
            interval(
                "difference-miettinen-nurminen",
                score_difference::miettinen_nurminen(x, y, level),
            ),
            interval(
                "difference-agresti-caffo",
                agresti_caffo::interval(x, y, level),
            ),
            interval("ratio-koopman", ratio::koopman(x, y, level)),
            BesideInterval {
                name: "difference-at-any-time",
                interval: Mixture::new(1.0, 1.0, ALPHA).map(|mixture| mixture.difference(x, y)),
            },
        ],
        a_better: jeffreys_better(x, y),
    }
}

fn jeffreys_better(x: Share, y: Share) -> Said<f64> {
    better::probability(x, y, better::Prior::JEFFREYS, better::Prior::JEFFREYS)
}

fn within(a: Id, b: Id, strata: &[Stratum]) -> Beside {
    let level = Level::PCT_95;
    let test = |name, p| BesideTest { name, p };
    let exact = exact_conditional::test(strata);
    let cmh = cmh::test(strata);
    Beside {
        a,
        b,
        tests: vec![
            test("exact-conditional", exact.map(|exact| exact.two_sided)),
            test("exact-conditional-mid-p", exact.map(|exact| exact.mid_p)),
            test("cochran-mantel-haenszel", cmh.map(|cmh| cmh.p)),
        ],
        intervals: vec![
            BesideInterval {
                name: "odds-ratio-exact",
                interval: exact_conditional::odds_ratio(strata, level).map(|odds| odds.interval),
            },
            BesideInterval {
                name: "odds-ratio-mantel-haenszel",
                interval: mantel_haenszel::odds_ratio(strata, level).and_then(|odds| odds.interval),
            },
        ],
        a_better: super::refused(Reason::NoVariation),
    }
}

/// All groups at once, where there are more than two.
pub(super) fn overall(
    design: &Design<'_>,
    state: &State,
    groups: &[GroupStanding],
) -> Option<Overall> {
    if groups.len() < 3 || design.counting().by_container() {
        return None;
    }
    let shares: Said<Vec<Share>> = groups
        .iter()
        .map(|group| group.counts.share(design.rule.died))
        .collect();
    let shares = shares.ok()?;
    let scored = scores(design, state, groups);
    let trend_p = match &scored {
        Some((_, scores)) => trend::test(&shares, scores).map(|trend| trend.two_sided().p),
        None => super::refused(Reason::NoScore),
    };
    Some(Overall {
        freeman_halton_p: k_groups::freeman_halton(&shares).map(|tested| tested.p),
        trend_over: scored.map(|(name, _)| name),
        trend_p,
    })
}

/// The numbers of the one factor of which every group has another one.
fn scores(
    design: &Design<'_>,
    state: &State,
    groups: &[GroupStanding],
) -> Option<(String, Vec<f64>)> {
    let question = state.trials.get(&design.body.trial)?.question.shown()?;
    let [factor] = question.factors.as_slice() else {
        return None;
    };
    let score = |group: &GroupStanding| {
        let treatment = state.groups.get(&group.group).and_then(Field::shown)?;
        let of = |level: &&crate::ledger::body::Level| level.factor == factor.name;
        let milli = treatment.levels.iter().find(of)?.value_milli?;
        Some(milli as f64 / 1000.0)
    };
    let scores: Option<Vec<f64>> = groups.iter().map(score).collect();
    Some((factor.name.clone(), scores?))
}
