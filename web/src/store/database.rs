//! One connection to an IndexedDB database: opening, reading, and carrying out core's lists of operations.
//!
//! A change is one transaction. Its reads are requested first; in the success callback of the last one, synchronously,
//! the change is decided and its writes are requested, so that no await ever stands inside a transaction. It is done
//! when `complete` fires and not before.

use std::{
    cell::{Cell, RefCell},
    collections::VecDeque,
    future::IntoFuture as _,
    rc::Rc,
};

use bloomdue_core::ledger::shelf::{
    Bytes, Op, Store,
    session::{Answers, Change, Durability, Found, Read},
};
use bloomdue_words::told::{Gone, StoreError};
use idb::{Database, DatabaseEvent as _, Factory, ObjectStoreParams, Query, TransactionMode};
use js_sys::{Array, Uint8Array};
use serde::Serialize;
use wasm_bindgen::{JsCast as _, JsValue, closure::Closure, prelude::wasm_bindgen};
use web_sys::{Event, IdbDatabase, IdbRequest, IdbTransaction, IdbVersionChangeEvent};

use super::{
    error,
    once::{Give, once},
};

/// How long another tab may take to let go of the storage before the grower is told.
const BLOCKED_MS: i32 = 1000;

/// How long the browser may take to open the storage before the grower is told. Only the tab whose wish is in the way
/// hears that it is; one that waits behind it hears nothing.
const OPEN_WITHIN_MS: i32 = 8000;

/// Most operations requested in one go, and most bytes: longer lists go on in a callback, so that no task is long.
const SLICE_OPS: usize = 250;
const SLICE_BYTES: usize = 2 * 1024 * 1024;

#[wasm_bindgen]
extern "C" {
    /// A database whose transactions take the durability option, which idb does not know.
    #[wasm_bindgen(extends = IdbDatabase)]
    type DurableDatabase;

    #[wasm_bindgen(method, catch, js_name = transaction)]
    fn transaction_with_options(
        this: &DurableDatabase,
        stores: &JsValue,
        mode: &str,
        options: &JsValue,
    ) -> Result<IdbTransaction, JsValue>;
}

#[derive(Serialize)]
struct TransactionOptions {
    durability: &'static str,
}

/// Who is told that the database went away under an open page.
pub(super) type OnGone = Rc<dyn Fn(Gone)>;

/// What happens to a connection from outside.
#[derive(Default)]
pub(super) struct Fate {
    /// The browser closed it.
    pub(super) lost: Cell<bool>,
    /// Why this tab can no longer save, once it cannot.
    gone: Cell<Option<Gone>>,
    /// Called when it cannot.
    pub(super) on_gone: RefCell<Option<OnGone>>,
    /// Called when the browser has closed a connection.
    pub(super) on_lost: RefCell<Option<Rc<dyn Fn()>>>,
}

impl Fate {
    pub(super) fn gone(&self) -> Option<Gone> {
        self.gone.get()
    }

    /// Notes it, and tells it once.
    pub(super) fn go(&self, why: Gone) {
        if self.gone.replace(Some(why)) == Some(why) {
            return;
        }
        let told = self.on_gone.borrow().clone();
        if let Some(told) = told {
            told(why);
        }
    }
}

/// An open database.
pub(super) struct Connection {
    raw: IdbDatabase,
    /// Holds the handlers.
    _database: Database,
    fate: Rc<Fate>,
}

