//! Our own line drawings as plain data: paths and the pen of each.
//!
//! One pen weight; the bulb is always the same bulb, seen from the side or straight down into its neck. The app turns
//! a [`Sketch`] into elements with classes, the demo into pictures that stand in for photos.

pub mod answers;
pub mod bulb;
pub mod inspect;
pub mod signs;
pub mod walk;

use std::borrow::Cow;
use std::fmt::Write as _;

pub use answers::{Rise, View, answer, answer_from_other_side, first_view, neck};
pub use bulb::{LeafShow, Pose, ShootShow, bulb_side};
pub use signs::{Sign, sign};
pub use walk::{mishap, walk_answer};

/// What a stroke is of; the pens differ in colour and filling, never in weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pen {
    /// Ink, not filled.
    Line,
    /// Ink around paper, so that it covers what is behind it.
    Body,
    /// Fainter ink, for folds and rings.
    Faint,
    /// A leaf.
    Leaf,
    /// A fold or midrib of a leaf, not filled.
    LeafFold,
    /// A flower stalk, its sheath or flower.
    Scape,
    /// A fold of these, not filled.
    ScapeFold,
    /// A shoot that may be either.
    Unsure,
    /// Filled with ink, no outline.
    Dot,
}

/// One path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stroke {
    /// The pen.
    pub pen: Pen,
    /// The path, in the syntax of SVG 2's `d`.
    pub d: Cow<'static, str>,
}

/// A drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sketch {
    /// Left, top, width and height in its own units.
    pub view_box: [i32; 4],
    /// Strokes, the hindmost first.
    pub strokes: Vec<Stroke>,
}

impl Sketch {
    fn new(view_box: [i32; 4]) -> Self {
        Self { view_box, strokes: Vec::new() }
    }

    fn draw(&mut self, pen: Pen, d: impl Into<Cow<'static, str>>) -> &mut Self {
        self.strokes.push(Stroke { pen, d: d.into() });
        self
    }

    /// The view box as SVG writes it.
    pub fn view_box_text(&self) -> String {
        let [left, top, width, height] = self.view_box;
        format!("{left} {top} {width} {height}")
    }

    /// A picture by itself, in ink on paper, `width_px` wide: presentation attributes only, so that it shows under
    /// a policy that forbids styles.
    pub fn to_svg(&self, width_px: u32) -> String {
        let [left, top, width, height] = self.view_box;
        let height_px = i64::from(width_px) * i64::from(height) / i64::from(width.max(1));
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width_px}\" height=\"{height_px}\" \
             viewBox=\"{}\"><rect x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\" fill=\"#fbf7ec\"/>\
             <g fill=\"none\" stroke-width=\"1.6\" stroke-linecap=\"round\" stroke-linejoin=\"round\">",
            self.view_box_text()
        );
        for stroke in &self.strokes {
            let (ink, fill) = paint(stroke.pen);
            // Writing to a string does not fail.
            let _ = write!(svg, "<path stroke=\"{ink}\" fill=\"{fill}\" d=\"{}\"/>", stroke.d);
        }
        svg.push_str("</g></svg>");
        svg
    }
}

/// Stroke and fill of a pen on light paper, as in the app's tokens.
const fn paint(pen: Pen) -> (&'static str, &'static str) {
    match pen {
        Pen::Line => ("#1d221f", "none"),
        Pen::Body => ("#1d221f", "#fbf7ec"),
        Pen::Faint => ("#8b897a", "none"),
        Pen::Leaf => ("#25532f", "#fbf7ec"),
        Pen::LeafFold => ("#25532f", "none"),
        Pen::Scape => ("#96202a", "#fbf7ec"),
        Pen::ScapeFold => ("#96202a", "none"),
        Pen::Unsure => ("#1d221f", "#f3ecd9"),
        Pen::Dot => ("none", "#1d221f"),
    }
}

/// A whole ellipse as a path.
fn ellipse(cx: i32, cy: i32, rx: i32, ry: i32) -> String {
    let (left, across) = (cx - rx, 2 * rx);
    format!("M{left} {cy}a{rx} {ry} 0 1 0 {across} 0a{rx} {ry} 0 1 0-{across} 0z")
}

