//! Invented nurseries for checking how bulbs are spent: from the small model that advises here, and from worlds that are
//! not the model. Policies are played over the same seasons, side by side.

use bloomdue_draws::{normal, random::Random};

use super::{
    advised,
    beliefs::{Beliefs, Points, SEASONS, Truths},
};
use crate::evidence::linear::Cholesky;

/// Tries before the choice.
pub const TRIES: usize = 4;
/// Seasons in all; after the tries all bulbs get what was chosen.
pub const HORIZON: usize = 6;
/// The way that would be done anyway.
const CONTROL: usize = 0;
/// Draws that advice rests on here; the screen has more.
const N_DRAWS: usize = 300;

/// What is believed before the first try, in log odds: the middle, and how far nurseries, ways, seasons, and ways within
/// a season differ (standard deviations).
const MIDDLE: f64 = 0.3;
const NURSERIES: f64 = 1.0;
const WAYS: f64 = 0.8;
const BETWEEN_SEASONS: f64 = 0.5;
const WITHIN_SEASON: f64 = 0.3;

/// How chances come about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum World {
    /// As the model has it.
    Model,
    /// Chances by the complementary log-log link: what is added to each is not log odds.
    OtherLink,
    /// Every way drifts on its own, by 0.15 in log odds a year (standard deviation).
    Drift,
    /// One way gives a fifth of its bulbs in warm years, three of ten.
    WarmYears,
    /// All chances from 5 to 95 in 100 are as likely, whatever the other ways are.
    Wide,
    /// All ways are alike.
    Equal,
}

impl World {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Model, Self::OtherLink, Self::Drift, Self::WarmYears, Self::Wide, Self::Equal];
}

/// Who shares the bulbs out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Policy {
    /// What the program advises.
    Advice,
    /// Equal groups once, then all to the best percentage over all tries.
    BestPercentage,
    /// Equal groups once, then all to the best percentage of the last try.
    LastBest,
    /// Equal groups in every try.
    Equal,
    /// By chance, as often as each is believed the best (Thompson sampling).
    Thompson,
    /// Who knows the truth.
    Truth,
}

impl Policy {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Advice, Self::BestPercentage, Self::LastBest, Self::Equal, Self::Thompson, Self::Truth];

    /// Whether a notebook is enough for it.
    pub fn is_of_a_notebook(self) -> bool {
        matches!(self, Self::BestPercentage | Self::LastBest | Self::Equal)
    }
}

/// What came of a policy in one nursery.
#[derive(Clone, Copy, Debug)]
pub struct Played {
    /// Bulbs in time over all seasons, as expected in them.
    pub in_time: f64,
    /// By how much the way chosen after the tries is better for good than what would be done anyway: chance of one bulb.
    pub gained: f64,
    /// By how much the best way is.
    pub could_be_gained: f64,
}

/// A nursery: the chances that last, as they are after the tries, and those of each season.
struct Nature {
    lasting: Vec<f64>,
    seasons: Vec<Vec<f64>>,
}

/// Seasons over which chances that last are taken together.
const MANY_SEASONS: usize = 200;

