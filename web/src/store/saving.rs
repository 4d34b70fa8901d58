//! Saving, and keeping several tabs of one nursery in step.

use std::{rc::Rc, sync::Arc};

use bloomdue_core::ledger::{
    entry::Entry,
    id::EntryId,
    shelf::{self, Appended, BLOCKS_KEY, BlocksRow, Bytes, Form, LINE_KEY, LineRow, Op, Store as Shelf, arrival_key},
};
use wasm_bindgen::{JsCast as _, JsValue, closure::Closure};
use web_sys::{BroadcastChannel, MessageEvent};

use super::{
    Store,
    database::{Connection, Durability, Read, row},
    error::StoreError,
    line_row, now_ms, pair, registry,
};

/// More rows than this in `tail` are moved into blocks when the device is idle.
const TAIL_MAX: u64 = 500;

/// What a save gave: durable, and read back.
pub(crate) struct Saved {
    /// The entries of the form.
    pub(crate) entries: Vec<Arc<Entry>>,
    /// Entries that another tab saved before, which this tab has not had yet.
    pub(crate) missed: Vec<Arc<Entry>>,
    /// How far this device has come.
    pub(crate) line: LineRow,
    /// It is saved, and the browser did not answer afterwards: what was written, or what other tabs saved before,
    /// could not be read. Both are met again at the next save or start.
    pub(crate) beside: Option<StoreError>,
}

/// Rows with their keys.
type Rows = Vec<(String, Bytes)>;

impl Store {
    /// Saves a form in one strict transaction. When it gives back entries, they are on the medium and were read back.
    ///
    /// # Errors
    /// Nothing was saved, and the form's draft is still there. When the connection was lost it was opened again and
    /// the save tried once more; a save that had got through all the same is not done twice.
    pub(crate) async fn append(&self, form: Form) -> Result<Saved, StoreError> {
        let saved = self.append_once(form).await;
        self.noticed(saved)
    }

    async fn append_once(&self, form: Form) -> Result<Saved, StoreError> {
        let form = Rc::new(form);
        let known = self.0.known.get();
        let connection = self.connection().await?;
        let first = self.append_on(&connection, &form).await;
        let (appended, unproven) = match first {
            Err(StoreError::ConnectionLost) => {
                self.close();
                let connection = self.connection().await?;
                match self.saved_before(&connection, &form, known).await? {
                    Some(saved) => {
                        self.tell_others();
                        return Ok(saved);
                    }
                    None => self.append_on(&connection, &form).await?,
                }
            }
            done => done?,
        };
        self.tell_others();
        // The form is saved whatever comes of this.
        let (missed, unread) = match self.read_unread().await {
            Ok(missed) => (missed, None),
            Err(why) => (Vec::new(), Some(why)),
        };
        let beside = unproven.or(unread);
        Ok(Saved { entries: appended.entries, missed, line: appended.line, beside })
    }

    async fn append_on(
        &self,
        connection: &Connection,
        form: &Rc<Form>,
    ) -> Result<(Appended, Option<StoreError>), StoreError> {
        let mut stores = vec![Shelf::Meta.name(), Shelf::Tail.name()];
        let optional = [
            (!form.attachments.is_empty(), Shelf::Attachments),
            (!form.thumbs.is_empty(), Shelf::Thumbs),
            (form.draft_key.is_some(), Shelf::Drafts),
        ];
        stores.extend(optional.iter().filter(|o| o.0).map(|o| o.1.name()));
        let (to_seal, store) = (Rc::clone(form), self.clone());
        let appended = connection
            .change(
                &stores,
                Durability::Strict,
                &[(Shelf::Meta.name(), Read::Row(LINE_KEY.to_owned()))],
                move |found| {
                    let line = line_row(&found)?;
                    let appended = shelf::append(&line, &to_seal, now_ms())?;
                    let ops = appended.ops.clone();
                    Ok((ops, appended))
                },
                move |appended| store.arrived_here(appended),
            )
            .await?;
        // It is on the medium. Where the browser does not answer it is asked once more, over a new connection.
        let mut read_back = self.read_back(connection, &appended).await;
        if !matches!(read_back, Ok(()) | Err(StoreError::NotReadBack)) {
            self.close();
            read_back = match self.connection().await {
                Ok(connection) => self.read_back(&connection, &appended).await,
                Err(why) => Err(why),
            };
        }
        match read_back {
            Ok(()) => Ok((appended, None)),
            Err(StoreError::NotReadBack) => Err(StoreError::NotReadBack),
            Err(why) => Ok((appended, Some(why))),
        }
    }

