//! Words for what is done and seen.

use bloomdue_core::ledger::body::{ActKind, ContainerKind, Counted, Finding, LeftHow, Measured};
use bloomdue_core::record::act_fields::{Caution, Family};

use crate::common::{Slot, bulbs, slots};
use crate::{dates, formats, records};
use bloomdue_core::calendar::Date;

labels! {
    what_was_done = "What was done?";
    seen = "Seen or measured";
    everything = "Everything else";
    inspection = "Inspect";
    measure = "Measure";
    count = "Count";
    note = "Note";
    light = "Light";
    climate = "Temperature, humidity";
    n_offsets = "New bulbs from each";
    n_offsets_hint = "Each gets a tag and the mother's lot. 0 when the offsets are not kept.";
    offset_name = "Your own name for the new bulb, if wished";
    offset_stands = "The new bulbs stand";
    with_mother = "where the mother stands";
    each_label = "For whom";
    same_for_all = "the same for all";
    bulb_by_bulb = "bulb by bulb";
    some_day = "a day to be chosen";
    somebody = "nobody yet";
    when = "When it happened";
    choose_day = "Choose the day on which it happened.";
    all = "All";
    none = "None";
    where_to = "Where to";
    stays = "stays where it is";
    into_container = "Into";
    own_pot = "a pot each";
    new_container = "Or into a new container called";
    container_kind_label = "What it is";
    new_container_hint = "A trough or pot for several: bulbs get their positions in the order listed.";
    condition = "Damp or dry";
    how_label = "How it left";
    stage_when_left = "How far it was";
    no_stalk = "no stalk";
    fit_when_left = "It was";
    fit = "fit to sell";
    not_fit = "not fit to sell";
    whom = "For whom, if wished";
    until = "Until";
    add_note = "Add a note";
    findings = "What was found";
    watch_it = "Keep an eye on it";
    red_is_not_proof =
        "Red marks alone prove no disease: any injury reddens. Keep doubtful bulbs apart and ask a licensed adviser.";
    measured_label = "What was measured";
    counted_label = "What was counted";
    how_many = "How many";
    ppfd = "Light (PPFD), µmol per m² and second";
    lux = "Or lux";
    humidity = "Relative humidity, %";
    ends_hint = "From a thermometer that keeps them; reset it after reading.";
}

/// Families of acts with their headings.
pub const FAMILIES: &[(Family, &str)] = &[
    (Family::Rest, "Rest"),
    (Family::Water, "Water and feed"),
    (Family::Place, "Pot and place"),
    (Family::Growth, "Growth"),
    (Family::End, "Sold, lost, put aside"),
    (Family::Order, "Cycle and jobs"),
];

pub fn for_many(name: &str, n: usize) -> String {
    format!("{name} · {}", bulbs(n))
}

pub fn each_hint(unit: &str) -> String {
    format!("{unit}, for each bulb; leave a field empty to leave its bulb out.")
}

/// The sentence that says for which bulbs, when and by whom; its parts are changed where they stand.
pub fn done_so(several: bool) -> Vec<Slot> {
    slots(if several { "{bulbs}, {day}, by {who}." } else { "This was {day}, by {who}." })
}

/// For which of several bulbs.
pub fn all_but(n: usize, all: usize) -> String {
    match all - n.min(all) {
        0 => format!("All {all}"),
        n_out if n_out == all => format!("None of {all} yet"),
        // Whichever number is the smaller is the one that was tapped.
        n_out if n_out <= n => format!("All {all} but {n_out}"),
        _ => format!("{n} of {all}"),
    }
}

/// A day as it was chosen.
pub fn on_day(chosen: &str, today: Date) -> String {
    match chosen.parse::<Date>() {
        Ok(day) if (0..=1).contains(&day.days_until(today)) => dates::days_away(day, today),
        Ok(day) => dates::date_short(day, today),
        Err(_) => some_day().to_owned(),
    }
}

pub fn save_for(n: usize) -> String {
    format!("Save: {}", bulbs(n))
}

pub fn n_of(n: usize, all: usize) -> String {
    match n {
        0 => format!("For none of {all} yet; tick each one that is meant"),
        n => format!("For {n} of {all}"),
    }
}

pub fn done(what: &str, n: usize, of_place: bool) -> String {
    if of_place { what.to_owned() } else { format!("{what}: {}", bulbs(n)) }
}

