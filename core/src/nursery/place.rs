//! A place as lists show it.

use super::State;
use crate::counted::Counted;
use crate::{
    calendar::Date,
    ledger::{body::PlaceKind, id::Id},
};

/// One place in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceRow {
    /// The place.
    pub id: Id,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: PlaceKind,
    /// Share of the light that its covers block together, in per cent: one minus the product of what each lets through.
    pub blocks_percent: u32,
    /// Bulbs that stand there.
    pub n_bulbs: usize,
    /// The oldest last look among them: the day since which all were looked at. Nothing while one never was.
    pub last_walk: Option<Date>,
}

impl State {
    /// One place; nothing when it is not known.
    pub fn place_row(&self, id: Id) -> Option<PlaceRow> {
        let body = self.places.get(&id)?.body.shown()?;
        let bulbs = self.bulbs_in(id);
        let looks: Option<Vec<Date>> = bulbs.iter().map(|b| b.last_look().map(|seen| seen.at.date())).collect();
        let through = body
            .covers
            .iter()
            .fold(10_000_u32, |through, cover| through * 100_u32.saturating_sub(cover.blocks_percent) / 100);
        Some(PlaceRow {
            id,
            name: body.name.clone(),
            kind: body.kind,
            blocks_percent: (10_000 - through + 50) / 100,
            n_bulbs: bulbs.len(),
            last_walk: looks.and_then(|looks| looks.into_iter().min()),
        })
    }

    /// Every place in use, by name.
    pub fn place_rows(&self) -> Vec<PlaceRow> {
        let used = self.places.iter().filter(|(_, place)| place.body.shown().is_some_and(|body| !body.given_up));
        let mut rows: Vec<PlaceRow> = used.filter_map(|(id, _)| self.place_row(*id)).collect();
        rows.sort_by(|a, b| {
            let key = |row: &PlaceRow| (Counted(row.name.to_lowercase()), row.id);
            key(a).cmp(&key(b))
        });
        rows
    }
}
