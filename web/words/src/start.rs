//! Starting, versions, and what storage and clock refuse.

use bloomdue_core::calendar::Date;
use bloomdue_core::care::clock::Clock;

use crate::refusals;
use crate::route::Route;
use crate::told::{Gone, NotRecorded, Opened, StoreError};

labels! {
    write_them_now = "Write the records to a file now";
    choose_who = "Choose who is recording first: Files, then Persons.";
    /// The link that stands beside it.
    say_who = "Say who records";
    no_nursery_open = "No nursery is open. Start one, or look at the demo.";
    rooms = "Bloomdue";
    demo_line = "A demo nursery.";
    to_own_nursery = "Start your own";
    new_version = "A new version is ready.";
    use_it_now = "Use it now";
    /// The heading where a part of the program is missing.
    not_here_yet = "Not here yet";
    /// A part of the program could not be fetched.
    being_saved = "This is being saved already.";
    part_missing =
        "This part of the program is not on this device yet and cannot be reached. Try again with a connection.";
    /// Another tab runs the next version already.
    newer_elsewhere = "A newer version runs in another tab.";
    /// The button beside it.
    reload = "Reload";
    demo_word = "demo";
    tagline = "Bulbs into flower, for a date";
    /// The name of the demo among the nurseries.
    demo_name = "Quarry Steps";
    what_it_is_for = "Bring your bulbs back into flower for a date.";
    first_plan = "Plan back from the date.";
    then_try = "Try two ways of resting on a handful; lots decide.";
    then_walk = "Walk the bench. One tap a bulb, no signal needed.";
    not_now = "Not now";
    look_at_demo = "Look at the demo";
    start_nursery = "Start a nursery";
    join_nursery = "Join one: take in a colleague's file";
    what_is_kept = "Everything stays on this device. Nothing is sent anywhere; you hand records over as files.";
    nursery_name = "Name of the nursery";
    your_initials = "Your initials";
    initials_hint = "They stand beside what you record.";
    start_it = "Start";
    cannot_open = "The records could not be opened";
    load_again = "Load the program again; records are not touched";
    put_it_there = "Put it on the home screen";
}

/// Why something was not recorded, and what to do.
pub fn not_recorded(why: &NotRecorded) -> String {
    match why {
        NotRecorded::ClockOutside(day) => clock_outside(day),
        NotRecorded::NobodyChosen => choose_who().to_owned(),
        NotRecorded::NoNurseryOpen => no_nursery_open().to_owned(),
        NotRecorded::BeingSaved => being_saved().to_owned(),
        NotRecorded::PartMissing => part_missing().to_owned(),
        NotRecorded::Refused(why) => store_error(why),
    }
}

/// The screen on which the reason is mended, which then leads back to where one was.
pub fn mended_at(why: &NotRecorded) -> Option<Route> {
    matches!(why, NotRecorded::NobodyChosen).then_some(Route::Who)
}

/// What the storage refused, and what to do.
pub fn store_error(why: &StoreError) -> String {
    match why {
        StoreError::Refused(error) => refusals::refused(error),
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
pub fn saved_but(why: &StoreError) -> String {
    let why = clause(why, "the browser's storage did not answer afterwards");
    format!("It is saved, but {why}. Reload the page to see all that is here.")
}

/// What is kept could not be read; nothing was to be saved.
pub fn not_read(why: &StoreError) -> String {
    match why {
        StoreError::Full | StoreError::ConnectionLost | StoreError::NotReadBack | StoreError::Other(_) => {
            let why = clause(why, "the browser's storage did not answer");
            format!("This can't be read just now: {why}. Nothing saved is lost. Try once more, or reload the page.")
        }
        gone => store_error(gone),
    }
}

fn clause(why: &StoreError, unanswered: &str) -> String {
    match why {
        StoreError::Other(name) => format!("the browser says {name}"),
        StoreError::Refused(error) => refusals::clause(&error.refusal),
        _ => unanswered.to_owned(),
    }
}

/// Why this tab can no longer save, and what to do.
pub fn gone(why: Gone) -> &'static str {
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

pub fn draft_not_kept(why: &StoreError) -> String {
    format!("What is typed here is not kept until you save it. {}", store_error(why))
}

pub fn clock_outside(day: &str) -> String {
    format!(
        "Nothing can be saved: this device's clock says {day}. Set its date, then go on; what was saved before is safe."
    )
}

/// Stands after what was saved.
pub fn saved_under(clock: Clock, today: Date) -> String {
    match clock {
        Clock::Behind { newest } => {
            format!(" The clock says {today}, but records are of {newest}: check this device's date.")
        }
        Clock::Ahead { .. } => {
            format!(" The clock says {today}: if that is wrong, set this device's date.")
        }
    }
}

/// How to put the app on the home screen, and why before the first record; nothing where it stands there already.
pub fn home_screen(opened: Opened) -> Option<&'static str> {
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
