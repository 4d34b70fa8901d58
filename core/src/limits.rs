//! Every bound once: what it limits, its unit, its least and greatest value, and why.
//!
//! Validation, messages, test generators and the inputs' least and greatest values are all fed from here.

use crate::error::{Error, Result};

/// A closed range of whole numbers that a recorded value must lie in.
#[derive(Debug, PartialEq, Eq)]
pub struct Limit {
    /// What is limited, in words, in lower case.
    pub name: &'static str,
    /// Unit of the recorded integer; empty for a pure number.
    pub unit: &'static str,
    /// The least value taken.
    pub min: i64,
    /// The greatest value taken.
    pub max: i64,
    /// Why these bounds, in a short sentence without a final stop.
    pub reason: &'static str,
}

impl Limit {
    /// Gives `value` back when it is within bounds.
    ///
    /// # Errors
    /// A sentence with the bounds, their unit and their reason.
    pub fn check(&'static self, value: i64) -> Result<i64> {
        if self.contains(value) { Ok(value) } else { Err(Error::out_of_bounds(self, value)) }
    }

    /// Whether `value` is within bounds.
    pub const fn contains(&self, value: i64) -> bool {
        self.min <= value && value <= self.max
    }
}

macro_rules! limits {
    ($($(#[$doc:meta])* $id:ident: $name:literal, $unit:literal, $min:literal..=$max:literal, $reason:literal;)*) => {
        $(
            $(#[$doc])*
            pub static $id: Limit = Limit { name: $name, unit: $unit, min: $min, max: $max, reason: $reason };
        )*
        /// All limits, in the order in which they stand in this file.
        pub static ALL: &[&Limit] = &[$(&$id),*];
    };
}

limits! {
    /// Circumference of a bulb at its widest, mm.
    CIRCUMFERENCE_MM: "circumference", "mm", 20..=600, "seedlings start near 2 cm and the largest bulbs sold are below 60 cm";
    /// Height of a shoot, leaf or scape above the neck, mm.
    HEIGHT_MM: "height", "mm", 0..=1500, "no stalk of a potted bulb stands taller than 1.5 m";
    /// Length of a bulb's neck, mm.
    NECK_MM: "neck length", "mm", 0..=500, "a neck longer than half a metre is a leaf or a slip of the finger";
    /// Length of a leaf, mm.
    LEAF_MM: "leaf length", "mm", 0..=1500, "no leaf of a potted bulb is longer than 1.5 m";
    /// Weight of a bulb, g.
    WEIGHT_G: "weight", "g", 1..=5000, "a bulb of more than 5 kg is a whole pot on the scales";
    /// Temperature, tenths of a degree Celsius.
    TEMPERATURE_DC: "temperature", "tenths of a degree Celsius", -300..=600, "colder than -30 or hotter than 60 degrees is a broken sensor or a missing decimal point";
    /// Relative humidity, per cent.
    HUMIDITY_PCT: "relative humidity", "%", 0..=100, "relative humidity is a share of what the air can hold";
    /// Photon flux density between 400 and 700 nm, µmol m⁻² s⁻¹.
    PPFD: "light (PPFD)", "µmol per m² and second", 0..=3000, "full sun at noon is near 2000, with bright clouds a little more";
    /// Illuminance, lux.
    LUX: "light (lux)", "lux", 0..=200000, "full sun at noon is near 120000 lux";
    /// Number of leaves on one bulb.
    LEAVES: "number of leaves", "", 0..=40, "a single bulb carries fewer than 40 leaves; count offsets on their own";
    /// Number of scapes of one bulb in one cycle.
    SCAPES: "number of stalks", "", 0..=10, "a single bulb sends up fewer than 10 stalks in a cycle";
    /// Number of florets in one umbel.
    FLORETS: "number of florets", "", 0..=60, "an umbel of a potted bulb holds fewer than 60 florets";
    /// Share of light that a shade layer blocks, per cent.
    SHADE_PCT: "shade", "%", 0..=100, "shade is the share of the light that is kept out";
    /// Latitude of the nursery, tenths of a degree, north positive.
    LATITUDE_DECIDEG: "latitude", "tenths of a degree", -900..=900, "a latitude is from 90 degrees south to 90 degrees north";
    /// Bulbs added to the nursery in one go.
    BULBS_AT_ONCE: "number of bulbs in one go", "", 1..=400, "one entry names at most 400 bulbs; add the rest in a second go";
    /// Subjects one entry is about.
    ABOUT: "number of subjects", "", 1..=400, "one entry names at most 400 subjects; record the rest in a second entry";
    /// Length of one line of the ledger in bytes.
    LINE_BYTES: "length of a record", "bytes", 1..=32768, "a record fits into 32 KB so that any phone can read it at once";
    /// Length of a name or another short text in characters.
    NAME_CHARS: "length of a name", "characters", 0..=200, "a longer name fits on no label and no screen; put the rest into a note";
    /// Groups that one try compares.
    GROUPS: "number of groups", "", 2..=24, "with more groups each has too few bulbs to be told from any other";
    /// Length of a note in bytes of UTF-8.
    NOTE_BYTES: "length of a note", "bytes", 0..=4096, "a note fits on a phone's screen or two; split a longer one";
    /// Inner width or height of a container, mm.
    CONTAINER_MM: "inner width", "mm", 20..=3000, "a container for bulbs is wider than 2 cm and narrower than 3 m";
    /// Photos attached to one entry.
    PHOTOS: "number of photos", "", 0..=12, "twelve photos show one bulb from all sides; put more into another record";
    /// Entries in one ledger.
    ENTRIES: "number of records", "", 0..=400000, "four times the largest season this program is measured with";
    /// Bytes of one photo or attached file.
    ATTACHMENT_BYTES: "size of a photo", "bytes", 1..=16777216, "a photo made smaller by this program has less than a megabyte";
    /// Photos and attached files in one ledger, small pictures counted too.
    ATTACHMENTS: "number of photos", "", 0..=100000, "more photos than any phone has room for";
    /// Days of rest.
    REST_DAYS: "days of rest", "days", 0..=400, "a rest of more than 400 days loses the bulb";
    /// Days between two looks that a running try asks for.
    LOOK_INTERVAL_DAYS: "days between looks", "days", 1..=60, "looks more than 60 days apart cannot date a stage";
    /// Days from what a job is counted from to its first day.
    JOB_AFTER_DAYS: "days until the job", "days", 0..=400, "a job more than 400 days away belongs to another cycle";
    /// Days after which a job comes again.
    JOB_EVERY_DAYS: "days until it comes again", "days", 1..=400, "a job comes again after a day at least and a year at most";
    /// Days by which a job may be early or late.
    JOB_TOLERANCE_DAYS: "days early or late", "days", 0..=60, "a job that may be more than 60 days late is none";
    /// Calendar years.
    YEAR: "year", "", 1990..=2199, "earlier or later years are slips of the finger";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_takes_its_ends_and_refuses_their_neighbours() {
        for limit in ALL {
            assert_eq!(limit.check(limit.min), Ok(limit.min), "{}", limit.name);
            assert_eq!(limit.check(limit.max), Ok(limit.max), "{}", limit.name);
            for outside in [limit.min - 1, limit.max + 1] {
                let message = limit.check(outside).expect_err(limit.name).to_string();
                assert!(message.contains(&outside.to_string()), "{message}");
                assert!(message.contains(limit.reason) && !message.ends_with('.'), "{message}");
            }
        }
    }

    #[test]
    fn a_refusal_is_a_whole_sentence() {
        assert_eq!(
            WEIGHT_G.check(0).expect_err("0 g").to_string(),
            "weight must be from 1 to 5000 g, not 0: a bulb of more than 5 kg is a whole pot on the scales"
        );
        assert_eq!(
            SCAPES.check(11).expect_err("11 stalks").to_string(),
            "number of stalks must be from 0 to 10, not 11: a single bulb sends up fewer than 10 stalks in a cycle"
        );
    }
}
