//! What may come, bulb by bulb and draw by draw.

use serde::{Deserialize, Serialize};

use bloomdue_draws::futures::{Measured, Paths, Weather, shows as shows_stage};
pub(crate) use bloomdue_draws::futures::{NEVER, Pace, Path};
use bloomdue_draws::{normal, random::Random};

use super::{
    data::{Coming, Data},
    design::Design,
    fit::Fit,
    priors, rows,
};
use crate::calendar::Date;

/// What is to be seen on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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

/// Whether a path shows what is wanted on at least one of these days.
pub(crate) fn shows(path: &Path, wanted: Wanted, from: i64, to: i64) -> bool {
    shows_stage(path, wanted.begins() as usize, from, to)
}

/// The futures of all cycles under way. Bulbs that share treatment, lot or try share what is not known of it, so that
/// counts over them have honest bands.
#[derive(Clone, Debug)]
pub struct Futures {
    /// The day that days count from.
    pub today: Date,
    paths: Paths,
}

/// The weather to come in one draw.
pub(crate) fn weather(random: &mut Random) -> Weather {
    Weather {
        pace: normal::exp(priors::PACE_SD * normal::draw(random)),
        spell: normal::exp(priors::SPELL_SCALE * normal::draw_student_4(random)),
        spell_days: priors::SPELL_DAYS,
    }
}

impl Futures {
    /// Draws one future a bulb and draw of the fit.
    pub fn of(data: &Data, fit: &Fit) -> Self {
        let (design, cells) = Design::of(data);
        let waiting: Vec<usize> = data.waiting().collect();
        let bulbs: Vec<_> = waiting
            .iter()
            .map(|at| {
                let course = &data.courses[*at];
                let row = rows::row(course, cells[*at]);
                let measured = course.height.filter(|_| (1..3).contains(&row.reached));
                let measured = measured.map(|(day, mm)| Measured {
                    day: f64::from(day),
                    ln_mm: f64::from(mm.max(5)).ln(),
                    after: row.after[0],
                });
                (row, measured, data.today.days_until(course.origin) as f64)
            })
            .collect();
        let mut random = Random::new(fit.seed ^ 0x0066_7574_7572_6573);
        let mut paths = Paths::new(bulbs.len(), fit.n_draws());
        let mut paces: Vec<Option<Pace>> = Vec::new();
        for n in 0..fit.n_draws() {
            let draw = fit.draw(n, &design);
            let weather = weather(&mut random);
            paces.clear();
            paces.resize(design.cells.len(), None);
            for (at, (row, measured, origin)) in bulbs.iter().enumerate() {
                let pace = *paces[row.cell].get_or_insert_with(|| {
                    let (medians, log_odds) = draw.of(&design, design.cells[row.cell]);
                    Pace { medians, spreads: std::array::from_fn(|step| draw.spread(step)), log_odds }
                });
                let stands = (row.reached, draw.last(at), row.not_by);
                let days = match measured {
                    Some(measured) => pace.run_measured(stands, *measured, &priors::GROWTH, &mut random),
                    None => pace.run(stands.0, stands.1, stands.2, &mut random),
                };
                paths.push(weather.path(&days, *origin));
            }
        }
        Self { today: data.today, paths }
    }

    /// Cycles under way, in the order of the data.
    pub fn n_bulbs(&self) -> usize {
        self.paths.n_bulbs()
    }

    /// Draws.
    pub fn n_draws(&self) -> usize {
        self.paths.n_draws()
    }

    /// The futures of one bulb.
    pub(crate) fn of_bulb(&self, bulb: usize) -> Vec<Path> {
        self.paths.of_bulb(bulb)
    }

    /// All bulbs in each draw.
    #[cfg(any(test, feature = "testing"))]
    pub(crate) fn draws(&self) -> impl Iterator<Item = &[Path]> {
        self.paths.draws()
    }

    /// Day of the forecast's day line.
    pub(super) fn day(&self, date: Date) -> i64 {
        self.today.days_until(date)
    }

    /// How many of some bulbs show what is wanted on at least one of these days, in each draw, in order of size.
    pub fn counts(&self, bulbs: &[usize], wanted: Wanted, from: Date, to: Date) -> Vec<u32> {
        let (from, to) = (self.day(from), self.day(to));
        self.paths.counts(bulbs, wanted.begins() as usize, from, to)
    }

    /// How many of some bulbs show what is wanted on each of `n_days` days from `from` on: by day, in each draw, in
    /// order of size.
    pub fn counts_by_day(&self, bulbs: &[usize], wanted: Wanted, from: Date, n_days: usize) -> Vec<Vec<u32>> {
        let first = self.day(from);
        self.paths.counts_by_day(bulbs, wanted.begins() as usize, first, n_days)
    }
}
