//! One bulb: its names, where it stands, its cycles, what became of it.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use serde::{Deserialize, Serialize};

use super::{
    cycle::{Cycle, Seen},
    in_full::PhotoInFull,
};
use crate::{
    calendar::{Date, Happened},
    ledger::{
        Ledger, Register,
        body::{ActKind, Body, Finding, LeftHow, Photo, Stage},
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
    let standing = ledger.in_force(subject);
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

/// Another id under which a bulb was entered, with the names given to it there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alias {
    /// The id.
    pub id: Id,
    /// Tag made by the program.
    pub tag: Option<String>,
    /// The grower's own name or number.
    pub own_name: Option<String>,
}

impl Alias {
    /// What it was called.
    pub fn label(&self) -> &str {
        self.own_name.as_ref().or(self.tag.as_ref()).map_or("", String::as_str)
    }
}

/// One bulb as its records tell it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bulb {
    /// The bulb; of several ids that were said to be one bulb, the smallest.
    pub id: Id,
    /// The others, with the names given to it under each.
    pub also: Vec<Alias>,
    /// Its lot.
    pub lot: Register<Id>,
    /// The tag made by the program.
    pub tag: Register<String>,
    /// The grower's own name or number.
    pub own_name: Register<String>,
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
    /// The day on which it is to be inspected again, as its last inspection says.
    pub inspect_again: Option<Date>,
    /// Its mother, if it is an offset.
    pub mother: Option<Id>,
    /// Last count of leaves, when and how many.
    pub n_leaves: Option<(Date, i64)>,
    /// Photos.
    pub photos: Vec<PhotoOf>,
    /// Last day of each kind of act, over all cycles.
    pub last_acts: BTreeMap<ActKind, Date>,
    /// Jobs done, skipped and postponed, in order.
    pub jobs: Vec<JobNote>,
    /// The last inspection.
    pub inspected: Option<Date>,
    /// The last inspection that found a sprout.
    pub sprouted: Option<Date>,
}

impl Bulb {
    /// The bulb as it was at the end of a day: what was seen, done and found out until then, under the names, in the
    /// lot and with the links that are known now.
    pub fn at_end_of(&self, ledger: &Ledger, day: Date) -> Option<Self> {
        let ids: Vec<Id> = self.ids();
        Self::fold_until(ledger, &ids, Some(day))
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

    /// The day since which it is known that no scape comes in its present growth cycle, which has ended blind; nothing once
    /// the next cycle has begun or the bulb lies at rest.
    pub fn blind_since(&self) -> Option<Date> {
        self.cycle().blind_since().filter(|_| self.is_here() && !self.cycle().resting())
    }

    /// Whether its present growth cycle has ended blind.
    pub fn is_blind(&self) -> bool {
        self.blind_since().is_some()
    }

    /// Size that lots are drawn by: the middle of the measured range in mm, 0 when never measured.
    pub fn size_mm(&self) -> i64 {
        self.circumference_mm.map_or(0, |(low, high)| (low + high) / 2)
    }
}

impl Bulb {
    /// Every id it was entered under, the one it goes by first.
    pub fn ids(&self) -> Vec<Id> {
        let also = self.also.iter().map(|also| also.id);
        [self.id].into_iter().chain(also).collect()
    }

    /// Whether an id is one of those it was entered under.
    pub fn is(&self, id: Id) -> bool {
        self.id == id || self.also.iter().any(|also| also.id == id)
    }

    /// The entries about it that stand, under whichever id, in order of when they happened.
    pub fn in_force<'a>(&self, ledger: &'a Ledger) -> Vec<&'a Arc<Entry>> {
        ledger.in_force_of_all(&self.ids())
    }

    /// The entries about it, replaced ones too, each with whether it stands, in order of when they happened.
    pub fn history<'a>(&self, ledger: &'a Ledger) -> Vec<(&'a Arc<Entry>, bool)> {
        let ids = self.ids();
        let mut entries: Vec<_> = ids.iter().flat_map(|id| ledger.history(*id)).collect();
        entries.sort_by(|a, b| a.order().cmp(&b.order()));
        entries.dedup_by_key(|entry| entry.id);
        let of_it: BTreeSet<Id> = ids.into_iter().collect();
        let mut decisions = ledger.decisions();
        let mut stands = |entry: &Entry| {
            let mut about = entry.envelope.about.iter();
            about.any(|id| of_it.contains(id) && decisions.is_in_force(entry, *id))
        };
        entries.into_iter().map(|entry| (entry, stands(entry))).collect()
    }

    /// Every tag it carries.
    pub fn tags(&self) -> impl Iterator<Item = &String> {
        let also = self.also.iter().filter_map(|also| also.tag.as_ref());
        self.tag.shown().into_iter().chain(also)
    }

    /// Every name of the grower's own.
    pub fn own_names(&self) -> impl Iterator<Item = &String> {
        let also = self.also.iter().filter_map(|also| also.own_name.as_ref());
        self.own_name.shown().into_iter().chain(also)
    }

    /// What it was called under an id.
    pub fn label_as(&self, id: Id) -> &str {
        let also = self.also.iter().find(|also| also.id == id);
        also.map_or(self.label(), Alias::label)
    }
}
