//! What entries say: one body a kind, version 1.
//!
//! Optional fields are left out when not said. A field's meaning never changes; what is new gets a new kind.
//! Whole numbers only, units last in the name.

use serde::Serialize;

use super::id::{AttachmentHash, EntryId, Id};
use crate::{
    calendar::Date,
    error::Result,
    said,
    said::{Outline, Part, Said, Writer},
    source::Source,
    words,
};

words! {
    /// What may be known of an entry's kind beforehand: how its entries combine.
    Nature {
        /// One value stands at a time for each subject, kind and slot.
        Register = "register",
        /// Every one stands.
        Observation = "observation",
        /// Every one stands, in order of when it happened.
        Event = "event",
        /// Joins two things; can be taken back.
        Link = "link",
    }
}

words! {
    /// What a place is.
    PlaceKind {
        /// A bench or table.
        Bench = "bench",
        /// A bed in the ground.
        Bed = "bed",
        /// A house under cloth.
        ShadeHouse = "shade house",
        /// A room without light.
        DarkRoom = "dark room",
        /// A cellar.
        Cellar = "cellar",
        /// A shelf or rack.
        Shelf = "shelf",
        /// A cold store.
        ColdStore = "cold store",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// What a container is.
    ContainerKind {
        /// A pot.
        Pot = "pot",
        /// A trough.
        Trough = "trough",
        /// A tray or crate.
        Tray = "tray",
    }
}

words! {
    /// What was seen at the neck in a look.
    Neck {
        /// Looked at, nothing rising.
        Clear = "clear",
        /// One shoot or more, each listed.
        Shoots = "shoots",
        /// Not looked at: rules out nothing.
        NotLookedAt = "not looked at",
    }
}

words! {
    /// What was seen of the leaves in a look.
    Leaves {
        /// No leaves.
        None = "none",
        /// As at the look before.
        Same = "same",
        /// More than at the look before.
        More = "more",
        /// Counted; the number stands beside.
        Count = "count",
        /// Not looked at.
        NotLookedAt = "not looked at",
    }
}

words! {
    /// Where a shoot stands, seen from above.
    Side {
        /// Toward the label.
        TowardLabel = "toward the label",
        /// Away from the label.
        Away = "away",
        /// Left of the label.
        Left = "left",
        /// Right of the label.
        Right = "right",
        /// In the middle.
        Middle = "middle",
        /// Not said.
        NotSaid = "not said",
    }
}

words! {
    /// What a shoot is.
    ShootKind {
        /// Not known yet.
        Unknown = "unknown",
        /// A leaf.
        Leaf = "leaf",
        /// A flower stalk.
        Scape = "scape",
    }
}

words! {
    /// How far a shoot is, in order of growth.
    Stage {
        /// A shoot whose kind may be unknown.
        Shoot = "shoot",
        /// A scape is in sight.
        ScapeInSight = "scape in sight",
        /// The scape stretches.
        ScapeStretching = "scape stretching",
        /// The spathe has split.
        SpatheSplit = "spathe split",
        /// The first flower is open (read as BBCH 60).
        FirstFlower = "first flower open",
        /// All flowers of the umbel are open.
        FullBloom = "full bloom",
        /// Flowers fade.
        Fading = "fading",
        /// The last flower of the scape is over.
        Over = "over",
    }
}

words! {
    /// How a look came about.
    Way {
        /// This bulb was looked at by itself.
        Each = "each",
        /// Said of all the others of a place at the end of a walk.
        Others = "others",
    }
}

said! {
    /// One shoot as one look saw it.
    #[derive(Clone, Debug, PartialEq, Eq)]
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
        pub height_mm: Option<u32> = unsaid,
    }

    /// What one look at one bulb showed.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Look {
        /// The neck.
        pub neck: Neck,
        /// The leaves.
        pub leaves: Leaves,
        /// How many leaves, when counted.
        pub n_leaves: Option<u32> = unsaid,
        /// Every shoot seen.
        pub shoots: Vec<ShootSeen> = unsaid,
        /// How the look came about.
        pub way: Way,
        /// The place whose walk this look belongs to.
        pub walk: Option<Id> = unsaid,
    }

    /// Walked past all of these and saw nothing at any neck.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Sweep {
        /// The place walked through.
        pub place: Id,
    }
}

