//! Why something was refused: codes with arguments, by story. Which words say them is no matter of core.

use crate::{calendar::Date, error::Error, ledger::id::EntryId, limits::Limit, plan, sight::NoNumber};

/// Why something was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// A value outside one of the bounds in [`crate::limits`].
    OutOfBounds {
        /// The bound.
        limit: &'static Limit,
        /// The value.
        value: i64,
    },
    /// One of several things was refused.
    OfOne {
        /// Its name.
        name: String,
        /// Why.
        why: Box<Refusal>,
    },
    /// Something has to be said, chosen or typed first.
    Missing(Missing),
    /// A day or a time.
    Date(DateRefusal),
    /// A number as typed.
    Number(NumberRefusal),
    /// A tag.
    Tag(TagRefusal),
    /// Bulbs, lots, places and containers.
    Bulb(BulbRefusal),
    /// Records as such: replaced, taken back, joined.
    Record(RecordRefusal),
    /// A job of a care plan.
    Job(JobRefusal),
    /// A trial, a try or a draw.
    Try(TryRefusal),
    /// A forecast.
    Forecast(ForecastRefusal),
    /// A plan.
    Plan(plan::Refusal),
    /// Marks on a photo that give no number.
    Sight(NoNumber),
    /// Records as they are written, kept and handed over.
    Stored(StoredRefusal),
    /// The demo's script.
    Script(ScriptRefusal),
}

macro_rules! refusals {
    ($($story:ident($of:ty)),+ $(,)?) => { $(
        impl From<$of> for Refusal {
            fn from(why: $of) -> Self {
                Self::$story(why)
            }
        }
    )+ };
}

refusals!(
    Missing(Missing),
    Date(DateRefusal),
    Number(NumberRefusal),
    Tag(TagRefusal),
    Bulb(BulbRefusal),
    Record(RecordRefusal),
    Job(JobRefusal),
    Try(TryRefusal),
    Forecast(ForecastRefusal),
    Plan(plan::Refusal),
    Sight(NoNumber),
    Stored(StoredRefusal),
    Script(ScriptRefusal),
);

/// What has to be said, chosen or typed first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// The nursery's name.
    NurseryName,
    /// The initials of whoever starts the nursery.
    OwnInitials,
    /// The initials of a person.
    Initials,
    /// A bulb's name.
    BulbName,
    /// A place's name.
    PlaceName,
    /// A lot's name.
    LotName,
    /// The name of a lot that is made on the way.
    NewLotName,
    /// A container's name or number.
    ContainerName,
    /// A mix's name.
    RecipeName,
    /// What a mix is made of.
    MixParts,
    /// The name of a group.
    GroupName,
    /// The question of a trial.
    Question,
    /// Why lots are drawn again.
    ReasonToDraw,
    /// A reading of light.
    Light,
    /// Temperature or humidity.
    Climate,
    /// A note.
    Note,
    /// What an inspection found.
    Findings,
    /// The number that was measured.
    Measured,
    /// How many leaves there are.
    Leaves,
    /// The shoots that a look saw.
    Shoots,
    /// A bulb.
    Bulb,
    /// Two bulbs.
    TwoBulbs,
    /// A bulb that is not of the lot already.
    BulbOfAnotherLot,
    /// Where bulbs were moved to.
    MovedTo,
    /// Where bulbs stand.
    Place,
    /// The container.
    Container,
    /// Of which lot the bulb of this label is.
    LotOf(String),
    /// The counts of every group.
    Counts,
    /// How many bulbs each group gets.
    GroupSizes,
    /// The group of every chosen bulb.
    Groups,
    /// What a job is.
    Act,
    /// What a job of one's own is.
    JobWords,
    /// The day.
    Day,
    /// The act that a job comes after.
    AfterAct,
    /// The stage that a job waits for.
    Stage,
    /// The bulbs that a plan is for.
    PlannedBulbs,
    /// The bulbs that a plan starts.
    StartedBulbs,
}

/// What is wrong with a day or a time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DateRefusal {
    /// So many days from a date is outside the years of records.
    OutOfYears {
        /// The date.
        from: Date,
        /// How many days later; earlier when negative.
        days: i64,
    },
    /// This text is no date.
    NoDate(String),
    /// There is no such month.
    NoMonth(u32),
    /// There is no such day in the month.
    NoDay {
        /// The year.
        year: i32,
        /// The month.
        month: u32,
        /// The day.
        day: u32,
        /// The last day of that month.
        last: u32,
    },
    /// This text is no time of day, or no distance from UTC.
    NoClock(Clock, String),
    /// There is no such hour.
    NoHour(Clock, u32),
    /// There is no such minute.
    NoMinute(Clock, u32),
    /// This text is no time with its distance from UTC.
    NoTime(String),
    /// A distance of nothing from UTC has the sign minus.
    MinusNothing,
    /// A year without an Easter.
    NoEaster(i32),
    /// The day has not come yet.
    NotYet(Date),
    /// A try cannot start yet.
    StartsNotYet(Date),
    /// The first day of a window is after its last.
    WindowBackwards,
    /// The device's clock shows a moment that records do not know, ms since 1970.
    ClockOutside(u64),
    /// The device's clock is beyond any year.
    ClockBeyond,
}

