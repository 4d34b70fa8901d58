//! The one test of a design, and what may be said of two groups: typed parts by rule, which the app puts into words.
//!
//! | design | test | interval |
//! |---|---|---|
//! | one try, no size classes | Boschloo (Fisher above [`MOST_FOR_BOSCHLOO`] a group) | Newcombe |
//! | size classes, or several tries | exact conditional, stratified by them | Mantel–Haenszel, Sato's variance |
//! | whole containers are the units | permutation of their shares within blocks | of the same permutation |
//!
//! Of several tries of a trial each try's own verdict is of that try. What all of them say together is told apart at most
//! 1 time in 20 ever when groups are alike, however many tries follow ([`super::over_tries`]; [`family_over_tries`]).
//!
//! Told apart means that the test's p, after Holm over the family declared before the start, is at most [`ALPHA`].
//! Where the 95 % interval says otherwise, it is on the edge: neither is preferred to the other.

use serde::{Deserialize, Serialize};

use super::permutation::Scored;
use super::strata::{Stratum, used};
use super::{
    How, Interval, Level, NoAnswer, Reason, Result, Share, boschloo, exact_conditional, fisher, holm, mantel_haenszel,
    newcombe, over_tries, permutation, serialize_said, shift,
};

/// The level of error of the one test, two-sided.
pub const ALPHA: f64 = 0.05;

/// Groups larger than this are compared by Fisher's test; Boschloo's gains nothing there and takes long.
pub const MOST_FOR_BOSCHLOO: u32 = 60;

/// Two groups as their design has them; a is the one first named.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Groups {
    /// One try without size classes.
    Whole(Stratum),
    /// Within size classes or tries.
    Strata(Vec<Stratum>),
    /// Whole containers with their shares.
    Containers(Vec<Scored>),
}

/// Which test was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Boschloo's, the two-sided Fisher p as the statistic.
    Boschloo,
    /// Fisher's exact test, two-sided, for groups above [`MOST_FOR_BOSCHLOO`].
    Fisher,
    /// The exact conditional test within size classes or tries, two-sided.
    ExactConditional,
    /// The permutation of containers' shares within blocks, two-sided.
    UnitPermutation,
    /// The exact conditional test over tries, its error spent try by try.
    ExactOverTries,
    /// The permutation of containers' shares over tries, each look with its own part of the error.
    PermutationOverTries,
}

/// How the interval was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalBy {
    /// Newcombe's method 10.
    Newcombe,
    /// Mantel and Haenszel's difference with Sato's variance.
    MantelHaenszel,
    /// The shifts that the permutation does not refuse.
    Permutation,
}

/// By how much one group is ahead of the other.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// Share of a less share of b, −1 to 1.
    pub difference: f64,
    /// Its interval, 95 %; refused when there are too few ways to draw the lots.
    #[serde(serialize_with = "serialize_said")]
    pub interval: Result<Interval>,
    /// How it was made.
    pub by: IntervalBy,
}

impl Gap {
    /// The same as b less a.
    #[must_use]
    pub fn turned(self) -> Self {
        let turn = |interval: Interval| Interval { lower: -interval.upper, upper: -interval.lower };
        Self { difference: -self.difference, interval: self.interval.map(turn), by: self.by }
    }
}

/// What the counts carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Strength {
    /// The test tells them apart, and the interval leaves out zero.
    ToldApart,
    /// Test and interval disagree.
    OnTheEdge,
    /// Too few to tell.
    TooFewToTell,
}

/// The rule's test of two groups.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// What the counts carry.
    pub strength: Strength,
    /// Two-sided p of the one test.
    pub p: f64,
    /// The same after Holm over the family; equal to `p` in a family of one.
    pub p_family: f64,
    /// How many comparisons the family has.
    pub n_family: usize,
    /// Which test.
    pub method: Method,
    /// How its p was found.
    pub how: How,
    /// The smallest p that these groups could have reached.
    pub smallest_p: f64,
}

