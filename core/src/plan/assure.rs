//! The chance to reach K with so many bulbs whose rest ends on a day.

use super::Wish;
use crate::{
    calendar::Date,
    evidence::special,
    forecast::{Ahead, Coming, Data, Fit, NEVER, Path, ahead},
};

/// Possible tries that are looked at.
const N_DRAWS: usize = 700;
/// Bulbs drawn of each, to know its chance for one bulb.
const N_BULBS: usize = 100;
/// Days between staggered lots.
const STAGGER_DAYS: i64 = 7;

/// Numbers of bulbs whose chance is told.
const RUNGS: u32 = 40;
/// Counting lots bulb by bulb takes their square.
const MOST_IN_LOTS: u32 = 400;

/// By possible try, the chance of one bulb to be in the wanted stage in the window, for each day on which rest ends.
pub(super) struct Chances {
    /// First day of the table, counted from today.
    first: i64,
    n_days: usize,
    /// By try, then by day.
    chance: Vec<f32>,
    offsets: Vec<i64>,
    coming: Vec<(Coming, [i64; 3])>,
}

/// Possible tries of bulbs like these, whatever the window: drawn once, asked about as often as wanted.
pub(super) fn tries(data: &Data, fit: &Fit, what: Ahead) -> Vec<Vec<Path>> {
    ahead(data, fit, what, N_DRAWS, N_BULBS)
}

impl Chances {
    pub(super) fn of(tries: &[Vec<Path>], today: Date, wish: &Wish) -> Self {
        let from = today.days_until(wish.window.from);
        let to = today.days_until(wish.window.to);
        // Rest that ends earlier than half a year before the window is of no use to it.
        let first = from - 190;
        let n_days = usize::try_from(to + 30 - first).unwrap_or(0);
        let mut chance = vec![0.0; tries.len() * n_days];
        let begins = wish.stage.begins() as usize;
        for (paths, row) in tries.iter().zip(chance.chunks_exact_mut(n_days.max(1))) {
            let mut change = vec![0_i32; n_days + 1];
            for path in paths.iter().filter(|path| path[begins] != NEVER) {
                // Shown from D + begins to D + over − 1, so D is after from − over and not after to − begins.
                let last = to - i64::from(path[begins]);
                let start = if path[3] == NEVER { first } else { from - i64::from(path[3]) + 1 };
                let at = |day: i64| (day - first).clamp(0, n_days as i64) as usize;
                if path[begins] < path[3] && at(start) < at(last + 1) {
                    change[at(start)] += 1;
                    change[at(last + 1)] -= 1;
                }
            }
            let mut now = 0;
            for (chance, change) in row.iter_mut().zip(change) {
                now += change;
                *chance = now as f32 / paths.len() as f32;
            }
        }
        let n_lots = i64::from(wish.staggered);
        Self {
            first,
            n_days,
            chance,
            offsets: (0..n_lots).map(|lot| STAGGER_DAYS * lot - STAGGER_DAYS * (n_lots - 1) / 2).collect(),
            coming: coming(tries),
        }
    }

    /// Days by which the lots lie off the middle one.
    pub(super) fn offsets(&self) -> Vec<i64> {
        self.offsets.clone()
    }

    /// Days from the first lot to the middle.
    pub(super) fn half_spread(&self) -> i64 {
        -self.offsets.first().copied().unwrap_or(0)
    }

    /// Days from the end of rest to each stage, 10–50–90 %, if it comes.
    pub(super) fn coming(&self) -> Vec<(Coming, [i64; 3])> {
        self.coming.clone()
    }

    fn at(&self, row: &[f32], day: i64) -> f64 {
        let at = usize::try_from(day - self.first).ok();
        at.and_then(|at| row.get(at)).map_or(0.0, |p| f64::from(*p))
    }

    /// The chance of one bulb, over all tries and lots.
    fn mean(&self, day: i64) -> f64 {
        let rows = self.chance.chunks_exact(self.n_days.max(1));
        let mut sum = 0.0;
        for row in rows {
            sum += self.offsets.iter().map(|off| self.at(row, day + off)).sum::<f64>();
        }
        let n = self.chance.len() / self.n_days.max(1) * self.offsets.len();
        sum / n.max(1) as f64
    }

    /// The chance of at least `wanted` of `n` bulbs when the rest of the middle lot ends on a day.
    pub(super) fn assurance(&self, day: i64, n: u32, wanted: u32) -> f64 {
        let rows = self.chance.chunks_exact(self.n_days.max(1));
        let n_rows = rows.len().max(1) as f64;
        let mut below = vec![0.0; wanted as usize];
        let one = |row: &[f32]| {
            if let [offset] = self.offsets[..] {
                return at_least(self.at(row, day + offset), n, wanted);
            }
            let chances: Vec<f64> = self.offsets.iter().map(|off| self.at(row, day + off)).collect();
            at_least_of_lots(&chances, n, wanted, &mut below)
        };
        rows.map(one).sum::<f64>() / n_rows
    }

