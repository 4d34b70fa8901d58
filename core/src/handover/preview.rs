//! What taking a file in would change, before anything is written.

use std::{
    collections::{BTreeMap, BTreeSet, HashSet},
    sync::Arc,
};

use super::json::{Changed, PhotoKind, Reading, Refusal, Unreadable};
use crate::ledger::{
    Ledger, Problem, TAKE_BACK,
    body::Body,
    clock, digest_of,
    entry::Entry,
    have::to_hex,
    id::{AttachmentHash, EntryId, Id},
    line_problems,
};

/// Which photos are kept on this device already.
#[derive(Clone, Debug, Default)]
pub struct PhotosHere {
    /// Photos and other files.
    pub photos: HashSet<AttachmentHash>,
    /// Small pictures.
    pub thumbs: HashSet<AttachmentHash>,
}

impl PhotosHere {
    fn has(&self, kind: PhotoKind, hash: AttachmentHash) -> bool {
        match kind {
            PhotoKind::Photo => self.photos.contains(&hash),
            PhotoKind::Thumb => self.thumbs.contains(&hash),
        }
    }
}

/// What a file brings, compared with what is here. Nothing is written until the grower says yes.
#[derive(Clone, Debug)]
pub struct Preview {
    /// The nursery.
    pub ledger: Id,
    /// Its name as the file gives it.
    pub name: String,
    /// When the file was made, as the file says.
    pub made: String,
    /// Entries that are new here.
    pub new: Vec<Arc<Entry>>,
    /// How many of the file's entries are here already.
    pub n_known: usize,
    /// Entries whose layout had been changed, content intact; they are taken.
    pub reformatted: Vec<EntryId>,
    /// Records changed after export; they are not taken.
    pub changed: Vec<Changed>,
    /// What cannot be read.
    pub unreadable: Vec<Unreadable>,
    /// Kinds that need a newer version of the program, with how many new entries of each; they are taken.
    pub unknown_kinds: BTreeMap<String, usize>,
    /// Own entries that stand now and would be replaced.
    pub would_replace_own: Vec<EntryId>,
    /// Own entries that stand now and would be taken back.
    pub would_take_back_own: Vec<EntryId>,
    /// Photos and small pictures that are new here.
    pub new_photos: Vec<(PhotoKind, AttachmentHash)>,
    /// How many of the file's photos are here already.
    pub n_known_photos: usize,
    /// Photos whose bytes are damaged; they are not taken.
    pub damaged_photos: Vec<AttachmentHash>,
    /// Photos that the file's entries name and that are neither in it nor here.
    pub missing_photos: Vec<AttachmentHash>,
    /// Lines that would still be missing afterwards, of the devices in this file.
    pub gaps: Vec<Problem>,
    /// Line numbers used twice afterwards, of the devices in this file.
    pub cloned: Vec<Problem>,
    /// New entries written under a clock more than a day ahead.
    pub suspects: Vec<EntryId>,
    /// Whether the file ended before its end.
    pub cut_off: bool,
    /// Whether everything the sender had is here afterwards or in the file: the file is whole and unchanged.
    pub whole: bool,
}

impl Reading {
    /// Compares with a ledger. `is_own` says which entries are the grower's own.
    ///
    /// To keep another nursery apart, compare with an empty ledger of its id.
    ///
    /// # Errors
    /// When the file is of another nursery.
    pub fn preview(
        mut self,
        ledger: &Ledger,
        photos: &PhotosHere,
        is_own: impl Fn(&Entry) -> bool,
        now_ms: u64,
    ) -> Result<Preview, Refusal> {
        if self.ledger != ledger.id() {
            return Err(Refusal::OtherNursery {
                ledger: self.ledger,
                name: self.name,
            });
        }
        let whole = self.is_whole();
        let missing_photos = self.missing_photos(photos);
        let (gaps, cloned) = self.line_problems(ledger);
        let n_in_file = self.entries.len();
        let new: Vec<_> = self
            .entries
            .into_iter()
            .filter(|entry| ledger.get(entry.id).is_none())
            .collect();
        let (would_replace_own, would_take_back_own) = would_end(ledger, &new, is_own);
        let (known, new_photos): (Vec<_>, Vec<_>) = self
            .photos
            .into_iter()
            .partition(|(kind, hash)| photos.has(*kind, *hash));
        let ahead = new
            .iter()
            .filter(|entry| clock::is_ahead(entry.envelope.hlc, now_ms));
        Ok(Preview {
            ledger: self.ledger,
            name: self.name,
            made: self.made,
            n_known: n_in_file - new.len(),
            reformatted: self.reformatted,
            changed: self.changed,
            unreadable: self.unreadable,
            unknown_kinds: unknown_kinds(&new),
            would_replace_own,
            would_take_back_own,
            new_photos,
            n_known_photos: known.len(),
            damaged_photos: self.damaged_photos,
            missing_photos,
            gaps,
            cloned,
            suspects: ahead.map(|entry| entry.id).collect(),
            cut_off: self.cut_off,
            whole,
            new,
        })
    }

