//! Spends the bulbs at hand: the crop, which gets what is best for these days as far as is known, and the try, whose
//! groups teach what to do in later seasons.
//!
//! **Method.** A split is worth what its bulbs are expected to bring this season, and in every later season of the
//! horizon the best way as it will be known then, with as many bulbs: the knowledge gradient for decisions that count
//! while one learns (Ryzhov, Powell & Frazier 2012, Operations Research 60:180), with correlated beliefs
//! ([`beliefs`]). Next season it is asked again with one season less ahead. Groups of a try are the likeliest rivals of the
//! crop, alike in size, and always the control, what would be done anyway: all lots are drawn together, so that the crop
//! counts as a group of the try like any other, and as control only where it is what would be done anyway.
//!
//! **Why this one.** `cargo xtask soak decide` plays nurseries whose truth is known (`tests/soak.md`). Over six seasons
//! it brought at least as many into time as every notebook rule in every world. Looking two and three tries ahead
//! instead of one changed no row beyond chance. Thompson sampling (Thompson 1933; Russo and others 2018, Foundations and
//! Trends in Machine Learning 11:1), bulbs shared out by the chance of being the best, found the best way a little more
//! often and brought one to two bulbs in a hundred less.
//!
//! The same code advises on the screen, from the draws of the nursery's own fit, and in the soak, from the draws of a
//! small model.

pub mod beliefs;
pub mod log;
#[cfg(any(test, feature = "testing"))]
pub mod simulate;

use serde::{Deserialize, Serialize};

use super::{MOST_BULBS, NextTry, Refusal};
use beliefs::{Beliefs, Points, Truths};

/// Seasons ahead, this one included, where nothing else is said.
pub const SEASONS: u32 = 3;
/// Beyond so many seasons nothing is reckoned: bulbs, places and wishes will have changed.
pub const MOST_SEASONS: u32 = 10;
/// Groups of fewer bulbs teach next to nothing: with three, all or none still moves what is believed.
pub const LEAST_A_GROUP: u32 = 3;
/// Sizes of groups that are looked at.
const SIZES: [u32; 16] = [3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 60, 80, 120, 200];
/// Steps of the slider.
const MOST_SPLITS: usize = 9;
/// From this chance of being the best on, and as long as no more can be gained than [`LITTLE`], a way is settled.
const AS_GOOD_AS_SURE: f64 = 0.95;
/// Bulbs over all later seasons that are not worth a try.
const LITTLE: f64 = 0.5;

/// What is to be spent, and on what.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Purse {
    /// Bulbs at hand, this season and in each later one.
    pub at_hand: u32,
    /// How many have to be in time this season; 0 for none in particular.
    pub wanted: u32,
    /// How sure that has to be, 0 to 1.
    pub assurance: f64,
    /// Seasons to think of, this one included.
    pub seasons: u32,
}

impl Purse {
    /// Whether it makes sense for so many ways.
    ///
    /// # Errors
    /// A [`Refusal`] when it does not.
    pub fn check(&self, n_ways: usize) -> Result<(), Refusal> {
        match *self {
            Self { at_hand: 0, .. } => Err(Refusal::NoBulbs),
            Self { at_hand: 1, .. } => Err(Refusal::OneBulb),
            Self { at_hand, .. } if at_hand > MOST_BULBS => Err(Refusal::TooManyBulbs),
            Self { wanted, at_hand, .. } if wanted > at_hand => Err(Refusal::MoreThanAtHand { wanted, at_hand }),
            Self { seasons: 0, .. } => Err(Refusal::NoSeasons),
            Self { seasons, .. } if seasons > MOST_SEASONS => Err(Refusal::TooManySeasons),
            _ if n_ways < 2 => Err(Refusal::OneTreatment),
            _ => Ok(()),
        }
    }
}

/// One way to share the bulbs out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Split {
    /// Bulbs of each way.
    pub n: Vec<u32>,
    /// How many are expected to be in time this season.
    pub now: f64,
    /// How many fewer that is than with all bulbs for now.
    pub costs: f64,
    /// How many more each later season is expected to bring by what is learned.
    pub gain: f64,
    /// How often another way is the best after it than before, 0 to 1.
    pub changes: f64,
    /// Where it is, how many more that way then brings in each later season: in 1 and in 9 of 10 such cases.
    pub gain_then: (f64, f64),
    /// The chance that enough are in time this season, 0 to 1.
    pub chance: f64,
}

impl Split {
    /// Ways that get bulbs.
    pub fn n_groups(&self) -> usize {
        self.n.iter().filter(|n| **n > 0).count()
    }
}

