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
//! - on the ground R_s = (0.25 + 0.50 n/N) R_a for n hours of sunshine (35): a quarter under a sky that is overcast all day,
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

    /// Light on the ground on a day with so many hours of sunshine, MJ/m² and day. Nothing more than the length of the day
    /// shines; where the sun does not rise there is none.
    pub fn on_the_ground(&self, sunshine_hours: f64) -> f64 {
        let hours = self.hours();
        let share = if hours > 0.0 { (sunshine_hours / hours).clamp(0.0, 1.0) } else { 0.0 };
        (0.25 + 0.5 * share) * self.above_the_air()
    }

    /// Daily light integral in the open under a sky that is overcast all day, mol/m² and day.
    pub fn overcast_dli(&self) -> f64 {
        self.on_the_ground(0.0) * PAR_FRACTION * UMOL_PER_JOULE
    }

    /// The same under a clear sky at sea level.
    pub fn clear_dli(&self) -> f64 {
        self.clear_sky_dli(0.0, PAR_FRACTION, UMOL_PER_JOULE)
    }

    /// Daily light integral under a clear sky in the open, mol/m² and day.
    pub fn clear_sky_dli(&self, altitude_m: f64, par_fraction: f64, umol_per_joule: f64) -> f64 {
        self.clear_sky(altitude_m) * par_fraction * umol_per_joule
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FAO-56, example 10: Rio de Janeiro, 22°54′ S, 15 May (day 135), 220 hours of sunshine in the month, R_a 25.1 and R_s
    /// 14.5 MJ/m² and day (from memory).
    #[test]
    fn the_ground_gets_what_sunshine_hours_say() {
        let rio = Day::of_year(Latitude::new(-22.9).unwrap(), 135);
        assert!((rio.above_the_air() - 25.1).abs() < 0.05, "{}", rio.above_the_air());
        assert!((rio.on_the_ground(220.0 / 31.0) - 14.5).abs() < 0.05, "{}", rio.on_the_ground(220.0 / 31.0));
        // Overcast it is a third of a clear day at sea level.
        assert!((rio.overcast_dli() * 3.0 - rio.clear_dli()).abs() < 1e-9);
        let night = Day::of_year(Latitude::new(80.0).unwrap(), 355);
        assert_eq!((night.on_the_ground(5.0), night.overcast_dli(), night.clear_dli()), (0.0, 0.0, 0.0));
    }

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
