//! How the device's region writes numbers, days and times, as its browser knows it, and the units chosen on this device.
//!
//! The program speaks English, so that the rules are those of English in the region that the browser names: `en-DE` on a
//! German phone.

use bloomdue_core::units::{LengthUnit, TemperatureUnit};
use bloomdue_words::formats::{Days, Formats, Grouping, Numbers, Part, Units};
use js_sys::{Array, Date as JsDate, Intl, Object, Reflect};
use wasm_bindgen::JsValue;
use web_sys::{Event, StorageEvent};

use super::{get, has, listen, prefs, window};

/// The choices of this device, by the names under which it keeps them.
const LENGTHS: &str = "lengths";
const TEMPERATURES: &str = "temperatures";

/// Everything as this device writes it. What its browser does not tell is as [`Formats::default`] has it.
pub(crate) fn formats() -> Formats {
    let language = window().navigator().language().unwrap_or_default();
    let usual = region(&language).as_deref().map_or_else(Units::default, Units::usual_in);
    let units = usual.of_words(prefs::get(LENGTHS).as_deref(), prefs::get(TEMPERATURES).as_deref());
    if !has(&js_sys::global(), "Intl") {
        return Formats { units, ..Formats::default() };
    }
    let locale = locale(&language);
    Formats { units, numbers: numbers(&locale), days: days(&locale).unwrap_or_default() }
}

/// Keeps a choice of units on this device.
pub(crate) fn choose(length: LengthUnit, temperature: TemperatureUnit) {
    prefs::set(LENGTHS, length.word());
    prefs::set(TEMPERATURES, temperature.word());
}

/// Calls when another tab chose other units, or the device's language changed.
pub(crate) fn on_change(changed: impl Fn() + Clone + 'static) {
    let also = changed.clone();
    listen(&window(), "storage", move |event: StorageEvent| {
        let ours = |key: String| [LENGTHS, TEMPERATURES].iter().any(|name| prefs::is_of(name, &key));
        if event.key().is_some_and(ours) {
            also();
        }
    });
    listen(&window(), "languagechange", move |_: Event| changed());
}

/// The region that a language names itself, by its two letters.
fn region(language: &str) -> Option<String> {
    let parts = language.split('-').skip(1).take_while(|part| part.len() > 1);
    let mut regions = parts.filter(|part| part.len() == 2 && part.bytes().all(|b| b.is_ascii_alphabetic()));
    regions.next().map(str::to_ascii_uppercase)
}

/// English in the region of this language. One that names no region is taken for that of most who speak it.
fn locale(language: &str) -> String {
    let likely = || Intl::Locale::new(language).ok()?.maximize().region().map(String::from);
    match region(language).or_else(likely) {
        Some(region) => format!("en-{region}-u-ca-gregory-nu-latn"),
        None => "en-u-ca-gregory-nu-latn".to_owned(),
    }
}

fn numbers(locale: &str) -> Numbers {
    let options = options(&[("minimumFractionDigits", "1")]);
    let format = Intl::NumberFormat::new(&Array::of1(&locale.into()), &options);
    let parts = |n: f64| parts_of(&format.format_to_parts(n));
    let million = parts(1_234_567.5);
    let decimal = million.iter().find(|(kind, _)| kind == "decimal").map(|(_, text)| text.clone());
    let Some(decimal) = decimal else {
        return Numbers::default();
    };
    let groups: Vec<usize> =
        million.iter().filter(|(kind, _)| kind == "integer").map(|(_, digits)| digits.len()).collect();
    let mark = million.iter().find(|(kind, _)| kind == "group").map(|(_, text)| text.clone());
    let is_grouped = |n: f64| parts(n).iter().any(|(kind, _)| kind == "group");
    let grouping = mark.and_then(|mark| {
        let [.., other, last] = groups.as_slice() else {
            return None;
        };
        // Some regions leave four digits whole.
        let from_digits = if is_grouped(1234.5) { last + 1 } else { last + 2 };
        // Of one group before the last only its least length is known.
        let other = if groups.len() > 2 { *other } else { *last };
        Some(Grouping { mark, from_digits, last: *last, other })
    });
    Numbers { decimal, grouping }
}