/// Whether to try again.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GoOn {
    /// A try is worth its bulbs.
    Try,
    /// No later season is thought of, so that nothing learned would be used.
    LastSeason,
    /// Another try would not change what to do.
    Settled {
        /// The likeliest rival.
        rival: usize,
        /// With so many bulbs each of it and of the crop …
        n_each: u32,
        /// … it would have to be ahead by this difference of shares; above 1 where no such try could do it.
        ahead: f64,
    },
    /// All bulbs are needed to have enough in time.
    AllNeeded,
    /// With so many bulbs nothing can be told in these seasons that pays for them.
    NothingToTell,
}

/// How to spend the bulbs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spending {
    /// What is spent.
    pub purse: Purse,
    /// By way: the chance of one bulb, this season.
    pub one_bulb: Vec<f64>,
    /// By way: how often it is the best for good.
    pub best: Vec<f64>,
    /// The way that the crop gets.
    pub crop: usize,
    /// What would be done anyway.
    pub control: usize,
    /// From all for now to all for learning; each costs more and teaches more than the one before.
    pub splits: Vec<Split>,
    /// The one that is advised.
    pub advised: usize,
    /// Whether to try again, and why not.
    pub go_on: GoOn,
}

impl Spending {
    /// Weighs the splits.
    ///
    /// # Errors
    /// A [`Refusal`] when there is nothing to weigh.
    pub fn of(truths: &Truths, control: usize, purse: Purse) -> Result<Self, Refusal> {
        purse.check(truths.n_ways())?;
        let (beliefs, points) = (Beliefs::of(truths), Points::new());
        let weighed = Weighed { beliefs: &beliefs, points: &points, n_bulbs: purse.at_hand, seasons: purse.seasons };
        let all = splits(&beliefs, control, purse.at_hand);
        let value: Vec<f64> = all.iter().map(|n| weighed.value(n)).collect();
        let chance: Vec<f64> = all.iter().map(|n| truths.at_least(n, purse.wanted)).collect();
        // Where not even all bulbs are sure enough, none can be spared.
        let least = purse.assurance.min(chance[0]);
        let is_enough = |at: &usize| chance[*at] >= least;
        let best_of = |some: &mut dyn Iterator<Item = usize>| {
            some.fold(0, |best, at| if value[at] > value[best] { at } else { best })
        };
        let advised = best_of(&mut (0..all.len()).filter(is_enough));
        let unbound = best_of(&mut (0..all.len()));
        let shown = |at: usize| weighed.split(&all[at], &all[0], chance[at]);
        let slider = slider(&weighed, &all, advised);
        let splits: Vec<Split> = slider.iter().map(|at| shown(*at)).collect();
        let best = truths.best();
        let crop = beliefs.best();
        let go_on = if all[advised] != all[0] {
            GoOn::Try
        } else if purse.seasons == 1 {
            GoOn::LastSeason
        } else if unbound != advised {
            GoOn::AllNeeded
        } else {
            why_not(&weighed, &best)
        };
        let advised = slider.iter().position(|at| *at == advised).unwrap_or(0);
        Ok(Self { purse, one_bulb: beliefs.mean.clone(), best, crop, control, splits, advised, go_on })
    }
}

/// Bulbs of each way that are advised; what [`Spending::of`] advises where no number has to be in time.
pub fn advised(beliefs: &Beliefs, points: &Points, control: usize, n_bulbs: u32, seasons: u32) -> Vec<u32> {
    let weighed = Weighed { beliefs, points, n_bulbs, seasons };
    let all = splits(beliefs, control, n_bulbs).into_iter();
    let worth = all.map(|n| (weighed.value(&n), n));
    let best = worth.reduce(|best, one| if one.0 > best.0 { one } else { best });
    best.map_or_else(Vec::new, |(_, n)| n)
}

/// What splits are weighed by.
struct Weighed<'a> {
    beliefs: &'a Beliefs,
    points: &'a Points,
    n_bulbs: u32,
    seasons: u32,
}

impl Weighed<'_> {
    fn now(&self, n: &[u32]) -> f64 {
        n.iter().zip(&self.beliefs.mean).map(|(n, mean)| f64::from(*n) * mean).sum()
    }

    fn later(&self) -> f64 {
        f64::from(self.seasons.saturating_sub(1)) * f64::from(self.n_bulbs)
    }

    /// Bulbs in time over all seasons.
    fn value(&self, n: &[u32]) -> f64 {
        if self.seasons <= 1 {
            return self.now(n);
        }
        self.now(n) + self.later() * self.points.best_after(self.beliefs, &self.beliefs.after(n))
    }

    fn split(&self, n: &[u32], all_now: &[u32], chance: f64) -> Split {
        let knowing = self.points.knowing(self.beliefs, &self.beliefs.after(n));
        let bulbs = f64::from(self.n_bulbs);
        Split {
            n: n.to_vec(),
            now: self.now(n),
            costs: (self.now(all_now) - self.now(n)).max(0.0),
            gain: bulbs * knowing.gain,
            changes: knowing.changes,
            gain_then: (bulbs * knowing.gain_then[0], bulbs * knowing.gain_then[2]),
            chance,
        }
    }
}

