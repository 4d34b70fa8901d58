//! Words of what is coming.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{
    Attempt, Begins, BulbOutlook, Coming, Counted, InWindow, Of, Offered, Sampling, StageComing, Wanted, Window,
};
use bloomdue_core::nursery::State;

use crate::common::{bulbs, ordinal_try};
use crate::dates::{date_short, days_of_month};
use crate::formats::{decimal, whole};

labels! {
    title = "What is coming";
    hint = "Forecasts are aids, not guarantees.";
    for_which = "For which days";
    next_weeks = "The next four weeks";
    wanted_label = "What counts";
    from_published = "From published ranges, not from this nursery.";
    none =
        "No bulb is under way: none was potted, brought to light or has ended its rest, so that there is nothing \
         to count days from. Record it under Places when it is done, or save a plan for them: then its days \
         count.";
    band_hint = "On at least one of these days; 8 times in 10 it is within these numbers.";
    working = "working it out …";
    none_for_it = "no bulb is under way for it.";
    nearly_sure = "Nearly sure";
    may_be = "May be";
    behind_it = "Behind it";
    by_group = "By place, lot and try";
    at_least_label = "At least";
    fewer = "One fewer";
    more = "One more";
    by_day_hint = "The line is the middle; 8 of 10 times it is within the shaded band.";
    by_place = "By place";
    by_lot = "By lot";
    by_try = "By try and plan";
    rough = "These numbers are rough: the draws behind them are worth too few independent ones.";
    bulb_by_bulb = "Bulb by bulb";
    planned_beginning_hint = "Each day that work on them is late moves their dates.";
    flowers_already = "in flower already";
    strips_hint =
        "Each line holds 8 of 10 cases and the mark is the middle, if that stage comes; the due days are shaded. \
         The likeliest stand first.";
    nowhere = "In no place";
    see_plan = "See the plan";
    how = "How this was worked out";
}

pub fn offered(one: &Offered, today: Date) -> String {
    let days = days(one.window, today);
    match one.name.as_str() {
        "" => days,
        // A try without a name for its days is called by its question.
        name if name.ends_with('?') => format!("{name} {days}"),
        name => format!("{name}: {days}"),
    }
}

pub fn days(window: Window, today: Date) -> String {
    if window.from == window.to {
        return date_short(window.to, today);
    }
    // Within a month, its name once.
    if (window.from.year(), window.from.month()) == (window.to.year(), window.to.month()) {
        return days_of_month(window.from, window.to, today);
    }
    format!("{} to {}", date_short(window.from, today), date_short(window.to, today))
}

/// What the chips say, where there are none: `Lantern Fair: 18 Dec to 20 Dec, in flower`.
pub fn on_paper(one: &Offered, wanted: Wanted, today: Date) -> String {
    format!("{}, {}", offered(one, today), self::wanted(wanted))
}

/// The forecast on the screen was not kept.
pub fn not_kept(why: &str) -> String {
    format!("This forecast was not kept, so it can't be compared later with what comes. {why}")
}

pub fn wanted(wanted: Wanted) -> &'static str {
    match wanted {
        Wanted::FitToSell => "fit to sell",
        Wanted::InFlower => "in flower",
    }
}

/// `6 to 9 of 12 bulbs`.
fn number(said: &InWindow, n_bulbs: usize) -> String {
    let Counted { p10, p90, .. } = said.counted;
    let number = if p10 == p90 { p10.to_string() } else { format!("{p10} to {p90}") };
    format!("{number} of {}", bulbs(n_bulbs))
}

/// `6 to 9 of 12 bulbs in flower, 18 Dec to 20 Dec.`
pub fn sentence(wanted: Wanted, said: &InWindow, n_bulbs: usize, window: Window, today: Date) -> String {
    format!("{} {}, {}.", number(said, n_bulbs), self::wanted(wanted), days(window, today))
}

/// What Due says of the next due days: `Lantern Fair: 18 to 20 Dec, expect 6 to 9 of 12 bulbs in flower.`
pub fn on_due(one: &Offered, said: Option<(&InWindow, usize)>, today: Date) -> String {
    let of = offered(one, today);
    match said {
        // What is foreseen is not to read like what was counted.
        Some((said, n_bulbs)) => format!("{of}, expect {} {}.", number(said, n_bulbs), wanted(one.wanted)),
        None => format!("{of}, {}", none_for_it()),
    }
}

