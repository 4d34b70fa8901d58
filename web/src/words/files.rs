//! Words of the screens under Files.

pub(crate) fn files_word() -> &'static str {
    "Files"
}

pub(crate) fn people() -> &'static str {
    "Persons and this device"
}

pub(crate) fn people_under() -> &'static str {
    "Tap who records on this device from now on."
}

pub(crate) fn add_person() -> &'static str {
    "Add a person"
}

pub(crate) fn initials() -> &'static str {
    "Initials"
}

pub(crate) fn name_if_wished() -> &'static str {
    "Name, if wished"
}

pub(crate) fn save() -> &'static str {
    "Save"
}

pub(crate) fn light_heading() -> &'static str {
    "Light or dark"
}

pub(crate) fn light_label() -> &'static str {
    "Screens are drawn"
}

pub(crate) fn as_device() -> &'static str {
    "As the device"
}

pub(crate) fn light() -> &'static str {
    "Light"
}

pub(crate) fn dark() -> &'static str {
    "Dark, for the dark room"
}

use bloomdue_core::calendar::Date;
use bloomdue_core::handover::{Preview, Rehearsed, json::Refusal};
use bloomdue_core::ledger::body::{ActKind, Body};
use bloomdue_core::ledger::shelf::FileTaken;
use bloomdue_core::ledger::{Ledger, Problem, id::Id};
use bloomdue_core::nursery::contrary::Matter;
use bloomdue_core::nursery::{State, state::Disagreement};

use super::en::{bulbs, date_short, plural};
use crate::device::{clock, install::Opened, update::NoOffline};

fn records(n: usize) -> String {
    plural(n, "record", "records")
}

fn photos(n: usize) -> String {
    plural(n, "photo", "photos")
}

pub(crate) fn out() -> &'static str {
    "Write the records to a file"
}

/// How many records there are, and what of them went out: when the last file did, in ms since 1970, 0 before the first,
/// and how many own ones were saved since.
pub(crate) fn out_under(n: usize, copied: (u64, u64)) -> String {
    format!("{} here. {}", records(n), last_copy(n, copied))
}

pub(crate) fn photos_label() -> &'static str {
    "Photos in it"
}

pub(crate) fn photos_none() -> &'static str {
    "none"
}

pub(crate) fn photos_small() -> &'static str {
    "small ones"
}

pub(crate) fn photos_all() -> &'static str {
    "all"
}

pub(crate) fn write_file() -> &'static str {
    "Make the file"
}

pub(crate) fn writing() -> &'static str {
    "Making the file …"
}

pub(crate) fn file_ready(size_bytes: f64) -> String {
    format!("The file is ready: {}.", bytes(size_bytes))
}

fn bytes(n: f64) -> String {
    if n < 1e6 {
        format!("{:.0} kB", (n / 1e3).max(1.0))
    } else if n < 1e9 {
        format!("{:.1} MB", n / 1e6)
    } else {
        format!("{:.1} GB", n / 1e9)
    }
}

pub(crate) fn save_file() -> &'static str {
    "Save it on this device"
}

pub(crate) fn share_file() -> &'static str {
    "Hand it to someone"
}

pub(crate) fn neither_way() -> &'static str {
    "This device lets no file out from here. Open this address in the browser itself and write the file there."
}

pub(crate) fn choose_where() -> &'static str {
    "Choose where to save it"
}

/// After a download, of which the browser tells nothing more.
pub(crate) fn handed_to_browser(name: &str) -> String {
    format!("Handed to the browser. Look under Downloads that {name} is there.")
}

/// After the file was written where it was wished, and looked at there.
pub(crate) fn written(name: &str, size_bytes: f64) -> String {
    format!("Saved as {name}, {}, and found there whole.", bytes(size_bytes))
}

pub(crate) fn not_whole(name: &str) -> String {
    format!("{name} is not whole where it was saved. Save it once more, elsewhere.")
}

pub(crate) fn handed() -> &'static str {
    "File handed over. Whether it arrived only the other one can tell."
}

pub(crate) fn further() -> &'static str {
    "Further"
}

pub(crate) fn take_in() -> &'static str {
    "Take a file in"
}

pub(crate) fn take_in_under() -> &'static str {
    "A colleague's records, or your own from another device. Nothing is written before you say so."
}

pub(crate) fn people_link() -> &'static str {
    "Who records here; light or dark"
}

pub(crate) fn storage() -> &'static str {
    "What this device keeps"
}

