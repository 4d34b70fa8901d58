//! The demo's script: an invented nursery, told in days that are counted from the day it is opened.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::ledger::body::{Finding, PlaceKind};

/// A whole script.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Script {
    /// Words that everything drawn by chance is drawn from.
    pub(super) seed: String,
    /// Name of the nursery.
    pub(super) nursery: String,
    /// Where it lies, in tenths of a degree, north positive.
    pub(super) latitude_decideg: Option<i64>,
    /// First day, counted from today.
    pub(super) began: i64,
    /// Who records, each on one of the phones.
    #[serde(default)]
    pub(super) people: Vec<Person>,
    /// Places.
    #[serde(default)]
    pub(super) places: Vec<Place>,
    /// Lots with their bulbs.
    #[serde(default)]
    pub(super) lots: Vec<Lot>,
    /// Tries.
    #[serde(default)]
    pub(super) tries: Vec<Try>,
    /// Jobs taken into the care plan of the whole nursery.
    #[serde(default)]
    pub(super) care: Vec<Care>,
    /// Readings and notes.
    #[serde(default)]
    pub(super) readings: Vec<Reading>,
    /// What two phones said without knowing of each other.
    pub(super) disagreement: Disagreement,
}

/// A person.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Person {
    /// Initials.
    pub(super) initials: String,
    /// Which phone, from 0.
    pub(super) phone: usize,
}

/// A place.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Place {
    /// Its name, by which the script speaks of it.
    pub(super) name: String,
    /// What it is.
    pub(super) kind: PlaceKind,
    /// A layer over it and what it blocks, in per cent.
    pub(super) cover: Option<(String, u32)>,
}

/// A lot.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Lot {
    /// Its name, by which the script speaks of it.
    pub(super) name: String,
    /// An invented cultivar.
    pub(super) cultivar: String,
    /// Size grade.
    pub(super) grade: String,
    /// Day it came, counted from today.
    pub(super) day: i64,
    /// Where its bulbs stand at first.
    pub(super) place: String,
    /// Circumference of each bulb.
    #[serde(default)]
    pub(super) sizes_mm: Vec<i64>,
    /// The grower's own names, one a bulb, or none.
    #[serde(default)]
    pub(super) own_names: Vec<String>,
    /// A trough that they all stand in.
    pub(super) trough: Option<String>,
    /// Position (from 0) of a bulb that is an offset, and of its mother.
    #[serde(default)]
    pub(super) offsets: Vec<(usize, usize)>,
}

/// One try. Its days are counted from its start.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Try {
    /// Key of the ready question.
    pub(super) ready: String,
    /// The question as a sentence; empty for a further try of one that was asked before.
    pub(super) question: String,
    /// What differs; as the question.
    #[serde(default)]
    pub(super) factor: String,
    /// What the groups are called; as the question.
    #[serde(default)]
    pub(super) groups: Vec<String>,
    /// The lot whose bulbs are in it.
    pub(super) lot: String,
    /// Its first day, counted from today.
    pub(super) start: i64,
    /// What the last day is for.
    pub(super) due: String,
    /// First and last day of the due window.
    pub(super) window: (i64, i64),
    /// Whether lots are drawn within size classes.
    pub(super) classes: bool,
    /// Day it was closed.
    pub(super) closed: Option<i64>,
    /// What was done.
    #[serde(default)]
    pub(super) jobs: Vec<Job>,
    /// Days with a look at every bulb that is not at rest.
    #[serde(default)]
    pub(super) looks: Vec<i64>,
    /// Days on which all bulbs at rest were walked past, nothing seen.
    #[serde(default)]
    pub(super) sweeps: Vec<i64>,
    /// What the program's forecast of the due window said: reckoned by it on that day, and written down here because
    /// reckoning it anew takes seconds.
    #[serde(default)]
    pub(super) said: Vec<Said>,
    /// What the bulbs of each group did, one a bulb.
    #[serde(default)]
    pub(super) lives: Vec<Vec<Life>>,
}

/// A forecast that was on the screen.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Said {
    /// The day.
    pub(super) day: i64,
    /// What it was of.
    pub(super) what: String,
    /// By which method.
    pub(super) method: String,
    /// The bulbs it spoke of: group and life, from 0.
    #[serde(default)]
    pub(super) bulbs: Vec<(usize, usize)>,
    /// Its numbers by name.
    pub(super) numbers: BTreeMap<String, i64>,
}

