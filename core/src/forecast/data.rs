//! What the forecast is computed from: plain values that can be sent to a worker.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::{calendar::Date, ledger::id::Id};

/// The stages a forecast speaks of, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Coming {
    /// A scape in sight.
    ScapeInSight,
    /// Fit to sell.
    FitToSell,
    /// First flower open.
    FirstFlower,
    /// All scapes over.
    Over,
}

impl Coming {
    /// All four.
    pub const ALL: [Self; 4] = [Self::ScapeInSight, Self::FitToSell, Self::FirstFlower, Self::Over];
}

/// A step from one stage to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// From the end of rest to a scape in sight.
    ToScape,
    /// From there to fit to sell.
    ToFit,
    /// From there to the first open flower.
    ToFlower,
    /// From there to the over of all scapes.
    ToOver,
}

/// What is known of one stage in one cycle, in days since the cycle's origin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// Reached after `after` and not later than `by`.
    Between {
        /// Last day without it.
        after: i32,
        /// First day with it.
        by: i32,
    },
    /// Not reached by this day.
    NotBy(i32),
    /// Nothing is known.
    NotSaid,
}

/// What the days of a cycle count from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Begins {
    /// A day that was recorded.
    Recorded,
    /// The planned end of the rest that the bulb is in.
    RestEnds,
    /// The planned end of a rest that is still to begin.
    RestAhead,
    /// The day on which a plan brings it on without a rest.
    BroughtOn,
}

impl Begins {
    /// Whether the cycle has not begun: the bulb is still in leaf.
    pub fn is_ahead(self) -> bool {
        matches!(self, Self::RestAhead | Self::BroughtOn)
    }
}

/// One growth cycle of one bulb.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Course {
    /// The bulb.
    pub bulb: Id,
    /// Where it stands.
    pub place: Option<Id>,
    /// The day its rest ended (or it was potted or brought to light), from which days count; may lie ahead.
    pub origin: Date,
    /// What that day is.
    pub begins: Begins,
    /// Days of rest before it, where known.
    pub rest_days: Option<i32>,
    /// What was done differently: index into [`Data::treatments`].
    pub treatment: Option<u32>,
    /// Index into [`Data::lots`].
    pub lot: Option<u32>,
    /// Which bulbs were brought on together: index into [`Data::tries`].
    pub attempt: Option<u32>,
    /// The four stages of [`Coming::ALL`].
    pub stages: [Known; 4],
    /// Height of its highest scape when last measured, in mm, and on which day since the origin; while no flower is
    /// open.
    pub height: Option<(i32, u32)>,
    /// Whether it is here and its cycle is under way, so that there is something to forecast.
    pub waiting: bool,
}

/// A try as the forecast sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Attempt {
    /// A run of a trial.
    Run(Id),
    /// A saved plan, until what it brings on is over.
    Plan(Id),
    /// Bulbs without a trial that were brought on within the same four weeks, counted from 3 January 2000.
    FourWeeks(i64),
}

/// Why a bulb that is here has no forecast.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unforeseen {
    /// It rests, and nothing says until when.
    RestsWithoutEnd,
    /// Nothing says that its rest ended, that it was potted or brought to light, and no plan that it will be.
    NoBeginning,
    /// Its flowers are over.
    IsOver,
}

/// Everything a fit needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Data {
    /// The day it is computed for.
    pub today: Date,
    /// What was done, as its levels in words.
    pub treatments: Vec<String>,
    /// Lots.
    pub lots: Vec<Id>,
    /// Tries.
    pub tries: Vec<Attempt>,
    /// Cycles, past ones and those under way.
    pub courses: Vec<Course>,
    /// Bulbs that are here without a forecast, and why.
    pub unforeseen: Vec<(Id, Unforeseen)>,
}

impl Data {
    /// The seed of the fit, made of the data alone: every device that has the same records says the same, and what
    /// the program said before ([`crate::ledger::body::Shown`]) changes nothing.
    pub fn seed(&self) -> u64 {
        let text = serde_json::to_vec(self).unwrap_or_default();
        let hash = Sha256::digest(&text);
        hash.iter().take(8).fold(0, |seed, byte| seed << 8 | u64::from(*byte))
    }

    /// Indexes of the cycles under way.
    pub fn waiting(&self) -> impl Iterator<Item = usize> + '_ {
        let all = self.courses.iter().enumerate();
        all.filter(|(_, course)| course.waiting).map(|(at, _)| at)
    }

    /// Whether any cycle of this nursery says how long a stage took, or that it stayed out.
    pub fn knows_own_tries(&self) -> bool {
        let reached = |course: &Course| matches!(course.stages[0], Known::Between { .. });
        let stayed_out = |course: &Course| !course.waiting && matches!(course.stages[0], Known::NotBy(day) if day > 0);
        self.courses.iter().any(|course| reached(course) || stayed_out(course))
    }
}
