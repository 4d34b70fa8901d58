//! Why something was refused, said so that one knows what to do. Each is a clause, which stands alone as a sentence
//! ([`refused`]) or within another ([`clause`]).

use bloomdue_core::{
    calendar::day_written,
    error::{Error, Refusal},
    limits::{self, Limit, Limited},
    plan::{MOST_BULBS, MOST_REST_WEEKS, Refusal as PlanRefusal, spend::MOST_SEASONS},
    refusal::{
        BulbRefusal, Clock, DateRefusal, ForecastRefusal, Gone, JobRefusal, Missing, NumberRefusal, RecordRefusal,
        ScriptRefusal, StoredRefusal, TagRefusal, TryRefusal,
    },
    units::LengthUnit,
};

use crate::common::sentence;
use crate::formats::{self, about};
use crate::measure;

/// The sentence of an error.
pub fn refused(error: &Error) -> String {
    sentence(&clause(&error.refusal))
}

/// The clause of a refusal: lower case, without a stop, what was expected and what to do.
pub fn clause(why: &Refusal) -> String {
    match why {
        Refusal::OutOfBounds { limit, value } => out_of_bounds(limit, *value),
        Refusal::OfOne { name, why } => format!("at {name}: {}", clause(why)),
        Refusal::Missing(what) => missing(what),
        Refusal::Date(why) => date(why),
        Refusal::Number(why) => number(why),
        Refusal::Tag(why) => tag(why),
        Refusal::Bulb(why) => bulb(why),
        Refusal::Record(why) => record(why).to_owned(),
        Refusal::Job(why) => job(why),
        Refusal::Try(why) => of_try(why),
        Refusal::Forecast(why) => forecast(*why).to_owned(),
        Refusal::Plan(why) => plan(*why),
        Refusal::Sight(why) => measure::no_number(*why).to_owned(),
        Refusal::Stored(why) => stored(why),
        Refusal::Script(why) => script(why),
    }
}

/// In the unit in which the field asks for it.
fn out_of_bounds(limit: &Limit, value: i64) -> String {
    let Bound { name, unit, reason } = limited(limit.of);
    let shown = |n: i64| match limit.of {
        Limited::Circumference | Limited::Height | Limited::Neck | Limited::Leaf | Limited::Container => {
            formats::length_number(n)
        }
        Limited::Temperature => formats::temperature_number(n),
        Limited::Latitude => formats::tenths_short(n),
        _ => formats::whole(n),
    };
    let (min, max, value) = (shown(limit.min), shown(limit.max), shown(value));
    let space = if unit.is_empty() { "" } else { " " };
    format!("{name} must be from {min} to {max}{space}{unit}, not {value}: {reason}")
}

/// What is limited, the unit in which a field asks for it, and why.
struct Bound {
    name: &'static str,
    unit: &'static str,
    reason: String,
}