pub(crate) fn storage_under() -> &'static str {
    "How safe it is, offline use, wiping"
}

pub(crate) fn nurseries() -> &'static str {
    "Nurseries"
}

pub(crate) fn nurseries_under() -> &'static str {
    "Another one, the demo, a new one"
}

pub(crate) fn choose_file() -> &'static str {
    "Choose the file"
}

pub(crate) fn reading() -> &'static str {
    "Reading the file …"
}

pub(crate) fn taking_in() -> &'static str {
    "Taking it in …"
}

/// Why a file cannot be taken in, and what to do.
pub(crate) fn refusal(why: &Refusal) -> String {
    match why {
        Refusal::NotOurs => "This is not a file of records. Choose one whose name ends in .bloomdue.json.".to_owned(),
        Refusal::CutOff => "This file was cut off before its first whole record. Ask for it again.".to_owned(),
        Refusal::NewerFormat(format) => format!(
            "This file was written by a newer version of the program (format {format}). Load the newest version first, then take it in."
        ),
        Refusal::OtherNursery { name, .. } => format!("This file is of another nursery, {name}."),
        Refusal::TooLarge(why) => super::en::sentence(&format!("this file holds too much: {why}")),
    }
}

pub(crate) fn open_it_first(name: &str) -> String {
    format!(
        "This file is of {name}, which this device keeps too. Open that nursery first (Files, Nurseries), then take the file in there. Records of two nurseries never mix."
    )
}

pub(crate) fn kept_apart() -> &'static str {
    "This file is of another nursery than the one that is open. It can be kept apart, as a second nursery on this device; records of two nurseries never mix by themselves."
}

/// What a file holds, line by line.
pub(crate) fn preview(preview: &Preview) -> Vec<String> {
    let mut lines = vec![
        format!("Nursery: {}", preview.name),
        format!("Made: {}", preview.made.replace('T', " ")),
        format!("{} new here, {} known already", records(preview.new.len()), preview.n_known),
    ];
    if !preview.new_photos.is_empty() || preview.n_known_photos > 0 {
        lines.push(format!("{} new here, {} known already", photos(preview.new_photos.len()), preview.n_known_photos));
    }
    if !preview.reformatted.is_empty() {
        lines.push(format!("{} with their layout changed, content intact", records(preview.reformatted.len())));
    }
    if preview.n_twin_acts > 0 {
        lines.push(format!("{}; you settle it afterwards under Disagreements", acts_twice(preview.n_twin_acts)));
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

/// Why a file that was read is not taken in: it could not be tried out.
pub(crate) fn not_rehearsed(why: &str) -> String {
    format!(
        "This file is not taken in: working out what it would change did not get through. {why} Nothing was written. Ask whoever sent it for a new one."
    )
}

/// Bulbs or writers that are named one by one.
const NAMED: usize = 10;

/// What would end, line by line; empty when nothing would.
pub(crate) fn endings(found: &Rehearsed, state: &State) -> Vec<String> {
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
        Some(act) => super::en::acted(act).to_owned(),
        None => word.to_owned(),
    }
}

pub(crate) fn ends_heading() -> &'static str {
    "What would end here"
}

/// Before the second tap.
pub(crate) fn ends_much(found: &Rehearsed) -> String {
    format!(
        "This file ends {} and takes {} out of the nursery. Take it in only if you know why.",
        records(found.n_ended()),
        bulbs(found.n_bulbs_ended())
    )
}

pub(crate) fn take_in_all_the_same() -> &'static str {
    "Take it in all the same"
}

pub(crate) fn leave_it() -> &'static str {
    "Leave it"
}

/// Records of days after tomorrow; `first` and `last` are their days.
pub(crate) fn later(n: usize, first: Date, last: Date) -> String {
    let days = if first == last { format!("{first}") } else { format!("{first} to {last}") };
    format!("{} dated after tomorrow ({days}): they do not count until their day", records(n))
}

/// The same of those that are here; nothing when there are none.
pub(crate) fn later_here(ledger: &Ledger) -> Option<String> {
    let days = || ledger.later().map(|entry| entry.envelope.happened.date());
    Some(later(days().len(), days().min()?, days().max()?))
}

/// Nothing is new, but not all of the file could be read.
pub(crate) fn nothing_new_of_what_is_sound() -> &'static str {
    "Nothing new in what could be read of this file. What could not is named above; ask for the file again."
}

