//! The state that is kept between starts: the first screen is drawn from it, and every entry is read behind it, in
//! slices that leave the page free for taps.

use std::rc::Rc;

use bloomdue_core::{
    ledger::{
        Ledger,
        id::Id,
        shelf::{
            self, BLOCKS_KEY, BlocksRow, Fresh, LINE_KEY, LineRow, MadeOf, Op, Opening, RowProblem, START_KEY,
            Store as Shelf,
        },
    },
    nursery::kept::{FOLD, Resumed, resume},
};
use wasm_bindgen::JsValue;

use super::{
    Opened, Store, StoreError, breathe, connect,
    database::{Connection, Durability, Fate, Read, row},
    fresh, now_ms, pair,
    saving::shared,
};

/// Blocks read in one transaction.
const BLOCKS_AT_ONCE: usize = 8;

/// Rows with their keys.
type Rows = Vec<(String, Vec<u8>)>;

/// A nursery opened as soon as its first screen can be drawn.
pub(crate) enum OpenedSoon {
    /// Not opened, and nothing of it was read: an earlier start did not reach its first screen.
    Unfinished,
    /// With every entry: there was no kept state that may be used.
    Whole(Opened),
    /// From the kept state.
    Resumed {
        /// Its storage.
        store: Store,
        /// The state, and the few entries it was needed for.
        resumed: Box<Resumed>,
        /// How many entries have arrived since the state was kept.
        n_later: usize,
        /// Which device this is, and how far it has come.
        line: LineRow,
        /// Forms not saved yet, by the screen's key.
        drafts: Rows,
        /// What has still to be read.
        rest: Rest,
    },
}

/// The entries that have not been read yet.
pub(crate) struct Rest {
    store: Store,
    fresh: Fresh,
    line: Vec<u8>,
    list: Option<Vec<u8>>,
    blocks: BlocksRow,
    tail: Rows,
}

impl Store {
    /// Opens a nursery's storage, from the kept state if there is one that may be used.
    ///
    /// The start is marked before anything is read, until [`Store::start_done`]. `anyway` opens it whatever an earlier
    /// mark says.
    pub(crate) async fn open_soon(ledger: Id, fresh_device: Id, anyway: bool) -> Result<OpenedSoon, StoreError> {
        let (connection, fate) = connect(ledger).await?;
        if !mark_start(&connection, anyway).await? {
            connection.close();
            return Ok(OpenedSoon::Unfinished);
        }
        let fresh = fresh(ledger, fresh_device);
        let found = read_first(&connection).await?;
        match resume_from(&found, fresh) {
            Some(from) => Ok(from.opened(connection, fate)),
            None => Self::open_on(connection, fate, fresh).await.map(OpenedSoon::Whole),
        }
    }

    /// What the ledger in memory is made of, if it holds exactly what is stored now.
    pub(crate) async fn made_of(
        &self,
        with: impl FnOnce(&mut dyn FnMut(&Ledger)),
    ) -> Result<Option<MadeOf>, StoreError> {
        let [meta, tail] = [Shelf::Meta, Shelf::Tail].map(Shelf::name);
        let reads = [
            (meta, Read::Row(LINE_KEY.to_owned())),
            (meta, Read::Row(BLOCKS_KEY.to_owned())),
            (tail, Read::Keys),
            (tail, Read::Rows),
        ];
        let connection = self.connection().await?;
        let found = connection.read(&reads).await?;
        let line = found.first().and_then(row).unwrap_or_default();
        let list = found.get(1).and_then(row);
        let tail = shared(pair(&found, 2));
        let mut made_of = None;
        with(&mut |ledger| made_of = MadeOf::of(ledger, &line, list.as_deref(), &tail));
        Ok(made_of)
    }

    /// Keeps a state. It has a transaction of its own on a store that no save touches, so that none waits for it.
    pub(crate) async fn keep_state(&self, made_of: MadeOf, state: Vec<u8>) -> Result<(), StoreError> {
        let cache = Shelf::Cache.name();
        let connection = self.connection().await?;
        let decide = move |found: Vec<JsValue>| {
            let there: Vec<String> = found
                .first()
                .map(js_sys::Array::from)
                .unwrap_or_default()
                .iter()
                .filter_map(|key| key.as_string())
                .collect();
            Ok((made_of.keep(&FOLD, &state, &there), ()))
        };
        connection.change(&[cache], Durability::Relaxed, &[(cache, Read::Keys)], decide, |()| {}).await
    }