impl Connection {
    /// Opens a database, making the stores it lacks.
    pub(super) async fn open(name: &str, stores: &[&'static str], fate: Rc<Fate>) -> Result<Self, StoreError> {
        let factory = Factory::new().map_err(|why| error::at_opening(&why))?;
        let mut request = factory.open(name, Some(1)).map_err(|why| error::at_opening(&why))?;
        let wanted = stores.to_vec();
        request.on_upgrade_needed(move |event| {
            let Ok(database) = event.database() else {
                return;
            };
            let there = database.store_names();
            for store in wanted {
                if !there.iter().any(|name| name == store) {
                    // A store that cannot be made aborts the upgrade, and the request fails.
                    let _ = database.create_object_store(store, ObjectStoreParams::new());
                }
            }
        });
        let (opened, waiting) = once::<Result<Database, StoreError>>();
        let blocked = opened.clone();
        request.on_blocked(move |_| {
            let late = move || {
                blocked.give(Err(StoreError::Blocked));
            };
            after_ms(BLOCKED_MS, late);
        });
        let silent = opened.clone();
        after_ms(OPEN_WITHIN_MS, move || {
            silent.give(Err(StoreError::Blocked));
        });
        wasm_bindgen_futures::spawn_local(async move {
            let result = request.await.map_err(|why| error::at_opening(&why));
            // Nobody waits any more when the grower was told that another tab is in the way.
            if let Some(Ok(database)) = opened.give(result) {
                database.close();
            }
        });
        let raw = IdbDatabase::from(waiting.await.map_err(error::let_go)??);
        Ok(Self::new(raw, fate))
    }

    fn new(raw: IdbDatabase, fate: Rc<Fate>) -> Self {
        fate.lost.set(false);
        let mut database = Database::from(raw.clone());
        let (asked, closed) = (Rc::clone(&fate), Rc::clone(&fate));
        let own = raw.clone();
        database.on_version_change(move |event: Event| {
            own.close();
            let event = event.unchecked_into::<IdbVersionChangeEvent>();
            // A database that is to have no version is deleted.
            asked.go(match event.new_version() {
                Some(_) => Gone::Newer,
                None => Gone::Wiped,
            });
        });
        database.on_close(move |_| {
            closed.lost.set(true);
            let told = closed.on_lost.borrow().clone();
            if let Some(told) = told {
                told();
            }
        });
        Self { raw, _database: database, fate }
    }

    /// Whether the browser closed it.
    pub(super) fn is_lost(&self) -> bool {
        self.fate.lost.get()
    }

    pub(super) fn close(&self) {
        self.raw.close();
    }

    /// Reads several things as they stood at one moment.
    pub(super) async fn read(&self, reads: &[Read]) -> Result<Answers, StoreError> {
        let found = self.read_raw(reads).await?;
        Ok(answers(reads, found))
    }

    /// The same as the browser holds it, so that large rows need not pass through the program's memory.
    pub(super) async fn read_raw(&self, reads: &[Read]) -> Result<Vec<JsValue>, StoreError> {
        let idb = |why: idb::Error| error::of_idb(&why);
        let mut names: Vec<&str> = reads.iter().map(|read| read.store().name()).collect();
        names.sort();
        names.dedup();
        let database = Database::from(self.raw.clone());
        let transaction = database.transaction(&names, TransactionMode::ReadOnly).map_err(idb)?;
        // All requests are made before the first is awaited: the transaction never runs dry.
        let waiting = requests(&transaction, reads)?;
        let mut found = Vec::with_capacity(waiting.len());
        for request in waiting {
            let request = idb::request::GetStoreRequest::from(request);
            found.push(request.into_future().await.map_err(idb)?.unwrap_or(JsValue::UNDEFINED));
        }
        Ok(found)
    }

    /// Carries out one change: see the head of this file. `completed` runs synchronously in the `complete` event.
    pub(super) async fn change<T: 'static>(
        &self,
        change: &Change,
        decide: impl FnOnce(Answers) -> Result<Vec<Op>, StoreError> + 'static,
        completed: impl FnOnce() -> T + 'static,
    ) -> Result<T, StoreError> {
        let transaction = self.transaction(&change.stores, change.durability)?;
        let run = Rc::new(Run {
            transaction: transaction.clone(),
            ops: RefCell::default(),
            is_decided: Cell::new(false),
            failure: RefCell::new(None),
        });
        let (done, waiting) = once();
        let _handlers = handle_end(&run, done, &self.fate, completed);
        let started = run.start(&change.reads, decide);
        if let Err(why) = started {
            run.fail(why);
        }
        waiting.await.map_err(error::let_go)?
    }

    fn transaction(&self, stores: &[Store], durability: Durability) -> Result<IdbTransaction, StoreError> {
        let durability = match durability {
            Durability::Strict => "strict",
            Durability::Relaxed => "relaxed",
        };
        let options = serde_wasm_bindgen::to_value(&TransactionOptions { durability })
            .map_err(|why| StoreError::Other(why.to_string()))?;
        let names: Array = stores.iter().map(|store| JsValue::from_str(store.name())).collect();
        self.raw
            .unchecked_ref::<DurableDatabase>()
            .transaction_with_options(&names, "readwrite", &options)
            .map_err(|why| error::of(&why))
    }
}

