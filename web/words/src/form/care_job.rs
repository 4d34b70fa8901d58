//! One job of a care plan.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{ActKind, CareJob, Doing, During, JobFrom, Stage};
use bloomdue_core::ledger::id::Id;

use super::{Problem, number};
use bloomdue_core::error::Field;

/// What the fields hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub doing: Doing,
    pub act: Option<ActKind>,
    pub words: String,
    pub from: JobFrom,
    pub date: String,
    pub after: Option<ActKind>,
    pub stage: Option<Stage>,
    pub after_days: String,
    pub again: bool,
    pub every_days: String,
    pub tolerance_days: String,
    pub during: During,
    pub person: Option<Id>,
}

impl Typed {
    /// A job as it stands.
    pub fn of(job: &CareJob) -> Self {
        Self {
            doing: job.doing,
            act: job.act,
            words: job.words.clone(),
            from: job.from,
            date: job.date.map(|day| day.to_string()).unwrap_or_default(),
            after: job.after,
            stage: job.stage,
            after_days: job.after_days.to_string(),
            again: job.every_days.is_some(),
            every_days: job.every_days.unwrap_or(7).to_string(),
            tolerance_days: job.tolerance_days.to_string(),
            during: job.during,
            person: job.person,
        }
    }

    /// What the fields say, on top of what stood there.
    ///
    /// # Errors
    /// Where a number of days is none, beside its field.
    pub fn job(&self, before: &CareJob) -> Result<CareJob, Problem> {
        let from = self.from;
        let job = CareJob {
            doing: self.doing,
            act: self.act.filter(|_| self.doing == Doing::Act),
            words: self.words.clone(),
            from,
            date: self.date.parse().ok().filter(|_| from == JobFrom::Date),
            after: self.after.filter(|_| from == JobFrom::Act),
            stage: self.stage.filter(|_| from == JobFrom::Stage),
            every_days: self.again.then(|| number(Field::Every, &self.every_days)).transpose()?,
            after_days: match from {
                JobFrom::Date => 0,
                _ => number(Field::After, &self.after_days)?,
            },
            tolerance_days: number(Field::Tolerance, &self.tolerance_days)?,
            during: self.during,
            person: self.person,
            given_up: false,
            ..before.clone()
        };
        // The grade spoke of the numbers as they stood.
        let same = CareJob { person: before.person, words: before.words.clone(), ..job.clone() } == *before;
        Ok(CareJob { grade: job.grade.filter(|_| same), ..job })
    }
}

/// A job to begin with: watering from today on.
pub fn fresh(today: Date) -> CareJob {
    CareJob {
        doing: Doing::Act,
        act: Some(ActKind::Watered),
        words: String::new(),
        from: JobFrom::Date,
        date: Some(today),
        after: None,
        stage: None,
        after_days: 0,
        every_days: None,
        tolerance_days: 0,
        during: During::Always,
        person: None,
        grade: None,
        source: String::new(),
        given_up: false,
    }
}