words! {
    /// A finding of an inspection of a resting or lifted bulb.
    Finding {
        /// Firm and full.
        Firm = "firm",
        /// Somewhat soft all over.
        Slack = "slack",
        /// One or more soft spots.
        SoftSpots = "soft spots",
        /// Mould on the surface.
        Mould = "surface mould",
        /// Red spots or streaks.
        RedMarks = "red marks",
        /// The nose is crushed or cut.
        NoseHurt = "nose hurt",
        /// Shrivelled.
        Shrivelled = "shrivelled",
        /// Pests seen.
        Pests = "pests seen",
        /// Pattern of light and dark green on the leaves.
        Mottled = "mottled leaves",
        /// Roots dead or brittle.
        RootsPoor = "roots poor",
        /// A sprout shows.
        Sprout = "sprout showing",
    }
}

said! {
    /// An inspection of a bulb.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Inspection {
        /// Everything found; never empty.
        pub findings: Vec<Finding>,
        /// Whether it is to be watched.
        pub watch: bool = unsaid,
        /// In the grower's words.
        pub note: Option<String> = unsaid,
    }
}

words! {
    /// What a measure is of.
    Measured {
        /// Around the widest part of the bulb, in mm.
        Circumference = "circumference",
        /// Height of a scape over the neck, in mm.
        Height = "height",
        /// Width of the neck, in mm.
        NeckWidth = "neck width",
        /// Length of the longest leaf, in mm.
        LeafLength = "leaf length",
        /// Weight of the bulb, in g.
        Weight = "weight",
    }
}

said! {
    /// One measured value.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Measure {
        /// What was measured.
        pub what: Measured,
        /// The value of a length.
        pub mm: Option<i64> = unsaid,
        /// The upper end, where only a range is known (bulbs bought by grade).
        pub mm_to: Option<i64> = unsaid,
        /// The value of a weight.
        pub g: Option<i64> = unsaid,
        /// Where it was measured, in a word.
        pub at: Option<String> = unsaid,
    }
}

words! {
    /// What a count is of.
    Counted {
        /// Leaves.
        Leaves = "leaves",
        /// Scapes.
        Scapes = "scapes",
        /// Florets of one umbel.
        Florets = "florets",
    }
}