/// No connection outlives its handlers: one still open, or an event on its way already, would call them after they are
/// gone.
impl Drop for Connection {
    fn drop(&mut self) {
        self.raw.set_onclose(None);
        self.raw.set_onversionchange(None);
        self.raw.close();
    }
}

/// A change under way.
struct Run {
    transaction: IdbTransaction,
    ops: RefCell<VecDeque<Op>>,
    is_decided: Cell<bool>,
    failure: RefCell<Option<StoreError>>,
}

impl Run {
    /// Requests the reads; decides when the last one has succeeded, or at once when there are none.
    fn start(
        self: &Rc<Self>,
        reads: &[Read],
        decide: impl FnOnce(Answers) -> Result<Vec<Op>, StoreError> + 'static,
    ) -> Result<(), StoreError> {
        let requests = requests(&idb::Transaction::from(self.transaction.clone()), reads)?;
        let Some(last) = requests.last().cloned() else {
            return self.decided(decide(Answers::new(Vec::new())));
        };
        let (run, reads) = (Rc::clone(self), reads.to_vec());
        on_success(&last, move || {
            let found: Result<Vec<JsValue>, JsValue> = requests.iter().map(IdbRequest::result).collect();
            let found = found.map_err(|why| error::of(&why));
            if let Err(why) = run.decided(found.and_then(|found| decide(answers(&reads, found)))) {
                run.fail(why);
            }
        });
        Ok(())
    }

    fn decided(self: &Rc<Self>, ops: Result<Vec<Op>, StoreError>) -> Result<(), StoreError> {
        *self.ops.borrow_mut() = ops?.into();
        self.is_decided.set(true);
        self.issue()
    }

    /// Requests a slice of the writes; the last one's success requests the next slice. Commits after the last.
    fn issue(self: &Rc<Self>) -> Result<(), StoreError> {
        let mut ops = self.ops.borrow_mut();
        let (mut n_ops, mut n_bytes) = (0, 0);
        let mut last = None;
        while n_ops < SLICE_OPS && n_bytes < SLICE_BYTES {
            let Some(op) = ops.pop_front() else { break };
            n_ops += 1;
            if let Op::Put { bytes, .. } = &op {
                n_bytes += bytes.len();
            }
            last = Some(write(&self.transaction, &op)?);
        }
        let more = !ops.is_empty();
        drop(ops);
        match last {
            Some(last) if more => {
                let run = Rc::clone(self);
                on_success(&last, move || {
                    if let Err(why) = run.issue() {
                        run.fail(why);
                    }
                });
                Ok(())
            }
            _ => commit(&self.transaction),
        }
    }

    /// Aborts: half a change is never kept.
    fn fail(&self, why: StoreError) {
        self.failure.borrow_mut().get_or_insert(why);
        // A transaction that is over already cannot be aborted, and its own event ends the wait.
        let _ = self.transaction.abort();
    }
}

/// The handlers of a transaction's end, which must live until it has ended.
type Handlers = [Closure<dyn FnMut(Event)>; 2];

fn handle_end<T: 'static>(
    run: &Rc<Run>,
    done: Give<Result<T, StoreError>>,
    fate: &Rc<Fate>,
    completed: impl FnOnce() -> T + 'static,
) -> Handlers {
    let (at_end, ended) = (Rc::clone(run), done.clone());
    let complete = Closure::once(move |_: Event| {
        let is_decided = at_end.is_decided.get();
        ended.give(if is_decided { Ok(completed()) } else { Err(StoreError::Other("nothing was decided".to_owned())) });
    });
    let (at_end, fate) = (Rc::clone(run), Rc::clone(fate));
    let abort = Closure::once(move |_: Event| {
        let own = at_end.failure.borrow_mut().take();
        let why = own.unwrap_or_else(|| match at_end.transaction.error() {
            Some(error) => error::of(&error),
            None if fate.lost.get() => StoreError::ConnectionLost,
            None => StoreError::Other("AbortError".to_owned()),
        });
        done.give(Err(why));
    });
    run.transaction.set_oncomplete(Some(complete.as_ref().unchecked_ref()));
    run.transaction.set_onabort(Some(abort.as_ref().unchecked_ref()));
    [complete, abort]
}

fn on_success(request: &IdbRequest, then: impl FnOnce() + 'static) {
    // Freed by the call. If the transaction is aborted before, a few bytes stay; that is rare.
    let then = Closure::once_into_js(move |_: Event| then());
    request.set_onsuccess(Some(then.unchecked_ref()));
}