    /// Notes what this tab has saved itself, and what came before it from others. Runs in the `complete` event, so
    /// the next save, whose transaction starts later, already counts from here.
    fn arrived_here(&self, appended: &Appended) {
        let before = appended.line.arrived - appended.entries.len() as u64;
        self.claim(before);
        self.0.known.set(appended.line.arrived);
        let n_tail = self.0.n_tail.get() + appended.entries.len() as u64;
        self.0.n_tail.set(n_tail);
    }

    /// Notes that everything up to this arrival is there and has to be read, as far as it is not known.
    pub(super) fn claim(&self, arrived: u64) {
        let known = self.0.known.get();
        if arrived > known {
            self.0.unread.borrow_mut().push((known + 1, arrived));
            self.0.known.set(arrived);
        }
    }

    /// Compares what stands in a new transaction with what was written.
    async fn read_back(&self, connection: &Connection, appended: &Appended) -> Result<(), StoreError> {
        if !rows_stand(connection, &appended.ops).await? {
            // Another tab may have moved the rows into a block already.
            let first = appended.line.arrived - appended.entries.len() as u64 + 1;
            let there = self.entries_between(connection, first, appended.line.arrived).await?;
            let same = |entry: &Arc<Entry>| there.iter().any(|found| found == entry);
            if !appended.entries.iter().all(same) {
                return Err(StoreError::NotReadBack);
            }
        }
        Ok(())
    }

    /// After a lost connection: the entries of this form, if its transaction had got through all the same. `known` is
    /// the last arrival that was known before it began.
    async fn saved_before(
        &self,
        connection: &Connection,
        form: &Form,
        known: u64,
    ) -> Result<Option<Saved>, StoreError> {
        let line = read_line(connection).await?;
        self.claim(line.arrived);
        if line.arrived == known {
            return Ok(None);
        }
        let mut entries = self.entries_between(connection, known + 1, line.arrived).await?;
        entries.retain(|entry| entry.envelope.form == form.id);
        if entries.is_empty() {
            return Ok(None);
        }
        let (mut missed, beside) = match self.read_unread_on(connection).await {
            Ok(missed) => (missed, None),
            Err(why) => (Vec::new(), Some(why)),
        };
        missed.retain(|entry| entry.envelope.form != form.id);
        Ok(Some(Saved { entries, missed, line, beside }))
    }

    /// Entries with these arrivals, from wherever they stand now.
    pub(super) async fn entries_between(
        &self,
        connection: &Connection,
        from: u64,
        to: u64,
    ) -> Result<Vec<Arc<Entry>>, StoreError> {
        let (blocks, tail) = rows_after(connection, from - 1).await?;
        let (entries, problems) = shelf::news(from, to, &blocks, &tail);
        match problems.into_iter().next() {
            // What cannot be read is listed at the next start; here it must not hide the rest.
            Some(problem) if entries.is_empty() => Err(problem.why.into()),
            _ => Ok(entries),
        }
    }

    /// Reads what other tabs have saved and this one has not had yet.
    pub(super) async fn read_unread(&self) -> Result<Vec<Arc<Entry>>, StoreError> {
        if self.0.unread.borrow().is_empty() {
            return Ok(Vec::new());
        }
        self.retrying(async |connection| self.read_unread_on(&connection).await).await
    }

