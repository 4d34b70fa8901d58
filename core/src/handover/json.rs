//! The plain file of records, `*.bloomdue.json`, described by `records.schema.json` beside this file.
//!
//! One element a line, each verifying itself: entries by their id, photos by their hash. [`Reader`] takes the file
//! piece by piece and keeps what verifies; [`Reading::preview`](super::Preview) compares it with what is here.

use std::{
    borrow::Cow,
    collections::{BTreeMap, HashSet},
    fmt,
    sync::Arc,
};

use base64::prelude::{BASE64_STANDARD as BASE64, Engine as _};
use serde::Deserialize;
use serde_json::{Value, from_slice, from_str, value::RawValue};

use super::compose::RECORDS;
pub use super::compose::{Composer, FORMAT, PhotoKind, Sender, compose};
use super::scan::{Cut, List, Scanner};
use crate::{
    error::Error,
    json::{self as text, Object},
    ledger::{
        IdSet,
        canonical::to_canonical,
        entry::Entry,
        have::Have,
        id::{AttachmentHash, EntryId, Id},
        names::shown,
        shelf::{Attachment, Heard},
    },
    limits,
    refusal::StoredRefusal,
};

/// A file in which nothing of ours was found so far is not read further.
const FOREIGN_BYTES: usize = 8 * 1024 * 1024;

/// An element of `entries`.
#[derive(Deserialize)]
struct EntryElement<'a> {
    id: EntryId,
    #[serde(borrow)]
    entry: &'a RawValue,
}

/// An element of `photos`.
#[derive(Deserialize)]
struct PhotoElement<'a> {
    hash: AttachmentHash,
    media: String,
    kind: PhotoKind,
    #[serde(borrow)]
    base64: Cow<'a, str>,
}

/// Why nothing of a file can be taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Not a file of records.
    NotOurs,
    /// Cut off before the first whole record.
    CutOff,
    /// Written by a newer version, in this format.
    NewerFormat(u32),
    /// Records of another nursery.
    OtherNursery {
        /// Its id.
        ledger: Id,
        /// Its name as the file gives it.
        name: String,
    },
    /// More than any nursery can hold.
    TooLarge(Error),
}

impl fmt::Display for Refusal {
    /// For developers: the code and its arguments.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self, f)
    }
}

impl std::error::Error for Refusal {}

/// A record whose bytes are not those its id was made from: changed by hand, or garbled. Not taken; may be offered as
/// an amendment by the present user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// Line in the file.
    pub line: u64,
    /// The id it stands under.
    pub claimed: EntryId,
    /// What it says now, if it still can be read, under the id of its present bytes.
    pub now: Option<Arc<Entry>>,
}

/// Something in the file that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// Line in the file.
    pub line: u64,
    /// What is wrong.
    pub why: Error,
}

/// What stood in a file, as far as it verifies.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The nursery.
    pub ledger: Id,
    /// Its name as the file gives it, cut where it is longer than any name.
    pub name: String,
    /// When the file was made, as the file says, cut likewise.
    pub made: String,
    /// Who made the file, where it says so.
    pub sender: Option<Sender>,
    /// What the sender had.
    pub have: Have,
    /// The sender's digest, in hexadecimal digits.
    pub digest: String,
    /// Entries that verify, in the order of the file, each once.
    pub entries: Vec<Arc<Entry>>,
    /// Those whose layout had been changed, content intact.
    pub reformatted: Vec<EntryId>,
    /// Records that were changed after export.
    pub changed: Vec<Changed>,
    /// Elements that cannot be read.
    pub unreadable: Vec<Unreadable>,
    /// Photos that verify, each once.
    pub photos: Vec<(PhotoKind, AttachmentHash)>,
    /// Photos whose bytes are not those of their hash.
    pub damaged_photos: Vec<AttachmentHash>,
    /// Whether the file ended before its end.
    pub cut_off: bool,
    /// Ids of each line of each device, gathered while reading so that the preview is quick.
    pub(super) lines: BTreeMap<Id, BTreeMap<u64, Vec<EntryId>>>,
}

/// A photo found while reading: its bytes have the hash it stands under.
#[derive(Debug)]
pub struct PhotoFound {
    /// What it is.
    pub kind: PhotoKind,
    /// Its media type, as the file says.
    pub media: String,
    /// Hash and bytes.
    pub attachment: Attachment,
}

/// Reads a file piece by piece.
#[derive(Debug)]
pub struct Reader {
    scanner: Scanner,
    content: Content,
    photos_only: bool,
    n_bytes: usize,
}

/// What was found so far.
#[derive(Debug)]
struct Content {
    is_ours: Option<bool>,
    format: u32,
    ledger: Option<Id>,
    reading: Reading,
    seen: IdSet<EntryId>,
    seen_photos: HashSet<(PhotoKind, AttachmentHash)>,
}

impl Default for Reader {
    fn default() -> Self {
        Self::new()
    }
}

