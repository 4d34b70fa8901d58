//! How numbers, days, lengths and temperatures are written: by the rules of the device's region, in the units that were
//! chosen on it.
//!
//! Nearly every sentence may hold a number or a day, so the rules stand here once for the whole thread and are not handed
//! from sentence to sentence: the app sets them before its first screen and when a choice is made, and draws every screen
//! anew. They are the device's, not the nursery's, and no two are in use at once. A thread that sets none has what
//! [`Formats::default`] says; the thread for longer work makes no sentence that holds a number or a day.

use std::cell::RefCell;
use std::rc::Rc;

use bloomdue_core::calendar::Date;
use bloomdue_core::units::{self, LengthUnit, TemperatureUnit};
use serde::{Deserialize, Serialize};

/// How everything is written that is written differently from region to region.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Formats {
    /// In which units.
    pub units: Units,
    /// How numbers are written.
    pub numbers: Numbers,
    /// How days and times are written.
    pub days: Days,
}

/// The units that lengths and temperatures are shown in and typed in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Units {
    /// Of lengths.
    pub length: LengthUnit,
    /// Of temperatures.
    pub temperature: TemperatureUnit,
}

impl Units {
    /// What is usual in a region, named by its two letters: inches and degrees Fahrenheit in the United States.
    pub fn usual_in(region: &str) -> Self {
        if region == "US" {
            Self { length: LengthUnit::InchFractions, temperature: TemperatureUnit::Fahrenheit }
        } else {
            Self::default()
        }
    }

    /// What a draft or a choice of this device names so.
    pub fn of_words(self, length: Option<&str>, temperature: Option<&str>) -> Self {
        Self {
            length: length.and_then(LengthUnit::from_word).unwrap_or(self.length),
            temperature: temperature.and_then(TemperatureUnit::from_word).unwrap_or(self.temperature),
        }
    }
}

/// How numbers are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Numbers {
    /// Between whole and parts.
    pub decimal: String,
    /// Between groups of digits, where there are any.
    pub grouping: Option<Grouping>,
}

/// How the digits of large numbers are parted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grouping {
    /// Between groups.
    pub mark: String,
    /// Numbers of fewer digits are left whole.
    pub from_digits: usize,
    /// Digits of the last group.
    pub last: usize,
    /// Digits of every other.
    pub other: usize,
}

impl Default for Numbers {
    fn default() -> Self {
        Self { decimal: ".".to_owned(), grouping: None }
    }
}

/// A part of a written day or time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// What stands between the others.
    Text(String),
    /// The name of the day of the week.
    Weekday,
    /// The day of the month.
    Day,
    /// The name of the month.
    Month,
    /// The year.
    Year,
    /// The hour.
    Hour,
    /// The minute, two digits.
    Minute,
    /// Before or after noon.
    HalfDay,
}

/// How days and times are written. Months have the form that stands in a day, and another where they stand alone: not
/// every language has one form for both.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Days {
    /// `Wednesday 25 November`.
    pub long: Vec<Part>,
    /// `25 Nov`.
    pub short: Vec<Part>,
    /// `25 Nov 2026`.
    pub short_with_year: Vec<Part>,
    /// `09:30`.
    pub time: Vec<Part>,
    /// From January, in a long day.
    pub months: [String; 12],
    /// From January, in a short day.
    pub months_short: [String; 12],
    /// From January, short, standing alone.
    pub months_alone: [String; 12],
    /// From Monday.
    pub weekdays: [String; 7],
    /// Whether hours have two digits always.
    pub hours_padded: bool,
    /// Before noon and after noon, where the hours are counted to twelve.
    pub half_days: Option<[String; 2]>,
}