    async fn read_unread_on(&self, connection: &Connection) -> Result<Vec<Arc<Entry>>, StoreError> {
        let ranges = std::mem::take(&mut *self.0.unread.borrow_mut());
        let mut entries = Vec::new();
        let mut seen = std::collections::HashSet::<EntryId>::new();
        for (from, to) in &ranges {
            match self.entries_between(connection, *from, *to).await {
                Ok(found) => {
                    let new = found.into_iter().filter(|entry| seen.insert(entry.id));
                    entries.extend(new);
                }
                Err(why) => {
                    self.0.unread.borrow_mut().extend(ranges);
                    return Err(why);
                }
            }
        }
        Ok(entries)
    }

    /// Looks whether another tab has saved something, and gives it out: on a message, when the page is seen again, and
    /// before a file is composed. Gives how far this device has come; everything up to there has been given out.
    pub(crate) async fn catch_up(&self) -> Result<LineRow, StoreError> {
        let line = self.retrying(async |connection| read_line(&connection).await).await;
        let line = self.noticed(line)?;
        self.claim(line.arrived);
        let entries = self.read_unread().await?;
        let listener = self.0.on_change.borrow().clone();
        if let Some(listener) = listener {
            listener(entries, line.clone());
        }
        Ok(line)
    }

    /// Listens to the other tabs of this nursery.
    pub(super) fn listen(&self) {
        let name = registry::database_name(self.0.ledger);
        // Without the channel other tabs are noticed at the next save or when the page is seen again.
        let Ok(channel) = BroadcastChannel::new(&name) else {
            return;
        };
        let inner = Rc::downgrade(&self.0);
        let heard = Closure::<dyn FnMut(MessageEvent)>::new(move |_| {
            let Some(inner) = inner.upgrade() else { return };
            wasm_bindgen_futures::spawn_local(async move {
                // A failure here is met again, and shown, at the next save.
                let _ = Store(inner).catch_up().await;
            });
        });
        channel.set_onmessage(Some(heard.as_ref().unchecked_ref()));
        heard.forget();
        *self.0.channel.borrow_mut() = Some(channel);
    }

    /// Tells the other tabs that there is something new.
    pub(super) fn tell_others(&self) {
        if let Some(channel) = &*self.0.channel.borrow() {
            // A tab that is not told notices at its next save.
            let _ = channel.post_message(&JsValue::from_str("saved"));
        }
    }

    /// Moves rows of `tail` into blocks, if there are many. Gives whether anything was moved. Best when idle.
    pub(crate) async fn compact(&self) -> Result<bool, StoreError> {
        if self.0.n_tail.get() <= TAIL_MAX {
            return Ok(false);
        }
        let [meta, blocks, tail] = [Shelf::Meta, Shelf::Blocks, Shelf::Tail].map(Shelf::name);
        let connection = self.connection().await?;
        let n_moved = connection
            .change(
                &[meta, blocks, tail],
                Durability::Strict,
                &[(meta, Read::Row(BLOCKS_KEY.to_owned())), (tail, Read::Keys), (tail, Read::Rows)],
                |found| {
                    let list = found.first().and_then(row);
                    let tail: Rows = shared(pair(&found, 1));
                    let compacted = shelf::compact(list.as_deref(), &tail)?;
                    let deletes = |op: &&Op| matches!(op, Op::Delete { .. });
                    let n_moved = compacted.ops.iter().filter(deletes).count() as u64;
                    Ok((compacted.ops, n_moved))
                },
                |_| {},
            )
            .await?;
        self.0.n_tail.set(self.0.n_tail.get().saturating_sub(n_moved));
        Ok(n_moved > 0)
    }

    /// Moves rows into blocks when the browser has nothing else to do.
    pub(crate) fn compact_when_idle(&self) {
        if self.0.n_tail.get() <= TAIL_MAX {
            return;
        }
        let store = self.clone();
        super::when_idle(move || {
            wasm_bindgen_futures::spawn_local(async move {
                // Compaction only saves time at the next start; it is tried again after the next saves.
                let _ = store.compact().await;
            });
        });
    }

