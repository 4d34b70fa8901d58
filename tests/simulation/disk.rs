//! Storage with faults, and a tab that uses it as the browser does: both carry out core's sessions.

use std::{
    collections::{BTreeMap, HashSet},
    ops::ControlFlow,
    sync::Arc,
};

use bloomdue_core::{
    calendar::Date,
    error::Error,
    handover::{
        PhotosHere, Preview,
        json::{Composer, PhotoKind, Reader, Refusal, read},
    },
    ledger::{
        Ledger,
        entry::Entry,
        id::{AttachmentHash, Id, Ids, Noun},
        shelf::{
            Bytes, Form, Fresh, LineRow, Op, RowProblem, Store,
            session::{
                self, Answers, CatchUp, Change, Fault, Found, Open, Origin, Read, Save, Session, Step, TakeIn,
                compacting,
            },
        },
    },
};

pub(crate) use bloomdue_core::ledger::shelf::session::Durability;

use crate::make::{Dice, NOON_MS};

/// Why something was not done.
#[derive(Debug)]
#[expect(dead_code, reason = "the reasons are printed when a test fails")]
pub(crate) enum Trouble {
    Aborted,
    Full,
    Lost,
    Cleared,
    NotReadBack,
    Refused(Error),
    File(Refusal),
}

impl Fault for Trouble {
    fn cleared() -> Self {
        Self::Cleared
    }

    fn not_read_back() -> Self {
        Self::NotReadBack
    }

    fn is_not_read_back(&self) -> bool {
        matches!(self, Self::NotReadBack)
    }

    fn is_lost(&self) -> bool {
        matches!(self, Self::Lost)
    }
}

/// When the connection is lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Loss {
    /// Before the change is carried out.
    Before,
    /// After it, so that its answer does not come.
    After,
}

impl From<Error> for Trouble {
    fn from(error: Error) -> Self {
        Self::Refused(error)
    }
}

impl From<Refusal> for Trouble {
    fn from(refusal: Refusal) -> Self {
        Self::File(refusal)
    }
}

type Table = BTreeMap<(Store, String), Bytes>;

/// One database, with what of it is on the medium.
#[derive(Clone, Default)]
pub(crate) struct Disk {
    pub(crate) rows: Table,
    on_medium: Table,
    /// Operations carried out so far.
    pub(crate) n_ops: usize,
    /// The operation that fails.
    pub(crate) fail_at: Option<usize>,
    /// The most bytes there is room for.
    pub(crate) quota_bytes: Option<usize>,
    /// The connection is lost at the next change.
    pub(crate) loss: Option<Loss>,
    /// No read outside a change is answered.
    pub(crate) mute: bool,
}

impl Disk {
    /// All of these operations, or none.
    pub(crate) fn transaction(&mut self, durability: Durability, ops: &[Op]) -> Result<(), Trouble> {
        let mut rows = self.rows.clone();
        for op in ops {
            self.n_ops += 1;
            if self.fail_at == Some(self.n_ops) {
                return Err(Trouble::Aborted);
            }
            match op.clone() {
                Op::Put { store, key, bytes } => rows.insert((store, key), bytes),
                Op::Delete { store, key } => rows.remove(&(store, key)),
            };
        }
        let n_bytes: usize = rows.values().map(|bytes| bytes.len()).sum();
        if self.quota_bytes.is_some_and(|most| n_bytes > most) {
            return Err(Trouble::Full);
        }
        self.rows = rows;
        if durability == Durability::Strict {
            self.on_medium = self.rows.clone();
        }
        Ok(())
    }

    /// Everything since the last strict transaction is lost.
    pub(crate) fn power_cut(&mut self) {
        self.rows = self.on_medium.clone();
    }

    /// Cuts a row off somewhere, or turns one of its bytes over. Gives its key.
    pub(crate) fn damage(&mut self, store: Store, dice: &mut Dice) -> Option<String> {
        let keys: Vec<_> = self.rows.keys().filter(|(s, _)| *s == store).cloned().collect();
        let key = keys.get(dice.below(keys.len()))?;
        let mut bytes = self.rows[key].to_vec();
        if bytes.is_empty() {
            return None;
        }
        let at = dice.below(bytes.len());
        if dice.often(50) {
            bytes.truncate(at);
        } else {
            bytes[at] ^= 1 << dice.below(8);
        }
        self.rows.insert(key.clone(), bytes.into());
        self.on_medium = self.rows.clone();
        Some(key.1.clone())
    }

