//! Whether the chains have said enough: effective draws and R-hat.
//!
//! Gelman, Carlin, Stern, Dunson, Vehtari & Rubin 2013, Bayesian Data Analysis, §11.4–11.5: each chain split in two,
//! R̂ = √(marginal variance ÷ variance within), and the number of independent draws that know the mean as well, from
//! autocorrelations summed until a pair of them is no longer positive (Geyer 1992, Statistical Science 7:473).

/// R-hat and effective draws of one number over several chains of equal length.
pub(super) fn diagnose(chains: &[Vec<f64>]) -> (f64, f64) {
    let half = chains.iter().map(Vec::len).min().unwrap_or(0) / 2;
    if half < 4 {
        return (f64::INFINITY, 0.0);
    }
    let parts: Vec<&[f64]> = chains.iter().flat_map(|chain| [&chain[..half], &chain[half..2 * half]]).collect();
    let (m, n) = (parts.len() as f64, half as f64);
    let means: Vec<f64> = parts.iter().map(|part| part.iter().sum::<f64>() / n).collect();
    let mean = means.iter().sum::<f64>() / m;
    let between = n * means.iter().map(|own| (own - mean).powi(2)).sum::<f64>() / (m - 1.0);
    let covariance = |lag: usize| {
        let of = |(part, own): (&&[f64], &f64)| {
            let pairs = part[..half - lag].iter().zip(&part[lag..]);
            pairs.map(|(a, b)| (a - own) * (b - own)).sum::<f64>() / n
        };
        parts.iter().zip(&means).map(of).sum::<f64>() / m
    };
    let within = covariance(0) * n / (n - 1.0);
    if within <= 0.0 {
        // A number that never moves is known exactly, or the chain is stuck; the caller only watches numbers that move.
        return (1.0, m * n);
    }
    let marginal = within * (n - 1.0) / n + between / n;
    let correlation = |lag: usize| 1.0 - (within - covariance(lag)) / marginal;
    let (mut time, mut last_pair) = (-1.0, f64::INFINITY);
    let mut lag = 0;
    while lag + 1 < half {
        let first = if lag == 0 { 1.0 } else { correlation(lag) };
        let pair = (first + correlation(lag + 1)).min(last_pair);
        if pair <= 0.0 {
            break;
        }
        time += 2.0 * pair;
        last_pair = pair;
        lag += 2;
    }
    let total = m * n;
    let effective = total / time.max(1.0 / total.log10());
    ((marginal / within).sqrt(), effective.min(total))
}

#[cfg(test)]
mod tests {
    use super::*;
    use bloomdue_draws::{normal, random::Random};

    fn walk(random: &mut Random, memory: f64, from: f64) -> Vec<f64> {
        let mut at = from;
        let step = |_: usize| {
            at = memory * at + (1.0 - memory * memory).sqrt() * normal::draw(random);
            at
        };
        (0..2000).map(step).collect()
    }

    /// An autoregression of memory r has n (1 − r) / (1 + r) effective draws.
    #[test]
    fn effective_draws_of_an_autoregression() {
        let mut random = Random::new(1);
        for memory in [0.0, 0.6, 0.9] {
            let chains = [walk(&mut random, memory, 0.0), walk(&mut random, memory, 0.0)];
            let (r_hat, effective) = diagnose(&chains);
            let exact = 4000.0 * (1.0 - memory) / (1.0 + memory);
            assert!((effective / exact).ln().abs() < 0.3, "{memory}: {effective} {exact}");
            assert!(r_hat < 1.02, "{r_hat}");
        }
    }

    #[test]
    fn chains_that_disagree_are_found_out() {
        let mut random = Random::new(2);
        let mut away = walk(&mut random, 0.0, 0.0);
        away.iter_mut().for_each(|x| *x += 3.0);
        let (r_hat, effective) = diagnose(&[walk(&mut random, 0.0, 0.0), away]);
        assert!(r_hat > 1.5 && effective < 50.0, "{r_hat} {effective}");
    }
}
