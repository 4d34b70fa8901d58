//! Words of the screens under Trials.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::verdict::{IntervalBy, Method, Strength};
use bloomdue_core::ledger::body::{AppliedTo, DiedAs, DueDays, Family, Goal, GoalStage, LeftHow, Rule, Unit};
use bloomdue_core::nursery::{State, state::Run};
use bloomdue_core::trial::outcome::{Kind, Outcome, Why};
use bloomdue_core::trial::ready::{Ready, ReadyGroup};
use bloomdue_core::trial::standing::{
    Compared, Decided, InTime, Note, OtherStage, RunRegister, Sentence, Shares, Standing, UnitStanding, WhyNoTest,
};

use crate::table::Table;

use crate::common::{bulbs, ordinal_try, plural, quoted, quoted_all};
use crate::dates::{date_short, days_away};
use crate::due::window_left;
use crate::formats::{self, decimal, length, lengths};

labels! {
    trials = "Trials";
    no_trials = "Two ways, a handful of bulbs each.";
    no_trials_under = "Lots decide which bulb gets which. Then the bench answers.";
    ask = "Begin a new trial";
    ask_under = "Choose what you want to know; everything can be changed.";
    own_question = "A question of your own";
    goes_on = "This goes on with what was typed before.";
    start_over = "Start over";
    step_back = "One step back";
    groups_title = "Groups";
    groups_under = "What is done differently in each; all else stays alike.";
    question_label = "The question";
    group_name = "What is done";
    as_usual = "as it would be done anyway";
    add_group = "Add a group";
    remove_group = "Remove this group";
    more = "More";
    what_differs_word = "what is done";
    factor_label = "What differs (the factor)";
    factor_hint = "Each group is a level of it.";
    unit_label = "Unit of its levels, if they are numbers";
    applied_label = "Done to";
    applied_hint =
        "What is done to a whole place cannot be told from the place itself, unless the places are swapped next time.";
    next = "Next";
    counts_title = "What counts";
    counts_under = "Fixed before the start, so that the result stays honest.";
    stage_label = "A bulb counts when it has";
    goal_label = "When";
    goal_by = "by the last day";
    goal_window = "on a day of the window";
    first_day = "First day";
    last_day = "Last day that counts";
    window_label = "Due";
    fixed_days = "on fixed days";
    days_after_start = "days after the start";
    first_day_after = "First day, days after the start";
    last_day_after = "Last day, days after the start";
    gone_too = "From a notebook: bulbs gone since, too";
    gone_too_hint =
        "For a try that was done before: bulbs that died or left since, and bulbs that are in another try now, \
         can be chosen.";
    this_try = "This try";
    finished = "is finished";
    under_way = "is still under way";
    finished_on = "Finished on";
    groups_list = "List of the groups to print";
    window_hint = "Proposed from published ranges, not from this nursery; change it to your day.";
    window_name = "What the day is for, if wished";
    window_name_hint = "A fair, an order, a holiday.";
    start_day = "Start";
    looks_label = "Look every … days";
    died_label = "A bulb that dies counts";
    unit_counted_label = "Counted is";
    bulbs_title = "Which bulbs";
    bulbs_under = "A bulb can be in one running try only.";
    no_bulbs = "No bulbs are recorded yet. Add some under Places, or type in counts from a notebook.";
    in_a_try = "in a running try";
    counts_only = "Only counts from a notebook";
    lots_title = "Who gets what";
    lots_under = "Drawing lots keeps the groups alike in all that nobody thought of.";
    how_label = "Groups are";
    how_draw = "drawn by lot";
    how_hand = "chosen by hand";
    how_recorded = "as my notebook has them";
    how_counts = "counts from a notebook";
    hand_hint = "Groups chosen by hand get counts and intervals, never a test; every result says so.";
    recorded_hint =
        "Choose for each bulb the group it was in. Looks can be typed in for earlier days on each bulb's page. \
         There will be no test.";
    counts_hint =
        "Where bulbs are not known one by one: how many of each group. There will be counts and intervals, no test.";
    pairs_label = "What is compared";
    with_control = "each group with what is done anyway";
    every_pair = "every group with every other";
    pairs_hint =
        "Fixed before the start; other pairs get no verdict. The more pairs, the clearer each must be.";
    can_tell = "What so many bulbs can tell";
    classes_label = "Lots are drawn";
    with_classes = "within cultivar and size";
    without_classes = "over all at once";
    classes_hint =
        "A class is one cultivar of about one size. Every group gets some of each class.";
    choose_day = "Choose a day.";
    place_all = "Give every chosen bulb one of the groups.";
    same_again = "Same again, with new bulbs and dates";
    /// The button for it.
    again = "Same again";
    next_title = "Next";
    lots_drawn = "Lots are drawn. Now label each bulb.";
    no_such_try = "This try is not in these records.";
    to_know = "To know beside it";
    outcome = "Outcome";
    all = "all";
    start_now = "Start it today";
    started = "Try started";
    draw_again = "Draw lots again";
    why_again = "Why lots are drawn again";
    drawn_again = "Lots drawn again";
    close = "Close this try";
    close_hint = "When nobody means to look for it any more. It can be taken back.";
    closed = "Try closed";
    care_for_group = "Record something done to this group";
    how_worked_out = "How this was worked out";
}

