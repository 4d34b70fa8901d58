//! What a ledger holds, short enough to stand in every file: per device, ranges of lines with a digest.
//!
//! A preview sees from it which devices wrote what a file holds, and which of their lines are here under other ids. From
//! what another device said last that it has, [`Have::lacks`] tells what to send it.

use std::{collections::BTreeMap, fmt::Write as _, sync::Arc};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{
    entry::Entry,
    id::{AttachmentHash, EntryId, Id},
};

/// Lines `from` to `to` of one device, both there and all between them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "(u64, u64, AttachmentHash)", into = "(u64, u64, AttachmentHash)")]
pub struct Range {
    /// First line.
    pub from: u64,
    /// Last line.
    pub to: u64,
    /// SHA-256 over the raw ids of these lines, sorted.
    pub digest: [u8; 32],
}

/// Ranges of every device. In JSON: `{"d_…":[[1,41,"64 hexadecimal digits"]]}`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Have(pub BTreeMap<Id, Vec<Range>>);

pub(crate) type Lines = BTreeMap<u64, Vec<EntryId>>;

impl Have {
    /// Of these entries, each named once.
    pub fn of(entries: &[Arc<Entry>]) -> Self {
        let all = lines_of(entries);
        let ranges = |lines: &Lines| {
            runs(lines).into_iter().map(|(from, to)| Range { from, to, digest: digest(lines, from, to) }).collect()
        };
        let all = all.iter();
        Self(all.map(|(device, lines)| (*device, ranges(lines))).collect())
    }

    /// Those of these entries that whoever said this does not have, in their order. A range counts as had when its
    /// lines among these entries are the very ones it was said of; where any differs, all of it is lacking, so that
    /// too much is sent rather than too little.
    ///
    /// Ranges that do not follow one another, which no version writes, count as not said.
    pub fn lacks(&self, entries: &[Arc<Entry>]) -> Vec<Arc<Entry>> {
        let all = lines_of(entries);
        let mut had: BTreeMap<Id, Vec<(u64, u64)>> = BTreeMap::new();
        for (device, ranges) in &self.0 {
            let Some(lines) = all.get(device) else { continue };
            let same = in_order(ranges).filter(|range| range.is_of(lines)).map(|range| (range.from, range.to));
            had.insert(*device, same.collect());
        }
        let has = |entry: &Entry| {
            let of_device = had.get(&entry.envelope.device).map_or(&[][..], Vec::as_slice);
            let next = of_device.partition_point(|(_, to)| *to < entry.envelope.line);
            of_device.get(next).is_some_and(|(from, _)| *from <= entry.envelope.line)
        };
        entries.iter().filter(|entry| !has(entry)).cloned().collect()
    }

    /// Whether all that it names is among these lines, under the very ids.
    pub(crate) fn is_within(&self, all: &BTreeMap<Id, Lines>) -> bool {
        let none = Lines::new();
        self.0.iter().all(|(device, ranges)| {
            let lines = all.get(device).unwrap_or(&none);
            in_order(ranges).count() == ranges.len() && ranges.iter().all(|range| range.is_of(lines))
        })
    }

    /// How many ranges it has.
    pub fn n_ranges(&self) -> usize {
        self.0.values().map(Vec::len).sum()
    }
}

impl Range {
    /// Whether the lines among these that it spans are the very ones it was said of.
    fn is_of(&self, lines: &Lines) -> bool {
        digest(lines, self.from, self.to) == self.digest
    }
}

/// The ranges that begin after the one before has ended, so that no line is hashed twice whatever a file says.
fn in_order(ranges: &[Range]) -> impl Iterator<Item = &Range> {
    let mut last = 0;
    ranges.iter().filter(move |range| {
        let follows = range.from > last && range.to >= range.from;
        if follows {
            last = range.to;
        }
        follows
    })
}