said! {
    /// One count.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Count {
        /// What was counted.
        pub what: Counted,
        /// How many.
        pub n: i64,
    }

    /// A reading of light.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Light {
        /// Photosynthetic photon flux density in µmol m⁻² s⁻¹.
        pub ppfd_umol: Option<i64> = unsaid,
        /// Illuminance in lux.
        pub lux: Option<i64> = unsaid,
    }

    /// A reading of temperature and humidity.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Climate {
        /// Air temperature in tenths of a degree Celsius.
        pub temperature_dc: Option<i64> = unsaid,
        /// Relative humidity in per cent.
        pub humidity_percent: Option<i64> = unsaid,
    }

    /// A photo; its bytes are kept under the hash.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Photo {
        /// SHA-256 of the picture's bytes.
        pub hash: AttachmentHash,
        /// SHA-256 of the small picture's bytes.
        pub thumb: Option<AttachmentHash> = unsaid,
        /// Media type.
        pub media: String,
        /// Size of the picture.
        pub n_bytes: u64,
        /// Width.
        pub width_px: u32,
        /// Height.
        pub height_px: u32,
        /// Whether a drawing stands in for a photo (the demo).
        pub drawn: bool = unsaid,
    }

    /// One answer given in a call.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Answer {
        /// Key of the question.
        pub question: String,
        /// Key of the answer.
        pub answer: String,
    }

    /// A call on a shoot: stalk or leaf, and how sure.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Call {
        /// The shoot.
        pub shoot: Id,
        /// The answers given.
        pub answers: Vec<Answer>,
        /// Chance that it is a stalk as the method said, in permille.
        pub scape_permille: u32,
        /// Name and version of the method.
        pub method: String,
        /// When to look again.
        pub again: Date,
    }

    /// How a shoot turned out.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Proof {
        /// The shoot.
        pub shoot: Id,
        /// What it was.
        pub kind: ShootKind,
    }

    /// What the program said; scored later, never used as input.
    #[derive(Clone, Debug, PartialEq, Eq)]
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
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Note {
        /// The words.
        pub text: String,
    }

    /// A nursery.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct NurseryBody {
        /// Its name.
        pub name: String,
        /// Where it lies north (positive) or south of the equator, in tenths of a degree: enough for the length of the day,
        /// and too coarse to find it by.
        pub latitude_decideg: Option<i64> = unsaid,
    }

    /// A name, of a bulb.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Named {
        /// The name.
        pub name: String,
    }

    /// A person who records.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Person {
        /// Two or three letters that stand on lists.
        pub initials: String,
        /// The name, if given.
        pub name: String = unsaid,
    }

    /// One layer over a place that takes light away.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Cover {
        /// What it is, such as shade cloth or whitewashed glass.
        pub what: String,
        /// How much of the light it blocks.
        pub blocks_percent: u32,
    }

    /// A place where bulbs stand.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct PlaceBody {
        /// Its name.
        pub name: String,
        /// What it is.
        pub kind: PlaceKind,
        /// Layers over it.
        pub covers: Vec<Cover> = unsaid,
        /// No longer in use.
        pub given_up: bool = unsaid,
    }

    /// The order in which bulbs stand in a place.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct BenchOrder {
        /// Bulbs, first to last.
        pub bulbs: Vec<Id>,
    }

    /// A lot.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct LotBody {
        /// The name on the crate.
        pub name: String,
        /// The cultivar.
        pub cultivar: String,
        /// Who it came from.
        pub supplier: String = unsaid,
        /// Size grade as the trade writes it, such as 26/28.
        pub grade: String = unsaid,
        /// When it came.
        pub received: Option<Date> = unsaid,
        /// Kept apart from the rest until this day.
        pub apart_until: Option<Date> = unsaid,
    }

    /// Which lot a bulb is of.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct BulbBody {
        /// The lot.
        pub lot: Id,
    }

    /// A container.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct ContainerBody {
        /// Its name or number.
        pub name: String,
        /// What it is.
        pub kind: ContainerKind,
        /// Inner width or diameter at the rim.
        pub inner_width_mm: Option<i64> = unsaid,
        /// Inner height.
        pub inner_height_mm: Option<i64> = unsaid,
    }
}

words! {
    /// To what a treatment was applied, the widest thing that shared it.
    AppliedTo {
        /// Bulb by bulb.
        Bulb = "bulb",
        /// To whole containers.
        Container = "container",
        /// To a whole place.
        Place = "place",
    }
}

said! {
    /// One thing that differs between treatments.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Factor {
        /// Its name, such as weeks of rest.
        pub name: String,
        /// Unit of its levels, if they are numbers.
        pub unit: String = unsaid,
        /// To what it is applied.
        pub applied_to: AppliedTo,
    }

    /// What a trial asks.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Question {
        /// The question as a sentence.
        pub text: String,
        /// Key of the ready question it came from, or empty.
        pub ready: String = unsaid,
        /// What differs.
        pub factors: Vec<Factor>,
        /// Treatments in order.
        pub groups: Vec<Id>,
    }

    /// How much of one factor.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Level {
        /// The factor's name.
        pub factor: String,
        /// How much or which, in words.
        pub text: String,
        /// The number in thousandths of the factor's unit, where there is one.
        pub value_milli: Option<i64> = unsaid,
    }

    /// A treatment of a trial: one group.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Treatment {
        /// The trial.
        pub trial: Id,
        /// Short name of the group.
        pub name: String,
        /// One level a factor.
        pub levels: Vec<Level>,
        /// Whether it is what the nursery would have done anyway.
        pub control: bool = unsaid,
    }

    /// One repetition of a trial.
    #[derive(Clone, Debug, PartialEq, Eq)]
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
        pub typed_in: bool = unsaid,
    }
}

words! {
    /// What a bulb has to do to count.
    Goal {
        /// Reach the stage by a day.
        By = "by",
        /// Be in the stage on at least one day of a window.
        InWindow = "in the window",
    }
}

