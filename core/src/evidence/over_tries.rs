//! Two groups over an open number of tries: equal groups are ever told apart with a chance of at most α, however many
//! tries follow and however often one looks.
//!
//! **Method.** A group-sequential exact conditional test that spends its error try by try. Given each try's margins the
//! number in time of group a is hypergeometric in it ([`super::exact_conditional`]), so the sums over the first 1, 2, 3 …
//! tries are a walk with independent steps, and the chance to leave it at try k, and not before, is counted out. After
//! k tries at most α k ÷ (k + 1) may have been spent: half of α on the first try, two thirds by the second, nearly all of
//! it only after very many. At each try the rarest sums are taken as *told apart* while what is left to spend allows; what
//! whole counts leave unspent goes on to the next try. Spending error over looks: Lan & DeMets 1983, Biometrika 70:659;
//! exact boundaries of counts by recursion: Jennison & Turnbull 2000, *Group Sequential Methods with Applications to
//! Clinical Trials*, §12; conditional on the margins of each table, as Gart 1970, Biometrika 57:471.
//!
//! A look is one finished try more. While a try runs nothing of it is counted, so that looking every week adds no look.
//!
//! **Why this one.** On equal groups the plain pooled test, read after each of eight tries, says *told apart* in 10 to
//! 14 % of nurseries. Three ways hold 5 % (`cargo xtask soak claims`, `tests/soak.md`): fixed parts of α for each look,
//! each with the plain pooled test; the e-processes of the same tables ([`super::logrank_e_process`],
//! [`super::e_process`]); and this one. With 12 bulbs a group that differ by 3 in ten, after four tries, the first found
//! 43 %, the second 51 and 35 %, this one 70 %, and a single look fixed beforehand 76 %: the others pay for each look as
//! if it were the first, or for every moment in between, this one for tries only.
//!
//! **What it rests on.** Sizes of groups are taken as given. Where they follow what earlier tries showed, as advice
//! does (nearly all bulbs to the group that is ahead), the promise was kept in the soak; someone who set out to break it
//! could get to 6 % (a tiny try whenever groups are far apart, a large one whenever they are near).

use super::{How, MOST_STATES, NoAnswer, Reason, Result, Tested, cmh};
use super::{
    exact_conditional::convolved,
    strata::{Stratum, used},
    tables::{EQUALLY_PROBABLE, Row},
    verdict::ALPHA,
};

/// The part of the error that may be spent once so many tries are over, 0 to 1.
///
/// ```
/// use bloomdue_core::evidence::over_tries::spent;
/// assert_eq!([1, 2, 3].map(spent), [1.0 / 2.0, 2.0 / 3.0, 3.0 / 4.0]);
/// ```
pub fn spent(n_tries: usize) -> f64 {
    n_tries as f64 / (n_tries as f64 + 1.0)
}

/// Products of one walk from which on each try's corrected Cochran–Mantel–Haenszel p stands in: a p-value takes some
/// dozens of walks.
const MOST_PRODUCTS: u64 = MOST_STATES / 10;

/// Below this no level is looked at.
const LEAST_LEVEL: f64 = 1e-9;

/// The p-value over tries: the least level of error at which these tries, in the order in which they ended, told the
/// groups apart by now. It never rises when a try is added, and is at most x with a chance of at most x, ever, when
/// groups are alike. `n_family` is how many comparisons are made: the levels that Holm's adjustment of so many turns on
/// are met exactly.
///
/// Each try is its size classes; tries without both groups count for nothing.
///
/// # Errors
/// When no try has both groups.
///
/// # One try is asked for more than by itself; two that agree say more than either
/// ```
/// # use bloomdue_core::evidence::{Share, exact_conditional, over_tries::ever, strata::Stratum};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let one = vec![Stratum { a: Share::new(10, 12)?, b: Share::new(4, 12)? }];
/// assert!(exact_conditional::two_sided(&one)?.p < 0.04);
/// assert!(ever(&[one.clone()], 1)?.p > 0.05);
/// assert!(ever(&[one.clone(), one], 1)?.p < 0.01);
/// # Ok(())
/// # }
/// ```
pub fn ever(tries: &[Vec<Stratum>], n_family: usize) -> Result<Tested> {
    match Walk::of(tries) {
        Err(NoAnswer(Reason::TooManyStates)) => {
            let each: Vec<f64> = (1..=tries.len())
                .filter_map(|n| cmh::test(&tries[..n].concat()).ok())
                .map(|tested| tested.p_corrected)
                .collect();
            Ok(Tested { p: of_looks(&each), how: How::Normal })
        }
        walk => walk.map(|walk| Tested { p: walk.p(n_family), how: How::Exact }),
    }
}

