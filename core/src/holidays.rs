//! Days that flowers are sold for, to count back from.

use strum::{IntoStaticStr, VariantArray};

use crate::{calendar::Date, error::Result, words::words};

words!(MothersDay);

/// A day that flowers are sold for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Holiday {
    /// New Year by the Chinese lunar calendar.
    LunarNewYear,
    /// 14 February.
    Valentine,
    /// 8 March, International Women's Day.
    WomensDay,
    /// Easter Sunday.
    Easter,
    /// Mother's Day, by [`MothersDay`].
    MothersDay,
    /// Thanksgiving in the United States: the fourth Thursday of November.
    Thanksgiving,
    /// The first Sunday of Advent: the fourth before Christmas.
    Advent,
    /// 25 December.
    Christmas,
}

/// By which rule Mother's Day falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum MothersDay {
    /// The second Sunday of May, as in many countries.
    #[strum(serialize = "second-sunday-of-may")]
    SecondSundayOfMay,
    /// The fourth Sunday in Lent, three weeks before Easter.
    #[strum(serialize = "fourth-sunday-in-lent")]
    FourthSundayInLent,
    /// The first Sunday of May.
    #[strum(serialize = "first-sunday-of-may")]
    FirstSundayOfMay,
    /// The last Sunday of May.
    #[strum(serialize = "last-sunday-of-may")]
    LastSundayOfMay,
    /// The last Sunday of May, a week later where that is Whit Sunday.
    #[strum(serialize = "last-sunday-of-may-but-whitsun")]
    LastSundayOfMayButWhitsun,
    /// The second Sunday of February.
    #[strum(serialize = "second-sunday-of-february")]
    SecondSundayOfFebruary,
    /// The third Sunday of October.
    #[strum(serialize = "third-sunday-of-october")]
    ThirdSundayOfOctober,
    /// 10 May.
    #[strum(serialize = "10-may")]
    TenthOfMay,
    /// 26 May.
    #[strum(serialize = "26-may")]
    TwentySixthOfMay,
    /// 12 August.
    #[strum(serialize = "12-august")]
    TwelfthOfAugust,
}

/// ISO weekdays.
const THURSDAY: u32 = 4;
const SUNDAY: u32 = 7;

/// The nth such weekday of a month, from 1.
fn nth(n: i64, weekday: u32, year: i32, month: u32) -> Result<Date> {
    let first = Date::new(year, month, 1)?;
    let to_weekday = (i64::from(weekday) - i64::from(first.weekday())).rem_euclid(7);
    first.add_days(to_weekday + 7 * (n - 1))
}

fn last_sunday_of_may(year: i32) -> Result<Date> {
    let last = Date::new(year, 5, 31)?;
    last.add_days(-(i64::from(last.weekday()) % 7))
}

impl MothersDay {
    /// Its day in a year.
    ///
    /// # Errors
    /// When the year is outside the calendar.
    pub fn day(self, year: i32) -> Result<Date> {
        match self {
            Self::SecondSundayOfMay => nth(2, SUNDAY, year, 5),
            Self::FourthSundayInLent => Date::easter(year)?.add_days(-21),
            Self::FirstSundayOfMay => nth(1, SUNDAY, year, 5),
            Self::LastSundayOfMay => last_sunday_of_may(year),
            Self::LastSundayOfMayButWhitsun => {
                let last = last_sunday_of_may(year)?;
                let whitsun = Date::easter(year)?.add_days(49)?;
                if last == whitsun { last.add_days(7) } else { Ok(last) }
            }
            Self::SecondSundayOfFebruary => nth(2, SUNDAY, year, 2),
            Self::ThirdSundayOfOctober => nth(3, SUNDAY, year, 10),
            Self::TenthOfMay => Date::new(year, 5, 10),
            Self::TwentySixthOfMay => Date::new(year, 5, 26),
            Self::TwelfthOfAugust => Date::new(year, 8, 12),
        }
    }
}

/// The first year of [`LUNAR_NEW_YEARS`].
const LUNAR_FROM: i32 = 1990;

