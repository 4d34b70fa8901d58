//! Weeks and Easter.

use bloomdue_core::calendar;
use serde_json::{Value, json};

use super::refused;

/// The ISO week date of a day.
pub(super) fn iso_week(input: &Value, _: &Value) -> Value {
    let day = input["date"].as_str().unwrap_or_default();
    match calendar::iso_week_of(day) {
        Ok(week) => {
            json!({"iso_year": week.year, "iso_week": week.week, "iso_weekday": week.weekday})
        }
        Err(error) => refused(error),
    }
}

/// Easter Sunday of a year.
pub(super) fn easter(input: &Value, _: &Value) -> Value {
    let year = input["year"].as_i64().and_then(|year| i32::try_from(year).ok());
    let Some(year) = year else {
        return refused("no year");
    };
    match calendar::easter_sunday(year) {
        Ok((month, day)) => json!({ "date": format!("{year:04}-{month:02}-{day:02}") }),
        Err(error) => refused(error),
    }
}