impl Groups {
    /// By how much a is ahead of b.
    ///
    /// # Errors
    /// When nothing of a group is resolved, or no stratum has both.
    pub fn gap(&self) -> Result<Gap> {
        match self {
            Self::Whole(Stratum { a, b }) => Ok(Gap {
                difference: super::difference(*a, *b)?,
                interval: Ok(newcombe::interval(*a, *b, Level::PCT_95)),
                by: IntervalBy::Newcombe,
            }),
            Self::Strata(strata) => {
                let pooled = mantel_haenszel::risk_difference(strata, Level::PCT_95)?;
                Ok(Gap {
                    difference: pooled.estimate,
                    interval: Ok(pooled.sato.within(-1.0, 1.0)),
                    by: IntervalBy::MantelHaenszel,
                })
            }
            Self::Containers(units) => {
                let shift = shift::shift(units, Level::PCT_95)?;
                Ok(Gap {
                    difference: shift.estimate,
                    interval: shift.interval.map(|interval| interval.within(-1.0, 1.0)),
                    by: IntervalBy::Permutation,
                })
            }
        }
    }

    /// The one test: its p, which it was, and how p was found.
    ///
    /// # Errors
    /// As [`Self::gap`].
    pub fn test(&self) -> Result<(f64, Method, How)> {
        match self {
            Self::Whole(Stratum { a, b }) if a.of() == 0 || b.of() == 0 => Err(NoAnswer(Reason::TooFewGroups)),
            Self::Whole(Stratum { a, b }) if a.of().max(b.of()) > MOST_FOR_BOSCHLOO => {
                Ok((fisher::two_sided(*a, *b), Method::Fisher, How::Exact))
            }
            Self::Whole(Stratum { a, b }) => {
                let tested = boschloo::two_sided(*a, *b);
                Ok((tested.p, Method::Boschloo, tested.how))
            }
            Self::Strata(strata) => {
                let tested = exact_conditional::two_sided(strata)?;
                Ok((tested.p, Method::ExactConditional, tested.how))
            }
            Self::Containers(units) => {
                let tested = permutation::test(units)?;
                Ok((tested.two_sided, Method::UnitPermutation, tested.how))
            }
        }
    }

    /// The smallest p these groups can reach: that of all of one group against none of the other.
    ///
    /// # Errors
    /// As [`Self::gap`].
    pub fn smallest_p(&self) -> Result<f64> {
        let extreme = |a_all: bool| -> Result<f64> { self.extreme(a_all)?.test().map(|(p, ..)| p) };
        Ok(extreme(true)?.min(extreme(false)?))
    }

    /// The same groups with all of one in time and none of the other.
    fn extreme(&self, a_all: bool) -> Result<Self> {
        let all = |share: Share, all: bool| Share::new(if all { share.of() } else { 0 }, share.of());
        let stratum =
            |one: &Stratum| -> Result<Stratum> { Ok(Stratum { a: all(one.a, a_all)?, b: all(one.b, !a_all)? }) };
        Ok(match self {
            Self::Whole(one) => Self::Whole(stratum(one)?),
            Self::Strata(strata) => Self::Strata(strata.iter().map(stratum).collect::<Result<_>>()?),
            Self::Containers(units) => {
                let score = |unit: &Scored| Scored { score: f64::from(u8::from(unit.in_a == a_all)), ..*unit };
                Self::Containers(units.iter().map(score).collect())
            }
        })
    }

    /// Whether any stratum has both groups.
    pub fn can_be_compared(&self) -> bool {
        match self {
            Self::Whole(one) => one.a.of() > 0 && one.b.of() > 0,
            Self::Strata(strata) => !used(strata).is_empty(),
            Self::Containers(units) => {
                units.iter().any(|unit| unit.in_a && units.iter().any(|other| !other.in_a && other.block == unit.block))
            }
        }
    }
}

/// Two groups in all tries that are over and have both, in the order in which these ended.
#[derive(Clone, Debug, PartialEq)]
pub struct InTries(Vec<Groups>);

impl InTries {
    /// Of the tries in their order; nothing where none has both groups, or where lots were drawn for bulbs in some and for
    /// containers in others, which are no one design.
    pub fn of(tries: impl IntoIterator<Item = Groups>) -> Option<Self> {
        let tries: Vec<Groups> = tries.into_iter().filter(Groups::can_be_compared).collect();
        let n_of_containers = tries.iter().filter(|one| matches!(one, Groups::Containers(_))).count();
        (!tries.is_empty() && (n_of_containers == 0 || n_of_containers == tries.len())).then_some(Self(tries))
    }

