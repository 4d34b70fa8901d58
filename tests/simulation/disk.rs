//! Storage with faults, and a tab that uses it as the browser does: it executes core's lists of operations.

use std::{
    collections::{BTreeMap, HashSet},
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
            self, BLOCKS_KEY, BlocksRow, Bytes, FILES_KEY, Form, Fresh, Intake, LINE_KEY, LineRow, Op, RowProblem,
            Rows, Store,
        },
    },
};

use crate::make::Dice;

/// When a transaction counts as complete.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Durability {
    Strict,
    Relaxed,
}

/// Why something was not done.
#[derive(Debug)]
#[expect(dead_code, reason = "the reasons are printed when a test fails")]
pub(crate) enum Trouble {
    Aborted,
    Full,
    Refused(Error),
    File(Refusal),
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

    fn line(&self) -> Vec<u8> {
        self.row(Store::Meta, LINE_KEY).map_or_else(Vec::new, |row| row.to_vec())
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
    pub(crate) blocks: BlocksRow,
    pub(crate) problems: Vec<RowProblem>,
}

impl Tab {
    pub(crate) fn open(disk: &mut Disk, fresh: Fresh) -> Result<Self, Trouble> {
        let rows = Rows {
            line: disk.row(Store::Meta, LINE_KEY),
            list: disk.row(Store::Meta, BLOCKS_KEY),
            blocks: disk.all(Store::Blocks),
            tail: disk.all(Store::Tail),
        };
        let opened = shelf::open(&rows, fresh);
        disk.transaction(Durability::Strict, &opened.repairs)?;
        Ok(Self { ledger: opened.ledger, line: opened.line, blocks: opened.blocks, problems: opened.problems })
    }

    /// Saves a form; gives its entries.
    pub(crate) fn save(&mut self, disk: &mut Disk, form: &Form, now_ms: u64) -> Result<Vec<Arc<Entry>>, Trouble> {
        let appended = shelf::append(&disk.line(), form, now_ms)?;
        disk.transaction(Durability::Strict, &appended.ops)?;
        let before = appended.line.arrived - appended.entries.len() as u64;
        self.read_news(disk, before)?;
        for entry in &appended.entries {
            assert!(self.ledger.insert(entry.clone()), "an entry was saved twice");
        }
        self.line = appended.line;
        Ok(appended.entries)
    }

    /// Takes over what another tab has written, up to this arrival.
    fn read_news(&mut self, disk: &Disk, to: u64) -> Result<(), Trouble> {
        let from = self.line.arrived + 1;
        if from > to {
            return Ok(());
        }
        let list = disk.row(Store::Meta, BLOCKS_KEY).map(|row| BlocksRow::read(&row));
        let keys = list.transpose()?.unwrap_or_default().keys_after(from - 1);
        let blocks: Vec<_> =
            keys.into_iter().filter_map(|key| Some((key.clone(), disk.row(Store::Blocks, &key)?))).collect();
        let (entries, _) = shelf::news(from, to, &blocks, &disk.all(Store::Tail));
        for entry in entries {
            self.ledger.insert(entry);
        }
        self.line.arrived = to;
        Ok(())
    }

    pub(crate) fn catch_up(&mut self, disk: &Disk) -> Result<(), Trouble> {
        let line = LineRow::read(&disk.line())?;
        self.read_news(disk, line.arrived)?;
        self.line = line;
        Ok(())
    }

    pub(crate) fn compact(&mut self, disk: &mut Disk) -> Result<usize, Trouble> {
        let list = disk.row(Store::Meta, BLOCKS_KEY);
        let compacted = shelf::compact(list.as_deref(), &disk.all(Store::Tail))?;
        disk.transaction(Durability::Strict, &compacted.ops)?;
        self.blocks = compacted.blocks;
        Ok(compacted.ops.len())
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
        loop {
            let mut new = preview.new.clone();
            new.retain(|entry| self.ledger.get(entry.id).is_none());
            let intake = Intake::of(&new, now_ms, fresh_name(&self.line))
                .of_file("theirs.json")
                .with_doubled(preview.doubled.iter().copied());
            let files = disk.row(Store::Meta, FILES_KEY);
            let list = disk.row(Store::Meta, BLOCKS_KEY);
            let imported = shelf::import(&disk.line(), list.as_deref(), files.as_deref(), self.line.arrived, &intake)?;
            let Some(imported) = imported else {
                self.catch_up(disk)?;
                continue;
            };
            disk.transaction(Durability::Strict, &imported.ops)?;
            for entry in new {
                assert!(self.ledger.insert(entry), "an entry was taken in twice");
            }
            (self.line, self.blocks) = (imported.line, imported.blocks);
            return Ok(preview);
        }
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
