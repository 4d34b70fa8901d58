//! Marks while they are being laid: where each is, which are still to be laid, what they say so far.
//!
//! A mark counts as laid once a person moved it or said that it is right where it stands; a card's corners that were
//! proposed are no different.

use serde::{Deserialize, Serialize};

use super::{Estimate, NoNumber, Point, Rise, marks, plane};
use crate::{
    error::{Error, Result},
    ledger::{
        body::{Foot, Marked, PhotoMarks, Spot},
        id::{AttachmentHash, Id},
    },
};

/// Marks around the rim of a neck.
pub const RIM_MARKS: usize = 6;

/// What gives the scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Scale {
    /// A card of size ID-1.
    Card,
    /// A ruler.
    Ruler,
}

/// One mark, by what it is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Handle {
    /// A corner of the card.
    Corner(usize),
    /// An end of the stretch of ruler.
    Ruler(usize),
    /// An end of a shoot's height: 0 its foot, 1 its tip.
    Height(usize),
    /// A side of a shoot.
    Thickness(usize),
    /// A side of the bulb.
    Width(usize),
    /// A place of the neck's rim.
    Rim(usize),
    /// The foot of a shoot, by its place among the shoots.
    Foot(usize),
}

/// All marks on one picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Laid {
    /// Width and height of the picture.
    size_px: (u32, u32),
    /// What is measured.
    pub what: Marked,
    /// What gives the scale.
    pub scale: Scale,
    /// How far the marks of the ruler are apart on it; nothing while it is not said.
    pub ruler_mm: Option<u32>,
    /// Which shoot is measured.
    pub shoot: Option<Id>,
    card: [Spot; 4],
    ruler: [Spot; 2],
    height: [Spot; 2],
    thickness: [Spot; 2],
    width: [Spot; 2],
    rim: [Spot; RIM_MARKS],
    feet: Vec<(Option<Id>, Spot)>,
    done: Vec<Handle>,
}

/// What marks say.
#[derive(Clone, Debug, PartialEq)]
pub enum Says {
    /// A length in mm; of a bulb's width its circumference too.
    Length(Estimate, Option<Estimate>),
    /// Where each shoot rises.
    Rises(Vec<(Option<Id>, Estimate, Rise)>),
}

impl Laid {
    /// A picture on which nothing is laid yet: marks stand where such things often are. `shoots` are those of the bulb.
    pub fn new(width_px: u32, height_px: u32, shoots: &[Id]) -> Self {
        let spot = |x: f64, y: f64| Spot::from(Point::new(x * f64::from(width_px), y * f64::from(height_px)));
        let long = f64::from(width_px.max(height_px));
        // A neck and a card of usual size, as wide as high on the picture.
        let around = |share: f64| {
            let (sin, cos) = (share * std::f64::consts::TAU).sin_cos();
            Spot::from(Point::new(
                f64::from(width_px) / 2.0 + 0.16 * long * cos,
                f64::from(height_px) / 2.0 + 0.13 * long * sin,
            ))
        };
        let corner = |x: f64, y: f64| {
            let card = 0.28 * long;
            Spot::from(Point::new(
                f64::from(width_px) * 0.25 + (x - 0.5) * card,
                f64::from(height_px) * 0.75 + (y - 0.5) * card / 1.586,
            ))
        };
        let some_foot = if shoots.is_empty() { vec![None] } else { shoots.iter().map(|id| Some(*id)).collect() };
        let n = some_foot.len() as f64;
        let feet = some_foot.into_iter().enumerate();
        Self {
            size_px: (width_px, height_px),
            what: Marked::Height,
            scale: Scale::Card,
            ruler_mm: None,
            shoot: shoots.first().copied(),
            card: [corner(0.0, 0.0), corner(1.0, 0.0), corner(1.0, 1.0), corner(0.0, 1.0)],
            ruler: [spot(0.2, 0.85), spot(0.5, 0.85)],
            height: [spot(0.6, 0.7), spot(0.6, 0.3)],
            thickness: [spot(0.55, 0.5), spot(0.65, 0.5)],
            width: [spot(0.4, 0.6), spot(0.8, 0.6)],
            rim: std::array::from_fn(|at| around(at as f64 / RIM_MARKS as f64)),
            feet: feet.map(|(at, id)| (id, spot(0.5 + 0.08 * (at as f64 - (n - 1.0) / 2.0), 0.5))).collect(),
            done: Vec::new(),
        }
    }

