//! Words of where the nursery lies, and of the light its tries had.

use bloomdue_core::calendar::Date;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::conditions::DayLengths;
use bloomdue_core::trial::warmth::{GroupWarmth, Stretch, TEMPERATURES_MIN, Warmth};

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
    light = "Place, light, warmth";
    how =
        "Daylight is the time for which the middle of the sun is above a flat horizon, from the latitude and the \
         day (FAO-56, equations 24, 25 and 34). Cloud, walls and covers are not in it.";
    how_warm =
        "Temperatures are means of the days that were read where the bulbs stood; up to 4 days between two readings are filled in on a straight line. Degree-hours count from 0 °C: no base temperature is published.";
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

/// A temperature that is a mean, °C.
fn degrees(c: f64) -> String {
    formats::temperature((c * 10.0).round() as i64)
}

fn stretch(stretch: Stretch) -> &'static str {
    match stretch {
        Stretch::Rest => "at rest",
        Stretch::ToScape => "to the stalk",
        Stretch::ToFlower => "stalk to flower",
    }
}

fn warmth_in(of: &Warmth) -> Option<String> {
    let mean = degrees(of.mean_c?);
    let ends = of.ends_dc.filter(|(low, high)| low < high);
    let ends = ends.map(|(low, high)| format!(" ({} to {})", formats::temperature(low), formats::temperature(high)));
    let damp = of.humidity_percent.map(|percent| format!(", {} % humidity", formats::decimal(percent, 0)));
    Some(format!(
        "{} {mean}{}{}, {} degree-hours, {} of {} bulb days known",
        stretch(of.stretch),
        ends.unwrap_or_default(),
        damp.unwrap_or_default(),
        formats::decimal(of.degree_hours, 0),
        of.n_known,
        of.n_days
    ))
}

/// How warm and damp a group had it, stage by stage; nothing where nothing was read.
pub fn warmth(group: &GroupWarmth, state: &State) -> Option<String> {
    let stages: Vec<String> = group.stretches.iter().filter_map(warmth_in).collect();
    (!stages.is_empty()).then(|| format!("{}: {}.", state.name_of(group.group), stages.join("; ")))
}

/// Whether warmth could be fitted: at how many temperatures each stage was seen.
pub fn enough(seen: &[(Stretch, usize)]) -> String {
    let stages: Vec<String> = seen.iter().map(|(of, n)| format!("{} {n}", stretch(*of))).collect();
    format!(
        "Forecasts don't use warmth yet. A rate of growth takes {TEMPERATURES_MIN} temperatures for a stage; seen so far: {}.",
        stages.join(", ")
    )
}

/// `8 h 27 min`.
pub(crate) fn hours(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    format!("{} h {:02} min", minutes / 60, minutes % 60)
}
