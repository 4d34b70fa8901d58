//! English. One function a sentence, from typed parts; numbers, dates, plurals and units go through here.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::clock::Clock;
use bloomdue_core::ledger::body::{ActKind, Leaves, Look, Neck, PlaceKind, ShootKind, ShootSeen, Side, Stage};
use bloomdue_core::nursery::walk::Answer;

use crate::store::{Gone, StoreError};

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// A core error as a sentence: a capital first, a stop last, the field's name left to the field.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

/// What the storage refused, and what to do.
pub(crate) fn store_error(why: &StoreError) -> String {
    match why {
        StoreError::Refused(error) => sentence(&error.to_string()),
        StoreError::Full => "Not saved: this device has no room left. Free some space, or write your records to a file \
             under Files and remove photos; what was saved before is safe."
            .to_owned(),
        StoreError::ConnectionLost => {
            "Not saved: the browser lost its storage for a moment. Tap again; if it goes on, reload the page.".to_owned()
        }
        StoreError::NewerVersion => {
            "A newer version of the program was used on this device. Reload the page to go on with it.".to_owned()
        }
        StoreError::Blocked => {
            "Another tab with an older version is open. Close it, then reload this one.".to_owned()
        }
        StoreError::Wiped => {
            "Not saved: this nursery was wiped in another tab. Reload the page to go on with another one.".to_owned()
        }
        StoreError::Cleared => {
            "Not saved: the browser has cleared its storage. What was recorded stands in this page's memory alone: write it \
             to a file under Files before you close the page."
                .to_owned()
        }
        StoreError::NotOffered(why) => format!(
            "This browser opens no storage, so nothing can be kept. In a private window, open an ordinary one; else allow \
             this site to store data in the browser's settings. The browser says: {why}"
        ),
        StoreError::NotReadBack => {
            "Not saved: what was written could not be read back. Try once more, and write your records to a file."
                .to_owned()
        }
        StoreError::Other(name) => format!("Not saved: the browser says {name}. Try once more, or reload the page."),
    }
}

/// Something was saved, and what comes after it failed.
pub(crate) fn saved_but(why: &StoreError) -> String {
    let why = match why {
        StoreError::Other(name) => format!("the browser says {name}"),
        StoreError::Refused(error) => error.to_string(),
        _ => "the browser's storage did not answer afterwards".to_owned(),
    };
    format!("It is saved, but {why}. Reload the page to see all that is here.")
}

/// Why this tab can no longer save, and what to do.
pub(crate) fn gone(why: Gone) -> &'static str {
    match why {
        Gone::Newer => {
            "A newer version of the program was opened in another tab: nothing more is saved here. Reload this page."
        }
        Gone::Wiped => {
            "This nursery was wiped in another tab: nothing more is saved here. Reload this page to go on with another one."
        }
        Gone::Cleared => {
            "The browser has cleared everything that was saved here. The records on this screen stand in its memory alone, \
             and are lost when the page is closed or reloaded. Write them to a file now; afterwards reload and take it in."
        }
    }
}

pub(crate) fn write_them_now() -> &'static str {
    "Write the records to a file now"
}

pub(crate) fn draft_not_kept(why: &StoreError) -> String {
    format!("What is typed here is not kept until you save it. {}", store_error(why))
}

pub(crate) fn choose_who() -> &'static str {
    "Choose who is recording first: Files, then Persons."
}

pub(crate) fn clock_outside(day: &str) -> String {
    format!(
        "Nothing can be saved: this device's clock says {day}. Set its date, then go on; what was saved before is safe."
    )
}

/// Stands after what was saved.
pub(crate) fn saved_under(clock: Clock, today: Date) -> String {
    match clock {
        Clock::Behind { newest } => {
            format!(" The clock says {today}, but records are of {newest}: check this device's date.")
        }
        Clock::Ahead { .. } => {
            format!(" The clock says {today}: if that is wrong, set this device's date.")
        }
    }
}

pub(crate) fn no_nursery_open() -> &'static str {
    "No nursery is open. Start one, or look at the demo."
}

