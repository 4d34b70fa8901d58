//! Words of a bulb's page, its look, its names, finding it, and the call.

use bloomdue_core::calendar::Date;
use bloomdue_core::call::{Certainty, Character, Choice, Lean, Reading, Strength, Sure};
use bloomdue_core::ledger::body::{Leaves, Neck, ShootKind, Stage};
use bloomdue_core::nursery::season::{Found, What};
use bloomdue_core::nursery::{Bulb, Fate, Shoot, State};
use bloomdue_core::picture::{Kind, Unfit};

use super::en::{self, date_short, days_away, stage};
use crate::device::photo::NoPhoto;

/// Lot, size, place, group and try.
pub(crate) fn under(bulb: &Bulb, state: &State, today: Date) -> String {
    let mut parts = Vec::new();
    if let Some(lot) = bulb.lot.shown() {
        parts.push(state.name_of(*lot).to_owned());
    }
    if let Some(size) = bulb.circumference_mm {
        parts.push(en::circumference(size));
    }
    if let Some(fate) = fate(&bulb.fate, today) {
        parts.push(fate);
    } else {
        if let Some(place) = bulb.place {
            parts.push(state.name_of(place).to_owned());
        }
        if let Some((container, position)) = bulb.container {
            let at = position.map(|at| format!(" {at}")).unwrap_or_default();
            parts.push(format!("{}{at}", state.name_of(container)));
        }
    }
    parts.join(" · ")
}

/// What became of a bulb that is no longer here.
pub(crate) fn fate(fate: &Fate, today: Date) -> Option<String> {
    Some(match fate {
        Fate::Here => return None,
        Fate::Left { on, how } => {
            format!("{} {}", super::care::how(*how), date_short(*on, today))
        }
        Fate::Died { on, .. } => format!("died {}", date_short(*on, today)),
        Fate::Missing { on } => format!("missing since {}", date_short(*on, today)),
    })
}

pub(crate) fn tag(grouped: &str) -> String {
    format!("Tag {grouped}")
}

pub(crate) fn unknown() -> &'static str {
    "This bulb is not in these records."
}

pub(crate) fn group_line(group: &str, question: &str, ordinal: u32) -> String {
    format!("{group} · {question} · {}", en::ordinal_try(ordinal))
}

pub(crate) fn look_now() -> &'static str {
    "Look"
}

pub(crate) fn record_something() -> &'static str {
    "Record something done"
}

pub(crate) fn names_and_lot() -> &'static str {
    "Names and lot"
}

pub(crate) fn shoots() -> &'static str {
    "Shoots"
}

/// One shoot with what is known of it.
pub(crate) fn shoot(shoot: &Shoot, today: Date) -> String {
    let what = match shoot.kind {
        // Proved a stalk, it is one in sight at least.
        ShootKind::Scape => stage(shoot.stage.max(Stage::ScapeInSight)).to_owned(),
        ShootKind::Leaf => "a leaf".to_owned(),
        ShootKind::Unknown => "not sure".to_owned(),
    };
    let mut parts =
        vec![format!("Shoot {}: {what}", shoot.ordinal), format!("first seen {}", date_short(shoot.since, today))];
    let side = en::side(shoot.side);
    if !side.is_empty() {
        parts.push(side.to_owned());
    }
    if shoot.contradicted {
        parts.push("said to be both".to_owned());
    }
    if let Some((permille, again)) = shoot.call {
        parts.push(format!(
            "called a stalk with {} in 100, see again {}",
            (permille + 5) / 10,
            days_away(again, today)
        ));
    }
    parts.join(" · ")
}

pub(crate) fn is_it_a_stalk() -> &'static str {
    "Is it a stalk?"
}

pub(crate) fn photos() -> &'static str {
    "Photos"
}

pub(crate) fn take_photo() -> &'static str {
    "Take a photo"
}

pub(crate) fn choose_photo() -> &'static str {
    "Choose a photo"
}

pub(crate) fn photo_saved(label: &str) -> String {
    format!("{label}: photo")
}

pub(crate) fn show_large() -> &'static str {
    "Show it large"
}