#[allow(deprecated, reason = "marked so by an old draft of the standard; in every browser since 2021")]
fn commit(transaction: &IdbTransaction) -> Result<(), StoreError> {
    transaction.commit().map_err(|why| error::of(&why))
}

fn write(transaction: &IdbTransaction, op: &Op) -> Result<IdbRequest, StoreError> {
    let idb = |why: idb::Error| error::of_idb(&why);
    let store = idb::Transaction::from(transaction.clone()).object_store(op.store().name()).map_err(idb)?;
    let key = JsValue::from_str(op.key());
    match op {
        Op::Put { bytes, .. } => {
            let value = Uint8Array::from(&bytes[..]);
            store.put(&value, Some(&key)).map(Into::into).map_err(idb)
        }
        Op::Delete { .. } => store.delete(key).map(Into::into).map_err(idb),
    }
}

/// Requests for these reads: two for rows with their keys, else one.
fn requests(transaction: &idb::Transaction, reads: &[Read]) -> Result<Vec<IdbRequest>, StoreError> {
    let idb = |why: idb::Error| error::of_idb(&why);
    let mut requests = Vec::with_capacity(2 * reads.len());
    for read in reads {
        let store = transaction.object_store(read.store().name()).map_err(idb)?;
        let after = match read {
            Read::After(_, key) => {
                Some(idb::KeyRange::lower_bound(&JsValue::from_str(key), Some(true)).map(Query::from).map_err(idb)?)
            }
            _ => None,
        };
        match read {
            Read::Row(_, key) => requests.push(store.get(JsValue::from_str(key)).map_err(idb)?.into()),
            Read::Keys(_) => requests.push(store.get_all_keys(None, None).map_err(idb)?.into()),
            Read::All(_) | Read::After(..) => {
                requests.push(store.get_all_keys(after.clone(), None).map_err(idb)?.into());
                requests.push(store.get_all(after, None).map_err(idb)?.into());
            }
        }
    }
    Ok(requests)
}

/// The answers to these reads, from those to their requests. A row that holds no bytes is given as empty, so that it is
/// listed as garbled.
fn answers(reads: &[Read], found: Vec<JsValue>) -> Answers {
    let mut found = found.into_iter();
    let mut next = || found.next().unwrap_or_default();
    let strings = |keys: JsValue| Array::from(&keys).iter().map(|key| key.as_string().unwrap_or_default()).collect();
    let answer = |read: &Read| match read {
        Read::Row(..) => Found::Row(row(&next())),
        Read::Keys(_) => Found::Keys(strings(next())),
        Read::All(_) | Read::After(..) => {
            let (keys, rows): (Vec<String>, _) = (strings(next()), Array::from(&next()));
            Found::Rows(keys.into_iter().zip(rows.iter().map(|found| row(&found).unwrap_or_default())).collect())
        }
    };
    Answers::new(reads.iter().map(answer).collect())
}

/// A row's bytes, if there is one.
fn row(found: &JsValue) -> Option<Bytes> {
    found.dyn_ref::<Uint8Array>().map(|found| found.to_vec().into())
}

/// Runs something once, later.
pub(super) fn after_ms(ms: i32, then: impl FnOnce() + 'static) {
    let then = Closure::once_into_js(then);
    let window = crate::device::window();
    // Without timers nothing waits: the caller's fallback is that it never happens.
    let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(then.unchecked_ref(), ms);
}

/// Runs something once, when the browser has nothing else to do.
pub(crate) fn when_idle(then: impl FnOnce() + 'static) {
    let then = Closure::once_into_js(then);
    let window = crate::device::window();
    let idle = crate::device::has(&window, "requestIdleCallback");
    let asked = idle && window.request_idle_callback(then.unchecked_ref()).is_ok();
    if !asked {
        after_ms(3000, move || {
            let _ = js_sys::Function::from(then).call0(&JsValue::NULL);
        });
    }
}

/// Deletes a database. Other tabs are asked to let go of it.
pub(super) async fn delete(name: &str) -> Result<(), StoreError> {
    let idb = |why: idb::Error| error::of_idb(&why);
    let factory = Factory::new().map_err(idb)?;
    factory.delete(name).map_err(idb)?.await.map_err(idb)
}

/// Names of the stores of a ledger's database.
pub(super) fn ledger_stores() -> Vec<&'static str> {
    Store::ALL.iter().map(|store| store.name()).collect()
}