/// Which hours and minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// The time of day.
    TimeOfDay,
    /// The distance from UTC.
    FromUtc,
}

/// What is wrong with a number as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NumberRefusal {
    /// This is not a number with at most one decimal.
    NoTenths(String),
    /// This is no length in inches.
    NoInches(String),
    /// This is not a whole number.
    NotWhole(String),
    /// The upper end of a range is below the lower.
    RangeBackwards,
    /// A chance is not between 0 and 1.
    NoChance,
    /// Not from one pole to the other.
    NoLatitude,
}

/// What is wrong with a tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TagRefusal {
    /// No tag has this symbol.
    Symbol(char),
    /// Not as many symbols as a tag has.
    Length {
        /// Fewest.
        least: usize,
        /// Most.
        most: usize,
        /// As typed.
        length: usize,
        /// Whether it was typed without its check character.
        is_body: bool,
    },
    /// The check character does not fit.
    Check(String),
    /// Another bulb carries it.
    Taken(String),
    /// Nearly all of this length are taken.
    NoneFree(usize),
}

/// What stands against something about bulbs, lots, places and containers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BulbRefusal {
    /// The bulb is not in these records.
    NotHere,
    /// The lot is not in these records.
    NoSuchLot,
    /// It is gone since then.
    Gone {
        /// Its label.
        label: String,
        /// How.
        how: Gone,
        /// Since when.
        on: Date,
    },
    /// It is in a try, by its label and the try's question: it cannot be taken out.
    InTry(String, String),
    /// So many bulbs are of this lot, which cannot be taken out.
    OfThisLot(usize),
    /// So many bulbs stand here, at a place that cannot be taken out.
    StandHere(usize),
    /// Only bulbs, lots and places are taken out.
    NotTakenOut,
    /// One name for several bulbs.
    OneNameForSeveral,
    /// So many sizes for so many bulbs.
    Sizes(usize, usize),
    /// So many names for so many bulbs.
    Names(usize, usize),
    /// Two bulbs of this name.
    TwoCalled(String),
    /// Containers take so many, and there are so many bulbs.
    Room(usize, usize),
    /// There is a container of this name.
    ContainerExists(String),
    /// Joined to itself.
    Itself,
    /// The two are one already.
    OneAlready,
    /// A shoot joined to itself.
    SameShoot,
    /// The two are in different groups of one try: labels with groups, and its question.
    InTwoGroups(Box<[(String, String); 2]>, String),
    /// The two are in different running tries: labels with questions.
    InTwoTries(Box<[(String, String); 2]>),
    /// Shoots are listed, and the neck is said to be clear.
    ClearWithShoots,
    /// An answer to another question: the keys of answer and question.
    NoAnswer(&'static str, &'static str),
}

/// How a bulb is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// It died.
    Died,
    /// It was sold, given or withdrawn.
    Left,
    /// Nobody knows where it is.
    Missing,
}

/// What stands against records as such.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecordRefusal {
    /// Nothing was changed.
    Unchanged,
    /// Nothing to save.
    Nothing,
    /// Nothing to take back.
    NothingToTakeBack,
    /// Nothing to keep, or it was kept today.
    NothingToKeep,
    /// It stands so already.
    StandsAlready,
    /// The record is not here.
    NotHere,
    /// It was put right or taken back.
    Replaced,
    /// It no longer stands.
    NoLongerStands,
    /// The value no longer stands.
    ValueNoLongerStands,
    /// The records no longer contradict each other.
    NoLongerContrary,
    /// A record put right by one of another kind.
    OtherKind,
    /// Not something with one value at a time.
    NoRegister,
    /// Not something that was seen.
    NoObservation,
    /// Not something that joins two things.
    NoLink,
    /// Joined with itself.
    OwnLedger,
    /// Records of the demo.
    Demo,
}

/// What is wrong with a job of a care plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JobRefusal {
    /// Early or late by as much as its repeat.
    TooLoose {
        /// Days until it comes again.
        every_days: u32,
        /// Days early or late.
        tolerance_days: u32,
    },
    /// Not an act that can be planned.
    NotPlanned,
    /// It waits for itself.
    WaitsForItself,
    /// It ends a rest again and again during one.
    EndsRestInRest,
    /// Counted from the end of the rest and told only during it.
    Never,
}