/// A ready question as a sentence.
pub fn ready(key: &str) -> &'static str {
    match key {
        "rest" => "Longer or shorter rest?",
        "leaves" => "Cut the leaves or keep them?",
        "mix" => "Which mix?",
        "place" => "Which place?",
        "feeding" => "Feed after flowering or not?",
        _ => "",
    }
}

/// What differs in a ready question.
pub fn ready_factor(key: &str) -> &'static str {
    match key {
        "rest" => "weeks of rest",
        "leaves" => "leaves before the rest",
        "mix" => "mix",
        "place" => "place",
        "feeding" => "feeding after flowering",
        _ => "",
    }
}

/// What a group of a ready question is called, and how much it gets.
pub fn ready_group(key: &str, group: &str) -> &'static str {
    match (key, group) {
        ("rest", "8-weeks") => "8 weeks",
        ("rest", "12-weeks") => "12 weeks",
        ("leaves", "cut") => "leaves cut while green",
        ("leaves", "kept") => "leaves left to wither",
        ("mix", "usual") => "our usual mix",
        ("mix", "grittier") => "usual mix with a third sand",
        ("place", "usual") => "the usual place",
        ("place", "other") => "the other place",
        ("feeding", "not-fed") => "not fed",
        ("feeding", "fed") => "fed every two weeks",
        _ => "",
    }
}

/// A group that rests so long.
pub fn weeks_group(weeks: u32) -> String {
    plural(weeks as usize, "week", "weeks")
}

pub fn ready_under(ready: &Ready) -> String {
    let name = |group: &ReadyGroup| ready_group(ready.key, group.key);
    let graded = |group: &ReadyGroup| format!("{} ({})", name(group), crate::common::grade(group.source));
    // A grade that all share is said once.
    let one = ready.groups.first().map(|group| group.source);
    match one.filter(|one| ready.groups.iter().all(|group| group.source == *one)) {
        Some(source) => {
            let names: Vec<&str> = ready.groups.iter().map(name).collect();
            format!("{} ({})", names.join(" · "), crate::common::grade(source))
        }
        None => ready.groups.iter().map(graded).collect::<Vec<_>>().join(" · "),
    }
}

pub fn trial_step(text: &str) -> String {
    if text.is_empty() { trials().to_owned() } else { text.to_owned() }
}

pub fn group_n(n: usize) -> String {
    format!("Group {n}")
}

pub fn how_much(unit: &str) -> String {
    format!("How much, in {unit}")
}

pub fn applied(to: AppliedTo) -> &'static str {
    match to {
        AppliedTo::Bulb => "each bulb by itself",
        AppliedTo::Container => "whole containers",
        AppliedTo::Place => "a whole place",
    }
}

pub fn goal_stage(stage: GoalStage) -> &'static str {
    match stage {
        GoalStage::ScapeInSight => "a stalk in sight",
        GoalStage::SpatheSplit => "its bud sheath split",
        GoalStage::FitToSell => "been fit to sell",
        GoalStage::FirstFlower => "a flower open",
    }
}

/// The days that a window counted from the start comes to, for the start as planned.
pub fn computed_window(window: Option<(Date, Date)>, goal: Goal, today: Date) -> String {
    match window {
        Some((from, to)) if goal == Goal::InWindow => format!(
            "That is from {} to {}; it moves with the day the try really starts.",
            date_short(from, today),
            date_short(to, today)
        ),
        Some((_, to)) => format!("That is by {}; it moves with the day the try really starts.", date_short(to, today)),
        None => "Type how many days.".to_owned(),
    }
}

/// Beside a result: the window was counted from the start.
pub fn counted_from_start(days: DueDays, goal: Option<Goal>) -> String {
    match goal {
        Some(Goal::InWindow) => {
            format!("The due window was counted from the start: {} to {} days after it.", days.from, days.to)
        }
        _ => format!("The last day was counted from the start: {} days after it.", days.to),
    }
}

pub fn gone_since(day: &str) -> String {
    format!("gone since {day}")
}

/// Units that a factor may have.
pub fn unit_hint() -> String {
    format!("weeks, %, {} …", formats::length_asked())
}

/// `3 classes of cultivar and size`.
pub fn classes(n: usize) -> String {
    format!("{} of cultivar and size", plural(n, "class", "classes"))
}

