//! The one way to write: a command and the present state give entries, or a refusal.
//!
//! Nothing here is saved; the drafts are sealed when the transaction that saves them runs. A refusal leaves nothing
//! half done, because nothing is done before every check has passed.

pub mod act_fields;
mod bulbs;
mod contrary;
pub mod doubts;
mod forcings;
pub mod inspected;
mod joins;
pub mod mistakes;
mod pots;
mod take_back;
mod tries;
pub mod walked;

use std::collections::BTreeSet;

pub use bulbs::{Circumference, LotChoice, NewBulbs, Split};
pub use pots::PotInto;
pub use tries::{Allot, PlanTry, TrialChoice};

use take_back::take_back;

use crate::{
    calendar::{Date, Happened},
    call::proofs_of,
    error::{Error, Field, Result},
    forecast, json,
    ledger::{
        Ledger,
        body::{
            Act, ActKind, Body, Counted, Forcing, Leaves, Linked, Look, Measure, Measured, Nature, Neck, NurseryBody,
            Person, Sweep,
        },
        canonical::tidy_text,
        entry::Draft,
        id::{EntryId, Id, Ids, Noun},
    },
    limits::{self, Limit},
    nursery::{Bulb, State, aliases, bulb::Fate, contrary::Contrary, state::Disagreement},
    refusal::{
        BulbRefusal, DateRefusal, Gone, Missing, NumberRefusal, RecordRefusal, Refusal, StoredRefusal, TagRefusal,
    },
    tag::Tag,
};

pub use crate::trial::ready::GroupPlan;

/// When and by whom something is recorded, and where fresh ids come from.
#[derive(Clone, Debug)]
pub struct Moment {
    /// The present civil time on the device, to the minute.
    pub now: Happened,
    /// Source of ids, seeded by the device.
    pub ids: Ids,
}

impl Moment {
    /// The present civil day.
    pub fn today(&self) -> Date {
        self.now.date()
    }

    /// When something happened: now, or on an earlier day.
    fn on(&self, day: Option<Date>) -> Result<Happened> {
        match day {
            None => Ok(self.now.clone()),
            Some(day) if day == self.today() => Ok(self.now.clone()),
            Some(day) if day > self.today() => Err(Error::new(DateRefusal::NotYet(day)).at(Field::Date)),
            Some(day) => Ok(Happened::on(day)),
        }
    }
}

