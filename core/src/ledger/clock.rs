//! The hybrid clock of one device, and which entries were written under a wrong one.
//!
//! Kulkarni, Demirbas, Madappa, Avva and Leone (2014), *Logical physical clocks*: the greater of the wall clock and
//! the greatest stamp known, plus a counter. Ours differs in one rule: a phone whose date is a year ahead is ordinary,
//! so stamps more than a day ahead of the wall clock are kept but never pull others forward.

use super::{Ledger, entry::HybridTime, id::EntryId};
use crate::{
    error::{Error, Result},
    refusal::DateRefusal,
};

/// How far ahead of the wall clock a stamp may be and still pull others forward, in ms.
pub const AHEAD_MAX_MS: u64 = 24 * 60 * 60 * 1000;

/// Refuses a wall clock that shows a day on which nothing can be recorded.
///
/// # Errors
/// With the moment that the clock shows.
pub fn check(now_ms: u64) -> Result<()> {
    let now = HybridTime { ms: now_ms, counter: 0 };
    match now.day() {
        Some(_) => Ok(()),
        None => Err(Error::new(DateRefusal::ClockOutside(now_ms))),
    }
}

/// The last stamp that a device gave or took over. It lives in the shelf's `line` row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Clock {
    last: HybridTime,
}

impl Clock {
    /// A clock that goes on after this stamp.
    pub const fn new(last: HybridTime) -> Self {
        Self { last }
    }

    /// The last stamp given or taken over.
    pub const fn last(self) -> HybridTime {
        self.last
    }

    /// The next stamp, while the wall clock shows `now_ms` milliseconds since 1970.
    ///
    /// It is greater than the one before, unless that one was more than a day ahead of the wall clock: then stamps
    /// start again from the wall clock, and [`suspects`] finds the earlier ones.
    pub fn tick(&mut self, now_ms: u64) -> HybridTime {
        let wall = HybridTime { ms: now_ms, counter: 0 };
        self.last = if is_ahead(self.last, now_ms) || self.last < wall { wall } else { after(self.last) };
        self.last
    }

    /// Takes a stamp of another device into account, unless it is more than a day ahead of the wall clock.
    pub fn observe(&mut self, stamp: HybridTime, now_ms: u64) {
        if !is_ahead(stamp, now_ms) {
            self.last = self.last.max(stamp);
        }
    }
}

/// Whether a stamp is more than a day ahead of the wall clock.
pub const fn is_ahead(stamp: HybridTime, now_ms: u64) -> bool {
    stamp.ms > now_ms.saturating_add(AHEAD_MAX_MS)
}

/// The least stamp after this one: a full counter adds one millisecond.
fn after(stamp: HybridTime) -> HybridTime {
    match stamp.counter.checked_add(1) {
        Some(counter) => HybridTime { ms: stamp.ms, counter },
        None => HybridTime { ms: stamp.ms.saturating_add(1), counter: 0 },
    }
}

/// Entries written under a clock that was wrong, sorted by id: more than a day ahead of `now_ms`, or more than a day
/// ahead of a later line of the same device, which had started again from the wall clock by then.
pub fn suspects(ledger: &Ledger, now_ms: u64) -> Vec<EntryId> {
    let mut found = Vec::new();
    for lines in ledger.lines().values() {
        let mut wall_ms = now_ms;
        for ids in lines.values().rev() {
            let entries = || ids.iter().filter_map(|id| ledger.get(*id));
            found.extend(entries().filter(|entry| is_ahead(entry.envelope.hlc, wall_ms)).map(|entry| entry.id));
            let earliest_ms = entries().map(|entry| entry.envelope.hlc.ms).min();
            wall_ms = wall_ms.min(earliest_ms.unwrap_or(wall_ms));
        }
    }
    found.sort();
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::day_written;
    use crate::ledger::testing::{Writer, ledger_of};

    #[test]
    fn a_clock_outside_the_years_of_records_is_refused_with_its_day() {
        assert_eq!(check(NOON_MS), Ok(()));
        // By the GNU date command: 631152000 is 1990-01-01 and 7258118400 is 2200-01-01, both at 00:00:00Z.
        let (first, end) = (631_152_000_000, 7_258_118_400_000);
        assert_eq!((check(first), check(end - 1)), (Ok(()), Ok(())));
        for (ms, day) in [
            (0, Some("1970-01-01")),
            (first - 1, Some("1989-12-31")),
            (end, Some("2200-01-01")),
            (10_413_792_000_000, Some("2300-01-01")),
            (u64::MAX, None),
        ] {
            assert_eq!(check(ms), Err(Error::new(DateRefusal::ClockOutside(ms))));
            assert_eq!(day_written(ms).as_deref(), day);
        }
    }

    const DAY_MS: u64 = AHEAD_MAX_MS;
    const NOON_MS: u64 = 1_804_954_811_000;

    fn at(ms: u64, counter: u16) -> HybridTime {
        HybridTime { ms, counter }
    }

    #[test]
    fn stamps_rise_while_the_wall_clock_stands_or_steps_back() {
        let mut clock = Clock::default();
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, 0));
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, 1));
        assert_eq!(clock.tick(NOON_MS - 3_600_000), at(NOON_MS, 2));
        assert_eq!(clock.tick(NOON_MS + 1), at(NOON_MS + 1, 0));
    }

    #[test]
    fn a_full_counter_adds_one_millisecond() {
        let mut clock = Clock::new(at(NOON_MS, u16::MAX - 1));
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, u16::MAX));
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS + 1, 0));
        let mut last = Clock::new(at(u64::MAX, u16::MAX));
        assert_eq!(last.tick(u64::MAX), at(u64::MAX, 0));
    }

    #[test]
    fn a_stamp_within_a_day_pulls_forward_and_one_beyond_does_not() {
        let mut clock = Clock::default();
        clock.observe(at(NOON_MS + DAY_MS, 7), NOON_MS);
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS + DAY_MS, 8));
        let mut clock = Clock::default();
        clock.observe(at(NOON_MS + DAY_MS + 1, 0), NOON_MS);
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, 0));
    }

    #[test]
    fn ones_own_stamp_a_year_ahead_is_left_behind() {
        let mut clock = Clock::new(at(NOON_MS + 365 * DAY_MS, 3));
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, 0));
        assert_eq!(clock.tick(NOON_MS), at(NOON_MS, 1));
    }

    #[test]
    fn entries_written_a_year_ahead_are_found_even_when_that_year_has_come() {
        let mut writer = Writer::new(1);
        let good = writer.note("before", NOON_MS);
        let ahead = writer.note("wrong year", NOON_MS + 365 * DAY_MS);
        let again = writer.note("put right", NOON_MS + 60_000);
        assert_eq!(again.envelope.hlc, at(NOON_MS + 60_000, 0));
        let ledger = ledger_of([&good, &ahead, &again]);
        assert_eq!(suspects(&ledger, NOON_MS + 60_000), [ahead.id]);
        assert_eq!(suspects(&ledger, NOON_MS + 800 * DAY_MS), [ahead.id]);
        let ledger = ledger_of([&good, &ahead]);
        assert_eq!(suspects(&ledger, NOON_MS), [ahead.id]);
        assert!(suspects(&ledger, NOON_MS + 400 * DAY_MS).is_empty());
    }
}
