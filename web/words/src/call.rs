//! Words of the call, of how calls turned out, and of practice.

use bloomdue_core::calendar::Date;
use bloomdue_core::call::past::{OfCharacter, Told};
use bloomdue_core::call::situation::Grown;
use bloomdue_core::call::{
    Accuracy, Agreement, Answered, Certainty, Character, Choice, Group, Lean, NUMBER_FROM_PROOFS, Reading, Strength,
    Sure, Table as Likelihoods, characters::scapes_at_most, lean,
};
use bloomdue_core::evidence::forecast_scores::Bin;
use bloomdue_core::ledger::body::ShootKind;
use bloomdue_core::sight::{Estimate, Rise};
use bloomdue_core::sketch::View;

use crate::coming::chance_words;
use crate::common::{grade, plural};
use crate::dates::date_short;
use crate::formats::{about, about_number, decimal, length};
use crate::measure;
use crate::table::Table;

labels! {
    title = "Stalk or leaf?";
    cannot_tell = "Can't tell";
    so_far = "So far";
    take_answer_back = "Tap an answer to take it back.";
    keep_call = "Keep this call";
    leave_it = "Leave it for later";
    it_turned_out = "It has shown itself";
    surely_leaf = "surely a leaf";
    even = "even";
    surely_stalk = "surely a stalk";
    your_looks = "your looks";
    on_the_photo = "on the photo";
    mark_it = "Mark it on a photo";
    settled = "What would settle it";
    split_settles = "A bud sheath that splits: only a stalk has one.";
    worked_out = "How this was worked out";
    learned_from = "Learned from the calls of";
    everyone = "everyone";
    weights = "What each answer weighs";
    good_title = "How good our calls are";
    good_under = "Of each shoot the first call counts.";
    none_called = "No shoot has been called yet. The walk and a bulb's page ask “Stalk or leaf?”.";
    by_person = "By who called";
    by_question = "By question";
    as_said = "What was said, and what came";
    agree = "Two people on one shoot";
    days_early = "Days gained";
    for_statistics = "The measures by their names";
    practice = "Practise";
    practice_title = "Practise: stalk or leaf?";
    practice_under = "Guess, then see. Nothing of it is recorded.";
    what_is_it = "What does it look like?";
    guess_stalk = "A stalk";
    guess_leaf = "A leaf";
    next_one = "Next";
    from_the_drawings = "Drawings";
    from_own_photos = "Photos of this nursery";
    practice_done = "That was all there is.";
    practice_again = "Once more";
}

/// A question of the key, and how to look.
pub fn question(character: Character) -> (&'static str, &'static str) {
    match character {
        Character::Thickness => ("How thick is its tip?", "Beside a leaf of the same bulb or its neighbour."),
        Character::Rise => ("Where does it rise?", "Look straight down into the neck. Touch nothing."),
        Character::Outline => ("What does its tip look like?", "From the side, at eye level."),
        Character::Section => ("Thick both ways, or flat?", "Look straight down on it, then from the side."),
        Character::Split => ("Is there a fine line over the tip?", "Where two bracts of the bud sheath meet."),
        Character::Face => ("How does its flat side stand?", "Look straight down; do not bend it."),
        Character::Growth => ("How fast did it grow?", "Between two looks at least three days apart."),
        Character::Order => ("What came first?", "After the rest."),
        Character::Scapes => ("May its size bear one more stalk?", "By its circumference and what it has shown."),
    }
}

pub fn choice(choice: Choice) -> String {
    let words = match choice {
        Choice::Thick => "Clearly thicker than a leaf",
        Choice::Thin => "As thin as a leaf",
        Choice::Beside => "Beside the leaves",
        Choice::Middle => "Among the leaves",
        Choice::BluntSpear => "A plump, blunt spear",
        Choice::RoundedTongue => "A flat, rounded tongue",
        Choice::Oval => "Oval, thick both ways",
        Choice::Flat => "Flat, thick one way",
        Choice::LineSeen => "A fine line is there",
        Choice::NoLine => "No line",
        Choice::AlongLeaves => "Along the leaves' faces",
        Choice::FacesLeaf => "Facing the leaf opposite",
        Choice::Fast => return format!("{} a day or more", about(30)),
        Choice::Middling => return format!("{} to {} a day", about_number(10), about(30)),
        Choice::Slow => return format!("{} a day or less", about(10)),
        Choice::BeforeLeaves => "This shoot, before any new leaf",
        Choice::AfterLeaves => "New leaves, or both together",
        Choice::Room => "Yes, there is room for one",
        Choice::Full => "No, it has shown them all",
    };
    words.to_owned()
}

