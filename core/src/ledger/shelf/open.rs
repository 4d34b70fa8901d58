//! From rows to a ledger. Nothing here is fatal: what cannot be read is listed, and all else is there.

use std::{fmt, sync::Arc};

use super::{
    BlockListed, BlocksRow, Bytes, LineRow, Op, Store, read_block, read_tail,
    rows::{arrival_key, block_digest, key_arrival},
};
use crate::{
    calendar::Date,
    error::Error,
    ledger::{
        Ledger,
        clock::Clock,
        entry::Entry,
        id::{EntryId, Id},
    },
    refusal::StoredRefusal,
};

/// A row, or part of one, that cannot be used. It is never removed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowProblem {
    /// Where the row is.
    pub store: Store,
    /// Its key.
    pub key: String,
    /// What is wrong.
    pub why: Error,
}

impl RowProblem {
    pub(super) fn garbled(store: Store, key: &str, why: Error) -> Self {
        Self { store, key: key.to_owned(), why }
    }
}

impl fmt::Display for RowProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}: {}", self.store.name(), self.key, self.why)
    }
}

/// What a ledger starts with when its database is new or its own row is lost.
#[derive(Clone, Copy, Debug)]
pub struct Fresh {
    /// The ledger this database is for.
    pub ledger: Id,
    /// A name for this installation, drawn now.
    pub device: Id,
    /// The wall clock, in ms since 1970.
    pub now_ms: u64,
    /// The civil day on the device.
    pub today: Date,
}

/// All rows that opening needs.
#[derive(Clone, Debug, Default)]
pub struct Rows {
    /// The `line` row of `meta`.
    pub line: Option<Bytes>,
    /// The `blocks` row of `meta`.
    pub list: Option<Bytes>,
    /// Every row of `blocks` with its key.
    pub blocks: Vec<(String, Bytes)>,
    /// Every row of `tail` with its key.
    pub tail: Vec<(String, Bytes)>,
}

/// An opened shelf.
#[derive(Clone, Debug)]
pub struct Opened {
    /// All entries that can be read.
    pub ledger: Ledger,
    /// The `line` row.
    pub line: LineRow,
    /// The list of blocks as they are.
    pub blocks: BlocksRow,
    /// What cannot be read.
    pub problems: Vec<RowProblem>,
    /// What to write so that the two rows of `meta` say what is there: for a new database, or one that lost a row.
    pub repairs: Vec<Op>,
    /// Whether another installation writes under this one's name, which therefore took a new one.
    pub renewed: bool,
}

/// Opening in slices: rows are added one by one, between frames if need be.
#[derive(Clone, Debug)]
pub struct Opening {
    ledger: Ledger,
    fresh: Fresh,
    line: Option<LineRow>,
    list: Option<BlocksRow>,
    read: Vec<BlockListed>,
    last_arrival: u64,
    problems: Vec<RowProblem>,
}

impl Opening {
    /// Starts with the two rows of `meta`.
    pub fn new(line: Option<&[u8]>, list: Option<&[u8]>, fresh: Fresh) -> Self {
        let mut problems = Vec::new();
        let mut note = |key: &str, why: Error| {
            problems.push(RowProblem::garbled(Store::Meta, key, why));
        };
        let line = line.and_then(|row| {
            let read = LineRow::read(row).and_then(|line| {
                if line.ledger == fresh.ledger { Ok(line) } else { Err(Error::new(StoredRefusal::RowOfAnother)) }
            });
            read.map_err(|why| note(super::LINE_KEY, why)).ok()
        });
        let list = list.and_then(|row| BlocksRow::read(row).map_err(|why| note(super::BLOCKS_KEY, why)).ok());
        let today = line.as_ref().map(|line| line.today(fresh.today));
        Self {
            ledger: Ledger::on(fresh.ledger, today.unwrap_or(fresh.today)),
            fresh,
            line,
            list,
            read: Vec::new(),
            last_arrival: 0,
            problems,
        }
    }

