//! Whether a kept state may be used. It is only ever a saving and may be thrown away at any time.
//!
//! A state is made from exactly the entries that had arrived up to some number, in blocks and in the tail, and says so;
//! it is used only by the build that folded it, and only while blocks and tail still hold just these. What arrived
//! since then is for the caller to fold on top. A state stands in several rows of `cache`, so that no row is large:
//!
//! `2 (format) ‖ checksum, 8 bytes ‖ 32 bytes fold ‖ 32 bytes made of ‖ arrived, 8 ‖ which piece, 4 ‖ of how many, 4 ‖
//! the piece`. The checksum is over all that follows it.

use std::sync::Arc;

use sha2::{Digest, Sha256};

use super::{BlockListed, BlocksRow, Bytes, LineRow, Op, Store, read_tail, rows::key_arrival};
use crate::ledger::{
    Ledger,
    entry::Entry,
    id::{EntryId, Id},
};

const CACHE_FORMAT: u8 = 2;
const CHECKED_FROM: usize = 1 + 8;
const HEAD_LEN: usize = CHECKED_FROM + 32 + 32 + 8 + 4 + 4;

/// Bytes of a state in one row.
const PIECE_BYTES: usize = 512 * 1024;

/// Which entries a state was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MadeOf {
    arrived: u64,
    digest: [u8; 32],
}

impl MadeOf {
    /// What a ledger is made of, if it holds exactly what stands on the shelf: all that these rows, read at one moment,
    /// speak of, and nothing else. No tab has more than what is stored, so it is enough to count.
    pub fn of(ledger: &Ledger, line: &[u8], list: Option<&[u8]>, tail: &[(String, Bytes)]) -> Option<Self> {
        let line = LineRow::read(line).ok()?;
        let list = read_list(list)?;
        let n_blocks: u64 = list.blocks.iter().map(|block| block.n).sum();
        if n_blocks + tail.len() as u64 != ledger.len() as u64 {
            return None;
        }
        let tail: Vec<(u64, EntryId)> =
            tail.iter().map(|(key, row)| Some((key_arrival(key)?, tail_id(row)?))).collect::<Option<_>>()?;
        let is_here = |(arrival, id): &(u64, EntryId)| *arrival <= line.arrived && ledger.get(*id).is_some();
        tail.iter().all(is_here).then(|| Self { arrived: line.arrived, digest: digest(&list, &tail) })
    }

    /// The operations that keep a state that was folded from these entries, over any kept before. `there` are the keys
    /// in `cache`; `fold` is the hash of the build's fold.
    pub fn keep(&self, fold: &[u8; 32], state: &[u8], there: &[String]) -> Vec<Op> {
        let n = state.chunks(PIECE_BYTES).len() as u32;
        let rows = (0..n).zip(state.chunks(PIECE_BYTES)).map(|(at, piece)| {
            let mut row = Vec::with_capacity(HEAD_LEN + piece.len());
            row.push(CACHE_FORMAT);
            row.extend_from_slice(&[0; 8]);
            row.extend_from_slice(fold);
            row.extend_from_slice(&self.digest);
            row.extend_from_slice(&self.arrived.to_le_bytes());
            row.extend_from_slice(&at.to_le_bytes());
            row.extend_from_slice(&n.to_le_bytes());
            row.extend_from_slice(piece);
            let sum = checksum(&row[CHECKED_FROM..]);
            row[1..CHECKED_FROM].copy_from_slice(&sum.to_le_bytes());
            Op::put(Store::Cache, piece_key(at), row)
        });
        let mut ops: Vec<Op> = rows.collect();
        let kept: Vec<String> = (0..n).map(piece_key).collect();
        let old = there.iter().filter(|key| !kept.contains(key));
        ops.extend(old.map(|key| Op::delete(Store::Cache, key.as_str())));
        ops
    }
}

fn piece_key(at: u32) -> String {
    format!("state {at:04}")
}

fn read_list(list: Option<&[u8]>) -> Option<BlocksRow> {
    list.map_or(Some(BlocksRow::default()), |row| BlocksRow::read(row).ok())
}

/// The id in a row of `tail`.
fn tail_id(row: &[u8]) -> Option<EntryId> {
    row.get(1..33)?.try_into().ok().map(EntryId)
}

fn digest(list: &BlocksRow, tail: &[(u64, EntryId)]) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(b"bloomdue kept state 1\0");
    for block in &list.blocks {
        hash.update(block.first.to_le_bytes());
        hash.update(block.n.to_le_bytes());
        hash.update(block.digest.as_bytes());
    }
    hash.update(b"\0tail\0");
    for (arrival, id) in tail {
        hash.update(arrival.to_le_bytes());
        hash.update(id.0);
    }
    hash.finalize().into()
}

/// Fowler, Noll and Vo's hash FNV-1a with 64 bits, taken over words of eight bytes: fast, and enough to know a row
/// that was cut off or garbled by accident.
fn checksum(bytes: &[u8]) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64 ^ bytes.len() as u64;
    let mut mix = |word: u64| hash = (hash ^ word).wrapping_mul(0x0000_0100_0000_01b3);
    let (words, rest) = bytes.as_chunks::<8>();
    for word in words {
        mix(u64::from_le_bytes(*word));
    }
    for byte in rest {
        mix(u64::from(*byte));
    }
    hash
}

