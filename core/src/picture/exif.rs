//! How a camera exposed, from the metadata that it wrote into a photo (Exif).

use std::io::Cursor;

use exif::{In, Reader, Tag, Value};

/// How a photo was exposed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Aperture as the f-number.
    pub f_number: f64,
    /// Exposure time.
    pub time_s: f64,
    /// Sensitivity (ISO).
    pub iso: f64,
}

/// How a photo says that it was exposed; nothing unless it says all three.
pub fn exposure(photo: &[u8]) -> Option<Exposure> {
    let said = Reader::new().read_from_container(&mut Cursor::new(photo)).ok()?;
    let number = |tag: Tag| {
        let field = said.get_field(tag, In::PRIMARY)?;
        match &field.value {
            Value::Rational(ratios) => ratios.first().map(|ratio| ratio.to_f64()),
            value => value.get_uint(0).map(f64::from),
        }
    };
    let found = Exposure {
        f_number: number(Tag::FNumber)?,
        time_s: number(Tag::ExposureTime)?,
        iso: number(Tag::PhotographicSensitivity)?,
    };
    let sound = [found.f_number, found.time_s, found.iso].iter().all(|value| *value > 0.0 && value.is_finite());
    sound.then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // Numbers of the tags, from memory of Exif 2.3 (JEITA CP-3451C): the file below is put together by hand.
    const EXIF_DIRECTORY: u16 = 0x8769;
    const EXPOSURE_TIME: u16 = 0x829a;
    const F_NUMBER: u16 = 0x829d;
    const ISO: u16 = 0x8827;

    /// A JPEG's head with aperture 1.8, 1/125 s and ISO 64, in one byte order or the other.
    fn photo(big: bool) -> Vec<u8> {
        let short = |n: u16| if big { n.to_be_bytes() } else { n.to_le_bytes() };
        let long = |n: u32| if big { n.to_be_bytes() } else { n.to_le_bytes() };
        let mut tiff = if big { b"MM".to_vec() } else { b"II".to_vec() };
        let field = |tiff: &mut Vec<u8>, tag: u16, kind: u16, value: u32| {
            tiff.extend(short(tag));
            tiff.extend(short(kind));
            tiff.extend(long(1));
            // A short stands in the first two of the four bytes.
            if kind == 3 {
                tiff.extend(short(value as u16));
                tiff.extend([0, 0]);
            } else {
                tiff.extend(long(value));
            }
        };
        tiff.extend(short(42));
        tiff.extend(long(8));
        tiff.extend(short(1));
        field(&mut tiff, EXIF_DIRECTORY, 4, 26);
        tiff.extend(long(0));
        tiff.extend(short(3));
        field(&mut tiff, EXPOSURE_TIME, 5, 68);
        field(&mut tiff, F_NUMBER, 5, 76);
        field(&mut tiff, ISO, 3, 64);
        tiff.extend(long(0));
        for n in [1, 125, 18, 10] {
            tiff.extend(long(n));
        }
        let mut jpeg = vec![0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 0xff, 0xe1];
        jpeg.extend((tiff.len() as u16 + 8).to_be_bytes());
        jpeg.extend(b"Exif\0\0");
        jpeg.extend(tiff);
        jpeg.extend([0xff, 0xd9]);
        jpeg
    }

    #[test]
    fn aperture_time_and_sensitivity_are_read_in_either_byte_order() {
        let said = Some(Exposure { f_number: 1.8, time_s: 0.008, iso: 64.0 });
        assert_eq!((exposure(&photo(true)), exposure(&photo(false))), (said, said));
    }

    #[test]
    fn a_photo_without_metadata_says_nothing() {
        assert_eq!(exposure(&[0xff, 0xd8, 0xff, 0xd9]), None);
        assert_eq!(exposure(b""), None);
    }

    proptest! {
        #[test]
        fn garbled_metadata_is_read_without_harm(at in 0..200_usize, byte: u8, cut in 0..200_usize, big: bool) {
            let mut jpeg = photo(big);
            let n = jpeg.len();
            jpeg[at % n] = byte;
            let _ = exposure(&jpeg);
            let _ = exposure(&jpeg[..cut % n]);
        }
    }
}
