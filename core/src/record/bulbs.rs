//! Bulbs in bulk: lot, place, tags, sizes, own names and containers in one form.

use std::collections::BTreeSet;

use super::{Moment, named, short};
use crate::{
    calendar::Date,
    error::{Error, Field, Result},
    ledger::{
        Ledger,
        body::{Act, ActKind, Body, BulbBody, Linked, LotBody, Measure, Measured, Named},
        canonical::tidy_text,
        entry::Draft,
        id::{Id, Noun},
    },
    limits,
    nursery::State,
    refusal::{BulbRefusal, Missing, NumberRefusal},
    tag::{BODY_LENGTH, Tag},
};

/// The lot that new bulbs are of.
#[derive(Clone, Debug)]
pub enum LotChoice {
    /// One that is known.
    Known(Id),
    /// A new one.
    New(LotBody),
}

/// What is known of the circumference of new bulbs.
#[derive(Clone, Debug)]
pub enum Circumference {
    /// Not measured.
    Unknown,
    /// All the same grade: from and to, in mm.
    Range(i64, i64),
    /// Each by itself, in mm, in order.
    Each(Vec<i64>),
}

impl Circumference {
    /// Every number that was typed, mm, in order.
    pub fn typed_mm(&self) -> Vec<i64> {
        match self {
            Self::Unknown => Vec::new(),
            Self::Range(low, high) => vec![*low, *high],
            Self::Each(each) => each.clone(),
        }
    }
}

/// Bulbs to add.
#[derive(Clone, Debug)]
pub struct NewBulbs {
    /// Their lot.
    pub lot: LotChoice,
    /// How many.
    pub n_bulbs: usize,
    /// Their sizes.
    pub circumference: Circumference,
    /// Where they stand.
    pub place: Id,
    /// The grower's own names, in order; empty or as many as bulbs.
    pub own_names: Vec<String>,
    /// Containers they stand in, with how many each takes, in order; empty for none.
    pub containers: Vec<(Id, usize)>,
}

/// Offsets to split off.
#[derive(Clone, Debug)]
pub struct Split {
    /// The mothers.
    pub mothers: Vec<Id>,
    /// How many new bulbs each gives; 0 when the offsets are not kept.
    pub n_each: usize,
    /// The grower's own name for the new bulb, where there is one; empty for none.
    pub own_name: String,
    /// Where the new bulbs stand; where the mother stands when nothing is said.
    pub place: Option<Id>,
    /// What else is said of the act.
    pub act: Act,
    /// On which day, when not now.
    pub on: Option<Date>,
}

/// The act at each mother, and each new bulb with tag, the mother's lot, the link to her, and a place.
pub(super) fn split(split: Split, state: &State, moment: &mut Moment) -> Result<Vec<Draft>> {
    let happened = moment.on(split.on)?;
    let act = super::tidied_act(split.act)?;
    if split.mothers.is_empty() {
        return Err(Error::new(Missing::Bulb));
    }
    if split.n_each == 0 {
        return super::in_parts(split.mothers, |part| {
            let body = Body::Act(ActKind::OffsetSplit, act.clone());
            Draft::new(part, happened.clone(), body)
        });
    }
    let n_bulbs = split.mothers.len().saturating_mul(split.n_each);
    limits::BULBS_AT_ONCE.check(n_bulbs as i64).map_err(|why| why.at(Field::Offsets))?;
    let own_name = tidy_text(&split.own_name);
    short(&own_name, Field::Own)?;
    if !own_name.is_empty() && n_bulbs > 1 {
        return Err(Error::new(BulbRefusal::OneNameForSeveral).at(Field::Own));
    }
    let mut tags = fresh_tags(state, moment, n_bulbs)?.into_iter();
    let mut drafts = Vec::new();
    for mother in split.mothers {
        let known = super::here(state, mother, happened.date())?;
        let of_none = || Error::new(Missing::LotOf(known.label().to_owned())).at(Field::Lot);
        let lot = known.lot.shown().copied().ok_or_else(of_none)?;
        let place = split.place.or(known.place);
        for tag in tags.by_ref().take(split.n_each) {
            let offset = moment.ids.draw(Noun::Bulb);
            let act = Act { offset: Some(offset), ..act.clone() };
            let mut draft = |about, body| drafts.push(Draft::new(vec![about], happened.clone(), body));
            draft(mother, Body::Act(ActKind::OffsetSplit, act));
            draft(offset, Body::Bulb(BulbBody { lot }));
            draft(offset, Body::OffsetOf(Linked { to: mother, note: None }));
            if place.is_some() {
                let moved = Act { place, ..Act::default() };
                draft(offset, Body::Act(ActKind::Moved, moved));
            }
            drafts.push(name(offset, "tag", tag.as_str(), &happened));
            if !own_name.is_empty() {
                drafts.push(name(offset, "own", &own_name, &happened));
            }
        }
    }
    Ok(drafts)
}

