//! Words of the results of a try: its pictures, their tables, and what stands under them.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::turnbull::rises;
use bloomdue_core::evidence::{NoAnswer, Reason};
use bloomdue_core::ledger::body::{DueWindow, LeftHow};
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::design_power::{Base, Foresight, MOST_BULBS, OfGap, Settles};
use bloomdue_core::trial::result::measures::{Measurand, MeasureGap, MeasureGroup, MeasureResult};
use bloomdue_core::trial::result::sequential::{AfterBlock, AfterLook};
use bloomdue_core::trial::result::times::{Bar, End, GroupTimes, Times};
use bloomdue_core::trial::standing::{InTime, OfCultivar, Standing};
use bloomdue_core::units::LengthUnit;

use crate::common::{bulbs, plural, quoted, quoted_all, sentence};
use crate::dates::date_short;
use crate::formats;
use crate::table::Table;
use crate::trials::{more_or_fewer, tens, upper_first};

labels! {
    all_it_says = "All that this try says";
    working_out = "Working it out …";
    all = "all";
    half = "half";
    none = "none";
    chapters = "Chapters";
    counted = "Counted";
    when = "When";
    measured = "Measured";
    next = "Next";
    counts_in_a_table = "Counts in a table";
    when_hint = "A line a bulb, the earliest first. Nobody saw the day itself, only the looks before and after it.";
    curve_title = "How many had it by when";
    curve_hint = "Inside a shaded stretch the share rose, but no look says on which day.";
    key_reached = "somewhere between these two looks";
    key_open = "not seen with it; open from the last look on";
    key_unproved = "a shoot seen that is not proved";
    key_died = "died before";
    key_missing = "missing before";
    key_left = "sold, given or withdrawn before";
    measures_title = "Measured and counted";
    measures_hint = "A mark a bulb; upright line and number: the mean. None of this decides the try.";
    growing_title = "The evidence as it grew";
    growing_hint =
        "1 says nothing. 20 is enough, on whatever day it is looked at: if the groups were alike it would ever \
         get there in fewer than 1 of 20 tries.";
    enough = "enough";
    by_looks = "Which is faster, look by look";
    by_blocks = "How many in time, class by class";
    no_class_decided = "No class is all decided yet.";
    no_look_at_both = "No day saw both groups yet.";
    settle_title = "What would settle it";
    settle_open = "How many bulbs it would take";
    settle_label = "The gap that matters to you";
    foresight_title = "What these groups can tell";
    by_cultivar = "By cultivar";
    by_cultivar_hint = "Counts for reading: no verdict is made of one cultivar by itself.";
    nothing_to_tell = "Groups that were not drawn by lot, or a group of one, get no test: nothing could be told apart.";
    any_two = "Any two of these groups";
    of_least = "Of the pair that tells least.";
    too_few_to_plan = "Too few bulbs for groups that could be compared: every group needs two or more.";
    never = "never";
    gap_axis = "true gap: so many more in 10";
    this_try = "noticed with this try";
    with_one_more = "noticed with one more like it, taken together";
}

/// Why something cannot be said.
pub fn cannot(why: NoAnswer) -> String {
    sentence(&cannot_clause(why))
}

/// The same within a sentence.
pub(crate) fn cannot_clause(NoAnswer(why): NoAnswer) -> String {
    let because = match why {
        Reason::NoBulbs => "no bulb is resolved yet",
        Reason::MoreThanAll => "more bulbs reached the stage than there are",
        Reason::NothingToDivideBy => "the share to divide by is zero",
        Reason::EmptyCell => "a count that this method divides by is zero",
        Reason::NotAProbability => "a level or a probability is not between 0 and 1",
        Reason::TooFewGroups => "fewer than two groups have a resolved bulb",
        Reason::NoVariation => "all are the same, so that nothing can differ",
        Reason::NoScore => "the levels have no numbers that a trend could follow",
        Reason::Confounded => "no try has both groups, so that try and treatment cannot be told apart",
        Reason::OneTry => "a single try says nothing of how tries differ",
        Reason::NotADay => "a day is no day, or an interval ends before it starts",
        Reason::NotReachedYet => "so many bulbs have not reached the stage by the last look",
        Reason::NoneLeft => "no bulb is left without the stage",
        Reason::NotWithReach => "not even the largest number looked at is enough",
        Reason::RateChanged => "the share has changed on the way",
        Reason::Aliased => "some factors depend on each other in this design",
        Reason::NotEstimable => "the counts do not determine it",
        Reason::TooFewDraws => "the lots could fall in too few ways for an interval at this level",
        Reason::TooManyStates => "there are too many cases to count",
        Reason::SpreadUnknown => "how much containers differ is not known beforehand",
        Reason::Stopped => "it was stopped before it was done",
        Reason::WithinClasses => "it is of whole groups, and lots were drawn within classes",
    };
    format!("cannot be said, because {because}")
}

