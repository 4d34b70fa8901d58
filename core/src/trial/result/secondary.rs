//! The tests and intervals that do not decide, for "how this was worked out".

use serde::{Deserialize, Serialize};

use crate::{
    evidence::{
        How, Interval, Level, Reason, Share, Tested, agresti_caffo, barnard, better, boschloo, cmh, exact_conditional,
        fisher, k_groups, mantel_haenszel, ratio, score_difference,
        sequence::Mixture,
        serialize_said,
        strata::Stratum,
        trend,
        verdict::{ALPHA, Groups},
    },
    ledger::{Register, id::Id},
    nursery::State,
    trial::standing::{Design, GroupStanding, comparable},
};

/// A test that does not decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TestName {
    /// Fisher's exact test.
    Fisher,
    /// The same, mid-p.
    FisherMidP,
    /// Barnard's.
    Barnard,
    /// Boschloo's.
    Boschloo,
    /// The exact conditional test within size classes.
    ExactConditional,
    /// The same, mid-p.
    ExactConditionalMidP,
    /// Cochran's, Mantel's and Haenszel's.
    CochranMantelHaenszel,
}

/// An interval beside the one in the sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalName {
    /// Of the difference, Miettinen's and Nurminen's.
    DifferenceMiettinenNurminen,
    /// Of the difference, Agresti's and Caffo's.
    DifferenceAgrestiCaffo,
    /// Of the ratio, Koopman's.
    RatioKoopman,
    /// Of the difference, holding at all looks together.
    DifferenceAtAnyTime,
    /// Of the odds ratio within size classes, exact.
    OddsRatioExact,
    /// Of the odds ratio within size classes, Mantel's and Haenszel's.
    OddsRatioMantelHaenszel,
}

/// A p-value beside the one that decides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BesideTest {
    /// Its name.
    pub name: TestName,
    /// Two-sided p.
    #[serde(serialize_with = "serialize_said")]
    pub p: crate::evidence::Result<f64>,
    /// How it was found, where it was; nothing where the test is an approximation by its nature.
    pub how: Option<How>,
}

/// An interval beside the one in the sentence; of a difference or a ratio, a against b.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BesideInterval {
    /// Its name.
    pub name: IntervalName,
    /// The interval, 95 %.
    #[serde(serialize_with = "serialize_said")]
    pub interval: crate::evidence::Result<Interval>,
}

/// What other methods say of two groups.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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
    pub a_better: crate::evidence::Result<f64>,
}

/// What may be said of all groups at once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Overall {
    /// Fisher, Freeman and Halton's p that all groups are alike.
    #[serde(serialize_with = "serialize_said")]
    pub freeman_halton_p: crate::evidence::Result<f64>,
    /// How it was found, where it was.
    pub freeman_halton_how: Option<How>,
    /// The factor whose numbers a trend follows.
    pub trend_over: Option<String>,
    /// Exact two-sided p of a trend over its numbers.
    #[serde(serialize_with = "serialize_said")]
    pub trend_p: crate::evidence::Result<f64>,
    /// How it was found, where it was.
    pub trend_how: Option<How>,
}

/// What all of it is worked out from: [`Others`] does so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sides {
    /// Every pair that is compared, as its design has it.
    pub pairs: Vec<(Id, Id, Groups)>,
    /// All groups at once, where there are more than two.
    pub all: Option<All>,
}

/// The shares of all groups of a try.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct All {
    /// Group by group.
    pub shares: Vec<Share>,
    /// The one factor of which every group has another number, and the numbers.
    pub scores: Option<(String, Vec<f64>)>,
}

/// Pairs of so few bulbs in all are worked out in a moment, wherever it is done.
const FEW_IN_PAIRS: u64 = 600;
/// The same of all groups at once.
const FEW_IN_ALL: u64 = 200;

