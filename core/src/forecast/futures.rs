//! What may come, bulb by bulb and draw by draw.

use super::{
    chain::Row,
    data::{Coming, Data},
    design::Design,
    fit::Fit,
    normal, priors,
};
use crate::order::Order as _;
use crate::{calendar::Date, evidence::random::Random};

/// The day of a stage that never comes.
pub(crate) const NEVER: i16 = i16::MAX;
/// A stage so far off is as good as none.
const FURTHEST_DAYS: f64 = 30_000.0;
/// Own paths tried for each draw of a bulb whose scape was measured.
const N_PATHS: usize = 12;

/// What is to be seen on a day.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Wanted {
    /// Fit to sell, and not over.
    FitToSell,
    /// In flower.
    InFlower,
}

impl Wanted {
    /// The stage with which it begins.
    pub fn begins(self) -> Coming {
        match self {
            Self::FitToSell => Coming::FitToSell,
            Self::InFlower => Coming::FirstFlower,
        }
    }
}

/// One possible future of one bulb: the days, counted from the day of the forecast, on which it would first be seen in
/// each stage of [`Coming::ALL`].
pub(crate) type Path = [i16; 4];

/// First and last day on which a path shows what is wanted.
fn span(path: &Path, wanted: Wanted) -> Option<(i64, i64)> {
    let from = path[wanted.begins() as usize];
    let to = path[3];
    (from != NEVER && from < to).then(|| {
        let last = if to == NEVER {
            i64::MAX
        } else {
            i64::from(to) - 1
        };
        (i64::from(from), last)
    })
}

/// Whether a path shows what is wanted on at least one of these days.
pub(crate) fn shows(path: &Path, wanted: Wanted, from: i64, to: i64) -> bool {
    span(path, wanted).is_some_and(|(first, last)| first <= to && last >= from)
}

/// The futures of all cycles under way. Bulbs that share treatment, lot or try share what is not known of it, so that
/// counts over them have honest bands.
#[derive(Clone, Debug)]
pub struct Futures {
    /// The day that days count from.
    pub today: Date,
    /// By draw, then by cycle under way.
    paths: Vec<Path>,
    n_bulbs: usize,
}

/// Day of the calendar on which something of the day line is first seen.
pub(super) fn first_seen(days: f64) -> i16 {
    if days > FURTHEST_DAYS {
        NEVER
    } else {
        days.ceil() as i16
    }
}

/// How much longer everything takes from today on in one draw: the same for all bulbs, and no record knows it yet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weather {
    /// Times this, all the way.
    pace: f64,
    /// Times this besides, in the first days.
    spell: f64,
}

/// The weather to come in one draw.
pub(crate) fn weather(random: &mut Random) -> Weather {
    Weather {
        pace: (priors::PACE_SD * normal::draw(random)).exp(),
        spell: (priors::SPELL_SCALE * normal::draw_student_4(random)).exp(),
    }
}

/// A day from today on, in this weather.
pub(super) fn in_weather(day: f64, weather: Weather) -> f64 {
    if day <= 0.0 {
        return day;
    }
    let near = day.min(priors::SPELL_DAYS);
    weather.pace * (weather.spell * near + day - near)
}

/// The numbers that the steps of bulbs alike are drawn with.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pace {
    pub(crate) medians: [f64; 4],
    pub(crate) spreads: [f64; 4],
    pub(crate) log_odds: f64,
}

impl Pace {
    fn step(&self, k: usize, random: &mut Random) -> f64 {
        (self.medians[k] + self.spreads[k] * normal::draw(random)).exp()
    }

    /// A duration that is longer than `least`.
    fn step_longer(&self, k: usize, least: f64, random: &mut Random) -> f64 {
        if least <= 0.0 {
            return self.step(k, random);
        }
        let u = (least.ln() - self.medians[k]) / self.spreads[k];
        (self.medians[k] + self.spreads[k] * normal::draw_above(random, u)).exp()
    }

    /// The days of the stages of a bulb that has reached `reached` of them, the last on `last`, and not the next by
    /// `not_by`; infinite when it stays blind.
    fn run(&self, reached: usize, last: f64, not_by: f64, random: &mut Random) -> [f64; 4] {
        let mut days = [f64::INFINITY; 4];
        if reached == 0 {
            let ln_late = if not_by > 0.0 {
                normal::ln_upper((not_by.ln() - self.medians[0]) / self.spreads[0])
            } else {
                0.0
            };
            let late = 1.0 / (1.0 + (self.log_odds - ln_late).exp());
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
            at += if k == reached {
                self.step_longer(k, not_by - at, random)
            } else {
                self.step(k, random)
            };
            *day = at;
        }
        days
    }

    /// The path of a bulb that starts on day `origin`.
    pub(crate) fn start(&self, origin: i64, weather: Weather, random: &mut Random) -> Path {
        let days = self.run(0, 0.0, 0.0, random);
        days.map(|day| first_seen(origin as f64 + in_weather(day, weather)))
    }
}