/// A kept state that may be used.
#[derive(Clone, Debug)]
pub struct Kept {
    /// The state's bytes.
    pub state: Vec<u8>,
    /// The entries that arrived since, in order.
    pub later: Vec<Arc<Entry>>,
    /// The `line` row.
    pub line: LineRow,
    /// The list of blocks.
    pub blocks: BlocksRow,
}

/// The kept state in these rows, read at one moment, if it is whole, was folded by this build, and everything it was
/// made from is still there and nothing else. Nothing too when any other row needs attention: then the shelf has to be
/// opened the long way, which tells what is wrong.
pub fn kept<Row: AsRef<[u8]>>(
    cache: &[(String, Row)],
    fold: &[u8; 32],
    ledger: Id,
    line: &[u8],
    list: Option<&[u8]>,
    tail: &[(String, Row)],
) -> Option<Kept> {
    let line = LineRow::read(line).ok().filter(|line| line.ledger == ledger)?;
    // Such lines are somebody else's; opening the long way takes a new name.
    if line.line > line.arrived {
        return None;
    }
    let blocks = read_list(list)?;
    let pieces: Vec<&[u8]> = cache.iter().map(|(_, row)| row.as_ref()).collect();
    let (made_of, state) = read_pieces(&pieces, fold)?;
    let arrivals = tail.iter().map(|(key, _)| key_arrival(key));
    let arrivals: Vec<u64> = arrivals.collect::<Option<_>>()?;
    let last = blocks.blocks.last().map_or(0, BlockListed::last);
    let last = last.max(arrivals.last().copied().unwrap_or(0));
    if last != line.arrived {
        return None;
    }
    let n_covered = arrivals.partition_point(|arrival| *arrival <= made_of.arrived);
    let covered = arrivals.iter().zip(tail).take(n_covered);
    let covered: Vec<(u64, EntryId)> =
        covered.map(|(arrival, (_, row))| Some((*arrival, tail_id(row.as_ref())?))).collect::<Option<_>>()?;
    if digest(&blocks, &covered) != made_of.digest {
        return None;
    }
    let later = tail[n_covered..].iter();
    let later = later.map(|(_, row)| read_tail(row.as_ref()).ok());
    let later: Vec<Arc<Entry>> = later.collect::<Option<_>>()?;
    let ours = |entry: &Arc<Entry>| entry.envelope.ledger == ledger;
    later.iter().all(ours).then_some(Kept { state, later, line, blocks })
}

