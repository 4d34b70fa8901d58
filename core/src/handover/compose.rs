//! Writing a file of records in pieces, so that it never stands in memory whole.

use std::{collections::BTreeSet, sync::Arc};

use base64::prelude::{BASE64_STANDARD as BASE64, Engine as _};
use strum::{IntoStaticStr, VariantArray};

use crate::{
    json,
    ledger::{
        Ledger,
        body::Body,
        canonical::quote,
        digest_of,
        entry::Entry,
        have::{Have, to_hex},
        id::{AttachmentHash, Id},
        shelf::Heard,
    },
    words::words,
};

/// What `bloomdue` says in this kind of file.
pub(super) const RECORDS: &str = "records";

/// The format this version writes.
pub const FORMAT: u32 = 1;

/// A photo, or the small picture of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum PhotoKind {
    /// A photo or another attached file.
    #[strum(serialize = "photo")]
    Photo,
    /// A small picture.
    #[strum(serialize = "thumb")]
    Thumb,
}

words!(PhotoKind);

/// Who makes a file: so that the next one from there need hold only what they lack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sender {
    /// This installation.
    pub device: Id,
    /// Who records on it, where that was said.
    pub who: Option<Id>,
    /// What was heard there of other devices: what one phone knows of another, the third learns from it.
    pub heard: Vec<Heard>,
}

/// About how many bytes one piece of entries has.
const PIECE_BYTES: usize = 128 * 1024;

/// A file being written: [`Composer::next_piece`] until it gives nothing, then each photo, then [`Composer::end`].
#[derive(Debug)]
pub struct Composer {
    head: Option<String>,
    entries: Vec<Arc<Entry>>,
    written: usize,
    n_photos: usize,
}

impl Composer {
    /// A file with every entry of a ledger, in the order in which they were written down. `name` is the nursery's
    /// name, `made` the civil time on the device, to the minute.
    pub fn new(ledger: &Ledger, name: &str, made: &str) -> Self {
        Self::of_entries(ledger.id(), ledger.arrived().to_vec(), name, made)
    }

    /// A file with some entries of a ledger, for others who have the rest of it. Its head says what the whole ledger
    /// has, so that whoever lacks more than these sees that, who made it, and what was heard of others.
    pub fn of_some(ledger: &Ledger, some: Vec<Arc<Entry>>, sender: &Sender, name: &str, made: &str) -> Self {
        Self::with_head(ledger.id(), ledger.arrived(), some, Some(sender), name, made)
    }

    /// The same of entries that stand in no ledger, each named once: for one that does not open.
    pub fn of_entries(ledger: Id, entries: Vec<Arc<Entry>>, name: &str, made: &str) -> Self {
        Self::with_head(ledger, &entries.clone(), entries, None, name, made)
    }

    fn with_head(
        ledger: Id,
        all: &[Arc<Entry>],
        mut entries: Vec<Arc<Entry>>,
        sender: Option<&Sender>,
        name: &str,
        made: &str,
    ) -> Self {
        entries.sort_by_key(|entry| {
            let envelope = &entry.envelope;
            (envelope.hlc, envelope.device, envelope.line, entry.id)
        });
        let have = json::to_text(&Have::of(all));
        let device = sender.map_or_else(String::new, |sender| format!(r#""device":"{}","#, sender.device));
        let who = sender.and_then(|sender| sender.who);
        let who = who.map_or_else(String::new, |who| format!(r#""who":"{who}","#));
        let heard = sender.map(|sender| json::to_text(&sender.heard));
        let heard = heard.map_or_else(String::new, |heard| format!(r#""heard":{heard},"#));
        let head = format!(
            r#"{{"bloomdue":"{}","format":{},"ledger":"{}",{device}{who}"name":{},"made":{},"digest":"{}","have":{},{heard}"entries":["#,
            RECORDS,
            FORMAT,
            ledger,
            quoted(name),
            quoted(made),
            to_hex(&digest_of(all.iter().map(|entry| entry.id))),
            have,
        );
        Self { head: Some(head), entries, written: 0, n_photos: 0 }
    }

    /// The photos, or the small pictures, that the file's own entries name, each once.
    pub fn names(&self, kind: PhotoKind) -> BTreeSet<AttachmentHash> {
        let photos = self.entries.iter().filter_map(|entry| match &entry.body {
            Body::Photo(photo) => Some(photo),
            _ => None,
        });
        match kind {
            PhotoKind::Photo => photos.map(|photo| photo.hash).collect(),
            PhotoKind::Thumb => photos.filter_map(|photo| photo.thumb).collect(),
        }
    }

    /// The next piece of the head and the entries; nothing when they are all written.
    pub fn next_piece(&mut self) -> Option<String> {
        if let Some(head) = self.head.take() {
            return Some(head);
        }
        if self.written == self.entries.len() {
            return None;
        }
        let mut piece = String::with_capacity(PIECE_BYTES + 4096);
        while let Some(entry) = self.entries.get(self.written)
            && piece.len() < PIECE_BYTES
        {
            piece.push_str(if self.written == 0 { "\n" } else { ",\n" });
            piece.push_str("{\"id\":\"");
            piece.push_str(&entry.id.to_string());
            piece.push_str("\",\"entry\":");
            piece.push_str(entry.bytes());
            piece.push('}');
            self.written += 1;
        }
        Some(piece)
    }

    /// One photo or small picture. `media` is its media type.
    pub fn photo(&mut self, hash: AttachmentHash, kind: PhotoKind, media: &str, bytes: &[u8]) -> String {
        let mut piece = String::new();
        piece.push_str(if self.n_photos == 0 { "\n],\"photos\":[\n" } else { ",\n" });
        self.n_photos += 1;
        piece.push_str(&format!(
            "{{\"hash\":\"{hash}\",\"media\":{},\"kind\":\"{}\",\"base64\":\"",
            quoted(media),
            kind.word()
        ));
        BASE64.encode_string(bytes, &mut piece);
        piece.push_str("\"}");
        piece
    }

    /// The end of the file.
    pub fn end(self) -> &'static str {
        if self.n_photos == 0 { "\n],\"photos\":[\n]}\n" } else { "\n]}\n" }
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::new();
    quote(text, &mut out);
    out
}

/// Writes a file at once, with photos that are at hand.
///
/// # What is written is read back, entry by entry
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let state = State::fold(&ledger);
/// use bloomdue_core::handover::json::{compose, read};
/// let file = compose(&ledger, "Nursery", "2027-11-20", []);
/// let reading = read(file.as_bytes(), |_photo| {})?;
/// assert_eq!(reading.entries.len(), ledger.len());
/// # Ok(())
/// # }
/// ```
pub fn compose<'a>(
    ledger: &Ledger,
    name: &str,
    made: &str,
    photos: impl IntoIterator<Item = (AttachmentHash, PhotoKind, &'a str, &'a [u8])>,
) -> String {
    let mut composer = Composer::new(ledger, name, made);
    let mut file = String::new();
    while let Some(piece) = composer.next_piece() {
        file.push_str(&piece);
    }
    for (hash, kind, media, bytes) in photos {
        file.push_str(&composer.photo(hash, kind, media, bytes));
    }
    file.push_str(composer.end());
    file
}
