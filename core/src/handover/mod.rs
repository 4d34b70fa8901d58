//! Files that carry a ledger from one device to another, and out of the program for good.
//!
//! Files are read as hostile: every record and every photo verifies itself by its hash, nothing is written before the
//! grower has seen the preview and said yes, and what cannot be used is listed with its line.

pub mod calendar;
mod compose;
pub mod join;
pub mod json;
pub mod labels;
mod name;
pub mod others;
pub mod page;
mod preview;
mod rehearse;
mod scan;
pub mod tables;
mod undo;

pub use name::file_name;
pub use others::{Other, Whom, outgoing};
pub use preview::{PhotosHere, Preview, Previewing};
pub use rehearse::{Brings, Brought, Ending, Rehearsal, Rehearsed, rehearse};
pub use undo::{Undoing, undoing};
