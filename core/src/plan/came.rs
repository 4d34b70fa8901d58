//! What came of a saved plan whose days are over, from the records of its bulbs.

use crate::{
    calendar::Date,
    forecast::{Wanted, Window, score::came},
    ledger::body::{Forcing, GoalStage},
    nursery::State,
};

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CameOf {
    /// What was wanted of the bulbs.
    pub wanted: Wanted,
    /// Its bulbs.
    pub n_bulbs: usize,
    /// How many of them the records show to have had it on a day of the window.
    pub n_came: usize,
    /// How many the records do not say it of: not looked at in time, or gone before.
    pub n_unsaid: usize,
}

/// Of a plan whose last day is over; nothing before. A bulb is judged in the cycle that the plan brought on, and where its
/// rest was late, in the one that it was in when the window began.
pub fn came_of(state: &State, plan: &Forcing, today: Date) -> Option<CameOf> {
    if today <= plan.to {
        return None;
    }
    let window = Window { from: plan.from, to: plan.to };
    let wanted = if plan.stage == GoalStage::FirstFlower { Wanted::InFlower } else { Wanted::FitToSell };
    let mut found = CameOf { wanted, n_bulbs: 0, n_came: 0, n_unsaid: 0 };
    for batch in &plan.batches {
        for bulb in batch.bulbs.iter().filter_map(|bulb| state.bulb(bulb)) {
            found.n_bulbs += 1;
            let of = |on: Date| came(state, bulb, on, wanted, window, today);
            match of(batch.rest_end).filter(|came| *came).or_else(|| of(plan.from)) {
                Some(true) => found.n_came += 1,
                Some(false) => {}
                None => found.n_unsaid += 1,
            }
        }
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, batch, day, forcing};

    #[test]
    fn a_plan_whose_days_are_over_says_how_many_showed_it_within_them() {
        let mut world = World::of(
            "-90 mia lot lo_1 Red
             -90 mia bulb b_1,b_2,b_3,b_4,b_5 lo_1
             -60 mia cycle-began b_1,b_2,b_3,b_4,b_5
             -60 mia laid-to-rest b_1,b_2,b_3,b_4,b_5",
        );
        let meant = Forcing {
            stage: GoalStage::FirstFlower,
            batches: vec![batch("b_1,b_2,b_3", -81, 10), batch("b_4,b_5", -74, 17)],
            ..forcing("Fair", 60, 66)
        };
        world.force(0, None, meant.clone());
        world.add(
            "10 mia potted b_1,b_2,b_3
             17 mia potted b_4,b_5
             58 mia look b_1,b_2,b_3,b_4,b_5 sh_1/scape/scape-stretching
             62 mia look b_1,b_2 sh_1/scape/first-flower-open
             63 mia left b_2 how=sold
             66 mia look b_3 sh_1/scape/scape-stretching
             70 mia look b_3 sh_1/scape/first-flower-open
             70 mia look b_4 sh_1/scape/first-flower-open
             64 mia died b_5 cause=rot
             90 mia cycle-began b_1",
        );
        let of = |on: i64| came_of(&world.state(), &meant, day(on));
        assert_eq!(of(66), None);
        // The first two were seen in flower, the third was not yet, of the fourth nobody knows, and the fifth died.
        let said = CameOf { wanted: Wanted::InFlower, n_bulbs: 5, n_came: 2, n_unsaid: 1 };
        assert_eq!(of(67), Some(CameOf { n_unsaid: 1, ..said }));
        assert_eq!(of(95), Some(said));
    }
}