    /// Whether the file's entries are exactly those its digest speaks of.
    fn is_whole(&self) -> bool {
        let ids = self.entries.iter().map(|entry| entry.id).collect();
        !self.cut_off && to_hex(&digest_of(ids)) == self.digest
    }

    fn missing_photos(&self, here: &PhotosHere) -> Vec<AttachmentHash> {
        let in_file: HashSet<_> = self.photos.iter().collect();
        let mut missing = BTreeSet::new();
        for entry in &self.entries {
            if let Body::Photo(photo) = &entry.body
                && !here.photos.contains(&photo.hash)
                && !in_file.contains(&(PhotoKind::Photo, photo.hash))
            {
                missing.insert(photo.hash);
            }
        }
        missing.into_iter().collect()
    }

    /// Gaps and doubled lines of the file's devices, when its entries are added to those here.
    fn line_problems(&mut self, ledger: &Ledger) -> (Vec<Problem>, Vec<Problem>) {
        let mut lines = std::mem::take(&mut self.lines);
        for device in self.have.0.keys() {
            lines.entry(*device).or_default();
        }
        for (device, lines) in &mut lines {
            lines.retain(|_, ids| !ids.is_empty());
            for (line, here) in ledger.lines().get(device).into_iter().flatten() {
                let ids = lines.entry(*line).or_default();
                ids.extend(here.iter().filter(|id| !ids.contains(id)).copied().collect::<Vec<_>>());
            }
        }
        let mut problems = line_problems(&lines);
        for (device, ranges) in &self.have.0 {
            let greatest = lines.get(device).and_then(|lines| lines.keys().next_back());
            let from = greatest.map_or(1, |line| line.saturating_add(1));
            let to = ranges.iter().map(|range| range.to).max().unwrap_or(0);
            if to >= from {
                problems.push(Problem::Gap {
                    device: *device,
                    from,
                    to,
                });
            }
        }
        problems.sort();
        problems
            .into_iter()
            .partition(|problem| matches!(problem, Problem::Gap { .. }))
    }
}

fn unknown_kinds(new: &[Arc<Entry>]) -> BTreeMap<String, usize> {
    let mut kinds = BTreeMap::new();
    for entry in new.iter().filter(|entry| entry.body == Body::Unknown) {
        *kinds.entry(entry.envelope.kind.clone()).or_default() += 1;
    }
    kinds
}

/// Own entries that stand for some subject now and would not any more: replaced, and taken back.
fn would_end(
    ledger: &Ledger,
    new: &[Arc<Entry>],
    is_own: impl Fn(&Entry) -> bool,
) -> (Vec<EntryId>, Vec<EntryId>) {
    let mut replaced = BTreeSet::new();
    let mut taken_back = BTreeSet::new();
    for by in new {
        for target in by
            .envelope
            .supersedes
            .iter()
            .filter_map(|id| ledger.get(*id))
        {
            let ends = is_own(target)
                && target.envelope.about.iter().any(|subject| {
                    Ledger::replaces(by, target, *subject) && ledger.stands(target, *subject)
                });
            if ends && by.envelope.kind == TAKE_BACK {
                taken_back.insert(target.id);
            } else if ends {
                replaced.insert(target.id);
            }
        }
    }
    (
        replaced.into_iter().collect(),
        taken_back.into_iter().collect(),
    )
}