/// Hatching of a rectangle as one path: parallel lines rising to the right, cut at its edges. All in tenths.
pub fn hatch(from_x: i64, to_x: i64, top: i64, foot: i64) -> String {
    const STEP: i64 = 70;
    let height = foot - top;
    let mut d = String::new();
    let mut x = from_x - height + STEP;
    while x < to_x {
        let left = x.max(from_x);
        let right = (x + height).min(to_x);
        if left < right {
            let (y1, y2) = (foot - (left - x), foot - (right - x));
            let (left, y1, right, y2) = (tenths(left), tenths(y1), tenths(right), tenths(y2));
            // Writing to a string does not fail.
            let _ = write!(d, "M{left} {y1}L{right} {y2}");
        }
        x += STEP;
    }
    d
}

/// A whole number of tenths, as a decimal.
pub fn tenths(value: i64) -> String {
    let sign = if value < 0 { "-" } else { "" };
    let value = value.abs();
    if value % 10 == 0 { format!("{sign}{}", value / 10) } else { format!("{sign}{}.{}", value / 10, value % 10) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        call::Choice,
        ledger::body::Check,
        nursery::walk::{Answer, Mishap},
    };

    fn all() -> Vec<Sketch> {
        let mut all = Vec::new();
        for leaves in LeafShow::ALL {
            for shoot in ShootShow::ALL {
                all.push(bulb_side(Pose { leaves: *leaves, shoot: *shoot, resting: false }));
            }
        }
        all.push(bulb_side(Pose { resting: true, ..Pose::default() }));
        all.extend(Choice::ALL.iter().map(|choice| answer(*choice)));
        all.extend(Choice::ALL.iter().filter_map(|choice| Some(answer_from_other_side(*choice)?.1)));
        all.extend([Rise::None, Rise::Beside, Rise::Middle].map(neck));
        all.extend(Sign::ALL.iter().map(|s| sign(*s)));
        all.extend(Answer::ALL.iter().filter_map(|answer| walk_answer(*answer)));
        all.extend(Mishap::ALL.iter().map(|one| mishap(*one)));
        let of_check = |check: Check| check.choices().iter().map(move |finding| inspect::told((check, *finding)));
        all.extend(Check::ALL.iter().copied().flat_map(of_check));
        all
    }

    #[test]
    fn every_drawing_differs_from_every_other_and_its_paths_start_with_a_move() {
        let all = all();
        for (at, sketch) in all.iter().enumerate() {
            assert!(sketch.strokes.iter().all(|s| s.d.starts_with('M')));
            let same = all.iter().skip(at + 1).find(|other| *other == sketch);
            // The two ways of asking for a shoot beside or amid the leaves share their drawing.
            let shared = [neck(Rise::Beside), neck(Rise::Middle)];
            assert!(same.is_none() || shared.contains(sketch), "{:?}", sketch.strokes);
        }
    }

    #[test]
    fn a_picture_carries_no_style_and_keeps_its_proportions() {
        let svg = bulb_side(Pose::default()).to_svg(600);
        assert!(svg.contains("width=\"600\" height=\"1000\""), "{svg}");
        assert!(!svg.contains("style") && !svg.contains("class"));
    }

    #[test]
    fn hatching_stays_within_its_rectangle_and_fills_it() {
        let d = hatch(103, 777, 60, 200);
        let mut spots = Vec::new();
        for line in d.split('M').skip(1) {
            let (from, to) = line.split_once('L').unwrap();
            for end in [from, to] {
                let (x, y) = end.split_once(' ').unwrap();
                spots.push((x.parse::<f64>().unwrap(), y.parse::<f64>().unwrap()));
            }
        }
        assert!(spots.iter().all(|(x, y)| (10.3..=77.7).contains(x) && (6.0..=20.0).contains(y)));
        // Lines 7 units apart over 67.4 units and 14 for the slope.
        assert_eq!(spots.len() / 2, 11);
        assert_eq!(hatch(100, 100, 60, 200), "");
        assert_eq!((tenths(-35), tenths(120)), ("-3.5".to_owned(), "12".to_owned()));
    }
}