    /// The scale of marks that were laid on the same picture before: it counts as laid.
    pub fn with_scale_of(&mut self, before: &PhotoMarks) {
        if let Ok(card) = <[Spot; 4]>::try_from(before.card.as_slice()) {
            self.scale = Scale::Card;
            self.card = card;
        } else if let (Ok(ruler), Some(mm)) = (<[Spot; 2]>::try_from(before.ruler.as_slice()), before.ruler_mm) {
            (self.scale, self.ruler, self.ruler_mm) = (Scale::Ruler, ruler, Some(mm));
        } else {
            return;
        }
        let scale = self.scale_handles();
        self.done.extend(scale);
    }

    /// Corners that were found in the picture shrunk to a width, for a person to look at: they do not count as laid, and
    /// move none that does.
    pub fn propose(&mut self, corners: [Point; 4], shrunk_width_px: u32) {
        if !self.done.iter().any(|handle| matches!(handle, Handle::Corner(_))) {
            let scale = f64::from(self.size_px.0) / f64::from(shrunk_width_px.max(1));
            self.card = corners.map(|corner| Point::new(corner.x * scale, corner.y * scale).into());
        }
    }

    fn scale_handles(&self) -> Vec<Handle> {
        match (self.what, self.scale) {
            (Marked::Neck, _) => Vec::new(),
            (_, Scale::Card) => (0..4).map(Handle::Corner).collect(),
            (_, Scale::Ruler) => (0..2).map(Handle::Ruler).collect(),
        }
    }

    /// The marks of what is measured, in the order in which they are laid.
    pub fn handles(&self) -> Vec<Handle> {
        let mut handles = self.scale_handles();
        match self.what {
            Marked::Height => handles.extend((0..2).map(Handle::Height)),
            Marked::Thickness => handles.extend((0..2).map(Handle::Thickness)),
            Marked::Width => handles.extend((0..2).map(Handle::Width)),
            Marked::Neck => {
                handles.extend((0..RIM_MARKS).map(Handle::Rim));
                handles.extend((0..self.feet.len()).map(Handle::Foot));
            }
        }
        handles
    }

    fn spot(&self, handle: Handle) -> Option<Spot> {
        match handle {
            Handle::Corner(at) => self.card.get(at),
            Handle::Ruler(at) => self.ruler.get(at),
            Handle::Height(at) => self.height.get(at),
            Handle::Thickness(at) => self.thickness.get(at),
            Handle::Width(at) => self.width.get(at),
            Handle::Rim(at) => self.rim.get(at),
            Handle::Foot(at) => return self.feet.get(at).map(|(_, spot)| *spot),
        }
        .copied()
    }

    /// Where a mark is.
    pub fn at(&self, handle: Handle) -> Point {
        self.spot(handle).map_or(Point::new(0.0, 0.0), Point::from)
    }

    /// Which shoot's foot a mark is.
    pub fn shoot_of(&self, handle: Handle) -> Option<Id> {
        match handle {
            Handle::Foot(at) => self.feet.get(at)?.0,
            _ => None,
        }
    }

    /// Puts a mark somewhere in the picture: it is laid.
    pub fn put(&mut self, handle: Handle, to: Point) {
        let (width, height) = (f64::from(self.size_px.0), f64::from(self.size_px.1));
        let within = Point::new(to.x.clamp(0.0, width), to.y.clamp(0.0, height));
        let place = match handle {
            Handle::Corner(at) => self.card.get_mut(at),
            Handle::Ruler(at) => self.ruler.get_mut(at),
            Handle::Height(at) => self.height.get_mut(at),
            Handle::Thickness(at) => self.thickness.get_mut(at),
            Handle::Width(at) => self.width.get_mut(at),
            Handle::Rim(at) => self.rim.get_mut(at),
            Handle::Foot(at) => self.feet.get_mut(at).map(|(_, spot)| spot),
        };
        if let Some(place) = place {
            *place = within.into();
            self.is_right(handle);
        }
    }

