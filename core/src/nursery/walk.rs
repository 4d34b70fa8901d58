//! The walk: which answers fit a bulb, and the look that each answer means, written out in full.

use super::{
    State,
    bulb::{Bulb, Cycle, Shoot},
};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Leaves, Look, Neck, ShootKind, ShootSeen, Side, Stage, Way},
        id::{EntryId, Id, Ids, Noun},
    },
    words::words,
};
use strum::{IntoStaticStr, VariantArray};

words!(Answer);

/// An answer to *what does it show today?*
#[derive(Clone, Copy, Debug, PartialEq, Eq, IntoStaticStr, VariantArray)]
pub enum Answer {
    /// Nothing at the neck, no leaves: the first look of a cycle.
    #[strum(serialize = "nothing-yet")]
    NothingYet,
    /// All as at the look before.
    #[strum(serialize = "same")]
    Same,
    /// More leaves, all else the same.
    #[strum(serialize = "more-leaves")]
    MoreLeaves,
    /// A stalk.
    #[strum(serialize = "stalk")]
    Stalk,
    /// A shoot that may be either.
    #[strum(serialize = "shoot-not-sure")]
    ShootNotSure,
    /// The unsure shoot is a leaf.
    #[strum(serialize = "it-is-a-leaf")]
    ItIsALeaf,
    /// The stalk is higher.
    #[strum(serialize = "higher")]
    Higher,
    /// The spathe has split.
    #[strum(serialize = "sheath-split")]
    SheathSplit,
    /// The first flower is open.
    #[strum(serialize = "first-flower")]
    FirstFlower,
    /// Flowers fade.
    #[strum(serialize = "fading")]
    Fading,
    /// Flowers are over.
    #[strum(serialize = "over")]
    Over,
    /// A further stalk.
    #[strum(serialize = "second-stalk")]
    SecondStalk,
}

/// The answers that follow from what the bulb last showed, most likely first.
pub fn answers(bulb: &Bulb) -> Vec<Answer> {
    let cycle = bulb.cycle();
    let leading = leading_scape(cycle);
    let mut answers = vec![if cycle.looks.is_empty() { Answer::NothingYet } else { Answer::Same }];
    match leading.map(|shoot| shoot.stage) {
        None => {
            answers.extend([Answer::MoreLeaves, Answer::Stalk]);
            answers.push(if present_unsure(cycle).is_some() { Answer::ItIsALeaf } else { Answer::ShootNotSure });
        }
        Some(stage) => {
            let next: &[Answer] = match stage {
                Stage::Shoot | Stage::ScapeInSight | Stage::ScapeStretching => {
                    &[Answer::Higher, Answer::SheathSplit, Answer::FirstFlower]
                }
                Stage::SpatheSplit => &[Answer::FirstFlower, Answer::Higher],
                Stage::FirstFlower | Stage::FullBloom => &[Answer::Fading, Answer::Over],
                Stage::Fading => &[Answer::Over],
                Stage::Over => &[],
            };
            answers.extend(next);
            answers.extend([Answer::SecondStalk, Answer::MoreLeaves]);
        }
    }
    answers
}

/// The look that an answer means. `Same` repeats the whole statement of the look before.
pub fn look_for(answer: Answer, bulb: &Bulb, walk: Option<Id>, ids: &mut Ids) -> Look {
    let cycle = bulb.cycle();
    let mut look = before(cycle, walk);
    match answer {
        Answer::NothingYet => look.leaves = Leaves::None,
        Answer::Same => {}
        Answer::MoreLeaves => look.leaves = Leaves::More,
        Answer::Stalk => match present_unsure(cycle).map(|shoot| shoot.id) {
            Some(unsure) => set(&mut look, unsure, ShootKind::Scape, Stage::ScapeInSight),
            None => add_shoot(&mut look, cycle, ShootKind::Scape, Stage::ScapeInSight, ids),
        },
        Answer::ShootNotSure => add_shoot(&mut look, cycle, ShootKind::Unknown, Stage::Shoot, ids),
        Answer::ItIsALeaf => {
            if let Some(unsure) = present_unsure(cycle) {
                set(&mut look, unsure.id, ShootKind::Leaf, Stage::Shoot);
            }
        }
        Answer::SecondStalk => add_shoot(&mut look, cycle, ShootKind::Scape, Stage::ScapeInSight, ids),
        Answer::Higher => advance(&mut look, cycle, Stage::ScapeStretching),
        Answer::SheathSplit => advance(&mut look, cycle, Stage::SpatheSplit),
        Answer::FirstFlower => advance(&mut look, cycle, Stage::FirstFlower),
        Answer::Fading => advance(&mut look, cycle, Stage::Fading),
        Answer::Over => advance(&mut look, cycle, Stage::Over),
    }
    if !look.shoots.is_empty() {
        look.neck = Neck::Shoots;
    }
    look
}

