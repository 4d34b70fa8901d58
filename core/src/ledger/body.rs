//! What entries say: one body a kind, version 1.
//!
//! Optional fields are left out when not said. A field's meaning never changes; what is new gets a new kind.
//! Whole numbers only, units last in the name.

use serde::{Deserialize, Serialize};
use strum::{IntoStaticStr, VariantArray};

use super::{
    canonical::to_canonical,
    id::{AttachmentHash, EntryId, Id},
};
use crate::{
    calendar::Date,
    error::{Field, Result},
    json::{Object, objects},
    source::Source,
    words::words,
};

words!(
    Nature,
    PlaceKind,
    ContainerKind,
    Neck,
    Leaves,
    Side,
    ShootKind,
    Stage,
    Way,
    Finding,
    Check,
    LightOf,
    Measured,
    Counted,
    AppliedTo,
    Goal,
    GoalStage,
    Unit,
    DiedAs,
    Test,
    Family,
    Marked,
    ActKind,
    LeftHow,
    Doing,
    JobFrom,
    During,
    RestWay,
);

/// What may be known of an entry's kind beforehand: how its entries combine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Nature {
    /// One value stands at a time for each subject, kind and slot.
    #[strum(serialize = "register")]
    Register,
    /// Every one stands.
    #[strum(serialize = "observation")]
    Observation,
    /// Every one stands, in order of when it happened.
    #[strum(serialize = "event")]
    Event,
    /// Joins two things; can be taken back.
    #[strum(serialize = "link")]
    Link,
}

/// What a place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum PlaceKind {
    /// A bench or table.
    #[strum(serialize = "bench")]
    Bench,
    /// A bed in the ground.
    #[strum(serialize = "bed")]
    Bed,
    /// A house under cloth.
    #[strum(serialize = "shade house")]
    ShadeHouse,
    /// A room without light.
    #[strum(serialize = "dark room")]
    DarkRoom,
    /// A cellar.
    #[strum(serialize = "cellar")]
    Cellar,
    /// A shelf or rack.
    #[strum(serialize = "shelf")]
    Shelf,
    /// A cold store.
    #[strum(serialize = "cold store")]
    ColdStore,
    /// Anything else.
    #[strum(serialize = "other")]
    Other,
}

impl PlaceKind {
    /// Whether daylight comes in, so that cloth or whitewash could keep some of it out.
    pub fn has_light(self) -> bool {
        !matches!(self, Self::DarkRoom | Self::Cellar | Self::ColdStore)
    }
}

/// What a container is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum ContainerKind {
    /// A pot.
    #[strum(serialize = "pot")]
    Pot,
    /// A trough.
    #[strum(serialize = "trough")]
    Trough,
    /// A tray or crate.
    #[strum(serialize = "tray")]
    Tray,
    /// A square pot.
    #[strum(serialize = "square pot")]
    SquarePot,
    /// A bag, round when it is filled.
    #[strum(serialize = "bag")]
    Bag,
}

/// What was seen at the neck in a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Neck {
    /// Looked at, nothing rising.
    #[strum(serialize = "clear")]
    Clear,
    /// One shoot or more, each listed.
    #[strum(serialize = "shoots")]
    Shoots,
    /// Not looked at: rules out nothing.
    #[strum(serialize = "not looked at")]
    NotLookedAt,
}

/// What was seen of the leaves in a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Leaves {
    /// No leaves.
    #[strum(serialize = "none")]
    None,
    /// As at the look before.
    #[strum(serialize = "same")]
    Same,
    /// More than at the look before.
    #[strum(serialize = "more")]
    More,
    /// Counted; the number stands beside.
    #[strum(serialize = "count")]
    Count,
    /// Not looked at.
    #[strum(serialize = "not looked at")]
    NotLookedAt,
}

/// Where a shoot stands, seen from above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Side {
    /// Toward the label.
    #[strum(serialize = "toward the label")]
    TowardLabel,
    /// Away from the label.
    #[strum(serialize = "away")]
    Away,
    /// Left of the label.
    #[strum(serialize = "left")]
    Left,
    /// Right of the label.
    #[strum(serialize = "right")]
    Right,
    /// In the middle.
    #[strum(serialize = "middle")]
    Middle,
    /// Not said.
    #[strum(serialize = "not said")]
    NotSaid,
}

/// What a shoot is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum ShootKind {
    /// Not known yet.
    #[strum(serialize = "unknown")]
    Unknown,
    /// A leaf.
    #[strum(serialize = "leaf")]
    Leaf,
    /// A flower stalk.
    #[strum(serialize = "scape")]
    Scape,
}

/// How far a shoot is, in order of growth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Stage {
    /// A shoot whose kind may be unknown.
    #[strum(serialize = "shoot")]
    Shoot,
    /// A scape is in sight.
    #[strum(serialize = "scape in sight")]
    ScapeInSight,
    /// The scape stretches.
    #[strum(serialize = "scape stretching")]
    ScapeStretching,
    /// The spathe has split.
    #[strum(serialize = "spathe split")]
    SpatheSplit,
    /// The first flower is open (read as BBCH 60).
    #[strum(serialize = "first flower open")]
    FirstFlower,
    /// All flowers of the umbel are open.
    #[strum(serialize = "full bloom")]
    FullBloom,
    /// Flowers fade.
    #[strum(serialize = "fading")]
    Fading,
    /// The last flower of the scape is over.
    #[strum(serialize = "over")]
    Over,
}

