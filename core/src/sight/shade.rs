//! Shade from two photos of one matt card, in the open and in the place.
//!
//! A camera says how it exposed (Exif 2.3: aperture, time, sensitivity); with the card's mean brightness in the picture,
//! made linear, the light on the card follows but for a factor that is the same for both (exposure value as in ISO 2720,
//! from memory). Cameras round what they say to thirds of a stop, so the answer is at best that good.

use crate::picture::exif::Exposure;

/// How far the answer may be off, in stops: a third. Cameras say times and apertures in steps of that size.
pub const ERROR_STOPS: f64 = 1.0 / 3.0;
/// The card's means may differ by this much, in stops: beyond it a camera's curve is no longer the same for both. Our own,
/// no source.
pub const APART_STOPS_MAX: f64 = 1.0;
/// A patch of which more than this share is at the end of the scale is clipped.
pub const CLIPPED_SHARE_MAX: f64 = 0.01;

/// The card in one photo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// How the camera exposed.
    pub exposure: Exposure,
    /// Its mean brightness made linear, 0 to 1.
    pub linear_mean: f64,
    /// The share of its pixels that are at either end of the scale.
    pub clipped_share: f64,
}

/// How much of the light comes through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shade {
    /// Exposure value at ISO 100 in the open and in the place.
    pub ev100: (f64, f64),
    /// Light in the place as a share of that in the open: what was read, and a third of a stop less and more.
    pub transmission: (f64, f64, f64),
}

/// Why two photos give no shade.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoShade {
    /// The card is too dark or too bright in a photo.
    Clipped,
    /// The card is more than [`APART_STOPS_MAX`] brighter in one picture than in the other.
    Apart,
    /// The camera said nothing that can be reckoned with.
    NoExposure,
    /// The file cannot be read as a picture here.
    Unread,
}

impl Exposure {
    /// Exposure value at ISO 100: log2(N² / t) - log2(S / 100).
    pub fn ev100(&self) -> f64 {
        (self.f_number.powi(2) / self.time_s).log2() - (self.iso / 100.0).log2()
    }
}

/// The mean of a patch made linear (the curve of sRGB, IEC 61966-2-1), and the share of it that is clipped.
pub fn linear_mean(pixels: &[u8]) -> Option<(f64, f64)> {
    if pixels.is_empty() {
        return None;
    }
    let linear = |value: u8| {
        let v = f64::from(value) / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    let n = pixels.len() as f64;
    let mean = pixels.iter().map(|value| linear(*value)).sum::<f64>() / n;
    let clipped = pixels.iter().filter(|value| **value >= 253 || **value <= 2).count() as f64 / n;
    Some((mean, clipped))
}

/// The light that comes through, from the card in the open and in the place.
///
/// # Errors
/// Why there is no answer.
pub fn shade(open: &Patch, shaded: &Patch) -> Result<Shade, NoShade> {
    for patch in [open, shaded] {
        let Exposure { f_number, time_s, iso } = patch.exposure;
        if !(f_number > 0.0 && time_s > 0.0 && iso > 0.0) {
            return Err(NoShade::NoExposure);
        }
        if patch.clipped_share > CLIPPED_SHARE_MAX || patch.linear_mean <= 0.0 || patch.linear_mean >= 1.0 {
            return Err(NoShade::Clipped);
        }
    }
    if (open.linear_mean / shaded.linear_mean).log2().abs() > APART_STOPS_MAX {
        return Err(NoShade::Apart);
    }
    let light = |patch: &Patch| {
        let Exposure { f_number, time_s, iso } = patch.exposure;
        patch.linear_mean * f_number.powi(2) / (time_s * iso)
    };
    let read = light(shaded) / light(open);
    let third = ERROR_STOPS.exp2();
    Ok(Shade {
        ev100: (open.exposure.ev100(), shaded.exposure.ev100()),
        transmission: (read / third, read, read * third),
    })
}

impl Shade {
    /// How much of the light is kept out, in per cent: what was read, least and most. Below 0 the place had more light.
    pub fn percent(&self) -> (f64, f64, f64) {
        let (low, read, high) = self.transmission;
        let out = |share: f64| 100.0 * (1.0 - share);
        (out(read), out(high), out(low))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patch(time_s: f64, linear_mean: f64) -> Patch {
        Patch { exposure: Exposure { f_number: 2.0, time_s, iso: 100.0 }, linear_mean, clipped_share: 0.0 }
    }

    #[test]
    fn a_card_exposed_four_times_as_long_has_a_quarter_of_the_light_within_a_third_of_a_stop() {
        let shade = shade(&patch(0.01, 0.2), &patch(0.04, 0.2)).unwrap();
        let (read, least, most) = shade.percent();
        assert!((read - 75.0).abs() < 1e-9);
        assert!((least - 68.5).abs() < 0.1 && (most - 80.2).abs() < 0.1, "{least} to {most}");
    }

    #[test]
    fn clipped_cards_and_means_a_stop_apart_give_no_shade() {
        assert_eq!(shade(&patch(0.01, 0.1), &patch(0.04, 0.3)), Err(NoShade::Apart));
        let clipped = Patch { clipped_share: 0.2, ..patch(0.01, 0.2) };
        assert_eq!(shade(&clipped, &patch(0.04, 0.2)), Err(NoShade::Clipped));
        assert_eq!(shade(&patch(0.0, 0.2), &patch(0.04, 0.2)), Err(NoShade::NoExposure));
        assert_eq!(linear_mean(&[255; 9]), Some((1.0, 1.0)));
        assert_eq!(linear_mean(&[]), None);
    }
}