/// `Class 1, Candy, 24 cm to 26 cm:`, before the names of its bulbs.
pub fn class(n: usize, cultivar: &str, sizes_mm: Option<(i64, i64)>) -> String {
    let sizes = match sizes_mm {
        Some((low, high)) if low > 0 && low != high => Some(format!("{} to {}", length(low), length(high))),
        Some((low, high)) if low == 0 && high > 0 => Some(format!("up to {}", length(high))),
        Some((low, _)) if low > 0 => Some(length(low)),
        _ => None,
    };
    let cultivar = (!cultivar.is_empty()).then(|| cultivar.to_owned());
    let parts: Vec<String> = [Some(format!("Class {n}")), cultivar, sizes].into_iter().flatten().collect();
    format!("{}:", parts.join(", "))
}

pub fn died_as(died: DiedAs) -> &'static str {
    match died {
        DiedAs::NotInTime => "as not in time",
        DiedAs::LeftOut => "not at all",
    }
}

pub fn unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Bulb => "each bulb",
        Unit::Container => "each container with at least one",
    }
}

/// Heading over the bulbs of one lot in one place.
pub fn place_and_lot(place: &str, lot: &str) -> String {
    if lot.is_empty() { place.to_owned() } else { format!("{place} · {lot}") }
}

pub fn all_free(n: usize) -> String {
    if n == 1 { "the one free one".to_owned() } else { format!("all {n} free ones") }
}

pub fn n_chosen(n: usize) -> String {
    format!("{} chosen", bulbs(n))
}

/// The fields of a notebook's counts.
pub fn tally(which: usize) -> &'static str {
    match which {
        0 => "In time",
        1 => "Late or not",
        2 => "Died",
        _ => "Sold, given, missing",
    }
}

pub fn group_gets(name: &str, n: usize) -> String {
    format!("{name}: {}", bulbs(n))
}

pub fn lots_button(draw: bool, starts: bool) -> &'static str {
    match (draw, starts) {
        (true, true) => "Draw lots and start",
        (true, false) => "Draw lots",
        (false, _) => "Save the try",
    }
}

pub fn planned(started: bool) -> &'static str {
    if started { "Try started" } else { "Try planned" }
}

/// `2 questions, 4 tries`.
pub fn questions_and_tries(n_questions: usize, n_tries: usize) -> String {
    format!("{}, {}", plural(n_questions, "question", "questions"), plural(n_tries, "try", "tries"))
}

/// `Third try`.
pub fn try_name(ordinal: u32) -> String {
    upper_first(&ordinal_try(ordinal))
}

/// The one fact of a try in a list: what it waits for, or what came out.
pub fn fact(run: &Run, stands: &Standing, today: Date) -> String {
    let until = |day: Date| match day.days_until(today) {
        over_days @ -7..=0 => window_left(over_days),
        _ => format!("waiting till {}", date_short(day, today)),
    };
    match &stands.sentence {
        Sentence::NoTest(WhyNoTest::NotStarted) => match run.window.shown() {
            Some(window) => format!("planned, due {}", date_short(window.to, today)),
            None => "planned".to_owned(),
        },
        Sentence::StillRunning { n_waiting, .. } if run.closed.is_some() => format!("closed, {n_waiting} not decided"),
        Sentence::StillRunning { deadline, .. } => until(*deadline),
        Sentence::Undecided { n_cant_say } => format!("{n_cant_say} can't be said"),
        Sentence::CountsOnly(WhyNoTest::ChosenByHand) => "chosen by hand, no test".to_owned(),
        Sentence::CountsOnly(WhyNoTest::TypedIn) => "from a notebook, no test".to_owned(),
        Sentence::CountsOnly(_) => "can't be compared".to_owned(),
        Sentence::NoTest(WhyNoTest::BeforeDeadline(day)) => until(*day),
        Sentence::NoTest(WhyNoTest::RuleHasNone | WhyNoTest::OtherDesign) => "counted, no test".to_owned(),
        Sentence::NoTest(WhyNoTest::Disagreed(_)) => "two records disagree".to_owned(),
        Sentence::NoTest(_) => "can't be compared".to_owned(),
        Sentence::Decided(all) => match all.as_slice() {
            [one] => strength(one.verdict.strength).to_owned(),
            all => {
                let apart = |one: &&Decided| one.verdict.strength == Strength::ToldApart;
                format!("{} of {} pairs told apart", all.iter().filter(apart).count(), all.len())
            }
        },
    }
}

fn strength(strength: Strength) -> &'static str {
    match strength {
        Strength::ToldApart => "told apart",
        Strength::OnTheEdge => "on the edge",
        Strength::TooFewToTell => "too few to tell",
    }
}

