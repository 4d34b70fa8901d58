//! Drawing lots within cultivar and size class: the method `blocks/2`, stored by name with every draw since.
//!
//! [`blocks/1`](super) cut all units by size alone, wherever their number said, so that bulbs of one size could stand on
//! both sides of a cut and a group could get most of one cultivar. What was drawn by it stays drawn by it.
//!
//! # The method, byte by byte
//! Given are a seed of 32 bytes, N units (each an id, the name of its cultivar, which may be empty, and a size), the
//! sizes S of k groups in the grower's order with sum N, and the length t that a class should have.
//!
//! 1. **Kinds.** Units whose cultivar has the same name, byte by byte, are a kind. Units without a name are the *mixed*
//!    kind, and every kind of fewer than k units is put with them. If the mixed kind then has units, but fewer than k,
//!    and another kind is left, the kind of fewest units is put with it; of several, the first by the bytes of its name.
//! 2. **Order.** Kinds stand by the bytes of their names, the mixed one last. In a kind, units are sorted by size,
//!    smallest first, then by the bytes of their id.
//! 3. **Classes.** The row of a kind is cut from its start, never between units of one size. With n units in the class
//!    so far and m of the next size: where n ≥ k and |n + m − t| > |n − t|, the class ends before them. A last class of
//!    fewer than k units is put with the one before it, where there is one.
//! 4. **Quotas**, **order within a class** and **drawing a number** are steps 3, 4 and 5 of `blocks/1` with these
//!    classes as the blocks, in this order; what one class could not give a group is owed by the next, over kinds too.
//!
//! Every class has room for every group, unless there are fewer units than groups, which is refused.
//!
//! # A worked example
//! Seed 00 01 02 … 1f; groups of 5 and 5; classes of 4; ten units: Red b1 260 mm, b3 220, b4 260, b5 300, b7 280; White
//! b2 240, b6 220, ba 240; Candy b8 250; b9 without cultivar or size (0). Candy has one unit and joins the mixed kind.
//! Red is b3 b1 b4 b7 b5: after b7 there are 4, and with b5 there would be 5, further from 4, so the class ends; but b5
//! alone is fewer than 2 and comes back to it. So the classes are b3 b1 b4 b7 b5, b6 b2 ba and b9 b8, with places 3 + 2,
//! 1 + 2 and 1 + 1. First row 0 0 0 1 1: x for counter 0 is a9d6e500293a88bd, mod 5 = 1: change places 4 and 1, row
//! 0 1 0 1 0. Counter 1: 6061c4386d7a1788, mod 4 = 0: places 3 and 0, row 1 1 0 0 0. Counter 2: 7365a07b4571dc92, mod 3 =
//! 0: places 2 and 0, row 0 1 1 0 0. Counter 3: 38050395e5666942, mod 2 = 0: places 1 and 0, row 1 0 1 0 0. So b3 → 1,
//! b1 → 0, b4 → 1, b7 → 0, b5 → 0. Second row 0 1 1: counter 4 gives mod 3 = 2 and counter 5 mod 2 = 1, no change: b6 → 0,
//! b2 → 1, ba → 1. Third row 0 1: counter 6, mod 2 = 1, no change: b9 → 0, b8 → 1. `tests/reference/blocks_2.py` does the
//! same in another language.

use std::collections::BTreeMap;

use super::{Draw, Lot, Stream, quotas, refuse};
use crate::error::Result;

/// The name under which a draw by this method is stored.
pub const METHOD: &str = "blocks/2";

/// One unit to draw lots for: a bulb or a container.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit<Id> {
    /// Its id; units of one size are ordered by it.
    pub id: Id,
    /// The name of its cultivar; empty where it is not known, or there are several in one container.
    pub cultivar: String,
    /// Its size in any one unit, for example circumference in mm; 0 where it was never measured.
    pub size: i64,
}

/// The units of one cultivar and size class.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// The cultivar; empty where there are several, or it is not known.
    pub cultivar: String,
    /// Its units, smallest first, by where they stand in the list given.
    pub units: Vec<usize>,
}

/// A finished draw with its classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InClasses {
    /// Who got what; its blocks are the classes.
    pub draw: Draw,
    /// The classes, in the order drawn.
    pub classes: Vec<Class>,
}

/// The classes that units would be drawn in for so many groups: steps 1 to 3, which need no seed.
pub fn classes<Id: AsRef<str>>(units: &[Unit<Id>], n_groups: usize, class_length: usize) -> Vec<Class> {
    let least = n_groups.max(1);
    kinds(units, least).into_iter().flat_map(|kind| cut(units, kind, least, class_length)).collect()
}

