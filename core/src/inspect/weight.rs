//! Weight that a bulb lost since it was weighed first, beside what others of its lot lost.

use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Body, Measured},
        id::Id,
    },
    nursery::{Bulb, State},
};

/// What a bulb lost. No limit is published; a bulb is compared with others of its lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loss {
    /// When it was weighed first in its present cycle, and its weight then, g.
    pub from: (Date, i64),
    /// Its weight now, g.
    pub now_g: i64,
    /// Weight lost, in permille of the first; negative when it gained.
    pub permille: i64,
    /// The middle of what others of its lot lost between their first and last weighing in their present cycle, permille,
    /// and how many they are; of fewer than three nothing is said.
    pub others: Option<(i64, usize)>,
}

/// Fewest others whose middle is told.
const OTHERS_MIN: usize = 3;

/// What a bulb that weighs so much now has lost; nothing when it was not weighed before in its present cycle.
pub fn loss(ledger: &Ledger, state: &State, bulb: Id, now_g: i64) -> Option<Loss> {
    let known = state.bulb(&bulb)?;
    let from = *weights(ledger, known).first()?;
    let lot = known.lot.shown();
    let of_lot = state.bulbs.values().filter(|other| other.id != known.id && lot.is_some() && other.lot.shown() == lot);
    let by_others = of_lot.filter_map(|other| {
        let weights = weights(ledger, other);
        let (first, last) = (weights.first()?, weights.last()?);
        (first.0 < last.0).then(|| lost(first.1, last.1)).flatten()
    });
    let mut by_others: Vec<i64> = by_others.collect();
    by_others.sort_unstable();
    let n = by_others.len();
    let others = (n >= OTHERS_MIN).then(|| (by_others[n / 2], n));
    Some(Loss { from, now_g, permille: lost(from.1, now_g)?, others })
}

/// Permille of the first weight that is gone.
fn lost(first_g: i64, now_g: i64) -> Option<i64> {
    (first_g > 0).then(|| (first_g - now_g).saturating_mul(1000) / first_g)
}

/// Weights of a bulb in its present cycle, g, by day.
fn weights(ledger: &Ledger, bulb: &Bulb) -> Vec<(Date, i64)> {
    let since = bulb.cycle().began.unwrap_or(Date::EARLIEST);
    let entries = bulb.in_force(ledger);
    let weighed = entries.iter().filter_map(|entry| match &entry.body {
        Body::Measure(measure) if measure.what == Measured::Weight => {
            Some((entry.envelope.happened.date(), measure.g?))
        }
        _ => None,
    });
    weighed.filter(|(day, _)| *day >= since).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn a_loss_counts_from_the_first_weight_of_the_cycle_and_stands_beside_others() {
        let weigh =
            |on: i64, bulb: &str, g: i64| format!("{on} mia json {bulb} measure {{\"what\":\"weight\",\"g\":{g}}}\n");
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1,b_2,b_3,b_4 lo_1");
        world.add(&weigh(-5, "b_1", 900));
        world.add("0 mia cycle-began b_1,b_2,b_3,b_4");
        let at = |world: &World, g| loss(&world.ledger, &world.state(), id("b_1"), g);
        assert_eq!(at(&world, 400), None, "what it weighed in an earlier cycle says nothing");
        world.add(&weigh(1, "b_1", 400));
        assert_eq!(
            at(&world, 360).map(|loss| (loss.from, loss.permille, loss.others)),
            Some(((day(1), 400), 100, None))
        );
        for (bulb, last) in [("b_2", 480), ("b_3", 475), ("b_4", 400)] {
            world.add(&weigh(1, bulb, 500));
            world.add(&weigh(30, bulb, last));
        }
        // The others lost 4, 5 and 20 %.
        assert_eq!(at(&world, 360).and_then(|loss| loss.others), Some((50, 3)));
    }
}
