//! One drawing for each answer of the walk and each mishap: what one sees over the rim of the neck.

use super::{
    Pen, Sketch,
    bulb::{ShootShow, body, shoot},
    ellipse,
};
use crate::nursery::walk::{Answer, Mishap};

/// The drawing of an answer; none for those that repeat what was there, which are told apart by their place.
pub fn walk_answer(answer: Answer) -> Option<Sketch> {
    Some(match answer {
        Answer::NothingYet | Answer::Same | Answer::Firm => return None,
        Answer::MoreLeaves => two_leaves(),
        Answer::ItIsALeaf => one_leaf(),
        Answer::Stalk => tip(Pen::Scape),
        Answer::ShootNotSure => tip(Pen::Unsure),
        Answer::Higher => higher(),
        Answer::SecondStalk => two_stalks(),
        Answer::SheathSplit => split_sheath(),
        Answer::FirstFlower => head(ShootShow::InFlower, [44, -6, 66, 80]),
        Answer::Fading => head(ShootShow::Fading, [40, 16, 72, 86]),
        Answer::Over => stump(),
        Answer::SoftSpots => in_hand(|sketch| {
            sketch.draw(Pen::Unsure, ellipse(44, 158, 12, 9)).draw(Pen::Unsure, ellipse(76, 142, 7, 6));
        }),
        Answer::Mould => in_hand(|sketch| {
            for (x, y) in [(40, 150), (50, 162), (62, 152), (72, 166), (82, 150), (56, 142), (46, 172), (70, 140)] {
                sketch.draw(Pen::Dot, ellipse(x, y, 3, 3));
            }
        }),
    })
}

/// The drawing of a mishap.
pub fn mishap(mishap: Mishap) -> Sketch {
    let mut sketch = over_the_rim();
    match mishap {
        Mishap::StalkBroken => sketch
            .draw(Pen::Scape, "M50 142c0-24 1-42 3-58l13 4c-1 18-2 34-4 54z")
            .draw(Pen::Scape, "M53 82c8-10 20-18 34-20l3 12c-10 2-18 7-24 14z")
            .draw(Pen::Scape, "M87 60c8-6 18-6 26 2-6 8-16 12-24 10z"),
        Mishap::BudDried => sketch
            .draw(Pen::Scape, "M52 142c1-36 2-54 4-74h8c-1 22-1 46-2 74z")
            .draw(Pen::Unsure, "M56 68c-10-10-12-26-4-42 3 8 6 10 9 6 6 12 6 26 3 36z")
            .draw(Pen::Line, "M56 60c-4-8-5-16-3-24M61 60c1-8 1-14-1-20"),
        Mishap::Blind => sketch
            .draw(Pen::Body, "M14 142c4-36 16-58 34-62 8 2 16 2 24 0 18 4 30 26 34 62z")
            .draw(Pen::Faint, "M36 140c2-22 8-38 16-48M84 140c-2-22-8-38-16-48"),
    };
    sketch
}

/// 120 by 144; the rim of the neck is the foot.
fn over_the_rim() -> Sketch {
    Sketch::new([0, 0, 120, 144])
}

fn two_leaves() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Leaf, "M60 142C54 92 46 54 16 20c30 18 50 60 54 122z")
        .draw(Pen::LeafFold, "M65 140C60 92 52 60 28 34")
        .draw(Pen::Leaf, "M66 142c4-50 16-84 40-106-14 28-24 64-28 106z")
        .draw(Pen::LeafFold, "M72 140c4-40 12-66 24-88");
    sketch
}

fn one_leaf() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Leaf, "M54 142C50 92 50 50 60 16c12 34 14 78 10 126z")
        .draw(Pen::LeafFold, "M62 140c-1-44-2-76-1-104");
    sketch
}

fn tip(pen: Pen) -> Sketch {
    let mut sketch = over_the_rim();
    if pen == Pen::Unsure {
        sketch.draw(pen, "M46 142c-2-38 0-62 14-88 16 24 18 52 16 88z");
    } else {
        sketch
            .draw(pen, "M50 142c0-40 2-70 6-96 2-12 6-20 12-30 8 12 10 22 10 32 0 30-4 60-8 94z")
            .draw(Pen::ScapeFold, "M68 18c-5 16-5 30-2 44");
    }
    sketch
}

fn higher() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Scape, "M48 142c1-40 4-64 8-86h14c-2 26-4 50-6 86z")
        .draw(Pen::Scape, "M54 58c-3-16 0-32 10-50 10 14 12 34 8 50-5 3-13 3-18 0z")
        .draw(Pen::Line, "M98 124V36M88 50l10-15 10 15");
    sketch
}

fn two_stalks() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Scape, "M36 142c1-40 4-64 6-86h12c-2 26-2 50-4 86z")
        .draw(Pen::Scape, "M40 58c-3-16 0-32 9-50 8 14 10 34 7 50-5 3-11 3-16 0z")
        .draw(Pen::Scape, "M72 142c0-20 1-34 4-48 2-8 4-12 8-18 5 6 6 12 6 20 0 16-2 30-4 46z");
    sketch
}

fn split_sheath() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Scape, "M54 142c1-24 3-46 6-64h12c-2 20-4 40-6 64z")
        .draw(Pen::Scape, "M62 80c-12-14-14-36-4-60 12 16 16 38 12 60z")
        .draw(Pen::Scape, "M70 82c0-18 8-40 24-52 4 20-2 40-16 54z")
        .draw(Pen::Scape, "M58 82C46 74 34 60 30 38c18 8 30 24 34 44z");
    sketch
}

fn stump() -> Sketch {
    let mut sketch = over_the_rim();
    sketch
        .draw(Pen::Scape, "M50 142c2-30 4-50 6-70l18 2c-2 20-4 44-6 68z")
        .draw(Pen::ScapeFold, "M56 72c4 5 14 7 18 2");
    sketch
}

/// The head of a stalk as the bulb from the side has it, seen close.
fn head(show: ShootShow, view_box: [i32; 4]) -> Sketch {
    let mut sketch = Sketch::new(view_box);
    shoot(&mut sketch, show);
    sketch
}

/// The bulb in the hand, with what is found on it.
fn in_hand(mark: impl FnOnce(&mut Sketch)) -> Sketch {
    let mut sketch = Sketch::new([8, 96, 104, 104]);
    body(&mut sketch);
    mark(&mut sketch);
    sketch
}