/// How a look came about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Way {
    /// This bulb was looked at by itself.
    #[strum(serialize = "each")]
    Each,
    /// Said of all the others of a place at the end of a walk.
    #[strum(serialize = "others")]
    Others,
}

/// One shoot as one look saw it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShootSeen {
    /// The shoot.
    pub id: Id,
    /// Which one of this bulb's shoots in this cycle, from 1.
    pub ordinal: u32,
    /// Where it stands.
    pub side: Side,
    /// What it was taken for at this look.
    pub kind: ShootKind,
    /// How far it is.
    pub stage: Stage,
    /// Height over the neck.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<u32>,
}

/// What one look at one bulb showed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Look {
    /// The neck.
    pub neck: Neck,
    /// The leaves.
    pub leaves: Leaves,
    /// How many leaves, when counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub n_leaves: Option<u32>,
    /// Every shoot seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub shoots: Vec<ShootSeen>,
    /// How the look came about.
    pub way: Way,
    /// The place whose walk this look belongs to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub walk: Option<Id>,
}

/// Walked past all of these and saw nothing at any neck.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sweep {
    /// The place walked through.
    pub place: Id,
}

/// A finding of an inspection of a resting or lifted bulb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Finding {
    /// Firm and full.
    #[strum(serialize = "firm")]
    Firm,
    /// Somewhat soft all over.
    #[strum(serialize = "slack")]
    Slack,
    /// One or more soft spots.
    #[strum(serialize = "soft spots")]
    SoftSpots,
    /// Mould on the surface.
    #[strum(serialize = "surface mould")]
    Mould,
    /// Red spots or streaks.
    #[strum(serialize = "red marks")]
    RedMarks,
    /// The nose is crushed or cut.
    #[strum(serialize = "nose hurt")]
    NoseHurt,
    /// Shrivelled.
    #[strum(serialize = "shrivelled")]
    Shrivelled,
    /// Pests seen.
    #[strum(serialize = "pests seen")]
    Pests,
    /// Pattern of light and dark green on the leaves.
    #[strum(serialize = "mottled leaves")]
    Mottled,
    /// Roots dead or brittle.
    #[strum(serialize = "roots poor")]
    RootsPoor,
    /// A sprout shows.
    #[strum(serialize = "sprout showing")]
    Sprout,
    /// The basal plate is soft, brown or mouldy.
    #[strum(serialize = "basal plate soft")]
    BaseSoft,
    /// A maggot, or the hole of one.
    #[strum(serialize = "maggot or hole")]
    Maggots,
    /// The tunic is damp and clings.
    #[strum(serialize = "tunic damp")]
    TunicDamp,
    /// Offsets sit on it.
    #[strum(serialize = "offsets")]
    Offsets,
}

/// What a check of a bulb in hand asks about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Check {
    /// How firm it is.
    #[strum(serialize = "firmness")]
    Firmness,
    /// The basal plate.
    #[strum(serialize = "basal plate")]
    Base,
    /// Soft spots.
    #[strum(serialize = "soft spots")]
    Spots,
    /// Red marks.
    #[strum(serialize = "red marks")]
    Red,
    /// Mould.
    #[strum(serialize = "mould")]
    Mould,
    /// Pests.
    #[strum(serialize = "pests")]
    Pests,
    /// The tunic.
    #[strum(serialize = "tunic")]
    Tunic,
    /// The nose, where shoots rise.
    #[strum(serialize = "nose")]
    Nose,
    /// Leaves.
    #[strum(serialize = "leaves")]
    Leaves,
    /// Roots.
    #[strum(serialize = "roots")]
    Roots,
    /// Offsets.
    #[strum(serialize = "offsets")]
    Offsets,
}

/// An inspection of a bulb.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inspection {
    /// Everything found; empty only where something was checked and nothing was found.
    pub findings: Vec<Finding>,
    /// What was looked at and could be told, where it was asked piece by piece.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub checked: Vec<Check>,
    /// When to inspect it again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub again: Option<Date>,
    /// Whether it is to be watched.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub watch: bool,
    /// In the grower's words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What a measure is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Measured {
    /// Around the widest part of the bulb, in mm.
    #[strum(serialize = "circumference")]
    Circumference,
    /// Height of a scape over the neck, in mm.
    #[strum(serialize = "height")]
    Height,
    /// Width of the neck, in mm.
    #[strum(serialize = "neck width")]
    NeckWidth,
    /// Length of the longest leaf, in mm.
    #[strum(serialize = "leaf length")]
    LeafLength,
    /// Weight of the bulb, in g.
    #[strum(serialize = "weight")]
    Weight,
}