pub(crate) fn taken_back(what: &str) -> String {
    format!("Taken back: {what}")
}

/// `3 bulbs`, `1 bulb`.
pub(crate) fn plural(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

pub(crate) fn bulbs(n: usize) -> String {
    plural(n, "bulb", "bulbs")
}

/// `Wednesday 25 November`.
pub(crate) fn date_long(date: Date) -> String {
    let weekday = WEEKDAYS[(date.iso_week().weekday as usize + 6) % 7];
    format!("{weekday} {} {}", date.day(), MONTHS[(date.month() as usize + 11) % 12])
}

/// `25 Nov`, with the year when it is not this one.
pub(crate) fn date_short(date: Date, today: Date) -> String {
    let month = month_short(date);
    if date.year() == today.year() {
        format!("{} {month}", date.day())
    } else {
        format!("{} {month} {}", date.day(), date.year())
    }
}

/// `Nov`.
pub(crate) fn month_short(date: Date) -> &'static str {
    &MONTHS[(date.month() as usize + 11) % 12][..3]
}

/// `week 48`.
pub(crate) fn week(date: Date) -> String {
    format!("week {}", date.iso_week().week)
}

/// `today`, `yesterday`, `3 days ago`, `in 2 days`.
pub(crate) fn days_away(date: Date, today: Date) -> String {
    match today.days_until(date) {
        0 => "today".to_owned(),
        -1 => "yesterday".to_owned(),
        1 => "tomorrow".to_owned(),
        days if days < 0 => format!("{} days ago", -days),
        days => format!("in {days} days"),
    }
}

/// A length in centimetres as the trade writes it: `28 cm`, `27.5 cm`.
pub(crate) fn cm(mm: i64) -> String {
    format!("{} cm", cm_number(mm))
}

/// The number alone, as it is typed into a field of centimetres.
pub(crate) fn cm_number(mm: i64) -> String {
    if mm % 10 == 0 { format!("{}", mm / 10) } else { format!("{}.{}", mm / 10, mm % 10) }
}

/// A circumference that is one value or a grade.
pub(crate) fn circumference((low, high): (i64, i64)) -> String {
    if low == high { cm(low) } else { format!("{} to {}", cm(low).trim_end_matches(" cm"), cm(high)) }
}

pub(crate) fn place_kind(kind: PlaceKind) -> &'static str {
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

pub(crate) fn side(side: Side) -> &'static str {
    match side {
        Side::TowardLabel => "toward the label",
        Side::Away => "away from the label",
        Side::Left => "left of the label",
        Side::Right => "right of the label",
        Side::Middle => "in the middle",
        Side::NotSaid => "",
    }
}

pub(crate) fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Shoot => "a shoot",
        Stage::ScapeInSight => "stalk in sight",
        Stage::ScapeStretching => "stalk stretching",
        Stage::SpatheSplit => "bud sheath split",
        Stage::FirstFlower => "first flower open",
        Stage::FullBloom => "full bloom",
        Stage::Fading => "fading",
        Stage::Over => "over",
    }
}

/// An answer of the walk, as it stands on the button.
pub(crate) fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::NothingYet => "Nothing yet",
        Answer::Same => "Same as before",
        Answer::MoreLeaves => "More leaves",
        Answer::Stalk => "A stalk",
        Answer::ShootNotSure => "A shoot, not sure",
        Answer::ItIsALeaf => "It was a leaf",
        Answer::Higher => "Higher",
        Answer::SheathSplit => "Bud sheath split",
        Answer::FirstFlower => "First flower open",
        Answer::Fading => "Fading",
        Answer::Over => "Flowers over",
        Answer::SecondStalk => "Second stalk",
    }
}

/// What a shoot was seen as.
pub(crate) fn shoot(seen: &ShootSeen) -> String {
    let what = match (seen.kind, seen.stage) {
        (ShootKind::Leaf, _) => "a leaf",
        (ShootKind::Unknown, _) => "a shoot, not sure",
        (ShootKind::Scape, at) => stage(at),
    };
    match seen.height_mm {
        Some(height) => format!("{what}, {}", cm(i64::from(height))),
        None => what.to_owned(),
    }
}