impl Reader {
    /// Reads everything.
    pub fn new() -> Self {
        Self { scanner: Scanner::new(), content: Content::new(), photos_only: false, n_bytes: 0 }
    }

    /// Reads photos only: the second pass, after the grower said yes, so that photos never pile up in memory.
    pub fn photos_only() -> Self {
        Self { photos_only: true, ..Self::new() }
    }

    /// Takes a piece of the file. `photo` is called with each photo that verifies.
    ///
    /// # Errors
    /// As soon as it is known that nothing of this file can be taken in.
    pub fn feed(&mut self, piece: &[u8], mut photo: impl FnMut(PhotoFound)) -> Result<(), Refusal> {
        let content = &mut self.content;
        self.scanner.feed(piece, |line, cut| match cut {
            Cut::Member(key, raw) => content.member(line, &key, raw),
            Cut::Element(List::Entries, _) if self.photos_only => {}
            Cut::Element(List::Entries, raw) => content.entry(line, raw),
            Cut::Element(List::Photos, raw) => content.photo(line, raw, &mut photo),
            Cut::Broken => content.unreadable(line, Error::new(StoredRefusal::GarbledLine)),
        });
        self.n_bytes += piece.len();
        let nothing = self.content.is_ours.is_none() && self.content.is_empty();
        if self.content.is_ours == Some(false) || (nothing && self.n_bytes > FOREIGN_BYTES) {
            return Err(Refusal::NotOurs);
        }
        if self.content.format > FORMAT {
            return Err(Refusal::NewerFormat(self.content.format));
        }
        self.content.check_size()
    }

    /// Ends the file.
    ///
    /// # Errors
    /// When nothing of it can be taken in.
    pub fn finish(mut self) -> Result<Reading, Refusal> {
        let nothing = self.content.is_empty();
        let reading = &mut self.content.reading;
        reading.cut_off = !self.scanner.is_done();
        if self.content.is_ours != Some(true) && nothing {
            return Err(Refusal::NotOurs);
        }
        if reading.cut_off && nothing {
            return Err(Refusal::CutOff);
        }
        let Some(ledger) = common_ledger(&reading.entries).or(self.content.ledger) else {
            return Err(Refusal::NotOurs);
        };
        reading.ledger = ledger;
        let is_own = |entry: &Arc<Entry>| entry.envelope.ledger == ledger;
        if reading.entries.iter().all(is_own) {
            return Ok(self.content.reading);
        }
        let (own, strays): (Vec<_>, Vec<_>) = std::mem::take(&mut reading.entries).into_iter().partition(is_own);
        reading.entries = own;
        let stray_ids: IdSet<EntryId> = strays.iter().map(|stray| stray.id).collect();
        for ids in reading.lines.values_mut().flat_map(BTreeMap::values_mut) {
            ids.retain(|id| !stray_ids.contains(id));
        }
        for stray in strays {
            let why = Error::new(StoredRefusal::OtherNursery(stray.id));
            reading.unreadable.push(Unreadable { line: 0, why });
        }
        Ok(self.content.reading)
    }
}

/// The nursery that most of these entries are of. They verify themselves, which the head of the file does not.
fn common_ledger(entries: &[Arc<Entry>]) -> Option<Id> {
    let mut counts = BTreeMap::<Id, usize>::new();
    for of_one in entries.chunk_by(|a, b| a.envelope.ledger == b.envelope.ledger) {
        *counts.entry(of_one[0].envelope.ledger).or_default() += of_one.len();
    }
    counts.into_iter().max_by_key(|(_, n)| *n).map(|(id, _)| id)
}

impl Content {
    fn new() -> Self {
        Self {
            is_ours: None,
            format: 0,
            ledger: None,
            reading: Reading {
                // Replaced when the file ends; a file that names no ledger is refused.
                ledger: crate::ledger::id::Ids::new([0; 32]).draw(crate::ledger::id::Noun::Ledger),
                name: String::new(),
                made: String::new(),
                sender: None,
                have: Have::default(),
                digest: String::new(),
                entries: Vec::new(),
                reformatted: Vec::new(),
                changed: Vec::new(),
                unreadable: Vec::new(),
                photos: Vec::new(),
                damaged_photos: Vec::new(),
                cut_off: false,
                lines: BTreeMap::new(),
            },
            seen: IdSet::default(),
            seen_photos: HashSet::new(),
        }
    }

    /// Whether no element of ours was found yet.
    fn is_empty(&self) -> bool {
        let reading = &self.reading;
        reading.entries.is_empty() && reading.changed.is_empty() && reading.photos.is_empty()
    }

    fn check_size(&self) -> Result<(), Refusal> {
        let n = self.seen.len() + self.reading.changed.len() + self.reading.unreadable.len();
        let entries = limits::ENTRIES.check(n as i64);
        let n = self.seen_photos.len() + self.reading.damaged_photos.len();
        let photos = limits::ATTACHMENTS.check(n as i64);
        entries.and(photos).map(|_| ()).map_err(Refusal::TooLarge)
    }