/// One measured value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measure {
    /// What was measured.
    pub what: Measured,
    /// The value of a length.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mm: Option<i64>,
    /// The upper end, where only a range is known (bulbs bought by grade).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mm_to: Option<i64>,
    /// The value of a weight.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub g: Option<i64>,
    /// Where it was measured, in a word.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

/// What a count is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Counted {
    /// Leaves.
    #[strum(serialize = "leaves")]
    Leaves,
    /// Scapes.
    #[strum(serialize = "scapes")]
    Scapes,
    /// Florets of one umbel.
    #[strum(serialize = "florets")]
    Florets,
}

/// One count.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// What was counted.
    pub what: Counted,
    /// How many.
    pub n: i64,
}

/// What a reading of light was taken under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum LightOf {
    /// Daylight.
    #[strum(serialize = "sun")]
    Sun,
    /// A lamp.
    #[strum(serialize = "lamp")]
    Lamp,
}

/// A reading of light.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Light {
    /// Photosynthetic photon flux density in µmol m⁻² s⁻¹.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ppfd_umol: Option<i64>,
    /// Illuminance in lux.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lux: Option<i64>,
    /// The same meter in the open, right before or after, in µmol m⁻² s⁻¹.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open_ppfd_umol: Option<i64>,
    /// The same in lux.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open_lux: Option<i64>,
    /// Share of the light in the open that comes through, in permille, from two photos of one card.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passes_permille: Option<i64>,
    /// Under what it was read, where that was said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<LightOf>,
}

/// A reading of temperature and humidity.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Climate {
    /// Air temperature in tenths of a degree Celsius.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature_dc: Option<i64>,
    /// Relative humidity in per cent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub humidity_percent: Option<i64>,
    /// Lowest air temperature since the reading before, in tenths of a degree Celsius.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_dc: Option<i64>,
    /// Highest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_dc: Option<i64>,
}

/// A photo; its bytes are kept under the hash.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Photo {
    /// SHA-256 of the picture's bytes.
    pub hash: AttachmentHash,
    /// SHA-256 of the small picture's bytes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thumb: Option<AttachmentHash>,
    /// Media type.
    pub media: String,
    /// Size of the picture.
    pub n_bytes: u64,
    /// Width.
    pub width_px: u32,
    /// Height.
    pub height_px: u32,
    /// Whether a drawing stands in for a photo (the demo).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub drawn: bool,
}

/// What marks on a photo measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Marked {
    /// How tall a shoot stands: from its foot to its tip.
    #[strum(serialize = "height")]
    Height,
    /// How thick a shoot is.
    #[strum(serialize = "thickness")]
    Thickness,
    /// How wide the bulb is, at right angles to the way from its base to its neck.
    #[strum(serialize = "width")]
    Width,
    /// Where shoots rise in the neck.
    #[strum(serialize = "neck")]
    Neck,
}

/// A place in a picture, in tenths of a pixel of the kept picture from its upper left corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spot {
    /// To the right.
    pub x_decipx: u32,
    /// Down.
    pub y_decipx: u32,
}

/// The foot of a shoot in a picture, in tenths of a pixel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Foot {
    /// The shoot, where it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shoot: Option<Id>,
    /// To the right.
    pub x_decipx: u32,
    /// Down.
    pub y_decipx: u32,
}

/// Marks that a person laid on a photo. What they say is computed from them, never recorded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoMarks {
    /// The photo, by the hash of its picture.
    pub photo: AttachmentHash,
    /// What they measure.
    pub what: Marked,
    /// Corners of a card of size ID-1 in order around it, the first two at the ends of a long side; none or four.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub card: Vec<Spot>,
    /// Two marks of a ruler; none or two.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub ruler: Vec<Spot>,
    /// How far they are apart on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ruler_mm: Option<u32>,
    /// Both ends of what is measured; of a shoot foot and tip.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub ends: Vec<Spot>,
    /// Places around the rim of the neck.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub outline: Vec<Spot>,
    /// The feet of shoots within it.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub feet: Vec<Foot>,
    /// The shoot that is measured, where it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shoot: Option<Id>,
}

/// One answer given in a call.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// Key of the question.
    pub question: String,
    /// Key of the answer.
    pub answer: String,
}

/// A call on a shoot: stalk or leaf, and how sure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Call {
    /// The shoot.
    pub shoot: Id,
    /// The answers given.
    #[serde(deserialize_with = "objects")]
    pub answers: Vec<Answer>,
    /// Chance that it is a stalk as the method said, in permille.
    pub scape_permille: u32,
    /// Name and version of the method.
    pub method: String,
    /// When to look again.
    pub again: Date,
}

/// How a shoot turned out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Proof {
    /// The shoot.
    pub shoot: Id,
    /// What it was.
    pub kind: ShootKind,
}

/// What the program said; scored later, never used as input.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shown {
    /// What it spoke of.
    pub what: String,
    /// Name and version of the method.
    pub method: String,
    /// Digest of the ledger it was computed from.
    pub digest: String,
    /// Numbers said, by name, in permille and days.
    pub numbers: std::collections::BTreeMap<String, i64>,
}

/// Words of the grower.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// The words.
    pub text: String,
}

