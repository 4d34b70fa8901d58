//! Civil days as they stand in the ledger: dates, ISO weeks, Easter, and when something happened.
//!
//! Days are the date as written, never converted: there is no time-zone database here, and an entry of
//! `2027-03-14T00:10+02:00` happened on 14 March wherever it is read.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use chrono::{Datelike, Days, NaiveDate};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

use crate::json;
use crate::limits;
use crate::{
    error::{Error, Result},
    refusal::{Clock, DateRefusal},
};

/// A civil date from 1990-01-01 to 2199-12-31, written `YYYY-MM-DD`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(NaiveDate);

/// 1989-12-31, counted from the first day of the year 1.
const DAY_BEFORE_FIRST: i32 = 726_467;

/// A day in the ISO 8601 week calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct IsoWeek {
    /// The week's year, which differs from the calendar year around New Year.
    pub year: i32,
    /// 1 to 53.
    pub week: u32,
    /// 1 Monday to 7 Sunday.
    pub weekday: u32,
}

impl Date {
    /// 1990-01-01, the first day that can be written.
    pub const EARLIEST: Self = match NaiveDate::from_ymd_opt(1990, 1, 1) {
        Some(day) => Self(day),
        None => Self(NaiveDate::MIN),
    };

    /// The date of a year, a month (1 to 12) and a day (1 to 31).
    ///
    /// # Errors
    /// Names the part that is impossible: the year's bounds, the month, or the day that this month does not have.
    ///
    /// # A day that the month does not have is refused
    /// ```
    /// use bloomdue_core::calendar::Date;
    /// assert_eq!(Date::new(2028, 2, 29).map(|day| day.to_string()), Ok("2028-02-29".to_owned()));
    /// assert!(Date::new(2027, 2, 29).is_err());
    /// ```
    pub fn new(year: i32, month: u32, day: u32) -> Result<Self> {
        limits::YEAR.check(i64::from(year))?;
        civil(year, month, day).map(Self)
    }

    /// The date `days` later, or earlier when negative.
    ///
    /// # Errors
    /// When the result leaves the years 1990 to 2199.
    ///
    /// # Days are those of the calendar, whatever clocks do
    /// ```
    /// # use bloomdue_core::calendar::Date;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let saturday: Date = "2027-03-27".parse()?;
    /// assert_eq!(saturday.add_days(2)?, "2027-03-29".parse()?);
    /// assert_eq!(saturday.add_days(-27)?, "2027-02-28".parse()?);
    /// # Ok(())
    /// # }
    /// ```
    pub fn add_days(self, days: i64) -> Result<Self> {
        let step = Days::new(days.unsigned_abs());
        let moved = if days < 0 { self.0.checked_sub_days(step) } else { self.0.checked_add_days(step) };
        match moved {
            Some(date) if limits::YEAR.contains(i64::from(date.year())) => Ok(Self(date)),
            _ => Err(Error::new(DateRefusal::OutOfYears { from: self, days })),
        }
    }

    /// Whole days from this date to `other`; negative when `other` is earlier.
    ///
    /// # It counts back as it counts forth
    /// ```
    /// # use bloomdue_core::calendar::Date;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let (rest, pot): (Date, Date) = ("2027-09-01".parse()?, "2027-11-10".parse()?);
    /// assert_eq!((rest.days_until(pot), pot.days_until(rest)), (70, -70));
    /// # Ok(())
    /// # }
    /// ```
    pub fn days_until(self, other: Self) -> i64 {
        i64::from(other.0.num_days_from_ce()) - i64::from(self.0.num_days_from_ce())
    }

    /// Days since 1989-12-31, for a kept state.
    pub(crate) fn number(self) -> u32 {
        // No date lies before 1990.
        u32::try_from(self.0.num_days_from_ce() - DAY_BEFORE_FIRST).unwrap_or(0)
    }

    /// The date with this number.
    pub(crate) fn of_number(number: u32) -> Option<Self> {
        let days = i32::try_from(number).ok()?.checked_add(DAY_BEFORE_FIRST)?;
        let date = NaiveDate::from_num_days_from_ce_opt(days)?;
        limits::YEAR.contains(i64::from(date.year())).then_some(Self(date))
    }

