//! One bulb, folded from the entries about it: names, place, cycles, what each look showed, what became of it.

use std::{collections::BTreeMap, sync::Arc};

use serde::{Deserialize, Serialize};

use super::{
    in_full::{PhotoInFull, look},
    same::{self, Also},
    twins,
};
use crate::{
    calendar::{Date, Happened},
    ledger::{
        Field, Ledger,
        body::{
            Act, ActKind, Body, Counted, Finding, GoalStage, Leaves, LeftHow, Look, Measured, Nature, Neck, Photo,
            ShootKind, ShootSeen, Side, Stage, Way,
        },
        entry::{Entry, HybridTime},
        id::{EntryId, Id},
    },
};

/// What became of a bulb.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fate {
    /// It is here.
    Here,
    /// It was sold, given or withdrawn.
    Left {
        /// When.
        on: Date,
        /// How.
        how: LeftHow,
    },
    /// It died.
    Died {
        /// When.
        on: Date,
        /// Of what, in words; empty when not said.
        cause: String,
    },
    /// It was not found.
    Missing {
        /// When.
        on: Date,
    },
}

impl Fate {
    /// The day since which it is no longer here.
    pub fn since(&self) -> Option<Date> {
        match self {
            Self::Here => None,
            Self::Left { on, .. } | Self::Died { on, .. } | Self::Missing { on } => Some(*on),
        }
    }
}

/// One record of what became of a bulb. Several that differ exclude each other.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct End {
    /// The entry.
    pub entry: EntryId,
    /// Place of the cycle among the bulb's cycles.
    pub cycle: usize,
    /// What became of it.
    pub fate: Fate,
    /// Stage said when it left.
    pub stage: Option<Stage>,
    /// Said to be fit to sell when it left.
    pub fit: bool,
}

impl End {
    /// Whether both say the same, on whatever phone it was written down.
    pub fn says_as(&self, other: &Self) -> bool {
        (&self.fate, self.stage, self.fit) == (&other.fate, other.stage, other.fit)
    }
}

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
}