/// Something to record.
#[derive(Clone, Debug)]
pub enum Command {
    /// A nursery and the first person who records.
    Start {
        /// The nursery's name.
        name: String,
        /// The person, already drawn an id.
        person: Id,
        /// Initials of that person.
        initials: String,
    },
    /// A new value of a register; replaces what stands.
    Set {
        /// What it is about.
        subject: Id,
        /// Which of several registers of this kind.
        slot: String,
        /// The value.
        body: Body,
    },
    /// Bulbs in bulk.
    AddBulbs(NewBulbs),
    /// An observation, the same for all these things.
    Observe {
        /// Bulbs, a container, a place or a run.
        about: Vec<Id>,
        /// What was seen.
        body: Body,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// An observation of the same kind, its own for each of these: measured or counted bulb by bulb.
    ObserveEach {
        /// Bulbs with what was seen on each.
        each: Vec<(Id, Body)>,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// One look each.
    Look {
        /// Bulbs with what each showed.
        looks: Vec<(Id, Look)>,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Walked past all of these, nothing at any neck.
    Sweep {
        /// The place.
        place: Id,
        /// The bulbs.
        bulbs: Vec<Id>,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Something done to these, or that happened to them.
    Do {
        /// What.
        kind: ActKind,
        /// With what, where to, why.
        act: Act,
        /// Bulbs, exceptions already left out.
        about: Vec<Id>,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Bulbs potted into one container, saved together with the container when it is new.
    Pot {
        /// Into what.
        into: PotInto,
        /// Mix, place, note; the position of the first.
        act: Act,
        /// Bulbs in order of their positions.
        about: Vec<Id>,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Another lot for bulbs, many at a time.
    MoveToLot {
        /// The bulbs; those that are of this lot already stay as they are.
        bulbs: Vec<Id>,
        /// The lot.
        lot: LotChoice,
    },
    /// Bulbs, lots or places that were entered by mistake: from now on they are not in the nursery.
    Remove {
        /// What was entered by mistake.
        subjects: Vec<Id>,
    },
    /// Offsets split off their mothers: the act, and the new bulbs with tag, lot, place and mother.
    Split(Split),
    /// A link between two things, or the proof of a call.
    Link {
        /// The thing.
        about: Id,
        /// The link.
        body: Body,
    },
    /// The same nursery, started twice: what these devices wrote in another ledger was read into this one.
    Join {
        /// The other ledger.
        to: Id,
        /// The devices that wrote it.
        devices: Vec<Id>,
    },
    /// Whether two equal acts of one day are one act, recorded twice.
    SameAct {
        /// The later of the two.
        act: EntryId,
        /// What both are about.
        about: Vec<Id>,
        /// One act, or two.
        same: bool,
    },
    /// Whether two shoots of a bulb are one, seen by two phones.
    SameShoot {
        /// The bulb.
        bulb: Id,
        /// One shoot.
        shoot: Id,
        /// The other.
        to: Id,
        /// One shoot, or two.
        same: bool,
    },
    /// Two bulbs are one, entered twice: from now on the records of both are those of one bulb.
    SameBulb {
        /// One.
        bulb: Id,
        /// The other.
        to: Id,
    },
    /// A try, planned, started or typed in.
    PlanTry(Box<PlanTry>),
    /// Draw lots again, for a reason.
    DrawAgain {
        /// The run.
        run: Id,
        /// Why.
        reason: String,
        /// Seed of the new draw.
        seed: [u8; 32],
    },
    /// Start a planned run today or on an earlier day.
    StartRun {
        /// The run.
        run: Id,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Forcing without a trial, new or with another due window: its jobs follow, those done stay.
    Force {
        /// Which, when it is there already.
        forcing: Option<Id>,
        /// What it says now.
        body: Box<Forcing>,
    },
    /// Close a run.
    CloseRun {
        /// The run.
        run: Id,
        /// On which day, when not now.
        on: Option<Date>,
    },
    /// Say which of several values stands.
    Settle {
        /// The register.
        register: Disagreement,
        /// The entry whose value stands.
        choose: EntryId,
    },
    /// Say which of several records of a bulb that exclude each other holds.
    SettleContrary {
        /// The records.
        contrary: Contrary,
        /// Place among its sides of the one that holds.
        side: usize,
    },
    /// Replace what an entry says, for these of its subjects.
    PutRight {
        /// The entry.
        entry: EntryId,
        /// What it should have said.
        body: Body,
        /// When it happened.
        on: Option<Date>,
        /// For which of its subjects; all when empty.
        about: Vec<Id>,
    },
    /// A new tag made by the program, where the old one is lost or two bulbs carry the same.
    Retag {
        /// The bulb.
        bulb: Id,
    },
    /// What a forecast says of a due window while it is on the screen: once a day, and never as input to anything.
    KeepForecast {
        /// The window.
        offered: forecast::Offered,
        /// What is said of it.
        outlook: Box<forecast::Outlook>,
    },
    /// Several things that one form says: all of them or none.
    Together(Vec<Command>),
    /// Take entries back.
    TakeBack {
        /// The entries.
        entries: Vec<EntryId>,
        /// Why, if said.
        why: Option<String>,
    },
}

/// Turns a command into entries.
///
/// # Errors
///
/// Why, and beside which field; then nothing is recorded.
pub fn record(command: Command, ledger: &Ledger, state: &State, moment: &mut Moment) -> Result<Vec<Draft>> {
    let drafts = drafts(command, ledger, state, moment)?;
    for draft in &drafts {
        let said = json::read(&draft.body.to_canonical()?);
        let said = said.map_err(|why| Error::new(StoredRefusal::NotRecordable(Box::new(why))))?;
        check_lengths("", &said)?;
    }
    Ok(drafts)
}

/// Members that hold what someone wrote in own words; all other text is a name or shorter.
const IN_OWN_WORDS: &[&str] = &["answer", "cause", "condition", "note", "question", "reason", "text", "why", "words"];

/// No text is longer than a screen can show: own words as a note, all else as a name.
fn check_lengths(member: &str, said: &serde_json::Value) -> Result<()> {
    use serde_json::Value;
    match said {
        Value::String(text) if IN_OWN_WORDS.contains(&member) => {
            limits::NOTE_BYTES.check(text.len() as i64).map(|_| ())
        }
        Value::String(text) => (limits::NAME_CHARS.check(text.chars().count() as i64)).map(|_| ()),
        Value::Array(values) => values.iter().try_for_each(|value| check_lengths(member, value)),
        Value::Object(members) => members.iter().try_for_each(|(name, value)| check_lengths(name, value)),
        _ => return Ok(()),
    }
    .map_err(|why| match (why.field, Field::from_word(member)) {
        (None, Some(field)) => why.at(field),
        _ => why,
    })
}

fn drafts(command: Command, ledger: &Ledger, state: &State, moment: &mut Moment) -> Result<Vec<Draft>> {
    match command {
        Command::Start { name, person, initials } => start(ledger, moment, &name, person, &initials),
        Command::Set { subject, slot, body } => set(ledger, state, moment, subject, slot, body),
        Command::AddBulbs(new) => bulbs::add(&new, state, moment),
        Command::Observe { about, body, on } => observe(state, moment, about, body, on),
        Command::ObserveEach { each, on } => observe_each(state, moment, each, on),
        Command::Look { looks, on } => look(state, moment, looks, on),
        Command::Sweep { place, bulbs, on } => {
            let happened = moment.on(on)?;
            for id in &bulbs {
                here(state, *id, happened.date())?;
            }
            in_parts(bulbs, |part| Draft::new(part, happened.clone(), Body::Sweep(Sweep { place })))
        }
        Command::Do { kind, act, about, on } => act_on(state, moment, kind, act, about, on),
        Command::Pot { into, act, about, on } => {
            let act = tidied_act(act)?;
            pots::pot(state, moment, &into, &act, &about, on)
        }
        Command::MoveToLot { bulbs, lot } => mistakes::move_to_lot(ledger, state, moment, &bulbs, &lot),
        Command::Remove { subjects } => mistakes::remove(ledger, state, moment, &subjects),
        Command::Split(split) => bulbs::split(split, state, moment),
        Command::Link { about, body } => link(ledger, state, moment, about, body),
        Command::Join { to, devices } => joins::join(ledger, moment, to, devices),
        Command::SameAct { act, about, same } => same_act(ledger, moment, act, about, same),
        Command::SameShoot { bulb, shoot, to, same } => same_shoot(moment, bulb, shoot, to, same),
        Command::SameBulb { bulb, to } => {
            aliases::may_be_one(state, bulb, to)?;
            let body = Body::SameAs(Linked { to, note: None });
            // About both, so that the records of either name the other.
            Ok(vec![Draft::new(vec![bulb, to], moment.now.clone(), body)])
        }
        Command::PlanTry(plan) => tries::plan(*plan, ledger, state, moment),
        Command::DrawAgain { run, reason, seed } => tries::draw_again(ledger, state, moment, run, &reason, &seed),
        Command::Force { forcing, body } => forcings::force(ledger, state, moment, forcing, *body),
        Command::StartRun { run, on } => tries::start(ledger, state, moment, run, on),
        Command::CloseRun { run, on } => tries::close(state, moment, run, on),
        Command::Settle { register, choose } => settle(ledger, state, moment, &register, choose),
        Command::SettleContrary { contrary, side } => contrary::settle(ledger, state, &moment.now, &contrary, side),
        Command::PutRight { entry, body, on, about } => put_right(ledger, state, moment, entry, body, on, about),
        Command::Retag { bulb } => bulbs::retag(ledger, state, moment, bulb),
        Command::KeepForecast { offered, outlook } => {
            let drafts = forecast::log::to_keep(ledger, &offered, &outlook, &moment.now)?;
            if drafts.is_empty() {
                return Err(Error::new(RecordRefusal::NothingToKeep));
            }
            Ok(drafts)
        }
        Command::Together(commands) => {
            let mut drafts = Vec::new();
            for command in commands {
                drafts.extend(self::drafts(command, ledger, state, moment)?);
            }
            if drafts.is_empty() {
                return Err(Error::new(RecordRefusal::Unchanged));
            }
            Ok(drafts)
        }
        Command::TakeBack { entries, why } => {
            let entries = joins::with_what_was_joined(ledger, entries);
            for entry in entries.iter().filter_map(|id| ledger.get(*id)) {
                mistakes::gone_without(ledger, state, entry).try_for_each(|bulb| mistakes::may_go(state, bulb))?;
            }
            let drafts = take_back(ledger, &entries, moment.now.clone(), why.map(|why| tidy_text(&why)));
            if drafts.is_empty() {
                return Err(Error::new(RecordRefusal::NothingToTakeBack));
            }
            Ok(drafts)
        }
    }
}

fn start(ledger: &Ledger, moment: &Moment, name: &str, person: Id, initials: &str) -> Result<Vec<Draft>> {
    let name = named(name, Field::Name, Missing::NurseryName)?;
    let initials = named(initials, Field::Initials, Missing::OwnInitials)?;
    let nursery = Body::Nursery(NurseryBody { name, latitude_decideg: None });
    let person_body = Body::Person(Person { initials, name: String::new() });
    Ok(vec![
        Draft::new(vec![ledger.id()], moment.now.clone(), nursery),
        Draft::new(vec![person], moment.now.clone(), person_body),
    ])
}

fn set(ledger: &Ledger, state: &State, moment: &Moment, subject: Id, slot: String, body: Body) -> Result<Vec<Draft>> {
    if Body::nature_of(body.kind()) != Some(Nature::Register) {
        return Err(Error::new(RecordRefusal::NoRegister));
    }
    let mut body = checked(tidied(body))?;
    if let (Body::BulbName(named), "tag") = (&mut body, slot.as_str()) {
        named.name = free_tag(state, subject, &named.name)?;
    }
    let about = state.register_of(subject, body.kind());
    let mut draft = Draft::new(about, moment.now.clone(), body);
    draft.supersedes = to_replace(ledger, &draft, &slot);
    draft.slot = slot;
    Ok(vec![draft])
}

/// What a new value of a register has to replace, for everything that it is about.
fn to_replace(ledger: &Ledger, draft: &Draft, slot: &str) -> Vec<EntryId> {
    let of = |id: &Id| State::to_replace(ledger, *id, draft.body.kind(), slot);
    let mut replaced: Vec<EntryId> = draft.about.iter().flat_map(of).collect();
    replaced.sort();
    replaced.dedup();
    replaced
}

/// A tag as it is written, when it is one and no other bulb carries it.
fn free_tag(state: &State, bulb: Id, typed: &str) -> Result<String> {
    let tag: Tag = typed.parse().map_err(|why: Error| why.at(Field::Tag))?;
    let taken = state.with_tag(tag.as_str());
    if taken.iter().any(|other| !other.is(bulb)) {
        return Err(Error::new(TagRefusal::Taken(tag.grouped())).at(Field::Tag));
    }
    Ok(tag.as_str().to_owned())
}

fn observe(state: &State, moment: &Moment, about: Vec<Id>, body: Body, on: Option<Date>) -> Result<Vec<Draft>> {
    if Body::nature_of(body.kind()) != Some(Nature::Observation) {
        return Err(Error::new(RecordRefusal::NoObservation));
    }
    let happened = moment.on(on)?;
    let body = checked(tidied(body))?;
    for id in &about {
        if id.is(Noun::Bulb) && !after_the_end(&body) {
            here(state, *id, happened.date())?;
        }
    }
    in_parts(about, |part| Draft::new(part, happened.clone(), body.clone()))
}

fn observe_each(state: &State, moment: &Moment, each: Vec<(Id, Body)>, on: Option<Date>) -> Result<Vec<Draft>> {
    let mut drafts = Vec::with_capacity(each.len());
    for (id, body) in each {
        // One wrong number among many has to be found again.
        let name = || state.name_of(id).to_owned();
        let named = |why: Error| Error::new(Refusal::OfOne { name: name(), why: Box::new(why.refusal) });
        drafts.extend(observe(state, moment, vec![id], body, on).map_err(named)?);
    }
    some(drafts)
}

/// A photo, marks on one or a note may still be added to a bulb that is gone; what is seen on it may not.
fn after_the_end(body: &Body) -> bool {
    matches!(body, Body::Note(_) | Body::Photo(_) | Body::PhotoMarks(_) | Body::Shown(_))
}

fn look(state: &State, moment: &Moment, looks: Vec<(Id, Look)>, on: Option<Date>) -> Result<Vec<Draft>> {
    let happened = moment.on(on)?;
    let mut drafts = Vec::with_capacity(looks.len());
    for (id, look) in looks {
        here(state, id, happened.date())?;
        let body = checked(Body::Look(look))?;
        drafts.push(Draft::new(vec![id], happened.clone(), body));
    }
    some(drafts)
}

/// Texts of an act as a record may hold them.
fn tidied_act(mut act: Act) -> Result<Act> {
    for text in [&mut act.with, &mut act.whom, &mut act.cause, &mut act.note].into_iter().flatten() {
        *text = tidy_text(text);
    }
    if let Some(note) = &act.note {
        limits::NOTE_BYTES.check(note.len() as i64)?;
    }
    Ok(act)
}

fn no_place() -> Error {
    Error::new(Missing::MovedTo).at(Field::Place)
}

/// Whether an act begins a cycle when none is open: leaves are cut and bulbs lifted for a rest, too.
fn may_begin_cycle(kind: ActKind) -> bool {
    kind.begins_rest() || matches!(kind, ActKind::CutBack | ActKind::Lifted)
}

fn act_on(
    state: &State,
    moment: &Moment,
    kind: ActKind,
    mut act: Act,
    about: Vec<Id>,
    on: Option<Date>,
) -> Result<Vec<Draft>> {
    let happened = moment.on(on)?;
    for id in &about {
        if id.is(Noun::Bulb) {
            here(state, *id, happened.date())?;
        }
    }
    act = tidied_act(act)?;
    if kind == ActKind::Moved && act.place.is_none() {
        return Err(no_place());
    }
    let mut drafts = Vec::new();
    if may_begin_cycle(kind) {
        let begins = |id: &Id| state.bulb(id).is_some_and(|bulb| begins_cycle(bulb, happened.date()));
        let beginning: Vec<Id> = about.iter().copied().filter(begins).collect();
        if !beginning.is_empty() {
            let began = Act { from: Some(kind.word().to_owned()), ..Act::default() };
            drafts = in_parts(beginning, |part| {
                Draft::new(part, happened.clone(), Body::Act(ActKind::CycleBegan, began.clone()))
            })?;
        }
    }
    drafts.extend(in_parts(about, |part| Draft::new(part, happened.clone(), Body::Act(kind, act.clone())))?);
    Ok(drafts)
}

/// Whether a rest act on this day opens a cycle: none is open, or flowering of the open one is over.
fn begins_cycle(bulb: &Bulb, day: Date) -> bool {
    let cycle = bulb.cycle();
    let open = cycle.began.is_some() && cycle.ended.is_none_or(|ended| ended > day);
    !open || cycle.flowering().over.is_some_and(|over| over <= day)
}

fn link(ledger: &Ledger, state: &State, moment: &Moment, about: Id, body: Body) -> Result<Vec<Draft>> {
    if Body::nature_of(body.kind()) != Some(Nature::Link) {
        return Err(Error::new(RecordRefusal::NoLink));
    }
    if matches!(&body, Body::OffsetOf(link) | Body::SameAs(link) if state.canonical(link.to) == state.canonical(about))
    {
        return Err(Error::new(BulbRefusal::Itself));
    }
    let mut draft = Draft::new(vec![about], moment.now.clone(), body);
    if let Body::Proof(proof) = &draft.body {
        // A later proof replaces an earlier one: a shoot turns out to be one thing only.
        draft.about = state.register_of(about, draft.body.kind());
        let before = proofs_of(ledger, &draft.about, proof.shoot);
        if !before.is_empty() && before.iter().all(|entry| entry.body == draft.body) {
            return Err(Error::new(RecordRefusal::StandsAlready));
        }
        draft.supersedes = before.iter().map(|entry| entry.id).collect();
    }
    Ok(vec![draft])
}

fn same_act(ledger: &Ledger, moment: &Moment, act: EntryId, about: Vec<Id>, same: bool) -> Result<Vec<Draft>> {
    let known = ledger.get(act).filter(|entry| matches!(entry.body, Body::Act(..)));
    let mut decisions = ledger.decisions();
    let stands = |entry: &&std::sync::Arc<crate::ledger::entry::Entry>| {
        let of = |id: &Id| entry.envelope.about.contains(id) && decisions.is_in_force(entry, *id);
        about.iter().all(of)
    };
    if known.filter(stands).is_none() {
        return Err(Error::new(RecordRefusal::NoLongerStands));
    }
    let link = crate::ledger::body::SameAct { entry: act };
    let body = if same { Body::SameAct(link) } else { Body::TwoActs(link) };
    in_parts(about, |part| Draft::new(part, moment.now.clone(), body.clone()))
}

fn same_shoot(moment: &Moment, bulb: Id, shoot: Id, to: Id, same: bool) -> Result<Vec<Draft>> {
    if shoot == to {
        return Err(Error::new(BulbRefusal::SameShoot));
    }
    let link = crate::ledger::body::Linked { to, note: None };
    let body = if same { Body::SameAs(link) } else { Body::NotSame(link) };
    Ok(vec![Draft::new(vec![bulb, shoot], moment.now.clone(), body)])
}

fn settle(
    ledger: &Ledger,
    state: &State,
    moment: &Moment,
    register: &Disagreement,
    choose: EntryId,
) -> Result<Vec<Draft>> {
    let heads = state.heads(ledger, register);
    let chosen = heads.iter().find(|head| head.id == choose);
    let chosen = chosen.ok_or_else(|| Error::new(RecordRefusal::ValueNoLongerStands))?;
    let about = state.register_of(register.subject, &register.kind);
    let mut draft = Draft::new(about, moment.now.clone(), chosen.body.clone());
    draft.supersedes = to_replace(ledger, &draft, &register.slot);
    draft.slot.clone_from(&register.slot);
    Ok(vec![draft])
}

fn put_right(
    ledger: &Ledger,
    state: &State,
    moment: &Moment,
    entry: EntryId,
    body: Body,
    on: Option<Date>,
    about: Vec<Id>,
) -> Result<Vec<Draft>> {
    let old = ledger.get(entry).ok_or_else(|| Error::new(RecordRefusal::NotHere))?;
    if old.envelope.kind != body.kind() {
        return Err(Error::new(RecordRefusal::OtherKind));
    }
    let about = if about.is_empty() { old.envelope.about.clone() } else { about };
    if about.iter().any(|id| !old.envelope.about.contains(id) || !ledger.is_in_force(old, *id)) {
        return Err(Error::new(RecordRefusal::Replaced));
    }
    let day = on.unwrap_or(old.envelope.happened.date());
    let happened =
        if day == old.envelope.happened.date() { old.envelope.happened.clone() } else { moment.on(Some(day))? };
    let seen = Body::nature_of(body.kind()) == Some(Nature::Observation);
    for id in about.iter().filter(|id| seen && id.is(Noun::Bulb)) {
        if day > old.envelope.happened.date() && !after_the_end(&body) {
            here(state, *id, day)?;
        }
    }
    let body = match body {
        Body::Act(ActKind::Moved, act) if act.place.is_none() => return Err(no_place()),
        Body::Act(kind, act) => Body::Act(kind, tidied_act(act)?),
        body => checked(tidied(body))?,
    };
    let mut draft = Draft::new(about, happened, body);
    draft.slot = old.envelope.slot.clone();
    draft.supersedes = vec![entry];
    Ok(vec![draft])
}

/// The bulb, if it is known and was here on that day.
fn here(state: &State, id: Id, day: Date) -> Result<&Bulb> {
    let bulb = state.bulb(&id).ok_or_else(|| Error::new(BulbRefusal::NotHere))?;
    let gone = |how, on| Err(Error::new(BulbRefusal::Gone { label: bulb.label().to_owned(), how, on }));
    match &bulb.fate {
        Fate::Here => Ok(bulb),
        fate if fate.since().is_some_and(|since| day < since) => Ok(bulb),
        Fate::Died { on, .. } => gone(Gone::Died, *on),
        Fate::Left { on, .. } => gone(Gone::Left, *on),
        Fate::Missing { on } => gone(Gone::Missing, *on),
    }
}

/// Splits a long list of subjects over as many entries as it needs.
fn in_parts(about: Vec<Id>, make: impl Fn(Vec<Id>) -> Draft) -> Result<Vec<Draft>> {
    let mut known = BTreeSet::new();
    let about: Vec<Id> = about.into_iter().filter(|id| known.insert(*id)).collect();
    some(about.chunks(limits::ABOUT.max as usize).map(|part| make(part.to_vec())).collect())
}

fn some(drafts: Vec<Draft>) -> Result<Vec<Draft>> {
    if drafts.is_empty() {
        return Err(Error::new(Missing::Bulb));
    }
    Ok(drafts)
}

fn required(text: &str, field: Field, what: Missing) -> Result<String> {
    let text = tidy_text(text);
    if text.is_empty() { Err(Error::new(what).at(field)) } else { Ok(text) }
}

/// The same of what stands on labels and screens: no longer than they have room for.
fn named(text: &str, field: Field, what: Missing) -> Result<String> {
    let text = required(text, field, what)?;
    short(&text, field)?;
    Ok(text)
}

/// Refuses a name beside its field that is longer than labels and screens have room for.
fn short(text: &str, field: Field) -> Result<()> {
    limits::NAME_CHARS.check(text.chars().count() as i64).map_err(|why| why.at(field))?;
    Ok(())
}

/// The limit that a measure has to keep.
pub fn limit_of(what: Measured) -> &'static Limit {
    match what {
        Measured::Circumference => &limits::CIRCUMFERENCE_MM,
        Measured::Height => &limits::HEIGHT_MM,
        Measured::NeckWidth => &limits::NECK_MM,
        Measured::LeafLength => &limits::LEAF_MM,
        Measured::Weight => &limits::WEIGHT_G,
    }
}

/// Texts as a record may hold them.
fn tidied(mut body: Body) -> Body {
    let texts: Vec<&mut String> = match &mut body {
        Body::Nursery(b) => vec![&mut b.name],
        Body::BulbName(b) => vec![&mut b.name],
        Body::Person(b) => vec![&mut b.initials, &mut b.name],
        Body::Place(b) => b.covers.iter_mut().map(|cover| &mut cover.what).chain([&mut b.name]).collect(),
        Body::Lot(b) => vec![&mut b.name, &mut b.cultivar, &mut b.supplier, &mut b.grade],
        Body::Container(b) => vec![&mut b.name],
        Body::Recipe(b) => b.parts.iter_mut().map(|part| &mut part.what).chain([&mut b.name]).collect(),
        Body::Note(b) => vec![&mut b.text],
        Body::Inspection(b) => b.note.iter_mut().collect(),
        Body::Question(b) => vec![&mut b.text],
        Body::Treatment(b) => vec![&mut b.name],
        Body::DueWindow(b) => vec![&mut b.name],
        Body::CarePlan(b) => vec![&mut b.words, &mut b.source],
        Body::Forcing(b) => vec![&mut b.name],
        _ => Vec::new(),
    };
    for text in texts {
        *text = tidy_text(text);
    }
    body
}

/// Checks the bounds of what a body says.
fn checked(body: Body) -> Result<Body> {
    match &body {
        Body::Measure(measure) => check_measure(measure)?,
        Body::Count(count) => {
            let limit = match count.what {
                Counted::Leaves => &limits::LEAVES,
                Counted::Scapes => &limits::SCAPES,
                Counted::Florets => &limits::FLORETS,
            };
            limit.check(count.n)?;
        }
        Body::Light(light) => {
            if light.ppfd_umol.is_none() && light.lux.is_none() && light.passes_permille.is_none() {
                return Err(Error::new(Missing::Light).at(Field::Light));
            }
            for ppfd in [light.ppfd_umol, light.open_ppfd_umol].into_iter().flatten() {
                limits::PPFD.check(ppfd)?;
            }
            for lux in [light.lux, light.open_lux].into_iter().flatten() {
                limits::LUX.check(lux)?;
            }
            light.passes_permille.map(|value| limits::PASSES_PERMILLE.check(value)).transpose()?;
        }
        Body::Climate(climate) => {
            let degrees = [climate.temperature_dc, climate.lowest_dc, climate.highest_dc];
            if degrees.iter().all(Option::is_none) && climate.humidity_percent.is_none() {
                return Err(Error::new(Missing::Climate).at(Field::Temperature));
            }
            for temperature_dc in degrees.into_iter().flatten() {
                limits::TEMPERATURE_DC.check(temperature_dc)?;
            }
            if climate.lowest_dc.zip(climate.highest_dc).is_some_and(|(lowest, highest)| lowest > highest) {
                return Err(Error::new(NumberRefusal::RangeBackwards).at(Field::Temperature));
            }
            climate.humidity_percent.map(|value| limits::HUMIDITY_PCT.check(value)).transpose()?;
        }
        Body::Note(note) => {
            limits::NOTE_BYTES.check(note.text.len() as i64)?;
            if note.text.is_empty() {
                return Err(Error::new(Missing::Note).at(Field::Note));
            }
        }
        Body::Inspection(inspection) if inspection.findings.is_empty() && inspection.checked.is_empty() => {
            return Err(Error::new(Missing::Findings).at(Field::Findings));
        }
        Body::Look(look) => check_look(look)?,
        Body::PhotoMarks(marks) => crate::sight::marks::check(marks)?,
        Body::CarePlan(job) => crate::care::plan::check(job)?,
        Body::BulbName(b) if b.name.is_empty() => {
            return Err(Error::new(Missing::BulbName).at(Field::Name));
        }
        Body::Nursery(b) => {
            named(&b.name, Field::Name, Missing::NurseryName)?;
            if let Some(latitude) = b.latitude_decideg {
                limits::LATITUDE_DECIDEG.check(latitude).map_err(|why| why.at(Field::Latitude))?;
            }
        }
        Body::Place(b) => {
            named(&b.name, Field::Name, Missing::PlaceName)?;
            for cover in &b.covers {
                limits::SHADE_PCT.check(i64::from(cover.blocks_percent))?;
            }
        }
        Body::Lot(b) => {
            named(&b.name, Field::Name, Missing::LotName)?;
            short(&b.cultivar, Field::Lot)?;
        }
        Body::Container(b) => {
            named(&b.name, Field::Name, Missing::ContainerName)?;
            let sizes = [b.inner_width_mm, b.inner_length_mm, b.base_width_mm, b.base_length_mm, b.inner_height_mm];
            for mm in sizes.into_iter().flatten() {
                limits::CONTAINER_MM.check(mm).map_err(|why| why.at(Field::Width))?;
            }
        }
        Body::Recipe(b) => crate::potting::check(b)?,
        Body::Forcing(b) => forcings::check(b)?,
        Body::DueWindow(b) if b.from > b.to => {
            return Err(Error::new(DateRefusal::WindowBackwards).at(Field::Window));
        }
        Body::Run(b) => {
            limits::LOOK_INTERVAL_DAYS.check(i64::from(b.look_interval_days)).map_err(|why| why.at(Field::Looks))?;
        }
        Body::Person(b) => {
            named(&b.initials, Field::Initials, Missing::Initials)?;
        }
        _ => {}
    }
    Ok(body)
}

fn check_measure(measure: &Measure) -> Result<()> {
    let limit = limit_of(measure.what);
    let value = if measure.what == Measured::Weight { measure.g } else { measure.mm };
    let value = value.ok_or_else(|| Error::new(Missing::Measured).at(Field::Number))?;
    limit.check(value)?;
    if let Some(to) = measure.mm_to {
        limit.check(to)?;
        if to < value {
            return Err(Error::new(NumberRefusal::RangeBackwards).at(Field::Number));
        }
    }
    Ok(())
}

fn check_look(look: &Look) -> Result<()> {
    match (look.leaves, look.n_leaves) {
        (Leaves::Count, None) => {
            return Err(Error::new(Missing::Leaves).at(Field::Leaves));
        }
        (_, Some(n)) => {
            limits::LEAVES.check(i64::from(n))?;
        }
        _ => {}
    }
    for shoot in &look.shoots {
        if let Some(height_mm) = shoot.height_mm {
            limits::HEIGHT_MM.check(i64::from(height_mm))?;
        }
    }
    match (look.neck, look.shoots.is_empty()) {
        (Neck::Shoots, true) => Err(Error::new(Missing::Shoots)),
        (Neck::Clear | Neck::NotLookedAt, false) => Err(Error::new(BulbRefusal::ClearWithShoots)),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests;