    /// Lets go of the kept state.
    async fn forget_state(&self) -> Result<(), StoreError> {
        let cache = Shelf::Cache.name();
        let connection = self.connection().await?;
        let decide = |found: Vec<JsValue>| {
            let keys = found.first().map(js_sys::Array::from).unwrap_or_default();
            let keys = keys.iter().filter_map(|key| key.as_string());
            let ops = keys.map(|key| Op::delete(Shelf::Cache, key)).collect();
            Ok((ops, ()))
        };
        connection.change(&[cache], Durability::Relaxed, &[(cache, Read::Keys)], decide, |()| {}).await
    }
}

/// Marks that a start begins; false when an earlier one did not finish.
async fn mark_start(connection: &Connection, anyway: bool) -> Result<bool, StoreError> {
    let meta = Shelf::Meta.name();
    connection
        .change(
            &[meta],
            Durability::Relaxed,
            &[(meta, Read::Row(START_KEY.to_owned()))],
            move |found| {
                let before = found.first().and_then(row);
                let ops = if anyway {
                    Some(shelf::start_anyway(now_ms()))
                } else {
                    shelf::begin_start(before.as_deref(), now_ms())
                };
                let goes_on = ops.is_some();
                Ok((ops.unwrap_or_default(), goes_on))
            },
            |_| {},
        )
        .await
}

/// Everything but the blocks, as it stands at one moment.
async fn read_first(connection: &Connection) -> Result<Vec<JsValue>, StoreError> {
    let [meta, tail, cache, drafts] = [Shelf::Meta, Shelf::Tail, Shelf::Cache, Shelf::Drafts].map(Shelf::name);
    connection
        .read(&[
            (meta, Read::Row(LINE_KEY.to_owned())),
            (meta, Read::Row(BLOCKS_KEY.to_owned())),
            (tail, Read::Keys),
            (tail, Read::Rows),
            (drafts, Read::Keys),
            (drafts, Read::Rows),
            (cache, Read::Keys),
            (cache, Read::Rows),
        ])
        .await
}

/// A state taken up again, before it has a store.
struct From {
    resumed: Resumed,
    n_later: usize,
    fresh: Fresh,
    line_row: LineRow,
    line: Vec<u8>,
    list: Option<Vec<u8>>,
    blocks: BlocksRow,
    tail: Rows,
    drafts: Rows,
}

fn resume_from(found: &[JsValue], fresh: Fresh) -> Option<From> {
    let cache = pair(found, 6);
    let line = found.first().and_then(row)?;
    let list = found.get(1).and_then(row);
    let tail = pair(found, 2);
    let kept = shelf::kept(&cache, &FOLD, fresh.ledger, &line, list.as_deref(), &tail)?;
    let resumed = resume(&kept.state, fresh.ledger, kept.line.today(fresh.today), &kept.later)?;
    Some(From {
        resumed,
        n_later: kept.later.len(),
        fresh,
        line_row: kept.line,
        line,
        list,
        blocks: kept.blocks,
        tail,
        drafts: pair(found, 4),
    })
}

impl From {
    fn opened(self, connection: Connection, fate: Rc<Fate>) -> OpenedSoon {
        let store = Store::of(connection, fate, &self.line_row, self.tail.len() as u64);
        OpenedSoon::Resumed {
            rest: Rest {
                store: store.clone(),
                fresh: self.fresh,
                line: self.line,
                list: self.list,
                blocks: self.blocks,
                tail: self.tail,
            },
            store,
            resumed: Box::new(self.resumed),
            n_later: self.n_later,
            line: self.line_row,
            drafts: self.drafts,
        }
    }
}

impl Rest {
    /// Reads every entry that had arrived when the nursery was opened. Blocks are never changed, so they may be read
    /// one after the other.
    pub(crate) async fn read(self) -> Result<(Ledger, Vec<RowProblem>), StoreError> {
        let blocks = Shelf::Blocks.name();
        let mut opening = Opening::new(Some(&self.line), self.list.as_deref(), self.fresh);
        for keys in self.blocks.keys_after(0).chunks(BLOCKS_AT_ONCE) {
            let reads: Vec<_> = keys.iter().map(|key| (blocks, Read::Row(key.clone()))).collect();
            let found = self.store.retrying(async |connection| connection.read(&reads).await).await?;
            for (key, found) in keys.iter().zip(&found) {
                // One that is gone is told of at the end.
                if let Some(block) = row(found) {
                    opening.block(key, &block);
                }
                breathe().await;
            }
        }
        for rows in self.tail.chunks(100) {
            for (key, row) in rows {
                opening.tail(key, row);
            }
            breathe().await;
        }
        let opened = opening.finish();
        if !opened.problems.is_empty() {
            // The next start goes the long way, which puts right what can be.
            let _ = self.store.forget_state().await;
        }
        Ok((opened.ledger, opened.problems))
    }
}
