//! Words of a bulb's page, its look, its names, and finding it.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{Leaves, Neck, ShootKind, Stage};
use bloomdue_core::nursery::season::{Found, What};
use bloomdue_core::nursery::{Bulb, Fate, Shoot, State};
use bloomdue_core::picture::{Kind, Unfit};
use bloomdue_core::stock::Shows;

use crate::acts::{acted, side, stage};
use crate::common::{bulbs, circumference, ordinal_try, plural};
use crate::dates::{date_short, days_away};
use crate::formats;
use crate::told::NoPhoto;

labels! {
    unknown = "This bulb is not in these records.";
    look_now = "Look";
    more = "More";
    record_something = "Record something done";
    names_and_lot = "Names and lot";
    shoots = "Shoots";
    is_it_a_stalk = "Is it a stalk?";
    photos = "Photos";
    take_photo = "Take a photo";
    choose_photo = "Choose a photo";
    show_large = "Show it large";
    photo_missing = "This photo's picture is not on this device; take in a file that holds it.";
    making_photo = "Keeping the photo …";
    records = "Records";
    beside = "What stands beside it";
    rest = "rest";
    growth = "growth";
    season_days = "Day by day";
    day_word = "Day";
    what_word = "What";
    own_name = "Your own name or number";
    own_name_hint = "Empty to go by the tag alone.";
    lot = "Lot";
    offset_of = "Offset of (tag or name of its mother)";
    renamed = "Names saved";
    new_tag = "Give it a new tag";
    new_tag_hint = "When the old tag is lost, or two bulbs carry the same.";
    tag_changed = "New tag given; it stands on the bulb's page";
    find_title = "Find a bulb";
    find_label = "Tag, own name, lot or cultivar";
    find_hint = "Any part of it.";
    nothing_found = "Nothing found.";
    did_you_mean = "No bulb has that tag. Did you mean";
    look_title = "A closer look";
    neck_label = "At the neck";
    leaves_label = "Leaves";
    n_leaves = "How many leaves";
    kind_label = "It is";
    stage_label = "How far";
    side_label = "Where it stands, seen from above";
    side_not_said = "not said";
    add_shoot = "Add a shoot";
    remove_shoot = "Not there any more";
    offsets = "Offsets";
    put_kind_right = "Stalk or leaf";
}

