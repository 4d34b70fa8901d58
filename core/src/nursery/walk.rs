//! The walk: which answers fit a bulb, and the look that each answer means, written out in full.

use super::{
    State,
    bulb::Bulb,
    cycle::{Cycle, Shoot},
};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{ActKind, Finding, Leaves, Look, Neck, ShootKind, ShootSeen, Side, Stage, Way},
        id::{EntryId, Id, Ids, Noun},
    },
    words::words,
};
use serde::{Deserialize, Serialize};
use strum::{IntoStaticStr, VariantArray};

words!(Answer, SheetEnd);

/// An answer to *what does it show today?*
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
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
    /// Taken in hand at rest: firm, and all else as before.
    #[strum(serialize = "firm")]
    Firm,
    /// Taken in hand at rest: soft spots.
    #[strum(serialize = "soft-spots")]
    SoftSpots,
    /// Taken in hand at rest: mould.
    #[strum(serialize = "mould")]
    Mould,
}

/// What may have befallen a bulb's stalk, or that none will come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, VariantArray)]
pub enum Mishap {
    /// The stalk broke.
    StalkBroken,
    /// The bud dried up.
    BudDried,
    /// No stalk will come any more in this cycle.
    Blind,
}

impl Mishap {
    /// Every member.
    pub const ALL: &'static [Self] = Self::VARIANTS;

    /// The act that says so, beside the look that shows it.
    pub const fn act(self) -> ActKind {
        match self {
            Self::StalkBroken => ActKind::ScapeBroken,
            Self::BudDried => ActKind::BudDried,
            Self::Blind => ActKind::CycleEnded,
        }
    }
}

/// The answers that follow from what the bulb last showed, most likely first.
///
/// # A bulb that was never looked at is offered "nothing yet", and no flower
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let state = State::fold(&ledger);
/// use bloomdue_core::nursery::walk::{Answer, answers};
/// for bulb in state.bulbs.values().filter(|bulb| bulb.cycle().looks.is_empty()) {
///     let offered = answers(bulb);
///     assert_eq!(offered.first(), Some(&Answer::NothingYet));
///     assert!(!offered.contains(&Answer::FirstFlower));
/// }
/// # Ok(())
/// # }
/// ```
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

/// An answer at its fixed place in a walk, where the thumb finds it at every bulb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Slot {
    /// The place, which is also its key: 1 the likeliest; 2 leaves; 3 the next step of the stalk; 4 another shoot; 5 and 6
    /// steps beyond it, or what is found on a bulb at rest.
    pub key: u8,
    /// The answer.
    pub answer: Answer,
}

/// The answers of a walk at their places, by key. A bulb in the dark is taken in hand, so that its answers are those of an
/// inspection.
pub fn pad(bulb: &Bulb) -> Vec<Slot> {
    let answers = answers(bulb);
    let mut steps = answers.iter().copied().filter(|answer| is_step(*answer));
    let find = |wanted: &[Answer]| answers.iter().copied().find(|answer| wanted.contains(answer));
    let leaves = find(&[Answer::MoreLeaves]);
    let shoot = find(&[Answer::SecondStalk, Answer::ShootNotSure, Answer::ItIsALeaf]);
    let in_the_dark = bulb.cycle().resting() && leading_scape(bulb.cycle()).is_none();
    let by_key = if in_the_dark {
        [Some(Answer::Firm), leaves, steps.next(), shoot, Some(Answer::SoftSpots), Some(Answer::Mould)]
    } else {
        [answers.first().copied(), leaves, steps.next(), shoot, steps.next(), steps.next()]
    };
    let slots = (1..).zip(by_key);
    slots.filter_map(|(key, answer)| answer.map(|answer| Slot { key, answer })).collect()
}

/// The same answers as they stand on the screen, from above: the likeliest lowest, and over it the next step of the stalk
/// under the right thumb.
pub fn from_above(mut pad: Vec<Slot>) -> Vec<Slot> {
    const KEYS: [u8; 6] = [5, 6, 2, 4, 3, 1];
    pad.sort_by_key(|slot| KEYS.iter().position(|key| *key == slot.key));
    pad
}

/// Whether an answer says how far the stalk is.
const fn is_step(answer: Answer) -> bool {
    matches!(
        answer,
        Answer::Stalk | Answer::Higher | Answer::SheathSplit | Answer::FirstFlower | Answer::Fading | Answer::Over
    )
}

/// What an answer says of the bulb in the hand, beside what its look shows.
pub const fn finding_of(answer: Answer) -> Option<Finding> {
    match answer {
        Answer::Firm => Some(Finding::Firm),
        Answer::SoftSpots => Some(Finding::SoftSpots),
        Answer::Mould => Some(Finding::Mould),
        _ => None,
    }
}

