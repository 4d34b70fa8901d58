//! What the records already tell of a shoot before any question is asked.

use super::key::Situation;
use crate::{
    calendar::Date,
    ledger::{
        body::{Leaves, ShootKind},
        id::Id,
    },
    nursery::{Bulb, Shoot},
};

/// The shoot of a bulb's present cycle, and what is known of it on `today`.
pub fn situation(bulb: &Bulb, shoot: Id, today: Date) -> Option<(&Shoot, Situation)> {
    let cycle = bulb.cycle();
    let known = cycle.shoots.iter().find(|known| known.id == shoot)?;
    // The last look that said something of the leaves decides; other shoots proved leaves show, too.
    let said = cycle.looks.iter().rev().map(|seen| (seen.look.leaves, seen.look.n_leaves));
    let leaves = said.map(|(leaves, n)| match leaves {
        Leaves::None => Some(false),
        Leaves::Count => Some(n.unwrap_or(0) > 0),
        Leaves::More => Some(true),
        Leaves::Same | Leaves::NotLookedAt => None,
    });
    let leaves_show = leaves.flatten().next().unwrap_or(false)
        || cycle.shoots.iter().any(|other| other.id != shoot && other.kind == ShootKind::Leaf);
    let days = known.since.days_until(today);
    let situation =
        Situation { leaves_show, height_mm: known.height_mm, days_since_first_look: (days > 0).then_some(days) };
    Some((known, situation))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    fn check(looks: &str, leaves_show: bool, days: Option<i64>) {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
        world.add(looks);
        let state = world.state();
        let (_, found) = situation(&state.bulbs[&id("b_1")], id("sh_1"), day(5)).unwrap();
        assert_eq!((found.leaves_show, found.days_since_first_look), (leaves_show, days), "{looks}");
    }

    #[test]
    fn leaves_show_when_the_last_look_that_speaks_of_them_says_so() {
        check("5 mia look b_1 sh_1/unknown/shoot leaves=none", false, None);
        check("2 mia look b_1 sh_1/unknown/shoot leaves=more", true, Some(3));
        check(
            "2 mia look b_1 sh_1/unknown/shoot leaves=none\n4 mia look b_1 sh_1/unknown/shoot leaves=same",
            false,
            Some(3),
        );
        check("1 mia look b_1 sh_1/unknown/shoot sh_2/leaf/shoot leaves=none", true, Some(4));
    }
}
