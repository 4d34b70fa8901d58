//! What the records already tell of a shoot before any question is asked.

use super::{
    characters::{Character, Choice, GROWTH_FROM_MM},
    key::{Answered, Situation},
};
use crate::{
    calendar::Date,
    forecast::BulbOutlook,
    ledger::{
        Ledger,
        body::{Leaves, ShootKind, ShootSeen, Side},
        id::Id,
    },
    nursery::{Bulb, Cycle, Seen, Shoot},
    sight::{
        Rise,
        marks::{RiseOf, rise_of},
    },
};

/// The shoot of a bulb's present cycle, and what is known of it on `today`.
///
/// What is expected of the bulb ([`Situation::expected_permille`]) is not known here: it is a forecast's.
pub fn situation(bulb: &Bulb, shoot: Id, today: Date) -> Option<(&Shoot, Situation)> {
    let known = bulb.cycle().shoots.iter().find(|known| known.id == shoot)?;
    let days = known.since.days_until(today);
    let situation = Situation {
        leaves_show: leaves_show(bulb.cycle(), shoot, today),
        height_mm: known.height_mm,
        days_since_first_look: (days > 0).then_some(days),
        size_known: bulb.circumference_mm.is_some(),
        expected_permille: None,
    };
    Some((known, situation))
}

/// How tall a shoot of a cycle was when it was last measured until a day, in mm.
pub(super) fn height_mm_on(cycle: &Cycle, shoot: Id, on: Date) -> Option<u32> {
    let until = seen_of(cycle, shoot).filter(|(day, _)| *day <= on);
    until.filter_map(|(_, seen)| seen.height_mm).last()
}

/// The last look until this day that said something of the leaves decides; other shoots proved leaves show, too.
fn leaves_show(cycle: &Cycle, shoot: Id, on: Date) -> bool {
    let until = cycle.looks.iter().filter(|seen| seen.at.date() <= on);
    until.rev().find_map(said_of_leaves).unwrap_or(false)
        || cycle.shoots.iter().any(|other| other.id != shoot && other.kind == ShootKind::Leaf)
}

/// Whether a look said that leaves show; nothing when it did not say.
fn said_of_leaves(seen: &Seen) -> Option<bool> {
    match seen.look.leaves {
        Leaves::None => Some(false),
        Leaves::Count => Some(seen.look.n_leaves.unwrap_or(0) > 0),
        Leaves::More => Some(true),
        Leaves::Same | Leaves::NotLookedAt => None,
    }
}

/// The looks at one shoot, in order.
fn seen_of(cycle: &Cycle, shoot: Id) -> impl Iterator<Item = (Date, &ShootSeen)> {
    cycle.looks.iter().flat_map(move |seen| {
        let of_it = seen.look.shoots.iter().filter(move |known| known.id == shoot);
        of_it.map(|known| (seen.at.date(), known))
    })
}

/// Two heights of a shoot with the days between, the first and the last that were measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grown {
    /// The first height in mm.
    pub from_mm: u32,
    /// The last height in mm.
    pub to_mm: u32,
    /// Days between them.
    pub days: i64,
}

/// How a shoot of the present cycle grew between the first and the last look that measured it, from the height on from
/// which growth says anything ([`GROWTH_FROM_MM`]): what it did before would make a slow stalk look like a leaf.
pub fn grown(bulb: &Bulb, shoot: Id) -> Option<Grown> {
    let measured = seen_of(bulb.cycle(), shoot).filter_map(|(day, seen)| Some((day, seen.height_mm?)));
    let mut measured = measured.filter(|(_, mm)| *mm >= GROWTH_FROM_MM);
    let (first, from_mm) = measured.next()?;
    let (last, to_mm) = measured.last()?;
    Some(Grown { from_mm, to_mm, days: first.days_until(last) })
}

/// How many other scapes this bulb has shown in its present cycle.
pub fn n_other_scapes(bulb: &Bulb, shoot: Id) -> usize {
    bulb.cycle().scapes().filter(|other| other.id != shoot).count()
}

/// The chance of a stalk before any answer, in permille: that of a scape in sight by now, as the bulb's forecast has it,
/// which counts no shoot that is not proved. Nothing where the bulb has shown another scape in this cycle: the forecast
/// is of its first one.
pub fn expected_permille(bulb: &Bulb, shoot: Id, outlook: &BulbOutlook) -> Option<u32> {
    let is_first = n_other_scapes(bulb, shoot) == 0 && !outlook.begins.is_ahead();
    is_first.then(|| (outlook.in_sight * 1000.0).round() as u32)
}

/// The answer to where a shoot rises that marks on a photo of its neck give, with the marks' own number.
pub fn rises_on_photo(ledger: &Ledger, bulb: &Bulb, shoot: Id) -> Option<(RiseOf, Option<Choice>)> {
    let found = rise_of(ledger, bulb, shoot)?;
    let choice = match found.rise {
        Rise::Beside => Some(Choice::Beside),
        Rise::Middle => Some(Choice::Middle),
        Rise::CantTell => None,
    };
    Some((found, choice))
}

/// Answers that the looks have given already; they are offered, not taken.
pub fn seen_already(bulb: &Bulb, shoot: Id) -> Vec<Answered> {
    let cycle = bulb.cycle();
    let Some(known) = cycle.shoots.iter().find(|known| known.id == shoot) else {
        return Vec::new();
    };
    let grown = grown(bulb, shoot).and_then(|g| Choice::of_growth(i64::from(g.from_mm), i64::from(g.to_mm), g.days));
    let leaves_before = cycle.looks.iter().filter(|seen| seen.at.date() <= known.since).rev().find_map(said_of_leaves);
    let order = leaves_before.map(|show| if show { Choice::AfterLeaves } else { Choice::BeforeLeaves });
    let rise = (known.side == Side::Middle).then_some(Choice::Middle);
    let size_mm = bulb.circumference_mm.map(|(low, high)| (low + high) / 2);
    let scapes = size_mm.map(|mm| Choice::of_scapes(mm, n_other_scapes(bulb, shoot)));
    let all =
        [(Character::Growth, grown), (Character::Order, order), (Character::Rise, rise), (Character::Scapes, scapes)];
    all.into_iter().filter_map(|(character, choice)| Some((character, choice?))).collect()
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

    #[test]
    fn what_the_looks_have_said_is_offered_as_an_answer() {
        let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1 size=270");
        world.add(
            "1 mia look b_1 sh_1/unknown/shoot/100 leaves=none\n5 mia look b_1 sh_1/unknown/shoot/240 leaves=more",
        );
        let state = world.state();
        let bulb = &state.bulbs[&id("b_1")];
        assert_eq!(grown(bulb, id("sh_1")), Some(Grown { from_mm: 100, to_mm: 240, days: 4 }));
        // Measured at 4 cm before: how fast a shoot of that height grows nobody knows.
        let mut younger = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1");
        younger.add("1 mia look b_1 sh_1/unknown/shoot/40\n9 mia look b_1 sh_1/unknown/shoot/100");
        assert_eq!(grown(&younger.state().bulbs[&id("b_1")], id("sh_1")), None);
        let known = seen_already(bulb, id("sh_1"));
        for answer in [
            (Character::Growth, Choice::Fast),
            (Character::Order, Choice::BeforeLeaves),
            (Character::Scapes, Choice::Room),
        ] {
            assert!(known.contains(&answer), "{answer:?} {known:?}");
        }
        let (_, now) = situation(bulb, id("sh_1"), day(5)).unwrap();
        assert!(now.size_known && now.leaves_show && now.height_mm == Some(240));
    }
}
