//! Small signs: the four places at the foot, and marks for looks.

use super::{Pen, Sketch, ellipse};

/// A sign, 26 by 26.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sign {
    /// What is due: an almanac's page with the hands of a clock.
    Due,
    /// Places: a bench with pots.
    Places,
    /// Trials: rows of bulbs that did and did not.
    Trials,
    /// Files: sheets.
    Files,
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
    pub const ALL: &'static [Self] = &[
        Self::Due,
        Self::Places,
        Self::Trials,
        Self::Files,
        Self::Nothing,
        Self::Found,
        Self::Silent,
        Self::Photo,
    ];
}

/// Draws a sign.
pub fn sign(sign: Sign) -> Sketch {
    let mut sketch = Sketch::new([0, 0, 26, 26]);
    match sign {
        Sign::Due => {
            sketch
                .draw(Pen::Line, "M4 5h18v18H4zM4 10h18M9 2v4M17 2v4")
                .draw(Pen::Line, "M13 13v4l3 2");
        }
        Sign::Places => {
            sketch
                .draw(Pen::Line, "M2 15h22M5 15v8M21 15v8")
                .draw(Pen::Line, "M6 15l-1-5h6l-1 5M16 15l-1-5h6l-1 5")
                .draw(Pen::Line, "M8 10c0-3-1-5-3-6M8 10c0-3 1-5 3-6M18 10V4");
        }
        Sign::Trials => {
            sketch
                .draw(Pen::Line, "M2 8h20M2 5v6M22 5v6M6 18h18M6 15v6M24 15v6")
                .draw(Pen::Dot, ellipse(9, 8, 3, 3))
                .draw(Pen::Line, ellipse(9, 8, 3, 3))
                .draw(Pen::Body, ellipse(17, 18, 3, 3));
        }
        Sign::Files => {
            sketch
                .draw(Pen::Line, "M8 6h8l5 5v12H8zM16 6v5h5")
                .draw(Pen::Line, "M5 20V3h9M11 15h7M11 19h7");
        }
        Sign::Nothing => {
            sketch.draw(Pen::Body, ellipse(13, 13, 7, 7));
        }
        Sign::Found => {
            sketch
                .draw(Pen::Dot, ellipse(13, 13, 7, 7))
                .draw(Pen::Line, ellipse(13, 13, 7, 7));
        }
        Sign::Silent => {
            sketch.draw(Pen::Line, "M7 13h12");
        }
        Sign::Photo => {
            sketch
                .draw(Pen::Line, "M3 8h5l2-3h6l2 3h5v14H3z")
                .draw(Pen::Line, ellipse(13, 14, 4, 4));
        }
    }
    sketch
}
