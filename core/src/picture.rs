//! What a picture's file says of itself before anything is decoded: its kind, its size, whether it is whole, how it was
//! exposed ([`exif`]).

pub mod exif;

/// More pixels than this no camera that we know of takes, and a browser needs 4 bytes of memory for each.
pub const PIXELS_MAX: u64 = 100_000_000;

/// What a file is, by its first bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A photo of most phones.
    Jpeg,
    /// Pixels without loss.
    Png,
    /// Few colours, may move.
    Gif,
    /// Made for pages.
    Webp,
    /// A photo of some phones, which few browsers read.
    Heic,
    /// A drawing: text that may hold anything a page may.
    Svg,
    /// Text, or a page.
    Text,
    /// None of these; a browser may know it.
    Other,
}

/// Why a file is not taken as a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// There is nothing in it.
    Empty,
    /// It is no picture of pixels.
    NoPicture(Kind),
    /// It has more pixels than [`PIXELS_MAX`].
    TooLarge {
        /// Width in pixels.
        width: u64,
        /// Height in pixels.
        height: u64,
    },
    /// It ends before the picture does.
    CutOff,
}

/// Looks a file over.
///
/// # Errors
/// Why it is not to be decoded.
pub fn look_over(bytes: &[u8]) -> Result<Kind, Unfit> {
    if bytes.is_empty() {
        return Err(Unfit::Empty);
    }
    let kind = kind(bytes);
    if matches!(kind, Kind::Svg | Kind::Text) {
        return Err(Unfit::NoPicture(kind));
    }
    let whole = match kind {
        Kind::Jpeg => jpeg_is_whole(bytes),
        Kind::Png => png_is_whole(bytes),
        // A GIF ends with a semicolon, and some programs fill up behind it.
        Kind::Gif => bytes.iter().rfind(|byte| **byte != 0) == Some(&b';'),
        Kind::Webp => number(bytes, 4, u32::from_le_bytes).is_some_and(|n| bytes.len() as u64 >= u64::from(n) + 8),
        _ => true,
    };
    if let Ok(size) = imagesize::blob_size(bytes) {
        let (width, height) = (size.width as u64, size.height as u64);
        if width.saturating_mul(height) > PIXELS_MAX {
            return Err(Unfit::TooLarge { width, height });
        }
    }
    if whole { Ok(kind) } else { Err(Unfit::CutOff) }
}

fn kind(bytes: &[u8]) -> Kind {
    let at = |from: usize, what: &[u8]| bytes.get(from..from + what.len()) == Some(what);
    if at(0, &[0xff, 0xd8]) {
        Kind::Jpeg
    } else if at(0, b"\x89PNG\r\n\x1a\n") {
        Kind::Png
    } else if at(0, b"GIF8") {
        Kind::Gif
    } else if at(0, b"RIFF") && at(8, b"WEBP") {
        Kind::Webp
    } else if at(4, b"ftyp")
        && [&b"heic"[..], b"heix", b"hevc", b"heim", b"mif1", b"msf1"].iter().any(|brand| at(8, brand))
    {
        Kind::Heic
    } else {
        let head = &bytes[..bytes.len().min(1024)];
        match str_of(head) {
            Some(text) if text.contains("<svg") => Kind::Svg,
            Some(_) => Kind::Text,
            None => Kind::Other,
        }
    }
}

/// The bytes as text, but for a letter cut in two at their end; nothing where they are none.
fn str_of(bytes: &[u8]) -> Option<&str> {
    let text = match str::from_utf8(bytes) {
        Ok(text) => text,
        Err(why) if why.error_len().is_none() => str::from_utf8(&bytes[..why.valid_up_to()]).ok()?,
        Err(_) => return None,
    };
    let plain = |c: char| !c.is_control() || c.is_whitespace();
    text.chars().all(plain).then_some(text)
}

fn number<const N: usize, T>(bytes: &[u8], at: usize, of: fn([u8; N]) -> T) -> Option<T> {
    let found = bytes.get(at..at + N)?;
    found.try_into().ok().map(of)
}

/// Whether the marker at a JPEG's end is there (ITU-T T.81, annex B). Pictures within its segments have one of their
/// own, and phones write more behind it, so every segment is passed over in turn.
fn jpeg_is_whole(bytes: &[u8]) -> bool {
    let mut at = 2;
    while let Some(&byte) = bytes.get(at) {
        let Some(&marker) = bytes.get(at + 1) else {
            return false;
        };
        if byte != 0xff {
            // Between markers stand the picture's own bytes.
            at += 1;
            continue;
        }
        match marker {
            0xd9 => return true,
            // A byte of the picture, a restart, or filling.
            0x00 | 0x01 | 0xd0..=0xd8 => at += 2,
            0xff => at += 1,
            _ => match number(bytes, at + 2, u16::from_be_bytes) {
                Some(length) => at += 2 + usize::from(length.max(2)),
                None => return false,
            },
        }
    }
    false
}

