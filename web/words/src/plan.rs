//! Words of the plan back from a date.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Coming, Dates, Sampling, Wanted, Window};
use bloomdue_core::ledger::body::{Forcing, GoalStage, RestWay};
use bloomdue_core::plan::{
    Advice, CameOf, Choice, INSPECT_DAYS, Lacks, METHOD, Moved, Nearest, Plan, Readiness, WITHER_DAYS, Wish,
};
use bloomdue_core::units;

use crate::coming::{chance_words, days, wanted};
use crate::common::{bulbs, circumference, plural, slots};
use crate::dates::{date_short, week};
use crate::form::wish::Typed;
use crate::formats::{self, decimal};
use crate::table::Table;

labels! {
    title = "Plan back from the date";
    saved_plans = "Plans that were saved";
    first_day = "First day";
    last_day = "Last day";
    at_least = "At least how many bulbs";
    what_counts = "In these days they are to be";
    how_sure = "How sure";
    which_bulbs = "Which bulbs";
    by_records = "From the records";
    by_number = "Only a number";
    n_at_hand = "How many are at hand";
    n_at_hand_hint = "A number alone cannot be saved as work to do: for that, tick the bulbs.";
    tick_none = "None";
    how_now = "How they stand now";
    in_leaf = "In leaf";
    at_rest = "At rest since";
    since = "At rest since";
    rest_weeks = "Weeks of rest";
    like_what = "Treated as in earlier tries";
    like_none = "As in none of them";
    rest_how = "How they are rested";
    own_way = "as we do it";
    rest_hint =
        "Published pages disagree here, so the choice is yours. Only the weeks enter the numbers, not the warmth.";
    what_is_published = "What is published on each";
    speaks_for = "speaks for it";
    speaks_against = "speaks against it";
    beyond = "Days after such a rest are hardly published: these numbers are stretched from rests of 6 to 15 weeks.";
    which_lot = "Lot";
    any_lot = "any, or a new one";
    batches = "Started";
    digits = "Type a number.";
    choose_day = "Choose the day.";
    nearest_title = "What can be met";
    nothing_near = "Nothing near it can be met either. Choose later days, or start more bulbs.";
    ask_title = "What you ask";
    working_it_out = "Counting back from the days.";
    what_signs_mean = "What the signs mean";
    asked_mark = "asked";
    sure_mark = "sure";
    what_to_do = "What to do, and when";
    picture_hint =
        "From today on. Lines hold 8 of 10 cases, with a mark in the middle, if that stage comes; the due days \
         are shaded. The dates stand below.";
    stop_water = "Stop water";
    cut_back = "Cut back, lay to rest";
    rests_since = "At rest since";
    inspect = "Inspect";
    inspect_next = "Inspect next";
    rest_and_inspect = "Rest, with its inspections";
    pot_up = "Pot up, bring into light";
    first_look = "First look for stalks";
    coming_caption = "What comes when";
    a_week_title = "What a week sooner or later does";
    aid = "A plan is an aid, not a guarantee. Follow local rules and labels.";
    save_title = "Take it as it is";
    name = "What the days are for";
    save_hint =
        "Plain forcing without a trial: each day falls due for these bulbs, and moves when you move the date. \
         The readiest of the ticked bulbs are taken.";
    not_saved_yet =
        "Not saved yet: what you changed moves the days below. Due and the jobs go by the days saved before.";
    save_moved = "Save the new days";
    see_coming = "What is coming in these days";
    see_jobs = "Its jobs";
    saved = "Plan saved: its days will fall due";
    saved_with_rest = "Plan saved, and that its bulbs are at rest";
    days_moved = "Moved: what is not done yet has new days";
    give_up = "Give this plan up";
    given_up = "Plan given up";
    under_way =
        "These bulbs are under way: their rest has ended, so that there is nothing left to count back. What \
         comes of them stands under What is coming.";
    no_such_plan = "This plan is not in these records, or was given up.";
    next_title = "Next try";
    next_hint =
        "Most bulbs get what is best as far as is known; a few may teach what is better in later seasons, always \
         beside some that get what you would do anyway.";
    next_ask = "How to spend the bulbs";
    make_try = "Make it a try";
}