// Shares

/// `8 weeks: 3 of 8 in time`, or the name alone while nothing is decided.
pub fn name_and_share(name: &str, share: Option<(u32, u32)>) -> String {
    match share {
        Some((reached, of)) => format!("{name}: {reached} of {of}"),
        None => name.to_owned(),
    }
}

/// The number beside the picture of a share: `3 of 8`, `1 to 4` while something is undecided.
pub fn beside_share(found: Option<InTime>) -> String {
    match found {
        Some(InTime { least, most, .. }) if least != most => format!("{least} to {most}"),
        found => crate::trials::in_time(found),
    }
}

/// What the picture of a share shows, for those who do not see it; it goes on after the name and the share.
pub fn share_in_words(lower: f64, upper: f64, decided: bool) -> String {
    let [low, high] = [lower, upper].map(|share| (share * 100.0).round());
    if decided {
        format!("; the true share may be {low} to {high} in 100")
    } else {
        format!("; {low} to {high} in 100 are possible")
    }
}

/// `5 in 10`.
pub fn tenths(n: u32) -> String {
    format!("{n} in 10")
}

pub fn line_means(decided: bool) -> &'static str {
    if decided {
        "Mark: the share in time. Line: where it may truly lie, 19 times in 20."
    } else {
        "Broken line: as few, as many as are possible."
    }
}

/// What each cultivar did in each group; nothing where the try has only one.
pub fn cultivar_table(stands: &Standing) -> Option<Table> {
    if stands.by_cultivar.is_empty() {
        return None;
    }
    let row = |of: &OfCultivar| {
        let counts = of.groups.iter().map(|counts| crate::trials::in_time(stands.in_time_of(counts)));
        [cultivar(of).to_owned()].into_iter().chain(counts).collect()
    };
    let groups = stands.groups.iter().map(|group| group.name.clone());
    Some(Table {
        caption: "In time, by cultivar and group".to_owned(),
        heads: ["Cultivar".to_owned()].into_iter().chain(groups).collect(),
        rows: stands.by_cultivar.iter().map(row).collect(),
    })
}

fn cultivar(of: &OfCultivar) -> &str {
    if of.cultivar.is_empty() { "several, or not known" } else { &of.cultivar }
}

/// More cultivars than these have no sentence each: the table tells them.
const MOST_CULTIVARS: usize = 4;

/// A sentence a cultivar, of a few: `Candy: “8 weeks” 2 of 3 in time, “12 weeks” 4 of 5.`
pub fn cultivar_lines(stands: &Standing) -> Vec<String> {
    let line = |of: &OfCultivar| {
        let groups = stands.groups.iter().zip(&of.groups).enumerate();
        let said = groups.map(|(at, (group, counts))| {
            let in_time = if at == 0 { " in time" } else { "" };
            format!("{} {}{in_time}", quoted(&group.name), crate::trials::in_time(stands.in_time_of(counts)))
        });
        format!("{}: {}.", upper_first(cultivar(of)), said.collect::<Vec<_>>().join(", "))
    };
    if stands.by_cultivar.len() > MOST_CULTIVARS {
        return Vec::new();
    }
    stands.by_cultivar.iter().map(line).collect()
}

// Days

pub fn when_title(stage: &str) -> String {
    format!("When each bulb had {stage}")
}

