//! The light of a place through the year: what its covers let through, as they are labelled and as it was read there.
//!
//! Labels multiply: two covers that block half and a fifth pass 0.5 · 0.8 of the light. A reading in the place beside one in
//! the open, by the same meter right before or after, or two photos of one card, gives the share that really comes
//! through; several give their geometric mean with its error from their scatter (Student's t on the logarithms, 90 %), never
//! less than what the means of reading can do: a tenth for a meter (common practice, no source), a third of a stop for
//! photos ([`crate::sight::shade`]). A reading without one in the open, or of a lamp, says nothing of covers.

use super::{Latitude, day::Day};
use crate::{
    calendar::Date,
    ledger::{
        body::{Light, LightOf},
        id::Id,
    },
    nursery::{State, state::Place},
    sight::shade::ERROR_STOPS,
    trial::conditions,
};

/// Error of one reading by a meter, as a share of it. Common practice, no source.
pub const METER_ERROR: f64 = 0.1;

/// Days between two points of the curve.
const STEP_DAYS: i64 = 7;

/// Two-sided 90 % quantiles of Student's t by degrees of freedom, 1 to 10; beyond that from the normal one's z by the first
/// two terms of Abramowitz & Stegun 1964, 26.7.5: z + (z³ + z)/(4ν) + (5z⁵ + 16z³ + 3z)/(96ν²).
const T_90: [f64; 10] = [6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812];

/// One day's light, mol m⁻² d⁻¹.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfDay {
    /// The day.
    pub day: Date,
    /// From sunrise to sunset, hours.
    pub hours: f64,
    /// Above the air, MJ m⁻² d⁻¹.
    pub above_the_air: f64,
    /// In the open under a clear sky.
    pub open_clear: f64,
    /// In the open under an overcast sky.
    pub open_overcast: f64,
    /// In the place under a clear sky.
    pub clear: f64,
    /// In the place under an overcast sky.
    pub overcast: f64,
}

/// The share of the light in the open that comes through: 0 to 1, or a little more where a wall throws light back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passes {
    /// The share.
    pub share: f64,
    /// From and to, 9 times in 10, where it was read.
    pub range: Option<(f64, f64)>,
    /// From how many readings; 0 for what the labels say.
    pub n: usize,
}

/// A try whose bulbs stood in the place, with the light of its days there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfTry {
    /// The run.
    pub run: Id,
    /// Its first day.
    pub from: Date,
    /// Its last day, or today.
    pub to: Date,
    /// Mean of its days under a clear sky.
    pub clear: f64,
    /// The same under an overcast sky.
    pub overcast: f64,
}

/// A class of daily light by its name in published scales.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Less than the lowest class.
    VeryLow,
    /// Low.
    Low,
    /// Medium.
    Medium,
    /// High.
    High,
    /// Very high.
    VeryHigh,
}

/// A published scale: the least of each class from low to very high, mol m⁻² d⁻¹.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Names it.
    pub key: &'static str,
    /// Where low, medium, high and very high begin.
    pub begins: [f64; 4],
}

/// The two scales that are published: one commonly used (from memory), and Torres & Lopez, Purdue HO-238-W (its classes from
/// memory). They differ, so both are named; neither says what a plant requires.
pub const SCALES: [Scale; 2] =
    [Scale { key: "common", begins: [5.0, 10.0, 20.0, 30.0] }, Scale { key: "purdue", begins: [3.0, 6.0, 12.0, 18.0] }];

impl Scale {
    /// The class of a daily light integral.
    pub fn class(&self, dli: f64) -> Class {
        let n = self.begins.iter().filter(|begin| dli >= **begin).count();
        [Class::VeryLow, Class::Low, Class::Medium, Class::High, Class::VeryHigh][n]
    }
}

/// The light of a place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceLight {
    /// The place.
    pub place: Id,
    /// What the labels of its covers say together.
    pub labelled: Passes,
    /// What was read there, where it was read beside the open.
    pub read: Option<Passes>,
    /// Readings that say nothing of covers: without one in the open, or of a lamp.
    pub n_without_open: usize,
    /// Today.
    pub today: OfDay,
    /// A year from a week to the next, the first of January first.
    pub year: Vec<OfDay>,
    /// Tries of which bulbs stood here, the latest first.
    pub tries: Vec<OfTry>,
}

/// Why there is no light to tell of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLight {
    /// The place is not known.
    NoPlace,
    /// Nobody said where the nursery lies, or two said it differently.
    NoLatitude,
    /// No daylight comes into such a place.
    Dark,
}

