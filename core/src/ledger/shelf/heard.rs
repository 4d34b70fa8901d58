//! What other devices said last that they have: what to hand to each, and which records are on no other device.
//!
//! Every file says what its sender had. The list of this is of this device alone and may be lost: then more is handed
//! over than the others lack, and nothing else is affected.

use serde::{Deserialize, Serialize};

use super::{Op, SHELF_FORMAT, Store, read_meta};
use crate::{
    error::Result,
    json::{self, objects},
    ledger::{have::Have, id::Id},
};

/// Key of the row in `meta` that lists what other devices have: a [`HeardRow`].
pub const HEARD_KEY: &str = "heard";

/// Devices that are remembered.
const DEVICES_MAX: usize = 32;

/// Ranges of lines that are remembered of one device. No honest device has more; what it said then counts as not said.
const RANGES_MAX: usize = 2_000;

/// What one device said that it has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    /// The device that made the file.
    pub device: Id,
    /// Who recorded on it then, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<Id>,
    /// When the file was made, in the civil time of that device, as the file says.
    pub made: String,
    /// When the file came here, in ms since 1970.
    #[serde(default)]
    pub heard_ms: u64,
    /// What it had.
    pub have: Have,
}

/// What was heard of other devices.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HeardRow {
    /// [`SHELF_FORMAT`] of the version that wrote it.
    pub format: u32,
    /// The device heard of last stands last.
    #[serde(deserialize_with = "objects")]
    pub others: Vec<Heard>,
}

impl Default for HeardRow {
    fn default() -> Self {
        Self { format: SHELF_FORMAT, others: Vec::new() }
    }
}

impl HeardRow {
    /// Reads the row; without one nothing was heard.
    ///
    /// # Errors
    /// When it is garbled, or was written by a newer version.
    pub fn read(row: Option<&[u8]>) -> Result<Self> {
        row.map_or(Ok(Self::default()), |row| read_meta(row, |row: &Self| row.format))
    }

    /// The operation that writes it.
    pub fn put(&self) -> Op {
        Op::put(Store::Meta, HEARD_KEY, json::to_bytes(self))
    }

    /// The list after a device said what it has. What it said in a file made earlier does not count any more, in
    /// whichever order the two came; `own` is this device, of which nothing needs to be heard.
    pub fn with(mut self, heard: Heard, own: Id) -> Self {
        if heard.device == own || heard.have.n_ranges() > RANGES_MAX {
            return self;
        }
        let before = self.others.iter().position(|other| other.device == heard.device);
        let n_had = |have: &Have| have.0.values().flatten().map(|range| range.to).sum::<u64>();
        if let Some(at) = before {
            // Records only grow: a file that names fewer lines is the older one.
            if n_had(&self.others[at].have) > n_had(&heard.have) {
                return self;
            }
            self.others.remove(at);
        }
        if self.others.len() >= DEVICES_MAX {
            self.others.remove(0);
        }
        self.others.push(heard);
        self
    }

    /// What was heard of a device.
    pub fn of(&self, device: Id) -> Option<&Heard> {
        self.others.iter().find(|other| other.device == device)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::ledger::entry::Entry;
    use crate::ledger::testing::{NOON_MS, Writer};

    fn entries(n: usize) -> (Writer, Vec<Arc<Entry>>) {
        let mut writer = Writer::new(1);
        let entries = (0..n).map(|at| writer.note(&format!("note {at}"), NOON_MS)).collect();
        (writer, entries)
    }

    fn heard(seed: u8, entries: &[Arc<Entry>]) -> Heard {
        let other = Writer::new(seed);
        let made = "2027-03-14T18:20+01:00".to_owned();
        Heard { device: other.device(), who: Some(other.who()), made, heard_ms: NOON_MS, have: Have::of(entries) }
    }

    #[test]
    fn it_reads_back() {
        let (own, all) = entries(6);
        let row = HeardRow::default().with(heard(2, &all[..4]), own.device()).with(heard(3, &all[..2]), own.device());
        assert_eq!(HeardRow::read(Some(&bytes_of(&row))).unwrap(), row);
        assert_eq!(row.of(Writer::new(3).device()).map(|other| other.have.lacks(&all).len()), Some(4));
    }

    #[test]
    fn an_older_file_of_the_same_device_changes_nothing() {
        let (own, all) = entries(4);
        let newer = HeardRow::default().with(heard(2, &all), own.device());
        assert_eq!(newer.clone().with(heard(2, &all[..1]), own.device()), newer);
        let later = HeardRow::default().with(heard(2, &all[..1]), own.device()).with(heard(2, &all), own.device());
        assert_eq!(later, newer);
    }

    #[test]
    fn of_itself_and_of_endless_lists_nothing_is_kept() {
        let (own, all) = entries(1);
        assert_eq!(HeardRow::default().with(heard(1, &all), own.device()), HeardRow::default());
        let mut endless = heard(2, &all);
        let ranges = endless.have.0.values_mut().next().unwrap();
        *ranges = vec![ranges[0].clone(); RANGES_MAX + 1];
        assert_eq!(HeardRow::default().with(endless, own.device()), HeardRow::default());
        let many = (0..=u8::MAX).fold(HeardRow::default(), |row, seed| row.with(heard(seed, &all), own.device()));
        assert_eq!(many.others.len(), DEVICES_MAX);
    }

    fn bytes_of(row: &HeardRow) -> Vec<u8> {
        match row.put() {
            Op::Put { bytes, .. } => bytes.to_vec(),
            Op::Delete { .. } => panic!("a row is put"),
        }
    }
}
