//! A small text language for ledgers in tests: one line an entry, `day who kind subjects fields`.
//!
//! Days count from 2027-01-01 and may be negative; every person writes on a phone of their own. A line may begin with
//! `name:`, and a later line replaces that entry with `~name`. Spaces within words of the records are written `-`.
//! `#` begins a remark. Subjects are ids joined by commas.
//!
//! | kind | fields |
//! |---|---|
//! | `place`, `lot`, `container` | name; for a lot `apart=day` |
//! | `bulb` | lot, then `in=place`, `size=mm` |
//! | `tag`, `own` | the name |
//! | `question` | groups joined by commas, then `factor=name/unit`, `place` when it is applied to whole places |
//! | `group` | trial, name, then `control`, or factor`=`level`/`unit |
//! | `run` | trial, start day, `every=days`, `typed` |
//! | `rule` | `by` or `window`, stage, then `container`, `leave-out-dead`, `test=…` |
//! | `due` | last day, or first and last day |
//! | `allot` | `drawn`, `hand` or `recorded`, then group`=`units, `blocks=0,1,…`, `container`, `again=reason` |
//! | `tallies` | group`=`in time`,`not`,`died`,`left |
//! | `look` | `clear`, `unseen` or shoots `id/kind/stage`, with `/mm` for a height, then `leaves=…` |
//! | `sweep` | place |
//! | `proof` | shoot, kind |
//! | `call` | shoot, permille, day to look again |
//! | `note` | words |
//! | `json` | kind, then the body as JSON |
//! | `take-back` | nothing; `~name` says what |
//! | any act | `place=`, `container=`, `how=`, `stage=`, `cause=`, `until=`, `job=`, `fit` |
//!
//! Misuse panics with the line: these are tests.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a wrong fixture has to stop its test")]

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    calendar::{Date, Happened},
    ledger::{
        Ledger,
        body::{
            Act, ActKind, Allotment, AppliedTo, Batch, Body, BulbBody, Call, ContainerBody, ContainerKind, DiedAs,
            DueWindow, Factor, Family, Forcing, Goal, GoalStage, Leaves, LeftHow, Level, Look, LotBody, Measure,
            Measured, Named, Neck, Note, PlaceBody, PlaceKind, Proof, Question, Rule, RunBody, ShootKind, ShootSeen,
            Side, Stage, Sweep, TakeBack, Tallies, Tally, Test, Treatment, Unit, Way,
        },
        entry::{Draft, Entry, Envelope, HybridTime},
        id::{EntryId, Id, Ids},
    },
    nursery::State,
    record::{Command, Moment, record},
};

/// The day this many days after 2027-01-01.
pub fn day(n: i64) -> Date {
    Date::new(2027, 1, 1).unwrap().add_days(n).unwrap()
}

/// A plan without a trial for these days, of no bulbs yet.
pub fn forcing(name: &str, from: i64, to: i64) -> Forcing {
    Forcing {
        name: name.to_owned(),
        from: day(from),
        to: day(to),
        stage: GoalStage::FitToSell,
        wanted: 1,
        sure_permille: 900,
        rest_weeks: 8,
        way: None,
        treatment: String::new(),
        lot: None,
        batches: Vec::new(),
        given_up: false,
    }
}

/// A batch of bulbs, by their names joined by commas: water stopped on a day, laid to rest three weeks later, the rest ended
/// on another day.
pub fn batch(bulbs: &str, stop_water: i64, rest_end: i64) -> Batch {
    Batch {
        bulbs: bulbs.split(',').map(id).collect(),
        stop_water: Some(day(stop_water)),
        lay_to_rest: Some(day(stop_water + 21)),
        rest_end: day(rest_end),
        first_look: day(rest_end + 18),
    }
}

/// An id, which has to be one.
pub fn id(text: &str) -> Id {
    Id::parse(text).unwrap()
}

/// A ledger under construction.
#[derive(Clone, Debug)]
pub struct World {
    /// The ledger.
    pub ledger: Ledger,
    named: BTreeMap<String, EntryId>,
    lines: BTreeMap<Id, u64>,
    n_written: u64,
}

impl World {
    /// A ledger of these lines.
    pub fn of(text: &str) -> Self {
        Self::in_ledger("l_1", text)
    }

    /// Another ledger of these lines.
    pub fn in_ledger(ledger: &str, text: &str) -> Self {
        let mut world =
            Self { ledger: Ledger::new(id(ledger)), named: BTreeMap::new(), lines: BTreeMap::new(), n_written: 0 };
        world.add(text);
        world
    }

