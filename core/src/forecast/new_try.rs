//! Bulbs that are yet to be brought on: what a new try may do, counted from the day its rest ends.

use bloomdue_draws::{normal, random::Random};

use super::{
    data::Data,
    design::{Alike, Design},
    fit::Fit,
    futures::{Pace, Path, weather},
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
