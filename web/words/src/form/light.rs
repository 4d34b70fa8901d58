//! A reading of light as it is typed.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, Light, LightOf};
use serde::{Deserialize, Serialize};

use super::{Problem, filled, whole};

/// What a meter says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Meter {
    Lux,
    Ppfd,
}

/// What the fields hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub of: LightOf,
    pub meter: Meter,
    pub here: String,
    pub open: String,
}

impl Typed {
    /// The reading.
    ///
    /// # Errors
    /// What is no whole number, beside its field.
    pub fn body(&self) -> Result<Body, Problem> {
        let number = |text: &str| filled(text).map(|text| whole(Field::Light, &text)).transpose();
        let (here, open) = (number(&self.here)?, number(&self.open)?);
        // A lamp is not read beside the open.
        let open = open.filter(|_| self.of == LightOf::Sun);
        let of = Some(self.of);
        Ok(Body::Light(match self.meter {
            Meter::Lux => Light { lux: here, open_lux: open, of, ..Light::default() },
            Meter::Ppfd => Light { ppfd_umol: here, open_ppfd_umol: open, of, ..Light::default() },
        }))
    }
}

/// Shade read from two photos as a reading.
pub fn by_photos(percent: u32) -> Body {
    let passes_permille = Some(1000 - 10 * i64::from(percent.min(100)));
    Body::Light(Light { passes_permille, of: Some(LightOf::Sun), ..Light::default() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_beside_the_open_is_of_one_meter_and_of_the_sun() {
        let typed = Typed { of: LightOf::Sun, meter: Meter::Lux, here: "24000".into(), open: "80000".into() };
        let expected = Light { lux: Some(24_000), open_lux: Some(80_000), of: Some(LightOf::Sun), ..Light::default() };
        assert_eq!(typed.body(), Ok(Body::Light(expected)));
        let lamp = Typed { of: LightOf::Lamp, meter: Meter::Ppfd, ..typed.clone() };
        let expected = Light { ppfd_umol: Some(24_000), of: Some(LightOf::Lamp), ..Light::default() };
        assert_eq!(lamp.body(), Ok(Body::Light(expected)));
        let wrong = Typed { here: "bright".into(), ..typed };
        assert_eq!(wrong.body().unwrap_err().field, Some(Field::Light));
        let Body::Light(light) = by_photos(70) else { panic!() };
        assert_eq!(light.passes_permille, Some(300));
    }
}
