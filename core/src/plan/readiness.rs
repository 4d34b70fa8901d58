//! Which bulbs are fit to force, by a rule of thumb of our own: what its limits lean on is published, that they are limits
//! is not ([`crate::published`]).
//!
//! | what | least | leans on |
//! |---|---|---|
//! | months in leaf since the last flower | 6 | "feed and light at least 3 months; active about 6" (trade page); 9 months for two buds (Doorduin 1990, trial) |
//! | leaves | 4 | four leaves are initiated, then an inflorescence (Blaauw 1931; Doorduin 1990, trials) |
//! | circumference | 22 cm | what is sold as marketable (Sandler-Ziv et al.); no physiological minimum is published |
//! | scapes in the last cycle | 1 | a bulb that stayed blind is likelier to stay so again (common practice) |

use serde::Serialize;

use crate::{
    calendar::Date,
    habits::LEAST_DAYS_IN_LEAF,
    ledger::{body::GoalStage, id::Id},
    nursery::{Bulb, State},
};

/// Leaves of one set.
pub const LEAST_LEAVES: i64 = 4;
/// Circumference.
pub const LEAST_MM: i64 = 220;

/// What a bulb lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lacks {
    /// Days in leaf.
    DaysInLeaf,
    /// Leaves.
    Leaves,
    /// Girth.
    Girth,
    /// It stayed blind in its last cycle.
    WasBlind,
    /// It is put aside, or to be watched since its last inspection.
    Watched,
    /// It is being forced: between the end of its rest and the end of its flowers.
    UnderWay,
    /// It rests already.
    Rests,
    /// It is in a running try.
    InATry,
    /// It is in a plan that was saved, stands, and is not over.
    Planned,
}

/// How ready a bulb is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Readiness {
    /// The bulb.
    pub bulb: Id,
    /// Days since its last flower was over, or since the cycle began in which it stayed blind; nothing when unknown.
    pub days_in_leaf: Option<i64>,
    /// Leaves when last counted.
    pub leaves: Option<i64>,
    /// Circumference when last measured, in mm; nothing when never measured.
    pub circumference_mm: Option<i64>,
    /// Scapes in the last cycle that showed one or ended without; nothing when none is known.
    pub last_scapes: Option<usize>,
    /// What it lacks; what is unknown is not held against it.
    pub lacks: Vec<Lacks>,
    /// How many of the four are known.
    pub n_known: usize,
}

impl Readiness {
    /// Fit to force: nothing is lacking, and something is known.
    pub fn is_ready(&self) -> bool {
        self.lacks.is_empty() && self.n_known > 0
    }
}

/// How ready the bulbs are that are here, the readiest first.
pub fn readiness(state: &State, today: Date) -> Vec<Readiness> {
    let here = state.bulbs.values().filter(|bulb| bulb.is_here());
    let mut all: Vec<Readiness> = here.map(|bulb| of_bulb(state, bulb, today)).collect();
    all.sort_by_key(|one| {
        (one.lacks.len(), std::cmp::Reverse(one.n_known), std::cmp::Reverse(one.circumference_mm), one.bulb)
    });
    all
}

fn of_bulb(state: &State, bulb: &Bulb, today: Date) -> Readiness {
    let flowered = bulb.cycles.iter().rev().find_map(|cycle| {
        let flowering = cycle.flowering();
        flowering.over.or(flowering.last)
    });
    let blind = bulb.cycles.iter().rev().find(|cycle| cycle.blind());
    let since = flowered.max(blind.and_then(|cycle| cycle.began));
    let days_in_leaf = since.map(|since| since.days_until(today)).filter(|days| *days >= 0);
    let leaves = bulb.n_leaves.map(|(_, n)| n);
    let circumference_mm = Some(bulb.size_mm()).filter(|mm| *mm > 0);
    let last_scapes = bulb.cycles.iter().rev().find_map(|cycle| {
        let n = cycle.scapes().count();
        (n > 0 || cycle.blind()).then_some(n)
    });
    let cycle = bulb.cycle();
    // From the end of its rest to the end of its flowers a bulb is being forced.
    let shows = cycle.reach(GoalStage::ScapeInSight).with.is_some();
    let open = cycle.ended.is_none();
    let rests = open && cycle.resting();
    let flowers_to_come = shows && cycle.flowering().over.is_none();
    let under_way = open && !rests && (flowers_to_come || cycle.rest_was_ended() && !shows);
    let mut lacks = Vec::new();
    let mut lack = |short: bool, what: Lacks| {
        if short {
            lacks.push(what);
        }
    };
    lack(days_in_leaf.is_some_and(|days| days < LEAST_DAYS_IN_LEAF), Lacks::DaysInLeaf);
    lack(leaves.is_some_and(|n| n < LEAST_LEAVES), Lacks::Leaves);
    lack(circumference_mm.is_some_and(|mm| mm < LEAST_MM), Lacks::Girth);
    lack(last_scapes == Some(0), Lacks::WasBlind);
    lack(bulb.put_aside.is_some() || bulb.watch.is_some(), Lacks::Watched);
    lack(under_way, Lacks::UnderWay);
    lack(rests, Lacks::Rests);
    lack(state.running(bulb).is_some(), Lacks::InATry);
    lack(state.forcings_ahead(bulb.id, today).next().is_some(), Lacks::Planned);
    let known = [days_in_leaf.is_some(), leaves.is_some(), circumference_mm.is_some(), last_scapes.is_some()];
    Readiness {
        bulb: bulb.id,
        days_in_leaf,
        leaves,
        circumference_mm,
        last_scapes,
        lacks,
        n_known: known.into_iter().filter(|known| *known).count(),
    }
}