    /// Calendar year.
    pub fn year(self) -> i32 {
        self.0.year()
    }

    /// Month, 1 to 12.
    pub fn month(self) -> u32 {
        self.0.month()
    }

    /// Day of the month, 1 to 31.
    pub fn day(self) -> u32 {
        self.0.day()
    }

    /// Day of the year, 1 to 366.
    pub fn day_of_year(self) -> u32 {
        self.0.ordinal()
    }

    /// Day of the week, 1 Monday to 7 Sunday (ISO 8601).
    pub fn weekday(self) -> u32 {
        self.0.weekday().number_from_monday()
    }

    /// This day in the ISO 8601 week calendar.
    ///
    /// # The first of January may lie in the last week of the year before
    /// ```
    /// # use bloomdue_core::calendar::Date;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let week = Date::new(2027, 1, 1)?.iso_week();
    /// assert_eq!((week.year, week.week, week.weekday), (2026, 53, 5));
    /// # Ok(())
    /// # }
    /// ```
    pub fn iso_week(self) -> IsoWeek {
        iso_week(self.0)
    }

    /// Easter Sunday of a year from 1990 to 2199.
    ///
    /// # Errors
    /// When the year is outside these bounds.
    pub fn easter(year: i32) -> Result<Self> {
        limits::YEAR.check(i64::from(year))?;
        let (month, day) = easter_sunday(year)?;
        Self::new(year, month, day)
    }
}

/// The day in UTC of a moment in milliseconds since 1970, in any year that has a calendar, for a message.
pub fn day_written(ms: u64) -> Option<String> {
    let days = Days::new(ms / 86_400_000);
    NaiveDate::default().checked_add_days(days).map(|day| day.to_string())
}

/// The ISO 8601 week date of a day written `YYYY-MM-DD`, in any year of four digits.
///
/// # Errors
/// As reading a [`Date`], without its bounds on the year.
pub fn iso_week_of(text: &str) -> Result<IsoWeek> {
    let (year, month, day) = digits(text).ok_or_else(|| malformed(text))?;
    civil(year, month, day).map(iso_week)
}

/// The ISO 8601 week date of any day.
fn iso_week(date: NaiveDate) -> IsoWeek {
    let week = date.iso_week();
    IsoWeek { year: week.year(), week: week.week(), weekday: date.weekday().number_from_monday() }
}

/// Month and day of Easter Sunday in the Gregorian calendar, for years from 1583 to 9999.
///
/// The anonymous Gregorian algorithm as printed by Meeus, *Astronomical Algorithms*, 1991, chapter 8,
/// after Butcher's *Ecclesiastical Calendar*, 1876.
///
/// # Errors
/// When the year is before the Gregorian calendar's first Easter or has more than four digits.
pub fn easter_sunday(year: i32) -> Result<(u32, u32)> {
    if !(1583..=9999).contains(&year) {
        return Err(Error::new(DateRefusal::NoEaster(year)));
    }
    let year = year.unsigned_abs();
    let golden = year % 19;
    let (century, in_century) = (year / 100, year % 100);
    let moon_drift = (century - (century + 8) / 25 + 1) / 3;
    let epact = (19 * golden + century - century / 4 - moon_drift + 15) % 30;
    let to_sunday = (32 + 2 * (century % 4) + 2 * (in_century / 4) - epact - in_century % 4) % 7;
    let exception = (golden + 11 * epact + 22 * to_sunday) / 451;
    let days = epact + to_sunday + 114 - 7 * exception;
    Ok((days / 31, days % 31 + 1))
}

/// A day of the proleptic Gregorian calendar, or the part of it that does not exist.
fn civil(year: i32, month: u32, day: u32) -> Result<NaiveDate> {
    if !(1..=12).contains(&month) {
        return Err(Error::new(DateRefusal::NoMonth(month)));
    }
    NaiveDate::from_ymd_opt(year, month, day).ok_or_else(|| {
        let last = (28..=31).rev().find(|&last| NaiveDate::from_ymd_opt(year, month, last).is_some());
        Error::new(DateRefusal::NoDay { year, month, day, last: last.unwrap_or(31) })
    })
}

