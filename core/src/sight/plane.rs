//! The plane of a card or a ruler: how pixels become millimetres in it.
//!
//! Four corners of a card of known size fix the map from its plane to the picture (a homography; Hartley and Zisserman,
//! Multiple View Geometry, 2nd edition, 2.3). What lies in that plane is measured whatever the tilt; what stands before
//! or behind it is not.

use super::{
    Estimate, NoNumber, Point, TAP_SD_PX,
    matrix::{Matrix, inverse},
    propagated,
};

/// Width and height of a card of size ID-1 in mm (ISO/IEC 7810: bank cards, licences, most membership cards).
pub const CARD_MM: (f64, f64) = (85.60, 53.98);
/// The shorter side of the card in the picture has at least so many pixels. Our own, no source.
pub const CARD_SIDE_PX_MIN: f64 = 30.0;
/// Least ratio between the smallest and the largest scale in the middle of the card: about the cosine of the tilt, here of
/// 65 degrees. Our own, no source.
pub const FLATNESS_MIN: f64 = 0.42;
/// How far the corners may be from those of any flat card of that size, as a share. Our own, no source.
const MISFIT_MAX: f64 = 0.3;
/// The marks of a ruler are at least so far apart.
pub const RULER_PX_MIN: f64 = 60.0;
/// How much longer or shorter a thing may be than a ruler says because they do not lie quite alike: standard deviation as
/// a share. A tilt of 15 degrees shortens by 3 %. Our own, no source.
const RULER_TILT_SD: f64 = 0.02;
/// A length whose error is a larger share than this is not said. Our own, no source.
pub const ROUGH_MAX: f64 = 1.0 / 3.0;

/// What gives a picture its scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Plane {
    /// A card of size ID-1: its corners in order around it, the first two at the ends of a long side.
    Card([Point; 4]),
    /// Two marks of a ruler, and how far they are apart on it in mm.
    Ruler {
        /// One mark.
        from: Point,
        /// The other.
        to: Point,
        /// Their distance.
        mm: f64,
    },
}

impl Plane {
    /// The distance of two points in this plane, in mm.
    ///
    /// # Errors
    /// Why the picture gives no number.
    pub fn length(&self, from: Point, to: Point) -> Result<Estimate, NoNumber> {
        self.length_by(from, to, TAP_SD_PX)
    }

    /// The same with marks that miss by another standard deviation in pixels.
    ///
    /// # Errors
    /// Why the picture gives no number.
    pub fn length_by(&self, from: Point, to: Point, tap_sd_px: f64) -> Result<Estimate, NoNumber> {
        if from.distance(to) < 1.0 {
            return Err(NoNumber::MarksTogether);
        }
        let length = match self {
            Self::Card(corners) => on_card(corners, from, to, tap_sd_px)?,
            Self::Ruler { from: start, to: end, mm } => by_ruler((*start, *end, *mm), from, to, tap_sd_px)?,
        };
        if length.error > ROUGH_MAX * length.value { Err(NoNumber::TooRough) } else { Ok(length) }
    }
}

fn on_card(corners: &[Point; 4], from: Point, to: Point, tap_sd_px: f64) -> Result<Estimate, NoNumber> {
    seen_well(corners)?;
    let length = |inputs: &[f64; 12]| {
        let point = |at: usize| Point::new(inputs[2 * at], inputs[2 * at + 1]);
        let to_card = inverse(&of_square(&[point(0), point(1), point(2), point(3)])?, 0.0)?;
        // The points lie on the side of the horizon on which the card lies.
        let side = weight(&to_card, middle(&[point(0), point(1), point(2), point(3)]));
        let on_plane = |point: Point| {
            let (x, y) = apply(&to_card, point, side)?;
            Some(Point::new(x * CARD_MM.0, y * CARD_MM.1))
        };
        Some(on_plane(point(4))?.distance(on_plane(point(5))?))
    };
    let mut inputs = [0.0; 12];
    for (at, point) in corners.iter().chain([&from, &to]).enumerate() {
        (inputs[2 * at], inputs[2 * at + 1]) = (point.x, point.y);
    }
    let value = length(&inputs).ok_or(NoNumber::BeyondPlane)?;
    let sd = propagated(inputs, [tap_sd_px; 12], length).ok_or(NoNumber::BeyondPlane)?;
    Ok(Estimate::with_sd(value, sd))
}

