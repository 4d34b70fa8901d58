//! Moving rows of `tail` into blocks, and taking in many entries at once.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::{
    BlockListed, BlocksRow, Bytes, FilesRow, LineRow, Op, RowProblem, Store, arrival_key, block_row, greatest_lines,
    read_tail, rows,
    rows::{block_digest, key_arrival},
    tail_row,
};
use crate::{
    error::Error,
    error::Result,
    ledger::{clock::Clock, entry::Entry, id::Id},
    limits,
    refusal::StoredRefusal,
};

/// Entries in a full block. With some hundred a row, reading 100,000 takes a fifth of the time of single rows.
pub const BLOCK_ENTRIES: usize = 500;

/// Fewer entries than this are taken in as single rows, or small blocks would pile up.
const ROWS_MAX: usize = 64;

/// What a compaction has to write.
#[derive(Clone, Debug)]
pub struct Compacted {
    /// To be carried out in the transaction that read the rows; empty when there is nothing to move.
    pub ops: Vec<Op>,
    /// The list of blocks as it will be.
    pub blocks: BlocksRow,
    /// Rows of `tail` that cannot be read. They stay where they are.
    pub problems: Vec<RowProblem>,
}

/// Moves rows of `tail` into blocks: all but a last run that does not fill a block yet.
///
/// # Errors
/// When the list of blocks cannot be read; then nothing may be moved.
pub fn compact(blocks_row: Option<&[u8]>, tail: &[(String, Bytes)]) -> Result<Compacted> {
    let mut blocks = blocks_row.map_or(Ok(BlocksRow::default()), BlocksRow::read)?;
    let mut problems = Vec::new();
    let mut runs: Vec<(u64, Vec<Arc<Entry>>)> = Vec::new();
    for (key, bytes) in tail {
        let read = read_tail(bytes).and_then(|entry| {
            let arrival = key_arrival(key);
            arrival.map(|at| (at, entry)).ok_or_else(|| Error::new(StoredRefusal::NoArrival))
        });
        match (read, runs.last_mut()) {
            (Ok((at, entry)), Some((first, run))) if at == *first + run.len() as u64 => {
                run.push(entry);
            }
            (Ok((at, entry)), _) => runs.push((at, vec![entry])),
            (Err(why), _) => problems.push(RowProblem::garbled(Store::Tail, key, why)),
        }
    }
    // The last run may still grow: only its full blocks move.
    if let Some((_, run)) = runs.last_mut() {
        run.truncate(run.len() - run.len() % BLOCK_ENTRIES);
    }
    let mut ops = Vec::new();
    for (first, run) in &runs {
        for (at, entries) in run.chunks(BLOCK_ENTRIES).enumerate() {
            let first = first + (at * BLOCK_ENTRIES) as u64;
            let packed = Packed::of(entries);
            ops.push(packed.put(first));
            blocks.blocks.push(packed.listed(first));
            ops.extend((first..first + packed.n).map(|arrival| Op::delete(Store::Tail, arrival_key(arrival))));
        }
    }
    if !ops.is_empty() {
        blocks.blocks.sort_by_key(|block| block.first);
        ops.push(blocks.put());
    }
    Ok(Compacted { ops, blocks, problems })
}

/// A block before it is known where it will stand.
#[derive(Clone, Debug)]
struct Packed {
    bytes: Bytes,
    n: u64,
    digest: String,
}

impl Packed {
    fn of(entries: &[Arc<Entry>]) -> Self {
        Self { bytes: block_row(entries).into(), n: entries.len() as u64, digest: block_digest(entries) }
    }

    fn put(&self, first: u64) -> Op {
        Op::put(Store::Blocks, arrival_key(first), self.bytes.clone())
    }

    fn listed(&self, first: u64) -> BlockListed {
        BlockListed { first, n: self.n, digest: self.digest.clone() }
    }
}

/// Entries to be taken in, packed beforehand so that the transaction itself is short.
#[derive(Clone, Debug)]
pub struct Intake {
    rows: Vec<Bytes>,
    packed: Vec<Packed>,
    n: u64,
    clock: Clock,
    now_ms: u64,
    greatest_lines: BTreeMap<Id, u64>,
    doubled: BTreeSet<Id>,
    fresh: Id,
    file: Option<String>,
}

impl Intake {
    /// Starts an intake while the wall clock shows `now_ms`. `fresh` is a name for this installation, drawn now, which
    /// it takes if another one turns out to write under its present one.
    pub const fn new(now_ms: u64, fresh: Id) -> Self {
        Self {
            rows: Vec::new(),
            packed: Vec::new(),
            n: 0,
            clock: Clock::new(crate::ledger::entry::HybridTime { ms: 0, counter: 0 }),
            now_ms,
            greatest_lines: BTreeMap::new(),
            doubled: BTreeSet::new(),
            fresh,
            file: None,
        }
    }