    /// The same with further lines.
    #[must_use]
    pub fn and(mut self, text: &str) -> Self {
        self.add(text);
        self
    }

    /// Adds lines.
    pub fn add(&mut self, text: &str) {
        for line in text.lines() {
            let line = line.split('#').next().unwrap_or("").trim();
            if !line.is_empty() {
                self.add_line(line);
            }
        }
    }

    /// The nursery folded from it.
    pub fn state(&self) -> State {
        State::fold(&self.ledger)
    }

    /// The entry of this name; the last one when its line wrote several.
    pub fn named(&self, name: &str) -> EntryId {
        self.named[name]
    }

    /// Saves a plan with its jobs, or as it is to stand from now on, as the program does; and gives its name.
    pub fn force(&mut self, on: i64, forcing: Option<Id>, meant: Forcing) -> Id {
        let mut moment = Moment { now: Happened::on(day(on)), ids: Ids::new([self.n_written as u8; 32]) };
        let body = Box::new(meant);
        let command = Command::Force { forcing, body };
        let drafts = record(command, &self.ledger, &self.state(), &mut moment).unwrap();
        let subject = drafts[0].about[0];
        self.save("mia", drafts);
        subject
    }

    /// Seals drafts as this person's phone would and adds them.
    pub fn save(&mut self, who: &str, drafts: Vec<Draft>) -> Vec<EntryId> {
        let written = drafts.into_iter().map(|draft| self.write(who, draft));
        written.collect()
    }

    fn write(&mut self, who: &str, draft: Draft) -> EntryId {
        let device = id(&format!("d_{who}"));
        self.n_written += 1;
        let line = self.lines.entry(device).or_default();
        *line += 1;
        let days = u64::try_from(day(-10_000).days_until(draft.happened.date())).unwrap();
        let envelope = Envelope {
            about: draft.about,
            device,
            form: id(&format!("f_{}", self.n_written)),
            happened: draft.happened,
            hlc: HybridTime {
                // Written on the day it happened, in the order of the lines.
                ms: 900_000_000_000 + days * 86_400_000 + self.n_written,
                counter: 0,
            },
            kind: draft.body.kind().to_owned(),
            ledger: self.ledger.id(),
            line: *line,
            slot: draft.slot,
            supersedes: draft.supersedes,
            v: 1,
            who: id(&format!("p_{who}")),
        };
        let entry = Arc::new(Entry::seal(envelope, draft.body).unwrap());
        let written = entry.id;
        assert!(self.ledger.insert(entry), "the same entry twice");
        written
    }

    fn add_line(&mut self, line: &str) {
        let mut words: Vec<&str> = line.split_whitespace().collect();
        let name = words[0].strip_suffix(':').map(str::to_owned);
        if name.is_some() {
            words.remove(0);
        }
        let replaced: Vec<EntryId> =
            words.iter().filter_map(|word| word.strip_prefix('~')).map(|name| self.named[name]).collect();
        words.retain(|word| !word.starts_with('~'));
        let [when, who, kind, about, fields @ ..] = &words[..] else {
            panic!("too few words: {line}");
        };
        let happened = Happened::on(day(when.parse().unwrap()));
        let about: Vec<Id> = ids(about);
        let fields = Fields(fields);
        let mut drafts = Vec::new();
        for (slot, body) in bodies(kind, &fields, line) {
            let mut draft = Draft::new(about.clone(), happened.clone(), body);
            draft.slot = slot.to_owned();
            draft.supersedes.clone_from(&replaced);
            drafts.push(draft);
        }
        for written in self.save(who, drafts) {
            if let Some(name) = &name {
                self.named.insert(name.clone(), written);
            }
        }
    }
}

fn ids(list: &str) -> Vec<Id> {
    list.split(',').map(id).collect()
}

fn spaced(word: &str) -> String {
    word.replace('-', " ")
}

/// The words after the subjects.
struct Fields<'a>(&'a [&'a str]);

impl<'a> Fields<'a> {
    fn word(&self, at: usize) -> &'a str {
        self.0[at]
    }

    fn has(&self, word: &str) -> bool {
        self.0.contains(&word)
    }

    fn value(&self, key: &str) -> Option<&'a str> {
        let of = |word: &&'a str| word.strip_prefix(key)?.strip_prefix('=');
        self.0.iter().find_map(of)
    }

    fn pairs(&self) -> impl Iterator<Item = (&'a str, &'a str)> + '_ {
        self.0.iter().filter_map(|word| word.split_once('='))
    }

    fn days(&self) -> Vec<Date> {
        let whole = self.0.iter().filter_map(|word| word.parse().ok());
        whole.map(day).collect()
    }
}