/// `18 Dec`, for an axis.
pub fn day_and_month(date: Date) -> String {
    date_short(date, date)
}

/// `Dec`, for an axis.
pub fn month(date: Date) -> String {
    formats::month_alone(date)
}

/// `due 18 Dec`, `due 10 to 18 Dec`.
pub fn due(window: &DueWindow, today: Date) -> String {
    let to = date_short(window.to, today);
    if window.from == window.to {
        format!("due {to}")
    } else {
        format!("due {} to {to}", date_short(window.from, today))
    }
}

pub fn name_and_bulbs(name: &str, n: usize) -> String {
    format!("{name} · {}", bulbs(n))
}

/// `× 12`.
pub fn times(n: u32) -> String {
    format!("× {n}")
}

fn end(bar: &Bar) -> &'static str {
    match bar.end {
        End::Reached => "reached",
        End::Open => "open",
        End::Unproved => "not proved",
        End::Died => "died",
        End::Missing => "missing",
        End::Left(LeftHow::Sold) => "sold",
        End::Left(LeftHow::Given) => "given",
        End::Left(LeftHow::Withdrawn) => "withdrawn",
    }
}

/// Every bulb with its two looks.
pub fn bars_table(times: &Times, names: &[String], today: Date) -> Table {
    let row = |name: &String, bar: &Bar| {
        let with = bar.with.map_or_else(|| "–".to_owned(), |with| date_short(with, today));
        let ended =
            if bar.contradicted { format!("{}; looks contradict each other", end(bar)) } else { end(bar).to_owned() };
        vec![bar.label.clone(), name.clone(), date_short(bar.without, today), with, ended]
    };
    let groups = times.groups.iter().zip(names);
    Table {
        caption: "Each bulb in a table".to_owned(),
        heads: ["Bulb", "Group", "Last look without", "First look with", "Then"].map(str::to_owned).to_vec(),
        rows: groups.flat_map(|(group, name)| group.bars.iter().map(move |bar| row(name, bar))).collect(),
    }
}

/// The curve in numbers, stretch by stretch.
pub fn curve_table(times: &Times, names: &[String], today: Date) -> Table {
    let day = |days: f64| match times.start.add_days(days.round() as i64) {
        Ok(date) => date_short(date, today),
        Err(_) => "–".to_owned(),
    };
    let mut rows = Vec::new();
    for (group, name) in times.groups.iter().zip(names) {
        let found = group.stretches.as_ref();
        for rise in found.map(|all| rises(all)).unwrap_or_default() {
            let (until, after) = match rise.to_day {
                Some(to) => (day(to), per_hundred(rise.after)),
                None => ("open".to_owned(), "open".to_owned()),
            };
            rows.push(vec![name.clone(), day(rise.from_day), until, per_hundred(rise.before), after]);
        }
    }
    Table {
        caption: "The shares in a table".to_owned(),
        heads: ["Group", "After", "Up to", "Share before", "Share then"].map(str::to_owned).to_vec(),
        rows,
    }
}

/// A chance is never said to be none or all.
fn chance_per_hundred(chance: f64) -> String {
    if chance < 0.005 {
        "under 1 in 100".to_owned()
    } else if chance >= 0.995 {
        "over 99 in 100".to_owned()
    } else {
        per_hundred(chance)
    }
}

fn per_hundred(share: f64) -> String {
    format!("{:.0} in 100", 100.0 * share)
}

/// By when half of a group had it.
pub fn half_by(group: &GroupTimes, start: Date, today: Date) -> String {
    let day = |days: f64| start.add_days(days as i64).map(|date| date_short(date, today));
    match group.median_days {
        Ok((from, to)) => match (day(from), day(to)) {
            (Ok(from), Ok(to)) if from == to => format!("Half of them by {to}."),
            (Ok(from), Ok(to)) => format!("Half of them between {from} and {to}."),
            _ => String::new(),
        },
        Err(NoAnswer(Reason::NotReachedYet)) => "Half of them had not got so far by the last look.".to_owned(),
        Err(why) => cannot(why),
    }
}

