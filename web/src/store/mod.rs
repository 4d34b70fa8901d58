//! Storage in the browser. What to write is decided by core's shelf; here its lists of operations are carried out on
//! IndexedDB, one database a ledger, and other tabs are told.
//!
//! "Saved" may be shown when [`Store::append`] has given back its entries and not before: the transaction is complete
//! on the medium, and what was written has been read back in a new one.

mod database;
mod error;
mod files;
mod kept;
mod once;
mod photos;
#[cfg(feature = "probe")]
pub(crate) mod probe;
mod raw;
mod registry;
mod saving;
mod state;

use std::{
    cell::{Cell, RefCell},
    rc::Rc,
    sync::Arc,
};

use bloomdue_core::ledger::{
    Ledger,
    entry::Entry,
    id::Id,
    shelf::{self, BLOCKS_KEY, Fresh, LINE_KEY, LineRow, Op, Opening, RowProblem, Store as Shelf},
};
use wasm_bindgen::JsValue;
use web_sys::BroadcastChannel;

pub(crate) use database::Gone;
pub(crate) use database::when_idle;
use database::{Connection, Durability, Fate, Read, keyed, ledger_stores, row};
pub(crate) use error::StoreError;
pub(crate) use files::{FileError, PhotosIn, breathe, pause, preview_file, read_file};
pub(crate) use kept::{OpenedSoon, Rest};
pub(crate) use raw::{raw_file, set_last_aside};
pub(crate) use registry::{Known, registry, remember};
pub(crate) use state::{StorageState, ask_to_persist, storage_state};

/// How often, and after how long each time, a connection that the browser closed is looked into.
const LOOKS_WHY_LOST: usize = 5;
const LOOK_AGAIN_MS: i32 = 500;

/// The storage of one nursery. Clones share one connection.
#[derive(Clone)]
pub(crate) struct Store(Rc<Inner>);

/// Called with entries that another tab has saved, and how far this device has come.
type Listener = Rc<dyn Fn(Vec<Arc<Entry>>, LineRow)>;

struct Inner {
    ledger: Id,
    connection: RefCell<Option<Rc<Connection>>>,
    fate: Rc<Fate>,
    /// The last arrival that this tab knows of.
    known: Cell<u64>,
    /// Arrivals of other tabs not read yet, first and last.
    unread: RefCell<Vec<(u64, u64)>>,
    channel: RefCell<Option<BroadcastChannel>>,
    on_change: RefCell<Option<Listener>>,
    n_tail: Cell<u64>,
}

/// An opened nursery.
pub(crate) struct Opened {
    /// Its storage.
    pub(crate) store: Store,
    /// All entries.
    pub(crate) ledger: Ledger,
    /// Which device this is, and how far it has come.
    pub(crate) line: LineRow,
    /// Rows that cannot be read; nothing else is affected.
    pub(crate) problems: Vec<RowProblem>,
    /// Forms not saved yet, by the screen's key.
    pub(crate) drafts: Vec<(String, Vec<u8>)>,
    /// Whether another device writes under this one's name, which therefore took a new one.
    pub(crate) renewed: bool,
}

/// The wall clock, in ms since 1970.
pub(super) fn now_ms() -> u64 {
    // Times before 1970 count as 1970: the conversion of a negative number gives 0.
    js_sys::Date::now() as u64
}

impl Store {
    /// Opens a nursery's storage, or sets it up, and reads every entry. `fresh_device` becomes this installation's name
    /// in the ledger if it has none yet.
    pub(crate) async fn open(ledger: Id, fresh_device: Id) -> Result<Opened, StoreError> {
        let (connection, fate) = connect(ledger).await?;
        Self::open_on(connection, fate, fresh(ledger, fresh_device)).await
    }

    /// Reads every entry over a connection, and puts right what the two rows of `meta` do not say as it is.
    async fn open_on(connection: Connection, fate: Rc<Fate>, fresh: Fresh) -> Result<Opened, StoreError> {
        let mut read = read_all(&connection, fresh).await?;
        let renewed = read.opened.renewed;
        // Another tab may be setting up the same database: whoever is second reads again.
        while !read.opened.repairs.is_empty() && !repair(&connection, &read).await? {
            read = read_all(&connection, fresh).await?;
        }
        let ReadAll { opened, drafts, n_tail, .. } = read;
        Ok(Opened {
            store: Self::of(connection, fate, &opened.line, n_tail),
            ledger: opened.ledger,
            line: opened.line,
            problems: opened.problems,
            drafts,
            renewed: opened.renewed || renewed,
        })
    }