pub(crate) fn photo_missing() -> &'static str {
    "This photo's picture is not on this device; take in a file that holds it."
}

pub(crate) fn photo_of(label: &str, day: &str, drawn: bool) -> String {
    if drawn { format!("Drawing of {label}, {day}") } else { format!("Photo of {label}, {day}") }
}

pub(crate) fn making_photo() -> &'static str {
    "Keeping the photo …"
}

pub(crate) fn records() -> &'static str {
    "Records"
}

pub(crate) fn beside() -> &'static str {
    "What stands beside it"
}

pub(crate) fn show_all(n: usize) -> String {
    format!("Show all {n}")
}

pub(crate) fn season_summary(bulb: &Bulb, today: Date) -> String {
    let n = bulb.cycle().looks.len();
    let last = bulb.last_look().map(|seen| days_away(seen.at.date(), today));
    match last {
        Some(last) => format!("Season: {}, the last {last}", en::plural(n, "look", "looks")),
        None => "Season: no look yet".to_owned(),
    }
}

pub(crate) fn rest() -> &'static str {
    "rest"
}

pub(crate) fn growth() -> &'static str {
    "growth"
}

pub(crate) fn due(day: &str) -> String {
    format!("due {day}")
}

pub(crate) fn season_days() -> &'static str {
    "Day by day"
}

pub(crate) fn day_word() -> &'static str {
    "Day"
}

pub(crate) fn what_word() -> &'static str {
    "What"
}

/// A row of the season told in words.
pub(crate) fn season_row(what: What) -> String {
    match what {
        What::Act(kind) => en::acted(kind).to_owned(),
        What::Look(Found::Silent, _) => "look, neck not looked at".to_owned(),
        What::Look(Found::Nothing, _) => "look, no stalk".to_owned(),
        What::Look(Found::Something, Some(at)) => format!("look, {}", stage(at)),
        What::Look(Found::Something, None) => "look, a shoot, not sure".to_owned(),
        What::Photo => "photo".to_owned(),
        What::DueFrom => "due window begins".to_owned(),
        What::Deadline => "last day that counts".to_owned(),
    }
}

pub(crate) fn own_name() -> &'static str {
    "Your own name or number"
}

pub(crate) fn own_name_hint() -> &'static str {
    "Empty to go by the tag alone."
}

pub(crate) fn lot() -> &'static str {
    "Lot"
}

pub(crate) fn offset_of() -> &'static str {
    "Offset of (tag or name of its mother)"
}

pub(crate) fn no_such(text: &str) -> String {
    format!("No bulb is called {text}.")
}

pub(crate) fn renamed() -> &'static str {
    "Names saved"
}

pub(crate) fn new_tag() -> &'static str {
    "Give it a new tag"
}

pub(crate) fn new_tag_hint() -> &'static str {
    "When the old tag is lost, or two bulbs carry the same."
}

pub(crate) fn tag_changed() -> &'static str {
    "New tag given; it stands on the bulb's page"
}

pub(crate) fn same_tag(n: usize) -> String {
    format!("{n} bulbs carry this tag. Give one of them a new one.")
}

pub(crate) fn find_title() -> &'static str {
    "Find a bulb"
}

pub(crate) fn find_label() -> &'static str {
    "Tag, own name, lot or cultivar"
}

pub(crate) fn find_hint() -> &'static str {
    "Any part of it."
}

pub(crate) fn nothing_found() -> &'static str {
    "Nothing found."
}

pub(crate) fn did_you_mean() -> &'static str {
    "No bulb has that tag. Did you mean"
}

pub(crate) fn look_title() -> &'static str {
    "A closer look"
}

pub(crate) fn neck_label() -> &'static str {
    "At the neck"
}

pub(crate) fn neck(neck: Neck) -> &'static str {
    match neck {
        Neck::Clear => "nothing",
        Neck::Shoots => "shoots",
        Neck::NotLookedAt => "not looked at",
    }
}

pub(crate) fn leaves_label() -> &'static str {
    "Leaves"
}