impl Default for Days {
    fn default() -> Self {
        let text = |text: &str| Part::Text(text.to_owned());
        let months = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let weekdays = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
        let short = months.map(|month| month[..3].to_owned());
        Self {
            long: vec![Part::Weekday, text(" "), Part::Day, text(" "), Part::Month],
            short: vec![Part::Day, text(" "), Part::Month],
            short_with_year: vec![Part::Day, text(" "), Part::Month, text(" "), Part::Year],
            time: vec![Part::Hour, text(":"), Part::Minute],
            months: months.map(str::to_owned),
            months_short: short.clone(),
            months_alone: short,
            weekdays: weekdays.map(str::to_owned),
            hours_padded: true,
            half_days: None,
        }
    }
}

thread_local! {
    static NOW: RefCell<Rc<Formats>> = RefCell::default();
}

/// The rules from now on, for this thread.
pub fn set(formats: Formats) {
    NOW.set(Rc::new(formats));
}

/// The rules in force.
pub fn now() -> Rc<Formats> {
    NOW.with_borrow(Rc::clone)
}

/// The units in force.
pub fn units() -> Units {
    NOW.with_borrow(|now| now.units)
}

// Numbers

/// A whole number: `1234`, or `1,234` where digits are grouped.
pub fn whole(n: i64) -> String {
    let sign = if n < 0 { "-" } else { "" };
    format!("{sign}{}", grouped(&n.unsigned_abs().to_string()))
}

fn grouped(digits: &str) -> String {
    let now = now();
    let Some(Grouping { mark, from_digits, last, other }) = &now.numbers.grouping else {
        return digits.to_owned();
    };
    if digits.len() < *from_digits {
        return digits.to_owned();
    }
    let n = digits.len();
    let begins_group = |at: usize| at > 0 && n - at >= *last && (n - at - last).is_multiple_of(*other);
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if begins_group(at) {
            text.push_str(mark);
        }
        text.push(digit);
    }
    text
}

/// A number with so many decimals: `27.50`.
pub fn decimal(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let (sign, size) = text.strip_prefix('-').map_or(("", text.as_str()), |size| ("-", size));
    match size.split_once('.') {
        Some((whole, part)) => format!("{sign}{}{}{part}", grouped(whole), now().numbers.decimal),
        // What is not finite has its name.
        None if size.bytes().all(|b| b.is_ascii_digit()) => format!("{sign}{}", grouped(size)),
        None => text,
    }
}

/// Tenths with their decimal: `27.5`, `28.0`.
pub fn tenths(n: i64) -> String {
    let sign = if n < 0 { "-" } else { "" };
    format!("{sign}{}{}{}", grouped(&(n.abs() / 10).to_string()), now().numbers.decimal, n.abs() % 10)
}

/// Tenths with their decimal where there is one: `27.5`, `28`.
pub fn tenths_short(n: i64) -> String {
    if n % 10 == 0 { whole(n / 10) } else { tenths(n) }
}

// Lengths and temperatures

/// A length as it is typed and shown, without its unit: `27.5`, `10 1/2`. Typed again it is the same millimetres.
pub fn length_number(mm: i64) -> String {
    length_in(mm, units().length)
}

fn length_in(mm: i64, unit: LengthUnit) -> String {
    let sign = if mm < 0 { "-" } else { "" };
    if unit == LengthUnit::Centimetres {
        return tenths_short(mm);
    }
    let (n, parts) = units::inches_of_mm(mm.abs(), unit);
    let (whole_inches, rest) = (n / parts, n % parts);
    let size = match (unit, whole_inches, rest) {
        (_, _, 0) => whole(whole_inches),
        (LengthUnit::InchDecimals, _, _) => decimal(n as f64 / parts as f64, if parts == 100 { 2 } else { 1 }),
        (_, 0, _) => format!("{rest}/{parts}"),
        _ => format!("{} {rest}/{parts}", whole(whole_inches)),
    };
    format!("{sign}{size}")
}

/// The sign of the unit of lengths.
pub fn length_unit() -> &'static str {
    match units().length {
        LengthUnit::Centimetres => "cm",
        LengthUnit::InchFractions | LengthUnit::InchDecimals => "in",
    }
}

