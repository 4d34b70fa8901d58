//! How past calls turned out: n right of n proved.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    ledger::{
        Ledger,
        body::{Body, ShootKind},
        entry::Entry,
        id::Id,
    },
    nursery::State,
};

/// Counts over the first call of every shoot, the one that was made with least to go by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PastCalls {
    /// Shoots called.
    pub n_called: usize,
    /// Of these, shoots that were proved a stalk or a leaf since, by a proof or by looks that agree.
    pub n_proved: usize,
    /// Of the proved, how many the call had leaned to.
    pub n_right: usize,
    /// Of the proved, how many the call had left even.
    pub n_even: usize,
}

impl PastCalls {
    /// Calls that leaned to the wrong side.
    pub const fn n_wrong(&self) -> usize {
        self.n_proved - self.n_right - self.n_even
    }
}

/// Counts the calls of a ledger. A call taken back does not count.
pub fn past_calls(ledger: &Ledger, state: &State) -> PastCalls {
    let mut first: BTreeMap<Id, (_, u32)> = BTreeMap::new();
    let mut decisions = ledger.decisions();
    for entry in ledger.arrived() {
        let Body::Call(call) = &entry.body else {
            continue;
        };
        if !decisions.is_in_force_for_any(entry) {
            continue;
        }
        let said = (entry.order(), call.scape_permille);
        let known = first.entry(call.shoot).or_insert(said);
        if said.0 < known.0 {
            *known = said;
        }
    }
    let mut counts = PastCalls { n_called: first.len(), ..PastCalls::default() };
    let cycles = state.bulbs.values().flat_map(|bulb| &bulb.cycles);
    for shoot in cycles.flat_map(|cycle| &cycle.shoots) {
        let Some((_, permille)) = first.get(&shoot.id) else {
            continue;
        };
        let right = match shoot.kind {
            ShootKind::Unknown => continue,
            ShootKind::Scape => *permille > 500,
            ShootKind::Leaf => *permille < 500,
        };
        counts.n_proved += 1;
        counts.n_right += usize::from(right);
        counts.n_even += usize::from(*permille == 500);
    }
    counts
}

/// The proofs of a shoot of a bulb that stand, under whichever of the bulb's ids, in order of when they happened.
pub fn proofs_of<'a>(ledger: &'a Ledger, ids: &[Id], shoot: Id) -> Vec<&'a Arc<Entry>> {
    let mut proofs = ledger.in_force_of_all(ids);
    proofs.retain(|entry| matches!(&entry.body, Body::Proof(proof) if proof.shoot == shoot));
    proofs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        calendar::Happened,
        ledger::{
            body::{BulbBody, Call, Leaves, Look, Neck, Proof, ShootSeen, Side, Stage, Way},
            entry::Draft,
            id::{Ids, Noun},
            testing::Writer,
        },
    };

    /// Writes entries about one bulb, a day apart.
    struct Story {
        ledger: Ledger,
        writer: Writer,
        ids: Ids,
        bulb: Id,
        day: i64,
    }

    impl Story {
        fn begin() -> Self {
            let writer = Writer::new(1);
            let mut ids = Ids::new([9; 32]);
            let bulb = ids.draw(Noun::Bulb);
            let lot = ids.draw(Noun::Lot);
            let ledger = Ledger::new(writer.ledger());
            let mut story = Self { ledger, writer, ids, bulb, day: 0 };
            story.write(Body::Bulb(BulbBody { lot }));
            story
        }

        fn write(&mut self, body: Body) -> Arc<Entry> {
            let start: crate::calendar::Date = "2027-11-01".parse().unwrap();
            self.day += 1;
            let on = Happened::on(start.add_days(self.day).unwrap());
            let entry = self.writer.write(Draft::new(vec![self.bulb], on, body), 1_800_000_000_000);
            self.ledger.insert(entry.clone());
            entry
        }

        fn call(&mut self, shoot: Id, scape_permille: u32) -> Arc<Entry> {
            self.write(Body::Call(Call {
                shoot,
                answers: Vec::new(),
                scape_permille,
                method: crate::call::METHOD.to_owned(),
                again: "2027-12-01".parse().unwrap(),
            }))
        }

        fn look(&mut self, id: Id, kind: ShootKind, stage: Stage) {
            let seen = ShootSeen { id, ordinal: 1, side: Side::NotSaid, kind, stage, height_mm: None };
            self.write(Body::Look(Look {
                neck: Neck::Shoots,
                leaves: Leaves::NotLookedAt,
                n_leaves: None,
                shoots: vec![seen],
                way: Way::Each,
                walk: None,
            }));
        }

        fn past(&self) -> PastCalls {
            past_calls(&self.ledger, &State::fold(&self.ledger))
        }
    }

    #[test]
    fn the_first_call_counts_and_a_proof_or_a_later_stage_decides() {
        let mut story = Story::begin();
        let shoots: Vec<Id> = (0..4).map(|_| story.ids.draw(Noun::Shoot)).collect();
        for shoot in &shoots {
            story.look(*shoot, ShootKind::Unknown, Stage::Shoot);
        }
        story.call(shoots[0], 700);
        story.call(shoots[0], 300);
        story.call(shoots[1], 650);
        story.call(shoots[2], 500);
        story.call(shoots[3], 800);
        let open = PastCalls { n_called: 4, ..PastCalls::default() };
        assert_eq!(story.past(), open);
        story.look(shoots[0], ShootKind::Unknown, Stage::SpatheSplit);
        let leaf = ShootKind::Leaf;
        story.write(Body::Proof(Proof { shoot: shoots[1], kind: leaf }));
        story.look(shoots[2], leaf, Stage::Shoot);
        let past = story.past();
        let expected = PastCalls { n_called: 4, n_proved: 3, n_right: 1, n_even: 1 };
        assert_eq!((past, past.n_wrong()), (expected, 1));
    }

    #[test]
    fn a_call_taken_back_does_not_count() {
        let mut story = Story::begin();
        let shoot = story.ids.draw(Noun::Shoot);
        story.look(shoot, ShootKind::Scape, Stage::ScapeInSight);
        let call = story.call(shoot, 700);
        assert_eq!(story.past().n_right, 1);
        let mut draft =
            Draft::new(vec![story.bulb], call.envelope.happened.clone(), Body::TakeBack(Default::default()));
        draft.supersedes = vec![call.id];
        let back = story.writer.write(draft, 1_800_000_000_000);
        story.ledger.insert(back);
        assert_eq!(story.past(), PastCalls::default());
    }
}
