//! Evidence that may be looked at any time: which group reaches the stage first, look by look within one try.
//!
//! At a look that saw both groups on the same day, of nₐ and n_b bulbs still without the stage d have reached it, dₐ of
//! group a. If groups are alike, dₐ is hypergeometric given these numbers; with odds ψ it is Fisher's noncentral
//! hypergeometric. Each look multiplies the ratio of the two for every ψ of a fixed grid, ln ψ = ±½, ±1, ±1½, ±2, ±2½, and the
//! evidence is the mean over the grid: 1 or less on average at any look when groups are alike, so that it ever reaches
//! 1/α with probability at most α (Ville 1939). Bulbs that died, went missing or were sold leave the risk set before the
//! next look. ter Schure, Pérez-Ortiz, Ly & Grünwald 2024, New England Journal of Statistics in Data Science 2:190 (from
//! memory).

use super::tables::Row;
use super::{NoAnswer, Reason, Result, Share};

/// ln ψ of the grid on one side.
const LN_ODDS: [f64; 5] = [0.5, 1.0, 1.5, 2.0, 2.5];

/// One look that saw both groups on the same day: of the bulbs still without the stage, how many now have it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Group a.
    pub a: Share,
    /// Group b.
    pub b: Share,
}

/// The evidence after one look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// The mean of the products so far.
    pub running: f64,
    /// 1 ÷ the largest mean so far, at most 1: a p-value that holds at any time.
    pub anytime_p: f64,
}

/// The evidence after each look, in order.
///
/// # Errors
/// When a look has more bulbs than can be counted.
pub fn run(looks: &[Look]) -> Result<Vec<Evidence>> {
    let grid: Vec<f64> = LN_ODDS.iter().flat_map(|&t| [-t, t]).collect();
    let mut logs = vec![0.0; grid.len()];
    let mut most = 0.0_f64;
    let mut all = Vec::with_capacity(looks.len());
    for Look { a, b } in looks {
        if a.of().saturating_add(b.of()) > super::MOST_BULBS {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let row = Row::new(a.of(), b.of(), a.reached() + b.reached());
        let seen = row.index(a.reached()) as f64;
        for (log, t) in logs.iter_mut().zip(&grid) {
            *log += seen * t - ln_mean(&row, *t);
        }
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs.iter().map(|log| (log - top).exp()).sum();
        let running = top + (sum / grid.len() as f64).ln();
        most = most.max(running);
        all.push(Evidence { running: running.exp(), anytime_p: (-most).exp() });
    }
    Ok(all)
}

/// ln of the mean of eˢᵗ over a row, with s counted from its least table.
fn ln_mean(row: &Row, t: f64) -> f64 {
    let logs = || row.p.iter().enumerate().map(|(s, p)| p.ln() + s as f64 * t);
    let top = logs().fold(f64::NEG_INFINITY, f64::max);
    top + logs().map(|log| (log - top).exp()).sum::<f64>().ln()
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    fn look(d_a: u32, n_a: u32, d_b: u32, n_b: u32) -> Look {
        Look { a: Share::new(d_a, n_a).expect("a"), b: Share::new(d_b, n_b).expect("b") }
    }

    /// By hand: one of two at risk reached it and it was in a: ratio 2ψ/(1+ψ), whose mean over ±t is 1.
    #[test]
    fn a_single_pair_says_nothing_and_a_second_one_something() {
        let one = run(&[look(1, 1, 0, 1)]).expect("a run");
        assert!((one[0].running - 1.0).abs() < 1e-14);
        let two = run(&[look(1, 1, 0, 1), look(1, 1, 0, 1)]).expect("a run");
        let exact = LN_ODDS
            .iter()
            .map(|t| (2.0 * t.exp() / (1.0 + t.exp())).powi(2) + (2.0 / (1.0 + t.exp())).powi(2))
            .sum::<f64>()
            / 10.0;
        assert!((two[1].running - exact).abs() < 1e-13);
        assert_eq!(run(&[look(0, 4, 0, 4), look(4, 4, 4, 4), look(0, 0, 2, 5)]).expect("a run")[2].running, 1.0);
    }

    /// Peeking at every look, at slow and at fast common speeds: α + 3 standard errors over 4,000 runs.
    #[test]
    fn peeking_at_every_look_keeps_the_promise() {
        let mut random = Random::new(5);
        for (speed, n_a, n_b) in [(0.05, 8, 8), (0.3, 12, 5), (0.15, 20, 20)] {
            let runs = 4_000;
            let mut false_alarms = 0;
            for _ in 0..runs {
                let (mut left_a, mut left_b) = (n_a, n_b);
                let looks = (0..20).map(|_| {
                    let mut reach = |left: u32| (0..left).filter(|_| random.unit() < speed).count() as u32;
                    let (d_a, d_b) = (reach(left_a), reach(left_b));
                    let look = look(d_a, left_a, d_b, left_b);
                    (left_a, left_b) = (left_a - d_a, left_b - d_b);
                    look
                });
                let evidence = run(&looks.collect::<Vec<_>>()).expect("a run");
                false_alarms += usize::from(evidence.iter().any(|evidence| evidence.running >= 20.0));
            }
            let rate = false_alarms as f64 / f64::from(runs);
            assert!(rate <= 0.05 + 3.0 * (0.05 * 0.95 / f64::from(runs)).sqrt(), "{speed}: {rate}");
        }
    }

    #[test]
    fn a_faster_group_is_noticed() {
        let looks = [look(3, 8, 0, 8), look(3, 5, 0, 8), look(2, 2, 1, 8)];
        assert!(run(&looks).expect("a run")[2].running > 20.0);
    }
}
