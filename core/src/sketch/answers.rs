//! One drawing for each answer of the key, and the neck from above.

use strum::VariantArray;

use super::{Pen, Sketch, ellipse};
use crate::call::Choice;

/// Where a shoot rises, seen straight down into the neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rise {
    /// No shoot.
    None,
    /// Beside the leaves.
    Beside,
    /// Among the leaves.
    Middle,
}

/// The neck from above, 140 by 124.
pub fn neck(rise: Rise) -> Sketch {
    let mut sketch = rings();
    match rise {
        Rise::None => fan(&mut sketch, 62),
        Rise::Beside => {
            fan(&mut sketch, 68);
            sketch.draw(Pen::Unsure, ellipse(70, 40, 15, 9)).draw(Pen::Line, "M58 40h24");
        }
        Rise::Middle => {
            fan(&mut sketch, 62);
            sketch.draw(Pen::Unsure, "M52 62c8-6 28-6 36 0-8 6-28 6-36 0z").draw(Pen::Line, "M58 62h24");
        }
    }
    sketch
}

fn rings() -> Sketch {
    let mut sketch = Sketch::new([0, 0, 140, 124]);
    for (rx, ry) in [(62, 54), (52, 45), (43, 37)] {
        sketch.draw(Pen::Faint, ellipse(70, 62, rx, ry));
    }
    sketch.draw(Pen::Body, ellipse(70, 62, 34, 29));
    sketch
}

/// Two leaves with their faces to each other, cut across.
fn fan(sketch: &mut Sketch, y: i32) {
    let (above, below) = (y - 9, y + 9);
    sketch
        .draw(Pen::Leaf, format!("M40 {above}c18-8 42-8 60 0-18-2-42-2-60 0z"))
        .draw(Pen::Leaf, format!("M40 {below}c18 8 42 8 60 0-18 2-42 2-60 0z"));
}

/// From where a shoot is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, VariantArray)]
pub enum View {
    /// From the side, at eye level.
    Side,
    /// Straight down into the neck.
    Above,
}

/// The drawing of an answer from where it shows best.
pub fn answer(choice: Choice) -> Sketch {
    match choice {
        Choice::Beside => neck(Rise::Beside),
        Choice::Middle => neck(Rise::Middle),
        Choice::AlongLeaves | Choice::FacesLeaf => face(choice == Choice::AlongLeaves),
        Choice::Thick | Choice::Thin => thickness(choice == Choice::Thick),
        Choice::BluntSpear | Choice::RoundedTongue => outline(choice == Choice::BluntSpear),
        Choice::Oval | Choice::Flat => section(choice == Choice::Oval),
        Choice::LineSeen | Choice::NoLine => tip_line(choice == Choice::LineSeen),
        Choice::Fast => growth(18),
        Choice::Middling => growth(46),
        Choice::Slow => growth(66),
        Choice::BeforeLeaves | Choice::AfterLeaves => order(choice == Choice::BeforeLeaves),
        Choice::Room | Choice::Full => scapes(choice == Choice::Room),
    }
}

/// The same from the other side, where it shows there too.
pub fn answer_from_other_side(choice: Choice) -> Option<(View, Sketch)> {
    let (view, sketch) = match choice {
        Choice::Beside | Choice::Middle => (View::Side, rise_from_side(choice == Choice::Beside)),
        Choice::AlongLeaves | Choice::FacesLeaf => (View::Side, face_from_side(choice == Choice::AlongLeaves)),
        Choice::Thick | Choice::Thin => (View::Above, thickness_from_above(choice == Choice::Thick)),
        Choice::BluntSpear | Choice::RoundedTongue => (View::Above, tip_from_above(choice == Choice::BluntSpear)),
        Choice::Oval | Choice::Flat => (View::Side, section_from_side(choice == Choice::Oval)),
        Choice::LineSeen | Choice::NoLine => (View::Above, line_from_above(choice == Choice::LineSeen)),
        Choice::BeforeLeaves | Choice::AfterLeaves => (View::Above, order_from_above(choice == Choice::BeforeLeaves)),
        Choice::Fast | Choice::Middling | Choice::Slow | Choice::Room | Choice::Full => return None,
    };
    Some((view, sketch))
}

/// From where the first drawing of a question's answers is seen.
pub const fn first_view(choice: Choice) -> View {
    match choice {
        Choice::Beside | Choice::Middle | Choice::AlongLeaves | Choice::FacesLeaf | Choice::Oval | Choice::Flat => {
            View::Above
        }
        _ => View::Side,
    }
}

