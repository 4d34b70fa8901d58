//! How past calls turned out: what was called, what it was, and how well those who called can tell the two apart.
//!
//! A call is proved by itself: by a later look that shows what the shoot is, or by a proof that someone recorded. What
//! was called after it was known teaches nothing and is not counted.

use std::{collections::BTreeMap, sync::Arc};

use super::{
    characters::{Character, Choice},
    key::{Answered, from_record, lean},
    likelihood::Proved,
    situation::height_mm_on,
};
use crate::{
    calendar::Date,
    evidence::{
        Interval, Level, Share, clopper_pearson,
        forecast_scores::{Bin, Scored},
        kappa::{Kappa, Weights, kappa},
    },
    ledger::{
        Ledger,
        body::{Body, ShootKind, Stage},
        entry::Entry,
        id::Id,
    },
    nursery::{Bulb, Cycle, Shoot, State},
};

/// One call as it was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Called {
    /// The shoot.
    pub shoot: Id,
    /// Its bulb.
    pub bulb: Id,
    /// Who called it.
    pub who: Id,
    /// When.
    pub on: Date,
    /// The chance that was said, in permille.
    pub stalk_permille: u32,
    /// The answers that it rested on, as far as this version knows them.
    pub answers: Vec<Answered>,
    /// What the shoot was; [`ShootKind::Unknown`] while nobody knows.
    pub kind: ShootKind,
    /// The day from which that was known.
    pub known_on: Option<Date>,
}

impl Called {
    /// Whether it leaned to a stalk, or to a leaf; nothing for neither.
    pub fn side(&self) -> Option<bool> {
        lean(self.stalk_permille).side()
    }

    /// Whether it was a stalk; nothing while nobody knows.
    pub fn was_stalk(&self) -> Option<bool> {
        match self.kind {
            ShootKind::Scape => Some(true),
            ShootKind::Leaf => Some(false),
            ShootKind::Unknown => None,
        }
    }
}

/// All calls of a nursery with what came of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calls {
    /// In order of when they were made.
    made: Vec<Called>,
    /// What the key learns from each, in the same order.
    proved: Vec<Proved>,
}

impl Calls {
    /// The calls in a ledger that stand. The order in which files arrived does not matter.
    pub fn of(ledger: &Ledger, state: &State) -> Self {
        let shoots: BTreeMap<Id, (&Bulb, &Cycle, &Shoot)> = state
            .bulbs
            .values()
            .flat_map(|bulb| bulb.cycles.iter().map(move |cycle| (bulb, cycle)))
            .flat_map(|(bulb, cycle)| cycle.shoots.iter().map(move |shoot| (shoot.id, (bulb, cycle, shoot))))
            .collect();
        let mut decisions = ledger.decisions();
        let mut entries: Vec<&Arc<Entry>> =
            ledger.arrived().iter().filter(|e| matches!(e.body, Body::Call(_))).collect();
        entries.retain(|entry| decisions.is_in_force_for_any(entry));
        entries.sort_by_key(|entry| entry.order());
        let mut calls = Self::default();
        for entry in entries {
            let Body::Call(call) = &entry.body else {
                continue;
            };
            let Some((bulb, cycle, shoot)) = shoots.get(&call.shoot) else {
                continue;
            };
            let on = entry.envelope.happened.date();
            let known_on = known_on(ledger, cycle, shoot);
            if known_on.is_some_and(|known| known < on) {
                continue;
            }
            let answers = from_record(&call.answers);
            calls.proved.push(Proved {
                shoot: shoot.id,
                who: entry.envelope.who,
                kind: shoot.kind,
                height_mm: height_mm_on(cycle, shoot.id, on),
                answers: answers.clone(),
            });
            calls.made.push(Called {
                shoot: shoot.id,
                bulb: bulb.id,
                who: entry.envelope.who,
                on,
                stalk_permille: call.scape_permille,
                answers,
                kind: shoot.kind,
                known_on,
            });
        }
        calls
    }