impl Sides {
    /// What the tests that do not decide are made of.
    pub(super) fn of(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Self {
        Self { pairs: comparable(groups, design.counting()), all: all_of(design, state, groups) }
    }

    /// True when everything is worked out in a moment.
    pub fn is_short(&self) -> bool {
        let of = |share: &Share| u64::from(share.of());
        let one = |one: &Stratum| of(&one.a) + of(&one.b);
        let in_pair = |(.., side): &(Id, Id, Groups)| match side {
            Groups::Whole(whole) => one(whole),
            Groups::Strata(strata) => strata.iter().map(one).sum(),
            Groups::Containers(_) => 0,
        };
        let in_all = self.all.iter().flat_map(|all| &all.shares).map(of);
        self.pairs.iter().map(in_pair).sum::<u64>() <= FEW_IN_PAIRS && in_all.sum::<u64>() <= FEW_IN_ALL
    }
}

/// What other methods say, method by method: counting every table of large groups takes seconds.
pub struct Others {
    sides: Sides,
    found: Vec<Beside>,
    going: Option<Beside>,
    alike: Option<crate::evidence::Result<Tested>>,
}

impl Others {
    /// Makes ready for the first step.
    pub fn new(sides: Sides) -> Self {
        Self { sides, found: Vec::new(), going: None, alike: None }
    }

    /// The next step: one method; all of them after the last one.
    pub fn step(&mut self) -> Option<(Vec<Beside>, Option<Overall>)> {
        if let Some((a, b, side)) = self.sides.pairs.get(self.found.len()) {
            let mut going = self.going.take().unwrap_or_else(|| nothing_yet(*a, *b));
            if going.go_on(side) {
                self.found.push(going);
            } else {
                self.going = Some(going);
            }
            return None;
        }
        let overall = match (&self.sides.all, self.alike) {
            (None, _) => None,
            (Some(all), None) => {
                self.alike = Some(k_groups::freeman_halton(&all.shares));
                return None;
            }
            (Some(all), Some(alike)) => Some(all.said(alike)),
        };
        Some((std::mem::take(&mut self.found), overall))
    }

    /// How far it is, 0 to 1000.
    pub fn done_permille(&self) -> u32 {
        let all = self.sides.pairs.len() + usize::from(self.sides.all.is_some());
        let going = self.going.as_ref().map_or(0, |going| going.tests.len());
        let done = self.found.len() * 4 + going + 4 * usize::from(self.alike.is_some());
        (done * 250 / all.max(1)) as u32
    }
}

/// What other methods say of every pair and of all groups, in one go.
pub fn others(sides: Sides) -> (Vec<Beside>, Option<Overall>) {
    let mut others = Others::new(sides);
    loop {
        if let Some(found) = others.step() {
            return found;
        }
    }
}

fn nothing_yet(a: Id, b: Id) -> Beside {
    Beside { a, b, tests: Vec::new(), intervals: Vec::new(), a_better: super::refused(Reason::SpreadUnknown) }
}

impl Beside {
    /// Adds the tests of one more method, after the last of them the intervals too; true when nothing is left.
    fn go_on(&mut self, side: &Groups) -> bool {
        match side {
            Groups::Whole(Stratum { a, b }) => self.go_on_whole(*a, *b),
            Groups::Strata(strata) => {
                self.within(strata);
                true
            }
            Groups::Containers(_) => true,
        }
    }

    fn go_on_whole(&mut self, x: Share, y: Share) -> bool {
        let exact = |p| Ok(Tested { p, how: How::Exact });
        match self.tests.len() {
            0 => {
                let fisher = fisher::test(x, y);
                self.test(TestName::Fisher, exact(fisher.two_sided));
                self.test(TestName::FisherMidP, exact(fisher.mid_p));
                false
            }
            2 => {
                self.test(TestName::Barnard, Ok(barnard::two_sided(x, y)));
                false
            }
            _ => {
                self.test(TestName::Boschloo, Ok(boschloo::two_sided(x, y)));
                self.intervals_of_whole(x, y);
                self.a_better = jeffreys_better(x, y);
                true
            }
        }
    }