/// From the side: the shoot outside the pair of leaves, or between them.
fn rise_from_side(beside: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    let x = if beside { 0 } else { 20 };
    if !beside {
        sketch.draw(Pen::Leaf, "M36 100C30 70 24 44 12 24c16 14 28 42 32 76z");
    }
    sketch
        .draw(Pen::Leaf, "M56 100c6-32 14-56 30-74-8 24-18 48-20 74z")
        .draw(Pen::Unsure, format!("M{} 100c-2-22-1-38 6-50 7 12 9 28 8 50z", 26 + x));
    if beside {
        sketch.draw(Pen::Leaf, "M46 100C42 70 40 44 34 20c14 16 20 44 22 80z");
    }
    neck_edge(&mut sketch);
    sketch
}

/// From the side, looking along the leaves' edges: the shoot's narrow edge like theirs, or its broad side.
fn face_from_side(along: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    sketch.draw(Pen::Leaf, "M62 100c2-30 4-54 8-78 4 24 2 52-2 78z");
    sketch.draw(
        Pen::Unsure,
        if along { "M34 100c0-24 1-42 4-56 4 14 5 32 4 56z" } else { "M22 100c-2-26 2-44 16-58 14 14 18 32 16 58z" },
    );
    if !along {
        sketch.draw(Pen::Faint, "M38 98c-1-18-1-34 0-48");
    }
    neck_edge(&mut sketch);
    sketch
}

/// A leaf cut across on the left; on the right what the shoot looks like from its end.
fn thickness_from_above(thick: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 140, 124]);
    sketch.draw(Pen::Leaf, "M10 62c14-12 38-12 50 0-14-4-36-4-50 0z").draw(
        Pen::Unsure,
        if thick { ellipse(100, 62, 28, 18) } else { "M72 62c14-11 42-11 56 0-16-4-40-4-56 0z".to_owned() },
    );
    sketch
}

/// Straight down on the tip: a blunt point with its two bracts, or a rounded edge.
fn tip_from_above(spear: bool) -> Sketch {
    let mut sketch = rings();
    if spear {
        sketch.draw(Pen::Unsure, "M44 62c10-18 42-18 52 0-10 18-42 18-52 0z").draw(Pen::Dot, ellipse(70, 62, 3, 3));
    } else {
        sketch.draw(Pen::Unsure, "M42 56c16 10 40 10 56 0-4 22-52 22-56 0z").draw(Pen::Faint, "M48 64c14 7 30 7 44 0");
    }
    sketch
}

/// What the shoot looks like from its end: thick both ways, or thick one way only.
fn section(oval: bool) -> Sketch {
    let mut sketch = rings();
    sketch.draw(
        Pen::Unsure,
        if oval { ellipse(70, 62, 26, 18) } else { "M42 66c12-14 44-14 56 0-14-6-42-6-56 0z".to_owned() },
    );
    sketch
}

/// Turned by a quarter: as thick as before, or thin.
fn section_from_side(oval: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    sketch.draw(
        Pen::Unsure,
        if oval { "M36 100c-2-26 0-46 12-62 12 16 14 36 12 62z" } else { "M45 100c-1-26 0-46 4-62 4 16 4 36 3 62z" },
    );
    neck_edge(&mut sketch);
    sketch
}

/// Straight down on the tip: the line where two bracts meet, or none.
fn line_from_above(seen: bool) -> Sketch {
    let mut sketch = rings();
    sketch.draw(Pen::Unsure, ellipse(70, 62, 26, 16));
    if seen {
        sketch.draw(Pen::Line, "M47 64c14-6 32 2 46-4");
    } else {
        sketch.draw(Pen::Faint, "M54 54c10-4 22-4 32 0");
    }
    sketch
}

/// Straight down: the shoot alone in the neck, or leaves there already.
fn order_from_above(before: bool) -> Sketch {
    let mut sketch = rings();
    if !before {
        fan(&mut sketch, 62);
    }
    sketch.draw(Pen::Unsure, ellipse(70, if before { 62 } else { 40 }, 13, 8));
    sketch
}

