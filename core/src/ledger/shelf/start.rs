//! The mark of a start that has not reached its first screen. It is on the medium before any entry is read, so that a
//! ledger that stops the program is known at the next start.

use serde::{Deserialize, Serialize};

use super::{Op, Store};
use crate::json;

/// Key of the row in `meta` that says that a start is under way: a [`StartRow`].
pub const START_KEY: &str = "start";

/// A start younger than this may be that of another tab, or one that was closed at once, in ms.
const YOUNG_MS: u64 = 10_000;

/// Starts that have not reached their first screen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StartRow {
    /// When the first of them began, in ms since 1970.
    pub since_ms: u64,
    /// How many.
    pub n: u64,
}

/// A start begins. Gives the operations that mark it, or nothing when an earlier one did not finish: then nothing may
/// be read before somebody has said so. One that is young is let pass once.
pub fn begin_start(row: Option<&[u8]>, now_ms: u64) -> Option<Vec<Op>> {
    // A row that cannot be read says nothing of how a start went.
    let unfinished = row.and_then(|row| json::read_bytes::<StartRow>(row).ok());
    let marked = match unfinished {
        None => StartRow { since_ms: now_ms, n: 1 },
        Some(row) if row.n < 2 && now_ms < row.since_ms.saturating_add(YOUNG_MS) => {
            StartRow { since_ms: row.since_ms, n: row.n + 1 }
        }
        Some(_) => return None,
    };
    Some(vec![mark(&marked)])
}

/// A start begins because somebody said so.
pub fn start_anyway(now_ms: u64) -> Vec<Op> {
    vec![mark(&StartRow { since_ms: now_ms, n: 1 })]
}

/// The first screen stands.
pub fn start_done() -> Vec<Op> {
    vec![Op::delete(Store::Meta, START_KEY)]
}

fn mark(row: &StartRow) -> Op {
    Op::put(Store::Meta, START_KEY, json::to_bytes(row))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::testing::Disk;

    /// Starts at these moments, in ms, none of which finishes; gives whether each may read on.
    fn starts<const N: usize>(at_ms: [u64; N]) -> [bool; N] {
        let mut disk = Disk::default();
        at_ms.map(|now_ms| {
            let ops = begin_start(disk.meta(START_KEY).as_deref(), now_ms);
            disk.run(ops.as_deref().unwrap_or_default());
            ops.is_some()
        })
    }

    #[test]
    fn a_start_that_did_not_finish_stops_the_next_one() {
        assert_eq!(starts([1_000, 11_000, 11_001]), [true, false, false]);
        // Another tab, or closed at once; the third one is told however quick.
        assert_eq!(starts([1_000, 1_500, 1_900]), [true, true, false]);
        assert_eq!(starts([1_000, 1_500, 90_000]), [true, true, false]);
        // A clock that was set back.
        assert_eq!(starts([50_000, 1_000, 2_000]), [true, true, false]);
    }

    #[test]
    fn a_start_that_finished_or_was_wished_for_is_not_told_of() {
        let mut disk = Disk::default();
        for now_ms in [1_000, 500_000, 900_000] {
            let ops = begin_start(disk.meta(START_KEY).as_deref(), now_ms);
            disk.run(&ops.unwrap());
            disk.run(&start_done());
        }
        disk.run(&start_anyway(1_000_000));
        assert!(begin_start(disk.meta(START_KEY).as_deref(), 1_020_000).is_none());
        disk.run(&[Op::put(Store::Meta, START_KEY, &b"?"[..])]);
        assert!(begin_start(disk.meta(START_KEY).as_deref(), 1_020_000).is_some());
    }
}
