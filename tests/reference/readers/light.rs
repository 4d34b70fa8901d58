//! Length of the day, light above the air, the sun's place and times.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Error;
use bloomdue_core::light::Latitude;
use bloomdue_core::light::day::Day;
use bloomdue_core::light::sun::{Site, position, sun_day};
use bloomdue_core::refusal::{DateRefusal, NumberRefusal};
use serde_json::{Map, Value, json};

use super::refused;

/// Air that the elevations as seen are given for, where a case names no other.
const PRESSURE_HPA: f64 = 1013.25;
const TEMPERATURE_C: f64 = 12.0;

fn number(input: &Value, name: &str) -> f64 {
    input[name].as_f64().unwrap_or(0.0)
}

fn latitude(input: &Value) -> Result<Latitude, Error> {
    let degrees = input["latitude"].as_f64();
    let degrees = degrees.ok_or_else(|| Error::new(NumberRefusal::NoLatitude))?;
    Latitude::new(degrees)
}

fn site(input: &Value) -> Result<Site, Error> {
    Ok(Site { latitude: latitude(input)?, longitude: number(input, "longitude") })
}

fn day_fields(day: &Day) -> Map<String, Value> {
    let mut fields = Map::new();
    for (name, value) in [
        ("inverse_relative_distance", day.inverse_relative_distance),
        ("declination_rad", day.declination),
        ("sunset_hour_angle_rad", day.sunset_hour_angle),
        ("ra_mj_m2_day", day.above_the_air()),
        ("daylight_hours", day.hours()),
    ] {
        fields.insert(name.to_owned(), json!(value));
    }
    fields
}

/// The tables and examples of FAO-56, by days of the year; and one place of the sun.
pub(super) fn solar(input: &Value, _: &Value) -> Value {
    if input["time_utc"].is_string() {
        return solar_position(input).unwrap_or_else(refused);
    }
    let latitude = match latitude(input) {
        Ok(latitude) => latitude,
        Err(why) => return refused(why),
    };
    let of_year = |day: &Value| {
        let day = day.as_u64().and_then(|day| u32::try_from(day).ok());
        Day::of_year(latitude, day.unwrap_or(0))
    };
    match input["days_of_year"].as_array() {
        Some(days) => json!({
            "ra_mj_m2_day_by_month": days.iter().map(|day| of_year(day).above_the_air()).collect::<Vec<f64>>(),
            "daylight_hours_by_month": days.iter().map(|day| of_year(day).hours()).collect::<Vec<f64>>(),
        }),
        None => Value::Object(day_fields(&of_year(&input["day_of_year"]))),
    }
}

/// `2003-10-17T19:30:30Z` as its day and minutes.
fn moment(text: &str) -> Result<(Date, f64), Error> {
    let wrong = || Error::new(DateRefusal::NoTime(text.to_owned()));
    let (day, time) = text.trim_end_matches('Z').split_once('T').ok_or_else(wrong)?;
    let parts: Vec<f64> = time.split(':').map_while(|part| part.parse().ok()).collect();
    let [hours, minutes, seconds] = parts.as_slice() else {
        return Err(wrong());
    };
    Ok((day.parse()?, hours * 60.0 + minutes + seconds / 60.0))
}

fn solar_position(input: &Value) -> Result<Value, Error> {
    let site = site(input)?;
    let (date, minute) = moment(input["time_utc"].as_str().unwrap_or_default())?;
    let sun = position(site, date, minute);
    let seen = sun.apparent_elevation(number(input, "pressure_pa") / 100.0, number(input, "temperature_c"));
    let offset_min = number(input, "utc_offset_hours") * 60.0;
    // The published sunrise and sunset are those that fall on the day of universal time, so west of Greenwich the sunset
    // is that of the civil day before.
    let days = [(date.add_days(-1)?, -1440.0), (date, 0.0)];
    let days = days.map(|(day, start)| sun_day(site, day, offset_min).up_min.map(|up| (start, up)));
    let within = |pick: fn((f64, f64)) -> f64| {
        let found = days.iter().flatten().map(|(start, up)| start + pick(*up));
        found.into_iter().find(|minute| (0.0..1440.0).contains(minute))
    };
    let local = |minute: f64| {
        let seconds = ((minute + offset_min) * 60.0).round() as i64;
        let time = seconds.rem_euclid(86_400);
        format!("{:02}:{:02}:{:02}", time / 3600, time / 60 % 60, time % 60)
    };
    Ok(json!({
        "apparent_zenith_deg": 90.0 - seen,
        "azimuth_deg": sun.azimuth,
        "sunrise_local": within(|up| up.0).map(local),
        "sunset_local": within(|up| up.1).map(local),
    }))
}

