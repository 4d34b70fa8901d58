//! What a ledger holds, short enough to stand in every file: per device, ranges of lines with a digest.
//!
//! The receiver's `have` tells the sender which entries need not be sent. It is only ever a saving: an entry sent
//! twice is harmless, and a digest that differs sends the whole range.

use std::{collections::BTreeMap, fmt::Write as _, sync::Arc};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{
    Ledger,
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

type Lines = BTreeMap<u64, Vec<EntryId>>;

impl Have {
    /// What this ledger holds.
    pub fn of(ledger: &Ledger) -> Self {
        Self::of_entries(ledger.arrived())
    }

    /// The same of entries that stand in no ledger, each named once.
    pub(crate) fn of_entries(entries: &[Arc<Entry>]) -> Self {
        let mut all: BTreeMap<Id, Lines> = BTreeMap::new();
        for entry in entries {
            let lines = all.entry(entry.envelope.device).or_default();
            lines.entry(entry.envelope.line).or_default().push(entry.id);
        }
        let ranges = |lines: &Lines| {
            runs(lines).into_iter().map(|(from, to)| Range { from, to, digest: digest(lines, from, to) }).collect()
        };
        let all = all.iter();
        Self(all.map(|(device, lines)| (*device, ranges(lines))).collect())
    }

    /// The lines of `ledger` that a receiver with this `have` lacks: per device, ranges from first to last.
    pub fn lacks(&self, ledger: &Ledger) -> BTreeMap<Id, Vec<(u64, u64)>> {
        let mut lacking = BTreeMap::new();
        for (device, lines) in ledger.lines() {
            let mut left = lines.clone();
            for range in self.0.get(device).map_or(&[][..], Vec::as_slice) {
                if range.from <= range.to && digest(lines, range.from, range.to) == range.digest {
                    left.retain(|line, _| !(range.from..=range.to).contains(line));
                }
            }
            if !left.is_empty() {
                lacking.insert(*device, runs(&left));
            }
        }
        lacking
    }

    /// The entries of `ledger` that a receiver with this `have` lacks, by device and line.
    pub fn entries_lacking(&self, ledger: &Ledger) -> Vec<Arc<Entry>> {
        let mut entries = Vec::new();
        for (device, ranges) in self.lacks(ledger) {
            let Some(lines) = ledger.lines().get(&device) else {
                continue;
            };
            for (from, to) in ranges {
                let ids = lines.range(from..=to).flat_map(|(_, ids)| ids);
                entries.extend(ids.filter_map(|id| ledger.get(*id).cloned()));
            }
        }
        entries
    }
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

/// Reads 64 lower-case hexadecimal digits.
pub fn from_hex(text: &str) -> Option<[u8; 32]> {
    super::id::AttachmentHash::parse(text).ok().map(|hash| hash.0)
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
    use crate::{
        json,
        ledger::testing::{Writer, ledger_of},
    };

    const NOON_MS: u64 = 1_804_954_811_000;

    fn four() -> (Writer, Vec<Arc<Entry>>) {
        let mut writer = Writer::new(1);
        let entries = ["a", "b", "c", "d"].map(|text| writer.note(text, NOON_MS));
        (writer, entries.to_vec())
    }

    #[test]
    fn a_receiver_lacks_what_came_later_and_what_it_never_got() {
        let (writer, entries) = four();
        let sender = ledger_of(&entries);
        let have = Have::of(&ledger_of([&entries[0], &entries[2]]));
        assert_eq!(have.lacks(&sender)[&writer.device()], [(2, 2), (4, 4)]);
        let sent: Vec<_> = have.entries_lacking(&sender);
        assert_eq!(sent, [entries[1].clone(), entries[3].clone()]);
        assert!(Have::of(&sender).lacks(&sender).is_empty());
        assert_eq!(Have::default().entries_lacking(&sender), entries);
    }

    #[test]
    fn a_range_with_another_digest_is_sent_whole() {
        let (_, entries) = four();
        // A second writer with the same device and line numbers: a cloned device.
        let clone = Writer::new(1).note("from the clone", NOON_MS + 5);
        let receiver = ledger_of([&clone, &entries[1]]);
        let sender = ledger_of(&entries);
        assert_eq!(Have::of(&receiver).entries_lacking(&sender), entries);
    }

    #[test]
    fn it_reads_back_from_json() {
        let (writer, entries) = four();
        let have = Have::of(&ledger_of([&entries[0], &entries[1], &entries[3]]));
        let json = json::to_text(&have);
        assert!(json.starts_with(&format!("{{\"{}\":[[1,2,\"", writer.device())), "{json}");
        assert_eq!(json::read::<Have>(&json).unwrap(), have);
        assert!(json::read::<Have>(r#"{"d_1":[[1,2,"12"]]}"#).is_err());
    }
}
