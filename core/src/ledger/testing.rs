//! Small makers shared by this room's tests.

use std::{borrow::Borrow, collections::BTreeMap, sync::Arc};

use super::{
    Ledger,
    body::{Body, Note},
    clock::Clock,
    entry::{Draft, Entry, Envelope},
    id::{Id, Ids, Noun},
    shelf::{Bytes, Fresh, LINE_KEY, Op, Rows, Store},
};
use crate::calendar::{Date, Happened};

/// Noon of 2027-03-14 in Central Europe, in ms since 1970.
pub(crate) const NOON_MS: u64 = 1_804_954_811_000;

/// What a writer's new database starts with.
pub(crate) fn fresh(writer: &Writer) -> Fresh {
    Fresh { ledger: writer.ledger(), device: writer.device(), now_ms: NOON_MS, today: Date::new(2027, 3, 14).unwrap() }
}

/// A device that writes notes, with a line number and a clock of its own.
pub(crate) struct Writer {
    seed: u8,
    line: u64,
    clock: Clock,
}

impl Writer {
    /// Writers of one seed have one device name; all have one ledger.
    pub(crate) fn new(seed: u8) -> Self {
        Self { seed, line: 0, clock: Clock::default() }
    }

    pub(crate) fn ledger(&self) -> Id {
        Ids::new([0; 32]).draw(Noun::Ledger)
    }

    pub(crate) fn device(&self) -> Id {
        Ids::new([self.seed; 32]).draw(Noun::Device)
    }

    pub(crate) fn who(&self) -> Id {
        Ids::new([self.seed; 32]).draw(Noun::Person)
    }

    pub(crate) fn form(&self) -> Id {
        Ids::new([self.seed; 32]).draw(Noun::Form)
    }

    /// The next line: a note.
    pub(crate) fn note(&mut self, text: &str, now_ms: u64) -> Arc<Entry> {
        self.write(note(text), now_ms)
    }

    /// The next line.
    pub(crate) fn write(&mut self, draft: Draft, now_ms: u64) -> Arc<Entry> {
        self.line += 1;
        let envelope = Envelope {
            about: draft.about,
            device: self.device(),
            form: self.form(),
            happened: draft.happened,
            hlc: self.clock.tick(now_ms),
            kind: draft.body.kind().to_owned(),
            ledger: self.ledger(),
            line: self.line,
            slot: draft.slot,
            supersedes: draft.supersedes,
            v: 1,
            who: self.who(),
        };
        Arc::new(Entry::seal(envelope, draft.body).unwrap())
    }
}

/// A note about one bulb.
pub(crate) fn note(text: &str) -> Draft {
    Draft::new(
        vec![Id::parse("b_1").unwrap()],
        Happened::on(Date::new(2027, 3, 14).unwrap()),
        Body::Note(Note { text: text.into() }),
    )
}

/// A ledger of these entries, in this order.
pub(crate) fn ledger_of<E: Borrow<Arc<Entry>>>(entries: impl IntoIterator<Item = E>) -> Ledger {
    let mut ledger = Ledger::new(Writer::new(0).ledger());
    for entry in entries {
        assert!(ledger.insert(entry.borrow().clone()));
    }
    ledger
}

/// Storage without faults.
#[derive(Clone, Default)]
pub(crate) struct Disk(BTreeMap<(Store, String), Bytes>);

impl Disk {
    pub(crate) fn run(&mut self, ops: &[Op]) {
        for op in ops {
            match op.clone() {
                Op::Put { store, key, bytes } => self.0.insert((store, key), bytes),
                Op::Delete { store, key } => self.0.remove(&(store, key)),
            };
        }
    }

    fn all(&self, wanted: Store) -> Vec<(String, Bytes)> {
        let rows = self.0.iter().filter(|((store, _), _)| *store == wanted);
        rows.map(|((_, key), bytes)| (key.clone(), bytes.clone())).collect()
    }

    pub(crate) fn rows(&self) -> Rows {
        Rows {
            line: self.get(LINE_KEY),
            list: self.get(super::shelf::BLOCKS_KEY),
            blocks: self.all(Store::Blocks),
            tail: self.all(Store::Tail),
        }
    }

    pub(crate) fn cache(&self) -> Vec<(String, Bytes)> {
        self.all(Store::Cache)
    }

    pub(crate) fn line(&self) -> Bytes {
        self.get(LINE_KEY).unwrap()
    }

    pub(crate) fn meta(&self, key: &str) -> Option<Bytes> {
        self.get(key)
    }

    pub(crate) fn all_meta(&self) -> Vec<(String, Bytes)> {
        self.all(Store::Meta)
    }

    fn get(&self, key: &str) -> Option<Bytes> {
        self.0.get(&(Store::Meta, key.to_owned())).cloned()
    }
}
