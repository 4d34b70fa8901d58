//! A nursery that did not open: its records as they stand, without reading what they come to.

use std::{collections::BTreeMap, sync::Arc};

use bloomdue_core::{
    handover::json::Composer,
    ledger::{
        entry::Entry,
        id::{EntryId, Id},
        shelf::{
            self, FILES_KEY, FileTaken, FilesRow, Store as Shelf, read_block, read_tail,
            session::{Durability, Read, setting_aside},
        },
    },
};
use web_sys::Blob;

use super::{Store, StoreError, breathe, files::Parts};

/// Every record of a nursery that can be read at all, as a file that can be taken in; photos stay here.
pub(crate) async fn raw_file(ledger: Id, name: &str, made: &str) -> Result<Blob, StoreError> {
    let store = Store::connect(ledger).await?;
    let found = store.read(&[Shelf::Blocks, Shelf::Tail].map(Read::All)).await;
    store.close();
    let mut found = found?;
    let mut entries: BTreeMap<EntryId, Arc<Entry>> = BTreeMap::new();
    // What of a row cannot be read cannot be written either; the rest of it is.
    for (_, row) in &found.rows() {
        let read = read_block(row).map(|(read, _)| read).unwrap_or_default();
        entries.extend(read.into_iter().map(|entry| (entry.id, entry)));
        breathe().await;
    }
    for rows in found.rows().chunks(500) {
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
    parts.finish("application/json")
}

/// Sets aside what the last file brought to a nursery. Gives the file, or nothing when none is left.
pub(crate) async fn set_last_aside(ledger: Id) -> Result<Option<FileTaken>, StoreError> {
    let store = Store::connect(ledger).await?;
    let done = store.carry_out(setting_aside()).await;
    store.close();
    done
}

impl Store {
    /// The files taken in.
    pub(crate) async fn files(&self) -> Result<FilesRow, StoreError> {
        let row = self.read(&[Read::meta(FILES_KEY)]).await?.row();
        Ok(FilesRow::read(row.as_deref())?)
    }

    /// The records that a file brought, as far as they are in the ledger.
    pub(crate) async fn brought_by(&self, file: &FileTaken) -> Result<Vec<Arc<Entry>>, StoreError> {
        self.entries_between(file.first, file.last()).await
    }

    /// What was set aside of a file, as a file that can be taken in again.
    pub(crate) async fn aside_file(&self, file: &FileTaken, name: &str, made: &str) -> Result<Blob, StoreError> {
        let rows = self.read(&[Read::All(Shelf::Meta)]).await?.rows().into_iter();
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
