//! Small signs: marks for looks and photos.

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
}

impl Sign {
    /// Every member.
    pub const ALL: &'static [Self] = &[Self::Nothing, Self::Found, Self::Silent, Self::Photo];
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
        Sign::Silent => {
            sketch.draw(Pen::Line, "M7 13h12");
        }
        Sign::Photo => {
            sketch.draw(Pen::Line, "M3 8h5l2-3h6l2 3h5v14H3z").draw(Pen::Line, ellipse(13, 14, 4, 4));
        }
    }
    sketch
}
