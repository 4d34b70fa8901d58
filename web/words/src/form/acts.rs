//! Everything that can be done or seen: its fields from an empty form or from what a record says, and what they come to.

use std::collections::BTreeSet;

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{
    Act, ActKind, Body, Climate, ContainerBody, ContainerKind, Count, Counted, Finding, Inspection, LeftHow, Light,
    Measure, Measured, Note, Stage,
};
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::{PotInto, Split, act_fields};

use super::{Problem, day, digits, filled};
use crate::formats::{self, Units};
use crate::{care as say, common};
use bloomdue_core::error::Field;

/// What is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Act(ActKind),
    Inspection,
    Measure,
    Count,
    Note,
    Light,
    Climate,
}

impl What {
    /// Everything but acts.
    pub const SEEN: [Self; 6] = [Self::Inspection, Self::Measure, Self::Count, Self::Note, Self::Light, Self::Climate];

    /// Its word in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Self::Act(kind) => kind.word(),
            Self::Inspection => "inspection",
            Self::Measure => "measure",
            Self::Count => "count",
            Self::Note => "note",
            Self::Light => "light",
            Self::Climate => "climate",
        }
    }

    /// What this word means; nothing when it is none.
    pub fn of_word(word: &str) -> Option<Self> {
        let seen = Self::SEEN.into_iter().find(|what| what.word() == word);
        seen.or_else(|| ActKind::from_word(word).map(Self::Act))
    }

    /// What a record is of, where its fields can be put right.
    pub fn of(body: &Body) -> Option<Self> {
        match body {
            Body::Act(kind, _) => Some(Self::Act(*kind)),
            Body::Inspection(_) => Some(Self::Inspection),
            Body::Light(_) => Some(Self::Light),
            Body::Climate(_) => Some(Self::Climate),
            _ => None,
        }
    }
}

/// What the fields hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub day: String,
    pub place: Option<Id>,
    pub container: Option<Id>,
    pub container_name: String,
    pub container_kind: ContainerKind,
    pub container_width: String,
    pub with: String,
    pub condition: String,
    pub how: LeftHow,
    pub stage: Option<Stage>,
    pub fit: bool,
    pub whom: String,
    pub cause: String,
    pub until: String,
    pub note: String,
    pub measured: Measured,
    pub counted: Counted,
    pub number: String,
    pub n_offsets: String,
    pub own_name: String,
    pub second: String,
    pub lowest: String,
    pub highest: String,
    pub findings: BTreeSet<Finding>,
    pub watch: bool,
}

impl Typed {
    /// Nothing typed yet.
    pub fn fresh(day: String) -> Self {
        Self {
            day,
            place: None,
            container: None,
            container_name: String::new(),
            container_kind: ContainerKind::Pot,
            container_width: String::new(),
            with: String::new(),
            condition: String::new(),
            how: LeftHow::Sold,
            stage: None,
            fit: true,
            whom: String::new(),
            cause: String::new(),
            until: String::new(),
            note: String::new(),
            measured: Measured::Height,
            counted: Counted::Leaves,
            number: String::new(),
            n_offsets: "1".to_owned(),
            own_name: String::new(),
            second: String::new(),
            lowest: String::new(),
            highest: String::new(),
            findings: BTreeSet::new(),
            watch: false,
        }
    }

    /// What a record says, and its day.
    pub fn of(body: &Body, day: String) -> Self {
        let fresh = Self::fresh(day);
        let text = |said: &Option<String>| said.clone().unwrap_or_default();
        let whole = |said: Option<i64>| said.map(|n| n.to_string()).unwrap_or_default();
        match body {
            Body::Act(_, act) => Self {
                place: act.place,
                container: act.container,
                with: text(&act.with),
                condition: text(&act.condition),
                whom: text(&act.whom),
                cause: text(&act.cause),
                note: text(&act.note),
                how: act.how.unwrap_or(LeftHow::Sold),
                stage: act.stage,
                fit: act.fit,
                until: act.until.map(|day| day.to_string()).unwrap_or_default(),
                ..fresh
            },
            Body::Inspection(inspection) => Self {
                findings: inspection.findings.iter().copied().collect(),
                watch: inspection.watch,
                note: text(&inspection.note),
                ..fresh
            },
            Body::Light(light) => Self { number: whole(light.ppfd_umol), second: whole(light.lux), ..fresh },
            Body::Climate(climate) => Self {
                number: climate.temperature_dc.map(formats::temperature_read).unwrap_or_default(),
                second: whole(climate.humidity_percent),
                lowest: climate.lowest_dc.map(formats::temperature_read).unwrap_or_default(),
                highest: climate.highest_dc.map(formats::temperature_read).unwrap_or_default(),
                ..fresh
            },
            _ => fresh,
        }
    }