/// Acts after which a bulb is no longer at rest.
const ENDS_REST: &[ActKind] = &[ActKind::RestEnded, ActKind::Potted, ActKind::BroughtToLight, ActKind::Watered];

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
    fn new(began: Option<Date>) -> Self {
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
            match act {
                ActKind::LaidToRest | ActKind::Packed | ActKind::WaterStopped => {
                    since = since.or(Some(*on));
                }
                act if ENDS_REST.contains(act) => since = None,
                _ => {}
            }
        }
        since
    }

    /// The day on which the last rest of this cycle ended, whatever ended it; nothing while it is at rest.
    pub fn rest_ended_on(&self) -> Option<Date> {
        let (mut resting, mut ended) = (false, None);
        for (on, act) in &self.acts {
            match act {
                ActKind::LaidToRest | ActKind::Packed | ActKind::WaterStopped => {
                    (resting, ended) = (true, None);
                }
                ActKind::RestEnded => (resting, ended) = (false, Some(*on)),
                act if resting && ENDS_REST.contains(act) => (resting, ended) = (false, Some(*on)),
                _ => {}
            }
        }
        ended
    }

    /// The first and last days of each rest in this cycle; no last day while it lasts.
    pub fn rests(&self) -> Vec<(Date, Option<Date>)> {
        let mut rests: Vec<(Date, Option<Date>)> = Vec::new();
        for (on, act) in &self.acts {
            let lasting = rests.last_mut().filter(|(_, ended)| ended.is_none());
            match (act, lasting) {
                (ActKind::LaidToRest | ActKind::Packed | ActKind::WaterStopped, None) => {
                    rests.push((*on, None));
                }
                (act, Some((_, ended))) if ENDS_REST.contains(act) => *ended = Some(*on),
                _ => {}
            }
        }
        rests
    }

    /// The first look that showed a shoot in this stage or beyond it; from a scape in sight on, a shoot known to be a
    /// scape.
    pub fn first_seen_in(&self, stage: Stage) -> Option<Date> {
        if stage == Stage::Over {
            return self.flowering().over;
        }
        let shows = |seen: &&Seen| match stage {
            Stage::Shoot => !seen.look.shoots.is_empty(),
            _ => self.scapes_at(seen).iter().any(|shoot| shoot.stage >= stage),
        };
        self.looks.iter().find(shows).map(|seen| seen.at.date())
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
        self.acts.iter().any(|(_, act)| ENDS_REST.contains(act))
    }

    /// Whether the cycle ended blind: a clear neck, or proved leaves only, at the last look on or after its end.
    pub fn blind(&self) -> bool {
        let Some(ended) = self.ended else {
            return false;
        };
        let last = self.looks.iter().rev().find(|seen| seen.at.date() >= ended);
        last.is_some_and(|seen| self.verdict(seen, GoalStage::ScapeInSight) == Verdict::Without)
            && self.scapes().next().is_none()
    }

    fn kind_of(&self, seen: &ShootSeen) -> ShootKind {
        self.shoots.iter().find(|shoot| shoot.id == seen.id).map_or(seen.kind, |shoot| shoot.kind)
    }

    /// What one look says about a stage (TRIALS §2).
    pub fn verdict(&self, seen: &Seen, stage: GoalStage) -> Verdict {
        let look = &seen.look;
        match look.neck {
            Neck::NotLookedAt => return Verdict::Silent,
            Neck::Clear => return Verdict::Without,
            Neck::Shoots => {}
        }
        let reached = |least: Stage| {
            let with = look.shoots.iter().any(|s| self.kind_of(s) == ShootKind::Scape && s.stage >= least);
            if with { Verdict::With } else { Verdict::Without }
        };
        match stage {
            GoalStage::ScapeInSight => {
                let kinds = || look.shoots.iter().map(|s| self.kind_of(s));
                if kinds().any(|kind| kind == ShootKind::Scape) {
                    Verdict::With
                } else if kinds().any(|kind| kind == ShootKind::Unknown) {
                    Verdict::Unproved
                } else {
                    Verdict::Without
                }
            }
            GoalStage::SpatheSplit => reached(Stage::SpatheSplit),
            GoalStage::FirstFlower => reached(Stage::FirstFlower),
            // The mark is the grower's; whoever looked at the neck and did not mark it found it not yet fit.
            GoalStage::FitToSell => match self.fit {
                Some(fit) if seen.at.date() >= fit => Verdict::With,
                _ => Verdict::Without,
            },
        }
    }

    /// The shoots of a look that are known to be scapes.
    pub fn scapes_at<'a>(&self, seen: &'a Seen) -> Vec<&'a ShootSeen> {
        let shoots = seen.look.shoots.iter();
        shoots.filter(|shoot| self.kind_of(shoot) == ShootKind::Scape).collect()
    }

    /// Whether a look showed the bulb in flower: a scape with a flower open and not all scapes over.
    pub fn in_flower(&self, seen: &Seen) -> bool {
        seen.look.neck == Neck::Shoots
            && seen
                .look
                .shoots
                .iter()
                .any(|s| self.kind_of(s) == ShootKind::Scape && s.stage >= Stage::FirstFlower && s.stage < Stage::Over)
    }

    /// Whether a look showed that flowering is over: flowers had been open before, and none is now.
    fn over(&self, seen: &Seen) -> bool {
        match seen.look.neck {
            Neck::NotLookedAt => false,
            Neck::Clear => true,
            Neck::Shoots => {
                let mut scapes = seen.look.shoots.iter().filter(|s| self.kind_of(s) == ShootKind::Scape).peekable();
                scapes.peek().is_none() || scapes.all(|s| s.stage == Stage::Over)
            }
        }
    }

    /// What each look says about a stage, in order; one that shows less and is explained says nothing.
    fn marks(&self, stage: GoalStage) -> Vec<(&Seen, Verdict)> {
        let mut marks = Vec::with_capacity(self.looks.len());
        let mut past = Past::default();
        for seen in &self.looks {
            let verdict = self.verdict(seen, stage);
            if verdict != Verdict::Without || !self.is_explained(seen, &past) {
                marks.push((seen, verdict));
            }
            if verdict == Verdict::With {
                past.add(self, seen, stage);
            }
        }
        marks
    }

    /// Between which looks the bulb reached a stage.
    pub fn reach(&self, stage: GoalStage) -> Reach {
        let marks = self.marks(stage).into_iter();
        let mut marks: Vec<(Date, Verdict)> = marks.map(|(seen, verdict)| (seen.at.date(), verdict)).collect();
        if let (GoalStage::FitToSell, Some(fit)) = (stage, self.fit) {
            marks.push((fit, Verdict::With));
        }
        if let Some((on, left_stage)) = self.left_at
            && least_stage(stage).is_some_and(|least| left_stage >= least)
        {
            marks.push((on, Verdict::With));
        }
        marks.sort_by_key(|(date, _)| *date);
        Reach::of(&marks)
    }

    /// Looks that contradict each other about the first stage that any do: those that showed it although a later one
    /// did not, and those that did not although an earlier one had. Nothing while all agree.
    pub fn contrary_looks(&self) -> Option<[Vec<EntryId>; 2]> {
        [GoalStage::ScapeInSight, GoalStage::SpatheSplit, GoalStage::FirstFlower].into_iter().find_map(|stage| {
            let marks = self.marks(stage);
            let first = marks.iter().position(|(_, v)| *v == Verdict::With)?;
            let last = marks.iter().rposition(|(_, v)| *v == Verdict::Without)?;
            if last < first {
                return None;
            }
            let between = marks.get(first..=last)?;
            let of = |wanted: Verdict| {
                let looks = between.iter().filter(|(_, verdict)| *verdict == wanted);
                looks.map(|(seen, _)| seen.entry).collect()
            };
            Some([of(Verdict::With), of(Verdict::Without)])
        })
    }

    /// Whether a look that shows less than looks before it denies them not: the stalk was cut, or it had flowered and
    /// is gone. A stalk that is listed again and stands further back denies them always.
    fn is_explained(&self, seen: &Seen, past: &Past) -> bool {
        let Some(since) = past.since else {
            return false;
        };
        let back = |s: &ShootSeen| past.shoots.contains(&s.id);
        if seen.look.neck == Neck::Shoots && seen.look.shoots.iter().any(back) {
            return false;
        }
        let cut = self.acts.iter().any(|(on, act)| *act == ActKind::ScapeCut && (since..=seen.at.date()).contains(on));
        cut || past.flowered
    }

    /// First and last look in flower, and the first look after it that showed it over.
    pub fn flowering(&self) -> Flowering {
        let mut flowering = Flowering::default();
        for seen in &self.looks {
            let date = seen.at.date();
            if self.in_flower(seen) {
                flowering.first.get_or_insert(date);
                flowering.last = Some(date);
                flowering.over = None;
                flowering.days.push(date);
            } else if flowering.last.is_some() && flowering.over.is_none() && self.over(seen) {
                flowering.over = Some(date);
            }
        }
        flowering
    }
}

