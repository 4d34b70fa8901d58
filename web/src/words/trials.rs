//! Words of the screens under Trials.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::verdict::{IntervalBy, Method, Strength};
use bloomdue_core::ledger::body::{AppliedTo, DiedAs, DueDays, Goal, GoalStage, LeftHow, Rule, Unit};
use bloomdue_core::nursery::{State, state::Run};
use bloomdue_core::trial::outcome::{Outcome, Why};
use bloomdue_core::trial::ready::Ready;
use bloomdue_core::trial::standing::{
    Compared, Counts, Decided, Note, OtherStage, Register, Sentence, Shares, Standing, UnitStanding, WhyNoTest,
};

use crate::parts::plots::table::Table;

use super::en::{bulbs, cm, date_short, days_away, plural};

pub(crate) fn trials() -> &'static str {
    "Trials"
}

pub(crate) fn no_trials() -> &'static str {
    "A trial tries two ways or more on small groups and compares them honestly. It can start with a ready question. A plan back from a date says how many bulbs to start, and when to do what."
}

pub(crate) fn ask() -> &'static str {
    "Ask a new question"
}

pub(crate) fn ask_under() -> &'static str {
    "Choose what you want to know; everything can be changed."
}

pub(crate) fn own_question() -> &'static str {
    "A question of your own"
}

/// A ready question as a sentence.
pub(crate) fn ready(key: &str) -> &'static str {
    match key {
        "rest" => "Longer or shorter rest?",
        "leaves" => "Cut the leaves or keep them?",
        "mix" => "Which mix?",
        "place" => "Which place?",
        "feeding" => "Feed after flowering or not?",
        _ => "",
    }
}

pub(crate) fn ready_under(ready: &Ready) -> String {
    let groups: Vec<&str> = ready.groups.iter().map(|group| group.text).collect();
    format!("{} ({})", groups.join(" · "), super::en::grade(ready.source))
}

pub(crate) fn goes_on() -> &'static str {
    "This goes on with what was typed before."
}

pub(crate) fn start_over() -> &'static str {
    "Start over"
}

pub(crate) fn step_back() -> &'static str {
    "One step back"
}

pub(crate) fn trial_step(text: &str) -> String {
    if text.is_empty() { trials().to_owned() } else { text.to_owned() }
}

pub(crate) fn groups_title() -> &'static str {
    "Groups"
}

pub(crate) fn groups_under() -> &'static str {
    "What is done differently in each; all else stays alike."
}

pub(crate) fn question_label() -> &'static str {
    "The question"
}

pub(crate) fn group_n(n: usize) -> String {
    format!("Group {n}")
}

pub(crate) fn group_name() -> &'static str {
    "What is done"
}

pub(crate) fn how_much(unit: &str) -> String {
    format!("How much, in {unit}")
}

pub(crate) fn as_usual() -> &'static str {
    "as it would be done anyway"
}

pub(crate) fn add_group() -> &'static str {
    "Add a group"
}

pub(crate) fn remove_group() -> &'static str {
    "Remove this group"
}

pub(crate) fn more() -> &'static str {
    "More"
}

pub(crate) fn what_differs_word() -> &'static str {
    "what is done"
}

pub(crate) fn factor_label() -> &'static str {
    "What differs (the factor)"
}

pub(crate) fn factor_hint() -> &'static str {
    "Each group is a level of it."
}

pub(crate) fn unit_label() -> &'static str {
    "Unit of its levels, if they are numbers"
}

pub(crate) fn unit_hint() -> &'static str {
    "weeks, %, cm …"
}

pub(crate) fn applied_label() -> &'static str {
    "Done to"
}

pub(crate) fn applied(to: AppliedTo) -> &'static str {
    match to {
        AppliedTo::Bulb => "each bulb by itself",
        AppliedTo::Container => "whole containers",
        AppliedTo::Place => "a whole place",
    }
}

pub(crate) fn applied_hint() -> &'static str {
    "What is done to a whole place cannot be told from the place itself, unless the places are swapped next time."
}

pub(crate) fn next() -> &'static str {
    "Next"
}

pub(crate) fn counts_title() -> &'static str {
    "What counts"
}

pub(crate) fn counts_under() -> &'static str {
    "Fixed before the start, so that the result stays honest."
}

pub(crate) fn stage_label() -> &'static str {
    "A bulb counts when it has"
}