    fn intervals_of_whole(&mut self, x: Share, y: Share) {
        let level = Level::PCT_95;
        let any_time = Mixture::new(1.0, 1.0, ALPHA).map(|mixture| mixture.difference(x, y));
        let all = [
            (IntervalName::DifferenceMiettinenNurminen, Ok(score_difference::miettinen_nurminen(x, y, level))),
            (IntervalName::DifferenceAgrestiCaffo, Ok(agresti_caffo::interval(x, y, level))),
            (IntervalName::RatioKoopman, Ok(ratio::koopman(x, y, level))),
            (IntervalName::DifferenceAtAnyTime, any_time),
        ];
        for (name, interval) in all {
            self.intervals.push(BesideInterval { name, interval });
        }
    }

    fn within(&mut self, strata: &[Stratum]) {
        let level = Level::PCT_95;
        let exact = exact_conditional::test(strata);
        let of_exact = |p: fn(&exact_conditional::Exact) -> f64| {
            let how = How::Exact;
            exact.map(|exact| Tested { p: p(&exact), how })
        };
        let two_sided = of_exact(|exact| exact.two_sided);
        let mid_p = of_exact(|exact| exact.mid_p);
        self.test(TestName::ExactConditional, two_sided);
        self.test(TestName::ExactConditionalMidP, mid_p);
        self.tests.push(BesideTest {
            name: TestName::CochranMantelHaenszel,
            p: cmh::test(strata).map(|cmh| cmh.p),
            how: None,
        });
        let exact = exact_conditional::odds_ratio(strata, level).map(|odds| odds.interval);
        let pooled = mantel_haenszel::odds_ratio(strata, level).and_then(|odds| odds.interval);
        let all = [(IntervalName::OddsRatioExact, exact), (IntervalName::OddsRatioMantelHaenszel, pooled)];
        for (name, interval) in all {
            self.intervals.push(BesideInterval { name, interval });
        }
        self.a_better = super::refused(Reason::WithinClasses);
    }

    fn test(&mut self, name: TestName, found: crate::evidence::Result<Tested>) {
        let (p, how) = apart(found);
        self.tests.push(BesideTest { name, p, how });
    }
}

fn apart(found: crate::evidence::Result<Tested>) -> (crate::evidence::Result<f64>, Option<How>) {
    (found.map(|tested| tested.p), found.ok().map(|tested| tested.how))
}

fn jeffreys_better(x: Share, y: Share) -> crate::evidence::Result<f64> {
    better::probability(x, y, better::Prior::JEFFREYS, better::Prior::JEFFREYS)
}

impl All {
    fn said(&self, alike: crate::evidence::Result<Tested>) -> Overall {
        let trend = match &self.scores {
            Some((_, scores)) => trend::test(&self.shares, scores).map(|trend| trend.two_sided()),
            None => super::refused(Reason::NoScore),
        };
        let (freeman_halton_p, freeman_halton_how) = apart(alike);
        let (trend_p, trend_how) = apart(trend);
        Overall {
            freeman_halton_p,
            freeman_halton_how,
            trend_over: self.scores.as_ref().map(|(name, _)| name.clone()),
            trend_p,
            trend_how,
        }
    }
}

/// All groups at once, where there are more than two.
fn all_of(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Option<All> {
    if groups.len() < 3 || design.counting().by_container() {
        return None;
    }
    let shares: crate::evidence::Result<Vec<Share>> =
        groups.iter().map(|group| group.counts.share(design.rule.died)).collect();
    Some(All { shares: shares.ok()?, scores: scores(design, state, groups) })
}

/// The numbers of the one factor of which every group has another one.
fn scores(design: &Design<'_>, state: &State, groups: &[GroupStanding]) -> Option<(String, Vec<f64>)> {
    let question = state.trials.get(&design.body.trial)?.question.shown()?;
    let [factor] = question.factors.as_slice() else {
        return None;
    };
    let score = |group: &GroupStanding| {
        let treatment = state.groups.get(&group.group).and_then(Register::shown)?;
        let of = |level: &&crate::ledger::body::Level| level.factor == factor.name;
        let milli = treatment.levels.iter().find(of)?.value_milli?;
        Some(milli as f64 / 1000.0)
    };
    let scores: Option<Vec<f64>> = groups.iter().map(score).collect();
    Some((factor.name.clone(), scores?))
}