/// The same where bulbs show a stalk or flowers, and nothing says when they were started: they can't be foreseen.
pub fn on_due_unknown(one: &Offered, n: usize, today: Date) -> String {
    let of = offered(one, today);
    match n {
        1 => format!("{of}, 1 bulb shows a stalk; no record says when it was started."),
        _ => format!("{of}, {n} bulbs show a stalk; no record says when they were started."),
    }
}

/// The same while it is worked out.
pub fn on_due_working(one: &Offered, today: Date) -> String {
    format!("{}, {}", offered(one, today), working())
}

/// What is said of bulbs that hardly show it in these days: `Hardly in these days`.
pub fn hardly(window: Window, today: Date) -> String {
    if window.from == window.to {
        format!("Hardly on {}", days(window, today))
    } else {
        format!("Hardly from {}", days(window, today))
    }
}

/// `Bench 2: 6 to 9 of 12 bulbs`.
pub fn in_window(name: &str, said: &InWindow, n_bulbs: usize) -> String {
    format!("{name}: {}", number(said, n_bulbs))
}

/// `At least 8 bulbs: 7 times in 10.`
pub fn at_least(k: usize, chance: f64) -> String {
    format!("At least {}: {}.", bulbs(k), chance_words(chance))
}

/// A chance in tens; never none and never all.
pub fn chance_words(chance: f64) -> String {
    if chance < 0.02 {
        return "hardly ever".to_owned();
    }
    if chance < 0.05 {
        return "less than 1 time in 20".to_owned();
    }
    if chance > 0.98 {
        return "nearly always".to_owned();
    }
    if chance > 0.95 {
        return "more than 19 times in 20".to_owned();
    }
    let tens = (chance * 10.0).round().clamp(1.0, 9.0);
    format!("{tens} {} in 10", if tens > 1.0 { "times" } else { "time" })
}

pub fn by_day(wanted: Wanted) -> String {
    format!("How many {} on each day", self::wanted(wanted))
}

pub fn day_heads() -> Vec<String> {
    ["Day", "Least", "Middle", "Most"].map(str::to_owned).to_vec()
}

/// A row of the table by day.
pub fn day_row(day: Date, counted: Counted, today: Date) -> Vec<String> {
    vec![date_short(day, today), counted.p10.to_string(), counted.p50.to_string(), counted.p90.to_string()]
}

/// What a group is called in a list; nothing for one that has no list.
pub fn group_name(of: Of, state: &State) -> Option<String> {
    match of {
        Of::Place(id) | Of::Lot(id) => Some(state.name_of(id).to_owned()),
        Of::Try(Attempt::Run(run)) => {
            let body = state.runs.get(&run)?.body.shown()?;
            Some(format!("{} ({})", state.name_of(body.trial), ordinal_try(body.ordinal)))
        }
        Of::Try(Attempt::Plan(plan)) => Some(state.forcings.get(&plan)?.shown()?.name.clone()),
        _ => None,
    }
}

/// A stage with its days. What may have come since the last look is said so, and not as a day gone by.
fn stage_and_days(one: &StageComing, today: Date) -> String {
    let (p10, p50, p90) = (one.dates.p10, one.dates.p50, one.dates.p90);
    let short = |day| date_short(day, today);
    let what = stage(one.stage);
    if p90 < today {
        format!("{what} by now, look again")
    } else if p50 < today {
        format!("{what} any day now, or already (until {})", short(p90))
    } else {
        let from = short(p10.max(today));
        format!("{what} {} ({from} to {})", short(p50), short(p90))
    }
}

