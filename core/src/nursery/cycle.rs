//! One growth cycle of a bulb: its looks, its shoots, what was done, its rests.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::in_full::look;
use crate::{
    calendar::{Date, Happened},
    ledger::{
        body::{ActKind, Leaves, Look, Neck, ShootKind, Side, Stage},
        id::{EntryId, Id},
    },
};

/// One look, with the entry it stands in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Seen {
    /// The entry.
    pub entry: EntryId,
    /// When.
    pub at: Happened,
    /// What it showed. A sweep reads as a clear neck with leaves not looked at.
    #[serde(with = "look")]
    pub look: Look,
    /// Whether it was a sweep, which evidence can leave out.
    pub sweep: bool,
}

/// One shoot over the looks of a cycle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shoot {
    /// The shoot.
    pub id: Id,
    /// From 1.
    pub ordinal: u32,
    /// Where it stands, as last said.
    pub side: Side,
    /// What it is, by proof first, then by what looks agree on; a stage from the split spathe on proves a scape.
    pub kind: ShootKind,
    /// Whether statements about its kind contradict each other.
    pub contradicted: bool,
    /// First seen.
    pub since: Date,
    /// Stage at the last look that showed it.
    pub stage: Stage,
    /// Height when last measured.
    pub height_mm: Option<u32>,
    /// Last call on it: chance of a stalk in permille, and when to look again.
    pub call: Option<(u32, Date)>,
    /// The proofs of what it was, in order.
    pub proofs: Vec<(ShootKind, EntryId)>,
}

/// One growth cycle.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cycle {
    /// First day; nothing when the bulb was taken over without a word.
    pub began: Option<Date>,
    /// Last day.
    pub ended: Option<Date>,
    /// Looks in order.
    pub looks: Vec<Seen>,
    /// Shoots in order of their ordinal.
    pub shoots: Vec<Shoot>,
    /// What was done, in order.
    pub acts: Vec<(Date, ActKind)>,
    /// Days on which it was inspected, each once.
    pub inspected: Vec<Date>,
    /// Marked as fit to sell.
    pub fit: Option<Date>,
    /// Stage said when it left.
    pub left_at: Option<(Date, Stage)>,
}

impl Cycle {
    pub(super) fn new(began: Option<Date>) -> Self {
        Self {
            began,
            ended: None,
            looks: Vec::new(),
            shoots: Vec::new(),
            acts: Vec::new(),
            inspected: Vec::new(),
            fit: None,
            left_at: None,
        }
    }

    /// The last look.
    pub fn last_look(&self) -> Option<&Seen> {
        self.looks.last()
    }

    /// The last look at the neck; one that left it out says nothing about shoots.
    pub fn last_neck_look(&self) -> Option<&Seen> {
        let at_neck = |seen: &&Seen| seen.look.neck != Neck::NotLookedAt;
        self.looks.iter().rev().find(at_neck)
    }

    /// Scapes known to be such.
    pub fn scapes(&self) -> impl Iterator<Item = &Shoot> {
        self.shoots.iter().filter(|shoot| shoot.kind == ShootKind::Scape)
    }

    /// Shoots whose kind is not known.
    pub fn unproved(&self) -> impl Iterator<Item = &Shoot> {
        self.shoots.iter().filter(|shoot| shoot.kind == ShootKind::Unknown)
    }

    /// The last day of an act of this kind in this cycle.
    pub fn last(&self, kind: ActKind) -> Option<Date> {
        self.acts.iter().rev().find(|(_, act)| *act == kind).map(|(date, _)| *date)
    }

    /// The furthest stage of any scape, if one is in sight.
    pub fn furthest(&self) -> Option<Stage> {
        self.scapes().map(|shoot| shoot.stage).max()
    }

    /// Whether the bulb is at rest: laid down or dry, and neither brought out nor potted since.
    pub fn resting(&self) -> bool {
        self.resting_since().is_some()
    }

    /// The first day of the rest that it is in, if it is at rest.
    pub fn resting_since(&self) -> Option<Date> {
        let mut since = None;
        for (on, act) in &self.acts {
            if act.begins_rest() {
                since = since.or(Some(*on));
            } else if act.ends_rest() {
                since = None;
            }
        }
        since
    }

    /// The day on which the last rest of this cycle ended, whatever ended it; nothing while it is at rest.
    pub fn rest_ended_on(&self) -> Option<Date> {
        let (mut resting, mut ended) = (false, None);
        for (on, act) in &self.acts {
            if act.begins_rest() {
                (resting, ended) = (true, None);
            } else if *act == ActKind::RestEnded || resting && act.ends_rest() {
                (resting, ended) = (false, Some(*on));
            }
        }
        ended
    }

    /// The first and last days of each rest in this cycle; no last day while it lasts.
    pub fn rests(&self) -> Vec<(Date, Option<Date>)> {
        let mut rests: Vec<(Date, Option<Date>)> = Vec::new();
        for (on, act) in &self.acts {
            let lasting = rests.last_mut().filter(|(_, ended)| ended.is_none());
            match lasting {
                None if act.begins_rest() => rests.push((*on, None)),
                Some((_, ended)) if act.ends_rest() => *ended = Some(*on),
                _ => {}
            }
        }
        rests
    }

