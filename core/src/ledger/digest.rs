//! The digest by which two devices see that they hold the same entries.

use sha2::{Digest, Sha256};

use super::id::EntryId;

/// The digest of a ledger with these entries, each named once.
pub(crate) fn digest_of(ids: impl IntoIterator<Item = EntryId>) -> [u8; 32] {
    let mut digesting = Digesting::new();
    for id in ids {
        digesting.add(id);
    }
    digesting.finish()
}

/// The digest of a ledger, made in slices: ids are told apart by their first byte, so that some of them at a time can
/// be sorted and hashed.
#[derive(Debug)]
pub(crate) struct Digesting {
    by_first_byte: Vec<Vec<EntryId>>,
    n_hashed: usize,
    hash: Sha256,
}

impl Digesting {
    /// No ids yet.
    pub(crate) fn new() -> Self {
        let mut hash = Sha256::new();
        hash.update(b"bloomdue ledger 1\0");
        Self { by_first_byte: vec![Vec::new(); 256], n_hashed: 0, hash }
    }

    /// Adds an id, which has to be a new one. None may be added once hashing has begun.
    pub(crate) fn add(&mut self, id: EntryId) {
        self.by_first_byte[usize::from(id.0[0])].push(id);
    }

    /// Hashes about `n` more ids; false when all are hashed.
    pub(crate) fn step(&mut self, n: usize) -> bool {
        let mut left = n;
        while let Some(ids) = self.by_first_byte.get_mut(self.n_hashed) {
            if left == 0 {
                return true;
            }
            left = left.saturating_sub(ids.len().max(1));
            ids.sort();
            for id in std::mem::take(ids) {
                self.hash.update(id.0);
            }
            self.n_hashed += 1;
        }
        false
    }

    /// The digest.
    pub(crate) fn finish(mut self) -> [u8; 32] {
        self.step(usize::MAX);
        self.hash.finalize().into()
    }
}
