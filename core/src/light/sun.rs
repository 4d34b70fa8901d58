//! Where the sun stands, and when it rises and sets.
//!
//! Low-precision solar coordinates of Meeus 1998, *Astronomical Algorithms*, 2nd edition, chapters 25, 28 and 15: mean
//! longitude L₀ and anomaly M, equation of the centre C, apparent longitude λ corrected for nutation and aberration,
//! obliquity ε, declination sin δ = sin ε sin λ, and the equation of time. Good to about 0.01° from 1950 to 2050.
//! Parallax, 8.8″ at the horizon, is taken off the height. Bending of light as in the solar position algorithm of Reda &
//! Andreas 2004 (Solar Energy 76:577), from Sæmundsson's formula. The sun rises and sets when its centre, unbent, is
//! 0.8333° below the horizon: 34′ of bending and 16′ of its own radius.

use super::Latitude;
use crate::calendar::Date;

/// Height of the sun's centre at sunrise and sunset, degrees.
const AT_THE_HORIZON: f64 = -0.8333;

/// Minutes of a day.
const DAY_MIN: f64 = 1440.0;

/// A place on the earth, in degrees; east is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// Latitude.
    pub latitude: Latitude,
    /// Longitude, −180 to 180.
    pub longitude: f64,
}

/// The sun in the sky, in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// Height above the horizon, without the bending of light.
    pub elevation: f64,
    /// Direction from north over east, 0 to 360.
    pub azimuth: f64,
}

impl Position {
    /// The height as it is seen, bent by air of this pressure (hPa) and temperature (°C).
    pub fn apparent_elevation(&self, pressure_hpa: f64, temperature_c: f64) -> f64 {
        let height = self.elevation;
        if height < AT_THE_HORIZON {
            return height;
        }
        let air = pressure_hpa / 1010.0 * 283.0 / (273.0 + temperature_c);
        let bent = 1.02 / (60.0 * (height + 10.3 / (height + 5.11)).to_radians().tan());
        height + air * bent
    }
}

/// The sun's day at a site, in minutes of universal time after the start of the day that was asked for. They may be
/// negative or above 1440, where the civil day is another one in Greenwich.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunDay {
    /// When the sun is highest.
    pub noon_min: f64,
    /// Its height then, degrees.
    pub highest: f64,
    /// Sunrise and sunset; nothing in a polar day or night.
    pub up_min: Option<(f64, f64)>,
}

impl SunDay {
    /// From sunrise to sunset in hours: 24 in a polar day, 0 in a polar night.
    pub fn hours(&self) -> f64 {
        match self.up_min {
            Some((rise, set)) => (set - rise) / 60.0,
            None if self.highest > AT_THE_HORIZON => 24.0,
            None => 0.0,
        }
    }
}

/// Declination in radians and equation of time in minutes.
struct Sun {
    declination: f64,
    equation_min: f64,
}

/// The sun so many minutes of universal time after the start of a day.
fn sun(date: Date, minute: f64) -> Sun {
    // J2000.0 is noon of 1 January 2000.
    let days = days_since_2000(date) - 0.5 + minute / DAY_MIN;
    let t = days / 36_525.0;
    let longitude = 280.46646 + t * (36000.76983 + t * 0.0003032);
    let anomaly = (357.52911 + t * (35999.05029 - 0.0001537 * t)).to_radians();
    let eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t);
    let centre = anomaly.sin() * (1.914602 - t * (0.004817 + 0.000014 * t))
        + (2.0 * anomaly).sin() * (0.019993 - 0.000101 * t)
        + (3.0 * anomaly).sin() * 0.000289;
    let node = (125.04 - 1934.136 * t).to_radians();
    let apparent = (longitude + centre - 0.00569 - 0.00478 * node.sin()).to_radians();
    let seconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813));
    let mean_obliquity = 23.0 + (26.0 + seconds / 60.0) / 60.0;
    let obliquity = (mean_obliquity + 0.00256 * node.cos()).to_radians();
    let y = (obliquity / 2.0).tan().powi(2);
    let l = longitude.to_radians();
    // Smart's series for the equation of time, radians.
    let equation = y * (2.0 * l).sin() - 2.0 * eccentricity * anomaly.sin()
        + 4.0 * eccentricity * y * anomaly.sin() * (2.0 * l).cos()
        - 0.5 * y * y * (4.0 * l).sin()
        - 1.25 * eccentricity * eccentricity * (2.0 * anomaly).sin();
    Sun {
        declination: (obliquity.sin() * apparent.sin()).asin(),
        // A turn of the sky takes 1440 minutes, so a degree takes four.
        equation_min: equation.to_degrees() * 4.0,
    }
}