/// Nothing where the browser leaves out what every day has.
fn days(locale: &str) -> Option<Days> {
    let long = day_format(locale, &[("weekday", "long"), ("day", "numeric"), ("month", "long")]);
    let short = day_format(locale, &[("day", "numeric"), ("month", "short")]);
    let with_year = day_format(locale, &[("day", "numeric"), ("month", "short"), ("year", "numeric")]);
    let alone = day_format(locale, &[("month", "short")]);
    let time = day_format(locale, &[("hour", "numeric"), ("minute", "2-digit")]);
    // The first of January 2024 was a Monday.
    let months = |format: &Intl::DateTimeFormat| twelve(|at| named(format, "month", u32::from(at), 1));
    let weekdays: Vec<String> = (1..=7).map_while(|day| named(&long, "weekday", 0, day)).collect();
    let half_days = [9, 21].map(|hour| part(&time, "dayPeriod", at(0, 1, hour)));
    let days = Days {
        long: order(&long)?,
        short: order(&short)?,
        short_with_year: order(&with_year)?,
        time: order(&time)?,
        months: months(&long)?,
        months_short: months(&short)?,
        months_alone: months(&alone)?,
        weekdays: weekdays.try_into().ok()?,
        hours_padded: part(&time, "hour", at(0, 1, 9))?.len() > 1,
        half_days: match half_days {
            [Some(before), Some(after)] => Some([before, after]),
            _ => None,
        },
    };
    let says = |parts: &[Part], all: &[Part]| all.iter().all(|part| parts.contains(part));
    let is_whole = says(&days.long, &[Part::Weekday, Part::Day, Part::Month])
        && says(&days.short, &[Part::Day, Part::Month])
        && says(&days.short_with_year, &[Part::Day, Part::Month, Part::Year])
        && says(&days.time, &[Part::Hour, Part::Minute]);
    is_whole.then_some(days)
}

fn twelve(name: impl Fn(u8) -> Option<String>) -> Option<[String; 12]> {
    (0..12).map_while(name).collect::<Vec<_>>().try_into().ok()
}

fn day_format(locale: &str, asked: &[(&str, &str)]) -> Intl::DateTimeFormat {
    let asked: Vec<_> = asked.iter().copied().chain([("timeZone", "UTC")]).collect();
    Intl::DateTimeFormat::new(&Array::of1(&locale.into()), &options(&asked))
}

fn options(asked: &[(&str, &str)]) -> Object {
    let options = Object::new();
    for (name, value) in asked {
        // A plain object takes any property.
        let _ = Reflect::set(&options, &JsValue::from_str(name), &JsValue::from_str(value));
    }
    options
}

/// A moment of 2024, in UTC.
fn at(month: u32, day: u32, hour: u32) -> JsDate {
    let at = JsDate::new(&JsValue::from_f64(START_OF_2024_MS));
    at.set_utc_month(month);
    at.set_utc_date(day);
    at.set_utc_hours(hour);
    at.set_utc_minutes(5);
    at
}

const START_OF_2024_MS: f64 = 1_704_067_200_000.0;

/// What a format puts in which order.
fn order(format: &Intl::DateTimeFormat) -> Option<Vec<Part>> {
    let parts = parts_of(&format.format_to_parts(&at(0, 1, 9))).into_iter();
    let part = |(kind, text): (String, String)| match kind.as_str() {
        "weekday" => Part::Weekday,
        "day" => Part::Day,
        "month" => Part::Month,
        "year" => Part::Year,
        "hour" => Part::Hour,
        "minute" => Part::Minute,
        "dayPeriod" => Part::HalfDay,
        // Some browsers part a time from its half of the day by a space narrower than others.
        _ => Part::Text(text.replace('\u{202f}', "\u{a0}")),
    };
    let parts: Vec<Part> = parts.map(part).collect();
    (!parts.is_empty()).then_some(parts)
}

fn named(format: &Intl::DateTimeFormat, kind: &str, month: u32, day: u32) -> Option<String> {
    part(format, kind, at(month, day, 12))
}

fn part(format: &Intl::DateTimeFormat, kind: &str, at: JsDate) -> Option<String> {
    let parts = parts_of(&format.format_to_parts(&at)).into_iter();
    parts.filter(|(known, _)| known == kind).map(|(_, text)| text).next()
}

/// The kinds of what was written and their texts.
fn parts_of(parts: &Array) -> Vec<(String, String)> {
    let text = |part: &JsValue, name: &str| get(part, name).as_string().unwrap_or_default();
    parts.iter().map(|part| (text(&part, "type"), text(&part, "value"))).collect()
}
