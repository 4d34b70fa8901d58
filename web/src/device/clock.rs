//! The device's clock: the present in milliseconds, and the grower's civil day and minute.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Result;
use js_sys::Date as JsDate;

/// Milliseconds since 1970-01-01 UTC.
pub(crate) fn now_ms() -> f64 {
    JsDate::now()
}

/// Milliseconds on a clock that only ever goes on, whatever becomes of the device's date: for how long something takes.
pub(crate) fn ticks_ms() -> f64 {
    super::window().performance().map_or_else(now_ms, |clock| clock.now())
}

/// The civil day on this device, for what is shown. A clock outside the years that records know reads as their first
/// day; [`outside`] tells, and nothing is recorded with it before it is set.
pub(crate) fn today() -> Date {
    civil(&JsDate::new_0()).unwrap_or_else(|_| first_day())
}

/// The day that the clock shows, when records know no such day.
pub(crate) fn outside() -> Option<String> {
    let now = JsDate::new_0();
    let day = || format!("{}-{:02}-{:02}", now.get_full_year() as i32, now.get_month() + 1, now.get_date());
    civil(&now).is_err().then(day)
}

fn civil(now: &JsDate) -> Result<Date> {
    // A year before our era comes as a great number.
    Date::new(now.get_full_year() as i32, now.get_month() + 1, now.get_date())
}

fn first_day() -> Date {
    // 1 January 1990 is a day and lies within the limits; a build where it did not would fail its first test.
    Date::new(1990, 1, 1).unwrap_or_else(|_| unreachable!("the calendar begins in 1990"))
}

/// Minutes since midnight, as the device's clock shows them.
pub(crate) fn minute_of_day() -> u16 {
    let now = JsDate::new_0();
    (now.get_hours() * 60 + now.get_minutes()) as u16
}

/// Minutes that civil time here is ahead of UTC.
pub(crate) fn offset_min() -> i16 {
    -(JsDate::new_0().get_timezone_offset() as i16)
}

/// A moment of the device's clock as civil time here: `2026-11-25 08:40`.
pub(crate) fn written(ms: u64) -> String {
    let at = JsDate::new(&wasm_bindgen::JsValue::from_f64(ms as f64));
    let (year, month, day) = (at.get_full_year(), at.get_month() + 1, at.get_date());
    format!("{year}-{month:02}-{day:02} {:02}:{:02}", at.get_hours(), at.get_minutes())
}