/// How much longer one group waited than the other, as the least and most that the looks allow, in days.
pub fn speed((least, most): (f64, f64), tau_days: f64, a: &str, b: &str) -> String {
    let (least, most) = (least.round() as i64, most.round() as i64);
    let days = |days: i64| plural(days.unsigned_abs() as usize, "day", "days");
    let span = match (least, most) {
        (0, 0) => "just as long as".to_owned(),
        (least, most) if least == most && most > 0 => format!("{} longer than", days(most)),
        (least, most) if least == most => format!("{} less than", days(most)),
        (least, most) if least >= 0 => format!("{least} to {} longer than", days(most)),
        (least, most) if most <= 0 => format!("{} to {} less than", -most, days(least)),
        (least, most) => format!("anything from {} less to {} longer than", days(least), days(most)),
    };
    format!(
        "Over the first {tau_days:.0} days a bulb of {} waited on average {span} one of {}; the looks leave no closer answer.",
        quoted(a),
        quoted(b)
    )
}

// Measures and counts

pub fn measurand(what: Measurand) -> String {
    match what {
        Measurand::Scapes => "Stalks of a bulb".to_owned(),
        Measurand::Florets => "Flowers of its richest stalk".to_owned(),
        Measurand::HeightMm => format!("Height of its tallest stalk, {}", unit_of(what)),
        Measurand::DaysInFlower => "Days in flower".to_owned(),
        Measurand::GirthGainMm => format!("Gain around, {}", unit_of(what)),
        Measurand::Leaves => "Leaves".to_owned(),
    }
}

/// What a difference of it is a difference of.
fn unit_of(what: Measurand) -> &'static str {
    match what {
        Measurand::Scapes => "stalks",
        Measurand::Florets => "flowers",
        Measurand::HeightMm => formats::length_unit(),
        Measurand::DaysInFlower => "days",
        // Gains are small: millimetres, or hundredths of an inch.
        Measurand::GirthGainMm if in_inches() => formats::length_unit(),
        Measurand::GirthGainMm => "mm",
        Measurand::Leaves => "leaves",
    }
}

fn in_inches() -> bool {
    formats::units().length != LengthUnit::Centimetres
}

/// A value without its unit: a mean or a difference, so that inches have decimals whatever was chosen.
pub fn bare(what: Measurand, value: f64) -> String {
    let (value, decimals) = match what {
        Measurand::HeightMm if in_inches() => (value / MM_OF_INCH, 1),
        Measurand::HeightMm => (value / 10.0, 1),
        Measurand::GirthGainMm if in_inches() => (value / MM_OF_INCH, 2),
        _ => (value, 1),
    };
    let scale = f64::from(10_u32.pow(decimals));
    let is_whole = ((value * scale).round() / scale).fract() == 0.0;
    formats::decimal(value, if is_whole { 0 } else { decimals as usize })
}

const MM_OF_INCH: f64 = 25.4;

/// The mean at the right of a picture of values.
pub fn mean(what: Measurand, group: &MeasureGroup) -> String {
    group.mean.map_or_else(|| "–".to_owned(), |mean| bare(what, mean))
}

/// Under a group's name beside its values: of how many they are known.
pub fn known_of(group: &MeasureGroup) -> String {
    let n = group.values.len();
    match (group.mean, group.n_without) {
        (None, _) => "no values".to_owned(),
        (Some(_), 0) => format!("all {n}"),
        (Some(_), without) => format!("{n} of {} known", n + without),
    }
}

