//! The state that is kept between starts: the first screen is drawn from it, and every entry is read behind it, in
//! slices that leave the page free for taps.

use bloomdue_core::{
    ledger::{
        Ledger,
        id::Id,
        shelf::{
            self, BLOCKS_KEY, BlocksRow, Bytes, Fresh, LINE_KEY, LineRow, MadeOf, Op, Opening, RowProblem,
            Store as Shelf,
            session::{Answers, Change, Durability, KeyedRows, Read, starting},
        },
    },
    nursery::kept::{FOLD, Resumed, resume},
};

use super::{Opened, Store, StoreError, breathe, fresh, unshared};

/// Blocks read in one transaction.
const BLOCKS_AT_ONCE: usize = 8;

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
        drafts: Vec<(String, Vec<u8>)>,
        /// What has still to be read.
        rest: Rest,
    },
}

/// The entries that have not been read yet.
pub(crate) struct Rest {
    store: Store,
    fresh: Fresh,
    line: Bytes,
    list: Option<Bytes>,
    blocks: BlocksRow,
    tail: KeyedRows,
}

impl Store {
    /// Opens a nursery's storage, from the kept state if there is one that may be used.
    ///
    /// The start is marked before anything is read, until [`Store::start_done`]. `anyway` opens it whatever an earlier
    /// mark says.
    pub(crate) async fn open_soon(ledger: Id, fresh_device: Id, anyway: bool) -> Result<OpenedSoon, StoreError> {
        let store = Self::connect(ledger).await?;
        if !store.carry_out(starting(anyway)).await? {
            store.close();
            return Ok(OpenedSoon::Unfinished);
        }
        let fresh = fresh(ledger, fresh_device);
        let found = store.read(&read_first()).await?;
        match resume_from(found, fresh) {
            Some(from) => Ok(from.opened(store)),
            None => store.open_all(fresh).await.map(OpenedSoon::Whole),
        }
    }

    /// What the ledger in memory is made of, if it holds exactly what is stored now.
    pub(crate) async fn made_of(
        &self,
        with: impl FnOnce(&mut dyn FnMut(&Ledger)),
    ) -> Result<Option<MadeOf>, StoreError> {
        let reads = [Read::meta(LINE_KEY), Read::meta(BLOCKS_KEY), Read::All(Shelf::Tail)];
        let mut found = self.read(&reads).await?;
        let (line, list, tail) = (found.line::<StoreError>()?, found.row(), found.rows());
        let mut made_of = None;
        with(&mut |ledger| made_of = MadeOf::of(ledger, &line, list.as_deref(), &tail));
        Ok(made_of)
    }

    /// Keeps a state. It has a transaction of its own on a store that no save touches, so that none waits for it.
    pub(crate) async fn keep_state(&self, made_of: MadeOf, state: Vec<u8>) -> Result<(), StoreError> {
        self.change_cache(move |there| made_of.keep(&FOLD, &state, &there)).await
    }

    /// Lets go of the kept state.
    async fn forget_state(&self) -> Result<(), StoreError> {
        self.change_cache(|there| there.into_iter().map(|key| Op::delete(Shelf::Cache, key)).collect()).await
    }

    async fn change_cache(&self, ops: impl FnOnce(Vec<String>) -> Vec<Op> + 'static) -> Result<(), StoreError> {
        let change = Change {
            stores: vec![Shelf::Cache],
            durability: Durability::Relaxed,
            reads: vec![Read::Keys(Shelf::Cache)],
            again: false,
        };
        self.connection().await?.change(&change, move |mut found| Ok(ops(found.keys())), || {}).await
    }
}

/// Everything but the blocks, as it stands at one moment.
fn read_first() -> [Read; 5] {
    let [tail, drafts, cache] = [Shelf::Tail, Shelf::Drafts, Shelf::Cache].map(Read::All);
    [Read::meta(LINE_KEY), Read::meta(BLOCKS_KEY), tail, drafts, cache]
}

/// A state taken up again, before it has a store.
struct From {
    resumed: Resumed,
    n_later: usize,
    fresh: Fresh,
    line_row: LineRow,
    line: Bytes,
    list: Option<Bytes>,
    blocks: BlocksRow,
    tail: KeyedRows,
    drafts: Vec<(String, Vec<u8>)>,
}

fn resume_from(mut found: Answers, fresh: Fresh) -> Option<From> {
    let (line, list) = (found.row()?, found.row());
    let (tail, drafts, cache) = (found.rows(), found.rows(), found.rows());
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
        drafts: unshared(drafts),
    })
}

impl From {
    fn opened(self, store: Store) -> OpenedSoon {
        store.0.tab.borrow_mut().stands(&self.line_row, self.tail.len());
        store.listen();
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
        let mut opening = Opening::new(Some(&self.line), self.list.as_deref(), self.fresh);
        for keys in self.blocks.keys_after(0).chunks(BLOCKS_AT_ONCE) {
            let reads: Vec<_> = keys.iter().map(|key| Read::Row(Shelf::Blocks, key.clone())).collect();
            let mut found = self.store.read(&reads).await?;
            for key in keys {
                // One that is gone is told of at the end.
                if let Some(block) = found.row() {
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
