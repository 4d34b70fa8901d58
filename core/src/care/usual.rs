//! The usual jobs, ready to take into a care plan, each with what it rests on. No doses, and none is there unasked.

use crate::{
    ledger::body::{ActKind, CareJob, Doing, During, JobFrom, Stage},
    plan::LEAST_DAYS_IN_LEAF,
    source::Source,
};

/// A usual job. Its words for growers stand in the app; core gives the key and the numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Usual {
    /// Names it; the slot it takes in a care plan, so that two who take the same job mean the same.
    pub key: &'static str,
    /// The job, without words.
    pub job: CareJob,
}

/// An act of common practice, to be filled in.
pub(crate) fn plain() -> CareJob {
    CareJob {
        doing: Doing::Act,
        act: None,
        words: String::new(),
        from: JobFrom::Act,
        date: None,
        after: None,
        stage: None,
        after_days: 0,
        every_days: None,
        tolerance_days: 3,
        during: During::Always,
        person: None,
        grade: Some(Source::CommonPractice),
        source: String::new(),
        given_up: false,
    }
}

/// All usual jobs, in the order of a cycle.
pub fn usual() -> Vec<Usual> {
    vec![
        // Six months in leaf after flowering before the next rest, as in what bulbs are fit to force (`plan::readiness`).
        Usual {
            key: "stop-water",
            job: CareJob {
                act: Some(ActKind::WaterStopped),
                from: JobFrom::Stage,
                stage: Some(Stage::Over),
                after_days: LEAST_DAYS_IN_LEAF as u32,
                tolerance_days: 14,
                during: During::Growth,
                ..plain()
            },
        },
        // Leaves take 2 to 4 weeks to wither once water stops: common practice. That they are cut when brown is an extension
        // service's advice (R. Jauron, Iowa State, 2020), but gives no number of days.
        Usual {
            key: "cut-back",
            job: CareJob {
                act: Some(ActKind::CutBack),
                after: Some(ActKind::WaterStopped),
                after_days: 21,
                tolerance_days: 7,
                ..plain()
            },
        },
        // Laid down when the leaves are cut, which is once they are dry.
        Usual {
            key: "lay-to-rest",
            job: CareJob {
                act: Some(ActKind::LaidToRest),
                after: Some(ActKind::WaterStopped),
                after_days: 21,
                tolerance_days: 7,
                ..plain()
            },
        },
        Usual {
            key: "inspect-rest",
            job: CareJob {
                doing: Doing::Inspect,
                after: Some(ActKind::LaidToRest),
                after_days: 14,
                every_days: Some(14),
                during: During::Rest,
                ..plain()
            },
        },
        Usual {
            key: "pot",
            job: CareJob { act: Some(ActKind::Potted), from: JobFrom::RestEnd, tolerance_days: 3, ..plain() },
        },
        Usual {
            key: "look",
            job: CareJob {
                doing: Doing::Look,
                from: JobFrom::RestEnd,
                after_days: 7,
                every_days: Some(7),
                tolerance_days: 2,
                during: During::Growth,
                ..plain()
            },
        },
        Usual {
            key: "water",
            job: CareJob {
                act: Some(ActKind::Watered),
                after: Some(ActKind::Potted),
                after_days: 7,
                every_days: Some(7),
                tolerance_days: 2,
                during: During::Growth,
                ..plain()
            },
        },
        Usual {
            key: "turn",
            job: CareJob {
                doing: Doing::Own,
                from: JobFrom::Stage,
                stage: Some(Stage::ScapeInSight),
                every_days: Some(3),
                tolerance_days: 1,
                during: During::Growth,
                ..plain()
            },
        },
        Usual {
            key: "stake",
            job: CareJob {
                act: Some(ActKind::Staked),
                from: JobFrom::Stage,
                stage: Some(Stage::ScapeStretching),
                after_days: 3,
                ..plain()
            },
        },
        // Cooler evenings keep flowers longer: M. Garber, University of Georgia CAES.
        Usual {
            key: "cooler",
            job: CareJob {
                doing: Doing::Own,
                from: JobFrom::Stage,
                stage: Some(Stage::FirstFlower),
                grade: Some(Source::ExtensionService),
                ..plain()
            },
        },
        // Spent scapes are cut and the leaves kept: Iowa State, 2006; M. Garber, University of Georgia CAES.
        Usual {
            key: "cut-scape",
            job: CareJob {
                act: Some(ActKind::ScapeCut),
                from: JobFrom::Stage,
                stage: Some(Stage::Over),
                tolerance_days: 5,
                grade: Some(Source::ExtensionService),
                ..plain()
            },
        },
        // That bulbs are fed for months after flowering is on a page of the trade (Hadeco); how often is common practice.
        Usual {
            key: "feed",
            job: CareJob {
                act: Some(ActKind::Fed),
                from: JobFrom::Stage,
                stage: Some(Stage::Over),
                after_days: 7,
                every_days: Some(14),
                during: During::Growth,
                ..plain()
            },
        },
        // Bulbs shrink in dry store: size is measured at a fixed moment to be compared.
        Usual { key: "measure", job: CareJob { doing: Doing::Own, after: Some(ActKind::Lifted), ..plain() } },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::plan;

    #[test]
    fn every_usual_job_can_be_recorded_once_it_has_words() {
        for usual in usual() {
            let mut job = usual.job.clone();
            job.words = "words".to_owned();
            assert_eq!(plan::check(&job), Ok(()), "{}", usual.key);
            assert!(job.grade.is_some(), "{}", usual.key);
            // Only acts have a word of their own, and no act here is one that a dose goes with.
            assert_ne!(job.act, Some(ActKind::SprayedOrDipped), "{}", usual.key);
        }
    }

    #[test]
    fn keys_are_plain_and_each_names_one() {
        let all = usual();
        let mut keys: Vec<&str> = all.iter().map(|usual| usual.key).collect();
        let plain = |key: &&str| key.bytes().all(|b| b.is_ascii_lowercase() || b == b'-');
        assert!(keys.iter().all(plain));
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), all.len());
    }
}
