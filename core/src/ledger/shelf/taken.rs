//! Which files were taken in, and setting aside what the last one brought.
//!
//! A file's entries arrive one after the other, so a first arrival and a number name them all. The list is of this
//! device alone and may be lost: then files taken in before can no longer be named, and nothing else is affected.

use serde::{Deserialize, Serialize};

use super::{
    BlockListed, BlocksRow, Bytes, Op, SHELF_FORMAT, Store, arrival_key, read_meta, rows,
    rows::{Frame, key_arrival},
};
use crate::{
    error::{Error, Result},
    json::{self, objects},
    refusal::StoredRefusal,
};

/// Key of the row in `meta` that lists the files taken in: a [`FilesRow`].
pub const FILES_KEY: &str = "files";

/// What keys in `meta` of rows that were set aside begin with.
const ASIDE: &str = "aside ";

/// Files that are remembered.
const FILES_MAX: usize = 200;

/// Characters of a file's name that are remembered.
const NAME_CHARS: usize = 200;

/// A file that was taken in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileTaken {
    /// Its name on the device it was chosen from.
    pub name: String,
    /// When it was taken in, in ms since 1970.
    pub taken_ms: u64,
    /// Arrival of its first entry.
    pub first: u64,
    /// How many entries were new.
    pub n: u64,
    /// When its entries were set aside, in ms since 1970; 0 while they are in the ledger.
    #[serde(default)]
    pub aside_ms: u64,
}

impl FileTaken {
    /// Arrival of its last entry.
    pub const fn last(&self) -> u64 {
        self.first.saturating_add(self.n).saturating_sub(1)
    }

    /// Whether its entries were set aside.
    pub const fn is_aside(&self) -> bool {
        self.aside_ms > 0
    }

    /// Whether this key of `meta` is of a row in which its entries stand, set aside.
    pub fn is_aside_row(&self, key: &str) -> bool {
        let first = key.strip_prefix(ASIDE).and_then(key_arrival);
        self.is_aside() && first.is_some_and(|first| (self.first..=self.last()).contains(&first))
    }
}

/// The files taken in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FilesRow {
    /// [`SHELF_FORMAT`] of the version that wrote it.
    pub format: u32,
    /// In order of arrival.
    #[serde(deserialize_with = "objects")]
    pub files: Vec<FileTaken>,
}

impl Default for FilesRow {
    fn default() -> Self {
        Self { format: SHELF_FORMAT, files: Vec::new() }
    }
}

impl FilesRow {
    /// Reads the row; without one no file was taken in.
    ///
    /// # Errors
    /// When it is garbled, or was written by a newer version.
    pub fn read(row: Option<&[u8]>) -> Result<Self> {
        row.map_or(Ok(Self::default()), |row| read_meta(row, |row: &Self| row.format))
    }

    /// The operation that writes it.
    pub fn put(&self) -> Op {
        Op::put(Store::Meta, FILES_KEY, json::to_bytes(self))
    }

    /// The list with one more file.
    pub(super) fn with(mut self, name: &str, taken_ms: u64, first: u64, n: u64) -> Self {
        // What is set aside has to be found again, however long ago that was.
        if self.files.len() >= FILES_MAX
            && let Some(oldest) = self.files.iter().position(|file| !file.is_aside())
        {
            self.files.remove(oldest);
        }
        self.files.push(FileTaken { name: name.chars().take(NAME_CHARS).collect(), taken_ms, first, n, aside_ms: 0 });
        self
    }
}