    /// The day on which it was seen that the bulb woke during its rest: a shoot that was not there before, more leaves,
    /// or leaves again after they were cut back.
    pub fn woke_on(&self) -> Option<Date> {
        let since = self.resting_since()?;
        let cut = self.last(ActKind::CutBack);
        let shows = |seen: &&Seen| {
            let look = &seen.look;
            let on = seen.at.date();
            let rose = look.shoots.iter().any(|shoot| {
                let known = self.shoots.iter().find(|known| known.id == shoot.id);
                known.is_some_and(|known| known.since >= since)
            });
            let again = look.n_leaves.is_some_and(|n| n > 0) && cut.is_some_and(|cut| cut < on);
            on >= since && (rose || again || look.leaves == Leaves::More)
        };
        self.looks.iter().find(shows).map(|seen| seen.at.date())
    }

    /// Whether an act of this cycle ended a rest.
    pub fn rest_was_ended(&self) -> bool {
        self.acts.iter().any(|(_, act)| act.ends_rest())
    }

    /// Whether it holds nothing yet but the places its bulb was put.
    pub(super) fn is_blank(&self) -> bool {
        self.began.is_none() && self.looks.is_empty() && self.acts.iter().all(|(_, act)| *act == ActKind::Moved)
    }

    /// Reads the shoots of its looks, with what proofs and calls said of each, in order.
    pub(super) fn resolve_shoots(
        &mut self,
        proofs: &BTreeMap<Id, Vec<(ShootKind, EntryId)>>,
        calls: &BTreeMap<Id, (u32, Date)>,
    ) {
        let mut shoots: Vec<Shoot> = Vec::new();
        let mut places: BTreeMap<Id, usize> = BTreeMap::new();
        let mut said: Vec<Vec<ShootKind>> = Vec::new();
        let mut split = BTreeSet::new();
        for seen in &self.looks {
            for shoot in &seen.look.shoots {
                let at = *places.entry(shoot.id).or_insert_with(|| {
                    shoots.push(Shoot {
                        id: shoot.id,
                        ordinal: shoot.ordinal,
                        side: shoot.side,
                        kind: ShootKind::Unknown,
                        contradicted: false,
                        since: seen.at.date(),
                        stage: shoot.stage,
                        height_mm: None,
                        call: None,
                        proofs: proofs.get(&shoot.id).cloned().unwrap_or_default(),
                    });
                    said.push(Vec::new());
                    shoots.len() - 1
                });
                let known = &mut shoots[at];
                known.stage = shoot.stage;
                known.height_mm = shoot.height_mm.or(known.height_mm);
                if shoot.side != Side::NotSaid {
                    known.side = shoot.side;
                }
                if shoot.stage >= Stage::SpatheSplit {
                    split.insert(shoot.id);
                }
                if shoot.kind != ShootKind::Unknown {
                    said[at].push(shoot.kind);
                }
            }
        }
        for (shoot, said) in shoots.iter_mut().zip(&said) {
            let mut proved: Vec<ShootKind> = shoot.proofs.iter().map(|(kind, _)| *kind).collect();
            // No leaf has a spathe: whatever else was said of it, this settles the matter.
            if proved.is_empty() && split.contains(&shoot.id) {
                proved.push(ShootKind::Scape);
            }
            let statements = if proved.is_empty() { said } else { &proved };
            shoot.contradicted = statements.windows(2).any(|pair| pair[0] != pair[1]);
            shoot.kind = match statements.first() {
                Some(kind) if !shoot.contradicted => *kind,
                _ => ShootKind::Unknown,
            };
            shoot.call = calls.get(&shoot.id).copied();
        }
        shoots.sort_by_key(|shoot| (shoot.ordinal, shoot.id));
        self.shoots = shoots;
    }

    /// Shoots that were said to be a scape and to be a leaf, each with the records that say the one and those that say
    /// the other: proofs where there are any, else looks.
    pub fn contrary_shoots(&self) -> Vec<(Id, [Vec<EntryId>; 2])> {
        let contradicted = self.shoots.iter().filter(|shoot| shoot.contradicted);
        contradicted
            .map(|shoot| {
                let by_looks = || {
                    let looks = self.looks.iter().map(|seen| (seen.entry, &seen.look.shoots));
                    looks.flat_map(|(entry, shoots)| {
                        let of_it = shoots.iter().filter(|seen| seen.id == shoot.id);
                        of_it.map(move |seen| (seen.kind, entry))
                    })
                };
                let said = if shoot.proofs.is_empty() { by_looks().collect() } else { shoot.proofs.clone() };
                let of = |wanted: ShootKind| {
                    let of = said.iter().filter(|(kind, _)| *kind == wanted);
                    of.map(|(_, entry)| *entry).collect()
                };
                (shoot.id, [of(ShootKind::Scape), of(ShootKind::Leaf)])
            })
            .filter(|(_, sides)| sides.iter().all(|side: &Vec<EntryId>| !side.is_empty()))
            .collect()
    }
}
