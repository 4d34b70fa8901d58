//! Words of the results of a try: its pictures, their tables, and what stands under them.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::turnbull::rises;
use bloomdue_core::evidence::{CannotSay, Reason};
use bloomdue_core::ledger::body::{DueWindow, LeftHow};
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::foresight::{Base, Foresight, MOST_BULBS, OfGap, Settles};
use bloomdue_core::trial::result::growing::{AfterBlock, AfterLook};
use bloomdue_core::trial::result::measures::{Measurand, MeasureGap, MeasureGroup, MeasureResult};
use bloomdue_core::trial::result::times::{Bar, End, GroupTimes, Times};

use super::en::{self, date_short, plural};
use super::trials::{more_or_fewer, tens, upper_first};
use crate::parts::plots::table::Table;

pub(crate) fn all_it_says() -> &'static str {
    "All that this try says"
}

pub(crate) fn working_out() -> &'static str {
    "Working it out …"
}

/// Why something cannot be said.
pub(crate) fn cannot(why: CannotSay) -> String {
    en::sentence(&why.to_string())
}

// Shares

/// `8 weeks: 3 of 8 in time`, or the name alone while nothing is decided.
pub(crate) fn name_and_share(name: &str, share: Option<(u32, u32)>) -> String {
    match share {
        Some((reached, of)) => format!("{name}: {reached} of {of}"),
        None => name.to_owned(),
    }
}

/// What the picture of a share shows, for those who do not see it; it goes on after the name and the share.
pub(crate) fn share_in_words(lower: f64, upper: f64, decided: bool) -> String {
    let [low, high] = [lower, upper].map(|share| (share * 100.0).round());
    if decided {
        format!("; the true share may be {low} to {high} in 100")
    } else {
        format!("; {low} to {high} in 100 can still come out")
    }
}

/// `5 in 10`.
pub(crate) fn tenths(n: u32) -> String {
    format!("{n} in 10")
}

pub(crate) fn more_on_axis(n: u32) -> String {
    format!("{n} more")
}

pub(crate) fn fewer_on_axis(n: u32) -> String {
    format!("{n} fewer")
}

pub(crate) fn all() -> &'static str {
    "all"
}

pub(crate) fn half() -> &'static str {
    "half"
}

pub(crate) fn line_means(decided: bool) -> &'static str {
    if decided {
        "The mark is the share in time; its line what the true share may be, 95 times in 100."
    } else {
        "A broken line runs from the lowest to the highest share that can still come out."
    }
}

// Days

pub(crate) fn when_title(stage: &str) -> String {
    format!("When each bulb had {stage}")
}

pub(crate) fn when_hint() -> &'static str {
    "A line a bulb, the earliest first. Nobody saw the day itself, only the looks before and after it."
}

pub(crate) fn curve_title() -> &'static str {
    "How many had it by when"
}

pub(crate) fn curve_hint() -> &'static str {
    "Inside a shaded stretch the share rose, but no look says on which day."
}

/// `18 Dec`, for an axis.
pub(crate) fn day_and_month(date: Date) -> String {
    date_short(date, date)
}

/// `Dec`, for an axis.
pub(crate) fn month(date: Date) -> String {
    en::month_short(date).to_owned()
}

/// `due 18 Dec`, `due 10 to 18 Dec`.
pub(crate) fn due(window: &DueWindow, today: Date) -> String {
    let to = date_short(window.to, today);
    if window.from == window.to {
        format!("due {to}")
    } else {
        format!("due {} to {to}", date_short(window.from, today))
    }
}

pub(crate) fn name_and_bulbs(name: &str, n: usize) -> String {
    format!("{name} · {}", en::bulbs(n))
}

/// `× 12`.
pub(crate) fn times(n: u32) -> String {
    format!("× {n}")
}

pub(crate) fn key_reached() -> &'static str {
    "somewhere between these two looks"
}

pub(crate) fn key_open() -> &'static str {
    "not seen with it; open from the last look on"
}

pub(crate) fn key_unproved() -> &'static str {
    "a shoot seen that is not proved"
}

pub(crate) fn key_died() -> &'static str {
    "died before"
}

pub(crate) fn key_missing() -> &'static str {
    "missing before"
}