pub(super) fn add(new: &NewBulbs, state: &State, moment: &mut Moment) -> Result<Vec<Draft>> {
    limits::BULBS_AT_ONCE.check(new.n_bulbs as i64)?;
    check_place(state, new.place)?;
    check_sizes(new)?;
    check_names(new)?;
    let now = moment.now.clone();
    let mut drafts = Vec::new();
    let (lot, made) = new_lot(&new.lot, state, moment)?;
    drafts.extend(made);
    let bulbs: Vec<Id> = (0..new.n_bulbs).map(|_| moment.ids.draw(Noun::Bulb)).collect();
    drafts.push(Draft::new(bulbs.clone(), now.clone(), Body::Bulb(BulbBody { lot })));
    let tags = fresh_tags(state, moment, new.n_bulbs)?;
    for (n, (bulb, tag)) in bulbs.iter().zip(tags).enumerate() {
        drafts.push(name(*bulb, "tag", tag.as_str(), &now));
        if let Some(own) = new.own_names.get(n).map(|own| tidy_text(own)).filter(|own| !own.is_empty()) {
            short(&own, Field::Names)?;
            drafts.push(name(*bulb, "own", &own, &now));
        }
    }
    drafts.extend(sizes(new, &bulbs, &now));
    let placed = Act { place: Some(new.place), ..Act::default() };
    drafts.push(Draft::new(bulbs.clone(), now.clone(), Body::Act(ActKind::Moved, placed)));
    drafts.extend(potted(new, &bulbs, &now)?);
    Ok(drafts)
}

/// The lot that was chosen, with the record that makes it when it is a new one.
pub(super) fn new_lot(lot: &LotChoice, state: &State, moment: &mut Moment) -> Result<(Id, Option<Draft>)> {
    match lot {
        LotChoice::Known(lot) if state.lots.contains_key(lot) => Ok((*lot, None)),
        LotChoice::Known(_) => Err(Error::new(BulbRefusal::NoSuchLot).at(Field::Lot)),
        LotChoice::New(body) => {
            let mut body = body.clone();
            body.cultivar = tidy_text(&body.cultivar);
            short(&body.cultivar, Field::Lot)?;
            body.name = named(&body.name, Field::Lot, Missing::NewLotName)?;
            let lot = moment.ids.draw(Noun::Lot);
            let made = Draft::new(vec![lot], moment.now.clone(), Body::Lot(body));
            Ok((lot, Some(made)))
        }
    }
}

/// Tags that no bulb here carries.
fn fresh_tags(state: &State, moment: &mut Moment, n: usize) -> Result<Vec<Tag>> {
    let taken: BTreeSet<Tag> = state.tags().collect();
    Tag::fresh(&moment.ids.bytes(), n, BODY_LENGTH, &taken)
}

