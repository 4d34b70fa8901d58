//! Storage in the browser. What to read and write, and in which order, is decided by the sessions of core's shelf; here
//! they are carried out on IndexedDB, one database a ledger, and other tabs are told.
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

use std::{cell::RefCell, ops::ControlFlow, rc::Rc, sync::Arc};

use bloomdue_core::ledger::{
    Ledger,
    entry::Entry,
    id::Id,
    shelf::{
        Fresh, LineRow, Op, RowProblem, Store as Shelf,
        session::{Answers, Change, Durability, KeyedRows, Open, OpenedShelf, Read, Session, Step, Tab},
    },
};
use bloomdue_words::told::{Gone, StoreError};
use wasm_bindgen::JsValue;
use web_sys::BroadcastChannel;

pub(crate) use database::when_idle;
use database::{Connection, Fate, ledger_stores};
pub(crate) use files::{Dress, FileError, PhotosIn, RecordsIn, breathe, pause, preview_file, read_file};
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
    /// How far this tab knows what is stored.
    tab: RefCell<Tab>,
    channel: RefCell<Option<BroadcastChannel>>,
    on_change: RefCell<Option<Listener>>,
}

/// What a change gives once it is complete.
type Next<T> = Result<ControlFlow<T>, StoreError>;

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

/// Rows to be changed.
fn unshared(rows: KeyedRows) -> Vec<(String, Vec<u8>)> {
    rows.into_iter().map(|(key, row)| (key, row.to_vec())).collect()
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
        Self::connect(ledger).await?.open_all(fresh(ledger, fresh_device)).await
    }

    async fn open_all(self, fresh: Fresh) -> Result<Opened, StoreError> {
        let OpenedShelf { opened, drafts } = self.carry_out(Open::new(fresh)).await?;
        self.listen();
        Ok(Opened {
            store: self,
            ledger: opened.ledger,
            line: opened.line,
            problems: opened.problems,
            drafts: unshared(drafts),
            renewed: opened.renewed,
        })
    }

    /// A connection to a nursery's storage, of which nothing has been read.
    async fn connect(ledger: Id) -> Result<Self, StoreError> {
        let fate = Rc::new(Fate::default());
        let name = registry::database_name(ledger);
        let connection = Connection::open(&name, &ledger_stores(), Rc::clone(&fate)).await?;
        Ok(Self(Rc::new(Inner {
            ledger,
            connection: RefCell::new(Some(Rc::new(connection))),
            fate,
            tab: RefCell::default(),
            channel: RefCell::new(None),
            on_change: RefCell::new(None),
        })))
    }

    /// Carries a session out, step by step.
    async fn carry_out<S>(&self, session: S) -> Result<S::Done, StoreError>
    where
        S: Session<StoreError, Done: 'static> + 'static,
    {
        let session = Rc::new(RefCell::new(session));
        loop {
            let step = session.borrow_mut().step(&mut self.0.tab.borrow_mut(), now_ms());
            let next = match step {
                Step::Rest => {
                    breathe().await;
                    continue;
                }
                Step::Read(reads) => {
                    let found = self.read(&reads).await;
                    session.borrow_mut().found(&mut self.0.tab.borrow_mut(), found)
                }
                Step::Change(change) => {
                    let work = async |connection| self.change_on(connection, &change, &session).await;
                    let changed = if change.again { self.retrying(work).await } else { self.once(work).await };
                    changed.unwrap_or_else(|why| session.borrow_mut().ended(&mut self.0.tab.borrow_mut(), Err(why)))
                }
            };
            if let ControlFlow::Break(done) = self.noticed(next)? {
                return Ok(done);
            }
        }
    }

    /// One change of a session; what it gives once it is complete.
    async fn change_on<S>(
        &self,
        connection: Rc<Connection>,
        change: &Change,
        session: &Rc<RefCell<S>>,
    ) -> Result<Next<S::Done>, StoreError>
    where
        S: Session<StoreError, Done: 'static> + 'static,
    {
        let (deciding, to_decide) = (self.clone(), Rc::clone(session));
        let (ending, to_end) = (self.clone(), Rc::clone(session));
        connection
            .change(
                change,
                move |found| to_decide.borrow_mut().decide(&mut deciding.0.tab.borrow_mut(), found, now_ms()),
                move || to_end.borrow_mut().ended(&mut ending.0.tab.borrow_mut(), Ok(())),
            )
            .await
    }

    /// Reads several things as they stood at one moment; what fails is asked once more over a new connection.
    async fn read(&self, reads: &[Read]) -> Result<Answers, StoreError> {
        let connection = self.connection().await?;
        match connection.read(reads).await {
            Err(_) => {
                self.close();
                self.connection().await?.read(reads).await
            }
            found => found,
        }
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
        match self.once(&work).await {
            Err(StoreError::ConnectionLost) => self.once(&work).await,
            done => done,
        }
    }

    /// Does something; a connection that was lost is let go of.
    async fn once<T>(&self, work: impl AsyncFn(Rc<Connection>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let done = work(self.connection().await?).await;
        if matches!(done, Err(StoreError::ConnectionLost)) {
            self.close();
        }
        done
    }

    /// Carries out operations that depend on nothing that is stored.
    async fn run(&self, stores: &[Shelf], durability: Durability, ops: Vec<Op>) -> Result<(), StoreError> {
        let change = Change { stores: stores.to_vec(), durability, reads: Vec::new(), again: true };
        self.retrying(async |connection| {
            let ops = ops.clone();
            connection.change(&change, move |_| Ok(ops), || {}).await
        })
        .await
    }

    /// One row as the browser holds it, so that large ones need not pass through the program's memory.
    async fn raw_row(&self, store: Shelf, key: &str) -> Result<JsValue, StoreError> {
        let reads = [Read::Row(store, key.to_owned())];
        let found = self.retrying(async |connection| connection.read_raw(&reads).await).await?;
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

/// What a nursery starts with that was not kept here before.
fn fresh(ledger: Id, device: Id) -> Fresh {
    Fresh { ledger, device, now_ms: now_ms(), today: crate::device::clock::today() }
}