pub(crate) fn key_left() -> &'static str {
    "sold, given or withdrawn before"
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
pub(crate) fn bars_table(times: &Times, names: &[String], today: Date) -> Table {
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
pub(crate) fn curve_table(times: &Times, names: &[String], today: Date) -> Table {
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
pub(crate) fn half_by(group: &GroupTimes, start: Date, today: Date) -> String {
    let day = |days: f64| start.add_days(days as i64).map(|date| date_short(date, today));
    match group.median_days {
        Ok((from, to)) => match (day(from), day(to)) {
            (Ok(from), Ok(to)) if from == to => format!("Half of them by {to}."),
            (Ok(from), Ok(to)) => format!("Half of them between {from} and {to}."),
            _ => String::new(),
        },
        Err(CannotSay(Reason::NotReachedYet)) => "Half of them had not got so far by the last look.".to_owned(),
        Err(why) => cannot(why),
    }
}

/// How much longer one group waited than the other, as the least and most that the looks allow, in days.
pub(crate) fn speed((least, most): (f64, f64), tau_days: f64, a: &str, b: &str) -> String {
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
        "Over the first {tau_days:.0} days a bulb of {a} waited on average {span} one of {b}; the looks leave no closer answer."
    )
}

// Measures and counts

pub(crate) fn measures_title() -> &'static str {
    "Measured and counted"
}

pub(crate) fn measures_hint() -> &'static str {
    "A mark a bulb; the upright line is the mean. None of this decides the try."
}

pub(crate) fn measurand(what: Measurand) -> &'static str {
    match what {
        Measurand::Scapes => "Stalks of a bulb",
        Measurand::Florets => "Flowers of its richest stalk",
        Measurand::HeightMm => "Height of its tallest stalk, cm",
        Measurand::DaysInFlower => "Days in flower",
        Measurand::GirthGainMm => "Gain around, mm",
        Measurand::Leaves => "Leaves",
    }
}

/// What a difference of it is a difference of.
fn unit_of(what: Measurand) -> &'static str {
    match what {
        Measurand::Scapes => "stalks",
        Measurand::Florets => "flowers",
        Measurand::HeightMm => "cm",
        Measurand::DaysInFlower => "days",
        Measurand::GirthGainMm => "mm",
        Measurand::Leaves => "leaves",
    }
}

/// A value without its unit; heights are shown in centimetres.
pub(crate) fn bare(what: Measurand, value: f64) -> String {
    let value = if what == Measurand::HeightMm { value / 10.0 } else { value };
    let tenths = (value * 10.0).round() / 10.0;
    if tenths.fract() == 0.0 { format!("{tenths:.0}") } else { format!("{tenths:.1}") }
}

pub(crate) fn name_and_mean(name: &str, what: Measurand, group: &MeasureGroup) -> String {
    match group.mean {
        Some(mean) if group.n_without == 0 => {
            format!("{name}: mean {} of all {}", bare(what, mean), group.values.len())
        }
        Some(mean) => format!(
            "{name}: mean {}, known of {} of {}",
            bare(what, mean),
            group.values.len(),
            group.values.len() + group.n_without
        ),
        None => format!("{name}: no values"),
    }
}

/// By how much two groups differ.
pub(crate) fn measure_gap(what: Measurand, gap: &MeasureGap, state: &State) -> String {
    let (a, b) = (state.name_of(gap.a), state.name_of(gap.b));
    let Ok(difference) = gap.difference else {
        return format!("{} and {b} cannot be compared in it.", upper_first(a));
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
        format!("{} and {b}: alike in {unit}{spread}.", upper_first(a))
    } else {
        format!("{}: {} {unit} more than {fewer}{spread}.", upper_first(more), bare(what, difference.abs()))
    }
}

pub(crate) fn measure_table(measure: &MeasureResult, names: &[String], labels: &[Vec<String>]) -> Table {
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

pub(crate) fn growing_title() -> &'static str {
    "The evidence as it grew"
}

pub(crate) fn growing_hint() -> &'static str {
    "1 says nothing. 20 is enough, on whatever day it is looked at: if the groups were alike it would ever get there in fewer than 1 of 20 tries."
}

pub(crate) fn enough() -> &'static str {
    "enough"
}

/// `12 weeks and 8 weeks`.
pub(crate) fn two(a: &str, b: &str) -> String {
    format!("{} and {b}", upper_first(a))
}

pub(crate) fn by_looks() -> &'static str {
    "Which is faster, look by look"
}

pub(crate) fn by_blocks() -> &'static str {
    "How many in time, size class by size class"
}

/// What the evidence says now, and at its highest.
pub(crate) fn evidence_now(evidence: f64, anytime_p: f64) -> String {
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

pub(crate) fn no_class_decided() -> &'static str {
    "No size class is all decided yet."
}

pub(crate) fn no_look_at_both() -> &'static str {
    "No day saw both groups yet."
}

pub(crate) fn size_class(block: u32) -> String {
    format!("class {}", block + 1)
}