/// FAO-56's closed forms, with the light under a clear sky.
pub(super) fn fao56(input: &Value, _: &Value) -> Value {
    let latitude = match latitude(input) {
        Ok(latitude) => latitude,
        Err(why) => return refused(why),
    };
    let day = input["day_of_year"].as_u64();
    let day = day.and_then(|day| u32::try_from(day).ok()).unwrap_or(0);
    let day = Day::of_year(latitude, day);
    let altitude_m = number(input, "altitude_m");
    let (share, umol) = (number(input, "par_fraction"), number(input, "umol_per_joule_par"));
    let mut fields = day_fields(&day);
    fields.insert("rso_mj_m2_day".to_owned(), json!(day.clear_sky(altitude_m)));
    let dli = day.clear_sky_dli(altitude_m, share, umol);
    fields.insert("clear_sky_dli_mol_m2_day".to_owned(), json!(dli));
    Value::Object(fields)
}

/// The sun's day at a site. The moments of the positions stand in the case's expectation, so they are read from there.
pub(super) fn sun_times(input: &Value, file: &Value) -> Value {
    times(input, file).unwrap_or_else(refused)
}

fn times(input: &Value, file: &Value) -> Result<Value, Error> {
    let site = site(input)?;
    let date: Date = input["date_local"].as_str().unwrap_or_default().parse()?;
    let day = sun_day(site, date, number(input, "utc_offset_hours") * 60.0);
    let at = |minute: f64| -> Result<Value, Error> {
        let seconds = (minute * 60.0).round() as i64;
        let day = date.add_days(seconds.div_euclid(86_400))?;
        let time = seconds.rem_euclid(86_400);
        let (hour, minute, second) = (time / 3600, time / 60 % 60, time % 60);
        Ok(json!(format!("{day}T{hour:02}:{minute:02}:{second:02}Z")))
    };
    let (rise, set, hours) = match day.up_min {
        Some((rise, set)) => (at(rise)?, at(set)?, json!(day.hours())),
        None => (refused("no sunrise"), refused("no sunset"), refused("all day or all night")),
    };
    let polar = match (day.up_min, day.hours() > 0.0) {
        (Some(_), _) => "no",
        (None, true) => "day",
        (None, false) => "night",
    };
    let cases = file["cases"].as_array().map(Vec::as_slice).unwrap_or_default();
    let case = cases.iter().find(|case| &case["input"] == input);
    let asked = case.and_then(|case| case["expected"]["positions"].as_array());
    let asked = asked.map(Vec::as_slice).unwrap_or_default();
    let mut positions = Vec::new();
    for one in asked {
        let (date, minute) = moment(one["time_utc"].as_str().unwrap_or_default())?;
        let sun = position(site, date, minute);
        positions.push(json!({
            "time_utc": one["time_utc"],
            "elevation_deg": sun.elevation,
            "apparent_elevation_deg": sun.apparent_elevation(PRESSURE_HPA, TEMPERATURE_C),
            "azimuth_deg": sun.azimuth,
        }));
    }
    let dli = Day::on(site.latitude, date).clear_sky_dli(
        number(input, "altitude_m"),
        bloomdue_core::light::day::PAR_FRACTION,
        bloomdue_core::light::day::UMOL_PER_JOULE,
    );
    Ok(json!({
        "sunrise_utc": rise,
        "sunset_utc": set,
        "solar_noon_utc": at(day.noon_min)?,
        "day_length_hours": hours,
        "positions": positions,
        "max_elevation_deg": day.highest,
        "polar": polar,
        "dli_estimates_mol_m2_day": { "fao56_rso": dli },
    }))
}