/// After which try, from 1, groups are told apart at a level of error.
///
/// # Errors
/// When no try has both groups, or there are too many products to sum.
pub fn told_apart(tries: &[Vec<Stratum>], alpha: f64) -> Result<Option<usize>> {
    Ok(Walk::of(tries)?.leaves_at(alpha))
}

/// The same p-value from the p-values of all tries together after each try, where no walk can be counted: each look has
/// its own part of the error. It holds whatever the looks share, and tells fewer apart.
pub fn of_looks(p: &[f64]) -> f64 {
    let parts = p.iter().enumerate().map(|(before, p)| p / (spent(before + 1) - spent(before)));
    parts.fold(1.0, f64::min)
}

/// The sums of group a over the first tries, try by try.
struct Walk {
    looks: Vec<Look>,
}

/// One try more.
struct Look {
    /// The distribution of this try's count alone.
    step: Vec<f64>,
    /// Where the sum of all tries until now lies.
    seen: usize,
    /// All sums until now, the rarest first, equally probable ones together.
    rarest: Vec<Vec<usize>>,
}

impl Walk {
    fn of(tries: &[Vec<Stratum>]) -> Result<Self> {
        let (mut all, mut seen, mut products) = (vec![1.0], 0, 0_u64);
        let mut looks = Vec::new();
        for classes in tries {
            let mut step = vec![1.0];
            let classes = used(classes);
            for Stratum { a, b } in &classes {
                let row = Row::new(a.of(), b.of(), a.reached() + b.reached());
                seen += row.index(a.reached());
                products = products.saturating_add((step.len() * row.p.len()) as u64);
                if products > MOST_PRODUCTS {
                    return Err(NoAnswer(Reason::TooManyStates));
                }
                step = convolved(&step, &row.p);
            }
            if classes.is_empty() {
                continue;
            }
            products = products.saturating_add((all.len() * step.len()) as u64);
            if products > MOST_PRODUCTS {
                return Err(NoAnswer(Reason::TooManyStates));
            }
            all = convolved(&all, &step);
            looks.push(Look { step, seen, rarest: together(&all) });
        }
        if looks.is_empty() { Err(NoAnswer(Reason::Confounded)) } else { Ok(Self { looks }) }
    }

    /// The number of the try, from 1, at which the walk that was seen is told apart.
    fn leaves_at(&self, alpha: f64) -> Option<usize> {
        // The chance of each sum among walks that have not left.
        let mut within = vec![1.0];
        let mut used = 0.0;
        for (before, look) in self.looks.iter().enumerate() {
            within = convolved(&within, &look.step);
            let allowed = alpha * spent(before + 1) * (1.0 + EQUALLY_PROBABLE);
            let mut leaves = false;
            for sums in &look.rarest {
                let chance: f64 = sums.iter().map(|sum| within[*sum]).sum();
                if used + chance > allowed {
                    break;
                }
                used += chance;
                leaves |= sums.contains(&look.seen);
                sums.iter().for_each(|sum| within[*sum] = 0.0);
            }
            if leaves {
                return Some(before + 1);
            }
        }
        None
    }

    /// The least level from which on, upwards, the walk leaves.
    fn p(&self, n_family: usize) -> f64 {
        let leaves = |level: f64| self.leaves_at(level).is_some();
        let coarse = [1.0, 0.5, 0.2, 0.1].into_iter();
        let holm = (1..=n_family.max(1)).map(|n| ALPHA / n as f64);
        let below = std::iter::successors(Some(ALPHA / n_family.max(1) as f64 / 2.0), |level| Some(level / 2.0));
        let levels = coarse.chain(holm).chain(below.take_while(|level| *level > LEAST_LEVEL));
        let mut least = 1.0;
        for level in levels {
            if leaves(level) {
                least = level;
                continue;
            }
            // Between two levels the number is only shown.
            let (mut stays, mut goes) = (level, least);
            for _ in 0..8 {
                let middle = (stays * goes).sqrt();
                if leaves(middle) {
                    goes = middle;
                } else {
                    stays = middle;
                }
            }
            // A hair less, so that n times α ÷ n is not above α.
            return goes * (1.0 - 1e-12);
        }
        least
    }
}

