//! Back from the date: when to stop water, rest, pot; how many to start; which bulbs; what to try next.
//!
//! [`plan`]`(&Data, &Fit, &Wish)` → [`Plan`] or a [`Refusal`], which is a sentence. `Data` and `Fit` are those of
//! [`crate::forecast`]; a nursery without own tries fits no cycles, and then [`Plan::from_published`] is set: "from
//! published ranges, not from this nursery" heads every number. The fit is the long part and belongs in a worker; the
//! plan after it takes a tenth of a second. Move the date and ask again: everything moves.
//!
//! **Method.** Many possible new tries are drawn from the fit, each with its own pace, weather and share of blind bulbs
//! that all its bulbs share. For a day on which the rest ends, each gives a chance for one bulb to be in the wanted
//! stage in the window; so many bulbs then reach at least K with the binomial probability of that chance, and the
//! assurance is the mean over the draws. The day is the one with the best assurance; the number to start is the
//! smallest that gives the assurance asked for. This is the forecast turned round, so that K is reached as often as
//! promised (`cargo xtask soak plan`).
//!
//! Dates before the end of rest are counted back: weeks of rest are the grower's choice, withering and inspections
//! common practice ([`WITHER_DAYS`], [`INSPECT_DAYS`]). [`readiness()`] says which bulbs are fit to force, [`next_try()`]
//! which treatments to keep, drop or add. All outputs are plain values, serde both ways.

mod assure;
mod came;
mod inspected;
mod next_try;
mod preset;
mod readiness;
mod save;
pub mod scapes;
pub mod spend;
mod starting_point;
#[cfg(test)]
mod tests;
mod ways;

use serde::{Deserialize, Serialize};

use crate::{
    calendar::Date,
    error::Field,
    forecast::{Ahead, Coming, Data, Dates, Fit, Path, Sampling, Wanted, Window},
};

pub use crate::habits::{INSPECT_DAYS, LEAST_DAYS_IN_LEAF, LOOK_DAYS, WITHER_DAYS};
pub use came::{CameOf, came_of};
pub use inspected::with_inspections;
pub use next_try::{Advice, Choice, Choosing, NextTry, next_try, tried};
pub use preset::{AtHand, Proposed, ending, first_wish, moved, proposed};
pub use readiness::{LEAST_LEAVES, LEAST_MM, Lacks, Readiness, readiness};
pub use save::{as_saved, forcing, jobs, jobs_of_group, wish_now};
pub use starting_point::{StartingPoint, starting_point};
pub use ways::{WAYS, Way, beyond_published};

use assure::{Chances, tries};

/// Name and version of the method.
pub const METHOD: &str = "plan/1";
/// The longest rest that can be planned, in weeks; beyond it nothing is published.
pub const MOST_REST_WEEKS: u32 = 26;
/// The most bulbs that a plan is made for.
pub const MOST_BULBS: u32 = 2_000;

/// How the bulbs at hand stand now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Now {
    /// In growth: water has to be stopped first.
    InLeaf,
    /// At rest since this day.
    RestingSince(Date),
}

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wish {
    /// The due window.
    pub window: Window,
    /// The stage that counts.
    pub stage: Wanted,
    /// At least so many.
    pub wanted: u32,
    /// How sure, 0.5 to 0.99; "9 times in 10" is 0.9.
    pub assurance: f64,
    /// Bulbs at hand.
    pub at_hand: u32,
    /// How they stand.
    pub now: Now,
    /// Weeks of rest.
    pub rest_weeks: u32,
    /// The treatment, where it was tried before: index into [`Data::treatments`].
    pub treatment: Option<u32>,
    /// The lot, where it was forced before: index into [`Data::lots`].
    pub lot: Option<u32>,
    /// In how many lots, a week apart, to bring them on; 1 for all at once.
    pub staggered: u32,
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// The window's last day is over.
    WindowInThePast,
    /// The window ends before it begins.
    WindowBackwards,
    /// The window lies more than three years ahead.
    TooFarAhead,
    /// None are wanted.
    NothingWanted,
    /// No bulb is at hand.
    NoBulbs,
    /// More are wanted than there are.
    MoreThanAtHand {
        /// Wanted.
        wanted: u32,
        /// At hand.
        at_hand: u32,
    },
    /// More bulbs than a plan is made for.
    TooManyBulbs,
    /// The rest is longer than anything published.
    RestTooLong,
    /// The assurance is not from 0.5 to 0.99.
    NotAnAssurance,
    /// Not 1 to 6 lots.
    NotSoManyLots,
    /// One bulb can't be both crop and try.
    OneBulb,
    /// There is only one way to treat the bulbs.
    OneTreatment,
    /// No season is thought of.
    NoSeasons,
    /// More than [`spend::MOST_SEASONS`] seasons.
    TooManySeasons,
}