    /// The first call of every shoot, by anyone or by one person: the one that was made with least to go by.
    pub fn first(&self, who: Option<Id>) -> Vec<&Called> {
        let mut seen = std::collections::BTreeSet::new();
        let of = |call: &&Called| who.is_none_or(|who| call.who == who) && seen.insert(call.shoot);
        self.made.iter().filter(of).collect()
    }

    /// Who called, in the order of their ids.
    pub fn observers(&self) -> Vec<Id> {
        let mut all: Vec<Id> = self.made.iter().map(|call| call.who).collect();
        all.sort();
        all.dedup();
        all
    }

    /// What the key learns from: of every proved shoot the first answer to each question, by anyone or by one person.
    pub fn proved(&self, who: Option<Id>) -> Vec<Proved> {
        let mut shoots: BTreeMap<Id, Proved> = BTreeMap::new();
        let of = |one: &&Proved| one.kind != ShootKind::Unknown && who.is_none_or(|who| one.who == who);
        for one in self.proved.iter().filter(of) {
            let known = shoots.entry(one.shoot).or_insert_with(|| Proved { answers: Vec::new(), ..one.clone() });
            for answered in &one.answers {
                if !known.answers.iter().any(|(character, _)| *character == answered.0) {
                    known.answers.push(*answered);
                }
            }
        }
        shoots.into_values().collect()
    }

    /// How first calls turned out.
    pub fn accuracy(&self, who: Option<Id>) -> Accuracy {
        let first = self.first(who);
        let mut counts = Accuracy { n_called: first.len(), ..Accuracy::default() };
        for call in first {
            let Some(was_stalk) = call.was_stalk() else {
                continue;
            };
            let of_kind = if was_stalk { &mut counts.stalks } else { &mut counts.leaves };
            match call.side() {
                Some(true) => of_kind.called_stalk += 1,
                Some(false) => of_kind.called_leaf += 1,
                None => of_kind.left_even += 1,
            }
        }
        counts
    }

    /// How well each question told the two apart on proved shoots, by anyone or by one person.
    pub fn by_character(&self, who: Option<Id>) -> Vec<OfCharacter> {
        let proved = self.proved(who);
        let of = |character: &Character| {
            let choices = character.choices();
            let (for_stalk, for_leaf) = (choices[0], choices[choices.len() - 1]);
            let given = |kind: ShootKind, wanted: Option<Choice>| {
                let shoots = proved.iter().filter(|one| one.kind == kind);
                let answers = shoots.flat_map(|one| &one.answers).filter(|(asked, _)| asked == character);
                answers.filter(|(_, choice)| wanted.is_none_or(|wanted| *choice == wanted)).count()
            };
            let found = OfCharacter {
                character: *character,
                stalks: Told { right: given(ShootKind::Scape, Some(for_stalk)), n: given(ShootKind::Scape, None) },
                leaves: Told { right: given(ShootKind::Leaf, Some(for_leaf)), n: given(ShootKind::Leaf, None) },
            };
            (found.stalks.n + found.leaves.n > 0).then_some(found)
        };
        Character::ALL.iter().filter_map(of).collect()
    }

    /// What was said of proved shoots in fifths of all chances, and how many of them were stalks.
    pub fn calibration(&self, who: Option<Id>) -> Vec<Bin> {
        let said = self.first(who).into_iter();
        let said = said.filter_map(|call| Some((f64::from(call.stalk_permille) / 1000.0, call.was_stalk()?)));
        let scored = Scored::new(said.collect()).and_then(|scored| scored.bins(5));
        scored.map_or_else(|_| Vec::new(), |bins| bins.into_iter().filter(|bin| bin.n > 0).collect())
    }

    /// By how many days each stalk was rightly called before it was known, in order of size.
    pub fn days_gained(&self, who: Option<Id>) -> Vec<i64> {
        let right =
            self.first(who).into_iter().filter(|call| call.side() == Some(true) && call.was_stalk() == Some(true));
        let mut days: Vec<i64> = right.filter_map(|call| Some(call.on.days_until(call.known_on?))).collect();
        days.sort_unstable();
        days
    }