pub(crate) fn looks_table(looks: &[AfterLook], a: &str, b: &str, today: Date) -> Table {
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
pub(crate) fn blocks_table(blocks: &[AfterBlock], a: &str, b: &str, label: impl Fn(&AfterBlock) -> String) -> Table {
    let row = |block: &AfterBlock| {
        vec![
            label(block),
            of(block.a.reached(), block.a.of()),
            of(block.b.reached(), block.b.of()),
            factor(block.evidence),
        ]
    };
    Table {
        caption: "Size class by size class in a table".to_owned(),
        heads: vec!["Size class".to_owned(), format!("{a} in time"), format!("{b} in time"), "Evidence".to_owned()],
        rows: blocks.iter().map(row).collect(),
    }
}

fn of(n: u32, all: u32) -> String {
    format!("{n} of {all}")
}

// What would settle it

pub(crate) fn settle_title() -> &'static str {
    "What would settle it"
}

pub(crate) fn settle_open() -> &'static str {
    "How many bulbs it would take"
}

pub(crate) fn settle_label() -> &'static str {
    "The gap that matters to you"
}

/// `3 more in 10`, the value of the slider.
pub(crate) fn gap_value(more_in_ten: u32) -> String {
    format!("{more_in_ten} more in 10")
}

/// The bulbs that a gap takes.
pub(crate) fn settles(settles: &Settles) -> String {
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
                en::bulbs(bulbs as usize)
            )
        }
        Err(CannotSay(Reason::NotWithReach)) => format!(
            "To notice {gap}, 8 times in 10, one new try would need more than {MOST_BULBS} bulbs a group. Several tries together can get there."
        ),
        Err(why) => format!("For {gap} the number {why}."),
    }
}

/// What one more try like this would add, for a gap.
pub(crate) fn one_more(gap: &OfGap) -> Option<String> {
    let power = gap.power_with_one_more.ok()?;
    Some(format!("One more try like this one, both taken together, would notice it {}.", in_ten_times(power)))
}

pub(crate) fn settle_base(base: f64) -> String {
    format!(
        "Counted from {} in 10 in the group with fewer; exact, by Fisher's test at 1 in 20.",
        super::trials::in_ten(base)
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

pub(crate) fn foresight_title() -> &'static str {
    "What these groups can tell"
}

pub(crate) fn nothing_to_tell() -> &'static str {
    "Groups that were not drawn by lot, or a group of one, get no test: nothing could be told apart."
}

pub(crate) fn any_two() -> &'static str {
    "Any two of these groups"
}

pub(crate) fn chances_of(pair: &str) -> String {
    format!("{pair}: gap by gap")
}

/// The smallest gap that is likely to be noticed, and from what it is counted.
pub(crate) fn smallest_gap(foresight: &Foresight) -> String {
    let from = match foresight.base {
        Base::PastTries(share) => {
            format!("Counted from {} of {} in time in earlier tries.", share.reached(), share.of())
        }
        Base::Half => "Counted from 5 in 10, where chance plays most.".to_owned(),
    };
    match foresight.smallest_gap {
        Ok(gap) => format!(
            "A gap of {} in 10 or more is likely to be noticed (8 times in 10); smaller ones will mostly be missed. {from}",
            super::trials::in_ten((gap * 10.0).ceil() / 10.0)
        ),
        Err(CannotSay(Reason::NotWithReach)) => {
            format!("Not even 9 more in 10 is likely to be noticed with groups like these. {from}")
        }
        Err(CannotSay(Reason::SpreadUnknown)) => {
            "How much whole containers differ from each other is not known beforehand, so what they can tell is not either."
                .to_owned()
        }
        Err(why) => cannot(why),
    }
}

pub(crate) fn never() -> &'static str {
    "never"
}

pub(crate) fn gap_axis() -> &'static str {
    "true gap: so many more in 10"
}

pub(crate) fn this_try() -> &'static str {
    "noticed with this try"
}

pub(crate) fn with_one_more() -> &'static str {
    "noticed with one more like it, taken together"
}

pub(crate) fn power_table(gaps: &[OfGap]) -> Table {
    let chance = |said: Result<f64, CannotSay>| said.map_or_else(|_| "–".to_owned(), chance_per_hundred);
    let row = |gap: &OfGap| vec![gap_value(gap.more_in_ten), chance(gap.power), chance(gap.power_with_one_more)];
    Table {
        caption: "How often a gap is noticed, in a table".to_owned(),
        heads: ["True gap", "With this try", "With one more"].map(str::to_owned).to_vec(),
        rows: gaps.iter().map(row).collect(),
    }
}

/// A difference of shares as `3 more` or `2 fewer` of ten bulbs.
pub(crate) fn of_ten(difference: f64) -> String {
    more_or_fewer(tens(difference))
}