/// The unit of lengths beside what is asked for.
pub fn length_asked() -> &'static str {
    match units().length {
        LengthUnit::Centimetres => "cm",
        LengthUnit::InchFractions | LengthUnit::InchDecimals => "inches",
    }
}

/// Which keyboard a phone shows for lengths: one with digits and a decimal has no stroke for fractions.
pub fn length_keyboard() -> &'static str {
    match units().length {
        LengthUnit::InchFractions => "text",
        LengthUnit::Centimetres | LengthUnit::InchDecimals => "decimal",
    }
}

/// `27.5 cm`, `10 1/2 in`.
pub fn length(mm: i64) -> String {
    format!("{} {}", length_number(mm), length_unit())
}

/// `26 to 28 cm`.
pub fn lengths(low_mm: i64, high_mm: i64) -> String {
    format!("{} to {}", length_number(low_mm), length(high_mm))
}

/// A length of common practice, which is rough in any unit: in centimetres or metres as it is said, in inches to a quarter
/// below 4 inches, to a half below 24, else whole.
pub fn about_number(mm: i64) -> String {
    let unit = units().length;
    if unit == LengthUnit::Centimetres {
        return tenths_short(if mm >= 1000 { mm / 100 } else { mm });
    }
    let step_hundredths = match mm {
        ..=101 => 25,
        102..=609 => 50,
        _ => 100,
    };
    let steps = (mm as f64 / 25.4 * 100.0 / f64::from(step_hundredths)).round() as i64;
    let hundredths = steps * i64::from(step_hundredths);
    match (unit, hundredths % 100) {
        (_, 0) => whole(hundredths / 100),
        (LengthUnit::InchDecimals, rest) => decimal(hundredths as f64 / 100.0, if rest == 50 { 1 } else { 2 }),
        (_, rest) => {
            let fraction = ["1/4", "1/2", "3/4"][(rest / 25 - 1) as usize];
            if hundredths < 100 { fraction.to_owned() } else { format!("{} {fraction}", whole(hundredths / 100)) }
        }
    }
}

/// [`about_number`] with its unit.
pub fn about(mm: i64) -> String {
    let unit = if units().length == LengthUnit::Centimetres && mm >= 1000 { "m" } else { length_unit() };
    format!("{} {unit}", about_number(mm))
}

/// A temperature as it is typed and shown, without its unit: `20.5`, `69`.
pub fn temperature_number(dc: i64) -> String {
    tenths_short(shown_tenths(dc))
}

/// A temperature that was read: to its tenth in degrees Celsius.
pub fn temperature_read(dc: i64) -> String {
    match units().temperature {
        TemperatureUnit::Celsius => tenths(dc),
        TemperatureUnit::Fahrenheit => temperature_number(dc),
    }
}

fn shown_tenths(dc: i64) -> i64 {
    match units().temperature {
        TemperatureUnit::Celsius => dc,
        TemperatureUnit::Fahrenheit => units::df_of_dc(dc),
    }
}

/// The sign of the unit of temperatures.
pub fn temperature_unit() -> &'static str {
    match units().temperature {
        TemperatureUnit::Celsius => "°C",
        TemperatureUnit::Fahrenheit => "°F",
    }
}

/// `5 °C`, `41 °F`.
pub fn temperature(dc: i64) -> String {
    format!("{} {}", temperature_number(dc), temperature_unit())
}

// Days and times

/// `Wednesday 25 November`.
pub fn day_long(date: Date) -> String {
    let now = now();
    written(&now.days.long, date, &date.day().to_string(), &now.days.months, &now.days.weekdays)
}

/// `25 Nov`, or `25 Nov 2026`.
pub fn day_short(date: Date, with_year: bool) -> String {
    days_short(&date.day().to_string(), date, with_year)
}

/// Days of one month, to the one given: `8 to 11 Feb`.
pub fn days_of_month(from_day: u32, to: Date, with_year: bool) -> String {
    days_short(&format!("{from_day} to {}", to.day()), to, with_year)
}