impl Nature {
    fn of(world: World, n_ways: usize, random: &mut Random) -> Self {
        let mut some = |scale: f64| scale * normal::draw(random);
        let nursery = MIDDLE + some(NURSERIES);
        let own: Vec<f64> = (0..n_ways).map(|_| some(if world == World::Equal { 0.0 } else { WAYS })).collect();
        let drift: Vec<f64> = (0..n_ways).map(|_| some(0.15)).collect();
        let wide: Vec<f64> = (0..n_ways).map(|_| ln_odds(0.05 + 0.9 * random.unit())).collect();
        let fails = random.below(n_ways);
        let mut season = |year: f64| -> Vec<f64> {
            let shared = BETWEEN_SEASONS * normal::draw(random);
            let is_warm = random.unit() < 0.3;
            let chance = |way: usize, random: &mut Random| {
                let within = if world == World::Equal { 0.0 } else { WITHIN_SEASON * normal::draw(random) };
                let sum = nursery + own[way] + shared + within;
                match world {
                    World::OtherLink => 1.0 - (-(0.8 * sum - 0.4).exp()).exp(),
                    World::Drift => of_ln_odds(sum + drift[way] * year),
                    World::WarmYears if is_warm && way == fails => 0.2 * of_ln_odds(sum),
                    World::Wide => of_ln_odds(wide[way] + 0.6 * shared),
                    World::Model | World::WarmYears | World::Equal => of_ln_odds(sum),
                }
            };
            (0..n_ways).map(|way| chance(way, random)).collect()
        };
        let seasons: Vec<Vec<f64>> = (0..HORIZON).map(|year| season(year as f64)).collect();
        let mut lasting = vec![0.0; n_ways];
        for n in 0..MANY_SEASONS {
            // The years for which the choice is made.
            let year = TRIES + n % (HORIZON - TRIES);
            lasting.iter_mut().zip(season(year as f64)).for_each(|(sum, own)| *sum += own / MANY_SEASONS as f64);
        }
        Self { lasting, seasons }
    }
}