fn limited(of: Limited) -> Bound {
    let (name, unit, reason) = match of {
        Limited::Circumference => {
            let reason =
                format!("seedlings start near {} and the largest bulbs sold are below {}", about(20), about(600));
            return Bound { name: "circumference", unit: formats::length_unit(), reason };
        }
        Limited::Height => {
            let reason = format!("no stalk of a potted bulb stands taller than {}", about(1500));
            return Bound { name: "height", unit: formats::length_unit(), reason };
        }
        Limited::Neck => {
            let reason = format!("a neck longer than {} is a leaf or a slip of the finger", half_a_metre());
            return Bound { name: "neck length", unit: formats::length_unit(), reason };
        }
        Limited::Leaf => {
            let reason = format!("no leaf of a potted bulb is longer than {}", about(1500));
            return Bound { name: "leaf length", unit: formats::length_unit(), reason };
        }
        Limited::Weight => ("weight", "g", "a bulb of more than 5 kg is a whole pot on the scales"),
        Limited::Temperature => {
            let [coldest, hottest] = [-300, 600].map(formats::temperature_number);
            let reason = format!(
                "colder than {coldest} or hotter than {hottest} degrees is a broken sensor or a missing decimal point"
            );
            return Bound { name: "temperature", unit: formats::temperature_unit(), reason };
        }
        Limited::Humidity => ("relative humidity", "%", "relative humidity is a share of what the air can hold"),
        Limited::Ppfd => (
            "light (PPFD)",
            "µmol per m² and second",
            "full sun at noon is near 2000, with bright clouds a little more",
        ),
        Limited::Lux => ("light (lux)", "lux", "full sun at noon is near 120000 lux"),
        Limited::Passes => ("share of light", "permille", "no place has more than twice the light of the open"),
        Limited::MixParts => ("parts", "", "a mix has whole parts, from 1 to 1000"),
        Limited::MixThings => ("things in a mix", "", "a mix is made of up to 12 things"),
        Limited::Bag => ("litres in a bag", "litres", "a bag or load holds from 1 to 3000 litres"),
        Limited::LitreWeight => ("weight of a litre", "g", "a litre of wet sand weighs about 2000 g"),
        Limited::Settles => {
            ("settling", "permille", "a mix that loses more than 600 permille is not filled loosely but foamed up")
        }
        Limited::Pots => ("number of pots", "", "more than 10000 pots are filled in several goes"),
        Limited::Leaves => {
            ("number of leaves", "", "a single bulb carries fewer than 40 leaves; count offsets on their own")
        }
        Limited::Scapes => ("number of stalks", "", "a single bulb sends up fewer than 10 stalks in a cycle"),
        Limited::Florets => ("number of florets", "", "an umbel of a potted bulb holds fewer than 60 florets"),
        Limited::Shade => ("shade", "%", "shade is the share of the light that is kept out"),
        Limited::Latitude => ("latitude", "degrees", "a latitude is from 90 degrees south to 90 degrees north"),
        Limited::BulbsAtOnce => {
            ("number of bulbs in one go", "", "one entry names at most 400 bulbs; add the rest in a second go")
        }
        Limited::About => {
            ("number of subjects", "", "one entry names at most 400 subjects; record the rest in a second entry")
        }
        Limited::Line => {
            ("length of a record", "bytes", "a record fits into 32 KB so that any phone can read it at once")
        }
        Limited::Name => {
            ("length of a name", "characters", "a longer name fits on no label and no screen; put the rest into a note")
        }
        Limited::Groups => {
            ("number of groups", "", "with more groups each has too few bulbs to be told from any other")
        }
        Limited::Note => ("length of a note", "bytes", "a note fits on a phone's screen or two; split a longer one"),
        Limited::Container => {
            let reason = format!("a container for bulbs is wider than {} and narrower than {}", about(20), about(3000));
            return Bound { name: "inner width", unit: formats::length_unit(), reason };
        }
        Limited::Photos => {
            ("number of photos", "", "twelve photos show one bulb from all sides; put more into another record")
        }
        Limited::Entries => ("number of records", "", "four times the largest season this program is measured with"),
        Limited::Attachment => {
            ("size of a photo", "bytes", "a photo made smaller by this program has less than a megabyte")
        }
        Limited::Attachments => ("number of photos", "", "more photos than any phone has room for"),
        Limited::Rest => ("days of rest", "days", "a rest of more than 400 days loses the bulb"),
        Limited::LookInterval => ("days between looks", "days", "looks more than 60 days apart cannot date a stage"),
        Limited::JobAfter => ("days until the job", "days", "a job more than 400 days away belongs to another cycle"),
        Limited::JobEvery => {
            ("days until it comes again", "days", "a job comes again after a day at least and a year at most")
        }
        Limited::JobTolerance => ("days early or late", "days", "a job that may be more than 60 days late is none"),
        Limited::Year => ("year", "", "earlier or later years are slips of the finger"),
    };
    Bound { name, unit, reason: reason.to_owned() }
}

fn half_a_metre() -> String {
    match formats::units().length {
        LengthUnit::Centimetres => "half a metre".to_owned(),
        LengthUnit::InchFractions | LengthUnit::InchDecimals => about(500),
    }
}

fn missing(what: &Missing) -> String {
    let clause = match what {
        Missing::NurseryName => "give the nursery a name",
        Missing::OwnInitials => "give the initials that stand beside your records",
        Missing::Initials => "give the initials",
        Missing::BulbName => "give it a name",
        Missing::PlaceName => "give the place a name",
        Missing::LotName => "give the lot a name",
        Missing::NewLotName => "give the lot a name, such as the cultivar and the year",
        Missing::ContainerName => "give the container a name or number",
        Missing::GroupName => "give every group a name",
        Missing::Question => "write the question that the trial is to answer",
        Missing::ReasonToDraw => "say why lots are drawn again; it stands beside the result",
        Missing::Light => "type the reading",
        Missing::Climate => "type the temperature, the humidity or both",
        Missing::Note => "write the note first",
        Missing::RecipeName => "give the mix a name",
        Missing::MixParts => "say what the mix is made of, and how many parts of each",
        Missing::Findings => "say at least one thing that you found",
        Missing::Measured => "type the number that was measured",
        Missing::Leaves => "type how many leaves there are",
        Missing::Shoots => "list the shoots that were seen, or say that the neck is clear",
        Missing::Bulb => "choose at least one bulb",
        Missing::TwoBulbs => "choose at least two bulbs",
        Missing::BulbOfAnotherLot => "choose at least one bulb that is of another lot",
        Missing::MovedTo => "say where they were moved to",
        Missing::Place => "choose the place where they stand",
        Missing::Container => "choose the container",
        Missing::LotOf(label) => return format!("say of which lot {label} is first, on its page"),
        Missing::Counts => "give the counts of every group",
        Missing::GroupSizes => "say how many bulbs each group gets",
        Missing::Groups => "give every chosen bulb one of the groups",
        Missing::Act => "choose what is to be done",
        Missing::JobWords => "write what the job is",
        Missing::Day => "choose the day",
        Missing::AfterAct => "choose the act it comes after",
        Missing::Stage => "choose the stage it waits for",
        Missing::PlannedBulbs => "tick the bulbs that it is for; without them nothing is ever due",
        Missing::StartedBulbs => "tick the bulbs that are to be started; a number alone makes nothing due",
    };
    clause.to_owned()
}

