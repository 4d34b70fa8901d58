//! What the groups as drawn can tell, before the start: exact power of the test that will be used, the smallest gap
//! likely to be noticed, the smallest p, and what one more try like it would add.
//!
//! The share of the group with fewer is taken from finished tries of the same trial, where there are any, else one half,
//! where chance is largest. The power that a past result seems to have had is never given.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{
    calendar::Date,
    evidence::{
        Reason, Share,
        power::{self, Region, Search},
        power_blocks::Told,
        serialize_said,
        verdict::{ALPHA, Groups, MOST_FOR_BOSCHLOO},
    },
    ledger::{
        Ledger,
        body::{Family, GoalStage, Test, Unit},
        id::{Id, Ids, Noun},
    },
    nursery::State,
    trial::{
        choose,
        lots::classes,
        standing::{Design, GroupStanding, Shares, comparable, family_of, pairs, standing},
    },
};

/// How probable a difference is to be noticed that counts as likely.
pub const TARGET: f64 = 0.8;

/// How probable a difference is to be noticed that counts as nearly certain.
pub const NEARLY: f64 = 0.95;

/// No more bulbs a group are looked at.
pub const MOST_BULBS: u32 = 1_000;

/// From what the share of the group with fewer is taken.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Base {
    /// From the control's, or the first group's, finished tries of this trial.
    PastTries(Share),
    /// One half, where chance is largest.
    Half,
}

impl Base {
    /// The share, 0 to 1.
    pub fn share(self) -> f64 {
        match self {
            Self::PastTries(share) => share.rate().unwrap_or(0.5),
            Self::Half => 0.5,
        }
    }
}

/// How probable a gap is to be told apart.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OfGap {
    /// So many more in 10.
    pub more_in_ten: u32,
    /// With this try alone.
    #[serde(serialize_with = "serialize_said")]
    pub power: crate::evidence::Result<f64>,
    /// With one more try like it.
    #[serde(serialize_with = "serialize_said")]
    pub power_with_one_more: crate::evidence::Result<f64>,
}

/// What two groups can tell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Foresight {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// Where the share of the group with fewer comes from.
    pub base: Base,
    /// Gap by gap, 1 to 9 in 10.
    pub gaps: Vec<OfGap>,
    /// The smallest gap told apart 8 times in 10.
    #[serde(serialize_with = "serialize_said")]
    pub smallest_gap: crate::evidence::Result<f64>,
    /// How often groups that are alike are told apart, at worst.
    #[serde(serialize_with = "serialize_said")]
    pub size: crate::evidence::Result<f64>,
    /// The smallest p these groups can reach.
    #[serde(serialize_with = "serialize_said")]
    pub smallest_p: crate::evidence::Result<f64>,
}

/// What would settle a question: so many bulbs a group in one new try, for a gap.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Settles {
    /// So many more in 10.
    pub more_in_ten: u32,
    /// Bulbs a group from which the gap is told apart 8 times in 10.
    #[serde(serialize_with = "serialize_said")]
    pub bulbs_a_group: crate::evidence::Result<u32>,
    /// Bulbs a group from which it is told apart 19 times in 20.
    #[serde(serialize_with = "serialize_said")]
    pub bulbs_nearly_always: crate::evidence::Result<u32>,
}

/// The numbers of bulbs that would settle a question, in steps: for every gap from 1 to 9 in 10, when the group with
/// fewer has this share (cut so that both stay within 0 to 1).
pub struct Settling {
    base: f64,
    found: Vec<[crate::evidence::Result<u32>; 2]>,
    /// What the gap at hand takes to be told apart 8 times in 10, once it is known.
    first: Option<crate::evidence::Result<u32>>,
    search: Option<Search>,
}

impl Settling {
    /// Makes ready for the first step.
    pub fn new(base: f64) -> Self {
        Self { base, found: Vec::new(), first: None, search: None }
    }

