//! Words for what is done and seen.

use bloomdue_core::ledger::body::{ActKind, ContainerKind, Counted, Finding, LeftHow, Measured};
use bloomdue_core::record::asks::{Caution, Family};

use super::en::bulbs;

/// Families of acts with their headings.
pub(crate) const FAMILIES: &[(Family, &str)] = &[
    (Family::Rest, "Rest"),
    (Family::Water, "Water and feed"),
    (Family::Place, "Pot and place"),
    (Family::Growth, "Growth"),
    (Family::End, "Sold, lost, put aside"),
    (Family::Order, "Cycle and jobs"),
];

pub(crate) fn what_was_done() -> &'static str {
    "What was done?"
}

pub(crate) fn for_many(name: &str, n: usize) -> String {
    format!("{name} · {}", bulbs(n))
}

pub(crate) fn seen() -> &'static str {
    "Seen or measured"
}

pub(crate) fn everything() -> &'static str {
    "Everything else"
}

pub(crate) fn something_else() -> &'static str {
    "Something else"
}

pub(crate) fn inspection() -> &'static str {
    "Inspect"
}

pub(crate) fn measure() -> &'static str {
    "Measure"
}

pub(crate) fn count() -> &'static str {
    "Count"
}

pub(crate) fn note() -> &'static str {
    "Note"
}

pub(crate) fn light() -> &'static str {
    "Light"
}

pub(crate) fn climate() -> &'static str {
    "Temperature, humidity"
}

pub(crate) fn n_offsets() -> &'static str {
    "New bulbs from each"
}

pub(crate) fn n_offsets_hint() -> &'static str {
    "Each gets a tag and the mother's lot. 0 when the offsets are not kept."
}

pub(crate) fn offset_name() -> &'static str {
    "Your own name for the new bulb, if wished"
}

pub(crate) fn offset_stands() -> &'static str {
    "The new bulbs stand"
}

pub(crate) fn with_mother() -> &'static str {
    "where the mother stands"
}

pub(crate) fn each_label() -> &'static str {
    "For whom"
}

pub(crate) fn same_for_all() -> &'static str {
    "the same for all"
}

pub(crate) fn bulb_by_bulb() -> &'static str {
    "bulb by bulb"
}

pub(crate) fn each_hint(unit: &str) -> String {
    format!("{unit}, for each bulb; leave a field empty to leave its bulb out.")
}

pub(crate) fn when() -> &'static str {
    "When it happened"
}

pub(crate) fn choose_day() -> &'static str {
    "Choose the day on which it happened."
}

pub(crate) fn n_of(n: usize, all: usize) -> String {
    format!("For {n} of {all}; tap to make exceptions")
}

pub(crate) fn all() -> &'static str {
    "All"
}

pub(crate) fn none() -> &'static str {
    "None"
}

pub(crate) fn done(what: &str, n: usize, of_place: bool) -> String {
    if of_place { what.to_owned() } else { format!("{what}: {}", bulbs(n)) }
}

pub(crate) fn where_to() -> &'static str {
    "Where to"
}

pub(crate) fn stays() -> &'static str {
    "stays where it is"
}

pub(crate) fn into_container() -> &'static str {
    "Into"
}

pub(crate) fn own_pot() -> &'static str {
    "a pot each"
}

pub(crate) fn new_container() -> &'static str {
    "Or into a new container called"
}

pub(crate) fn container_kind(kind: ContainerKind) -> &'static str {
    match kind {
        ContainerKind::Pot => "pot",
        ContainerKind::Trough => "trough",
        ContainerKind::Tray => "tray",
    }
}

pub(crate) fn container_kind_label() -> &'static str {
    "What it is"
}

pub(crate) fn inner_width() -> &'static str {
    "Inner width, cm"
}

pub(crate) fn new_container_hint() -> &'static str {
    "A trough or pot for several: bulbs get their positions in the order listed."
}

