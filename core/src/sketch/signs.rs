//! Small signs: marks for looks and photos, and what else there is to do at a bulb.

use super::{Pen, Sketch, ellipse};

/// A sign, 26 by 26.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sign {
    /// A look that found nothing.
    Nothing,
    /// A look that found something.
    Found,
    /// A look that was silent about the neck.
    Silent,
    /// A photo.
    Photo,
    /// More to say of the same bulb.
    Also,
    /// Something is wrong.
    Trouble,
    /// The pot is not where it should be.
    NotHere,
    /// Fit to sell.
    Fit,
    /// A look into every detail.
    Closely,
    /// On to the next.
    On,
    /// A shoot that may be stalk or leaf.
    Unsure,
}

impl Sign {
    /// Every member.
    pub const ALL: &'static [Self] = &[
        Self::Nothing,
        Self::Found,
        Self::Silent,
        Self::Photo,
        Self::Also,
        Self::Trouble,
        Self::NotHere,
        Self::Fit,
        Self::Closely,
        Self::On,
        Self::Unsure,
    ];
}

/// Draws a sign.
pub fn sign(sign: Sign) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 26, 26]);
    match sign {
        Sign::Nothing => {
            sketch.draw(Pen::Body, ellipse(13, 13, 7, 7));
        }
        Sign::Found => {
            sketch.draw(Pen::Dot, ellipse(13, 13, 7, 7)).draw(Pen::Line, ellipse(13, 13, 7, 7));
        }
        Sign::Unsure => {
            sketch.draw(Pen::Unsure, "M9 23c-1-8 0-14 4-19 4 5 5 11 4 19z").draw(Pen::Line, "M4 23h18");
        }
        Sign::Silent => {
            sketch.draw(Pen::Line, "M7 13h12");
        }
        Sign::Also => {
            sketch.draw(Pen::Line, "M13 5v16M5 13h16");
        }
        Sign::Trouble => {
            sketch.draw(Pen::Line, "M13 4v12M13 20v2").draw(Pen::Line, "M5 8c4-5 12-5 16 0");
        }
        Sign::NotHere => {
            sketch.draw(Pen::Line, "M7 10h12l-2 12H9zM5 4l16 18");
        }
        Sign::Fit => {
            sketch.draw(Pen::Line, "M7 14h12l-2 9H9zM13 14V4M8 7l4 4 7-8");
        }
        Sign::Closely => {
            sketch.draw(Pen::Line, ellipse(11, 11, 7, 7)).draw(Pen::Line, "M16 16l7 7");
        }
        Sign::On => {
            sketch.draw(Pen::Line, "M5 13h15M14 6l7 7-7 7");
        }
        Sign::Photo => {
            sketch.draw(Pen::Line, "M3 8h5l2-3h6l2 3h5v14H3z").draw(Pen::Line, ellipse(13, 14, 4, 4));
        }
    }
    sketch
}
