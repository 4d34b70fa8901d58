//! What a ledger holds, short enough to stand in every file: per device, ranges of lines with a digest.
//!
//! A preview sees from it which devices wrote what a file holds, and which of their lines are here under other ids.

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

type Lines = BTreeMap<u64, Vec<EntryId>>;

impl Have {
    /// Of these entries, each named once.
    pub fn of(entries: &[Arc<Entry>]) -> Self {
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
    fn it_reads_back_from_json() {
        let (writer, entries) = four();
        let have = Have::of(&[entries[0].clone(), entries[1].clone(), entries[3].clone()]);
        let json = json::to_text(&have);
        assert!(json.starts_with(&format!("{{\"{}\":[[1,2,\"", writer.device())), "{json}");
        assert_eq!(json::read::<Have>(&json).unwrap(), have);
        assert!(json::read::<Have>(r#"{"d_1":[[1,2,"12"]]}"#).is_err());
    }
}