/// What earlier looks showed, for reading one that shows less.
#[derive(Default)]
struct Past {
    /// First look with the stage.
    since: Option<Date>,
    /// Shoots that had it.
    shoots: std::collections::BTreeSet<Id>,
    /// Whether a flower had opened.
    flowered: bool,
}

impl Past {
    fn add(&mut self, cycle: &Cycle, seen: &Seen, stage: GoalStage) {
        self.since.get_or_insert(seen.at.date());
        let least = least_stage(stage).unwrap_or(Stage::Shoot);
        for shoot in &seen.look.shoots {
            if cycle.kind_of(shoot) == ShootKind::Scape && shoot.stage >= least {
                self.shoots.insert(shoot.id);
                self.flowered |= shoot.stage >= Stage::FirstFlower;
            }
        }
    }
}

/// The stage of a shoot that a goal asks for; nothing for a mark of the grower's.
pub fn least_stage(stage: GoalStage) -> Option<Stage> {
    match stage {
        GoalStage::ScapeInSight => Some(Stage::ScapeInSight),
        GoalStage::SpatheSplit => Some(Stage::SpatheSplit),
        GoalStage::FirstFlower => Some(Stage::FirstFlower),
        GoalStage::FitToSell => None,
    }
}

/// What a look says about a stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Reached.
    With,
    /// Ruled out.
    Without,
    /// A shoot that may be a scape and is not proved.
    Unproved,
    /// Nothing.
    Silent,
}

/// When a stage was reached, as an interval between looks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reach {
    /// Last look without the stage before the first with it; nothing when it was there at the first look.
    pub without: Option<Date>,
    /// First look with it, after the last without; nothing when it was not reached, or when a later look denies it
    /// and none has shown it again.
    pub with: Option<Date>,
    /// First look since `without` that showed a shoot not proved.
    pub unproved: Option<Date>,
    /// Looks contradict each other; the interval is widened to hold them all.
    pub contradicted: bool,
}

