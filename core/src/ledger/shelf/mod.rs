//! The shelf: everything between sealed entries and storage, as pure functions.
//!
//! A change is a list of [`Op`]s for one transaction; whoever holds the storage only carries it out, all or nothing.
//! What is read and written, in which order, and what is done when something fails, stands in [`session`], so that the
//! browser and the simulation with its faults run the same code.
//!
//! Entries that arrive on this device are numbered 1, 2, 3 … (their *arrival*, which no other device sees). A new
//! entry is one row in `tail`; compaction moves some hundred at a time into a row of `blocks`. Both are keyed by the
//! arrival of their first entry, so "all that came after number n" is a range in both. The `line` row in `meta` is
//! small because each save reads and writes it; the list of blocks stands in a row of its own.

mod append;
mod cache;
mod compact;
mod heard;
mod open;
mod rows;
pub mod session;
mod start;
mod taken;

use std::{collections::BTreeMap, sync::Arc};

use serde::{Deserialize, Serialize};

use super::{
    clock::Clock,
    entry::{Entry, HybridTime},
    id::{AttachmentHash, Id},
};
use crate::{
    calendar::Date,
    error::{Error, Result},
    json::{self, objects},
    refusal::StoredRefusal,
};

pub use append::{Appended, Form, append};
pub use cache::{Kept, MadeOf, kept};
pub use compact::{BLOCK_ENTRIES, Compacted, Imported, Intake, compact, import};
pub use heard::{HEARD_KEY, Heard, HeardRow};
pub use open::{Fresh, Opened, Opening, RowProblem, Rows, news, open, sample};
pub use rows::{arrival_key, block_row, read_block, read_tail, tail_row};
pub use start::{START_KEY, StartRow, begin_start, start_anyway, start_done};
pub use taken::{FILES_KEY, FileTaken, FilesRow, set_aside};

/// Bytes that several lists of operations may share.
pub type Bytes = Arc<[u8]>;

/// The format of the shelf's rows. Rows of a greater one were written by a newer version.
pub const SHELF_FORMAT: u32 = 1;

/// Key of the row in `meta` that every save reads and writes: a [`LineRow`].
pub const LINE_KEY: &str = "line";

/// Key of the row in `meta` that lists the blocks: a [`BlocksRow`].
pub const BLOCKS_KEY: &str = "blocks";

/// The stores of one ledger's database.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Store {
    /// The `line` row, the `blocks` row, the `files`, `heard` and `start` rows, and rows that were set aside.
    Meta,
    /// One row an entry, by arrival.
    Tail,
    /// Some hundred entries a row, by arrival of the first.
    Blocks,
    /// Bytes of photos and other files by their SHA-256.
    Attachments,
    /// Bytes of small pictures by their SHA-256.
    Thumbs,
    /// Forms not saved yet, by a key of the screen.
    Drafts,
    /// Folded state, which may be thrown away at any time.
    Cache,
}

impl Store {
    /// Every store.
    pub const ALL: [Self; 7] =
        [Self::Meta, Self::Tail, Self::Blocks, Self::Attachments, Self::Thumbs, Self::Drafts, Self::Cache];

    /// The store's name in the database.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Meta => "meta",
            Self::Tail => "tail",
            Self::Blocks => "blocks",
            Self::Attachments => "attachments",
            Self::Thumbs => "thumbs",
            Self::Drafts => "drafts",
            Self::Cache => "cache",
        }
    }
}

/// One change of one row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Op {
    /// Writes a row, over any that has the key.
    Put {
        /// Where.
        store: Store,
        /// Under which key.
        key: String,
        /// What.
        bytes: Bytes,
    },
    /// Removes a row, if there is one.
    Delete {
        /// Where.
        store: Store,
        /// Under which key.
        key: String,
    },
}

impl Op {
    /// Writes a row.
    pub fn put(store: Store, key: impl Into<String>, bytes: impl Into<Bytes>) -> Self {
        Self::Put { store, key: key.into(), bytes: bytes.into() }
    }

    /// Removes a row.
    pub fn delete(store: Store, key: impl Into<String>) -> Self {
        Self::Delete { store, key: key.into() }
    }

    /// The store it changes.
    pub const fn store(&self) -> Store {
        match self {
            Self::Put { store, .. } | Self::Delete { store, .. } => *store,
        }
    }

    /// The key it changes.
    pub fn key(&self) -> &str {
        match self {
            Self::Put { key, .. } | Self::Delete { key, .. } => key,
        }
    }
}

/// What each save reads and writes: which device this is and how far it has come.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineRow {
    /// [`SHELF_FORMAT`] of the version that wrote it.
    pub format: u32,
    /// The ledger.
    pub ledger: Id,
    /// This installation's name in the ledger.
    pub device: Id,
    /// The last line number used; 0 before the first entry.
    pub line: u64,
    /// The last stamp of the clock, `[ms, counter]`.
    hlc: (u64, u16),
    /// How many entries have arrived here, own and others'.
    pub arrived: u64,
    /// Own entries saved since the last export.
    #[serde(default)]
    pub since_export: u64,
    /// When the last export was made, in ms since 1970; 0 before the first.
    #[serde(default)]
    pub exported_ms: u64,
}

impl LineRow {
    /// The row of a device that has written nothing yet.
    pub const fn new(ledger: Id, device: Id) -> Self {
        Self { format: SHELF_FORMAT, ledger, device, line: 0, hlc: (0, 0), arrived: 0, since_export: 0, exported_ms: 0 }
    }

