//! Boschloo's unconditional test for two shares: the test of one try without blocks.
//!
//! Fisher's p-value is the statistic; the p-value is the largest probability, over the common share, of the tables
//! whose Fisher p is at most the one seen. It is never larger than Fisher's and keeps α. Two conventions for two
//! sides are in use, so both are named: the two-sided Fisher p as the statistic (this one decides), or twice the smaller
//! one-sided Boschloo p. Boschloo 1970, Statistica Neerlandica 24:1; compared by Mehrotra, Chan & Berger 2003,
//! Biometrics 59:441. With an empty group p is 1.

use super::tables::{Row, SAME_P, countable, largest_of, rows};
use super::{How, Share, Tested, fisher};

/// The p-values of Boschloo's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boschloo {
    /// The two-sided Fisher p as the statistic.
    pub fisher_ordering: f64,
    /// Twice the smaller one-sided p, at most 1.
    pub doubled: f64,
    /// The one-sided Fisher p for more in group a as the statistic.
    pub a_greater: f64,
    /// The one-sided Fisher p for fewer in group a as the statistic.
    pub a_less: f64,
}

/// All four p-values; nothing when there are more than [`super::MOST_STATES`] tables.
pub fn all(a: Share, b: Share) -> Option<Boschloo> {
    if a.of() == 0 || b.of() == 0 {
        return Some(Boschloo { fisher_ordering: 1.0, doubled: 1.0, a_greater: 1.0, a_less: 1.0 });
    }
    let rows = countable(a, b).then(|| rows(a.of(), b.of()))?;
    let a_greater = ordered(&rows, a, b, Row::upper);
    let a_less = ordered(&rows, a, b, Row::lower);
    Some(Boschloo {
        fisher_ordering: ordered(&rows, a, b, two_sided_of),
        doubled: (2.0 * a_greater.min(a_less)).min(1.0),
        a_greater,
        a_less,
    })
}

/// The two-sided p-value with the two-sided Fisher p as the statistic, or Fisher's mid-p where there are too many tables.
pub fn two_sided(a: Share, b: Share) -> Tested {
    if a.of() == 0 || b.of() == 0 {
        return Tested { p: 1.0, how: How::Exact };
    }
    if !countable(a, b) {
        return Tested { p: fisher::test(a, b).mid_p, how: How::FisherMidP };
    }
    let p = ordered(&rows(a.of(), b.of()), a, b, two_sided_of);
    Tested { p, how: How::Exact }
}

/// The two-sided Fisher p of every table of a row.
pub(super) fn two_sided_of(row: &Row) -> Vec<f64> {
    row.two_sided().into_iter().map(|(p, _)| p).collect()
}

/// The largest probability of the tables whose statistic is at most that of the table seen.
fn ordered(rows: &[Row], a: Share, b: Share, statistic: impl Fn(&Row) -> Vec<f64>) -> f64 {
    let all: Vec<Vec<f64>> = rows.iter().map(statistic).collect();
    let total = (a.reached() + b.reached()) as usize;
    let seen = all[total][rows[total].index(a.reached())] * (1.0 + SAME_P);
    largest_of(rows, |total, x| {
        let total = total as usize;
        all[total][rows[total].index(x)] <= seen
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn never_larger_than_fisher() {
        for (in_a, in_b) in [(5, 5), (4, 9), (8, 7)] {
            for x_a in 0..=in_a {
                for x_b in 0..=in_b {
                    let (a, b) = (Share::new(x_a, in_a).expect("a"), Share::new(x_b, in_b).expect("b"));
                    let (all, fisher) = (all(a, b).expect("few tables"), fisher::test(a, b));
                    assert!(all.fisher_ordering <= fisher.two_sided + 1e-12);
                    assert!(all.a_greater <= fisher.a_greater + 1e-12);
                    assert!(all.a_less <= fisher.a_less + 1e-12);
                    let mirrored = super::all(b, a).expect("few tables");
                    assert!((all.a_greater - mirrored.a_less).abs() < 1e-8);
                    assert!((all.fisher_ordering - mirrored.fisher_ordering).abs() < 1e-8);
                }
            }
        }
    }
}
