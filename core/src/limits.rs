//! Every bound once: what it limits, and its least and greatest value.
//!
//! Validation, test generators and the inputs' least and greatest values are all fed from here; the words crate says
//! what is limited, in which unit, and why.

use crate::{
    error::{Error, Result},
    refusal::Refusal,
};

/// A closed range of whole numbers that a recorded value must lie in.
#[derive(Debug, PartialEq, Eq)]
pub struct Limit {
    /// What is limited, and the unit of the recorded integer.
    pub of: Limited,
    /// The least value taken.
    pub min: i64,
    /// The greatest value taken.
    pub max: i64,
}

impl Limit {
    /// Gives `value` back when it is within bounds.
    ///
    /// # Errors
    /// With the limit and the value.
    pub fn check(&'static self, value: i64) -> Result<i64> {
        if self.contains(value) { Ok(value) } else { Err(Error::new(Refusal::OutOfBounds { limit: self, value })) }
    }

    /// Whether `value` is within bounds.
    pub const fn contains(&self, value: i64) -> bool {
        self.min <= value && value <= self.max
    }
}

macro_rules! limits {
    ($($(#[$doc:meta])* $id:ident: $of:ident, $min:literal..=$max:literal;)*) => {
        /// What a limit is of.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Limited {
            $($(#[$doc])* $of,)*
        }
        $(
            $(#[$doc])*
            pub static $id: Limit = Limit { of: Limited::$of, min: $min, max: $max };
        )*
        /// All limits, in the order in which they stand in this file.
        pub static ALL: &[&Limit] = &[$(&$id),*];
    };
}

limits! {
    /// Circumference of a bulb at its widest, mm.
    CIRCUMFERENCE_MM: Circumference, 20..=600;
    /// Height of a shoot, leaf or scape above the neck, mm.
    HEIGHT_MM: Height, 0..=1500;
    /// Length of a bulb's neck, mm.
    NECK_MM: Neck, 0..=500;
    /// Length of a leaf, mm.
    LEAF_MM: Leaf, 0..=1500;
    /// Weight of a bulb, g.
    WEIGHT_G: Weight, 1..=5000;
    /// Temperature, tenths of a degree Celsius.
    TEMPERATURE_DC: Temperature, -300..=600;
    /// Relative humidity, per cent.
    HUMIDITY_PCT: Humidity, 0..=100;
    /// Photon flux density between 400 and 700 nm, µmol m⁻² s⁻¹.
    PPFD: Ppfd, 0..=3000;
    /// Illuminance, lux.
    LUX: Lux, 0..=200000;
    /// Share of the light in the open that comes through, permille; more than all where a wall throws light back.
    PASSES_PERMILLE: Passes, 0..=2000;
    /// Parts of one thing in a mix.
    MIX_PARTS: MixParts, 1..=1000;
    /// Things that a mix is made of.
    MIX_THINGS: MixThings, 1..=12;
    /// Litres in a bag.
    BAG_L: Bag, 1..=3000;
    /// Weight of a litre, g.
    LITRE_G: LitreWeight, 1..=4000;
    /// Share of its volume that a mix loses, permille.
    SETTLES_PERMILLE: Settles, 0..=600;
    /// Pots filled in one go.
    POTS: Pots, 1..=10000;
    /// Number of leaves on one bulb.
    LEAVES: Leaves, 0..=40;
    /// Number of scapes of one bulb in one cycle.
    SCAPES: Scapes, 0..=10;
    /// Number of florets in one umbel.
    FLORETS: Florets, 0..=60;
    /// Share of light that a shade layer blocks, per cent.
    SHADE_PCT: Shade, 0..=100;
    /// Latitude of the nursery, tenths of a degree, north positive.
    LATITUDE_DECIDEG: Latitude, -900..=900;
    /// Bulbs added to the nursery in one go.
    BULBS_AT_ONCE: BulbsAtOnce, 1..=400;
    /// Subjects one entry is about.
    ABOUT: About, 1..=400;
    /// Length of one line of the ledger in bytes.
    LINE_BYTES: Line, 1..=32768;
    /// Length of a name or another short text in characters.
    NAME_CHARS: Name, 0..=200;
    /// Groups that one try compares.
    GROUPS: Groups, 2..=24;
    /// Length of a note in bytes of UTF-8.
    NOTE_BYTES: Note, 0..=4096;
    /// Inner width or height of a container, mm.
    CONTAINER_MM: Container, 20..=3000;
    /// Photos attached to one entry.
    PHOTOS: Photos, 0..=12;
    /// Entries in one ledger.
    ENTRIES: Entries, 0..=400000;
    /// Bytes of one photo or attached file.
    ATTACHMENT_BYTES: Attachment, 1..=16777216;
    /// Photos and attached files in one ledger, small pictures counted too.
    ATTACHMENTS: Attachments, 0..=100000;
    /// Days of rest.
    REST_DAYS: Rest, 0..=400;
    /// Days between two looks that a running try asks for.
    LOOK_INTERVAL_DAYS: LookInterval, 1..=60;
    /// Days from what a job is counted from to its first day.
    JOB_AFTER_DAYS: JobAfter, 0..=400;
    /// Days after which a job comes again.
    JOB_EVERY_DAYS: JobEvery, 1..=400;
    /// Days by which a job may be early or late.
    JOB_TOLERANCE_DAYS: JobTolerance, 0..=60;
    /// Calendar years.
    YEAR: Year, 1990..=2199;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_takes_its_ends_and_refuses_their_neighbours() {
        for limit in ALL {
            assert_eq!((limit.check(limit.min), limit.check(limit.max)), (Ok(limit.min), Ok(limit.max)));
            for value in [limit.min - 1, limit.max + 1] {
                assert_eq!(limit.check(value), Err(Error::new(Refusal::OutOfBounds { limit, value })));
            }
        }
    }
}
