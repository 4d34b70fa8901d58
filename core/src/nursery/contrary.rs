//! Records that cannot all be true: of what became of a bulb, of what its looks showed, or of what a shoot was.
//!
//! None is chosen silently. They stand beside each other until someone says which holds; that writes what holds once
//! more and takes the others back, so that two phones that settle it differently disagree again. What a shoot was is
//! said by a proof: the looks stay, since each showed the shoot, whatever it was taken for.

use super::{
    bulb::{Bulb, End},
    cycle::Cycle,
};
use crate::ledger::id::{EntryId, Id};

/// Records of one bulb that exclude each other.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Contrary {
    /// The bulb.
    pub bulb: Id,
    /// What they are about.
    pub matter: Matter,
    /// Records that agree with one another and contradict all others, each with at least one, in order; of a shoot those
    /// that say a scape, then those that say a leaf.
    pub sides: Vec<Vec<EntryId>>,
}

/// What contrary records are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// What became of it.
    End,
    /// How far it was.
    Looks,
    /// Whether this shoot is a scape or a leaf.
    Shoot(Id),
}

/// What is contrary about a bulb, looks of every cycle included.
pub(super) fn of(bulb: &Bulb) -> Vec<Contrary> {
    let contrary = |matter, sides| Contrary { bulb: bulb.id, matter, sides };
    let mut all = Vec::new();
    if bulb.end_is_disputed() {
        let mut sides: Vec<(&End, Vec<EntryId>)> = Vec::new();
        for end in &bulb.ends {
            match sides.iter_mut().find(|(known, _)| known.says_as(end)) {
                Some((_, side)) => side.push(end.entry),
                None => sides.push((end, vec![end.entry])),
            }
        }
        let sides = sides.into_iter().map(|(_, side)| side);
        all.push(contrary(Matter::End, sides.collect()));
    }
    let looks = bulb.cycles.iter().filter_map(|cycle| cycle.contrary_looks());
    all.extend(looks.map(|sides| contrary(Matter::Looks, sides.into())));
    let shoots = bulb.cycles.iter().flat_map(Cycle::contrary_shoots);
    all.extend(shoots.map(|(shoot, sides)| contrary(Matter::Shoot(shoot), sides.into())));
    all
}