/// Sets aside what the last file brought, byte for byte: its entries leave blocks and tail for rows of their own in
/// `meta`, from which they can be written to a file. No entry is read for it, so that a ledger that does not open can
/// be freed of them. Gives nothing when no file is left to set aside.
///
/// All rows of `blocks` and `tail` that may hold its entries are needed, best all rows there are.
///
/// # Errors
/// When a row of `meta` cannot be read, or one that holds other entries beside the file's cannot be taken apart.
pub fn set_aside(
    files_row: Option<&[u8]>,
    list_row: Option<&[u8]>,
    blocks: &[(String, Bytes)],
    tail: &[(String, Bytes)],
    now_ms: u64,
) -> Result<Option<(Vec<Op>, FileTaken)>> {
    let mut files = FilesRow::read(files_row)?;
    let mut list = list_row.map_or(Ok(BlocksRow::default()), BlocksRow::read)?;
    let Some(file) = files.files.iter_mut().rev().find(|file| !file.is_aside()) else {
        return Ok(None);
    };
    file.aside_ms = now_ms.max(1);
    let file = file.clone();
    let mut ops = Vec::new();
    let aside = |first: u64, row: Bytes| Op::put(Store::Meta, format!("{ASIDE}{}", arrival_key(first)), row);
    for (key, row) in tail {
        let Some(arrival) = key_arrival(key).filter(|at| (file.first..=file.last()).contains(at)) else {
            continue;
        };
        // A row that is cut off is no entry, but it may still be of use to somebody.
        let framed = rows::tail_frame(row).map(|frame| rows::framed_row(&[frame]).into());
        ops.push(aside(arrival, framed.unwrap_or_else(|_| row.clone())));
        ops.push(Op::delete(Store::Tail, key));
    }
    for (key, row) in blocks {
        let Some(first) = key_arrival(key) else {
            continue;
        };
        let listed = list.blocks.iter().find(|block| block.first == first);
        let frames = rows::frames(row);
        let n = match (&frames, listed) {
            (Ok(frames), _) => frames.len() as u64,
            (Err(_), Some(listed)) => listed.n,
            (Err(_), None) => 1,
        };
        let last = first.saturating_add(n).saturating_sub(1);
        if last < file.first || first > file.last() {
            continue;
        }
        list.blocks.retain(|block| block.first != first);
        ops.push(Op::delete(Store::Blocks, key));
        if first >= file.first && last <= file.last() {
            ops.push(aside(first, row.clone()));
            continue;
        }
        let frames = frames.map_err(|why| Error::new(StoredRefusal::NotApart(Box::new(why))))?;
        let at = |arrival: u64| (arrival.clamp(first, last + 1) - first) as usize;
        let (from, to) = (at(file.first), at(file.last().saturating_add(1)));
        let mut keep = |first: u64, frames: &[Frame<'_>]| {
            if !frames.is_empty() {
                let row: Bytes = rows::framed_row(frames).into();
                list.blocks.push(BlockListed { first, n: frames.len() as u64, digest: rows::framed_digest(frames) });
                ops.push(Op::put(Store::Blocks, arrival_key(first), row));
            }
        };
        keep(first, &frames[..from]);
        keep(first + to as u64, &frames[to..]);
        ops.push(aside(first + from as u64, rows::framed_row(&frames[from..to]).into()));
    }
    list.blocks.sort_by_key(|block| block.first);
    ops.push(list.put());
    ops.push(files.put());
    Ok(Some((ops, file)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{
        entry::Entry,
        id::Id,
        shelf::{Form, Intake, append, compact, import, open, read_block},
        testing::{Disk, NOON_MS, Writer, fresh, note},
    };
    use std::sync::Arc;

    fn save(disk: &mut Disk, writer: &mut Writer, n: usize) {
        let drafts = (0..n).map(|at| note(&at.to_string())).collect();
        let form = Form::new(writer.form(), writer.who(), drafts);
        let appended = append(&disk.line(), &form, NOON_MS).unwrap();
        disk.run(&appended.ops);
    }

    fn take_in(disk: &mut Disk, name: &str, entries: &[Arc<Entry>], fresh: Id) {
        let rows = disk.rows();
        let arrived = super::super::LineRow::read(&disk.line()).unwrap().arrived;
        let intake = Intake::of(entries, NOON_MS, fresh).of_file(name);
        let files = disk.meta(FILES_KEY);
        let list = rows.list.as_deref();
        let imported = import(&disk.line(), list, files.as_deref(), arrived, &intake);
        disk.run(&imported.unwrap().unwrap().ops);
    }

    fn set_last_aside(disk: &mut Disk) -> Option<FileTaken> {
        let rows = disk.rows();
        let files = disk.meta(FILES_KEY);
        let (ops, file) =
            set_aside(files.as_deref(), rows.list.as_deref(), &rows.blocks, &rows.tail, NOON_MS).unwrap()?;
        disk.run(&ops);
        Some(file)
    }

    /// The entries that were set aside, in order of arrival.
    fn entries_aside(disk: &Disk, file: &FileTaken) -> Vec<Arc<Entry>> {
        let rows = disk.all_meta().into_iter();
        let rows = rows.filter(|(key, _)| file.is_aside_row(key));
        rows.flat_map(|(_, row)| read_block(&row).unwrap().0).collect()
    }

    #[test]
    fn what_the_last_file_brought_is_set_aside_byte_for_byte_and_nothing_else() {
        // Few entries stand in rows, many in blocks, and a compaction mixes a file's rows with others.
        for (n, compacted) in [(3, false), (70, false), (1200, false), (60, true)] {
            let mut writer = Writer::new(1);
            let mut other = Writer::new(2);
            let mut disk = Disk::default();
            disk.run(&open(&disk.rows(), fresh(&writer)).repairs);
            save(&mut disk, &mut writer, 470);
            let theirs: Vec<_> = (0..n).map(|at| other.note(&at.to_string(), NOON_MS)).collect();
            let device = writer.device();
            take_in(&mut disk, "theirs.json", &theirs, device);
            save(&mut disk, &mut writer, 600);
            if compacted {
                let rows = disk.rows();
                disk.run(&compact(rows.list.as_deref(), &rows.tail).unwrap().ops);
            }
            let before = open(&disk.rows(), fresh(&writer)).ledger;
            let file = set_last_aside(&mut disk).unwrap();
            assert_eq!((file.name.as_str(), file.first, file.n), ("theirs.json", 471, n));
            assert_eq!(entries_aside(&disk, &file), theirs);
            let after = open(&disk.rows(), fresh(&writer));
            assert!(after.problems.is_empty(), "{:?}", after.problems);
            assert!(after.repairs.is_empty(), "{:?}", after.repairs);
            let mut ids = before.ids();
            for entry in &theirs {
                assert!(ids.remove(&entry.id));
            }
            assert_eq!(after.ledger.ids(), ids);
            assert!(set_last_aside(&mut disk).is_none());
            // Taken in again, everything is there once more.
            take_in(&mut disk, "again.json", &theirs, device);
            assert_eq!(open(&disk.rows(), fresh(&writer)).ledger.ids(), before.ids());
        }
    }

    #[test]
    fn rows_that_cannot_be_read_are_set_aside_too() {
        let (writer, mut other) = (Writer::new(1), Writer::new(2));
        let mut disk = Disk::default();
        disk.run(&open(&disk.rows(), fresh(&writer)).repairs);
        let theirs: Vec<_> = (0..100).map(|_| other.note("x", NOON_MS)).collect();
        take_in(&mut disk, "theirs.json", &theirs, writer.device());
        let (key, row) = disk.rows().blocks[0].clone();
        disk.run(&[Op::put(Store::Blocks, key, &row[..40])]);
        let file = set_last_aside(&mut disk).unwrap();
        let kept = disk.all_meta().into_iter();
        let kept: Vec<_> = kept.filter(|(key, _)| file.is_aside_row(key)).collect();
        assert_eq!(kept.len(), 1);
        assert_eq!(kept[0].1[..], row[..40]);
        assert!(open(&disk.rows(), fresh(&writer)).problems.is_empty());
    }

    #[test]
    fn a_list_of_files_from_a_newer_version_is_not_written_over() {
        let newer = br#"{"files":[],"format":2}"#;
        let why = FilesRow::read(Some(newer)).unwrap_err();
        assert_eq!(why, Error::new(StoredRefusal::NewerVersion));
        assert_eq!(FilesRow::read(None).unwrap(), FilesRow::default());
    }
}