pub(crate) fn goal_stage(stage: GoalStage) -> &'static str {
    match stage {
        GoalStage::ScapeInSight => "a stalk in sight",
        GoalStage::SpatheSplit => "its bud sheath split",
        GoalStage::FitToSell => "been fit to sell",
        GoalStage::FirstFlower => "a flower open",
    }
}

pub(crate) fn goal_label() -> &'static str {
    "When"
}

pub(crate) fn goal_by() -> &'static str {
    "by the last day"
}

pub(crate) fn goal_window() -> &'static str {
    "on a day of the window"
}

pub(crate) fn first_day() -> &'static str {
    "First day"
}

pub(crate) fn last_day() -> &'static str {
    "Last day that counts"
}

pub(crate) fn window_label() -> &'static str {
    "Due"
}

pub(crate) fn fixed_days() -> &'static str {
    "on fixed days"
}

pub(crate) fn days_after_start() -> &'static str {
    "days after the start"
}

pub(crate) fn first_day_after() -> &'static str {
    "First day, days after the start"
}

pub(crate) fn last_day_after() -> &'static str {
    "Last day, days after the start"
}

/// The days that a window counted from the start comes to, for the start as planned.
pub(crate) fn computed_window(window: Option<(Date, Date)>, goal: Goal, today: Date) -> String {
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
pub(crate) fn counted_from_start(days: DueDays, goal: Option<Goal>) -> String {
    match goal {
        Some(Goal::InWindow) => {
            format!("The due window was counted from the start: {} to {} days after it.", days.from, days.to)
        }
        _ => format!("The last day was counted from the start: {} days after it.", days.to),
    }
}

pub(crate) fn gone_too() -> &'static str {
    "From a notebook: bulbs gone since, too"
}

pub(crate) fn gone_too_hint() -> &'static str {
    "For a try that was done before: bulbs that died or left since, and bulbs that are in another try now, can be chosen."
}

pub(crate) fn gone_since(day: &str) -> String {
    format!("gone since {day}")
}

pub(crate) fn this_try() -> &'static str {
    "This try"
}

pub(crate) fn finished() -> &'static str {
    "is finished"
}

pub(crate) fn under_way() -> &'static str {
    "is still under way"
}

pub(crate) fn finished_on() -> &'static str {
    "Finished on"
}

pub(crate) fn size_classes(n: usize) -> String {
    plural(n, "size class", "size classes")
}

pub(crate) fn size_class(n: usize, sizes_mm: Option<(i64, i64)>) -> String {
    match sizes_mm {
        Some((low, high)) if high > 0 && low != high => {
            format!("Class {n}, {} to {}:", cm(low), cm(high))
        }
        Some((low, _)) if low > 0 => format!("Class {n}, {}:", cm(low)),
        _ => format!("Class {n}:"),
    }
}

pub(crate) fn groups_list() -> &'static str {
    "List of the groups to print"
}

pub(crate) fn window_hint() -> &'static str {
    "Proposed from published ranges, not from this nursery; change it to your day."
}

pub(crate) fn window_name() -> &'static str {
    "What the day is for, if wished"
}

pub(crate) fn window_name_hint() -> &'static str {
    "A fair, an order, a holiday."
}

pub(crate) fn start_day() -> &'static str {
    "Start"
}

pub(crate) fn looks_label() -> &'static str {
    "Look every … days"
}

pub(crate) fn died_label() -> &'static str {
    "A bulb that dies counts"
}

pub(crate) fn died_as(died: DiedAs) -> &'static str {
    match died {
        DiedAs::NotInTime => "as not in time",
        DiedAs::LeftOut => "not at all",
    }
}

pub(crate) fn unit_counted_label() -> &'static str {
    "Counted is"
}

pub(crate) fn unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Bulb => "each bulb",
        Unit::Container => "each container with at least one",
    }
}

pub(crate) fn bulbs_title() -> &'static str {
    "Which bulbs"
}

pub(crate) fn bulbs_under() -> &'static str {
    "A bulb can be in one running try only."
}

pub(crate) fn no_bulbs() -> &'static str {
    "No bulbs are recorded yet. Add some under Places, or type in counts from a notebook."
}

/// Heading over the bulbs of one lot in one place.
pub(crate) fn place_and_lot(place: &str, lot: &str) -> String {
    if lot.is_empty() { place.to_owned() } else { format!("{place} · {lot}") }
}

pub(crate) fn all_free(n: usize) -> String {
    format!("all {n} free ones")
}