/// Under the question: which try, how far it is, and how many it has.
pub fn try_line(run: &Run, stands: &Standing, today: Date) -> String {
    let mut parts: Vec<String> = run.body.shown().map(|body| ordinal_try(body.ordinal)).into_iter().collect();
    let last = run.window.shown().map(|window| window.to);
    parts.extend(match (run.started, run.closed, last) {
        (_, Some(closed), _) => Some(format!("closed {}", date_short(closed, today))),
        (Some(_), None, Some(to)) if to < today => Some(format!("counted till {}", date_short(to, today))),
        (Some(_), None, Some(to)) => Some(format!("counts till {} ({})", date_short(to, today), days_away(to, today))),
        (None, None, Some(to)) => Some(format!("planned, due {}", date_short(to, today))),
        _ => None,
    });
    if stands.total.all() > 0 {
        parts.push(bulbs(stands.total.all() as usize));
    }
    parts.join(" · ")
}

/// `3 of 8`; `1 to 4 of 8` while something is undecided.
pub fn in_time(group: Option<InTime>) -> String {
    match group {
        None => "–".to_owned(),
        Some(InTime { least, most, of }) if least == most => format!("{least} of {of}"),
        Some(InTime { least, most, of }) => format!("{least} to {most} of {of}"),
    }
}

/// The button that leads to bulbs that wait, where they stand.
pub fn walk_waiting(place: &str, n: usize) -> String {
    format!("Walk {place}: {n} {}", if n == 1 { "waits" } else { "wait" })
}

/// A fold with so many things to know.
pub fn n_to_know(n: usize) -> String {
    format!("{} · {n}", to_know())
}

/// `in time 5`, under the marks of that kind.
pub fn kind_and_number(which: Kind, n: u32, is_closed: bool) -> String {
    format!("{} {n}", kind_in_try(which, is_closed))
}

/// `7 in time · 3 still waiting`.
pub fn kinds_line(counts: &[(Kind, u32)], is_closed: bool) -> String {
    let parts = counts.iter().map(|(which, n)| format!("{n} {}", kind_in_try(*which, is_closed)));
    parts.collect::<Vec<_>>().join(" · ")
}

/// A word for an outcome in a try. Once that is closed nobody waits for a bulb any more.
const fn kind_in_try(which: Kind, is_closed: bool) -> &'static str {
    match (which, is_closed) {
        (Kind::Waiting, true) => "not decided",
        _ => kind(which),
    }
}

/// A word for an outcome without its reason, as it stands beside its mark.
pub const fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::InTime => "in time",
        Kind::TooEarly => "too early",
        Kind::Late => "late",
        Kind::NotReached => "not reached",
        Kind::Waiting => "still waiting",
        Kind::CantSay => "can't say",
        Kind::Died => "died",
        Kind::Missing => "missing",
        Kind::Left => "gone out",
    }
}

/// What one bulb did.
pub fn outcome_of(outcome: &Outcome) -> String {
    match outcome {
        Outcome::InTime => "in time".to_owned(),
        Outcome::TooEarly => "too early".to_owned(),
        Outcome::Late => "late".to_owned(),
        Outcome::NotReached => "not reached".to_owned(),
        Outcome::Waiting => "still waiting".to_owned(),
        Outcome::CantSay(Why::NotLookedAt) => "can't say: not looked at in time".to_owned(),
        Outcome::CantSay(Why::Straddles) => "can't say: it came between two looks".to_owned(),
        Outcome::CantSay(Why::Unproved) => "can't say: a shoot not proved".to_owned(),
        Outcome::CantSay(Why::Disputed) => "can't say: records of what became of it differ".to_owned(),
        Outcome::Died(cause) if cause.is_empty() => "died".to_owned(),
        Outcome::Died(cause) => format!("died: {cause}"),
        Outcome::Missing => "missing".to_owned(),
        Outcome::Left(LeftHow::Sold) => "gone out: sold".to_owned(),
        Outcome::Left(LeftHow::Given) => "gone out: given away".to_owned(),
        Outcome::Left(LeftHow::Withdrawn) => "gone out: withdrawn".to_owned(),
    }
}

pub fn unit_under(unit: &UnitStanding, today: Date) -> String {
    let mut parts = vec![match unit.last_look {
        Some(day) => format!("last look {}", days_away(day, today)),
        None => "never looked at".to_owned(),
    }];
    if unit.marked_fit {
        parts.push("fit to sell".to_owned());
    }
    if unit.blind {
        parts.push("blind".to_owned());
    }
    if unit.contradicted {
        parts.push("looks contradict each other".to_owned());
    }
    parts.join(" · ")
}