/// The statement of the last look written out again, or a clear neck when there was none.
pub fn before(cycle: &Cycle, walk: Option<Id>) -> Look {
    let shoots: Vec<ShootSeen> = cycle
        .looks
        .iter()
        .rev()
        .find(|seen| seen.look.neck != Neck::NotLookedAt)
        .map(|seen| seen.look.shoots.clone())
        .unwrap_or_default();
    // What a shoot is known to be by now is said again with it; its stage is the one last seen. A height is measured,
    // never said again.
    let shoots: Vec<ShootSeen> = shoots
        .into_iter()
        .map(|mut seen| {
            if let Some(known) = cycle.shoots.iter().find(|shoot| shoot.id == seen.id) {
                seen.kind = known.kind;
            }
            seen.height_mm = None;
            seen
        })
        .collect();
    let leaves = match cycle.looks.last().map(|seen| seen.look.leaves) {
        None => Leaves::NotLookedAt,
        Some(Leaves::None) => Leaves::None,
        Some(Leaves::NotLookedAt) => Leaves::NotLookedAt,
        Some(Leaves::Same | Leaves::More | Leaves::Count) => Leaves::Same,
    };
    Look {
        neck: if shoots.is_empty() { Neck::Clear } else { Neck::Shoots },
        leaves,
        n_leaves: None,
        shoots,
        way: Way::Each,
        walk,
    }
}

/// The scape that an answer about *the stalk* is about: the furthest that is not over, else the furthest.
pub fn leading_scape(cycle: &Cycle) -> Option<&Shoot> {
    let going = cycle.scapes().filter(|shoot| shoot.stage != Stage::Over);
    going.max_by_key(|shoot| (shoot.stage, std::cmp::Reverse(shoot.ordinal))).or_else(|| cycle.scapes().last())
}

/// The unsure shoot of the last look, the first one when there are several.
pub fn present_unsure(cycle: &Cycle) -> Option<&Shoot> {
    let last = cycle.looks.iter().rev().find(|seen| seen.look.neck != Neck::NotLookedAt)?;
    cycle.unproved().find(|shoot| last.look.shoots.iter().any(|seen| seen.id == shoot.id))
}

fn add_shoot(look: &mut Look, cycle: &Cycle, kind: ShootKind, stage: Stage, ids: &mut Ids) {
    let last = cycle.shoots.iter().map(|shoot| shoot.ordinal).max();
    let ordinal = last.unwrap_or(0).saturating_add(1);
    let id = ids.draw(Noun::Shoot);
    look.shoots.push(ShootSeen { id, ordinal, side: Side::NotSaid, kind, stage, height_mm: None });
}

fn set(look: &mut Look, shoot: Id, kind: ShootKind, stage: Stage) {
    for seen in look.shoots.iter_mut().filter(|seen| seen.id == shoot) {
        seen.kind = kind;
        seen.stage = stage;
    }
}

fn advance(look: &mut Look, cycle: &Cycle, stage: Stage) {
    let Some(leading) = leading_scape(cycle) else {
        return;
    };
    let (id, ordinal, side) = (leading.id, leading.ordinal, leading.side);
    match look.shoots.iter_mut().find(|seen| seen.id == id) {
        Some(seen) => {
            seen.kind = ShootKind::Scape;
            // "Higher" never takes a stage back that was seen before.
            seen.stage = seen.stage.max(stage);
            seen.height_mm = None;
        }
        None => look.shoots.push(ShootSeen { id, ordinal, side, kind: ShootKind::Scape, stage, height_mm: None }),
    }
}

/// What stands beside the answers: the days since the last look and what it showed.
pub fn last_seen(bulb: &Bulb, today: Date) -> Option<(i64, &Look)> {
    bulb.last_look().map(|seen| (seen.at.date().days_until(today), &seen.look))
}

/// The bulbs that a sheet of this day lists, each as it was at the end of the day, in bench order: those that stood in the
/// place and were still here. Answers and looks typed in late go by them.
pub fn sheet(state: &State, ledger: &Ledger, place: Id, day: Date) -> Vec<Bulb> {
    let stood = state.bulbs.values().filter(|bulb| {
        let place_on = bulb.place_on(day).or(bulb.place);
        place_on == Some(place)
    });
    let mut bulbs: Vec<Bulb> = stood.filter_map(|bulb| bulb.at_end_of(ledger, day)).filter(Bulb::is_here).collect();
    state.in_bench_order(place, &mut bulbs, |bulb| bulb);
    bulbs
}

/// Every shoot of a cycle as a look of this day may list it again: at the stage last seen by then, or, where it was first
/// seen later, at the first one of its kind. So a look written or put right late speaks of the shoots that are known.
pub fn shoots_by(cycle: &Cycle, day: Date) -> Vec<ShootSeen> {
    let by_then = |shoot: &Shoot| {
        let looks = cycle.looks.iter().rev();
        let mut seen = looks.filter(|seen| seen.at.date() <= day);
        seen.find_map(|seen| seen.look.shoots.iter().find(|seen| seen.id == shoot.id))
    };
    let again = |shoot: &Shoot| ShootSeen {
        id: shoot.id,
        ordinal: shoot.ordinal,
        side: shoot.side,
        kind: shoot.kind,
        stage: match (by_then(shoot), shoot.kind) {
            (Some(seen), _) => seen.stage,
            (None, ShootKind::Scape) => Stage::ScapeInSight,
            (None, _) => Stage::Shoot,
        },
        height_mm: None,
    };
    cycle.shoots.iter().map(again).collect()
}