/// What a look showed, in a few words.
pub(crate) fn look(look: &Look) -> String {
    let mut parts = Vec::new();
    match look.leaves {
        Leaves::None => parts.push("no leaves".to_owned()),
        Leaves::Same => parts.push("leaves as before".to_owned()),
        Leaves::More => parts.push("more leaves".to_owned()),
        Leaves::Count => parts.push(plural(look.n_leaves.unwrap_or(0) as usize, "leaf", "leaves")),
        Leaves::NotLookedAt => {}
    }
    match look.neck {
        Neck::Clear => parts.push("no shoot".to_owned()),
        Neck::Shoots => parts.extend(look.shoots.iter().map(shoot)),
        Neck::NotLookedAt => parts.push("neck not looked at".to_owned()),
    }
    parts.join(", ")
}

/// An act as it stands on a button: what one does.
pub(crate) fn act(kind: ActKind) -> &'static str {
    match kind {
        ActKind::CycleBegan => "Begin a growth cycle",
        ActKind::CycleEnded => "End the growth cycle",
        ActKind::Lifted => "Lift",
        ActKind::CutBack => "Cut back the leaves",
        ActKind::Cleaned => "Clean",
        ActKind::Soaked => "Soak",
        ActKind::Packed => "Pack for rest",
        ActKind::LaidToRest => "Lay to rest",
        ActKind::WaterStopped => "Stop water",
        ActKind::RestEnded => "End the rest",
        ActKind::BaseDamped => "Damp the base",
        ActKind::Watered => "Water",
        ActKind::Fed => "Feed",
        ActKind::Potted => "Pot up",
        ActKind::Unpotted => "Take out of the pot",
        ActKind::Moved => "Move",
        ActKind::BroughtToLight => "Bring to light or warmth",
        ActKind::Staked => "Stake",
        ActKind::ScapeCut => "Cut a stalk",
        ActKind::SprayedOrDipped => "Spray or dip",
        ActKind::OffsetSplit => "Split off an offset",
        ActKind::RunStarted => "Start a try",
        ActKind::RunClosed => "Close a try",
        ActKind::FitToSell => "Fit to sell",
        ActKind::PutAside => "Put aside",
        ActKind::Left => "Sold, given or withdrawn",
        ActKind::Died => "Died",
        ActKind::Missing => "Missing",
        ActKind::Skipped => "Skip a job",
        ActKind::Postponed => "Postpone a job",
        ActKind::JobDone => "Do a job",
    }
}

/// An act as it stands in a list: what was done.
pub(crate) fn acted(kind: ActKind) -> &'static str {
    match kind {
        ActKind::CycleBegan => "growth cycle began",
        ActKind::CycleEnded => "growth cycle ended",
        ActKind::Lifted => "lifted",
        ActKind::CutBack => "leaves cut back",
        ActKind::Cleaned => "cleaned",
        ActKind::Soaked => "soaked",
        ActKind::Packed => "packed for rest",
        ActKind::LaidToRest => "laid to rest",
        ActKind::WaterStopped => "water stopped",
        ActKind::RestEnded => "rest ended",
        ActKind::BaseDamped => "base damped",
        ActKind::Watered => "watered",
        ActKind::Fed => "fed",
        ActKind::Potted => "potted up",
        ActKind::Unpotted => "taken out of the pot",
        ActKind::Moved => "moved",
        ActKind::BroughtToLight => "brought to light or warmth",
        ActKind::Staked => "staked",
        ActKind::ScapeCut => "stalk cut",
        ActKind::SprayedOrDipped => "sprayed or dipped",
        ActKind::OffsetSplit => "offset split off",
        ActKind::RunStarted => "try started",
        ActKind::RunClosed => "try closed",
        ActKind::FitToSell => "fit to sell",
        ActKind::PutAside => "put aside",
        ActKind::Left => "left",
        ActKind::Died => "died",
        ActKind::Missing => "missing",
        ActKind::Skipped => "job skipped",
        ActKind::Postponed => "job postponed",
        ActKind::JobDone => "job done",
    }
}

use crate::app::route::Room;