/// The rule in force, as it stands beside every share.
pub fn rule_line(stands: &Standing, today: Date) -> String {
    let (Some(rule), Some(window)) = (&stands.rule, &stands.window) else {
        return String::new();
    };
    let name = if window.name.is_empty() { String::new() } else { format!(" ({})", window.name) };
    let when = match rule.goal {
        Goal::By => format!("by {}{name}", date_short(window.to, today)),
        Goal::InWindow => {
            format!("on a day from {} to {}{name}", date_short(window.from, today), date_short(window.to, today))
        }
    };
    let pairs = match rule.family {
        Some(Family::AllPairs) => " Every group is compared with every other.",
        Some(Family::WithControl) | None => "",
    };
    format!("In time: {} {when}. A bulb that dies counts {}.{pairs}", goal_stage(rule.stage), died_as(rule.died))
}

/// The one sentence.
pub fn sentence(stands: &Standing, state: &State, today: Date) -> String {
    match (&stands.sentence, stands.closed) {
        (Sentence::StillRunning { n_waiting, deadline }, Some(closed)) => format!(
            "Closed {} with {} still undecided; looks until {} count all the same.",
            date_short(closed, today),
            bulbs(*n_waiting as usize),
            date_short(*deadline, today)
        ),
        (Sentence::StillRunning { n_waiting, deadline }, None) => format!(
            "{} still waiting; the last day that counts is {} ({}).",
            bulbs(*n_waiting as usize),
            date_short(*deadline, today),
            days_away(*deadline, today)
        ),
        (Sentence::Undecided { n_cant_say }, _) => format!(
            "{} can't be said: they were not looked at in time, or are not proved.",
            bulbs(*n_cant_say as usize)
        ),
        (Sentence::CountsOnly(why) | Sentence::NoTest(why), _) => {
            format!("{} {}", shares_line(stands), no_test(*why, state, today)).trim().to_owned()
        }
        (Sentence::Decided(all), _) if all.len() > MOST_PAIRS => {
            joined([shares_line(stands), of_pairs(all), clearest(stands, all, state)])
        }
        (Sentence::Decided(all), _) => {
            let verdicts: Vec<String> = all.iter().map(|one| verdict(one, all.len(), state)).collect();
            joined([shares_line(stands), verdicts.join(" "), clearest(stands, all, state)])
        }
    }
}

fn joined(parts: [String; 3]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

/// The clearest difference of more than two groups: with a verdict where every pair was to be compared, else only named.
fn clearest(stands: &Standing, all: &[Decided], state: &State) -> String {
    let Some(found) = stands.clearest else {
        return String::new();
    };
    let [more, fewer] = [found.compared.more, found.compared.fewer].map(|group| quoted(state.name_of(group)));
    match found.verdict {
        Some(verdict) if all.len() > MOST_PAIRS => {
            format!("The clearest difference is that of {more} and {fewer}: {}.", strength(verdict.strength))
        }
        // Where nothing is told apart, naming a pair would read as a finding.
        Some(verdict) if verdict.strength == Strength::TooFewToTell => String::new(),
        Some(_) => format!("The clearest difference is that of {more} and {fewer}."),
        None => format!(
            "Furthest apart are {more} and {fewer}; they were not to be compared with each other, so there is no \
             verdict on them. A new try can compare every group with every other."
        ),
    }
}

/// More pairs than this are counted in the sentence; a table tells them one by one.
pub const MOST_PAIRS: usize = 3;

/// `Of 15 pairs 9 are told apart, 1 is on the edge, 5 are too few to tell.`
pub fn of_pairs(all: &[Decided]) -> String {
    let are = [Strength::ToldApart, Strength::OnTheEdge, Strength::TooFewToTell];
    let counts = are.map(|strong| {
        let of = |one: &&Decided| one.verdict.strength == strong;
        (all.iter().filter(of).count(), strength(strong))
    });
    let said: Vec<String> = counts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, words)| format!("{n} {} {words}", if *n == 1 { "is" } else { "are" }))
        .collect();
    format!("Of {} pairs {}.", all.len(), said.join(", "))
}

/// The pairs one by one, where the sentence only counts them.
pub fn pairs_table(stands: &Standing, state: &State) -> Option<Table> {
    let Sentence::Decided(all) = &stands.sentence else {
        return None;
    };
    if all.len() <= MOST_PAIRS {
        return None;
    }
    let row = |one: &Decided| {
        let gap = one.compared.gap;
        let spread = match gap.interval {
            Ok(found) => format!("{} to {}", more_or_fewer(tens(found.lower)), more_or_fewer(tens(found.upper))),
            Err(_) => "–".to_owned(),
        };
        let pair =
            format!("{} than {}", upper_first(state.name_of(one.compared.more)), state.name_of(one.compared.fewer));
        vec![pair, spread, strength(one.verdict.strength).to_owned()]
    };
    Some(Table {
        caption: "Pair by pair".to_owned(),
        heads: ["More in time with", "Of ten bulbs", "That is"].map(str::to_owned).to_vec(),
        rows: all.iter().map(row).collect(),
    })
}

