//! What to expect: which bulbs will be fit to sell and in flower, when, and how sure that is.
//!
//! The way from records to a screen, in four calls; the second is the long one and belongs in a worker:
//!
//! 1. [`gather`]`(&State, today)` → [`Data`]: plain values, serde both ways.
//! 2. [`fit`]`(&Data, seed, progress)` → [`Fit`]: draws of every number of the model. `progress` is told the share done
//!    and answers whether to go on. The same data and seed give the same fit on every device.
//! 3. [`outlook`]`(&Data, &Fit, &Ask)` → [`Outlook`]: all that a screen shows, serde both ways: dates of the stages of
//!    each bulb (10–50–90 %), chances in a window, counts by day with a band by place, lot, try and treatment, and the
//!    chance of at least K ([`InWindow::at_least`]).
//! 4. [`score`](mod@score): what was said against what came.
//!
//! For more windows than one keep [`Futures::of`]`(&data, &fit)` and ask it.
//!
//! **Model.** Steps: rest end → scape in sight → fit to sell → first open flower → over; each lognormal with effects of
//! treatment, lot and try, partly pooled; a share stays blind. Data are intervals between looks, and those of a bulb
//! still without a scape, however long, count too. Times within looks are drawn by slice sampling; see
//! package `bloomdue-draws` for how; what lies ahead runs slower or faster together with the weather to come,
//! which no record knows ([`priors::PACE_SD`], [`priors::SPELL_SCALE`]); [`priors`] for what is believed before the first own try. A flower open on a
//! pot not marked as fit to sell makes it fit by then. A pot that left, died or is missing counts up to its last look
//! and is in no count of what will come. A bulb in leaf of a saved plan counts from the planned end of a rest that is
//! yet to begin; the cycle that it is in then teaches like a past one. A bulb *in flower* has a first open flower and
//! is not over; *fit to sell* is from that mark to over. A shoot that is not proved says nothing yet. A bulb started
//! with its scape in sight (potted late, woken in its rest) says nothing of the first step and counts for the others; where
//! no look was before, its scape may have come on any day of four weeks.
//!
//! **Words to keep beside it.** Where [`Outlook::from_published`] is set: "from published ranges, not from this
//! nursery". Dates of a stage are those *if it comes*; the chance that it stays blind stands beside
//! ([`BulbOutlook::blind`]). [`Sampling`] belongs under *how this was worked out*.

mod asked;
mod data;
mod design;
mod diagnose;
#[cfg(test)]
mod fast;
mod fit;
mod futures;
mod gather;
pub mod log;
mod new_try;
mod outlook;
pub mod priors;
mod rows;
pub mod score;
#[cfg(any(test, feature = "testing"))]
pub mod simulate;
#[cfg(test)]
mod tests;

pub use asked::{Offered, ask, next_asked, next_weeks, offered};
pub use data::{Attempt, Begins, Coming, Course, Data, Known, Step, Unforeseen};
pub use fit::{Effort, Fit, Fitting, METHOD, Sampling, fit, fit_with};
pub use futures::{Futures, Wanted};
pub(crate) use futures::{NEVER, Path};
pub use gather::gather;
pub(crate) use new_try::{Ahead, InDays, ahead, seasons, some_draws};
pub use outlook::{
    Ask, BulbOutlook, ByChance, Counted, Dates, Drawn, GroupOutlook, InWindow, MOST_DAYS, Of, OnDay, Outlook,
    StageComing, Window, outlook, outlook_of,
};
