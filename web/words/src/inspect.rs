//! Words for inspecting a bulb in hand: questions, what it comes to, what may be behind it, what to do first.

use bloomdue_core::calendar::Date;
use bloomdue_core::inspect::{Advice, Ailment, Loss, Step, Told, Verdict};
use bloomdue_core::ledger::body::{Check, Finding};
use bloomdue_core::record::inspected::Becomes;

use crate::common::{bulbs, plural, sentence};
use crate::dates::{date_long, date_short};
use crate::{formats, published};

labels! {
    title = "Inspect";
    cant_tell = "Can't tell";
    so_far = "So far";
    take_back = "Tap an answer to take it back.";
    becomes_label = "What becomes of it";
    again_label = "Inspect it again";
    weight_fold = "Its weight, if you have a scale";
    weight = "Weight, g";
    may_be = "What may be behind it";
    first_steps = "First steps";
    no_products = "No product, dose or temperature is given here: those are the label's, and your adviser's, to say.";
    whom_to_ask =
        "A plant adviser, the plant clinic of your extension service, or your plant health service. They ask for photos or a bulb in a closed bag.";
    asked_all = "Everything was asked.";
    nothing_told = "Take the bulb in hand. Answer what you can; one answer is enough to save.";
    soon = "in 3 days";
    week = "in a week";
    fortnight = "in 2 weeks";
    inspect_again = "Inspect again";
    rests_on = "Common practice, no source, beside what is said of each sign.";
    each_by_itself = "Each of these is to be looked at by itself.";
    after_rot = "A bulb rots: what to do";
}

/// The question, and how to look.
pub fn question(check: Check) -> (&'static str, &'static str) {
    match check {
        Check::Firmness => ("Is it firm?", "Press it gently between both hands. Dry skin may crackle."),
        Check::Base => ("How is the basal plate?", "Turn it over. Press the plate with a thumb; smell it."),
        Check::Spots => ("Any soft spots?", "Feel all around, under loose skin too."),
        Check::Red => ("Red marks?", "Spots or streaks on scales, neck or leaf bases. Red is not proof."),
        Check::Mould => ("Mould?", "On skin, roots and between the outer scales."),
        Check::Pests => ("Anything alive?", "Use a lens: neck, under loose skin, around the plate."),
        Check::Tunic => ("How is the tunic?", "The dry outer skin. Papery is as it should be."),
        Check::Nose => ("How is the nose?", "Where shoots rise, at the top of the neck."),
        Check::Leaves => ("How are the leaves?", "Against the light. Without leaves: can't tell."),
        Check::Roots => ("How are the roots?", "Dry roots may be alive: bend one gently."),
        Check::Offsets => ("Any offsets?", "Daughter bulbs at its side. They weaken it little by little."),
    }
}

/// An answer.
pub fn told((check, finding): Told) -> &'static str {
    match (check, finding) {
        (Check::Firmness, Some(Finding::Slack)) => "gives all over",
        (Check::Firmness, Some(Finding::Shrivelled)) => "light and shrivelled",
        (Check::Firmness, _) => "firm and full",
        (Check::Base, None) => "firm and dry",
        (Check::Base, Some(_)) => "soft, brown or mouldy",
        (Check::Spots, None) => "none",
        (Check::Spots, Some(_)) => "soft or sunken",
        (Check::Red, None) => "none",
        (Check::Red, Some(_)) => "red spots or streaks",
        (Check::Mould, None) => "none",
        (Check::Mould, Some(_)) => "on the surface",
        (Check::Pests, Some(Finding::Maggots)) => "a maggot, or its hole",
        (Check::Pests, Some(_)) => "small ones, or white wool",
        (Check::Pests, None) => "nothing",
        (Check::Tunic, None) => "dry and papery",
        (Check::Tunic, Some(_)) => "damp, dark, clinging",
        (Check::Nose, Some(Finding::NoseHurt)) => "crushed or cut",
        (Check::Nose, Some(_)) => "a sprout shows",
        (Check::Nose, None) => "whole",
        (Check::Leaves, None) => "plain green",
        (Check::Leaves, Some(_)) => "mottled, light and dark",
        (Check::Roots, None) => "plump",
        (Check::Roots, Some(_)) => "dead or brittle",
        (Check::Offsets, None) => "none",
        (Check::Offsets, Some(_)) => "some",
    }
}

/// What was asked about, in a few words, as a list names it.
pub fn piece(check: Check) -> &'static str {
    match check {
        Check::Firmness => "firmness",
        Check::Base => "basal plate",
        Check::Spots => "soft spots",
        Check::Red => "red marks",
        Check::Mould => "mould",
        Check::Pests => "pests",
        Check::Tunic => "tunic",
        Check::Nose => "nose",
        Check::Leaves => "leaves",
        Check::Roots => "roots",
        Check::Offsets => "offsets",
    }
}

fn all_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn found(findings: &[Finding]) -> String {
    let words: Vec<&str> = findings.iter().map(|finding| crate::care::finding(*finding)).collect();
    all_of(&words)
}

/// What it comes to, with the reason.
pub fn advice(advice: &Advice) -> String {
    let why = found(&advice.reasons);
    match advice.verdict {
        Verdict::Sound => "Sound, as far as hand and eye can tell.".to_owned(),
        Verdict::Unsure => {
            let pieces: Vec<&str> = advice.lacking.iter().map(|check| piece(*check)).collect();
            format!("Nothing wrong yet. Before it counts as sound: {}.", all_of(&pieces))
        }
        Verdict::Watch if advice.reasons == [Finding::RedMarks] => {
            "Watch it, apart from the others: red marks. Red is not proof; any injury reddens.".to_owned()
        }
        Verdict::Watch if advice.apart => format!("Watch it, apart from the others: {why}."),
        Verdict::Watch => format!("Watch it: {why}."),
        Verdict::Discard => format!("Better thrown away: {why}. It may infect its neighbours."),
    }
}

