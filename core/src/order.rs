//! Sorting in little code, for the many places that sort a few things.
//!
//! The library's sorts are built anew for every type and every comparison, some five kilobytes each; together they were
//! a tenth of the program. Here one merge sort over places serves all. Where thousands of numbers are sorted over and
//! over (`evidence`, `forecast`), the library's sorts stay.

use std::{
    cmp::Ordering,
    collections::{BTreeMap, BTreeSet},
};

/// Slices put in order; what is equal stays in the order it came in.
pub trait Order<T> {
    /// By a comparison.
    fn order_by(&mut self, compare: impl FnMut(&T, &T) -> Ordering);

    /// By a key.
    fn order_by_key<K: Ord>(&mut self, mut key: impl FnMut(&T) -> K) {
        self.order_by(|a, b| key(a).cmp(&key(b)));
    }

    /// By itself.
    fn order(&mut self)
    where
        T: Ord,
    {
        self.order_by(T::cmp);
    }
}

impl<T> Order<T> for [T] {
    fn order_by(&mut self, mut compare: impl FnMut(&T, &T) -> Ordering) {
        let mut places = places(self.len(), &mut |a, b| {
            compare(&self[a], &self[b]) == Ordering::Less
        });
        rearrange(&mut places, &mut |a, b| self.swap(a, b));
    }
}

/// A set of these, put in one by one: collecting sorts first.
pub fn set_of<T: Ord>(items: impl IntoIterator<Item = T>) -> BTreeSet<T> {
    let mut set = BTreeSet::new();
    items.into_iter().for_each(|item| {
        set.insert(item);
    });
    set
}

/// A map of these, put in one by one: collecting sorts first. Of equal keys the last one counts.
pub fn map_of<K: Ord, V>(items: impl IntoIterator<Item = (K, V)>) -> BTreeMap<K, V> {
    let mut map = BTreeMap::new();
    items.into_iter().for_each(|(key, value)| {
        map.insert(key, value);
    });
    map
}

/// Which of `n` things stands at each place when they are in order: merge sort from runs of one upwards.
fn places(n: usize, before: &mut dyn FnMut(usize, usize) -> bool) -> Vec<usize> {
    let mut places: Vec<usize> = (0..n).collect();
    if (1..n).all(|at| !before(at, at - 1)) {
        return places;
    }
    let mut merged = places.clone();
    let mut run = 1;
    while run < n {
        for start in (0..n).step_by(2 * run) {
            let (middle, end) = ((start + run).min(n), (start + 2 * run).min(n));
            let (mut left, mut right) = (start, middle);
            for to in &mut merged[start..end] {
                let take_right =
                    left == middle || right < end && before(places[right], places[left]);
                let from = if take_right { &mut right } else { &mut left };
                *to = places[*from];
                *from += 1;
            }
        }
        std::mem::swap(&mut places, &mut merged);
        run *= 2;
    }
    places
}

/// Brings things to their places by exchanging two at a time.
fn rearrange(places: &mut [usize], exchange: &mut dyn FnMut(usize, usize)) {
    for start in 0..places.len() {
        let mut at = start;
        while places[at] != start {
            let from = places[at];
            exchange(at, from);
            places[at] = at;
            at = from;
        }
        places[at] = at;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::random::Random;

    /// The same as the library's stable sort, equal ones included.
    #[test]
    fn it_is_the_order_of_a_stable_sort() {
        let mut random = Random::new(7);
        for n in (0..70).chain([1000]) {
            for kinds in [1.0, 3.0, 1e6] {
                let things: Vec<(u32, usize)> = (0..n)
                    .map(|nth| ((random.unit() * kinds) as u32, nth))
                    .collect();
                let (mut ours, mut theirs) = (things.clone(), things.clone());
                ours.order_by_key(|(key, _)| *key);
                theirs.sort_by_key(|(key, _)| *key);
                assert_eq!(ours, theirs);
                ours.reverse();
                ours.order_by(|a, b| b.0.cmp(&a.0));
                theirs.reverse();
                theirs.sort_by_key(|b| std::cmp::Reverse(b.0));
                assert_eq!(ours, theirs);
                ours.order();
                assert_eq!(
                    ours.as_slice(),
                    BTreeSet::from_iter(things.clone())
                        .into_iter()
                        .collect::<Vec<_>>()
                );
                assert_eq!(map_of(things.clone()), BTreeMap::from_iter(things.clone()));
                assert_eq!(set_of(things.clone()), BTreeSet::from_iter(things));
            }
        }
    }
}
