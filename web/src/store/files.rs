//! Files of records: read piece by piece, taken in after the grower said yes, and written piece by piece.
//!
//! A photo passes through the program's memory one at a time, and a file never stands there whole.

use std::{
    collections::{BTreeSet, HashMap},
    sync::Arc,
};

use bloomdue_core::{
    handover::{
        PhotosHere, Preview,
        json::{Composer, PhotoFound, PhotoKind, Reader, Reading, Refusal},
    },
    ledger::{
        Ledger,
        body::Body,
        entry::Entry,
        id::{AttachmentHash, Id},
        shelf::{
            self, Attachment, BLOCK_ENTRIES, BLOCKS_KEY, FILES_KEY, Imported, Intake, LINE_KEY, LineRow, Op,
            Store as Shelf,
        },
    },
};
use js_sys::{Array, Uint8Array};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::Blob;

use super::{
    Store, StoreError,
    database::{Durability, Read, after_ms, row},
    line_row, now_ms,
    once::once,
    photos::blob_of,
    saving::rows_stand,
};

/// Bytes of a file read in one piece.
const PIECE_BYTES: f64 = 512.0 * 1024.0;

/// Photos written in one transaction, and their bytes.
const CHUNK_PHOTOS: usize = 20;
const CHUNK_BYTES: usize = 8 * 1024 * 1024;

/// Entries packed between two frames.
const SLICE_ENTRIES: usize = 2 * BLOCK_ENTRIES;

/// Rows read back in one transaction.
const CHECKED_AT_ONCE: usize = 8;

/// Why a file was not read.
#[derive(Debug)]
pub(crate) enum FileError {
    /// Nothing of it can be taken in.
    Refused(Refusal),
    /// The browser could not read it.
    Unread(StoreError),
}

/// Which photos go into a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PhotosIn {
    /// None.
    Without,
    /// Small pictures only.
    Thumbs,
    /// Small pictures and photos.
    All,
}

/// What taking a file in gave.
pub(crate) struct TakenIn {
    /// The new entries, now kept here.
    pub(crate) entries: Vec<Arc<Entry>>,
    /// Entries that another tab saved before, which this tab has not had yet.
    pub(crate) missed: Vec<Arc<Entry>>,
    /// How far this device has come.
    pub(crate) line: LineRow,
    /// How many photos and small pictures were new.
    pub(crate) n_photos: usize,
    /// Whether another device writes under this one's name, which therefore took a new one.
    pub(crate) renewed: bool,
    /// They are kept, and the browser did not answer when they were to be read back.
    pub(crate) beside: Option<StoreError>,
}

/// Where entries to be taken in come from.
struct Origin {
    /// Of the file; nothing when they were made here.
    file: Option<String>,
    /// Devices that doubled their line numbers.
    doubled: BTreeSet<Id>,
    /// A name for this installation, drawn now.
    fresh: Id,
}

/// Reads a file without writing anything.
pub(crate) async fn read_file(file: &Blob) -> Result<Reading, FileError> {
    let mut reader = Reader::new();
    let mut at = 0.0;
    let mut next = Piece::ask(file, at).map_err(FileError::Unread)?;
    while let Some(asked) = next {
        let piece = asked.bytes().await.map_err(FileError::Unread)?;
        at += PIECE_BYTES;
        // The browser fetches the next one while this one is read.
        next = Piece::ask(file, at).map_err(FileError::Unread)?;
        reader.feed(&piece, |_| {}).map_err(FileError::Refused)?;
    }
    reader.finish().map_err(FileError::Refused)
}

/// Compares a file with a ledger between frames. `with` lends the ledger for a moment, each time it is needed.
pub(crate) async fn preview_file(
    reading: Reading,
    here: PhotosHere,
    with: impl Fn(&mut dyn FnMut(&Ledger)),
) -> Result<Preview, Refusal> {
    let mut id = reading.ledger;
    with(&mut |ledger| id = ledger.id());
    let mut previewing = reading.start_preview(id, here)?;
    let mut more = true;
    while more {
        breathe().await;
        with(&mut |ledger| more = previewing.compare(ledger, now_ms(), SLICE_ENTRIES));
    }
    breathe().await;
    let mut previewing = Some(previewing);
    let mut preview = None;
    with(&mut |ledger| preview = previewing.take().map(|previewing| previewing.finish(ledger)));
    preview.ok_or(Refusal::NotOurs)
}

/// A piece of a file that the browser was asked for.
struct Piece(JsFuture);

impl Piece {
    /// Asks for what stands from `at` on; nothing at the file's end.
    fn ask(file: &Blob, at: f64) -> Result<Option<Self>, StoreError> {
        if at >= file.size() {
            return Ok(None);
        }
        let slice = file.slice_with_f64_and_f64(at, at + PIECE_BYTES).map_err(|why| StoreError::of(&why))?;
        Ok(Some(Self(JsFuture::from(slice.array_buffer()))))
    }

