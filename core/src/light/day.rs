//! The length of a day and the light above the air, by the closed forms of FAO-56.
//!
//! Allen RG, Pereira LS, Raes D, Smith M 1998, *Crop evapotranspiration*, FAO Irrigation and Drainage Paper 56, chapter 3.
//! With J the day of the year and φ the latitude:
//!
//! - inverse relative distance to the sun d_r = 1 + 0.033 cos(2πJ/365) (equation 23),
//! - declination δ = 0.409 sin(2πJ/365 − 1.39) (24),
//! - hour angle of the sunset ω_s = arccos(−tan φ tan δ) (25), 0 in a polar night and π in a polar day,
//! - light above the air R_a = (24·60/π) · 0.0820 · d_r · (ω_s sin φ sin δ + cos φ cos δ sin ω_s) (21), MJ/m² and day,
//! - length of the day N = 24 ω_s/π (34),
//! - on the ground under a clear sky R_so = (0.75 + 2·10⁻⁵ z) R_a (37), z the altitude in metres.
//!
//! N is the time for which the sun's centre is above a flat horizon without the bending of light; the almanac's time
//! from sunrise to sunset ([`super::sun`]) is some ten minutes longer.

use std::f64::consts::PI;

use super::Latitude;
use crate::calendar::Date;

/// Solar constant, MJ/m² and minute.
const SOLAR_CONSTANT: f64 = 0.0820;

/// Photosynthetically active share of sunlight's energy (Meek and others 1984, Agronomy Journal 76:939).
pub const PAR_FRACTION: f64 = 0.45;

/// µmol of photons in a joule of that share of sunlight (Thimijan & Heins 1983, HortScience 18:818).
pub const UMOL_PER_JOULE: f64 = 4.57;

/// A day at a latitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// Inverse relative distance to the sun.
    pub inverse_relative_distance: f64,
    /// Declination of the sun, radians.
    pub declination: f64,
    /// Hour angle of the sunset, radians, 0 to π.
    pub sunset_hour_angle: f64,
    latitude: f64,
}

impl Day {
    /// The day of a year, 1 to 366.
    pub fn of_year(latitude: Latitude, day_of_year: u32) -> Self {
        let turn = 2.0 * PI * f64::from(day_of_year) / 365.0;
        let declination = 0.409 * (turn - 1.39).sin();
        let latitude = latitude.radians();
        let cosine = -latitude.tan() * declination.tan();
        Self {
            inverse_relative_distance: 1.0 + 0.033 * turn.cos(),
            declination,
            sunset_hour_angle: cosine.clamp(-1.0, 1.0).acos(),
            latitude,
        }
    }

    /// A civil day.
    pub fn on(latitude: Latitude, date: Date) -> Self {
        Self::of_year(latitude, date.day_of_year())
    }

    /// Length of the day in hours, 0 to 24.
    pub fn hours(&self) -> f64 {
        24.0 / PI * self.sunset_hour_angle
    }

    /// Light on a level plane above the air, MJ/m² and day.
    pub fn above_the_air(&self) -> f64 {
        let (phi, delta, omega) = (self.latitude, self.declination, self.sunset_hour_angle);
        let path = omega * phi.sin() * delta.sin() + phi.cos() * delta.cos() * omega.sin();
        (24.0 * 60.0 / PI * SOLAR_CONSTANT * self.inverse_relative_distance * path).max(0.0)
    }

    /// The same on the ground under a clear sky, at an altitude in metres.
    pub fn clear_sky(&self, altitude_m: f64) -> f64 {
        (0.75 + 2e-5 * altitude_m) * self.above_the_air()
    }

    /// Daily light integral under a clear sky in the open, mol/m² and day.
    pub fn clear_sky_dli(&self, altitude_m: f64, par_fraction: f64, umol_per_joule: f64) -> f64 {
        self.clear_sky(altitude_m) * par_fraction * umol_per_joule
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At the poles the closed form divides nothing by nothing; a day there is all day, all night, or as good as half.
    #[test]
    fn poles_and_bounds() {
        for degrees in [-90.0, -89.999, -66.6, 0.0, 66.6, 89.999, 90.0] {
            let latitude = Latitude::new(degrees).unwrap();
            for day in 1..=366 {
                let day = Day::of_year(latitude, day);
                assert!((0.0..=24.0).contains(&day.hours()), "{degrees} {day:?}");
                assert!((0.0..60.0).contains(&day.above_the_air()), "{degrees} {day:?}");
            }
        }
        let north = Latitude::new(90.0).unwrap();
        assert_eq!(Day::of_year(north, 172).hours(), 24.0);
        assert_eq!(Day::of_year(north, 355).hours(), 0.0);
        for wrong in [90.1, -91.0, f64::NAN, f64::INFINITY] {
            assert!(Latitude::new(wrong).is_err());
        }
    }
}