/// A nursery.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NurseryBody {
    /// Its name.
    pub name: String,
    /// Where it lies north (positive) or south of the equator, in tenths of a degree: enough for the length of the day,
    /// and too coarse to find it by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub latitude_decideg: Option<i64>,
}

/// A name, of a bulb.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Named {
    /// The name.
    pub name: String,
}

/// A person who records.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Two or three letters that stand on lists.
    pub initials: String,
    /// The name, if given.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
}

/// One layer over a place that takes light away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cover {
    /// What it is, such as shade cloth or whitewashed glass.
    pub what: String,
    /// How much of the light it blocks.
    pub blocks_percent: u32,
}

/// A place where bulbs stand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlaceBody {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: PlaceKind,
    /// Layers over it.
    #[serde(default, skip_serializing_if = "Vec::is_empty", deserialize_with = "objects")]
    pub covers: Vec<Cover>,
    /// No longer in use.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub given_up: bool,
}

/// The order in which bulbs stand in a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BenchOrder {
    /// Bulbs, first to last.
    pub bulbs: Vec<Id>,
}

/// A lot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotBody {
    /// The name on the crate.
    pub name: String,
    /// The cultivar.
    pub cultivar: String,
    /// Who it came from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// Size grade as the trade writes it, such as 26/28.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub grade: String,
    /// When it came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub received: Option<Date>,
    /// Kept apart from the rest until this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub apart_until: Option<Date>,
}

/// Which lot a bulb is of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BulbBody {
    /// The lot.
    pub lot: Id,
}

/// A container.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ContainerBody {
    /// Its name or number.
    pub name: String,
    /// What it is.
    pub kind: ContainerKind,
    /// Inner width or diameter at the rim.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inner_width_mm: Option<i64>,
    /// Inner height.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inner_height_mm: Option<i64>,
    /// Inner length at the rim, of a trough or tray.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inner_length_mm: Option<i64>,
    /// Inner width or diameter at the base.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base_width_mm: Option<i64>,
    /// Inner length at the base, of a trough or tray.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base_length_mm: Option<i64>,
}

impl ContainerBody {
    /// A container of a kind, without a name or sizes.
    pub fn of(kind: ContainerKind) -> Self {
        Self {
            name: String::new(),
            kind,
            inner_width_mm: None,
            inner_height_mm: None,
            inner_length_mm: None,
            base_width_mm: None,
            base_length_mm: None,
        }
    }
}

/// One part of a mix.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MixPart {
    /// What it is, such as perlite.
    pub what: String,
    /// How many parts of it by volume.
    pub parts: u32,
    /// Litres in a bag of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bag_l: Option<u32>,
    /// Weight of a litre as it is used, in g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub g_per_l: Option<u32>,
}

/// A mix by parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Recipe {
    /// Its name.
    pub name: String,
    /// What it is made of.
    #[serde(deserialize_with = "objects")]
    pub parts: Vec<MixPart>,
    /// By how much its volume shrinks on mixing, filling and watering, in permille, as the grower measured it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub settles_permille: Option<u32>,
    /// No longer used.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub given_up: bool,
}

/// To what a treatment was applied, the widest thing that shared it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum AppliedTo {
    /// Bulb by bulb.
    #[strum(serialize = "bulb")]
    Bulb,
    /// To whole containers.
    #[strum(serialize = "container")]
    Container,
    /// To a whole place.
    #[strum(serialize = "place")]
    Place,
}

/// One thing that differs between treatments.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Factor {
    /// Its name, such as weeks of rest.
    pub name: String,
    /// Unit of its levels, if they are numbers.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// To what it is applied.
    pub applied_to: AppliedTo,
}

/// What a trial asks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Question {
    /// The question as a sentence.
    pub text: String,
    /// Key of the ready question it came from, or empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub ready: String,
    /// What differs.
    #[serde(deserialize_with = "objects")]
    pub factors: Vec<Factor>,
    /// Treatments in order.
    pub groups: Vec<Id>,
}

/// How much of one factor.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Level {
    /// The factor's name.
    pub factor: String,
    /// How much or which, in words.
    pub text: String,
    /// The number in thousandths of the factor's unit, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_milli: Option<i64>,
}

/// A treatment of a trial: one group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Treatment {
    /// The trial.
    pub trial: Id,
    /// Short name of the group.
    pub name: String,
    /// One level a factor.
    #[serde(deserialize_with = "objects")]
    pub levels: Vec<Level>,
    /// Whether it is what the nursery would have done anyway.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub control: bool,
}

/// One repetition of a trial.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunBody {
    /// The trial.
    pub trial: Id,
    /// First try, second try: 1, 2 …
    pub ordinal: u32,
    /// Day it starts or started.
    pub start: Date,
    /// Longest time between looks that the grower means to keep.
    pub look_interval_days: u32,
    /// Typed in afterwards from a notebook.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub typed_in: bool,
}

/// What a bulb has to do to count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Goal {
    /// Reach the stage by a day.
    #[strum(serialize = "by")]
    By,
    /// Be in the stage on at least one day of a window.
    #[strum(serialize = "in the window")]
    InWindow,
}