/// What stands against a trial, a try, a draw, or forcing without a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TryRefusal {
    /// The try is not in these records.
    NoSuchTry,
    /// The plan is not in these records.
    NoSuchPlan,
    /// Not a plan at all.
    NoPlan,
    /// A chosen bulb is not in these records.
    BulbNotHere,
    /// Chosen twice.
    ChosenTwice(String),
    /// In a running try: its label and the question.
    InRunningTry(String, String),
    /// In a running try, which says itself what is due.
    DueByTry(String),
    /// In another plan.
    InAnotherPlan(String),
    /// Bulbs and containers together.
    BulbsAndContainers,
    /// The last day that counts is not after the start.
    EndsBeforeStart,
    /// A try that is not from a notebook is finished from the start.
    FinishedTooSoon,
    /// The question is not settled.
    QuestionOpen,
    /// Fewer than two groups.
    OneGroup,
    /// Two groups of this name.
    TwoGroupsCalled(String),
    /// A group without a bulb.
    EmptyGroup,
    /// Counts by group have no bulbs to place.
    CountsOnly,
    /// It has started already.
    Started,
    /// It has started, and its groups stay.
    GroupsStay,
    /// Two draws stand, and who is in which group is open.
    GroupsOpen,
    /// Two draws stand.
    TwoDraws,
    /// Its groups were not drawn.
    NotDrawn,
    /// It is not running.
    NotRunning,
    /// It started on this day, after the one that was chosen.
    StartedOn(Date),
    /// Nothing to draw between fewer than two groups.
    NothingToDraw,
    /// So many groups for so many bulbs.
    MoreGroupsThanBulbs(usize, usize),
    /// The group of this number has no place.
    NoPlace(usize),
    /// So many places for so many bulbs.
    Places(usize, usize),
    /// A bulb twice in the list.
    TwiceInList,
    /// Size classes of so many for so many groups.
    ShortClass(usize, usize),
    /// A ratio of fewer than two parts, or with a 0.
    NoRatio,
    /// A block of this length does not hold the ratio, whose parts add up to so many.
    BlockNotOfRatio(usize, usize),
    /// The factor of this name has no level.
    NoLevel(String),
    /// A group has a level that the factor of this name does not.
    UnknownLevel(String),
}

/// What stands against a forecast.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ForecastRefusal {
    /// The last day is before the first.
    Backwards,
    /// The days are over.
    Over,
    /// Further than a year.
    TooFar,
}

/// What is wrong with records as they are written, kept and handed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoredRefusal {
    /// Not the JSON that was expected.
    Json {
        /// Where in it; empty for the whole.
        path: String,
        /// What the parser says, for developers.
        detail: String,
    },
    /// Not text.
    NotText,
    /// This cannot be recorded.
    NotRecordable(Box<Error>),
    /// This is not a record.
    NoRecord(Box<Error>),
    /// Not a photo of a file of records.
    NoPhoto,
    /// This is no line number.
    NoLineNumber(u64),
    /// This text is not plain ASCII.
    NotAscii(String),
    /// This text is the name of nothing in a ledger.
    NoId(String),
    /// This text is not the id of a record.
    NoEntryId(String),
    /// This text is not the SHA-256 of a photo.
    NoHash(String),
    /// This is none of an enumeration's words.
    NoWord {
        /// As it stands.
        word: String,
        /// The words, joined.
        known: String,
    },
    /// An empty value in a record.
    EmptyValue,
    /// A number that a record cannot hold.
    NoWholeNumber(String),
    /// A key that is not plain ASCII.
    KeyNotAscii(String),
    /// Not in Unicode normalisation form C.
    NotNormalised,
    /// A garbled line of a file.
    GarbledLine,
    /// A garbled format of a file.
    GarbledFormat,
    /// A record of another nursery.
    OtherNursery(EntryId),
    /// A row of another nursery.
    RowOfAnother,
    /// A row's key is no number of arrival.
    NoArrival,
    /// A row that was cut off.
    RowCutOff,
    /// A row that was cut off: so many are missing of so many.
    RowLacks(u32, u32),
    /// More in a row than it says.
    RowTooLong,
    /// A record that is not text.
    RecordNotText(EntryId),
    /// A record that cannot be read.
    RecordUnread(EntryId, Box<Error>),
    /// So many records that were kept are gone.
    Lost(u64),
    /// The storage's own row is garbled.
    GarbledRow(Box<Error>),
    /// The storage's own row has no format.
    NoFormat,
    /// A newer version of the program was used.
    NewerVersion,
    /// What a file brought cannot be told from what was there before.
    NotApart(Box<Error>),
}

/// What is wrong with the demo's script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScriptRefusal {
    /// Not a script.
    NoScript(Box<Error>),
    /// No person or phone of this number.
    NoPerson,
    /// No place of this name.
    NoPlace(String),
    /// More lives than bulbs.
    MoreLives,
    /// No such offset.
    NoOffset,
    /// A try without a ready question.
    NoQuestion,
    /// A try without its lot.
    NoLot,
    /// A try without one deadline.
    NoDeadline,
    /// A try without its draw.
    NoDraw,
    /// A try is closed that did not begin.
    NotBegun,
    /// No job of this name.
    NoJob(String),
    /// A sweep where nothing rests.
    NothingRests,
    /// A call of a shoot that nobody saw.
    NoShoot,
    /// An answer that is not in the key.
    NoAnswer,
    /// A job that is not usual.
    NotUsual,
    /// One phone disagrees with itself.
    OnePhone,
}