    /// Adds a row of `blocks`.
    pub fn block(&mut self, key: &str, row: &[u8]) {
        let (entries, problems) = match read_block(row) {
            Ok(read) => read,
            Err(why) => (Vec::new(), vec![why]),
        };
        let first = self.arrival(Store::Blocks, key);
        let listed = self.list.as_ref().and_then(|list| list.blocks.iter().find(|block| block.first == first));
        let whole = problems.is_empty();
        let block = match listed {
            Some(listed) if whole && listed.n == entries.len() as u64 => listed.clone(),
            // The row is not what the list says: its digest has to be computed, so that no cached state fits.
            _ => BlockListed { first, n: entries.len() as u64, digest: block_digest(&entries) },
        };
        let gone = listed.map_or(0, |listed| listed.n.saturating_sub(entries.len() as u64));
        if whole && gone > 0 {
            self.note(Store::Blocks, key, missing(gone));
        }
        self.last_arrival = self.last_arrival.max(block.last()).max(listed_last(self.list.as_ref(), first));
        self.read.push(block);
        for why in problems {
            self.note(Store::Blocks, key, why);
        }
        self.insert_all(Store::Blocks, key, entries);
    }

    /// Adds a row of `tail`.
    pub fn tail(&mut self, key: &str, row: &[u8]) {
        let arrival = self.arrival(Store::Tail, key);
        self.last_arrival = self.last_arrival.max(arrival);
        match read_tail(row) {
            Ok(entry) => self.insert_all(Store::Tail, key, vec![entry]),
            Err(why) => self.note(Store::Tail, key, why),
        }
    }

    /// Ends with the ledger and what has to be put right.
    pub fn finish(mut self) -> Opened {
        let listed = self.list.take();
        for block in listed.iter().flat_map(|list| &list.blocks) {
            if !self.read.iter().any(|read| read.first == block.first) {
                self.note(Store::Blocks, &arrival_key(block.first), missing(block.n));
            }
        }
        self.read.sort_by_key(|block| block.first);
        let blocks = BlocksRow { blocks: std::mem::take(&mut self.read), ..BlocksRow::default() };
        let mut repairs = Vec::new();
        if listed.as_ref() != Some(&blocks) {
            repairs.push(blocks.put());
        }
        let line = self.line_row();
        if self.line.as_ref() != Some(&line) {
            repairs.push(line.put());
        }
        let before = self.line.as_ref().map(|line| line.device);
        Opened {
            renewed: before.is_some_and(|before| before != line.device),
            ledger: self.ledger,
            line,
            blocks,
            problems: self.problems,
            repairs,
        }
    }

    /// The `line` row as it has to be for what is there: no line number and no arrival is ever given twice.
    fn line_row(&self) -> LineRow {
        let mut line = self.line.clone().unwrap_or_else(|| {
            let mut line = LineRow::new(self.fresh.ledger, self.fresh.device);
            let mut clock = Clock::default();
            for entry in self.ledger.arrived() {
                clock.observe(entry.envelope.hlc, self.fresh.now_ms);
            }
            line.set_clock(clock);
            line
        });
        line.arrived = line.arrived.max(self.last_arrival);
        let own = self.ledger.lines().get(&line.device);
        let greatest = own.and_then(|lines| lines.keys().next_back().copied());
        // Each line of its own is an arrival, and both are written in one transaction.
        if greatest.unwrap_or(0) > line.line || line.line > line.arrived {
            line.renew(self.fresh.device);
        }
        line
    }

    fn arrival(&mut self, store: Store, key: &str) -> u64 {
        key_arrival(key).unwrap_or_else(|| {
            self.note(store, key, Error::new(StoredRefusal::NoArrival));
            0
        })
    }

    fn insert_all(&mut self, store: Store, key: &str, entries: Vec<Arc<Entry>>) {
        for entry in entries {
            if entry.envelope.ledger == self.fresh.ledger {
                self.ledger.insert(entry);
            } else {
                self.note(store, key, Error::new(StoredRefusal::OtherNursery(entry.id)));
            }
        }
    }

    fn note(&mut self, store: Store, key: &str, why: Error) {
        self.problems.push(RowProblem::garbled(store, key, why));
    }
}

fn listed_last(list: Option<&BlocksRow>, first: u64) -> u64 {
    let listed = list.and_then(|list| list.blocks.iter().find(|block| block.first == first));
    listed.map_or(0, BlockListed::last)
}

fn missing(n: u64) -> Error {
    Error::new(StoredRefusal::Lost(n))
}

/// Opens a shelf at once.
pub fn open(rows: &Rows, fresh: Fresh) -> Opened {
    let mut opening = Opening::new(rows.line.as_deref(), rows.list.as_deref(), fresh);
    for (key, row) in &rows.blocks {
        opening.block(key, row);
    }
    for (key, row) in &rows.tail {
        opening.tail(key, row);
    }
    opening.finish()
}

