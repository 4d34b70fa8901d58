//! Measuring on photos: marks that a finger laid on a picture, turned into lengths and places with their error.
//!
//! [`plane`] is the plane of a card or a ruler in the picture, [`neck`] the neck's outline and where a shoot rises in
//! it, [`growth`](mod@growth) what two lengths say together. [`marks`] reads all of that from a record, [`lay`] holds
//! marks while they are being laid, [`finder`] proposes a card's corners, [`beside`] puts photos side by side,
//! [`shade`] reads shade from two photos of a card. The
//! picture itself is never changed, and what is read here is never stored.
//!
//! Every number comes as an [`Estimate`]: 9 times in 10 the truth lies within its error. The error holds how far a
//! finger misses ([`TAP_SD_PX`]) and how the card lies; it does not hold that a thing stood before or behind the card.

pub mod beside;
pub mod code;
pub mod finder;
pub mod growth;
pub mod lay;
pub mod marks;
mod matrix;
pub mod neck;
pub mod plane;
pub mod shade;

pub use growth::growth;
pub use neck::{Ellipse, Rise};
pub use plane::Plane;

use serde::{Deserialize, Serialize};

/// How far a mark laid with the magnifier misses its point in each direction: standard deviation in pixels of the kept
/// picture. Our own, no source.
pub const TAP_SD_PX: f64 = 1.5;

/// Standard deviations to either side that hold 9 in 10 of a normal distribution.
const NINE_IN_TEN: f64 = 1.644_853_626_951_472_2;

/// A point of the kept picture, in pixels from its upper left corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Point {
    /// The point at these coordinates.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// How far another point is, in pixels.
    pub fn distance(self, other: Self) -> f64 {
        ((self.x - other.x).powi(2) + (self.y - other.y).powi(2)).sqrt()
    }
}

/// A number read from a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The number, in the unit of whoever gives it.
    pub value: f64,
    /// Half the width of the interval around it that holds the truth 9 times in 10.
    pub error: f64,
}

impl Estimate {
    /// A number with the standard deviation of its error.
    fn with_sd(value: f64, sd: f64) -> Self {
        Self { value, error: NINE_IN_TEN * sd }
    }

    /// The number and its error, both so many times as large.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { value: self.value * factor, error: self.error * factor.abs() }
    }

    /// The circumference of something round with this diameter.
    #[must_use]
    pub fn around(self) -> Self {
        self.times(std::f64::consts::PI)
    }
}

/// Why a picture gives no number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoNumber {
    /// There is neither a card nor a ruler in it.
    NoScale,
    /// The card's corners are not four corners around it: crossed, or on one line.
    CornersCrossed,
    /// The card is smaller in the picture than [`plane::CARD_SIDE_PX_MIN`].
    CardTooSmall,
    /// The card is seen more obliquely than [`plane::FLATNESS_MIN`] allows.
    TooOblique,
    /// The corners are not those of a flat card of that size.
    NotTheCard,
    /// The marks of the ruler are nearer together than [`plane::RULER_PX_MIN`], or no length is said.
    RulerTooShort,
    /// A mark lies where the card's plane, drawn out, is not seen any more.
    BeyondPlane,
    /// Both marks are at one place.
    MarksTogether,
    /// The error is more than [`plane::ROUGH_MAX`] of the length.
    TooRough,
    /// The outline has fewer marks than [`neck::OUTLINE_MIN`].
    OutlineTooShort,
    /// The outline's marks are not around an ellipse.
    NoEllipse,
    /// No foot of a shoot is marked.
    NoFoot,
    /// The two days are not in order, or one and the same.
    NotLater,
}

/// What comes of a number when each of its inputs misses by a little: the standard deviation of what `of` gives, each
/// input with its own (first-order propagation, by central differences).
fn propagated<const N: usize>(inputs: [f64; N], sd: [f64; N], of: impl Fn(&[f64; N]) -> Option<f64>) -> Option<f64> {
    propagated_slice(&inputs, &sd, |inputs| of(inputs.try_into().ok()?))
}

/// The same for as many inputs as there are.
fn propagated_slice(inputs: &[f64], sd: &[f64], of: impl Fn(&[f64]) -> Option<f64>) -> Option<f64> {
    /// Small beside a pixel and large beside what rounding does.
    const STEP: f64 = 1e-3;
    let mut moved = inputs.to_vec();
    let mut variance = 0.0;
    for (at, sd) in sd.iter().enumerate() {
        let input = inputs[at];
        moved[at] = input + STEP;
        let more = of(&moved)?;
        moved[at] = input - STEP;
        let less = of(&moved)?;
        moved[at] = input;
        let slope = (more - less) / (2.0 * STEP);
        variance += (slope * sd).powi(2);
    }
    Some(variance.sqrt())
}