/// By how much two groups differ.
pub fn measure_gap(what: Measurand, gap: &MeasureGap, state: &State) -> String {
    let (a, b) = (state.name_of(gap.a), state.name_of(gap.b));
    let Ok(difference) = gap.difference else {
        return format!("{} can't be compared in it.", quoted_all(&[a, b]));
    };
    let (more, fewer, sign) = if difference < 0.0 { (b, a, -1.0) } else { (a, b, 1.0) };
    let said = |value: f64| {
        let text = bare(what, value.abs());
        match (text.as_str(), value < 0.0) {
            ("0", _) => "none".to_owned(),
            (_, true) => format!("{text} fewer"),
            (_, false) => format!("{text} more"),
        }
    };
    let spread = match gap.interval {
        Ok(interval) => {
            let (low, high) = (sign * interval.lower, sign * interval.upper);
            format!(" (anything from {} to {})", said(low.min(high)), said(low.max(high)))
        }
        Err(_) => " (lots could have fallen in too few ways to say how surely)".to_owned(),
    };
    let unit = unit_of(what);
    if bare(what, difference) == "0" {
        format!("{}: alike in {unit}{spread}.", quoted_all(&[a, b]))
    } else {
        format!("{}: {} {unit} more than {}{spread}.", quoted(more), bare(what, difference.abs()), quoted(fewer))
    }
}

pub fn measure_table(measure: &MeasureResult, names: &[String], labels: &[Vec<String>]) -> Table {
    let groups = measure.groups.iter().zip(names).zip(labels);
    let row = |label: &String, name: &String, value: f64| vec![label.clone(), name.clone(), bare(measure.what, value)];
    Table {
        caption: format!("{}: every value", measurand(measure.what)),
        heads: ["Bulb", "Group", "Value"].map(str::to_owned).to_vec(),
        rows: groups
            .flat_map(|((group, name), labels)| {
                let values = group.values.iter().zip(labels);
                values.map(move |((_, value), label)| row(label, name, *value))
            })
            .collect(),
    }
}

// The evidence as it grew

/// `12 weeks and 8 weeks`.
pub fn two(a: &str, b: &str) -> String {
    format!("{} and {b}", upper_first(a))
}

/// What the evidence says now, and at its highest.
pub fn evidence_now(evidence: f64, anytime_p: f64) -> String {
    let highest = 1.0 / anytime_p.max(1e-9);
    let means = if highest >= 20.0 {
        "that is enough to tell them apart"
    } else if evidence >= 3.0 {
        "that leans to a difference, and is not enough"
    } else if evidence > 1.0 / 3.0 {
        "that says next to nothing"
    } else {
        "that leans to no difference"
    };
    let top = if highest > 1.05 * evidence.max(1.0) {
        format!(" At its highest it was {}.", factor(highest))
    } else {
        String::new()
    };
    format!("Now {}: {means}.{top}", factor(evidence))
}

