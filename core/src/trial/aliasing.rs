//! Design check: which factors can be told apart at all.
//!
//! The main-effects design has a constant and, for every factor, one column a declared level but the first; one row a
//! group. A factor is estimable when leaving it out lowers the rank by its levels less one, and two factors are aliased
//! when together they span less than each alone would let expect: then a difference between groups is the bundle of
//! both. Rank by elimination over whole numbers. Kempthorne 1952, *The Design and Analysis of Experiments*, ch. 6.

use crate::{
    error::{Error, Result},
    refusal::TryRefusal,
};

/// A factor with its declared levels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Factor<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its levels, at least one.
    pub levels: Vec<&'a str>,
}

/// What the design can tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aliasing {
    /// Rank of the design.
    pub rank: usize,
    /// Columns of the design.
    pub columns: usize,
    /// For every factor, whether its effect can be told from the others.
    pub estimable: Vec<bool>,
    /// Pairs of factors, by index, that change together.
    pub aliased: Vec<(usize, usize)>,
}

/// Checks the design of some groups, each with one level a factor in the order of the factors.
///
/// # Errors
/// When a factor has no level, or a group names a level that was not declared.
pub fn check(factors: &[Factor<'_>], groups: &[Vec<&str>]) -> Result<Aliasing> {
    let mut coded = vec![Vec::with_capacity(factors.len()); groups.len()];
    for (index, factor) in factors.iter().enumerate() {
        if factor.levels.is_empty() {
            return Err(Error::new(TryRefusal::NoLevel(factor.name.to_owned())));
        }
        for (row, group) in coded.iter_mut().zip(groups) {
            let level = group.get(index).and_then(|level| factor.levels.iter().position(|known| known == level));
            row.push(level.ok_or_else(|| Error::new(TryRefusal::UnknownLevel(factor.name.to_owned())))?);
        }
    }
    let design = Design { levels: factors.iter().map(|factor| factor.levels.len()).collect(), groups: coded };
    let all: Vec<usize> = (0..factors.len()).collect();
    let rank = design.rank(&all);
    let without =
        |left_out: usize| -> Vec<usize> { all.iter().copied().filter(|&factor| factor != left_out).collect() };
    let estimable =
        all.iter().map(|&factor| design.rank(&without(factor)) + design.levels[factor] - 1 == rank).collect();
    let pairs = all.iter().flat_map(|&a| (a + 1..all.len()).map(move |b| (a, b)));
    let aliased = pairs.filter(|&(a, b)| design.rank(&[a, b]) + 1 < design.rank(&[a]) + design.rank(&[b])).collect();
    Ok(Aliasing { rank, columns: 1 + design.levels.iter().map(|levels| levels - 1).sum::<usize>(), estimable, aliased })
}

struct Design {
    levels: Vec<usize>,
    /// The level of every factor, group by group.
    groups: Vec<Vec<usize>>,
}

impl Design {
    /// The rank of the constant and the columns of some factors.
    fn rank(&self, factors: &[usize]) -> usize {
        let rows = self.groups.iter().map(|group| {
            let columns = factors
                .iter()
                .flat_map(|&factor| (1..self.levels[factor]).map(move |level| i128::from(group[factor] == level)));
            std::iter::once(1).chain(columns).collect()
        });
        rank(rows.collect())
    }
}

/// The rank of a matrix of small whole numbers, by elimination with every row cut down by its greatest divisor.
fn rank(mut rows: Vec<Vec<i128>>) -> usize {
    let width = rows.first().map_or(0, Vec::len);
    let mut rank = 0;
    for column in 0..width {
        let Some(pivot) = (rank..rows.len()).find(|&row| rows[row][column] != 0) else {
            continue;
        };
        rows.swap(rank, pivot);
        let (above, below) = rows.split_at_mut(rank + 1);
        let lead = &above[rank];
        for row in below.iter_mut().filter(|row| row[column] != 0) {
            let (own, other) = (row[column], lead[column]);
            for (value, lead) in row.iter_mut().zip(lead) {
                *value = *value * other - lead * own;
            }
            let divisor = row.iter().fold(0, |divisor, &value| greatest_divisor(divisor, value)).max(1);
            row.iter_mut().for_each(|value| *value /= divisor);
        }
        rank += 1;
    }
    rank
}

fn greatest_divisor(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor<'a>(name: &'a str, levels: &[&'a str]) -> Factor<'a> {
        Factor { name, levels: levels.to_vec() }
    }

    #[test]
    fn one_factor_hidden_in_another() {
        let factors = [factor("weeks", &["6", "8", "10"]), factor("place", &["cellar", "bench"])];
        let groups = [vec!["6", "cellar"], vec!["8", "cellar"], vec!["10", "bench"]];
        let found = check(&factors, &groups).expect("a design");
        assert_eq!((found.rank, found.columns), (3, 4));
        assert_eq!(found.estimable, [false, false]);
        assert_eq!(found.aliased, [(0, 1)]);
    }

    #[test]
    fn a_level_that_no_group_has_is_not_aliasing() {
        let factors = [factor("mix", &["peat", "bark", "coir"]), factor("place", &["cellar", "bench"])];
        let groups = [vec!["peat", "cellar"], vec!["peat", "bench"], vec!["bark", "cellar"], vec!["bark", "bench"]];
        let found = check(&factors, &groups).expect("a design");
        assert_eq!(found.estimable, [false, true]);
        assert!(found.aliased.is_empty());
    }

    #[test]
    fn three_factors_in_four_groups_are_told_apart() {
        let two = ["0", "1"];
        let factors = [factor("a", &two), factor("b", &two), factor("c", &two)];
        let groups = [vec!["0", "0", "0"], vec!["0", "1", "1"], vec!["1", "0", "1"], vec!["1", "1", "0"]];
        let found = check(&factors, &groups).expect("a design");
        assert_eq!((found.rank, found.estimable), (4, vec![true; 3]));
    }

    #[test]
    fn what_is_not_declared_is_refused() {
        let factors = [factor("place", &["cellar"])];
        let unknown = Error::new(TryRefusal::UnknownLevel("place".to_owned()));
        assert_eq!(check(&factors, &[vec!["bench"]]).err(), Some(unknown));
        assert!(check(&factors, &[vec![]]).is_err());
        assert!(check(&[factor("place", &[])], &[]).is_err());
        assert_eq!(check(&factors, &[]).expect("no groups").rank, 0);
    }
}
