//! What is believed of a few ways to treat bulbs, and what a try of them would teach.
//!
//! Draws of what may be true are taken together by their means and covariances: those of what lasts, and those of one
//! season. What a try would show is then normal, and so is what would be believed after it, so that *the value of
//! knowing* is the mean of the best of several correlated normal numbers less the best of their means: the knowledge
//! gradient of correlated beliefs (Frazier, Powell & Dayanik 2008, SIAM Journal on Control and Optimization 47:2410;
//! 2009, INFORMS Journal on Computing 21:599). A season falls on all groups of a try alike and is taken out between
//! them; how far seasons act on treatments unlike each other counts as noise of each try.

use bloomdue_draws::{normal, random::Random};

use crate::evidence::linear::Cholesky;

/// Seasons in every draw: two are the fewest from which what lasts and what a season does can be told.
pub const SEASONS: usize = 2;

/// Normal numbers by which means over what a try may show are taken; each is used with both signs.
const N_POINTS: usize = 128;

/// Draws of the chances of one bulb, 0 to 1: by draw of what may be true, by season, by way.
#[derive(Clone, Debug, PartialEq)]
pub struct Truths {
    n_ways: usize,
    /// How many bulbs each chance was counted from; nothing where it is exact.
    n_bulbs: Option<u32>,
    chance: Vec<f32>,
}

impl Truths {
    /// Nothing yet, of so many ways.
    pub fn new(n_ways: usize, n_bulbs: Option<u32>) -> Self {
        Self { n_ways, n_bulbs, chance: Vec::new() }
    }

    /// One season more: the chance of each way. A draw is complete with [`SEASONS`] of them.
    pub fn push(&mut self, season: impl IntoIterator<Item = f64>) {
        self.chance.extend(season.into_iter().map(|chance| chance as f32));
    }

    /// The ways.
    pub fn n_ways(&self) -> usize {
        self.n_ways
    }

    /// Every season of every draw.
    fn seasons(&self) -> impl Iterator<Item = &[f32]> {
        self.chance.chunks_exact(self.n_ways.max(1))
    }

    /// The draws, each its seasons one after another.
    fn draws(&self) -> impl Iterator<Item = &[f32]> {
        self.chance.chunks_exact((self.n_ways * SEASONS).max(1))
    }

    /// How often each way is the best for good: by draw, over its seasons.
    pub fn best(&self) -> Vec<f64> {
        let mut best = vec![0.0; self.n_ways];
        let mut n = 0.0_f64;
        for draw in self.draws() {
            let lasting: Vec<f32> =
                (0..self.n_ways).map(|way| draw.iter().skip(way).step_by(self.n_ways).sum()).collect();
            let most = lasting.iter().copied().fold(0.0, f32::max);
            let shared = lasting.iter().filter(|own| **own >= most).count();
            for (best, own) in best.iter_mut().zip(&lasting) {
                *best += if *own >= most { 1.0 / shared as f64 } else { 0.0 };
            }
            n += 1.0;
        }
        best.iter_mut().for_each(|best| *best /= n.max(1.0));
        best
    }

    /// The chance of at least `wanted` of so many bulbs of each way in one season: by season normal with its mean and
    /// spread, half a bulb taken off for whole numbers, and the mean over all.
    pub fn at_least(&self, n: &[u32], wanted: u32) -> f64 {
        let (mut sum, mut of) = (0.0, 0.0_f64);
        for season in self.seasons() {
            let each = || n.iter().zip(season).map(|(n, chance)| (f64::from(*n), f64::from(*chance)));
            let mean: f64 = each().map(|(n, p)| n * p).sum();
            let variance: f64 = each().map(|(n, p)| n * p * (1.0 - p)).sum();
            let short = f64::from(wanted) - 0.5 - mean;
            sum += match variance.sqrt() {
                spread if spread > 1e-9 => normal::upper(short / spread),
                _ => f64::from(u8::from(short <= 0.0)),
            };
            of += 1.0;
        }
        sum / of.max(1.0)
    }
}