fn of_ln_odds(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn ln_odds(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

/// In time, and of how many, by way.
type Counts = Vec<(u32, u32)>;

/// Draws of what may be true after some tries: the small model with its log odds normal around the likeliest ones
/// (Laplace's approximation).
fn truths(tries: &[Counts], n_ways: usize, random: &mut Random) -> Truths {
    // Numbers: the nursery, the ways, the seasons, and each way within each season that has bulbs of it.
    let mut deviations = vec![NURSERIES];
    deviations.extend(vec![WAYS; n_ways]);
    deviations.extend(vec![BETWEEN_SEASONS; tries.len()]);
    let mut seen = Vec::new();
    for (season, counts) in tries.iter().enumerate() {
        for (way, (x, n)) in counts.iter().enumerate().filter(|(_, (_, n))| *n > 0) {
            seen.push(([0, 1 + way, 1 + n_ways + season, deviations.len()], f64::from(*x), f64::from(*n)));
            deviations.push(WITHIN_SEASON);
        }
    }
    let size = deviations.len();
    let mut numbers = vec![0.0; size];
    let mut factor = None;
    for _ in 0..12 {
        let mut slope: Vec<f64> = numbers.iter().zip(&deviations).map(|(x, sd)| -x / (sd * sd)).collect();
        let mut curve = vec![0.0; size * size];
        deviations.iter().enumerate().for_each(|(at, sd)| curve[at * size + at] = 1.0 / (sd * sd));
        for (terms, x, n) in &seen {
            let p = of_ln_odds(MIDDLE + terms.iter().map(|at| numbers[*at]).sum::<f64>());
            for a in terms {
                slope[*a] += x - n * p;
                terms.iter().for_each(|b| curve[a * size + b] += n * p * (1.0 - p));
            }
        }
        let Some(found) = Cholesky::new(&curve, size) else { break };
        let step = found.solve(&slope);
        numbers.iter_mut().zip(&step).for_each(|(number, step)| *number += step);
        factor = Some(found);
        if step.iter().all(|step| step.abs() < 1e-6) {
            break;
        }
    }
    let mut truths = Truths::new(n_ways, None);
    for _ in 0..N_DRAWS {
        let z: Vec<f64> = (0..size).map(|_| normal::draw(random)).collect();
        let off = factor.as_ref().map_or_else(|| vec![0.0; size], |factor| factor.backward(&z));
        let lasting: Vec<f64> =
            (0..n_ways).map(|way| MIDDLE + numbers[0] + off[0] + numbers[1 + way] + off[1 + way]).collect();
        for _ in 0..SEASONS {
            let shared = BETWEEN_SEASONS * normal::draw(random);
            let own = lasting.iter().map(|sum| of_ln_odds(sum + shared + WITHIN_SEASON * normal::draw(random)));
            truths.push(own.collect::<Vec<f64>>());
        }
    }
    truths
}

/// Plays one policy in one nursery: [`TRIES`] tries of so many bulbs each, then the rest of the [`HORIZON`] with what was
/// chosen. The same seed is the same nursery for every policy.
pub fn play(world: World, n_ways: usize, n_bulbs: u32, policy: Policy, points: &Points, seed: u64) -> Played {
    let nature = Nature::of(world, n_ways, &mut Random::new(seed));
    let mut random = Random::new(seed ^ 0x706c_6179);
    let mut tries: Vec<Counts> = Vec::new();
    let mut in_time = 0.0;
    for season in &nature.seasons[..TRIES] {
        let n = shared_out(policy, &nature, &tries, n_ways, n_bulbs, points, &mut random);
        in_time += expected(&n, season);
        let came = |(n, chance): (&u32, &f64)| ((0..*n).filter(|_| random.unit() < *chance).count() as u32, *n);
        tries.push(n.iter().zip(season).map(came).collect());
    }
    let chosen = match policy {
        Policy::Truth => first_best(&nature.lasting),
        Policy::BestPercentage | Policy::Equal => first_best(&percentages(&tries, n_ways)),
        Policy::LastBest => first_best(&percentages(&tries[TRIES - 1..], n_ways)),
        Policy::Advice | Policy::Thompson => Beliefs::of(&truths(&tries, n_ways, &mut random)).best(),
    };
    for season in &nature.seasons[TRIES..] {
        in_time += f64::from(n_bulbs) * season[chosen];
    }
    let over = |way: usize| nature.lasting[way] - nature.lasting[CONTROL];
    Played { in_time, gained: over(chosen), could_be_gained: over(first_best(&nature.lasting)) }
}

fn expected(n: &[u32], season: &[f64]) -> f64 {
    n.iter().zip(season).map(|(n, chance)| f64::from(*n) * chance).sum()
}

fn shared_out(
    policy: Policy,
    nature: &Nature,
    tries: &[Counts],
    n_ways: usize,
    n_bulbs: u32,
    points: &Points,
    random: &mut Random,
) -> Vec<u32> {
    let all_to = |way: usize| {
        let mut n = vec![0; n_ways];
        n[way] = n_bulbs;
        n
    };
    let equal = || {
        let k = n_ways as u32;
        (0..k).map(|way| n_bulbs / k + u32::from(way < n_bulbs % k)).collect::<Vec<u32>>()
    };
    match policy {
        Policy::Truth => all_to(first_best(&nature.lasting)),
        Policy::Equal => equal(),
        Policy::BestPercentage | Policy::LastBest if tries.is_empty() => equal(),
        Policy::BestPercentage => all_to(first_best(&percentages(tries, n_ways))),
        Policy::LastBest => all_to(first_best(&percentages(&tries[tries.len() - 1..], n_ways))),
        Policy::Advice => {
            let beliefs = Beliefs::of(&truths(tries, n_ways, random));
            advised(&beliefs, points, CONTROL, n_bulbs, (HORIZON - tries.len()) as u32)
        }
        Policy::Thompson => {
            let best = truths(tries, n_ways, random).best();
            let mut n = vec![0; n_ways];
            for _ in 0..n_bulbs {
                let (mut way, mut left) = (0, random.unit());
                while way + 1 < n_ways && left >= best[way] {
                    left -= best[way];
                    way += 1;
                }
                n[way] += 1;
            }
            n
        }
    }
}

/// The percentages that a notebook adds up; a way without bulbs has none.
fn percentages(tries: &[Counts], n_ways: usize) -> Vec<f64> {
    let of = |way: usize| {
        let all = tries.iter().map(|counts| counts[way]);
        let (x, n) = all.fold((0, 0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        if n == 0 { -1.0 } else { f64::from(x) / f64::from(n) }
    };
    (0..n_ways).map(of).collect()
}

/// The first of the best.
fn first_best(of: &[f64]) -> usize {
    (1..of.len()).fold(0, |best, at| if of[at] > of[best] + 1e-9 { at } else { best })
}
