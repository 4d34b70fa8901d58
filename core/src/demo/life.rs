//! What one bulb of the script shows on a day, and the look that somebody took of it.

use super::script::Life;
use crate::{
    ledger::{
        body::{Leaves, Look, Neck, ShootKind, Stage, Way},
        id::{Id, Ids},
    },
    nursery::{
        Bulb,
        walk::{Answer, leading_scape, look_for, present_unsure},
    },
};

/// Days from one stage to the next, around the first open flower; 18 to 28 days lie between sight and flower.
const SPLIT_BEFORE_FLOWER: i64 = 5;
const STRETCHES_AFTER: i64 = 4;
const FADES_AFTER: i64 = 8;
const OVER_AFTER: i64 = 12;

impl Life {
    /// How many leaves show.
    pub(super) fn n_leaves(&self, day: i64) -> usize {
        self.leaves.iter().filter(|on| **on <= day).count()
    }

    /// The stage of its stalk, once one is known to be such.
    pub(super) fn stage(&self, day: i64) -> Option<Stage> {
        let stalk = self.stalk.filter(|stalk| *stalk <= day)?;
        let flower = self.flower.unwrap_or(i64::MAX - OVER_AFTER);
        Some(if day >= flower + OVER_AFTER {
            Stage::Over
        } else if day >= flower + FADES_AFTER {
            Stage::Fading
        } else if day >= flower {
            Stage::FirstFlower
        } else if day >= flower - SPLIT_BEFORE_FLOWER {
            Stage::SpatheSplit
        } else if day >= stalk + STRETCHES_AFTER {
            Stage::ScapeStretching
        } else {
            Stage::ScapeInSight
        })
    }

    /// Height of its shoot or stalk, in mm.
    pub(super) fn height_mm(&self, day: i64) -> u32 {
        let slow = self.unsure.map_or(0, |since| 8 + 4 * (day - since));
        let quick = self.stalk.map_or(0, |since| 20 + 28 * (day - since));
        let mm = if self.stalk.is_some_and(|since| since <= day) { slow.max(0) + quick } else { slow };
        mm.clamp(4, 520) as u32
    }

    /// The look taken on this day. `n_before` leaves had been seen by then.
    pub(super) fn look(&self, day: i64, n_before: usize, bulb: &Bulb, place: Option<Id>, ids: &mut Ids) -> Look {
        let cycle = bulb.cycle();
        let stage = self.stage(day);
        let n_leaves = self.n_leaves(day);
        let unsure = present_unsure(cycle).map(|shoot| shoot.id);
        let is_leaf = self.leaf.is_some_and(|on| on <= day);
        let is_unsure = self.unsure.is_some_and(|on| on <= day) && !is_leaf;
        let answer = if stage.is_some() && leading_scape(cycle).is_none() {
            Answer::Stalk
        } else if unsure.is_some() && is_leaf {
            Answer::ItIsALeaf
        } else if is_unsure && stage.is_none() && unsure.is_none() {
            Answer::ShootNotSure
        } else if n_leaves > n_before {
            Answer::MoreLeaves
        } else if cycle.looks.is_empty() {
            Answer::NothingYet
        } else {
            Answer::Same
        };
        let mut look = look_for(answer, bulb, place, ids);
        if n_leaves > n_before {
            look.leaves = Leaves::More;
        } else if n_leaves == 0 {
            look.leaves = Leaves::None;
        }
        let mut news = answer != Answer::Same;
        for seen in &mut look.shoots {
            match (seen.kind, stage) {
                (ShootKind::Scape, Some(stage)) => {
                    news |= seen.stage != stage;
                    seen.stage = stage;
                    seen.height_mm = (stage < Stage::Over).then(|| self.height_mm(day));
                }
                (ShootKind::Unknown, _) => seen.height_mm = Some(self.height_mm(day)),
                _ => seen.height_mm = None,
            }
        }
        if !news && look.neck == Neck::Clear {
            look.way = Way::Others;
        }
        look
    }
}