/// The stage of these bulbs' furthest stalks, when all are known to be equally far; nothing where no stalk is known or
/// they differ.
pub fn stage_of_all(state: &State, bulbs: &[Id]) -> Option<Stage> {
    let mut stages = bulbs.iter().filter_map(|id| state.bulb(id)).map(|bulb| bulb.cycle().furthest());
    let first = stages.next()??;
    stages.all(|stage| stage == Some(first)).then_some(first)
}

/// How far a walk has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Bulbs in the place.
    pub n_bulbs: usize,
    /// Of them looked at today.
    pub n_done: usize,
    /// The bulb to look at now; nothing when all were.
    pub now: Option<Id>,
}

/// The course of a walk: bulbs in bench order that have no look of today and no look of this walk.
///
/// `given` are the looks of this walk, which count whatever day the clock has come to since. `keep` is a bulb that
/// stays for a second answer although it was looked at.
pub fn course(state: &State, place: Id, today: Date, given: &[EntryId], keep: Option<Id>) -> Course {
    let bulbs = state.bulbs_in(place);
    let mut open = bulbs.iter().filter(|bulb| !looked_at(bulb, today, given)).map(|bulb| bulb.id);
    let next = open.next();
    let n_open = usize::from(next.is_some()) + open.count();
    let kept = keep.filter(|id| bulbs.iter().any(|bulb| bulb.id == *id));
    Course { n_bulbs: bulbs.len(), n_done: bulbs.len() - n_open, now: kept.or(next) }
}

/// Whether a bulb has neither a look of today nor one of this walk yet.
pub fn is_open(state: &State, bulb: Id, today: Date, given: &[EntryId]) -> bool {
    state.bulb(&bulb).is_some_and(|bulb| !looked_at(bulb, today, given))
}

/// Whether any look of today stands, or one of these: a look of a later day, from a clock that was ahead or from
/// beyond the date line, does not hide today's. It may have begun a cycle of its own.
pub(super) fn looked_at(bulb: &Bulb, today: Date, given: &[EntryId]) -> bool {
    let mut looks = bulb.cycles.iter().rev().flat_map(|cycle| &cycle.looks);
    looks.any(|seen| seen.at.date() == today || given.contains(&seen.entry))
}

/// What the bulbs of a place showed today that they had not shown at the look before, in bench order.
pub fn news(state: &State, place: Id, today: Date) -> Vec<(Id, &Look)> {
    let bulbs = state.bulbs_in(place).into_iter();
    bulbs.filter_map(|bulb| Some((bulb.id, new_today(bulb.cycle(), today)?))).collect()
}

/// The last look of today, when it showed something new; a first look does when there was a shoot.
fn new_today(cycle: &Cycle, today: Date) -> Option<&Look> {
    let (last, before) = cycle.looks.split_last()?;
    let last = Some(&last.look).filter(|_| last.at.date() == today)?;
    let shoots = |look: &Look| -> Vec<_> {
        let shoots = look.shoots.iter();
        shoots.map(|seen| (seen.id, seen.kind, seen.stage)).collect()
    };
    let is_new = match before.iter().rfind(|seen| seen.at.date() < today) {
        Some(before) => shoots(&before.look) != shoots(last) || matches!(last.leaves, Leaves::More | Leaves::Count),
        None => !last.shoots.is_empty(),
    };
    is_new.then_some(last)
}

/// *I looked at all the others: nothing new*: one look a bulb for those of the place that are open in this walk, each
/// repeating what it last showed.
pub fn others(state: &State, place: Id, today: Date, given: &[EntryId]) -> Vec<(Id, Look)> {
    let open = state.bulbs_in(place).into_iter().filter(|bulb| !looked_at(bulb, today, given));
    open.map(|bulb| {
        let mut look = before(bulb.cycle(), Some(place));
        look.way = Way::Others;
        (bulb.id, look)
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    #[test]
    fn a_walk_ends_with_what_was_new() {
        let world = World::of(
            "0 mia place pl_1 Bench-2
             0 mia bulb b_1,b_2,b_3,b_4,b_5 lo_1 in=pl_1
             3 mia look b_1 clear
             3 mia look b_2 sh_2/scape/scape-in-sight
             3 mia look b_3 clear
             9 mia look b_1 clear
             9 mia look b_2 sh_2/scape/spathe-split
             9 mia look b_3 clear leaves=more
             9 mia look b_4 clear
             9 mia look b_5 sh_5/unknown/shoot",
        );
        let state = world.state();
        let new = |today: i64| -> Vec<Id> {
            let news = news(&state, id("pl_1"), day(today));
            news.into_iter().map(|(bulb, _)| bulb).collect()
        };
        assert_eq!(new(9), [id("b_2"), id("b_3"), id("b_5")]);
        // Of an earlier day nothing is new.
        assert!(new(10).is_empty());
    }
}
