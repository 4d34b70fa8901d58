//! The device's clock: the only place the app learns what time it is.

use js_sys::Date;
use wasm_bindgen::JsValue;

/// Milliseconds since 1970-01-01 in UTC, as this device believes.
pub(crate) fn now_ms() -> i64 {
    whole(Date::now())
}

/// Minutes that local time is ahead of UTC at a moment: 60 in Berlin in winter, negative west of Greenwich.
pub(crate) fn offset_minutes(at_ms: i64) -> i32 {
    // The browser counts the other way round.
    -i32::try_from(whole(date(at_ms).get_timezone_offset())).unwrap_or_default()
}

/// The civil date here and now, as `2026-11-25`.
pub(crate) fn today() -> String {
    civil_date(now_ms())
}

/// The civil date in local time at a moment, as `2026-11-25`.
pub(crate) fn civil_date(at_ms: i64) -> String {
    let date = date(at_ms);
    let (year, month, day) = (date.get_full_year(), date.get_month() + 1, date.get_date());
    format!("{year:04}-{month:02}-{day:02}")
}

/// The time of day in local time at a moment, as `07:40`.
pub(crate) fn time_of_day(at_ms: i64) -> String {
    let date = date(at_ms);
    format!("{:02}:{:02}", date.get_hours(), date.get_minutes())
}

#[expect(
    clippy::cast_precision_loss,
    reason = "milliseconds of any year a device knows are far below 2^53"
)]
fn date(at_ms: i64) -> Date {
    Date::new(&JsValue::from_f64(at_ms as f64))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "the browser's times are whole and far below 2^53"
)]
fn whole(number: f64) -> i64 {
    number as i64
}