/// The refusal of a text that is not a date at all.
fn malformed(text: &str) -> Error {
    Error::new(DateRefusal::NoDate(text.to_owned()))
}

/// Reads exactly `YYYY-MM-DD` in ASCII digits.
fn digits(text: &str) -> Option<(i32, u32, u32)> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *text.as_bytes() else {
        return None;
    };
    let year = number(&[y1, y2, y3, y4])?;
    Some((i32::try_from(year).ok()?, number(&[m1, m2])?, number(&[d1, d2])?))
}

/// A number of ASCII digits and nothing else.
fn number(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0_u32, |sum, digit| digit.is_ascii_digit().then(|| sum * 10 + u32::from(digit - b'0')))
}

impl FromStr for Date {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let (year, month, day) = digits(text).ok_or_else(|| malformed(text))?;
        Self::new(year, month, day)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year(), self.month(), self.day())
    }
}

impl fmt::Debug for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Date({self})")
    }
}

/// As text, and in bytes as a number.
impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        match serializer.is_human_readable() {
            true => serializer.collect_str(self),
            false => serializer.serialize_u32(self.number()),
        }
    }
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        if deserializer.is_human_readable() {
            return json::parsed(deserializer, str::parse);
        }
        let number = u32::deserialize(deserializer)?;
        Self::of_number(number).ok_or_else(|| D::Error::custom(format!("{number} is the number of no day")))
    }
}

/// When something happened: `YYYY-MM-DD`, or with the time of day and its distance from UTC,
/// `YYYY-MM-DDTHH:MM±HH:MM`. The string is kept exactly as it was written.
///
/// Ordered by the civil date as written, then by the time as written; on one day, an entry with a date
/// alone sorts after those with a time. Offsets only break ties, so that the order is total and agrees with equality.
///
/// # It happened on the day as written, wherever it is read
/// ```
/// # use bloomdue_core::calendar::Happened;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let look: Happened = "2027-03-14T00:10+02:00".parse()?;
/// assert_eq!(look.date().to_string(), "2027-03-14");
/// assert_eq!(look.as_str(), "2027-03-14T00:10+02:00");
/// # Ok(())
/// # }
/// ```
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Happened {
    text: String,
    date: Date,
    minute: Option<u16>,
}

impl Happened {
    /// Something of which only the day is known.
    pub fn on(date: Date) -> Self {
        Self { text: date.to_string(), date, minute: None }
    }

    /// Something at a minute of the day (0 to 1439) at a place `offset_min` minutes east of UTC (-1439 to 1439).
    ///
    /// # Errors
    /// When the minute or the offset is out of these bounds.
    pub fn at(date: Date, minute: u16, offset_min: i16) -> Result<Self> {
        let sign = if offset_min < 0 { '-' } else { '+' };
        let offset = offset_min.unsigned_abs();
        format!("{date}T{:02}:{:02}{sign}{:02}:{:02}", minute / 60, minute % 60, offset / 60, offset % 60).parse()
    }

    /// The civil date as written.
    pub fn date(&self) -> Date {
        self.date
    }

    /// Minute of the day as written, 0 to 1439, if a time was given.
    pub fn minute_of_day(&self) -> Option<u16> {
        self.minute
    }

    /// Minutes east of UTC as written; 0 when only the day is known.
    pub fn offset_min(&self) -> i16 {
        let offset = self.text.get(17..).and_then(|text| clock(text, Clock::FromUtc).ok());
        let minutes = offset.and_then(|minutes| i16::try_from(minutes).ok());
        let east = minutes.unwrap_or(0);
        if self.text.get(16..17) == Some("-") { -east } else { east }
    }

    /// The exact string.
    pub fn as_str(&self) -> &str {
        &self.text
    }
}