    /// How far two people agree on the shoots that both called.
    pub fn agreement(&self, a: Id, b: Id) -> Agreement {
        let of = |who: Id| -> BTreeMap<Id, usize> {
            let class = |call: &Called| match call.side() {
                Some(true) => 0,
                None => 1,
                Some(false) => 2,
            };
            self.first(Some(who)).into_iter().map(|call| (call.shoot, class(call))).collect()
        };
        let (of_a, of_b) = (of(a), of(b));
        let mut table = [[0; 3]; 3];
        for (shoot, class) in &of_a {
            if let Some(other) = of_b.get(shoot) {
                table[*class][*other] += 1;
            }
        }
        Agreement { a, b, table }
    }

    /// Every pair of people who both called at least one shoot.
    pub fn agreements(&self) -> Vec<Agreement> {
        let who = self.observers();
        let pairs = who.iter().enumerate().flat_map(|(at, a)| who[at + 1..].iter().map(move |b| (*a, *b)));
        pairs.map(|(a, b)| self.agreement(a, b)).filter(|pair| pair.n() > 0).collect()
    }
}

/// From which day on it was known what a shoot is: the first look or proof that says so.
pub(super) fn known_on(ledger: &Ledger, cycle: &Cycle, shoot: &Shoot) -> Option<Date> {
    if shoot.kind == ShootKind::Unknown {
        return None;
    }
    let looks = cycle.looks.iter().filter(|seen| {
        let mut of_it = seen.look.shoots.iter().filter(|known| known.id == shoot.id);
        of_it.any(|known| known.kind == shoot.kind || known.stage >= Stage::SpatheSplit)
    });
    let proofs = shoot.proofs.iter().filter(|(kind, _)| *kind == shoot.kind);
    let proofs = proofs.filter_map(|(_, id)| Some(ledger.get(*id)?.envelope.happened.date()));
    looks.map(|seen| seen.at.date()).chain(proofs).min()
}

/// What shoots of one kind were called.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OfKind {
    /// Called a stalk.
    pub called_stalk: usize,
    /// Called a leaf.
    pub called_leaf: usize,
    /// Left even.
    pub left_even: usize,
}

impl OfKind {
    /// All of them.
    pub const fn n(&self) -> usize {
        self.called_stalk + self.called_leaf + self.left_even
    }
}

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// Told rightly.
    pub right: usize,
    /// Of these.
    pub n: usize,
}

impl Told {
    /// The exact 95 % interval of the share (Clopper & Pearson 1934); all of 0 to 1 with none.
    pub fn interval(&self) -> Interval {
        // A nursery has not so many shoots; with more than can be counted nothing is said.
        let count = |n: usize| u32::try_from(n).unwrap_or(0);
        let share = Share::new(count(self.right), count(self.n));
        share.map_or(Interval { lower: 0.0, upper: 1.0 }, |share| clopper_pearson::interval(share, Level::PCT_95))
    }
}

/// How first calls turned out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Accuracy {
    /// Shoots called.
    pub n_called: usize,
    /// Of those that were stalks.
    pub stalks: OfKind,
    /// Of those that were leaves.
    pub leaves: OfKind,
}

impl Accuracy {
    /// Shoots of which it is known since what they were.
    pub const fn n_proved(&self) -> usize {
        self.stalks.n() + self.leaves.n()
    }

    /// Of these, how many were called rightly.
    pub const fn n_right(&self) -> usize {
        self.stalks.called_stalk + self.leaves.called_leaf
    }

    /// Calls that leaned to the wrong side.
    pub const fn n_wrong(&self) -> usize {
        self.stalks.called_leaf + self.leaves.called_stalk
    }

    /// Sensitivity: of the stalks, how many were called stalks.
    pub const fn sensitivity(&self) -> Told {
        Told { right: self.stalks.called_stalk, n: self.stalks.n() }
    }

    /// Specificity: of the leaves, how many were called leaves.
    pub const fn specificity(&self) -> Told {
        Told { right: self.leaves.called_leaf, n: self.leaves.n() }
    }

    /// Positive predictive value: of those called stalks, how many were.
    pub const fn predictive_of_stalk(&self) -> Told {
        Told { right: self.stalks.called_stalk, n: self.stalks.called_stalk + self.leaves.called_stalk }
    }