fn date(why: &DateRefusal) -> String {
    let (min, max) = (limits::YEAR.min, limits::YEAR.max);
    let of = |clock: Clock| match clock {
        Clock::TimeOfDay => "time of day",
        Clock::FromUtc => "distance from UTC",
    };
    match why {
        DateRefusal::OutOfYears { from, days } => {
            format!("{days} days from {from} is outside the years {min} to {max}; choose a nearer date")
        }
        DateRefusal::NoDate(text) => {
            format!("expected a date written year-month-day like 2027-03-14, not “{text}”")
        }
        DateRefusal::NoMonth(month) => {
            format!("there is no month {month}; put a month from 01 to 12 after the year")
        }
        DateRefusal::NoDay { year, month, day, last } => {
            format!("there is no day {day} in {year}-{month:02}; put a day from 01 to {last}")
        }
        DateRefusal::NoClock(clock, text) => {
            format!("expected the {} as hours and minutes like 18:20, not “{text}”", of(*clock))
        }
        DateRefusal::NoHour(clock, hour) => {
            format!("there is no hour {hour:02} in the {}; put an hour from 00 to 23", of(*clock))
        }
        DateRefusal::NoMinute(clock, minute) => {
            format!("there is no minute {minute:02} in the {}; put a minute from 00 to 59", of(*clock))
        }
        DateRefusal::NoTime(text) => {
            format!("expected a time with its distance from UTC like T18:20+02:00 after the date, not “T{text}”")
        }
        DateRefusal::MinusNothing => "a distance of nothing from UTC is written +00:00, not -00:00".to_owned(),
        DateRefusal::NoEaster(year) => {
            format!("expected a year from 1583 to 9999 for Easter, not {year}; choose a year of the Gregorian calendar")
        }
        DateRefusal::NotYet(day) => format!("{day} has not come yet; choose today or an earlier day"),
        DateRefusal::StartsNotYet(day) => format!("{day} has not come yet; start it on the day"),
        DateRefusal::WindowBackwards => "the window ends before it begins; swap the days".to_owned(),
        DateRefusal::ClockOutside(ms) => format!(
            "not saved: this device's clock says {}, and records know only the years {min} to {max}; set the device's \
             date, then save again",
            day_written(*ms).unwrap_or_else(|| "a day beyond any year".to_owned())
        ),
        DateRefusal::ClockBeyond => "this device's clock is beyond any year; set its date".to_owned(),
    }
}

fn number(why: &NumberRefusal) -> String {
    match why {
        NumberRefusal::NoTenths(typed) => {
            format!(
                "'{typed}' is not a number with at most one decimal; type digits, such as 28 or {}",
                formats::tenths(275)
            )
        }
        NumberRefusal::NoInches(typed) => {
            format!("'{typed}' is no length in inches; type it such as 10 1/2 or {}", formats::tenths(105))
        }
        NumberRefusal::NotWhole(typed) => format!("'{typed}' is not a whole number; type digits only"),
        NumberRefusal::RangeBackwards => "the upper end of the range is below the lower; swap them".to_owned(),
        NumberRefusal::NoChance => "a chance is not between 0 and 1".to_owned(),
        NumberRefusal::NoLatitude => "a latitude is from -90 (south pole) to 90 degrees (north pole)".to_owned(),
    }
}

fn tag(why: &TagRefusal) -> String {
    match why {
        TagRefusal::Symbol(symbol) => {
            format!("tags have digits and letters without I, L, O and U, not “{symbol}”; look at the label again")
        }
        TagRefusal::Length { least, most, length, is_body } => {
            let what = if *is_body { "the body of a tag" } else { "a tag" };
            format!("{what} has {least} to {most} symbols, not {length}; type all that stands on the label and no more")
        }
        TagRefusal::Check(typed) => {
            format!("{typed} is not a tag: one symbol is wrong or two are swapped; compare it with the label")
        }
        TagRefusal::Taken(tag) => {
            format!("another bulb carries the tag {tag}; give this one a tag of its own")
        }
        TagRefusal::NoneFree(length) => {
            format!("nearly all tags of {length} symbols are taken; make the new tags one symbol longer")
        }
    }
}