pub(crate) fn room(room: Room) -> &'static str {
    match room {
        Room::Due => "Due",
        Room::Places => "Places",
        Room::Trials => "Trials",
        Room::Files => "Files",
    }
}

pub(crate) fn places_word() -> &'static str {
    room(Room::Places)
}

pub(crate) fn rooms() -> &'static str {
    "Bloomdue"
}

pub(crate) fn demo_line() -> &'static str {
    "Demo: an invented nursery. Try anything; nothing here is yours."
}

pub(crate) fn to_own_nursery() -> &'static str {
    "Start or open your own"
}

pub(crate) fn new_version() -> &'static str {
    "A new version is ready."
}

pub(crate) fn use_it_now() -> &'static str {
    "Use it now"
}

/// A part of the program is on its way.
pub(crate) fn coming() -> &'static str {
    "One moment …"
}

/// The heading where a part of the program is missing.
pub(crate) fn not_here_yet() -> &'static str {
    "Not here yet"
}

/// A part of the program could not be fetched.
pub(crate) fn part_missing() -> &'static str {
    "This part of the program is not on this device yet and cannot be reached. Try again with a connection."
}

/// The button beside it.
pub(crate) fn try_again() -> &'static str {
    "Try again"
}

/// Another tab runs the next version already.
pub(crate) fn newer_elsewhere() -> &'static str {
    "A newer version runs in another tab."
}

/// The button beside it.
pub(crate) fn reload() -> &'static str {
    "Reload"
}

pub(crate) fn undo() -> &'static str {
    "Undo"
}

use bloomdue_core::ledger::body::LotBody;
use bloomdue_core::nursery::{Bulb, State};

pub(crate) fn demo_word() -> &'static str {
    "demo"
}

pub(crate) fn tagline() -> &'static str {
    "Bulbs into flower, for a date"
}

/// The name of the demo among the nurseries.
pub(crate) fn demo_name() -> &'static str {
    "Quarry Steps"
}

pub(crate) fn look_at_demo() -> &'static str {
    "Look at the demo"
}

pub(crate) fn start_nursery() -> &'static str {
    "Start a nursery"
}

pub(crate) fn join_nursery() -> &'static str {
    "Join one: take in a colleague's file"
}

pub(crate) fn what_is_kept() -> &'static str {
    "Everything stays on this device. Nothing is sent anywhere; you hand records over as files."
}

pub(crate) fn nursery_name() -> &'static str {
    "Name of the nursery"
}

pub(crate) fn your_initials() -> &'static str {
    "Your initials"
}

pub(crate) fn initials_hint() -> &'static str {
    "They stand beside what you record."
}

pub(crate) fn start_it() -> &'static str {
    "Start"
}

pub(crate) fn cannot_open() -> &'static str {
    "The records could not be opened"
}

pub(crate) fn load_again() -> &'static str {
    "Load the program again; records are not touched"
}

pub(crate) fn nursery_and_week(name: &str, today: Date) -> String {
    if name.is_empty() { week(today) } else { format!("{name} · {}", week(today)) }
}

pub(crate) fn nothing_recorded() -> &'static str {
    "Nothing is recorded yet."
}

pub(crate) fn begin_with_a_place() -> &'static str {
    "Begin with a place and its bulbs"
}

pub(crate) fn no_places() -> &'static str {
    "No place yet. A place is a bench, a bed, a room: wherever bulbs stand together."
}

pub(crate) fn place_under(kind: PlaceKind, blocks_percent: u32, last_walk: Option<String>) -> String {
    let mut parts = vec![place_kind(kind).to_owned()];
    if blocks_percent > 0 {
        parts.push(format!("blocks {blocks_percent} % of the light"));
    }
    if let Some(seen) = last_walk {
        parts.push(format!("all looked at {seen}"));
    }
    parts.join(" · ")
}

pub(crate) fn add_place() -> &'static str {
    "Add a place"
}

pub(crate) fn find_bulb() -> &'static str {
    "Find a bulb"
}

pub(crate) fn change_place() -> &'static str {
    "Change this place"
}

