//! How a camera exposed, from the metadata of a JPEG (Exif 2.3, JEITA CP-3451C: TIFF directories in the segment APP1; tags
//! from memory). Read as hostile: every offset is checked, and nothing is followed twice.

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

const EXIF_DIRECTORY: u16 = 0x8769;
const EXPOSURE_TIME: u16 = 0x829a;
const F_NUMBER: u16 = 0x829d;
const ISO: u16 = 0x8827;

/// How a JPEG says that it was exposed; nothing unless it says all three.
pub fn exposure(jpeg: &[u8]) -> Option<Exposure> {
    let tiff = Tiff::of(app1(jpeg)?)?;
    let first = tiff.directory(tiff.long(4)?)?;
    let exif = tiff.directory(tiff.value(&first, EXIF_DIRECTORY)? as u32)?;
    let found = Exposure {
        f_number: tiff.value(&exif, F_NUMBER)?,
        time_s: tiff.value(&exif, EXPOSURE_TIME)?,
        iso: tiff.value(&exif, ISO)?,
    };
    let sound = [found.f_number, found.time_s, found.iso].iter().all(|value| *value > 0.0 && value.is_finite());
    sound.then_some(found)
}

/// The metadata's segment, behind its name.
fn app1(jpeg: &[u8]) -> Option<&[u8]> {
    let mut at = 2;
    loop {
        let [0xff, marker, high, low] = *jpeg.get(at..at + 4)? else { return None };
        let length = usize::from(u16::from_be_bytes([high, low]));
        let segment = jpeg.get(at + 4..at + 2 + length.max(2))?;
        if marker == 0xe1
            && let Some(tiff) = segment.strip_prefix(b"Exif\0\0")
        {
            return Some(tiff);
        }
        // What comes after the start of the scan is the picture itself.
        if marker == 0xda {
            return None;
        }
        at += 2 + length.max(2);
    }
}

struct Tiff<'a> {
    bytes: &'a [u8],
    big: bool,
}

/// A field of a directory: tag, type, and where its four bytes are.
type Entry = (u16, u16, usize);

impl<'a> Tiff<'a> {
    fn of(bytes: &'a [u8]) -> Option<Self> {
        let big = match bytes.get(..2)? {
            b"MM" => true,
            b"II" => false,
            _ => return None,
        };
        let tiff = Self { bytes, big };
        (tiff.short(2)? == 42).then_some(tiff)
    }

    fn short(&self, at: usize) -> Option<u16> {
        let bytes = self.bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self.big { u16::from_be_bytes(bytes) } else { u16::from_le_bytes(bytes) })
    }

    fn long(&self, at: usize) -> Option<u32> {
        let bytes = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if self.big { u32::from_be_bytes(bytes) } else { u32::from_le_bytes(bytes) })
    }

    fn directory(&self, at: u32) -> Option<Vec<Entry>> {
        let at = at as usize;
        let n = usize::from(self.short(at)?);
        // No camera writes more; more is hostile.
        let entry = |n: usize| {
            let place = at.checked_add(2 + 12 * n)?;
            Some((self.short(place)?, self.short(place + 2)?, place + 8))
        };
        (0..n.min(200)).map(entry).collect()
    }

    /// The first value of a field as a number: whole, or a ratio.
    fn value(&self, of: &[Entry], tag: u16) -> Option<f64> {
        let (_, kind, at) = *of.iter().find(|(known, ..)| *known == tag)?;
        match kind {
            3 => self.short(at).map(f64::from),
            4 => self.long(at).map(f64::from),
            5 => {
                let place = self.long(at)? as usize;
                let (above, below) = (self.long(place)?, self.long(place.checked_add(4)?)?);
                (below != 0).then(|| f64::from(above) / f64::from(below))
            }
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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
