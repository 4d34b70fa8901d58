//! How good chances were that were said before: Brier and log score, reliability in bins, isotonic calibration.
//!
//! Brier 1950, Monthly Weather Review 78:1 (here over one class: always one half scores 0.25); its parts by Murphy
//! 1973, Journal of Applied Meteorology 12:595; isotonic regression by pooling adjacent violators, Ayer et al. 1955,
//! Annals of Mathematical Statistics 26:641. A bin of fewer than five is noise, and an isotonic curve of fewer than
//! twenty fits the noise. The three parts add up to the Brier score only where chances within a bin are equal.

use super::{NoAnswer, Reason, Result};

/// Chances that were said, each with whether it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    said: Vec<(f64, bool)>,
}

/// One bin of the reliability table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// From this chance.
    pub from: f64,
    /// To below this one; the last bin holds 1 too.
    pub to: f64,
    /// How many chances were said in it.
    pub n: usize,
    /// Their mean; nothing without any.
    pub mean_said: Option<f64>,
    /// The share of them that came about.
    pub came: Option<f64>,
}

/// The parts of the Brier score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    /// How far said and seen lie apart within bins: less is better.
    pub reliability: f64,
    /// How far the bins differ in what came: more is better.
    pub resolution: f64,
    /// What there was to know: p (1 − p) of the share that came.
    pub uncertainty: f64,
    /// Mean distance of said and seen over bins.
    pub calibration_error: f64,
}

/// A stretch of chances that came about equally often.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// The least chance in it.
    pub from: f64,
    /// The largest.
    pub to: f64,
    /// The share that came about.
    pub value: f64,
    /// How many.
    pub n: usize,
}

impl Scored {
    /// Chances and outcomes.
    ///
    /// # Errors
    /// Without any, or when one is no probability.
    pub fn new(said: Vec<(f64, bool)>) -> Result<Self> {
        if said.is_empty() {
            return Err(NoAnswer(Reason::NoBulbs));
        }
        if said.iter().any(|(chance, _)| !(0.0..=1.0).contains(chance)) {
            return Err(NoAnswer(Reason::NotAProbability));
        }
        Ok(Self { said })
    }

    fn mean(&self, of: impl Fn(f64, bool) -> f64) -> f64 {
        let sum: f64 = self.said.iter().map(|(chance, came)| of(*chance, *came)).sum();
        sum / self.said.len() as f64
    }

    /// The share that came about.
    pub fn came(&self) -> f64 {
        self.mean(|_, came| f64::from(u8::from(came)))
    }

    /// Mean squared distance of chance and outcome: 0 is best.
    pub fn brier(&self) -> f64 {
        self.mean(|chance, came| (chance - f64::from(u8::from(came))).powi(2))
    }

    /// The Brier score of always saying the share that came about.
    pub fn brier_of_base_rate(&self) -> f64 {
        self.came() * (1.0 - self.came())
    }

    /// By how much the score is better than that, as a share of it.
    ///
    /// # Errors
    /// When all came about or none, so that there was nothing to know.
    pub fn skill(&self) -> Result<f64> {
        let base = self.brier_of_base_rate();
        if base == 0.0 {
            return Err(NoAnswer(Reason::NothingToDivideBy));
        }
        Ok(1.0 - self.brier() / base)
    }

    /// Mean of −ln of the chance given to what happened; infinite after a certainty that was wrong.
    pub fn log_score(&self) -> f64 {
        self.mean(|chance, came| -(if came { chance } else { 1.0 - chance }).ln())
    }

    /// The same with chances kept within `by` of 0 and 1.
    pub fn log_score_clipped(&self, by: f64) -> f64 {
        self.mean(|chance, came| {
            let chance = chance.clamp(by, 1.0 - by);
            -(if came { chance } else { 1.0 - chance }).ln()
        })
    }

