//! Rows of `tail` and `blocks` as bytes.
//!
//! ```text
//! tail    1 (format) ‖ 32 bytes id ‖ the entry's bytes
//! blocks  1 (format) ‖ number of entries, 4 bytes ‖ for each: 32 bytes id ‖ length, 4 bytes ‖ the entry's bytes
//! ```
//! Numbers stand least byte first. Ids stand beside the bytes, so nothing is hashed again when a ledger is opened.

use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::{
    error::{Error, Result},
    ledger::{entry::Entry, have::to_hex, id::EntryId},
    refusal::StoredRefusal,
};

use super::newer_format;

/// First byte of a row.
const ROW_FORMAT: u8 = 1;

const ID_LEN: usize = 32;

/// The key of the row that starts with this arrival. Keys order as arrivals do.
pub fn arrival_key(arrival: u64) -> String {
    format!("{arrival:016}")
}

/// The arrival that a key names.
pub(super) fn key_arrival(key: &str) -> Option<u64> {
    (key.len() >= 16).then(|| key.parse().ok()).flatten()
}

/// An entry as a row of `tail`.
pub fn tail_row(entry: &Entry) -> Vec<u8> {
    let mut row = Vec::with_capacity(1 + ID_LEN + entry.bytes().len());
    row.push(ROW_FORMAT);
    row.extend_from_slice(&entry.id.0);
    row.extend_from_slice(entry.bytes().as_bytes());
    row
}

/// Entries as a row of `blocks`.
pub fn block_row(entries: &[Arc<Entry>]) -> Vec<u8> {
    let length: usize = entries.iter().map(|entry| ID_LEN + 4 + entry.bytes().len()).sum();
    let mut row = Vec::with_capacity(5 + length);
    row.push(ROW_FORMAT);
    row.extend_from_slice(&(entries.len() as u32).to_le_bytes());
    for entry in entries {
        row.extend_from_slice(&entry.id.0);
        row.extend_from_slice(&(entry.bytes().len() as u32).to_le_bytes());
        row.extend_from_slice(entry.bytes().as_bytes());
    }
    row
}

/// The digest that the list of blocks keeps, over the ids in their order.
pub(super) fn block_digest<'a>(entries: impl IntoIterator<Item = &'a Arc<Entry>>) -> String {
    digest_of_ids(entries.into_iter().map(|entry| entry.id))
}

fn digest_of_ids(ids: impl Iterator<Item = EntryId>) -> String {
    let mut hash = Sha256::new();
    hash.update(b"bloomdue block 1\0");
    for id in ids {
        hash.update(id.0);
    }
    to_hex(&hash.finalize())
}

/// An entry as it stands in a row, not read: its raw id, and its bytes.
pub(super) type Frame<'a> = (EntryId, &'a [u8]);

/// Takes a row of `tail` apart without reading the entry.
pub(super) fn tail_frame(row: &[u8]) -> Result<Frame<'_>> {
    let mut rest = check_format(row)?;
    Ok((take_id(&mut rest)?, rest))
}

/// Takes a row of `blocks` apart without reading its entries.
pub(super) fn frames(row: &[u8]) -> Result<Vec<Frame<'_>>> {
    let mut rest = check_format(row)?;
    let n = take_number(&mut rest)?;
    let frames = (0..n).map(|_| take_framed(&mut rest)).collect();
    if rest.is_empty() { frames } else { Err(torn()) }
}