    /// Notes that a file went out just now which holds this device's entries up to line `up_to`.
    pub(crate) async fn mark_exported(&self, up_to: u64) -> Result<LineRow, StoreError> {
        let meta = Shelf::Meta.name();
        let marked = self
            .retrying(async |connection| {
                connection
                    .change(
                        &[meta],
                        Durability::Strict,
                        &[(meta, Read::Row(LINE_KEY.to_owned()))],
                        move |found| Ok(shelf::exported(&line_row(&found)?, up_to, now_ms())?),
                        |_| {},
                    )
                    .await
            })
            .await;
        let line = self.noticed(marked)?;
        self.tell_others();
        Ok(line)
    }
}

/// Reads the rows of these operations back; those of `meta` may rightly have changed. False when some are no longer in
/// `tail`, from where another tab may have moved them.
///
/// # Errors
/// [`StoreError::NotReadBack`] when a row is not what was written.
pub(super) async fn rows_stand(connection: &Connection, ops: &[Op]) -> Result<bool, StoreError> {
    let put: Vec<(Shelf, &String, &Bytes)> = ops
        .iter()
        .filter_map(|op| match op {
            Op::Put { store, key, bytes } if *store != Shelf::Meta => Some((*store, key, bytes)),
            _ => None,
        })
        .collect();
    if put.is_empty() {
        return Ok(true);
    }
    let reads: Vec<_> = put.iter().map(|(store, key, _)| (store.name(), Read::Row((*key).clone()))).collect();
    let found = connection.read(&reads).await?;
    let mut all_there = true;
    for ((store, _, bytes), found) in put.iter().zip(&found) {
        match row(found) {
            Some(found) if found[..] == bytes[..] => {}
            None if *store == Shelf::Tail => all_there = false,
            _ => return Err(StoreError::NotReadBack),
        }
    }
    Ok(all_there)
}

/// The `line` row as it is now.
pub(super) async fn read_line(connection: &Connection) -> Result<LineRow, StoreError> {
    let meta = Shelf::Meta.name();
    let found = connection.read(&[(meta, Read::Row(LINE_KEY.to_owned()))]).await?;
    Ok(LineRow::read(&line_row(&found)?)?)
}

/// Rows of blocks and of the tail that hold what arrived after a number.
async fn rows_after(connection: &Connection, after: u64) -> Result<(Rows, Rows), StoreError> {
    let [meta, blocks, tail] = [Shelf::Meta, Shelf::Blocks, Shelf::Tail].map(Shelf::name);
    let key = arrival_key(after);
    let found = connection
        .read(&[
            (meta, Read::Row(LINE_KEY.to_owned())),
            (tail, Read::KeysAfter(key.clone())),
            (tail, Read::RowsAfter(key)),
            (meta, Read::Row(BLOCKS_KEY.to_owned())),
        ])
        .await?;
    let line = LineRow::read(&line_row(&found)?)?;
    let in_tail: Rows = shared(pair(&found, 1));
    if in_tail.len() as u64 == line.arrived.saturating_sub(after) {
        return Ok((Vec::new(), in_tail));
    }
    let list = found.get(3).and_then(row);
    let list = list.map_or(Ok(BlocksRow::default()), |list| BlocksRow::read(&list))?;
    let keys = list.keys_after(after);
    let reads: Vec<_> = keys.iter().map(|key| (blocks, Read::Row(key.clone()))).collect();
    if reads.is_empty() {
        return Ok((Vec::new(), in_tail));
    }
    let rows = connection.read(&reads).await?;
    let rows = keys.into_iter().zip(rows.iter().filter_map(row));
    Ok((shared(rows.collect()), in_tail))
}

pub(super) fn shared(rows: Vec<(String, Vec<u8>)>) -> Rows {
    rows.into_iter().map(|(key, row)| (key, Bytes::from(row))).collect()
}