/// What counts as fit to force.
pub fn readiness_hint() -> String {
    format!(
        "Our rule of thumb; no source gives these limits: 6 months in leaf since the last flower, 4 leaves, {} around, not blind in the last cycle. Small-flowered kinds flower smaller. What is not known is not held against a bulb.",
        formats::length(220)
    )
}

/// `Lantern Fair: 18 Dec to 20 Dec · 20 fit to sell · 34 bulbs`.
pub fn saved_under(forcing: &Forcing, today: Date) -> String {
    let n: usize = forcing.batches.iter().map(|batch| batch.bulbs.len()).sum();
    let window = Window { from: forcing.from, to: forcing.to };
    let stage = match forcing.stage {
        GoalStage::FirstFlower => Wanted::InFlower,
        _ => Wanted::FitToSell,
    };
    format!("{} · {} {} · {}", days(window, today), forcing.wanted, wanted(stage), bulbs(n))
}

/// What came of a plan whose days are over: `18 to 20 Dec are over: 7 of 12 bulbs were in flower, 9 were wanted.`
pub fn came_of(came: &CameOf, n_wanted: u32, window: Window, today: Date) -> Vec<String> {
    let were = |n: usize| if n == 1 { "was" } else { "were" };
    let CameOf { wanted: stage, n_bulbs, n_came, n_unsaid } = *came;
    let over = if window.from == window.to { "is over" } else { "are over" };
    let mut lines = vec![format!(
        "{} {over}: {n_came} of {} {} {}, {n_wanted} {} wanted.",
        days(window, today),
        bulbs(n_bulbs),
        were(n_came),
        wanted(stage),
        were(n_wanted as usize),
    )];
    if n_unsaid > 0 {
        lines.push(format!("Of {} the records can't say it: not looked at in time, or gone before.", bulbs(n_unsaid)));
    }
    lines
}

/// `week 51 to week 52`.
pub fn weeks(window: Window) -> String {
    let (first, last) = (week(window.from), week(window.to));
    if first == last {
        crate::trials::upper_first(&first)
    } else {
        format!("{} to {last}", crate::trials::upper_first(&first))
    }
}

pub fn move_window(days: i64) -> &'static str {
    if days < 0 { "A week earlier" } else { "A week later" }
}

pub fn sure(permille: u32) -> &'static str {
    match permille {
        800 => "8 times in 10",
        900 => "9 times in 10",
        _ => "19 times in 20",
    }
}

/// A part of what is asked that can be changed where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Asked {
    /// Which bulbs, or how many.
    Bulbs,
    /// Whether they are in leaf or at rest.
    Stand,
    /// How and how long they are rested.
    Rest,
    /// In how many batches.
    Batches,
    /// How many are wanted.
    Wanted,
    /// What they are to be.
    Stage,
    /// On which days.
    Days,
    /// How sure.
    Sure,
}

/// A piece of the sentence of what is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Words that stand as they are.
    Text(&'static str),
    /// Words that lead to the fields of a part.
    Ask(Asked, String),
}