pub(crate) fn in_a_try() -> &'static str {
    "in a running try"
}

pub(crate) fn n_chosen(n: usize) -> String {
    format!("{} chosen", bulbs(n))
}

pub(crate) fn counts_only() -> &'static str {
    "Only counts from a notebook"
}

pub(crate) fn lots_title() -> &'static str {
    "Who gets what"
}

pub(crate) fn lots_under() -> &'static str {
    "Drawing lots keeps the groups alike in all that nobody thought of."
}

pub(crate) fn how_label() -> &'static str {
    "Groups are"
}

pub(crate) fn how_draw() -> &'static str {
    "drawn by lot"
}

pub(crate) fn how_hand() -> &'static str {
    "chosen by hand"
}

pub(crate) fn how_recorded() -> &'static str {
    "as my notebook has them"
}

pub(crate) fn how_counts() -> &'static str {
    "counts from a notebook"
}

pub(crate) fn hand_hint() -> &'static str {
    "Groups chosen by hand get counts and intervals, never a test; every result says so."
}

pub(crate) fn recorded_hint() -> &'static str {
    "Choose for each bulb the group it was in. Looks can be typed in for earlier days on each bulb's page. There will be no test."
}

pub(crate) fn counts_hint() -> &'static str {
    "Where bulbs are not known one by one: how many of each group. There will be counts and intervals, no test."
}

/// The fields of a notebook's counts.
pub(crate) fn tally(which: usize) -> &'static str {
    match which {
        0 => "In time",
        1 => "Late or not",
        2 => "Died",
        _ => "Sold, given, missing",
    }
}

pub(crate) fn group_gets(name: &str, n: usize) -> String {
    format!("{name}: {}", bulbs(n))
}

pub(crate) fn classes_label() -> &'static str {
    "Lots are drawn"
}

pub(crate) fn with_classes() -> &'static str {
    "within size classes"
}

pub(crate) fn without_classes() -> &'static str {
    "over all at once"
}

pub(crate) fn classes_hint() -> &'static str {
    "Size classes (blocks) give every group bulbs of every size."
}

pub(crate) fn lots_button(draw: bool, starts: bool) -> &'static str {
    match (draw, starts) {
        (true, true) => "Draw lots and start",
        (true, false) => "Draw lots",
        (false, _) => "Save the try",
    }
}

pub(crate) fn planned(started: bool) -> &'static str {
    if started { "Try started" } else { "Try planned" }
}

pub(crate) fn choose_day() -> &'static str {
    "Choose a day."
}

pub(crate) fn place_all() -> &'static str {
    "Give every chosen bulb one of the groups."
}

pub(crate) fn tries() -> &'static str {
    "Tries"
}

pub(crate) fn same_again() -> &'static str {
    "Same again, with new bulbs and dates"
}

pub(crate) fn no_such_try() -> &'static str {
    "This try is not in these records."
}

/// Where a try is and how far it has come.
pub(crate) fn run_under(run: &Run, stands: &Standing, today: Date) -> String {
    let window = run.window.shown().map(|window| window.to);
    let counts = counts_line(&stands.total);
    match (run.started, run.closed, window) {
        (_, Some(closed), _) => format!("closed {} · {counts}", date_short(closed, today)),
        (Some(_), None, Some(to)) => {
            format!("running, due {} ({}) · {counts}", date_short(to, today), days_away(to, today))
        }
        (None, None, Some(to)) => format!("planned, due {}", date_short(to, today)),
        _ => counts,
    }
}

/// `7 in time · 3 still waiting`.
pub(crate) fn counts_line(counts: &Counts) -> String {
    let parts = OUTCOMES.iter().filter(|(_, count)| count(counts) > 0);
    parts.map(|(words, count)| format!("{} {words}", count(counts))).collect::<Vec<_>>().join(" · ")
}

/// A word for an outcome, and how it is counted.
type Counted = (&'static str, fn(&Counts) -> u32);

/// Outcomes in the order of tables.
pub(crate) const OUTCOMES: &[Counted] = &[
    ("in time", |c| c.n_in_time),
    ("too early", |c| c.n_too_early),
    ("late", |c| c.n_late),
    ("not reached", |c| c.n_not_reached),
    ("still waiting", |c| c.n_waiting),
    ("can't say", |c| c.n_cant_say),
    ("died", |c| c.n_died),
    ("missing", |c| c.n_missing),
    ("left (sold, given)", |c| c.n_left),
];

/// What one bulb did.
pub(crate) fn outcome_of(outcome: &Outcome) -> String {
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
        Outcome::Left(LeftHow::Sold) => "left: sold".to_owned(),
        Outcome::Left(LeftHow::Given) => "left: given away".to_owned(),
        Outcome::Left(LeftHow::Withdrawn) => "left: withdrawn".to_owned(),
    }
}

