//! Drawing lots in size classes: the method `blocks/1`, stored by name with every draw.
//!
//! New tries are drawn by [`classes`], the method `blocks/2`; this one stays, so that whatever was drawn by it can be
//! drawn again for ever.
//!
//! # The method, byte by byte
//! Given are a seed of 32 bytes, N units (each an id and a size), the sizes S of k groups in the grower's
//! order with sum N, and the length t that a block should have.
//!
//! 1. **Order.** Units are sorted by size, smallest first, then by the bytes of their id.
//! 2. **Blocks.** There are B = max(1, min(⌊(2N + t) / 2t⌋, ⌊N / k⌋)) blocks: N/t rounded, halves up, but no
//!    more than leave every block as many units as there are groups. The sorted row is cut into B runs;
//!    the first N mod B of them have ⌊N/B⌋ + 1 units, the others ⌊N/B⌋.
//! 3. **Quotas.** Let C be the number of units in this block and all before it, and Q the places that group g
//!    has been given so far. The group is owed S·C − N·Q (in N-ths of a unit). One place of the block at a time
//!    goes to the group that is owed most; of several, to the larger group; of several still, to the first
//!    in order. With equal blocks this is the method of largest remainder; with any sizes what one block could not
//!    give is owed by the next, so that at the end every group has exactly its size.
//! 4. **Order within a block.** A row with as many 0s as group 0 has places, then 1s, and so on, is shuffled by
//!    Fisher and Yates from the end (Durstenfeld 1964, Communications of the ACM 7:420): for i from the last
//!    index down to 1, j is drawn from 0 ..= i and the values at i and j change places. The unit at a place of
//!    the sorted row gets the group at that place.
//! 5. **Drawing j below n** (n = i + 1). A counter starts at 0 for the whole draw and runs on through all blocks.
//!    x = the first eight bytes, big end first, of SHA-256(seed ‖ counter as eight bytes, big end first); then the
//!    counter goes up by one. If x ≥ ⌊2⁶⁴ / n⌋ · n, x is thrown away and the next one is taken. j = x mod n.
//!
//! Blocks are drawn in order, smallest units first.
//!
//! # A worked example
//! Seed 00 01 02 … 1f; seven units b1 240 mm, b2 260, b3 220, b4 260, b5 300, b6 220, b7 280; groups of 4 and 3;
//! blocks of 4. Sorted: b3 b6 b1 b2 b4 b7 b5. N/t = 1.75, so two blocks, of 4 and 3 units. In the first, group 0 is
//! owed 16 and group 1 is owed 12 sevenths: places go to 0 (then owed 9), 1 (then owed 5), 0, 1: row 0 0 1 1.
//! x for counter 0 is a9d6e500293a88bd, mod 4 = 1: change places 3 and 1, row 0 1 1 0. Counter 1:
//! 6061c4386d7a1788, mod 3 = 1: places 2 and 1, no change to see. Counter 2: 7365a07b4571dc92, mod 2 = 0:
//! places 1 and 0, row 1 0 1 0. So b3 → 1, b6 → 0, b1 → 1, b2 → 0. In the second block both groups' debts give
//! 0 0 1; counter 3: 38050395e5666942, mod 3 = 1, row 0 1 0; counter 4: 7675097dad400719, mod 2 = 1, no change.
//! So b4 → 0, b7 → 1, b5 → 0. `tests/reference/blocks_1.py` does the same in some twenty lines of another language.

pub mod classes;

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};

use crate::{
    error::{Error, Result},
    refusal::TryRefusal,
};

/// The name under which a draw by this method is stored.
pub const METHOD: &str = "blocks/1";

/// Whether a stored method is one of drawing lots, so that chance alone decided who got what.
pub fn is_drawn(method: &str) -> bool {
    method == METHOD || method == classes::METHOD
}

/// One unit to draw lots for: a bulb or a container.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit<Id> {
    /// Its id; units of one size are ordered by it.
    pub id: Id,
    /// Its size in any one unit, for example circumference in mm.
    pub size: i64,
}

