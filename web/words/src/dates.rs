//! Days as they are written and told.

use bloomdue_core::calendar::Date;

use crate::formats;

/// `Wednesday 25 November`.
pub fn date_long(date: Date) -> String {
    formats::day_long(date)
}

/// `25 Nov`, with the year when it is not this one.
pub fn date_short(date: Date, today: Date) -> String {
    formats::day_short(date, date.year() != today.year())
}

/// Days of one month, its name once: `8 to 11 Feb`, with the year when it is not this one.
pub fn days_of_month(from: Date, to: Date, today: Date) -> String {
    formats::days_of_month(from.day(), to, to.year() != today.year())
}

/// A moment as files and clocks write it, `2026-10-01T09:30:00+02:00`, as it is told: `1 Oct, 09:30`. What is no such
/// moment is left as it is: a file may say anything.
pub fn moment(written: &str, today: Date) -> String {
    let told = || {
        let (day, rest) = written.split_at_checked(10)?;
        let day = date_short(day.parse().ok()?, today);
        let time = rest.trim_start_matches(['T', ' ']);
        if time.is_empty() {
            return Some(day);
        }
        let (hour, minute) = time.get(..5)?.split_once(':')?;
        let is_time = [hour, minute].iter().all(|part| part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit()));
        let time = is_time.then(|| Some(formats::time(hour.parse().ok()?, minute.parse().ok()?)))??;
        Some(format!("{day}, {time}"))
    };
    told().unwrap_or_else(|| written.to_owned())
}

/// `week 48`.
pub fn week(date: Date) -> String {
    format!("week {}", date.iso_week().week)
}

/// `today`, `yesterday`, `3 days ago`, `in 2 days`.
pub fn days_away(date: Date, today: Date) -> String {
    match today.days_until(date) {
        0 => "today".to_owned(),
        -1 => "yesterday".to_owned(),
        1 => "tomorrow".to_owned(),
        days if days < 0 => format!("{} days ago", -days),
        days => format!("in {days} days"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_told_by_its_day_and_minute() {
        let today: Date = "2026-11-25".parse().expect("a day");
        assert_eq!(moment("2026-10-01T09:30:12+02:00", today), "1 Oct, 09:30");
        assert_eq!(moment("2025-10-01 09:30", today), "1 Oct 2025, 09:30");
        assert_eq!(moment("2026-10-01", today), "1 Oct");
        for other in ["", "long ago", "2026-13-01T09:30", "2026-10-01Tnoon", "2026-10-0é"] {
            assert_eq!(moment(other, today), other);
        }
    }
}