fn bulb(why: &BulbRefusal) -> String {
    match why {
        BulbRefusal::NotHere => "that bulb is not in these records".to_owned(),
        BulbRefusal::NoSuchLot => "that lot is not in these records".to_owned(),
        BulbRefusal::Gone { label, how, on } => {
            let (what, when) = match how {
                Gone::Died => ("died", "if that was a mistake"),
                Gone::Left => ("left", "if that was a mistake"),
                Gone::Missing => ("was reported missing", "when it is found"),
            };
            format!("{label} {what} on {on}; choose an earlier day, or take that record back {when}")
        }
        BulbRefusal::InTry(label, question) => {
            format!("{label} is in the try \"{question}\"; record what became of it instead, such as withdrawn")
        }
        BulbRefusal::OfThisLot(1) => "1 bulb is of this lot; give it another lot first".to_owned(),
        BulbRefusal::OfThisLot(n) => format!("{n} bulbs are of this lot; give them another lot first"),
        BulbRefusal::StandHere(1) => "1 bulb stands here; move it first".to_owned(),
        BulbRefusal::StandHere(n) => format!("{n} bulbs stand here; move them first"),
        BulbRefusal::NotTakenOut => "only bulbs, lots and places are taken out".to_owned(),
        BulbRefusal::OneNameForSeveral => "one name is not for several bulbs; name them on their pages".to_owned(),
        BulbRefusal::Sizes(n, all) => {
            format!("{n} sizes were typed for {all} bulbs; type one for each, or a range")
        }
        BulbRefusal::Names(n, all) => format!("{n} names were typed for {all} bulbs; type one a line, or none"),
        BulbRefusal::TwoCalled(name) => format!("two bulbs are called {name}; give each its own name"),
        BulbRefusal::Room(room, all) => {
            format!("the containers take {room} bulbs and there are {all}; make them fit")
        }
        BulbRefusal::ContainerExists(name) => {
            format!("there is a container {name} already; choose it, or give this one another name")
        }
        BulbRefusal::Itself => "a bulb cannot be joined to itself; choose the other one".to_owned(),
        BulbRefusal::OneAlready => "they are one bulb already".to_owned(),
        BulbRefusal::SameShoot => "that is the same shoot; choose the other one".to_owned(),
        BulbRefusal::InTwoGroups(sides, question) => {
            let [(one, first), (other, second)] = &**sides;
            format!(
                "{one} is in the group “{first}” and {other} in “{second}” of one try ({question}); one bulb is in one group only, so they stay two"
            )
        }
        BulbRefusal::InTwoTries(sides) => {
            let [(one, first), (other, second)] = &**sides;
            format!(
                "{one} is in a running try ({first}) and {other} in another ({second}); a bulb is in one running try only, so close one of them first"
            )
        }
        BulbRefusal::ClearWithShoots => "a clear neck has no shoots; choose one of the two".to_owned(),
        BulbRefusal::NoAnswer(answer, question) => {
            format!("“{answer}” is no answer to the question about {question}; answer it again")
        }
    }
}

const fn record(why: &RecordRefusal) -> &'static str {
    match why {
        RecordRefusal::Unchanged => "nothing was changed",
        RecordRefusal::Nothing => "there is nothing to save; tap what was seen or done",
        RecordRefusal::NothingToTakeBack => "there is nothing to take back",
        RecordRefusal::NothingToKeep => "there is nothing to keep, or it was kept today",
        RecordRefusal::StandsAlready => "that is how it stands already",
        RecordRefusal::NotHere => "that record is not here",
        RecordRefusal::Replaced => "that record was already put right or taken back; look at it again",
        RecordRefusal::NoLongerStands => "that record no longer stands; look at the list again",
        RecordRefusal::ValueNoLongerStands => "that value no longer stands; look at the list again",
        RecordRefusal::NoLongerContrary => "those records no longer contradict each other; look at the list again",
        RecordRefusal::OtherKind => "a record can only be put right by one of its own kind; take it back instead",
        RecordRefusal::NoRegister => "this is not something with one value at a time",
        RecordRefusal::NoObservation => "this is not something that was seen",
        RecordRefusal::NoLink => "this does not join two things",
        RecordRefusal::OwnLedger => "these are records of this nursery already",
        RecordRefusal::Demo => "these are records of the demo; they are never taken into a nursery",
    }
}

fn job(why: &JobRefusal) -> String {
    let clause = match why {
        JobRefusal::TooLoose { every_days, tolerance_days } => {
            return format!(
                "a job that comes every {every_days} days cannot be {tolerance_days} days early or late; make that shorter than the repeat"
            );
        }
        JobRefusal::NotPlanned => "that cannot be planned as a job; choose another",
        JobRefusal::WaitsForItself => "a job cannot wait for itself; choose another act or a day of the calendar",
        JobRefusal::EndsRestInRest => {
            "this ends a rest, so it cannot come again and again during one; choose growth, or damp the base instead"
        }
        JobRefusal::Never => {
            "it is counted from the end of the rest and told only during it, so it never comes; choose growth or always"
        }
    };
    clause.to_owned()
}