/// What may have befallen a bulb: its stalk while one stands and is not over; that none will come, while none was seen and
/// the cycle goes on in the light.
pub fn mishaps(bulb: &Bulb) -> Vec<Mishap> {
    let cycle = bulb.cycle();
    if cycle.scapes().next().is_none() {
        let waits = cycle.ended.is_none() && !cycle.resting();
        return if waits { vec![Mishap::Blind] } else { Vec::new() };
    }
    match leading_scape(cycle) {
        Some(scape) if scape.stage < Stage::FirstFlower => vec![Mishap::StalkBroken, Mishap::BudDried],
        Some(scape) if scape.stage < Stage::Over => vec![Mishap::StalkBroken],
        _ => Vec::new(),
    }
}

/// The look that goes with a mishap: without the stalk that broke, with nothing but known leaves at a blind bulb's neck.
pub fn look_after(mishap: Mishap, bulb: &Bulb, walk: Option<Id>) -> Look {
    let cycle = bulb.cycle();
    let mut look = before(cycle, walk);
    match mishap {
        Mishap::StalkBroken => {
            let broken = leading_scape(cycle).map(|scape| scape.id);
            look.shoots.retain(|seen| Some(seen.id) != broken);
        }
        Mishap::BudDried => {}
        Mishap::Blind => look.shoots.retain(|seen| seen.kind == ShootKind::Leaf),
    }
    look.neck = if look.shoots.is_empty() { Neck::Clear } else { Neck::Shoots };
    look
}

/// The look that an answer means. `Same` repeats the whole statement of the look before.
///
/// # "Same" repeats what the look before showed, whole
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let state = State::fold(&ledger);
/// use bloomdue_core::{
///     ledger::id::Ids,
///     nursery::walk::{Answer, look_for},
/// };
/// for bulb in state.bulbs.values() {
///     let Some(before) = bulb.cycle().last_neck_look() else { continue };
///     let look = look_for(Answer::Same, bulb, None, &mut Ids::new([1; 32]));
///     let seen = |look: &bloomdue_core::ledger::body::Look| look.shoots.iter().map(|shoot| shoot.stage).collect::<Vec<_>>();
///     assert_eq!(seen(&look), seen(&before.look));
/// }
/// # Ok(())
/// # }
/// ```
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
        Answer::Firm | Answer::SoftSpots | Answer::Mould => {
            if cycle.looks.is_empty() {
                look.leaves = Leaves::None;
            }
        }
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

/// The scape that an answer about *the stalk* is about: the furthest that is not over, else the furthest. One that broke off
/// is none any more.
pub fn leading_scape(cycle: &Cycle) -> Option<&Shoot> {
    let broke = cycle.last(ActKind::ScapeBroken).is_some();
    let last = cycle.last_neck_look();
    let stands =
        |shoot: &&Shoot| !broke || last.is_some_and(|seen| seen.look.shoots.iter().any(|listed| listed.id == shoot.id));
    let going = cycle.scapes().filter(stands).filter(|shoot| shoot.stage != Stage::Over);
    going
        .max_by_key(|shoot| (shoot.stage, std::cmp::Reverse(shoot.ordinal)))
        .or_else(|| cycle.scapes().filter(stands).last())
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

/// What ends for a bulb and has a box of its own on a walk sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum SheetEnd {
    /// No stalk will come any more in this cycle.
    #[strum(serialize = "blind")]
    Blind,
    /// It died.
    #[strum(serialize = "died")]
    Died,
    /// It was not found.
    #[strum(serialize = "missing")]
    Missing,
}

/// The box that was marked in a row of a walk sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Marked {
    /// What it showed.
    Answer(Answer),
    /// What ended.
    End(SheetEnd),
}

/// The boxes that fit a bulb on the day of a sheet, the likeliest first.
pub fn boxes(bulb: &Bulb) -> Vec<Marked> {
    let ends =
        SheetEnd::ALL.iter().copied().filter(|end| *end != SheetEnd::Blind || mishaps(bulb).contains(&Mishap::Blind));
    answers(bulb).into_iter().map(Marked::Answer).chain(ends.map(Marked::End)).collect()
}

/// Columns of a sheet that is typed in as a table: boxes of which a bulb never has two stand in one.
pub const COLUMNS: [&[Marked]; 12] = [
    &[Marked::Answer(Answer::Same), Marked::Answer(Answer::NothingYet)],
    &[Marked::Answer(Answer::MoreLeaves)],
    &[Marked::Answer(Answer::ShootNotSure), Marked::Answer(Answer::ItIsALeaf)],
    &[Marked::Answer(Answer::Stalk), Marked::Answer(Answer::SecondStalk)],
    &[Marked::Answer(Answer::Higher)],
    &[Marked::Answer(Answer::SheathSplit)],
    &[Marked::Answer(Answer::FirstFlower)],
    &[Marked::Answer(Answer::Fading)],
    &[Marked::Answer(Answer::Over)],
    &[Marked::End(SheetEnd::Blind)],
    &[Marked::End(SheetEnd::Died)],
    &[Marked::End(SheetEnd::Missing)],
];

/// The box that each column has for one bulb.
pub type Row = [Option<Marked>; COLUMNS.len()];