/// What a group of questions looks at.
pub fn group(group: Group) -> &'static str {
    match group {
        Group::Place => "where it rises",
        Group::Shape => "shape and thickness",
        Group::Surface => "surface",
        Group::Growth => "growth",
        Group::Order => "order",
        Group::Size => "the bulb's size",
    }
}

pub fn view(view: View) -> &'static str {
    match view {
        View::Side => "from the side",
        View::Above => "from above",
    }
}

pub fn certainty(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Good => "tells well",
        Certainty::Fair => "helps, and can fool",
        Certainty::Weak => "hints only weakly",
    }
}

/// How far a question is to be trusted, and who says that it tells the two apart.
pub fn how_far(character: Character) -> String {
    let certainty = certainty(character.certainty());
    format!("It {certainty} ({}).", grade(character.source()))
}

/// What the looks say of growth: `Your looks: 1.2 cm, then 2.4 cm after 3 days. That is 0.4 cm a day.`
pub fn grown(grown: Grown) -> String {
    let (from, to) = (length(i64::from(grown.from_mm)), length(i64::from(grown.to_mm)));
    let a_day = (i64::from(grown.to_mm) - i64::from(grown.from_mm)) / grown.days.max(1);
    let days = usize::try_from(grown.days).unwrap_or(0);
    format!("Your looks: {from}, then {to} after {}. That is {} a day.", plural(days, "day", "days"), length(a_day))
}

/// What marks on a photo say of where it rises: `On the photo: beside the leaves (0.82, ± 0.06; 0 centre, 1 rim).`
pub fn rises_on_photo(index: Estimate, rise: Rise) -> String {
    format!("On the photo: {} ({}; 0 centre, 1 rim).", measure::rise(rise), measure::index(index))
}

/// What the trade expects of a size: `28.4 cm around: up to 2 stalks a season, as vendors say. Others shown: 1.`
pub fn size_bears(size_mm: (i64, i64), n_others: usize) -> String {
    let mm = (size_mm.0 + size_mm.1) / 2;
    let most = plural(scapes_at_most(mm), "stalk", "stalks");
    format!("{} around: up to {most} a season, as vendors say. Others shown this season: {n_others}.", length(mm))
}

fn strength(strength: Strength) -> &'static str {
    match strength {
        Strength::Slightly => "slightly",
        Strength::Clearly => "clearly",
        Strength::Strongly => "strongly",
    }
}

/// A chance as a range in tenths: `5 to 8 times in 10`.
fn in_tenths((low, high): (u32, u32)) -> String {
    let tenths = |permille: u32| ((permille + 50) / 100).clamp(1, 9);
    match (tenths(low), tenths(high)) {
        (low, high) if low == high => chance_words(f64::from(low) / 10.0),
        (low, high) => format!("{low} to {high} times in 10"),
    }
}

/// What the key says so far: to which side, and by how much as a range; as one number only where it may be told.
pub fn reading(reading: &Reading) -> String {
    let of_stalk = |stalk: bool| {
        let turned = |permille: u32| if stalk { permille } else { 1000 - permille };
        let (low, high) = (turned(reading.range_permille.0), turned(reading.range_permille.1));
        let range = in_tenths((low.min(high), low.max(high)));
        if reading.number_is_told {
            let number = chance_words(f64::from(turned(reading.stalk_permille)) / 1000.0);
            format!("{number} ({range})")
        } else {
            range
        }
    };
    match reading.lean {
        Lean::Even if reading.sure == Sure::Nothing => "Even: nothing looked at yet.".to_owned(),
        // What is expected of the bulb leans by itself.
        Lean::LeansStalk(_) if reading.sure == Sure::Nothing => {
            format!("Its forecast alone: a stalk, {}.", of_stalk(true))
        }
        Lean::LeansLeaf(_) if reading.sure == Sure::Nothing => {
            format!("Its forecast alone: a leaf, {}.", of_stalk(false))
        }
        Lean::Even => "Even: it may be either.".to_owned(),
        Lean::LeansStalk(how) => format!("Leaning {} to a stalk: {}.", strength(how), of_stalk(true)),
        Lean::LeansLeaf(how) => format!("Leaning {} to a leaf: {}.", strength(how), of_stalk(false)),
    }
}

