//! Words of the screens under Files.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::Window;
use bloomdue_core::handover::{Brings, Brought, Preview, Rehearsed, json::Refusal};
use bloomdue_core::ledger::body::{ActKind, Body, Family};
use bloomdue_core::ledger::shelf::FileTaken;
use bloomdue_core::ledger::{Ledger, Problem, id::Id};
use bloomdue_core::nursery::contrary::{Contrary, Matter};
use bloomdue_core::nursery::{State, state::Disagreement};
use bloomdue_core::units::{LengthUnit, TemperatureUnit};

use crate::coming::days;
use crate::common::{Slot, bulbs, plural, slots};
use crate::dates::{date_short, moment};
use crate::formats::{self, decimal};
use crate::told::{BrowserRefused, Copied, NoOffline, NotMade, NotTakenIn, Opened};
use crate::{refusals, show, start, work};

labels! {
    files_word = "Files";
    people = "Persons and this device";
    people_under = "Tap who records on this device from now on.";
    add_person = "Add a person";
    initials = "Initials";
    name_if_wished = "Name, if wished";
    save = "Save";
    units_heading = "Units on this device";
    units_under = "Shown and typed so on this device. Records and files stay metric.";
    lengths = "Lengths";
    temperatures = "Temperatures";
    light_heading = "Light or dark";
    light_label = "Screens are drawn";
    as_device = "As the device";
    light = "Light";
    dark = "Dark, for the dark room";
    photos_label = "Photos in it";
    photos_none = "no photos";
    photos_small = "small photos";
    photos_all = "all photos";
    write_file = "Make the file";
    writing = "Making the file …";
    save_file = "Save it on this device";
    share_file = "Hand it to someone";
    neither_way =
        "This device lets no file out from here. Open this address in the browser itself and write the file there.";
    choose_where = "Choose where to save it";
    handed = "File handed over. Whether it arrived only the other one can tell.";
    take_in = "Take a file in";
    take_in_under = "A colleague's records, or your own from another device. Nothing is written before you say so.";
    storage = "What this device keeps";
    nurseries = "Nurseries";
    choose_file = "Choose the file";
    reading = "Reading the file …";
    taking_in = "Taking it in …";
    kept_apart =
        "This file is of another nursery than the one that is open. It can be kept apart, as a second nursery on \
         this device; records of two nurseries never mix by themselves.";
    ends_heading = "What would end here";
    take_in_all_the_same = "Take it in all the same";
    leave_it = "Leave it";
    /// Nothing is new, but not all of the file could be read.
    nothing_new_of_what_is_sound =
        "Nothing new in what could be read of this file. What could not is named above; ask for the file again.";
    /// Another device writes under this one's name.
    renewed =
        "Another device writes under this one's name: this one's storage was copied, or a file was changed by \
         hand. This device goes by a new name from now on. Nothing is lost, and recording goes on.";
    files_taken = "Files taken in";
    take_all_back = "Take all of it back";
    bring_back = "Bring it back";
    bring_back_under = "Bringing it back travels with your next file, too.";
    nothing_in_force = "Nothing of this file is in force any more.";
    write_aside = "Write what was set aside to a file";
    unfinished = "The last start did not finish";
    open_it = "Open it";
    if_it_comes_back =
        "If this page comes back after that, the records may hold something that the program does not get through:";
    write_raw = "Write the records to a file, as they stand";
    set_aside = "Set aside what the last file brought";
    set_aside_under =
        "Its records leave the nursery and are kept on this device, byte for byte. Under Files they can be \
         written to a file and taken in again.";
    nothing_to_set_aside = "No file was taken in that could be set aside.";
    nothing_new = "Nothing new: everything in this file is here already.";
    links_again = "Nothing new. Taking it in links the two nurseries again.";
    take_it_in = "Take it in";
    keep_apart = "Keep it apart, as a second nursery";
    own_first = "To be safe, write your own records to a file first.";
    in_detail = "What is in the file";
    who_is_it = "Who are you?";
    who_is_it_under = "What this device records stands under your initials.";
    somebody_else = "Somebody else";
    who_are_you = "Say who records on this device";
    to_due = "To what is due";
    offline_ready = "Ready offline: it starts without any network.";
    offline_not_ready = "Not ready offline yet.";
    ask_to_keep = "Ask the browser to keep the records";
    noticed = "Noticed in the records";
    wipe_heading = "Wipe";
    wipe_under =
        "Removes this nursery's records and photos from this device. Files already handed over are not touched.";
    wipe = "Wipe this nursery from this device";
    keep_it = "Keep it";
    wipe_really = "Wipe it";
    disagreements = "Disagreements";
    disagreements_under =
        "Two people said different things while apart. Both are kept; say which one stands. Until then it is \
         left out of results.";
    all_settled = "Nothing disagrees.";
    this_stands = "This stands";
    settled = "Settled";
    one_act = "Once: one act";
    two_acts = "Twice: two acts";
    one_shoot = "One shoot";
    two_shoots = "Two shoots";
    see_the_bulb = "See the bulb";
    answered = "Answered";
    started_twice = "The same nursery, started twice";
    started_twice_hint =
        "Then its records are read as records of this nursery. Both files stay as they are, and it can be taken \
         back under Disagreements.";
    read_as_the_same = "Read as the same nursery, started twice: its records come to stand beside yours.";
}

