//! What was entered by mistake: taken out, renamed, given another lot.

use bloomdue_core::record::mistakes::Goes;

use super::en::{bulbs, plural};

pub(crate) fn more_of(lot: &str) -> String {
    format!("More of {lot}")
}

pub(crate) fn another_cultivar() -> &'static str {
    "Another cultivar"
}

pub(crate) fn several() -> &'static str {
    "Change several bulbs"
}

pub(crate) fn several_under() -> &'static str {
    "Tick the bulbs, then choose what is to be put right."
}

pub(crate) fn another_lot() -> &'static str {
    "They are of another lot"
}

pub(crate) fn move_them() -> &'static str {
    "Move to this lot"
}

pub(crate) fn moved(n: usize) -> String {
    format!("Moved to another lot: {}", bulbs(n))
}

pub(crate) fn by_mistake() -> &'static str {
    "Entered by mistake"
}

/// What taking bulbs out takes with them.
pub(crate) fn goes(goes: &Goes) -> String {
    let mut parts = Vec::new();
    for (n, one, many) in [
        (goes.n_looks, "look", "looks"),
        (goes.n_acts, "act", "acts"),
        (goes.n_others, "other record", "other records"),
    ] {
        if n > 0 {
            parts.push(plural(n, one, many));
        }
    }
    let whose = if goes.n_bulbs == 1 { "it" } else { "them" };
    if parts.is_empty() {
        format!("{}. Nothing else was recorded of {whose}.", bulbs(goes.n_bulbs))
    } else {
        let go = if goes.n_looks + goes.n_acts + goes.n_others == 1 { "goes" } else { "go" };
        format!(
            "{}. With {whose} {go}: {}. All of it comes back when this is taken back.",
            bulbs(goes.n_bulbs),
            parts.join(", ")
        )
    }
}

pub(crate) fn take_out() -> &'static str {
    "Take out of the nursery"
}

pub(crate) fn taken_out(what: &str) -> String {
    format!("Taken out: {what}")
}

pub(crate) fn lots() -> &'static str {
    "Lots and cultivars"
}

pub(crate) fn lots_under() -> &'static str {
    "A lot is bulbs of one cultivar that came together."
}

pub(crate) fn no_lots() -> &'static str {
    "No lot yet. One is made when bulbs are added."
}

pub(crate) fn lot_changed() -> &'static str {
    "Lot changed"
}

pub(crate) fn tick_bulbs() -> &'static str {
    "Tick at least one bulb."
}
