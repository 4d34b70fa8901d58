//! What came out cultivar by cultivar: counts for reading. No test is made of them, for no rule declares one.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Counting, Counts, GroupStanding, UnitStanding};
use crate::nursery::State;

/// What one cultivar did.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OfCultivar {
    /// Its name; empty for units whose cultivar is not known, and for containers of several.
    pub cultivar: String,
    /// Counts by group, in the order of the groups.
    pub groups: Vec<Counts>,
}

/// The counts of every cultivar by name, those without one last; none where all units have the same.
pub(super) fn by_cultivar(state: &State, groups: &[GroupStanding], counting: Counting) -> Vec<OfCultivar> {
    let mut found: BTreeMap<&str, Vec<Counts>> = BTreeMap::new();
    for (at, group) in groups.iter().enumerate() {
        for unit in &group.units {
            let of = found.entry(cultivar(state, unit)).or_insert_with(|| vec![Counts::default(); groups.len()]);
            of[at] = of[at].plus(counting.of_unit(unit));
        }
    }
    if found.len() < 2 {
        return Vec::new();
    }
    let unnamed = found.remove("").map(|counts| ("", counts));
    let all = found.into_iter().chain(unnamed);
    all.map(|(name, groups)| OfCultivar { cultivar: name.to_owned(), groups }).collect()
}

/// The cultivar that all bulbs of a unit have.
fn cultivar<'a>(state: &'a State, unit: &UnitStanding) -> &'a str {
    let mut all = unit.bulbs.iter().map(|bulb| state.cultivar_of(state.bulb(bulb)?));
    let first = all.next().flatten().unwrap_or_default();
    if all.all(|other| other == Some(first)) { first } else { "" }
}