/// The row of a bulb, as it was on the day of the sheet.
pub fn row(bulb: &Bulb) -> Row {
    let boxes = boxes(bulb);
    COLUMNS.map(|column| boxes.iter().copied().find(|marked| column.contains(marked)))
}

/// The box of a row that *all others: same as before* marks; none for a bulb that was blind by then.
pub fn same_box(bulb: &Bulb) -> Option<Marked> {
    answers(bulb).first().filter(|_| !bulb.is_blind()).copied().map(Marked::Answer)
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

/// Whether all of these bulbs are known to be fit to sell: marked so in this cycle, or with a flower open, which comes after
/// it.
pub fn all_fit(state: &State, bulbs: &[Id]) -> bool {
    let mut cycles = bulbs.iter().filter_map(|id| state.bulb(id)).map(Bulb::cycle);
    cycles.all(|cycle| cycle.fit.is_some() || cycle.furthest() >= Some(Stage::FirstFlower))
}

/// Whether a walk still asks for a bulb: it has neither a look of today nor one of this walk yet, and is not blind.
pub fn is_open(state: &State, bulb: Id, today: Date, given: &[EntryId]) -> bool {
    state.bulb(&bulb).is_some_and(|bulb| is_asked(bulb, today, given))
}

/// The same of a bulb at hand.
pub(super) fn is_asked(bulb: &Bulb, today: Date, given: &[EntryId]) -> bool {
    !looked_at(bulb, today, given) && !bulb.is_blind()
}

/// Whether a walk of today asks or asked for a bulb: one that was blind before is asked for no more, but may have been
/// looked at all the same.
pub fn was_asked(bulb: &Bulb, today: Date) -> bool {
    looked_at(bulb, today, &[]) || !bulb.is_blind()
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

/// The last look of today, when it showed something new; a first look does when there was a shoot, or when leaves had
/// come.
fn new_today(cycle: &Cycle, today: Date) -> Option<&Look> {
    let (last, before) = cycle.looks.split_last()?;
    let last = Some(&last.look).filter(|_| last.at.date() == today)?;
    let shoots = |look: &Look| -> Vec<_> {
        let shoots = look.shoots.iter();
        shoots.map(|seen| (seen.id, seen.kind, seen.stage)).collect()
    };
    let is_new = match before.iter().rfind(|seen| seen.at.date() < today) {
        Some(before) => shoots(&before.look) != shoots(last) || matches!(last.leaves, Leaves::More | Leaves::Count),
        None => !last.shoots.is_empty() || last.leaves == Leaves::More || last.n_leaves.is_some_and(|n| n > 0),
    };
    is_new.then_some(last)
}

/// *I looked at all the others: nothing new*: one look a bulb for those of the place that are open in this walk, each
/// repeating what it last showed.
pub fn others(state: &State, place: Id, today: Date, given: &[EntryId]) -> Vec<(Id, Look)> {
    let open = state.bulbs_in(place).into_iter().filter(|bulb| is_asked(bulb, today, given));
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
    fn leaves_at_a_first_look_are_new() {
        let world = World::of(
            "0 mia place pl_1 Bench-2
             0 mia bulb b_1,b_2,b_3 lo_1 in=pl_1
             9 mia look b_1 clear leaves=more
             9 mia look b_2 clear leaves=none
             9 mia look b_3 clear",
        );
        let state = world.state();
        let new: Vec<Id> = news(&state, id("pl_1"), day(9)).into_iter().map(|(bulb, _)| bulb).collect();
        assert_eq!(new, [id("b_1")]);
    }

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

    #[test]
    fn every_box_of_a_bulb_has_its_column() {
        let world = World::of(
            "0 mia place pl_1 Bench-2
             0 mia bulb b_1,b_2,b_3,b_4,b_5,b_6,b_7 lo_1 in=pl_1
             3 mia look b_2 clear
             3 mia look b_3 sh_3/unknown/shoot
             3 mia look b_4 sh_4/scape/scape-in-sight
             3 mia look b_5 sh_5/scape/spathe-split
             3 mia look b_6 sh_6/scape/first-flower-open
             3 mia look b_7 sh_7/scape/over",
        );
        let state = world.state();
        let mut used = 0;
        for bulb in state.bulbs_in(id("pl_1")) {
            let shown: Vec<Marked> = row(bulb).into_iter().flatten().collect();
            let boxes = boxes(bulb);
            assert_eq!(shown.len(), boxes.len(), "{}", bulb.label());
            assert!(boxes.iter().all(|marked| shown.contains(marked)), "{}", bulb.label());
            assert!(row(bulb)[0].is_some());
            used |= row(bulb)
                .iter()
                .enumerate()
                .filter(|(_, marked)| marked.is_some())
                .fold(0, |all, (at, _)| all | 1 << at);
        }
        assert_eq!(used, (1 << COLUMNS.len()) - 1, "a column that no bulb has a box for");
    }
}