/// Hours and minutes of exactly `HH:MM`, as a minute of the day.
fn clock(text: &str, what: Clock) -> Result<u16> {
    let parts = match *text.as_bytes() {
        [h1, h2, b':', m1, m2] => number(&[h1, h2]).zip(number(&[m1, m2])),
        _ => None,
    };
    let (hours, minutes) = parts.ok_or_else(|| Error::new(DateRefusal::NoClock(what, text.to_owned())))?;
    if hours > 23 {
        return Err(Error::new(DateRefusal::NoHour(what, hours)));
    }
    if minutes > 59 {
        return Err(Error::new(DateRefusal::NoMinute(what, minutes)));
    }
    Ok((hours * 60 + minutes) as u16)
}

impl FromStr for Happened {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let Some((date, rest)) = text.split_once('T') else {
            return text.parse().map(Self::on);
        };
        let date = date.parse()?;
        let malformed = || Error::new(DateRefusal::NoTime(rest.to_owned()));
        let sign = rest.get(5..6).ok_or_else(malformed)?;
        if !matches!(sign, "+" | "-") {
            return Err(malformed());
        }
        let minute = clock(rest.get(..5).ok_or_else(malformed)?, Clock::TimeOfDay)?;
        let offset = clock(rest.get(6..).ok_or_else(malformed)?, Clock::FromUtc)?;
        if sign == "-" && offset == 0 {
            return Err(Error::new(DateRefusal::MinusNothing));
        }
        Ok(Self { text: text.to_owned(), date, minute: Some(minute) })
    }
}

impl Ord for Happened {
    fn cmp(&self, other: &Self) -> Ordering {
        let key = |happened: &Self| (happened.date, happened.minute.unwrap_or(u16::MAX));
        key(self).cmp(&key(other)).then_with(|| self.text.cmp(&other.text))
    }
}

