//! A clock set wrong, told from the records: every day in Due hangs on it.

use crate::{calendar::Date, ledger::Ledger};

/// After so many days without a record it is asked whether the clock is ahead.
pub const SILENT_DAYS: i64 = 400;

/// What is odd about the device's day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Records were written on a day that has not come yet here.
    Behind {
        /// The last day on which one was written.
        newest: Date,
    },
    /// The last record was written more than a year ago.
    Ahead {
        /// The day of the last record.
        newest: Date,
    },
}

/// Whether the device's day fits the records. A day's difference is the world's time zones and says nothing.
pub fn clock(ledger: &Ledger, today: Date) -> Option<Clock> {
    let newest = ledger.newest().day()?;
    let since_days = newest.days_until(today);
    if since_days < -1 {
        Some(Clock::Behind { newest })
    } else if since_days > SILENT_DAYS {
        Some(Clock::Ahead { newest })
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::entry::HybridTime;
    use crate::testing::{World, day};

    #[test]
    fn the_day_of_a_record_is_that_of_its_stamp() {
        // 1804954811 is 2027-03-13T16:20:11Z by the GNU date command.
        let at = HybridTime {
            ms: 1_804_954_811_000,
            counter: 0,
        };
        assert_eq!(at.day(), "2027-03-13".parse().ok());
        assert_eq!(HybridTime::default().day(), None);
    }

    #[test]
    fn a_clock_behind_the_records_is_told_and_one_far_ahead() {
        let world = World::of("0 mia lot lo_1 Red");
        let newest = world.ledger.newest().day().unwrap();
        let at = |days: i64| clock(&world.ledger, newest.add_days(days).unwrap());
        assert_eq!((at(0), at(-1), at(SILENT_DAYS)), (None, None, None));
        assert_eq!(at(-2), Some(Clock::Behind { newest }));
        assert_eq!(at(SILENT_DAYS + 1), Some(Clock::Ahead { newest }));
        assert_eq!(clock(&World::of("").ledger, day(0)), None);
    }
}
