//! One drawing for each answer of the key, and the neck from above.

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

/// The drawing of an answer.
pub fn answer(choice: Choice) -> Sketch {
    match choice {
        Choice::Beside => neck(Rise::Beside),
        Choice::Middle => neck(Rise::Middle),
        Choice::AlongLeaves | Choice::FacesLeaf => face(choice == Choice::AlongLeaves),
        Choice::Thick | Choice::Thin => thickness(choice == Choice::Thick),
        Choice::BluntSpear | Choice::RoundedTongue => outline(choice == Choice::BluntSpear),
        Choice::LineSeen | Choice::NoLine => tip_line(choice == Choice::LineSeen),
        Choice::Fast => growth(18),
        Choice::Middling => growth(46),
        Choice::Slow => growth(66),
        Choice::BeforeLeaves | Choice::AfterLeaves => order(choice == Choice::BeforeLeaves),
    }
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
