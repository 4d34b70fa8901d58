//! Bulbs that are yet to be brought on: what a new try may do, counted from the day its rest ends.

use bloomdue_draws::{normal, random::Random};

use super::{
    data::Data,
    design::{Alike, Design},
    fit::Fit,
    futures::{Pace, Path, Wanted, shows, weather},
};

/// Bulbs of a try to come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ahead {
    /// Index of their treatment, when it was tried before.
    pub(crate) treatment: Option<u32>,
    /// Index of their lot, when it was forced before.
    pub(crate) lot: Option<u32>,
    /// Days of rest.
    pub(crate) rest_days: i32,
}

/// Possible days of the stages since the end of rest: for each of up to `n_draws` draws, `n_bulbs` bulbs that share
/// what is not known of the try, of a new treatment or lot, and of the weather.
pub(crate) fn ahead(data: &Data, fit: &Fit, what: Ahead, n_draws: usize, n_bulbs: usize) -> Vec<Vec<Path>> {
    let (design, _) = Design::of(data);
    let alike = Alike { levels: [what.treatment, what.lot, None], rest_days: Some(what.rest_days) };
    let is_new = [what.treatment.is_none(), what.lot.is_none(), true];
    let mut random = Random::new(fit.seed ^ 0x6168_6561_645f_5f5f);
    let step = fit.n_draws().div_ceil(n_draws.max(1)).max(1);
    let draws = (0..fit.n_draws()).step_by(step);
    draws
        .map(|n| {
            let draw = fit.draw(n, &design);
            let (mut medians, mut log_odds) = draw.of(&design, alike);
            for (which, _) in is_new.iter().enumerate().filter(|(_, new)| **new) {
                for (k, median) in medians.iter_mut().enumerate() {
                    *median += draw.deviation(k, which) * normal::draw(&mut random);
                }
                log_odds += draw.deviation(0, 3 + which) * normal::draw(&mut random);
            }
            let pace = Pace { medians, spreads: std::array::from_fn(|step| draw.spread(step)), log_odds };
            let weather = weather(&mut random);
            (0..n_bulbs).map(|_| weather.path(&pace.run(0, 0.0, 0.0, &mut random), 0.0)).collect()
        })
        .collect()
}

/// What is asked of bulbs of a try to come: to show something on at least one of these days, counted from the end of
/// their rest.
#[derive(Clone, Copy, Debug)]
pub(crate) struct InDays {
    pub(crate) what: Ahead,
    pub(crate) wanted: Wanted,
    pub(crate) from: i64,
    pub(crate) to: i64,
}

/// The draws that are looked at, of at most so many.
pub(crate) fn some_draws(fit: &Fit, most: usize) -> impl Iterator<Item = usize> + use<> {
    (0..fit.n_draws()).step_by(fit.n_draws().div_ceil(most.max(1)).max(1))
}

/// For each of some draws and of `n_seasons` seasons the share of `n_bulbs` bulbs of each kind that shows what is asked.
/// In one draw all seasons share what lasts, and in one season all kinds share what is not known of the try and of the
/// weather, so that they can be set beside each other.
pub(crate) fn seasons(
    data: &Data,
    fit: &Fit,
    asked: &[InDays],
    draws: &[usize],
    n_seasons: usize,
    n_bulbs: u32,
) -> Vec<Vec<f64>> {
    let (design, _) = Design::of(data);
    let mut all = Vec::with_capacity(draws.len() * n_seasons);
    for n in draws {
        // Each draw has its own stream: in which portions they are made changes nothing.
        let mut random =
            Random::new(fit.seed ^ 0x7365_6173_6f6e_7300 ^ (*n as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let draw = fit.draw(*n, &design);
        let deviate = |which: usize, random: &mut Random| -> ([f64; 4], f64) {
            let steps = std::array::from_fn(|step| draw.deviation(step, which) * normal::draw(random));
            (steps, draw.deviation(0, 3 + which) * normal::draw(random))
        };
        let add = |to: &mut ([f64; 4], f64), more: ([f64; 4], f64)| {
            to.0.iter_mut().zip(more.0).for_each(|(to, more)| *to += more);
            to.1 += more.1;
        };
        let lot = deviate(1, &mut random);
        let lasting: Vec<([f64; 4], f64)> = asked
            .iter()
            .map(|one| {
                let levels = [one.what.treatment, one.what.lot, None];
                let mut of = draw.of(&design, Alike { levels, rest_days: Some(one.what.rest_days) });
                // A draw of its own for every kind keeps the streams of the others where they are.
                let new = deviate(0, &mut random);
                if one.what.treatment.is_none() {
                    add(&mut of, new);
                }
                if one.what.lot.is_none() {
                    add(&mut of, lot);
                }
                of
            })
            .collect();
        for _ in 0..n_seasons {
            let own = deviate(2, &mut random);
            let weather = weather(&mut random);
            let shares = asked.iter().zip(&lasting).map(|(one, lasting)| {
                let mut of = *lasting;
                add(&mut of, own);
                let pace =
                    Pace { medians: of.0, spreads: std::array::from_fn(|step| draw.spread(step)), log_odds: of.1 };
                let mut path = || weather.path(&pace.run(0, 0.0, 0.0, &mut random), 0.0);
                let shown = (0..n_bulbs).filter(|_| shows(&path(), one.wanted, one.from, one.to)).count();
                shown as f64 / f64::from(n_bulbs.max(1))
            });
            all.push(shares.collect());
        }
    }
    all
}