pub(crate) fn unit_under(unit: &UnitStanding, today: Date) -> String {
    let mut parts = vec![match unit.last_look {
        Some(day) => format!("last look {}", days_away(day, today)),
        None => "never looked at".to_owned(),
    }];
    if unit.marked_fit {
        parts.push("fit to sell".to_owned());
    }
    if unit.contradicted {
        parts.push("looks contradict each other".to_owned());
    }
    parts.join(" · ")
}

/// The rule in force, as it stands beside every share.
pub(crate) fn rule_line(stands: &Standing, today: Date) -> String {
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
    format!("In time: {} {when}. A bulb that dies counts {}.", goal_stage(rule.stage), died_as(rule.died))
}

/// The one sentence.
pub(crate) fn sentence(stands: &Standing, state: &State, today: Date) -> String {
    match &stands.sentence {
        Sentence::StillRunning { n_waiting, deadline } => format!(
            "{} still waiting; the last day that counts is {} ({}).",
            bulbs(*n_waiting as usize),
            date_short(*deadline, today),
            days_away(*deadline, today)
        ),
        Sentence::Undecided { n_cant_say } => format!(
            "{} can't be said: they were not looked at in time, or are not proved.",
            bulbs(*n_cant_say as usize)
        ),
        Sentence::CountsOnly(why) | Sentence::NoTest(why) => {
            format!("{} {}", shares_line(stands), no_test(*why, state, today)).trim().to_owned()
        }
        Sentence::Decided(all) if all.len() > MOST_PAIRS => {
            format!("{} {}", shares_line(stands), of_pairs(all))
        }
        Sentence::Decided(all) => {
            let verdicts: Vec<String> = all.iter().map(|one| verdict(one, all.len(), state)).collect();
            format!("{} {}", shares_line(stands), verdicts.join(" "))
        }
    }
}

/// More pairs than this are counted in the sentence; a table tells them one by one.
pub(crate) const MOST_PAIRS: usize = 3;

/// `Of 15 pairs 9 are told apart, 1 is on the edge, 5 are too few to tell.`
pub(crate) fn of_pairs(all: &[Decided]) -> String {
    let are = [
        (Strength::ToldApart, "told apart"),
        (Strength::OnTheEdge, "on the edge"),
        (Strength::TooFewToTell, "too few to tell"),
    ];
    let counts = are.map(|(strength, words)| {
        let of = |one: &&Decided| one.verdict.strength == strength;
        (all.iter().filter(of).count(), words)
    });
    let said: Vec<String> = counts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, words)| format!("{n} {} {words}", if *n == 1 { "is" } else { "are" }))
        .collect();
    format!("Of {} pairs {}.", all.len(), said.join(", "))
}

/// The pairs one by one, where the sentence only counts them.
pub(crate) fn pairs_table(stands: &Standing, state: &State) -> Option<Table> {
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
        let strength = match one.verdict.strength {
            Strength::ToldApart => "told apart",
            Strength::OnTheEdge => "on the edge",
            Strength::TooFewToTell => "too few to tell",
        };
        let pair =
            format!("{} than {}", upper_first(state.name_of(one.compared.more)), state.name_of(one.compared.fewer));
        vec![pair, spread, strength.to_owned()]
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
        let pair = format!(
            "{} and {}",
            upper_first(state.name_of(decided.compared.more)),
            state.name_of(decided.compared.fewer)
        );
        return match decided.verdict.strength {
            Strength::TooFewToTell => format!("{pair}: too few to tell."),
            Strength::ToldApart => format!("{pair} are told apart."),
            Strength::OnTheEdge => format!("{pair}: on the edge."),
        };
    }
    match decided.verdict.strength {
        Strength::TooFewToTell => "Too few to tell.",
        Strength::ToldApart => "They are told apart.",
        Strength::OnTheEdge => "On the edge.",
    }
    .to_owned()
}

pub(super) fn upper_first(line: &str) -> String {
    let mut chars = line.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}", chars.as_str())
}