    /// Packs all of these entries.
    pub fn of(entries: &[Arc<Entry>], now_ms: u64, fresh: Id) -> Self {
        let mut intake = Self::new(now_ms, fresh);
        for entries in entries.chunks(BLOCK_ENTRIES) {
            intake.add(entries);
        }
        intake
    }

    /// Packs some more entries, at best [`BLOCK_ENTRIES`]: a slice of work between two frames.
    pub fn add(&mut self, entries: &[Arc<Entry>]) {
        if self.packed.is_empty() && entries.len() < ROWS_MAX {
            self.rows.extend(entries.iter().map(|entry| Bytes::from(tail_row(entry))));
        } else {
            for entries in entries.chunks(BLOCK_ENTRIES) {
                self.packed.push(Packed::of(entries));
            }
        }
        self.n += entries.len() as u64;
        for entry in entries {
            self.clock.observe(entry.envelope.hlc, self.now_ms);
        }
        for (device, line) in greatest_lines(entries) {
            let greatest = self.greatest_lines.entry(device).or_default();
            *greatest = (*greatest).max(line);
        }
    }

    /// They come from a file of this name, which is remembered.
    #[must_use]
    pub fn of_file(mut self, name: &str) -> Self {
        self.file = Some(name.to_owned());
        self
    }

    /// Devices of which an entry to be taken in has the line number of another one that is here.
    #[must_use]
    pub fn with_doubled(mut self, devices: impl IntoIterator<Item = Id>) -> Self {
        self.doubled.extend(devices);
        self
    }

    /// How many entries.
    pub const fn len(&self) -> u64 {
        self.n
    }

    /// Whether there are none.
    pub const fn is_empty(&self) -> bool {
        self.n == 0
    }
}

/// What taking in has to write.
#[derive(Clone, Debug)]
pub struct Imported {
    /// To be carried out in the transaction that read the two rows.
    pub ops: Vec<Op>,
    /// The `line` row as it will be.
    pub line: LineRow,
    /// The list of blocks as it will be.
    pub blocks: BlocksRow,
    /// Whether another installation writes under this one's name, which therefore took a new one.
    pub renewed: bool,
}

/// Takes in entries in one transaction. Their attachments are put before, in transactions of their own, so that a
/// failure leaves at most photos that no entry names yet.
///
/// `expected_arrived` is the number of arrivals that the preview was made with. Nothing is given back when another tab
/// has written since: read its entries and pack what is still new.
///
/// Entries under this installation's own name that it cannot have written, or has written otherwise, come from a copy
/// of it that goes on writing: it takes a new name then. Nobody else's line number ever becomes its own.
///
/// # Errors
/// When a row cannot be read, or the ledger would grow over its limit.
pub fn import(
    line_row: &[u8],
    blocks_row: Option<&[u8]>,
    files_row: Option<&[u8]>,
    expected_arrived: u64,
    intake: &Intake,
) -> Result<Option<Imported>> {
    let mut line = LineRow::read(line_row)?;
    let mut blocks = blocks_row.map_or(Ok(BlocksRow::default()), BlocksRow::read)?;
    if line.arrived != expected_arrived {
        return Ok(None);
    }
    let n_after = line.arrived.saturating_add(intake.n);
    limits::ENTRIES.check(i64::try_from(n_after).unwrap_or(i64::MAX))?;
    let mut ops = Vec::with_capacity(intake.rows.len() + intake.packed.len() + 2);
    for row in &intake.rows {
        line.arrived += 1;
        ops.push(Op::put(Store::Tail, rows::arrival_key(line.arrived), row.clone()));
    }
    for packed in &intake.packed {
        let first = line.arrived + 1;
        ops.push(packed.put(first));
        blocks.blocks.push(packed.listed(first));
        line.arrived += packed.n;
    }
    let mut clock = line.clock();
    clock.observe(intake.clock.last(), intake.now_ms);
    line.set_clock(clock);
    let greatest = intake.greatest_lines.get(&line.device).copied();
    let renewed = greatest.is_some_and(|greatest| greatest > line.line) || intake.doubled.contains(&line.device);
    if renewed {
        line.renew(intake.fresh);
    }
    if let Some(name) = intake.file.as_ref().filter(|_| intake.n > 0) {
        let first = expected_arrived + 1;
        let files = FilesRow::read(files_row)?;
        ops.push(files.with(name, intake.now_ms, first, intake.n).put());
    }
    if !intake.packed.is_empty() {
        ops.push(blocks.put());
    }
    ops.push(line.put());
    Ok(Some(Imported { ops, line, blocks, renewed }))
}
