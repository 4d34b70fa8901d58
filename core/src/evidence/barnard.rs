//! Barnard's unconditional test for two shares, ordered by the pooled Z.
//!
//! Z = (pₐ − p_b) ÷ √(p(1−p)(1/nₐ + 1/n_b)) with p over both groups; 0 with nobody or everybody. p-value: the largest
//! probability, over the common share, of the tables whose Z is at least as far out. Statistics are compared as
//! integers, d² m₀(N−m₀) ≥ d₀² m(N−m) with d = xₐn_b − x_bnₐ, so that tied tables are never lost. Barnard 1945, Nature
//! 156:177; the pooled Z and the supremum: Suissa & Shuster 1985, Journal of the Royal Statistical Society A 148:317.

use super::tables::{Row, countable, largest_of, rows};
use super::{How, Share, Tested, fisher};

/// The p-values of Barnard's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Barnard {
    /// |Z| at least as large.
    pub two_sided: f64,
    /// Z at least as large.
    pub a_greater: f64,
    /// Z at most as large.
    pub a_less: f64,
}

/// All three p-values; nothing when there are more than [`super::MOST_STATES`] tables.
pub fn all(a: Share, b: Share) -> Option<Barnard> {
    if a.of() == 0 || b.of() == 0 {
        return Some(Barnard { two_sided: 1.0, a_greater: 1.0, a_less: 1.0 });
    }
    let order = Order::new(a, b);
    let rows = countable(a, b).then(|| rows(a.of(), b.of()))?;
    let largest = |inside: &dyn Fn(i128) -> bool| largest_of(&rows, |total, x| inside(order.against(total, x)));
    Some(Barnard {
        two_sided: order.two_sided(&rows),
        a_greater: largest(&|sign| sign >= 0),
        a_less: largest(&|sign| sign <= 0),
    })
}

/// The two-sided p-value, or Fisher's mid-p where there are too many tables.
///
/// # It tells apart what Fisher’s test leaves open
/// ```
/// # use bloomdue_core::evidence::{Share, barnard, fisher};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let (a, b) = (Share::new(9, 10)?, Share::new(4, 10)?);
/// assert!(barnard::two_sided(a, b).p < 0.05);
/// assert!(fisher::two_sided(a, b) > 0.05);
/// # Ok(())
/// # }
/// ```
pub fn two_sided(a: Share, b: Share) -> Tested {
    if a.of() == 0 || b.of() == 0 {
        return Tested { p: 1.0, how: How::Exact };
    }
    if !countable(a, b) {
        return Tested { p: fisher::test(a, b).mid_p, how: How::FisherMidP };
    }
    let p = Order::new(a, b).two_sided(&rows(a.of(), b.of()));
    Tested { p, how: How::Exact }
}

/// How far out tables are against the one seen.
struct Order {
    in_a: i128,
    in_b: i128,
    gap: i128,
    spread: i128,
}

impl Order {
    fn new(a: Share, b: Share) -> Self {
        let [in_a, in_b, x_a, x_b] = [a.of(), b.of(), a.reached(), b.reached()].map(i128::from);
        let total = x_a + x_b;
        Self { in_a, in_b, gap: x_a * in_b - x_b * in_a, spread: total * (in_a + in_b - total) }
    }

    /// xₐn_b − x_bnₐ and m(N−m) of the table with `x` of `total` in group a.
    fn parts(&self, total: u32, x: u32) -> (i128, i128) {
        let (total, x) = (i128::from(total), i128::from(x));
        (x * self.in_b - (total - x) * self.in_a, total * (self.in_a + self.in_b - total))
    }

    /// The sign of the table's Z less the Z seen.
    fn against(&self, total: u32, x: u32) -> i128 {
        let (gap, spread) = self.parts(total, x);
        // With nobody or everybody Z is 0; any positive divisor says so.
        let signed = |gap: i128, other: i128| gap * gap.abs() * other.max(1);
        (signed(gap, self.spread) - signed(self.gap, spread)).signum()
    }

    /// Whether the table's |Z| is at least the |Z| seen.
    fn as_far(&self, total: u32, x: u32) -> bool {
        let (gap, spread) = self.parts(total, x);
        gap * gap * self.spread.max(1) >= self.gap * self.gap * spread.max(1)
    }

    fn two_sided(&self, rows: &[Row]) -> f64 {
        largest_of(rows, |total, x| self.as_far(total, x))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Complete enumeration with whole numbers: 9/10 v 3/10, whose mirror table ties exactly, has p 0.00796,
    /// and 10/13 v 2/17 has 0.000348.
    #[test]
    fn tied_tables_are_not_lost() {
        let p = |a, n, b, m| two_sided(Share::new(a, n).expect("a"), Share::new(b, m).expect("b")).p;
        assert!((p(9, 10, 3, 10) - 0.00796).abs() < 5e-6);
        assert!((p(10, 13, 2, 17) - 0.000_348).abs() < 5e-7);
        assert!((p(7, 15, 12, 15) - 0.068_22).abs() < 5e-6);
        assert_eq!(p(0, 9, 0, 4), 1.0);
    }

    #[test]
    fn too_many_tables_are_said() {
        let share = |reached| Share::new(reached, 100_000).expect("a share");
        assert_eq!(two_sided(share(50_000), share(50_500)).how, How::FisherMidP);
        assert_eq!(all(share(50_000), share(50_500)), None);
    }
}
