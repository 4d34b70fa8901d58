//! How storage is used, step by step and without touching any. A [`Session`] says what to read or which change to carry
//! out, is told what came of it, and goes on. The browser and the simulation with its faults run the same sessions.
//!
//! A change is one transaction: its reads come first, and with their answers it is decided at once what is written, so
//! that nothing is ever waited for inside a transaction.

mod news;
mod open;
mod save;
mod take_in;

use std::ops::ControlFlow;

use super::{
    BLOCKS_KEY, BlocksRow, Bytes, FILES_KEY, FileTaken, HEARD_KEY, Heard, HeardRow, LINE_KEY, LineRow, Op, START_KEY,
    Store, compact, exported, set_aside, start,
};
use crate::error::Error;

pub use news::{Between, CatchUp};
pub use open::{Open, OpenedShelf};
pub use save::{Save, Saved};
pub use take_in::{Origin, TakeIn, TakenIn};

/// Rows with their keys, in order of keys.
pub type KeyedRows = Vec<(String, Bytes)>;

/// When a transaction counts as complete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Durability {
    /// When the bytes are on the medium: everything of the ledger.
    Strict,
    /// When the system has the bytes: drafts and marks.
    Relaxed,
}

/// What to read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Read {
    /// The row of a key.
    Row(Store, String),
    /// Every row of a store.
    All(Store),
    /// Every key of a store.
    Keys(Store),
    /// Rows of a store after this key.
    After(Store, String),
}

impl Read {
    /// The store it reads.
    pub const fn store(&self) -> Store {
        match self {
            Self::Row(store, _) | Self::All(store) | Self::Keys(store) | Self::After(store, _) => *store,
        }
    }

    /// A row of `meta`.
    pub fn meta(key: &str) -> Self {
        Self::Row(Store::Meta, key.to_owned())
    }
}

/// The answer to one [`Read`].
#[derive(Clone, Debug)]
pub enum Found {
    /// A row, if there is one.
    Row(Option<Bytes>),
    /// Rows.
    Rows(KeyedRows),
    /// Keys.
    Keys(Vec<String>),
}

/// The answers to some reads, taken in the order in which they were asked.
#[derive(Debug)]
pub struct Answers(std::vec::IntoIter<Found>);

impl Answers {
    /// These answers.
    pub fn new(found: Vec<Found>) -> Self {
        Self(found.into_iter())
    }

    /// The next answer, to [`Read::Row`].
    pub fn row(&mut self) -> Option<Bytes> {
        match self.0.next() {
            Some(Found::Row(row)) => row,
            _ => None,
        }
    }

    /// The next answer, to [`Read::Keys`].
    pub fn keys(&mut self) -> Vec<String> {
        match self.0.next() {
            Some(Found::Keys(keys)) => keys,
            _ => Vec::new(),
        }
    }

    /// The next answer, to [`Read::All`] or [`Read::After`].
    pub fn rows(&mut self) -> KeyedRows {
        match self.0.next() {
            Some(Found::Rows(rows)) => rows,
            _ => Vec::new(),
        }
    }

    /// The `line` row, which every storage in use has.
    ///
    /// # Errors
    /// [`Fault::cleared`] where it is gone.
    pub fn line<F: Fault>(&mut self) -> Result<Bytes, F> {
        self.row().ok_or_else(F::cleared)
    }
}

/// One transaction that writes.
#[derive(Clone, Debug)]
pub struct Change {
    /// The stores it reads and writes.
    pub stores: Vec<Store>,
    /// When it is complete.
    pub durability: Durability,
    /// What is read before it is decided.
    pub reads: Vec<Read>,
    /// Whether it may be carried out twice: after a lost connection it simply is.
    pub again: bool,
}

/// What to do next.
#[derive(Clone, Debug)]
pub enum Step {
    /// Read these as they stand at one moment, and give the answers to [`Session::found`]. What fails is best asked once
    /// more over a new connection.
    Read(Vec<Read>),
    /// Carry out a change: give its answers to [`Session::decide`], carry out what that gives, all or nothing, and say
    /// how it ended to [`Session::ended`].
    Change(Change),
    /// Ask again; there is time for something else before.
    Rest,
}

/// What can go wrong with a storage.
pub trait Fault: From<Error> {
    /// Something that was kept is no longer there.
    fn cleared() -> Self;
    /// What was read back is not what was written.
    fn not_read_back() -> Self;
    /// Whether it is [`Self::not_read_back`].
    fn is_not_read_back(&self) -> bool;
    /// Whether the connection was lost, so that nobody knows whether a change was carried out.
    fn is_lost(&self) -> bool;
}