/// Lunar New Year as days after 20 January, for 1990 to 2100: the Chinese calendar as the Python library `holidays` 0.109
/// lists it. Calendars of browsers compute it and may be a day off: 2027 has its new moon four minutes before midnight.
#[rustfmt::skip]
const LUNAR_NEW_YEARS: [u8; 111] = [
    7, 26, 15, 3, 21, 11, 30, 18, 8, 27, 16, 4, 23, 12, 2, 20, 9, 29, 18, 6,
    25, 14, 3, 21, 11, 30, 19, 8, 27, 16, 5, 23, 12, 2, 21, 9, 28, 17, 6, 24,
    14, 3, 22, 11, 30, 19, 8, 26, 15, 4, 23, 12, 2, 21, 10, 28, 17, 6, 25, 13,
    3, 22, 12, 30, 19, 8, 26, 15, 4, 23, 13, 1, 20, 9, 28, 16, 6, 25, 14, 3,
    22, 11, 30, 18, 7, 26, 16, 4, 23, 13, 2, 20, 9, 28, 17, 6, 25, 14, 4, 21,
    10, 29, 18, 7, 26, 16, 5, 23, 12, 1, 20,
];

fn lunar_new_year(year: i32) -> Option<Result<Date>> {
    let at = usize::try_from(year - LUNAR_FROM).ok()?;
    let days = LUNAR_NEW_YEARS.get(at)?;
    Some(Date::new(year, 1, 20).and_then(|first| first.add_days(i64::from(*days))))
}

/// The day of a holiday in a year; none for the lunar New Year beyond its table.
fn day_of(holiday: Holiday, rule: MothersDay, year: i32) -> Option<Date> {
    match holiday {
        Holiday::LunarNewYear => lunar_new_year(year)?,
        Holiday::Valentine => Date::new(year, 2, 14),
        Holiday::WomensDay => Date::new(year, 3, 8),
        Holiday::Easter => Date::easter(year),
        Holiday::MothersDay => rule.day(year),
        Holiday::Thanksgiving => nth(4, THURSDAY, year, 11),
        Holiday::Advent => Date::new(year, 12, 24).and_then(|eve| eve.add_days(-21 - i64::from(eve.weekday()) % 7)),
        Holiday::Christmas => Date::new(year, 12, 25),
    }
    .ok()
}

const ALL: [Holiday; 8] = [
    Holiday::LunarNewYear,
    Holiday::Valentine,
    Holiday::WomensDay,
    Holiday::Easter,
    Holiday::MothersDay,
    Holiday::Thanksgiving,
    Holiday::Advent,
    Holiday::Christmas,
];

