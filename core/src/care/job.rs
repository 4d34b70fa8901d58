//! What there may be to do: one job, for which bulbs, how late.

use serde::Serialize;

use super::snooze::key;
use crate::{calendar::Date, ledger::id::Id};

/// What is to be done.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Job {
    /// Bulbs of a running try whose last look is as old as the try's look interval, or older.
    Walk {
        /// Days since the oldest last look among them; nothing when one was never looked at.
        last_look_days: Option<i64>,
        /// Days between looks that the try asks for.
        interval_days: i64,
    },
    /// The last day that counts has come, and these are not decided.
    DeadlineLook {
        /// The run.
        run: Id,
        /// The day.
        deadline: Date,
    },
    /// Shoots to see again.
    SeeAgain,
    /// A rest has run its weeks, or will within days.
    RestEnds {
        /// The run that says how long.
        run: Id,
        /// The day.
        on: Date,
    },
    /// The last day that counts is near.
    Deadline {
        /// The run.
        run: Id,
        /// The day.
        on: Date,
        /// Bulbs still undecided.
        n_open: usize,
    },
    /// A planned try can start.
    StartRun {
        /// The run.
        run: Id,
        /// The day planned.
        on: Date,
    },
    /// Past its last day with everything decided: the try can be closed.
    CloseRun {
        /// The run.
        run: Id,
    },
    /// Bulbs at rest that show a shoot or new leaves.
    WokeEarly,
    /// Bulbs to be inspected again, as their last inspection says.
    InspectAgain,
    /// A job of a care plan.
    Planned {
        /// What the plan is for.
        subject: Id,
        /// Which job.
        slot: String,
    },
    /// A lot need not be kept apart any longer, or not for long.
    ApartEnds {
        /// The lot.
        lot: Id,
        /// The day.
        on: Date,
    },
}

impl Job {
    /// Whether it means looking: then it opens a walk and has no box to tick.
    pub fn is_look(&self) -> bool {
        matches!(self, Self::Walk { .. } | Self::DeadlineLook { .. } | Self::SeeAgain)
    }

    /// The key that skipped and postponed name it by; nothing for what cannot be put off.
    pub fn key(&self) -> Option<String> {
        match self {
            Self::Walk { .. } => Some(key::WALK.to_owned()),
            Self::SeeAgain => Some(key::SEE_AGAIN.to_owned()),
            Self::WokeEarly => Some(key::WOKE.to_owned()),
            Self::InspectAgain => Some(key::INSPECT_AGAIN.to_owned()),
            Self::DeadlineLook { run, .. } => Some(format!("{}/{run}", key::DEADLINE)),
            Self::RestEnds { run, .. } => Some(format!("{}/{run}", key::REST_ENDS)),
            Self::Planned { subject, slot } => Some(key_of(*subject, slot)),
            Self::Deadline { .. } | Self::StartRun { .. } | Self::CloseRun { .. } | Self::ApartEnds { .. } => None,
        }
    }

    /// Whether bulbs with these two jobs are told together.
    fn is_with(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Walk { interval_days, .. }, Self::Walk { interval_days: other, .. }) => interval_days == other,
            _ => self == other,
        }
    }

    /// Which stands first of two that are equally late.
    pub(super) fn rank(&self) -> u8 {
        match self {
            Self::DeadlineLook { .. } => 0,
            Self::Walk { .. } => 1,
            Self::SeeAgain => 2,
            Self::InspectAgain => 3,
            Self::WokeEarly => 4,
            _ => 5,
        }
    }
}

/// A job, for which bulbs, and how late it is.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct JobAt {
    /// What.
    pub job: Job,
    /// For which bulbs, in bench order.
    pub bulbs: Vec<Id>,
    /// Days over; negative for days still to go.
    pub over_days: i64,
}

/// The jobs of one place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DueAt {
    /// The place; nothing for bulbs that stand in none.
    pub place: Option<Id>,
    /// Bulbs that stand there.
    pub n_bulbs: usize,
    /// Jobs, the latest first.
    pub jobs: Vec<JobAt>,
}

/// The key that skipped, postponed and done name a job of a care plan by.
pub fn key_of(subject: Id, slot: &str) -> String {
    format!("{subject}/{slot}")
}

/// What the plan of a job is for, and the job's slot, by the job's key.
pub(super) fn of_key(key: &str) -> Option<(Id, &str)> {
    let (subject, slot) = key.split_once('/')?;
    Some((Id::parse(subject).ok()?, slot))
}

/// Jobs being gathered: the same job of several bulbs is one.
#[derive(Default)]
pub(super) struct Gathered(pub(super) Vec<JobAt>);

impl Gathered {
    pub(super) fn put(&mut self, job: Job, bulb: Id, over_days: i64) {
        let same = self.0.iter_mut().find(|at| at.job.is_with(&job));
        let Some(at) = same else {
            let bulbs = vec![bulb];
            return self.0.push(JobAt { job, bulbs, over_days });
        };
        at.bulbs.push(bulb);
        at.over_days = at.over_days.max(over_days);
        if let (Job::Walk { last_look_days, .. }, Job::Walk { last_look_days: last, .. }) = (&mut at.job, &job) {
            *last_look_days = last_look_days.zip(*last).map(|(a, b)| a.max(b));
        }
    }
}