pub(crate) fn with(kind: ActKind) -> &'static str {
    match kind {
        ActKind::Packed => "In what",
        ActKind::Potted => "Which mix",
        ActKind::Fed => "Which feed",
        ActKind::SprayedOrDipped => "Which product",
        _ => "With or in what",
    }
}

pub(crate) fn condition() -> &'static str {
    "Damp or dry"
}

pub(crate) fn conditions() -> Vec<(String, String)> {
    ["", "dry", "damp"]
        .map(|word| (word.to_owned(), if word.is_empty() { "not said" } else { word }.to_owned()))
        .to_vec()
}

pub(crate) fn how_label() -> &'static str {
    "How it left"
}

pub(crate) fn how(how: LeftHow) -> &'static str {
    match how {
        LeftHow::Sold => "sold",
        LeftHow::Given => "given away",
        LeftHow::Withdrawn => "withdrawn",
    }
}

pub(crate) fn stage_when_left() -> &'static str {
    "How far it was"
}

pub(crate) fn no_stalk() -> &'static str {
    "no stalk"
}

pub(crate) fn fit_when_left() -> &'static str {
    "It was"
}

pub(crate) fn fit() -> &'static str {
    "fit to sell"
}

pub(crate) fn not_fit() -> &'static str {
    "not fit to sell"
}

pub(crate) fn whom() -> &'static str {
    "For whom, if wished"
}

pub(crate) fn cause(kind: ActKind) -> &'static str {
    if kind == ActKind::Died { "Of what, if known" } else { "Why" }
}

pub(crate) fn until() -> &'static str {
    "Until"
}

pub(crate) fn add_note() -> &'static str {
    "Add a note"
}

pub(crate) fn findings() -> &'static str {
    "What was found"
}

pub(crate) fn finding(finding: Finding) -> &'static str {
    finding.word()
}

pub(crate) fn watch_it() -> &'static str {
    "Keep an eye on it"
}

pub(crate) fn red_is_not_proof() -> &'static str {
    "Red marks alone prove no disease: any injury reddens. Keep doubtful bulbs apart and ask a licensed adviser."
}

pub(crate) fn measured_label() -> &'static str {
    "What was measured"
}

pub(crate) fn measured(what: Measured) -> &'static str {
    match what {
        Measured::Circumference => "circumference",
        Measured::Height => "height of the stalk",
        Measured::NeckWidth => "width of the neck",
        Measured::LeafLength => "longest leaf",
        Measured::Weight => "weight",
    }
}

pub(crate) fn measured_unit(what: Measured) -> &'static str {
    if what == Measured::Weight { "Weight, g" } else { "Length, cm" }
}

pub(crate) fn counted_label() -> &'static str {
    "What was counted"
}

pub(crate) fn counted(what: Counted) -> &'static str {
    match what {
        Counted::Leaves => "leaves",
        Counted::Scapes => "stalks",
        Counted::Florets => "florets",
    }
}

pub(crate) fn how_many() -> &'static str {
    "How many"
}

pub(crate) fn ppfd() -> &'static str {
    "Light (PPFD), µmol per m² and second"
}

pub(crate) fn lux() -> &'static str {
    "Or lux"
}

pub(crate) fn temperature() -> &'static str {
    "Temperature, °C"
}

pub(crate) fn humidity() -> &'static str {
    "Relative humidity, %"
}

/// A caution at the act it belongs to.
pub(crate) fn caution(caution: Caution) -> &'static str {
    match caution {
        Caution::Sap => {
            "Sap irritates skin: wear gloves. Bulbs and leaves are poisonous to eat for people and animals; ask a poison centre or vet if some was eaten."
        }
        Caution::Knife => "Clean and disinfect the knife between bulbs, as its product's label says.",
        Caution::Dust => "Damp perlite and compost before handling; don't breathe the dust.",
        Caution::Label => {
            "Pesticides, dips and hot water only as the label and local law allow; ask a licensed adviser. No doses are given here."
        }
        Caution::Heavy => "Full pots are heavy: lift with help. Mind ladders and heat in the shade house.",
    }
}