impl Refusal {
    /// The part of the wish that it speaks of, for the field beside which it stands.
    pub const fn field(self) -> Field {
        match self {
            Self::WindowInThePast | Self::WindowBackwards | Self::TooFarAhead => Field::Window,
            Self::NothingWanted | Self::MoreThanAtHand { .. } => Field::Wanted,
            Self::NoBulbs | Self::TooManyBulbs | Self::OneBulb => Field::AtHand,
            Self::RestTooLong | Self::OneTreatment => Field::Rest,
            Self::NoSeasons | Self::TooManySeasons => Field::Seasons,
            Self::NotAnAssurance => Field::Sure,
            Self::NotSoManyLots => Field::Lots,
        }
    }
}

/// What is said to a wish: the plan or why there is none, and how sure the computing behind it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The plan.
    pub plan: Result<Plan, Refusal>,
    /// Of the fit that it rests on.
    pub sampling: Sampling,
}

/// What to do with one lot, and when.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LotDates {
    /// Bulbs to start.
    pub n: u32,
    /// Stop water; nothing when they rest already.
    pub stop_water: Option<Date>,
    /// Cut back the dry leaves; nothing when they rest already.
    pub cut_back: Option<Date>,
    /// Lay to rest; the day they were when they rest already; nothing when there is no rest.
    pub lay_to_rest: Option<Date>,
    /// Inspected, and how many of its bulbs; what a plan does not know unless [`with_inspections`] told it.
    pub inspected: Vec<(Date, u32)>,
    /// Inspect.
    pub inspect: Vec<Date>,
    /// The rest ends: pot up.
    pub pot_up: Date,
    /// Bring into light and warmth.
    pub into_light: Date,
    /// First look for scapes, then every [`LOOK_DAYS`] days.
    pub first_look: Date,
    /// When each stage comes, if it comes.
    pub coming: Vec<(Coming, Dates)>,
}

/// What moving everything does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moved {
    /// By so many days; negative for earlier.
    pub days: i64,
    /// Whether it can still be done: no date before the end of rest lies in the past.
    pub possible: bool,
    /// The chance to reach what is wanted with the same number started.
    pub chance: f64,
    /// How many to start then; nothing when not even all bulbs are enough.
    pub to_start: Option<u32>,
}

/// A wish nearby that can be met.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Nearest {
    /// Fewer, in the same window.
    Fewer(u32),
    /// As many, in this later window of the same length.
    Later(Window),
    /// As many, in a window that starts and ends so many days earlier and later.
    Wider(Window),
    /// As many, with so many bulbs.
    MoreBulbs(u32),
}

/// A plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// From published ranges, not from this nursery.
    pub from_published: bool,
    /// Whether the wish can be met.
    pub met: bool,
    /// Bulbs to start: as many as needed, or all when the wish cannot be met.
    pub to_start: u32,
    /// The chance to reach what is wanted with them, 0 to 1.
    pub chance: f64,
    /// How many there will be at least with the assurance asked for, when so many are started.
    pub assured: u32,
    /// The chance of at least so many of them, 0 to 1, by rising number; every number where there are few.
    pub ladder: Vec<(u32, f64)>,
    /// What to do, by lot.
    pub lots: Vec<LotDates>,
    /// A week earlier, a week later, two weeks later.
    pub moved: Vec<Moved>,
    /// When it cannot be met: the nearest that can.
    pub nearest: Vec<Nearest>,
}