/// Sums from the rarest on, those as probable as each other together.
fn together(p: &[f64]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut bound = 0.0;
    let row = Row { least: 0, p: p.to_vec() };
    for sum in row.rarest_first() {
        match groups.last_mut() {
            Some(last) if p[sum] <= bound => last.push(sum),
            _ => {
                bound = p[sum] * (1.0 + EQUALLY_PROBABLE);
                groups.push(vec![sum]);
            }
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::super::{Share, random::Random};
    use super::*;

    fn one(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Vec<Stratum> {
        vec![Stratum { a: Share::new(x_a, n_a).expect("a"), b: Share::new(x_b, n_b).expect("b") }]
    }

    /// 4 v 4, four in time: the two tables with all in one group have 2/70 = 0.029, so that a level of 0.05 leaves the
    /// first try nothing to say, while one of 0.06 does (half of it is 0.03).
    #[test]
    fn the_first_try_may_spend_half() {
        let tries = [one(4, 4, 0, 4)];
        assert_eq!(told_apart(&tries, 0.05), Ok(None));
        assert_eq!(told_apart(&tries, 0.06), Ok(Some(1)));
        let p = ever(&tries, 1).expect("a p").p;
        assert!((p - 4.0 / 70.0).abs() < 1e-3, "{p}");
    }

    /// Two tries of 4 v 4 by hand: the first can't leave at 0.05, the sum of both has 1/4900 at either end and 32/4900
    /// next to it; 2 × 33/4900 = 0.0135 and 2 × 33 + 2 × (36 + 256 + 36)/4900 = 0.147 straddle 0.05 × 2/3.
    #[test]
    fn the_second_try_spends_what_the_first_left() {
        assert_eq!(told_apart(&[one(4, 4, 0, 4), one(3, 4, 1, 4)], 0.05), Ok(Some(2)));
        assert_eq!(told_apart(&[one(3, 4, 1, 4), one(3, 4, 1, 4)], 0.05), Ok(None));
    }

    /// Over all that can come of two tries with given margins, the chance ever to leave is at most α: counted out.
    #[test]
    fn counted_out_over_everything_that_can_come() {
        let row = |total: u32| Row::new(6, 7, total);
        for (m, n) in [(6, 6), (4, 9), (7, 3)] {
            let (first, second) = (row(m), row(n));
            for alpha in [0.01, 0.05, 0.2] {
                let mut ever = 0.0;
                for (i, p) in first.p.iter().enumerate() {
                    for (j, q) in second.p.iter().enumerate() {
                        let (x, y) = (first.least + i as u32, second.least + j as u32);
                        let tries = [one(x, 6, m - x, 7), one(y, 6, n - y, 7)];
                        if told_apart(&tries, alpha).expect("a walk").is_some() {
                            ever += p * q;
                        }
                    }
                }
                assert!(ever <= alpha * 2.0 / 3.0 + 1e-9, "{m} {n} {alpha}: {ever}");
            }
        }
    }

    /// The p-value never rises with another try, and agrees with the levels that Holm turns on.
    #[test]
    fn the_p_value_never_rises_and_meets_the_levels() {
        let mut random = Random::new(3);
        for _ in 0..60 {
            let mut share = |p: f64| (0..9).filter(|_| random.unit() < p).count() as u32;
            let tries: Vec<_> = (0..4).map(|_| one(share(0.8), 9, share(0.4), 9)).collect();
            let mut before = 1.0;
            for n in 1..=tries.len() {
                let p = ever(&tries[..n], 3).expect("a p").p;
                assert!(p <= before + 1e-12, "{p} after {before}");
                before = p;
                for m in 1..=3 {
                    let level = ALPHA / f64::from(m);
                    let leaves = told_apart(&tries[..n], level).expect("a walk").is_some();
                    assert!(!leaves || f64::from(m) * p <= ALPHA || !leaves_above(&tries[..n], level), "{m}: {p}");
                    assert!(leaves || f64::from(m) * p > ALPHA, "{m}: {p}");
                }
            }
        }
    }

    /// Whether it leaves at every level of the ladder above this one.
    fn leaves_above(tries: &[Vec<Stratum>], level: f64) -> bool {
        let above = [1.0, 0.5, 0.2, 0.1, ALPHA, ALPHA / 2.0, ALPHA / 3.0];
        above.into_iter().filter(|one| *one >= level).all(|one| told_apart(tries, one).is_ok_and(|at| at.is_some()))
    }

    #[test]
    fn tries_without_both_groups_are_no_look() {
        let apart = vec![Stratum { a: Share::new(3, 4).expect("a"), b: Share::new(0, 0).expect("b") }];
        assert_eq!(told_apart(std::slice::from_ref(&apart), 0.05), Err(NoAnswer(Reason::Confounded)));
        let with = [apart, one(7, 8, 1, 8)];
        assert_eq!(told_apart(&with, 0.05), told_apart(&with[1..], 0.05));
    }

    /// Too many to count: each look has its own part of the error.
    #[test]
    fn very_large_tries_have_a_stand_in() {
        let large = one(25_000, 50_000, 26_000, 50_000);
        let found = ever(&[large.clone(), large], 1).expect("a p");
        assert!(found.how == How::Normal && found.p < 1e-6, "{found:?}");
        assert!((of_looks(&[0.04, 0.01]) - 0.06).abs() < 1e-12);
        assert!((of_looks(&[0.9]) - 1.0).abs() < 1e-12);
    }
}