fn days_since_2000(date: Date) -> f64 {
    // Both are days of the calendar, so the difference is whole and small.
    Date::new(2000, 1, 1).map_or(0.0, |start| start.days_until(date) as f64)
}

/// Where the sun stands at a site, so many minutes of universal time after the start of a day.
pub fn position(site: Site, date: Date, minute: f64) -> Position {
    let sun = sun(date, minute);
    let hour_angle = (minute + sun.equation_min + 4.0 * site.longitude) / 4.0 - 180.0;
    let (phi, delta, hour) = (site.latitude.radians(), sun.declination, hour_angle.to_radians());
    let sine = phi.sin() * delta.sin() + phi.cos() * delta.cos() * hour.cos();
    let height = sine.clamp(-1.0, 1.0).asin();
    let east = -delta.cos() * hour.sin();
    let north = phi.cos() * delta.sin() - phi.sin() * delta.cos() * hour.cos();
    Position {
        elevation: height.to_degrees() - 8.8 / 3600.0 * height.cos(),
        azimuth: east.atan2(north).to_degrees().rem_euclid(360.0),
    }
}

/// The sun's day whose noon falls on a civil day, where civil time is this far ahead of universal time.
pub fn sun_day(site: Site, date: Date, offset_min: f64) -> SunDay {
    let mut noon = 720.0 - 4.0 * site.longitude;
    // Near the date line noon of the civil day is another day's in Greenwich.
    noon -= DAY_MIN * ((noon + offset_min) / DAY_MIN).floor();
    for _ in 0..3 {
        let found = 720.0 - 4.0 * site.longitude - sun(date, noon).equation_min;
        noon = found + DAY_MIN * ((noon - found) / DAY_MIN).round();
    }
    let rise = crossing(site, date, noon, -1.0);
    let set = crossing(site, date, noon, 1.0);
    SunDay { noon_min: noon, highest: position(site, date, noon).elevation, up_min: rise.zip(set) }
}

/// When the sun crosses the horizon before (−1) or after (1) a noon.
fn crossing(site: Site, date: Date, noon: f64, side: f64) -> Option<f64> {
    let phi = site.latitude.radians();
    let mut minute = noon;
    for _ in 0..6 {
        let sun = sun(date, minute);
        let delta = sun.declination;
        let sine = AT_THE_HORIZON.to_radians().sin();
        let cosine = (sine - phi.sin() * delta.sin()) / (phi.cos() * delta.cos());
        if !(-1.0..=1.0).contains(&cosine) {
            return None;
        }
        let own_noon = 720.0 - 4.0 * site.longitude - sun.equation_min;
        let own_noon = own_noon + DAY_MIN * ((noon - own_noon) / DAY_MIN).round();
        minute = own_noon + side * cosine.acos().to_degrees() * 4.0;
    }
    Some(minute)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_polar_day_and_night_have_no_sunrise() {
        let site = Site { latitude: Latitude::new(78.2).unwrap(), longitude: 15.6 };
        let on = |month, day| sun_day(site, Date::new(2026, month, day).unwrap(), 60.0);
        assert_eq!((on(6, 21).up_min, on(6, 21).hours()), (None, 24.0));
        assert_eq!((on(12, 21).up_min, on(12, 21).hours()), (None, 0.0));
        let spring = on(3, 20).hours();
        assert!((12.0..13.0).contains(&spring), "{spring}");
    }

    /// On either side of the date line noon belongs to the civil day that was asked for.
    #[test]
    fn noon_is_of_the_civil_day() {
        let date = Date::new(2026, 3, 20).unwrap();
        for (longitude, offset_min) in [(179.5, 720.0), (-179.5, -720.0), (-172.0, 840.0)] {
            let latitude = Latitude::new(-17.0).unwrap();
            let day = sun_day(Site { latitude, longitude }, date, offset_min);
            let civil = day.noon_min + offset_min;
            assert!((0.0..1440.0).contains(&civil), "{longitude}: {civil}");
            assert!(day.highest > 70.0 && (12.0..12.3).contains(&day.hours()));
        }
    }
}
