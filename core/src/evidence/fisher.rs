//! Fisher's exact test for two shares, and its mid-p variants.
//!
//! Given both margins the count in group a is hypergeometric. One-sided: the probability of at least (at most) the
//! count seen. Two-sided: of all tables that are not more probable, with a relative slack of 1e-7 for ties. Mid-p: as
//! the two-sided one with the equally probable tables counted half (Irwin's order; Hirji 2006, *Exact Analysis of
//! Discrete Data*); doubled: twice the smaller one-sided mid-p. Fisher 1935, Journal of the Royal Statistical
//! Society 98:39. Right but wasteful for planned group sizes; mid-p can exceed α slightly.
//! With nobody, or everybody, or an empty group there is one table only, and p is 1.

use super::Share;
use super::tables::Row;

/// All p-values of Fisher's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fisher {
    /// All tables that are not more probable.
    pub two_sided: f64,
    /// At least as many in group a.
    pub a_greater: f64,
    /// At most as many in group a.
    pub a_less: f64,
    /// Two-sided, the equally probable tables counted half.
    pub mid_p: f64,
    /// Twice the smaller one-sided mid-p, at most 1.
    pub mid_p_doubled: f64,
}

/// The p-values for the counts seen; all 1 with a group empty.
pub fn test(a: Share, b: Share) -> Fisher {
    if a.of() == 0 || b.of() == 0 {
        return Fisher { two_sided: 1.0, a_greater: 1.0, a_less: 1.0, mid_p: 1.0, mid_p_doubled: 1.0 };
    }
    let row = Row::new(a.of(), b.of(), a.reached() + b.reached());
    let seen = row.index(a.reached());
    let a_greater = row.p[seen..].iter().rev().sum::<f64>().min(1.0);
    let a_less = row.p[..=seen].iter().sum::<f64>().min(1.0);
    let half = row.p[seen] / 2.0;
    let (two_sided, equal) = row.two_sided()[seen];
    Fisher {
        two_sided,
        a_greater,
        a_less,
        mid_p: (two_sided - equal / 2.0).clamp(0.0, 1.0),
        mid_p_doubled: (2.0 * (a_greater.min(a_less) - half)).clamp(0.0, 1.0),
    }
}

/// The two-sided p-value alone.
///
/// # All of four against none of four is 2 of 70 tables
/// ```
/// # use bloomdue_core::evidence::{Share, fisher};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let p = fisher::two_sided(Share::new(4, 4)?, Share::new(0, 4)?);
/// assert!((p - 2.0 / 70.0).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn two_sided(a: Share, b: Share) -> f64 {
    test(a, b).two_sided
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(reached: u32, of: u32) -> Share {
        Share::new(reached, of).expect("a share")
    }

    /// The lady tasting tea, 3 of 4 against 1 of 4: 17/70 and 34/70 (Fisher 1935, *The Design of Experiments*).
    #[test]
    fn the_lady_tasting_tea() {
        let test = test(share(3, 4), share(1, 4));
        assert!((test.a_greater - 17.0 / 70.0).abs() < 1e-15);
        assert!((test.two_sided - 34.0 / 70.0).abs() < 1e-15);
    }

    #[test]
    fn one_table_only_means_nothing_to_say() {
        for (a, b) in [(share(0, 5), share(0, 5)), (share(5, 5), share(7, 7))] {
            let test = test(a, b);
            assert_eq!((test.two_sided, test.a_greater, test.a_less, test.mid_p_doubled), (1.0, 1.0, 1.0, 1.0));
            assert_eq!(test.mid_p, 0.5);
        }
        assert_eq!(test(share(0, 0), share(3, 5)).mid_p, 1.0);
    }

    #[test]
    fn a_hundred_thousand_bulbs() {
        let test = test(share(50_000, 100_000), share(50_500, 100_000));
        // Normal approximation with continuity correction: z = 499/√(200000·½·½·…) ≈ 2.23.
        assert!((test.two_sided - 0.0256).abs() < 0.0005, "{}", test.two_sided);
    }
}
