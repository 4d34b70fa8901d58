//! Ready questions: what a small nursery most often wants to know, already split into what differs and how much.
//!
//! A ready question fills the planning of a trial; every part of it can be changed there. Its key is stored with the
//! trial and never changes. What it is called, what differs and what its groups are called are words, which are the app's:
//! they stand in the records as they were when the trial was planned, since anyone may change them there. Each changes one
//! thing only and holds a group that is what would be done anyway.

use crate::{
    habits::LOOK_DAYS,
    ledger::body::{AppliedTo, DiedAs, Factor, Goal, GoalStage, Level},
    source::Source,
};

/// A group to be made.
#[derive(Clone, Debug)]
pub struct GroupPlan {
    /// Its short name.
    pub name: String,
    /// One level a factor.
    pub levels: Vec<Level>,
    /// Whether it is what the nursery would have done anyway.
    pub control: bool,
}

/// How much of what differs one group gets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadyGroup {
    /// Key for the app's words.
    pub key: &'static str,
    /// The level in thousandths of the factor's unit, where it is a number.
    pub value_milli: Option<i64>,
    /// What would be done anyway.
    pub control: bool,
    /// Where this level comes from.
    pub source: Source,
}

/// A ready question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ready {
    /// Stored with the trial; never changes.
    pub key: &'static str,
    /// Unit of its levels, empty where they are no numbers.
    pub unit: &'static str,
    /// To what it is applied.
    pub applied_to: AppliedTo,
    /// Groups proposed. Their order never changes: it tells which group of a planned trial is which.
    pub groups: &'static [ReadyGroup],
    /// What a bulb is to do, as a proposal.
    pub goal: Goal,
    /// The stage, as a proposal.
    pub stage: GoalStage,
    /// What died counts as, as a proposal.
    pub died: DiedAs,
    /// Days between looks, as a proposal: close enough to date a stalk that stretches 3 to 9 cm a day.
    pub look_interval_days: u32,
}

const fn group(key: &'static str, value_milli: Option<i64>, control: bool, source: Source) -> ReadyGroup {
    ReadyGroup { key, value_milli, control, source }
}

/// A group of common practice that is no number.
const fn usual(key: &'static str, control: bool) -> ReadyGroup {
    group(key, None, control, Source::CommonPractice)
}

/// All ready questions, the most asked first.
pub const READY: &[Ready] = &[
    Ready {
        key: "rest",
        unit: "weeks",
        applied_to: AppliedTo::Bulb,
        // 8 to 10 weeks at least are an extension service's (Iowa State, 2020); 10 to 12 and 10 to 14 a newspaper's and a
        // garden club's.
        groups: &[
            group("8-weeks", Some(8000), true, Source::ExtensionService),
            group("12-weeks", Some(12_000), false, Source::SingleReport),
        ],
        goal: Goal::InWindow,
        stage: GoalStage::FirstFlower,
        died: DiedAs::NotInTime,
        look_interval_days: LOOK_DAYS as u32,
    },
    Ready {
        key: "leaves",
        unit: "",
        applied_to: AppliedTo::Bulb,
        // Leaves come off when they are brown: Iowa State, 2020; K-State.
        groups: &[usual("cut", false), group("kept", None, true, Source::ExtensionService)],
        goal: Goal::InWindow,
        stage: GoalStage::FirstFlower,
        died: DiedAs::NotInTime,
        look_interval_days: LOOK_DAYS as u32,
    },
    Ready {
        key: "mix",
        unit: "",
        applied_to: AppliedTo::Bulb,
        groups: &[usual("usual", true), usual("grittier", false)],
        goal: Goal::By,
        stage: GoalStage::FirstFlower,
        died: DiedAs::NotInTime,
        look_interval_days: LOOK_DAYS as u32,
    },
    Ready {
        key: "place",
        unit: "",
        applied_to: AppliedTo::Place,
        groups: &[usual("usual", true), usual("other", false)],
        goal: Goal::By,
        stage: GoalStage::FirstFlower,
        died: DiedAs::NotInTime,
        look_interval_days: LOOK_DAYS as u32,
    },
    Ready {
        key: "feeding",
        unit: "",
        applied_to: AppliedTo::Bulb,
        // Every 2 to 4 weeks in growth, as extension pages say.
        groups: &[usual("not-fed", true), group("fed", None, false, Source::ExtensionService)],
        goal: Goal::By,
        stage: GoalStage::ScapeInSight,
        died: DiedAs::NotInTime,
        look_interval_days: 7,
    },
];

impl Ready {
    /// The ready question with this key.
    pub fn from_key(key: &str) -> Option<&'static Self> {
        READY.iter().find(|ready| ready.key == key)
    }

    /// What differs, by this name, as a trial stores it.
    pub fn factor(&self, name: &str) -> Factor {
        Factor { name: name.to_owned(), unit: self.unit.to_owned(), applied_to: self.applied_to }
    }

    /// The proposed groups, as planning takes them, with these names in their order.
    pub fn group_plans(&self, factor: &str, names: impl IntoIterator<Item = String>) -> Vec<GroupPlan> {
        let plan = |(group, name): (&ReadyGroup, String)| GroupPlan {
            levels: vec![Level { factor: factor.to_owned(), text: name.clone(), value_milli: group.value_milli }],
            name,
            control: group.control,
        };
        self.groups.iter().zip(names).map(plan).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits;

    #[test]
    fn the_keys_are_those_that_trials_may_already_hold() {
        let keys: Vec<&str> = READY.iter().map(|ready| ready.key).collect();
        assert_eq!(keys, ["rest", "leaves", "mix", "place", "feeding"]);
    }

    #[test]
    fn every_ready_question_differs_in_one_thing_and_has_one_group_as_it_would_be_done_anyway() {
        for ready in READY {
            let names = ready.groups.iter().map(|group| group.key.to_owned());
            let plans = ready.group_plans("what", names);
            assert!(plans.len() >= 2, "{}", ready.key);
            assert_eq!(plans.iter().filter(|plan| plan.control).count(), 1);
            let names: std::collections::BTreeSet<&str> = plans.iter().map(|plan| plan.name.as_str()).collect();
            assert_eq!(names.len(), plans.len(), "{}", ready.key);
            for plan in &plans {
                assert_eq!(plan.levels.len(), 1);
                assert_eq!(plan.levels[0].factor, ready.factor("what").name);
                assert_eq!(plan.levels[0].value_milli.is_some(), !ready.unit.is_empty());
            }
            assert!(limits::LOOK_INTERVAL_DAYS.contains(i64::from(ready.look_interval_days)));
        }
    }
}