/// A unit of lengths, with how half an inch is written.
pub fn length_choice(unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Centimetres => "cm".to_owned(),
        LengthUnit::InchFractions => "inches, 10 1/2".to_owned(),
        LengthUnit::InchDecimals => format!("inches, {}", formats::tenths(105)),
    }
}

pub fn temperature_choice(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "°C",
        TemperatureUnit::Fahrenheit => "°F",
    }
}

fn records(n: usize) -> String {
    plural(n, "record", "records")
}

fn photos(n: usize) -> String {
    plural(n, "photo", "photos")
}

/// How many records there are.
pub fn n_here(n: usize) -> String {
    format!("{} here in all.", records(n))
}

/// What goes into a file besides the records; the photos can be chosen where they stand.
pub fn with_photos() -> Vec<Slot> {
    slots("Into the file go all records, with {photos}.")
}

pub fn file_ready(size_bytes: f64) -> String {
    format!("The file is ready: {}.", bytes(size_bytes))
}

fn bytes(n: f64) -> String {
    if n < 1e6 {
        format!("{} kB", decimal((n / 1e3).max(1.0), 0))
    } else if n < 1e9 {
        format!("{} MB", decimal(n / 1e6, 1))
    } else {
        format!("{} GB", decimal(n / 1e9, 1))
    }
}

/// After a download, of which the browser tells nothing more.
pub fn handed_to_browser(name: &str) -> String {
    format!("Handed to the browser. Look under Downloads that {name} is there.")
}

/// After the file was written where it was wished, and looked at there.
pub fn written(name: &str, size_bytes: f64) -> String {
    format!("Saved as {name}, {}, and found there whole.", bytes(size_bytes))
}

pub fn not_whole(name: &str) -> String {
    format!("{name} is not whole where it was saved. Save it once more, elsewhere.")
}

/// Why a file cannot be taken in, and what to do.
pub fn refusal(why: &Refusal) -> String {
    match why {
        Refusal::NotOurs => "This is not a file of records. Choose one whose name ends in .bloomdue.json.".to_owned(),
        Refusal::CutOff => "This file was cut off before its first whole record. Ask for it again.".to_owned(),
        Refusal::NewerFormat(format) => format!(
            "This file was written by a newer version of the program (format {format}). Load the newest version first, then take it in."
        ),
        Refusal::OtherNursery { name, .. } => format!("This file is of another nursery, {name}."),
        Refusal::TooLarge(why) => {
            crate::common::sentence(&format!("this file holds too much: {}", refusals::clause(&why.refusal)))
        }
    }
}