/// A call as it is told later: `called a stalk, clearly`.
pub fn called(stalk_permille: u32) -> String {
    match lean(stalk_permille) {
        Lean::Even => "left even: stalk or leaf".to_owned(),
        Lean::LeansStalk(how) => format!("called a stalk, {}", strength(how)),
        Lean::LeansLeaf(how) => format!("called a leaf, {}", strength(how)),
    }
}

pub fn sure(sure: Sure) -> &'static str {
    match sure {
        Sure::Nothing => "",
        Sure::Thin => "Thin evidence: little to compare with yet.",
        Sure::Some => "One or two things worth looking at.",
        Sure::Good => "Several things agree.",
    }
}

/// Nothing more is asked.
pub fn nothing_more(any_left: bool) -> &'static str {
    if any_left { "No question left would change that." } else { "All that can be looked at was asked." }
}

/// One answer that would settle it: `How fast did it grow? 3 cm a day or more`.
pub fn would_settle((character, choice): Answered) -> String {
    format!("{} {}", question(character).0, self::choice(choice))
}

/// The line under the chance: how the calls here turned out.
pub fn past(n_right: usize, n_proved: usize) -> String {
    if n_proved == 0 {
        "No call here was proved yet.".to_owned()
    } else {
        format!("Earlier calls here: {n_right} of {n_proved} were right.")
    }
}

pub fn again(day: &str) -> String {
    format!("Look again on {day}.")
}

pub fn call_kept(label: &str) -> String {
    format!("{label}: call kept")
}

pub fn call_place(label: &str, ordinal: u32) -> String {
    format!("{label} · shoot {ordinal}")
}

/// How a shoot turned out, as a button says it.
pub fn proved(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Scape => "It was a stalk",
        ShootKind::Leaf => "It was a leaf",
        ShootKind::Unknown => "Still not known",
    }
}

/// What a shoot is known to be, as the records have it.
pub fn known_as(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Scape => "A stalk, as the records have it.",
        ShootKind::Leaf => "A leaf, as the records have it.",
        ShootKind::Unknown => "Not known yet.",
    }
}

/// What was believed before any answer.
pub fn expected(permille: Option<u32>) -> String {
    match permille {
        Some(permille) => format!(
            "Before any answer, by its forecast without this shoot: a stalk in sight by now, {}.",
            chance_words(f64::from(permille) / 1000.0)
        ),
        None => "Before any answer: even, since no forecast speaks of this shoot.".to_owned(),
    }
}

/// How many proved shoots the weights rest on.
pub fn rests_on(n_proved: usize) -> String {
    let number = if n_proved < NUMBER_FROM_PROOFS {
        format!(" A single number is told from {NUMBER_FROM_PROOFS} on; till then a range.")
    } else {
        String::new()
    };
    match n_proved {
        0 => format!("The weights are common practice; no shoot here was proved yet.{number}"),
        n => format!(
            "The weights are common practice and {} of this nursery.{number}",
            plural(n, "proved shoot", "proved shoots")
        ),
    }
}

/// How answers that look at the same thing count.
pub fn how_combined(table: &Likelihoods) -> String {
    format!(
        "Of questions about the same thing the strongest answer counts whole, each other one to the power {}; all together to the power {}. Both are learned from proved shoots.",
        decimal(table.power, 1),
        decimal(table.scale, 1)
    )
}