fn days_short(days: &str, date: Date, with_year: bool) -> String {
    let now = now();
    let parts = if with_year { &now.days.short_with_year } else { &now.days.short };
    written(parts, date, days, &now.days.months_short, &now.days.weekdays)
}

fn written(parts: &[Part], date: Date, days: &str, months: &[String; 12], weekdays: &[String; 7]) -> String {
    let part = |part: &Part| match part {
        Part::Text(text) => text.clone(),
        Part::Day => days.to_owned(),
        Part::Month => months[month_index(date)].clone(),
        Part::Year => date.year().to_string(),
        Part::Weekday => weekdays[(date.iso_week().weekday as usize + 6) % 7].clone(),
        Part::Hour | Part::Minute | Part::HalfDay => String::new(),
    };
    parts.iter().map(part).collect()
}

/// `Nov`, standing alone.
pub fn month_alone(date: Date) -> String {
    now().days.months_alone[month_index(date)].clone()
}

fn month_index(date: Date) -> usize {
    (date.month() as usize + 11) % 12
}

/// `09:30`.
pub fn time(hour: u32, minute: u32) -> String {
    let now = now();
    let days = &now.days;
    let shown = if days.half_days.is_some() { (hour + 11) % 12 + 1 } else { hour };
    let part = |part: &Part| match part {
        Part::Text(text) => text.clone(),
        Part::Hour if days.hours_padded => format!("{shown:02}"),
        Part::Hour => shown.to_string(),
        Part::Minute => format!("{minute:02}"),
        Part::HalfDay => days.half_days.as_ref().map(|half| half[usize::from(hour >= 12)].clone()).unwrap_or_default(),
        Part::Weekday | Part::Day | Part::Month | Part::Year => String::new(),
    };
    days.time.iter().map(part).collect()
}

// What was typed in other units

/// A length typed in another unit, as it would be typed now. What is no length stays as it is.
pub fn retyped_length(text: &str, typed_in: Units) -> String {
    units::mm_of(text, typed_in.length).map_or_else(|_| text.to_owned(), length_number)
}

/// A temperature typed in another unit, as it would be typed now. What is none stays as it is.
pub fn retyped_temperature(text: &str, typed_in: Units) -> String {
    units::dc_of(text, typed_in.temperature).map_or_else(|_| text.to_owned(), temperature_number)
}

/// A list of lengths typed in another unit.
pub fn retyped_lengths(text: &str, typed_in: Units) -> String {
    let items = units::listed_lengths(text, typed_in.length).into_iter();
    items.map(|item| retyped_length(&item, typed_in)).collect::<Vec<_>>().join(" ")
}

/// Ways of other regions, for tests.
pub mod testing {
    use super::*;

    /// As a phone in the United States writes.
    pub fn american() -> Formats {
        let text = |text: &str| Part::Text(text.to_owned());
        let days = Days::default();
        Formats {
            units: Units::usual_in("US"),
            numbers: Numbers { decimal: ".".to_owned(), grouping: Some(grouping(",")) },
            days: Days {
                long: vec![Part::Weekday, text(", "), Part::Month, text(" "), Part::Day],
                short: vec![Part::Month, text(" "), Part::Day],
                short_with_year: vec![Part::Month, text(" "), Part::Day, text(", "), Part::Year],
                time: vec![Part::Hour, text(":"), Part::Minute, text(" "), Part::HalfDay],
                hours_padded: false,
                half_days: Some(["AM".to_owned(), "PM".to_owned()]),
                ..days
            },
        }
    }

    /// As a phone in Germany writes, in English.
    pub fn german() -> Formats {
        Formats { numbers: Numbers { decimal: ",".to_owned(), grouping: Some(grouping(".")) }, ..Formats::default() }
    }

    fn grouping(mark: &str) -> Grouping {
        Grouping { mark: mark.to_owned(), from_digits: 4, last: 3, other: 3 }
    }