fn bodies(kind: &str, f: &Fields<'_>, line: &str) -> Vec<(&'static str, Body)> {
    if let Some(act) = ActKind::from_word(kind) {
        return vec![("", Body::Act(act, act_of(f)))];
    }
    if kind == "bulb" {
        return bulb_of(f);
    }
    let body = match kind {
        "tag" | "own" => {
            let name = f.0.join(" ");
            let slot = if kind == "tag" { "tag" } else { "own" };
            return vec![(slot, Body::BulbName(Named { name }))];
        }
        "question" | "group" | "run" | "rule" | "due" | "allot" | "tallies" => try_of(kind, f),
        "place" => Body::Place(PlaceBody {
            name: f.word(0).to_owned(),
            kind: PlaceKind::Bench,
            covers: Vec::new(),
            given_up: false,
        }),
        "lot" => Body::Lot(LotBody {
            name: f.word(0).to_owned(),
            cultivar: f.word(0).to_owned(),
            supplier: String::new(),
            grade: String::new(),
            received: None,
            apart_until: f.value("apart").map(|n| day(n.parse().unwrap())),
        }),
        "container" => {
            Body::Container(ContainerBody { name: f.word(0).to_owned(), ..ContainerBody::of(ContainerKind::Pot) })
        }
        "look" => Body::Look(look_of(f)),
        "sweep" => Body::Sweep(Sweep { place: id(f.word(0)) }),
        "proof" => Body::Proof(Proof { shoot: id(f.word(0)), kind: ShootKind::from_word(f.word(1)).unwrap() }),
        "call" => Body::Call(Call {
            shoot: id(f.word(0)),
            answers: Vec::new(),
            scape_permille: f.word(1).parse().unwrap(),
            method: "test/1".to_owned(),
            again: day(f.word(2).parse().unwrap()),
        }),
        "note" => Body::Note(Note { text: f.0.join(" ") }),
        "json" => match Body::read(f.word(0), 1, &f.0[1..].join(" ")) {
            Body::Unknown => panic!("not a body: {line}"),
            body => body,
        },
        "take-back" => Body::TakeBack(TakeBack { why: None }),
        _ => panic!("no such kind: {line}"),
    };
    vec![("", body)]
}

fn bulb_of(f: &Fields<'_>) -> Vec<(&'static str, Body)> {
    let mut bodies = vec![("", Body::Bulb(BulbBody { lot: id(f.word(0)) }))];
    if let Some(place) = f.value("in") {
        let act = Act { place: Some(id(place)), ..Act::default() };
        bodies.push(("", Body::Act(ActKind::Moved, act)));
    }
    if let Some(mm) = f.value("size") {
        let measure =
            Measure { what: Measured::Circumference, mm: Some(mm.parse().unwrap()), mm_to: None, g: None, at: None };
        bodies.push(("", Body::Measure(measure)));
    }
    bodies
}

fn act_of(f: &Fields<'_>) -> Act {
    Act {
        place: f.value("place").map(id),
        container: f.value("container").map(id),
        how: f.value("how").map(|how| LeftHow::from_word(how).unwrap()),
        stage: f.value("stage").map(|stage| Stage::from_word(&spaced(stage)).unwrap()),
        fit: f.has("fit"),
        cause: f.value("cause").map(spaced),
        until: f.value("until").map(|n| day(n.parse().unwrap())),
        job: f.value("job").map(str::to_owned),
        ..Act::default()
    }
}

fn look_of(f: &Fields<'_>) -> Look {
    let shoots: Vec<ShootSeen> =
        f.0.iter()
            .filter(|word| word.contains('/'))
            .zip(1..)
            .map(|(word, ordinal)| {
                let parts: Vec<&str> = word.split('/').collect();
                ShootSeen {
                    id: id(parts[0]),
                    ordinal,
                    side: Side::NotSaid,
                    kind: ShootKind::from_word(parts[1]).unwrap(),
                    stage: Stage::from_word(&spaced(parts[2])).unwrap(),
                    height_mm: parts.get(3).map(|mm| mm.parse().unwrap()),
                }
            })
            .collect();
    let leaves = f.value("leaves").map(spaced);
    Look {
        neck: if f.has("unseen") {
            Neck::NotLookedAt
        } else if f.has("clear") {
            Neck::Clear
        } else {
            Neck::Shoots
        },
        leaves: leaves.map_or(Leaves::NotLookedAt, |word| Leaves::from_word(&word).unwrap()),
        n_leaves: None,
        shoots,
        way: Way::Each,
        walk: None,
    }
}

