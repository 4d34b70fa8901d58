//! A nursery that did not open: its records as they stand, without reading what they come to.

use std::{collections::BTreeMap, sync::Arc};

use bloomdue_core::{
    handover::json::Composer,
    ledger::{
        entry::Entry,
        id::{EntryId, Id},
        shelf::{self, BLOCKS_KEY, FILES_KEY, FileTaken, FilesRow, Store as Shelf, read_block, read_tail},
    },
};
use web_sys::Blob;

use super::{
    Store, StoreError, breathe, connect,
    database::{Connection, Durability, Read, row},
    files::Parts,
    now_ms, pair,
    saving::shared,
};

/// Every record of a nursery that can be read at all, as a file that can be taken in; photos stay here.
pub(crate) async fn raw_file(ledger: Id, name: &str, made: &str) -> Result<Blob, StoreError> {
    let (connection, _) = connect(ledger).await?;
    let [blocks, tail] = [Shelf::Blocks, Shelf::Tail].map(Shelf::name);
    let found =
        connection.read(&[(blocks, Read::Keys), (blocks, Read::Rows), (tail, Read::Keys), (tail, Read::Rows)]).await;
    connection.close();
    let found = found?;
    let mut rows = pair(&found, 0);
    let mut entries: BTreeMap<EntryId, Arc<Entry>> = BTreeMap::new();
    // What of a row cannot be read cannot be written either; the rest of it is.
    for (_, row) in &rows {
        let read = read_block(row).map(|(read, _)| read).unwrap_or_default();
        entries.extend(read.into_iter().map(|entry| (entry.id, entry)));
        breathe().await;
    }
    rows = pair(&found, 2);
    for rows in rows.chunks(500) {
        let read = rows.iter().filter_map(|(_, row)| read_tail(row).ok());
        entries.extend(read.map(|entry| (entry.id, entry)));
        breathe().await;
    }
    compose(ledger, entries.into_values().collect(), name, made).await
}

async fn compose(ledger: Id, mut entries: Vec<Arc<Entry>>, name: &str, made: &str) -> Result<Blob, StoreError> {
    entries.retain(|entry| entry.envelope.ledger == ledger);
    let mut composer = Composer::of_entries(ledger, entries, name, made);
    let mut parts = Parts::new();
    while let Some(piece) = composer.next_piece() {
        if parts.add(&piece)? {
            breathe().await;
        }
    }
    parts.add(composer.end())?;
    parts.finish()
}

/// Sets aside what the last file brought to a nursery. Gives the file, or nothing when none is left.
pub(crate) async fn set_last_aside(ledger: Id) -> Result<Option<FileTaken>, StoreError> {
    let (connection, _) = connect(ledger).await?;
    let done = set_aside_on(&connection).await;
    connection.close();
    done
}

async fn set_aside_on(connection: &Connection) -> Result<Option<FileTaken>, StoreError> {
    let [meta, blocks, tail] = [Shelf::Meta, Shelf::Blocks, Shelf::Tail].map(Shelf::name);
    connection
        .change(
            &[meta, blocks, tail],
            Durability::Strict,
            &[
                (meta, Read::Row(FILES_KEY.to_owned())),
                (meta, Read::Row(BLOCKS_KEY.to_owned())),
                (blocks, Read::Keys),
                (blocks, Read::Rows),
                (tail, Read::Keys),
                (tail, Read::Rows),
            ],
            |found| {
                let files = found.first().and_then(row);
                let list = found.get(1).and_then(row);
                let (blocks, tail) = (shared(pair(&found, 2)), shared(pair(&found, 4)));
                let aside = shelf::set_aside(files.as_deref(), list.as_deref(), &blocks, &tail, now_ms())?;
                let (ops, file) = aside.map_or((Vec::new(), None), |(ops, file)| (ops, Some(file)));
                Ok((ops, file))
            },
            |_| {},
        )
        .await
}

impl Store {
    /// The files taken in.
    pub(crate) async fn files(&self) -> Result<FilesRow, StoreError> {
        let row = self.row(Shelf::Meta, FILES_KEY).await?;
        Ok(FilesRow::read(row.as_deref())?)
    }

    /// The records that a file brought, as far as they are in the ledger.
    pub(crate) async fn brought_by(&self, file: &FileTaken) -> Result<Vec<Arc<Entry>>, StoreError> {
        self.retrying(async |connection| self.entries_between(&connection, file.first, file.last()).await).await
    }

    /// What was set aside of a file, as a file that can be taken in again.
    pub(crate) async fn aside_file(&self, file: &FileTaken, name: &str, made: &str) -> Result<Blob, StoreError> {
        let meta = Shelf::Meta.name();
        let reads = [(meta, Read::Keys), (meta, Read::Rows)];
        let found = self.retrying(async |connection| connection.read(&reads).await).await?;
        let rows = pair(&found, 0).into_iter();
        let rows = rows.filter(|(key, _)| file.is_aside_row(key));
        let read = rows.filter_map(|(_, row)| read_block(&row).ok());
        let entries = read.flat_map(|(entries, _)| entries).collect();
        compose(self.0.ledger, entries, name, made).await
    }

    /// The first screen stands: this start has finished.
    pub(crate) async fn start_done(&self) -> Result<(), StoreError> {
        let done = shelf::start_done();
        self.run(&[Shelf::Meta], Durability::Relaxed, done).await
    }
}
