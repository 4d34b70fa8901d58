//! What is believed before this nursery's own tries say anything: the one place where published numbers enter.
//!
//! What each rests on is listed in [`crate::published`]. Every prior is weak: an own try of a dozen bulbs outweighs it.
//! Times are days on the logarithmic scale; a spread of 0.3 there is "a third more or less". Numbers that published pages
//! give as ranges were read as the middle and the width of what most of them say; none of them prints a percentile, and
//! no page gives the spread between bulbs of one lot, which is a guess from the width of the ranges.
//!
//! Two published trials are kept out on purpose: the storage trial of Pham et al. 2018 (4 °C or 25 °C for 4, 6, 8 weeks)
//! and the trial of watering interrupted for 2, 4, 8 weeks in 'Red Lion' (1987). The forecast is checked against them.

use super::data::Step;

pub use bloomdue_draws::Normal;
use bloomdue_draws::{Beliefs, BlindBeliefs, futures::Growth};

/// The priors of one step of growth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepPrior {
    /// The step.
    pub step: Step,
    /// ln of the median duration in days, over nurseries.
    pub ln_median: Normal,
    /// ln of the spread between bulbs that are treated alike (the standard deviation of ln days).
    pub ln_spread: Normal,
    /// Change of ln days for four weeks more of rest than [`REST_DAYS`].
    pub longer_rest: Normal,
    /// How far treatments, lots and tries differ: scale of the half-normal priors of their standard deviations.
    pub differ: [f64; 3],
}

/// The numbers of the four steps.
pub(super) fn beliefs() -> [Beliefs; 4] {
    STEPS.map(|prior| Beliefs {
        ln_median: prior.ln_median,
        ln_spread: prior.ln_spread,
        longer_rest: prior.longer_rest,
        differ: prior.differ,
    })
}

/// Those of staying blind.
pub(super) const BLIND_BELIEFS: BlindBeliefs = BlindBeliefs { log_odds: BLIND, differ: BLIND_DIFFER };

/// How a scape grows: 46 to 76 cm at first flower (Iowa State Extension 2005). Power and error are read from one plant
/// measured daily from 9 to 75 cm (2017), hence the wide error.
pub const GROWTH: Growth = Growth { ln_final_mm: 6.38, final_spread: 0.22, power: 1.3, error: 0.25 };

/// Days of rest that the medians are meant for: 10 weeks, the middle of what is published (8 to 14 weeks).
pub const REST_DAYS: f64 = 70.0;

/// Medians in days: ln 32, ln 8, ln 15, ln 17.
const LN_32: f64 = 3.465_735_902_799_726_5;
const LN_8: f64 = 2.079_441_541_679_835_7;
const LN_15: f64 = 2.708_050_201_102_210_3;
const LN_17: f64 = 2.833_213_344_056_216;

/// No effect of the length of rest is assumed on this step, and little is let in.
const NO_REST_EFFECT: Normal = Normal { mean: 0.0, sd: 0.03 };

/// One prior a step.
pub const STEPS: [StepPrior; 4] = [
    StepPrior {
        step: Step::ToScape,
        ln_median: Normal { mean: LN_32, sd: 0.30 },
        ln_spread: Normal { mean: -1.43, sd: 0.35 },
        longer_rest: Normal { mean: -0.10, sd: 0.10 },
        differ: [0.20, 0.20, 0.20],
    },
    StepPrior {
        step: Step::ToFit,
        ln_median: Normal { mean: LN_8, sd: 0.35 },
        ln_spread: Normal { mean: -1.20, sd: 0.35 },
        longer_rest: NO_REST_EFFECT,
        differ: [0.12, 0.12, 0.15],
    },
    StepPrior {
        step: Step::ToFlower,
        ln_median: Normal { mean: LN_15, sd: 0.25 },
        ln_spread: Normal { mean: -1.43, sd: 0.35 },
        longer_rest: NO_REST_EFFECT,
        differ: [0.10, 0.12, 0.12],
    },
    StepPrior {
        step: Step::ToOver,
        ln_median: Normal { mean: LN_17, sd: 0.30 },
        ln_spread: Normal { mean: -1.20, sd: 0.35 },
        longer_rest: NO_REST_EFFECT,
        differ: [0.10, 0.15, 0.15],
    },
];

/// The log odds of staying blind in a cycle: about 15 %, anything from 3 % to 50 % being likely enough.
///
/// Bulbs of 22/24 cm send up one scape, sometimes none, larger grades one to three (trade tables); lifted too early or
/// not prepared they make leaves first and may not flower in that cycle (trade pages); 22 to 30 cm bulbs of 'Red Lion'
/// held 1.5 to 1.8 developing inflorescences (Sandler-Ziv et al., Volcani Center).
pub const BLIND: Normal = Normal { mean: -1.7, sd: 1.0 };

/// How far treatments, lots and tries differ in the log odds of staying blind.
pub const BLIND_DIFFER: [f64; 3] = [0.7, 0.7, 0.6];

/// How much slower or faster everything may run from today on, together, whatever was learned: the standard deviation
/// of ln days of the weather of a season.
///
/// Warmth speeds between 17 and 24 °C (leaflet, Amaryllidaceae) and cool rooms stretch flowers, but no rate is
/// published: a twelfth more or less over a season, and a quarter in a rare spell of three weeks, is a guess.
pub const PACE_SD: f64 = 0.08;

/// How much slower or faster besides in the coming [`SPELL_DAYS`] days: the scale of ln days, which has Student's t
/// distribution with 4 degrees of freedom.
///
/// Weather is mostly much like before, and now and then a spell makes everything run a quarter faster for three weeks;
/// over a season spells average out. One normal term for near and far (0.12) all but ruled such a spell out, and the
/// number in flower then left its 80 % band far too often (`cargo xtask soak bands/WarmSpell/60`: the band of whole
/// numbers held in 79 % where 91 % was said). A wider normal term still did worse there than heavy tails do, and heavy
/// tails for the whole season would make plans start more bulbs than need be.
pub const SPELL_SCALE: f64 = 0.08;

/// How long a spell lasts.
pub const SPELL_DAYS: f64 = 21.0;