/// Going on, or over with a result.
pub type Next<T, F> = Result<ControlFlow<T>, F>;

/// One use of storage.
pub trait Session<F: Fault> {
    /// What it gives.
    type Done;

    /// What to do now, while the wall clock shows `now_ms`.
    fn step(&mut self, tab: &mut Tab, now_ms: u64) -> Step;

    /// What a read gave.
    ///
    /// # Errors
    /// The session is over: nothing more is to be done.
    fn found(&mut self, _tab: &mut Tab, found: Result<Answers, F>) -> Next<Self::Done, F> {
        found.map(|_| ControlFlow::Continue(()))
    }

    /// What a change is to write, now that its reads are answered. Called inside the transaction.
    ///
    /// # Errors
    /// Nothing is to be written.
    fn decide(&mut self, _tab: &mut Tab, _found: Answers, _now_ms: u64) -> Result<Vec<Op>, F> {
        Ok(Vec::new())
    }

    /// How a change ended. Called in the moment in which it is complete, before any other change can be.
    ///
    /// # Errors
    /// The session is over: nothing more is to be done.
    fn ended(&mut self, _tab: &mut Tab, ended: Result<(), F>) -> Next<Self::Done, F> {
        ended.map(ControlFlow::Continue)
    }
}

/// How far one tab knows what is stored. All its sessions share it.
#[derive(Clone, Debug, Default)]
pub struct Tab {
    /// The last arrival that it knows of.
    known: u64,
    /// Arrivals of other tabs not read yet, first and last.
    unread: Vec<(u64, u64)>,
    n_tail: u64,
}

/// More rows than this in `tail` are moved into blocks when the device is idle.
const TAIL_MAX: u64 = 500;

impl Tab {
    /// Notes that everything up to this arrival is there and has to be read, as far as it is not known.
    fn claim(&mut self, arrived: u64) {
        if arrived > self.known {
            self.unread.push((self.known + 1, arrived));
            self.known = arrived;
        }
    }

    /// Everything that is stored was read: so many arrivals as the line says, so many rows of `tail`.
    pub fn stands(&mut self, line: &LineRow, n_tail: usize) {
        self.known = line.arrived;
        self.n_tail = n_tail as u64;
    }

    /// Whether so many rows stand in `tail` that moving them into blocks is worth it.
    pub const fn is_full(&self) -> bool {
        self.n_tail > TAIL_MAX
    }
}

/// Decides a change.
type Decide<T, F> = Box<dyn FnMut(Answers, u64) -> Result<(Vec<Op>, T), F>>;

/// A session of one change.
pub struct Once<T, F> {
    change: Change,
    decide: Decide<T, F>,
    decided: Option<T>,
    completed: fn(&mut Tab, &T),
}

impl<T, F: Fault> Once<T, F> {
    fn new(change: Change, decide: impl FnMut(Answers, u64) -> Result<(Vec<Op>, T), F> + 'static) -> Self {
        Self { change, decide: Box::new(decide), decided: None, completed: |_, _| {} }
    }
}

impl<T, F: Fault> Session<F> for Once<T, F> {
    type Done = T;

    fn step(&mut self, _: &mut Tab, _: u64) -> Step {
        Step::Change(self.change.clone())
    }

    fn decide(&mut self, _: &mut Tab, found: Answers, now_ms: u64) -> Result<Vec<Op>, F> {
        let (ops, decided) = (self.decide)(found, now_ms)?;
        self.decided = Some(decided);
        Ok(ops)
    }

    fn ended(&mut self, tab: &mut Tab, ended: Result<(), F>) -> Next<T, F> {
        ended?;
        Ok(self.decided.take().map_or(ControlFlow::Continue(()), |decided| {
            (self.completed)(tab, &decided);
            ControlFlow::Break(decided)
        }))
    }
}

/// Moves rows of `tail` into blocks; gives how many.
pub fn compacting<F: Fault>() -> Once<u64, F> {
    let change = Change {
        stores: vec![Store::Meta, Store::Blocks, Store::Tail],
        durability: Durability::Strict,
        reads: vec![Read::meta(BLOCKS_KEY), Read::All(Store::Tail)],
        again: false,
    };
    let once = Once::new(change, |mut found, _| {
        let list = found.row();
        let compacted = compact(list.as_deref(), &found.rows())?;
        let n_moved = compacted.ops.iter().filter(|op| matches!(op, Op::Delete { .. })).count();
        Ok((compacted.ops, n_moved as u64))
    });
    Once { completed: |tab, n_moved| tab.n_tail = tab.n_tail.saturating_sub(*n_moved), ..once }
}