/// The next day of each holiday, today included, the nearest first.
///
/// ```
/// use bloomdue_core::holidays::{Holiday, MothersDay, ahead};
///
/// let today = "2026-11-29".parse().unwrap();
/// let next = ahead(today, MothersDay::SecondSundayOfMay);
/// assert_eq!(next[0], (Holiday::Advent, "2026-11-29".parse().unwrap()));
/// assert_eq!(next[1].0, Holiday::Christmas);
/// ```
pub fn ahead(today: Date, rule: MothersDay) -> Vec<(Holiday, Date)> {
    let next = |holiday| {
        let years = today.year()..=today.year() + 1;
        let mut days = years.filter_map(|year| day_of(holiday, rule, year));
        Some((holiday, days.find(|day| *day >= today)?))
    };
    let mut ahead: Vec<_> = ALL.into_iter().filter_map(next).collect();
    ahead.sort_by_key(|(holiday, day)| (*day, *holiday));
    ahead
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> Date {
        text.parse().unwrap()
    }

    /// Source: the Python library `holidays` 0.109 (United States), years 2026 to 2031.
    #[test]
    fn mothers_day_and_thanksgiving_are_those_of_a_library() {
        let years = [
            ("2026-05-10", "2026-11-26"),
            ("2027-05-09", "2027-11-25"),
            ("2028-05-14", "2028-11-23"),
            ("2029-05-13", "2029-11-22"),
            ("2030-05-12", "2030-11-28"),
            ("2031-05-11", "2031-11-27"),
        ];
        for (mothers, thanks) in years {
            let year = date(mothers).year();
            assert_eq!(MothersDay::SecondSundayOfMay.day(year).unwrap(), date(mothers));
            assert_eq!(day_of(Holiday::Thanksgiving, MothersDay::TenthOfMay, year).unwrap(), date(thanks));
        }
    }

    /// Source: from memory (2000, 2024, 2025); the same library (2100); the official holidays of China it lists (2026 to 2031).
    #[test]
    fn lunar_new_year_is_the_published_one() {
        let days = [
            "2000-02-05",
            "2024-02-10",
            "2025-01-29",
            "2026-02-17",
            "2027-02-06",
            "2028-01-26",
            "2029-02-13",
            "2030-02-03",
            "2031-01-23",
            "2100-02-09",
        ];
        for day in days.map(date) {
            assert_eq!(day_of(Holiday::LunarNewYear, MothersDay::TenthOfMay, day.year()), Some(day));
        }
        assert_eq!(day_of(Holiday::LunarNewYear, MothersDay::TenthOfMay, 2101), None);
    }

    /// Source: computed by hand from the calendar (first Sunday of Advent), as in the project's facts, 2026 to 2030.
    #[test]
    fn advent_begins_on_the_fourth_sunday_before_christmas() {
        for day in ["2026-11-29", "2027-11-28", "2028-12-03", "2029-12-02", "2030-12-01"] {
            let advent = date(day);
            assert_eq!(day_of(Holiday::Advent, MothersDay::TenthOfMay, advent.year()), Some(advent));
        }
    }

    /// Source: from memory (Mothering Sunday 2024 and 2027, Fête des Mères 2023 on 4 June because Whit Sunday was 28 May).
    #[test]
    fn mothers_day_goes_by_the_rule_that_was_chosen() {
        assert_eq!(MothersDay::FourthSundayInLent.day(2024).unwrap(), date("2024-03-10"));
        assert_eq!(MothersDay::FourthSundayInLent.day(2027).unwrap(), date("2027-03-07"));
        assert_eq!(MothersDay::LastSundayOfMayButWhitsun.day(2023).unwrap(), date("2023-06-04"));
        assert_eq!(MothersDay::LastSundayOfMayButWhitsun.day(2024).unwrap(), date("2024-05-26"));
    }

    #[test]
    fn every_rule_gives_a_day_of_its_year_and_sundays_are_sundays() {
        for year in 1990..=2199 {
            for rule in MothersDay::ALL {
                let day = rule.day(year).unwrap();
                assert_eq!(day.year(), year);
                assert!(!rule.word().contains("sunday") || day.weekday() == SUNDAY, "{rule:?} {day}");
            }
            let advent = day_of(Holiday::Advent, MothersDay::TenthOfMay, year).unwrap();
            let christmas = Date::new(year, 12, 25).unwrap();
            assert_eq!(advent.weekday(), SUNDAY);
            assert!((22..=28).contains(&advent.days_until(christmas)), "{advent}");
        }
    }

    #[test]
    fn each_holiday_is_named_once_by_its_next_day_and_in_order() {
        for today in ["2026-12-25", "2027-03-29", "2027-01-01", "2028-02-29"].map(date) {
            let next = ahead(today, MothersDay::FourthSundayInLent);
            assert_eq!(
                next.iter().map(|(holiday, _)| *holiday).collect::<std::collections::BTreeSet<_>>().len(),
                ALL.len()
            );
            assert_eq!(next.len(), ALL.len(), "{today}: {next:?}");
            assert!(next.iter().all(|(_, day)| *day >= today && today.days_until(*day) < 400));
        }
        let next = ahead(date("2026-11-30"), MothersDay::SecondSundayOfMay);
        assert!(next.windows(2).all(|pair| pair[0].1 <= pair[1].1));
        assert_eq!(next.len(), 8, "{next:?}");
        assert!(next.contains(&(Holiday::LunarNewYear, date("2027-02-06"))));
    }
}
