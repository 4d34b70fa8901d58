//! What may come: possible days of the stages to come, and counts over many of them.

use crate::{
    normal::{self, exp},
    random::Random,
};

/// The day of a stage that never comes.
pub const NEVER: i16 = i16::MAX;
/// A stage so far off is as good as none.
const FURTHEST_DAYS: f64 = 30_000.0;

/// One possible future of one bulb: the days on which it would first be seen in each of the four stages, counted from
/// the day of the forecast.
pub type Path = [i16; 4];

/// How much longer everything takes from today on in one draw: the same for all bulbs, and no record knows it yet.
#[derive(Clone, Copy, Debug)]
pub struct Weather {
    /// Times this, all the way.
    pub pace: f64,
    /// Times this besides, in the first days.
    pub spell: f64,
    /// So many days.
    pub spell_days: f64,
}

impl Weather {
    /// A day from today on, in this weather.
    pub fn day(&self, day: f64) -> f64 {
        if day <= 0.0 {
            return day;
        }
        let near = day.min(self.spell_days);
        self.pace * (self.spell * near + day - near)
    }

    /// The path of days of stages, where day 0 of these is `origin` on the day line.
    pub fn path(&self, days: &[f64; 4], origin: f64) -> Path {
        days.map(|day| first_seen(self.day(day + origin)))
    }
}

/// Day of the calendar on which something of the day line is first seen.
pub fn first_seen(days: f64) -> i16 {
    if days > FURTHEST_DAYS { NEVER } else { days.ceil() as i16 }
}

/// The numbers that the steps of bulbs alike are drawn with.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// Medians, ln days.
    pub medians: [f64; 4],
    /// Spreads.
    pub spreads: [f64; 4],
    /// Log odds of staying blind.
    pub log_odds: f64,
}

impl Pace {
    fn step(&self, k: usize, random: &mut Random) -> f64 {
        exp(self.medians[k] + self.spreads[k] * normal::draw(random))
    }

    /// A duration that is longer than `least`.
    fn step_longer(&self, k: usize, least: f64, random: &mut Random) -> f64 {
        if least <= 0.0 {
            return self.step(k, random);
        }
        let u = (normal::ln(least) - self.medians[k]) / self.spreads[k];
        exp(self.medians[k] + self.spreads[k] * normal::draw_above(random, u))
    }

    /// The days of the stages of a bulb that has reached `reached` of them, the last on `last`, and not the next by
    /// `not_by`; infinite when it stays blind.
    pub fn run(&self, reached: usize, last: f64, not_by: f64, random: &mut Random) -> [f64; 4] {
        let mut days = [f64::INFINITY; 4];
        if reached == 0 {
            let ln_late = if not_by > 0.0 {
                normal::ln_upper((normal::ln(not_by) - self.medians[0]) / self.spreads[0])
            } else {
                0.0
            };
            let late = 1.0 / (1.0 + exp(self.log_odds - ln_late));
            if random.unit() >= late {
                return days;
            }
        }
        let mut at = last;
        for (k, day) in days.iter_mut().enumerate() {
            if k < reached {
                *day = last;
                continue;
            }
            at += if k == reached { self.step_longer(k, not_by - at, random) } else { self.step(k, random) };
            *day = at;
        }
        days
    }
}

/// How a scape grows from sight to first flower.
#[derive(Clone, Copy, Debug)]
pub struct Growth {
    /// Height at first flower, ln mm.
    pub ln_final_mm: f64,
    /// Its spread between scapes.
    pub final_spread: f64,
    /// Height as a share of the final one is the share of the time to this power …
    pub power: f64,
    /// … with this error of its logarithm.
    pub error: f64,
}

/// Own paths tried for each draw of a bulb whose scape was measured.
const N_PATHS: usize = 12;

/// A measured scape.
#[derive(Clone, Copy, Debug)]
pub struct Measured {
    /// Day it was measured.
    pub day: f64,
    /// ln of its height in mm.
    pub ln_mm: f64,
    /// No earlier than this did it come in sight.
    pub after: f64,
}

impl Pace {
    /// A path that agrees with a measured scape: of several, one is taken by how likely it makes the height.
    pub fn run_measured(
        &self,
        (reached, last, not_by): (usize, f64, f64),
        measured: Measured,
        growth: &Growth,
        random: &mut Random,
    ) -> [f64; 4] {
        // The scape came in sight on `last`, or some days before the pot became fit to sell.
        let sight = if reached == 1 { last } else { (last - exp(self.medians[1])).max(measured.after) };
        let variance = growth.final_spread * growth.final_spread + growth.error * growth.error;
        let mut chosen = [f64::INFINITY; 4];
        let mut total = 0.0;
        for _ in 0..N_PATHS {
            let days = self.run(reached, last, not_by, random);
            let share = ((measured.day - sight) / (days[2] - sight)).clamp(0.02, 1.0);
            let z = measured.ln_mm - growth.ln_final_mm - growth.power * normal::ln(share);
            let weight = exp(-0.5 * z * z / variance) + 1e-12;
            total += weight;
            if random.unit() * total < weight {
                chosen = days;
            }
        }
        chosen
    }
}