    async fn bytes(self) -> Result<Vec<u8>, StoreError> {
        let buffer = self.0.await.map_err(|why| StoreError::of(&why))?;
        Ok(Uint8Array::new(&buffer).to_vec())
    }
}

/// Lets the page paint and answer taps.
pub(crate) async fn breathe() {
    pause(0).await;
}

/// The same for some milliseconds.
pub(crate) async fn pause(ms: i32) {
    let (done, waiting) = once();
    after_ms(ms, move || {
        done.give(());
    });
    // A timer that is never called leaves nothing to wait for.
    let _ = waiting.await;
}

impl Store {
    /// Takes in what a preview found: photos first, then all entries in one strict transaction, then a read-back.
    ///
    /// # Errors
    /// None of the entries were taken in. Photos that were are kept; doing it again goes on from there.
    ///
    /// The file is remembered by `name`; `fresh` becomes this installation's name if another one writes under the
    /// present one.
    pub(crate) async fn import(
        &self,
        preview: &Preview,
        file: &Blob,
        name: &str,
        fresh: Id,
    ) -> Result<TakenIn, StoreError> {
        let n_photos = self.import_photos(preview, file).await?;
        let origin = Origin { file: Some(name.to_owned()), doubled: preview.doubled.clone(), fresh };
        self.import_new(preview.new.clone(), n_photos, &origin).await
    }

    /// Takes in records that were made on this device with their pictures: the demo.
    ///
    /// # Errors
    /// None of the entries were taken in.
    pub(crate) async fn import_made(
        &self,
        entries: Vec<Arc<Entry>>,
        pictures: &[Attachment],
        fresh: Id,
    ) -> Result<TakenIn, StoreError> {
        for chunk in pictures.chunks(CHUNK_PHOTOS) {
            let ops: Vec<Op> = chunk.iter().map(|p| p.put(Shelf::Attachments)).collect();
            self.run(&[Shelf::Attachments], Durability::Strict, ops).await?;
        }
        let origin = Origin { file: None, doubled: BTreeSet::new(), fresh };
        self.import_new(entries, pictures.len(), &origin).await
    }

    /// Takes entries in, as often as another tab was quicker.
    async fn import_new(
        &self,
        mut new: Vec<Arc<Entry>>,
        n_photos: usize,
        origin: &Origin,
    ) -> Result<TakenIn, StoreError> {
        let mut missed = Vec::new();
        loop {
            let doubled = origin.doubled.iter().copied();
            let mut intake = Intake::new(now_ms(), origin.fresh).with_doubled(doubled);
            if let Some(name) = &origin.file {
                intake = intake.of_file(name);
            }
            for slice in new.chunks(SLICE_ENTRIES) {
                intake.add(slice);
                breathe().await;
            }
            let expected = self.0.known.get();
            let imported = self.import_entries(intake, expected).await;
            let (imported, beside) = self.noticed(imported)?;
            if let Some(imported) = imported {
                self.tell_others();
                return Ok(TakenIn {
                    entries: new,
                    missed,
                    line: imported.line,
                    n_photos,
                    renewed: imported.renewed,
                    beside,
                });
            }
            // Another tab was quicker: what it wrote is not new any more.
            let line = self.retrying(async |connection| super::saving::read_line(&connection).await).await?;
            self.claim(line.arrived);
            let there = self.read_unread().await?;
            let known: std::collections::HashSet<_> = there.iter().map(|entry| entry.id).collect();
            new.retain(|entry| !known.contains(&entry.id));
            missed.extend(there);
        }
    }

    /// Reads the file once more for its photos and keeps those that are new, some in each transaction.
    async fn import_photos(&self, preview: &Preview, file: &Blob) -> Result<usize, StoreError> {
        let wanted: std::collections::HashSet<_> = preview.new_photos.iter().copied().collect();
        if wanted.is_empty() {
            return Ok(0);
        }
        let mut reader = Reader::photos_only();
        let (mut at, mut n_photos) = (0.0, 0);
        let mut chunk: Vec<PhotoFound> = Vec::new();
        while let Some(asked) = Piece::ask(file, at)? {
            let piece = asked.bytes().await?;
            at += PIECE_BYTES;
            let keep = |found: PhotoFound| {
                if wanted.contains(&(found.kind, found.attachment.hash())) {
                    chunk.push(found);
                }
            };
            // The first pass has read this file to its end; what it refused it did not give a preview of.
            reader.feed(&piece, keep).map_err(|why| StoreError::Other(why.to_string()))?;
            let n_bytes: usize = chunk.iter().map(|p| p.attachment.bytes().len()).sum();
            if chunk.len() >= CHUNK_PHOTOS || n_bytes >= CHUNK_BYTES || at >= file.size() {
                n_photos += chunk.len();
                self.put_photos(std::mem::take(&mut chunk)).await?;
            }
        }
        Ok(n_photos)
    }