/// Where the lot put a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lot {
    /// Index of the block, 0 for the smallest units.
    pub block: usize,
    /// Index of the group in the order of the sizes asked for.
    pub group: usize,
}

/// A finished draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draw {
    lots: Vec<Lot>,
    quotas: Vec<Vec<usize>>,
}

impl Draw {
    /// The lot of every unit, in the order in which the units were given.
    pub fn lots(&self) -> &[Lot] {
        &self.lots
    }

    /// For every block, the places of every group.
    pub fn quotas(&self) -> &[Vec<usize>] {
        &self.quotas
    }

    /// How many draws were possible: the product over the blocks of n! ÷ (q₁! q₂! …). This is the set over which a
    /// permutation test runs. Stops at the greatest value of the type.
    pub fn orders(&self) -> u128 {
        self.quotas.iter().fold(1_u128, |product, quotas| product.saturating_mul(block_orders(quotas)))
    }
}

/// Draws lots by `blocks/1`; see the module for every byte.
///
/// # Errors
/// A sentence when there are fewer than two groups, an empty group, fewer units than groups, group sizes that do
/// not add up to the number of units, a unit given twice, or a block length below the number of groups.
///
/// # Whoever has the seed draws the same lots
/// ```
/// # use bloomdue_core::trial::lots::{Unit, draw};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let units: Vec<Unit<&str>> = [("b1", 240), ("b2", 260), ("b3", 220), ("b4", 260), ("b5", 300), ("b6", 220), ("b7", 280)]
///     .map(|(id, size)| Unit { id, size })
///     .to_vec();
/// let seed: [u8; 32] = std::array::from_fn(|at| at as u8);
/// let lots = draw(&seed, &units, &[4, 3], 4)?;
/// // The worked example of this module, in the order of the units.
/// let groups: Vec<usize> = lots.lots().iter().map(|lot| lot.group).collect();
/// assert_eq!(groups, [1, 0, 1, 0, 0, 0, 1]);
/// # Ok(())
/// # }
/// ```
pub fn draw<Id: AsRef<str>>(
    seed: &[u8; 32],
    units: &[Unit<Id>],
    groups: &[usize],
    block_length: usize,
) -> Result<Draw> {
    refuse(units.iter().map(|unit| unit.id.as_ref()), groups, block_length)?;
    let mut order: Vec<usize> = (0..units.len()).collect();
    order.sort_by_key(|&unit| (units[unit].size, units[unit].id.as_ref()));
    let quotas = quotas(&lengths(units.len(), groups.len(), block_length), groups);
    let mut stream = Stream { seed, counter: 0 };
    let mut lots = vec![Lot { block: 0, group: 0 }; units.len()];
    let mut sorted = order.into_iter();
    for (block, places) in quotas.iter().enumerate() {
        let row = stream.shuffled(places);
        for (group, unit) in row.into_iter().zip(&mut sorted) {
            lots[unit] = Lot { block, group };
        }
    }
    Ok(Draw { lots, quotas })
}

/// Everything that no method draws for.
fn refuse<'a>(units: impl ExactSizeIterator<Item = &'a str>, groups: &[usize], block_length: usize) -> Result<()> {
    let n_units = units.len();
    let total = groups.iter().fold(0_usize, |sum, &size| sum.saturating_add(size));
    let distinct: BTreeSet<&str> = units.collect();
    let why = if groups.len() < 2 {
        TryRefusal::NothingToDraw
    } else if n_units < groups.len() {
        TryRefusal::MoreGroupsThanBulbs(groups.len(), n_units)
    } else if let Some(empty) = groups.iter().position(|&size| size == 0) {
        TryRefusal::NoPlace(empty + 1)
    } else if total != n_units {
        TryRefusal::Places(total, n_units)
    } else if distinct.len() < n_units {
        TryRefusal::TwiceInList
    } else if block_length < groups.len() {
        TryRefusal::ShortClass(block_length, groups.len())
    } else {
        return Ok(());
    };
    Err(Error::new(why))
}