/// Means and covariances of some draws.
#[derive(Clone, Debug)]
pub struct Beliefs {
    /// The chance of one bulb in a season to come.
    pub mean: Vec<f64>,
    /// Covariances of what lasts, row by row.
    lasting: Vec<f64>,
    /// Covariances of what one season does to all.
    season: Vec<f64>,
    /// Variance of one bulb's outcome in a season of known chance.
    bulb: Vec<f64>,
}

/// The smallest variance of one bulb that is reckoned with: nothing is as good as sure after a handful.
const LEAST_VARIANCE: f64 = 0.02;

impl Beliefs {
    /// The moments of draws.
    pub fn of(truths: &Truths) -> Self {
        let ways = truths.n_ways;
        let mut mean = vec![0.0; ways];
        let mut n = 0.0_f64;
        for season in truths.seasons() {
            mean.iter_mut().zip(season).for_each(|(mean, chance)| *mean += f64::from(*chance));
            n += 1.0;
        }
        mean.iter_mut().for_each(|mean| *mean /= n.max(1.0));
        let (mut lasting, mut season) = (vec![0.0; ways * ways], vec![0.0; ways * ways]);
        let n_draws = (n / SEASONS as f64).max(1.0);
        for draw in truths.draws() {
            let (first, second) = draw.split_at(ways);
            for a in 0..ways {
                for b in 0..ways {
                    let [one, other] = [first, second].map(|own| (f64::from(own[a]), f64::from(own[b])));
                    // What two seasons of one draw share is what lasts; half of how they differ is what a season does.
                    let across = (one.0 - mean[a]) * (other.1 - mean[b]) + (other.0 - mean[a]) * (one.1 - mean[b]);
                    lasting[a * ways + b] += across / 2.0 / n_draws;
                    season[a * ways + b] += (one.0 - other.0) * (one.1 - other.1) / 2.0 / n_draws;
                }
            }
        }
        let mut bulb = vec![0.0; ways];
        for way in 0..ways {
            let at = way * ways + way;
            let p = mean[way];
            bulb[way] = (p * (1.0 - p) - lasting[at] - season[at]).max(LEAST_VARIANCE);
            // Chances that were counted bring the noise of the count with them.
            let counted = truths.n_bulbs.map_or(0.0, |n| bulb[way] / f64::from(n));
            season[at] = (season[at] - counted).max(1e-6);
            lasting[at] = lasting[at].max(1e-9);
        }
        Self { mean, lasting, season, bulb }
    }

    /// The way that is best as far as is known; the first of several.
    pub fn best(&self) -> usize {
        let better = |best: usize, way: usize| if self.mean[way] > self.mean[best] { way } else { best };
        (1..self.mean.len()).fold(0, better)
    }

    /// Variance of how far one way lies above another for good.
    pub fn gap_variance(&self, a: usize, b: usize) -> f64 {
        let of = |a: usize, b: usize| self.lasting[a * self.mean.len() + b];
        (of(a, a) + of(b, b) - 2.0 * of(a, b)).max(0.0)
    }

    /// By how much a try of so many bulbs each has to show `a` ahead of `b` for `a` to be believed the better one; as a
    /// difference of shares, above 1 where no such try could.
    pub fn ahead_needed(&self, a: usize, b: usize, n_each: u32) -> f64 {
        let ways = self.mean.len();
        let lasts = self.gap_variance(a, b);
        let of = |a: usize, b: usize| self.season[a * ways + b];
        let noise = of(a, a) + of(b, b) - 2.0 * of(a, b) + (self.bulb[a] + self.bulb[b]) / f64::from(n_each.max(1));
        if lasts <= 1e-12 {
            return f64::INFINITY;
        }
        // Believed after seeing d: mean + share (d − mean), which is above 0 from here on.
        let (mean, share) = (self.mean[a] - self.mean[b], lasts / (lasts + noise.max(1e-12)));
        (mean - mean / share).max(0.0)
    }

    /// What would be believed after a try of so many bulbs of each way.
    pub fn after(&self, n: &[u32]) -> After {
        let ways = self.mean.len();
        let seen: Vec<usize> = (0..ways).filter(|way| n[*way] > 0).collect();
        let size = seen.len();
        let mut shown = vec![0.0; size * size];
        for (row, a) in seen.iter().enumerate() {
            for (column, b) in seen.iter().enumerate() {
                let at = a * ways + b;
                let noise = if a == b { self.bulb[*a] / f64::from(n[*a]) } else { 0.0 };
                shown[row * size + column] = self.lasting[at] + self.season[at] + noise;
            }
        }
        let Some(factor) = Cholesky::new(&shown, size) else {
            return After { ways, size: 0, root: Vec::new() };
        };
        let root = (0..ways).flat_map(|way| {
            let row: Vec<f64> = seen.iter().map(|other| self.lasting[way * ways + other]).collect();
            factor.forward(&row)
        });
        After { ways, size, root: root.collect() }
    }