/// What each answer weighs, with the question's group, its certainty and its source.
pub fn weights_table(table: &Likelihoods) -> Table {
    let heads =
        ["Answer", "Of 100 stalks", "Of 100 leaves", "Group", "Certainty", "Source"].map(str::to_owned).to_vec();
    let row = |character: Character, choice: Choice| {
        let (stalks, leaves) = table.shares((character, choice));
        vec![
            self::choice(choice),
            format!("{:.0}", stalks * 100.0),
            format!("{:.0}", leaves * 100.0),
            group(character.group()).to_owned(),
            certainty(character.certainty()).to_owned(),
            grade(character.source()).to_owned(),
        ]
    };
    let rows = Character::ALL.iter().flat_map(|c| c.choices().iter().map(move |choice| row(*c, *choice))).collect();
    Table { caption: weights().to_owned(), heads, rows }
}

/// `3 of 4`, with the exact interval in tenths behind it.
fn of_told(told: Told) -> String {
    if told.n == 0 {
        return "–".to_owned();
    }
    let interval = told.interval();
    let tenths = |share: f64| (share * 10.0).round();
    format!("{} of {} ({} to {} in 10)", told.right, told.n, tenths(interval.lower), tenths(interval.upper))
}

/// How calls turned out, in sentences.
pub fn how_good(accuracy: &Accuracy) -> Vec<String> {
    let n_open = accuracy.n_called - accuracy.n_proved();
    let open = (n_open > 0).then(|| {
        let shoots = plural(n_open, "shoot", "shoots");
        format!("Of {shoots} it is not known yet.")
    });
    if accuracy.n_proved() == 0 {
        return open.into_iter().collect();
    }
    let even = accuracy.stalks.left_even + accuracy.leaves.left_even;
    let mut lines = vec![format!("{} of {} calls were right.", accuracy.n_right(), accuracy.n_proved())];
    if even > 0 {
        lines.push(format!("{even} leaned to neither side."));
    }
    let stalks = accuracy.sensitivity();
    if stalks.n > 0 {
        lines.push(format!("Of {}, {} called one.", plural(stalks.n, "stalk", "stalks"), were(stalks.right)));
    }
    let leaves = accuracy.specificity();
    if leaves.n > 0 {
        lines.push(format!("Of {}, {} called one.", plural(leaves.n, "leaf", "leaves"), were(leaves.right)));
    }
    lines.extend(open);
    lines
}

fn were(n: usize) -> String {
    if n == 1 { "1 was".to_owned() } else { format!("{n} were") }
}

/// How early stalks were called: days in order of size.
pub fn days_gained(days: &[i64]) -> String {
    match days {
        [] => "No stalk was rightly called before it was known.".to_owned(),
        [one] => format!("One stalk was rightly called {} before it was known.", days_word(*one)),
        many if many[0] == many[many.len() - 1] => {
            format!("{} stalks were rightly called before they were known, each {}.", many.len(), days_word(many[0]))
        }
        many => format!(
            "{} stalks were rightly called before they were known, {} to {} days, {} in the middle.",
            many.len(),
            many[0],
            many[many.len() - 1],
            many[many.len() / 2]
        ),
    }
}

fn days_word(days: i64) -> String {
    plural(usize::try_from(days).unwrap_or(0), "day", "days")
}

/// The measures by their names, for statisticians.
pub fn measures(accuracy: &Accuracy) -> Table {
    let rows = [
        ("Sensitivity: stalks called stalks", accuracy.sensitivity()),
        ("Specificity: leaves called leaves", accuracy.specificity()),
        ("Predictive value of “stalk”", accuracy.predictive_of_stalk()),
        ("Predictive value of “leaf”", accuracy.predictive_of_leaf()),
        ("Right of all", accuracy.overall()),
    ];
    let row = |(name, told): (&str, Told)| {
        let interval = told.interval();
        vec![
            name.to_owned(),
            format!("{} of {}", told.right, told.n),
            format!("{:.0} to {:.0} %", interval.lower * 100.0, interval.upper * 100.0),
        ]
    };
    Table {
        caption: for_statistics().to_owned(),
        heads: ["Measure", "Count", "Exact 95 % interval"].map(str::to_owned).to_vec(),
        rows: rows.into_iter().map(row).collect(),
    }
}