pub fn open_it_first(name: &str) -> String {
    format!(
        "This file is of {name}, which this device keeps too. Open that nursery first (Files, Nurseries), then take the file in there. Records of two nurseries never mix."
    )
}

/// What taking a file in would bring, first of all.
pub fn would_bring(n_records: usize, n_photos: usize) -> String {
    let new = match (n_records, n_photos) {
        (0, 0) => return nothing_new().to_owned(),
        (n, 0) => plural(n, "record is new", "records are new"),
        (0, n) => plural(n, "photo is new", "photos are new"),
        (n_records, n_photos) => format!("{} and {} are new", records(n_records), photos(n_photos)),
    };
    format!("{new}. Nothing is written yet.")
}

/// Whose file it is, and of when.
pub fn file_of(preview: &Preview, today: Date) -> String {
    format!("Nursery: {} · Made: {}", preview.name, moment(&preview.made, today))
}

/// What a file would leave to be settled; nothing where nothing would.
pub fn settle_after(n_twin_acts: usize) -> Vec<String> {
    let told = || format!("{}. Settle this afterwards under Disagreements.", acts_twice(n_twin_acts));
    (n_twin_acts > 0).then(told).into_iter().collect()
}

pub fn take_it_in_all(n_records: usize) -> String {
    if n_records == 0 { take_it_in().to_owned() } else { format!("{}: {}", take_it_in(), records(n_records)) }
}

/// What a file holds, line by line.
pub fn preview(preview: &Preview) -> Vec<String> {
    let mut lines = vec![format!("{} new here, {} known already", records(preview.new.len()), preview.n_known)];
    if !preview.new_photos.is_empty() || preview.n_known_photos > 0 {
        lines.push(format!("{} new here, {} known already", photos(preview.new_photos.len()), preview.n_known_photos));
    }
    if !preview.reformatted.is_empty() {
        lines.push(format!("{} with their layout changed, content intact", records(preview.reformatted.len())));
    }
    let n_unknown: usize = preview.unknown_kinds.values().sum();
    if n_unknown > 0 {
        lines.push(format!(
            "{} need a newer version of the program to be shown; they are kept as they are",
            records(n_unknown)
        ));
    }
    let is_sound = preview.damaged_photos.is_empty() && preview.unreadable.is_empty();
    if preview.whole && is_sound {
        lines.push("The file is whole and unchanged.".to_owned());
    }
    lines
}

/// Which bulbs a file is about: `Adds 12 bulbs: R2, R3, R4 and 9 more`.
pub fn brings(brings: &Brings) -> String {
    let what = match brings.what {
        Brought::Bulb => "Adds",
        Brought::Look => "Looks at",
        Brought::Work => "Work on",
        Brought::Other => "Changes",
    };
    let said = format!("{what} {}", bulbs(brings.n as usize));
    let more = (brings.n as usize).saturating_sub(brings.names.len());
    match (brings.names.as_slice(), more) {
        ([], _) => said,
        (names, 0) => format!("{said}: {}", names.join(", ")),
        (names, more) => format!("{said}: {} and {more} more", names.join(", ")),
    }
}

/// Why a file is not taken in, and what to do.
pub fn not_taken_in(why: &NotTakenIn) -> String {
    match why {
        NotTakenIn::Unfit(why) => refusal(why),
        NotTakenIn::NotRead(why) => start::not_read(why),
        NotTakenIn::NoNurseryOpen => start::no_nursery_open().to_owned(),
        NotTakenIn::NotJoined(why) => refusals::refused(why),
        NotTakenIn::NotRehearsed(why) => format!(
            "This file is not taken in: working out what it would change did not get through. {} Nothing was written. Ask whoever sent it for a new one.",
            work::not_worked_out(why)
        ),
    }
}