fn by_ruler(
    (start, end, mm): (Point, Point, f64),
    from: Point,
    to: Point,
    tap_sd_px: f64,
) -> Result<Estimate, NoNumber> {
    if start.distance(end) < RULER_PX_MIN || mm <= 0.0 {
        return Err(NoNumber::RulerTooShort);
    }
    let length = |inputs: &[f64; 8]| {
        let point = |at: usize| Point::new(inputs[2 * at], inputs[2 * at + 1]);
        Some(mm * point(2).distance(point(3)) / point(0).distance(point(1)))
    };
    let inputs = [start.x, start.y, end.x, end.y, from.x, from.y, to.x, to.y];
    let value = length(&inputs).ok_or(NoNumber::RulerTooShort)?;
    let sd = propagated(inputs, [tap_sd_px; 8], length).ok_or(NoNumber::RulerTooShort)?;
    Ok(Estimate::with_sd(value, (sd.powi(2) + (RULER_TILT_SD * value).powi(2)).sqrt()))
}

/// Whether these corners are around a card that is large enough and seen from far enough above.
fn seen_well(corners: &[Point; 4]) -> Result<(), NoNumber> {
    let turns = (0..4).map(|at| turn(corners[at], corners[(at + 1) % 4], corners[(at + 2) % 4]));
    let turns: Vec<f64> = turns.collect();
    // A turn is twice a triangle's area in square pixels: less than this and three corners are on one line.
    let flat = turns.iter().any(|turn| turn.abs() < 50.0);
    if flat || !(turns.iter().all(|turn| *turn > 0.0) || turns.iter().all(|turn| *turn < 0.0)) {
        return Err(NoNumber::CornersCrossed);
    }
    let sides = (0..4).map(|at| corners[at].distance(corners[(at + 1) % 4]));
    if sides.fold(f64::INFINITY, f64::min) < CARD_SIDE_PX_MIN {
        return Err(NoNumber::CardTooSmall);
    }
    let flatness = flatness(corners).ok_or(NoNumber::CornersCrossed)?;
    if flatness < FLATNESS_MIN { Err(NoNumber::TooOblique) } else { Ok(()) }
}

/// Which way one turns at `b` on the way from `a` to `c`, and twice the area of their triangle.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)
}

fn middle(corners: &[Point; 4]) -> Point {
    let sum = |of: fn(&Point) -> f64| corners.iter().map(of).sum::<f64>() / 4.0;
    Point::new(sum(|p| p.x), sum(|p| p.y))
}

/// The ratio between the smallest and the largest scale in the middle of the card: about the cosine of its tilt.
fn flatness(corners: &[Point; 4]) -> Option<f64> {
    let map = of_square(corners)?;
    let (u, v) = (0.5, 0.5);
    let row = |r: usize| map[r][0] * u + map[r][1] * v + map[r][2];
    let (x, y, w) = (row(0), row(1), row(2));
    let slope = |top: f64, r: usize, c: usize| (map[r][c] * w - top * map[2][c]) / (w * w);
    let (a, b) = (slope(x, 0, 0) / CARD_MM.0, slope(x, 0, 1) / CARD_MM.1);
    let (c, d) = (slope(y, 1, 0) / CARD_MM.0, slope(y, 1, 1) / CARD_MM.1);
    // Singular values of [[a, b], [c, d]].
    let (sum, area) = (a * a + b * b + c * c + d * d, (a * d - b * c).abs());
    let apart = (sum * sum - 4.0 * area * area).max(0.0).sqrt();
    let largest = ((sum + apart) / 2.0).sqrt();
    (largest > 0.0).then(|| area / (largest * largest))
}

/// The map from the unit square to a quadrilateral, its corners in order around it from (0, 0) by (1, 0) (Heckbert,
/// Fundamentals of Texture Mapping and Image Warping, 1989).
fn of_square(corners: &[Point; 4]) -> Option<Matrix> {
    let [a, b, c, d] = *corners;
    let (sum_x, sum_y) = (a.x - b.x + c.x - d.x, a.y - b.y + c.y - d.y);
    let (dx1, dy1, dx2, dy2) = (b.x - c.x, b.y - c.y, d.x - c.x, d.y - c.y);
    let area = dx1 * dy2 - dx2 * dy1;
    if area.abs() < 1e-9 {
        return None;
    }
    let g = (sum_x * dy2 - dx2 * sum_y) / area;
    let h = (dx1 * sum_y - sum_x * dy1) / area;
    Some([
        [b.x - a.x + g * b.x, d.x - a.x + h * d.x, a.x],
        [b.y - a.y + g * b.y, d.y - a.y + h * d.y, a.y],
        [g, h, 1.0],
    ])
}

