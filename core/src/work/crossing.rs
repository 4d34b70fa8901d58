//! Messages as bytes, on their way from one thread to the other. Both run the same build.

use std::sync::Arc;

use super::{Done, Message, Task, Told};
use crate::{
    evidence::{
        CannotSay, How, Interval, Reason, Share, permutation::Scored, strata::Stratum,
        verdict::Groups,
    },
    forecast::{
        Ask, Attempt, Begins, BulbOutlook, Coming, Counted, Course, Data, Dates, GroupOutlook,
        InWindow, Known, Of, OnDay, Outlook, Sampling, StageComing, Unforeseen, Wanted, Window,
    },
    handover::{Ending, Rehearsed},
    ledger::{entry::Entry, id::EntryId},
    pack::{Pack, Reader, Writer, fields, members},
    plan::{self, Advice, Answer, Choice, LotDates, Moved, Nearest, Now, Plan, Refusal, Wish},
    trial::result::{
        beside::{All, Beside, BesideInterval, BesideTest, IntervalName, Overall, Sides, TestName},
        foresight::{Base, Drawn, DrawnPair, Foresight, OfGap},
        measures::Measurand,
        pairing::{Pair, PairUnits},
        tries,
    },
};

impl Message {
    /// As bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        to_bytes(self)
    }

    /// From bytes; nothing when they are no message.
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        of_bytes(bytes)
    }
}

impl Told {
    /// As bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        to_bytes(self)
    }

    /// From bytes; nothing when they are no message.
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        of_bytes(bytes)
    }
}

fn to_bytes(value: &impl Pack) -> Vec<u8> {
    let mut writer = Writer::default();
    value.put(&mut writer);
    writer.finish()
}

fn of_bytes<T: Pack>(bytes: &[u8]) -> Option<T> {
    let mut reader = Reader::new(bytes)?;
    let value = T::take(&mut reader)?;
    reader.is_empty().then_some(value)
}

members! {
    Message {
        0 Ask { n, task },
        1 Stop { n },
    }
    Task {
        0 NextTry { a, b, tries },
        1 Forecast { data, seed, ask },
        2 Plan { data, seed, wish },
        3 Pairs { run, what, pairs },
        4 Choices { data, seed, wish, control },
        5 Settles { base, one_more },
        6 Foresight { run, drawn },
        7 Others { run, sides },
        8 Rehearse { ledger, here, new, today },
    }
    Told {
        0 Ready,
        1 Going { n, permille },
        2 Done { n, done },
        3 Failed(why),
    }
    Done {
        0 NextTry(found),
        1 Forecast(found),
        2 Plan(found),
        3 Choices(found),
        4 Pairs(found),
        5 Settles { found, one_more },
        6 Foresight(found),
        7 Others { pairs, overall },
        8 Rehearsed(found),
    }
    Known {
        0 Between { after, by },
        1 NotBy(day),
        2 NotSaid,
    }
    Attempt {
        0 Run(run),
        1 Plan(plan),
        2 FourWeeks(n),
    }
    Begins {
        0 Recorded,
        1 RestEnds,
        2 RestAhead,
        3 BroughtOn,
    }
    Unforeseen {
        0 RestsWithoutEnd,
        1 NoBeginning,
        2 IsOver,
    }
    Coming {
        0 ScapeInSight,
        1 FitToSell,
        2 FirstFlower,
        3 Over,
    }
    Wanted {
        0 FitToSell,
        1 InFlower,
    }
    Of {
        0 All,
        1 Place(place),
        2 Lot(lot),
        3 Try(attempt),
        4 Treatment(at),
    }
    Now {
        0 InLeaf,
        1 RestingSince(day),
    }
    Nearest {
        0 Fewer(n),
        1 Later(window),
        2 Wider(window),
        3 MoreBulbs(n),
    }
    Refusal {
        0 WindowInThePast,
        1 WindowBackwards,
        2 TooFarAhead,
        3 NothingWanted,
        4 NoBulbs,
        5 MoreThanAtHand { wanted, at_hand },
        6 TooManyBulbs,
        7 RestTooLong,
        8 NotAnAssurance,
        9 NotSoManyLots,
    }
    Advice {
        0 Control,
        1 Keep,
        2 Drop,
        3 Add,
        4 LeaveOut,
    }
    Measurand {
        0 Scapes,
        1 Florets,
        2 HeightMm,
        3 DaysInFlower,
        4 GirthGainMm,
        5 Leaves,
    }
    How {
        0 Exact,
        1 FisherMidP,
        2 Normal,
        3 MonteCarlo { draws, seed },
    }
    Reason {
        0 NoBulbs,
        1 MoreThanAll,
        2 NothingToDivideBy,
        3 EmptyCell,
        4 NotAProbability,
        5 TooFewGroups,
        6 NoVariation,
        7 NoScore,
        8 Confounded,
        9 OneTry,
        10 NotADay,
        11 NotReachedYet,
        12 NoneLeft,
        13 NotWithReach,
        14 RateChanged,
        15 Aliased,
        16 NotEstimable,
        17 TooFewDraws,
        18 TooManyStates,
        19 SpreadUnknown,
        20 Stopped,
        21 WithinClasses,
    }
    Base {
        0 PastTries(share),
        1 Half,
    }
    Groups {
        0 Whole(whole),
        1 Strata(strata),
        2 Containers(units),
    }
    TestName {
        0 Fisher,
        1 FisherMidP,
        2 Barnard,
        3 Boschloo,
        4 ExactConditional,
        5 ExactConditionalMidP,
        6 CochranMantelHaenszel,
    }
    IntervalName {
        0 DifferenceMiettinenNurminen,
        1 DifferenceAgrestiCaffo,
        2 RatioKoopman,
        3 DifferenceAtAnyTime,
        4 OddsRatioExact,
        5 OddsRatioMantelHaenszel,
    }
}