/// What the labels of the covers of a place say together.
pub fn labelled(covers: impl Iterator<Item = u32>) -> Passes {
    let share = covers.map(|blocks| f64::from(100_u32.saturating_sub(blocks)) / 100.0).product();
    Passes { share, range: None, n: 0 }
}

/// One reading as a share of the open, with its error as a factor; nothing for one that says nothing of covers.
fn share(light: &Light) -> Option<(f64, f64)> {
    if light.of == Some(LightOf::Lamp) {
        return None;
    }
    let pairs = [(light.ppfd_umol, light.open_ppfd_umol), (light.lux, light.open_lux)];
    let by_meter = pairs.into_iter().find_map(|pair| match pair {
        (Some(here), Some(open)) if here > 0 && open > 0 => Some((here as f64 / open as f64, 1.0 + METER_ERROR)),
        _ => None,
    });
    let by_photos = light.passes_permille.filter(|permille| *permille > 0);
    by_meter.or_else(|| by_photos.map(|permille| (permille as f64 / 1000.0, ERROR_STOPS.exp2())))
}

/// What readings say of the share that comes through, and how many say nothing of it.
pub fn read(readings: &[Light]) -> (Option<Passes>, usize) {
    let shares: Vec<(f64, f64)> = readings.iter().filter_map(share).collect();
    let n_without = readings.len() - shares.len();
    let n = shares.len();
    if n == 0 {
        return (None, n_without);
    }
    let logs: Vec<f64> = shares.iter().map(|(share, _)| share.ln()).collect();
    let mean = logs.iter().sum::<f64>() / n as f64;
    // Of several readings none is better than the best of their means.
    let best = shares.iter().map(|(_, error)| error.ln()).fold(f64::INFINITY, f64::min);
    let mut half = best;
    if n > 1 {
        let variance = logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() / (n - 1) as f64;
        half = half.max(t_90(n - 1) * (variance / n as f64).sqrt());
    }
    let around = ((mean - half).exp(), (mean + half).exp());
    (Some(Passes { share: mean.exp(), range: Some(around), n }), n_without)
}

fn t_90(freedom: usize) -> f64 {
    const Z: f64 = 1.644_854;
    let nu = freedom as f64;
    let second = (5.0 * Z.powi(5) + 16.0 * Z.powi(3) + 3.0 * Z) / (96.0 * nu * nu);
    let beyond = Z + (Z.powi(3) + Z) / (4.0 * nu) + second;
    T_90.get(freedom.saturating_sub(1)).copied().unwrap_or(beyond)
}

/// Light of a day where so much of it comes through.
pub fn of_day(latitude: Latitude, day: Date, passes: f64) -> OfDay {
    let of = Day::on(latitude, day);
    let (open_clear, open_overcast) = (of.clear_dli(), of.overcast_dli());
    OfDay {
        day,
        hours: of.hours(),
        above_the_air: of.above_the_air(),
        open_clear,
        open_overcast,
        clear: open_clear * passes,
        overcast: open_overcast * passes,
    }
}

/// The nursery's latitude.
pub fn latitude(state: &State) -> Option<Latitude> {
    let decideg = i32::try_from(*state.latitude_decideg.settled()?).ok()?;
    Latitude::new(f64::from(decideg) / 10.0).ok()
}

/// The light of a place on a day and through its year.
///
/// # Errors
/// Why nothing can be told.
pub fn of_place(state: &State, place: Id, today: Date) -> Result<PlaceLight, NoLight> {
    let known: &Place = state.places.get(&place).ok_or(NoLight::NoPlace)?;
    let body = known.body.shown().ok_or(NoLight::NoPlace)?;
    if !body.kind.has_light() {
        return Err(NoLight::Dark);
    }
    let latitude = latitude(state).ok_or(NoLight::NoLatitude)?;
    let labelled = labelled(body.covers.iter().map(|cover| cover.blocks_percent));
    let readings: Vec<Light> = known.light.iter().map(|(_, light)| light.clone()).collect();
    let (read, n_without_open) = read(&readings);
    let passes = read.unwrap_or(labelled).share;
    let first = Date::new(today.year(), 1, 1).unwrap_or(today);
    let days = (0..53).map_while(|n| first.add_days(n * STEP_DAYS).ok()).take_while(|day| day.year() == today.year());
    Ok(PlaceLight {
        place,
        labelled,
        read,
        n_without_open,
        today: of_day(latitude, today, passes),
        year: days.map(|day| of_day(latitude, day, passes)).collect(),
        tries: tries(state, place, latitude, passes, today),
    })
}