impl Reach {
    /// Reads the marks, sorted by date.
    fn of(marks: &[(Date, Verdict)]) -> Self {
        let first_with = marks.iter().position(|(_, verdict)| *verdict == Verdict::With);
        let before = first_with.map_or(marks, |at| &marks[..at]);
        let without = before.iter().rev().find(|(_, v)| *v == Verdict::Without).map(|(date, _)| *date);
        let last_without = marks.iter().rposition(|(_, verdict)| *verdict == Verdict::Without);
        let contradicted = matches!((first_with, last_without), (Some(w), Some(wo)) if wo > w);
        let from = if contradicted { last_without.unwrap_or(0) } else { 0 };
        let with = marks[from..].iter().find(|(_, v)| *v == Verdict::With).map(|(date, _)| *date);
        let unproved = marks
            .iter()
            .find(|(date, v)| *v == Verdict::Unproved && without.is_none_or(|w| *date >= w))
            .map(|(date, _)| *date);
        Self { without, with, unproved, contradicted }
    }
}

/// When a bulb was seen in flower.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Flowering {
    /// First look in flower.
    pub first: Option<Date>,
    /// Last look in flower.
    pub last: Option<Date>,
    /// First look after that which showed it over.
    pub over: Option<Date>,
    /// Every look in flower.
    pub days: Vec<Date>,
}

/// What was said of a job on this bulb: done, skipped or postponed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobNote {
    /// The day on which it was said.
    pub on: Date,
    /// Done, skipped or postponed.
    pub kind: ActKind,
    /// Key of the job; nothing when every job that was due is meant.
    pub job: Option<String>,
    /// Postponed to this day.
    pub until: Option<Date>,
}

/// The photos of a bulb, a place or a container, in order of when they were taken.
pub fn photos_of(ledger: &Ledger, subject: Id) -> Vec<PhotoOf> {
    let photo = |entry: &&Arc<Entry>| match &entry.body {
        Body::Photo(photo) => {
            Some(PhotoOf { entry: entry.id, at: entry.envelope.happened.clone(), photo: photo.clone() })
        }
        _ => None,
    };
    let standing = ledger.standing(subject);
    standing.iter().filter_map(photo).collect()
}

/// A photo, with the entry it stands in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoOf {
    /// The entry.
    pub entry: EntryId,
    /// When.
    pub at: Happened,
    /// The photo.
    #[serde(with = "PhotoInFull")]
    pub photo: Photo,
}

/// What folding on from a bulb needs beside the bulb.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Mark {
    /// Where the last entry that was folded stands in order.
    pub(super) last: Option<(Happened, HybridTime, EntryId)>,
    /// What proofs said of shoots, in order.
    pub(super) proofs: Vec<(Id, ShootKind)>,
    /// What calls said of shoots, in order.
    pub(super) calls: Vec<(Id, u32, Date)>,
    /// Whether a link says that acts or shoots are one: then everything is folded anew.
    pub(super) linked: bool,
}

impl Mark {
    /// The mark after all entries about a bulb.
    pub(super) fn of(ledger: &Ledger, bulb: Id) -> Self {
        let mut mark = Self::default();
        let standing = ledger.standing(bulb);
        for entry in &standing {
            mark.take(&entry.body);
        }
        let joins = |body: &Body| matches!(body, Body::SameAct(_) | Body::SameAs(_));
        mark.linked = standing.iter().any(|entry| joins(&entry.body));
        // What the program said changes no bulb, so that a look written down after it is late for nothing.
        let said = |entry: &&&Arc<Entry>| matches!(entry.body, Body::Shown(_));
        mark.last = standing.iter().rfind(|entry| !said(entry)).map(|entry| {
            let (happened, hlc, id) = entry.order();
            (happened.clone(), hlc, id)
        });
        mark
    }

    fn take(&mut self, body: &Body) {
        match body {
            Body::Proof(proof) => self.proofs.push((proof.shoot, proof.kind)),
            Body::Call(call) => {
                let call = (call.shoot, call.scape_permille, call.again);
                self.calls.push(call);
            }
            _ => {}
        }
    }
}

