//! Outcomes against the truth: bulbs whose days are known, looked at now and then by people who see right.
//!
//! Whatever is said as decided has to be true, whichever days were looked at; and who looks every day can say.

use std::fmt::Write as _;

use proptest::prelude::*;

use super::*;
use crate::{
    ledger::body::{DiedAs, Test, Unit},
    testing::{World, day, id},
};

/// First day of each stage of one scape, in order of growth; a scape that stops never has the later ones.
#[derive(Clone, Debug)]
struct Grown {
    since: Vec<i64>,
}

const STAGES: [Stage; 7] = [
    Stage::ScapeInSight,
    Stage::ScapeStretching,
    Stage::SpatheSplit,
    Stage::FirstFlower,
    Stage::FullBloom,
    Stage::Fading,
    Stage::Over,
];

impl Grown {
    fn stage_on(&self, day: i64) -> Option<Stage> {
        let reached = self.since.iter().take_while(|since| **since <= day).count();
        reached.checked_sub(1).map(|at| STAGES[at])
    }

    fn reached(&self, stage: Stage) -> Option<i64> {
        let at = STAGES.iter().position(|known| *known == stage)?;
        self.since.get(at).copied()
    }
}

#[derive(Clone, Debug)]
struct Life {
    scapes: Vec<Grown>,
    /// Days on which it was looked at, in order.
    looks: Vec<i64>,
    /// From which stage on people know the stalk for one.
    known_from: Stage,
    window: (i64, i64),
    today: i64,
}

fn grown() -> impl Strategy<Value = Grown> {
    (0_i64..40, prop::collection::vec(1_i64..6, 0..7)).prop_map(|(first, steps)| {
        let since = steps.iter().scan(first, |on, step| {
            let this = *on;
            *on += step;
            Some(this)
        });
        Grown { since: since.collect() }
    })
}

fn life() -> impl Strategy<Value = Life> {
    (
        prop::collection::vec(grown(), 0..3),
        prop::collection::btree_set(0_i64..60, 0..12),
        prop::sample::select(vec![Stage::ScapeInSight, Stage::SpatheSplit]),
        (15_i64..35, 0_i64..6),
        0_i64..60,
    )
        .prop_map(|(scapes, looks, known_from, (from, length), today)| Life {
            scapes,
            looks: looks.into_iter().filter(|on| *on <= today).collect(),
            known_from,
            window: (from, from + length),
            today,
        })
}

impl Life {
    fn records(&self) -> String {
        let mut text = String::from("0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1\n0 mia cycle-began b_1\n");
        for on in &self.looks {
            let shoots: Vec<String> = self
                .scapes
                .iter()
                .enumerate()
                .filter_map(|(at, scape)| {
                    let stage = scape.stage_on(*on)?;
                    let (kind, stage) = if stage >= self.known_from {
                        ("scape", stage.word().replace(' ', "-"))
                    } else {
                        ("unknown", "shoot".to_owned())
                    };
                    Some(format!("sh_{at}/{kind}/{stage}"))
                })
                .collect();
            let said = if shoots.is_empty() { "clear".to_owned() } else { shoots.join(" ") };
            let _ = writeln!(text, "{on} mia look b_1 {said}");
        }
        text
    }

    fn bulb(&self) -> Bulb {
        let state = World::of(&self.records()).state();
        state.bulbs[&id("b_1")].clone()
    }

    fn judged(&self, bulb: &Bulb, goal: Goal, stage: GoalStage) -> Judged {
        let rule = Rule { goal, stage, unit: Unit::Bulb, died: DiedAs::NotInTime, test: Test::None, family: None };
        let window = DueWindow { name: String::new(), from: day(self.window.0), to: day(self.window.1) };
        judge(bulb, day(0), &rule, &window, day(self.today))
    }

    /// First day of the stage.
    fn reached(&self, stage: Stage) -> Option<i64> {
        self.scapes.iter().filter_map(|s| s.reached(stage)).min()
    }