/// The ids of each line of each device among these entries.
pub(crate) fn lines_of(entries: &[Arc<Entry>]) -> BTreeMap<Id, Lines> {
    let mut all: BTreeMap<Id, Lines> = BTreeMap::new();
    for entry in entries {
        let lines = all.entry(entry.envelope.device).or_default();
        lines.entry(entry.envelope.line).or_default().push(entry.id);
    }
    all
}

/// Unbroken runs of line numbers, first and last.
fn runs(lines: &Lines) -> Vec<(u64, u64)> {
    let mut runs: Vec<(u64, u64)> = Vec::new();
    for line in lines.keys() {
        match runs.last_mut() {
            Some((_, to)) if to.checked_add(1) == Some(*line) => *to = *line,
            _ => runs.push((*line, *line)),
        }
    }
    runs
}

fn digest(lines: &Lines, from: u64, to: u64) -> [u8; 32] {
    let mut ids: Vec<EntryId> = lines.range(from..=to).flat_map(|(_, ids)| ids).copied().collect();
    ids.sort();
    let mut hash = Sha256::new();
    for id in ids {
        hash.update(id.0);
    }
    hash.finalize().into()
}

/// Bytes as lower-case hexadecimal digits.
pub fn to_hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

impl From<(u64, u64, AttachmentHash)> for Range {
    fn from((from, to, AttachmentHash(digest)): (u64, u64, AttachmentHash)) -> Self {
        Self { from, to, digest }
    }
}

impl From<Range> for (u64, u64, AttachmentHash) {
    fn from(Range { from, to, digest }: Range) -> Self {
        (from, to, AttachmentHash(digest))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{json, ledger::testing::Writer};

    const NOON_MS: u64 = 1_804_954_811_000;

    fn four() -> (Writer, Vec<Arc<Entry>>) {
        let mut writer = Writer::new(1);
        let entries = ["a", "b", "c", "d"].map(|text| writer.note(text, NOON_MS));
        (writer, entries.to_vec())
    }

    #[test]
    fn what_another_lacks_is_all_that_it_did_not_name_unchanged() {
        let (_, entries) = four();
        let texts = |entries: &[Arc<Entry>]| entries.iter().map(|entry| entry.envelope.line).collect::<Vec<_>>();
        let some = |at: &[usize]| at.iter().map(|at| entries[*at].clone()).collect::<Vec<_>>();
        assert_eq!(texts(&Have::of(&some(&[0, 1])).lacks(&entries)), [3, 4]);
        assert_eq!(texts(&Have::of(&some(&[0, 3])).lacks(&entries)), [2, 3]);
        assert_eq!(texts(&Have::of(&entries).lacks(&entries)), [0_u64; 0]);
        assert_eq!(texts(&Have::default().lacks(&entries)), [1, 2, 3, 4]);
        // The other has a line that is not here: what else is in its range cannot be told, so it is sent again.
        assert_eq!(texts(&Have::of(&entries).lacks(&some(&[0, 1, 3]))), [1, 2, 4]);
        // Ranges over the same lines again and again cost no more than one.
        let mut doubled = Have::of(&entries);
        let ranges = doubled.0.values_mut().next().unwrap();
        *ranges = vec![ranges[0].clone(); 100_000];
        assert_eq!(texts(&doubled.lacks(&entries)), [0_u64; 0]);
        assert!(!doubled.is_within(&lines_of(&entries)));
        assert!(Have::of(&some(&[0, 2])).is_within(&lines_of(&entries)));
        assert!(!Have::of(&entries).is_within(&lines_of(&some(&[0, 1, 2]))));
    }

    #[test]
    fn it_reads_back_from_json() {
        let (writer, entries) = four();
        let have = Have::of(&[entries[0].clone(), entries[1].clone(), entries[3].clone()]);
        let json = json::to_text(&have);
        assert!(json.starts_with(&format!("{{\"{}\":[[1,2,\"", writer.device())), "{json}");
        assert_eq!(json::read::<Have>(&json).unwrap(), have);
        assert!(json::read::<Have>(r#"{"d_1":[[1,2,"12"]]}"#).is_err());
    }
}