    /// What would be believed if all were known.
    pub fn after_all_is_known(&self) -> After {
        let ways = self.mean.len();
        // A little is added where the draws leave no room, or are too few to be a covariance.
        let factor = [1e-6, 1e-4, 1e-2].into_iter().find_map(|little| {
            let mut lasting = self.lasting.clone();
            (0..ways).for_each(|way| lasting[way * ways + way] += little);
            Cholesky::new(&lasting, ways)
        });
        let Some(factor) = factor else {
            return After { ways, size: 0, root: Vec::new() };
        };
        After { ways, size: ways, root: factor.rows() }
    }
}

/// How far a try moves what is believed: means move by the root times as many standard normal numbers.
pub struct After {
    ways: usize,
    size: usize,
    root: Vec<f64>,
}

/// What knowing more is worth, for one bulb in one season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knowing {
    /// The mean of the best way after it, less what is best now: chance of one bulb.
    pub gain: f64,
    /// How often another way is the best after it than now.
    pub changes: f64,
    /// Where it is: the gain in 1, 5 and 9 of 10 such cases.
    pub gain_then: [f64; 3],
}

/// Standard normal numbers, always the same, so that one split is compared with another on the same cases.
pub struct Points {
    z: Vec<[f64; MOST_WAYS]>,
}

/// The most ways that are weighed against each other.
pub const MOST_WAYS: usize = 8;

impl Points {
    /// Always the same.
    pub fn new() -> Self {
        let mut random = Random::new(0x706f_696e_7473);
        Self { z: (0..N_POINTS).map(|_| std::array::from_fn(|_| normal::draw(&mut random))).collect() }
    }

    /// The mean of the best way after a try: chance of one bulb.
    pub fn best_after(&self, beliefs: &Beliefs, after: &After) -> f64 {
        let mut sum = 0.0;
        for z in &self.z {
            let (mut up, mut down) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
            for (way, mean) in beliefs.mean.iter().enumerate() {
                let moved = after.moved(way, z);
                up = up.max(mean + moved);
                down = down.max(mean - moved);
            }
            sum += up + down;
        }
        sum / (2 * self.z.len()) as f64
    }

    /// What knowing more is worth, in full.
    pub fn knowing(&self, beliefs: &Beliefs, after: &After) -> Knowing {
        let best = beliefs.best();
        let mut gains: Vec<f64> = Vec::new();
        for z in &self.z {
            for sign in [1.0, -1.0] {
                let of = |way: usize| beliefs.mean[way] + sign * after.moved(way, z);
                let most = (0..after.ways).map(of).fold(f64::NEG_INFINITY, f64::max);
                gains.push((most - of(best)).max(0.0));
            }
        }
        let n = gains.len().max(1) as f64;
        let gain = gains.iter().sum::<f64>() / n;
        gains.retain(|gain| *gain > 0.0);
        gains.sort_by(f64::total_cmp);
        let at = |tenths: usize| gains.get(gains.len() * tenths / 10).copied().unwrap_or(0.0);
        Knowing { gain, changes: gains.len() as f64 / n, gain_then: [1, 5, 9].map(at) }
    }
}

impl Default for Points {
    fn default() -> Self {
        Self::new()
    }
}