    /// Reads the row.
    ///
    /// # Errors
    /// When it is garbled, or was written by a newer version.
    pub fn read(bytes: &[u8]) -> Result<Self> {
        read_meta(bytes, |row: &Self| row.format)
    }

    /// The clock, as far as it has come.
    pub const fn clock(&self) -> Clock {
        Clock::new(HybridTime { ms: self.hlc.0, counter: self.hlc.1 })
    }

    /// Keeps how far the clock has come.
    pub const fn set_clock(&mut self, clock: Clock) {
        let last = clock.last();
        self.hlc = (last.ms, last.counter);
    }

    /// The civil day to read records on, while the device says that it is `today`: none before a day that this device
    /// has known, so that a clock that fell back to its first year hides nothing.
    pub fn today(&self, today: Date) -> Date {
        self.clock().last().day().map_or(today, |known| known.max(today))
    }

    /// Gives this installation a new name, whose lines start again at 1: another one writes under the present name.
    pub(super) const fn renew(&mut self, device: Id) {
        self.device = device;
        self.line = 0;
    }

    /// The operation that writes it.
    pub fn put(&self) -> Op {
        Op::put(Store::Meta, LINE_KEY, json::to_bytes(self))
    }
}

/// One row of `blocks`, as the list in `meta` names it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlockListed {
    /// Arrival of its first entry.
    pub first: u64,
    /// How many entries.
    pub n: u64,
    /// SHA-256 over `"bloomdue block 1\0"` and the raw ids in their order, in hexadecimal digits.
    pub digest: String,
}

impl BlockListed {
    /// Arrival of its last entry.
    pub const fn last(&self) -> u64 {
        self.first.saturating_add(self.n).saturating_sub(1)
    }
}

/// The list of blocks. A cached state is good only for the list it was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlocksRow {
    /// [`SHELF_FORMAT`] of the version that wrote it.
    pub format: u32,
    /// Blocks in order of arrival.
    #[serde(deserialize_with = "objects")]
    pub blocks: Vec<BlockListed>,
}

impl Default for BlocksRow {
    fn default() -> Self {
        Self { format: SHELF_FORMAT, blocks: Vec::new() }
    }
}

impl BlocksRow {
    /// Reads the row.
    ///
    /// # Errors
    /// When it is garbled, or was written by a newer version.
    pub fn read(bytes: &[u8]) -> Result<Self> {
        read_meta(bytes, |row: &Self| row.format)
    }

    /// Keys of the blocks that hold anything that arrived after number `arrival`.
    pub fn keys_after(&self, arrival: u64) -> Vec<String> {
        let after = self.blocks.iter().filter(|block| block.last() > arrival);
        after.map(|block| arrival_key(block.first)).collect()
    }

    /// The operation that writes it.
    pub fn put(&self) -> Op {
        Op::put(Store::Meta, BLOCKS_KEY, json::to_bytes(self))
    }
}

fn read_meta<'a, T: Deserialize<'a>>(bytes: &'a [u8], format: fn(&T) -> u32) -> Result<T> {
    /// Alone, so that a newer row is known as newer whatever else it holds.
    #[derive(Deserialize)]
    struct Formatted {
        format: u32,
    }
    if json::read_bytes(bytes).is_ok_and(|row: Formatted| row.format > SHELF_FORMAT) {
        return Err(newer_format());
    }
    let garbled = |why| Error::new(StoredRefusal::GarbledRow(Box::new(why)));
    let row = json::read_bytes(bytes).map_err(garbled)?;
    if format(&row) == 0 {
        return Err(Error::new(StoredRefusal::NoFormat));
    }
    Ok(row)
}

fn newer_format() -> Error {
    Error::new(StoredRefusal::NewerVersion)
}

/// The bytes of a photo or another file, with their hash, which only this type computes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    hash: AttachmentHash,
    bytes: Bytes,
}

impl Attachment {
    /// Hashes the bytes.
    pub fn of(bytes: impl Into<Bytes>) -> Self {
        let bytes = bytes.into();
        Self { hash: AttachmentHash::of(&bytes), bytes }
    }

    /// SHA-256 of the bytes.
    pub const fn hash(&self) -> AttachmentHash {
        self.hash
    }

    /// The bytes.
    pub const fn bytes(&self) -> &Bytes {
        &self.bytes
    }

    /// The operation that keeps it in `store`. Doing it twice changes nothing.
    pub fn put(&self, store: Store) -> Op {
        Op::put(store, self.hash.to_string(), self.bytes.clone())
    }
}

/// Notes that a file went out at `now_ms` which holds this device's entries up to line `up_to`. What was saved after it
/// was composed, in whichever tab, is still in no file.
///
/// # Errors
/// When the `line` row cannot be read.
pub fn exported(line_row: &[u8], up_to: u64, now_ms: u64) -> Result<(Vec<Op>, LineRow)> {
    let mut line = LineRow::read(line_row)?;
    line.since_export = line.since_export.min(line.line.saturating_sub(up_to));
    line.exported_ms = now_ms;
    Ok((vec![line.put()], line))
}

/// Greatest line number of each device among these entries.
fn greatest_lines<'a>(entries: impl IntoIterator<Item = &'a Arc<Entry>>) -> BTreeMap<Id, u64> {
    let mut greatest = BTreeMap::new();
    for entry in entries {
        let line: &mut u64 = greatest.entry(entry.envelope.device).or_default();
        *line = (*line).max(entry.envelope.line);
    }
    greatest
}
