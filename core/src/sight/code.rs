//! A label's code in a camera's picture.

use super::finder::Grey;

/// What the QR code (ISO/IEC 18004) in a picture says; of several the first that can be read. Nothing where there is
/// none, or none that its error correction can mend.
pub fn read(grey: &Grey) -> Option<String> {
    let (width, height) = (grey.width as usize, grey.height as usize);
    if width == 0 || height == 0 || grey.pixels.len() < width * height {
        return None;
    }
    let at = |x: usize, y: usize| grey.pixels[y * width + x];
    let mut picture = rqrr::PreparedImage::prepare_from_greyscale(width, height, at);
    picture.detect_grids().iter().find_map(|grid| grid.decode().ok()).map(|(_, text)| text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{handover::labels, tag::Tag};

    /// A code drawn with so many pixels a module, on light ground, its rows skewed by a share of their height.
    fn picture(text: &str, module_px: u32, skew: f64, dirt: u32) -> Grey {
        let rows = labels::code(text).expect("a code");
        let n = rows.len() as u32 + 2 * labels::QUIET_MODULES;
        let side = n * module_px;
        let (width, height) = (side + side / 2, side + 40);
        let mut pixels = vec![190_u8; (width * height) as usize];
        for y in 0..side {
            for x in 0..side {
                let (column, row) = (x / module_px, y / module_px);
                let dark = row
                    .checked_sub(labels::QUIET_MODULES)
                    .zip(column.checked_sub(labels::QUIET_MODULES))
                    .and_then(|(row, column)| rows.get(row as usize)?.get(column as usize).copied())
                    .unwrap_or(false);
                let shift = (f64::from(y) * skew) as u32;
                pixels[((y + 20) * width + x + shift) as usize] = if dark { 40 } else { 215 };
            }
        }
        // A blot in the middle, as of mud.
        for y in side / 2..side / 2 + dirt {
            let from = ((y + 20) * width + side / 2) as usize;
            pixels[from..from + dirt as usize].fill(120);
        }
        Grey { width, height, pixels }
    }

    #[test]
    fn printed_tags_are_read_back() {
        for seed in 0..20_u8 {
            let tag = Tag::nth(&[seed; 32], u64::from(seed), 5).expect("a tag");
            for (module_px, skew, dirt) in [(3, 0.0, 0), (5, 0.12, 0), (8, 0.0, 28), (4, 0.05, 12)] {
                let read = read(&picture(tag.as_str(), module_px, skew, dirt));
                assert_eq!(read.as_deref(), Some(tag.as_str()), "{module_px} px, skewed {skew}, {dirt} px of dirt");
            }
        }
    }

    #[test]
    fn where_no_code_is_nothing_is_read() {
        let noise: Vec<u8> = (0..100_u32 * 80).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
        assert_eq!(read(&Grey { width: 100, height: 80, pixels: noise }), None);
        assert_eq!(read(&Grey { width: 0, height: 0, pixels: Vec::new() }), None);
        assert_eq!(read(&Grey { width: 10, height: 10, pixels: vec![0; 3] }), None);
    }
}