/// What the counts of two groups carry; their names only where there are more than two.
fn verdict(decided: &Decided, n_pairs: usize, state: &State) -> String {
    if n_pairs > 1 {
        let pair = quoted_all(&[state.name_of(decided.compared.more), state.name_of(decided.compared.fewer)]);
        return match decided.verdict.strength {
            Strength::TooFewToTell => format!("{pair}: too few to tell."),
            Strength::ToldApart => format!("{pair} are told apart in this try."),
            Strength::OnTheEdge => format!("{pair}: on the edge."),
        };
    }
    match decided.verdict.strength {
        Strength::TooFewToTell => "Too few to tell.",
        Strength::ToldApart => "In this try they are told apart.",
        Strength::OnTheEdge => "On the edge.",
    }
    .to_owned()
}

pub(super) fn upper_first(line: &str) -> String {
    let mut chars = line.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}", chars.as_str())
}

/// `“12 weeks”: 7 of 11 in time. “8 weeks”: 5 of 12.`
fn shares_line(stands: &Standing) -> String {
    let known = stands.groups.iter().filter_map(|group| match group.shares {
        Shares::Known { by_rule, .. } => Some((quoted(&group.name), by_rule.share)),
        Shares::Bounds(_) | Shares::Nothing => None,
    });
    let said = known.enumerate().map(|(at, (name, share))| {
        let in_time = if at == 0 { " in time" } else { "" };
        format!("{name}: {} of {}{in_time}.", share.reached(), share.of())
    });
    said.collect::<Vec<_>>().join(" ")
}

/// What stands under the sentence: the spread in tens, the dead and the missing.
pub fn sentence_under(stands: &Standing, state: &State) -> String {
    let mut parts = Vec::new();
    let few = stands.compared.iter().filter(|_| stands.compared.len() <= MOST_PAIRS);
    parts.extend(few.map(|compared| could_bring(compared, state)));
    for group in &stands.groups {
        let name = quoted(&group.name);
        if let (Shares::Bounds(_), Some(found)) = (group.shares, stands.in_time(group)) {
            parts.push(between(&name, found, stands.deadline_passed));
        }
        if group.counts.n_left > 0 {
            parts.push(format!("{name}: {} gone out before it was decided, not counted.", group.counts.n_left));
        }
        if let Shares::Known { by_rule, died_otherwise: Some(other), .. } = group.shares {
            let (reached, of) = (other.share.reached(), other.share.of());
            parts.push(match of < by_rule.share.of() {
                true => format!("{name} without the dead: {reached} of {of}."),
                false => format!("{name} with the dead as not in time: {reached} of {of}."),
            });
        }
        if let Shares::Known { missing_counted: Some(other), .. } = group.shares {
            parts.push(format!(
                "{name} with the missing as not in time: {} of {}.",
                other.share.reached(),
                other.share.of()
            ));
        }
    }
    parts.join(" ")
}

/// How many of a group can be in time, while not all of it is known.
fn between(name: &str, found: InTime, is_over: bool) -> String {
    let how_many = in_time(Some(found));
    match (found.least == found.most, is_over) {
        (true, _) => format!("{name}: {how_many} in time."),
        (false, true) => format!("{name}: {how_many} in time; no look says it closer."),
        (false, false) => format!("{name}: {how_many} can still come in time."),
    }
}

/// By how much two groups may truly differ, in tens of bulbs.
fn could_bring(compared: &Compared, state: &State) -> String {
    let (more, fewer) = (quoted(state.name_of(compared.more)), quoted(state.name_of(compared.fewer)));
    let Ok(interval) = compared.gap.interval else {
        return format!("Lots could have fallen in too few ways to say by how much {more} and {fewer} truly differ.");
    };
    let (low, high) = (tens(interval.lower), tens(interval.upper));
    let within = match compared.gap.by {
        IntervalBy::Newcombe => "Of",
        IntervalBy::MantelHaenszel => "Compared class by class: of",
        IntervalBy::Permutation => "Compared container by container: of",
    };
    let than = than(high);
    if low == high {
        return format!("{within} ten more bulbs, {more} could bring {} {than} {fewer}.", more_or_fewer(high));
    }
    format!(
        "{within} ten more bulbs, {more} could bring anything from {} to {} {than} {fewer}.",
        more_or_fewer(low),
        more_or_fewer(high),
    )
}

/// The word that comes after [`more_or_fewer`].
pub(super) fn than(n: i64) -> &'static str {
    if n == 0 { "as" } else { "than" }
}

pub(super) fn tens(share: f64) -> i64 {
    (share * 10.0).round() as i64
}

pub(super) fn in_ten(share: f64) -> String {
    formats::tenths_short((share * 100.0).round() as i64)
}