    /// The first so many tries as one design: each try with its size classes.
    fn together(&self, n: usize) -> Groups {
        let first = self.0.get(..n).unwrap_or(&self.0);
        if let [only] = first {
            return only.clone();
        }
        let mut strata: Vec<Stratum> = Vec::new();
        let mut containers: Vec<Scored> = Vec::new();
        for one in first {
            match one {
                Groups::Whole(one) => strata.push(*one),
                Groups::Strata(classes) => strata.extend(classes),
                Groups::Containers(units) => {
                    let first = containers.iter().map(|unit| unit.block + 1).max().unwrap_or(0);
                    containers.extend(units.iter().map(|unit| Scored { block: first + unit.block, ..*unit }));
                }
            }
        }
        if strata.is_empty() { Groups::Containers(containers) } else { Groups::Strata(strata) }
    }

    /// By how much a is ahead of b over all tries.
    ///
    /// # Errors
    /// As [`Groups::gap`].
    pub fn gap(&self) -> Result<Gap> {
        self.together(self.0.len()).gap()
    }

    /// The one test over tries, for a family of so many comparisons.
    ///
    /// # Errors
    /// As [`Groups::gap`].
    pub fn test(&self, n_family: usize) -> Result<(f64, Method, How)> {
        if self.0.iter().any(|one| matches!(one, Groups::Containers(_))) {
            let each = (1..=self.0.len()).map(|n| self.together(n).test()).collect::<Result<Vec<_>>>()?;
            let how = each.last().map_or(How::Exact, |(.., how)| *how);
            let p: Vec<f64> = each.iter().map(|(p, ..)| *p).collect();
            return Ok((over_tries::of_looks(&p), Method::PermutationOverTries, how));
        }
        let classes = |one: &Groups| match one {
            Groups::Whole(one) => vec![*one],
            Groups::Strata(classes) => classes.clone(),
            Groups::Containers(_) => Vec::new(),
        };
        let tries: Vec<Vec<Stratum>> = self.0.iter().map(classes).collect();
        let tested = over_tries::ever(&tries, n_family)?;
        Ok((tested.p, Method::ExactOverTries, tested.how))
    }

    /// The smallest p that these tries could have reached.
    ///
    /// # Errors
    /// As [`Groups::gap`].
    pub fn smallest_p(&self, n_family: usize) -> Result<f64> {
        let extreme = |a_all: bool| -> Result<f64> {
            let all = self.0.iter().map(|one| one.extreme(a_all)).collect::<Result<Vec<_>>>()?;
            Self(all).test(n_family).map(|(p, ..)| p)
        };
        Ok(extreme(true)?.min(extreme(false)?))
    }
}

/// What p and interval together carry.
pub fn strength(p: f64, interval: Result<Interval>) -> Strength {
    let apart = p <= ALPHA;
    let leaves_out_zero = match interval {
        Ok(interval) => interval.lower > 0.0 || interval.upper < 0.0,
        // Without an interval the test speaks alone.
        Err(_) => apart,
    };
    match (apart, leaves_out_zero) {
        (true, true) => Strength::ToldApart,
        (false, false) => Strength::TooFewToTell,
        _ => Strength::OnTheEdge,
    }
}

/// What was found of one comparison: the gap, the test, and the smallest p that it could have reached.
type Found = (Gap, (f64, Method, How), f64);

/// The verdicts of a family of comparisons, with Holm's adjustment, in the order given.
///
/// # Errors
/// When one of them cannot be compared.
pub fn family(members: &[Groups]) -> Result<Vec<(Gap, Verdict)>> {
    let found = members.iter().map(|groups| Ok((groups.gap()?, groups.test()?, groups.smallest_p()?)));
    verdicts(found.collect::<Result<_>>()?)
}

/// The same of what all tries say together. Since no p over tries ever rises, what Holm's adjustment tells apart now it
/// tells apart for good: the family's promise holds over all looks as well.
///
/// # Errors
/// As [`family`].
pub fn family_over_tries(members: &[InTries]) -> Result<Vec<(Gap, Verdict)>> {
    let n = members.len();
    let found = members.iter().map(|tries| Ok((tries.gap()?, tries.test(n)?, tries.smallest_p(n)?)));
    verdicts(found.collect::<Result<_>>()?)
}

