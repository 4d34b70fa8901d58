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
        json::{Composer, PhotoFound, PhotoKind, Reader, Reading, Refusal, Sender},
        page,
    },
    ledger::{
        Ledger,
        body::Body,
        entry::Entry,
        id::{AttachmentHash, Id},
        shelf::{
            Attachment, BLOCK_ENTRIES, HEARD_KEY, Heard, HeardRow, Op, Store as Shelf,
            session::{Durability, Origin, Read, TakeIn, TakenIn, hearing},
        },
    },
};
use js_sys::{Array, Uint8Array};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::Blob;

use super::{Store, StoreError, database::after_ms, error, now_ms, once::once, photos::blob_of};

/// Bytes of a file read in one piece.
const PIECE_BYTES: f64 = 512.0 * 1024.0;

/// Photos written in one transaction, and their bytes.
const CHUNK_PHOTOS: usize = 20;
const CHUNK_BYTES: usize = 8 * 1024 * 1024;

/// Entries compared between two frames.
const SLICE_ENTRIES: usize = 2 * BLOCK_ENTRIES;

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

/// Which records go into a file.
pub(crate) enum RecordsIn {
    /// All, with every photo that is here.
    All,
    /// These, with the photos that they name.
    Some(Vec<Arc<Entry>>),
}

/// What a file looks like from outside.
pub(crate) enum Dress {
    /// Records and nothing else.
    Plain,
    /// Within a page that people can read: what stands before and after.
    Page(String, String),
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
        let slice = file.slice_with_f64_and_f64(at, at + PIECE_BYTES).map_err(|why| error::of(&why))?;
        Ok(Some(Self(JsFuture::from(slice.array_buffer()))))
    }

    async fn bytes(self) -> Result<Vec<u8>, StoreError> {
        let buffer = self.0.await.map_err(|why| error::of(&why))?;
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
    /// Gives how many photos and small pictures were new beside it. The file is remembered by `name`; `fresh` becomes this installation's name if another one writes under the
    /// present one.
    pub(crate) async fn import(
        &self,
        preview: &Preview,
        file: &Blob,
        name: &str,
        fresh: Id,
    ) -> Result<(TakenIn<StoreError>, usize), StoreError> {
        let n_photos = self.import_photos(preview, file).await?;
        let origin = Origin { file: Some(name.to_owned()), doubled: preview.doubled.clone(), fresh };
        Ok((self.import_new(preview.new.clone(), origin).await?, n_photos))
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
    ) -> Result<TakenIn<StoreError>, StoreError> {
        for chunk in pictures.chunks(CHUNK_PHOTOS) {
            let ops: Vec<Op> = chunk.iter().map(|p| p.put(Shelf::Attachments)).collect();
            self.run(&[Shelf::Attachments], Durability::Strict, ops).await?;
        }
        let origin = Origin { file: None, doubled: BTreeSet::new(), fresh };
        self.import_new(entries, origin).await
    }

    async fn import_new(&self, new: Vec<Arc<Entry>>, origin: Origin) -> Result<TakenIn<StoreError>, StoreError> {
        let taken = self.carry_out(TakeIn::new(new, origin)).await?;
        self.tell_others();
        Ok(taken)
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

    /// Writes records into a file, in pieces. `made` is the civil time on the device, to the minute.
    ///
    /// Note it with [`Store::mark_exported`] once the file has left the page.
    pub(crate) async fn export(
        &self,
        ledger: &Ledger,
        records: RecordsIn,
        sender: &Sender,
        (name, made): (&str, &str),
        photos: PhotosIn,
        dress: Dress,
    ) -> Result<Blob, StoreError> {
        let all = matches!(records, RecordsIn::All);
        let some = match records {
            RecordsIn::All => ledger.arrived().to_vec(),
            RecordsIn::Some(some) => some,
        };
        let mut composer = Composer::of_some(ledger, some, sender, name, made);
        let mut parts = Parts::new();
        let is_page = matches!(dress, Dress::Page(..));
        let add = |parts: &mut Parts, piece: &str| match is_page {
            true => parts.add(&page::inside(piece)),
            false => parts.add(piece),
        };
        let (before, after) = match dress {
            Dress::Plain => (String::new(), String::new()),
            Dress::Page(before, after) => (before, after),
        };
        parts.add(&before)?;
        while let Some(piece) = composer.next_piece() {
            if add(&mut parts, &piece)? {
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
            let hashes = match all {
                true => self.hashes(shelf_of(*kind)).await?,
                false => composer.names(*kind).into_iter().collect(),
            };
            for hash in hashes {
                // A photo deleted by the browser meanwhile is named as missing where the file is taken in.
                let Some(bytes) = self.read(&[Read::Row(shelf_of(*kind), hash.to_string())]).await?.row() else {
                    continue;
                };
                let media = media.get(&hash).map_or("application/octet-stream", String::as_str);
                add(&mut parts, &composer.photo(hash, *kind, media, &bytes))?;
            }
        }
        add(&mut parts, composer.end())?;
        parts.add(&after)?;
        parts.finish(if is_page { "text/html" } else { "application/json" })
    }

    /// What was heard of other devices.
    pub(crate) async fn heard(&self) -> Result<HeardRow, StoreError> {
        let row = self.read(&[Read::meta(HEARD_KEY)]).await?.row();
        Ok(HeardRow::read(row.as_deref())?)
    }

    /// Notes what other devices said that they have.
    pub(crate) async fn hear(&self, heard: Vec<Heard>) -> Result<(), StoreError> {
        self.carry_out(hearing(heard)).await.map(|_| ())
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

    pub(super) fn finish(self, media: &str) -> Result<Blob, StoreError> {
        blob_of(&self.parts, media)
    }
}