/// `Twelve weeks 7 of 11 in time, eight weeks 5 of 12.`
fn shares_line(stands: &Standing) -> String {
    let known: Vec<String> = stands
        .groups
        .iter()
        .filter_map(|group| match group.shares {
            Shares::Known { by_rule, .. } => {
                Some(format!("{} {} of {}", group.name, by_rule.share.reached(), by_rule.share.of()))
            }
            Shares::Bounds(_) | Shares::Nothing => None,
        })
        .collect();
    if known.is_empty() {
        return String::new();
    }
    let line = known.join(", ");
    format!("{} in time.", upper_first(&line))
}

/// What stands under the sentence: the spread in tens, the dead and the missing.
pub(crate) fn sentence_under(stands: &Standing, state: &State) -> String {
    let mut parts = Vec::new();
    let few = stands.compared.iter().filter(|_| stands.compared.len() <= MOST_PAIRS);
    parts.extend(few.map(|compared| could_bring(compared, state)));
    for group in &stands.groups {
        if let Shares::Bounds(bounds) = group.shares {
            parts.push(format!(
                "{}: between {} and {} in 10 can still come out in time.",
                group.name,
                in_ten(bounds.lower),
                in_ten(bounds.upper)
            ));
        }
        if let Shares::Known { died_otherwise: Some(other), .. } = group.shares {
            parts.push(format!(
                "{} with its dead counted the other way: {} of {}.",
                group.name,
                other.share.reached(),
                other.share.of()
            ));
        }
        if let Shares::Known { missing_counted: Some(other), .. } = group.shares {
            parts.push(format!(
                "{} with the missing counted as not in time: {} of {}.",
                group.name,
                other.share.reached(),
                other.share.of()
            ));
        }
    }
    parts.join(" ")
}

/// By how much two groups may truly differ, in tens of bulbs.
fn could_bring(compared: &Compared, state: &State) -> String {
    let (more, fewer) = (state.name_of(compared.more), state.name_of(compared.fewer));
    let Ok(interval) = compared.gap.interval else {
        return format!("Lots could have fallen in too few ways to say by how much {more} and {fewer} truly differ.");
    };
    let (low, high) = (tens(interval.lower), tens(interval.upper));
    let within = match compared.gap.by {
        IntervalBy::Newcombe => "Of",
        IntervalBy::MantelHaenszel => "Compared within size classes: of",
        IntervalBy::Permutation => "Compared container by container: of",
    };
    format!(
        "{within} ten more bulbs, {more} could bring anything from {} to {} than {fewer}.",
        more_or_fewer(low),
        more_or_fewer(high),
    )
}

pub(super) fn tens(share: f64) -> i64 {
    (share * 10.0).round() as i64
}

pub(super) fn in_ten(share: f64) -> String {
    let tenths = (share * 100.0).round() / 10.0;
    if tenths.fract() == 0.0 { format!("{tenths:.0}") } else { format!("{tenths:.1}") }
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
            "No size class has decided bulbs of both groups: they cannot be compared.".to_owned()
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
            format!("Nothing is left in {}: it cannot be compared.", state.name_of(group))
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
                Register::Run => "this try",
                Register::Rule => "what counts",
                Register::Window => "the due window",
                Register::Allotment => "who is in which group",
                Register::Tallies => "the counts",
            }
        ),
    }
}

pub(crate) fn to_know() -> &'static str {
    "To know beside it"
}

/// Something that stands beside a result.
pub(crate) fn note(note: &Note, state: &State) -> String {
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
            "The groups' bulbs differ in size: {} to {} cm around on average.",
            cm(*least_mm),
            cm(*most_mm)
        ),
        Note::LossesDiffer { more, n_more, of_more, fewer, n_fewer, of_fewer } => format!(
            "More were lost in one group: {n_more} of {of_more} in {}, {n_fewer} of {of_fewer} in {}.",
            state.name_of(*more),
            state.name_of(*fewer)
        ),
        Note::Contradicted { n_units } => format!("Looks contradict each other at {}.", bulbs(*n_units as usize)),
        Note::AlsoInOtherRuns { n_units } => {
            format!("{} were in another try before; something may carry over.", bulbs(*n_units as usize))
        }
        Note::RestsOnSweeps { n_bulbs, of } => format!(
            "{n_bulbs} of {of} outcomes rest on walking past all at once, not on a look at each bulb."
        ),
    }
}