fn of_try(why: &TryRefusal) -> String {
    let clause = match why {
        TryRefusal::NoSuchTry => "that try is not in these records",
        TryRefusal::NoSuchPlan => "that plan is not in these records",
        TryRefusal::NoPlan => "this is no plan",
        TryRefusal::BulbNotHere => "one of the chosen bulbs is not in these records",
        TryRefusal::ChosenTwice(name) => return format!("{name} is chosen twice"),
        TryRefusal::InRunningTry(label, question) => {
            return format!("{label} is already in a running try ({question}); leave it out, or close that try first");
        }
        TryRefusal::DueByTry(name) => {
            return format!(
                "{name} is in a running try, which says itself what is due; leave it out, or close that try first"
            );
        }
        TryRefusal::InAnotherPlan(name) => {
            return format!("{name} is in another plan; leave it out, or give that plan up first");
        }
        TryRefusal::BulbsAndContainers => "choose either bulbs or containers, as the rule counts",
        TryRefusal::EndsBeforeStart => "the last day that counts is not after the start; choose a later day",
        TryRefusal::FinishedTooSoon => {
            "only a try from a notebook is finished from the start, on its first day or later"
        }
        TryRefusal::QuestionOpen => {
            "the question of this trial is not settled; choose which of its versions stands first"
        }
        TryRefusal::OneGroup => "a trial compares at least two groups; add one",
        TryRefusal::TwoGroupsCalled(name) => {
            return format!("two groups are called {name}; give each its own name");
        }
        TryRefusal::EmptyGroup => "one of the groups has no bulb; give it some or leave the group out",
        TryRefusal::CountsOnly => "counts by group have no bulbs to place",
        TryRefusal::Started => "this try has already started",
        TryRefusal::GroupsStay => "this try has started; its groups stay as they were drawn",
        TryRefusal::GroupsOpen => "it is not settled who is in which group; choose which of the two draws stands first",
        TryRefusal::TwoDraws => "choose which of the two draws stands first",
        TryRefusal::NotDrawn => "these groups were not drawn",
        TryRefusal::NotRunning => "this try is not running",
        TryRefusal::StartedOn(day) => {
            return format!("this try started on {day}; choose that day or a later one");
        }
        TryRefusal::NothingToDraw => "there is nothing to draw between fewer than two groups; add a group",
        TryRefusal::MoreGroupsThanBulbs(groups, bulbs) => {
            return format!(
                "{groups} groups need at least {groups} bulbs, and there are {bulbs}; add bulbs or take away a group"
            );
        }
        TryRefusal::NoPlace(group) => {
            return format!("group {group} has no place; give it at least one or take it away");
        }
        TryRefusal::Places(places, bulbs) => {
            return format!("the groups have {places} places for {bulbs} bulbs; make both numbers the same");
        }
        TryRefusal::TwiceInList => "one bulb stands twice in the list; take it out once",
        TryRefusal::ShortClass(length, groups) => {
            return format!("a class of {length} cannot hold one bulb of each of {groups} groups; make it longer");
        }
        TryRefusal::NoRatio => "a ratio has at least two parts, none of them 0; write it like 2 to 1",
        TryRefusal::BlockNotOfRatio(length, parts) => {
            return format!("a block of {length} does not hold the ratio in whole bulbs; choose a multiple of {parts}");
        }
        TryRefusal::NoLevel(factor) => {
            return format!("{factor}: a factor has at least one level; name what differs");
        }
        TryRefusal::UnknownLevel(factor) => {
            return format!("{factor}: a group has a level that was not declared; add the level or change the group");
        }
    };
    clause.to_owned()
}

const fn forecast(why: ForecastRefusal) -> &'static str {
    match why {
        ForecastRefusal::Backwards => "the last day is before the first; swap them",
        ForecastRefusal::Over => "these days are over; choose days from today on, or look at the result",
        ForecastRefusal::TooFar => "a forecast does not reach further than a year; choose a nearer day",
    }
}

/// Why there is no plan.
pub fn plan(why: PlanRefusal) -> String {
    match why {
        PlanRefusal::WindowInThePast => "the due window is over; choose days to come".to_owned(),
        PlanRefusal::WindowBackwards => "the due window ends before it begins; change one of its days".to_owned(),
        PlanRefusal::TooFarAhead => "the due window is more than three years ahead; choose a nearer one".to_owned(),
        PlanRefusal::NothingWanted => "say how many are wanted, one at least".to_owned(),
        PlanRefusal::NoBulbs => "no bulb is chosen to start; tick some, add bulbs, or type only a number".to_owned(),
        PlanRefusal::MoreThanAtHand { wanted, at_hand } => {
            let are = if at_hand == 1 { "is" } else { "are" };
            format!("{wanted} are wanted and {at_hand} {are} at hand; want fewer, or start more bulbs")
        }
        PlanRefusal::TooManyBulbs => format!("a plan is made for at most {MOST_BULBS} bulbs; split them"),
        PlanRefusal::RestTooLong => {
            format!("a rest is at most {MOST_REST_WEEKS} weeks; nothing longer is published")
        }
        PlanRefusal::NotAnAssurance => "how sure has to be from 5 in 10 to 99 in 100".to_owned(),
        PlanRefusal::NotSoManyLots => "bulbs are brought on in 1 to 6 lots".to_owned(),
        PlanRefusal::OneBulb => "one bulb can't be both crop and try; choose two at least".to_owned(),
        PlanRefusal::OneTreatment => "there is only one way to treat the bulbs; think of another first".to_owned(),
        PlanRefusal::NoSeasons => "say how many seasons to think of, one at least".to_owned(),
        PlanRefusal::TooManySeasons => format!("think of at most {MOST_SEASONS} seasons; more can't be foreseen"),
    }
}

