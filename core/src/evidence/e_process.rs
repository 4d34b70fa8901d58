//! Evidence that may be looked at any time: two shares, block by block.
//!
//! Before a block the two shares are guessed from the blocks before it, θ_g = (reached + prior) ÷ (bulbs + both
//! priors); θ₀ is their mean weighted with this block's sizes. The block multiplies the evidence by Π P(outcome | θ_g) ÷
//! P(outcome | θ₀). If groups are alike, also with a share that changes from block to block, it is 1 or less on
//! average, so that it ever reaches 1/α with probability at most α, however often one looks (Ville 1939). A block
//! counts only when every bulb in it is resolved, blocks come in the order of allotment, and their sizes are fixed before
//! any outcome. Turner, Ly & Grünwald 2024, Journal of Statistical Planning and Inference 230:106116.

use super::{NoAnswer, Reason, Result, Share};

/// Prior counts; none may be 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// Reached, group a.
    pub reached_a: f64,
    /// Not reached, group a.
    pub missed_a: f64,
    /// Reached, group b.
    pub reached_b: f64,
    /// Not reached, group b.
    pub missed_b: f64,
}

impl Priors {
    /// The authors' 0.18 each.
    pub const DEFAULT: Self = Self { reached_a: 0.18, missed_a: 0.18, reached_b: 0.18, missed_b: 0.18 };
}

/// One block with all its bulbs resolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Group a.
    pub a: Share,
    /// Group b.
    pub b: Share,
}

/// The evidence after one block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// What this block multiplied.
    pub block: f64,
    /// The product so far.
    pub running: f64,
    /// 1 ÷ the largest product so far, at most 1: a p-value that holds at any time.
    pub anytime_p: f64,
}

/// The evidence after each block.
///
/// # Errors
/// When a prior count is not above 0.
///
/// # The first block says nothing: shares are guessed from those before it
/// ```
/// # use bloomdue_core::evidence::{Share, e_process::{Block, Priors, run}};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let block = Block { a: Share::new(3, 3)?, b: Share::new(0, 3)? };
/// let evidence = run(&[block, block, block], Priors::DEFAULT)?;
/// assert!((evidence[0].running - 1.0).abs() < 1e-12);
/// assert!(evidence[2].running > 20.0 && evidence[2].anytime_p < 0.05);
/// # Ok(())
/// # }
/// ```
pub fn run(blocks: &[Block], priors: Priors) -> Result<Vec<Evidence>> {
    let Priors { reached_a, missed_a, reached_b, missed_b } = priors;
    if [reached_a, missed_a, reached_b, missed_b].iter().any(|count| !(*count > 0.0 && count.is_finite())) {
        return Err(NoAnswer(Reason::NotAProbability));
    }
    let (mut a, mut b) = ((reached_a, missed_a), (reached_b, missed_b));
    let (mut running, mut most) = (0.0_f64, 0.0_f64);
    let step = |block: &Block| {
        let (theta_a, theta_b) = (a.0 / (a.0 + a.1), b.0 / (b.0 + b.1));
        let all = block.a.n() + block.b.n();
        let theta_0 = if all > 0.0 { (block.a.n() * theta_a + block.b.n() * theta_b) / all } else { 0.5 };
        let log = |share: Share, theta: f64| {
            share.x() * (theta / theta_0).ln() + (share.n() - share.x()) * ((1.0 - theta) / (1.0 - theta_0)).ln()
        };
        let log = log(block.a, theta_a) + log(block.b, theta_b);
        a = (a.0 + block.a.x(), a.1 + block.a.n() - block.a.x());
        b = (b.0 + block.b.x(), b.1 + block.b.n() - block.b.x());
        running += log;
        most = most.max(running);
        Evidence { block: log.exp(), running: running.exp(), anytime_p: (-most).exp() }
    };
    Ok(blocks.iter().map(step).collect())
}

/// The number (from 1) of the first block after which the evidence reached `bound`, which is 1/α.
pub fn first_reaching(evidence: &[Evidence], bound: f64) -> Option<usize> {
    evidence.iter().position(|evidence| evidence.running >= bound).map(|index| index + 1)
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    fn share(reached: u32, of: u32) -> Share {
        Share::new(reached, of).expect("a share")
    }

    /// Given the past, the mean of a block's factor over all its outcomes is at most 1 whatever the common share.
    #[test]
    fn a_block_gains_nothing_on_average_when_groups_are_alike() {
        let past = [Block { a: share(4, 5), b: share(1, 6) }];
        for (n_a, n_b) in [(1, 1), (3, 5), (8, 1)] {
            for theta in [0.02, 0.3, 0.5, 0.9] {
                let mut mean = 0.0;
                for x_a in 0..=n_a {
                    for x_b in 0..=n_b {
                        let term = |x: u32, n: u32| {
                            super::super::special::binomial_term(f64::from(x), f64::from(n), theta, 1.0 - theta)
                        };
                        let blocks = [past[0], Block { a: share(x_a, n_a), b: share(x_b, n_b) }];
                        mean +=
                            term(x_a, n_a) * term(x_b, n_b) * run(&blocks, Priors::DEFAULT).expect("a run")[1].block;
                    }
                }
                assert!(mean <= 1.0 + 1e-12, "{n_a} {n_b} {theta}: {mean}");
            }
        }
    }

    /// Peeking after every block: α + 3 standard errors over 4,000 runs.
    #[test]
    fn peeking_after_every_block_keeps_the_promise() {
        let mut random = Random::new(11);
        for (theta, n_a, n_b) in [(0.1, 1, 1), (0.5, 2, 1), (0.8, 4, 4)] {
            let runs = 4_000;
            let mut false_alarms = 0;
            for _ in 0..runs {
                let mut draw = |n: u32| share((0..n).filter(|_| random.unit() < theta).count() as u32, n);
                let blocks: Vec<Block> = (0..40).map(|_| Block { a: draw(n_a), b: draw(n_b) }).collect();
                let evidence = run(&blocks, Priors::DEFAULT).expect("a run");
                false_alarms += usize::from(first_reaching(&evidence, 20.0).is_some());
            }
            let rate = false_alarms as f64 / f64::from(runs);
            assert!(rate <= 0.05 + 3.0 * (0.05 * 0.95 / f64::from(runs)).sqrt(), "{theta}: {rate}");
        }
    }

    #[test]
    fn empty_blocks_say_nothing_and_priors_must_be_above_zero() {
        let evidence = run(&[Block { a: share(0, 0), b: share(0, 0) }], Priors::DEFAULT).expect("a run");
        assert_eq!((evidence[0].running, evidence[0].anytime_p), (1.0, 1.0));
        assert!(run(&[], Priors { reached_a: 0.0, ..Priors::DEFAULT }).is_err());
    }
}