fn factor(value: f64) -> String {
    if value >= 1000.0 {
        "over 1000".to_owned()
    } else if value >= 10.0 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

pub fn size_class(block: u32) -> String {
    format!("class {}", block + 1)
}

pub fn looks_table(looks: &[AfterLook], a: &str, b: &str, today: Date) -> Table {
    let row = |look: &AfterLook| {
        vec![
            date_short(look.day, today),
            of(look.a.reached(), look.a.of()),
            of(look.b.reached(), look.b.of()),
            factor(look.evidence),
        ]
    };
    Table {
        caption: "Look by look in a table".to_owned(),
        heads: vec![
            "Day".to_owned(),
            format!("{a}: new of those without"),
            format!("{b}: new of those without"),
            "Evidence".to_owned(),
        ],
        rows: looks.iter().map(row).collect(),
    }
}

/// `label` names a size class, with its try where there are several.
pub fn blocks_table(blocks: &[AfterBlock], a: &str, b: &str, label: impl Fn(&AfterBlock) -> String) -> Table {
    let row = |block: &AfterBlock| {
        vec![
            label(block),
            of(block.a.reached(), block.a.of()),
            of(block.b.reached(), block.b.of()),
            factor(block.evidence),
        ]
    };
    Table {
        caption: "Class by class in a table".to_owned(),
        heads: vec!["Class".to_owned(), format!("{a} in time"), format!("{b} in time"), "Evidence".to_owned()],
        rows: blocks.iter().map(row).collect(),
    }
}

fn of(n: u32, all: u32) -> String {
    format!("{n} of {all}")
}

// What would settle it

/// `3 more in 10`, the value of the slider.
pub fn gap_value(more_in_ten: u32) -> String {
    format!("{more_in_ten} more in 10")
}

/// The bulbs that a gap takes.
pub fn settles(settles: &Settles) -> String {
    let gap = gap_value(settles.more_in_ten);
    match settles.bulbs_a_group {
        Ok(bulbs) => {
            let nearly = match settles.bulbs_nearly_always {
                Ok(bulbs) => format!("{bulbs} notice it 19 times in 20."),
                Err(_) => format!("to notice it 19 times in 20 takes more than {MOST_BULBS}."),
            };
            // A single try of so many is beyond most nurseries.
            let several = if bulbs > 60 { " Several tries together can get there too." } else { "" };
            format!(
                "To notice {gap}, 8 times in 10, plan {} a group in one new try; {nearly}{several}",
                crate::common::bulbs(bulbs as usize)
            )
        }
        Err(NoAnswer(Reason::NotWithReach)) => format!(
            "To notice {gap}, 8 times in 10, one new try would need more than {MOST_BULBS} bulbs a group. Several tries together can get there."
        ),
        Err(why) => format!("For {gap} the number {}.", cannot_clause(why)),
    }
}

/// What one more try like this would add, for a gap.
pub fn one_more(gap: &OfGap) -> Option<String> {
    let power = gap.power_with_one_more.ok()?;
    Some(format!("One more try like this one, both taken together, would notice it {}.", in_ten_times(power)))
}

pub fn settle_base(base: f64) -> String {
    format!(
        "Counted from {} in 10 in the group with fewer; exact, by Fisher's test at 1 in 20.",
        crate::trials::in_ten(base)
    )
}

pub(super) fn in_ten_times(chance: f64) -> String {
    match (10.0 * chance).round() as u32 {
        0 => "hardly ever".to_owned(),
        10 => "nearly always".to_owned(),
        n => format!("{n} times in 10"),
    }
}

// What the groups can tell

pub fn chances_of(pair: &str) -> String {
    format!("{pair}: gap by gap")
}

/// The smallest gap that is likely to be noticed, and from what it is counted.
pub fn smallest_gap(foresight: &Foresight) -> String {
    let from = match foresight.base {
        Base::PastTries(share) => {
            format!("Counted from {} of {} in time in earlier tries.", share.reached(), share.of())
        }
        Base::Half => "Counted from 5 in 10, where chance plays most.".to_owned(),
    };
    // Where that leaves no room for the gap, the other group has fewer.
    let from = match foresight.smallest_gap {
        Ok(gap) if gap > 1.0 - foresight.base.share() + 1e-9 && gap <= 0.99 => {
            format!("Counted from {} in 10 in the other group.", crate::trials::in_ten(1.0 - gap))
        }
        _ => from,
    };
    match foresight.smallest_gap {
        Ok(gap) if gap > 0.99 => {
            format!("Only all of one group against none of the other is likely to be noticed (8 times in 10). {from}")
        }
        Ok(gap) => format!(
            "A gap of {} in 10 or more is likely to be noticed (8 times in 10); smaller ones will mostly be missed. {from}",
            crate::trials::in_ten((gap * 10.0).ceil() / 10.0)
        ),
        Err(NoAnswer(Reason::NotWithReach)) => {
            format!("Not even 9 more in 10 is likely to be noticed with groups like these. {from}")
        }
        Err(NoAnswer(Reason::SpreadUnknown)) => {
            "How much whole containers differ from each other is not known beforehand, so what they can tell is not either."
                .to_owned()
        }
        Err(why) => cannot(why),
    }
}

pub fn power_table(gaps: &[OfGap]) -> Table {
    let chance = |said: Result<f64, NoAnswer>| said.map_or_else(|_| "–".to_owned(), chance_per_hundred);
    let row = |gap: &OfGap| vec![gap_value(gap.more_in_ten), chance(gap.power), chance(gap.power_with_one_more)];
    Table {
        caption: "How often a gap is noticed, in a table".to_owned(),
        heads: ["True gap", "With this try", "With one more"].map(str::to_owned).to_vec(),
        rows: gaps.iter().map(row).collect(),
    }
}

/// A difference of shares as `3 more` or `2 fewer` of ten bulbs.
pub fn of_ten(difference: f64) -> String {
    more_or_fewer(tens(difference))
}