impl PartialOrd for Happened {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl From<Date> for Happened {
    fn from(date: Date) -> Self {
        Self::on(date)
    }
}

impl fmt::Display for Happened {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl fmt::Debug for Happened {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Happened({self})")
    }
}

/// As text, and in bytes with what was read from it.
impl Serialize for Happened {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        match serializer.is_human_readable() {
            true => serializer.serialize_str(&self.text),
            false => (&self.text, self.date, self.minute).serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Happened {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        if deserializer.is_human_readable() {
            return json::parsed(deserializer, str::parse);
        }
        let (text, date, minute) = Deserialize::deserialize(deserializer)?;
        Ok(Self { text, date, minute })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;
    use proptest::prelude::*;

    fn refusal<T: FromStr<Err = Error> + fmt::Debug>(text: &str) -> Refusal {
        text.parse::<T>().expect_err(text).refusal
    }

    #[test]
    fn impossible_dates_name_the_part_and_what_to_do() {
        assert_eq!(
            refusal::<Date>("2027-02-29"),
            DateRefusal::NoDay { year: 2027, month: 2, day: 29, last: 28 }.into()
        );
        assert_eq!(refusal::<Date>("2027-13-01"), DateRefusal::NoMonth(13).into());
        assert_eq!(refusal::<Date>("1989-12-31"), Refusal::OutOfBounds { limit: &limits::YEAR, value: 1989 });
        for text in ["14.3.2027", "2027-3-14", "+027-03-14"] {
            assert_eq!(refusal::<Date>(text), DateRefusal::NoDate(text.to_owned()).into());
        }
    }

    #[test]
    fn impossible_times_name_the_part_and_what_to_do() {
        assert_eq!(refusal::<Happened>("2027-03-14T24:00+02:00"), DateRefusal::NoHour(Clock::TimeOfDay, 24).into());
        assert_eq!(refusal::<Happened>("2027-03-14T18:60+02:00"), DateRefusal::NoMinute(Clock::TimeOfDay, 60).into());
        assert_eq!(refusal::<Happened>("2027-03-14T18:20+25:00"), DateRefusal::NoHour(Clock::FromUtc, 25).into());
        assert_eq!(refusal::<Happened>("2027-03-14T18:20-00:00"), DateRefusal::MinusNothing.into());
        for text in
            ["2027-03-14T18:20", "2027-03-14T18:20Z", "2027-03-14T", "2027-03-14T18:2é+02:00", "2027-03-14 18:20+02:00"]
        {
            let why = refusal::<Happened>(text);
            let no_time = matches!(why, Refusal::Date(DateRefusal::NoTime(_) | DateRefusal::NoClock(..)));
            assert!(no_time || why == DateRefusal::NoDate(text.to_owned()).into(), "{text}: {why:?}");
        }
    }

    #[test]
    fn a_date_alone_sorts_after_the_times_of_its_day() {
        let mut all: Vec<Happened> =
            ["2027-03-15", "2027-03-14", "2027-03-14T23:59-11:00", "2027-03-14T00:10+02:00", "2027-03-15T00:00+14:00"]
                .iter()
                .map(|text| text.parse().expect(text))
                .collect();
        all.sort();
        let texts: Vec<&str> = all.iter().map(Happened::as_str).collect();
        assert_eq!(
            texts,
            ["2027-03-14T00:10+02:00", "2027-03-14T23:59-11:00", "2027-03-14", "2027-03-15T00:00+14:00", "2027-03-15"]
        );
        assert_eq!(all[0].minute_of_day(), Some(10));
        assert_eq!(all[2].minute_of_day(), None);
        assert_eq!(all[1].date(), "2027-03-14".parse().expect("date"));
    }

    #[test]
    fn strings_go_through_json_unchanged() {
        for text in ["\"2027-03-14\"", "\"2027-03-14T18:20+02:00\""] {
            let happened: Happened = json::read(text).expect(text);
            assert_eq!(json::to_text(&happened), text);
        }
        let error = json::read::<Date>("\"2027-02-30\"").expect_err("30 February");
        assert!(error.to_string().contains("NoDay"), "{error}");
    }

    /// Extremes and exceptions of the Gregorian Easter: Meeus, *Astronomical Algorithms*, chapter 8.
    #[test]
    fn easter_of_the_textbook_years() {
        for (year, month, day) in [
            (1818, 3, 22),
            (1886, 4, 25),
            (1943, 4, 25),
            (1954, 4, 18),
            (1991, 3, 31),
            (1992, 4, 19),
            (1993, 4, 11),
            (2000, 4, 23),
            (2038, 4, 25),
            (2285, 3, 22),
        ] {
            assert_eq!(easter_sunday(year), Ok((month, day)), "{year}");
        }
        assert!(easter_sunday(1582).is_err());
    }

    proptest! {
        #[test]
        fn a_date_survives_writing_and_reading(days in 0_i64..76_000) {
            let first: Date = "1990-01-01".parse().expect("first day");
            let date = first.add_days(days).expect("within the years");
            prop_assert_eq!(date.to_string().parse::<Date>(), Ok(date));
            prop_assert_eq!(first.days_until(date), days);
            prop_assert_eq!(date.add_days(-days), Ok(first));
            prop_assert_eq!(i64::from(date.weekday()), days % 7 + 1);
        }

        #[test]
        fn a_time_survives_writing_and_reading(days in 0_i64..70_000, minute in 0_u16..1440, offset in -1439_i16..1440) {
            let date = "1990-01-01".parse::<Date>().and_then(|first| first.add_days(days)).expect("within the years");
            let happened = Happened::at(date, minute, offset).expect("a time of day");
            prop_assert_eq!(happened.as_str().parse::<Happened>(), Ok(happened.clone()));
            prop_assert_eq!(happened.minute_of_day(), Some(minute));
            prop_assert!(happened < Happened::on(date));
        }

        #[test]
        fn easter_is_a_sunday_between_22_march_and_25_april(year in 1990_i32..2200) {
            let easter = Date::easter(year).expect("within the years");
            prop_assert_eq!(easter.weekday(), 7);
            prop_assert!(easter >= Date::new(year, 3, 22).expect("first"));
            prop_assert!(easter <= Date::new(year, 4, 25).expect("last"));
        }

        #[test]
        fn no_text_makes_the_reader_panic(text in "\\PC{0,30}") {
            let _ = text.parse::<Happened>();
        }
    }
}