fn stored(why: &StoredRefusal) -> String {
    let clause = match why {
        StoredRefusal::Json { path, detail } if path.is_empty() => detail,
        StoredRefusal::Json { path, detail } => return format!("{path}: {detail}"),
        StoredRefusal::NotText => "expected text",
        StoredRefusal::NotRecordable(why) => {
            return format!("this cannot be recorded ({})", clause(&why.refusal));
        }
        StoredRefusal::NoRecord(why) => return format!("this is not a record ({})", clause(&why.refusal)),
        StoredRefusal::NoPhoto => "this is not a photo of a file of records",
        StoredRefusal::NoLineNumber(line) => return format!("{line} is no line number; lines count from 1"),
        StoredRefusal::NotAscii(text) => return format!("'{text}' is not plain ASCII"),
        StoredRefusal::NoId(text) => return format!("'{text}' is not the name of anything in a ledger"),
        StoredRefusal::NoEntryId(text) => return format!("'{text}' is not the id of a record"),
        StoredRefusal::NoHash(text) => return format!("'{text}' is not the SHA-256 of a photo"),
        StoredRefusal::NoWord { word, known } => return format!("'{word}' is none of: {known}"),
        StoredRefusal::EmptyValue => "a record holds no empty values (leave the key out)",
        StoredRefusal::NoWholeNumber(number) => {
            return format!("{number} is not a whole number that a record can hold");
        }
        StoredRefusal::KeyNotAscii(key) => return format!("the key '{key}' is not plain ASCII"),
        StoredRefusal::NotNormalised => "text in a record has to be in Unicode normalisation form C",
        StoredRefusal::GarbledLine => "this line is garbled",
        StoredRefusal::GarbledFormat => "the file's format is garbled",
        StoredRefusal::OtherNursery(id) => return format!("record {id} is of another nursery"),
        StoredRefusal::RowOfAnother => "this row is of another nursery",
        StoredRefusal::NoArrival => "this row's key is no number of arrival",
        StoredRefusal::RowCutOff => "this row was cut off",
        StoredRefusal::RowLacks(missing, n) => {
            return format!("this row was cut off: {missing} of {n} records are not in it");
        }
        StoredRefusal::RowTooLong => "there is more in this row than it says",
        StoredRefusal::RecordNotText(id) => return format!("record {id} is garbled (not text)"),
        StoredRefusal::RecordUnread(id, why) => {
            return format!("record {id} cannot be read ({})", clause(&why.refusal));
        }
        StoredRefusal::Lost(n) => {
            return format!("{n} records that were kept here are gone; take in a file that has them");
        }
        StoredRefusal::GarbledRow(why) => {
            return format!("the storage's own row is garbled ({})", clause(&why.refusal));
        }
        StoredRefusal::NoFormat => "the storage's own row has no format",
        StoredRefusal::NewerVersion => "a newer version of the program was used here; open that one",
        StoredRefusal::NotApart(why) => {
            return format!(
                "what the file brought cannot be told from what was there before: {}",
                clause(&why.refusal)
            );
        }
    };
    clause.to_owned()
}

fn script(why: &ScriptRefusal) -> String {
    let clause = match why {
        ScriptRefusal::NoScript(why) => {
            return format!("this is no script of a demo ({})", clause(&why.refusal));
        }
        ScriptRefusal::NoPerson => "the script names a person or a phone that it does not have",
        ScriptRefusal::NoPlace(name) => return format!("the script has no place called {name}"),
        ScriptRefusal::MoreLives => "the script has more lives than bulbs",
        ScriptRefusal::NoOffset => "the script's lot has no such offset",
        ScriptRefusal::NoQuestion => "the script's try lacks a ready question",
        ScriptRefusal::NoLot => "the script's try lacks its lot",
        ScriptRefusal::NoDeadline => "the script's try lacks one deadline",
        ScriptRefusal::NoDraw => "the script's try lacks its draw",
        ScriptRefusal::NotBegun => "the script closes a try that did not begin",
        ScriptRefusal::NoJob(name) => return format!("the script has a job {name}"),
        ScriptRefusal::NothingRests => "the script sweeps where nothing rests",
        ScriptRefusal::NoShoot => "the script calls a shoot that nobody saw",
        ScriptRefusal::NoAnswer => "the script has an answer that is not in the key",
        ScriptRefusal::NotUsual => "the script takes a job that is not usual",
        ScriptRefusal::OnePhone => "one phone cannot disagree with itself",
    };
    clause.to_owned()
}

#[cfg(test)]
mod tests {
    use bloomdue_core::{
        calendar::Date,
        error::Field,
        evidence::{NoAnswer, Reason},
        ledger::id::EntryId,
    };

    use super::*;

    fn day() -> Date {
        Date::new(2027, 1, 6).unwrap()
    }

    fn text(text: &str) -> String {
        text.to_owned()
    }

    fn out_of(limit: &'static Limit, value: i64) -> Refusal {
        Refusal::OutOfBounds { limit, value }
    }

    fn json(path: &str) -> Box<Error> {
        Box::new(Error::new(StoredRefusal::Json { path: text(path), detail: text("invalid type") }))
    }

