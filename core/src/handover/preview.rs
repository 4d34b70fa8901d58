//! What taking a file in would change, before anything is written.

use std::{
    collections::{BTreeMap, BTreeSet, HashSet},
    sync::Arc,
};

use super::json::{Changed, PhotoKind, Reading, Refusal, Unreadable};
use crate::ledger::{
    Digesting, Ledger, PROBLEMS_LISTED, Problem,
    body::Body,
    clock,
    entry::Entry,
    have::{Have, to_hex},
    id::{AttachmentHash, EntryId, Id},
    line_problems,
    shelf::Heard,
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
    /// How many acts would stand twice, written down by two devices on one day, and nothing said of them.
    pub n_twin_acts: usize,
    /// Photos and small pictures that are new here.
    pub new_photos: Vec<(PhotoKind, AttachmentHash)>,
    /// How many of the file's photos are here already.
    pub n_known_photos: usize,
    /// Photos whose bytes are damaged; they are not taken.
    pub damaged_photos: Vec<AttachmentHash>,
    /// Photos that the file's entries name and that are neither in it nor here, not even as a small picture.
    pub missing_photos: Vec<AttachmentHash>,
    /// Lines that would still be missing afterwards, of the devices in this file: the first [`PROBLEMS_LISTED`] gaps.
    pub gaps: Vec<Problem>,
    /// How many gaps there are.
    pub n_gaps: usize,
    /// Line numbers used twice afterwards, of the devices in this file: the first [`PROBLEMS_LISTED`].
    pub cloned: Vec<Problem>,
    /// The devices of these.
    pub doubled: BTreeSet<Id>,
    /// How many line numbers are used twice.
    pub n_cloned: usize,
    /// New entries written under a clock more than a day ahead.
    pub suspects: Vec<EntryId>,
    /// Whether the file ended before its end.
    pub cut_off: bool,
    /// Whether everything the sender had is in the file, or here afterwards: the file is whole and unchanged.
    pub whole: bool,
    /// Who made the file, where it says so, with what they had, and what they had heard of others.
    pub heard: Vec<Heard>,
}

/// A comparison under way, so that a large file can be compared between two frames.
#[derive(Debug)]
pub struct Previewing {
    preview: Preview,
    rest: std::vec::IntoIter<Arc<Entry>>,
    here: PhotosHere,
    in_file: HashSet<AttachmentHash>,
    thumbs_in_file: HashSet<AttachmentHash>,
    have: Have,
    lines: BTreeMap<Id, BTreeMap<u64, Vec<EntryId>>>,
    missing: BTreeSet<AttachmentHash>,
    digesting: Digesting,
    /// The sender's digest.
    digest: String,
}

impl Reading {
    /// Compares with a ledger at once. What the file's entries would end, [`rehearse`](super::rehearse) says.
    ///
    /// To keep another nursery apart, compare with an empty ledger of its id.
    ///
    /// # Errors
    /// When the file is of another nursery.
    pub fn preview(self, ledger: &Ledger, photos: &PhotosHere, now_ms: u64) -> Result<Preview, Refusal> {
        let mut previewing = self.start_preview(ledger.id(), photos.clone())?;
        previewing.compare(ledger, now_ms, usize::MAX);
        Ok(previewing.finish(ledger))
    }

    /// Starts to compare with a ledger of this id.
    ///
    /// # Errors
    /// When the file is of another nursery.
    pub fn start_preview(self, ledger: Id, here: PhotosHere) -> Result<Previewing, Refusal> {
        if self.ledger != ledger {
            return Err(Refusal::OtherNursery { ledger: self.ledger, name: self.name });
        }
        let of = |wanted: PhotoKind| {
            let photos = self.photos.iter();
            let photos = photos.filter(move |(kind, _)| *kind == wanted);
            photos.map(|(_, hash)| *hash).collect()
        };
        let (in_file, thumbs_in_file) = (of(PhotoKind::Photo), of(PhotoKind::Thumb));
        let (known, new_photos): (Vec<_>, Vec<_>) =
            self.photos.into_iter().partition(|(kind, hash)| here.has(*kind, *hash));
        let heard = self.sender.map_or_else(Vec::new, |sender| {
            let own = Heard {
                device: sender.device,
                who: sender.who,
                made: self.made.clone(),
                heard_ms: 0,
                have: self.have.clone(),
            };
            sender.heard.into_iter().chain([own]).collect()
        });
        let preview = Preview {
            n_twin_acts: 0,
            ledger: self.ledger,
            name: self.name,
            made: self.made,
            new: Vec::with_capacity(self.entries.len()),
            n_known: 0,
            reformatted: self.reformatted,
            changed: self.changed,
            unreadable: self.unreadable,
            unknown_kinds: BTreeMap::new(),
            new_photos,
            n_known_photos: known.len(),
            damaged_photos: self.damaged_photos,
            missing_photos: Vec::new(),
            gaps: Vec::new(),
            n_gaps: 0,
            cloned: Vec::new(),
            doubled: BTreeSet::new(),
            n_cloned: 0,
            suspects: Vec::new(),
            cut_off: self.cut_off,
            whole: false,
            heard,
        };
        Ok(Previewing {
            preview,
            rest: self.entries.into_iter(),
            here,
            in_file,
            thumbs_in_file,
            have: self.have,
            lines: self.lines,
            missing: BTreeSet::new(),
            digesting: Digesting::new(),
            digest: self.digest,
        })
    }
}

