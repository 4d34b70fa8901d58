//! Words of the plan back from a date.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Coming, Dates, Sampling, Wanted, Window};
use bloomdue_core::ledger::body::{Forcing, GoalStage, RestWay};
use bloomdue_core::plan::{
    Advice, Choice, INSPECT_DAYS, Lacks, METHOD, Moved, Nearest, Now, Plan, Readiness, WITHER_DAYS, Wish,
};

use super::coming::{chance_words, days, wanted};
use super::en::{bulbs, circumference, date_short, plural, week};

pub(crate) fn title() -> &'static str {
    "Plan back from the date"
}

/// `Lantern Fair: 18 Dec to 20 Dec · 20 fit to sell · 34 bulbs`.
pub(crate) fn saved_under(forcing: &Forcing, today: Date) -> String {
    let n: usize = forcing.batches.iter().map(|batch| batch.bulbs.len()).sum();
    let window = Window { from: forcing.from, to: forcing.to };
    let stage = match forcing.stage {
        GoalStage::FirstFlower => Wanted::InFlower,
        _ => Wanted::FitToSell,
    };
    format!("{} · {} {} · {}", days(window, today), forcing.wanted, wanted(stage), bulbs(n))
}

pub(crate) fn saved_plans() -> &'static str {
    "Plans that were saved"
}

pub(crate) fn first_day() -> &'static str {
    "First day"
}

pub(crate) fn last_day() -> &'static str {
    "Last day"
}

/// `week 51 to week 52`.
pub(crate) fn weeks(window: Window) -> String {
    let (first, last) = (week(window.from), week(window.to));
    if first == last {
        super::trials::upper_first(&first)
    } else {
        format!("{} to {last}", super::trials::upper_first(&first))
    }
}

pub(crate) fn move_window(days: i64) -> &'static str {
    if days < 0 { "A week earlier" } else { "A week later" }
}

pub(crate) fn at_least() -> &'static str {
    "At least how many bulbs"
}

pub(crate) fn what_counts() -> &'static str {
    "In these days they are to be"
}

pub(crate) fn how_sure() -> &'static str {
    "How sure"
}

pub(crate) fn sure(permille: u32) -> &'static str {
    match permille {
        800 => "8 times in 10",
        900 => "9 times in 10",
        _ => "19 times in 20",
    }
}

pub(crate) fn hand_title() -> &'static str {
    "Bulbs at hand"
}

/// `12 bulbs, in leaf now. 10 weeks of rest.`
pub(crate) fn hand_under(wish: &Wish, today: Date) -> String {
    let now = match wish.now {
        Now::RestingSince(since) => format!("at rest since {}", date_short(since, today)),
        Now::InLeaf => "in leaf now".to_owned(),
    };
    let rest = match wish.rest_weeks {
        0 => "no rest".to_owned(),
        weeks => format!("{} of rest", plural(weeks as usize, "week", "weeks")),
    };
    format!("{}, {now}, {rest}", bulbs(wish.at_hand as usize))
}

pub(crate) fn which_bulbs() -> &'static str {
    "Which bulbs"
}

pub(crate) fn by_records() -> &'static str {
    "From the records"
}

pub(crate) fn by_number() -> &'static str {
    "Only a number"
}

pub(crate) fn n_at_hand() -> &'static str {
    "How many are at hand"
}

pub(crate) fn n_at_hand_hint() -> &'static str {
    "A number alone cannot be saved as work to do: for that, tick the bulbs."
}

pub(crate) fn all_ready(n: usize) -> String {
    format!("All that are ready ({n})")
}

pub(crate) fn all_resting(n: usize) -> String {
    format!("All at rest ({n})")
}

pub(crate) fn tick_none() -> &'static str {
    "None"
}

pub(crate) fn n_ticked(n: usize) -> String {
    format!("{} ticked.", bulbs(n))
}

pub(crate) fn fit_to_force(n: usize) -> String {
    format!("Fit to force ({n})")
}

