//! Two phones that write the demo's records, the way the app does: a command, its drafts, sealed entries.

use std::{collections::BTreeSet, sync::Arc};

use crate::{
    calendar::{Date, Happened},
    error::{Error, Result},
    ledger::{
        Ledger,
        clock::Clock,
        entry::{Draft, Entry, Envelope},
        id::{Id, Ids, Noun},
    },
    nursery::State,
    record::{Command, Moment, record},
    refusal::ScriptRefusal,
};

/// Minutes that the demo's nursery is east of UTC.
const OFFSET_MIN: i16 = 60;
/// The first record of a day is written at 7:10.
const MORNING_MIN: u16 = 430;
const MINUTE_MS: i64 = 60_000;
const DAY_MS: i64 = 1440 * MINUTE_MS;
/// 1970-01-01 to 1990-01-01, the first day of the calendar here.
const DAYS_BEFORE_1990: i64 = 7305;

/// One phone: its name, its next line, its clock.
struct Phone {
    device: Id,
    line: u64,
    clock: Clock,
}

/// Who records, on which phone.
pub(super) struct Writer {
    pub(super) who: Id,
    pub(super) phone: usize,
}

/// The phones with all that was written so far.
pub(super) struct Phones {
    pub(super) ledger: Ledger,
    pub(super) state: State,
    pub(super) ids: Ids,
    pub(super) writers: Vec<Writer>,
    phones: Vec<Phone>,
    day: Date,
    minute: u16,
}

impl Phones {
    /// Phones with an empty ledger, and the persons who use them.
    pub(super) fn new(mut ids: Ids, first_day: Date, phone_of_each: &[usize]) -> Self {
        let ledger = Ledger::new(ids.draw(Noun::Ledger));
        let n_phones = phone_of_each.iter().max().map_or(1, |most| most + 1);
        let phones = (0..n_phones).map(|_| Phone { device: ids.draw(Noun::Device), line: 0, clock: Clock::default() });
        let phones: Vec<Phone> = phones.collect();
        let writers = phone_of_each.iter().map(|phone| Writer { who: ids.draw(Noun::Person), phone: *phone });
        Self {
            ledger,
            state: State::default(),
            writers: writers.collect(),
            ids,
            phones,
            day: first_day,
            minute: MORNING_MIN,
        }
    }

    /// Goes on to a day; days never go back.
    pub(super) fn on(&mut self, day: Date) {
        if day != self.day {
            self.day = day;
            self.minute = MORNING_MIN;
        }
    }

    /// The day that is being told.
    pub(super) fn today(&self) -> Date {
        self.day
    }

    /// Records a command, as one of the persons.
    pub(super) fn record(&mut self, person: usize, command: Command) -> Result<()> {
        let drafts = self.drafts(command)?;
        self.seal(person, drafts)
    }

    /// Records two commands of two persons who do not know of each other's yet.
    pub(super) fn record_apart(
        &mut self,
        (first, one): (usize, Command),
        (second, other): (usize, Command),
    ) -> Result<()> {
        let drafts = self.drafts(one)?;
        let others = self.drafts(other)?;
        self.seal(first, drafts)?;
        self.seal(second, others)
    }

    fn drafts(&mut self, command: Command) -> Result<Vec<Draft>> {
        let mut moment = Moment { now: Happened::at(self.day, self.minute, OFFSET_MIN)?, ids: self.ids.clone() };
        let drafts = record(command, &self.ledger, &self.state, &mut moment)?;
        self.ids = moment.ids;
        Ok(drafts)
    }

    fn seal(&mut self, person: usize, drafts: Vec<Draft>) -> Result<()> {
        let first: Date = Date::new(1990, 1, 1)?;
        let days = DAYS_BEFORE_1990 + first.days_until(self.day);
        let now_ms = days * DAY_MS + i64::from(self.minute as i16 - OFFSET_MIN) * MINUTE_MS;
        let form = self.ids.draw(Noun::Form);
        let unknown = || Error::new(ScriptRefusal::NoPerson);
        let writer = self.writers.get(person).ok_or_else(unknown)?;
        let phone = self.phones.get_mut(writer.phone).ok_or_else(unknown)?;
        let mut changed = BTreeSet::new();
        for draft in drafts {
            phone.line += 1;
            let envelope = Envelope {
                about: draft.about,
                device: phone.device,
                form,
                happened: draft.happened,
                hlc: phone.clock.tick(now_ms.unsigned_abs()),
                kind: draft.body.kind().to_owned(),
                ledger: self.ledger.id(),
                line: phone.line,
                slot: draft.slot,
                supersedes: draft.supersedes,
                v: 1,
                who: writer.who,
            };
            changed.extend(envelope.about.iter().copied());
            self.ledger.insert(Arc::new(Entry::seal(envelope, draft.body)?));
        }
        self.state.refold(&self.ledger, &changed);
        // Nobody writes past the evening; a busy day's later records share its last minute.
        self.minute = (self.minute + 6).min(1200);
        Ok(())
    }
}