pub(super) fn retag(ledger: &Ledger, state: &State, moment: &mut Moment, bulb: Id) -> Result<Vec<Draft>> {
    let now = moment.now.clone();
    super::here(state, bulb, now.date())?;
    let tags = fresh_tags(state, moment, 1)?;
    let replaced = State::to_replace(ledger, bulb, "bulb-name", "tag");
    let draft = |tag: &Tag| Draft { supersedes: replaced.clone(), ..name(bulb, "tag", tag.as_str(), &now) };
    Ok(tags.iter().map(draft).collect())
}

fn name(bulb: Id, slot: &str, text: &str, now: &crate::calendar::Happened) -> Draft {
    let mut draft = Draft::new(vec![bulb], now.clone(), Body::BulbName(Named { name: text.to_owned() }));
    draft.slot = slot.to_owned();
    draft
}

fn check_place(state: &State, place: Id) -> Result<()> {
    if state.places.contains_key(&place) {
        return Ok(());
    }
    Err(Error::new(Missing::Place).at(Field::Place))
}

fn check_sizes(new: &NewBulbs) -> Result<()> {
    match &new.circumference {
        Circumference::Unknown => Ok(()),
        Circumference::Range(low, high) => {
            limits::CIRCUMFERENCE_MM.check(*low)?;
            limits::CIRCUMFERENCE_MM.check(*high)?;
            if low > high {
                return Err(Error::new(NumberRefusal::RangeBackwards).at(Field::Circumference));
            }
            Ok(())
        }
        Circumference::Each(each) => {
            if each.len() != new.n_bulbs {
                return Err(Error::new(BulbRefusal::Sizes(each.len(), new.n_bulbs)).at(Field::Circumference));
            }
            each.iter().try_for_each(|mm| limits::CIRCUMFERENCE_MM.check(*mm).map(|_| ()))
        }
    }
}

fn check_names(new: &NewBulbs) -> Result<()> {
    if !new.own_names.is_empty() && new.own_names.len() != new.n_bulbs {
        return Err(Error::new(BulbRefusal::Names(new.own_names.len(), new.n_bulbs)).at(Field::Names));
    }
    let mut seen = BTreeSet::new();
    for own in new.own_names.iter().map(|own| tidy_text(own)).filter(|own| !own.is_empty()) {
        if !seen.insert(own.to_lowercase()) {
            return Err(Error::new(BulbRefusal::TwoCalled(own)).at(Field::Names));
        }
    }
    Ok(())
}

fn sizes(new: &NewBulbs, bulbs: &[Id], now: &crate::calendar::Happened) -> Vec<Draft> {
    let measure = |mm: i64, mm_to: Option<i64>| {
        Body::Measure(Measure { what: Measured::Circumference, mm: Some(mm), mm_to, g: None, at: None })
    };
    match &new.circumference {
        Circumference::Unknown => Vec::new(),
        Circumference::Range(low, high) => {
            let to = (low != high).then_some(*high);
            vec![Draft::new(bulbs.to_vec(), now.clone(), measure(*low, to))]
        }
        Circumference::Each(each) => {
            let pairs = bulbs.iter().zip(each);
            pairs.map(|(bulb, mm)| Draft::new(vec![*bulb], now.clone(), measure(*mm, None))).collect()
        }
    }
}

fn potted(new: &NewBulbs, bulbs: &[Id], now: &crate::calendar::Happened) -> Result<Vec<Draft>> {
    let room: usize = new.containers.iter().map(|(_, n)| n).sum();
    if !new.containers.is_empty() && room != bulbs.len() {
        return Err(Error::new(BulbRefusal::Room(room, bulbs.len())).at(Field::Containers));
    }
    let mut drafts = Vec::new();
    let mut rest = bulbs;
    for (container, n) in &new.containers {
        let (these, others) = rest.split_at((*n).min(rest.len()));
        for (at, bulb) in these.iter().enumerate() {
            let act = Act { container: Some(*container), position: Some(at as u32 + 1), ..Act::default() };
            drafts.push(Draft::new(vec![*bulb], now.clone(), Body::Act(ActKind::Potted, act)));
        }
        rest = others;
    }
    Ok(drafts)
}