/// For every class, the places of every group: step 4 without a seed.
pub fn places(classes: &[Class], groups: &[usize]) -> Vec<Vec<usize>> {
    let lengths: Vec<usize> = classes.iter().map(|class| class.units.len()).collect();
    quotas(&lengths, groups)
}

/// Draws lots by `blocks/2`; see the module for every byte.
///
/// # Errors
/// A sentence when there are fewer than two groups, an empty group, fewer units than groups, group sizes that do
/// not add up to the number of units, a unit given twice, or a class length below the number of groups.
///
/// # Each cultivar is shared out
/// ```
/// # use bloomdue_core::trial::lots::classes::{Unit, draw};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let unit = |n: usize| Unit { id: format!("b{n}"), cultivar: ["Candy", "Red"][n % 2].to_owned(), size: 260 };
/// let units: Vec<_> = (0..16).map(unit).collect();
/// let drawn = draw(&[7; 32], &units, &[8, 8], 8)?;
/// assert_eq!(drawn.classes.len(), 2);
/// // Four of each cultivar in each group, whatever the seed.
/// assert_eq!(drawn.draw.quotas(), [[4, 4], [4, 4]]);
/// # Ok(())
/// # }
/// ```
pub fn draw<Id: AsRef<str>>(
    seed: &[u8; 32],
    units: &[Unit<Id>],
    groups: &[usize],
    class_length: usize,
) -> Result<InClasses> {
    refuse(units.iter().map(|unit| unit.id.as_ref()), groups, class_length)?;
    let classes = classes(units, groups.len(), class_length);
    let quotas = places(&classes, groups);
    let mut stream = Stream { seed, counter: 0 };
    let mut lots = vec![Lot { block: 0, group: 0 }; units.len()];
    for (block, (class, places)) in classes.iter().zip(&quotas).enumerate() {
        for (group, unit) in stream.shuffled(places).into_iter().zip(&class.units) {
            lots[*unit] = Lot { block, group };
        }
    }
    Ok(InClasses { draw: Draw { lots, quotas }, classes })
}

/// The units of each kind; step 1.
fn kinds<Id>(units: &[Unit<Id>], least: usize) -> Vec<Class> {
    let mut named: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, unit) in units.iter().enumerate() {
        named.entry(&unit.cultivar).or_default().push(at);
    }
    let mut mixed = named.remove("").unwrap_or_default();
    named.retain(|_, units| {
        let stays = units.len() >= least;
        if !stays {
            mixed.append(units);
        }
        stays
    });
    if !mixed.is_empty() && mixed.len() < least {
        let smallest = named.iter().min_by_key(|(name, units)| (units.len(), **name)).map(|(name, _)| *name);
        mixed.extend(smallest.and_then(|name| named.remove(name)).unwrap_or_default());
    }
    let named = named.into_iter().map(|(name, units)| Class { cultivar: name.to_owned(), units });
    let mixed = (!mixed.is_empty()).then_some(Class { cultivar: String::new(), units: mixed });
    named.chain(mixed).collect()
}

/// The size classes of one kind; steps 2 and 3.
fn cut<Id: AsRef<str>>(units: &[Unit<Id>], kind: Class, least: usize, class_length: usize) -> Vec<Class> {
    let mut row = kind.units;
    row.sort_by_key(|&at| (units[at].size, units[at].id.as_ref()));
    let mut cut: Vec<Vec<usize>> = Vec::new();
    for size in row.chunk_by(|a, b| units[*a].size == units[*b].size) {
        match cut.last_mut() {
            Some(class) if !ends_before(class.len(), size.len(), least, class_length) => class.extend(size),
            _ => cut.push(size.to_vec()),
        }
    }
    if cut.last().is_some_and(|last| last.len() < least) && cut.len() > 1 {
        let last = cut.pop().unwrap_or_default();
        if let Some(before) = cut.last_mut() {
            before.extend(last);
        }
    }
    cut.into_iter().map(|units| Class { cultivar: kind.cultivar.clone(), units }).collect()
}