/// A usual job that was taken into the care plan.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Care {
    /// The day it was taken, counted from today.
    pub(super) day: i64,
    /// Its key.
    pub(super) usual: String,
    /// What to mind.
    pub(super) words: String,
    /// Who is to do it.
    pub(super) person: Option<usize>,
}

/// Something done to all bulbs of a try, or of one of its groups.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Job {
    /// First day.
    pub(super) day: i64,
    /// Every so many days …
    pub(super) every: Option<i64>,
    /// … up to this day.
    pub(super) until: Option<i64>,
    /// The kind of act, or `inspected`.
    pub(super) act: String,
    /// Only this group, from 0.
    pub(super) group: Option<usize>,
    /// Where to.
    pub(super) place: Option<String>,
    /// With or in what.
    pub(super) with: Option<String>,
}

/// What one bulb did during a try.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Life {
    /// Days on which a further leaf showed.
    #[serde(default)]
    pub(super) leaves: Vec<i64>,
    /// Day a shoot came up that could be either.
    pub(super) unsure: Option<i64>,
    /// Day that shoot proved a leaf.
    pub(super) leaf: Option<i64>,
    /// Day a stalk was in sight, or the unsure shoot proved one.
    pub(super) stalk: Option<i64>,
    /// Day the first flower opened, or will open; the stages around it follow.
    pub(super) flower: Option<i64>,
    /// Days of looks at which it was passed over.
    #[serde(default)]
    pub(super) unseen: Vec<i64>,
    /// Answers given to the key about the unsure shoot, and the day.
    pub(super) call: Option<Called>,
    /// Days with a photo.
    #[serde(default)]
    pub(super) photos: Vec<i64>,
    /// Day it was fit to sell.
    pub(super) fit: Option<i64>,
    /// Day it was sold.
    pub(super) sold: Option<i64>,
    /// Day it was missing.
    pub(super) missing: Option<i64>,
    /// Day it died, and of what.
    pub(super) died: Option<(i64, String)>,
    /// Day from which it was to be watched, and what was found.
    pub(super) watch: Option<(i64, Finding)>,
}

/// A call.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Called {
    /// The day.
    pub(super) day: i64,
    /// Questions and answers by their keys.
    #[serde(default)]
    pub(super) answers: Vec<(String, String)>,
}

/// A reading or a note about a place.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Reading {
    /// First day, counted from today.
    pub(super) day: i64,
    /// Every so many days up to yesterday.
    pub(super) every: Option<i64>,
    /// The place.
    pub(super) place: String,
    /// Temperature in tenths of a degree and humidity in per cent.
    pub(super) climate: Option<(i64, i64)>,
    /// Illuminance.
    pub(super) lux: Option<i64>,
    /// The same in the open.
    pub(super) open_lux: Option<i64>,
    /// Words.
    pub(super) note: Option<String>,
}

/// Two phones put the cover of one place right, each in its own way.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Disagreement {
    /// The day, counted from today.
    pub(super) day: i64,
    /// The place.
    pub(super) place: String,
    /// What each says its cover blocks, in per cent.
    pub(super) blocks_percent: (u32, u32),
}

#[cfg(test)]
mod tests {
    use super::{super::SCRIPT, Script};
    use crate::{error::Refusal, json, refusal::StoredRefusal};

    #[test]
    fn what_is_misspelt_missing_or_of_another_kind_is_named() {
        assert!(json::read::<Script>(SCRIPT).is_ok());
        let refused = |from: &str, to: &str, place: &str, why: &str| {
            assert!(SCRIPT.contains(from), "{from}");
            let found = json::read::<Script>(&SCRIPT.replacen(from, to, 1)).expect_err(to).refusal;
            let Refusal::Stored(StoredRefusal::Json { path, detail }) = found else { panic!("{found:?}") };
            assert!(path == place && detail.starts_with(why), "{path}: {detail}");
        };
        refused("\"began\"", "\"begun\"", "begun", "unknown field `begun`");
        refused("\"phone\"", "\"fone\"", "people[0].fone", "unknown field `fone`");
        refused("\"phone\": 0", "\"phone\": -1", "people[0].phone", "invalid value: integer `-1`");
        refused("{", "", "", "");
    }
}