    /// The day on which it was.
    ///
    /// # Errors
    /// When none was chosen.
    pub fn on(&self) -> Result<Date, Problem> {
        day(Field::Date, &self.day, say::choose_day())
    }

    /// What was seen or done. An act says all it says by itself.
    ///
    /// # Errors
    /// What is not typed as it must be, beside its field.
    pub fn body(&self, what: What) -> Result<Body, Problem> {
        Ok(match what {
            What::Act(kind) => Body::Act(kind, self.act(kind, Act::default())?),
            What::Inspection => Body::Inspection(Inspection {
                findings: self.findings.iter().copied().collect(),
                watch: self.watch,
                note: filled(&self.note),
                ..Inspection::default()
            }),
            What::Measure => {
                let weight = self.measured == Measured::Weight;
                let (mm, g) = if weight { (None, whole(&self.number)?) } else { (length(&self.number)?, None) };
                Body::Measure(Measure { what: self.measured, mm, mm_to: None, g, at: None })
            }
            What::Count => {
                let n = whole(&self.number)?.ok_or_else(|| Problem::at(Field::Number, common::digits_only()))?;
                Body::Count(Count { what: self.counted, n })
            }
            What::Note => Body::Note(Note { text: self.note.clone() }),
            What::Light => {
                Body::Light(Light { ppfd_umol: whole(&self.number)?, lux: whole(&self.second)?, ..Light::default() })
            }
            What::Climate => Body::Climate(Climate {
                temperature_dc: temperature(&self.number)?,
                humidity_percent: whole(&self.second)?,
                lowest_dc: temperature(&self.lowest)?,
                highest_dc: temperature(&self.highest)?,
            }),
        })
    }

    /// An act with what its form asks for; what the form does not ask stays as `before` says.
    ///
    /// # Errors
    /// When a day it asks for was not chosen.
    pub fn act(&self, kind: ActKind, before: Act) -> Result<Act, Problem> {
        let asked = |ask: act_fields::Ask| act_fields::asks(kind).contains(&ask);
        let until = filled(&self.until).filter(|_| asked(act_fields::Ask::Until));
        let left = asked(act_fields::Ask::How);
        Ok(Act {
            place: if asked(act_fields::Ask::Place) { self.place } else { before.place },
            container: if asked(act_fields::Ask::Container) { self.container } else { before.container },
            with: filled(&self.with),
            condition: filled(&self.condition),
            how: left.then_some(self.how),
            stage: self.stage.filter(|_| left),
            fit: left && self.fit && self.stage.is_some(),
            whom: filled(&self.whom),
            cause: filled(&self.cause),
            until: until.map(|text| day(Field::Until, &text, say::choose_day())).transpose()?,
            note: filled(&self.note),
            ..before
        })
    }

    /// Offsets split off, with how many new bulbs each mother gave.
    ///
    /// # Errors
    /// When their number is none.
    pub fn split(&self, mothers: Vec<Id>, act: Act, on: Option<Date>) -> Result<Split, Problem> {
        let n_each = digits(Field::Offsets, &self.n_offsets)?;
        Ok(Split { mothers, n_each, own_name: self.own_name.clone(), place: self.place, act, on })
    }

    /// The number that was typed while other units were chosen, as it would be typed now.
    pub fn retyped_number(&self, what: What, text: &str, typed_in: Units) -> String {
        match what {
            What::Measure if self.measured != Measured::Weight => formats::retyped_length(text, typed_in),
            What::Climate => formats::retyped_temperature(text, typed_in),
            _ => text.to_owned(),
        }
    }

    /// The container chosen, or the one that was named.
    ///
    /// # Errors
    /// When its width is no number.
    pub fn pot_into(&self) -> Result<Option<PotInto>, Problem> {
        let Some(name) = filled(&self.container_name) else {
            return Ok(self.container.map(PotInto::Known));
        };
        let width = filled(&self.container_width);
        let inner_width_mm = width.map(|text| super::length_mm(Field::Width, &text)).transpose()?;
        let kind = self.container_kind;
        Ok(Some(PotInto::New(ContainerBody { name, inner_width_mm, ..ContainerBody::of(kind) })))
    }
}

fn whole(text: &str) -> Result<Option<i64>, Problem> {
    filled(text).map(|text| super::whole(Field::Number, &text)).transpose()
}

fn length(text: &str) -> Result<Option<i64>, Problem> {
    filled(text).map(|text| super::length_mm(Field::Number, &text)).transpose()
}

fn temperature(text: &str) -> Result<Option<i64>, Problem> {
    filled(text).map(|text| super::temperature_dc(Field::Number, &text)).transpose()
}