/// One bulb as its records tell it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bulb {
    /// The bulb; of several ids that were said to be one bulb, the smallest.
    pub id: Id,
    /// The others, with the names given to it under each.
    pub also: Vec<Also>,
    /// Its lot.
    pub lot: Field<Id>,
    /// The tag made by the program.
    pub tag: Field<String>,
    /// The grower's own name or number.
    pub own_name: Field<String>,
    /// When it was entered, and its place among those entered with it: bulbs stand in the order they were typed in.
    pub added: Option<(HybridTime, usize)>,
    /// Where it stands.
    pub place: Option<Id>,
    /// The container it stands in, and its position there.
    pub container: Option<(Id, Option<u32>)>,
    /// Every place it was put, by day.
    pub places: Vec<(Date, Id)>,
    /// Every container it was put into or taken out of, by day.
    pub pots: Vec<(Date, Option<Id>)>,
    /// Circumference when last measured, lower and upper end in mm.
    pub circumference_mm: Option<(i64, i64)>,
    /// Growth cycles, oldest first; never empty.
    pub cycles: Vec<Cycle>,
    /// What became of it, as said last; see [`Bulb::ends`] where records of it differ.
    pub fate: Fate,
    /// Every record of what became of it, in order.
    pub ends: Vec<End>,
    /// Put aside since.
    pub put_aside: Option<Date>,
    /// To be watched since the last inspection, and what was found.
    pub watch: Option<(Date, Vec<Finding>)>,
    /// Its mother, if it is an offset.
    pub mother: Option<Id>,
    /// Last count of leaves, when and how many.
    pub n_leaves: Option<(Date, i64)>,
    /// Photos.
    pub photos: Vec<PhotoOf>,
    /// Last day of each kind of act, over all cycles.
    pub last_acts: std::collections::BTreeMap<ActKind, Date>,
    /// Jobs done, skipped and postponed, in order.
    pub jobs: Vec<JobNote>,
    /// The last inspection.
    pub inspected: Option<Date>,
    /// The last inspection that found a sprout.
    pub sprouted: Option<Date>,
}

/// The first that says something: names given to one bulb under several ids are no disagreement.
fn first_said(names: Vec<Field<String>>) -> Field<String> {
    let mut said = names.into_iter().filter(|name| *name != Field::Unsaid);
    said.next().unwrap_or_default()
}

/// When the first record that these ids are a bulb was written, and the place of the id in it. A lot said anew is a
/// later record of that kind.
fn added(ledger: &Ledger, ids: &[Id]) -> Option<(HybridTime, usize)> {
    let of = |id: &Id| {
        let id = *id;
        let entered = ledger.about(id).filter(|entry| matches!(entry.body, Body::Bulb(_)));
        entered.filter_map(move |entry| {
            let at = entry.envelope.about.iter().position(|known| *known == id)?;
            Some((entry.envelope.hlc, at))
        })
    };
    ids.iter().flat_map(of).min()
}

impl Bulb {
    /// Folds the entries about a bulb, under whichever of its ids; nothing when none says that it is one.
    pub(super) fn fold(ledger: &Ledger, ids: &[Id]) -> Option<Self> {
        Self::fold_until(ledger, ids, None)
    }

    /// The bulb as it was at the end of a day: what was seen, done and found out until then, under the names, in the
    /// lot and with the links that are known now.
    pub fn at_end_of(&self, ledger: &Ledger, day: Date) -> Option<Self> {
        let ids: Vec<Id> = self.ids();
        Self::fold_until(ledger, &ids, Some(day))
    }