pub(crate) fn place_changed() -> &'static str {
    "Place changed"
}

pub(crate) fn new_place() -> &'static str {
    "A new place"
}

pub(crate) fn place_name() -> &'static str {
    "Name of the place"
}

pub(crate) fn place_name_hint() -> &'static str {
    "As you call it: Bench 2, Cellar, North bed."
}

pub(crate) fn what_it_is() -> &'static str {
    "What it is"
}

pub(crate) fn shade_label() -> &'static str {
    "Shade cloth over it, %"
}

pub(crate) fn shade_hint() -> &'static str {
    "How much of the light it blocks; leave empty if none."
}

pub(crate) fn shade_cloth() -> &'static str {
    "shade cloth"
}

pub(crate) fn digits_only() -> &'static str {
    "Type digits only."
}

pub(crate) fn save() -> &'static str {
    "Save"
}

pub(crate) fn save_and_add_bulbs() -> &'static str {
    "Save and add bulbs"
}

/// Lot, and what the bulb last showed or what became of it.
pub(crate) fn bulb_under(bulb: &Bulb, state: &State, today: Date) -> String {
    let mut parts = Vec::new();
    if let Some(lot) = bulb.lot.shown() {
        parts.push(state.name_of(*lot).to_owned());
    }
    if let Some(size) = bulb.circumference_mm {
        parts.push(circumference(size));
    }
    match (super::bulb::fate(&bulb.fate, today), bulb.last_look()) {
        (Some(fate), _) => parts.push(fate),
        (None, Some(seen)) => parts.push(look(&seen.look)),
        (None, None) => parts.push("no look yet".to_owned()),
    }
    parts.join(" · ")
}

pub(crate) fn walk_it() -> &'static str {
    "Walk through, bulb by bulb"
}

pub(crate) fn record_care() -> &'static str {
    "Record something done"
}

pub(crate) fn bulbs_heading() -> &'static str {
    "Bulbs"
}

pub(crate) fn add_bulbs() -> &'static str {
    "Add bulbs"
}

pub(crate) fn walk_sheet() -> &'static str {
    "Walk sheet on paper"
}

pub(crate) fn type_sheet_in() -> &'static str {
    "Type a walk sheet in"
}

/// A lot as a choice.
pub(crate) fn lot(lot: &LotBody) -> String {
    if lot.cultivar.is_empty() || lot.cultivar == lot.name {
        lot.name.clone()
    } else {
        format!("{} ({})", lot.name, lot.cultivar)
    }
}

pub(crate) fn which_lot() -> &'static str {
    "Lot"
}

pub(crate) fn how_many() -> &'static str {
    "How many bulbs"
}

pub(crate) fn cultivar() -> &'static str {
    "Cultivar"
}

pub(crate) fn cultivar_hint() -> &'static str {
    "Or the colour, if the name is lost."
}

pub(crate) fn lot_name() -> &'static str {
    "Name of the lot"
}

pub(crate) fn lot_name_hint() -> &'static str {
    "Bulbs that came together; empty for the cultivar's name."
}

pub(crate) fn circumference_label() -> &'static str {
    "Circumference"
}

pub(crate) fn sizes_unknown() -> &'static str {
    "Not measured"
}

pub(crate) fn sizes_grade() -> &'static str {
    "All alike"
}

pub(crate) fn sizes_each() -> &'static str {
    "Each its own"
}

pub(crate) fn from_cm() -> &'static str {
    "From, cm"
}

pub(crate) fn to_cm() -> &'static str {
    "To, cm"
}

pub(crate) fn each_cm() -> &'static str {
    "Circumferences in cm, in order"
}

pub(crate) fn each_hint() -> &'static str {
    "Around the widest part; with spaces between: 26 27.5 28"
}

pub(crate) fn own_names() -> &'static str {
    "Your own names or numbers"
}

pub(crate) fn own_names_label() -> &'static str {
    "Your own names, one a line"
}

pub(crate) fn own_names_hint() -> &'static str {
    "Every bulb gets a tag from the program as well."
}

