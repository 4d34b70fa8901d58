//! The demo: an invented nursery with its records of the last year, told anew on any day.
//!
//! A script says what happened so many days before today; [`generate`] writes it down through the same door as the
//! app, on two phones, so that due work, standing and open questions are alive whenever it is opened. The same script
//! and day give the same bytes. Its ledger is drawn from both, and is never taken into another.

mod life;
mod phones;
mod script;
mod steps;
mod tell;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use sha2::{Digest, Sha256};

use script::Script;

use crate::{
    calendar::Date,
    error::{Error, Result},
    json,
    ledger::{
        Ledger,
        entry::Entry,
        id::{Id, Ids},
        shelf::Attachment,
    },
    refusal::ScriptRefusal,
};

/// The script that comes with the program.
pub const SCRIPT: &str = include_str!("../../../demo-data/nursery.json");

/// The demo's records on one day.
#[derive(Clone, Debug)]
pub struct Demo {
    /// Its ledger.
    pub ledger: Id,
    /// Who records; the first is who looks at the demo.
    pub persons: Vec<Id>,
    /// Entries, in the order in which they were written.
    pub entries: Vec<Arc<Entry>>,
    /// Drawings that stand in for photos, each once.
    pub photos: Vec<Attachment>,
}

impl Demo {
    /// All entries as a ledger.
    pub fn to_ledger(&self) -> Ledger {
        let mut ledger = Ledger::new(self.ledger);
        for entry in &self.entries {
            ledger.insert(entry.clone());
        }
        ledger
    }
}

/// Writes the demo's records as they stand on the morning of `today`; the last is of yesterday.
///
/// # Errors
/// When the script is not one, tells something that the program refuses, or reaches out of the calendar.
pub fn generate(script: &str, today: Date) -> Result<Demo> {
    let script: Script = json::read(script).map_err(|why| Error::new(ScriptRefusal::NoScript(Box::new(why))))?;
    let mut hash = Sha256::new();
    hash.update(b"bloomdue demo 1\0");
    hash.update(script.seed.as_bytes());
    hash.update([0]);
    hash.update(today.to_string().as_bytes());
    let ids = Ids::new(hash.finalize().into());
    tell::tell(&script, ids, today)
}