/// First and last day on which a path shows what begins with the stage `begins` and ends with the last one.
pub fn span(path: &Path, begins: usize) -> Option<(i64, i64)> {
    let (from, to) = (path[begins], path[3]);
    (from != NEVER && from < to).then(|| {
        let last = if to == NEVER { i64::MAX } else { i64::from(to) - 1 };
        (i64::from(from), last)
    })
}

/// Whether a path shows it on at least one of these days.
pub fn shows(path: &Path, begins: usize, from: i64, to: i64) -> bool {
    span(path, begins).is_some_and(|(first, last)| first <= to && last >= from)
}

/// The days by which these shares of the paths that reach a stage at all have reached it, for ascending shares; nothing
/// when none does.
pub fn points(paths: &[Path], stage: usize, shares: [f64; 3]) -> Option<[i16; 3]> {
    let days = || paths.iter().map(|path| path[stage]).filter(|day| *day != NEVER);
    let (first, last) = (days().min()?, days().max()?);
    let mut tally = Tally::new(1, (i32::from(last) - i32::from(first)) as usize);
    let mut n = 0;
    for day in days() {
        tally.note(0, (i32::from(day) - i32::from(first)) as usize);
        n += 1;
    }
    let (mut at, mut by) = (0, tally.times[0] as usize);
    Some(shares.map(|share| {
        let nth = (share * f64::from(n - 1)).round() as usize;
        while by <= nth {
            at += 1;
            by += tally.times[at] as usize;
        }
        first + at as i16
    }))
}

/// The paths of some bulbs, by draw, then by bulb.
#[derive(Clone, Debug)]
pub struct Paths {
    n_bulbs: usize,
    all: Vec<Path>,
}

impl Paths {
    /// Room for so many.
    pub fn new(n_bulbs: usize, n_draws: usize) -> Self {
        let all = Vec::with_capacity(n_bulbs * n_draws);
        Self { n_bulbs, all }
    }

    /// The next bulb's, or the next draw's first.
    pub fn push(&mut self, path: Path) {
        self.all.push(path);
    }

    /// Bulbs.
    pub fn n_bulbs(&self) -> usize {
        self.n_bulbs
    }

    /// Draws.
    pub fn n_draws(&self) -> usize {
        self.all.len().checked_div(self.n_bulbs).unwrap_or(0)
    }

    /// The paths of one bulb.
    pub fn of_bulb(&self, bulb: usize) -> Vec<Path> {
        let own = self.all.iter().skip(bulb).step_by(self.n_bulbs.max(1));
        own.copied().collect()
    }

    /// All bulbs in each draw.
    pub fn draws(&self) -> impl Iterator<Item = &[Path]> {
        self.all.chunks_exact(self.n_bulbs.max(1))
    }

    /// How many of some bulbs show something on at least one of these days, in each draw, in order of size.
    pub fn counts(&self, bulbs: &[usize], begins: usize, from: i64, to: i64) -> Vec<u32> {
        let mut tally = Tally::new(1, bulbs.len());
        for paths in self.draws() {
            let own = bulbs.iter().map(|bulb| &paths[*bulb]);
            let shown = own.filter(|path| shows(path, begins, from, to));
            tally.note(0, shown.count());
        }
        tally.sorted(0)
    }

    /// How many of some bulbs show something on each of `n_days` days from `first` on: by day, in each draw, in order of
    /// size.
    pub fn counts_by_day(&self, bulbs: &[usize], begins: usize, first: i64, n_days: usize) -> Vec<Vec<u32>> {
        let mut tally = Tally::new(n_days, bulbs.len());
        let mut change = vec![0_i32; n_days + 1];
        for paths in self.draws() {
            change.fill(0);
            for bulb in bulbs {
                let Some((begins, ends)) = span(&paths[*bulb], begins) else {
                    continue;
                };
                let begins = (begins - first).max(0);
                let ends = ends.saturating_sub(first).saturating_add(1);
                let ends = ends.min(n_days as i64);
                if begins < ends {
                    change[begins as usize] += 1;
                    change[ends as usize] -= 1;
                }
            }
            let mut now = 0;
            for (day, change) in change[..n_days].iter().enumerate() {
                now += change;
                tally.note(day, now.unsigned_abs() as usize);
            }
        }
        (0..n_days).map(|day| tally.sorted(day)).collect()
    }
}

/// How often each number from 0 to a greatest one was counted: sorting without comparing.
struct Tally {
    n_numbers: usize,
    times: Vec<u32>,
}

impl Tally {
    fn new(n_rows: usize, greatest: usize) -> Self {
        let n_numbers = greatest + 1;
        let times = vec![0; n_rows * n_numbers];
        Self { n_numbers, times }
    }

    fn note(&mut self, row: usize, number: usize) {
        self.times[row * self.n_numbers + number] += 1;
    }

    fn sorted(&self, row: usize) -> Vec<u32> {
        let times = &self.times[row * self.n_numbers..][..self.n_numbers];
        let numbers = (0_u32..).zip(times);
        numbers.flat_map(|(number, times)| std::iter::repeat_n(number, *times as usize)).collect()
    }
}