    /// The next step, of some milliseconds at most; after the last one, gap by gap what is told apart 8 times in 10 and
    /// 19 times in 20 ([`Settles::of`]).
    pub fn step(&mut self) -> Option<Vec<[crate::evidence::Result<u32>; 2]>> {
        let more_in_ten = self.found.len() as u32 + 1;
        if more_in_ten > 9 {
            return Some(std::mem::take(&mut self.found));
        }
        let found = match &mut self.search {
            Some(search) => search.step()?,
            None => {
                let (high, low) = shares(self.base, more_in_ten);
                let target = if self.first.is_none() { TARGET } else { NEARLY };
                match Search::new(high, low, ALPHA, target, MOST_BULBS) {
                    Ok(search) => {
                        self.search = Some(search);
                        return None;
                    }
                    Err(why) => Err(why),
                }
            }
        };
        self.search = None;
        match self.first.take() {
            None => self.first = Some(found),
            Some(first) => self.found.push([first, found]),
        }
        None
    }

    /// How far it is, 0 to 1000; the small gaps, which come first, take longest.
    pub fn done_permille(&self) -> u32 {
        (2 * self.found.len() as u32 + u32::from(self.first.is_some())) * 1000 / 18
    }
}

impl Settles {
    /// Gap by gap, from what [`Settling`] found.
    pub fn of(found: &[[crate::evidence::Result<u32>; 2]]) -> Vec<Self> {
        let one = |(more_in_ten, found): (u32, &[crate::evidence::Result<u32>; 2])| Self {
            more_in_ten,
            bulbs_a_group: found[0],
            bulbs_nearly_always: found[1],
        };
        (1..).zip(found).map(one).collect()
    }
}

/// What would settle a question, in one go.
pub fn settles(base: f64) -> Vec<Settles> {
    let mut settling = Settling::new(base);
    loop {
        if let Some(found) = settling.step() {
            return Settles::of(&found);
        }
    }
}

/// The smallest share of a group, from which a gap is counted in [`settles`]; one half where nothing is known. Shares of
/// the same group in several tries are added up.
pub fn least_share(shares: impl IntoIterator<Item = (Id, Share)>) -> f64 {
    let mut sums: BTreeMap<Id, (u32, u32)> = BTreeMap::new();
    for (group, share) in shares {
        let sum = sums.entry(group).or_default();
        *sum = (sum.0.saturating_add(share.reached()), sum.1.saturating_add(share.of()));
    }
    let known = sums.into_values().filter(|(_, of)| *of > 0);
    let rates = known.map(|(reached, of)| f64::from(reached) / f64::from(of));
    rates.min_by(f64::total_cmp).unwrap_or(0.5)
}

/// Both shares for a gap.
fn shares(base: f64, more_in_ten: u32) -> (f64, f64) {
    let gap = f64::from(more_in_ten) / 10.0;
    let low = base.min(1.0 - gap).max(0.0);
    (low + gap, low)
}

/// The drawn groups of a try: what [`Foreseeing`] works out is worked out from this.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drawn {
    /// Where the share of the group with fewer comes from.
    pub base: Base,
    /// How often two groups that are alike may be told apart: 0.05 over all pairs.
    pub alpha: f64,
    /// Whether lots were drawn for all bulbs at once, so that the test is that of two shares.
    pub undivided: bool,
    /// Whether lots were drawn for containers: their spread is not known beforehand.
    pub by_container: bool,
    /// Every pair that is compared.
    pub pairs: Vec<DrawnPair>,
}

/// Two drawn groups.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DrawnPair {
    /// First group.
    pub a: Id,
    /// Second group.
    pub b: Id,
    /// The bulbs of both in every size class.
    pub classes: Vec<(u32, u32)>,
    /// The units whose outcome is known, or still open.
    pub sides: Option<Groups>,
}

/// Undivided pairs of so few bulbs in all are worked out in a moment, wherever it is done. Within size classes even a dozen
/// bulbs take a tenth of a second, for every combination of totals is gone through.
const FEW_BULBS: u64 = 40;

/// A try as it is planned, before lots are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// Bulbs or containers.
    pub unit: Unit,
    /// Which of them.
    pub units: Vec<Id>,
    /// Whether lots are drawn within cultivar and size class.
    pub classes: bool,
    /// How many units each group gets; as even as can be where they do not add up to all.
    pub sizes: Vec<usize>,
    /// Which of them is the control.
    pub control: Option<usize>,
    /// The pairs that are compared, where the rule says.
    pub family: Option<Family>,
    /// The trial that it is a further try of.
    pub again: Option<Id>,
    /// The stage that counts.
    pub stage: GoalStage,
}

