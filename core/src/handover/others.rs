//! The evening hand-over: what each of the other devices lacks, as far as was heard, and the records to hand it.

use std::{collections::HashSet, sync::Arc};

use crate::ledger::{
    Ledger,
    body::Body,
    entry::Entry,
    have::Have,
    id::{EntryId, Id},
    shelf::{Heard, HeardRow},
};

/// A device that has written nothing, and was not heard of, for so long before the latest record is not counted among
/// everyone: a phone that was given away would else be sent everything for ever. In ms; 45 days.
const GONE_QUIET_MS: u64 = 45 * 24 * 60 * 60 * 1000;

/// Another device that records this nursery.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Other {
    /// The device.
    pub device: Id,
    /// Who recorded on it last, where that is known.
    pub who: Option<Id>,
    /// When it made the file it was last heard of by, in its civil time, as the file says; none where no file of its
    /// own came here, and only records of its came with another's.
    pub made: Option<String>,
    /// Whether it is one of everyone.
    pub is_recent: bool,
    /// How many records it lacks of those that are here, as far as was heard: too many rather than too few.
    pub n_lacks: usize,
    /// How many records it had that are not here.
    pub n_not_here: u64,
    have: Have,
}

/// For whom a file is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Whom {
    /// Everyone who recorded lately: what any of them lacks.
    Everyone,
    /// One device: what it lacks.
    One(Id),
    /// A device not heard of yet: everything.
    Newcomer,
}

/// The other devices: those that files came from, the last one first, then those known by records of theirs alone,
/// which have these at least. `own` is this device.
pub fn others(ledger: &Ledger, heard: &HeardRow, own: Id) -> Vec<Other> {
    let newest_ms = ledger.arrived().iter().map(|entry| entry.envelope.hlc.ms).max().unwrap_or(0);
    let last_of = |device: &Id| {
        let ids = ledger.lines().get(device)?.values().next_back()?;
        ids.first().and_then(|id| ledger.get(*id))
    };
    let other = |device: Id, heard: Option<&Heard>| {
        let last = last_of(&device);
        let own_lines = || {
            let of_device = ledger.arrived().iter().filter(|entry| entry.envelope.device == device);
            Have::of(&of_device.cloned().collect::<Vec<_>>())
        };
        let have = heard.map_or_else(own_lines, |heard| heard.have.clone());
        let last_ms = last.map_or(0, |entry| entry.envelope.hlc.ms).max(heard.map_or(0, |heard| heard.heard_ms));
        Other {
            device,
            who: heard.and_then(|heard| heard.who).or(last.map(|entry| entry.envelope.who)),
            made: heard.map(|heard| heard.made.clone()),
            is_recent: last_ms.saturating_add(GONE_QUIET_MS) >= newest_ms,
            n_lacks: have.lacks(ledger.arrived()).len(),
            n_not_here: n_not_here(ledger, &have),
            have,
        }
    };
    let by_file = heard.others.iter().rev().filter(|heard| heard.device != own);
    let by_file: Vec<Other> = by_file.map(|heard| other(heard.device, Some(heard))).collect();
    let by_records = ledger.lines().keys().filter(|device| **device != own && heard.of(**device).is_none());
    let by_records: Vec<Other> = by_records.map(|device| other(*device, None)).collect();
    by_file.into_iter().chain(by_records).collect()
}

fn n_not_here(ledger: &Ledger, have: &Have) -> u64 {
    let all = have.0.iter().flat_map(|(device, ranges)| ranges.iter().map(move |range| (device, range)));
    all.fold(0, |n: u64, (device, range)| {
        let to = range.to.max(range.from);
        let spanned = (to - range.from).saturating_add(1);
        let here = ledger.lines().get(device).map_or(0, |lines| lines.range(range.from..=to).count());
        n.saturating_add(spanned.saturating_sub(here as u64))
    })
}

/// The records of a file for these, in the order in which they arrived here.
pub fn outgoing(ledger: &Ledger, others: &[Other], whom: Whom) -> Vec<Arc<Entry>> {
    let lacked_by = |chosen: &dyn Fn(&Other) -> bool| {
        let chosen: Vec<&Other> = others.iter().filter(|other| chosen(other)).collect();
        let lacked: HashSet<EntryId> =
            chosen.iter().flat_map(|other| other.have.lacks(ledger.arrived())).map(|entry| entry.id).collect();
        // For nobody in particular it is everything.
        let is_wanted = |entry: &Arc<Entry>| chosen.is_empty() || lacked.contains(&entry.id);
        ledger.arrived().iter().filter(|entry| is_wanted(entry)).cloned().collect()
    };
    match whom {
        Whom::Newcomer => ledger.arrived().to_vec(),
        Whom::Everyone => lacked_by(&|other| other.is_recent),
        Whom::One(device) => lacked_by(&|other| other.device == device),
    }
}

/// How many of the records here no other device is known to have.
pub fn n_on_no_other(ledger: &Ledger, others: &[Other]) -> usize {
    let left = others.iter().fold(ledger.arrived().to_vec(), |left, other| {
        let lacking: HashSet<EntryId> = other.have.lacks(ledger.arrived()).iter().map(|entry| entry.id).collect();
        left.into_iter().filter(|entry| lacking.contains(&entry.id)).collect()
    });
    left.len()
}