impl After {
    fn moved(&self, way: usize, z: &[f64; MOST_WAYS]) -> f64 {
        self.root[way * self.size..][..self.size].iter().zip(z).map(|(root, z)| root * z).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Draws of ways whose lasting chances and seasons are independent normal numbers of these spreads.
    fn truths(means: &[f64], lasting: f64, season: f64) -> Truths {
        let mut random = Random::new(5);
        let mut truths = Truths::new(means.len(), None);
        for _ in 0..4_000 {
            let own: Vec<f64> = means.iter().map(|mean| mean + lasting * normal::draw(&mut random)).collect();
            for _ in 0..SEASONS {
                let all = season * normal::draw(&mut random);
                truths.push(own.iter().map(|own| own + all));
            }
        }
        truths
    }

    /// Two independent ways of equal mean, one exactly known afterwards: the gain is σ ÷ √2π, that of the mean of the
    /// larger of 0 and a normal number (as in Frazier, Powell & Dayanik 2008, equation 14 at 0).
    #[test]
    fn the_gain_of_one_known_way_is_that_of_the_book() {
        let beliefs = Beliefs::of(&truths(&[0.5, 0.5], 0.1, 0.0));
        let known = beliefs.after(&[0, 1_000_000]);
        let gain = Points::new().knowing(&beliefs, &known).gain;
        let spread = beliefs.gap_variance(0, 1).sqrt() / 2_f64.sqrt();
        let expected = spread / (2.0 * std::f64::consts::PI).sqrt();
        assert!((gain / expected - 1.0).abs() < 0.06, "{gain} {expected}");
    }

    /// A season that falls on both alike leaves their difference as plain as if there were none.
    #[test]
    fn a_season_shared_by_all_groups_is_no_noise_between_them() {
        let points = Points::new();
        let gain = |season: f64, n: [u32; 2]| {
            let beliefs = Beliefs::of(&truths(&[0.5, 0.5], 0.1, season));
            points.knowing(&beliefs, &beliefs.after(&n)).gain
        };
        let (calm, rough) = (gain(0.0, [12, 12]), gain(0.2, [12, 12]));
        assert!((rough / calm - 1.0).abs() < 0.12, "{calm} {rough}");
        // One group alone can't be told from its season.
        assert!(gain(0.2, [0, 24]) < 0.7 * gain(0.0, [0, 24]));
    }

    #[test]
    fn more_bulbs_teach_more_and_what_is_settled_teaches_nothing() {
        let points = Points::new();
        let open = Beliefs::of(&truths(&[0.5, 0.5, 0.45], 0.15, 0.1));
        let gain = |n: u32| points.knowing(&open, &open.after(&[n, n, n])).gain;
        assert!(gain(3) < gain(8) && gain(8) < gain(40));
        let all = points.best_after(&open, &open.after_all_is_known()) - open.mean[open.best()];
        assert!(gain(40) < all * 1.02, "{} {all}", gain(40));
        let settled = Beliefs::of(&truths(&[0.9, 0.3], 0.05, 0.05));
        let knowing = points.knowing(&settled, &settled.after(&[12, 12]));
        assert_eq!((knowing.gain, knowing.changes), (0.0, 0.0));
        assert!(settled.ahead_needed(1, 0, 12) > 0.5);
    }

    /// Chances counted from forty bulbs each are believed like exact ones.
    #[test]
    fn noise_of_counted_chances_is_taken_out() {
        let exact = truths(&[0.5, 0.5], 0.1, 0.0);
        let mut random = Random::new(9);
        let mut counted = Truths::new(2, Some(40));
        for season in exact.seasons() {
            let of = |chance: &f32| (0..40).filter(|_| random.unit() < f64::from(*chance)).count() as f64 / 40.0;
            counted.push(season.iter().map(of).collect::<Vec<f64>>());
        }
        let (exact, counted) = (Beliefs::of(&exact), Beliefs::of(&counted));
        assert!((exact.gap_variance(0, 1) / counted.gap_variance(0, 1) - 1.0).abs() < 0.1);
        assert!(counted.season[0] < 0.0008, "{}", counted.season[0]);
    }

    /// Twelve bulbs, eleven in a thousand seasons: the normal stand-in is near the binomial chance.
    #[test]
    fn the_chance_of_at_least_so_many() {
        let mut truths = Truths::new(1, None);
        (0..SEASONS).for_each(|_| truths.push([0.5]));
        // P(X ≥ 6), X binomial of 12 and ½, is 0.6128.
        assert!((truths.at_least(&[12], 6) - 0.6128).abs() < 0.005);
        assert!((truths.at_least(&[12], 0) - 1.0).abs() < 1e-3 && truths.at_least(&[0], 1) < 1e-9);
    }
}