    /// A mark is right where it stands.
    pub fn is_right(&mut self, handle: Handle) {
        if !self.done.contains(&handle) {
            self.done.push(handle);
        }
    }

    /// All four corners are right where they stand.
    pub fn corners_are_right(&mut self) {
        (0..4).for_each(|at| self.is_right(Handle::Corner(at)));
    }

    /// Whether all four corners are laid.
    pub fn has_card(&self) -> bool {
        (0..4).all(|at| self.is_laid(Handle::Corner(at)))
    }

    /// Whether what is measured takes its scale from a card.
    pub fn uses_card(&self) -> bool {
        self.what != Marked::Neck && self.scale == Scale::Card
    }

    /// Whether any mark is laid.
    pub fn has_any(&self) -> bool {
        !self.done.is_empty()
    }

    /// Lines that join marks of one thing, each as its points.
    pub fn lines(&self) -> Vec<Vec<Point>> {
        let points = |handles: &[Handle]| handles.iter().map(|handle| self.at(*handle)).collect::<Vec<Point>>();
        let mut lines = Vec::new();
        if self.uses_card() {
            let mut around = points(&self.scale_handles());
            around.extend(around.first().copied());
            lines.push(around);
        } else {
            lines.push(points(&self.scale_handles()));
        }
        lines.push(match self.what {
            Marked::Height => points(&[Handle::Height(0), Handle::Height(1)]),
            Marked::Thickness => points(&[Handle::Thickness(0), Handle::Thickness(1)]),
            Marked::Width => points(&[Handle::Width(0), Handle::Width(1)]),
            Marked::Neck => Vec::new(),
        });
        lines
    }

    /// Whether a mark is laid.
    pub fn is_laid(&self, handle: Handle) -> bool {
        self.done.contains(&handle)
    }

    /// The first mark that is still to be laid.
    pub fn next(&self) -> Option<Handle> {
        self.handles().into_iter().find(|handle| !self.is_laid(*handle))
    }

    /// How many of this measurement's marks are laid.
    pub fn n_laid(&self) -> usize {
        self.handles().into_iter().filter(|handle| self.is_laid(*handle)).count()
    }

    /// The mark nearest to a point.
    pub fn nearest(&self, point: Point) -> Option<Handle> {
        let far = |handle: &Handle| self.at(*handle).distance(point);
        self.handles().into_iter().min_by(|a, b| far(a).total_cmp(&far(b)))
    }

    /// The ellipse through the rim's marks.
    pub fn ellipse(&self) -> Option<super::Ellipse> {
        super::Ellipse::through(&self.rim.map(Point::from)).ok()
    }

    /// The marks as they are recorded.
    ///
    /// # Errors
    /// When the corners are not those of a card.
    pub fn marks(&self, photo: AttachmentHash) -> std::result::Result<PhotoMarks, NoNumber> {
        let mut marks = PhotoMarks {
            photo,
            what: self.what,
            card: Vec::new(),
            ruler: Vec::new(),
            ruler_mm: None,
            ends: Vec::new(),
            outline: Vec::new(),
            feet: Vec::new(),
            shoot: None,
        };
        marks.ends = match self.what {
            Marked::Height => self.height.to_vec(),
            Marked::Thickness => self.thickness.to_vec(),
            Marked::Width => self.width.to_vec(),
            Marked::Neck => {
                marks.outline = self.rim.to_vec();
                let foot = |(shoot, Spot { x_decipx, y_decipx }): &(Option<Id>, Spot)| Foot {
                    shoot: *shoot,
                    x_decipx: *x_decipx,
                    y_decipx: *y_decipx,
                };
                marks.feet = self.feet.iter().map(foot).collect();
                return Ok(marks);
            }
        };
        if matches!(self.what, Marked::Height | Marked::Thickness) {
            marks.shoot = self.shoot;
        }
        match self.scale {
            Scale::Card => {
                let (width, height) = (f64::from(self.size_px.0), f64::from(self.size_px.1));
                let corners = plane::card(self.card.map(Point::from), width, height)?;
                marks.card = corners.map(Spot::from).to_vec();
            }
            Scale::Ruler => {
                marks.ruler = self.ruler.to_vec();
                marks.ruler_mm = self.ruler_mm;
            }
        }
        Ok(marks)
    }