words! {
    /// The stage that counts.
    GoalStage {
        /// A scape in sight.
        ScapeInSight = "scape in sight",
        /// The spathe split.
        SpatheSplit = "spathe split",
        /// Marked as fit to sell.
        FitToSell = "fit to sell",
        /// First flower open; for a window: in flower.
        FirstFlower = "first flower open",
    }
}

words! {
    /// The unit that is drawn and counted.
    Unit {
        /// Each bulb.
        Bulb = "bulb",
        /// Each container with at least one.
        Container = "container",
    }
}

words! {
    /// How a bulb that died counts.
    DiedAs {
        /// As not in time.
        NotInTime = "not in time",
        /// Left out.
        LeftOut = "left out",
    }
}

words! {
    /// The one test that decides, stored before the start.
    Test {
        /// Boschloo's exact unconditional test, two-sided Fisher p as the statistic.
        Boschloo = "boschloo",
        /// Exact conditional test, stratified by blocks and runs.
        ExactConditional = "exact conditional",
        /// Permutation of unit shares within blocks.
        UnitPermutation = "permutation of units",
        /// No test: groups were not drawn.
        None = "none",
    }
}

said! {
    /// What counts, fixed before the start.
    #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
    }

    /// The due window of a run: from and to for a window, only `to` for a goal by a day.
    #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
    pub struct DueWindow {
        /// What the day is for.
        #[serde(skip_serializing_if = "String::is_empty")]
        pub name: String = unsaid,
        /// First day.
        pub from: Date,
        /// Last day; the deadline.
        pub to: Date,
    }

    /// A due window counted from the run's start, in days after it. The days it comes to stand in [`DueWindow`].
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub struct DueDays {
        /// First day, in days after the start.
        pub from: i64,
        /// Last day, in days after the start.
        pub to: i64,
    }
}

impl DueDays {
    /// The first and the last day for a start.
    ///
    /// # Errors
    ///
    /// When they lie beyond the calendar.
    pub fn window(self, start: Date) -> crate::error::Result<(Date, Date)> {
        let day = |n: i64| start.add_days(n).map_err(|why| why.at("window"));
        Ok((day(self.from)?, day(self.to)?))
    }
}

said! {
    /// Which unit is in which group.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Allotment {
        /// The unit drawn.
        pub unit: Unit,
        /// `blocks/1` when drawn, `by hand`, or `as recorded`.
        pub method: String,
        /// Seed of the draw in hexadecimal digits; empty unless drawn.
        pub seed: String = unsaid,
        /// Groups, in the order that `arms` counts from 0.
        pub groups: Vec<Id>,
        /// Units, by block, in the order drawn.
        pub units: Vec<Id>,
        /// Group of each unit.
        pub arms: Vec<u32>,
        /// Block of each unit, from 0.
        pub blocks: Vec<u32>,
        /// Size of each unit in mm that the blocks were cut by.
        pub sizes_mm: Vec<i64> = unsaid,
        /// Why it was drawn again, when it was.
        pub reason: String = unsaid,
    }

    /// Counts by group of a run typed in from a notebook where the bulbs are not known one by one.
    #[derive(Clone, Debug, PartialEq, Eq)]
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
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Tallies {
        /// One a group.
        pub groups: Vec<Tally>,
    }
}

words! {
    /// An event.
    ActKind {
        /// A growth cycle began.
        CycleBegan = "cycle-began",
        /// A growth cycle ended.
        CycleEnded = "cycle-ended",
        /// Lifted out of mix or ground.
        Lifted = "lifted",
        /// Leaves cut back.
        CutBack = "cut-back",
        /// Cleaned of mix, dead roots and loose tunic.
        Cleaned = "cleaned",
        /// Soaked.
        Soaked = "soaked",
        /// Packed for rest.
        Packed = "packed",
        /// Laid to rest.
        LaidToRest = "laid-to-rest",
        /// Water stopped.
        WaterStopped = "water-stopped",
        /// Rest ended.
        RestEnded = "rest-ended",
        /// Base damped.
        BaseDamped = "base-damped",
        /// Watered.
        Watered = "watered",
        /// Fed.
        Fed = "fed",
        /// Potted.
        Potted = "potted",
        /// Taken out of the pot.
        Unpotted = "unpotted",
        /// Moved to another place.
        Moved = "moved",
        /// Brought to light or warmth.
        BroughtToLight = "brought-to-light",
        /// Staked.
        Staked = "staked",
        /// Scape cut.
        ScapeCut = "scape-cut",
        /// Sprayed or dipped.
        SprayedOrDipped = "sprayed-or-dipped",
        /// An offset was split off.
        OffsetSplit = "offset-split",
        /// A run started.
        RunStarted = "run-started",
        /// A run was closed.
        RunClosed = "run-closed",
        /// Fit to sell.
        FitToSell = "fit-to-sell",
        /// Put aside.
        PutAside = "put-aside",
        /// Left: sold, given or withdrawn.
        Left = "left",
        /// Died.
        Died = "died",
        /// Missing.
        Missing = "missing",
        /// A job was skipped.
        Skipped = "skipped",
        /// A job was postponed.
        Postponed = "postponed",
        /// A job of a care plan that is no other act here was done.
        JobDone = "job-done",
    }
}

