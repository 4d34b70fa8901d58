//! What a handful of bulbs can and cannot say: one method a file, each with its formula and its source.
//!
//! | question | method | file |
//! |---|---|---|
//! | the share of one group | Wilson, Clopper–Pearson, Jeffreys | [`wilson`], [`clopper_pearson`], [`jeffreys`] |
//! | … while some are undecided | bounds over every way it can still go | [`bounds`] |
//! | … of containers with several bulbs each | Wilson at the effective number of bulbs | [`clusters`] |
//! | the difference of two shares | Newcombe 10, Agresti–Caffo, Miettinen–Nurminen, Mee | [`newcombe`], [`agresti_caffo`], [`score_difference`] |
//! | are two shares told apart | Fisher (also mid-p), Barnard, Boschloo | [`fisher`], [`barnard`], [`boschloo`] |
//! | the ratio of two shares | Katz, Miettinen–Nurminen, Koopman | [`ratio`] |
//! | how probable is it that a is better | two beta posteriors | [`better`] |
//! | do several groups differ | Fisher–Freeman–Halton, pairs with Holm, exact trend | [`k_groups`], [`holm`], [`trend`] |
//! | over several tries or size classes | exact conditional, Cochran–Mantel–Haenszel, Mantel–Haenszel | [`exact_conditional`], [`cmh`], [`mantel_haenszel`] |
//! | … and told apart however many tries follow | exact conditional, its error spent try by try | [`over_tries`] |
//! | are the tries alike | Breslow–Day–Tarone, random effects | [`breslow_day`], [`random_effects`] |
//! | measures, counts, shares of containers | shift with exact permutation within blocks; sign flips over places or tries | [`shift`], [`permutation`], [`sign_flip`] |
//! | when is the stage reached | Turnbull, Kaplan–Meier where days are exact | [`turnbull`], [`kaplan_meier`] |
//! | … as a formula, to look ahead | lognormal and Weibull with profile limits | [`interval_times`] |
//! | were chances that were said right | Brier and log score, reliability, isotonic curve | [`forecast_scores`] |
//! | is one group faster | log-rank and interval scores, permuted within blocks | [`logrank`], [`interval_scores`] |
//! | what may be said at any look | e-processes over blocks and over looks, confidence sequences | [`e_process`], [`logrank_e_process`], [`sequence`] |
//! | before the start | exact power and size of each test, bulbs needed | [`power`], [`power_blocks`] |
//! | tries that differ, and the next one | hierarchical models by quadrature | [`hierarchical`], [`beta_binomial_runs`] |
//! | several factors at once | Firth's logistic regression | [`firth`] |
//! | how many will there be, how many to start | Poisson-binomial, binomial and beta-binomial | [`poisson_binomial`], [`number_to_start`] |
//!
//! The one test of each design, and the rule that turns it into a verdict, is [`verdict`]. Which one decides is fixed with the success rule, before the start; the others are for reading only.
//! Groups are `a` and `b`; differences are a minus b, ratios a over b. Nothing here panics or returns a value that is
//! not a number: where a method has no answer it says [`NoAnswer`], with the reason.

use std::fmt;

use serde::{Deserialize, Serialize, Serializer, ser::SerializeMap};

pub mod agresti_caffo;
pub mod barnard;
pub mod beta_binomial_runs;
pub mod better;
pub mod boschloo;
pub mod bounds;
pub mod breslow_day;
pub mod clopper_pearson;
pub mod clusters;
pub mod cmh;
#[cfg(test)]
mod coverage;
pub mod e_process;
pub mod exact_conditional;
pub mod firth;
pub mod fisher;
pub mod forecast_scores;
pub mod hierarchical;
mod hierarchical_grid;
pub mod holm;
pub mod interval_scores;
pub mod interval_times;
pub mod jeffreys;
pub mod k_groups;
pub mod kaplan_meier;
pub mod kappa;
pub(crate) mod linear;
pub mod logrank;
pub mod logrank_e_process;
pub mod mantel_haenszel;
pub mod newcombe;
pub mod number_to_start;
pub mod over_tries;
pub mod permutation;
pub mod poisson_binomial;
pub mod power;
pub mod power_blocks;
pub(crate) mod random;
pub mod random_effects;
pub mod ratio;
pub(crate) mod roots;
pub mod score_difference;
pub mod sequence;
pub mod shift;
pub mod sign_flip;
pub(crate) mod special;
pub mod strata;
mod tables;
pub mod trend;
pub mod turnbull;
#[cfg(test)]
mod type_one;
pub mod verdict;
pub mod wilson;

/// Exact methods count every case up to this many; beyond it they turn to an approximation and say so.
pub const MOST_STATES: u64 = 5_000_000;

/// No group has more bulbs than this.
pub const MOST_BULBS: u32 = 1_000_000;

/// A method has no answer, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoAnswer(pub Reason);