/// Why a file to go out was not made, and what to do.
pub fn not_made(why: &NotMade) -> String {
    match why {
        NotMade::NoNurseryOpen => start::no_nursery_open().to_owned(),
        NotMade::NotRead(why) => start::not_read(why),
        NotMade::NotWorkedOut(why) => work::not_worked_out(why),
        NotMade::Refused(why) => refusals::refused(why),
        NotMade::PictureTooLong => show::too_long().to_owned(),
        NotMade::Browser(why) => not_out(why),
    }
}

/// The browser did not make a file, or did not let it out.
pub fn not_out(BrowserRefused(why): &BrowserRefused) -> String {
    format!("The browser refused this file. Try once more, or another way. It says: {why}")
}

/// Bulbs or writers that are named one by one.
const NAMED: usize = 10;

/// What would end, line by line; empty when nothing would.
pub fn endings(found: &Rehearsed, state: &State) -> Vec<String> {
    let mut lines = Vec::new();
    for ending in found.endings.iter().take(NAMED) {
        let of = |n: u32, how: &str| {
            format!(
                "{} ({}) by {} would be {how}",
                records(n as usize),
                kind_word(&ending.kind),
                name_or(state, ending.who)
            )
        };
        if ending.n_taken_back > 0 {
            lines.push(of(ending.n_taken_back, "taken back"));
        }
        if ending.n_replaced > 0 {
            lines.push(of(ending.n_replaced, "replaced"));
        }
    }
    if found.endings.len() > NAMED {
        lines.push(format!("… and {} more kinds of records", found.endings.len() - NAMED));
    }
    let mut of_bulbs = |ids: &[Id], how: &str| {
        if !ids.is_empty() {
            let named: Vec<&str> = ids.iter().take(NAMED).map(|id| name_or(state, *id)).collect();
            let more = if ids.len() > NAMED { " …" } else { "" };
            lines.push(format!("{} would {how}: {}{more}", bulbs(ids.len()), named.join(", ")));
        }
    };
    of_bulbs(&found.died, "have died");
    of_bulbs(&found.left, "have left");
    of_bulbs(&found.missing, "be missing");
    of_bulbs(&found.gone, "be gone from every list");
    of_bulbs(&found.joined, "be one with another");
    lines
}

fn name_or(state: &State, id: Id) -> &str {
    match state.name_of(id) {
        "" => "someone not named",
        name => name,
    }
}

/// What records of a kind are about, in a word or two.
fn kind_word(kind: &str) -> String {
    let word = match kind {
        "bulb-name" => "name of a bulb",
        "look" => "look",
        "sweep" => "walk past a place",
        "inspection" => "inspection",
        "measure" => "measurement",
        "count" => "count",
        "light" | "climate" => "reading",
        "photo" => "photo",
        "note" => "note",
        "call" => "stalk or leaf",
        "proof" => "how it turned out",
        "care-plan" | "plan" => "plan",
        "same-as" | "join" => "said to be the same",
        "take-back" => "take-back",
        _ => register_word(kind, ""),
    };
    match ActKind::from_word(kind) {
        Some(act) => crate::acts::acted(act).to_owned(),
        None => word.to_owned(),
    }
}

/// Before the second tap.
pub fn ends_much(found: &Rehearsed) -> String {
    format!(
        "This file ends {} and takes {} out of the nursery. Take it in only if you know why.",
        records(found.n_ended()),
        bulbs(found.n_bulbs_ended())
    )
}

/// Records of days after tomorrow; `first` and `last` are their days.
pub fn later(n: usize, first: Date, last: Date, today: Date) -> String {
    let days = days(Window { from: first, to: last }, today);
    format!("{} dated after tomorrow ({days}): they do not count until their day", records(n))
}

/// The same of those that are here; nothing when there are none.
pub fn later_here(ledger: &Ledger, today: Date) -> Option<String> {
    let days = || ledger.later().map(|entry| entry.envelope.happened.date());
    Some(later(days().len(), days().min()?, days().max()?, today))
}

