//! The usual jobs, ready to take into a care plan, each with what it rests on. No doses, and none is there unasked.

use crate::{
    habits::{FEED_DAYS, INSPECT_DAYS, LEAST_DAYS_IN_LEAF, WITHER_DAYS},
    ledger::body::{ActKind, CareJob, Doing, During, JobFrom, Stage},
    source::Source,
};

/// A usual job, with the fields of [`CareJob`] that differ between them. Its words for growers stand in the app.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Usual {
    /// Names it; the slot it takes in a care plan, so that two who take the same job mean the same.
    pub key: &'static str,
    /// What it asks for.
    pub doing: Doing,
    /// Which act.
    pub act: Option<ActKind>,
    /// What its first day is counted from.
    pub from: JobFrom,
    /// That act.
    pub after: Option<ActKind>,
    /// That stage.
    pub stage: Option<Stage>,
    /// Days from there to the first time.
    pub after_days: u32,
    /// Days from one time to the next.
    pub every_days: Option<u32>,
    /// Days early or late that are as good.
    pub tolerance_days: u32,
    /// When it is told at all.
    pub during: During,
    /// What it rests on.
    pub grade: Source,
}

/// An act of common practice, to be filled in.
const PLAIN: Usual = Usual {
    key: "",
    doing: Doing::Act,
    act: None,
    from: JobFrom::Act,
    after: None,
    stage: None,
    after_days: 0,
    every_days: None,
    tolerance_days: 3,
    during: During::Always,
    grade: Source::CommonPractice,
};

/// The same as a job.
pub(crate) fn plain() -> CareJob {
    PLAIN.job()
}

impl Usual {
    /// The job, without words.
    pub fn job(&self) -> CareJob {
        CareJob {
            doing: self.doing,
            act: self.act,
            words: String::new(),
            from: self.from,
            date: None,
            after: self.after,
            stage: self.stage,
            after_days: self.after_days,
            every_days: self.every_days,
            tolerance_days: self.tolerance_days,
            during: self.during,
            person: None,
            grade: Some(self.grade),
            source: String::new(),
            given_up: false,
        }
    }
}

/// All usual jobs, in the order of a cycle.
pub const USUAL: &[Usual] = &[
    // Six months in leaf after flowering before the next rest, as in what bulbs are fit to force (`plan::readiness`).
    Usual {
        key: "stop-water",
        act: Some(ActKind::WaterStopped),
        from: JobFrom::Stage,
        stage: Some(Stage::Over),
        after_days: LEAST_DAYS_IN_LEAF as u32,
        tolerance_days: 14,
        during: During::Growth,
        ..PLAIN
    },
    // Leaves take 2 to 4 weeks to wither once water stops: common practice. That they are cut when brown is an extension
    // service's advice (R. Jauron, Iowa State, 2020), but gives no number of days.
    Usual {
        key: "cut-back",
        act: Some(ActKind::CutBack),
        after: Some(ActKind::WaterStopped),
        after_days: WITHER_DAYS as u32,
        tolerance_days: 7,
        ..PLAIN
    },
    // Laid down when the leaves are cut, which is once they are dry.
    Usual {
        key: "lay-to-rest",
        act: Some(ActKind::LaidToRest),
        after: Some(ActKind::WaterStopped),
        after_days: WITHER_DAYS as u32,
        tolerance_days: 7,
        ..PLAIN
    },
    Usual {
        key: "inspect-rest",
        doing: Doing::Inspect,
        after: Some(ActKind::LaidToRest),
        after_days: INSPECT_DAYS as u32,
        every_days: Some(INSPECT_DAYS as u32),
        during: During::Rest,
        ..PLAIN
    },
    Usual { key: "pot", act: Some(ActKind::Potted), from: JobFrom::RestEnd, tolerance_days: 3, ..PLAIN },
    Usual {
        key: "look",
        doing: Doing::Look,
        from: JobFrom::RestEnd,
        after_days: 7,
        every_days: Some(7),
        tolerance_days: 2,
        during: During::Growth,
        ..PLAIN
    },
    Usual {
        key: "water",
        act: Some(ActKind::Watered),
        after: Some(ActKind::Potted),
        after_days: 7,
        every_days: Some(7),
        tolerance_days: 2,
        during: During::Growth,
        ..PLAIN
    },
    Usual {
        key: "turn",
        doing: Doing::Own,
        from: JobFrom::Stage,
        stage: Some(Stage::ScapeInSight),
        every_days: Some(3),
        tolerance_days: 1,
        during: During::Growth,
        ..PLAIN
    },
    Usual {
        key: "stake",
        act: Some(ActKind::Staked),
        from: JobFrom::Stage,
        stage: Some(Stage::ScapeStretching),
        after_days: 3,
        ..PLAIN
    },
    // Cooler evenings keep flowers longer: M. Garber, University of Georgia CAES.
    Usual {
        key: "cooler",
        doing: Doing::Own,
        from: JobFrom::Stage,
        stage: Some(Stage::FirstFlower),
        grade: Source::ExtensionService,
        ..PLAIN
    },
    // Spent scapes are cut and the leaves kept: Iowa State, 2006; M. Garber, University of Georgia CAES.
    Usual {
        key: "cut-scape",
        act: Some(ActKind::ScapeCut),
        from: JobFrom::Stage,
        stage: Some(Stage::Over),
        tolerance_days: 5,
        grade: Source::ExtensionService,
        ..PLAIN
    },
    // That bulbs are fed for months after flowering is on a page of the trade (Hadeco); how often is common practice.
    Usual {
        key: "feed",
        act: Some(ActKind::Fed),
        from: JobFrom::Stage,
        stage: Some(Stage::Over),
        after_days: 7,
        every_days: Some(FEED_DAYS as u32),
        during: During::Growth,
        ..PLAIN
    },
    // Bulbs shrink in dry store: size is measured at a fixed moment to be compared.
    Usual { key: "measure", doing: Doing::Own, after: Some(ActKind::Lifted), ..PLAIN },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::plan;

    #[test]
    fn every_usual_job_can_be_recorded_once_it_has_words() {
        for usual in USUAL {
            let mut job = usual.job();
            job.words = "words".to_owned();
            assert_eq!(plan::check(&job), Ok(()), "{}", usual.key);
            // Only acts have a word of their own, and no act here is one that a dose goes with.
            assert_ne!(job.act, Some(ActKind::SprayedOrDipped), "{}", usual.key);
        }
    }

    #[test]
    fn keys_are_plain_and_each_names_one() {
        let mut keys: Vec<&str> = USUAL.iter().map(|usual| usual.key).collect();
        let plain = |key: &&str| key.bytes().all(|b| b.is_ascii_lowercase() || b == b'-');
        assert!(keys.iter().all(plain));
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), USUAL.len());
    }
}