words! {
    /// How a bulb left.
    LeftHow {
        /// Sold.
        Sold = "sold",
        /// Given away.
        Given = "given",
        /// Taken out of the trial or the nursery's care.
        Withdrawn = "withdrawn",
    }
}

said! {
    /// What was done or happened, with what may be said beside it.
    #[derive(Clone, Debug, Default, PartialEq, Eq)]
    pub struct Act {
        /// The place or group it was tapped for, for reading only.
        pub from: Option<String> = unsaid,
        /// Where to.
        pub place: Option<Id> = unsaid,
        /// Into which container.
        pub container: Option<Id> = unsaid,
        /// Position in the container, from 1.
        pub position: Option<u32> = unsaid,
        /// With or in what: mix, packing, feed, product.
        pub with: Option<String> = unsaid,
        /// Damp or dry.
        pub condition: Option<String> = unsaid,
        /// How it left.
        pub how: Option<LeftHow> = unsaid,
        /// Stage when it left.
        pub stage: Option<Stage> = unsaid,
        /// Whether it was fit to sell when it left.
        pub fit: bool = unsaid,
        /// For whom.
        pub whom: Option<String> = unsaid,
        /// Of what it died, or why a job was skipped.
        pub cause: Option<String> = unsaid,
        /// Postponed to this day.
        pub until: Option<Date> = unsaid,
        /// The trial's run it belongs to.
        pub run: Option<Id> = unsaid,
        /// The offset that was split off.
        pub offset: Option<Id> = unsaid,
        /// The key of the job that was done, skipped or postponed; every job that was due when it is left out.
        pub job: Option<String> = unsaid,
        /// In the grower's words.
        pub note: Option<String> = unsaid,
    }
}

words! {
    /// What a job of a care plan asks for.
    Doing {
        /// An act, the same for every bulb; done once it is recorded.
        Act = "act",
        /// A look at each bulb.
        Look = "look",
        /// An inspection of each bulb.
        Inspect = "inspection",
        /// Something in the grower's own words; done once it is ticked.
        Own = "own",
    }
}

words! {
    /// What the first day of a job is counted from, for each bulb.
    JobFrom {
        /// A day of the calendar.
        Date = "date",
        /// The start of the running try.
        RunStart = "run start",
        /// The end of the rest of the present cycle, whatever ended it.
        RestEnd = "rest end",
        /// The last act of a kind in the present cycle.
        Act = "act",
        /// The first look of the present cycle that showed a scape in a stage or beyond it.
        Stage = "stage",
    }
}

words! {
    /// When a job is told at all.
    During {
        /// Always.
        Always = "always",
        /// Only while the bulb is at rest.
        Rest = "rest",
        /// Only while it is not.
        Growth = "growth",
    }
}