/// A file was taken in, and something after it failed.
pub fn taken_but(why: &str) -> String {
    format!("The records are taken in. After that something did not work: {why}")
}

/// A file that was taken in, in one line.
pub fn file_taken(file: &FileTaken, when: &str) -> String {
    let n = records(file.n as usize);
    if file.is_aside() { format!("{when}, {n}, set aside") } else { format!("{when}, {n}") }
}

/// Before all that a file brought is taken back.
pub fn take_all_back_under(n: usize) -> String {
    format!(
        "This writes take-backs for {} that this file brought. Like all records they travel: with your next file they take effect on the other devices too. They can be taken back themselves.",
        records(n)
    )
}

/// Where all that a file brought was taken back here.
pub fn is_taken_back(n: usize) -> String {
    format!("Taken back here: {}.", if n == 1 { "1 record".to_owned() } else { format!("all {}", records(n)) })
}

pub fn all_taken_back(name: &str) -> String {
    format!("All of {name} taken back")
}

pub fn brought_back(name: &str) -> String {
    format!("{name} stands again")
}

/// What a file of records set aside is called after.
pub fn aside_of(nursery: &str) -> String {
    format!("{nursery} set aside")
}

/// What a file of the storage as it stands is called after.
pub fn raw_of(nursery: &str) -> String {
    format!("{nursery} as it stands")
}

pub fn unfinished_under(name: &str) -> String {
    format!(
        "{name} was being opened and the first screen was not reached. Often the device was only switched off or ran out of power. Everything that was shown as saved is on this device."
    )
}

pub fn was_set_aside(file: &FileTaken) -> String {
    format!("Set aside: {} of {}. Open the nursery now.", records(file.n as usize), file.name)
}

pub fn other_nursery(name: &str) -> String {
    format!("Open {name} instead")
}

/// What is wrong with a file, line by line.
pub fn preview_warnings(preview: &Preview) -> Vec<String> {
    let mut lines = Vec::new();
    if preview.cut_off {
        lines.push("The file was cut off; what verifies can be taken in, the rest is missing.".to_owned());
    }
    for changed in preview.changed.iter().take(5) {
        lines.push(format!("Line {}: changed after it was written, so it is not taken in.", changed.line));
    }
    if preview.changed.len() > 5 {
        lines.push(format!("… and {} more changed records.", preview.changed.len() - 5));
    }
    for unreadable in preview.unreadable.iter().take(5) {
        lines.push(format!(
            "Line {}: cannot be read ({}).",
            unreadable.line,
            refusals::clause(&unreadable.why.refusal)
        ));
    }
    if preview.unreadable.len() > 5 {
        lines.push(format!("… and {} more that cannot be read.", preview.unreadable.len() - 5));
    }
    if !preview.damaged_photos.is_empty() {
        lines.push(format!("{} in it are damaged and are not taken in.", photos(preview.damaged_photos.len())));
    }
    if !preview.missing_photos.is_empty() {
        lines.push(format!("{} it speaks of are neither in it nor here.", photos(preview.missing_photos.len())));
    }
    lines.extend(problems(&preview.gaps, preview.n_gaps));
    lines.extend(problems(&preview.cloned, preview.n_cloned));
    if !preview.suspects.is_empty() {
        lines.push(format!(
            "{} were written under a clock more than a day ahead; their days may be wrong.",
            records(preview.suspects.len())
        ));
    }
    lines
}

/// The first five of `n` things that a person should know, and how many more there are.
pub fn problems(listed: &[Problem], n: usize) -> Vec<String> {
    let mut lines: Vec<String> = listed.iter().take(5).map(problem).collect();
    if n > lines.len() {
        lines.push(format!("… and {} more like these.", n - lines.len()));
    }
    lines
}

