//! The plan back from a date: what is typed and tapped, and the wish it comes to.

use std::collections::BTreeSet;

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Wanted, Window};
use bloomdue_core::ledger::body::RestWay;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::plan::{self, Now, WAYS, Wish};
use bloomdue_core::units;

use super::{Problem, day};
use crate::refusals;
use crate::{common, plan as say};
use bloomdue_core::error::Field;

/// What the fields hold. What is one of a few is a number: 0 for none of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub name: String,
    pub from: String,
    pub to: String,
    pub wanted: String,
    /// 0 fit to sell, 1 in flower.
    pub stage: u32,
    pub sure_permille: u32,
    /// 0 from the records, 1 a number.
    pub by_number: u32,
    pub number: String,
    pub ticked: BTreeSet<Id>,
    /// 0 in leaf, 1 at rest.
    pub resting: u32,
    pub since: String,
    /// From 1.
    pub treatment: u32,
    pub weeks: String,
    /// From 1, in the order of [`WAYS`].
    pub way: u32,
    /// From 1.
    pub lot: u32,
    pub batches: u32,
}

impl Typed {
    /// A wish as it stands, with its name and way of resting where it was saved.
    pub fn of(wish: &Wish, ticked: &[Id], name: String, way: Option<RestWay>) -> Self {
        let since = match wish.now {
            Now::RestingSince(since) => since.to_string(),
            Now::InLeaf => String::new(),
        };
        let way = way.and_then(|way| WAYS.iter().position(|known| known.way == way));
        Self {
            name,
            from: wish.window.from.to_string(),
            to: wish.window.to.to_string(),
            wanted: wish.wanted.to_string(),
            stage: u32::from(wish.stage == Wanted::InFlower),
            sure_permille: (wish.assurance * 1000.0).round() as u32,
            by_number: u32::from(ticked.is_empty()),
            number: wish.at_hand.to_string(),
            ticked: ticked.iter().copied().collect(),
            resting: u32::from(!since.is_empty()),
            since,
            treatment: wish.treatment.map_or(0, |at| at + 1),
            weeks: wish.rest_weeks.to_string(),
            way: way.map_or(0, |at| at as u32 + 1),
            lot: wish.lot.map_or(0, |at| at + 1),
            batches: wish.staggered,
        }
    }

    /// The days on which they are wanted.
    ///
    /// # Errors
    /// When one of them was not chosen.
    pub fn window(&self) -> Result<Window, Problem> {
        let of = |text: &str| day(Field::Window, text, say::choose_day());
        Ok(Window { from: of(&self.from)?, to: of(&self.to)? })
    }

    /// The published way of resting, where one was chosen.
    pub fn way(&self) -> Option<RestWay> {
        let at = self.way.checked_sub(1)?;
        WAYS.get(at as usize).map(|known| known.way)
    }

    /// The wish, or what is wrong with it, beside its field.
    ///
    /// # Errors
    /// What is not typed as it must be, and what makes no sense.
    pub fn wish(&self, today: Date) -> Result<Wish, Problem> {
        let at_hand = match self.by_number {
            0 => self.ticked.len() as u32,
            _ => whole(Field::AtHand, &self.number)?,
        };
        let wish = Wish {
            window: self.window()?,
            stage: match self.stage {
                0 => Wanted::FitToSell,
                _ => Wanted::InFlower,
            },
            wanted: whole(Field::Wanted, &self.wanted)?,
            assurance: f64::from(self.sure_permille) / 1000.0,
            at_hand,
            now: match self.resting {
                0 => Now::InLeaf,
                _ => Now::RestingSince(day(Field::Since, &self.since, say::choose_day())?),
            },
            rest_weeks: whole(Field::Rest, &self.weeks)?,
            treatment: self.treatment.checked_sub(1),
            lot: self.lot.checked_sub(1),
            staggered: self.batches,
        };
        plan::check(&wish, today).map_err(|why| Problem::at(why.field(), common::sentence(&refusals::plan(why))))?;
        Ok(wish)
    }
}

fn whole(field: Field, text: &str) -> Result<u32, Problem> {
    let n = units::whole(text).ok().and_then(|n| u32::try_from(n).ok());
    n.ok_or_else(|| Problem::at(field, say::digits()))
}
