//! Counts of outcomes, and the shares or bounds that may be read from them.

use serde::Serialize;

use crate::{
    evidence::{Interval, Level, Share, bounds::Undecided, clusters, wilson},
    ledger::body::DiedAs,
    trial::outcome::{Kind, Outcome},
};

/// How many units had each outcome.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// In time.
    pub n_in_time: u32,
    /// Over before the window.
    pub n_too_early: u32,
    /// Reached after the deadline.
    pub n_late: u32,
    /// Not reached. Counts from a notebook do not tell it from late; both stand here.
    pub n_not_reached: u32,
    /// Still waiting.
    pub n_waiting: u32,
    /// Past the deadline, and the looks do not decide.
    pub n_cant_say: u32,
    /// Died.
    pub n_died: u32,
    /// Missing.
    pub n_missing: u32,
    /// Sold, given or withdrawn before it was decided.
    pub n_left: u32,
}

impl Counts {
    pub(super) fn add(&mut self, outcome: &Outcome) {
        let n = match outcome.kind() {
            Kind::InTime => &mut self.n_in_time,
            Kind::TooEarly => &mut self.n_too_early,
            Kind::Late => &mut self.n_late,
            Kind::NotReached => &mut self.n_not_reached,
            Kind::Waiting => &mut self.n_waiting,
            Kind::CantSay => &mut self.n_cant_say,
            Kind::Died => &mut self.n_died,
            Kind::Missing => &mut self.n_missing,
            Kind::Left => &mut self.n_left,
        };
        *n += 1;
    }

    /// How many had an outcome of this kind.
    pub fn of(&self, kind: Kind) -> u32 {
        match kind {
            Kind::InTime => self.n_in_time,
            Kind::TooEarly => self.n_too_early,
            Kind::Late => self.n_late,
            Kind::NotReached => self.n_not_reached,
            Kind::Waiting => self.n_waiting,
            Kind::CantSay => self.n_cant_say,
            Kind::Died => self.n_died,
            Kind::Missing => self.n_missing,
            Kind::Left => self.n_left,
        }
    }

    /// How many had each kind, in the order of marks; what nobody had is left out.
    pub fn by_kind(&self) -> Vec<(Kind, u32)> {
        let all = Kind::ALL.iter().map(|kind| (*kind, self.of(*kind)));
        all.filter(|(_, n)| *n > 0).collect()
    }

    pub(in crate::trial) fn plus(self, other: Self) -> Self {
        Self {
            n_in_time: self.n_in_time.saturating_add(other.n_in_time),
            n_too_early: self.n_too_early.saturating_add(other.n_too_early),
            n_late: self.n_late.saturating_add(other.n_late),
            n_not_reached: self.n_not_reached.saturating_add(other.n_not_reached),
            n_waiting: self.n_waiting.saturating_add(other.n_waiting),
            n_cant_say: self.n_cant_say.saturating_add(other.n_cant_say),
            n_died: self.n_died.saturating_add(other.n_died),
            n_missing: self.n_missing.saturating_add(other.n_missing),
            n_left: self.n_left.saturating_add(other.n_left),
        }
    }

    /// All units.
    pub fn all(&self) -> u32 {
        let decided = self.n_not_in_time().saturating_add(self.n_in_time);
        let gone = self.n_died.saturating_add(self.n_lost());
        decided.saturating_add(gone).saturating_add(self.n_undecided())
    }

    /// Too early, late or not reached.
    pub fn n_not_in_time(&self) -> u32 {
        self.n_too_early.saturating_add(self.n_late).saturating_add(self.n_not_reached)
    }

    /// Waiting, or can't be said.
    pub fn n_undecided(&self) -> u32 {
        self.n_waiting.saturating_add(self.n_cant_say)
    }

    /// Left or missing: what they did is not known.
    pub fn n_lost(&self) -> u32 {
        self.n_left.saturating_add(self.n_missing)
    }

    /// In time of all whose outcome is known; `died` says whether the dead are among them.
    ///
    /// # Errors
    /// When there are more than can be counted.
    pub fn share(&self, died: DiedAs) -> crate::evidence::Result<Share> {
        let known = self.n_in_time.saturating_add(self.n_not_in_time());
        Share::new(self.n_in_time, known.saturating_add(self.n_dead(died)))
    }