/// The entries in these rows whose arrivals are `from` to `to`: what another tab wrote meanwhile.
///
/// Of a block that is not whole all that can be read is given back, since its arrivals cannot be counted; taking an
/// entry a second time changes nothing.
pub fn news(
    from: u64,
    to: u64,
    blocks: &[(String, Bytes)],
    tail: &[(String, Bytes)],
) -> (Vec<Arc<Entry>>, Vec<RowProblem>) {
    let mut problems = Vec::new();
    let mut entries = Vec::new();
    for (key, row) in blocks {
        let (read, why) = read_block(row).unwrap_or_else(|why| (Vec::new(), vec![why]));
        let first = key_arrival(key).filter(|_| why.is_empty());
        let wanted = (first.unwrap_or(from)..).zip(read);
        let wanted = wanted.filter(|(arrival, _)| first.is_none() || (from..=to).contains(arrival));
        entries.extend(wanted.map(|(_, entry)| entry));
        let why = why.into_iter();
        problems.extend(why.map(|why| RowProblem::garbled(Store::Blocks, key, why)));
    }
    for (key, row) in tail {
        if key_arrival(key).is_some_and(|arrival| !(from..=to).contains(&arrival)) {
            continue;
        }
        match read_tail(row) {
            Ok(entry) => entries.push(entry),
            Err(why) => problems.push(RowProblem::garbled(Store::Tail, key, why)),
        }
    }
    (entries, problems)
}