/// The third homogeneous coordinate of what a point is mapped to.
fn weight(map: &Matrix, point: Point) -> f64 {
    map[2][0] * point.x + map[2][1] * point.y + map[2][2]
}

/// Where a map takes a point; nothing beyond the horizon, which is where the weight has the other sign than `side`.
fn apply(map: &Matrix, point: Point, side: f64) -> Option<(f64, f64)> {
    let w = weight(map, point);
    // A fiftieth of the card's own weight is so far out that nothing is to be read there.
    if w * side.signum() < side.abs() / 50.0 {
        return None;
    }
    let row = |r: usize| (map[r][0] * point.x + map[r][1] * point.y + map[r][2]) / w;
    Some((row(0), row(1)))
}

/// The corners of a card in the order that [`Plane::Card`] asks for, whichever was marked first.
///
/// Which sides are the long ones is decided by what a camera with square pixels, looking through the middle of the picture,
/// can see of a card (Zhang and He, Whiteboard scanning and image enhancement, 2007); how far away it zooms is not known, so
/// the best of usual distances counts.
///
/// # Errors
/// When they are not around a card, or not those of a flat card of that size.
pub fn card(corners: [Point; 4], width_px: f64, height_px: f64) -> Result<[Point; 4], NoNumber> {
    seen_as_quad(&corners)?;
    let [a, b, c, d] = corners;
    let turned = [b, c, d, a];
    let misfit = |corners: &[Point; 4], focal: &[f64]| misfit(corners, width_px, height_px, focal);
    let card = if misfit(&turned, USUAL_FOCAL) < misfit(&corners, USUAL_FOCAL) { turned } else { corners };
    if misfit(&card, ANY_FOCAL) > MISFIT_MAX { Err(NoNumber::NotTheCard) } else { Ok(card) }
}

fn seen_as_quad(corners: &[Point; 4]) -> Result<(), NoNumber> {
    match seen_well(corners) {
        Err(why @ (NoNumber::CornersCrossed | NoNumber::CardTooSmall)) => Err(why),
        // How oblique it is shows only once the long side is known.
        _ => Ok(()),
    }
}

/// The map from a picture to the unit square that the corners are of.
#[cfg(test)]
pub(super) fn to_card(corners: &[Point; 4]) -> Option<impl Fn(Point) -> Option<(f64, f64)>> {
    let map = inverse(&of_square(corners)?, 0.0)?;
    let side = weight(&map, middle(corners));
    Some(move |point| apply(&map, point, side))
}

/// How far corners are from a flat card's, whichever side comes first.
pub(super) fn misfit_either(corners: &[Point; 4], width_px: f64, height_px: f64) -> f64 {
    let [a, b, c, d] = *corners;
    let of = |corners: &[Point; 4]| misfit(corners, width_px, height_px, USUAL_FOCAL);
    of(corners).min(of(&[b, c, d, a]))
}

/// Focal lengths of a phone's main camera, in parts of the picture's longer edge (from memory).
const USUAL_FOCAL: &[f64] = &[0.65, 0.75, 0.85, 1.0, 1.2, 1.5];
/// From a wide lens to one that draws near.
const ANY_FOCAL: &[f64] = &[0.4, 0.5, 0.65, 0.75, 0.85, 1.0, 1.2, 1.5, 2.0, 3.0, 4.0];

