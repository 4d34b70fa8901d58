//! Photos of one bulb side by side: those that were measured at one scale.

use super::{Point, marks};
use crate::{
    calendar::Date,
    ledger::{Ledger, body::Photo, id::EntryId},
    nursery::Bulb,
};

/// One photo, and which part of it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// The record of the photo.
    pub entry: EntryId,
    /// When it was taken.
    pub on: Date,
    /// The photo.
    pub photo: Photo,
    /// Upper left corner, width and height of what is shown, in pixels; the same in mm for every photo with a scale.
    /// Nothing where no scale was laid: then the whole photo is shown.
    pub window: Option<[f64; 4]>,
    /// The marks on it.
    pub marks: Vec<marks::OnPhoto>,
}

/// What is shown is so much wider and higher than what was measured.
const ROOM: f64 = 1.5;

/// The photos of a bulb, oldest first; those on which a length was measured are cut so that a mm is as long on each.
pub fn frames(ledger: &Ledger, bulb: &Bulb) -> Vec<Frame> {
    let all = marks::on_photos(ledger, bulb);
    let mut frames: Vec<Frame> = (bulb.photos.iter())
        .map(|of| Frame {
            entry: of.entry,
            on: of.at.date(),
            photo: of.photo.clone(),
            window: None,
            marks: all.iter().filter(|one| one.marks.photo == of.photo.hash).cloned().collect(),
        })
        .collect();
    let scales: Vec<Option<(Point, f64)>> = frames.iter().map(scale).collect();
    // As much as the largest thing measured needs, and no more than the photo with the least around it.
    let sizes = frames.iter().flat_map(|frame| &frame.marks).filter_map(marks::OnPhoto::length_mm);
    let needed_mm = sizes.map(|length| length.value).fold(0.0, f64::max) * ROOM;
    let of_photo_mm = |(frame, scale): (&Frame, &Option<(Point, f64)>)| {
        let (_, px_a_mm) = (*scale)?;
        Some(f64::from(frame.photo.width_px.min(frame.photo.height_px)) / px_a_mm)
    };
    let least_mm = frames.iter().zip(&scales).filter_map(of_photo_mm).fold(f64::INFINITY, f64::min);
    let side_mm = needed_mm.min(least_mm);
    for (frame, scale) in frames.iter_mut().zip(scales) {
        frame.window = scale.map(|(middle, px_a_mm)| {
            let side = side_mm * px_a_mm;
            let from = |at: f64, size: u32| (at - side / 2.0).clamp(0.0, (f64::from(size) - side).max(0.0));
            [from(middle.x, frame.photo.width_px), from(middle.y, frame.photo.height_px), side, side]
        });
    }
    frames
}

/// The middle of what was measured last on a photo, and how many pixels are a mm there.
fn scale(frame: &Frame) -> Option<(Point, f64)> {
    frame.marks.iter().rev().find_map(|one| {
        let [from, to] = one.marks.ends[..] else { return None };
        let (from, to) = (Point::from(from), Point::from(to));
        let mm = one.length_mm()?.value;
        Some((Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0), from.distance(to) / mm))
    })
}

impl Frame {
    /// Whether a mm is as long on it as on the others.
    pub fn is_scaled(&self) -> bool {
        self.window.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        ledger::id::AttachmentHash,
        testing::{World, id},
    };

    #[test]
    fn measured_photos_are_cut_to_the_same_mm() {
        let photo = |on: i64, bytes: &[u8]| {
            let hash = AttachmentHash::of(bytes);
            format!(
                r#"{on} mia json b_1 photo {{"hash":"{hash}","media":"image/jpeg","n_bytes":1,"width_px":1600,"height_px":1200}}
"#
            )
        };
        let ruler = |on: i64, bytes: &[u8], px: u32| {
            let hash = AttachmentHash::of(bytes);
            format!(
                r#"{on} mia json b_1 photo-marks {{"photo":"{hash}","what":"height","ruler_mm":50,"ruler":[{{"x_decipx":1000,"y_decipx":1000}},{{"x_decipx":{},"y_decipx":1000}}],"ends":[{{"x_decipx":8000,"y_decipx":8000}},{{"x_decipx":8000,"y_decipx":4000}}]}}
"#,
                1000 + 10 * px
            )
        };
        let world = World::of(
            "-30 mia place pl_1 One
             -30 mia lot lo_1 Red
             -30 mia bulb b_1 lo_1 in=pl_1",
        )
        .and(&photo(1, b"one"))
        .and(&photo(5, b"two"))
        .and(&photo(9, b"three"))
        .and(&ruler(1, b"one", 200))
        .and(&ruler(5, b"two", 400));
        let state = world.state();
        let frames = frames(&world.ledger, state.bulb(&id("b_1")).unwrap());
        let windows: Vec<Option<[f64; 4]>> = frames.iter().map(|frame| frame.window).collect();
        let (Some(one), Some(two), None) = (windows[0], windows[1], windows[2]) else { panic!("{windows:?}") };
        // Four pixels are a mm on the first, eight on the second; 100 mm were measured on the first.
        assert!((one[2] / 4.0 - two[2] / 8.0).abs() < 1e-6, "{one:?} {two:?}");
        assert!((one[2] / 4.0 - 150.0).abs() < 1.0);
    }
}