    /// Whether it is in the stage on a day: reached and not over.
    fn is_in(&self, stage: Stage, on: i64) -> bool {
        let stages = self.scapes.iter().filter_map(|scape| scape.stage_on(on));
        stages.into_iter().any(|now| now >= stage && now < Stage::Over)
    }

    /// Whether a stalk came in sight after the last look.
    fn grew_unseen(&self) -> bool {
        let last = self.looks.last().copied().unwrap_or(-1);
        let first = self.scapes.iter().filter_map(|scape| scape.since.first());
        first.into_iter().any(|since| *since > last)
    }
}

const BY: [GoalStage; 3] = [GoalStage::ScapeInSight, GoalStage::SpatheSplit, GoalStage::FirstFlower];

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn what_is_said_by_a_day_is_true(life in life()) {
        let bulb = life.bulb();
        for stage in BY {
            let reached = least_stage(stage).and_then(|least| life.reached(least));
            let to = life.window.1;
            let judged = life.judged(&bulb, Goal::By, stage);
            prop_assert!(!judged.reach.contradicted, "people who see right contradict nobody");
            if let Some(without) = judged.reach.without {
                prop_assert!(reached.is_none_or(|on| day(on) > without));
            }
            if let Some(with) = judged.reach.with {
                prop_assert!(reached.is_some_and(|on| day(on) <= with));
            }
            match judged.outcome {
                Outcome::InTime => prop_assert!(reached.is_some_and(|on| on <= to)),
                Outcome::Late => prop_assert!(reached.is_some_and(|on| on > to)),
                Outcome::NotReached => prop_assert!(reached.is_none_or(|on| on > to)),
                Outcome::Waiting => prop_assert!(life.today <= to),
                Outcome::CantSay(_) => prop_assert!(life.today > to),
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }

    #[test]
    fn what_is_said_of_a_window_is_true(life in life()) {
        let bulb = life.bulb();
        for stage in BY {
            let (from, to) = life.window;
            let least = least_stage(stage).unwrap_or(Stage::Over);
            let in_time = (from..=to).any(|on| life.is_in(least, on));
            let reached = life.reached(least);
            match life.judged(&bulb, Goal::InWindow, stage).outcome {
                Outcome::InTime => prop_assert!(in_time, "{:?}", stage),
                // Said as soon as all stalks in sight are over; one that comes in sight later may still change it.
                Outcome::TooEarly => prop_assert!(
                    (!in_time || life.grew_unseen()) && reached.is_some_and(|on| on <= from),
                    "{:?}", stage
                ),
                Outcome::Late => prop_assert!(!in_time && reached.is_some_and(|on| on > to)),
                Outcome::NotReached => prop_assert!(!in_time && reached.is_none_or(|on| on > to)),
                Outcome::Waiting => prop_assert!(life.today <= to),
                Outcome::CantSay(_) => prop_assert!(life.today > to),
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }

    #[test]
    fn who_looks_every_day_can_say(life in life()) {
        let life = Life {
            looks: (0..=60).collect(),
            known_from: Stage::ScapeInSight,
            today: 60,
            ..life
        };
        let (from, to) = life.window;
        let bulb = life.bulb();
        for stage in BY {
            let least = least_stage(stage).unwrap_or(Stage::Over);
            let by = life.judged(&bulb, Goal::By, stage).outcome;
            let in_time = life.reached(least).is_some_and(|on| on <= to);
            prop_assert_eq!(by == Outcome::InTime, in_time);
            prop_assert!(!by.is_open(), "{:?}", by);
            let window = life.judged(&bulb, Goal::InWindow, stage).outcome;
            let in_time = (from..=to).any(|on| life.is_in(least, on));
            prop_assert_eq!(window == Outcome::InTime, in_time);
            prop_assert!(!window.is_open(), "{:?}", window);
        }
    }
}