fn try_of(kind: &str, f: &Fields<'_>) -> Body {
    let factor = f.value("factor").unwrap_or("what/");
    let factor = factor.split_once('/').unwrap_or((factor, ""));
    match kind {
        "question" => Body::Question(Question {
            text: "which is better".to_owned(),
            ready: String::new(),
            factors: vec![Factor {
                name: factor.0.to_owned(),
                unit: factor.1.to_owned(),
                applied_to: if f.has("place") { AppliedTo::Place } else { AppliedTo::Bulb },
            }],
            groups: ids(f.word(0)),
        }),
        "group" => Body::Treatment(Treatment {
            trial: id(f.word(0)),
            name: f.word(1).to_owned(),
            levels: f.pairs().map(level).collect(),
            control: f.has("control"),
        }),
        "run" => Body::Run(RunBody {
            trial: id(f.word(0)),
            ordinal: 1,
            start: day(f.word(1).parse().unwrap()),
            look_interval_days: f.value("every").map_or(7, |n| n.parse().unwrap()),
            typed_in: f.has("typed"),
        }),
        "rule" => Body::Rule(rule_of(f)),
        "due" => {
            let days = f.days();
            Body::DueWindow(DueWindow { name: String::new(), from: days[0], to: days[days.len() - 1] })
        }
        "allot" => Body::Allotment(allotment_of(f)),
        _ => Body::Tallies(Tallies { groups: f.pairs().map(tally).collect() }),
    }
}

fn level((factor, level): (&str, &str)) -> Level {
    let (text, unit) = level.split_once('/').unwrap_or((level, ""));
    let value: Option<i64> = text.parse().ok();
    Level {
        factor: factor.to_owned(),
        text: format!("{text} {unit}").trim().to_owned(),
        value_milli: value.map(|n| n * 1000),
    }
}

fn rule_of(f: &Fields<'_>) -> Rule {
    Rule {
        goal: match f.word(0) {
            "by" => Goal::By,
            _ => Goal::InWindow,
        },
        stage: GoalStage::from_word(&spaced(f.word(1))).unwrap(),
        unit: if f.has("container") { Unit::Container } else { Unit::Bulb },
        died: if f.has("leave-out-dead") { DiedAs::LeftOut } else { DiedAs::NotInTime },
        test: f.value("test").map_or(Test::Boschloo, |word| Test::from_word(&spaced(word)).unwrap()),
        family: f.value("family").map(|word| Family::from_word(&spaced(word)).unwrap()),
    }
}

fn allotment_of(f: &Fields<'_>) -> Allotment {
    let mut groups = Vec::new();
    let mut units = Vec::new();
    let mut arms = Vec::new();
    for (group, members) in f.pairs().filter(|(key, _)| key.starts_with("gr_")) {
        for unit in members.split(',').filter(|unit| !unit.is_empty()) {
            units.push(id(unit));
            arms.push(groups.len() as u32);
        }
        groups.push(id(group));
    }
    let blocks = match f.value("blocks") {
        Some(list) => list.split(',').map(|n| n.parse().unwrap()).collect(),
        None => vec![0; units.len()],
    };
    Allotment {
        unit: if f.has("container") { Unit::Container } else { Unit::Bulb },
        method: match f.word(0) {
            "drawn" => crate::trial::lots::METHOD,
            "hand" => "by hand",
            _ => "as recorded",
        }
        .to_owned(),
        seed: if f.has("drawn") { "00".repeat(32) } else { String::new() },
        groups,
        units,
        arms,
        blocks,
        sizes_mm: Vec::new(),
        reason: f.value("again").map(spaced).unwrap_or_default(),
        cultivars: Vec::new(),
        class_length: None,
    }
}

fn tally((group, counts): (&str, &str)) -> Tally {
    let n: Vec<u32> = counts.split(',').map(|n| n.parse().unwrap()).collect();
    Tally { group: id(group), n_in_time: n[0], n_not: n[1], n_died: n[2], n_left: n[3] }
}
