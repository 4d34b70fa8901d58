//! Ledger, nursery, trials and evidence of Bloomdue.
//!
//! Pure: no browser, no clock, no I/O, no unseeded randomness, no async.
//! The direction is entries, ledger, state, outcomes, then evidence and due work; nothing flows back but new entries.

pub mod answers;
pub mod calendar;
pub mod call;
pub mod care;
pub mod counted;
pub mod demo;
pub mod error;
pub mod evidence;
pub mod forecast;
pub mod habits;
pub mod handover;
pub mod holidays;
pub mod inspect;
pub mod json;
pub mod ledger;
pub mod light;
pub mod limits;
pub mod nursery;
pub mod picture;
pub mod plan;
pub mod potting;
pub mod published;
pub mod record;
pub mod refusal;
pub mod sight;
pub mod sketch;
pub mod source;
#[cfg(any(test, feature = "testing"))]
pub mod speed;
pub mod stock;
pub mod tag;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
pub mod trial;
pub mod units;
mod words;
pub mod work;
