//! What browser and device tell of themselves, as far as there are sentences for it.

use std::fmt;

use bloomdue_core::error::{Error, Field};
use bloomdue_core::handover::json::Refusal as Unreadable;
use bloomdue_core::ledger::shelf::session::Fault;
use bloomdue_core::picture::{Kind, Unfit};

/// Why something was not read or not saved. Nothing that was shown as saved is touched by any of these.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// The device has no room left: free some, or hand over and take photos out.
    Full,
    /// The browser dropped the connection, and opening it again did not help: load the page again.
    ConnectionLost,
    /// A newer version of the app was used on this device: load the page again.
    NewerVersion,
    /// Another tab of an older version keeps the storage: close it.
    Blocked,
    /// This nursery was wiped in another tab.
    Wiped,
    /// The browser has cleared what was stored: what is in memory is all there is.
    Cleared,
    /// The browser opens no storage, in its own words: a private window, or storage switched off.
    NotOffered(String),
    /// Core refused.
    Refused(Error),
    /// What was read back is not what was written.
    NotReadBack,
    /// Anything else, by the browser's name for it.
    Other(String),
}

impl From<Error> for StoreError {
    fn from(error: Error) -> Self {
        Self::Refused(error)
    }
}

impl Fault for StoreError {
    fn cleared() -> Self {
        Self::Cleared
    }

    fn not_read_back() -> Self {
        Self::NotReadBack
    }

    fn is_not_read_back(&self) -> bool {
        *self == Self::NotReadBack
    }

    fn is_lost(&self) -> bool {
        *self == Self::ConnectionLost
    }
}

impl fmt::Display for StoreError {
    /// For logs and tests; sentences for growers are made in [`crate::start`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Full => f.write_str("no room left on this device"),
            Self::ConnectionLost => f.write_str("the connection to storage was lost"),
            Self::NewerVersion => f.write_str("a newer version was used on this device"),
            Self::Blocked => f.write_str("another tab keeps the storage"),
            Self::Wiped => f.write_str("the nursery was wiped in another tab"),
            Self::Cleared => f.write_str("the browser has cleared the storage"),
            Self::NotOffered(why) => write!(f, "the browser opens no storage: {why}"),
            Self::Refused(why) => why.fmt(f),
            Self::NotReadBack => f.write_str("what was read back is not what was written"),
            Self::Other(name) => f.write_str(name),
        }
    }
}

/// Why something was not recorded; then nothing of it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotRecorded {
    /// The device's clock shows this day, which records do not know.
    ClockOutside(String),
    /// Nobody is chosen who records.
    NobodyChosen,
    /// No nursery is open.
    NoNurseryOpen,
    /// The same form is being saved: a second press came before the first was done.
    BeingSaved,
    /// The part of the program that checks it is not here.
    PartMissing,
    /// The storage, or core, refused.
    Refused(StoreError),
}

impl NotRecorded {
    /// The field that it concerns, where core named one.
    pub fn field(&self) -> Option<Field> {
        match self {
            Self::Refused(StoreError::Refused(why)) => why.field,
            _ => None,
        }
    }
}

impl<E: Into<StoreError>> From<E> for NotRecorded {
    fn from(why: E) -> Self {
        Self::Refused(why.into())
    }
}

/// The browser refused something; why only in its own words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BrowserRefused(pub String);

/// Why longer work gave no answer. Records are not touched by it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotWorkedOut {
    /// It was stopped.
    Stopped,
    /// It took longer than it may.
    TooLong,
    /// The program failed on the way, in its own words.
    Failed(String),
    /// What came was no answer to what was asked.
    NoAnswer,
}

/// Why a file that is to leave the device was not made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotMade {
    /// Working it out did not get through.
    NotWorkedOut(NotWorkedOut),
    /// No nursery is open.
    NoNurseryOpen,
    /// What goes into it was not read.
    NotRead(StoreError),
    /// Core refused.
    Refused(Error),
    /// It would be a longer picture than devices draw.
    PictureTooLong,
    /// The browser refused.
    Browser(BrowserRefused),
}

impl From<StoreError> for NotMade {
    fn from(why: StoreError) -> Self {
        Self::NotRead(why)
    }
}

impl From<BrowserRefused> for NotMade {
    fn from(why: BrowserRefused) -> Self {
        Self::Browser(why)
    }
}

/// Why a file is not taken in. Nothing was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotTakenIn {
    /// Nothing of it can be.
    Unfit(Unreadable),
    /// It, or what is here, was not read.
    NotRead(StoreError),
    /// No nursery is open that it could go into.
    NoNurseryOpen,
    /// It can't be read as records of the open nursery.
    NotJoined(Error),
    /// It was not worked out what it would change.
    NotRehearsed(NotWorkedOut),
}

impl From<StoreError> for NotTakenIn {
    fn from(why: StoreError) -> Self {
        Self::NotRead(why)
    }
}

impl From<Unreadable> for NotTakenIn {
    fn from(why: Unreadable) -> Self {
        Self::Unfit(why)
    }
}

/// What took the storage away from this tab.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// Another tab runs a newer version, which changes the storage.
    Newer,
    /// This nursery was wiped in another tab.
    Wiped,
    /// The browser has cleared it.
    Cleared,
}

/// How the app was opened.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Opened {
    /// From the home screen or as a program of its own.
    OnItsOwn,
    /// In a browser's tab on a device that is held in the hand.
    PhoneTab,
    /// In a tab on an iPhone or iPad, where a tab forgets after some days without use and shares
    /// nothing with the home screen: say so before the first record.
    ForgetfulTab,
    /// In a browser's tab on a desk.
    DeskTab,
}

/// Why the offline worker could not be set up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoOffline {
    /// The address is neither https nor this device's own: browsers keep offline use from it.
    NotSecure,
    /// The browser has no offline workers, as in some private windows.
    NotOffered,
    /// The worker could not get or keep all files. It is tried again.
    NotFetched,
    /// The browser refused, in its own words. It is tried again.
    Refused(String),
}

/// Why there is no photo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoPhoto {
    /// The file is not to be decoded.
    Unfit(Unfit),
    /// The browser cannot read this kind, or this file.
    Unread(Kind),
    /// The browser's own words, for instance when it has no memory for it.
    Refused(String),
}

/// What went out of this device in files.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Copied {
    /// When the last file did, in civil time; nothing before the first.
    pub at: Option<String>,
    /// How many of its own records were saved since.
    pub n_since: u64,
}