/// Another device writes under this one's name.
pub(crate) fn renewed() -> &'static str {
    "Another device writes under this one's name: this one's storage was copied, or a file was changed by hand. This device goes by a new name from now on. Nothing is lost, and recording goes on."
}

/// A file was taken in, and something after it failed.
pub(crate) fn taken_but(why: &str) -> String {
    format!("The records are taken in. After that something did not work: {why}")
}

pub(crate) fn files_taken() -> &'static str {
    "Files taken in"
}

/// A file that was taken in, in one line.
pub(crate) fn file_taken(file: &FileTaken, when: &str) -> String {
    let n = records(file.n as usize);
    if file.is_aside() { format!("{when}, {n}, set aside") } else { format!("{when}, {n}") }
}

pub(crate) fn take_all_back() -> &'static str {
    "Take all of it back"
}

/// Before all that a file brought is taken back.
pub(crate) fn take_all_back_under(n: usize) -> String {
    format!(
        "This writes take-backs for {} that this file brought. Like all records they travel: with your next file they take effect on the other devices too. They can be taken back themselves.",
        records(n)
    )
}

pub(crate) fn all_taken_back(name: &str) -> String {
    format!("All of {name} taken back")
}

pub(crate) fn bring_back() -> &'static str {
    "Bring it back"
}

pub(crate) fn bring_back_under() -> &'static str {
    "All that this file brought was taken back here. This takes those take-backs back; that travels too."
}

pub(crate) fn brought_back(name: &str) -> String {
    format!("{name} stands again")
}

pub(crate) fn nothing_in_force() -> &'static str {
    "Nothing of this file is in force any more."
}

pub(crate) fn write_aside() -> &'static str {
    "Write what was set aside to a file"
}

/// What a file of records set aside is called after.
pub(crate) fn aside_of(nursery: &str) -> String {
    format!("{nursery} set aside")
}

/// What a file of the storage as it stands is called after.
pub(crate) fn raw_of(nursery: &str) -> String {
    format!("{nursery} as it stands")
}

pub(crate) fn unfinished() -> &'static str {
    "The last start did not finish"
}

pub(crate) fn unfinished_under(name: &str) -> String {
    format!(
        "{name} was being opened and the first screen was not reached. Often the device was only switched off or ran out of power. Everything that was shown as saved is on this device."
    )
}

pub(crate) fn open_it() -> &'static str {
    "Open it"
}

pub(crate) fn if_it_comes_back() -> &'static str {
    "If this page comes back after that, the records may hold something that the program does not get through:"
}

pub(crate) fn write_raw() -> &'static str {
    "Write the records to a file, as they stand"
}

pub(crate) fn set_aside() -> &'static str {
    "Set aside what the last file brought"
}

pub(crate) fn set_aside_under() -> &'static str {
    "Its records leave the nursery and are kept on this device, byte for byte. Under Files they can be written to a file and taken in again."
}

pub(crate) fn was_set_aside(file: &FileTaken) -> String {
    format!("Set aside: {} of {}. Open the nursery now.", records(file.n as usize), file.name)
}

pub(crate) fn nothing_to_set_aside() -> &'static str {
    "No file was taken in that could be set aside."
}

pub(crate) fn other_nursery(name: &str) -> String {
    format!("Open {name} instead")
}

/// What is wrong with a file, line by line.
pub(crate) fn preview_warnings(preview: &Preview) -> Vec<String> {
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
        lines.push(format!("Line {}: cannot be read ({}).", unreadable.line, unreadable.why));
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
pub(crate) fn problems(listed: &[Problem], n: usize) -> Vec<String> {
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

pub(crate) fn nothing_new() -> &'static str {
    "Nothing new: everything in this file is here already."
}

pub(crate) fn take_it_in() -> &'static str {
    "Take it in"
}

pub(crate) fn keep_apart() -> &'static str {
    "Keep it apart, as a second nursery"
}

pub(crate) fn nothing_written_yet() -> &'static str {
    "Nothing is written yet. To be safe, write your own records to a file first."
}

pub(crate) fn taken(n_new: usize, n_photos: usize) -> String {
    match (n_new, n_photos) {
        (0, 0) => "Nothing was new.".to_owned(),
        (n, 0) => format!("{} taken in.", records(n)),
        (n, p) => format!("{} and {} taken in.", records(n), photos(p)),
    }
}

/// Acts that two phones wrote down on one day.
pub(crate) fn acts_twice(n: usize) -> String {
    if n == 1 {
        "One job may be recorded twice, by two phones".to_owned()
    } else {
        format!("{n} jobs may be recorded twice, by two phones")
    }
}