/// Why a method has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// No bulb is resolved yet, so there is no share.
    NoBulbs,
    /// More bulbs reached the stage than there are.
    MoreThanAll,
    /// The share to divide by is zero.
    NothingToDivideBy,
    /// One of the counts that the method divides by is zero.
    EmptyCell,
    /// A level or a probability is not between 0 and 1.
    NotAProbability,
    /// Fewer than two groups have a resolved bulb.
    TooFewGroups,
    /// All bulbs, or all levels, are the same, so that nothing can differ.
    NoVariation,
    /// The levels have no order, or no number to go with it.
    NoScore,
    /// No try has both groups, so try and treatment cannot be told apart.
    Confounded,
    /// A single try says nothing of how tries differ.
    OneTry,
    /// A day is negative, no number, or an interval ends before it starts.
    NotADay,
    /// So many bulbs have not reached the stage by the last day.
    NotReachedYet,
    /// No bulb is left without the stage.
    NoneLeft,
    /// Not even the largest number or share that was looked at reaches the target.
    NotWithReach,
    /// The looks contradict each other: the share has changed on the way.
    RateChanged,
    /// Some factors depend on each other, so that none of them can be told apart from the others.
    Aliased,
    /// The likelihood has no maximum that could be found.
    NotEstimable,
    /// There were too few ways to draw the lots for an interval at this level.
    TooFewDraws,
    /// Too many cases to count, and no approximation that could be trusted.
    TooManyStates,
    /// How much containers differ is not known before the start, so that there is no power.
    SpreadUnknown,
    /// It was stopped before it was done.
    Stopped,
    /// The method is one of two whole groups, and lots were drawn within size classes.
    WithinClasses,
}

impl fmt::Display for NoAnswer {
    /// For developers: the reason's code.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

impl std::error::Error for NoAnswer {}

/// An answer or the reason for none.
pub type Result<T, E = NoAnswer> = std::result::Result<T, E>;

/// Writes an answer as itself, and the reason for none as `{"cannot_be_said": "no-bulbs"}`. In bytes both can be read
/// again.
///
/// # Errors
/// As the serializer.
pub fn serialize_said<T: Serialize, S: Serializer>(said: &Result<T>, to: S) -> Result<S::Ok, S::Error> {
    if !to.is_human_readable() {
        return said.serialize(to);
    }
    match said {
        Ok(answer) => answer.serialize(to),
        Err(NoAnswer(reason)) => {
            let mut map = to.serialize_map(Some(1))?;
            map.serialize_entry("cannot_be_said", reason)?;
            map.end()
        }
    }
}

/// How many of some resolved bulbs (or other units) reached the stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "(u32, u32)")]
pub struct Share {
    reached: u32,
    of: u32,
}

impl Share {
    /// `reached` of `of` resolved bulbs.
    ///
    /// # Errors
    /// When more reached the stage than there are, or there are more than [`MOST_BULBS`].
    ///
    /// # More than all is no share
    /// ```
    /// use bloomdue_core::evidence::Share;
    /// assert_eq!(Share::new(9, 12).and_then(Share::rate), Ok(0.75));
    /// assert!(Share::new(13, 12).is_err());
    /// ```
    pub const fn new(reached: u32, of: u32) -> Result<Self> {
        if reached > of {
            return Err(NoAnswer(Reason::MoreThanAll));
        }
        if of > MOST_BULBS {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        Ok(Self { reached, of })
    }

    /// How many reached the stage.
    pub const fn reached(self) -> u32 {
        self.reached
    }

    /// How many are resolved.
    pub const fn of(self) -> u32 {
        self.of
    }

    /// The share itself, 0 to 1.
    ///
    /// # Errors
    /// When no bulb is resolved.
    pub fn rate(self) -> Result<f64> {
        if self.of == 0 {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        Ok(self.x() / self.n())
    }

    /// How many did not reach the stage.
    pub const fn missed(self) -> u32 {
        self.of - self.reached
    }

    fn x(self) -> f64 {
        f64::from(self.reached)
    }

    fn n(self) -> f64 {
        f64::from(self.of)
    }
}

impl TryFrom<(u32, u32)> for Share {
    type Error = NoAnswer;

    fn try_from((reached, of): (u32, u32)) -> Result<Self> {
        Self::new(reached, of)
    }
}

/// Share a less share b, −1 to 1.
///
/// # Errors
/// When a group has no resolved bulb.
pub fn difference(a: Share, b: Share) -> Result<f64> {
    Ok(a.rate()? - b.rate()?)
}

/// How sure an interval is to be: the share of intervals made this way that hold the truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level(f64);

impl Level {
    /// 95 %, the level of every interval in a sentence.
    pub const PCT_95: Self = Self(0.95);

    /// A level above 0 and below 1.
    ///
    /// # Errors
    /// When it is not.
    pub fn new(level: f64) -> Result<Self> {
        if level > 0.0 && level < 1.0 {
            return Ok(Self(level));
        }
        Err(NoAnswer(Reason::NotAProbability))
    }

    /// The share of intervals that may miss on one side.
    fn tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// The point of the normal distribution with that tail above it.
    fn z(self) -> f64 {
        // Abramowitz & Stegun table 26.5; every interval on a screen has this level.
        const Z_95: f64 = 1.959_963_984_540_054;
        if self == Self::PCT_95 {
            return Z_95;
        }
        special::normal_upper(self.tail())
    }
}

/// A closed interval; `upper` may be infinite where the method says so.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// The lower end.
    pub lower: f64,
    /// The upper end.
    pub upper: f64,
}

impl Interval {
    const fn new(lower: f64, upper: f64) -> Self {
        Self { lower, upper }
    }

