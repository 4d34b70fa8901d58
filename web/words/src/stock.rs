//! Words of the list of all bulbs.

use bloomdue_core::nursery::{Bulb, State};
use bloomdue_core::stock::{Shows, SizeClass};

use crate::common::bulbs;
use crate::formats;

labels! {
    title = "Stock";
    all_of_them = "All of them";
    what_it_shows = "What they show";
    narrow = "Choose by";
    place = "Place";
    lot = "Lot";
    cultivar = "Cultivar";
    size = "Size";
    any = "any";
    none = "No bulb is like that.";
    show_everything = "Show everything";
    all_here = "All here";
}

pub fn shows(shows: Shows) -> &'static str {
    match shows {
        Shows::AtRest => "at rest",
        Shows::NoShoot => "no stalk yet",
        Shows::Unsure => "a shoot, not sure",
        Shows::ScapeInSight => "stalk in sight",
        Shows::ScapeStretching => "stalk stretching",
        Shows::SpatheSplit => "bud sheath split",
        Shows::InFlower => "in flower",
        Shows::Fading => "fading",
        Shows::Over => "over",
        Shows::Blind => "blind",
        Shows::Left => "gone out",
        Shows::Died => "died",
        Shows::Missing => "missing",
    }
}

/// `24 to 26 cm`, the trade's size classes, which are of centimetres whatever they are shown in.
pub fn size_class(size: SizeClass) -> String {
    formats::lengths(size.from_cm * 10, (size.from_cm + 2) * 10)
}

/// What a chip says to a screen reader: `3 bulbs, stalk in sight`.
pub fn n_that_show(kind: Shows, n: usize) -> String {
    format!("{}, {}", bulbs(n), shows(kind))
}

/// `12 of 58 bulbs`, or `58 bulbs`.
pub fn tally(n: usize, of: usize) -> String {
    if n == of { bulbs(of) } else { format!("{n} of {}", bulbs(of)) }
}

/// What a row says: what it shows and where it stands.
pub fn row(bulb: &Bulb, state: &State) -> String {
    let kind = Shows::of(bulb);
    let place = bulb.place.map(|place| state.name_of(place)).filter(|name| kind.is_here() && !name.is_empty());
    match place {
        Some(place) => format!("{} · {place}", shows(kind)),
        None => shows(kind).to_owned(),
    }
}