/// The stage that counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum GoalStage {
    /// A scape in sight.
    #[strum(serialize = "scape in sight")]
    ScapeInSight,
    /// The spathe split.
    #[strum(serialize = "spathe split")]
    SpatheSplit,
    /// Marked as fit to sell.
    #[strum(serialize = "fit to sell")]
    FitToSell,
    /// First flower open; for a window: in flower.
    #[strum(serialize = "first flower open")]
    FirstFlower,
}

/// The unit that is drawn and counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Unit {
    /// Each bulb.
    #[strum(serialize = "bulb")]
    Bulb,
    /// Each container with at least one.
    #[strum(serialize = "container")]
    Container,
}

/// How a bulb that died counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum DiedAs {
    /// As not in time.
    #[strum(serialize = "not in time")]
    NotInTime,
    /// Left out.
    #[strum(serialize = "left out")]
    LeftOut,
}

/// The one test that decides, stored before the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Test {
    /// Boschloo's exact unconditional test, two-sided Fisher p as the statistic.
    #[strum(serialize = "boschloo")]
    Boschloo,
    /// Exact conditional test, stratified by blocks and runs.
    #[strum(serialize = "exact conditional")]
    ExactConditional,
    /// Permutation of unit shares within blocks.
    #[strum(serialize = "permutation of units")]
    UnitPermutation,
    /// No test: groups were not drawn.
    #[strum(serialize = "none")]
    None,
}

/// Which pairs of groups are compared, and so for how many comparisons Holm's adjustment is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Family {
    /// Each group with the control.
    #[strum(serialize = "with the control")]
    WithControl,
    /// Every two groups.
    #[strum(serialize = "all pairs")]
    AllPairs,
}

/// What counts, fixed before the start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rule {
    /// What a bulb has to do.
    pub goal: Goal,
    /// The stage.
    pub stage: GoalStage,
    /// The unit counted.
    pub unit: Unit,
    /// What died counts as.
    pub died: DiedAs,
    /// The test.
    pub test: Test,
    /// The pairs that are compared. Not said: each group with the control, or all pairs where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<Family>,
}

/// The due window of a run: from and to for a window, only `to` for a goal by a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DueWindow {
    /// What the day is for.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// First day.
    pub from: Date,
    /// Last day; the deadline.
    pub to: Date,
}

/// A due window counted from the run's start, in days after it. The days it comes to stand in [`DueWindow`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DueDays {
    /// First day, in days after the start.
    pub from: i64,
    /// Last day, in days after the start.
    pub to: i64,
}

impl DueDays {
    /// The first and the last day for a start.
    ///
    /// # Errors
    ///
    /// When they lie beyond the calendar.
    pub fn window(self, start: Date) -> crate::error::Result<(Date, Date)> {
        let day = |n: i64| start.add_days(n).map_err(|why| why.at(Field::Window));
        Ok((day(self.from)?, day(self.to)?))
    }
}

/// Which unit is in which group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Allotment {
    /// The unit drawn.
    pub unit: Unit,
    /// `blocks/2` or, before, `blocks/1` when drawn (`trial::lots`), `by hand`, or `as recorded`.
    pub method: String,
    /// Seed of the draw in hexadecimal digits; empty unless drawn.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub seed: String,
    /// Groups, in the order that `arms` counts from 0.
    pub groups: Vec<Id>,
    /// Units, by block, in the order drawn.
    pub units: Vec<Id>,
    /// Group of each unit.
    pub arms: Vec<u32>,
    /// Block of each unit, from 0.
    pub blocks: Vec<u32>,
    /// Size of each unit in mm that the blocks were cut by.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sizes_mm: Vec<i64>,
    /// Why it was drawn again, when it was.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Cultivar of each block, empty for several or one that was not known; said by `blocks/2` only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cultivars: Vec<String>,
    /// Length that a block was to have; said by `blocks/2` only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class_length: Option<u32>,
}

/// Counts by group of a run typed in from a notebook where the bulbs are not known one by one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// The group.
    pub group: Id,
    /// In time.
    pub n_in_time: u32,
    /// Late or not reached.
    pub n_not: u32,
    /// Died.
    pub n_died: u32,
    /// Sold, given or missing.
    pub n_left: u32,
}

/// What a notebook says of a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tallies {
    /// One a group.
    #[serde(deserialize_with = "objects")]
    pub groups: Vec<Tally>,
}