/// The lengths of the blocks; step 2.
fn lengths(units: usize, groups: usize, target: usize) -> Vec<usize> {
    let near = if target >= 2 * units { 0 } else { (2 * units + target) / (2 * target) };
    let blocks = near.min(units / groups).max(1);
    (0..blocks).map(|block| units / blocks + usize::from(block < units % blocks)).collect()
}

/// The places of every group in every block; step 3.
fn quotas(lengths: &[usize], groups: &[usize]) -> Vec<Vec<usize>> {
    let wide = |count: usize| count as i128;
    let units: usize = lengths.iter().sum();
    let mut given = vec![0_usize; groups.len()];
    let mut filled = 0;
    let mut all = Vec::with_capacity(lengths.len());
    for length in lengths {
        filled += length;
        let mut places = vec![0; groups.len()];
        for _ in 0..*length {
            let owed = |group: usize| wide(groups[group]) * wide(filled) - wide(units) * wide(given[group]);
            let most = (0..groups.len()).max_by_key(|&group| (owed(group), groups[group], std::cmp::Reverse(group)));
            let group = most.unwrap_or(0);
            given[group] += 1;
            places[group] += 1;
        }
        all.push(places);
    }
    all
}

/// The numbers drawn from a seed; step 5.
struct Stream<'a> {
    seed: &'a [u8; 32],
    counter: u64,
}

impl Stream<'_> {
    /// A number from 0 to `n` − 1, each equally likely; `n` is at least 1.
    fn below(&mut self, n: u64) -> u64 {
        // ⌊2⁶⁴ / n⌋ · n needs one bit more than x.
        let bound = (1_u128 << 64) / u128::from(n) * u128::from(n);
        loop {
            let hash = Sha256::new().chain_update(self.seed).chain_update(self.counter.to_be_bytes()).finalize();
            self.counter += 1;
            let x = hash.iter().take(8).fold(0_u64, |x, &byte| x << 8 | u64::from(byte));
            if u128::from(x) < bound {
                return x % n;
            }
        }
    }

    /// The groups of a block in random order; step 4.
    fn shuffled(&mut self, places: &[usize]) -> Vec<usize> {
        let mut row: Vec<usize> =
            places.iter().enumerate().flat_map(|(group, &count)| std::iter::repeat_n(group, count)).collect();
        for i in (1..row.len()).rev() {
            let j = self.below(i as u64 + 1) as usize;
            row.swap(i, j);
        }
        row
    }
}

/// The orders of one block, up to the greatest value of the type.
fn block_orders(quotas: &[usize]) -> u128 {
    let mut product = 1_u128;
    let mut placed = 0_u128;
    for &quota in quotas {
        for taken in 1..=quota as u128 {
            placed += 1;
            // Multiplying before dividing keeps every step a whole number.
            match product.checked_mul(placed) {
                Some(next) => product = next / taken,
                None => return u128::MAX,
            }
        }
    }
    product
}

/// What blocks of one length do for groups in a fixed ratio, when the number of units need not fill them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RatioPlan {
    /// Places of every group in a full block.
    pub per_block: Vec<usize>,
    /// Blocks that the units fill.
    pub full_blocks: usize,
    /// Units left over after the full blocks; they are drawn for as the start of one more block.
    pub left_over: usize,
    /// Size of every group in the full blocks together.
    pub in_full_blocks: Vec<usize>,
    /// The least that every group can get, units left over included.
    pub least: Vec<usize>,
    /// The most that every group can get, units left over included.
    pub most: Vec<usize>,
    /// The orders of one full block, up to the greatest value of the type.
    pub orders_per_block: u128,
    /// How far two equal groups can be apart in any prefix; nothing to say for other designs.
    pub most_apart: Option<usize>,
}