/// Whether a wish makes sense.
///
/// # Errors
/// A [`Refusal`] when it does not.
pub fn check(wish: &Wish, today: Date) -> Result<(), Refusal> {
    let Window { from, to } = wish.window;
    if from > to {
        return Err(Refusal::WindowBackwards);
    }
    if to <= today {
        return Err(Refusal::WindowInThePast);
    }
    if today.days_until(to) > 3 * 366 || from.days_until(to) > 366 {
        return Err(Refusal::TooFarAhead);
    }
    if wish.wanted == 0 {
        return Err(Refusal::NothingWanted);
    }
    if wish.at_hand == 0 {
        return Err(Refusal::NoBulbs);
    }
    if wish.wanted > wish.at_hand {
        return Err(Refusal::MoreThanAtHand { wanted: wish.wanted, at_hand: wish.at_hand });
    }
    if wish.at_hand > MOST_BULBS {
        return Err(Refusal::TooManyBulbs);
    }
    if wish.rest_weeks > MOST_REST_WEEKS {
        return Err(Refusal::RestTooLong);
    }
    if !(0.5..=0.99).contains(&wish.assurance) {
        return Err(Refusal::NotAnAssurance);
    }
    if !(1..=6).contains(&wish.staggered) {
        return Err(Refusal::NotSoManyLots);
    }
    Ok(())
}

/// The first day, from today, on which a rest can end.
fn earliest(wish: &Wish) -> impl Fn(Date) -> i64 {
    let rest = i64::from(wish.rest_weeks) * 7;
    let now = wish.now;
    move |today| match now {
        Now::InLeaf if rest == 0 => 0,
        Now::InLeaf => WITHER_DAYS + rest,
        Now::RestingSince(since) => (today.days_until(since) + rest).max(0),
    }
}

/// The plan for a wish.
///
/// # Errors
/// A [`Refusal`] when the wish makes no sense.
///
/// # More than there are is refused; what can be had is dated back from the window
/// ```
/// # use bloomdue_core::{calendar::Date, forecast::{self, Wanted, Window}, ledger::{Ledger, id::Id}, nursery::State, plan::{Now, Refusal, Wish, plan}};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 1, 4)?;
/// let data = forecast::gather(&State::fold(&Ledger::new(Id::parse("l_1")?)), today);
/// let fit = forecast::fit(&data, data.seed(), |_done| true)?;
/// let mut wish = Wish {
///     window: Window { from: Date::new(2027, 12, 1)?, to: Date::new(2027, 12, 24)? },
///     stage: Wanted::InFlower,
///     wanted: 20,
///     assurance: 0.8,
///     at_hand: 100,
///     now: Now::InLeaf,
///     rest_weeks: 10,
///     treatment: None,
///     lot: None,
///     staggered: 1,
/// };
/// let plan_of = |wish: &Wish| plan(&data, &fit, wish);
/// let made = plan_of(&wish).expect("a year is enough");
/// assert!(made.lots.iter().all(|lot| lot.pot_up < wish.window.to));
/// wish.wanted = 101;
/// assert_eq!(plan_of(&wish).err(), Some(Refusal::MoreThanAtHand { wanted: 101, at_hand: 100 }));
/// # Ok(())
/// # }
/// ```
pub fn plan(data: &Data, fit: &Fit, wish: &Wish) -> Result<Plan, Refusal> {
    let today = data.today;
    check(wish, today)?;
    let what = Ahead { treatment: wish.treatment, lot: wish.lot, rest_days: wish.rest_weeks as i32 * 7 };
    let tries = tries(data, fit, what);
    let chances = Chances::of(&tries, today, wish);
    let earliest = earliest(wish)(today);
    let best = chances.best(wish, Some(earliest));
    let to_start = chances.to_start(best, wish, wish.at_hand);
    let n = to_start.unwrap_or(wish.at_hand);
    let moved = [-7, 7, 14].map(|days| Moved {
        days,
        possible: best + days - chances.half_spread() >= earliest,
        chance: chances.assurance(best + days, n, wish.wanted),
        to_start: chances.to_start(best + days, wish, wish.at_hand),
    });
    let lots = lot_sizes(n, wish.staggered).into_iter().zip(chances.offsets());
    let lots = lots.map(|(n, offset)| dates(today, wish, &chances, best + offset, n));
    Ok(Plan {
        from_published: fit.from_published,
        met: to_start.is_some(),
        to_start: n,
        chance: chances.assurance(best, n, wish.wanted),
        assured: chances.assured(best, n, wish.assurance),
        ladder: chances.ladder(best, n, wish.wanted),
        lots: lots.collect(),
        moved: moved.to_vec(),
        nearest: if to_start.is_some() { Vec::new() } else { nearest(&tries, today, wish, &chances, earliest) },
    })
}

