//! Holm's adjustment of several p-values for the family declared before the start.
//!
//! The smallest of k is multiplied by k, the next by k − 1, and so on; none may fall below the one before it or rise
//! above 1. Never worse than Bonferroni's k·p, which is given for reading. Holm 1979, Scandinavian Journal of
//! Statistics 6:65.

use super::{NoAnswer, Reason, Result};

/// The adjusted p-values, in the order given.
///
/// # Errors
/// When a p-value is not between 0 and 1.
///
/// # The smallest of three is tripled, and none overtakes the next
/// ```
/// use bloomdue_core::evidence::holm::adjust;
/// let adjusted = adjust(&[0.01, 0.04, 0.03]).unwrap_or_default();
/// for (got, expected) in adjusted.iter().zip([0.03, 0.06, 0.06]) {
///     assert!((got - expected).abs() < 1e-12);
/// }
/// ```
pub fn adjust(p: &[f64]) -> Result<Vec<f64>> {
    probabilities(p)?;
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let mut adjusted = vec![0.0; p.len()];
    let mut least = 0.0_f64;
    for (rank, index) in order.into_iter().enumerate() {
        least = least.max((p.len() - rank) as f64 * p[index]).min(1.0);
        adjusted[index] = least;
    }
    Ok(adjusted)
}

/// Bonferroni's p-values, k·p and at most 1.
///
/// # Errors
/// When a p-value is not between 0 and 1.
pub fn bonferroni(p: &[f64]) -> Result<Vec<f64>> {
    probabilities(p)?;
    let count = p.len() as f64;
    Ok(p.iter().map(|p| (p * count).min(1.0)).collect())
}

fn probabilities(p: &[f64]) -> Result<()> {
    if p.iter().all(|p| (0.0..=1.0).contains(p)) {
        return Ok(());
    }
    Err(NoAnswer(Reason::NotAProbability))
}
