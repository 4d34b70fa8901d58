//! Words of where the nursery lies, and of the light its tries had.

use bloomdue_core::calendar::Date;
use bloomdue_core::trial::conditions::DayLengths;

use crate::dates::date_short;
use crate::formats;

labels! {
    heading = "The nursery";
    name = "Name of the nursery";
    latitude_label = "Latitude in degrees, if wished";
    side = "Of the equator";
    north = "north";
    south = "south";
    saved = "Nursery saved";
    light = "Place and light";
    how =
        "Daylight is the time for which the middle of the sun is above a flat horizon, from the latitude and the \
         day (FAO-56, equations 24, 25 and 34). Cloud, walls and covers are not in it.";
}

pub fn latitude_hint() -> String {
    format!(
        "From any map, such as {}. Then the length of the day stands beside each try. A tenth of a degree, some ten kilometres, is as close as it is kept.",
        number(523)
    )
}

/// `52.3° north`.
pub fn latitude(decideg: i64) -> String {
    let side = if decideg < 0 { south() } else { north() };
    format!("{}° {side}", number(decideg))
}

/// The number alone, as it is typed.
pub fn number(decideg: i64) -> String {
    let size = decideg.abs();
    formats::tenths(size)
}

/// How long days were.
pub fn day_lengths(light: &DayLengths, today: Date) -> String {
    let day = |on: Date| date_short(on, today);
    let ends = format!("Daylight lasted {} on {}", hours(light.from_hours), day(light.from));
    let ends = if light.from == light.to {
        ends
    } else {
        format!("{ends} and {} on {}", hours(light.to_hours), day(light.to))
    };
    let (low, high) = (light.from_hours.min(light.to_hours), light.from_hours.max(light.to_hours));
    // A quarter of an hour beyond both ends is worth a word.
    let mut beyond = Vec::new();
    if light.shortest_hours < low - 0.25 {
        beyond.push(format!("the shortest day {}", hours(light.shortest_hours)));
    }
    if light.longest_hours > high + 0.25 {
        beyond.push(format!("the longest {}", hours(light.longest_hours)));
    }
    if beyond.is_empty() { format!("{ends}.") } else { format!("{ends}; between them {}.", beyond.join(", ")) }
}

fn hours(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    format!("{} h {:02} min", minutes / 60, minutes % 60)
}