/// `first flower 3 Dec (29 Nov to 9 Dec) · stays blind 1 time in 10`.
pub fn bulb_under(bulb: &BulbOutlook, today: Date) -> String {
    let mut parts: Vec<String> = bulb
        .coming
        .iter()
        .filter(|one| one.stage != Coming::Over)
        .take(2)
        .map(|one| stage_and_days(one, today))
        .collect();
    if bulb.blind > 0.02 {
        parts.push(format!("may stay without a stalk, {}", chance_words(bulb.blind)));
    }
    let from = |what: &str| format!("counts from {what}, {}", date_short(bulb.origin, today));
    match bulb.begins {
        Begins::Recorded => {}
        Begins::RestEnds => parts.push(from("the planned end of its rest")),
        Begins::RestAhead => parts.push(from("the planned end of a rest to come")),
        Begins::BroughtOn => parts.push(from("the day it is to be brought on")),
    }
    parts.join(" · ")
}

/// `12 bulbs are still in leaf and count from the planned end of a rest to come, 3 Mar to 17 Mar.`
pub fn planned_beginning((begins, n, first, last): (Begins, usize, Date, Date), today: Date) -> String {
    let (are, count) = if n == 1 { ("is", "counts") } else { ("are", "count") };
    let (stand, from) = match begins {
        Begins::RestEnds => ("at rest", "the planned end of it"),
        Begins::BroughtOn => ("still in leaf", "the day of bringing on, without a rest"),
        Begins::RestAhead | Begins::Recorded => ("still in leaf", "the planned end of a rest to come"),
    };
    let window = Window { from: first, to: last };
    format!("{} {are} {stand} and {count} from {from}, {}.", bulbs(n), days(window, today))
}

/// `not looked at since 3 Nov: look first`.
pub fn look_first(last: Option<Date>, today: Date) -> String {
    match last {
        Some(day) => format!("not looked at since {}: look first", date_short(day, today)),
        None => "not looked at since it was started: look first".to_owned(),
    }
}

pub fn dates_of_every_bulb() -> String {
    "Dates of every bulb".to_owned()
}

pub fn dates_heads() -> Vec<String> {
    ["Bulb", "Where", "What is next", "In the window"].map(str::to_owned).to_vec()
}

pub fn stage(stage: Coming) -> &'static str {
    match stage {
        Coming::ScapeInSight => "stalk in sight",
        Coming::FitToSell => "fit to sell",
        Coming::FirstFlower => "first flower",
        Coming::Over => "over",
    }
}

pub fn unforeseen(n: usize) -> String {
    format!(
        "{} here without a forecast: at rest without an end, over, or neither potted, brought to light nor in a plan.",
        bulbs(n)
    )
}

/// Bulbs that are on their way and not counted, and what counts them.
pub fn started_unknown(n: usize) -> String {
    let (show, was) = if n == 1 { ("shows", "it was") } else { ("show", "they were") };
    format!(
        "{} {show} a stalk or flowers without being counted: no record says when {was} started. Record “Pot up” or “End the rest” with its true day.",
        bulbs(n)
    )
}

/// Bulbs of the plan whose days are shown.
pub fn not_counted(n: usize) -> String {
    format!(
        "{} of this plan {} not counted here: over, or showing a stalk of which nothing says when it was started.",
        bulbs(n),
        if n == 1 { "is" } else { "are" }
    )
}

pub fn how_lines(method: &str, sampling: Sampling) -> Vec<String> {
    vec![
        "Each step (rest to stalk in sight, to fit to sell, to first flower, to over) takes a time whose logarithm is normal, with effects of treatment, lot and try that are partly pooled; a share stays without a stalk. Looks bound each day from both sides, and waiting without a stalk counts.".to_owned(),
        if !sampling.is_needed() {
            format!("Method {method}. No try of this nursery says anything yet, so that nothing had to be drawn from it.")
        } else {
            format!(
            "Method {method}: {} draws by a seeded Gibbs sampler, worth at least {} independent ones; the chains agree to R-hat {} (Gelman & Rubin 1992).{}",
            whole(sampling.n_draws as i64),
            decimal(sampling.least_effective, 0),
            decimal(sampling.largest_r_hat, 3),
            if sampling.is_enough() {
                String::new()
            } else {
                format!(" It should be 400 or more, and R-hat below {}.", decimal(1.05, 2))
            }
            )
        },
        "Until you have tries of your own, times start from published figures: mostly trade pages and single reports, few trials. With every try yours count for more.".to_owned(),
    ]
}