    /// Does something under other rules.
    pub fn under<T>(formats: Formats, act: impl FnOnce() -> T) -> T {
        let before = now();
        set(formats);
        let done = act();
        set((*before).clone());
        done
    }
}

#[cfg(test)]
mod tests {
    use super::testing::{american, german, under};
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> Date {
        text.parse().expect("a day")
    }

    #[test]
    fn a_phone_in_the_united_states_puts_the_month_first_and_counts_hours_to_twelve() {
        let on = day("2026-11-25");
        under(american(), || {
            assert_eq!(day_long(on), "Wednesday, November 25");
            assert_eq!((day_short(on, false), day_short(on, true)), ("Nov 25".into(), "Nov 25, 2026".into()));
            assert_eq!(days_of_month(8, on, true), "Nov 8 to 25, 2026");
            let times = [(0, 5), (9, 30), (12, 0), (23, 59)].map(|(hour, minute)| time(hour, minute));
            assert_eq!(times, ["12:05 AM", "9:30 AM", "12:00 PM", "11:59 PM"]);
        });
        assert_eq!((day_long(on), time(9, 5)), ("Wednesday 25 November".into(), "09:05".into()));
        assert_eq!(days_of_month(8, on, false), "8 to 25 Nov");
    }

    #[test]
    fn numbers_have_the_marks_of_the_region() {
        let numbers =
            || [whole(999), whole(-120_000), decimal(1234.567, 2), decimal(-0.05, 1), tenths(275), tenths_short(280)];
        assert_eq!(numbers(), ["999", "-120000", "1234.57", "-0.1", "27.5", "28"]);
        assert_eq!(under(german(), numbers), ["999", "-120.000", "1.234,57", "-0,1", "27,5", "28"]);
        let mut indian = Formats::default();
        indian.numbers.grouping = Some(Grouping { mark: ",".to_owned(), from_digits: 4, last: 3, other: 2 });
        assert_eq!(under(indian, || whole(1_234_567)), "12,34,567");
        assert_eq!(decimal(f64::INFINITY, 1), "inf");
    }

    #[test]
    fn rough_lengths_are_round_in_any_unit() {
        let said = || [20, 100, 200, 500, 600, 1500, 3000].map(about);
        assert_eq!(said(), ["2 cm", "10 cm", "20 cm", "50 cm", "60 cm", "1.5 m", "3 m"]);
        let inches = ["3/4 in", "4 in", "8 in", "19 1/2 in", "23 1/2 in", "59 in", "118 in"];
        assert_eq!(under(american(), said), inches);
    }

    #[test]
    fn what_was_typed_in_other_units_is_typed_anew() {
        let metric = Units::default();
        under(american(), || {
            assert_eq!(retyped_length("26,7", metric), "10 1/2");
            assert_eq!(retyped_length("26.", metric), "26.");
            assert_eq!(retyped_lengths("26.7 27.9\n?", metric), "10 1/2 11 ?");
            assert_eq!(retyped_temperature("5", metric), "41");
        });
        assert_eq!(retyped_lengths("10 1/2 11", Units::usual_in("US")), "26.7 27.9");
        assert_eq!(retyped_temperature("41", Units::usual_in("US")), "5");
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_as_what_was_stored(
            mm in 0..5000_i64,
            dc in -300..=600_i64,
            length in prop::sample::select(LengthUnit::ALL),
            temperature in prop::sample::select(TemperatureUnit::ALL),
            comma: bool,
        ) {
            let units = Units { length, temperature };
            let numbers = if comma { german().numbers } else { Numbers::default() };
            // A field holds no groups of digits: none of what is typed is as long.
            let numbers = Numbers { grouping: None, ..numbers };
            under(Formats { units, numbers, ..Formats::default() }, || {
                prop_assert_eq!(units::mm_of(&length_number(mm), length).ok(), Some(mm));
                prop_assert_eq!(units::dc_of(&temperature_number(dc), temperature).ok(), Some(dc));
                Ok(())
            })?;
        }
    }
}