type TriesNextTry = tries::NextTry;
type PlanNextTry = plan::NextTry;

fields! {
    Stratum { a, b }
    Data { today, treatments, lots, tries, courses, unforeseen }
    Course {
        bulb, place, origin, begins, rest_days, treatment, lot, attempt, stages, height, waiting,
    }
    Ask { window, days }
    Window { from, to }
    Wish {
        window, stage, wanted, assurance, at_hand, now, rest_weeks, treatment, lot, staggered,
    }
    PairUnits { a, b, units, how_much }
    Pair { a, b, p, shift }
    Scored { score, in_a, block }
    Interval { lower, upper }
    Drawn { base, alpha, undivided, by_container, pairs }
    DrawnPair { a, b, classes, sides }
    Foresight { a, b, base, gaps, smallest_gap, size, smallest_p }
    OfGap { more_in_ten, power, power_with_one_more }
    Sides { pairs, all }
    All { shares, scores }
    Beside { a, b, tests, intervals, a_better }
    BesideTest { name, p, how }
    BesideInterval { name, interval }
    Overall { freeman_halton_p, freeman_halton_how, trend_over, trend_p, trend_how }
    TriesNextTry { lower, median, upper, a_ahead, typical }
    Outlook { today, method, from_published, sampling, bulbs, groups, unforeseen }
    Sampling { n_draws, least_effective, largest_r_hat }
    BulbOutlook { bulb, origin, begins, coming, blind, fit_in_window, in_flower_in_window }
    StageComing { stage, dates }
    Dates { p10, p50, p90 }
    Counted { p10, p50, p90, mean }
    OnDay { day, fit, in_flower }
    InWindow { counted, at_least }
    GroupOutlook { of, n_bulbs, members, days, fit_in_window, in_flower_in_window }
    Answer { plan, sampling }
    Plan { from_published, met, to_start, chance, assured, lots, moved, nearest }
    LotDates {
        n, stop_water, cut_back, lay_to_rest, inspected, inspect, pot_up, into_light, first_look, coming,
    }
    Moved { days, possible, chance, to_start }
    Rehearsed {
        endings, died, left, missing, gone, joined, n_standing, n_bulbs, n_later, later_days,
    }
    Ending { kind, who, n_taken_back, n_replaced }
    PlanNextTry { from_published, choices }
    Choice { treatment, rest_weeks, advice, chance, one_bulb, unsure, best, n }
}

impl Pack for CannotSay {
    fn put(&self, to: &mut Writer) {
        self.0.put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Pack::take(from).map(Self)
    }
}

impl Pack for Share {
    fn put(&self, to: &mut Writer) {
        self.reached().put(to);
        self.of().put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Self::new(Pack::take(from)?, Pack::take(from)?).ok()
    }
}

/// An entry that was read before: its id and its bytes.
impl Pack for Arc<Entry> {
    fn put(&self, to: &mut Writer) {
        self.id.put(to);
        to.raw(self.bytes().as_bytes());
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let id = EntryId::take(from)?;
        let text = str::from_utf8(from.raw()?).ok()?;
        Entry::read(id, text).ok().map(Self::new)
    }
}