    async fn put_photos(&self, photos: Vec<PhotoFound>) -> Result<(), StoreError> {
        let ops: Vec<Op> = photos.iter().map(|photo| photo.attachment.put(shelf_of(photo.kind))).collect();
        if ops.is_empty() {
            return Ok(());
        }
        let stores = [Shelf::Attachments, Shelf::Thumbs];
        self.run(&stores, Durability::Strict, ops).await
    }

    async fn import_entries(
        &self,
        intake: Intake,
        expected: u64,
    ) -> Result<(Option<Imported>, Option<StoreError>), StoreError> {
        let [meta, blocks, tail] = [Shelf::Meta, Shelf::Blocks, Shelf::Tail].map(Shelf::name);
        let connection = self.connection().await?;
        let store = self.clone();
        let imported = connection
            .change(
                &[meta, blocks, tail],
                Durability::Strict,
                &[
                    (meta, Read::Row(LINE_KEY.to_owned())),
                    (meta, Read::Row(BLOCKS_KEY.to_owned())),
                    (meta, Read::Row(FILES_KEY.to_owned())),
                ],
                move |found| {
                    let line = line_row(&found)?;
                    let [list, files] = [1, 2].map(|at| found.get(at).and_then(row));
                    let (list, files) = (list.as_deref(), files.as_deref());
                    let imported = shelf::import(&line, list, files, expected, &intake)?;
                    let ops = imported.as_ref().map(|i| i.ops.clone());
                    Ok((ops.unwrap_or_default(), imported))
                },
                move |imported| {
                    if let Some(imported) = imported {
                        store.0.known.set(imported.line.arrived);
                    }
                },
            )
            .await?;
        // From here on they are on the medium.
        let mut beside = None;
        for ops in imported.iter().flat_map(|i| i.ops.chunks(CHECKED_AT_ONCE)) {
            match self.retrying(async |connection| rows_stand(&connection, ops).await).await {
                Ok(_) => {}
                Err(StoreError::NotReadBack) => return Err(StoreError::NotReadBack),
                Err(why) => beside = Some(why),
            }
        }
        Ok((imported, beside))
    }

    /// Writes everything into a file, in pieces. `made` is the civil time on the device, to the minute.
    ///
    /// Note it with [`Store::mark_exported`] once the file has left the page.
    pub(crate) async fn export(
        &self,
        ledger: &Ledger,
        name: &str,
        made: &str,
        photos: PhotosIn,
    ) -> Result<Blob, StoreError> {
        let mut composer = Composer::new(ledger, name, made);
        let mut parts = Parts::new();
        while let Some(piece) = composer.next_piece() {
            if parts.add(&piece)? {
                breathe().await;
            }
        }
        let media = media_types(ledger);
        let kinds = match photos {
            PhotosIn::Without => &[][..],
            PhotosIn::Thumbs => &[PhotoKind::Thumb],
            PhotosIn::All => &[PhotoKind::Thumb, PhotoKind::Photo],
        };
        for kind in kinds {
            for hash in self.hashes(shelf_of(*kind)).await? {
                // A photo deleted by the browser meanwhile is named as missing where the file is taken in.
                let Some(bytes) = self.row(shelf_of(*kind), &hash.to_string()).await? else {
                    continue;
                };
                let media = media.get(&hash).map_or("application/octet-stream", String::as_str);
                parts.add(&composer.photo(hash, *kind, media, &bytes))?;
            }
        }
        parts.add(composer.end())?;
        parts.finish()
    }
}

const fn shelf_of(kind: PhotoKind) -> Shelf {
    match kind {
        PhotoKind::Photo => Shelf::Attachments,
        PhotoKind::Thumb => Shelf::Thumbs,
    }
}

/// Media types of the photos that entries name.
fn media_types(ledger: &Ledger) -> HashMap<AttachmentHash, String> {
    let mut types = HashMap::new();
    for entry in ledger.arrived() {
        if let Body::Photo(photo) = &entry.body {
            for hash in photo.thumb.iter().chain([&photo.hash]) {
                types.insert(*hash, photo.media.clone());
            }
        }
    }
    types
}

/// A file growing out of pieces. The browser keeps blobs outside the page's memory, so pieces become one now and then.
pub(super) struct Parts {
    parts: Array,
    n_bytes: usize,
}

impl Parts {
    pub(super) fn new() -> Self {
        Self { parts: Array::new(), n_bytes: 0 }
    }

    /// Adds a piece; true when the pieces so far were handed to the browser.
    pub(super) fn add(&mut self, piece: &str) -> Result<bool, StoreError> {
        self.parts.push(&JsValue::from_str(piece));
        self.n_bytes += piece.len();
        if self.n_bytes < CHUNK_BYTES {
            return Ok(false);
        }
        self.n_bytes = 0;
        self.parts = Array::of1(&JsValue::from(blob_of(&self.parts, "")?));
        Ok(true)
    }

    pub(super) fn finish(self) -> Result<Blob, StoreError> {
        blob_of(&self.parts, "application/json")
    }
}