/// Who called how well.
pub fn person_row(name: &str, accuracy: &Accuracy, days: &[i64]) -> Vec<String> {
    let middle = if days.is_empty() { "–".to_owned() } else { days[days.len() / 2].to_string() };
    vec![
        name.to_owned(),
        format!("{} of {}", accuracy.n_right(), accuracy.n_proved()),
        of_told(accuracy.sensitivity()),
        of_told(accuracy.specificity()),
        middle,
    ]
}

pub fn person_heads() -> Vec<String> {
    ["Who", "Right", "Stalks called stalks", "Leaves called leaves", "Days gained"].map(str::to_owned).to_vec()
}

/// How well one question told the two apart.
pub fn character_row(of: &OfCharacter) -> Vec<String> {
    vec![question(of.character).0.to_owned(), of_told(of.stalks), of_told(of.leaves)]
}

pub fn character_heads() -> Vec<String> {
    ["Question", "On stalks, for a stalk", "On leaves, for a leaf"].map(str::to_owned).to_vec()
}

/// `6 to 8 times in 10 a stalk | 7 | 5`.
pub fn bin_row(bin: &Bin) -> Vec<String> {
    let tenths = |chance: f64| (chance * 10.0).round();
    let came = bin.came.map_or(0.0, |share| share * bin.n as f64).round();
    vec![
        format!("{} to {} times in 10 a stalk", tenths(bin.from), tenths(bin.to)),
        bin.n.to_string(),
        format!("{came}"),
    ]
}

pub fn bin_heads() -> Vec<String> {
    ["Said", "Shoots", "Were stalks"].map(str::to_owned).to_vec()
}

/// How far two people agree: `Ana and Ben called 12 shoots alike of 14.`
pub fn agreement(a: &str, b: &str, of: &Agreement) -> String {
    let kappa = match of.kappa() {
        Ok(found) => {
            let (low, high) = found.interval();
            let [kappa, low, high] = [found.kappa, low, high].map(|value| decimal(value, 2));
            format!(" Beyond chance: {kappa} (kappa, linear weights; {low} to {high}).")
        }
        Err(_) => " Beyond chance nothing can be said yet.".to_owned(),
    };
    format!("{a} and {b} called {} of {} alike.{kappa}", of.n_alike(), plural(of.n(), "shoot", "shoots"))
}

/// The table of two people.
pub fn agreement_table(a: &str, b: &str, of: &Agreement) -> Table {
    let names = ["stalk", "even", "leaf"];
    let heads = std::iter::once(format!("{a} \\ {b}")).chain(names.map(str::to_owned)).collect();
    let rows = names
        .iter()
        .zip(of.table)
        .map(|(name, row)| std::iter::once((*name).to_owned()).chain(row.map(|n| n.to_string())).collect());
    Table { caption: format!("{a} and {b}"), heads, rows: rows.collect() }
}

/// How practice goes: `7 of 9 right`.
pub fn practised(n_right: usize, n: usize) -> String {
    format!("{n_right} of {n} right")
}

/// What a drawing shows.
pub fn drawing_tells((character, choice): Answered, stalk: bool) -> String {
    let speaks = if stalk { "speaks for a stalk" } else { "speaks for a leaf" };
    format!("“{}” {speaks}. {}", self::choice(choice), how_far(character))
}

pub fn guessed(right: bool) -> &'static str {
    if right { "Right." } else { "Not so." }
}

/// What a shoot on a photo became.
pub fn became(kind: ShootKind, label: &str, day: Date, today: Date) -> String {
    let what = match kind {
        ShootKind::Scape => "It became a stalk",
        ShootKind::Leaf => "It became a leaf",
        ShootKind::Unknown => "It is not known",
    };
    format!("{what} ({label}, photo of {}).", date_short(day, today))
}

pub fn photo_to_guess(label: &str) -> String {
    format!("Photo of {label}")
}

pub fn drawing_to_guess(view: View) -> String {
    format!("A shoot seen {}", self::view(view))
}

/// There are no photos to practise on yet.
pub fn no_photos() -> &'static str {
    "Photos come here once a shoot was photographed while nobody knew, and then turned out."
}