    fn n_dead(&self, died: DiedAs) -> u32 {
        match died {
            DiedAs::NotInTime => self.n_died,
            DiedAs::LeftOut => 0,
        }
    }

    /// The counts of worst-case bounds: waiting and can't-say may still go either way, what is missing could have; the
    /// dead are known not to be in time, or left out. What left can't come any more, and no share will count it.
    pub fn undecided(&self, died: DiedAs) -> Undecided {
        Undecided {
            reached: self.n_in_time,
            not_reached: self.n_not_in_time().saturating_add(self.n_dead(died)),
            pending: self.n_undecided(),
            lost: self.n_missing,
        }
    }
}

/// A share with its spread.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// In time, of how many.
    pub share: Share,
    /// Wilson's interval, 95 %; for containers with several bulbs each at the effective number of bulbs, and all of 0
    /// to 1 for a single container, which says nothing of how containers differ.
    pub interval: Interval,
}

impl Reading {
    fn of(share: crate::evidence::Result<Share>) -> Option<Self> {
        let share = share.ok().filter(|share| share.of() > 0)?;
        let interval = wilson::interval(share, Level::PCT_95);
        Some(Self { share, interval })
    }

    /// The same share with the interval that whole containers allow.
    fn of_containers(self, containers: &[Counts], died: DiedAs) -> Self {
        let shares: crate::evidence::Result<Vec<Share>> = containers.iter().map(|one| one.share(died)).collect();
        let interval = shares.and_then(|shares| clusters::interval(&shares, Level::PCT_95));
        Self { interval: interval.unwrap_or(Interval { lower: 0.0, upper: 1.0 }), ..self }
    }
}

/// How many of a group are in time, or can still come to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct InTime {
    /// So many are in time.
    pub least: u32,
    /// So many can still come to be; as many once all is decided.
    pub most: u32,
    /// Of so many.
    pub of: u32,
}

/// What may be said of a group's share.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shares {
    /// Something in this try is undecided: only the lowest and the highest share that can still come out.
    Bounds(Interval),
    /// All is decided.
    Known {
        /// In time ÷ (all − left − missing), the dead as the rule says.
        by_rule: Reading,
        /// The dead read the other way, where that differs.
        died_otherwise: Option<Reading>,
        /// The missing counted as not in time, where there are any.
        missing_counted: Option<Reading>,
    },
    /// No unit of the group is left to speak of.
    Nothing,
}

/// How many of a group are in time by its shares; nothing where no unit is left to speak of.
pub(super) fn in_time(shares: &Shares, counts: &Counts, died: DiedAs) -> Option<InTime> {
    match shares {
        Shares::Known { by_rule, .. } => {
            let (n, of) = (by_rule.share.reached(), by_rule.share.of());
            Some(InTime { least: n, most: n, of })
        }
        Shares::Bounds(_) => {
            let undecided = counts.undecided(died);
            let of = undecided.all().ok()?;
            Some(InTime { least: undecided.reached, most: of - undecided.not_reached, of })
        }
        Shares::Nothing => None,
    }
}

pub(super) fn sum(counts: impl Iterator<Item = Counts>) -> Counts {
    counts.fold(Counts::default(), Counts::plus)
}

/// The shares of a group; `containers` are the counts of each of its containers where their bulbs are counted.
pub(super) fn shares(counts: &Counts, containers: Option<&[Counts]>, died: DiedAs, undecided: bool) -> Shares {
    if undecided {
        let bounds = counts.undecided(died).bounds();
        return bounds.map_or(Shares::Nothing, Shares::Bounds);
    }
    let read = |share: crate::evidence::Result<Share>, died: DiedAs| {
        let reading = Reading::of(share)?;
        Some(match containers {
            Some(containers) => reading.of_containers(containers, died),
            None => reading,
        })
    };
    let Some(by_rule) = read(counts.share(died), died) else {
        return Shares::Nothing;
    };
    let other = match died {
        DiedAs::NotInTime => DiedAs::LeftOut,
        DiedAs::LeftOut => DiedAs::NotInTime,
    };
    let missing = Share::new(by_rule.share.reached(), by_rule.share.of().saturating_add(counts.n_missing));
    let differs = |reading: &Reading| reading.share != by_rule.share;
    Shares::Known {
        by_rule,
        died_otherwise: read(counts.share(other), other).filter(differs),
        missing_counted: read(missing, died).filter(differs),
    }
}