/// An event.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum ActKind {
    /// A growth cycle began.
    #[strum(serialize = "cycle-began")]
    CycleBegan,
    /// A growth cycle ended.
    #[strum(serialize = "cycle-ended")]
    CycleEnded,
    /// Lifted out of mix or ground.
    #[strum(serialize = "lifted")]
    Lifted,
    /// Leaves cut back.
    #[strum(serialize = "cut-back")]
    CutBack,
    /// Cleaned of mix, dead roots and loose tunic.
    #[strum(serialize = "cleaned")]
    Cleaned,
    /// Soaked.
    #[strum(serialize = "soaked")]
    Soaked,
    /// Packed for rest.
    #[strum(serialize = "packed")]
    Packed,
    /// Laid to rest.
    #[strum(serialize = "laid-to-rest")]
    LaidToRest,
    /// Water stopped.
    #[strum(serialize = "water-stopped")]
    WaterStopped,
    /// Rest ended.
    #[strum(serialize = "rest-ended")]
    RestEnded,
    /// Base damped.
    #[strum(serialize = "base-damped")]
    BaseDamped,
    /// Watered.
    #[strum(serialize = "watered")]
    Watered,
    /// Fed.
    #[strum(serialize = "fed")]
    Fed,
    /// Potted.
    #[strum(serialize = "potted")]
    Potted,
    /// Taken out of the pot.
    #[strum(serialize = "unpotted")]
    Unpotted,
    /// Moved to another place.
    #[strum(serialize = "moved")]
    Moved,
    /// Brought to light or warmth.
    #[strum(serialize = "brought-to-light")]
    BroughtToLight,
    /// Staked.
    #[strum(serialize = "staked")]
    Staked,
    /// Scape cut.
    #[strum(serialize = "scape-cut")]
    ScapeCut,
    /// A scape broke.
    #[strum(serialize = "scape-broken")]
    ScapeBroken,
    /// A bud dried up before its flowers opened.
    #[strum(serialize = "bud-dried")]
    BudDried,
    /// Sprayed or dipped.
    #[strum(serialize = "sprayed-or-dipped")]
    SprayedOrDipped,
    /// An offset was split off.
    #[strum(serialize = "offset-split")]
    OffsetSplit,
    /// A run started.
    #[strum(serialize = "run-started")]
    RunStarted,
    /// A run was closed.
    #[strum(serialize = "run-closed")]
    RunClosed,
    /// Fit to sell.
    #[strum(serialize = "fit-to-sell")]
    FitToSell,
    /// Put aside.
    #[strum(serialize = "put-aside")]
    PutAside,
    /// Left: sold, given or withdrawn.
    #[strum(serialize = "left")]
    Left,
    /// Died.
    #[strum(serialize = "died")]
    Died,
    /// Missing.
    #[strum(serialize = "missing")]
    Missing,
    /// A job was skipped.
    #[strum(serialize = "skipped")]
    Skipped,
    /// A job was postponed.
    #[strum(serialize = "postponed")]
    Postponed,
    /// A job of a care plan that is no other act here was done.
    #[strum(serialize = "job-done")]
    JobDone,
}

impl ActKind {
    /// Whether a bulb is at rest from it on: laid down, packed or dry.
    pub const fn begins_rest(self) -> bool {
        self.lays_down() || matches!(self, Self::WaterStopped)
    }

    /// Whether the weeks of a rest count from it, where it was recorded: water stops before bulbs are laid down.
    pub const fn lays_down(self) -> bool {
        matches!(self, Self::LaidToRest | Self::Packed)
    }

    /// Whether a bulb that was at rest is not from it on.
    pub const fn ends_rest(self) -> bool {
        self.brings_on() || matches!(self, Self::Watered)
    }

    /// Whether it begins something even for a bulb that was not at rest. Watering ends a rest and begins nothing.
    pub const fn brings_on(self) -> bool {
        matches!(self, Self::RestEnded | Self::Potted | Self::BroughtToLight)
    }
}

/// How a bulb left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum LeftHow {
    /// Sold.
    #[strum(serialize = "sold")]
    Sold,
    /// Given away.
    #[strum(serialize = "given")]
    Given,
    /// Taken out of the trial or the nursery's care.
    #[strum(serialize = "withdrawn")]
    Withdrawn,
}

/// What was done or happened, with what may be said beside it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Act {
    /// The place or group it was tapped for, for reading only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Where to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Id>,
    /// Into which container.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub container: Option<Id>,
    /// Position in the container, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position: Option<u32>,
    /// With or in what: mix, packing, feed, product.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub with: Option<String>,
    /// Damp or dry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// How it left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<LeftHow>,
    /// Stage when it left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<Stage>,
    /// Whether it was fit to sell when it left.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub fit: bool,
    /// For whom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whom: Option<String>,
    /// Of what it died, or why a job was skipped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cause: Option<String>,
    /// Postponed to this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<Date>,
    /// The trial's run it belongs to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run: Option<Id>,
    /// The offset that was split off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset: Option<Id>,
    /// The key of the job that was done, skipped or postponed; every job that was due when it is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// In the grower's words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What a job of a care plan asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Doing {
    /// An act, the same for every bulb; done once it is recorded.
    #[strum(serialize = "act")]
    Act,
    /// A look at each bulb.
    #[strum(serialize = "look")]
    Look,
    /// An inspection of each bulb.
    #[strum(serialize = "inspection")]
    Inspect,
    /// Something in the grower's own words; done once it is ticked.
    #[strum(serialize = "own")]
    Own,
}