pub fn container_kind(kind: ContainerKind) -> &'static str {
    match kind {
        ContainerKind::Pot => "pot",
        ContainerKind::Trough => "trough",
        ContainerKind::Tray => "tray",
        ContainerKind::SquarePot => "square pot",
        ContainerKind::Bag => "bag",
    }
}

pub fn with(kind: ActKind) -> &'static str {
    match kind {
        ActKind::Packed => "In what",
        ActKind::Potted => "Which mix",
        ActKind::Fed => "Which feed",
        ActKind::SprayedOrDipped => "Which product",
        _ => "With or in what",
    }
}

pub fn conditions() -> Vec<(String, String)> {
    ["", "dry", "damp"]
        .map(|word| (word.to_owned(), if word.is_empty() { "not said" } else { word }.to_owned()))
        .to_vec()
}

pub fn how(how: LeftHow) -> &'static str {
    match how {
        LeftHow::Sold => "sold",
        LeftHow::Given => "given away",
        LeftHow::Withdrawn => "withdrawn",
    }
}

pub fn cause(kind: ActKind) -> &'static str {
    if kind == ActKind::Died { "Of what, if known" } else { "Why" }
}

pub fn finding(finding: Finding) -> &'static str {
    finding.word()
}

pub fn measured(what: Measured) -> &'static str {
    match what {
        Measured::Circumference => "circumference",
        Measured::Height => "height of the stalk",
        Measured::NeckWidth => "width of the neck",
        Measured::LeafLength => "longest leaf",
        Measured::Weight => "weight",
    }
}

/// What is typed for it, with its unit.
pub fn measured_unit(what: Measured) -> String {
    if what == Measured::Weight { records::value_g().to_owned() } else { records::value_length() }
}

/// Which keyboard a phone shows for it.
pub fn measured_keyboard(what: Measured) -> &'static str {
    if what == Measured::Weight { "numeric" } else { formats::length_keyboard() }
}

pub fn inner_width() -> String {
    format!("Inner width, {}", formats::length_asked())
}

pub fn temperature() -> String {
    format!("Temperature, {}", formats::temperature_unit())
}

/// The lowest temperature since the reading before.
pub fn lowest() -> String {
    format!("Lowest, {}", formats::temperature_unit())
}

/// The highest.
pub fn highest() -> String {
    format!("Highest, {}", formats::temperature_unit())
}

pub fn counted(what: Counted) -> &'static str {
    match what {
        Counted::Leaves => "leaves",
        Counted::Scapes => "stalks",
        Counted::Florets => "florets",
    }
}

/// A caution at the act it belongs to.
pub fn caution(caution: Caution) -> String {
    let words = match caution {
        Caution::Sap => {
            "Sap irritates: wear gloves, keep it off your eyes, wash your hands. All parts are poisonous to people and animals. If some was eaten, ask a poison centre or vet."
        }
        Caution::Kitchen => "Keep them away from kitchens and onions: they look alike, and these are poisonous.",
        Caution::Buyer => "Tell whoever gets them: poisonous to people and pets.",
        Caution::Knife => {
            "Clean and disinfect the knife between bulbs, as the disinfectant's label says. Never mix products."
        }
        Caution::Dust => {
            "Damp perlite, sand and compost first; don't breathe the dust. Open compost bags away from your face. Fever or cough in the days after: tell the doctor."
        }
        Caution::Label => {
            "Pesticides, dips and hot water only as the label and local law allow; ask a licensed adviser. No doses are given here."
        }
        Caution::LabelOfWhatIsAdded => {
            "Plain water needs no label. Anything in it: only as its label and local law allow. No doses are given here."
        }
        Caution::Heavy => "Full pots are heavy: lift with help. Mind ladders and heat in the shade house.",
        Caution::Store => {
            return format!(
                "Never below {}. Keep the air at 70 to 80 % humidity: drier, roots shrivel; damper, they mould (trade page).",
                formats::temperature(50)
            );
        }
        Caution::Stakes => "Cap stakes that end at the height of eyes (common practice).",
        Caution::Sick => {
            "Soft, rotten or fly-eaten: set apart in a bag, not on the compost; in a try, record it first. Mottled leaves may be a virus; it has no cure. Take no offsets, clean the knife, ask a plant adviser."
        }
    };
    words.to_owned()
}