impl Drawn {
    /// The groups that lots would be drawn for; nothing while two groups of two or more cannot be made. The groups have
    /// no ids yet; those that stand for them here are never stored.
    pub fn planned(planned: &Planned, ledger: &Ledger, state: &State, today: Date) -> Option<Self> {
        let (n_units, k) = (planned.units.len(), planned.sizes.len());
        // Otherwise nothing is drawn, or a group has a single unit and is never compared.
        if k < 2 || n_units < k + 2 {
            return None;
        }
        let units = planned.units.iter().map(|id| choose::to_draw(state, *id, planned.classes));
        let length = if planned.classes { choose::class_length(k) } else { n_units };
        let found = classes::classes(&units.collect::<Vec<_>>(), k, length);
        let fits = planned.sizes.iter().sum::<usize>() == n_units;
        let sizes = if fits { planned.sizes.clone() } else { choose::even_sizes(n_units, k) };
        let places = classes::places(&found, &sizes);
        let mut ids = Ids::new([0; 32]);
        let groups: Vec<Id> = (0..k).map(|_| ids.draw(Noun::Group)).collect();
        let family: Vec<(usize, usize)> = family_of(k, planned.control, planned.family)
            .into_iter()
            .filter(|(a, b)| sizes[*a] > 1 && sizes[*b] > 1)
            .collect();
        // The control may be the one group of a single unit.
        if family.is_empty() {
            return None;
        }
        let n = |class: &Vec<usize>, group: usize| u32::try_from(class[group]).unwrap_or(u32::MAX);
        let pair = |(a, b): &(usize, usize)| DrawnPair {
            a: groups[*a],
            b: groups[*b],
            classes: places.iter().map(|class| (n(class, *a), n(class, *b))).collect(),
            sides: None,
        };
        let question = planned.again.and_then(|trial| state.trials.get(&trial)?.question.shown());
        let of = question.and_then(|question| question.groups.get(planned.control.unwrap_or(0)));
        let base = planned.again.zip(of);
        Some(Self {
            base: base
                .map_or(Base::Half, |(trial, of)| past_tries(trial, None, *of, planned.stage, ledger, state, today)),
            alpha: ALPHA / family.len().max(1) as f64,
            undivided: planned.unit == Unit::Bulb && found.len() == 1,
            by_container: planned.unit == Unit::Container,
            pairs: family.iter().map(pair).collect(),
        })
    }

    pub(super) fn of(
        design: &Design<'_>,
        ledger: &Ledger,
        state: &State,
        groups: &[GroupStanding],
        today: Date,
    ) -> Self {
        let family = pairs(groups, design.rule.family);
        let pair = |(a, b): &(usize, usize)| {
            let (a, b) = (groups.get(*a)?, groups.get(*b)?);
            let two = [a.clone(), b.clone()];
            let mut sides = comparable(&two, design.counting()).into_iter();
            Some(DrawnPair {
                a: a.group,
                b: b.group,
                classes: classes(a, b),
                sides: sides.next().map(|(.., sides)| sides),
            })
        };
        Self {
            base: base(design, ledger, state, groups, today),
            alpha: ALPHA / family.len().max(1) as f64,
            undivided: design.test() == Test::Boschloo,
            by_container: design.counting().by_container(),
            pairs: family.iter().filter_map(pair).collect(),
        }
    }

    /// The pairs of which none before has as many bulbs in every class: those can tell the same.
    fn different(&self) -> impl Iterator<Item = &DrawnPair> {
        let pairs = self.pairs.iter().enumerate();
        pairs.filter_map(|(at, pair)| {
            let mut before = self.pairs.iter().take(at);
            let same = before.any(|other| other.classes == pair.classes);
            (!same).then_some(pair)
        })
    }

    /// True when everything is worked out in a moment.
    pub fn is_short(&self) -> bool {
        let bulbs = |pair: &DrawnPair| {
            let classes = pair.classes.iter();
            classes.map(|(a, b)| u64::from(*a) + u64::from(*b)).sum()
        };
        let all = self.different().map(bulbs).fold(0, u64::saturating_add);
        (self.undivided || self.by_container) && all <= FEW_BULBS
    }
}

/// What every pair of a drawn try can tell, in steps: counting every table of large groups takes seconds.
pub struct Foreseeing {
    drawn: Drawn,
    found: Vec<Foresight>,
    going: Option<Going>,
}