pub(crate) fn resting(n: usize) -> String {
    format!("At rest already ({n})")
}

pub(crate) fn not_ready(n: usize) -> String {
    format!("Something lacks or is not known ({n})")
}

pub(crate) fn busy(n: usize) -> String {
    format!(
        "{} more {} in a running try, in another plan, or being forced already.",
        n,
        if n == 1 { "is" } else { "are" }
    )
}

pub(crate) fn readiness_hint() -> &'static str {
    "Fit to force: 6 months in leaf since the last flower (trade page), 4 leaves (trial), 22 cm around (trial), and not blind in the last cycle (common practice). What is not known is not held against a bulb. You decide."
}

fn lack(lack: Lacks) -> &'static str {
    match lack {
        Lacks::DaysInLeaf => "too few months in leaf",
        Lacks::Leaves => "too few leaves",
        Lacks::Girth => "too thin",
        Lacks::WasBlind => "stayed blind last time",
        Lacks::Watched => "to be watched or put aside",
        Lacks::UnderWay => "being forced",
        Lacks::Rests => "at rest",
        Lacks::InATry => "in a running try",
        Lacks::Planned => "in another plan",
    }
}

/// What is known of a bulb, and what it lacks.
pub(crate) fn bulb_under(one: &Readiness) -> String {
    let mut parts: Vec<String> = Vec::new();
    parts.extend(one.days_in_leaf.map(|days| format!("{} in leaf", plural((days / 30) as usize, "month", "months"))));
    parts.extend(one.leaves.map(|n| plural(n as usize, "leaf", "leaves")));
    let around = |mm| format!("{} around", circumference((mm, mm)));
    parts.extend(one.circumference_mm.map(around));
    parts.extend(one.last_scapes.map(|n| format!("{} last time", plural(n, "stalk", "stalks"))));
    if parts.is_empty() {
        parts.push("nothing known yet".to_owned());
    }
    let lacks = one.lacks.iter().filter(|known| **known != Lacks::Rests);
    parts.extend(lacks.map(|known| lack(*known).to_owned()));
    parts.join(" · ")
}

pub(crate) fn how_now() -> &'static str {
    "How they stand now"
}

pub(crate) fn in_leaf() -> &'static str {
    "In leaf"
}

pub(crate) fn at_rest() -> &'static str {
    "At rest since"
}

pub(crate) fn since() -> &'static str {
    "At rest since"
}

pub(crate) fn by_the_records(n_in_leaf: usize, n_resting: usize) -> String {
    format!(
        "By the records {n_in_leaf} are in leaf and {n_resting} at rest. A plan takes all of them as standing alike."
    )
}

pub(crate) fn rest_weeks() -> &'static str {
    "Weeks of rest"
}

pub(crate) fn like_what() -> &'static str {
    "Treated as in earlier tries"
}

pub(crate) fn like_none() -> &'static str {
    "As in none of them"
}

pub(crate) fn rest_how() -> &'static str {
    "How they are rested"
}

pub(crate) fn way(way: RestWay) -> &'static str {
    match way {
        RestWay::Cool => "dry and cool",
        RestWay::Warm => "dry and warm",
        RestWay::None => "no rest",
    }
}

pub(crate) fn own_way() -> &'static str {
    "as we do it"
}

pub(crate) fn rest_hint() -> &'static str {
    "Published pages disagree here, so the choice is yours. Only the weeks enter the numbers, not the warmth."
}

pub(crate) fn what_is_published() -> &'static str {
    "What is published on each"
}

pub(crate) fn speaks_for() -> &'static str {
    "speaks for it"
}

pub(crate) fn speaks_against() -> &'static str {
    "speaks against it"
}

pub(crate) fn beyond() -> &'static str {
    "Days after such a rest are hardly published: these numbers are stretched from rests of 6 to 15 weeks."
}

pub(crate) fn which_lot() -> &'static str {
    "Lot"
}