    /// Refusals that say something of what they are told, with their clauses.
    fn told() -> Vec<(Refusal, &'static str)> {
        let gone = |how| BulbRefusal::Gone { label: text("one"), how, on: day() }.into();
        let sides = |a: &str, b: &str| Box::new([(text("one"), text(a)), (text("two"), text(b))]);
        let id = EntryId::of(b"");
        let at_two = Refusal::OfOne { name: text("two"), why: Box::new(out_of(&limits::HEIGHT_MM, 14_000)) };
        vec![
            (
                out_of(&limits::WEIGHT_G, 0),
                "weight must be from 1 to 5000 g, not 0: a bulb of more than 5 kg is a whole pot on the scales",
            ),
            (
                out_of(&limits::SCAPES, 11),
                "number of stalks must be from 0 to 10, not 11: a single bulb sends up fewer than 10 stalks in a cycle",
            ),
            (
                out_of(&limits::CIRCUMFERENCE_MM, 6005),
                "circumference must be from 2 to 60 cm, not 600.5: seedlings start near 2 cm and the largest bulbs sold are below 60 cm",
            ),
            (
                out_of(&limits::TEMPERATURE_DC, -305),
                "temperature must be from -30 to 60 °C, not -30.5: colder than -30 or hotter than 60 degrees is a broken sensor or a missing decimal point",
            ),
            (
                at_two,
                "at two: height must be from 0 to 150 cm, not 1400: no stalk of a potted bulb stands taller than 1.5 m",
            ),
            (Missing::LotOf(text("one")).into(), "say of which lot one is first, on its page"),
            (
                DateRefusal::OutOfYears { from: day(), days: 90_000 }.into(),
                "90000 days from 2027-01-06 is outside the years 1990 to 2199; choose a nearer date",
            ),
            (
                DateRefusal::NoDate(text("14.3.2027")).into(),
                "expected a date written year-month-day like 2027-03-14, not “14.3.2027”",
            ),
            (
                NumberRefusal::NoInches(text("4 1/3")).into(),
                "'4 1/3' is no length in inches; type it such as 10 1/2 or 10.5",
            ),
            (DateRefusal::NoMonth(13).into(), "there is no month 13; put a month from 01 to 12 after the year"),
            (
                DateRefusal::NoDay { year: 2027, month: 2, day: 29, last: 28 }.into(),
                "there is no day 29 in 2027-02; put a day from 01 to 28",
            ),
            (
                DateRefusal::NoClock(Clock::FromUtc, text("x")).into(),
                "expected the distance from UTC as hours and minutes like 18:20, not “x”",
            ),
            (
                DateRefusal::NoHour(Clock::TimeOfDay, 24).into(),
                "there is no hour 24 in the time of day; put an hour from 00 to 23",
            ),
            (
                DateRefusal::NoMinute(Clock::TimeOfDay, 60).into(),
                "there is no minute 60 in the time of day; put a minute from 00 to 59",
            ),
            (
                DateRefusal::NoTime(text("18")).into(),
                "expected a time with its distance from UTC like T18:20+02:00 after the date, not “T18”",
            ),
            (
                DateRefusal::NoEaster(1582).into(),
                "expected a year from 1583 to 9999 for Easter, not 1582; choose a year of the Gregorian calendar",
            ),
            (DateRefusal::NotYet(day()).into(), "2027-01-06 has not come yet; choose today or an earlier day"),
            (DateRefusal::StartsNotYet(day()).into(), "2027-01-06 has not come yet; start it on the day"),
            (
                DateRefusal::ClockOutside(0).into(),
                "not saved: this device's clock says 1970-01-01, and records know only the years 1990 to 2199; set the device's date, then save again",
            ),
            (
                DateRefusal::ClockOutside(u64::MAX).into(),
                "not saved: this device's clock says a day beyond any year, and records know only the years 1990 to 2199; set the device's date, then save again",
            ),
            (
                NumberRefusal::NoTenths(text("1e3")).into(),
                "'1e3' is not a number with at most one decimal; type digits, such as 28 or 27.5",
            ),
            (NumberRefusal::NotWhole(text("a")).into(), "'a' is not a whole number; type digits only"),
            (
                TagRefusal::Symbol('U').into(),
                "tags have digits and letters without I, L, O and U, not “U”; look at the label again",
            ),
            (
                TagRefusal::Length { least: 2, most: 13, length: 1, is_body: false }.into(),
                "a tag has 2 to 13 symbols, not 1; type all that stands on the label and no more",
            ),
            (
                TagRefusal::Check(text("19GRYM")).into(),
                "19GRYM is not a tag: one symbol is wrong or two are swapped; compare it with the label",
            ),
            (
                TagRefusal::Taken(text("19G RYN")).into(),
                "another bulb carries the tag 19G RYN; give this one a tag of its own",
            ),
            (
                TagRefusal::NoneFree(5).into(),
                "nearly all tags of 5 symbols are taken; make the new tags one symbol longer",
            ),
            (
                gone(Gone::Died),
                "one died on 2027-01-06; choose an earlier day, or take that record back if that was a mistake",
            ),
            (
                gone(Gone::Left),
                "one left on 2027-01-06; choose an earlier day, or take that record back if that was a mistake",
            ),
            (
                gone(Gone::Missing),
                "one was reported missing on 2027-01-06; choose an earlier day, or take that record back when it is found",
            ),
            (
                BulbRefusal::InTry(text("one"), text("which?")).into(),
                "one is in the try \"which?\"; record what became of it instead, such as withdrawn",
            ),
            (BulbRefusal::OfThisLot(1).into(), "1 bulb is of this lot; give it another lot first"),
            (BulbRefusal::OfThisLot(3).into(), "3 bulbs are of this lot; give them another lot first"),
            (BulbRefusal::StandHere(1).into(), "1 bulb stands here; move it first"),
            (BulbRefusal::StandHere(3).into(), "3 bulbs stand here; move them first"),
            (BulbRefusal::Sizes(2, 3).into(), "2 sizes were typed for 3 bulbs; type one for each, or a range"),
            (BulbRefusal::Names(2, 3).into(), "2 names were typed for 3 bulbs; type one a line, or none"),
            (BulbRefusal::TwoCalled(text("anna")).into(), "two bulbs are called anna; give each its own name"),
            (BulbRefusal::Room(2, 3).into(), "the containers take 2 bulbs and there are 3; make them fit"),
            (
                BulbRefusal::ContainerExists(text("T1")).into(),
                "there is a container T1 already; choose it, or give this one another name",
            ),
            (
                BulbRefusal::InTwoGroups(sides("Four", "Six"), text("which?")).into(),
                "one is in the group “Four” and two in “Six” of one try (which?); one bulb is in one group only, so they stay two",
            ),
            (
                BulbRefusal::InTwoTries(sides("which?", "when?")).into(),
                "one is in a running try (which?) and two in another (when?); a bulb is in one running try only, so close one of them first",
            ),
            (
                BulbRefusal::NoAnswer("thick", "rise").into(),
                "“thick” is no answer to the question about rise; answer it again",
            ),
            (
                JobRefusal::TooLoose { every_days: 3, tolerance_days: 5 }.into(),
                "a job that comes every 3 days cannot be 5 days early or late; make that shorter than the repeat",
            ),
            (TryRefusal::ChosenTwice(text("one")).into(), "one is chosen twice"),
            (
                TryRefusal::InRunningTry(text("two"), text("which is better")).into(),
                "two is already in a running try (which is better); leave it out, or close that try first",
            ),
            (
                TryRefusal::DueByTry(text("two")).into(),
                "two is in a running try, which says itself what is due; leave it out, or close that try first",
            ),
            (
                TryRefusal::InAnotherPlan(text("two")).into(),
                "two is in another plan; leave it out, or give that plan up first",
            ),
            (TryRefusal::TwoGroupsCalled(text("a")).into(), "two groups are called a; give each its own name"),
            (TryRefusal::StartedOn(day()).into(), "this try started on 2027-01-06; choose that day or a later one"),
            (
                TryRefusal::MoreGroupsThanBulbs(2, 1).into(),
                "2 groups need at least 2 bulbs, and there are 1; add bulbs or take away a group",
            ),
            (TryRefusal::NoPlace(2).into(), "group 2 has no place; give it at least one or take it away"),
            (TryRefusal::Places(5, 4).into(), "the groups have 5 places for 4 bulbs; make both numbers the same"),
            (
                TryRefusal::ShortClass(1, 2).into(),
                "a class of 1 cannot hold one bulb of each of 2 groups; make it longer",
            ),
            (
                TryRefusal::BlockNotOfRatio(5, 2).into(),
                "a block of 5 does not hold the ratio in whole bulbs; choose a multiple of 2",
            ),
            (
                TryRefusal::UnknownLevel(text("place")).into(),
                "place: a group has a level that was not declared; add the level or change the group",
            ),
            (
                PlanRefusal::MoreThanAtHand { wanted: 121, at_hand: 120 }.into(),
                "121 are wanted and 120 are at hand; want fewer, or start more bulbs",
            ),
            (StoredRefusal::NoRecord(json("body.mm")).into(), "this is not a record (body.mm: invalid type)"),
            (StoredRefusal::GarbledRow(json("")).into(), "the storage's own row is garbled (invalid type)"),
            (
                StoredRefusal::RecordNotText(id).into(),
                "record el4jcrg7mmt3ota6ed3w4ookdvbfqgmlzahscwwnnaxcl2mf7bt3a is garbled (not text)",
            ),
            (StoredRefusal::RowLacks(2, 5).into(), "this row was cut off: 2 of 5 records are not in it"),
            (StoredRefusal::Lost(7).into(), "7 records that were kept here are gone; take in a file that has them"),
        ]
    }

    #[test]
    fn what_is_refused_is_said_with_its_bounds_names_and_remedy() {
        for (why, said) in told() {
            assert_eq!(clause(&why), said, "{why:?}");
        }
    }

    #[test]
    fn every_limit_says_its_ends_in_the_unit_of_the_field_and_why() {
        for limit in limits::ALL {
            let Bound { name, unit, reason } = limited(limit.of);
            let said = clause(&out_of(limit, limit.max + 1));
            assert!(said.starts_with(&format!("{name} must be from ")) && said.ends_with(&reason), "{said}");
            assert!(said.contains(unit) && !reason.ends_with('.') && !said.contains("  "), "{said}");
        }
    }

    #[test]
    fn a_refusal_alone_is_a_sentence() {
        let error = Error::new(Missing::Question).at(Field::Question);
        assert_eq!(refused(&error), "Write the question that the trial is to answer.");
    }

    #[test]
    fn a_number_that_cannot_be_said_says_why() {
        let why = NoAnswer(Reason::NoBulbs);
        assert_eq!(crate::results::cannot(why), "Cannot be said, because no bulb is resolved yet.");
    }
}