pub(super) fn more_or_fewer(n: i64) -> String {
    match n {
        0 => "as many".to_owned(),
        n if n < 0 => format!("{} fewer", -n),
        n => format!("{n} more"),
    }
}

pub(super) fn no_test(why: WhyNoTest, state: &State, today: Date) -> String {
    match why {
        WhyNoTest::NotStarted => "This try has not started.".to_owned(),
        WhyNoTest::BeforeDeadline(day) => {
            format!("Everything is decided; the result stands when {} has passed.", date_short(day, today))
        }
        WhyNoTest::RuleHasNone => "The rule of this try names no test; counts and intervals only.".to_owned(),
        WhyNoTest::OtherDesign => {
            "The rule names a test that does not heed how lots were drawn here. Counts and intervals only.".to_owned()
        }
        WhyNoTest::NoClassWithBoth => {
            "No class has decided bulbs of both groups: they cannot be compared.".to_owned()
        }
        WhyNoTest::ContainersNotDrawn => {
            "What differs was given to whole containers, and bulbs were drawn one by one: the containers themselves may have made the difference, so the groups cannot be compared. Next time draw whole containers."
                .to_owned()
        }
        WhyNoTest::ChosenByHand => "Groups were chosen by hand: counts and intervals, no test.".to_owned(),
        WhyNoTest::TypedIn => "Typed in from a notebook: counts and intervals, no test.".to_owned(),
        WhyNoTest::OneGroup => "Only one group holds bulbs: there is nothing to compare with.".to_owned(),
        WhyNoTest::OneUnitAGroup => "A group of a single one cannot be compared.".to_owned(),
        WhyNoTest::NothingLeft(group) => {
            format!("Nothing is left in {}: it cannot be compared.", quoted(state.name_of(group)))
        }
        WhyNoTest::OneBulbInTwoGroups(bulb) => format!(
            "{} stands in two groups: two bulbs of this try were said to be one since. Take that back on its page, and this is worked out again.",
            state.name_of(bulb)
        ),
        WhyNoTest::TooManyGroups => {
            "There are more groups than a try can compare: its bulbs are cared for, and nothing is worked out.".to_owned()
        }
        WhyNoTest::NothingSaid => "Rule, due window or groups were never said.".to_owned(),
        WhyNoTest::Disagreed(register) => format!(
            "Two records disagree about {}; say which one stands (Files, Disagreements) before this is worked out.",
            match register {
                RunRegister::Run => "this try",
                RunRegister::Rule => "what counts",
                RunRegister::Window => "the due window",
                RunRegister::Allotment => "who is in which group",
                RunRegister::Tallies => "the counts",
            }
        ),
    }
}

/// Something that stands beside a result.
pub fn note(note: &Note, state: &State) -> String {
    match note {
        Note::ChosenByHand => "Groups were chosen by hand.".to_owned(),
        Note::TypedIn => "Typed in from a notebook.".to_owned(),
        Note::DrawnAgain(reason) => format!("Lots were drawn again: {reason}."),
        Note::RuleChangedAfterFirstLook => "What counts was changed after the first look.".to_owned(),
        Note::RuleSaidAfterFirstLook => "What counts was first said after the first look.".to_owned(),
        Note::LooksSparse { meant_days, longest_days, n_units } => format!(
            "Looks were further apart than meant ({}): up to {} at {}.",
            plural(*meant_days as usize, "day", "days"),
            plural(*longest_days as usize, "day", "days"),
            bulbs(*n_units as usize)
        ),
        Note::SeenOnDifferentDays { n_days, n_looked } => {
            format!("On {n_days} of {n_looked} days only some of the groups were looked at.")
        }
        Note::OnePlaceAGroup => {
            "One place each: the place itself may have made the difference. Next time swap the places, or split the groups."
                .to_owned()
        }
        Note::Aliased { factors: [one, other] } => {
            format!("{} and {other} change together over the groups: a difference is that of both.", upper_first(one))
        }
        Note::NoControl => "No group got what the nursery would have done anyway.".to_owned(),
        Note::TooFewForTest { smallest_p } => format!(
            "Too few for any answer: even all of one group against none of another could come from chance in {} of 100 draws.",
            (100.0 * smallest_p).round()
        ),
        Note::SizesDiffer { least_mm, most_mm } => format!(
            "The groups' bulbs differ in size: {} around on average.",
            lengths(*least_mm, *most_mm)
        ),
        Note::LossesDiffer { more, n_more, of_more, fewer, n_fewer, of_fewer } => format!(
            "More were lost in one group: {n_more} of {of_more} in {}, {n_fewer} of {of_fewer} in {}.",
            quoted(state.name_of(*more)),
            quoted(state.name_of(*fewer))
        ),
        Note::Contradicted { n_units } => format!("Looks contradict each other at {}.", bulbs(*n_units as usize)),
        Note::AlsoInOtherRuns { n_units } => {
            let were = if *n_units == 1 { "was" } else { "were" };
            format!("{} {were} in another try before; something may carry over.", bulbs(*n_units as usize))
        }
        Note::RestsOnSweeps { n_bulbs, of } => format!(
            "{n_bulbs} of {of} outcomes rest on walking past all at once, not on a look at each bulb."
        ),
    }
}