pub(crate) fn leaves(leaves: Leaves) -> &'static str {
    match leaves {
        Leaves::None => "none",
        Leaves::Same => "same as before",
        Leaves::More => "more",
        Leaves::Count => "counted",
        Leaves::NotLookedAt => "not looked at",
    }
}

pub(crate) fn n_leaves() -> &'static str {
    "How many leaves"
}

pub(crate) fn shoot_n(n: u32) -> String {
    format!("Shoot {n}")
}

pub(crate) fn kind_label() -> &'static str {
    "It is"
}

pub(crate) fn kind(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Unknown => "not sure",
        ShootKind::Leaf => "a leaf",
        ShootKind::Scape => "a stalk",
    }
}

pub(crate) fn stage_label() -> &'static str {
    "How far"
}

pub(crate) fn side_label() -> &'static str {
    "Where it stands, seen from above"
}

pub(crate) fn side_not_said() -> &'static str {
    "not said"
}

pub(crate) fn height_label() -> &'static str {
    "Height over the neck, cm, if measured"
}

pub(crate) fn shoot_known(n: u32) -> String {
    format!("Shoot {n} was there")
}

pub(crate) fn add_shoot() -> &'static str {
    "Add a shoot"
}

pub(crate) fn remove_shoot() -> &'static str {
    "Not there any more"
}

pub(crate) fn looked(label: &str) -> String {
    format!("{label}: look")
}

/// A question of the key.
pub(crate) fn question(character: Character) -> (&'static str, &'static str) {
    match character {
        Character::Thickness => ("How thick is its tip?", "Beside a leaf of the same bulb or its neighbour."),
        Character::Rise => ("Where does it rise?", "Look straight down into the neck."),
        Character::Outline => ("What does its tip look like?", "From the side, at eye level."),
        Character::Split => ("Is there a fine line over the tip?", "Where two bracts of the bud sheath meet."),
        Character::Face => ("How does its flat side stand?", "Look straight down; do not bend it."),
        Character::Growth => ("How fast did it grow?", "Since it was first seen."),
        Character::Order => ("What came first?", "After the rest."),
    }
}

pub(crate) fn choice(choice: Choice) -> &'static str {
    match choice {
        Choice::Thick => "Clearly thicker than a leaf",
        Choice::Thin => "As thin as a leaf",
        Choice::Beside => "From the side, outside the leaves",
        Choice::Middle => "From the middle, among the leaves",
        Choice::BluntSpear => "A plump, blunt spear",
        Choice::RoundedTongue => "A flat, rounded tongue",
        Choice::LineSeen => "A fine line is there",
        Choice::NoLine => "No line",
        Choice::AlongLeaves => "Along the leaves' faces",
        Choice::FacesLeaf => "Facing the leaf opposite",
        Choice::Fast => "3 cm a day or more",
        Choice::Middling => "1 to 3 cm a day",
        Choice::Slow => "1 cm a day or less",
        Choice::BeforeLeaves => "This shoot, before any new leaf",
        Choice::AfterLeaves => "New leaves, or both together",
    }
}

pub(crate) fn certainty(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Good => "tells well",
        Certainty::Fair => "helps, and can fool",
        Certainty::Weak => "a weak hint",
    }
}

pub(crate) fn cannot_tell() -> &'static str {
    "Can't tell"
}

pub(crate) fn so_far() -> &'static str {
    "So far"
}

/// What the key says so far.
pub(crate) fn reading(reading: &Reading) -> String {
    let strength = |strength: Strength| match strength {
        Strength::Slightly => "slightly",
        Strength::Clearly => "clearly",
        Strength::Strongly => "strongly",
    };
    let chance = |permille: u32| format!("about {} in 100", (permille + 5) / 10);
    match reading.lean {
        Lean::Even if reading.sure == Sure::Nothing => "Nothing to go by yet.".to_owned(),
        Lean::Even => "Even: it may be either.".to_owned(),
        Lean::LeansStalk(how) => format!("Leaning {} to a stalk, {}.", strength(how), chance(reading.stalk_permille)),
        Lean::LeansLeaf(how) => {
            format!("Leaning {} to a leaf, {}.", strength(how), chance(1000 - reading.stalk_permille))
        }
    }
}