/// What the first day of a job is counted from, for each bulb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum JobFrom {
    /// A day of the calendar.
    #[strum(serialize = "date")]
    Date,
    /// The start of the running try.
    #[strum(serialize = "run start")]
    RunStart,
    /// The end of the rest of the present cycle, whatever ended it.
    #[strum(serialize = "rest end")]
    RestEnd,
    /// The last act of a kind in the present cycle.
    #[strum(serialize = "act")]
    Act,
    /// The first look of the present cycle that showed a scape in a stage or beyond it.
    #[strum(serialize = "stage")]
    Stage,
}

/// When a job is told at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum During {
    /// Always.
    #[strum(serialize = "always")]
    Always,
    /// Only while the bulb is at rest.
    #[strum(serialize = "rest")]
    Rest,
    /// Only while it is not.
    #[strum(serialize = "growth")]
    Growth,
}

/// One job of a care plan. The subject is what it is for: the ledger for the whole nursery, a place, a treatment or a
/// run; the slot names the job, so that two persons who change two jobs do not disagree.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CareJob {
    /// What it asks for.
    pub doing: Doing,
    /// Which act.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub act: Option<ActKind>,
    /// In the grower's words: the job itself, or what to mind.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
    /// What its first day is counted from.
    pub from: JobFrom,
    /// That day of the calendar.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Date>,
    /// That act.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<ActKind>,
    /// That stage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<Stage>,
    /// Days after what it is counted from.
    #[serde(default)]
    pub after_days: u32,
    /// Days after which it comes again; once when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub every_days: Option<u32>,
    /// How many days earlier it counts as done, and how many later it is not late yet.
    #[serde(default)]
    pub tolerance_days: u32,
    /// When it is told at all.
    pub during: During,
    /// Who is to do it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<Id>,
    /// What it rests on; nothing for the grower's own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grade: Option<Source>,
    /// Where that stands written.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// No longer to be done.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub given_up: bool,
}

/// How bulbs are rested, where published ways conflict: the grower's choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum RestWay {
    /// Dry and cool.
    #[strum(serialize = "cool")]
    Cool,
    /// Dry and warm.
    #[strum(serialize = "warm")]
    Warm,
    /// Not at all: kept in growth.
    #[strum(serialize = "none")]
    None,
}

/// Forcing without a trial, planned back from a date. Its jobs are a care plan with the forcing as subject; their slots
/// begin with the number of the batch that they are for, from 1, and a stroke.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Forcing {
    /// What the due window is for.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// First day of the due window.
    pub from: Date,
    /// Its last day.
    pub to: Date,
    /// The stage that is wanted: fit to sell, or the first flower open.
    pub stage: GoalStage,
    /// At least so many.
    pub wanted: u32,
    /// How sure, in permille.
    pub sure_permille: u32,
    /// Weeks of rest.
    pub rest_weeks: u32,
    /// How they are rested, where that was chosen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way: Option<RestWay>,
    /// The treatment of earlier tries that it follows, in its words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub treatment: String,
    /// The lot that the numbers were asked for, where one was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lot: Option<Id>,
    /// The bulbs, in batches that are brought on a week apart; one batch for all at once.
    #[serde(deserialize_with = "objects")]
    pub batches: Vec<Batch>,
    /// No longer meant.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub given_up: bool,
}

/// Bulbs that are brought on together, and the days that were planned for them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Batch {
    /// The bulbs.
    pub bulbs: Vec<Id>,
    /// Water is stopped; nothing when they rested already or are not rested.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stop_water: Option<Date>,
    /// They are laid to rest, or were; nothing when they are not rested.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lay_to_rest: Option<Date>,
    /// The rest ends: they are potted up and brought into light.
    pub rest_end: Date,
    /// First look for scapes.
    pub first_look: Date,
}

/// A link between two things.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Linked {
    /// The other thing: the mother of an offset, the twin of a same-as.
    pub to: Id,
    /// In the grower's words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Another ledger of the same nursery, whose records were read into this one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Joined {
    /// The other ledger.
    pub to: Id,
    /// The devices that wrote it: what they wrote goes with the link.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub devices: Vec<Id>,
}

/// Takes entries back; they are named in the envelope.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakeBack {
    /// Why, if said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Settles whether two equal acts of one day are the same act; about what both are about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SameAct {
    /// The later of the two: it is not counted when they are the same.
    pub entry: EntryId,
}

impl Body {
    /// The same with what a short form does not ask for as another body of the kind says it, so that putting a number right
    /// loses nothing beside it.
    #[must_use]
    pub fn beside(self, before: &Self) -> Self {
        match (self, before) {
            (Self::Inspection(now), Self::Inspection(before)) => {
                let (checked, again) = (before.checked.clone(), before.again.filter(|_| now.watch));
                Self::Inspection(Inspection { checked, again, ..now })
            }
            (Self::Light(now), Self::Light(before)) => Self::Light(Light {
                open_ppfd_umol: before.open_ppfd_umol,
                open_lux: before.open_lux,
                passes_permille: before.passes_permille,
                of: before.of,
                ..now
            }),
            (now, _) => now,
        }
    }
}

/// What a body says; nothing when it is not of its kind.
fn said<'a, T: Deserialize<'a>>(json: &'a str) -> Option<T> {
    serde_json::from_str::<Object<T>>(json).ok().map(|Object(body)| body)
}