/// Lot, size, place, group and try.
pub fn under(bulb: &Bulb, state: &State, today: Date) -> String {
    let mut parts = Vec::new();
    if let Some(lot) = bulb.lot.shown() {
        parts.push(state.name_of(*lot).to_owned());
    }
    if let Some(size) = bulb.circumference_mm {
        parts.push(circumference(size));
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
pub fn fate(fate: &Fate, today: Date) -> Option<String> {
    Some(match fate {
        Fate::Here => return None,
        Fate::Left { on, how } => {
            format!("{} {}", crate::care::how(*how), date_short(*on, today))
        }
        Fate::Died { on, .. } => format!("died {}", date_short(*on, today)),
        Fate::Missing { on } => format!("missing since {}", date_short(*on, today)),
    })
}

/// Since when it is known that no stalk comes in this growth cycle.
pub fn blind_since(bulb: &Bulb, today: Date) -> Option<String> {
    bulb.blind_since().map(|since| format!("blind since {}", date_short(since, today)))
}

pub fn height_label() -> String {
    format!("Height over the neck, {}, if measured", formats::length_asked())
}

/// What is known of it, in one sentence: `Stalk in sight, 4 cm, 26 Nov.`
pub fn sentence(bulb: &Bulb, today: Date) -> String {
    let gone_or_blind = fate(&bulb.fate, today).or_else(|| blind_since(bulb, today));
    let known = match (gone_or_blind, bulb.cycle().resting_since(), bulb.last_look()) {
        (Some(known), _, _) => known,
        (None, Some(since), _) => format!("at rest since {}", date_short(since, today)),
        (None, None, Some(seen)) => {
            let height = seen.look.shoots.iter().filter_map(|shoot| shoot.height_mm).max();
            let height = height.map(|mm| format!(", {}", formats::length(mm.into()))).unwrap_or_default();
            let shows = crate::stock::shows(Shows::of(bulb));
            format!("{shows}{height}, {}", date_short(seen.at.date(), today))
        }
        (None, None, None) => "no look yet".to_owned(),
    };
    crate::common::sentence(&known)
}

pub fn tag(grouped: &str) -> String {
    format!("Tag {grouped}")
}

pub fn group_line(group: &str, question: &str, ordinal: u32) -> String {
    format!("{group} · {question} · {}", ordinal_try(ordinal))
}

/// One shoot with what is known of it.
pub fn shoot(shoot: &Shoot, today: Date) -> String {
    let what = match shoot.kind {
        // Proved a stalk, it is one in sight at least.
        ShootKind::Scape => stage(shoot.stage.max(Stage::ScapeInSight)).to_owned(),
        ShootKind::Leaf => "a leaf".to_owned(),
        ShootKind::Unknown => "not sure".to_owned(),
    };
    let mut parts =
        vec![format!("Shoot {}: {what}", shoot.ordinal), format!("first seen {}", date_short(shoot.since, today))];
    let side = side(shoot.side);
    if !side.is_empty() {
        parts.push(side.to_owned());
    }
    if shoot.contradicted {
        parts.push("said to be both".to_owned());
    }
    if let Some((permille, again)) = shoot.call {
        parts.push(format!("{}, see again {}", crate::call::called(permille), days_away(again, today)));
    }
    parts.join(" · ")
}

pub fn photo_saved(label: &str) -> String {
    format!("{label}: photo")
}

pub fn photo_of(label: &str, day: &str, drawn: bool) -> String {
    if drawn { format!("Drawing of {label}, {day}") } else { format!("Photo of {label}, {day}") }
}

pub fn show_all(n: usize) -> String {
    format!("Show all {n}")
}

pub fn season_summary(bulb: &Bulb, today: Date) -> String {
    let n = bulb.cycle().looks.len();
    let last = bulb.last_look().map(|seen| days_away(seen.at.date(), today));
    match last {
        Some(last) => format!("Season: {}, the last {last}", plural(n, "look", "looks")),
        None => "Season: no look yet".to_owned(),
    }
}

pub fn due(day: &str) -> String {
    format!("due {day}")
}

/// A row of the season told in words.
pub fn season_row(what: What) -> String {
    match what {
        What::Act(kind) => acted(kind).to_owned(),
        What::Look(Found::Silent, _) => "look, neck not looked at".to_owned(),
        What::Look(Found::Nothing, _) => "look, no stalk".to_owned(),
        What::Look(Found::Something, Some(at)) => format!("look, {}", stage(at)),
        What::Look(Found::Something, None) => "look, a shoot, not sure".to_owned(),
        What::Photo => "photo".to_owned(),
        What::DueFrom => "due window begins".to_owned(),
        What::Deadline => "last day that counts".to_owned(),
    }
}

pub fn no_such(text: &str) -> String {
    format!("No bulb is called {text}.")
}

pub fn same_tag(n: usize) -> String {
    format!("{n} bulbs carry this tag. Give one of them a new one.")
}

pub fn neck(neck: Neck) -> &'static str {
    match neck {
        Neck::Clear => "nothing",
        Neck::Shoots => "shoots",
        Neck::NotLookedAt => "not looked at",
    }
}

pub fn leaves(leaves: Leaves) -> &'static str {
    match leaves {
        Leaves::None => "none",
        Leaves::Same => "same as before",
        Leaves::More => "more",
        Leaves::Count => "counted",
        Leaves::NotLookedAt => "not looked at",
    }
}

pub fn shoot_n(n: u32) -> String {
    format!("Shoot {n}")
}

pub fn kind(kind: ShootKind) -> &'static str {
    match kind {
        ShootKind::Unknown => "not sure",
        ShootKind::Leaf => "a leaf",
        ShootKind::Scape => "a stalk",
    }
}

pub fn shoot_known(n: u32) -> String {
    format!("Shoot {n} was there")
}

pub fn looked(label: &str) -> String {
    format!("{label}: look")
}

pub fn to_mother(mother: &str) -> String {
    format!("Offset of {mother}")
}

pub fn container_under(n: usize) -> String {
    bulbs(n)
}

pub fn all_in(container: &str) -> String {
    format!("All in {container}")
}

/// Why there is no photo, and a way on.
pub fn no_photo(why: &NoPhoto) -> String {
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