pub(crate) fn any_lot() -> &'static str {
    "any, or a new one"
}

pub(crate) fn batches() -> &'static str {
    "Started"
}

pub(crate) fn n_batches(n: u32) -> String {
    match n {
        1 => "all at once".to_owned(),
        n => format!("in {n} batches, a week apart"),
    }
}

pub(crate) fn digits() -> &'static str {
    "Type a number."
}

pub(crate) fn choose_day() -> &'static str {
    "Choose the day."
}

/// The sentence first said.
pub(crate) fn sentence(plan: &Plan, wish: &Wish) -> String {
    let wanted = wanted(wish.stage);
    if plan.met {
        format!(
            "Start {}: at least {} will be {wanted} {}.",
            bulbs(plan.to_start as usize),
            wish.wanted,
            chance_words(plan.chance)
        )
    } else {
        format!(
            "Not as surely as asked: if all {} are started, at least {} are {wanted} {}.",
            bulbs(wish.at_hand as usize),
            wish.wanted,
            chance_below(plan.chance, wish.assurance)
        )
    }
}

/// A chance that is less than was asked; rounded to tens it may read the same.
fn chance_below(chance: f64, asked: f64) -> String {
    let words = chance_words(chance);
    if words == sure((asked * 1000.0).round() as u32) { format!("not quite {words}") } else { words }
}

pub(crate) fn assured(plan: &Plan, wish: &Wish) -> Option<String> {
    (plan.met && plan.assured > wish.wanted)
        .then(|| format!("With so many started, even {} come as surely as asked.", plan.assured))
}

pub(crate) fn nearest_title() -> &'static str {
    "What can be met"
}

pub(crate) fn nearest(near: &Nearest, wish: &Wish, today: Date) -> String {
    let window = |window: Window| format!("{}, {}", days(window, today), weeks(window).to_lowercase());
    match near {
        Nearest::Fewer(n) => format!("{n} in the same days"),
        Nearest::Later(later) => format!("{} later: {}", wish.wanted, window(*later)),
        Nearest::Wider(wider) => format!("{} in more days: {}", wish.wanted, window(*wider)),
        Nearest::MoreBulbs(n) => format!("{} with {}", wish.wanted, bulbs(*n as usize)),
    }
}

pub(crate) fn nothing_near() -> &'static str {
    "Nothing near it can be met either: take more days, a later date or more bulbs."
}

pub(crate) fn what_to_do() -> &'static str {
    "What to do, and when"
}

/// `First batch: 12 bulbs`.
pub(crate) fn batch(at: usize, n: u32) -> String {
    format!("Batch {}: {}", at + 1, bulbs(n as usize))
}

pub(crate) fn day_heads() -> Vec<String> {
    ["What", "Day", "Week"].map(str::to_owned).to_vec()
}

/// A day with its week; one that is past is marked.
pub(crate) fn day_row(what: &str, day: Date, today: Date) -> Vec<String> {
    let past = if day < today { " (past)" } else { "" };
    vec![what.to_owned(), format!("{}{past}", day_near(day, today)), week_number(day)]
}

/// A day of the coming months, without its year.
fn day_near(day: Date, today: Date) -> String {
    if (0..330).contains(&today.days_until(day)) {
        format!("{} {}", day.day(), super::en::month_short(day))
    } else {
        date_short(day, today)
    }
}

/// The name of a plan that was given none.
pub(crate) fn name_of(today: Date) -> String {
    format!("Plan of {}", date_short(today, today))
}

fn week_number(day: Date) -> String {
    day.iso_week().week.to_string()
}

pub(crate) fn picture_hint() -> &'static str {
    "From today on. Lines hold 8 of 10 cases, with a mark in the middle, if that stage comes; the due days are shaded. The dates stand below."
}

pub(crate) fn stop_water() -> &'static str {
    "Stop water"
}

pub(crate) fn cut_back() -> &'static str {
    "Cut back, lay to rest"
}

pub(crate) fn rests_since() -> &'static str {
    "At rest since"
}