/// What is known so far of the pair at hand.
#[derive(Default)]
struct Going {
    region: Option<crate::evidence::Result<Region>>,
    size: Option<crate::evidence::Result<f64>>,
    this: Option<crate::evidence::Result<Told>>,
    both: Option<crate::evidence::Result<Told>>,
    gaps: Vec<OfGap>,
}

impl Foreseeing {
    /// Makes ready for the first step.
    pub fn new(drawn: Drawn) -> Self {
        Self { drawn, found: Vec::new(), going: None }
    }

    /// The next step; every pair after the last one.
    pub fn step(&mut self) -> Option<Vec<Foresight>> {
        let at = self.found.len();
        let Some(pair) = self.drawn.pairs.get(at) else {
            return Some(std::mem::take(&mut self.found));
        };
        let mut before = self.drawn.pairs.iter().take(at);
        let known = before.position(|other| other.classes == pair.classes);
        let whole = match known.and_then(|known| self.found.get(known)) {
            Some(same) => Some(same.clone()),
            None => {
                let going = self.going.get_or_insert_default();
                going.step(pair, &self.drawn)
            }
        };
        if let Some(whole) = whole {
            self.going = None;
            self.found.push(Foresight { a: pair.a, b: pair.b, smallest_p: smallest_p(pair.sides.as_ref()), ..whole });
        }
        None
    }

    /// How far it is, 0 to 1000.
    pub fn done_permille(&self) -> u32 {
        let going = self.going.as_ref().map_or(0, Going::n_steps);
        let all = self.drawn.pairs.len().max(1) * Going::STEPS;
        ((self.found.len() * Going::STEPS + going) * 1000 / all) as u32
    }
}

impl Going {
    /// Region, size, both kinds of power, nine gaps, the smallest gap.
    const STEPS: usize = 14;

    fn n_steps(&self) -> usize {
        usize::from(self.region.is_some())
            + usize::from(self.size.is_some())
            + usize::from(self.this.is_some())
            + usize::from(self.both.is_some())
            + self.gaps.len()
    }

    fn step(&mut self, pair: &DrawnPair, drawn: &Drawn) -> Option<Foresight> {
        let classes = &pair.classes;
        let by_container = drawn.by_container;
        let told = |classes: &[(u32, u32)]| {
            if by_container {
                return super::refused(Reason::SpreadUnknown);
            }
            Told::new(classes, drawn.alpha)
        };
        let Some(region) = &self.region else {
            let total = |of: fn(&(u32, u32)) -> u32| classes.iter().map(of).sum();
            self.region = Some(if drawn.undivided {
                region(total(|class| class.0), total(|class| class.1), drawn.alpha)
            } else {
                super::refused(Reason::SpreadUnknown)
            });
            return None;
        };
        let Some(size) = self.size else {
            let size = region.as_ref().map_err(|why| *why);
            self.size = Some(size.map(Region::size));
            return None;
        };
        let Some(this) = &self.this else {
            self.this = Some(told(classes));
            return None;
        };
        let Some(both) = &self.both else {
            self.both = Some(told(&[&classes[..], &classes[..]].concat()));
            return None;
        };
        if self.gaps.len() < 9 {
            let more_in_ten = self.gaps.len() as u32 + 1;
            let (high, low) = shares(drawn.base.share(), more_in_ten);
            let power = |told: &crate::evidence::Result<Told>| {
                let told = told.as_ref().map_err(|reason| *reason)?;
                Ok(told.power((high, low))?.power)
            };
            self.gaps.push(OfGap {
                more_in_ten,
                power: match region {
                    Ok(region) if !by_container => region.power(high, low),
                    _ => power(this),
                },
                power_with_one_more: power(both),
            });
            return None;
        }
        let smallest_gap = match region {
            // Where the base leaves no room for such a gap, the base is moved as it is gap by gap.
            Ok(region) => power::smallest_gap(region, drawn.base.share(), TARGET).or_else(|_| smallest_of(&self.gaps)),
            Err(_) => smallest_of(&self.gaps),
        };
        Some(Foresight {
            a: pair.a,
            b: pair.b,
            base: drawn.base,
            gaps: std::mem::take(&mut self.gaps),
            smallest_gap,
            size,
            smallest_p: super::refused(Reason::TooFewGroups),
        })
    }
}