    pub(crate) fn row(&self, store: Store, key: &str) -> Option<Bytes> {
        self.rows.get(&(store, key.to_owned())).cloned()
    }

    pub(crate) fn keys(&self, store: Store) -> Vec<String> {
        let of_store = self.rows.keys().filter(|(s, _)| *s == store);
        of_store.map(|(_, key)| key.clone()).collect()
    }

    pub(crate) fn all(&self, store: Store) -> Vec<(String, Bytes)> {
        let of_store = self.rows.iter().filter(|((s, _), _)| *s == store);
        of_store.map(|((_, key), bytes)| (key.clone(), bytes.clone())).collect()
    }

    fn hashes(&self, store: Store) -> HashSet<AttachmentHash> {
        let keys = self.keys(store);
        keys.iter().map(|key| AttachmentHash::parse(key).unwrap()).collect()
    }

    fn found(&self, reads: &[Read]) -> Answers {
        let found = |read: &Read| match read {
            Read::Row(store, key) => Found::Row(self.row(*store, key)),
            Read::All(store) => Found::Rows(self.all(*store)),
            Read::Keys(store) => Found::Keys(self.keys(*store)),
            Read::After(store, key) => Found::Rows(self.all(*store).into_iter().filter(|(at, _)| at > key).collect()),
        };
        Answers::new(reads.iter().map(found).collect())
    }

    /// Carries a session out.
    pub(crate) fn carry_out<S: Session<Trouble>>(
        &mut self,
        at: &mut session::Tab,
        mut session: S,
        now_ms: u64,
    ) -> Result<S::Done, Trouble> {
        loop {
            let next = match session.step(at, now_ms) {
                Step::Rest => continue,
                Step::Read(reads) => {
                    assert!(!reads.is_empty(), "a browser reads no nothing");
                    let found = if self.mute { Err(Trouble::Aborted) } else { Ok(self.found(&reads)) };
                    session.found(at, found)?
                }
                Step::Change(change) => match self.change(at, &mut session, &change, now_ms) {
                    Err(Trouble::Lost) if change.again => continue,
                    changed => session.ended(at, changed)?,
                },
            };
            if let ControlFlow::Break(done) = next {
                return Ok(done);
            }
        }
    }

    fn change<S: Session<Trouble>>(
        &mut self,
        at: &mut session::Tab,
        session: &mut S,
        change: &Change,
        now_ms: u64,
    ) -> Result<(), Trouble> {
        let loss = self.loss.take();
        if loss == Some(Loss::Before) {
            return Err(Trouble::Lost);
        }
        let ops = session.decide(at, self.found(&change.reads), now_ms)?;
        let stores = change.reads.iter().map(Read::store).chain(ops.iter().map(Op::store));
        assert!(
            stores.into_iter().all(|store| change.stores.contains(&store)),
            "a store that the change does not name"
        );
        self.transaction(change.durability, &ops)?;
        if loss.is_some() { Err(Trouble::Lost) } else { Ok(()) }
    }

    pub(crate) fn photos(&self) -> PhotosHere {
        PhotosHere { photos: self.hashes(Store::Attachments), thumbs: self.hashes(Store::Thumbs) }
    }
}

/// One tab: a ledger in memory, and how far it knows the disk.
#[derive(Clone)]
pub(crate) struct Tab {
    pub(crate) ledger: Ledger,
    pub(crate) line: LineRow,
    pub(crate) problems: Vec<RowProblem>,
    at: session::Tab,
}

impl Tab {
    pub(crate) fn open(disk: &mut Disk, fresh: Fresh) -> Result<Self, Trouble> {
        let mut at = session::Tab::default();
        let opened = disk.carry_out(&mut at, Open::new(fresh), fresh.now_ms)?;
        let opened = opened.opened;
        Ok(Self { ledger: opened.ledger, line: opened.line, problems: opened.problems, at })
    }