    /// The same interval cut to the values that are possible.
    fn within(self, least: f64, most: f64) -> Self {
        Self::new(self.lower.clamp(least, most), self.upper.clamp(least, most))
    }
}

/// How a p-value was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum How {
    /// Every case was counted.
    Exact,
    /// There were more than [`MOST_STATES`] cases; Fisher's mid-p stands in.
    FisherMidP,
    /// There were more than [`MOST_STATES`] cases; the normal approximation stands in.
    Normal,
    /// There were more than [`MOST_STATES`] cases; so many random ones were drawn from this seed.
    MonteCarlo {
        /// How many were drawn.
        draws: u32,
        /// The seed.
        seed: u64,
    },
}

/// A p-value and how it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tested {
    /// The p-value, 0 to 1.
    pub p: f64,
    /// How it was found.
    pub how: How,
}

impl Tested {
    /// The standard error of a Monte Carlo p-value; 0 for any other.
    pub fn error(self) -> f64 {
        match self.how {
            How::MonteCarlo { draws, .. } => (self.p * (1.0 - self.p) / f64::from(draws)).sqrt(),
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(interval: Interval, value: Result<f64>, what: &str) {
        let (low, high) = (interval.lower, interval.upper);
        assert!(!low.is_nan() && !high.is_nan() && low <= high, "{what}: {interval:?}");
        let value = value.unwrap_or(low);
        assert!(low <= value + 1e-9 && value <= high + 1e-9, "{what}: {interval:?} without {value}");
    }

    /// Every pair of small groups, empty ones included: no interval without its estimate, no p outside 0 to 1.
    #[test]
    fn every_small_table_has_an_answer() {
        let shares: Vec<Share> = (0..=4).flat_map(|n| (0..=n).map(move |x| Share { reached: x, of: n })).collect();
        for level in [0.5, 0.95, 0.999_999].map(|level| Level::new(level).expect("a level")) {
            for &a in &shares {
                for method in [wilson::interval, clopper_pearson::interval, jeffreys::interval] {
                    holds(method(a, level), a.rate(), "one share");
                }
                for &b in &shares {
                    let gap = difference(a, b);
                    for method in [newcombe::interval, score_difference::miettinen_nurminen, score_difference::mee] {
                        holds(method(a, b, level), gap, &format!("{a:?} {b:?}"));
                    }
                    for method in [ratio::koopman, ratio::miettinen_nurminen] {
                        holds(method(a, b, level), ratio::estimate(a, b), &format!("ratio {a:?} {b:?}"));
                    }
                    if let Ok(interval) = ratio::katz(a, b, level) {
                        holds(interval, ratio::estimate(a, b), "Katz");
                    }
                }
            }
        }
    }

    #[test]
    fn every_small_table_has_its_p_values() {
        let shares: Vec<Share> = (0..=4).flat_map(|n| (0..=n).map(move |x| Share { reached: x, of: n })).collect();
        for &a in &shares {
            for &b in &shares {
                let fisher = fisher::test(a, b);
                let barnard = barnard::all(a, b).expect("few tables");
                let boschloo = boschloo::all(a, b).expect("few tables");
                let all = [
                    fisher.two_sided,
                    fisher.mid_p,
                    fisher.mid_p_doubled,
                    barnard.two_sided,
                    barnard.a_greater,
                    barnard.a_less,
                    boschloo.fisher_ordering,
                    boschloo.doubled,
                ];
                assert!(all.iter().all(|p| (0.0..=1.0).contains(p)), "{a:?} {b:?} {all:?}");
                assert!(boschloo.fisher_ordering <= fisher.two_sided + 1e-12, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn what_is_impossible_is_refused() {
        assert_eq!(Share::new(3, 2), Err(NoAnswer(Reason::MoreThanAll)));
        assert_eq!(Share::new(3, u32::MAX), Err(NoAnswer(Reason::TooManyStates)));
        assert!(Level::new(1.0).is_err() && Level::new(f64::NAN).is_err());
    }
}