/// Whether the last chunk of a PNG is there (PNG, section 5).
fn png_is_whole(bytes: &[u8]) -> bool {
    let mut at = 8;
    while let Some(length) = number(bytes, at, u32::from_be_bytes) {
        let next = (at as u64).saturating_add(12).saturating_add(u64::from(length));
        let Ok(next) = usize::try_from(next) else {
            return false;
        };
        if bytes.get(at + 4..at + 8) == Some(b"IEND") {
            return next <= bytes.len();
        }
        at = next;
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A JPEG's outline: a small picture within its first segment, a size, a scan, and something behind its end.
    fn jpeg(width: u16, height: u16) -> Vec<u8> {
        let mut bytes = vec![0xff, 0xd8, 0xff, 0xe1, 0x00, 0x06, 0xff, 0xd8, 0xff, 0xd9];
        bytes.extend([0xff, 0xc0, 0x00, 0x0b, 0x08]);
        bytes.extend(height.to_be_bytes());
        bytes.extend(width.to_be_bytes());
        bytes.extend([0x01, 0x01, 0x11, 0x00]);
        bytes.extend([0xff, 0xda, 0x00, 0x08, 0x01, 0x01, 0x00, 0x00, 0x3f, 0x00]);
        bytes.extend([0x12, 0xff, 0x00, 0x34, 0xff, 0xd0, 0x56, 0xff, 0xd9]);
        bytes
    }

    fn png(width: u32, height: u32) -> Vec<u8> {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        bytes.extend(width.to_be_bytes());
        bytes.extend(height.to_be_bytes());
        bytes.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
        bytes.extend(b"\0\0\0\0IEND\xae\x42\x60\x82");
        bytes
    }

    #[test]
    fn whole_pictures_are_taken() {
        assert_eq!(look_over(&jpeg(4000, 3000)), Ok(Kind::Jpeg));
        assert_eq!(look_over(&png(4000, 3000)), Ok(Kind::Png));
        let behind: Vec<u8> = jpeg(8, 8).into_iter().chain(*b"a film behind it").collect();
        assert_eq!(look_over(&behind), Ok(Kind::Jpeg));
    }

    #[test]
    fn more_than_a_hundred_megapixels_are_refused_unread() {
        let large = |width, height| Err(Unfit::TooLarge { width, height });
        assert_eq!(look_over(&png(20_000, 20_000)), large(20_000, 20_000));
        assert_eq!(look_over(&jpeg(20_000, 20_000)), large(20_000, 20_000));
        assert_eq!(look_over(&png(10_000, 10_000)), Ok(Kind::Png));
    }

    #[test]
    fn a_picture_cut_off_anywhere_is_named() {
        for whole in [jpeg(800, 600), png(800, 600)] {
            for n in 16..whole.len() {
                assert_eq!(look_over(&whole[..n]), Err(Unfit::CutOff), "{n} bytes");
            }
        }
        let webp = b"RIFF\x20\0\0\0WEBPVP8 ".to_vec();
        assert_eq!(look_over(&webp), Err(Unfit::CutOff));
    }

    #[test]
    fn what_is_no_picture_is_named() {
        assert_eq!(look_over(b""), Err(Unfit::Empty));
        assert_eq!(look_over(b"Bench 2, third row"), Err(Unfit::NoPicture(Kind::Text)));
        let svg = b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>";
        assert_eq!(look_over(svg), Err(Unfit::NoPicture(Kind::Svg)));
        assert_eq!(look_over(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"), Ok(Kind::Heic));
        assert_eq!(look_over(b"BM\x01\x02\x03\x04\0\0\0\0"), Ok(Kind::Other));
    }

    proptest! {
        #[test]
        fn any_bytes_are_looked_over(bytes in proptest::collection::vec(any::<u8>(), 0..200), of in 0..4_usize) {
            let heads = [&b"\xff\xd8"[..], b"\x89PNG\r\n\x1a\n", b"RIFF\xff\xff\xff\xffWEBP", b"\0\0\0\x18ftypheic"];
            let file: Vec<u8> = heads[of].iter().chain(&bytes).copied().collect();
            let _ = look_over(&file);
            let _ = look_over(&bytes);
        }
    }
}
