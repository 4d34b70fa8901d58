//! Words for pots and mix.

use bloomdue_core::potting::advice::{ABOVE_LEAST_PERMILLE, ABOVE_MOST_PERMILLE, Beside, Stands};
use bloomdue_core::potting::mix::{Needed, Thing, Weight};
use bloomdue_core::potting::shape::Room;
use bloomdue_core::potting::{Answer, NoPotting, Wish};

use crate::common::{grade, plural};
use crate::{formats, published};

labels! {
    title = "Pots and mix";
    way = "Pots and mix: how much";
    the_pot = "The pot, measured inside";
    what_it_is = "What it is";
    base_fold = "Narrower at the base";
    base_hint = "Empty: as wide as at the rim.";
    the_bulb = "The bulb";
    above = "Above the mix";
    n_bulbs = "Bulbs in each";
    n_pots = "How many pots";
    which_mix = "Mix";
    own = "your own";
    lines = "Parts of the mix, one a line";
    lines_hint = "Parts, then what; litres in a bag and grams a litre if known: 2 loam, 50 L, 1200 g";
    settles = "It settles by, %";
    settles_hint = "Fill a measured litre loosely, tap, water, measure again. Empty: not known.";
    settles_fold = "If you measured how it settles";
    begin = "Measure the pot's inner width and height.";
    what_you_need = "What you need";
    part = "Part";
    how_much = "How much";
    bags = "Bags";
    room = "Room, depth, weight";
    published = "What is published, which differs";
    published_hint = "Each source beside your numbers. Nothing below extension service stands alone as advice.";
    keep_mix = "Keep this mix";
    mix_name = "Name of the mix";
    mix_kept = "Mix kept";
    sizes_kept = "Sizes kept";
    keep_sizes = "Keep these sizes";
    bag_hint = "A bag: its width lying flat and empty.";
    no_allowance =
        "Without allowance for settling. Loose mix often loses a tenth to a fifth (common practice): have some more ready.";
    as_sphere = "A bulb counts as a ball of its circumference.";
}

/// The width at the rim.
pub fn width() -> String {
    format!("Width at rim, {}", formats::length_asked())
}

pub fn length() -> String {
    format!("Length at rim, {}", formats::length_asked())
}

pub fn height() -> String {
    format!("Height, {}", formats::length_asked())
}

pub fn base_width() -> String {
    format!("Width at the base, {}", formats::length_asked())
}

pub fn base_length() -> String {
    format!("Length at the base, {}", formats::length_asked())
}

pub fn rim_gap() -> String {
    format!("From rim to mix, {}", formats::length_asked())
}

pub fn circumference() -> String {
    format!("Circumference, {}", formats::length_asked())
}

/// Shares of a bulb above the mix to choose from, permille.
pub const ABOVE: [(u32, &str); 5] =
    [(250, "a quarter"), (333, "a third"), (500, "half"), (667, "two thirds"), (950, "nearly all")];

/// `36.4 L`.
pub fn litres(ml: u64) -> String {
    format!("{} L", formats::decimal(ml as f64 / 1000.0, 1))
}

/// What has to be mixed, in one sentence.
pub fn say(answer: &Answer, n_pots: u32) -> String {
    if n_pots == 1 {
        return format!("1 pot takes {} of mix.", litres(answer.loose_ml));
    }
    let pots = plural(n_pots as usize, "pot takes", "pots take");
    format!("{pots} {} of mix, {} each.", litres(answer.loose_ml), litres(answer.mix_ml))
}

/// Bags to open, with what is left: `2 of 50 L, 3.6 L left`.
pub fn bags_of(needed: &Needed, bag_l: Option<u32>) -> String {
    match (needed.bags, needed.left_ml, bag_l) {
        (Some(n), Some(left_ml), Some(bag_l)) => format!("{n} of {bag_l} L, {} left", litres(left_ml)),
        _ => "–".to_owned(),
    }
}

/// Room around the bulbs.
pub fn room_around(room: &Room, below_mm: f64) -> String {
    let mm = |value: f64| formats::length(value.round() as i64);
    let between = room.between_mm.map(|between| format!(", {} from bulb to bulb", mm(between)));
    format!("{} from bulb to wall{}, {} of mix under it.", mm(room.wall_mm), between.unwrap_or_default(), mm(below_mm))
}

/// What one filled container weighs.
pub fn weight(weight: &Weight) -> String {
    let kg = formats::decimal(weight.g as f64 / 1000.0, 1);
    if weight.assumed {
        format!(
            "Filled, each weighs about {kg} kg without the pot, if a litre of mix weighs 1 kg. Sand is heavier: weigh a litre."
        )
    } else {
        format!("Filled, each weighs about {kg} kg without the pot, by the litres you weighed.")
    }
}

/// What to mind about how much stands above the mix.
pub fn mind(wish: &Wish) -> Option<&'static str> {
    let above_permille = wish.circumference_mm.map(|_| wish.above_permille)?;
    if above_permille > ABOVE_MOST_PERMILLE {
        Some("So high it may topple under its flowers: support it.")
    } else if above_permille < ABOVE_LEAST_PERMILLE {
        Some("So deep its neck may stay wet and rot.")
    } else {
        None
    }
}

/// Why there is no answer.
pub fn refused(why: NoPotting) -> String {
    let mm = |value: f64| formats::length((value.ceil() as i64).max(1));
    match why {
        NoPotting::NoSize => "Every size has to be more than nothing.".to_owned(),
        NoPotting::RimGapTooDeep => "No room for mix: the gap below the rim is as deep as the pot.".to_owned(),
        NoPotting::TooNarrow { short_mm } => {
            format!("The pot is too narrow for its bulbs by {}. Take a wider one or fewer bulbs.", mm(short_mm))
        }
        NoPotting::TooShallow { short_mm } => {
            format!("The pot is too shallow by {}. Take a deeper one, or set the bulb higher.", mm(short_mm))
        }
        NoPotting::Nothing => "Say how many pots, and what the mix is made of.".to_owned(),
    }
}

fn stands(stands: Stands) -> &'static str {
    match stands {
        Stands::Less => "less than it says",
        Stands::AsAsked => "as it says",
        Stands::More => "more than it says",
    }
}

/// One source beside a pot: what it says, with its grade, and how the pot stands to it.
pub fn beside(one: &Beside) -> String {
    let of = [
        ("above the mix", one.above),
        ("to the wall", one.wall),
        ("below the rim", one.rim),
        ("under the bulb", one.below),
    ];
    let yours: Vec<String> = of.iter().filter_map(|(what, how)| Some(format!("{what} {}", stands((*how)?)))).collect();
    let yours = if yours.is_empty() { String::new() } else { format!(" Yours: {}.", yours.join(", ")) };
    format!("{}: {}.{yours}", published::says(one.claim), grade(one.claim.source()))
}

/// A line of a mix that cannot be read.
pub fn wrong_line(line: &str) -> String {
    format!("“{line}”: begin with the parts as a whole number, then what it is, as in 2 loam, 50 L.")
}

/// What a mix is made of.
pub fn thing(thing: Thing) -> &'static str {
    match thing {
        Thing::PottingSoil => "potting soil",
        Thing::Sand => "sand",
        Thing::Loam => "loam",
        Thing::Perlite => "perlite",
        Thing::Compost => "compost",
        Thing::ScreenedSoil => "screened soil",
        Thing::Humus => "humus",
        Thing::RottedManure => "rotted manure",
    }
}