/// Writes the table of kinds: name in files, body, nature.
macro_rules! kinds {
    ($($(#[$doc:meta])* $member:ident($body:ty) = $word:literal, $nature:ident;)+) => {
        /// What an entry says, by its kind.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub enum Body {
            $($(#[$doc])* $member($body),)+
            /// An event.
            Act(ActKind, Act),
            /// A kind or version this program does not know; kept and passed on byte for byte.
            Unknown,
        }

        impl Body {
            /// The kind's name in files; empty when unknown.
            pub fn kind(&self) -> &'static str {
                match self {
                    $(Self::$member(_) => $word,)+
                    Self::Act(kind, _) => kind.word(),
                    Self::Unknown => "",
                }
            }

            /// How entries of a kind combine; nothing for a kind this program does not know.
            pub fn nature_of(kind: &str) -> Option<Nature> {
                match kind {
                    $($word => Some(Nature::$nature),)+
                    _ => ActKind::from_word(kind).map(|_| Nature::Event),
                }
            }

            /// Reads a body. What this program does not know becomes [`Body::Unknown`].
            pub fn read(kind: &str, version: u32, json: &str) -> Self {
                if version != 1 {
                    return Self::Unknown;
                }
                match kind {
                    $($word => said(json).map(Self::$member),)+
                    _ => ActKind::from_word(kind).and_then(|act| Some(Self::Act(act, said(json)?))),
                }
                .unwrap_or(Self::Unknown)
            }

            /// The body in canonical form.
            ///
            /// # Errors
            ///
            /// When it holds what a record cannot hold.
            pub fn to_canonical(&self) -> Result<String> {
                match self {
                    $(Self::$member(body) => to_canonical(body),)+
                    Self::Act(_, body) => to_canonical(body),
                    Self::Unknown => Ok("{}".to_owned()),
                }
            }
        }
    };
}

kinds! {
    /// The nursery; its subject is the ledger.
    Nursery(NurseryBody) = "nursery", Register;
    /// A person.
    Person(Person) = "person", Register;
    /// A place.
    Place(PlaceBody) = "place", Register;
    /// The order of bulbs in a place.
    BenchOrder(BenchOrder) = "bench-order", Register;
    /// A lot.
    Lot(LotBody) = "lot", Register;
    /// Which lot a bulb is of.
    Bulb(BulbBody) = "bulb", Register;
    /// A bulb's tag (slot `tag`) or the grower's own name for it (slot `own`).
    BulbName(Named) = "bulb-name", Register;
    /// A container.
    Container(ContainerBody) = "container", Register;
    /// A mix by parts.
    Recipe(Recipe) = "recipe", Register;
    /// A trial's question.
    Question(Question) = "question", Register;
    /// A treatment.
    Treatment(Treatment) = "treatment", Register;
    /// A run.
    Run(RunBody) = "run", Register;
    /// A run's success rule.
    Rule(Rule) = "success-rule", Register;
    /// A run's due window.
    DueWindow(DueWindow) = "due-window", Register;
    /// A run's due window as days after its start.
    DueDays(DueDays) = "due-days", Register;
    /// A run's allotment.
    Allotment(Allotment) = "allotment", Register;
    /// Counts by group from a notebook.
    Tallies(Tallies) = "tallies", Register;
    /// A job of a care plan.
    CarePlan(CareJob) = "care-plan", Register;
    /// Forcing without a trial.
    Forcing(Forcing) = "plan", Register;
    /// A look at one bulb.
    Look(Look) = "look", Observation;
    /// Walked past all, nothing at any neck.
    Sweep(Sweep) = "sweep", Observation;
    /// An inspection.
    Inspection(Inspection) = "inspection", Observation;
    /// A measure.
    Measure(Measure) = "measure", Observation;
    /// A count.
    Count(Count) = "count", Observation;
    /// A reading of light.
    Light(Light) = "light", Observation;
    /// A reading of temperature and humidity.
    Climate(Climate) = "climate", Observation;
    /// A photo.
    Photo(Photo) = "photo", Observation;
    /// Marks on a photo.
    PhotoMarks(PhotoMarks) = "photo-marks", Observation;
    /// A call on a shoot.
    Call(Call) = "call", Observation;
    /// What the program said.
    Shown(Shown) = "shown", Observation;
    /// A note.
    Note(Note) = "note", Observation;
    /// Offset of a mother.
    OffsetOf(Linked) = "offset-of", Link;
    /// Two names for one thing.
    SameAs(Linked) = "same-as", Link;
    /// Two records of one act.
    SameAct(SameAct) = "same-act", Link;
    /// Two equal acts that both happened.
    TwoActs(SameAct) = "two-acts", Link;
    /// Two things that look like one and are two.
    NotSame(Linked) = "not-same", Link;
    /// Two ledgers of one nursery.
    Join(Joined) = "join", Link;
    /// How a called shoot turned out.
    Proof(Proof) = "proof", Link;
    /// Takes entries back.
    TakeBack(TakeBack) = "take-back", Link;
}