/// Tries of which bulbs stood in a place.
fn tries(state: &State, place: Id, latitude: Latitude, passes: f64, today: Date) -> Vec<OfTry> {
    let of = |(run, known): (&Id, &crate::nursery::state::Run)| {
        let (from, to) = conditions::days(known, today)?;
        let units = known.units().iter();
        let mut bulbs = units.flat_map(|unit| state.bulbs_of_unit_on(*unit, from));
        if !bulbs.any(|bulb| bulb.places_between(from, to).contains(&place)) {
            return None;
        }
        // A mean over more days than a year has says no more.
        let days = (0..=from.days_until(to).min(366)).map_while(|n| from.add_days(n).ok());
        let lights: Vec<OfDay> = days.map(|day| of_day(latitude, day, passes)).collect();
        let mean = |of: fn(&OfDay) -> f64| lights.iter().map(of).sum::<f64>() / lights.len().max(1) as f64;
        Some(OfTry { run: *run, from, to, clear: mean(|day| day.clear), overcast: mean(|day| day.overcast) })
    };
    let mut tries: Vec<OfTry> = state.runs.iter().filter_map(of).collect();
    tries.sort_by_key(|one| std::cmp::Reverse((one.from, one.run)));
    tries
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    fn reading(here: i64, open: Option<i64>) -> Light {
        Light { ppfd_umol: Some(here), open_ppfd_umol: open, ..Light::default() }
    }

    #[test]
    fn labels_multiply_and_readings_stand_in_their_stead() {
        assert!((labelled([50, 20].into_iter()).share - 0.4).abs() < 1e-12);
        assert_eq!((labelled([0].into_iter()).share, labelled([100, 10].into_iter()).share), (1.0, 0.0));
        // One reading is as good as its meter.
        let (one, without) = read(&[reading(300, Some(1000)), reading(900, None)]);
        let one = one.unwrap();
        assert_eq!((one.n, without), (1, 1));
        assert!((one.share - 0.3).abs() < 1e-12);
        let (low, high) = one.range.unwrap();
        assert!((low - 0.3 / 1.1).abs() < 1e-9 && (high - 0.33).abs() < 1e-9);
        // Three of 0.2, 0.3 and 0.45: the middle of their logarithms, give or take t(2) s/√3 = 2.92 · 0.405 / √3 (by hand).
        let several = [reading(200, Some(1000)), reading(300, Some(1000)), reading(450, Some(1000))];
        let several = read(&several).0.unwrap();
        assert!((several.share - 0.3).abs() < 1e-12);
        let half = (several.range.unwrap().1 / 0.3).ln();
        assert!((half - 2.920 * 1.5f64.ln() / 3f64.sqrt()).abs() < 1e-3, "{half}");
        // A lamp says nothing of the sky, and photos are a third of a stop good.
        let lamp = Light { of: Some(LightOf::Lamp), ..reading(300, Some(1000)) };
        assert_eq!(read(&[lamp]), (None, 1));
        let photos = Light { passes_permille: Some(250), ..Light::default() };
        let photos = read(&[photos]).0.unwrap();
        assert!((photos.range.unwrap().1 / 0.25 - 2f64.powf(1.0 / 3.0)).abs() < 1e-9);
    }

    /// Student's t, two-sided 90 %: 1.796 for 11, 1.725 for 20 and 1.697 for 30 degrees of freedom (published tables, from
    /// memory).
    #[test]
    fn student_beyond_the_table() {
        for (freedom, expected) in [(1, 6.314), (10, 1.812), (11, 1.796), (20, 1.725), (30, 1.697)] {
            assert!((t_90(freedom) - expected).abs() < 0.01, "{freedom}: {}", t_90(freedom));
        }
    }

    /// Facts: 0.75 · R_a · 2.06 for 40° N in June 65, in January 23, at 50° N in December 12, at 20° S in June 37; overcast
    /// a third (computed from FAO-56's table with 0.45 and 4.57 µmol/J).
    #[test]
    fn daily_light_in_the_open() {
        let cases =
            [(40.0, 6, 65.0), (40.0, 1, 23.0), (50.0, 12, 12.0), (-20.0, 6, 37.0), (0.0, 6, 52.0), (20.0, 1, 41.0)];
        for (latitude, month, expected) in cases {
            let of = of_day(Latitude::new(latitude).unwrap(), Date::new(2027, month, 15).unwrap(), 0.5);
            assert!((of.open_clear - expected).abs() < 0.7, "{latitude} {month}: {}", of.open_clear);
            assert!(
                (of.open_overcast * 3.0 - of.open_clear).abs() < 1e-9 && (of.clear * 2.0 - of.open_clear).abs() < 1e-9
            );
        }
    }

    #[test]
    fn both_scales_class_a_day_and_differ() {
        let [common, purdue] = SCALES;
        assert_eq!((common.class(12.0), purdue.class(12.0)), (Class::Medium, Class::High));
        assert_eq!((common.class(4.0), purdue.class(2.9)), (Class::VeryLow, Class::VeryLow));
        assert_eq!((common.class(30.0), purdue.class(18.0)), (Class::VeryHigh, Class::VeryHigh));
    }

    fn world(latitude: Option<i64>) -> World {
        let nursery =
            latitude.map(|decideg| format!(r#"-9 mia json l_1 nursery {{"name":"N","latitude_decideg":{decideg}}}"#));
        World::of(&format!(
            r#"{}
            -9 mia json pl_1 place {{"name":"House","kind":"shade house","covers":[{{"what":"cloth","blocks_percent":50}},{{"what":"trees","blocks_percent":20}}]}}
            -9 mia json pl_2 place {{"name":"Cellar","kind":"cellar"}}
            -9 mia lot lo_1 Red
            -9 mia bulb b_1 lo_1 in=pl_1
            -9 mia bulb b_2 lo_1 in=pl_1
            -2 mia question tr_1 gr_a,gr_b
            -2 mia group gr_a tr_1 Long
            -2 mia group gr_b tr_1 Short
            -2 mia run ru_1 tr_1 0 every=7
            -2 mia rule ru_1 by scape-in-sight
            -2 mia due ru_1 30
            -2 mia allot ru_1 drawn gr_a=b_1 gr_b=b_2
            0 mia run-started ru_1"#,
            nursery.unwrap_or_default()
        ))
    }

    #[test]
    fn a_place_has_its_year_with_its_tries_or_says_why_not() {
        let state = world(Some(400)).state();
        let found = of_place(&state, id("pl_1"), day(60)).unwrap();
        assert!((found.labelled.share - 0.4).abs() < 1e-12 && found.read.is_none());
        assert_eq!((found.year.len(), found.year[0].day), (53, day(0)));
        let [of_try] = found.tries.as_slice() else { panic!("{:?}", found.tries) };
        assert_eq!((of_try.from, of_try.to), (day(0), day(30)));
        assert!(found.year[0].clear < of_try.clear && of_try.clear < found.today.clear);
        assert_eq!(of_place(&state, id("pl_2"), day(60)), Err(NoLight::Dark));
        assert_eq!(of_place(&state, id("pl_9"), day(60)), Err(NoLight::NoPlace));
        assert_eq!(of_place(&world(None).state(), id("pl_1"), day(60)), Err(NoLight::NoLatitude));
        // Read there, it is the place's own; the labels stand beside.
        let read = world(Some(400)).and(r#"5 mia json pl_1 light {"ppfd_umol":240,"open_ppfd_umol":1200,"of":"sun"}"#);
        let read = of_place(&read.state(), id("pl_1"), day(60)).unwrap();
        assert!(
            (read.read.unwrap().share - 0.2).abs() < 1e-12 && (read.today.clear * 2.0 - found.today.clear).abs() < 1e-9
        );
    }

    /// Poles, the equator, the southern half, 29 February: every day of every year has its light.
    #[test]
    fn every_latitude_and_day_has_its_light() {
        for decideg in [-900, -665, -230, 0, 1, 665, 900] {
            let state = world(Some(decideg)).state();
            for today in ["2028-02-29", "2028-06-21", "2028-12-31", "2027-12-31"] {
                let found = of_place(&state, id("pl_1"), today.parse().unwrap()).unwrap();
                assert_eq!(found.year.len(), 53);
                let all = found.year.iter().chain([&found.today]);
                for of in all {
                    assert!(
                        (0.0..=24.0).contains(&of.hours) && (0.0..80.0).contains(&of.open_clear),
                        "{decideg} {of:?}"
                    );
                    assert!(of.overcast <= of.clear && of.clear <= of.open_clear);
                }
            }
        }
        // Midsummer of one half is midwinter of the other.
        let of = |decideg: i64, day: &str| {
            of_place(&world(Some(decideg)).state(), id("pl_1"), day.parse().unwrap()).unwrap().today
        };
        assert!(of(-500, "2027-12-21").hours > 16.0 && of(500, "2027-12-21").hours < 8.5);
        assert_eq!((of(900, "2027-12-21").clear, of(900, "2027-06-21").hours), (0.0, 24.0));
    }
}