    /// Saves a form; gives its entries.
    pub(crate) fn save(&mut self, disk: &mut Disk, form: &Form, now_ms: u64) -> Result<Vec<Arc<Entry>>, Trouble> {
        let saved = disk.carry_out(&mut self.at, Save::new(form.clone()), now_ms)?;
        if let Some(beside) = saved.beside {
            assert!(disk.mute, "{beside:?}");
        }
        self.hear(saved.missed, saved.line);
        for entry in &saved.entries {
            assert!(self.ledger.insert(entry.clone()), "an entry was saved twice");
        }
        Ok(saved.entries)
    }

    /// Takes over what another tab has written.
    fn hear(&mut self, missed: Vec<Arc<Entry>>, line: LineRow) {
        for entry in missed {
            self.ledger.insert(entry);
        }
        self.line = line;
    }

    pub(crate) fn catch_up(&mut self, disk: &mut Disk) -> Result<(), Trouble> {
        let (missed, line) = disk.carry_out(&mut self.at, CatchUp::default(), NOON_MS)?;
        self.hear(missed, line);
        Ok(())
    }

    pub(crate) fn compact(&mut self, disk: &mut Disk) -> Result<u64, Trouble> {
        disk.carry_out(&mut self.at, compacting(), NOON_MS)
    }

    /// Reads a file without writing.
    pub(crate) fn preview(&self, disk: &Disk, file: &[u8], now_ms: u64) -> Result<Preview, Trouble> {
        let reading = read(file, |_| {})?;
        Ok(reading.preview(&self.ledger, &disk.photos(), now_ms)?)
    }

    /// Takes a file in: photos first, then all entries at once.
    pub(crate) fn take_in(&mut self, disk: &mut Disk, file: &[u8], now_ms: u64) -> Result<Preview, Trouble> {
        let preview = self.preview(disk, file, now_ms)?;
        let mut photos = Vec::new();
        let mut reader = Reader::photos_only();
        for piece in file.chunks(777) {
            reader.feed(piece, |photo| {
                if preview.new_photos.contains(&(photo.kind, photo.attachment.hash())) {
                    let store = if photo.kind == PhotoKind::Photo { Store::Attachments } else { Store::Thumbs };
                    photos.push(photo.attachment.put(store));
                }
            })?;
        }
        for chunk in photos.chunks(2) {
            disk.transaction(Durability::Strict, chunk)?;
        }
        let origin = Origin {
            file: Some("theirs.json".to_owned()),
            doubled: preview.doubled.clone(),
            fresh: fresh_name(&self.line),
        };
        let taken = disk.carry_out(&mut self.at, TakeIn::new(preview.new.clone(), origin), now_ms)?;
        self.hear(taken.missed, taken.line);
        for entry in taken.entries {
            assert!(self.ledger.insert(entry), "an entry was taken in twice");
        }
        Ok(preview)
    }

    /// Everything as a file.
    pub(crate) fn file(&self, disk: &Disk, with_photos: bool) -> Vec<u8> {
        let mut composer = Composer::new(&self.ledger, "Vale of Leaves", "2027-03-14T18:20+02:00");
        let mut file = String::new();
        while let Some(piece) = composer.next_piece() {
            file.push_str(&piece);
        }
        for (store, kind) in [(Store::Thumbs, PhotoKind::Thumb), (Store::Attachments, PhotoKind::Photo)] {
            for (key, bytes) in disk.all(store).iter().filter(|_| with_photos) {
                let hash = AttachmentHash::parse(key).unwrap();
                file.push_str(&composer.photo(hash, kind, "image/jpeg", bytes));
            }
        }
        file.push_str(composer.end());
        file.into_bytes()
    }
}

/// A name for an installation that nobody else has: of its present one, and how far it has come.
fn fresh_name(line: &LineRow) -> Id {
    let mut seed = [0; 32];
    let told = line.arrived.to_le_bytes().into_iter();
    let told = told.chain(line.device.as_str().bytes().rev());
    for (byte, told) in seed.iter_mut().zip(told) {
        *byte = told;
    }
    Ids::new(seed).draw(Noun::Device)
}

/// The day on which everything is read.
pub(crate) fn today() -> Date {
    Date::new(2027, 3, 14).unwrap()
}

/// What a new database of the tier's ledger starts with.
pub(crate) fn fresh(device: Id, now_ms: u64) -> Fresh {
    Fresh { ledger: crate::make::ledger_id(), device, now_ms, today: today() }
}