/// What is asked, as one sentence whose parts can be changed; a part that is not typed yet, or makes no sense, is a dash.
pub fn asked(typed: &Typed, today: Date) -> Vec<Piece> {
    let number = |text: &str| units::whole(text).ok().and_then(|n| usize::try_from(n).ok());
    let or_dash = |text: Option<String>| text.unwrap_or_else(|| "–".to_owned());
    let at_hand = match typed.by_number {
        0 => Some(typed.ticked.len()),
        _ => number(&typed.number),
    };
    let since = typed.since.parse::<Date>().ok();
    let stand = match (typed.resting, since) {
        (0, _) => "in leaf".to_owned(),
        (_, Some(since)) => format!("at rest since {}", day_near(since, today)),
        (_, None) => "at rest".to_owned(),
    };
    let rest = number(&typed.weeks).map(|weeks| match weeks {
        0 => "no rest".to_owned(),
        weeks => format!("{} of rest", plural(weeks, "week", "weeks")),
    });
    let stage = if typed.stage == 0 { Wanted::FitToSell } else { Wanted::InFlower };
    let window = typed.window().ok().map(|window| match window.from == window.to {
        true => format!("on {}", day_near(window.to, today)),
        false => format!("from {}", days_near(window, today)),
    });
    let of = |part: &str| {
        Some(match part {
            "bulbs" => (Asked::Bulbs, or_dash(at_hand.map(bulbs))),
            "stand" => (Asked::Stand, stand.clone()),
            "rest" => (Asked::Rest, or_dash(rest.clone())),
            "batches" => (Asked::Batches, n_batches(typed.batches)),
            "wanted" => (Asked::Wanted, or_dash(number(&typed.wanted).map(|n| n.to_string()))),
            "stage" => (Asked::Stage, wanted(stage).to_owned()),
            "days" => (Asked::Days, or_dash(window.clone())),
            "sure" => (Asked::Sure, sure(typed.sure_permille).to_owned()),
            _ => return None,
        })
    };
    let mut pieces = Vec::new();
    for (text, part) in slots(ASKED) {
        pieces.push(Piece::Text(text));
        pieces.extend(part.and_then(of).map(|(part, words)| Piece::Ask(part, words)));
    }
    pieces
}

/// The sentence of what is asked; in braces, the parts that can be changed.
const ASKED: &str = "From {bulbs}, {stand}, {rest}, started {batches}: at least {wanted} {stage} {days}, {sure}.";

/// What the steps of the picture say.
pub fn ladder_under(plan: &Plan, wish: &Wish) -> String {
    let n = plan.to_start as usize;
    let wanted = wanted(wish.stage);
    let how = match n {
        1 => format!("Height: how often the one bulb is {wanted} in these days."),
        n => format!("Height: how often at least so many of {n} are {wanted} in these days."),
    };
    let sure = sure((wish.assurance * 1000.0).round() as u32);
    match plan.assured {
        0 => format!("{how} Not one is sure {sure}."),
        n => format!("{how} Count on {n}, {sure}."),
    }
}

/// The steps as numbers.
pub fn ladder_table(plan: &Plan) -> Table {
    Table {
        caption: "At least so many".to_owned(),
        heads: ["At least", "Of 100 times"].map(str::to_owned).to_vec(),
        rows: plan.ladder.iter().map(|(n, chance)| vec![n.to_string(), decimal(chance * 100.0, 0)]).collect(),
    }
}

pub fn all_ready(n: usize) -> String {
    format!("All that are ready ({n})")
}

pub fn all_resting(n: usize) -> String {
    format!("All at rest ({n})")
}

pub fn n_ticked(n: usize) -> String {
    format!("{} ticked.", bulbs(n))
}

pub fn fit_to_force(n: usize) -> String {
    format!("Fit to force ({n})")
}

pub fn resting(n: usize) -> String {
    format!("At rest already ({n})")
}

pub fn not_ready(n: usize) -> String {
    format!("Something lacks or is not known ({n})")
}