/// Something about the records that a person should know.
fn problem(problem: &Problem) -> String {
    match problem {
        Problem::Gap { from, to, .. } => {
            // Of 64 bits: what a file says may be beyond what this device counts its own things in.
            match to.saturating_sub(*from).saturating_add(1) {
                1 => "1 record of a colleague's device is not here yet.".to_owned(),
                n => format!("{n} records of a colleague's device are not here yet."),
            }
        }
        Problem::SameLine { line, .. } => format!(
            "Two records carry the same number ({line}) of one device: its storage was copied, or a line was changed by hand. Both are kept."
        ),
        Problem::CannotReplace { .. } => {
            "A record claims to replace one that it may not; the older one still stands.".to_owned()
        }
    }
}

pub fn taken(n_new: usize, n_photos: usize) -> String {
    match (n_new, n_photos) {
        (0, 0) => "Nothing was new.".to_owned(),
        (n, 0) => format!("{} taken in.", records(n)),
        (n, p) => format!("{} and {} taken in.", records(n), photos(p)),
    }
}

/// Acts that two phones wrote down on one day.
pub fn acts_twice(n: usize) -> String {
    if n == 1 {
        "One job may be recorded twice, by two phones".to_owned()
    } else {
        format!("{n} jobs may be recorded twice, by two phones")
    }
}

pub fn new_disagreements(n: usize) -> String {
    if n == 1 {
        "One value disagrees; say which stands".to_owned()
    } else {
        format!("{n} values disagree; say which stand")
    }
}

/// Initials, with the name where it is known.
pub fn person(initials: &str, name: &str) -> String {
    if name.is_empty() { initials.to_owned() } else { format!("{initials} · {name}") }
}

pub fn n_records(n: usize, n_unknown: usize) -> String {
    if n_unknown == 0 {
        records(n)
    } else {
        let (need, are) =
            if n_unknown == 1 { ("needs", "it is kept as it is") } else { ("need", "they are kept as they are") };
        format!("{}, {n_unknown} of them {need} a newer version of the program; {are}", records(n))
    }
}

/// What of `n` records went out in files.
pub fn last_copy(n: usize, copied: &Copied) -> String {
    match (&copied.at, copied.n_since) {
        (None, 0) if n == 0 => "Nothing to write to a file yet.".to_owned(),
        (None, 0) => "All records were taken in; none was written on this device.".to_owned(),
        (None, since) => format!("{} written on this device, none of them to a file.", records(since as usize)),
        (Some(at), 0) => format!("The file handed out on {at} holds all that was written on this device."),
        (Some(at), since) => format!("{} written since the file of {at}.", records(since as usize)),
    }
}

pub fn room(used: Option<u64>, quota: Option<u64>) -> String {
    match (used, quota) {
        (Some(used), Some(quota)) => format!("Room used: {} of {}", bytes(used as f64), bytes(quota as f64)),
        (Some(used), None) => format!("Room used: {}", bytes(used as f64)),
        _ => "The browser does not say how much room is used.".to_owned(),
    }
}

pub fn promise(persisted: Option<bool>) -> &'static str {
    match persisted {
        Some(true) => "The browser promises not to clear the records by itself.",
        Some(false) => {
            "The browser may clear the records when space runs short. Put the app on the home screen, and keep a file."
        }
        None => "The browser does not say whether it may clear the records. Keep a file.",
    }
}

pub fn opened(opened: Opened) -> &'static str {
    match opened {
        Opened::OnItsOwn => "Opened from the home screen.",
        Opened::PhoneTab => "Opened in a browser's tab; on the home screen it is safer.",
        Opened::ForgetfulTab => {
            "Opened in a tab that forgets after some days without use and shares nothing with the home screen: put it there before you record."
        }
        Opened::DeskTab => "Opened in a browser's tab.",
    }
}