/// What would come out under the stage before or after.
pub fn other_stage(other: &OtherStage, state: &State) -> String {
    let names: Vec<&str> = other.ahead.iter().map(|group| state.name_of(*group)).collect();
    let whose = format!("Counted by bulbs that had {}", goal_stage(other.stage));
    if names.is_empty() {
        return format!("{whose}, all groups would come out alike.");
    }
    format!("{whose}, {} would be ahead.", quoted_all(&names))
}

/// The name of the table of counts, with the try where a page has several.
pub fn counts_table_of(of: &str) -> String {
    let all = "Counts by outcome and group";
    if of.is_empty() { all.to_owned() } else { format!("{all}, {of}") }
}

/// How groups came about and how the sentence was worked out, a paragraph each.
pub fn how(run: Option<&Run>, stands: &Standing) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(allotment) = run.and_then(|run| run.allotment.settled()) {
        let n_blocks = 1 + allotment.blocks.iter().max().copied().unwrap_or(0);
        if allotment.seed.is_empty() {
            lines.push("Groups were not drawn by lot.".to_owned());
        } else {
            lines.push(format!(
                "Lots were drawn by the method {} in {}. The number that lets anyone draw them again (seed): {}",
                allotment.method,
                if n_blocks == 1 {
                    "one draw over all at once".to_owned()
                } else if allotment.cultivars.is_empty() {
                    plural(n_blocks as usize, "size class", "size classes")
                } else {
                    classes(n_blocks as usize)
                },
                allotment.seed
            ));
        }
    }
    if let Some(days) = run.and_then(|run| run.due_days.settled()) {
        lines.push(counted_from_start(*days, stands.rule.as_ref().map(|rule| rule.goal)));
    }
    if let Some(Rule { goal: Goal::InWindow, .. }) = stands.rule {
        lines.push(
            "In flower lasts from the first look with a flower open to the first that showed all over.".to_owned(),
        );
    }
    lines.push("While anything is undecided the broken line runs from the lowest to the highest share that is possible (Manski 1989). After that the line is Wilson's 95 % interval (Wilson 1927).".to_owned());
    if let Sentence::Decided(all) = &stands.sentence {
        lines.extend(all.iter().map(how_decided));
    }
    lines
}

fn smallest(p: f64) -> String {
    if p < 0.001 { format!("below {}", decimal(0.001, 3)) } else { decimal(p, 3) }
}

/// The test and the interval of two groups.
pub fn how_decided(decided: &Decided) -> String {
    let verdict = decided.verdict;
    let method = match verdict.method {
        Method::Boschloo => "Boschloo's exact test, two-sided, ordered by Fisher's p (Boschloo 1970)",
        Method::Fisher => "Fisher's exact test, two-sided (Fisher 1935)",
        Method::ExactConditional => "The exact conditional test within classes, two-sided (Gart 1970)",
        Method::UnitPermutation => {
            "The permutation of whole containers within classes, two-sided (Edgington & Onghena 2007)"
        }
        Method::ExactOverTries => {
            "The exact conditional test within tries, its error spent try by try (Gart 1970; Lan & DeMets 1983)"
        }
        Method::PermutationOverTries => {
            "The permutation of whole containers within tries, each look with its own part of the error"
        }
    };
    let interval = match decided.compared.gap.by {
        IntervalBy::Newcombe => "Newcombe 1998, method 10",
        IntervalBy::MantelHaenszel => "Mantel and Haenszel's within classes, variance by Sato 1989",
        IntervalBy::Permutation => "the shifts that the same permutation does not refuse",
    };
    let family = if verdict.n_family > 1 {
        format!(" ({} after Holm 1979 over {} comparisons)", decimal(verdict.p_family, 3), verdict.n_family)
    } else {
        String::new()
    };
    let limits = match decided.compared.gap.interval {
        Ok(limits) => format!("{:.0} to {:.0} in 100", 100.0 * limits.lower, 100.0 * limits.upper),
        Err(why) => crate::results::cannot_clause(why),
    };
    format!(
        "{method}: p = {}{family}. Told apart means p of at most {} and an interval of the difference ({interval}) that leaves out zero: here {limits}. The smallest p these groups could reach: {}.",
        decimal(verdict.p, 3),
        decimal(0.05, 2),
        smallest(verdict.smallest_p)
    )
}
