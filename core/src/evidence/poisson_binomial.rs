//! How many of some bulbs will reach the stage when each has its own probability.
//!
//! The distribution of the sum by convolution, one bulb after another, exact to 1e-15 up to thousands of bulbs. Hong
//! 2013, Computational Statistics & Data Analysis 59:41.

use super::{NoAnswer, Reason, Result};

/// No more bulbs than this.
const MOST: usize = 20_000;

/// The distribution of a number of bulbs.
#[derive(Debug, Clone, PartialEq)]
pub struct Count {
    probabilities: Vec<f64>,
    /// Mean number.
    pub mean: f64,
    /// Variance of the number.
    pub variance: f64,
}

impl Count {
    /// The distribution for bulbs with these probabilities.
    ///
    /// # Errors
    /// When one is no probability, or there are more than twenty thousand.
    pub fn new(bulbs: &[f64]) -> Result<Self> {
        if bulbs.iter().any(|p| !(0.0..=1.0).contains(p)) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        if bulbs.len() > MOST {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let mut probabilities = vec![1.0];
        for p in bulbs {
            probabilities.push(0.0);
            for k in (0..probabilities.len()).rev() {
                let below = if k == 0 { 0.0 } else { probabilities[k - 1] };
                probabilities[k] = probabilities[k] * (1.0 - p) + below * p;
            }
        }
        Ok(Self { probabilities, mean: bulbs.iter().sum(), variance: bulbs.iter().map(|p| p * (1.0 - p)).sum() })
    }

    /// The probability of exactly 0, 1, 2 … bulbs.
    pub fn exactly(&self) -> &[f64] {
        &self.probabilities
    }

    /// The probability of at least `k` bulbs.
    pub fn at_least(&self, k: usize) -> f64 {
        let from = k.min(self.probabilities.len());
        let (below, above) = self.probabilities.split_at(from);
        // The smaller side keeps its digits.
        if (k as f64) <= self.mean {
            (1.0 - below.iter().sum::<f64>()).clamp(0.0, 1.0)
        } else {
            above.iter().rev().sum::<f64>().min(1.0)
        }
    }

    /// The probability of at most `k` bulbs.
    pub fn at_most(&self, k: usize) -> f64 {
        let to = (k + 1).min(self.probabilities.len());
        self.probabilities[..to].iter().sum::<f64>().min(1.0)
    }

    /// The largest number that is reached with at least this probability: "at least K, 9 times in 10".
    ///
    /// # Errors
    /// When it is no probability.
    pub fn assured(&self, probability: f64) -> Result<usize> {
        if !(probability > 0.0 && probability <= 1.0) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        let reached = |k: &usize| self.at_least(*k) >= probability - 1e-12;
        Ok((0..self.probabilities.len()).rev().find(reached).unwrap_or(0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_assurance_and_refusals() {
        let count = Count::new(&[0.9; 10]).expect("a count");
        assert!((count.at_least(0) - 1.0).abs() < 1e-15 && count.at_least(11) == 0.0);
        assert!((count.at_least(10) - 0.9_f64.powi(10)).abs() < 1e-15);
        assert!((count.at_most(99) - 1.0).abs() < 1e-14);
        // Binomial tables: P(at least 8 of 10 at 0.9) = 0.9298, at least 9: 0.7361.
        assert_eq!(count.assured(0.9), Ok(8));
        assert_eq!(Count::new(&[]).and_then(|none| none.assured(0.9)), Ok(0));
        assert!(Count::new(&[1.1]).is_err() && count.assured(0.0).is_err());
    }
}