/// How far corners are from what such cameras see of a flat card: the least, over focal lengths, of how far its sides are
/// from square and its shape from the card's, as shares.
fn misfit(corners: &[Point; 4], width_px: f64, height_px: f64, focal: &[f64]) -> f64 {
    let Some(map) = of_square(corners) else {
        return f64::INFINITY;
    };
    let long = width_px.max(height_px);
    let (middle_x, middle_y) = (width_px / 2.0, height_px / 2.0);
    let misfit = |focal: f64| {
        // Directions of the card's sides as the camera has them.
        let side = |c: usize, mm: f64| {
            let w = map[2][c];
            [(map[0][c] - middle_x * w) / focal / mm, (map[1][c] - middle_y * w) / focal / mm, w / mm]
        };
        let (across, down) = (side(0, CARD_MM.0), side(1, CARD_MM.1));
        let dot = |a: &[f64; 3], b: &[f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let (n1, n2) = (dot(&across, &across).sqrt(), dot(&down, &down).sqrt());
        let skew = dot(&across, &down) / (n1 * n2);
        // A difference of logarithms but for the logarithm, which machines round differently.
        let stretch = (n1 - n2) / (n1 + n2) * 2.0;
        (skew * skew + stretch * stretch).sqrt()
    };
    focal.iter().map(|f| misfit(f * long)).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A card as a camera sees it that is turned, tilted and as far away as said.
    fn seen(tilt_deg: f64, turn_deg: f64, scale: f64) -> impl Fn(f64, f64) -> Point {
        let (tilt, turn) = (tilt_deg.to_radians(), turn_deg.to_radians());
        move |x_mm, y_mm| {
            let (x, y) = (x_mm - CARD_MM.0 / 2.0, y_mm - CARD_MM.1 / 2.0);
            let (x, y) = (x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos());
            let (y, z) = (y * tilt.cos(), y * tilt.sin());
            let focal = 1200.0;
            let away = focal / scale + z;
            Point::new(800.0 + focal * x / away, 600.0 + focal * y / away)
        }
    }

    fn corners(at: impl Fn(f64, f64) -> Point) -> [Point; 4] {
        [at(0.0, 0.0), at(CARD_MM.0, 0.0), at(CARD_MM.0, CARD_MM.1), at(0.0, CARD_MM.1)]
    }

    #[test]
    fn a_card_that_is_small_oblique_or_crossed_gives_no_number() {
        let length = |tilt: f64, scale: f64| {
            let at = seen(tilt, 20.0, scale);
            Plane::Card(corners(&at)).length(at(0.0, 0.0), at(40.0, 100.0))
        };
        assert!(length(50.0, 3.0).is_ok());
        assert_eq!(length(70.0, 3.0), Err(NoNumber::TooOblique));
        assert_eq!(length(0.0, 0.5), Err(NoNumber::CardTooSmall));
        let [a, b, c, d] = corners(seen(0.0, 0.0, 3.0));
        assert_eq!(Plane::Card([a, c, b, d]).length(a, b), Err(NoNumber::CornersCrossed));
        assert_eq!(Plane::Card([a, b, c, d]).length(a, a), Err(NoNumber::MarksTogether));
    }

    #[test]
    fn a_mark_beyond_the_horizon_of_the_card_gives_no_number() {
        let at = seen(55.0, 0.0, 6.0);
        let card = Plane::Card(corners(&at));
        assert_eq!(card.length(at(0.0, 0.0), Point::new(800.0, 3000.0)), Err(NoNumber::BeyondPlane));
    }

    #[test]
    fn corners_of_something_else_are_not_the_cards() {
        let square = [(400.0, 400.0), (700.0, 400.0), (700.0, 700.0), (400.0, 700.0)];
        let square = square.map(|(x, y)| Point::new(x, y));
        assert_eq!(card(square, 1600.0, 1200.0), Err(NoNumber::NotTheCard));
    }

    #[test]
    fn a_ruler_gives_a_length_by_proportion() {
        let ruler = Plane::Ruler { from: Point::new(0.0, 0.0), to: Point::new(300.0, 0.0), mm: 100.0 };
        let length = ruler.length(Point::new(50.0, 50.0), Point::new(50.0, 350.0)).unwrap();
        assert!((length.value - 100.0).abs() < 1e-9);
        // Two marks of 1.5 px on 300 px, twice, and the tilt: 1 % and 2 %.
        assert!((length.error / 1.645 - 2.236).abs() < 0.01, "{length:?}");
    }

    proptest! {
        #[test]
        fn a_length_in_the_cards_plane_is_the_true_one_whatever_the_tilt(
            tilt in 0.0..50.0_f64, turn in 0.0..360.0_f64, scale in 2.0..6.0_f64,
            x in -60.0..140.0_f64, y in -60.0..110.0_f64,
        ) {
            let at = seen(tilt, turn, scale);
            let corners = corners(&at);
            let ordered = card(corners, 1600.0, 1200.0).unwrap();
            prop_assert_eq!(ordered, corners);
            let [a, b, c, d] = corners;
            prop_assert_eq!(card([d, a, b, c], 1600.0, 1200.0).unwrap()[0], a);
            let truth = (x * x + y * y).sqrt();
            prop_assume!(truth > 20.0);
            let length = Plane::Card(corners).length_by(at(0.0, 0.0), at(x, y), 0.1).unwrap();
            prop_assert!((length.value - truth).abs() < 1e-6 * truth);
            prop_assert!(length.error > 0.0);
        }
    }
}