    /// The day with the best assurance, not before the earliest one.
    pub(super) fn best(&self, wish: &Wish, earliest: Option<i64>) -> i64 {
        let least = earliest.map_or(self.first, |day| day + self.half_spread());
        let last = self.first + self.n_days as i64 - 1;
        if least >= last {
            return least;
        }
        let start = self.first.max(least);
        let mean_best = (start..=last)
            .map(|day| (day, self.mean(day)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(start, |(day, _)| day);
        // Fewer bulbs than there are, so that one day differs from another.
        let n = self.to_start(mean_best, wish, wish.at_hand).unwrap_or(wish.at_hand);
        (mean_best - 10..=mean_best + 10)
            .filter(|day| *day >= start)
            .map(|day| (day, self.assurance(day, n, wish.wanted)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(mean_best, |(day, _)| day)
    }

    /// The smallest number of bulbs that gives the assurance asked for, up to `most`.
    pub(super) fn to_start(&self, day: i64, wish: &Wish, most: u32) -> Option<u32> {
        let enough = |n: u32| self.assurance(day, n, wish.wanted) >= wish.assurance;
        if !enough(most) {
            return None;
        }
        let (mut short, mut long) = (wish.wanted - 1, most);
        while long - short > 1 {
            let middle = short + (long - short) / 2;
            if enough(middle) {
                long = middle;
            } else {
                short = middle;
            }
        }
        Some(long)
    }

    /// The largest number that so many bulbs reach with this assurance.
    pub(super) fn assured(&self, day: i64, n: u32, assurance: f64) -> u32 {
        let (mut reached, mut not) = (0, n + 1);
        while not - reached > 1 {
            let middle = reached + (not - reached) / 2;
            if self.assurance(day, n, middle) >= assurance {
                reached = middle;
            } else {
                not = middle;
            }
        }
        reached
    }

    /// The chance of at least so many of `n` bulbs, for at most [`RUNGS`] numbers up to all of them, `wanted` among them;
    /// nothing where lots of more than [`MOST_IN_LOTS`] bulbs would take too long to count.
    pub(super) fn ladder(&self, day: i64, n: u32, wanted: u32) -> Vec<(u32, f64)> {
        let step = n.div_ceil(RUNGS).max(1);
        let numbers: Vec<u32> = (1..=n).filter(|k| (n - k).is_multiple_of(step) || *k == wanted).collect();
        if let [_] = self.offsets[..] {
            return numbers.into_iter().map(|k| (k, self.assurance(day, n, k))).collect();
        }
        if n > MOST_IN_LOTS {
            return Vec::new();
        }
        // One count of each try serves all numbers.
        let mut exactly = vec![0.0; n as usize + 1];
        let mut mean = vec![0.0; n as usize + 1];
        let rows = self.chance.chunks_exact(self.n_days.max(1));
        let n_rows = rows.len().max(1) as f64;
        for row in rows {
            let chances: Vec<f64> = self.offsets.iter().map(|off| self.at(row, day + off)).collect();
            at_least_of_lots(&chances, n, n + 1, &mut exactly);
            for (mean, one) in mean.iter_mut().zip(&exactly) {
                *mean += one / n_rows;
            }
        }
        let at_least = |k: u32| mean[k as usize..].iter().rev().sum::<f64>().min(1.0);
        numbers.into_iter().map(|k| (k, at_least(k))).collect()
    }

    /// The chances of one bulb on a day, by try.
    pub(super) fn by_try(&self, day: i64) -> Vec<f64> {
        let rows = self.chance.chunks_exact(self.n_days.max(1));
        rows.map(|row| self.at(row, day)).collect()
    }
}

/// P(X ≥ `wanted`), X binomial.
fn at_least(p: f64, n: u32, wanted: u32) -> f64 {
    if wanted == 0 {
        return 1.0;
    }
    if wanted > n {
        return 0.0;
    }
    special::beta_tails(f64::from(wanted), f64::from(n - wanted) + 1.0, p, 1.0 - p).0
}

/// The same when the bulbs stand in lots of equal size with chances of their own: one bulb after another.
fn at_least_of_lots(chances: &[f64], n: u32, wanted: u32, below: &mut [f64]) -> f64 {
    if wanted == 0 {
        return 1.0;
    }
    below.fill(0.0);
    below[0] = 1.0;
    for bulb in 0..n as usize {
        let p = chances[bulb % chances.len()];
        let reachable = below.len().min(bulb + 2);
        for k in (0..reachable).rev() {
            let from_below = if k == 0 { 0.0 } else { below[k - 1] * p };
            below[k] = below[k] * (1.0 - p) + from_below;
        }
    }
    (1.0 - below.iter().sum::<f64>()).max(0.0)
}

fn coming(tries: &[Vec<Path>]) -> Vec<(Coming, [i64; 3])> {
    let of = |stage: Coming| {
        let mut days: Vec<i16> = Vec::new();
        for paths in tries {
            // A few bulbs of each try are enough for the spread.
            days.extend(paths.iter().take(10).map(|path| path[stage as usize]));
        }
        days.retain(|day| *day != NEVER);
        days.sort();
        let at = |share: f64| {
            let last = days.len().saturating_sub(1) as f64;
            days.get((share * last).round() as usize).map(|day| i64::from(*day))
        };
        Some((stage, [at(0.1)?, at(0.5)?, at(0.9)?]))
    };
    Coming::ALL.into_iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lots_of_equal_chance_are_one_lot() {
        let mut below = vec![0.0; 7];
        for p in [0.2, 0.7, 1.0] {
            let one = at_least(p, 10, 7);
            let three = at_least_of_lots(&[p, p, p], 10, 7, &mut below);
            assert!((one - three).abs() < 1e-12, "{p}: {one} {three}");
        }
        // Two bulbs with chances ½ and 1: both in one half of cases.
        let both = at_least_of_lots(&[0.5, 1.0], 2, 2, &mut below[..2]);
        assert!((both - 0.5).abs() < 1e-15);
    }
}