/// The pieces put together, if all are there and whole and belong together.
fn read_pieces(cache: &[&[u8]], fold: &[u8; 32]) -> Option<(MadeOf, Vec<u8>)> {
    let mut found: Option<MadeOf> = None;
    let mut state = Vec::with_capacity(cache.iter().map(|row| row.len()).sum());
    for (at, row) in (0_u32..).zip(cache) {
        let (head, piece) = row.split_at_checked(HEAD_LEN)?;
        let mut rest = &head[CHECKED_FROM..];
        let mut next = |n: usize| {
            let (taken, left) = rest.split_at(n);
            rest = left;
            taken
        };
        let good = head[0] == CACHE_FORMAT
            && head[1..CHECKED_FROM] == checksum(&row[CHECKED_FROM..]).to_le_bytes()
            && next(32) == fold;
        let made_of =
            MadeOf { digest: next(32).try_into().ok()?, arrived: u64::from_le_bytes(next(8).try_into().ok()?) };
        let place = next(4) == at.to_le_bytes() && next(4) == (cache.len() as u32).to_le_bytes();
        if !good || !place || found.is_some_and(|found| found != made_of) {
            return None;
        }
        found = Some(made_of);
        state.extend_from_slice(piece);
    }
    Some((found?, state))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{
        shelf::{Form, append, compact, open},
        testing::{Disk, NOON_MS, Writer, fresh, note},
    };

    const FOLD: [u8; 32] = [1; 32];

    fn save(disk: &mut Disk, writer: &mut Writer, n: usize) {
        let drafts = (0..n).map(|at| note(&at.to_string())).collect();
        let form = Form::new(writer.form(), writer.who(), drafts);
        let appended = append(&disk.line(), &form, NOON_MS).unwrap();
        disk.run(&appended.ops);
    }

    /// A shelf with blocks and a tail, and a state of some pieces kept for it.
    fn filled() -> (Writer, Disk) {
        let mut writer = Writer::new(1);
        let mut disk = Disk::default();
        disk.run(&open(&disk.rows(), fresh(&writer)).repairs);
        save(&mut disk, &mut writer, 600);
        let rows = disk.rows();
        disk.run(&compact(rows.list.as_deref(), &rows.tail).unwrap().ops);
        keep(&mut disk, &writer, &vec![7; PIECE_BYTES + 9]);
        (writer, disk)
    }

    fn keep(disk: &mut Disk, writer: &Writer, state: &[u8]) {
        let rows = disk.rows();
        let ledger = open(&rows, fresh(writer)).ledger;
        let made_of = MadeOf::of(&ledger, &disk.line(), rows.list.as_deref(), &rows.tail).unwrap();
        let there: Vec<String> = disk.cache().into_iter().map(|(key, _)| key).collect();
        disk.run(&made_of.keep(&FOLD, state, &there));
    }

    fn read(disk: &Disk, writer: &Writer, fold: &[u8; 32]) -> Option<Kept> {
        let rows = disk.rows();
        let list = rows.list.as_deref();
        let ledger = writer.ledger();
        kept(&disk.cache(), fold, ledger, &disk.line(), list, &rows.tail)
    }

    #[test]
    fn a_state_is_used_only_by_its_build_for_its_entries() {
        let (mut writer, mut disk) = filled();
        let whole = read(&disk, &writer, &FOLD).unwrap();
        assert_eq!((whole.state.len(), whole.later.len()), (PIECE_BYTES + 9, 0));
        assert!(read(&disk, &writer, &[2; 32]).is_none());
        let rows = disk.rows();
        let other = Id::parse("l_other").unwrap();
        let list = rows.list.as_deref();
        let of_other = kept(&disk.cache(), &FOLD, other, &disk.line(), list, &rows.tail);
        assert!(of_other.is_none());
        // What arrives later is given beside it.
        save(&mut disk, &mut writer, 3);
        assert_eq!(read(&disk, &writer, &FOLD).unwrap().later.len(), 3);
        // An entry in the tail that is another one, or gone.
        let tail = disk.rows().tail;
        let (first, second) = (&tail[0], &tail[1]);
        let mut other = disk.clone();
        other.run(&[Op::put(Store::Tail, first.0.as_str(), second.1.clone())]);
        assert!(read(&other, &writer, &FOLD).is_none());
        other = disk.clone();
        other.run(&[Op::delete(Store::Tail, first.0.as_str())]);
        assert!(read(&other, &writer, &FOLD).is_none());
        // A garbled later one has to be told of, which only opening the long way does.
        other = disk.clone();
        let last = &tail[tail.len() - 1];
        other.run(&[Op::put(Store::Tail, last.0.as_str(), &b"\x01?"[..])]);
        assert!(read(&other, &writer, &FOLD).is_none());
        // After a compaction the same entries stand elsewhere.
        save(&mut disk, &mut writer, 500);
        let rows = disk.rows();
        assert!(read(&disk, &writer, &FOLD).is_some());
        disk.run(&compact(rows.list.as_deref(), &rows.tail).unwrap().ops);
        assert!(read(&disk, &writer, &FOLD).is_none());
        keep(&mut disk, &writer, b"a shorter state");
        let again = read(&disk, &writer, &FOLD).unwrap();
        assert_eq!(again.state, b"a shorter state");
        assert_eq!(disk.cache().len(), 1, "pieces of the old one are left");
    }

    #[test]
    fn a_state_is_kept_only_for_a_ledger_that_holds_all_that_is_stored() {
        let (mut writer, mut disk) = filled();
        let before = open(&disk.rows(), fresh(&writer)).ledger;
        save(&mut disk, &mut writer, 1);
        let rows = disk.rows();
        let list = rows.list.as_deref();
        assert_eq!(MadeOf::of(&before, &disk.line(), list, &rows.tail), None);
        let after = open(&rows, fresh(&writer)).ledger;
        assert!(MadeOf::of(&after, &disk.line(), list, &rows.tail).is_some());
    }

    #[test]
    fn a_state_garbled_cut_off_or_mixed_is_not_used() {
        let (writer, mut disk) = filled();
        keep(&mut disk, &writer, b"folded state");
        assert!(read(&disk, &writer, &FOLD).is_some());
        let (key, row) = disk.cache().remove(0);
        for at in 0..row.len() {
            let mut other = disk.clone();
            other.run(&[Op::put(Store::Cache, key.as_str(), &row[..at])]);
            assert!(read(&other, &writer, &FOLD).is_none(), "cut at {at}");
            let mut garbled = row.to_vec();
            garbled[at] ^= 4;
            other.run(&[Op::put(Store::Cache, key.as_str(), garbled)]);
            assert!(read(&other, &writer, &FOLD).is_none(), "garbled at {at}");
        }
        let (writer, disk) = filled();
        let pieces = disk.cache();
        assert_eq!(pieces.len(), 2);
        for lost in 0..2 {
            let mut other = disk.clone();
            other.run(&[Op::delete(Store::Cache, pieces[lost].0.as_str())]);
            assert!(read(&other, &writer, &FOLD).is_none(), "piece {lost} lost");
            let mut other = disk.clone();
            other.run(&[Op::put(Store::Cache, pieces[lost].0.as_str(), pieces[1 - lost].1.clone())]);
            assert!(read(&other, &writer, &FOLD).is_none(), "piece {lost} twice");
        }
    }
}