/// Entries that were not read as a row of `blocks`.
pub(super) fn framed_row(frames: &[Frame<'_>]) -> Vec<u8> {
    let mut row = vec![ROW_FORMAT];
    row.extend_from_slice(&(frames.len() as u32).to_le_bytes());
    for (id, bytes) in frames {
        row.extend_from_slice(&id.0);
        row.extend_from_slice(&(bytes.len() as u32).to_le_bytes());
        row.extend_from_slice(bytes);
    }
    row
}

/// The digest of entries that were not read, as [`block_digest`].
pub(super) fn framed_digest(frames: &[Frame<'_>]) -> String {
    digest_of_ids(frames.iter().map(|(id, _)| *id))
}

/// Reads a row of `tail`.
///
/// # Errors
/// When the row is cut off, of a newer version, or its bytes are no entry.
pub fn read_tail(row: &[u8]) -> Result<Arc<Entry>> {
    let mut rest = check_format(row)?;
    let id = take_id(&mut rest)?;
    read_entry(id, rest)
}

/// Reads a row of `blocks`: every entry that can be read, and why others cannot.
///
/// # Errors
/// When not even the number of entries can be read.
pub fn read_block(row: &[u8]) -> Result<(Vec<Arc<Entry>>, Vec<Error>)> {
    let mut rest = check_format(row)?;
    let n = take_number(&mut rest)?;
    // A garbled number must not ask for memory that the row's length cannot need.
    let mut entries = Vec::with_capacity((n as usize).min(rest.len() / ID_LEN));
    let mut problems = Vec::new();
    for at in 0..n {
        match take_framed(&mut rest) {
            Ok((id, bytes)) => match read_entry(id, bytes) {
                Ok(entry) => entries.push(entry),
                Err(why) => problems.push(why),
            },
            Err(_) => {
                problems.push(Error::new(StoredRefusal::RowLacks(n - at, n)));
                return Ok((entries, problems));
            }
        }
    }
    if !rest.is_empty() {
        problems.push(Error::new(StoredRefusal::RowTooLong));
    }
    Ok((entries, problems))
}

fn check_format(row: &[u8]) -> Result<&[u8]> {
    match row {
        [ROW_FORMAT, rest @ ..] => Ok(rest),
        [0, ..] | [] => Err(torn()),
        _ => Err(newer_format()),
    }
}

fn torn() -> Error {
    Error::new(StoredRefusal::RowCutOff)
}

fn take<'a>(rest: &mut &'a [u8], n: usize) -> Result<&'a [u8]> {
    let (taken, left) = rest.split_at_checked(n).ok_or_else(torn)?;
    *rest = left;
    Ok(taken)
}

fn take_id(rest: &mut &[u8]) -> Result<EntryId> {
    let raw = take(rest, ID_LEN)?;
    raw.try_into().map(EntryId).map_err(|_| torn())
}

fn take_number(rest: &mut &[u8]) -> Result<u32> {
    let raw = take(rest, 4)?;
    raw.try_into().map(u32::from_le_bytes).map_err(|_| torn())
}

fn take_framed<'a>(rest: &mut &'a [u8]) -> Result<(EntryId, &'a [u8])> {
    let id = take_id(rest)?;
    let length = take_number(rest)?;
    Ok((id, take(rest, length as usize)?))
}

fn read_entry(id: EntryId, bytes: &[u8]) -> Result<Arc<Entry>> {
    let text = str::from_utf8(bytes).map_err(|_| Error::new(StoredRefusal::RecordNotText(id)))?;
    let entry = Entry::read(id, text).map_err(|why| Error::new(StoredRefusal::RecordUnread(id, Box::new(why))))?;
    Ok(Arc::new(entry))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::testing::Writer;

    fn some() -> Vec<Arc<Entry>> {
        let mut writer = Writer::new(3);
        ["one", "two", "three"].map(|text| writer.note(text, 1_804_954_811_000)).to_vec()
    }

    #[test]
    fn rows_read_back() {
        let entries = some();
        assert_eq!(read_tail(&tail_row(&entries[0])).unwrap(), entries[0]);
        assert_eq!(read_block(&block_row(&entries)).unwrap(), (entries, Vec::new()));
    }

    #[test]
    fn a_block_cut_off_anywhere_gives_what_stands_before_the_cut() {
        let entries = some();
        let row = block_row(&entries);
        for cut in 0..row.len() {
            let Ok((read, problems)) = read_block(&row[..cut]) else {
                assert!(cut < 5, "cut at {cut}");
                continue;
            };
            assert_eq!(read, entries[..read.len()]);
            assert!(read.len() < entries.len() && problems.len() == 1, "cut at {cut}");
        }
        for cut in 0..tail_row(&entries[0]).len() {
            assert!(read_tail(&tail_row(&entries[0])[..cut]).is_err(), "cut at {cut}");
        }
    }

    #[test]
    fn no_byte_turned_over_makes_the_reader_panic() {
        let row = block_row(&some());
        for at in 0..row.len() {
            let mut garbled = row.clone();
            garbled[at] ^= 0xff;
            let _ = read_block(&garbled);
            let _ = read_tail(&garbled);
        }
    }

    #[test]
    fn keys_order_as_arrivals() {
        assert!(arrival_key(9) < arrival_key(10));
        assert_eq!(key_arrival(&arrival_key(123)), Some(123));
        assert_eq!(key_arrival("12"), None);
    }
}
