//! Places, and bulbs added to them.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{LotBody, PlaceKind};
use bloomdue_core::nursery::{Bulb, State};
use bloomdue_core::units::LengthUnit;

use crate::acts::look;
use crate::common::{bulbs, circumference};
use crate::formats;

labels! {
    nothing_recorded = "Nothing is recorded yet.";
    begin_with_a_place = "Begin with a place and its bulbs";
    no_places = "No place yet. A place is a bench, a bed, a room: wherever bulbs stand together.";
    add_place = "Add a place";
    find_bulb = "Find a bulb";
    change_place = "Change this place";
    place_changed = "Place changed";
    new_place = "A new place";
    place_name = "Name of the place";
    place_name_hint = "As you call it: Bench 2, Cellar, North bed.";
    what_it_is = "What it is";
    shade_label = "Shade cloth over it, %";
    shade_hint = "How much of the light it blocks; leave empty if none.";
    shade_cloth = "shade cloth";
    structure = "structure";
    trees = "trees";
    structure_label = "Roof, glass, laths or walls, %";
    trees_label = "Trees over it, %";
    more_layers = "What else keeps light out";
    layers_hint = "Each layer by itself; together they multiply. A guess will do: reading the light mends it.";
    save_and_add_bulbs = "Save and add bulbs";
    walk_it = "Walk through";
    record_care = "Record something done";
    here = "Here";
    look_again = "Look again: a shoot that may be stalk or leaf.";
    bench_order = "In the order of the bench.";
    add_bulbs = "Add bulbs";
    walk_sheet = "Walk sheet on paper";
    type_sheet_in = "Type a walk sheet in";
    which_lot = "Lot";
    how_many = "How many bulbs";
    cultivar = "Cultivar";
    cultivar_hint = "Or the colour, if the name is lost.";
    lot_name = "Name of the lot";
    lot_name_hint = "Bulbs that came together; empty for the cultivar's name.";
    circumference_label = "Circumference";
    sizes_unknown = "Not measured";
    sizes_grade = "All alike";
    sizes_each = "Each its own";
    own_names = "Your own names or numbers";
    own_names_label = "Your own names, one a line";
    own_names_hint = "Every bulb gets a tag from the program as well.";
    poison_note =
        "All parts are poisonous to people and animals, and stored bulbs look like onions; sap irritates, so wear gloves. \
         Follow local rules; ask a poison centre or vet if something was eaten.";
    add_them = "Add them";
}

/// What layers of shade are recorded as, in the order in which a form asks for them.
pub const LAYERS: [&str; 3] = [shade_cloth(), structure(), trees()];

/// The least circumference of bulbs that are all alike.
pub fn from_length() -> String {
    format!("From, {}", formats::length_asked())
}

/// The greatest.
pub fn to_length() -> String {
    format!("To, {}", formats::length_asked())
}

pub fn each_length() -> String {
    format!("Circumferences in {}, in order", formats::length_asked())
}

pub fn each_hint() -> String {
    let numbers = match formats::units().length {
        LengthUnit::Centimetres => [260, 275, 280],
        LengthUnit::InchFractions | LengthUnit::InchDecimals => [254, 267, 279],
    };
    format!("Around the widest part; with spaces between: {}", numbers.map(formats::length_number).join(" "))
}

pub fn place_kind(kind: PlaceKind) -> &'static str {
    match kind {
        PlaceKind::Bench => "bench",
        PlaceKind::Bed => "bed",
        PlaceKind::ShadeHouse => "shade house",
        PlaceKind::DarkRoom => "dark room",
        PlaceKind::Cellar => "cellar",
        PlaceKind::Shelf => "shelf",
        PlaceKind::ColdStore => "cold store",
        PlaceKind::Other => "other place",
    }
}

pub fn place_under(kind: PlaceKind, blocks_percent: u32, last_walk: Option<String>) -> String {
    let mut parts = vec![place_kind(kind).to_owned()];
    if blocks_percent > 0 {
        parts.push(format!("blocks {blocks_percent} % of the light"));
    }
    if let Some(seen) = last_walk {
        parts.push(format!("all looked at {seen}"));
    }
    parts.join(" · ")
}

/// Lot, and what the bulb last showed or what became of it.
pub fn bulb_under(bulb: &Bulb, state: &State, today: Date) -> String {
    let mut parts = of_what(bulb, state);
    let gone_or_blind = crate::bulb::fate(&bulb.fate, today).or_else(|| crate::bulb::blind_since(bulb, today));
    match (gone_or_blind, bulb.last_look()) {
        (Some(known), _) => parts.push(known),
        (None, Some(seen)) => parts.push(look(&seen.look)),
        (None, None) => parts.push("no look yet".to_owned()),
    }
    parts.join(" · ")
}

/// The same on the bench, where a blind bulb says so beside its tag: what is read there comes first here, too.
pub fn bench_under(bulb: &Bulb, state: &State, today: Date) -> String {
    match crate::bulb::blind_since(bulb, today) {
        Some(blind) => [blind].into_iter().chain(of_what(bulb, state)).collect::<Vec<_>>().join(" · "),
        None => bulb_under(bulb, state, today),
    }
}

/// Lot and size.
fn of_what(bulb: &Bulb, state: &State) -> Vec<String> {
    let lot = bulb.lot.shown().map(|lot| state.name_of(*lot).to_owned());
    lot.into_iter().chain(bulb.circumference_mm.map(circumference)).collect()
}

/// What a bulb on the bench says to those who do not see its drawing: `7KV H0T: stalk in sight, 2 days ago, look again`.
pub fn on_the_bench(label: &str, says: &str, seen: Option<&str>, again: bool) -> String {
    let again = again.then_some("look again");
    let parts: Vec<&str> = [Some(says), seen, again].into_iter().flatten().collect();
    format!("{label}: {}", parts.join(", "))
}

/// A lot as a choice.
pub fn lot(lot: &LotBody) -> String {
    if lot.cultivar.is_empty() || lot.cultivar == lot.name {
        lot.name.clone()
    } else {
        format!("{} ({})", lot.name, lot.cultivar)
    }
}

pub fn added(n: usize) -> String {
    format!("Added {}", bulbs(n))
}