/// Notes that a file went out just now which holds this device's entries up to line `up_to`.
pub fn exporting<F: Fault>(up_to: u64) -> Once<LineRow, F> {
    let change = Change {
        stores: vec![Store::Meta],
        durability: Durability::Strict,
        reads: vec![Read::meta(LINE_KEY)],
        again: true,
    };
    Once::new(change, move |mut found, now_ms| Ok(exported(&found.line::<F>()?, up_to, now_ms)?))
}

/// Notes what other devices said that they have. Gives what was heard of all of them.
pub fn hearing<F: Fault>(heard: Vec<Heard>) -> Once<HeardRow, F> {
    let change = Change {
        stores: vec![Store::Meta],
        durability: Durability::Relaxed,
        reads: vec![Read::meta(LINE_KEY), Read::meta(HEARD_KEY)],
        again: true,
    };
    Once::new(change, move |mut found, now_ms| {
        let own = LineRow::read(&found.row().unwrap_or_default())?.device;
        // What was heard may be lost; a row that cannot be read is begun anew.
        let row = HeardRow::read(found.row().as_deref()).unwrap_or_default();
        let heard = heard.iter().map(|heard| Heard { heard_ms: now_ms, ..heard.clone() });
        let row = heard.fold(row, |row, heard| row.with(heard, own));
        Ok((vec![row.put()], row))
    })
}

/// Sets aside what the last file brought. Gives the file, or nothing when none is left.
pub fn setting_aside<F: Fault>() -> Once<Option<FileTaken>, F> {
    let change = Change {
        stores: vec![Store::Meta, Store::Blocks, Store::Tail],
        durability: Durability::Strict,
        reads: vec![Read::meta(FILES_KEY), Read::meta(BLOCKS_KEY), Read::All(Store::Blocks), Read::All(Store::Tail)],
        again: false,
    };
    Once::new(change, |mut found, now_ms| {
        let (files, list) = (found.row(), found.row());
        let (blocks, tail) = (found.rows(), found.rows());
        let aside = set_aside(files.as_deref(), list.as_deref(), &blocks, &tail, now_ms)?;
        Ok(aside.map_or((Vec::new(), None), |(ops, file)| (ops, Some(file))))
    })
}

/// Marks that a start begins; gives false when an earlier one did not finish. `anyway` begins it all the same.
pub fn starting<F: Fault>(anyway: bool) -> Once<bool, F> {
    let change = Change {
        stores: vec![Store::Meta],
        durability: Durability::Relaxed,
        reads: vec![Read::meta(START_KEY)],
        again: false,
    };
    Once::new(change, move |mut found, now_ms| {
        let before = found.row();
        let ops =
            if anyway { Some(start::start_anyway(now_ms)) } else { start::begin_start(before.as_deref(), now_ms) };
        let goes_on = ops.is_some();
        Ok((ops.unwrap_or_default(), goes_on))
    })
}

/// The list of blocks.
fn listed(row: Option<Bytes>) -> Result<BlocksRow, Error> {
    row.map_or(Ok(BlocksRow::default()), |row| BlocksRow::read(&row))
}

/// What to read so that it is known whether these operations stand; those of `meta` may rightly have changed.
fn reads_back(ops: &[Op]) -> Vec<Read> {
    let put = puts(ops).map(|(store, key, _)| Read::Row(store, key.to_owned()));
    put.collect()
}

/// Whether they stand. False when some are no longer in `tail`, from where another tab may have moved them.
fn stand<F: Fault>(ops: &[Op], found: &mut Answers) -> Result<bool, F> {
    let mut all_there = true;
    for (store, _, bytes) in puts(ops) {
        match found.row() {
            Some(row) if row == *bytes => {}
            None if store == Store::Tail => all_there = false,
            _ => return Err(F::not_read_back()),
        }
    }
    Ok(all_there)
}

fn puts(ops: &[Op]) -> impl Iterator<Item = (Store, &str, &Bytes)> {
    ops.iter().filter_map(|op| match op {
        Op::Put { store, key, bytes } if *store != Store::Meta => Some((*store, key.as_str(), bytes)),
        _ => None,
    })
}