/// In a few words, for lists.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Sound => "sound",
        Verdict::Unsure => "not enough told",
        Verdict::Watch => "to be watched",
        Verdict::Discard => "better thrown away",
    }
}

pub fn becomes(becomes: Becomes) -> &'static str {
    match becomes {
        Becomes::Stays => "stays",
        Becomes::Watched => "is watched",
        Becomes::SetApart => "is set apart and watched",
        Becomes::ThrownAway => "is thrown away",
    }
}

/// The main button.
pub fn save(becomes: Becomes) -> &'static str {
    match becomes {
        Becomes::Stays => "Save: it stays",
        Becomes::Watched => "Save: watch it",
        Becomes::SetApart => "Save: set it apart",
        Becomes::ThrownAway => "Save: thrown away",
    }
}

/// What was saved.
pub fn saved(label: &str, becomes: Becomes, again: Option<Date>, today: Date) -> String {
    match (becomes, again) {
        (Becomes::Stays, _) => format!("{label}: inspected"),
        (Becomes::ThrownAway, _) => format!("{label}: inspected, thrown away"),
        (_, Some(day)) => format!("{label}: inspected, again on {}", date_short(day, today)),
        (_, None) => format!("{label}: inspected"),
    }
}

/// Why it was set apart or thrown away, for the record.
pub fn cause(findings: &[Finding]) -> String {
    found(findings)
}

pub fn asked_of(n: usize, all: usize) -> String {
    format!("{n} of {all} asked")
}

/// What it lost beside others of its lot.
pub fn loss(loss: &Loss, today: Date) -> String {
    let since = date_short(loss.from.0, today);
    let own = match loss.permille {
        n if n < 0 => format!("It gained {} % since {since}.", tenths(-n)),
        n => format!("It lost {} % since {since}.", tenths(n)),
    };
    let others = loss.others.map(|(middle, n)| {
        format!(" Of {} of its lot the middle one lost {} %.", plural(n, "other", "others"), tenths(middle))
    });
    format!("{own}{} No limit is published.", others.unwrap_or_default())
}

fn tenths(permille: i64) -> String {
    formats::decimal(permille as f64 / 10.0, 1)
}

/// A disease or pest with its causal name.
pub fn ailment(ailment: Ailment) -> &'static str {
    match ailment {
        Ailment::RedBlotch => {
            "Red blotch (leaf scorch): the fungus Peyronellaea curtisii, also named Stagonospora curtisii"
        }
        Ailment::OldInjury => "An old injury",
        Ailment::ScaleMite => "Bulb scale mite: Steneotarsonemus laticeps",
        Ailment::Rot => "Bulb rot: Botrytis, Rhizopus, Sclerotinia, Pythium, Sclerotium and others",
        Ailment::LargeFly => "Large narcissus fly: Merodon equestris",
        Ailment::SmallFlies => "Small bulb flies: Eumerus species",
        Ailment::BulbMite => "Bulb mites: Rhizoglyphus species",
        Ailment::Suckers => "Mealybugs, aphids or thrips",
        Ailment::Mosaic => "Mosaic: hippeastrum mosaic virus, or another virus",
    }
}

/// How it is known.
pub fn signs(ailment: Ailment) -> &'static str {
    match ailment {
        Ailment::RedBlotch => {
            "Small red spots, raised or long; leaves and stalks bend there and may dry up. Dark pimples in old spots."
        }
        Ailment::OldInjury => "Red where it was knocked, cut or rubbed. It does not spread from week to week.",
        Ailment::ScaleMite => {
            "Red streaks at the base of leaves and stalks, saw-like scars, twisted growth. Worse in warmth. Too small to see."
        }
        Ailment::Rot => "Soft, brown, wet or mouldy from the outer scales or the basal plate inward; it smells.",
        Ailment::LargeFly => "A soft bulb with one fat maggot inside; weak yellow leaves before.",
        Ailment::SmallFlies => "Many small maggots in a bulb that was damaged already.",
        Ailment::BulbMite => "Slow white globes in rotting scales; they follow rot rather than begin it.",
        Ailment::Suckers => "White wool or small insects at the neck, under the skin, on leaves.",
        Ailment::Mosaic => "Light and dark green patches or rings that stay as the leaf grows.",
    }
}

pub fn step(step: Step) -> &'static str {
    match step {
        Step::SetApart => "Set it apart from the others.",
        Step::BagIt => "What is rotten or eaten: into a closed bag, not on the compost.",
        Step::Neighbours => "Inspect its neighbours and its lot.",
        Step::Knife => "Clean and disinfect the knife after every bulb, as the label says.",
        Step::KeepDry => "Avoid wounds and wet leaves.",
        Step::Air => "Brush it off, give air, keep the store drier.",
        Step::NoOffsets => "Take no offsets and no seed of it.",
        Step::CoverNecks => "On bright warm days cover necks and close holes beside dying leaves.",
        Step::Compare => "Take a photo and compare it in a week before throwing it away.",
        Step::Ask => "Ask a plant adviser; some diseases must be reported.",
    }
}

/// Who says so, and how far that carries.
pub fn source(ailment: Ailment) -> String {
    published::line(ailment.claim())
}

/// Several that are to be inspected again.
pub fn again_title(n: usize) -> String {
    format!("Inspect again: {}", bulbs(n))
}

/// The last inspection of a bulb that is watched: `red marks, on 3 October`.
pub fn watched(findings: &[Finding], on: Date) -> String {
    sentence(&format!("{}, inspected on {}", found(findings), date_long(on)))
}