/// Ways to share the bulbs out: first all for now, then tries of one rival, of two, and so on, in every size. The
/// control is in every try.
fn splits(beliefs: &Beliefs, control: usize, n_bulbs: u32) -> Vec<Vec<u32>> {
    let (ways, crop) = (beliefs.mean.len(), beliefs.best());
    let mut rivals: Vec<usize> = (0..ways).filter(|way| *way != crop).collect();
    // Those first that could be far better: one standard deviation up.
    let reach = |way: &usize| beliefs.mean[*way] + beliefs.gap_variance(*way, crop).sqrt();
    rivals.sort_by(|a, b| reach(b).total_cmp(&reach(a)));
    let mut all = vec![vec![0; ways]];
    all[0][crop] = n_bulbs;
    let mut add = |groups: &[usize], size: &dyn Fn(usize) -> u32, least: u32| {
        let mut n = vec![0; ways];
        groups.iter().for_each(|way| n[*way] = size(*way));
        let spent: u32 = n.iter().sum();
        if spent + least <= n_bulbs {
            n[crop] = n_bulbs - spent;
            if !all.contains(&n) {
                all.push(n);
            }
        }
    };
    for n_rivals in 1..=rivals.len() {
        let mut groups = rivals[..n_rivals].to_vec();
        if crop != control && !groups.contains(&control) {
            groups.push(control);
        }
        for size in SIZES {
            add(&groups, &|_| size, size);
            // The control need not be as large as what it is compared with.
            let small = (size / 2).max(LEAST_A_GROUP);
            add(&groups, &|way| if way == control { small } else { size }, size);
        }
        let equal = n_bulbs / (groups.len() as u32 + 1);
        if equal >= LEAST_A_GROUP {
            add(&groups, &|_| equal, equal);
        }
    }
    all
}

/// The splits that the slider goes through: those of which none costs less and teaches as much, the advised one among
/// them, and at most [`MOST_SPLITS`].
fn slider(weighed: &Weighed<'_>, all: &[Vec<u32>], advised: usize) -> Vec<usize> {
    let mut known: Vec<(usize, f64, f64)> = all
        .iter()
        .enumerate()
        .map(|(at, n)| (at, weighed.now(n), weighed.points.best_after(weighed.beliefs, &weighed.beliefs.after(n))))
        .collect();
    known.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.2.total_cmp(&a.2)));
    let mut most = f64::NEG_INFINITY;
    known.retain(|(at, _, taught)| {
        // A hundredth of a bulb more is no step.
        let is_more = *taught * f64::from(weighed.n_bulbs) > most + 0.01 || *at == advised || *at == 0;
        if is_more {
            most = most.max(*taught * f64::from(weighed.n_bulbs));
        }
        is_more
    });
    let before = known.iter().position(|(at, ..)| *at == 0).unwrap_or(0);
    known.drain(..before);
    let last = known.len().saturating_sub(1);
    let steps = MOST_SPLITS.min(known.len());
    let mut kept: Vec<usize> = (0..steps).map(|step| step * last / steps.saturating_sub(1).max(1)).collect();
    if let Some(own) = known.iter().position(|(at, ..)| *at == advised)
        && !kept.contains(&own)
        && let Some(nearest) = (1..kept.len().saturating_sub(1)).min_by_key(|step| kept[*step].abs_diff(own))
    {
        kept[nearest] = own;
        kept.sort_unstable();
    }
    kept.dedup();
    kept.into_iter().map(|at| known[at].0).collect()
}

/// Why no try is worth its bulbs.
fn why_not(weighed: &Weighed<'_>, best: &[f64]) -> GoOn {
    let beliefs = weighed.beliefs;
    let crop = beliefs.best();
    let known = weighed.points.best_after(beliefs, &beliefs.after_all_is_known()) - beliefs.mean[crop];
    if best[crop] < AS_GOOD_AS_SURE && weighed.later() * known > LITTLE {
        return GoOn::NothingToTell;
    }
    let n_each = (weighed.n_bulbs / 2).max(1);
    let rivals = (0..beliefs.mean.len()).filter(|way| *way != crop);
    let needed = rivals.map(|way| (way, beliefs.ahead_needed(way, crop, n_each)));
    let nearest = needed.reduce(|near, one| if one.1 < near.1 { one } else { near });
    let (rival, ahead) = nearest.unwrap_or((crop, f64::INFINITY));
    GoOn::Settled { rival, n_each, ahead }
}

#[cfg(test)]
mod tests;