/// How many photos these records name, each once.
pub fn n_photos(entries: &[Arc<Entry>]) -> usize {
    let hashes = entries.iter().filter_map(|entry| match &entry.body {
        Body::Photo(photo) => Some(photo.hash),
        _ => None,
    });
    hashes.collect::<std::collections::BTreeSet<_>>().len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        handover::{
            PhotosHere,
            json::{Composer, PhotoKind, Reader, Sender},
        },
        ledger::testing::{NOON_MS, Writer},
    };

    /// A phone with a ledger and what it heard.
    struct Phone {
        writer: Writer,
        ledger: Ledger,
        heard: HeardRow,
    }

    impl Phone {
        fn new(seed: u8) -> Self {
            let writer = Writer::new(seed);
            Self { ledger: Ledger::new(writer.ledger()), writer, heard: HeardRow::default() }
        }

        fn writes(&mut self, n: usize) {
            for at in 0..n {
                let entry = self.writer.note(&format!("{at}"), NOON_MS + at as u64);
                self.ledger.insert(entry);
            }
        }

        fn others(&self) -> Vec<Other> {
            others(&self.ledger, &self.heard, self.writer.device())
        }

        fn hands(&self, whom: Whom) -> (usize, String) {
            let some = outgoing(&self.ledger, &self.others(), whom);
            let n = some.len();
            let heard = self.heard.others.clone();
            let sender = Sender { device: self.writer.device(), who: Some(self.writer.who()), heard };
            let mut composer = Composer::of_some(&self.ledger, some, &sender, "Vale", "2027-03-14T18:20+01:00");
            assert!(composer.names(PhotoKind::Photo).is_empty());
            let mut file = String::new();
            while let Some(piece) = composer.next_piece() {
                file.push_str(&piece);
            }
            file.push_str(composer.end());
            (n, file)
        }

        /// Takes a file in; gives whether all that its sender had is here then.
        fn takes(&mut self, file: &str) -> bool {
            let mut reader = Reader::new();
            reader.feed(file.as_bytes(), |_| {}).unwrap();
            let preview = reader.finish().unwrap().preview(&self.ledger, &PhotosHere::default(), NOON_MS).unwrap();
            for entry in preview.new {
                self.ledger.insert(entry);
            }
            for heard in preview.heard {
                self.heard = std::mem::take(&mut self.heard).with(heard, self.writer.device());
            }
            preview.whole
        }
    }

    #[test]
    fn three_phones_are_equal_after_three_files() {
        let mut phones = [Phone::new(1), Phone::new(2), Phone::new(3)];
        let mut sent = Vec::new();
        for (evening, n) in [[5, 3, 2], [4, 0, 6], [1, 1, 1]].into_iter().enumerate() {
            for (phone, n) in phones.iter_mut().zip(n) {
                phone.writes(n);
            }
            // On the first evening nobody has heard of the third phone, so that the second is asked for everything.
            let whom = if evening == 0 { Whom::Newcomer } else { Whom::Everyone };
            let (first, file) = phones[0].hands(Whom::Everyone);
            assert!(phones[1].takes(&file));
            let (second, file) = phones[1].hands(whom);
            assert!(phones[2].takes(&file));
            let (last, file) = phones[2].hands(Whom::Everyone);
            assert!(phones[0].takes(&file) && phones[1].takes(&file));
            // From the second evening on each hands over what one of the others lacks, and not all there is.
            sent.push((first, second, last));
            let digests: Vec<_> = phones.iter().map(|phone| phone.ledger.digest()).collect();
            assert!(digests.iter().all(|digest| *digest == digests[0]), "{evening}");
            assert_eq!(n_on_no_other(&phones[0].ledger, &phones[0].others()), 0);
        }
        // From the second evening on each hands over what one of the others lacks, and not all there is. What the third
        // phone's file brought is not known to be there before its receivers have said so.
        assert_eq!(sent, [(5, 8, 5), (6, 4, 6), (7, 2, 2)]);
    }

    #[test]
    fn a_file_for_somebody_else_says_what_is_missing() {
        let (mut mia, mut ana, mut ben) = (Phone::new(1), Phone::new(2), Phone::new(3));
        mia.writes(5);
        ana.writes(1);
        assert!(ana.takes(&mia.hands(Whom::Newcomer).1));
        assert!(mia.takes(&ana.hands(Whom::Everyone).1));
        mia.writes(2);
        let of_ana = mia.writer.device();
        let (n, for_ana) = mia.hands(Whom::One(ana.writer.device()));
        assert_eq!(n, 2);
        assert_eq!(ana.others()[0].device, of_ana);
        assert!(!ben.takes(&for_ana));
        assert_eq!(ben.ledger.len(), 2);
        // Ben knows that Mia has six more, and asks for them.
        let heard = ben.others();
        // Which of Mia's lines Ben's two are cannot be told while others are missing, so they count as lacking there.
        assert_eq!((heard[0].n_lacks, heard[0].n_not_here), (2, 6));
        assert!(ben.takes(&mia.hands(Whom::Newcomer).1));
        assert_eq!(ben.ledger.digest(), mia.ledger.digest());
    }
}
