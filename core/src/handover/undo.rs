//! Taking back what a file brought, by ordinary take-backs, and taking those back again.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::ledger::{
    Ledger, TAKE_BACK,
    entry::Entry,
    id::{EntryId, Id},
};

/// What can be done with entries that a file brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Undoing {
    /// How many of them are here.
    pub n_brought: usize,
    /// Those in force still: taking them back undoes the file.
    pub in_force: Vec<EntryId>,
    /// Take-backs of nothing but what the file brought, made here since and in force: taking them back brings it again.
    pub taken_back_by: Vec<EntryId>,
}

/// What can be undone of the entries that a file brought. `device` is this installation.
pub fn undoing(ledger: &Ledger, brought: &[Arc<Entry>], device: Id) -> Undoing {
    let ids: BTreeSet<EntryId> = brought.iter().map(|entry| entry.id).collect();
    let mut decisions = ledger.decisions();
    let mut in_force = |entry: &Entry| decisions.is_in_force_for_any(entry);
    let here: Vec<&Arc<Entry>> = brought.iter().filter_map(|entry| ledger.get(entry.id)).collect();
    let undone_by = ledger.arrived().iter().filter(|entry| {
        let envelope = &entry.envelope;
        envelope.kind == TAKE_BACK
            && envelope.device == device
            && !envelope.supersedes.is_empty()
            && envelope.supersedes.iter().all(|id| ids.contains(id))
            && !ids.contains(&entry.id)
            && in_force(entry)
    });
    let taken_back_by = undone_by.map(|entry| entry.id).collect();
    let n_brought = here.len();
    let here = here.into_iter().filter(|entry| in_force(entry));
    Undoing { n_brought, in_force: here.map(|entry| entry.id).collect(), taken_back_by }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::id::Ids,
        limits,
        record::{Command, Moment, record},
        testing::{World, day},
    };

    /// Records a take-back of these on this phone, as the app does.
    fn take_back(world: &mut World, entries: Vec<EntryId>) -> usize {
        let command = Command::TakeBack { entries, why: None };
        let state = world.state();
        let mut moment = Moment { now: Happened::on(day(20)), ids: Ids::new([9; 32]) };
        let drafts = record(command, &world.ledger, &state, &mut moment).unwrap();
        for draft in &drafts {
            assert!(limits::ABOUT.contains(draft.about.len() as i64));
        }
        let n = drafts.len();
        world.save("mia", drafts);
        n
    }

    #[test]
    fn a_whole_file_is_taken_back_and_brought_again() {
        let mut world = World::of(
            "0 mia place pl_1 Bench-2
             0 mia lot lo_1 Red
             0 mia bulb b_1 lo_1 in=pl_1
             look: 5 mia look b_1 clear",
        );
        let (before, n) = (world.state(), world.ledger.len());
        world.add(
            "0 ben lot lo_2 White
             0 ben bulb b_2 lo_2 in=pl_1
             6 ben died b_1
             6 ben take-back b_1 ~look",
        );
        // More bulbs than one entry may name.
        for at in 0..900 {
            world.add(&format!("7 ben bulb b_x{at} lo_2"));
        }
        let (with, brought) = (world.state(), world.ledger.arrived()[n..].to_vec());
        assert_ne!(with, before);
        let device = world.ledger.arrived()[0].envelope.device;
        let undo = undoing(&world.ledger, &brought, device);
        assert_eq!(undo.in_force.len(), brought.len());
        assert!(undo.taken_back_by.is_empty());
        let n_drafts = take_back(&mut world, undo.in_force);
        assert!(n_drafts > 2, "{n_drafts}");
        assert_eq!(world.state(), before);
        let undone = undoing(&world.ledger, &brought, device);
        assert!(undone.in_force.is_empty());
        assert_eq!(undone.n_brought, brought.len());
        assert_eq!(undone.taken_back_by.len(), n_drafts);
        take_back(&mut world, undone.taken_back_by);
        assert_eq!(world.state(), with);
        let again = undoing(&world.ledger, &brought, device);
        assert_eq!(again.in_force.len(), brought.len());
        assert!(again.taken_back_by.is_empty());
    }
}