    /// What the marks say, once all of them are laid.
    ///
    /// # Errors
    /// Why they say nothing.
    pub fn says(&self, photo: AttachmentHash) -> Result<Says> {
        let of_marks = self.marks(photo).map_err(Error::new)?;
        marks::check(&of_marks)?;
        if self.what == Marked::Neck {
            let rises = marks::rises(&of_marks).map_err(Error::new)?;
            return Ok(Says::Rises(rises.into_iter().map(|(shoot, index)| (shoot, index, Rise::of(index))).collect()));
        }
        let length = marks::length_mm(&of_marks).map_err(Error::new)?;
        Ok(Says::Length(length, (self.what == Marked::Width).then(|| length.around())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::id;

    fn laid() -> Laid {
        Laid::new(1600, 1200, &[id("s_1"), id("s_2")])
    }

    fn photo() -> AttachmentHash {
        AttachmentHash::of(b"a picture")
    }

    #[test]
    fn marks_are_laid_one_after_the_other_and_then_say_a_length() {
        let mut laid = laid();
        // Found in the picture shrunk to half its width.
        let found = [(200.0, 400.0), (371.2, 400.0), (371.2, 507.95), (200.0, 507.95)];
        laid.propose(found.map(|(x, y)| Point::new(x, y)), 800);
        // Proposed corners are not laid.
        assert_eq!((laid.next(), laid.n_laid()), (Some(Handle::Corner(0)), 0));
        laid.corners_are_right();
        assert_eq!(laid.next(), Some(Handle::Height(0)));
        laid.put(Handle::Height(0), Point::new(900.0, 900.0));
        laid.put(Handle::Height(1), Point::new(900.0, 500.0));
        assert_eq!((laid.next(), laid.n_laid()), (None, 6));
        let Ok(Says::Length(mm, None)) = laid.says(photo()) else { panic!("a length") };
        assert_eq!(mm.value.round(), 100.0);
        assert_eq!(laid.marks(photo()).unwrap().shoot, Some(id("s_1")));
        // A corner that a person laid is not proposed anew.
        let before = laid.clone();
        laid.propose([Point::new(1.0, 1.0); 4], 800);
        assert_eq!(laid, before);
    }

    #[test]
    fn a_ruler_asks_for_its_length() {
        let mut laid = laid();
        laid.scale = Scale::Ruler;
        laid.what = Marked::Width;
        assert_eq!(laid.says(photo()), Err(Error::new(NoNumber::NoScale)));
        laid.ruler_mm = Some(100);
        let Ok(Says::Length(mm, Some(around))) = laid.says(photo()) else { panic!("a length") };
        assert!((around.value - mm.value * std::f64::consts::PI).abs() < 1e-9);
    }

    #[test]
    fn the_neck_asks_for_its_rim_and_the_foot_of_each_shoot_and_for_no_scale() {
        let mut laid = laid();
        laid.what = Marked::Neck;
        assert_eq!(laid.handles().len(), RIM_MARKS + 2);
        let Ok(Says::Rises(rises)) = laid.says(photo()) else { panic!("places of rise") };
        assert_eq!(rises.iter().map(|(shoot, ..)| *shoot).collect::<Vec<_>>(), [Some(id("s_1")), Some(id("s_2"))]);
        laid.put(Handle::Foot(1), Point::new(800.0 + 0.15 * 1600.0, 600.0));
        assert_eq!(laid.nearest(Point::new(1040.0, 610.0)), Some(Handle::Foot(1)));
    }

    #[test]
    fn marks_stay_in_the_picture_and_the_scale_of_before_counts_as_laid() {
        let mut laid = laid();
        laid.put(Handle::Height(1), Point::new(-50.0, 5000.0));
        assert_eq!(laid.at(Handle::Height(1)), Point::new(0.0, 1200.0));
        let before = laid.marks(photo()).unwrap();
        let mut again = self::laid();
        again.with_scale_of(&before);
        assert_eq!(again.next(), Some(Handle::Height(0)));
        assert!(again.has_card());
    }
}