    fn fold_until(ledger: &Ledger, ids: &[Id], last_day: Option<Date>) -> Option<Self> {
        let id = *ids.first()?;
        let mut entries = same::standing(ledger, ids);
        let twice = twins::twice(&entries);
        entries.retain(|entry| !twice.contains(&entry.id));
        if let Some(last_day) = last_day {
            entries.retain(|entry| {
                let timeless = match Body::nature_of(&entry.envelope.kind) {
                    Some(Nature::Register) => true,
                    // What a shoot turned out to be was not known before.
                    Some(Nature::Link) => !matches!(entry.body, Body::Proof(_)),
                    _ => false,
                };
                timeless || entry.envelope.happened.date() <= last_day
            });
        }
        let is = |entry: &Entry| matches!(entry.body, Body::Bulb(_));
        let named = |entry: &Entry| matches!(entry.body, Body::BulbName(_));
        // A name alone makes a bulb only while nothing else was ever said of it: once all that says what it is was
        // taken back, its name, place and looks are those of a bulb that is not there.
        let was_entered = || {
            let mut all = ids.iter().flat_map(|id| ledger.history(*id));
            all.any(|entry| is(entry))
        };
        let known =
            entries.iter().any(|entry| is(entry)) || (entries.iter().any(|entry| named(entry)) && !was_entered());
        if !known {
            return None;
        }
        let heads = |kind: &str, slot: &str| -> Vec<&Arc<Entry>> {
            let fits = |entry: &&&Arc<Entry>| entry.envelope.kind == kind && entry.envelope.slot == slot;
            entries.iter().filter(fits).copied().collect()
        };
        let name = |body: &Body| match body {
            Body::BulbName(named) => Some(named.name.clone()),
            _ => None,
        };
        let names = |slot: &str| -> Vec<Field<String>> {
            if ids.len() == 1 {
                return vec![Field::of_heads(&heads("bulb-name", slot), name)];
            }
            let of = |id: &Id| Field::of_heads(&ledger.heads(*id, "bulb-name", slot), name);
            ids.iter().map(of).collect()
        };
        let (tags, own_names) = (names("tag"), names("own"));
        let also = ids.iter().zip(tags.iter().zip(&own_names)).skip(1);
        let mut bulb = Self {
            id,
            also: also
                .map(|(id, (tag, own_name))| Also {
                    id: *id,
                    tag: tag.shown().cloned(),
                    own_name: own_name.shown().cloned(),
                })
                .collect(),
            lot: Field::of_heads(&heads("bulb", ""), |body| match body {
                Body::Bulb(bulb) => Some(bulb.lot),
                _ => None,
            }),
            tag: first_said(tags),
            own_name: first_said(own_names),
            added: added(ledger, ids),
            place: None,
            container: None,
            places: Vec::new(),
            pots: Vec::new(),
            circumference_mm: None,
            cycles: vec![Cycle::new(None)],
            fate: Fate::Here,
            ends: Vec::new(),
            put_aside: None,
            watch: None,
            mother: None,
            n_leaves: None,
            photos: Vec::new(),
            last_acts: std::collections::BTreeMap::new(),
            jobs: Vec::new(),
            inspected: None,
            sprouted: None,
        };
        bulb.go_on(Mark::default(), &entries);
        let same = twins::same_shoots(&entries);
        if !same.is_empty() {
            bulb.join_shoots(&same, &entries);
        }
        Some(bulb)
    }

    /// Reads shoots that were said to be one as one.
    fn join_shoots(&mut self, same: &BTreeMap<Id, Id>, entries: &[&Arc<Entry>]) {
        let name = |id: &mut Id| *id = same.get(id).copied().unwrap_or(*id);
        let mut mark = Mark::default();
        for entry in entries {
            mark.take(&entry.body);
        }
        mark.proofs.iter_mut().for_each(|(id, _)| name(id));
        mark.calls.iter_mut().for_each(|(id, ..)| name(id));
        for cycle in &mut self.cycles {
            for seen in &mut cycle.looks {
                let shoots = &mut seen.look.shoots;
                shoots.iter_mut().for_each(|shoot| name(&mut shoot.id));
                // Both may have been listed: the one further on was seen better.
                shoots.sort_by_key(|shoot| std::cmp::Reverse(shoot.stage));
                let mut known = std::collections::BTreeSet::new();
                shoots.retain(|shoot| known.insert(shoot.id));
                shoots.sort_by_key(|shoot| (shoot.ordinal, shoot.id));
            }
        }
        resolve_shoots(&mut self.cycles, &mark);
    }

    /// Takes further entries, which stand and come after all that `mark` knows of, in order.
    pub(super) fn go_on(&mut self, mut mark: Mark, entries: &[&Arc<Entry>]) {
        for entry in entries {
            mark.take(&entry.body);
            self.take(entry);
        }
        resolve_shoots(&mut self.cycles, &mark);
        if self.end_is_disputed() {
            // Which of the records is true is not known, so none of them says how far the bulb was.
            for at in 0..self.cycles.len() {
                self.say_end(at, None);
            }
        }
    }

    /// Whether records of what became of it exclude each other.
    pub fn end_is_disputed(&self) -> bool {
        self.ends.windows(2).any(|pair| !pair[0].says_as(&pair[1]))
    }

    /// The bulb as each of the records of its end has it, in order.
    pub fn readings(&self) -> Vec<Self> {
        let reading = |end: &End| {
            let mut bulb = self.clone();
            bulb.fate = end.fate.clone();
            for at in 0..bulb.cycles.len() {
                bulb.say_end(at, Some(end).filter(|end| end.cycle == at));
                let said = self.ends.iter().any(|other| other.cycle == at);
                if said && at + 1 == bulb.cycles.len() {
                    bulb.cycles[at].ended = Some(end).filter(|end| end.cycle == at).and_then(|end| end.fate.since());
                }
            }
            bulb
        };
        self.ends.iter().map(reading).collect()
    }

