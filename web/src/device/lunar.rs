//! New Year by the lunar calendar, where the device's own calendar knows it.

use bloomdue_core::calendar::Date;
use js_sys::Intl::{DateTimeFormat, DateTimeFormatOptions, DayFormat, MonthFormat};
use js_sys::{Array, JsString, Object, Reflect};
use wasm_bindgen::{JsCast, JsValue};

/// It falls between 20 January and 21 February.
const FIRST: (u32, u32) = (1, 20);
const N_DAYS: i64 = 34;

/// Its days in the year of a day and in the next; none where the device keeps no lunar calendar.
pub(crate) fn new_years(today: Date) -> Vec<Date> {
    let format = DateTimeFormat::new(&Array::of1(&JsValue::from("en-u-ca-chinese")), &options());
    if text(&format.resolved_options(), "calendar").as_deref() != Some("chinese") {
        return Vec::new();
    }
    let first_of = |year: i32| Date::new(year, FIRST.0, FIRST.1).ok();
    let days = |first: Date| (0..N_DAYS).filter_map(move |n| first.add_days(n).ok());
    let is_first = |day: &Date| {
        let parts = format.format_to_parts(&js_sys::Date::new(&JsValue::from(format!("{day}T12:00:00Z"))));
        let part = |kind: &str| {
            let found = parts.iter().find(|part| text(part, "type").as_deref() == Some(kind))?;
            text(&found, "value")
        };
        part("month").as_deref() == Some("1") && part("day").as_deref() == Some("1")
    };
    let years = [today.year(), today.year() + 1];
    years.into_iter().filter_map(first_of).filter_map(|first| days(first).find(is_first)).collect()
}

fn options() -> DateTimeFormatOptions {
    let options: DateTimeFormatOptions = Object::new().unchecked_into();
    options.set_month(MonthFormat::Numeric);
    options.set_day(DayFormat::Numeric);
    options.set_time_zone("UTC");
    options
}

fn text(of: &JsValue, name: &str) -> Option<String> {
    let value = Reflect::get(of, &JsString::from(name)).ok()?;
    value.as_string()
}