pub fn no_offline(why: &NoOffline) -> String {
    match why {
        NoOffline::NotSecure => {
            "Opened over plain http: browsers give no offline app there. Open it over https, or on the phone's own localhost by cable.".to_owned()
        }
        NoOffline::NotOffered => "This browser (or private window) offers no offline use.".to_owned(),
        NoOffline::NotFetched => {
            "Not ready offline: not everything could be fetched. It is tried again when there is signal; keep a page open until then.".to_owned()
        }
        NoOffline::Refused(words) => {
            format!("Not ready offline; the browser says: {words} It is tried again when there is signal.")
        }
    }
}

pub fn kept(answer: Option<bool>) -> &'static str {
    match answer {
        Some(true) => "The browser promises to keep them.",
        Some(false) => "The browser does not promise. Put the app on the home screen and ask again; keep a file.",
        None => "This browser cannot be asked. Keep a file.",
    }
}

/// What wiping would lose, and what to look for before, of `n` records.
pub fn wipe_risk(n: usize, copied: &Copied) -> String {
    match (&copied.at, copied.n_since) {
        (None, 0) if n == 0 => "Nothing is recorded here. Wipe it?".to_owned(),
        (None, 0) => "All of it was taken in from a file. Look for that file first. Is it there?".to_owned(),
        (Some(at), 0) => format!(
            "All that was written on this device stands in the file handed out on {at}. Look for it first, under Downloads or \
             with whom you gave it to. Is it there?"
        ),
        (_, since) => format!("In no file yet, and lost for good when wiped: {}.", records(since as usize)),
    }
}

pub fn n_values(n: usize) -> String {
    plural(n, "value differs", "values differ")
}

pub fn this_stands_for(said: &str) -> String {
    format!("This stands: {said}")
}

/// What records of a bulb that exclude each other are about.
pub fn contrary(of: &Contrary, state: &State) -> String {
    let label = state.name_of(of.bulb);
    match of.matter {
        Matter::End => format!("{label}: what became of it?"),
        Matter::Looks => format!("{label}: how far was it?"),
        Matter::Shoot(shoot) => {
            let cycles = state.bulb(&of.bulb).into_iter().flat_map(|bulb| &bulb.cycles);
            let mut shoots = cycles.flat_map(|cycle| &cycle.shoots);
            let nth = shoots.find(|known| known.id == shoot).map_or(1, |known| known.ordinal);
            format!("{label}: is shoot {nth} a stalk or a leaf?")
        }
    }
}

/// What settling them does.
pub fn contrary_under(matter: Matter) -> &'static str {
    match matter {
        Matter::End | Matter::Looks => "These cannot all be true. Say which stands; the others are taken back.",
        Matter::Shoot(_) => "It cannot be both. Say what it is; the looks stay.",
    }
}

/// What one side of such records says, by the first of them; of a shoot the first side says a stalk.
pub fn side(matter: Matter, is_first: bool, body: &Body, state: &State) -> String {
    match (matter, is_first) {
        (Matter::Shoot(_), true) => "A stalk".to_owned(),
        (Matter::Shoot(_), false) => "A leaf".to_owned(),
        _ => crate::records::said(body, state),
    }
}

/// What a register is of.
pub fn register(of: &Disagreement, state: &State) -> String {
    let what = register_word(&of.kind, &of.slot);
    let name = state.name_of(of.subject);
    if name.is_empty() { what.to_owned() } else { format!("{name}: {what}") }
}

fn register_word(kind: &str, slot: &str) -> &'static str {
    match (kind, slot) {
        ("nursery", _) => "name of the nursery",
        ("person", _) => "person",
        ("place", _) => "place",
        ("bench-order", _) => "order of bulbs",
        ("lot", _) => "lot",
        ("bulb", _) => "lot of a bulb",
        ("bulb-name", "tag") => "tag",
        ("bulb-name", _) => "own name",
        ("container", _) => "container",
        ("recipe", _) => "mix",
        ("question", _) => "question",
        ("treatment", _) => "group",
        ("run", _) => "try",
        ("success-rule", _) => "what counts",
        ("due-window", _) => "due window",
        ("allotment", _) => "who is in which group",
        ("tallies", _) => "counts from a notebook",
        _ => "value",
    }
}