pub(crate) fn new_disagreements(n: usize) -> String {
    if n == 1 {
        "One value disagrees; say which stands".to_owned()
    } else {
        format!("{n} values disagree; say which stand")
    }
}

/// Initials, with the name where it is known.
pub(crate) fn person(initials: &str, name: &str) -> String {
    if name.is_empty() { initials.to_owned() } else { format!("{initials} · {name}") }
}

pub(crate) fn who_is_it() -> &'static str {
    "Who are you?"
}

pub(crate) fn who_is_it_under() -> &'static str {
    "What this device records stands under your initials."
}

pub(crate) fn somebody_else() -> &'static str {
    "Somebody else"
}

pub(crate) fn who_are_you() -> &'static str {
    "Say who records on this device"
}

pub(crate) fn to_due() -> &'static str {
    "To what is due"
}

pub(crate) fn n_records(n: usize, n_unknown: usize) -> String {
    if n_unknown == 0 {
        records(n)
    } else {
        format!("{}, {n_unknown} of them need a newer version of the program; they are kept as they are", records(n))
    }
}

/// What went out in files; as [`out_under`].
pub(crate) fn last_copy(n: usize, (exported_ms, since): (u64, u64)) -> String {
    match (exported_ms, since) {
        (0, 0) if n == 0 => "Nothing to write to a file yet.".to_owned(),
        (0, 0) => "All of them were taken in; none was written on this device.".to_owned(),
        (0, since) => format!("{since} written on this device, none of them to a file."),
        (ms, 0) => format!("The file handed out on {} holds all that was written on this device.", clock::written(ms)),
        (ms, since) => format!("{since} written since the file of {}.", clock::written(ms)),
    }
}

pub(crate) fn room(used: Option<u64>, quota: Option<u64>) -> String {
    match (used, quota) {
        (Some(used), Some(quota)) => format!("Room used: {} of {}", bytes(used as f64), bytes(quota as f64)),
        (Some(used), None) => format!("Room used: {}", bytes(used as f64)),
        _ => "The browser does not say how much room is used.".to_owned(),
    }
}

pub(crate) fn promise(persisted: Option<bool>) -> &'static str {
    match persisted {
        Some(true) => "The browser promises not to clear the records by itself.",
        Some(false) => {
            "The browser may clear the records when space runs short. Put the app on the home screen, and keep a file."
        }
        None => "The browser does not say whether it may clear the records. Keep a file.",
    }
}

pub(crate) fn opened(opened: Opened) -> &'static str {
    match opened {
        Opened::OnItsOwn => "Opened from the home screen.",
        Opened::PhoneTab => "Opened in a browser's tab; on the home screen it is safer.",
        Opened::ForgetfulTab => {
            "Opened in a tab that forgets after some days without use and shares nothing with the home screen: put it there before you record."
        }
        Opened::DeskTab => "Opened in a browser's tab.",
    }
}

pub(crate) fn offline_ready() -> &'static str {
    "Ready offline: it starts without any network."
}

pub(crate) fn offline_not_ready() -> &'static str {
    "Not ready offline yet."
}

pub(crate) fn no_offline(why: &NoOffline) -> String {
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

pub(crate) fn ask_to_keep() -> &'static str {
    "Ask the browser to keep the records"
}

pub(crate) fn kept(answer: Option<bool>) -> &'static str {
    match answer {
        Some(true) => "The browser promises to keep them.",
        Some(false) => "The browser does not promise. Put the app on the home screen and ask again; keep a file.",
        None => "This browser cannot be asked. Keep a file.",
    }
}

pub(crate) fn noticed() -> &'static str {
    "Noticed in the records"
}

pub(crate) fn wipe_heading() -> &'static str {
    "Wipe"
}

pub(crate) fn wipe_under() -> &'static str {
    "Removes this nursery's records and photos from this device. Files already handed over are not touched."
}

pub(crate) fn wipe() -> &'static str {
    "Wipe this nursery from this device"
}

/// What wiping would lose, and what to look for before; as [`out_under`].
pub(crate) fn wipe_risk(n: usize, (exported_ms, since): (u64, u64)) -> String {
    match (exported_ms, since) {
        (0, 0) if n == 0 => "Nothing is recorded here. Wipe it?".to_owned(),
        (0, 0) => "All of it was taken in from a file. Look for that file first. Is it there?".to_owned(),
        (ms, 0) => format!(
            "All that was written on this device stands in the file handed out on {}. Look for it first, under Downloads or \
             with whom you gave it to. Is it there?",
            clock::written(ms)
        ),
        (_, since) => format!("In no file yet, and lost for good when wiped: {}.", records(since as usize)),
    }
}

