//! What meters say, in each other's units: for daylight only, since lamps and cloth of other spectra need other factors.
//!
//! 54 lx are 1 µmol m⁻² s⁻¹ of photons between 400 and 700 nm in sunlight, and 1 foot-candle is 10.764 lx (Apogee
//! Instruments, conversion pages; Thimijan & Heins 1983 give 54 too). Full sun of 2000 µmol m⁻² s⁻¹ is 108,000 lx.

/// Lux of sunlight with one µmol of photons a square metre and second.
pub const LUX_PER_UMOL: f64 = 54.0;

/// Lux of a foot-candle.
pub const LUX_PER_FOOT_CANDLE: f64 = 10.764;

/// Photon flux density of sunlight of this illuminance, µmol m⁻² s⁻¹.
pub fn ppfd_of_lux(lux: f64) -> f64 {
    lux / LUX_PER_UMOL
}

/// Illuminance of sunlight of this photon flux density, lux.
pub fn lux_of_ppfd(ppfd_umol: f64) -> f64 {
    ppfd_umol * LUX_PER_UMOL
}

/// Daily light integral of a steady photon flux density over so many hours, mol m⁻² d⁻¹.
pub fn dli(ppfd_umol: f64, hours: f64) -> f64 {
    ppfd_umol * 3600.0 * hours / 1e6
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::exif::Exposure;

    /// Apogee Instruments, *Conversion: PPFD to Lux* and *to Foot-candles*: sunlight 54 and 5.01 (0.0185 and 0.200 back);
    /// full sun 2000 µmol, 108,000 lx, 10,020 fc.
    #[test]
    fn sunlight_in_lux_and_photons() {
        assert_eq!((lux_of_ppfd(2000.0), lux_of_ppfd(200.0)), (108_000.0, 10_800.0));
        assert!((ppfd_of_lux(1.0) - 0.0185).abs() < 5e-5);
        assert!((lux_of_ppfd(1.0) / LUX_PER_FOOT_CANDLE - 5.01).abs() < 0.01);
        assert!((lux_of_ppfd(2000.0) / LUX_PER_FOOT_CANDLE - 10_020.0).abs() < 20.0);
        // PPFD × 3600 × h / 10⁶, by definition.
        assert!((dli(300.0, 12.0) - 12.96).abs() < 1e-12);
    }

    /// EV = log2(N²/t), EV100 = EV − log2(S/100): f/8 at 1/500 s is 14.97, at 1/125 s 12.97; f/5.6, 1/250 s, ISO 400 is 10.94
    /// at ISO 100 (computed from the definition as ISO 2720 is quoted).
    #[test]
    fn exposure_values() {
        let ev = |f_number, time_s, iso| Exposure { f_number, time_s, iso }.ev100();
        for (got, expected) in
            [(ev(8.0, 0.002, 100.0), 14.97), (ev(8.0, 0.008, 100.0), 12.97), (ev(5.6, 0.004, 400.0), 10.94)]
        {
            assert!((got - expected).abs() < 0.005, "{got} {expected}");
        }
    }
}