/// Hashes `n` entries again, from the one at `start` in order of arrival, around the end: for idle moments, since
/// opening hashes nothing. Gives the ids of those whose bytes are no longer what they were.
pub fn sample(ledger: &Ledger, start: usize, n: usize) -> Vec<EntryId> {
    let entries = ledger.arrived();
    let n = n.min(entries.len());
    let from = start.checked_rem(entries.len()).unwrap_or(0);
    let picked = entries.iter().cycle().skip(from).take(n);
    picked.filter(|entry| EntryId::of(entry.bytes().as_bytes()) != entry.id).map(|entry| entry.id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;
    use crate::ledger::{
        have::to_hex,
        shelf::{Form, Intake, append, block_row, compact, import, tail_row},
        testing::{Disk, NOON_MS, Writer, fresh, note},
    };

    /// A shelf with this many entries, all in `tail`.
    fn filled(n: usize) -> (Writer, Disk) {
        let writer = Writer::new(1);
        let mut disk = Disk::default();
        disk.run(&open(&disk.rows(), fresh(&writer)).repairs);
        let drafts = (0..n).map(|at| note(&at.to_string())).collect();
        let form = Form::new(writer.form(), writer.who(), drafts);
        let appended = append(&disk.line(), &form, NOON_MS).unwrap();
        disk.run(&appended.ops);
        (writer, disk)
    }

    #[test]
    fn a_new_shelf_is_set_up_once() {
        let (writer, disk) = filled(3);
        let again = open(&disk.rows(), fresh(&writer));
        assert!(again.repairs.is_empty() && again.problems.is_empty());
        assert_eq!((again.ledger.len(), again.line.line), (3, 3));
    }

    #[test]
    fn compaction_moves_full_blocks_and_changes_no_entry() {
        let (writer, mut disk) = filled(1200);
        let before = open(&disk.rows(), fresh(&writer));
        let compacted = compact(disk.rows().list.as_deref(), &disk.rows().tail).unwrap();
        disk.run(&compacted.ops);
        let after = open(&disk.rows(), fresh(&writer));
        assert!(after.problems.is_empty() && after.repairs.is_empty());
        assert_eq!(after.blocks, compacted.blocks);
        assert_eq!((disk.rows().blocks.len(), disk.rows().tail.len()), (2, 200));
        assert_eq!(after.ledger.digest(), before.ledger.digest());
        assert_eq!(after.blocks.keys_after(700), [arrival_key(501)]);
        assert!(after.blocks.keys_after(1000).is_empty());
        let nothing = compact(disk.rows().list.as_deref(), &disk.rows().tail).unwrap();
        assert!(nothing.ops.is_empty());
    }

    #[test]
    fn taking_in_goes_to_blocks_and_a_stale_preview_is_given_up() {
        let (writer, mut disk) = filled(10);
        let mut other = Writer::new(2);
        let theirs: Vec<_> = (0..700).map(|at| other.note(&at.to_string(), NOON_MS + 60_000)).collect();
        let intake = Intake::of(&theirs, NOON_MS, writer.device());
        let list = disk.rows().list;
        assert!(import(&disk.line(), list.as_deref(), None, 9, &intake).unwrap().is_none());
        let imported = import(&disk.line(), list.as_deref(), None, 10, &intake).unwrap().unwrap();
        disk.run(&imported.ops);
        let after = open(&disk.rows(), fresh(&writer));
        assert!(after.problems.is_empty() && after.repairs.is_empty(), "{:?}", after.problems);
        assert_eq!((after.ledger.len(), after.line.arrived), (710, 710));
        assert_eq!(after.line.clock().last().ms, NOON_MS + 60_000);
        let few = Intake::of(&[other.note("one more", NOON_MS)], NOON_MS, writer.device());
        let imported = import(&disk.line(), None, None, 710, &few).unwrap().unwrap();
        assert!(imported.ops.iter().all(|op| op.store() != Store::Blocks));
    }

    #[test]
    fn a_lost_line_row_makes_a_new_device_and_loses_nothing() {
        let (_, mut disk) = filled(600);
        disk.run(&compact(None, &disk.rows().tail).unwrap().ops);
        disk.run(&[Op::delete(Store::Meta, crate::ledger::shelf::LINE_KEY)]);
        let heir = Writer::new(9);
        let fresh = Fresh { device: heir.device(), ..fresh(&Writer::new(1)) };
        let opened = open(&disk.rows(), fresh);
        assert_eq!((opened.ledger.len(), opened.line.arrived), (600, 600));
        assert_eq!((opened.line.line, opened.line.device), (0, heir.device()));
        assert_eq!(opened.repairs, [opened.line.put()]);
    }

    #[test]
    fn torn_and_garbled_rows_are_listed_and_the_rest_is_there() {
        let (writer, mut disk) = filled(1010);
        disk.run(&compact(None, &disk.rows().tail).unwrap().ops);
        let rows = disk.rows();
        let (key, block) = &rows.blocks[0];
        let torn = Op::put(Store::Blocks, key, &block[..block.len() / 2]);
        let garbled = Op::put(Store::Tail, rows.tail[0].0.clone(), &b"\x01?"[..]);
        disk.run(&[torn, garbled]);
        let opened = open(&disk.rows(), fresh(&writer));
        let stores: Vec<_> = opened.problems.iter().map(|p| p.store).collect();
        assert_eq!(stores, [Store::Blocks, Store::Tail], "{:?}", opened.problems);
        assert!((750..770).contains(&opened.ledger.len()), "{}", opened.ledger.len());
        // No cached state may claim to be made from the torn block.
        assert_ne!(Some(opened.blocks.put()), rows.list.map(|row| Op::put(Store::Meta, "blocks", row)));
        assert_eq!(opened.line.arrived, 1010);
        disk.run(&opened.repairs);
        disk.run(&[Op::delete(Store::Blocks, key)]);
        let opened = open(&disk.rows(), fresh(&writer));
        assert!(
            opened.problems.iter().any(|p| matches!(p.why.refusal, Refusal::Stored(StoredRefusal::Lost(_)))),
            "{:?}",
            opened.problems
        );
    }

    #[test]
    fn a_sample_finds_what_was_garbled_quietly() {
        let mut writer = Writer::new(1);
        let good = writer.note("yellow leaves", NOON_MS);
        let row = String::from_utf8_lossy(&tail_row(&good)[33..]).replace("yellow", "yallow");
        let garbled = Arc::new(Entry::read(good.id, &row).unwrap());
        let ledger = crate::ledger::testing::ledger_of([&writer.note("fine", NOON_MS), &garbled]);
        for start in 0..5 {
            assert_eq!(sample(&ledger, start, 9), [good.id]);
        }
        assert!(sample(&ledger, 0, 1).is_empty());
        assert!(sample(&Ledger::new(writer.ledger()), 3, 9).is_empty());
    }

    #[test]
    fn a_stale_tab_reads_what_it_missed_even_from_blocks() {
        let (writer, mut disk) = filled(400);
        let form = Form::new(writer.form(), writer.who(), (0..300).map(|n| note(&n.to_string())).collect());
        let appended = append(&disk.line(), &form, NOON_MS).unwrap();
        disk.run(&appended.ops);
        disk.run(&compact(None, &disk.rows().tail).unwrap().ops);
        let rows = disk.rows();
        let (missed, problems) = news(401, 700, &rows.blocks, &rows.tail);
        assert_eq!((&missed, problems), (&appended.entries, Vec::new()));
        let (some, _) = news(499, 502, &rows.blocks, &rows.tail);
        assert_eq!(some, missed[98..102]);
        assert_eq!(to_hex(&block_row(&[])), "0100000000");
    }
}