said! {
    /// One job of a care plan. The subject is what it is for: the ledger for the whole nursery, a place, a treatment or a
    /// run; the slot names the job, so that two persons who change two jobs do not disagree.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct CareJob {
        /// What it asks for.
        pub doing: Doing,
        /// Which act.
        pub act: Option<ActKind> = unsaid,
        /// In the grower's words: the job itself, or what to mind.
        pub words: String = unsaid,
        /// What its first day is counted from.
        pub from: JobFrom,
        /// That day of the calendar.
        pub date: Option<Date> = unsaid,
        /// That act.
        pub after: Option<ActKind> = unsaid,
        /// That stage.
        pub stage: Option<Stage> = unsaid,
        /// Days after what it is counted from.
        pub after_days: u32 = or_zero,
        /// Days after which it comes again; once when left out.
        pub every_days: Option<u32> = unsaid,
        /// How many days earlier it counts as done, and how many later it is not late yet.
        pub tolerance_days: u32 = or_zero,
        /// When it is told at all.
        pub during: During,
        /// Who is to do it.
        pub person: Option<Id> = unsaid,
        /// What it rests on; nothing for the grower's own.
        pub grade: Option<Source> = unsaid,
        /// Where that stands written.
        pub source: String = unsaid,
        /// No longer to be done.
        pub given_up: bool = unsaid,
    }
}

words! {
    /// How bulbs are rested, where published ways conflict: the grower's choice.
    RestWay {
        /// Dry and cool.
        Cool = "cool",
        /// Dry and warm.
        Warm = "warm",
        /// Not at all: kept in growth.
        None = "none",
    }
}

said! {
    /// Forcing without a trial, planned back from a date. Its jobs are a care plan with the forcing as subject; their slots
    /// begin with the number of the batch that they are for, from 1, and a stroke.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Forcing {
        /// What the due window is for.
        pub name: String = unsaid,
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
        pub way: Option<RestWay> = unsaid,
        /// The treatment of earlier tries that it follows, in its words.
        pub treatment: String = unsaid,
        /// The lot that the numbers were asked for, where one was.
        pub lot: Option<Id> = unsaid,
        /// The bulbs, in batches that are brought on a week apart; one batch for all at once.
        pub batches: Vec<Batch>,
        /// No longer meant.
        pub given_up: bool = unsaid,
    }

    /// Bulbs that are brought on together, and the days that were planned for them.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Batch {
        /// The bulbs.
        pub bulbs: Vec<Id>,
        /// Water is stopped; nothing when they rested already or are not rested.
        pub stop_water: Option<Date> = unsaid,
        /// They are laid to rest, or were; nothing when they are not rested.
        pub lay_to_rest: Option<Date> = unsaid,
        /// The rest ends: they are potted up and brought into light.
        pub rest_end: Date,
        /// First look for scapes.
        pub first_look: Date,
    }

    /// A link between two things.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Linked {
        /// The other thing: the mother of an offset, the twin of a same-as.
        pub to: Id,
        /// In the grower's words.
        pub note: Option<String> = unsaid,
    }

    /// Another ledger of the same nursery, whose records were read into this one.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Joined {
        /// The other ledger.
        pub to: Id,
        /// The devices that wrote it: what they wrote goes with the link.
        pub devices: Vec<Id> = unsaid,
    }

    /// Takes entries back; they are named in the envelope.
    #[derive(Clone, Debug, Default, PartialEq, Eq)]
    pub struct TakeBack {
        /// Why, if said.
        pub why: Option<String> = unsaid,
    }

    /// Settles whether two equal acts of one day are the same act; about what both are about.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct SameAct {
        /// The later of the two: it is not counted when they are the same.
        pub entry: EntryId,
    }
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
                let outline = Outline::of(json);
                outline.map_or(Self::Unknown, |outline| Self::of(kind, version, &outline, outline.whole()))
            }

            /// Reads a body that stands in an outline.
            pub(super) fn of(kind: &str, version: u32, outline: &Outline<'_>, from: Part<'_>) -> Self {
                if version != 1 {
                    return Self::Unknown;
                }
                let body = match kind {
                    $($word => Self::$member(Said::read(from)),)+
                    _ => match ActKind::from_word(kind) {
                        Some(act) => Self::Act(act, Said::read(from)),
                        None => Self::Unknown,
                    },
                };
                outline.settle().map_or(Self::Unknown, |()| body)
            }

            /// The body in canonical form.
            ///
            /// # Errors
            ///
            /// When it holds what a record cannot hold.
            pub fn to_canonical(&self) -> Result<String> {
                let mut to = Writer::default();
                match self {
                    $(Self::$member(body) => body.write(&mut to),)+
                    Self::Act(_, body) => body.write(&mut to),
                    Self::Unknown => to.push("{}"),
                }
                to.finish()
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