pub fn busy(n: usize) -> String {
    format!(
        "{} more {} in a running try, in another plan, or being forced already.",
        n,
        if n == 1 { "is" } else { "are" }
    )
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
pub fn bulb_under(one: &Readiness) -> String {
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

pub fn by_the_records(n_in_leaf: usize, n_resting: usize) -> String {
    let are = if n_in_leaf == 1 { "is" } else { "are" };
    format!(
        "By the records {n_in_leaf} {are} in leaf and {n_resting} at rest. A plan takes all of them as standing alike."
    )
}

pub fn way(way: RestWay) -> &'static str {
    match way {
        RestWay::Cool => "dry and cool",
        RestWay::Warm => "dry and warm",
        RestWay::None => "no rest",
    }
}

pub fn n_batches(n: u32) -> String {
    match n {
        1 => "all at once".to_owned(),
        n => format!("in {n} batches, a week apart"),
    }
}

/// The sentence first said.
pub fn sentence(plan: &Plan, wish: &Wish) -> String {
    let wanted = wanted(wish.stage);
    if plan.met {
        format!(
            "Start {}: at least {} will be {wanted} {}.",
            bulbs(plan.to_start as usize),
            wish.wanted,
            chance_words(plan.chance)
        )
    } else {
        let all = match wish.at_hand {
            1 => "the one bulb".to_owned(),
            n => format!("all {}", bulbs(n as usize)),
        };
        format!(
            "This can't be met as surely as asked. With {all} started, at least {} {wanted}: {}.",
            wish.wanted,
            chance_below(plan.chance, wish.assurance)
        )
    }
}

/// Why days cannot be met for which the bulbs come too late however many there are; nothing where time is not what lacks.
pub fn too_near(plan: &Plan, wish: &Wish, today: Date) -> Option<String> {
    let pot_up = plan.lots.iter().map(|lot| lot.pot_up).min()?;
    let late = !plan.met && pot_up > wish.window.to;
    late.then(|| {
        format!("These days are too near: the rest can't end before {}. Choose later days.", date_short(pot_up, today))
    })
}

/// A chance that is less than was asked; rounded to tens it may read the same.
fn chance_below(chance: f64, asked: f64) -> String {
    let words = chance_words(chance);
    if words == sure((asked * 1000.0).round() as u32) { format!("not quite {words}") } else { words }
}

pub fn assured(plan: &Plan, wish: &Wish) -> Option<String> {
    (plan.met && plan.assured > wish.wanted)
        .then(|| format!("With so many started, even {} come as surely as asked.", plan.assured))
}

pub fn nearest(near: &Nearest, wish: &Wish, today: Date) -> String {
    let window = |window: Window| format!("{}, {}", days_near(window, today), weeks(window).to_lowercase());
    match near {
        Nearest::Fewer(n) => format!("Want fewer: {n} in the same days"),
        Nearest::Later(later) => format!("Choose later days: {} from {}", wish.wanted, window(*later)),
        Nearest::Wider(wider) => format!("Allow more days: {} from {}", wish.wanted, window(*wider)),
        Nearest::MoreBulbs(n) => format!("Start more bulbs: {} with {}", wish.wanted, bulbs(*n as usize)),
    }
}

/// `First batch: 12 bulbs`.
pub fn batch(at: usize, n: u32) -> String {
    format!("Batch {}: {}", at + 1, bulbs(n as usize))
}

pub fn day_heads() -> Vec<String> {
    ["What", "Day", "Week"].map(str::to_owned).to_vec()
}

/// A day with its week; one that is past is marked.
pub fn day_row(what: &str, day: Date, today: Date) -> Vec<String> {
    let past = if day < today { " (past)" } else { "" };
    vec![what.to_owned(), format!("{}{past}", day_near(day, today)), week_number(day)]
}

/// A day of the coming months, without its year.
fn day_near(day: Date, today: Date) -> String {
    if (0..330).contains(&today.days_until(day)) { formats::day_short(day, false) } else { date_short(day, today) }
}

/// Days of the coming months, without their year.
fn days_near(window: Window, today: Date) -> String {
    if window.from == window.to {
        return day_near(window.to, today);
    }
    format!("{} to {}", day_near(window.from, today), day_near(window.to, today))
}

/// The name of a plan that was given none.
pub fn name_of(today: Date) -> String {
    format!("Plan of {}", date_short(today, today))
}

fn week_number(day: Date) -> String {
    day.iso_week().week.to_string()
}

/// `Inspected, 8 bulbs`.
pub fn inspected(n: u32, n_all: u32) -> String {
    if n == n_all { "Inspected".to_owned() } else { format!("Inspected, {}", bulbs(n as usize)) }
}

/// A day on which something was done.
pub fn done_row(what: &str, day: Date, today: Date) -> Vec<String> {
    vec![what.to_owned(), format!("{} (done)", date_short(day, today)), week_number(day)]
}

pub fn coming_heads() -> Vec<String> {
    ["If it comes", "1 in 10 by", "Half by", "9 in 10 by"].map(str::to_owned).to_vec()
}

pub fn coming_row(stage: Coming, dates: &Dates, today: Date) -> Vec<String> {
    let what = match stage {
        Coming::ScapeInSight => "stalk in sight",
        Coming::FitToSell => "fit to sell",
        Coming::FirstFlower => "in flower",
        Coming::Over => "over",
    };
    let day = |on: Date| format!("{}, {}", day_near(on, today), week(on));
    vec![what.to_owned(), day(dates.p10), day(dates.p50), day(dates.p90)]
}

/// `All work a week later, for the same due days: 7 times in 10. To be as sure as asked, start 41 bulbs.`
pub fn moved(moved: &Moved, n_started: u32) -> String {
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

pub fn how_lines(sampling: Sampling) -> Vec<String> {
    vec![
        format!(
            "Many possible new tries are drawn from what is known, each with its own pace, weather and share of blind bulbs that all its bulbs share. For each day on which the rest could end, each says how likely one bulb is in the wanted stage within the days. The chance to reach the number is the mean over them; the day is the one with the best chance, the number to start the smallest that is sure enough. Method {METHOD}."
        ),
        format!(
            "Days before are counted back: {WITHER_DAYS} days from the last water to dry leaves, an inspection every {INSPECT_DAYS} days of rest (common practice, no source). Weeks of rest are your choice."
        ),
        if sampling.is_needed() {
            format!(
                "The draws: {} by a seeded Gibbs sampler, worth at least {} independent ones, R-hat {}.",
                formats::whole(sampling.n_draws as i64),
                decimal(sampling.least_effective, 0),
                decimal(sampling.largest_r_hat, 3)
            )
        } else {
            "No try of this nursery says anything yet, so that nothing had to be drawn from it: all numbers are those of published ranges.".to_owned()
        },
    ]
}

pub fn save(n: u32) -> String {
    format!("Save as work to do, for {}", bulbs(n as usize))
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
pub fn choice(choice: &Choice, treatments: &[String]) -> String {
    let what = crate::spend::of_choice(choice, treatments);
    let n = if choice.n > 0 { format!(" · {}", bulbs(choice.n as usize)) } else { String::new() };
    format!("{}: {what}{n}", advice(choice.advice))
}

/// Why.
pub fn choice_under(choice: &Choice, wish: &Wish) -> String {
    let best = chance_words(choice.best);
    let why = match choice.advice {
        Advice::Control => format!("What would be done anyway; the best of all {best}."),
        Advice::Keep => format!("It could be the best of all: {best}."),
        Advice::Drop if choice.best < 0.05 => format!("It is the best of all {best}."),
        Advice::Drop => {
            format!("It could be the best of all, {best}, but bulbs for it would not pay.")
        }
        Advice::Add => format!("Not tried here yet, and it could be the best of all: {best}."),
        Advice::LeaveOut if choice.best < 0.15 => {
            format!("Not tried here yet, and the best of all {best}.")
        }
        Advice::LeaveOut => {
            format!("Not tried here yet; it could be the best of all, {best}, but bulbs for it would not pay.")
        }
    };
    let teach = match choice.unsure {
        sd if sd > 0.18 => "A try of it would teach much.",
        sd if sd > 0.09 => "A try of it would teach something.",
        _ => "A try of it would teach little more.",
    };
    format!("{why} If all bulbs had it, {} would be reached {}. {teach}", wish.wanted, chance_words(choice.chance))
}

pub fn question(name: &str) -> String {
    match name.trim() {
        "" => "Which brings the most bulbs in time?".to_owned(),
        name => format!("Which brings the most bulbs in time for {name}?"),
    }
}

pub fn same_again(question: &str) -> String {
    format!("Same again: {question}")
}