/// A bulb with one stalk up and a place for another beside it, or with none left.
fn scapes(room: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    sketch
        .draw(Pen::Body, "M18 108c-8-20 6-38 22-42h16c16 4 30 22 22 42z")
        .draw(Pen::Scape, "M38 66c0-18 0-32 2-44 4 8 5 26 5 44z");
    if room {
        sketch.draw(Pen::Unsure, "M52 66c0-10 1-18 4-26 3 8 4 16 3 26z");
    } else {
        sketch.draw(Pen::Scape, "M52 66c0-20 1-36 4-50 4 14 4 30 3 50z");
    }
    sketch
}

/// From above: the shoot's flat side along the leaves' faces, or turned to the leaf opposite.
fn face(along: bool) -> Sketch {
    let mut sketch = rings();
    if along {
        fan(&mut sketch, 68);
        sketch.draw(Pen::Unsure, "M50 41c3-11 37-11 40 0-3 11-37 11-40 0z").draw(Pen::Line, "M60 41h20");
    } else {
        // One leaf, and the shoot bent toward it like the other half of a pair.
        sketch
            .draw(Pen::Leaf, "M40 71c18 8 42 8 60 0-18 2-42 2-60 0z")
            .draw(Pen::Unsure, "M44 53c14-9 38-9 52 0-14-3-38-3-52 0z");
    }
    sketch
}

/// Ground line of the tip drawings, 96 by 112: the neck's edge.
fn neck_edge(sketch: &mut Sketch) {
    sketch.draw(Pen::Body, "M8 112c2-10 8-16 18-18 14 4 30 4 44 0 10 2 16 8 18 18");
}

fn thickness(thick: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    sketch.draw(Pen::Leaf, "M30 100C29 70 27 44 22 20c9 20 13 50 13 80z").draw(
        Pen::Unsure,
        if thick {
            "M48 100c-1-28 0-46 4-58 2-6 5-10 8-13 4 4 7 9 8 15 3 14 3 30 1 56z"
        } else {
            "M54 100c0-26 1-46 3-58 1-5 2-9 3-12 2 3 3 8 3 13 1 16 0 33-1 57z"
        },
    );
    neck_edge(&mut sketch);
    sketch
}

fn outline(spear: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    if spear {
        sketch
            .draw(Pen::Unsure, "M36 112c0-26-3-42-2-58 1-16 7-30 14-40 7 10 13 24 14 40 1 16-2 32-2 58z")
            .draw(Pen::Faint, "M41 112c0-24-2-40-1-54M55 112c0-24 2-40 1-54");
    } else {
        sketch
            .draw(Pen::Unsure, "M38 112c-1-30-1-56 0-72 1-12 4-20 10-20s9 8 10 20c1 16 1 42 0 72z")
            .draw(Pen::Faint, "M48 112c-1-26-1-52 0-78");
    }
    sketch
}

fn tip_line(seen: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    sketch.draw(Pen::Unsure, "M30 112c-2-30-2-50 2-66 3-14 9-26 16-34 7 8 13 20 16 34 4 16 4 36 2 66z");
    if seen {
        sketch.draw(Pen::Line, "M48 12c-5 20-7 40 1 66").draw(Pen::Line, "M48 12c1 4 3 7 4 9");
    } else {
        sketch.draw(Pen::Faint, "M40 112c-1-24-1-44 1-60M56 112c1-24 1-44-1-60");
    }
    sketch
}

/// A shoot at the look before, and now with its tip at `y`; a tick a centimetre beside it.
fn growth(y: i32) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    let (shoulder, base) = (y + 12, 100);
    sketch
        .draw(Pen::Faint, "M86 98V14M82 98h4M82 84h4M82 70h4M82 56h4M82 42h4M82 28h4M82 14h4")
        .draw(Pen::Faint, "M20 76h56")
        .draw(Pen::Body, "M22 100c0-10 1-18 5-24 4 6 6 14 5 24z")
        .draw(
            Pen::Unsure,
            format!("M54 {base}C53 {shoulder} 55 {shoulder} 59 {y}C64 {shoulder} 65 {shoulder} 65 {base}z"),
        );
    neck_edge(&mut sketch);
    sketch
}

fn order(before: bool) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 96, 112]);
    if !before {
        sketch
            .draw(Pen::Leaf, "M40 100C38 66 30 40 14 22c18 12 31 40 34 78z")
            .draw(Pen::Leaf, "M50 100c3-36 14-60 32-72-12 20-20 44-24 72z");
    }
    sketch.draw(Pen::Unsure, "M42 100c-1-18 0-30 6-42 7 12 8 24 7 42z");
    neck_edge(&mut sketch);
    sketch
}