pub(crate) fn poison_note() -> &'static str {
    "Bulbs and leaves are poisonous to eat for people and animals; sap irritates skin, so wear gloves. Follow local rules; ask a poison centre or vet if something was eaten."
}

pub(crate) fn add_them() -> &'static str {
    "Add them"
}

pub(crate) fn added(n: usize) -> String {
    format!("Added {}", bulbs(n))
}

pub(crate) fn walked(label: &str, given: Answer) -> String {
    format!("{label}: {}", answer(given).to_lowercase())
}

pub(crate) fn walk_head(place: &str, at: usize, n: usize) -> String {
    format!("{place} · bulb {at} of {n}")
}

pub(crate) fn done_of(n_done: usize, n: usize) -> String {
    format!("{n_done} of {n} looked at")
}

/// What stands beside the tag in the walk.
pub(crate) fn walk_under(bulb: &Bulb, state: &State, today: Date) -> String {
    let mut parts = Vec::new();
    if let Some(lot) = bulb.lot.shown() {
        parts.push(state.name_of(*lot).to_owned());
    }
    if let Some(size) = bulb.circumference_mm {
        parts.push(circumference(size));
    }
    match bulb.last_look() {
        Some(seen) => parts.push(format!("{}: {}", days_away(seen.at.date(), today), look(&seen.look))),
        None => parts.push("first look".to_owned()),
    }
    parts.join(" · ")
}

pub(crate) fn leave() -> &'static str {
    "Leave"
}

pub(crate) fn and_also() -> &'static str {
    "And also …"
}

pub(crate) fn go_on() -> &'static str {
    "Go on"
}

pub(crate) fn trouble() -> &'static str {
    "Trouble"
}

pub(crate) fn stays_here() -> &'static str {
    "A second answer for this bulb; then go on."
}

pub(crate) fn one_tap() -> &'static str {
    "One tap saves the look and moves on."
}

pub(crate) fn all_others(n: usize) -> String {
    format!("I looked at all {n} still open: nothing new")
}

pub(crate) fn closed(n: usize) -> String {
    format!("{}: nothing new", bulbs(n))
}

pub(crate) fn walk_done() -> &'static str {
    "Walk done"
}

pub(crate) fn all_looked_at(n: usize) -> String {
    format!("All {} looked at today.", bulbs(n))
}

pub(crate) fn looked_today() -> &'static str {
    "A bulb already looked at today is not asked for again; open its page to add a look."
}

pub(crate) fn back_to_place() -> &'static str {
    "Back to the place"
}

pub(crate) fn to_due() -> &'static str {
    "What else is due"
}

/// `first try`, `second try`.
pub(crate) fn ordinal_try(ordinal: u32) -> String {
    match ordinal {
        1 => "first try".to_owned(),
        2 => "second try".to_owned(),
        3 => "third try".to_owned(),
        4 => "fourth try".to_owned(),
        5 => "fifth try".to_owned(),
        n => format!("try {n}"),
    }
}

/// How to put the app on the home screen, and why before the first record; nothing where it stands there already.
pub(crate) fn home_screen(opened: crate::device::install::Opened) -> Option<&'static str> {
    use crate::device::install::Opened;
    match opened {
        Opened::ForgetfulTab => Some(
            "Before you record anything, put this on the home screen: tap Share, then Add to Home Screen, and open it from there. This tab forgets its records after some days without use, and the home screen does not see what the tab has kept.",
        ),
        Opened::PhoneTab => Some(
            "Best before the first record: put this on the home screen (browser menu, Install or Add to home screen) and open it from there. The browser then keeps the records more safely.",
        ),
        Opened::OnItsOwn | Opened::DeskTab => None,
    }
}

pub(crate) fn put_it_there() -> &'static str {
    "Put it on the home screen"
}

/// Where a number of advice comes from; it stands beside the number.
pub(crate) fn grade(source: bloomdue_core::source::Source) -> &'static str {
    use bloomdue_core::source::Source;
    match source {
        Source::Trial => "trial",
        Source::ExtensionService => "extension service",
        Source::TradePage => "trade page",
        Source::SingleReport => "single report",
        Source::CommonPractice => "common practice, no source",
    }
}