    fn of(connection: Connection, fate: Rc<Fate>, line: &LineRow, n_tail: u64) -> Self {
        let store = Self(Rc::new(Inner {
            ledger: line.ledger,
            connection: RefCell::new(Some(Rc::new(connection))),
            fate,
            known: Cell::new(line.arrived),
            unread: RefCell::default(),
            channel: RefCell::new(None),
            on_change: RefCell::new(None),
            n_tail: Cell::new(n_tail),
        }));
        store.listen();
        store
    }

    /// Calls `changed` with the entries that another tab has saved, each time it does, and how far this device has come.
    pub(crate) fn on_change(&self, changed: impl Fn(Vec<Arc<Entry>>, LineRow) + 'static) {
        *self.0.on_change.borrow_mut() = Some(Rc::new(changed));
    }

    /// Calls `gone` when this tab can no longer save: another one took the storage over, or the browser has cleared it.
    pub(crate) fn on_gone(&self, gone: impl Fn(Gone) + 'static) {
        *self.0.fate.on_gone.borrow_mut() = Some(Rc::new(gone));
        let store = Rc::downgrade(&self.0);
        let look = move || {
            let Some(inner) = store.upgrade() else { return };
            wasm_bindgen_futures::spawn_local(Self(inner).look_why_lost());
        };
        *self.0.fate.on_lost.borrow_mut() = Some(Rc::new(look));
    }

    /// Why the browser closed the connection shows when it is opened again. While it is clearing it may refuse that, so
    /// it is asked some times; a failure that stays is met again, and shown, at the next save.
    async fn look_why_lost(self) {
        for _ in 0..LOOKS_WHY_LOST {
            pause(LOOK_AGAIN_MS).await;
            if matches!(self.catch_up().await, Ok(_) | Err(StoreError::Cleared)) {
                return;
            }
        }
    }

    /// Tells when storage turns out to be cleared.
    fn noticed<T>(&self, done: Result<T, StoreError>) -> Result<T, StoreError> {
        if matches!(done, Err(StoreError::Cleared)) {
            self.0.fate.go(Gone::Cleared);
        }
        done
    }

    /// Closes the connection; the next use opens it again.
    pub(crate) fn close(&self) {
        if let Some(connection) = self.0.connection.borrow_mut().take() {
            connection.close();
        }
    }

    /// Removes this nursery from this browser for good.
    pub(crate) async fn wipe(self) -> Result<(), StoreError> {
        if let Some(channel) = self.0.channel.borrow_mut().take() {
            channel.close();
        }
        self.close();
        registry::wipe(self.0.ledger).await
    }

    /// The connection, opened again when the browser has dropped it.
    async fn connection(&self) -> Result<Rc<Connection>, StoreError> {
        match self.0.fate.gone() {
            Some(Gone::Newer) => return Err(StoreError::NewerVersion),
            Some(Gone::Wiped) => return Err(StoreError::Wiped),
            // It can be opened again, and is empty.
            Some(Gone::Cleared) | None => {}
        }
        let current = self.0.connection.borrow().clone();
        match current {
            Some(connection) if !connection.is_lost() => Ok(connection),
            _ => {
                let name = registry::database_name(self.0.ledger);
                let fate = Rc::clone(&self.0.fate);
                let opened = Connection::open(&name, &ledger_stores(), fate).await;
                // What was open before is offered: it is lost for a moment.
                let opened = opened.map_err(|why| match why {
                    StoreError::NotOffered(_) => StoreError::ConnectionLost,
                    other => other,
                });
                let connection = Rc::new(opened?);
                *self.0.connection.borrow_mut() = Some(Rc::clone(&connection));
                Ok(connection)
            }
        }
    }

