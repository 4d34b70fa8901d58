//! What was skipped and what was postponed: when a job that falls due is really to be told.

use crate::{calendar::Date, ledger::body::ActKind, nursery::Bulb};

/// Keys of jobs that no care plan names; jobs of a run carry the run's id behind a stroke.
pub mod key {
    /// Looks that a running try asks for.
    pub const WALK: &str = "walk";
    /// Unsure shoots to see again.
    pub const SEE_AGAIN: &str = "see-again";
    /// A look on the last day that counts.
    pub const DEADLINE: &str = "deadline";
    /// The end of a rest.
    pub const REST_ENDS: &str = "rest-ends";
    /// A bulb that woke early.
    pub const WOKE: &str = "woke";
    /// A bulb that is to be watched, to be inspected again.
    pub const INSPECT_AGAIN: &str = "inspect-again";
}

/// The day on which a job that falls due on `due` is to be told, heeding what was skipped and postponed on or after the
/// first day on which it was told, which is `notice_days` before it is due. What was said of it earlier spoke of an
/// earlier time. A skipped job comes again `every_days` after the day on which it was skipped; nothing when it comes
/// but once.
pub fn reminder_day(bulb: &Bulb, key: &str, due: Date, every_days: Option<i64>, notice_days: i64) -> Option<Date> {
    let mut day = due;
    for note in &bulb.jobs {
        let speaks = note.job.as_deref().is_none_or(|job| job == key);
        if !speaks || note.on.days_until(day) > notice_days {
            continue;
        }
        match (note.kind, note.until) {
            (ActKind::Skipped, _) => day = note.on.add_days(every_days?).ok()?,
            (ActKind::Postponed, Some(until)) => day = day.max(until),
            _ => {}
        }
    }
    Some(day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    fn told_of(text: &str, due: i64, every_days: Option<i64>) -> Option<Date> {
        let world = World::of("-9 mia lot lo_1 Red\n-9 mia bulb b_1 lo_1").and(text);
        reminder_day(&world.state().bulbs[&id("b_1")], "walk", day(due), every_days, 2)
    }

    #[test]
    fn a_postponed_job_is_told_on_the_day_it_was_postponed_to() {
        assert_eq!(told_of("4 mia postponed b_1 until=9", 5, None), Some(day(9)));
        // Another phone postponed it further; a day that is past already changes nothing.
        let twice = "4 mia postponed b_1 until=9\n8 jo postponed b_1 until=12\n8 mia postponed b_1 until=3";
        assert_eq!(told_of(twice, 5, None), Some(day(12)));
    }

    #[test]
    fn what_was_said_of_an_earlier_time_is_past() {
        assert_eq!(told_of("4 mia postponed b_1 until=20", 7, None), Some(day(7)));
        assert_eq!(told_of("4 mia skipped b_1", 7, None), Some(day(7)));
    }

    #[test]
    fn a_skipped_job_comes_again_if_it_repeats() {
        assert_eq!(told_of("6 mia skipped b_1 cause=rain", 5, Some(7)), Some(day(13)));
        assert_eq!(told_of("6 mia skipped b_1", 5, None), None);
    }

    #[test]
    fn words_about_another_job_are_not_heeded() {
        assert_eq!(told_of("6 mia skipped b_1 job=rest-ends/ru_1", 5, None), Some(day(5)));
        assert_eq!(told_of("6 mia postponed b_1 until=9 job=walk", 5, None), Some(day(9)));
    }
}
