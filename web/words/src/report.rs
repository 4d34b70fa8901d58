//! Words of the season report on paper, and of what a try leaves open.

use bloomdue_core::calendar::Date;
use bloomdue_core::evidence::verdict::Strength;
use bloomdue_core::ledger::body::{AppliedTo, Question, Treatment};
use bloomdue_core::nursery::{State, state::Run};
use bloomdue_core::trial::conditions::Ground;
use bloomdue_core::trial::standing::{Decided, Sentence, Standing, WhyNoTest};

use crate::common::{bulbs, plural, quoted};
use crate::dates::date_short;
use crate::trials;

labels! {
    title = "Season report";
    print = "Print";
    print_hint = "One page or more of A4 for each try, in ink alone. Most devices can also save it as a PDF.";
    back = "Back";
    tries = "The tries";
    design = "What was done";
    stood = "Where they stood";
    counted = "What counted";
    not_known = "What is not known";
    every_one = "Every bulb";
    last_look = "last look";
    never = "never";
}

/// The line over a page: whose it is, and when it was printed.
pub fn head(nursery: &str, today: Date) -> String {
    let day = date_full(today);
    if nursery.is_empty() { format!("{} · {day}", title()) } else { format!("{nursery} · {} · {day}", title()) }
}

/// `25 Nov 2026`: on paper the year is never left out.
pub fn date_full(date: Date) -> String {
    format!("{} {}", date_short(date, date), date.year())
}

/// `first try, 14 Mar 2026 to 20 Jun 2026`.
pub fn when(ordinal: &str, run: &Run) -> String {
    match (run.started, run.start(), run.closed) {
        (Some(from), _, Some(to)) => {
            format!("{ordinal}, {} to {}", date_full(from), date_full(to))
        }
        (Some(from), _, None) => format!("{ordinal}, since {}", date_full(from)),
        (None, Some(from), _) => format!("{ordinal}, planned for {}", date_full(from)),
        (None, None, _) => ordinal.to_owned(),
    }
}

/// What differs between the groups, and what it was done to.
pub fn differs(question: &Question) -> String {
    let factors = question.factors.iter().map(|factor| {
        let to = match factor.applied_to {
            AppliedTo::Bulb => "each bulb by itself",
            AppliedTo::Container => "whole containers",
            AppliedTo::Place => "whole places",
        };
        format!("{} (done to {to})", factor.name)
    });
    let factors: Vec<String> = factors.collect();
    if factors.is_empty() {
        return String::new();
    }
    format!("What differs: {}.", factors.join(", "))
}

/// A group with its levels: `rest: 12 weeks · as it would be done anyway · 8 bulbs`.
pub fn group(treatment: Option<&Treatment>, n: u32) -> String {
    let mut parts: Vec<String> = Vec::new();
    if let Some(treatment) = treatment {
        let levels = treatment.levels.iter();
        let levels = levels.filter(|level| level.text != treatment.name);
        parts.extend(levels.map(|level| format!("{}: {}", level.factor, level.text)));
        if treatment.control {
            parts.push(trials::as_usual().to_owned());
        }
    }
    parts.push(bulbs(n as usize));
    parts.join(" · ")
}

/// `Shade house (8 bulbs, 50 % of the light kept out)`.
pub fn ground(ground: &Ground, state: &State) -> String {
    let name = state.name_of(ground.place);
    let n = bulbs(ground.n_bulbs);
    if ground.blocks_percent > 0 {
        format!("{name} ({n}, {} % of the light kept out)", ground.blocks_percent)
    } else {
        format!("{name} ({n})")
    }
}

/// What a try leaves open, a line each. Nothing here is free text of the grower's.
pub fn leaves_open(stands: &Standing, state: &State, n_tries: usize) -> Vec<String> {
    let mut lines = Vec::new();
    match &stands.sentence {
        Sentence::StillRunning { n_waiting, .. } if stands.closed.is_some() => {
            lines.push(format!("What {} did after the try was closed.", bulbs(*n_waiting as usize)))
        }
        Sentence::StillRunning { n_waiting, .. } => lines.push(format!(
            "What {} still waiting will do; until then nothing is said of a difference.",
            bulbs(*n_waiting as usize)
        )),
        Sentence::Undecided { n_cant_say } => {
            lines.push(format!("What became of {} that nobody saw in time.", bulbs(*n_cant_say as usize)))
        }
        Sentence::CountsOnly(why) | Sentence::NoTest(why) => lines.extend(open_without_test(*why)),
        Sentence::Decided(all) => lines.extend(all.iter().map(|one| open_after_test(one, state))),
    }
    let total = &stands.total;
    if total.n_left > 0 {
        lines.push(format!("What {} would have done that left before it was decided.", bulbs(total.n_left as usize)));
    }
    if total.n_missing > 0 {
        lines.push(format!("What became of {} that went missing.", bulbs(total.n_missing as usize)));
    }
    lines.push(match n_tries {
        0 | 1 => {
            "Whether another season, another place or another lot would give the same: this is one try.".to_owned()
        }
        n => format!(
            "Whether another nursery, place or lot would give the same: these are {} of one nursery.",
            plural(n, "try", "tries")
        ),
    });
    lines
}

fn open_without_test(why: WhyNoTest) -> Option<String> {
    let line = match why {
        WhyNoTest::ChosenByHand | WhyNoTest::TypedIn => {
            "Whether what was done made the difference: the groups were not drawn by lot."
        }
        WhyNoTest::OneGroup | WhyNoTest::NothingLeft(_) | WhyNoTest::NoClassWithBoth => {
            "How the groups compare: there is nothing to set them beside."
        }
        WhyNoTest::OneUnitAGroup | WhyNoTest::ContainersNotDrawn => {
            "Whether what was done or the container made the difference."
        }
        WhyNoTest::RuleHasNone | WhyNoTest::OtherDesign => {
            "Whether chance alone could have made the difference: no test fits that was fixed before the start."
        }
        // Not begun, not over, or not said yet: the sentence says so already.
        _ => return None,
    };
    Some(line.to_owned())
}

fn open_after_test(decided: &Decided, state: &State) -> String {
    let (more, fewer) = (quoted(state.name_of(decided.compared.more)), quoted(state.name_of(decided.compared.fewer)));
    match decided.verdict.strength {
        Strength::TooFewToTell if decided.compared.gap.difference == 0.0 => {
            format!("Whether {more} and {fewer} differ at all: they came out alike, and so few bulbs can't say more.")
        }
        Strength::TooFewToTell => format!(
            "Whether {more} and {fewer} differ at all: with so few bulbs, chance alone can make such a difference."
        ),
        Strength::OnTheEdge => {
            format!("Whether {more} and {fewer} differ: it is on the edge of what chance alone can make.")
        }
        Strength::ToldApart => format!(
            "How large the difference between {more} and {fewer} truly is; the counts leave the room that is said above."
        ),
    }
}