    /// What a cycle is known to have come to by this record of its end, or by none.
    fn say_end(&mut self, at: usize, end: Option<&End>) {
        if !self.ends.iter().any(|end| end.cycle == at) {
            return;
        }
        let cycle = &mut self.cycles[at];
        let on = end.and_then(|end| end.fate.since());
        cycle.left_at = on.zip(end.and_then(|end| end.stage));
        let marked = cycle.acts.iter().find(|(_, act)| *act == ActKind::FitToSell);
        let marked = marked.map(|(on, _)| *on);
        cycle.fit = marked.or(on.filter(|_| end.is_some_and(|end| end.fit)));
    }

    fn take(&mut self, entry: &Entry) {
        let at = &entry.envelope.happened;
        let see = |look: Look, sweep: bool| Seen { entry: entry.id, at: at.clone(), look, sweep };
        match &entry.body {
            Body::Act(kind, act) => self.take_act(entry.id, *kind, act, at.date()),
            Body::Look(look) => self.cycle_mut().looks.push(see(look.clone(), false)),
            Body::Sweep(sweep) => {
                let look = Look {
                    neck: Neck::Clear,
                    leaves: Leaves::NotLookedAt,
                    n_leaves: None,
                    shoots: Vec::new(),
                    way: Way::Others,
                    walk: Some(sweep.place),
                };
                self.cycle_mut().looks.push(see(look, true));
            }
            Body::Inspection(inspection) => {
                self.inspected = Some(at.date());
                let days = &mut self.cycle_mut().inspected;
                if days.last() != Some(&at.date()) {
                    days.push(at.date());
                }
                if inspection.findings.contains(&Finding::Sprout) {
                    self.sprouted = self.inspected;
                }
                self.watch = inspection.watch.then(|| (at.date(), inspection.findings.clone()));
            }
            Body::Measure(measure) if measure.what == Measured::Circumference => {
                if let Some(mm) = measure.mm {
                    self.circumference_mm = Some((mm, measure.mm_to.unwrap_or(mm)));
                }
            }
            Body::Count(count) if count.what == Counted::Leaves => self.n_leaves = Some((at.date(), count.n)),
            Body::Photo(photo) => {
                self.photos.push(PhotoOf { entry: entry.id, at: at.clone(), photo: photo.clone() });
            }
            Body::OffsetOf(link) => self.mother = Some(link.to),
            _ => {}
        }
    }

    fn take_act(&mut self, entry: EntryId, kind: ActKind, act: &Act, on: Date) {
        self.last_acts.insert(kind, on);
        match kind {
            // Two phones may both write down that a cycle began; a cycle of no days is none.
            ActKind::CycleBegan if self.cycle().began == Some(on) => {}
            ActKind::CycleBegan => {
                if let Some(last) = self.cycles.last_mut()
                    && last.ended.is_none()
                {
                    last.ended = Some(on);
                }
                // The silent cycle of a bulb that nothing was recorded for before is no cycle.
                if self.cycles.len() == 1 && self.cycles[0].is_blank() {
                    self.cycles.clear();
                }
                self.cycles.push(Cycle::new(Some(on)));
            }
            ActKind::CycleEnded => self.cycle_mut().ended = Some(on),
            ActKind::Left => {
                let cycle = self.cycle_mut();
                cycle.ended = Some(on);
                cycle.left_at = act.stage.map(|stage| (on, stage));
                if act.fit && cycle.fit.is_none() {
                    cycle.fit = Some(on);
                }
                self.fate = Fate::Left { on, how: act.how.unwrap_or(LeftHow::Withdrawn) };
            }
            ActKind::Died => {
                self.cycle_mut().ended = Some(on);
                self.fate = Fate::Died { on, cause: act.cause.clone().unwrap_or_default() };
            }
            ActKind::Missing => {
                self.cycle_mut().ended = Some(on);
                self.fate = Fate::Missing { on };
            }
            ActKind::FitToSell => {
                let cycle = self.cycle_mut();
                cycle.fit = cycle.fit.or(Some(on));
            }
            ActKind::PutAside => self.put_aside = Some(on),
            ActKind::Skipped | ActKind::Postponed | ActKind::JobDone => {
                self.jobs.push(JobNote { on, kind, job: act.job.clone(), until: act.until })
            }
            ActKind::Unpotted => {
                self.container = None;
                self.pots.push((on, None));
            }
            _ => {}
        }
        if matches!(kind, ActKind::Left | ActKind::Died | ActKind::Missing) {
            self.ends.push(End {
                entry,
                cycle: self.cycles.len().saturating_sub(1),
                fate: self.fate.clone(),
                stage: act.stage.filter(|_| kind == ActKind::Left),
                fit: act.fit && kind == ActKind::Left,
            });
        }
        if let Some(place) = act.place {
            self.place = Some(place);
            self.places.push((on, place));
        }
        if kind == ActKind::Potted
            && let Some(container) = act.container
        {
            self.container = Some((container, act.position));
            self.pots.push((on, Some(container)));
        }
        self.cycle_mut().acts.push((on, kind));
    }