impl Previewing {
    /// Compares up to `n` more entries, then hashes about `n` ids; false when all is done.
    pub fn compare(&mut self, ledger: &Ledger, now_ms: u64, n: usize) -> bool {
        for _ in 0..n {
            let Some(entry) = self.rest.next() else {
                return self.digesting.step(n);
            };
            self.digesting.add(entry.id);
            if let Body::Photo(photo) = &entry.body
                && !self.here.photos.contains(&photo.hash)
                && !self.in_file.contains(&photo.hash)
                && !photo
                    .thumb
                    .is_some_and(|small| self.here.thumbs.contains(&small) || self.thumbs_in_file.contains(&small))
            {
                self.missing.insert(photo.hash);
            }
            if ledger.get(entry.id).is_some() {
                self.preview.n_known += 1;
                continue;
            }
            if entry.body == Body::Unknown {
                let kind = entry.envelope.kind.clone();
                *self.preview.unknown_kinds.entry(kind).or_default() += 1;
            }
            if clock::is_ahead(entry.envelope.hlc, now_ms) {
                self.preview.suspects.push(entry.id);
            }
            self.preview.new.push(entry);
        }
        true
    }

    /// Ends the comparison.
    pub fn finish(mut self, ledger: &Ledger) -> Preview {
        let (mut gaps, mut cloned, has_all) = self.line_problems(ledger);
        let mut preview = self.preview;
        preview.doubled = cloned.iter().filter_map(Problem::device).collect();
        let digest = self.digesting.finish();
        let has_all = has_all || to_hex(&digest) == self.digest;
        preview.whole = !preview.cut_off && self.rest.len() == 0 && has_all;
        (preview.n_gaps, preview.n_cloned) = (gaps.len(), cloned.len());
        gaps.truncate(PROBLEMS_LISTED);
        cloned.truncate(PROBLEMS_LISTED);
        (preview.gaps, preview.cloned) = (gaps, cloned);
        preview.n_twin_acts = crate::nursery::duplicates::n_arriving(ledger, &preview.new);
        preview.missing_photos = self.missing.into_iter().collect();
        preview
    }

    /// Gaps and doubled lines of the file's devices, when its entries are added to those here, and whether all that the
    /// sender said to have is then here.
    fn line_problems(&mut self, ledger: &Ledger) -> (Vec<Problem>, Vec<Problem>, bool) {
        let mut lines = std::mem::take(&mut self.lines);
        for device in self.have.0.keys() {
            lines.entry(*device).or_default();
        }
        for (device, lines) in &mut lines {
            lines.retain(|_, ids| !ids.is_empty());
            for (line, here) in ledger.lines().get(device).into_iter().flatten() {
                let ids = lines.entry(*line).or_default();
                ids.extend(here);
                ids.sort();
                ids.dedup();
            }
        }
        let mut problems = line_problems(&lines);
        for (device, ranges) in &self.have.0 {
            let greatest = lines.get(device).and_then(|lines| lines.keys().next_back());
            let from = greatest.map_or(1, |line| line.saturating_add(1));
            let to = ranges.iter().map(|range| range.to).max().unwrap_or(0);
            if to >= from {
                problems.push(Problem::Gap { device: *device, from, to });
            }
        }
        problems.sort();
        let (gaps, doubled) = problems.into_iter().partition(|problem| matches!(problem, Problem::Gap { .. }));
        (gaps, doubled, !self.have.0.is_empty() && self.have.is_within(&lines))
    }
}