/// One value of a register, in words.
pub fn value(body: &Body, state: &State) -> String {
    let short = |day: Date| date_short(day, day);
    match body {
        Body::BulbName(named) => named.name.clone(),
        Body::Nursery(nursery) => match nursery.latitude_decideg {
            Some(decideg) => format!("{}, {}", nursery.name, crate::nursery::latitude(decideg)),
            None => nursery.name.clone(),
        },
        Body::Person(person) => format!("{} {}", person.initials, person.name).trim().to_owned(),
        Body::Place(place) => {
            let covers: Vec<String> =
                place.covers.iter().map(|cover| format!("{} {} %", cover.what, cover.blocks_percent)).collect();
            let mut parts = vec![place.name.clone(), crate::places::place_kind(place.kind).to_owned()];
            parts.extend(covers);
            if place.given_up {
                parts.push("no longer in use".to_owned());
            }
            parts.join(", ")
        }
        Body::BenchOrder(order) => {
            let names: Vec<&str> = order.bulbs.iter().take(6).map(|bulb| state.name_of(*bulb)).collect();
            let rest = if order.bulbs.len() > 6 { " …" } else { "" };
            format!("{}{rest}", names.join(", "))
        }
        Body::Lot(lot) => [lot.name.as_str(), &lot.cultivar, &lot.supplier, &lot.grade]
            .into_iter()
            .filter(|text| !text.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
        Body::Bulb(bulb) => state.name_of(bulb.lot).to_owned(),
        Body::Container(container) => container.name.clone(),
        Body::Recipe(recipe) => {
            let parts: Vec<String> = recipe.parts.iter().map(|part| format!("{} {}", part.parts, part.what)).collect();
            format!("{}: {}", recipe.name, parts.join(", "))
        }
        Body::Question(question) => question.text.clone(),
        Body::Treatment(treatment) => treatment.name.clone(),
        Body::Run(run) => format!("start {}, looks every {} days", short(run.start), run.look_interval_days),
        Body::Rule(rule) => {
            let pairs = match rule.family {
                Some(Family::AllPairs) => ", every group compared with every other",
                Some(Family::WithControl) | None => "",
            };
            let stage = crate::trials::goal_stage(rule.stage);
            format!("{stage}, dead bulbs count {}{pairs}", crate::trials::died_as(rule.died))
        }
        Body::DueWindow(window) => {
            format!("{} to {} {} {}", short(window.from), short(window.to), window.to.year(), window.name)
        }
        Body::Forcing(forcing) => {
            format!("{}: {} to {} {}", forcing.name, short(forcing.from), short(forcing.to), forcing.to.year())
        }
        Body::Allotment(allotment) => {
            let seed: String = allotment.seed.chars().take(8).collect();
            format!("{} in {} groups {seed}", bulbs(allotment.units.len()), allotment.groups.len())
        }
        Body::CarePlan(job) => crate::due::planned_title(job),
        Body::Tallies(tallies) => tallies
            .groups
            .iter()
            .map(|tally| format!("{}: {} in time", state.name_of(tally.group), tally.n_in_time))
            .collect::<Vec<_>>()
            .join(", "),
        _ => body.kind().to_owned(),
    }
}

/// Heading of an act that two phones may have recorded.
pub fn recorded_twice(what: &str) -> String {
    format!("{}: recorded twice?", crate::trials::upper_first(what))
}

pub fn one_shoot_or_two(label: &str) -> String {
    format!("{label}: one shoot or two?")
}

pub fn waiting_for_others(n: usize) -> String {
    format!(
        "{} others that are not in this file; a whole file of that nursery brings them.",
        plural(n, "record puts right", "records put right")
    )
}

/// An answer that was given, with the bulb that it is about where there is one.
pub fn answer(bulb: &str, said: &str) -> String {
    if bulb.is_empty() { crate::trials::upper_first(said) } else { format!("{bulb}: {said}") }
}