impl Futures {
    /// Draws one future a bulb and draw of the fit.
    pub fn of(data: &Data, fit: &Fit) -> Self {
        let (design, cells) = Design::of(data);
        let waiting: Vec<usize> = data.waiting().collect();
        let rows: Vec<Row> = waiting
            .iter()
            .map(|at| Row::of(&data.courses[*at].stages, cells[*at]))
            .collect();
        let mut random = Random::new(fit.seed ^ 0x0066_7574_7572_6573);
        let mut paths = Vec::with_capacity(fit.n_draws() * waiting.len());
        let mut paces: Vec<Option<Pace>> = Vec::new();
        for n in 0..fit.n_draws() {
            let draw = fit.draw(n, &design);
            let weather = weather(&mut random);
            paces.clear();
            paces.resize(design.cells.len(), None);
            for (at, row) in rows.iter().enumerate() {
                let pace = *paces[row.cell].get_or_insert_with(|| {
                    let (medians, log_odds) = draw.of(&design, design.cells[row.cell]);
                    Pace {
                        medians,
                        spreads: std::array::from_fn(|step| draw.spread(step)),
                        log_odds,
                    }
                });
                let course = &data.courses[waiting[at]];
                let last = draw.last(at);
                let days = match course.height.filter(|_| (1..3).contains(&row.reached)) {
                    Some(measured) => measured_path(&pace, row, last, measured, &mut random),
                    None => pace.run(row.reached, last, row.not_by, &mut random),
                };
                let origin = data.today.days_until(course.origin) as f64;
                paths.push(days.map(|day| first_seen(in_weather(day + origin, weather))));
            }
        }
        Self {
            today: data.today,
            paths,
            n_bulbs: waiting.len(),
        }
    }

    /// Cycles under way, in the order of the data.
    pub fn n_bulbs(&self) -> usize {
        self.n_bulbs
    }

    /// Draws.
    pub fn n_draws(&self) -> usize {
        self.paths.len().checked_div(self.n_bulbs).unwrap_or(0)
    }

    /// The futures of one bulb.
    pub(crate) fn of_bulb(&self, bulb: usize) -> impl Iterator<Item = &Path> {
        self.paths.iter().skip(bulb).step_by(self.n_bulbs.max(1))
    }

    /// All bulbs in each draw.
    pub(crate) fn draws(&self) -> impl Iterator<Item = &[Path]> {
        self.paths.chunks_exact(self.n_bulbs.max(1))
    }

    /// Day of the forecast's day line.
    fn day(&self, date: Date) -> i64 {
        self.today.days_until(date)
    }

    /// The chance of a bulb to show what is wanted on at least one of these days, 0 to 1.
    pub fn chance(&self, bulb: usize, wanted: Wanted, from: Date, to: Date) -> f64 {
        let (from, to) = (self.day(from), self.day(to));
        let n = self
            .of_bulb(bulb)
            .filter(|path| shows(path, wanted, from, to))
            .count();
        n as f64 / self.n_draws().max(1) as f64
    }

    /// How many of some bulbs show what is wanted on at least one of these days, in each draw, in order of size.
    pub fn counts(&self, bulbs: &[usize], wanted: Wanted, from: Date, to: Date) -> Vec<u32> {
        let (from, to) = (self.day(from), self.day(to));
        let count = |paths: &[Path]| {
            let shown = bulbs
                .iter()
                .filter(|bulb| shows(&paths[**bulb], wanted, from, to));
            shown.count() as u32
        };
        let mut counts: Vec<u32> = self.draws().map(count).collect();
        counts.order();
        counts
    }

    /// How many of some bulbs show what is wanted on each of `n_days` days from `from` on: by day, in each draw, in
    /// order of size.
    pub fn counts_by_day(
        &self,
        bulbs: &[usize],
        wanted: Wanted,
        from: Date,
        n_days: usize,
    ) -> Vec<Vec<u32>> {
        let first = self.day(from);
        let mut by_day = vec![Vec::with_capacity(self.n_draws()); n_days];
        let mut change = vec![0_i32; n_days + 1];
        for paths in self.draws() {
            change.fill(0);
            for bulb in bulbs {
                let Some((begins, ends)) = span(&paths[*bulb], wanted) else {
                    continue;
                };
                let begins = (begins - first).max(0);
                let ends = ends
                    .saturating_sub(first)
                    .saturating_add(1)
                    .min(n_days as i64);
                if begins < ends {
                    change[begins as usize] += 1;
                    change[ends as usize] -= 1;
                }
            }
            let mut now = 0;
            for (day, change) in by_day.iter_mut().zip(&change) {
                now += change;
                day.push(now.unsigned_abs());
            }
        }
        for day in &mut by_day {
            day.order();
        }
        by_day
    }
}

/// Height of the scape at first flower: 46 to 76 cm (Iowa State Extension 2005) as ln mm and spread.
const LN_FINAL_MM: f64 = 6.38;
const FINAL_SPREAD: f64 = 0.22;
/// Height as a share of the final one is the share of the time from sight to first flower to this power; read from one
/// plant measured daily from 9 to 75 cm (2017), hence the wide error.
const GROWTH_POWER: f64 = 1.3;
const GROWTH_ERROR: f64 = 0.25;

/// A path that agrees with a measured scape: of several, one is taken by how likely it makes the height.
fn measured_path(
    pace: &Pace,
    row: &Row,
    last: f64,
    (day, mm): (i32, u32),
    random: &mut Random,
) -> [f64; 4] {
    let day = f64::from(day);
    let ln_mm = f64::from(mm.max(5)).ln();
    // The scape came in sight on `last`, or some days before the pot became fit to sell.
    let sight = if row.reached == 1 {
        last
    } else {
        (last - pace.medians[1].exp()).max(row.after[0])
    };
    let variance = FINAL_SPREAD * FINAL_SPREAD + GROWTH_ERROR * GROWTH_ERROR;
    let mut chosen = [f64::INFINITY; 4];
    let mut total = 0.0;
    for _ in 0..N_PATHS {
        let days = pace.run(row.reached, last, row.not_by, random);
        let share = ((day - sight) / (days[2] - sight)).clamp(0.02, 1.0);
        let z = ln_mm - LN_FINAL_MM - GROWTH_POWER * share.ln();
        let weight = (-0.5 * z * z / variance).exp() + 1e-12;
        total += weight;
        if random.unit() * total < weight {
            chosen = days;
        }
    }
    chosen
}