pub(crate) fn inspect() -> &'static str {
    "Inspect"
}

/// `Inspected, 8 bulbs`.
pub(crate) fn inspected(n: u32, n_all: u32) -> String {
    if n == n_all { "Inspected".to_owned() } else { format!("Inspected, {}", bulbs(n as usize)) }
}

/// A day on which something was done.
pub(crate) fn done_row(what: &str, day: Date, today: Date) -> Vec<String> {
    vec![what.to_owned(), format!("{} (done)", date_short(day, today)), week_number(day)]
}

pub(crate) fn inspect_next() -> &'static str {
    "Inspect next"
}

pub(crate) fn rest_and_inspect() -> &'static str {
    "Rest, with its inspections"
}

pub(crate) fn pot_up() -> &'static str {
    "Pot up, bring into light"
}

pub(crate) fn first_look() -> &'static str {
    "First look for stalks"
}

pub(crate) fn coming_heads() -> Vec<String> {
    ["If it comes", "1 in 10 by", "Half by", "9 in 10 by"].map(str::to_owned).to_vec()
}

pub(crate) fn coming_caption() -> &'static str {
    "What comes when"
}

pub(crate) fn coming_row(stage: Coming, dates: &Dates, today: Date) -> Vec<String> {
    let what = match stage {
        Coming::ScapeInSight => "stalk in sight",
        Coming::FitToSell => "fit to sell",
        Coming::FirstFlower => "in flower",
        Coming::Over => "over",
    };
    let day = |on: Date| format!("{}, {}", day_near(on, today), week(on));
    vec![what.to_owned(), day(dates.p10), day(dates.p50), day(dates.p90)]
}

pub(crate) fn a_week_title() -> &'static str {
    "What a week sooner or later does"
}

/// `All work a week later, for the same due days: 7 times in 10. To be as sure as asked, start 41 bulbs.`
pub(crate) fn moved(moved: &Moved, n_started: u32) -> String {
    let by = match moved.days {
        -7 => "a week sooner",
        7 => "a week later",
        _ => "two weeks later",
    };
    if !moved.possible {
        return format!("All work {by}: no time is left for that.");
    }
    let need = match moved.to_start {
        Some(n) if n == n_started => String::new(),
        Some(n) => format!(" To be as sure as asked, start {}.", bulbs(n as usize)),
        None => " To be as sure as asked, all bulbs at hand would not be enough.".to_owned(),
    };
    format!("All work {by}, for the same due days: {}.{need}", chance_words(moved.chance))
}

pub(crate) fn aid() -> &'static str {
    "A plan is an aid, not a guarantee. Follow local rules and labels."
}

pub(crate) fn how_lines(sampling: Sampling) -> Vec<String> {
    vec![
        format!(
            "Many possible new tries are drawn from what is known, each with its own pace, weather and share of blind bulbs that all its bulbs share. For each day on which the rest could end, each says how likely one bulb is in the wanted stage within the days. The chance to reach the number is the mean over them; the day is the one with the best chance, the number to start the smallest that is sure enough. Method {METHOD}."
        ),
        format!(
            "Days before are counted back: {WITHER_DAYS} days from the last water to dry leaves, an inspection every {INSPECT_DAYS} days of rest (common practice, no source). Weeks of rest are your choice."
        ),
        if sampling.is_needed() {
            format!(
                "The draws: {} by a seeded Gibbs sampler, worth at least {:.0} independent ones, R-hat {:.3}.",
                sampling.n_draws, sampling.least_effective, sampling.largest_r_hat
            )
        } else {
            "No try of this nursery says anything yet, so that nothing had to be drawn from it: all numbers are those of published ranges.".to_owned()
        },
    ]
}

pub(crate) fn save_title() -> &'static str {
    "Take it as it is"
}

pub(crate) fn name() -> &'static str {
    "What the days are for"
}