/// Plans full blocks of `block_length` for groups in the given ratio, and says what is left over.
///
/// # Errors
/// A sentence when there are fewer than two groups, a ratio has a zero, or blocks of this length cannot hold the ratio.
pub fn ratio_plan(units: usize, block_length: usize, ratio: &[usize]) -> Result<RatioPlan> {
    let parts = ratio.iter().fold(0_usize, |sum, &part| sum.saturating_add(part));
    if ratio.len() < 2 || ratio.contains(&0) {
        return Err(Error::new(TryRefusal::NoRatio));
    }
    if block_length == 0 || !block_length.is_multiple_of(parts) {
        return Err(Error::new(TryRefusal::BlockNotOfRatio(block_length, parts)));
    }
    let per_block: Vec<usize> = ratio.iter().map(|part| block_length / parts * part).collect();
    let (full_blocks, left_over) = (units / block_length, units % block_length);
    let in_full_blocks: Vec<usize> = per_block.iter().map(|quota| quota * full_blocks).collect();
    let extra = per_block.iter().zip(&in_full_blocks);
    let (least, most) = extra
        .map(|(&quota, &full)| {
            let others = block_length - quota;
            (full + left_over.saturating_sub(others), full + left_over.min(quota))
        })
        .unzip();
    let equal_pair = ratio.len() == 2 && ratio[0] == ratio[1];
    Ok(RatioPlan {
        orders_per_block: block_orders(&per_block),
        most_apart: equal_pair.then_some(block_length / 2),
        per_block,
        full_blocks,
        left_over,
        in_full_blocks,
        least,
        most,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    fn units(count: usize) -> Vec<Unit<String>> {
        (0..count).map(|u| Unit { id: format!("b{u:03}"), size: 200 + (u * 37 % 23) as i64 }).collect()
    }

    fn seed(n: u64) -> [u8; 32] {
        let mut seed = [0; 32];
        seed[..8].copy_from_slice(&n.to_le_bytes());
        seed
    }

    fn refusal(count: usize, groups: &[usize], block: usize) -> Refusal {
        draw(&seed(0), &units(count), groups, block).expect_err("refused").refusal
    }

    #[test]
    fn what_cannot_be_drawn_is_said() {
        assert_eq!(refusal(4, &[4], 4), TryRefusal::NothingToDraw.into());
        assert_eq!(refusal(1, &[1, 1], 4), TryRefusal::MoreGroupsThanBulbs(2, 1).into());
        assert_eq!(refusal(4, &[4, 0], 4), TryRefusal::NoPlace(2).into());
        assert_eq!(refusal(4, &[4, 1], 4), TryRefusal::Places(5, 4).into());
        assert_eq!(refusal(4, &[2, 2], 1), TryRefusal::ShortClass(1, 2).into());
        assert_eq!(refusal(4, &[usize::MAX, 2], 4), TryRefusal::Places(usize::MAX, 4).into());
        let twice = [units(1), units(1)].concat();
        assert!(draw(&seed(0), &twice, &[1, 1], 2).is_err());
        assert_eq!(ratio_plan(10, 5, &[1, 1]).err(), Some(Error::new(TryRefusal::BlockNotOfRatio(5, 2))));
        assert!(ratio_plan(10, 4, &[1, 0]).is_err() && ratio_plan(10, 0, &[1, 1]).is_err());
    }

    /// Upper 0.0001 points of chi-square: 5 degrees of freedom 25.74 (six orders), 35 degrees 75.1 (six by six).
    #[test]
    fn orders_are_equally_likely_and_blocks_independent() {
        let (mut first, mut both) = (BTreeMap::new(), BTreeMap::new());
        let mut at_place = [0_u32; 8];
        for n in 0..10_000 {
            let draw = draw(&seed(n), &units(8), &[4, 4], 4).expect("eight bulbs");
            let mut sorted: Vec<usize> = (0..8).collect();
            sorted.sort_by_key(|&unit| units(8)[unit].size);
            let row: Vec<usize> = sorted.iter().map(|&unit| draw.lots()[unit].group).collect();
            *first.entry(row[..4].to_vec()).or_insert(0_u32) += 1;
            *both.entry(row.clone()).or_insert(0_u32) += 1;
            for (count, group) in at_place.iter_mut().zip(row) {
                *count += group as u32;
            }
        }
        let chi = |counts: &BTreeMap<Vec<usize>, u32>| {
            let expected = 10_000.0 / counts.len() as f64;
            counts.values().map(|&count| (f64::from(count) - expected).powi(2) / expected).sum::<f64>()
        };
        assert_eq!((first.len(), both.len()), (6, 36));
        assert!(chi(&first) < 25.74, "{}", chi(&first));
        assert!(chi(&both) < 75.1, "{}", chi(&both));
        assert!(at_place.iter().all(|&count| (4_800..=5_200).contains(&count)), "{at_place:?}");
    }

    #[test]
    fn another_seed_gives_another_draw() {
        let all: BTreeSet<Vec<usize>> = (0..50)
            .map(|n| {
                let draw = draw(&seed(n), &units(24), &[12, 12], 8).expect("24 bulbs");
                draw.lots().iter().map(|lot| lot.group).collect()
            })
            .collect();
        assert_eq!(all.len(), 50);
    }

    #[test]
    fn the_number_of_draws_is_the_product_over_blocks() {
        let orders =
            |count, groups: &[usize], block| draw(&seed(1), &units(count), groups, block).expect("a draw").orders();
        assert_eq!(orders(6, &[3, 3], 6), 20);
        assert_eq!(orders(12, &[6, 6], 6), 400);
        assert_eq!(orders(9, &[1, 8], 9), 9);
        assert_eq!(orders(400, &[200, 200], 400), u128::MAX);
    }

    proptest! {
        #[test]
        fn every_draw_keeps_the_totals(
            groups in prop::collection::vec(1_usize..20, 2..6),
            block in 2_usize..30,
            n in any::<u64>(),
        ) {
            let count: usize = groups.iter().sum();
            let block = block.max(groups.len());
            let units = units(count);
            let done = draw(&seed(n), &units, &groups, block).expect("a draw");
            prop_assert_eq!(&done, &draw(&seed(n), &units, &groups, block).expect("the same draw"));
            for (group, &size) in groups.iter().enumerate() {
                prop_assert_eq!(done.lots().iter().filter(|lot| lot.group == group).count(), size);
            }
            let lengths: Vec<usize> = done.quotas().iter().map(|quotas| quotas.iter().sum()).collect();
            let (least, most) = (lengths.iter().min().copied(), lengths.iter().max().copied());
            prop_assert!(most.zip(least).is_some_and(|(most, least)| most - least <= 1 && least >= groups.len()));
            let mut filled = 0;
            let mut given = vec![0_usize; groups.len()];
            for (block, quotas) in done.quotas().iter().enumerate() {
                filled += lengths[block];
                for (group, &quota) in quotas.iter().enumerate() {
                    given[group] += quota;
                    let placed = done.lots().iter().filter(|lot| **lot == Lot { block, group }).count();
                    prop_assert_eq!(placed, quota);
                    prop_assert!(given[group] <= (groups[group] * filled).div_ceil(count));
                }
            }
            let blocks_by_size = |a: usize, b: usize| units[a].size >= units[b].size || done.lots()[a].block <= done.lots()[b].block;
            prop_assert!((0..count).all(|a| (0..count).all(|b| blocks_by_size(a, b))));
        }

        #[test]
        fn equal_blocks_hold_every_group_in_its_ratio(
            ratio in prop::collection::vec(1_usize..4, 2..4),
            times in 1_usize..3,
            blocks in 1_usize..6,
            n in any::<u64>(),
        ) {
            let length = times * ratio.iter().sum::<usize>();
            let plan = ratio_plan(length * blocks, length, &ratio).expect("a plan");
            let done = draw(&seed(n), &units(length * blocks), &plan.in_full_blocks, length).expect("a draw");
            prop_assert_eq!(done.quotas().len(), blocks);
            prop_assert!(done.quotas().iter().all(|quotas| *quotas == plan.per_block));
        }
    }
}