/// So many bulbs in lots as equal as can be.
fn lot_sizes(n: u32, n_lots: u32) -> Vec<u32> {
    (0..n_lots).map(|lot| n / n_lots + u32::from(lot < n % n_lots)).collect()
}

fn day(today: Date, days: i64) -> Date {
    today.add_days(days).unwrap_or(today)
}

fn dates(today: Date, wish: &Wish, chances: &Chances, rest_end: i64, n: u32) -> LotDates {
    let rest = i64::from(wish.rest_weeks) * 7;
    let (lay, stop) = match wish.now {
        Now::InLeaf if rest == 0 => (None, None),
        Now::InLeaf => (Some(rest_end - rest), Some(rest_end - rest - WITHER_DAYS)),
        Now::RestingSince(since) => (Some(today.days_until(since)), None),
    };
    let inspections = (1..)
        .map_while(|k| lay.map(|lay| lay + k * INSPECT_DAYS))
        .take_while(|on| *on < rest_end)
        .filter(|on| *on >= 0);
    let coming = chances.coming();
    let first_scape = coming.first().map_or(7, |(_, days)| days[0] - LOOK_DAYS);
    LotDates {
        n,
        stop_water: stop.map(|on| day(today, on)),
        cut_back: stop.and(lay).map(|on| day(today, on)),
        lay_to_rest: lay.map(|on| day(today, on)),
        inspected: Vec::new(),
        inspect: inspections.map(|on| day(today, on)).collect(),
        pot_up: day(today, rest_end),
        into_light: day(today, rest_end),
        first_look: day(today, rest_end + first_scape.max(1)),
        coming: coming
            .into_iter()
            .map(|(stage, days)| {
                let [p10, p50, p90] = days.map(|on| day(today, rest_end + on));
                (stage, Dates { p10, p50, p90 })
            })
            .collect(),
    }
}

/// Wishes nearby that can be met with the bulbs at hand, and how many bulbs this one needs.
fn nearest(tries: &[Vec<Path>], today: Date, wish: &Wish, chances: &Chances, earliest: i64) -> Vec<Nearest> {
    let mut nearest = Vec::new();
    let best = chances.best(wish, Some(earliest));
    let fewer = chances.assured(best, wish.at_hand, wish.assurance);
    if fewer > 0 {
        nearest.push(Nearest::Fewer(fewer));
    }
    let moved = |by: i64, longer: i64| Window {
        from: day(wish.window.from, by - longer),
        to: day(wish.window.to, by + longer),
    };
    // Were there time enough, would the bulbs do? Then everything moves by the days that are short.
    let free = chances.best(wish, None);
    if free < earliest && chances.to_start(free, wish, wish.at_hand).is_some() {
        nearest.push(Nearest::Later(moved(earliest - free, 0)));
    } else {
        let wider = [3, 7, 10, 14, 21].into_iter().find_map(|longer| {
            let wish = Wish { window: moved(0, longer), ..wish.clone() };
            let chances = Chances::of(tries, today, &wish);
            let best = chances.best(&wish, Some(earliest));
            chances.to_start(best, &wish, wish.at_hand)?;
            Some(Nearest::Wider(wish.window))
        });
        nearest.extend(wider);
    }
    if let Some(more) = chances.to_start(best, wish, MOST_BULBS) {
        nearest.push(Nearest::MoreBulbs(more));
    }
    nearest
}