/// What every pair can tell, in one go.
pub fn foreseen(drawn: Drawn) -> Vec<Foresight> {
    let mut foreseeing = Foreseeing::new(drawn);
    loop {
        if let Some(found) = foreseeing.step() {
            return found;
        }
    }
}

/// Of several pairs the one that tells least.
pub fn tells_least(all: &[Foresight]) -> Option<&Foresight> {
    let gap = |one: &Foresight| one.smallest_gap.unwrap_or(f64::INFINITY);
    all.iter().max_by(|a, b| gap(a).total_cmp(&gap(b)))
}

/// The smallest p that they can reach.
fn smallest_p(sides: Option<&Groups>) -> crate::evidence::Result<f64> {
    sides.map_or(super::refused(Reason::TooFewGroups), Groups::smallest_p)
}

/// The test of an undivided draw.
fn region(n_a: u32, n_b: u32, alpha: f64) -> crate::evidence::Result<Region> {
    let test = if n_a.max(n_b) > MOST_FOR_BOSCHLOO { power::Test::Fisher } else { power::Test::Boschloo };
    Region::new(test, n_a, n_b, alpha)
}

/// The smallest of the tenths that is noticed often enough.
fn smallest_of(gaps: &[OfGap]) -> crate::evidence::Result<f64> {
    let enough = |gap: &&OfGap| gap.power.is_ok_and(|power| power >= TARGET);
    match (gaps.iter().find(enough), gaps.first().map(|gap| gap.power)) {
        (Some(gap), _) => Ok(f64::from(gap.more_in_ten) / 10.0),
        (None, Some(Err(why))) => Err(why),
        _ => super::refused(Reason::NotWithReach),
    }
}

/// The bulbs of both groups in every size class as they were drawn.
fn classes(a: &GroupStanding, b: &GroupStanding) -> Vec<(u32, u32)> {
    let last = a.units.iter().chain(&b.units).map(|unit| unit.block).max();
    let n = |group: &GroupStanding, block: u32| group.units.iter().filter(|unit| unit.block == block).count() as u32;
    (0..=last.unwrap_or(0)).map(|block| (n(a, block), n(b, block))).collect()
}

/// The control's share (or the first group's) in the trial's other tries that are finished under the same stage.
fn base(design: &Design<'_>, ledger: &Ledger, state: &State, groups: &[GroupStanding], today: Date) -> Base {
    let Some(of) = groups.iter().find(|group| group.control).or(groups.first()).map(|group| group.group) else {
        return Base::Half;
    };
    past_tries(design.body.trial, Some(design.run), of, design.rule.stage, ledger, state, today)
}

/// The share of this group in the tries of a trial but one.
fn past_tries(
    trial: Id,
    but: Option<Id>,
    of: Id,
    stage: GoalStage,
    ledger: &Ledger,
    state: &State,
    today: Date,
) -> Base {
    let (mut reached, mut all) = (0, 0);
    for (run, _) in state.runs_of_trial(trial) {
        if Some(run) == but {
            continue;
        }
        let Some(past) = standing(ledger, state, run, today) else {
            continue;
        };
        let same = past.rule.as_ref().is_some_and(|rule| rule.stage == stage);
        let group = super::group_of(&past.groups, of).filter(|_| same);
        if let Some(Shares::Known { by_rule, .. }) = group.map(|group| group.shares) {
            reached += by_rule.share.reached();
            all += by_rule.share.of();
        }
    }
    match Share::new(reached, all) {
        Ok(share) if share.of() > 0 => Base::PastTries(share),
        _ => Base::Half,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::id::{Ids, Noun};

    #[test]
    fn a_gap_is_counted_from_the_group_with_fewer() {
        let mut ids = Ids::new([7; 32]);
        let (a, b) = (ids.draw(Noun::Group), ids.draw(Noun::Group));
        let share = |reached, of| Share::new(reached, of).expect("a share");
        // Over two tries a has 6 of 10, b 2 of 10.
        let all = [(a, share(2, 5)), (b, share(2, 5)), (a, share(4, 5)), (b, share(0, 5))];
        assert!((least_share(all) - 0.2).abs() < 1e-12);
        assert!((least_share([(a, share(0, 0))]) - 0.5).abs() < 1e-12);
    }
}
