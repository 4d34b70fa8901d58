//! Taking entries in.

use std::{
    collections::{BTreeSet, HashSet},
    ops::ControlFlow,
    sync::Arc,
};

use super::{Answers, CatchUp, Change, Durability, Fault, Next, Read, Session, Step, Tab, reads_back, stand};
use crate::ledger::{
    entry::Entry,
    id::Id,
    shelf::{BLOCK_ENTRIES, BLOCKS_KEY, FILES_KEY, Imported, Intake, LINE_KEY, LineRow, Op, Store, import},
};

/// Entries packed before the session rests.
const SLICE_ENTRIES: usize = 2 * BLOCK_ENTRIES;

/// Rows read back in one transaction.
const READ_BACK_AT_ONCE: usize = 8;

/// What taking in gave.
#[derive(Clone, Debug)]
pub struct TakenIn<F> {
    /// The new entries, now kept here.
    pub entries: Vec<Arc<Entry>>,
    /// Entries that another tab saved before, which this tab has not had yet.
    pub missed: Vec<Arc<Entry>>,
    /// How far this device has come.
    pub line: LineRow,
    /// Whether another device writes under this one's name, which therefore took a new one.
    pub renewed: bool,
    /// They are kept, and the storage did not answer when they were to be read back.
    pub beside: Option<F>,
}

/// Where entries to be taken in come from.
#[derive(Clone, Debug)]
pub struct Origin {
    /// Name of the file; nothing when they were made here.
    pub file: Option<String>,
    /// Devices that doubled their line numbers.
    pub doubled: BTreeSet<Id>,
    /// A name for this installation, drawn now.
    pub fresh: Id,
}

/// Takes entries in, all in one strict transaction, as often as another tab was quicker, and reads them back.
pub struct TakeIn<F> {
    new: Vec<Arc<Entry>>,
    missed: Vec<Arc<Entry>>,
    origin: Origin,
    at: At,
    beside: Option<F>,
}

enum At {
    /// Nothing is packed yet.
    Begin,
    /// So many are packed.
    Packing(Intake, usize),
    /// The change, for which so many arrivals are expected.
    Write(Intake, u64),
    /// What it wrote, once it is decided; nothing when another tab was quicker.
    Decided(Option<Imported>),
    /// Another tab was quicker: what it wrote is not new any more.
    Behind(CatchUp),
    /// Reading back, from this operation on.
    ReadBack(Imported, usize),
}

impl<F: Fault> TakeIn<F> {
    /// Takes these entries in.
    pub const fn new(new: Vec<Arc<Entry>>, origin: Origin) -> Self {
        Self { new, missed: Vec::new(), origin, at: At::Begin, beside: None }
    }

    /// Reads back from this operation on; those of which nothing is to be read back are skipped.
    fn read_back(&mut self, imported: Imported, from: usize) -> ControlFlow<TakenIn<F>> {
        let left = &imported.ops[from..];
        if let Some(skipped) = left.iter().position(|op| !reads_back(std::slice::from_ref(op)).is_empty()) {
            self.at = At::ReadBack(imported, from + skipped);
            return ControlFlow::Continue(());
        }
        ControlFlow::Break(TakenIn {
            entries: std::mem::take(&mut self.new),
            missed: std::mem::take(&mut self.missed),
            line: imported.line,
            renewed: imported.renewed,
            beside: self.beside.take(),
        })
    }
}

impl<F: Fault> Session<F> for TakeIn<F> {
    type Done = TakenIn<F>;

    fn step(&mut self, tab: &mut Tab, now_ms: u64) -> Step {
        match &mut self.at {
            At::Begin => {
                let intake = Intake::new(now_ms, self.origin.fresh).with_doubled(self.origin.doubled.iter().copied());
                let intake = self.origin.file.iter().fold(intake, |intake, name| intake.of_file(name));
                self.at = At::Packing(intake, 0);
                Step::Rest
            }
            At::Packing(intake, n) if *n < self.new.len() => {
                let slice = &self.new[*n..self.new.len().min(*n + SLICE_ENTRIES)];
                intake.add(slice);
                *n += slice.len();
                Step::Rest
            }
            At::Packing(intake, _) => {
                let intake = intake.clone();
                self.at = At::Write(intake, tab.known);
                self.step(tab, now_ms)
            }
            At::Write(..) | At::Decided(_) => Step::Change(Change {
                stores: vec![Store::Meta, Store::Blocks, Store::Tail],
                durability: Durability::Strict,
                reads: vec![Read::meta(LINE_KEY), Read::meta(BLOCKS_KEY), Read::meta(FILES_KEY)],
                again: false,
            }),
            At::Behind(catch_up) => <CatchUp as Session<F>>::step(catch_up, tab, now_ms),
            At::ReadBack(imported, from) => {
                Step::Read(reads_back(&imported.ops[*from..imported.ops.len().min(*from + READ_BACK_AT_ONCE)]))
            }
        }
    }

    fn found(&mut self, tab: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        match std::mem::replace(&mut self.at, At::Begin) {
            At::Behind(mut catch_up) => {
                if let ControlFlow::Break((there, _)) = catch_up.found(tab, found)? {
                    let known: HashSet<_> = there.iter().map(|entry| entry.id).collect();
                    self.new.retain(|entry| !known.contains(&entry.id));
                    self.missed.extend(there);
                } else {
                    self.at = At::Behind(catch_up);
                }
                Ok(ControlFlow::Continue(()))
            }
            At::ReadBack(imported, from) => {
                let to = imported.ops.len().min(from + READ_BACK_AT_ONCE);
                match found.and_then(|mut found| stand::<F>(&imported.ops[from..to], &mut found)) {
                    Err(why) if why.is_not_read_back() => return Err(why),
                    // From here on they are on the medium.
                    stood => self.beside = stood.err().or(self.beside.take()),
                }
                Ok(self.read_back(imported, to))
            }
            at => {
                self.at = at;
                found.map(|_| ControlFlow::Continue(()))
            }
        }
    }

    fn decide(&mut self, _: &mut Tab, mut found: Answers, _: u64) -> Result<Vec<Op>, F> {
        let At::Write(intake, expected) = &self.at else { return Ok(Vec::new()) };
        let line = found.line::<F>()?;
        let (list, files) = (found.row(), found.row());
        let imported = import(&line, list.as_deref(), files.as_deref(), *expected, intake)?;
        let ops = imported.as_ref().map(|imported| imported.ops.clone());
        self.at = At::Decided(imported);
        Ok(ops.unwrap_or_default())
    }

    fn ended(&mut self, tab: &mut Tab, ended: Result<(), F>) -> Next<Self::Done, F> {
        ended?;
        if let At::Decided(imported) = std::mem::replace(&mut self.at, At::Behind(CatchUp::default()))
            && let Some(imported) = imported
        {
            tab.known = imported.line.arrived;
            return Ok(self.read_back(imported, 0));
        }
        Ok(ControlFlow::Continue(()))
    }
}