pub(crate) fn save(n: u32) -> String {
    format!("Save as work to do, for {}", bulbs(n as usize))
}

pub(crate) fn save_hint() -> &'static str {
    "Plain forcing without a trial: each day falls due for these bulbs, and moves when you move the date. The readiest of the ticked bulbs are taken."
}

pub(crate) fn not_saved_yet() -> &'static str {
    "Not saved yet: what you changed moves the days below. Due and the jobs go by the days saved before."
}

pub(crate) fn save_moved() -> &'static str {
    "Save the new days"
}

pub(crate) fn see_coming() -> &'static str {
    "What is coming in these days"
}

pub(crate) fn see_jobs() -> &'static str {
    "Its jobs"
}

pub(crate) fn saved() -> &'static str {
    "Plan saved: its days will fall due"
}

pub(crate) fn days_moved() -> &'static str {
    "Moved: what is not done yet has new days"
}

pub(crate) fn give_up() -> &'static str {
    "Give this plan up"
}

pub(crate) fn given_up() -> &'static str {
    "Plan given up"
}

pub(crate) fn under_way() -> &'static str {
    "These bulbs are under way: their rest has ended, so that there is nothing left to count back. What comes of them stands under What is coming."
}

pub(crate) fn no_such_plan() -> &'static str {
    "This plan is not in these records, or was given up."
}

pub(crate) fn next_title() -> &'static str {
    "Next try"
}

pub(crate) fn next_hint() -> &'static str {
    "Rather learn something by it? The bulbs at hand can be split into groups, always with one that gets what you would do anyway."
}

pub(crate) fn next_ask() -> &'static str {
    "What would be worth trying"
}

fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Control => "Keep, to compare with",
        Advice::Keep => "Keep",
        Advice::Drop => "Drop",
        Advice::Add => "Add",
        Advice::LeaveOut => "Leave out",
    }
}

/// `Keep: weeks of rest: 8 · 12 bulbs`.
pub(crate) fn choice(choice: &Choice, treatments: &[String]) -> String {
    let what = choice
        .treatment
        .and_then(|at| treatments.get(at as usize))
        .cloned()
        .unwrap_or_else(|| format!("{} weeks of rest", choice.rest_weeks));
    let n = if choice.n > 0 { format!(" · {}", bulbs(choice.n as usize)) } else { String::new() };
    format!("{}: {what}{n}", advice(choice.advice))
}

/// Why.
pub(crate) fn choice_under(choice: &Choice, wish: &Wish) -> String {
    let best = chance_words(choice.best);
    let why = match choice.advice {
        Advice::Control => format!("What would be done anyway; the best of all {best}."),
        Advice::Keep => format!("It could be the best of all: {best}."),
        Advice::Drop if choice.best < 0.05 => format!("It is the best of all {best}."),
        Advice::Drop => {
            format!("It could be the best of all, {best}, but more groups would be too small to tell anything.")
        }
        Advice::Add => format!("Not tried here yet, and it could be the best of all: {best}."),
        Advice::LeaveOut if choice.best < 0.15 => {
            format!("Not tried here yet, and the best of all {best}.")
        }
        Advice::LeaveOut => format!(
            "Not tried here yet; it could be the best of all, {best}, but more groups would be too small to tell anything."
        ),
    };
    let teach = match choice.unsure {
        sd if sd > 0.18 => "A try of it would teach much.",
        sd if sd > 0.09 => "A try of it would teach something.",
        _ => "A try of it would teach little more.",
    };
    format!("{why} If all bulbs had it, {} would be reached {}. {teach}", wish.wanted, chance_words(choice.chance))
}

pub(crate) fn make_try() -> &'static str {
    "Make it a try"
}

pub(crate) fn question(name: &str) -> String {
    match name.trim() {
        "" => "Which brings the most bulbs in time?".to_owned(),
        name => format!("Which brings the most bulbs in time for {name}?"),
    }
}

pub(crate) fn same_again(question: &str) -> String {
    format!("Same again: {question}")
}