    fn cycle_mut(&mut self) -> &mut Cycle {
        if self.cycles.is_empty() {
            self.cycles.push(Cycle::new(None));
        }
        // The line above made sure that there is one.
        let last = self.cycles.len() - 1;
        &mut self.cycles[last]
    }

    /// The cycle under way, or the last one.
    pub fn cycle(&self) -> &Cycle {
        &self.cycles[self.cycles.len() - 1]
    }

    /// The cycle that a run started on this day belongs to: the first that had not ended by then.
    pub fn cycle_on(&self, day: Date) -> &Cycle {
        let fits = |cycle: &&Cycle| cycle.ended.is_none_or(|ended| ended > day) || cycle.began == Some(day);
        self.cycles.iter().find(fits).unwrap_or_else(|| self.cycle())
    }

    /// The container it stood in on a day; when it had stood in none by then, the first one after it.
    pub fn container_on(&self, day: Date) -> Option<Id> {
        let by_then = self.pots.iter().rev().find(|(on, _)| *on <= day);
        by_then.or(self.pots.first()).and_then(|(_, pot)| *pot)
    }

    /// The place it stood in on a day; when it had stood in none by then, the first one after it.
    pub fn place_on(&self, day: Date) -> Option<Id> {
        let by_then = self.places.iter().rev().find(|(on, _)| *on <= day);
        by_then.or(self.places.first()).map(|(_, place)| *place)
    }

    /// The places it stood in from one day to another, in order, each once.
    pub fn places_between(&self, from: Date, to: Date) -> Vec<Id> {
        let before = self.places.iter().rev().find(|(on, _)| *on <= from);
        let within = self.places.iter();
        let within = within.filter(|(on, _)| from < *on && *on <= to);
        let mut places: Vec<Id> = Vec::new();
        for (_, place) in before.into_iter().chain(within) {
            if !places.contains(place) {
                places.push(*place);
            }
        }
        places
    }

    /// The last look of the present cycle.
    pub fn last_look(&self) -> Option<&Seen> {
        self.cycle().last_look()
    }

    /// What the grower calls it: the own name if there is one, else the tag.
    pub fn label(&self) -> &str {
        self.own_name.shown().or(self.tag.shown()).map_or("", String::as_str)
    }

    /// Whether it is here to be cared for.
    pub fn is_here(&self) -> bool {
        self.fate == Fate::Here
    }

    /// Size that lots are drawn by: the middle of the measured range in mm, 0 when never measured.
    pub fn size_mm(&self) -> i64 {
        self.circumference_mm.map_or(0, |(low, high)| (low + high) / 2)
    }
}

impl Cycle {
    fn is_blank(&self) -> bool {
        self.began.is_none() && self.looks.is_empty() && self.acts.iter().all(|(_, act)| *act == ActKind::Moved)
    }
}

fn resolve_shoots(cycles: &mut [Cycle], mark: &Mark) {
    let mut proofs: BTreeMap<Id, Vec<ShootKind>> = BTreeMap::new();
    for (shoot, kind) in &mark.proofs {
        proofs.entry(*shoot).or_default().push(*kind);
    }
    let calls = mark.calls.iter();
    let calls: BTreeMap<Id, (u32, Date)> = calls.map(|(id, p, again)| (*id, (*p, *again))).collect();
    for cycle in cycles {
        resolve_cycle(cycle, &proofs, &calls);
    }
}

fn resolve_cycle(cycle: &mut Cycle, proofs: &BTreeMap<Id, Vec<ShootKind>>, calls: &BTreeMap<Id, (u32, Date)>) {
    let mut shoots: Vec<Shoot> = Vec::new();
    let mut places: BTreeMap<Id, usize> = BTreeMap::new();
    let mut said: Vec<Vec<ShootKind>> = Vec::new();
    let mut split = std::collections::BTreeSet::new();
    for seen in &cycle.looks {
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
        let mut proved = proofs.get(&shoot.id).cloned().unwrap_or_default();
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
    cycle.shoots = shoots;
}
