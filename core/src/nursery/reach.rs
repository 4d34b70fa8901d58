//! What the looks of a cycle say about each stage: between which two it was reached, and whether they agree.

use std::collections::BTreeSet;

use super::cycle::{Cycle, Seen};
use crate::{
    calendar::Date,
    ledger::{
        body::{ActKind, GoalStage, Neck, ShootKind, ShootSeen, Stage},
        id::{EntryId, Id},
    },
};

impl Cycle {
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

    /// Whether the cycle ended blind: see [`Self::blind_since`].
    pub fn blind(&self) -> bool {
        self.blind_since().is_some()
    }

    /// The day on which the cycle ended, where it ended blind: a clear neck, or proved leaves only, at the last look at the
    /// neck on or after its end, and no scape ever. A bulb that was sold or died ended nothing by that; what it had ended
    /// blind before stays so.
    pub fn blind_since(&self) -> Option<Date> {
        let goes = |(_, act): &(Date, ActKind)| matches!(act, ActKind::Left | ActKind::Died | ActKind::Missing);
        let ended = match self.last(ActKind::CycleEnded) {
            Some(said) => said,
            None => self.ended.filter(|_| !self.acts.iter().any(goes))?,
        };
        let last = self.last_neck_look().filter(|seen| seen.at.date() >= ended)?;
        let without = self.verdict(last, GoalStage::ScapeInSight) == Verdict::Without;
        let sold_with = self.left_at.is_some_and(|(_, stage)| stage >= Stage::ScapeInSight);
        let had_one = self.scapes().next().is_some() || self.fit.is_some() || sold_with;
        (without && !had_one).then_some(ended)
    }

    fn kind_of(&self, seen: &ShootSeen) -> ShootKind {
        self.shoots.iter().find(|shoot| shoot.id == seen.id).map_or(seen.kind, |shoot| shoot.kind)
    }

    /// What one look says about a stage: nothing where the neck was not looked at, the opposite where it was clear, and of
    /// a shoot that may be a stalk only that it is not proved.
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

    /// Whether a look that shows less than looks before it does not contradict them: the stalk was cut or broke, or it had
    /// flowered and is gone. A stalk that is listed again and stands further back always contradicts them.
    fn is_explained(&self, seen: &Seen, past: &Past) -> bool {
        let Some(since) = past.since else {
            return false;
        };
        let back = |s: &ShootSeen| past.shoots.contains(&s.id);
        if seen.look.neck == Neck::Shoots && seen.look.shoots.iter().any(back) {
            return false;
        }
        let gone = |act: ActKind| matches!(act, ActKind::ScapeCut | ActKind::ScapeBroken);
        let gone = self.acts.iter().any(|(on, act)| gone(*act) && (since..=seen.at.date()).contains(on));
        gone || past.flowered
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
    shoots: BTreeSet<Id>,
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