    /// A member that cannot be read counts as not said; members of later versions are passed over.
    fn member(&mut self, line: u64, key: &str, raw: &[u8]) {
        let reading = &mut self.reading;
        match key {
            "bloomdue" => self.is_ours = Some(from_slice::<String>(raw).is_ok_and(|what| what == RECORDS)),
            "format" => match from_slice(raw) {
                Ok(format) => self.format = format,
                Err(_) => self.unreadable(line, Error::new(StoredRefusal::GarbledFormat)),
            },
            "ledger" => self.ledger = from_slice(raw).ok(),
            "name" => reading.name = shown(from_slice(raw).unwrap_or_default()),
            "made" => reading.made = shown(from_slice(raw).unwrap_or_default()),
            "device" => {
                reading.sender = from_slice(raw).ok().map(|device| Sender { device, who: None, heard: Vec::new() });
            }
            // It stands after the device that it is of.
            "who" => {
                if let Some(sender) = &mut reading.sender {
                    sender.who = from_slice(raw).ok();
                }
            }
            "heard" => {
                if let Some(sender) = &mut reading.sender {
                    sender.heard = from_slice::<Vec<Object<Heard>>>(raw)
                        .map(|heard| heard.into_iter().map(|Object(heard)| heard).collect())
                        .unwrap_or_default();
                }
            }
            "have" => reading.have = from_slice(raw).unwrap_or_default(),
            "digest" => reading.digest = shown(from_slice(raw).unwrap_or_default()),
            _ => {}
        }
    }

    fn unreadable(&mut self, line: u64, why: Error) {
        self.reading.unreadable.push(Unreadable { line, why });
    }

    fn entry(&mut self, line: u64, raw: &[u8]) {
        let EntryElement { id, entry } = match text::read_bytes(raw) {
            Ok(Object(element)) => element,
            Err(why) => {
                let why = Error::new(StoredRefusal::NoRecord(Box::new(why)));
                return self.unreadable(line, why);
            }
        };
        let bytes = entry.get();
        if self.seen.contains(&id) {
            return;
        }
        if EntryId::of(bytes.as_bytes()) == id {
            return self.verified(line, Entry::read(id, bytes));
        }
        let canonical = from_str::<Value>(bytes).ok().and_then(|value| to_canonical(&value).ok());
        match canonical {
            Some(canonical) if EntryId::of(canonical.as_bytes()) == id => {
                // In a page `<` is written otherwise; that is how pages are, and nobody's change.
                if bytes.replace("\\u003c", "<") != canonical {
                    self.reading.reformatted.push(id);
                }
                self.verified(line, Entry::read(id, &canonical));
            }
            canonical => {
                let now =
                    canonical.and_then(|canonical| Entry::read(EntryId::of(canonical.as_bytes()), &canonical).ok());
                self.reading.changed.push(Changed { line, claimed: id, now: now.map(Arc::new) });
            }
        }
    }

    fn verified(&mut self, line: u64, read: Result<Entry, Error>) {
        match read {
            Ok(entry) => {
                let id = entry.id;
                self.seen.insert(id);
                let lines = self.reading.lines.entry(entry.envelope.device);
                let ids = lines.or_default().entry(entry.envelope.line).or_default();
                ids.push(id);
                self.reading.entries.push(Arc::new(entry));
            }
            Err(why) => self.unreadable(line, why),
        }
    }

    fn photo(&mut self, line: u64, raw: &[u8], found: &mut impl FnMut(PhotoFound)) {
        let Ok(Object(photo)) = from_slice::<Object<PhotoElement<'_>>>(raw) else {
            return self.unreadable(line, Error::new(StoredRefusal::NoPhoto));
        };
        let (kind, hash) = (photo.kind, photo.hash);
        if self.seen_photos.contains(&(kind, hash)) {
            return;
        }
        let fits = |bytes: &Vec<u8>| limits::ATTACHMENT_BYTES.contains(bytes.len() as i64);
        let bytes = BASE64.decode(photo.base64.as_bytes()).ok().filter(fits);
        let attachment = bytes.map(Attachment::of);
        match attachment {
            Some(attachment) if attachment.hash() == hash => {
                self.seen_photos.insert((kind, hash));
                self.reading.photos.push((kind, hash));
                found(PhotoFound { kind, media: photo.media, attachment });
            }
            _ => self.reading.damaged_photos.push(hash),
        }
    }
}

/// Reads a file that is at hand whole.
///
/// # Errors
/// When nothing of it can be taken in.
pub fn read(file: &[u8], mut photo: impl FnMut(PhotoFound)) -> Result<Reading, Refusal> {
    let mut reader = Reader::new();
    for piece in file.chunks(1 << 20) {
        reader.feed(piece, &mut photo)?;
    }
    reader.finish()
}