/// Whether a class of `n` units is closer to its length without the next `m`.
fn ends_before(n: usize, m: usize, least: usize, class_length: usize) -> bool {
    n >= least && (n + m).abs_diff(class_length) > n.abs_diff(class_length)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;
    use crate::{error::Refusal, refusal::TryRefusal};

    fn unit(id: &str, cultivar: &str, size: i64) -> Unit<String> {
        Unit { id: id.to_owned(), cultivar: cultivar.to_owned(), size }
    }

    fn worked() -> Vec<Unit<String>> {
        let red = [("b1", 260), ("b3", 220), ("b4", 260), ("b5", 300), ("b7", 280)];
        let white = [("b2", 240), ("b6", 220), ("ba", 240)];
        let red = red.iter().map(|(id, mm)| unit(id, "Red", *mm));
        let white = white.iter().map(|(id, mm)| unit(id, "White", *mm));
        red.chain(white).chain([unit("b8", "Candy", 250), unit("b9", "", 0)]).collect()
    }

    /// The worked example of this module, which stands for ever: the same seed gives the same groups.
    #[test]
    fn the_worked_example_is_what_it_says() {
        let seed: [u8; 32] = std::array::from_fn(|at| at as u8);
        let units = worked();
        let drawn = draw(&seed, &units, &[5, 5], 4).expect("a draw");
        let of = |class: &Class| -> Vec<(&str, usize)> {
            class.units.iter().map(|&at| (units[at].id.as_str(), drawn.draw.lots()[at].group)).collect()
        };
        let all: Vec<_> = drawn.classes.iter().map(|class| (class.cultivar.as_str(), of(class))).collect();
        assert_eq!(
            all,
            [
                ("Red", vec![("b3", 1), ("b1", 0), ("b4", 1), ("b7", 0), ("b5", 0)]),
                ("White", vec![("b6", 0), ("b2", 1), ("ba", 1)]),
                ("", vec![("b9", 0), ("b8", 1)]),
            ]
        );
    }

    #[test]
    fn what_cannot_be_drawn_is_said() {
        let refusal = |n: usize, groups: &[usize], length: usize| -> Refusal {
            draw(&[0; 32], &worked()[..n], groups, length).expect_err("refused").refusal
        };
        assert_eq!(refusal(4, &[4], 4), TryRefusal::NothingToDraw.into());
        assert_eq!(refusal(4, &[4, 1], 4), TryRefusal::Places(5, 4).into());
        assert_eq!(refusal(4, &[2, 2], 1), TryRefusal::ShortClass(1, 2).into());
    }

    /// One odd bulb could go nowhere by lot; it brings the smallest other kind with it.
    #[test]
    fn a_kind_too_small_for_every_group_is_mixed_with_others() {
        let mut units: Vec<_> = (0..6).map(|n| unit(&format!("r{n}"), "Red", 250)).collect();
        units.extend((0..3).map(|n| unit(&format!("b{n}"), "Blue", 250)));
        units.push(unit("w", "White", 250));
        let names = |units: &[Unit<String>]| -> Vec<(String, usize)> {
            classes(units, 2, 8).into_iter().map(|class| (class.cultivar, class.units.len())).collect()
        };
        assert_eq!(names(&units), [("Red".to_owned(), 6), (String::new(), 4)]);
        assert_eq!(names(&units[..9]), [("Blue".to_owned(), 3), ("Red".to_owned(), 6)]);
        assert_eq!(names(&units[6..]), [(String::new(), 4)]);
    }

    /// Every row that a class can get: which of its units are in the first of two groups.
    fn rows(n: usize, in_first: usize) -> Vec<Vec<bool>> {
        let all = (0..1_usize << n).filter(|bits| bits.count_ones() as usize == in_first);
        all.map(|bits| (0..n).map(|at| bits >> at & 1 == 1).collect()).collect()
    }

    fn any_units() -> impl Strategy<Value = Vec<Unit<String>>> {
        let one = (0..4_usize, 0..12_i64);
        prop::collection::vec(one, 2..60).prop_map(|all| {
            let of = |(at, (name, size)): (usize, (usize, i64))| {
                unit(&format!("b{at:03}"), ["", "Red", "White", "Candy"][name], 200 + size)
            };
            all.into_iter().enumerate().map(of).collect()
        })
    }

    proptest! {
        #[test]
        fn every_draw_keeps_its_promises(
            units in any_units(),
            n_groups in 2..5_usize,
            length in 2..20_usize,
            seed in any::<[u8; 32]>(),
        ) {
            prop_assume!(units.len() >= n_groups);
            let length = length.max(n_groups);
            let groups: Vec<usize> = crate::trial::choose::even_sizes(units.len(), n_groups);
            let drawn = draw(&seed, &units, &groups, length).expect("a draw");
            let lots = drawn.draw.lots();
            for (group, size) in groups.iter().enumerate() {
                prop_assert_eq!(lots.iter().filter(|lot| lot.group == group).count(), *size);
            }
            let mut seen = BTreeSet::new();
            let mut sizes: BTreeSet<(&str, i64)> = BTreeSet::new();
            for (block, class) in drawn.classes.iter().enumerate() {
                prop_assert!(class.units.len() >= n_groups);
                prop_assert!(class.units.iter().all(|&at| seen.insert(at) && lots[at].block == block));
                if !class.cultivar.is_empty() {
                    prop_assert!(class.units.iter().all(|&at| units[at].cultivar == class.cultivar));
                }
                // No size of a kind stands in two classes.
                let own: BTreeSet<i64> = class.units.iter().map(|&at| units[at].size).collect();
                prop_assert!(own.into_iter().all(|size| sizes.insert((&class.cultivar, size))));
                // No group is two places away from its part of a class.
                for (group, size) in groups.iter().enumerate() {
                    let got = drawn.draw.quotas()[block][group] as f64;
                    let part = (class.units.len() * size) as f64 / units.len() as f64;
                    prop_assert!((got - part).abs() < 2.0, "{got} of {part}");
                }
            }
            prop_assert_eq!(seen.len(), units.len());
        }

        /// In which order units are named says nothing of what they get.
        #[test]
        fn the_order_in_which_units_are_given_plays_no_part(
            (units, turned) in any_units().prop_flat_map(|units| (Just(units.clone()), Just(units).prop_shuffle())),
            seed in any::<[u8; 32]>(),
        ) {
            let groups = crate::trial::choose::even_sizes(units.len(), 2);
            let of = |units: &[Unit<String>]| -> BTreeMap<String, Lot> {
                let drawn = draw(&seed, units, &groups, 8).expect("a draw");
                units.iter().map(|unit| unit.id.clone()).zip(drawn.draw.lots().iter().copied()).collect()
            };
            prop_assert_eq!(of(&units), of(&turned));
        }

        /// The test of a try asks over the draws that this method could have made: counting all 60 of the worked example
        /// by hand gives its p, whatever came out.
        #[test]
        fn the_exact_test_counts_the_draws_of_this_method(seed in any::<[u8; 32]>(), came_out in 0..1_usize << 10) {
            use crate::evidence::{Share, exact_conditional::two_sided, strata::Stratum};
            let units = worked();
            let drawn = draw(&seed, &units, &[5, 5], 4).expect("a draw");
            let reached = |at: usize| came_out >> at & 1 == 1;
            let mut ways = BTreeMap::from([(0, 1_u64)]);
            for (class, places) in drawn.classes.iter().zip(drawn.draw.quotas()) {
                let mut next = BTreeMap::new();
                for row in rows(class.units.len(), places[0]) {
                    let n = class.units.iter().zip(row).filter(|(at, first)| *first && reached(**at)).count();
                    for (sum, count) in &ways {
                        *next.entry(sum + n).or_insert(0) += count;
                    }
                }
                ways = next;
            }
            let all: u64 = ways.values().sum();
            prop_assert_eq!((all, drawn.draw.orders()), (60, 60));
            let in_first = |at: usize| drawn.draw.lots()[at].group == 0;
            let seen = (0..units.len()).filter(|at| in_first(*at) && reached(*at)).count();
            let p = ways.values().filter(|count| **count <= ways[&seen]).sum::<u64>() as f64 / all as f64;
            let strata: Vec<Stratum> = drawn
                .classes
                .iter()
                .map(|class| {
                    let of = |first: bool| {
                        let own: Vec<usize> = class.units.iter().copied().filter(|at| in_first(*at) == first).collect();
                        let n = own.iter().filter(|at| reached(**at)).count();
                        Share::new(n as u32, own.len() as u32).expect("a share")
                    };
                    Stratum { a: of(true), b: of(false) }
                })
                .collect();
            prop_assert!((two_sided(&strata).expect("a test").p - p).abs() < 1e-12);
        }

        /// A record keeps of every class its name alone; that is enough to find the same classes again.
        #[test]
        fn classes_are_found_again_from_their_names(units in any_units(), n_groups in 2..5_usize) {
            prop_assume!(units.len() >= n_groups);
            let found = classes(&units, n_groups, 4 * n_groups);
            let mut kept = units.clone();
            for class in &found {
                class.units.iter().for_each(|&at| kept[at].cultivar.clone_from(&class.cultivar));
            }
            prop_assert_eq!(classes(&kept, n_groups, 4 * n_groups), found);
        }
    }
}