/// What would come out under the stage before or after.
pub(crate) fn other_stage(other: &OtherStage, state: &State) -> String {
    let names: Vec<&str> = other.ahead.iter().map(|group| state.name_of(*group)).collect();
    let whose = format!("Counted by bulbs that had {}", goal_stage(other.stage));
    let names = match names.as_slice() {
        [] => return format!("{whose}, no group would be ahead."),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    };
    format!("{whose}, {names} would be ahead.")
}

/// The name of the table of counts, with the try where a page has several.
pub(crate) fn counts_table_of(of: &str) -> String {
    let all = "Counts by outcome and group";
    if of.is_empty() { all.to_owned() } else { format!("{all}, {of}") }
}

pub(crate) fn outcome() -> &'static str {
    "Outcome"
}

pub(crate) fn all() -> &'static str {
    "all"
}

pub(crate) fn start_now() -> &'static str {
    "Start it today"
}

pub(crate) fn started() -> &'static str {
    "Try started"
}

pub(crate) fn draw_again() -> &'static str {
    "Draw lots again"
}

pub(crate) fn why_again() -> &'static str {
    "Why lots are drawn again"
}

pub(crate) fn drawn_again() -> &'static str {
    "Lots drawn again"
}

pub(crate) fn close() -> &'static str {
    "Close this try"
}

pub(crate) fn close_hint() -> &'static str {
    "When nobody means to look for it any more. It can be taken back."
}

pub(crate) fn closed() -> &'static str {
    "Try closed"
}

pub(crate) fn care_for_group() -> &'static str {
    "Record something done to this group"
}

pub(crate) fn how_worked_out() -> &'static str {
    "How this was worked out"
}

/// How groups came about and how the sentence was worked out, a paragraph each.
pub(crate) fn how(run: Option<&Run>, stands: &Standing) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(allotment) = run.and_then(|run| run.allotment.settled()) {
        let n_blocks = 1 + allotment.blocks.iter().max().copied().unwrap_or(0);
        if allotment.seed.is_empty() {
            lines.push("Groups were not drawn by lot.".to_owned());
        } else {
            lines.push(format!(
                "Lots were drawn by the method {} in {}. The number that lets anyone draw them again (seed): {}",
                allotment.method,
                plural(n_blocks as usize, "size class", "size classes"),
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
    lines.push("While anything is undecided the broken line runs from the lowest to the highest share that can still come out (Manski 1989). After that the line is Wilson's 95 % interval (Wilson 1927).".to_owned());
    if let Sentence::Decided(all) = &stands.sentence {
        lines.extend(all.iter().map(how_decided));
    }
    lines
}

fn smallest(p: f64) -> String {
    if p < 0.001 { "below 0.001".to_owned() } else { format!("{p:.3}") }
}

/// The test and the interval of two groups.
pub(crate) fn how_decided(decided: &Decided) -> String {
    let verdict = decided.verdict;
    let method = match verdict.method {
        Method::Boschloo => "Boschloo's exact test, two-sided, ordered by Fisher's p (Boschloo 1970)",
        Method::Fisher => "Fisher's exact test, two-sided (Fisher 1935)",
        Method::ExactConditional => "The exact conditional test within size classes, two-sided (Gart 1970)",
        Method::UnitPermutation => {
            "The permutation of whole containers within size classes, two-sided (Edgington & Onghena 2007)"
        }
    };
    let interval = match decided.compared.gap.by {
        IntervalBy::Newcombe => "Newcombe 1998, method 10",
        IntervalBy::MantelHaenszel => "Mantel and Haenszel's within size classes, variance by Sato 1989",
        IntervalBy::Permutation => "the shifts that the same permutation does not refuse",
    };
    let family = if verdict.n_family > 1 {
        format!(" ({:.3} after Holm 1979 over {} comparisons)", verdict.p_family, verdict.n_family)
    } else {
        String::new()
    };
    let limits = match decided.compared.gap.interval {
        Ok(limits) => format!("{:.0} to {:.0} in 100", 100.0 * limits.lower, 100.0 * limits.upper),
        Err(why) => why.to_string(),
    };
    format!(
        "{method}: p = {:.3}{family}. Told apart means p of at most 0.05 and an interval of the difference ({interval}) that leaves out zero: here {limits}. The smallest p these groups could reach: {}.",
        verdict.p,
        smallest(verdict.smallest_p)
    )
}