    /// Negative predictive value: of those called leaves, how many were.
    pub const fn predictive_of_leaf(&self) -> Told {
        Told { right: self.leaves.called_leaf, n: self.leaves.called_leaf + self.stalks.called_leaf }
    }

    /// Of all proved, how many were called rightly.
    pub const fn overall(&self) -> Told {
        Told { right: self.n_right(), n: self.n_proved() }
    }
}

/// How well one question told stalks from leaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OfCharacter {
    /// The question.
    pub character: Character,
    /// Stalks, with how many got the answer that speaks for a stalk.
    pub stalks: Told,
    /// Leaves, with how many got the answer that speaks for a leaf.
    pub leaves: Told,
}

/// How far two people agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Agreement {
    /// The one.
    pub a: Id,
    /// The other.
    pub b: Id,
    /// Shoots by what the first called them (rows) and the second (columns): stalk, even, leaf.
    pub table: [[usize; 3]; 3],
}

impl Agreement {
    /// Shoots that both called.
    pub fn n(&self) -> usize {
        self.table.iter().flatten().sum()
    }

    /// Of these, how many they called alike.
    pub fn n_alike(&self) -> usize {
        (0..3).map(|class| self.table[class][class]).sum()
    }

    /// Agreement beyond chance, by [`kappa`]; a reason where there is none.
    ///
    /// # Errors
    /// When chance alone brings full agreement.
    pub fn kappa(&self) -> crate::evidence::Result<Kappa> {
        kappa(&self.table.map(|row| row.to_vec()), Weights::Linear)
    }
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

        fn calls(&self) -> Calls {
            Calls::of(&self.ledger, &State::fold(&self.ledger))
        }

        fn past(&self) -> Accuracy {
            self.calls().accuracy(None)
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
        let open = Accuracy { n_called: 4, ..Accuracy::default() };
        assert_eq!(story.past(), open);
        story.look(shoots[0], ShootKind::Unknown, Stage::SpatheSplit);
        let leaf = ShootKind::Leaf;
        story.write(Body::Proof(Proof { shoot: shoots[1], kind: leaf }));
        story.look(shoots[2], leaf, Stage::Shoot);
        let past = story.past();
        let stalks = OfKind { called_stalk: 1, ..OfKind::default() };
        let leaves = OfKind { called_stalk: 1, left_even: 1, ..OfKind::default() };
        assert_eq!(past, Accuracy { n_called: 4, stalks, leaves });
        assert_eq!((past.n_proved(), past.n_right(), past.n_wrong()), (3, 1, 1));
        // The sixth record called it, the eleventh shows what it is, a day apart each.
        assert_eq!(story.calls().days_gained(None), [5]);
    }

    #[test]
    fn files_may_arrive_in_any_order() {
        let mut story = Story::begin();
        let shoots: Vec<Id> = (0..3).map(|_| story.ids.draw(Noun::Shoot)).collect();
        for shoot in &shoots {
            story.look(*shoot, ShootKind::Unknown, Stage::Shoot);
            story.call(*shoot, 700);
            story.call(*shoot, 200);
            story.look(*shoot, ShootKind::Scape, Stage::ScapeInSight);
        }
        let mut other = Ledger::new(story.ledger.id());
        for entry in story.ledger.arrived().iter().rev() {
            other.insert(entry.clone());
        }
        let calls = Calls::of(&other, &State::fold(&other));
        assert_eq!(calls, story.calls());
        assert_eq!(calls.accuracy(None).n_right(), 3);
    }

    #[test]
    fn a_call_taken_back_does_not_count() {
        let mut story = Story::begin();
        let shoot = story.ids.draw(Noun::Shoot);
        story.look(shoot, ShootKind::Unknown, Stage::Shoot);
        let call = story.call(shoot, 700);
        assert_eq!(story.past().n_called, 1);
        let mut draft =
            Draft::new(vec![story.bulb], call.envelope.happened.clone(), Body::TakeBack(Default::default()));
        draft.supersedes = vec![call.id];
        let back = story.writer.write(draft, 1_800_000_000_000);
        story.ledger.insert(back);
        assert_eq!(story.past(), Accuracy::default());
    }
}