pub(crate) fn keep_it() -> &'static str {
    "Keep it"
}

pub(crate) fn wipe_really() -> &'static str {
    "Wipe it"
}

pub(crate) fn disagreements() -> &'static str {
    "Disagreements"
}

pub(crate) fn n_values(n: usize) -> String {
    plural(n, "value differs", "values differ")
}

pub(crate) fn disagreements_under() -> &'static str {
    "Two people said different things while apart. Both are kept; say which one stands. Until then it is left out of results."
}

pub(crate) fn all_settled() -> &'static str {
    "Nothing disagrees."
}

pub(crate) fn this_stands() -> &'static str {
    "This stands"
}

pub(crate) fn this_stands_for(said: &str) -> String {
    format!("This stands: {said}")
}

/// What records of a bulb that exclude each other are about.
pub(crate) fn contrary(label: &str, matter: Matter) -> String {
    match matter {
        Matter::End => format!("{label}: what became of it?"),
        Matter::Looks => format!("{label}: how far was it?"),
    }
}

pub(crate) fn contrary_under() -> &'static str {
    "These cannot all be true. Say which stands; the others are taken back."
}

pub(crate) fn settled() -> &'static str {
    "Settled"
}

/// What a register is of.
pub(crate) fn register((subject, kind, slot): &Disagreement, state: &State) -> String {
    let what = register_word(kind, slot);
    let name = state.name_of(*subject);
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
pub(crate) fn value(body: &Body, state: &State) -> String {
    let short = |day: Date| date_short(day, day);
    match body {
        Body::BulbName(named) => named.name.clone(),
        Body::Nursery(nursery) => match nursery.latitude_decideg {
            Some(decideg) => format!("{}, {}", nursery.name, super::nursery::latitude(decideg)),
            None => nursery.name.clone(),
        },
        Body::Person(person) => format!("{} {}", person.initials, person.name).trim().to_owned(),
        Body::Place(place) => {
            let covers: Vec<String> =
                place.covers.iter().map(|cover| format!("{} {} %", cover.what, cover.blocks_percent)).collect();
            let mut parts = vec![place.name.clone(), super::en::place_kind(place.kind).to_owned()];
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
        Body::Question(question) => question.text.clone(),
        Body::Treatment(treatment) => treatment.name.clone(),
        Body::Run(run) => format!("start {}, looks every {} days", short(run.start), run.look_interval_days),
        Body::Rule(rule) => {
            format!("{}, dead bulbs count {}", super::trials::goal_stage(rule.stage), super::trials::died_as(rule.died))
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
        Body::CarePlan(job) => super::due::planned_title(job),
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
pub(crate) fn recorded_twice(what: &str) -> String {
    format!("{}: recorded twice?", super::trials::upper_first(what))
}

pub(crate) fn one_act() -> &'static str {
    "Once: one act"
}

pub(crate) fn two_acts() -> &'static str {
    "Twice: two acts"
}

pub(crate) fn one_shoot_or_two(label: &str) -> String {
    format!("{label}: one shoot or two?")
}

pub(crate) fn one_shoot() -> &'static str {
    "One shoot"
}

pub(crate) fn two_shoots() -> &'static str {
    "Two shoots"
}

pub(crate) fn see_the_bulb() -> &'static str {
    "See the bulb"
}

pub(crate) fn answered() -> &'static str {
    "Answered"
}

pub(crate) fn started_twice() -> &'static str {
    "The same nursery, started twice"
}

pub(crate) fn started_twice_hint() -> &'static str {
    "Then its records are read as records of this nursery. Both files stay as they are, and it can be taken back under Disagreements."
}

pub(crate) fn read_as_the_same() -> &'static str {
    "Read as the same nursery, started twice: its records come to stand beside yours."
}

pub(crate) fn waiting_for_others(n: usize) -> String {
    format!(
        "{} put right others that are not in this file; a whole file of that nursery brings them.",
        plural(n, "record", "records")
    )
}

/// An answer that was given, with the bulb that it is about where there is one.
pub(crate) fn answer(bulb: &str, said: &str) -> String {
    if bulb.is_empty() { super::trials::upper_first(said) } else { format!("{bulb}: {said}") }
}