    /// Does something that may be done twice; when the connection was lost, once more on a new one.
    async fn retrying<T>(&self, work: impl AsyncFn(Rc<Connection>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let connection = self.connection().await?;
        match work(connection).await {
            Err(StoreError::ConnectionLost) => {
                self.close();
                work(self.connection().await?).await
            }
            done => done,
        }
    }

    /// Carries out operations that depend on nothing that is stored.
    async fn run(&self, stores: &[Shelf], durability: Durability, ops: Vec<Op>) -> Result<(), StoreError> {
        let names: Vec<&'static str> = stores.iter().map(|store| store.name()).collect();
        self.retrying(async |connection| {
            let ops = ops.clone();
            connection.change(&names, durability, &[], move |_| Ok((ops, ())), |()| {}).await
        })
        .await
    }

    /// One row.
    async fn row(&self, store: Shelf, key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let found = self.raw_row(store, key).await?;
        Ok(row(&found))
    }

    /// One row as the browser holds it, so that large ones need not pass through the program's memory.
    async fn raw_row(&self, store: Shelf, key: &str) -> Result<JsValue, StoreError> {
        let reads = [(store.name(), Read::Row(key.to_owned()))];
        let found = self.retrying(async |connection| connection.read(&reads).await).await?;
        Ok(found.into_iter().next().unwrap_or_default())
    }

    /// Keeps forms that are not saved yet; empty ones are let go. Quick, and not proof against a power cut.
    pub(crate) async fn keep_drafts(&self, drafts: &[(String, Vec<u8>)]) -> Result<(), StoreError> {
        let op = |(key, draft): &(String, Vec<u8>)| {
            if draft.is_empty() { Op::delete(Shelf::Drafts, key) } else { Op::put(Shelf::Drafts, key, &draft[..]) }
        };
        let ops = drafts.iter().map(op).collect();
        self.run(&[Shelf::Drafts], Durability::Relaxed, ops).await
    }
}

impl Drop for Inner {
    fn drop(&mut self) {
        if let Some(channel) = self.channel.borrow_mut().take() {
            channel.close();
        }
    }
}

/// The `line` row, which every storage in use has.
fn line_row(found: &[JsValue]) -> Result<Vec<u8>, StoreError> {
    found.first().and_then(row).ok_or(StoreError::Cleared)
}

async fn connect(ledger: Id) -> Result<(Connection, Rc<Fate>), StoreError> {
    let fate = Rc::new(Fate::default());
    let name = registry::database_name(ledger);
    let connection = Connection::open(&name, &ledger_stores(), Rc::clone(&fate)).await?;
    Ok((connection, fate))
}

/// What a nursery starts with that was not kept here before.
fn fresh(ledger: Id, device: Id) -> Fresh {
    Fresh { ledger, device, now_ms: now_ms(), today: crate::device::clock::today() }
}

/// Everything that opening reads.
struct ReadAll {
    opened: shelf::Opened,
    line: Option<Vec<u8>>,
    list: Option<Vec<u8>>,
    drafts: Vec<(String, Vec<u8>)>,
    n_tail: u64,
}

/// The answers to `Keys` and `Rows`, asked one after the other.
fn pair(found: &[JsValue], at: usize) -> Vec<(String, Vec<u8>)> {
    match found.get(at..at + 2) {
        Some([keys, rows]) => keyed(keys, rows),
        _ => Vec::new(),
    }
}

async fn read_all(connection: &Connection, fresh: Fresh) -> Result<ReadAll, StoreError> {
    let [meta, blocks, tail, drafts] = [Shelf::Meta, Shelf::Blocks, Shelf::Tail, Shelf::Drafts].map(Shelf::name);
    let found = connection
        .read(&[
            (meta, Read::Row(LINE_KEY.to_owned())),
            (meta, Read::Row(BLOCKS_KEY.to_owned())),
            (blocks, Read::Keys),
            (blocks, Read::Rows),
            (tail, Read::Keys),
            (tail, Read::Rows),
            (drafts, Read::Keys),
            (drafts, Read::Rows),
        ])
        .await?;
    let line = found.first().and_then(row);
    let list = found.get(1).and_then(row);
    let mut opening = Opening::new(line.as_deref(), list.as_deref(), fresh);
    for (key, row) in pair(&found, 2) {
        opening.block(&key, &row);
    }
    let tail = pair(&found, 4);
    for (key, row) in &tail {
        opening.tail(key, row);
    }
    Ok(ReadAll { opened: opening.finish(), line, list, drafts: pair(&found, 6), n_tail: tail.len() as u64 })
}

/// Writes the repairs, unless the two rows are no longer what was read.
async fn repair(connection: &Connection, read: &ReadAll) -> Result<bool, StoreError> {
    let meta = Shelf::Meta.name();
    let before = [read.line.clone(), read.list.clone()];
    let repairs = read.opened.repairs.clone();
    connection
        .change(
            &[meta],
            Durability::Strict,
            &[(meta, Read::Row(LINE_KEY.to_owned())), (meta, Read::Row(BLOCKS_KEY.to_owned()))],
            move |found| {
                let same = found.iter().map(row).eq(before);
                Ok((if same { repairs } else { Vec::new() }, same))
            },
            |_| {},
        )
        .await
}