pub(crate) fn sure(sure: Sure) -> &'static str {
    match sure {
        Sure::Nothing => "",
        Sure::Thin => "Thin evidence: little to compare with yet.",
        Sure::Some => "One or two things worth looking at.",
        Sure::Good => "Several things agree.",
    }
}

pub(crate) fn grade() -> &'static str {
    "From common practice; no published key was found."
}

pub(crate) fn past(n_right: usize, n_proved: usize) -> String {
    if n_proved == 0 {
        "No call here was proved yet.".to_owned()
    } else {
        format!("Of {n_proved} first calls here that were proved later, {n_right} leaned the right way.")
    }
}

pub(crate) fn again(day: &str) -> String {
    format!("Look again on {day}.")
}

pub(crate) fn keep_call() -> &'static str {
    "Keep this call"
}

pub(crate) fn call_kept(label: &str) -> String {
    format!("{label}: call kept")
}

pub(crate) fn leave_it() -> &'static str {
    "Leave it for later"
}

pub(crate) fn it_turned_out() -> &'static str {
    "It has shown itself"
}

/// How a shoot turned out, as a button says it.
pub(crate) fn proved(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Scape => "It was a stalk",
        ShootKind::Leaf => "It was a leaf",
        ShootKind::Unknown => "Still not known",
    }
}

/// What a shoot is known to be, as the records have it.
pub(crate) fn known_as(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Scape => "A stalk, as the records have it.",
        ShootKind::Leaf => "A leaf, as the records have it.",
        ShootKind::Unknown => "Not known yet.",
    }
}

pub(crate) fn offsets() -> &'static str {
    "Offsets"
}

pub(crate) fn to_mother(mother: &str) -> String {
    format!("Offset of {mother}")
}

pub(crate) fn put_kind_right() -> &'static str {
    "Stalk or leaf"
}

pub(crate) fn leaf() -> &'static str {
    "leaf"
}

pub(crate) fn even() -> &'static str {
    "even"
}

pub(crate) fn stalk() -> &'static str {
    "stalk"
}

pub(crate) fn call_place(label: &str, ordinal: u32) -> String {
    format!("{label} · shoot {ordinal}")
}

pub(crate) fn all_asked() -> &'static str {
    "All that can be looked at was asked."
}

pub(crate) fn container_under(n: usize) -> String {
    en::bulbs(n)
}

pub(crate) fn all_in(container: &str) -> String {
    format!("All in {container}")
}

/// Why there is no photo, and a way on.
pub(crate) fn no_photo(why: &NoPhoto) -> String {
    const TAKE_ONE: &str = "Take the photo with the button here, or choose another one.";
    match why {
        NoPhoto::Unfit(Unfit::Empty) => format!("This file is empty: it holds no picture. {TAKE_ONE}"),
        NoPhoto::Unfit(Unfit::CutOff) => {
            format!("This picture is cut off: its end is missing. Copy it here once more. {TAKE_ONE}")
        }
        NoPhoto::Unfit(Unfit::TooLarge { width, height }) => format!(
            "This picture is too large to be opened here: {width} × {height} dots. Make it smaller first, to 100 million dots \
             at most. {TAKE_ONE}"
        ),
        NoPhoto::Unfit(Unfit::NoPicture(Kind::Svg)) => {
            format!("This is a drawing (SVG), no photo. Save it as PNG or JPEG first. {TAKE_ONE}")
        }
        NoPhoto::Unfit(Unfit::NoPicture(_)) => format!("This file holds text, no picture. {TAKE_ONE}"),
        NoPhoto::Unread(Kind::Heic) => {
            "This browser cannot read pictures of the kind HEIC. Take the photo with the button here, or have the phone take \
             JPEG: on an iPhone under Settings, Camera, Formats, Most Compatible."
                .to_owned()
        }
        NoPhoto::Unread(_) => {
            format!("This browser cannot read the file as a picture. JPEG and PNG it can. {TAKE_ONE}")
        }
        NoPhoto::Refused(words) => format!("No photo was made: the browser says {words}. {TAKE_ONE}"),
    }
}
