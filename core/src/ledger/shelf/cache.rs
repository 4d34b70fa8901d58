//! Whether a cached state may be used. It is only ever a saving and may be thrown away at any time.
//!
//! Row: `1 (format) ‖ 32 bytes fold ‖ 32 bytes over the list of blocks ‖ checksum of the state, 8 bytes ‖ state`.

use sha2::{Digest, Sha256};

use super::{BlocksRow, Op, Store};

const CACHE_FORMAT: u8 = 1;
const HEAD_LEN: usize = 1 + 32 + 32 + 8;

/// The key of a cached state: several kinds of state may be kept side by side.
fn head(fold: &[u8; 32], blocks: &BlocksRow, state: &[u8]) -> [u8; HEAD_LEN] {
    let mut list = Sha256::new();
    list.update(b"bloomdue blocks 1\0");
    for block in &blocks.blocks {
        list.update(block.first.to_le_bytes());
        list.update(block.n.to_le_bytes());
        list.update(block.digest.as_bytes());
    }
    let mut head = [0; HEAD_LEN];
    head[0] = CACHE_FORMAT;
    head[1..33].copy_from_slice(fold);
    head[33..65].copy_from_slice(&list.finalize());
    head[65..].copy_from_slice(&checksum(state).to_le_bytes());
    head
}

/// Fowler, Noll and Vo's hash FNV-1a with 64 bits, taken over words of eight bytes: fast, and enough to know a row
/// that was cut off or garbled by accident.
fn checksum(state: &[u8]) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64 ^ state.len() as u64;
    let mut mix = |word: u64| hash = (hash ^ word).wrapping_mul(0x0000_0100_0000_01b3);
    let (words, rest) = state.as_chunks::<8>();
    for word in words {
        mix(u64::from_le_bytes(*word));
    }
    for byte in rest {
        mix(u64::from(*byte));
    }
    hash
}

/// The operation that keeps a state under `key`. `fold` is the hash of the build's fold; the state was made from
/// exactly the entries of `blocks`, without the tail.
pub fn cache_put(key: &str, fold: &[u8; 32], blocks: &BlocksRow, state: &[u8]) -> Op {
    let mut row = Vec::with_capacity(HEAD_LEN + state.len());
    row.extend_from_slice(&head(fold, blocks, state));
    row.extend_from_slice(state);
    Op::put(Store::Cache, key, row)
}

/// The state in a row of `cache`, if it was made by this build from exactly these blocks and is whole.
pub fn cache_state<'a>(row: &'a [u8], fold: &[u8; 32], blocks: &BlocksRow) -> Option<&'a [u8]> {
    let (found, state) = row.split_at_checked(HEAD_LEN)?;
    (found == head(fold, blocks, state)).then_some(state)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::shelf::BlockListed;

    #[test]
    fn a_state_is_used_only_by_its_build_for_its_blocks_and_whole() {
        let blocks = BlocksRow::default();
        let Op::Put { bytes, .. } = cache_put("state", &[1; 32], &blocks, b"folded state") else {
            panic!("a put")
        };
        assert_eq!(
            cache_state(&bytes, &[1; 32], &blocks),
            Some(&b"folded state"[..])
        );
        assert_eq!(cache_state(&bytes, &[2; 32], &blocks), None);
        let mut more = blocks.clone();
        more.blocks.push(BlockListed {
            first: 1,
            n: 500,
            digest: "00".into(),
        });
        assert_eq!(cache_state(&bytes, &[1; 32], &more), None);
        for at in 0..bytes.len() {
            assert_eq!(
                cache_state(&bytes[..at], &[1; 32], &blocks),
                None,
                "cut at {at}"
            );
            let mut garbled = bytes.to_vec();
            garbled[at] ^= 4;
            assert_eq!(
                cache_state(&garbled, &[1; 32], &blocks),
                None,
                "garbled at {at}"
            );
        }
    }
}
