//! Light from the sky: how long a day is, where the sun stands, how much light a day gives in the open and under covers.
//!
//! Angles are in degrees at the door and radians inside; north and east are positive. Nothing here knows the weather.

pub mod day;
pub mod meter;
pub mod place;
pub mod sun;

use crate::{
    error::{Error, Result},
    refusal::NumberRefusal,
};

/// A geographic latitude, from −90 (south pole) to 90 degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Latitude(f64);

impl Latitude {
    /// A latitude in degrees.
    ///
    /// # Errors
    /// When it is not from −90 to 90.
    pub fn new(degrees: f64) -> Result<Self> {
        if (-90.0..=90.0).contains(&degrees) {
            return Ok(Self(degrees));
        }
        Err(Error::new(NumberRefusal::NoLatitude))
    }

    fn radians(self) -> f64 {
        self.0.to_radians()
    }
}
