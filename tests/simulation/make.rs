//! Makers shared by the files of this tier.

use std::sync::Arc;

use bloomdue_core::{
    calendar::{Date, Happened},
    ledger::{
        Ledger, TAKE_BACK,
        body::{Body, Named, Note, TakeBack},
        entry::{Draft, Entry, Envelope, HybridTime},
        id::{EntryId, Id, Ids, Noun},
    },
};

/// Noon of 2027-03-14 in Central Europe, in ms since 1970.
pub(crate) const NOON_MS: u64 = 1_804_954_811_000;

/// A day in ms.
pub(crate) const DAY_MS: u64 = 24 * 60 * 60 * 1000;

/// A small generator of numbers: Steele, Lea and Flood (2014), *Fast splittable pseudorandom number generators*,
/// the mixing of SplitMix64.
#[derive(Clone)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `n`.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.roll() % n.max(1) as u64) as usize
    }

    /// True `percent` times in a hundred.
    pub(crate) fn often(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(crate) fn seed(&mut self) -> [u8; 32] {
        let mut seed = [0; 32];
        for eight in seed.chunks_mut(8) {
            eight.copy_from_slice(&self.roll().to_le_bytes());
        }
        seed
    }

    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            items.swap(at, self.below(at + 1));
        }
    }
}

pub(crate) fn id(text: &str) -> Id {
    Id::parse(text).unwrap()
}

/// The ledger that this tier's entries belong to.
pub(crate) fn ledger_id() -> Id {
    Ids::new([1; 32]).draw(Noun::Ledger)
}

pub(crate) fn happened() -> Happened {
    Happened::on(Date::new(2027, 3, 14).unwrap())
}

pub(crate) fn note(about: &str, text: &str) -> Draft {
    let body = Body::Note(Note { text: text.into() });
    Draft::new(vec![id(about)], happened(), body)
}

pub(crate) fn name(about: &str, name: &str, supersedes: &[EntryId]) -> Draft {
    let body = Body::BulbName(Named { name: name.into() });
    let mut draft = Draft::new(vec![id(about)], happened(), body);
    draft.slot = "own".into();
    draft.supersedes = supersedes.to_vec();
    draft
}

pub(crate) fn take_back(about: &str, target: EntryId) -> Draft {
    let body = Body::TakeBack(TakeBack { why: None });
    let mut draft = Draft::new(vec![id(about)], happened(), body);
    draft.supersedes = vec![target];
    draft
}

/// An entry of a device at a line, sealed without a shelf.
pub(crate) fn entry(device: &str, line: u64, draft: Draft) -> Arc<Entry> {
    let envelope = Envelope {
        about: draft.about,
        device: id(device),
        form: id("f_1"),
        happened: draft.happened,
        hlc: HybridTime { ms: NOON_MS + line, counter: 0 },
        kind: draft.body.kind().to_owned(),
        ledger: ledger_id(),
        line,
        slot: draft.slot,
        supersedes: draft.supersedes,
        v: 1,
        who: id("p_1"),
    };
    Arc::new(Entry::seal(envelope, draft.body).unwrap())
}

/// The same entry with other words in its line: what a newer version, or an editor, would have written.
pub(crate) fn reworded(entry: &Entry, from: &str, to: &str) -> Arc<Entry> {
    let bytes = entry.bytes().replace(from, to);
    assert_ne!(bytes, entry.bytes(), "{from} does not occur");
    Arc::new(Entry::read(EntryId::of(bytes.as_bytes()), &bytes).unwrap())
}

pub(crate) fn ledger_of<'a>(entries: impl IntoIterator<Item = &'a Arc<Entry>>) -> Ledger {
    let mut ledger = Ledger::new(ledger_id());
    for entry in entries {
        ledger.insert(entry.clone());
    }
    ledger
}

/// All that can be said of a ledger without asking in which order its entries came.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Said {
    digest: [u8; 32],
    standing: Vec<(Id, Vec<EntryId>)>,
    problems: String,
    have: String,
    suspects: Vec<EntryId>,
    newest: HybridTime,
}

pub(crate) fn said(ledger: &Ledger) -> Said {
    let standing = ledger.subjects().into_iter().map(|subject| {
        let standing = ledger.in_force(subject);
        (subject, standing.iter().map(|entry| entry.id).collect())
    });
    Said {
        digest: ledger.digest(),
        standing: standing.collect(),
        problems: format!("{:?}", ledger.problems()),
        have: format!("{:?}", bloomdue_core::ledger::have::Have::of(ledger.arrived())),
        suspects: bloomdue_core::ledger::clock::suspects(ledger, NOON_MS),
        newest: ledger.newest(),
    }
}

/// A random draft that may replace or take back what stands.
pub(crate) fn any_draft(dice: &mut Dice, ledger: &Ledger) -> Draft {
    let bulbs = ["b_1", "b_2", "b_3", "b_4"];
    let bulb = bulbs[dice.below(bulbs.len())];
    let words = format!("word {}", dice.below(1000));
    // Of all that is here, so that take-backs are taken back too, and what is gone already is named again.
    let known = ledger.history(id(bulb));
    let picked = known.get(dice.below(known.len())).map(|entry| entry.id);
    let more = known.get(dice.below(known.len())).map(|entry| entry.id);
    let heads: Vec<EntryId> = ledger.heads(id(bulb), "bulb-name", "own").iter().map(|entry| entry.id).collect();
    match dice.below(8) {
        0 => name(bulb, &words, &heads),
        1 => name(bulb, &words, &[]),
        2 | 6 if picked.is_some() => take_back(bulb, picked.unwrap()),
        7 => {
            let body = Body::TakeBack(TakeBack { why: Some(words) });
            let about = bulbs[..1 + dice.below(4)].iter().map(|b| id(b)).collect();
            let mut draft = Draft::new(about, happened(), body);
            draft.supersedes = picked.into_iter().chain(more).collect();
            draft
        }
        3 => {
            // Claims that do not count, such as across kinds, are data too.
            let mut draft = note(bulb, &words);
            draft.supersedes = picked.into_iter().collect();
            draft
        }
        _ => {
            let mut draft = note(bulb, &words);
            draft.about = bulbs[..1 + dice.below(4)].iter().map(|b| id(b)).collect();
            draft
        }
    }
}

/// Whether an entry is one of those that take others back.
pub(crate) fn takes_back(entry: &Entry) -> bool {
    entry.envelope.kind == TAKE_BACK
}
