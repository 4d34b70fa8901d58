//! What was entered by mistake: taken out, renamed, given another lot.

use bloomdue_core::record::mistakes::Goes;

use crate::common::{bulbs, plural};

labels! {
    another_cultivar = "Another cultivar";
    several = "Change several bulbs";
    several_under = "Tick the bulbs, then choose what is to be put right.";
    another_lot = "They are of another lot";
    move_them = "Move to this lot";
    by_mistake = "Entered by mistake";
    take_out = "Take out of the nursery";
    lots = "Lots and cultivars";
    lots_under = "A lot is bulbs of one cultivar that came together.";
    no_lots = "No lot yet. One is made when bulbs are added.";
    lot_changed = "Lot changed";
    tick_bulbs = "Tick at least one bulb.";
}

pub fn more_of(lot: &str) -> String {
    format!("More of {lot}")
}

pub fn moved(n: usize) -> String {
    format!("Moved to another lot: {}", bulbs(n))
}

/// What taking bulbs out takes with them.
pub fn goes(goes: &Goes) -> String {
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

pub fn taken_out(what: &str) -> String {
    format!("Taken out: {what}")
}