    /// So many bins of equal width.
    ///
    /// # Errors
    /// Without a bin, or with more than a thousand.
    pub fn bins(&self, n_bins: usize) -> Result<Vec<Bin>> {
        if !(1..=1000).contains(&n_bins) {
            return Err(NoAnswer(Reason::TooManyStates));
        }
        let edge = |k: usize| k as f64 / n_bins as f64;
        let mut sums = vec![(0, 0.0, 0.0); n_bins];
        for (chance, came) in &self.said {
            // The edges themselves decide, so that 0.6 of five bins is where 3/5 is.
            let mut bin = ((chance * n_bins as f64) as usize).min(n_bins - 1);
            if bin + 1 < n_bins && *chance >= edge(bin + 1) {
                bin += 1;
            } else if *chance < edge(bin) {
                bin -= 1;
            }
            sums[bin].0 += 1;
            sums[bin].1 += chance;
            sums[bin].2 += f64::from(u8::from(*came));
        }
        let bin = |(k, (n, said, came)): (usize, (usize, f64, f64))| Bin {
            from: edge(k),
            to: edge(k + 1),
            n,
            mean_said: (n > 0).then(|| said / n as f64),
            came: (n > 0).then(|| came / n as f64),
        };
        Ok(sums.into_iter().enumerate().map(bin).collect())
    }

    /// Murphy's parts of the Brier score on so many bins.
    ///
    /// # Errors
    /// As [`Scored::bins`].
    pub fn parts(&self, n_bins: usize) -> Result<Parts> {
        let all = self.said.len() as f64;
        let base = self.came();
        let mut parts =
            Parts { reliability: 0.0, resolution: 0.0, uncertainty: base * (1.0 - base), calibration_error: 0.0 };
        for bin in self.bins(n_bins)? {
            if let (Some(said), Some(came)) = (bin.mean_said, bin.came) {
                let weight = bin.n as f64 / all;
                parts.reliability += weight * (said - came).powi(2);
                parts.resolution += weight * (came - base).powi(2);
                parts.calibration_error += weight * (said - came).abs();
            }
        }
        Ok(parts)
    }

    /// The rising step curve that fits what came best; equal chances are merged first.
    pub fn isotonic(&self) -> Vec<Level> {
        let mut sorted = self.said.clone();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut levels: Vec<(Level, f64)> = Vec::new();
        for (chance, came) in sorted {
            let came = f64::from(u8::from(came));
            match levels.last_mut().filter(|(level, _)| level.to == chance && level.from == chance) {
                Some((level, sum)) => {
                    level.n += 1;
                    *sum += came;
                    level.value = *sum / level.n as f64;
                }
                None => {
                    let level = Level { from: chance, to: chance, value: came, n: 1 };
                    levels.push((level, came));
                }
            }
        }
        let mut pooled: Vec<(Level, f64)> = Vec::new();
        for (mut level, mut sum) in levels {
            while let Some((below, below_sum)) = pooled.pop_if(|(below, _)| below.value >= level.value) {
                sum += below_sum;
                level.n += below.n;
                level.from = below.from;
                level.value = sum / level.n as f64;
            }
            pooled.push((level, sum));
        }
        pooled.into_iter().map(|(level, _)| level).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up_where_chances_within_a_bin_are_equal() {
        let said = vec![(0.3, true), (0.3, false), (0.3, false), (0.9, true), (0.9, true)];
        let scored = Scored::new(said).expect("scores");
        let parts = scored.parts(5).expect("parts");
        let sum = parts.reliability - parts.resolution + parts.uncertainty;
        assert!((sum - scored.brier()).abs() < 1e-15);
    }

    #[test]
    fn a_wrong_certainty_costs_everything_and_no_chance_is_refused() {
        let scored = Scored::new(vec![(1.0, false), (0.5, true)]).expect("scores");
        assert_eq!(scored.log_score(), f64::INFINITY);
        assert!(scored.log_score_clipped(1e-15).is_finite());
        assert!(Scored::new(vec![(1.2, true)]).is_err() && Scored::new(Vec::new()).is_err());
        assert!(Scored::new(vec![(0.2, true)]).expect("scores").skill().is_err());
    }
}