fn verdicts(tested: Vec<Found>) -> Result<Vec<(Gap, Verdict)>> {
    let n_family = tested.len();
    let p: Vec<f64> = tested.iter().map(|(_, (p, ..), _)| *p).collect();
    let adjusted = holm::adjust(&p)?;
    let verdicts = tested.into_iter().zip(adjusted);
    Ok(verdicts
        .map(|((gap, (p, method, how), smallest_p), p_family)| {
            let strength = strength(p_family, gap.interval);
            (gap, Verdict { strength, p, p_family, n_family, method, how, smallest_p })
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(x: u32, n: u32) -> Share {
        Share::new(x, n).expect("a share")
    }

    fn whole(x: u32, n: u32, y: u32, m: u32) -> Groups {
        Groups::Whole(Stratum { a: share(x, n), b: share(y, m) })
    }

    fn containers(a: &[f64], b: &[f64]) -> Groups {
        let unit = |in_a| move |score: &f64| Scored { score: *score, in_a, block: 0 };
        Groups::Containers(a.iter().map(unit(true)).chain(b.iter().map(unit(false))).collect())
    }

    #[test]
    fn a_verdict_takes_both_test_and_interval() {
        let clear = family(&[whole(9, 10, 1, 10)]).expect("a verdict")[0];
        assert_eq!(clear.1.strength, Strength::ToldApart);
        assert!(clear.0.difference > 0.79 && clear.1.method == Method::Boschloo);
        let few = family(&[whole(5, 9, 7, 9)]).expect("a verdict")[0];
        assert_eq!(few.1.strength, Strength::TooFewToTell);
        assert_eq!(strength(0.04, Ok(Interval { lower: -0.01, upper: 0.5 })), Strength::OnTheEdge);
    }

    /// Three comparisons: Holm multiplies the smallest p by three, so that the same counts carry less.
    #[test]
    fn a_family_pays_for_its_size() {
        let one = whole(7, 8, 2, 8);
        let alone = family(std::slice::from_ref(&one)).expect("one")[0].1;
        let three = family(&[one.clone(), whole(4, 8, 4, 8), whole(4, 8, 5, 8)]).expect("three");
        assert_eq!(alone.strength, Strength::ToldApart);
        assert!((three[0].1.p_family - 3.0 * alone.p).abs() < 1e-12);
        assert_eq!(three[0].1.strength, Strength::OnTheEdge);
    }

    /// 3 against 3 containers can be drawn in 20 ways: no p below 0.1: 2/20.
    #[test]
    fn the_smallest_p_is_that_of_the_design() {
        let few = containers(&[1.0, 0.9, 0.95], &[0.1, 0.2, 0.3]);
        assert!((few.smallest_p().expect("a p") - 0.1).abs() < 1e-12);
        let verdict = family(&[few]).expect("a verdict")[0];
        assert_eq!(verdict.1.strength, Strength::TooFewToTell);
        assert!(verdict.0.interval.is_err());
        // 4 against 4: 70 ways, 2/70.
        let four = containers(&[1.0; 4], &[0.0; 4]);
        assert!((four.smallest_p().expect("a p") - 2.0 / 70.0).abs() < 1e-12);
    }

    /// Tries of containers have no walk: each look has its own part of the error, a half on the first try.
    #[test]
    fn tries_of_containers_pay_for_each_look() {
        let one = containers(&[1.0, 0.9, 0.95, 0.8], &[0.1, 0.2, 0.3, 0.4]);
        let alone = one.test().expect("a test").0;
        let first = InTries::of([one.clone()]).expect("a try").test(1).expect("a test");
        assert!((first.0 - 2.0 * alone).abs() < 1e-12 && first.1 == Method::PermutationOverTries, "{first:?}");
        let both = InTries::of([one.clone(), one.clone()]).expect("tries");
        assert!(both.test(1).expect("a test").0 < first.0);
        assert!(InTries::of([one, whole(3, 4, 1, 4)]).is_none() && InTries::of([whole(0, 0, 3, 5)]).is_none());
    }

    #[test]
    fn nothing_to_compare_is_refused() {
        assert!(family(&[whole(0, 0, 3, 5)]).is_err());
        assert!(!whole(0, 0, 3, 5).can_be_compared());
        let apart = Groups::Strata(vec![
            Stratum { a: share(3, 4), b: share(0, 0) },
            Stratum { a: share(0, 0), b: share(1, 4) },
        ]);
        assert!(!apart.can_be_compared() && family(&[apart]).is_err());
    }

    #[test]
    fn turned_round_it_says_the_same() {
        let gap = whole(2, 9, 7, 9).gap().expect("a gap");
        let turned = whole(7, 9, 2, 9).gap().expect("a gap");
        assert!((gap.turned().difference - turned.difference).abs() < 1e-12);
        let (own, other) = (gap.turned().interval.expect("one"), turned.interval.expect("one"));
        assert!((own.lower - other.lower).abs() < 1e-12 && (own.upper - other.upper).abs() < 1e-12);
    }
}
