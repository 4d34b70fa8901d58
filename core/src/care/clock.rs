//! A clock set wrong, told from the records: every day in Due hangs on it.

use crate::{
    calendar::Date,
    ledger::{Ledger, clock::suspects, entry::Entry},
};

/// After so many days without a record it is asked whether the clock is ahead.
pub const SILENT_DAYS: i64 = 400;
/// For so many days after such a silence it is asked, though records are written again: a clock that is ahead stamps
/// them too.
pub const ASKED_DAYS: i64 = 7;

/// What is odd about the device's day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Records were written on a day that has not come yet here.
    Behind {
        /// The last day on which one was written.
        newest: Date,
    },
    /// Before the last days, nothing was written for more than a year.
    Ahead {
        /// The day of the last record before that silence.
        newest: Date,
    },
}

/// Whether the device's day fits the records. A day's difference is the world's time zones and says nothing.
pub fn clock(ledger: &Ledger, today: Date) -> Option<Clock> {
    if ledger.newest().day()?.days_until(today) < -1 {
        // A clock that was put right has left stamps ahead of its later ones; they say nothing about this one.
        let overtaken = suspects(ledger, u64::MAX);
        let entries = ledger.arrived().iter();
        let counted = entries.filter(|entry| overtaken.binary_search(&entry.id).is_err());
        let newest = counted.filter_map(|entry| day_of(entry)).max()?;
        if newest.days_until(today) < -1 {
            return Some(Clock::Behind { newest });
        }
    }
    let mut newest = None;
    // Entries arrive much as they are written, so that a record of the year is found soon.
    for day in ledger.arrived().iter().rev().filter_map(|entry| day_of(entry)) {
        let since_days = day.days_until(today);
        if (ASKED_DAYS + 1..=SILENT_DAYS).contains(&since_days) {
            return None;
        }
        if since_days > SILENT_DAYS {
            newest = newest.max(Some(day));
        }
    }
    newest.map(|newest| Clock::Ahead { newest })
}

/// The day in UTC on which an entry was written; nothing where its stamp names a day that records do not know.
fn day_of(entry: &Entry) -> Option<Date> {
    entry.envelope.hlc.day()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{
        entry::HybridTime,
        testing::{Writer, ledger_of},
    };

    const DAY_MS: u64 = 86_400_000;
    // 1804954811 is 2027-03-13T16:20:11Z by the GNU date command.
    const NOON_MS: u64 = 1_804_954_811_000;

    /// What is told on 13 March 2027 when one device wrote a note on each of these days from then.
    fn told(days: &[i64], today: i64) -> Option<Clock> {
        let mut writer = Writer::new(1);
        let notes: Vec<_> = days.iter().map(|days| writer.note("n", ms(*days))).collect();
        clock(&ledger_of(&notes), date(today))
    }

    fn ms(days: i64) -> u64 {
        NOON_MS.saturating_add_signed(days * DAY_MS as i64)
    }

    fn date(days: i64) -> Date {
        let at = HybridTime { ms: ms(days), counter: 0 };
        at.day().expect("a day of records")
    }

    #[test]
    fn a_clock_behind_the_records_is_told_and_one_far_ahead() {
        let newest = date(0);
        assert_eq!(newest.to_string(), "2027-03-13");
        for fits in [0, -1, ASKED_DAYS, ASKED_DAYS + 1, SILENT_DAYS] {
            assert_eq!(told(&[0], fits), None, "{fits}");
        }
        assert_eq!(told(&[0], -2), Some(Clock::Behind { newest }));
        assert_eq!(told(&[0], SILENT_DAYS + 1), Some(Clock::Ahead { newest }));
        assert_eq!(told(&[], 0), None);
    }

    #[test]
    fn records_written_under_a_clock_that_is_ahead_do_not_silence_it_for_a_week() {
        let newest = date(0);
        let ahead = SILENT_DAYS + 20;
        for today in ahead..=ahead + ASKED_DAYS {
            assert_eq!(told(&[-30, 0, ahead], today), Some(Clock::Ahead { newest }));
        }
        assert_eq!(told(&[-30, 0, ahead], ahead + ASKED_DAYS + 1), None);
    }

    #[test]
    fn stamps_of_no_day_do_not_silence_it() {
        let newest = date(0);
        for beyond in [0, 7_258_118_400_000, 10_413_792_000_000, 9_000_000_000_000_000] {
            let mut writer = Writer::new(1);
            let right = writer.note("right", ms(0));
            let wrong = Writer::new(2).note("wrong", beyond);
            let ledger = ledger_of([&right, &wrong]);
            assert_eq!(clock(&ledger, date(-2)), Some(Clock::Behind { newest }));
            assert_eq!(clock(&ledger, date(0)), None, "{beyond}");
            let today = date(SILENT_DAYS + 1);
            assert_eq!(clock(&ledger, today), Some(Clock::Ahead { newest }));
        }
    }

    #[test]
    fn a_clock_that_was_put_right_is_not_told_any_longer() {
        assert_eq!(told(&[0, 365], 1), Some(Clock::Behind { newest: date(365) }));
        assert_eq!(told(&[0, 365, 1], 1), None);
        assert_eq!(told(&[0, 365, 1], -5), Some(Clock::Behind { newest: date(1) }));
    }
}
